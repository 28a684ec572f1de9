"""One run at a time at a folder: two that write into one wait for each other, and a killed one holds nobody up.

The system keeps the lock and drops it with the process: on POSIX a lock on the folder itself, on Windows a file that is
there as long as its process has it open. A disk that knows no locks is written to without.
"""

import errno
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from griddesign.errors import OutputError

LONGEST_WAIT_S, LONGEST_REMOVAL_S = 60.0, 1.0
LOCK = ".griddesign.lock"
_LOOK_AGAIN_S = 0.02
_TAKEN = frozenset({errno.EAGAIN, errno.EACCES})


@contextmanager
def turn_at(folder: Path) -> Iterator[None]:
    """Hold the turn at a folder that is there. Raises OutputError where another run keeps it for a minute, OSError
    where the folder is none."""
    taking = _take_file if sys.platform == "win32" else _take_folder
    until = time.monotonic() + LONGEST_WAIT_S
    while (held := taking(folder)) is None:
        if time.monotonic() > until:
            raise OutputError(f"another run is writing into {folder}", hint="Wait for it, or stop it; then run again.")
        time.sleep(_LOOK_AGAIN_S)
    try:
        yield
    finally:
        os.close(held)


def _take_folder(folder: Path) -> int | None:
    """The folder opened and locked; None while another has it, or where it was removed and made anew meanwhile."""
    import fcntl

    try:
        handle = os.open(folder, os.O_RDONLY)
    except FileNotFoundError:  # the run before us failed and took its empty folder away
        folder.mkdir(parents=True, exist_ok=True)
        return None
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno not in _TAKEN:
            return handle
        os.close(handle)
        return None
    if folder.exists() and os.path.samestat(os.fstat(handle), folder.stat()):
        return handle
    os.close(handle)
    return None


def _take_file(folder: Path) -> int | None:
    """A file of ours in the folder, which the system removes with its last handle; None while another has it.

    While it is being removed Windows denies access to its name for a moment, as it does for ever where the folder is
    closed to us: tried for a second.
    """
    vanishing: int = getattr(os, "O_TEMPORARY", 0)
    until = time.monotonic() + LONGEST_REMOVAL_S
    while True:
        try:
            return os.open(folder / LOCK, os.O_CREAT | os.O_EXCL | os.O_RDWR | vanishing)
        except FileExistsError:
            return None
        except PermissionError:
            if time.monotonic() > until:
                raise
            time.sleep(_LOOK_AGAIN_S)
