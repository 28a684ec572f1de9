"""Spellings the units door reads, with their SI values worked out here by other means, and those it refuses."""

import math

import pytest

from griddesign.errors import QuantityError
from griddesign.units import ABOUT_SHARE, ABOUT_TEMPERATURE_K, KINDS, Reading, read, read_at

INCH = 0.0254
FOOT = 0.3048
POUND = 0.45359237
POUND_FORCE = POUND * 9.80665

ACCEPTED = [
    # amounts: decimal, power of ten, fraction, mixed number, feet and inches, primes
    ("250 mm", "length", 0.25),
    ("250mm", "length", 0.25),
    ("-4 mm", "offset", -0.004),
    ("3/8 in", "offset", 0.375 * INCH),
    ("0.84 m", "length", 0.84),
    (".5 in", "length", 0.5 * INCH),
    ("1.2e-3 ohm", "resistance", 0.0012),
    ("15 mH", "inductance", 0.015),
    ("0.02 henry", "inductance", 0.02),
    ("1.2E3 W", "power", 1200.0),
    ("3/8 in", "length", 0.375 * INCH),
    ("7 3/8 in", "length", 0.187325),
    ("7 1/4 in", "length", 7.25 * INCH),
    ("7 1/4in.", "length", 7.25 * INCH),
    ("7½ in", "length", 7.5 * INCH),
    ("7 ½ in", "length", 7.5 * INCH),
    ("½ in", "length", 0.5 * INCH),
    ("12⅜″", "length", 12.375 * INCH),
    ("7 1⁄4 in", "length", 7.25 * INCH),
    ('10 1/4"', "length", 10.25 * INCH),
    ("10 1/4”", "length", 10.25 * INCH),
    ("3 ft 6 in", "length", 3.5 * FOOT),
    ("3 feet 6 1/2 inches", "length", 3 * FOOT + 6.5 * INCH),
    ("3ft. 6in.", "length", 3.5 * FOOT),
    ("3' 6 1/2\"", "length", 3 * FOOT + 6.5 * INCH),
    ("3'6\"", "length", 3.5 * FOOT),
    ("3'-6½″", "length", 3 * FOOT + 6.5 * INCH),
    ("3′ 6″", "length", 3.5 * FOOT),
    ("8 1/2 ft", "length", 8.5 * FOOT),
    ("9'", "length", 9 * FOOT),
    ("1234.5\u2009mm", "length", 1.2345),
    ("7\u00a01/4\u00a0in", "length", 7.25 * INCH),
    ("12.5\u202fmm", "length", 0.0125),
    ("  12.5   mm ", "length", 0.0125),
    ("20 mil", "length", 0.02 * INCH),
    ("20 thou", "length", 0.02 * INCH),
    ("30 µm", "length", 30e-6),
    ("30 \u03bcm", "length", 30e-6),
    ("2 miles", "length", 3218.688),
    # the shop's electrical words
    ("250 amps", "current", 250.0),
    ("130 A", "current", 130.0),
    ("550 VDC", "voltage", 550.0),
    ("0.55 kV", "voltage", 550.0),
    ("66 mΩ", "resistance", 0.066),
    ("66 m\u2126", "resistance", 0.066),
    ("66 milliohm", "resistance", 0.066),
    ("66 mohm", "resistance", 0.066),
    ("150 µΩ", "resistance", 150e-6),
    ("150 \u03bc\u2126", "resistance", 150e-6),
    ("5 MΩ", "resistance", 5e6),
    ("0 ohm", "resistance", 0.0),
    ("80 µΩcm", "resistivity", 80e-8),
    ("80 µΩ·cm", "resistivity", 80e-8),
    ("80 uohm.cm", "resistivity", 80e-8),
    ("80 microhm-cm", "resistivity", 80e-8),
    ("8e-7 ohm m", "resistivity", 8e-7),
    ("0.8 ohm mm2/m", "resistivity", 8e-7),
    ("0.8 Ω·mm²/m", "resistivity", 8e-7),
    ("10.37 ohm cmil/ft", "resistivity", 10.37 * math.pi / 4 * (INCH / 1000) ** 2 / FOOT),
    ("58 MS/m", "electrical_conductivity", 58e6),
    ("100 % IACS", "electrical_conductivity", 58e6),
    # temperature: never a coulomb, never an offset in a coefficient
    ("20 degC", "temperature", 20.0),
    ("20 °C", "temperature", 20.0),
    ("20 ° C", "temperature", 20.0),
    ("20 ºC", "temperature", 20.0),
    ("20 ℃", "temperature", 20.0),
    ("20 C", "temperature", 20.0),
    ("20 deg C", "temperature", 20.0),
    ("68 °F", "temperature", 20.0),
    ("-40 F", "temperature", -40.0),
    ("−40 °C", "temperature", -40.0),
    ("293.15 K", "temperature", 20.0),
    ("40 K", "temperature_difference", 40.0),
    ("72 degF", "temperature_difference", 40.0),
    ("0.004 /degC", "temperature_coefficient", 0.004),
    ("0.004 per °C", "temperature_coefficient", 0.004),
    ("0.004 K⁻¹", "temperature_coefficient", 0.004),
    ("3.9e-3 1/K", "temperature_coefficient", 0.0039),
    ("20 ppm/K", "temperature_coefficient", 20e-6),
    ("11.5 1e-6/K", "temperature_coefficient", 11.5e-6),
    ("-0.05 %/K", "temperature_coefficient", -0.0005),
    ("0.001 /degF", "temperature_coefficient", 0.0018),
    # the car
    ("13.5 t", "mass", 13500.0),
    ("30000 lbs", "mass", 30000 * POUND),
    ("15 short tons", "mass", 30000 * POUND),
    ("15 long tons", "mass", 33600 * POUND),
    ("31 km/h", "speed", 31 / 3.6),
    ("20 mph", "speed", 20 * 1609.344 / 3600),
    ("600 rpm", "rotational_speed", 20 * math.pi),
    ("10 rev/s", "rotational_speed", 20 * math.pi),
    ("600 min⁻¹", "rotational_speed", 20 * math.pi),
    ("3000 lbf", "force", 3000 * POUND_FORCE),
    ("1.2 kgf", "force", 1.2 * 9.80665),
    ("2.5 km/h/s", "acceleration", 2.5 / 3.6),
    ("1.5 mph/s", "acceleration", 1.5 * 0.44704),
    ("0.6 m/s²", "acceleration", 0.6),
    ("40 hp", "power", 40 * 550 * FOOT * POUND_FORCE),
    ("40 PS", "power", 40 * 75 * 9.80665),
    ("1/2 kWh", "energy", 1.8e6),
    ("45 N/t", "mass_resistance", 0.045),
    ("45 N per t", "mass_resistance", 0.045),
    ("10 lbf/short ton", "mass_resistance", 10 * 9.80665 / 2000),
    ("10 lbf per long ton", "mass_resistance", 10 * 9.80665 / 2240),
    ("4.5 kgf/t", "mass_resistance", 4.5 * 9.80665 / 1000),
    ("0.9 N/t per km/h", "mass_resistance_per_speed", 0.00324),
    ("0.9 N/(t·km/h)", "mass_resistance_per_speed", 0.00324),
    ("0.02 N/t per (km/h)²", "mass_resistance_per_speed2", 0.02e-3 * 3.6**2),
    ("0.02 N/t/(km/h)^2", "mass_resistance_per_speed2", 0.02e-3 * 3.6**2),
    ("10 %", "fraction", 0.1),
    ("10 per cent", "fraction", 0.1),
    ("0.1", "fraction", 0.1),
    ("25 ‰", "gradient", 0.025),
    ("1 in 40", "gradient", 0.025),
    ("-1 in 40", "gradient", -0.025),
    ("1:40", "gradient", 0.025),
    ("1/40", "gradient", 0.025),
    ("0", "gradient", 0.0),
    ("3.5", "number", 3.5),
    ("67/14", "number", 67 / 14),
    ("20", "count", 20.0),
    ("24 off", "count", 24.0),
    ("2 min", "time", 120.0),
    # matter and heat
    ("7200 kg/m³", "density", 7200.0),
    ("7.2 g/cm3", "density", 7200.0),
    ("490 J/(kg·K)", "specific_heat", 490.0),
    ("490 J/kg.K", "specific_heat", 490.0),
    ("0.117 Btu/(lb °F)", "specific_heat", 0.117 * 4186.8),
    ("48 W/(m K)", "conductivity", 48.0),
    ("12 W/(m²·K)", "heat_transfer", 12.0),
    ("0.8 W/cm²", "heat_flux", 8000.0),
    ("5 W per sq in", "heat_flux", 5 / INCH**2),
    ("40 N·m", "torque", 40.0),
    ("30 lbf-ft", "torque", 30 * POUND_FORCE * FOOT),
    ("150 MPa", "stress", 150e6),
    ("120 mm²", "area", 120e-6),
    ("0.2 sq. in.", "area", 0.2 * INCH**2),
    ("30°", "angle", math.pi / 6),
]

