"""What must be true of every ladder."""

from functools import cache
from itertools import pairwise
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.grid.records import Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import current_a
from griddesign.traction.ladder import ladder
from griddesign.traction.peaks import BuiltGrid
from griddesign.traction.problem import Problem
from griddesign.traction.records import (
    Car,
    Grouping,
    Ladder,
    Line,
    MagnetisationPoints,
    Motor,
    Notch,
    RunningResistance,
    Start,
)

POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324))
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
KEEPS = st.sampled_from(
    [
        ("ABCDE", "BCDE", "CDE", "", "CDE", "DE", "E", ""),
        ("ABCDE", "BCDE", "CDE", "", "ABCDE", "CDE", "E", ""),
        ("ABCDE", "CDE", "DE", "E", "BCDE", "CDE", "E", ""),
    ]
)
PEAKS, FEEDERS = st.floats(100.0, 138.0), st.floats(0.0, 0.15)
HOT = st.floats(1.0, 1.35)
FEW = settings(max_examples=6, deadline=None, derandomize=True)


def notches_of(keep: tuple[str, ...]) -> tuple[Notch, ...]:
    return tuple(Notch(str(k), SERIES if k < 4 else PARALLEL, Run(tuple(names))) for k, names in enumerate(keep))


def made(keep: tuple[str, ...], peak: float, feeder: float = 0.04, hot: float = 1.0) -> Ladder:
    notches = notches_of(keep)
    ratios = dict.fromkeys("ABCDE", hot)
    motor, line = Motor(2, 0.42, 75.0, POINTS), Line(550.0, 660.0, feeder)
    return ladder(line, CAR, motor, Start(peak, 0.85 * peak), notches, section_order="ABCDE", hot_ratio=ratios)


@cache
def reference(keep: tuple[str, ...], hot: float) -> tuple[Ladder, Problem]:
    ratios = dict.fromkeys("ABCDE", hot)
    motor, line = Motor(2, 0.42, 75.0, POINTS), Line(550.0, 660.0, 0.04)
    return made(keep, 130.0, 0.04, hot), Problem(
        line, motor, Start(130.0, 110.5), notches_of(keep), tuple("ABCDE"), ratios
    )


@FEW
@given(keep=KEEPS, peak=PEAKS, feeder=FEEDERS, hot=HOT)
def test_every_peak_stays_within_the_limit(keep: tuple[str, ...], peak: float, feeder: float, hot: float) -> None:
    found = made(keep, peak, feeder, hot)
    assert max(notch.peak_a for notch in found.notches) <= peak * (1.0 + 1e-9)
    assert max(notch.peak_a for notch in found.notches[1:]) >= peak * (1.0 - 1e-6)
    assert all(ohm >= 0.0 for _, ohm in found.sections)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(keep=KEEPS, cuts=st.lists(st.floats(0.0, 1.0), min_size=4, max_size=4), near=st.sampled_from([0.0, 0.9, 0.99]))
def test_no_other_grid_allows_a_stronger_start(keep: tuple[str, ...], cuts: list[float], near: float) -> None:
    """Proof by trying: any other sections with the same first notch notch up at less, passed notches and all."""
    found, problem = reference(keep, 1.2)
    ends = [0.0, *sorted(cuts), 1.0]
    whole = sum(ohm for _, ohm in found.sections)
    parts = dict(zip("ABCDE", (b - a for a, b in pairwise(ends)), strict=True))
    other = {name: near * ohm + (1.0 - near) * parts[name] * whole for name, ohm in found.sections}
    assert BuiltGrid(problem, other).largest_valley_a() <= found.valley_a * (1.0 + 1e-9)


def test_a_grid_that_runs_past_a_notch_is_not_overlooked() -> None:
    """Found by trying: notches alike on the first grid found (a section at nothing) hid a far stronger pattern."""
    found, problem = reference(("ABCDE", "BCDE", "CDE", "", "ABCDE", "CDE", "E", ""), 1.2)
    other = {"A": 1.6415, "B": 1.3100, "C": 0.2881, "D": 0.2841, "E": 0.5738}
    assert BuiltGrid(problem, other).largest_valley_a() == pytest.approx(84.56, abs=0.01)
    assert found.valley_a >= 84.56


