"""Single terms of the traction room by hand figures: each would pass unseen in a whole run if it were wrong."""

from dataclasses import replace
from math import hypot, pi

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from griddesign.errors import CurveError
from griddesign.grid.contacts.records import MotorIn, Network, Wire
from griddesign.grid.records import Run
from griddesign.traction.braking.build_up import build_up
from griddesign.traction.braking.excited import Excited
from griddesign.traction.braking.flow import Braked
from griddesign.traction.braking.hill import Descent, HillLaw, hill_law
from griddesign.traction.braking.records import Braking
from griddesign.traction.braking.rig import brake_notch
from griddesign.traction.braking.run import brake, rig
from griddesign.traction.curve import curve_of, monotone_slopes
from griddesign.traction.equation import common_grid_ohm, total_ohm
from griddesign.traction.held import HeldNotch
from griddesign.traction.mean_start import mean_start
from griddesign.traction.mechanics import accelerated_kg, effort_n
from griddesign.traction.network.currents import Driven, mean_of
from griddesign.traction.peaks import BuiltGrid
from griddesign.traction.problem import Problem
from griddesign.traction.programme import Programme
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    MotorOwn,
    Notch,
    RunningResistance,
    Start,
    Transition,
)
from griddesign.traction.runup.changing import between
from griddesign.traction.runup.flow import LEAD, Bench, bridged, fresh_state, rows_of_sections
from griddesign.traction.runup.networked import networked
from griddesign.traction.runup.records import Cases
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.table import SummedTable, curve_table
from griddesign.traction.runup.wiring import Drive
from griddesign.traction.search import _ahead

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324))
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
ONE = np.ones(1)
COLD_OHM = 0.42 * (234.5 + 20.0) / (234.5 + 75.0)
"""The motor at 20 degC: a cold motor peaks higher."""


