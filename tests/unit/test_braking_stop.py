"""A stop on the brake notches: closed forms, an independent integration, and what goes wrong."""

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from griddesign.errors import CircuitError, CurveError, InputError
from griddesign.grid.records import Branches, Run
from griddesign.traction.braking.excited import Excited
from griddesign.traction.braking.records import BrakeRun, Braking
from griddesign.traction.braking.run import brake
from griddesign.traction.curve import FloatArray
from griddesign.traction.records import Car, Grouping, MagnetisationPoints, Motor, MotorOwn, Notch, RunningResistance
from griddesign.traction.runup.records import Cases
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.table import CurveTable

Table = tuple[FloatArray, FloatArray, FloatArray, FloatArray]
POINTS = MagnetisationPoints(62.83, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
CAR = Car(13_500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.003, 2e-4))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
OHMS = {"A": 0.75, "B": 0.24, "C": 0.6, "D": 0.8, "E": 1.5}
PARALLEL, SERIES = Grouping(1, 2), Grouping(2, 1)
NOTCHES = (
    Notch("1", PARALLEL, Run(("A", "B", "C", "D"))),
    Notch("2", PARALLEL, Run(("B", "C", "D"))),
    Notch("3", PARALLEL, Run(("C", Branches((Run(("D",)), Run(("E",))))))),
    Notch("4", PARALLEL, Run(("D",))),
)
PLAN = Braking(NOTCHES, 8.0, 130.0, "at valley current", valley_a=60.0, field_reversed=True)
NO_LOSS = Car(20_000.0, 0.08, 0.8, 4.0, 0.9, RunningResistance())


def plates(t_c: FloatArray) -> Table:
    """Light plates, so that heat shows in the currents."""
    return 1.0 + 0.004 * (t_c - 20.0), np.full_like(t_c, 0.004), 2000.0 + 2.0 * t_c, 6.0 * (t_c - 20.0)


def cold(t_c: FloatArray) -> Table:
    return np.ones_like(t_c), np.zeros_like(t_c), np.full_like(t_c, np.inf), np.zeros_like(t_c)


def cases(ohms: dict[str, float], size: int = 1, begin_c: float = 20.0, mass_kg: float = CAR.mass_kg) -> Cases:
    column, each = np.array(list(ohms.values()))[:, None], np.ones(size)
    return Cases(
        line_v=0.0 * each,
        section_ohm=column * each,
        joint_ohm=0.001 * np.ones_like(column) * each,
        start_c=np.full((len(ohms), size), begin_c),
        valley_a=each,
        motor_ohm=MOTOR.resistance_ohm * each,
        mass_kg=mass_kg * each,
    )


FINE = Care(2, 4)


def stop(plan: Braking = PLAN, care: Care = FINE, **given: object) -> BrakeRun:
    return brake(CAR, MOTOR, plan, list(OHMS), cases(OHMS, **given), plates, care=care)  # type: ignore[arg-type]


def constant_flux(k: float) -> MagnetisationPoints:
    return MagnetisationPoints(1.0, (1e-3, 5000.0), (k, k * (1.0 + 1e-12)))


@pytest.mark.parametrize("grouping", [PARALLEL, SERIES])
def test_constant_flux_slows_down_exponentially(grouping: Grouping) -> None:
    """``v = v0·exp(-t/τ)`` with ``τ = m*·R'·efficiency/(strings·(s·k·2·gear/D)²)``, no resistance, flat."""
    k, grid_ohm, motor_ohm, leave_a = 3.0, 2.5, 0.42, 20.0
    plan = Braking((Notch("1", grouping, Run(("A",))),), 9.0, 500.0, "at valley current", valley_a=leave_a)
    motor = Motor(2, motor_ohm, 75.0, constant_flux(k))
    # the last notch is left at a tenth of the lowest point of the curve: another notch after it ends this one at 20 A
    plan = replace(plan, notches=(*plan.notches, Notch("2", grouping, Run(("B",)))))
    found = brake(
        NO_LOSS, motor, plan, ["A", "B"], cases({"A": grid_ohm, "B": 1e3}, mass_kg=20_000.0), cold, care=Care(6, 3)
    )
    first, strings, series = found.notches[0], grouping.parallel, grouping.series
    total_ohm = series * motor_ohm + strings * (grid_ohm + 0.001)
    per_m_s = 2.0 * NO_LOSS.gear_ratio / NO_LOSS.wheel_diameter_m
    heavy_kg = 20_000.0 * 1.08
    tau_s = heavy_kg * total_ohm * 0.9 / (strings * (series * k * per_m_s) ** 2)
    begin_a = series * k * per_m_s * 9.0 / total_ohm
    seconds = tau_s * log(begin_a / leave_a)
    assert first.arrive_a[0] == pytest.approx(begin_a, rel=1e-9)
    assert first.leave_s[0] == pytest.approx(seconds, rel=1e-6)
    assert first.leave_m_s[0] == pytest.approx(9.0 * exp(-seconds / tau_s), rel=1e-9)
    assert first.leave_m[0] == pytest.approx(9.0 * tau_s * (1.0 - exp(-seconds / tau_s)), rel=1e-6)


