"""The motor curve: the monotone cubic, its ends, and what is refused."""

import subprocess
import sys
from math import nan, pi

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from griddesign.errors import CurveError
from griddesign.traction.curve import MotorCurve, monotone_slopes
from griddesign.traction.records import MagnetisationPoints

POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))


@pytest.mark.parametrize(
    ("x", "y"),
    [
        ((0.0, *POINTS.current_a), (0.0, *POINTS.emf_v)),
        ((0.0, 1.0, 10.0), (0.0, 9.0, 9.5)),
        ((0.0, 2.0), (0.0, 3.0)),
        ((0.0, 1.0, 2.0, 3.0), (0.0, 1.0, 1.0, 4.0)),
    ],
)
def test_cubic_agrees_with_scipy(x: tuple[float, ...], y: tuple[float, ...]) -> None:
    reference = PchipInterpolator(x, y)
    assert monotone_slopes(x, y) == pytest.approx(list(reference.derivative()(np.array(x))), rel=1e-12, abs=1e-12)


def test_curve_agrees_with_scipy_between_the_points() -> None:
    at = np.linspace(0.0, 140.0, 997)
    reference = PchipInterpolator((0.0, *POINTS.current_a), (0.0, *POINTS.emf_v))(at) / POINTS.speed_rad_s
    curve = MotorCurve(POINTS)
    assert curve.k_each(at) == pytest.approx(reference, rel=1e-12, abs=1e-15)
    assert [curve.k(float(current)) for current in at] == pytest.approx(list(reference), rel=1e-12, abs=1e-15)


def test_slope_agrees_with_scipy_and_is_level_where_the_curve_is_held() -> None:
    curve = MotorCurve(POINTS)
    same = PchipInterpolator((0.0, *POINTS.current_a), (0.0, *(emf / POINTS.speed_rad_s for emf in POINTS.emf_v)))
    for current in np.linspace(0.0, POINTS.current_a[-1], 41).tolist():
        k, slope = curve.k_and_slope(current)
        assert k == curve.k(current)
        assert slope == pytest.approx(float(same(current, 1)), rel=1e-9, abs=1e-12)
    assert curve.held_above().k_and_slope(2.0 * POINTS.current_a[-1]) == (curve.k(POINTS.current_a[-1]), 0.0)
    for outside in (-1.0, 2.0 * POINTS.current_a[-1]):
        with pytest.raises(CurveError):
            curve.k_and_slope(outside)


def test_curve_goes_through_its_points_and_zero() -> None:
    curve = MotorCurve(POINTS)
    assert curve.k(0.0) == 0.0
    for current, emf in zip(POINTS.current_a, POINTS.emf_v, strict=True):
        assert curve.k(current) * POINTS.speed_rad_s == pytest.approx(emf, rel=1e-14)


def test_outside_the_curve() -> None:
    curve = MotorCurve(POINTS)
    with pytest.raises(CurveError, match="141 A lies outside the motor curve, which ends at 140 A"):
        curve.k(141.0)
    with pytest.raises(CurveError):
        curve.k(-1.0)
    with pytest.raises(CurveError):
        curve.k_each(np.array([10.0, 150.0]))
    assert curve.held_above().k(200.0) == curve.k(140.0)
    assert curve.held_above().k_each(np.array([200.0]))[0] == curve.k(140.0)
    assert curve.below_lowest(14.9)
    assert not curve.below_lowest(15.0)


@pytest.mark.parametrize(
    ("speed", "current", "emf", "says"),
    [
        (60.0, (10.0, 10.0), (100.0, 150.0), "point 2 of the motor curve: current 10 A after 10 A"),
        (60.0, (10.0, 20.0), (100.0, 90.0), "point 2 of the motor curve: emf 90 V after 100 V"),
        (60.0, (10.0, 20.0, 30.0), (100.0, 150.0, 240.0), "point 3 of the motor curve: 8 V per A after 7.5 V per A"),
        (60.0, (-10.0, 20.0), (100.0, 150.0), "point 1 of the motor curve: current -10 A after 0 A"),
        (60.0, (10.0, nan), (100.0, 150.0), "point 2 of the motor curve: current nan A"),
        (60.0, (10.0, 20.0), (100.0,), "2 currents and 1 emfs"),
        (0.0, (10.0, 20.0), (100.0, 150.0), "at a speed of 0 rad/s"),
    ],
)
def test_what_is_no_motor_curve(speed: float, current: tuple[float, ...], emf: tuple[float, ...], says: str) -> None:
    with pytest.raises(CurveError, match=says) as caught:
        MotorCurve(MagnetisationPoints(speed, current, emf))
    assert caught.value.hint


def test_the_ladder_loads_scipy_only_when_it_is_used() -> None:
    code = "import sys, griddesign.traction.ladder, griddesign.traction.given; print('scipy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
