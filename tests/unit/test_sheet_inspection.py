"""The inspection sheet: bands at any temperature, blanks, a test voltage nobody invents, the form that comes back."""

import csv
import io
from dataclasses import replace
from pathlib import Path

import pytest

from griddesign.figures import Figure, Status
from griddesign.job.inspected import read_inspection
from griddesign.job.inspection_csv import BLANK_TITLES, inspection_blank
from griddesign.job.plates_reading import read_plates_at_hand
from griddesign.job.records import PaperUnits
from griddesign.judge.finding import Verdict
from griddesign.judge.inspection import alpha_doubts, pass_bands
from griddesign.judge.records import Result
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.inspection import NOT_GIVEN, TEMPERATURES_C, inspection_sheet, voltage_words
from griddesign.verify.inspection import inspect


def texts(result: Result) -> str:
    sheet = inspection_sheet(result, "form-blank.csv")
    assert sheet is not None
    pages = lay_out((sheet,), b.Stamp("t", "A", "f"))
    return " ".join(mark.text for page in pages for _, _, mark in flat(page.marks) if isinstance(mark, Words))


# --- bands -----------------------------------------------------------------------------------------------------------


def test_bands_are_those_of_the_record_at_20_and_rise_as_the_metal_does(demo: Result) -> None:
    found = {(band.item, band.name): band for band in pass_bands(demo, TEMPERATURES_C)}
    assert len(found) == 1 + demo.layout.boxes + len(demo.layout.sections)
    plate = demo.plates[0]
    assert (found["plate", "P"].low_ohm, found["plate", "P"].high_ohm) == (plate.low_ohm, plate.high_ohm)
    for band in demo.bands:
        got = found["section", band.name]
        assert (got.low_ohm, got.high_ohm) == pytest.approx((band.accept_low_ohm, band.accept_high_ohm), rel=1e-12)
    for box in demo.box_bands:
        got = found["box", str(box.box)]
        assert (got.cold_ohm, got.low_ohm) == pytest.approx((box.cold_ohm, box.accept_low_ohm), rel=1e-12)
        assert got.high_ohm == pytest.approx(box.accept_high_ohm, rel=1e-12)
    for band in found.values():
        for t_c, low, high in band.at:
            ratio = 1.0 + plate.wish.metal.alpha20.value * (t_c - 20.0)
            assert (low, high) == pytest.approx((band.low_ohm * ratio, band.high_ohm * ratio), rel=1e-12)


def test_boxes_whose_plates_all_lie_at_the_end_of_their_band_bring_sections_to_theirs(demo: Result) -> None:
    bands = pass_bands(demo, ())
    boxes, sections = (sum(one.high_ohm for one in bands if one.item == item) for item in ("box", "section"))
    assert boxes == pytest.approx(sections, rel=1e-12)


def test_an_alpha_that_is_not_sure_is_said_with_its_worse_end(demo: Result) -> None:
    (doubt,) = alpha_doubts(demo, 40.0)
    alpha = doubt.metal.alpha20
    ends = [(1.0 + 20.0 * end) / (1.0 + 20.0 * alpha.value) - 1.0 for end in (alpha.low, alpha.high)]
    assert doubt.share == pytest.approx(max(map(abs, ends)), rel=1e-12)
    assert f"{100 * doubt.share:.1f}\u00a0% higher or lower" in texts(demo)
    assert alpha_doubts(demo, 20.0)[0].share == 0.0


# --- the sheet -------------------------------------------------------------------------------------------------------


def test_a_test_voltage_nobody_gave_is_not_invented(demo: Result) -> None:
    assert voltage_words(demo).count(NOT_GIVEN) == 2
    assert "Test voltage: NOT GIVEN" in texts(demo)
    figure = Figure(1500.0, 1500.0, 1500.0, Status.GIVEN, "clause 7.3 of the user's code", text="1500 V")
    limits = replace(demo.job.limits, test_voltage_v=1500.0)
    job = replace(demo.job, limits=limits, figures={**demo.job.figures, "limits.test_voltage": figure})
    said = voltage_words(replace(demo, job=job))
    assert "1500\u00a0V" in said and "clause 7.3 of the user's code" in said and NOT_GIVEN not in said
    bare = replace(demo.job, limits=limits)
    assert voltage_words(replace(demo, job=bare)).endswith(f"Clause: {NOT_GIVEN}.")


def test_every_plate_box_and_section_has_a_blank_of_9_mm(demo: Result) -> None:
    sheet = inspection_sheet(demo)
    tables = [block for block in sheet.blocks if isinstance(block, b.Table)]
    blank = [table for table in tables if any(column.blank for column in table.columns)]
    words = {cell.text for table in blank for row in table.rows for cell in row if isinstance(cell, b.Cell)}
    places = [
        (table.columns[0].title, cell.text)
        for table in blank
        for row in table.rows
        for cell in row
        if table.columns[0].title.startswith("Box\u00a0") and isinstance(cell, b.Cell) and cell.text
    ]
    assert sorted(places) == sorted((f"Box\u00a0{one.box}", str(one.position)) for one in demo.layout.places)
    assert {f"box {box}" for box in range(1, demo.layout.boxes + 1)} <= words
    assert {section.name for section in demo.layout.sections} <= words


def test_no_grid_no_sheet(demo: Result) -> None:
    assert inspection_sheet(replace(demo, layout=None)) is None


