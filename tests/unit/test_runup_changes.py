"""Transitions, unlike motors and weakened fields against the same car followed by a general integrator.

Nothing shared but the motor curve: speed is integrated, and at every speed Kirchhoff's equations of the whole circuit
are written out, node by node, and solved by a general root finder.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib.metadata import version
from math import pi

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import fsolve

from griddesign.errors import CircuitError, InputError
from griddesign.grid.records import Branches, Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.mechanics import accelerated_kg, resistance_n
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    MotorOwn,
    Notch,
    RunningResistance,
    Transition,
)
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.table import CurveTable, SummedTable

LIBRARY = tuple(map(int, version("scipy").split(".")[:2]))

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324, 1e-4), 0.01)
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 160.0), (100.0, 215.0, 381.0, 485.0, 575.0))
OTHER = MagnetisationPoints(20.0 * pi, (20.0, 50.0, 90.0, 160.0), (120.0, 270.0, 420.0, 560.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
UNLIKE = replace(MOTOR, each=(MotorOwn(), MotorOwn(0.80, None, 0.45, 0.98, OTHER)))
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
OHMS = {"A": 1.63, "B": 1.36, "C": 0.8, "D": 0.58, "E": 0.27}
NAMES = tuple(OHMS)
VALLEY = 85.0


def never_warm(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    return np.ones_like(t_c), np.zeros_like(t_c), np.full_like(t_c, np.inf), np.zeros_like(t_c)


def warm(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    heat = np.array([[24.0], [20.0], [10.0], [8.0], [4.0]]) * 300.0 + 0.0 * t_c
    return 1.0 + 0.0019 * (t_c - 20.0), np.full_like(t_c, 0.0019), heat, 3.0 * (t_c - 20.0)


def cases(**given: object) -> Cases:
    one, column = np.ones(1), np.array(list(OHMS.values()))[:, None]
    plain = Cases(550.0 * one, column, 0.0 * column, 20.0 + 0.0 * column, VALLEY * one, 0.42 * one, 13500.0 * one)
    return replace(plain, **given)  # type: ignore[arg-type]


def start(notches: list[Notch], motor: Motor = MOTOR, plates: Callable = never_warm, **options: object) -> RunUp:
    return run_up(LINE, CAR, motor, notches, NAMES, cases(), plates, **options)  # type: ignore[arg-type]


def axle(motor: Motor, number: int, field: float = 1.0) -> tuple[Callable, float, float]:
    """Emf of one motor for one m/s of the car at a current, its ohms, and newtons at the rim for one volt-ampere."""
    own = motor.each[number] if motor.each else MotorOwn()
    curve = MotorCurve(own.magnetisation or motor.magnetisation, hold_above=True)
    turns = 2.0 * (own.gear_ratio or CAR.gear_ratio) / (own.wheel_diameter_m or CAR.wheel_diameter_m)

    def emf(amps: float) -> float:
        return own.emf_factor * curve.k(min(max(field * amps, 0.0), 1e4)) * turns

    return emf, own.resistance_ohm or motor.resistance_ohm, CAR.drive_efficiency


@dataclass(frozen=True)
class Net:
    """Residuals of Kirchhoff's equations in the unknowns, and which of them are the motors' currents and the line's."""

    equations: Callable
    unknowns: int
    line: Callable


def parallel(motor: Motor, ohm: float, field: float = 1.0) -> Net:
    axles = [axle(motor, 0, field), axle(motor, 1, field)]

    def equations(x: np.ndarray, speed: float) -> list[float]:
        rail_v = 550.0 - (LINE.feeder_ohm + ohm) * (x[0] + x[1])
        return [rail_v - x[k] * own - emf(x[k]) * speed for k, (emf, own, _) in enumerate(axles)]

    return Net(equations, 2, lambda x: x[0] + x[1])


def series(motor: Motor, ohm: float) -> Net:
    axles = [axle(motor, 0), axle(motor, 1)]

    def equations(x: np.ndarray, speed: float) -> list[float]:
        drop = sum(x[0] * own + emf(x[0]) * speed for emf, own, _ in axles)
        return [550.0 - (LINE.feeder_ohm + ohm) * x[0] - drop, x[1] - x[0]]

    return Net(equations, 2, lambda x: x[0])


