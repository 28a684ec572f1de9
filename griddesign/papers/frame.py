"""The frame of every page: one live area for A4 and US Letter, the band on top, the ruler below, words across.

The live area is 180 x 250 mm with 20 mm free at the left for punching, centred in the height of either paper, so a
sheet made for one prints on the other without scaling. A sheet whose content asks for it lies across: 250 x 180 mm, the
20 mm then at the head, which is the punched edge once the page is turned into the binder.
"""

import math
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Literal

from griddesign.papers import text
from griddesign.papers.blocks import BODY_PT, SMALL_PT, Hand, Sheet, Stamp
from griddesign.papers.flow import fill
from griddesign.papers.layout import lay
from griddesign.papers.marks import (
    ARTIFACT,
    MEDIUM_MM,
    MM_PER_PT,
    THICK_MM,
    THIN_MM,
    Group,
    Mark,
    Role,
    Words,
    line,
    rectangle,
)
from griddesign.papers.strips import in_role, stacked, words_strips

LIVE_WIDE_MM, LIVE_HIGH_MM, LEFT_MM = 180.0, 250.0, 20.0
UPRIGHT, ACROSS = (LIVE_WIDE_MM, LIVE_HIGH_MM), (LIVE_HIGH_MM, LIVE_WIDE_MM)
"""Width and height, mm, of the live area of an upright page and of one that lies across."""
PAPER_MM: dict[Literal["A4", "Letter"], tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
NAME_PT, IMPERATIVE_PT = 20.0, 12.0
_SIDE_MM = 64.0  # width of the column with revision, fingerprint and numbers
_FOOT_MM = 11.0
_FOOT_GAP_MM = 3.0
_BAND_GAP_MM = 4.0


@dataclass(frozen=True, slots=True)
class Page:
    """One page: marks in the live area, counted from its top left corner."""

    sheet_number: int
    part: int
    parts: int
    name: str
    hand: Hand
    marks: tuple[Mark, ...]
    across: tuple[str, ...]
    landscape: bool = False

    @property
    def live_mm(self) -> tuple[float, float]:
        """Width and height of the live area."""
        return ACROSS if self.landscape else UPRIGHT


def live_mm(sheet: Sheet) -> tuple[float, float]:
    """Width and height, mm, of the live area of a sheet's pages."""
    return ACROSS if sheet.landscape else UPRIGHT


def corner_mm(page: Page, paper: Literal["A4", "Letter"]) -> tuple[float, float]:
    """Where the live area begins on the paper, mm from its left and upper edges."""
    (wide, high), (live_wide, live_high) = paper_mm(page, paper), page.live_mm
    return ((wide - live_wide) / 2.0, LEFT_MM) if page.landscape else (LEFT_MM, (high - live_high) / 2.0)


def paper_mm(page: Page, paper: Literal["A4", "Letter"]) -> tuple[float, float]:
    """Width and height of the page itself, mm."""
    wide, high = PAPER_MM[paper]
    return (high, wide) if page.landscape else (wide, high)


def pages_of(sheet: Sheet, number: int, count: int, stamp: Stamp) -> tuple[Page, ...]:
    """Every page of one sheet, ``number`` of ``count``: laid out first, then numbered and framed.

    Raises OutputError where something is higher than a page.
    """
    room = room_high_mm(sheet, stamp)
    bodies = fill((lay(block, live_mm(sheet)[0]) for block in sheet.blocks), room)
    return tuple(
        _framed(sheet, stamp, (number, count), (part, len(bodies)), body) for part, body in enumerate(bodies, start=1)
    )


def room_high_mm(sheet: Sheet, stamp: Stamp) -> float:
    """Height, mm, that a page of this sheet has for its content under the band: what a drawing may take at most."""
    band_high = _band(sheet, stamp, across_words(sheet, stamp), ("", ""))[1]
    return live_mm(sheet)[1] - band_high - _BAND_GAP_MM - _FOOT_MM - _FOOT_GAP_MM


def across_words(sheet: Sheet, stamp: Stamp) -> tuple[str, ...]:
    """What is set across the pages of a sheet: the words of the set, then its own."""
    return tuple(dict.fromkeys((*stamp.across, *sheet.across)))


def _framed(
    sheet: Sheet, stamp: Stamp, numbers: tuple[int, int], parts: tuple[int, int], body: tuple[Group, ...]
) -> Page:
    across = across_words(sheet, stamp)
    part_words = f"page {parts[0]} of {parts[1]}" if parts[1] > 1 else ""
    band, band_high = _band(sheet, stamp, across, (f"sheet {numbers[0]} of {numbers[1]}", part_words))
    wide, high = live_mm(sheet)
    foot = Group(0.0, high - _FOOT_MM, _foot(wide), shared=f"foot{'-across' * sheet.landscape}")
    read = Role("Div", -1) if parts[0] == 1 else ARTIFACT  # a band that comes again is not read again
    marks = (Group(0.0, 0.0, band, role=read), Group(0.0, band_high + _BAND_GAP_MM, body), foot)
    return Page(numbers[0], parts[0], parts[1], sheet.name, sheet.hand, marks, across, sheet.landscape)


# --- the band --------------------------------------------------------------------------------------------------------


def _band(
    sheet: Sheet, stamp: Stamp, across: tuple[str, ...], numbers: tuple[str, str]
) -> tuple[tuple[Mark, ...], float]:
    """The band's marks and its height, mm; the height does not depend on the numbers."""
    wide = live_mm(sheet)[0]
    left, left_high = _band_left(sheet.name, stamp.job_title, stamp.owner, wide - _SIDE_MM - 4.0)
    side, side_high = _band_side(sheet, stamp, numbers)
    upper = max(left_high, side_high) + 4.0
    marks: list[Mark] = [line(0.0, THICK_MM / 2, wide, THICK_MM / 2, THICK_MM)]
    marks += [Group(0.0, 2.0, left), Group(wide - _SIDE_MM, 2.0, side, role=Role("P", 2))]
    marks.append(line(wide - _SIDE_MM - 2.0, 2.0, wide - _SIDE_MM - 2.0, upper - 1.0, THIN_MM))
    warning, upper = _band_warning(across, upper, wide)
    marks += [*warning, line(0.0, upper, wide, upper, THIN_MM)]
    order = words_strips(text.wrap(sheet.imperative, wide, IMPERATIVE_PT, True), size_pt=IMPERATIVE_PT, bold=True)
    imperative, high = stacked(order, y_mm=upper + 1.4)
    bottom = upper + high + 2.8
    marks.append(Group(0.0, 0.0, imperative, role=Role("P", 4)))
    return (*marks, line(0.0, bottom, wide, bottom, THICK_MM)), bottom


@lru_cache(maxsize=256)
def _band_left(name: str, job_title: str, owner: str, room: float) -> tuple[tuple[Mark, ...], float]:
    size = NAME_PT if text.natural_mm(name, NAME_PT, True) <= room else NAME_PT * 0.75
    head = words_strips(text.wrap(name, room, size, True), size_pt=size, bold=True)
    parts = words_strips(text.wrap(job_title, room, BODY_PT), size_pt=BODY_PT)
    if owner:
        parts += words_strips(text.wrap(owner, room, SMALL_PT), size_pt=SMALL_PT)
    return stacked((*in_role(head, Role("H1")), *in_role(parts, Role("P", 1))))


def _band_side(sheet: Sheet, stamp: Stamp, numbers: tuple[str, str]) -> tuple[tuple[Mark, ...], float]:
    """Whose hand, sheet and page number, revision and fingerprint; few lines, so that the page has room."""
    hand, count = (
        words_strips((words,), size_pt=BODY_PT, bold=True) for words in (f"For the {sheet.hand}", numbers[0])
    )
    part = Words(_SIDE_MM, text.baseline_mm(BODY_PT), numbers[1], SMALL_PT, align="right")
    count = (replace(count[0], marks=(*count[0].marks, part)),)
    named = [f"revision {stamp.revision}", f"fingerprint {stamp.fingerprint}"]
    if text.natural_mm(", ".join(named), SMALL_PT) <= _SIDE_MM:
        named = [", ".join(named)]
    lines = (line for words in named for line in text.wrap(words, _SIDE_MM, SMALL_PT))
    return stacked((*hand, *count, *words_strips(tuple(lines), size_pt=SMALL_PT)))


@lru_cache(maxsize=256)
def _band_warning(across: tuple[str, ...], top: float, wide: float) -> tuple[tuple[Mark, ...], float]:
    """What stands across the page, again in the band in plain words: a pale copy may lose the large letters."""
    if not across:
        return (), top
    lines = text.wrap(" · ".join(across), wide - 4.0, BODY_PT, True)
    strips = words_strips(lines, size_pt=BODY_PT, bold=True, x_mm=wide / 2.0, align="centre")
    words, high = stacked(strips, y_mm=top + 0.7)
    box = rectangle(MEDIUM_MM / 2, top, wide - MEDIUM_MM, high + 1.4, MEDIUM_MM)
    return (box, Group(0.0, 0.0, words, role=Role("P", 3))), top + high + 3.0


# --- the foot --------------------------------------------------------------------------------------------------------


@cache
def _foot(wide_mm: float) -> tuple[Mark, ...]:
    """A ruler with 100 mm on one edge and 4 in on the other, and what to do with it."""
    note = (
        ("Print at 100 %. The bars must measure", 0.0),
        ("100 mm and 4 in. If not, measure nothing", 1.0),
        ("on this sheet.", 2.0),
    )
    step = 3.8
    marks: list[Mark] = list(checking_bar())
    for words, number in note:
        marks.append(Words(wide_mm, 2.4 + number * step, words, SMALL_PT, align="right"))
    return tuple(marks)


def checking_bar() -> tuple[Mark, ...]:
    """The bar: 100.0 mm of millimetre ticks below the line, 4 in (101.6 mm) of eighths above it; 11 mm high."""
    y = 5.0
    marks: list[Mark] = [line(0.0, y, 101.6, y, THIN_MM)]
    marks += [line(mm, y, mm, y + _mm_tick(mm), THIN_MM) for mm in range(101)]
    marks += [line(eighth * 3.175, y, eighth * 3.175, y - _inch_tick(eighth), THIN_MM) for eighth in range(33)]
    marks += [Words(mm, y + 5.4, str(mm), 6.5, align="centre" if mm else "left") for mm in range(0, 100, 20)]
    marks += [Words(100.0, y + 5.4, "100 mm", 6.5, align="right")]
    marks += [Words(inch * 25.4 + 0.6, y - 2.9, str(inch), 6.5) for inch in range(4)]
    return (*marks, Words(101.0, y - 2.9, "4 in", 6.5, align="right"))


def _mm_tick(mm: int) -> float:
    return 3.0 if mm % 10 == 0 else 2.2 if mm % 5 == 0 else 1.4


def _inch_tick(eighth: int) -> float:
    return 4.5 if eighth % 8 == 0 else 2.2 if eighth % 4 == 0 else 1.4


# --- across the page -------------------------------------------------------------------------------------------------


@cache
def across_marks(words: tuple[str, ...], live: tuple[float, float] = UPRIGHT) -> tuple[Mark, ...]:
    """Hollow grey letters from corner to corner, drawn before everything else: they survive a copy, hide no figure."""
    if not words:
        return ()
    wide, high = live
    diagonal = math.hypot(wide, high)
    angle = math.degrees(math.atan2(high, wide))
    size = min(60.0, *(0.78 * diagonal / text.width_mm(words_line, 1.0, True) for words_line in words))
    lead_mm = 1.9 * size * MM_PER_PT
    marks: list[Mark] = []
    for number, words_line in enumerate(words):
        off = (number - (len(words) - 1) / 2.0) * lead_mm + 0.35 * size * MM_PER_PT
        dx, dy = math.sin(math.radians(angle)) * off, math.cos(math.radians(angle)) * off
        x, y = wide / 2.0 + dx, high / 2.0 + dy
        marks.append(Words(x, y, words_line, size, True, "centre", angle, 0.75, hollow=True))
    return tuple(marks)
