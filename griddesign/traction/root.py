"""The root finders of the room: a rising function on a bracket, with and without its slope."""

from collections.abc import Callable
from math import inf

MAX_STEPS = 200
Point = tuple[float, float]


def rising_root(function: Callable[[float], float], low: float, high: float, tolerance: float = 1e-13) -> float:
    """The argument in ``[low, high]`` at which a rising function passes zero, to ``tolerance`` of the bracket's size.

    Inverse quadratic steps where they are safe, halving elsewhere (Chandrupatla, Advances in Engineering Software 28
    (1997) 145). The side where the function is not above zero is returned. Where it has one sign on the whole bracket
    the nearer end is returned: callers test the ends where that matters.
    """
    a, b = (high, function(high)), (low, function(low))
    if b[1] >= 0.0:
        return low
    if a[1] <= 0.0:
        return high
    least = tolerance * max(abs(low), abs(high))
    part = 0.5
    for _ in range(MAX_STEPS):
        at = a[0] + part * (b[0] - a[0])
        trial = (at, function(at))
        if (trial[1] > 0.0) == (a[1] > 0.0):
            c = a
        else:
            c, b = b, a
        a = trial
        if abs(b[0] - a[0]) <= least or a[1] == 0.0:
            break
        part = min(max(_inverse_quadratic(a, b, c), 0.5 * least / abs(b[0] - a[0])), 1.0)
    return a[0] if a[1] <= 0.0 else b[0]


def _inverse_quadratic(a: Point, b: Point, c: Point) -> float:
    """Where between a and b to look next, as a part of the way; half of it where the parabola cannot be trusted."""
    place, rise = (a[0] - b[0]) / (c[0] - b[0]), (a[1] - b[1]) / (c[1] - b[1])
    if not (rise * rise < place and (1.0 - rise) ** 2 < 1.0 - place):
        return 0.5
    first = a[1] / (b[1] - a[1]) * c[1] / (b[1] - c[1])
    return first + (c[0] - a[0]) / (b[0] - a[0]) * a[1] / (c[1] - a[1]) * b[1] / (c[1] - b[1])


def steep_root(
    function: Callable[[float], tuple[float, float]], low: float, high: float, at: float, tolerance: float = 1e-13
) -> float:
    """The same for a function that gives its slope too, from a guess: Newton's steps, halving where one would leave
    the bracket or is not half the step before it, else two points might answer each other for ever. To ``tolerance`` of
    the bracket's size, on either side.
    """
    least, before = tolerance * max(abs(low), abs(high)), high - low
    for _ in range(MAX_STEPS):
        value, slope = function(at)
        low, high = (low, at) if value > 0.0 else (at, high)
        following = at - value / slope if slope > 0.0 else inf
        if not low <= following <= high or abs(following - at) > 0.5 * before:
            following = 0.5 * (low + high)
        before = abs(following - at)
        if before <= least:
            return following
        at = following
    return at
