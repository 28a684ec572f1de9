"""An old controller on measured plates: what it does now, and which single fault its driver describes."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from griddesign.cli import root
from griddesign.errors import GriddesignError
from griddesign.job.reading import read_job
from griddesign.judge.chart_now import chart_on_plates
from griddesign.judge.faults.found import faults_on_plates
from griddesign.shipped import examples_folder

JOB, PLATES = examples_folder() / "old-controller.toml", examples_folder() / "retap-plates.csv"


def call(*words: str) -> Result:
    return CliRunner().invoke(root, ["retap", str(JOB), str(PLATES), *words], standalone_mode=False)


def test_the_example_charts_the_circuits_of_its_neighbour() -> None:
    assert read_job(JOB).notches == read_job(examples_folder() / "retap.toml").notches


def test_what_it_does_now_with_a_dead_plate_in_section_a() -> None:
    found = chart_on_plates(read_job(JOB), PLATES)
    assert found.opened == ("A",)
    assert [row.why != "" for row in found.rows] == [True] + [False] * 7
    assert found.rows[1].circuit == "B + C + D + E"
    grid = [row.grid_ohm for row in found.rows]
    assert grid[2] == pytest.approx(grid[4])
    terminal = [row.terminal_ohm or 0.0 for row in found.rows]
    assert terminal[2] == pytest.approx((grid[2] or 0.0) + 2 * 0.42)  # two motors in series
    assert terminal[4] == pytest.approx((grid[4] or 0.0) + 0.21)  # two side by side


def test_the_command_says_so_and_ends_with_one() -> None:
    shown = call("--chart")
    assert shown.return_value == 1
    assert "Section A is open: a dead plate." in shown.output
    data = json.loads(call("--chart", "--json").output)
    assert data["open"] == ["A"]
    assert data["notches"][0]["open"]
    assert data["notches"][1]["current_share"] == pytest.approx({"B": 1.0, "C": 1.0, "D": 1.0, "E": 1.0})


def test_a_symptom_is_looked_up_with_the_dead_plate_taken_as_sound() -> None:
    shown = call("--symptom", "dead 1")
    assert shown.return_value == 0
    assert "Taken as sound here: box 1, plate 9, found dead." in shown.output
    assert "a plate of A open" in shown.output.splitlines()[2]
    data = json.loads(call("--symptom", "dead 1, jerk 2", "--json").output)
    assert data["faults"][0]["what"] == "a plate of A open"
    assert data["faults"][0]["fit"] == 1.0


def test_a_symptom_of_nothing_single_ends_with_one() -> None:
    shown = call("--symptom", "weak 1, dead 8")
    assert shown.return_value == 1
    assert "No single fault" in shown.output


def test_without_taps_or_chart_it_is_refused(tmp_path: Path) -> None:
    text = JOB.read_text(encoding="utf-8")
    bare = text[: text.index("[retap]")] + text[text.index("[duty]") :]
    path = tmp_path / "bare.toml"
    path.write_text(bare, encoding="utf-8")
    job = read_job(path)
    for ask in (chart_on_plates, faults_on_plates):
        with pytest.raises(GriddesignError, match="nothing says where the taps are"):
            ask(job, PLATES)
    with pytest.raises(GriddesignError, match=r"no \[controller\]"):
        chart_on_plates(read_job(examples_folder() / "retap.toml"), PLATES)


def test_the_table_is_that_of_the_plates_as_measured() -> None:
    table = faults_on_plates(read_job(JOB), PLATES)
    assert table.driven
    assert {row.kind for row in table.rows} >= {"plate open", "neighbours touching", "lead one joint off"}
    assert all(len(row.notches) == 8 for row in table.rows)
