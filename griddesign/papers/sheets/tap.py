"""The tap sheet: where every section begins and ends, which lead goes where, and the ohms to be read before it does."""

from collections.abc import Iterator

from griddesign.grid.layout import Layout, box_links
from griddesign.grid.records import SectionBuild, Tap
from griddesign.grid.taps import out_of_reach
from griddesign.judge.records import Result, SectionBand
from griddesign.papers.blocks import Block, Box, Cell, Column, Heading, Paragraph, Sheet, Table
from griddesign.papers.sheets.common import PROVISIONAL, cautions, joint_words, ohm

COUNT_FROM = (
    "Count plates from the end frame with the paint dot, seen from the terminal side. "
    "Counting from the wrong end is how boxes get wired end for end."
)
NEXT_STEP = (
    "These plates are castings nobody has measured yet. Measure every plate (four-wire, cold), then set the taps from "
    "the readings: griddesign retap, in a later version; until then by adding up the readings so that every section "
    "falls into its limits below."
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
        "Limits at 20 °C of the metal, from the notch tolerance shared out. A reading at another temperature must be "
        "corrected first.",
        size_pt=9.0,
    )
    yield Heading("Taps")
    yield _taps(result, layout)
    yield from _links(layout)
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
        f"box {first.box}, plate {first.position}",
        f"box {last.box}, plate {last.position}",
        ohm(section.cold_ohm),
        ohm(band.accept_low_ohm),
        ohm(band.accept_high_ohm),
        "",
    )


def _taps(result: Result, layout: Layout) -> Table:
    design = result.worked.design if result.worked else None
    taps = design.taps if design else ()
    columns = (
        Column("Tap"),
        Column("Box", "right"),
        Column("Where", stretch=True),
        Column("Side"),
        Column("Plates before", "right"),
        Column("Lead fitted", blank=True, least_mm=24.0),
    )
    return Table(columns, tuple(_tap(tap, layout) for tap in taps), 10.0)


def _tap(tap: Tap, layout: Layout) -> tuple[str | Cell, ...]:
    where = joint_words(tap.joint, len(layout.in_box(tap.box)))
    return Cell(tap.name), str(tap.box), where, tap.side, str(tap.after_plate), ""


def _links(layout: Layout) -> Iterator[Block]:
    links = box_links(layout)
    if not links:
        return
    yield Heading("Links from box to box")
    rows = tuple(
        (
            f"box {link.from_box}, far end",
            link.side,
            f"box {link.to_box}, dot end",
            "terminal side",
            link.inside_section or "between sections",
        )
        for link in links
    )
    titles = ("From", "Side", "To", "Side there", "In section")
    yield Table(tuple(Column(title) for title in titles), rows, 10.0)


def _unreachable(result: Result, layout: Layout) -> Iterator[Block]:
    design = result.worked.design if result.worked else None
    far = out_of_reach(layout, design.taps) if design else ()
    if far:
        named = ", ".join(tap.name for tap in far)
        yield Box("Out of reach", (f"On the far side, where no lead reaches: {named}. Change the counts.",), heavy=True)
