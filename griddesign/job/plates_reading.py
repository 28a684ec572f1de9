"""Reading the CSV of plates at hand: rows to plates, readings over one or several of them, faults with their lines."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import TypeVar

from griddesign.errors import Complaint, JobError, QuantityError
from griddesign.job.csv_table import CsvTable, Row, read_csv_table
from griddesign.job.plates_csv import (
    BROKEN,
    COLUMNS,
    CONDITIONS,
    METHODS,
    NEEDED,
    NO,
    NOT_OHMS,
    OPEN,
    YES,
    Condition,
    Method,
    OhmReading,
    PlateRow,
    PlatesCsv,
)
from griddesign.plate.measured import four_wire
from griddesign.units import read

MOST_ROWS = 2_000
MOST_COMPLAINTS = 20
TOO_MANY_OHMS = 2.0
"""No single plate of a starting grid has more (ours, no source): a bare number above it was meant in milliohms."""
T = TypeVar("T")
_JOINT = re.compile(r"(?:joint\s*)?([0-9]{1,4})(?:\s*\|\s*([0-9]{1,4}))?")
_APART = re.compile(r"\bapart\b", re.IGNORECASE)


def read_plates_at_hand(path: Path, tap_joints: Mapping[str, int]) -> PlatesCsv:
    """The plates and readings of a file. ``tap_joints``: joint of every tap that a reading may name.

    Raises JobError with every fault, its line and column, and what would do.
    """
    table = _table(path)
    ordered, faults = _plates(table), _Faults()
    taken, over = _temperatures(table), _Over(table, ordered, tap_joints)
    found = [faults.gather(partial(_reading, table, row, taken, over)) for row in table.rows]
    faults.stop()
    readings = tuple(reading for reading in found if reading is not None)
    if not readings:
        raise table.refuse("there is no reading in it", "Measure the plates, or several together from joint to joint.")
    return PlatesCsv(path, ordered, readings, tuple(_remarks(table, readings, taken)))


def read_places(path: Path) -> tuple[tuple[int, int], ...]:
    """Box and position of every plate of a file, in order. Raises JobError."""
    return tuple((plate.box, plate.position) for plate in _plates(_table(path)))


def _table(path: Path) -> CsvTable:
    table = read_csv_table(path, COLUMNS, most_rows=MOST_ROWS)
    table = replace(table, rows=tuple(row for row in table.rows if row.cells.get("item", "").lower() not in NOT_OHMS))
    _refuse_missing(table)
    return table


def _plates(table: CsvTable) -> tuple[PlateRow, ...]:
    """Every plate of the file in order from the dot end of the first box."""
    faults = _Faults()
    rows = [row for row in table.rows if not _is_span(row)]
    plates = [plate for row in rows if (plate := faults.gather(partial(_plate, table, row))) is not None]
    faults.stop()
    return tuple(_with_pairs(table, _in_order(table, plates)))


class _Faults:
    """Gathers complaints, so that one run tells them all."""

    def __init__(self) -> None:
        self._complaints: list[Complaint] = []

    def gather(self, build: Callable[[], T]) -> T | None:
        """What ``build`` makes; None where it refuses."""
        try:
            return build()
        except JobError as error:
            self._complaints.extend(error.complaints())
            return None

    def stop(self) -> None:
        """Raise what was gathered, if anything was."""
        more = len(self._complaints) - MOST_COMPLAINTS
        rest = [Complaint(f"and {more} faults more", "Mend these first.")] if more > 0 else []
        if self._complaints:
            raise JobError((*self._complaints[:MOST_COMPLAINTS], *rest))


def _refuse_missing(table: CsvTable) -> None:
    there = {column for row in table.rows for column in row.cells}
    ohms = "ohm" in there or {"ampere", "millivolt"} <= there
    lacking = [name for name in ("box", "position", "kind", "temperature") if name not in there]
    lacking += [] if ohms else ["ohm"]
    if lacking:
        words = f"column {' and '.join(lacking)} missing"
        raise table.refuse(words, NEEDED, table.header_line)
    if "ohm" in there and {"ampere", "millivolt"} & there:
        both = [row for row in table.rows if row.cells.get("ohm") and row.cells.get("millivolt")]
        if both:
            raise table.refuse("a row gives ohms and millivolts as well", "Keep one of the two.", both[0].line, "ohm")


def _is_span(row: Row) -> bool:
    return bool(row.cells.get("from") or row.cells.get("to"))


# --- plates ----------------------------------------------------------------------------------------------------------


def _plate(table: CsvTable, row: Row) -> PlateRow:
    condition, joined = _condition(table, row), row.cells.get("joined", "")
    broken = row.cells.get("broken at", "").lower()
    if broken not in BROKEN:
        raise table.refuse(
            f"{broken!r} is no place of a plate", "Write return bend, strip or eye.", row.line, "broken at"
        )
    return PlateRow(
        line=row.line,
        box=_number(table, row, "box"),
        position=_number(table, row, "position"),
        kind=_kind(table, row),
        condition=condition,
        joined=0 if _APART.sub("", joined).strip().lower() in NO else 1,
        apart=bool(_APART.search(joined)),
        broken_at=BROKEN[broken],
        carries_a=_above_zero(table, row, "carries"),
        remarks=row.cells.get("remarks", ""),
    )


def _number(table: CsvTable, row: Row, column: str) -> int:
    cell = row.cells.get(column, "")
    if not re.fullmatch(r"[1-9][0-9]{0,3}(?:\.0*)?", cell):
        found = f"{cell!r} is no count" if cell else "is empty"
        raise table.refuse(found, "Count from 1 at the dot end.", row.line, column)
    return int(float(cell))


def _kind(table: CsvTable, row: Row) -> str:
    kind = row.cells.get("kind", "")
    if not kind:
        raise table.refuse("is empty", "Plates alike get one name, for instance P.", row.line, "kind")
    return kind


def _condition(table: CsvTable, row: Row) -> Condition:
    """The worst of what the columns say; two that cannot both be are refused."""
    words = row.cells.get("condition", "").lower()
    if words not in CONDITIONS:
        known = ", ".join(sorted({*CONDITIONS} - {""}))
        raise table.refuse(f"{words!r} is not known here", f"Write one of: {known}.", row.line, "condition")
    found: set[Condition] = {CONDITIONS[words]} - {"sound"}
    if _flag(table, row, "not in circuit") or (row.cells.get("in circuit") and not _flag(table, row, "in circuit")):
        found.add("not in circuit")
    found |= {"cracked"} if _flag(table, row, "cracked") else set()
    found |= {"dead"} if _flag(table, row, "dead") or _is_open(row) else set()
    if {"dead", "cracked"} <= found:
        found.remove("cracked")
    if {"cracked", "not in circuit"} <= found:
        found.remove("cracked")
    return "sound" if not found else "not in circuit" if "not in circuit" in found else found.pop()


def _flag(table: CsvTable, row: Row, column: str) -> bool:
    words = row.cells.get(column, "").lower()
    if words not in YES | NO:
        raise table.refuse(f"{words!r} is neither yes nor no", "Write yes, or leave it empty.", row.line, column)
    return words in YES


def _is_open(row: Row) -> bool:
    return row.cells.get("ohm", "").lower().split(" ")[0] in OPEN


def _in_order(table: CsvTable, plates: Sequence[PlateRow]) -> tuple[PlateRow, ...]:
    """Plates by box and position; a place counted twice or left out is refused."""
    if not plates:
        raise table.refuse("there is no plate", "Write one row for each plate, then readings over several.")
    ordered = tuple(sorted(plates, key=lambda plate: (plate.box, plate.position)))
    for box, group in groupby(ordered, key=lambda plate: plate.box):
        for wanted, plate in enumerate(group, start=1):
            if plate.position < wanted:
                first = next(one for one in ordered if (one.box, one.position) == (box, plate.position))
                words = f"box {box}, position {plate.position} stands on line {first.line} too"
                raise table.refuse(
                    words, "Every plate has one row; a second reading goes from joint to joint.", plate.line
                )
            if plate.position > wanted:
                words = f"box {box} has no plate {wanted}, and one on position {plate.position}"
                raise table.refuse(words, "Give every plate in its box a row, measured or not.", plate.line)
    return ordered


def _with_pairs(table: CsvTable, plates: Sequence[PlateRow]) -> Iterator[PlateRow]:
    """Plates with the number of their pair: marks of one name next to each other, or plain marks two and two."""
    names = {row.line: _APART.sub("", row.cells.get("joined", "")).strip().lower() for row in table.rows}
    number, before, size = 0, None, 0
    for plate in plates:
        name = names[plate.line] if plate.joined else ""
        plain = name in YES and name != "1"
        same = before is not None and name and (plate.box, name) == before and not (plain and size >= 2)
        number, size = (number, size + 1) if same else (number + bool(name), 1)
        before = (plate.box, name) if name else None
        yield replace(plate, joined=number if name else 0)


# --- readings --------------------------------------------------------------------------------------------------------


class _Over:
    """Over which plates of the grid a row was read."""

    def __init__(self, table: CsvTable, plates: Sequence[PlateRow], tap_joints: Mapping[str, int]) -> None:
        self._table = table
        self._taps = tap_joints
        self._number = {plate.line: number for number, plate in enumerate(plates, start=1)}
        self._before = {plate.box: number - plate.position for number, plate in enumerate(plates, start=1)}
        self._in_box = {plate.box: plate.position for plate in plates}

    def __call__(self, row: Row) -> tuple[int, int]:
        """First and last plate of the whole grid."""
        if not _is_span(row):
            return self._number[row.line], self._number[row.line]
        if row.cells.get("position"):
            raise self._table.refuse(
                "gives a position and from and to",
                "A reading over several plates has no position.",
                row.line,
                "position",
            )
        first, last = sorted((self._joint(row, "from"), self._joint(row, "to")))
        if first == last:
            raise self._table.refuse("from and to are one joint", "Read over one plate at least.", row.line, "to")
        return first + 1, last

    def _joint(self, row: Row, column: str) -> int:
        cell = row.cells.get(column, "")
        if cell in self._taps:
            return self._taps[cell]
        box_words, _, rest = cell.partition(",") if "," in cell else ("", "", cell)
        found = _JOINT.fullmatch(rest.strip())
        if found is None or (found[2] and int(found[2]) != int(found[1]) + 1):
            known = f" Taps: {', '.join(self._taps)}." if self._taps else " The job names no [retap] taps."
            hint = f"Write the joint as 5, meaning after plate 5, or 5|6.{known}"
            raise self._table.refuse(f"{cell!r} is no joint and no tap" if cell else "is empty", hint, row.line, column)
        return self._in_grid(row, column, self._box(row, box_words), int(found[1]))

    def _box(self, row: Row, words: str) -> int:
        digits = re.sub(r"\D", "", words)
        if digits:
            return int(digits)
        if not row.cells.get("box") and len(self._in_box) == 1:
            return next(iter(self._in_box))
        return _number(self._table, row, "box")

    def _in_grid(self, row: Row, column: str, box: int, joint: int) -> int:
        if box not in self._in_box or joint > self._in_box[box]:
            plates = self._in_box.get(box)
            found = f"there is no box {box}" if plates is None else f"box {box} has {plates} plates, no joint {joint}"
            raise self._table.refuse(found, "Count from the dot end.", row.line, column)
        return self._before[box] + joint


def _temperatures(table: CsvTable) -> Mapping[int, tuple[float, bool]]:
    """Line -> the metal's temperature, degC, and whether it was left empty and taken from the line above."""
    found: dict[int, tuple[float, bool]] = {}
    last: float | None = None
    for row in table.rows:
        own = table.quantity(row, "temperature")
        last = last if own is None else own
        if last is not None:
            found[row.line] = last, own is None
    return found


