"""The driver: how long each notch is kept, and how the car gets from one grouping to the next."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.runup import flow
from griddesign.traction.runup.flow import LEAD, Bench
from griddesign.traction.runup.legs import Leg, Watch, arrive
from griddesign.traction.runup.steps import Care, Seen, by_clock, by_current, in_time
from griddesign.traction.runup.wiring import Wired

COAST_STEPS = 3
MOST_TRIES = 40
WITHIN_A = 1e-4
FIRST_TRY = 0.6
LOWEST = 0.1  # of the current on arriving: ours, no source; without current a motor's speed has no bound


@dataclass(frozen=True, slots=True)
class Change:
    """A change of grouping: what carries current meanwhile (None: the power is off), and for how long."""

    wired: Wired | None
    seconds: float


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """A notch, the change of grouping before it, and the seconds on it (M,) where the driver goes by the clock."""

    wired: Wired
    change: Change | None
    dwell_s: FloatArray | None


@dataclass(frozen=True, slots=True, eq=False)
class Crossing:
    """The end of a change of grouping; ``leg`` where motors kept their current."""

    state: FloatArray
    speed_m_s: FloatArray
    leg: Leg | None


@dataclass(frozen=True, slots=True)
class Course:
    """All steps of a start, and what the car does on them; nothing here remembers."""

    bench: Bench
    steps: tuple[Step, ...]
    care: Care

    @property
    def most_motors(self) -> int:
        """Motors that any notch names."""
        named = (string for step in self.steps for branch in step.wired.branches for string in branch.strings)
        return 1 + max(max(string) for string in named)

    def arrive(self, step: Step, state: FloatArray, speed_m_s: FloatArray) -> Leg:
        """Arriving at a notch; one left by the clock may hold the car braked."""
        return arrive(self.bench, step.wired, state, speed_m_s, braked=step.dwell_s is not None)

    def travel(self, place: int, leg: Leg, seen: Seen | None) -> FloatArray:
        """The state on leaving the notch of a place."""
        cases, marks = self.bench.cases, leg.marks()
        dwell_s = self.steps[place].dwell_s
        if dwell_s is not None:
            return by_clock(leg.powered, leg.begin, dwell_s, marks, self.care, seen)
        to_a = cases.valley_a
        if cases.peak_a is not None and place + 1 < len(self.steps):
            to_a = self._as_soon_as_allowed(place, leg, cases.peak_a, marks)
        return by_current(leg.powered, leg.begin, to_a, marks, self.care, seen)

    def cross(self, change: Change, state: FloatArray, speed_m_s: FloatArray, watch: Watch | None = None) -> Crossing:
        """A change of grouping from its begin to its end."""
        seconds = np.full(len(self.bench.cases), change.seconds)
        if change.wired is not None:
            leg = arrive(self.bench, change.wired, state, speed_m_s, braked=True)
            end = leg.for_seconds(seconds, self.care, leg.seer(watch))
            return Crossing(end, np.maximum(leg.moment(end).speed_m_s, 0.0), leg)
        if change.seconds <= 0.0:
            return Crossing(state, speed_m_s, None)
        begin = state.copy()
        begin[LEAD] = speed_m_s
        seen = None if watch is None else (lambda now: watch("", now, None))
        end = in_time(flow.coasting(self.bench), begin, seconds, COAST_STEPS * self.care.parts, seen)
        return Crossing(end, np.maximum(end[LEAD], 0.0), None)

    def _as_soon_as_allowed(self, place: int, leg: Leg, limit_a: FloatArray, marks: FloatArray) -> FloatArray:
        """The highest current (M,) at which the notch may be left so that the next peak stays within the limit.

        A state that the current never falls to is marked as stuck on the way, as with a valley too low. Where a motor
        generates beside a resistor none may be within: the notch is then left at ``LOWEST``, if it is reached.
        """

        def over(to_a: FloatArray) -> FloatArray:
            state = by_current(leg.powered, leg.begin, to_a, marks, self.care)
            return self._next_peak_a(place, leg, state) - limit_a

        high = leg.begin[LEAD].copy()
        low = np.minimum(limit_a, high) * FIRST_TRY
        left_a: FloatArray = np.maximum(_highest_within(over, low, high), LOWEST * high)
        return left_a

    def _next_peak_a(self, place: int, leg: Leg, state: FloatArray) -> FloatArray:
        """The peak of the next notch, or of the transition to it if that is higher, on leaving in this state."""
        speed, step = np.maximum(leg.moment(state).speed_m_s, 0.0), self.steps[place + 1]
        peaks = np.zeros_like(speed)
        if step.change is not None:
            crossing = self.cross(step.change, state, speed)
            state, speed = crossing.state, crossing.speed_m_s
            if crossing.leg is not None:
                peaks = np.abs(crossing.leg.arrived.current_a).max(axis=0)
        arriving: FloatArray = np.abs(self.arrive(step, state, speed).arrived.current_a).max(axis=0)
        return np.maximum(peaks, arriving)


def _highest_within(over: Callable[[FloatArray], FloatArray], low: FloatArray, high: FloatArray) -> FloatArray:
    """The highest argument up to ``high`` at which a rising function is not above zero, to 0.1 mA of the function.

    Secants through the last two points, aimed a little inside, held within what is known to be too low and too high.
    ``low`` is a first guess.
    """
    last, last_over = high, over(high)
    at, at_over = low, over(low)
    best, too_high = np.where(at_over > 0.0, 0.0, low), np.where(at_over > 0.0, low, high)
    whole = last_over <= 0.0
    for _ in range(MOST_TRIES):
        done = whole | ((at_over <= 0.0) & (at_over >= -WITHIN_A)) | (too_high - best <= WITHIN_A)
        if np.all(done):
            break
        slope = (at_over - last_over) / np.where(at == last, 1.0, at - last)
        aimed = at - (at_over + 0.5 * WITHIN_A) / np.where(slope > 0.0, slope, 1.0)
        safe = (slope > 0.0) & (aimed > best) & (aimed < too_high)
        trial = np.where(done, at, np.where(safe, aimed, 0.5 * (best + too_high)))
        last, last_over = at, at_over
        at, at_over = trial, over(trial)
        best, too_high = np.where(at_over > 0.0, best, at), np.where(at_over > 0.0, at, too_high)
    return np.where(whole, high, best)
