"""The lists of spellings: every one readable, none with two meanings, each unit of the dimension of its kind."""

import subprocess
import sys
from fractions import Fraction

import pytest

from griddesign.errors import QuantityError
from griddesign.units import KINDS, read
from griddesign.units.conversion import factor
from griddesign.units.grammar import plain_unit
from griddesign.units.quantity import from_si, to_si
from griddesign.units.spellings import TABLE, units_of

EVERY_UNIT = [(name, unit) for name, kind in TABLE.items() for unit in kind.units]


@pytest.mark.parametrize("name", KINDS)
def test_every_spelling_can_be_read(name: str) -> None:
    number = "300" if name == "temperature" else "1"
    for spelling in KINDS[name].spellings:
        assert read(f"{number} {spelling}", name).value > 0.0, spelling


@pytest.mark.parametrize("name", KINDS)
def test_the_example_and_the_si_unit_can_be_read(name: str) -> None:
    assert read(TABLE[name].example, name).value > 0.0
    written = "0.5" if TABLE[name].bare else f"0.5 {TABLE[name].si}"
    if name not in ("count", "mass_resistance_per_speed", "mass_resistance_per_speed2"):
        assert read(written, name).value == 0.5


@pytest.mark.parametrize("name", KINDS)
def test_no_spelling_has_two_meanings(name: str) -> None:
    meanings: dict[str, str] = {}
    for unit, listed in TABLE[name].units.items():
        for spelling in listed.split(", "):
            assert meanings.setdefault(plain_unit(spelling), unit) == unit, spelling


@pytest.mark.parametrize(("name", "unit"), EVERY_UNIT)
def test_every_unit_has_the_dimension_of_its_kind_and_an_inverse(name: str, unit: str) -> None:
    assert factor(unit, TABLE[name].si_unit) > 0
    value = Fraction("123.456")
    assert from_si(to_si(value, unit, name), unit, name) == value


def test_units_of_another_dimension_do_not_convert() -> None:
    with pytest.raises(Exception, match="Cannot convert"):
        factor("metre", "second")


def test_a_unit_of_any_other_kind_is_refused() -> None:
    """But for spellings on both lists (K of temperatures and of differences), a unit of one kind fits no other."""
    for kind in TABLE.values():
        for other in TABLE:
            strange = [spelling for spelling in kind.spellings() if plain_unit(spelling) not in units_of(other)]
            for spelling in strange[:3]:
                with pytest.raises(QuantityError):
                    read(f"0.5 {spelling}", other)


def test_own_definitions_agree_with_the_default_registry_of_pint() -> None:
    """The short list against pint's own long one (its default definitions, CODATA and NIST SP 811), to 1e-12."""
    import pint

    default = pint.UnitRegistry(cache_folder=None)
    theirs = {
        "inch": ("inch", "metre"),
        "thou": ("thou", "metre"),
        "foot": ("foot", "metre"),
        "yard": ("yard", "metre"),
        "mile": ("mile", "metre"),
        "circular_mil": ("circular_mil", "metre ** 2"),
        "pound": ("pound", "kilogram"),
        "ounce": ("ounce", "kilogram"),
        "short_ton": ("short_ton", "kilogram"),
        "long_ton": ("long_ton", "kilogram"),
        "tonne": ("metric_ton", "kilogram"),
        "pound_force": ("force_pound", "newton"),
        "kilogram_force": ("force_kilogram", "newton"),
        "horsepower": ("horsepower", "watt"),
        "metric_horsepower": ("metric_horsepower", "watt"),
        "electric_horsepower": ("electrical_horsepower", "watt"),
        "btu": ("Btu_it", "joule"),
        "turn": ("turn", "radian"),
        "degree": ("degree", "radian"),
        "litre": ("litre", "metre ** 3"),
        "fahrenheit": ("delta_degF", "kelvin"),
        "hour": ("hour", "second"),
    }
    for own, (their, si) in theirs.items():
        expected = default.Quantity(1.0, their).to(si).magnitude
        assert float(factor(own, si)) == pytest.approx(expected, rel=1e-12), own


def test_importing_the_door_loads_neither_pint_nor_numpy() -> None:
    program = "import sys, griddesign.units; print([m for m in ('pint', 'numpy', 'difflib') if m in sys.modules])"
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
