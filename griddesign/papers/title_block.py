"""The title block of a drawing, with the data fields of ISO 7200:2004, table 1; blanks are filled in by hand.

The mandatory ones are legal owner, identification number, date of issue, sheet number, title, approval person, creator
and document type; scale, projection and tolerances stand beside them.
"""

from dataclasses import dataclass

from griddesign.papers import text, typefaces
from griddesign.papers.dxf_board import LETTER_MM, LETTER_PT, Board, Point
from griddesign.papers.marks import MM_PER_PT

LAYER = "TITLE"
SMALL_MM = 1.8
"""Height of the capitals of a field's name, the least of ISO 3098-1."""
_PAD_MM, _BLANK_MM = 0.9, 9.0
_SMALL_PT = SMALL_MM / typefaces.CAP_HEIGHT / MM_PER_PT
_LINE_MM = 1.45 * LETTER_MM


@dataclass(frozen=True, slots=True)
class Field:
    """One field: its name and what stands in it, "" for a blank. ``whole``: it takes a row of its own; ``symbol``: the
    sign of the projection stands under the words, "first angle" or "third angle"."""

    name: str
    value: str
    whole: bool = False
    symbol: str = ""


def draw_block(board: Board, fields: tuple[Field, ...], corner: Point, wide_mm: float, columns: int = 2) -> float:
    """Draw the block right of and below ``corner``; returns the height of its foot, metres."""
    x, y = corner
    mm = board.paper_m
    for row in _rows(fields, columns):
        cell_mm = wide_mm / len(row)
        high_mm = max(_high_mm(one, cell_mm) for one in row)
        for number, one in enumerate(row):
            _draw_cell(board, one, (x + number * cell_mm * mm, y), (cell_mm, high_mm))
        y -= high_mm * mm
    return y


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
    names = len(text.wrap(one.name, wide_mm - 2 * _PAD_MM, _SMALL_PT))
    head = _PAD_MM + names * 1.45 * SMALL_MM
    if not one.value:
        return max(_BLANK_MM, head + 6.0)
    lines = len(text.wrap(one.value, wide_mm - 2 * _PAD_MM, LETTER_PT))
    return head + lines * _LINE_MM + _PAD_MM + (7.5 if one.symbol else 0.0)


def _draw_cell(board: Board, one: Field, corner: Point, size_mm: tuple[float, float]) -> None:
    (x, y), mm = corner, board.paper_m
    wide, high = (length * mm for length in size_mm)
    board.loop([(x, y, 0.0), (x + wide, y, 0.0), (x + wide, y - high, 0.0), (x, y - high, 0.0)], LAYER)
    at_x, room_mm = x + _PAD_MM * mm, size_mm[0] - 2 * _PAD_MM
    at_y = y - _PAD_MM * mm
    for line in text.wrap(one.name, room_mm, _SMALL_PT):
        board.words((at_x, at_y - SMALL_MM * mm), line, height_mm=SMALL_MM, layer=LAYER)
        at_y -= 1.45 * SMALL_MM * mm
    for line in text.wrap(one.value, room_mm, LETTER_PT) if one.value else ():
        board.words((at_x, at_y - LETTER_MM * mm), line, layer=LAYER)
        at_y -= _LINE_MM * mm
    if one.symbol:
        board.projection_symbol((at_x, at_y - 3.6 * mm), third=one.symbol == "third angle", layer=LAYER)
