"""Lines that do not make one plate: gaps, doubles, strays, junctions, crossings, islands. Each told with its place."""

import math
import random
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from shapely import LineString, Point

from griddesign.errors import GeometryError
from griddesign.plate.foreign import ForeignPlate, read_dxf, sentences
from griddesign.plate.foreign.chaining import arc_through, turned_back
from griddesign.plate.foreign.nearness import distance_to
from griddesign.plate.outline import Arc, Circle, Line

Pair = tuple[float, float]
Reader = Callable[..., ForeignPlate]

EYES = ("0 CIRCLE 8 0 10 20 20 30 40 6", "0 CIRCLE 8 0 10 180 20 30 40 6")
CORNERS = ((0.0, 0.0), (200.0, 0.0), (200.0, 60.0), (0.0, 60.0))
METAL_MM2 = 200 * 60 - 72 * math.pi


def line(start: Pair, end: Pair) -> str:
    return f"0 LINE 8 0 10 {start[0]!r} 20 {start[1]!r} 11 {end[0]!r} 21 {end[1]!r}"


def ring(points: Iterable[Pair]) -> list[str]:
    corners = list(points)
    return [line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


def circle(x: float, y: float, radius: float) -> str:
    return f"0 CIRCLE 8 0 10 {x!r} 20 {y!r} 40 {radius!r}"


def arc(x: float, y: float, radius: float, start: float, end: float) -> str:
    return f"0 ARC 8 0 10 {x!r} 20 {y!r} 40 {radius!r} 50 {start!r} 51 {end!r}"


@pytest.fixture
def read(tmp_path: Path) -> Reader:
    def reader(*entities: str, **options: object) -> ForeignPlate:
        head = "0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 ENTITIES"
        words = " ".join((head, *entities, "0 ENDSEC 0 EOF")).split()
        path = tmp_path / "plate.dxf"
        path.write_text("\n".join(words) + "\n", encoding="ascii")
        return read_dxf(path, **options)  # type: ignore[arg-type]

    return reader


def refused(read: Reader, *entities: str, **options: object) -> GeometryError:
    with pytest.raises(GeometryError) as caught:
        read(*entities, **options)
    return caught.value


def metal_mm2(plate: ForeignPlate) -> float:
    return plate.outline.area_m2 * 1e6


# --- gaps ------------------------------------------------------------------------------------------------------------


def test_a_gap_within_the_tolerance_is_healed_and_told(read: Reader) -> None:
    sides = [line((0, 0), (199.994, 0)), *ring(CORNERS)[1:]]
    plate = read(*sides, *EYES)
    (healed,) = plate.healed
    assert healed.gap_m == pytest.approx(6e-6)
    assert healed.at_m == pytest.approx((0.199997, 0.0))
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=2e-5)


def test_a_gap_beyond_the_tolerance_is_refused_with_its_size_and_place(read: Reader) -> None:
    sides = [line((0, 0), (199.6, 0)), *ring(CORNERS)[1:]]
    error = refused(read, *sides, *EYES)
    assert error.message.startswith("the lines are open at 2 ends: ")
    assert "(200, 0) mm, 0.4 mm from the end at (199.6, 0) mm" in error.message
    plate = read(*sides, *EYES, tolerance_m=5e-4)
    assert plate.healed[0].gap_m == pytest.approx(4e-4)


def test_an_open_outline_is_never_replaced_by_one_of_its_holes(read: Reader) -> None:
    """The only closed line is a round hole: it must not be taken for a plate."""
    slot = ring([(50, 20), (150, 20), (150, 40), (50, 40)])
    open_outline = [line((0, 0), (199, 0)), *ring(CORNERS)[1:]]
    assert "open at 2 ends" in refused(read, *open_outline, EYES[0]).message
    inside = (circle(60, 30, 3), circle(140, 30, 3))
    assert "from the end at (199, 0) mm" in refused(read, *open_outline, *slot, *inside).message


def test_an_arc_keeps_its_shape_where_a_line_is_healed_to_it(read: Reader) -> None:
    lines = [line((0, -20.004), (160, -20)), line((160, 20), (0, 20))]
    plate = read(*lines, arc(160, 0, 20, 270, 90), arc(0, 0, 20, 90, 270), circle(0, 0, 6), circle(160, 0, 6))
    arcs = [segment for segment in plate.outline.outer.segments if isinstance(segment, Arc)]
    assert [a.radius_m for a in arcs] == pytest.approx([0.02, 0.02], rel=1e-12)
    assert len(plate.healed) == 1


