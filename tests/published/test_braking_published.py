"""Braking against printed rows.

G. K. Dubey, Fundamentals of Electrical Drives, chapter 5, Ex 5.7; B. L. Theraja and A. K. Theraja, A Textbook of
Electrical Technology, vol. III, Ex 43.32, p. 1751; two examples of open-circuit characteristics, Ex 18.1 and 18.3 of
a textbook re-worked in the Scilab textbook companions of FOSSEE, IIT Bombay (its file does not name the book). All seen
in published companions that re-work the examples; the printed books were not seen. Where a companion reads a figure
off a plot, the tolerance is that of the reading.
"""

from math import pi

import numpy as np
import pytest

from griddesign.traction.braking.build_up import build_up
from griddesign.traction.braking.excited import Excited
from griddesign.traction.braking.records import Braking
from griddesign.traction.records import MagnetisationPoints
from griddesign.traction.runup.table import CurveTable

DUBEY = "G. K. Dubey, Fundamentals of Electrical Drives, ch. 5, Ex 5.7"
THERAJA = "B. L. Theraja and A. K. Theraja, A Textbook of Electrical Technology, vol. III, Ex 43.32, p. 1751"
COMPANION = "Textbook companion of FOSSEE, IIT Bombay (book not named in its file)"

RPM = 2.0 * pi / 60.0


def generator(speed_rpm: float, current_a: tuple[float, ...], emf_v: tuple[float, ...]) -> Excited:
    return Excited(CurveTable(MagnetisationPoints(speed_rpm * RPM, current_a, emf_v)))


def asked(speed_rpm: float) -> Braking:
    """A brake put on at this motor speed, one m/s of the car being one rad/s of the motors."""
    return Braking((), speed_rpm * RPM, 100.0, field_reversed=True)


def test_dubey_5_7_a_series_motor_holds_an_overhauling_load(checked) -> None:
    """500 N·m at 600 rpm, motor 0.5 ohm: about 56 A and 9.486 ohm of braking resistance, read off a plot.

    Magnetisation at 500 rpm. At the printed resistance and speed our current and torque come out within 1 per cent.
    """
    emf = (215.0, 310.0, 381.0, 437.0, 482.0, 519.0, 550.0)
    found = generator(500.0, (20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0), emf)
    current = float(found.current_a(np.array([(9.486 + 0.5) / (600.0 * RPM)]))[0])
    torque = float(found.table.read(np.array([current]))[0][0]) * current
    assert current == pytest.approx(56.0, rel=0.01)
    assert torque == pytest.approx(500.0, rel=0.015)
    checked(DUBEY, "braking current (read off a plot)", 56.0, current, "A")
    checked(DUBEY, "braking torque (read off a plot)", 500.0, torque, "N·m")


def test_theraja_43_32_the_current_at_the_first_instant_of_braking(checked) -> None:
    """Motor 0.6 ohm, rheostat 3.0 ohm, 48 km/h, where the motor took 100 A from 600 V: 540 V and 150 A.

    The book keeps the flux the motor had; once the flux has followed the current, it is more, since iron at 150 A has
    more flux than at 100 A. The speeds at 250 A are left out: they would have the flux fall with the current.
    """
    amps, kmh = np.array([50.0, 100.0, 150.0, 200.0]), np.array([73.6, 48.0, 41.1, 37.3])
    found = generator(1.0 / RPM, tuple(amps), tuple((600.0 - 0.6 * amps) / kmh))  # V per km/h
    emf_v = float(found.table.read(np.array([100.0]))[0][0]) * 48.0
    assert emf_v == pytest.approx(540.0, rel=1e-12)
    assert emf_v / (3.0 + 0.6) == pytest.approx(150.0, rel=1e-12)
    assert float(found.current_a(np.array([3.6 / 48.0]))[0]) > 150.0
    checked(THERAJA, "emf at the first instant", 540.0, emf_v, "V")
    checked(THERAJA, "current at the first instant, flux kept", 150.0, emf_v / 3.6, "A")


def test_example_18_3_critical_resistance_and_critical_speed(checked) -> None:
    """Open-circuit characteristic at 750 rpm: critical resistance 100 ohm; with 70 ohm the critical speed is 525 rpm.

    The example is of a shunt field, where R is that of the field circuit; the line of the least slope is the same.
    """
    found = generator(750.0, (0.5, 1.0, 1.5, 2.0, 2.5), (50.0, 84.0, 105.0, 120.0, 131.0))
    one = build_up("F", found, 70.0, asked(750.0), 1.0)
    assert one.critical_ohm == pytest.approx(100.0, rel=1e-12)
    assert one.critical_m_s / RPM == pytest.approx(525.0, rel=1e-12)
    assert build_up("F", found, 120.0, asked(750.0), 1.0).answer == "does not build up"
    checked(f"{COMPANION}, Ex 18.3", "critical resistance", 100.0, one.critical_ohm, "ohm")
    checked(f"{COMPANION}, Ex 18.3", "critical speed", 525.0, one.critical_m_s / RPM, "rpm")


def test_example_18_1_critical_resistance(checked) -> None:
    """40 V at 0.2 A, the lowest point: critical resistance 200 ohm at the speed of the characteristic."""
    emf = (40.0, 66.0, 86.0, 101.0, 112.0, 121.0, 128.0, 133.0)
    found = generator(1000.0, tuple(0.2 * place for place in range(1, 9)), emf)
    one = build_up("F", found, 94.0, asked(1000.0), 1.0)
    assert one.critical_ohm == pytest.approx(200.0, rel=1e-12)
    checked(f"{COMPANION}, Ex 18.1", "critical resistance", 200.0, one.critical_ohm, "ohm")


def test_example_18_1_open_circuit_voltage(checked) -> None:
    """Field circuit 94 ohm: 126 V, read off the plot."""
    emf = (40.0, 66.0, 86.0, 101.0, 112.0, 121.0, 128.0, 133.0)
    found = generator(1000.0, tuple(0.2 * place for place in range(1, 9)), emf)
    current = float(found.current_a(np.array([94.0 / (1000.0 * RPM)]))[0])
    assert 94.0 * current == pytest.approx(126.0, rel=0.005)
    checked(f"{COMPANION}, Ex 18.1", "open-circuit voltage (read off a plot)", 126.0, 94.0 * current, "V")