REJECTED = [
    # silently wrong in general readers of units
    ("1,5 mm", "length", "1.5"),
    ("1,500 mm", "length", "1000"),
    ("1 500 mm", "length", "1000"),
    ("1\u00a0500 mm", "length", "1000"),
    ("1\u2009500.5 mm", "length", "1000"),
    ("1_500 mm", "length", "separators"),
    ("1.500.000 mm", "length", "more than one number"),
    ("10 mm ± 0.1 mm", "length", "range"),
    ("10 mm +/- 0.1 mm", "length", "range"),
    ("10 +- 0.1 mm", "length", "range"),
    ("20 mil", "angle", "length"),
    ("20 C", "current", "temperature"),
    ("20 C", "length", "temperature"),
    ("5 lb/ton", "mass_resistance", "lbf/short ton"),
    ("5 lbf/ton", "mass_resistance", "lbf/long ton"),
    ("5 lb/short ton", "mass_resistance", "lbf"),
    ("5 kg/t", "mass_resistance", "kgf/t"),
    ("5 N/ton", "mass_resistance", "which ton"),
    ("0.9 lb/ton per mph", "mass_resistance_per_speed", "lbf/short ton"),
    ("0.02 N/t per km/h2", "mass_resistance_per_speed2", "(km/h)2"),
    # dashes, ranges, products
    ("7-1/4 in", "length", "7 1/4 in"),
    ("12-16 t", "mass", "12 t to 16 t"),
    ("12–16 t", "mass", "12 t to 16 t"),
    ("12 t - 16 t", "mass", "12 t to 16 t"),
    ("12..16 t", "mass", "12 t to 16 t"),
    ("16 t to 12 t", "mass", "smaller"),
    ("12 t to 16", "mass", "no unit"),
    ("5 % to 1", "fraction", "first number only"),
    ("about 12 t to 16 t", "mass", "range"),
    ("2 x 8 mm", "length", "multiplication"),
    ("1.2 × 10^-3 ohm", "resistance", "1.2e-3"),
    # numbers that are none
    ("", "length", "no quantity"),
    ("   ", "length", "no quantity"),
    ("mm", "length", "begin with a number"),
    ("nan mm", "length", "finite"),
    ("inf A", "current", "finite"),
    ("-infinity degC", "temperature", "finite"),
    ("1e99 m", "length", "exponent"),
    ("1e-400 m", "length", "exponent"),
    ("7 5/4 in", "length", "7 1/4"),
    ("71/4 in", "length", "space"),
    ("7\u00b9\u20444 in", "length", "space"),
    ("10² mm", "length", "1.2e3"),
    ("1/0 in", "length", "divides by 0"),
    ("3 1/0 in", "length", "divides by 0"),
    ("5. mm", "length", "more than one"),
    ("٣ mm", "length", "begin with a number"),
    ("1" * 90 + " mm", "length", "longer"),
    ("5 mm\n", "length", "one line"),
    ("5\u200b mm", "length", "U+200B"),
    # unit missing, of another kind, in the wrong capitals, ambiguous
    ("550", "voltage", "550 V"),
    ("10 1/4", "length", "in"),
    ("0", "resistance", "no unit"),
    ("5 kg", "length", "mass"),
    ("5 KG", "mass", "kg"),
    ("5 T", "mass", "long ton"),
    ("5 tons", "mass", "short ton"),
    ("5 MM", "length", "mm"),
    ("5 Mohm", "resistance", "megohm"),
    ("5 KV", "voltage", "kV"),
    ("600 VAC", "voltage", "direct current"),
    ("600 Rpm", "rotational_speed", "rpm"),
    ("20 °", "temperature", "degC"),
    ("20 k", "temperature", "K"),
    ("0.004 K", "temperature_coefficient", "measures a temperature"),
    ("80 ohm/m", "resistivity", "uohm cm"),
    ("30 lb ft", "torque", "lbf ft"),
    ("30 lb", "force", "lbf"),
    ("30 kg", "force", "kgf"),
    ("5 millimetrs", "length", "millimetres"),
    ("5 m", "time", "min"),
    ("1:30", "time", "90 s"),
    ("10 swg", "length", "3.2 mm"),
    ("0.1 cal/(g K)", "specific_heat", "calories"),
    ("5 mm", "number", "3.5"),
    ("3.5:1", "number", "67/14"),
    # signs and bounds
    ("-5 mm", "length", "below 0"),
    ("+5 mm", "length", "plus"),
    ("-13.5 t", "mass", "below 0"),
    ("-300 degC", "temperature", "-273.15"),
    ("-1 K", "temperature", "-273.15"),
    ("95", "fraction", "95 %"),
    ("120 %", "fraction", "more than 1"),
    ("4", "gradient", "4 %"),
    ("1 in 0", "gradient", "1 in 40"),
    ("2 in 40", "gradient", "1 in 40"),
    ("20.5", "count", "whole number"),
    ("-20", "count", "below 0"),
    # two things in one text
    ("3 ft 6", "length", "more than one number"),
    ("3 ft 14 in", "length", "Carry"),
    ("3.5 ft 6 in", "length", "more than one number"),
    ("3'6", "length", "more than one number"),
    ("10 1/4''", "length", "double prime"),
    ("5 lb 3 oz", "mass", "more than one number"),
    ("1 in 40", "length", "more than one number"),
    ("0.42 ohm at 75 degC", "resistance", "temperature"),
]


