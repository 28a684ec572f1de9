"""The field sheet: where the current runs and crowds in a plate, how sure its ohms are, and what they rest on."""

from collections.abc import Iterator
from dataclasses import replace

from griddesign.figures import Figure, Status
from griddesign.job.records import PaperUnits
from griddesign.judge.records import PlateReport, Result
from griddesign.papers import frame
from griddesign.papers.blocks import (
    Beside,
    Block,
    Cell,
    Column,
    Drawing,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    Stamp,
    Table,
)
from griddesign.papers.cold import cold
from griddesign.papers.field_drawing import STEPS, NamedRegion, draw_field, draw_hot_spot
from griddesign.papers.outlined_json import OutlineReport
from griddesign.papers.outlined_lines import (
    CAUSES,
    FIRST_OFF,
    change_rows,
    order_words,
    rule_rows,
    share_words,
    spot_words,
    strip_words,
    thick_words,
    uneven_words,
)
from griddesign.papers.sheets.common import cautions, firm, ohm
from griddesign.plate.drawn_field import DrawnField, drawn_field
from griddesign.plate.foreign import sentences
from griddesign.plate.foreign.frame import Frame
from griddesign.plate.kerf import kerf_mark, kerf_words
from griddesign.plate.outlined import Doubt, SolvedOutline, doubts, solve_outline
from griddesign.plate.uneven import laid_out
from griddesign.units import show

_CAPTION_MM = 9.0
READ_FIRST = "First compare unit, holes and terminals with the drawing."
CHECK = "See where the current crowds: there a plate burns through first."


def outline_sheet(report: OutlineReport, stamp: Stamp) -> Sheet:
    """The sheet of a plate read from somebody's drawing."""
    empty = Sheet("Field sheet", READ_FIRST, "engineer", ())
    solved, units = report.solved, report.units
    blocks = (
        *_field(solved, frame.room_high_mm(empty, stamp), report.said(solved.figures.hot_spot.at_m), units),
        *_order(report),
        *_thickness(report),
        *_rules(report),
        Heading("Holes"),
        _holes(report, units),
        Paragraph(_cutting_words(report), size_pt=10.0),
        Heading("What was read, and what was done to it"),
        Points(sentences(report.read), size_pt=10.0),
        cautions(0, 1, 4),
    )
    return replace(empty, blocks=blocks)


def _rules(report: OutlineReport) -> Iterator[Block]:
    """The narrow places against the rules of the process, where it is said how the plate is made."""
    if not report.solved.rules:
        return
    titles, numbers = ("What", "found", "where", "at least", "The rule"), ("found", "at least")
    columns = (Column(title, "right" if title in numbers else "left") for title in titles)
    rows = tuple(
        (item, firm(found), at, firm(limit), verdict if verdict == "keeps it" else Cell(verdict))
        for item, found, at, limit, verdict in rule_rows(report)
    )
    yield Heading("Against the rules of its making")
    yield Table(tuple(columns), rows, 10.0)


def _cutting_words(report: OutlineReport) -> str:
    """What the DXF files beside the sheet are to a cutter."""
    nominal = f"The file _solved.dxf is {kerf_words(None)}."
    if report.kerf is None:
        return nominal
    offset = kerf_words(report.kerf.value, report.units)
    return f"{nominal} The file {kerf_mark(report.kerf.value)}_cut.dxf is {offset}: cut that one with compensation off."


def _order(report: OutlineReport) -> Iterator[Block]:
    """What was wanted of an order, what gave way, and what else changes."""
    if report.order is None:
        return
    columns = (Column("What changes"), Column("as drawn", "right"), Column("ordered", "right"))
    yield Heading("Ordered by its ohms")
    yield Paragraph(f"{order_words(report.order, report.units)}. {FIRST_OFF[report.order.wish.made_by == 'cast']}")
    yield Table(columns, tuple(change_rows(report.order, report.units)), 10.0)


def _thickness(report: OutlineReport) -> Iterator[Block]:
    """Regions and readings, where the plate is not of one thickness."""
    if report.solved.figures.uneven is None:
        return
    yield Heading("Thickness")
    nominal = firm(show(report.solved.figures.thickness.value, "length", digits=4, units=report.units))
    if report.solved.figures.uneven.readings:
        yield Paragraph(f"Mean {nominal}. {uneven_words(report)}. The plate is reckoned as a sheet.", size_pt=10.0)
        return
    yield Paragraph(
        f"Outside all regions {nominal}. {uneven_words(report)}. The plate is reckoned as a sheet: what a step of the "
        "thickness adds because the current spreads through it stands as a line of its own above.",
        size_pt=10.0,
    )


def plate_field_sheet(result: Result, plate: PlateReport, stamp: Stamp) -> Sheet:
    """The sheet of one kind of plate of a job, solved afresh from its outline: a second way to its ohms."""
    thickness = Figure.exact(plate.figures.effective_thickness_m, Status.DERIVED, "effective section of the strip")
    solved = solve_outline(plate.outline, plate.wish.metal, thickness)
    empty = Sheet(f"Field sheet {plate.wish.name}", CHECK, "engineer", ())
    units = result.job.paper.units
    at = Frame("inch" if units == "inch" else "mm").said(solved.figures.hot_spot.at_m)
    blocks = (
        *_field(solved, frame.room_high_mm(empty, stamp), at, units),
        Paragraph(
            "Solved from the outline alone; straights and constants of bends and eyes, by which the plate is ordered, "
            f"give {ohm(plate.figures.cold_ohm, 6)}. Origin: lower left corner of the passes."
        ),
        cautions(0, 1, 4),
    )
    return replace(empty, blocks=blocks)


