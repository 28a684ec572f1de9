"""What must hold of any start and any day as run, on cars, lines and duties drawn at random."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import trapezoid

from griddesign.errors import CurveError, NoStartError
from griddesign.heat.lumps import AS_GIVEN, LESS_LOSS, MORE_LOSS
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.records import Result
from griddesign.judge.runup import StartCase, Starter
from griddesign.judge.service_day import restart, service_day
from griddesign.traction.runup.steps import Care

FEW = settings(
    max_examples=4,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=(Phase.explicit, Phase.generate),  # a run is dear: no hunt for the smallest failing one
)
jobs = st.fixed_dictionaries(
    {
        "mass": st.floats(0.6, 1.3),
        "gradient": st.floats(-0.01, 0.015),
        "feeder": st.floats(0.0, 0.10),
        "volts": st.floats(0.8, 1.0),
        "joint": st.floats(0.0, 0.02),
        "every_s": st.floats(90.0, 400.0),
        "ambient_c": st.floats(-10.0, 30.0),
    }
)


@pytest.fixture(scope="module")
def plain(demo: Result) -> Starter:
    assert demo.worked is not None
    return Starter(demo.job, demo.worked)


def drawn(plain: Starter, job: dict[str, float]) -> Starter:
    """The demo's grid under another car on another line, its joints with ohms."""
    line, car, worked = plain.job.line, plain.job.car, plain.worked
    assert line and car and worked.design
    nominal_v = line.nominal_v * job["volts"]
    sections = tuple(replace(one, cold_ohm=one.cold_ohm * (1.0 + job["joint"])) for one in worked.design.sections)
    changed = replace(
        plain.job,
        line=replace(line, nominal_v=nominal_v, highest_v=nominal_v, feeder_ohm=job["feeder"]),
        car=replace(car, mass_kg=car.mass_kg * job["mass"], gradient=job["gradient"]),
        duty=replace(
            plain.job.duty,
            start_every_s=job["every_s"],
            ambient_low_c=job["ambient_c"],
            ambient_high_c=job["ambient_c"],
        ),
    )
    return Starter(changed, replace(worked, design=replace(worked.design, sections=sections)))


def peaks(ready: Starter, **duty: float) -> np.ndarray:
    """Settled peaks as given, nothing of the neighbours; cars that cannot be run are left out."""
    again = replace(ready, job=replace(ready.job, duty=replace(ready.job.duty, **duty)))
    try:
        found = service_day(again, (AS_GIVEN,))
    except (NoStartError, CurveError):
        assume(False)
    assert found is not None
    return np.minimum(found.hot_c, 1e4)


@FEW
@given(jobs, st.floats(20.0, 300.0))
def test_the_energy_of_any_start_closes_and_heats_the_plates(plain: Starter, job: dict[str, float], hot_c: float):
    """Line = feeder + grid + motors + drive + wheel to 1e-6, and the sections' heat is what the grid took up; without
    loss the plates hold all of it, read from the same tables."""
    ready = drawn(plain, job)
    case = (StartCase(ready.cases[0].line_v, job["ambient_c"], AS_GIVEN.adiabatic()),)
    begin = np.full((len(ready.heated), 1), hot_c)
    try:
        found = ready.run(case, begin, care=Care(4, 3))
    except (NoStartError, CurveError):
        assume(False)
    assert abs(float(found.energy.balance_error[0])) <= 1e-6
    assert found.section_j.sum() == pytest.approx(float(found.energy.grid_j[0]), rel=1e-6)
    tables = PlateTables.of(ready.heated, [(AS_GIVEN, job["ambient_c"])])
    for place in range(len(ready.heated)):
        steps = np.linspace(hot_c, float(found.end_c[place, 0]), 201)
        heat = [float(tables(np.full((len(ready.heated), 1), t_c))[2][place, 0]) for t_c in steps]
        assert trapezoid(heat, steps) == pytest.approx(float(found.section_j[place, 0]), rel=1e-4, abs=1.0)


@FEW
@given(jobs, st.floats(2.0, 25.0))
def test_hotter_air_is_never_cooler(plain: Starter, job: dict[str, float], warmer_k: float):
    ready = drawn(plain, job)
    warm_c = job["ambient_c"] + warmer_k
    assert np.all(peaks(ready, ambient_low_c=warm_c, ambient_high_c=warm_c) >= peaks(ready) - 0.05)


@FEW
@given(jobs, st.floats(1.02, 1.2))
def test_more_volts_are_never_cooler(plain: Starter, job: dict[str, float], times: float):
    ready = drawn(plain, job)
    line = ready.job.line
    assert line is not None
    lively = replace(ready.job, line=replace(line, nominal_v=line.nominal_v * times, highest_v=line.highest_v * times))
    assert np.all(peaks(replace(ready, job=lively)) >= peaks(ready) - 0.05)


@FEW
@given(jobs, st.floats(1.05, 3.0))
def test_starts_less_often_are_never_hotter(plain: Starter, job: dict[str, float], times: float):
    ready = drawn(plain, job)
    assert np.all(peaks(ready, start_every_s=job["every_s"] * times) <= peaks(ready) + 0.05)


@FEW
@given(jobs, st.floats(5.0, 200.0), st.floats(1.1, 5.0))
def test_a_shorter_layover_is_never_cooler(plain: Starter, job: dict[str, float], layover_s: float, times: float):
    ready = drawn(plain, job)
    try:
        day = service_day(ready, (AS_GIVEN,))
        assert day is not None
        both = []
        for seconds in (layover_s, layover_s * times):
            duty = replace(ready.job.duty, shortest_layover_s=seconds)
            again = restart(replace(ready, job=replace(ready.job, duty=duty)), day)
            assert again is not None
            both.append(again.hot_c)
    except (NoStartError, CurveError):
        assume(False)
    assert np.all(both[0] >= both[1] - 1e-6)


@FEW
@given(jobs)
def test_the_hottest_section_is_never_cooler_with_less_loss(plain: Starter, job: dict[str, float]):
    """Of the hottest section only: one that hardly warms may come out a trifle cooler, where hotter ohms elsewhere in
    the circuit take current from it."""
    ready = drawn(plain, job)
    try:
        day = service_day(ready, (MORE_LOSS, AS_GIVEN, LESS_LOSS))
    except (NoStartError, CurveError):
        assume(False)
    assert day is not None
    more, given, less = day.hot_c.max(axis=0)
    assert more < given < less
    assert np.all(day.bound_c >= day.hot_c)