def lens(gap: float) -> list[str]:
    """Two arcs of 120 degrees and radius 100 that should meet in two points; the upper one lies too high."""
    half, rise = 100 * math.sin(math.pi / 3), 50.0
    return [arc(half, rise, 100, 210, 330), arc(half, -rise + gap, 100, 30, 150)]


def test_two_arcs_that_miss_each_other_are_bent_by_no_more_than_the_gap(read: Reader) -> None:
    plate = read(*lens(0.008), circle(40, 0, 6), circle(130, 0, 6))
    lens_mm2 = 2 * 100**2 * (2 * math.pi / 3 - math.sin(2 * math.pi / 3)) / 2
    width = 200 * math.sin(math.pi / 3)
    assert [healed.gap_m for healed in plate.healed] == pytest.approx([8e-6, 8e-6])
    assert lens_mm2 - 72 * math.pi < metal_mm2(plate) < lens_mm2 - 72 * math.pi + 0.008 * width


def test_a_key_hole_keeps_its_circle_and_moves_its_slot(read: Reader) -> None:
    """The circle turns 354 degrees: an end moved by 8 um would move it ten times as far, so the line is moved."""
    ends = [(100 + 6 * math.cos(t), 30 + 6 * math.sin(t)) for t in (math.radians(3), math.radians(357))]
    slot = [
        line((ends[0][0] + 0.008, ends[0][1]), (120, ends[0][1])),
        line((120, ends[0][1]), (120, ends[1][1])),
        line((120, ends[1][1]), ends[1]),
    ]
    plate = read(*ring(CORNERS), arc(100, 30, 6, 3, 357), *slot, *EYES, terminals=["H1", "H3"])
    (round_part,) = [s for s in plate.outline.holes[1].segments if isinstance(s, Arc)]  # type: ignore[union-attr]
    assert round_part.radius_m == pytest.approx(0.006, rel=1e-12)
    assert round_part.centre == pytest.approx((0.1, 0.03), rel=1e-12)


def test_a_gap_that_would_bend_an_arc_out_of_shape_is_refused(read: Reader) -> None:
    """Two nearly whole circles meeting at their mouths, one turned about the mouth so that the ends miss by 8 um."""
    reach = 6 * math.cos(math.radians(3))
    tilt = 0.008 / (6 * math.sin(math.radians(3)))
    left = arc(100, 30, 6, 3, 357)
    at = (100 + reach + reach * math.cos(tilt), 30 + reach * math.sin(tilt))
    right = arc(*at, 6, 183 + math.degrees(tilt), 177 + math.degrees(tilt))
    error = refused(read, *ring(CORNERS), left, right, *EYES)
    assert "would bend an arc of radius 6 mm by" in error.message


def test_one_arc_that_almost_closes_is_a_round_hole(read: Reader) -> None:
    """359.95 degrees at radius 6 leave a gap of 5.2 um."""
    plate = read(*ring(CORNERS), arc(20, 30, 6, 10, 369.95), EYES[1])
    assert [hole.is_round for hole in plate.holes] == [True, True]
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-12)
    assert plate.healed[0].gap_m == pytest.approx(6e-3 * math.radians(0.05), rel=1e-3)


def test_a_whole_arc_is_a_circle(read: Reader) -> None:
    plate = read(*ring(CORNERS), arc(20, 30, 6, 0, 360), arc(180, 30, 6, -90, 270))
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-13)


def test_pieces_shorter_than_the_tolerance_are_not_drawn_together(read: Reader) -> None:
    """A circle of 6000 pieces of 6 um each, with a tolerance of 10 um."""
    count, radius = 6000, 6.0
    turns = [math.tau * k / count for k in range(count)]
    fine = ring([(20 + radius * math.cos(t), 30 + radius * math.sin(t)) for t in turns])
    assert math.dist((radius, 0), (radius * math.cos(turns[1]), radius * math.sin(turns[1]))) < 0.01
    plate = read(*ring(CORNERS), *fine, EYES[1], terminals=["H1", "H2"])
    polygon_mm2 = count / 2 * radius**2 * math.sin(math.tau / count)
    assert math.isclose(metal_mm2(plate), 12000 - polygon_mm2 - 36 * math.pi, rel_tol=1e-12)


# --- doubles and lines of no length ----------------------------------------------------------------------------------


