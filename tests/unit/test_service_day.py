"""The day with its parts, the restart too soon, the closed form beside it; rows with the band of the loss."""

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from griddesign.errors import CurveError, JobError
from griddesign.heat.closed import pulses_rise_k, settled_peak_k
from griddesign.heat.lumps import AS_GIVEN, ENDS
from griddesign.job.reading import read_job
from griddesign.job.records import Duty, DutyPart, Job
from griddesign.job.starters import starter_text
from griddesign.judge.heat_cases import RESTART
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.ran import at_ends
from griddesign.judge.records import Result
from griddesign.judge.run_heat import RunHeat, run_heat
from griddesign.judge.runup import Starter, starter
from griddesign.judge.service_day import (
    day_case,
    once_round,
    one_start,
    restart,
    service_day,
    settled_begin_c,
    stretches_of,
)
from griddesign.shipped import examples_folder

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
PARTS = (DutyPart("town", 2, 150.0), DutyPart("hill", 1, 160.0, 0.02, 300.0))


@pytest.fixture(scope="module")
def ready(demo: Result) -> Starter:
    assert demo.worked is not None
    return Starter(demo.job, demo.worked)


@pytest.fixture(scope="module")
def ran(ready: Starter) -> RunHeat:
    found = run_heat(ready)
    assert found is not None
    return found


def with_duty(ready: Starter, **changes: object) -> Starter:
    return replace(ready, job=replace(ready.job, duty=replace(ready.job.duty, **changes)))  # type: ignore[arg-type]


@pytest.fixture
def read(tmp_path: Path) -> Callable[[str], Job]:
    def job(duty: str) -> Job:
        path = tmp_path / "job.toml"
        path.write_text(DEMO.replace('start_every = "150 s"\n', duty, 1), encoding="utf-8")
        return read_job(path)

    return job


# Closed forms.


def test_one_pulse_is_the_settled_cycle() -> None:
    """With one pulse the sum is the published closed form of one equal cycle (Dubey's, tested elsewhere), to 1e-12."""
    peak = pulses_rise_k(np.array([10.0]), np.array([0.0]), np.array([10.0]), np.array([300.0]), 120.0, 500.0)
    assert peak[0] == pytest.approx(settled_peak_k(300.0, 10.0, 110.0, 500.0, 500.0), rel=1e-12)


def test_pulses_against_the_equation_run_for_a_long_time() -> None:
    """A lump with constant h and c, alpha = 0, by an adaptive Runge-Kutta of 5(4) for 40 rounds: to 1e-6."""
    from scipy.integrate import solve_ivp

    begin, on, steady = np.array([0.0, 90.0, 260.0]), np.array([12.0, 20.0, 9.0]), np.array([900.0, 400.0, 1500.0])
    period, tau = 600.0, 480.0
    edges = np.sort(np.concatenate([begin, begin + on, [period]]))
    rise = 0.0
    for number in range(40 * edges.size):
        done, place = divmod(number, edges.size)
        start = edges[place - 1] if place else 0.0
        middle = 0.5 * (start + edges[place])
        power = steady[(begin <= middle) & (middle < begin + on)].sum()
        if edges[place] > start:
            run = solve_ivp(
                lambda _, y, end=power: (end - y) / tau, (start, edges[place]), [rise], rtol=1e-11, atol=1e-11
            )
            rise = float(run.y[0, -1])
        if done == 39 and edges[place] in begin + on:
            mine = pulses_rise_k(np.array([edges[place]]), begin, on, steady, period, tau)[0]
            assert mine == pytest.approx(rise, rel=1e-6)


def test_the_closed_form_stands_near_the_run(ran: RunHeat) -> None:
    """Settled, figures as given, the section alone: within 2 % of the rise, the ohms not being constant."""
    _, day = ran.duties
    given = [place for place, case in enumerate(day.cases) if case.end == AS_GIVEN]
    ambient = np.array([day.cases[place].ambient_c for place in given])
    rise, hand = day.hot_c[:, given] - ambient, day.by_hand_c[:, given] - ambient
    assert np.all(np.abs(hand / rise - 1.0) < 0.02)
    assert np.all(np.isnan(np.delete(day.by_hand_c, given, axis=1)))


# The run.


