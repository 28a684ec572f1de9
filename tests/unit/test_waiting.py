"""Words for whoever waits: each slow step said once on stderr, a long one again, nothing beside JSON or when quiet."""

import threading
from collections.abc import Iterator

import pytest

from griddesign.cli import waiting
from griddesign.cli.scatter_lines import _Counted
from griddesign.progress import at, watched_by

PATIENCE_S = 30.0


class Said:
    """What is said, and a way to wait for the next line."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.come = threading.Semaphore(0)

    def __call__(self, lines: list[str], *, to_stderr: bool) -> None:
        assert to_stderr
        self.lines += lines
        self.come.release()

    def next(self) -> str:
        assert self.come.acquire(timeout=PATIENCE_S)
        return self.lines[-1].split(": ", 1)[1]


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> Iterator[Said]:
    told = Said()
    monkeypatch.setattr(waiting, "say", told)
    monkeypatch.setattr(waiting, "FIRST_S", 0.005)
    yield told


def test_each_step_is_said_once(said: Said) -> None:
    with waiting.slow_work(False):
        at("the first step")
        assert said.next() == "the first step"
        at("the second step")
        assert said.next() == "the second step"
    at("nobody waits any more")
    assert len(said.lines) == 2


def test_a_long_step_is_said_again(said: Said, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(waiting, "AGAIN_S", 0.01)
    with waiting.slow_work(False):
        at("a long step")
        assert [said.next(), said.next()] == ["a long step"] * 2


def test_nothing_is_said_beside_json_or_of_quick_work(said: Said, monkeypatch: pytest.MonkeyPatch) -> None:
    with waiting.slow_work(True):
        at("a step")
        assert not any("_watch" in thread.name for thread in threading.enumerate())
    monkeypatch.setattr(waiting, "FIRST_S", 60.0)
    with waiting.slow_work(False):
        at("a quick step")
    monkeypatch.setattr(waiting, "FIRST_S", 0.005)
    monkeypatch.setattr(waiting, "quiet", lambda: True)
    with waiting.slow_work(False):
        at("a quiet step")
    assert said.lines == []


def test_the_watch_ends_with_the_work_whatever_becomes_of_it(said: Said) -> None:
    before = threading.active_count()
    with pytest.raises(ValueError), waiting.slow_work(False):
        at("a step that fails")
        raise ValueError
    assert threading.active_count() == before


def test_starts_drawn_are_counted() -> None:
    steps: list[str] = []
    with watched_by(steps.append):
        counted = _Counted(2500)
        for count in (1000, 1000, 500):
            counted.step(count)
    assert steps == [f"{done} of 2500 starts drawn" for done in (1000, 2000, 2500)]
