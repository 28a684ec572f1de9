"""Lettered sketches to measure by: a plate with its strip's section, and a box seen from the terminal side.

They show where to lay the rule, not how large anything is; the letters are those of ``job.letters``.
"""

from collections.abc import Iterable, Iterator
from math import hypot

from griddesign.papers.marks import (
    MEDIUM_MM,
    THICK_MM,
    THIN_MM,
    Mark,
    Picture,
    Words,
    circle,
    line,
    polyline,
    rectangle,
)
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import eye_centres, outline_of

Point = tuple[float, float]

LETTER_PT, NOTE_PT = 12.0, 8.5
_RING_MM = 3.0
_HEAD_MM = 1.8
_GREY = 0.85
_TYPE_LOW_MM = 1.5

# A plate that shows everything at once; it is nobody's.
_SHOWN = Zigzag(
    height_m=0.105,
    passes=7,
    strip_width_m=0.009,
    pass_gap_m=0.008,
    thickness_m=0.006,
    eye=Eye(0.026, 0.012, 0.021, offset_m=0.007, fillet_m=0.003),
    eyes="opposite edges",
    bend_depth_m=0.010,
    fillet_m=0.003,
)
_SCALE = 760.0  # paper millimetres for a metre of that plate


def plate_sketch() -> Picture:
    """The plate from its face with letters A to Q, and its strip cut across with F and G; 180 x 138 mm."""
    marks = (*_plate(), *_plate_letters(), *_section(), *_eye_from_the_side())
    return Picture(180.0, 138.0, tuple(marks))


def box_sketch() -> Picture:
    """The box from the terminal side: paint dot, way of counting, letters V to X, a tap; 180 x 78 mm."""
    return Picture(180.0, 78.0, tuple(_box()))


# --- what both are drawn with ----------------------------------------------------------------------------------------


def _letter(x: float, y: float, letter: str) -> Iterator[Mark]:
    """A letter in a ring."""
    yield circle(x, y, _RING_MM, MEDIUM_MM, fill=1.0)
    yield Words(x, y + _TYPE_LOW_MM, letter, LETTER_PT, True, "centre")


def _between(start: Point, end: Point, letter: str, at: float = 0.5) -> Iterator[Mark]:
    """A length from ``start`` to ``end`` with heads at both ends and its letter on it."""
    yield line(*start, *end, THIN_MM)
    yield from (_head(end, start), _head(start, end))
    yield from _letter(start[0] + at * (end[0] - start[0]), start[1] + at * (end[1] - start[1]), letter)


def _short(start: Point, end: Point, letter: str, to: Point) -> Iterator[Mark]:
    """A length too short to write on: heads from outside, the letter at ``to`` on a line from its middle."""
    middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
    for tip, other in ((start, end), (end, start)):
        away = _towards(tip, other, -6.0)
        yield from (line(*away, *tip, THIN_MM), _head(away, tip))
    yield line(*middle, *to, THIN_MM)
    yield from _letter(*to, letter)


def _pointed(at: Point, letter: str, to: Point) -> Iterator[Mark]:
    """A letter at ``to`` that points at something."""
    yield line(*to, *at, THIN_MM)
    yield _head(to, at)
    yield from _letter(*to, letter)


def _head(start: Point, tip: Point) -> Mark:
    long = hypot(tip[0] - start[0], tip[1] - start[1])
    along = ((tip[0] - start[0]) / long, (tip[1] - start[1]) / long)
    back = (tip[0] - _HEAD_MM * along[0], tip[1] - _HEAD_MM * along[1])
    side = (0.3 * _HEAD_MM * -along[1], 0.3 * _HEAD_MM * along[0])
    points = (tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1]))
    return polyline(points, width_mm=THIN_MM, closed=True, fill=0.0)


def _towards(start: Point, end: Point, by_mm: float) -> Point:
    long = hypot(end[0] - start[0], end[1] - start[1])
    return (start[0] + by_mm * (end[0] - start[0]) / long, start[1] + by_mm * (end[1] - start[1]) / long)


# --- the plate -------------------------------------------------------------------------------------------------------

_LEFT, _FOOT = 24.0, 111.0  # of the plate's lower left corner on the picture


def _on_paper(x_m: float, y_m: float) -> Point:
    return _LEFT + x_m * _SCALE, _FOOT - y_m * _SCALE


