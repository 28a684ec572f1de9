"""The pieces blocks are cut into before they are stacked down a page: a strip is never cut again."""

from collections.abc import Iterable
from dataclasses import dataclass

from griddesign.papers import text
from griddesign.papers.marks import Align, Group, Mark, Role, Words


@dataclass(frozen=True, slots=True)
class Strip:
    """Marks in a band of the page, from its top left corner. ``glued`` strips stay with the next one."""

    height_mm: float
    marks: tuple[Mark, ...] = ()
    glued: bool = False


@dataclass(frozen=True, slots=True)
class Laid:
    """A block cut into strips. ``header`` is set again where the block runs on to another page; ``gap_mm`` is kept
    free above the block, but not at the top of a page; ``new_page`` starts one. ``kind``: what the block is to who has
    it read aloud, as of a ``Role``."""

    strips: tuple[Strip, ...]
    gap_mm: float = 3.0
    header: Strip | None = None
    new_page: bool = False
    kind: str = "Div"


def in_role(strips: Iterable[Strip], role: Role) -> tuple[Strip, ...]:
    """The strips with their marks as content of a role."""
    return tuple([Strip(strip.height_mm, (Group(0.0, 0.0, strip.marks, role=role),), strip.glued) for strip in strips])


def words_strips(
    lines: tuple[str, ...],
    *,
    size_pt: float,
    bold: bool = False,
    x_mm: float = 0.0,
    align: Align = "left",
) -> tuple[Strip, ...]:
    """One strip per line; no line of a paragraph is left alone at the top or the foot of a page."""
    high = text.line_height_mm(size_pt)
    base = text.baseline_mm(size_pt)
    last = len(lines) - 1
    return tuple(
        Strip(high, (Words(x_mm, base, line, size_pt, bold, align),), glued=number < last and number in {0, last - 1})
        for number, line in enumerate(lines)
    )


def stacked(strips: tuple[Strip, ...], x_mm: float = 0.0, y_mm: float = 0.0) -> tuple[tuple[Mark, ...], float]:
    """The strips one under another as marks, and the height (mm) they take."""
    marks: list[Mark] = []
    used_mm = 0.0
    for strip in strips:
        if strip.marks:
            marks.append(Group(x_mm, y_mm + used_mm, strip.marks))
        used_mm += strip.height_mm
    return tuple(marks), used_mm
