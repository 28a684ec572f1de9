"""Lines and arcs: exact figures against shapely's polygons, polygons that lie inside and outside, moves, faults."""

from math import cos, isclose, pi, sin

import numpy as np
import pytest
from shapely import Point as Dot
from shapely import Polygon

from griddesign.errors import GeometryError
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline, faults
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

EYE = Eye(0.022, 0.012, 0.018, 0.001, 0.002)
PLATES = [
    Zigzag(0.25, 13, 0.008, 0.0072, 0.005, EYE, "opposite edges"),
    Zigzag(0.25, 12, 0.008, 0.0072, 0.005, EYE, "one edge", "square", 0.012, 0.0036, support_eyes=1),
    Zigzag(0.20, 9, 0.010, 0.0060, 0.005, EYE, "opposite edges", "round", support_eyes=1),
    Zigzag(0.20, 8, 0.010, 0.0060, 0.005, EYE, "one edge", "square", None, 0.002),
]
HALF_DISC = Loop((Line((-1.0, 0.0), (1.0, 0.0)), Arc((1.0, 0.0), (-1.0, 0.0), (0.0, 0.0), True)))


def as_polygon(outline: Outline, sagitta_m: float, side: str = "mid") -> Polygon:
    rings = outline.polygon(sagitta_m, side)  # type: ignore[arg-type]
    return Polygon(rings[0], rings[1:])


def test_half_disc() -> None:
    assert HALF_DISC.area_m2 == pytest.approx(pi / 2, rel=1e-15)
    assert HALF_DISC.perimeter_m == pytest.approx(pi + 2, rel=1e-15)
    assert HALF_DISC.bounding_box_m == pytest.approx((-1, 0, 1, 1), abs=1e-15)


@pytest.mark.parametrize(
    ("start", "turn", "box"), [(0.0, 1.5, (-1, -1, 1, 1)), (0.25, 1.0, (-1, -1, 0, 1)), (0.1, 0.1, None)]
)
def test_box_of_an_arc(start: float, turn: float, box: tuple[float, ...] | None) -> None:
    """``start`` and ``turn`` in full turns and half turns; an arc within a quarter is boxed by its ends."""
    first, last = 2 * pi * start, 2 * pi * start + pi * turn
    ends = [(np.cos(a), np.sin(a)) for a in (first, last)]
    arc = Arc(ends[0], ends[1], (0.0, 0.0), True)
    xs, ys = zip(*arc.extremes(), strict=True)
    if box is None:
        xs_end, ys_end = zip(*ends, strict=True)
        box = (min(xs_end), min(ys_end), max(xs_end), max(ys_end))
    assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx(box, abs=1e-12)


@pytest.mark.parametrize("shape", PLATES)
def test_area_and_perimeter_against_shapely(shape: Zigzag) -> None:
    outline = outline_of(shape)
    inner, outer = as_polygon(outline, 1e-8, "inner"), as_polygon(outline, 1e-8, "outer")
    assert inner.is_valid
    assert inner.area < outline.area_m2 < outer.area
    assert outer.area / inner.area < 1 + 1e-6
    assert outline.perimeter_m == pytest.approx(inner.length, rel=1e-5)
    assert outline.bounding_box_m == pytest.approx(inner.bounds, abs=2e-8)


@pytest.mark.parametrize("shape", PLATES)
def test_mid_polygon_keeps_the_area(shape: Zigzag) -> None:
    outline = outline_of(shape)
    for sagitta_m in (1e-3, 1e-4, 1e-6):
        assert as_polygon(outline, sagitta_m).area == pytest.approx(outline.area_m2, rel=1e-12)


@pytest.mark.parametrize("shape", PLATES)
@pytest.mark.parametrize("sagitta_m", [3e-4, 2e-5])
def test_inner_and_outer_polygons_enclose_the_curve(shape: Zigzag, sagitta_m: float) -> None:
    """All but the terminals' rims: the metal of the inner one lies in the true metal, that in the outer one."""
    whole = outline_of(shape)
    outline = Outline(whole.outer, whole.holes)
    true = as_polygon(outline, 1e-8)
    inner, outer = as_polygon(outline, sagitta_m, "inner"), as_polygon(outline, sagitta_m, "outer")
    assert inner.is_valid
    assert outer.is_valid
    assert inner.difference(true).area < 1e-6 * true.area
    assert true.difference(outer).area < 1e-6 * true.area
    assert inner.area < true.area < outer.area
    assert (outer.area - inner.area) / 2 < sagitta_m * outline.perimeter_m


def test_terminal_rims_go_the_other_way() -> None:
    """The hole of a terminal is smaller on the inner polygon: metal, not the terminal, fills the difference."""
    outline = outline_of(PLATES[1])
    areas = {
        side: [Polygon(ring).area for ring in outline.polygon(1e-4, side)[1:]] for side in ("inner", "mid", "outer")
    }
    assert areas["inner"][0] < areas["mid"][0] < areas["outer"][0]
    assert areas["inner"][2] > areas["mid"][2] > areas["outer"][2]
    assert areas["mid"][0] == pytest.approx(pi * 0.006**2, rel=1e-12)


