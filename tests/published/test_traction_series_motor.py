"""Series-motor data of the textbooks through the motor curve.

B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III, Ex 43.22, 43.23 (p. 1737), 43.24; J. B.
Gupta et al., Utilization of Electrical Energy and Traction, Ex 8.2 (p. 238), Ex 8.7 (p. 244). Seen in published
companions that re-work the examples; the printed books were not seen.
"""

from math import pi

import pytest

from griddesign.traction.curve import MotorCurve
from griddesign.traction.records import Car, MagnetisationPoints, RunningResistance
from griddesign.traction.textbook import regeared, unlike_in_series

THERAJA = "B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III"
GUPTA = "J. B. Gupta et al., Utilization of Electrical Energy and Traction"

RPM = pi / 30.0


def test_theraja_43_23_speed_and_torque(checked) -> None:
    curve = MotorCurve(MagnetisationPoints(600.0 * RPM, (20.0, 40.0, 60.0, 80.0), (215.0, 381.0, 485.0, 550.0)))
    published = {20.0: (1630, 68.4), 40.0: (894, 242.6), 60.0: (683, 463.2), 80.0: (585, 700.3)}
    for current, (speed, torque) in published.items():
        assert curve.speed_rad_s(600.0, 0.8, current) / RPM == pytest.approx(speed, abs=0.6)
        assert curve.torque_nm(current) == pytest.approx(torque, abs=0.06)
    speeds, torques = zip(*published.values(), strict=True)
    found = [curve.speed_rad_s(600.0, 0.8, current) / RPM for current in published]
    checked(f"{THERAJA}, Ex 43.23, p. 1737", "speed", speeds, found, "rpm")
    checked(f"{THERAJA}, Ex 43.23, p. 1737", "torque", torques, [curve.torque_nm(each) for each in published], "N·m")


def test_theraja_43_22_speed_from_torque(checked) -> None:
    currents = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)
    torques = (20.0, 50.0, 100.0, 155.0, 215.0, 290.0, 360.0, 430.0)
    published = (546, 434, 323, 276, 247, 218, 204, 194)
    emfs = tuple(torque / current for torque, current in zip(torques, currents, strict=True))
    curve = MotorCurve(MagnetisationPoints(1.0, currents, emfs))
    for current, speed in zip(currents, published, strict=True):
        assert curve.speed_rad_s(230.0, 0.3, current) / RPM == pytest.approx(speed, abs=1.0)
    found = [curve.speed_rad_s(230.0, 0.3, current) / RPM for current in currents]
    checked(f"{THERAJA}, Ex 43.22", "speed (printed whole)", published, found, "rpm")


def test_gupta_8_7_gear_and_wheels(checked) -> None:
    car = Car(1.0, 0.0, 0.85, 71.0 / 21.0, 1.0, RunningResistance())
    on_speed, on_effort = regeared(car, 74.0 / 19.0, 0.90)
    speeds, efforts = (80.0, 50.0, 45.0, 42.0, 38.0, 35.0), (1.7, 5.0, 10.0, 14.0, 16.0, 20.0)
    assert [v * on_speed for v in speeds] == pytest.approx((73.53, 45.96, 41.36, 38.60, 34.93, 32.17), abs=0.02)
    assert [f * on_effort for f in efforts] == pytest.approx((1.85, 5.44, 10.88, 15.23, 17.41, 21.76), abs=6e-3)
    printed = (73.53, 45.96, 41.36, 38.60, 34.93, 32.17)
    checked(f"{GUPTA}, Ex 8.7, p. 244", "speed with another gear", printed, [v * on_speed for v in speeds], "km/h")
    printed = (1.85, 5.44, 10.88, 15.23, 17.41, 21.76)
    checked(f"{GUPTA}, Ex 8.7, p. 244", "effort with another gear", printed, [f * on_effort for f in efforts], "kN")


def test_theraja_43_24_unlike_motors_in_series(checked) -> None:
    speed, first, second = unlike_in_series(500.0, 0.3, 50.0, 500.0, (900.0, 950.0))
    assert speed == pytest.approx(447.87, abs=0.06)
    assert (first, second) == pytest.approx((256.35, 243.65), abs=0.02)
    checked(f"{THERAJA}, Ex 43.24", "speed of unlike motors in series", 447.87, speed, "rpm")
    checked(f"{THERAJA}, Ex 43.24", "volts of unlike motors in series", [256.35, 243.65], [first, second], "V")
