"""Exact factors between units, from pint with an own short list of definitions.

Numbers stay fractions until the very end, so 10 in and 254 mm give the same float, and every pint version the same
result. The text of a user never reaches pint: only the unit names of this package's own tables do.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pint import UnitRegistry

# Exact by definition (NIST SP 811, 2008 edition, Appendix B.8): inch (international, not US survey), pound, the
# standard acceleration of fall, International Table Btu. The horsepower is 550 ft lbf/s; the metric one
# 75 kgf m/s; the electric one 746 W. pi is written to forty digits. celsius and fahrenheit are steps of their scales:
# where a scale starts is the business of the kind.
_DEFINITIONS = """
nano- = 0.000000001
micro- = 0.000001
milli- = 0.001
centi- = 0.01
deci- = 0.1
deca- = 10
kilo- = 1000
mega- = 1000000
metre = [length]
gram = [mass]
second = [time]
ampere = [current]
kelvin = [temperature]
radian = []
percent = 0.01
permille = 0.001
ppm = 0.000001
turn = 6.283185307179586476925286766559005768394 * radian
degree = turn / 360
minute = 60 * second
hour = 60 * minute
inch = 0.0254 * metre
thou = 0.001 * inch
foot = 12 * inch
yard = 3 * foot
mile = 5280 * foot
circular_mil = 0.7853981633974483096156608458198757210492 * thou ** 2
litre = 0.001 * metre ** 3
tonne = 1000 * kilogram
pound = 453.59237 * gram
ounce = pound / 16
short_ton = 2000 * pound
long_ton = 2240 * pound
gravity = 9.80665 * metre / second ** 2
newton = kilogram * metre / second ** 2
kilogram_force = kilogram * gravity
pound_force = pound * gravity
pascal = newton / metre ** 2
joule = newton * metre
btu = 1055.05585262 * joule
watt = joule / second
horsepower = 550 * foot * pound_force / second
metric_horsepower = 75 * metre * kilogram_force / second
electric_horsepower = 746 * watt
volt = watt / ampere
ohm = volt / ampere
siemens = 1 / ohm
henry = ohm * second
percent_iacs = 580000 * siemens / metre
celsius = 1 * kelvin
fahrenheit = 5.0 / 9.0 * kelvin
"""


@cache
def _registry() -> UnitRegistry[Fraction]:
    """The registry, made at first use: pint costs more than all the rest of a reading."""
    from pint import UnitRegistry

    registry: UnitRegistry[Fraction] = UnitRegistry(None, non_int_type=Fraction, cache_folder=None)
    registry.load_definitions(_DEFINITIONS.strip().splitlines())
    return registry


@cache
def factor(unit: str, si: str) -> Fraction:
    """How many ``si`` one ``unit`` is, exactly: ``factor("inch", "metre")`` is 127/5000.

    Both are expressions of the names defined here. Raises pint's own error where the dimensions differ, which only a
    mistake in this package's tables can bring about; a test runs through all of them.
    """
    return Fraction(_registry().convert(Fraction(1), unit, si))
