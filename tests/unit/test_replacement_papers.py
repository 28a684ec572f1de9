"""Papers of one plate alone: ordered in another metal, re-issued after its first-off, as drawn; nothing half-written.

Exact checks (shrinkage, bands, areas of files read back) are by formula; the rest is what the order has to say.
"""

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.plate_result import ordered_result
from griddesign.judge.replacing import Wanted, order_plate
from griddesign.papers.cut_dxf import read_cut
from griddesign.papers.dxf_library import read_dxf
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.replacement_files import ordered_files
from griddesign.plate.kerf import kerf_outline
from griddesign.plate.zigzag import outline_of

LASER = ("--ohms", "69 mohm", "--metal", "ss304", "--made-by", "laser")
FIRST = "plate,ohm,temperature (degC),thickness (mm),mass (kg)\nP-1,0.0660,20,4.36,1.0\nP-2,0.0664,20,4.37,1.0\n"
Run = Callable[..., tuple[int, str, str]]


def starter(**changes: str) -> str:
    """The plate starter with sharp corners, so that it is quick; values of keys changed, ``limits`` put at the end."""
    lines = [line for line in starter_text("plate").splitlines() if not line.startswith("fillet")]
    more = changes.pop("limits", "")
    for key, value in changes.items():
        lines = [f"{key} = {value}" if line.startswith(f"{key} ") else line for line in lines]
    return "\n".join([*lines, more])


@pytest.fixture
def plate(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> Run:
    (tmp_path / "job.toml").write_text(starter(), encoding="utf-8")

    def run(*words: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(["plate", str(tmp_path / "job.toml"), *words, "--out", str(tmp_path / "out")])
        out, err = capfd.readouterr()
        return int(ended.value.code or 0), out, err

    return run


def write(tmp_path: Path, text: str, name: str = "job.toml") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def the(found: dict[str, bytes], ending: str) -> bytes:
    (name,) = [name for name in found if name.endswith(ending)]
    return found[name]


def pages(content: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages]


def order_of(found: dict[str, bytes]) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(the(found, "result.json"))
    return data


def test_an_order_writes_both_sheets_drawing_and_cutting_file(plate: Run, tmp_path: Path) -> None:
    code, _, _ = plate(*LASER)
    folder = tmp_path / "out" / "job_P_ss304_laser_order" / "draft"
    found = files(folder)
    assert code == 0
    assert {name.split("/")[0] for name in found} == {
        "all.html", "all.pdf", "bench", "cutter", "engineer", "result.json", "written.json",
    }  # fmt: skip
    text = pages(found["all.pdf"])
    whole = " ".join(text)
    fingerprint = order_of(found)["fingerprint"]
    assert all(fingerprint in page and "revision draft" in page for page in text)
    for words in (
        "Make ONE of plate P", "The batch waits for revision A", "thickness of that sheet by caliper",
        "certificate", "on the same rods", "nominal, cutter compensates", "stiffness, w t³", "service limit",
        "heat capacity", "surface", "Same duty: not computed", "Nearest sheet", "LETHAL VOLTAGE", "licensed person",
    ):  # fmt: skip
        assert words in whole, words
    assert "test strip" not in whole and "old plate is no pattern" not in whole


def test_three_lines_of_ohms_on_both_sheets(plate: Run, tmp_path: Path) -> None:
    plate(*LASER)
    found = files(tmp_path / "out")
    for hand in ("cutter", "engineer"):
        text = " ".join(pages(the(found, f"job_{hand}_rev-draft.pdf")))
        assert all(word in text for word in ("calculation", "metal", "cutting", "bracket of the method")), hand


def test_the_files_are_the_plate_that_was_worked_out(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, starter()))
    order = order_plate(job, job.plates[0], Wanted(0.069, "ss304", "laser"))
    found = ordered_files(ordered_result(job, order), order)
    outer, holes = read_cut(the(found, "mm_cut.dxf"), "mm")
    area_m2 = outer.area_m2 - sum(hole.area_m2 for hole in holes)
    assert area_m2 == pytest.approx(outline_of(order.found.shape).area_m2, rel=1e-9)
    assert area_m2 == pytest.approx(order.found.figures.area_m2, rel=1e-9)
    words = " ".join(str(one.dxf.text) for one in read_dxf(the(found, "_drawing.dxf")).modelspace().query("TEXT"))
    assert "Cut by laser" in words and "Outline: nominal" in words
    assert order_of(found)["strip_width_mm"] == pytest.approx(1e3 * order.found.shape.strip_width_m)
    assert ordered_files(ordered_result(job, order), order) == found


def test_a_kerf_gives_a_second_file_and_both_are_named(plate: Run, tmp_path: Path) -> None:
    assert plate(*LASER, "--kerf", "0.2 mm")[0] == 0
    found = files(tmp_path / "out")
    offset, _ = read_cut(the(found, "kerf-0.2mm_cut.dxf"), "mm")
    nominal, _ = read_cut(the(found, "1off_mm_cut.dxf"), "mm")
    job = read_job(tmp_path / "job.toml")
    shape = order_plate(job, job.plates[0], Wanted(0.069, "ss304", "laser")).found.shape
    assert offset.area_m2 == pytest.approx(kerf_outline(outline_of(shape), 0.0002).outer.area_m2, rel=1e-9)
    assert offset.area_m2 > nominal.area_m2
    assert "Two cutting files: use one of them" in " ".join(pages(found_pdf(found)))


def found_pdf(found: dict[str, bytes]) -> bytes:
    return the(found, "all.pdf")


def test_a_casting_asks_for_a_test_strip_and_warns_of_the_old_plate(plate: Run, tmp_path: Path) -> None:
    assert plate("--ohms", "80 mohm", "--metal", "grey_iron_hard")[0] == 0
    found = files(tmp_path / "out")
    text = " ".join(pages(found_pdf(found)))
    assert "From the same ladle pour a straight test strip of the same section" in text
    assert "An old plate is no pattern" in text and "short for the tie rods" in text
    assert any(name.endswith("_pattern.dxf") for name in found)
    old = order_of(found)["old_plate_as_pattern"]
    made = order_of(found)["making"]
    assert made["pattern"]["eye_centres_mm"] / old["eye_span_mm"] == pytest.approx(
        (1 + old["shrinkage_percent"] / 100) ** 2, rel=1e-9
    )


def test_a_tolerance_of_the_job_becomes_the_pass_band(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, starter(limits='[limits]\nnotch_tolerance = "4 %"\n')))
    order = order_plate(job, job.plates[0], Wanted(0.08))
    (report,) = ordered_result(job, order).plates
    assert report.low_ohm == pytest.approx(0.08 / 1.04) and report.high_ohm == pytest.approx(0.08 / 0.96)
    plain = read_job(write(tmp_path, starter(), "plain.toml"))
    (report,) = ordered_result(plain, order_plate(plain, plain.plates[0], Wanted(0.08))).plates
    assert report.low_ohm is None


