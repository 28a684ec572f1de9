"""The run up through the notches against the same start followed by a general integrator, and against a quadrature."""

from collections.abc import Callable
from dataclasses import replace
from math import pi

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from griddesign.errors import CircuitError, InputError
from griddesign.grid import circuit
from griddesign.grid.records import Branches, Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import current_a, speed_rad_s
from griddesign.traction.mechanics import accelerated_kg, effort_n, motor_rad_s, resistance_n, rim_n_per_nm
from griddesign.traction.problem import Stage
from griddesign.traction.records import Car, Grouping, Line, MagnetisationPoints, Motor, Notch, RunningResistance
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.table import CurveTable

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324, 1e-4), 0.01)
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
KEEP = ("ABCDE", "BCDE", "CDE", "", "CDE", "DE", "E", "")
NOTCHES = [Notch(str(k), SERIES if k <= 4 else PARALLEL, Run(tuple(names))) for k, names in enumerate(KEEP, start=1)]
OHMS = {"A": 1.63, "B": 1.36, "C": 0.29, "D": 0.58, "E": 0.27}
NAMES = tuple(OHMS)
COUNT = np.array([[24.0], [20.0], [4.0], [8.0], [4.0]])
ALPHA, VALLEY = 0.0019, 90.5


def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    """Invented, and smooth: a quarter of the plates' real heat, so that hot ohms matter."""
    heat = COUNT * 300.0 * (1.0 + 4e-4 * (t_c - 20.0))
    loss = COUNT * 0.8 * np.maximum(t_c - 20.0, 0.0) ** 1.2
    return 1.0 + ALPHA * (t_c - 20.0), np.full_like(t_c, ALPHA), heat, loss


def cases(size: int = 1, dwell: float | None = None, ohms: dict[str, float] = OHMS, joint: float = 0.0) -> Cases:
    each, shape = np.ones(size), (len(ohms), size)
    section = np.broadcast_to(np.array(list(ohms.values()))[:, None], shape)
    clock = None if dwell is None else np.full((len(NOTCHES), size), dwell)
    return Cases(
        550.0 * each,
        section,
        np.full(shape, joint),
        np.full(shape, 20.0),
        VALLEY * each,
        0.42 * each,
        13500.0 * each,
        clock,
    )


def demo(dwell: float | None = None, **options: object) -> RunUp:
    return run_up(LINE, CAR, MOTOR, NOTCHES, NAMES, cases(dwell=dwell), plates, **options)  # type: ignore[arg-type]


def reference(dwell: float | None, off_s: float = 0.0) -> tuple[list[float], np.ndarray, float, float, float, float]:
    """Peaks, temperatures, seconds, metres, end speed, line joules: DOP853 on speed, way, temperatures and joules.

    Nothing shared with the run but the motor curve: speed is integrated and the current found at every speed.
    """
    curve, state, clock = MotorCurve(POINTS, hold_above=True), np.array([0.0, 0.0, 0.0, *(20.0,) * 5]), 0.0
    peaks: list[float] = []
    before = SERIES
    for notch in NOTCHES:
        if notch.grouping != before and off_s > 0.0:
            state = _follow(_coasting, state, off_s, None)[0]
            clock += off_s
        before = notch.grouping
        rate, amps = _powered(notch, curve)
        peaks.append(amps(state))
        if dwell is not None:
            state, seconds = _follow(rate, state, dwell, None)
        elif peaks[-1] > VALLEY:
            state, seconds = _follow(rate, state, 60.0, lambda _, now, amps=amps: amps(now) - VALLEY)
        else:
            seconds = 0.0
        clock += seconds
    return peaks, state[3:], clock, float(state[1]), float(state[0]), float(state[2])


def _follow(rate: Callable, state: np.ndarray, seconds: float, event: Callable | None) -> tuple[np.ndarray, float]:
    if event is not None:
        event.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(rate, (0.0, seconds), state, method="DOP853", rtol=1e-11, atol=1e-11, events=event)
    return found.y[:, -1], float(found.t[-1])