def _plate() -> Iterator[Mark]:
    outline = outline_of(_SHOWN)
    outer, *holes = outline.polygon(2e-5)
    yield polyline(_points(outer), width_mm=MEDIUM_MM, closed=True, fill=_GREY)
    for hole in holes:
        yield polyline(_points(hole), width_mm=MEDIUM_MM, closed=True, fill=1.0)
    for x_m, y_m in eye_centres(_SHOWN).values():
        x, y = _on_paper(x_m, y_m)
        yield from (line(x - 8.0, y, x + 8.0, y, THIN_MM, dash_mm=_AXIS), line(x, y - 8.0, x, y + 8.0, dash_mm=_AXIS))


_AXIS = (3.0, 0.8, 0.8, 0.8)


def _points(ring: Iterable[Point]) -> list[Point]:
    return [_on_paper(x_m, y_m) for x_m, y_m in ring]


def _plate_letters() -> Iterator[Mark]:
    shape, pitch = _SHOWN, _SHOWN.pitch_m
    left, foot = _on_paper(0.0, 0.0)
    right, top = _on_paper(shape.width_m, shape.height_m)
    middle = (foot + top) / 2.0
    yield from _edges(left - 8.0, (top, foot), left)
    yield from _between((left - 6.0, top), (left - 6.0, foot), "A", 0.35)
    yield from _between((left, foot + 5.0), (right, foot + 5.0), "B", 0.62)
    yield line(right, foot + 1.0, right, foot + 7.0, THIN_MM)
    (x3, _), (x4, _), (x5, _) = (_on_paper(n * pitch, 0.0) for n in (3, 4, 5))
    strip, gap = shape.strip_width_m * _SCALE, shape.pass_gap_m * _SCALE
    yield from _short((x3, middle + 9.0), (x3 + strip, middle + 9.0), "D", (x3 + strip / 2.0, middle + 20.0))
    yield from _short((x4 + strip, middle - 9.0), (x5, middle - 9.0), "E", (x5 - gap / 2.0, middle - 20.0))
    yield from _letter(_on_paper(pitch + shape.strip_width_m / 2.0, 0.0)[0], middle, "C")
    yield from _bend_letters(top)
    yield from _eye_letters(right)


def _edges(far: float, ends: tuple[float, float], near: float) -> Iterator[Mark]:
    """Thin lines that carry an edge out to where it is measured."""
    yield from (line(far, end, near, end, THIN_MM) for end in ends)


def _bend_letters(top: float) -> Iterator[Mark]:
    """Depth of a bend and the radius in its corner, at the upper bends."""
    shape = _SHOWN
    corner = _on_paper(shape.pitch_m * 3 - shape.pass_gap_m + 0.001, shape.height_m - shape.bar_m - 0.001)
    x, _ = _on_paper(shape.strip_width_m + 0.004, 0.0)
    yield from _pointed(corner, "Q", (corner[0] + 3.0, top - 9.0))
    yield from _short((x, top), (x, top + shape.bar_m * _SCALE), "P", (x - 9.0, top - 8.0))


def _eye_letters(right: float) -> Iterator[Mark]:
    """At the last eye: reach, hole, ring; at the first: offset; from one to the other."""
    centres, eye = eye_centres(_SHOWN), _SHOWN.eye
    first, last = _on_paper(*centres["first eye"]), _on_paper(*centres["last eye"])
    edge = _on_paper(0.0, _SHOWN.height_m)[1]
    radius, hole = eye.radius_m * _SCALE, eye.hole_m / 2.0 * _SCALE
    out = right + 12.0
    yield from _edges(out + 2.0, (last[1], edge), last[0] + 9.0)
    yield from _between((out, last[1]), (out, edge), "H")
    yield from _pointed((last[0] - 0.7 * hole, last[1] - 0.7 * hole), "J", (last[0] - 21.0, last[1] - 2.0))
    yield from _pointed((last[0] + 0.7 * radius, last[1] - 0.7 * radius), "K", (last[0] + 19.0, last[1] - 11.0))
    end_pass = _on_paper(_SHOWN.strip_width_m / 2.0, 0.0)[0]
    low = first[1] + radius
    yield line(end_pass, first[1] - 22.0, end_pass, low - 2.0, THIN_MM, dash_mm=_AXIS)
    yield from _short((end_pass, low - 4.0), (first[0], low - 4.0), "L", (end_pass - 12.0, low - 7.0))
    yield from _between(first, last, "M", 0.25)


