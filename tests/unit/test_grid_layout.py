"""Where plates stand and where taps come out, against a walk of the current plate by plate."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import InputError
from griddesign.grid.build import build_section, ohms_by_section, section_ohm
from griddesign.grid.layout import Layout, box_links, lay_out, plates_together, side_after
from griddesign.grid.records import BoxPlan, Run, SectionBuild
from griddesign.grid.taps import out_of_reach, string_breaks, taps


def grid(*counts: tuple[int, int]) -> tuple[SectionBuild, ...]:
    """Sections A, B, ... of (steps, plates side by side)."""
    return tuple(build_section(name, "P", steps, q, 0.069) for name, (steps, q) in zip("ABCDEFG", counts, strict=False))


def plan(boxes: int = 3, plates: int = 20, sides: int = 1) -> BoxPlan:
    return BoxPlan(boxes, plates, 0.0127, sides)


def walk(layout: Layout) -> dict[tuple[int, int], str]:
    """The side the current is on after each plate, keyed by box and position, crossing once with every step."""
    sides: dict[tuple[int, int], str] = {}
    for box in range(1, layout.boxes + 1):
        side, step = "terminal side", None
        for place in layout.in_box(box):
            if place.in_circuit and (place.section, place.step) != step:
                side = "far side" if side == "terminal side" else "terminal side"
                step = (place.section, place.step)
            sides[box, place.position] = side
    return sides


def test_demo_grid_tap_by_tap() -> None:
    """22, 20, 4, 8, 4 steps in boxes of 20: A runs over into box 2, E ends in box 3."""
    layout = lay_out(grid((22, 1), (20, 1), (4, 1), (8, 1), (4, 1)), plan())
    found = taps(layout)
    assert [(tap.name, tap.box, tap.joint, tap.after_plate) for tap in found] == [
        ("start of A", 1, (0, 1), 0),
        ("A/B", 2, (2, 3), 22),
        ("B/C", 3, (2, 3), 42),
        ("C/D", 3, (6, 7), 46),
        ("D/E", 3, (14, 15), 54),
        ("end of E", 3, (18, 19), 58),
    ]
    assert {tap.side for tap in found} == {"terminal side"}
    assert [(link.from_box, link.to_box, link.inside_section) for link in box_links(layout)] == [
        (1, 2, "A"),
        (2, 3, "B"),
    ]


def test_a_tap_where_a_box_ends_stands_at_its_far_end() -> None:
    layout = lay_out(grid((20, 1), (4, 1)), plan())
    tap = taps(layout)[1]
    assert (tap.name, tap.box, tap.joint, tap.after_plate) == ("A/B", 1, (20, 21), 20)
    assert box_links(layout)[0].inside_section == ""


def test_a_link_inside_a_section_of_which_one_plate_alone_is_in_the_first_box() -> None:
    layout = lay_out(grid((3, 1), (2, 1), (2, 1)), plan(boxes=2, plates=4, sides=2))
    assert [(link.inside_section, link.side) for link in box_links(layout)] == [("B", "terminal side")]


def test_a_section_of_one_step_needs_room_for_one_step_only() -> None:
    assert len(lay_out(grid((1, 3)), plan(boxes=1, plates=4)).places) == 3


def test_pairs_side_by_side_count_once() -> None:
    """Three plates, then two pairs: the joint after plate 7 is after 5 steps, hence on the far side."""
    found = taps(lay_out(grid((3, 1), (2, 2)), plan(sides=2)))
    assert [(tap.after_plate, tap.joint, tap.side) for tap in found] == [
        (0, (0, 1), "terminal side"),
        (3, (3, 4), "far side"),
        (7, (7, 8), "far side"),
    ]


def test_odd_section_is_laid_out_and_told_to_be_out_of_reach() -> None:
    layout = lay_out(grid((3, 1), (3, 1), (2, 1)), plan())
    far = out_of_reach(layout, taps(layout))
    assert [tap.name for tap in far] == ["A/B"]
    assert out_of_reach(lay_out(grid((3, 1)), plan(sides=2)), taps(lay_out(grid((3, 1)), plan(sides=2)))) == ()


def test_no_pair_of_steps_is_parted_by_a_link() -> None:
    """A box of 7 with leads on one side takes three pairs of plates and leaves one place empty."""
    layout = lay_out(grid((10, 1)), plan(boxes=2, plates=7))
    assert [len(layout.in_box(box)) for box in (1, 2)] == [6, 4]


def test_a_step_of_three_is_not_parted() -> None:
    layout = lay_out(grid((1, 1), (4, 3)), plan(boxes=2, plates=9, sides=2))
    assert [len(layout.in_box(box)) for box in (1, 2)] == [7, 6]
    assert plates_together(3, 1) == 6


def test_plates_out_of_circuit_take_a_place_and_nothing_else() -> None:
    layout = lay_out(grid((4, 1), (2, 1)), plan(sides=1), idle=(3, 7))
    assert [place.in_circuit for place in layout.places] == [True, True, False, True, True, True, False, True]
    assert layout.steps_in_box(1) == 6
    assert [(tap.name, tap.after_plate, tap.side) for tap in taps(layout)] == [
        ("start of A", 0, "terminal side"),
        ("A/B", 5, "terminal side"),
        ("end of B", 8, "terminal side"),
    ]


def test_strings_are_parted_by_two_taps_at_one_joint() -> None:
    breaks = string_breaks("ABCD", (Run(("A", "B")), Run(("C", "D"))))
    assert breaks == ("B",)
    found = taps(lay_out(grid((4, 1), (2, 1), (4, 1), (2, 1)), plan()), breaks)
    assert [tap.name for tap in found] == ["start of A", "A/B", "end of B", "start of C", "C/D", "end of D"]
    assert found[2].joint == found[3].joint == (6, 7)
    assert string_breaks("ABC", ()) == ()


@pytest.mark.parametrize(
    ("counts", "wanted"),
    [(((30, 1),), "do not fit"), (((2, 11),), "together in one box"), (((0, 1),), "0 steps")],
)
def test_what_cannot_be_laid_out_is_refused_with_its_numbers(counts: tuple[tuple[int, int], ...], wanted: str) -> None:
    sections = tuple(SectionBuild("A", "P", steps, q, 0.07, 0.07) for steps, q in counts)
    with pytest.raises(InputError, match=wanted):
        lay_out(sections, plan(boxes=1))


def test_no_sections_no_taps() -> None:
    assert taps(lay_out((), plan())) == ()


def test_sections_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError):
        build_section("A", "P", 0, 1, 0.07)
    with pytest.raises(InputError):
        build_section("A", "P", 1, 1, 0.0)


def test_joints_are_added_step_by_step() -> None:
    assert section_ohm(10, 2, 0.07, 0.001) == pytest.approx(10 * (0.035 + 0.001), rel=1e-15)
    built = build_section("A", "P", 10, 2, 0.07, 0.001)
    assert ohms_by_section((built,)) == {"A": pytest.approx(0.36, rel=1e-14)}
    assert built.plates == 20


counts = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 3)), min_size=1, max_size=6)


@settings(max_examples=150, deadline=None)
@given(counts, st.integers(6, 13), st.sampled_from((1, 2)))
def test_sides_are_those_of_a_walk(drawn: list[tuple[int, int]], plates: int, sides: int) -> None:
    layout = lay_out(grid(*drawn), plan(boxes=99, plates=plates, sides=sides))
    after = walk(layout)
    for tap in taps(layout)[1:]:
        assert tap.side == after[tap.box, tap.joint[0]]
    for link in box_links(layout):
        assert link.side == after[link.from_box, len(layout.in_box(link.from_box))]
    assert [place.plate for place in layout.places] == list(range(1, sum(n * q for n, q in drawn) + 1))


@settings(max_examples=150, deadline=None)
@given(counts, st.integers(6, 13))
def test_one_side_is_enough_if_and_only_if_every_section_is_even(drawn: list[tuple[int, int]], plates: int) -> None:
    """Even sections: every tap and every link on the terminal side. Any odd section: some tap on the far side."""
    layout = lay_out(grid(*drawn), plan(boxes=99, plates=plates))
    even = all(steps % 2 == 0 for steps, _ in drawn)
    out = out_of_reach(layout, taps(layout)) or [link for link in box_links(layout) if link.side == "far side"]
    assert bool(out) == (not even)


@settings(max_examples=150, deadline=None)
@given(counts, st.integers(6, 13), st.sampled_from((1, 2)))
def test_steps_stand_together(drawn: list[tuple[int, int]], plates: int, sides: int) -> None:
    layout = lay_out(grid(*drawn), plan(boxes=99, plates=plates, sides=sides))
    for one, other in pairwise(layout.places):
        if (one.section, one.step) == (other.section, other.step):
            assert one.box == other.box
    assert all(len(layout.in_box(box)) <= plates for box in range(1, layout.boxes + 1))


def test_side_after() -> None:
    assert [side_after(k) for k in range(3)] == ["terminal side", "far side", "terminal side"]
