"""Brake and scatter sheet: every number is the record's, nothing overlaps; the brake's weak figures go to both ends."""

import json
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from griddesign.errors import JobError
from griddesign.job.reading import read_job
from griddesign.judge.records import Finding, Verdict
from griddesign.judge.scatter.whole import scatter_of
from griddesign.judge.start_result import StartResult, start_of
from griddesign.judge.work import result_of
from griddesign.papers import blocks as b
from griddesign.papers.bounds import clashes
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.brake import brake_sheet
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.heat import heat_sheet
from griddesign.papers.sheets.scatter import scatter_sheet
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.papers.start_set import start_files
from griddesign.shipped import examples_folder

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
LADDER = (("B1", ["C", "D", "E"]), ("B2", ["D", "E"]), ("B3", ["E"]))
Runs = Callable[..., StartResult]


def brake_job(folder: Path, *, hill: str, begin: str = "18 km/h") -> Path:
    notches = "".join(f'[[braking.notch]]\nname = "{name}"\ncircuit = {json.dumps(run)}\n' for name, run in LADDER)
    table = (
        f'[braking]\nbegin_speed = "{begin}"\npeak_current = "130 A"\nmotors = "parallel"\nfield_reversed = true\n'
        f'sharing = "equaliser"\nhill = {{ gradient = "3 %", length = "{hill}", notch = "B2" }}\n'
    )
    path = folder / "brake.toml"
    path.write_text(f"{DEMO}\n{table}{notches}", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> StartResult:
    return start_of(read_job(brake_job(tmp_path_factory.mktemp("brake"), hill="300 m")))


def words_of(result: StartResult, sheet: b.Sheet | None) -> str:
    assert sheet is not None
    pages = lay_out((sheet,), stamp(result))
    assert not [clash for page in pages for clash in clashes(page.marks)]
    printed = (mark.text for page in pages for _, _, mark in flat(page.marks) if isinstance(mark, Words))
    return " ".join(printed).replace(NO_BREAK, " ")


def of(found: tuple[Finding, ...], start: str) -> list[Finding]:
    return [one for one in found if one.item.startswith(start)]


def test_the_brake_sheet_has_the_record_s_numbers(told: StartResult) -> None:
    brake, shown = told.braking, Shown("mm")
    assert brake is not None and brake.told is not None and brake.hill is not None
    words = words_of(told, brake_sheet(told))
    for log in brake.told.notches:
        assert shown.of(float(log.grid_v[0]), "voltage").replace(NO_BREAK, " ") in words
        assert shown.of(float(log.peak_a[0]), "current").replace(NO_BREAK, " ") in words
    for one in brake.build_up:
        assert one.answer in words and shown.of(one.critical_ohm, "resistance").replace(NO_BREAK, " ") in words
    for speed in (brake.hill.speed_m_s[0], brake.hill.foot_speed_m_s[0], brake.hill.foot_speed_m_s.max()):
        assert shown.of(float(speed), "speed").replace(NO_BREAK, " ") in words
    assert "LETHAL VOLTAGE" in words and "long hill" in words and "adhesion under the brake" in words


def test_at_every_notching_the_curve_stands_upright(told: StartResult) -> None:
    from griddesign.papers.sheets.brake import _upright

    assert told.braking is not None and told.braking.told is not None
    points, logs = list(_upright(told.braking.told)), told.braking.told.notches
    for before, after in pairwise(logs):
        if not (before.passed[0] or after.passed[0]):
            at = points.index((float(after.arrive_m_s[0]), float(after.arrive_a[0])))
            assert points[at + 1] == (float(before.leave_m_s[0]), float(before.leave_a[0]))
            assert points[at + 1][0] == pytest.approx(points[at][0], rel=1e-9)


def test_without_brake_or_scatter_there_are_no_such_sheets(told: StartResult) -> None:
    bare = replace(told, braking=None)
    assert brake_sheet(bare) is None and scatter_sheet(bare) is None


def test_the_scatter_sheet_has_percentiles_causes_and_chances(told: StartResult) -> None:
    assert told.ready is not None
    scatter = scatter_of(told.ready, 1000, 7)
    drawn, shown = replace(told, scatter=scatter), Shown("mm")
    words = words_of(drawn, scatter_sheet(drawn))
    kinds = {"A": "current", "degC": "temperature", "ohm": "resistance", "N": "force"}
    for spread in scatter.spreads:
        for value in spread.at:
            assert shown.of(value, kinds[spread.unit]).replace(NO_BREAK, " ") in words
    for chance in scatter.chances:
        assert f"{chance.broken} of {chance.starts}" in words
    assert "seed 7" in words and all(cause.name in words for cause in scatter.causes)
    pages = start_files(drawn)
    assert pages["all.pdf"] != start_files(told)["all.pdf"]


def test_a_weak_figure_of_the_brake_goes_to_both_ends(tmp_path: Path) -> None:
    """A hill of 200 m or of 4 km: what holds at one end and fails at the other is not shown, and says which end."""
    job = brake_job(tmp_path, hill="200 m to 4 km")
    found = start_of(read_job(job))
    hill = [one for one in of(found.findings, "section ") if "long hill" in one.item]
    unsure = [one for one in hill if "braking.hill.length" in one.why]
    assert unsure and all(one.verdict is Verdict.NOT_SHOWN for one in unsure)
    assert "Level the hill and pace its length." in {one.measure_next for one in unsure}
    assert "braking.hill.length" in {one.key for one in found.measure_next}


def test_a_design_judges_brake_and_cut_out_as_the_start_does(tmp_path: Path) -> None:
    """The papers of a design may not hold where the start of the same grid fails."""
    job = read_job(brake_job(tmp_path, hill="300 m"))
    designed, begun = result_of(job), start_of(job)
    beside = [one for one in begun.findings if one.item.startswith("brake") or "cut out" in one.item]
    assert beside
    assert {(one.item, one.verdict) for one in beside} <= {(one.item, one.verdict) for one in designed.findings}


def test_the_brake_s_own_figures_are_ranked_by_what_they_do_to_it(tmp_path: Path) -> None:
    """A speed known to a third moves the first peak; a hill of unknown length moves no peak but the heat."""
    found = start_of(read_job(brake_job(tmp_path, hill="200 m to 1 km", begin="14 km/h to 22 km/h")))
    by_key = {one.key: one for one in found.measure_next}
    speed, hill = by_key["braking.begin_speed"], by_key["braking.hill.length"]
    assert speed.notch in {name for name, _ in LADDER} and speed.swing > 0.05
    assert hill.swing == 0.0 and hill.heat_swing_k is not None and hill.heat_swing_k > 20.0


def demo_start(folder: Path, *changes: tuple[str, str]) -> StartResult:
    text = DEMO
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = folder / "start.toml"
    path.write_text(text, encoding="utf-8")
    return start_of(read_job(path))


def test_the_peak_at_the_highest_voltage_is_told_beside_the_judged_one(tmp_path: Path) -> None:
    found = demo_start(tmp_path)
    (why,) = [one.why for one in found.findings if one.item == "peak current of the start as run"]
    highest_v = max(case.line_v for case in found.cases)
    at = [place for place, case in enumerate(found.cases) if case.line_v == highest_v]
    worst_a = max(float(log.peak_a[at].max()) for log in found.run.rows)
    assert f"told beside it: {worst_a:.1f} A" in why and why.endswith(f"at {highest_v:.0f} V")


def test_by_the_clock_a_motor_cut_out_is_told_and_not_judged(tmp_path: Path) -> None:
    """As with the peak: a driver who has half the motors stays longer on every notch."""
    timed = ('notch_up = "at valley current"', 'notch_up = "by time"\nseconds_per_notch = "2 s"')
    found = demo_start(tmp_path, timed)
    assert found.cut_out is not None
    assert any("stay longer on every notch" in remark for remark in found.cut_out.remarks)
    assert not of(found.findings, "breaker, motor")


def test_a_list_where_one_value_is_wanted_says_so(tmp_path: Path) -> None:
    listed = ('notch_up = "at valley current"', 'notch_up = "by time"\nseconds_per_notch = ["1 s", "2 s"]')
    with pytest.raises(JobError) as caught:
        demo_start(tmp_path, listed)
    assert any("is not one value" in one.message for one in caught.value.complaints())


def test_timber_that_holds_is_told_with_its_heat_flux(tmp_path: Path) -> None:
    """The flux at floor and beam stands on the heat sheet too where nothing is open."""
    found = demo_start(tmp_path, ("[limits]", '[limits]\ntimber = { value = "200 degC", distance = "1.5 m" }'))
    timber = of(found.findings, "timber")
    assert timber and all(one.verdict is Verdict.HOLDS for one in timber)
    words = words_of(found, heat_sheet(found, found.day_trace))
    for one in found.timber:
        assert f"{one.irradiance_w_m2 / 1e3:.2f} kW/m² shines on it" in words
