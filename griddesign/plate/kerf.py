"""The path of the cut: an outline set off by half a kerf into the scrap, in true lines and arcs.

The metal lies to the left of every line of an outline, so all of them are moved to the right: the outer line outward,
holes inward. A line moves parallel, an arc keeps its centre. At a corner that stands out the cutter goes round the
point (or on to a sharp corner); in a corner that goes in the moved lines are cut off where they meet, and fillets
smaller than half a kerf vanish: there the cut itself leaves its own radius.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import atan2, cos, dist, hypot, inf, sin, sqrt, tau
from typing import Any, Literal

from griddesign.errors import GeometryError
from griddesign.figures import Figure, Status
from griddesign.metals import shop_table, source
from griddesign.plate.outline import Arc, Circle, Hole, Line, Loop, Outline, Point, Segment, faults
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import mm
from griddesign.units import show

Corners = Literal["round", "sharp"]

CUT_BY: tuple[MadeBy, ...] = ("laser", "waterjet", "plasma")
"""Ways of making that leave a kerf."""

_SAME = 1e-9  # of the loop's size: points that agree so far are one
_LONGEST_POINT = 2.0  # half kerfs a sharp corner may stand off its corner: those sharper than 60 degrees are rounded
_FINE = 200.0  # the path is proved on chords within this part of half a kerf


def kerf_of(made_by: MadeBy) -> Figure | None:
    """Width of the cut (m) usual for a way of making, with range, status and source; None where nothing is cut away.

    The first machine in the table of the shop that cuts this way; the cutter's own figure goes before it.
    """
    rows: Mapping[str, Any] = shop_table("kerf")
    for name, row in rows.items():
        if isinstance(row, Mapping) and row.get("made_by") == made_by:
            low_mm, high_mm = row["range_mm"]
            status, title = Status(row["status"]), source(row["source"]).title
            numbers = (row["typical_mm"] / 1000, low_mm / 1000, high_mm / 1000)
            return Figure(*numbers, status, title, note=name.replace("_", " "))
    return None


def kerf_words(kerf_m: float | None, units: str = "mm") -> str:
    """What an outline is, as the drawing names it: nominal, or offset for a kerf (m)."""
    if not kerf_m:
        return "nominal, cutter compensates"
    return f"offset for a {show(kerf_m, 'length', digits=2, units=units)} kerf"


def kerf_mark(kerf_m: float) -> str:
    """The same for the name of a file: ``kerf-0.2mm``."""
    return f"kerf-{1000 * kerf_m:.4g}mm"


def kerf_outline(outline: Outline, kerf_m: float, corners: Corners = "round") -> Outline:
    """The path the middle of a cut ``kerf_m`` wide takes so that the plate comes out to ``outline``.

    Every line is half a kerf from the nominal one, exactly. ``sharp``: corners between straight lines are run out to
    their point instead of round it; those sharper than 60 degrees are rounded all the same. Marks and terminals stay.
    Raises GeometryError, with the numbers that clash, where the kerf is no length above zero, a hole or slot is
    narrower than the kerf, or the path cannot be closed; what comes out was checked to keep half a kerf from the
    plate everywhere.
    """
    if not 0 < kerf_m < inf:
        raise GeometryError(f"a kerf of {mm(kerf_m)} is no cut", hint="Give the width of the cut, above zero.")
    half_m = kerf_m / 2
    path = Outline(
        _moved_loop(outline.outer, half_m, corners),
        tuple(_moved_hole(hole, half_m, corners) for hole in outline.holes),
        outline.terminals,
        outline.marks,
    )
    _prove(outline, path, half_m)
    return path


def edges_moved(outline: Outline, out_m: float) -> Outline:
    """The plate with every edge set ``out_m`` outward, into the metal where it is negative, but for round holes, which
    rods fill: so its strip gets wider, or narrower, by twice that. Corners between straight edges stay sharp, arcs keep
    their centre.

    Raises GeometryError where the new outline cannot be closed, crosses itself or comes too near to the old one.
    """
    if not out_m:
        return outline
    loops = (outline.outer, *(hole for hole in outline.holes if isinstance(hole, Loop)))
    try:
        moved = [_set_off(loop, out_m) for loop in loops]
        _prove(Outline(loops[0], loops[1:]), Outline(moved[0], tuple(moved[1:])), abs(out_m))
    except GeometryError as error:
        what = "slot" if out_m > 0 else "web of metal"
        raise GeometryError(f"edges set off by {mm(abs(out_m))} run together across a {what}") from error
    slots = iter(moved[1:])
    holes = tuple(hole if isinstance(hole, Circle) else next(slots) for hole in outline.holes)
    found = replace(outline, outer=moved[0], holes=holes)
    if wrong := faults(found):
        raise GeometryError(f"edges set off by {mm(abs(out_m))} make no plate: {wrong[0]}")
    return found


def _set_off(loop: Loop, out_m: float) -> Loop:
    """A loop moved off the metal, or into it: then it is run the other way."""
    if out_m > 0:
        return _straightened(_moved_loop(loop, out_m, "sharp"))
    return _straightened(_moved_loop(loop.reversed(), -out_m, "sharp").reversed())


def _straightened(loop: Loop) -> Loop:
    """The loop with straight pieces that run on into each other made one."""
    kept: list[Segment] = []
    for segment in loop.segments:
        last = kept[-1] if kept else None
        if isinstance(last, Line) and isinstance(segment, Line) and _runs_on(last, segment):
            kept[-1] = Line(last.start, segment.end)
        else:
            kept.append(segment)
    first, last = kept[0], kept[-1]
    if len(kept) > 2 and isinstance(first, Line) and isinstance(last, Line) and _runs_on(last, first):
        kept = [Line(last.start, first.end), *kept[1:-1]]
    return Loop(tuple(kept))


def _runs_on(a: Line, b: Line) -> bool:
    (ax, ay), (bx, by) = _heading(a, 0.0), _heading(b, 0.0)
    return abs(ax * by - ay * bx) < _SAME and ax * bx + ay * by > 0


def _moved_hole(hole: Hole, half_m: float, corners: Corners) -> Hole:
    if isinstance(hole, Loop):
        return _moved_loop(hole, half_m, corners)
    if hole.radius_m <= half_m:
        raise GeometryError(
            f"a hole of {mm(2 * hole.radius_m)} is no wider than the kerf of {mm(2 * half_m)}",
            hint="Drill it after cutting, or cut with a narrower kerf.",
        )
    return Circle(hole.centre, hole.radius_m - half_m)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A moved segment or the arc round a corner; ``next_gone``: what followed it has vanished."""

    moved: Segment
    next_gone: bool = False


