"""A drawing that is marks on layers first: one record, from which the page and the DXF file are both made.

The counterpart of ``dxf_picture``: there the document comes first and needs the library's renderer; a box of hundreds
of parts, or a circuit, is quicker drawn as marks and written out.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from griddesign.papers import typefaces
from griddesign.papers.bounds import bounds
from griddesign.papers.dxf_board import Board
from griddesign.papers.dxf_library import LengthUnit, dxf_bytes
from griddesign.papers.marks import MM_PER_PT, Group, Mark, Path, Picture, Words, circle, flat
from griddesign.papers.scales import Scale

if TYPE_CHECKING:
    from ezdxf.layouts.base import BaseLayout

_CURVE_STEPS = 8  # chords to a cubic: a quarter circle within 0.2 % of its radius
_DASH_MM = (1.2, 0.9)
_APART_MM = 15.0
_LONG = 40  # steps from which a path is worth a block
_TRUE = 1e-6  # of the radius: how far a circle's handles may lie from where they belong
Point = tuple[float, float]


@dataclass(frozen=True)
class Layered:
    """Marks in millimetres of paper by layer (the board's names), the scale they are drawn at, what they show."""

    layers: Mapping[str, tuple[Mark, ...]]
    scale: Scale
    shows: str = ""

    @cached_property
    def picture(self) -> Picture:
        """Everything, just as large as its ink."""
        marks = tuple(mark for layer in self.layers.values() for mark in layer)
        left, top, right, bottom = bounds(marks)
        return Picture(right - left, bottom - top, (Group(-left, -top, marks),), self.shows)


def dxf_of(drawings: Sequence[Layered], unit: LengthUnit) -> bytes:
    """Drawings one under another in one DXF file, each true size, y up. Long paths that come again, as the plates of
    boxes alike do, are blocks: they are written once."""
    board, again = _board(drawings[0].scale, unit), _coming_again(drawings)
    blocks: dict[_Key, str] = {}
    y_m = 0.0
    for drawing in drawings:
        pen = _Pen(board, 0.001 / drawing.scale.factor, y_m, again, blocks)
        for layer, marks in drawing.layers.items():
            for x_mm, y_mm, mark in flat(marks):
                pen.put(layer, x_mm, y_mm, mark)
        y_m -= (drawing.picture.height_mm + _APART_MM) * pen.mm
    wide_m = max(drawing.picture.width_mm / 1000.0 / drawing.scale.factor for drawing in drawings)
    board.open_on((0.0, y_m, wide_m, 0.0))
    return dxf_bytes(board.document)


_Key = tuple[float, str, Path]


def _coming_again(drawings: Sequence[Layered]) -> dict[int, _Key]:
    """Long paths, taken from their first point on, that stand at more places than one, by the identity of the mark."""
    found = [
        (id(mark), (0.001 / drawing.scale.factor, layer, _from_first(mark)))
        for drawing in drawings
        for layer, marks in drawing.layers.items()
        for _, _, mark in flat(marks)
        if isinstance(mark, Path) and len(mark.steps) >= _LONG
    ]
    counts = Counter(key for _, key in found)
    return {mark: key for mark, key in found if counts[key] > 1}


def _from_first(path: Path) -> Path:
    """The path with its first point at the origin, to a millionth of a millimetre."""
    x, y = path.steps[0][1]
    steps = tuple(
        (kind, tuple(round(number - (y if at % 2 else x), 6) for at, number in enumerate(numbers)))
        for kind, numbers in path.steps
    )
    return path._replace(steps=steps)


def _board(scale: Scale, unit: LengthUnit) -> Board:
    board = Board(scale, unit)
    long, gap = (length_mm * board.paper_unit for length_mm in _DASH_MM)
    board.document.linetypes.add("DASH", [long + gap, long, -gap], description="out of circuit")
    return board


@dataclass(frozen=True, slots=True)
class _Pen:
    """Puts marks on a board. ``mm``: what a millimetre of the drawing's paper stands for, m; ``y_m``: its top."""

    board: Board
    mm: float
    y_m: float
    again: Mapping[int, _Key]
    blocks: dict[_Key, str]

    def _at(self, x_mm: float, y_mm: float) -> Point:
        return x_mm * self.mm, self.y_m - y_mm * self.mm

    def put(self, layer: str, x_mm: float, y_mm: float, mark: Words | Path) -> None:
        """One mark, moved by ``x_mm``, ``y_mm`` of the drawing's paper."""
        key = self.again.get(id(mark))
        if isinstance(mark, Words):
            align = {"left": "LEFT", "centre": "CENTER", "right": "RIGHT"}[mark.align]
            high_mm = mark.size_pt * MM_PER_PT * typefaces.CAP_HEIGHT * self.mm / self.board.paper_m
            at = self._at(x_mm + mark.x_mm, y_mm + mark.y_mm)
            self.board.words(at, mark.text, height_mm=high_mm, layer=layer, align=align)
        elif key:
            x, y = mark.steps[0][1]
            at = self.board.units(self._at(x_mm + x, y_mm + y))
            self.board.space.add_blockref(self._block(key), at, dxfattribs={"layer": layer})
        else:
            self._path(self.board.space, layer, mark, x_mm, y_mm)

    def _block(self, key: _Key) -> str:
        """The block of a path that comes again, made when first asked for."""
        if key not in self.blocks:
            self.blocks[key] = name = f"AGAIN{len(self.blocks) + 1}"
            self._path(self.board.document.blocks.new(name), key[1], key[2], 0.0, self.y_m / self.mm)
        return self.blocks[key]

    def _path(self, space: "BaseLayout", layer: str, path: Path, x_mm: float, y_mm: float) -> None:
        """A path's pieces, its origin at ``x_mm``, ``y_mm``."""
        filled = path.fill is not None and path.fill < 1.0
        if not filled and path.width_mm and (round_mm := _circle(path)):
            x, y, radius_mm = round_mm
            centre, beside = (self._at(x_mm + x + right, y_mm + y) for right in (0.0, radius_mm))
            (left, low), (right, _) = self.board.units(centre), self.board.units(beside)
            space.add_circle((left, low), right - left, dxfattribs=_attributes(layer, path))
            return
        pieces = [
            ([self.board.units(self._at(x_mm + x, y_mm + y)) for x, y in points], closed)
            for points, closed in _lines(path)
        ]
        if filled:
            _fill(space, [points for points, _ in pieces], layer)
        elif path.width_mm:
            _draw(space, pieces, layer, path)


def _fill(space: "BaseLayout", loops: list[list[Point]], layer: str) -> None:
    """Every piece of a filled path in one hatch: it shows its own edge."""
    hatch = space.add_hatch(color=256, dxfattribs={"layer": layer})
    for points in loops:
        hatch.paths.add_polyline_path(points, is_closed=True)


def _draw(space: "BaseLayout", pieces: list[tuple[list[Point], bool]], layer: str, path: Path) -> None:
    attributes = _attributes(layer, path)
    for points, closed in pieces:
        if len(points) == 2:
            space.add_line(points[0], points[1], dxfattribs=attributes)
        else:
            space.add_lwpolyline(points, close=closed, dxfattribs=attributes)


def _attributes(layer: str, path: Path) -> dict[str, object]:
    attributes: dict[str, object] = {"layer": layer, "lineweight": round(100 * path.width_mm)}
    if path.dash_mm:
        attributes["linetype"] = "CHAIN" if len(path.dash_mm) > 2 else "DASH"
    return attributes


def _circle(path: Path) -> tuple[float, float, float] | None:
    """Centre and radius, mm, of a path that ``marks.circle`` made; None for any other."""
    if [kind for kind, _ in path.steps] != ["m", "c", "c", "c", "c", "z"]:
        return None
    (right, y), across = path.steps[0][1], path.steps[2][1]
    x = (right + across[4]) / 2.0
    whole = circle(x, y, right - x)
    far = max(
        abs(a - b)
        for (_, own), (_, other) in zip(path.steps, whole.steps, strict=True)
        for a, b in zip(own, other, strict=True)
    )
    return (x, y, right - x) if far <= _TRUE * (right - x) else None


def _lines(path: Path) -> Iterator[tuple[list[Point], bool]]:
    """Every piece of a path as points, and whether it closes."""
    points: list[Point] = []
    for kind, numbers in path.steps:
        if kind == "z":
            yield points, True
            points = []
        elif kind == "c":
            points += _cubic(points[-1], numbers)
        else:
            if kind == "m" and len(points) > 1:
                yield points, False
            points = [*(points if kind == "l" else ()), (numbers[0], numbers[1])]
    if len(points) > 1:
        yield points, False


def _cubic(start: Point, handles: tuple[float, ...]) -> Iterator[Point]:
    x1, y1, x2, y2, x3, y3 = handles
    for number in range(1, _CURVE_STEPS + 1):
        t = number / _CURVE_STEPS
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        yield a * start[0] + b * x1 + c * x2 + d * x3, a * start[1] + b * y1 + c * y2 + d * y3
