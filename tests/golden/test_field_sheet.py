"""The field drawn: lines and greys where the exact field has them, everything inside the page, no text over another,
told apart in a grey print."""

import io
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from griddesign.figures import Figure
from griddesign.judge.records import Result
from griddesign.metals import metal
from griddesign.papers.blocks import Stamp
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.cut_dxf import cut_dxf
from griddesign.papers.field_drawing import GREYS, STEPS, draw_field, draw_hot_spot
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM, Page
from griddesign.papers.marks import Path as Stroke
from griddesign.papers.marks import Words, flat
from griddesign.papers.outlined_json import OutlineReport
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.sheets.field import outline_sheet, plate_field_sheet
from griddesign.plate.drawn_field import drawn_field
from griddesign.plate.foreign import read_dxf
from griddesign.plate.outline import Circle, Line, Loop, Mark, Outline
from griddesign.plate.outlined import SolvedOutline, solve_outline
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

STAMP = Stamp("supplied <plate>.dxf", "as supplied", "0a1b2c3d")
SHAPE = Zigzag(0.100, 6, 0.008, 0.007, 0.005, Eye(0.030, 0.014, 0.021), "one edge", support_eyes=1)


def solved_of(outline: Outline, washer_m: float | None = None) -> SolvedOutline:
    return solve_outline(outline, metal("ss304"), Figure.exact(0.005), washer_m=washer_m)


def straight(length_m: float = 0.3, wide_m: float = 0.02) -> Outline:
    corners = [(0.0, 0.0), (length_m, 0.0), (length_m, wide_m), (0.0, wide_m)]
    loop = Loop(tuple(Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)))
    eyes = tuple(Circle((x, wide_m / 2), 0.005) for x in (0.01, length_m - 0.01))
    return Outline(loop, eyes, (0, 1), tuple(Mark(f"H{k + 1}", eye.centre) for k, eye in enumerate(eyes)))


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> OutlineReport:
    path = tmp_path_factory.mktemp("field") / "plate.dxf"
    path.write_bytes(cut_dxf(outline_of(SHAPE)))
    read = read_dxf(path, terminals=("H1", "H3"))
    return OutlineReport(STAMP.job_title, read, solved_of(read.outline, 0.024), STAMP.fingerprint)


@pytest.fixture(scope="module")
def pages(report: OutlineReport) -> tuple[Page, ...]:
    return lay_out((outline_sheet(report, STAMP),), STAMP)


@pytest.fixture(scope="module")
def pdf(pages: tuple[Page, ...]) -> bytes:
    return pdf_bytes(pages, STAMP)


def strokes(outline: Outline) -> tuple[list[Stroke], float]:
    solved = solved_of(outline)
    drawing = draw_field(outline, drawn_field(solved.solution), solved.figures.hot_spot.at_m, (180.0, 150.0))
    return [mark for _, _, mark in flat(drawing.picture.marks) if isinstance(mark, Stroke)], drawing.scale.factor


def test_lines_of_equal_potential_stand_evenly_across_a_straight_strip() -> None:
    """Far from the eyes the field is uniform: lines square across the strip, N w / 20 apart."""
    outline = straight()
    squares = solved_of(outline).figures.squares
    marks, factor = strokes(outline)
    lines = [
        mark for mark in marks if mark.width_mm == pytest.approx(0.25) and mark.fill is None and len(mark.steps) > 4
    ]
    assert len(lines) == STEPS - 1
    places = [[numbers[0] for _, numbers in mark.steps] for mark in lines]
    heights = [[numbers[1] for _, numbers in mark.steps] for mark in lines]
    middle = slice(3, STEPS - 4)
    assert max(max(xs) - min(xs) for xs in places[middle]) < 0.02
    assert all(max(ys) - min(ys) == pytest.approx(20 * factor, rel=1e-6) for ys in heights[middle])
    step_mm = squares * 20.0 / STEPS * factor
    assert np.diff([np.mean(xs) for xs in places[middle]]) == pytest.approx(step_mm, rel=2e-3)