# --- the strip cut across, the eye from the side ---------------------------------------------------------------------


def _section() -> Iterator[Mark]:
    """A tapered strip cut across, larger than the plate: F in the middle, G at the edge."""
    x, y, half, thick, edge = 128.0, 52.0, 17.0, 12.0, 8.0
    corners = (
        (-half, -edge / 2),
        (0, -thick / 2),
        (half, -edge / 2),
        (half, edge / 2),
        (0, thick / 2),
        (-half, edge / 2),
    )
    points = [(x + half + dx, y + dy) for dx, dy in corners]
    yield polyline(points, width_mm=MEDIUM_MM, closed=True, fill=_GREY)
    yield Words(x, y - 15.0, "Strip, cut across", NOTE_PT, True)
    middle = x + half
    yield from _short((middle, y - thick / 2), (middle, y + thick / 2), "F", (middle, y + 17.0))
    side = x + 2 * half + 3.0
    yield from _short((side, y - edge / 2), (side, y + edge / 2), "G", (side + 9.0, y))


def _eye_from_the_side() -> Iterator[Mark]:
    """The eye on edge: N where washers clamp."""
    x, y, high, thick = 140.0, 92.0, 22.0, 8.0
    yield Words(128.0, y - 4.0, "Eye, from its edge", NOTE_PT, True)
    yield rectangle(x, y, thick, high, MEDIUM_MM, fill=_GREY)
    for off in (5.0, high - 5.0):
        yield line(x, y + off, x + thick, y + off, THIN_MM, dash_mm=(1.2, 0.8))
    yield from _short((x, y + high + 3.0), (x + thick, y + high + 3.0), "N", (x + thick + 12.0, y + high + 3.0))


# --- the box ---------------------------------------------------------------------------------------------------------


def _box() -> Iterator[Mark]:
    left, right, top, foot = 22.0, 150.0, 14.0, 58.0
    yield from (rectangle(x, top - 5.0, 5.0, foot - top + 10.0, MEDIUM_MM, fill=_GREY) for x in (left - 5.0, right))
    for y in (top, foot):
        yield line(left - 12.0, y, right + 12.0, y, THICK_MM)
    plates = [left + 9.0 + 13.0 * number for number in range(9)]
    for number, x in enumerate(plates, start=1):
        yield rectangle(x, top - 2.5, 3.0, foot - top + 5.0, MEDIUM_MM, fill=0.6)
        yield Words(x + 1.5, foot + 7.5, str(number), NOTE_PT, True, "centre")
    yield circle(left - 2.5, foot + 1.0, 1.6, MEDIUM_MM, fill=0.0)
    yield Words(0.0, foot + 9.0, "paint dot", NOTE_PT, True)
    yield from _counting(left, foot)
    yield from _box_letters((left, right), (top, foot), plates)


def _counting(left: float, foot: float) -> Iterator[Mark]:
    y = foot + 12.5
    yield line(left, y, left + 40.0, y, MEDIUM_MM)
    yield _head((left, y), (left + 40.0, y))
    yield Words(left, y + 5.0, "count plates this way, from the end with the dot, seen from the terminal side", NOTE_PT)


def _box_letters(ends: tuple[float, float], rods: tuple[float, float], plates: list[float]) -> Iterator[Mark]:
    (left, right), (top, foot) = ends, rods
    middle = (top + foot) / 2.0
    yield from _between((left, top - 10.0), (right, top - 10.0), "W")
    yield from _short((plates[3] + 3.0, middle), (plates[4], middle), "V", (plates[3] + 8.0, middle + 12.0))
    yield from _pointed((right + 9.0, foot), "X", (right + 16.0, foot - 9.0))
    tap = plates[6] + 8.0
    yield line(plates[6] + 3.0, top, plates[7], top, 1.6)
    yield from (line(tap, top, tap, top - 7.0, MEDIUM_MM), line(tap, top - 7.0, right + 8.0, top - 7.0, MEDIUM_MM))
    yield Words(right + 9.0, top - 6.0, "lead, joint 7|8", NOTE_PT)
