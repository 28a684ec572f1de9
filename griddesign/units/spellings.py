"""What may be measured, and every spelling of a unit accepted for it: a closed list per kind of quantity.

The lists are plain ASCII; the door reads typographic signs as their ASCII twins first (see ``grammar.tidy`` and
``grammar.plain_unit``): µ as u, Ω as ohm, ° as deg, ² as 2, · and * as a space, "per" as /. Capitals matter.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from griddesign.units.grammar import plain_unit


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity.

    ``words`` name it in a complaint; ``si`` is the unit of the result and ``si_unit`` the same as an expression of
    ``conversion``; ``units`` maps such expressions to their spellings; ``example`` is a right way to write one.
    ``low`` and ``high`` bound the SI value, both ends allowed; ``bare`` kinds may stand without a unit; ``zeros``
    maps a unit to its reading at the nought of the SI scale, where that is not nought too (degrees Celsius count here
    as the SI scale of temperature).
    """

    words: str
    si: str
    si_unit: str
    example: str
    units: Mapping[str, str]
    low: float | None = 0.0
    high: float | None = None
    bare: bool = False
    zeros: Mapping[str, str] = field(default_factory=dict)

    def spellings(self) -> tuple[str, ...]:
        """Every accepted spelling, in the order of the lists."""
        return tuple(spelling for listed in self.units.values() for spelling in listed.split(", "))


def _over(above: Mapping[str, str], below: Mapping[str, str], joints: Iterable[str] = (" per ",)) -> dict[str, str]:
    """Every unit of ``above`` over every unit of ``below``, written with each of ``joints``."""
    return {
        f"({up}) / ({down})": ", ".join(
            f"{a}{joint}{b}" for a in ups.split(", ") for b in downs.split(", ") for joint in joints
        )
        for up, ups in above.items()
        for down, downs in below.items()
    }


