"""Exact figures derived from a published motor table.

The table: B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III, Ex 43.23, p. 1737 (seen in a
published companion): 600 V, 0.8 ohm, magnetisation at 600 rpm. The limit of many notches: J. B. Gupta et al.,
Utilization of Electrical Energy and Traction, Ex 9.1, p. 268 (likewise). What is held against them was derived here.
"""

from math import pi

import pytest

from griddesign.grid.records import Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import arriving_ohm, common_grid_ohm, current_a, speed_rad_s, total_ohm
from griddesign.traction.ladder import ladder
from griddesign.traction.mean_start import mean_start
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

DERIVED = "Derived from B. L. Theraja and A. K. Theraja, vol. III, Ex 43.23, p. 1737"
GUPTA = "J. B. Gupta et al., Utilization of Electrical Energy and Traction, Ex 9.1, p. 268"

D1 = MagnetisationPoints(20.0 * pi, (20.0, 40.0, 60.0, 80.0), (215.0, 381.0, 485.0, 550.0))
LINE = Line(600.0, 600.0)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.003))
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)

SERIES_TOTALS, SERIES_GRIDS = (7.5000, 5.3737, 3.5653, 2.0272), (5.9000, 3.7737, 1.9653, 0.4272)
PARALLEL_TOTALS, PARALLEL_GRIDS = (3.9278, 2.3355, 0.9812), (1.5639, 0.7678, 0.0906)


def chain() -> tuple[list[float], list[float]]:
    """Totals of the unshared ladder in series and in parallel, by the recursion, across the change of grouping."""
    ratio = 550.0 / 485.0
    series = [600.0 / 80.0]
    for _ in range(3):
        series.append(arriving_ohm(600.0, 80.0, ratio, 600.0 - 60.0 * series[-1], 1.0))
    parallel = [arriving_ohm(600.0, 80.0, ratio, 600.0 - 60.0 * 1.6, 0.5)]
    for _ in range(2):
        parallel.append(arriving_ohm(600.0, 80.0, ratio, 600.0 - 60.0 * parallel[-1], 1.0))
    return series, parallel


def test_ladder_across_the_change_of_grouping(checked) -> None:
    series, parallel = chain()
    assert series == pytest.approx(SERIES_TOTALS, abs=6e-5)
    assert parallel == pytest.approx(PARALLEL_TOTALS, abs=6e-5)
    assert [common_grid_ohm(SERIES, total, 0.8) for total in series] == pytest.approx(SERIES_GRIDS, abs=6e-5)
    assert [common_grid_ohm(PARALLEL, total, 0.8) for total in parallel] == pytest.approx(PARALLEL_GRIDS, abs=6e-5)
    checked(DERIVED, "totals in series", SERIES_TOTALS, series, "ohm")
    checked(DERIVED, "totals in parallel", PARALLEL_TOTALS, parallel, "ohm")


def test_without_the_grouping_factor_there_would_be_no_grid() -> None:
    assert common_grid_ohm(PARALLEL, arriving_ohm(600.0, 80.0, 550.0 / 485.0, 600.0 - 60.0 * 1.6, 1.0), 0.8) < 0.0


def given_chain(valley_a: float | None) -> Ladder:
    """The same ladder through the whole product: a grid of its own for every notch, ohms given by the recursion."""
    series, parallel = chain()
    grids = [common_grid_ohm(SERIES, total, 0.8) for total in series]
    grids += [common_grid_ohm(PARALLEL, total, 0.8) for total in parallel]
    notches = [
        Notch(f"{k}", SERIES if k < 4 else PARALLEL, Run((f"G{k}",)), wanted_ohm=grid) for k, grid in enumerate(grids)
    ]
    notches.insert(4, Notch("full series", SERIES, Run()))
    notches.append(Notch("full parallel", PARALLEL, Run()))
    motor = Motor(2, 0.8, 20.0, D1)
    sections = [f"G{k}" for k in range(7)]
    return ladder(LINE, CAR, motor, Start(80.0, 80.0, valley_a), notches, section_order=sections)


def test_the_product_finds_these_peaks_at_this_valley(checked) -> None:
    found = given_chain(60.0)
    peaks = {notch.name: notch.peak_a for notch in found.notches}
    assert [peaks[str(k)] for k in range(7)] == pytest.approx([80.0] * 7, rel=1e-9)
    assert peaks["full series"] < 80.0
    assert peaks["full parallel"] < 80.0
    checked(DERIVED, "peaks of the ladder", [80.0] * 7, [peaks[str(k)] for k in range(7)], "A")


def test_the_product_finds_the_valley_from_these_ohms(checked) -> None:
    assert given_chain(None).valley_a == pytest.approx(60.0, rel=1e-9)
    checked(DERIVED, "valley from given ohms", 60.0, given_chain(None).valley_a, "A")


