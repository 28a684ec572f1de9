"""The plate sheet: the dimensioned drawing of one kind of plate, and what it is ordered and accepted by."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

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
from griddesign.papers.cold import cold
from griddesign.papers.plate_drawing import PlateDrawing, PlateOrder, draw_plate
from griddesign.papers.sheets.common import DRAFT, EXAMPLE, length, mass, ohm, stamp
from griddesign.papers.sheets.making import making_blocks, outline_words, sureness
from griddesign.papers.sheets.order import lot_words
from griddesign.papers.tolerances import class_name, half_width_m
from griddesign.plate.pattern import eye_span_m
from griddesign.units import show, show_range

TEMPERATURES_C = (0.0, 10.0, 20.0, 30.0, 40.0)
MASS_BAND, MASS_BAND_FROM = 0.05, "5 %: common practice, no source"
_BELOW_MM = 3.0
NOTES = ("Ohms are measured four-wire from hole to hole, contacts on the rims of the holes, metal at one temperature.",)
FIRST_OFF_NOTE: dict[bool, str] = {
    True: "One first-off is cast and measured before the batch.",
    False: "One first-off is made and measured before the batch; with it go the thickness of its sheet by caliper and "
    "the certificate of the sheet.",
}
CAST_NOTES = ("Grey throughout, no chill; gate at the eyes only; grind flash only. Pour a straight test strip of the "
              "same section from the same ladle and send it along.",)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Says:
    """What an order or a batch says otherwise than a set: ``imperative``, ``how_many`` and the ``note`` on first-offs
    in place of the usual; ``first`` are blocks that come right after the key figures."""

    imperative: str = ""
    how_many: str = ""
    note: str = ""
    first: tuple[Block, ...] = ()


_AS_USUAL = Says()


def drawing_of(result: Result, plate: PlateReport, says: Says = _AS_USUAL) -> PlateDrawing:
    """The drawing, once: the page shows it and ``_drawing.dxf`` is it. ``says`` as its sheet says it."""
    job = result.job
    warnings = tuple(word for word, true in ((EXAMPLE, job.example), (DRAFT, job.revision == "draft")) if true)
    making = plate.wish.making
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
        tolerance_m=making.fit_tolerance.value if making.fit_tolerance else None,
        thickness_tolerance_m=_thickness_tolerance_m(plate),
        designation=plate.wish.metal.designation,
        number=f"{job.path.stem}-{plate.wish.name}",
        owner=job.paper.owner,
        drawn_by=job.paper.drawn_by,
        approved_by=job.paper.approved_by,
    )
    return _largest(result, plate, order, Sheet(_title(plate), _said(result, plate, says), _hand(plate), ()))


def _largest(result: Result, plate: PlateReport, order: PlateOrder, empty: Sheet) -> PlateDrawing:
    """The drawing on an upright page; of a plate wider than high across it, where that lets it be larger."""
    upright = draw_plate(plate.outline, plate.shape, order, _room_mm(result, empty))
    wide_m, high_m = plate.blank_m
    if wide_m <= high_m:
        return upright
    across = draw_plate(plate.outline, plate.shape, order, _room_mm(result, replace(empty, landscape=True)))
    return across if across.scale.factor > upright.scale.factor else upright


def _room_mm(result: Result, empty: Sheet) -> tuple[float, float]:
    return frame.live_mm(empty)[0], frame.room_high_mm(empty, stamp(result)) - _BELOW_MM


def plate_sheet(result: Result, plate: PlateReport, drawing: PlateDrawing, says: Says = _AS_USUAL) -> Sheet:
    """The sheet for the foundry or the cutter."""
    blocks = (Drawing(drawing.picture), NewPage(), Drawing(drawing.title), *_blocks(result, plate, says))
    across = drawing.picture.width_mm > frame.LIVE_WIDE_MM
    return Sheet(_title(plate), _said(result, plate, says), _hand(plate), blocks, landscape=across)


def _said(result: Result, plate: PlateReport, says: Says) -> str:
    return says.imperative or _order(result, plate)


def _thickness_tolerance_m(plate: PlateReport) -> float | None:
    """Plus and minus on the thickness of the strip, as the spread of the ohms was reckoned with."""
    causes = plate.made.spread.causes if plate.made else ()
    return next((cause.tolerance.half_m for cause in causes if cause.tolerance.item == "thickness"), None)


def _title(plate: PlateReport) -> str:
    return f"Plate sheet {plate.wish.name}"


def _order(result: Result, plate: PlateReport) -> str:
    name = plate.wish.name
    make = f"Make ONE of plate {name} first; the lot of {plate.lot} only when it has passed."
    make = make if plate.lot > 1 else f"Make 1 of plate {name}."
    return f"{make} Accept by ohms at {cold(result.job.paper.units)}, not by the strip's width."


def _hand(plate: PlateReport) -> Hand:
    return "foundry" if plate.wish.made_by == "cast" else "cutter"


def _blocks(result: Result, plate: PlateReport, says: Says) -> Iterator[Block]:
    figures = plate.figures
    yield KeyFigures(
        (
            KeyFigure(f"Ohms at {cold(result.job.paper.units)}", ohm(plate.order_ohm), _band(plate)),
            KeyFigure("Mass", mass(result, figures.mass_kg), _mass_band(result, plate)),
            KeyFigure("How many", says.how_many or str(plate.lot), _counted(plate)),
            KeyFigure("Thickness", length(result, plate.shape.thickness_m), plate.wish.metal.name),
            KeyFigure("Strip width Ω", length(result, plate.shape.strip_width_m), "the way to the ohms, not checked"),
            KeyFigure("Blank", _blank(result, plate), "rectangle round the plate with its eyes"),
        )
    )
    yield from says.first
    yield Heading("How sure the ohms are")
    yield sureness(result, plate)
    yield Paragraph(figures.terminal_model, size_pt=9.0)
    yield Heading("Ohms to be read at other temperatures of the metal")
    yield _by_temperature(result, plate)
    yield from _breaches(result, plate)
    yield from making_blocks(result, plate)
    yield Heading("Notes")
    note = says.note or FIRST_OFF_NOTE[plate.wish.made_by == "cast"]
    usual = says == _AS_USUAL  # then an order sheet goes with it
    cast = CAST_NOTES if plate.wish.made_by == "cast" and not usual else ()
    yield Points((*NOTES, note, *_fit_note(result, plate), *cast), size_pt=10.0)


def _fit_note(result: Result, plate: PlateReport) -> Iterator[str]:
    """What a casting grade alone lets the centres of the eyes stray."""
    wish = plate.wish
    half_m = half_width_m(eye_span_m(plate.shape), wish.made_by)
    if wish.made_by == "cast" and wish.making.fit_tolerance is None and half_m is not None:
        yield (
            f"{class_name(wish.made_by)} alone lets the centres of the eyes stray by {length(result, half_m)}: agree a "
            "closer figure with the foundry, or a gauge of two pins at the centres, or a stack will not go on its rods."
        )


def _counted(plate: PlateReport) -> str:
    if not plate.count:
        return "no grid is worked out with it"
    return lot_words(plate).partition(": ")[2]


def _mass_band(result: Result, plate: PlateReport) -> str:
    low, high = ((1 + sign * MASS_BAND) * plate.figures.mass_kg for sign in (-1, 1))
    ends = show_range(low, high, "mass", digits=3, units=result.job.paper.units)
    return f"goods in: {ends} ({MASS_BAND_FROM})"


def _blank(result: Result, plate: PlateReport) -> str:
    wide_m, high_m = plate.blank_m
    return f"{length(result, wide_m)} × {length(result, high_m)}"


def _band(plate: PlateReport) -> str:
    if plate.low_ohm is None or plate.high_ohm is None:
        return "no tolerance given"
    return f"accept {ohm(plate.low_ohm)} to {ohm(plate.high_ohm)}"


def _by_temperature(result: Result, plate: PlateReport) -> Table:
    units = result.job.paper.units
    titles = ("", *(show(t, "temperature", units=units) for t in TEMPERATURES_C))
    nominal, low, high = zip(*(plate.ohms_at(t_c) for t_c in TEMPERATURES_C), strict=True)
    named = (("nominal", nominal), ("accept from", low), ("to", high))
    rows = [(name, *map(ohm, ohms)) for name, ohms in named if None not in ohms]
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
        binding = any(check.must for check in broken)
        yield Box(f"Against the {'rules' if binding else 'advice'} for {plate.wish.made_by}", lines, heavy=binding)
