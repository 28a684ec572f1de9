"""Papers on disk: full disk, files open elsewhere, edited files, frozen letters, names that play tricks."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.job.starters import starter_text
from griddesign.papers import whole_folder, writing

NOTHING = "Nothing was written."
Design = Callable[..., tuple[int, str]]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(starter_text("plate"), encoding="utf-8")
    return path


@pytest.fixture
def design(job: Path, capfd: pytest.CaptureFixture[str]) -> Design:
    """``griddesign design`` on the job: exit code and what went to stderr."""

    def call(*words: str) -> tuple[int, str]:
        with pytest.raises(SystemExit) as ended:
            main(["design", str(job), *words])
        out, err = capfd.readouterr()
        assert "Traceback" not in out + err
        return int(ended.value.code or 0), err

    return call


def change(job: Path, old: str, new: str) -> None:
    text = job.read_text(encoding="utf-8")
    assert old in text
    job.write_text(text.replace(old, new, 1), encoding="utf-8")


def listing(folder: Path) -> dict[str, bytes | None]:
    return {str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None for path in folder.rglob("*")}


def test_the_same_job_again_gives_the_same_files_to_the_byte(job: Path, design: Design) -> None:
    assert design()[0] == 0
    before = listing(job.parent)
    assert design()[0] == 0
    assert listing(job.parent) == before


def test_a_full_disk_changes_nothing(job: Path, design: Design, monkeypatch: pytest.MonkeyPatch) -> None:
    before = listing(job.parent)

    def full(number: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(writing.os, "fsync", full)
    code, err = design()
    assert code == 2
    assert "the disk is full. Free some room" in err and err.endswith(NOTHING + "\n")
    assert listing(job.parent) == before, "no file and no empty folder is left"


@pytest.mark.parametrize("number", [errno.EBUSY, errno.EACCES])
def test_a_pdf_open_elsewhere_leaves_the_old_set_whole(
    job: Path, design: Design, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """As on Windows, where neither a viewer's file nor the folder it lies in can be renamed; here the last PDF."""
    assert design()[0] == 0
    before = listing(job.parent)
    change(job, '"250 mm"', '"240 mm"')
    before["job.toml"] = job.read_bytes()
    real = Path.replace

    def busy(self: Path, target: Path) -> Path:
        if Path(target).suffix == ".pdf" and Path(target).parent.name == "foundry" and self.suffix == ".part":
            raise OSError(number, os.strerror(number), str(target))
        return real(self, target)

    def held(self: Path, target: Path) -> Path:
        raise OSError(number, os.strerror(number), str(self))

    monkeypatch.setattr(whole_folder, "_exchanged_at_once", lambda _one, _other: False)
    monkeypatch.setattr(Path, "rename", held)
    monkeypatch.setattr(Path, "replace", busy)
    code, err = design()
    assert code == 2
    assert "open elsewhere" in err and ".pdf" in err and err.endswith(NOTHING + "\n")
    assert listing(job.parent) == before
    monkeypatch.undo()
    assert design()[0] == 0, "once it is closed, the same command works"


@pytest.mark.parametrize("at_once", [True, False])
def test_ctrl_c_between_two_files_or_two_folders_leaves_the_old_set_whole(
    job: Path, design: Design, monkeypatch: pytest.MonkeyPatch, at_once: bool
) -> None:
    assert design()[0] == 0
    before = listing(job.parent)
    change(job, '"250 mm"', '"240 mm"')
    before["job.toml"] = job.read_bytes()
    real, done = whole_folder.write_through, []

    def stopped(path: Path, content: bytes) -> None:
        done.append(path)
        if len(done) == 3:
            raise KeyboardInterrupt
        real(path, content)

    renamed = Path.rename

    def stopped_halfway(self: Path, target: Path) -> Path:
        if self.name.endswith(".new"):
            raise KeyboardInterrupt
        return renamed(self, target)

    if at_once:
        monkeypatch.setattr(whole_folder, "write_through", stopped)
    else:
        monkeypatch.setattr(whole_folder, "_exchanged_at_once", lambda _one, _other: False)
        monkeypatch.setattr(Path, "rename", stopped_halfway)
    code, err = design()
    assert code == 130
    assert err.split() == ["Stopped.", *NOTHING.split()]
    assert listing(job.parent) == before


