"""Where the shipped folders stand: inside the package when installed from a wheel, beside it in a checkout."""

from functools import cache
from pathlib import Path

from griddesign.errors import TableError

_PACKAGE = Path(__file__).resolve().parent


@cache
def shipped_folder(name: str) -> Path:
    """The folder ``name`` (``"materials"`` or ``"examples"``) as shipped; raises TableError where it is missing."""
    for folder in (_PACKAGE / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise TableError(f"The folder {name} is missing from the installation.", hint="Install griddesign again.")


def materials_folder() -> Path:
    """The folder of the material tables."""
    return shipped_folder("materials")


def examples_folder() -> Path:
    """The folder of the examples."""
    return shipped_folder("examples")
