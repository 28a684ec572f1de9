"""A long hill held on one brake notch: current and speed at which brake, resistance and gradient balance, and the heat.

The car settles in seconds and the grid heats in minutes, so the speed is taken as the balancing one at every moment:
``motors·K(I)·I·gear·2/(D·efficiency) + resistance(v) = m·g·sin`` with ``I·R' = K(I)·n``. Above the critical speed the
effort rises with the speed, so the balance is a steady one. Hot plates have more ohms: the car then runs faster at much
the same current, and the heat grows with the ohms.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CircuitError, CurveError, InputError
from griddesign.traction.braking.excited import Excited
from griddesign.traction.braking.rig import BrakeNotch, rim_brake_n_per_nm
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import balancing_m_s
from griddesign.traction.runup.flow import Bench
from griddesign.traction.runup.records import Bools
from griddesign.traction.runup.wiring import through

FASTEST_M_S = 50.0
POINTS = 4000
SAME_OHM = 1e-9
STEP_S = 60.0
WARMEST_STEP_K = 40.0
STEADY_W = 1e-6
MOST_ROUNDS = 60
BOLDEST_K = 150.0
MOST_STEPS = 600
SAME_S = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class HillLaw:
    """Current and speed of the balance against R', tabled: ``total_ohm`` rising. Above the last the notch does not hold
    the car at all; below the first the current passes the end of the motor curve."""

    total_ohm: FloatArray
    current_a: FloatArray
    speed_m_s: FloatArray

    def read(self, total_ohm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Current per motor, A, and speed, m/s; straight lines between 4000 points (1e-6)."""
        current, speed = (np.interp(total_ohm, self.total_ohm, column) for column in (self.current_a, self.speed_m_s))
        return current, speed

    def holds(self, total_ohm: FloatArray) -> Bools:
        """Whether the notch holds the car within the motor curve."""
        held: Bools = (total_ohm >= self.total_ohm[0]) & (total_ohm <= self.total_ohm[-1])
        return held


def hill_law(bench: Bench, notch: BrakeNotch) -> HillLaw:
    """The law of a notch on the gradient of ``bench.car``, which falls; all cases have the mass of the first.

    Raises InputError where the hill does not drive the car, CurveError where even the slowest descent asks for more
    current than the motor curve holds, CircuitError where the strings differ.
    """
    excited, motors = _alike(notch), sum(len(string) for branch in notch.wired.branches for string in branch.strings)
    pull_n, top_m_s = _driving(bench)
    speed = np.linspace(top_m_s / POINTS, top_m_s, POINTS)
    held_n = pull_n - bench.resist_n(speed[:, None])[:, 0]
    strings = sum(len(branch.strings) for branch in notch.wired.branches)
    torque = np.maximum(held_n, 0.0) / rim_brake_n_per_nm(bench.car) / strings
    current = _current_of_torque(excited, torque)
    highest_a = excited.table.highest_a
    fits = (torque <= _torque(excited, highest_a)) & (current > 0.0)
    if not fits.any():
        raise CurveError(
            f"held on notch {notch.name}, the hill pulls with {pull_n:.0f} N, {motors} motors hold "
            f"{_torque(excited, highest_a) * rim_brake_n_per_nm(bench.car) * strings:.0f} N at {highest_a:.4g} A, "
            "where the motor curve ends",
            hint="Measure the curve further, or a gentler hill.",
        )
    speed, current = speed[fits], current[fits]
    k, _ = excited.read(current)
    return HillLaw(k * speed * bench.per_m_s / current, current, speed)


def _alike(notch: BrakeNotch) -> Excited:
    if any(one.table != notch.excited[0].table for one in notch.excited[1:]):
        raise CircuitError(f"a hill on notch {notch.name} with motor strings that differ is not worked out")
    return notch.excited[0]


def _driving(bench: Bench) -> tuple[float, float]:
    """Pull of the hill, N, and the speed at which resistance alone takes it up, m/s."""
    pull_n = -float(bench.grade_n[0])
    standing_n = float(bench.resist_n(np.zeros(1))[0])
    if pull_n <= standing_n:
        raise InputError(
            f"a hill of {100.0 * -bench.car.gradient:.3g} % pulls the car with {pull_n:.0f} N, its resistance is "
            f"{standing_n:.0f} N: it needs no brake",
            hint="Give [braking.hill] gradient as a positive share: how much the line falls.",
        )
    return pull_n, min(balancing_m_s(bench.car, 0.0), FASTEST_M_S)


def _torque(excited: Excited, current_a: float) -> float:
    return float(excited.read(np.array([current_a]))[0][0]) * current_a


def _current_of_torque(excited: Excited, torque_nm: FloatArray) -> FloatArray:
    """Current of a string whose motors hold ``torque_nm`` together, A, from a table of 4000 currents."""
    current = np.linspace(0.0, excited.table.highest_a, POINTS)
    found: FloatArray = np.interp(torque_nm, excited.read(current)[0] * current, current)
    return found


