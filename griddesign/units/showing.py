"""SI floats to text for paper, in the unit the trade uses for the size at hand. Every text shown can be read back.

``digits`` are significant digits, but figures before the decimal point are never rounded away: 1234 mm stays 1234 mm.
Temperatures and their differences are shown to whole degrees at three digits, to a tenth at four.
"""

import math
from collections.abc import Mapping
from fractions import Fraction
from functools import cache, lru_cache

from griddesign.errors import QuantityError
from griddesign.units.grammar import plain_unit, tidy
from griddesign.units.quantity import from_si
from griddesign.units.reading import Reading
from griddesign.units.spellings import TABLE, units_of

MINUS = "\u2212"
MOST_DIGITS = 12

# Smallest value (in the SI unit of the kind) from which a unit is used, and the unit; a kind without steps in inches is
# shown alike in both. The first unit of a list serves everything smaller, and nought.
_Steps = tuple[tuple[float, str], ...]
_METRIC: Mapping[str, _Steps] = {
    "length": ((0, "mm"), (10, "m"), (10_000, "km")),
    "offset": ((0, "mm"),),
    "area": ((0, "mm²"), (1, "m²")),
    "mass": ((0, "kg"), (1000, "t")),
    "time": ((0, "s"), (600, "min"), (7200, "h")),
    "voltage": ((0, "mV"), (1, "V"), (10_000, "kV")),
    "current": ((0, "mA"), (1, "A")),
    "resistance": ((0, "µΩ"), (1e-3, "mΩ"), (1, "Ω"), (1000, "kΩ"), (1e6, "MΩ")),
    "inductance": ((0, "mH"), (1, "H")),
    "resistivity": ((0, "µΩ·cm"),),
    "electrical_conductivity": ((0, "MS/m"),),
    "temperature": ((0, "°C"),),
    "temperature_difference": ((0, "K"),),
    "temperature_coefficient": ((0, "ppm/K"), (1e-4, "/K")),
    "speed": ((0, "km/h"),),
    "rotational_speed": ((0, "rpm"),),
    "force": ((0, "N"), (10_000, "kN")),
    "torque": ((0, "N·m"),),
    "acceleration": ((0, "m/s²"),),
    "power": ((0, "W"), (1000, "kW"), (1e6, "MW")),
    "energy": ((0, "J"), (1000, "kJ"), (1e6, "MJ")),
    "mass_resistance": ((0, "N/t"),),
    "mass_resistance_per_speed": ((0, "N/t per km/h"),),
    "mass_resistance_per_speed2": ((0, "N/t per (km/h)²"),),
    "fraction": ((0, "%"),),
    "gradient": ((0, "%"),),
    "number": ((0, ""),),
    "count": ((0, ""),),
    "density": ((0, "kg/m³"),),
    "specific_heat": ((0, "J/(kg·K)"),),
    "conductivity": ((0, "W/(m·K)"),),
    "heat_transfer": ((0, "W/(m²·K)"),),
    "heat_flux": ((0, "W/m²"), (1000, "kW/m²")),
    "stress": ((0, "MPa"),),
    "angle": ((0, "°"),),
}
_INCH: Mapping[str, _Steps] = {
    "length": ((0, "in"), (10 * 0.3048, "ft"), (1609.344, "mi")),
    "offset": ((0, "in"),),
    "area": ((0, "in²"), (0.3048**2 * 10, "ft²")),
    "mass": ((0, "lb"),),
    "temperature": ((0, "°F"),),
    "temperature_difference": ((0, "°F"),),
    "temperature_coefficient": ((0, "ppm/°F"), (0.9e-4, "/°F")),
    "speed": ((0, "mph"),),
    "force": ((0, "lbf"),),
    "torque": ((0, "lbf·ft"),),
    "acceleration": ((0, "mph/s"),),
    "mass_resistance": ((0, "lbf/short ton"),),
    "mass_resistance_per_speed": ((0, "lbf/short ton per mph"),),
    "mass_resistance_per_speed2": ((0, "lbf/short ton per (mph)²"),),
    "density": ((0, "lb/in³"),),
    "specific_heat": ((0, "Btu/(lb·°F)"),),
    "heat_flux": ((0, "W/in²"),),
    "stress": ((0, "psi"),),
}
_FAMILIES: Mapping[str, Mapping[str, _Steps]] = {"mm": _METRIC, "inch": {**_METRIC, **_INCH}}
_DEGREES = frozenset({"temperature", "temperature_difference"})
_WHOLE_DEGREES_DIGITS = 3
_WRITTEN_CLOSE = frozenset({"", "°"})


def show(value: float, kind: str, *, digits: int = 3, units: str = "mm") -> str:
    """``value``, an SI float (temperatures degrees Celsius), as text: ``show(0.069, "resistance")`` is ``69.0 mΩ``.

    ``units`` is ``"mm"`` or ``"inch"`` and chooses the family of units. Raises QuantityError where the value is not
    finite, KeyError for an unknown kind or family, ValueError for digits outside 1 to 12.
    """
    return _shown(value, kind, digits, units)