class Reference:
    """The same stop by other means: scipy's curve, its root finder and its integrator, led by speed."""

    def __init__(self, plan: Braking) -> None:
        speed = POINTS.speed_rad_s
        self.k = PchipInterpolator((0.0, *POINTS.current_a), (0.0, *(emf / speed for emf in POINTS.emf_v)))
        self.plan, self.per_m_s = plan, 2.0 * CAR.gear_ratio / CAR.wheel_diameter_m

    def ohms(self, notch: str, t_c: FloatArray) -> tuple[float, FloatArray]:
        """Ohms of the grid and share of its current in each section."""
        r = np.array(list(OHMS.values())) * (1.0 + 0.004 * (t_c - 20.0)) + 0.001
        if notch == "3":
            beside = r[3] * r[4] / (r[3] + r[4])
            return r[2] + beside, np.array([0.0, 0.0, 1.0, r[4] / (r[3] + r[4]), r[3] / (r[3] + r[4])])
        live = {"1": (0, 1, 2, 3), "2": (1, 2, 3), "4": (3,)}[notch]
        return float(r[list(live)].sum()), np.array([1.0 if place in live else 0.0 for place in range(5)])

    def current(self, notch: str, speed_m_s: float, t_c: FloatArray) -> float:
        total, turning = 0.42 + 2.0 * self.ohms(notch, t_c)[0], speed_m_s * self.per_m_s
        if total >= float(self.k(0.0, 1)) * turning:
            return 0.0
        return float(brentq(lambda amps: amps * total - self.k(amps) * turning, 1e-3, 139.9, xtol=1e-13, rtol=1e-14))

    def rate(self, notch: str, state: FloatArray) -> FloatArray:
        speed, t_c = state[0], state[2:7]
        amps = self.current(notch, speed, t_c)
        _, shares = self.ohms(notch, t_c)
        hot = np.array(list(OHMS.values())) * (1.0 + 0.004 * (t_c - 20.0)) + 0.001
        watts = (2.0 * amps * shares) ** 2 * hot
        effort = 2.0 * float(self.k(amps)) * amps * CAR.gear_ratio * 2.0 / (CAR.wheel_diameter_m * CAR.drive_efficiency)
        resist = 13_500.0 * (0.045 + 0.003 * speed + 2e-4 * speed**2)
        slope = 13_500.0 * 9.80665 * self.plan.gradient / np.hypot(1.0, self.plan.gradient)
        slowing = -(effort + resist + slope) / (13_500.0 * 1.1)
        return np.array([slowing, speed, *((watts - 6.0 * (t_c - 20.0)) / (2000.0 + 2.0 * t_c)), *watts])

    def leave(self, notch: str, state: FloatArray, leave_a: float) -> tuple[float, FloatArray]:
        def there(_: float, now: FloatArray) -> float:
            return self.current(notch, now[0], now[2:7]) - leave_a

        there.terminal = True  # type: ignore[attr-defined]
        found = solve_ivp(
            lambda _, now: self.rate(notch, now),
            (0.0, 60.0),
            state,
            events=there,
            rtol=1e-10,
            atol=1e-10,
            method="DOP853",
        )
        return float(found.t[-1]), found.y[:, -1]


@pytest.mark.parametrize("gradient", [0.0, -0.03, 0.05])
def test_an_independent_integration_agrees(gradient: float) -> None:
    """Peaks to 5e-3 A and temperatures to 1e-3 K of a tight general integrator, heat fed back, branches and all."""
    plan = replace(PLAN, gradient=gradient)
    found, reference = stop(plan, Care(2, 3)), Reference(plan)
    state, clock = np.array([8.0, 0.0, *[20.0] * 5, *[0.0] * 5]), 0.0
    for entry in found.notches[:-1]:
        assert entry.arrive_a[0] == pytest.approx(reference.current(entry.name, state[0], state[2:7]), abs=5e-3)
        seconds, state = reference.leave(entry.name, state, 60.0)
        clock += seconds
        assert entry.leave_s[0] == pytest.approx(clock, abs=1e-3)
        assert entry.leave_m_s[0] == pytest.approx(state[0], abs=1e-4)
        assert entry.leave_m[0] == pytest.approx(state[1], abs=1e-3)
        assert entry.leave_c[:, 0] == pytest.approx(state[2:7], abs=1e-3)
    total = sum(entry.section_j[:, 0] for entry in found.notches[:-1])
    assert total == pytest.approx(state[7:12], rel=1e-5, abs=1e-6)