def _moved_loop(loop: Loop, half_m: float, corners: Corners) -> Loop:
    """The loop moved to its right. Pieces turned end for end by what is cut off them have vanished: without the
    shortest of them it is tried again."""
    same_m = _SAME * max(hypot(*segment.start) for segment in loop.segments)
    pieces = _pieces(loop, half_m, corners, same_m)
    while len(pieces) > 1:
        joints = [_joint(a, b, half_m, same_m) for a, b in _pairs(pieces)]
        trimmed = [
            _between(piece.moved, start, end)
            for piece, start, end in zip(pieces, (joints[-1], *joints[:-1]), joints, strict=True)
        ]
        turned = [k for k, piece in enumerate(pieces) if not _keeps_sense(piece.moved, trimmed[k])]
        if not turned:
            return Loop(tuple(one for one in trimmed if dist(one.start, one.end) > same_m / 10))
        pieces = _without(pieces, min(turned, key=lambda k: pieces[k].moved.length_m))
    left, low, right, high = loop.bounding_box_m
    raise GeometryError(
        f"nothing is left of a line {mm(right - left)} by {mm(high - low)} set off by half a kerf of {mm(2 * half_m)}",
        hint="Cut with a narrower kerf.",
    )


def _pieces(loop: Loop, half_m: float, corners: Corners, same_m: float) -> list[_Piece]:
    """Every segment moved, with the corners that stand out closed; fillets that half a kerf swallows are left out."""
    nominal = [one for one in loop.segments if one.length_m > 0]
    pieces: list[_Piece] = []
    for here, then in zip(nominal, (*nominal[1:], *nominal[:1]), strict=True):
        moved, follows = _moved(here, half_m, same_m), _moved(then, half_m, same_m)
        if moved is None:
            continue
        pieces.append(_Piece(moved, next_gone=follows is None))
        if follows is not None and _turn(here, then) > 0 and dist(moved.end, follows.start) > same_m / 2:
            pieces += _round_corner(moved, follows, here.end, half_m, corners)
    return pieces


