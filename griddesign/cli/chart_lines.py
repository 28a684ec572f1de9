"""A contact chart on the terminal and as JSON: every notch, currents of the sections, contradictions."""

from collections.abc import Iterator, Mapping, Sequence
from math import inf, isfinite
from typing import Any

from griddesign.cli.saying import table
from griddesign.grid.contacts.records import Contradiction
from griddesign.judge.contacts import NotchNow
from griddesign.units import show


def chart_lines(rows: Sequence[NotchNow], contradictions: Sequence[Contradiction]) -> Iterator[str]:
    """What the controller does, notch by notch."""
    known = any(row.terminal_ohm is not None or row.grid_ohm is not None for row in rows)
    titles = ("notch", "motors", "grid", *(("grid ohms", "line to ground") if known else ()))
    yield from table(titles, [_row(row, known) for row in rows], left=3)
    if any(row.share for row in rows):
        yield ""
        yield "Current of each section for 100 A from the line:"
        names = list(dict.fromkeys(name for row in rows for name, _ in row.share))
        yield from table(("notch", *names), [_shares(row, names) for row in rows])
    for row in rows:
        yield from (f"notch {row.name}: {words}" for words in (*([row.why] if row.why else ()), *row.remarks))
    for one in contradictions:
        yield f"CONTRADICTION: {f'notch {one.notch}: ' if one.notch else ''}{one.words}"


def _row(row: NotchNow, known: bool) -> tuple[str, ...]:
    motors = row.motors or ("no current" if row.terminal_ohm == inf else "no grouping")
    head = (row.name, motors, row.circuit or " ".join(row.sections) or "none")
    return (*head, _ohms(row.grid_ohm), _ohms(row.terminal_ohm)) if known else head


def _ohms(value: float | None) -> str:
    if value is None:
        return ""
    return show(value, "resistance", digits=4) if isfinite(value) else "no current"


def _shares(row: NotchNow, names: Sequence[str]) -> tuple[str, ...]:
    own = dict(row.share)
    return (row.name, *(f"{100 * own[name]:.1f}" if name in own else "" for name in names))


def chart_json(rows: Sequence[NotchNow], contradictions: Sequence[Contradiction]) -> Mapping[str, Any]:
    """The same as one JSON object; ``current_share`` is of the current from the line."""
    return {
        "schema": 1,
        "notches": [
            {
                "name": row.name,
                "motors": row.motors or None,
                "circuit": row.circuit or None,
                "sections": list(row.sections),
                "grid_ohm": row.grid_ohm,
                "terminal_ohm": row.terminal_ohm if row.terminal_ohm is None or isfinite(row.terminal_ohm) else None,
                "open": row.terminal_ohm is not None and not isfinite(row.terminal_ohm),
                "current_share": dict(row.share),
                "why": row.why,
                "remarks": list(row.remarks),
            }
            for row in rows
        ],
        "contradictions": [
            {"notch": one.notch or None, "terminals": list(one.terminals), "why": one.words} for one in contradictions
        ],
    }