def test_a_folder_that_may_not_be_written(job: Path, design: Design, monkeypatch: pytest.MonkeyPatch) -> None:
    def closed(self: Path, *words: object, **named: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(self))

    monkeypatch.setattr(Path, "mkdir", closed)
    before = listing(job.parent)
    code, err = design()
    assert code == 2
    assert "may not be written" in err and "--out DIR" in err and err.endswith(NOTHING + "\n")
    assert listing(job.parent) == before


@pytest.mark.parametrize("taken", ["output", "output/job", "output/job/draft/all.pdf"])
def test_something_else_stands_in_the_place(job: Path, design: Design, taken: str) -> None:
    place = job.parent / taken
    place.parent.mkdir(parents=True, exist_ok=True)
    if taken.endswith(".pdf"):
        place.mkdir(parents=True)
    else:
        place.write_text("a file of the user's")
    before = listing(job.parent)
    code, err = design()
    assert code == 2
    assert "stands where" in err and err.endswith(NOTHING + "\n")
    assert listing(job.parent) == before


def test_an_edited_file_is_not_overwritten_unasked(job: Path, design: Design) -> None:
    assert design()[0] == 0
    edited = job.parent / "output" / "job" / "draft" / "result.json"
    edited.write_text("my notes")
    before = listing(job.parent)
    code, err = design()
    assert code == 2
    assert "result.json was changed since it was written" in err and "--force overwrites it" in err
    assert err.endswith(NOTHING + "\n")
    assert listing(job.parent) == before
    assert design("--force")[0] == 0
    assert edited.read_text(encoding="utf-8").startswith("{")


def test_a_letter_is_frozen(job: Path, design: Design) -> None:
    change(job, 'revision = "draft"', 'revision = "A"')
    assert design()[0] == 0
    issued = listing(job.parent / "output")
    assert design()[0] == 0
    assert listing(job.parent / "output") == issued, "the same input gives the same bytes"
    change(job, '"250 mm"', '"251 mm"')
    for words in ((), ("--force",)):
        code, err = design(*words)
        assert code == 2
        assert "revision A was issued with fingerprint" in err and "next letter" in err
        assert err.endswith(NOTHING + "\n")
        assert listing(job.parent / "output") == issued
    change(job, 'revision = "A"', 'revision = "B"')
    assert design()[0] == 0
    now = listing(job.parent / "output")
    assert {name: now[name] for name in issued} == issued, "A stays as it was"
    assert any(name.startswith(str(Path("job", "B"))) for name in now)


def test_a_draft_may_change_and_leaves_no_stale_sheet(job: Path, design: Design) -> None:
    assert design()[0] == 0
    assert list(job.parent.rglob("*5mm*_cut.dxf"))
    change(job, '\nthickness = "5 mm"', '\nthickness = "6 mm"')
    assert design()[0] == 0
    assert list(job.parent.rglob("*6mm*_cut.dxf"))
    assert not list(job.parent.rglob("*5mm*_cut.dxf"))


TRICKS = ["../../x", "CON", "W" * 24, "é ß ø 日本 😀 ab", "<b>&amp; %s {0}"]


@pytest.mark.parametrize("trick", TRICKS)
def test_a_name_plays_no_trick(job: Path, design: Design, trick: str) -> None:
    job = job.rename(job.with_name(f"{trick.replace('/', '')}.toml"))
    text = starter_text("plate").replace('"Replacement plate"', f"'{trick}'").replace('name = "P"', f"name = '{trick}'")
    job.write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["design", str(job), "--out", str(job.parent / "papers")])
    assert ended.value.code == 0
    above = {path.name for path in job.parent.iterdir()}
    assert above == {job.name, "papers"}, "nothing is written beside the folder"
    names = [name for path in (job.parent / "papers").rglob("*") for name in [path.name]]
    assert all(name.isascii() and " " not in name and not name.startswith((".", "-")) for name in names)
    assert not {name.split(".")[0].upper() for name in names} & {"CON", "NUL", "PRN", "AUX"}
    (whole,) = (job.parent / "papers").rglob("all.pdf")
    printed = "".join(page.extract_text() for page in PdfReader(whole).pages)
    if trick.isascii():
        assert trick in printed, "the sheets show the name as it was written"


def test_a_title_of_200_characters_fits_and_201_are_refused(job: Path, design: Design) -> None:
    change(job, '"Replacement plate"', f'"{"W" * 200}"')
    assert design()[0] == 0
    change(job, "W" * 200, "W" * 201)
    code, err = design()
    assert code == 2
    assert "job.toml:8: title: 201 characters. At most 200." in err
