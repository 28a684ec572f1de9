"""The inspector's filled-in sheet as a CSV file: plates by box and position, boxes, sections, the insulation test.

It is the form that ``inspection_csv`` writes, filled in; a plainer table will do: a row with box and position is one
plate (or one named by its kind alone); with a box alone the whole box; with a section that section; with a test
voltage the insulation. Columns, units and spreadsheets as for plates at hand.
"""

import re
from dataclasses import dataclass
from pathlib import Path

from griddesign.errors import Complaint, GriddesignError, JobError
from griddesign.job.csv_table import Columns, CsvTable, Row, read_csv_table
from griddesign.job.plates_csv import COLUMNS as OF_PLATES
from griddesign.job.plates_csv import METHODS, NO, OPEN, YES, Method
from griddesign.plate.measured import four_wire

MOST_ROWS = 2_000
MOST_COMPLAINTS = 20
MANY_OHMS = 2.0
"""No single plate of a starting grid has more (ours, no source): above it milliohms were meant."""
_COUNT = re.compile(r"[0-9]{1,4}")
_SHARED = (
    "box", "position", "kind", "ohm", "ampere", "millivolt", "millivolt reversed", "method", "temperature", "remarks",
)  # fmt: skip
COLUMNS: Columns = {
    "item": ("", {"item": ""}),
    **{name: OF_PLATES[name] for name in _SHARED},
    **{name: OF_PLATES[name] for name in ("from", "to")},
    "section": ("", {"section": ""}),
    "test voltage": ("voltage", {"test voltage": "", "insulation test": "", "proof voltage": ""}),
    "insulation": (
        "resistance",
        {"insulation": "", "insulation resistance": "", "insulation (Mohm)": "megohm", "megohm": "megohm"},
    ),
    "stood": ("", {"stood": "", "stood it": "", "passed": ""}),
}
ITEMS = frozenset({"", "plate", "box", "section", "insulation"})
_FILLED = ("ohm", "millivolt", "test voltage", "insulation", "stood")
_NEEDED = (
    "Columns: box, position, kind, section; ohm (or ampere and millivolt); temperature; test voltage; stood; remarks."
)


@dataclass(frozen=True, slots=True)
class InspectedRow:
    """One filled-in row. ``ohm`` None: open; ``t_c`` the metal's temperature. ``stood`` None: not said."""

    line: int
    box: int | None
    position: int | None
    kind: str
    section: str
    name: str
    ohm: float | None
    t_c: float
    method: Method | None
    test_voltage_v: float | None = None
    insulation_ohm: float | None = None
    stood: bool | None = None
    remarks: str = ""


@dataclass(frozen=True, slots=True)
class Inspection:
    """What the sheet holds. ``empty``: rows nobody filled in; ``not_read``: headers of columns nobody asked for."""

    path: Path
    rows: tuple[InspectedRow, ...]
    empty: int
    not_read: tuple[str, ...]


def read_inspection(path: Path) -> Inspection:
    """The filled-in sheet. Raises JobError with every fault, its line and column, and what would do."""
    table = read_csv_table(path, COLUMNS, most_rows=MOST_ROWS)
    there = {name for row in table.rows for name in row.cells}
    if not there & {"ohm", "millivolt", "test voltage"} or not there & {"box", "kind", "section"}:
        raise table.refuse("neither plates, boxes nor sections with their ohms stand here", _NEEDED, table.header_line)
    filled = [row for row in table.rows if any(row.cells.get(name) for name in _FILLED)]
    if not filled:
        raise table.refuse("no row is filled in", "Fill in ohms and the metal's temperature.", table.header_line)
    rows, complaints = _rows(table, filled)
    if complaints:
        raise JobError(tuple(complaints[:MOST_COMPLAINTS]))
    return Inspection(path, tuple(rows), len(table.rows) - len(filled), table.not_read)


def _rows(table: CsvTable, filled: list[Row]) -> tuple[list[InspectedRow], list[Complaint]]:
    rows: list[InspectedRow] = []
    complaints: list[Complaint] = []
    seen: dict[tuple[object, ...], int] = {}
    t_c: float | None = None
    for row in filled:
        try:
            t_c = _temperature(table, row, t_c)
            found = _row(table, row, t_c)
            _refuse_twin(table, found, seen)
            rows.append(found)
        except JobError as error:
            complaints.extend(error.complaints())
    return rows, complaints


def _temperature(table: CsvTable, row: Row, above_c: float | None) -> float | None:
    """The metal's temperature; an empty cell is the one above it."""
    found = table.quantity(row, "temperature")
    return above_c if found is None else found


