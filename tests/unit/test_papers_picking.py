"""A set put together: contents where there are many sheets, some picked, numbers kept, pages that lie across."""

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from griddesign.errors import InputError
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import ACROSS, LEFT_MM, PAPER_MM, UPRIGHT, corner_mm, paper_mm
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.picking import CONTENTS, picked, put_together, sheet_key

STAMP = b.Stamp("Grid of car 3", "B", "1d672736", "A4", ("DRAFT",))
NAMES = (
    "Job sheet", "Notch sheet", "Tap sheet", "Plate sheet P", "Plate sheet Q", "Crew card", "Single faults", "Working",
)  # fmt: skip


def sheet(name: str, pages: int = 1, *, landscape: bool = False) -> b.Sheet:
    content = tuple(part for number in range(pages) for part in (b.NewPage(), b.Paragraph(f"{name} part {number}")))
    return b.Sheet(name, f"Do what {name} says.", "bench", content, landscape=landscape)


def words(pages, stamp: b.Stamp = STAMP) -> list[str]:  # type: ignore[no-untyped-def]
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf_bytes(pages, stamp))).pages]


def test_six_sheets_need_no_contents_and_seven_do() -> None:
    six = put_together([sheet(name) for name in NAMES[:6]], STAMP)
    assert [page.name for page in six] == list(NAMES[:6])
    seven = put_together([sheet(name) for name in NAMES[:7]], STAMP)
    assert [page.name for page in seven] == [CONTENTS, *NAMES[:7]]


def test_the_contents_name_sheet_pages_and_first_page() -> None:
    counts = [3, 1, 2, 1, 4, 1, 1, 2]
    pages = put_together([sheet(name, count) for name, count in zip(NAMES, counts, strict=True)], STAMP)
    texts = words(pages)
    assert len(pages) == 1 + sum(counts)
    assert f"all {len(pages)} pages" in texts[0].replace("\n", " ")
    start = 2
    for number, (name, count) in enumerate(zip(NAMES, counts, strict=True), start=2):
        assert f"sheet {number} of 9" in texts[start - 1] and name in texts[start - 1]
        row = texts[0][texts[0].index(name) :][: len(name) + 40].split()
        assert [str(count), str(start)] == [word for word in row if word.isdigit()][:2]
        start += count


def test_contents_that_run_over_a_page_still_count_right() -> None:
    pages = put_together([sheet(f"Plate sheet P{number}") for number in range(60)], STAMP)
    own = [page for page in pages if page.name == CONTENTS]
    assert len(own) > 1
    texts = words(pages)
    row = texts[0][texts[0].index("Plate sheet P0") :].split()
    assert [word for word in row if word.isdigit()][:2] == ["1", str(len(own) + 1)]
    assert "Plate sheet P0" in texts[len(own)]


@pytest.mark.parametrize(
    ("name", "key"),
    [("Job sheet", "job"), ("Plate sheet P", "plate"), ("Crew card", "crew"), ("Working", "working"),
     ("Single faults", "single-faults"), ("Sheet", "sheet"), ("Measuring sheet: car", "measuring-sheet:-car")],
)  # fmt: skip
def test_what_a_sheet_is_asked_for_by(name: str, key: str) -> None:
    assert sheet_key(sheet(name)) == key


def test_picked_sheets_keep_the_numbers_of_the_whole_set() -> None:
    sheets = [sheet(name) for name in NAMES]
    only = picked(sheets, "plate, faults")
    pages = put_together(sheets, STAMP, only)
    assert [page.name for page in pages] == ["Plate sheet P", "Plate sheet Q", "Single faults"]
    assert [page.sheet_number for page in pages] == [5, 6, 8]
    whole = {page.sheet_number: page for page in put_together(sheets, STAMP)}
    assert all(page == whole[page.sheet_number] for page in pages)


@pytest.mark.parametrize("asked", ["banana", "plate,banana", "", " , "])
def test_a_sheet_that_is_not_there_is_refused_with_those_that_are(asked: str) -> None:
    with pytest.raises(InputError) as refused:
        picked([sheet(name) for name in NAMES], asked)
    assert "job, notch, tap, plate, crew, single-faults, working" in refused.value.hint


def test_bookmarks_name_every_sheet_and_the_title_is_the_jobs() -> None:
    pages = put_together([sheet(name, 2) for name in NAMES], STAMP)
    reader = PdfReader(io.BytesIO(pdf_bytes(pages, STAMP)))
    titles = [entry["/Title"] for entry in reader.outline]
    assert titles == [f"{number}  {name}" for number, name in enumerate((CONTENTS, *NAMES), start=1)]
    assert reader.metadata.title == "Grid of car 3, revision B"


# --- pages that lie across -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_page_that_lies_across_has_its_live_area_on_the_paper(paper: str) -> None:
    stamp = replace(STAMP, paper=paper)
    upright, across = lay_out((sheet("Job sheet"), sheet("Wide sheet", landscape=True)), stamp)
    assert (upright.live_mm, across.live_mm) == (UPRIGHT, ACROSS)
    assert paper_mm(across, paper) == tuple(reversed(PAPER_MM[paper]))
    left, top = corner_mm(across, paper)
    wide, high = paper_mm(across, paper)
    assert top == LEFT_MM, "the punched edge"
    assert left >= 10.0 and left + ACROSS[0] <= wide - 10.0 and top + ACROSS[1] <= high - 8.0
    reader = PdfReader(io.BytesIO(pdf_bytes((upright, across), stamp)))
    boxes = [tuple(float(side) for side in page.mediabox[2:]) for page in reader.pages]
    assert boxes[1] == pytest.approx(tuple(reversed(boxes[0])), abs=0.01)


def test_what_stands_on_a_page_across_stays_in_its_frame() -> None:
    columns = tuple(b.Column(f"Column number {number}", "right") for number in range(9))
    table = b.Table(columns, tuple(("123.4 mΩ",) * 9 for _ in range(60)))
    wide = b.Sheet("Wide sheet " + "x" * 60, "Read it across. " * 12, "engineer", (table,), ("DRAFT",), landscape=True)
    pages = lay_out((wide,), STAMP)
    assert len(pages) > 1
    for page in pages:
        left, top, right, bottom = bounds(page.marks)
        assert min(left, top) >= -0.4 and right <= ACROSS[0] + 0.4 and bottom <= ACROSS[1] + 0.4
        assert clashes(page.marks) == []


def test_the_text_of_a_page_stands_in_the_file_in_the_order_in_which_it_is_read() -> None:
    beside = b.Beside((b.Paragraph("left first"),), (b.Paragraph("right then"),))
    table = b.Table((b.Column("One"), b.Column("Two")), (("a1", "a2"), ("b1", "b2")))
    content = (b.Heading("Heading"), beside, table, b.Box("Title of box", ("inside the box",)), b.Paragraph("the end"))
    (text,) = words(lay_out((b.Sheet("Name of sheet", "Do this.", "bench", content),), STAMP))
    order = ("Name of sheet", "Do this.", "Heading", "left first", "right then", "One", "Two", "a1", "a2", "b1", "b2",
             "Title of box", "inside the box", "the end")  # fmt: skip
    places = [text.index(part) for part in order]
    assert places == sorted(places)