def _reading(
    table: CsvTable, row: Row, temperatures: Mapping[int, tuple[float, bool]], over: _Over
) -> OhmReading | None:
    first, last = over(row)
    ohm = _ohm(table, row, last - first + 1)
    if ohm is None:
        if _is_span(row) and not row.cells.get("item"):  # a form names more readings than anybody need take
            raise table.refuse("from and to, and no reading", "Give the ohms read.", row.line, "ohm")
        return None
    if row.line not in temperatures:
        raise table.refuse("is empty", "Give the temperature of the metal when it was read.", row.line, "temperature")
    method, given = _method(table, row)
    share, accuracy_ohm = _accuracy(table, row)
    words = f"{row.cells['from']} to {row.cells['to']}" if _is_span(row) else ""
    return OhmReading(row.line, first, last, ohm, temperatures[row.line][0], method, given, share, accuracy_ohm, words)


def _ohm(table: CsvTable, row: Row, plates: int) -> float | None:
    """Ohms of the row as read; None where it gives none, or an open circuit."""
    cell = row.cells.get("ohm", "")
    if _is_open(row):
        if _is_span(row):
            raise table.refuse(
                f"{cell} from joint to joint", "Find the dead plate and mark its own row.", row.line, "ohm"
            )
        return None
    if cell:
        ohm = _above_zero(table, row, "ohm")
        assert ohm is not None
        _ask_for_milliohm(table, row, cell, ohm / plates)
        return ohm
    current, forward = (_above_zero(table, row, name) for name in ("ampere", "millivolt"))
    if current is None and forward is None:
        return None
    if current is None or forward is None:
        raise table.refuse("ampere or millivolt is empty", "Give both.", row.line)
    try:
        return four_wire(current, forward, table.quantity(row, "millivolt reversed"))[0]
    except QuantityError as error:
        raise table.refuse(error.message, error.hint, row.line, "millivolt") from error


