"""Currents of the motor strings: from the speed on arriving at a notch, from the mean current while on it.

For string i, ``V - Rf·I_line = I_i·a_i + s·k(I_i)·n`` with ``a_i = s·Rm + w·Rg_i`` and ``I_line = p·mean(I)``. With one
circuit for all strings this is ``V = I·R' + s·k(I)·n``; with circuits of unlike ohms the strings share speed and feeder
and each finds its own current.
"""

from dataclasses import dataclass

import numpy as np

from griddesign.errors import NoStartError
from griddesign.traction.curve import FloatArray
from griddesign.traction.runup.table import CurveTable

MOST_ROUNDS = 80
SAME_A = 1e-9


@dataclass(frozen=True, slots=True)
class Strings:
    """The strings of a notch at one moment, or at many: ``own_ohm`` (..., circuits, M) is a_i."""

    curve: CurveTable
    line_v: FloatArray
    own_ohm: FloatArray
    feeder_ohm: float
    series: int
    parallel: int

    def total_ohm(self) -> FloatArray:
        """R' of every string, as if all had its current, ohm."""
        return self.own_ohm + self.parallel * self.feeder_ohm

    def arriving(self, motor_rad_s: FloatArray) -> FloatArray:
        """Currents (circuits, M) at a speed of the motors (M,), A."""
        alike = self._alike(self.total_ohm(), motor_rad_s)
        return alike if self.own_ohm.shape[-2] == 1 else self._unlike(alike, motor_rad_s)

    def _alike(self, total_ohm: FloatArray, motor_rad_s: FloatArray) -> FloatArray:
        """Newton's rule inside a bracket: the equation rises with the current, so there is one root."""
        turning = self.series * np.maximum(motor_rad_s, 0.0)
        low, high = np.zeros_like(total_ohm), self.line_v / total_ohm
        current = high.copy()
        for _ in range(MOST_ROUNDS):
            k, slope = self.curve.read(current)
            surplus = current * total_ohm + turning * k - self.line_v
            low, high = np.where(surplus <= 0.0, current, low), np.where(surplus >= 0.0, current, high)
            wanted = current - surplus / (total_ohm + turning * slope)
            following = np.where((wanted >= low) & (wanted <= high), wanted, 0.5 * (low + high))
            moved, current = np.abs(following - current).max(initial=0.0), following
            if moved <= SAME_A:
                break
        return current

    def _unlike(self, current_a: FloatArray, motor_rad_s: FloatArray) -> FloatArray:
        """All strings at once: the feeder ties each to the sum of all (Sherman and Morrison's formula)."""
        each = self.feeder_ohm * self.parallel / self.own_ohm.shape[-2]
        for _ in range(MOST_ROUNDS):
            k, slope = self.curve.read(current_a)
            surplus = current_a * self.own_ohm + self.series * k * motor_rad_s + each * _sum(current_a) - self.line_v
            stiff = self.own_ohm + self.series * slope * motor_rad_s
            together = each * _sum(surplus / stiff) / (1.0 + each * _sum(1.0 / stiff))
            following = np.maximum(current_a - (surplus - together) / stiff, 0.0)
            moved, current_a = np.abs(following - current_a).max(initial=0.0), following
            if moved <= SAME_A:
                return current_a
        raise _differ()

    def from_mean(self, mean_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Currents (..., circuits, M) and the motors' speed (..., M), rad/s, at a mean current (..., M), A."""
        k, _ = self.curve.read(mean_a)
        speed = (self.line_v - mean_a * self.total_ohm().mean(axis=-2)) / (self.series * k)
        if self.own_ohm.shape[-2] == 1:
            return mean_a[..., None, :], speed
        return self._about_mean(mean_a[..., None, :], speed[..., None, :])

    def _about_mean(self, mean_a: FloatArray, speed: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Newton's rule on all currents and the speed; each string's current is eliminated by hand."""
        ahead_v = self.line_v - self.feeder_ohm * self.parallel * mean_a
        current = np.broadcast_to(mean_a, self.own_ohm.shape)
        for _ in range(MOST_ROUNDS):
            k, slope = self.curve.read(current)
            surplus = current * self.own_ohm + self.series * k * speed - ahead_v
            stiff, turned = self.own_ohm + self.series * slope * speed, self.series * k
            missing = _sum(current - surplus / stiff) - self.own_ohm.shape[-2] * mean_a
            faster = missing / _sum(turned / stiff)
            change = -(surplus + turned * faster) / stiff
            current, speed = np.maximum(current + change, 0.0), speed + faster
            if np.abs(change).max(initial=0.0) <= SAME_A:
                return current, speed[..., 0, :]
        raise _differ()


def _sum(by_circuit: FloatArray) -> FloatArray:
    """Sum over the circuits, which stay as an axis of one."""
    total: FloatArray = by_circuit.sum(axis=-2, keepdims=True)
    return total


def _differ() -> NoStartError:
    return NoStartError(
        "the currents of the motor strings could not be found", hint="Give the strings grids that differ less."
    )
