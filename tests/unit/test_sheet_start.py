"""The start sheet: every number is the record's, the saw-tooth stands on paper, nothing overlaps."""

from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from griddesign.judge.records import Result, Verdict
from griddesign.judge.start_result import StartResult, efficiency, started
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.marks import Path, Picture, Words, flat
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets import start_plots
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.crew import crew_holds, crew_words
from griddesign.papers.sheets.heat import heat_sheet
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.papers.sheets.start import start_sheet

MM = Shown("mm")


@pytest.fixture(scope="module")
def told(demo: Result) -> StartResult:
    found = started(demo)
    assert found is not None
    return found


def words_on(result: StartResult) -> str:
    pages = lay_out((start_sheet(result),), stamp(result))
    printed = (mark.text for page in pages for _, _, mark in flat(page.marks) if isinstance(mark, Words))
    return " ".join(printed).replace(NO_BREAK, " ")


def table(result: StartResult, first: str, second: str) -> b.Table:
    found = (block for block in start_sheet(result).blocks if isinstance(block, b.Table))
    return next(one for one in found if [column.title for column in one.columns[:2]] == [first, second])


def plain(cell: object) -> str:
    return (cell.text if isinstance(cell, b.Cell) else str(cell)).replace(NO_BREAK, " ")


def picture_words(picture: Picture) -> list[str]:
    return [mark.text for _, _, mark in flat(picture.marks) if isinstance(mark, Words)]


def test_the_start_of_a_design_is_its_own(demo: Result, told: StartResult) -> None:
    assert told.fingerprint == demo.fingerprint
    assert told.heat == demo.heat
    assert started(replace(demo, ran=None)) is None


def test_every_row_of_the_notches_is_the_records(told: StartResult) -> None:
    rows = table(told, "Notch", "Motors").rows
    assert [plain(cells[0]) for cells in rows] == [log.name for log in told.told.notches]
    for cells, log in zip(rows, told.told.notches, strict=True):
        shown = [plain(cell) for cell in cells[2:]]
        assert shown[0] == f"{log.peak_a[0]:.0f} A"
        assert shown[1] == f"{log.frozen_flux_a[0]:.0f} A"
        assert shown[2] == ("passed" if log.passed[0] else plain(MM.of(float(log.leave_a[0]), "current")))
        assert shown[4] == f"{log.leave_s[0] - log.arrive_s[0]:.2f} s"
        assert float(shown[5].removesuffix(" km/h")) == pytest.approx(3.6 * log.leave_m_s[0], rel=5e-3)
        assert float(shown[6].removesuffix(" kN")) == pytest.approx(log.effort_n[0] / 1e3, rel=5e-3)


def test_the_frozen_flux_bound_is_never_below_the_peak(told: StartResult) -> None:
    for log in told.told.notches:
        assert log.passed[0] or log.frozen_flux_a[0] >= log.peak_a[0] - 1e-9


def test_the_energy_closes_and_its_parts_are_printed(told: StartResult) -> None:
    rows = {plain(cells[0]): plain(cells[2]) for cells in table(told, "", "Energy").rows}
    shares = [float(share.removesuffix(" %")) for name, share in rows.items() if name not in {"from line", "left over"}]
    assert sum(shares) == pytest.approx(100.0, abs=0.3)
    assert abs(told.told.energy.balance_error[0]) < 1e-6
    shaft, copper = efficiency(told.told)
    words = words_on(told)
    assert f"work of the shafts over energy from the line: {100 * shaft:.1f} %" in words
    assert f"{100 * copper:.1f} %" in words


def test_every_case_is_there(told: StartResult) -> None:
    rows = table(told, "Line", "Ambient").rows
    assert len(rows) == len(told.cases) == 4
    for place, cells in enumerate(rows):
        peaks = [float(log.peak_a[place]) for log in told.run.notches]
        assert plain(cells[2]) == f"{max(peaks):.0f} A"
        assert plain(cells[3]) == told.run.notches[int(np.argmax(peaks))].name
    assert "The breaker of 300 A from line stays in" in words_on(told)
    low = replace(told, job=replace(told.job, line=replace(told.job.line, breaker_a=100.0)))
    assert "The breaker of 100 A from line OPENS" in words_on(low)


