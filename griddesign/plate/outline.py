"""The outline of a plate in true lines and arcs, and exact figures of it. Metres; y up.

The outer loop runs counter-clockwise and loops of holes clockwise, so the metal always lies to the left. Arcs stay
arcs: area, perimeter and bounding box are exact; only ``polygon`` leaves the true curve, and says on which side.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from math import acos, atan2, ceil, cos, dist, hypot, isfinite, pi, sin, sqrt, tau
from typing import TYPE_CHECKING, Literal

from griddesign.errors import GeometryError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Ring = NDArray[np.float64]

Point = tuple[float, float]
Box = tuple[float, float, float, float]
Move = Callable[[Point], Point]
Side = Literal["mid", "inner", "outer"]

_CLOSED = 1e-9  # of the loop's size: how far two segments may miss each other
_LARGEST_TURN_RAD = pi / 4  # of one chord, however coarse the sagitta asked for


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece of outline."""

    start: Point
    end: Point

    @property
    def length_m(self) -> float:
        """Length."""
        return dist(self.start, self.end)

    @property
    def moment_m2(self) -> float:
        """Its share of the loop's area: half the cross product of its ends."""
        return _cross(self.start, self.end) / 2

    def extremes(self) -> tuple[Point, ...]:
        """Points that span its bounding box."""
        return (self.start, self.end)

    def points(self, sagitta_m: float, side: Side) -> list[Point]:
        """The start: a straight line needs no more. ``sagitta_m`` and ``side`` matter to arcs only."""
        del sagitta_m, side
        return [self.start]


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of circle from ``start`` to ``end`` about ``centre``; counter-clockwise if ``ccw``. Never a full
    circle."""

    start: Point
    end: Point
    centre: Point
    ccw: bool

    @property
    def radius_m(self) -> float:
        """Radius."""
        return dist(self.start, self.centre)

    @property
    def start_rad(self) -> float:
        """Direction from the centre to the start, radians anticlockwise from x, -pi to pi."""
        return atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])

    @property
    def turn_rad(self) -> float:
        """Signed angle swept, radians, counter-clockwise positive, between 0 and a full turn in size."""
        end_rad = atan2(self.end[1] - self.centre[1], self.end[0] - self.centre[0])
        turn = (end_rad - self.start_rad) % tau
        return turn if self.ccw else turn - tau

    @property
    def length_m(self) -> float:
        """Length along the arc."""
        return self.radius_m * abs(self.turn_rad)

    @property
    def moment_m2(self) -> float:
        """Its share of the loop's area: chord and circular segment, ``r^2 (turn - sin turn)/2``."""
        turn = self.turn_rad
        return _cross(self.start, self.end) / 2 + self.radius_m**2 * (turn - sin(turn)) / 2

    def at(self, share: float, radius_m: float | None = None) -> Point:
        """The point a ``share`` of the sweep along, on the arc or on another radius."""
        radius = self.radius_m if radius_m is None else radius_m
        angle = self.start_rad + share * self.turn_rad
        return (self.centre[0] + radius * cos(angle), self.centre[1] + radius * sin(angle))

    def extremes(self) -> tuple[Point, ...]:
        """Its ends and every topmost, lowest, leftmost or rightmost point it passes."""
        low, high = sorted((self.start_rad, self.start_rad + self.turn_rad))
        quarters = range(ceil(low / (pi / 2)), int(high // (pi / 2)) + 1)
        axes = ((1, 0), (0, 1), (-1, 0), (0, -1))
        r, (x, y) = self.radius_m, self.centre
        return (self.start, self.end, *((x + r * axes[q % 4][0], y + r * axes[q % 4][1]) for q in quarters))

    def points(self, sagitta_m: float, side: Side) -> list[Point]:
        """Start and further points of the arc as straight pieces, its end left to the next segment.

        ``inner`` stays on the metal's side of the arc, ``outer`` on the other, ``mid`` has the arc's own area.
        """
        count = chords(self.radius_m, abs(self.turn_rad), sagitta_m)
        if side == "mid":
            count = max(count, 2)
            radius = _radius_of_equal_area(self.radius_m, abs(self.turn_rad), count)
            return [self.start, *(self.at(k / count, radius) for k in range(1, count))]
        metal_inside = self.ccw
        if metal_inside == (side == "inner"):
            return [self.start, *(self.at(k / count) for k in range(1, count))]
        radius = self.radius_m / cos(self.turn_rad / count / 2)
        return [self.start, *(self.at((k + 0.5) / count, radius) for k in range(count))]


Segment = Line | Arc


@dataclass(frozen=True, slots=True)
class Circle:
    """A round hole."""

    centre: Point
    radius_m: float

    @property
    def area_m2(self) -> float:
        """Area of the hole, positive."""
        return pi * self.radius_m**2

    @property
    def perimeter_m(self) -> float:
        """Length of the rim."""
        return tau * self.radius_m

    def ring(self, sagitta_m: float, side: Side) -> list[Point]:
        """The hole as a clockwise polygon. ``outer`` (metal enclosed) makes the hole smaller, ``inner`` larger,
        ``mid`` keeps its area."""
        count = max(8, chords(self.radius_m, tau, sagitta_m))
        turn = tau / count
        radius = self.radius_m * {"inner": 1 / cos(turn / 2), "outer": 1.0, "mid": sqrt(turn / sin(turn))}[side]
        x, y = self.centre
        return [(x + radius * cos(k * turn), y - radius * sin(k * turn)) for k in range(count)]


@dataclass(frozen=True)
class Loop:
    """Segments end to end, closed. Raises GeometryError where two of them do not meet."""

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        size = max((hypot(*segment.start) for segment in self.segments), default=0.0)
        for here, then in zip(self.segments, (*self.segments[1:], *self.segments[:1]), strict=True):
            if not dist(here.end, then.start) <= _CLOSED * size:
                raise GeometryError(
                    f"the outline is open: a segment ends at {_at(here.end)} and the next begins at {_at(then.start)}",
                    hint="Close the gap in the outline.",
                )

    @cached_property
    def signed_area_m2(self) -> float:
        """Area, positive if counter-clockwise."""
        return sum(segment.moment_m2 for segment in self.segments)

    @property
    def area_m2(self) -> float:
        """Area enclosed, positive."""
        return abs(self.signed_area_m2)

    @property
    def perimeter_m(self) -> float:
        """Length all round."""
        return sum(segment.length_m for segment in self.segments)

    @property
    def bounding_box_m(self) -> Box:
        """(least x, least y, greatest x, greatest y)."""
        return _box(point for segment in self.segments for point in segment.extremes())

    def ring(self, sagitta_m: float, side: Side) -> list[Point]:
        """The loop as a polygon in its own direction, the first point not repeated."""
        return [point for segment in self.segments for point in segment.points(sagitta_m, side)]

    def reversed(self) -> "Loop":
        """The same loop run the other way."""
        return Loop(tuple(_turned_back(segment) for segment in reversed(self.segments)))


Hole = Circle | Loop


@dataclass(frozen=True, slots=True)
class Mark:
    """A named point of the plate, for drawings: the centre of an eye."""

    name: str
    at: Point


@dataclass(frozen=True, slots=True)
class Outline:
    """A plate: outer loop (counter-clockwise), holes, which holes are the terminals, named points.

    Raises GeometryError where the outer loop is not counter-clockwise, a loop of a hole is not clockwise, a number
    is not finite or a terminal is not among the holes. Crossing lines are found by ``faults``.
    """

    outer: Loop
    holes: tuple[Hole, ...] = ()
    terminals: tuple[int, ...] = ()
    marks: tuple[Mark, ...] = ()

    def __post_init__(self) -> None:
        if not isfinite(self.outer.signed_area_m2) or self.outer.signed_area_m2 <= 0:
            raise GeometryError("the outer line of a plate must run counter-clockwise round some area")
        if any(isinstance(hole, Loop) and not hole.signed_area_m2 < 0 for hole in self.holes):
            raise GeometryError("the line of a hole must run clockwise")
        if any(isinstance(hole, Circle) and not 0 < hole.radius_m < float("inf") for hole in self.holes):
            raise GeometryError("a round hole needs a radius above zero")
        if any(not 0 <= index < len(self.holes) for index in self.terminals):
            raise GeometryError(f"terminal holes {self.terminals} are not among the {len(self.holes)} holes")

    @property
    def area_m2(self) -> float:
        """Area of one face of metal."""
        return self.outer.area_m2 - sum(hole.area_m2 for hole in self.holes)

    @property
    def perimeter_m(self) -> float:
        """Length of every cut: outer line and holes."""
        return self.outer.perimeter_m + sum(hole.perimeter_m for hole in self.holes)

    @property
    def bounding_box_m(self) -> Box:
        """(least x, least y, greatest x, greatest y)."""
        return self.outer.bounding_box_m

    def translated(self, x_m: float, y_m: float) -> "Outline":
        """The outline shifted."""
        return self._moved(lambda p: (p[0] + x_m, p[1] + y_m))

    def scaled(self, factor: float) -> "Outline":
        """The outline enlarged about the origin by a factor above zero."""
        if not 0 < factor < float("inf"):
            raise GeometryError(f"an outline cannot be scaled by {factor:.6g}", hint="Give a factor above zero.")
        return self._moved(lambda p: (factor * p[0], factor * p[1]), factor)

    def turned(self, quarters: int) -> "Outline":
        """The outline turned about the origin by quarters of a turn, counter-clockwise."""
        x, y = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters % 4]
        return self._moved(lambda p: (x * p[0] - y * p[1], y * p[0] + x * p[1])) if quarters % 4 else self

    def mirrored(self) -> "Outline":
        """The outline seen from the other face: x turned to -x."""
        return self._moved(lambda p: (-p[0], p[1]), flip=True)

    def polygon(self, sagitta_m: float, side: Side = "mid") -> "list[Ring]":
        """Rings of straight pieces within ``sagitta_m`` of the true curve: the outer one first, then the holes in
        order, each an (n, 2) array in the loop's own direction, the first point not repeated.

        ``mid`` keeps every arc's area. ``inner`` lies inside the metal and ``outer`` encloses it, except that the
        rims of the terminals go the other way: ``inner`` then conducts no better than the true plate and ``outer``
        no worse, so that the two bracket the resistance from above and from below. Raises GeometryError unless 0 <
        sagitta_m < inf.
        """
        import numpy as np

        if not 0 < sagitta_m < float("inf"):
            raise GeometryError(f"a sagitta of {sagitta_m:.6g} m draws no polygon", hint="Give a length above zero.")
        other: dict[Side, Side] = {"inner": "outer", "outer": "inner", "mid": "mid"}
        sides = [other[side] if k in self.terminals else side for k in range(len(self.holes))]
        rings = [self.outer.ring(sagitta_m, side)]
        rings += [hole.ring(sagitta_m, s) for hole, s in zip(self.holes, sides, strict=True)]
        return [np.array(ring, dtype=np.float64) for ring in rings]

    def _moved(self, move: Move, factor: float = 1.0, flip: bool = False) -> "Outline":
        return Outline(
            _moved_loop(self.outer, move, flip),
            tuple(_moved_hole(hole, move, factor, flip) for hole in self.holes),
            self.terminals,
            tuple(Mark(mark.name, move(mark.at)) for mark in self.marks),
        )


def chords(radius_m: float, turn_rad: float, sagitta_m: float) -> int:
    """How many equal chords keep within ``sagitta_m`` of an arc: each turns at most ``2 acos(1 - s/r)``, and pi/4."""
    widest = 2 * acos(1 - sagitta_m / radius_m) if sagitta_m < radius_m else pi
    return max(1, ceil(turn_rad / min(widest, _LARGEST_TURN_RAD) - _CLOSED))


def faults(outline: Outline, sagitta_m: float | None = None) -> tuple[str, ...]:
    """What is wrong with an outline as a plate: lines that cross or touch, holes that leave the metal or meet each
    other.

    Checked on the polygon inside the metal, by default within 1/20000 of its size: what overlaps less is not seen, and
    two arcs that just clear each other are no fault.
    """
    from shapely import Polygon
    from shapely.validation import explain_validity

    left, low, right, high = outline.bounding_box_m
    rings = outline.polygon(sagitta_m or max(right - left, high - low) / 20000, "inner")
    body = Polygon(rings[0])
    if not body.is_valid:
        return (f"the outer line crosses itself: {explain_validity(body)}",)
    outside = [
        f"hole {k} is not inside the metal" for k, ring in enumerate(rings[1:]) if not body.contains(Polygon(ring))
    ]
    whole = Polygon(rings[0], rings[1:])
    return tuple(outside) or (() if whole.is_valid else (f"holes meet: {explain_validity(whole)}",))


def _radius_of_equal_area(radius_m: float, turn_rad: float, count: int) -> float:
    """Radius of the inner points of an open polyline whose ends stay on the arc and whose sector has the arc's area.

    Two end triangles ``r p sin d / 2`` and ``count - 2`` triangles ``p^2 sin d / 2`` make ``r^2 turn / 2``.
    """
    ratio, n = turn_rad / sin(turn_rad / count), count - 2
    return radius_m * (ratio / 2 if n == 0 else (sqrt(1 + n * ratio) - 1) / n)


def _cross(a: Point, b: Point) -> float:
    return a[0] * b[1] - a[1] * b[0]


def _at(point: Point) -> str:
    return f"({1000 * point[0]:.4g}, {1000 * point[1]:.4g}) mm"


def _box(points: Iterator[Point]) -> Box:
    xs, ys = zip(*points, strict=True)
    return (min(xs), min(ys), max(xs), max(ys))


def _turned_back(segment: Segment) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.end, segment.start)
    return Arc(segment.end, segment.start, segment.centre, not segment.ccw)


def _moved_loop(loop: Loop, move: Move, flip: bool) -> Loop:
    moved = Loop(tuple(_moved_segment(segment, move, flip) for segment in loop.segments))
    return moved.reversed() if flip else moved


def _moved_segment(segment: Segment, move: Move, flip: bool) -> Segment:
    if isinstance(segment, Line):
        return Line(move(segment.start), move(segment.end))
    return Arc(move(segment.start), move(segment.end), move(segment.centre), segment.ccw != flip)


def _moved_hole(hole: Hole, move: Move, factor: float, flip: bool) -> Hole:
    if isinstance(hole, Circle):
        return Circle(move(hole.centre), factor * hole.radius_m)
    return _moved_loop(hole, move, flip)
