"""Steps of a fourth-order Runge-Kutta rule: along the current down to the valley, or along the clock.

On a notch that is left by current, the current itself is what is stepped along, from the peak to the valley: time, way,
heat and joules come out as sums over it, and the valley is met exactly without a search. Steps end at the points of the
motor curve, where one cubic gives way to the next. Every case has its own length of step.
"""

from collections.abc import Callable

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.runup.flow import LEAD, STUCK, Rate
from griddesign.traction.runup.table import CurveTable

Seen = Callable[[FloatArray], None]


def by_current(
    rate: Rate, state: FloatArray, to_a: FloatArray, curve: CurveTable, steps: int, seen: Seen | None = None
) -> FloatArray:
    """The state when the current of every case has fallen to ``to_a`` (M,); cases already there stay as they are.

    A case whose current does not fall on the way (the pull comes down to the resistance first) is marked ``STUCK``.
    """
    for begin_a, end_a in _panels(state[LEAD], to_a, curve):
        for step in range(steps):
            width = (end_a - begin_a) / steps
            state = _rk4(lambda now, width=width: _along_current(rate(now), width), state)  # type: ignore[misc]
            state[LEAD] = begin_a + (step + 1) * width
            if seen is not None:
                seen(state)
    return state


def by_clock(rate: Rate, state: FloatArray, seconds: FloatArray, steps: int, seen: Seen | None = None) -> FloatArray:
    """The state ``seconds`` (M,) later, each case in so many steps of its own length."""
    width = seconds / steps
    for _ in range(steps):
        state = _rk4(lambda now: rate(now) * width, state)
        if seen is not None:
            seen(state)
    return state


def _panels(from_a: FloatArray, to_a: FloatArray, curve: CurveTable) -> list[tuple[FloatArray, FloatArray]]:
    """Stretches of current between the points of the curve, from the highest down; some have no length in a case."""
    low, high = np.minimum(from_a, to_a), from_a
    inside = [knot for knot in curve.knots_a[::-1] if np.any((low < knot) & (knot < high))]
    edges = [high, *(np.clip(knot, low, high) for knot in inside), np.where(to_a < from_a, to_a, from_a)]
    return list(zip(edges[:-1], edges[1:], strict=True))


def _along_current(change: FloatArray, width: FloatArray) -> FloatArray:
    """Rates per second made into rates per step; none for cases that stay, or whose current would not fall."""
    falls = change[LEAD] < 0.0
    pace = np.where(falls, width / np.where(falls, change[LEAD], -1.0), 0.0)
    change = change * pace
    change[STUCK] = np.where(falls | (width == 0.0), 0.0, 1.0)
    return change


def _rk4(rate: Rate, state: FloatArray) -> FloatArray:
    first = rate(state)
    second = rate(state + 0.5 * first)
    third = rate(state + 0.5 * second)
    fourth = rate(state + third)
    return state + (first + 2.0 * (second + third) + fourth) / 6.0
