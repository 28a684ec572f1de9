"""The papers of a start on disk: what the command writes, by structure and text, and what it refuses."""

import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.errors import FrozenRevisionError, OutputError
from griddesign.judge.records import Result
from griddesign.judge.start_result import StartResult, started
from griddesign.papers.issue import issue
from griddesign.papers.start_set import PART, start_files
from griddesign.shipped import examples_folder

DEMO = examples_folder() / "demo.toml"


@pytest.fixture(scope="module")
def told(demo: Result) -> StartResult:
    found = started(demo)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def files(told: StartResult) -> dict[str, bytes]:
    return start_files(told)


def pages(content: bytes) -> list[str]:
    return [page.extract_text().replace("\u00a0", " ") for page in PdfReader(io.BytesIO(content)).pages]


def test_the_set_is_three_sheets_and_the_numbers(files: dict[str, bytes]) -> None:
    assert set(files) == {
        "all.html",
        "all.pdf",
        "crew/demo_crew_rev-draft.pdf",
        "engineer/demo_engineer_rev-draft.pdf",
        "result.json",
    }
    bookmarks = [
        entry["/Title"] for entry in PdfReader(io.BytesIO(files["all.pdf"])).outline if isinstance(entry, dict)
    ]
    assert bookmarks == ["1  Start sheet", "2  Heat sheet", "3  Crew card"]


def test_the_crew_gets_one_card_and_nothing_else(files: dict[str, bytes]) -> None:
    (card,) = pages(files["crew/demo_crew_rev-draft.pdf"])
    assert "Hold at most" in card
    for engineers in ("K", "frozen", "efficiency", "kW", "≈"):
        assert f" {engineers} " not in card
    assert all("Crew card" not in page for page in pages(files["engineer/demo_engineer_rev-draft.pdf"]))


def test_every_page_says_what_it_is(told: StartResult, files: dict[str, bytes]) -> None:
    for page in pages(files["all.pdf"]):
        assert "EXAMPLE FIGURES, NOT FOR MANUFACTURE" in page
        assert told.fingerprint in page


def test_the_card_and_the_start_sheet_agree(files: dict[str, bytes]) -> None:
    """The crew's time of a resistance notch stands on both, word for word."""
    (card,) = pages(files["crew/demo_crew_rev-draft.pdf"])
    sheet = " ".join(pages(files["engineer/demo_engineer_rev-draft.pdf"])).split("resistance notch is not for running")[
        1
    ]
    for words in ("pass through", "5 s"):
        assert words in card
        assert words in sheet


def test_the_plots_are_drawn_not_pasted(files: dict[str, bytes]) -> None:
    """Vector plots: paths on the page, no picture in the file."""
    reader = PdfReader(io.BytesIO(files["engineer/demo_engineer_rev-draft.pdf"]))
    assert all(not page.images for page in reader.pages)
    strokes = [operator for _, operator in reader.pages[0].get_contents().operations if operator == b"l"]
    told = moments_between(files)
    assert len(strokes) >= told, "a stroke at least for every moment of the run"


def moments_between(files: dict[str, bytes]) -> int:
    """Moments of the run between its corners."""
    return len(json.loads(files["result.json"])["trace"]) - 1


def test_same_input_same_bytes(demo: Result, files: dict[str, bytes]) -> None:
    again = started(demo)
    assert again is not None
    assert start_files(again) == files


def test_the_json_beside_it_is_the_answer(told: StartResult, files: dict[str, bytes]) -> None:
    data = json.loads(files["result.json"])
    assert data["fingerprint"] == told.fingerprint
    assert [peak["notch"] for peak in data["peaks"]] == [log.name for log in told.told.notches]


def test_a_guessed_car_has_no_card(told: StartResult) -> None:
    figure = replace(told.job.figures["car.mass"], low=12e3)
    job = replace(told.job, figures={**told.job.figures, "car.mass": figure})
    assert not any(name.startswith("crew/") for name in start_files(replace(told, job=job)))


def test_a_letter_is_frozen_and_an_edit_is_kept(told: StartResult, files: dict[str, bytes], tmp_path: Path) -> None:
    lettered = replace(told, job=replace(told.job, revision="B"))
    folder = issue(lettered, files, tmp_path, part=PART)
    assert folder == tmp_path / "demo_start" / "B"
    with pytest.raises(FrozenRevisionError, match="B was issued"):
        issue(replace(lettered, fingerprint="00000000"), files, tmp_path, part=PART)
    (folder / "all.pdf").write_bytes(b"a note in the margin")
    with pytest.raises(OutputError, match="changed since it was written"):
        issue(lettered, files, tmp_path, part=PART)
    assert (folder / "all.pdf").read_bytes() == b"a note in the margin"
    issue(lettered, files, tmp_path, force=True, part=PART)
    assert (folder / "all.pdf").read_bytes() == files["all.pdf"]


def test_the_command_writes_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["start", str(DEMO), "--out", str(tmp_path)])
    assert left.value.code == 0
    folder = tmp_path / "demo_start" / "draft"
    assert f"Papers in {folder}" in capsys.readouterr().err
    record = json.loads((folder / "written.json").read_text())
    assert all((folder / name).is_file() for name in record["files"])
    assert (folder / "crew" / "demo_crew_rev-draft.pdf").is_file()
