"""Currents of a network of sections, resistors and series motors at a speed, and the speed at which something holds.

With ``i = K(s V - e)`` (see ``grid.contacts.transfer``) the motors have ``I = y - Y k(I) n``: y what the line alone
drives, Y symmetric and never negative definite, k(I) the emf for one rad/s, which has the sign of its current (a series
motor turned round turns its field round too) and never falls with it. So ``I + Y k(I) n = y`` has one solution at every
speed of zero and more: two would differ by dI with ``dk'dI >= 0`` and ``n dk'dI = -n dk'Y dk n <= 0``. Newton's rule on
all motors at once finds it, steps halved where they do not bring it nearer. Where a field carries a current of its
own, not a share of its armature's, see ``apart``.

Arrays end in the axis of the wires or motors; what comes before are cases.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import NoStartError
from griddesign.grid.contacts.transfer import Layout
from griddesign.traction.curve import FloatArray
from griddesign.traction.runup.table import EmfTable

MOST_ROUNDS = 80
MOST_HALVINGS = 30
SOON, FIRST_RAD_S = 12, 20.0
ENOUGH = 1e-4  # Armijo's share of the fall a full step promises (usual value, from memory)
TOO_FAST_RAD_S = 1e6  # no motor turns so fast: there is no such speed
ROUNDING = 1e-11
SMALL_STEP = 1e-8
"""Newton's rule doubles the digits: what is left after a step so small, as a share, is rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class Turning:
    """Motors at a speed: currents, k and dk/dI (..., motors), speed of the motors (...), rad/s.

    Where fields carry currents of their own they follow the motors along the last axis, with no k; ``sources`` then
    says for each motor which current makes its flux and moves its k, None where each motor's own does.
    """

    current_a: FloatArray
    k: FloatArray
    k_slope: FloatArray
    turning_rad_s: FloatArray
    sources: NDArray[np.intp] | None = None

    def mean_a(self) -> tuple[FloatArray, FloatArray]:
        """Mean current of the motors (...), A, and its derivatives by the currents. It counts whichever way it flows;
        where a field has its own, as it drives the car: an armature that brakes counts below zero."""
        if self.sources is None:
            return np.abs(self.current_a).mean(axis=-1), np.sign(self.current_a) / self.current_a.shape[-1]
        by_current = np.sign(self.k) / len(self.sources)
        return (by_current * self.current_a).sum(axis=-1), by_current

    def torque_nm(self) -> tuple[FloatArray, FloatArray]:
        """Torque of all motors (...), Nm, and its derivatives by the currents."""
        torque: FloatArray = (self.k * self.current_a).sum(axis=-1)
        if self.sources is None:
            return torque, self.k + self.k_slope * self.current_a
        by_current = self.k.copy()
        by_current[..., self.sources] += (self.k_slope * self.current_a)[..., : len(self.sources)]
        return torque, by_current


Measure: TypeAlias = Callable[[Turning], tuple[FloatArray, FloatArray, FloatArray]]
"""From motors at a speed: a figure (...) that falls as they turn faster, and its derivatives by the currents
(..., motors) and by the speed (...)."""