@pytest.mark.parametrize(
    "plan",
    [
        PLAN,
        replace(PLAN, notch_by="at peak current", valley_a=None, begin_m_s=6.0),
        replace(PLAN, gradient=-0.04),
        replace(PLAN, gradient=0.06),
    ],
)
def test_the_energy_closes(plan: Braking) -> None:
    assert abs(float(stop(plan, Care(4, 5)).energy.balance_error[0])) <= 1e-6


def test_by_time_the_energy_closes_where_no_point_of_the_curve_is_crossed() -> None:
    """Led by the speed, the stop is stepped in time: fourth order, but for where one cubic gives way to the next."""
    plan = replace(PLAN, notch_by="by time", valley_a=None, notch_s=1.2)
    coarse, fine = (abs(float(stop(plan, Care(parts, 4)).energy.balance_error[0])) for parts in (1, 8))
    assert coarse <= 2e-6
    assert fine <= 1e-6


def test_by_time_and_by_current_are_the_same_stop() -> None:
    """Each notch left by the clock after as long as it was held by current ends at the same current."""
    plan = replace(PLAN, notches=(NOTCHES[0], NOTCHES[3]))
    by_current = stop(plan, Care(4, 5)).notches[0]
    seconds = float(by_current.leave_s[0])
    by_time = stop(replace(plan, notch_by="by time", valley_a=None, notch_s=seconds), Care(8, 5)).notches[0]
    assert by_time.leave_a[0] == pytest.approx(60.0, abs=1e-3)
    assert by_time.leave_m_s[0] == pytest.approx(by_current.leave_m_s[0], rel=1e-6)
    assert by_time.section_j[0, 0] == pytest.approx(by_current.section_j[0, 0], rel=1e-6)


def test_at_peak_current_every_notch_but_the_first_arrives_at_the_peak() -> None:
    plan = replace(PLAN, notch_by="at peak current", valley_a=None, peak_a=125.0)

    def heavy(t_c: FloatArray) -> Table:
        ratio, slope, capacity, loss = plates(t_c)
        return ratio, slope, 4.0 * capacity, loss

    for entry in brake(CAR, MOTOR, plan, list(OHMS), cases(OHMS), heavy, care=FINE).notches[1:]:
        assert entry.peak_a[0] == pytest.approx(125.0, abs=0.01)


def test_a_grid_for_each_string_is_the_common_grid_of_half_the_ohms() -> None:
    common = replace(PLAN, notches=(Notch("1", PARALLEL, Run(("A",))), NOTCHES[3]))
    own = replace(PLAN, notches=(Notch("1", PARALLEL, None, (Run(("A",)), Run(("B",)))), NOTCHES[3]))
    one = brake(CAR, MOTOR, common, list(OHMS), cases({**OHMS, "A": 2.0}), cold).notches[0]
    each = cases({**OHMS, "A": 4.0 + 0.001, "B": 4.0 + 0.001})
    two = brake(CAR, MOTOR, own, list(OHMS), each, cold).notches[0]
    assert two.peak_a[0] == pytest.approx(one.peak_a[0], rel=1e-9)
    assert two.leave_s[0] == pytest.approx(one.leave_s[0], rel=1e-5)
    assert two.section_j[:2, 0].sum() == pytest.approx(one.section_j[0, 0], rel=1e-5)


def test_strings_on_unlike_grids_each_excite_themselves() -> None:
    """The string on fewer ohms carries more; energy closes, and the driver looks at the first."""
    plan = replace(PLAN, notches=(Notch("1", PARALLEL, None, (Run(("C", "D", "E")), Run(("A", "B")))), NOTCHES[3]))
    found = stop(plan, Care(4, 5))
    entry = found.notches[0]
    assert entry.peak_a[0] > entry.arrive_a[0]
    assert entry.leave_a[0] == pytest.approx(60.0, abs=1e-6)
    assert abs(float(found.energy.balance_error[0])) <= 2e-6


def test_unlike_wheels_in_a_string_share_the_current() -> None:
    """Two in series, one on wheels a tenth smaller: the string's emf is the sum of both."""
    each = (MotorOwn(), MotorOwn(wheel_diameter_m=0.756))
    plan = replace(PLAN, notches=(Notch("1", SERIES, Run(("A", "B", "C", "D", "E"))), Notch("2", SERIES, Run(("E",)))))
    alike = brake(CAR, MOTOR, plan, list(OHMS), cases(OHMS), cold).notches[0]
    unlike = brake(CAR, replace(MOTOR, each=each), plan, list(OHMS), cases(OHMS), cold).notches[0]
    assert unlike.peak_a[0] > alike.peak_a[0]
    speed_ratio = (1.0 + 1.0 / 0.9) / 2.0
    assert unlike.critical_m_s[0] == pytest.approx(alike.critical_m_s[0] / speed_ratio, rel=1e-9)


