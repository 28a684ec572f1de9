"""The whole set of one result: every sheet, drawing and table as bytes under the name it is written to."""

from collections.abc import Iterator, Mapping
from typing import get_args

from griddesign.errors import InputError
from griddesign.judge.records import PlateReport, Result
from griddesign.papers.as_json import csv_text, result_json, text_of
from griddesign.papers.blocks import Hand, Sheet
from griddesign.papers.cut_dxf import cut_dxf
from griddesign.papers.frame import Page
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.plate_drawing import PlateDrawing
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.heat import heat_sheet
from griddesign.papers.sheets.job import job_sheet
from griddesign.papers.sheets.notch import notch_sheet
from griddesign.papers.sheets.plate import drawing_of, plate_sheet
from griddesign.papers.sheets.tap import tap_sheet
from griddesign.papers.sheets.working import working_sheet
from griddesign.papers.writing import file_name
from griddesign.plate.kerf import kerf_mark
from griddesign.plate.outline import Outline
from griddesign.plate.pattern import mark_of

HANDS: tuple[Hand, ...] = get_args(Hand)


def files_of(result: Result, *, field: bool = False) -> dict[str, bytes]:
    """Name below the set's folder -> content. Same result, same bytes. ``field`` adds each plate's field sheet."""
    drawings = [drawing_of(result, plate) for plate in result.plates]
    sheets = (*_sheets(result, drawings), *(_field_sheets(result) if field else ()))
    data = result_json(result)
    files = {
        **_pdfs(result, sheets),
        "result.json": text_of(data).encode(),
        "engineer/notches.csv": csv_text(data["notches"]).encode(),
        "engineer/sections.csv": csv_text(data["sections"]).encode(),
    }
    for plate, drawing in zip(result.plates, drawings, strict=True):
        own = _plate_files(result, plate, drawing)
        _refuse_twins(files, own, plate)
        files.update(own)
    return {name: content for name, content in files.items() if content}


def _sheets(result: Result, drawings: list[PlateDrawing]) -> Iterator[Sheet]:
    """The sheets in the order in which a set is read."""
    plates = [plate_sheet(result, plate, drawing) for plate, drawing in zip(result.plates, drawings, strict=True)]
    every = (
        job_sheet(result),
        notch_sheet(result),
        tap_sheet(result),
        *plates,
        heat_sheet(result),
        working_sheet(result),
    )
    yield from (sheet for sheet in every if sheet is not None)


def _field_sheets(result: Result) -> Iterator[Sheet]:
    from griddesign.papers.sheets.field import plate_field_sheet  # 35 modules that no other paper needs

    mark = stamp(result)
    yield from (plate_field_sheet(result, plate, mark) for plate in result.plates)


def _pdfs(result: Result, sheets: tuple[Sheet, ...]) -> dict[str, bytes]:
    """``all.pdf``, and one PDF for each pair of hands that has a sheet of its own."""
    mark = stamp(result)
    pages = lay_out(sheets, mark)
    files = {"all.pdf": pdf_bytes(pages, mark)}
    for hand in HANDS:
        own = _pages_for(hand, sheets, pages)
        if own:
            files[f"{hand}/{_name(result, hand)}.pdf"] = pdf_bytes(own, mark)
    return files


def _pages_for(hand: Hand, sheets: tuple[Sheet, ...], pages: tuple[Page, ...]) -> tuple[Page, ...]:
    return tuple(page for page in pages if sheets[page.sheet_number - 1].hand == hand)


def _name(result: Result, *parts: str) -> str:
    return file_name(result.job.path.stem, *parts, f"rev-{result.job.revision}", suffix="")


def _plate_files(result: Result, plate: PlateReport, drawing: PlateDrawing) -> dict[str, bytes]:
    """The cutting outline and the drawing; a casting's go to the foundry, its outline without any shrinkage
    and the pattern's with it."""
    folder = "foundry" if plate.wish.made_by == "cast" else "cutter"
    thick = f"{1000 * plate.shape.thickness_m:g}mm"
    unit = result.job.paper.units
    name = _name(result, plate.wish.name)
    stem = file_name(name, plate.wish.metal.key, thick, f"{plate.count or 1}off", unit, suffix="")
    return {
        f"{folder}/{stem}_cut.dxf": cut_dxf(plate.outline, unit),
        f"{folder}/{stem}_drawing.dxf": drawing.dxf(),
        **{f"{folder}/{stem}_{mark}.dxf": cut_dxf(outline, unit) for mark, outline in _to_make(plate)},
    }


def _refuse_twins(files: Mapping[str, bytes], own: Mapping[str, bytes], plate: PlateReport) -> None:
    """No file of a plate may take the place of another's, on disks too that do not tell capitals apart."""
    there = {name.casefold() for name in files}
    for name in own:
        if name.casefold() in there:
            raise InputError(
                f"plate {plate.wish.name} and another would both be written to {name}",
                hint="Give the plates names that differ in a letter or a digit.",
            )


def _to_make(plate: PlateReport) -> Iterator[tuple[str, Outline]]:
    """Outlines that are not the plate's own, each with what its file is marked by: the path of the cut, the pattern."""
    made = plate.made
    if made is not None and made.cut_path is not None and made.kerf is not None:
        yield f"{kerf_mark(made.kerf.value)}_cut", made.cut_path
    if made is not None and made.pattern is not None:
        yield f"{mark_of(made.pattern)}_pattern", made.pattern.outline
