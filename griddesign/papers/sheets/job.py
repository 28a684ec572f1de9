"""The job sheet: what is made, for which car, what to mind, what is still open, who signs."""

from collections.abc import Iterator, Mapping

from griddesign.judge.heat_cases import deciding
from griddesign.judge.records import Finding, Result, Verdict
from griddesign.papers.blocks import Block, Box, Cell, Heading, KeyFigure, KeyFigures, Points, Sheet, SignOff, Table
from griddesign.papers.sheets.common import PROVISIONAL, ampere, cautions, mass, ohm, percent
from griddesign.papers.sheets.measure import not_sure
from griddesign.papers.table import columns
from griddesign.traction.records import Ladder
from griddesign.units import show

SHIELD = (
    "Heat shield between grid and timber: type and distance to be entered by the shop. Shield fitted, distance "
    "measured: ________ (timber is judged unshielded, where [limits] timber names a limit and a distance)."
)


def job_sheet(result: Result) -> Sheet:
    """The sheet that goes on top of the set."""
    return Sheet("Job sheet", _order(result), "engineer", tuple(_blocks(result)), _across(result))


def _across(result: Result) -> tuple[str, ...]:
    return (PROVISIONAL,) if result.provisional and result.layout else ()


def _order(result: Result) -> str:
    open_points = sum(finding.verdict is not Verdict.HOLDS for finding in result.findings)
    if open_points == 1:
        return "1 point is open. Settle it before anything is made from this set."
    if open_points:
        return f"{open_points} points are open. Settle them before anything is made from this set."
    return "Read the cautions, check that revision and fingerprint agree on every sheet, then sign."


def _blocks(result: Result) -> Iterator[Block]:
    yield KeyFigures(tuple(_key_figures(result)))
    yield cautions()
    yield from _findings(result)
    if result.remarks:
        yield Heading("Remarks")
        yield Points(result.remarks)
    yield from not_sure(result.measure_next, result.job.paper.units)
    shield = (SHIELD,) if result.layout else ()
    yield Box("Not checked: no limit was given, or nothing was worked out", (_not_checked(result), *shield))
    yield Heading("Signed")
    yield SignOff(("Worked out by", "Checked by", "Approved by (licensed person)"))


def _key_figures(result: Result) -> Iterator[KeyFigure]:
    design = result.worked.design if result.worked else None
    if design:
        plates = sum(section.plates for section in design.sections)
        boxes = "1 box" if design.boxes == 1 else f"{design.boxes} boxes"
        kinds = "all of one kind" if len(design.kinds) == 1 else f"of {len(design.kinds)} kinds"
        yield KeyFigure("Plates in circuit", f"{plates}", f"in {boxes}, {kinds}")
    for plate in result.plates:
        remark = f"{plate.wish.metal.name}, {plate.wish.made_by}"
        yield KeyFigure(f"Plate {plate.wish.name}, cold", ohm(plate.order_ohm), remark)
    yield from _car_figures(result)
    yield from _heat_figures(result)
    if design:
        total = sum(plate.count * plate.figures.mass_kg for plate in result.plates)
        yield KeyFigure("Mass of the plates", mass(result, total), "without rods, frames, washers")


def _car_figures(result: Result) -> Iterator[KeyFigure]:
    job = result.job
    if job.line:
        volts = show(job.line.nominal_v, "voltage"), show(job.line.highest_v, "voltage")
        yield KeyFigure("Line", volts[0], f"highest {volts[1]}")
    if result.worked and isinstance(result.worked.wanted, Ladder) and job.start:
        valley = ampere(result.worked.wanted.valley_a)
        yield KeyFigure("Peak current", ampere(job.start.peak_a), f"A per motor; notch up at {valley}")
    if result.notches:
        worst = max(result.notches, key=lambda notch: abs(notch.error))
        allowed = f"notch {worst.name}; allowed ±{100 * job.limits.notch_tolerance:.3g} %"
        yield KeyFigure("Worst notch", percent(worst.error), allowed)


def _heat_figures(result: Result) -> Iterator[KeyFigure]:
    rows = deciding(result.heat)
    if rows:
        worst = min(rows, key=lambda row: row.margin_k)
        units = result.job.paper.units
        reached = show(worst.hot_c, "temperature", units=units) if worst.hot_c < 3000 else "runs away"
        limit = show(worst.limit_c, "temperature", units=units)
        yield KeyFigure("Hottest section", f"{worst.section}: {reached}", f"limit {limit}; {worst.case}, worst end")


def _findings(result: Result) -> Iterator[Block]:
    yield Heading("Findings")
    rows = sorted(_alike_as_one(result), key=lambda finding: _RANK[finding.verdict])
    yield Table(columns("Point", "Verdict", "Why"), tuple(_row(finding) for finding in rows), 9.0)


def _alike_as_one(result: Result) -> list[Finding]:
    """The findings; of many alike that hold only the closest one, as every one stands on the notch or heat sheet."""
    findings = list(result.findings)
    notches = {f"notch {notch.name}, ohms": abs(notch.error) for notch in result.notches}
    findings = _closest(findings, f"all {len(notches)} notches, ohms", notches)
    rows = deciding(result.heat)
    for case in dict.fromkeys(row.case for row in rows):
        margins: dict[str, float] = {}
        for item, row in ((f"section {row.section}, {case}", row) for row in rows if row.case == case):
            margins[item] = max(margins.get(item, -row.margin_k), -row.margin_k)
        findings = _closest(findings, f"all {len(margins)} sections, {case}", margins)
    return findings


def _closest(findings: list[Finding], item: str, use: Mapping[str, float]) -> list[Finding]:
    """All findings named in ``use`` as one, if every one of three or more holds: the one that uses up most."""
    alike = [finding for finding in findings if finding.item in use]
    if len(alike) < _FEW or any(finding.verdict is not Verdict.HOLDS for finding in alike):
        return findings
    worst = max(alike, key=lambda finding: use[finding.item])
    name = worst.item.partition(",")[0]
    at = findings.index(alike[0])
    one = Finding(item, Verdict.HOLDS, f"closest is {name}: {worst.why}")
    return [*findings[:at], one, *(finding for finding in findings[at:] if finding.item not in use)]


_FEW = 3
_RANK = {Verdict.FAILS: 0, Verdict.NOT_SHOWN: 1, Verdict.HOLDS: 2}


def _row(finding: Finding) -> tuple[str | Cell, ...]:
    word = str(finding.verdict)
    why = f"{finding.why}. {finding.measure_next}" if finding.measure_next else finding.why
    return finding.item, word if finding.verdict is Verdict.HOLDS else Cell(word.upper()), why


def _not_checked(result: Result) -> str:
    return "NOT CHECKED: " + ", ".join(result.not_checked) + "." if result.not_checked else "Every part has a limit."
