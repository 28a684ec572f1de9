"""Currents of the motor strings: from the speed on arriving at a notch, from the mean current while on it.

For branch i, ``I_i·a_i + c·sum(I) + k_i(I_i)·n = v_i``: a_i ohms that only its own current feels, c ohms that the sum
of all feels (feeder and common grid), k_i the emf for one rad/s, v_i the volts ahead of it. One branch for all is
``V = I·R' + s·k(I)·n`` with ``R' = a + c``; unlike branches share speed and c, and each finds its own current.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import NoStartError
from griddesign.traction.curve import FloatArray
from griddesign.traction.runup.wiring import Wired

MOST_ROUNDS = 80
SAME_A = 1e-9
NEAR_A = 1.0
SAME_TURNING = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Strings:
    """The branches of a notch at one moment, or at many: ``source_v`` and ``own_ohm`` (..., branches or 1, M),
    ``shared_ohm`` (..., M)."""

    wired: Wired
    source_v: FloatArray
    own_ohm: FloatArray
    shared_ohm: FloatArray

    @property
    def single(self) -> bool:
        """Whether one branch stands for all."""
        return len(self.wired.branches) == 1

    def total_ohm(self) -> FloatArray:
        """R' of every branch, as if all had its current, ohm."""
        return self.own_ohm + len(self.wired.branches) * self.shared_ohm[..., None, :]

    def standing(self, emf_v: FloatArray) -> FloatArray:
        """Currents (branches, M) against emfs that stay as they are, A: the frozen flux, or none at all."""
        free_a = (self.source_v - emf_v) / self.own_ohm
        together = self.shared_ohm[..., None, :] * _sum(free_a) / self._spread(1.0 / self.own_ohm)
        return free_a - together / self.own_ohm

    def arriving(self, motor_rad_s: FloatArray) -> FloatArray:
        """Currents (..., branches, M) at a speed of the motors (..., M), A."""
        turning = np.maximum(motor_rad_s, 0.0)[..., None, :]
        if self.single:
            return self._alike(turning, SAME_A)
        return self._unlike(self._alike(turning, NEAR_A), turning)

    def _alike(self, turning: FloatArray, same_a: float) -> FloatArray:
        """Newton's rule inside a bracket: the equation rises with the current, so there is one root."""
        total = self.total_ohm()
        low, high = np.zeros(np.broadcast_shapes(total.shape, turning.shape)), self.source_v / total
        current, high = high + low, high + low
        for _ in range(MOST_ROUNDS):
            k, slope = self.wired.read(current)
            surplus = current * total + turning * k - self.source_v
            low, high = np.where(surplus <= 0.0, current, low), np.where(surplus >= 0.0, current, high)
            wanted = current - surplus / (total + turning * slope)
            following = np.where((wanted >= low) & (wanted <= high), wanted, 0.5 * (low + high))
            moved, current = np.abs(following - current).max(initial=0.0), following
            if moved <= same_a:
                break
        return current

    def _unlike(self, current_a: FloatArray, turning: FloatArray) -> FloatArray:
        """All branches at once: what they share ties each to the sum of all (Sherman and Morrison's formula)."""
        shared = self.shared_ohm[..., None, :]
        for _ in range(MOST_ROUNDS):
            k, slope = self.wired.read(current_a)
            surplus = current_a * self.own_ohm + k * turning + shared * _sum(current_a) - self.source_v
            stiff = self.own_ohm + slope * turning
            together = shared * _sum(surplus / stiff) / self._spread(1.0 / stiff)
            following = np.maximum(current_a - (surplus - together) / stiff, 0.0)
            moved, current_a = np.abs(following - current_a).max(initial=0.0), following
            if moved <= SAME_A:
                return current_a
        raise _differ()

    def _spread(self, yielding: FloatArray) -> FloatArray:
        return 1.0 + self.shared_ohm[..., None, :] * _sum(yielding)

    def falling(self, pushed_v: FloatArray, stiff_ohm: FloatArray) -> FloatArray:
        """Change of the mean current (..., M) that takes up a change of volts of every branch."""
        total = _sum(pushed_v / stiff_ohm) / self._spread(1.0 / stiff_ohm)
        mean: FloatArray = -total[..., 0, :] / len(self.wired.branches)
        return mean

    def from_mean(self, mean_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Currents (..., branches, M) and the motors' speed (..., M), rad/s, at a mean current (..., M), A."""
        each = mean_a[..., None, :]
        k, _ = self.wired.read(np.broadcast_to(each, (*each.shape[:-2], len(self.wired.branches), each.shape[-1])))
        speed = (self.source_v - each * self.total_ohm()) / k
        if self.single:
            return each, speed[..., 0, :]
        return self._about_mean(each, speed.mean(axis=-2, keepdims=True))

    def _about_mean(self, mean_a: FloatArray, speed: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Newton's rule on all currents and the speed; each branch's current is eliminated by hand."""
        count = len(self.wired.branches)
        ahead_v = self.source_v - self.shared_ohm[..., None, :] * count * mean_a
        current = mean_a + np.zeros((count, 1))
        for _ in range(MOST_ROUNDS):
            k, slope = self.wired.read(current)
            surplus = current * self.own_ohm + k * speed - ahead_v
            stiff = self.own_ohm + slope * speed
            missing = _sum(current - surplus / stiff) - count * mean_a
            faster = missing / _sum(k / stiff)
            change = -(surplus + k * faster) / stiff
            current, speed = np.maximum(current + change, 0.0), speed + faster
            if np.abs(change).max(initial=0.0) <= SAME_A:
                return current, speed[..., 0, :]
        raise _differ()

    def crossings(self) -> FloatArray:
        """Mean currents (points, M) at which a branch passes a point of its curve, branch after branch.

        Between two of them every emf is one cubic. The speed is found at which the branch has the current of the point,
        by Newton's rule on the speed inside a bracket.
        """
        knots, rows = self._points()
        nothing = np.zeros(np.broadcast_shapes(knots.shape, self.source_v.shape[-1:]))
        most = self.source_v[0] / self._k_at(knots, rows) + nothing
        standing = _of_rows(self.arriving(nothing), rows) <= knots  # never there: the car would have to roll back
        low, high = nothing, np.where(standing, 0.0, most)
        turning = 0.5 * high
        for _ in range(MOST_ROUNDS):
            current = self.arriving(turning)
            over, falls = _of_rows(current, rows) - knots, _of_rows(self._slowed(current, turning), rows)
            low, high = np.where(over > 0.0, turning, low), np.where(over > 0.0, high, turning)
            wanted = turning + over / np.where(falls > 0.0, falls, np.inf)
            safe = (falls > 0.0) & (wanted >= low) & (wanted <= high)
            moved, turning = turning, np.where(safe, wanted, 0.5 * (low + high))
            if np.all(np.abs(turning - moved) <= SAME_TURNING * (1.0 + turning)):
                break
        mean: FloatArray = current.mean(axis=-2)
        return mean

    def _slowed(self, current_a: FloatArray, turning: FloatArray) -> FloatArray:
        """By how much each branch's current falls for one rad/s more, A."""
        k, slope = self.wired.read(current_a)
        stiff = self.own_ohm + slope * turning[..., None, :]
        together = self.shared_ohm[..., None, :] * _sum(k / stiff) / self._spread(1.0 / stiff)
        falls: FloatArray = (k - together) / stiff
        return falls

    def _points(self) -> tuple[FloatArray, NDArray[np.intp]]:
        """Currents (points, 1) of the points of every branch's curve, and which branch each belongs to."""
        pairs = [(knot, row) for row, one in enumerate(self.wired.branches) for knot in one.table.knots_a[1:]]
        return np.array([[knot] for knot, _ in pairs]), np.array([row for _, row in pairs])

    def _k_at(self, knots: FloatArray, rows: NDArray[np.intp]) -> FloatArray:
        return np.array(
            [self.wired.branches[int(row)].table.read(knot)[0] for knot, row in zip(knots, rows, strict=True)]
        )


def _of_rows(by_branch: FloatArray, rows: NDArray[np.intp]) -> FloatArray:
    """For each point (points, branches, M) that of its own branch."""
    own: FloatArray = by_branch[np.arange(len(rows)), rows]
    return own


def _sum(by_branch: FloatArray) -> FloatArray:
    """Sum over the branches, which stay as an axis of one."""
    total: FloatArray = by_branch.sum(axis=-2, keepdims=True)
    return total


def _differ() -> NoStartError:
    return NoStartError(
        "the currents of the motor strings could not be found", hint="Give the strings grids that differ less."
    )
