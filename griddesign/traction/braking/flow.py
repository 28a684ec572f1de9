"""What changes from moment to moment on a brake notch: the right-hand side of a stop.

Led by the current of the first string where the driver looks at the ammeter: the speed follows from ``n = I·R'/K(I)``,
K the emf of the string's motors for one rad/s, and needs no integration,

    dI/dt = [K(I)·dn/dt - I·dR'/dt] / (R' - K'(I)·n)

Led by the speed where he goes by the clock, since the current may come to nought on the way. Strings on grids of their
own share the speed, and each excites itself. The wheels drive the motors: torque at the shaft is efficiency times
torque at the rim, so a brake holds back with more than the same motors pull with.
"""

from dataclasses import dataclass

import numpy as np

from griddesign.traction.braking.rig import BrakeNotch, rim_brake_n_per_nm
from griddesign.traction.curve import FloatArray
from griddesign.traction.runup import flow
from griddesign.traction.runup.flow import LEAD, Bench, rows_of_sections, temperatures_of
from griddesign.traction.runup.wiring import grid_rise, through

STIFF_LEAST = 1e-9
SLOWEST_RAD_S = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The grid of a notch at its temperatures: R' of the strings (..., strings, M), shares, plates of the sections."""

    own_ohm: FloatArray
    shares: FloatArray
    hot_ohm: FloatArray
    slope: FloatArray
    capacity_j_k: FloatArray
    loss_w: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class BrakeMoment:
    """A brake notch at one moment, or at many: what there is of every string (..., strings, M), the rest (..., M)."""

    own_ohm: FloatArray
    current_a: FloatArray
    k: FloatArray
    k_slope: FloatArray
    turning_rad_s: FloatArray
    speed_m_s: FloatArray
    torque_nm: FloatArray
    effort_n: FloatArray
    resist_n: FloatArray
    acceleration_m_s2: FloatArray


@dataclass(frozen=True, slots=True)
class Braked:
    """A brake notch: rates per second from the first string's current, or from the speed, and temperatures."""

    bench: Bench
    notch: BrakeNotch

    def warming(self, first_a: FloatArray, t_c: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rates of the temperatures, K/s, and of the first string's current, A/s."""
        grid = self.grid(t_c)
        now = self.at_current(first_a, grid)
        _, warming = self._heat(now, grid)
        return warming, self._falling(now, grid, warming)

    def rate(self, first_a: FloatArray, t_c: FloatArray) -> FloatArray:
        """Rates of the whole state (..., rows, M); the last row is the first string's current, A/s."""
        grid = self.grid(t_c)
        now = self.at_current(first_a, grid)
        power, warming = self._heat(now, grid)
        return self._change(now, power, warming, self._falling(now, grid, warming))

    def rate_by_speed(self, state: FloatArray) -> FloatArray:
        """Rates of the whole state, whose last row is the speed, m/s. A car that has stopped is held."""
        grid = self.grid(temperatures_of(state))
        now = self.at_speed(np.maximum(state[LEAD], 0.0), grid)
        stands = (state[LEAD] <= 0.0) & (now.acceleration_m_s2 < 0.0)
        return self._change(now, *self._heat(now, grid), np.where(stands, 0.0, now.acceleration_m_s2))

    def grid(self, t_c: FloatArray) -> Grid:
        """The grid at temperatures (..., sections, M), degC."""
        ratio, slope, capacity, loss = self.bench.plates(t_c)
        hot_ohm = self.bench.hot_ohm(ratio)
        grid_ohm, shares = self.notch.wired.divided(hot_ohm)
        return Grid(self.notch.own_ohm(self.bench, grid_ohm), shares, hot_ohm, slope, capacity, loss)

    def at_speed(self, speed_m_s: FloatArray, grid: Grid) -> BrakeMoment:
        """The notch at a speed of the car (..., M): every string excites itself, or does not."""
        turning = speed_m_s * self.bench.per_m_s
        ohm_s = grid.own_ohm / np.maximum(turning, SLOWEST_RAD_S)[..., None, :]
        return self._moment(grid.own_ohm, self.notch.current_a(ohm_s), turning)

    def at_current(self, first_a: FloatArray, grid: Grid) -> BrakeMoment:
        """The notch at a current of the first string (..., M), from which the speed follows."""
        k, _ = self.notch.excited[0].read(first_a)
        turning, current = first_a * grid.own_ohm[..., 0, :] / k, first_a[..., None, :]
        if len(self.notch.excited) > 1:
            others = self.notch.current_a(grid.own_ohm / turning[..., None, :])[..., 1:, :]
            current = np.concatenate([current, others], axis=-2)
        return self._moment(grid.own_ohm, current, turning)

    def _moment(self, own_ohm: FloatArray, current: FloatArray, turning: FloatArray) -> BrakeMoment:
        bench = self.bench
        k, k_slope = self.notch.read(current)
        speed = turning / bench.per_m_s
        torque = self.notch.each * (k * current).sum(axis=-2)
        effort, resist = torque * rim_brake_n_per_nm(bench.car), bench.resist_n(speed)
        gathered = -(effort + resist + bench.grade_n) / bench.heavy_kg
        return BrakeMoment(own_ohm, current, k, k_slope, turning, speed, torque, effort, resist, gathered)

    def _heat(self, now: BrakeMoment, grid: Grid) -> tuple[FloatArray, FloatArray]:
        """Watts and K/s of the sections."""
        power = through(grid.shares, self.notch.each * now.current_a) ** 2 * grid.hot_ohm
        return power, (power - grid.loss_w) / grid.capacity_j_k

    def _falling(self, now: BrakeMoment, grid: Grid, warming: FloatArray) -> FloatArray:
        """Rate of the first string's current, A/s."""
        first = (..., 0, slice(None))
        rise = self.notch.each * grid_rise(grid.shares, grid.slope * self.bench.cases.section_ohm * warming)
        stiff = np.maximum(
            now.own_ohm[first] - now.k_slope[first] * now.turning_rad_s, STIFF_LEAST * now.own_ohm[first]
        )
        gathered = now.acceleration_m_s2 * self.bench.per_m_s
        rate: FloatArray = (now.k[first] * gathered - now.current_a[first] * rise[first]) / stiff
        return rate

    def _change(self, now: BrakeMoment, power: FloatArray, warming: FloatArray, lead: FloatArray) -> FloatArray:
        temperatures, heats = rows_of_sections(power.shape[-2])
        change = np.zeros((*lead.shape[:-1], heats.stop + 1, lead.shape[-1]))
        motors_ohm = self.notch.each * self.notch.wired.motor_ohms * self.bench.cases.motor_ohm
        change[..., flow.TIME, :] = 1.0
        change[..., flow.WAY, :] = now.speed_m_s
        change[..., flow.MOTORS_J, :] = (motors_ohm * now.current_a**2).sum(axis=-2)
        change[..., flow.SHAFT_J, :] = now.torque_nm * now.turning_rad_s
        change[..., flow.RESIST_J, :] = now.resist_n * now.speed_m_s
        change[..., temperatures, :] = warming
        change[..., heats, :] = power
        change[..., LEAD, :] = lead
        return change
