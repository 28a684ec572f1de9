"""Random cars, motors and grids run up: the energy always closes, and what must be monotonic is."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from griddesign.grid.records import Branches, Run
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    MotorOwn,
    Notch,
    RunningResistance,
    Transition,
)
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care

SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 200.0), (100.0, 215.0, 381.0, 485.0, 600.0))
GROUPS = (SERIES, SERIES, SERIES, PARALLEL, PARALLEL, PARALLEL)
BRANCHED = Run((Branches((Run(("B",)), Run(("A", "C")))),))
RUNS = (Run(("A", "B", "C")), Run(("B", "C")), Run(("C",)), BRANCHED, Run(("C",)), Run())
LIKE = Motor(2, 0.42, 75.0, POINTS)
TRANSITIONS = (
    Transition("power off", 0.0),
    Transition("power off", 0.6),
    Transition("one motor shorted", 0.6, (Run(("B", "C")),)),
    Transition("bridge", 0.6, (Run(("A",)), Run(("B",)))),
)
Start = tuple[Car, list[Notch], Cases, Transition, Motor]
STRINGED = Notch("5", PARALLEL, None, (Run(("A",)), Run(("B", "C"))))
SETTINGS = settings(max_examples=10, deadline=None)


def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    ratio = 1.0 + 0.0017 * (t_c - 20.0)
    return ratio, np.full_like(t_c, 0.0017), 6000.0 + 2.0 * t_c, 6.0 * np.maximum(t_c - 20.0, 0.0)


@st.composite
def starts(draw: st.DrawFn) -> Start:
    """A car that gathers way on an invented grid, by the valley current, by the clock or within a peak current."""
    mass = draw(st.floats(8e3, 25e3))
    law = RunningResistance(draw(st.floats(0.0, 0.08)), draw(st.floats(0.0, 0.004)), draw(st.floats(0.0, 3e-4)))
    car = Car(mass, draw(st.floats(0.0, 0.2)), 0.84, 3.5, draw(st.floats(0.85, 1.0)), law, draw(st.floats(-0.01, 0.02)))
    notches = [Notch(str(k), group, run) for k, (group, run) in enumerate(zip(GROUPS, RUNS, strict=True), start=1)]
    if draw(st.booleans()):
        notches[4] = STRINGED
    ohms = np.array([[draw(st.floats(0.8, 2.0))], [draw(st.floats(0.8, 2.0))], [draw(st.floats(0.3, 1.0))]])
    if draw(st.booleans()):
        notches.append(Notch("7", PARALLEL, Run(), field=draw(st.floats(0.5, 1.0)), motor_ohm=0.38))
    one, driver = np.ones(1), draw(st.sampled_from(["valley", "clock", "peak"]))
    clock = np.array([[draw(st.floats(0.3, 2.5))] for _ in notches]) if driver == "clock" else None
    peak = draw(st.floats(125.0, 190.0)) * one if driver == "peak" else None
    cases = Cases(
        draw(st.floats(500.0, 600.0)) * one,
        ohms,
        np.full_like(ohms, draw(st.sampled_from([0.0, 0.01]))),
        np.full_like(ohms, draw(st.floats(0.0, 200.0))),
        draw(st.floats(70.0, 95.0)) * one,
        0.42 * one,
        mass * one,
        clock,
        peak,
    )
    own = MotorOwn(draw(st.floats(0.78, 0.88)), None, draw(st.floats(0.38, 0.46)), draw(st.floats(0.94, 1.06)))
    motor = replace(LIKE, each=(MotorOwn(), own)) if draw(st.booleans()) else LIKE
    return car, notches, cases, draw(st.sampled_from(TRANSITIONS)), motor


def run(car: Car, notches: list[Notch], cases: Cases, how: Transition, motor: Motor, care: Care) -> RunUp:
    line = Line(600.0, 600.0, 0.05)
    return run_up(line, car, motor, notches, ("A", "B", "C"), cases, plates, transition=how, care=care)


@SETTINGS
@given(starts())
def test_the_energy_closes(start: Start) -> None:
    """To 1e-5 at the usual steps, to 1e-6 with care; the wheel's part is reckoned on its own."""
    found = run(*start, Care())
    assume(found.stuck[0] < 0)
    assume(not any(log.beyond_curve[0] for log in found.notches))
    careful = run(*start, Care(2, 4))
    assume(careful.stuck[0] < 0)
    assume(all(float(log.leave_s[0] - log.arrive_s[0]) < 12.0 for log in careful.notches))  # not near its balance
    assert abs(float(found.energy.balance_error[0])) < 1e-5
    assert abs(float(careful.energy.balance_error[0])) < 1e-6


