"""Issuing into a folder: where a set goes, what is refused, what is left of an earlier draft. Without any sheets."""

import json
from dataclasses import dataclass, field
from pathlib import Path
from typing import cast

import pytest

from griddesign.errors import FrozenRevisionError, OutputError
from griddesign.judge.records import Result
from griddesign.papers.issue import RECORD, folder_of, issue


@dataclass
class AJob:
    path: Path = Path("car 7.toml")
    revision: str = "draft"


@dataclass
class AResult:
    """What issuing reads of a result."""

    fingerprint: str = "11111111"
    job: AJob = field(default_factory=AJob)


def result(fingerprint: str = "11111111", revision: str = "draft", path: str = "car 7.toml") -> Result:
    return cast(Result, AResult(fingerprint, AJob(Path(path), revision)))


FILES = {"all.pdf": b"pdf", "engineer/notches.csv": b"csv"}


def test_a_set_goes_to_a_folder_of_its_job_and_revision(tmp_path: Path) -> None:
    folder = issue(result(revision="B"), FILES, tmp_path)
    assert folder == folder_of(result(revision="B"), tmp_path) == tmp_path / "car-7" / "B"
    assert {name: (folder / name).read_bytes() for name in FILES} == FILES
    record = json.loads((folder / RECORD).read_text(encoding="utf-8"))
    assert (record["revision"], record["fingerprint"]) == ("B", "11111111")
    assert set(record["files"]) == set(FILES)


@pytest.mark.parametrize("path", ["../../x.toml", "/etc/CON.toml", "...toml", "é/ü.toml"])
def test_the_folder_lies_below_the_output_whatever_the_job_is_called(tmp_path: Path, path: str) -> None:
    folder = issue(result(path=path), FILES, tmp_path)
    assert tmp_path in folder.parents
    assert str(folder.relative_to(tmp_path)).isascii()
    assert folder.parent.name.lower() not in {"con", "..", "."}


def test_a_letter_is_frozen_and_force_does_not_thaw_it(tmp_path: Path) -> None:
    issue(result("11111111", "A"), FILES, tmp_path)
    for force in (False, True):
        with pytest.raises(FrozenRevisionError, match=r"A was issued with fingerprint 11111111.*22222222"):
            issue(result("22222222", "A"), {"all.pdf": b"other"}, tmp_path, force=force)
    assert (tmp_path / "car-7" / "A" / "all.pdf").read_bytes() == b"pdf"
    issue(result("11111111", "A"), FILES, tmp_path)
    issue(result("22222222", "B"), FILES, tmp_path)


def test_a_draft_may_change(tmp_path: Path) -> None:
    issue(result("11111111"), FILES, tmp_path)
    folder = issue(result("22222222"), {"all.pdf": b"other"}, tmp_path)
    assert sorted(path.name for path in folder.rglob("*") if path.is_file()) == ["all.pdf", RECORD]


def test_a_stale_file_that_was_edited_stays(tmp_path: Path) -> None:
    folder = issue(result(), FILES, tmp_path)
    (folder / "engineer" / "notches.csv").write_bytes(b"with my notes")
    issue(result("22222222"), {"all.pdf": b"other"}, tmp_path)
    assert (folder / "engineer" / "notches.csv").read_bytes() == b"with my notes"


def test_edited_and_foreign_files_are_refused_until_forced(tmp_path: Path) -> None:
    folder = folder_of(result(), tmp_path)
    folder.mkdir(parents=True)
    (folder / "all.pdf").write_bytes(b"somebody's")
    with pytest.raises(OutputError, match=r"all\.pdf was changed since it was written, or comes from elsewhere"):
        issue(result(), FILES, tmp_path)
    assert sorted(path.name for path in folder.iterdir()) == ["all.pdf"]
    issue(result(), FILES, tmp_path, force=True)
    assert (folder / "all.pdf").read_bytes() == b"pdf"


def test_a_set_that_was_cut_short_by_a_crash_can_be_written_again(tmp_path: Path) -> None:
    """New files that got into place before the record did are what the next run would write anyway."""
    folder = issue(result("11111111"), FILES, tmp_path)
    (folder / "all.pdf").write_bytes(b"new pdf")
    issue(result("22222222"), {**FILES, "all.pdf": b"new pdf"}, tmp_path)


