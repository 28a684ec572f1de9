"""The current in a plate, drawn: bands of current density in grey, lines of equal potential, terminals, hot spot.

Grey tells the density and is told by steps a copier keeps apart; the lines tell the voltage, each step the same part of
it, so that ohms can be counted along the strip.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import dist
from typing import Any

import numpy as np

from griddesign.errors import OutputError
from griddesign.papers import text
from griddesign.papers.marks import (
    MEDIUM_MM,
    THICK_MM,
    THIN_MM,
    Mark,
    Path,
    Picture,
    Step,
    Words,
    circle,
    line,
    polyline,
    rectangle,
)
from griddesign.papers.scales import Scale, largest
from griddesign.plate.drawn_field import DrawnField
from griddesign.plate.field.domain import Floats, Ints
from griddesign.plate.outline import Circle, Hole, Outline, Point
from griddesign.plate.terminals import Clamp

STEPS = 20
BANDS = (0.5, 0.9, 1.2, 1.6, 2.0)
"""Current density over its mean: where the grey changes."""
GREYS = (1.0, 0.93, 0.84, 0.72, 0.58, 0.42)
LABEL_PT = 8.5
_LETTER_MM = 4.6  # from label to label down a margin
_OFF_MM = 5.0  # from the plate to the labels
_LEGEND_MM = 13.0
_SMOOTH_MM = 0.02
_NAMED = 12  # holes, and regions, named on the drawing at most; the sheet's lists have them all
_HOT_MM = 2.2
_DOT_M = 1e-9  # a leader that begins in the place itself
DETAIL_MM = 60.0
_WIDTHS = 3.0  # of the mean strip, at least, shown round the hot spot
_PER_SQUARE = 4
_ROUND_STEPS: tuple[int, ...] = tuple(step * 10**power for power in range(1, 6) for step in (1, 2, 5))


@dataclass(frozen=True, slots=True)
class NamedRegion:
    """Closed lines inside which the plate has another thickness, with name and thickness, and a place in it."""

    name: str
    loops: tuple[Hole, ...]
    at: Point


@dataclass(frozen=True, slots=True)
class FieldDrawing:
    """The picture and its scale."""

    picture: Picture
    scale: Scale


@dataclass(frozen=True, slots=True)
class HotSpotDrawing:
    """The picture, its scale, and how many steps of the whole voltage its lines of equal potential are."""

    picture: Picture
    scale: Scale
    steps: int


@dataclass(frozen=True, slots=True)
class _Paper:
    """Where the plate's metres come to lie, mm, y down."""

    left_m: float
    high_m: float
    mm_per_m: float
    x_mm: float
    y_mm: float

    def at(self, point: Point) -> Point:
        return (
            self.x_mm + (point[0] - self.left_m) * self.mm_per_m,
            self.y_mm + (self.high_m - point[1]) * self.mm_per_m,
        )


def draw_field(
    outline: Outline,
    field: DrawnField,
    hot_at: Point,
    room_mm: tuple[float, float],
    washer_m: float | None = None,
    clamps: Iterable[Clamp] = (),
    regions: Sequence[NamedRegion] = (),
) -> FieldDrawing:
    """The field at the largest standard scale that fits ``room_mm`` (wide, high); ``hot_at`` is ringed.

    Holes go by the names of the outline's marks, ``regions`` of another thickness by their own. Raises OutputError
    where no standard scale fits.
    """
    left, low, right, high = outline.bounding_box_m
    named = [*_named(outline, hot_at), *(_Named(one.name, one.at, _DOT_M, bold=False) for one in regions[:_NAMED])]
    margin_mm = _OFF_MM + 2.0 + max(text.width_mm(one.name, LABEL_PT, True) for one in named)
    room_wide, room_high = room_mm[0] - 2 * margin_mm, room_mm[1] - _LEGEND_MM - 2 * _HOT_MM
    scale = largest(min(room_wide / (right - left), room_high / (high - low)) / 1000.0)
    wide, tall = (1000.0 * scale.factor * side for side in (right - left, high - low))
    if wide > room_wide or tall > room_high:
        raise OutputError(f"the field of this plate fits {room_mm[0]:.0f} x {room_mm[1]:.0f} mm at no standard scale")
    paper = _Paper(left, high, 1000.0 * scale.factor, (room_mm[0] - wide) / 2, _HOT_MM)
    marks = (
        *_bands(field, field.triangles, paper),
        *_lines(field, paper),
        *_rims(outline, paper, washer_m),
        *_regions(regions, outline, paper),
        *(_clamped(clamp, paper) for clamp in clamps),
        *_labels(named, outline, paper, hot_at),
        *_legend(tall + 2 * _HOT_MM, room_mm[0]),
    )
    return FieldDrawing(Picture(room_mm[0], tall + 2 * _HOT_MM + _LEGEND_MM, tuple(marks)), scale)


