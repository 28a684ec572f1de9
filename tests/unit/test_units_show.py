"""What paper shows: units of the trade, figures kept, and nothing of pint's own formatting."""

import math

import pytest

from griddesign.errors import QuantityError
from griddesign.units import KINDS, Reading, show, show_change, show_fraction, show_range, show_reading, show_tiny

SHOWN = [
    (0.069, "resistance", "69.0 mΩ", "69.0 mΩ"),
    (1.63, "resistance", "1.63 Ω", "1.63 Ω"),
    (0.9996, "resistance", "1.00 Ω", "1.00 Ω"),
    (0.000151, "resistance", "151 µΩ", "151 µΩ"),
    (2.2e6, "resistance", "2.20 MΩ", "2.20 MΩ"),
    (0.0, "resistance", "0 Ω", "0 Ω"),
    (0.25, "length", "250 mm", "9.84 in"),
    (1.2344, "length", "1234 mm", "48.6 in"),
    (0.008, "length", "8.00 mm", "0.315 in"),
    (164.6, "length", "165 m", "540 ft"),
    (13500.0, "mass", "13.5 t", "29762 lb"),
    (0.55, "mass", "0.550 kg", "1.21 lb"),
    (130.0, "current", "130 A", "130 A"),
    (550.0, "voltage", "550 V", "550 V"),
    (1500.0, "voltage", "1500 V", "1500 V"),
    (8.6, "speed", "31.0 km/h", "19.2 mph"),
    (20 * math.pi, "rotational_speed", "600 rpm", "600 rpm"),
    (283.2, "temperature", "283 °C", "542 °F"),
    (-40.0, "temperature", "\u221240 °C", "\u221240 °F"),
    (-0.2, "temperature", "0 °C", "32 °F"),
    (40.0, "temperature_difference", "40 K", "72 °F"),
    (0.00393, "temperature_coefficient", "0.00393 /K", "0.00218 /°F"),
    (1.2e-5, "temperature_coefficient", "12.0 ppm/K", "6.67 ppm/°F"),
    (8e-7, "resistivity", "80.0 µΩ·cm", "80.0 µΩ·cm"),
    (0.045, "mass_resistance", "45.0 N/t", "9.18 lbf/short ton"),
    (0.1, "fraction", "10.0 %", "10.0 %"),
    (-0.025, "gradient", "\u22122.50 %", "\u22122.50 %"),
    (3.5, "number", "3.50", "3.50"),
    (20.0, "count", "20", "20"),
    (45.0, "time", "45.0 s", "45.0 s"),
    (7200.0, "density", "7200 kg/m³", "0.260 lb/in³"),
    (490.0, "specific_heat", "490 J/(kg·K)", "0.117 Btu/(lb·°F)"),
    (0.5236, "angle", "30.0°", "30.0°"),
]


@pytest.mark.parametrize(("value", "kind", "metric", "inch"), SHOWN)
def test_shown(value: float, kind: str, metric: str, inch: str) -> None:
    assert show(value, kind) == metric
    assert show(value, kind, units="inch") == inch


@pytest.mark.parametrize(("digits", "text"), [(1, "0.1"), (2, "0.12"), (4, "0.1235"), (6, "0.123457")])
def test_digits_are_significant_digits(digits: int, text: str) -> None:
    assert show(0.123456789, "number", digits=digits) == text


def test_figures_before_the_point_are_never_rounded_away() -> None:
    assert show(12.3456, "number", digits=1) == "12"
    assert show(8.6543, "length", digits=2) == "8654 mm"


def test_tenths_of_a_degree_at_four_digits() -> None:
    assert show(283.24, "temperature", digits=4) == "283.2 °C"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_nothing_infinite_reaches_paper(value: float) -> None:
    for call in (lambda: show(value, "time"), lambda: show_range(0.0, value, "time"), lambda: show_fraction(value)):
        with pytest.raises(QuantityError, match="is no value"):
            call()


def test_callers_mistakes() -> None:
    with pytest.raises(KeyError):
        show(1.0, "lenght")
    with pytest.raises(KeyError):
        show(1.0, "length", units="cubits")
    with pytest.raises(ValueError, match="digits"):
        show(1.0, "length", digits=0)
    with pytest.raises(ValueError, match="power of 2"):
        show_fraction(1.0, parts=10)


def test_every_kind_can_be_shown() -> None:
    for kind in KINDS:
        for units in ("mm", "inch"):
            assert show(0.5, kind, units=units)


@pytest.mark.parametrize(
    ("value_m", "text"),
    [
        (0.25, "9 27/32 in"),
        (0.254, "10 in"),
        (0.0127, "1/2 in"),
        (0.0, "0 in"),
        (0.2539, "10 in"),
        (0.187325, "7 3/8 in"),
        (-0.00635, "\u22121/4 in"),
    ],
)
def test_fractions_of_an_inch(value_m: float, text: str) -> None:
    assert show_fraction(value_m) == text


def test_finer_fractions_of_an_inch() -> None:
    assert show_fraction(0.0254 * 17 / 64, parts=64) == "17/64 in"
    assert show_fraction(0.0254 * 17 / 64, parts=8) == "1/4 in"


def test_ranges() -> None:
    assert show_range(12000, 16000, "mass") == "12.0 to 16.0 t"
    assert show_range(0.9, 1.1, "resistance") == "0.900 to 1.10 Ω"
    assert show_range(1.0, 1.0, "resistance") == "1.00 Ω"
    assert show_range(-5, 40, "temperature") == "\u22125 to 40 °C"


def test_the_ends_of_a_range_never_look_alike() -> None:
    assert show_range(1.00001, 1.00002, "resistance") == "1.00001 to 1.00002 Ω"


def test_readings() -> None:
    assert show_reading(Reading(14000, 12600, 15400, True), "mass") == "≈ 14.0 t"
    assert show_reading(Reading(14000, 12000, 16000, False), "mass") == "12.0 to 16.0 t"
    assert show_reading(Reading(14000, 14000, 14000, False), "mass") == "14.0 t"


def test_signed_shares_and_a_nothing_that_is_not_below_nothing() -> None:
    assert show_change(0.021) == "+2.1 %"
    assert show_change(-0.013) == "\u22121.3 %"
    assert show_change(-0.0004) == "+0.0 %"
    assert show_change(-0.0004, 2) == "\u22120.04 %"


def test_a_share_that_hardly_counts_is_said_in_words() -> None:
    assert show_tiny(2e-8) == "under 1 part in ten million"
    assert show_tiny(-7e-10) == "under 1 part in a thousand million" == show_tiny(0.0)
    assert show_tiny(9.9e-5) == "under 1 part in ten thousand"
    assert show_tiny(-0.0021) == "0.21 %"
