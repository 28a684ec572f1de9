"""What changes from moment to moment on a notch, and with the power off: the right-hand side of the run.

The state is one array (rows, M); many moments at once are (moments, rows, M). Its last row leads: on a notch the mean
current of the strings, with the power off the speed. The speed on a notch is not integrated but follows from the
current, ``n = (V - I·R')/(s·k(I))``, so that no current has to be searched for inside a step, and emf and current
cannot drift apart:

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
    """A notch at one moment: ohms of the circuits, currents (..., circuits, M) and what follows, each (..., M)."""

    strings: Strings
    current_a: FloatArray
    k: FloatArray
    k_slope: FloatArray
    turning_rad_s: FloatArray
    speed_m_s: FloatArray
    torque_nm: FloatArray
    pull_n: FloatArray
    resist_n: FloatArray
    acceleration_m_s2: FloatArray


def moment(
    bench: Bench, notch: Wired, strings: Strings, currents: tuple[FloatArray, FloatArray], free: Bools
) -> Moment:
    """The notch at these currents of the circuits and speed of the motors. ``free`` False: the car stands, braked."""
    current, turning = currents
    k, k_slope = bench.curve.read(current)
    turning = np.where(free, turning, 0.0)
    speed = turning / bench.per_m_s
    torque = notch.series * notch.strings_each * (k * current).sum(axis=-2)
    pull, resist = torque * rim_n_per_nm(bench.car), bench.resist_n(speed)
    gathered = np.where(free, (pull - resist - bench.grade_n) / bench.heavy_kg, 0.0)
    return Moment(strings, current, k, k_slope, turning, speed, torque, pull, resist, gathered)


@dataclass(frozen=True, slots=True)
class Powered:
    """A notch with the power on: rates per second from mean currents (..., M) and temperatures (..., sections, M)."""

    bench: Bench
    notch: Wired
    free: Bools

    def warming(self, mean_a: FloatArray, t_c: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rates of the temperatures, K/s, and of the mean current, A/s."""
        _, _, warming, falling = self._flow(mean_a, t_c)
        return warming, falling

    def rate(self, mean_a: FloatArray, t_c: FloatArray) -> FloatArray:
        """Rates of the whole state (..., rows, M); the last row is the mean current of the strings, A/s."""
        now, power, warming, falling = self._flow(mean_a, t_c)
        temperatures, heats = rows_of_sections(t_c.shape[-2])
        change = np.empty((*mean_a.shape[:-1], heats.stop + 1, mean_a.shape[-1]))
        _spend(change, self.bench, self.notch, now, mean_a)
        change[..., temperatures, :] = warming
        change[..., heats, :] = power
        change[..., LEAD, :] = falling
        return change

    def _flow(self, mean_a: FloatArray, t_c: FloatArray) -> tuple[Moment, FloatArray, FloatArray, FloatArray]:
        """The moment, W and K/s of the sections, A/s of the mean current."""
        bench, notch = self.bench, self.notch
        ratio, slope, capacity, loss = bench.plates(t_c)
        hot_ohm = bench.hot_ohm(ratio)
        grid_ohm, shares = notch.divided(hot_ohm)
        strings = bench.strings(notch, grid_ohm)
        now = moment(bench, notch, strings, strings.from_mean(mean_a), self.free)
        power = notch.through(shares, now.current_a) ** 2 * hot_ohm
        warming = (power - loss) / capacity
        ohm_rise = slope * bench.cases.section_ohm * warming
        return now, power, warming, _falling(bench, notch, now, notch.grid_rise(shares, ohm_rise))


def _spend(change: FloatArray, bench: Bench, notch: Wired, now: Moment, mean_a: FloatArray) -> None:
    """Fill in time, way and watts."""
    line_a = notch.parallel * mean_a
    each_ohm = notch.series * notch.strings_each * bench.cases.motor_ohm
    change[..., TIME, :] = 1.0
    change[..., WAY, :] = now.speed_m_s
    change[..., LINE_J, :] = bench.cases.line_v * line_a
    change[..., FEEDER_J, :] = bench.line.feeder_ohm * line_a**2
    change[..., MOTORS_J, :] = each_ohm * (now.current_a**2).sum(axis=-2)
    change[..., SHAFT_J, :] = now.torque_nm * now.turning_rad_s
    change[..., RESIST_J, :] = now.resist_n * now.speed_m_s
    change[..., STUCK, :] = 0.0


def _falling(bench: Bench, notch: Wired, now: Moment, grid_rise: FloatArray) -> FloatArray:
    """Rate of the mean current, A/s; ``grid_rise`` is that of the circuits' ohms, ohm/s."""
    gathered = (now.acceleration_m_s2 * bench.per_m_s)[..., None, :]
    stiff = now.strings.own_ohm + notch.series * now.k_slope * now.turning_rad_s[..., None, :]
    pushed = (now.current_a * notch.weight * grid_rise + notch.series * now.k * gathered) / stiff
    feeder = bench.line.feeder_ohm * notch.parallel * (1.0 / stiff).sum(axis=-2)
    rate: FloatArray = -pushed.sum(axis=-2) / (pushed.shape[-2] + feeder)
    return rate


def coasting(bench: Bench) -> Rate:
    """Rates of the state per second with the power off; the last row is the speed, m/s. A car never runs back."""
    temperatures, _ = rows_of_sections(bench.cases.section_ohm.shape[0])

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


def rows_of_sections(sections: int) -> tuple[slice, slice]:
    """Rows of the temperatures and of the joules of the sections."""
    middle = FIRST_TEMPERATURE + sections
    return slice(FIRST_TEMPERATURE, middle), slice(middle, middle + sections)


def fresh_state(cases: Cases) -> FloatArray:
    """The state before the start: nothing run, nothing spent, sections at their starting temperatures."""
    sections = cases.section_ohm.shape[0]
    state = np.zeros((FIRST_TEMPERATURE + 2 * sections + 1, len(cases)))
    state[rows_of_sections(sections)[0]] = cases.start_c
    return state


def temperatures_of(state: FloatArray) -> FloatArray:
    """The rows of the sections' temperatures, degC."""
    return state[..., rows_of_sections(_sections(state))[0], :]


def joules_of(state: FloatArray) -> FloatArray:
    """The rows of the sections' joules."""
    return state[..., rows_of_sections(_sections(state))[1], :]


def _sections(state: FloatArray) -> int:
    return int(state.shape[-2] - FIRST_TEMPERATURE - 1) // 2
