"""The PDF by structure: text, page boxes, bookmarks, bytes; the ruler measured on a printed raster."""

import io
import shutil
import subprocess
from pathlib import Path

import pytest
from pypdf import PdfReader

from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM, Page, room_high_mm
from griddesign.papers.marks import Picture, rectangle
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.table import columns

TITLE = "Ångström & <b>Söhne</b>, works car 3, Ω µ ± Δ ≈ ∥"
MARKS = ("EXAMPLE FIGURES, NOT FOR MANUFACTURE",)
STAMP = b.Stamp(TITLE, "draft", "3f9a1c07", "A4", MARKS, "Invented Tramway works")
ROWS = tuple((f"{n}", f"{3.2 / n:.3f}\u00a0Ω", "in circuit & <i>out</i>") for n in range(1, 61))
SHEETS = (
    b.Sheet(
        "Job sheet",
        "Read this first.",
        "engineer",
        (
            b.KeyFigures((b.KeyFigure("Whole grid, cold", "3.214 Ω", "at 20 °C"), b.KeyFigure("Peak", "130 A"))),
            b.Cautions(("600 V kills.", "Plates reach red heat.")),
            b.Heading("Notches"),
            b.Table(columns("Notch", "Wanted", "Why", numbers=("Wanted",)), ROWS),
            b.SignOff(("Designed by", "Checked by")),
        ),
        ("PROVISIONAL, SET TAPS AFTER MEASURING",),
    ),
    b.Sheet("Crew card", "Never hold a notch longer than this.", "crew", (b.Paragraph("20 s", True, b.CARD_PT),)),
)


@pytest.fixture(scope="module")
def pages() -> tuple[Page, ...]:
    return lay_out(SHEETS, STAMP)


@pytest.fixture(scope="module")
def reader(pages: tuple[Page, ...]) -> PdfReader:
    return PdfReader(io.BytesIO(pdf_bytes(pages, STAMP)))


def test_every_page_carries_the_band(pages: tuple[Page, ...], reader: PdfReader) -> None:
    assert len(reader.pages) == len(pages) >= 3
    for page, made in zip(reader.pages, pages, strict=True):
        words = page.extract_text()
        for wanted in (TITLE, "revision draft", "fingerprint 3f9a1c07", f"sheet {made.sheet_number} of 2", made.name):
            assert wanted in words
        assert words.count(MARKS[0]) == 2, "across the page, and again in the band"
        assert "Print at 100 %" in words


def test_pages_of_a_long_sheet_are_counted(reader: PdfReader, pages: tuple[Page, ...]) -> None:
    parts = pages[0].parts
    words = [page.extract_text() for page in reader.pages]
    assert all(f"page {number} of {parts}" in words[number - 1] for number in range(1, parts + 1))
    assert all("Notch\nWanted\nWhy" in word for word in words[:parts])
    assert "page 1 of" not in words[-1]


def test_only_the_words_across_the_page_are_hollow(reader: PdfReader) -> None:
    """The way letters are drawn outlasts a text object, ISO 32000-1, 9.3.1: after hollow words it must be set back."""
    for page in reader.pages:
        mode, shown = 0, {0: 0, 1: 0}
        for operands, operator in page.get_contents().operations:
            mode = int(operands[0]) if operator == b"Tr" else mode
            shown[mode] += len(operands[0]) if operator == b"Tj" else 0
        across = sum(len(words) for words in MARKS)
        assert 0 < shown[1] <= across + len("PROVISIONAL, SET TAPS AFTER MEASURING")
        assert shown[0] > shown[1]


def test_provisional_stands_on_its_own_sheet_only(reader: PdfReader) -> None:
    words = [page.extract_text() for page in reader.pages]
    assert "PROVISIONAL" in words[0]
    assert "PROVISIONAL" not in words[-1]


def test_the_text_of_the_crew_card_word_for_word(reader: PdfReader) -> None:
    assert [line.strip() for line in reader.pages[-1].extract_text().strip().split("\n")] == [
        "EXAMPLE FIGURES, NOT FOR MANUFACTURE",
        "Crew card",
        TITLE,
        "Invented Tramway works",
        "For the crew",
        "sheet 2 of 2",
        "revision draft, fingerprint 3f9a1c07",
        "EXAMPLE FIGURES, NOT FOR MANUFACTURE",
        "Never hold a notch longer than this.",
        "20 s",
        *("0", "20", "40", "60", "80", "100 mm", "0", "1", "2", "3", "4 in"),
        "Print at 100 %. The bars must measure",
        "100 mm and 4 in. If not, measure nothing",
        "on this sheet.",
    ]


