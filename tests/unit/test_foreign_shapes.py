"""Every kind of entity a foreign outline is drawn with: against closed formulas, and against another reader.

The other reader is the drawing library with its own opening of blocks and flattening of curves, put together by a
polygon library: it shares neither code nor method with what is tested, but its flattened arcs are up to 3e-5 too small.
"""

import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import polygonize, unary_union
from shapely.geometry import LineString, Polygon

from griddesign.errors import GeometryError
from griddesign.papers.dxf_library import library
from griddesign.plate.foreign import ForeignPlate, read_dxf
from griddesign.plate.foreign.curves import fitted, spline
from griddesign.plate.foreign.entities import bulged
from griddesign.plate.foreign.placement import Placement
from griddesign.plate.outline import Arc, Circle, Line

MM = 4
Reader = Callable[..., ForeignPlate]


def new(release: str = "R2010") -> Any:
    drawing = library().new(release)
    if release != "R12":
        drawing.header["$INSUNITS"] = MM
    return drawing


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    def reader(drawing: Any, **options: object) -> ForeignPlate:
        path = tmp_path / "plate.dxf"
        drawing.saveas(path)
        return read_dxf(path, **options)  # type: ignore[arg-type]

    return reader


def other_area_mm2(drawing: Any, flattening_mm: float = 1e-4) -> float:
    """Area of metal by the drawing library and the polygon library."""
    library()
    from ezdxf.disassemble import recursive_decompose
    from ezdxf.path import make_path

    stream = io.StringIO()
    drawing.write(stream)
    entities = recursive_decompose(library().read(io.StringIO(stream.getvalue())).modelspace())
    courses = [[(p.x, p.y) for p in make_path(entity).flattening(flattening_mm)] for entity in entities]
    rounded = [LineString([(round(x, 7), round(y, 7)) for x, y in course]) for course in courses]
    faces = [Polygon(face.exterior) for face in polygonize([unary_union(rounded)]).geoms]
    body = max(faces, key=lambda face: face.area)
    return float(body.area - sum(face.area for face in faces if face is not body))


def dense_area_mm2(curve: Any, *further: tuple[float, float]) -> float:
    """Area inside a spline, closed by further points, from 20 000 points of the drawing library's own evaluation."""
    tool = curve.construction_tool()
    low, high = tool.knots()[tool.degree], tool.knots()[tool.count]
    points = [(p.x, p.y) for p in tool.points([low + (high - low) * k / 20_000 for k in range(20_001)])]
    return float(Polygon([*points, *further]).area)


def eyes(space: Any, *centres: tuple[float, float], radius: float = 6.0) -> None:
    for centre in centres:
        space.add_circle(centre, radius)


def frame(space: Any, width: float = 200.0, height: float = 60.0) -> None:
    space.add_lwpolyline([(0, 0), (width, 0), (width, height), (0, height)], close=True)


def metal_mm2(plate: ForeignPlate) -> float:
    return plate.outline.area_m2 * 1e6


# --- polylines -------------------------------------------------------------------------------------------------------

OBROUND = [(0, -20, 0), (160, -20, 1), (160, 20, 0), (0, 20, 1)]  # x, y, bulge: 1 is half a turn
OBROUND_MM2 = 160 * 40 + math.pi * 400


@pytest.mark.parametrize("release", ["R12", "R2000"])
def test_closed_polylines_with_bulges_are_exact(read: Reader, release: str) -> None:
    drawing = new(release)
    space = drawing.modelspace()
    draw = space.add_polyline2d if release == "R12" else space.add_lwpolyline
    draw(OBROUND, format="xyb", close=True)
    eyes(space, (0, 0), (160, 0))
    plate = read(drawing, units="mm")
    assert math.isclose(metal_mm2(plate), OBROUND_MM2 - 72 * math.pi, rel_tol=1e-13)
    assert sorted(type(segment).__name__ for segment in plate.outline.outer.segments) == ["Arc", "Arc", "Line", "Line"]


