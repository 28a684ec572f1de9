"""The three tutorials are carried out as they stand: files saved, commands run, quoted lines looked for in the output.

A block ``sh`` is a command, with ``exit N`` behind where it ends otherwise than with 0; ``text`` are lines of what the
last command said, in their order, numbers within 1 %; a file to save is named in the words before its block.
"""

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from griddesign.cli import main
from griddesign.shipped import examples_folder

TUTORIALS = sorted(path.name for path in examples_folder().glob("tutorial-*.md"))
BLOCK = re.compile(r"```(?P<kind>\w+)(?: exit (?P<code>\d))?\n(?P<text>.*?)```", re.DOTALL)
NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
SAVED_AS = re.compile(r"[Ss]aved (?:what he read )?as `([\w.-]+)`")


def blocks(page: str) -> Iterator[tuple[str, int, str, str]]:
    """(kind, exit code, text, words between it and the block before)."""
    end = 0
    for found in BLOCK.finditer(page):
        yield found["kind"], int(found["code"] or 0), found["text"], page[end : found.start()]
        end = found.end()


def test_one_for_each_of_the_three_users() -> None:
    assert TUTORIALS == ["tutorial-engineer.md", "tutorial-fabricator.md", "tutorial-restorer.md"]


@pytest.mark.parametrize("name", TUTORIALS)
def test_tutorial(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    page = (examples_folder() / name).read_text(encoding="utf-8")
    shutil.copytree(examples_folder(), tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    said: list[str] = []
    compared = 0
    for kind, code, text, before in blocks(page):
        if kind == "sh":
            said = run(text, code, capfd)
        elif kind == "csv":
            (file,) = SAVED_AS.findall(" ".join(before.split()))
            (tmp_path / file).write_text(text, encoding="utf-8")
        else:
            places = [place_of(line.split(), said) for line in text.splitlines()]
            assert places == sorted(places)
            compared += len(places)
    assert compared >= 8
    for folder in re.findall(r"`(papers/[\w/]+)`", page):
        assert any((tmp_path / folder).iterdir())


def place_of(quoted: list[str], said: list[list[str]]) -> int:
    """Where the line stands in what was said."""
    for place, line in enumerate(said):
        if len(line) == len(quoted) and all(map(alike, quoted, line)):
            return place
    raise AssertionError(f"nobody said: {' '.join(quoted)}")


def alike(quoted: str, said: str) -> bool:
    """The same word, or nearly the same number: the last digit is no concern of a tutorial."""
    pair = [word.strip("(),;%") for word in (quoted, said)]
    if quoted == said or not all(NUMBER.fullmatch(word) for word in pair):
        return quoted == said
    last_digit = 10.0 ** -len(quoted.partition(".")[2].strip("),;%"))
    return float(pair[1]) == pytest.approx(float(pair[0]), rel=0.01, abs=1.01 * last_digit)


def run(text: str, code: int, capfd: pytest.CaptureFixture[str]) -> list[list[str]]:
    """The one command of a block; the words of each line it said."""
    command, *words = shlex.split(text)
    assert command == "griddesign"
    with pytest.raises(SystemExit) as ended:
        main(words)
    out, err = capfd.readouterr()
    assert int(ended.value.code or 0) == code, err
    return [line.split() for line in (out + err).replace("\\", "/").splitlines()]
