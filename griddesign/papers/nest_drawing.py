"""A nested sheet, drawn once as a DXF document; the page shows that document. The cutting file holds the same lines."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from griddesign.errors import OutputError
from griddesign.nest.records import Place, Stock
from griddesign.papers.dxf_board import Board, Look
from griddesign.papers.dxf_library import LengthUnit, dxf_bytes
from griddesign.papers.dxf_picture import picture_of
from griddesign.papers.marks import Picture
from griddesign.papers.plate_drawing import draw_loop
from griddesign.papers.scales import Scale, scales_of
from griddesign.plate.outline import Circle, Outline

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_ROW_MM = 8.0
_LEAST_SLOTS_MM = 2.0  # nearer than that on paper, slots run together


@dataclass(frozen=True, slots=True)
class NestDrawing:
    """The drawing of one sheet: document, scale, whether its slots were left out, picture."""

    document: "Drawing"
    scale: Scale
    plain: bool
    picture: Picture

    def dxf(self) -> bytes:
        """The document as the bytes of its ``_drawing.dxf``."""
        return dxf_bytes(self.document)


@dataclass(frozen=True, slots=True)
class PlateToLay:
    """What is laid out: the outline, and its shape in few lines for scales at which its slots would run together.

    ``slots_m`` is the distance of one slot from the next; ``body`` the rectangle of the passes with the plate's holes
    and marks; ``ring_m`` the radius of the rings.
    """

    outline: Outline
    body: Outline
    slots_m: float
    ring_m: float


def laid(outline: Outline, places: Sequence[Place]) -> list[Outline]:
    """The outlines where they lie, the sheet's lower left corner at the origin."""
    return [outline.turned(place.quarters).translated(place.x_m, place.y_m) for place in places]


def scale_of(stock: Stock, unit: LengthUnit, room_mm: tuple[float, float]) -> Scale | None:
    """The largest standard scale at which the stock with its dimensions fits ``room_mm``."""
    for scale in scales_of(unit):
        sizes = (1000.0 * scale.factor * side_m for side_m in (stock.length_m, stock.width_m))
        if all(size + 2 * _ROW_MM <= room for size, room in zip(sizes, room_mm, strict=True)):
            return scale
    return None


def draw_nest(
    stock: Stock, plate: PlateToLay, places: Sequence[Place], unit: LengthUnit, room_mm: tuple[float, float]
) -> NestDrawing:
    """The sheet with its plates and its two sides, at the largest standard scale that fits ``room_mm`` (wide, high)."""
    scale = scale_of(stock, unit, room_mm)
    if scale is not None:
        return _drawn(Board(scale, unit), stock, plate, places)
    raise OutputError(
        f"a sheet of {stock.length_m:.4g} x {stock.width_m:.4g} m is drawn at no standard scale",
        hint="Nest on a smaller sheet.",
    )


def _drawn(board: Board, stock: Stock, plate: PlateToLay, places: Sequence[Place]) -> NestDrawing:
    length_m, width_m = stock.length_m, stock.width_m
    board.loop([(0.0, 0.0, 0.0), (length_m, 0.0, 0.0), (length_m, width_m, 0.0), (0.0, width_m, 0.0)], "SECTION")
    plain = 1000.0 * plate.slots_m * board.scale.factor < _LEAST_SLOTS_MM
    for outline in laid(plate.body if plain else plate.outline, places):
        _draw_plate(board, outline)
        if plain:
            _draw_eyes(board, outline, plate.ring_m)
    row_m = _ROW_MM * board.paper_m
    board.across((0.0, 0.0), (length_m, 0.0), -row_m, Look())
    board.upright((0.0, 0.0), (0.0, width_m), -row_m, Look())
    board.document.layers.get("OUTLINE").dxf.lineweight = 25
    board.open_on((-row_m, -row_m, length_m, width_m))
    return NestDrawing(board.document, board.scale, plain, picture_of(board.document, board.mm_per_unit))


def _draw_plate(board: Board, outline: Outline) -> None:
    draw_loop(board, outline.outer)
    for hole in outline.holes:
        if isinstance(hole, Circle):
            board.circle(hole.centre, hole.radius_m, "OUTLINE")
        else:
            draw_loop(board, hole)


def _draw_eyes(board: Board, body: Outline, ring_m: float) -> None:
    """Rings beside the rectangle of the passes, each tied to it by a line."""
    left, low, right, high = body.bounding_box_m
    for mark in body.marks:
        board.circle(mark.at, ring_m, "OUTLINE")
        x, y = mark.at
        board.line((x, y), (min(max(x, left), right), min(max(y, low), high)), "OUTLINE")
