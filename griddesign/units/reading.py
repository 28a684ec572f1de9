"""Text with a unit to SI floats: one quantity, about one, or a range; with or without the temperature it holds at."""

from dataclasses import dataclass
from fractions import Fraction

from griddesign.units.grammar import refuse, split_amount, tidy
from griddesign.units.quantity import Exact, bounds, exact

ABOUT_SHARE = 0.10
"""What "about" means: the figure may be this share smaller or larger (an own convention, said on paper)."""

ABOUT_TEMPERATURE_K = 10.0
"""What "about" means for a temperature, kelvin either way: a share of degrees Celsius would mean nothing."""

_ABOUT_WORDS = ("about ", "approximately ", "approx. ", "approx ", "circa ", "ca. ", "ca ", "~")


@dataclass(frozen=True, slots=True)
class Reading:
    """One quantity as read, in the SI unit of its kind (temperatures degrees Celsius, differences kelvin).

    ``low <= value <= high``; all three alike for an exact figure. ``approximate`` where the user wrote "about"; a
    range is not approximate: its value is the middle and its ends are the user's own.
    """

    value: float
    low: float
    high: float
    approximate: bool


def read(text: str, kind: str) -> Reading:
    """The quantity in ``text``, of a ``kind`` of KINDS.

    ``"13.5 t"``, ``"about 14 t"`` (ABOUT_SHARE), ``"12 t to 16 t"``, ``"12 to 16 t"``, ``"7 1/4 in"``, ``"3 ft 6 in"``,
    ``"1 in 40"``. Each float is the nearest to the exact value, so it does not depend on the unit chosen. Raises
    QuantityError with a hint for all that is not one quantity of that kind, KeyError for an unknown kind.

    >>> read("12 to 16 t", "mass")
    Reading(value=14000.0, low=12000.0, high=16000.0, approximate=False)
    """
    plain = tidy(text)
    bare = _without_about(plain)
    if bare != plain:
        return _about(bare, kind)
    low, to, high = plain.partition(" to ")
    return _range(low, high, kind) if to else _plain(plain, kind)


def read_at(text: str, kind: str) -> tuple[Reading, Reading | None]:
    """The quantity, and the temperature it holds at in degrees Celsius or None where none is told.

    Raises QuantityError as ``read`` does, for either part.

    >>> read_at("0.42 ohm at 75 degC", "resistance")[1].value
    75.0
    """
    quantity, at, temperature = tidy(text).replace("@", " at ").partition(" at ")
    return read(quantity, kind), read(temperature, "temperature") if at else None


def _without_about(plain: str) -> str:
    """The text behind "about" or a word of the same meaning; the text itself where there is none."""
    for word in _ABOUT_WORDS:
        if plain.lower().startswith(word):
            return plain[len(word) :].strip(" ")
    return plain


def _plain(plain: str, kind: str) -> Reading:
    value = exact(plain, kind).value
    return _reading(value, value, value, approximate=False)


def _about(plain: str, kind: str) -> Reading:
    """A value with the ends of "about", kept inside what the kind allows."""
    if " to " in plain:
        raise refuse(f"about {plain}", "is both about and a range", "Write the range alone.")
    value = exact(plain, kind).value
    share = Fraction(str(ABOUT_SHARE)) * abs(value)
    reach = Fraction(str(ABOUT_TEMPERATURE_K)) if kind == "temperature" else share
    floor, ceiling = bounds(kind)
    low = value - reach if floor is None else max(floor, value - reach)
    high = value + reach if ceiling is None else min(ceiling, value + reach)
    return _reading(low, value, high, approximate=True)


def _range(low_text: str, high_text: str, kind: str) -> Reading:
    """A range, both ends the user's; a first number without a unit takes the unit of the second."""
    high = exact(high_text, kind)
    low = exact(_with_unit(low_text, high), kind)
    whole = f"{low_text} to {high_text}"
    if low.unit and high.unit == "":
        raise refuse(whole, "has a unit at its first number only", "Write the unit behind both, or at the end.")
    if low.value > high.value:
        raise refuse(whole, "is a range that runs backwards", "Write the smaller end first.")
    return _reading(low.value, (low.value + high.value) / 2, high.value, approximate=False)


def _with_unit(low_text: str, high: Exact) -> str:
    """The first text of a range with the unit of the second, if it has none of its own."""
    amount = split_amount(low_text.lstrip("+-"))
    alone = amount is not None and not amount.rest
    return f"{low_text} {high.unit or ''}".strip(" ") if alone else low_text


def _reading(low: Fraction, value: Fraction, high: Fraction, *, approximate: bool) -> Reading:
    return Reading(float(value), float(low), float(high), approximate)
