"""Plate, order, nest and template sheets over a dozen jobs: nothing overlaps, numbers are the record's, scale true."""

import io
import re
import subprocess
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from pypdf import PdfReader

from griddesign.job.nest import with_nest
from griddesign.job.reading import read_job
from griddesign.judge.plate_result import plate_result
from griddesign.judge.records import Result
from griddesign.papers import frame
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.marks import Path as DrawnPath
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.plate_set import drawings_of, sheets_of
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.trace_order import order_parts
from griddesign.papers.template import MOST_TILES, OVERLAP_MM, template_of
from griddesign.papers.text import width_mm
from griddesign.papers.tolerances import flatness_m

SHAPE = """
[plate.shape]
family = "zigzag"
height = "{height} mm"
passes = {passes}
strip_width = "{strip} mm"
pass_gap = "{gap} mm"
thickness = "{thick} mm"
eyes = "{eyes}"
{more}
[plate.shape.eye]
diameter = "{ring} mm"
hole = "{hole} mm"
reach = "{reach} mm"
offset = "{offset} mm"
"""
USUAL = {"height": 250, "passes": 13, "strip": 8, "gap": 7.2, "thick": 5, "ring": 30, "hole": 14, "reach": 22,
         "offset": 0, "more": 'fillet = "2 mm"'}  # fmt: skip
TINY = USUAL | {
    "height": 40,
    "passes": 3,
    "strip": 3,
    "gap": 5,
    "thick": 2,
    "ring": 7,
    "hole": 3,
    "reach": 5,
    "more": "",
}
HUGE = USUAL | {"height": 1500, "passes": 21, "strip": 30, "gap": 20, "thick": 12, "ring": 60, "hole": 24, "reach": 45}
TAPERED = USUAL | {"passes": 12, "offset": -4, "reach": 20, "more": 'bend = "round"\nedge_thickness = "4 mm"\n'
                   'edge_radius = "1 mm"\nsupport_eyes = 1'}  # fmt: skip
LONG = "W" * 24
CASES: dict[str, tuple[dict, str, str, str]] = {  # shape, made by, what stands in the plate's table, paper
    "one plate": (USUAL, "laser", "", "A4"),
    "cast on Letter": (USUAL, "cast", "spares = 4", "Letter"),
    "400 plates": (USUAL, "cast", "spares = 399", "A4"),
    "tiny": (TINY, "laser", "", "Letter"),
    "huge": (HUGE, "plasma", "spares = 30", "A4"),
    "tapered": (TAPERED, "cast", 'making = { fit_tolerance = "0.5 mm", shrinkage = "1 %" }', "A4"),
    "tapered on Letter": (TAPERED, "cast", "", "Letter"),
    "kerf": (USUAL, "waterjet", 'making = { kerf = "1 mm" }\nspares = 80', "A4"),
    "stamped": (USUAL, "stamped", "spares = 9", "Letter"),
    "two passes": (TINY | {"passes": 2, "offset": -1}, "laser", "", "A4"),
    "long name": (USUAL, "laser", f'name = "{LONG}"', "A4"),
    "accents": (USUAL, "laser", 'name = "Plåt Øre ñ"', "Letter"),
    "Greek": (USUAL, "cast", 'name = "Πλάκα Ω"', "A4"),
    "right to left": (USUAL, "laser", 'name = "לוח אחד"', "A4"),
    "markup": (USUAL, "laser", 'name = "<b>&amp; </b>&"', "A4"),
    "emoji": (USUAL, "cast", 'name = "P 🔥"', "Letter"),
}  # fmt: skip
TITLES = {
    "long name": "Starting grid of works cars 3 to 27 after the rebuilding of the upper bank, " + LONG * 4,
    "Greek": "Αντιστάτης εκκίνησης", "right to left": "נגד התנעה",
    "markup": "<i>&</i> %%d \\\\P", "emoji": "Grid 🚋🔥",
}  # fmt: skip


def result_for(case: str, tmp_path: Path) -> Result:
    shape, made_by, table, paper = CASES[case]
    eyes = "one edge" if shape["passes"] % 2 == 0 else "opposite edges"
    metal = "grey_iron_class30" if made_by == "cast" else "steel_low_carbon"
    name = "" if "name =" in table else 'name = "P"\n'
    path = tmp_path / "job.toml"
    path.write_text(
        f'schema = 1\ntitle = "{TITLES.get(case, "Works car 3")}"\nrevision = "draft"\nexample = true\n'
        f'[papers]\nsheet = "{paper}"\n[limits]\nnotch_tolerance = "5 %"\n[[plate]]\n{name}{table}\n'
        f'metal = "{metal}"\nmade_by = "{made_by}"\n{SHAPE.format(eyes=eyes, **shape)}',
        encoding="utf-8",
    )
    sheet = "4 m x 2 m" if case == "huge" else "1.2 m x 0.8 m"
    job = with_nest(read_job(path), sheet)
    return plate_result(job, job.plates[0])


