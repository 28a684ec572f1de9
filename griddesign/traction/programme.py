"""The linear programme of the ladder: section ohms that keep every peak within the limit at one valley current.

Unknown are the section ohms ``r >= 0``. With the notches left at the valley current known, every margin of the peak
rule, ``Ip·R'(k) + s·k(Ip)·n - V`` in volts with ``n = (V - Iv·R'(m))/(s'·k(Iv))``, is linear in them.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from griddesign.grid import circuit
from griddesign.grid.records import Run
from griddesign.traction.curve import FloatArray
from griddesign.traction.problem import Arrival, Problem

BoolArray = NDArray[np.bool_]
Ways = tuple[tuple[int, int | None], ...]
TIGHT = 1e-10
EVEN_ENOUGH_A = 1e-7
HELD_A = 1e-9
STEP = 1e-7
ENDLESS = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Linear:
    """``matrix @ r + offset``: one row for each margin or each condition."""

    matrix: FloatArray
    offset: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class MostMargin:
    """Section ohms with the largest smallest margin, that margin, V, and its change for an ampere more of valley.

    ``binding`` holds the stages whose arrivals decide it: without all others it would be the same.
    """

    margin_v: float
    section_ohm: FloatArray
    per_valley_v_a: float
    binding: frozenset[int]


@dataclass(frozen=True)
class Programme:
    """The programme of one problem. ``ways`` says for each arrival which notch was left last (None: standstill); where
    that is not the one before, those between are passed. Without them every notch is left from the one before.

    ``around`` holds the section ohms at which circuits with branches are made straight (their ohms grow with a section
    as the square of its share of the current); circuits in plain series need none. ``reach`` bounds single sections
    (none below zero), and ``caps`` are further sums that must not fall below zero.
    """

    problem: Problem
    ways: Ways = ()
    around: Mapping[str, float] | None = None
    reach: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    caps: Linear | None = None

    def with_ways(self, ways: Ways) -> "Programme":
        """The same programme with another pattern of passed notches."""
        return replace(self, ways=ways)

    def most_margin(self, valley_a: float) -> MostMargin | None:
        """The largest smallest margin at a valley current; None where the conditions clash."""
        rows, volts = self.margins(valley_a), self.problem.line.nominal_v
        cost = np.append(np.zeros(len(self.problem.sections)), -1.0)
        below = np.hstack([-rows.matrix, np.ones((len(rows.offset), 1))])
        found = self._solve(cost, below, rows.offset, (None, ENDLESS * volts))
        if found is None:
            return None
        (*ohms, margin), prices = found
        further = self.margins(valley_a * (1.0 + STEP))
        change = (further.matrix - rows.matrix) @ ohms + further.offset - rows.offset
        binding = frozenset(arrival.to for arrival, price in zip(self.arrivals, prices, strict=True) if price > 1e-9)
        return MostMargin(float(margin), np.array(ohms), float(prices @ change) / (valley_a * STEP), binding)

    def most_even(self, valley_a: float, grid: Mapping[str, float], volts_per_a: FloatArray) -> FloatArray | None:
        """Section ohms with the largest margin made smallest, then the next, and so on; None where none is held.

        Margins are compared in amperes: ``volts_per_a`` says how many volts one is worth, for each arrival at a notch.
        Of the corners and strings of an arrival the one counts that is worst on ``grid``.
        """
        plain = self.margins(valley_a)
        scale = np.array([volts_per_a[arrival.to - 1] for arrival in self.arrivals])
        rows = Linear(plain.matrix / scale[:, None], plain.offset / scale)
        ceiling = np.full(len(scale), np.inf)
        is_open = self._worst_rows(plain, grid)
        best: FloatArray | None = None
        while np.any(is_open):
            found = self._lower_the_open(rows, ceiling, is_open)
            if found is None:
                break
            best, level, binding = found
            ceiling[binding] = level + EVEN_ENOUGH_A
            is_open = is_open & ~binding
            if np.all((rows.matrix @ best + rows.offset)[is_open] <= EVEN_ENOUGH_A):
                break
        return best

    def _worst_rows(self, rows: Linear, grid: Mapping[str, float]) -> BoolArray:
        """For each arrival at a notch, the row with the least margin on a grid."""
        margins = rows.matrix @ np.array([grid[name] for name in self.problem.sections]) + rows.offset
        worst: dict[int, int] = {}
        for index, arrival in enumerate(self.arrivals):
            if arrival.to not in worst or margins[index] < margins[worst[arrival.to]]:
                worst[arrival.to] = index
        return np.isin(np.arange(len(margins)), list(worst.values()))

    def margins(self, valley_a: float) -> Linear:
        """Every margin of the peak rule at a valley current, in volts."""
        arriving, leaving, gain = self._parts
        left = np.array([arrival.left or 0 for arrival in self.arrivals], dtype=np.intp)
        gains = gain / self.problem.k_each(valley_a)[left]
        volts = np.where(gain > 0.0, self.problem.line.nominal_v, 0.0)
        return Linear(
            arriving.matrix - (gains * valley_a)[:, None] * leaving.matrix,
            arriving.offset + gains * (volts - valley_a * leaving.offset),
        )

    @cached_property
    def conditions(self) -> Linear:
        """What must be zero: the first notch at its current, wanted ohms given, like strings of one notch."""
        problem, rows = self.problem, []
        for index, stage in enumerate(problem.stages):
            first = self.row(stage.circuits[0])
            rows += [(first - self.row(run), 0.0) for run in stage.circuits[1:]]
            if stage.wanted_ohm is not None:
                rows.append((first, -stage.wanted_ohm))
            elif index == 0:
                grid = (
                    problem.line.nominal_v / problem.start.first_notch_a - problem.bare(0, cold=False)
                ) / stage.weight
                rows.append((first, -grid))
        return _stacked([row for row in rows if np.any(row[0]) or row[1]], len(problem.sections))

    @property
    def capped(self) -> Linear:
        """What must not fall below zero, beside the margins."""
        return self.caps or _stacked([], len(self.problem.sections))

    @property
    def limits(self) -> tuple[FloatArray, FloatArray]:
        """Least and greatest ohms of each section."""
        pairs = [self.reach.get(name, (0.0, np.inf)) for name in self.problem.sections]
        return np.array([low for low, _ in pairs]), np.array([high for _, high in pairs])

    @cached_property
    def arrivals(self) -> tuple[Arrival, ...]:
        """Every arrival of the pattern, with its corners and strings: one margin each."""
        ways = self.ways or tuple((to, to - 1) for to in range(1, len(self.problem.stages)))
        return tuple(arrival for to, left in ways for arrival in self.problem.arrivals(to, left))

    @cached_property
    def _parts(self) -> tuple[Linear, Linear, FloatArray]:
        """Arrival by arrival: ``Ip·R'(k) - V``, R' on leaving, and ``(s/s')·k(Ip)``, which is 0 from standstill."""
        width, peak = len(self.problem.sections), self.problem.start.peak_a
        arrivals = self.arrivals
        arriving = [self._arriving(arrival) for arrival in arrivals]
        leaving = [self._leaving(arrival) for arrival in arrivals]
        k = self.problem.k_each(peak)
        gain = [self._series_ratio(arrival) * k[arrival.to] for arrival in arrivals]
        return _stacked(arriving, width), _stacked(leaving, width), np.array(gain)

    def _arriving(self, arrival: Arrival) -> tuple[FloatArray, float]:
        peak = self.problem.start.peak_a
        row, bare = self._total(arrival.to, arrival.to_circuit, arrival)
        return peak * row, peak * bare - self.problem.line.nominal_v

    def _leaving(self, arrival: Arrival) -> tuple[FloatArray, float]:
        if arrival.left is None:
            return np.zeros(len(self.problem.sections)), 0.0
        return self._total(arrival.left, arrival.left_circuit, arrival)

    def _total(self, index: int, run: Run, arrival: Arrival) -> tuple[FloatArray, float]:
        """R' of a stage through one of its circuits in the corner of the arrival, motors cold."""
        warmth = self.problem.warmth(arrival)
        row = self.row(run) * np.array([warmth[name] for name in self.problem.sections])
        return self.problem.stages[index].weight * row, self.problem.bare(index, cold=True)

    def _series_ratio(self, arrival: Arrival) -> float:
        if arrival.left is None:
            return 0.0
        stages = self.problem.stages
        return stages[arrival.to].grouping.series / stages[arrival.left].grouping.series

    def row(self, run: Run) -> FloatArray:
        """Ohms of the circuit for one ohm more in each section."""
        around = dict.fromkeys(self.problem.sections, 1.0) if self.around is None else self.around
        squares = {name: share * share for name, share in circuit.shares(run, around).items()}
        return np.array([squares.get(name, 0.0) for name in self.problem.sections])

    def _lower_the_open(
        self, rows: Linear, ceiling: FloatArray, is_open: BoolArray
    ) -> tuple[FloatArray, float, BoolArray] | None:
        """Lower the largest margin not yet settled: ohms, that margin, and which margins hold it up."""
        counted = is_open | np.isfinite(ceiling)
        most = np.hstack([rows.matrix, -is_open[:, None].astype(float)])[counted]
        below = np.vstack([most, _widened(-rows.matrix)])
        limit = np.append((np.where(is_open, 0.0, ceiling) - rows.offset)[counted], rows.offset + HELD_A)
        found = self._solve(np.append(np.zeros(len(self.problem.sections)), 1.0), below, limit, (None, None))
        if found is None:
            return None
        point, prices = found
        binding = np.zeros(len(counted), dtype=bool)
        binding[counted] = prices[: int(counted.sum())] > 1e-9
        binding &= is_open
        return point[:-1], float(point[-1]), binding if np.any(binding) else is_open

    def _solve(
        self, cost: FloatArray, below: FloatArray, limit: FloatArray, last: tuple[float | None, float | None]
    ) -> tuple[FloatArray, FloatArray] | None:
        """Least ``cost`` with ``below @ x <= limit`` and the conditions: the point and what each limit saves."""
        from scipy.optimize import linprog

        equal, caps = self.conditions, self.capped
        result = linprog(
            cost,
            A_ub=np.vstack([below, _widened(-caps.matrix)]),
            b_ub=np.append(limit, caps.offset),
            A_eq=_widened(equal.matrix),
            b_eq=-equal.offset,
            bounds=[*zip(*self.limits, strict=True), last],
            method="highs",
            options={"primal_feasibility_tolerance": TIGHT, "dual_feasibility_tolerance": TIGHT, "presolve": False},
        )
        if result.status != 0 or result.x is None:
            return None
        return result.x, -result.ineqlin.marginals[: len(limit)]


def _widened(matrix: FloatArray) -> FloatArray:
    """The same rows with a last column of nothing, for the unknown that is no section."""
    return np.hstack([matrix, np.zeros((len(matrix), 1))])


def _stacked(rows: list[tuple[FloatArray, float]], width: int) -> Linear:
    matrix = np.array([row for row, _ in rows]).reshape(len(rows), width)
    return Linear(matrix, np.array([offset for _, offset in rows], dtype=float))