def _ask_for_milliohm(table: CsvTable, row: Row, cell: str, plate_ohm: float) -> None:
    bare = re.fullmatch(r"[\d.eE+-]+", cell) is not None and table.units.get("ohm") in ("ohm", "ohms")
    if bare and plate_ohm > TOO_MANY_OHMS:
        raise table.refuse(
            f"{cell} ohm for {'one plate' if not _is_span(row) else 'these plates'}: milliohm?",
            f"Then head the column ohm (milliohm); if it is true, write {cell} ohm into the cell.",
            row.line,
            "ohm",
        )


def _above_zero(table: CsvTable, row: Row, column: str) -> float | None:
    value = table.quantity(row, column)
    if value is not None and not 0.0 < value < float("inf"):
        raise table.refuse(f"{row.cells[column]} cannot be", "It must be above zero.", row.line, column)
    return value


def _method(table: CsvTable, row: Row) -> tuple[Method, bool]:
    """The method, and whether the row says it. With amperes and millivolts it is a voltage drop; ohms without a
    word count as read with four wires, since two cannot tell a plate from its leads, and papers say it was assumed."""
    words = row.cells.get("method", "").lower()
    if words:
        if words not in METHODS:
            raise table.refuse(f"{words!r} is not known", "Write four-wire, volt-drop or two-wire.", row.line, "method")
        return METHODS[words], True
    return ("volt-drop" if row.cells.get("millivolt") else "four-wire"), False


