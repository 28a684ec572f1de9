"""Random outlines and plates: the path of the cut lies between two Minkowski sums and moves with its outline."""

from math import cos, inf, pi, sin, tau

import numpy as np
import pytest
import shapely
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from shapely import LinearRing, MultiLineString, Polygon

from griddesign.errors import GeometryError
from griddesign.figures import Figure, Status
from griddesign.metals import metal
from griddesign.plate.kerf import kerf_outline
from griddesign.plate.making import Making
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline, faults
from griddesign.plate.pattern import old_plate, pattern_of
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.spread import spread_of
from griddesign.plate.zigzag import outline_of

IRON = metal("grey_iron_class30")
RELAXED = settings(deadline=None, max_examples=20)
QUARTER = 24


@st.composite
def stars(draw: st.DrawFn) -> Outline:
    """A star of 5 to 9 random spokes, some of its sides bowed out or in, with a hole in the middle."""
    count = draw(st.integers(5, 9))
    radii = [draw(st.floats(0.6, 1.4)) for _ in range(count)]
    points = [(r * cos(tau * k / count), r * sin(tau * k / count)) for k, r in enumerate(radii)]
    sides = []
    for here, then in zip(points, [*points[1:], *points[:1]], strict=True):
        bow = draw(st.sampled_from([0.0, 0.0, 0.15, -0.15]))
        sides.append(bowed(here, then, bow) if bow else Line(here, then))
    outline = Outline(Loop(tuple(sides)), (Circle((0.0, 0.0), 0.15),))
    assume(not faults(outline))
    return outline


def bowed(start: tuple[float, float], end: tuple[float, float], bulge: float) -> Arc:
    """An arc whose quarter angle has the tangent ``bulge``, left-turning where positive."""
    (x0, y0), (x1, y1) = start, end
    off = (1 / bulge - bulge) / 4
    return Arc(start, end, ((x0 + x1) / 2 - off * (y1 - y0), (y0 + y1) / 2 + off * (x1 - x0)), bulge > 0)


@st.composite
def plates(draw: st.DrawFn) -> Zigzag:
    """A plate with a strip of 1; everything else in strips."""
    passes = draw(st.integers(3, 6))
    square = draw(st.booleans())
    gap = draw(st.floats(0.4, 1.5))
    try:
        return Zigzag(
            draw(st.floats(8.0, 20.0)),
            passes,
            1.0,
            gap,
            0.6,
            Eye(draw(st.floats(1.5, 3.0)), 0.9, draw(st.floats(1.5, 3.0)), fillet_m=draw(st.sampled_from([0.0, 0.3]))),
            "one edge" if passes % 2 == 0 else "opposite edges",
            "square" if square else "round",
            support_eyes=draw(st.integers(0, 1)),
            fillet_m=gap * draw(st.sampled_from([0.0, 0.2, 0.5])) if square else 0.0,
        )
    except GeometryError:
        assume(False)
        raise


def grown(outline: Outline, by: float, side: str) -> float:
    """Area of the polygon inside or outside the outline, swept by a polygon inside or outside the disc."""
    rings = Outline(outline.outer, outline.holes).polygon(5e-4, side)  # type: ignore[arg-type]
    radius = by if side == "inner" else by / cos(pi / (4 * QUARTER))
    parts = [Polygon(rings[0], rings[1:])]
    for ring in rings:
        after = np.roll(ring, -1, axis=0)
        along = (after - ring) / np.linalg.norm(after - ring, axis=1)[:, None]
        out = np.column_stack([along[:, 1], -along[:, 0]]) * by
        parts += [Polygon([a, a + step, b + step, b]) for a, b, step in zip(ring, after, out, strict=True)]
        parts += list(shapely.buffer(shapely.points(ring), radius, quad_segs=QUARTER))
    return float(shapely.unary_union(parts).area)


