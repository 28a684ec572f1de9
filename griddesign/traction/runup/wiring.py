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
        """Ohms of every circuit (..., circuits, M) and the shares of its current (..., circuits, sections, M or 1),
        at ohms of the sections (..., sections, M)."""
        shares = self.plain_shares
        if any(one.divide is not None for one in self.circuits):
            shares = np.array(
                np.broadcast_to(shares, (*section_ohm.shape[:-2], *shares.shape[:-1], section_ohm.shape[-1]))
            )
        ohms = [self._one(number, section_ohm, shares) for number in range(len(self.circuits))]
        return np.stack(ohms, axis=-2), shares

    def _one(self, number: int, section_ohm: FloatArray, shares: FloatArray) -> FloatArray:
        """Ohms of one circuit; the shares of branches are filled in."""
        one = self.circuits[number]
        live_ohm = section_ohm[..., one.places, :]
        if one.divide is None:
            plain: FloatArray = live_ohm.sum(axis=-2)
            return plain
        columns = np.moveaxis(live_ohm, -2, -1)
        ohms, parts = one.divide(columns.reshape(-1, one.places.size))
        shares[..., number, one.places, :] = np.moveaxis(parts.reshape(columns.shape), -1, -2)
        return ohms.reshape(columns.shape[:-1])

    def through(self, shares: FloatArray, current_a: FloatArray) -> FloatArray:
        """Current of every section (..., sections, M) at currents of the strings (..., circuits, M), A."""
        return _sum_circuits(shares, self.weight * current_a[..., :, None, :])

    def grid_rise(self, shares: FloatArray, section_rise: FloatArray) -> FloatArray:
        """Rise of the circuits' ohms (..., circuits, M) with those of the sections: ``dR = sum of share^2·dr``."""
        rise: FloatArray = (shares**2 * section_rise[..., None, :, :]).sum(axis=-2)
        return rise


def _sum_circuits(shares: FloatArray, current_a: FloatArray) -> FloatArray:
    if shares.shape[-3] == 1:
        return shares[..., 0, :, :] * current_a[..., 0, :, :]
    total: FloatArray = (shares * current_a).sum(axis=-3)
    return total


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