def _row(table: CsvTable, row: Row, t_c: float | None) -> InspectedRow:
    volts = _test_voltage(table, row)
    if volts is None and t_c is None:
        raise table.refuse("the metal's temperature is missing", "Measure it at the metal.", row.line, "temperature")
    words = row.cells.get("position", "")
    position = _count(table, row, "position") if _COUNT.fullmatch(words) or row.cells.get("box") else None
    found = InspectedRow(
        line=row.line,
        box=_count(table, row, "box"),
        position=position,
        kind=row.cells.get("kind", ""),
        section=row.cells.get("section", ""),
        name=words if position is None else "",
        ohm=None if volts is not None else _ohms(table, row),
        t_c=20.0 if t_c is None else t_c,
        method=_method(table, row),
        test_voltage_v=volts,
        insulation_ohm=table.quantity(row, "insulation"),
        stood=_stood(table, row),
        remarks=row.cells.get("remarks", ""),
    )
    if volts is None and not (found.box or found.section or found.kind):
        raise table.refuse("says of nothing what it is", "Give box and position, a box, or a section.", row.line)
    single = found.position is not None or not (found.box or found.section)
    if single and found.ohm is not None and found.ohm > MANY_OHMS:
        raise table.refuse(f"{found.ohm:g} ohm for one plate: milliohm?", "Write the unit.", row.line, "ohm")
    return found


def _test_voltage(table: CsvTable, row: Row) -> float | None:
    """The voltage of a row that tells of the insulation; None of any other."""
    item, volts = row.cells.get("item", "").lower(), table.quantity(row, "test voltage")
    if item not in ITEMS:
        raise table.refuse(f"{item!r} is no item", "plate, box, section or insulation.", row.line, "item")
    told = item == "insulation" or row.cells.get("insulation") or row.cells.get("stood")
    if told and volts is None:
        raise table.refuse("the test voltage is missing", "Write the voltage applied.", row.line, "test voltage")
    return volts


def _refuse_twin(table: CsvTable, found: InspectedRow, seen: dict[tuple[object, ...], int]) -> None:
    what = (found.box, found.position, found.section, found.name if found.box is None else "", found.test_voltage_v)
    nameless = found.box is None and not found.section and not found.name and found.test_voltage_v is None
    if what in seen and not nameless:
        raise table.refuse(f"stands in line {seen[what]} too", "Keep the one that holds.", found.line)
    seen[what] = found.line


def _count(table: CsvTable, row: Row, column: str) -> int | None:
    cell = row.cells.get(column, "")
    if not cell:
        return None
    if not _COUNT.fullmatch(cell) or not 1 <= int(cell) <= MOST_ROWS:
        raise table.refuse(f"{cell!r} is no number of a {column}", "Count from 1.", row.line, column)
    return int(cell)


def _ohms(table: CsvTable, row: Row) -> float | None:
    """Ohms, read or from current and voltage; None for an open circuit."""
    if row.cells.get("ohm", "").strip().lower() in OPEN:
        return None
    ohm, current, forward = (table.quantity(row, name) for name in ("ohm", "ampere", "millivolt"))
    if ohm is None and current is not None and forward is not None:
        ohm = _four_wire(table, row, current, forward)
    if ohm is None:
        raise table.refuse("has no ohms", "Give ohms, or ampere and millivolt.", row.line, "ohm")
    if not ohm > 0.0:
        raise table.refuse(f"{row.cells.get('ohm') or ohm} cannot be", "It must be above zero.", row.line, "ohm")
    return ohm


def _four_wire(table: CsvTable, row: Row, current_a: float, forward_v: float) -> float:
    reversed_words = row.cells.get("millivolt reversed", "").lstrip("-−")
    back = table.quantity(Row(row.line, {"millivolt reversed": reversed_words}), "millivolt reversed")
    try:
        return four_wire(current_a, forward_v, back)[0]
    except GriddesignError as error:
        raise table.refuse(error.message, error.hint, row.line, "millivolt") from error


def _method(table: CsvTable, row: Row) -> Method | None:
    cell = row.cells.get("method", "").lower()
    if cell and cell not in METHODS:
        raise table.refuse(f"{cell!r} is no method", "four-wire, volt-drop or two-wire.", row.line, "method")
    return METHODS[cell] if cell else None


def _stood(table: CsvTable, row: Row) -> bool | None:
    cell = row.cells.get("stood", "").strip().lower()
    if not cell:
        return None
    if cell in YES or cell in NO:
        return cell in YES
    raise table.refuse(f"{cell!r} is neither yes nor no", "Write yes or no.", row.line, "stood")
