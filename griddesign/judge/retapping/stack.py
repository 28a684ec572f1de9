"""The boxes of a grid that is tapped again, as they are to be stacked: which part follows which on each rod.

Only boxes in which something moves: a lead, a plate, a spare, a jumper. The zig-zag of the plates stays as it is, those
that carry nothing included, so the order is known wherever the plates are; lengths only where the job draws every kind
of plate and gives the gap between them. Else parts are counted and put in order, and no length is made up.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from griddesign.errors import InputError
from griddesign.found.tapped import TappedSection, taps_placed
from griddesign.grid.layout import Layout, Place
from griddesign.grid.records import BoxPlan, SectionBuild, Side, Tap
from griddesign.grid.stack.build import stacks
from griddesign.grid.stack.clamps import links_made
from griddesign.grid.stack.lengths import counted
from griddesign.grid.stack.records import BoxStack, Clamped, Hardware, KindInStack, Rod, StackPart
from griddesign.grid.stack.walk import faults
from griddesign.job.records import Job
from griddesign.job.stack import HardwareGiven
from griddesign.judge.stacking import BoxReport, StackReport, terminals_of
from griddesign.retaps.records import PlatesAtHand

_ANY_M = 0.01  # stands in for what is not known, and is taken out again
IDLE = "unused"


@dataclass(frozen=True, slots=True)
class Stacked:
    """Boxes as stacked. ``changed``: number of each box shown, and what changes in it, in words. ``lengths``: whether
    any length is known; where not, ``without`` says why."""

    report: StackReport
    layout: Layout
    changed: tuple[tuple[int, tuple[str, ...]], ...]
    without: str = ""

    @property
    def lengths(self) -> bool:
        """Whether the lengths are those of the job's plates."""
        return not self.without


@dataclass(frozen=True, slots=True)
class NotStacked:
    """Boxes of which no order of parts is known, and ``why``; ``changed`` as in ``Stacked``."""

    changed: tuple[tuple[int, tuple[str, ...]], ...]
    why: str


@dataclass(frozen=True, slots=True)
class Change:
    """What happens in one box, in words."""

    box: int
    words: str


def stacked(
    job: Job,
    plates: PlatesAtHand,
    sections: Sequence[TappedSection],
    taps: Sequence[tuple[str, int]],
    sides: frozenset[Side],
    changes: Iterable[Change],
    breaks: Iterable[str] = (),
) -> Stacked | NotStacked | None:
    """The boxes with these changes; why there is no order where a box has no plate in circuit, or where no washers make
    the grid. None where nothing changes."""
    words: dict[int, list[str]] = {}
    for change in changes:
        words.setdefault(change.box, []).append(change.words)
    if not words:
        return None
    layout, changed = layout_of(job, plates, sections), tuple((box, tuple(said)) for box, said in sorted(words.items()))
    bare = [box for box in range(1, layout.boxes + 1) if not layout.steps_in_box(box)]
    if bare:
        return NotStacked(changed, f"no plate of box {bare[0]} is in circuit")
    try:
        report, without = _report(job, plates, layout, _leads(plates, sections, taps, sides, frozenset(breaks)))
    except InputError as error:
        return NotStacked(changed, error.message)
    shown = replace(report, boxes=tuple(one for one in report.boxes if one.stack.box in words))
    return Stacked(shown, layout, changed, without)


def layout_of(job: Job, plates: PlatesAtHand, sections: Sequence[TappedSection]) -> Layout:
    """Where every plate stands, by section and step. Steps outside the taps go on in the zig-zag as sections of their
    own, which no lead belongs to."""
    places: list[Place] = []
    section, step, stretch = "", 0, 0
    for one in plates.steps:
        own = next((each.name for each in sections if each.from_joint < one.last <= each.to_joint), "")
        if not own and (section in ("", *(each.name for each in sections))):
            stretch += 1
        name = own or f"{IDLE} {stretch}"
        step = (step if name == section else 0) + one.in_circuit
        section = name
        for number in range(one.first, one.last + 1):
            plate = plates.plates[number - 1]
            there = (name, plate.kind, step) if one.in_circuit else ("", plate.kind, 0)
            places.append(Place(number, plate.box, plate.position, *there))
    built = [SectionBuild(each.name, "", 1, 1, each.cold_ohm, each.cold_ohm) for each in sections]
    return Layout(tuple(places), tuple(built), job.boxes or BoxPlan(1, 1, _ANY_M))


@dataclass(frozen=True, slots=True)
class Leads:
    """All that is clamped: taps, jumpers, and the plates after which the chain is parted."""

    taps: tuple[Tap, ...]
    jumpers: tuple[Clamped, ...]
    parted: frozenset[int]


