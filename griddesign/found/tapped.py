"""Sections of plates at hand between given taps: their ohms, what they may be off by, what remains unused."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, isfinite
from typing import TYPE_CHECKING

from griddesign.errors import InputError
from griddesign.grid.layout import side_after
from griddesign.grid.records import Side, Tap
from griddesign.retaps.records import PlatesAtHand, Span, Step

if TYPE_CHECKING:
    from griddesign.job.retap import JointGiven, RetapGiven


@dataclass(frozen=True, slots=True)
class TappedSection:
    """One section as it stands between its taps: ``cold_ohm`` (``inf`` where a dead plate opens it) within
    ``half_width_ohm``; ``plates`` that carry current, by number; ``in_parallel``: plates to a step if alike."""

    name: str
    from_joint: int
    to_joint: int
    cold_ohm: float
    half_width_ohm: float
    plates: tuple[int, ...]
    jumped: tuple[int, ...]
    in_parallel: int | None


def present_taps(given: "RetapGiven", plates: Sequence[tuple[int, int]]) -> dict[str, int]:
    """Joint of every present tap; ``plates`` are (box, position) in order. Raises InputError for one nowhere."""
    return {name: joint_of(joint, plates, name) for name, joint in given.taps.items()}


def joint_of(joint: "JointGiven", plates: Sequence[tuple[int, int]], name: str) -> int:
    """The joint of the whole grid: after how many plates. Raises InputError where there is no such joint."""
    if joint.box is None:
        found = joint.plate if joint.plate is not None and joint.plate <= len(plates) else None
        words = f"after plate {joint.plate} of {len(plates)}"
    else:
        before = sum(1 for box, _ in plates if box < joint.box)
        inside = sum(1 for box, _ in plates if box == joint.box)
        position = inside if joint.plate is None else joint.plate
        found = before + position if inside and position <= inside else None
        words = f"box {joint.box}, after plate {position}" + (f" of {inside}" if inside else ": no such box")
    if found is None:
        raise InputError(f"{name}: {words}", hint="Count from the dot end; the CSV says what stands in the boxes.")
    return found


def spans_between(section_order: Sequence[str], taps: Mapping[str, int]) -> tuple[tuple[str, int, int], ...]:
    """(section, from joint, to joint) from the dot end. Raises InputError where taps run backwards."""
    found = []
    for number, name in enumerate(section_order):
        begin = taps.get(f"{section_order[number - 1]}/{name}" if number else "", taps.get(f"start of {name}"))
        after = section_order[number + 1] if number + 1 < len(section_order) else ""
        end = taps.get(f"{name}/{after}" if after else "", taps.get(f"end of {name}"))
        if begin is None or end is None:
            raise InputError(f"section {name} has no tap at one of its ends", hint="Give every tap in [retap] taps.")
        if end <= begin:
            words = f"section {name} runs from joint {begin} to joint {end}"
            raise InputError(words, hint="Taps stand in the order of the sections, from the dot end.")
        found.append((name, begin, end))
    for (one, _, end), (other, begin, _) in pairwise(found):
        if begin < end:
            raise InputError(f"sections {one} and {other} overlap between joints {begin} and {end}")
    return tuple(found)


def tapped(plates: PlatesAtHand, spans: Iterable[Span]) -> tuple[TappedSection, ...]:
    """Sections of an answer as they come out."""
    return tuple(
        section(plates, span.section, span.from_joint, span.to_joint, frozenset(span.jumped)) for span in spans
    )


def section(
    plates: PlatesAtHand, name: str, from_joint: int, to_joint: int, jumped: frozenset[int] = frozenset()
) -> TappedSection:
    """One section between two joints. ``jumped``: plates bridged by a jumper, with all that stand beside them.

    Half-widths are added whole: plates read by one meter lie to one side together. Raises InputError for a joint inside
    plates that stand side by side.
    """
    inside = [step for step in plates.steps if from_joint < step.last and step.first <= to_joint]
    cut = [step for step in inside if step.first <= from_joint or step.last > to_joint]
    if cut:
        words = f"section {name}: a tap between plates {cut[0].first} and {cut[0].last}, which stand side by side"
        raise InputError(words, hint="Put it outside the pair.")
    bridged = [step for step in inside if jumped & set(range(step.first, step.last + 1))]
    live = [step for step in inside if step.in_circuit and step not in bridged]
    numbers = [number for step in live for number in _live(plates, step)]
    sizes = {len(_live(plates, step)) for step in live}
    return TappedSection(
        name=name,
        from_joint=from_joint,
        to_joint=to_joint,
        cold_ohm=sum(step.ohm for step in live),
        half_width_ohm=sum(_half_width(plates, step) for step in live),
        plates=tuple(numbers),
        jumped=tuple(number for step in bridged for number in range(step.first, step.last + 1)),
        in_parallel=sizes.pop() if len(sizes) == 1 else None,
    )


def _live(plates: PlatesAtHand, step: Step) -> list[int]:
    """Plates of a step that carry current."""
    numbers = range(step.first, step.last + 1)
    return [number for number in numbers if plates.plates[number - 1].state in ("in circuit", "cracked")]


def _half_width(plates: PlatesAtHand, step: Step) -> float:
    """``dR = R^2 sum(dr_i / r_i^2)`` of plates side by side."""
    if not isfinite(step.ohm):
        return 0.0
    each = [plates.plates[number - 1] for number in _live(plates, step)]
    ohm = step.ohm - plates.joint_ohm
    return sum(plate.half_width_ohm * (ohm / plate.ohm) ** 2 for plate in each)


def section_ohms(sections: Iterable[TappedSection]) -> dict[str, float]:
    """Section name to its cold ohms."""
    return {one.name: one.cold_ohm for one in sections}


def unused(plates: PlatesAtHand, sections: Sequence[TappedSection]) -> tuple[tuple[int, str], ...]:
    """Plates that carry no current, each with why: number, words."""
    carrying = {number for one in sections for number in one.plates}
    jumped = {number for one in sections for number in one.jumped}
    found = []
    for number, plate in enumerate(plates.plates, start=1):
        if number not in carrying:
            dead = plate.ohm == inf
            inside = any(one.from_joint < number <= one.to_joint for one in sections)
            why = "dead" if dead else "mounted, not in circuit" if plate.state == "not in circuit" else "sound"
            found.append((number, f"{why}, {_place(number in jumped, inside)}"))
    return tuple(found)


def _place(jumped: bool, inside: bool) -> str:
    return "bridged by a jumper" if jumped else "inside a section" if inside else "outside the taps"


def taps_placed(plates: PlatesAtHand, taps: Iterable[tuple[str, int]], sides: frozenset[Side]) -> tuple[Tap, ...]:
    """Every tap where the bench finds it. A tap where boxes meet stands at the far end of its box if a lead reaches
    that, else at the dot end of the next; the start of a section after a gap always at the dot end."""
    return tuple(_placed(plates, name, joint, sides) for name, joint in taps)


def _placed(plates: PlatesAtHand, name: str, joint: int, sides: frozenset[Side]) -> Tap:
    inner = joint in plates.box_ends and 0 < joint < len(plates.plates)
    before = plates.plates[joint - 1] if joint else None
    side = _side_before(plates, joint)
    if before is None or (inner and (name.startswith("start of ") or side not in sides)):
        return Tap(name, plates.plates[joint].box, (0, 1), joint, "terminal side")
    return Tap(name, before.box, (before.position, before.position + 1), joint, side)


def _side_before(plates: PlatesAtHand, joint: int) -> Side:
    """The side of a joint at the box of the plate before it."""
    if joint == 0:
        return "terminal side"
    box = plates.plates[joint - 1].box
    steps = [step for step in plates.steps if step.last <= joint and plates.plates[step.first - 1].box == box]
    return side_after(sum(step.in_circuit for step in steps))
