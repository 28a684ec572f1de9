"""Peaks of a given grid: how far each stays within the limit, and the largest valley current it allows."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np

from griddesign.grid import circuit
from griddesign.traction.curve import FloatArray
from griddesign.traction.equation import current_a, frozen_flux_a, speed_rad_s
from griddesign.traction.problem import GRID_COLD, Arrival, Loop, Problem
from griddesign.traction.root import rising_root

LOWEST_VALLEY = 1e-3
NEAR = 1e-5
BESIDE = 1e-6


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
        best: FloatArray = np.maximum.reduceat(self._by_notch_left(valley_a, peak_a), self.problem.every_arrival.stages)
        return best

    def _by_notch_left(self, valley_a: float, peak_a: float) -> FloatArray:
        """The same for every notch that may have been left last, standstill first, stage after stage."""
        every, volts = self.problem.every_arrival, self.problem.line.nominal_v
        left_ohm, to_ohm = self._columns
        left_k, to_k = self.problem.k_each(valley_a)[every.left], self.problem.k_each(peak_a)[every.to]
        speed = np.maximum(0.0, (volts - valley_a * left_ohm) / (every.left_series * left_k))
        margin = peak_a * to_ohm + every.to_series * to_k * speed - volts
        worst: FloatArray = np.minimum.reduceat(margin, every.ways)
        return worst

    def largest_valley_a(self, near_a: float | None = None) -> float:
        """The largest valley current that keeps every peak within the limit, A.

        There always is one: left late enough, the car is faster than any next notch can drive it. How low it is says
        what the grid is worth. ``near_a`` is a guess, which only saves steps.
        """
        peak = self.problem.start.peak_a
        if len(self.problem.stages) == 1:
            return peak

        def excess(valley: float) -> float:
            return -float(np.min(self.margins_v(valley, peak)))

        if near_a is not None:
            low, high = near_a * (1.0 - BESIDE), min(near_a * (1.0 + BESIDE), peak)
            if excess(low) < 0.0 < excess(high):
                return rising_root(excess, low, high)
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
        stages = self.problem.every_arrival.stages
        best = [int(np.argmax(by_left[begin : begin + to + 1])) for to, begin in enumerate(stages, start=1)]
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
        return self._loop_ohm(self.problem.loop(arrival.to, arrival.to_circuit, arrival))

    def _leaving_ohm(self, arrival: Arrival) -> float:
        """R' on leaving; without end where the car starts from standstill, so that it leaves at no speed."""
        if arrival.left is None:
            return inf
        return self._loop_ohm(self.problem.loop(arrival.left, arrival.left_circuit, arrival))

    def _loop_ohm(self, loop: Loop) -> float:
        """R' of a stage through one of its circuits, motors cold and grid as warm as the corner has it, ohm.

        Worked out once for each: many arrivals share them.
        """
        known = self._known_ohm.get(loop)
        if known is None:
            problem, (index, run, hot) = self.problem, loop
            warm = dict(self.section_ohm)
            for name in hot:
                warm[name] *= problem.hot_ratio.get(name, 1.0)
            known = problem.bare(index, cold=True) + problem.stages[index].weight * circuit.ohms(run, warm)
            self._known_ohm[loop] = known
        return known

    @cached_property
    def _known_ohm(self) -> dict[Loop, float]:
        return {}

    @cached_property
    def _columns(self) -> tuple[FloatArray, FloatArray]:
        """R' on leaving and on arriving, arrival by arrival; on leaving standstill without end."""
        every, known = self.problem.every_arrival, self.section_ohm
        if every.per_ohm is None or not all(name in known for name in self.problem.sections):
            ohm = np.array([self._loop_ohm(loop) for loop in every.loops])
        else:
            ohm = every.bare_ohm + every.per_ohm @ np.array([known[name] for name in self.problem.sections])
        ohm = np.append(ohm, inf)
        return ohm[every.left_loop], ohm[every.to_loop]
