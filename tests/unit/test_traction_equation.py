"""One motor string's equation, and the root finder under it."""

from math import cos, pi

import pytest

from griddesign.errors import CurveError
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import copper_ohm, current_a, frozen_flux_a, speed_rad_s, total_ohm
from griddesign.traction.records import Grouping, MagnetisationPoints
from griddesign.traction.root import rising_root, steep_root

CURVE = MotorCurve(
    MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
)


def test_total_ohms_of_common_grid_and_grid_per_string() -> None:
    pairs = Grouping(2, 2)
    assert total_ohm(pairs, 0.4, 0.05, common_ohm=3.0) == pytest.approx(2 * 0.4 + 2 * (3.0 + 0.05))
    assert total_ohm(pairs, 0.4, 0.05, string_ohm=3.0) == pytest.approx(2 * 0.4 + 3.0 + 2 * 0.05)


def test_copper_ohms_follow_temperature() -> None:
    assert copper_ohm(0.42, 75.0, 75.0) == pytest.approx(0.42, rel=1e-15)
    assert copper_ohm(0.42, 75.0, 20.0) == pytest.approx(0.42 * 254.5 / 309.5)


@pytest.mark.parametrize("speed", [0.0, 1.0, 40.0, 150.0])
@pytest.mark.parametrize(("total", "series"), [(5.0, 2), (0.9, 1)])
def test_the_current_satisfies_the_equation(speed: float, total: float, series: int) -> None:
    current = current_a(550.0, total, series, CURVE.held_above(), speed)
    emf = 0.0 if speed == 0.0 else series * CURVE.held_above().k(current) * speed
    assert current * total + emf == pytest.approx(550.0, rel=1e-12)


def test_speed_and_current_are_inverse() -> None:
    speed = speed_rad_s(550.0, 2.3, 2, CURVE, 77.0)
    assert current_a(550.0, 2.3, 2, CURVE, speed) == pytest.approx(77.0, rel=1e-12)


def test_series_motors_share_the_voltage_and_parallel_motors_have_all_of_it() -> None:
    motor, grid = 0.42, 1.5
    speed = 30.0
    series = current_a(550.0, total_ohm(Grouping(2, 1), motor, common_ohm=grid), 2, CURVE, speed)
    each = series * motor + CURVE.k(series) * speed
    assert 2.0 * each + series * grid == pytest.approx(550.0)
    parallel = current_a(550.0, total_ohm(Grouping(1, 2), motor), 1, CURVE, 90.0)
    assert parallel * motor + CURVE.k(parallel) * 90.0 == pytest.approx(550.0)


def test_a_current_beyond_the_curve_is_refused_unless_the_car_stands() -> None:
    assert current_a(550.0, 1.0, 1, CURVE, 0.0) == 550.0
    with pytest.raises(CurveError, match="passes 140 A"):
        current_a(550.0, 1.0, 1, CURVE, 5.0)


def test_frozen_flux_bounds_the_peak() -> None:
    leaving, arriving, valley = 3.4, 2.0, 91.0
    speed = speed_rad_s(550.0, leaving, 2, CURVE, valley)
    bound = frozen_flux_a(550.0, arriving, 550.0 - valley * leaving, 1.0)
    assert current_a(550.0, arriving, 2, CURVE.held_above(), speed) < bound


def test_root_of_known_functions() -> None:
    assert rising_root(lambda x: x**3 - 2.0, 0.0, 5.0) == pytest.approx(2.0 ** (1.0 / 3.0), rel=1e-12)
    assert rising_root(lambda x: x - cos(x), 0.0, 2.0) == pytest.approx(0.7390851332151607, rel=1e-12)
    assert rising_root(lambda x: -1.0 if x < 0.3 else 1.0, 0.0, 1.0) == pytest.approx(0.3, rel=1e-12)


def test_root_stays_on_the_side_that_is_not_above_zero() -> None:
    calls: list[float] = []

    def rising(x: float) -> float:
        calls.append(x)
        return x**5 - 0.1

    assert rising(rising_root(rising, 0.0, 10.0)) <= 0.0
    assert len(calls) < 60


def test_root_with_one_sign_gives_the_nearer_end() -> None:
    assert rising_root(lambda x: x + 1.0, 0.0, 1.0) == 0.0
    assert rising_root(lambda x: x - 2.0, 0.0, 1.0) == 1.0


def test_root_by_slope_from_any_guess_even_where_a_step_would_leap_out() -> None:
    for guess in (0.0, 0.1, 1.0, 4.9, 5.0):
        found = steep_root(lambda x: (x**3 - 2.0, 3.0 * x * x), 0.0, 5.0, guess)
        assert found == pytest.approx(2.0 ** (1.0 / 3.0), rel=1e-12)
    bent = steep_root(lambda x: (x + 1e3 * max(0.0, x - 0.7) - 0.9, 1.0 + 1e3 * (x > 0.7)), 0.0, 1.0, 0.1)
    assert bent == pytest.approx((0.9 + 700.0) / 1001.0, rel=1e-12)


def test_root_by_slope_where_plain_newton_steps_answer_each_other_for_ever() -> None:
    """A curve of level parts and a steep one between: from the guess of ``current_a`` two points lead to each other."""
    stepped = MotorCurve(MagnetisationPoints(80.0, (30.0, 110.0, 146.0, 245.0), (153.0, 154.0, 155.0, 254.0)))
    found = current_a(300.0, 0.5, 2, stepped.held_above(), 38.0)
    assert found * 0.5 + 2 * 38.0 * stepped.k(found) == pytest.approx(300.0, rel=1e-12)
