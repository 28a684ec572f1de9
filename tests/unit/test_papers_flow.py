"""Blocks, tables and pages: nothing overlaps, nothing is cut, headers come again."""

import pytest

from griddesign.errors import OutputError
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.flow import fill
from griddesign.papers.layout import column, lay
from griddesign.papers.marks import Picture, Words, flat, rectangle
from griddesign.papers.strips import Laid, Strip
from griddesign.papers.table import columns, lay_table

NASTY = "Ångström & <b>Söhne</b> Ω µ ∥ Δ ≈ \U0001f600 שלום مرحبا " + "Donaudampfschifffahrtsgesellschaft" * 3


def words_of(marks: tuple) -> list[str]:
    return [mark.text for _, _, mark in flat(marks) if isinstance(mark, Words)]


def block(height: float, *, glued: bool = False) -> Strip:
    return Strip(height, (rectangle(0.0, 0.0, 10.0, height),), glued)


def test_pages_are_filled_but_never_overfilled() -> None:
    pages = fill([Laid((block(30.0), block(30.0), block(30.0)), gap_mm=5.0)], 70.0)
    assert [len(page) for page in pages] == [2, 1]
    assert [group.y_mm for group in pages[0]] == [0.0, 30.0]


def test_a_gap_is_kept_between_blocks_but_not_at_the_top_of_a_page() -> None:
    pages = fill([Laid((block(40.0),), gap_mm=9.0), Laid((block(20.0),), gap_mm=9.0), Laid((block(50.0),))], 70.0)
    assert [group.y_mm for group in pages[0]] == [0.0, 49.0]
    assert [group.y_mm for group in pages[1]] == [0.0]


def test_glued_strips_go_to_the_next_page_together() -> None:
    pages = fill([Laid((block(50.0),)), Laid((block(10.0, glued=True), block(20.0)), gap_mm=0.0)], 70.0)
    assert [len(page) for page in pages] == [1, 2]


def test_glue_gives_way_where_it_is_longer_than_a_page() -> None:
    pages = fill([Laid(tuple(block(30.0, glued=True) for _ in range(5)))], 70.0)
    assert sum(len(page) for page in pages) == 5


def test_a_strip_higher_than_a_page_is_refused_with_both_numbers() -> None:
    with pytest.raises(OutputError, match="80 mm high does not fit a page with 70 mm"):
        fill([Laid((block(80.0),))], 70.0)


def test_new_page_block_turns_the_page() -> None:
    pages = fill([lay(item, 180.0) for item in (b.Paragraph("one"), b.NewPage(), b.Paragraph("two"))], 200.0)
    assert [words_of(page) for page in pages] == [["one"], ["two"]]


def test_a_table_repeats_its_header_on_every_page() -> None:
    rows = tuple((str(number), f"{number / 7:.3f}\u00a0Ω") for number in range(60))
    laid = lay_table(b.Table(columns("Notch", "Wanted", numbers=("Wanted",)), rows), 180.0)
    pages = fill([laid], 100.0)
    assert len(pages) > 2
    assert all(words_of(page)[:2] == ["Notch", "Wanted"] for page in pages)
    assert [word for page in pages for word in words_of(page) if word.isdigit()] == [str(n) for n in range(60)]


def test_numbers_stand_flush_right_in_one_column() -> None:
    table = b.Table(columns("Section", "Ohms", numbers=("Ohms",)), (("A", "0.5"), ("B", "12.75")))
    words = [mark for _, _, mark in flat(lay_table(table, 180.0).strips[1].marks) if isinstance(mark, Words)]
    more = [mark for _, _, mark in flat(lay_table(table, 180.0).strips[2].marks) if isinstance(mark, Words)]
    assert words[1].align == more[1].align == "right"
    assert words[1].x_mm == more[1].x_mm


def test_a_number_is_never_parted_from_its_unit() -> None:
    table = b.Table(columns("Why", "Ohms", numbers=("Ohms",)), (("because " * 40, "12345.678 Ω"),))
    assert "12345.678 Ω" in words_of(lay_table(table, 100.0).strips[1].marks)


