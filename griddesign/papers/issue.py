"""Issuing a set of papers: one folder per job and revision, letters frozen, edited files never overwritten."""

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from griddesign.errors import FrozenRevisionError, OutputError
from griddesign.papers.issued import Issued
from griddesign.papers.whole_folder import MARK, MARK_BEGINS, put_whole, turn_for
from griddesign.papers.writing import file_name
from griddesign.shipped import examples_folder
from griddesign.telling import stage, tell

RECORD = "written.json"
LARGEST_RECORD_BYTES = 2_000_000
LONGEST_FOLDER = 60
"""So that folder and file together stay below the 260 signs that Windows allows a path."""


def folder_of(result: Issued, out: Path, *part: str) -> Path:
    """``out/<job>/<revision>``; the job goes by the name of its file, with a ``part`` of it that is issued alone."""
    return (
        out
        / file_name(result.job.path.stem, *part, suffix="", longest=LONGEST_FOLDER)
        / file_name(result.job.revision, suffix="")
    )


@stage("papers put in their folder")
def issue(
    result: Issued,
    files: Mapping[str, bytes],
    out: Path,
    *,
    force: bool = False,
    part: tuple[str, ...] = (),
    held_against: Path | None = None,
) -> Path:
    """Write the whole set and the record of what was written; the folder is returned. ``part``: what of the job it is,
    where it is not the whole; ``held_against``: the file beside the job that gives that part its name.

    Raises FrozenRevisionError where a lettered revision was issued from other input, OutputError where the folder holds
    the papers of another job or a file of the set was edited since it was written (``force`` overwrites both), or where
    something cannot be written. Nothing is half-written.
    """
    folder = folder_of(result, out, *part)
    with turn_for(folder):
        _issue(result, files, folder, _sources(result, held_against, folder), force=force)
    return folder


def _issue(
    result: Issued, files: Mapping[str, bytes], folder: Path, sources: Mapping[str, str], *, force: bool
) -> None:
    """The same with the turn at the folder above, so that no other run comes between looking and writing."""
    before = _record(folder)
    if not force:
        _refuse_other_source(result, before, folder, sources)
    _refuse_changed_letter(result, before, folder)
    known = _known(folder, before)
    if not force:
        _refuse_edited(folder, known, files)
    record = {
        "fingerprint": result.fingerprint,
        "revision": result.job.revision,
        **sources,
        "files": {name: _digest(content) for name, content in sorted(files.items())},
    }
    whole = {**files, RECORD: (json.dumps(record, indent=1) + "\n").encode()}
    put_whole(folder, whole, frozenset(_stale(folder, known, files)))


def _record(folder: Path) -> dict[str, object]:
    try:
        with (folder / RECORD).open("rb") as file:
            found = json.loads(file.read(LARGEST_RECORD_BYTES))
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (OSError, ValueError, RecursionError) as error:
        raise OutputError(
            f"{folder / RECORD} cannot be read", hint="Move that folder away, or use --out DIR."
        ) from error
    return found if isinstance(found, dict) else {}


def _sources(result: Issued, beside: Path | None, folder: Path) -> dict[str, str]:
    """Where job and file beside it lie as seen from the folder: a project that moves as a whole keeps its own papers.
    The built-in example goes by its name, wherever the program is installed."""
    path = result.job.path
    shipped = path.resolve().parent == examples_folder().resolve()
    found = {"job": path.name if shipped else _as_seen_from(folder, path)}
    return found if beside is None else {**found, "held_against": _as_seen_from(folder, beside)}


def _as_seen_from(folder: Path, path: Path) -> str:
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:  # another drive of Windows
        return path.resolve().as_posix()


def _refuse_other_source(
    result: Issued, before: Mapping[str, object], folder: Path, sources: Mapping[str, str]
) -> None:
    """Files of one name in different folders, or of names that differ in accents or capitals alone, share a folder."""
    if before.get("fingerprint") == result.fingerprint:
        return
    for what, here in sources.items():
        there = before.get(what, here)
        if there != here:
            kind = "job" if what == "job" else "file"
            raise OutputError(
                f"{folder} holds the papers of another {kind}, {_shown(folder, there)}, and those of "
                f"{_shown(folder, here)} would replace them",
                hint=f"Give one {kind} another name, or use --out DIR; --force replaces them.",
            )


def _shown(folder: Path, source: object) -> str:
    return os.path.normpath(folder / str(source)) if "/" in str(source) else str(source)


def _refuse_changed_letter(result: Issued, before: Mapping[str, object], folder: Path) -> None:
    revision = result.job.revision
    if revision != "draft" and before and before.get("fingerprint") != result.fingerprint:
        raise FrozenRevisionError(
            f"revision {revision} was issued with fingerprint {before.get('fingerprint')}, and the input has changed "
            f"since ({result.fingerprint}): {folder}",
            hint=f'Give the job the next letter, or revision = "draft"; revision {revision} stays as it is.',
        )
    if revision != "draft" and not before and folder.is_dir() and any(folder.iterdir()) and not _cut_short(folder):
        raise FrozenRevisionError(
            f"{folder} holds papers of revision {revision}, and no record of what they were issued from",
            hint="Move that folder away, or give the job the next letter.",
        )


def _cut_short(folder: Path) -> bool:
    """Whether a run was killed while it exchanged the files there one by one: it issued nothing."""
    try:
        with (folder / MARK).open("rb") as file:
            return file.read(len(MARK_BEGINS)) == MARK_BEGINS.encode()
    except OSError:
        return False


def _refuse_edited(folder: Path, known: Mapping[str, tuple[object, ...]], files: Mapping[str, bytes]) -> None:
    """A file that is there must be one we wrote and nobody changed, or hold already what is to be written."""
    for name, content in files.items():
        found = _digest_of(folder / name)
        if found not in (None, *known.get(name, ()), _digest(content)):
            raise OutputError(
                f"{folder / name} was changed since it was written, or comes from elsewhere",
                hint="Move it away or rename it; --force overwrites it.",
            )


def _stale(folder: Path, known: Mapping[str, tuple[object, ...]], files: Mapping[str, bytes]) -> Iterator[str]:
    """Files of an earlier draft that are no longer part of the set, where nobody changed them."""
    for name, digests in known.items():
        path = folder / name
        below = folder in path.parents and ".." not in Path(name).parts
        if below and name not in files and _digest_of(path) in digests:
            yield name


def _known(folder: Path, before: Mapping[str, object]) -> dict[str, tuple[object, ...]]:
    """Digests that a file may have as we wrote it: by the record, and by the mark of a run that was cut short."""
    known: dict[str, tuple[object, ...]] = {name: (digest,) for name, digest in _written(before).items()}
    if _cut_short(folder):
        from griddesign.papers.cut_short import files_of_mark

        tell(lambda: f"an earlier run was cut short while it wrote into {folder}: the whole set is written anew")
        for name, digest in files_of_mark(folder):
            known[name] = (*known.get(name, ()), digest)
    return known


def _written(before: Mapping[str, object]) -> dict[str, object]:
    found = before.get("files")
    return {str(name): digest for name, digest in found.items()} if isinstance(found, dict) else {}


def _digest_of(path: Path) -> str | None:
    """Digest of a file that is there; None of anything else. Raises OutputError where it may not be read."""
    if not path.is_file():
        return None
    try:
        return _digest(path.read_bytes())
    except OSError as error:
        raise OutputError(
            f"{path} cannot be read ({error.strerror})", hint="Move it away, or use --out DIR."
        ) from error


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
