"""Every single fault of a bank as a changed bank."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise
from math import inf

from griddesign.found.tapped import section, spans_between
from griddesign.judge.faults.records import Bank, Fault, Taps
from griddesign.retaps.records import PlateAtHand, PlatesAtHand, Step

MOST_BOX_PAIRS = 10


def faults(bank: Bank) -> Iterator[Fault]:
    """Every single fault that can be told from another by its place: one plate of each section stands for all of it,
    the one that does most. Faults of a dead or unused plate are none."""
    yield from _open(bank)
    yield from _open_in_pair(bank)
    yield from _touching(bank)
    yield from _leads(bank)
    yield from _turned_boxes(bank)
    yield from _swapped_boxes(bank)


def section_ohms(fault: Fault) -> dict[str, float]:
    """Cold ohms of every section, ``inf`` where it is open.

    Two neighbouring plates of a zig-zag that touch are taken to touch half-way along both: half of each is bridged, a
    plate's worth together. At worst, at the far ends, they bridge two; near their common joint nothing.
    """
    found = {}
    for name, begin, end in spans(fault.bank):
        found[name] = section(fault.bank.plates, name, begin, end).cold_ohm if begin < end else 0.0
        if begin < fault.touching < end:
            found[name] -= bridged_ohm(fault.bank.plates, fault.touching)
    return found


def spans(bank: Bank) -> tuple[tuple[str, int, int], ...]:
    """Section, joint at its start, joint at its end; a section whose taps sit at one joint is empty."""
    taps = dict(bank.taps)
    found = []
    for place, name in enumerate(bank.sections):
        before = f"{bank.sections[place - 1]}/{name}" if place else ""
        after = f"{name}/{bank.sections[place + 1]}" if place + 1 < len(bank.sections) else ""
        begin = taps.get(before, taps.get(f"start of {name}"))
        end = taps.get(after, taps.get(f"end of {name}"))
        if begin is None or end is None:
            spans_between(bank.sections, taps)  # says which tap is missing
            raise AssertionError(name)
        found.append((name, begin, end))
    return tuple(found)


def bridged_ohm(plates: PlatesAtHand, joint: int) -> float:
    """Ohms that go where the plates on both sides of a joint touch half-way along, joints left as they are.

    Plates alone: half of each. Where others lie beside one of them, the two nodes that come about, the joint and the
    point of touch, are solved for.
    """
    before, after = _beside(plates, joint)
    one, two = plates.plates[before.last - 1], plates.plates[after.first - 1]
    beside_one, beside_two = (
        _conductance(plates, step) - 1.0 / plate.ohm for step, plate in ((before, one), (after, two))
    )
    to_one, to_two = 2.0 / one.ohm, 2.0 / two.ohm
    across = to_one + to_two
    touch, at_joint = to_one + across + to_two, beside_one + across + beside_two
    whole = touch * at_joint - across * across
    touch_v = (to_one * at_joint + across * beside_one) / whole
    joint_v = (beside_one * touch + across * to_one) / whole
    left = 1.0 / (to_one * (1.0 - touch_v) + beside_one * (1.0 - joint_v))
    return before.ohm + after.ohm - 2.0 * plates.joint_ohm - left


def _conductance(plates: PlatesAtHand, step: Step) -> float:
    return sum(1.0 / plates.plates[number - 1].ohm for number in _live(plates, step))


def _beside(plates: PlatesAtHand, joint: int) -> tuple[Step, Step]:
    before = next(step for step in plates.steps if step.last == joint)
    return before, next(step for step in plates.steps if step.first == joint + 1)


# --- plates ----------------------------------------------------------------------------------------------------------


def _open(bank: Bank) -> Iterator[Fault]:
    """A plate that stands alone: its section is open, whichever plate it is."""
    for name, single, _ in _by_section(bank):
        if single:
            changed = _opened(bank.plates, single[0].first)
            yield Fault("plate open", f"a plate of {name} open", replace(bank, plates=changed))


def _open_in_pair(bank: Bank) -> Iterator[Fault]:
    """One of plates side by side: the others carry all of it. The one with the least ohms does most."""
    for name, _, several in _by_section(bank):
        if several:
            live = [_live(bank.plates, step) for step in several]
            number = min((one for numbers in live for one in numbers), key=lambda one: _gain(bank.plates, live, one))
            what = f"one of {max(map(len, live))} plates side by side of {name} open"
            yield Fault("one of a pair open", what, replace(bank, plates=_opened(bank.plates, number)))


def _gain(plates: PlatesAtHand, live: Sequence[Sequence[int]], number: int) -> float:
    """Ohms the step gains when a plate of it opens, below zero so that the greatest comes first."""
    mates = next(numbers for numbers in live if number in numbers)
    conductance = sum(1.0 / plates.plates[one - 1].ohm for one in mates)
    less = conductance - 1.0 / plates.plates[number - 1].ohm
    return 1.0 / conductance - 1.0 / less


def _by_section(bank: Bank) -> Iterator[tuple[str, list[Step], list[Step]]]:
    """Section, its live steps of one plate, those of several."""
    for name, begin, end in spans(bank):
        inside = [step for step in bank.plates.steps if begin < step.first and step.last <= end]
        live = [step for step in inside if step.in_circuit and not step.dead]
        single = [step for step in live if len(_live(bank.plates, step)) == 1]
        yield name, single, [step for step in live if step not in single]


def _live(plates: PlatesAtHand, step: Step) -> list[int]:
    numbers = range(step.first, step.last + 1)
    return [number for number in numbers if plates.plates[number - 1].state in ("in circuit", "cracked")]


def _opened(plates: PlatesAtHand, number: int) -> PlatesAtHand:
    one = plates.plates[number - 1]
    dead = replace(one, ohm=inf, half_width_ohm=0.0, state="dead")
    return replace(plates, plates=(*plates.plates[: number - 1], dead, *plates.plates[number:]))


def _touching(bank: Bank) -> Iterator[Fault]:
    """Two steps next to each other in one box and one section: of each section the pair with the most ohms."""
    for name, begin, end in spans(bank):
        joints = [
            one.last
            for one, two in pairwise(bank.plates.steps)
            if begin < one.first and two.last <= end and _may_touch(bank.plates, one, two)
        ]
        if joints:
            joint = max(joints, key=lambda one: bridged_ohm(bank.plates, one))
            yield Fault("neighbours touching", f"two neighbours of {name} touching", bank, joint)


def _may_touch(plates: PlatesAtHand, one: Step, two: Step) -> bool:
    """Whether both plates at the joint carry current, in one box."""
    beside = plates.plates[one.last - 1], plates.plates[two.first - 1]
    live = all(plate.state in ("in circuit", "cracked") for plate in beside)
    return live and beside[0].box == beside[1].box


# --- leads -----------------------------------------------------------------------------------------------------------


def _leads(bank: Bank) -> Iterator[Fault]:
    """Every tap at the next joint its lead reaches, towards the dot end and away from it, as far as its neighbours."""
    reach = [joint for joint in bank.plates.joints if _reached(bank, joint)]
    order = [joint for _, joint in bank.taps]
    for place, (name, joint) in enumerate(bank.taps):
        lowest = order[place - 1] if place else 0
        highest = order[place + 1] if place + 1 < len(order) else len(bank.plates.plates)
        nearer = max((one for one in reach if lowest <= one < joint), default=None)
        farther = min((one for one in reach if joint < one <= highest), default=None)
        for to in (nearer, farther):
            if to is not None:
                taps = tuple((other, to if other == name else at) for other, at in bank.taps)
                what = f"lead {name} one joint off: after plate {to}, not {joint}"
                yield Fault("lead one joint off", what, replace(bank, taps=taps))


def _reached(bank: Bank, joint: int) -> bool:
    return bank.tap_sides != 1 or "terminal side" in bank.plates.sides[joint]


# --- boxes -----------------------------------------------------------------------------------------------------------


def _turned_boxes(bank: Bank) -> Iterator[Fault]:
    """A box hung with its dot at the other end, every lead where it always was in space."""
    boxes = _boxes(bank.plates)
    for place, box in enumerate(boxes):
        turned = [tuple(reversed(one)) if one is box else one for one in boxes]
        what = f"box {place + 1} hung end for end"
        yield Fault("box end for end", what, _rehung(bank, turned))


def _swapped_boxes(bank: Bank) -> Iterator[Fault]:
    """Two boxes changed for each other, leads as they were; of many boxes, neighbours alone."""
    boxes = _boxes(bank.plates)
    pairs = list(combinations(range(len(boxes)), 2))
    if len(pairs) > MOST_BOX_PAIRS:
        pairs = list(pairwise(range(len(boxes))))
    for a, b in pairs:
        swapped = list(boxes)
        swapped[a], swapped[b] = boxes[b], boxes[a]
        what = f"boxes {a + 1} and {b + 1} swapped"
        yield Fault("boxes swapped", what, _rehung(bank, swapped))


def _boxes(plates: PlatesAtHand) -> list[tuple[PlateAtHand, ...]]:
    numbers = dict.fromkeys(plate.box for plate in plates.plates)
    return [tuple(plate for plate in plates.plates if plate.box == box) for box in numbers]


def _rehung(bank: Bank, boxes: Sequence[tuple[PlateAtHand, ...]]) -> Bank:
    """The plates in their new places; each lead at the joint that now hangs where its own hung."""
    moved = tuple(
        replace(plate, box=place, position=position)
        for place, box in enumerate(boxes, start=1)
        for position, plate in enumerate(box, start=1)
    )
    plates = replace(bank.plates, plates=moved)
    return replace(bank, plates=plates, taps=_taps_hung(bank, plates, boxes))


def _taps_hung(bank: Bank, plates: PlatesAtHand, boxes: Sequence[tuple[PlateAtHand, ...]]) -> Taps:
    """Joints as near to their old places in their boxes as can be: of a shorter box its far end; never inside plates
    that stand side by side; on the side the leads reach."""
    reach = [joint for joint in plates.joints if bank.tap_sides != 1 or "terminal side" in plates.sides[joint]]
    old = [len(box) for box in _boxes(bank.plates)]
    found = []
    for name, joint in bank.taps:
        place, position = _in_box(old, joint)
        start = sum(len(box) for box in boxes[:place])
        wanted = start + min(position, len(boxes[place]))
        found.append((name, min(reach, key=lambda one: (abs(one - wanted), one))))
    return tuple(found)


def _in_box(lengths: Sequence[int], joint: int) -> tuple[int, int]:
    """Box from 0 and plates before the joint in it; where boxes meet, the far end of the first."""
    before = 0
    for place, length in enumerate(lengths):
        if joint <= before + length:
            return place, joint - before
        before += length
    return len(lengths) - 1, lengths[-1]
