"""The brake in ``griddesign start``: findings in three words, rows of heat, JSON and screen."""

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from griddesign.cli.braking_lines import braking_lines
from griddesign.cli.start_lines import start_lines
from griddesign.heat.lumps import AS_GIVEN
from griddesign.heat.records import HeatRow
from griddesign.job.reading import read_job
from griddesign.judge.brake_findings import brake_findings, build_up_finding
from griddesign.judge.brake_rows import Begin, BrakeCases
from griddesign.judge.braking import BrakingResult, braking_of
from griddesign.judge.records import Finding, Result, Verdict
from griddesign.judge.runup import Starter
from griddesign.judge.service_day import service_day_rows
from griddesign.judge.start_result import start_of
from griddesign.papers.braking_json import braking_json
from griddesign.papers.start_json import start_json
from griddesign.shipped import examples_folder
from griddesign.traction.braking.build_up import build_up
from griddesign.traction.braking.excited import Excited
from griddesign.traction.braking.records import Braking, Hill, Sharing
from griddesign.traction.records import Car, MagnetisationPoints
from griddesign.traction.runup.records import RunUp
from griddesign.traction.runup.table import CurveTable

LADDER = (("B1", ("C", "D", "E")), ("B2", ("D", "E")), ("B3", ("E",)))
Brakes = Callable[..., BrakingResult]


def plan_of(demo: Result) -> Braking:
    """Parallel notches of the demo's own sections, from 18 km/h."""
    notches = {notch.name: notch for notch in demo.job.notches}
    parallel = tuple(
        replace(notches[name], name=label) for name, (label, _) in zip(("5", "6", "7"), LADDER, strict=True)
    )
    return Braking(parallel, 5.0, 140.0, sharing="cross-connected fields", field_reversed=True)


@pytest.fixture(scope="module")
def brakes(demo: Result) -> Brakes:
    """The demo braked by a plan: the start and the day are run once."""
    assert demo.worked is not None
    plain = Starter(demo.job, demo.worked)
    start: RunUp = plain.run(plain.cases)
    day: tuple[HeatRow, ...] = service_day_rows(plain)

    @cache
    def braked(plan: Braking, car: Car | None = None) -> BrakingResult:
        job = replace(demo.job, braking=plan, car=car or demo.job.car)
        assert demo.worked is not None
        found = braking_of(Starter(job, demo.worked), start, day)
        assert found is not None
        return found

    return lambda car=None, **changes: braked(replace(plan_of(demo), **changes), car)


def finding(result: BrakingResult, item: str) -> Finding:
    return next(one for one in result.findings if one.item.startswith(item))


def test_without_a_brake_there_is_none(demo: Result) -> None:
    assert demo.worked is not None
    ready = Starter(demo.job, demo.worked)
    assert braking_of(ready, ready.run(ready.cases), ()) is None
    assert braking_json(None) is None
    assert list(braking_lines(None)) == []


def test_the_demo_s_brake_holds_but_for_the_day_of_stops(brakes: Brakes) -> None:
    found = brakes()
    assert found.told is not None
    assert abs(float(found.told.energy.balance_error[0])) <= 1e-6
    verdicts = {one.item: one.verdict for one in found.findings if one.item.startswith("brake")}
    assert set(verdicts.values()) == {Verdict.HOLDS}
    assert {row.case for row in found.heat} == {
        "one stop",
        "one stop after settled, a start every 150 s",
        "settled, a start and a stop every 150 s",
    }
    assert {row.ambient_c for row in found.heat} == {20.0, 40.0}


def test_every_later_beginning_is_hotter_and_the_bound_is_above(brakes: Brakes) -> None:
    rows = brakes().heat
    for row in rows:
        assert row.bound_c >= row.hot_c >= row.ambient_c - 1e-9
        assert row.best_c is not None
        assert row.hot_c >= row.best_c
    cold = {(row.section, row.ambient_c): row.hot_c for row in rows if row.case == "one stop"}
    later = {(row.section, row.ambient_c): row.hot_c for row in rows if row.case.startswith("one stop after")}
    assert all(later[key] > cold[key] for key in cold)