def _round_corner(a: Segment, b: Segment, corner: Point, half_m: float, corners: Corners) -> Iterator[_Piece]:
    """The arc round a corner that stands out, or two strokes to its point and on."""
    point = _crossing(a, b, corner) if corners == "sharp" and isinstance(a, Line) and isinstance(b, Line) else None
    if point is None or dist(point, corner) > _LONGEST_POINT * half_m:
        yield _Piece(Arc(a.end, b.start, corner, True))
    else:
        yield _Piece(Line(a.end, point))
        yield _Piece(Line(point, b.start))


def _without(pieces: list[_Piece], gone: int) -> list[_Piece]:
    before = (gone - 1) % len(pieces)
    return [replace(one, next_gone=one.next_gone or k == before) for k, one in enumerate(pieces) if k != gone]


def _moved(segment: Segment, half_m: float, least_m: float) -> Segment | None:
    """The segment moved to its right; None for a fillet that this leaves no radius."""
    if isinstance(segment, Line):
        x, y = _heading(segment, 0.0)
        return Line(*((at[0] + half_m * y, at[1] - half_m * x) for at in (segment.start, segment.end)))
    radius_m = segment.radius_m + (half_m if segment.ccw else -half_m)
    if radius_m <= least_m:
        return None
    return Arc(segment.at(0.0, radius_m), segment.at(1.0, radius_m), segment.centre, segment.ccw)


def _joint(a: _Piece, b: _Piece, half_m: float, same_m: float) -> Point:
    """Where one piece hands over to the next: where they meet, or where the corner that goes in cuts both off."""
    if dist(a.moved.end, b.moved.start) <= same_m / 2 and not a.next_gone:
        return a.moved.end
    between = (a.moved.end[0] + b.moved.start[0]) / 2, (a.moved.end[1] + b.moved.start[1]) / 2
    point = _crossing(a.moved, b.moved, between)
    if point is None:
        raise GeometryError(
            f"a kerf of {mm(2 * half_m)} does not go into the outline near "
            f"({1000 * between[0]:.4g}, {1000 * between[1]:.4g}) mm: the cuts on either side do not meet",
            hint="A slot there is narrower than the kerf: widen it, or cut with a narrower kerf.",
        )
    return point


def _turn(a: Segment, b: Segment) -> float:
    """Sine of the turn from the end of one segment into the next, left positive; straight back counts as left."""
    (ax, ay), (bx, by) = _heading(a, 1.0), _heading(b, 0.0)
    cross = ax * by - ay * bx
    return 1.0 if abs(cross) < _SAME and ax * bx + ay * by < 0 else cross


def _heading(segment: Segment, share: float) -> Point:
    """Unit vector along the segment at its start (0) or end (1)."""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        return (x1 - x0) / segment.length_m, (y1 - y0) / segment.length_m
    angle = segment.start_rad + share * segment.turn_rad
    return (-sin(angle), cos(angle)) if segment.ccw else (sin(angle), -cos(angle))


def _crossing(a: Segment, b: Segment, near: Point) -> Point | None:
    """Where the two carriers (whole line, whole circle) cross, nearest to a point."""
    found = list(_crossings(a, b))
    return min(found, key=lambda point: dist(point, near), default=None)


def _crossings(a: Segment, b: Segment) -> Iterator[Point]:
    if isinstance(a, Line) and isinstance(b, Line):
        yield from _line_line(a, b)
    elif isinstance(a, Line) and isinstance(b, Arc):
        yield from _line_circle(a, b.centre, b.radius_m)
    elif isinstance(a, Arc) and isinstance(b, Line):
        yield from _line_circle(b, a.centre, a.radius_m)
    elif isinstance(a, Arc) and isinstance(b, Arc):
        yield from _circle_circle(a, b)


def _line_line(a: Line, b: Line) -> Iterator[Point]:
    (ax, ay), (bx, by) = _heading(a, 0.0), _heading(b, 0.0)
    cross = ax * by - ay * bx
    if abs(cross) > _SAME:
        along = ((b.start[0] - a.start[0]) * by - (b.start[1] - a.start[1]) * bx) / cross
        yield a.start[0] + along * ax, a.start[1] + along * ay


