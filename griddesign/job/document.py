"""The job file as text: read with care for the ways a first file goes wrong, parsed, every key with its line."""

import re
import stat
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from griddesign.errors import Complaint, JobError

LARGEST_FILE_BYTES = 2_000_000
CURLY_QUOTES = "“”„‟«»‘’‚"
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f]|\t|\n")

Key = tuple[str | int, ...]


@dataclass(frozen=True)
class Document:
    """A parsed job file. ``lines`` maps a key path, array items counted from 0, to its line in the file."""

    path: Path
    data: Mapping[str, Any]
    lines: Mapping[Key, int]

    def line_of(self, key: Key) -> int | None:
        """Line of the key, else of the first thing inside it, else the same of the nearest table around it."""
        for length in range(len(key), 0, -1):
            around = key[:length]
            found = [line for known, line in self.lines.items() if known[:length] == around]
            if found:
                return self.lines.get(around, min(found))
        return None


def load(path: Path) -> Document:
    """Read and parse a job file. Raises JobError with the line and what would do."""
    text = _decode(path, _read_bytes(path))
    if not text.strip():
        raise _refuse(path, "the file is empty", "Write a starter with: griddesign new FILE")
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise JobError((_explain(path, text, str(error)),)) from error
    document = Document(path, data, dict(key_lines(text)))
    _refuse_control_characters(document)
    return document


def _read_bytes(path: Path) -> bytes:
    if path.name.lower().endswith(".toml.txt"):
        raise _refuse(
            path, "the name ends in .toml.txt", f"Rename it to {path.name[:-4]}: Windows hides the last ending."
        )
    try:
        return _bytes_of_a_job(path)
    except FileNotFoundError as error:
        raise _missing(path) from error
    except OSError as error:
        raise _refuse(path, f"the file cannot be read ({error.strerror})", "Check that you may read it.") from error


def _bytes_of_a_job(path: Path) -> bytes:
    mode = path.stat().st_mode
    if stat.S_ISDIR(mode):
        raise _refuse(path, "this is a folder", "Name the job file in it.")
    if not stat.S_ISREG(mode):
        raise _refuse(path, "this is a device, not a file", "Name a job file.")
    with path.open("rb") as file:
        raw = file.read(LARGEST_FILE_BYTES + 1)
    if len(raw) > LARGEST_FILE_BYTES:
        raise _refuse(path, "this is more than a job file holds", f"At most {LARGEST_FILE_BYTES} bytes are read.")
    return raw


def _missing(path: Path) -> JobError:
    hidden = path.with_name(path.name + ".txt")
    if hidden.exists():
        return _refuse(
            path, "there is no such file, but there is one named so with .txt behind", f"Rename {hidden.name}."
        )
    return _refuse(path, "there is no such file", "Write a starter with: griddesign new FILE")


def _decode(path: Path, raw: bytes) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refuse(path, "the file is saved as UTF-16", "Save it again as UTF-8.")
    if b"\x00" in raw:
        raise _refuse(path, "this is not a text file", "A job file is plain text in TOML.")
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise _refuse(
            path, f"byte 0x{raw[error.start]:02x} is not UTF-8", "Save the file again as UTF-8.", line
        ) from error


def _refuse(path: Path, message: str, hint: str, line: int | None = None) -> JobError:
    return JobError((Complaint(message, hint, str(path), line),))


def _explain(path: Path, text: str, parser_message: str) -> Complaint:
    """The parser's complaint, or a plainer one where the line shows a usual slip."""
    found = re.search(r"line (\d+)", parser_message)
    lines = text.splitlines()
    number = int(found.group(1)) if found else len(lines)
    line = lines[min(number, len(lines)) - 1]
    message, hint = (
        _usual_slip(line) or _slip_above(lines, number) or (parser_message, "See the TOML example in the README.")
    )
    return Complaint(message, hint, str(path), number, _key_of(line))


def _slip_above(lines: list[str], number: int) -> tuple[str, str] | None:
    return _usual_slip(lines[number - 2]) if 2 <= number <= len(lines) else None


def _usual_slip(line: str) -> tuple[str, str] | None:
    value = line.split("=", 1)[1].strip() if "=" in line else line.strip()
    if any(mark in line for mark in CURLY_QUOTES):
        return "curly quotes", 'Use straight quotes: " and ".'
    if re.match(r'"[^"]*\d""', value):
        inner = value.strip('"')
        return "an inch mark closes the string too early", f'Write "{inner} in" or \'{inner}"\'.'
    if "\\" in value:
        return (
            "a backslash starts an escape in a TOML string",
            "Write / in its place, or put the text in single quotes.",
        )
    if re.match(r"[-+]?\d[\d./ ]*\s*[^\d\s,\]}#.:-]+", value):
        bare = value.split("#")[0].strip()
        return f"{bare} has no quotes around it", f'Write "{bare}".'
    return None


def _key_of(line: str) -> str:
    return line.split("=", 1)[0].strip() if "=" in line else ""


def _refuse_control_characters(document: Document) -> None:
    complaints = tuple(
        Complaint(
            "a backslash was read as an escape and put a control character into the text",
            "Write / in its place, or put the text in single quotes.",
            str(document.path),
            document.line_of(key),
            ".".join(map(str, key)),
        )
        for key, value in _strings((), document.data)
        if _CONTROL.search(value)
    )
    if complaints:
        raise JobError(complaints)


def _strings(key: Key, value: Any) -> Iterator[tuple[Key, str]]:
    if isinstance(value, str):
        yield key, value
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _strings((*key, name), inner)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _strings((*key, index), inner)


_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_ASSIGNMENT = re.compile(r"""^\s*((?:[\w-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[\w-]+|"[^"]*"|'[^']*'))*)\s*=""")
_INLINE = re.compile(r"""[{,]\s*([\w-]+)\s*=""")


def key_lines(text: str) -> Iterator[tuple[Key, int]]:
    """Yield (key path, line) for every table header, key and inline-table key of a valid TOML text."""
    table: Key = ()
    counts: dict[Key, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        header = _HEADER.match(line)
        if header:
            table = _enter(header, counts)
            yield table, number
            continue
        assignment = _ASSIGNMENT.match(line)
        if assignment:
            key = (*table, *_split(assignment.group(1)))
            yield key, number
            for inner in _INLINE.finditer(line, assignment.end()):
                yield (*key, inner.group(1)), number


def _enter(header: re.Match[str], counts: dict[Key, int]) -> Key:
    names = _split(header.group(2))
    where: Key = ()
    for name in names[:-1]:
        where = (*where, name)
        if where in counts:
            where = (*where, counts[where] - 1)
    where = (*where, names[-1])
    if header.group(1) == "[[":
        counts[where] = counts.get(where, 0) + 1
        return (*where, counts[where] - 1)
    return where


def _split(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip().strip("\"'") for part in dotted.split("."))
