"""The run up through the notches, for one start or for thousands side by side."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from griddesign.errors import InputError
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import gradient_n
from griddesign.traction.records import Car, Line, Motor, Notch
from griddesign.traction.runup import flow
from griddesign.traction.runup.flow import LEAD, Bench, Moment, Powered, temperatures_of
from griddesign.traction.runup.records import Bools, Cases, Energy, NotchLog, Plates, RunUp, TracePoint
from griddesign.traction.runup.steps import USUAL, Care, Seen, by_clock, by_current, in_time
from griddesign.traction.runup.strings import Strings
from griddesign.traction.runup.table import CurveTable
from griddesign.traction.runup.wiring import Wired, wired

COAST_STEPS = 3
UNLIKE_PARTS = 4


def run_up(
    line: Line,
    car: Car,
    motor: Motor,
    notches: Sequence[Notch],
    sections: Sequence[str],
    cases: Cases,
    plates: Plates,
    *,
    power_off_s: float = 0.0,
    care: Care = USUAL,
    trace: bool = False,
) -> RunUp:
    """Every case run up from standstill through all notches.

    Quasi-static: ``V = I·R' + s·k(I)·n`` holds at every moment with the sections' hot ohms in R', speed, way and
    temperatures are integrated. Notched up where the current per motor (mean of the strings) has fallen to
    ``cases.valley_a``, the last notch being left there too, or after ``cases.dwell_s`` on each notch. A notch reached
    below the valley current is passed at once. Each change of grouping costs ``power_off_s`` seconds without power.
    ``care`` says how finely to step; ``trace`` keeps the moments for a plot. Left out: inductance (peaks a per
    cent lower), motors' heat, wheel slip. On a notch left by the clock a car whose pull does not pass the resistance
    stands braked.

    Raises CircuitError where circuits and groupings disagree, InputError on cases of unlike size.
    """
    _check(cases, notches, sections)
    bench = Bench(line, car, CurveTable(motor.magnetisation), cases, plates)
    runner = _Runner(bench, tuple(sections), power_off_s, care, trace)
    for place, notch in enumerate(notches):
        runner.notch(wired(notch, sections), None if cases.dwell_s is None else cases.dwell_s[place])
    return runner.result()


def _check(cases: Cases, notches: Sequence[Notch], sections: Sequence[str]) -> None:
    size, count = len(cases), len(sections)
    by_section = (cases.section_ohm, cases.joint_ohm, cases.start_c)
    by_case = (cases.line_v, cases.valley_a, cases.motor_ohm, cases.mass_kg)
    shapes = {array.shape for array in by_section} | {(count, *array.shape) for array in by_case}
    wrong = shapes != {(count, size)} or not notches
    if wrong or (cases.dwell_s is not None and cases.dwell_s.shape != (len(notches), size)):
        raise InputError(f"{len(notches)} notches, {count} sections and {size} cases do not fit their arrays")


@dataclass
class _Runner:
    """The run while it is under way. ``before`` is the moment of leaving the last notch (None: standstill)."""

    bench: Bench
    sections: tuple[str, ...]
    power_off_s: float
    care: Care
    keep_trace: bool
    state: FloatArray = field(init=False)
    speed_m_s: FloatArray = field(init=False)
    hottest_c: FloatArray = field(init=False)
    logs: list[NotchLog] = field(default_factory=list)
    points: list[TracePoint] = field(default_factory=list)
    stuck: list[Bools] = field(default_factory=list)
    last: Wired | None = None
    left: Moment | None = None

    def __post_init__(self) -> None:
        self.state = flow.fresh_state(self.bench.cases)
        self.hottest_c = self.bench.cases.start_c
        self.speed_m_s = np.zeros(len(self.bench.cases))

    def notch(self, notch: Wired, dwell_s: FloatArray | None) -> None:
        """The notch from its arrival to its leaving."""
        if self.last is not None and self._regrouped(self.last, notch) and self.power_off_s > 0.0:
            self._coast()
        arrived, free = self._arrive(notch, braked=dwell_s is not None)
        begin, seen = self.state, self._seer(notch, free)
        powered, care = Powered(self.bench, notch, free), self._care(notch)
        if dwell_s is None:
            valley_a = self.bench.cases.valley_a
            self.state = by_current(powered, begin, valley_a, self.bench.curve, care, seen)
        else:
            self.state = by_clock(powered, begin, dwell_s, self.bench.curve, care, seen)
        self._leave(notch, arrived, begin, free)

    def _care(self, notch: Wired) -> Care:
        """Finer where strings of unlike grids cross the points of the curve one by one, amid a stretch."""
        return replace(self.care, parts=UNLIKE_PARTS * self.care.parts) if len(notch.circuits) > 1 else self.care

    @staticmethod
    def _regrouped(before: Wired, after: Wired) -> bool:
        return (before.series, before.parallel) != (after.series, after.parallel)

    def _arrive(self, notch: Wired, *, braked: bool) -> tuple[Moment, Bools]:
        """The moment of arrival; the mean current found from the speed is put into the state.

        With ``braked`` a car that stands and whose pull does not pass the resistance is held; its current only falls.
        """
        turning = self.speed_m_s * self.bench.per_m_s
        strings = self._strings(notch, self.state)
        current = strings.arriving(turning)
        self.state = self.state.copy()
        self.state[LEAD] = current.mean(axis=0)
        free = np.full(turning.shape, True)
        now = flow.moment(self.bench, notch, strings, (current, turning), free)
        if braked:
            free = (self.speed_m_s > 0.0) | (now.acceleration_m_s2 > 0.0)
        seen = self._seer(notch, free)
        if seen is not None:
            seen(self.state)
        return now, free

    def _strings(self, notch: Wired, state: FloatArray) -> Strings:
        ratio = self.bench.plates(temperatures_of(state))[0]
        return self.bench.strings(notch, notch.divided(self.bench.hot_ohm(ratio))[0])

    def _moment(self, notch: Wired, state: FloatArray, free: Bools) -> Moment:
        strings = self._strings(notch, state)
        return flow.moment(self.bench, notch, strings, strings.from_mean(state[LEAD]), free)

    def _leave(self, notch: Wired, arrived: Moment, begin: FloatArray, free: Bools) -> None:
        left = self._moment(notch, self.state, free)
        self.logs.append(self._log(notch, arrived, begin, left))
        self.stuck.append(self.state[flow.STUCK] > 0.0)
        self.speed_m_s = np.maximum(left.speed_m_s, 0.0)
        self.hottest_c = np.maximum(self.hottest_c, temperatures_of(self.state))
        self.last, self.left = notch, left

    def _coast(self) -> None:
        """The power off: the car runs on, the grid cools, the flux of the motors is gone."""
        self.state[LEAD] = self.speed_m_s
        seconds = np.full(len(self.bench.cases), self.power_off_s)
        seen = self._see_coasting if self.keep_trace else None
        self.state = in_time(flow.coasting(self.bench), self.state, seconds, COAST_STEPS * self.care.parts, seen)
        self.speed_m_s = np.maximum(self.state[LEAD], 0.0)
        self.left = None

    def _log(self, notch: Wired, arrived: Moment, begin: FloatArray, left: Moment) -> NotchLog:
        curve, peak_a = self.bench.curve, arrived.current_a.max(axis=0)
        before = np.zeros(len(self.bench.cases)) if self.left is None else self.left.acceleration_m_s2
        step = np.maximum(arrived.acceleration_m_s2, 0.0) if not self.logs else arrived.acceleration_m_s2 - before
        return NotchLog(
            name=notch.name,
            peak_a=peak_a,
            arrive_a=begin[LEAD].copy(),
            leave_a=self.state[LEAD].copy(),
            line_peak_a=notch.parallel * begin[LEAD],
            frozen_flux_a=self._frozen_flux_a(notch, arrived),
            arrive_s=begin[flow.TIME].copy(),
            leave_s=self.state[flow.TIME].copy(),
            arrive_m_s=self.speed_m_s,
            leave_m_s=np.maximum(left.speed_m_s, 0.0),
            leave_m=self.state[flow.WAY].copy(),
            effort_n=arrived.pull_n,
            step_m_s2=step,
            leave_c=temperatures_of(self.state).copy(),
            passed=self.state[flow.TIME] == begin[flow.TIME],
            below_curve=self.state[LEAD] < curve.lowest_a,
            beyond_curve=peak_a > curve.highest_a * (1.0 + 1e-9),
        )

    def _frozen_flux_a(self, notch: Wired, arrived: Moment) -> FloatArray:
        """``[V - s·k(I left)·n] / R'``, worst string; ``V / R'`` where there is no flux: at first, after power off."""
        emf_v = np.zeros(len(self.bench.cases))
        if self.left is not None:
            emf_v = notch.series * self.left.k.min(axis=0) * self.speed_m_s * self.bench.per_m_s
        bound: FloatArray = (self.bench.cases.line_v - emf_v) / arrived.strings.total_ohm().min(axis=0)
        return bound

    def _seer(self, notch: Wired, free: Bools) -> Seen | None:
        """Keeps a moment of the notch for the trace, where one is wanted."""

        def see(state: FloatArray) -> None:
            speed = self._moment(notch, state, free).speed_m_s
            self._point(notch.name, state, np.maximum(speed, 0.0), state[LEAD])

        return see if self.keep_trace else None

    def _see_coasting(self, state: FloatArray) -> None:
        self._point("", state, np.maximum(state[LEAD], 0.0), np.zeros_like(state[LEAD]))

    def _point(self, name: str, state: FloatArray, speed: FloatArray, mean_a: FloatArray) -> None:
        self.points.append(
            TracePoint(name, state[flow.TIME].copy(), state[flow.WAY].copy(), speed.copy(), mean_a.copy())
        )

    def result(self) -> RunUp:
        """The run, all notches done."""
        stuck = np.array(self.stuck)
        return RunUp(
            sections=self.sections,
            notches=tuple(self.logs),
            seconds=self.state[flow.TIME],
            distance_m=self.state[flow.WAY],
            end_m_s=self.speed_m_s,
            end_c=temperatures_of(self.state),
            hottest_c=self.hottest_c,
            section_j=flow.joules_of(self.state),
            energy=self._energy(),
            stuck=np.where(stuck.any(axis=0), stuck.argmax(axis=0), -1),
            trace=tuple(self.points),
        )

    def _energy(self) -> Energy:
        bench, state = self.bench, self.state
        kinetic = 0.5 * bench.heavy_kg * self.speed_m_s**2
        gradient = bench.cases.mass_kg * gradient_n(1.0, bench.car.gradient) * state[flow.WAY]
        shaft = state[flow.SHAFT_J]
        return Energy(
            line_j=state[flow.LINE_J],
            feeder_j=state[flow.FEEDER_J],
            grid_j=flow.joules_of(state).sum(axis=0),
            motors_j=state[flow.MOTORS_J],
            core_j=np.zeros_like(shaft),
            drive_j=(1.0 - bench.car.drive_efficiency) * shaft,
            wheel_j=kinetic + state[flow.RESIST_J] + gradient,
            shaft_j=shaft,
            kinetic_j=kinetic,
            resistance_j=state[flow.RESIST_J],
            gradient_j=gradient,
        )
