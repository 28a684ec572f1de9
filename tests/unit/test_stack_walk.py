"""The order of washers proved from outside: a network is built from nothing but the parts on the rods, touching metal
for touching metal, solved by Kirchhoff's laws, and must show the ohms of the design between its taps."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from griddesign.errors import InputError
from griddesign.grid.layout import Layout, lay_out
from griddesign.grid.records import BoxPlan, SectionBuild, Tap
from griddesign.grid.stack.build import stacks
from griddesign.grid.stack.clamps import links_made
from griddesign.grid.stack.records import BoxStack, Gap, Hardware, KindInStack, StackPart
from griddesign.grid.stack.walk import faults
from griddesign.grid.taps import taps

HARDWARE = Hardware(0.002, 0.0015, 0.004, 0.012, 0.008, 0.010)
KINDS = {"P": KindInStack(0.005, 0.005), "Q": KindInStack(0.006, 0.008, True), "": KindInStack(0.005, 0.005)}
OHM = {"P": 0.07, "Q": 0.045, "": 0.07}


def section(name: str, series: int, in_parallel: int = 1, kind: str = "P") -> SectionBuild:
    ohm = OHM[kind]
    return SectionBuild(name, kind, series, in_parallel, ohm, ohm * series / in_parallel)


def built(
    sections: Iterable[SectionBuild], plan: BoxPlan, breaks: Sequence[str] = (), idle: Sequence[int] = ()
) -> tuple[Layout, tuple[Tap, ...], tuple[BoxStack, ...]]:
    layout = lay_out(sections, plan, idle)
    found = taps(layout, breaks)
    return layout, found, stacks(layout, found, KINDS, HARDWARE)


def measured(layout: Layout, boxes: Sequence[BoxStack], one: str, other: str) -> float:
    """Ohms between two leads, by the conductance matrix; infinite where nothing joins them. Written without the
    package's own walk: metal is what is neither mica nor end insulation."""
    parent: dict[object, object] = {}

    def root(node: object) -> object:
        while parent.setdefault(node, node) != node:
            node = parent[node]
        return node

    leads: dict[str, object] = {}
    eyes: dict[int, list[object]] = {}
    for stack in boxes:
        for rod in stack.rods:
            for (at, part), (_, after) in pairwise([*enumerate(rod.parts), (-1, rod.parts[-1])]):
                here = (stack.box, rod.name, at)
                root(here)
                if part.what == "eye":
                    eyes.setdefault(part.plate, []).append(here)
                for label in part.labels:
                    parent[root(here)] = root(leads.setdefault(label, here))
                insulators = {"mica washer", "end insulation"}
                if at + 1 < len(rod.parts) and not {part.what, after.what} & insulators:
                    parent[root(here)] = root((stack.box, rod.name, at + 1))
    number = {node: place for place, node in enumerate({root(node) for node in parent})}
    matrix = np.zeros((len(number), len(number)))
    for place in layout.places:
        a, b = (number[root(node)] for node in eyes[place.plate][:2])
        if a != b:
            matrix[[a, b], [a, b]] += 1 / OHM[place.kind]
            matrix[[a, b], [b, a]] -= 1 / OHM[place.kind]
    source, sink = number[root(leads[one])], number[root(leads[other])]
    if source == sink:
        return 0.0
    current = np.zeros(len(number))
    current[[source, sink]] = 1.0, -1.0
    volts = np.linalg.pinv(matrix) @ current
    carried = np.allclose(matrix @ volts, current, atol=1e-9)
    return float(volts[source] - volts[sink]) if carried else np.inf


def check(layout: Layout, found: Sequence[Tap], boxes: Sequence[BoxStack]) -> None:
    """Every pair of neighbouring taps shows the ohms of the section between them, the whole chain the sum."""
    assert faults(boxes, layout, found) == ()
    names = {tap.name for tap in found}
    order = [one.name for one in layout.sections]
    for before, one, after in zip(["", *order[:-1]], layout.sections, [*order[1:], ""], strict=True):
        start = next(name for name in (f"start of {one.name}", f"{before}/{one.name}") if name in names)
        end = next(name for name in (f"end of {one.name}", f"{one.name}/{after}") if name in names)
        assert measured(layout, boxes, start, end) == pytest.approx(one.cold_ohm, rel=1e-9)


PLANS = [BoxPlan(10, 20, 0.0127, 1), BoxPlan(10, 7, 0.012, 2), BoxPlan(4, 40, 0.02, 1)]


