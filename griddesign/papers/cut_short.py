"""A folder whose files are exchanged one by one says so meanwhile: what a killed run leaves is told from a whole set.

The file that says it is the first that is put there and the last that is taken away. It names every file of the new set
with its digest, so that the next run knows them as ours and none as edited by hand.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from griddesign.papers.whole_folder import MARK, MARK_BEGINS
from griddesign.papers.writing import inside, missing_folders, remove_empty, write_through

LARGEST_MARK_BYTES = 2_000_000
_WORDS = (
    f"{MARK_BEGINS}, or that was cut short:\n"
    "sheets of two sets may lie here side by side. Do not use them.\n"
    "Run the command again; it writes the whole set and takes this file away.\n\n"
)


@contextmanager
def marked(folder: Path, files: Mapping[str, bytes]) -> Iterator[None]:
    """Mark the folder while the files are put there. On an error the mark goes if the old files all stand again.

    What another set's run, cut short, has left there beside these files keeps its mark. Raises OSError where it cannot
    be written.
    """
    made, mark, earlier = missing_folders(folder), folder / MARK, files_of_mark(folder)
    before = {name: _digest_of(inside(folder, name)) for name in files}
    lines = [*earlier, *((name, hashlib.sha256(content).hexdigest()) for name, content in files.items())]
    folder.mkdir(parents=True, exist_ok=True)
    try:
        write_through(mark, _told(lines))
        yield
    except BaseException:
        if not earlier and all(_digest_of(inside(folder, name)) == was for name, was in before.items()):
            _taken_away(mark)
            remove_empty(made)
        raise
    others = [(name, was) for name, was in earlier if name not in files and _digest_of(folder / name) == was]
    if others:
        write_through(mark, _told(others))
    else:
        _taken_away(mark)


def _told(lines: Iterable[tuple[str, str]]) -> bytes:
    return (_WORDS + "".join(f"{digest}  {name}\n" for name, digest in lines)).encode()


def files_of_mark(folder: Path) -> tuple[tuple[str, str], ...]:
    """Name and digest of every file that a run cut short may have put there; empty where there is no mark of ours."""
    try:
        with (folder / MARK).open("rb") as file:
            text = file.read(LARGEST_MARK_BYTES).decode("utf-8", "replace")
    except OSError:
        return ()
    if not text.startswith(MARK_BEGINS):
        return ()
    return tuple((found[2], found[1]) for found in re.finditer(r"(?m)^([0-9a-f]{64})  (\S+)$", text))


def _taken_away(mark: Path) -> None:
    with suppress(OSError):  # held open: it then warns of a whole set, and the next run takes it away
        mark.unlink(missing_ok=True)


def _digest_of(path: Path) -> str | None:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None