def test_a_doubled_edge_is_dropped_and_told(read: Reader) -> None:
    sides = ring(CORNERS)
    plate = read(*sides, line((200, 60), (200, 0)), *EYES)
    assert [(d.start_m, d.end_m) for d in plate.doubled] == [((0.2, 0.06), (0.2, 0.0))]
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-13)


def test_everything_drawn_twice_a_little_aside(read: Reader) -> None:
    twice = ring([(x + 0.003, y - 0.002) for x, y in CORNERS])
    plate = read(*ring(CORNERS), *twice, *EYES, circle(20.003, 30, 6), circle(180, 30, 6.001))
    assert len(plate.doubled) == 6
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-13)


def test_an_arc_doubled_the_other_way_round(read: Reader) -> None:
    half = "0 LWPOLYLINE 8 0 90 2 70 0 10 160 20 20 42 -1 10 160 20 -20 42 0"
    plate = read(
        line((0, -20), (160, -20)),
        line((160, 20), (0, 20)),
        arc(160, 0, 20, 270, 90),
        arc(0, 0, 20, 90, 270),
        half,
        circle(0, 0, 6),
        circle(160, 0, 6),
    )
    assert len(plate.doubled) == 1
    assert math.isclose(metal_mm2(plate), 6400 + 400 * math.pi - 72 * math.pi, rel_tol=1e-12)


def test_a_line_and_the_arc_over_it_are_not_doubles(read: Reader) -> None:
    plate = read(*ring(CORNERS), line((90, 20), (110, 20)), arc(100, 20, 10, 0, 180), *EYES, terminals=["H1", "H3"])
    assert plate.doubled == ()
    assert math.isclose(metal_mm2(plate), METAL_MM2 - 50 * math.pi, rel_tol=1e-12)


def test_a_side_doubled_in_part_is_refused_with_its_places(read: Reader) -> None:
    error = refused(read, *ring(CORNERS), line((50, 0), (200, 0)), *EYES)
    assert "(200, 0) mm" in error.message


def test_lines_of_no_length_are_dropped_and_counted(read: Reader) -> None:
    plate = read(*ring(CORNERS), line((200, 0), (200, 0)), line((0, 0), (0, 1e-9)), *EYES)
    assert plate.short_pieces == 2
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-13)


# --- strays and junctions --------------------------------------------------------------------------------------------


def test_exactly_one_stray_edge_in_the_metal_is_refused(read: Reader) -> None:
    error = refused(read, *ring(CORNERS), line((100, 10), (100, 50)), *EYES)
    assert error.message.startswith("a stray line is left over: (100, 10) mm, 40 mm from the end at (100, 50) mm")
    assert "change its ohms" in error.hint


def test_strays_beside_the_plate_and_in_its_holes_are_dropped_and_told(read: Reader) -> None:
    cross = [line((18, 30), (22, 30)), line((20, 28), (20, 32))]
    plate = read(*ring(CORNERS), line((-50, 0), (-50, 60)), *cross, *EYES)
    starts = [stray.start_m for stray in plate.strays]
    assert starts == [pytest.approx(at) for at in ((-0.05, 0.0), (0.018, 0.03), (0.02, 0.028))]
    assert [stray.length_m for stray in plate.strays] == pytest.approx([0.06, 0.004, 0.004])
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-13)


def test_a_centre_cross_that_reaches_into_the_metal_is_refused(read: Reader) -> None:
    assert "stray line" in refused(read, *ring(CORNERS), line((10, 30), (30, 30)), *EYES).message


def test_a_stray_arc_with_its_ends_in_a_hole_that_reaches_into_the_metal_is_refused(read: Reader) -> None:
    """Its ends lie 3.5 mm from the middle of the eye of 6 mm, its top 7.9 mm."""
    arc = "0 ARC 8 0 10 20 20 33 40 4.9 50 315 51 225"
    assert "open at 2 ends: (23.4648, 29.5352) mm" in refused(read, *ring(CORNERS), *EYES, arc).message
    assert len(read(*ring(CORNERS), *EYES, arc.replace("40 4.9", "40 2.5")).strays) == 1


def test_a_t_junction_at_a_corner(read: Reader) -> None:
    error = refused(read, *ring(CORNERS), line((200, 60), (250, 60)), *EYES)
    assert "more than two lines meet in one point" in error.message
    assert "3 at (200, 60) mm" in error.message


def test_a_t_junction_along_a_side(read: Reader) -> None:
    error = refused(read, *ring(CORNERS), line((100, 60), (100, 30)), *EYES)
    assert "(100, 60) mm, which lies on another line (a T-junction)" in error.message


