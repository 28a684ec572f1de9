"""``griddesign verify`` as it is typed: papers, JSON, exit codes, refusals, the user's files untouched."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.judge.records import Result
from griddesign.shipped import examples_folder
from griddesign.verify import inspection as room

KEYS = {"item", "claimed", "computed", "unit", "verdict", "weight", "why", "measure_next"}
Run = Callable[..., tuple[int, str, str]]


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
    data = json.loads(out)
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
    data = json.loads(out)
    assert data["readings"][0]["verdict"] == "holds"
    assert set(data["findings"][0]) >= KEYS
    folder = tmp_path / "output" / "demo_verify_readings" / "draft"
    assert {"all.pdf", "findings.json", "written.json"} <= {path.name for path in folder.iterdir()}
    assert readings.read_bytes() == before


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
    found = {one["item"]: one["verdict"] for one in json.loads(out)["findings"]}
    assert "fails" not in found.values()
    assert found["safety: clearance"] == "not shown", "a clause is to be named"
