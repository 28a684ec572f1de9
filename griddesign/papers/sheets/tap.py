"""The tap sheet: where every section begins and ends, which lead goes where, and the ohms to be read before it does."""

from collections.abc import Iterator

from griddesign.grid.layout import Layout
from griddesign.grid.records import SectionBuild, Tap
from griddesign.grid.stack.clamps import link_label
from griddesign.grid.taps import out_of_reach
from griddesign.judge.records import Result, SectionBand
from griddesign.judge.stacking import StackReport
from griddesign.papers.blocks import Block, Box, Cell, Column, Heading, Paragraph, Sheet, Table
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import PROVISIONAL, cautions, firm, joint_words, ohm
from griddesign.papers.sheets.leads import COUNT_FROM, mark_of

NEXT_STEP = (
    "These plates are castings nobody has measured yet. Measure every plate (four-wire, cold), then set the taps from "
    "the readings: griddesign retap JOB PLATES.csv gives the taps that suit them best."
)


def tap_sheet(result: Result) -> Sheet | None:
    """The sheet for the bench; None where there is no grid yet."""
    if result.layout is None:
        return None
    order = "Find the paint dot. Set every tap as listed, measure each section cold, then connect the leads."
    across = (PROVISIONAL,) if result.provisional else ()
    return Sheet("Tap sheet", order, "bench", tuple(_blocks(result, result.layout)), across)


def _blocks(result: Result, layout: Layout) -> Iterator[Block]:
    yield cautions(0, 2, 4)
    if result.provisional:
        yield Box("Provisional", (NEXT_STEP,), heavy=True)
    yield Paragraph(COUNT_FROM, bold=True)
    yield Heading("Sections")
    yield _sections(result, layout)
    yield Paragraph(
        f"Limits at {cold(result.job.paper.units)} of the metal, from the notch tolerance shared out. A reading at "
        "another temperature must be corrected first.",
        size_pt=9.0,
    )
    yield Heading("Taps")
    yield _taps(result, layout)
    yield Paragraph(_LEADS_NOTE, size_pt=9.0)
    yield from _links(result)
    yield from _unreachable(result, layout)


def _sections(result: Result, layout: Layout) -> Table:
    bands = {band.name: band for band in result.bands}
    columns = (
        Column("Section", least_mm=17.0),
        Column("Plates", "right", least_mm=14.0),
        Column("Joined"),
        Column("From"),
        Column("To"),
        Column("Ohms, cold", "right"),
        Column("Accept from", "right"),
        Column("to", "right"),
        Column("Measured", blank=True, least_mm=20.0),
    )
    rows = tuple(_section(section, bands[section.name], layout) for section in layout.sections)
    return Table(columns, rows, 9.5)


def _section(section: SectionBuild, band: SectionBand, layout: Layout) -> tuple[str | Cell, ...]:
    places = layout.of_section(section.name)
    first, last = places[0], places[-1]
    joined = "one by one" if section.in_parallel == 1 else f"{section.in_parallel} side by side"
    return (
        Cell(section.name),
        str(section.plates),
        joined,
        f"{firm(f'box {first.box},')} {firm(f'plate {first.position}')}",
        f"{firm(f'box {last.box},')} {firm(f'plate {last.position}')}",
        ohm(section.cold_ohm),
        ohm(band.accept_low_ohm),
        ohm(band.accept_high_ohm),
        "",
    )


def _taps(result: Result, layout: Layout) -> Table:
    report = result.stack
    design = result.worked.design if result.worked else None
    known = bool(report and report.terminals)
    columns = (
        Column("Mark"),
        Column("Tap"),
        Column("Box", "right"),
        Column("Where", stretch=True),
        Column("Side"),
        Column("Plates before", "right"),
        Column("Controller terminal", blank=not known, least_mm=22.0),
        Column("Lead fitted", blank=True, least_mm=15.0),
    )
    marks = mark_of(report) if report else {}
    rows = tuple(
        (Cell(marks.get(tap.name, "")), *_tap(tap, layout), _terminals(report, tap), "")
        for tap in (design.taps if design else ())
    )
    return Table(columns, rows, 10.0)


def _tap(tap: Tap, layout: Layout) -> tuple[str | Cell, ...]:
    where = joint_words(tap.joint, len(layout.in_box(tap.box)))
    return Cell(tap.name), str(tap.box), where, tap.side, str(tap.after_plate)


def _terminals(report: StackReport | None, tap: Tap) -> str:
    """The controller's terminals by the user's labels; left to be written in where no lead list is given."""
    if report is None or not report.terminals:
        return ""
    return ", ".join(report.terminals.get(tap.name, ())) or "none"


_LEADS_NOTE = (
    "Mark both ends of every lead with the tap's mark and the terminal's label before it is bent in. Marks are those "
    "of the drawings of the boxes."
)


def _links(result: Result) -> Iterator[Block]:
    """Box to box. Where the chain is parted between two boxes there is none."""
    report = result.stack
    if report is None or not report.links:
        return
    marks = mark_of(report)
    yield Heading("Links from box to box")
    rows = tuple(
        (
            Cell(marks[link_label(link)]),
            f"box {link.from_box}, far end",
            link.side,
            f"box {link.to_box}, dot end",
            "terminal side",
            link.inside_section or "between sections",
        )
        for link in report.links
    )
    titles = ("Mark", "From", "Side", "To", "Side there", "In section")
    yield Table(tuple(Column(title) for title in titles), rows, 10.0)


def _unreachable(result: Result, layout: Layout) -> Iterator[Block]:
    design = result.worked.design if result.worked else None
    far = out_of_reach(layout, design.taps) if design else ()
    if far:
        named = ", ".join(tap.name for tap in far)
        yield Box("Out of reach", (f"On the far side, where no lead reaches: {named}. Change the counts.",), heavy=True)
