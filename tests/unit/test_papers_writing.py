"""Files are put down whole or not at all; their names are safe everywhere."""

import errno
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from griddesign.errors import OutputError
from griddesign.papers import writing
from griddesign.papers.writing import file_name, write_all

RESERVED = {"con", "prn", "aux", "nul", "com1", "lpt9"}


@pytest.mark.parametrize(
    ("parts", "suffix", "name"),
    [
        (("car3", "P", "rev-B", "ss304", "8mm", "24off"), "_cut.dxf", "car3_P_rev-B_ss304_8mm_24off_cut.dxf"),
        (("Wagen Nr. 3 — Größe Ω",), ".pdf", "Wagen-Nr.-3-Grosse-ohm.pdf"),
        (("../../etc/passwd",), ".pdf", "etc-passwd.pdf"),
        (("C:\\windows\\x",), ".pdf", "C-windows-x.pdf"),
        (("con",), ".pdf", "con_.pdf"),
        (("COM1.x",), ".pdf", "COM1_.x.pdf"),
        (("", "..", " "), ".json", "unnamed.json"),
        (("электро",), ".pdf", "xxxxxxx.pdf"),
        (("1/2 in", "½"), ".dxf", "1-2-in_1-2.dxf"),
    ],
)
def test_file_name(parts: tuple[str, ...], suffix: str, name: str) -> None:
    assert file_name(*parts, suffix=suffix) == name


@given(st.lists(st.text(max_size=200), max_size=4), st.sampled_from((".pdf", "_cut.dxf", "-blank.csv")))
def test_any_text_gives_a_safe_name(parts: list[str], suffix: str) -> None:
    name = file_name(*parts, suffix=suffix)
    assert name.isascii()
    assert name.endswith(suffix)
    assert 0 < len(name) <= 120
    assert not set(name) & set(' /\\:*?"<>|\0\n')
    assert not name.startswith((".", "-"))
    assert name.split(".")[0].lower() not in RESERVED


def test_a_set_is_written_below_its_folder(tmp_path: Path) -> None:
    paths = write_all(tmp_path / "new" / "draft", {"all.pdf": b"one", "cutter/P_cut.dxf": b"two"})
    assert [path.read_bytes() for path in paths] == [b"one", b"two"]
    assert sorted(path.name for path in (tmp_path / "new" / "draft").rglob("*")) == ["P_cut.dxf", "all.pdf", "cutter"]


@pytest.mark.parametrize("name", ["../out.pdf", "/etc/x", "a//b", "a/../b", "..", "", "a\\b", "C:x", "a\0"])
def test_names_that_lead_out_of_the_folder_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError):
        write_all(tmp_path, {name: b"x"})
    assert list(tmp_path.iterdir()) == []


def fail_on(monkeypatch: pytest.MonkeyPatch, number: int, which: str = "write_through") -> None:
    real = getattr(writing, which)

    def failing(path: Path, content: bytes) -> None:
        if path.name.startswith(".two"):
            path.write_bytes(content[:1])
            raise OSError(number, os.strerror(number), str(path))
        real(path, content)

    monkeypatch.setattr(writing, which, failing)


@pytest.mark.parametrize(
    ("number", "words"),
    [(errno.ENOSPC, "disk is full"), (errno.EACCES, "may not be written"), (errno.EBUSY, "open elsewhere")],
)
def test_a_failure_changes_nothing_and_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str
) -> None:
    write_all(tmp_path, {"one.pdf": b"old one", "two.pdf": b"old two"})
    fail_on(monkeypatch, number)
    with pytest.raises(OutputError, match=words) as caught:
        write_all(tmp_path, {"one.pdf": b"new one", "two.pdf": b"new two", "three.pdf": b"3"})
    assert "two.pdf" in caught.value.message
    assert caught.value.hint
    found = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert found == {"one.pdf": b"old one", "two.pdf": b"old two"}


def test_a_real_full_disk_is_named() -> None:
    """/dev/full refuses every byte with ENOSPC, as a full disk does."""
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("no /dev/full on this system")
    with pytest.raises(OSError, match="No space left") as caught:
        writing.write_through(full, b"x")
    assert "disk is full" in str(writing.as_output_error(caught.value, full))


def test_a_folder_in_the_place_of_a_file_and_a_file_in_the_place_of_a_folder(tmp_path: Path) -> None:
    (tmp_path / "all.pdf").mkdir()
    with pytest.raises(OutputError, match="a folder stands where the file is wanted"):
        write_all(tmp_path, {"all.pdf": b"x"})
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="a file stands where a folder is wanted"):
        write_all(tmp_path / "file", {"x.pdf": b"x"})


def test_windows_sharing_violation_is_named() -> None:
    error = PermissionError(13, "denied")
    error.winerror = 32
    assert "open elsewhere" in str(writing.as_output_error(error, Path("all.pdf")))


def test_a_killed_program_leaves_a_whole_file(tmp_path: Path) -> None:
    target = tmp_path / "all.pdf"
    program = (
        "from pathlib import Path\nfrom griddesign.papers.writing import write_all\n"
        f"n, folder = 0, Path({str(tmp_path)!r})\nwhile True:\n    n += 1\n"
        "    write_all(folder, {'all.pdf': bytes([n % 251]) * 3_000_000})\n"
    )
    running = subprocess.Popen([sys.executable, "-c", program], cwd=Path(__file__).parents[2])
    deadline = time.monotonic() + 10.0
    while not target.exists() and time.monotonic() < deadline:
        time.sleep(0.01)
    time.sleep(0.15)
    running.send_signal(signal.SIGKILL)
    running.wait()
    content = target.read_bytes()
    assert len(content) == 3_000_000
    assert len(set(content)) == 1
