"""Mechanics against printed figures.

Force of one mile per hour per second: S. W. Ashe and J. D. Keiley, Electric Railways, 1905. SI form of the pull:
textbooks of electric traction, seen in published companions only. Davis form: the worked freight-train example of a
1970 car and locomotive cyclopedia, p. 842, as quoted.
"""

import pytest

from griddesign.traction.mechanics import accelerated_kg, adhesion_n, balancing_m_s, resistance_n
from griddesign.traction.records import Car, RunningResistance
from griddesign.traction.textbook import MPH_M_S, POUND_N, SHORT_TON_KG, davis_law

DAVIS = "Car and locomotive cyclopedia (1970), p. 842, freight-train example, as quoted"

LONG_TON_KG = 2240.0 / 2000.0 * SHORT_TON_KG


def car(mass_kg: float, law: RunningResistance, gradient: float = 0.0, rotating: float = 0.0) -> Car:
    return Car(mass_kg, rotating, 0.84, 3.5, 0.95, law, gradient, adhesion=0.25)


@pytest.mark.parametrize(("ton_kg", "pounds"), [(SHORT_TON_KG, 91.1), (LONG_TON_KG, 102.0)])
def test_ashe_and_keiley_pounds_per_ton(ton_kg: float, pounds: float, checked) -> None:
    pull = accelerated_kg(car(ton_kg, RunningResistance())) * MPH_M_S
    assert pull / POUND_N == pytest.approx(pounds, rel=1.2e-3)
    ashe = "S. W. Ashe and J. D. Keiley, Electric Railways (1905)"
    checked(ashe, "force of one mile per hour per second on a ton", pounds, pull / POUND_N, "lbf")


def test_si_form_of_the_pull(checked) -> None:
    """F = 277.8·We·a + 98.1·W·G + W·r with a in km/h per s, G in %, r in N/t; G is taken as a sine there."""
    one = car(120e3, RunningResistance(0.045), gradient=0.012, rotating=0.1)
    acceleration = 2.4 / 3.6
    printed = 277.8 * 132.0 * 2.4 + 98.1 * 120.0 * 1.2 + 120.0 * 45.0
    assert accelerated_kg(one) * acceleration + resistance_n(one, 3.0) == pytest.approx(printed, rel=2e-4)
    found = accelerated_kg(one) * acceleration + resistance_n(one, 3.0)
    checked("Textbooks of electric traction (companions)", "pull, SI form", printed, found, "N")


def test_davis_form(checked) -> None:
    tons = 7200.0 * SHORT_TON_KG
    law = davis_law(35.75 * SHORT_TON_KG, 4 * 35.75 * SHORT_TON_KG, (1.3, 29.0, 0.045, 0.044))
    speed = 50.0 * MPH_M_S
    constant = law.constant_n_per_kg * tons / POUND_N
    linear = law.linear_n_s_per_kg_m * speed * tons / POUND_N
    square = law.square_n_s2_per_kg_m2 * speed**2 * tons / POUND_N
    assert constant == pytest.approx(9360.0 + 5840.6, abs=0.1)
    assert linear == pytest.approx(16200.0, abs=0.1)
    assert square == pytest.approx(5538.0, abs=0.6)
    assert resistance_n(car(tons, law), speed) / POUND_N == pytest.approx(36938.6, abs=0.8)
    checked(DAVIS, "constant, linear and square part", [15200.6, 16200.0, 5538.0], [constant, linear, square], "lbf")
    checked(DAVIS, "train resistance", 36938.6, resistance_n(car(tons, law), speed) / POUND_N, "lbf")


def test_balancing_speed_undoes_the_resistance() -> None:
    one = car(14e3, RunningResistance(0.045, 0.003, 0.0004), gradient=0.01)
    assert balancing_m_s(one, resistance_n(one, 7.5)) == pytest.approx(7.5, rel=1e-12)
    assert balancing_m_s(one, 0.9 * resistance_n(one, 0.0)) == 0.0
    assert balancing_m_s(car(14e3, RunningResistance(0.045)), 1e4) == float("inf")


def test_adhesion_is_the_weight_on_the_driven_wheels() -> None:
    assert adhesion_n(car(10e3, RunningResistance())) == pytest.approx(0.25 * 10e3 * 9.80665)