@dataclass(frozen=True, slots=True)
class Descent:
    """A car held on a hill: plates and notch of ``bench``, and the law of the notch."""

    bench: Bench
    notch: BrakeNotch
    law: HillLaw

    def at(self, t_c: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """R' (M,), current per motor (M,) and speed (M,) at temperatures (sections, M)."""
        total_ohm = self._grid(t_c)[1]
        return total_ohm, *self.law.read(total_ohm)

    def heating(self, t_c: FloatArray) -> tuple[FloatArray, FloatArray]:
        """K/s of the sections (sections, M) and the speed, m/s (M,)."""
        power, loss, capacity, speed, _ = self._moment(t_c)
        return (power - loss) / capacity, speed

    def _grid(self, t_c: FloatArray) -> tuple[tuple[FloatArray, ...], FloatArray, FloatArray, FloatArray]:
        ratio, slope, capacity, loss = self.bench.plates(t_c)
        hot_ohm = self.bench.hot_ohm(ratio)
        grid_ohm, shares = self.notch.wired.divided(hot_ohm)
        own_ohm = self.notch.own_ohm(self.bench, grid_ohm)
        if np.any(np.abs(own_ohm - own_ohm[:1]) > SAME_OHM * own_ohm[:1]):
            raise CircuitError(f"a hill on notch {self.notch.name} with motor strings that differ is not worked out")
        return (slope, capacity, loss), own_ohm[0], hot_ohm, shares

    def _moment(self, t_c: FloatArray) -> tuple[FloatArray, ...]:
        """Watts, watts lost, J/K of the sections, m/s, and watts per kelvin by which the heating rises."""
        (slope, capacity, loss), total_ohm, hot_ohm, shares = self._grid(t_c)
        current, speed = self.law.read(total_ohm)
        each_a = np.broadcast_to(self.notch.each * current, (len(self.notch.wired.circuits), current.size))
        square = through(shares, each_a) ** 2
        return square * hot_ohm, loss, capacity, speed, square * slope * self.bench.cases.section_ohm

    def at_foot(self, begin_c: FloatArray, length_m: float) -> tuple[FloatArray, FloatArray]:
        """Temperatures (sections, M) at the end of the hill, degC, and the seconds it takes (M,).

        Stepped along the way by the rule of Runge and Kutta; a step is at most a minute and warms nothing by over 40 K.
        """
        rise, speed = self.heating(begin_c)
        wanted = length_m / float(speed.min()) * max(1.0 / STEP_S, float(np.abs(rise).max()) / WARMEST_STEP_K)
        steps = max(2, int(np.ceil(wanted)))
        width, t_c, seconds = length_m / steps, begin_c, np.zeros_like(speed)
        for _ in range(steps):
            slopes: list[FloatArray] = []
            paces: list[FloatArray] = []
            for share in (0.0, 0.5, 0.5, 1.0):
                rise, speed = self.heating(t_c + share * width * slopes[-1] if slopes else t_c)
                slopes.append(rise / speed)
                paces.append(1.0 / speed)
            t_c = t_c + width / 6.0 * (slopes[0] + 2.0 * (slopes[1] + slopes[2]) + slopes[3])
            seconds = seconds + width / 6.0 * (paces[0] + 2.0 * (paces[1] + paces[2]) + paces[3])
        return t_c, seconds

    def steady_c(self, begin_c: FloatArray, top_c: FloatArray) -> FloatArray:
        """Temperatures at which loss takes up the heat, degC; inf in a section that finds none up to ``top_c``.

        Newton's rule on each section, the loss's slope from half a kelvin.
        """
        t_c = begin_c
        for _ in range(MOST_ROUNDS):
            power, loss, _, _, rises = self._moment(t_c)
            falls = (self.bench.plates(t_c + 0.5)[3] - loss) / 0.5 - rises
            surplus = power - loss
            if np.all((np.abs(surplus) <= STEADY_W * (power + loss)) | ((t_c >= top_c) & (surplus > 0.0))):
                break
            step = np.where(falls > 0.0, surplus / np.where(falls > 0.0, falls, 1.0), BOLDEST_K)
            t_c = np.minimum(t_c + np.clip(step, -BOLDEST_K, BOLDEST_K), top_c)
        return np.where((t_c >= top_c) & (surplus > 0.0), np.inf, t_c)

    def seconds_until(self, begin_c: FloatArray, limit_c: FloatArray, reached: NDArray[np.bool_]) -> FloatArray:
        """Seconds (M,) until the first section is at its limit (sections, 1), in the cases ``reached`` (M,), else inf.

        Every step aims at the limit along the tangent, which only comes short, and is at most half a minute.
        """
        t_c, seconds = begin_c, np.zeros(begin_c.shape[-1])
        for _ in range(MOST_STEPS):
            rise, _ = self.heating(t_c)
            with np.errstate(divide="ignore", invalid="ignore"):
                left = np.where(rise > 0.0, np.maximum(limit_c - t_c, 0.0) / rise, np.inf).min(axis=0)
            width = np.where(reached, np.minimum(left, STEP_S / 2.0), 0.0)
            if np.all(np.where(reached, left, 0.0) <= SAME_S):
                break
            t_c, seconds = self._later(t_c, rise, width), seconds + width
        return np.where(reached, seconds, np.inf)

    def _later(self, t_c: FloatArray, first: FloatArray, width: FloatArray) -> FloatArray:
        second = self.heating(t_c + 0.5 * width * first)[0]
        third = self.heating(t_c + 0.5 * width * second)[0]
        fourth = self.heating(t_c + width * third)[0]
        return t_c + width / 6.0 * (first + 2.0 * (second + third) + fourth)
