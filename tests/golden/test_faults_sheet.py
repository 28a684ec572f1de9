"""The sheet of single faults and their JSON, by structure and text."""

from griddesign.judge.faults.sources import faults_of
from griddesign.judge.faults.symptoms import fitting
from griddesign.judge.faults.table import fault_table
from griddesign.judge.records import Result
from griddesign.papers.blocks import Cell, Heading, Table
from griddesign.papers.faults_json import faults_json, fits_json
from griddesign.papers.sheets.faults import TITLES, faults_sheet


def words(cell: object) -> str:
    return cell.text if isinstance(cell, Cell) else str(cell)


def test_every_kind_has_its_table_and_every_fault_its_number(demo: Result) -> None:
    sheet = faults_sheet(demo.faults)
    assert sheet is not None and demo.faults is not None
    assert (sheet.name, sheet.hand) == ("Single faults", "engineer")
    headings = [block.text for block in sheet.blocks if isinstance(block, Heading)]
    assert headings[: len(TITLES)] == list(TITLES.values())
    tables = [block for block in sheet.blocks if isinstance(block, Table)]
    numbers = [words(row[0]) for table in tables[: len(TITLES)] for row in table.rows]
    assert numbers == [str(number) for number in range(1, len(demo.faults.rows) + 1)]
    said = [words(row[-1]) for table in tables[: len(TITLES)] for row in table.rows]
    assert said == [row.driver for row in demo.faults.rows]


def test_peaks_and_ohms_stand_notch_by_notch(demo: Result) -> None:
    sheet = faults_sheet(demo.faults)
    assert sheet is not None and demo.faults is not None
    peaks, ohms = [block for block in sheet.blocks if isinstance(block, Table)][-2:]
    assert [column.title for column in peaks.columns] == ["Fault", *(notch.name for notch in demo.job.notches)]
    assert [words(cell) for cell in peaks.rows[0][1:]] == [f"{notch.peak_a:.0f}" for notch in demo.notches]
    assert [words(cell) for cell in ohms.rows[0][1:]] == [f"{notch.cold_ohm:.3f}" for notch in demo.notches]
    opened = next(row for row in ohms.rows if words(row[0]) == "1")
    assert words(opened[1]) == "open"


def test_of_a_grid_without_a_car_no_currents_are_printed(demo: Result) -> None:
    assert demo.faults is not None and demo.worked is not None
    from griddesign.judge.faults.records import Bank
    from griddesign.judge.faults.sources import plates_of

    assert demo.layout is not None and demo.worked.design is not None
    taps = tuple((tap.name, tap.after_plate) for tap in demo.worked.design.taps)
    names = tuple(section.name for section in demo.worked.design.sections)
    sheet = faults_sheet(fault_table(Bank(plates_of(demo.layout), taps, names), demo.job.notches, None))
    assert sheet is not None
    assert not any("Peak current" in block.text for block in sheet.blocks if isinstance(block, Heading))
    assert faults_sheet(None) is None


def test_the_json_holds_every_fault_and_nothing_infinite(demo: Result) -> None:
    table = faults_of(demo)
    assert table is not None
    rows = faults_json(table)
    assert [row["what"] for row in rows] == [row.what for row in table.rows]
    assert rows[0]["notches"][0] | {"felt": ""} == {
        "name": "1", "cold_ohm": None, "ohm_change": None, "peak_a": None, "effort_step_n": None, "felt": "",
        "motors_without_current": [],
    }  # fmt: skip
    assert all(row["times"] > 0.0 for row in rows)
    fits = fits_json(fitting(table, {"1": "dead"}))
    assert fits[0]["fit"] == max(row["fit"] for row in fits)
    assert faults_json(None) == []
