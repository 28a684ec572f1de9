"""The ways a first file goes wrong, each with its own message."""

from pathlib import Path

import pytest

from griddesign.errors import Complaint, JobError
from griddesign.job.document import key_lines, load


def complaint_of(tmp_path: Path, raw: bytes | str, name: str = "job.toml") -> Complaint:
    path = tmp_path / name
    path.write_bytes(raw if isinstance(raw, bytes) else raw.encode())
    with pytest.raises(JobError) as caught:
        load(path)
    return caught.value.complaints()[0]


def test_a_byte_order_mark_is_accepted(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbftitle = 'x'\r\nschema = 1\r\n")
    assert load(path).data == {"title": "x", "schema": 1}


@pytest.mark.parametrize(
    ("text", "line", "message", "hint"),
    [
        ("schema = 1\ntitle = “Grid”\n", 2, "curly quotes", "straight"),
        ("[line]\nnominal = 550 V\n", 2, "550 V has no quotes", '"550 V"'),
        ('[s]\nheight = "10 1/4""\n', 2, "inch mark", "10 1/4 in"),
        ('title = "C:\\grids\\new.toml"\n', 1, "backslash", "single quotes"),
        ('title = "C:\\new\\table"\n', 1, "control character", "single quotes"),
        ("[line\nnominal = '550 V'\n", 1, "", ""),
    ],
)
def test_usual_slips_have_their_own_message(tmp_path: Path, text: str, line: int, message: str, hint: str) -> None:
    complaint = complaint_of(tmp_path, text)
    assert complaint.line == line
    assert message in complaint.message
    assert hint in complaint.hint


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (b"", "empty"),
        (b"   \n", "empty"),
        (b"\x7fELF\x00\x00", "not a text file"),
        (b"\xff\xfet\x00", "UTF-16"),
        ("title = 'Größe'".encode("cp1252"), "not UTF-8"),
        (b"# " + b"x" * 10_000_000, "more than a job file holds"),
    ],
)
def test_files_that_are_no_job(tmp_path: Path, raw: bytes, message: str) -> None:
    assert message in complaint_of(tmp_path, raw).message


def test_the_ending_that_windows_hides(tmp_path: Path) -> None:
    (tmp_path / "job.toml.txt").write_text("schema = 1")
    for name in ("job.toml", "job.toml.txt"):
        with pytest.raises(JobError) as caught:
            load(tmp_path / name)
        assert "ename" in caught.value.complaints()[0].hint


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path, word in ((tmp_path / "none.toml", "no such file"), (tmp_path, "folder")):
        with pytest.raises(JobError) as caught:
            load(path)
        assert word in caught.value.complaints()[0].message


def test_every_key_has_its_line() -> None:
    text = (
        'title = "x"\n[car]\nmass = "1 t"\nr = { constant = "1", per_speed = "2" }\n'
        "[[notch]]\nname = '1'\n[[notch]]\nname = '2'\n"
        "[[plate]]\n[plate.shape]\nheight = '1'\n[plate.shape.eye]\nhole = '2'\n"
    )
    lines = dict(key_lines(text))
    assert lines[("title",)] == 1
    assert lines[("car", "mass")] == 3
    assert lines[("car", "r", "per_speed")] == 4
    assert lines[("notch", 0, "name")] == 6
    assert lines[("notch", 1, "name")] == 8
    assert lines[("plate", 0, "shape", "height")] == 11
    assert lines[("plate", 0, "shape", "eye", "hole")] == 13
