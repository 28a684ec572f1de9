"""Random brakes: energy closes, nothing gets cooler that ought not, more ohms never mean more current."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from griddesign.grid.records import Run
from griddesign.traction.braking.excited import Excited
from griddesign.traction.braking.records import BrakeRun, Braking
from griddesign.traction.braking.run import brake
from griddesign.traction.curve import FloatArray
from griddesign.traction.records import Car, Grouping, MagnetisationPoints, Motor, Notch, RunningResistance
from griddesign.traction.runup.records import Cases
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.table import CurveTable

SECTIONS = ("A", "B", "C")
Table = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


@st.composite
def curves(draw: st.DrawFn) -> MagnetisationPoints:
    """Froelich's curve, emf = a·I/(b + I), at points spaced anyhow: iron that saturates smoothly."""
    highest, half = draw(st.floats(80.0, 400.0)), draw(st.floats(20.0, 300.0))
    shares = sorted(draw(st.lists(st.floats(0.05, 0.95), min_size=2, max_size=6, unique=True)))
    assume(all(later - earlier > 0.03 for earlier, later in pairwise(shares)))
    amps = [share * highest for share in (*shares, 1.0)]
    return MagnetisationPoints(60.0, tuple(amps), tuple(900.0 * amp / (half + amp) for amp in amps))


def plates(t_c: FloatArray) -> Table:
    return 1.0 + 0.002 * (t_c - 20.0), np.full_like(t_c, 0.002), 6000.0 + 3.0 * t_c, 5.0 * (t_c - 20.0)


@st.composite
def brakes(draw: st.DrawFn) -> tuple[Car, Motor, Braking, FloatArray]:
    car = Car(
        mass_kg=draw(st.floats(8e3, 4e4)),
        rotating_fraction=draw(st.floats(0.0, 0.15)),
        wheel_diameter_m=0.84,
        gear_ratio=draw(st.floats(2.5, 5.0)),
        drive_efficiency=draw(st.floats(0.85, 1.0)),
        resistance=RunningResistance(draw(st.floats(0.02, 0.08)), draw(st.floats(0.0, 0.005)), 2e-4),
    )
    points = draw(curves())
    motor = Motor(2, draw(st.floats(0.1, 0.6)), 75.0, points)
    grouping = draw(st.sampled_from([Grouping(1, 2), Grouping(2, 1)]))
    notches = tuple(Notch(str(place), grouping, Run(SECTIONS[place:])) for place in range(3))
    by = draw(st.sampled_from(["at valley current", "at peak current"]))
    valley = draw(st.floats(0.2, 0.7)) * points.current_a[-1]
    plan = Braking(notches, draw(st.floats(3.0, 14.0)), points.current_a[-1], by, valley if "valley" in by else None)  # type: ignore[arg-type]
    return car, motor, plan, np.array(draw(st.tuples(*[st.floats(0.05, 1.5)] * 3)))


def run(given_: tuple[Car, Motor, Braking, FloatArray], begin_c: float = 20.0, care: Care = Care(1, 3)) -> BrakeRun:  # noqa: B008
    car, motor, plan, ohms = given_
    column, one = ohms[:, None], np.ones(1)
    cases = Cases(
        line_v=0.0 * one,
        section_ohm=column,
        joint_ohm=0.0 * column,
        start_c=np.full((3, 1), begin_c),
        valley_a=one,
        motor_ohm=motor.resistance_ohm * one,
        mass_kg=car.mass_kg * one,
    )
    return brake(car, motor, plan, SECTIONS, cases, plates, care=care)


@given(brakes())
@settings(max_examples=60)
def test_the_energy_of_any_stop_closes(drawn: tuple[Car, Motor, Braking, FloatArray]) -> None:
    parts = 1
    while abs(float(run(drawn, care=Care(parts, 3 + parts // 2)).energy.balance_error[0])) > 1e-6:
        parts *= 2
        assert parts <= 16
    found = run(drawn)
    assert found.end_m_s[0] <= drawn[2].begin_m_s
    assert np.all(found.hottest_c >= 20.0)


@given(brakes(), st.floats(1.05, 1.6))
@settings(max_examples=30)
def test_a_heavier_car_never_heats_the_grid_less(drawn: tuple[Car, Motor, Braking, FloatArray], heavier: float) -> None:
    """At the valley current every speed of leaving is the same, so all the more kinetic energy ends as heat; running
    resistance grows with the mass too, but takes its share of the same whole."""
    car, motor, plan, ohms = drawn
    plan = replace(plan, notch_by="at valley current", valley_a=0.4 * plan.peak_a)
    light = run((car, motor, plan, ohms)).section_j.sum()
    heavy = run((replace(car, mass_kg=heavier * car.mass_kg), motor, plan, ohms)).section_j.sum()
    assert heavy >= light * (1.0 - 1e-4)


@given(brakes(), st.floats(25.0, 200.0))
@settings(max_examples=30)
def test_a_hotter_grid_never_ends_cooler(drawn: tuple[Car, Motor, Braking, FloatArray], begin_c: float) -> None:
    cold, hot = run(drawn), run(drawn, begin_c)
    assert float(hot.hottest_c.max()) >= float(cold.hottest_c.max()) - 1e-6


@given(curves(), st.floats(0.1, 2.0), st.floats(1.01, 3.0))
@settings(max_examples=60)
def test_more_ohms_or_less_speed_never_more_current(points: MagnetisationPoints, share: float, more: float) -> None:
    found = Excited(CurveTable(points))
    few = share * found.origin_ohm_s
    amps = found.current_a(np.array([few, more * few]))
    assert amps[1] <= amps[0]
    assert (amps[0] == 0.0) == (few >= found.origin_ohm_s)
    if amps[0] > 0.0:
        k, _ = found.read(np.minimum(amps[:1], points.current_a[-1]))
        assert np.isclose(k[0], few * amps[0], rtol=1e-9)
