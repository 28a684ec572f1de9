"""The parts of one gap drawn in a row, so that nobody has to read the order out of words."""

from collections.abc import Callable, Sequence

from griddesign.grid.stack.records import StackPart, What
from griddesign.papers import text
from griddesign.papers.marks import MEDIUM_MM, THIN_MM, Mark, Picture, Words, line, rectangle

_WIDE_MM: dict[What, float] = {
    "eye": 5.0, "metal washer": 4.0, "mica washer": 3.0, "spacer": 12.0, "terminal clamp": 6.0, "end insulation": 9.0,
}  # fmt: skip
_HIGH_MM: dict[What, float] = {
    "eye": 11.0, "metal washer": 7.0, "mica washer": 9.0, "spacer": 5.5, "terminal clamp": 7.0, "end insulation": 9.0,
}  # fmt: skip
SHORT: dict[What, str] = {
    "eye": "eye", "metal washer": "W", "mica washer": "M", "spacer": "S", "terminal clamp": "C", "end insulation": "E",
}  # fmt: skip
MIDDLE_MM, HIGH_MM = 8.0, 16.5
_PT = 7.0


def gap_picture(parts: Sequence[StackPart], letters: Callable[[StackPart], str]) -> Picture:
    """The parts from left to right, the dot end left: metal grey, mica and end insulation open and crossed. Below each
    its letter."""
    marks: list[Mark] = []
    x = 1.0
    for part in parts:
        wide = max(_WIDE_MM[part.what], text.width_mm(letters(part), _PT) + 0.8)
        marks += _part(part, x, wide)
        marks.append(Words(x + wide / 2.0, HIGH_MM - 1.0, letters(part), _PT, align="centre"))
        x += wide
    marks.insert(0, line(0.0, MIDDLE_MM - 1.5, x + 1.0, MIDDLE_MM - 1.5, THIN_MM, dash_mm=(5.0, 1.0, 0.6, 1.0)))
    return Picture(x + 1.0, HIGH_MM, tuple(marks), ", ".join(part.what for part in parts))


def _part(part: StackPart, x: float, wide: float) -> list[Mark]:
    high = _HIGH_MM[part.what]
    top, middle = MIDDLE_MM - 1.5 - high / 2.0, MIDDLE_MM - 1.5
    if not part.conducting:
        cross = (line(x, top, x + wide, top + high, THIN_MM), line(x, top + high, x + wide, top, THIN_MM))
        return [rectangle(x, top, wide, high, THIN_MM, fill=1.0), *cross]
    fill = 1.0 if part.what == "eye" else 0.75
    body: list[Mark] = [rectangle(x, top, wide, high, MEDIUM_MM, fill=fill)]
    if part.what == "terminal clamp":
        body.append(rectangle(x + wide / 3.0, top - 2.5, wide / 3.0, 2.5, MEDIUM_MM, fill=fill))
    return [*body, line(x, middle, x + wide, middle, THIN_MM)] if part.what == "spacer" else body
