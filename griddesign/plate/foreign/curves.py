"""Ellipses and splines as arcs: pairs of arcs with common tangents, halved until they keep within a tolerance.

Of the pair between two points with given tangents, the one whose arms are equally long is taken (K. M. Bolton, "Biarc
curves", Computer-Aided Design 7, 1975, 89-92, from memory: the freedom is one parameter; equal arms is the usual
choice). The deviation is measured at 8 places of every piece, and at 4 of every stretch between knots.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, cos, dist, hypot, pi, sin, sqrt, tau
from typing import TYPE_CHECKING

from griddesign.errors import GeometryError
from griddesign.plate.outline import Arc, Line, Point, Segment

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

MOST_PIECES = 5_000  # of one curve
HIGHEST_DEGREE = 25  # the highest that drawing programs write; each degree costs as much again
_ASIDE = 1e-6  # of a piece: how far inside its ends tangents are taken, clear of corners
_STILL = 1e-3  # a slope this much smaller at an end than just inside: there the curve stands still
_PLACES_OF_ONE, _PLACES_OF_MANY = 8, 4
_FLAT = 1e-9  # rise of an arc over its chord, below which it is drawn straight


@dataclass(frozen=True, slots=True)
class Stretch:
    """A smooth curve: ``at(parameters)`` gives points and derivatives, (n, 2) each; ``breaks``: its ends and knots."""

    breaks: tuple[float, ...]
    at: "Callable[[Floats], tuple[Floats, Floats]]"


@dataclass(frozen=True, slots=True)
class Curve:
    """Stretches end to end; corners may lie between them."""

    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Fitted:
    """Lines and arcs in place of a curve, and the largest distance found between the two."""

    segments: tuple[Segment, ...]
    deviation: float


def ellipse(centre: Point, u: Point, v: Point, start: float, end: float) -> Curve:
    """``centre + u cos t + v sin t`` from ``start`` to ``end`` (radians, end above start), u and v at any angle."""
    import numpy as np

    def at(t: "Floats") -> "tuple[Floats, Floats]":
        c, s = np.cos(t)[:, None], np.sin(t)[:, None]
        along, across = np.array(u), np.array(v)
        return np.array(centre) + c * along + s * across, c * across - s * along

    count = max(1, ceil((end - start) / (pi / 4) - 1e-9))
    return Curve((Stretch(tuple(start + (end - start) * k / count for k in range(count + 1)), at),))


def spline(degree: int, knots: Sequence[float], poles: Sequence[Point], weights: Sequence[float] = ()) -> Curve:
    """A B-spline, rational if it has weights, over the part of its knots where it is defined.

    Raises GeometryError where the numbers of knots, poles and weights do not agree, or knots run backwards.
    """
    import numpy as np
    from scipy.interpolate import BSpline

    _check_spline(degree, knots, poles, weights)
    w = np.array(weights or [1.0] * len(poles))[:, None]
    whole = BSpline(np.array(knots), np.hstack([np.array(poles) * w, w]), degree)

    def at(t: "Floats") -> "tuple[Floats, Floats]":
        value, rate = whole(t), whole(t, 1)
        points = value[:, :2] / value[:, 2:]
        return points, (rate[:, :2] - rate[:, 2:] * points) / value[:, 2:]

    return Curve(tuple(Stretch(breaks, at) for breaks in _smooth_runs(degree, knots)))


def _check_spline(degree: int, knots: Sequence[float], poles: Sequence[Point], weights: Sequence[float]) -> None:
    fits = 1 <= degree <= HIGHEST_DEGREE and len(poles) > degree and len(knots) == len(poles) + degree + 1
    if not fits or (weights and len(weights) != len(poles)):
        raise GeometryError(
            f"a spline of degree {degree} with {len(poles)} control points, {len(knots)} knots, {len(weights)} weights"
            " is no curve",
            hint="Export it again, or turn it into arcs in the drawing program.",
        )
    if any(after < before for before, after in pairwise(knots)):
        raise GeometryError("the knots of a spline run backwards", hint="Export it again.")
    inner = Counter(knot for knot in knots if knots[degree] < knot < knots[len(poles)])
    if max(inner.values(), default=0) > degree:
        raise GeometryError(f"a spline of degree {degree} jumps where a knot comes more often", hint="Export it again.")
    if not knots[degree] < knots[len(poles)] or any(w <= 0 for w in weights):
        raise GeometryError(
            "a spline has no length of knots or a weight that is not above zero", hint="Export it again."
        )


def _smooth_runs(degree: int, knots: Sequence[float]) -> list[tuple[float, ...]]:
    """Distinct knots from end to end, parted at those that come ``degree`` times or more: there the curve may turn."""
    low, high = knots[degree], knots[len(knots) - degree - 1]
    times = Counter(knots)
    distinct = sorted({knot for knot in knots if low <= knot <= high})
    runs: list[tuple[float, ...]] = []
    run = [distinct[0]]
    for knot in distinct[1:]:
        run.append(knot)
        if knot == high or times[knot] >= degree:
            runs.append(tuple(run))
            run = [knot]
    return runs


def fitted(curve: Curve, tolerance: float) -> Fitted:
    """Lines and arcs within ``tolerance`` of the curve, in its own unit of length.

    Raises GeometryError where more than 5000 pieces would be needed.
    """
    pieces = [piece for stretch in curve.stretches for piece in _fit_stretch(stretch, tolerance)]
    segments = tuple(segment for piece in pieces for segment in piece.segments)
    return Fitted(segments, max(piece.deviation for piece in pieces))


def _fit_stretch(stretch: Stretch, tolerance: float) -> list[Fitted]:
    done: list[Fitted] = []
    waiting = [stretch.breaks]
    while waiting:
        breaks = waiting.pop()
        piece = _one_pair(stretch, breaks, tolerance)
        if piece is not None:
            done.append(piece)
        else:
            waiting += reversed(_halves(breaks))
        if len(done) + len(waiting) > MOST_PIECES:
            raise GeometryError(
                f"a curve needs more than {MOST_PIECES} arcs", hint="Simplify it, or allow a larger tolerance."
            )
    return done


def _halves(breaks: tuple[float, ...]) -> list[tuple[float, ...]]:
    if len(breaks) > 2:
        middle = len(breaks) // 2
        return [breaks[: middle + 1], breaks[middle:]]
    centre = (breaks[0] + breaks[1]) / 2
    return [(breaks[0], centre), (centre, breaks[1])]


def _one_pair(stretch: Stretch, breaks: tuple[float, ...], tolerance: float) -> Fitted | None:
    """The pair of arcs over the breaks, or nothing where it leaves the tolerance or turns a quarter or more."""
    import numpy as np

    places = _PLACES_OF_ONE if len(breaks) == 2 else _PLACES_OF_MANY
    inner = np.concatenate(
        [np.linspace(a, b, places + 2)[1 if k == 0 else 0 : -1] for k, (a, b) in enumerate(pairwise(breaks))]
    )
    points, _ = stretch.at(np.array([breaks[0], breaks[-1]]))
    samples, _ = stretch.at(inner)
    start, end = (_point(p) for p in points)
    spread = float(np.hypot(*(samples - points[0]).T).max())
    if max(spread, dist(start, end)) <= tolerance / 2:  # also where the curve stands still or turns on the spot
        return Fitted((Line(start, end),), spread)
    leaving, arriving = _tangents(stretch, breaks[0], breaks[-1])
    if leaving is None or arriving is None or _dot(leaving, arriving) <= 0:
        return None
    segments = biarc(start, leaving, end, arriving)
    if segments is None:
        return None
    deviation = max(_off(samples, segments), 0.0)
    return Fitted(segments, deviation) if deviation <= tolerance else None


def _tangents(stretch: Stretch, low: float, high: float) -> tuple[Point | None, Point | None]:
    """Unit tangents at both ends, each carried on from two places just inside."""
    import numpy as np

    h = _ASIDE * (high - low)
    _, (at_h, at_2h, back_h, back_2h) = stretch.at(np.array([low + h, low + 2 * h, high - h, high - 2 * h]))
    return _unit(_carried_on(at_h, at_2h)), _unit(_carried_on(back_h, back_2h))


def _carried_on(near: "Floats", further: "Floats") -> Point:
    slope = 2 * near - further
    return _point(slope if _size(slope) > _STILL * _size(near) else near)


def _size(vector: "Floats") -> float:
    return hypot(float(vector[0]), float(vector[1]))


def biarc(start: Point, leaving: Point, end: Point, arriving: Point) -> tuple[Segment, ...] | None:
    """Two arcs from ``start`` to ``end`` with the given unit tangents there and a common one where they meet.

    Arms d of equal length meet the chord v where ``2 d^2 (1 - a.b) + 2 d v.(a + b) = v.v``. Nothing where no d above 0
    does.
    """
    v = (end[0] - start[0], end[1] - start[1])
    along = _dot(v, leaving) + _dot(v, arriving)
    turning = 2 * (1 - _dot(leaving, arriving))
    root = sqrt(along**2 + turning * _dot(v, v))
    if along + root <= 0:
        return None
    arm = _dot(v, v) / (along + root)
    joint = tuple((p + q + arm * (a - b)) / 2 for p, q, a, b in zip(start, end, leaving, arriving, strict=True))
    meeting = (joint[0], joint[1])
    back = (-arriving[0], -arriving[1])
    second = arc_leaving(end, back, meeting)
    turned = Line(meeting, end) if isinstance(second, Line) else Arc(meeting, end, second.centre, not second.ccw)
    first = arc_leaving(start, leaving, meeting)
    if isinstance(first, Line) and isinstance(turned, Line):
        return (Line(start, end),)
    return (first, turned)


def arc_leaving(start: Point, direction: Point, end: Point) -> Segment:
    """The arc that leaves ``start`` in a (unit) direction and comes to ``end``: radius ``|w|^2 / 2 n.w`` ."""
    w = (end[0] - start[0], end[1] - start[1])
    rise = direction[0] * w[1] - direction[1] * w[0]
    if abs(rise) <= _FLAT * hypot(*w):
        return Line(start, end)
    radius = _dot(w, w) / (2 * rise)
    return Arc(start, end, (start[0] - radius * direction[1], start[1] + radius * direction[0]), radius > 0)


def _off(samples: "Floats", segments: tuple[Segment, ...]) -> float:
    """Largest distance of points of the curve from the pair of arcs; the joint's chord parts which belong to which."""
    import numpy as np

    if len(segments) == 1:
        return float(_distances(samples, segments[0]).max())
    joint = np.array(segments[0].end)
    chord = np.array(segments[1].end) - np.array(segments[0].start)
    before = (samples - joint) @ chord <= 0
    far = [
        _distances(part, segment) for part, segment in zip((samples[before], samples[~before]), segments, strict=True)
    ]
    return float(np.concatenate(far).max())


def _distances(points: "Floats", segment: Segment) -> "Floats":
    import numpy as np

    if isinstance(segment, Arc):
        round_off: Floats = np.abs(np.hypot(*(points - np.array(segment.centre)).T) - segment.radius_m)
        return round_off
    (x, y), length = segment.start, dist(segment.start, segment.end)
    dx, dy = (segment.end[0] - x) / length, (segment.end[1] - y) / length
    off: Floats = np.abs((points[:, 0] - x) * dy - (points[:, 1] - y) * dx)
    return off


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _point(pair: "Floats") -> Point:
    return (float(pair[0]), float(pair[1]))


def _unit(vector: Point) -> Point | None:
    length = hypot(*vector)
    return (vector[0] / length, vector[1] / length) if 1e-300 < length < float("inf") else None


def whole_turn(start: float, end: float) -> float:
    """End parameter (radians) brought above the start, by one turn where they coincide or run backwards."""
    end = start + (end - start) % tau
    return end if end - start > 1e-9 else end + tau


def on_circle(centre: Point, radius: float, angle: float) -> Point:
    """The point of a circle at an angle in radians."""
    return (centre[0] + radius * cos(angle), centre[1] + radius * sin(angle))