def never_warm(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    return np.ones_like(t_c), np.zeros_like(t_c), np.full_like(t_c, np.inf), np.zeros_like(t_c)


def bench(ohms: dict[str, float], start_c: float) -> Bench:
    """Plates of 1000 J/K that lose 4 W for every kelvin over 20 degC."""
    column = np.array(list(ohms.values()))[:, None]

    def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
        return 1.0 + 0.0 * t_c, 0.0 * t_c, 1000.0 + 0.0 * t_c, 4.0 * (t_c - 20.0)

    cases = Cases(550.0 * ONE, column, 0.0 * column, start_c + 0.0 * column, 85.0 * ONE, 0.42 * ONE, 13500.0 * ONE)
    return Bench(LINE, CAR, MOTOR, cases, plates)


def test_in_a_bridge_plates_lose_heat_as_elsewhere() -> None:
    """``(P - 4 W/K · 180 K)/(1000 J/K)``; a section out of circuit only cools, by 0.72 K/s."""
    ohms = {"A": 1.6, "B": 1.9, "C": 0.8}
    own, names = bench(ohms, 200.0), tuple(ohms)
    how = Transition("bridge", 0.5, (Run(("A",)), Run(("B",))))
    notch = between(Notch("4", SERIES, Run()), Notch("5", PARALLEL, Run(("C",))), how, names, own.drive)
    assert notch is not None
    state = fresh_state(own.cases)
    state[LEAD] = 4.0
    change = bridged(own, notch)(state)
    warming, watts = (change[rows][:, 0] for rows in rows_of_sections(len(ohms)))
    assert warming[2] == pytest.approx(-0.72, rel=1e-12)
    assert watts[0] > 0.0 and watts[1] > 0.0
    assert warming == pytest.approx((watts - 720.0) / 1000.0, rel=1e-12)
    steep, standing = replace(own, car=replace(CAR, gradient=1.0)), state.copy()
    standing[LEAD] = 0.0
    assert bridged(steep, notch)(standing)[LEAD, 0] == 0.0  # held, not rolling back
    standing[LEAD] = 0.5
    assert bridged(steep, notch)(standing)[LEAD, 0] < 0.0
    standing[LEAD] = 0.0
    assert 0.0 < bridged(replace(own, car=replace(CAR, gradient=0.72)), notch)(standing)[LEAD, 0] < 1.0


@pytest.mark.parametrize("index", [0, 1])
@pytest.mark.parametrize("gradient", [0.0, 0.05, 0.12])
def test_falling_below_a_current_is_what_the_settled_current_says(index: int, gradient: float) -> None:
    notch = (Notch("1", SERIES, Run(("A",))), Notch("2", PARALLEL, Run(("A",))))[index]
    held = HeldNotch(LINE, replace(CAR, gradient=gradient), MOTOR, notch, 550.0)
    for grid_ohm in (2.0, 6.0):
        settled = held.settled_a(grid_ohm)
        assert not held.falls_below(settled * (1.0 - 1e-6), grid_ohm)
        assert held.falls_below(settled * (1.0 + 1e-6), grid_ohm)


def test_a_notch_with_motor_ohms_of_its_own_is_a_motor_of_those_ohms() -> None:
    notch = Notch("2", PARALLEL, Run(("A",)))
    other, motor = replace(notch, motor_ohm=0.3), replace(MOTOR, resistance_ohm=0.3)
    assert HeldNotch(LINE, CAR, MOTOR, other, 550.0).settled_a(2.0) == pytest.approx(
        HeldNotch(LINE, CAR, motor, notch, 550.0).settled_a(2.0), rel=1e-12
    )
    starts = [mean_start(LINE, CAR, *pair, {"A": 3.0}, valley_a=80.0) for pair in ((MOTOR, [other]), (motor, [notch]))]
    assert starts[0].seconds == pytest.approx(starts[1].seconds, rel=1e-12)
    assert starts[0].end_m_s == pytest.approx(starts[1].end_m_s, rel=1e-12)


def test_a_mean_start_that_passes_the_curve_is_run_and_marked() -> None:
    """The second notch takes more than 140 A while the car moves: k is held, so that the current comes out high."""
    notches = [Notch("1", PARALLEL, Run(("A",))), Notch("2", PARALLEL, Run())]
    start = mean_start(LINE, CAR, MOTOR, notches, {"A": 1.6}, valley_a=90.0)
    speed = float(start.notches[0].leave_m_s) * 2.0 * 3.5 / 0.84
    beyond = start.notches[1].arrive_a
    assert beyond > 200.0 and start.beyond_curve
    assert beyond * (0.42 + 2.0 * 0.04) + curve_of(POINTS).k(140.0) * speed == pytest.approx(550.0, rel=1e-9)


def test_a_section_whose_heat_is_not_known_is_taken_cold() -> None:
    notches = (Notch("1", SERIES, Run(("A", "B"))), Notch("2", SERIES, Run(("B",))), Notch("3", SERIES, Run()))
    problem = Problem(LINE, MOTOR, Start(130.0, 110.0), notches, ("A", "B"), {"A": 1.2})
    warmths = [problem.warmth(arrival) for arrival in Programme(problem).arrivals]
    assert {one["A"] for one in warmths} == {1.0, 1.2}
    assert {one["B"] for one in warmths} == {1.0}


def test_the_step_of_a_notch_may_be_downwards_but_for_the_first() -> None:
    """One motor alone behind all ohms pulls less than two did: the jerk is what it pulls less over the mass. The first
    notch has no pull before it to fall from: a car held on the brake feels nothing."""
    ohms = {"A": 2.0, "B": 4.0}
    own = bench(ohms, 20.0).cases
    notches = [Notch("1", SERIES, Run(("A",))), Notch("2", SERIES, Run()), Notch("3", PARALLEL, Run(("A",)))]
    how = Transition("one motor shorted", 0.5, (Run(("A", "B")),))
    run = run_up(LINE, CAR, MOTOR, notches, tuple(ohms), own, never_warm, transition=how)
    (crossing,), left = run.transitions, run.notches[1]
    pull_n = effort_n(CAR, curve_of(POINTS, hold_above=True), 2, float(left.leave_a[0]))
    change_n = float(crossing.effort_n[0]) - pull_n
    assert crossing.step_m_s2[0] == pytest.approx(change_n / accelerated_kg(CAR), rel=1e-6)
    assert crossing.step_m_s2[0] < -0.1
    steep, by_clock = replace(CAR, gradient=0.3), replace(own, dwell_s=np.ones((1, 1)))
    held = run_up(LINE, steep, MOTOR, notches[:1], tuple(ohms), by_clock, never_warm)
    assert held.notches[0].step_m_s2[0] == 0.0


def test_the_brake_builds_up_from_the_speed_at_which_the_notch_is_critical() -> None:
    """Ohms and speed of excitation go together: ``R'/R_critical = v_critical/v``."""
    excited, per_m_s = Excited(curve_table(POINTS, 1.0, 1.0)), 2.0 * 3.5 / 0.84
    plan = Braking((Notch("1", PARALLEL, Run(("A",))),), 8.0, 130.0, "at valley current", valley_a=60.0)
    found = build_up("1", excited, 5.0, plan, per_m_s)
    assert found.critical_ohm == pytest.approx(8.0 * per_m_s * 100.0 / 15.0 / (20.0 * pi), rel=1e-12)
    assert found.critical_m_s == pytest.approx(8.0 * 5.0 / found.critical_ohm, rel=1e-12)
    assert found.drawn_m_s == pytest.approx(8.0 * 5.0 / found.drawn_ohm, rel=1e-12)
    assert found.straight_fall == pytest.approx(1.0 - 215.0 / 35.0 / (100.0 / 15.0), rel=1e-12)


@pytest.mark.parametrize("y", [(0.0, 1.0, -5.0), (0.0, -1.0, 5.0), (0.0, 1.0, -2.3), (0.0, 1.0, -0.9)])
def test_the_slope_at_the_end_of_a_cubic_is_held_to_thrice_the_chord(y: tuple[float, ...]) -> None:
    """Where the chords change sign; against scipy's PchipInterpolator, which has the same rule."""
    x = (0.0, 1.0, 2.0)
    assert monotone_slopes(x, y) == pytest.approx(list(PchipInterpolator(x, y).derivative()(np.array(x))), abs=1e-12)


def test_a_curve_asked_for_plainly_refuses_currents_beyond_it() -> None:
    with pytest.raises(CurveError, match="ends at 140 A"):
        curve_of(POINTS).k(150.0)
    assert curve_of(POINTS).k(140.0 * (1.0 + 1e-12)) == curve_of(POINTS).k(140.0)  # rounding is none
    assert curve_of(POINTS, hold_above=True).k(150.0) == curve_of(POINTS).k(140.0)


@pytest.mark.parametrize("guess", [0.5, 40.0, 900.0])
def test_the_speed_of_a_network_is_found_from_any_guess(guess: float) -> None:
    """One motor behind 2 ohm at 550 V: 60 A at ``n = (V - 60 A · R)/k(60 A)``. By Newton's rule on the speed alone,
    which else is asked only where the quick way does not settle."""
    table, ohm = curve_table(POINTS, 1.0, 1.0), 2.42
    lone = Driven((table,), np.array([0]), np.array([[550.0 / ohm]]), np.array([[[1.0 / ohm]]]))
    speed = (550.0 - 60.0 * ohm) / curve_of(POINTS).k(60.0)
    for found in (
        lone.where(mean_of(np.array([60.0])), np.array([guess])),
        lone._ahead(mean_of(np.array([60.0])), np.array([True]), np.array([guess])),
    ):
        assert found[0][0, 0] == pytest.approx(60.0, rel=1e-7)
        assert found[1][0] == pytest.approx(speed, rel=1e-7)


def test_a_network_that_stands_stays_so_beside_one_that_moves() -> None:
    """Two cases at once; the second has less than the current asked for at standstill already, and is left alone."""
    table, ohm, amps = curve_table(POINTS, 1.0, 1.0), np.array([2.42, 11.0]), np.array([60.0, 60.0])
    both = Driven((table,), np.array([0]), (550.0 / ohm)[:, None], (1.0 / ohm)[:, None, None])
    speed = (550.0 - 60.0 * 2.42) / curve_of(POINTS).k(60.0)
    current, turning = both._ahead(mean_of(amps), np.array([True, False]), np.array([40.0, 0.0]))
    assert turning == pytest.approx([speed, 0.0], rel=1e-7)
    assert current[:, 0] == pytest.approx([60.0, 50.0], rel=1e-7)


def test_a_current_left_below_the_lowest_point_of_the_curve_is_marked() -> None:
    ohms = {"A": 4.0}
    own = bench(ohms, 20.0).cases
    notches = [Notch("1", SERIES, Run(("A",))), Notch("2", SERIES, Run())]
    for valley_a, below in ((14.0, True), (16.0, False)):
        run = run_up(LINE, CAR, MOTOR, notches, ("A",), replace(own, valley_a=valley_a * ONE), never_warm)
        assert [bool(row.below_curve[0]) for row in run.notches] == [below, below]


def test_from_standstill_all_volts_lie_across_the_ohms() -> None:
    """The margin of the second notch taken at once, motors at 20 degC: ``Ip·(2·Rm + Rg + Rf) - V``."""
    ohms = {"A": 1.63, "B": 1.36, "C": 0.29}
    notches = tuple(Notch(name, SERIES, Run(tuple(keep))) for name, keep in (("1", "ABC"), ("2", "BC"), ("3", "C")))
    built = BuiltGrid(Problem(LINE, MOTOR, Start(130.0, 110.0), notches, tuple(ohms), {}), ohms)
    assert built._by_notch_left(88.0, 130.0)[0] == pytest.approx(130.0 * (2.0 * COLD_OHM + 1.69) - 550.0, rel=1e-12)


def test_the_margin_across_a_change_of_grouping_is_that_of_the_equation() -> None:
    """``Ip·R' + s'·k(Ip)·n - V`` with ``n = (V - Iv·R')/(s·k(Iv))`` on leaving; all cold, two in series, then one."""
    ohms, k = {"A": 2.9, "B": 0.9}, curve_of(POINTS).k
    notches = tuple(
        Notch(name, grouping, Run(tuple(keep)))
        for name, grouping, keep in (("1", SERIES, "AB"), ("2", SERIES, ""), ("3", PARALLEL, "B"))
    )
    programme = Programme(Problem(LINE, MOTOR, Start(130.0, 110.0), notches, tuple(ohms), {}))
    rows = programme.margins(88.0)
    got = rows.matrix @ np.array(list(ohms.values())) + rows.offset
    series_ohm, parallel_ohm = 2.0 * COLD_OHM + 0.04, COLD_OHM + 2.0 * (0.9 + 0.04)
    for place, arriving, motors, leaving in (
        (1, series_ohm, 2, series_ohm + 3.8),
        (2, parallel_ohm, 1, series_ohm),
    ):
        speed = (550.0 - 88.0 * leaving) / (2.0 * k(88.0))
        want = 130.0 * arriving + motors * k(130.0) * speed - 550.0
        of_notch = [float(volts) for volts, way in zip(got, programme.arrivals, strict=True) if way.to == place]
        assert min(of_notch) == pytest.approx(want, rel=1e-9)


def test_the_common_grid_of_a_total_is_what_the_total_is_made_of() -> None:
    pairs = Grouping(2, 2)
    assert common_grid_ohm(pairs, total_ohm(pairs, 0.42, 0.04, common_ohm=1.7), 0.42, 0.04) == pytest.approx(1.7)


UNLIKE = replace(MOTOR, each=(MotorOwn(), MotorOwn(0.80, None, 0.45, 0.98)))


def test_a_notch_s_own_motor_ohms_are_shared_out_as_the_motors_are() -> None:
    """0.30 ohm for a motor stated with 0.42: of one with 0.45 ohm of its own 0.30·0.45/0.42; in terms of 0.42."""
    notch = Notch("1", PARALLEL, Run(("A",)), motor_ohm=0.3)
    drive = Drive(CAR, UNLIKE)
    assert drive.motor_ohms(0, notch) == pytest.approx(0.3 / 0.42, rel=1e-14)
    assert drive.motor_ohms(1, notch) == pytest.approx(0.3 * 0.45 / 0.42 / 0.42, rel=1e-14)


def test_a_weakened_field_is_measured_from_higher_currents_on() -> None:
    half = curve_table(POINTS, 0.5, 1.0)
    assert (half.lowest_a, half.highest_a) == (30.0, 280.0)
    assert half.read(np.array([140.0]))[0][0] == pytest.approx(curve_of(POINTS).k(70.0), rel=1e-12)


def test_unlike_strings_of_a_brake_are_each_read_by_their_own_curve() -> None:
    notch = brake_notch(Notch("1", PARALLEL, None, (Run(("A",)), Run(("B",)))), ("A", "B"), Drive(CAR, UNLIKE))
    k, _ = notch.read(np.array([[60.0], [60.0]]))
    assert k[0, 0] == pytest.approx(curve_of(POINTS).k(60.0), rel=1e-12)
    assert k[1, 0] == pytest.approx(0.98 * 0.84 / 0.80 * curve_of(POINTS).k(60.0), rel=1e-12)


def test_a_slow_car_still_slows_down_by_its_resistance() -> None:
    """At half a metre a second no motor excites itself; what is left is ``45 N/t`` and a little, over 1.1 masses."""
    own = bench({"A": 3.0}, 20.0)
    notch = brake_notch(Notch("1", PARALLEL, Run(("A",))), ("A",), Drive(CAR, MOTOR))
    state = fresh_state(own.cases)
    state[LEAD] = 0.5
    change = Braked(own, notch).rate_by_speed(state)
    assert change[LEAD, 0] == pytest.approx(-(0.045 + 0.5 * 0.00324) / 1.1, rel=1e-9)
    state[LEAD] = 0.0
    assert Braked(own, notch).rate_by_speed(state)[LEAD, 0] == 0.0  # it stands
    rolls = Braked(replace(own, car=replace(CAR, gradient=-0.05)), notch).rate_by_speed(state)[LEAD, 0]
    assert rolls == pytest.approx((9.80665 * 0.05 / hypot(1.0, 0.05) - 0.045) / 1.1, rel=1e-9)


def test_the_grid_on_a_hill_takes_up_the_heat_of_the_current_of_all_strings() -> None:
    """``(2·I)²·R·r(T)`` less the loss over the heat capacity, in every section; and what grid and motors take up is
    what the wheels give: held back at the rim times speed times efficiency."""

    def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
        return 1.0 + 0.002 * (t_c - 20.0), 0.002 + 0.0 * t_c, 1000.0 + 0.0 * t_c, 4.0 * (t_c - 20.0)

    ohms = {"A": 1.1, "B": 0.9}
    own = rig(CAR, MOTOR, bench(ohms, 20.0).cases, plates, -0.06)
    notch = brake_notch(Notch("1", PARALLEL, Run(("A", "B"))), ("A", "B"), own.drive)
    found, t_c = Descent(own, notch, hill_law(own, notch)), np.array([[120.0], [170.0]])
    amps, speed = (float(value[0]) for value in found.at(t_c)[1:])
    watts = (2.0 * amps) ** 2 * np.array([1.1 * 1.2, 0.9 * 1.3])
    assert found.heating(t_c)[0][:, 0] == pytest.approx((watts - [400.0, 600.0]) / 1000.0, rel=1e-9)
    held_n = 13500.0 * (9.80665 * 0.06 / hypot(1.0, 0.06) - 0.045 - 0.00324 * speed)
    assert watts.sum() + 2.0 * amps**2 * 0.42 == pytest.approx(held_n * speed * 0.95, rel=1e-5)


def test_a_network_needs_no_feeder() -> None:
    """One section ahead of one motor at standstill: ``V/(R + Rm)``, and ``V/(R + Rm + Rf)`` behind a feeder."""
    wires = (Wire("A", "section", 1, 2), Wire("motor 1", "motor", 2, 0, motor=1, ohm=1.0))
    network = Network(wires, 3, (MotorIn(1, 1),), "a test")
    notch = Notch("1", Grouping(1, 1), None, network=network)
    for feeder_ohm in (0.0, 0.04):
        mesh = networked(notch, ("A",), Drive(CAR, MOTOR, feeder_ohm)).mesh
        assert mesh is not None
        driven = mesh.driven(np.array([[3.0]]), 0.42 * ONE, 550.0 * ONE)
        assert driven.standing_a[0, 0] == pytest.approx(550.0 / (3.42 + feeder_ohm), rel=1e-12)


def test_a_motor_that_was_shorted_meets_the_next_notch_without_flux() -> None:
    """The bound of the peak with the flux as it was: the first motor has its emf, the second none, and Kirchhoff's two
    equations with a common feeder and grid say what it takes."""
    ohms = {"A": 2.0, "B": 0.6}
    own = bench(ohms, 20.0).cases
    notches = [Notch("1", SERIES, Run(("A",))), Notch("2", SERIES, Run()), Notch("3", PARALLEL, Run(("B",)))]
    how = Transition("one motor shorted", 0.5, (Run(("B",)),))
    run = run_up(LINE, CAR, MOTOR, notches, tuple(ohms), own, never_warm, transition=how)
    (crossing,), after = run.transitions, run.notches[2]
    flux = curve_of(POINTS, hold_above=True).k(float(crossing.leave_a[0]))
    emf_v = flux * float(after.arrive_m_s[0]) * 2.0 * 3.5 / 0.84
    first_a, second_a = np.linalg.solve([[1.06, 0.64], [0.64, 1.06]], [550.0 - emf_v, 550.0])
    assert second_a > first_a
    assert after.frozen_flux_a[0] == pytest.approx(second_a, rel=1e-6)


def test_motors_in_series_are_measured_as_far_as_the_least_of_them() -> None:
    other = MagnetisationPoints(20.0 * pi, (20.0, 50.0, 90.0, 160.0), (120.0, 270.0, 420.0, 560.0))
    both = SummedTable((curve_table(POINTS, 1.0, 1.0), curve_table(other, 1.0, 1.0)))
    assert (both.lowest_a, both.highest_a) == (20.0, 140.0)


def test_a_brake_tells_where_its_peak_passes_the_curve_and_where_not() -> None:
    """Ten per cent above the highest point measured, and as much below it, on one notch by the clock."""
    per_m_s = 2.0 * 3.5 / 0.84
    for share, beyond in ((1.1, True), (0.9, False)):
        amps = share * 140.0
        k = curve_of(POINTS, hold_above=True).k(amps)
        plan = Braking((Notch("1", PARALLEL, Run(("A",))),), 8.0, 200.0, "by time", notch_s=1.0)
        ohm = 0.5 * (8.0 * per_m_s * k / amps - 0.42)
        run = brake(CAR, MOTOR, plan, ["A"], bench({"A": ohm}, 20.0).cases, never_warm)
        assert run.notches[0].peak_a[0] == pytest.approx(amps, rel=1e-9)
        assert bool(run.notches[0].beyond_curve[0]) is beyond


def test_of_the_corners_of_an_arrival_the_one_with_least_margin_counts() -> None:
    """Leaving hot and arriving cold is the worse corner wherever a notch before has ohms; offsets say nothing of it."""
    ohms = {"A": 1.63, "B": 1.36, "C": 0.29}
    notches = tuple(Notch(name, SERIES, Run(tuple(keep))) for name, keep in (("1", "ABC"), ("2", "BC"), ("3", "C")))
    programme = Programme(Problem(LINE, MOTOR, Start(130.0, 110.0), notches, tuple(ohms), dict.fromkeys(ohms, 1.25)))
    rows = programme.margins(88.0)
    margins = rows.matrix @ np.array(list(ohms.values())) + rows.offset
    picked = programme._worst_rows(rows, ohms)
    arrived = np.array([arrival.to for arrival in programme.arrivals])
    assert sorted(arrived[picked]) == [1, 2]
    for to in (1, 2):
        of_notch = margins[arrived == to]
        assert len(of_notch) == 2 and of_notch.max() - of_notch.min() > 10.0
        assert margins[picked & (arrived == to)] == of_notch.min()


def test_a_hill_is_held_from_the_first_ohms_of_the_law_to_the_last() -> None:
    law = HillLaw(np.array([1.0, 2.0, 3.0]), np.array([90.0, 70.0, 60.0]), np.array([2.0, 4.0, 6.0]))
    assert law.holds(np.array([0.99, 1.0, 2.5, 3.0, 3.01])).tolist() == [False, True, True, True, False]
    assert law.read(np.array([2.5]))[0][0] == 65.0


def test_rounds_that_shrink_alike_are_followed_to_their_end_and_others_no_farther_than_their_step() -> None:
    """Each error 0.4 of the one before: two steps tell the end. Steps alike but for a hair would leap to anywhere."""
    end, error = np.array([1.0, 2.0]), np.array([0.5, -0.3])
    first, second = end + np.outer((1.0, 0.4), error), end + np.outer((0.4, 0.16), error)
    assert _ahead(first, second) == pytest.approx(end, abs=1e-12)
    drift = np.array([0.1, 0.2])
    first, second = np.array([0.0 * drift, drift]), np.array([drift, 2.0 * drift * (1.0 - 1e-9)])
    assert np.abs(_ahead(first, second) - second[1]).max() <= 0.2
