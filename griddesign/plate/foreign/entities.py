"""Entities of a drawing as lines, arcs, circles and curves, in the drawing's own unit.

Geometry by group codes of the open DXF reference, R12 to R2018, chapter "ENTITIES".
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import cos, hypot, radians, sin, tau

from griddesign.errors import GeometryError
from griddesign.plate.foreign.curves import Curve, ellipse, on_circle, spline, whole_turn
from griddesign.plate.foreign.document import Entity, Triple
from griddesign.plate.foreign.opening import place
from griddesign.plate.foreign.placement import Placement, seen_along
from griddesign.plate.outline import Arc, Circle, Line, Point, Segment

Shape = Segment | Circle | Curve

_WHOLE = 1e-9  # of a turn: below it two angles are the same
_STRAIGHT_BULGE = 1e-12
_CLOSED, _CURVE_FIT, _SPACE, _MESHES, _FRAME = 1, 2, 8, 16 | 64, 16  # flags (group 70) of polylines and their vertices


@dataclass(frozen=True, slots=True)
class Drawn:
    """Shapes of one entity, the heights z of its points, and how wide its line is drawn (0 but for polylines)."""

    shapes: tuple[Shape, ...]
    heights: tuple[float, ...]
    width: float = 0.0


def drawn(entity: Entity, placement: Placement) -> Drawn:
    """An entity of one of ``CUT_KINDS``, placed. Raises GeometryError where its figures draw nothing."""
    return _DRAWERS[entity.kind](entity, placement)


def _line(entity: Entity, placement: Placement) -> Drawn:
    ends = (entity.point(10), entity.point(11))
    return Drawn((Line(*(placement.at(_flat(end)) for end in ends)),), _heights(ends, placement))


def _circle(entity: Entity, placement: Placement) -> Drawn:
    own = placement.of(seen_along(entity))
    centre = entity.point(10)
    return Drawn((_round(_flat(centre), _radius(entity), own),), _heights([centre], own))


def _arc(entity: Entity, placement: Placement) -> Drawn:
    own = placement.of(seen_along(entity))
    centre, radius = entity.point(10), _radius(entity)
    start, end = radians(entity.number(50)), radians(entity.number(51))
    heights = _heights([centre], own)
    if abs(end - start) < _WHOLE:
        raise GeometryError(
            f"{place(entity.line)}ARC from and to the same angle is either nothing or a whole circle",
            hint="Draw a circle, or delete it.",
        )
    if abs(abs(end - start) - tau) < _WHOLE:
        return Drawn((_round(_flat(centre), radius, own),), heights)
    ends = [on_circle(_flat(centre), radius, angle) for angle in (start, end)]
    return Drawn((_placed(Arc(ends[0], ends[1], _flat(centre), True), own),), heights)


def _ellipse(entity: Entity, placement: Placement) -> Drawn:
    centre, (x, y, rise), ratio = entity.point(10), entity.point(11), entity.number(40)
    start, end = entity.number(41, 0.0), entity.number(42, tau)
    seen = seen_along(entity)  # its points are the world's; only the sense of its turn is the plane's
    if not ratio or not hypot(x, y):
        raise GeometryError(f"{place(entity.line)}ELLIPSE without width or length (ratio {ratio:.4g})")
    u = placement.along((x, y))
    v = placement.along((-ratio * y * seen.zz, ratio * x * seen.zz))
    heights = (*_heights([centre], placement), placement.height(centre[2] + rise))
    shape = _turned(placement.at(_flat(centre)), u, v, start, whole_turn(start, end))
    return Drawn((shape,), heights)


def _spline(entity: Entity, placement: Placement) -> Drawn:
    poles = entity.points(10)
    if not poles:
        raise GeometryError(
            f"{place(entity.line)}SPLINE gives only points to pass through, and each program draws another curve",
            hint="Save it with control points, or turn it into arcs in the drawing program.",
        )
    knots, weights = ([value for _, value in entity.numbers(code)] for code in (40, 41))
    curve = spline(entity.whole(71, 3), knots, [placement.at(_flat(pole)) for pole in poles], weights)
    return Drawn((curve,), _heights(poles, placement))


def _light_polyline(entity: Entity, placement: Placement) -> Drawn:
    own = placement.of(seen_along(entity))
    vertices: list[tuple[float, float, float]] = []  # x, y, bulge
    width = abs(entity.number(43, 0.0))
    for code, value in entity.numbers(10, 20, 40, 41, 42):
        if code == 10:
            vertices.append((value, 0.0, 0.0))
        elif code == 20 and vertices:
            vertices[-1] = (vertices[-1][0], value, 0.0)
        elif code == 42 and vertices:
            vertices[-1] = (*vertices[-1][:2], value)
        else:
            width = max(width, abs(value))
    closed = bool(entity.whole(70, 0) & _CLOSED)
    return Drawn(tuple(_run(vertices, closed, own)), (own.height(entity.number(38, 0.0)),), width * own.scale)


def _old_polyline(entity: Entity, placement: Placement) -> Drawn:
    flags = entity.whole(70, 0)
    if flags & _MESHES:
        raise GeometryError(f"{place(entity.line)}POLYLINE is a mesh, not a line", hint="Draw the outline as lines.")
    own = placement if flags & _SPACE else placement.of(seen_along(entity))
    parts = [part for part in entity.parts if part.kind == "VERTEX" and not part.whole(70, 0) & _FRAME]
    level = 0.0 if flags & _SPACE else entity.number(30, 0.0)
    points = [part.point(10) for part in parts]
    vertices = [(p[0], p[1], part.number(42, 0.0)) for p, part in zip(points, parts, strict=True)]
    heights = [p[2] for p in points] if flags & _SPACE else [level]
    width = max((abs(w) for part in [entity, *parts] for _, w in part.numbers(40, 41)), default=0.0)
    shapes = tuple(_run(vertices, bool(flags & _CLOSED), own))
    return Drawn(shapes, tuple(own.height(z) for z in heights), width * own.scale)


def _run(vertices: list[tuple[float, float, float]], closed: bool, placement: Placement) -> Iterator[Shape]:
    """Lines and arcs from vertex to vertex; a vertex carries the bulge of the piece it begins."""
    following = [*vertices[1:], *vertices[:1]] if closed else vertices[1:]
    for (x, y, bulge), (to_x, to_y, _) in zip(vertices, following, strict=False):
        if (x, y) != (to_x, to_y):
            yield _placed(bulged((x, y), (to_x, to_y), bulge), placement)


def bulged(start: Point, end: Point, bulge: float) -> Segment:
    """The piece between two vertices: an arc that turns by ``4 atan(bulge)``, left if above zero; a line at zero.

    The centre stands ``(1 - b^2)/(4 b)`` chords to the left of the chord's middle.
    """
    if abs(bulge) < _STRAIGHT_BULGE:
        return Line(start, end)
    aside = (1 - bulge * bulge) / (4 * bulge)
    dx, dy = end[0] - start[0], end[1] - start[1]
    centre = ((start[0] + end[0]) / 2 - aside * dy, (start[1] + end[1]) / 2 + aside * dx)
    return Arc(start, end, centre, bulge > 0)


def _placed(segment: Segment, placement: Placement) -> Shape:
    if isinstance(segment, Line):
        return Line(placement.at(segment.start), placement.at(segment.end))
    centre = placement.at(segment.centre)
    if placement.keeps_circles:
        return Arc(placement.at(segment.start), placement.at(segment.end), centre, segment.ccw != placement.mirrors)
    radius, turn = segment.radius_m, segment.turn_rad
    start = segment.start_rad
    u, v = placement.along((radius, 0.0)), placement.along((0.0, radius))
    return _turned(centre, u, v, min(start, start + turn), max(start, start + turn))


def _round(centre: Point, radius: float, placement: Placement) -> Shape:
    if placement.keeps_circles:
        return Circle(placement.at(centre), radius * placement.scale)
    return _turned(placement.at(centre), placement.along((radius, 0.0)), placement.along((0.0, radius)), 0.0, tau)


def _turned(centre: Point, u: Point, v: Point, start: float, end: float) -> Shape:
    """``centre + u cos t + v sin t``: a circle or arc where u and v are alike and square, else a curve."""
    size = max(hypot(*u), hypot(*v))
    if abs(hypot(*u) - hypot(*v)) > _WHOLE * size or abs(u[0] * v[0] + u[1] * v[1]) > _WHOLE * size**2:
        return ellipse(centre, u, v, start, end)
    if end - start > tau - _WHOLE:
        return Circle(centre, hypot(*u))
    ends = [
        (centre[0] + u[0] * cos(t) + v[0] * sin(t), centre[1] + u[1] * cos(t) + v[1] * sin(t)) for t in (start, end)
    ]
    return Arc(ends[0], ends[1], centre, u[0] * v[1] > u[1] * v[0])


def _radius(entity: Entity) -> float:
    radius = entity.number(40)
    if radius <= 0:
        raise GeometryError(f"{place(entity.line)}{entity.kind} has a radius of {radius:.6g}", hint="Delete it.")
    return radius


def _flat(point: Triple) -> Point:
    return point[:2]


def _heights(points: "list[Triple] | tuple[Triple, ...]", placement: Placement) -> tuple[float, ...]:
    return tuple(placement.height(point[2]) for point in points)


_DRAWERS: dict[str, Callable[[Entity, Placement], Drawn]] = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _arc,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _light_polyline,
    "POLYLINE": _old_polyline,
}
CUT_KINDS = frozenset(_DRAWERS)
