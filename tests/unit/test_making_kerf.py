"""The path of the cut against shapely's buffer, Minkowski's sum and Steiner's formula; what is refused, in words."""

from math import pi

import numpy as np
import pytest
import shapely
from shapely import LinearRing, MultiLineString, Polygon

from griddesign.errors import GeometryError
from griddesign.figures import Status
from griddesign.plate.kerf import Corners, kerf_mark, kerf_of, kerf_outline, kerf_words
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline, faults
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

EYE = Eye(0.022, 0.012, 0.018, 0.001, 0.002)
PLATES = [
    Zigzag(0.25, 13, 0.008, 0.0072, 0.005, EYE, "opposite edges"),
    Zigzag(0.25, 12, 0.008, 0.0072, 0.005, EYE, "one edge", "square", 0.012, 0.0036, support_eyes=1),
    Zigzag(0.20, 9, 0.010, 0.0060, 0.005, EYE, "opposite edges", "round", support_eyes=1),
    Zigzag(0.20, 8, 0.010, 0.0060, 0.005, Eye(0.022, 0.012, 0.018, 0.001), "one edge", "square", None, 0.002),
]
SQUARE_HOLE = Loop(
    (Line((4, 4), (4, 6)), Line((4, 6), (6, 6)), Line((6, 6), (6, 4)), Line((6, 4), (4, 4))),
)
FRAME = Outline(
    Loop((Line((0, 0), (10, 0)), Line((10, 0), (10, 10)), Line((10, 10), (0, 10)), Line((0, 10), (0, 0)))),
    (SQUARE_HOLE, Circle((2, 2), 1.0)),
)


def metal(outline: Outline, sagitta_m: float = 3e-8) -> Polygon:
    rings = outline.polygon(sagitta_m)
    return Polygon(rings[0], rings[1:])


def grown(outline: Outline, by_m: float, sagitta_m: float, side: str) -> float:
    """Area of the outline's polygon swept by a disc: a union of the polygon, a rectangle on every edge and a disc on
    every corner, inscribed or circumscribed as the polygon is. shapely's own buffer first straightens hollows by up
    to a hundredth of its width, too coarse where fillets vanish."""
    plain = Outline(outline.outer, outline.holes)
    rings = plain.polygon(sagitta_m, side)  # type: ignore[arg-type]
    parts = [Polygon(rings[0], rings[1:])]
    quarter = 60
    radius_m = by_m if side == "inner" else by_m / np.cos(pi / (4 * quarter))
    for ring in rings:
        after = np.roll(ring, -1, axis=0)
        along = (after - ring) / np.linalg.norm(after - ring, axis=1)[:, None]
        out = np.column_stack([along[:, 1], -along[:, 0]]) * by_m
        parts += [Polygon([a, a + step, b + step, b]) for a, b, step in zip(ring, after, out, strict=True)]
        parts += list(shapely.buffer(shapely.points(ring), radius_m, quad_segs=quarter))
    return float(shapely.unary_union(parts).area)


@pytest.mark.parametrize("shape", PLATES)
@pytest.mark.parametrize("kerf_m", [0.0001, 0.0002, 0.001, 0.0019])
def test_area_is_that_of_shapelys_buffer(shape: Zigzag, kerf_m: float) -> None:
    nominal = outline_of(shape)
    path = kerf_outline(nominal, kerf_m)
    assert path.area_m2 == pytest.approx(metal(nominal).buffer(kerf_m / 2, quad_segs=500).area, rel=1e-6)
    assert faults(path) == ()


@pytest.mark.parametrize("shape", PLATES[:3])
@pytest.mark.parametrize("kerf_m", [0.0055])
def test_where_fillets_vanish_the_area_lies_between_two_minkowski_sums(shape: Zigzag, kerf_m: float) -> None:
    nominal = outline_of(shape)
    inner, outer = (grown(nominal, kerf_m / 2, 2e-6, side) for side in ("inner", "outer"))
    assert inner < kerf_outline(nominal, kerf_m).area_m2 < outer
    assert outer / inner < 1 + 5e-5


