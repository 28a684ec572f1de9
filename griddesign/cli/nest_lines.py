"""What is said of plates laid out on stock sheets."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from griddesign.judge.records import PlateReport

NEST_HELP = (
    'Lay the plates out on this sheet, "2500 mm x 1250 mm"; behind commas "web 6 mm", "margin 10 mm", "passes along" '
    "or across; castings in a moulding box."
)


def nest_lines(plates: "Iterable[PlateReport]") -> Iterator[str]:
    """A row for each kind of plate; nothing where none was nested."""
    from griddesign.cli.saying import table

    rows = [
        (
            plate.wish.name,
            str(nest.lot),
            str(nest.sheets),
            str(nest.per_sheet),
            str(nest.pattern.bound),
            f"{100 * nest.waste_lot:.0f} %",
        )
        for plate in plates
        if (nest := plate.nest) is not None
    ]
    if rows:
        yield ""
        yield from table(("plate", "lot", "sheets", "to a sheet", "at most", "no plate"), rows)