@pytest.mark.parametrize("plan", PLANS)
@pytest.mark.parametrize(
    "sections",
    [
        [section("A", 6)],
        [section("A", 2), section("B", 4, 2)],
        [section("A", 8), section("B", 4, 1, "Q"), section("C", 2, 3), section("D", 6, 2, "Q")],
        [section("A", 24), section("B", 2, 3, "Q"), section("C", 12)],
    ],
)
def test_the_parts_on_the_rods_make_the_design(sections: list[SectionBuild], plan: BoxPlan) -> None:
    layout, found, boxes = built(sections, plan)
    check(layout, found, boxes)
    first, last = layout.sections[0].name, layout.sections[-1].name
    whole = measured(layout, boxes, f"start of {first}", f"end of {last}")
    assert whole == pytest.approx(sum(one.cold_ohm for one in layout.sections), rel=1e-9)


def test_odd_counts_where_both_sides_can_be_reached() -> None:
    check(*built([section("A", 3), section("B", 5, 2), section("C", 1)], BoxPlan(5, 8, 0.0127, 2)))


def test_a_single_plate_is_stacked_too() -> None:
    layout, found, boxes = built([section("A", 1)], BoxPlan(1, 1, 0.0127, 2))
    check(layout, found, boxes)
    assert [part.what for part in boxes[0].rod("terminal side").parts] == [
        "end insulation", "terminal clamp", "metal washer", "eye", "spacer", "end insulation",
    ]  # fmt: skip


@pytest.mark.parametrize("counts", [(4, 4), (20, 6)])
def test_sections_of_different_motor_strings_do_not_touch(counts: tuple[int, int]) -> None:
    """Parted inside a box, and at a box's end, where there must be no link either."""
    layout, found, boxes = built(
        [section("A", counts[0]), section("B", counts[1])], BoxPlan(3, 20, 0.0127), breaks=("A",)
    )
    check(layout, found, boxes)
    assert measured(layout, boxes, "end of A", "start of B") == np.inf
    assert links_made(layout, found) == ()


def test_a_plate_out_of_circuit_carries_nothing() -> None:
    layout, found, boxes = built([section("A", 4), section("B", 4)], BoxPlan(2, 20, 0.0127), idle=(1, 3, 6, 10))
    assert sum(not place.in_circuit for place in layout.places) == 4
    check(layout, found, boxes)


@pytest.mark.parametrize(("steps", "side"), [(4, "terminal side"), (3, "far side")])
def test_plates_out_of_circuit_at_the_ends_hang_where_the_chain_comes_in_and_goes_out(steps: int, side: str) -> None:
    """It comes in on the terminal side and goes out there after an even number of steps, else on the far side."""
    layout, found, (box,) = built([section("A", steps)], BoxPlan(1, 9, 0.0127, 2), idle=(1, steps + 2, steps + 3))
    assert not any(rod.gaps[end].joined for rod in box.rods for end in (0, -1))
    assert [rod.name for rod in box.rods if rod.gaps[1].joined] == ["terminal side"]
    assert [rod.name for rod in box.rods for gap in rod.gaps[-3:-1] if gap.joined] == [side, side]
    check(layout, found, (box,))


def test_a_chain_parted_after_its_first_plate() -> None:
    layout, found, boxes = built([section("A", 1), section("B", 3)], BoxPlan(1, 9, 0.0127, 2), breaks=("A",))
    check(layout, found, boxes)
    assert measured(layout, boxes, "end of A", "start of B") == np.inf


def test_a_plate_out_of_circuit_inside_a_pair_is_refused() -> None:
    with pytest.raises(InputError, match="plate 2 is out of circuit inside a step"):
        built([section("A", 2, 2)], BoxPlan(1, 20, 0.0127), idle=(2,))


def test_the_walk_finds_a_washer_in_the_wrong_place() -> None:
    """The proof can fail: rods changed for one another, a box end for end, a joint made of mica."""
    layout, found, boxes = built([section("A", 4), section("B", 4)], BoxPlan(1, 20, 0.0127))
    (box,) = boxes
    near, far = box.rods
    for gaps in (
        (near.gaps[0], near.gaps[2], near.gaps[1], *near.gaps[3:]),
        (*near.gaps[:2], near.gaps[1], *near.gaps[3:]),
        (near.gaps[0], near.gaps[2], *near.gaps[2:]),
    ):
        wrong = type(near)(near.name, gaps, near.eyes)
        spoilt = type(box)(box.box, (wrong, far), box.plates, box.middles_m, box.over_eyes_m)
        assert faults([spoilt], layout, found)


def test_the_walk_finds_a_pair_that_is_joined_on_one_side_only() -> None:
    """Plates 1 and 2 are meant to lie side by side; with mica between them on one rod they do not."""
    layout, found, (box,) = built([section("A", 2, 2)], BoxPlan(1, 20, 0.0127))
    near, far = box.rods
    assert near.gaps[1].joined and not near.gaps[2].joined
    wrong = type(near)(near.name, (near.gaps[0], near.gaps[2], *near.gaps[2:]), near.eyes)
    spoilt = type(box)(box.box, (wrong, far), box.plates, box.middles_m, box.over_eyes_m)
    assert "plates 1 to 2 do not lie side by side between two nodes" in faults([spoilt], layout, found)


