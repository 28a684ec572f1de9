"""A long hill on one brake notch: the balance, the heat at its foot, and what a hill without end would do."""

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from griddesign.errors import CircuitError, CurveError, InputError
from griddesign.grid.records import Run
from griddesign.traction.braking.hill import Descent, HillLaw, hill_law
from griddesign.traction.braking.rig import brake_notch, rig
from griddesign.traction.curve import FloatArray
from griddesign.traction.records import Car, Grouping, MagnetisationPoints, Motor, MotorOwn, Notch, RunningResistance
from griddesign.traction.runup.records import Cases

POINTS = MagnetisationPoints(62.83, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
CAR = Car(13_500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.003, 2e-4))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
PARALLEL = Grouping(1, 2)
OHMS = {"A": 1.1, "B": 0.9}
NOTCH = Notch("1", PARALLEL, Run(("A", "B")))
HOT = 80.0
Table = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


def plates(t_c: FloatArray) -> Table:
    return 1.0 + 0.002 * (t_c - 20.0), np.full_like(t_c, 0.002), 15_000.0 + 10.0 * t_c, HOT * (t_c - 20.0)


def descent(fall: float = 0.06, car: Car = CAR, notch: Notch = NOTCH, motor: Motor = MOTOR, size: int = 1) -> Descent:
    column, each = np.array(list(OHMS.values()))[:, None], np.ones(size)
    given = Cases(
        0 * each, column * each, 0 * column * each, 20.0 + 0 * column * each, each, 0.42 * each, 13_500.0 * each
    )
    bench = rig(car, motor, given, plates, -fall)
    wired = brake_notch(notch, tuple(OHMS), bench.drive)
    return Descent(bench, wired, hill_law(bench, wired))


COLD = np.full((2, 1), 20.0)


@pytest.mark.parametrize("fall", [0.03, 0.06, 0.08])
@pytest.mark.parametrize("resistance", [RunningResistance(0.045, 0.003, 2e-4), RunningResistance(0.05)])
def test_forces_and_volts_balance(fall: float, resistance: RunningResistance) -> None:
    """Brake at the rim and resistance take up the hill; emf and ohms agree; of both laws of resistance."""
    found = descent(fall, replace(CAR, resistance=resistance))
    total_ohm, current, speed = (float(value[0]) for value in found.at(COLD))
    k = float(found.notch.excited[0].read(np.array([current]))[0][0])
    turning = speed * 2.0 * 3.5 / 0.84
    assert total_ohm == pytest.approx(0.42 + 2.0 * 2.0, rel=1e-12)
    assert current * total_ohm == pytest.approx(k * turning, rel=1e-6)
    resist = 13_500.0 * (resistance.constant_n_per_kg + resistance.linear_n_s_per_kg_m * speed)
    resist += 13_500.0 * resistance.square_n_s2_per_kg_m2 * speed**2
    held = 2.0 * k * current * 3.5 * 2.0 / (0.84 * 0.95)
    assert held + resist == pytest.approx(13_500.0 * 9.80665 * fall / hypot(1.0, fall), rel=1e-6)


def test_with_constant_resistance_the_current_is_the_same_on_every_ohm() -> None:
    """The hill asks for one effort, so for one current; speed goes with the ohms."""
    found = descent(car=replace(CAR, resistance=RunningResistance(0.05)))
    hot = np.full((2, 1), 320.0)
    (cold_ohm, cold_a, cold_m_s), (hot_ohm, hot_a, hot_m_s) = found.at(COLD), found.at(hot)
    assert hot_a[0] == pytest.approx(cold_a[0], rel=1e-6)
    assert hot_m_s[0] / cold_m_s[0] == pytest.approx(hot_ohm[0] / cold_ohm[0], rel=1e-6)


def test_the_foot_of_the_hill_against_a_general_integrator() -> None:
    found = descent()
    foot_c, seconds = found.at_foot(COLD, 1500.0)

    def rate(_: float, state: FloatArray) -> FloatArray:
        rise, speed = found.heating(state[:2, None])
        return np.array([*rise[:, 0], speed[0]])

    def there(_: float, state: FloatArray) -> float:
        return float(state[2]) - 1500.0

    there.terminal = True  # type: ignore[attr-defined]
    exact = solve_ivp(rate, (0.0, 1e4), np.array([20.0, 20.0, 0.0]), events=there, rtol=1e-9, atol=1e-9)
    assert seconds[0] == pytest.approx(exact.t[-1], rel=1e-5)
    assert foot_c[:, 0] == pytest.approx(exact.y[:2, -1], abs=0.01)


def test_steady_is_where_the_loss_takes_up_the_heat() -> None:
    found = descent(0.05)
    steady_c = found.steady_c(COLD, np.full((2, 1), 2000.0))
    rise, _ = found.heating(steady_c)
    assert np.isfinite(steady_c).all()
    assert rise == pytest.approx(np.zeros((2, 1)), abs=1e-5)
    assert found.at_foot(COLD, 40_000.0)[0] == pytest.approx(steady_c, abs=0.5)


def test_a_hill_that_runs_away_has_no_steady_state() -> None:
    steady_c = descent(0.08).steady_c(COLD, np.full((2, 1), 250.0))
    assert np.isinf(steady_c).any()


def test_the_seconds_until_a_limit() -> None:
    found = descent(0.07)
    limit_c = np.array([[180.0], [180.0]])
    seconds = float(found.seconds_until(COLD, limit_c, np.array([True]))[0])

    def rate(_: float, t_c: FloatArray) -> FloatArray:
        return found.heating(t_c[:, None])[0][:, 0]

    exact = solve_ivp(rate, (0.0, seconds), np.array([20.0, 20.0]), rtol=1e-9, atol=1e-9)
    assert exact.y[:, -1].max() == pytest.approx(180.0, abs=0.02)
    assert np.isinf(found.seconds_until(COLD, limit_c, np.array([False]))[0])
    assert found.seconds_until(np.full((2, 1), 190.0), limit_c, np.array([True]))[0] == 0.0


def test_a_longer_or_steeper_hill_never_leaves_the_grid_cooler() -> None:
    longer = [float(descent().at_foot(COLD, length)[0].max()) for length in (100.0, 400.0, 900.0, 3000.0)]
    steeper = [float(descent(fall).at_foot(COLD, 600.0)[0].max()) for fall in (0.03, 0.04, 0.05, 0.06)]
    assert longer == sorted(longer)
    assert steeper == sorted(steeper)


def test_a_notch_of_too_many_ohms_does_not_hold_the_car() -> None:
    law: HillLaw = descent(0.02).law
    assert not law.holds(np.array([law.total_ohm[-1] * 1.01]))[0]
    assert law.holds(np.array([law.total_ohm[-1] * 0.99]))[0]


def test_hills_that_cannot_be_reckoned_are_refused() -> None:
    with pytest.raises(InputError, match="needs no brake"):
        descent(0.004)
    with pytest.raises(CurveError, match="where the motor curve ends"):
        descent(0.25)
    unlike = replace(MOTOR, each=(MotorOwn(), MotorOwn(wheel_diameter_m=0.7)))
    with pytest.raises(CircuitError, match="differ"):
        descent(notch=Notch("1", PARALLEL, None, (Run(("A",)), Run(("B",)))), motor=unlike)
    with pytest.raises(CircuitError, match="differ"):
        descent(notch=Notch("1", PARALLEL, None, (Run(("A",)), Run(("B",))))).at(COLD)
