"""The report on a claim: every figure claimed and computed, what is wrong first, empty lines to sign."""

import re
from collections.abc import Iterator

from griddesign.judge.finding import Verdict
from griddesign.papers.blocks import (
    Block,
    Box,
    Cell,
    Column,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    SignOff,
    Table,
)
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import cautions
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.papers.table import columns
from griddesign.verify.points import OF_OUR_OWN
from griddesign.verify.records import Verified, VerifyFinding

_UNIT_APART = re.compile(r"(?<=\d) (?=(?:Ω|mΩ|Ω·kg|µΩ·cm|%|°C|°F|K|A|V|kg|lb|lb/in³|mm|in|s)(?!\w))")
NUMBERS = ("Claimed", "Computed", "Weight")
WEIGHT = (
    "Weight: what an error so large uses up of the room there is, of the notch tolerance by the current it moves or of "
    "the rise a limit allows by the heat; 1 is all of it. What safety needs and is left out weighs 1.",
    "Not shown: an input is missing, or a figure rests on an estimate, or its two ends disagree. It is no accusation; "
    "the measurement beside it settles it.",
)
_BY = {
    Verdict.FAILS: "Fails",
    Verdict.NOT_SHOWN: "Not shown",
    Verdict.HOLDS: "Holds",
}


def verify_sheet(result: Verified) -> Sheet:
    """The report on one claim."""
    fails, open_points = (result.counted.get(verdict, 0) for verdict in (Verdict.FAILS, Verdict.NOT_SHOWN))
    order = "Every figure that could be computed holds. Sign, or measure what you want to see for yourself."
    if open_points:
        order = f"{_points(open_points)} not shown. Have them measured or explained in writing before ordering."
    if fails:
        said = "1 point fails" if fails == 1 else f"{fails} points fail"
        order = f"{said}. Order nothing on this claim before the supplier has answered each in writing."
    return Sheet("Report on a claim", order, "engineer", tuple(_blocks(result)))


def _points(count: int) -> str:
    return "1 point is" if count == 1 else f"{count} points are"


def _blocks(result: Verified) -> Iterator[Block]:
    claim = result.claim
    by = f" of {claim.offered_by}" if claim.offered_by else ""
    yield Paragraph(f"{claim.title}{by} (file {claim.path.name})", bold=True)
    yield KeyFigures(tuple(_key_figures(result)))
    yield cautions(0, 4)
    for verdict, title in _BY.items():
        found = [finding for finding in result.findings if finding.verdict is verdict]
        if found:
            yield Heading(f"{title}: {len(found)}")
            yield findings_table(found, Shown(result.job.paper.units))
    yield Points((*WEIGHT, *result.remarks), size_pt=9.0)
    yield Box("How it was computed", (_how(result),), size_pt=9.0)
    yield Heading("Signed")
    yield SignOff(("Verified by", "Answered by (supplier)", "Approved by (licensed person)"))


def _key_figures(result: Verified) -> Iterator[KeyFigure]:
    for verdict, title in _BY.items():
        yield KeyFigure(title, str(result.counted.get(verdict, 0)), f"of {len(result.findings)} points")


def _how(result: Verified) -> str:
    at = cold(result.job.paper.units)
    return (
        "Every claimed figure is computed again from the other figures of the claim, the job and the tables of metals, "
        f"by every way there is; ohms at {at}. A figure found wrong is put right before what hangs on it is judged, so "
        "that nothing is accused twice. Tolerances: the claim's own, else the notch tolerance of the job, "
        f"±{100 * result.job.limits.notch_tolerance:.3g}{NO_BREAK}%. Counts have none."
    )


def findings_table(findings: list[VerifyFinding], shown: Shown) -> Table:
    """Findings of one verdict; why, and what settles it, in the last column."""
    rows = tuple(_row(finding, shown) for finding in findings)
    named = columns("Point", *NUMBERS, numbers=NUMBERS)
    return Table((*named, Column("Why, and what to measure", stretch=True, least_mm=82.0)), rows, 8.5)


def _row(finding: VerifyFinding, shown: Shown) -> tuple[str | Cell, ...]:
    why = f"{finding.why}. {finding.measure_next}" if finding.measure_next else finding.why
    why = _UNIT_APART.sub(NO_BREAK, why[0].upper() + why[1:])
    item = finding.item if finding.verdict is Verdict.HOLDS else Cell(finding.item)
    numbers = (number_words(value, finding, shown) for value in (finding.claimed, finding.computed))
    return item, *numbers, f"{finding.weight:.2f}", why


def number_words(value: float | None, finding: VerifyFinding, shown: Shown) -> str:
    """A claimed or computed figure in words; a dash where there is none."""
    if value is None:
        return "–"
    if finding.kind in OF_OUR_OWN:
        return f"{value:.4g}{NO_BREAK}{OF_OUR_OWN[finding.kind]}"
    return shown.of(value, finding.kind, 4)