@pytest.mark.parametrize("shape", PLATES[1:3])
def test_smooth_hollows_keep_to_steiners_formula(shape: Zigzag) -> None:
    """Every hollow corner of these plates is rounded, so the tube formula is exact: A + P d + pi d^2 for the outer
    loop, hole by hole A - P d + pi d^2. J. Steiner 1840; L. A. Santalo, Integral Geometry and Geometric Probability
    (1976), ch. I.1 (from memory)."""
    nominal, half_m = outline_of(shape), 0.0005
    path = kerf_outline(nominal, 2 * half_m)
    outer = nominal.outer.area_m2 + half_m * nominal.outer.perimeter_m + pi * half_m**2
    assert path.outer.area_m2 == pytest.approx(outer, rel=1e-13)
    assert path.outer.perimeter_m == pytest.approx(nominal.outer.perimeter_m + 2 * pi * half_m, rel=1e-13)
    for hole, was in zip(path.holes, nominal.holes, strict=True):
        assert hole.area_m2 == pytest.approx(was.area_m2 - half_m * was.perimeter_m + pi * half_m**2, rel=1e-12)


@pytest.mark.parametrize("shape", PLATES)
@pytest.mark.parametrize("corners", ["round", "sharp"])
def test_every_point_of_the_path_is_half_a_kerf_off_and_cutting_it_leaves_the_plate(
    shape: Zigzag, corners: Corners
) -> None:
    nominal, half_m = outline_of(shape), 0.0005
    path = kerf_outline(nominal, 2 * half_m, corners)
    lines = MultiLineString([LinearRing(ring) for ring in nominal.polygon(1e-8)])
    ends = [segment.start for segment in path.outer.segments]
    away = shapely.distance(lines, shapely.points(ends))
    assert away.min() == pytest.approx(half_m, abs=2e-8)
    if corners == "round" and shape.fillet_m and shape.eye.fillet_m:
        assert away.max() == pytest.approx(half_m, abs=2e-8)
    assert away.max() <= 2 * half_m * (1 + 1e-9)
    left = metal(path, 1e-7).buffer(-half_m, quad_segs=200)
    lost = metal(nominal, 1e-7).symmetric_difference(left).area
    sharp_hollows = 0 if shape.fillet_m and shape.eye.fillet_m else 60
    assert lost < 1e-5 * nominal.area_m2 + sharp_hollows * (1 - pi / 4) * half_m**2


def test_a_sharp_square_grows_to_a_square() -> None:
    round_one, sharp = kerf_outline(FRAME, 0.4), kerf_outline(FRAME, 0.4, "sharp")
    assert sharp.outer.area_m2 == pytest.approx(10.4**2, rel=1e-14)
    assert round_one.outer.area_m2 == pytest.approx(10.4**2 - (4 - pi) * 0.2**2, rel=1e-14)
    assert sharp.holes[0].area_m2 == pytest.approx(1.6**2, rel=1e-14)
    assert isinstance(sharp.holes[1], Circle) and sharp.holes[1].radius_m == pytest.approx(0.8, rel=1e-15)
    assert len(sharp.holes[0].segments) == 4 if isinstance(sharp.holes[0], Loop) else False


def test_points_sharper_than_sixty_degrees_are_rounded_all_the_same() -> None:
    thorn = Outline(Loop((Line((0, 0), (10, 0)), Line((10, 0), (0, 1)), Line((0, 1), (0, 0)))))
    path = kerf_outline(thorn, 0.2, "sharp")
    arcs = [segment for segment in path.outer.segments if isinstance(segment, Arc)]
    assert [arc.centre for arc in arcs] == [(10, 0)]
    assert path.bounding_box_m[2] == pytest.approx(10.1, abs=1e-12)