def test_a_side_that_runs_past_its_corner(read: Reader) -> None:
    sides = [line((0, 0), (203, 0)), *ring(CORNERS)[1:]]
    error = refused(read, *sides, *EYES)
    assert "(200, 0) mm, which lies on another line (a T-junction)" in error.message


def test_two_loops_that_touch_in_a_corner(read: Reader) -> None:
    error = refused(read, *ring(CORNERS), *ring([(200, 60), (250, 60), (250, 90), (200, 90)]), *EYES)
    assert "4 at (200, 60) mm" in error.message


def test_many_loose_ends_are_told_shortly(read: Reader) -> None:
    loose = [line((k, 0), (k, 5)) for k in range(40)]
    error = refused(read, *loose)
    assert "open at 80 ends" in error.message
    assert error.message.endswith("and 75 more")
    assert len(error.message) < 500


# --- loops that make no plate ----------------------------------------------------------------------------------------


def test_a_self_crossing_loop(read: Reader) -> None:
    bow_tie = ring([(0, 0), (200, 60), (200, 0), (0, 60)])
    assert "crosses or touches itself at (100, 30) mm" in refused(read, *bow_tie).message


def test_an_arc_that_crosses_its_own_plate(read: Reader) -> None:
    sides = [line((200, 0), (200, 60)), line((200, 60), (0, 60)), line((0, 60), (0, 0))]
    deep = "0 LWPOLYLINE 8 0 90 2 70 0 10 0 20 0 42 -0.8 10 200 20 0 42 0"  # rises 80 above a plate 60 high
    assert "crosses or touches itself at" in refused(read, *sides, deep).message


def test_an_island_in_a_hole(read: Reader) -> None:
    error = refused(read, *ring(CORNERS), *EYES, circle(100, 30, 20), circle(100, 30, 8))
    assert error.message == "1 closed line(s) lie inside a hole: 16 mm by 16 mm about (100, 30) mm"


def test_the_frame_of_a_sheet(read: Reader) -> None:
    sheet = ring([(-20, -20), (400, -20), (400, 280), (-20, 280)])
    assert "frame of a sheet" in refused(read, *sheet, *ring(CORNERS), *EYES).hint


def test_two_plates_in_one_drawing(read: Reader) -> None:
    second = ring([(x + 300, y) for x, y in CORNERS])
    assert "2 separate closed lines" in refused(read, *ring(CORNERS), *EYES, *second).message


@pytest.mark.parametrize(("x", "radius"), [(194.0, 6.0), (196.0, 6.0), (193.995, 6.0), (220.0, 20.0)])
def test_a_hole_that_touches_crosses_or_nearly_touches_the_rim(read: Reader, x: float, radius: float) -> None:
    error = refused(read, *ring(CORNERS), EYES[0], circle(x, 30, radius))
    assert "cross, touch or come nearer than 0.01 mm at (200, " in error.message


def test_a_thin_web_just_wider_than_the_tolerance_is_kept(read: Reader) -> None:
    plate = read(*ring(CORNERS), EYES[0], circle(193.985, 30, 6))
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-13)


@pytest.mark.parametrize("height", [0.0, 0.004, 0.012])
def test_slivers(read: Reader, height: float) -> None:
    sliver = ring([(80, 30), (100, 30), (120, 30 + height)])
    assert refused(read, *ring(CORNERS), *EYES, *sliver).message


def test_a_hole_twice_as_large_as_the_metal_around_it(read: Reader) -> None:
    """Area is no sign of what is a hole."""
    inner = ring([(50, 1), (150, 1), (150, 59), (50, 59)])
    plate = read(*ring(CORNERS), *inner, *EYES, terminals=["h1", "H3"])
    assert plate.terminals == ("H1", "H3")
    assert math.isclose(metal_mm2(plate), METAL_MM2 - 5800, rel_tol=1e-13)


def test_a_ring_with_a_round_rim(read: Reader) -> None:
    plate = read(circle(0, 0, 50), circle(-30, 0, 6), circle(30, 0, 6))
    assert math.isclose(metal_mm2(plate), 2428 * math.pi, rel_tol=1e-13)


# --- terminals -------------------------------------------------------------------------------------------------------


