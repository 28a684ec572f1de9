"""The nest sheet: how the lot lies on its stock sheets, or the patterns in a moulding box, and how good that is."""

from collections.abc import Iterator

from griddesign.judge.nesting import to_nest
from griddesign.judge.records import PlateReport, Result
from griddesign.nest.records import Nested
from griddesign.papers import frame
from griddesign.papers.blocks import (
    Block,
    Column,
    Drawing,
    Hand,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    Table,
)
from griddesign.papers.dxf_library import LengthUnit
from griddesign.papers.nest_drawing import NestDrawing, PlateToLay, draw_nest, scale_of
from griddesign.papers.sheets.common import by_tape, cautions, length, stamp
from griddesign.papers.sheets.shown import ABOUT
from griddesign.plate.outline import Line, Loop, Outline

_ROOM_MM = (170.0, 112.0)
_CAPTION_MM = 8.0
_RULES = {
    "any": "The passes may lie along the sheet or across it.",
    "along": "All passes lie along the first side, the way the sheet was rolled.",
    "across": "All passes lie across the first side, the way the sheet was rolled.",
}


def nest_drawings(result: Result, plate: PlateReport) -> tuple[NestDrawing, ...]:
    """Drawing of a full sheet, then of the last one where that is not full; none without a nest. A lot that fills no
    sheet has its last alone."""
    nest = plate.nest
    if nest is None:
        return ()
    to_lay, unit = _to_lay(plate), result.job.paper.units
    sheets = [places for places in (nest.pattern.places if nest.full else (), nest.last) if places]
    room_mm = _room_mm(result, plate, nest, unit)
    return tuple(draw_nest(nest.stock, to_lay, places, unit, room_mm) for places in sheets)


def _room_mm(result: Result, plate: PlateReport, nest: Nested, unit: LengthUnit) -> tuple[float, float]:
    """Room for a drawing on an upright page; on one that lies across, where the stock is drawn larger there."""
    empty = Sheet(_name(plate), _order(plate, nest), _hand(plate), (), landscape=True)
    across = frame.live_mm(empty)[0] - 4.0, frame.room_high_mm(empty, stamp(result)) - _CAPTION_MM
    larger = scale_of(nest.stock, unit, across), scale_of(nest.stock, unit, _ROOM_MM)
    if larger[1] is None or (larger[0] is not None and larger[0].factor > larger[1].factor):
        return across
    return _ROOM_MM


def _to_lay(plate: PlateReport) -> PlateToLay:
    outline, shape = to_nest(plate), plate.shape
    made = plate.made
    factor = 1.0 if made is None or made.pattern is None else made.pattern.factor
    right, high = factor * shape.width_m, factor * shape.height_m
    corners = ((0.0, 0.0), (right, 0.0), (right, high), (0.0, high))
    sides = tuple(Line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))
    body = Outline(Loop(sides), outline.holes, (), outline.marks)
    return PlateToLay(outline, body, factor * shape.pitch_m, factor * shape.eye.radius_m)


def nest_sheet(result: Result, plate: PlateReport, drawings: tuple[NestDrawing, ...]) -> Sheet | None:
    """The sheet for cutter or foundry; None where nothing was nested."""
    nest = plate.nest
    if nest is None:
        return None
    blocks = tuple(_blocks(result, plate, nest, drawings, _what(plate)))
    return Sheet(_name(plate), _order(plate, nest), _hand(plate), blocks, landscape=_across(drawings))


def _across(drawings: tuple[NestDrawing, ...]) -> bool:
    return any(drawing.picture.width_mm > frame.LIVE_WIDE_MM for drawing in drawings)


def _shown(result: Result, drawings: tuple[NestDrawing, ...], nest: Nested, what: str) -> Iterator[Drawing]:
    units = "inches" if result.job.paper.units == "inch" else "millimetres"
    for drawing, words in zip(drawings, _captions(nest, what), strict=True):
        plain = " Slots left out; the cutting file has them." if drawing.plain else ""
        yield Drawing(drawing.picture, f"{words} Scale {drawing.scale}, {units}.{plain}")


def _name(plate: PlateReport) -> str:
    return f"Nest {plate.wish.name}"


def _hand(plate: PlateReport) -> Hand:
    return "foundry" if plate.wish.made_by == "cast" else "cutter"