@pytest.mark.parametrize("raw", [b"", b"{", b"\xff\xfe", b"nonsense"])
def test_a_record_that_cannot_be_read_stops_the_issue(tmp_path: Path, raw: bytes) -> None:
    folder = issue(result(revision="A"), FILES, tmp_path)
    (folder / RECORD).write_bytes(raw)
    with pytest.raises(OutputError, match="cannot be read"):
        issue(result(revision="A"), FILES, tmp_path)


@pytest.mark.parametrize("record", ["[]", "{}", '{"files": 3}', '{"files": {"all.pdf": 3}}'])
def test_a_record_of_another_shape_vouches_for_nothing(tmp_path: Path, record: str) -> None:
    folder = issue(result(), FILES, tmp_path)
    (folder / RECORD).write_text(record)
    with pytest.raises(OutputError, match="changed since it was written"):
        issue(result("22222222"), {"all.pdf": b"other"}, tmp_path)


def test_a_tampered_record_makes_nobody_remove_a_file_outside(tmp_path: Path) -> None:
    folder = issue(result(), FILES, tmp_path / "out")
    mine = tmp_path / "mine.txt"
    mine.write_bytes(b"csv")
    record = json.loads((folder / RECORD).read_text())
    digest = record["files"]["engineer/notches.csv"]
    record["files"] |= {"../../../mine.txt": digest, str(mine): digest}
    (folder / RECORD).write_text(json.dumps(record))
    issue(result("22222222"), FILES, tmp_path / "out")
    assert mine.read_bytes() == b"csv"


def test_long_names_that_differ_at_their_ends_stay_apart(tmp_path: Path) -> None:
    files = {f"cutter/{'W' * 100}_{end}.dxf": end.encode() for end in ("cut", "drawing")}
    folder = issue(result(), files, tmp_path)
    assert {name: (folder / name).read_bytes() for name in files} == files


# --- two jobs, one folder --------------------------------------------------------------------------------------------


def test_a_job_of_the_same_name_from_another_folder_does_not_replace_the_papers(tmp_path: Path) -> None:
    mine, other = (str(tmp_path / where / "car.toml") for where in ("works", "museum"))
    folder = issue(result("11111111", path=mine), FILES, tmp_path / "out")
    with pytest.raises(OutputError, match=r"holds the papers of another job, .*works.car\.toml.*museum.car\.toml"):
        issue(result("22222222", path=other), {"all.pdf": b"other"}, tmp_path / "out")
    assert (folder / "all.pdf").read_bytes() == b"pdf"
    issue(result("22222222", path=mine), {"all.pdf": b"newer"}, tmp_path / "out")
    issue(result("33333333", path=other), {"all.pdf": b"other"}, tmp_path / "out", force=True)
    assert (folder / "all.pdf").read_bytes() == b"other"
    with pytest.raises(OutputError, match="another job"):
        issue(result("44444444", path=mine), FILES, tmp_path / "out")


def test_names_that_come_to_one_folder_are_told_apart(tmp_path: Path) -> None:
    issue(result("11111111", path=str(tmp_path / "wagen ä.toml")), FILES, tmp_path)
    with pytest.raises(OutputError, match="another job"):
        issue(result("22222222", path=str(tmp_path / "wagen a.toml")), FILES, tmp_path)


def test_a_project_moved_as_a_whole_keeps_its_papers(tmp_path: Path) -> None:
    old = tmp_path / "old"
    issue(result("11111111", path=str(old / "car.toml")), FILES, old / "output")
    new = old.rename(tmp_path / "new")
    folder = issue(result("22222222", path=str(new / "car.toml")), FILES, new / "output")
    assert str(tmp_path) not in (folder / RECORD).read_text(encoding="utf-8")


def test_the_same_input_from_another_folder_is_the_same_set(tmp_path: Path) -> None:
    for where in ("one", "two"):
        issue(result("11111111", path=str(tmp_path / where / "car.toml")), FILES, tmp_path / "out")


def test_claims_of_one_name_are_told_apart_too(tmp_path: Path) -> None:
    first, second = tmp_path / "a" / "offer.toml", tmp_path / "b" / "offer.toml"
    part = ("verify", "offer")
    issue(result("11111111"), FILES, tmp_path, part=part, held_against=first)
    issue(result("22222222"), FILES, tmp_path, part=part, held_against=first)
    with pytest.raises(OutputError, match=r"another file, .*a.offer\.toml"):
        issue(result("33333333"), FILES, tmp_path, part=part, held_against=second)