_LENGTH = {
    "millimetre": "mm, millimetre, millimetres, millimeter, millimeters",
    "centimetre": "cm, centimetre, centimetres, centimeter, centimeters",
    "metre": "m, metre, metres, meter, meters",
    "kilometre": "km, kilometre, kilometres, kilometer, kilometers",
    "micrometre": "um, micron, microns",
    "inch": 'in, inch, inches, "',
    "foot": "ft, foot, feet, '",
    "yard": "yd, yard, yards",
    "mile": "mi, mile, miles",
    "thou": "thou, mil, mils",
}
_MASS = {
    "kilogram": "kg, kilogram, kilograms",
    "gram": "g, gram, grams",
    "tonne": "t, tonne, tonnes, metric ton, metric tons",
    "pound": "lb, lbs, pound, pounds",
    "ounce": "oz, ounce, ounces",
    "short_ton": "short ton, short tons",
    "long_ton": "long ton, long tons",
}
_TIME = {
    "second": "s, sec, second, seconds",
    "millisecond": "ms, millisecond, milliseconds",
    "minute": "min, minute, minutes",
    "hour": "h, hr, hour, hours",
}
_VOLTAGE = {
    "volt": "V, volt, volts, VDC, V DC, Vdc, V dc",
    "kilovolt": "kV, kilovolt, kilovolts, kVDC, kV DC",
    "millivolt": "mV, millivolt, millivolts, mVDC, mV DC",
}
_CURRENT = {
    "ampere": "A, amp, amps, ampere, amperes, ADC, A DC, Adc, A dc",
    "milliampere": "mA, milliamp, milliamps, milliampere, milliamperes",
    "kiloampere": "kA, kiloamp, kiloamps",
}
_RESISTANCE = {
    "ohm": "ohm, ohms, Ohm, Ohms",
    "milliohm": "mohm, mohms, mOhm, mOhms, milliohm, milliohms",
    "microohm": "uohm, uohms, uOhm, microhm, microhms, microohm, microohms",
    "kiloohm": "kohm, kOhm, kilohm, kilohms, kiloohm, kiloohms",
    "megaohm": "megohm, megohms, megaohm, megaohms",
}
_INDUCTANCE = {
    "henry": "H, henry, henries, henrys",
    "millihenry": "mH, millihenry, millihenries, millihenrys",
}
_RESISTIVITY = {
    "ohm * metre": "ohm m, ohmm, Ohm m, ohm metre, ohm metres, ohm meter, ohm meters",
    "ohm * centimetre": "ohm cm, Ohm cm",
    "milliohm * centimetre": "mohm cm",
    "microohm * centimetre": "uohm cm, uohms cm, uOhm cm, uohmcm, microhm cm, microhms cm, microohm cm",
    "microohm * metre": "uohm m, uOhm m, uohmm, microhm m, microohm m",
    "microohm * inch": "uohm in, microhm in, microhm inch, microhm inches",
    "nanoohm * metre": "nohm m, nOhm m",
    "ohm * millimetre ** 2 / metre": "ohm mm2/m, Ohm mm2/m, ohm sq mm/m",
    "ohm * circular_mil / foot": "ohm cmil/ft, ohms cmil/ft, ohm circular mil/ft, ohm circular mil/foot, ohm CM/ft",
}
_TEMPERATURE = {
    "celsius": "degC, C, degrees C, degree C, Celsius, celsius, degrees Celsius, degrees celsius",
    "fahrenheit": "degF, F, degrees F, degree F, Fahrenheit, fahrenheit, degrees Fahrenheit, degrees fahrenheit",
    "kelvin": "K, kelvin",
}
_DIFFERENCE = {
    "kelvin": "K, kelvin, degC, C, Cdeg, degrees C, degrees Celsius",
    "fahrenheit": "degF, F, Fdeg, degrees F, degrees Fahrenheit",
}
_COEFFICIENT = {
    "1 / kelvin": "/K, 1/K, K-1, /degC, 1/degC, degC-1, /C, 1/C",
    "1 / fahrenheit": "/degF, 1/degF, /F, 1/F",
    "ppm / kelvin": "ppm/K, ppm/degC, ppm/C, 1e-6/K, 1e-6/degC",
    "ppm / fahrenheit": "ppm/degF, ppm/F",
    "percent / kelvin": "%/K, %/degC, %/C, percent/K, percent/degC",
}
_SPEED = {
    "kilometre / hour": "km/h, kmh, kph, km/hr, kilometres/hour, kilometers/hour",
    "mile / hour": "mph, mi/h, miles/hour",
    "metre / second": "m/s, metres/second, meters/second",
    "foot / second": "ft/s, fps, feet/second",
    "metre / minute": "m/min",
    "foot / minute": "ft/min, fpm",
}
_ROTATION = {
    "turn / minute": "rpm, RPM, r/min, rev/min, revs/min, 1/min, min-1",
    "radian / second": "rad/s",
    "turn / second": "rev/s, r/s, rps, revs/s",
}
_FORCE = {
    "newton": "N, newton, newtons",
    "kilonewton": "kN, kilonewton, kilonewtons",
    "decanewton": "daN",
    "kilogram_force": "kgf, kp",
    "pound_force": "lbf",
}
_ACCELERATION = {
    "metre / second ** 2": "m/s2, m/s/s",
    "kilometre / hour / second": "km/h/s, kmh/s, kph/s",
    "mile / hour / second": "mph/s, mphps, mi/h/s",
    "foot / second ** 2": "ft/s2, ft/s/s",
}
_POWER = {
    "kilowatt": "kW, kilowatt, kilowatts",
    "watt": "W, watt, watts",
    "megawatt": "MW, megawatt, megawatts",
    "horsepower": "hp, HP, horsepower",
    "metric_horsepower": "metric hp, metric horsepower, PS, CV",
    "electric_horsepower": "electric hp, electric horsepower",
}
_ENERGY = {
    "joule": "J, joule, joules",
    "kilojoule": "kJ, kilojoule, kilojoules",
    "megajoule": "MJ, megajoule, megajoules",
    "watt * hour": "Wh, W h",
    "kilowatt * hour": "kWh, kW h",
}
_FORCE_OVER_MASS = {
    "newton / tonne": "N/t, N/tonne, N/metric ton, N/Mg",
    "newton / kilogram": "N/kg",
    "decanewton / tonne": "daN/t",
    "kilonewton / tonne": "kN/t",
    "kilogram_force / tonne": "kgf/t, kp/t",
    "pound_force / short_ton": "lbf/short ton, lbf/sh ton",
    "pound_force / long_ton": "lbf/long ton, lbf/lg ton",
}
_BELOW_SPEED = {"kilometre / hour": "km/h, kmh, kph", "mile / hour": "mph", "metre / second": "m/s"}
_BELOW_SPEED_SQUARED = {
    "(kilometre / hour) ** 2": "(km/h)2, km2/h2",
    "(mile / hour) ** 2": "mph2, (mph)2",
    "(metre / second) ** 2": "(m/s)2, m2/s2",
}
_AREA = {
    "millimetre ** 2": "mm2, sq mm",
    "centimetre ** 2": "cm2, sq cm",
    "metre ** 2": "m2, sq m",
    "inch ** 2": "in2, sq in, square inch, square inches",
    "foot ** 2": "ft2, sq ft, square foot, square feet",
    "circular_mil": "cmil, circular mil, circular mils",
    "kilocircular_mil": "kcmil, MCM",
}

