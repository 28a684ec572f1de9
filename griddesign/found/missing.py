"""Readings over several plates that read as one plate fewer: mounted, not in circuit, or bridged; or a light batch."""

from collections.abc import Sequence
from dataclasses import dataclass

from griddesign.found.records import OneOut, Reading20


@dataclass(frozen=True, slots=True)
class StepKnown:
    """One step as known without the reading: ``ohm`` within ``half_width_ohm``; ``plate`` the first of it."""

    plate: int
    ohm: float
    half_width_ohm: float


def one_out(reading: Reading20, steps: Sequence[StepKnown]) -> OneOut | None:
    """What a reading says of the number of plates it was taken over; None where all of them are nearest to it.

    n plates known within u either way and n - 1 of them can be told apart where ``(n - 1)(1 + u) < n (1 - u)``, for
    like plates ``u < 1/(2 n - 1)``: 2.9 per cent of 18. The whole halves of the ranges are added, since the ohms of one
    batch lie to one side together.
    """
    whole, plate_ohm = sum(step.ohm for step in steps), sum(step.ohm for step in steps) / len(steps)
    out = round((whole - reading.ohm) / plate_ohm)
    if len(steps) < 2 or out == 0:
        return None
    wide, share = sum(step.half_width_ohm for step in steps), sum(step.half_width_ohm for step in steps) / whole
    beyond = abs(reading.ohm - whole) > wide + reading.half_width_ohm
    candidates = _candidates(reading, steps, whole, share) if out == 1 else ()
    fits = (
        bool(candidates) or abs(whole - out * plate_ohm - reading.ohm) <= share * reading.ohm + reading.half_width_ohm
    )
    needed = abs(out) / (2 * len(steps) - out)
    return OneOut(
        reading=reading.words,
        plates=len(steps),
        ohm=reading.ohm,
        all_ohm=whole,
        plate_ohm=plate_ohm,
        out=out,
        share=share,
        needed_share=needed,
        shown=beyond and fits and share < needed,
        candidates=candidates,
    )


def _candidates(reading: Reading20, steps: Sequence[StepKnown], whole: float, share: float) -> tuple[int, ...]:
    """Plates without which the others make up the reading."""
    return tuple(
        step.plate
        for step in steps
        if abs(whole - step.ohm - reading.ohm) <= share * (whole - step.ohm) + reading.half_width_ohm
    )
