"""On the engineer's sheet: every tolerance of a plate, and what it does to the ohms."""

from collections.abc import Iterator
from math import inf

from griddesign.judge.records import PlateReport
from griddesign.papers.sheets.shown import ABOUT, Shown, percent
from griddesign.papers.sheets.trace import Line, Part
from griddesign.plate.spread import Cause, Spread

_SAID = (
    "R ~ size^power about the plate as drawn; all passes are taken as equally wide and thick. Metal not counted. "
    "Together: root of the sum of the squared logarithms."
)
_TITLES = ("Size", "Tolerance, power", "Ohms, share of the whole", "Source, status")


def spread_part(plate: PlateReport, shown: Shown) -> Iterator[Part]:
    """The causes of the spread, largest first in bold, and all of them together; nothing where none was worked out."""
    if plate.made is None:
        return
    spread = plate.made.spread
    widest = max((cause.share for cause in spread.causes), default=0.0)
    lines = [_line(cause, shown, bold=cause.share == widest) for cause in spread.causes]
    missing = tuple(f"Not counted: {words}." for words in spread.not_counted)
    title = f"Plate {plate.wish.name}, spread of the ohms by its making"
    yield Part(title, (*lines, *_together(spread)), (_SAID, *missing), _TITLES)


def _line(cause: Cause, shown: Shown, *, bold: bool) -> Line:
    tolerance = cause.tolerance
    size = f"{shown.of(cause.size_m, 'length', 4)} ± {shown.of(tolerance.half_m, 'length', 2)}"
    note = f"; {tolerance.note}" if tolerance.note else ""
    return Line(
        f"{tolerance.item}",
        f"{size}, power {cause.power:+.2f}".replace("-", "\u2212"),
        "",
        f"{_range(cause.low, cause.high)}; {100 * cause.share:.0f} %",
        f"{tolerance.source}, {tolerance.status}{note}",
        bold=bold,
    )


def _together(spread: Spread) -> Iterator[Line]:
    if spread.causes:
        yield Line("together", "root of the sum of squares", "", f"{ABOUT}{_range(spread.low, spread.high)}")
        yield Line(
            "worst case", "every size at its worst end", "", f"{ABOUT}{_range(spread.worst_low, spread.worst_high)}"
        )


def _range(low: float, high: float) -> str:
    return f"{percent(low)} to {'no end' if high == inf else percent(high)}"
