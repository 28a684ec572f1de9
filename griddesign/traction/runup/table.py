"""The motor curve laid out for reading in bulk: emf per speed and its slope, by cubics between the points."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from griddesign.traction.curve import FloatArray, monotone_slopes
from griddesign.traction.records import MagnetisationPoints


@dataclass(frozen=True)
class CurveTable:
    """``k(I)`` and ``dk/dI`` of ``MotorCurve`` for arrays of currents, ``k`` kept at its last value above the highest.

    The same monotone cubic from zero through the measured points; a test holds the two against each other.
    """

    points: MagnetisationPoints

    @property
    def highest_a(self) -> float:
        """The highest current measured, A."""
        return self.points.current_a[-1]

    @property
    def lowest_a(self) -> float:
        """The lowest current measured, A."""
        return self.points.current_a[0]

    @cached_property
    def knots_a(self) -> FloatArray:
        """Currents at which one cubic ends and the next begins, A: zero and the measured points."""
        return np.array((0.0, *self.points.current_a))

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """``k`` in V per rad/s and ``dk/dI`` at currents of zero and more."""
        cell = np.searchsorted(self.knots_a[1:], current_a, side="left")  # a knot is reached from above: the cell below
        beyond = current_a - self.knots_a.take(cell)
        constant, first, second, third = self._cubics.take(cell, axis=1)
        k: FloatArray = constant + beyond * (first + beyond * (second + beyond * third))
        slope: FloatArray = first + beyond * (2.0 * second + beyond * 3.0 * third)
        return k, slope

    @cached_property
    def _cubics(self) -> FloatArray:
        """Coefficients in powers of the current past the knot, a column per cell; the last cell is a constant."""
        x, y = self.knots_a, np.array((0.0, *(emf / self.points.speed_rad_s for emf in self.points.emf_v)))
        slopes = np.array(monotone_slopes(tuple(x), tuple(y)))
        width, chord = np.diff(x), np.diff(y) / np.diff(x)
        left, right = slopes[:-1], slopes[1:]
        inside = (y[:-1], left, (3.0 * chord - 2.0 * left - right) / width, (left + right - 2.0 * chord) / width**2)
        return np.array([np.append(column, last) for column, last in zip(inside, (y[-1], 0.0, 0.0, 0.0), strict=True)])
