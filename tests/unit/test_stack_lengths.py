"""Lengths, growth and tolerance of a stack, against the formulas worked by hand."""

from dataclasses import replace
from math import sqrt

import pytest

from griddesign.grid.layout import lay_out
from griddesign.grid.records import BoxPlan, SectionBuild
from griddesign.grid.stack.build import stacks
from griddesign.grid.stack.lengths import (
    between_frames_m,
    counted,
    do_not_go_in,
    growth,
    make_up_m,
    tolerance_m,
)
from griddesign.grid.stack.records import BoxStack, Hardware, KindInStack
from griddesign.grid.taps import taps
from griddesign.metals import metal

HARDWARE = Hardware(0.002, 0.0015, 0.004, 0.012, 0.008, 0.010)


def boxes_of(plates: int, hardware: Hardware = HARDWARE, plates_per_box: int = 10) -> tuple[BoxStack, ...]:
    layout = lay_out([SectionBuild("A", "P", plates, 1, 0.1, 0.1 * plates)], BoxPlan(9, plates_per_box, 0.0127))
    return stacks(layout, taps(layout), {"P": KindInStack(0.005, 0.005)}, hardware)


def test_ten_plates_between_their_frames() -> None:
    """10 x 5 + 9 x 12.7 over the eyes; 12 + 4 + 2 more at either end."""
    (box,) = boxes_of(10)
    assert box.over_eyes_m == pytest.approx(0.05 + 9 * 0.0127)
    assert between_frames_m(box) == pytest.approx(0.05 + 9 * 0.0127 + 2 * 0.018)
    assert between_frames_m(boxes_of(10, replace(HARDWARE, end_insulation_m=None))[0]) is None


def test_a_box_that_is_not_full_is_made_up() -> None:
    assert make_up_m(boxes_of(16)) == pytest.approx((0.0, 4 * 0.0177))


def test_growth_of_a_uniform_stack() -> None:
    """alpha of iron on 50 mm of eyes, of steel on the metal between them, against a rod cold and as hot."""
    (box,) = boxes_of(10)
    iron, steel = metal("grey_iron_class30"), metal("steel_low_carbon")
    every = dict.fromkeys(range(1, 11), iron)
    found = growth(box, every, dict.fromkeys(every, 320.0), steel)
    assert found.eyes_m == pytest.approx(iron.expansion.value * 0.05 * 300)
    apart, joined = 5, 4  # joints of the terminal-side rod: between steps 1|2, 3|4 … apart, between 2|3, 4|5 … joined
    between_m = apart * (0.0127 - 0.003) + joined * 0.0127 + 2 * 0.006
    assert found.parts_m == pytest.approx(steel.expansion.value * between_m * 300)
    assert found.over_cold_rod_m == pytest.approx(found.eyes_m + (found.parts_m or 0))
    rod_m = steel.expansion.value * (0.05 + 9 * 0.0127 + 0.036) * 300
    assert found.over_hot_rod_m == pytest.approx(found.eyes_m + (found.parts_m or 0) - rod_m)


def test_growth_without_the_rods_metal_is_that_of_the_eyes_alone() -> None:
    (box,) = boxes_of(10)
    every = dict.fromkeys(range(1, 11), metal("grey_iron_class30"))
    found = growth(box, every, dict.fromkeys(every, 320.0), None)
    assert found.eyes_m > 0 and found.over_cold_rod_m is None and found.over_hot_rod_m is None


def test_growth_against_a_hot_rod_asks_for_its_whole_length() -> None:
    """End insulation does not grow, but without it nobody knows how long the rod is between the frames."""
    (box,) = boxes_of(10, replace(HARDWARE, end_insulation_m=None))
    every = dict.fromkeys(range(1, 11), metal("grey_iron_class30"))
    found = growth(box, every, dict.fromkeys(every, 320.0), metal("steel_low_carbon"))
    assert found.over_cold_rod_m is not None and found.over_hot_rod_m is None


def test_tolerance_adds_up_or_by_squares() -> None:
    (box,) = boxes_of(10)
    assert tolerance_m(box, dict.fromkeys(range(1, 11), 0.0003)) == pytest.approx((0.003, 0.0003 * sqrt(10)))
    assert tolerance_m(box, {**dict.fromkeys(range(1, 11), 0.0003), 4: None}) is None


def test_counts_of_a_box_by_hand() -> None:
    """10 plates on two rods: 9 gaps each, of which 4 + 5 join; two clamps at the ends of the terminal side."""
    found = {(one.what, one.length_m and round(one.length_m, 4)): one.count for one in counted(boxes_of(10))}
    assert found == {
        ("end insulation", 0.012): 4,
        ("metal washer", 0.002): 2 * 9 + 2,
        ("mica washer", 0.0015): 2 * 9,
        ("spacer", 0.006): 2,
        ("spacer", 0.0087): 9,
        ("spacer", 0.0097): 9,
        ("terminal clamp", 0.004): 2,
    }


def test_parts_of_one_sort_are_listed_by_length_the_longest_last() -> None:
    spacers = [one.length_m or 0.0 for one in counted(boxes_of(10)) if one.what == "spacer"]
    assert spacers == pytest.approx([0.006, 0.0087, 0.0097])


def test_what_does_not_go_in_is_told() -> None:
    assert do_not_go_in(boxes_of(10)) == ()
    assert do_not_go_in(boxes_of(10, replace(HARDWARE, metal_washer_m=0.0127 / 2))) == ()  # no spacer, yet it fits
    (one,) = do_not_go_in(boxes_of(10, replace(HARDWARE, metal_washer_m=0.007)))
    assert (one.what, one.count) == ("spacer", 9) and one.length_m == pytest.approx(-0.0013)
