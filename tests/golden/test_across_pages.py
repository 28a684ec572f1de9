"""Sheets that lie across because their content asks for it: page boxes, live area, scale gained, the screen too."""

import io
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from griddesign.job.nest import with_nest
from griddesign.job.reading import read_job
from griddesign.judge.faults.records import FaultTable
from griddesign.judge.plate_result import plate_result
from griddesign.judge.records import Result
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import ACROSS, LIVE_WIDE_MM, PAPER_MM, live_mm
from griddesign.papers.html.page import html_bytes
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.plate_set import drawings_of, sheets_of
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.faults import MOST_ACROSS, MOST_NOTCHES, faults_sheet

PLATE = """
schema = 1
title = "Plates"
[[plate]]
name = "W"
metal = "ss304"
made_by = "laser"
spares = 30
[plate.shape]
family = "zigzag"
height = "{height}"
passes = {passes}
strip_width = "8 mm"
pass_gap = "7 mm"
thickness = "3 mm"
eyes = "{eyes}"
"""


def of_notches(table: FaultTable, count: int) -> FaultTable:
    """The table as a controller of ``count`` notches would have it: those of the demo over and over."""

    def many(row):  # type: ignore[no-untyped-def]
        return replace(row, notches=tuple(row.notches[number % len(row.notches)] for number in range(count)))

    return replace(table, sound=many(table.sound), rows=tuple(map(many, table.rows)))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("count", "across"), [(MOST_NOTCHES, False), (MOST_NOTCHES + 1, True), (MOST_ACROSS, True)])
def test_a_table_of_many_notches_lies_across(demo: Result, count: int, across: bool, paper: str) -> None:
    assert demo.faults is not None
    sheet = faults_sheet(of_notches(demo.faults, count))
    assert sheet is not None and sheet.landscape == across
    assert sum(len(block.columns) == count + 1 for block in sheet.blocks if isinstance(block, b.Table)) == 2
    mark = b.Stamp("Starting grid", "A", "3f9a1c07", paper, ("DRAFT",))  # type: ignore[arg-type]
    pages = lay_out((sheet, b.Sheet("Upright", "Read it.", "engineer", (b.Paragraph("words"),))), mark)
    wide, high = live_mm(sheet)
    for page in pages[:-1]:
        left, top, right, bottom = bounds(page.marks)
        assert min(left, top) >= -0.4 and right <= wide + 0.4 and bottom <= high + 0.4
        assert clashes(page.marks) == []
        said = {mark.text for _, _, mark in flat(page.marks) if isinstance(mark, Words)}
        assert not said & {"non", "ope", "soun"}, "a number is broken at the end of its column"
    boxes = [page.mediabox for page in PdfReader(io.BytesIO(pdf_bytes(pages, mark))).pages]
    sizes = [(round(float(box.width) * 25.4 / 72, 1), round(float(box.height) * 25.4 / 72, 1)) for box in boxes]
    upright = PAPER_MM[paper]  # type: ignore[index]
    assert set(sizes[:-1]) == {upright[::-1] if across else upright} and sizes[-1] == upright
    drawn = html_bytes((sheet,), mark).decode()
    assert (f'viewBox="0 0 {ACROSS[0]:g} {ACROSS[1]:g}"' in drawn) == across


def papers_of(folder: Path, nest: str, *, height: str, passes: int) -> tuple[dict[str, b.Sheet], dict[str, float]]:
    """The sheets of one plate by name, and the scales of its drawing and its nest."""
    path = folder / "plate.toml"
    eyes = "one edge" if passes % 2 == 0 else "opposite edges"
    path.write_text(PLATE.format(height=height, passes=passes, eyes=eyes), encoding="utf-8")
    job = with_nest(read_job(path), nest)
    result = plate_result(job, job.plates[0])
    drawings = drawings_of(result, result.plates[0])
    sheets = tuple(sheets_of(result, result.plates[0], drawings))
    for page in lay_out(sheets, stamp(result)):
        wide, high = page.live_mm
        left, top, right, bottom = bounds(page.marks)
        assert min(left, top) >= -0.5 and right <= wide + 0.5 and bottom <= high + 0.5 and clashes(page.marks) == []
    scales = {"plate": drawings.plate.scale.factor, "nest": drawings.nests[0].scale.factor}
    return {sheet.name.split()[0]: sheet for sheet in sheets}, scales


def test_stock_wider_than_a_page_lies_across_where_that_shows_it_larger(tmp_path: Path) -> None:
    """2 m at 1:10 is 200 mm long: over the 180 mm of an upright page, within the 250 mm of one that lies across."""
    sheets, scales = papers_of(tmp_path, "2000 mm x 1000 mm", height="240 mm", passes=9)
    assert sheets["Nest"].landscape and scales["nest"] == pytest.approx(0.1)
    sheets, scales = papers_of(tmp_path, "1250 mm x 1000 mm", height="240 mm", passes=9)
    assert not sheets["Nest"].landscape and scales["nest"] == pytest.approx(0.1)


def test_a_plate_wider_than_high_lies_across_where_that_shows_it_larger(tmp_path: Path) -> None:
    """A plate 322 mm wide at 1:2 takes 161 mm, with its dimensions and notes more than an upright page has."""
    sheets, scales = papers_of(tmp_path, "2000 mm x 1000 mm", height="100 mm", passes=22)
    assert sheets["Plate"].landscape and scales["plate"] == pytest.approx(0.5)
    drawing = next(block for block in sheets["Plate"].blocks if isinstance(block, b.Drawing))
    assert LIVE_WIDE_MM < drawing.picture.width_mm <= ACROSS[0]
    sheets, _ = papers_of(tmp_path, "2000 mm x 1000 mm", height="240 mm", passes=9)
    assert not sheets["Plate"].landscape