def check_path(outline: Outline, path: Outline, kerf: float) -> None:
    assert grown(outline, kerf / 2, "inner") <= path.area_m2 * (1 + 1e-9)
    assert path.area_m2 <= grown(outline, kerf / 2, "outer") * (1 + 1e-9)
    nominal = MultiLineString([LinearRing(ring) for ring in outline.polygon(1e-5)])
    ends = [segment.end for segment in path.outer.segments]
    assert shapely.distance(nominal, shapely.points(ends)).min() == pytest.approx(kerf / 2, abs=3e-5)


@RELAXED
@given(stars(), st.floats(0.002, 0.29))
def test_random_stars(outline: Outline, kerf: float) -> None:
    """The hole in the middle, 0.3 across, is the narrowest of a star: no such cut is refused."""
    check_path(outline, kerf_outline(outline, kerf), kerf)


@RELAXED
@given(plates(), st.floats(0.01, 1.2))
def test_random_plates_are_refused_where_the_cut_is_wider_than_gap_or_hole_and_nowhere_else(
    shape: Zigzag, kerf: float
) -> None:
    outline = outline_of(shape)
    room = min(shape.pass_gap_m, shape.eye_clearance_m, shape.eye.hole_m)
    assume(abs(kerf / room - 1) > 1e-3)
    if kerf > room:
        with pytest.raises(GeometryError) as refusal:
            kerf_outline(outline, kerf)
        assert refusal.value.hint
    else:
        check_path(outline, kerf_outline(outline, kerf), kerf)


@RELAXED
@given(stars(), st.floats(0.002, 0.1), st.floats(0.1, 10.0))
def test_the_path_moves_mirrors_and_grows_with_its_outline(outline: Outline, kerf: float, factor: float) -> None:
    path = kerf_outline(outline, kerf)
    again = kerf_outline(outline.mirrored().scaled(factor), kerf * factor)
    assert again.area_m2 == pytest.approx(factor**2 * path.area_m2, rel=1e-9)
    assert again.perimeter_m == pytest.approx(factor * path.perimeter_m, rel=1e-9)


@RELAXED
@given(stars(), st.floats(0.002, 0.05), st.floats(0.002, 0.05))
def test_two_cuts_after_each_other_are_one_wide_one(outline: Outline, first: float, second: float) -> None:
    """Minkowski sums add up: the path round the path is the path of both kerfs together."""
    twice, once = kerf_outline(kerf_outline(outline, first), second), kerf_outline(outline, first + second)
    assert twice.area_m2 == pytest.approx(once.area_m2, rel=1e-9)


@settings(deadline=None, max_examples=10)
@example(half_m=0.001953125, more=3.0)
@given(st.floats(1e-5, 2e-3), st.floats(1.05, 3.0))
def test_wider_tolerances_spread_the_ohms_further(half_m: float, more: float) -> None:
    shape = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")
    narrow, wide = (
        spread_of(shape, IRON, "cast", Making(width_tolerance=figure, thickness_tolerance=figure))
        for figure in (Figure.exact(half_m, Status.GIVEN), Figure.exact(half_m * more, Status.GIVEN))
    )
    assert wide.low < narrow.low < 0 < narrow.high
    assert wide.worst_low < wide.low
    # A tolerance of the whole width can cut the strip through: no upper end, and nothing lies further than that.
    assert narrow.high < wide.high or narrow.high == wide.high == inf
    assert wide.high < wide.worst_high or wide.high == wide.worst_high == inf


@RELAXED
@given(st.floats(0.0, 0.05), st.floats(0.001, 10.0))
def test_pattern_and_old_plate_undo_each_other(shrinkage: float, ohm: float) -> None:
    shape = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")
    making = Making(shrinkage=Figure.exact(shrinkage, Status.GIVEN))
    pattern, old = pattern_of(shape, IRON, making), old_plate(shape, IRON, ohm, making)
    assert old.ohm / ohm == pytest.approx(pattern.factor, rel=1e-14)
    assert old.eye_span_m * pattern.pattern_eye_span_m == pytest.approx(pattern.eye_span_m**2, rel=1e-14)