@pytest.mark.parametrize(("paper", "units"), [("A4", "mm"), ("Letter", "inch")])
def test_nothing_leaves_the_frame_or_meets_another_text(demo: Result, paper: str, units: str) -> None:
    job = replace(demo.job, paper=replace(demo.job.paper, units=units, sheet=paper))
    sheet = inspection_sheet(replace(demo, job=job), "a-rather-long-name-of-a-form_rev-draft-blank.csv")
    for page in lay_out((sheet,), b.Stamp("t", "A", "f", paper)):
        left, top, right, bottom = bounds(page.marks)
        assert min(left, top) >= -0.4 and right <= LIVE_WIDE_MM + 0.4 and bottom <= LIVE_HIGH_MM + 0.4
        assert clashes(page.marks) == []


# --- the form and its way back ---------------------------------------------------------------------------------------


def filled(result: Result, t_c: float, off: dict[str, float] | None = None) -> str:
    """The blank form as an inspector fills it in who reads every thing as it was chosen, metal at ``t_c``."""
    bands = {(band.item, band.name): band for band in pass_bands(result, ())}
    ratio = float(result.plates[0].wish.metal.ratio(t_c))
    rows = list(csv.DictReader(io.StringIO(inspection_blank(result.layout))))
    for row in rows:
        if row["item"] == "insulation":
            row.update({"test voltage (V)": "1500", "insulation (Mohm)": "20", "stood": "yes"})
            continue
        name = {"plate": row["kind"], "box": row["box"], "section": row["section"]}[row["item"]]
        place = f"{row['item']} {row['box']}/{row['position']}"
        ohm = bands[row["item"], name].cold_ohm * ratio * (1.0 + (off or {}).get(place, 0.0))
        row.update({"ohm": f"{ohm:.6g}", "method": "four-wire", "temperature (degC)": f"{t_c:g}"})
    sink = io.StringIO()
    writer = csv.DictWriter(sink, BLANK_TITLES)
    writer.writeheader()
    writer.writerows(rows)
    return sink.getvalue()


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "filled.csv"
    path.write_text(text, encoding="utf-8-sig")
    return path


def test_the_filled_form_is_judged_by_verify(demo: Result, tmp_path: Path) -> None:
    good = inspect(demo.job, read_inspection(written(tmp_path, filled(demo, 25.0))))
    assert good.inspection.empty == 0
    assert {one.finding.verdict for one in good.left if not one.name.startswith("insulation")} == {Verdict.HOLDS}
    counted = [one.name.split(" ")[0] for one in good.left]
    assert counted.count("plate") == len(demo.layout.places)
    assert (counted.count("box"), counted.count("section")) == (demo.layout.boxes, len(demo.layout.sections))
    bad = inspect(demo.job, read_inspection(written(tmp_path, filled(demo, 25.0, {"plate 2/7": 0.2}))))
    failed = [one.name for one in bad.left if one.finding.verdict is Verdict.FAILS]
    assert failed == ["plate 2/7"]


def test_the_filled_form_is_read_as_plates_at_hand(demo: Result, tmp_path: Path) -> None:
    found = read_plates_at_hand(written(tmp_path, filled(demo, 25.0)), {})
    assert len(found.plates) == len(demo.layout.places)
    single = [one for one in found.readings if one.first == one.last]
    assert len(single) == len(demo.layout.places)
    spans = {(one.first, one.last) for one in found.readings if one.first != one.last}
    ends = {
        (places[0].plate, places[-1].plate)
        for places in (
            *(demo.layout.of_section(section.name) for section in demo.layout.sections),
            *(demo.layout.in_box(box) for box in range(1, demo.layout.boxes + 1)),
        )
    }
    assert spans == ends


def test_a_form_with_only_plates_read_is_read_too(demo: Result, tmp_path: Path) -> None:
    rows = filled(demo, 20.0).splitlines()
    blank = inspection_blank(demo.layout).splitlines()
    plates = 1 + len(demo.layout.places)
    found = read_plates_at_hand(written(tmp_path, "\n".join(rows[:plates] + blank[plates:])), {})
    assert len(found.readings) == len(demo.layout.places)


@pytest.mark.parametrize(("units", "in_csv", "on_paper"), [("mm", "degC", "°C"), ("inch", "degF", "°F")])
def test_form_bands_and_file_have_the_same_degrees(
    demo: Result, tmp_path: Path, units: PaperUnits, in_csv: str, on_paper: str
) -> None:
    """An inspector with inch papers reads a thermometer in Fahrenheit: he writes and types what he reads."""
    assert demo.layout is not None
    blank = inspection_blank(demo.layout, units)
    assert f"temperature ({in_csv})" in blank
    words = texts(replace(demo, job=replace(demo.job, paper=replace(demo.job.paper, units=units))))
    assert words.count(f"Metal, {on_paper}") >= 3 and words.count("Metal, °") == words.count(f"Metal, {on_paper}")
    lines = blank.splitlines()
    row = lines[1].split(",")
    row[lines[0].split(",").index("ohm")] = "0.0713"
    row[lines[0].split(",").index(f"temperature ({in_csv})")] = "68"
    read = read_inspection(written(tmp_path, "\n".join((lines[0], ",".join(row)))))
    assert read.rows[0].t_c == pytest.approx(20.0 if units == "inch" else 68.0)