def alone(motor: Motor, ohm: float) -> Net:
    emf, own, _ = axle(motor, 0)
    return Net(
        lambda x, speed: [550.0 - (LINE.feeder_ohm + ohm + own) * x[0] - emf(x[0]) * speed, x[1]], 2, lambda x: x[0]
    )


def bridge(motor: Motor, first_ohm: float, second_ohm: float) -> Net:
    """Unknown: both motors' currents, and those of the resistors beside the first (x2) and the second motor (x3)."""
    (emf1, own1, _), (emf2, own2, _) = axle(motor, 0), axle(motor, 1)

    def equations(x: np.ndarray, speed: float) -> list[float]:
        upper, lower = x[0] * own1 + emf1(x[0]) * speed, x[1] * own2 + emf2(x[1]) * speed
        return [
            550.0 - LINE.feeder_ohm * (x[0] + x[2]) - upper - lower,
            x[0] + x[2] - x[1] - x[3],
            upper - x[2] * first_ohm,
            lower - x[3] * second_ohm,
        ]

    return Net(equations, 4, lambda x: x[0] + x[2])


class Follower:
    """The car followed from net to net: speed, way and line joules integrated, currents solved at every moment."""

    def __init__(self, motor: Motor) -> None:
        self.motor, self.state, self.clock, self.guess = motor, np.zeros(3), 0.0, np.full(4, 60.0)

    def currents(self, net: Net, speed: float) -> np.ndarray:
        guess = self.guess[: net.unknowns]
        found, _, good, _ = fsolve(net.equations, guess, args=(speed,), xtol=1e-13, full_output=True)
        if good != 1 and np.abs(net.equations(found, speed)).max() > 1e-9:
            raise AssertionError("no currents found")
        self.guess[: net.unknowns] = found
        return np.asarray(found)

    def run(self, net: Net, field: float, seconds: float | None, valley: float = VALLEY) -> np.ndarray:
        """Currents of the motors on arriving; then the net is kept for the seconds, or down to the valley."""
        arrived = self.currents(net, self.state[0])
        axles = [axle(self.motor, k, field) for k in (0, 1)]

        def rate(_: float, now: np.ndarray) -> list[float]:
            x = self.currents(net, now[0])
            pull = sum(emf(x[k]) * x[k] * eta for k, (emf, _, eta) in enumerate(axles))
            return [(pull - resistance_n(CAR, now[0])) / accelerated_kg(CAR), now[0], 550.0 * net.line(x)]

        def at_valley(_: float, now: np.ndarray) -> float:
            return float(self.currents(net, now[0])[:2].mean()) - valley

        at_valley.terminal = True  # type: ignore[attr-defined]
        events = at_valley if seconds is None else None
        if seconds is None and arrived[:2].mean() <= valley:
            return arrived
        found = solve_ivp(
            rate, (0.0, seconds or 60.0), self.state, method="DOP853", rtol=1e-10, atol=1e-10, events=events
        )
        self.state, self.clock = found.y[:, -1], self.clock + float(found.t[-1])
        return arrived


def held_against(run: RunUp, follower: Follower, peaks: list[np.ndarray]) -> None:
    assert [float(row.peak_a[0]) for row in run.rows] == pytest.approx([peak[:2].max() for peak in peaks], abs=5e-3)
    assert run.seconds[0] == pytest.approx(follower.clock, abs=1e-3)
    assert run.end_m_s[0] == pytest.approx(follower.state[0], abs=1e-4)
    assert run.distance_m[0] == pytest.approx(follower.state[1], abs=5e-3)
    assert run.energy.line_j[0] == pytest.approx(follower.state[2], rel=1e-5)
    assert abs(float(run.energy.balance_error[0])) < 1e-6


FULL_SERIES, LAST = Notch("4", SERIES, Run()), Notch("6", PARALLEL, Run())
SHORT = [Notch("1", SERIES, Run(NAMES)), Notch("3", SERIES, Run(("C", "D", "E"))), FULL_SERIES]
SHORT += [Notch("5", PARALLEL, Run(("D", "E"))), LAST]
NETS = ((series, 4.64), (series, 1.65), (series, 0.0), (parallel, 0.85), (parallel, 0.0))


