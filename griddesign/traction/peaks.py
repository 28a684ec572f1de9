"""Peaks of a given grid: how far each stays within the limit, and the largest valley current it allows."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from math import inf

import numpy as np
from numpy.typing import NDArray

from griddesign.grid import circuit
from griddesign.grid.records import Run
from griddesign.traction.curve import FloatArray
from griddesign.traction.equation import current_a, frozen_flux_a, speed_rad_s
from griddesign.traction.problem import GRID_COLD, Arrival, Problem
from griddesign.traction.root import rising_root

LOWEST_VALLEY = 1e-3
NEAR = 1e-5


@dataclass(frozen=True, slots=True)
class Peak:
    """The worst peak on arriving at a notch, A per motor, the corner it comes in and the bound of the frozen flux."""

    current_a: float
    corner: str
    frozen_flux_a: float


@dataclass(frozen=True)
class BuiltGrid:
    """A grid of known sections under the peak rule.

    The car leaves notch k at the highest of the speeds at which any notch so far falls to the valley current: a passed
    notch is left as fast as it was reached. So the margin of an arrival is that of the best notch left before it.
    """

    problem: Problem
    section_ohm: Mapping[str, float]

    def margins_v(self, valley_a: float, peak_a: float) -> FloatArray:
        """Volts by which each arrival (second notch onwards) stays within ``peak_a``, worst corner and string."""
        best: FloatArray = np.maximum.reduceat(self._by_notch_left(valley_a, peak_a), self._starts[1])
        return best

    def _by_notch_left(self, valley_a: float, peak_a: float) -> FloatArray:
        """The same for every notch that may have been left last, standstill first, stage after stage."""
        volts, (left, to) = self.problem.line.nominal_v, self._places
        left_ohm, left_series, to_ohm, to_series = self._columns
        left_k, to_k = self.problem.k_each(valley_a)[left], self.problem.k_each(peak_a)[to]
        speed = np.maximum(0.0, (volts - valley_a * left_ohm) / (left_series * left_k))
        margin = peak_a * to_ohm + to_series * to_k * speed - volts
        worst: FloatArray = np.minimum.reduceat(margin, self._starts[0])
        return worst

    def largest_valley_a(self) -> float:
        """The largest valley current that keeps every peak within the limit, A.

        There always is one: left late enough, the car is faster than any next notch can drive it. How low it is says
        what the grid is worth.
        """
        peak = self.problem.start.peak_a
        if len(self.problem.stages) == 1:
            return peak

        def excess(valley: float) -> float:
            return -float(np.min(self.margins_v(valley, peak)))

        return rising_root(excess, LOWEST_VALLEY * peak, peak)

    def volts_per_a(self, valley_a: float) -> FloatArray:
        """Volts of margin for each ampere an arrival (second notch onwards) stays under the limit."""
        limit = self.problem.start.peak_a
        peaks = np.array([peak.current_a for peak in self.peaks(valley_a)[1:]])
        below = np.where(np.abs(limit - peaks) > NEAR * limit, peaks, limit * (1.0 - NEAR))
        at_limit = self.margins_v(valley_a, limit)
        beside = np.array([self.margins_v(valley_a, float(peak))[k] for k, peak in enumerate(below)])
        result: FloatArray = (at_limit - beside) / (limit - below)
        return result

    def peaks(self, valley_a: float) -> tuple[Peak, ...]:
        """The worst peak on every stage; above the end of the motor curve k is kept at its last value.

        Which notch was left last, with the most margin, does not depend on the peak current asked about.
        """
        ways = ((0, None), *self.best_ways(valley_a))
        return tuple(self._worst(to, left, valley_a) for to, left in ways)

    def best_ways(self, valley_a: float) -> tuple[tuple[int, int | None], ...]:
        """For each arrival, the notch left last with the most margin; None is standstill."""
        if len(self.problem.stages) == 1:
            return ()
        by_left = self._by_notch_left(valley_a, self.problem.start.peak_a)
        best = [int(np.argmax(by_left[begin : begin + to + 1])) for to, begin in enumerate(self._starts[1], start=1)]
        return tuple((to, None if index == 0 else index - 1) for to, index in enumerate(best, start=1))

    def total_ohm(self, index: int, *, cold: bool) -> float:
        """R' of a stage with the grid cold, ohm; of its highest string where the strings differ."""
        stage = self.problem.stages[index]
        return self.problem.bare(index, cold=cold) + stage.weight * self.grid_ohm(index)

    def grid_ohm(self, index: int) -> float:
        """The grid's own cold ohms of a stage; of its highest string where the strings differ."""
        return max(circuit.ohms(run, self.section_ohm) for run in self.problem.stages[index].circuits)

    def _worst(self, to: int, left: int | None, valley_a: float) -> Peak:
        found = (self._peak(arrival, valley_a) for arrival in self.problem.arrivals(to, left))
        return max(found, key=lambda peak: (round(peak.current_a, 9), peak.corner == GRID_COLD))

    def _peak(self, arrival: Arrival, valley_a: float) -> Peak:
        problem = self.problem
        volts, series = problem.line.nominal_v, problem.stages[arrival.to].grouping.series
        total, leaving = self._arriving_ohm(arrival), self._leaving_ohm(arrival)
        if arrival.left is None or valley_a * leaving >= volts:
            return Peak(volts / total, arrival.corner, volts / total)
        left_series = problem.stages[arrival.left].grouping.series
        bound = frozen_flux_a(volts, total, volts - valley_a * leaving, series / left_series)
        speed = speed_rad_s(volts, leaving, left_series, problem.curves[arrival.left], valley_a)
        current = current_a(volts, total, series, problem.curves[arrival.to].held_above(), speed)
        return Peak(current, arrival.corner, bound)

    def _arriving_ohm(self, arrival: Arrival) -> float:
        return self._total_ohm(arrival.to, arrival.to_circuit, arrival)

    def _leaving_ohm(self, arrival: Arrival) -> float:
        """R' on leaving; without end where the car starts from standstill, so that it leaves at no speed."""
        return inf if arrival.left is None else self._total_ohm(arrival.left, arrival.left_circuit, arrival)

    def _total_ohm(self, index: int, run: Run, arrival: Arrival) -> float:
        """R' of a stage through one of its circuits, motors cold and grid as warm as the corner has it, ohm.

        Worked out once for each circuit and its hot sections: many arrivals share them.
        """
        problem = self.problem
        hot = problem.hot_sections(arrival) & problem.in_circuit[index]
        known = self._known_ohm.get((index, run, hot))
        if known is None:
            ratios = {name: problem.hot_ratio.get(name, 1.0) for name in hot}
            warm = {name: ohm * ratios.get(name, 1.0) for name, ohm in self.section_ohm.items()}
            known = problem.bare(index, cold=True) + problem.stages[index].weight * circuit.ohms(run, warm)
            self._known_ohm[index, run, hot] = known
        return known

    @cached_property
    def _known_ohm(self) -> dict[tuple[int, Run, frozenset[str]], float]:
        return {}

    @cached_property
    def _groups(self) -> tuple[tuple[tuple[Arrival, ...], ...], ...]:
        """Arrivals by stage arrived at, and within it by stage left."""
        return tuple(
            tuple(tuple(self.problem.arrivals(to, left)) for left in (None, *range(to)))
            for to in range(1, len(self.problem.stages))
        )

    @cached_property
    def _starts(self) -> tuple[list[int], list[int]]:
        by_left = [len(group) for stage in self._groups for group in stage]
        return _starts(by_left), _starts(len(stage) for stage in self._groups)

    @cached_property
    def _places(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Stage left (the first one for standstill, where it does not matter) and stage arrived at."""
        arrivals = [arrival for stage in self._groups for group in stage for arrival in group]
        left, to = [arrival.left or 0 for arrival in arrivals], [arrival.to for arrival in arrivals]
        return np.array(left, dtype=np.intp), np.array(to, dtype=np.intp)

    @cached_property
    def _columns(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """R' and motors in series, on leaving and on arriving, arrival by arrival."""
        arrivals = [arrival for stage in self._groups for group in stage for arrival in group]
        series = [stage.grouping.series for stage in self.problem.stages]
        left_ohm = [self._leaving_ohm(arrival) for arrival in arrivals]
        left_series = [1 if arrival.left is None else series[arrival.left] for arrival in arrivals]
        to_ohm = [self._arriving_ohm(arrival) for arrival in arrivals]
        to_series = [series[arrival.to] for arrival in arrivals]
        return np.array(left_ohm), np.array(left_series, float), np.array(to_ohm), np.array(to_series, float)


def _starts(lengths: Iterable[int]) -> list[int]:
    """Where each of the consecutive groups of these lengths begins."""
    return list(accumulate(lengths, initial=0))[:-1]