# --- the field -------------------------------------------------------------------------------------------------------


def _bands(field: DrawnField, triangles: Ints, paper: _Paper, window: Any = None) -> Iterator[Mark]:
    """Grey over grey: each band covers all that is denser than its level, so no seam shows between two."""
    for level, grey in zip(BANDS, GREYS[1:], strict=True):
        area = _denser(field, triangles, level)
        steps = tuple(_area_steps(area if window is None else area.intersection(window), paper))
        if steps:
            yield Path(steps, 0.0, fill=grey)


def _denser(field: DrawnField, triangles: Ints, level: float) -> Any:
    """The part of the triangles where the density is not below ``level``, as one geometry."""
    import shapely

    above = field.density[triangles] >= level
    whole, cut = triangles[above.all(axis=1)], triangles[above.any(axis=1) & ~above.all(axis=1)]
    pieces = list(shapely.polygons(field.xy[np.column_stack([whole, whole[:, 0]])]))
    pieces += [shapely.Polygon(_clipped(field.xy[corner], field.density[corner], level)) for corner in cut]
    united = shapely.union_all if field.stepped else shapely.coverage_union_all  # at a step neighbours do not meet
    return united([piece for piece in pieces if piece.area > 0.0])


def _clipped(xy: Floats, values: Floats, level: float) -> list[Point]:
    """The part of a triangle where a linear function is not below ``level``."""
    corners = [(float(v), (float(x), float(y))) for (x, y), v in zip(xy, values, strict=True)]
    part: list[Point] = []
    for here, there in pairwise((*corners, corners[0])):
        if here[0] >= level:
            part.append(here[1])
        if (here[0] >= level) != (there[0] >= level):
            part.append(_crossing(here, there, level))
    return part


def _crossing(one: tuple[float, Point], other: tuple[float, Point], level: float) -> Point:
    """Where the level is crossed between two points; the same from either side, so that neighbours meet."""
    (low, (x, y)), (high, (x2, y2)) = sorted((one, other))
    share = (level - low) / (high - low)
    return x + share * (x2 - x), y + share * (y2 - y)


def _area_steps(area: Any, paper: _Paper) -> Iterator[Step]:
    """The rings of an area, holes and all, as steps of one path."""
    import shapely

    for part in shapely.get_parts(area.simplify(_SMOOTH_MM / paper.mm_per_m)):
        if part.geom_type == "Polygon" and not part.is_empty:
            for ring in (part.exterior, *part.interiors):
                first, *others = (paper.at((x, y)) for x, y in ring.coords[:-1])
                yield "m", first
                yield from (("l", point) for point in others)
                yield "z", ()


def _lines(field: DrawnField, paper: _Paper) -> Iterator[Mark]:
    """A line of equal potential after every step but the last, which is the terminal itself."""
    for number in range(1, STEPS):
        steps: list[Step] = []
        for one, other in _pieces(field, field.triangles, number / STEPS):
            steps += [("m", paper.at(one)), ("l", paper.at(other))]
        yield Path(tuple(steps), THIN_MM)


def _pieces(field: DrawnField, triangles: Ints, level: float) -> Iterator[tuple[Point, Point]]:
    """The line of a potential as it crosses one triangle after the other."""
    values = field.potential[triangles]
    crossed = (values.min(axis=1) < level) & (values.max(axis=1) >= level)
    for triangle in triangles[crossed]:
        yield _ends(field.xy[triangle], field.potential[triangle], level)


def _ends(xy: Floats, values: Floats, level: float) -> tuple[Point, Point]:
    """The two points where a level crosses the sides of a triangle."""
    corners = [(float(v), (float(x), float(y))) for (x, y), v in zip(xy, values, strict=True)]
    crossed = [pair for pair in pairwise((*corners, corners[0])) if (pair[0][0] >= level) != (pair[1][0] >= level)]
    one, other = (_crossing(*pair, level) for pair in crossed)
    return one, other


