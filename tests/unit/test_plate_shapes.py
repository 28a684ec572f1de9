"""What a zig-zag plate is, and every impossible one refused with the numbers that clash."""

from dataclasses import replace
from math import inf, nan, pi

import pytest

from griddesign.errors import GeometryError
from griddesign.plate.outline import faults
from griddesign.plate.shapes import Eye, Zigzag, usual_eye, with_strip_width
from griddesign.plate.zigzag import eye_centres, outline_of

EYE = Eye(0.026, 0.014, 0.018)
PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, EYE, "opposite edges")


def refusal(**change: object) -> GeometryError:
    with pytest.raises(GeometryError) as caught:
        replace(PLATE, **change)  # type: ignore[arg-type]
    assert caught.value.hint
    return caught.value


def test_envelope() -> None:
    assert PLATE.width_m == pytest.approx(13 * 0.008 + 12 * 0.0072)
    left, low, right, high = outline_of(PLATE).bounding_box_m
    assert left == pytest.approx(0.004 - 0.013)
    assert right == pytest.approx(PLATE.width_m + 0.009)
    assert low == pytest.approx(-0.018 - 0.013)
    assert high == pytest.approx(0.25 + 0.031)


@pytest.mark.parametrize("passes", [2, 3, 4, 5, 12, 13])
def test_parity_decides_the_edges(passes: int) -> None:
    lies, other = ("one edge", "opposite edges")[:: 1 if passes % 2 == 0 else -1]
    eye = Eye(0.013, 0.008, 0.012)
    shape = replace(PLATE, passes=passes, eyes=lies, eye=eye)
    centres = eye_centres(shape)
    same = (centres["first eye"][1] < 0) == (centres["last eye"][1] < 0)
    assert same == (lies == "one edge")
    with pytest.raises(GeometryError, match=f"{passes} passes"):
        replace(PLATE, passes=passes, eyes=other, eye=eye)


@pytest.mark.parametrize(("passes", "bend"), [(4, 0), (5, 1), (12, 4), (13, 5), (14, 6)])
def test_support_eye_stands_near_the_middle_off_both_terminals(passes: int, bend: int) -> None:
    eyes = "one edge" if passes % 2 == 0 else "opposite edges"
    shape = replace(PLATE, passes=passes, eyes=eyes, support_eyes=1, eye=Eye(0.02, 0.012, 0.018))
    assert shape.support_bend == bend
    centres = eye_centres(shape)
    assert abs(centres["support eye"][0] - shape.width_m / 2) <= shape.pitch_m * (1 + 1e-9)
    if passes % 2 == 0:
        assert centres["support eye"][1] > 0 > centres["first eye"][1]
    assert faults(outline_of(shape)) == ()
    assert len(outline_of(shape).holes) == 3
    assert outline_of(shape).terminals == (0, 1)


NUMBERS = [
    "height_m", "strip_width_m", "pass_gap_m", "thickness_m", "bend_depth_m", "fillet_m", "edge_thickness_m",
    "edge_radius_m",
]  # fmt: skip


@pytest.mark.parametrize("name", NUMBERS)
@pytest.mark.parametrize("value", [-0.001, inf, -inf, nan])
def test_unreal_numbers(name: str, value: float) -> None:
    assert name.removesuffix("_m").replace("_", " ") in refusal(**{name: value}).message


@pytest.mark.parametrize("name", ["height_m", "strip_width_m", "pass_gap_m", "thickness_m", "bend_depth_m"])
def test_zero(name: str) -> None:
    assert " is 0" in refusal(**{name: 0.0}).message


@pytest.mark.parametrize("name", ["diameter_m", "hole_m", "reach_m", "offset_m", "fillet_m"])
@pytest.mark.parametrize("value", [inf, nan])
def test_unreal_eyes(name: str, value: float) -> None:
    with pytest.raises(GeometryError, match=name.removesuffix("_m")):
        replace(EYE, **{name: value})


@pytest.mark.parametrize("passes", [1, 0, -3, 2.5, 13.0])
def test_passes(passes: float) -> None:
    refusal(passes=passes)


@pytest.mark.parametrize(
    ("change", "numbers"),
    [
        ({"strip_width_m": 0.3}, ("300 mm", "250 mm")),
        ({"height_m": 0.016}, ("16 mm", "8 mm")),
        ({"bend": "round", "height_m": 0.0232}, ("23.2 mm", "11.6 mm")),
        ({"bend_depth_m": 0.13}, ("130 mm", "250 mm")),
        ({"fillet_m": 0.004}, ("4 mm", "7.2 mm")),
        ({"bend": "round", "fillet_m": 0.001}, ("round bend",)),
        ({"bend": "round", "bend_depth_m": 0.008}, ("round bend",)),
        ({"bend": "oval"}, ("oval",)),
        ({"eyes": "both edges"}, ("both edges",)),
        ({"support_eyes": 2}, ("2 support eyes",)),
        ({"edge_thickness_m": 0.006}, ("6 mm", "5 mm")),
        ({"edge_radius_m": 0.0026}, ("2.6 mm", "8 mm", "5 mm")),
        ({"eye": Eye(0.0079, 0.004, 0.01)}, ("7.9 mm", "8 mm")),
        ({"eye": Eye(0.02, 0.01, 0.02, 0.0061)}, ("20 mm", "6.1 mm", "8 mm")),
        ({"eye": Eye(0.036, 0.014, 0.010)}, ("36 mm", "10 mm", "7.2 mm")),
        ({"eye": Eye(0.026, 0.014, 0.018, 0.0, 5.0)}, ("5000 mm", "26 mm")),
        ({"eye": Eye(0.026, 0.014, 0.0085), "support_eyes": 1}, ("26 mm", "8.5 mm")),
        ({"eye": Eye(0.026, 0.014, 0.018, 0.0, 0.006), "support_eyes": 1}, ("6 mm", "23.2 mm")),
        ({"passes": 3, "eye": Eye(0.024, 0.014, 0.02), "support_eyes": 1}, ("24 mm", "1.2 mm")),
    ],
)
def test_numbers_that_clash(change: dict[str, object], numbers: tuple[str, ...]) -> None:
    message = refusal(**change).message
    assert all(number in message for number in numbers), message


