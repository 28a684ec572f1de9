"""The table of holes on a plate's drawing: where each lies from the datum, and how wide it is, each with its tolerance.

The centre of H1, the hole the strip begins at, is the datum; x runs across the passes, y along them. What stands here
is not dimensioned again in the view.
"""

from collections.abc import Callable

from griddesign.papers.dxf_board import LETTER_MM, Board, Point, length_words
from griddesign.plate.outline import Circle, Outline

HalfWidth = Callable[[float], float | None]
WIDE_MM = 46.0
_COLUMNS_MM = (0.0, 6.8, 20.6, 34.6)
_STEP_MM = 4.2


def hole_name(number: int) -> str:
    """``H1`` for the first hole of the outline."""
    return f"H{number + 1}"


def draw_holes(board: Board, outline: Outline, half_width: HalfWidth, corner: Point, *, under: bool) -> float:
    """Draw the table right of and below ``corner``; returns the height of its foot, metres. ``under``: holes may be
    under size by as much as over."""
    (x, y), mm = corner, board.paper_m
    y = _row(board, ("", "x", "y", "Ø"), (x, y))
    board.line((x, y), (x + WIDE_MM * mm, y), "TEXT")
    datum = outline.marks[0].at
    for number, (mark, hole) in enumerate(zip(outline.marks, outline.holes, strict=True)):
        if not isinstance(hole, Circle):
            continue
        lengths = (mark.at[0] - datum[0], mark.at[1] - datum[1], 2.0 * hole.radius_m)
        y = _row(board, (hole_name(number), *(_number(length, board) for length in lengths)), (x, y))
        halves = ("", *(_plus_minus(length, half_width, board) for length in lengths))
        halves = halves if under else (*halves[:3], halves[3].replace("±", "+"))
        if any(halves):
            y = _row(board, halves, (x, y))
        board.line((x, y - 0.6 * mm), (x + WIDE_MM * mm, y - 0.6 * mm), "TEXT")
        y -= 1.0 * mm
    return y


def _row(board: Board, words: tuple[str, ...], corner: Point) -> float:
    mm = board.paper_m
    base = corner[1] - (_STEP_MM - 0.8) * mm
    for at_mm, word in zip(_COLUMNS_MM, words, strict=True):
        if word:
            board.words((corner[0] + at_mm * mm, base), word, height_mm=LETTER_MM)
    return corner[1] - _STEP_MM * mm


def _number(length_m: float, board: Board) -> str:
    words = length_words(abs(length_m), board.unit) or "0"
    return f"\u2212{words}" if length_m < 0 and float(words) else "0" if not float(words) else words


def _plus_minus(length_m: float, half_width: HalfWidth, board: Board) -> str:
    half_m = half_width(abs(length_m)) if abs(length_m) > 1e-9 else None
    return "" if half_m is None else f"±{length_words(half_m, board.unit)}"
