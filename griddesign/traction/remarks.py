"""What a ladder shows about the controller's wiring, the rails and the car: warnings in plain words."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise

from griddesign.errors import CurveError
from griddesign.grid.records import Run
from griddesign.traction.held import HeldNotch
from griddesign.traction.mechanics import adhesion_n
from griddesign.traction.problem import Problem
from griddesign.traction.records import Car, Notch, NotchOhms, NotchWanted

ALIKE = 0.002
"""Of the whole grid: notches nearer than that differ by less than plates can be made alike (ours, no source)."""
NO_OHMS = 0.0005
"""Of the whole grid: a section under that is no part of a plate (ours, no source)."""
FIRST_NOTCH = 0.002
"""Of the current asked for: what is nearer is the same to three digits, as papers print it."""


def wiring_remarks(
    notches: Sequence[Notch],
    rows: Sequence[NotchOhms],
    section_ohm: Mapping[str, float],
    parted: Collection[str] = (),
) -> Iterator[str]:
    """Sections of no ohms (under 0.05 % of the greatest notch), sections never parted by a tap in use, and
    neighbouring notches alike within 0.2 % of the greatest. ``parted``: sections whose taps other notches use."""
    whole = max(row.wanted_ohm for row in rows)
    for name, ohm in section_ohm.items():
        if ohm <= NO_OHMS * whole:
            yield f"section {name} comes out at {ohm:.4f} ohm: the notches leave it nothing to do"
    yield from _never_parted(notches, tuple(section_ohm), parted)
    for (earlier, before), (later, row) in pairwise(zip(notches, rows, strict=True)):
        same = before.grouping == row.grouping and earlier.field == later.field
        if same and abs(before.wanted_ohm - row.wanted_ohm) <= ALIKE * whole:
            yield (
                f"notches {before.name} and {row.name} are alike: {before.wanted_ohm:.4f} and "
                f"{row.wanted_ohm:.4f} ohm, nothing changes between them"
            )


def _never_parted(notches: Sequence[Notch], sections: tuple[str, ...], parted: Collection[str]) -> Iterator[str]:
    runs = [set(run.parts) for notch in notches for circuit in _circuits(notch) for run in _straight_runs(circuit)]
    for one, other in pairwise(sections):
        if not {one, other} & set(parted) and all((one in run) == (other in run) for run in runs):
            yield f"sections {one} and {other} are in circuit together on every notch: a tap between them does nothing"


def _circuits(notch: Notch) -> tuple[Run, ...]:
    return notch.strings if notch.common is None else (notch.common,)


def _straight_runs(run: Run) -> Iterator[Run]:
    """The run and every run inside its branches."""
    yield run
    for part in run.parts:
        if not isinstance(part, str):
            for branch in part.runs:
                yield from _straight_runs(branch)


def running_remarks(problem: Problem, car: Car, notches: Sequence[NotchWanted], valley_a: float) -> Iterator[str]:
    """Wheels that would slip, currents that never fall to the valley, notches passed, currents off the curve."""
    yield from _slipping(car, notches)
    yield from _never_falling(problem, car, notches, valley_a)
    for notch in notches:
        if notch.passed:
            yield (
                f"notch {notch.name} is passed: its peak of {notch.peak_a:.1f} A per motor lies "
                f"below or at the valley current of {valley_a:.1f} A"
            )
    lowest = problem.curve.lowest_a
    if problem.curve.below_lowest(valley_a):
        yield f"the valley current of {valley_a:.1f} A lies under the lowest point of the motor curve, {lowest:.1f} A"
    yield from _first_peak(problem, notches[0])
    if problem.motor.each:
        yield "motors or wheels are unlike: ladder and held notches take them all alike, the start as run does not"


def _slipping(car: Car, notches: Sequence[NotchWanted]) -> Iterator[str]:
    limit = adhesion_n(car)
    for notch in notches:
        if limit is not None and notch.effort_n > limit:
            yield (
                f"notch {notch.name} pulls {notch.effort_n / 1000:.2f} kN at its peak; the rails take "
                f"{limit / 1000:.2f} kN before the wheels slip"
            )


def _never_falling(problem: Problem, car: Car, notches: Sequence[NotchWanted], valley_a: float) -> Iterator[str]:
    for notch, wanted in zip(problem.notches, notches, strict=True):
        held = HeldNotch(problem.line, car, problem.motor, notch, problem.line.nominal_v)
        try:
            if held.falls_below(valley_a, wanted.wanted_ohm):
                continue
            settled = held.settled_a(wanted.wanted_ohm)
        except CurveError as error:
            yield f"{error.message}: the current never falls to the valley current of {valley_a:.1f} A"
            continue
        if settled >= valley_a:
            yield (
                f"on notch {notch.name} the current settles at {settled:.1f} A on this gradient and never falls to the "
                f"valley current of {valley_a:.1f} A"
            )


def _first_peak(problem: Problem, first: NotchWanted) -> Iterator[str]:
    peak, asked = problem.start.peak_a, problem.start.first_notch_a
    warm = problem.line.nominal_v / first.total_ohm
    if abs(warm - asked) > FIRST_NOTCH * asked:
        yield (
            f"notch {first.name} takes {warm:.1f} A with warm motors, not the {asked:.1f} A asked for: "
            "its wanted ohms are given"
        )
    if first.peak_a > peak:
        yield (
            f"notch {first.name} starts with {first.peak_a:.1f} A when the motors are cold, over the peak current of "
            f"{peak:.1f} A; with warm motors it takes {warm:.1f} A"
        )
