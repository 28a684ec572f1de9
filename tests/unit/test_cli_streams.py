"""What goes to stdout and what to stderr, in any code page: the program as another process sees it."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import griddesign.papers
from griddesign.cli.saying import fitting
from griddesign.job.starters import starter_text

SCHEMA = json.loads((Path(griddesign.papers.__file__).parent / "result.schema.json").read_text(encoding="utf-8"))
CHATTY = """
import os, sys
from griddesign.cli import main
from griddesign.job import starters
real = starters.values_left
def chatty(whole):  # as a library that prints, in Python and past Python
    print("chatter by print")
    os.write(1, b"chatter by write\\n")
    return real(whole)
starters.values_left = chatty
main(sys.argv[1:])
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with one job of each cheap kind."""
    for purpose in ("plate", "claim"):
        (tmp_path / f"{purpose}.toml").write_text(starter_text(purpose), encoding="utf-8")
    return tmp_path


def call(folder: Path, *words: str, encoding: str = "utf-8", start: tuple[str, ...] = ("-m", "griddesign")) -> Any:
    """Run the program in its own process."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    source = str(Path(griddesign.__file__).parents[1])
    return subprocess.run(
        [sys.executable, *start, *words],
        cwd=folder,
        capture_output=True,
        env={**clean, "PYTHONIOENCODING": encoding, "PYTHONPATH": source},
        timeout=120,
        check=False,
    )


def test_json_is_one_object_alone_even_where_a_library_prints(folder: Path) -> None:
    ended = call(folder, "design", "claim.toml", "--json", start=("-c", CHATTY))
    assert ended.returncode == 1, ended.stderr
    data = json.loads(ended.stdout)
    jsonschema.validate(data, SCHEMA)
    assert {finding["verdict"] for finding in data["findings"]} == {"holds", "not shown"}
    assert data["holds"] is False
    assert b"chatter by print" in ended.stderr and b"chatter by write" in ended.stderr
    assert b"Papers in output" in ended.stderr
    written = json.loads((folder / "output" / "claim" / "draft" / "result.json").read_text(encoding="utf-8"))
    assert written == data


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_an_old_code_page_gets_words_in_place_of_signs(folder: Path, encoding: str) -> None:
    ended = call(folder, "plate", "plate.toml", encoding=encoding)
    assert ended.returncode == 0, ended.stderr
    text = ended.stdout.decode(encoding)
    assert "mohm" in text and "?" not in text
    assert ("deg" in text) == (encoding == "ascii")


def test_an_error_in_an_old_code_page(folder: Path) -> None:
    bad = starter_text("plate").replace('thickness = "5 mm"', 'thickness = "5 µΩ·cm"')
    (folder / "bad.toml").write_text(bad, encoding="utf-8")
    ended = call(folder, "plate", "bad.toml", encoding="ascii")
    assert ended.returncode == 2
    assert b'"5 uohm*cm" cannot be read' in ended.stderr
    assert ended.stderr.rstrip().endswith(b"Nothing was written.")


def test_json_of_a_refused_job_is_one_object_too(folder: Path) -> None:
    (folder / "bad.toml").write_text(starter_text("plate").replace('"250 mm"', '"-250 mm"'), encoding="utf-8")
    ended = call(folder, "plate", "bad.toml", "--json")
    assert ended.returncode == 2
    data = json.loads(ended.stdout)
    assert data["exit_code"] == 2
    (error,) = data["errors"]
    assert (error["file"], error["line"], error["key"]) == ("bad.toml", 19, "plate.P.shape.height")
    assert ended.stderr.rstrip().endswith(b"Nothing was written.")


def test_a_reader_that_leaves_early_is_no_fault(folder: Path) -> None:
    """``griddesign metals | head -1``."""
    source = str(Path(griddesign.__file__).parents[1])
    running = subprocess.Popen(
        [sys.executable, "-m", "griddesign", "metals"],
        cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, "PYTHONPATH": source},
    )  # fmt: skip
    assert running.stdout is not None and running.stderr is not None
    running.stdout.close()
    said = running.stderr.read()
    running.stderr.close()
    assert running.wait() == 1
    assert said == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this system")
def test_an_answer_that_does_not_fit_the_disk_is_one_message(folder: Path) -> None:
    source = str(Path(griddesign.__file__).parents[1])
    with Path("/dev/full").open("wb") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "griddesign", "new", "x.toml"],
            cwd=folder, stdout=full, stderr=subprocess.PIPE, env={**os.environ, "PYTHONPATH": source}, check=False,
        )  # fmt: skip
    assert ended.returncode == 2
    assert ended.stderr.startswith(b"The system refused: No space left on device.\n")


def test_the_command_and_the_module_are_the_same(folder: Path) -> None:
    script = Path(sys.executable).with_name("griddesign")
    if not script.exists():
        pytest.skip("griddesign is not installed as a command here")
    by_command = subprocess.run([script, "metals", "copper"], cwd=folder, capture_output=True, check=True)
    by_module = subprocess.run(
        [sys.executable, "-m", "griddesign", "metals", "copper"], cwd=folder, capture_output=True, check=True
    )
    assert by_command.stdout == by_module.stdout != b""


@pytest.mark.parametrize("sign", "≈µΩ·°×²³±−…“”ρε")
def test_every_sign_we_print_has_a_plain_word(sign: str) -> None:
    plain = fitting(f"a{sign}b", "ascii")
    assert plain.isascii() and "?" not in plain
    assert fitting(f"a{sign}b", "utf-8") == f"a{sign}b"


def test_a_sign_of_the_user_that_does_not_fit_is_a_question_mark() -> None:
    assert fitting("Größe 日", "cp1252") == "Größe ?"


def test_another_programs_broken_settings_are_named(folder: Path) -> None:
    (folder / "ezdxf.ini").write_text("[broken\n")
    before = sorted(path.name for path in folder.rglob("*"))
    ended = call(folder, "design", "plate.toml")
    assert ended.returncode == 2
    assert ended.stderr.splitlines()[0].startswith(b"the file ezdxf.ini in this folder cannot be read. ")
    assert ended.stderr.rstrip().endswith(b"Nothing was written.")
    assert sorted(path.name for path in folder.rglob("*")) == before
