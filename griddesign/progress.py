"""What slow work is at, for whoever waits in front of the screen; where nobody watches it costs a look.

``telling`` keeps a record for the curious, of everything and afterwards; this is a word now and then, beforehand.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

_WATCHING: list[Callable[[str], None]] = []


@contextmanager
def watched_by(see: Callable[[str], None]) -> Iterator[None]:
    """Let ``see`` have every step that is begun meanwhile."""
    _WATCHING.append(see)
    try:
        yield
    finally:
        _WATCHING.remove(see)


def at(step: str) -> None:
    """Say what is begun now."""
    for see in _WATCHING:
        see(step)
