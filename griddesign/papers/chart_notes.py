"""Words on a chart that find a free place: names beside the frame, notes at points of a curve."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from griddesign.papers import text
from griddesign.papers.bounds import Box, words_box
from griddesign.papers.marks import THIN_MM, Mark, Words, circle, flat, line, rectangle

LABEL_PT = 8.5
_STEP_MM = 0.9
_CLEAR_MM = 0.3
_DOT_MM = 0.9


@dataclass(frozen=True, slots=True)
class Note:
    """Words at a point of the chart, in the units of its axes. ``dot`` marks the point itself."""

    text: str
    x: float
    y: float
    dot: Literal["", "filled", "open"] = ""
    bold: bool = False


def note_marks(
    notes: Sequence[tuple[Note, float, float]], frame: Box, before: Iterable[Mark], levels_mm: Sequence[float] = ()
) -> list[Mark]:
    """Notes with the place (mm) of their points: the words stand as near above the point as no other words, dots or
    ``levels_mm`` are, else below it, inside ``frame``; a thin line joins the two where they are apart. White ground
    keeps them readable."""
    marks: list[Mark] = []
    taken = _boxes(before) + [(frame[0], y - 0.35, frame[2], y + 0.35) for y in levels_mm]
    taken += [(x - _DOT_MM, y - _DOT_MM, x + _DOT_MM, y + _DOT_MM) for note, x, y in notes if note.dot]
    for note, x, y in notes:
        if note.dot:
            marks.append(circle(x, y, _DOT_MM, THIN_MM, fill=0.0 if note.dot == "filled" else 1.0))
        if not note.text:
            continue
        words = _free_place(note, (x, y), frame, taken)
        taken.append(words_box(words))
        marks += [*_leader(words, x, y), *_grounded(words)]
    return marks


def _free_place(note: Note, at: tuple[float, float], frame: Box, taken: Sequence[Box]) -> Words:
    """The words at the first place that is free; where there is none in the frame, above everything."""
    clean, (x, y) = text.clean(note.text), at
    half = text.width_mm(clean, LABEL_PT, note.bold) / 2.0
    x = min(max(x, frame[0] + half + 0.5), frame[2] - half - 0.5)
    above = [y - 1.6 - step * _STEP_MM for step in range(int((y - frame[1]) / _STEP_MM) + 1)]
    below = [y + 3.6 + step * _STEP_MM for step in range(int((frame[3] - y) / _STEP_MM) + 1)]
    heights, first = [*above, *below], None
    for height in heights:
        words = Words(x, height, clean, LABEL_PT, note.bold, "centre")
        box = words_box(words)
        if frame[1] < box[1] and box[3] < frame[3]:
            if _free(box, taken):
                return words
            first = first or words
    return first or Words(x, heights[0], clean, LABEL_PT, note.bold, "centre")


def _free(box: Box, taken: Sequence[Box]) -> bool:
    left, top, right, bottom = box
    return not any(
        left - _CLEAR_MM < other[2]
        and other[0] < right + _CLEAR_MM
        and top - _CLEAR_MM < other[3]
        and other[1] < bottom + _CLEAR_MM
        for other in taken
    )


def _leader(words: Words, x: float, y: float) -> list[Mark]:
    """A thin line from the point to the nearer edge of words that stand away from it."""
    _, top, _, bottom = words_box(words)
    edge = bottom if bottom < y else top
    return [line(x, y, words.x_mm, edge, THIN_MM)] if abs(edge - y) > 2.2 else []


def with_ground(words: Words, before: Iterable[Mark]) -> list[Mark]:
    """The words moved up until they are free of those before them, on white ground."""
    taken, moved = _boxes(before), words
    while not _free(words_box(moved), taken) and moved.y_mm > words.y_mm - 60.0:
        moved = Words(moved.x_mm, moved.y_mm - _STEP_MM, moved.text, moved.size_pt, moved.bold, moved.align)
    return _grounded(moved)


def _grounded(words: Words) -> list[Mark]:
    left, top, right, bottom = words_box(words)
    return [rectangle(left - 0.3, top - 0.3, right - left + 0.6, bottom - top + 0.3, 0.0, fill=1.0), words]


def _boxes(marks: Iterable[Mark]) -> list[Box]:
    return [
        (left + x, top + y, right + x, bottom + y)
        for x, y, mark in flat(marks)
        if isinstance(mark, Words)
        for left, top, right, bottom in [words_box(mark)]
    ]


def spread(heights: Sequence[float], within: tuple[float, float]) -> list[float]:
    """Heights moved down just as far as keeps neighbouring names apart, and up again where they would leave
    ``within``, mm."""
    apart = text.line_height_mm(LABEL_PT)
    order = sorted(range(len(heights)), key=heights.__getitem__)
    placed = list(heights)
    for before, after in pairwise(order):
        placed[after] = max(placed[after], placed[before] + apart)
    if placed and placed[order[-1]] > within[1]:
        placed[order[-1]] = within[1]
        for after, before in pairwise(order[::-1]):
            placed[before] = min(placed[before], placed[after] - apart)
    return placed


def fitted(name: str, room_mm: float, *, bold: bool = False, size_pt: float = LABEL_PT) -> str:
    """The name as printed, cut with an ellipsis where it is wider than ``room_mm``."""
    clean = text.clean(name)
    if text.width_mm(clean, size_pt, bold) <= room_mm:
        return clean
    while clean and text.width_mm(f"{clean}…", size_pt, bold) > room_mm:
        clean = clean[:-1]
    return f"{clean}…"
