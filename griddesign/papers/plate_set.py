"""All papers of one kind of plate, drawings made once: its sheet, its order, its nest, its template, its files."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from griddesign.judge.records import PlateReport, Result
from griddesign.papers.blocks import Sheet
from griddesign.papers.cut_dxf import cut_dxf
from griddesign.papers.dxf_library import LengthUnit
from griddesign.papers.plate_drawing import PlateDrawing
from griddesign.papers.sheets.order import order_sheet
from griddesign.papers.sheets.plate import Says, drawing_of, plate_sheet
from griddesign.papers.sheets.template import template_sheet
from griddesign.papers.writing import file_name
from griddesign.plate.kerf import kerf_mark
from griddesign.plate.outline import Outline
from griddesign.plate.pattern import mark_of

if TYPE_CHECKING:
    from griddesign.papers.nest_drawing import NestDrawing


@dataclass(frozen=True, slots=True)
class PlateDrawings:
    """The plate as drawn, and the sheets it is nested on."""

    plate: PlateDrawing
    nests: "tuple[NestDrawing, ...]"


def drawings_of(result: Result, plate: PlateReport, says: Says | None = None) -> PlateDrawings:
    """Every drawing of one kind of plate."""
    return PlateDrawings(drawing_of(result, plate, says or Says()), _nest_drawings(result, plate))


def sheets_of(result: Result, plate: PlateReport, drawings: PlateDrawings) -> Iterator[Sheet]:
    """The sheets of one kind of plate as part of a set, in the order they are used."""
    every = (
        plate_sheet(result, plate, drawings.plate),
        order_sheet(result, plate),
        _nest_sheet(result, plate, drawings),
        template_sheet(result, plate),
    )
    yield from (sheet for sheet in every if sheet is not None)


def files_of_plate(result: Result, plate: PlateReport, drawings: PlateDrawings, set_name: str) -> dict[str, bytes]:
    """The cutting outline, the drawing, the nested sheets. The foundry gets the outline of the pattern alone: the
    casting's own, without any shrinkage, lies at the bench as a gauge. ``set_name`` begins every name."""
    cast = plate.wish.made_by == "cast"
    folder = "foundry" if cast else "cutter"
    thick = f"{1000 * plate.shape.thickness_m:g}mm"
    unit = result.job.paper.units
    stem = file_name(set_name, plate.wish.metal.key, thick, f"{plate.lot}off", unit, suffix="")
    own = f"bench/{stem}_gauge_cut.dxf" if cast else f"{folder}/{stem}_cut.dxf"
    files = {
        "drawing.dxf": drawings.plate.dxf(),
        **{f"{mark}.dxf": cut_dxf(outline, unit) for mark, outline in _to_make(plate)},
        **_nest_files(plate, drawings, unit),
    }
    named = {f"{folder}/{stem}_{ending}": content for ending, content in files.items()}
    return {own: cut_dxf(plate.outline, unit), **named}


def _nest_drawings(result: Result, plate: PlateReport) -> "tuple[NestDrawing, ...]":
    """The sheets the plate is nested on; without any, nothing of nesting is loaded, here and below."""
    if plate.nest is None:
        return ()
    from griddesign.papers.sheets.nest import nest_drawings

    return nest_drawings(result, plate)


def _nest_sheet(result: Result, plate: PlateReport, drawings: PlateDrawings) -> Sheet | None:
    if plate.nest is None:
        return None
    from griddesign.papers.sheets.nest import nest_sheet

    return nest_sheet(result, plate, drawings.nests)


def _nest_files(plate: PlateReport, drawings: PlateDrawings, unit: LengthUnit) -> dict[str, bytes]:
    if plate.nest is None:
        return {}
    from griddesign.papers.nest_files import nest_files

    return nest_files(plate, drawings.nests, unit)


def _to_make(plate: PlateReport) -> Iterator[tuple[str, Outline]]:
    """Outlines that are not the plate's own, each with what its file is marked by: the path of the cut, the pattern."""
    made = plate.made
    if made is not None and made.cut_path is not None and made.kerf is not None:
        yield f"{kerf_mark(made.kerf.value)}_cut", made.cut_path
    if plate.wish.made_by != "cast":
        return
    if made is not None and made.pattern is not None:
        yield f"{mark_of(made.pattern)}_pattern", made.pattern.outline
    else:  # no shrinkage is known: the foundry puts its own on top
        yield "shrinkage-NOT-in-it_pattern", plate.outline
