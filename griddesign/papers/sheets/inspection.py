"""The inspection sheet: blanks for ohms and temperature of every plate, box and section, what they must lie between,
the insulation test, who read and when."""

from collections.abc import Iterator, Sequence
from itertools import zip_longest

from griddesign.grid.layout import Layout, Place
from griddesign.job.inspection_csv import ends_of
from griddesign.judge.inspection import PassBand, alpha_doubts, pass_bands
from griddesign.judge.records import Result
from griddesign.metals import Metal
from griddesign.metals.record import COLD_C
from griddesign.papers.blocks import (
    SMALL_PT,
    Block,
    Box,
    Cell,
    Column,
    Heading,
    NewPage,
    Paragraph,
    Points,
    Sheet,
    SignOff,
    Table,
    TableCell,
)
from griddesign.papers.sheets.common import cautions, firm, joint_words, ohm
from griddesign.papers.sheets.shown import ABOUT, Shown

IMPERATIVE = "Read cold; write ohms and metal temperature; set aside what is out of its band."
TEMPERATURES_C = (0.0, 10.0, 20.0, 30.0, 40.0)
NOT_GIVEN = "NOT GIVEN"
TEST_KEY = "limits.test_voltage"
_HOW = (
    "Four-wire: current through the eyes, voltage inside them. Leads weigh as much as a plate. Read both ways round "
    "and take the mean where plate and clip are of unlike metals.",
    "Metal, not air: hold the feeler to the strip. Let it stand overnight without current, or until two readings a "
    "quarter of an hour apart agree (common practice, no source).",
    "A box is read from its dot end to its far end, a section from tap to tap, both before any lead is connected.",
    "Between two temperatures of the table go evenly; or divide the ohms by the ratio in its last lines and compare "
    "with the column of {cold}.",
)
_OUTSIDE = "Outside its band: mark it, set it aside, and tell whoever answers for the job before a lead goes on."


def inspection_sheet(result: Result, blank_csv: str = "") -> Sheet | None:
    """The sheet for the bench; None where there is no grid. ``blank_csv``: the file the readings are typed into."""
    if result.layout is None:
        return None
    return Sheet("Inspection sheet", IMPERATIVE, "bench", tuple(_blocks(result, result.layout, blank_csv)))


def _blocks(result: Result, layout: Layout, blank_csv: str) -> Iterator[Block]:
    bands, shown = pass_bands(result, TEMPERATURES_C), Shown(result.job.paper.units)
    yield cautions(0, 1, 4)
    yield Heading("Pass bands, by the temperature of the metal")
    yield _band_table(result, bands)
    yield from _band_words(result)
    yield from (Heading("How to read"), Points(_how(result), size_pt=9.5))
    yield from (Heading("Sections, tap to tap"), _section_table(layout, bands, shown))
    yield from (Heading("Boxes, dot end to far end"), _box_table(layout, bands, shown), Paragraph(_OUTSIDE, bold=True))
    yield Heading("Plates, box by box from the dot end")
    yield from _plate_tables(layout, shown)
    yield NewPage()
    yield from _insulation(result, layout)
    yield Heading("Who and when")
    yield SignOff(("Read by", "Checked by"))
    yield _instruments()
    if blank_csv:
        yield Paragraph(
            f"Type the readings into {blank_csv}, saved under a name of its own: griddesign verify {_job(result)} FILE "
            f"judges them, griddesign retap {_job(result)} FILE sets the taps by them.",
            size_pt=SMALL_PT,
        )


def _job(result: Result) -> str:
    return result.job.path.name


def _how(result: Result) -> tuple[str, ...]:
    cold = Shown(result.job.paper.units).temperature(COLD_C)
    return tuple(words.format(cold=cold) for words in _HOW)


# --- bands -----------------------------------------------------------------------------------------------------------


def band_name(band: PassBand) -> str:
    """What is read, in words: ``plate P``, ``box 2``, ``section A``."""
    return f"{band.item} {band.name}"


def _band_table(result: Result, bands: Sequence[PassBand]) -> Table:
    shown = Shown(result.job.paper.units)
    titles = [shown.temperature(t_c) for t_c in TEMPERATURES_C]
    rows: list[tuple[TableCell, ...]] = [
        (Cell(band_name(band)), "from\nto", *(f"{ohm(low)}\n{ohm(high)}" for _, low, high in band.at)) for band in bands
    ]
    for plate in result.plates:
        if plate.count:
            metal = plate.wish.metal
            ratios = (_ratio_words(metal, t_c) for t_c in TEMPERATURES_C)
            rows.append((Cell(f"plate {plate.wish.name}"), "ratio", *ratios))
    columns = (Column("Read"), Column(""), *(Column(title, "right") for title in titles))
    return Table(columns, tuple(rows), 9.0)


def _ratio_words(metal: Metal, t_c: float) -> str:
    """R(T)/R(20), marked where it rests on an alpha that is not sure."""
    return f"{ABOUT if metal.alpha20.weak and t_c != COLD_C else ''}{float(metal.ratio(t_c)):.4f}"


def _band_words(result: Result) -> Iterator[Block]:
    tolerance = 100.0 * result.job.limits.notch_tolerance
    words = (
        f"From the notch tolerance, ±{tolerance:.3g} %, shared out: parts that all lie in their bands bring every "
        "notch into its own. The band is the grid's, not what the foundry happens to deliver."
    )
    yield Paragraph(words, size_pt=SMALL_PT)
    shown = Shown(result.job.paper.units)
    for doubt in alpha_doubts(result, TEMPERATURES_C[-1]):
        if doubt.share >= 0.0005:
            yield Paragraph(
                f"≈ How ohms rise in {doubt.metal.name} is not sure: at {shown.temperature(doubt.t_c)} the band may "
                f"lie {firm(f'{100 * doubt.share:.1f} %')} higher or lower. Read near {shown.temperature(20.0)}.",
                bold=True,
                size_pt=SMALL_PT,
            )