TABLE: Mapping[str, Kind] = {
    "length": Kind("a length", "m", "metre", "250 mm", _LENGTH),
    "offset": Kind("a distance to one side or the other", "m", "metre", "4 mm", _LENGTH, low=None),
    "area": Kind("an area", "m2", "metre ** 2", "120 mm2", _AREA),
    "mass": Kind("a mass", "kg", "kilogram", "13.5 t", _MASS),
    "time": Kind("a time", "s", "second", "120 s", _TIME),
    "voltage": Kind("a voltage", "V", "volt", "550 V", _VOLTAGE),
    "current": Kind("a current", "A", "ampere", "130 A", _CURRENT),
    "resistance": Kind("a resistance", "ohm", "ohm", "0.42 ohm", _RESISTANCE),
    "inductance": Kind("an inductance", "H", "henry", "15 mH", _INDUCTANCE),
    "resistivity": Kind("a resistivity", "ohm m", "ohm * metre", "80 uohm cm", _RESISTIVITY),
    "electrical_conductivity": Kind(
        "an electrical conductivity",
        "S/m",
        "siemens / metre",
        "58 MS/m",
        {"megasiemens / metre": "MS/m, m/ohm/mm2", "siemens / metre": "S/m", "percent_iacs": "%IACS, % IACS"},
    ),
    "temperature": Kind(
        "a temperature",
        "degC",
        "kelvin",
        "20 degC",
        _TEMPERATURE,
        low=-273.15,
        high=5000.0,  # beyond, no metal is solid or liquid
        zeros={"kelvin": "273.15", "fahrenheit": "32"},
    ),
    "temperature_difference": Kind("a temperature difference", "K", "kelvin", "40 K", _DIFFERENCE, low=None),
    "temperature_coefficient": Kind(
        "a temperature coefficient", "1/K", "1 / kelvin", "0.0039 /K", _COEFFICIENT, low=None
    ),
    "speed": Kind("a speed", "m/s", "metre / second", "30 km/h", _SPEED),
    "rotational_speed": Kind("a rotational speed", "rad/s", "radian / second", "600 rpm", _ROTATION),
    "force": Kind("a force", "N", "newton", "12 kN", _FORCE),
    "torque": Kind(
        "a torque",
        "N m",
        "newton * metre",
        "40 N m",
        {
            "newton * metre": "N m, Nm",
            "kilonewton * metre": "kN m, kNm",
            "kilogram_force * metre": "kgf m",
            "pound_force * foot": "lbf ft, ft lbf",
            "pound_force * inch": "lbf in, in lbf",
        },
    ),
    "acceleration": Kind("an acceleration", "m/s2", "metre / second ** 2", "0.6 m/s2", _ACCELERATION),
    "power": Kind("a power", "W", "watt", "25 kW", _POWER),
    "energy": Kind("an energy", "J", "joule", "450 kJ", _ENERGY),
    "mass_resistance": Kind("a resistance to motion", "N/kg", "newton / kilogram", "45 N/t", _FORCE_OVER_MASS),
    "mass_resistance_per_speed": Kind(
        "a resistance to motion per speed",
        "N s/(kg m)",
        "newton * second / kilogram / metre",
        "0.9 N/t per km/h",
        _over(_FORCE_OVER_MASS, _BELOW_SPEED, (" per ", " ")),
    ),
    "mass_resistance_per_speed2": Kind(
        "a resistance to motion per speed squared",
        "N s2/(kg m2)",
        "newton * second ** 2 / kilogram / metre ** 2",
        "0.02 N/t per (km/h)2",
        _over(_FORCE_OVER_MASS, _BELOW_SPEED_SQUARED),
    ),
    "fraction": Kind(
        "a fraction of the whole",
        "1",
        "dimensionless",
        "10 %",
        {"percent": "%, percent", "permille": "permille, permil"},
        high=1.0,
        bare=True,
    ),
    "gradient": Kind(
        "a gradient, rise over run",
        "1",
        "dimensionless",
        "1 in 40",
        {"percent": "%, percent", "permille": "permille, permil, mm/m"},
        low=-1.0,
        high=1.0,
        bare=True,
    ),
    "number": Kind("a plain number", "1", "dimensionless", "3.5", {}, bare=True),
    "count": Kind("a whole number", "1", "dimensionless", "20", {"1": "off, pcs, pieces"}, bare=True),
    "density": Kind(
        "a density",
        "kg/m3",
        "kilogram / metre ** 3",
        "7200 kg/m3",
        {
            "kilogram / metre ** 3": "kg/m3",
            "gram / centimetre ** 3": "g/cm3, g/cc, kg/dm3, kg/l, kg/L, t/m3",
            "pound / inch ** 3": "lb/in3, lb/cu in",
            "pound / foot ** 3": "lb/ft3, lb/cu ft",
        },
    ),
    "specific_heat": Kind(
        "a specific heat",
        "J/(kg K)",
        "joule / kilogram / kelvin",
        "490 J/(kg K)",
        {
            "joule / kilogram / kelvin": "J/kg K, J/kg/K, J/kg degC, J/kg/degC, J/kgK",
            "kilojoule / kilogram / kelvin": "kJ/kg K, kJ/kg/K, kJ/kg degC, J/g K, J/g/K, J/g degC",
            "btu / pound / fahrenheit": "Btu/lb degF, Btu/lb/degF, BTU/lb degF, BTU/lb/degF, Btu/lb F, BTU/lb F",
        },
    ),
    "conductivity": Kind(
        "a thermal conductivity",
        "W/(m K)",
        "watt / metre / kelvin",
        "48 W/(m K)",
        {
            "watt / metre / kelvin": "W/m K, W/m/K, W/m degC, W/m/degC, W/mK",
            "watt / centimetre / kelvin": "W/cm K, W/cm/K, W/cm degC",
            "btu / hour / foot / fahrenheit": "Btu/h ft degF, BTU/h ft degF, Btu/hr ft degF, BTU/hr ft degF",
        },
    ),
    "heat_transfer": Kind(
        "a heat transfer coefficient",
        "W/(m2 K)",
        "watt / metre ** 2 / kelvin",
        "12 W/(m2 K)",
        {
            "watt / metre ** 2 / kelvin": "W/m2 K, W/m2/K, W/m2 degC, W/m2/degC",
            "btu / hour / foot ** 2 / fahrenheit": "Btu/h ft2 degF, BTU/h ft2 degF, Btu/hr ft2 degF, BTU/hr ft2 degF",
        },
    ),
    "heat_flux": Kind(
        "a heat flux",
        "W/m2",
        "watt / metre ** 2",
        "0.8 W/cm2",
        {
            "watt / metre ** 2": "W/m2, W/sq m",
            "kilowatt / metre ** 2": "kW/m2",
            "watt / centimetre ** 2": "W/cm2, W/sq cm",
            "watt / inch ** 2": "W/in2, W/sq in",
        },
    ),
    "stress": Kind(
        "a stress",
        "Pa",
        "pascal",
        "150 MPa",
        {
            "megapascal": "MPa, N/mm2",
            "pascal": "Pa",
            "pound_force / inch ** 2": "psi, lbf/in2",
            "kilopound_force / inch ** 2": "ksi",
        },
    ),
    "angle": Kind("an angle", "rad", "radian", "30 deg", {"degree": "deg, degree, degrees", "radian": "rad"}),
}


@cache
def units_of(name: str) -> Mapping[str, str]:
    """Every spelling of a kind, plain, and the unit it stands for as an expression of ``conversion``."""
    listed = ((unit, spelling) for unit, spellings in TABLE[name].units.items() for spelling in spellings.split(", "))
    return MappingProxyType({plain_unit(spelling): unit for unit, spelling in listed})


class Spellings(NamedTuple):
    """What KINDS tells of a kind: the SI unit of the result and the accepted spellings in ASCII."""

    si: str
    spellings: tuple[str, ...]


KINDS: Mapping[str, Spellings] = {name: Spellings(kind.si, kind.spellings()) for name, kind in TABLE.items()}
"""Kind -> (SI unit of the result, accepted spellings in ASCII). Typographic twins (mΩ, µΩ·cm, °C, mm², W/(m·K),
"per") are accepted beside them; so are "3 ft 6 in" and primes for a length and "1 in 40" for a gradient."""
