"""A file that the user names: what is there where it is not, and what it is where it is of another kind."""

import difflib
import stat
from collections.abc import Mapping
from pathlib import Path

OF_OTHER_PROGRAMS = frozenset(
    {".doc", ".docx", ".gif", ".jpg", ".jpeg", ".ods", ".odt", ".png", ".xls", ".xlsx", ".zip"}
)
LONGEST_NAME = 120
_MOST_LOOKED_AT = 2_000


def instead_of(path: Path, ending: str, otherwise: str) -> str:
    """What would do in place of a file that is not there: one with ``ending`` behind or of nearly the same name, else
    ``otherwise``."""
    behind = path.with_name(path.name + ending)
    if path.name and behind.is_file():
        return f"There is {behind}: add the ending."
    if not path.parent.is_dir():
        return f"There is no folder {path.parent} either. {otherwise}"
    names = _names(path.parent, ending)
    near = difflib.get_close_matches(
        path.name, names if path.suffix else {*names, *(name[: -len(ending)] for name in names)}, n=2
    )
    found = dict.fromkeys(name if name in names else f"{name}{ending}" for name in near)
    return f"Did you mean {' or '.join(str(path.with_name(name)) for name in found)}?" if found else otherwise


def _names(folder: Path, ending: str) -> list[str]:
    """Files of the folder with the ending; of a folder of very many only the first."""
    try:
        found = [path.name for _, path in zip(range(_MOST_LOOKED_AT), folder.iterdir(), strict=False)]
    except OSError:
        return []
    return sorted(name for name in found if name.lower().endswith(ending))


def beside(file: Path, name: str) -> Path | None:
    """The file of that name in the folder of ``file`` or below it; None where the name leads elsewhere. Nothing is
    looked at outside: a name out of a stranger's file may point to another computer."""
    plain = name.isprintable() and len(name) <= LONGEST_NAME and "\\" not in name and ":" not in name
    if not plain or not name or Path(name).is_absolute() or ".." in Path(name).parts:
        return None
    path = file.parent / name
    return path if path.resolve().is_relative_to(file.parent.resolve()) else None


def is_device(path: Path) -> bool:
    """Whether it is there and neither a file nor a folder: one may read without end from it."""
    mode = path.stat().st_mode
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def other_kind(path: Path, kinds: Mapping[str, tuple[str, str]]) -> tuple[str, str] | None:
    """What a file is by its ending, and what would do, where it is not of the kind wanted."""
    ending = path.suffix.lower()
    if ending in OF_OTHER_PROGRAMS:
        return (
            f"{ending} is a format of another program",
            "Save it from there as plain text of the kind that is wanted.",
        )
    return kinds.get(ending)
