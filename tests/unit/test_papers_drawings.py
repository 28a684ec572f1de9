"""Plate drawing, cutting file and circuits: the documents read back, and the page shows the very same."""

import io
import os
import subprocess
import sys
from dataclasses import replace
from math import hypot
from pathlib import Path

import pytest

from griddesign.errors import OutputError
from griddesign.grid.records import Branches, Run
from griddesign.papers import cut_dxf as cut
from griddesign.papers import typefaces
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.circuit_drawing import circuit_picture
from griddesign.papers.cut_dxf import cut_dxf, read_cut
from griddesign.papers.dxf_board import length_words
from griddesign.papers.dxf_library import dxf_bytes, library, new_document, read_dxf
from griddesign.papers.dxf_picture import picture_of
from griddesign.papers.marks import Path as DrawnPath
from griddesign.papers.marks import Words, flat
from griddesign.papers.plate_drawing import PlateOrder, draw_plate
from griddesign.papers.scales import INCH, STANDARD, Scale, largest, scales_of
from griddesign.papers.tolerances import half_width_m
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline
from griddesign.plate.shapes import Eye, Zigzag, usual_eye
from griddesign.plate.zigzag import outline_of
from griddesign.traction.records import Grouping, Notch

FLAT = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, usual_eye(0.008, 0.005), "opposite edges", fillet_m=0.002)
CAST = Zigzag(
    0.25, 12, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.02, -0.004, 0.003), "one edge", "round",
    edge_thickness_m=0.004, edge_radius_m=0.001, support_eyes=1,
)  # fmt: skip
SHAPES = {"flat": FLAT, "cast": CAST}
ORDER = PlateOrder("P", "Grey cast iron, class 30", "cast", "Works car 3 <b>&", "draft", "3f9a1c07")


def words_of(marks: tuple) -> list[str]:
    return [mark.text for _, _, mark in flat(marks) if isinstance(mark, Words)]


# --- the cutting file ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("version", ["R12", "R2000"])
@pytest.mark.parametrize("unit", ["mm", "inch"])
@pytest.mark.parametrize("name", SHAPES)
def test_cutting_file_has_the_outlines_area_and_perimeter(name: str, unit: str, version: str) -> None:
    outline = outline_of(SHAPES[name])
    content = cut_dxf(outline, unit, version)
    outer, holes = read_cut(content, unit)
    assert outer.area_m2 - sum(hole.area_m2 for hole in holes) == pytest.approx(outline.area_m2, rel=1e-9)
    perimeter_m = outer.perimeter_m + sum(hole.perimeter_m for hole in holes)
    assert perimeter_m == pytest.approx(outline.perimeter_m, rel=1e-9)
    assert outer.bounding_box_m == pytest.approx(outline.bounding_box_m, abs=1e-9)


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_cutting_file_holds_lines_arcs_and_circles_and_nothing_else(unit: str) -> None:
    document = read_dxf(cut_dxf(outline_of(CAST), unit))
    assert {entity.dxftype() for entity in document.modelspace()} == {"LINE", "ARC", "CIRCLE"}
    assert {entity.dxf.layer for entity in document.modelspace()} == {"CUT_OUTER", "CUT_HOLES"}
    assert document.dxfversion == "AC1015"
    assert document.header["$INSUNITS"] == {"mm": 4, "inch": 1}[unit]
    assert not document.audit().errors


def test_cutting_file_in_inches_is_the_millimetres_over_25_4() -> None:
    sizes = []
    for unit in ("mm", "inch"):
        circles = read_dxf(cut_dxf(outline_of(FLAT), unit)).modelspace().query("CIRCLE")
        sizes.append(circles[0].dxf.radius)
    assert sizes[0] / sizes[1] == pytest.approx(25.4, rel=1e-12)


def test_holes_come_before_the_outer_line() -> None:
    layers = [entity.dxf.layer for entity in read_dxf(cut_dxf(outline_of(CAST))).modelspace()]
    assert layers == sorted(layers)
    assert layers[:3] == ["CUT_HOLES"] * 3


