"""What `design` prints of the heat comes from the start as run, the same as `start` says; holds and the crew's."""

import json
from dataclasses import replace

import pytest

from griddesign.cli.heat_lines import heat_lines
from griddesign.errors import CurveError, NoStartError
from griddesign.heat.holds import FROM_AMBIENT, FROM_SETTLED, HELD_RUNNING, STALLED, hold_rows
from griddesign.heat.records import HeatRow
from griddesign.job.reading import read_job
from griddesign.judge.design_run import as_run
from griddesign.judge.heat_cases import MOTORS_COLD, deciding, holds, notch_circuits
from griddesign.judge.records import Result, Verdict
from griddesign.judge.runup import Starter
from griddesign.judge.start_result import StartResult, start_of
from griddesign.papers.start_json import start_json
from griddesign.shipped import examples_folder


@pytest.fixture(scope="module")
def told() -> StartResult:
    return start_of(read_job(examples_folder() / "demo.toml"))


def settled(rows: tuple[HeatRow, ...]) -> dict[tuple[str, float, float], HeatRow]:
    return {(row.section, row.line_v, row.ambient_c): row for row in deciding(rows)}


def test_design_and_start_say_the_same_heat(demo: Result, told: StartResult) -> None:
    """One grid, one duty, one figure: every row of the two commands is the same."""
    assert demo.heat == told.heat
    worst = max(settled(demo.heat).values(), key=lambda row: row.hot_c)
    assert (worst.section, worst.line_v, worst.ambient_c) == ("D", 660.0, 40.0)
    found = next(one for one in demo.findings if one.item.startswith("section D"))
    assert f"{worst.hot_c:.0f} °C" in found.why and found.verdict is Verdict.HOLDS


def test_the_mean_start_of_the_choice_is_the_safe_side(demo: Result) -> None:
    """What the choice went by is never cooler than the start as run, section by section without neighbours."""
    from griddesign.choose.from_job import heated_sections
    from griddesign.choose.kinds import Kind
    from griddesign.judge.heat_cases import duty_rows

    assert demo.worked and demo.worked.design and demo.start and demo.start_highest
    kinds = {plate.name: Kind(plate) for plate in demo.job.plates}
    heated = heated_sections(demo.job, demo.worked.design, kinds)
    mean = settled(duty_rows(demo.job, heated, (demo.start, demo.start_highest))[0])
    for key, row in settled(demo.heat).items():
        assert row.hot_c - row.neighbour_k <= mean[key].hot_c + 1.0


@pytest.mark.parametrize(
    ("error", "verdict"),
    [
        (NoStartError("no way", hint="less hill"), Verdict.FAILS),
        (CurveError("too far", hint="measure"), Verdict.NOT_SHOWN),
    ],
)
def test_a_start_that_cannot_be_run_is_said_and_the_mean_stands_in(
    demo: Result, monkeypatch: pytest.MonkeyPatch, error: Exception, verdict: Verdict
) -> None:
    def refuse(ready: Starter) -> None:
        raise error

    monkeypatch.setattr("griddesign.judge.design_run.run_heat", refuse)
    assert demo.start and demo.start_highest
    found = as_run(demo.job, demo.worked, (demo.start, demo.start_highest))
    assert found.ran is None and found.rows and found.given
    assert [one.verdict for one in found.findings] == [verdict]
    assert "mean currents" in found.findings[0].why and found.findings[0].measure_next


def test_a_job_without_a_car_has_no_run(demo: Result) -> None:
    assert as_run(demo.job, None, ()).rows == ()
    assert demo.worked is not None
    assert as_run(demo.job, demo.worked, ()).ran is None


# Holds.


def test_cold_motors_shorten_a_stall(demo: Result, told: StartResult) -> None:
    """Of a stall with motors as stated and as cold as the coldest air the shorter is taken; running does not care."""
    ran = told.ran
    assert ran is not None
    warm = hold_rows(
        ran.ready.heated,
        [one for notch in demo.job.notches for one in notch_circuits(demo.job, notch)],
        [660.0],
        [40.0],
    )
    taken = {
        (row.notch, row.section, row.case): row for row in ran.held if (row.line_v, row.ambient_c) == (660.0, 40.0)
    }
    for row in warm:
        mine = taken[row.notch, row.section, row.case]
        if row.case.startswith(STALLED):
            assert row.hold_s is not None and mine.hold_s is not None
            assert 0.6 * row.hold_s < mine.hold_s < row.hold_s
            assert mine.worst_end.endswith(MOTORS_COLD)
        else:
            assert mine.hold_s == row.hold_s


def test_all_four_holds_of_every_notch_with_a_grid(told: StartResult) -> None:
    cases = {(row.notch, row.case) for row in told.heat if row.notch}
    ways = {f"{way}, {start}" for way in (STALLED, HELD_RUNNING) for start in (FROM_AMBIENT, FROM_SETTLED)}
    assert cases == {(notch, way) for notch in "123567" for way in ways}


def test_a_plate_beside_a_hotter_section_shortens_the_hold_but_not_the_current(told: StartResult) -> None:
    """The neighbours' heat counts towards the limit only: ohms that rose with it would make the hold longer."""
    ran = told.ran
    assert ran is not None
    job, heated = ran.job, ran.ready.heated
    without = [replace(row, hot_c=row.hot_c - row.neighbour_k, neighbour_k=0.0) for row in ran.duty_rows]
    shorter, longer = ran.held, holds(job, heated, tuple(without))
    gained = 0
    for row, other in zip(shorter, longer, strict=True):
        if row.hold_s is not None:
            assert other.hold_s is not None and row.hold_s <= other.hold_s + 1e-6
            gained += row.hold_s < other.hold_s - 0.05
    assert gained


def test_the_holds_stand_in_the_json_and_on_the_screen(told: StartResult) -> None:
    data = json.loads(json.dumps(start_json(told), allow_nan=False))
    assert {one["notch"] for one in data["hold_times"]} == set("123567")
    assert len(data["hold_times"]) == 6 * 4 * 4
    crew = {one["notch"]: one for one in data["crew"]["notches"]}
    assert data["crew"]["refused"] == [] and set(crew) == set("123567")
    for notch, one in crew.items():
        worst = min(
            held["hold_s"]
            for held in data["hold_times"]
            if held["notch"] == notch
            and held["hold_s"] is not None
            and (held["line_v"], held["ambient_c"]) == (660.0, 40.0)
        )
        assert one["hold_s"] == 5.0 * (worst // 5.0)
        assert one["words"] == ("pass through" if worst < 5.0 else one["words"])
    assert crew["7"]["breaker_opens"]
    lines = "\n".join(heat_lines(told))
    assert (
        "pass through" in lines and "breaker opens first" in lines and crew["1"]["words"].replace(" ", "\xa0") in lines
    )
    assert "as given (band of loss)" in lines and "by hand" in lines


def test_the_crew_is_refused_on_figures_that_are_not_sure(told: StartResult) -> None:
    unsure = replace(told, job=replace(told.job, duty=replace(told.job.duty, start_every_s=None)))
    data = start_json(unsure)
    assert data["crew"]["notches"] == [] and "duty" in data["crew"]["refused"][0]
    assert any("No hold for the crew" in line for line in heat_lines(unsure))
