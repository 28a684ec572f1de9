"""What changes from moment to moment on a notch, and with the power off: the right-hand side of the run.

The state is one array (rows, M). Its last row leads: on a notch the mean current of the strings, with the power off the
speed. The speed on a notch is not integrated but follows from the current, ``n = (V - I·R')/(s·k(I))``, so that no
current has to be searched for inside a step, and emf and current cannot drift apart:

    dI/dt = -[s·k(I)·dn/dt + I·dR'/dt] / (R' + s·k'(I)·n)

(for strings of unlike ohms the sum of that over the strings; see ``strings``).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import gradient_n, motor_rad_s, rim_n_per_nm
from griddesign.traction.records import Car, Line
from griddesign.traction.runup.records import Bools, Cases, Plates
from griddesign.traction.runup.strings import Strings
from griddesign.traction.runup.table import CurveTable
from griddesign.traction.runup.wiring import Wired

TIME, WAY, LINE_J, FEEDER_J, MOTORS_J, SHAFT_J, RESIST_J, STUCK = range(8)
FIRST_TEMPERATURE = 8
LEAD = -1
Rate: TypeAlias = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything the cases share, and the cases themselves."""

    line: Line
    car: Car
    curve: CurveTable
    cases: Cases
    plates: Plates

    @property
    def per_m_s(self) -> float:
        """Motor rad/s for one m/s of the car."""
        return motor_rad_s(self.car, 1.0)

    @property
    def heavy_kg(self) -> FloatArray:
        """The mass that is accelerated, kg."""
        return self.cases.mass_kg * (1.0 + self.car.rotating_fraction)

    @property
    def grade_n(self) -> FloatArray:
        """Pull of the gradient, N."""
        return self.cases.mass_kg * gradient_n(1.0, self.car.gradient)

    def resist_n(self, speed_m_s: FloatArray) -> FloatArray:
        """Running resistance without the gradient, N."""
        law = self.car.resistance
        specific = law.constant_n_per_kg + speed_m_s * (law.linear_n_s_per_kg_m + speed_m_s * law.square_n_s2_per_kg_m2)
        return self.cases.mass_kg * specific

    def strings(self, notch: Wired, grid_ohm: FloatArray) -> Strings:
        """The motor strings of a notch on grids of these ohms (circuits, M)."""
        own_ohm = notch.series * self.cases.motor_ohm + notch.weight * grid_ohm
        return Strings(self.curve, self.cases.line_v, own_ohm, self.line.feeder_ohm, notch.series, notch.parallel)

    def hot_ohm(self, ratio: FloatArray) -> FloatArray:
        """Ohms of the sections, joints included."""
        return self.cases.section_ohm * ratio + self.cases.joint_ohm


@dataclass(frozen=True, slots=True)
class Moment:
    """A notch at one moment: currents (circuits, M) and what follows from them, each (M,)."""

    current_a: FloatArray
    speed_m_s: FloatArray
    torque_nm: FloatArray
    pull_n: FloatArray
    resist_n: FloatArray
    acceleration_m_s2: FloatArray


def moment(bench: Bench, notch: Wired, mean_a: FloatArray, t_c: FloatArray, free: Bools | None = None) -> Moment:
    """The notch at a mean current of the strings and at these temperatures. ``free`` False: the car stands, braked."""
    grid_ohm, _ = notch.divided(bench.hot_ohm(bench.plates(t_c)[0]))
    current, turning = bench.strings(notch, grid_ohm).from_mean(mean_a)
    return _moment(bench, notch, current, bench.curve.read(current)[0], turning / bench.per_m_s, free)


def _moment(
    bench: Bench, notch: Wired, current: FloatArray, k: FloatArray, speed: FloatArray, free: Bools | None
) -> Moment:
    torque = notch.series * notch.strings_each * (k * current).sum(axis=0)
    pull, resist = torque * rim_n_per_nm(bench.car), bench.resist_n(speed)
    acceleration = (pull - resist - bench.grade_n) / bench.heavy_kg
    if free is not None:
        acceleration = np.where(free, acceleration, 0.0)
    return Moment(current, speed, torque, pull, resist, acceleration)


