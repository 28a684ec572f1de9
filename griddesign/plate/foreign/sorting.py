"""Which closed line is the plate and which are its holes, and that none of them cross. Metres."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import dist, fsum, pi, sqrt, tau
from typing import TYPE_CHECKING

from griddesign.errors import GeometryError
from griddesign.plate.foreign.frame import Frame
from griddesign.plate.outline import Arc, Circle, Hole, Loop, Point, Segment

if TYPE_CHECKING:
    from shapely import Polygon

RING_SAGITTA = 0.1  # of the tolerance: how near the polygons used for sorting keep to the true lines
_SHOWN = 5
_PLACE = re.compile(r"\[(\S+) (\S+)\]")


@dataclass(frozen=True, slots=True)
class Sorted:
    """The outer loop, counter-clockwise, and the holes from left to right, each with its polygon."""

    outer: Loop
    holes: tuple[Hole, ...]
    body: "Polygon"
    hole_polygons: "tuple[Polygon, ...]"


def sorted_loops(loops: Sequence[tuple[Segment, ...] | Circle], tolerance_m: float, frame: Frame) -> Sorted:
    """The one plate in these closed lines.

    Raises GeometryError where a line crosses or nearly touches itself or another, encloses nothing, lies in a hole, or
    where there is more than one plate.
    """
    from shapely import Polygon

    shapes = [recognised(loop, tolerance_m) for loop in loops]
    polygons = [Polygon(_ring(shape, RING_SAGITTA * tolerance_m)) for shape in shapes]
    for shape, polygon in zip(shapes, polygons, strict=True):
        _check_alone(shape, polygon, tolerance_m, frame)
    _check_apart(polygons, tolerance_m, frame)
    outer, inner = _nested(polygons, frame)
    order = sorted(inner, key=lambda k: _left_to_right(polygons[k], tolerance_m))
    return Sorted(
        _as_outer(shapes[outer]),
        tuple(_as_hole(shapes[k]) for k in order),
        polygons[outer],
        tuple(polygons[k] for k in order),
    )


def recognised(loop: tuple[Segment, ...] | Circle, tolerance_m: float) -> Hole:
    """A loop as it is, or the circle it makes: arcs of one centre and radius, within the tolerance, once round."""
    if isinstance(loop, Circle):
        return loop
    arcs = [segment for segment in loop if isinstance(segment, Arc)]
    if len(arcs) < len(loop) or abs(abs(fsum(arc.turn_rad for arc in arcs)) - tau) > 1e-3:
        return Loop(loop)
    weight = fsum(arc.length_m for arc in arcs)
    x, y, radius = (
        fsum(value * arc.length_m for value, arc in zip(values, arcs, strict=True)) / weight
        for values in (*zip(*(arc.centre for arc in arcs), strict=True), [arc.radius_m for arc in arcs])
    )
    off = max(dist(arc.centre, (x, y)) + abs(arc.radius_m - radius) for arc in arcs)
    return Circle((x, y), radius) if off <= tolerance_m else Loop(loop)


def _ring(shape: Hole, sagitta_m: float) -> list[Point]:
    return shape.ring(sagitta_m, "mid")


def _check_alone(shape: Hole, polygon: "Polygon", tolerance_m: float, frame: Frame) -> None:
    from shapely.validation import explain_validity

    start = shape.centre if isinstance(shape, Circle) else shape.segments[0].start
    thickness_m = (shape.area_m2 if polygon.is_valid else polygon.convex_hull.area) / shape.perimeter_m
    if 2 * thickness_m <= tolerance_m:
        raise GeometryError(
            f"the closed line at {frame.said(start)} encloses next to nothing: {frame.length(shape.perimeter_m)} round",
            hint="Delete it, or open the sliver up.",
        )
    if not polygon.is_valid:
        raise GeometryError(
            f"a closed line crosses or touches itself at {_places(explain_validity(polygon), frame)}",
            hint="Part it there, or delete the piece that is too many.",
        )


def _places(explanation: str, frame: Frame) -> str:
    found = _PLACE.search(explanation)
    return frame.said((float(found[1]), float(found[2]))) if found else "an unknown place"


def _check_apart(polygons: "list[Polygon]", tolerance_m: float, frame: Frame) -> None:
    """No two closed lines nearer to each other than the tolerance."""
    from shapely import STRtree
    from shapely.ops import nearest_points

    rings = [polygon.exterior for polygon in polygons]
    one, other = STRtree(rings).query(rings, predicate="dwithin", distance=tolerance_m)
    pairs = [(int(i), int(j)) for i, j in zip(one, other, strict=True) if i < j]
    if not pairs:
        return
    meetings = [nearest_points(rings[i], rings[j])[0] for i, j in pairs[:_SHOWN]]
    places = ", ".join(frame.said((point.x, point.y)) for point in meetings)
    raise GeometryError(
        f"two closed lines cross, touch or come nearer than {frame.length(tolerance_m)} at {places}",
        hint="Delete the one that does not belong, or leave metal between them. A line that bounds another thickness "
        "goes on a layer of its own, named with --thickness-of.",
    )


def _nested(polygons: "list[Polygon]", frame: Frame) -> tuple[int, list[int]]:
    """Index of the plate and of its holes, from who lies in whom."""
    from shapely import STRtree

    inner = STRtree(polygons).query(polygons, predicate="within")[0]
    depth = [-1] * len(polygons)  # each lies within itself
    for k in inner:
        depth[int(k)] += 1
    alone = [k for k, level in enumerate(depth) if level == 0]
    if len(alone) > 1:
        at = ", ".join(_where(polygons[k], frame) for k in alone[:_SHOWN])
        raise GeometryError(
            f"the drawing holds {len(alone)} separate closed lines where one plate is wanted: {at}",
            hint="Leave one plate in the drawing, or choose its layers.",
        )
    islands = [k for k, level in enumerate(depth) if level > 1]
    if islands:
        at = ", ".join(_where(polygons[k], frame) for k in islands[:_SHOWN])
        raise GeometryError(
            f"{len(islands)} closed line(s) lie inside a hole: {at}",
            hint="An island is no part of the plate; if the outermost line is the frame of a sheet, delete it or choose"
            " the layers of the plate; if it bounds another thickness, name its layer with --thickness-of.",
        )
    return alone[0], [k for k, level in enumerate(depth) if level == 1]


def _where(polygon: "Polygon", frame: Frame) -> str:
    left, low, right, high = polygon.bounds
    return f"{frame.length(right - left)} by {frame.length(high - low)} about {frame.said(_centre(polygon))}"


def _centre(polygon: "Polygon") -> Point:
    return (polygon.centroid.x, polygon.centroid.y)


def _left_to_right(polygon: "Polygon", tolerance_m: float) -> tuple[int, int]:
    x, y = _centre(polygon)
    return (round(x / (10 * tolerance_m)), round(y / (10 * tolerance_m)))


def _as_outer(shape: Hole) -> Loop:
    if isinstance(shape, Loop):
        return shape if shape.signed_area_m2 > 0 else shape.reversed()
    (x, y), r = shape.centre, shape.radius_m
    right, left = (x + r, y), (x - r, y)
    return Loop((Arc(right, left, shape.centre, True), Arc(left, right, shape.centre, True)))


def _as_hole(shape: Hole) -> Hole:
    return shape.reversed() if isinstance(shape, Loop) and shape.signed_area_m2 > 0 else shape


def equal_diameter_m(hole: Hole) -> float:
    """Diameter of the circle of the hole's area."""
    return 2 * hole.radius_m if isinstance(hole, Circle) else 2 * sqrt(hole.area_m2 / pi)


def in_or_at_metal(chains: Sequence[tuple[Segment, ...]], plate: Sorted) -> list[tuple[Segment, ...]]:
    """Open chains neither wholly beside the plate (beyond its bounding box) nor wholly inside one hole."""
    from shapely import LineString, STRtree, box

    if not chains:
        return []
    lines = [LineString([point for segment in chain for point in _course(segment)]) for chain in chains]
    covering = STRtree(plate.hole_polygons).query(lines, predicate="covered_by") if plate.hole_polygons else [()]
    in_a_hole = {int(k) for k in covering[0]}
    sheet = box(*plate.body.bounds)
    return [
        chain
        for k, (chain, line) in enumerate(zip(chains, lines, strict=True))
        if k not in in_a_hole and box(*line.bounds).intersects(sheet)
    ]


def _course(segment: Segment) -> list[Point]:
    return [*segment.points(segment.length_m / 100, "mid"), segment.end]
