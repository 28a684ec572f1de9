"""The papers of new taps on disk, made from the example pair: structure, text, what is refused, what is left alone."""

import io
import json
from dataclasses import dataclass
from pathlib import Path

import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.job.reading import read_job
from griddesign.judge.retap import retap_of
from griddesign.judge.retapping.records import RetapResult
from griddesign.papers.retap_set import retap_files
from griddesign.shipped import examples_folder

JOB, PLATES = examples_folder() / "retap.toml", examples_folder() / "retap-plates.csv"


@pytest.fixture(scope="module")
def told() -> RetapResult:
    return retap_of(read_job(JOB), PLATES)


@pytest.fixture(scope="module")
def files(told: RetapResult) -> dict[str, bytes]:
    return retap_files(told)


def pages(content: bytes) -> list[str]:
    return [page.extract_text().replace("\u00a0", " ") for page in PdfReader(io.BytesIO(content)).pages]


def test_the_example_holds_and_is_proved(told: RetapResult) -> None:
    assert told.holds, [finding for finding in told.findings if str(finding.verdict) != "holds"]
    assert told.answer is not None and told.answer.proved
    assert told.answer.worst_error <= 0.05


def test_the_set(files: dict[str, bytes]) -> None:
    assert set(files) == {
        "all.html",
        "all.pdf",
        "bench/retap_bench_rev-draft.pdf",
        "engineer/retap_engineer_rev-draft.pdf",
        "engineer/notches.csv",
        "engineer/plates.csv",
        "result.json",
    }
    outline = PdfReader(io.BytesIO(files["all.pdf"])).outline
    names = [str(entry["/Title"]).split("  ", 1)[-1] for entry in outline if isinstance(entry, dict)]
    first = names.index("Tap sheet")
    every = ["Tap sheet", "Stacking sheet", "Notches before and after", "As-found record", "Tonight"]
    assert names[first : first + 5] == every
    assert names[first + 5 : -1] and all(name.startswith("Temporary ") for name in names[first + 5 : -1])
    assert names[-1] == "Single faults"


def test_the_tap_sheet_says_from_where_to_where(told: RetapResult, files: dict[str, bytes]) -> None:
    text = " ".join(" ".join(pages(files["bench/retap_bench_rev-draft.pdf"])).split())
    assert "MOVE TO" in text and "stays" in text
    assert "Counting from the wrong end" in text
    assert told.after is not None
    for name, _ in told.after.taps:
        assert name in text
    assert "What remains unused" in text and "dead, bridged by a jumper" in text


def test_every_temporary_page_says_so(files: dict[str, bytes]) -> None:
    every = [page for page in pages(files["all.pdf"]) if "Contents" not in page]
    temporary = [page for page in every if "Temporary" in page or "Tonight" in page]
    assert len(temporary) >= 4
    for page in temporary:
        assert "TEMPORARY, VALID UNTIL the Sunday after next" in " ".join(page.split())
    assert sum("Approved by" in page for page in temporary) >= 3


def test_the_car_left_standing_is_the_first_row(told: RetapResult, files: dict[str, bytes]) -> None:
    data = json.loads(files["result.json"])
    assert data["tonight"][0]["name"] == "Leave the car standing"
    assert data["tonight"][0]["temporary"] is False
    assert all(one["temporary"] and one["valid_until"] for one in data["tonight"][1:])
    assert [one["name"] for one in data["tonight"]] == [option.name for option in told.options]
    jump = next(one for one in data["tonight"] if one["name"].startswith("Jump box 1, plate 9"))
    assert jump["notches"] and jump["heat"] and all(one["peak_as_run_a"] for one in jump["notches"])


def test_same_result_same_bytes(told: RetapResult, files: dict[str, bytes]) -> None:
    assert retap_files(told) == files


@dataclass(frozen=True)
class Ended:
    code: int
    out: str
    err: str


def call(capfd: pytest.CaptureFixture[str], *words: str | Path) -> Ended:
    with pytest.raises(SystemExit) as ended:
        main(list(map(str, words)))
    out, err = capfd.readouterr()
    return Ended(int(ended.value.code or 0), out, err)


def test_the_starter_and_its_filled_in_form(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """No car and no duty: ohms only, and the papers say what is not checked."""
    assert call(capfd, "new", tmp_path / "old", "--for", "retap").code == 0
    form = tmp_path / "old-plates-blank.csv"
    header, *rows = form.read_text(encoding="utf-8-sig").splitlines()
    filled = [row.replace("P,,,", "P,0.066,four-wire,20", 1) for row in rows]
    (tmp_path / "old.csv").write_text("\n".join([header, *filled]), encoding="utf-8")
    ended = call(capfd, "retap", tmp_path / "old.toml", tmp_path / "old.csv", "--out", tmp_path / "papers", "--json")
    assert ended.code == 0, ended.err
    data = json.loads(ended.out)
    written = tmp_path / "papers" / "old_retap" / "draft" / "result.json"
    assert data == json.loads(written.read_text(encoding="utf-8"))
    assert data["proof"]["proved"] and {"was_after_plate", "after_plate"} <= set(data["taps"][0])
    assert data["holds"] and "temperature of the plates" in data["not_checked"]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("box,position", "bx,position"), "column box missing"),
        (("1,2,P,", "1,1,P,"), "stands on line"),
        (("1,2,P,", "1,2,P,-"), "below 0"),
    ],
)
def test_wrong_readings_write_nothing(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], change: tuple[str, str], says: str
) -> None:
    plates = tmp_path / "plates.csv"
    plates.write_text(PLATES.read_text(encoding="utf-8").replace(*change, 1), encoding="utf-8")
    ended = call(capfd, "retap", JOB, plates, "--out", tmp_path / "papers")
    assert ended.code == 2 and ended.out == ""
    *said, last = ended.err.splitlines()
    assert last == "Nothing was written." and len(said) == 1 and says in said[0]
    assert not (tmp_path / "papers").exists()


def test_no_file_at_all(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    ended = call(capfd, "retap", JOB, tmp_path / "none.csv", "--out", tmp_path)
    assert ended.code == 2 and "there is no such file" in ended.err
