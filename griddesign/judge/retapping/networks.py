"""Notches that are networks, on today's taps and on the new ones: told, since no taps are sought for them."""

from dataclasses import dataclass, replace
from math import isfinite
from typing import TYPE_CHECKING

from griddesign.job.records import Job
from griddesign.judge.cut_out import networks_in_words
from griddesign.judge.retapping.records import RetapResult, Tapping

if TYPE_CHECKING:
    from griddesign.judge.chart_motors import NotchAtSpeed


@dataclass(frozen=True, slots=True)
class NetworkRow:
    """A notch that is a network and ``why`` it is no grouping; its currents at standstill, cold grid and nominal
    volts, on today's taps and on the new ones (None: no such taps, or no line, car and motor)."""

    name: str
    why: str
    before: "NotchAtSpeed | None"
    after: "NotchAtSpeed | None"


def networks_of(result: RetapResult) -> tuple[NetworkRow, ...]:
    """A row for each such notch; none for nearly every job."""
    job = result.job
    if all(notch.network is None for notch in job.notches):
        return ()
    before, after = _standing(job, result.before), _standing(job, result.after)
    return tuple(
        NetworkRow(notch.name, notch.network.why, before.get(notch.name), after.get(notch.name))
        for notch in job.notches
        if notch.network is not None
    )


def _standing(job: Job, tapping: Tapping | None) -> dict[str, "NotchAtSpeed"]:
    if tapping is None or job.chart is None or not (job.line and job.car and job.motor):
        return {}
    from griddesign.judge.chart_motors import CarOfChart, at_speed

    ohms = {one.name: one.cold_ohm for one in tapping.sections}
    read = replace(job.chart.read, without=frozenset(name for name, ohm in ohms.items() if not isfinite(ohm)))
    found = at_speed(read, CarOfChart(job.line, job.car, job.motor), ohms)
    return {one.name: one for one in found}


def most_a(notch: "NotchAtSpeed | None") -> float | None:
    """The greatest current of any motor's armature or field, A; None where none is known."""
    if notch is None or notch.why:
        return None
    return max((abs(amps) for _, amps in (*notch.motor_a, *notch.field_a)), default=None)


def from_line_a(notch: "NotchAtSpeed | None") -> float | None:
    """The current from line, A; None where none is known."""
    return None if notch is None or notch.why else notch.line_a


def lacking(notch: "NotchAtSpeed | None") -> str:
    """What stands in place of currents where there are none: no current flows, or nothing is known of it."""
    return "no current" if notch is not None and notch.dead else "not known"


def doubts_of(rows: tuple[NetworkRow, ...]) -> tuple[str, ...]:
    """Why nothing is known of the currents of a notch, as in: notch 3 today: the motors excite themselves."""
    each = ((row.name, when, one) for row in rows for when, one in (("today", row.before), ("new taps", row.after)))
    return tuple(f"notch {name}, {when}: {one.why}" for name, when, one in each if one and one.why and not one.dead)


def left_out_words(job: Job) -> str:
    """What a proof of the best taps leaves out, "" where nothing."""
    words = networks_in_words(job.notches)
    if not words:
        return ""
    from griddesign.choose.undetermined import network_taps

    stay = ", ".join(network_taps(job))
    said = f"{words.capitalize()}: no taps are sought there, the currents follow."
    return f"{said} Tap {stay}, which nothing else uses, stays where it is." if stay else said
