"""The holds of a result, notch by notch: one record for each way, start, voltage and ambient, in the words of paper."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from griddesign.heat.holds import CREW_STEP_S, FROM_AMBIENT, FROM_SETTLED, HELD_RUNNING, STALLED
from griddesign.heat.records import HeatRow
from griddesign.papers.sheets.shown import Shown, at_most

WAYS = (STALLED, HELD_RUNNING)
STARTS = (FROM_AMBIENT, FROM_SETTLED)
BREAKER = "breaker opens first"
RUNS_AWAY = "runs away"


@dataclass(frozen=True, slots=True)
class Held:
    """One hold of a notch: seconds of the best estimate and without loss, None for ever, and what else is to be said.

    Where a notch has a grid for each motor string, the string that gives out first counts.
    """

    notch: str
    case: str
    line_v: float
    ambient_c: float
    hold_s: float | None
    bound_s: float | None
    runs_away: bool
    breaker_opens: bool
    worst_end: str


def held(rows: Iterable[HeatRow]) -> tuple[Held, ...]:
    """Every hold once, from the rows of its sections."""
    found: dict[tuple[str, str, float, float], Held] = {}
    for row in rows:
        if row.notch:
            key = (row.notch, row.case, row.line_v, row.ambient_c)
            found[key] = _worse(found[key], row) if key in found else _held(row)
    return tuple(found.values())


def _held(row: HeatRow) -> Held:
    return Held(
        row.notch,
        row.case,
        row.line_v,
        row.ambient_c,
        row.hold_s,
        row.hold_bound_s,
        row.runs_away,
        row.breaker_opens,
        row.worst_end,
    )


def _worse(known: Held, row: HeatRow) -> Held:
    other = _held(row)
    first = min(known, other, key=lambda one: endless(one.hold_s))
    bound = min(known, other, key=lambda one: endless(one.bound_s))
    return Held(
        first.notch,
        first.case,
        first.line_v,
        first.ambient_c,
        first.hold_s,
        bound.bound_s,
        known.runs_away or row.runs_away,
        known.breaker_opens or row.breaker_opens,
        first.worst_end,
    )


def endless(seconds: float | None) -> float:
    """Seconds as a number: for ever is infinite."""
    return math.inf if seconds is None else seconds


def hold_words(seconds: float | None, shown: Shown) -> str:
    """A hold in words: ``for ever``, ``pass through``, or the time rounded down."""
    if seconds is None:
        return "for ever"
    return "pass through" if seconds < CREW_STEP_S else at_most(seconds, shown)


def bound_words(seconds: float | None, shown: Shown) -> str:
    """The hold without any loss."""
    return "bound for ever" if seconds is None else f"bound {at_most(seconds, shown)}"


def flags(hold: Held) -> tuple[str, ...]:
    """What else is to be said of a hold."""
    return (*((RUNS_AWAY,) if hold.runs_away else ()), *((BREAKER,) if hold.breaker_opens else ()))
