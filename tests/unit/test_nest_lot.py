"""A lot of zig-zag plates on stock sheets: distances measured on the outlines, counts, waste, what is refused."""

from itertools import combinations
from math import ceil, floor

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from griddesign.errors import InputError
from griddesign.nest.lot import box_of, first_of, nested, spaces
from griddesign.nest.records import NestAsked, Nested, Place
from griddesign.plate.outline import Outline
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

OPPOSITE = Zigzag(0.25, 13, 0.008, 0.0072, 0.003, Eye(0.03, 0.014, 0.022, 0.0, 0.002), "opposite edges", fillet_m=0.002)
ONE_EDGE = Zigzag(0.25, 12, 0.008, 0.0072, 0.003, Eye(0.03, 0.014, 0.022, -0.004, 0.002), "one edge", fillet_m=0.002)
SUPPORTED = Zigzag(
    0.25, 13, 0.008, 0.0072, 0.003, Eye(0.03, 0.014, 0.022, 0.0, 0.002), "opposite edges", fillet_m=0.002,
    support_eyes=1,
)  # fmt: skip
WIDE_GAPS = Zigzag(0.12, 5, 0.006, 0.04, 0.003, Eye(0.02, 0.008, 0.02), "opposite edges")
SHAPES = {"opposite": OPPOSITE, "one edge": ONE_EDGE, "supported": SUPPORTED, "wide gaps": WIDE_GAPS}
SHEET = NestAsked("", 2.5, 1.25)


def lay(shape: Zigzag, asked: NestAsked = SHEET, lot: int = 72, made_by: str = "laser") -> Nested:
    return nested(outline_of(shape), asked, lot, made_by, shape.thickness_m, shape.eye.diameter_m)


def polygon(outline: Outline, place: Place) -> Polygon:
    rings = outline.turned(place.quarters).translated(place.x_m, place.y_m).polygon(1e-5)
    return Polygon(rings[0], rings[1:])


def prove(shape: Zigzag, nest: Nested) -> None:
    """No plate nearer to another than the web, none nearer to the sheet's edge than the margin, by the outlines."""
    stock = nest.stock
    plates = [polygon(outline_of(shape), place) for place in nest.pattern.places]
    left, low, right, high = shapely.total_bounds(plates)
    assert min(left, low) >= stock.margin_m - 2e-5
    assert right <= stock.length_m - stock.margin_m + 2e-5 and high <= stock.width_m - stock.margin_m + 2e-5
    tree = shapely.STRtree(plates)
    near = tree.query(plates, predicate="dwithin", distance=stock.web_m - 5e-5)
    assert all(one == other for one, other in near.T)


@pytest.mark.parametrize("made_by", ["laser", "stamped"])
@pytest.mark.parametrize("rule", ["any", "along", "across"])
@pytest.mark.parametrize("name", SHAPES)
def test_the_web_is_kept_everywhere(name: str, rule: str, made_by: str) -> None:
    nest = lay(SHAPES[name], NestAsked("", 1.6, 1.1, rule=rule), made_by=made_by)
    prove(SHAPES[name], nest)
    turned = {place.quarters % 2 for place in nest.pattern.places}
    assert turned <= {"any": {0, 1}, "along": {1}, "across": {0}}[rule]
    assert nest.per_sheet <= nest.pattern.bound


@settings(max_examples=10)
@given(
    st.integers(3, 7), st.floats(0.06, 0.3), st.floats(0.003, 0.01), st.floats(0.004, 0.02), st.floats(0.6, 1.0),
    st.floats(0.5, 0.8),
)  # fmt: skip
def test_any_zigzag_on_any_sheet(
    passes: int, height_m: float, strip_m: float, gap_m: float, length_m: float, width_m: float
) -> None:
    eye = Eye(strip_m + 0.012, 0.006, 0.5 * strip_m + 0.02, -0.2 * strip_m)
    shape = Zigzag(height_m, passes, strip_m, gap_m, 0.002, eye, "one edge" if passes % 2 == 0 else "opposite edges")
    prove(shape, lay(shape, NestAsked("", length_m, width_m)))


