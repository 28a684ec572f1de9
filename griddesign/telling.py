"""What the program is at, told to whoever listens (``griddesign --verbose``); where nobody does it costs a look."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import perf_counter

_HEARING: list[Callable[[str], None]] = []


@contextmanager
def heard_by(hear: Callable[[str], None]) -> Iterator[None]:
    """Let ``hear`` have every line that is told meanwhile."""
    _HEARING.append(hear)
    try:
        yield
    finally:
        _HEARING.remove(hear)


def tell(words: Callable[[], str]) -> None:
    """Tell one line. ``words`` makes it, and is not called where nobody listens."""
    for hear in _HEARING:
        hear(words())


@contextmanager
def stage(name: str) -> Iterator[None]:
    """Tell how many seconds a stage of the work took; around a block, or as a decorator of a function."""
    if not _HEARING:
        yield
        return
    begun = perf_counter()
    yield
    tell(lambda: f"{name}: {perf_counter() - begun:.2f} s")