def _line_circle(line: Line, centre: Point, radius_m: float) -> Iterator[Point]:
    """Foot of the centre on the line, and half a chord to either side; a miss by rounding counts as touching."""
    x, y = _heading(line, 0.0)
    dx, dy = centre[0] - line.start[0], centre[1] - line.start[1]
    along, off = dx * x + dy * y, abs(dx * y - dy * x)
    if off <= radius_m * (1 + _SAME):
        half_chord = sqrt(max((radius_m - off) * (radius_m + off), 0.0))
        for step in (along - half_chord, along + half_chord):
            yield line.start[0] + step * x, line.start[1] + step * y


def _circle_circle(a: Arc, b: Arc) -> Iterator[Point]:
    """The two crossings lie either side of the line of centres, where both powers are alike."""
    between = dist(a.centre, b.centre)
    if not abs(a.radius_m - b.radius_m) * (1 - _SAME) <= between <= (a.radius_m + b.radius_m) * (1 + _SAME):
        return
    if between == 0:
        return
    x, y = (b.centre[0] - a.centre[0]) / between, (b.centre[1] - a.centre[1]) / between
    along = (between + (a.radius_m - b.radius_m) * (a.radius_m + b.radius_m) / between) / 2
    off = sqrt(max((a.radius_m - along) * (a.radius_m + along), 0.0))
    for side in (-off, off):
        yield a.centre[0] + along * x - side * y, a.centre[1] + along * y + side * x


def _between(moved: Segment, start: Point, end: Point) -> Segment:
    return Line(start, end) if isinstance(moved, Line) else Arc(start, end, moved.centre, moved.ccw)


def _keeps_sense(moved: Segment, trimmed: Segment) -> bool:
    """Whether a piece still runs the way it ran. An arc may only have lost at its ends what was cut off there: one
    that was turned round seems to sweep nearly a full turn."""
    if isinstance(moved, Line):
        (x, y), (x0, y0), (x1, y1) = _heading(moved, 0.0), trimmed.start, trimmed.end
        return (x1 - x0) * x + (y1 - y0) * y > -_SAME * moved.length_m
    lost_rad = _swept(moved, moved.start, trimmed.start) + _swept(moved, trimmed.end, moved.end)
    return lost_rad <= abs(moved.turn_rad) * (1 + _SAME)


def _swept(arc: Arc, start: Point, end: Point) -> float:
    """Angle from one point of an arc to another, along it: negative (over -pi to pi) against it."""
    x, y = arc.centre
    turn = atan2(end[1] - y, end[0] - x) - atan2(start[1] - y, start[0] - x)
    turn = (turn if arc.ccw else -turn) % tau
    return turn if turn <= tau / 2 else turn - tau


def _prove(outline: Outline, path: Outline, half_m: float) -> None:
    """Refuse a path that crosses itself or comes nearer to the plate than half a kerf."""
    from shapely import LinearRing, MultiLineString, shortest_line

    sagitta_m = half_m / _FINE
    plate, cut = (MultiLineString([LinearRing(ring) for ring in one.polygon(sagitta_m)]) for one in (outline, path))
    nearest = shortest_line(plate, cut)
    if nearest.length < half_m * (1 - 4 / _FINE):
        x, y = nearest.coords[0]
        raise GeometryError(
            f"half a kerf of {mm(2 * half_m)} off one side of a slot comes within {mm(nearest.length)} of its other "
            f"side at ({1000 * x:.4g}, {1000 * y:.4g}) mm",
            hint=f"Widen the slot to more than {mm(2 * half_m)}, or cut with a narrower kerf.",
        )
    wrong = faults(path)
    if wrong:
        raise GeometryError(
            f"the path of a cut {mm(2 * half_m)} wide is no outline: {wrong[0]}",
            hint=f"A slot is no wider than {mm(2 * half_m)}, or two holes run together: cut with a narrower kerf.",
        )


def _pairs(pieces: Sequence[_Piece]) -> Iterator[tuple[_Piece, _Piece]]:
    return zip(pieces, (*pieces[1:], *pieces[:1]), strict=True)