def test_one_start_is_a_day_of_its_own(ran: RunHeat) -> None:
    """The rows of the whole agree with those of the parts, and every duty has a row for each case and section."""
    rows = ran.duty_rows
    assert {row.case for row in rows} == {"one start", "settled, a start every 150 s"}
    assert len(rows) == 2 * 4 * len(ran.ready.heated)
    assert ran.peak_c == {
        name: max(row.hot_c for row in rows if row.section == name) for name in (one.name for one in ran.ready.heated)
    }
    assert ran.mean_c is not None and all(ran.mean_c[name] < ran.peak_c[name] for name in ran.mean_c)


def test_the_band_lies_about_the_best_estimate(ran: RunHeat) -> None:
    """Less loss is never cooler; the worst end is never below any of the band; the bound never below the worst end."""
    for row in ran.duty_rows:
        assert row.low_c is not None and row.best_c is not None and row.high_c is not None
        assert row.low_c <= row.best_c <= row.high_c <= row.hot_c + 1e-6
        assert row.bound_c >= row.hot_c
    settled = [row for row in ran.duty_rows if row.case.startswith("settled")]
    assert any(row.high_c - row.low_c > 40.0 for row in settled if row.high_c and row.low_c)


def test_two_equal_parts_are_one_start_every_so_often(ready: Starter, ran: RunHeat) -> None:
    """A day of parts that are all alike is the plain duty: same temperatures to 0.05 K."""
    twice = with_duty(ready, parts=(DutyPart("a", 1, 150.0), DutyPart("b", 2, 150.0)))
    found = service_day(twice, (AS_GIVEN,))
    assert found is not None and found.round_s == 450.0
    plain = ran.duties[1]
    given = [place for place, case in enumerate(plain.cases) if case.end == AS_GIVEN]
    assert found.hot_c == pytest.approx(plain.hot_c[:, given], abs=0.05)
    assert found.neighbour_k == pytest.approx(plain.neighbour_k[:, given], abs=0.1)
    assert found.by_hand_c == pytest.approx(plain.by_hand_c[:, given], abs=0.1)


def test_a_round_comes_back_to_where_it_began(ready: Starter) -> None:
    """The settled round run once more from its beginning ends there again: to 0.05 K."""
    hilly = with_duty(ready, parts=PARTS)
    cases = at_ends(hilly.cases, (AS_GIVEN,))
    stretches = stretches_of(hilly)
    begin = settled_begin_c(hilly, cases, stretches)
    tables = PlateTables.of(hilly.heated, [(case.end, case.ambient_c) for case in cases])
    again = once_round(stretches, cases, begin, tables)
    assert again.end_c == pytest.approx(begin, abs=0.05)
    assert day_case(hilly.job.duty) == "settled, 3 starts in a round of 12.7 min"
    assert [pulse.begin_s[0] for pulse in again.pulses] == [0.0, 150.0, 300.0]


def test_a_hill_is_never_cooler_and_a_layover_never_hotter(ready: Starter) -> None:
    def hottest(*parts: DutyPart) -> np.ndarray:
        found = service_day(with_duty(ready, parts=parts), (AS_GIVEN,))
        assert found is not None
        return found.hot_c

    flat = hottest(DutyPart("flat", 1, 150.0))
    assert np.all(hottest(DutyPart("hill", 1, 150.0, 0.02)) > flat)
    assert np.all(hottest(DutyPart("flat", 1, 150.0, None, 300.0)) < flat)
    assert np.all(hottest(DutyPart("flat", 1, 100.0)) > flat)


def test_a_restart_after_a_short_layover_is_hotter_than_the_settled_day(ready: Starter, ran: RunHeat) -> None:
    """The shorter the layover the hotter; after as long as the duty rests it is the settled peak again, nearly."""
    peaks = []
    for layover_s in (5.0, 60.0, 135.0, 3600.0):
        again = restart(with_duty(ready, shortest_layover_s=layover_s), ran.duties[1])
        assert again is not None and again.name == f"{RESTART} {layover_s:g} s"
        peaks.append(again.hot_c)
    assert all(np.all(later < sooner) for sooner, later in pairwise(peaks))
    assert np.all(peaks[0] > ran.duties[1].hot_c)
    assert peaks[2] == pytest.approx(ran.duties[1].hot_c, abs=3.0)
    assert restart(ready, ran.duties[1]) is None


def test_without_a_duty_the_restart_comes_after_one_start(ready: Starter) -> None:
    lone = with_duty(ready, start_every_s=None, shortest_layover_s=30.0)
    found = run_heat(lone)
    assert found is not None and [one.name for one in found.duties] == ["one start", f"{RESTART} 30 s"]
    once, again = found.duties
    assert np.all(again.hot_c >= once.hot_c)
    assert found.mean_c is None