@pytest.mark.parametrize("name", SHAPES)
def test_eyes_between_eyes_never_cost_a_plate(name: str) -> None:
    """What is cut may lie nearer than its boxes, so it is never fewer than what is sheared; for these sheets more."""
    assert lay(SHAPES[name]).per_sheet > lay(SHAPES[name], made_by="stamped").per_sheet


def test_sheared_blanks_have_boxes_of_their_own() -> None:
    nest = lay(OPPOSITE, made_by="stamped")
    boxes = [box_of(place, outline_of(OPPOSITE)) for place in nest.pattern.places]
    for one, other in combinations(boxes, 2):
        apart = max(other[0] - one[2], one[0] - other[2], other[1] - one[3], one[1] - other[3])
        assert apart >= nest.stock.web_m - 2e-6


@pytest.mark.parametrize("lot", [1, 30, 48, 49, 96, 400])
def test_sheets_for_the_lot(lot: int) -> None:
    nest = lay(OPPOSITE, lot=lot)
    assert nest.sheets == ceil(lot / nest.per_sheet)
    assert nest.full * nest.per_sheet + len(nest.last) == lot
    assert set(nest.last) <= set(nest.pattern.places)
    area_m2 = outline_of(OPPOSITE).area_m2
    assert nest.waste_lot == pytest.approx(1 - lot * area_m2 / (nest.sheets * 2.5 * 1.25))
    assert nest.waste == pytest.approx(1 - nest.per_sheet * area_m2 / (2.5 * 1.25))


def test_the_last_sheet_keeps_its_rest_in_one_piece() -> None:
    """Plates are taken from the left, so none that is left out ends further left than one that is kept."""
    nest, outline = lay(OPPOSITE, lot=30), outline_of(OPPOSITE)
    kept = first_of(nest.pattern.places, 20, outline)
    out = set(nest.pattern.places) - set(kept)
    assert max(box_of(one, outline)[2] for one in kept) <= min(box_of(one, outline)[2] for one in out) + 1e-9


def test_the_bound_is_the_area_of_the_bodies() -> None:
    """In these units no plate takes less than passes and web by height and web: the area bound says no more."""
    nest = lay(OPPOSITE)
    web_m = nest.stock.web_m
    room_m2 = (2.5 - 0.02 + web_m) * (1.25 - 0.02 + web_m)
    assert nest.pattern.bound <= floor(room_m2 / ((OPPOSITE.width_m + web_m) * (OPPOSITE.height_m + web_m)))


def test_spaces_are_the_users_or_common_practice() -> None:
    web, margin = spaces(NestAsked("", 1.0, 1.0), "laser", 0.008)
    assert (web.value, margin.value) == (0.008, 0.01)
    assert web.weak and "no source" in web.source
    assert spaces(NestAsked("", 1.0, 1.0), "laser", 0.002)[0].value == 0.005
    assert [one.value for one in spaces(NestAsked("", 1.0, 1.0), "cast", 0.005)] == [0.025, 0.04]
    web, margin = spaces(NestAsked("", 1.0, 1.0, 0.003, 0.0), "laser", 0.008)
    assert (web.value, margin.value) == (0.003, 0.0) and not web.weak


def test_a_plate_larger_than_the_sheet_is_refused() -> None:
    with pytest.raises(InputError, match=r"212\.4 x 324 mm does not go on a sheet of 300 x 200 mm"):
        lay(OPPOSITE, NestAsked("", 0.3, 0.2))
    with pytest.raises(InputError, match="does not go on a sheet"):
        lay(OPPOSITE, NestAsked("", 0.4, 0.24, rule="across"))
    assert lay(OPPOSITE, NestAsked("", 0.4, 0.24, rule="along")).per_sheet == 1
    with pytest.raises(InputError, match="a lot of 0"):
        lay(OPPOSITE, lot=0)