def test_three_holes_are_asked_for_with_their_table(read: Reader) -> None:
    slot = ring([(90, 20), (110, 20), (110, 40), (90, 40)])
    error = refused(read, *ring(CORNERS), *EYES, *slot)
    assert error.message == "which two of the 3 holes are the terminals cannot be told from the drawing"
    assert error.hint == (
        "Name them with --terminal ID --terminal ID. Holes: H1: round, 12 mm at (20, 30) mm;"
        " H2: not round, 22.57 mm at (100, 30) mm; H3: round, 12 mm at (180, 30) mm."
    )
    plate = read(*ring(CORNERS), *EYES, *slot, terminals=["H3", "H1"])
    assert (plate.terminals, plate.outline.terminals, plate.terminals_why) == (
        ("H3", "H1"),
        (2, 0),
        "named by the user",
    )
    assert [mark.name for mark in plate.outline.marks] == ["H1", "H2", "H3"]


def test_two_holes_that_are_not_beyond_doubt(read: Reader) -> None:
    square = ring([(170, 20), (190, 20), (190, 40), (170, 40)])
    assert "cannot be told" in refused(read, *ring(CORNERS), EYES[0], *square).message
    assert "cannot be told" in refused(read, *ring(CORNERS), EYES[0], circle(180, 30, 2)).message


def test_too_few_holes(read: Reader) -> None:
    assert "has 0 hole(s)" in refused(read, *ring(CORNERS)).message
    assert "has 1 hole(s)" in refused(read, *ring(CORNERS), EYES[0]).message


@pytest.mark.parametrize("asked", [["H1"], ["H1", "H1"], ["H1", "H9"], ["H1", "H2", "H1"]])
def test_terminals_that_cannot_be(read: Reader, asked: list[str]) -> None:
    assert "Holes: H1: round" in refused(read, *ring(CORNERS), *EYES, terminals=asked).hint


def test_names_of_holes_do_not_hang_on_the_order_of_the_file(read: Reader) -> None:
    holes = [circle(20 + 40 * k, 20 + 20 * (k % 2), 3) for k in range(5)]
    first = read(*ring(CORNERS), *holes, terminals=["H1", "H5"])
    random.Random(1).shuffle(holes)
    second = read(*holes, *ring(CORNERS), terminals=["H1", "H5"])
    assert [h.centre_m for h in first.holes] == [h.centre_m for h in second.holes]


# --- what is told ----------------------------------------------------------------------------------------------------


def test_everything_done_is_told_in_sentences(read: Reader) -> None:
    sides = [line((0, 0), (199.994, 0)), *ring(CORNERS)[1:], line((200, 60), (200, 0))]
    oval = "0 ELLIPSE 8 0 10 100 20 30 11 20 21 0 40 0.5 41 0 42 6.283185307179586"
    rest = (line((-50, 0), (-50, 60)), line((5, 5), (5, 5)), "0 TEXT 8 NOTES 10 0 20 0 40 5 1 plate")
    plate = read(*sides, *EYES, oval, *rest, terminals=["H1", "H3"], units="mm")
    said = sentences(plate)
    assert said[:6] == (
        "Release not stated; unit mm, as given; tolerance 0.01 mm.",
        "Terminals H1 and H3: named by the user.",
        "1 gap(s) closed: 0.006 mm at (199.997, 0) mm.",
        "1 line(s) drawn twice, kept once: (200, 60) mm to (200, 0) mm.",
        "1 open line(s) clear of the metal left out: (-50, 0) mm to (-50, 60) mm.",
        "1 line(s) of no length left out.",
    )
    assert said[6].startswith("1 ellipse(s) and spline(s) turned into arcs, within 0.000")
    assert said[7:] == ("Not cut: 1 TEXT on layer NOTES (not cut).",)


def test_many_things_of_a_kind_are_told_shortly(read: Reader) -> None:
    strays = [line((-50, k), (-40, k)) for k in range(30)]
    (told,) = [text for text in sentences(read(*ring(CORNERS), *EYES, *strays)) if "clear of the metal" in text]
    assert told.endswith("and 25 more.")


def test_thousands_of_small_holes(read: Reader) -> None:
    perforated = [circle(30 + 0.7 * i, 2 + 0.7 * j, 0.3) for i in range(60) for j in range(50)]
    plate = read(
        *ring(CORNERS), *perforated, *perforated[:9], circle(10, 30, 6), circle(190, 30, 6), terminals=["H1", "H3002"]
    )
    assert len(plate.doubled) == 9
    assert math.isclose(metal_mm2(plate), METAL_MM2 - 3000 * 0.09 * math.pi, rel_tol=1e-12)


