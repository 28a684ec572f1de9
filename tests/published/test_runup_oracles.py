"""The run against printed rows and against figures derived from them.

J. B. Gupta et al., Utilization of Electrical Energy and Traction, Ex 9.1, p. 268; B. L. Theraja and A. K. Theraja, A
Textbook of Electrical Technology, vol. III, Ex 43.23, p. 1737, Ex 43.30 and 43.31, pp. 1750-1751 (all seen in published
companions that re-work the examples, the printed books were not seen). The demo's figures were derived independently by
a full run of an invented car and are no published evidence.
"""

from math import pi

import numpy as np
import pytest

from griddesign.grid.records import Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import common_grid_ohm
from griddesign.traction.mean_start import mean_start
from griddesign.traction.mechanics import accelerated_kg, effort_n, motor_rad_s, resistance_n
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    MotorOwn,
    Notch,
    RunningResistance,
)
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up

THERAJA = "B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III"

SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
FLUX = MagnetisationPoints(10.0, (0.01, 2000.0), (10.0, 10.0 * (1.0 + 1e-9)))
SMOOTH = Car(50e3, 0.0, 0.9, 4.0, 1.0, RunningResistance())


def never_warm(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    return np.ones_like(t_c), np.zeros_like(t_c), np.full_like(t_c, np.inf), np.zeros_like(t_c)


def one(line_v: float, ohms: dict[str, float], valley_a: float, motor_ohm: float, mass_kg: float) -> Cases:
    column = np.array(list(ohms.values()))[:, None]
    numbers = (np.array([value]) for value in (line_v, valley_a, motor_ohm, mass_kg))
    volts, valley, motor, mass = numbers
    return Cases(volts, column, np.zeros_like(column), np.full_like(column, 20.0), valley, motor, mass)


def chain(
    line_v: float, mean_a: float, motor_ohm: float, steps: int, *, at_once: bool = False
) -> tuple[list[Notch], dict[str, float], float]:
    """Notches and ohms of two constant-flux motors, mean current and so many resistance notches in series given.

    The motors are grouped anew at the valley on full series, or ``at_once`` where that is reached.
    """
    low, high = 1.0 + 1e-9, 10.0
    for _ in range(80):
        ratio = (low + high) / 2.0
        falls = 2.0 * mean_a * ratio / (ratio + 1.0) * 2.0 * motor_ohm * ratio**steps > line_v
        low, high = (low, ratio) if falls else (ratio, high)
    peak = 2.0 * mean_a * ratio / (ratio + 1.0)
    valley = peak / ratio
    left_a = peak if at_once else valley
    parallel_total = (line_v - (line_v - 2.0 * motor_ohm * left_a) / 2.0) / peak
    notches: list[Notch] = []
    ohms: dict[str, float] = {}
    for grouping, begins, least in ((SERIES, line_v / peak, 2 * motor_ohm), (PARALLEL, parallel_total, motor_ohm)):
        total = begins
        while total > least * (1.0 + 1e-6):
            name = f"R{len(ohms)}"
            ohms[name] = common_grid_ohm(grouping, total, motor_ohm)
            notches.append(Notch(name, grouping, Run((name,))))
            total /= ratio
        notches.append(Notch(f"full {grouping.series}", grouping, Run()))
    return notches, ohms, valley


def constant_flux(line_v: float, mean_a: float, motor_ohm: float, steps: int) -> RunUp:
    notches, ohms, valley = chain(line_v, mean_a, motor_ohm, steps)
    motor, cases = Motor(2, motor_ohm, 20.0, FLUX), one(line_v, ohms, valley, motor_ohm, 50e3)
    return run_up(Line(line_v, line_v), SMOOTH, motor, notches, tuple(ohms), cases, never_warm)


@pytest.mark.parametrize(
    ("row", "line_v", "mean_a", "motor_ohm", "grid_share", "copper_share"),
    [
        ("Gupta Ex 9.1", 600.0, 350.0, 0.15, 0.5372 / 1.806, 0.204 / 1.806),
        ("Theraja III Ex 43.30", 600.0, 300.0, 0.1, None, None),
        ("Theraja III Ex 43.31", 600.0, 500.0, 0.1, None, None),
    ],
)
def test_many_notches_tend_to_the_constant_current_row(
    row: str,
    line_v: float,
    mean_a: float,
    motor_ohm: float,
    grid_share: float | None,
    copper_share: float | None,
    checked,
) -> None:
    """Constant-flux motors run through ever more notches; the rest falls as one over their number.

    Where the row prints energies against supply they are held against; for the others the same closed form, of which
    the times printed are 11.36 and 13.64 s (Ex 43.31): series over whole time ``(V - 2IR)/[2(V - IR)]``.
    """
    coarse, fine = (constant_flux(line_v, mean_a, motor_ohm, steps) for steps in (80, 160))

    def limit(figure: object) -> float:
        assert callable(figure)
        return 2.0 * float(figure(fine)) - float(figure(coarse))

    def series_share(run: RunUp) -> float:
        left = next(log for log in run.notches if log.name == "full 2")
        return float(left.leave_m_s[0] / run.end_m_s[0])

    expected = (line_v - 2 * mean_a * motor_ohm) / (2 * (line_v - mean_a * motor_ohm))
    assert limit(series_share) == pytest.approx(expected, rel=2e-4), row
    if grid_share is not None and copper_share is not None:
        assert limit(lambda run: run.energy.grid_j[0] / run.energy.line_j[0]) == pytest.approx(grid_share, abs=2e-4)
        assert limit(lambda run: run.energy.motors_j[0] / run.energy.line_j[0]) == pytest.approx(copper_share, abs=3e-4)
    checked(row, "share of time in series, limit of many notches", expected, limit(series_share))
    if grid_share is not None:
        grid = limit(lambda run: run.energy.grid_j[0] / run.energy.line_j[0])
        checked(row, "energy into the grid over supply, limit of many notches", grid_share, grid)


@pytest.mark.parametrize(("steps", "share"), [(5, 0.3047), (80, 0.2979)])
def test_gupta_9_1_with_few_and_with_many_notches(steps: int, share: float, checked) -> None:
    """What goes into the grid by the time it is cut out: notches without a grid are left the moment they are reached.

    Figures derived from the row, not printed. The chain above stays on the notches without a grid until the current has
    fallen to the valley there too: those joules out of the line are why it nears 0.2975 from below (5 notches 0.285).
    """
    notches, ohms, valley = chain(600.0, 350.0, 0.15, steps, at_once=True)
    resistance = [notch for notch in notches if notch.common != Run()]
    motor, cases = Motor(2, 0.15, 20.0, FLUX), one(600.0, ohms, valley, 0.15, 50e3)
    run = run_up(Line(600.0, 600.0), SMOOTH, motor, resistance, tuple(ohms), cases, never_warm)
    assert sum(notch.grouping == SERIES for notch in resistance) == steps
    assert run.energy.grid_j[0] / run.energy.line_j[0] == pytest.approx(share, abs=5e-5)
    found = run.energy.grid_j[0] / run.energy.line_j[0]
    checked("Derived from Gupta, Ex 9.1", f"energy into the grid over supply, {steps} notches", share, found)


def test_the_ideal_heat_of_a_section_over_one_notch() -> None:
    """``p^2·(Ip^2 + Ip·Iv + Iv^2)/3·r·t`` with ``t = m*·dv/(F(mean) - resistance)``: within 1 % of the run, cold."""
    run = run_up(LINE, CAR, MOTOR, NOTCHES, tuple(OHMS), one(550.0, OHMS, 90.5, 0.42, 13500.0), never_warm)
    joules = dict.fromkeys(OHMS, 0.0)
    curve = MotorCurve(POINTS)
    for notch, log in zip(NOTCHES, run.notches, strict=True):
        high, low, p = float(log.peak_a[0]), float(log.leave_a[0]), notch.grouping.parallel
        assert notch.common is not None
        mean_m_s = 0.5 * float(log.arrive_m_s[0] + log.leave_m_s[0])
        spare_n = effort_n(CAR, curve, 2, 0.5 * (high + low)) - resistance_n(CAR, mean_m_s)
        seconds = accelerated_kg(CAR) * float(log.leave_m_s[0] - log.arrive_m_s[0]) / spare_n
        for part in notch.common.parts:
            joules[str(part)] += p * p * (high**2 + high * low + low**2) / 3.0 * OHMS[str(part)] * seconds
    assert sum(joules.values()) == pytest.approx(float(run.energy.grid_j[0]), rel=0.01)
    for place, name in enumerate(OHMS):
        assert joules[name] == pytest.approx(float(run.section_j[place, 0]), rel=0.02)


def test_theraja_43_31_time_in_series(checked) -> None:
    """11.36 s of 25 s: with constant flux and constant mean current speed rises evenly, so time goes as speed."""
    run = constant_flux(600.0, 500.0, 0.1, 160)
    left = next(log for log in run.notches if log.name == "full 2")
    assert 25.0 * float(left.leave_s[0] / run.seconds[0]) == pytest.approx(11.36, abs=0.05)
    found = 25.0 * float(left.leave_s[0] / run.seconds[0])
    checked(f"{THERAJA}, Ex 43.31, p. 1751", "time in series, integrated start", 11.36, found, "s")


LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324))
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
KEEP = ("ABCDE", "BCDE", "CDE", "", "CDE", "DE", "E", "")
NOTCHES = [Notch(str(k), SERIES if k <= 4 else PARALLEL, Run(tuple(names))) for k, names in enumerate(KEEP, start=1)]
OHMS = {"A": 1.63, "B": 1.36, "C": 0.29, "D": 0.58, "E": 0.27}
PLATE_OHM, HEAT_J_K = 0.069, 24812.0 / (4.152 / 0.069)
"""Invented plates; J/K of one from the stalled mark of the same grid: 24 812 J/K for 4.152 ohm."""