@FEW
@given(keep=KEEPS, peak=PEAKS, rise=st.floats(0.1, 2.0))
def test_a_higher_peak_never_gives_a_weaker_start(keep: tuple[str, ...], peak: float, rise: float) -> None:
    """With the first notch at the same part of the peak."""
    assert made(keep, min(peak + rise, 139.9)).valley_a >= made(keep, peak).valley_a * (1.0 - 1e-9)


@FEW
@given(keep=KEEPS, peak=PEAKS, hot=st.floats(1.01, 1.35))
def test_hot_grids_never_allow_a_stronger_start(keep: tuple[str, ...], peak: float, hot: float) -> None:
    assert made(keep, peak, hot=hot).valley_a <= made(keep, peak).valley_a * (1.0 + 1e-9)


@FEW
@given(sections=st.integers(2, 7), peak=st.floats(20.0, 200.0), part=st.floats(0.02, 0.3))
def test_constant_flux_collapses_to_the_geometric_ladder(sections: int, peak: float, part: float) -> None:
    """f = 1, one motor, nothing shared: totals fall by one ratio, which is the valley over the peak."""
    names = "ABCDEFG"[:sections]
    flux = MagnetisationPoints(10.0, (1e-3, 1e3), (100.0, 100.0 * (1.0 + 1e-10)))
    motor = Motor(1, part * 400.0 / peak, 20.0, flux)
    notches = [Notch(str(k), Grouping(1, 1), Run(tuple(names[k:]))) for k in range(sections + 1)]
    car = Car(4000.0, 0.0, 0.8, 5.0, 1.0, RunningResistance())
    found = ladder(Line(400.0, 400.0), car, motor, Start(peak, peak), notches, section_order=names)
    ratios = [b.total_ohm / a.total_ohm for a, b in pairwise(found.notches)]
    assert ratios == pytest.approx([part ** (1.0 / sections)] * sections, rel=1e-6)
    assert found.valley_a / peak == pytest.approx(part ** (1.0 / sections), rel=1e-6)


@FEW
@given(volts=st.floats(300.0, 700.0), ohms=st.floats(0.2, 6.0), speed=st.floats(20.0, 200.0))
def test_series_motors_share_and_parallel_motors_have_it_all(volts: float, ohms: float, speed: float) -> None:
    """Two motors in series on half the voltage each are one motor on half the voltage, and half the grid's ohms."""
    curve = MotorCurve(POINTS).held_above()
    both = current_a(volts, 2.0 * 0.42 + ohms, 2, curve, speed)
    one = current_a(volts / 2.0, 0.42 + ohms / 2.0, 1, curve, speed)
    assert both == pytest.approx(one, rel=1e-9)
    alone = current_a(volts, 0.42 + 2.0 * ohms, 1, curve, speed)
    assert 2.0 * alone * ohms + alone * 0.42 + curve.k(alone) * speed == pytest.approx(volts, rel=1e-9)


@FEW
@given(keep=KEEPS, peak=PEAKS, scale=st.floats(0.5, 2.0))
def test_the_ladder_does_not_know_the_mass_of_the_car(keep: tuple[str, ...], peak: float, scale: float) -> None:
    """Ohms and currents follow from motor and line alone; only times follow from the car."""
    notches = notches_of(keep)
    motor, line, start = Motor(2, 0.42, 75.0, POINTS), Line(550.0, 660.0, 0.04), Start(peak, 0.85 * peak)
    heavy = Car(13500.0 * scale, 0.1, 0.84, 3.5, 0.95, RunningResistance())
    found = ladder(line, heavy, motor, start, notches, section_order="ABCDE")
    light = ladder(
        line, Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance()), motor, start, notches, section_order="ABCDE"
    )
    assert found.sections == light.sections
    assert [n.seconds for n in found.notches] == pytest.approx([scale * n.seconds for n in light.notches], rel=1e-9)
