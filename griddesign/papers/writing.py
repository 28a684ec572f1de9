"""Files put down whole or not at all, under names every system can hold.

A file is written beside its place and then renamed over it, which the system does in one step: whoever looks, or
whatever stops the program, finds either the old file or the new one, whole. Several files are put in place the same
way, and where that fails half-way the old ones are put back. A set goes into its folder as one: ``whole_folder``.
"""

import errno
import os
import re
import shutil
import unicodedata
import zlib
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from griddesign.errors import OutputError
from griddesign.papers.turn import turn_at

LONGEST_NAME = 120
_LEAST_OF_FIRST = 8
_RESERVED = frozenset(
    {"con", "prn", "aux", "nul", "conin$", "conout$", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
)
_SPELLED = str.maketrans({
    "ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D", "þ": "th", "Þ": "Th",
    "µ": "u", "μ": "u", "Ω": "ohm", "\u2126": "ohm", "×": "x", "°": "deg", "½": "1-2", "¼": "1-4", "¾": "3-4",
})  # fmt: skip
_ALIKE = {  # what the system says -> what the user is told, and what would do
    errno.ENOSPC: ("the disk is full", "Free some room, or write elsewhere with --out DIR."),
    errno.EDQUOT: ("your share of the disk is used up", "Free some room, or write elsewhere with --out DIR."),
    errno.EACCES: ("it may not be written", "The file may be open elsewhere, or the folder closed to you: --out DIR."),
    errno.EPERM: ("it may not be written", "The file may be open elsewhere, or the folder closed to you: --out DIR."),
    errno.EBUSY: ("the file is open elsewhere", "Close it there and run again."),
    errno.ETXTBSY: ("the file is open elsewhere", "Close it there and run again."),
    errno.EROFS: ("the disk can only be read", "Write elsewhere with --out DIR."),
    errno.ENOTDIR: ("a file stands where a folder is wanted", "Move the file away, or write elsewhere with --out DIR."),
    errno.EEXIST: ("a file stands where a folder is wanted", "Move the file away, or write elsewhere with --out DIR."),
    errno.EISDIR: ("a folder stands where the file is wanted", "Move the folder away."),
    errno.ENAMETOOLONG: ("the name is too long for this disk", "Give the job a shorter title, or use --out DIR."),
}
_OF_WINDOWS = {32: errno.EBUSY, 33: errno.EBUSY, 39: errno.ENOSPC, 112: errno.ENOSPC, 206: errno.ENAMETOOLONG}
"""System error codes that Python has no errno for, or too broad a one."""


def file_name(*parts: str, suffix: str, longest: int = LONGEST_NAME) -> str:
    """A file name of ASCII letters, digits, ``.``, ``+``, ``-`` and ``_`` from any texts: no folder, no trick.

    Accents are dropped, other alphabets become ``x``; parts are joined by ``_``. ``suffix`` comes last, as
    ``"_cut.dxf"`` or ``".pdf"``. Names that Windows keeps for devices get a ``_`` in front of their dot. Where a name
    is too long its first part is cut, and a check sum tells it from others cut alike.
    """
    words = [word for word in map(_ascii, parts) if word] or ["unnamed"]
    stem, end = "_".join(words), re.sub(r"[^A-Za-z0-9._+-]", "", suffix)
    if is_device_name(stem):
        head, dot, tail = stem.partition(".")
        stem = f"{head}_{dot}{tail}"
    room = longest - len(end)
    if len(stem) > room:
        mark, rest = f"-{zlib.crc32(stem.encode()):08x}", stem[len(words[0]) :]
        head = words[0][: max(_LEAST_OF_FIRST, room - len(rest) - len(mark))]
        stem = f"{head}{mark}{rest}"[:room]
    return stem.rstrip(".") + end


def is_device_name(name: str) -> bool:
    """Whether Windows takes a file of this name, whatever its ending, for a device."""
    return unicodedata.normalize("NFKD", name).split(".")[0].strip().lower() in _RESERVED


def _ascii(part: str) -> str:
    plain = unicodedata.normalize("NFKD", part.translate(_SPELLED))
    letters = "".join(char for char in plain if not unicodedata.combining(char))
    safe = "".join("x" if char.isalnum() and not char.isascii() else char for char in letters)
    words = re.sub(r"[^A-Za-z0-9.+_-]+", "-", safe)
    return re.sub(r"\.{2,}", ".", words).strip(".-_")


def write_all(folder: Path, files: Mapping[str, bytes], *, at_turn: bool = False) -> tuple[Path, ...]:
    """Write a set of files below ``folder``; keys are paths with ``/`` below it. Returns the paths in order.

    Everything is first written beside its place; only when all of it is on the disk are the files renamed into place.
    Where one cannot be (open elsewhere, say) or the user stops, those renamed before it get their old content back: a
    full disk, a locked file or a Ctrl-C changes nothing. Two runs into one folder take turns (``at_turn``: the caller
    has it). Raises OutputError on any failure, with nothing half-written and no empty folder left behind.
    """
    targets = [(inside(folder, name), content) for name, content in files.items()]
    if at_turn:
        return _swapped(folder, targets)
    made = missing_folders(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with turn_at(folder):
            return _swapped(folder, targets)
    except BaseException as error:
        remove_empty(made)
        if isinstance(error, OSError) and not isinstance(error, OutputError):
            raise as_output_error(error, folder) from error
        raise


def _swapped(folder: Path, targets: list[tuple[Path, bytes]]) -> tuple[Path, ...]:
    swap = _Swap()
    try:
        for target, content in targets:
            swap.prepare(target, content)
        for target, _ in targets:
            swap.put(target)
    except BaseException as error:
        swap.undo()
        if isinstance(error, OSError):
            raise as_output_error(error, swap.at or folder) from error
        raise
    finally:
        swap.tidy()
    return tuple(path for path, _ in targets)


def missing_folders(folder: Path) -> list[Path]:
    """The folders that making ``folder`` will make, the outermost first."""
    return [each for each in (folder, *folder.parents) if not each.exists()][::-1]


def remove_empty(folders: Sequence[Path]) -> None:
    """Remove folders that were made on the way, the innermost first, where nothing is in them."""
    for made in reversed(folders):
        with suppress(OSError):
            made.rmdir()


class _Swap:
    """New files beside their places, old ones kept until all new ones are in theirs."""

    def __init__(self) -> None:
        self.at: Path | None = None
        self._made: list[Path] = []
        self._put: list[tuple[Path, Path | None]] = []
        self._spare: list[Path] = []

    def prepare(self, target: Path, content: bytes) -> None:
        """Write the new content beside ``target``."""
        self.at = target
        self._made += missing_folders(target.parent)
        target.parent.mkdir(parents=True, exist_ok=True)
        refuse_folder(target)
        _remove(_left_behind(target))
        self._spare.append(_beside(target, "part"))
        write_through(self._spare[-1], content)

    def put(self, target: Path) -> None:
        """Rename the new file into its place, with the old one kept aside."""
        self.at = target
        old = _beside(target, "old") if target.exists() else None
        if old is not None:
            self._spare.append(old)
            second_name(target, old)
        self._put.append((target, old))
        _beside(target, "part").replace(target)

    def undo(self) -> None:
        """Give every place its old file back, as far as the system lets us."""
        for target, old in reversed(self._put):
            with suppress(OSError):
                if old is not None:
                    old.replace(target)
                elif not _beside(target, "part").exists():
                    target.unlink(missing_ok=True)
        _remove(self._spare)
        remove_empty(self._made)

    def tidy(self) -> None:
        """Remove what was needed only on the way."""
        _remove(self._spare)


def second_name(path: Path, other: Path) -> None:
    """A second name for the same content; a copy on disks that know no second names."""
    try:
        other.hardlink_to(path)
    except OSError:
        shutil.copy2(path, other)


def inside(folder: Path, name: str) -> Path:
    """The path of ``name`` below ``folder``. Raises OutputError for a name that leads out of it."""
    parts = name.split("/")
    if any(part in {"", ".", ".."} or "\\" in part or ":" in part or "\0" in part for part in parts):
        raise OutputError(f"{name!r} is no name of a file below the output folder", hint="Use plain names.")
    return folder.joinpath(*parts)


def refuse_folder(target: Path) -> None:
    """Raise where a folder stands in the place of a file."""
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))