def test_two_eyes_on_one_edge_must_not_overlap() -> None:
    assert "26 mm" in refusal(passes=2, eyes="one edge").message


@pytest.mark.parametrize(
    ("hole", "reach", "number"), [(0.026, 0.02, "26 mm"), (0.03, 0.02, "30 mm"), (0.014, 0.0069, "6.9 mm")]
)
def test_eyes_without_a_ring_or_cut_into_the_pass(hole: float, reach: float, number: str) -> None:
    with pytest.raises(GeometryError, match=number):
        Eye(0.026, hole, reach)


def test_another_strip_width_keeps_the_pitch() -> None:
    wider = with_strip_width(PLATE, 0.0093)
    assert wider.pitch_m == pytest.approx(PLATE.pitch_m, rel=1e-15)
    assert wider.pass_gap_m == pytest.approx(0.0059)
    assert wider.height_m == PLATE.height_m
    assert wider.width_m - PLATE.width_m == pytest.approx(0.0013)
    first, second = eye_centres(PLATE), eye_centres(wider)
    assert second["last eye"][0] - second["first eye"][0] == pytest.approx(first["last eye"][0] - first["first eye"][0])
    with pytest.raises(GeometryError, match="pass gap"):
        with_strip_width(PLATE, 0.0153)


def test_section_of_a_rounded_strip() -> None:
    """Four edges of radius 1.5 mm take (4 - pi) e^2 off a strip of 10 x 8 mm: 2.4 %."""
    shape = replace(PLATE, strip_width_m=0.010, pass_gap_m=0.006, thickness_m=0.008, edge_radius_m=0.0015)
    assert shape.section_area_m2 == pytest.approx(80e-6 - (4 - pi) * 2.25e-6, rel=1e-12)
    assert 1 - shape.effective_thickness_m / 0.008 == pytest.approx(0.024, abs=0.0005)


def test_section_of_a_tapered_strip() -> None:
    """8 mm wide, 6 mm thick at mid width, 4 mm at the edges: 5 mm on average; rounded 1 mm, against a polygon."""
    from shapely import Polygon

    flat = replace(PLATE, thickness_m=0.006, edge_thickness_m=0.004)
    assert flat.effective_thickness_m == pytest.approx(0.005, rel=1e-12)
    half = [(4, 2), (0, 3), (-4, 2), (-4, -2), (0, -3), (4, -2)]
    inset = Polygon(half).buffer(-1, join_style="mitre").buffer(1, quad_segs=2000)
    inset = inset.union(Polygon([(0, 3), (-1, 2.75), (0, 0), (1, 2.75)])).union(
        Polygon([(0, -3), (-1, -2.75), (0, 0), (1, -2.75)])
    )
    rounded = replace(flat, edge_radius_m=0.001)
    assert rounded.section_area_m2 * 1e6 == pytest.approx(inset.area, rel=1e-6)


def test_usual_eye_suits_the_tramway_plate() -> None:
    eye = usual_eye(0.008, 0.005)
    assert eye.web_m == pytest.approx(0.0075)
    assert 2 * eye.web_m >= 0.008
    assert replace(PLATE, eye=eye, support_eyes=1).eye_clearance_m > 0.007


@pytest.mark.parametrize("bend", ["square", "round"])
@pytest.mark.parametrize(
    "eye",
    [
        EYE,
        Eye(0.03, 0.01, 0.014, 0.003),
        Eye(0.026, 0.014, 0.016, 0.001, 0.004),
        Eye(0.034, 0.01, 0.0135),
        Eye(0.022, 0.012, 0.015, 0.004, 0.016),  # its large fillet comes nearest to the bend
    ],
)
@pytest.mark.parametrize("support", [0, 1])
def test_clearance_of_the_eyes_against_the_drawn_plate(bend: str, eye: Eye, support: int) -> None:
    """Cut at mid height the plate falls into pieces; the least distance of two of them is the clearance."""
    from shapely import Polygon, box

    try:
        shape = replace(PLATE, passes=7, bend=bend, eye=eye, support_eyes=support)
    except GeometryError:
        assert support
        assert eye.reach_m <= 0.016
        return
    rings = outline_of(shape).polygon(1e-7)
    halves = [box(-1, -1, 1, 0.125), box(-1, 0.125, 1, 1)]
    pieces = [list(Polygon(rings[0]).intersection(half).geoms) for half in halves]
    least = min(a.distance(b) for half in pieces for k, a in enumerate(half) for b in half[:k])
    assert least == pytest.approx(shape.eye_clearance_m, abs=2e-6)


def test_fillets_of_both_bends_need_their_room_between_them() -> None:
    """Two bars of 8 mm and two fillets of 4 mm take 24 mm of the height."""
    eye = usual_eye(0.008, 0.005)
    assert Zigzag(0.025, 5, 0.008, 0.008, 0.005, eye, "opposite edges", fillet_m=0.004).straight_m == pytest.approx(
        9e-3
    )
    with pytest.raises(GeometryError, match="no room for two square return bends"):
        Zigzag(0.0235, 5, 0.008, 0.008, 0.005, eye, "opposite edges", fillet_m=0.004)
