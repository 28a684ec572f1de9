"""A real bank of grids, group by group.

Museum workshop blog, "Reverse engineering", 3 July 2019: a four-motor interurban car, 600 V, ten notches; four kinds of
plate counted and measured. The page itself was seen by whoever gathered the figures.
"""

import pytest

from griddesign.grid.build import build_section
from griddesign.grid.layout import lay_out
from griddesign.grid.records import BoxPlan
from griddesign.grid.taps import out_of_reach, taps

MUSEUM = 'Museum workshop blog, "Reverse engineering", 3 July 2019'

GROUPS = [
    (10, 0.059, 0.590),
    (8, 0.038, 0.304),
    (4, 0.038, 0.152),
    (14, 0.023, 0.322),
    (7, 0.059, 0.413),
    (5, 0.038, 0.190),
]


@pytest.mark.parametrize(("plates", "plate_ohm", "printed_ohm"), GROUPS)
def test_groups_in_series(plates: int, plate_ohm: float, printed_ohm: float, checked) -> None:
    assert round(build_section("A", "P", plates, 1, plate_ohm).cold_ohm, 3) == printed_ohm
    checked(
        MUSEUM, "ohms of groups of plates", printed_ohm, build_section("A", "P", plates, 1, plate_ohm).cold_ohm, "ohm"
    )


def test_a_plate_mounted_but_not_in_circuit(checked) -> None:
    """Counted as 18 plates, 0.684 ohm; one of them carries nothing: 17 plates, 0.646 ohm."""
    counted = build_section("A", "P", 18, 1, 0.038)
    really = build_section("A", "P", 17, 1, 0.038)
    assert (round(counted.cold_ohm, 3), round(really.cold_ohm, 3)) == (0.684, 0.646)
    layout = lay_out((really,), BoxPlan(1, 18, 0.0127, tap_sides=2), idle=(9,))
    assert len(layout.places) == 18
    assert sum(place.in_circuit for place in layout.places) == 17
    assert taps(layout)[-1].after_plate == 18
    checked(MUSEUM, "18 plates, one not in circuit", 0.646, really.cold_ohm, "ohm")


@pytest.mark.parametrize(("counts", "one_side"), [((10, 8, 4, 14), True), ((10, 7, 5, 8), False)])
def test_taps_fall_on_one_side_only_when_every_section_is_even(counts: tuple[int, ...], one_side: bool) -> None:
    """The same source: taps are all on one side of a box only if every section has an even number of plates."""
    sections = [build_section(name, "P", n, 1, 0.038) for name, n in zip("ABCD", counts, strict=True)]
    layout = lay_out(sections, BoxPlan(1, 40, 0.0127))
    assert (out_of_reach(layout, taps(layout)) == ()) == one_side