@pytest.mark.parametrize("bulge", [0.1, 0.5, 1.0, 2.0, -0.3, -1.5])
def test_a_bulge_turns_four_times_its_arc_tangent(bulge: float) -> None:
    """Open DXF reference, LWPOLYLINE group 42: tangent of a quarter of the included angle, above zero to the left."""
    arc = bulged((3.0, 4.0), (9.0, 1.0), bulge)
    assert isinstance(arc, Arc)
    assert math.isclose(arc.turn_rad, 4 * math.atan(bulge), rel_tol=1e-12)
    assert math.isclose(math.dist(arc.centre, arc.start), math.dist(arc.centre, arc.end), rel_tol=1e-12)


def test_a_round_polyline_of_two_bulges_is_a_round_hole(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    frame(space)
    for x in (20, 180):
        space.add_lwpolyline([(x - 6, 30, 1), (x + 6, 30, 1)], format="xyb", close=True)
    plate = read(drawing)
    assert all(hole.is_round and math.isclose(hole.diameter_m, 0.012, rel_tol=1e-12) for hole in plate.holes)
    assert all(isinstance(hole, Circle) for hole in plate.outline.holes)


def test_spline_frame_vertices_of_an_old_polyline_are_not_on_the_line(read: Reader) -> None:
    drawing = new("R12")
    space = drawing.modelspace()
    line = space.add_polyline2d([(0, 0), (200, 0), (200, 60), (0, 60)], close=True)
    line.dxf.flags |= 4  # spline-fit
    line.append_vertex((100, 500), dxfattribs={"flags": 16})
    eyes(space, (20, 30), (180, 30))
    assert math.isclose(metal_mm2(read(drawing, units="mm")), 12000 - 72 * math.pi, rel_tol=1e-12)


def test_polylines_with_a_width_are_remarked_on(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (200, 0), (200, 60), (0, 60)], close=True, dxfattribs={"const_width": 2.0})
    eyes(space, (20, 30), (180, 30))
    assert read(drawing).remarks == ("1 polyline(s) are drawn with a width: their centre line is taken as the cut",)


# --- ellipses and splines --------------------------------------------------------------------------------------------


