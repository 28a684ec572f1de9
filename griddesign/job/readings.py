"""Measured plates from a CSV file, as any spreadsheet saves it: ``plate JOB --measured FIRST.csv``.

Columns, in any order: plate; ohm, or ampere with millivolt (and millivolt reversed); temperature; thickness; strip
width; mass; remarks. Units stand in the header, ``thickness (mm)``, or in the cells. A byte order mark, CRLF, tabs or
semicolons, and decimal commas beside these are read; what can be read in two ways is refused.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from griddesign.errors import Complaint, GriddesignError, JobError
from griddesign.job.csv_table import Columns, CsvTable, Row, read_csv_table
from griddesign.plate.measured import MeasuredPlate, Reading, four_wire

MOST_ROWS = 2_000
_COLUMNS: Columns = {
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
_PLAIN = "Columns: plate; ohm, or ampere and millivolt; temperature; thickness; strip width; mass; remarks."


@dataclass(frozen=True, slots=True)
class Readings:
    """What a file of measured plates holds. ``not_read``: headers of columns nobody asked for."""

    plates: tuple[MeasuredPlate, ...]
    not_read: tuple[str, ...]


def read_plates_csv(path: Path) -> Readings:
    """The measured plates of a file. Raises JobError with every fault, its line and column, and what would do."""
    table = read_csv_table(path, _COLUMNS, most_rows=MOST_ROWS, of="plate")
    _check_columns(table)
    complaints: list[Complaint] = []
    plates = [plate for row in table.rows if (plate := _plate(table, row, complaints)) is not None]
    if complaints:
        raise JobError(tuple(complaints))
    return Readings(tuple(plates), table.not_read)


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


def _check_columns(table: CsvTable) -> None:
    """Raises JobError where the columns do not tell ohms and temperature, or tell ohms in two ways."""
    columns = set(table.units)
    if "temperature" not in columns or not ("ohm" in columns or {"ampere", "millivolt"} <= columns):
        found = ", ".join(sorted(columns)) or "nothing known"
        raise table.refuse(f"ohms or the metal's temperature are missing among: {found}", _PLAIN, table.header_line)
    if "ohm" in columns and {"ampere", "millivolt"} & columns:
        raise table.refuse("there are ohms as well as currents or voltages", "Keep one of the two.", table.header_line)


def _plate(table: CsvTable, row: Row, complaints: list[Complaint]) -> MeasuredPlate | None:
    """One row; its faults are added to ``complaints``."""
    faults = [table.refuse("is empty", "Measure it, or leave the row out.", row.line, name) for name in _missing(row)]
    values: dict[str, float | None] = {}
    for column, (kind, _) in _COLUMNS.items():
        try:
            values[column] = _quantity(table, row, column) if kind else None
        except JobError as error:
            faults.append(error)
    found = None if faults else _ohms(table, row, values, faults)
    complaints.extend(one for fault in faults for one in fault.complaints())
    return None if found is None else _measured(row, values, *found)


def _measured(row: Row, values: Mapping[str, float | None], ohm: float, emf_v: float | None) -> MeasuredPlate:
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


def _missing(row: Row) -> Iterator[str]:
    needed = ("ohm", "temperature") if "ohm" in row.cells else ("ampere", "millivolt", "temperature")
    return (column for column in needed if not row.cells.get(column))


def _ohms(
    table: CsvTable, row: Row, values: Mapping[str, float | None], faults: list[JobError]
) -> tuple[float, float | None] | None:
    ohm, current, forward = values["ohm"], values["ampere"], values["millivolt"]
    if ohm is not None:
        return ohm, None
    assert current is not None and forward is not None
    try:
        return four_wire(current, forward, values["millivolt reversed"])
    except GriddesignError as error:
        faults.append(table.refuse(error.message, error.hint, row.line, "millivolt"))
        return None


def _quantity(table: CsvTable, row: Row, column: str) -> float | None:
    """The cell in SI. A reversed voltage may carry its sign. Raises JobError, also on what is not above zero."""
    if column == "millivolt reversed":
        row = Row(row.line, {name: cell.lstrip("-−") for name, cell in row.cells.items() if name == column})
    value = table.quantity(row, column)
    if value is not None and value <= 0 and column != "temperature":
        raise table.refuse(f"{row.cells[column]} cannot be", "It must be above zero.", row.line, column)
    return value
