"""Resistance and specific heat against temperature, the user's own figures, both ends of weak ones."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from griddesign import metals
from griddesign.errors import QuantityError, TableError
from griddesign.figures import Figure, Status
from griddesign.metals import COLD_C, Metal, alpha_from_two, metal, resistivity_from

EVERY = [metal(key) for key in metals.metal_keys()]


@pytest.mark.parametrize("each", EVERY, ids=lambda each: each.key)
def test_cold_ratio_is_exactly_one(each: Metal) -> None:
    assert each.ratio(COLD_C) == 1.0
    assert each.ratio(np.array([20.0]))[0] == 1.0
    assert each.at_ends(alpha20="low").ratio(COLD_C) == 1.0
    assert each.resistivity_at(COLD_C) == each.resistivity.value


@pytest.mark.parametrize("each", EVERY, ids=lambda each: each.key)
def test_one_temperature_and_an_array_agree_digit_for_digit(each: Metal) -> None:
    t_c = np.array([-40.0, 0.0, 20.0, 99.9, 100.0, 357.1, 400.0, 1500.0])
    assert each.ratio(t_c).tolist() == [each.ratio(float(t)) for t in t_c]
    assert each.specific_heat(t_c).tolist() == [each.specific_heat(float(t)) for t in t_c]
    assert each.ratio(t_c.reshape(2, 4)).shape == (2, 4)


@pytest.mark.parametrize("each", EVERY, ids=lambda each: each.key)
def test_the_points_of_the_table_are_met(each: Metal) -> None:
    for t_c, ratio in zip(each.ratio_points_c, each.ratio_points, strict=True):
        assert each.ratio(t_c) == pytest.approx(ratio, rel=1e-14)
    for t_c, heat in zip(each.heat_points_c, each.heat_points, strict=True):
        assert each.specific_heat(t_c) == pytest.approx(heat, rel=1e-14)
    assert each.top_c == each.ratio_points_c[-1]


def test_linear_law() -> None:
    iron = metal("grey_iron_class30")
    assert iron.law == "linear"
    assert iron.ratio_points_c == (20.0, 450.0)
    assert iron.ratio(400.0) == pytest.approx(1.0 + 1.9e-3 * 380.0)
    assert iron.ratio(600.0) == pytest.approx(1.0 + 1.9e-3 * 580.0)


def test_table_law_goes_straight_between_and_on_with_the_last_slope() -> None:
    steel = metal("steel_low_carbon")
    assert steel.law == "table"
    assert steel.ratio(300.0) == pytest.approx((1.852 + 3.225) / 2.0)
    assert steel.ratio(1100.0) == pytest.approx(8.204 + (8.204 - 7.613) / 2.0)
    assert steel.ratio(0.0) == pytest.approx(1.0 - 20.0 * 0.338 / 80.0)
    assert steel.alpha20.value == pytest.approx(0.338 / 80.0)
    assert steel.alpha20.status is Status.DERIVED_MEMORY


def test_alpha_of_a_table_says_how_it_was_found() -> None:
    assert metal("nicr_80_20").alpha20.status is Status.DERIVED
    assert "slope of the table from 20 to 100 degC" in metal("nicr_80_20").alpha20.note
    assert metal("ss310").alpha20.status is Status.ESTIMATE  # the curve of another metal


@pytest.mark.parametrize(
    ("key", "low", "high"), [("nicr_80_20", 1.0, 2.85), ("nicr_60_16", 0.93, 1.13), ("ss304", 1.0, 1.07)]
)
def test_the_stated_range_of_the_rise_is_that_of_the_other_sources(key: str, low: float, high: float) -> None:
    """Each range holds, to its last digit, what the other sources print against the table at the same temperature.

    80Ni-20Cr at 500 and 1000 degC, 60Ni-16Cr at every 100 degC, 304 at 650 degC, where the tables can be compared.
    """
    entry = {entry.name: entry for entry in metals.metal_entries(key)}["resistance_with_temperature"]
    assert entry.rise_range == (low, high)
    own = metal(key)
    pairs = [pair for other in entry.others for pair in zip(other.points_c, other.points, strict=True)]
    if key == "ss304":
        pairs = [(650.0, 116.0 / 72.0)]
    chosen = {"nicr_80_20": {500.0, 1000.0}, "nicr_60_16": set(own.ratio_points_c) - {20.0}, "ss304": {650.0}}[key]
    factors = [(ratio - 1.0) / (own.ratio(t_c) - 1.0) for t_c, ratio in pairs if t_c in chosen]
    assert max(factors) == pytest.approx(high, abs=0.011)
    assert min([1.0, *factors]) == pytest.approx(low, abs=0.011)


def test_ends_of_a_linear_law() -> None:
    iron = metal("grey_iron_class30")
    assert iron.at_ends(alpha20="low").ratio(400.0) == pytest.approx(1.304)
    assert iron.at_ends(alpha20="high").ratio(400.0) == pytest.approx(2.026)
    assert iron.at_ends(alpha20="high").alpha20.status is Status.MEMORY
    assert iron.at_ends(alpha20="value", density="value").ratio(400.0) == iron.ratio(400.0)


def test_ends_of_a_table_bend_the_whole_curve_about_one() -> None:
    high = metal("nicr_80_20").at_ends(alpha20="high")
    assert high.ratio(500.0) == pytest.approx(1.0 + 0.026 * 2.85)
    assert high.ratio(100.0) == pytest.approx(1.0 + 0.006 * 2.85)
    assert high.alpha20.value == pytest.approx(7.5e-5 * 2.85)


def test_ends_of_several_figures_at_once() -> None:
    pinned = metal("grey_iron_class30").at_ends(emissivity="low", specific_heat_400="high", min_bend_radius="low")
    assert pinned.emissivity.value == pinned.emissivity.high == 0.63
    assert pinned.specific_heat(400.0) == 600.0
    assert pinned.specific_heat(20.0) == 480.0


def test_specific_heat_is_flat_outside_its_points() -> None:
    iron = metal("grey_iron_class30")
    assert iron.specific_heat(-20.0) == 480.0
    assert iron.specific_heat(210.0) == pytest.approx(520.0)
    assert iron.specific_heat(500.0) == 560.0
    assert metal("alloy_25cr20ni_si").specific_heat(550.0) == pytest.approx(585.0)
    assert metal("manganin").specific_heat(300.0) == 406.0


def own(value: float) -> Figure:
    return Figure.exact(value, Status.MEASURED, "test piece")


def test_a_users_figure_goes_before_the_tables() -> None:
    iron = metal("grey_iron_class30")
    mine = iron.with_figure("resistivity", own(92e-8)).with_figure("alpha20", own(1.2e-3))
    assert mine.resistivity == own(92e-8)
    assert mine.ratio(220.0) == pytest.approx(1.24)
    assert mine.ratio_points == pytest.approx((1.0, 1.0 + 1.2e-3 * 430.0))
    assert iron.resistivity.value == 85e-8
    assert mine.with_figure("limit", own(380.0)).limit_c == own(380.0)
    assert mine.with_figure("limit_c", own(380.0)).limit_c == own(380.0)


def test_a_users_specific_heat_makes_a_straight_line() -> None:
    mine = metal("alloy_25cr20ni_si").with_figure("specific_heat_20", own(470.0))
    assert mine.specific_heat(20.0) == 470.0
    assert mine.specific_heat(210.0) == pytest.approx((470.0 + 550.0) / 2.0)


def test_a_users_alpha_scales_a_table_and_tilts_a_flat_one() -> None:
    steel = metal("steel_low_carbon")
    mine = steel.with_figure("alpha20", own(steel.alpha20.value * 0.9))
    assert mine.ratio(800.0) == pytest.approx(1.0 + 6.613 * 0.9)
    flat = metal("fecral_22_5")
    assert flat.alpha20.value == 0.0
    tilted = flat.with_figure("alpha20", own(4e-5))
    assert tilted.ratio(520.0) == pytest.approx(flat.ratio(520.0) + 4e-5 * 500.0)
    assert tilted.ratio(20.0) == 1.0


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("resistivity", 0.0),
        ("density", -1.0),
        ("specific_heat_20", float("nan")),
        ("emissivity", 1.2),
        ("emissivity", 0.0),
        ("limit", 1400.0),
        ("alpha20", float("inf")),
        ("alpha20", -0.01),
    ],
)
def test_what_no_metal_can_be_is_refused(name: str, value: float) -> None:
    with pytest.raises(QuantityError, match="grey_iron_class30"):
        metal("grey_iron_class30").with_figure(name, own(value))


def test_a_figure_outside_its_own_range_is_refused() -> None:
    with pytest.raises(QuantityError, match="outside"):
        metal("copper").with_figure("density", Figure(9000.0, 8000.0, 8900.0, Status.GIVEN))


def test_an_unknown_figure_names_its_neighbours() -> None:
    with pytest.raises(TableError) as caught:
        metal("copper").with_figure("resistivty", own(1e-8))
    assert "resistivity" in caught.value.hint
    with pytest.raises(TableError):
        metal("copper").at_ends(colour="low")


@given(
    st.floats(1e-4, 1e3),
    st.floats(-5e-4, 5e-3),
    st.floats(-20.0, 60.0),
    st.floats(30.0, 500.0),
)
def test_two_temperatures_yield_alpha_in_either_order(r20: float, alpha: float, t1: float, step: float) -> None:
    t2 = t1 + step
    r1, r2 = r20 * (1.0 + alpha * (t1 - 20.0)), r20 * (1.0 + alpha * (t2 - 20.0))
    assert alpha_from_two(r1, t1, r2, t2) == pytest.approx(alpha, rel=1e-9, abs=1e-13)
    assert alpha_from_two(r2, t2, r1, t1) == pytest.approx(alpha, rel=1e-9, abs=1e-13)


@pytest.mark.parametrize(
    ("r1", "t1", "r2", "t2"),
    [(0.1, 20.0, 0.2, 20.0), (0.0, 20.0, 0.2, 200.0), (0.1, 20.0, -0.2, 200.0), (0.1, float("nan"), 0.2, 200.0),
     (0.1, 120.0, 1.0, 220.0)],
)  # fmt: skip
def test_two_temperatures_that_yield_nothing(r1: float, t1: float, r2: float, t2: float) -> None:
    with pytest.raises(QuantityError):
        alpha_from_two(r1, t1, r2, t2)


def test_resistivity_of_a_measured_plate() -> None:
    """A plate of 380 squares, 5 mm thick, of 85 uohm cm, has 64.6 milliohm cold; hot it reads more by its ratio."""
    iron = metal("grey_iron_class30")
    assert resistivity_from(0.0646, 380.0, 5e-3) == pytest.approx(85e-8)
    assert resistivity_from(0.0646 * iron.ratio(35.0), 380.0, 5e-3, iron.ratio(35.0)) == pytest.approx(85e-8)
    with pytest.raises(QuantityError, match="squares"):
        resistivity_from(0.0646, 0.0, 5e-3)


def test_one_temperature_needs_no_numpy() -> None:
    script = (
        "import sys; from griddesign.metals import metal; m = metal('ss304'); m.ratio(350.0); m.specific_heat(350.0);"
        "print(sorted({'numpy', 'scipy', 'pint', 'click'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
