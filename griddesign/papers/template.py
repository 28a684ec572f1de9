"""The plate at 1:1 to lay an old plate on, cut into tiles that go on one page each and are joined by their crosses."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil

from griddesign.papers import text
from griddesign.papers.hole_table import hole_name
from griddesign.papers.marks import MEDIUM_MM, THIN_MM, Mark, Path, Picture, Step, Words, line
from griddesign.plate.outline import Circle, Outline, Point

OVERLAP_MM = 8.0
"""What two neighbouring tiles show alike."""
MOST_TILES = 12
_EDGE_MM = 0.5  # kept free round the plate, for half the width of its line
_SAGITTA_M = 1e-5
_LETTER_PT = 9.0
_CROSS_MM = 6.0
_BELOW_MM = 1.5


@dataclass(frozen=True, slots=True)
class Tile:
    """One page of the template: column and row from the top left, and its picture."""

    column: int
    row: int
    picture: Picture


@dataclass(frozen=True)
class Template:
    """An outline on tiles of ``room_mm``; drawn when the tiles are asked for."""

    columns: int
    rows: int
    outline: Outline
    room_mm: tuple[float, float]

    @property
    def count(self) -> int:
        """How many pages it takes or would take."""
        return self.columns * self.rows

    @cached_property
    def tiles(self) -> tuple[Tile, ...]:
        """All tiles, row by row; none where there would be more than ``MOST_TILES``."""
        if self.count > MOST_TILES:
            return ()
        sheet, grid = _Sheet.of(self.outline), (self.columns, self.rows)
        places = ((column, row) for row in range(self.rows) for column in range(self.columns))
        return tuple(Tile(c + 1, r + 1, sheet.tile(c, r, grid, self.room_mm)) for c, r in places)


def template_of(outline: Outline, room_mm: tuple[float, float]) -> Template:
    """The template on tiles of ``room_mm`` (wide, high), upright or turned, whichever takes fewer."""
    upright, turned = (_grid(one, room_mm) for one in (outline, outline.turned(1)))
    if turned[0] * turned[1] < upright[0] * upright[1]:
        outline, upright = outline.turned(1), turned
    return Template(*upright, outline, room_mm)


def _grid(outline: Outline, room_mm: tuple[float, float]) -> tuple[int, int]:
    left, low, right, high = outline.bounding_box_m
    sizes = (1000.0 * (right - left) + 2 * _EDGE_MM, 1000.0 * (high - low) + 2 * _EDGE_MM)
    counts = (max(1, ceil((size - OVERLAP_MM) / (room - OVERLAP_MM) - 1e-9))
              for size, room in zip(sizes, room_mm, strict=True))  # fmt: skip
    columns, rows = counts
    return columns, rows


@dataclass(frozen=True, slots=True)
class _Sheet:
    """The whole plate in millimetres of paper, y down, its top left corner ``_EDGE_MM`` in."""

    rings: tuple[tuple[Point, ...], ...]
    holes: tuple[tuple[str, Point], ...]
    wide_mm: float
    high_mm: float

    @classmethod
    def of(cls, outline: Outline) -> "_Sheet":
        left, low, right, high = outline.bounding_box_m

        def paper(point: Sequence[float]) -> Point:
            return 1000.0 * (point[0] - left) + _EDGE_MM, 1000.0 * (high - point[1]) + _EDGE_MM

        loops = (outline.outer, *outline.holes)
        rings = tuple(tuple(paper(point) for point in loop.ring(_SAGITTA_M, "mid")) for loop in loops)
        named = zip(outline.marks, outline.holes, strict=False)
        holes = tuple(
            (hole_name(n), paper(mark.at)) for n, (mark, hole) in enumerate(named) if isinstance(hole, Circle)
        )
        return cls(rings, holes, 1000.0 * (right - left) + 2 * _EDGE_MM, 1000.0 * (high - low) + 2 * _EDGE_MM)

    def tile(self, column: int, row: int, grid: tuple[int, int], room_mm: tuple[float, float]) -> Picture:
        """One tile: outline, centres of holes, crosses in the strips that the neighbours show too, a thin frame."""
        steps_mm = tuple(room - OVERLAP_MM for room in room_mm)
        x, y = column * steps_mm[0], row * steps_mm[1]
        wide, high = min(room_mm[0], self.wide_mm - x), min(room_mm[1], self.high_mm - y)
        box = (x, y, x + wide, y + high)
        crosses = _crosses(grid, steps_mm, (self.wide_mm, self.high_mm))
        marks: list[Mark] = []
        if grid != (1, 1):
            marks += _frame(wide, high)
        steps = tuple(step for ring in self.rings for step in _clipped(ring, box))
        marks += [Path(steps, MEDIUM_MM)] if steps else []
        for name, at in (*self.holes, *((str(n), cross) for n, cross in enumerate(crosses, start=1))):
            marks += _cross(name, at, box)
        return Picture(wide, high + _BELOW_MM, tuple(marks))


def _frame(wide: float, high: float) -> Iterator[Mark]:
    for x1, y1, x2, y2 in ((0, 0, wide, 0), (wide, 0, wide, high), (wide, high, 0, high), (0, high, 0, 0)):
        yield line(x1, y1, x2, y2, THIN_MM, dash_mm=(3.0, 1.5))


def _crosses(grid: tuple[int, int], steps_mm: Sequence[float], sizes_mm: tuple[float, float]) -> list[Point]:
    """In the middle of every strip that two tiles share, two crosses to a tile's side."""
    found = []
    for side in (0, 1):
        for number in range(1, grid[side]):
            along = number * steps_mm[side] + OVERLAP_MM / 2.0
            for place in range(grid[1 - side]):
                start = place * steps_mm[1 - side]
                end = min(start + steps_mm[1 - side], sizes_mm[1 - side])
                for share in (0.25, 0.75):
                    across = start + share * (end - start)
                    found.append((along, across) if side == 0 else (across, along))
    return found


