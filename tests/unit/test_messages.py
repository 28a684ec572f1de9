"""What a new user gets wrong on the command line, and what he is told to do next; ``--verbose``."""

import re
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from griddesign import cli
from griddesign.cli import main
from griddesign.cli.meant import advice
from griddesign.errors import LONGEST_LINE, Complaint, one_line
from griddesign.given_file import instead_of
from griddesign.job.starters import offer_text, starter_text
from griddesign.shipped import examples_folder
from griddesign.telling import heard_by, stage, tell

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """The command in a folder with a job, a claim, a table, a drawing, a PDF and a folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(cli, "_collect_seldom", lambda: None)
    monkeypatch.setattr(cli, "_make_streams_forgiving", lambda: None)
    (tmp_path / "car3.toml").write_text(starter_text("plate"), encoding="utf-8")
    (tmp_path / "offer.toml").write_text(offer_text(), encoding="utf-8")
    (tmp_path / "plates.csv").write_text("box,position\n", encoding="utf-8")
    (tmp_path / "outline.dxf").write_bytes((examples_folder() / "offered-plate.dxf").read_bytes())
    for name in ("car3.pdf", "sheet.xlsx", "photo.jpg"):
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / "folder").mkdir()

    def call(*words: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(list(words))
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return call


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("desing car3.toml", "Did you mean design?"),
        ("car3.toml", "griddesign design car3.toml"),
        ("outline.dxf", 'griddesign plate outline.dxf --metal NAME --thickness "8 mm"'),
        ("plates.csv", "griddesign retap JOB plates.csv"),
        ("help", "griddesign --help"),
        ("help plate", "griddesign plate --help"),
        ("version", "griddesign --version"),
        ("quux", "There are new, wanted, plate"),
        ("design car3", "There is car3.toml: add the ending."),
        ("design car.toml", "Did you mean car3.toml"),
        ("design elsewhere/car3.toml", "There is no folder elsewhere either."),
        ("design zzz.toml", "Write a starter with: griddesign new FILE"),
        ("design folder", "Name the job file in it."),
        ("design plates.csv", "The job comes first"),
        ("design outline.dxf", "this is a drawing, and a job file is wanted here"),
        ("design car3.pdf", "Name the job file it was made from."),
        ("design sheet.xlsx", ".xlsx is a format of another program"),
        ("design offer.toml", "this is a claim, and a job is wanted here"),
        ("verify offer.toml car3.toml", "griddesign verify JOB CLAIM.toml"),
        ("verify car3.toml car3.toml", "this is a job, and a claim is wanted here"),
        ("verify car3.toml folder", "this is a folder"),
        ("verify car3.toml plate.csv", "Did you mean plates.csv?"),
        ("plate car3.toml --measured car3.toml", "a table is wanted here"),
        ("plate car3.toml --measured folder", "Name the CSV file in it."),
        ("plate car3.toml --measured sheet.xlsx", "Save it from there as plain text"),
        ("plate car3.toml --thickness 3 mm", 'Put quantities in double quotes: "3 mm".'),
        ("plate car3.toml --ohm 3", "--ohms"),
        ("plate car3.toml --made-by lazer", "'laser'"),
        ("plate outlne.dxf --metal copper --thickness 3mm", "Did you mean outline.dxf?"),
        ("plate outline.dxf --metal steal --thickness 3mm", "steel_low_carbon"),
        ("plate outline.dxf --metal copper --thickness 3", 'as in "250 mm"'),
        ("plate outline.dxf --metal copper", "--thickness"),
        ("new plates.csv", "Name it plates.toml."),
        ("new folder", "Name a file, for instance job.toml."),
        ("new car3.toml", "--force"),
        ("--quiet --verbose metals", "opposite things"),
    ],
)
def test_a_slip_is_told_with_what_would_do(run: Run, tmp_path: Path, line: str, says: str) -> None:
    before = sorted(tmp_path.rglob("*"))
    code, out, err = run(*line.split(" "))
    assert code == 2 and out == ""
    assert says in err
    assert err.endswith("Nothing was written.\n") and "Traceback" not in err
    assert sorted(tmp_path.rglob("*")) == before


def test_advice_is_given_where_a_quantity_fell_apart_and_nowhere_else() -> None:
    wrong = "Got unexpected extra argument (mm)"
    assert advice(wrong, ["plate", "x", "--thickness", "3", "mm"]) == 'Put quantities in double quotes: "3 mm".'
    assert advice(wrong, ["plate", "x", "mm"]) == advice("No such option", ["3", "mm"]) == ""


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no /dev/zero on this system")
@pytest.mark.parametrize("line", ["design /dev/zero", "plate car3.toml --measured /dev/zero"])
def test_a_device_is_no_file(run: Run, line: str) -> None:
    code, _, err = run(*line.split(" "))
    assert code == 2 and "this is a device, not a file" in err


def test_a_drawing_that_never_ends_is_not_read(run: Run, tmp_path: Path) -> None:
    (tmp_path / "endless.dxf").symlink_to("/dev/zero")
    code, _, err = run("plate", "endless.dxf", "--metal", "copper", "--thickness", "3 mm")
    assert code == 2 and "is a device, not a file" in err


@pytest.mark.parametrize("where", [("--verbose", "plate"), ("plate", "-v")])
def test_verbose_tells_what_was_read_and_taken_and_how_long_it_took(run: Run, where: tuple[str, ...]) -> None:
    words = [*where, "car3.toml"] if where[0] != "plate" else ["plate", "car3.toml", where[1]]
    code, out, err = run(*words)
    assert code == 0 and "cold ohms" in out and "read: " not in out
    lines = err.splitlines()
    assert all(re.match(r"\[ *\d+\.\d\d s\] ", line) for line in lines), lines
    assert f"Python {sys.version.split()[0]}" in lines[0] and "command plate" in lines[0]
    assert any(re.search(r"car3\.toml read: \d+\.\d\d s", line) for line in lines)
    assert any("plate P of grey_iron_class30 (85 uohm cm" in line for line in lines)
    assert re.search(r"done, \d+\.\d\d s of processor time in all", lines[-1])


def test_quiet_does_behind_the_command_too(run: Run) -> None:
    assert run("plate", "car3.toml", "-q") == (0, "", "")


def test_nobody_listening_no_line_is_made() -> None:
    def never() -> str:
        raise AssertionError("a line was made for nobody")

    tell(never)
    with stage("unheard"):
        pass
    heard: list[str] = []
    with heard_by(heard.append), stage("work"):
        tell(lambda: "a line")
    tell(never)
    assert heard[0] == "a line" and re.fullmatch(r"work: \d+\.\d\d s", heard[1])


def test_verbose_tells_the_rounds_of_ladder_and_choice() -> None:
    from griddesign.choose.from_job import work_out
    from griddesign.job.reading import read_job

    heard: list[str] = []
    with heard_by(heard.append):
        work_out(read_job(examples_folder() / "demo.toml"))
    rounds = [line for line in heard if line.startswith("round ")]
    assert rounds[0].startswith("round 1: cold; notch up at ")
    assert len(rounds) > 1 and all("chosen A " in line and "aims proved" in line for line in rounds)
    assert "times cold allowed for" in rounds[1]


# --- one complaint, one line -----------------------------------------------------------------------------------------


def test_a_complaint_is_one_line_of_signs_that_show() -> None:
    text = Complaint("a\nb\x1b[31m\u202e\ud800 20\u00a0°C 日", "do\tso", "f\x00.toml", 3, "key").text()
    assert text == "f\\x00.toml:3: key: a\\nb\\x1b[31m\\u202e\\ud800 20\u00a0°C 日. do\\tso"
    assert one_line("plain") == "plain"
    assert len(one_line("x" * 50_000)) < LONGEST_LINE + 10


def test_a_folder_of_very_many_files_is_not_searched_through(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("griddesign.given_file._MOST_LOOKED_AT", 1)
    for name in ("job1.toml", "job2.toml", "job3.toml"):
        (tmp_path / name).write_bytes(b"")
    assert instead_of(tmp_path / "job.toml", ".toml", "Else.").count("job") == 1 + str(tmp_path).count("job")
