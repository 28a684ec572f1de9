"""The start at mean currents, held against the same start integrated, and notches held while running."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from scipy.integrate import trapezoid

from griddesign.errors import CurveError, NoStartError
from griddesign.grid.records import Branches, Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import current_a, speed_rad_s
from griddesign.traction.held import HeldNotch
from griddesign.traction.mean_start import mean_start
from griddesign.traction.mechanics import accelerated_kg, effort_n, motor_rad_s, resistance_n
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    Notch,
    RunningResistance,
)

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324))
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
KEEP = ("ABCDE", "BCDE", "CDE", "", "CDE", "DE", "E", "")
NOTCHES = [Notch(str(k), SERIES if k <= 4 else PARALLEL, Run(tuple(names))) for k, names in enumerate(KEEP, start=1)]
OHMS = {"A": 1.63, "B": 1.36, "C": 0.29, "D": 0.58, "E": 0.27}
VALLEY = 90.5


def integrated(volts: float) -> tuple[float, float, float, dict[str, float]]:
    """Seconds, metres, joules from the line and per section, current and pull followed at every speed."""
    curve = MotorCurve(POINTS)
    seconds = metres = line_j = 0.0
    section_j = dict.fromkeys(OHMS, 0.0)
    speed = 0.0
    for notch in NOTCHES:
        s, p = notch.grouping.series, notch.grouping.parallel
        names = notch.common.parts if notch.common else ()
        total = s * 0.42 + p * (0.04 + sum(OHMS[str(name)] for name in names))
        end = speed_rad_s(volts, total, s, curve, VALLEY) / motor_rad_s(CAR, 1.0)
        speeds = np.linspace(speed, end, 201)
        amperes = np.array([current_a(volts, total, s, curve, motor_rad_s(CAR, float(v))) for v in speeds])
        spare = [
            effort_n(CAR, curve, 2, float(i)) - resistance_n(CAR, float(v))
            for i, v in zip(amperes, speeds, strict=True)
        ]
        slowness = accelerated_kg(CAR) / np.array(spare)
        seconds += trapezoid(slowness, speeds)
        metres += trapezoid(slowness * speeds, speeds)
        line_j += volts * p * trapezoid(slowness * amperes, speeds)
        for name in names:
            section_j[str(name)] += p * p * OHMS[str(name)] * trapezoid(slowness * amperes**2, speeds)
        speed = end
    return seconds, metres, line_j, section_j


def test_mean_start_is_close_to_the_start_integrated() -> None:
    """Cold, nominal voltage: joules of the grid within 1 %, seconds and metres a few per cent short."""
    seconds, metres, line_j, section_j = integrated(550.0)
    start = mean_start(LINE, CAR, MOTOR, NOTCHES, OHMS, valley_a=VALLEY)
    assert start.grid_j == pytest.approx(sum(section_j.values()), rel=0.01)
    assert start.seconds == pytest.approx(seconds, rel=0.04)
    assert start.distance_m == pytest.approx(metres, rel=0.06)
    assert start.line_j == pytest.approx(line_j, rel=0.03)
    for name, joules in start.section_j:
        assert joules == pytest.approx(section_j[name], rel=0.015)


def test_demo_start_figures() -> None:
    """Independently computed by a full run of such a grid: 11 s to 31 km/h, 49 m, grid 235 kJ, line 958 kJ."""
    seconds, metres, line_j, section_j = integrated(550.0)
    assert seconds == pytest.approx(11.0, abs=0.1)
    assert metres == pytest.approx(49.0, rel=0.03)
    assert line_j == pytest.approx(958e3, rel=0.01)
    assert sum(section_j.values()) == pytest.approx(235e3, rel=0.01)
    assert mean_start(LINE, CAR, MOTOR, NOTCHES, OHMS, valley_a=VALLEY).end_m_s * 3.6 == pytest.approx(31.0, abs=0.5)


def test_at_the_highest_voltage_currents_are_found_anew() -> None:
    nominal = mean_start(LINE, CAR, MOTOR, NOTCHES, OHMS, valley_a=VALLEY)
    highest = mean_start(LINE, CAR, MOTOR, NOTCHES, OHMS, valley_a=VALLEY, line_v=660.0)
    assert highest.line_v == 660.0
    assert highest.notches[0].arrive_a == pytest.approx(660.0 / 5.01, rel=1e-3)
    assert highest.grid_j > 1.3 * nominal.grid_j
    assert highest.end_m_s > nominal.end_m_s
    leave = speed_rad_s(660.0, 0.5, 1, MotorCurve(POINTS), VALLEY)
    assert motor_rad_s(CAR, highest.end_m_s) == pytest.approx(leave, rel=1e-12)


def test_one_notch_by_hand() -> None:
    """A standing start on one notch, worked from the formula."""
    start = mean_start(LINE, CAR, MOTOR, NOTCHES[:1], OHMS, valley_a=VALLEY)
    curve, total = MotorCurve(POINTS), 4.13 + 0.88
    mean = (550.0 / total + VALLEY) / 2.0
    end = speed_rad_s(550.0, total, 2, curve, VALLEY) * 0.42 / 3.5
    pull = 2 * curve.k(mean) * mean * 3.5 * 0.95 / 0.42
    seconds = 13500.0 * 1.1 * end / (pull - 13500.0 * (0.045 + 0.00324 * end / 2.0))
    square = ((550.0 / total) ** 2 + 550.0 / total * VALLEY + VALLEY**2) / 3.0
    assert start.seconds == pytest.approx(seconds, rel=1e-12)
    assert dict(start.section_j)["A"] == pytest.approx(square * 1.63 * seconds, rel=1e-12)
    assert start.notches[0].acceleration_m_s2 == pytest.approx(end / seconds, rel=1e-12)


def test_a_common_grid_carries_every_string_and_a_string_grid_its_own() -> None:
    common = [Notch("1", PARALLEL, Run(("A",)))]
    strings = [Notch("1", PARALLEL, None, (Run(("A",)), Run(("B",))))]
    one = mean_start(LINE, CAR, MOTOR, common, {"A": 2.0}, valley_a=VALLEY)
    two = mean_start(LINE, CAR, MOTOR, strings, {"A": 4.0, "B": 4.0}, valley_a=VALLEY)
    assert two.seconds == pytest.approx(one.seconds, rel=1e-12)
    assert dict(two.section_j)["A"] == pytest.approx(0.5 * one.grid_j, rel=1e-12)


def test_branches_share_the_current() -> None:
    notch = [Notch("1", SERIES, Run(("A", Branches((Run(("B",)), Run(("C",)))))))]
    start = mean_start(LINE, CAR, MOTOR, notch, {"A": 2.0, "B": 2.0, "C": 6.0}, valley_a=VALLEY)
    joules = dict(start.section_j)
    assert joules["B"] / joules["A"] == pytest.approx(0.75**2, rel=1e-12)
    assert joules["C"] / joules["A"] == pytest.approx(3.0 * 0.25**2, rel=1e-12)


def test_transitions_and_passed_notches_take_nothing() -> None:
    notches = [*NOTCHES[:4], Notch("5", PARALLEL, Run(tuple("ABCDE"))), *NOTCHES[5:]]
    start = mean_start(LINE, CAR, MOTOR, notches, OHMS, valley_a=VALLEY)
    fifth = start.notches[4]
    assert (fifth.seconds, fifth.distance_m, fifth.line_j) == (0.0, 0.0, 0.0)
    assert fifth.leave_a == fifth.arrive_a < VALLEY
    assert fifth.leave_m_s == start.notches[3].leave_m_s


def test_a_car_that_does_not_start() -> None:
    with pytest.raises(NoStartError, match=r"on notch 1 the mean current of .* A pulls .* kN and the car resists"):
        mean_start(LINE, replace(CAR, gradient=0.15), MOTOR, NOTCHES, OHMS, valley_a=VALLEY)


def test_currents_beyond_the_curve_are_marked() -> None:
    assert not mean_start(LINE, CAR, MOTOR, NOTCHES, OHMS, valley_a=VALLEY).beyond_curve
    ohms = OHMS | {"A": 0.5}
    assert mean_start(LINE, CAR, MOTOR, NOTCHES, ohms, valley_a=VALLEY).beyond_curve


@pytest.mark.parametrize("gradient", [0.0, 0.03, 0.06])
@pytest.mark.parametrize("index", [1, 5])
def test_held_running_balances_pull_and_resistance(gradient: float, index: int) -> None:
    car = replace(CAR, gradient=gradient)
    held = HeldNotch(LINE, car, MOTOR, NOTCHES[index], 550.0)
    grid = np.linspace(0.3, 3.0, 7)
    currents = held.motor_a(grid)
    p, s = NOTCHES[index].grouping.parallel, NOTCHES[index].grouping.series
    for ohms, current in zip(grid, currents, strict=True):
        assert current == pytest.approx(held.settled_a(float(ohms)), rel=1e-6)
        speed = held.speed_m_s(float(current))
        pull = effort_n(car, MotorCurve(POINTS), 2, float(current))
        assert resistance_n(car, speed) == pytest.approx(pull, rel=1e-9)
        total = s * 0.42 + p * (0.04 + ohms)
        emf = s * MotorCurve(POINTS).k(float(current)) * motor_rad_s(car, speed)
        assert current * total + emf == pytest.approx(550.0, rel=1e-5)
    assert held.grid_a(grid) == pytest.approx(p * currents)


def test_held_on_a_gradient_too_steep_to_start_is_a_stall() -> None:
    held = HeldNotch(LINE, replace(CAR, gradient=0.12), MOTOR, NOTCHES[0], 550.0)
    grid = np.array([4.0, 6.0])
    assert held.motor_a(grid) == pytest.approx(550.0 / (grid + 0.88), rel=1e-12)
    assert held.settled_a(4.0) == pytest.approx(550.0 / 4.88, rel=1e-12)


def test_held_beyond_the_curve_is_refused() -> None:
    held = HeldNotch(LINE, replace(CAR, gradient=0.3), MOTOR, NOTCHES[-1], 550.0)
    with pytest.raises(CurveError, match="held on notch 8"):
        held.motor_a(np.array([0.0]))
    with pytest.raises(CurveError, match="held on notch 8"):
        held.settled_a(0.0)


def test_held_where_resistance_never_grows_stays_at_the_starting_current() -> None:
    car = replace(CAR, resistance=RunningResistance(0.045), gradient=0.03)
    held = HeldNotch(LINE, car, MOTOR, NOTCHES[0], 550.0)
    current = held.settled_a(3.0)
    assert effort_n(car, MotorCurve(POINTS), 2, current) == pytest.approx(resistance_n(car, 0.0), rel=1e-6)
    assert held.motor_a(np.array([3.0]))[0] == pytest.approx(current, rel=1e-5)