def test_a_hole_of_lines_and_arcs_either_way_round() -> None:
    """A slot: two straights and two half circles, cut clockwise."""
    outer = Loop(tuple(Line(a, b) for a, b in zip(SQUARE, (*SQUARE[1:], SQUARE[0]), strict=True)))
    slot = Loop((
        Line((0.02, 0.03), (0.04, 0.03)),
        Arc((0.04, 0.03), (0.04, 0.02), (0.04, 0.025), False),
        Line((0.04, 0.02), (0.02, 0.02)),
        Arc((0.02, 0.02), (0.02, 0.03), (0.02, 0.025), False),
    ))  # fmt: skip
    outline = Outline(outer, (slot, Circle((0.05, 0.05), 0.004)))
    _, holes = read_cut(cut_dxf(outline), "mm")
    assert sum(hole.area_m2 for hole in holes) == pytest.approx(slot.area_m2 + outline.holes[1].area_m2, rel=1e-12)


SQUARE = ((0.0, 0.0), (0.06, 0.0), (0.06, 0.06), (0.0, 0.06))


def test_an_open_loop_and_a_foreign_entity_are_refused() -> None:
    document = new_document("R2000", "mm")
    document.layers.add("CUT_OUTER")
    document.modelspace().add_line((0, 0), (10, 0), dxfattribs={"layer": "CUT_OUTER"})
    with pytest.raises(OutputError, match="is open"):
        read_cut(dxf_bytes(document), "mm")
    document.modelspace().add_point((0, 0), dxfattribs={"layer": "CUT_OUTER"})
    with pytest.raises(OutputError, match="holds a POINT"):
        read_cut(dxf_bytes(document), "mm")


def test_a_cutting_file_that_differs_from_the_plate_is_never_handed_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cut, "_times", lambda point, scale: (point[0] * scale * 1.000001, point[1] * scale))
    with pytest.raises(OutputError, match="cutting file"):
        cut_dxf(outline_of(FLAT))


# --- the dimensioned drawing -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module", params=[("flat", "mm"), ("cast", "inch"), ("cast", "mm")], ids=str)
def drawn(request: pytest.FixtureRequest) -> tuple:
    name, unit = request.param
    order = PlateOrder("P", "Grey iron", "cast", "Works\ncar 3 %%d \\P", "draft", "3f9a1c07", unit, "third angle")
    return SHAPES[name], order, draw_plate(outline_of(SHAPES[name]), SHAPES[name], order)


def test_drawing_reads_back_clean_with_its_layers_and_unit(drawn: tuple) -> None:
    _, order, drawing = drawn
    document = read_dxf(drawing.dxf())
    assert not document.audit().errors
    assert document.header["$INSUNITS"] == {"mm": 4, "inch": 1}[order.unit]
    used = {entity.dxf.layer for entity in document.modelspace()}
    assert used == {"OUTLINE", "SECTION", "HATCH", "CENTRE", "DIMENSION", "TEXT", "TITLE", "TITLE_HEAD", "MARK"}
    assert all(entity.get_geometry_block() is not None for entity in document.modelspace().query("DIMENSION"))


def test_dimensions_measure_the_plate(drawn: tuple) -> None:
    """The numbers DXF readers will measure between the dimension's own points."""
    shape, order, drawing = drawn
    per_m = {"mm": 1000.0, "inch": 1 / 0.0254}[order.unit]
    got = {round(entity.get_measurement() / per_m, 9) for entity in drawing.document.modelspace().query("DIMENSION")}
    wanted = {shape.height_m, (shape.passes - 1) * shape.pitch_m, shape.eye.reach_m}
    wanted.add(abs(shape.eye.offset_m) or shape.width_m)
    assert {round(value, 9) for value in wanted} <= got


def test_nothing_is_dimensioned_twice(drawn: tuple) -> None:
    """No two dimensions of the view measure between the same two heights or the same two abscissae; the distances of
    the holes stand in their table alone."""
    shape, order, drawing = drawn
    per_m = {"mm": 1000.0, "inch": 1 / 0.0254}[order.unit]
    found = []
    for entity in drawing.document.modelspace().query("DIMENSION"):
        side = round(entity.dxf.angle) % 180 // 90
        ends = sorted(round(point[side] / per_m, 7) for point in (entity.dxf.defpoint2, entity.dxf.defpoint3))
        found.append((side, *ends))
    assert len(found) == len(set(found)) >= 6
    (first, last, *_) = outline_of(shape).marks
    between = {(axis, *sorted((round(first.at[axis], 7), round(last.at[axis], 7)))) for axis in (0, 1)}
    bracketed = {(0, *sorted((round(first.at[0], 7), round(last.at[0], 7))))} if not shape.eye.offset_m else set()
    assert not (between - bracketed) & set(found)


