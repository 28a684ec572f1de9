"""A short mark of everything a result was computed from: job file, readings, tables, version."""

import hashlib
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from griddesign import __version__
from griddesign.shipped import materials_folder

LENGTH = 8


def fingerprint(files: Iterable[Path], asked: Iterable[str] = ()) -> str:
    """Eight hexadecimal signs of a SHA-256 over the files, in the order given, the material tables, the
    version, and what the command asked for beside the file.

    Line ends do not count, so a file sent through another machine keeps its mark.
    """
    digest = hashlib.sha256(__version__.encode())
    digest.update(_tables())
    for path in files:
        digest.update(b"\0" + path.read_bytes().replace(b"\r\n", b"\n"))
    for words in asked:
        digest.update(b"\0" + words.encode())
    return digest.hexdigest()[:LENGTH]


@cache
def _tables() -> bytes:
    digest = hashlib.sha256()
    for path in sorted(materials_folder().rglob("*.toml")):
        digest.update(path.name.encode() + b"\0" + path.read_bytes().replace(b"\r\n", b"\n"))
    return digest.digest()
