"""A plain line now and then on stderr while slow work goes on: what it is at. Nothing for work under a second."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

from griddesign.cli.saying import quiet, say
from griddesign.progress import watched_by

FIRST_S = 1.0
AGAIN_S = 10.0


@contextmanager
def slow_work(as_json: bool) -> Iterator[None]:
    """Say meanwhile what is being done, each step once and a long one again every ten seconds; nothing with ``--quiet``
    or beside a JSON answer."""
    if as_json or quiet():
        yield
        return
    steps, done = [""], threading.Event()
    watch = threading.Thread(target=_watch, args=(steps, done), daemon=True)
    watch.start()
    try:
        with watched_by(lambda step: steps.__setitem__(0, step)):
            yield
    finally:
        done.set()
        watch.join()


def _watch(steps: list[str], done: threading.Event) -> None:
    begun, said, said_at = time.monotonic(), "", 0.0
    while not done.wait(FIRST_S):
        step, now = steps[0], time.monotonic() - begun
        if step and (step != said or now - said_at >= AGAIN_S):
            said, said_at = step, now
            say([f"{now:3.0f} s: {step}"], to_stderr=True)
