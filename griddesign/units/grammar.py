"""The strict grammar of amounts: text in, exact fractions out, nothing guessed. It knows no kinds of quantity.

An amount is a decimal (``12.5``, ``1.2e-3``), a fraction (``3/8``, ``½``) or a mixed number (``7 1/4``, ``7½``).
Whatever can be read in two ways is refused with both: decimal comma, thousands, dashes between numbers, tolerances.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from griddesign.errors import QuantityError

LONGEST_TEXT = 80
LARGEST_EXPONENT = 30

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_SPACES = "\t\u00a0\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f"
# Typographic signs and the one plain spelling each is read as. Compatibility normalisation of Unicode would not do: it
# turns 7½ into 71⁄2.
_SIGNS = {
    "⁄": "/", "∕": "/", "−": "-", "×": "x", "\u2032": "'", "\u2019": "'", "\u2033": '"', "\u201d": '"', "≈": "~",
    "µ": "u", "μ": "u", "Ω": "ohm", "\u2126": "ohm", "°": "deg", "º": "deg", "℃": "degC", "℉": "degF", "‰": "permille",
    "²": "2", "³": "3", "¹": "1", "⁻": "-", "·": "*", "⋅": "*", "∙": "*", "•": "*",
}  # fmt: skip
_FRACTIONS = {sign: f" {fraction} " for sign, fraction in _VULGAR.items()}
_PLAIN = str.maketrans(dict.fromkeys(_SPACES, " ") | _FRACTIONS | _SIGNS)

_DECIMAL = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_FRACTION = r"[0-9]+ ?/ ?[0-9]+"
_AMOUNT = rf"(?P<whole>[0-9]+ )?(?P<fraction>{_FRACTION})|(?P<decimal>{_DECIMAL})"
_FEET = r"(?P<feet>[0-9]+) ?(?:ft\.?|feet|foot|')[ -]?"
_INCHES = rf"(?:(?P<inches>{_AMOUNT})) ?(?:in\.?|inch|inches|\")"
_FEET_AND_INCHES = _FEET + _INCHES

_TRAPS = (
    (
        r"[0-9.] ?[¹²³⁻]",
        "holds a raised figure behind a number",
        'Write "1.2e3" for a power of ten; leave a space in "7 1/4".',
    ),
    (r"\n|\r", "runs over more than one line", "Write one quantity on one line."),
    (r"^[+-]?(nan|inf|infinity)\b", "is not a finite number", "Write the figure, or leave the key out."),
    (r"±|\+ ?/ ?-|\+-|plus or minus", "holds a tolerance", 'Write a range by its two ends, as in "9.9 mm to 10.1 mm".'),
    (
        r"[0-9],[0-9]{3}(?![0-9])",
        "holds a comma that may mark thousands or a decimal",
        'Write "1000" without a separator, or "1.000" with a decimal point.',
    ),
    (r",", "holds a comma", 'Did you mean a decimal point, as in "1.5"? Write one quantity, with a point.'),
    (r"[0-9] ?[x*] ?[0-9]", "holds a multiplication", 'Write one number; "1.2e-3" is 1.2 times ten to the power -3.'),
    (
        r"[0-9] ?- ?[0-9.]|[–—…‐‑]|\.\.| - ",
        "holds a dash between two numbers, which may mean a range or a mixed number",
        'Write "12 t to 16 t" for a range, "7 1/4 in" for a mixed number.',
    ),
    (r"[0-9] ?''", "marks inches with two single primes", "Write in, or the double prime."),
    (r"[0-9]_[0-9]", "groups digits with an underscore", "Write the digits without separators."),
)


def refuse(text: str, reason: str, hint: str) -> QuantityError:
    """The error for ``text``: message ``"text" reason.`` and a hint."""
    shown = text if len(text) <= LONGEST_TEXT else text[:LONGEST_TEXT] + "…"
    return QuantityError(f'"{shown}" {reason}.', hint=hint)


def tidy(text: str) -> str:
    """The text in plain signs with single spaces, once nothing ambiguous is left in it.

    Raises QuantityError for empty and over-long text, invisible characters and every trap of the list above.
    """
    if len(text) > LONGEST_TEXT:
        raise refuse(text, f"is longer than {LONGEST_TEXT} signs", "Write one quantity, as short as it can be.")
    plain = re.sub(" +", " ", re.sub("M[Ω\u2126]", "megohm", text).translate(_PLAIN)).strip(" ")
    if not plain:
        raise refuse(text, "holds no quantity", "Write a number and its unit.")
    for trap, reason, hint in _TRAPS:
        if re.search(trap, text, re.IGNORECASE) or re.search(trap, plain, re.IGNORECASE):
            raise refuse(text, reason, hint)
    for sign in plain:
        if not sign.isprintable():
            raise refuse(text, f"holds the invisible character U+{ord(sign):04X}", "Delete it and type the text anew.")
    return plain


def plain_unit(unit: str) -> str:
    """The unit as the lists spell it: ``µΩ·cm`` (tidied to ``uohm*cm``) as ``uohm cm``, ``W/(m K)`` as ``W/m K``.

    A bracket with a power behind it stays: the square of km/h is not km/h2.
    """
    unit = unit.replace("per cent", "percent").replace("per mil", "permil")
    unit = re.sub(r"(?:^|(?<=[ )]))per ", "/", unit)
    unit = unit.replace("^", "")
    unit = re.sub(r"(?<=[A-Za-z0-9)])[*.]|(?<=[A-Za-z])-(?=[A-Za-z])", " ", unit)
    unit = re.sub(r"/ ?\(([^()]*)\)(?![0-9])", r"/\1", unit)
    unit = re.sub(r"\bdeg(rees?)? (?=[CF]\b)", "deg", unit)
    return re.sub(r" *([/ ]) *", r"\1", unit).strip(" ")


@dataclass(frozen=True, slots=True)
class Amount:
    """A number at the head of a text, and the rest. ``improper`` marks a fraction of more than 1, as in ``71/4``."""

    value: Fraction
    rest: str
    improper: bool


def split_amount(text: str) -> Amount | None:
    """The amount ``text`` begins with; None where it does not begin with one.

    Raises QuantityError for a nought under the line, a mixed number whose fraction is not below 1, and powers of ten
    beyond LARGEST_EXPONENT.
    """
    found = re.match(_AMOUNT, text)
    if found is None:
        return None
    value = _amount(found, text)
    improper = found["fraction"] is not None and found["whole"] is None and value > 1
    return Amount(value, text[found.end() :].strip(" "), improper)


def feet_and_inches(text: str) -> Fraction | None:
    """Inches in ``3 ft 6 in``, ``3' 6 1/2"``; None where the text is not of that form. Inches must be under 12."""
    found = re.fullmatch(_FEET_AND_INCHES, text)
    if found is None:
        return None
    inches = _amount(found, text)
    if inches >= 12:
        raise refuse(text, "has 12 inches or more beside the feet", "Carry every 12 in over as 1 ft.")
    return 12 * int(found["feet"]) + inches


def _amount(found: re.Match[str], text: str) -> Fraction:
    """The number of a match of the amount pattern."""
    if found["fraction"] is None:
        return _decimal(found["decimal"], text)
    part = _fraction(found["fraction"], text)
    if found["whole"] is None:
        return part
    if part >= 1:
        raise refuse(text, "has a whole number beside a fraction of 1 or more", 'Write a mixed number as "7 1/4".')
    return int(found["whole"]) + part


def _decimal(digits: str, text: str) -> Fraction:
    """A decimal with or without a power of ten."""
    _, _, exponent = digits.lower().partition("e")
    if exponent and abs(int(exponent)) > LARGEST_EXPONENT:
        raise refuse(text, f"has a power of ten beyond {LARGEST_EXPONENT}", "Check the exponent.")
    return Fraction(digits)


def _fraction(digits: str, text: str) -> Fraction:
    """Numerator over denominator."""
    above, _, below = digits.partition("/")
    if int(below) == 0:
        raise refuse(text, "divides by 0", "Write a fraction such as 3/8.")
    return Fraction(int(above), int(below))