# --- the hot spot, enlarged -------------------------------------------------------------------------------------------


def draw_hot_spot(outline: Outline, field: DrawnField, hot_at: Point, width_m: float, squares: float) -> HotSpotDrawing:
    """The surroundings of the hot spot, some strip widths each way, with lines of equal potential a part of a strip
    width apart."""
    from shapely import box

    scale = largest(DETAIL_MM / (_WIDTHS * width_m) / 1000.0)
    half_m = DETAIL_MM / 2000.0 / scale.factor
    x, y = hot_at
    window = box(x - half_m, y - half_m, x + half_m, y + half_m)
    paper = _Paper(x - half_m, y + half_m, 1000.0 * scale.factor, 0.0, 0.0)
    near = np.abs(field.xy - np.array(hot_at)).max(axis=1) <= half_m
    inside = field.triangles[near[field.triangles].any(axis=1)]
    steps = _fine_steps(squares)
    marks = (
        *_bands(field, inside, paper, window),
        *_fine_lines(field, inside, steps, paper, window),
        *_rims_within(outline, paper, window),
        circle(*paper.at(hot_at), 1.0, THICK_MM),
        rectangle(0.0, 0.0, DETAIL_MM, DETAIL_MM, THIN_MM),
    )
    return HotSpotDrawing(Picture(DETAIL_MM, DETAIL_MM, marks), scale, steps)


def _fine_steps(squares: float) -> int:
    """A round number of steps of the whole voltage, each a quarter of a strip width or less."""
    enough = [steps for steps in _ROUND_STEPS if steps >= _PER_SQUARE * squares]
    return enough[0] if enough else _ROUND_STEPS[-1]


def _fine_lines(field: DrawnField, triangles: Ints, steps: int, paper: _Paper, window: Any) -> Iterator[Mark]:
    import shapely

    low, high = (int(steps * end) for end in (field.potential[triangles].min(), field.potential[triangles].max()))
    lines = [piece for number in range(low + 1, high + 1) for piece in _pieces(field, triangles, number / steps)]
    if lines:
        yield Path(tuple(_line_steps(shapely.intersection(shapely.MultiLineString(lines), window), paper)), THIN_MM)


def _rims_within(outline: Outline, paper: _Paper, window: Any) -> Iterator[Mark]:
    from shapely import LinearRing

    for ring in outline.polygon(_SMOOTH_MM / paper.mm_per_m):
        steps = tuple(_line_steps(LinearRing(ring).intersection(window), paper))
        if steps:
            yield Path(steps, MEDIUM_MM)


def _line_steps(lines: Any, paper: _Paper) -> Iterator[Step]:
    """Lines, however many pieces they are in, as steps of one path."""
    import shapely

    for part in shapely.get_parts(lines):
        if part.geom_type == "LineString" and not part.is_empty:
            first, *others = (paper.at((x, y)) for x, y in part.coords)
            yield "m", first
            yield from (("l", point) for point in others)


# --- the plate -------------------------------------------------------------------------------------------------------


def _rims(outline: Outline, paper: _Paper, washer_m: float | None) -> Iterator[Mark]:
    """Outer line and holes; the terminals thick, with the face of their washer dashed."""
    for number, ring in enumerate(outline.polygon(_SMOOTH_MM / paper.mm_per_m)):
        terminal = number - 1 in outline.terminals
        points = [paper.at((float(x), float(y))) for x, y in ring]
        width_mm = THICK_MM if terminal else MEDIUM_MM
        yield polyline(points, width_mm=width_mm, closed=True, fill=1.0 if number else None)
        hole = outline.holes[number - 1] if terminal else None
        if washer_m is not None and isinstance(hole, Circle):
            yield circle(*paper.at(hole.centre), washer_m / 2 * paper.mm_per_m, THICK_MM, dash_mm=(2.0, 1.0))


def _regions(regions: Sequence[NamedRegion], outline: Outline, paper: _Paper) -> Iterator[Mark]:
    """Where on the metal the thickness steps: short dashes."""
    from shapely import LinearRing, Polygon

    if not regions:
        return
    sagitta_m = _SMOOTH_MM / paper.mm_per_m
    outer, *holes = outline.polygon(sagitta_m)
    metal = Polygon(outer, holes).buffer(-sagitta_m)
    for loop in (loop for region in regions for loop in region.loops):
        steps = tuple(_line_steps(LinearRing(loop.ring(sagitta_m, "mid")).intersection(metal), paper))
        if steps:
            yield Path(steps, MEDIUM_MM, dash_mm=(1.0, 0.8))