def test_a_plate_that_breaks_rules_is_not_offered_as_good(plate: Run, tmp_path: Path) -> None:
    code, out, _ = plate("--ohms", "80 mohm", "--metal", "ss304", "--made-by", "plasma")
    text = " ".join(pages(found_pdf(files(tmp_path / "out"))))
    assert code == 1 and "against the rule for plasma" in out
    assert "Does not hold" in text and "This plate does not hold" in text


def test_every_page_keeps_inside_the_live_area(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, starter()))
    order = order_plate(job, job.plates[0], Wanted(0.08, "grey_iron_hard"))
    content = found_pdf(ordered_files(ordered_result(job, order), order))
    for page in PdfReader(io.BytesIO(content)).pages:
        wide, high = (float(side) * 25.4 / 72 for side in page.mediabox[2:])
        assert wide == pytest.approx(210.0, abs=0.1) and high > LIVE_HIGH_MM and wide > LIVE_WIDE_MM
        assert len(page.extract_text().split()) > 60  # no page that carries a mere rest


def test_a_batch_is_the_next_revision_beside_the_order(plate: Run, tmp_path: Path) -> None:
    first = str(write(tmp_path, FIRST, "first.csv"))
    assert plate(*LASER)[0] == 0
    code, out, _ = plate(*LASER, "--measured", first)
    found = files(tmp_path / "out" / "job_P_ss304_laser_order" / "A")
    data = order_of(found)
    text = " ".join(pages(found["all.pdf"]))
    assert "The batch waits for revision A" in out and code in (0, 1)
    assert (data["revision"], data["batch_waits_for"], data["first_offs_made_to"]) == ("A", "A", "draft")
    assert "Make the batch of plate P to revision A, none to the draft" in text
    assert "First-off sheet P" in text and "2 samples, spread" in text
    assert "One first-off is made" not in text
    outer, _ = read_cut(the(found, "_cut.dxf"), "mm")
    assert outer.area_m2 < 1.0 and data["strip_width_mm"] != data["old_strip_width_mm"]
    assert (tmp_path / "out" / "job_P_ss304_laser_order" / "draft" / "all.pdf").is_file()