@pytest.fixture(scope="module", params=CASES)
def laid(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    result = result_for(request.param, tmp_path_factory.mktemp("plate"))
    (plate,) = result.plates
    drawings = drawings_of(result, plate)
    sheets = tuple(sheets_of(result, plate, drawings))
    return result, plate, sheets, lay_out(sheets, stamp(result)), drawings


def test_no_text_meets_another_or_leaves_its_page(laid: tuple) -> None:
    _, _, _, pages, _ = laid
    for page in pages:
        assert clashes(page.marks) == [], page.name
        left, top, right, bottom = bounds(page.marks)
        wide, high = page.live_mm
        assert left >= -0.5 and top >= -0.5 and right <= wide + 0.5 and bottom <= high + 0.5, page.name


def words_of(pages: tuple, name: str) -> str:
    return " ".join(
        mark.text for page in pages if page.name.startswith(name) for _, _, mark in flat(page.marks)
        if isinstance(mark, Words)
    ).replace("\u00a0", " ")  # fmt: skip


def test_counts_are_the_same_on_every_sheet(laid: tuple) -> None:
    _, plate, _, pages, _ = laid
    several = plate.lot > 1
    assert (f"the lot of {plate.lot}" if several else "Make 1 of plate") in words_of(pages, "Plate sheet")
    assert (f"the lot of {plate.lot}" if several else " 1 of plate") in words_of(pages, "Order")
    nest = words_of(pages, "Nest")
    assert f"{'l' if several else 'L'}ay {plate.lot} of plate" in nest
    per, last = plate.nest.per_sheet, len(plate.nest.last)
    assert plate.nest.full * per + last == plate.lot
    assert (f"of {per} plates" in nest) == (plate.nest.full > 0 and per > 1) or per == 1
    if last > 1:
        assert f"of {last} plates" in nest


def test_no_headline_lets_anybody_make_the_lot_at_once(laid: tuple) -> None:
    """Plate, order and nest sheet may each be handed on alone: what its large type orders is the first-off."""
    _, plate, sheets, _, _ = laid
    orders = {sheet.name.split()[0]: sheet.imperative for sheet in sheets if not sheet.name.startswith("Template")}
    assert set(orders) == {"Plate", "Order", "Nest"}
    for order in orders.values():
        assert plate.lot == 1 or re.search(r"ONE .*first", order), order


def test_each_hand_has_its_cautions_and_notes(laid: tuple) -> None:
    _, plate, _, pages, _ = laid
    order, cast = words_of(pages, "Order"), plate.wish.made_by == "cast"
    wanted = (
        ("Gate at the eyes only", "grind flash only", "same ladle", "at this section", "at the eyes")
        if cast
        else ("Never on a pass or in a return bend", "rings of the eyes", "ISO 2768-2 L", "Flat when it lies free")
    )
    for words in (*wanted[:-1], "Make ONE first", "First-off passed by", "licensed person"):
        assert words in order, words
    sheet = words_of(pages, "Plate sheet")
    assert "no zinc, no paint" in sheet and "common practice, no source" in sheet


def test_the_working_names_a_punched_edge_as_the_order_does(tmp_path: Path) -> None:
    """A punch does not pierce for the rim: its holes are counted as they are, on both sheets alike."""
    result = result_for("stamped", tmp_path)
    (plate,) = result.plates
    lines = {line.symbol: line.result for part in order_parts(result) for line in part.lines}
    assert "punched edge" in lines and not {"cut length", "pierces"} & set(lines)
    holes = len(plate.outline.holes)
    assert lines["holes"] == f"{holes}\nlot {plate.lot * holes}"
    pages = lay_out(tuple(sheets_of(result, plate, drawings_of(result, plate))), stamp(result))
    assert f"holes {holes} {plate.lot * holes}" in words_of(pages, "Order")


def test_the_order_holds_the_records_numbers(laid: tuple) -> None:
    """Cut length, pierces, masses: worked out again from the outline alone."""
    result, plate, _, pages, _ = laid
    if plate.wish.made_by in ("cast", "stamped") or result.job.paper.units == "inch":
        return
    order = words_of(pages, "Order")
    pierces = 1 + len(plate.outline.holes)
    assert f"pierces {pierces} {plate.lot * pierces}" in order
    metres = plate.outline.perimeter_m
    said = re.search(r"cut length ([\d.]+) (mm|m) ([\d.]+) (mm|m|km)", order)
    assert said is not None
    units = {"mm": 1e-3, "m": 1.0, "km": 1e3}
    assert float(said[1]) * units[said[2]] == pytest.approx(metres, rel=1e-3)
    assert float(said[3]) * units[said[4]] == pytest.approx(plate.lot * metres, rel=1e-3)


def test_the_template_is_the_plate_at_true_size(laid: tuple) -> None:
    """The tiles' lines put together again: as long as all outlines, and every ring's box true to 0.02 mm."""
    _, plate, _, _, _ = laid
    template = template_of(plate.outline, (179.0, 165.0))
    if not template.tiles:
        assert template.count > MOST_TILES
        return
    steps = (179.0 - OVERLAP_MM, 165.0 - OVERLAP_MM)
    pieces: set[tuple] = set()
    for tile in template.tiles:
        off = (tile.column - 1) * steps[0], (tile.row - 1) * steps[1]
        for _, _, mark in flat(tile.picture.marks):
            if isinstance(mark, DrawnPath) and mark.width_mm == 0.5:
                pieces |= set(strokes(mark, off))
    xs, ys = (np.array([value for piece in pieces for value in (piece[axis], piece[2 + axis])]) for axis in (0, 1))
    left, low, right, high = plate.outline.bounding_box_m
    sizes = sorted((1000 * (right - left), 1000 * (high - low)))
    assert sorted((xs.max() - xs.min(), ys.max() - ys.min())) == pytest.approx(sizes, abs=0.02)


def test_the_template_names_each_cross_on_both_tiles_that_share_it(laid: tuple) -> None:
    """Tiles are joined like to like, so a name stands on either side of a join, whole and inside its tile; down to
    tiles so small that the names have two figures."""
    _, plate, _, _, _ = laid
    for room in ((179.0, 165.0), (90.0, 165.0), (120.0, 120.0)):
        template = template_of(plate.outline, room)
        tiles = [[mark for _, _, mark in flat(tile.picture.marks) if isinstance(mark, Words)]
                 for tile in template.tiles]  # fmt: skip
        names = Counter(words.text for tile in tiles for words in tile if not words.text.startswith("H"))
        columns, rows = template.columns, template.rows
        joins = (columns - 1) * rows + (rows - 1) * columns if tiles else 0
        assert names == {str(n): 2 for n in range(1, 2 * joins + 1)}
        for tile, words in ((tile, mark) for tile, marks in zip(template.tiles, tiles, strict=True) for mark in marks):
            wide = width_mm(words.text, words.size_pt)
            left = words.x_mm - (wide if words.align == "right" else 0.0)
            assert left >= 0.0
            assert left + wide <= tile.picture.width_mm
            assert words.y_mm >= 0.73 * words.size_pt * 25.4 / 72  # the height of a figure in our typeface


def strokes(path: DrawnPath, off: tuple[float, float]) -> Iterator[tuple[float, float, float, float]]:
    at = (0.0, 0.0)
    for kind, (x, y) in path.steps:
        point = (x + off[0], y + off[1])
        if kind == "l":
            yield (*at, *point)
        at = point


def test_first_page_tells_which_drawing_it_is_and_the_projection_that_goes_with_the_paper(laid: tuple) -> None:
    result, _, _, pages, _ = laid
    first = words_of(tuple(page for page in pages if page.part == 1), "Plate sheet")
    inch = result.job.paper.sheet == "Letter"
    assert ("third angle" if inch else "first angle") in first
    assert ("inches" if inch else "millimetres") in first
    assert re.search(r"(?i)scale", first) and re.search(r"\b\d+:\d+, ", first)
    assert result.fingerprint in first and f"{result.job.path.stem}-" in first


def pixels(content: bytes, page: int, dpi: int, tmp_path: Path) -> NDArray[np.uint8]:
    path = tmp_path / "set.pdf"
    path.write_bytes(content)
    words = ["pdftoppm", "-gray", "-r", str(dpi), "-f", str(page), "-l", str(page), str(path)]
    raw = subprocess.run(words, capture_output=True, check=True).stdout
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
    assert head is not None
    wide, high = int(head[1]), int(head[2])
    return np.frombuffer(raw[head.end() :], np.uint8).reshape(high, wide)


def darkest_run_mm(row: NDArray[np.uint8], dpi: int) -> tuple[float, float]:
    """Start and length, mm, of the longest dark run of a row of pixels."""
    dark = np.concatenate([[0], (row < 128).astype(int), [0]])
    starts, ends = np.flatnonzero(np.diff(dark) == 1), np.flatnonzero(np.diff(dark) == -1)
    longest = int(np.argmax(ends - starts))
    return starts[longest] * 25.4 / dpi, (ends - starts)[longest] * 25.4 / dpi


@pytest.mark.parametrize("case", ["one plate", "cast on Letter"])
def test_the_bars_measure_true_on_the_page_as_pixels(case: str, tmp_path: Path) -> None:
    """At 300 dpi the bar of 4 in is 101.6 mm long and the ticks of tens stand 10 mm apart, all within 0.1 mm."""
    result = result_for(case, tmp_path)
    (plate,) = result.plates
    sheets = tuple(sheets_of(result, plate, drawings_of(result, plate)))
    pages = lay_out(sheets, stamp(result))
    at = next(k for k, page in enumerate(pages, start=1) if page.name.startswith("Template"))
    dots = pixels(pdf_bytes(pages, stamp(result)), at, 300, tmp_path)
    wide_mm, high_mm = frame.paper_mm(pages[at - 1], result.job.paper.sheet)
    assert dots.shape == pytest.approx((high_mm / 25.4 * 300, wide_mm / 25.4 * 300), abs=1.0)
    foot_mm = frame.corner_mm(pages[at - 1], result.job.paper.sheet)[1] + pages[at - 1].live_mm[1] - 11.0
    row = dots[round((foot_mm + 5.0) / 25.4 * 300)]
    start_mm, long_mm = darkest_run_mm(row, 300)
    assert long_mm == pytest.approx(101.6, abs=0.1)
    dark = (dots[round((foot_mm + 7.5) / 25.4 * 300)] < 128).astype(int)  # where only the ticks of tens reach
    edges = np.diff(np.concatenate([[0], dark, [0]]))
    middles = (np.flatnonzero(edges == 1) + np.flatnonzero(edges == -1)) / 2 * 25.4 / 300
    ticks = [middle for middle in middles if start_mm - 1.0 < middle < start_mm + 101.0]
    assert len(ticks) == 11
    assert np.diff(ticks) == pytest.approx(10.0, abs=0.1)
    assert ticks[-1] - ticks[0] == pytest.approx(100.0, abs=0.1)


def test_same_plate_same_pdf(tmp_path: Path) -> None:
    def made() -> bytes:
        result = result_for("kerf", tmp_path)
        (plate,) = result.plates
        sheets = tuple(sheets_of(result, plate, drawings_of(result, plate)))
        return pdf_bytes(lay_out(sheets, stamp(result)), stamp(result))

    one = made()
    assert one == made()
    titles = [entry.title for entry in PdfReader(io.BytesIO(one)).outline]  # type: ignore[union-attr]
    assert titles == ["1  Plate sheet P", "2  Order P", "3  Nest P", "4  Template P"]


def test_the_nest_sheet_names_the_stock_it_is_cut_from(tmp_path: Path) -> None:
    """It is handed on alone: metal and thickness stand on it, not only the size of the sheet."""
    result = result_for("kerf", tmp_path)
    (plate,) = result.plates
    sheets = tuple(sheets_of(result, plate, drawings_of(result, plate)))
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(
        pdf_bytes(lay_out(sheets, stamp(result)), stamp(result)))).pages]  # fmt: skip
    nest = " ".join(page for page in pages if "Nest P" in page)
    assert plate.wish.metal.name in nest
    assert f"{1000 * plate.shape.thickness_m:.4g}" in nest and "mm thick" in nest


@pytest.mark.parametrize(
    ("longest_mm", "flat_mm"), [(10, 0.1), (30, 0.2), (100, 0.4), (300, 0.8), (301, 1.2), (3000, 1.6)]
)
def test_flatness(longest_mm: float, flat_mm: float) -> None:
    """ISO 2768-2:1989, table 1, straightness and flatness, class L; read in a reprint of the table."""
    assert flatness_m(longest_mm / 1000) == pytest.approx(flat_mm / 1000)
    assert flatness_m(3.001) is None