def _clamped(clamp: Clamp, paper: _Paper) -> Mark:
    """A clamped area, dashed and thick as a washer's face is."""
    points = [paper.at(corner) for corner in clamp.corners_m]
    return polyline(points, width_mm=THICK_MM, closed=True, dash_mm=(2.0, 1.0))


@dataclass(frozen=True, slots=True)
class _Named:
    """Something named beside the drawing: its place, and how far from there its leader begins, metres."""

    name: str
    at: Point
    clear_m: float = 0.0
    bold: bool = True


def _named(outline: Outline, hot_at: Point) -> Iterator[_Named]:
    """What is named: terminals first, other holes as long as they are few, the hot spot."""
    order = sorted(range(len(outline.marks)), key=lambda k: (k not in outline.terminals, k))
    for k in order[:_NAMED]:
        mark, hole, terminal = outline.marks[k], outline.holes[k], k in outline.terminals
        clear_m = hole.radius_m if isinstance(hole, Circle) else 0.0
        yield _Named(f"{mark.name}, terminal" if terminal else mark.name, mark.at, clear_m, terminal)
    yield _Named("hot spot", hot_at)


def _labels(named: Sequence[_Named], outline: Outline, paper: _Paper, hot_at: Point) -> Iterator[Mark]:
    """Names in the nearer margin, at the height of what they name or as near as there is room, each with a leader."""
    yield circle(*paper.at(hot_at), _HOT_MM, THICK_MM)
    left, low, right, high = outline.bounding_box_m
    (left_mm, top_mm), (right_mm, foot_mm) = paper.at((left, high)), paper.at((right, low))
    for side, edge_mm in ((-1, left_mm - _OFF_MM), (1, right_mm + _OFF_MM)):
        here = [one for one in named if (one.at[0] > (left + right) / 2) == (side > 0)]
        here.sort(key=lambda one: -one.at[1])
        heights = _spread([paper.at(one.at)[1] for one in here], top_mm, foot_mm)
        for one, y_mm in zip(here, heights, strict=True):
            yield _leader(paper.at(one.at), (edge_mm - side, y_mm), one.clear_m * paper.mm_per_m or _HOT_MM)
            yield Words(edge_mm, y_mm + 1.1, one.name, LABEL_PT, one.bold, "right" if side < 0 else "left")


def _leader(start: Point, end: Point, clear_mm: float) -> Mark:
    """A thin line to ``end`` that begins ``clear_mm`` from ``start``."""
    share = min(1.0, clear_mm / max(dist(start, end), 1e-9))
    x, y = (a + share * (b - a) for a, b in zip(start, end, strict=True))
    return line(x, y, *end)


def _spread(wanted_mm: Sequence[float], top_mm: float, foot_mm: float) -> list[float]:
    """Heights as wanted, moved so that none stands on another: down from the top, then up from the foot."""
    heights: list[float] = []
    for y_mm in wanted_mm:
        heights.append(max([y_mm, top_mm + 1.5, *(above + _LETTER_MM for above in heights[-1:])]))
    limit_mm = foot_mm - 1.5
    for k in reversed(range(len(heights))):
        heights[k] = min(heights[k], limit_mm)
        limit_mm = heights[k] - _LETTER_MM
    return heights


def _legend(top_mm: float, wide_mm: float) -> Iterator[Mark]:
    """What the greys mean, in boxes as wide as their share of the room."""
    y, step = top_mm + 6.0, wide_mm / len(GREYS)
    words = [f"under {BANDS[0]:g}", *(f"{a:g} to {b:g}" for a, b in pairwise(BANDS)), f"over {BANDS[-1]:g}"]
    yield Words(0.0, top_mm + 3.8, "Current density over its mean:", LABEL_PT)
    for number, (grey, word) in enumerate(zip(GREYS, words, strict=True)):
        yield rectangle(number * step + 0.5, y, 8.0, 5.0, THIN_MM, fill=grey)
        yield Words(number * step + 10.5, y + 3.7, word, LABEL_PT)
