"""The motor curve laid out for reading in bulk: emf per speed and its slope, by cubics between the points."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Protocol

import numpy as np

from griddesign.traction.curve import FloatArray, monotone_slopes
from griddesign.traction.records import MagnetisationPoints

KEPT = 64


class EmfTable(Protocol):
    """Emf of a motor or of several in series, for one rad/s, over the current: cubics from knot to knot, from zero."""

    @property
    def highest_a(self) -> float:
        """The current up to which every motor of it is measured, A."""

    @property
    def lowest_a(self) -> float:
        """The current from which on every motor of it is measured, A."""

    @property
    def knots_a(self) -> FloatArray:
        """Currents at which one cubic ends and the next begins, A: zero and the measured points."""

    @property
    def cubics(self) -> FloatArray:
        """Coefficients in powers of the current past the knot, a column per cell; the last cell is a constant."""

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """``k`` in V per rad/s and ``dk/dI`` at currents of zero and more."""


@dataclass(frozen=True)
class CurveTable:
    """``factor·k(field·I)`` of ``MotorCurve`` and its slope for arrays of currents, ``k`` kept at its last value above
    the highest point.

    ``field`` is the share of the full field's ampere-turns, ``factor`` the emf for one rad/s of the car's common motor
    speed (wheels, gear or windings that differ). The same monotone cubic from zero through the measured points; a test
    holds the two against each other.
    """

    points: MagnetisationPoints
    field: float = 1.0
    factor: float = 1.0

    @property
    def highest_a(self) -> float:
        """The highest current measured, A."""
        return self.points.current_a[-1] / self.field

    @property
    def lowest_a(self) -> float:
        """The lowest current measured, A."""
        return self.points.current_a[0] / self.field

    @cached_property
    def knots_a(self) -> FloatArray:
        """Zero and the measured points, A."""
        return np.array((0.0, *self.points.current_a)) / self.field

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """``k`` in V per rad/s and ``dk/dI`` at currents of zero and more."""
        return _read(self.knots_a, self.cubics, current_a)

    @cached_property
    def cubics(self) -> FloatArray:
        """Coefficients in powers of the current past the knot, a column per cell."""
        x, y = self.knots_a, np.array((0.0, *(emf / self.points.speed_rad_s for emf in self.points.emf_v)))
        y = self.factor * y
        slopes = np.array(monotone_slopes(tuple(x), tuple(y)))
        width, chord = np.diff(x), np.diff(y) / np.diff(x)
        left, right = slopes[:-1], slopes[1:]
        inside = (y[:-1], left, (3.0 * chord - 2.0 * left - right) / width, (left + right - 2.0 * chord) / width**2)
        return np.array([np.append(column, last) for column, last in zip(inside, (y[-1], 0.0, 0.0, 0.0), strict=True)])


@dataclass(frozen=True)
class SummedTable:
    """Motors in series: the sum of their emfs at one current, each for one rad/s of the common motor speed."""

    tables: tuple[CurveTable, ...]

    @property
    def highest_a(self) -> float:
        """The current up to which all are measured, A."""
        return min(table.highest_a for table in self.tables)

    @property
    def lowest_a(self) -> float:
        """The current from which on all are measured, A."""
        return max(table.lowest_a for table in self.tables)

    @cached_property
    def knots_a(self) -> FloatArray:
        """Points of every curve, A."""
        return np.unique(np.concatenate([table.knots_a for table in self.tables]))

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The sum of ``k`` in V per rad/s and of ``dk/dI`` at currents of zero and more."""
        return _read(self.knots_a, self.cubics, current_a)

    @cached_property
    def cubics(self) -> FloatArray:
        """Coefficients of ``k`` (V per rad/s) about the common points (A): a cubic moved to another foot stays one."""
        total: FloatArray = np.sum([_moved(table, self.knots_a) for table in self.tables], axis=0)
        return total


@lru_cache(maxsize=KEPT)
def curve_table(points: MagnetisationPoints, field: float, factor: float) -> CurveTable:
    """The table at a share ``field`` of the ampere-turns, its emf times ``factor``; kept for the next that asks."""
    return CurveTable(points, field, factor)


def in_series(tables: Sequence[CurveTable]) -> EmfTable:
    """One table for motors in series; of like motors that of one with so many times its emf."""
    first = tables[0]
    if all(table is first or table == first for table in tables):
        return curve_table(first.points, first.field, len(tables) * first.factor)
    return SummedTable(tuple(tables))


def _moved(table: CurveTable, knots_a: FloatArray) -> FloatArray:
    """The table's cubics about other knots, among which are all its own."""
    cell = np.searchsorted(table.knots_a, knots_a, side="right") - 1
    by = knots_a - table.knots_a[cell]
    constant, first, second, third = table.cubics[:, cell]
    return np.array(
        [
            constant + by * (first + by * (second + by * third)),
            first + by * (2.0 * second + 3.0 * by * third),
            second + 3.0 * by * third,
            third,
        ]
    )


def _read(knots_a: FloatArray, cubics: FloatArray, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
    cell = np.searchsorted(knots_a[1:], current_a, side="left")  # a knot is reached from above: the cell below
    beyond = current_a - knots_a.take(cell)
    constant, first, second, third = cubics.take(cell, axis=1)
    k: FloatArray = constant + beyond * (first + beyond * (second + beyond * third))
    slope: FloatArray = first + beyond * (2.0 * second + beyond * 3.0 * third)
    return k, slope
