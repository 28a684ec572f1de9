"""A notch held while the car runs: the current at which pull and resistance balance, against the ohms of the grid."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from griddesign.errors import CurveError
from griddesign.traction.curve import FloatArray, MotorCurve, curve_of
from griddesign.traction.mechanics import balancing_each, balancing_m_s, motor_rad_s, resistance_n, rim_n_per_nm
from griddesign.traction.problem import Stage
from griddesign.traction.records import Car, Line, Motor, Notch
from griddesign.traction.root import rising_root

TABLE_POINTS = 2000
NO_END_M_S = 1e9


@dataclass(frozen=True)
class HeldNotch:
    """One notch held at ``line_v`` until the speed has settled on the car's gradient.

    At every instant the speed is the balancing one: the grid heats in minutes, the car settles in seconds. Where the
    pull does not pass the resistance the car stands and the current is that of a stalled start. Motors are taken at
    their stated resistance (or the notch's own), all alike, with the field of the notch. A current beyond the end of
    the motor curve is refused with CurveError.
    """

    line: Line
    car: Car
    motor: Motor
    notch: Notch
    line_v: float

    def motor_a(self, grid_ohm: FloatArray) -> FloatArray:
        """A per motor for an array of the grid's own ohms (per string for a grid per string).

        From a table of 2000 currents made once, each from the equation; within 1e-6 of the root.
        """
        total = self._bare_ohm + self._stage.weight * grid_ohm
        currents, totals = self._table
        if np.any(total < totals[-1]):
            raise self._beyond()
        running = np.interp(-total, -totals, currents)
        result: FloatArray = np.where(total >= totals[0], self.line_v / total, running)
        return result

    def grid_a(self, grid_ohm: FloatArray) -> FloatArray:
        """A through the grid: of all strings through a common grid, of one through a grid per string."""
        return self._stage.weight * self.motor_a(grid_ohm)

    def settled_a(self, grid_ohm: float) -> float:
        """A per motor at one value of the grid's own ohms, by root finding."""
        total = self._bare_ohm + self._stage.weight * grid_ohm
        stalled = self.line_v / total
        if stalled <= self._starting_a:
            return stalled
        top = min(stalled, self._curve.highest_a)
        if self._surplus_v(top, total) < 0.0:
            raise self._beyond()
        return rising_root(lambda current: self._surplus_v(current, total), 0.0, top)

    def falls_below(self, current_a: float, grid_ohm: float) -> bool:
        """Whether ``settled_a`` is less than a current, A per motor, without looking for it. Raises as that."""
        total = self._bare_ohm + self._stage.weight * grid_ohm
        stalled = self.line_v / total
        if stalled <= self._starting_a:
            return stalled < current_a
        top = min(stalled, self._curve.highest_a)
        if self._surplus_v(top, total) < 0.0:
            raise self._beyond()
        return current_a > top or self._surplus_v(current_a, total) > 0.0

    def _surplus_v(self, current_a: float, total_ohm: float) -> float:
        """Volts that a current at its balancing speed would take beyond the line's."""
        return current_a * total_ohm + float(self._emf_each(np.array(current_a))) - self.line_v

    def speed_m_s(self, current_a: float) -> float:
        """Balancing speed of the car at a current per motor, m/s; infinity where no resistance grows with speed."""
        return balancing_m_s(self.car, self._n_per_nm * self._curve.torque_nm(current_a))

    @cached_property
    def _bare_ohm(self) -> float:
        motor_ohm = self._stage.motor_factor(self.motor) * self.motor.resistance_ohm
        return self._stage.bare_ohm(motor_ohm, self.line.feeder_ohm)

    @cached_property
    def _stage(self) -> Stage:
        return Stage.of(self.notch)

    @cached_property
    def _curve(self) -> MotorCurve:
        return curve_of(self.motor.magnetisation, self._stage.field)

    @cached_property
    def _n_per_nm(self) -> float:
        """Newtons at the rim for one N·m in every motor of the notch."""
        return self._stage.grouping.series * self._stage.grouping.parallel * rim_n_per_nm(self.car)

    @cached_property
    def _starting_a(self) -> float:
        """The current whose pull just holds the standing car on its gradient, A; the end of the curve if none does."""
        resistance = resistance_n(self.car, 0.0)
        return rising_root(
            lambda current: self._n_per_nm * self._curve.torque_nm(current) - resistance, 0.0, self._curve.highest_a
        )

    @cached_property
    def _table(self) -> tuple[FloatArray, FloatArray]:
        """Currents from just before the car moves to the end of the curve, and the R' that gives each, falling."""
        lowest = max(self._starting_a, 1e-4 * self._curve.highest_a)
        currents = np.geomspace(lowest, self._curve.highest_a, TABLE_POINTS)
        totals = (self.line_v - self._emf_each(currents)) / currents
        falling = np.append(True, totals[1:] < np.minimum.accumulate(totals)[:-1])
        return currents[falling], totals[falling]

    def _emf_each(self, current_a: FloatArray) -> FloatArray:
        """Emf of a string at the balancing speed of each current, V."""
        k = self._curve.k_each(current_a)
        speed = np.minimum(balancing_each(self.car, self._n_per_nm * k * current_a), NO_END_M_S)
        return self._stage.grouping.series * k * motor_rad_s(self.car, 1.0) * speed

    def _beyond(self) -> CurveError:
        return CurveError(
            f"held on notch {self.notch.name}, the current passes the end of the motor curve, "
            f"{self._curve.highest_a:.4g} A",
            hint="Measure the curve further.",
        )
