"""The as-left record: what the inspector read, brought to 20 degC, beside what is accepted. One page where it fits."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from griddesign.judge.finding import Verdict
from griddesign.papers.blocks import (
    Block,
    Cell,
    Paragraph,
    Points,
    Sheet,
    SignOff,
    Table,
)
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import DANGER, firm, ohm, percent
from griddesign.papers.sheets.shown import Shown
from griddesign.papers.table import columns
from griddesign.verify.inspection import Inspected, Left

_IN_A_LINE, MOST_SAID = 10, 6


def as_left_sheet(result: Inspected) -> Sheet:
    """The record to file with the grid."""
    fails, open_points = (result.counted.get(verdict, 0) for verdict in (Verdict.FAILS, Verdict.NOT_SHOWN))
    order = "All readings are accepted. Sign, and keep this record with the grid."
    if fails or open_points:
        order = f"{fails} fail, {open_points} not shown: the grid does not go on the car like this."
    return Sheet("As-left record", order, "bench", tuple(_blocks(result)))


def _blocks(result: Inspected) -> Iterator[Block]:
    shown = Shown(result.job.paper.units)
    plates = [one for one in result.left if one.name.startswith("plate ")]
    yield Paragraph(_counted(result, plates), bold=True)
    whole = [one for one in result.left if one.band is not None and one not in plates]
    if whole:
        rows = tuple(_row(one, shown) for one in whole)
        numbers = ("Read", "Metal at", f"At {cold(shown.units)}", "Off", "Accepted")
        yield Table(columns("What", *numbers, "Verdict", "Remarks", numbers=numbers), rows, 8.5, ruled=False)
    if plates:
        titles = columns("Cold, mΩ", *(str(n) for n in range(1, _IN_A_LINE + 1)))
        yield Table(titles, tuple(_lines(plates)), 8.0, ruled=False)
    yield from _said(result)
    yield Paragraph(f"{DANGER[0]} {DANGER[4]}", bold=True, size_pt=8.5)
    yield SignOff(("Measured by", "Approved by (licensed)"))


def _said(result: Inspected) -> Iterator[Block]:
    """What is open, the worst first; what the insulation stood; remarks from the sheet."""
    open_points = [one for one in result.findings if one.verdict is not Verdict.HOLDS]
    words = [f"{str(one.verdict).upper()}: {one.item}: {one.why}. {one.measure_next}" for one in open_points]
    said, rest = words[:MOST_SAID], words[MOST_SAID:]
    stood = [f"{one.name}: {one.finding.why}" for one in result.left if one.name.startswith("insulation")]
    stood = [word for word in stood if not any(word in other for other in said)]
    more = sum(not any(word in other for word in stood) for other in rest)
    words = said + stood + ([f"{more} more in findings.json"] if more else [])
    remarks = [f"{one.name}: {one.row.remarks}" for one in result.left if one.row.remarks]
    words += [f"remarks: {'; '.join(remarks)}"] if remarks else []
    if words:
        yield Points(tuple(words), size_pt=8.5)


def _counted(result: Inspected, plates: Sequence[Left]) -> str:
    """The whole sheet in one line."""
    holds, fails, unknown = (result.counted.get(verdict, 0) for verdict in Verdict)
    held = sum(one.finding.verdict is Verdict.HOLDS for one in plates)
    of_plates = f"; {held} of {len(plates)} plates accepted" if plates else ""
    points = f"{holds} hold, {fails} fail, {unknown} not shown"
    return f"{len(result.left)} readings ({result.inspection.path.name}): {points}{of_plates}."


def _row(one: Left, shown: Shown) -> tuple[str | Cell, ...]:
    assert one.band is not None
    cold = "open" if one.cold_ohm is None else ohm(one.cold_ohm.value)
    off = "" if one.cold_ohm is None else percent(one.cold_ohm.value / one.band.ohm - 1.0)
    word = str(one.finding.verdict)
    return (
        one.name,
        "open" if one.row.ohm is None else ohm(one.row.ohm),
        shown.of(one.row.t_c, "temperature", 3),
        cold,
        off,
        shown.range(one.band.low_ohm, one.band.high_ohm, "resistance", 4),
        word if one.finding.verdict is Verdict.HOLDS else Cell(word.upper()),
        one.row.remarks,
    )


def _lines(plates: Sequence[Left]) -> Iterator[tuple[str | Cell, ...]]:
    """The plates from the dot end of each box, every box on lines of its own."""
    for _, group in groupby(plates, key=lambda one: one.row.box):
        inside = list(group)
        for first in range(0, len(inside), _IN_A_LINE):
            some = inside[first : first + _IN_A_LINE]
            cells = [_milliohm(one) for one in some] + [""] * (_IN_A_LINE - len(some))
            yield firm(some[0].name.removeprefix("plate ") + " on"), *cells


def _milliohm(one: Left) -> str | Cell:
    words = "open" if one.cold_ohm is None else f"{1000 * one.cold_ohm.value:.2f}"
    return words if one.finding.verdict is Verdict.HOLDS else Cell(f"{words}!")
