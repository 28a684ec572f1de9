"""What a command asks to have nested: ``2500 mm x 1250 mm, web 6 mm, margin 15 mm, passes along``.

The first side is the one the sheet was rolled along. For castings the sheet is a moulding box.
"""

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from griddesign.errors import InputError, QuantityError
from griddesign.job.records import Job
from griddesign.units import read

if TYPE_CHECKING:
    from griddesign.nest.records import NestAsked

EXAMPLE = "2500 mm x 1250 mm, web 6 mm, margin 10 mm, passes along"
LARGEST_M = 20.0
_SIDES = re.compile(r"(?<=[\w\s'\"])\s*[x×]\s*(?=\d)", re.IGNORECASE)
_RULES = {"along": "along", "across": "across", "any": "any", "either way": "any"}


def nest_asked(text: str) -> "NestAsked":
    """Read what ``--nest`` was given. Raises InputError where it is not two sides and known additions, each once."""
    size, *additions = (part.strip() for part in text.split(","))
    sides = [side.strip() for side in _SIDES.split(size)]
    if len(sides) != 2:
        raise InputError(f"--nest {text!r} does not name two sides", hint=f"Write --nest {EXAMPLE!r}.")
    length_m, width_m = (_length("side", side) for side in sides)
    found: dict[str, Any] = {}
    for words in additions:
        name, value = _addition(words, text)
        if name in found:
            raise InputError(f"--nest {text!r} says {words.split()[0]} twice", hint="Say it once.")
        found[name] = value
    from griddesign.nest.records import NestAsked

    asked = NestAsked(" ".join(text.split()), length_m, width_m, **found)
    if 2 * (asked.margin_m or 0.0) >= min(length_m, width_m):
        raise InputError(f"--nest {text!r}: the margins leave nothing of the sheet", hint="Give a smaller margin.")
    return asked


def with_nest(job: Job, text: str | None) -> Job:
    """The job with its plates to be nested as asked; as it was for None. Raises InputError where it holds no plate."""
    if text is None:
        return job
    if not job.plates:
        raise InputError("this job holds no plate to nest", hint="Leave --nest out.")
    asked = nest_asked(text)
    return replace(job, nest=asked, asked=(*job.asked, f"nest {asked.text}"))


def _addition(words: str, text: str) -> tuple[str, Any]:
    name, _, value = words.partition(" ")
    if name in ("web", "margin") and value:
        return f"{name}_m", _length(name, value, zero=name == "margin")
    if name == "passes" and value.strip() in _RULES:
        return "rule", _RULES[value.strip()]
    raise InputError(f"--nest {text!r}: {words!r} says nothing here", hint=f"Write --nest {EXAMPLE!r}.")


def _length(what: str, text: str, *, zero: bool = False) -> float:
    try:
        found = read(text, "length")
    except QuantityError as error:
        raise QuantityError(f"--nest, {what}: {error.message}", hint=error.hint) from error
    if found.low != found.high:
        raise InputError(f"--nest, {what}: {text!r} is a range", hint="Name one length.")
    if not (0.0 if zero else 1e-4) <= found.value <= LARGEST_M:
        raise InputError(f"--nest, {what}: {text!r} cannot be", hint=f"Up to {LARGEST_M:g} m.")
    return found.value