def _what(plate: PlateReport) -> str:
    return "boxes" if plate.wish.made_by == "cast" else "sheets"


def _order(plate: PlateReport, nest: Nested) -> str:
    lay = f"ay {nest.lot} of plate {plate.wish.name} on {_count(nest.sheets, _what(plate))} as drawn, or better."
    if nest.lot == 1:
        return f"L{lay}"
    return f"{'Cast' if plate.wish.made_by == 'cast' else 'Cut'} ONE first. When it has passed, l{lay}"


def _blocks(
    result: Result, plate: PlateReport, nest: Nested, drawings: tuple[NestDrawing, ...], what: str
) -> Iterator[Block]:
    key = KeyFigures(tuple(_key_figures(result, plate, nest, what)))
    if not _across(drawings):  # there a drawing takes the first page to itself
        yield key
    yield from _shown(result, drawings, nest, what)
    if _across(drawings):
        yield key
    yield Heading("How good it is")
    yield Paragraph(_proof(nest, what), size_pt=10.0)
    yield Heading("How it is laid")
    yield _spaces(result, nest)
    yield Points(tuple(_rules(nest, what)), size_pt=10.0)
    yield cautions(4)


def _key_figures(result: Result, plate: PlateReport, nest: Nested, what: str) -> Iterator[KeyFigure]:
    stock = nest.stock
    size = f"{by_tape(result, stock.length_m)} × {by_tape(result, stock.width_m)}"
    if what == "sheets":  # the cutter may have no other sheet before him
        size = f"{size}, {length(result, plate.shape.thickness_m)} thick, {plate.wish.metal.name}"
    one = what.removesuffix("es" if what == "boxes" else "s")
    yield KeyFigure(f"Plates to a {one}", str(nest.per_sheet), f"bound {nest.pattern.bound}")
    yield KeyFigure(f"{what.capitalize()} for {nest.lot}", str(nest.sheets), size)
    yield KeyFigure(f"Waste of a full {one}", f"{100 * nest.waste:.1f}\u00a0%", "slots and holes counted in")
    yield KeyFigure(f"Waste of all {what}", f"{100 * nest.waste_lot:.1f}\u00a0%", "the last one counted whole")


def _captions(nest: Nested, what: str) -> Iterator[str]:
    if nest.full:
        yield f"{_count(nest.full, what).capitalize()} of {nest.per_sheet} plates."
    if nest.last:
        yield f"{'The last one' if nest.full else 'One'}, of {_count(len(nest.last), 'plates')}."


def _count(number: int, what: str) -> str:
    return f"{number} {what if number != 1 else {'boxes': 'box', 'sheets': 'sheet', 'plates': 'plate'}[what]}"


def _proof(nest: Nested, what: str) -> str:
    pattern = nest.pattern
    if pattern.proved:
        return f"Proved: no layout with these spaces, cut straight through or not, holds more than {nest.per_sheet}."
    limit = f"No layout with these spaces, however cut, holds more than {pattern.bound} (area of the {what[:-1]})."
    if pattern.exact:
        return f"{nest.per_sheet} is the most that cuts straight through from side to side can give. {limit}"
    return f"Not every layout was looked at: {nest.per_sheet} is the best found. {limit}"


def _spaces(result: Result, nest: Nested) -> Table:
    rows = tuple(
        (what, f"{ABOUT if figure.weak else ''}{length(result, figure.value)}", f"{figure.source}, {figure.status}")
        for what, figure in (("between plates", nest.web), ("along the edges", nest.margin))
    )
    return Table((Column("Kept free"), Column("", "right"), Column("Source, status", stretch=True)), rows, 10.0)


def _rules(nest: Nested, what: str) -> Iterator[str]:
    if what == "boxes":
        yield "The patterns lie so on their board; the sand between and round them is the foundry's to judge."
        yield "Gates reach the eyes only."
        return
    yield f"The first side is the one the sheet was rolled along. {_RULES[nest.stock.rule]}"
    if nest.interlocked:
        yield "Eyes stand between the eyes of the neighbours; measured on the outlines, the space is kept everywhere."
    else:
        yield "Every plate has a rectangle of its own, so the sheet can be sheared into blanks."
    yield "The first plate cut is the first-off: measure it before the sheet is finished."
    yield "The nested file holds the plates and nothing else; lower left corner of the sheet at its origin."
