"""The question of new taps from a job and the plates found; every notch on a given set of sections."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from griddesign.choose.from_job import notch_aims
from griddesign.errors import InputError
from griddesign.found.records import AsFound
from griddesign.found.tapped import TappedSection, joint_of, present_taps
from griddesign.grid.circuit import names, ohms
from griddesign.grid.records import Run, Side
from griddesign.grid.taps import string_breaks
from griddesign.job.records import Job
from griddesign.job.retap import RetapGiven, SpareGiven
from griddesign.judge.retapping.records import NotchAt
from griddesign.retaps.records import WORTH, NotchTarget, Question, Spare, TapRules
from griddesign.traction.records import GivenOhms, Ladder

SIDES: Mapping[str, frozenset[Side]] = {
    "terminal side": frozenset(("terminal side",)),
    "far side": frozenset(("far side",)),
    "both": frozenset(("terminal side", "far side")),
}


def targets_of(job: Job, wanted: Ladder | GivenOhms) -> tuple[NotchTarget, ...]:
    """One target for each circuit that has a grid in it."""
    tolerance = job.limits.notch_tolerance
    return tuple(
        NotchTarget(aim.name, aim.circuit, aim.total_ohm, aim.other_ohm, aim.factor, tolerance)
        for aim in notch_aims(job, wanted)
        if names(aim.circuit)
    )


def question_of(job: Job, wanted: Ladder | GivenOhms, found: AsFound) -> Question:
    """Where taps may sit on the plates found. Raises InputError where the job names joints that are not there."""
    given = job.retap or RetapGiven()
    places = tuple((row.box, row.position) for row in found.rows)
    breaks = dict.fromkeys(name for notch in job.notches for name in string_breaks(job.section_order, notch.strings))
    rules = TapRules(
        sides=_sides(job, given),
        forbidden=frozenset(joint_of(joint, places, "[retap] forbidden") for joint in given.forbidden),
        box_ends_only=given.box_ends_only,
        present=present_taps(given, places),
        fixed=frozenset(given.fixed) | network_taps_of(job, given),
        most_moves=given.most_moves,
        may_jump=given.jump,
        leave_out=given.leave_out,
        may_swap=given.swap,
        spares=_single(given) if given.use_spares else (),
        most_swaps=given.most_swaps,
        most_spares=given.most_spares,
        worth=WORTH if given.exchange_gain is None else given.exchange_gain,
        breaks=tuple(breaks),
    )
    return Question(found.plates, job.section_order, targets_of(job, wanted), rules, dict(given.section_currents))


def network_taps_of(job: Job, given: RetapGiven) -> frozenset[str]:
    """Taps that only networks use: no grouping says where they sit, so they stay. Raises InputError where the job does
    not say where they are today."""
    if all(notch.network is None for notch in job.notches):
        return frozenset()
    from griddesign.choose.undetermined import network_taps

    taps = frozenset(network_taps(job))
    lacking = sorted(taps - set(given.taps))
    if lacking:
        raise InputError(
            f"nothing says where tap {', '.join(lacking)} should sit: only notches that are no groupings of like "
            "strings part its sections",
            hint="Give its place of today in [retap] taps: it stays there.",
        )
    return taps


def _sides(job: Job, given: RetapGiven) -> frozenset[Side]:
    if given.sides:
        return SIDES[given.sides]
    return SIDES["both" if job.boxes is not None and job.boxes.tap_sides == 2 else "terminal side"]


@dataclass(frozen=True, slots=True)
class SpareOfJob:
    """A plate on the shelf, or a box of ``plates`` alike; ``ohm`` and its half-width are those of one plate."""

    name: str
    kind: str
    ohm: float
    half_width_ohm: float
    plates: int
    current_a: float | None = None


def spares_of(given: RetapGiven) -> tuple[SpareOfJob, ...]:
    """What is on the shelf."""
    return tuple(
        SpareOfJob(one.name, one.kind, one.ohm, _half_width_ohm(one), one.plates, one.current_a) for one in given.spares
    )


def _half_width_ohm(one: SpareGiven) -> float:
    return max(one.high_ohm - one.ohm, one.ohm - one.low_ohm)


def _single(given: RetapGiven) -> tuple[Spare, ...]:
    """The single plates among them, as the search takes them."""
    return tuple(
        Spare(one.name, one.kind, one.ohm, one.half_width_ohm, one.current_a)
        for one in spares_of(given)
        if one.plates == 1
    )


_OPEN_OHM = 1e18


def _ohms(run: Run, section_ohm: Mapping[str, float]) -> float:
    """Ohms of a run in which sections may be open, side by side too."""
    found = ohms(run, {name: min(ohm, _OPEN_OHM) for name, ohm in section_ohm.items()})
    return found if found < _OPEN_OHM / 1e3 else inf


def notches_at(targets: Iterable[NotchTarget], sections: Sequence[TappedSection]) -> tuple[NotchAt, ...]:
    """Every notch with a grid on these sections. The ohms of a circuit rise with those of each section, so both ends of
    all of them together are both ends of the notch."""
    middle = {one.name: one.cold_ohm for one in sections}
    least = {one.name: max(0.0, one.cold_ohm - one.half_width_ohm) for one in sections}
    most = {one.name: one.cold_ohm + one.half_width_ohm for one in sections}
    found: dict[str, NotchAt] = {}
    for target in targets:
        at, low, high = (_ohms(target.run, section_ohm) for section_ohm in (middle, least, most))
        row = NotchAt(target.name, at, target.error(at), target.error(high), target.error(low))
        if target.name not in found or abs(row.error) > abs(found[target.name].error):
            found[target.name] = row
    return tuple(found.values())
