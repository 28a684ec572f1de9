"""``griddesign verify`` as it is typed: papers, JSON, exit codes, refusals, the user's files untouched."""

import json
import shutil
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.judge.records import Result
from griddesign.shipped import examples_folder
from griddesign.verify import inspection as room

KEYS = {"item", "claimed", "computed", "unit", "verdict", "weight", "why", "measure_next"}
Run = Callable[..., tuple[int, str, str]]
SCHEMA = json.loads((files("griddesign") / "papers" / "findings.schema.json").read_text(encoding="utf-8"))


def schema_kept(text: str) -> Any:
    """The answer, which must be as the schema that is shipped says."""
    data = json.loads(text)
    jsonschema.Draft202012Validator(SCHEMA).validate(data)
    return data


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.chdir(tmp_path)
    for name in ("demo.toml", "claim.toml"):
        shutil.copy(examples_folder() / name, tmp_path / name)

    def call(*words: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(list(words))
        out, err = capfd.readouterr()
        assert "Traceback" not in out + err
        return int(ended.value.code or 0), out, err

    return call


def test_a_claim_gives_one_json_object_a_report_to_sign_and_findings(run: Run, tmp_path: Path) -> None:
    before = (tmp_path / "claim.toml").read_bytes()
    code, out, err = run("verify", "demo.toml", "claim.toml", "--json")
    assert code == 1, "estimates stay open"
    data = schema_kept(out)
    assert set(data["findings"][0]) >= KEYS
    assert {one["verdict"] for one in data["findings"]} == {"holds", "not shown"}
    folder = tmp_path / "output" / "demo_verify_claim" / "draft"
    assert str(Path("output") / "demo_verify_claim" / "draft") in err
    assert json.loads((folder / "findings.json").read_text(encoding="utf-8")) == data
    words = "\n".join(page.extract_text() for page in PdfReader(folder / "all.pdf").pages)
    assert "Report on a claim" in words
    assert "Approved by (licensed" in words
    assert "supplier of the invented tramway" in words
    assert (tmp_path / "claim.toml").read_bytes() == before


def test_on_a_terminal_it_says_every_point_and_what_would_settle_it(run: Run, tmp_path: Path) -> None:
    text = (tmp_path / "claim.toml").read_text(encoding="utf-8").replace("boxes = 3\n", "boxes = 4\n")
    (tmp_path / "claim.toml").write_text(text, encoding="utf-8")
    code, out, _ = run("verify", "demo.toml", "claim.toml")
    assert code == 1
    assert "FAILS: boxes: 54 plates in circuit, 20 to a box, fill 3 boxes" in out
    first = next(line for line in out.splitlines() if "FAILS" in line)
    assert first.startswith("boxes")


def test_filled_in_readings_become_an_as_left_record_and_stay_as_they_are(
    run: Run, tmp_path: Path, demo: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "result_of", lambda _: demo)
    readings = tmp_path / "readings.csv"
    readings.write_bytes(f"box,position,ohm,temperature (degC)\r\n1,1,{demo.plates[0].order_ohm:.6f},20\r\n".encode())
    before = readings.read_bytes()
    code, out, _ = run("verify", "demo.toml", "readings.csv", "--json")
    assert code == 1, "most of the grid is not on the sheet"
    data = schema_kept(out)
    assert data["readings"][0]["verdict"] == "holds"
    assert set(data["findings"][0]) >= KEYS
    folder = tmp_path / "output" / "demo_verify_readings" / "draft"
    assert {"all.pdf", "findings.json", "written.json"} <= {path.name for path in folder.iterdir()}
    assert readings.read_bytes() == before


def test_every_sort_of_reading_keeps_the_schema(
    run: Run, tmp_path: Path, demo: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plate with no reading's end, one open, one far off, a section, an insulation test, a column nobody knows."""
    monkeypatch.setattr(room, "result_of", lambda _: demo)
    ohm = demo.plates[0].order_ohm
    rows = (
        f"1;1;;{ohm:.6f};20;;;",
        f"1;2;;{2 * ohm:.6f};35;;;hot",
        "1;3;;open;20;;;",
        ";;A;1.5;20;;;",
        "1;;;;;2500;yes;",
    )
    head = "box;position;section;ohm;temperature (degC);test voltage (V);stood;remarks;weather"
    (tmp_path / "left.csv").write_text("\n".join((head, *(f"{row};dry" for row in rows), "")), encoding="utf-8")
    code, out, _ = run("verify", "demo.toml", "left.csv", "--json")
    assert code == 1
    data = schema_kept(out)
    assert {one["verdict"] for one in data["readings"]} >= {"holds", "fails"}
    assert data["not_read"] == ["weather"]


def test_the_schema_refuses_what_is_no_answer() -> None:
    """It documents every key, and none can be left out, added or take a word of its own."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    parts = SCHEMA["$defs"]
    for name in ("claim", "readings", "finding", "reading"):
        keys = parts[name]["properties"]
        assert set(parts[name]["required"]) == set(keys)
        assert all("description" in key or "$ref" in key or "const" in key for key in keys.values())
    finding = {
        "item": "boxes", "claimed": 4.0, "computed": 3.0, "unit": "", "verdict": "fails", "weight": 0.0,
        "why": "54 plates", "measure_next": "", "current_moved_percent": None, "notch": "",
        "heat_moved_k": None, "section": "",
    }  # fmt: skip
    whole = {
        "schema": 1, "griddesign": "0.1", "title": "t", "revision": "draft", "fingerprint": "0a1b2c3d", "example": True,
        "holds": False, "counted": {"fails": 1}, "claim": "c.toml", "claim_title": "c", "offered_by": "",
        "findings": [finding], "remarks": [],
    }  # fmt: skip
    good = jsonschema.Draft202012Validator(SCHEMA)
    assert good.is_valid(whole)
    for key in whole:
        assert not good.is_valid({name: value for name, value in whole.items() if name != key})
    assert not good.is_valid({**whole, "guaranteed": True})
    assert not good.is_valid({**whole, "findings": [{**finding, "verdict": "passes"}]})


def test_an_edited_report_is_not_overwritten(run: Run, tmp_path: Path) -> None:
    run("verify", "demo.toml", "claim.toml")
    report = tmp_path / "output" / "demo_verify_claim" / "draft" / "all.pdf"
    report.write_bytes(b"signed")
    code, _, err = run("verify", "demo.toml", "claim.toml")
    assert code == 2
    assert "Nothing was written." in err
    assert report.read_bytes() == b"signed"


@pytest.mark.parametrize("name", ["nothing.toml", "nothing.csv", "empty.toml", "empty.csv", "demo.toml"])
def test_what_is_no_claim_is_refused_in_one_message(run: Run, tmp_path: Path, name: str) -> None:
    (tmp_path / "empty.toml").write_text("", encoding="utf-8")
    (tmp_path / "empty.csv").write_text("", encoding="utf-8")
    code, out, err = run("verify", "demo.toml", name)
    assert (code, out) == (2, "")
    assert err.rstrip().endswith("Nothing was written.")
    assert not (tmp_path / "output").exists()


def test_the_starter_for_a_claim_writes_a_job_and_a_claim_that_can_be_verified(run: Run, tmp_path: Path) -> None:
    code, out, _ = run("new", "offer", "--for", "claim")
    assert code == 0
    assert "griddesign verify offer.toml offer-claim.toml" in out
    code, out, _ = run("verify", "offer.toml", "offer-claim.toml", "--json")
    assert code == 1
    found = {one["item"]: one["verdict"] for one in schema_kept(out)["findings"]}
    assert "fails" not in found.values()
    assert found["safety: clearance"] == "not shown", "a clause is to be named"
