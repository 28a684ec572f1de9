"""A file of another form is refused with the change to make; one without a number is read as ours."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from griddesign.errors import JobError
from griddesign.job.claim import read_claim
from griddesign.job.reading import read_job
from griddesign.job.schema import SCHEMA
from griddesign.job.starters import starter_text
from griddesign.shipped import examples_folder


def written(folder: Path, text: str, line: str) -> Path:
    path = folder / "file.toml"
    path.write_text(re.sub(r"(?m)^schema = .*$", line, text), encoding="utf-8")
    return path


def job(folder: Path, line: str) -> None:
    read_job(written(folder, starter_text("plate"), line))


def claim(folder: Path, line: str) -> None:
    text = (examples_folder() / "claim.toml").read_text(encoding="utf-8")
    read_claim(written(folder, text, line), read_job(examples_folder() / "demo.toml"))


READERS = pytest.mark.parametrize("read", [job, claim])


@READERS
@pytest.mark.parametrize("line", [f"schema = {SCHEMA}", ""])
def test_our_form_is_read(tmp_path: Path, read: Callable[[Path, str], None], line: str) -> None:
    read(tmp_path, line)


@READERS
@pytest.mark.parametrize(
    ("value", "says", "change"),
    [
        (
            "2",
            "schema 2 is not read by this version, which reads 1; the file was written for a newer",
            "Install that one",
        ),
        ("0", "schema 0 is not read by this version", "write schema = 1."),
        ("-3", "schema -3 is not read by this version", "write schema = 1."),
        ('"1"', "'1' is not a whole number", "Write schema = 1, without quotes."),
        ("true", "not a whole number", "Write schema = 1, without quotes."),
    ],
)
def test_another_is_refused_with_the_change_to_make(
    tmp_path: Path, read: Callable[[Path, str], None], value: str, says: str, change: str
) -> None:
    with pytest.raises(JobError) as refused:
        read(tmp_path, f"schema = {value}")
    (complaint,) = refused.value.complaints()
    assert says in complaint.message and change in complaint.hint
    assert complaint.key == "schema" and complaint.line is not None