@pytest.mark.parametrize(("text", "kind", "si"), ACCEPTED, ids=[f"{text}-{kind}" for text, kind, _ in ACCEPTED])
def test_accepted_spelling(text: str, kind: str, si: float) -> None:
    reading = read(text, kind)
    assert reading.value == pytest.approx(si, rel=1e-12, abs=1e-12 if kind == "temperature" else 0.0)
    assert reading == Reading(reading.value, reading.value, reading.value, False)


@pytest.mark.parametrize(("text", "kind", "word"), REJECTED, ids=[f"{text!a}-{kind}" for text, kind, _ in REJECTED])
def test_rejected_spelling_says_what_would_do(text: str, kind: str, word: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read(text, kind)
    (complaint,) = caught.value.complaints()
    assert word in complaint.text()
    assert complaint.hint


def test_the_tables_are_long_enough() -> None:
    assert len({(text, kind) for text, kind, _ in ACCEPTED}) >= 60
    assert len({(text, kind) for text, kind, _ in REJECTED}) >= 60
    assert {kind for _, kind, _ in ACCEPTED} == set(KINDS)


@pytest.mark.parametrize("word", ["about ", "About ", "approx. ", "approximately ", "ca. ", "circa ", "~", "≈ "])
def test_about_reaches_a_tenth_either_way(word: str) -> None:
    reading = read(f"{word}14 t", "mass")
    assert ABOUT_SHARE == 0.10
    assert reading == Reading(14000.0, 12600.0, 15400.0, True)


def test_about_a_temperature_is_in_kelvin_and_stops_at_absolute_zero() -> None:
    assert ABOUT_TEMPERATURE_K == 10.0
    assert read("about 0 degC", "temperature") == Reading(0.0, -10.0, 10.0, True)
    assert read("about 5 K", "temperature").low == -273.15


def test_about_stays_inside_what_the_kind_allows() -> None:
    assert read("about 95 %", "fraction") == Reading(0.95, 0.855, 1.0, True)
    assert read("about -2 %", "gradient") == Reading(-0.02, -0.022, -0.018, True)


@pytest.mark.parametrize(
    ("text", "kind", "low", "high"),
    [
        ("12 t to 16 t", "mass", 12000.0, 16000.0),
        ("12 to 16 t", "mass", 12000.0, 16000.0),
        ("900 kg to 1.1 t", "mass", 900.0, 1100.0),
        ("3/8 to 1/2 in", "length", 0.009525, 0.0127),
        ("3' to 3' 6\"", "length", 0.9144, 1.0668),
        ("-5 to 40 degC", "temperature", -5.0, 40.0),
        ("-40 degC to -5 degC", "temperature", -40.0, -5.0),
        ("5 to 10 %", "fraction", 0.05, 0.10),
        ("1 in 50 to 1 in 40", "gradient", 0.02, 0.025),
        ("1 in 50 to 5 %", "gradient", 0.02, 0.05),
        ("20 to 24", "count", 20.0, 24.0),
    ],
)
def test_a_range_keeps_its_ends(text: str, kind: str, low: float, high: float) -> None:
    assert read(text, kind) == Reading(pytest.approx((low + high) / 2, rel=1e-15), low, high, False)


def test_resistance_at_a_temperature() -> None:
    assert read_at("0.42 ohm at 75 degC", "resistance") == (
        Reading(0.42, 0.42, 0.42, False),
        Reading(75, 75, 75, False),
    )
    assert read_at("0.42 Ω @ 167 °F", "resistance")[1] == Reading(75, 75, 75, False)
    assert read_at("about 0.42 ohm at 75 degC", "resistance")[0].approximate
    assert read_at("0.4 to 0.5 ohm at 15 to 25 degC", "resistance")[1] == Reading(20, 15, 25, False)
    assert read_at("0.42 ohm", "resistance") == (Reading(0.42, 0.42, 0.42, False), None)


@pytest.mark.parametrize(
    "text", ["0.42 ohm at", "at 75 degC", "0.42 ohm at 75", "0.42 ohm at 75 ohm", "0.42 at 75 degC"]
)
def test_resistance_at_no_temperature(text: str) -> None:
    with pytest.raises(QuantityError):
        read_at(text, "resistance")


def test_an_unknown_kind_is_the_callers_mistake() -> None:
    with pytest.raises(KeyError):
        read("5 mm", "lenght")
