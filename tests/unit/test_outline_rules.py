"""Narrow places of any outline and the rules of the shop: against outlines whose sizes are known, and against the
checks of a zig-zag plate that knows its own."""

import numpy as np
import pytest

from griddesign.plate.outline import Circle, Line, Loop, Outline, Point
from griddesign.plate.outline_rules import Narrow, narrow_places, rule_checks
from griddesign.plate.process import process_checks
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

SHAPE = Zigzag(0.100, 4, 0.008, 0.007, 0.005, Eye(0.030, 0.014, 0.021, fillet_m=0.004), "one edge", fillet_m=0.002)


def ring(*corners: Point) -> Loop:
    return Loop(tuple(Line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)))


def places(outline: Outline) -> dict[str, Narrow]:
    return {one.kind: one for one in narrow_places(outline)}


@pytest.mark.parametrize("made_by", ["laser", "stamped", "cast"])
def test_the_outline_of_a_zigzag_tells_what_the_zigzag_knows(made_by: str) -> None:
    """Same rules, same verdicts; sizes within the chords of the arcs. The outline has one web, ring and gap where the
    zigzag knows several: the smallest."""
    known = process_checks(SHAPE, made_by)
    found = rule_checks(outline_of(SHAPE), made_by, SHAPE.thickness_m)
    names = {"strip": "smallest web", "pass gap": "smallest gap", "hole of the eyes": "smallest round hole",
             "ring of the eyes": "smallest ring of a round hole", "thickness": "thickness"}  # fmt: skip
    for check in known:
        if check.item in names:
            like = [
                one.check for one in found if (one.check.item, one.check.limit_m) == (names[check.item], check.limit_m)
            ]
            assert like and like[0].ok == check.ok
            assert like[0].found_m == pytest.approx(check.found_m, rel=3e-3)
    corner = places(outline_of(SHAPE))["inside corner"]
    assert corner.wide_m == pytest.approx(0.002)


def turned(outline: Outline) -> Outline:
    return outline.turned(1).translated(0.3, -0.1)


@pytest.mark.parametrize("move", [lambda outline: outline, turned])
def test_narrow_places_and_where_they_are(move) -> None:
    """A U of 10 and 8 mm legs, 6 mm apart, with a notch, a slot 3 mm wide and a hole 4 mm from an edge."""
    outer = ring(
        (0.0, 0.0), (0.024, 0.0), (0.024, 0.06), (0.016, 0.06), (0.016, 0.02), (0.010, 0.02), (0.010, 0.06),
        (0.0, 0.06), (0.0, 0.042), (0.005, 0.040), (0.0, 0.038),
    )  # fmt: skip
    slot = ring((0.019, 0.03), (0.019, 0.05), (0.022, 0.05), (0.022, 0.03))
    outline = move(Outline(outer, (slot, Circle((0.012, 0.009), 0.005))))
    found = places(outline)
    assert found["web"].wide_m == pytest.approx(0.002, rel=1e-9), "between slot and rim"
    assert found["gap"].wide_m == pytest.approx(0.003, rel=1e-9), "the slot, narrower than the 6 mm of the U"
    assert found["ring"].wide_m == pytest.approx(0.004, rel=2e-3)
    assert (found["hole"].wide_m, found["inside corner"].wide_m) == (0.010, 0.0)
    where = Outline(ring((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)), (Circle((0.023, 0.04), 0.001),))
    x, y = move(where).holes[0].centre
    assert (
        abs(np.array(found["web"].at_m) - (x, y)).min() < 1e-9
        and np.hypot(*(np.array(found["web"].at_m) - (x, y))) < 0.011
    )


def test_a_notch_is_a_web_though_a_corner_faces_an_edge() -> None:
    notched = ring((0.0, 0.0), (0.02, 0.0), (0.02, 0.06), (0.0, 0.06), (0.0, 0.033), (0.013, 0.030), (0.0, 0.027))
    web = places(Outline(notched))["web"]
    assert web.wide_m == pytest.approx(0.007, rel=1e-9) and web.at_m == pytest.approx((0.0165, 0.030))


def test_a_tooth_narrows_a_slot_though_a_corner_faces_an_edge() -> None:
    """A slot 7 mm wide; from one side a tooth reaches 4.4 mm across it."""
    u = ring(
        (0.0, 0.0), (0.030, 0.0), (0.030, 0.06), (0.020, 0.06), (0.020, 0.02), (0.013, 0.02), (0.013, 0.0385),
        (0.0174, 0.0400), (0.013, 0.0415), (0.013, 0.06), (0.0, 0.06),
    )  # fmt: skip
    gap = places(Outline(u))["gap"]
    assert gap.wide_m == pytest.approx(0.0026, rel=1e-9) and gap.at_m == pytest.approx((0.0187, 0.040))


def test_the_end_of_a_round_slot_is_no_gap_and_a_wedge_no_web() -> None:
    """Chords of the round end come ever nearer to each other; so do the sides of an acute corner."""
    wedge = ring((0.0, 0.0), (0.1, 0.0), (0.0, 0.02))
    assert "web" not in places(Outline(wedge))
    assert places(outline_of(SHAPE))["gap"].wide_m == pytest.approx(0.007, rel=1e-9)