# --- size and place --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("away", [1e5, -4.5e6, 1e8])
def test_far_from_the_origin_areas_stay_true(read: Reader, away: float) -> None:
    """At 10^8 mm the area from absolute coordinates would lose eight figures; the outline is moved to the origin."""
    moved = ring([(x + away, y - away) for x, y in CORNERS])
    plate = read(*moved, circle(20 + away, 30 - away, 6), circle(180 + away, 30 - away, 6))
    assert math.isclose(metal_mm2(plate), METAL_MM2, rel_tol=1e-9)
    assert plate.holes[0].centre_m == pytest.approx(((20 + away) / 1000, (30 - away) / 1000), rel=1e-12)
    assert plate.origin_m == pytest.approx((away / 1000, -away / 1000), rel=1e-12)
    assert plate.remarks[0].startswith("the drawing lies far from its origin")


def test_coordinates_too_large_to_tell_the_tolerance(read: Reader) -> None:
    away = 1e13
    assert "cannot tell 0.01 mm" in refused(read, *ring([(x + away, y) for x, y in CORNERS])).message


def test_a_plate_of_a_kilometre_has_the_wrong_unit(read: Reader) -> None:
    """Also what keeps a circle as large as a country from being cut into millions of chords."""
    assert "span 1.2e+06 mm, more than 1000 m" in refused(read, *ring(CORNERS), circle(0, 0, 6e5)).message


def test_twenty_thousand_edges_in_any_order(read: Reader) -> None:
    """A saw-toothed disc, of exact area."""
    count = 20_000
    rim = [(100 + 5 * (k % 2), math.tau * k / count) for k in range(count)]
    edges = ring([(r * math.cos(t), r * math.sin(t)) for r, t in rim])
    random.Random(2).shuffle(edges)
    plate = read(*edges, circle(-50, 0, 6), circle(50, 0, 6))
    exact = count / 2 * 100 * 105 * math.sin(math.tau / count) - 72 * math.pi
    assert math.isclose(metal_mm2(plate), exact, rel_tol=1e-10)
    assert len(plate.outline.outer.segments) == count


# --- the small parts -------------------------------------------------------------------------------------------------


def test_distances_from_lines_and_arcs() -> None:
    assert distance_to((5, 3), Line((0, 0), (10, 0))) == 3
    assert distance_to((13, 4), Line((0, 0), (10, 0))) == 5
    quarter = Arc((5, 0), (0, 5), (0, 0), True)
    assert distance_to((6, 6), quarter) == pytest.approx(math.hypot(6, 6) - 5)
    assert distance_to((-3, 5), quarter) == 3
    assert distance_to((6, 6), turned_back(quarter)) == pytest.approx(math.hypot(6, 6) - 5)
    assert distance_to((0, 0), quarter) == 5


@pytest.mark.parametrize("end", [(33.0, -3.0), (30.0, -12.0), (21.0, 5.0)])
def test_distances_from_a_line_anywhere_are_those_of_shapely(end: Pair) -> None:
    straight, same = Line((30, -7), end), LineString([(30, -7), end])
    for x in range(15, 45, 6):
        for y in range(-20, 12, 5):
            assert distance_to((x, y), straight) == pytest.approx(same.distance(Point(x, y)), abs=1e-12)


def test_distances_from_an_arc_anywhere_are_those_of_shapely() -> None:
    """Three quarters of a turn about (30, -7), both ways, seen from all round: the ends count where the foot is off."""
    arc = Arc((35, -7), (30, -12), (30, -7), ccw=True)
    chords = LineString([(30 + 5 * math.cos(k / 2000), 5 * math.sin(k / 2000) - 7) for k in range(9426)])
    for angle in range(0, 360, 15):
        for radius in (2.0, 9.0):
            point = (30 + radius * math.cos(math.radians(angle)), radius * math.sin(math.radians(angle)) - 7)
            expected = pytest.approx(chords.distance(Point(point)), abs=1e-3)
            assert distance_to(point, arc) == expected == distance_to(point, turned_back(arc))


def test_an_arc_through_three_points() -> None:
    found = arc_through((1, 0), (0, 1), (-1, 0), True)
    assert isinstance(found, Arc)
    assert found.centre == pytest.approx((0, 0), abs=1e-15)
    assert arc_through((0, 0), (1, 0), (2, 0), True) == Line((0, 0), (2, 0))
    assert Circle((0, 0), 1).radius_m == 1
