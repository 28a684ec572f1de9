"""A set put together: which sheets were asked for, the contents page before them, numbers of the whole set."""

from collections.abc import Sequence

from griddesign.errors import InputError
from griddesign.papers.blocks import Cell, Column, Sheet, Stamp, Table
from griddesign.papers.frame import Page, pages_of

MOST_WITHOUT_CONTENTS = 6
CONTENTS = "Contents"
_KINDS = frozenset({"sheet", "card"})


def sheet_key(sheet: Sheet) -> str:
    """What a sheet is asked for by: ``plate`` for ``Plate sheet P``, ``crew`` for ``Crew card``."""
    words = sheet.name.lower().split()
    ends = [number for number, word in enumerate(words) if word in _KINDS]
    return "-".join(words[: ends[0]] if ends and ends[0] else words)


def picked(sheets: Sequence[Sheet], asked: str) -> frozenset[str]:
    """The keys named in ``asked`` (``plate,tap``). Raises InputError where a word fits no sheet of the set."""
    keys = list(dict.fromkeys(map(sheet_key, sheets)))
    words = [word.strip().lower() for word in asked.split(",") if word.strip()]
    missing = [word for word in words if not any(_fits(word, key) for key in keys)]
    if missing or not words:
        found = f"no sheet is called {', '.join(missing)}" if missing else "no sheet is named"
        raise InputError(found, hint=f"This set has: {', '.join(keys)}.")
    return frozenset(key for key in keys for word in words if _fits(word, key))


def _fits(word: str, key: str) -> bool:
    return word == key or word in key.split("-")


def put_together(sheets: Sequence[Sheet], stamp: Stamp, only: frozenset[str] = frozenset()) -> tuple[Page, ...]:
    """Every page of a set; with more than six sheets behind a contents page, which then is sheet 1.

    ``only`` keeps the sheets of these keys, under their numbers in the whole set. Raises OutputError where something is
    higher than a page.
    """
    count, wanted = numbered(sheets, only)
    pages = tuple(page for number, sheet in wanted for page in pages_of(sheet, number, count, stamp))
    return pages if only or count == len(sheets) else (*_contents(sheets, pages, count, stamp), *pages)


def numbered(sheets: Sequence[Sheet], only: frozenset[str] = frozenset()) -> tuple[int, tuple[tuple[int, Sheet], ...]]:
    """How many sheets the set counts, a contents page among them, and those wanted with their numbers in it."""
    first = 2 if len(sheets) > MOST_WITHOUT_CONTENTS else 1
    wanted = (one for one in enumerate(sheets, start=first) if not only or sheet_key(one[1]) in only)
    return len(sheets) + first - 1, tuple(wanted)


def _contents(sheets: Sequence[Sheet], pages: tuple[Page, ...], count: int, stamp: Stamp) -> tuple[Page, ...]:
    """The contents' own pages, which move all others back by as many as they are."""
    own = 1
    while True:
        laid = pages_of(contents_sheet(sheets, pages, own), 1, count, stamp)
        if len(laid) <= own:
            return laid
        own = len(laid)


def contents_sheet(sheets: Sequence[Sheet], pages: Sequence[Page], before: int) -> Sheet:
    """The list of the ``sheets`` whose pages follow ``before`` pages of it."""
    columns = (
        Column("Sheet", "right"),
        Column("Name"),
        Column("For the"),
        Column("Pages", "right"),
        Column("from", "right"),
        Column("What to do with it", stretch=True),
    )
    rows, start = [], before + 1
    for number, sheet in enumerate(sheets, start=2):
        own = sum(page.sheet_number == number for page in pages)
        rows.append((str(number), Cell(sheet.name), sheet.hand, str(own), str(start), sheet.imperative))
        start += own
    order = f"Check that all {start - 1} pages are here and bear the same revision and fingerprint."
    return Sheet(CONTENTS, order, "engineer", (Table(columns, tuple(rows), 10.0),))