def _accuracy(table: CsvTable, row: Row) -> tuple[float | None, float | None]:
    """The stated accuracy, as a share or as ohms; both None where the row states none."""
    cell = row.cells.get("accuracy", "").lstrip("±").strip().replace("+-", "")
    if not cell:
        return None, None
    text = f"{cell} {table.units.get('accuracy', '')}".strip() if re.fullmatch(r"[\d.,]+", cell) else cell
    text = text.replace(",", ".")
    try:
        share, ohm = (
            (read(text, "fraction").value, None) if text.endswith("%") else (None, read(text, "resistance").value)
        )
    except QuantityError as error:
        raise table.refuse(error.message, 'Write "1 %" or "0.5 mohm".', row.line, "accuracy") from error
    if not 0.0 < (share or ohm or 0.0) < float("inf"):
        raise table.refuse(f"{cell} cannot be", "It must be above zero.", row.line, "accuracy")
    return share, ohm


def _remarks(
    table: CsvTable, readings: Sequence[OhmReading], temperatures: Mapping[int, tuple[float, bool]]
) -> Iterator[str]:
    if table.not_read:
        yield f"Columns nobody asked for were not read: {', '.join(table.not_read)}."
    above = sum(temperatures[reading.line][1] for reading in readings)
    if above:
        yield f"{above} reading{'s' if above > 1 else ''} without a temperature took that of the line above."
