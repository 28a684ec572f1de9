"""Temperatures to be drawn: against the same starts run one after another in earnest, and against the judged rows."""

from dataclasses import replace

import numpy as np
import pytest

from griddesign.judge.day_trace import DayTrace, day_trace
from griddesign.judge.heat_cases import deciding
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.records import Result
from griddesign.judge.runup import Starter
from griddesign.papers.sheets.heat_course import saw_tooth


@pytest.fixture(scope="module")
def ready(demo: Result) -> Starter:
    assert demo.ran is not None
    return demo.ran.ready


@pytest.fixture(scope="module")
def trace(demo: Result, ready: Starter) -> DayTrace:
    found = day_trace(ready, deciding(demo.heat))
    assert found is not None
    return found


def test_the_case_is_the_worst_there_is(demo: Result, trace: DayTrace) -> None:
    worst = min(deciding(demo.heat), key=lambda row: row.margin_k)
    assert (trace.case.line_v, trace.case.ambient_c, trace.case.end.name) == (
        worst.line_v,
        worst.ambient_c,
        worst.worst_end,
    )


def test_the_day_is_start_after_start_run_in_earnest(ready: Starter, trace: DayTrace) -> None:
    """Independent way: every start run from where the one before has left the grid, no map in between."""
    tables = PlateTables.of(ready.heated, [(trace.case.end, trace.case.ambient_c)])
    every_s = ready.job.duty.start_every_s
    assert every_s is not None
    t_c = np.full((len(trace.sections), 1), trace.case.ambient_c)
    for begin_c, peak_c in zip(trace.begin_c, trace.peak_c, strict=True):
        found = ready.run([trace.case], t_c, plates=tables)
        assert np.abs(begin_c - t_c[:, 0]).max() < 3.0
        assert np.abs(peak_c - found.hottest_c[:, 0]).max() < 3.0
        t_c = tables.cooled_c(found.end_c, every_s - found.seconds)


def test_it_settles_where_the_judged_day_does(demo: Result, trace: DayTrace) -> None:
    worst = min(deciding(demo.heat), key=lambda row: row.margin_k)
    place = trace.sections.index(worst.section)
    assert trace.peak_c[-1, place] == pytest.approx(worst.hot_c, abs=1.5)
    assert trace.settled is not None
    assert trace.settled.peak_c[place] == pytest.approx(trace.peak_c[-1, place], abs=1.5)


def test_no_start_of_the_day_is_cooler_than_the_one_before(trace: DayTrace) -> None:
    assert np.all(np.diff(trace.peak_c, axis=0) > -1e-6)
    assert np.all(trace.peak_c >= trace.begin_c)
    assert np.all(trace.begin_c[0] == trace.case.ambient_c)


def test_one_start_begins_at_ambient_and_rises_on_the_way(trace: DayTrace) -> None:
    assert np.all(trace.first.section_c[0] == trace.case.ambient_c)
    assert np.all(np.diff(trace.first.time_s) >= 0.0)
    assert trace.first.section_c.max(axis=0) == pytest.approx(trace.first.peak_c, abs=0.1)


def test_after_the_rest_a_settled_start_can_begin(ready: Starter, trace: DayTrace) -> None:
    assert trace.rest_after_hold_s is not None
    tables = PlateTables.of(ready.heated, [(trace.case.end, trace.case.ambient_c)])
    limit_c = np.array([[limit] for limit in trace.limit_c])
    rest_s = trace.rest_after_hold_s
    left_c = tables.cooled_c(limit_c, np.array([rest_s]), steps=200)[:, 0]
    assert np.all(left_c <= trace.begin_c[-1] + 0.6)
    short_c = tables.cooled_c(limit_c, np.array([rest_s - 60.0]), steps=200)[:, 0]
    assert np.any(short_c > trace.begin_c[-1] + 0.4)


def test_without_a_duty_one_start_is_all(demo: Result, ready: Starter) -> None:
    job = replace(ready.job, duty=replace(ready.job.duty, start_every_s=None))
    trace = day_trace(Starter(job, ready.worked), [row for row in demo.heat if row.case == "one start"])
    assert trace is not None
    assert (trace.settled, trace.starts, trace.rest_after_hold_s) == (None, 0, None)
    assert day_trace(ready, []) is None


def test_a_long_day_is_thinned_to_what_paper_can_show(trace: DayTrace) -> None:
    long = replace(trace, begin_c=np.repeat(trace.begin_c, 12, axis=0), peak_c=np.repeat(trace.peak_c, 12, axis=0))
    time_s, corners_c = saw_tooth(long)
    assert len(time_s) == len(corners_c) <= 2 * 80
    assert np.all(np.diff(time_s) > 0.0)