def test_an_elliptic_plate_keeps_within_the_stated_deviation(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    space.add_ellipse((0, 0), major_axis=(86.6, 50), ratio=0.3)
    eyes(space, (-50, -28.9), (50, 28.9))
    plate = read(drawing)
    half = math.hypot(86.6, 50)
    assert math.isclose(metal_mm2(plate), math.pi * 0.3 * half**2 - 72 * math.pi, rel_tol=1e-6)
    assert plate.curves == 1
    assert 0 < plate.curve_deviation_m <= 2e-7
    assert len(plate.outline.outer.segments) < 250


def test_the_deviation_told_is_that_of_the_worst_curve(read: Reader) -> None:
    told = []
    for ratios in ((0.5,), (0.9,), (0.5, 0.9)):
        drawing = new()
        space = drawing.modelspace()
        frame(space)
        eyes(space, (20, 30), (180, 30))
        for place, ratio in enumerate(ratios):
            space.add_ellipse((70 + 60 * place, 30), major_axis=(20, 0), ratio=ratio)
        told.append(read(drawing, terminals=["H1", f"H{2 + len(ratios)}"]).curve_deviation_m)
    assert told[2] == pytest.approx(max(told[:2]), rel=1e-6)
    assert told[2] > 1.1 * min(told[:2])


def test_half_ellipses_and_lines(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    space.add_line((0, -20), (160, -20))
    space.add_line((0, 20), (160, 20))
    space.add_ellipse((160, 0), (0, 20), 0.5, math.pi, 2 * math.pi)  # bulges to the right: minor axis points to -x
    space.add_ellipse((0, 0), (0, 20), 0.5, 0, math.pi)
    eyes(space, (0, 0), (160, 0))
    plate = read(drawing)
    assert math.isclose(metal_mm2(plate), 160 * 40 + math.pi * 20 * 10 - 72 * math.pi, rel_tol=1e-6)
    assert math.isclose(metal_mm2(plate), other_area_mm2(drawing), rel_tol=3e-5)


def test_round_ends_drawn_as_ellipses_are_arcs(read: Reader) -> None:
    """As long as wide, from half a turn to a whole one: a half circle, exactly, and no whole one."""
    drawing = new()
    space = drawing.modelspace()
    space.add_line((0, 10), (160, 10))
    space.add_line((0, 50), (160, 50))
    space.add_ellipse((160, 30), (0, 20), 1.0, math.pi, 2 * math.pi)
    space.add_ellipse((0, 30), (0, 20), 1.0, 0, math.pi)
    eyes(space, (0, 30), (160, 30))
    plate = read(drawing)
    assert math.isclose(metal_mm2(plate), 160 * 40 + math.pi * 20**2 - 72 * math.pi, rel_tol=1e-12)
    assert plate.curves == 0


def test_an_ellipse_seen_from_below_runs_the_other_way(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    space.add_line((0, -20), (160, -20))
    space.add_line((0, 20), (160, 20))
    space.add_ellipse((160, 0), (0, 20), 0.5, 0, math.pi, dxfattribs={"extrusion": (0, 0, -1)})
    space.add_ellipse((0, 0), (0, 20), 0.5, 0, math.pi)
    eyes(space, (0, 0), (160, 0))
    assert math.isclose(metal_mm2(read(drawing)), 160 * 40 + math.pi * 20 * 10 - 72 * math.pi, rel_tol=1e-6)


def test_a_circle_drawn_as_a_rational_spline_is_round(read: Reader) -> None:
    """Nine poles on a square, weights 1 and cos 45: L. Piegl, W. Tiller, The NURBS Book (1997), ch. 7, from memory."""
    drawing = new()
    space = drawing.modelspace()
    frame(space)
    around = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    for x in (20, 180):
        poles = [(x + 6 * u, 30 + 6 * v) for u, v in around]
        space.add_rational_spline(poles, [1, math.sqrt(0.5)] * 4 + [1], degree=2, knots=knots)
    plate = read(drawing)
    assert [hole.is_round for hole in plate.holes] == [True, True]
    assert math.isclose(plate.holes[0].diameter_m, 0.012, rel_tol=1e-9)
    assert plate.curve_deviation_m < 1e-12


def test_a_cubic_spline_side_against_the_other_reader(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    poles = [(0, 60), (30, 90), (60, 20), (100, 80), (140, 55), (170, 90), (200, 60)]
    curve = space.add_open_spline(poles, degree=3)
    space.add_lwpolyline([(200, 60), (200, 0), (0, 0), (0, 60)])
    eyes(space, (20, 30), (180, 30))
    plate = read(drawing)
    assert math.isclose(metal_mm2(plate), dense_area_mm2(curve, (200, 0), (0, 0)) - 72 * math.pi, rel_tol=1e-6)
    assert any(isinstance(segment, Arc) for segment in plate.outline.outer.segments)


def test_a_closed_spline_with_unclamped_knots(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    poles = [(100 + 90 * math.cos(t), 40 * math.sin(t), 0) for t in (k * math.tau / 9 for k in range(9))]
    curve = space.add_spline()
    curve.set_closed(poles, degree=3)
    eyes(space, (50, 0), (150, 0))
    plate = read(drawing)
    assert math.isclose(metal_mm2(plate), dense_area_mm2(curve) - 72 * math.pi, rel_tol=1e-6)


def test_a_spline_of_degree_one_is_lines() -> None:
    curve = spline(1, [0, 0, 1, 2, 3, 3], [(0, 0), (4, 0), (4, 3), (0, 3)])
    assert fitted(curve, 1e-3).segments == (Line((0, 0), (4, 0)), Line((4, 0), (4, 3)), Line((4, 3), (0, 3)))


def test_a_spline_with_a_corner_and_one_that_stands_still_at_its_ends() -> None:
    corner = spline(2, [0, 0, 0, 1, 1, 2, 2, 2], [(0, 0), (5, 0), (10, 0), (10, 5), (10, 10)])
    assert fitted(corner, 1e-3).segments == (Line((0, 0), (10, 0)), Line((10, 0), (10, 10)))
    still = spline(3, [0] * 4 + [1] * 4, [(0, 0), (0, 0), (10, 10), (10, 10)])
    assert fitted(still, 1e-3).deviation <= 1e-3


@pytest.mark.parametrize("tolerance", [1e-1, 1e-3, 1e-5])
def test_finer_tolerance_more_arcs_and_all_within_it(tolerance: float) -> None:
    """Measured at 2000 places other than those the fit looks at; the pieces grow as the cube root of fineness."""
    import numpy as np

    curve = spline(3, [0] * 4 + [1, 2] + [3] * 4, [(0, 0), (20, 40), (50, -40), (80, 50), (90, 0), (120, 10)])
    fit = fitted(curve, tolerance)
    points, _ = curve.stretches[0].at(np.linspace(0, 3, 2_003))
    rim = LineString([p for s in fit.segments for p in s.points(tolerance / 20, "mid")] + [fit.segments[-1].end])
    import shapely

    off = float(shapely.distance(shapely.points(points), rim).max())
    assert off <= tolerance * 1.1
    assert len(fit.segments) <= 12 * tolerance ** (-1 / 3) + 12


@pytest.mark.parametrize(
    ("degree", "knots", "poles", "weights", "said"),
    [
        (3, [0, 0, 1, 1], [(0, 0), (1, 1)], [], "is no curve"),
        (2, [0, 0, 0, 2, 1, 3, 3, 3], [(0, 0), (1, 1), (2, 0), (3, 1), (4, 0)], [], "backwards"),
        (1, [0, 0, 1, 1, 2, 2], [(0, 0), (1, 1), (2, 0), (3, 1)], [], "jumps"),
        (1, [0, 0, 1, 1], [(0, 0), (1, 1)], [1, -1], "not above zero"),
        (1, [0, 0, 1, 1], [(0, 0), (1, 1)], [1], "1 weights is no curve"),
        (1, [2, 2, 2, 2], [(0, 0), (1, 1)], [], "no length of knots"),
    ],
)
def test_splines_that_are_none(
    degree: int, knots: list[float], poles: list[tuple[float, float]], weights: list[float], said: str
) -> None:
    with pytest.raises(GeometryError, match=said):
        spline(degree, knots, poles, weights)


def test_a_spline_that_only_passes_through_points_is_refused(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    frame(space)
    space.add_spline([(10, 10), (20, 20), (30, 10)])
    with pytest.raises(GeometryError, match="gives only points to pass through"):
        read(drawing)


# --- blocks ----------------------------------------------------------------------------------------------------------


def corner_block(drawing: Any) -> Any:
    """A quarter of a plate with a rounded corner, an oval notch and an eye, about a base point off the origin."""
    block = drawing.blocks.new("QUARTER", base_point=(5, 5))
    block.add_line((5, 45), (85, 45))
    block.add_arc((85, 35), 10, 0, 90)
    block.add_line((95, 35), (95, 20))
    block.add_lwpolyline([(95, 20, 0.7), (95, 5, 0)], format="xyb")
    block.add_circle((65, 25), 6)
    return block


QUARTER_MM2 = 90 * 40 - (100 - 25 * math.pi)  # without notch and eye


def notch_mm2() -> float:
    """Circular segment on a chord of 15 with bulge 0.7, to the right of a line running down: cut out of the plate."""
    turn = 4 * math.atan(0.7)
    radius = 7.5 / math.sin(turn / 2)
    return radius**2 * (turn - math.sin(turn)) / 2


@pytest.mark.parametrize("angle", [0.0, 0.6, math.pi / 2, 2.5])
@pytest.mark.parametrize(("wide", "high", "lean"), [(0.3, 0.3, 0), (2, -2, 0), (-5, 5, 0), (2, 3, 0), (2, 2, 0.5)])
def test_placements_by_their_determinant_and_singular_values(
    angle: float, wide: float, high: float, lean: float
) -> None:
    """Left becomes right where the determinant is below zero; circles stay where both singular values are alike."""
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    matrix = turn @ np.array([[wide, lean], [0.0, high]])
    found = Placement(*matrix.ravel().tolist(), 7.0, -3.0)
    larger, smaller = np.linalg.svd(matrix, compute_uv=False)
    assert found.mirrors == (np.linalg.det(matrix) < 0)
    assert found.keeps_circles == math.isclose(larger, smaller, rel_tol=1e-9)
    assert found.scale == pytest.approx(abs(wide))
    assert found.at((1.5, -0.5)) == pytest.approx(matrix @ (1.5, -0.5) + (7.0, -3.0))
    twice = found.of(found)
    assert twice.at((1.5, -0.5)) == pytest.approx(found.at(found.at((1.5, -0.5))))


def test_mirrored_blocks_make_one_plate(read: Reader) -> None:
    """Four inserts with scales 1 and -1: left and right arcs must bulge their own ways."""
    drawing = new()
    corner_block(drawing)
    space = drawing.modelspace()
    for x in (1, -1):
        for y in (1, -1):
            space.add_blockref("QUARTER", (0, 0), dxfattribs={"xscale": x, "yscale": y})
    plate = read(drawing, terminals=["H1", "H4"])
    expected = 4 * (QUARTER_MM2 - notch_mm2() - 36 * math.pi)
    assert math.isclose(metal_mm2(plate), expected, rel_tol=1e-12)
    assert math.isclose(metal_mm2(plate), other_area_mm2(drawing), rel_tol=3e-5)
    assert plate.outline.bounding_box_m[:2] == pytest.approx((-0.09, -0.04), abs=1e-12)


def test_nested_turned_scaled_mirrored_blocks_against_the_other_reader(read: Reader) -> None:
    drawing = new()
    corner_block(drawing)
    half = drawing.blocks.new("HALF")
    half.add_blockref("QUARTER", (0, 0))
    half.add_blockref("QUARTER", (0, 0), dxfattribs={"yscale": -1})
    space = drawing.modelspace()
    space.add_blockref("HALF", (300, 100), dxfattribs={"xscale": 2, "yscale": 2, "zscale": 2, "rotation": 30})
    space.add_blockref("HALF", (300, 100), dxfattribs={"xscale": -2, "yscale": 2, "zscale": 2, "rotation": 30})
    plate = read(drawing, terminals=["H1", "H4"])
    assert math.isclose(metal_mm2(plate), 16 * (QUARTER_MM2 - notch_mm2() - 36 * math.pi), rel_tol=1e-12)
    assert math.isclose(metal_mm2(plate), other_area_mm2(drawing), rel_tol=3e-5)


def test_a_block_squeezed_one_way_turns_circles_into_ellipses(read: Reader) -> None:
    drawing = new()
    corner_block(drawing)
    half = drawing.blocks.new("HALF")
    half.add_blockref("QUARTER", (0, 0))
    half.add_blockref("QUARTER", (0, 0), dxfattribs={"yscale": -1})
    space = drawing.modelspace()
    space.add_blockref("HALF", (0, 0), dxfattribs={"xscale": 1.5, "yscale": 0.5, "rotation": 10})
    space.add_blockref("HALF", (0, 0), dxfattribs={"xscale": -1.5, "yscale": 0.5, "rotation": 10})
    plate = read(drawing, terminals=["H1", "H4"])
    assert math.isclose(metal_mm2(plate), 3 * (QUARTER_MM2 - notch_mm2() - 36 * math.pi), rel_tol=1e-6)
    assert not any(hole.is_round for hole in plate.holes)
    assert plate.holes[0].diameter_m == pytest.approx(0.012 * math.sqrt(0.75), rel=1e-5)


def test_a_block_seen_from_below_is_mirrored(read: Reader) -> None:
    drawing = new()
    corner_block(drawing)
    space = drawing.modelspace()
    for y in (1, -1):
        space.add_blockref("QUARTER", (0, 0), dxfattribs={"yscale": y})
        space.add_blockref("QUARTER", (0, 0), dxfattribs={"yscale": y, "extrusion": (0, 0, -1)})
    plate = read(drawing, terminals=["H1", "H4"])
    assert math.isclose(metal_mm2(plate), 4 * (QUARTER_MM2 - notch_mm2() - 36 * math.pi), rel_tol=1e-12)


def test_rows_and_columns_of_one_insert(read: Reader) -> None:
    drawing = new()
    drawing.blocks.new("EYE").add_circle((0, 0), 6)
    space = drawing.modelspace()
    frame(space)
    rows = {"column_count": 3, "row_count": 2, "column_spacing": 50, "row_spacing": 20}
    space.add_blockref("EYE", (50, 20), dxfattribs=rows)
    plate = read(drawing, terminals=["H1", "H6"])
    assert [hole.centre_m for hole in plate.holes] == [
        pytest.approx((x / 1000, y / 1000)) for x in (50, 100, 150) for y in (20, 40)
    ]


def test_an_insert_turns_its_block_and_its_rows_and_scales_the_block_alone(read: Reader) -> None:
    """Centres by hand: an eye 5 mm right of the block's base and 3 mm below it in height, twice as far off, 30 deg
    round; columns 60 mm and rows 12 mm apart along the turned axes (Open DXF reference, INSERT groups 41 to 50, 70,
    71; from memory)."""
    drawing = new()
    drawing.blocks.new("EYE", base_point=(1, 2, 3)).add_circle((6, 2), 2)
    space = drawing.modelspace()
    frame(space)
    rows = {"column_count": 2, "row_count": 2, "column_spacing": 60, "row_spacing": -12}
    space.add_blockref("EYE", (40, 15, 6), dxfattribs={**rows, "rotation": 30, "xscale": 2, "yscale": 2, "zscale": 2})
    cosine, sine = math.sqrt(0.75), 0.5
    along = [(10 + 60 * column, -12 * row) for column in range(2) for row in range(2)]
    wanted = sorted((40 + cosine * x - sine * y, 15 + sine * x + cosine * y) for x, y in along)
    found = read(drawing, terminals=["H1", "H4"]).holes
    assert [hole.diameter_m for hole in found] == pytest.approx([0.008] * 4)
    assert sorted(hole.centre_m for hole in found) == [pytest.approx((x / 1000, y / 1000)) for x, y in wanted]


def test_arcs_circles_and_polylines_seen_from_below(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    below = {"extrusion": (0, 0, -1)}
    space.add_lwpolyline([(x, y, b) for x, y, b in OBROUND], format="xyb", close=True, dxfattribs=below)
    space.add_circle((0, 0), 6, dxfattribs=below)
    space.add_circle((160, 0), 6, dxfattribs=below)
    plate = read(drawing)
    assert math.isclose(metal_mm2(plate), OBROUND_MM2 - 72 * math.pi, rel_tol=1e-12)
    assert plate.outline.bounding_box_m == pytest.approx((-0.18, -0.02, 0.02, 0.02), abs=1e-12)


def test_blocks_that_are_not_there_or_hold_themselves(read: Reader) -> None:
    drawing = new()
    drawing.modelspace().add_blockref("NOWHERE", (0, 0))
    with pytest.raises(GeometryError, match="'NOWHERE' is not in the file"):
        read(drawing)
    drawing = new()
    drawing.blocks.new("SNAKE").add_blockref("SNAKE", (1, 0))
    drawing.modelspace().add_blockref("SNAKE", (0, 0))
    with pytest.raises(GeometryError, match="'SNAKE' holds itself"):
        read(drawing)


def test_a_bomb_of_nested_blocks_is_defused(read: Reader) -> None:
    """Ten levels of ten inserts each would be 10^10 circles."""
    drawing = new()
    drawing.blocks.new("B0").add_circle((0, 0), 1)
    for level in range(1, 11):
        block = drawing.blocks.new(f"B{level}")
        for k in range(10):
            block.add_blockref(f"B{level - 1}", (10**level * k, 0))
    drawing.modelspace().add_blockref("B10", (0, 0))
    with pytest.raises(ValueError, match="holds 10000000000 entities; more than 200000"):
        read(drawing)
    drawing = new()
    drawing.blocks.new("B").add_circle((0, 0), 1)
    rows = {"column_count": 1000, "row_count": 1000, "column_spacing": 3, "row_spacing": 3}
    drawing.modelspace().add_blockref("B", (0, 0), dxfattribs=rows)
    with pytest.raises(ValueError, match="holds 1000000 entities; more than 200000"):
        read(drawing)


# --- heights, layers, what is not cut --------------------------------------------------------------------------------


def test_one_height_is_flattened_and_two_are_refused(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    space.add_lwpolyline([(0, 0), (200, 0), (200, 60), (0, 60)], close=True, dxfattribs={"elevation": 8})
    for x in (20, 180):
        space.add_circle((x, 30, 8), 6)
    assert read(drawing).remarks == ("drawn at height z = 8 mm, taken as flat",)
    space.add_circle((100, 30, 0), 6)
    with pytest.raises(GeometryError, match="heights z run from 0 to 8 mm"):
        read(drawing)


def test_a_tilted_circle_is_refused(read: Reader) -> None:
    drawing = new()
    frame(drawing.modelspace())
    drawing.modelspace().add_circle((0, 0), 6, dxfattribs={"extrusion": (0, 0.6, 0.8)})
    with pytest.raises(GeometryError, match="tilted plane"):
        read(drawing)


def test_what_is_not_cut_is_counted(read: Reader) -> None:
    drawing = library().new("R2010", setup=True)
    drawing.header["$INSUNITS"] = MM
    drawing.layers.add("AXES", linetype="CENTER")
    drawing.layers.add("OFF").off()
    drawing.layers.add("ICE").freeze()
    space = drawing.modelspace()
    frame(space)
    eyes(space, (20, 30), (180, 30))
    space.add_text("plate")
    space.add_mtext("of 8 mm")
    space.add_point((3, 3))
    space.add_line((-10, 30), (210, 30), dxfattribs={"layer": "AXES"})
    space.add_line((20, -10), (20, 70), dxfattribs={"linetype": "CENTER2"})
    space.add_circle((100, 30), 5, dxfattribs={"layer": "OFF"})
    space.add_circle((110, 30), 5, dxfattribs={"layer": "ICE"})
    space.add_circle((120, 30), 5, dxfattribs={"invisible": 1})
    space.add_linear_dim((0, -20), (0, 0), (200, 0)).render()
    drawing.layout("Layout1").add_circle((0, 0), 99)
    plate = read(drawing)
    assert [(i.kind, i.layer, i.count, i.why) for i in plate.ignored] == [
        ("CIRCLE", "0", 1, "invisible"),
        ("CIRCLE", "0", 1, "paper space"),
        ("CIRCLE", "ICE", 1, "layer off or frozen"),
        ("CIRCLE", "OFF", 1, "layer off or frozen"),
        ("DIMENSION", "0", 1, "not cut"),
        ("LINE", "0", 1, "centre line"),
        ("LINE", "AXES", 1, "centre line"),
        ("MTEXT", "0", 1, "not cut"),
        ("POINT", "0", 1, "not cut"),
        ("TEXT", "0", 1, "not cut"),
    ]
    assert math.isclose(metal_mm2(plate), 12000 - 72 * math.pi, rel_tol=1e-12)


def test_layers_on_request_and_through_blocks(read: Reader) -> None:
    drawing = new()
    space = drawing.modelspace()
    drawing.blocks.new("EYE").add_circle((0, 0), 6)
    space.add_lwpolyline([(0, 0), (200, 0), (200, 60), (0, 60)], close=True, dxfattribs={"layer": "Cut"})
    for x in (20, 180):
        space.add_blockref("EYE", (x, 30), dxfattribs={"layer": "Holes"})
    space.add_lwpolyline([(-50, -50), (500, -50), (500, 300), (-50, 300)], close=True, dxfattribs={"layer": "Sheet"})
    drawing.layout("Layout1").add_circle((100, 30), 5, dxfattribs={"layer": "Cut"})
    plate = read(drawing, layers=["cut", "HOLES"])
    assert math.isclose(metal_mm2(plate), 12000 - 72 * math.pi, rel_tol=1e-12)
    assert [(i.layer, i.why) for i in plate.ignored] == [("Cut", "paper space"), ("Sheet", "another layer")]


@pytest.mark.parametrize("kind", ["MLINE", "3DFACE"])
def test_what_cannot_be_read_is_refused_not_skipped(read: Reader, kind: str) -> None:
    drawing = new()
    space = drawing.modelspace()
    frame(space)
    eyes(space, (20, 30), (180, 30))
    draw = {
        "MLINE": lambda: space.add_mline([(50, 20), (150, 20)]),
        "3DFACE": lambda: space.add_3dface([(50, 20), (150, 20), (150, 30)]),
    }
    draw[kind]()
    with pytest.raises(GeometryError, match=f"{kind} on layer 0 cannot be read"):
        read(drawing)


def test_a_mesh_of_old_is_refused(read: Reader) -> None:
    drawing = new("R12")
    drawing.modelspace().add_polymesh((2, 2))
    with pytest.raises(GeometryError, match="is a mesh"):
        read(drawing, units="mm")
