"""What a machine here can show of Windows: names, paths, code pages, line ends, what shells make of quotes."""

import csv
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path, PureWindowsPath
from types import SimpleNamespace
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import example, given, settings
from hypothesis import strategies as st

import griddesign
from griddesign.cli import COMMANDS, root
from griddesign.cli.saying import fitting
from griddesign.errors import OutputError
from griddesign.job.inspected import read_inspection
from griddesign.job.reading import read_job
from griddesign.job.readings import read_plates_csv
from griddesign.job.starters import starter_text
from griddesign.judge.fingerprint import fingerprint
from griddesign.papers.as_json import csv_text
from griddesign.papers.issue import LONGEST_FOLDER, issue
from griddesign.papers.whole_folder import put_beside
from griddesign.papers.writing import LONGEST_NAME, as_output_error, file_name, is_device_name
from griddesign.shipped import examples_folder

DEVICES = ["CON", "nul", "Aux", "PRN", "COM1", "lpt9", "LPT¹", "COM².txt", "con.toml", "CONIN$", "nul .x"]
A_RESULT: Any = SimpleNamespace(fingerprint="1", job=SimpleNamespace(path=Path("job.toml"), revision="draft"))
ROOT = Path(griddesign.__file__).parents[1]


@pytest.mark.parametrize("name", DEVICES)
def test_names_of_devices(name: str) -> None:
    assert is_device_name(name)
    assert not is_device_name(file_name(name, suffix=".pdf"))


@pytest.mark.parametrize("name", ["console", "com", "com10", "lpt", "null", "xcon", "a.con"])
def test_names_that_only_look_so(name: str) -> None:
    assert not is_device_name(name)


@settings(max_examples=40)
@given(st.lists(st.text(max_size=150), max_size=4), st.sampled_from((".pdf", "_cut.dxf", "")))
@example(["C:\\x"], ".pdf")
@example(["C:x"], ".pdf")
@example(["\\\\host\\share\\x"], ".pdf")
@example(["//?/C:/x"], ".pdf")
@example(["x. ", "..", " ."], "")
@example(["a:b", "c?d*e<f>g|h"], ".dxf")
@example(["LPT¹"], ".dxf")
@example(["K" * 130, "boxes"], "_drawing.dxf")
def test_no_text_makes_a_name_that_windows_takes_for_something_else(parts: list[str], suffix: str) -> None:
    name = file_name(*parts, suffix=suffix)
    base = PureWindowsPath("D:/papers")
    path = base / name
    assert (path.parent, path.name, path.drive) == (base, name, "D:")
    assert re.fullmatch(r"[A-Za-z0-9.+_-]+", name) and not name.endswith((".", " "))
    assert not is_device_name(name) and len(name) <= LONGEST_NAME


def test_long_names_stay_apart_and_short_enough_for_a_path_of_windows() -> None:
    long = "Fahrschalterwiderstand " * 9
    names = {file_name(job, part, "rev-A", suffix="_drawing.dxf") for job in (long, f"{long}2") for part in "ab"}
    assert len(names) == 4
    assert all(name.endswith("_rev-A_drawing.dxf") for name in names)
    assert {file_name(job, "verify", suffix="", longest=LONGEST_FOLDER) for job in (long, f"{long}2")} != 1
    deepest = PureWindowsPath("C:/Users/Some Name/Documents/tramway/output") / ("f" * LONGEST_FOLDER) / "draft/foundry"
    assert len(str(deepest / ("n" * LONGEST_NAME))) < 260


@pytest.mark.parametrize(
    "name", ["con", "NUL.toml", "LPT¹", "a:b", "what?.toml", "x|y", "job. ", "job.", "a\tb", 'a"b']
)
def test_a_new_job_gets_no_name_that_windows_refuses(tmp_path: Path, name: str) -> None:
    ended = CliRunner().invoke(root, ["new", str(tmp_path / name)])
    assert isinstance(ended.exception, OutputError) and ended.exception.hint
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("out", ["C:\\papers", "\\\\host\\share", "C:papers", "CON", "papers. ", "~"])
@pytest.mark.skipif(sys.platform == "win32", reason="shows what is no path here")
def test_paths_of_windows_are_plain_names_elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, out: str) -> None:
    """Nothing is interpreted: the folder is made below the current one, under the very name."""
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    put_beside(Path(out), {"x_field.pdf": b"x"})
    folder = issue(A_RESULT, {"all.pdf": b"x"}, Path(out))
    assert folder.relative_to(out) == Path("job/draft")
    assert [path.name for path in tmp_path.rglob("*") if path.is_dir()] == ["here", out, "job", "draft"]


@pytest.mark.parametrize(
    ("number", "words"), [(32, "open elsewhere"), (33, "open elsewhere"), (112, "disk is full"), (206, "too long")]
)
def test_what_windows_says_by_number(number: int, words: str) -> None:
    error = OSError(22, "Invalid argument")
    error.winerror = number  # type: ignore[misc, attr-defined, unused-ignore]
    assert words in as_output_error(error, Path("all.pdf")).message