# --- blanks ----------------------------------------------------------------------------------------------------------


def _read(shown: Shown) -> tuple[Column, ...]:
    """Blanks for what is read of a section or a box."""
    return (
        Column("Ohms read", blank=True, least_mm=26.0),
        Column(f"Metal, {shown.degree_sign()}", blank=True, least_mm=17.0),
        Column("Ohms cold", blank=True, least_mm=24.0),
        Column("Pass", blank=True, least_mm=12.0),
    )


_EMPTY = ("", "", "", "")


def _section_table(layout: Layout, bands: Sequence[PassBand], shown: Shown) -> Table:
    found = {band.name: band for band in bands if band.item == "section"}
    rows = tuple(
        (Cell(one.name), *_ends(layout, one.name), *_accept(found[one.name]), *_EMPTY) for one in layout.sections
    )
    titles = (Column("Section"), Column("From"), Column("To"))
    return Table((*titles, *_ACCEPT, *_read(shown)), rows, 9.5)


def _ends(layout: Layout, section: str) -> tuple[str, str]:
    first, last = ends_of(layout, section)
    return _joint(layout, first, first.position - 1), _joint(layout, last, last.position)


def _joint(layout: Layout, place: Place, after: int) -> str:
    where = joint_words((after, after + 1), len(layout.in_box(place.box))).partition(",")[0]
    return f"{firm(f'box {place.box}')}, {firm(where)}"


_ACCEPT = (Column("Cold, from", "right"), Column("to", "right"))


def _accept(band: PassBand) -> tuple[str, str]:
    return ohm(band.low_ohm), ohm(band.high_ohm)


def _box_table(layout: Layout, bands: Sequence[PassBand], shown: Shown) -> Table:
    rows = tuple(
        (Cell(f"box {band.name}"), f"1 to {len(layout.in_box(int(band.name)))}", *_accept(band), *_EMPTY)
        for band in bands
        if band.item == "box"
    )
    return Table((Column("Box"), Column("Plates"), *_ACCEPT, *_read(shown)), rows, 9.5)


_ABREAST = 3  # plates to a line; two where each has its kind beside it
_MOST_LINES = 18  # of one table, so that it stands on one page


def _plate_tables(layout: Layout, shown: Shown) -> Iterator[Table]:
    """Each box by itself, plates counted down its columns, never across the end of a page."""
    read = (
        Column("Ohms read", blank=True, least_mm=24.0),
        Column(f"Metal, {shown.degree_sign()}", blank=True, least_mm=14.0),
        Column("✓", blank=True, least_mm=9.0),
    )
    several = len({place.kind for place in layout.places}) > 1
    abreast = _ABREAST - several
    for box in range(1, layout.boxes + 1):
        names = [f"{place.position}{f' ({place.kind})' if several else ''}" for place in layout.in_box(box)]
        for start in range(0, len(names), abreast * _MOST_LINES):
            rows = _plate_rows(names[start : start + abreast * _MOST_LINES], abreast)
            yield Table((Column(firm(f"Box {box}")), *read) * abreast, rows, 9.5, whole=True)


def _plate_rows(names: Sequence[str], abreast: int) -> tuple[tuple[TableCell, ...], ...]:
    high = -(-len(names) // abreast)
    parts = (names[start : start + high] for start in range(0, abreast * high, high))
    lines = zip_longest(*parts, fillvalue="")
    return tuple(tuple(cell for name in line for cell in (Cell(name), "", "", "")) for line in lines)


# --- insulation ------------------------------------------------------------------------------------------------------


def voltage_words(result: Result) -> str:
    """The test voltage with its clause, both the user's own."""
    volts = result.job.limits.test_voltage_v
    if volts is None:
        return (
            f"Test voltage: {NOT_GIVEN}. Clause: {NOT_GIVEN}. Nothing is applied until a licensed person has set both "
            '(job: test_voltage = { value = "…", source = "…" } under [limits]).'
        )
    figure = result.job.figures.get(TEST_KEY)
    clause = figure.source if figure is not None and figure.source else NOT_GIVEN
    return f"Test voltage: {Shown(result.job.paper.units).of(volts, 'voltage', 4)}. Clause: {clause}."


_TEST_CAUTION = (
    "HIGH VOLTAGE, by qualified persons only: every lead off, frames earthed, the place fenced off, the bank "
    "discharged and verified dead before it is touched again. Between all plates joined together and the frames."
)


def _insulation(result: Result, layout: Layout) -> Iterator[Block]:
    yield Box("Insulation test", (voltage_words(result), _TEST_CAUTION), heavy=True, size_pt=10.0)
    columns = (
        Column("Grid to frame", stretch=True),
        Column("Applied", blank=True, least_mm=28.0),
        Column("Held for", blank=True, least_mm=24.0),
        Column("Leakage or MΩ", blank=True, least_mm=34.0),
        Column("Pass", blank=True, least_mm=14.0),
    )
    names = (*(f"box {box}" for box in range(1, layout.boxes + 1)), "whole bank, as mounted")
    yield Table(columns, tuple((Cell(name), "", "", "", "") for name in names), 9.5)


def _instruments() -> Table:
    columns = (Column("Instrument", stretch=True), *(Column(t, blank=True, least_mm=42.0) for t in _ASKED))
    rows = tuple((name, "", "", "") for name in ("Ohmmeter", "Thermometer", "Insulation tester"))
    return Table(columns, rows, 9.5)


_ASKED = ("Type, number", "Good until", "Room at, humidity")
