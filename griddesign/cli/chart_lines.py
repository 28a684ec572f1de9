"""A contact chart on the terminal and as JSON: every notch, currents of the sections, contradictions."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any

from griddesign.cli.asked_speed import asked_m_s
from griddesign.cli.saying import table
from griddesign.errors import InputError
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Contradiction
from griddesign.judge.chart_motors import CarOfChart, NotchAtSpeed, at_speed
from griddesign.judge.contacts import NotchNow
from griddesign.traction.records import Car, Line, Motor
from griddesign.units import show


@dataclass(frozen=True, slots=True)
class ChartTurning:
    """Every notch at a speed of the car, m/s, and a voltage."""

    speed_m_s: float
    line_v: float
    notches: tuple[NotchAtSpeed, ...]


def chart_turning(
    read: ChartRead,
    car: tuple[Line | None, Car | None, Motor | None],
    section_ohm: Mapping[str, float],
    at: str | None,
) -> ChartTurning | None:
    """The chart at a speed; None where ohms, line, car or motor are not known. Raises InputError where one of them is
    missing and a speed was asked for."""
    line, carrying, motor = car
    speed_m_s = asked_m_s(at)
    if line and carrying and motor and section_ohm:
        found = at_speed(read, CarOfChart(line, carrying, motor), section_ohm, speed_m_s)
        return ChartTurning(speed_m_s, line.nominal_v, found)
    if at is not None:
        raise InputError(
            "--at needs line, car, motor and the sections' ohms",
            hint="Add [line] [car] [motor], and [controller] section_ohms where no plates are given.",
        )
    return None


def chart_lines(
    rows: Sequence[NotchNow], contradictions: Sequence[Contradiction], turning: ChartTurning | None = None
) -> Iterator[str]:
    """What the controller does, notch by notch."""
    known = any(row.terminal_ohm is not None or row.grid_ohm is not None for row in rows)
    titles = ("notch", "motors", "grid", *(("grid ohms", "line to ground") if known else ()))
    yield from table(titles, [_row(row, known) for row in rows], left=3)
    if turning is not None:
        yield from _turning_lines(turning)
    elif any(row.share for row in rows):
        yield ""
        yield "Current of each section for 100 A from the line:"
        names = list(dict.fromkeys(name for row in rows for name, _ in row.share))
        yield from table(("notch", *names), [_shares(row, names) for row in rows])
    for row in rows:
        bar = [f"cannot be run: {row.bar}"] if row.bar and row.bar != row.why else []
        yield from (f"notch {row.name}: {words}" for words in (*([row.why] if row.why else ()), *bar, *row.remarks))
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


def _turning_lines(turning: ChartTurning) -> Iterator[str]:
    """Currents from line, of motors, of fields that have their own, of sections, and the pull."""
    motors = sorted({number for one in turning.notches for number, _ in one.motor_a})
    fields = sorted({number for one in turning.notches for number, _ in one.field_a})
    sections = list(dict.fromkeys(name for one in turning.notches for name, _ in one.section_a))
    titles = (
        "notch",
        "from line",
        *(f"motor {number}" for number in motors),
        *(f"field {one}" for one in fields),
        "pull",
    )
    speed = f"at {show(turning.speed_m_s, 'speed')}" if turning.speed_m_s else "at standstill"
    yield ""
    yield f"Currents {speed}, {show(turning.line_v, 'voltage')}, motors at their stated ohms, grid cold:"
    yield from table((*titles, *sections), [_turning_row(one, motors, fields, sections) for one in turning.notches])
    if fields:
        yield "  Where a field has a column of its own, the motor's is its armature. A pull below zero brakes the car."
    if any(one.beyond_curve for one in turning.notches):
        yield "  ≈ a current passes the end of the motor curve: the flux is kept at its last value, the pull is more."


def _turning_row(
    one: NotchAtSpeed, motors: Sequence[int], fields: Sequence[int], sections: Sequence[str]
) -> tuple[str, ...]:
    if one.why:
        return (one.name, one.why, *[""] * (len(motors) + len(fields) + 1 + len(sections)))
    each, led, own = dict(one.motor_a), dict(one.field_a), dict(one.section_a)
    about = "≈ " if one.beyond_curve else ""
    return (
        one.name,
        show(one.line_a, "current"),
        *(show(each[number], "current") if number in each else "" for number in motors),
        *(show(led[number], "current") if number in led else "" for number in fields),
        f"{about}{show(one.effort_n, 'force')}",
        *(show(own[name], "current") if name in own else "" for name in sections),
    )


def _turning_json(one: NotchAtSpeed, turning: ChartTurning) -> Mapping[str, Any]:
    known = not one.why
    return {
        "speed_kmh": 3.6 * turning.speed_m_s,
        "line_v": turning.line_v,
        "line_a": one.line_a if known else None,
        "motor_a": {str(number): amps for number, amps in one.motor_a},
        "field_a": {str(number): amps for number, amps in one.field_a},
        "section_a": dict(one.section_a),
        "effort_n": one.effort_n if known else None,
        "beyond_curve": one.beyond_curve,
        "why": one.why,
    }


def chart_json(
    rows: Sequence[NotchNow], contradictions: Sequence[Contradiction], turning: ChartTurning | None = None
) -> Mapping[str, Any]:
    """The same as one JSON object; ``current_share`` is of the current from the line."""
    running = [None] * len(rows) if turning is None else [_turning_json(one, turning) for one in turning.notches]
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
                "cannot_be_run": row.bar,
                "remarks": list(row.remarks),
                "at_speed": moving,
            }
            for row, moving in zip(rows, running, strict=True)
        ],
        "contradictions": [
            {"notch": one.notch or None, "terminals": list(one.terminals), "why": one.words} for one in contradictions
        ],
    }