def test_a_notch_above_its_critical_ohms_does_nothing_and_is_left_at_once() -> None:
    """R' of 7.6 ohm at 5 m/s: dead. The next notch arrives at the same speed."""
    dead = Notch("0", PARALLEL, Run(("A", "B", "C", "D", "E")))
    plan = replace(PLAN, notches=(dead, NOTCHES[3]), begin_m_s=5.0)
    first, second = stop(plan).notches
    assert not first.built[0]
    assert first.passed[0]
    assert first.peak_a[0] == 0.0
    assert second.built[0]
    assert second.arrive_m_s[0] == 5.0


def test_below_the_lowest_point_it_says_so_and_names_where_it_holds() -> None:
    last = stop().notches[-1]
    assert last.below_curve[0]
    assert last.leave_a[0] == pytest.approx(1.5, abs=1e-6)
    assert last.critical_m_s[0] < last.leave_m_s[0] < last.holds_m_s[0]


def test_downhill_the_car_settles_on_the_last_notch() -> None:
    """Where brake and gradient balance: there the driver has the speed the notch can give and no less."""
    found = stop(replace(PLAN, gradient=-0.04))
    last = found.notches[-1]
    assert last.settles[0]
    assert not found.stuck[0]
    assert 0.0 < last.leave_retard_m_s2[0] < 0.05 * last.retard_m_s2[0]


def test_a_car_that_gathers_way_on_the_last_notch_is_stuck() -> None:
    found = stop(replace(PLAN, gradient=-0.14, notches=NOTCHES[:1]))
    assert found.stuck[0]
    assert found.end_m_s[0] == 8.0


def test_cases_side_by_side_are_each_their_own() -> None:
    many = cases(OHMS, 3)
    heavier = replace(many, mass_kg=np.array([12e3, 13.5e3, 16e3]))
    together = brake(CAR, MOTOR, PLAN, list(OHMS), heavier, plates)
    alone = brake(CAR, MOTOR, PLAN, list(OHMS), cases(OHMS, mass_kg=16e3), plates)
    assert together.hottest_c[:, 2] == pytest.approx(alone.hottest_c[:, 0], abs=1e-3)
    assert together.seconds[2] == pytest.approx(alone.seconds[0], rel=1e-5)
    assert np.all(np.diff(together.hottest_c.max(axis=0)) > 0.0)


def test_a_trace_holds_the_moments_in_their_order() -> None:
    for plan in (PLAN, replace(PLAN, notch_by="by time", valley_a=None, notch_s=1.0)):
        found = brake(CAR, MOTOR, plan, list(OHMS), cases(OHMS), plates, trace=True)
        seconds = np.array([point.time_s[0] for point in found.trace])
        speeds = np.array([point.speed_m_s[0] for point in found.trace])
        assert seconds.size > 20
        assert np.all(np.diff(seconds) >= 0.0)
        assert np.all(np.diff(speeds) <= 1e-9)


@pytest.mark.parametrize("by", ["at valley current", "by time"])
def test_a_driver_without_a_figure_is_refused(by: str) -> None:
    with pytest.raises(InputError, match=by):
        stop(replace(PLAN, notch_by=by, valley_a=None))  # type: ignore[arg-type]


def test_impossible_brakes_are_refused() -> None:
    with pytest.raises(InputError, match="from 0 m/s"):
        stop(replace(PLAN, begin_m_s=0.0))
    with pytest.raises(CircuitError, match="0 ohm shorts the motors"):
        stop(replace(PLAN, notches=(Notch("1", PARALLEL, Run()),)))
    unlike = replace(MOTOR, each=(MotorOwn(), MotorOwn(wheel_diameter_m=0.7)))
    with pytest.raises(CircuitError, match="unlike motors side by side"):
        brake(CAR, unlike, PLAN, list(OHMS), cases(OHMS), plates)


def test_a_curve_no_brake_is_steady_on_is_refused() -> None:
    """Emf per ampere falls from point to point, but not in between."""
    points = MagnetisationPoints(60.0, (10.0, 20.0, 30.0), (100.0, 150.0, 225.0))
    with pytest.raises(CurveError, match="no steady current"):
        Excited(CurveTable(points))


def test_the_current_at_ohms_per_speed_is_the_root() -> None:
    found = Excited(CurveTable(POINTS))
    ohm_s = np.linspace(0.01, 1.2 * found.origin_ohm_s, 400)
    current = found.current_a(ohm_s)
    k, _ = found.read(np.maximum(current, 1e-9))
    on = current > 0.0
    assert np.all(on == (ohm_s < found.origin_ohm_s))
    assert current[on] * ohm_s[on] == pytest.approx(k[on], rel=1e-9)
    assert np.all(np.diff(current) <= 0.0)