def test_a_day_of_starts_and_stops_is_hotter_than_one_of_starts(brakes: Brakes, demo: Result) -> None:
    assert demo.worked is not None
    day = {(row.section, row.ambient_c): row.hot_c for row in service_day_rows(Starter(demo.job, demo.worked))}
    both = {
        (row.section, row.ambient_c): row.hot_c
        for row in brakes().heat
        if row.case == "settled, a start and a stop every 150 s"
    }
    assert all(both[key] > day[key] for key in both if key[0] in "CDE")


def test_braking_from_a_higher_speed_never_leaves_a_section_cooler(brakes: Brakes) -> None:
    hot = [
        max(row.hot_c for row in brakes(begin_m_s=speed).heat if row.case == "one stop") for speed in (3.5, 4.5, 5.5)
    ]
    assert hot == sorted(hot)


@pytest.mark.parametrize(
    ("sharing", "verdict"),
    [
        ("cross-connected fields", Verdict.HOLDS),
        ("equaliser", Verdict.HOLDS),
        ("none", Verdict.FAILS),
        ("not said", Verdict.NOT_SHOWN),
    ],
)
def test_motors_side_by_side_need_a_tie(brakes: Brakes, sharing: Sharing, verdict: Verdict) -> None:
    assert finding(brakes(sharing=sharing), "brake, motors side by side").verdict is verdict


def test_a_peak_above_the_limit_fails_with_the_speed_it_comes_at(brakes: Brakes) -> None:
    found = finding(brakes(peak_a=60.0), "brake, peak current")
    assert found.verdict is Verdict.FAILS
    assert "18.0 km/h" in found.why


def test_braking_that_cannot_build_up_fails_with_the_critical_ohms(brakes: Brakes, demo: Result) -> None:
    """All sections in at 5 m/s: R' far above the critical resistance."""
    notch = replace(plan_of(demo).notches[0], name="B0", common=demo.job.notches[0].common)
    found = finding(brakes(notches=(notch,)), "brake, building up")
    assert found.verdict is Verdict.FAILS
    assert "above the critical" in found.why
    assert "cannot build up under" in found.why


def test_fields_not_turned_round_fail_and_not_said_is_not_shown(brakes: Brakes) -> None:
    assert finding(brakes(field_reversed=False), "brake, building up").verdict is Verdict.FAILS
    assert finding(brakes(field_reversed=None), "brake, building up").verdict is Verdict.NOT_SHOWN
    assert finding(brakes(residual_v=0.0), "brake, building up").verdict is Verdict.FAILS


def short_curve(lowest_a: float) -> Excited:
    """Theraja and Theraja, A Textbook of Electrical Technology, vol. III, Ex 43.23, p. 1737, from a point up (seen in a
    published companion)."""
    points = [(20.0, 215.0), (40.0, 381.0), (60.0, 485.0), (80.0, 550.0)]
    amps, emf = zip(*[point for point in points if point[0] >= lowest_a], strict=True)
    return Excited(CurveTable(MagnetisationPoints(62.832, amps, emf)))


@pytest.mark.parametrize("lowest_a", [20.0, 40.0, 60.0])
def test_a_curve_that_does_not_reach_low_enough_shows_nothing(demo: Result, lowest_a: float) -> None:
    """Never a wrong yes: R' below the line through the lowest point, but that point is not on the straight part."""
    plan, excited = plan_of(demo), short_curve(lowest_a)
    critical = build_up("B", excited, 1.0, plan, 8.0).critical_ohm
    found = build_up_finding([build_up("B", excited, 0.8 * critical, plan, 8.0)], plan)
    assert found.verdict is Verdict.NOT_SHOWN
    assert f"{lowest_a:g} A" in found.why
    assert "residual_emf" in found.measure_next
    known = replace(plan, residual_v=4.0)
    assert build_up_finding([build_up("B", excited, 0.8 * critical, known, 8.0)], known).verdict is Verdict.HOLDS