def _coasting(_: float, state: np.ndarray) -> np.ndarray:
    _, _, heat, loss = plates(state[3:, None])
    slowing = -resistance_n(CAR, state[0]) / accelerated_kg(CAR)
    return np.array([slowing, state[0], 0.0, *(-loss / heat)[:, 0]])


def _powered(notch: Notch, curve: MotorCurve) -> tuple[Callable, Callable]:
    stage = Stage.of(notch)
    s, p = stage.grouping.series, stage.grouping.parallel
    bare = stage.bare_ohm(0.42, LINE.feeder_ohm)

    def amps(state: np.ndarray) -> float:
        ohms = dict(zip(NAMES, np.array(list(OHMS.values())) * plates(state[3:, None])[0][:, 0], strict=True))
        total = bare + stage.weight * circuit.ohms(stage.circuits[0], ohms)
        return current_a(550.0, total, s, curve.held_above(), motor_rad_s(CAR, state[0]))

    def rate(_: float, state: np.ndarray) -> np.ndarray:
        ratio, _, heat, loss = (part[:, 0] for part in plates(state[3:, None]))
        current = amps(state)
        shares = circuit.shares(stage.circuits[0], OHMS)
        power = [(p * current * shares.get(name, 0.0)) ** 2 * OHMS[name] for name in NAMES]
        pull = effort_n(CAR, curve, s * p, current)
        gathered = (pull - resistance_n(CAR, state[0])) / accelerated_kg(CAR)
        return np.array([gathered, state[0], 550.0 * p * current, *((np.array(power) * ratio - loss) / heat)])

    return rate, amps


@pytest.mark.parametrize(("dwell", "off_s"), [(None, 0.0), (None, 0.8), (1.3, 0.0), (1.3, 0.8), (2.5, 0.0)])
def test_the_run_against_a_general_integrator(dwell: float | None, off_s: float) -> None:
    peaks, end_c, seconds, metres, speed, line_j = reference(dwell, off_s)
    found = demo(dwell, power_off_s=off_s)
    assert [float(log.peak_a[0]) for log in found.notches] == pytest.approx(peaks, abs=5e-3)
    assert found.end_c[:, 0] == pytest.approx(end_c, abs=1e-3)
    assert found.seconds[0] == pytest.approx(seconds, abs=1e-3)
    assert found.distance_m[0] == pytest.approx(metres, abs=5e-3)
    assert found.end_m_s[0] == pytest.approx(speed, abs=1e-4)
    assert found.energy.line_j[0] == pytest.approx(line_j, rel=1e-5)
    assert abs(found.energy.balance_error[0]) < 1e-5


def test_a_single_start_closes_to_one_in_a_million_and_better_with_care() -> None:
    coarse, fine = (abs(float(demo(care=Care(parts, 4)).energy.balance_error[0])) for parts in (1, 2))
    assert fine < coarse / 20.0
    assert coarse < 1e-6


def test_one_fixed_notch_against_the_quadrature() -> None:
    """``t = int M (dv/dI) dI / F(I)`` at constant ohms: speed is a function of the current, so no equation to solve."""
    curve, total = MotorCurve(POINTS), 2 * 0.42 + 0.04 + 3.2

    def speed(amps: float) -> float:
        return speed_rad_s(550.0, total, 2, curve, amps) / motor_rad_s(CAR, 1.0)

    def slowness(amps: float) -> float:
        k = curve.k(amps)
        slope = float(CurveTable(POINTS).read(np.array([amps]))[1][0])
        per_amp = -(total + 2 * slope * speed_rad_s(550.0, total, 2, curve, amps)) / (2 * k * motor_rad_s(CAR, 1.0))
        spare = 2 * k * amps * rim_n_per_nm(CAR) - resistance_n(CAR, speed(amps))
        return accelerated_kg(CAR) * per_amp / spare

    at_rest = 550.0 / total
    seconds = quad(slowness, at_rest, 60.0, points=[105.0, 70.0], epsabs=1e-12)[0]
    metres = quad(lambda amps: slowness(amps) * speed(amps), at_rest, 60.0, points=[105.0, 70.0])[0]
    one = replace(cases(ohms={"A": 3.2}), valley_a=np.array([60.0]))
    cold = run_up(LINE, CAR, MOTOR, [Notch("1", SERIES, Run(("A",)))], ("A",), one, never_warm, care=Care(4, 2))
    assert cold.seconds[0] == pytest.approx(seconds, rel=1e-6)
    assert cold.distance_m[0] == pytest.approx(metres, rel=1e-6)
    assert cold.end_m_s[0] == pytest.approx(speed(60.0), rel=1e-12)


