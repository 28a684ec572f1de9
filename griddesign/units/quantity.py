"""One quantity of one kind, exactly: sign, amount, unit, and what the kind allows."""

import re
from dataclasses import dataclass
from fractions import Fraction

from griddesign.errors import QuantityError
from griddesign.units.advice import about_unit, accepted
from griddesign.units.conversion import factor
from griddesign.units.grammar import feet_and_inches, plain_unit, refuse, split_amount
from griddesign.units.spellings import TABLE, units_of


@dataclass(frozen=True, slots=True)
class Exact:
    """A value in the SI unit of its kind (temperatures degrees Celsius), and its unit as spelled.

    The unit is "" for a bare number and None for a form that holds its units inside, such as ``3 ft 6 in``.
    """

    value: Fraction
    unit: str | None


def to_si(value: Fraction, unit: str, name: str) -> Fraction:
    """``value`` of a unit (a key of the kind's units) in the SI unit of the kind."""
    kind = TABLE[name]
    return (value - Fraction(kind.zeros.get(unit, "0"))) * factor(unit, kind.si_unit)


def from_si(value: Fraction, unit: str, name: str) -> Fraction:
    """The inverse of ``to_si``."""
    kind = TABLE[name]
    return value / factor(unit, kind.si_unit) + Fraction(kind.zeros.get(unit, "0"))


def bounds(name: str) -> tuple[Fraction | None, Fraction | None]:
    """Smallest and largest SI value of the kind, exactly as the table writes them; None where there is no bound."""
    low, high = TABLE[name].low, TABLE[name].high
    return None if low is None else Fraction(str(low)), None if high is None else Fraction(str(high))


def exact(text: str, name: str) -> Exact:
    """The quantity of a tidied text without "about" and "to". Raises QuantityError for anything else."""
    sign, unsigned = _sign(text, name)
    special = _special(unsigned, name)
    if special is not None:
        return _allowed(text, name, Exact(sign * special, None))
    amount, spelled = _amount(text, unsigned, name)
    if not spelled:
        return _allowed(text, name, Exact(sign * amount, ""))
    return _allowed(text, name, Exact(to_si(sign * amount, units_of(name)[plain_unit(spelled)], name), spelled))


def _sign(text: str, name: str) -> tuple[int, str]:
    """The sign and the text behind it. A plus is refused where no minus could stand."""
    if text.startswith("+") and TABLE[name].low == 0.0:
        raise refuse(text, f"has a sign; {TABLE[name].words} has none", "Leave the plus away.")
    return (-1 if text.startswith("-") else 1), text[1:] if text[:1] in ("-", "+") else text


def _special(unsigned: str, name: str) -> Fraction | None:
    """Forms only one kind has: feet and inches for a length, "1 in 40" for a gradient."""
    if name == "gradient":
        return _one_in(unsigned)
    inches = feet_and_inches(unsigned) if name in ("length", "offset") else None
    return None if inches is None else inches * factor("inch", "metre")


def _one_in(unsigned: str) -> Fraction | None:
    """The gradient of ``1 in 40`` or ``1:40``; None for other forms."""
    rise, mark, run = unsigned.replace(" in ", ":").partition(":")
    if not mark:
        return None
    found = split_amount(run.strip(" "))
    if rise.strip(" ") != "1" or found is None or found.rest or not found.value:
        raise refuse(unsigned, "is not a gradient", 'Write "1 in 40", "2.5 %" or "25 permille".')
    return 1 / found.value


def _amount(text: str, unsigned: str, name: str) -> tuple[Fraction, str]:
    """The number and its unit as spelled, which is on the list of the kind."""
    found = split_amount(unsigned)
    if found is None:
        example = f'Write {TABLE[name].words}, as in "{TABLE[name].example}".'
        raise refuse(text, "does not begin with a number", example)
    if found.rest or not TABLE[name].bare:
        _check_unit(text, found.rest, name)
    if found.improper and found.rest:
        raise refuse(text, "holds a fraction of more than 1", 'Is a space missing? Write a mixed number as in "7 1/4".')
    return found.value, found.rest


def _check_unit(text: str, spelled: str, name: str) -> None:
    """Refuses a unit that is missing or not on the list of the kind."""
    kind, unit = TABLE[name], plain_unit(spelled)
    if not spelled:
        raise refuse(
            text, f"has no unit; {kind.words} needs one", f'Write one of {accepted(kind)}, as in "{kind.example}".'
        )
    if unit not in units_of(name):
        raise _unit_complaint(text, unit, name)


def _unit_complaint(text: str, unit: str, name: str) -> QuantityError:
    """The complaint about what stands behind the number."""
    words = TABLE[name].words
    if re.match(r"[0-9]{3}(?![0-9])", unit):
        return refuse(text, "groups digits with a space", 'Write "1000" without a separator.')
    if re.search(r"^[0-9.]|[ '\"][0-9]", unit):
        hint = f'Write one number and one unit, as in "{TABLE[name].example}". {about_unit(unit, name)}'
        return refuse(text, f"cannot be read as {words}: it holds more than one number", hint)
    return refuse(text, f'cannot be read as {words}: "{unit}" is not one of its units', about_unit(unit, name))


def _allowed(text: str, name: str, found: Exact) -> Exact:
    """The quantity, if it lies within what the kind allows."""
    kind, (low, high) = TABLE[name], bounds(name)
    if low is not None and found.value < low:
        least = f"{kind.low:g} {kind.si}" if kind.zeros else f"{kind.low:g}"
        raise refuse(text, f"is below {least}, too low for {kind.words}", "Check the sign.")
    if high is not None and found.value > high:
        hint = "Check the figure." if found.unit != "" else f'Did you mean "{text} %"?'
        most = f"{kind.high:g} {kind.si}" if kind.zeros else f"{kind.high:g}"
        raise refuse(text, f"is more than {most}, too much for {kind.words}", hint)
    if name == "count" and found.value.denominator != 1:
        raise refuse(text, f"is not {kind.words}", f'Write one, as in "{kind.example}".')
    return found
