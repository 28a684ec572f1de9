"""The first-off loop: CSV as spreadsheets save it, the traps in it, the width issued anew, and the command."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.errors import InputError, JobError
from griddesign.job.readings import MOST_ROWS, of_kind, read_plates_csv
from griddesign.job.starters import starter_text
from griddesign.metals import metal
from griddesign.plate.bends import plate_squares
from griddesign.plate.first_off import next_revision, reissue
from griddesign.plate.freeing import pitch_kept, with_thickness
from griddesign.plate.measured import MeasuredPlate, Reading, joined
from griddesign.plate.ohms import cold_ohm
from griddesign.plate.shapes import Eye, Zigzag

STAINLESS = metal("ss304")
PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")

Write = Callable[[str | bytes], Path]


@pytest.fixture
def csv(tmp_path: Path) -> Write:
    def put(content: str | bytes) -> Path:
        path = tmp_path / "first.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return put


PLAIN = "plate,ohm,temperature (degC),thickness (mm),mass (kg),remarks\nP-1,0.0692,21.5,5.05,1.02,first of the lot\n"
SAME = {
    "plain": PLAIN,
    "bom and crlf": b"\xef\xbb\xbf" + PLAIN.replace("\n", "\r\n").encode(),
    "semicolons and decimal commas": (
        "plate;ohm;temperature (°C);thickness (mm);mass (kg);remarks\nP-1;0,0692;21,5;5,05;1,02;first of the lot\n"
    ),
    "tabs": PLAIN.replace(",", "\t"),
    "older code page": PLAIN.replace("degC", "°C").encode("cp1252"),
    "named separator": "sep=;\n" + PLAIN.replace(",", ";"),
    "other units": (
        "Plate,Resistance [mΩ],Temp °F,Thickness/cm,Weight (g),Notes\nP-1,69.2,70.7,0.505,1020,first of the lot\n"
    ),
    "units in cells": (
        "plate,ohm,temperature,thickness,mass,remarks\nP-1,69.2 mohm,21.5 degC,5.05 mm,1.02 kg,first of the lot\n"
    ),
    "underscores": (
        "plate,ohm,temperature_degC,thickness_mm,mass_kg,remarks\n\nP-1,0.0692,21.5,5.05,1.02,first of the lot\n\n"
    ),
    "ampere and millivolt": (
        "plate,ampere,millivolt,millivolt reversed,temperature (degC),thickness (mm),mass (kg),remarks\n"
        "P-1,20,1386,-1382,21.5,5.05,1.02,first of the lot\n"
    ),
}  # fmt: skip


@pytest.mark.parametrize("text", SAME.values(), ids=SAME.keys())
def test_however_it_was_saved_it_reads_the_same(csv: Write, text: str | bytes) -> None:
    (plate,) = read_plates_csv(csv(text)).plates
    assert plate.name == "P-1"
    assert plate.cold.ohm == pytest.approx(0.0692, rel=1e-12)
    assert plate.cold.t_c == pytest.approx(21.5)
    assert plate.thickness_m == pytest.approx(0.00505)
    assert plate.mass_kg == pytest.approx(1.02)
    assert plate.remarks == "first of the lot"


def test_thermo_emf_and_one_way_are_kept(csv: Write) -> None:
    both = read_plates_csv(csv("ampere,mV,mV reversed,temperature (C)\n20,1386,1382,20\n")).plates[0]
    assert both.emf_v == pytest.approx(0.002) and not both.one_way
    once = read_plates_csv(csv("ampere,mV,temperature (C)\n20,1386,20\n")).plates[0]
    assert once.emf_v is None and once.one_way and once.name == "line 2"


def test_columns_nobody_asked_for_are_told(csv: Write) -> None:
    read = read_plates_csv(csv("plate,ohm,colour,temperature (C)\n1,0.07,grey,20\n"))
    assert read.not_read == ("colour",)


TRAPS = {
    "empty": ("", "empty"),
    "header alone": ("plate,ohm,temperature (C)\n", "no plate"),
    "decimal comma between commas": ("ohm,temperature (C)\n0,0692,20\n", "3 cells under 2 columns"),
    "thousands or decimals": ('ohm;temperature (C)\n0,0692;20.5\n', "side by side"),
    "quoted comma": ('ohm,temperature (C)\n"0,0692",20\n', "comma"),
    "no unit of temperature": ("ohm,temperature\n0.0692,20\n", "no unit"),
    "no unit of thickness": ("ohm,temperature (C),thickness\n0.0692,20,5\n", "no unit"),
    "unit of another kind": ("ohm,temperature (mm)\n0.0692,20\n", "mm"),
    "no temperature": ("plate,ohm\n1,0.0692\n", "temperature are missing"),
    "no ohms": ("plate,ampere,temperature (C)\n1,20,20\n", "missing"),
    "ohms twice": ("ohm,resistance (ohm),temperature (C)\n0.07,0.07,20\n", "two columns are ohm"),
    "ohms and currents": ("ohm,ampere,millivolt,temperature (C)\n0.07,20,1400,20\n", "as well as"),
    "empty cell": ("ohm,temperature (C)\n0.07,\n", "is empty"),
    "zero": ("ohm,temperature (C)\n0,20\n", "cannot be"),
    "negative": ("ohm,temperature (C)\n-0.07,20\n", "below"),
    "not a number": ("ohm,temperature (C)\nnan,20\n", "nan"),
    "under absolute zero": ("ohm,temperature (C)\n0.07,-300\n", "below"),
    "words": ("ohm,temperature (C)\nabout right,20\n", "right"),
    "open quote": ('plate,ohm,temperature (C)\n"1,0.07,20\n', "quotes"),
    "utf-16": (PLAIN.encode("utf-16"), "UTF-8"),
    "no code page": (b"ohm,temperature (C)\x81\n0.07,20\n", "UTF-8"),
    "binary": (b"\x00\x01\x02", "UTF-8"),
    "too long": ("ohm,temperature (C)\n" + "0.07,20\n" * (MOST_ROWS + 1), "rows"),
    "too large": (b"ohm,temperature (C)\n" + b" " * 1_000_001, "too large"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "found"), TRAPS.values(), ids=TRAPS.keys())
def test_traps_are_refused_with_what_would_do(csv: Write, text: str | bytes, found: str) -> None:
    with pytest.raises(JobError) as caught:
        read_plates_csv(csv(text))
    complaints = caught.value.complaints()
    assert any(found in one.message for one in complaints), [one.text() for one in complaints]
    assert all(one.hint and one.file.endswith("first.csv") for one in complaints)


def test_every_fault_of_a_file_is_told_with_its_line(csv: Write) -> None:
    with pytest.raises(JobError) as caught:
        read_plates_csv(csv("ohm,temperature (C),mass (kg)\n0.07,20,x\n0.07,20,1\n,20,-1\n"))
    assert [(one.line, one.key) for one in caught.value.complaints()] == [(2, "mass"), (4, "ohm"), (4, "mass")]
    with pytest.raises(JobError, match="fault"):
        read_plates_csv(Path("no such folder") / "first.csv")


def test_plates_are_told_apart_by_the_kind_they_begin_with() -> None:
    plates = [MeasuredPlate(name, (Reading(0.07, 20.0),)) for name in ("P", "P-2", "PQ 1", "PQ")]
    assert [plate.name for plate in of_kind(plates, "P", ["P", "PQ"])] == ["P", "P-2"]
    assert len(of_kind(plates, "X", ["X"])) == 4
    with pytest.raises(JobError, match="fault"):
        of_kind(plates, "P", ["P", "R"])
    with pytest.raises(JobError, match="fault"):
        of_kind(plates, "R", ["P", "PQ", "R"])


def test_the_batch_meets_the_ohms_of_the_true_sheet() -> None:
    """A sheet 3 % worse than the table and 2 % thin: cut with the new width it must have the wanted ohms."""
    true_rho, true_m = STAINLESS.resistivity.value * 1.03, 0.0049
    found = plate_squares(PLATE).value * true_rho / true_m
    wanted = cold_ohm(PLATE, STAINLESS)
    first = MeasuredPlate("1", (Reading(found * STAINLESS.ratio(24.0), 24.0),), thickness_m=true_m)
    result = reissue(PLATE, STAINLESS, "laser", wanted, [first])
    assert result.found_error == pytest.approx(1.03 / 0.98 - 1, rel=1e-9)
    batch = plate_squares(result.shape).value * true_rho / true_m
    assert batch == pytest.approx(wanted, rel=1e-4)
    assert result.shape.strip_width_m > PLATE.strip_width_m
    assert result.shape.pitch_m == pytest.approx(PLATE.pitch_m)
    assert result.shape.thickness_m == true_m


def test_without_its_thickness_the_width_comes_out_the_same() -> None:
    wanted = cold_ohm(PLATE, STAINLESS)
    with_it = MeasuredPlate("1", (Reading(1.04 * wanted, 20.0),), thickness_m=0.0049)
    without = MeasuredPlate("1", (Reading(1.04 * wanted, 20.0),))
    one = reissue(PLATE, STAINLESS, "laser", wanted, [with_it])
    two = reissue(PLATE, STAINLESS, "laser", wanted, [without])
    assert one.shape.strip_width_m == pytest.approx(two.shape.strip_width_m, rel=1e-9)
    assert two.thickness_m is None


def test_a_first_off_cut_wide_is_reckoned_with_its_own_width() -> None:
    wanted = cold_ohm(PLATE, STAINLESS)
    wide = cold_ohm(pitch_kept(PLATE, 0.0081), STAINLESS)
    result = reissue(
        PLATE, STAINLESS, "laser", wanted, [MeasuredPlate("1", (Reading(wide, 20.0),), strip_width_m=0.0081)]
    )
    assert result.shape.strip_width_m == pytest.approx(0.008, rel=1e-4)
    assert with_thickness(PLATE, 0.005) == PLATE


def test_the_next_revision() -> None:
    assert [next_revision(one) for one in ("draft", "A", "Z", "AZ", "ZY")] == ["A", "B", "AA", "BA", "ZZ"]
    with pytest.raises(InputError):
        next_revision("ZZ")


Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def plate(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> Run:
    """``griddesign plate`` on the plate starter, with sharp corners so that it is quick."""
    job = tmp_path / "job.toml"
    text = starter_text("plate")
    job.write_text("\n".join(line for line in text.splitlines() if not line.startswith("fillet")), encoding="utf-8")

    def run(*words: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(["plate", str(job), *words])
        out, err = capfd.readouterr()
        return int(ended.value.code or 0), out, err

    return run


def test_the_command_orders_a_plate(plate: Run) -> None:
    code, out, _ = plate("--ohms", "69 mohm", "--metal", "ss304", "--made-by", "laser")
    assert code == 0
    assert "freed               thickness and strip width" in out
    assert "Freeing the strip width alone would do, but breaks rules for laser: ring of the eyes" in out
    assert "in the same duty    not computed: the job has no [boxes]" in out
    assert "certificate of the sheet" in out
    assert "WARNING: an old plate is no pattern" not in out


def test_the_command_as_json(plate: Run) -> None:
    code, out, _ = plate("--ohms", "69 mohm", "--free", "thickness", "--json")
    data: dict[str, Any] = json.loads(out)
    assert code == 0 and data["holds"] is True
    assert data["freed"] == ["thickness"]
    assert data["low_ohm"] <= 0.069 <= data["high_ohm"]
    assert data["same_duty"]["computed"] is False
    assert data["stiffness_ratio"] == pytest.approx((data["thickness_mm"] / 5) ** 3)
    assert data["old_plate_as_pattern"]["shrinkage_percent"] == pytest.approx(1.2)


def test_the_command_refuses_what_cannot_be(plate: Run) -> None:
    code, out, err = plate("--ohms", "69 mohm", "--metal", "copper", "--made-by", "laser", "--free", "gap")
    assert code == 2 and not out
    assert "Nearest is" in err and "Nothing was written." in err
    code, _, err = plate("--ohms", "60 mohm", "--free", "strip_width")
    assert code == 2 and "beyond it: an eye of 28 mm set 10 mm off does not take in a strip" in err
    assert plate("--ohms", "-1 ohm")[0] == 2
    assert plate("--metal", "ss304", "--made-by", "laser")[0] == 2
    assert plate("--ohms", "69 mohm", "--metal", "ss304")[0] == 2
    assert plate("--ohms", "69 mohm", "--metal", "ss305")[0] == 2


def test_the_command_reissues_a_batch(plate: Run, csv: Write) -> None:
    path = csv("plate,ohm,temperature (degC),thickness (mm),mass (kg),batch\nP-1,0.0730,20,4.95,1.0,7\n")
    code, out, err = plate("--ohms", "72 mohm", "--measured", str(path))
    assert code == 0
    assert "The batch waits for revision A" in out and "strip width         old" in out
    assert "WARNING: an old plate is no pattern" in out
    assert "columns not read: batch" in err
    code, out, _ = plate("--ohms", "72 mohm", "--measured", str(path), "--json")
    data = json.loads(out)
    assert data["batch_waits_for"] == "A"
    assert data["strip_width_mm"] > data["old_strip_width_mm"]
    assert data["metal_checks"][0]["holds"] is True


def test_one_plate_read_cold_and_hot_gives_the_heats_coefficient(plate: Run, csv: Write) -> None:
    """``alpha20 = (R2/R1 - 1)/(T2 - T1)`` for a cold reading at 20 degC; one sample, not two."""
    rows = "P-1,0.0700,20,5.0,1.0\nP-1,0.0952,200,,\nP-2,0.0702,20,5.0,1.0\n"
    path = csv(f"plate,ohm,temperature (degC),thickness (mm),mass (kg)\n{rows}")
    _, out, _ = plate("--ohms", "72 mohm", "--measured", str(path), "--json")
    heat = json.loads(out)["heat"]
    assert heat["samples"] == 2
    assert heat["alpha20_per_k"]["value"] == pytest.approx((0.0952 / 0.0700 - 1) / 180, rel=1e-9)
    _, out, _ = plate("--ohms", "72 mohm", "--measured", str(path))
    assert "first-offs measured: 2" in out and "heat's alpha20" in out


def test_plates_that_share_a_name_stay_apart() -> None:
    cold, warm = (MeasuredPlate("P", (Reading(0.07, t_c),), mass_kg=1.0) for t_c in (20.0, 25.0))
    other = MeasuredPlate("P", (Reading(0.09, 200.0),), mass_kg=1.1)
    assert joined([cold, warm, other]) == (cold, warm, other)
    hot = MeasuredPlate("P", (Reading(0.09, 200.0),), mass_kg=1.0)
    both = MeasuredPlate("P", (*cold.readings, *hot.readings), mass_kg=1.0)
    assert joined([cold, hot, warm]) == (both, warm)  # a third reading near one of two is another plate's


def test_the_wrong_metal_fails(plate: Run, csv: Write) -> None:
    path = csv("plate,ohm,temperature (degC),mass (kg)\nP-1,0.0730,20,0.4\n")
    code, out, _ = plate("--ohms", "72 mohm", "--measured", str(path))
    assert code == 1 and "WRONG METAL?" in out


def test_the_wrong_metal_stops_the_batch_on_every_sheet(plate: Run, csv: Write, tmp_path: Path) -> None:
    """Plate sheet and first-off sheet travel apart: neither orders what the other forbids."""
    path = csv("plate,ohm,temperature (degC),mass (kg)\nP-1,0.0730,20,0.4\n")
    plate("--ohms", "72 mohm", "--measured", str(path), "--out", str(tmp_path / "out"))
    (every,) = (tmp_path / "out").rglob("all.pdf")
    words = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(every).pages)
    assert "Make the batch" not in words and "make the batch" not in words
    assert words.count("WRONG METAL? Make nothing of plate P before that is cleared up.") >= 2
