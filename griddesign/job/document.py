"""The job file as text: read with care for the ways a first file goes wrong, parsed, every key with its line."""

import re
import stat
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from griddesign.errors import Complaint, JobError
from griddesign.given_file import instead_of, other_kind

LARGEST_FILE_BYTES = 2_000_000
CURLY_QUOTES = "“”„‟«»‘’‚"
DEEPEST = 12  # tables and lists in one another; ours need five
LARGEST_WHOLE = 2**63  # of TOML's whole numbers
MOST_VALUES = 10_000  # in a file; the largest of ours has 150
MOST_DOTS = 200  # on a line, outside quotes: each may be one level deeper
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")
_UNSEEN = re.compile(r"[\x80-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff]")
"""Signs that break a line or turn the order of others round: what is read would not be what is seen."""

Key = tuple[str | int, ...]


@dataclass(frozen=True)
class Document:
    """A parsed job file. ``lines`` maps a key path, array items counted from 0, to its line in the file."""

    path: Path
    data: Mapping[str, Any]
    lines: Mapping[Key, int]

    def line_of(self, key: Key) -> int | None:
        """Line of the key, else of the first thing inside it, else the same of the nearest table around it."""
        if key in self.lines:
            return self.lines[key]
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
    _refuse_endless_keys(path, text)
    document = Document(path, _parsed(path, text), dict(key_lines(text)))
    complaints = tuple(_strange(document))
    if complaints:
        raise JobError(complaints)
    return document


def _refuse_endless_keys(path: Path, text: str) -> None:
    """Raise JobError before the parser takes a key of thousands of parts, each of which costs it all before again."""
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MOST_DOTS and _QUOTED.sub("", line).count(".") > MOST_DOTS:
            raise _refuse(path, "a key of more parts than any job has", "Give one table a line.", number)


def _parsed(path: Path, text: str) -> Mapping[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise JobError((_explain(path, text, str(error)),)) from error
    except RecursionError as error:
        raise _refuse(path, "brackets stand in one another far too deep", "Close each where it ends.") from error
    except ValueError as error:  # the parser lets out what Python says of a number of thousands of digits
        line = next((n for n, words in enumerate(text.splitlines(), start=1) if _ENDLESS.search(words)), None)
        raise _refuse(path, "a number has far too many digits", "Write the figure.", line) from error


def _read_bytes(path: Path) -> bytes:
    if path.name.lower().endswith(".toml.txt"):
        raise _refuse(
            path, "the name ends in .toml.txt", f"Rename it to {path.name[:-4]}: Windows hides the last ending."
        )
    if kind := other_kind(path, _OTHER_KINDS):
        raise _refuse(path, *kind)
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
    starter = "Write a starter with: griddesign new FILE"
    return _refuse(path, "there is no such file", instead_of(path, ".toml", starter))


_OF_OURS = ("griddesign wrote this", "Name the job file it was made from.")
_OTHER_KINDS = {
    ".csv": (
        "this is a table, and a job file is wanted here",
        "The job comes first: griddesign retap JOB PLATES.csv, griddesign verify JOB READINGS.csv.",
    ),
    ".dxf": (
        "this is a drawing, and a job file is wanted here",
        'Its ohms: griddesign plate OUTLINE.dxf --metal NAME --thickness "8 mm".',
    ),
    ".pdf": _OF_OURS,
    ".html": _OF_OURS,
    ".json": _OF_OURS,
}


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


def _strange(document: Document) -> Iterator[Complaint]:
    """What is valid TOML and no part of any job: signs that do not show, depth without end, numbers out of range."""
    for number, (key, value) in enumerate(_values((), document.data)):
        if number == MOST_VALUES:
            hint = f"At most {MOST_VALUES} values are read."
            yield Complaint("this is more than a job file holds", hint, str(document.path), document.line_of(key))
            return
        found = _fault_of(key[-1], value) if len(key) <= DEEPEST else _TOO_DEEP
        if found is not None:
            yield Complaint(*found, str(document.path), document.line_of(key), ".".join(map(str, key[:DEEPEST])))


_TOO_DEEP = ("tables or lists stand in one another too deep", f"At most {DEEPEST} levels are read; jobs need five.")
_QUOTED = re.compile(r"""\"[^\"]*\"|'[^']*'""")
_ENDLESS = re.compile(r"[0-9_]{1000}")


def _fault_of(name: str | int, value: object) -> tuple[str, str] | None:
    if isinstance(value, int) and abs(value) >= LARGEST_WHOLE:
        return "the number is out of range", "Write the figure."
    for text in (name, value):
        if isinstance(text, str) and _CONTROL.search(text):
            return (
                "a backslash was read as an escape and put a control character into the text",
                "Write / in its place, or put the text in single quotes.",
            )
        if isinstance(text, str) and (unseen := _UNSEEN.search(text)):
            return f"holds the invisible character U+{ord(unseen[0]):04X}", "Delete it and type the text anew."
    return None


def _values(key: Key, value: Any) -> Iterator[tuple[Key, Any]]:
    """Every value with its key, tables and lists before what is in them, one level deeper than is read."""
    if key:
        yield key, value
    if len(key) > DEEPEST:
        return
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _values((*key, name), inner)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _values((*key, index), inner)


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