def test_whole_grid_again_on_the_first_parallel_notch(checked) -> None:
    """Common grid: line 60 -> 67.5 A while the motor current about halves."""
    curve = MotorCurve(D1)
    speed = speed_rad_s(600.0, total_ohm(SERIES, 0.8), 2, curve, 60.0)
    motor_a = current_a(600.0, total_ohm(PARALLEL, 0.8, common_ohm=5.9), 1, curve, speed)
    assert 2.0 * motor_a == pytest.approx(67.5, abs=0.06)
    checked(DERIVED, "line current, whole grid again", 67.5, 2.0 * motor_a, "A")


def nine_notches(strings: bool) -> tuple[Ladder, float]:
    """1 to 5 in series from the whole grid to none, 6 to 9 in parallel from the whole grid again to none."""
    keep = ("ABCD", "BCD", "CD", "D", "", "ABCD", "CD", "D", "")
    groupings = (SERIES,) * 5 + (PARALLEL,) * 4
    notches = [
        Notch(f"{k}", grouping, Run(tuple(names)))
        for k, (grouping, names) in enumerate(zip(groupings, keep, strict=True), start=1)
    ]
    motor = Motor(2, 0.8, 20.0, D1)
    found = ladder(LINE, CAR, motor, Start(80.0, 70.0), notches, section_order="ABCD")
    whole = sum(ohm for _, ohm in found.sections)
    full_series = speed_rad_s(600.0, 1.6, 2, MotorCurve(D1), found.valley_a)
    grid = {"string_ohm": whole / 2.0} if strings else {"common_ohm": whole}
    return found, current_a(600.0, total_ohm(PARALLEL, 0.8, **grid), 1, MotorCurve(D1), full_series)


def test_nine_notches_with_a_common_grid(checked) -> None:
    found, motor_a = nine_notches(strings=False)
    sixth = found.notches[5]
    assert found.valley_a == pytest.approx(56.4, abs=0.06)
    assert sixth.passed
    assert sixth.peak_a == pytest.approx(motor_a, rel=1e-9)
    assert motor_a == pytest.approx(29.6, abs=0.06)
    assert sixth.line_peak_a == pytest.approx(2.0 * motor_a, rel=1e-9)
    checked(DERIVED, "valley of nine notches", 56.4, found.valley_a, "A")


def test_half_of_the_grid_in_each_motor_string() -> None:
    """The motor current stays near: 72.8 A against the limit of 80 A."""
    assert nine_notches(strings=True)[1] == pytest.approx(72.8, abs=0.06)


def many_notches(series_notches: int) -> float:
    """Grid over line energy of a start of two constant-flux motors, mean current 350 A, 0.15 ohm, 600 V."""
    flux = MagnetisationPoints(10.0, (0.01, 2000.0), (10.0, 10.0 * (1.0 + 1e-9)))
    low, high = 1.0 + 1e-9, 10.0
    for _ in range(80):
        ratio = (low + high) / 2.0
        low, high = (
            (low, ratio) if 700.0 * ratio / (ratio + 1.0) * 0.3 * ratio**series_notches > 600.0 else (ratio, high)
        )
    peak = 700.0 * ratio / (ratio + 1.0)
    valley = peak / ratio
    parallel_total = (600.0 - (600.0 - 0.3 * valley) / 2.0) / peak
    notches: list[Notch] = []
    ohms: dict[str, float] = {}
    for grouping, first, least in ((SERIES, 600.0 / peak, 0.3), (PARALLEL, parallel_total, 0.15)):
        total = first
        while total > least * (1.0 + 1e-6):
            name = f"R{len(ohms)}"
            ohms[name] = common_grid_ohm(grouping, total, 0.15)
            notches.append(Notch(name, grouping, Run((name,))))
            total /= ratio
        notches.append(Notch(f"full {grouping.series}", grouping, Run()))
    frictionless = Car(50e3, 0.0, 0.9, 4.0, 1.0, RunningResistance())
    motor = Motor(2, 0.15, 20.0, flux)
    start = mean_start(LINE, frictionless, motor, notches, ohms, valley_a=valley)
    return start.grid_j / start.line_j


def test_many_notches_tend_to_the_printed_row(checked) -> None:
    """Gupta Ex 9.1: 0.5372 of 1.806 kWh goes into the grid; the difference falls as one over the number of notches."""
    printed = 0.5372 / 1.806
    coarse, fine = many_notches(80), many_notches(160)
    assert abs(fine - printed) < 0.55 * abs(coarse - printed) + 1e-4
    assert 2.0 * fine - coarse == pytest.approx(printed, abs=2e-4)
    checked(GUPTA, "energy into the grid over supply, limit of many notches", printed, 2.0 * fine - coarse)