def _field(solved: SolvedOutline, room_high_mm: float, hot_at: str, units: PaperUnits) -> Iterator[Block]:
    """The drawing as large as a page allows, then the figures. ``hot_at`` in the axes it speaks of."""
    field = drawn_field(solved.solution)
    yield _drawing(solved, field, room_high_mm, units)
    yield _key_figures(solved, units)
    yield from _sureness(solved, units)
    yield from _hot_spot(solved, field, hot_at, units)


def _drawing(solved: SolvedOutline, field: DrawnField, room_high_mm: float, units: str) -> Drawing:
    figures = solved.figures
    room_mm = (frame.LIVE_WIDE_MM, room_high_mm - _CAPTION_MM)
    regions = _regions(solved, units)
    drawing = draw_field(
        solved.outline, field, figures.hot_spot.at_m, room_mm, figures.washer_m, figures.clamps, regions
    )
    dashed = " Short dashes: there the thickness steps." if regions else ""
    return Drawing(
        drawing.picture,
        f"Scale {drawing.scale}. Lines: {STEPS} equal steps of voltage from terminal to terminal.{dashed}",
    )


def _regions(solved: SolvedOutline, units: str) -> list[NamedRegion]:
    """The regions with their thickness, each at a place in its metal."""
    uneven = solved.figures.uneven
    if uneven is None:
        return []
    laid = laid_out(uneven, solved.figures.thickness.value, solved.outline)
    found = []
    for region in uneven.regions:
        spot = next(one for one in laid if one.name == region.name).metal.representative_point()
        name = f"{region.name}, {firm(thick_words(region.thickness, units))}"
        found.append(NamedRegion(name, region.loops, (spot.x, spot.y)))
    return found


def _key_figures(solved: SolvedOutline, units: PaperUnits) -> KeyFigures:
    figures, spot = solved.figures, solved.figures.hot_spot
    return KeyFigures(
        (
            KeyFigure(
                f"Ohms at {cold(units)}", ohm(figures.cold_ohm, 5), f"{solved.metal.name}, {_thick(solved, units)}"
            ),
            KeyFigure("Squares", f"{figures.squares:.3f}", "length over width, bends and eyes counted"),
            KeyFigure("Mass", firm(show(figures.mass_kg, "mass", digits=4, units=units)), "bare plate"),
            KeyFigure("Hot spot", "unbounded" if spot.unbounded else f"{spot.ratio:.2f} × mean", CAUSES[spot.cause]),
        )
    )


def _thick(solved: SolvedOutline, units: PaperUnits) -> str:
    uneven = solved.figures.uneven
    thick = f"{firm(show(solved.figures.thickness.value, 'length', digits=3, units=units))} thick"
    return thick if uneven is None else f"{thick}{', tapers' if uneven.readings else ' but for regions'}"


def _sureness(solved: SolvedOutline, units: PaperUnits) -> Iterator[Block]:
    """Calculation, metal, making, the largest bold; the terminals, which move the answer."""
    every = doubts(solved)
    widest = max(every, key=lambda doubt: doubt.span)
    rows = tuple(_row(doubt, solved.figures.cold_ohm, bold=doubt is widest) for doubt in every)
    titles = ("From", "low", "high", f"Ohms at {cold(units)}", "What it is")
    columns = tuple(Column(title, "right" if title in ("low", "high") else "left") for title in titles)
    yield Heading("How sure the ohms are")
    yield Table(columns, rows, 10.0)
    yield Paragraph(f"{solved.figures.terminal_model} As a straight strip: {strip_words(solved, units)}.", size_pt=10.0)


def _hot_spot(solved: SolvedOutline, field: DrawnField, hot_at: str, units: PaperUnits) -> Iterator[Block]:
    figures = solved.figures
    detail = draw_hot_spot(solved.outline, field, figures.hot_spot.at_m, figures.mean_width_m, figures.squares)
    words = spot_words(figures.hot_spot, hot_at, units)
    others = " Other corners like it need the same." if figures.hot_spot.fillet_m is not None else ""
    text = f"Peak current density: {words}.{others} The mean is the current over the mean width."
    caption = f"Scale {detail.scale}. Lines: 1/{detail.steps} of the voltage. Greys as on the drawing."
    yield Heading("Where the current crowds")
    yield Beside((Paragraph(text),), (Drawing(detail.picture, caption),), 0.5)


def _row(doubt: Doubt, cold_ohm: float, *, bold: bool) -> tuple[str | Cell, ...]:
    if doubt.low is None or doubt.high is None:
        return doubt.name, "", "", "not computed", doubt.why.removeprefix("not computed: ")
    ends = (ohm((1 + share) * cold_ohm, 6 if doubt.span < 0.01 else 4) for share in (doubt.low, doubt.high))
    shares = (firm(share_words(doubt, share)) for share in (doubt.low, doubt.high))
    words = (doubt.name, *shares, " to ".join(ends), doubt.why)
    return tuple(map(Cell, words)) if bold else words


def _holes(report: OutlineReport, units: PaperUnits) -> Table:
    titles = ("Hole", "x", "y", "diameter", "shape", "use")
    numbers = ("x", "y", "diameter")
    rows = tuple(
        (
            hole.name,
            *(firm(show(m, "offset", digits=4, units=units)) for m in hole.centre_m),
            firm(show(hole.diameter_m, "length", digits=4, units=units)),
            "round" if hole.is_round else "not round: diameter of the same area",
            Cell("terminal") if hole.is_terminal else "carries no current",
        )
        for hole in report.read.holes
    )
    columns = tuple(Column(title, "right" if title in numbers else "left") for title in titles)
    return Table(columns, rows, 10.0)
