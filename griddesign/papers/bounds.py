"""How much paper marks take: the box round their ink, for pictures that fit and for the tests that prove it."""

from collections.abc import Iterable
from math import cos, radians, sin

from griddesign.papers import typefaces
from griddesign.papers.marks import MM_PER_PT, Mark, Path, Words, flat
from griddesign.papers.text import clean, width_mm

Box = tuple[float, float, float, float]
"""Left, top, right, bottom, mm, y down."""

_TOUCH_MM = 0.05


def bounds(marks: Iterable[Mark]) -> Box:
    """The box round all marks, mm; curves count by their handles, which hold them. Empty marks give an empty box."""
    boxes = [
        (left + x_mm, top + y_mm, right + x_mm, bottom + y_mm)
        for x_mm, y_mm, mark in flat(marks)
        for left, top, right, bottom in [words_box(mark) if isinstance(mark, Words) else path_box(mark)]
    ]
    if not boxes:
        return 0.0, 0.0, 0.0, 0.0
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return min(lefts), min(tops), max(rights), max(bottoms)


def clashes(marks: Iterable[Mark]) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes overlap; none on a good sheet. Words across the page (hollow) do not count."""
    boxes = sorted(
        ((left + x, top + y, right + x, bottom + y), mark.text)
        for x, y, mark in flat(marks)
        if isinstance(mark, Words) and not mark.hollow and mark.text.strip()
        for left, top, right, bottom in [words_box(mark)]
    )
    found: list[tuple[str, str]] = []
    for number, (box, words) in enumerate(boxes):
        for other, others in boxes[number + 1 :]:
            if other[0] >= box[2] - _TOUCH_MM:
                break
            if other[1] < box[3] - _TOUCH_MM and box[1] < other[3] - _TOUCH_MM:
                found.append((words, others))
    return found


def words_box(words: Words) -> Box:
    """The upright box round a line of text, turned or not, from descenders to the height of capitals, mm."""
    wide, size_mm = width_mm(clean(words.text), words.size_pt, words.bold), words.size_pt * MM_PER_PT
    start = -{"left": 0.0, "centre": wide / 2.0, "right": wide}[words.align]
    up_mm, down_mm = typefaces.CAP_HEIGHT * size_mm, typefaces.DESCENT * size_mm
    if words.angle_deg:
        return _turned_box(words, (start, start + wide), (-up_mm, down_mm))
    left = words.x_mm + start
    return left, words.y_mm - up_mm, left + wide, words.y_mm + down_mm


def _turned_box(words: Words, across_mm: tuple[float, float], down_mm: tuple[float, float]) -> Box:
    across, along = sin(radians(words.angle_deg)), cos(radians(words.angle_deg))
    corners = [(x, y) for x in across_mm for y in down_mm]
    xs = [words.x_mm + x * along + y * across for x, y in corners]
    ys = [words.y_mm - x * across + y * along for x, y in corners]
    return min(xs), min(ys), max(xs), max(ys)


def path_box(path: Path) -> Box:
    """The box round a path with its line width, mm."""
    numbers = [number for _, own in path.steps for number in own]
    xs, ys, half = numbers[::2], numbers[1::2], path.width_mm / 2.0
    return min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half
