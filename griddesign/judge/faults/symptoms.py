"""Read backwards: from what the driver says to the faults that would feel so."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from griddesign.errors import InputError
from griddesign.judge.faults.records import FaultRow, FaultTable

HOW = 'Write for instance "dead 1-3, jerk 4, weak 6"; what is not named is taken as sound.'
_CLAUSE = re.compile(r"(dead|jerk|weak|sound)s?\s+(?:on\s+)?(?:notch(?:es)?\s+)?(.+)")


@dataclass(frozen=True, slots=True)
class Fit:
    """One fault and how well it fits: ``share`` 1 where every notch feels as said and no other feels anything; the
    notches that were said and are not so, those that would be felt and were not said."""

    row: FaultRow
    share: float
    not_so: tuple[str, ...]
    not_said: tuple[str, ...]


def read_symptom(text: str, notches: Sequence[str]) -> dict[str, str]:
    """What the driver says of each notch: ``dead 1-3, jerk on 4, weak 6``. A dead notch is one that does not pull.

    A range runs in the order of the job's notches. Raises InputError on words that are none of these, a notch there is
    not, or one that is said to be two things.
    """
    found: dict[str, str] = {}
    word = ""
    for clause in re.split(r"[,;]", text.strip()):
        words = clause.strip()
        matched = _CLAUSE.fullmatch(words)
        word, names = (matched[1], matched[2]) if matched else (word, words)
        if not word or not words:
            raise InputError(f"{words or text!r} says nothing of a notch", hint=HOW)
        for name in _range(names.strip(), notches):
            if found.get(name, word) != word:
                raise InputError(f"notch {name} is said to be {found[name]} and {word}", hint="Say one of them.")
            found[name] = word
    return found


def _range(words: str, notches: Sequence[str]) -> tuple[str, ...]:
    """A notch by its name, or from one to another."""
    if words in notches:
        return (words,)
    for at in (place for place, sign in enumerate(words) if sign == "-"):
        first, last = words[:at].strip(), words[at + 1 :].strip()
        if first in notches and last in notches:
            begin, end = notches.index(first), notches.index(last)
            return tuple(notches[min(begin, end) : max(begin, end) + 1])
    raise InputError(
        f"{words!r} is no notch that faults are worked out for", hint=f"Notches: {', '.join(notches)}. {HOW}"
    )


def fitting(table: FaultTable, symptom: dict[str, str]) -> tuple[Fit, ...]:
    """Every fault that has anything to do with the symptom, best first.

    ``share`` is that of the notches that feel as said among all notches that were said or would be felt (Jaccard's
    index); faults that fit alike stand in the order of the table. Of a table without a car only dead notches count.
    """
    fits = [_fit(row, symptom) for row in table.rows]
    return tuple(sorted((fit for fit in fits if fit.share > 0.0), key=lambda fit: -fit.share))


def _fit(row: FaultRow, symptom: dict[str, str]) -> Fit:
    felt = {one.name: "dead" if one.felt == "no start" else one.felt for one in row.notches if one.felt}
    said = {name: word for name, word in symptom.items() if word != "sound"}
    right = [name for name, word in said.items() if felt.get(name) == word]
    not_so = tuple(name for name in said if name not in right)
    not_said = tuple(name for name in felt if name not in said)
    asked = len(right) + len(not_so) + len(not_said)
    return Fit(row, len(right) / asked if asked else 0.0, not_so, not_said)