def test_a_small_fillet_vanishes_and_the_lines_meet() -> None:
    """An L whose inside corner is rounded with 1 mm, cut 4 mm wide: the path turns in a sharp corner 2 mm out."""
    loop = Loop((
        Line((0, 0), (20, 0)), Line((20, 0), (20, 10)), Line((20, 10), (11, 10)),
        Arc((11, 10), (10, 11), (11, 11), False), Line((10, 11), (10, 20)), Line((10, 20), (0, 20)),
        Line((0, 20), (0, 0)),
    ))  # fmt: skip
    path = kerf_outline(Outline(loop), 4.0)
    assert any(segment.end == pytest.approx((12, 12), abs=1e-12) for segment in path.outer.segments)
    assert len([segment for segment in path.outer.segments if isinstance(segment, Arc)]) == 5
    exact = 24 * 24 - 10 * 10 - 5 * (4 - pi)
    assert path.area_m2 == pytest.approx(exact, rel=1e-13)


def test_a_ledge_narrower_than_the_cut_is_passed_over() -> None:
    """A step 1 deep and 1 wide beside a wall: the cut, 4 wide, rests on the step's corner and the wall."""
    loop = Loop((
        Line((0, 0), (20, 0)), Line((20, 0), (20, 20)), Line((20, 20), (10, 20)), Line((10, 20), (10, 11)),
        Line((10, 11), (9, 11)), Line((9, 11), (9, 10)), Line((9, 10), (0, 10)), Line((0, 10), (0, 0)),
    ))  # fmt: skip
    outline = Outline(loop)
    path = kerf_outline(outline, 4.0)
    assert path.area_m2 == pytest.approx(metal(outline).buffer(2.0, quad_segs=4000).area, rel=1e-6)
    assert grown(outline, 2.0, 1e-6, "inner") < path.area_m2 * (1 + 1e-12) < grown(outline, 2.0, 1e-6, "outer")


@pytest.mark.parametrize(
    ("kerf_m", "words"),
    [
        (0.0, "no cut"),
        (-0.0002, "no cut"),
        (float("nan"), "no cut"),
        (float("inf"), "no cut"),
        (0.0073, "7.3 mm"),
        (0.012, "12 mm"),
        (0.5, "500 mm"),
    ],
)
def test_refusals_name_the_numbers(kerf_m: float, words: str) -> None:
    with pytest.raises(GeometryError) as caught:
        kerf_outline(outline_of(PLATES[0]), kerf_m)
    assert words in caught.value.message
    assert caught.value.hint


def test_a_hole_no_wider_than_the_kerf_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"hole of 2000 mm is no wider than the kerf of 2000 mm"):
        kerf_outline(FRAME, 2.0)


def test_a_slot_with_a_wide_end_but_a_narrow_mouth_is_refused() -> None:
    """The cut would fit at the bottom and not through the mouth."""
    loop = Loop((
        Line((0, 0), (20, 0)), Line((20, 0), (20, 20)), Line((20, 20), (11, 20)), Line((11, 20), (11, 12)),
        Line((11, 12), (15, 12)), Line((15, 12), (15, 4)), Line((15, 4), (5, 4)), Line((5, 4), (5, 12)),
        Line((5, 12), (9, 12)), Line((9, 12), (9, 20)), Line((9, 20), (0, 20)), Line((0, 20), (0, 0)),
    ))  # fmt: skip
    kerf_outline(Outline(loop), 1.9)
    with pytest.raises(GeometryError, match="2100 mm"):
        kerf_outline(Outline(loop), 2.1)


def test_marks_and_terminals_stay() -> None:
    nominal = outline_of(PLATES[1])
    path = kerf_outline(nominal, 0.0002)
    assert (path.marks, path.terminals) == (nominal.marks, nominal.terminals)


def test_words_and_usual_kerfs() -> None:
    assert kerf_words(None) == "nominal, cutter compensates"
    assert kerf_words(0.0002) == "offset for a 0.20 mm kerf"
    assert kerf_mark(0.0002) == "kerf-0.2mm"
    laser, jet = kerf_of("laser"), kerf_of("waterjet")
    assert laser is not None and jet is not None
    assert (laser.low, laser.value, laser.high) == pytest.approx((1e-4, 2e-4, 3e-4))
    assert laser.status is Status.SEEN and laser.source and laser.note == "fibre laser"
    assert jet.value == pytest.approx(1e-3)
    assert kerf_of("cast") is None and kerf_of("stamped") is None
