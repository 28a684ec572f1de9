"""Measured plates from a CSV file, as any spreadsheet saves it: ``plate JOB --measured FIRST.csv``.

Columns, in any order: plate; ohm, or ampere with millivolt (and millivolt reversed); temperature; thickness; strip
width; mass; remarks. Units stand in the header, ``thickness (mm)``, or in the cells. A byte order mark, CRLF, tabs or
semicolons, and decimal commas beside these are read; what can be read in two ways is refused.
"""

import csv
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from griddesign.errors import Complaint, GriddesignError, JobError, QuantityError
from griddesign.plate.measured import MeasuredPlate, Reading, four_wire
from griddesign.units import read

LARGEST_FILE_BYTES = 1_000_000
MOST_ROWS = 2_000
T = TypeVar("T")

# Column -> kind of quantity and the names it goes by, each with the unit it implies.
_COLUMNS: Mapping[str, tuple[str, Mapping[str, str]]] = {
    "plate": ("", {"plate": "", "plate no": "", "name": "", "kind": ""}),
    "ohm": ("resistance", {"ohm": "ohm", "ohms": "ohm", "resistance": "", "milliohm": "mohm", "mohm": "mohm"}),
    "ampere": ("current", {"ampere": "A", "amperes": "A", "amps": "A", "current": ""}),
    "millivolt": ("voltage", {"millivolt": "mV", "millivolts": "mV", "mv": "mV", "voltage": "", "forward": ""}),
    "millivolt reversed": (
        "voltage",
        {"millivolt reversed": "mV", "mv reversed": "mV", "voltage reversed": "", "reversed": ""},
    ),
    "temperature": ("temperature", {"temperature": "", "temp": "", "metal temperature": ""}),
    "thickness": ("length", {"thickness": ""}),
    "strip width": ("length", {"strip width": ""}),
    "mass": ("mass", {"mass": "", "weight": ""}),
    "remarks": ("", {"remarks": "", "remark": "", "notes": "", "note": ""}),
}
_NAMES = {name: (column, unit) for column, (_, names) in _COLUMNS.items() for name, unit in names.items()}
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_PLAIN = "Columns: plate; ohm, or ampere and millivolt; temperature; thickness; strip width; mass; remarks."


@dataclass(frozen=True, slots=True)
class Readings:
    """What a file of measured plates holds. ``not_read``: headers of columns nobody asked for."""

    plates: tuple[MeasuredPlate, ...]
    not_read: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    cells: Mapping[str, str]


def read_plates_csv(path: Path) -> Readings:
    """The measured plates of a file. Raises JobError with every fault, its line and column, and what would do."""
    text = _decoded(path)
    rows, units, not_read = _table(path, text)
    complaints: list[Complaint] = []
    plates = [plate for row in rows if (plate := _plate(path, row, units, complaints)) is not None]
    if complaints:
        raise JobError(tuple(complaints))
    return Readings(tuple(plates), not_read)


def of_kind(plates: Sequence[MeasuredPlate], kind: str, kinds: Sequence[str]) -> tuple[MeasuredPlate, ...]:
    """The plates of one kind. With one kind in the job all are; with more, a plate is called by its kind, alone or with
    a number behind it: ``P``, ``P-1``, ``P 2``, ``P/3``. Raises JobError for a plate of no kind, or where none is."""
    if len(kinds) == 1:
        return tuple(plates)
    named = {
        name: [plate for plate in plates if re.fullmatch(rf"{re.escape(name)}(\W.*)?", plate.name)] for name in kinds
    }
    stray = [plate.name for plate in plates if not any(plate in group for group in named.values())]
    if stray:
        hint = f"Begin the name with its kind: {', '.join(kinds)}."
        raise JobError((Complaint(f"plates of no kind: {', '.join(repr(name) for name in stray[:5])}", hint),))
    if not named[kind]:
        raise JobError((Complaint(f"no plate of kind {kind} was measured", f"Call one {kind} or {kind}-1."),))
    return tuple(named[kind])


def _refuse(path: Path, message: str, hint: str, line: int | None = None, key: str = "") -> JobError:
    return JobError((Complaint(message, hint, str(path), line, key),))