def warm(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    heat = np.array(list(OHMS.values()))[:, None] / PLATE_OHM * HEAT_J_K
    return 1 + 0.0019 * (t_c - 20), np.full_like(t_c, 0.0019), heat + 0.0 * t_c, np.zeros_like(t_c)


def test_the_demo_start() -> None:
    """11 s to 31 km/h, 49 m, line 958 kJ, grid 235 kJ, rises of 2 to 41 K by section."""
    run = run_up(LINE, CAR, MOTOR, NOTCHES, tuple(OHMS), one(550.0, OHMS, 90.5, 0.42, 13500.0), warm)
    assert run.seconds[0] == pytest.approx(11.0, abs=0.15)
    assert 3.6 * run.end_m_s[0] == pytest.approx(31.0, abs=0.5)
    assert run.distance_m[0] == pytest.approx(49.0, rel=0.04)
    assert run.energy.line_j[0] == pytest.approx(958e3, rel=0.02)
    assert run.energy.grid_j[0] == pytest.approx(235e3, rel=0.02)
    assert run.end_c[:, 0].min() - 20.0 == pytest.approx(2.0, abs=0.6)
    assert run.end_c[:, 0].max() - 20.0 == pytest.approx(41.0, abs=3.0)


def test_mean_currents_stay_within_their_stated_per_cents() -> None:
    """Joules of the grid within 1 %, seconds and metres a few per cent short: what ``mean_start`` says of itself."""
    run = run_up(LINE, CAR, MOTOR, NOTCHES, tuple(OHMS), one(550.0, OHMS, 90.5, 0.42, 13500.0), never_warm)
    mean = mean_start(LINE, CAR, MOTOR, NOTCHES, OHMS, valley_a=90.5)
    assert mean.grid_j == pytest.approx(run.energy.grid_j[0], rel=0.01)
    assert 0.96 < mean.seconds / run.seconds[0] < 1.0
    assert 0.94 < mean.distance_m / run.distance_m[0] < 1.0


D1 = MagnetisationPoints(20.0 * pi, (20.0, 40.0, 60.0, 80.0), (215.0, 381.0, 485.0, 550.0))


def test_the_ladder_across_the_change_of_grouping_peaks_at_80_a(checked) -> None:
    """Grids derived from the table points of Ex 43.23 alone: every peak 80 A, left at 60 A."""
    grids = (5.9000, 3.7737, 1.9653, 0.4272, 0.0, 1.5639, 0.7678, 0.0906)
    ohms = {f"G{k}": grid for k, grid in enumerate(grids) if grid}
    notches = [
        Notch(str(k), SERIES if k < 5 else PARALLEL, Run((f"G{k}",) if grid else ())) for k, grid in enumerate(grids)
    ]
    motor, cases = Motor(2, 0.8, 20.0, D1), one(600.0, ohms, 60.0, 0.8, 13500.0)
    run = run_up(Line(600.0, 600.0), CAR, motor, notches, tuple(ohms), cases, never_warm)
    peaks = [float(log.peak_a[0]) for log in run.notches]
    assert [peaks[k] for k in (0, 1, 2, 3, 5, 6, 7)] == pytest.approx([80.0] * 7, abs=0.015)
    assert peaks[4] < 80.0
    checked(f"Derived from {THERAJA}, Ex 43.23, p. 1737", "peaks of a start", [80.0] * 4, peaks[:4], "A")


def test_whole_grid_again_on_the_first_parallel_notch_is_passed(checked) -> None:
    """Common grid: line 60 -> 67.5 A while the motor current about halves; the notch is passed at 60 A."""
    notches = [Notch("full", SERIES, Run()), Notch("again", PARALLEL, Run(("G",))), Notch("last", PARALLEL, Run())]
    run = run_up(
        Line(600.0, 600.0),
        CAR,
        Motor(2, 0.8, 20.0, D1),
        notches,
        ("G",),
        one(600.0, {"G": 5.9}, 60.0, 0.8, 13500.0),
        never_warm,
    )
    again = run.notches[1]
    assert again.line_peak_a[0] == pytest.approx(67.5, abs=0.06)
    assert again.passed[0]
    checked(
        f"Derived from {THERAJA}, Ex 43.23, p. 1737", "line current, whole grid again", 67.5, again.line_peak_a[0], "A"
    )


def test_theraja_43_24_two_unlike_motors_in_one_string(checked) -> None:
    """Ex 43.24 (seen in a companion): 900 and 950 rpm at 50 A, 500 V, 0.3 ohm each; coupled in series across 500 V at
    50 A: 447.87 rpm, 256.35 V and 243.65 V. Here as wheels of unlike motors in a start, left at 50 A."""
    rpm = pi / 30.0
    slow = MagnetisationPoints(900.0 * rpm, (25.0, 50.0, 100.0), (300.0, 485.0, 600.0))
    fast = MagnetisationPoints(950.0 * rpm, (25.0, 50.0, 100.0), (300.0, 485.0, 600.0))
    motor = Motor(2, 0.3, 20.0, slow, each=(MotorOwn(), MotorOwn(magnetisation=fast)))
    notches = [Notch("1", SERIES, Run(("R",))), Notch("2", SERIES, Run())]
    cases = one(500.0, {"R": 5.0}, 50.0, 0.3, 13500.0)
    run = run_up(Line(500.0, 500.0), CAR, motor, notches, ("R",), cases, never_warm)
    turns = motor_rad_s(CAR, float(run.end_m_s[0]))
    assert turns / rpm == pytest.approx(447.87, abs=0.01)
    on_the_way = run_up(Line(500.0, 500.0), CAR, motor, [*notches, notches[1]], ("R",), cases, never_warm)
    arrived = on_the_way.notches[2]  # the same notch once more: reached at 50 A
    assert arrived.motor_v is not None
    assert arrived.motor_v[:, 0] == pytest.approx([256.35, 243.65], abs=0.01)
    checked(f"{THERAJA}, Ex 43.24", "speed of unlike motors in series", 447.87, turns / rpm, "rpm")
    checked(f"{THERAJA}, Ex 43.24", "volts of unlike motors in series", [256.35, 243.65], arrived.motor_v[:, 0], "V")
