"""What to measure next, as the job sheet and the working sheet print it."""

from collections.abc import Iterator, Sequence
from math import isfinite

from griddesign.job.records import PaperUnits
from griddesign.judge.finding import Unknown
from griddesign.judge.measuring import advice
from griddesign.papers.blocks import Block, Heading, Points, Table
from griddesign.papers.sheets.common import firm, percent
from griddesign.papers.sheets.shown import ABOUT, Shown
from griddesign.papers.sheets.trace import Line, Part
from griddesign.papers.table import columns

MOST_ROWS = 5
NUMBERS = ("Current by", "Heat by")


def not_sure(unknowns: Sequence[Unknown], units: PaperUnits) -> Iterator[Block]:
    """The unknowns that do most, and the measurement that settles the first; nothing without any."""
    if not unknowns:
        return
    yield Heading("Not sure, and what its ends do: measure next")
    rows = tuple(
        (one.key, f"≈ {one.text}", _current(one), one.notch, _heat(one, units), one.section)
        for one in unknowns[:MOST_ROWS]
    )
    yield Table(columns("Figure", "As known", NUMBERS[0], "notch", NUMBERS[1], "section", numbers=NUMBERS), rows, 9.0)
    more = len(unknowns) - MOST_ROWS
    rest = (f"{more} more that do less stand on the working sheet.",) if more > 0 else ()
    yield Points((f"First: {advice(unknowns[0].key)}", *rest))


def measure_part(unknowns: Sequence[Unknown], units: PaperUnits) -> Part:
    """All of them, ranked, for the working sheet."""
    lines = tuple(
        Line(
            str(number),
            f"{one.key}: {one.text}",
            "",
            ABOUT + "; ".join(word for word in (_current(one), _heat(one, units)) if word),
            "; ".join(word for word in (f"notch {one.notch}" if one.notch else "", _section(one)) if word),
        )
        for number, one in enumerate(unknowns, start=1)
    )
    said = (
        "Each figure that is not sure, set to its two ends with the grid as chosen: the worst change of the current of "
        "any notch, and of the hottest moment of the section with least margin. Ranked by the share each uses up of "
        "the notch tolerance or of that margin."
        if lines
        else "No figure of the job or of its metals is unsure enough to move a current or a temperature.",
    )
    return Part("Measure next", lines, said, ("Rank", "Figure, as known", "Moves current; heat by", "Worst on"))


def _current(one: Unknown) -> str:
    return percent(one.swing).lstrip("+") if isfinite(one.swing) else firm("no start at one end")


def _heat(one: Unknown, units: PaperUnits) -> str:
    if one.heat_swing_k is None:
        return ""
    return Shown(units).margin(one.heat_swing_k) if isfinite(one.heat_swing_k) else firm("runs away")


def _section(one: Unknown) -> str:
    return f"section {one.section}" if one.section else ""
