"""The motor's characteristic: emf against current at one speed, as measured, made into a smooth rising curve."""

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CurveError
from griddesign.traction.records import MagnetisationPoints

FloatArray = NDArray[np.float64]
ROUNDING = 1e-9


@dataclass(frozen=True)
class MotorCurve:
    """``k(I)``, the emf of one motor per speed in V per rad/s (= N·m per A), from measured points.

    Between the points a monotone cubic (Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238; slopes as Fritsch and
    Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300), so that the current at a speed is unique. Below the lowest point
    it runs to zero emf at zero current, which leaves out remanence: ``below_lowest`` marks such currents as weak.
    Above the highest point a current is refused, unless ``held_above`` was asked for.
    """

    points: MagnetisationPoints
    hold_above: bool = False

    def __post_init__(self) -> None:
        _check(self.points)

    @property
    def highest_a(self) -> float:
        """The highest current measured, A."""
        return self.points.current_a[-1]

    @property
    def lowest_a(self) -> float:
        """The lowest current measured, A."""
        return self.points.current_a[0]

    def below_lowest(self, current_a: float) -> bool:
        """Whether the curve there is only drawn towards zero, not measured."""
        return current_a < self.lowest_a

    def held_above(self) -> "MotorCurve":
        """The same curve with ``k`` kept at its last value above the highest point.

        Iron never gives less flux for more current, so this is the least ``k`` can be and currents come out high.
        """
        return self if self.hold_above else self._held

    @cached_property
    def _held(self) -> "MotorCurve":
        return MotorCurve(self.points, hold_above=True)

    def at_field(self, share: float) -> "MotorCurve":
        """The curve with a share of the field's ampere-turns at a current: ``k(share·I)``."""
        if share == 1.0:
            return self
        currents = tuple(current / share for current in self.points.current_a)
        return MotorCurve(MagnetisationPoints(self.points.speed_rad_s, currents, self.points.emf_v), self.hold_above)

    def k(self, current_a: float) -> float:
        """Emf per speed, V per rad/s, at a current of 0 to ``highest_a``. Raises CurveError outside."""
        currents, values, slopes = self._table
        current = current_a if 0.0 <= current_a <= currents[-1] else self._inside(current_a)
        return _hermite(current, currents, values, slopes, bisect_right(currents, current, 1, len(currents) - 1) - 1)

    def k_and_slope(self, current_a: float) -> tuple[float, float]:
        """``k``, V per rad/s, and its slope, V per rad/s and A, at a current as for ``k``; held above, it is level."""
        currents, values, slopes = self._table
        if current_a > currents[-1]:
            return self.k(current_a), 0.0
        current = current_a if current_a >= 0.0 else self._inside(current_a)
        index = bisect_right(currents, current, 1, len(currents) - 1) - 1
        k = _hermite(current, currents, values, slopes, index)
        return k, _hermite_slope(current, currents, values, slopes, index)

    def k_each(self, current_a: FloatArray) -> FloatArray:
        """``k``, V per rad/s, for an array of currents, A. Raises CurveError if any lies outside."""
        currents, values, slopes = (np.array(column) for column in self._table)
        inside = np.minimum(current_a, self.highest_a) if self.hold_above else current_a
        if np.any(inside < 0.0) or np.any(inside > self.highest_a * (1.0 + ROUNDING)):
            raise self._outside(float(np.max(np.abs(inside))))
        index = np.clip(np.searchsorted(currents, inside, side="right") - 1, 0, len(currents) - 2)
        width = currents[index + 1] - currents[index]
        t = (inside - currents[index]) / width
        rise = values[index] * (1 - t) ** 2 * (1 + 2 * t) + values[index + 1] * t**2 * (3 - 2 * t)
        result: FloatArray = rise + width * t * (1 - t) * (slopes[index] * (1 - t) - slopes[index + 1] * t)
        return result

    def torque_nm(self, current_a: float) -> float:
        """Torque of the armature, N·m: ``k(I)·I``; what a measured emf loses to iron and friction is not taken off."""
        return self.k(current_a) * current_a

    def speed_rad_s(self, volts_v: float, resistance_ohm: float, current_a: float) -> float:
        """Speed of one motor of ``resistance_ohm`` at ``volts_v`` on its terminals: ``(V - I·R)/k(I)``, rad/s."""
        return (volts_v - current_a * resistance_ohm) / self.k(current_a)

    @cached_property
    def _table(self) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        currents = (0.0, *self.points.current_a)
        values = (0.0, *(emf / self.points.speed_rad_s for emf in self.points.emf_v))
        return currents, values, monotone_slopes(currents, values)

    def _inside(self, current_a: float) -> float:
        """The end of the curve for a current just or, where it is held, anywhere above it."""
        if current_a > 0.0 and (self.hold_above or current_a <= self.highest_a * (1.0 + ROUNDING)):
            return self.highest_a
        raise self._outside(current_a)

    def _outside(self, current_a: float) -> CurveError:
        return CurveError(
            f"a current of {current_a:.4g} A lies outside the motor curve, which ends at {self.highest_a:.4g} A",
            hint="Measure the curve further, or keep the currents lower.",
        )