def test_other_readings_do_not_change_a_revision_that_was_issued(plate: Run, tmp_path: Path) -> None:
    first = write(tmp_path, FIRST, "first.csv")
    plate("--measured", str(first))
    before = files(tmp_path / "out")
    assert plate("--measured", str(first))[0] == 0 and files(tmp_path / "out") == before
    first.write_text(FIRST.replace("0.0664", "0.0665"), encoding="utf-8")
    code, out, err = plate("--measured", str(first))
    assert code == 2 and not out and "revision A was issued with fingerprint" in err
    assert files(tmp_path / "out") == before


def test_a_plate_as_drawn_has_its_sheet(plate: Run, tmp_path: Path) -> None:
    code, out, _ = plate()
    folder = tmp_path / "out" / "job_P_grey_iron_class30_cast" / "draft"
    assert code == 0 and f"Papers in {folder}" in out
    assert "Make 1 of plate P" in pages(files(folder)["all.pdf"])[0]


def test_an_edited_paper_is_kept(plate: Run, tmp_path: Path) -> None:
    plate(*LASER)
    sheet = tmp_path / "out" / "job_P_ss304_laser_order" / "draft" / "all.pdf"
    sheet.write_bytes(b"notes of mine")
    code, _, err = plate(*LASER)
    assert code == 2 and "was changed since it was written" in err and sheet.read_bytes() == b"notes of mine"
    assert plate(*LASER, "--force")[0] == 0 and sheet.read_bytes().startswith(b"%PDF")


WRONG = [
    ("none fits", ("--ohms", "7 ohm"), "Nearest is"),
    ("a range", ("--ohms", "60 to 80 mohm"), "--ohms: '60 to 80 mohm' is a range"),
    ("about", ("--ohms", "about 80 mohm"), "is a range"),
    ("no unit", ("--ohms", "0.08"), '--ohms: "0.08" has no unit'),
    ("sheet", ("--ohms", "80 mohm", "--sheet", "3"), '--sheet: "3" has no unit'),
    ("kerf of a casting", ("--ohms", "80 mohm", "--kerf", "0.2 mm"), "a plate that is cast has no kerf"),
    ("kerf too wide", (*LASER, "--kerf", "8 mm"), "kerf"),
    ("no metal", ("--ohms", "80 mohm", "--metal", "ss305"), "ss305"),
    ("no name", ("--name", "Q"), "holds no plate named 'Q'"),
    ("no file", ("--measured", "nothing.csv"), "nothing.csv: there is no such file"),
    ("an option for outlines", ("--thickness", "3 mm"), "--thickness means nothing for a job"),
]


@pytest.mark.parametrize(("words", "said"), [one[1:] for one in WRONG], ids=[one[0] for one in WRONG])
def test_wrong_input_writes_nothing(plate: Run, tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    code, out, err = plate(*words)
    assert code == 2 and not out
    assert said in err and "Nothing was written." in err and "Traceback" not in err
    assert not (tmp_path / "out").exists()


def test_a_faulty_csv_names_every_line_and_column(plate: Run, tmp_path: Path) -> None:
    path = write(tmp_path, "plate,ohm,temperature (degC)\nP-1,0.0692,\nP-2,abc,20\n", "g.csv")
    code, _, err = plate("--measured", str(path))
    assert code == 2 and f"{path}:2: temperature:" in err and f"{path}:3: ohm:" in err
    assert not (tmp_path / "out").exists()


def test_a_drawing_is_no_paper_where_the_design_settles_the_strip(tmp_path: Path) -> None:
    path = write(tmp_path, starter_text("car"))
    text = path.read_text(encoding="utf-8")
    assert "may_vary" in text
    with pytest.raises(SystemExit) as ended:
        main(["plate", str(path), "--out", str(tmp_path / "out")])
    assert ended.value.code == 2 and not (tmp_path / "out").exists()


def test_the_range_of_the_resistivity_has_its_unit(plate: Run, tmp_path: Path) -> None:
    _, out, _ = plate(*LASER)
    (every,) = (tmp_path / "out").rglob("all.pdf")
    sheet = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(every).pages)
    for words in (" ".join(out.split()), sheet):
        assert "its range, µΩ·cm 70.0 to 100 69.4 to 73.0" in words.replace("\u00a0", " ")