def _leads(
    plates: PlatesAtHand,
    sections: Sequence[TappedSection],
    taps: Sequence[tuple[str, int]],
    sides: frozenset[Side],
    breaks: frozenset[str],
) -> Leads:
    """The taps as clamped: two at a joint where the chain is parted. Where plates are left out between two sections the
    chain goes on, and both leads go to the same terminal."""
    found: list[tuple[str, int]] = []
    for name, joint in taps:
        before, _, after = name.partition("/")
        found += [(f"end of {before}", joint), (f"start of {after}", joint)] if before in breaks else [(name, joint)]
    placed = taps_placed(plates, found, sides)
    begun = {one.name: other.name for one, other in pairwise(sections)}
    starts = {f"start of {after}" for before, after in begun.items() if before in breaks}
    parted = frozenset(tap.after_plate for tap in placed if tap.name in starts)
    return Leads(placed, _jumpers(plates, sections), parted)


def jumper_name(plates: PlatesAtHand, number: int) -> str:
    """The name of the jumper over a plate."""
    plate = plates.plates[number - 1]
    return f"jumper over plate {plate.position} of box {plate.box}"


def _jumpers(plates: PlatesAtHand, sections: Sequence[TappedSection]) -> tuple[Clamped, ...]:
    return tuple(
        clamp for one in sections for first, last in _bridged(plates, one) for clamp in _two(plates, first, last)
    )


def _bridged(plates: PlatesAtHand, section: TappedSection) -> Iterator[tuple[int, int]]:
    """First and last plate of every step that is bridged."""
    jumped = set(section.jumped)
    yield from ((step.first, step.last) for step in plates.steps if step.first in jumped)


def _two(plates: PlatesAtHand, first: int, last: int) -> Iterator[Clamped]:
    """Both clamps of a jumper over a step: at the joint before it and at the joint after it."""
    name, box = jumper_name(plates, first), plates.plates[first - 1].box
    here = plates.plates[first - 1].position
    steps = [step for step in plates.steps if plates.plates[step.first - 1].box == box and step.in_circuit]
    before = sum(step.last < first for step in steps)
    for count, gap, hand in ((before, here - 1, "after"), (before + 1, here - 1 + last - first + 1, "before")):
        side: Side = "terminal side" if count % 2 == 0 else "far side"
        yield Clamped(box, gap, side, "after" if hand == "after" else "before", name)


def _report(job: Job, plates: PlatesAtHand, layout: Layout, leads: Leads) -> tuple[StackReport, str]:
    given, without = job.hardware or HardwareGiven(), _lacking(job, plates)
    kinds = _kinds(job, plates, given, known=not without)
    hardware = Hardware() if without else given.hardware
    built = stacks(layout, leads.taps, kinds, hardware, leads.jumpers, leads.parted)
    bare = stacks(layout, leads.taps, kinds, hardware, (), leads.parted)
    shown = tuple(map(_bare, built)) if without else built
    boxes = tuple(BoxReport(stack, None, 0.0, None, None, None, 0.0, None) for stack in shown)
    report = StackReport(
        boxes=boxes,
        counts=counted(shown),
        taps=leads.taps,
        links=links_made(layout, leads.taps, leads.parted),
        terminals=terminals_of(job),
        given=given,
        walked_faults=faults(bare, layout, leads.taps, leads.parted),
        jumpers=tuple(dict.fromkeys(one.label for one in leads.jumpers)),
    )
    return report, without


def _lacking(job: Job, plates: PlatesAtHand) -> str:
    """Why no length is known; empty where lengths are."""
    drawn = {wish.name for wish in job.plates}
    strange = [kind for kind in dict.fromkeys(plate.kind for plate in plates.plates) if kind not in drawn]
    if job.boxes is None:
        return "the job has no [boxes] with their plate gap"
    return f"no [[plate]] draws kind {', '.join(strange)}" if strange else ""


def _kinds(job: Job, plates: PlatesAtHand, given: HardwareGiven, *, known: bool) -> dict[str, KindInStack]:
    if not known:
        return {plate.kind: KindInStack(_ANY_M, _ANY_M) for plate in plates.plates}
    found = {}
    for wish in job.plates:
        strip_m = wish.shape.thickness_m
        found[wish.name] = KindInStack(strip_m, given.eye_m.get(wish.name, strip_m), bool(wish.shape.support_eyes))
    return found


def _bare(stack: BoxStack) -> BoxStack:
    """The stack without any length."""
    return replace(stack, rods=tuple(map(_bare_rod, stack.rods)))


def _bare_rod(rod: Rod) -> Rod:
    gaps = tuple(replace(gap, length_m=None, parts=tuple(map(_bare_part, gap.parts))) for gap in rod.gaps)
    return replace(rod, gaps=gaps, eyes=tuple(map(_bare_part, rod.eyes)))


def _bare_part(part: StackPart) -> StackPart:
    return replace(part, length_m=None)