def follow(motor: Motor, crossing: tuple[Net, float] | None) -> tuple[Follower, list[np.ndarray]]:
    follower, peaks = Follower(motor), []
    for place, (net, ohm) in enumerate(NETS):
        if place == 3 and crossing is not None:
            peaks.append(follower.run(crossing[0], 1.0, crossing[1]))
        peaks.append(follower.run(net(motor, ohm), 1.0, None))
    return follower, peaks


@pytest.mark.skipif(LIBRARY < (1, 12), reason="fsolve of older versions, this test's own solver, steps to nan")
@pytest.mark.parametrize("motor", [MOTOR, UNLIKE], ids=["alike", "unlike"])
def test_one_motor_shorted(motor: Motor) -> None:
    run = start(SHORT, motor, transition=Transition("one motor shorted", 0.7, (Run(("C", "D")),)), care=Care(2))
    held_against(run, *follow(motor, (alone(motor, 1.38), 0.7)))
    (crossing,) = run.transitions
    assert crossing.name == "transition 4-5"
    assert crossing.line_peak_a[0] == crossing.peak_a[0]  # one motor's current is the line's


@pytest.mark.parametrize("motor", [MOTOR, UNLIKE], ids=["alike", "unlike"])
def test_the_bridge(motor: Motor) -> None:
    """Section A in series with the first motor once the bridge opens, so beside the second before."""
    run = start(SHORT, motor, transition=Transition("bridge", 0.7, (Run(("A", "D")), Run(("B", "C")))), care=Care(2))
    held_against(run, *follow(motor, (bridge(motor, 2.16, 2.21), 0.7)))
    assert run.section_j[0, 0] > 0.0


@pytest.mark.parametrize("motor", [MOTOR, UNLIKE], ids=["alike", "unlike"])
def test_no_transition(motor: Motor) -> None:
    run = start(SHORT, motor, care=Care(2))
    held_against(run, *follow(motor, None))
    assert run.transitions == ()


def test_a_balanced_bridge_opens_without_a_jump() -> None:
    """With U/R of each resistor equal to its motor's current none flows in the bridge wire: opening changes nothing."""
    opened = Notch("5", PARALLEL, None, (Run(("A",)), Run(("B",))))
    left = start([*SHORT[:3], opened]).notches[2]
    half_v = 0.5 * (550.0 - LINE.feeder_ohm * 2.0 * VALLEY)  # both arms and motors at the valley current
    beside = half_v / VALLEY
    ohms = np.array([[beside], [beside], [0.8], [0.58], [0.27]])
    given = replace(cases(), section_ohm=ohms)
    slow = [replace(notch, common=Run(("C", "D", "E"))) if notch.name == "1" else notch for notch in SHORT[:3]]
    how = Transition("bridge", 0.0, (Run(("A",)), Run(("B",))))
    run = run_up(LINE, CAR, MOTOR, [*slow, opened], NAMES, given, never_warm, transition=how)
    bridged, after = run.transitions[0], run.notches[3]
    assert after.arrive_a[0] == pytest.approx(bridged.leave_a[0], abs=1.0)
    assert bridged.leave_a[0] == pytest.approx(left.leave_a[0], abs=2.5)  # the feeder's drop doubles, no more


def test_heat_of_a_transition_goes_into_the_plates_and_the_energy_closes() -> None:
    for how in (
        Transition("one motor shorted", 0.7, (Run(("C", Branches((Run(("D",)), Run(("E",)))))),)),
        Transition("bridge", 0.7, (Run(("A",)), Run(("B",)))),
        Transition("power off", 0.7),
    ):
        for motor in (MOTOR, UNLIKE):
            run = start(SHORT, motor, warm, transition=how, care=Care(2, 3))
            assert abs(float(run.energy.balance_error[0])) < 1e-6


