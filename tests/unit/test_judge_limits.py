"""Every part the job limits is judged; what no reckoning shows names its measurement; no limit, NOT CHECKED."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from griddesign.job.reading import read_job
from griddesign.job.records import Job, Limits
from griddesign.judge.limits import LIMITED, judge_limits, not_checked
from griddesign.judge.records import Finding, Result, Verdict
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.start_findings import grip_of, judge_run, run_not_checked
from griddesign.judge.timber import BEAM, FLOOR, timber_heat
from griddesign.shipped import examples_folder

HOLDS, FAILS, NOT_SHOWN = Verdict.HOLDS, Verdict.FAILS, Verdict.NOT_SHOWN
DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def ran(demo: Result) -> RunHeat:
    assert demo.ran is not None
    return demo.ran


def limited(ran: RunHeat, **limits: float) -> tuple[Job, RunHeat]:
    job = replace(ran.job, limits=Limits(0.05, **limits))
    return job, replace(ran, ready=replace(ran.ready, job=job))


def found(ran: RunHeat | None, job: Job) -> dict[str, Finding]:
    return {one.item: one for one in judge_limits(job, ran)}


def test_no_limit_is_not_checked(demo: Result, ran: RunHeat) -> None:
    bare = replace(demo.job, limits=Limits(0.05))
    assert found(ran, bare) == {}
    assert not_checked(bare, heated=False) == ("temperature of the plates", *LIMITED)
    assert not_checked(bare, heated=True) == tuple(LIMITED)
    assert set(LIMITED) <= set(demo.not_checked)
    assert list(run_not_checked(demo.job)) == ["adhesion"]


@pytest.mark.parametrize(("part", "field"), [("mica", "mica_c"), ("lead at the tap", "lead_c")])
def test_mica_and_lead_are_as_hot_as_the_hottest_plate_at_most(ran: RunHeat, part: str, field: str) -> None:
    hottest = max(ran.peak_c.values())
    for limit_c, verdict in ((hottest + 1.0, HOLDS), (hottest - 1.0, NOT_SHOWN)):
        job, with_limit = limited(ran, **{field: limit_c})
        one = found(with_limit, job)[f"limit of {part}"]
        assert one.verdict is verdict
        assert bool(one.measure_next) == (verdict is NOT_SHOWN)
        assert part not in not_checked(job, heated=True)
        assert found(None, job)[f"limit of {part}"].verdict is NOT_SHOWN


def test_what_no_reckoning_shows_names_its_measurement(ran: RunHeat) -> None:
    job, with_limit = limited(ran, clearance_m=0.025, test_voltage_v=2000.0)
    for item, number in (("limit of clearance", "25"), ("limit of test voltage", "2000")):
        one = found(with_limit, job)[item]
        assert one.verdict is NOT_SHOWN and number in one.why and number in one.measure_next


def test_timber_without_a_distance_or_heat_is_not_shown(ran: RunHeat) -> None:
    job, with_limit = limited(ran, timber_c=85.0)
    assert "distance" in found(with_limit, job)["limit of timber"].measure_next
    assert found(None, job)["limit of timber"].verdict is NOT_SHOWN


def test_timber_is_judged_above_and_beside(ran: RunHeat) -> None:
    """Close and cool fails on the duty's mean heat, hot enough holds on the hottest moment, between is not shown."""
    floor, beam = timber_heat(ran, 0.15)
    assert (floor.what, beam.what) == (FLOOR, BEAM)
    for one in (floor, beam):
        assert one.mean_face_c is not None and ran.job.duty.ambient_high_c < one.mean_face_c < one.face_c
        assert one.face_c < max(ran.peak_c.values())
        between = 0.5 * (one.mean_face_c + one.face_c)
        for limit_c, verdict in ((one.mean_face_c - 1.0, FAILS), (between, NOT_SHOWN), (one.face_c + 1.0, HOLDS)):
            job, with_limit = limited(ran, timber_c=limit_c, timber_distance_m=0.15)
            judged = found(with_limit, job)[f"timber, {one.what}"]
            assert judged.verdict is verdict, judged
            assert "kW/m²" in judged.why and bool(judged.measure_next) == (verdict is not HOLDS)


def test_timber_further_off_is_never_hotter(ran: RunHeat) -> None:
    near, far = timber_heat(ran, 0.10), timber_heat(ran, 0.30)
    for closer, further in zip(near, far, strict=True):
        assert further.face_c < closer.face_c and further.irradiance_w_m2 < closer.irradiance_w_m2


def test_a_floor_that_chokes_the_gaps_is_not_shown(ran: RunHeat) -> None:
    floor, _ = timber_heat(ran, 0.02)
    assert floor.choked
    job, with_limit = limited(ran, timber_c=floor.face_c + 5.0, timber_distance_m=0.02)
    one = found(with_limit, job)[f"timber, {FLOOR}"]
    assert one.verdict is NOT_SHOWN and "backs up" in one.why


def test_a_section_that_never_settles_burns_any_timber(ran: RunHeat) -> None:
    import numpy as np

    job, with_limit = limited(ran, timber_c=90.0, timber_distance_m=0.2)
    once, day = with_limit.duties
    lost = replace(with_limit, duties=(once, replace(day, hot_c=np.full_like(day.hot_c, np.inf))))
    (one,) = judge_limits(job, lost)
    assert one.verdict is FAILS and "never settles" in one.why


def test_adhesion_of_the_limits_stands_before_that_of_the_car(ran: RunHeat) -> None:
    car = ran.job.car
    assert car is not None and grip_of(ran.job) is None
    slippery = replace(ran.job, limits=replace(ran.job.limits, effort_adhesion=0.10), car=replace(car, adhesion=0.20))
    grip_n = grip_of(slippery)
    assert grip_n == pytest.approx(0.10 * 13500.0 * 9.80665)
    ready = replace(ran.ready, job=slippery)
    judged = {one.item: one for one in judge_run(ready, ready.run(ready.cases))}
    assert judged["adhesion"].verdict is FAILS
    assert judged["breaker during the start"].verdict is HOLDS
    assert list(run_not_checked(slippery)) == []


@pytest.fixture
def read(tmp_path: Path) -> Callable[[str], Job]:
    def job(limits: str) -> Job:
        path = tmp_path / "job.toml"
        path.write_text(DEMO + limits, encoding="utf-8")
        return read_job(path)

    return job


def test_the_limits_are_read(read: Callable[[str], Job]) -> None:
    limits = read(
        '\nadhesion = "18 %"\ntimber = { value = "75 degC", source = "a rule", distance = "4 in" }\nmica = "500 degC"\n'
        'lead = "120 degC"\nclearance = "25 mm"\ntest_voltage = "2 kV"\n'
    ).limits
    assert (limits.effort_adhesion, limits.timber_c, limits.timber_distance_m) == (0.18, 75.0, pytest.approx(0.1016))
    assert (limits.mica_c, limits.lead_c, limits.clearance_m, limits.test_voltage_v) == (500.0, 120.0, 0.025, 2000.0)