def test_a_single_start_takes_little_from_its_neighbours(ready: Starter) -> None:
    """What a start from ambient takes from hotter sections while it lasts is bounded by half a kelvin here."""
    once = one_start(ready, ENDS)
    assert once is not None
    assert 0.0 < once.neighbour_k.max() < 0.5


# The job file.


def test_the_day_is_read(read: Callable[[str], Job]) -> None:
    duty = read_duty(read)
    assert duty.parts == (DutyPart("town", 6, 150.0), DutyPart("hill", 2, 120.0, 0.03, 600.0))
    assert duty.start_every_s == 120.0 and duty.shortest_layover_s == 45.0


def read_duty(read: Callable[[str], Job]) -> Duty:
    return read(
        'shortest_layover = "45 s"\npart = [\n{ name = "town", starts = 6, start_every = "150 s" },\n'
        '{ name = "hill", starts = 2, start_every = "2 min", gradient = "3 %", layover = "10 min" },\n]\n'
    ).duty


@pytest.mark.parametrize(
    ("duty", "key", "said"),
    [
        ('part = [{ name = "a", starts = 61, start_every = "1 min" }]\n', "part.a.starts", "61"),
        ('part = [{ name = "a", starts = 40, start_every = "60 s" },\n'
         '{ name = "b", starts = 30, start_every = "9 s" }]\n', "duty", "70 starts"),
        ('part = [{ name = "a", start_every = "1 min" }]\n', "part.a.starts", "missing"),
        ('part = [{ name = "a", starts = 2 }]\n', "part.a.start_every", "missing"),
        ('part = [{ name = "a", starts = 2, start_every = "1 min", slope = "1 %" }]\n', "part.a.slope", "not a key"),
    ],
)  # fmt: skip
def test_a_day_that_cannot_be_is_refused(read: Callable[[str], Job], duty: str, key: str, said: str) -> None:
    with pytest.raises(JobError) as caught:
        read(duty)
    found = caught.value.complaints()
    assert any(one.key.startswith(key) and said in one.message and one.hint for one in found), found


def test_an_endless_round_has_no_closed_form(ready: Starter) -> None:
    """Starts so near each other that nothing settles: inf, run away, and no number pretends otherwise."""
    busy = with_duty(ready, start_every_s=20.0)
    found = service_day(busy, (AS_GIVEN,))
    assert found is not None
    rows = [row for row in found.worst() if row.section == "D"]
    assert all(row.runs_away and math.isinf(row.hot_c) and row.by_hand_c in (None, math.inf) for row in rows)


def test_only_figures_as_given_are_refused_off_the_curve(tmp_path: Path) -> None:
    """A curve too short for the hot grid at the high end of its coefficient: run on, and said; as given: refused."""
    path = tmp_path / "car.toml"
    path.write_text(starter_text("car"), encoding="utf-8")
    ready = starter(read_job(path))
    cases = at_ends(ready.cases, ENDS)
    run = ready.run(cases, settled_begin_c(ready, cases, stretches_of(ready)))
    peak = np.max([log.peak_a for log in run.notches], axis=0)
    standing = max(float(log.peak_a.max()) for log in ready.run(cases).notches)
    given = max(standing, *(peak[place] for place, case in enumerate(cases) if case.end == AS_GIVEN))
    assert peak.max() > given + 1.0
    found = service_day(cut_at(ready, 0.5 * (given + peak.max())), ENDS)
    assert found is not None and found.strayed
    assert all(found.cases[place].end != AS_GIVEN for place in found.strayed)
    told = RunHeat(ready, (found,), ())
    assert told.remarks and all("end of the motor curve" in one for one in told.remarks)
    with pytest.raises(CurveError, match="the motor curve ends at"):
        service_day(cut_at(ready, given - 5.0), ENDS)


def cut_at(ready: Starter, highest_a: float) -> Starter:
    """The same with the motor curve ending there, on the straight line between its points."""
    motor = ready.job.motor
    assert motor is not None
    curve = motor.magnetisation
    below = [place for place, amps in enumerate(curve.current_a) if amps < highest_a]
    short = replace(
        curve,
        current_a=(*(curve.current_a[place] for place in below), highest_a),
        emf_v=(*(curve.emf_v[place] for place in below), float(np.interp(highest_a, curve.current_a, curve.emf_v))),
    )
    return replace(ready, job=replace(ready.job, motor=replace(motor, magnetisation=short)))