def test_density_is_one_along_a_strip_and_nothing_in_a_dead_end() -> None:
    """Current over width, and next to nothing beyond the eye's far side."""
    outline = straight()
    solved = solved_of(outline)
    field = drawn_field(solved.solution)
    along = (field.xy[:, 0] > 0.1) & (field.xy[:, 0] < 0.2)
    assert field.density[along] == pytest.approx(solved.figures.mean_width_m / 0.02, rel=1e-3)
    corner = np.hypot(*(field.xy - (0.0, 0.0)).T).argmin()
    assert field.density[corner] < 0.1
    assert field.potential.min() == pytest.approx(0.0, abs=1e-12) and field.potential.max() == pytest.approx(1.0)


def test_greys_cover_what_is_denser_and_nothing_else() -> None:
    """The area of each grey against the area of the triangles that lie wholly above and partly above its level."""
    from griddesign.papers.field_drawing import BANDS, _denser

    field = drawn_field(solved_of(outline_of(SHAPE)).solution)
    corner = field.xy[field.triangles]
    a, b = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2
    before = np.inf
    for level in BANDS:
        above = field.density[field.triangles] >= level
        covered = _denser(field, field.triangles, level).area
        assert area[above.all(axis=1)].sum() * (1 - 1e-9) <= covered <= area[above.any(axis=1)].sum() * (1 + 1e-9)
        assert covered < before
        before = covered


def test_the_hot_spot_is_drawn_within_its_frame(report: OutlineReport) -> None:
    figures, outline = report.solved.figures, report.solved.outline
    field = drawn_field(report.solved.solution)
    detail = draw_hot_spot(outline, field, figures.hot_spot.at_m, figures.mean_width_m, figures.squares)
    left, top, right, foot = bounds(detail.picture.marks)
    edge = 0.3
    assert min(left, top) >= -edge
    assert right <= detail.picture.width_mm + edge and foot <= detail.picture.height_mm + edge
    assert detail.scale.factor >= 1.0 and detail.steps >= 4 * figures.squares


def test_every_page_keeps_to_the_live_area_and_no_text_meets_another(pages: tuple[Page, ...]) -> None:
    for page in pages:
        left, top, right, foot = bounds(page.marks)
        assert min(left, top) >= -0.4 and right <= LIVE_WIDE_MM + 0.4 and foot <= LIVE_HIGH_MM + 0.4
        assert clashes(page.marks) == []


def test_the_sheet_says_all_that_moves_the_answer(report: OutlineReport, pdf: bytes) -> None:
    assert pdf == pdf_bytes(lay_out((outline_sheet(report, STAMP),), STAMP), STAMP)
    words = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))
    for wanted in ("supplied <plate>.dxf", "fingerprint 0a1b2c3d", "H1, terminal", "H3, terminal", "hot spot",
                   "washer of 24 mm", "calculation", "not computed", "carries no current", "unbounded", "LETHAL",
                   "named by the user", "Scale 1:"):  # fmt: skip
        assert wanted in words, wanted


def test_the_largest_doubt_alone_is_bold(pages: tuple[Page, ...]) -> None:
    words = [mark for page in pages for _, _, mark in flat(page.marks) if isinstance(mark, Words)]
    bold = {mark.text: mark.bold for mark in words if mark.text in ("calculation", "metal", "cutting or casting")}
    assert bold == {"calculation": False, "metal": True, "cutting or casting": False}


def test_a_field_sheet_of_a_job_gives_the_ohms_of_its_plate(demo: Result) -> None:
    plate = demo.plates[0]
    sheet = plate_field_sheet(demo, plate, replace(STAMP, job_title=demo.job.title))
    assert sheet.hand == "engineer" and plate.wish.name in sheet.name
    pages = lay_out((sheet,), STAMP)
    assert all(clashes(page.marks) == [] for page in pages)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm is not installed")
def test_a_grey_print_keeps_the_greys_apart(pdf: bytes, tmp_path: Path) -> None:
    (tmp_path / "sheet.pdf").write_bytes(pdf)
    subprocess.run(
        ["pdftoppm", "-gray", "-r", "150", "-f", "1", "-l", "1", "sheet.pdf", "page"], cwd=tmp_path, check=True
    )
    header, pixels = next(tmp_path.glob("page*.pgm")).read_bytes().split(b"\n255\n", 1)
    assert header.startswith(b"P5")
    seen = np.bincount(np.frombuffer(pixels, dtype=np.uint8), minlength=256)
    for grey in GREYS:
        level = round(255 * grey)
        assert seen[max(level - 2, 0) : level + 3].sum() > 200, f"grey {grey} is on the page"
    assert -np.diff(np.array(GREYS)).max() * 255 > 10
