"""``griddesign start``: the demo's run, its service day, the command and the keys of the driver in a job file."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from griddesign.cli.start import command
from griddesign.errors import Complaint, CurveError, InputError, JobError, NoStartError
from griddesign.heat.lumps import AS_GIVEN, LumpShelf
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.records import Result
from griddesign.judge.runup import StartCase, Starter, closed_run, dwell_s
from griddesign.judge.service_day import service_day_rows, settled_begin_c, start_rows
from griddesign.judge.start_result import StartResult, start_of
from griddesign.papers.start_json import start_json
from griddesign.shipped import examples_folder
from griddesign.traction.records import Transition

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def ready(demo: Result) -> Starter:
    assert demo.worked is not None
    return Starter(demo.job, demo.worked)


@pytest.fixture
def job(tmp_path: Path) -> Callable[..., Job]:
    """The demo's job file with some texts replaced."""

    def read(*changes: tuple[str, str]) -> Job:
        text = DEMO
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)

    return read


def complaints(call: Callable[[], object]) -> tuple[Complaint, ...]:
    with pytest.raises(JobError) as caught:
        call()
    return caught.value.complaints()


BY_TIME = 'notch_up = "by time"\nseconds_per_notch = "1.4 s"'
VALLEY = 'notch_up = "at valley current"'


def test_the_demo_run_closes_and_its_peaks_are_those_of_the_grid_as_chosen(demo: Result, ready: Starter) -> None:
    """From a cold grid and warm motors: below the worst corner the chooser holds, and close to it."""
    run = closed_run(ready)
    assert abs(float(run.energy.balance_error[0])) <= 1e-6
    for log, done in zip(run.notches, demo.notches, strict=True):
        assert done.peak_a is not None
        assert log.peak_a[0] <= done.peak_a + 0.5
        assert log.peak_a[0] > done.peak_a - 16.0


def test_the_plate_tables_are_the_heat_room_s(ready: Starter) -> None:
    tables = PlateTables.of(ready.heated, [(AS_GIVEN, 20.0), (AS_GIVEN, 40.0)])
    t_c = np.array([[57.3, 123.4]] * len(ready.heated))
    shelf = LumpShelf()
    numbers = np.array([[shelf.number(section, AS_GIVEN, c) for c in (20.0, 40.0)] for section in ready.heated])
    ratio, heat, loss = shelf.tables().read(numbers, t_c)
    count = np.array([[section.series * section.in_parallel] for section in ready.heated])
    mine = tables(t_c)
    assert mine[0] == pytest.approx(ratio, rel=1e-13)
    assert mine[2] == pytest.approx(heat * count, rel=1e-13)
    assert mine[3] == pytest.approx(loss * count, rel=1e-13)
    assert mine[1] == pytest.approx(tables(t_c + 0.1)[0] / 0.1 - ratio / 0.1, rel=1e-9)


def test_the_settled_day_is_where_plain_repeating_ends(ready: Starter) -> None:
    """The secant's answer against starts simply run one after another for a long day."""
    cases = (StartCase(660.0, 40.0), StartCase(550.0, 20.0))
    quick = settled_begin_c(ready, cases, 150.0)
    tables, t_c = PlateTables.of(ready.heated, [(AS_GIVEN, 40.0), (AS_GIVEN, 20.0)]), None
    for _ in range(60):
        run = ready.run(cases, t_c, plates=tables)
        t_c = tables.cooled_c(run.end_c, 150.0 - run.seconds)
    assert quick == pytest.approx(t_c, abs=0.05)


def test_heat_rows_are_monotonic(ready: Starter) -> None:
    """Hotter ambient is never cooler; the bound without loss is never below; a day is never cooler than one start."""
    one, day = start_rows(ready), service_day_rows(ready)
    by_key = {(row.section, row.line_v, row.ambient_c): row for row in day}
    for row in one:
        settled = by_key[row.section, row.line_v, row.ambient_c]
        assert settled.hot_c > row.hot_c
        assert settled.bound_c >= settled.hot_c
        if row.ambient_c == 40.0:
            assert row.hot_c > next(r.hot_c for r in one if (r.section, r.line_v) == (row.section, row.line_v)) - 1e-9
    shorter = replace(ready, job=replace(ready.job, duty=replace(ready.job.duty, start_every_s=100.0)))
    for row, before in zip(service_day_rows(shorter, (AS_GIVEN,)), service_day_rows(ready, (AS_GIVEN,)), strict=True):
        assert row.hot_c > before.hot_c


def test_a_start_longer_than_its_cycle_is_refused(ready: Starter) -> None:
    hurried = replace(ready, job=replace(ready.job, duty=replace(ready.job.duty, start_every_s=5.0)))
    with pytest.raises(InputError, match="one every 5 s"):
        service_day_rows(hurried)


@pytest.fixture(scope="module")
def told() -> StartResult:
    return start_of(read_job(examples_folder() / "demo.toml"))


