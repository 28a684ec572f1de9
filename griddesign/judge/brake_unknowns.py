"""What the weak figures of the brake do to its own currents and heat, for the list of what to measure next."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import inf, isinf

from griddesign.errors import GriddesignError
from griddesign.heat.records import HeatRow
from griddesign.judge.braking import BrakingResult, braking_of
from griddesign.judge.ends import BOTH, moved
from griddesign.judge.finding import Unknown
from griddesign.judge.measuring import ranked
from griddesign.judge.runup import Starter
from griddesign.traction.runup.records import RunUp


def with_brake(
    ready: Starter, run: RunUp, day: Sequence[HeatRow], brake: BrakingResult | None, unknowns: Iterable[Unknown]
) -> tuple[Unknown, ...]:
    """The unknowns, those of the brake (``braking.…``) with what they do to it, ranked anew.

    A figure of the brake moves nothing of the start; its room is the least margin of the plates under the brake.
    """
    each = tuple(unknowns)
    if brake is None or not any(_of_brake(one) for one in each):
        return each
    told = tuple(_told(ready, run, day, brake, one) if _of_brake(one) else one for one in each)
    room_k = min((row.margin_k for row in (*brake.heat, *day)), default=0.0)
    return ranked(told, ready.job.limits.notch_tolerance, room_k)


def _of_brake(one: Unknown) -> bool:
    return one.key.startswith("braking.")


def _told(ready: Starter, run: RunUp, day: Sequence[HeatRow], base: BrakingResult, one: Unknown) -> Unknown:
    """The unknown with the greatest change of a brake notch's peak, as a share, and of a section's hottest, K."""
    found = [_at(ready, run, day, {one.key: end}) for end in BOTH]
    if base.run is None or any(there is None or there.run is None for there in found):
        return replace(one, swing=inf, notch="every brake notch")
    there = [at for at in found if at is not None]
    swing, notch = max((pair for at in there for pair in _currents(base, at)), default=(0.0, ""))
    heat_k, section = max((pair for at in there for pair in _heats(base, at)), default=(0.0, ""))
    return replace(
        one, swing=swing, notch=notch if swing else "", heat_swing_k=heat_k if base.heat else None, section=section
    )


def _at(ready: Starter, run: RunUp, day: Sequence[HeatRow], pins: dict[str, str]) -> BrakingResult | None:
    """The brake with a figure at one end; None where nothing comes out there."""
    try:
        return braking_of(Starter(*moved(ready.job, ready.worked, pins)), run, day)
    except GriddesignError:
        return None


def _currents(base: BrakingResult, there: BrakingResult) -> Iterator[tuple[float, str]]:
    assert base.run is not None and there.run is not None
    for before, after in zip(base.run.notches, there.run.notches, strict=True):
        before_a, after_a = float(before.peak_a.max()), float(after.peak_a.max())
        if before_a > 0.0:
            yield abs(after_a / before_a - 1.0), before.name


def _heats(base: BrakingResult, there: BrakingResult) -> Iterator[tuple[float, str]]:
    """Change of every row; without end where it lies above the metal's table on one side alone."""
    for before, after in zip(base.heat, there.heat, strict=True):
        if isinf(before.hot_c) and isinf(after.hot_c):
            continue
        yield abs(after.hot_c - before.hot_c), before.section
