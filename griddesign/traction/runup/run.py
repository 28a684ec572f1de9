"""The run up through the notches, for one start or for thousands side by side."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from griddesign.errors import InputError
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import gradient_n
from griddesign.traction.records import Car, Line, Motor, Notch, Transition
from griddesign.traction.runup import flow
from griddesign.traction.runup.changing import between, regrouped
from griddesign.traction.runup.driver import Change, Course, Step
from griddesign.traction.runup.flow import LEAD, Bench, Moment, temperatures_of
from griddesign.traction.runup.legs import Leg, Watch
from griddesign.traction.runup.logs import Before, notch_log
from griddesign.traction.runup.records import Bools, Cases, Energy, NotchLog, Plates, RunUp, TracePoint
from griddesign.traction.runup.steps import USUAL, Care
from griddesign.traction.runup.wiring import wired


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
    transition: Transition | None = None,
    care: Care = USUAL,
    trace: bool = False,
) -> RunUp:
    """Every case run up from standstill through all notches.

    Quasi-static: ``V = I·R' + s·k(I)·n`` holds at every moment with the sections' hot ohms in R', speed, way and
    temperatures are integrated; unlike motors (``motor.each``) in one string carry one current, each with its own k and
    speed, and unlike strings each find their own. Notched up where the current per motor (mean of the strings) has
    fallen to ``cases.valley_a``, the last notch being left there too; or after ``cases.dwell_s`` on each notch; or,
    with ``cases.peak_a``, as soon as the next peak per motor (that of a transition on the way too) stays within it. A
    notch reached below that current is passed at once.

    Each change of grouping goes by the ``transition`` of the notch it leads to, else by the one given here, else costs
    ``power_off_s`` seconds without power. ``care`` says how finely to step; ``trace`` keeps the moments for a plot.
    Left out: inductance (peaks a per cent lower, of a network some a per cent higher; ``transient`` and ``inductive``
    estimate it), motors' heat, wheel slip, the decay of the current in a motor just shorted. On a notch left by the
    clock a car whose pull does not pass the resistance stands braked.

    Raises CircuitError where circuits and groupings disagree, InputError on cases of unlike size.
    """
    _check(cases, motor, notches, sections)
    bench = Bench(line, car, motor, cases, plates)
    usual = transition or Transition("power off", power_off_s)
    course = Course(bench, _steps(bench, notches, tuple(sections), usual), care)
    runner = _Runner(course, tuple(sections), trace)
    for place in range(len(notches)):
        runner.notch(place)
    return runner.result()


def _steps(bench: Bench, notches: Sequence[Notch], sections: tuple[str, ...], usual: Transition) -> tuple[Step, ...]:
    """Notches and the changes before them, wired up."""
    steps = []
    for place, notch in enumerate(notches):
        change = None
        if place and regrouped(notches[place - 1], notch):
            how = notch.transition or usual
            change = Change(between(notches[place - 1], notch, how, sections, bench.drive), how.seconds)
        dwell = None if bench.cases.dwell_s is None else bench.cases.dwell_s[place]
        own = wired(notch, sections, bench.drive)
        if own.mesh is not None:
            own.mesh.refuse_bare(bench.cases.section_ohm + bench.cases.joint_ohm)
        steps.append(Step(own, change, dwell))
    return tuple(steps)


def _check(cases: Cases, motor: Motor, notches: Sequence[Notch], sections: Sequence[str]) -> None:
    size, count = len(cases), len(sections)
    by_section = (cases.section_ohm, cases.joint_ohm, cases.start_c)
    by_case = (cases.line_v, cases.valley_a, cases.motor_ohm, cases.mass_kg)
    shapes = {array.shape for array in by_section} | {(count, *array.shape) for array in by_case}
    wrong = shapes != {(count, size)} or not notches
    wrong |= cases.peak_a is not None and cases.peak_a.shape != (size,)
    if wrong or (cases.dwell_s is not None and cases.dwell_s.shape != (len(notches), size)):
        raise InputError(f"{len(notches)} notches, {count} sections and {size} cases do not fit their arrays")
    if motor.each and len(motor.each) != motor.count:
        raise InputError(f"{len(motor.each)} motors are described one by one, and the car has {motor.count}")


@dataclass
class _Runner:
    """The run while it is under way. ``before`` is what the motors bring from the last leg."""

    course: Course
    sections: tuple[str, ...]
    keep_trace: bool
    state: FloatArray = field(init=False)
    speed_m_s: FloatArray = field(init=False)
    hottest_c: FloatArray = field(init=False)
    before: Before = field(init=False)
    notches: list[NotchLog] = field(default_factory=list)
    rows: list[NotchLog] = field(default_factory=list)
    points: list[TracePoint] = field(default_factory=list)
    stuck: list[Bools] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.state = flow.fresh_state(self.bench.cases)
        self.hottest_c = self.bench.cases.start_c
        self.speed_m_s = np.zeros(len(self.bench.cases))
        self._power_off()

    @property
    def bench(self) -> Bench:
        """What the cases share."""
        return self.course.bench

    @property
    def watch(self) -> Watch | None:
        """What looks on, where a trace is wanted."""
        return self._point if self.keep_trace else None

    def notch(self, place: int) -> None:
        """The change before a notch, and the notch from its arrival to its leaving."""
        step = self.course.steps[place]
        if step.change is not None:
            self._change(step.change)
        leg = self.course.arrive(step, self.state, self.speed_m_s)
        seen = leg.seer(self.watch)
        if seen is not None:
            seen(leg.begin)
        self.state = self.course.travel(place, leg, seen)
        log = self._leave(leg)
        self.notches.append(log)
        slowing = ~log.passed & (self.before.acceleration_m_s2 <= 0.0)  # past its balance: it was never got through
        self.stuck.append((self.state[flow.STUCK] > 0.0) | (slowing if step.dwell_s is None else False))

    def _change(self, change: Change) -> None:
        """From one grouping to the next."""
        crossing = self.course.cross(change, self.state, self.speed_m_s, self.watch)
        self.state = crossing.state
        if crossing.leg is not None:
            self._leave(crossing.leg)
        elif change.seconds > 0.0:
            self.speed_m_s = crossing.speed_m_s
            self._power_off()

    def _power_off(self) -> None:
        motors = max(self.bench.motor.count, self.course.most_motors)
        self.before = Before.nothing(motors, len(self.bench.cases))

    def _leave(self, leg: Leg) -> NotchLog:
        """The row of a leg that has come to an end."""
        left = leg.left(self.state)
        if self.keep_trace:
            self._point(leg.notch.name, self.state, left)
        log = notch_log(leg, self.state, left, self.before, first=not self.rows)
        self.rows.append(log)
        self.speed_m_s = np.maximum(left.speed_m_s, 0.0)
        self.hottest_c = np.maximum(self.hottest_c, temperatures_of(self.state))
        self.before = Before.of(left, len(self.before.flux))
        return log

    def _point(self, name: str, state: FloatArray, now: Moment | None) -> None:
        """Keeps a moment for the trace; with the power off its speed leads the state."""
        nothing = np.zeros_like(state[LEAD])
        speed, amps, pull, line = (state[LEAD], nothing, nothing, nothing)
        if now is not None:
            speed, amps, pull, line = (now.speed_m_s, now.mean_a, now.pull_n, now.line_a)
        time_s, way_m, section_c = (part.copy() for part in (state[flow.TIME], state[flow.WAY], temperatures_of(state)))
        speed, amps, pull, line = (part.copy() for part in (np.maximum(speed, 0.0), amps, pull, line))
        self.points.append(TracePoint(name, time_s, way_m, speed, amps, pull, section_c, line))

    def result(self) -> RunUp:
        """The run, all notches done."""
        stuck = np.array(self.stuck)
        return RunUp(
            sections=self.sections,
            notches=tuple(self.notches),
            seconds=self.state[flow.TIME],
            distance_m=self.state[flow.WAY],
            end_m_s=self.speed_m_s,
            end_c=temperatures_of(self.state),
            hottest_c=self.hottest_c,
            section_j=flow.joules_of(self.state),
            energy=_energy(self.bench, self.state, self.speed_m_s),
            stuck=np.where(stuck.any(axis=0), stuck.argmax(axis=0), -1),
            trace=tuple(self.points),
            rows=tuple(self.rows),
        )


def _energy(bench: Bench, state: FloatArray, speed_m_s: FloatArray) -> Energy:
    kinetic = 0.5 * bench.heavy_kg * speed_m_s**2
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
