"""Issuing a set of papers: one folder per job and revision, letters frozen, edited files never overwritten."""

import hashlib
import json
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from griddesign.errors import FrozenRevisionError, OutputError
from griddesign.papers.issued import Issued
from griddesign.papers.writing import file_name, write_all

RECORD = "written.json"


def folder_of(result: Issued, out: Path, *part: str) -> Path:
    """``out/<job>/<revision>``; the job goes by the name of its file, with a ``part`` of it that is issued alone."""
    return out / file_name(result.job.path.stem, *part, suffix="") / file_name(result.job.revision, suffix="")


def issue(
    result: Issued, files: Mapping[str, bytes], out: Path, *, force: bool = False, part: tuple[str, ...] = ()
) -> Path:
    """Write the whole set and the record of what was written; the folder is returned. ``part``: what of the job it is,
    where it is not the whole.

    Raises FrozenRevisionError where a lettered revision was issued from other input, OutputError where a file of the
    set was edited since it was written (``force`` overwrites it) or cannot be written. Nothing is half-written.
    """
    folder = folder_of(result, out, *part)
    before = _record(folder)
    _refuse_changed_letter(result, before, folder)
    if not force:
        _refuse_edited(folder, before, files)
    record = {
        "fingerprint": result.fingerprint,
        "revision": result.job.revision,
        "files": {name: _digest(content) for name, content in sorted(files.items())},
    }
    write_all(folder, {**files, RECORD: (json.dumps(record, indent=1) + "\n").encode()})
    _remove_stale(folder, before, files)
    return folder


def _record(folder: Path) -> dict[str, object]:
    try:
        found = json.loads((folder / RECORD).read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (OSError, ValueError) as error:
        raise OutputError(
            f"{folder / RECORD} cannot be read", hint="Move that folder away, or use --out DIR."
        ) from error
    return found if isinstance(found, dict) else {}


def _refuse_changed_letter(result: Issued, before: Mapping[str, object], folder: Path) -> None:
    revision = result.job.revision
    if revision != "draft" and before and before.get("fingerprint") != result.fingerprint:
        raise FrozenRevisionError(
            f"revision {revision} was issued with fingerprint {before.get('fingerprint')}, and the input has changed "
            f"since ({result.fingerprint}): {folder}",
            hint=f'Give the job the next letter, or revision = "draft"; revision {revision} stays as it is.',
        )
    if revision != "draft" and not before and folder.is_dir() and any(folder.iterdir()):
        raise FrozenRevisionError(
            f"{folder} holds papers of revision {revision}, and no record of what they were issued from",
            hint="Move that folder away, or give the job the next letter.",
        )


def _refuse_edited(folder: Path, before: Mapping[str, object], files: Mapping[str, bytes]) -> None:
    """A file that is there must be one we wrote and nobody changed, or hold already what is to be written."""
    known = _written(before)
    for name, content in files.items():
        found = _digest_of(folder / name)
        if found not in (None, known.get(name), _digest(content)):
            raise OutputError(
                f"{folder / name} was changed since it was written, or comes from elsewhere",
                hint="Move it away or rename it; --force overwrites it.",
            )


def _remove_stale(folder: Path, before: Mapping[str, object], files: Mapping[str, bytes]) -> None:
    """Files of an earlier draft that are no longer part of the set, where nobody changed them."""
    for name, digest in _written(before).items():
        path = folder / name
        inside = folder in path.parents and ".." not in Path(name).parts
        if inside and name not in files and _digest_of(path) == digest:
            with suppress(OSError):  # one that cannot be removed does no harm beside the new set
                path.unlink()


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
