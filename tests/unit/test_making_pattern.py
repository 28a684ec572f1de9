"""The pattern of a casting, and what an old plate used as one gives: against the plate drawn anew at its size."""

from dataclasses import fields, replace
from math import pi, radians, tan

import pytest

from griddesign.errors import GeometryError, InputError
from griddesign.figures import Figure, Status
from griddesign.metals import metal
from griddesign.papers.cut_dxf import cut_dxf, read_cut
from griddesign.plate.making import Making
from griddesign.plate.ohms import plate_figures
from griddesign.plate.pattern import DRAFT, eye_span_m, mark_of, old_plate, pattern_of
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

IRON = metal("grey_iron_class30")
SHAPE = Zigzag(
    0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022, fillet_m=0.002), "opposite edges", fillet_m=0.002
)


def exact(value: float) -> Figure:
    return Figure.exact(value, Status.GIVEN, "the foundry")


def shrunk(shape: Zigzag, by: float) -> Zigzag:
    eye = Eye(*(by * getattr(shape.eye, field.name) for field in fields(shape.eye)))
    lengths = {
        f.name: by * v for f in fields(shape) if f.name.endswith("_m") and (v := getattr(shape, f.name)) is not None
    }
    return replace(shape, eye=eye, **lengths)


@pytest.mark.parametrize("percent", [0.8, 1.0, 2.5])
def test_an_old_plate_against_the_plate_drawn_at_its_shrunken_size(percent: float) -> None:
    factor = 1 + percent / 100
    small = shrunk(SHAPE, 1 / factor)
    before, after = (plate_figures(shape, IRON, "cast") for shape in (SHAPE, small))
    old = old_plate(SHAPE, IRON, before.cold_ohm, Making(shrinkage=exact(percent / 100)))
    assert old.ohm == pytest.approx(after.cold_ohm, rel=1e-9)
    assert old.mass_share == pytest.approx(after.mass_kg / before.mass_kg, rel=1e-9)
    assert old.eye_span_m == pytest.approx(eye_span_m(small), rel=1e-12)
    assert old.short_m == pytest.approx(eye_span_m(SHAPE) - eye_span_m(small), rel=1e-9)
    assert (old.hole_m, old.thickness_m) == pytest.approx((small.eye.hole_m, small.thickness_m))


def test_a_casting_shrinks_back_to_the_plate() -> None:
    pattern = pattern_of(SHAPE, IRON)
    casting = pattern.outline.scaled(1 / pattern.factor)
    nominal = outline_of(SHAPE)
    assert casting.area_m2 == pytest.approx(nominal.area_m2, rel=1e-13)
    assert casting.bounding_box_m == pytest.approx(nominal.bounding_box_m, rel=1e-12)
    assert pattern.pattern_eye_span_m / pattern.eye_span_m == pytest.approx(1 + pattern.shrinkage.value, rel=1e-15)
    assert pattern.hole == "cored" and pattern.hole_m / pattern.factor == pytest.approx(SHAPE.eye.hole_m, rel=1e-15)
    assert pattern.shrinkage == IRON.pattern_shrinkage


def test_the_pattern_file_reads_back_enlarged() -> None:
    pattern = pattern_of(SHAPE, IRON, Making(shrinkage=exact(0.01)))
    outer, holes = read_cut(cut_dxf(pattern.outline), "mm")
    nominal = outline_of(SHAPE)
    assert outer.area_m2 == pytest.approx(1.01**2 * nominal.outer.area_m2, rel=1e-9)
    assert [hole.area_m2 for hole in holes] == pytest.approx([pi / 4 * (1.01 * 0.014) ** 2] * 2, rel=1e-9)
    assert mark_of(pattern) == "shrinkage-1pct"


def test_holes_drilled_are_not_on_the_pattern() -> None:
    drilled = pattern_of(SHAPE, IRON, Making(hole="drilled"))
    assert drilled.outline.holes == () and drilled.hole_m == 0.0
    assert [mark.name for mark in drilled.outline.marks] == ["first eye", "last eye"]
    small_hole = replace(SHAPE, eye=Eye(0.03, 0.0055, 0.022))
    assert pattern_of(small_hole, IRON).hole == "drilled"
    assert pattern_of(SHAPE, IRON).hole == "cored"


def test_draft_and_machining() -> None:
    pattern = pattern_of(SHAPE, IRON, Making(draft=exact(radians(3)), machining=exact(0.0015), shrinkage=exact(0.01)))
    assert pattern.draft_step_m == pytest.approx(0.0025 * tan(radians(3)), rel=1e-12)
    assert pattern.eye_thickness_m == pytest.approx(1.01 * 0.008, rel=1e-12)
    assert pattern.thickness_m == pytest.approx(1.01 * 0.005, rel=1e-12)
    tapered = pattern_of(replace(SHAPE, edge_thickness_m=0.003), IRON, Making(draft=exact(radians(3))))
    assert tapered.draft_step_m == pytest.approx(0.0015 * tan(radians(3)), rel=1e-12)
    usual = pattern_of(SHAPE, IRON)
    assert usual.draft.status is Status.MEMORY and usual.machining.status is Status.MEMORY
    assert DRAFT.value == pytest.approx(radians(2), rel=1e-6)
    assert (DRAFT.low, DRAFT.high) == pytest.approx((radians(1), radians(3)), rel=1e-6)


def test_rounded_edges_take_section_away() -> None:
    """Four edges of radius e take (4 - pi) e^2."""
    pattern = pattern_of(replace(SHAPE, edge_radius_m=0.0015), IRON)
    assert pattern.sharp_section_m2 - pattern.section_m2 == pytest.approx((4 - pi) * 0.0015**2, rel=1e-9)
    assert pattern.effective_thickness_m == pytest.approx(pattern.section_m2 / 0.008, rel=1e-12)


def test_refusals() -> None:
    with pytest.raises(GeometryError, match=r"10 deg over 50 mm takes 8\.81635 mm, all of the pass gap of 7\.2 mm"):
        pattern_of(replace(SHAPE, thickness_m=0.05), IRON, Making(draft=exact(radians(10))))
    with pytest.raises(GeometryError, match="60 deg"):
        pattern_of(SHAPE, IRON, Making(draft=exact(radians(60))))
    with pytest.raises(InputError, match="manganin") as caught:
        pattern_of(SHAPE, metal("manganin"))
    assert "shrinkage =" in caught.value.hint
    with pytest.raises(InputError, match="30 %"):
        pattern_of(SHAPE, IRON, Making(shrinkage=exact(0.3)))