def _cross(name: str, at: Point, box: tuple[float, float, float, float]) -> Iterator[Mark]:
    """A cross where it lies whole inside the tile, with its name beside it."""
    half = _CROSS_MM / 2.0
    x, y = at[0] - box[0], at[1] - box[1]
    wide, high = box[2] - box[0], box[3] - box[1]
    if not (half <= x <= wide - half and half <= y <= high - half):
        return
    yield line(x - half, y, x + half, y, THIN_MM)
    yield line(x, y - half, x, y + half, THIN_MM)
    if x + 1.0 + text.width_mm(name, _LETTER_PT) < wide:
        yield Words(x + 0.8, y - 0.8, name, _LETTER_PT)
    else:
        yield Words(x - 0.8, y + 3.1, name, _LETTER_PT, align="right")


def _clipped(ring: Sequence[Point], box: tuple[float, float, float, float]) -> Iterator[Step]:
    """The closed ring's pieces inside the box, from its corner; pieces that follow each other are one stroke."""
    at: Point | None = None
    for start, end in zip(ring, (*ring[1:], ring[0]), strict=True):
        piece = _inside(start, end, box)
        if piece is None:
            at = None
            continue
        first, last = ((point[0] - box[0], point[1] - box[1]) for point in piece)
        if at != piece[0]:
            yield "m", first
        yield "l", last
        at = piece[1]


def _inside(start: Point, end: Point, box: tuple[float, float, float, float]) -> tuple[Point, Point] | None:
    """The part of a straight piece inside a box, by its parameter (Liang and Barsky); None where there is none. Most
    pieces lie whole inside, or whole beyond one side."""
    (x, y), (u, v), (left, top, right, foot) = start, end, box
    if left <= x <= right and left <= u <= right and top <= y <= foot and top <= v <= foot:
        return start, end
    if (x < left and u < left) or (x > right and u > right) or (y < top and v < top) or (y > foot and v > foot):
        return None
    return _cut(start, end, box)


def _cut(start: Point, end: Point, box: tuple[float, float, float, float]) -> tuple[Point, Point] | None:
    low, high = 0.0, 1.0
    dx, dy = end[0] - start[0], end[1] - start[1]
    for slope, room in (
        (-dx, start[0] - box[0]), (dx, box[2] - start[0]), (-dy, start[1] - box[1]), (dy, box[3] - start[1]),
    ):  # fmt: skip
        if slope == 0.0:
            if room < 0.0:
                return None
            continue
        share = room / slope
        low, high = (max(low, share), high) if slope < 0.0 else (low, min(high, share))
        if low > high:
            return None
    first = start if low == 0.0 else (start[0] + low * dx, start[1] + low * dy)
    last = end if high == 1.0 else (start[0] + high * dx, start[1] + high * dy)
    return first, last
