"""Units against A. Thompson and B. N. Taylor, Guide for the Use of the International System of Units (SI),
NIST Special Publication 811, 2008 edition, Appendix B.8 (factors for units listed alphabetically).

The printed factors have seven figures (compared to half a unit of the last) unless marked exact there.
"""

import math

import pytest

from griddesign.units import read

NIST = "A. Thompson and B. N. Taylor, NIST SP 811 (2008), App. B.8"

EXACT = [
    ("1 in", "length", 0.0254),
    ("1 ft", "length", 0.3048),
    ("1 yd", "length", 0.9144),
    ("1 mi", "length", 1609.344),
    ("1 mil", "length", 2.54e-5),
    ("1 in2", "area", 6.4516e-4),
    ("1 ft2", "area", 9.290304e-2),
    ("1 kgf", "force", 9.80665),
    ("1 mph", "speed", 0.44704),
    ("1 ft/s", "speed", 0.3048),
    ("1 ft/min", "speed", 5.08e-3),
    ("1 electric hp", "power", 746.0),
    ("1 kWh", "energy", 3.6e6),
    ("1 Btu/(lb degF)", "specific_heat", 4186.8),
    ("1 W/cm2", "heat_flux", 1e4),
    ("1 g/cm3", "density", 1000.0),
    ("1 lb", "mass", 0.45359237),
]
SEVEN_FIGURES = [
    ("1 oz", "mass", 2.834952e-2),
    ("1 short ton", "mass", 9.071847e2),
    ("1 long ton", "mass", 1.016047e3),
    ("1 lbf", "force", 4.448222),
    ("1 lbf ft", "torque", 1.355818),
    ("1 lbf in", "torque", 1.129848e-1),
    ("1 hp", "power", 7.456999e2),
    ("1 metric hp", "power", 7.354988e2),
    ("1 cmil", "area", 5.067075e-10),
    ("1 ohm cmil/ft", "resistivity", 1.662426e-9),
    ("1 lb/in3", "density", 2.767990e4),
    ("1 lb/ft3", "density", 1.601846e1),
    ("1 psi", "stress", 6.894757e3),
    ("1 W/in2", "heat_flux", 1.550003e3),
    ("1 rpm", "rotational_speed", 1.047198e-1),
    ("1 deg", "angle", 1.745329e-2),
    ("1 km/h", "speed", 2.777778e-1),
    ("1 Btu/(h ft degF)", "conductivity", 1.730735),
    ("1 Btu/(h ft2 degF)", "heat_transfer", 5.678263),
]


@pytest.mark.parametrize(("text", "kind", "si"), EXACT)
def test_exact_factor(text: str, kind: str, si: float, checked) -> None:
    assert read(text, kind).value == si
    checked(NIST, "factors exact there (SI units)", si, read(text, kind).value)


@pytest.mark.parametrize(("text", "kind", "si"), SEVEN_FIGURES)
def test_printed_factor(text: str, kind: str, si: float, checked) -> None:
    last_figure = 10.0 ** (math.floor(math.log10(si)) - 6)
    assert read(text, kind).value == pytest.approx(si, rel=0.0, abs=0.5000001 * last_figure)
    checked(NIST, "factors of seven figures (SI units)", si, read(text, kind).value)


def test_one_ohm_circular_mil_per_foot_in_microhm_centimetres() -> None:
    """1.662426E-09 ohm metre in Appendix B.8, which is 0.1662426 µΩ·cm; 0.166243 as commonly rounded."""
    assert f"{read('1 ohm cmil/ft', 'resistivity').value / 1e-8:.6f}" == "0.166243"


def test_the_foot_is_not_the_us_survey_foot() -> None:
    """The survey foot is 1200/3937 m (Appendix B.6), two parts in a million longer."""
    assert read("1000000 ft", "length").value == 304800.0
    assert 1e6 * 1200 / 3937 - read("1000000 ft", "length").value == pytest.approx(0.6096, abs=1e-4)


def test_temperature_scales(checked) -> None:
    """t/degC = T/K - 273.15 and t/degC = (t/degF - 32)/1.8, exact in Appendix B.8."""
    assert read("212 degF", "temperature").value == 100.0
    assert read("68 degF", "temperature").value == 20.0
    assert read("0 K", "temperature").value == -273.15
    found = [read(text, "temperature").value for text in ("212 degF", "68 degF", "0 K")]
    checked(NIST, "temperature scales", [100.0, 20.0, -273.15], found, "degC")