@pytest.mark.parametrize("shape", PLATES)
def test_loops_run_with_the_metal_to_the_left(shape: Zigzag) -> None:
    outline = outline_of(shape)
    outer, *holes = outline.polygon(1e-5)
    assert Polygon(outer).exterior.is_ccw
    assert not any(Polygon(hole).exterior.is_ccw for hole in holes)
    assert faults(outline) == ()


@pytest.mark.parametrize("shape", PLATES)
def test_moves(shape: Zigzag) -> None:
    outline = outline_of(shape)
    moved = outline.translated(1.0, -2.0).scaled(3.0).mirrored()
    assert moved.area_m2 == pytest.approx(9 * outline.area_m2, rel=1e-12)
    assert moved.perimeter_m == pytest.approx(3 * outline.perimeter_m, rel=1e-12)
    left, low, right, high = outline.bounding_box_m
    assert moved.bounding_box_m == pytest.approx((-3 * (right + 1), 3 * (low - 2), -3 * (left + 1), 3 * (high - 2)))
    assert faults(moved) == ()
    again = moved.mirrored().scaled(1 / 3).translated(-1.0, 2.0)
    assert np.allclose(again.polygon(1e-4)[0], outline.polygon(1e-4)[0], atol=1e-12)


def test_odd_plates_look_the_same_turned_round() -> None:
    shape = PLATES[0]
    ring = as_polygon(outline_of(shape), 1e-5).exterior
    points = [(shape.width_m - x, shape.height_m - y) for x, y in ring.coords]
    assert Polygon(points).symmetric_difference(Polygon(ring)).area < 1e-9


def test_even_plates_are_their_own_mirror() -> None:
    shape = PLATES[3]
    outline = outline_of(shape)
    mirrored = as_polygon(outline.mirrored().translated(shape.width_m, 0.0), 1e-5)
    assert mirrored.symmetric_difference(as_polygon(outline, 1e-5)).area < 1e-9


def test_eyes_are_round() -> None:
    shape = PLATES[0]
    outline = outline_of(shape)
    metal = as_polygon(outline, 1e-7)
    for mark in outline.marks:
        ring = (
            Dot(mark.at)
            .buffer(EYE.radius_m, quad_segs=500)
            .difference(Dot(mark.at).buffer(EYE.hole_m / 2, quad_segs=500))
        )
        assert metal.intersection(ring).area == pytest.approx(ring.area, rel=1e-4)


def test_open_outline() -> None:
    with pytest.raises(GeometryError, match="open"):
        Loop((Line((0, 0), (1, 0)), Line((1, 0), (1, 1)), Line((1, 1), (0, 0.1))))


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Outline(HALF_DISC.reversed()),
        lambda: Outline(HALF_DISC, (HALF_DISC,)),
        lambda: Outline(HALF_DISC, (Circle((0, 0.5), 0.0),)),
        lambda: Outline(HALF_DISC, (Circle((0, 0.5), float("nan")),)),
        lambda: Outline(HALF_DISC, (), (0,)),
        lambda: Outline(Loop((Line((0, 0), (float("nan"), 0)), Line((float("nan"), 0), (0, 0))))),
        lambda: Outline(HALF_DISC).polygon(0.0),
        lambda: Outline(HALF_DISC).scaled(-1.0),
    ],
)
def test_outlines_that_cannot_be(wrong: object) -> None:
    with pytest.raises(GeometryError):
        wrong()  # type: ignore[operator]


@pytest.mark.parametrize(("x", "good"), [(0.0085, True), (0.0095, False)])
def test_a_hole_near_a_round_rim_is_judged_by_the_arc_and_not_by_its_chords(x: float, good: bool) -> None:
    """1 mm of radius in a disc of 10 mm, its edge 0.5 mm inside the rim and 0.5 mm beyond it."""
    ends = ((0.01, 0.0), (-0.01, 0.0))
    disc = Loop((Arc(ends[0], ends[1], (0.0, 0.0), True), Arc(ends[1], ends[0], (0.0, 0.0), True)))
    hole = Circle((x * cos(pi / 8), x * sin(pi / 8)), 0.001)
    assert faults(Outline(disc, (hole,))) == (() if good else ("hole 0 is not inside the metal",))


def test_faults_are_named() -> None:
    points = [(0, 0), (4, 0), (1, 3), (3, 3)]
    bow = Loop(tuple(Line(points[k], points[(k + 1) % 4]) for k in range(4)))
    bow = bow if bow.signed_area_m2 > 0 else bow.reversed()
    assert "crosses itself" in faults(Outline(bow))[0]
    assert faults(Outline(HALF_DISC, (Circle((0, 2), 0.1),))) == ("hole 0 is not inside the metal",)
    assert "meet" in faults(Outline(HALF_DISC, (Circle((0, 0.5), 0.2), Circle((0.1, 0.5), 0.2))))[0]
    assert isclose(Outline(HALF_DISC, (Circle((0, 0.5), 0.2),)).area_m2, pi / 2 - 0.04 * pi)