def test_why_a_resistance_notch_is_not_for_running(told: StartResult) -> None:
    rows = table(told, "Notch", "Settles at").rows
    holds = crew_holds(told.heat)
    assert [cells[0] for cells in rows] == [one.notch for one in told.wasted]
    for cells, one in zip(rows, told.wasted, strict=True):
        assert plain(cells[5]) == f"{100 * one.grid_w / one.line_w:.1f} %"
        assert cells[7] == crew_words(holds[one.notch])
    words = words_on(told)
    assert "common practice, no source" in words
    idle = max(told.wasted, key=lambda one: one.share)
    assert f"Held on notch {idle.notch} until the car has settled" in words
    assert "Why a resistance notch" not in words_on(replace(told, wasted=()))


def test_the_saw_tooth_rises_at_every_notch_and_falls_between(told: StartResult) -> None:
    """As drawn: upright where a notch is made (one speed, two currents), down to the valley line before it."""
    picture = start_plots.current_against_speed(told, MM)
    curve = max(
        (mark for _, _, mark in flat(picture.marks) if isinstance(mark, Path)), key=lambda path: len(path.steps)
    )
    points = [numbers for _, numbers in curve.steps]
    upright = [(a, c) for a, c in pairwise(points) if c[1] < a[1] - 1e-9]
    assert len(upright) == len(told.told.notches) - 1
    assert all(before[0] == pytest.approx(after[0], abs=1e-6) for before, after in upright)
    valleys = [before[1] for before, _ in upright]
    assert max(valleys) - min(valleys) < 0.01, "every notch is left on the valley line"


def test_peak_and_valley_are_named_on_the_curve(told: StartResult) -> None:
    for picture in (start_plots.current_against_speed(told, MM), start_plots.current_against_time(told, MM)):
        words = [word.replace(NO_BREAK, " ") for word in picture_words(picture)]
        assert f"valley {told.valley_a:.1f} A" in words
        assert "peak asked 130 A" in words
        assert {log.name for log in told.told.notches} <= set(words)
        assert "A per motor" in words
        assert "parallel" in words
    assert "breaker 300 A" in [word.replace(NO_BREAK, " ") for word in picture_words(picture)]


def test_effort_stands_beside_adhesion_and_resistance(told: StartResult) -> None:
    gripped = replace(told, job=replace(told.job, car=replace(told.job.car, adhesion=0.2)))
    words = [word.replace(NO_BREAK, " ") for word in picture_words(start_plots.effort_against_speed(gripped, MM))]
    assert {"effort", "resistance", f"adhesion {0.2 * 13.5 * 9.80665:.1f} kN"} <= set(words)
    assert "Adhesion was not given: NOT CHECKED" in words_on(told)
    assert "Adhesion was not given" not in words_on(gripped)


def test_long_names_give_way_to_numbers(told: StartResult) -> None:
    logs = tuple(replace(log, name=f"stage {log.name}") for log in told.told.notches)
    notches = tuple(replace(notch, name=f"stage {notch.name}") for notch in told.job.notches)
    named = replace(told, told=replace(told.told, notches=logs), job=replace(told.job, notches=notches))
    assert start_plots.notch_marks(named) == tuple(str(n) for n in range(1, len(logs) + 1))
    assert "the number of its notch, counted in the run" in words_on(named)


def test_what_does_not_hold_is_boxed(told: StartResult) -> None:
    failed = tuple(replace(one, verdict=Verdict.FAILS) if one.item.startswith("peak") else one for one in told.findings)
    boxes = [block for block in start_sheet(replace(told, findings=failed)).blocks if isinstance(block, b.Box)]
    assert boxes[0].title == "Open"
    assert "fails" in boxes[0].lines[0]