def powered(bench: Bench, notch: Wired, free: Bools) -> Rate:
    """Rates of the state per second with the power on; the last row is the mean current of the strings, A."""
    sections = bench.cases.section_ohm.shape[0]
    temperatures, heats = _rows(sections)

    def rate(state: FloatArray) -> FloatArray:
        ratio, slope, capacity, loss = bench.plates(state[temperatures])
        hot_ohm = bench.hot_ohm(ratio)
        grid_ohm, shares = notch.divided(hot_ohm)
        strings = bench.strings(notch, grid_ohm)
        current, turning = strings.from_mean(state[LEAD])
        k, k_slope = bench.curve.read(current)
        now = _moment(bench, notch, current, k, turning / bench.per_m_s, free)
        section_a = notch.weight * (shares * current[:, None, :]).sum(axis=0)
        power = section_a**2 * hot_ohm
        warming = (power - loss) / capacity
        grid_rise = (shares**2 * (slope * bench.cases.section_ohm * warming)).sum(axis=1)
        stiff = strings.own_ohm + notch.series * k_slope * turning
        pushed = current * notch.weight * grid_rise + notch.series * k * now.acceleration_m_s2 * bench.per_m_s
        feeder = strings.feeder_ohm * notch.parallel * (1.0 / stiff).sum(axis=0)
        line_a = notch.parallel * state[LEAD]
        change = np.empty_like(state)
        change[TIME] = 1.0
        change[WAY] = now.speed_m_s
        change[LINE_J] = bench.cases.line_v * line_a
        change[FEEDER_J] = strings.feeder_ohm * line_a**2
        change[MOTORS_J] = notch.series * notch.strings_each * bench.cases.motor_ohm * (current**2).sum(axis=0)
        change[SHAFT_J] = now.torque_nm * turning
        change[RESIST_J] = now.resist_n * now.speed_m_s
        change[STUCK] = 0.0
        change[temperatures] = warming
        change[heats] = power
        change[LEAD] = -(pushed / stiff).sum(axis=0) / (current.shape[0] + feeder)
        return change

    return rate


def coasting(bench: Bench) -> Rate:
    """Rates of the state per second with the power off; the last row is the speed, m/s. A car never runs back."""
    temperatures, _ = _rows(bench.cases.section_ohm.shape[0])

    def rate(state: FloatArray) -> FloatArray:
        _, _, capacity, loss = bench.plates(state[temperatures])
        speed = np.maximum(state[LEAD], 0.0)
        resist = bench.resist_n(speed)
        gathered = -(resist + bench.grade_n) / bench.heavy_kg
        change = np.zeros_like(state)
        change[TIME] = 1.0
        change[WAY] = speed
        change[RESIST_J] = resist * speed
        change[temperatures] = -loss / capacity
        change[LEAD] = np.where((state[LEAD] <= 0.0) & (gathered < 0.0), 0.0, gathered)
        return change

    return rate


def _rows(sections: int) -> tuple[slice, slice]:
    """Rows of the temperatures and of the joules of the sections."""
    middle = FIRST_TEMPERATURE + sections
    return slice(FIRST_TEMPERATURE, middle), slice(middle, middle + sections)


def fresh_state(cases: Cases) -> FloatArray:
    """The state before the start: nothing run, nothing spent, sections at their starting temperatures."""
    sections = cases.section_ohm.shape[0]
    state = np.zeros((FIRST_TEMPERATURE + 2 * sections + 1, len(cases)))
    state[_rows(sections)[0]] = cases.start_c
    return state


def temperatures_of(state: FloatArray) -> FloatArray:
    """The rows of the sections' temperatures, degC."""
    return state[_rows((state.shape[0] - FIRST_TEMPERATURE - 1) // 2)[0]]


def joules_of(state: FloatArray) -> FloatArray:
    """The rows of the sections' joules."""
    return state[_rows((state.shape[0] - FIRST_TEMPERATURE - 1) // 2)[1]]