@dataclass(frozen=True, slots=True, eq=False)
class Driven:
    """A network at some ohms and volts. ``tables``: emf of each motor; ``places``: its wire; ``drive`` (..., wires): A
    in every wire at standstill; ``answer`` (..., wires, motors): A for one volt of emf taken away."""

    tables: tuple[EmfTable, ...]
    places: NDArray[np.intp]
    drive: FloatArray
    answer: FloatArray

    @classmethod
    def of(
        cls, layout: Layout, tables: tuple[EmfTable, ...], places: Sequence[int], ohm: FloatArray, line_v: FloatArray
    ) -> "Driven":
        """At ohms (..., wires) and volts (...) ahead of the feeder."""
        at = np.array(places, dtype=np.intp)
        volts = np.zeros((len(layout.source), len(at) + 1))
        volts[:, 0] = layout.source
        volts[at, np.arange(1, len(at) + 1)] = 1.0
        every = layout.driven(ohm, volts)
        return cls(tables, at, every[..., 0] * line_v[..., None], every[..., 1:])

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """k, V for one rad/s with the sign of the current, and dk/dI of every motor (..., motors)."""
        return signed_emf(self.tables, current_a)

    @property
    def standing_a(self) -> FloatArray:
        """Currents of the motors (..., motors) at standstill, A."""
        return self.drive[..., self.places]

    def now(self, current_a: FloatArray, turning: FloatArray) -> Turning:
        """The motors at these currents (..., motors) and speeds (...)."""
        return Turning(current_a, *self.read(current_a), turning)

    def doubt(self, current_a: FloatArray, turning: FloatArray) -> str:  # noqa: ARG002
        """Why currents found at a speed are not to be relied on; "" always where each motor makes its own flux."""
        return ""

    def against(self, emf_v: FloatArray) -> FloatArray:
        """Currents of the motors (..., motors) against emfs that stay as they are, A."""
        return self.wires(emf_v)[..., self.places]

    def wires(self, emf_v: FloatArray) -> FloatArray:
        """Currents of all wires (..., wires) with these emfs (..., motors) in the motors, A."""
        through: FloatArray = self.drive - (self.answer @ emf_v[..., None])[..., 0]
        return through

    def at(self, turning: FloatArray, near: FloatArray | None = None) -> FloatArray:
        """Currents of the motors (..., motors) at speeds (...) of the motors, rad/s; ``near``: where to begin."""
        current = self.standing_a + 0.0 * turning[..., None] if near is None else near
        missing = self._missing(current, turning)
        for _ in range(MOST_ROUNDS):
            step = -self.yielding(current, turning, missing[..., None])[..., 0]
            current, missing = self._nearer(current, step, missing, turning)
            if np.all(np.abs(step) <= SMALL_STEP * (1.0 + np.abs(current))):
                return current
        raise NoStartError("the currents of a network of motors could not be found", hint="Look at its ohms again.")

    def _missing(self, current: FloatArray, turning: FloatArray) -> FloatArray:
        return current - self.against(self.read(current)[0] * turning[..., None])

    def _nearer(
        self, current: FloatArray, step: FloatArray, missing: FloatArray, turning: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """One step, halved in every case in which it would not bring the solution nearer (Armijo's rule)."""
        part, before, rounding = np.ones_like(step), _length(missing), ROUNDING * (1.0 + _length(current))
        for _ in range(MOST_HALVINGS):
            trial = current + part * step
            left = self._missing(trial, turning)
            farther = _length(left) > (1.0 - ENOUGH * part) * before + rounding
            if not farther.any():
                break
            part = np.where(farther, 0.5 * part, part)
        return trial, left

    def faster(self, current: FloatArray, turning: FloatArray) -> FloatArray:
        """By how much each current changes for one rad/s more, A (..., motors)."""
        k, _ = self.read(current)
        change: FloatArray = -self.yielding(current, turning, self.answer[..., self.places, :] @ k[..., None])[..., 0]
        return change

    def yielding(self, current: FloatArray, turning: FloatArray, pushed_a: FloatArray) -> FloatArray:
        """What pushes (..., motors, columns) of the currents come to when the motors' own emfs follow, A."""
        stiffer = (self.read(current)[1] * turning[..., None])[..., None, :]
        stiff = np.eye(len(self.places)) + self.answer[..., self.places, :] * stiffer
        given: FloatArray = np.linalg.solve(stiff, pushed_a).astype(np.float64, copy=False)
        return given

    def evenly(self, amount_a: FloatArray) -> FloatArray:
        """At which speed each motor (..., motors) might have so much current, as if all fell evenly."""
        standing = self.standing_a
        k, _ = self.read(np.copysign(amount_a, standing))
        falls = np.abs(standing - self.against(k)).mean(axis=-1, keepdims=True)
        rad_s: FloatArray = np.maximum(np.abs(standing) - amount_a, 0.0) / np.where(falls > 0.0, falls, 1.0)
        return rad_s

    def speed_near(self, mean_a: FloatArray) -> FloatArray:
        """About the speed (...) at which the motors have a mean current (...), A: in the proportions of standstill."""
        standing = np.abs(self.standing_a)
        near: FloatArray = self.evenly(standing * (mean_a / standing.mean(axis=-1))[..., None]).mean(axis=-1)
        return near

    def where(self, measure: Measure, turning: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Currents (..., motors) and speed (...) at which a figure that falls with the speed is zero.

        Newton's rule on currents and speed at once, from a first guess; where that does not settle soon, on the speed
        alone, inside what is known to be too slow and too fast. Where the figure is not above zero at standstill
        already, a straight line from there gives a speed below zero: right to the first order, which is all that
        rounding asks for. Raises NoStartError where there is none.
        """
        rest = self._at_rest(turning.shape)
        value, falls = self._value(measure, rest)
        moves = value > 0.0
        backwards = np.where(moves | (falls >= 0.0), 0.0, -value / np.where(falls < 0.0, falls, -1.0))
        guess = np.where(moves, turning, 0.0)
        current, turning = self._at_once(measure, moves, guess) or self._ahead(measure, moves, guess)
        rolled = rest.current_a + self.faster(rest.current_a, rest.turning_rad_s) * backwards[..., None]
        return np.where(moves[..., None], current, rolled), np.where(moves, turning, backwards)

    def _at_once(
        self, measure: Measure, moves: NDArray[np.bool_], turning: FloatArray
    ) -> tuple[FloatArray, FloatArray] | None:
        """Newton's rule on currents and speed together; None where it does not settle soon in every case."""
        current = self.at(turning)
        for _ in range(SOON):
            now = self.now(current, turning)
            value, by_current, by_speed = measure(now)
            missing, faster = self._missing(current, turning), self.answer[..., self.places, :] @ now.k[..., None]
            both = self.yielding(current, turning, np.concatenate((missing[..., None], faster), axis=-1))
            falls = by_speed - (by_current * both[..., 1]).sum(axis=-1)
            wanted = (value - (by_current * both[..., 0]).sum(axis=-1)) / np.where(falls < 0.0, -falls, np.nan)
            step = np.where(moves, np.clip(wanted, -0.5 * turning, turning + FIRST_RAD_S), 0.0)
            change = -both[..., 0] - both[..., 1] * step[..., None]
            current, turning = current + change, turning + step
            small = np.abs(step) <= SMALL_STEP * (1.0 + np.abs(turning))
            if np.all(small) and np.all(np.abs(change) <= SMALL_STEP * (1.0 + np.abs(current))):
                return current, turning
        return None

    def _ahead(self, measure: Measure, moves: NDArray[np.bool_], turning: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Newton's rule on the speed, in the cases that move; the others stay at standstill."""
        slow, fast = np.zeros(turning.shape), np.full(turning.shape, np.inf)
        current = self.at(turning)
        for _ in range(MOST_ROUNDS):
            now = self.now(current, turning)
            value, falls = self._value(measure, now)
            value = np.where(moves, value, 0.0)
            slow, fast = np.where(value > 0.0, turning, slow), np.where(value < 0.0, turning, fast)
            step = _within(turning, value, np.minimum(falls, 0.0), (slow, fast))
            near = current + self.faster(current, turning) * step[..., None]
            turning, current = turning + step, self.at(turning + step, near)
            if np.all(np.abs(step) <= SMALL_STEP * (1.0 + np.abs(turning))):
                return current, turning
            if np.any(slow > TOO_FAST_RAD_S):
                break
        raise NoStartError(
            "a network of motors has no speed at which its current falls so far", hint="Look at its ohms again."
        )

    def _at_rest(self, shape: tuple[int, ...]) -> Turning:
        standing = self.standing_a + np.zeros((*shape, 1))
        return self.now(standing, np.zeros(shape))

    def _value(self, measure: Measure, now: Turning) -> tuple[FloatArray, FloatArray]:
        """The figure and by how much it changes for one rad/s more."""
        value, by_current, by_speed = measure(now)
        falls: FloatArray = (by_current * self.faster(now.current_a, now.turning_rad_s)).sum(axis=-1) + by_speed
        return value, falls


def _length(each: FloatArray) -> FloatArray:
    length: FloatArray = np.sqrt((each * each).sum(axis=-1, keepdims=True))
    return length


def _within(
    turning: FloatArray, value: FloatArray, falls: FloatArray, bounds: tuple[FloatArray, FloatArray]
) -> FloatArray:
    """Newton's step where it stays between too slow and too fast; else half-way, or as fast again without a bound."""
    slow, fast = bounds
    wanted = turning - value / np.where(falls < 0.0, falls, np.nan)
    known = np.isfinite(slow) & np.isfinite(fast)
    half = 0.5 * (np.where(known, slow, 0.0) + np.where(known, fast, 0.0))
    other = np.where(known, half, np.where(np.isfinite(fast), 0.5 * turning, 2.0 * turning + 1.0))
    fits = np.isfinite(wanted) & (wanted >= slow) & (wanted <= fast)
    result: FloatArray = np.where(value == 0.0, 0.0, np.where(fits, wanted, other) - turning)
    return result


def signed_emf(tables: Sequence[EmfTable], current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
    """k, V for one rad/s with the sign of the current, and dk/dI, of motors along the last axis."""
    amount = np.abs(current_a)
    if all(table is tables[0] for table in tables):
        k, slope = tables[0].read(amount)
    else:
        pairs = [table.read(amount[..., place]) for place, table in enumerate(tables)]
        k, slope = np.stack([k for k, _ in pairs], axis=-1), np.stack([slope for _, slope in pairs], axis=-1)
    return np.copysign(k, current_a), slope


def mean_of(mean_a: FloatArray) -> Measure:
    """The mean current of the motors (``Turning.mean_a``) less ``mean_a`` (...), A."""

    def measure(now: Turning) -> tuple[FloatArray, FloatArray, FloatArray]:
        mean, by_current = now.mean_a()
        return mean - mean_a, by_current, np.zeros_like(now.turning_rad_s)

    return measure
