"""A table from a CSV file as any spreadsheet saves it: columns known by their names, each with the unit of its header.

A byte order mark, CRLF, Windows-1252, tabs or semicolons, and decimal commas beside these are read; units stand in the
header, ``time (min)``, or in the cells. What can be read in two ways is refused, with the line.
"""

import csv
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from griddesign.errors import Complaint, JobError, QuantityError
from griddesign.given_file import instead_of, is_device, other_kind
from griddesign.telling import tell
from griddesign.units import read

LARGEST_FILE_BYTES = 1_000_000
MOST_COLUMNS = 100
_THOUSAND = re.compile(r"[-+−]?[1-9][0-9]{0,2}(?:,[0-9]{3})+\b.*")
_UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufeff]")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")

_USUAL = {
    "temperature": "degC",
    "length": "mm",
    "mass": "kg",
    "resistance": "ohm",
    "current": "A",
    "voltage": "mV",
    "time": "min",
}

Columns: TypeAlias = Mapping[str, tuple[str, Mapping[str, str]]]
"""Column -> kind of quantity ("" for words) and the names it goes by, each with the unit it implies ("" for none)."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the file: its number and its cells by column, decimal commas turned into points."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class CsvTable:
    """The rows, the unit each column's header gives, the header's line, and headers of columns nobody asked for."""

    path: Path
    columns: Columns
    header_line: int
    units: Mapping[str, str]
    rows: tuple[Row, ...]
    not_read: tuple[str, ...]

    def refuse(self, message: str, hint: str, line: int | None = None, column: str = "") -> JobError:
        """The error for a fault at a line and column."""
        return _refuse(self.path, message, hint, line, column)

    def quantity(self, row: Row, column: str) -> float | None:
        """The cell in SI, None where it is empty; a bare number takes the unit of its column. Raises JobError."""
        cell, kind, unit = row.cells.get(column, ""), self.columns[column][0], self.units.get(column, "")
        if not cell:
            return None
        bare = _NUMBER.fullmatch(cell.replace("−", "-"))
        if bare and not unit:
            raise self.refuse(
                f"{cell} has no unit", f"Write the unit into the header: {column} ({_USUAL[kind]}).", row.line, column
            )
        try:
            return read(f"{cell} {unit}" if bare else cell, kind).value
        except QuantityError as error:
            raise self.refuse(error.message, error.hint, row.line, column) from error


def read_csv_table(path: Path, columns: Columns, *, most_rows: int, of: str = "reading") -> CsvTable:
    """The table of a file, one line for each ``of``.

    Raises JobError with line and column of the first fault, and what would do.
    """
    text = _decoded(path)
    separator = _separator(text)
    lines = _lines(path, text, separator)
    if not lines:
        raise _refuse(path, "the file is empty", f"Columns: {', '.join(columns)}.")
    (header_line, header), body = lines[0], lines[1:]
    named, units, not_read = _header(path, header_line, header, columns)
    if not body:
        raise _refuse(path, f"there is a header and no {of}", f"Write one line for each {of}.")
    if len(body) > most_rows:
        raise _refuse(path, f"{len(body)} rows", f"At most {most_rows} are read; leave some out.")
    rows = [_row(path, line, cells, named) for line, cells in body]
    taken = ", ".join(f"{name} ({unit})" if unit else name for name, unit in units.items())
    tell(lambda: f"{path} read: {len(rows)} rows, separated by {separator!r}; columns {taken}; not read: {not_read}")
    return CsvTable(path, columns, header_line, units, _with_points(path, rows, separator, columns), not_read)


def _refuse(path: Path, message: str, hint: str, line: int | None = None, key: str = "") -> JobError:
    return JobError((Complaint(message, hint, str(path), line, key),))


_OTHER_KINDS = {
    ".toml": ("this is a job or a claim, and a table is wanted here", "The job comes first, then the table as CSV."),
    ".dxf": ("this is a drawing, and a table is wanted here", "Name a CSV file."),
    ".pdf": ("this is a PDF, and a table is wanted here", "Name the CSV file that was filled in."),
}


def _decoded(path: Path) -> str:
    if kind := other_kind(path, _OTHER_KINDS):
        raise _refuse(path, *kind)
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise _refuse(path, "too large for a table of readings", f"At most {LARGEST_FILE_BYTES} bytes are read.")
        if is_device(path):
            raise _refuse(path, "this is a device, not a file", "Name a CSV file.")
        raw = path.read_bytes()
    except FileNotFoundError as error:
        raise _refuse(path, "there is no such file", instead_of(path, ".csv", "Check its name.")) from error
    except IsADirectoryError as error:
        raise _refuse(path, "this is a folder", "Name the CSV file in it.") from error
    except OSError as error:
        raise _refuse(path, f"the file cannot be read ({error.strerror})", "Check its name.") from error
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in raw:
        raise _refuse(path, "this is no CSV file in UTF-8", "Save it from the spreadsheet as CSV, UTF-8.")
    for code_page in ("utf-8-sig", "cp1252"):  # what no UTF-8 text can be is the code page of an older spreadsheet
        with suppress(UnicodeDecodeError):
            return raw.decode(code_page)
    raise _refuse(path, "this is neither UTF-8 nor Windows-1252", "Save it again as CSV, UTF-8.")


def _names_separator(line: str) -> bool:
    """Whether this is the line ``sep=;`` that some spreadsheets put first."""
    return line.strip().lower().startswith("sep=")


def _separator(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip() and not _names_separator(line)), "")
    return next((sign for sign in (";", "\t") if sign in first), ",")


def _lines(path: Path, text: str, separator: str) -> list[tuple[int, list[str]]]:
    """Every line that is not empty, with its number."""
    reader = csv.reader(text.splitlines(keepends=True), delimiter=separator, strict=True)
    try:
        lines = [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise _refuse(path, f"the quotes do not match ({error})", "Close every quote.", reader.line_num) from error
    return [(line, cells) for line, cells in lines if any(map(str.strip, cells)) and not _names_separator(cells[0])]


def _header(
    path: Path, line: int, header: Sequence[str], columns: Columns
) -> tuple[list[str], Mapping[str, str], tuple[str, ...]]:
    """Column of every header ("" for one nobody asked for), units by column, and the headers not asked for."""
    if len(header) > MOST_COLUMNS:
        raise _refuse(
            path, f"{len(header)} columns", f"At most {MOST_COLUMNS} are looked at; keep those asked for.", line
        )
    found = [_column(path, line, cell, columns) for cell in header]
    named = [column for column, _ in found]
    for column in filter(None, named):
        if named.count(column) > 1:
            raise _refuse(path, f"two columns are {column}", "Keep one.", line, column)
    not_read = tuple(cell.strip() for cell, column in zip(header, named, strict=True) if cell.strip() and not column)
    return named, {column: unit for column, unit in found if column}, not_read


def _column(path: Path, line: int, cell: str, columns: Columns) -> tuple[str, str]:
    words = re.sub(r"[_\s]+", " ", cell.strip().replace("Ω", "ohm"))
    names = {name: (column, unit) for column, (_, spelled) in columns.items() for name, unit in spelled.items()}
    fitting = [name for name in names if re.match(rf"{re.escape(name)}(?![A-Za-z])", words, re.IGNORECASE)]
    if not fitting:
        return "", ""
    name = max(fitting, key=len)
    column, implied = names[name]
    unit = words[len(name) :].strip(" []()/,:=")
    if unit and columns[column][0]:
        try:
            read(f"1 {unit}", columns[column][0])
        except QuantityError as error:
            raise _refuse(path, error.message, error.hint, line, cell.strip()) from error
    return column, unit or implied


def _row(path: Path, line: int, cells: Sequence[str], named: Sequence[str]) -> Row:
    if any(map(str.strip, cells[len(named) :])):
        hint = "A decimal comma? Use points, or separate the columns by semicolons."
        raise _refuse(path, f"{len(cells)} cells under {len(named)} columns", hint, line)
    found = {column: " ".join(cell.split()) for column, cell in zip(named, cells, strict=False) if column}
    for column, cell in found.items():
        if unseen := _UNSEEN.search(cell):
            hint = "Delete it and type the text anew."
            raise _refuse(path, f"holds the invisible character U+{ord(unseen[0]):04X}", hint, line, column)
    return Row(line, found)


def _with_points(path: Path, rows: list[Row], separator: str, columns: Columns) -> tuple[Row, ...]:
    """Decimal commas as points, in files whose columns are not separated by commas."""
    numbers = [(row.line, cell) for row in rows for column, cell in row.cells.items() if columns[column][0]]
    commas = [line for line, cell in numbers if "," in cell]
    if separator == "," or not commas:
        return tuple(rows)
    if any("." in cell for _, cell in numbers):
        raise _refuse(path, "decimal commas and points stand side by side", "Use one of them throughout.", commas[0])
    if all(_THOUSAND.fullmatch(cell) for _, cell in numbers if "," in cell):
        cell = next(cell for _, cell in numbers if "," in cell)
        words = f"{cell} may be {cell.replace(',', '.')} or {cell.replace(',', '')}"
        raise _refuse(path, words, "Write it with a point, or without the thousands' comma.", commas[0])
    return tuple(
        Row(row.line, {name: cell.replace(",", ".") if columns[name][0] else cell for name, cell in row.cells.items()})
        for row in rows
    )