def crowded(told: StartResult) -> StartResult:
    """Twice the notches, each with a long name, on the same run."""
    rename = {log.name: f"Stufe {log.name} für <b> & Ω" for log in told.told.notches}
    logs = [replace(log, name=rename[log.name]) for log in told.told.notches]
    twice = [replace(log, name=f"{log.name} {n}") for n in range(2) for log in logs]
    notches = [replace(notch, name=f"{rename[notch.name]} {n}") for n in range(2) for notch in told.job.notches]
    trace = tuple(replace(point, notch=f"{rename[point.notch]} 0") for point in told.told.trace)
    wasted = tuple(replace(one, notch=f"{rename[one.notch]} {n}") for n in range(2) for one in told.wasted)
    job = replace(told.job, notches=tuple(notches), title="Ångström & <b>Söhne</b>, works car 3, " * 3)
    run = replace(told.told, notches=tuple(twice), trace=trace)
    return replace(told, job=job, told=run, wasted=wasted)


@pytest.mark.parametrize(("paper", "units"), [("A4", "mm"), ("Letter", "inch")])
@pytest.mark.parametrize("full", [False, True])
def test_nothing_leaves_the_frame_or_meets_another_text(
    told: StartResult, paper: Any, units: Any, *, full: bool
) -> None:
    job = replace(told.job, paper=replace(told.job.paper, units=units, sheet=paper))
    result = replace(told, job=job)
    result = crowded(result) if full else result
    heat = heat_sheet(result, result.day_trace)
    assert heat is not None
    for page in lay_out((start_sheet(result), heat), stamp(result)):
        left, top, right, bottom = bounds(page.marks)
        assert left >= -0.4
        assert top >= -0.4
        assert right <= LIVE_WIDE_MM + 0.4
        assert bottom <= LIVE_HIGH_MM + 0.4
        assert clashes(page.marks) == []


def test_inch_papers_speak_mph_and_pounds(told: StartResult) -> None:
    words = words_on(replace(told, job=replace(told.job, paper=replace(told.job.paper, units="inch"))))
    assert "speed, mph" in words
    assert "force at the rim, lbf" in words
    assert "km/h" not in words
    assert " kN" not in words


def test_the_heat_sheet_draws_the_day(told: StartResult) -> None:
    trace = told.day_trace
    assert trace is not None
    sheet = heat_sheet(told, trace)
    without = heat_sheet(told)
    assert sheet is not None and without is not None
    titles = [block.text.replace(NO_BREAK, " ") for block in sheet.blocks if isinstance(block, b.Heading)]
    assert "Over one start, 660 V, ambient 40 °C" in titles
    assert "Over the service day, 660 V, ambient 40 °C" in titles
    assert len([block for block in without.blocks if isinstance(block, b.Heading)]) == len(titles) - 2
    drawn = [block for block in sheet.blocks if isinstance(block, b.Drawing) and "start every" in block.caption]
    assert set(trace.sections) <= set(picture_words(drawn[0].picture))
    assert f"after {trace.starts} starts" in drawn[0].caption


def test_the_band_of_the_loss_lies_round_the_best_estimate(told: StartResult) -> None:
    sheet = heat_sheet(told)
    assert sheet is not None
    banded = [block for block in sheet.blocks if isinstance(block, b.Table) and "best estimate" in _titles(block)]
    rows = [row for row in told.heat if row.best_c is not None and row.line_v == 660.0 and row.ambient_c == 40.0]
    settled = {row.section: row for row in rows if row.case.startswith("settled")}
    assert [cells[0] for cells in banded[0].rows] == list(settled)
    for cells in banded[0].rows:
        row = settled[str(cells[0])]
        wanted = [row.low_c, row.best_c, row.high_c, row.hot_c, row.bound_c]
        assert [plain(cell) for cell in cells[2:7]] == [f"≈ {value:.0f} °C" for value in wanted]
        assert wanted == sorted(wanted)


def _titles(one: b.Table) -> list[str]:
    return [column.title for column in one.columns]