@SETTINGS
@given(starts())
def test_time_way_and_peaks_make_sense(start: Start) -> None:
    found = run(*start, Care())
    assume(found.stuck[0] < 0)
    before = 0.0
    for log in found.rows:
        assert log.leave_s[0] >= log.arrive_s[0] >= before
        assert log.peak_a[0] >= log.leave_a[0] - 1e-9 or log in found.transitions
        assert log.frozen_flux_a[0] >= log.peak_a[0]
        before = float(log.leave_s[0])
    if start[2].peak_a is not None:
        assert max(float(row.peak_a[0]) for row in found.rows[1:]) <= start[2].peak_a[0] + 1e-9
    assert found.distance_m[0] > 0.0
    assert np.all(found.section_j >= 0.0)


@SETTINGS
@given(starts(), st.floats(1.0, 60.0))
def test_a_hotter_grid_never_ends_cooler(start: Start, warmer_k: float) -> None:
    car, notches, cases, how, motor = start
    warmer = replace(cases, start_c=cases.start_c + warmer_k)
    cool, warm = (run(car, notches, each, how, motor, Care()) for each in (cases, warmer))
    assume(cool.stuck[0] < 0 and warm.stuck[0] < 0)
    assert np.all(warm.end_c >= cool.end_c - 1e-6)


@SETTINGS
@given(
    st.lists(st.floats(0.3, 2.0), min_size=3, max_size=3), st.floats(70.0, 95.0), st.floats(1.01, 1.2), st.booleans()
)
def test_a_higher_voltage_never_makes_a_section_cooler(
    ohms: list[float], valley_a: float, times: float, by_clock: bool
) -> None:
    """Sections cut out one after another. Peaks of single notches may well fall: nothing is said of those."""
    two, column = np.ones(2), np.array(ohms)[:, None] * np.ones(2)
    cold = np.full_like(column, 20.0)
    clock = np.full((6, 2), 1.5) if by_clock else None
    volts = np.array([550.0, 550.0 * times])
    cases = Cases(volts, column, 0.0 * column, cold, valley_a * two, 0.42 * two, 13500.0 * two, clock)
    car = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.003))
    nested = [Run(("A", "B", "C")), Run(("B", "C")), Run(("C",)), Run(("B", "C")), Run(("C",)), Run()]
    notches = [Notch(str(k), group, one) for k, (group, one) in enumerate(zip(GROUPS, nested, strict=True), start=1)]
    found = run(car, notches, cases, TRANSITIONS[0], LIKE, Care())
    assume(np.all(found.stuck < 0))
    assert np.all(found.hottest_c[:, 1] >= found.hottest_c[:, 0] - 1e-6)


def test_samples_close_to_one_in_a_hundred_thousand() -> None:
    rng, size = np.random.default_rng(7), 500
    ohms = np.array([[1.5], [1.3], [0.6]]) * rng.normal(1.0, 0.04, (3, size))
    cases = Cases(
        rng.uniform(500.0, 600.0, size),
        ohms,
        np.zeros_like(ohms),
        np.full_like(ohms, 20.0),
        rng.uniform(75.0, 95.0, size),
        np.full(size, 0.42),
        rng.uniform(10e3, 16e3, size),
    )
    car = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.003))
    notches = [Notch(str(k), group, one) for k, (group, one) in enumerate(zip(GROUPS, RUNS, strict=True), start=1)]
    found = run(car, notches, cases, TRANSITIONS[0], LIKE, Care())
    assert np.all(found.stuck == -1)
    assert np.abs(found.energy.balance_error).max() == pytest.approx(0.0, abs=1e-5)