def test_between_the_lowest_point_and_the_drawn_slope_nothing_is_shown(demo: Result) -> None:
    plan, excited = plan_of(demo), short_curve(20.0)
    one = build_up("B", excited, 1.0, plan, 8.0)
    between = build_up("B", excited, 0.5 * (one.critical_ohm + one.drawn_ohm), plan, 8.0)
    assert (between.answer, between.reason) == ("not shown", "between")
    assert build_up("B", excited, 1.001 * one.drawn_ohm, plan, 8.0).answer == "does not build up"
    assert "Measure the motor curve below 20 A" in build_up_finding([between], plan).measure_next


def test_a_car_that_gathers_way_on_the_last_notch_fails(brakes: Brakes, demo: Result) -> None:
    found = brakes(gradient=-0.25, notches=plan_of(demo).notches[:1])
    assert finding(found, "brake slows the car").verdict is Verdict.FAILS


def test_adhesion_under_the_brake(brakes: Brakes, demo: Result) -> None:
    assert demo.job.car is not None
    assert brakes().not_checked == ("adhesion under the brake",)
    assert finding(brakes(car=replace(demo.job.car, adhesion=0.05)), "brake, adhesion").verdict is Verdict.FAILS
    assert finding(brakes(car=replace(demo.job.car, adhesion=0.25)), "brake, adhesion").verdict is Verdict.HOLDS


def test_a_hill_is_told_with_its_heat(brakes: Brakes) -> None:
    found = brakes(hill=Hill(0.03, 300.0, "B2"))
    assert found.hill is not None
    rows = [row for row in found.heat if row.case.startswith("long hill")]
    assert {row.case for row in rows} == {"long hill", "long hill after settled, a start every 150 s"}
    assert {row.notch for row in rows} == {"B2"}
    longer = brakes(hill=Hill(0.03, 900.0, "B2"))
    hot = {(row.case, row.section, row.ambient_c): row.hot_c for row in rows}
    for row in longer.heat:
        if row.case == "long hill":
            assert row.hot_c >= hot[row.case, row.section, row.ambient_c] - 1e-6


@pytest.mark.parametrize("length_m", [40.0, 90.0, 300.0])
def test_a_hill_holds_only_where_current_and_every_plate_do(brakes: Brakes, length_m: float) -> None:
    """The current of the hill is the same at any length; what the plates reach is not."""
    found = brakes(hill=Hill(0.03, length_m, "B2"))
    hill = finding(found, "brake, hill on notch B2")
    sections = [one.verdict for one in found.findings if ", long hill" in one.item]
    order = (Verdict.HOLDS, Verdict.NOT_SHOWN, Verdict.FAILS)
    assert hill.verdict is max(sections, key=order.index)
    hottest = min((row for row in found.heat if row.case.startswith("long hill")), key=lambda row: row.margin_k)
    assert f"section {hottest.section}" in hill.why and (hill.verdict is Verdict.HOLDS) == (hottest.margin_k >= 0.0)


def test_on_inch_papers_the_brake_is_told_in_inch_units(brakes: Brakes, demo: Result) -> None:
    found = brakes(hill=Hill(0.03, 300.0, "B2"))
    assert demo.worked is not None and found.run is not None
    paper = replace(demo.job.paper, units="inch")
    ready = Starter(replace(demo.job, braking=found.plan, paper=paper), demo.worked)
    told = list(brake_findings(ready, found.plan, found.build_up, found.run, found.heat, found.hill))
    words = " ".join(one.why for one in told)
    assert "°F" in words and "mph" in words and "ft" in words
    assert not any(unit in words for unit in ("°C", "km/h", " m;", " m:"))


def test_a_hill_too_steep_for_the_curve_fails_in_words(brakes: Brakes) -> None:
    (found,) = brakes(hill=Hill(0.29, 300.0, "B2")).findings
    assert found.verdict is Verdict.FAILS
    assert "where the motor curve ends" in found.why