@lru_cache(maxsize=4096)
def _shown(value: float, kind: str, digits: int, units: str) -> str:
    """As ``show``; papers say most figures more than once."""
    _check_finite(value, kind)
    unit = _unit_for(value, kind, digits, units)
    return _joined(_number(value, unit, kind, digits), unit)


def show_range(low: float, high: float, kind: str, *, digits: int = 3, units: str = "mm") -> str:
    """Both ends in the unit of the larger: ``12.0 to 16.0 t``. More digits are used where the ends would look alike.

    Raises as ``show`` does.
    """
    if low == high:
        return show(low, kind, digits=digits, units=units)
    _check_finite(low, kind)
    _check_finite(high, kind)
    unit = _unit_for(max(low, high, key=abs), kind, digits, units)
    for more in range(digits, MOST_DIGITS + 1):
        ends = _number(low, unit, kind, more), _number(high, unit, kind, more)
        if ends[0] != ends[1]:
            break
    return f"{ends[0]} to {_joined(ends[1], unit)}"


def show_reading(reading: Reading, kind: str, *, digits: int = 3, units: str = "mm") -> str:
    """A reading as the user meant it: ``13.5 t``, ``≈ 14.0 t``, ``12.0 to 16.0 t``. Raises as ``show`` does."""
    if reading.approximate:
        return f"≈ {show(reading.value, kind, digits=digits, units=units)}"
    return show_range(reading.low, reading.high, kind, digits=digits, units=units)


def show_fraction(value_m: float, *, parts: int = 32) -> str:
    """A length in metres as inches to the nearest 1/``parts`` (a power of 2): ``9 27/32 in``, ``7/16 in``, ``10 in``.

    Raises ValueError where ``parts`` is not a power of 2, QuantityError where the length is not finite.
    """
    if parts < 1 or parts & (parts - 1):
        raise ValueError(f"parts of an inch are a power of 2, not {parts}")
    _check_finite(value_m, "length")
    steps = round(from_si(Fraction(value_m), "inch", "length") * parts)
    whole, part = divmod(abs(steps), parts)
    written = [str(whole)] if whole or not part else []
    written += [str(Fraction(part, parts))] if part else []
    return f"{MINUS if steps < 0 else ''}{' '.join(written)} in"


def _check_finite(value: float, kind: str) -> None:
    if not math.isfinite(value):
        raise QuantityError(f"{value} is no value for {TABLE[kind].words}.", hint="A finite figure is needed.")


def _unit_for(value: float, kind: str, digits: int, units: str) -> str:
    """The unit the trade uses at this size, once rounded: 999.6 mΩ is 1.00 Ω. Nought takes the unit of 1."""
    if not 1 <= digits <= MOST_DIGITS:
        raise ValueError(f"digits must be 1 to {MOST_DIGITS}, not {digits}")
    size = abs(float(f"{value:.{digits - 1}e}")) or 1.0
    return [unit for start, unit in _FAMILIES[units][kind] if size >= start][-1]


@cache
def _scale(unit: str, kind: str) -> tuple[float, float]:
    """Slope and zero of a shown unit: shown = slope * SI + zero."""
    if not unit:
        return 1.0, 0.0
    known = units_of(kind)[plain_unit(tidy(unit))]
    zero = from_si(Fraction(0), known, kind)
    return float(from_si(Fraction(1), known, kind) - zero), float(zero)


def _number(value: float, unit: str, kind: str, digits: int) -> str:
    """The number in ``unit``, rounded, with a true minus sign and never "-0"."""
    slope, zero = _scale(unit, kind)
    shown = slope * value + zero
    text = f"{abs(shown):.{_decimals(shown, kind, digits)}f}"
    return f"{MINUS}{text}" if shown < 0 and float(text) else text


def _decimals(shown: float, kind: str, digits: int) -> int:
    """Figures behind the decimal point."""
    if kind == "count" or not shown:
        return 0
    if kind in _DEGREES:
        return max(0, digits - _WHOLE_DEGREES_DIGITS)
    exponent = int(f"{shown:.{digits - 1}e}".partition("e")[2])
    return max(0, digits - 1 - exponent)


def _joined(number: str, unit: str) -> str:
    return f"{number}{unit}" if unit in _WRITTEN_CLOSE else f"{number} {unit}"


def show_change(share: float, decimals: int = 1) -> str:
    """A signed share (a fraction of one) in per cent, with a true minus sign: ``+2.1 %``."""
    return f"{100 * share:+z.{decimals}f} %".replace("-", "−")


_PARTS = ("ten thousand", "a hundred thousand", "a million", "ten million", "a hundred million", "a thousand million")


def show_tiny(share: float) -> str:
    """A share (a fraction of one) that hardly counts, in words: ``under 1 part in ten million``; from a ten-thousandth
    up in per cent, without its sign."""
    for step, words in reversed(list(enumerate(_PARTS, start=4))):
        if abs(share) < 10.0**-step:
            return f"under 1 part in {words}"
    return f"{100 * abs(share):.2g} %"


def show_cold(units: str = "mm") -> str:
    """The temperature that cold ohms hold at, as a shop's thermometer shows it: ``20 °C``; in the inch family
    ``68 °F (20 °C)``, since metals are tabled at 20 °C."""
    return "20 °C" if units == "mm" else "68 °F (20 °C)"