@pytest.mark.parametrize(("paper", "size_mm"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_page_boxes(paper: str, size_mm: tuple[float, float]) -> None:
    stamp = b.Stamp("t", "A", "f", paper)
    page = PdfReader(io.BytesIO(pdf_bytes(lay_out(SHEETS[1:], stamp), stamp))).pages[0]
    assert [float(side) * 25.4 / 72 for side in page.mediabox[2:]] == pytest.approx(size_mm, abs=1e-3)


def test_the_live_area_fits_both_papers_with_20_mm_at_the_left() -> None:
    assert (LIVE_WIDE_MM, LIVE_HIGH_MM) == (180.0, 250.0)
    assert 20.0 + LIVE_WIDE_MM <= 210.0 - 5.0
    assert LIVE_HIGH_MM <= 279.4 - 2 * 10.0


def test_title_bookmarks_and_no_clock(reader: PdfReader) -> None:
    assert reader.metadata.title == f"{TITLE}, revision draft"
    assert reader.metadata.creation_date.year == 2000
    assert [entry.title for entry in reader.outline] == ["1  Job sheet", "2  Crew card"]
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"


def test_fonts_are_embedded(reader: PdfReader) -> None:
    for page in reader.pages:
        fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
        ours = [font for font in fonts if "DejaVu" in font["/BaseFont"]]
        assert ours
        assert all("/FontFile2" in font["/FontDescriptor"] for font in ours)


def test_same_pages_same_bytes(pages: tuple[Page, ...]) -> None:
    assert pdf_bytes(pages, STAMP) == pdf_bytes(lay_out(SHEETS, STAMP), STAMP)


def test_sheets_of_one_hand_keep_their_numbers(pages: tuple[Page, ...]) -> None:
    crew = PdfReader(io.BytesIO(pdf_bytes([page for page in pages if page.hand == "crew"], STAMP)))
    assert len(crew.pages) == 1
    assert "sheet 2 of 2" in crew.pages[0].extract_text()


@pytest.mark.parametrize(
    "title",
    [
        TITLE,
        "x" * 400,
        "long title of a job " * 15,
        "שלום مرحبا Ελληνικά кириллица",
        "\U0001f600\U0001f9ff",
        "a\nb",
        "",
    ],
)
def test_nothing_leaves_the_live_area_or_meets_another_text(title: str) -> None:
    sheets = tuple(b.Sheet(f"Plate sheet {title[:40]}", title, "cutter", sheet.blocks, (title,)) for sheet in SHEETS)
    for page in lay_out(sheets, b.Stamp(title, title[:30], "f", "A4", (title,))):
        left, top, right, bottom = bounds(page.marks)
        assert left >= -0.4
        assert top >= -0.4
        assert right <= LIVE_WIDE_MM + 0.4
        assert bottom <= LIVE_HIGH_MM + 0.4
        assert clashes(page.marks) == []


def test_a_drawing_as_high_as_the_room_stands_on_one_page() -> None:
    sheet = b.Sheet("Plate sheet", "Make two.", "cutter", ())
    high = room_high_mm(sheet, STAMP)
    picture = Picture(100.0, high, (rectangle(0.0, 0.0, 100.0, high),))
    assert len(lay_out((b.Sheet("Plate sheet", "Make two.", "cutter", (b.Drawing(picture),)),), STAMP)) == 1


def test_the_ruler_measures_100_mm_and_4_in_on_the_raster(tmp_path: Path) -> None:
    """Printed at 600 dots per inch: the middles of the first and last tick, columns of dark dots below and above."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("no pdftoppm on this system")
    stamp = b.Stamp("t", "A", "f")
    (tmp_path / "card.pdf").write_bytes(pdf_bytes(lay_out(SHEETS[1:], stamp), stamp))
    subprocess.run(
        ["pdftoppm", "-r", "600", "-gray", "-singlefile", str(tmp_path / "card.pdf"), str(tmp_path / "card")],
        check=True,
    )
    rows = _grey_rows((tmp_path / "card.pgm").read_bytes())
    per_mm = 600 / 25.4
    bar_y = (297.0 - 250.0) / 2 + 250.0 - 11.0 + 5.0
    mm_ticks = _ticks(rows[round((bar_y + 2.6) * per_mm)], per_mm)
    inch_ticks = _ticks(rows[round((bar_y - 2.4) * per_mm)], per_mm)
    assert len(mm_ticks) == 11
    assert len(inch_ticks) == 5
    assert mm_ticks[-1] - mm_ticks[0] == pytest.approx(100.0, abs=0.1)
    assert inch_ticks[-1] - inch_ticks[0] == pytest.approx(101.6, abs=0.1)


def _grey_rows(pgm: bytes) -> list[bytes]:
    head, size, depth, pixels = pgm.split(b"\n", 3)
    wide, high = map(int, size.split())
    assert (head, depth) == (b"P5", b"255")
    return [pixels[row * wide : (row + 1) * wide] for row in range(high)]


def _ticks(row: bytes, per_mm: float) -> list[float]:
    """Middles (mm) of the runs of dark dots across the ruler's part of a row."""
    dark = [x for x in range(round(19.5 * per_mm), round(122.0 * per_mm)) if row[x] < 128]
    runs: list[list[int]] = []
    for x in dark:
        if runs and x - runs[-1][-1] == 1:
            runs[-1].append(x)
        else:
            runs.append([x])
    return [(run[0] + run[-1]) / 2 / per_mm for run in runs]