def test_the_table_of_holes_counts_from_the_first(drawn: tuple) -> None:
    """x and y of every hole from the centre of H1, as the title says, in the drawing's unit."""
    shape, order, drawing = drawn
    words = words_of(drawing.picture.marks)
    first, *others = outline_of(shape).marks
    for number, mark in enumerate(others, start=2):
        assert f"H{number}" in words
        for axis in (0, 1):
            length_m = mark.at[axis] - first.at[axis]
            assert (length_words(length_m, order.unit) if abs(length_m) > 1e-9 else "0") in words
    assert words.count("H1") == 2  # in the view and in the table


def test_the_title_block_has_the_fields_of_iso_7200(drawn: tuple) -> None:
    """ISO 7200:2004, table 1, mandatory fields; read in a reprint of the table of EN ISO 7200 (2008)."""
    _, order, drawing = drawn
    view, rest = (" ".join(words_of(marks)) for marks in (drawing.picture.marks, drawing.title.marks))
    for name in ("Legal owner", "Date of issue", "Sheet", "Approved by", "Created by", "Document type"):
        assert name in rest, name
    unit = {"mm": "millimetres", "inch": "inches"}[order.unit]
    for name in ("Title", "Identification number", order.projection, str(drawing.scale), unit, order.fingerprint):
        assert name in view and name not in rest, name
    assert clashes(drawing.title.marks) == []
    assert drawing.title.width_mm <= 180.0


def test_where_the_head_of_the_title_block_has_no_room_a_line_of_the_notes_says_it_and_the_scale_stays() -> None:
    shape = Zigzag(0.25, 29, 0.008, 0.0072, 0.005, usual_eye(0.008, 0.005), "opposite edges", fillet_m=0.002)
    order = replace(ORDER, number="car3-P")
    roomy = draw_plate(outline_of(shape), shape, order, (250.0, 160.0))
    tight = draw_plate(outline_of(shape), shape, order, (250.0, roomy.picture.height_mm - 1.0))
    assert str(roomy.scale) == str(tight.scale)
    line = f"Drawing car3-P, scale {tight.scale}, millimetres, first angle."
    assert line in " ".join(words_of(tight.picture.marks)) and "Identification number" in words_of(tight.title.marks)
    assert line not in " ".join(words_of(roomy.picture.marks))
    assert "Identification number" in words_of(roomy.picture.marks)


def test_the_page_shows_every_text_of_the_document(drawn: tuple) -> None:
    _, _, drawing = drawn
    texts = [entity.dxf.text for entity in drawing.document.modelspace().query("TEXT")]
    assert len(texts) > 6
    shown = words_of((*drawing.picture.marks, *drawing.title.marks))
    assert [words for words in texts if words not in shown] == []
    assert any(words.startswith("Ω: ") for words in shown)


