"""The whole set of one result: every sheet, drawing and table as bytes under the name it is written to."""

from collections.abc import Iterator, Mapping
from itertools import chain
from typing import get_args

from griddesign.errors import InputError
from griddesign.job.inspection_csv import inspection_blank
from griddesign.judge.records import PlateReport, Result
from griddesign.judge.start_result import StartResult, started
from griddesign.papers.as_json import csv_text, result_json, text_of
from griddesign.papers.blocks import Hand, Sheet
from griddesign.papers.html.page import html_bytes
from griddesign.papers.issued import Issued
from griddesign.papers.pdf import Press
from griddesign.papers.picking import picked, put_together
from griddesign.papers.picture_dxf import Layered, dxf_of
from griddesign.papers.plate_set import PlateDrawings, drawings_of, files_of_plate, sheets_of
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.crew import crew_sheet
from griddesign.papers.sheets.faults import faults_sheet
from griddesign.papers.sheets.heat import heat_sheet
from griddesign.papers.sheets.inspection import inspection_sheet
from griddesign.papers.sheets.job import job_sheet
from griddesign.papers.sheets.notch import circuits_of, notch_sheet
from griddesign.papers.sheets.stacking import box_drawings, stacking_sheet
from griddesign.papers.sheets.start import start_sheet
from griddesign.papers.sheets.tap import tap_sheet
from griddesign.papers.sheets.working import working_sheet
from griddesign.papers.writing import file_name
from griddesign.telling import stage

HANDS: tuple[Hand, ...] = get_args(Hand)


@stage("all papers")
def files_of(result: Result, *, field: bool = False, only: str | None = None) -> dict[str, bytes]:
    """Name below the set's folder -> content. Same result, same bytes. ``field`` adds each plate's field sheet;
    ``only`` names the sheets that are wanted and nothing else (``plate,tap``)."""
    drawings, boxes = [drawings_of(result, plate) for plate in result.plates], box_drawings(result)
    sheets = (*_sheets(result, drawings, boxes), *(_field_sheets(result) if field else ()))
    if only is not None:
        return pdfs_of(result, sheets, picked(sheets, only))
    data = result_json(result)
    files = {
        **pdfs_of(result, sheets),
        "result.json": text_of(data).encode(),
        "engineer/notches.csv": csv_text(data["notches"]).encode(),
        "engineer/sections.csv": csv_text(data["sections"]).encode(),
        **_blank_form(result),
        **_bench_drawings(result, boxes),
    }
    for plate, drawing in zip(result.plates, drawings, strict=True):
        own = files_of_plate(result, plate, drawing, name_of(result, plate.wish.name))
        _refuse_twins(files, own, plate)
        files.update(own)
    return {name: content for name, content in files.items() if content}


def _sheets(result: Result, drawings: list[PlateDrawings], boxes: tuple[Layered, ...]) -> Iterator[Sheet]:
    """The sheets in the order in which a set is read."""
    plates = [sheets_of(result, plate, drawing) for plate, drawing in zip(result.plates, drawings, strict=True)]
    run = started(result)
    every = (
        job_sheet(result),
        notch_sheet(result),
        tap_sheet(result),
        stacking_sheet(result, boxes),
        *chain.from_iterable(plates),
        inspection_sheet(result, _form_name(result)),
        start_sheet(run) if run else None,
        heat_sheet(result, run.day_trace if run else None),
        _brake_sheet(run) if run and run.braking else None,
        crew_sheet(run) if run else None,
        faults_sheet(result.faults),
        working_sheet(result, run),
    )
    yield from (sheet for sheet in every if sheet is not None)


def _brake_sheet(run: StartResult) -> Sheet | None:
    from griddesign.papers.sheets.brake import brake_sheet  # and with it all that only a job with a brake needs

    return brake_sheet(run)


def _field_sheets(result: Result) -> Iterator[Sheet]:
    from griddesign.papers.sheets.field import plate_field_sheet  # 35 modules that no other paper needs

    mark = stamp(result)
    yield from (plate_field_sheet(result, plate, mark) for plate in result.plates)


def _blank_form(result: Result) -> dict[str, bytes]:
    """The inspector's readings as a table to fill in, with the mark that spreadsheets know UTF-8 by."""
    if result.layout is None:
        return {}
    return {f"bench/{_form_name(result)}": inspection_blank(result.layout, result.job.paper.units).encode("utf-8-sig")}


def _bench_drawings(result: Result, boxes: tuple[Layered, ...]) -> dict[str, bytes]:
    """Boxes and circuits as DXF, from the very records their sheets show."""
    drawn = {"boxes": boxes, "circuits": circuits_of(result)}
    unit = result.job.paper.units
    return {
        f"bench/{name_of(result, name, unit)}_drawing.dxf": dxf_of(each, unit) for name, each in drawn.items() if each
    }


def _form_name(result: Result) -> str:
    return f"{name_of(result, 'inspection')}-blank.csv"


@stage("PDF and screen copy")
def pdfs_of(result: Issued, sheets: tuple[Sheet, ...], only: frozenset[str] = frozenset()) -> dict[str, bytes]:
    """``all.pdf``, the same for a screen as ``all.html``, and one PDF for each pair of hands that has a sheet of its
    own; of ``only`` these sheets."""
    mark = stamp(result)
    pages = put_together(sheets, mark, only)
    press = Press(pages, mark)
    files = {"all.pdf": press.file(pages), "all.html": html_bytes(sheets, mark, only)}
    for hand in HANDS:
        own = tuple(page for page in pages if page.hand == hand)
        if own:
            files[f"{hand}/{name_of(result, hand)}.pdf"] = press.file(own)
    return files


def name_of(result: Issued, *parts: str) -> str:
    """The name of a set of papers, or of a part of it, for its files."""
    return file_name(result.job.path.stem, *parts, f"rev-{result.job.revision}", suffix="")


def _refuse_twins(files: Mapping[str, bytes], own: Mapping[str, bytes], plate: PlateReport) -> None:
    """No file of a plate may take the place of another's, on disks too that do not tell capitals apart."""
    there = {name.casefold() for name in files}
    for name in own:
        if name.casefold() in there:
            raise InputError(
                f"plate {plate.wish.name} and another would both be written to {name}",
                hint="Give the plates names that differ in a letter or a digit.",
            )
