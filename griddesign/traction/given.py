"""Wanted ohms that the user knows already: no car, no motor, only notches and the sections that make them."""

from collections.abc import Collection, Sequence

import numpy as np

from griddesign.errors import InputError
from griddesign.grid import circuit
from griddesign.grid.records import Run
from griddesign.traction.curve import FloatArray
from griddesign.traction.problem import Stage
from griddesign.traction.realise import fitted
from griddesign.traction.records import GivenOhms, Notch, NotchOhms
from griddesign.traction.remarks import wiring_remarks

EXACT = 1e-9


def wanted_given(notches: Sequence[Notch], section_order: Sequence[str], parted: Collection[str] = ()) -> GivenOhms:
    """Section ohms from notches whose own cold ohms are all given (none needed where no grid is in circuit).

    Least squares with no section below zero. ``exact`` is False where the notches cannot all be made from these
    sections; the note then names the worst notch, and ``wanted_ohm`` stays what was asked. Where the notches leave
    sections undecided some come out at nothing, and a remark says so. ``parted`` as in ``ladder``. Raises InputError
    where a notch has no ohms.
    """
    stages = [Stage.of(notch) for notch in notches]
    circuits, targets = _asked(stages)
    sections = tuple(section_order)
    plain = all(circuit.is_plain_series(run) for run in circuits)
    ohms = _linear(sections, circuits, targets) if plain else fitted(sections, circuits, targets)
    rows = tuple(NotchOhms(stage.name, stage.grouping, stage.sections, stage.wanted_ohm or 0.0) for stage in stages)
    exact, note = _judged(rows, stages, ohms)
    return GivenOhms(rows, tuple(ohms.items()), exact, note, tuple(wiring_remarks(notches, rows, ohms, parted)))


def _asked(stages: Sequence[Stage]) -> tuple[list[Run], FloatArray]:
    circuits: list[Run] = []
    targets: list[float] = []
    for stage in stages:
        if not stage.sections:
            continue
        if stage.wanted_ohm is None:
            raise InputError(
                f"notch {stage.name} has no wanted ohms",
                hint="Give wanted ohms for every notch, or a car, a motor and a start to find them.",
            )
        circuits += stage.circuits
        targets += [stage.wanted_ohm] * len(stage.circuits)
    if not circuits:
        raise InputError("no notch has any section in circuit", hint="Give the circuit of each notch.")
    return circuits, np.array(targets)


def _linear(sections: tuple[str, ...], circuits: list[Run], targets: FloatArray) -> dict[str, float]:
    from scipy.optimize import nnls

    matrix = np.array([[float(run.parts.count(name)) for name in sections] for run in circuits])
    values, _ = nnls(matrix, targets)
    return {name: float(value) for name, value in zip(sections, values, strict=True)}


def _judged(rows: Sequence[NotchOhms], stages: Sequence[Stage], ohms: dict[str, float]) -> tuple[bool, str]:
    whole = max(row.wanted_ohm for row in rows)
    misses = [
        (abs(circuit.ohms(run, ohms) - row.wanted_ohm), circuit.ohms(run, ohms), row)
        for row, stage in zip(rows, stages, strict=True)
        for run in stage.circuits
    ]
    miss, got, row = max(misses, key=lambda item: item[0])
    if miss <= EXACT * whole:
        return True, ""
    return False, (
        f"These sections cannot make every notch: nearest, notch {row.name} is {got:.4g} ohm instead of "
        f"{row.wanted_ohm:.4g} ohm."
    )