def test_line_ends_of_windows_change_nothing(tmp_path: Path) -> None:
    table = "plate;ohm (mohm);temperature (degC)\nP-1;71,2;24,5\nP-2;70,9;24,5\n"
    read = {}
    for name, ends in (("unix", "\n"), ("windows", "\r\n")):
        job, csv = tmp_path / f"{name}.toml", tmp_path / f"{name}.csv"
        job.write_bytes(starter_text("plate").replace("\n", ends).encode())
        csv.write_bytes(table.replace("\n", ends).encode("utf-8-sig" if ends == "\r\n" else "utf-8"))
        read[name] = (read_job(job).figures, read_job(job).lines, read_plates_csv(csv).plates, fingerprint([job]))
    assert read["unix"] == read["windows"]


# --- code pages ------------------------------------------------------------------------------------------------------

CHATTY = """
import sys
from griddesign.cli import main
for words in (["metals", "copper"], ["-v", "plate", "größe.toml"], ["plate", "bad.toml"], ["helpp"]):
    try:
        main(words)
    except SystemExit as end:
        print(end.code, file=sys.stderr)
"""


@pytest.mark.parametrize("page", ["cp1252", "ascii"])
def test_every_code_page_gets_every_letter_in_words(tmp_path: Path, page: str) -> None:
    job = starter_text("plate")
    (tmp_path / "größe.toml").write_text(job, encoding="utf-8")
    (tmp_path / "bad.toml").write_text(job.replace('"8 mm"', '"8 Ω ≤ ½ 日"'), encoding="utf-8")
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    ended = subprocess.run(
        [sys.executable, "-c", CHATTY], cwd=tmp_path, capture_output=True, timeout=120, check=False,
        env={**clean, "PYTHONIOENCODING": page, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    said, errors = ended.stdout.decode(page), ended.stderr.decode(page)
    assert re.findall(r"^\d+$", errors, re.MULTILINE) == ["0", "0", "2", "2"], errors
    assert "Traceback" not in errors and "failed" not in errors
    assert "�" not in said + errors and "?" not in said
    if page == "cp1252":
        assert "µohm·cm" in said and "°C" in said and "8 ohm" in errors
    if page == "ascii":
        assert "uohm cm" in said and "grosse.toml" not in errors and "groBe.toml" not in errors


@settings(max_examples=40)
@given(st.text(max_size=30), st.sampled_from(["cp1252", "cp437", "ascii", "latin-1", "utf-8", "cp932"]))
def test_any_text_fits_any_code_page(text: str, page: str) -> None:
    assert fitting(text, page).encode(page, "surrogatepass" if page == "utf-8" else "strict") is not None


@pytest.mark.parametrize("name", ["", *COMMANDS])
def test_help_is_ascii(name: str) -> None:
    assert CliRunner().invoke(root, [*filter(None, [name]), "--help"]).stdout.isascii()


# --- quotes ----------------------------------------------------------------------------------------------------------


def words_of_windows(line: str) -> list[str]:
    """A line as the C run-time of Windows parts it (double quotes only), by the rules of ``CommandLineToArgvW``."""
    words = re.findall(r'(?:[^\s"]|"[^"]*")+', line)
    return [word.replace('"', "") for word in words]


def shown_commands() -> list[str]:
    """Every command that README, tutorials, starters and help show."""
    pages = [ROOT / "README.md", *sorted(examples_folder().glob("*.md")), *sorted(examples_folder().glob("*.toml"))]
    texts = [page.read_text(encoding="utf-8") for page in pages if page.exists()]
    texts += [starter_text(purpose) for purpose in ("plate", "retap", "car", "claim")]
    lines = [line.strip().lstrip("#$> ") for text in texts for line in text.replace("`", "\n").splitlines()]
    return [line.replace("\\|", "|") for line in lines if re.match(r"griddesign (?:-v |-q )?[a-z]", line)]


def test_commands_as_shown_mean_the_same_in_every_shell() -> None:
    """Double quotes alone are quotes in cmd, PowerShell and bash; in these nothing between them may be special."""
    lines = [line for line in shown_commands() if " … " not in line and "[" not in line]
    assert len(lines) > 15
    for line in lines:
        assert shlex.split(line) == words_of_windows(line), line
        quoted = "".join(re.findall(r'"([^"]*)"', line))
        assert not set(quoted) & set("$`!\\^&<>|'"), line
        assert not set(re.sub(r'"[^"]*"', "", line)) & set("'`$;&()*?~^"), line


def test_a_clamp_in_double_quotes_is_one_word() -> None:
    line = 'griddesign plate o.dxf --metal copper --thickness "8 mm" --clamp "0 mm, 0 mm, 30 mm, 20 mm" --bracket "1 %"'
    assert shlex.split(line) == words_of_windows(line)
    assert "0 mm, 0 mm, 30 mm, 20 mm" in shlex.split(line)


# --- spreadsheets ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+49 30", "-A", '=HYPERLINK("x")'])
def test_no_words_of_ours_are_a_formula_to_a_spreadsheet(tmp_path: Path, text: str) -> None:
    rows = list(csv.reader(csv_text([{"kind": text, "change": -0.5, "both": [text, "b"]}]).splitlines()))
    assert rows[1] == [f" {text}", "-0.5", f" {text} b"]
    table = tmp_path / "readings.csv"
    table.write_text(
        f'item,kind,ohm,temperature (degC)\nplate," {text.replace(chr(34), "")}",0.07,20\n', encoding="utf-8"
    )
    assert read_inspection(table).rows[0].kind == text.replace('"', "")