def test_blank_cells_are_high_enough_to_write_in() -> None:
    table = b.Table((b.Column("Section"), b.Column("Ohms", blank=True, least_mm=30.0)), (("A", ""), ("B", "")))
    assert all(strip.height_mm >= b.BLANK_MM for strip in lay_table(table, 180.0).strips[1:])
    sign = lay(b.SignOff(("Made by", "Checked by")), 180.0)
    assert all(strip.height_mm >= b.BLANK_MM for strip in sign.strips[1:])


def test_a_picture_in_a_cell_makes_the_row_high_enough() -> None:
    picture = Picture(30.0, 25.0, (rectangle(0.0, 0.0, 30.0, 25.0),))
    strip = lay_table(b.Table(columns("Notch", "Circuit"), (("1", picture),)), 180.0).strips[1]
    left, top, right, bottom = bounds(strip.marks)
    assert strip.height_mm >= 25.0
    assert top >= -0.2
    assert bottom <= strip.height_mm + 0.2
    assert -0.2 <= left < right <= 180.0 + 0.2


def test_a_row_with_the_wrong_number_of_cells_is_refused() -> None:
    with pytest.raises(OutputError, match="3 cells under 2 columns"):
        lay_table(b.Table(columns("One", "Two"), (("a", "b", "c"),)), 180.0)


def test_a_cell_longer_than_a_page_is_cut_between_its_lines() -> None:
    table = b.Table(columns("Symbol", "Result"), (("word " * 1500, "1 Ω"),))
    pages = fill([lay_table(table, 180.0)], 150.0)
    assert len(pages) > 1
    assert sum(word.count("word") for page in pages for word in words_of(page)) == 1500


EVERY_BLOCK = (
    b.Heading(NASTY),
    b.Paragraph(NASTY * 3),
    b.Points((NASTY, "short", NASTY), numbered=True),
    b.KeyFigures((b.KeyFigure("Whole grid, cold", "3.214 Ω", NASTY), b.KeyFigure("a", "b"), b.KeyFigure(NASTY, "1"))),
    b.Table(columns("Name", "Ohms", "Why", numbers=("Ohms",)), ((NASTY, "1.25 Ω", NASTY), ("a", "2 Ω", ""))),
    b.Table(tuple(b.Column(f"Column {n}") for n in range(14)), (tuple(NASTY[n : n + 9] for n in range(14)),)),
    b.Box("Next step", (NASTY, "b"), heavy=True),
    b.Cautions((NASTY, "600 V kills.")),
    b.SignOff(("Designed by", NASTY)),
    b.Drawing(Picture(60.0, 30.0, (rectangle(0.0, 0.0, 60.0, 30.0),)), NASTY),
    b.Beside((b.Paragraph(NASTY),), (b.KeyFigures((b.KeyFigure("x", "1"),)),), 0.4),
    b.Gap(5.0),
)


@pytest.mark.parametrize("item", EVERY_BLOCK, ids=lambda item: type(item).__name__)
def test_every_block_keeps_to_its_width_and_its_height(item: b.Block) -> None:
    marks, height = column((item,), 120.0)
    left, top, right, bottom = bounds(marks)
    assert left >= -0.4
    assert right <= 120.4
    assert top >= -0.5
    assert bottom <= height + 0.5
    assert clashes(marks) == []


def test_overlapping_text_is_found() -> None:
    words = Words(0.0, 10.0, "here")
    assert clashes((words, words._replace(x_mm=1.0))) == [("here", "here")]
    assert clashes((words, words._replace(y_mm=20.0))) == []
    assert clashes((words, words._replace(hollow=True))) == []