@lru_cache(maxsize=128)
def curve_of(points: MagnetisationPoints, field: float = 1.0, *, hold_above: bool = False) -> MotorCurve:
    """The curve of these points at a share of the field, made once however often it is asked for."""
    return MotorCurve(points, hold_above).at_field(field)


def monotone_slopes(x: tuple[float, ...], y: tuple[float, ...]) -> tuple[float, ...]:
    """Slopes of the monotone cubic at its points: weighted harmonic means inside, one-sided parabolas at the ends.

    ``x`` strictly rising, at least two points; units are those of ``y`` per ``x``. The rule is that of scipy's
    PchipInterpolator.
    """
    width = [b - a for a, b in pairwise(x)]
    chord = [(b - a) / h for a, b, h in zip(y, y[1:], width, strict=False)]
    if len(x) == 2:
        return chord[0], chord[0]
    inner = [_harmonic(*four) for four in zip(width, width[1:], chord, chord[1:], strict=False)]
    first = _end_slope(width[0], width[1], chord[0], chord[1])
    last = _end_slope(width[-1], width[-2], chord[-1], chord[-2])
    return first, *inner, last


def _harmonic(h0: float, h1: float, m0: float, m1: float) -> float:
    if m0 * m1 <= 0.0:
        return 0.0
    w0, w1 = 2.0 * h1 + h0, h1 + 2.0 * h0
    return (w0 + w1) / (w0 / m0 + w1 / m1)


def _end_slope(h0: float, h1: float, m0: float, m1: float) -> float:
    slope = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1)
    if slope * m0 <= 0.0:
        return 0.0
    return 3.0 * m0 if m0 * m1 <= 0.0 and abs(slope) > 3.0 * abs(m0) else slope


def _hermite(at: float, x: tuple[float, ...], y: tuple[float, ...], slopes: tuple[float, ...], index: int) -> float:
    width = x[index + 1] - x[index]
    t = (at - x[index]) / width
    rise = y[index] * (1 - t) ** 2 * (1 + 2 * t) + y[index + 1] * t * t * (3 - 2 * t)
    return rise + width * t * (1 - t) * (slopes[index] * (1 - t) - slopes[index + 1] * t)


def _hermite_slope(
    at: float, x: tuple[float, ...], y: tuple[float, ...], slopes: tuple[float, ...], index: int
) -> float:
    width = x[index + 1] - x[index]
    t = (at - x[index]) / width
    chord = (y[index + 1] - y[index]) / width
    return 6.0 * chord * t * (1 - t) + slopes[index] * (1 - t) * (1 - 3 * t) - slopes[index + 1] * t * (2 - 3 * t)


def _check(points: MagnetisationPoints) -> None:
    if len(points.current_a) != len(points.emf_v) or len(points.current_a) < 2:
        raise CurveError(
            f"a motor curve of {len(points.current_a)} currents and {len(points.emf_v)} emfs",
            hint="Give at least two currents and one emf for each.",
        )
    if not (isfinite(points.speed_rad_s) and points.speed_rad_s > 0.0):
        raise CurveError(f"a motor curve at a speed of {points.speed_rad_s:.4g} rad/s", hint="The speed is above zero.")
    _check_rising("current", "A", points.current_a)
    _check_rising("emf", "V", points.emf_v)
    _check_saturating(points)


def _check_rising(what: str, unit: str, values: tuple[float, ...]) -> None:
    for index, (before, value) in enumerate(zip((0.0, *values), values, strict=False), start=1):
        if not isfinite(value) or value <= before:
            raise CurveError(
                f"point {index} of the motor curve: {what} {value:.6g} {unit} after {before:.6g} {unit}",
                hint=f"Every {what} is a positive number above the one before.",
            )


def _check_saturating(points: MagnetisationPoints) -> None:
    ratios = [emf / current for emf, current in zip(points.emf_v, points.current_a, strict=True)]
    for index, (before, ratio) in enumerate(pairwise(ratios), start=2):
        if ratio > before * (1.0 + ROUNDING):
            raise CurveError(
                f"point {index} of the motor curve: {ratio:.4g} V per A after {before:.4g} V per A",
                hint="Iron saturates, so emf per ampere never rises. Look for a slip in this point or the one before.",
            )
