"""The title block of a drawing, with the data fields of ISO 7200:2004, table 1; blanks are filled in by hand.

The mandatory ones are legal owner, identification number, date of issue, sheet number, title, approval person, creator
and document type; scale, projection and tolerances stand beside them.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from griddesign.papers import text, tolerances, typefaces
from griddesign.papers.dxf_board import LETTER_MM, LETTER_PT, Board, Point, length_words
from griddesign.papers.dxf_library import UNIT_WORDS
from griddesign.papers.marks import MM_PER_PT
from griddesign.papers.scales import Scale
from griddesign.plate.process import MadeBy

if TYPE_CHECKING:
    from griddesign.papers.plate_drawing import PlateOrder

LAYER, HEAD_LAYER = "TITLE", "TITLE_HEAD"
"""Of the block, and of the part of it that says which drawing this is, which stands beside the view."""
SMALL_MM = 1.8
"""Height of the capitals of a field's name, the least of ISO 3098-1."""
_PAD_MM, _BLANK_MM = 0.9, 9.0
_SMALL_PT = SMALL_MM / typefaces.CAP_HEIGHT / MM_PER_PT
_LINE_MM = 1.45 * LETTER_MM
_SYMBOL_MM = (19.5, 9.0)  # what the sign of the projection takes of a cell

_MADE_WORDS: dict[MadeBy, str] = {
    "cast": "cast",
    "laser": "cut by laser",
    "waterjet": "cut by water jet",
    "plasma": "cut by plasma",
    "stamped": "stamped",
}


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its name and what stands in it, "" for a blank. ``whole``: it takes a row of its own; ``symbol``: the
    sign of the projection stands beside the words, "first angle" or "third angle"."""

    name: str
    value: str
    whole: bool = False
    symbol: str = ""


def block_high_mm(fields: tuple[Field, ...], wide_mm: float, columns: int = 2) -> float:
    """Height of the block on paper, mm."""
    return sum(_row_high_mm(row, wide_mm) for row in _rows(fields, columns))


def draw_block(
    board: Board, fields: tuple[Field, ...], corner: Point, wide_mm: float, columns: int = 2, layer: str = LAYER
) -> float:
    """Draw the block right of and below ``corner``; returns the height of its foot, metres."""
    x, y = corner
    mm = board.paper_m
    for row in _rows(fields, columns):
        size_mm = wide_mm / len(row), _row_high_mm(row, wide_mm)
        for number, one in enumerate(row):
            _draw_cell(board, one, (x + number * size_mm[0] * mm, y), size_mm, layer)
        y -= size_mm[1] * mm
    return y


def _row_high_mm(row: tuple[Field, ...], wide_mm: float) -> float:
    return max(_high_mm(one, wide_mm / len(row)) for one in row)


def _rows(fields: tuple[Field, ...], columns: int) -> list[tuple[Field, ...]]:
    rows: list[tuple[Field, ...]] = []
    waiting: tuple[Field, ...] = ()
    for one in fields:
        if one.whole or len(waiting) == columns:
            rows += [waiting] if waiting else []
            waiting = ()
        if one.whole:
            rows.append((one,))
        else:
            waiting += (one,)
    return [*rows, waiting] if waiting else rows


def _high_mm(one: Field, wide_mm: float) -> float:
    names = len(text.wrap(one.name, _room_mm(one, wide_mm), _SMALL_PT))
    head = _PAD_MM + names * 1.45 * SMALL_MM
    if not one.value:
        return max(_BLANK_MM, head + 6.0)
    lines = len(text.wrap(one.value, _room_mm(one, wide_mm), LETTER_PT))
    return max(_SYMBOL_MM[1] if one.symbol else 0.0, head + lines * _LINE_MM + _PAD_MM)


def _room_mm(one: Field, wide_mm: float) -> float:
    """What a cell has for words beside the sign of the projection."""
    return wide_mm - 2 * _PAD_MM - (_SYMBOL_MM[0] if one.symbol else 0.0)


def _draw_cell(board: Board, one: Field, corner: Point, size_mm: tuple[float, float], layer: str) -> None:
    (x, y), mm = corner, board.paper_m
    wide, high = (length * mm for length in size_mm)
    board.loop([(x, y, 0.0), (x + wide, y, 0.0), (x + wide, y - high, 0.0), (x, y - high, 0.0)], layer)
    at_x, room_mm = x + _PAD_MM * mm, _room_mm(one, size_mm[0])
    at_y = y - _PAD_MM * mm
    for line in text.wrap(one.name, room_mm, _SMALL_PT):
        board.words((at_x, at_y - SMALL_MM * mm), line, height_mm=SMALL_MM, layer=layer)
        at_y -= 1.45 * SMALL_MM * mm
    for line in text.wrap(one.value, room_mm, LETTER_PT) if one.value else ():
        board.words((at_x, at_y - LETTER_MM * mm), line, layer=layer)
        at_y -= _LINE_MM * mm
    if one.symbol:
        left = x + wide - (_SYMBOL_MM[0] - 0.5) * mm
        board.projection_symbol((left, y - high / 2.0), third=one.symbol == "third angle", layer=layer)


# --- the fields of a plate's drawing ----------------------------------------------------------------------------------


def head_fields(order: "PlateOrder", scale: Scale) -> tuple[Field, ...]:
    """The fields of ISO 7200 by which whoever holds the view knows which drawing it is, and how to read it."""
    return (
        Field("Title", f"Plate {order.name}. {order.job_title}"),
        Field("Identification number", order.number),
        Field("Revision, fingerprint", f"{order.revision}, {order.fingerprint}"),
        Field(
            "Scale, unit, projection",
            f"{scale}, {UNIT_WORDS[order.unit]}, {order.projection}",
            symbol=order.projection,
        ),
    )


def title_fields(order: "PlateOrder") -> tuple[Field, ...]:
    """The other fields of ISO 7200 and what else a drawing must say of itself."""
    explicit = None if order.tolerance_m is None else f"±{length_words(order.tolerance_m, order.unit)}"
    metal = f"{order.metal}; {order.designation}" if order.designation else order.metal
    return (
        Field("Material, how made", f"{metal}. {_MADE_WORDS[order.made_by].capitalize()}.", whole=True),
        *(Field("What the lines are", words, whole=True) for words in (order.outline_is,) if words),
        Field("Surfaces and edges", surfaces(order.made_by), whole=True),
        *(Field("Status", words, whole=True) for words in (" · ".join(order.warnings),) if words),
        Field("Legal owner", order.owner),
        Field("Created by", order.drawn_by),
        Field("Approved by", order.approved_by),
        Field("Date of issue", ""),
        Field("Document type, language", "Part drawing, en"),
        Field("Sheet", "1 of 1"),
        Field("Tolerances where not given", explicit or tolerances.class_name(order.made_by)),
    )


def surfaces(made_by: MadeBy) -> str:
    """What the faces and edges must be like."""
    faces = "Faces of the eyes flat, parallel and bare where washers clamp: no zinc, no paint, no scale."
    if made_by == "cast":
        return f"{faces} Elsewhere as cast, sand and flash off; the edges of the strip are not ground."
    return f"{faces} Elsewhere as the sheet comes; no burr, no dross; the edges of the strip are not rounded."
