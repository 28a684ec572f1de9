"""A user's own heat run, from which the loss of the plates is fitted: the ``[calibration]`` table and its CSV file.

[calibration]
heat_run = "run.csv"               # beside the job file: time, temperature or ohms, current, ambient
section = "A"                      # where it was taken
plate = "P"                        # its kind of plate; may be left out where there is one
in_parallel = 1                    # plates side by side that shared the current
ambient = "21 degC"                # where the file has no such column

In the file, a current left out is none: the bank cools. Ohms may stand for temperatures, if one line gives both.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from griddesign.errors import JobError
from griddesign.given_file import beside
from griddesign.grid.records import BoxPlan
from griddesign.heat.records import Stack
from griddesign.job.csv_table import Columns, CsvTable, Row, read_csv_table
from griddesign.job.heat_run import HeatReading, HeatRunGiven
from griddesign.job.part import Part
from griddesign.job.records import PlateWish, SectionGiven

T = TypeVar("T")

MOST_ROWS = 500
STEADIEST_K = 15.0
"""The air may wander this much during a run; the fit takes its mean (our rule, no source)."""
COLUMNS: Columns = {
    "time": ("time", {"time": "", "t": "", "seconds": "s", "minutes": "min"}),
    "temperature": ("temperature", {"temperature": "", "temp": "", "metal temperature": "", "plate": ""}),
    "ohm": ("resistance", {"ohm": "ohm", "ohms": "ohm", "resistance": "", "milliohm": "mohm"}),
    "current": ("current", {"current": "", "ampere": "A", "amperes": "A", "amps": "A"}),
    "ambient": ("temperature", {"ambient": "", "air": "", "air temperature": ""}),
}


def with_heat_run(
    whole: Part,
    plates: tuple[PlateWish, ...],
    boxes: BoxPlan | None,
    sections: Sequence[SectionGiven],
    order: Sequence[str],
) -> tuple[tuple[PlateWish, ...], HeatRunGiven | None]:
    """The plates with the heat run that tells their loss, and the run; without ``[calibration]`` as they are."""
    part = whole.table("calibration")
    if part is None:
        return plates, None
    run = _read(part, plates, boxes, sections)
    if run is not None and order and run.section not in order:
        part.complain("section", f"{run.section!r} is no section of the job", f"Its sections: {', '.join(order)}.")
    return (plates, None) if run is None else (tuple(replace(plate, heat_run=run) for plate in plates), run)


def _read(
    part: Part, plates: tuple[PlateWish, ...], boxes: BoxPlan | None, sections: Sequence[SectionGiven]
) -> HeatRunGiven | None:
    section = part.text("section", required=True, example="A")
    built = next((one for one in sections if one.name == section), None)
    names = [plate.name for plate in plates]
    known = built.kind if built is not None else names[0] if len(names) == 1 else None
    kind = part.choice("plate", names, known) if names else None
    side_by_side = part.whole_number("in_parallel", built.in_parallel if built is not None else 1)
    air = part.quantity("ambient", "temperature", required=False, above=None, least=-60.0, most=90.0)
    path = _path(part)
    part.mark("plate")
    part.close()
    if not names or boxes is None:
        part.complain("", "needs a [[plate]] and [boxes]", "They say what was heated, and how it stood.")
        return None
    table = None if path is None else _attempt(part, lambda: _table(path))
    if table is None or kind is None or side_by_side is None:
        return None
    found = _attempt(part, lambda: _readings(table, air))
    plate = next(plate for plate in plates if plate.name == kind)
    stack = Stack(boxes.plates_per_box, boxes.plate_gap_m)
    if found is None:
        return None
    bank = (plate.shape, plate.metal, plate.measured_ohm, side_by_side, stack)
    return HeatRunGiven(table.path, section, kind, *bank, *found)


def _attempt(part: Part, build: Callable[[], T]) -> T | None:
    """As the part does it, but a fault of the CSV file keeps that file's name and line."""
    try:
        return build()
    except JobError as error:
        part.notebook.complaints.extend(error.complaints())
        return None


def _path(part: Part) -> Path | None:
    """The file beside the job file, or below it; nothing else is opened."""
    name = part.text("heat_run", required=True, example="run.csv")
    if not name:
        return None
    path = beside(part.notebook.document.path, name)
    if path is None:
        part.complain("heat_run", f"{name[:60]!r} leads out of the job's folder", "Put the file beside the job file.")
        return None
    return path


def _table(path: Path) -> CsvTable:
    """The file's table, its columns being enough. Raises JobError."""
    table = read_csv_table(path, COLUMNS, most_rows=MOST_ROWS)
    there = {column for row in table.rows for column in row.cells}
    if "time" not in there or not there & {"temperature", "ohm"}:
        raise table.refuse(
            f"time, or temperature and ohms, are missing among its columns: {', '.join(sorted(there)) or 'none known'}",
            "Columns: time; temperature or ohm; current; ambient.",
            table.header_line,
        )
    return table


def _readings(table: CsvTable, air_c: float | None) -> tuple[float, tuple[HeatReading, ...]]:
    """Mean of the air, degC, and every reading in order of time. Raises JobError with the line."""
    readings = tuple(_in_order(table))
    return _ambient(table, air_c), readings


def _in_order(table: CsvTable) -> Iterator[HeatReading]:
    before_s = -float("inf")
    for row in table.rows:
        reading = _reading(table, row)
        if reading.time_s <= before_s:
            raise table.refuse(
                f"{row.cells['time']} does not come after the line before", "Put the readings in order.", row.line
            )
        before_s = reading.time_s
        yield reading


def _reading(table: CsvTable, row: Row) -> HeatReading:
    time_s, t_c, ohm, current_a = (table.quantity(row, name) for name in ("time", "temperature", "ohm", "current"))
    if time_s is None:
        raise table.refuse("there is no time", "Give the time of the reading.", row.line, "time")
    if t_c is None and ohm is None:
        raise table.refuse("there is neither temperature nor ohms", "Leave the line out.", row.line, "temperature")
    if ohm is not None and ohm <= 0.0:
        raise table.refuse(f"{row.cells['ohm']} cannot be", "It must be above zero.", row.line, "ohm")
    return HeatReading(time_s, t_c, ohm, current_a or 0.0)


def _ambient(table: CsvTable, air_c: float | None) -> float:
    """Mean of the column, else the key. Raises JobError where neither or both are there, or the air wandered."""
    column = [t_c for row in table.rows if (t_c := table.quantity(row, "ambient")) is not None]
    if (air_c is None) == (not column):
        found = "both the key ambient and a column give" if column else "neither key nor column gives"
        raise table.refuse(f"{found} the temperature of the air", 'Give one: ambient = "21 degC", or a column.')
    if column and max(column) - min(column) > STEADIEST_K:
        raise table.refuse(
            f"the air wandered from {min(column):.3g} to {max(column):.3g} degC",
            f"Within {STEADIEST_K:.0f} K its mean is taken; leave out the rest of the run.",
        )
    return sum(column) / len(column) if column else air_c or 0.0