def test_a_hill_that_needs_no_brake_says_so(brakes: Brakes) -> None:
    (found,) = brakes(hill=Hill(0.001, 300.0, "B2")).findings
    assert "needs no brake" in found.why


def test_a_notch_that_lets_the_car_run_fails(brakes: Brakes, demo: Result) -> None:
    """At 0.8 per cent the car runs away from a notch of many ohms: it does not excite itself at so low a speed."""
    notch = replace(plan_of(demo).notches[0], name="B1", common=demo.job.notches[0].common)
    found = finding(brakes(notches=(notch,), hill=Hill(0.008, 300.0, "B1")), "brake, hill")
    assert found.verdict is Verdict.FAILS
    assert "holds the car between" in found.why


def test_the_beginnings_stand_in_their_columns(demo: Result) -> None:
    assert demo.worked is not None
    ready = Starter(demo.job, demo.worked)
    left = Begin("hot", {20.0: {"A": 100.0}, 40.0: {"A": np.inf}})
    cases = BrakeCases.of(ready, (Begin("cold", {}), left))
    assert len(cases.columns) == 2 * 2 * 2 * len(cases.ends)
    assert cases.columns[0].end == AS_GIVEN
    assert cases.columns[cases.with_loss].end.loss == 0.0
    blocks = {(begin.case, ambient_c): block for begin, ambient_c, block in cases.blocks()}
    assert set(cases.begin_c[0, blocks["cold", 40.0]]) == {40.0}
    assert set(cases.begin_c[0, blocks["hot", 20.0]]) == {100.0}
    assert cases.lost[0, blocks["hot", 40.0]].all()


def test_without_plates_currents_and_speeds_are_told_and_no_heat(brakes: Brakes, demo: Result) -> None:
    assert demo.worked is not None
    plan = replace(plan_of(demo), hill=Hill(0.03, 300.0, "B2"))
    bare = replace(demo.worked, design=None)
    ready = Starter(replace(demo.job, braking=plan, plates=()), bare)
    found = braking_of(ready, ready.run(ready.cases), ())
    assert found is not None
    assert found.told is not None
    assert found.heat == ()
    assert finding(found, "brake, hill").verdict is Verdict.HOLDS


def test_json_and_screen(brakes: Brakes) -> None:
    found = brakes(hill=Hill(0.03, 300.0, "B2"))
    data = json.loads(json.dumps(braking_json(found), allow_nan=False))
    assert [notch["notch"] for notch in data["notches"]] == ["B1", "B2", "B3"]
    assert data["stop"]["kinetic_begin_j"] == pytest.approx(0.5 * 13_500 * 1.1 * 25.0)
    spent = sum(sum(notch["section_j"].values()) for notch in data["notches"])
    assert spent == pytest.approx(data["stop"]["grid_j"], rel=1e-9)
    assert data["build_up"][0]["answer"] == "builds up"
    assert data["hill"]["gradient"] == -0.03
    assert data["trace"][0]["current_a"] == pytest.approx(data["notches"][0]["current_a"], rel=0.05)
    lines = list(braking_lines(found))
    assert any(line.startswith("Hill of 3 %") for line in lines)
    assert any(line.startswith("brake notch") for line in lines)
    assert any("left over under 1 part in" in line for line in lines)


def test_the_start_of_a_job_with_a_brake_tells_it(tmp_path: Path) -> None:
    text = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
    notches = "".join(f'[[braking.notch]]\nname = "{name}"\ncircuit = {json.dumps(run)}\n' for name, run in LADDER)
    table = '[braking]\nbegin_speed = "18 km/h"\npeak_current = "130 A"\nmotors = "parallel"\nsharing = "none"\n'
    path = tmp_path / "job.toml"
    path.write_text(f"{text}\n{table}\n{notches}", encoding="utf-8")
    result = start_of(read_job(path))
    said = "\n".join(start_lines(result))
    assert "Braking from 18.0 km/h" in said
    assert "series generators on one grid are unstable" in said
    assert start_json(result)["braking"]["notches"][0]["built_up"] is True
    assert not result.holds
