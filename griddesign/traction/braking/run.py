"""A stop on the brake notches, for one case or for many side by side."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from griddesign.errors import InputError
from griddesign.traction.braking.flow import Braked, BrakeMoment, Grid
from griddesign.traction.braking.records import BrakeEnergy, BrakeLog, BrakeRun, Braking
from griddesign.traction.braking.rig import BrakeNotch, brake_notch, rig
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import gradient_n
from griddesign.traction.records import Car, Motor
from griddesign.traction.runup import flow
from griddesign.traction.runup.flow import LEAD, Bench, fresh_state, joules_of, temperatures_of
from griddesign.traction.runup.records import Bools, Cases, Plates, TracePoint
from griddesign.traction.runup.steps import Care, by_current, in_time

USUAL = Care(1, 3)
FADED = 0.1
NO_CURRENT = 1e-6
NEAR_STEADY = 1.05
HALVINGS = 40
UNLIKE_PARTS = 4
CLOCK_STEP_S = 0.2


def brake(
    car: Car,
    motor: Motor,
    plan: Braking,
    sections: Sequence[str],
    cases: Cases,
    plates: Plates,
    *,
    care: Care = USUAL,
    trace: bool = False,
) -> BrakeRun:
    """Every case braked from ``plan.begin_m_s`` through all notches, the last held until its current has faded.

    Quasi-static: ``I·R' = K(I)·n`` holds at every moment with the sections' hot ohms in R'; of ``cases`` line volts,
    valley current and dwell have no part. The last notch is left at a tenth of the lowest current of the motor curve
    (or at the valley current where that is lower still); below the lowest point the curve is only drawn, and
    ``below_curve`` says so. The brake is taken as built up at once: how long that takes rests on inductance and
    residual magnetism. Left out too: motors' heat, wheel slip, and iron losses, which brake as well.

    Raises CircuitError on a notch without a grid, CurveError on a curve no brake is steady on, InputError where the
    driver has no figure to go by.
    """
    _check(plan)
    bench = rig(car, motor, cases, plates, plan.gradient)
    notches = tuple(brake_notch(notch, sections, bench.drive) for notch in plan.notches)
    runner = _Runner(bench, plan, tuple(sections), notches, care, trace)
    for place in range(len(notches)):
        runner.notch(place)
    return runner.result()


def _check(plan: Braking) -> None:
    if not plan.notches or plan.begin_m_s <= 0.0 or plan.peak_a <= 0.0:
        raise InputError(
            f"{len(plan.notches)} brake notches from {plan.begin_m_s:g} m/s with {plan.peak_a:g} A",
            hint="A brake needs a notch, a speed above zero and a current above zero.",
        )
    wanted = {"at valley current": plan.valley_a, "by time": plan.notch_s}.get(plan.notch_by, plan.peak_a)
    if wanted is None or wanted <= 0.0:
        raise InputError(f"the driver of the brake notches up {plan.notch_by}, and {wanted} is given for it")


def _fixed_point(begin_a: FloatArray, first_a: FloatArray, again_a: FloatArray) -> FloatArray:
    """Where leaving current and the aim it leads to are the same, by a straight line: leaving at ``begin_a``, with no
    heat yet, the aim is ``first_a``; leaving at ``first_a`` it is ``again_a``."""
    fell = np.minimum(first_a - begin_a, -1e-9)
    slope = np.clip((again_a - first_a) / fell, -0.5, 0.5)
    found: FloatArray = np.where(first_a < begin_a, (first_a - slope * begin_a) / (1.0 - slope), first_a)
    return found


@dataclass
class _Runner:
    """The stop while it is under way."""

    bench: Bench
    plan: Braking
    sections: tuple[str, ...]
    notches: tuple[BrakeNotch, ...]
    care: Care
    keep_trace: bool
    state: FloatArray = field(init=False)
    speed_m_s: FloatArray = field(init=False)
    hottest_c: FloatArray = field(init=False)
    logs: list[BrakeLog] = field(default_factory=list)
    points: list[TracePoint] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.state = fresh_state(self.bench.cases)
        self.speed_m_s = np.full(len(self.bench.cases), self.plan.begin_m_s)
        self.hottest_c = self.bench.cases.start_c

    def notch(self, place: int) -> None:
        """The notch from its arrival to its leaving."""
        braked, begin = Braked(self.bench, self.notches[place]), self.state.copy()
        arrived = braked.at_speed(self.speed_m_s, braked.grid(temperatures_of(begin)))
        least_a = NO_CURRENT * braked.notch.excited[0].lowest_a
        built = arrived.current_a[0] > least_a
        begin[LEAD] = np.maximum(arrived.current_a[0], least_a)
        if self.plan.notch_by == "by time" and place < len(self.notches) - 1:
            settles = self._by_clock(braked, begin)
        else:
            settles = self._by_current(braked, place, begin, built)
        left_grid = braked.grid(temperatures_of(self.state))
        left = braked.at_speed(self.speed_m_s, left_grid)
        self.logs.append(self._log(braked, begin, (arrived, left), built, settles))
        self.hottest_c = np.maximum(self.hottest_c, temperatures_of(self.state))

    def _by_current(self, braked: Braked, place: int, begin: FloatArray, on: Bools) -> Bools:
        """On until the first string's current is where the driver leaves. Where the next notch decides that, its ohms
        at the temperatures of leaving count: a first pass finds them. ``on``: where there is a current to begin with.
        Returns where the car settles downhill instead."""
        care, marks = self._care(braked.notch), braked.notch.excited[0].knots_a[:0:-1, None]
        met: list[FloatArray] = []
        aim_a, settles = self._until_a(braked, place, begin, temperatures_of(begin))
        if self.plan.notch_by == "at peak current" and place < len(self.notches) - 1:
            tried = by_current(braked, begin, np.where(on, aim_a, np.inf), marks, replace(care, rounds=2))
            again_a, settles = self._until_a(braked, place, begin, temperatures_of(tried))
            aim_a = _fixed_point(begin[LEAD], aim_a, again_a)
        seen = met.append if self.keep_trace else None
        after = by_current(braked, begin, np.where(on, aim_a, np.inf), marks, care, seen)
        moved = on & (after[LEAD] < begin[LEAD])
        left = braked.at_current(after[LEAD], braked.grid(temperatures_of(after)))
        self.state, self.speed_m_s = after, np.where(moved, left.speed_m_s, self.speed_m_s)
        self._keep(braked, met, by_speed=False)
        return on & settles

    def _until_a(self, braked: Braked, place: int, begin: FloatArray, t_c: FloatArray) -> tuple[FloatArray, Bools]:
        """The current of leaving with the grid at temperatures, A, and whether the car settles before."""
        grid = braked.grid(t_c)
        steady_a, wanted_a = NEAR_STEADY * self._steady_a(braked, begin[LEAD], grid), self._aim_a(braked, place, grid)
        return np.maximum(wanted_a, steady_a), steady_a > wanted_a

    def _steady_a(self, braked: Braked, begin_a: FloatArray, grid: Grid) -> FloatArray:
        """The current at which the car neither slows down nor gathers way, A: nought but downhill.

        By halving between nought and the current of arrival; that of arrival where the car gathers way even there.
        """
        low, high = np.zeros_like(begin_a), begin_a
        if np.all(self.bench.grade_n + self.bench.resist_n(np.zeros_like(begin_a)) >= 0.0):
            return low
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            slows = braked.at_current(middle, grid).acceleration_m_s2 <= 0.0
            low, high = np.where(slows, low, middle), np.where(slows, middle, high)
        return high

    def _aim_a(self, braked: Braked, place: int, grid: Grid) -> FloatArray:
        """The current of the first string at which the driver goes on; never so little that the brake has faded."""
        faded_a = FADED * braked.notch.excited[0].lowest_a
        valley_a = np.inf if self.plan.valley_a is None else self.plan.valley_a
        if place == len(self.notches) - 1:
            return np.full_like(self.speed_m_s, min(faded_a, valley_a))
        if self.plan.notch_by == "at valley current":
            return np.full_like(self.speed_m_s, valley_a)
        leave_m_s = self._speed_at_peak(self.notches[place + 1], grid)
        aim_a: FloatArray = np.maximum(braked.at_speed(leave_m_s, grid).current_a[0], faded_a)
        return aim_a

    def _speed_at_peak(self, following: BrakeNotch, grid: Grid) -> FloatArray:
        """Speed at which the next notch brings the peak current in the string with most, m/s."""
        own_ohm = following.own_ohm(self.bench, following.wired.divided(grid.hot_ohm)[0])
        k, _ = following.read(np.full_like(own_ohm, self.plan.peak_a))
        turning: FloatArray = (self.plan.peak_a * own_ohm / k).min(axis=-2)
        return turning / self.bench.per_m_s

    def _by_clock(self, braked: Braked, begin: FloatArray) -> Bools:
        """On for the seconds on a notch, led by the speed: the current may come to nought on the way."""
        assert self.plan.notch_s is not None
        state, seconds = begin.copy(), np.full_like(self.speed_m_s, self.plan.notch_s)
        state[LEAD] = self.speed_m_s
        steps = self.care.parts * max(1, int(np.ceil(self.plan.notch_s / CLOCK_STEP_S)))
        met: list[FloatArray] = []
        self.state = in_time(braked.rate_by_speed, state, seconds, steps, met.append if self.keep_trace else None)
        self._keep(braked, met, by_speed=True)
        self.speed_m_s = np.maximum(self.state[LEAD], 0.0)
        return np.full(seconds.shape, False)

    def _care(self, notch: BrakeNotch) -> Care:
        """Finer where strings of unlike grids cross the points of the curve one by one, amid a stretch."""
        return replace(self.care, parts=UNLIKE_PARTS * self.care.parts) if len(notch.excited) > 1 else self.care

    def _log(
        self, braked: Braked, begin: FloatArray, ends: tuple[BrakeMoment, BrakeMoment], built: Bools, settles: Bools
    ) -> BrakeLog:
        (arrived, left), first = ends, braked.notch.excited[0]
        peak_a, leave_a = arrived.current_a.max(axis=0), left.current_a[0]
        grid_ohm = arrived.own_ohm - braked.notch.wired.motor_ohms * self.bench.cases.motor_ohm
        per_speed = left.own_ohm[0] / self.bench.per_m_s
        return BrakeLog(
            name=braked.notch.name,
            total_ohm=arrived.own_ohm[0],
            peak_a=peak_a,
            arrive_a=arrived.current_a[0],
            leave_a=leave_a,
            arrive_s=begin[flow.TIME],
            leave_s=self.state[flow.TIME].copy(),
            arrive_m_s=arrived.speed_m_s,
            leave_m_s=self.speed_m_s,
            leave_m=self.state[flow.WAY].copy(),
            effort_n=arrived.effort_n,
            leave_effort_n=left.effort_n,
            retard_m_s2=-arrived.acceleration_m_s2,
            leave_retard_m_s2=-left.acceleration_m_s2,
            grid_v=(arrived.current_a * grid_ohm).max(axis=0),
            holds_m_s=per_speed / first.ratios[1],
            critical_m_s=per_speed / first.origin_ohm_s,
            section_j=joules_of(self.state) - joules_of(begin),
            leave_c=temperatures_of(self.state).copy(),
            passed=self.state[flow.TIME] == begin[flow.TIME],
            built=built,
            settles=settles,
            below_curve=built & (leave_a < first.lowest_a),
            beyond_curve=peak_a > first.table.highest_a * (1.0 + 1e-9),
        )

    def _keep(self, braked: Braked, met: list[FloatArray], *, by_speed: bool) -> None:
        """Moments of the notch for the trace, all at once."""
        if not met:
            return
        states = np.array(met)
        t_c, lead = temperatures_of(states), np.maximum(states[:, LEAD], 0.0)
        grid = braked.grid(t_c)
        now = braked.at_speed(lead, grid) if by_speed else braked.at_current(lead, grid)
        columns = (states[:, flow.TIME], states[:, flow.WAY], now.speed_m_s, now.current_a[:, 0], now.effort_n, t_c)
        self.points += [TracePoint(braked.notch.name, *moment) for moment in zip(*columns, strict=True)]

    def result(self) -> BrakeRun:
        """The stop, all notches done."""
        last = self.logs[-1]
        return BrakeRun(
            sections=self.sections,
            notches=tuple(self.logs),
            seconds=self.state[flow.TIME],
            distance_m=self.state[flow.WAY],
            end_m_s=self.speed_m_s,
            end_c=temperatures_of(self.state),
            hottest_c=self.hottest_c,
            section_j=joules_of(self.state),
            energy=self._energy(),
            stuck=last.retard_m_s2 <= 0.0,
            trace=tuple(self.points),
        )

    def _energy(self) -> BrakeEnergy:
        bench, state, half_kg = self.bench, self.state, 0.5 * self.bench.heavy_kg
        return BrakeEnergy(
            kinetic_begin_j=half_kg * self.plan.begin_m_s**2,
            kinetic_end_j=half_kg * self.speed_m_s**2,
            gradient_j=bench.cases.mass_kg * gradient_n(1.0, bench.car.gradient) * state[flow.WAY],
            resistance_j=state[flow.RESIST_J],
            drive_j=(1.0 / bench.car.drive_efficiency - 1.0) * state[flow.SHAFT_J],
            motors_j=state[flow.MOTORS_J],
            grid_j=joules_of(state).sum(axis=0),
        )
