"""A folder of files put in place as one: whatever kills the program, whoever looks finds the old set or the new one.

The new set is written into a hidden folder beside the old one and the two are exchanged, which Linux does in one step.
Elsewhere the old folder is renamed away and the new one to its place: killed between the two, the set is away for the
moment, and the next run puts it back first. Where a folder cannot be renamed (it is held open on Windows, or is a disk
of its own) its files are exchanged one by one, as ``write_all`` does, and meanwhile a file there says so (``MARK``):
killed then, a mixed set is told from a whole one. What others have put into the folder goes along.
"""

import errno
import os
import re
import shutil
import sys
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from griddesign.errors import OutputError
from griddesign.papers.turn import turn_at
from griddesign.papers.writing import (
    as_output_error,
    inside,
    missing_folders,
    refuse_folder,
    remove_empty,
    second_name,
    write_all,
    write_through,
)

MARK = "UNFINISHED-do-not-use.txt"
MARK_BEGINS = "The files in this folder are just being exchanged one by one"
_AT_CWD, _EXCHANGE = -100, 2  # of renameat2, linux/fcntl.h and linux/fs.h
_CANNOT_BE_MOVED = frozenset({errno.EACCES, errno.EPERM, errno.EBUSY, errno.EXDEV, errno.EINVAL, errno.ENOTEMPTY})


@contextmanager
def turn_for(folder: Path) -> Iterator[None]:
    """Hold the turn at writing ``folder``, its place made and put in order. Raises OutputError on any failure, with no
    empty folder left behind."""
    made = missing_folders(folder.parent)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with turn_at(folder.parent):
            _settle(folder)
            yield
    except BaseException as error:
        remove_empty(made)
        if isinstance(error, OSError) and not isinstance(error, OutputError):
            raise as_output_error(error, folder) from error
        raise


def put_whole(folder: Path, files: Mapping[str, bytes], gone: Collection[str] = ()) -> None:
    """Make ``folder`` hold ``files`` (names with ``/`` below it) and whatever else it held, but none of ``gone``.

    The caller has the turn. Raises OutputError on any failure; then all is as it was.
    """
    folder = folder.resolve() if folder.is_symlink() else folder
    new = _beside(folder, "new")
    try:
        _refuse_what_stands_there(folder, files)
        if not _we_stand_in(folder):
            _fill(new, folder, files, gone)
            _exchange(new, folder)
            return
    except OSError as error:
        if isinstance(error, OutputError) or error.errno not in _CANNOT_BE_MOVED:
            raise as_output_error(error, _named(error, new, folder)) from error
    finally:
        shutil.rmtree(new, ignore_errors=True)
    _one_by_one(folder, files, gone)


def put_beside(folder: Path, files: Mapping[str, bytes]) -> None:
    """Files into a folder of the user's: as one where nothing else is in it, else one by one."""
    with turn_for(folder.absolute()):
        ours = {*files, MARK}
        if not folder.exists() or (folder.is_dir() and all(path.name in ours for path in folder.iterdir())):
            put_whole(folder.absolute(), files)
        else:
            _one_by_one(folder, files, (), at_turn=False)


def _one_by_one(folder: Path, files: Mapping[str, bytes], gone: Collection[str], *, at_turn: bool = True) -> None:
    """The files exchanged one after another, under the mark that says so."""
    from griddesign.papers.cut_short import marked

    try:
        with marked(folder, files):
            write_all(folder, files, at_turn=at_turn)
            kept = {name.casefold() for name in files}  # a disk may not tell capitals apart
            _remove(folder, [name for name in gone if name.casefold() not in kept])
    except OSError as error:
        raise as_output_error(error, folder) from error


def _settle(folder: Path) -> None:
    """Put back a set that a killed run left away from its place, and remove what it left beside."""
    left = _left_behind(folder)
    old = [path for path in left if path.name.endswith(".old")]
    if old and not folder.exists():
        old[-1].rename(folder)
    for path in left:
        shutil.rmtree(path, ignore_errors=True)


