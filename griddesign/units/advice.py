"""What to say when a unit is not on the list of its kind: the nearest right spelling, or what the unit belongs to."""

import re

from griddesign.units.grammar import plain_unit
from griddesign.units.spellings import TABLE, Kind, units_of

_LONGEST_LIST = 10
_WHICH_TON = "Say which ton: t (1000 kg), short ton (2000 lb) or long ton (2240 lb)."
_SLOPED = "mass_resistance, mass_resistance_per_speed, mass_resistance_per_speed2"

# Kinds, pattern of the unit, what to say: mistakes whose right form no likeness of letters would find.
_KNOWN_MISTAKES = (
    (_SLOPED, r"lbs?/.*", 'Did you mean lbf/short ton or lbf/long ton? "lb" is a mass, "lbf" the force.'),
    (_SLOPED, r"lbf/tons?\b.*", "Did you mean lbf/short ton (2000 lb) or lbf/long ton (2240 lb)?"),
    (_SLOPED, r"kg/.*", 'Did you mean kgf/t? "kg" is a mass, "kgf" the force.'),
    (_SLOPED, r".*/tons?\b.*", _WHICH_TON),
    ("mass_resistance_per_speed2", r".*km/h2", "Did you mean N/t per (km/h)2? The square belongs to the whole speed."),
    ("mass", r"tons?|T", _WHICH_TON),
    ("force", r"lbs?|pounds?", 'Did you mean lbf? "lb" is a mass.'),
    ("force", r"kgs?", 'Did you mean kgf? "kg" is a mass.'),
    ("force", r"tons?|t", "Did you mean kN? A ton is a mass."),
    ("torque", r"lbs? (ft|in)|(ft|in|foot) lbs?", 'Did you mean lbf ft? "lb" is a mass.'),
    ("torque", r"kg m", 'Did you mean kgf m? "kg" is a mass.'),
    ("resistance", r"M[Oo][Hh][Mm][Ss]?", "Did you mean mohm (thousandths) or megohm (millions)?"),
    ("resistivity", r".*ohm/.*", "Did you mean uohm cm? Resistivity is ohms times a length."),
    ("specific_heat", r".*cal.*", "There are several calories; write J/(kg K)."),
    ("voltage", r"VAC|V AC|Vac|V ac", "The line is direct current: did you mean V or VDC?"),
    ("length", r"(swg|awg|bwg|ga|gauge|gage)", "Gauges differ; write the thickness itself, as in 3.2 mm."),
    ("time", r"m", "Did you mean min (minutes)?"),
    ("time", r":.*", 'Write minutes and seconds in one unit, as in "90 s".'),
    ("number", r":.*", 'Write a ratio as one number or a fraction, as in "3.5" or "67/14".'),
    ("temperature, temperature_difference", r"deg|degrees?", "Did you mean degC or degF?"),
    ("energy", r"cal|kcal|[Bb][Tt][Uu]", "Write J, kJ or kWh."),
)


def accepted(kind: Kind) -> str:
    """The first spelling of each unit of the kind, as a list for a hint."""
    firsts = [listed.split(", ")[0] for listed in kind.units.values()]
    more = ", …" if len(firsts) > _LONGEST_LIST else ""
    return ", ".join(firsts[:_LONGEST_LIST]) + more


def about_unit(unit: str, kind_name: str) -> str:
    """A hint for ``unit``, which is not a spelling of ``kind_name``."""
    kind = TABLE[kind_name]
    if " at " in unit:
        return "No temperature is wanted here; leave out what begins with at."
    told = _known_mistake(unit, kind_name) or _likeness(unit, kind) or _stranger(unit)
    closing = f"Accepted: {accepted(kind)}." if kind.units else f'Write {kind.words}, as in "{kind.example}".'
    return f"{told} {closing}".strip()


def _known_mistake(unit: str, kind_name: str) -> str:
    for kinds, pattern, hint in _KNOWN_MISTAKES:
        if kind_name in kinds.split(", ") and re.fullmatch(pattern, unit):
            return hint
    return ""


def _likeness(unit: str, kind: Kind) -> str:
    """The spelling that differs by capitals only, else the one nearest in letters."""
    import difflib  # only a complaint needs it

    spellings = kind.spellings()
    alike = [spelling for spelling in spellings if plain_unit(spelling).lower() == unit.lower()]
    near = alike[:2] or difflib.get_close_matches(unit, spellings, n=1, cutoff=0.75)
    return f"Did you mean {' or '.join(near)}?" if near else ""


def _stranger(unit: str) -> str:
    """What the unit measures, where some other kind knows it."""
    for name, other in TABLE.items():
        if unit in units_of(name):
            return f'"{unit}" measures {other.words}.'
    return ""
