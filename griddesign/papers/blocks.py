"""What stands on a sheet, as plain data: the people who fill sheets write these records and no coordinates.

Every text is printed as it is: there is no markup. Type sizes are points, lengths millimetres on the paper. No slots:
``layout.lay`` keeps beside a block what it cut it into.
"""

from dataclasses import dataclass
from typing import Literal

from griddesign.papers.marks import Align, Picture

BODY_PT, KEY_PT, SMALL_PT, CARD_PT = 11.0, 14.0, 9.0, 18.0
BLANK_MM = 9.0
"""Least height of anything that is filled in by hand."""


@dataclass(frozen=True)
class Heading:
    """A heading; it stays with what follows."""

    text: str


@dataclass(frozen=True)
class Paragraph:
    """Running text, wrapped to the width. ``keep`` holds it to what follows, as a heading is."""

    text: str
    bold: bool = False
    size_pt: float = BODY_PT
    keep: bool = False


@dataclass(frozen=True)
class Points:
    """A list, each item with a dot or its number."""

    items: tuple[str, ...]
    numbered: bool = False
    size_pt: float = BODY_PT


@dataclass(frozen=True)
class KeyFigure:
    """One number worth large type: what it is, the number with its unit, a small remark."""

    label: str
    value: str
    remark: str = ""


@dataclass(frozen=True)
class KeyFigures:
    """Key figures side by side, as many to a line as fit."""

    figures: tuple[KeyFigure, ...]


@dataclass(frozen=True)
class Column:
    """One column: numbers want ``align="right"``; ``stretch`` takes the room left over; ``blank`` is filled in by hand,
    so its rows are at least 9 mm high, its cells are ruled and it is at least ``least_mm`` wide."""

    title: str
    align: Align = "left"
    stretch: bool = False
    blank: bool = False
    least_mm: float = 0.0


@dataclass(frozen=True)
class Cell:
    """A table cell set in bold, for what must not be overlooked."""

    text: str
    bold: bool = True


TableCell = str | Cell | Picture


@dataclass(frozen=True)
class Table:
    """Rows under a bold header that is repeated on every page the table runs to. A cell is text or a picture.

    The type is shrunk in half points from ``size_pt`` to 8 where no word would fit otherwise. ``ruled`` draws a thin
    line under every row. ``whole`` keeps its rows on one page if that can be. ``dense``: rows close together, and where
    not every cell has one line, columns as wide as what they hold is long; for pages of figures read at a desk.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[TableCell, ...], ...]
    size_pt: float = BODY_PT
    ruled: bool = True
    whole: bool = False
    dense: bool = False


@dataclass(frozen=True)
class Box:
    """A bordered box with a title and paragraphs; ``heavy`` for what must be obeyed."""

    title: str
    lines: tuple[str, ...]
    heavy: bool = False
    size_pt: float = BODY_PT


@dataclass(frozen=True)
class Cautions:
    """What can kill or burn, in a heavy box with the warning triangle."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class SignOff:
    """Empty lines to sign: one row per role with name, signature, date."""

    roles: tuple[str, ...]


@dataclass(frozen=True)
class Drawing:
    """A picture to its own size, in the middle, with a line of text under it."""

    picture: Picture
    caption: str = ""


@dataclass(frozen=True)
class Beside:
    """Two columns of blocks side by side; ``left_share`` of the width goes left. Kept on one page."""

    left: "tuple[Block, ...]"
    right: "tuple[Block, ...]"
    left_share: float = 0.5


@dataclass(frozen=True)
class Gap:
    """Room left free, mm."""

    height_mm: float


@dataclass(frozen=True)
class NewPage:
    """What follows starts on a new page of the same sheet."""


Block = Heading | Paragraph | Points | KeyFigures | Table | Box | Cautions | SignOff | Drawing | Beside | Gap | NewPage

Hand = Literal["cutter", "foundry", "bench", "crew", "engineer"]


@dataclass(frozen=True)
class Sheet:
    """One sheet: its name in large type, one line that says what to do with it, whose hand it is for, its content.

    ``across`` are words set across this sheet's pages alone (``PROVISIONAL, SET TAPS AFTER MEASURING``), beside those
    of the whole set. ``landscape`` lays its pages across, for content wider than it is high.
    """

    name: str
    imperative: str
    hand: Hand
    blocks: tuple[Block, ...]
    across: tuple[str, ...] = ()
    landscape: bool = False


@dataclass(frozen=True)
class Stamp:
    """What stands on every page of a set: job, revision, fingerprint, paper size, words across the page."""

    job_title: str
    revision: str
    fingerprint: str
    paper: Literal["A4", "Letter"] = "A4"
    across: tuple[str, ...] = ()
    owner: str = ""