def _beside(target: Path, ending: str) -> Path:
    """A name for the unfinished or the old file: hidden, in the same folder (so on the same disk), of this process.

    Long names are cut; the check sum tells two apart that differ only in their ends.
    """
    return target.with_name(f"{_hidden(target)}{os.getpid()}.{ending}")


def _hidden(target: Path) -> str:
    mark = zlib.crc32(target.name.encode(errors="surrogateescape"))
    return f".{target.name[:60]}.{mark:08x}."


def _left_behind(target: Path) -> list[Path]:
    """What runs that were killed have left beside the file. Who has the turn knows that they are dead."""
    start = _hidden(target)
    found = [path for path in target.parent.iterdir() if path.name.startswith(start)]
    return [path for path in found if path.name[len(start) :].partition(".")[2] in ("part", "old")]


def write_through(path: Path, content: bytes) -> None:
    """Write a file and wait until it is on the disk."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _remove(unfinished: list[Path]) -> None:
    for path in unfinished:
        with suppress(OSError):
            path.unlink(missing_ok=True)


def as_output_error(error: OSError, target: Path) -> OutputError:
    """What the system said of a file, in plain words and with what would do."""
    if isinstance(error, OutputError):
        return error
    number = _OF_WINDOWS.get(getattr(error, "winerror", None) or 0, error.errno or 0)
    reason, hint = _ALIKE.get(number, (error.strerror or str(error), "Write elsewhere with --out DIR."))
    return OutputError(f"{target} was not written: {reason}", hint=hint)