def test_the_demo_holds_and_its_json_has_the_keys_others_rely_on(told: StartResult) -> None:
    data = json.loads(json.dumps(start_json(told), allow_nan=False))
    assert told.holds and data["holds"]
    assert {"notch", "current_a"} <= set(data["peaks"][0])
    keys = {"line_j", "feeder_j", "grid_j", "motors_j", "core_j", "drive_j", "wheel_j", "balance_error"}
    assert keys <= set(data["energy"])
    spent = sum(data["energy"][key] for key in keys - {"line_j", "balance_error"})
    assert spent == pytest.approx(data["energy"]["line_j"], rel=1e-6)
    assert all(set(row) >= {"name", "peak_c", "margin_k", "hold_s"} for row in data["sections"])
    assert data["sections"][0]["margin_k"] == pytest.approx(400.0 - data["sections"][0]["peak_c"])
    assert {"end_speed_kmh", "time_s", "distance_m"} <= set(data)
    assert 0.6 < data["efficiency_shaft"] < data["efficiency_shaft_and_copper"] < 1.0
    assert len(data["cases"]) == 4


def test_the_command_tells_and_ends_with_the_verdict(told: StartResult, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("griddesign.cli.start.start_of", lambda job: told)
    runner = CliRunner()
    result = runner.invoke(command, [str(examples_folder() / "demo.toml")], standalone_mode=False)
    assert result.return_value == 0
    assert "peak per motor" in result.output and "findings hold" in result.output
    failing = replace(told, findings=(replace(told.findings[0], verdict="fails"),))  # type: ignore[arg-type]
    monkeypatch.setattr("griddesign.cli.start.start_of", lambda job: failing)
    result = runner.invoke(command, [str(examples_folder() / "demo.toml"), "--json"], standalone_mode=False)
    assert result.return_value == 1
    assert json.loads(result.output)["holds"] is False


def test_by_time_and_with_the_power_off(ready: Starter, job: Callable[..., Job]) -> None:
    given = job((VALLEY, BY_TIME + '\ntransition = { kind = "power off", seconds = "0.6 s" }'))
    assert given.start is not None
    assert given.start.transition == Transition("power off", 0.6)
    assert dwell_s(given) == (1.4,) * 8
    run = closed_run(replace(ready, job=given))
    assert run.seconds[0] == pytest.approx(8 * 1.4 + 0.6, rel=1e-9)
    assert abs(float(run.energy.balance_error[0])) <= 1e-6


def test_at_given_times(job: Callable[..., Job]) -> None:
    times = [1.4, 3.0, 4.3, 5.4, 7.9, 9.7, 11.0, 12.6]
    listed = f"times = {json.dumps([f'{time} s' for time in times])}"
    off = '\ntransition = { kind = "power off", seconds = "0.5 s" }'
    given = job((VALLEY, f'notch_up = "by time"\n{listed}{off}'))
    dwell = dwell_s(given)
    assert dwell == pytest.approx((1.4, 1.6, 1.3, 1.1, 2.0, 1.8, 1.3, 1.6))
    with pytest.raises(InputError, match="2 moments, the job has 8 notches"):
        dwell_s(job((VALLEY, 'notch_up = "by time"\ntimes = ["1 s", "2 s"]')))
    assert given.start is not None
    long_off = replace(given, start=replace(given.start, transition=Transition("power off", 3.0)))
    with pytest.raises(InputError, match="no time for notch 5"):
        dwell_s(long_off)


@pytest.mark.parametrize(
    ("line", "key", "message"),
    [
        ('notch_up = "by time"', "start.notch_up", "with no times"),
        (BY_TIME + '\ntimes = ["1 s"]', "start.notch_up", "seconds_per_notch and times"),
        (VALLEY + '\nseconds_per_notch = "1 s"', "start.seconds_per_notch", "notches up at valley current"),
        ('notch_up = "by time"\ntimes = ["2 s", "1 s"]', "start.times", "do not rise"),
        ('transition = { kind = "bridged", seconds = "1 s" }', "start.transition.kind", "not known here"),
        ('transition = { kind = "bridge", seconds = "1 s" }', "start.transition.strings", "is missing"),
        ('transition = { kind = "one motor shorted", seconds = "1 s" }', "start.transition.circuit", "is missing"),
        ('transition = { kind = "power off" }', "start.transition.seconds", "is missing"),
    ],
)
def test_a_driver_that_cannot_be_is_refused(job: Callable[..., Job], line: str, key: str, message: str) -> None:
    found = complaints(lambda: job((VALLEY, line)))
    assert any(one.key == key and message in one.message and one.hint for one in found)


def test_a_car_that_cannot_start_says_which_number_decides(ready: Starter) -> None:
    assert ready.job.car is not None
    steep = replace(ready, job=replace(ready.job, car=replace(ready.job.car, gradient=0.15)))
    with pytest.raises(NoStartError, match=r"on notch 1 at 550 V the car does not start: 111\..* A pulls .* N"):
        closed_run(steep)
    slow = replace(ready, job=replace(ready.job, car=replace(ready.job.car, gradient=0.07)))
    with pytest.raises(NoStartError, match=r"never falls to the 86\.78 A"):
        closed_run(slow)


def test_a_current_beyond_the_curve_is_refused(ready: Starter) -> None:
    with pytest.raises(CurveError, match=r"on notch 1 at 800 V the current reaches 161\.9 A"):
        ready.run((StartCase(800.0, 20.0),))


def test_a_job_without_a_car_is_refused(demo: Result) -> None:
    from griddesign.judge.runup import starter

    with pytest.raises(InputError, match=r"no \[car\]"):
        starter(replace(demo.job, car=None))