def _we_stand_in(folder: Path) -> bool:
    """Whether it is the current folder or holds it: one cannot saw off that branch."""
    here = Path.cwd()
    return folder.exists() and any(each.samefile(folder) for each in (here, *here.parents))


def _refuse_what_stands_there(folder: Path, files: Mapping[str, bytes]) -> None:
    """Raise where a file stands where a folder is wanted, or a folder where a file is."""
    for name in files:
        target = inside(folder, name)
        refuse_folder(target)
        for above in (folder, *(path for path in target.parents if folder in path.parents)):
            if above.exists() and not above.is_dir():
                raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(above))


def _fill(new: Path, folder: Path, files: Mapping[str, bytes], gone: Collection[str]) -> None:
    """The new folder: the files of the set, and of the old folder what is neither of the set nor gone."""
    shutil.rmtree(new, ignore_errors=True)
    new.mkdir()
    for name, content in files.items():
        target = inside(new, name)
        target.parent.mkdir(parents=True, exist_ok=True)
        write_through(target, content)
    if folder.is_dir():
        shutil.copymode(folder, new)
        _carry_over(folder, new, gone)


def _carry_over(folder: Path, new: Path, gone: Collection[str]) -> None:
    """What others have put there: a second name for each file, and their empty folders."""
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        target = new / name
        if name in gone or name == MARK or os.path.lexists(target) or _is_unfinished(path):
            continue
        if path.is_symlink():
            target.parent.mkdir(parents=True, exist_ok=True)
            target.symlink_to(path.readlink())
        elif path.is_file():
            target.parent.mkdir(parents=True, exist_ok=True)
            second_name(path, target)
        elif not any(one.startswith(f"{name}/") for one in gone):
            target.mkdir(parents=True, exist_ok=True)


def _exchange(new: Path, folder: Path) -> None:
    if not folder.exists():
        new.rename(folder)
    elif not _exchanged_at_once(new, folder):
        old = _beside(folder, "old")
        try:
            folder.rename(old)
            new.rename(folder)
        except BaseException:
            if old.exists() and not folder.exists():
                old.rename(folder)
            raise
        shutil.rmtree(old, ignore_errors=True)


def _exchanged_at_once(one: Path, other: Path) -> bool:
    """Whether the system exchanged the two names in one step: Linux can, on most of its disks."""
    if sys.platform != "linux":
        return False
    import ctypes

    call = getattr(ctypes.CDLL(None), "renameat2", None)
    return call is not None and call(_AT_CWD, os.fsencode(one), _AT_CWD, os.fsencode(other), _EXCHANGE) == 0


def _remove(folder: Path, gone: Collection[str]) -> None:
    for name in gone:
        with suppress(OSError):  # one that cannot be removed does no harm beside the new set
            inside(folder, name).unlink()


def _beside(folder: Path, ending: str) -> Path:
    """A hidden folder beside the folder, of this process."""
    return folder.with_name(f".{folder.name}.{os.getpid()}.{ending}")


def _left_behind(folder: Path) -> list[Path]:
    """What runs that were killed have left beside the folder."""
    start = f".{folder.name}."
    found = [path for path in folder.parent.iterdir() if path.name.startswith(start)] if folder.parent.is_dir() else []
    return sorted(path for path in found if re.fullmatch(r"[0-9]+\.(new|old)", path.name[len(start) :]))


def _is_unfinished(path: Path) -> bool:
    """A hidden file that a killed ``write_all`` left."""
    return path.name.startswith(".") and path.name.endswith((".part", ".old")) and path.name.count(".") > 3


def _named(error: OSError, new: Path, folder: Path) -> Path:
    """The place the user knows: in the folder, not in the hidden one."""
    found = Path(os.fsdecode(error.filename)) if isinstance(error.filename, str | bytes) else folder
    return folder / found.relative_to(new) if new in found.parents else folder if found == new else found