def test_the_arms_of_a_bridge_take_half_the_volts_each() -> None:
    like = Transition("bridge", 0.7, (Run(("A",)), Run(("B", "E"))))  # 1.63 ohm in both arms
    bridged, plain = start(SHORT, MOTOR, transition=like), start(SHORT, MOTOR, power_off_s=0.7)
    row = bridged.transitions[0]
    half_v = 0.5 * (550.0 - LINE.feeder_ohm * float(row.line_peak_a[0]))
    more_j = bridged.section_j[0, 0] - plain.section_j[0, 0]
    assert more_j == pytest.approx(0.7 * half_v**2 / 1.63, rel=2e-3)  # the feeder's drop changes a little on the way


def test_strings_of_unlike_grids_close_to_one_in_a_million() -> None:
    unlike = [*SHORT[:3], Notch("5", PARALLEL, None, (Run(("C", "D")), Run(("E", "A")))), LAST]
    for motor in (MOTOR, UNLIKE):
        run = start(unlike, motor, warm)
        assert abs(float(run.energy.balance_error[0])) < 1e-6


def test_the_split_among_unlike_motors() -> None:
    """In series one current and shares of the volts, in parallel one voltage and shares of the current."""
    run = start(SHORT, UNLIKE)
    for row in run.notches:
        assert row.motor_a is not None and row.motor_v is not None and row.motor_n is not None
        assert row.motor_n.sum() == pytest.approx(row.effort_n[0], rel=1e-12)
    amps, volts = run.notches[2].motor_a[:, 0], run.notches[2].motor_v[:, 0]  # type: ignore[index]
    assert amps[0] == amps[1]
    assert volts.sum() == pytest.approx(550.0 - LINE.feeder_ohm * amps[0], rel=1e-12)
    assert abs(volts[0] - volts[1]) > 1.0
    amps, volts = run.notches[4].motor_a[:, 0], run.notches[4].motor_v[:, 0]  # type: ignore[index]
    assert volts[0] == pytest.approx(volts[1], rel=1e-9)
    assert run.notches[4].peak_a[0] == amps.max() > amps.min() + 1.0
    assert start(SHORT).notches[0].motor_a is None


def test_a_weakened_field() -> None:
    """60 % of the ampere-turns and fewer ohms on the last notch, against the same written out."""
    weak = [*SHORT, Notch("7", PARALLEL, Run(), field=0.6, motor_ohm=0.36)]
    follower, peaks = follow(MOTOR, None)
    follower.guess[:] = 90.0
    peaks.append(follower.run(parallel(replace(MOTOR, resistance_ohm=0.36), 0.0, 0.6), 0.6, None))
    run = start(weak, care=Care(2))
    held_against(run, follower, peaks)
    assert run.notches[5].peak_a[0] > run.notches[4].leave_a[0] + 20.0
    assert run.notches[5].frozen_flux_a[0] == run.notches[5].peak_a[0]  # the flux falls: the peak is the bound


def test_four_motors_in_pairs_are_two_of_twice_the_current() -> None:
    """Pairs side by side: the same start with half the ohms and twice the mass, transitions and all."""
    four = replace(MOTOR, count=4)
    pairs = {SERIES: Grouping(2, 2), PARALLEL: Grouping(1, 4)}
    notches = [replace(notch, grouping=pairs[notch.grouping]) for notch in SHORT]
    half = replace(cases(), section_ohm=cases().section_ohm / 2.0, mass_kg=2.0 * cases().mass_kg)
    line = Line(550.0, 660.0, 0.02)
    for how in (
        Transition("one motor shorted", 0.7, (Run(("C", "D")),)),
        Transition("bridge", 0.7, (Run(("A",)), Run(("B",)))),
    ):
        two = start(SHORT, MOTOR, transition=how)
        double = run_up(line, CAR, four, notches, NAMES, half, never_warm, transition=how)
        assert [row.peak_a[0] for row in double.rows] == pytest.approx([row.peak_a[0] for row in two.rows], rel=1e-9)
        assert double.seconds[0] == pytest.approx(two.seconds[0], rel=1e-9)
        assert double.energy.line_j[0] == pytest.approx(2.0 * two.energy.line_j[0], rel=1e-9)