def _decoded(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE_BYTES:
            raise _refuse(path, "too large for measured plates", f"At most {LARGEST_FILE_BYTES} bytes are read.")
        raw = path.read_bytes()
    except OSError as error:
        raise _refuse(path, f"the file cannot be read ({error.strerror})", "Check its name.") from error
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in raw:
        raise _refuse(path, "this is no CSV file in UTF-8", "Save it from the spreadsheet as CSV, UTF-8.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refuse(path, f"byte {error.start} is no UTF-8", "Save it again as CSV, UTF-8.") from error


def _table(path: Path, text: str) -> tuple[list[_Row], Mapping[str, str], tuple[str, ...]]:
    """Rows by column, the unit of each column, and the columns nobody asked for."""
    lines = _lines(path, text)
    if not lines:
        raise _refuse(path, "the file is empty", _PLAIN)
    (header_line, header), body = lines[0], lines[1:]
    columns, units, not_read = _columns(path, header_line, header)
    if not body:
        raise _refuse(path, "there is a header and no plate", "Write one line for each plate measured.")
    if len(body) > MOST_ROWS:
        raise _refuse(path, f"{len(body)} rows", f"At most {MOST_ROWS} are read.")
    for line, cells in body:
        if len(cells) > len(header) and any(cells[len(header) :]):
            hint = "A decimal comma? Use points, or separate the columns by semicolons."
            raise _refuse(path, f"{len(cells)} cells under {len(header)} columns", hint, line)
    rows = [
        _Row(line, {column: cell.strip() for column, cell in zip(columns, cells, strict=False) if column})
        for line, cells in body
    ]
    return _with_points(path, rows, _separator(text)), units, not_read


def _lines(path: Path, text: str) -> list[tuple[int, list[str]]]:
    """Every line that is not empty, with its number."""
    separator = _separator(text)
    reader = csv.reader(text.splitlines(keepends=True), delimiter=separator, strict=True)
    try:
        lines = [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise _refuse(path, f"the quotes do not match ({error})", "Close every quote.", reader.line_num) from error
    return [(line, cells) for line, cells in lines if any(map(str.strip, cells)) and not _names_separator(cells)]


def _names_separator(cells: Sequence[str]) -> bool:
    """Whether this is the line ``sep=;`` that some spreadsheets put first."""
    return cells[0].strip().lower().startswith("sep=")


def _separator(text: str) -> str:
    lines = (line for line in text.splitlines() if line.strip() and not line.lower().startswith("sep="))
    first = next(lines, "")
    return next((sign for sign in (";", "\t") if sign in first), ",")


def _columns(path: Path, line: int, header: Sequence[str]) -> tuple[list[str], Mapping[str, str], tuple[str, ...]]:
    columns: list[str] = []
    units: dict[str, str] = {}
    for cell in header:
        column, unit = _column(path, line, cell)
        if column and column in columns:
            raise _refuse(path, f"two columns are {column}", "Keep one.", line, cell.strip())
        columns.append(column)
        units[column] = unit
    needed = "temperature" in columns and ("ohm" in columns or {"ampere", "millivolt"} <= set(columns))
    if not needed:
        found = ", ".join(cell.strip() for cell in header)
        raise _refuse(path, f"ohms or the metal's temperature are missing among: {found}", _PLAIN, line)
    if "ohm" in columns and {"ampere", "millivolt"} & set(columns):
        raise _refuse(path, "there are ohms as well as currents or voltages", "Keep one of the two.", line)
    pairs = zip(columns, header, strict=True)
    return columns, units, tuple(cell.strip() for column, cell in pairs if not column and cell.strip())


def _column(path: Path, line: int, cell: str) -> tuple[str, str]:
    """Column and unit of a header; the column is empty where nothing is known by that name."""
    words = re.sub(r"[_\s]+", " ", cell.strip().replace("Ω", "ohm"))
    names = [name for name in _NAMES if re.match(rf"{name}(?![A-Za-z])", words, re.IGNORECASE)]
    if not names:
        return "", ""
    name = max(names, key=len)
    column, implied = _NAMES[name]
    unit = words[len(name) :].strip(" []()/,:=")
    if unit and _COLUMNS[column][0]:
        try:
            read(f"1 {unit}", _COLUMNS[column][0])
        except QuantityError as error:
            raise _refuse(path, error.message, error.hint, line, cell.strip()) from error
    return column, unit or implied


def _with_points(path: Path, rows: list[_Row], separator: str) -> list[_Row]:
    """Decimal commas as points, in files whose columns are not separated by commas."""
    numbers = [(row.line, cell) for row in rows for column, cell in row.cells.items() if _COLUMNS[column][0]]
    commas = [line for line, cell in numbers if "," in cell]
    if separator == "," or not commas:
        return rows
    if any("." in cell for _, cell in numbers):
        raise _refuse(path, "decimal commas and points stand side by side", "Use one of them throughout.", commas[0])
    return [
        _Row(
            row.line,
            {name: cell.replace(",", ".") if _COLUMNS[name][0] else cell for name, cell in row.cells.items()},
        )
        for row in rows
    ]


def _plate(path: Path, row: _Row, units: Mapping[str, str], complaints: list[Complaint]) -> MeasuredPlate | None:
    """One row; its faults are added to ``complaints``."""

    def tell(column: str, message: str, hint: str) -> None:
        complaints.append(Complaint(message, hint, str(path), row.line, column))

    def attempt(column: str, build: Callable[[], T]) -> T | None:
        try:
            return build()
        except GriddesignError as error:
            tell(column, error.message, error.hint)
            return None

    def number(column: str) -> float | None:
        return attempt(column, lambda: _quantity(column, row.cells.get(column, ""), units.get(column, "")))

    before = len(complaints)
    for column in _missing(row):
        tell(column, "is empty", "Measure it, or leave the row out.")
    values = {column: number(column) for column, (kind, _) in _COLUMNS.items() if kind}
    if len(complaints) > before:
        return None
    found = attempt("ohm" if "ohm" in row.cells else "millivolt", lambda: _ohms(values))
    return None if found is None else _measured(row, values, *found)


def _measured(row: _Row, values: Mapping[str, float | None], ohm: float, emf_v: float | None) -> MeasuredPlate:
    t_c = values["temperature"]
    assert t_c is not None
    return MeasuredPlate(
        name=row.cells.get("plate") or f"line {row.line}",
        readings=(Reading(ohm, t_c),),
        thickness_m=values["thickness"],
        strip_width_m=values["strip width"],
        mass_kg=values["mass"],
        emf_v=emf_v,
        remarks=row.cells.get("remarks", ""),
        one_way=values["ohm"] is None and emf_v is None,
    )


def _missing(row: _Row) -> Iterator[str]:
    needed = ("ohm", "temperature") if "ohm" in row.cells else ("ampere", "millivolt", "temperature")
    return (column for column in needed if not row.cells.get(column))


def _ohms(values: Mapping[str, float | None]) -> tuple[float, float | None]:
    ohm, current, forward = values["ohm"], values["ampere"], values["millivolt"]
    if ohm is not None:
        return ohm, None
    assert current is not None and forward is not None
    return four_wire(current, forward, values["millivolt reversed"])


def _quantity(column: str, cell: str, unit: str) -> float | None:
    """The cell in SI; a bare number takes the unit of its column. Raises QuantityError."""
    kind = _COLUMNS[column][0]
    if not cell:
        return None
    if column == "millivolt reversed":
        cell = cell.lstrip("-−")
    if _NUMBER.fullmatch(cell.replace("−", "-")) and not unit:
        raise QuantityError(f"{cell} has no unit", hint=f"Write the unit into the header: {column} ({_usual(kind)}).")
    value = read(f"{cell} {unit}" if _NUMBER.fullmatch(cell.replace("−", "-")) else cell, kind).value
    if value <= 0 and column != "temperature":
        raise QuantityError(f"{cell} cannot be", hint="It must be above zero.")
    return value


def _usual(kind: str) -> str:
    return {"temperature": "degC", "length": "mm", "mass": "kg", "resistance": "ohm", "current": "A"}.get(kind, "mV")
