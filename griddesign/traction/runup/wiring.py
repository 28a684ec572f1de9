"""One notch wired up for many cases: how its current divides among the sections, and what ohms it meets."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CircuitError
from griddesign.grid.circuit import is_plain_series, names
from griddesign.grid.divide import Divide, divider
from griddesign.grid.records import Run
from griddesign.traction.curve import FloatArray
from griddesign.traction.problem import Stage
from griddesign.traction.records import Notch

Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Circuit:
    """One circuit of a notch: places of its sections, and how branches divide it (None: a plain run)."""

    places: Places
    divide: Divide | None


@dataclass(frozen=True, slots=True)
class Wired:
    """A notch: ``series`` motors in a string, ``parallel`` strings, one circuit for all or one for each string.

    ``weight`` is how many strings' current a circuit carries. Arrays over circuits come first, then sections, then M.
    """

    name: str
    series: int
    parallel: int
    weight: float
    circuits: tuple[Circuit, ...]
    plain_shares: FloatArray

    @property
    def strings_each(self) -> float:
        """How many strings one circuit stands for."""
        return self.parallel / len(self.circuits)

    def divided(self, section_ohm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Ohms of every circuit (circuits, M) and the shares of its current (circuits, sections, M or 1)."""
        if all(one.divide is None for one in self.circuits):
            return np.array([section_ohm[one.places].sum(axis=0) for one in self.circuits]), self.plain_shares
        shares = np.repeat(self.plain_shares, section_ohm.shape[1], axis=2)
        grid_ohm = np.empty((len(self.circuits), section_ohm.shape[1]))
        for number, one in enumerate(self.circuits):
            live_ohm = section_ohm[one.places]
            if one.divide is None:
                grid_ohm[number] = live_ohm.sum(axis=0)
            else:
                grid_ohm[number], part = one.divide(live_ohm.T)
                shares[number, one.places] = part.T
        return grid_ohm, shares


def wired(notch: Notch, sections: Sequence[str]) -> Wired:
    """The notch with its sections found by name. Raises CircuitError on an unknown section or one in two strings."""
    stage = Stage.of(notch)
    _refuse_shared(stage)
    circuits = tuple(_circuit(notch, run, sections) for run in stage.circuits)
    shares = np.zeros((len(circuits), len(sections), 1))
    for number, one in enumerate(circuits):
        shares[number, one.places] = 1.0
    return Wired(notch.name, stage.grouping.series, stage.grouping.parallel, stage.weight, circuits, shares)


def _circuit(notch: Notch, run: Run, sections: Sequence[str]) -> Circuit:
    live = names(run)
    unknown = [name for name in live if name not in sections]
    if unknown:
        raise CircuitError(
            f"notch {notch.name} names section {unknown[0]}, which has no ohms", hint=f"Known: {', '.join(sections)}."
        )
    places = np.array([sections.index(name) for name in live], dtype=np.intp)
    return Circuit(places, None if is_plain_series(run) else divider(run))


def _refuse_shared(stage: Stage) -> None:
    named = [name for run in stage.circuits for name in names(run)]
    twice = sorted({name for name in named if named.count(name) > 1})
    if twice:
        raise CircuitError(
            f"notch {stage.name} has section {twice[0]} in the circuits of two motor strings",
            hint='A grid that carries several strings is a common one: write circuit = ["…"].',
        )