def test_four_motors_three_groupings() -> None:
    """4 in series, 2 by 2, 4 in parallel: each change a transition of its own."""
    four, car = replace(MOTOR, count=4), replace(CAR, mass_kg=27000.0)
    notches = [
        Notch("1", Grouping(4, 1), Run(NAMES)),
        Notch("2", Grouping(4, 1), Run()),
        Notch("3", Grouping(2, 2), Run(("D",)), transition=Transition("one motor shorted", 0.3, (Run(("C",)),))),
        Notch("4", Grouping(2, 2), Run()),
        Notch("5", Grouping(1, 4), Run(("E",))),
        Notch("6", Grouping(1, 4), Run()),
    ]
    given = replace(cases(), mass_kg=np.array([27000.0]))
    how = Transition("bridge", 0.3, (Run(("A",)), Run(("B",))))
    run = run_up(LINE, car, four, notches, NAMES, given, warm, transition=how, care=Care(2, 4))
    assert [row.name for row in run.transitions] == ["transition 2-3", "transition 4-5"]
    assert [row.name for row in run.rows][2] == "transition 2-3"
    assert abs(float(run.energy.balance_error[0])) < 1e-6
    assert run.stuck[0] == -1


def test_one_motor_cut_out_is_the_same_car_with_one_motor() -> None:
    """Whatever stands in the notches: the motor left, alone on the same circuits."""
    out = [replace(notch, out=(1,)) for notch in SHORT]
    one = [replace(notch, grouping=Grouping(1, 1)) for notch in SHORT]
    found, single = start(out), run_up(LINE, CAR, replace(MOTOR, count=1), one, NAMES, cases(), never_warm)
    assert [row.peak_a[0] for row in found.rows] == pytest.approx([row.peak_a[0] for row in single.rows], rel=1e-12)
    assert found.energy.line_j[0] == pytest.approx(single.energy.line_j[0], rel=1e-12)


def test_a_string_shortened_by_one_motor() -> None:
    """Four motors, one cut out: strings of two and of one on a common grid, each finding its own current."""
    four = replace(MOTOR, count=4)
    notches = [
        Notch("1", Grouping(2, 2), Run(NAMES), out=(1,)),
        Notch("2", Grouping(1, 4), Run(("A", "B")), out=(1,)),
    ]
    run = run_up(LINE, CAR, four, notches, NAMES, replace(cases(), valley_a=np.array([45.0])), never_warm)
    assert run.stuck[0] == -1
    assert run.notches[0].peak_a[0] > run.notches[0].arrive_a[0] + 5.0
    assert run.notches[1].line_peak_a[0] == pytest.approx(3.0 * run.notches[1].peak_a[0])
    assert abs(float(run.energy.balance_error[0])) < 1e-6


def test_with_the_other_half_cut_out_a_transition_has_no_power() -> None:
    how = (Transition("one motor shorted", 0.5, (Run(("C",)),)), Transition("bridge", 0.5, (Run(("A",)), Run(("B",)))))
    off = start([replace(notch, out=(0,)) for notch in SHORT], power_off_s=0.5)
    for kind in how:
        run = start([replace(notch, out=(0,)) for notch in SHORT], transition=kind)
        assert run.transitions == ()
        assert run.seconds[0] == pytest.approx(off.seconds[0], rel=1e-12)


def test_as_fast_as_a_peak_current_allows() -> None:
    """Every peak at the limit or the notch passed, and no driver by one valley within that limit is quicker."""
    limit = 120.0
    for how in (None, Transition("one motor shorted", 0.5, (Run(("C", "D")),)), Transition("power off", 0.5)):
        given = cases(peak_a=np.array([limit]))
        run = run_up(LINE, CAR, MOTOR, SHORT, NAMES, given, warm, transition=how)
        peaks = [float(row.peak_a[0]) for row in run.rows]
        assert max(peaks[1:]) <= limit * (1.0 + 1e-9)
        pairs = zip(run.notches, run.notches[1:], strict=False)
        for left, reached in pairs:
            next_peak = max(float(row.peak_a[0]) for row in run.rows if row is reached or row in run.transitions)
            if not left.passed[0] and reached.name != "5":
                assert float(reached.peak_a[0]) == pytest.approx(limit, abs=2e-4)
            assert next_peak <= limit * (1.0 + 1e-9)
        for valley in np.linspace(60.0, 110.0, 26):
            slower = run_up(LINE, CAR, MOTOR, SHORT, NAMES, cases(valley_a=np.array([valley])), warm, transition=how)
            within = max(float(row.peak_a[0]) for row in slower.rows[1:]) <= limit
            reached = slower.notches[-1].arrive_s[0], slower.notches[-1].arrive_m_s[0]
            if within and slower.stuck[0] < 0:
                assert reached[1] > run.notches[-1].arrive_m_s[0] - 1e-3 or reached[0] > run.notches[-1].arrive_s[0]
                assert reached[0] >= run.notches[-1].arrive_s[0] - 1e-3


