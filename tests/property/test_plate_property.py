"""Plates drawn at random: either refused, or a valid outline whose figures keep the laws of size and thickness."""

from dataclasses import fields, replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from griddesign.errors import GeometryError
from griddesign.metals import metal
from griddesign.plate.bends import plate_squares
from griddesign.plate.hairpin import CORNER_SQUARES, hairpin_squares
from griddesign.plate.ohms import cold_ohm, plate_figures
from griddesign.plate.outline import faults
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

IRON = metal("grey_iron_class30")
RELAXED = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow]
)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high)


@st.composite
def plates(draw: st.DrawFn, sharp_only: bool = False) -> Zigzag:
    """Any plate that is not refused, its lengths in strip widths of 2 to 30 mm."""
    width = draw(between(0.002, 0.03))
    diameter = draw(between(1.0, 5.0))
    eye = Eye(
        width * diameter,
        width * diameter * draw(between(0.2, 0.8)),
        width * diameter * draw(between(0.4, 1.2)),
        width * draw(between(-0.4, 0.4)),
        width * draw(st.sampled_from([0.0, 0.1, 0.4])),
    )
    passes = draw(st.integers(2, 15))
    gap = draw(between(0.1, 2.0))
    square = sharp_only or draw(st.booleans())
    try:
        return Zigzag(
            height_m=width * draw(between(4.0, 40.0)),
            passes=passes,
            strip_width_m=width,
            pass_gap_m=width * gap,
            thickness_m=draw(between(0.001, 0.02)),
            eye=eye,
            eyes="one edge" if passes % 2 == 0 else "opposite edges",
            bend="square" if square else "round",
            bend_depth_m=draw(st.sampled_from([None, 0.7 * width, 1.5 * width])) if square else None,
            fillet_m=width * gap * draw(st.sampled_from([0.0, 0.2, 0.5])) if square and not sharp_only else 0.0,
            support_eyes=draw(st.integers(0, 1)),
        )
    except GeometryError:
        assume(False)
        raise


def scaled(shape: Zigzag, by: float) -> Zigzag:
    """Every length of plate and eye multiplied."""
    eye = Eye(*(by * getattr(shape.eye, field.name) for field in fields(shape.eye)))
    lengths = {
        f.name: by * v for f in fields(shape) if f.name.endswith("_m") and (v := getattr(shape, f.name)) is not None
    }
    return replace(shape, eye=eye, **lengths)


@RELAXED
@given(plates())
def test_outline_is_one_piece_of_metal(shape: Zigzag) -> None:
    outline = outline_of(shape)
    assert faults(outline) == ()
    rings = outline.polygon(1e-3 * shape.strip_width_m)
    assert Polygon(rings[0], rings[1:]).area == pytest.approx(outline.area_m2, rel=1e-10)
    assert outline.area_m2 > shape.strip_width_m * shape.passes * shape.straight_m
    left, low, right, high = outline.bounding_box_m
    assert left <= 0 <= low + shape.eye.reach_m + shape.eye.radius_m + 1e-12
    assert right >= shape.width_m * (1 - 1e-12)
    assert high >= shape.height_m * (1 - 1e-12)


@RELAXED
@given(plates(), between(0.01, 100.0))
def test_outline_grows_with_scale(shape: Zigzag, by: float) -> None:
    small, large = outline_of(shape), outline_of(scaled(shape, by))
    assert large.area_m2 == pytest.approx(by**2 * small.area_m2, rel=1e-10)
    assert large.perimeter_m == pytest.approx(by * small.perimeter_m, rel=1e-10)


@settings(RELAXED, max_examples=12)
@given(plates(), between(0.02, 50.0))
def test_squares_have_no_size(shape: Zigzag, by: float) -> None:
    """The same plate in other units: the same squares, to 1e-12."""
    assert plate_squares(scaled(shape, by)).value == pytest.approx(plate_squares(shape).value, rel=1e-12)


@settings(RELAXED, max_examples=15)
@given(plates(sharp_only=True), between(0.2, 5.0))
def test_ohms_go_with_one_over_thickness(shape: Zigzag, by: float) -> None:
    thicker = replace(shape, thickness_m=by * shape.thickness_m)
    assert by * cold_ohm(thicker, IRON) == pytest.approx(cold_ohm(shape, IRON), rel=1e-12)
    before, after = plate_figures(shape, IRON, "cast"), plate_figures(thicker, IRON, "cast")
    assert after.mass_kg == pytest.approx(by * before.mass_kg, rel=1e-12)
    assert before.low_ohm <= before.cold_ohm <= before.high_ohm
    assert before.metal_low_ohm <= before.low_ohm <= before.high_ohm <= before.metal_high_ohm


@RELAXED
@given(between(0.01, 20.0), between(0.3, 5.0), between(1.001, 1.5))
def test_longer_or_thinner_bends_have_more_squares(gap: float, depth: float, more: float) -> None:
    squares = hairpin_squares(gap, depth)
    assert hairpin_squares(gap * more, depth) > squares > hairpin_squares(gap, depth * more) > 0
    assert squares > gap / depth


@RELAXED
@given(between(0.01, 20.0))
def test_centre_line_counts_too_many(gap: float) -> None:
    """The hand rule, length along the middle over width, is 2 + g/w for a bar as deep as the strip."""
    assert gap < hairpin_squares(gap) < gap + 2 * CORNER_SQUARES + 1e-9 < gap + 2
