"""Every command with right and wrong input, as somebody new would type it: one clear message, the right exit code,
nothing half-written, no traceback.
"""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from griddesign.cli import COMMANDS, main
from griddesign.cli.new import VERBS
from griddesign.job.starters import PURPOSES, starter_text

NOTHING = "Nothing was written."


@dataclass(frozen=True)
class Ended:
    code: int
    out: str
    err: str


Run = Callable[..., Ended]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Run:
    """Run one command line in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def call(*words: str | Path) -> Ended:
        with pytest.raises(SystemExit) as ended:
            main(list(map(str, words)))
        out, err = capfd.readouterr()
        assert "Traceback" not in out + err
        return Ended(int(ended.value.code or 0), out, err)

    return call


def listing(folder: Path) -> dict[str, bytes | None]:
    """Everything below a folder with its content, hidden files too."""
    return {str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None for path in folder.rglob("*")}


def refused(run: Run, folder: Path, *words: str | Path) -> str:
    """The one message of a command that must refuse: exit 2, nothing on stdout, nothing written."""
    before = listing(folder)
    ended = run(*words)
    assert ended.code == 2, ended
    assert ended.out == ""
    *said, last = ended.err.splitlines()
    assert last == NOTHING
    assert listing(folder) == before
    return "\n".join(said)


# Right input.


@pytest.mark.parametrize("purpose", PURPOSES)
def test_new_writes_a_starter_and_says_what_comes_next(run: Run, tmp_path: Path, purpose: str) -> None:
    ended = run("new", "my job", "--for", purpose)
    assert ended.code == 0
    assert (tmp_path / "my job.toml").read_text(encoding="utf-8") == starter_text(purpose)
    assert f"griddesign {VERBS.get(purpose, 'design')} my job.toml" in ended.out


@pytest.mark.parametrize(("purpose", "code"), [("plate", 0), ("retap", 0), ("car", 0), ("claim", 1)])
def test_every_starter_runs_unchanged(run: Run, tmp_path: Path, purpose: str, code: int) -> None:
    run("new", f"{purpose}.toml", "--for", purpose)
    ended = run("design", f"{purpose}.toml")
    assert ended.code == code, ended
    assert "Example figures, not for manufacture." in ended.out
    folder = tmp_path / "output" / purpose / "draft"
    assert f"Papers in {Path('output') / purpose / 'draft'}" in ended.out
    assert {"all.pdf", "result.json", "written.json"} <= {path.name for path in folder.iterdir()}
    assert not [path for path in tmp_path.rglob(".*") if path.is_file()], "no unfinished file is left"


def test_without_its_example_line_a_starter_fails_and_lists_its_own_values(run: Run, tmp_path: Path) -> None:
    lines = [line for line in starter_text("plate").splitlines() if not line.startswith("example")]
    (tmp_path / "mine.toml").write_text("\n".join(lines), encoding="utf-8")
    ended = run("design", "mine.toml")
    assert ended.code == 1
    assert "NOT SHOWN: values left from the starter" in ended.out
    assert "plate.P.shape.height" in ended.out and "plate.P.shape.eye.hole" in ended.out
    assert "Example figures" not in ended.out


def test_plate_says_ohms_and_the_metals_own_range(run: Run) -> None:
    run("new", "p.toml", "--for", "plate")
    ended = run("plate", "p.toml")
    assert ended.code == 0
    assert "cold ohms (20 °C)" in ended.out and "metal's own range" in ended.out


def test_wanted_gives_every_notch(run: Run) -> None:
    run("new", "r.toml", "--for", "retap")
    ended = run("wanted", "r.toml")
    assert ended.code == 0
    assert ended.out.splitlines()[1].split()[0] == "1"
    assert "3.200 Ω" in ended.out


def test_names_with_blanks_and_accents_are_job_files_too(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "Größe der Widerstände" / "wagen 7 – neu.toml"
    path.parent.mkdir()
    path.write_text(starter_text("plate"), encoding="utf-8")
    ended = run("design", path)
    assert ended.code == 0
    written = [found.relative_to(path.parent) for found in (path.parent / "output").rglob("*")]
    assert written and all(str(found).isascii() and " " not in str(found) for found in written)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(run: Run, name: str) -> None:
    ended = run(name, "--help")
    assert ended.code == 0
    assert ended.out.startswith(f"Usage: griddesign {name}")
    assert "--json" in ended.out


# Wrong words.


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["designs"], "designs"),
        (["wanted"], "JOB"),
        (["plate"], "JOB"),
        (["new"], "FILE"),
        (["new", "x.toml", "--for", "boat"], "plate', 'retap', 'car', 'claim"),
        (["design", "--nope"], "--nope"),
        (["metals", "gray_iron"], "grey_iron_250"),
        (["metals", "copperr"], "Did you mean copper?"),
        (["metals", ""], "griddesign metals lists them all"),
        (["new", "."], "Name a file"),
        (["new", ""], "Name a file"),
        (["new", "/"], "Name a file"),
    ],
)
def test_wrong_words_are_explained(run: Run, tmp_path: Path, words: list[str], says: str) -> None:
    assert says in refused(run, tmp_path, *words)


def test_new_never_overwrites_unasked(run: Run, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("mine")
    assert "is there already" in refused(run, tmp_path, "new", "job.toml")
    assert run("new", "job", "--force").code == 0
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == starter_text("car")


# Wrong files.

READERS = ("design", "wanted", "plate")


@pytest.mark.parametrize("command", READERS)
@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"", "the file is empty"),
        (b"\x7fELF\x02\x01\x00\x00", "not a text file"),
        ("title = 'Größe'".encode("cp1252"), "job.toml:1: byte 0xf6 is not UTF-8. Save the file again as UTF-8."),
        ("title = 'x'".encode("utf-16"), "UTF-16"),
        (b"#" * 10_000_000, "more than a job file holds"),
        (b"schema = 1\n[line\n", "job.toml:2"),
        (b"schema = 1\ntitle = 'x'\n", "neither a plate nor a notch"),
    ],
    ids=["empty", "binary", "code page", "utf-16", "10 MB", "broken", "bare"],
)
def test_a_file_that_is_no_job(run: Run, tmp_path: Path, command: str, raw: bytes, says: str) -> None:
    (tmp_path / "job.toml").write_bytes(raw)
    assert says in refused(run, tmp_path, command, "job.toml")


@pytest.mark.parametrize("command", READERS)
def test_a_path_that_is_no_file(run: Run, tmp_path: Path, command: str) -> None:
    assert "there is no such file. Write a starter" in refused(run, tmp_path, command, "none.toml")
    assert "folder" in refused(run, tmp_path, command, ".")
    assert "folder" in refused(run, tmp_path, command, tmp_path)
    assert "cannot be read" in refused(run, tmp_path, command, "x" * 300)
    if Path("/dev/zero").exists():
        assert "device" in refused(run, tmp_path, command, "/dev/zero")


def test_a_file_that_may_not_be_read(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.toml"
    path.write_text(starter_text("plate"), encoding="utf-8")
    path.chmod(0)
    if os.access(path, os.R_OK):  # a superuser reads everything: let the system refuse in its place
        path.chmod(0o644)
        real = Path.open

        def closed(self: Path, *words: object, **named: object) -> object:
            if self.name == "job.toml":
                raise PermissionError(13, "Permission denied", str(self))
            return real(self, *words, **named)  # type: ignore[call-overload]

        monkeypatch.setattr(Path, "open", closed)
    ended = run("design", "job.toml")
    assert ended.code == 2
    assert (
        ended.err == f"job.toml: the file cannot be read (Permission denied). Check that you may read it.\n{NOTHING}\n"
    )
    assert [found.name for found in tmp_path.iterdir()] == ["job.toml"]


# Wrong figures: line, key, what was found, what would do.


@pytest.mark.parametrize(
    ("old", "new", "key", "found", "would_do"),
    [
        ('mass = "14 t"', 'mass = "nan t"', "car.mass", "nan", ""),
        ('mass = "14 t"', 'mass = "inf t"', "car.mass", "inf", ""),
        ('mass = "14 t"', 'mass = nan', "car.mass", "nan has no unit", "quotes"),
        ('mass = "14 t"', 'mass = "-14 t"', "car.mass", "-14 t", "Check the sign"),
        ('mass = "14 t"', 'mass = "1e999 t"', "car.mass", "1e999", ""),
        ('mass = "14 t"', 'mass = "14 ohm"', "car.mass", "ohm", ""),
        ('gear_ratio = "4"', "gear_ratio = 4", "car.gear_ratio", "4 has no quotes", 'Write "4".'),
        ('strip_width = "8 mm"', 'strip_width = "0 mm"', "plate.P.shape.strip_width", "0 mm cannot be", "above zero"),
        ('strip_width = "8 mm"', 'strip_width = "300 mm"', "plate.P.shape", "300", ""),
        ('metal = "grey_iron_class30"', 'metal = "gray_iron_class30"', "plate.P.metal", "gray_iron_class30",
         "Did you mean grey_iron_class30"),
        ('made_by = "cast"', 'made_by = "welded"', "plate.P.made_by", "'welded'", "laser"),
        ('circuit = ["B", "C", "D"]', 'circuit = ["B", "X"]', "notch.2.circuit", "section X", "Known: A, B, C, D"),
        ("passes = 13", "passes = 12", "plate.P.shape", "12 passes", "11 or 13 passes"),
        ('nominal = "600 V"', "nominal = 600 V", "nominal", "600 V has no quotes", 'Write "600 V".'),
        ('title = "Starting grid, works car 7"', 'title = " "', "title", "blank", "works car"),
        ('name = "P"', f'name = "{"P" * 300}"', "plate.", "300 characters", "short name"),
        ('name = "P"', 'name = ""', "plate..name", "is blank", "short name"),
        ('circuit = ["A", "B", "C", "D"]', 'circuit = ["A", " "]', "notch.1.circuit", "is blank", "short names"),
    ],
)  # fmt: skip
def test_a_wrong_figure_is_named_with_its_line(
    run: Run, tmp_path: Path, old: str, new: str, key: str, found: str, would_do: str
) -> None:
    text = starter_text("car")
    assert old in text
    (tmp_path / "job.toml").write_text(text.replace(old, new, 1), encoding="utf-8")
    line = next(number for number, each in enumerate(text.splitlines(), 1) if old in each)
    said = refused(run, tmp_path, "wanted", "job.toml")
    first = next((each for each in said.splitlines() if found in each), "")
    assert first, said
    assert key in first and would_do in first
    place = int(first.removeprefix("job.toml:").split(":")[0])
    table = {"passes = 13", 'strip_width = "8 mm"'}  # what only shows between figures is told at their table
    assert place == line or (old in table and place <= line), first


def test_all_faults_come_together_in_the_order_of_the_file(run: Run, tmp_path: Path) -> None:
    text = starter_text("car").replace('"14 t"', '"-14 t"').replace('"600 V"', '"600 A"').replace('"8 mm"', '"8"')
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    said = refused(run, tmp_path, "design", "job.toml").splitlines()
    keys = [line.split(": ")[1] for line in said]
    assert keys == ["line.nominal", "car.mass", "plate.P.shape.strip_width"]
    places = [int(line.split(":")[1]) for line in said]
    assert places == sorted(places)


def test_a_job_without_notches_has_no_wanted_ohms(run: Run, tmp_path: Path) -> None:
    run("new", "p.toml", "--for", "plate")
    assert "[[notch]]" in refused(run, tmp_path, "wanted", "p.toml")


def test_plate_asks_which_one(run: Run, tmp_path: Path) -> None:
    text = starter_text("plate")
    plate = text[text.index("[[plate]]") :]
    (tmp_path / "two.toml").write_text(text + "\n" + plate.replace('"P"', '"Q"'), encoding="utf-8")
    assert "Known: P, Q" in refused(run, tmp_path, "plate", "two.toml")
    assert "Known: P, Q" in refused(run, tmp_path, "plate", "two.toml", "--name", "R")
    assert run("plate", "two.toml", "--name", "Q").out.startswith("plate Q:")


def test_two_plates_whose_files_would_be_one_are_refused(run: Run, tmp_path: Path) -> None:
    text = starter_text("plate").replace('name = "P"', 'name = "P 1"')
    plate = text[text.index("[[plate]]") :].replace('"P 1"', '"p-1"')
    (tmp_path / "two.toml").write_text(text + "\n" + plate, encoding="utf-8")
    assert "differ in a letter" in refused(run, tmp_path, "design", "two.toml")


# Faults of our own.


def test_a_fault_of_our_own_is_one_message_and_no_verdict(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import griddesign.cli.plate_job as command

    def broken(path: Path) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(command, "read_job", broken)
    ended = run("plate", "x.toml")
    assert ended.code == 70
    assert "griddesign itself failed" in ended.err and "ZeroDivisionError: division by zero" in ended.err
    assert ended.err.endswith(NOTHING + "\n")


def test_ctrl_c_stops_in_plain_words(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import griddesign.cli.plate_job as command

    def stopped(path: Path) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(command, "read_job", stopped)
    ended = run("plate", "x.toml")
    assert ended.code == 130
    assert ended.err.split() == ["Stopped.", *NOTHING.split()]


def test_a_tampered_installation_is_named(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from griddesign import shipped

    monkeypatch.setattr(shipped, "_PACKAGE", tmp_path / "nowhere" / "griddesign")
    shipped.shipped_folder.cache_clear()
    try:
        assert "Install griddesign again" in refused(run, tmp_path, "design")
    finally:
        shipped.shipped_folder.cache_clear()


def test_the_tools_of_this_file_see_a_change(tmp_path: Path) -> None:
    before = listing(tmp_path)
    (tmp_path / ".hidden").write_bytes(b"x")
    assert listing(tmp_path) != before
    shutil.rmtree(tmp_path)