def test_many_within_a_peak_are_the_starts_one_by_one() -> None:
    limits, volts = np.array([118.0, 125.0, 140.0]), np.array([550.0, 540.0, 560.0])
    each = np.ones(3)
    column = np.array(list(OHMS.values()))[:, None] * each
    many = Cases(volts, column, 0 * column, 20 + 0 * column, VALLEY * each, 0.42 * each, 13500 * each, peak_a=limits)
    together = run_up(LINE, CAR, MOTOR, SHORT, NAMES, many, warm)
    for place in range(3):
        given = cases(peak_a=limits[[place]], line_v=volts[[place]])
        single = run_up(LINE, CAR, MOTOR, SHORT, NAMES, given, warm)
        for row, one in zip(together.rows, single.rows, strict=True):
            assert row.peak_a[place] == pytest.approx(one.peak_a[0], abs=2e-4)


def test_a_sum_of_curves_is_the_curves_summed() -> None:
    tables = (CurveTable(POINTS, 0.7, 1.1), CurveTable(OTHER), CurveTable(POINTS))
    amps = np.linspace(0.0, 300.0, 1201)
    total, slope = SummedTable(tables).read(amps)
    assert total == pytest.approx(sum(table.read(amps)[0] for table in tables), rel=1e-13)
    edges = np.concatenate([table.knots_a for table in tables])
    inside = np.abs(amps[:, None] - edges).min(axis=1) > 1e-6
    assert slope[inside] == pytest.approx(sum(table.read(amps)[1] for table in tables)[inside], rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(
    ("how", "notches", "says"),
    [
        (Transition("bridge", 0.5, (Run(("A",)),)), SHORT, "needs 2 circuits"),
        (Transition("bridge", 0.5, (Run(), Run(("B",)))), SHORT, "shorts it"),
        (Transition("bridge", 0.5, (Run(("A",)), Run(("A", "B")))), SHORT, "both arms"),
        (Transition("one motor shorted", 0.5), SHORT, "needs 1 circuit,"),
        (
            Transition("one motor shorted", 0.5, (Run(("A",)),)),
            [Notch("1", PARALLEL, Run(("A",))), Notch("2", SERIES, Run())],
            "two halves",
        ),
        (Transition("one motor shorted", 0.5, (Run(("Z",)),)), SHORT, "section Z"),
    ],
)
def test_transitions_that_cannot_be_are_refused(how: Transition, notches: list[Notch], says: str) -> None:
    with pytest.raises(CircuitError, match=says):
        start(notches, transition=how)


def test_motors_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="one by one"):
        start(SHORT, replace(MOTOR, each=(MotorOwn(),)))
    with pytest.raises(CircuitError, match="every motor cut out"):
        start([replace(notch, out=(0, 1)) for notch in SHORT])
    four = replace(MOTOR, count=4, each=(MotorOwn(),) * 3 + (MotorOwn(0.8),))
    pairs = [Notch("1", Grouping(2, 2), Run(NAMES)), Notch("2", Grouping(1, 4), Run())]
    with pytest.raises(CircuitError, match="side by side"):
        start(pairs, four, transition=Transition("bridge", 0.5, (Run(("A",)), Run(("B",)))))
    with pytest.raises(InputError, match="do not fit"):
        run_up(LINE, CAR, MOTOR, SHORT, NAMES, cases(peak_a=np.ones(2)), warm)