def never_warm(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    return np.ones_like(t_c), np.zeros_like(t_c), np.full_like(t_c, np.inf), np.zeros_like(t_c)


def test_many_starts_are_the_starts_one_by_one() -> None:
    ohms = np.array(list(OHMS.values()))[:, None] * np.array([[1.0, 0.95, 1.04]])
    many = replace(
        cases(3), section_ohm=ohms, line_v=np.array([550.0, 520.0, 600.0]), valley_a=np.array([90.5, 80, 70])
    )
    together = run_up(LINE, CAR, MOTOR, NOTCHES, NAMES, many, plates)
    for place in range(3):
        one = Cases(
            *(
                part[..., [place]]
                for part in (
                    many.line_v,
                    many.section_ohm,
                    many.joint_ohm,
                    many.start_c,
                    many.valley_a,
                    many.motor_ohm,
                    many.mass_kg,
                )
            )
        )
        alone = run_up(LINE, CAR, MOTOR, NOTCHES, NAMES, one, plates)
        for both, single in zip(together.notches, alone.notches, strict=True):
            assert both.peak_a[place] == pytest.approx(single.peak_a[0], abs=1e-4)
        assert together.end_c[:, place] == pytest.approx(alone.end_c[:, 0], abs=1e-4)


def test_a_grid_per_string_of_equal_ohms_is_the_common_grid_of_half() -> None:
    strings = [Notch("1", PARALLEL, None, (Run(("A",)), Run(("B",))))]
    common = [Notch("1", PARALLEL, Run(("A",)))]
    two = run_up(LINE, CAR, MOTOR, strings, ("A", "B"), cases(ohms={"A": 4.6, "B": 4.6}), never_warm)
    one = run_up(LINE, CAR, MOTOR, common, ("A",), cases(ohms={"A": 2.3}), never_warm)
    assert two.seconds[0] == pytest.approx(one.seconds[0], rel=1e-6)
    assert two.energy.grid_j[0] == pytest.approx(one.energy.grid_j[0], rel=1e-6)


def test_strings_of_unlike_grids_share_the_speed_and_the_feeder() -> None:
    notch = [Notch("1", PARALLEL, None, (Run(("A",)), Run(("B",))))]
    found = run_up(LINE, CAR, MOTOR, notch, ("A", "B"), cases(ohms={"A": 4.2, "B": 5.0}), never_warm)
    log = found.notches[0]
    amps = np.linalg.solve([[4.62 + 0.04, 0.04], [0.04, 5.42 + 0.04]], [550.0, 550.0])
    assert log.peak_a[0] == pytest.approx(amps.max(), rel=1e-9)
    assert log.line_peak_a[0] == pytest.approx(amps.sum(), rel=1e-9)
    assert log.leave_a[0] == VALLEY
    assert abs(found.energy.balance_error[0]) < 1e-5
    assert found.section_j[0, 0] / 4.2 > found.section_j[1, 0] / 5.0


def test_branches_and_joints() -> None:
    """Joints add ohms that stay cold; their heat goes into the plates."""
    nested = [Notch("1", SERIES, Run(("A", Branches((Run(("B",)), Run(("C",)))))))]
    ohms = {"A": 2.0, "B": 2.0, "C": 6.0}
    found = run_up(LINE, CAR, MOTOR, nested, ("A", "B", "C"), cases(ohms=ohms), never_warm)
    assert found.section_j[1, 0] / found.section_j[0, 0] == pytest.approx(0.75**2, rel=1e-12)
    jointed = run_up(LINE, CAR, MOTOR, nested[:1], ("A", "B", "C"), cases(ohms=ohms, joint=0.1), never_warm)
    assert jointed.notches[0].peak_a[0] == pytest.approx(550.0 / (0.88 + 2.1 + 1 / (1 / 2.1 + 1 / 6.1)), rel=1e-9)


def test_a_passed_notch_takes_nothing() -> None:
    notches = [*NOTCHES[:4], Notch("5", PARALLEL, Run(tuple("ABCDE"))), *NOTCHES[5:]]
    fifth = run_up(LINE, CAR, MOTOR, notches, NAMES, cases(), plates).notches[4]
    assert fifth.passed[0]
    assert fifth.leave_s[0] == fifth.arrive_s[0]
    assert fifth.peak_a[0] == fifth.leave_a[0] < VALLEY


def test_a_car_that_does_not_start_is_marked_with_its_notch() -> None:
    steep = replace(CAR, gradient=0.15)
    found = run_up(LINE, steep, MOTOR, NOTCHES, NAMES, cases(), plates)
    assert found.stuck.tolist() == [0]
    slow = replace(CAR, gradient=0.09)
    assert run_up(LINE, slow, MOTOR, NOTCHES, NAMES, cases(), plates).stuck[0] >= 0
    assert demo().stuck.tolist() == [-1]


def test_by_time_a_car_that_cannot_start_yet_stands_and_its_grid_heats() -> None:
    steep = replace(CAR, gradient=0.05)
    weak = {**OHMS, "A": 9.0}
    found = run_up(LINE, steep, MOTOR, NOTCHES, NAMES, cases(dwell=1.5, ohms=weak), plates)
    first = found.notches[0]
    assert first.leave_m_s[0] == 0.0 and first.leave_m[0] == 0.0
    assert first.leave_a[0] < first.arrive_a[0]
    assert found.end_m_s[0] > 1.0
    assert abs(found.energy.balance_error[0]) < 1e-5


def test_power_off_costs_time_and_flux() -> None:
    plain, off = demo(), demo(power_off_s=0.8)
    fifth, before = off.notches[4], off.notches[3]
    assert fifth.arrive_s[0] - before.leave_s[0] == pytest.approx(0.8, rel=1e-12)
    assert fifth.arrive_m_s[0] < before.leave_m_s[0]
    assert fifth.peak_a[0] > plain.notches[4].peak_a[0]
    assert fifth.frozen_flux_a[0] == pytest.approx(550.0 / 2.78, rel=0.05)
    assert fifth.frozen_flux_a[0] > 1.5 * plain.notches[4].frozen_flux_a[0]


def test_the_trace_runs_through_every_notch_in_order() -> None:
    found = demo(trace=True, power_off_s=0.5)
    times = [float(point.time_s[0]) for point in found.trace]
    assert times == sorted(times)
    assert {point.notch for point in found.trace} == {*(notch.name for notch in NOTCHES), ""}
    assert found.trace[0].speed_m_s[0] == pytest.approx(0.0, abs=1e-9)


def test_the_table_is_the_motor_curve() -> None:
    curve, table = MotorCurve(POINTS, hold_above=True), CurveTable(POINTS)
    amps = np.array([0.0, 7.0, 15.0, 36.0, 90.0, 139.9, 140.0, 150.0])
    k, slope = table.read(amps)
    assert k == pytest.approx(curve.k_each(amps), rel=1e-13)
    inside = amps[[1, 3, 4]]
    step = 1e-5
    assert slope[[1, 3, 4]] == pytest.approx(
        (curve.k_each(inside + step) - curve.k_each(inside - step)) / (2 * step), rel=1e-7
    )


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(InputError, match="do not fit"):
        run_up(LINE, CAR, MOTOR, NOTCHES, ("A",), cases(), plates)
    with pytest.raises(CircuitError, match="section Z"):
        run_up(LINE, CAR, MOTOR, [Notch("1", SERIES, Run(("Z",)))], NAMES, cases(), plates)
    both = [Notch("1", PARALLEL, None, (Run(("A",)), Run(("A",))))]
    with pytest.raises(CircuitError, match="two motor strings"):
        run_up(LINE, CAR, MOTOR, both, NAMES, cases(), plates)