def inked(path: DrawnPath) -> tuple[float, float]:
    """Width and height of a path's true line, its curves sampled."""
    points: list[tuple[float, float]] = []
    for kind, numbers in path.steps:
        if kind == "c":
            (x0, y0), (x1, y1, x2, y2, x3, y3) = points[-1], numbers
            for n in range(1, 201):
                t, u = n / 200, 1 - n / 200
                weights = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                xs, ys = (x0, x1, x2, x3), (y0, y1, y2, y3)
                points.append(tuple(sum(w * v for w, v in zip(weights, c, strict=True)) for c in (xs, ys)))
        elif numbers:
            points.append(numbers)
    xs, ys = zip(*points, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def test_the_page_is_true_to_scale(drawn: tuple) -> None:
    """Outline on paper = outline x scale, and the eye holes too, within 0.01 %."""
    shape, _, drawing = drawn
    factor = 1000.0 * drawing.scale.factor
    left, low, right, high = (factor * edge for edge in outline_of(shape).bounding_box_m)
    sizes = [inked(mark) for _, _, mark in flat(drawing.picture.marks) if isinstance(mark, DrawnPath)]
    assert any(size == pytest.approx((right - left, high - low), rel=1e-4) for size in sizes)
    hole = factor * shape.eye.hole_m
    assert sum(size == pytest.approx((hole, hole), rel=1e-4) for size in sizes) == 2 + shape.support_eyes


def test_the_picture_fits_its_room_and_no_text_meets_another(drawn: tuple) -> None:
    _, order, drawing = drawn
    assert drawing.picture.width_mm <= 180.0
    assert drawing.picture.height_mm <= 188.0
    assert bounds(drawing.picture.marks) == pytest.approx(
        (0.0, 0.0, drawing.picture.width_mm, drawing.picture.height_mm), abs=1e-9
    )
    assert clashes(drawing.picture.marks) == []
    assert drawing.scale in scales_of(order.unit)


@pytest.mark.parametrize("words", ["Hagxp 12", "0.283 Ω ±2 %", " "])
@pytest.mark.parametrize("name", [typefaces.REGULAR, typefaces.BOLD])
def test_text_in_drawings_is_measured_as_the_library_measures_it(name: str, words: str) -> None:
    """Against ezdxf's own measure, which reads the outline of every glyph."""
    library()
    from ezdxf.addons.drawing.unified_text_renderer import UnifiedTextRenderer
    from ezdxf.fonts.fonts import FontFace

    from griddesign.papers.canvas_backend import HouseType

    face, ours, theirs = FontFace(typefaces.font_file(name).name), HouseType(), UnifiedTextRenderer()
    assert ours.get_text_line_width(words, face, 3.5) == pytest.approx(theirs.get_text_line_width(words, face, 3.5))
    assert ours.get_font_measurements(face, 3.5) == pytest.approx(theirs.get_font_measurements(face, 3.5), abs=1e-9)


def test_classes_stand_in_the_same_order_in_every_process() -> None:
    drawing = draw_plate(outline_of(CAST), CAST, ORDER)
    names = [one.dxf.name for one in read_dxf(drawing.dxf()).classes]
    assert len(names) > 5
    assert names == sorted(names)


def test_same_plate_same_bytes_and_same_marks() -> None:
    one, two = (draw_plate(outline_of(CAST), CAST, ORDER) for _ in range(2))
    assert one.dxf() == two.dxf()
    assert one.picture == two.picture
    assert cut_dxf(outline_of(CAST)) == cut_dxf(outline_of(CAST))


@pytest.mark.parametrize(
    ("height_m", "passes", "strip_m", "gap_m"),
    [(0.03, 2, 0.003, 0.003), (0.06, 3, 0.004, 0.012), (0.9, 31, 0.02, 0.012), (1.6, 3, 0.02, 0.02)],
)
@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_tiny_narrow_and_huge_plates(height_m: float, passes: int, strip_m: float, gap_m: float, unit: str) -> None:
    eyes = "one edge" if passes % 2 == 0 else "opposite edges"
    eye = Eye(strip_m + 0.004, strip_m, strip_m, -0.001)
    shape = Zigzag(height_m, passes, strip_m, gap_m, 0.003, eye, eyes)
    order = PlateOrder("P", "304 stainless", "laser", "a", "B", "00000000", unit)
    drawing = draw_plate(outline_of(shape), shape, order)
    assert drawing.picture.width_mm <= 180.0
    assert clashes(drawing.picture.marks) == []


def test_no_room_at_all_is_refused() -> None:
    with pytest.raises(OutputError, match="20 x 20 mm at no standard scale"):
        draw_plate(outline_of(FLAT), FLAT, ORDER, (20.0, 20.0))


def test_standard_scales() -> None:
    """ISO 5455:1979, table in clause 4: 50:1 20:1 10:1 5:1 2:1, 1:1, 1:2 1:5 1:10 1:20 1:50 1:100 ..."""
    assert [str(scale) for scale in STANDARD[:10]] == [
        "50:1",
        "20:1",
        "10:1",
        "5:1",
        "2:1",
        "1:1",
        "1:2",
        "1:5",
        "1:10",
        "1:20",
    ]
    assert largest(0.7) == Scale(1, 2)
    assert largest(3.0) == Scale(2, 1)


def test_inch_papers_have_the_divisions_of_an_inch_rule() -> None:
    """Full size, half, quarter, eighth, and between them what a decimal rule reads."""
    smaller = [str(scale) for scale in INCH if scale.factor < 1.0]
    assert smaller[:6] == ["1:2", "1:4", "1:5", "1:8", "1:10", "1:16"]
    assert largest(0.3, "inch") == Scale(1, 4) and largest(0.3) == Scale(1, 5)


@pytest.mark.parametrize(
    ("length_mm", "made_by", "half_mm"),
    [
        (5.0, "laser", 0.1),
        (30.0, "laser", 0.2),
        (30.1, "waterjet", 0.3),
        (250.0, "stamped", 0.5),
        (250.0, "plasma", 1.2),
    ],
)
def test_tolerances_of_cut_plates(length_mm: float, made_by: str, half_mm: float) -> None:
    """ISO 2768-1:1989, table 1, classes m and c."""
    assert half_width_m(length_mm / 1000.0, made_by) == pytest.approx(half_mm / 1000.0)


@pytest.mark.parametrize(("length_mm", "whole_mm"), [(9.0, 4.2), (50.0, 5.6), (250.0, 8.0), (251.0, 9.0)])
def test_tolerances_of_castings(length_mm: float, whole_mm: float) -> None:
    """ISO 8062-3:2007, table 2, DCTG 12: the figure is the whole width, half on each side."""
    assert half_width_m(length_mm / 1000.0, "cast") == pytest.approx(whole_mm / 2000.0)
    assert half_width_m(0.9, "cast") is None


# --- the library underneath ------------------------------------------------------------------------------------------


def test_the_drawing_library_leaves_nothing_at_home_and_obeys_no_stray_settings(tmp_path: Path) -> None:
    (tmp_path / "ezdxf.ini").write_text("[core]\nwrite_fixed_meta_data_for_testing = true\nsupport_dirs = /nowhere\n")
    program = (
        "from griddesign.papers.dxf_library import library, new_document, dxf_bytes\n"
        "assert not library().options.write_fixed_meta_data_for_testing\n"
        "dxf_bytes(new_document('R2010', 'mm'))\n"
        "from ezdxf.fonts import fonts\n"
        "print(fonts.font_manager.get_font_face('anything.ttf').filename)\n"
    )
    home = tmp_path / "home"
    home.mkdir()
    world = {k: v for k, v in os.environ.items() if not k.startswith("XDG_")}
    world |= {"HOME": str(home), "PYTHONPATH": str(Path(__file__).parents[2])}
    ran = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, env=world, capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == "DejaVuSans.ttf"
    assert list(home.rglob("*")) == []


def test_curves_of_every_kind_become_curves_on_paper() -> None:
    document = new_document("R2010", "mm")
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 1.0), (10, 0, 1.0)], format="xyb", close=True)  # a circle of two half turns
    space.add_spline([(0, 20), (5, 25), (10, 20), (15, 25)])
    space.add_ellipse((0, 40), (8, 0), 0.5)
    space.add_point((0, 60))
    space.add_solid([(0, 70), (4, 70), (0, 74), (4, 74)])
    picture = picture_of(document, 0.5)
    kinds = {kind for _, _, mark in flat(picture.marks) if isinstance(mark, DrawnPath) for kind, _ in mark.steps}
    assert kinds == {"m", "l", "c", "z"}
    circle = next(mark for _, _, mark in flat(picture.marks) if isinstance(mark, DrawnPath))
    ends = [numbers[-2:] for kind, numbers in circle.steps if kind == "c"]
    assert [hypot(x - 2.5, y) for x, y in ends] == pytest.approx([2.5] * len(ends), rel=1e-9)


