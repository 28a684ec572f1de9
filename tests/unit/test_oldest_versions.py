"""The lower bounds of ``pyproject.toml`` are the versions of ``tests/oldest.txt``, which the tests were run with."""

import tomllib
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def pinned() -> dict[str, str]:
    lines = (ROOT / "tests" / "oldest.txt").read_text(encoding="utf-8").splitlines()
    return dict(line.split("==") for line in lines if not line.startswith("#"))  # type: ignore[misc]


def numbers(text: str) -> tuple[int, ...]:
    """``"1.10.1"`` as (1, 10, 1), trailing noughts off."""
    found = [int(part) for part in text.split(".") if part.isdigit()]
    while found and not found[-1]:
        found.pop()
    return tuple(found)


def test_bounds_are_what_was_tried() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    bounds = dict(line.split(">=") for line in project["dependencies"])
    assert {name: numbers(bound) for name, bound in bounds.items()} == {n: numbers(v) for n, v in pinned().items()}
    assert all(numbers(version(name)) >= numbers(bound) for name, bound in bounds.items())
