"""The plate sheet: the dimensioned drawing of one kind of plate, and what it is ordered and accepted by."""

from collections.abc import Iterator

from griddesign.judge.records import PlateReport, Result
from griddesign.papers import frame
from griddesign.papers.blocks import (
    Block,
    Box,
    Column,
    Drawing,
    Hand,
    Heading,
    KeyFigure,
    KeyFigures,
    NewPage,
    Paragraph,
    Points,
    Sheet,
    Table,
)
from griddesign.papers.plate_drawing import PlateDrawing, PlateOrder, draw_plate
from griddesign.papers.sheets.common import DRAFT, EXAMPLE, length, mass, ohm, stamp
from griddesign.papers.sheets.making import making_blocks, outline_words, sureness
from griddesign.units import show

TEMPERATURES_C = (0.0, 10.0, 20.0, 30.0, 40.0)
MASS_BAND = 0.05
_BELOW_MM = 3.0
NOTES = (
    "Accept every plate by its ohms at 20 °C; the dimension marked Ω is only the way there.",
    "Eye faces flat, parallel and bare: no zinc, no paint, no scale where washers clamp.",
    "Ohms are measured four-wire from hole to hole, contacts on the rims of the holes, metal at one temperature.",
    "One first-off is made and measured before the batch.",
)
CAST_NOTES = ("Grey throughout, no chill; gate at the eyes only; grind flash only. Pour a straight test strip of the "
              "same section from the same ladle and send it along.",)  # fmt: skip


def drawing_of(result: Result, plate: PlateReport) -> PlateDrawing:
    """The drawing, once: the page shows it and ``_drawing.dxf`` is it."""
    job = result.job
    warnings = tuple(word for word, true in ((EXAMPLE, job.example), (DRAFT, job.revision == "draft")) if true)
    order = PlateOrder(
        name=plate.wish.name,
        metal=plate.wish.metal.name,
        made_by=plate.wish.made_by,
        job_title=job.title,
        revision=job.revision,
        fingerprint=result.fingerprint,
        unit="inch" if job.paper.units == "inch" else "mm",
        projection=job.paper.projection,
        warnings=warnings,
        outline_is=outline_words(result, plate),
    )
    empty = Sheet(_title(plate), _order(plate), _hand(plate), ())
    room_mm = frame.room_high_mm(empty, stamp(result)) - _BELOW_MM
    return draw_plate(plate.outline, plate.shape, order, (frame.LIVE_WIDE_MM, room_mm))


def plate_sheet(result: Result, plate: PlateReport, drawing: PlateDrawing) -> Sheet:
    """The sheet for the foundry or the cutter."""
    blocks = (Drawing(drawing.picture), NewPage(), *_blocks(result, plate))
    return Sheet(_title(plate), _order(plate), _hand(plate), blocks)


def _title(plate: PlateReport) -> str:
    return f"Plate sheet {plate.wish.name}"


def _order(plate: PlateReport) -> str:
    return f"Make {plate.count or 1} of plate {plate.wish.name}. Accept by ohms at 20 °C, not by the strip's width."


def _hand(plate: PlateReport) -> Hand:
    return "foundry" if plate.wish.made_by == "cast" else "cutter"


def _blocks(result: Result, plate: PlateReport) -> Iterator[Block]:
    figures = plate.figures
    yield KeyFigures(
        (
            KeyFigure("Ohms at 20 °C", ohm(plate.order_ohm), _band(plate)),
            KeyFigure("Mass", mass(result, figures.mass_kg), f"goods in: within {100 * MASS_BAND:.0f} %"),
            KeyFigure("How many", str(plate.count or 1), "in circuit; spares to be added"),
            KeyFigure("Thickness", length(result, plate.shape.thickness_m), plate.wish.metal.name),
        )
    )
    yield Heading("How sure the ohms are")
    yield sureness(result, plate)
    yield Paragraph(figures.terminal_model, size_pt=9.0)
    yield Heading("Ohms to be read at other temperatures of the metal")
    yield _by_temperature(result, plate)
    yield from _breaches(result, plate)
    yield from making_blocks(result, plate)
    yield Heading("Notes")
    yield Points((*NOTES, *(CAST_NOTES if plate.wish.made_by == "cast" else ())), size_pt=10.0)


def _band(plate: PlateReport) -> str:
    if plate.low_ohm is None or plate.high_ohm is None:
        return "no tolerance given"
    return f"accept {ohm(plate.low_ohm)} to {ohm(plate.high_ohm)}"


def _by_temperature(result: Result, plate: PlateReport) -> Table:
    ratio = plate.wish.metal.ratio
    units = result.job.paper.units
    titles = ("", *(show(t, "temperature", units=units) for t in TEMPERATURES_C))
    nominal = ("nominal", *(ohm(plate.order_ohm * float(ratio(t))) for t in TEMPERATURES_C))
    rows: list[tuple[str, ...]] = [nominal]
    if plate.low_ohm is not None and plate.high_ohm is not None:
        rows += [
            ("accept from", *(ohm(plate.low_ohm * float(ratio(t))) for t in TEMPERATURES_C)),
            ("to", *(ohm(plate.high_ohm * float(ratio(t))) for t in TEMPERATURES_C)),
        ]
    return Table(tuple(Column(title, "right" if title else "left") for title in titles), tuple(rows), 10.0)


def _breaches(result: Result, plate: PlateReport) -> Iterator[Block]:
    """What goes against a rule or the advice of the process; the rules kept stand on the working sheet."""
    broken = [check for check in plate.checks if not check.ok]
    if broken:
        lines = tuple(
            f"{check.item}: {length(result, check.found_m)}, {'at least' if check.must else 'better'} "
            f"{length(result, check.limit_m)} ({check.source}, {check.status})"
            for check in broken
        )
        yield Box(f"Against the rules for {plate.wish.made_by}", lines, heavy=any(check.must for check in broken))