def test_library_is_the_module_and_documents_are_plain_text() -> None:
    content = dxf_bytes(new_document("R2000", "inch"))
    assert library().readfile
    assert b"\r\n" in content
    assert io.BytesIO(content).readline() == b"  0\r\n"


# --- circuits --------------------------------------------------------------------------------------------------------


def notch(*parts: object, motors: tuple[int, int] = (2, 1)) -> Notch:
    return Notch("n", Grouping(*motors), Run(parts))


def dashes_of(picture: object) -> int:
    return sum(1 for _, _, mark in flat(picture.marks) if isinstance(mark, DrawnPath) and mark.dash_mm)


def test_sections_out_of_circuit_are_dashed_thin_and_named_so() -> None:
    picture = circuit_picture(notch("C", "D", "E"), "ABCDE")
    assert sorted(words_of(picture.marks)) == sorted(["line", "A out", "B out", "C", "D", "E", "M1", "M2", "ground"])
    dashed = [mark for _, _, mark in flat(picture.marks) if isinstance(mark, DrawnPath) and mark.dash_mm]
    assert len(dashed) == 2
    assert {mark.width_mm for mark in dashed} == {0.25}


def test_a_section_keeps_its_column_in_every_notch() -> None:
    columns = set()
    for parts in ("ABCDE", "BCDE", "E"):
        picture = circuit_picture(notch(*parts), "ABCDE")
        columns |= {round(x + mark.x_mm, 6) for x, _, mark in flat(picture.marks) if getattr(mark, "text", "") == "E"}
    assert len(columns) == 1