def test_a_column_made_for_its_title_does_not_break_it() -> None:
    names = ("Tap", "Box", "Where", "Side", "Plates before", "Lead fitted")
    wide = tuple(b.Column(name, "right" if name == "Box" else "left", name == "Where") for name in names)
    table = b.Table(wide, (("end of A", "1", "joint 18|19", "terminal side", "22", ""),), 10.0)
    for room_mm in (150.0, 163.7, 171.3, 180.0):
        header = lay_table(table, room_mm).strips[0]
        assert {"Box", "Tap", "Where", "Side"} <= set(words_of(header.marks))


def test_a_dense_table_takes_its_widths_from_what_its_columns_hold() -> None:
    """Of two columns too wide for one line the longer gets more of the room: fewer lines, none lost."""
    long = "the longest of all the cells, many words that go on and on, and then some more of them " * 7
    source = "a source named in two rather long sentences; of which nobody will ever read the second one"
    rows = tuple((f"R{n}", long, "12.5 Ω to 13.5 Ω\nlikely 13.1 Ω", source) for n in range(6))
    made = [b.Table(columns("A", "B", "C", "D"), rows, 8.5, dense=one) for one in (False, True)]
    plain, dense = (lay_table(table, 180.0).strips for table in made)
    lines = [
        len({mark.y_mm for _, _, mark in flat(strips[1].marks) if isinstance(mark, Words)}) for strips in (plain, dense)
    ]
    assert lines[1] < lines[0]
    assert sum(strip.height_mm for strip in dense) < 0.85 * sum(strip.height_mm for strip in plain)
    for strip, row in zip(dense[1:], rows, strict=True):
        left, _, right, bottom = bounds(strip.marks)
        assert -0.2 <= left < right <= 180.2 and bottom <= strip.height_mm + 0.2 and clashes(strip.marks) == []
        assert sorted(" ".join(words_of(strip.marks)).split()) == sorted(" ".join(row).split())


# --- few pages, nothing parted that belongs together -----------------------------------------------------------------


def test_blocks_close_up_where_that_saves_the_last_page() -> None:
    """Three blocks of 30 with gaps of 10 need 110: on a page of 100 they close up to 0.45 of their gaps, 99."""
    laid = [Laid((block(30.0),), gap_mm=10.0) for _ in range(3)]
    (page,) = fill(laid, 100.0)
    assert [group.y_mm for group in page] == pytest.approx([0.0, 34.5, 69.0])
    assert len(fill(laid, 98.0)) == 2, "even closed up they are too high: then they keep their gaps"
    assert [group.y_mm for group in fill(laid, 98.0)[0]] == pytest.approx([0.0, 40.0])


def test_a_last_page_well_filled_is_left_alone() -> None:
    pages = fill([Laid((block(45.0),), gap_mm=10.0) for _ in range(4)], 100.0)
    assert [group.y_mm for group in pages[0]] == pytest.approx([0.0, 55.0])


@pytest.mark.parametrize("count", range(2, 12))
def test_no_row_of_a_table_is_alone_on_a_page(count: int) -> None:
    rows = tuple((str(number), "words") for number in range(count))
    laid = lay_table(b.Table(columns("No.", "What"), rows), 180.0)
    row_mm = laid.strips[-1].height_mm
    above = Strip(3.0 * row_mm, (rectangle(0.0, 0.0, 1.0, 1.0),))
    pages = fill([Laid((above,)), laid], 8.0 * row_mm + laid.header.height_mm)
    told = [sum(word == "words" for word in words_of(page)) for page in pages]
    assert sum(told) == count
    assert all(one != 1 for one in told)


def test_a_whole_table_and_a_low_box_are_never_parted() -> None:
    rows = tuple((str(number), "words") for number in range(6))
    whole = lay_table(b.Table(columns("No.", "What"), rows, whole=True), 180.0)
    box = lay(b.Box("Title", ("one", "two", "three"), heavy=True), 180.0)
    for laid, last in ((whole, "words"), (box, "three")):
        high = sum(strip.height_mm for strip in laid.strips)
        pages = fill([Laid((block(10.0),)), laid], high + 5.0)
        assert [last in words_of(page) for page in pages] == [False, True]