def regapped(box: BoxStack, name: str, gaps: dict[int, Gap]) -> BoxStack:
    """The box with other gaps on one of its rods."""
    rods = tuple(
        replace(rod, gaps=tuple(gaps.get(at, gap) for at, gap in enumerate(rod.gaps))) if rod.name == name else rod
        for rod in box.rods
    )
    return replace(box, rods=rods)


def test_the_walk_finds_a_plate_that_is_not_out_of_circuit() -> None:
    """Plate 2 hangs on the far rod; with metal on the other too it lies beside plate 1."""
    layout, found, (box,) = built([section("A", 1)], BoxPlan(1, 9, 0.0127, 2), idle=(2,))
    assert faults([box], layout, found) == ()
    joint = replace(box.rod("far side").gaps[1], parts=(StackPart("spacer", 0.0127),))
    spoilt = regapped(box, "terminal side", {1: joint})
    assert faults([spoilt], layout, found) == ("plate 2 is meant to be out of circuit and is not",)


def test_the_walk_finds_steps_that_meet_though_one_lies_between() -> None:
    """Metal in place of mica between plates 1 and 2: plate 1 is bridged and plate 3 meets it."""
    layout, found, (box,) = built([section("A", 4)], BoxPlan(1, 9, 0.0127))
    near = box.rod("terminal side")
    assert near.gaps[2].joined and not near.gaps[1].joined
    told = faults([regapped(box, "terminal side", {1: near.gaps[2]})], layout, found)
    assert "plate 3 meets one that is not its neighbour in circuit" in told
    assert "plates 1 and 2 share 2 nodes" in told


def test_the_walk_finds_a_tap_two_joints_off() -> None:
    layout, found, _ = built([section("A", 4), section("B", 4)], BoxPlan(1, 20, 0.0127))
    moved = tuple(replace(tap, joint=(2, 3)) if tap.name == "A/B" else tap for tap in found)
    told = faults(stacks(layout, moved, KINDS, HARDWARE), layout, found)
    assert told == ("tap A/B does not stand where its section begins or ends",)


def test_a_support_rod_whose_first_eye_is_that_of_the_second_plate() -> None:
    """From the end insulation to its eye: clamp, washer, and 2.5 + 18.2 - 4 mm over plate 1."""
    _, _, (box,) = built([section("A", 1), section("B", 3, 1, "Q")], BoxPlan(1, 9, 0.0127, 2))
    insulation, spacer = box.rod("support").gaps[0].parts
    assert (insulation.what, spacer.what) == ("end insulation", "spacer")
    assert spacer.length_m == pytest.approx(0.004 + 0.002 + 0.0025 + 0.0182 - 0.004)
    total = sum(part.length_m or 0.0 for part in box.rod("support").parts)
    assert total == pytest.approx(2 * (0.012 + 0.004 + 0.002) + box.over_eyes_m)


def test_gaps_name_the_plates_on_either_side() -> None:
    """0 is the dot end, one more than the plates the far end."""
    _, _, (box,) = built([section("A", 4)], BoxPlan(1, 20, 0.0127))
    assert all([(gap.before, gap.after) for gap in rod.gaps] == [(n, n + 1) for n in range(5)] for rod in box.rods)


def test_the_spacer_takes_what_the_others_leave() -> None:
    """Clear gap 12.7 mm: 12.7 - 2 x 2 joined, 12.7 - 2 x 1.5 apart, 4 less with a clamp; Q's eye 8 mm on a strip of
    6 mm takes 1 mm of either gap beside it."""
    _, _, (box,) = built([section("A", 2), section("B", 2, 1, "Q")], BoxPlan(1, 20, 0.0127))
    rod = box.rod("terminal side")
    spacers = [[part.length_m for part in gap.parts if part.what == "spacer"] for gap in rod.gaps[1:-1]]
    assert spacers == [
        [pytest.approx(0.0127 - 0.003)],
        [pytest.approx(0.0127 - 0.001 - 0.004 - 0.004)],
        [pytest.approx(0.0127 - 0.002 - 0.003)],
    ]
    for one in box.rods:
        total = sum(part.length_m or 0.0 for part in one.parts)
        assert total == pytest.approx(2 * (0.012 + 0.004 + 0.002) + box.over_eyes_m)
    assert box.over_eyes_m == pytest.approx(0.0025 + 0.0177 + 0.0182 + 0.0187 + 0.004)