@pytest.mark.parametrize("motors", [(1, 1), (2, 1), (1, 2), (2, 2), (1, 4), (4, 1)])
def test_every_motor_is_drawn_once(motors: tuple[int, int]) -> None:
    words = words_of(circuit_picture(notch("A", motors=motors), "AB").marks)
    assert [word for word in words if word.startswith("M")] == [f"M{n + 1}" for n in range(motors[0] * motors[1])]


def test_nested_groups_and_a_grid_per_string() -> None:
    nested = notch("A", Branches((Run(("B", Branches((Run(("C",)), Run(("D",)))))), Run(("E",)))))
    assert dashes_of(circuit_picture(nested, "ABCDEF")) == 1
    strings = Notch("n", Grouping(1, 2), None, (Run(("A", "B")), Run(("C",))))
    words = words_of(circuit_picture(strings, "ABCDE").marks)
    assert [word for word in words if len(word) == 1] == ["A", "B", "C"]
    assert "D out" in words
    assert "E out" in words


@pytest.mark.parametrize("count", [1, 5, 30])
@pytest.mark.parametrize("name", ["{}", "sec{}", "Ω<b>{}", "a very long name of a section {}"])
def test_circuits_fit_their_room_with_no_text_over_another(count: int, name: str) -> None:
    order = [name.format(number) for number in range(count)]
    for parts in (order, order[1:], [], [Branches((Run(tuple(order)), Run(("x",))))]):
        picture = circuit_picture(notch(*parts), [*order, "x"], 105.0)
        left, top, right, bottom = bounds(picture.marks)
        assert left >= -0.4
        assert right <= 105.4
        assert top >= -0.4
        assert bottom <= picture.height_mm + 0.4
        assert clashes(picture.marks) == []


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_the_header_says_how_far_a_file_reaches(unit: str) -> None:
    """A viewer that trusts the header must not open on nothing: the box holds the plate, of a drawing its texts too."""
    outline, per_m = outline_of(CAST), {"mm": 1000.0, "inch": 1 / 0.0254}[unit]
    left, low, right, high = (per_m * end for end in outline.bounding_box_m)
    header = read_dxf(cut_dxf(outline, unit)).header
    assert (*header["$EXTMIN"][:2], *header["$EXTMAX"][:2]) == pytest.approx((left, low, right, high), rel=1e-9)
    document = read_dxf(draw_plate(outline, CAST, replace(ORDER, unit=unit)).dxf())
    (x1, y1, _), (x2, y2, _) = document.header["$EXTMIN"], document.header["$EXTMAX"]
    ends = [one.dxf.insert for one in document.modelspace().query("TEXT")]
    assert x1 <= min(left, *(at.x for at in ends)) and y1 <= min(low, *(at.y for at in ends))
    assert x2 >= max(right, *(at.x for at in ends)) and y2 >= max(high, *(at.y for at in ends))
    assert x2 - x1 < 4.0 * (right - left) and y2 - y1 < 4.0 * (high - low)
