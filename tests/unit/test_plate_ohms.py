"""Figures of a plate, its ordering by ohms, folding, and the rules of the shop."""

from dataclasses import replace
from math import cos, inf, isnan, nan, pi, tan

import pytest
from shapely import Polygon, box

from griddesign.errors import GeometryError, InputError
from griddesign.figures import Figure, Status
from griddesign.metals import metal
from griddesign.plate.bends import plate_squares, strip_m
from griddesign.plate.ohms import cold_ohm, plate_figures
from griddesign.plate.order import folded, ohm_range, ordered
from griddesign.plate.process import process_checks, refuse_unsuited
from griddesign.plate.shapes import Eye, Zigzag, usual_eye, with_strip_width
from griddesign.plate.zigzag import outline_of

IRON, STEEL = metal("grey_iron_class30"), metal("ss304")
PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.026, 0.014, 0.018), "opposite edges")
FILLETED = replace(PLATE, fillet_m=0.002, eye=Eye(0.026, 0.014, 0.018, 0.0, 0.003))


def test_figures_hang_together() -> None:
    figures = plate_figures(PLATE, IRON, "cast")
    outline = outline_of(PLATE)
    assert figures.cold_ohm == pytest.approx(figures.squares * IRON.resistivity.value / 0.005, rel=1e-15)
    assert figures.cold_ohm == cold_ohm(PLATE, IRON)
    assert figures.mass_kg == pytest.approx(outline.area_m2 * 0.005 * IRON.density.value, rel=1e-15)
    assert figures.surface_m2 == pytest.approx(2 * outline.area_m2 + outline.outer.perimeter_m * 0.005, rel=1e-15)
    assert (figures.width_m, figures.height_m) == (PLATE.width_m, 0.25)
    assert figures.smallest_web_m == pytest.approx(0.006)
    assert "rim of its hole" in figures.terminal_model


def test_strip_along_the_centre_line() -> None:
    """Square: 13 passes between bars' middles, 12 steps of a pitch, two reaches, two half bars; round: half circles."""
    reach, pitch = 2 * 0.018, 0.0152
    assert strip_m(PLATE) == pytest.approx(13 * 0.242 + 0.008 + 12 * pitch + reach, rel=1e-12)
    turned = replace(PLATE, bend="round")
    assert strip_m(turned) == pytest.approx(13 * (0.25 - 0.0232) + 0.0232 + 12 * pi * pitch / 2 + reach, rel=1e-12)


def test_area_is_length_times_width() -> None:
    """A plate with round bends of constant width: strip area plus the two rings beyond the strip's ends."""
    turned = replace(PLATE, bend="round", eye=Eye(0.008, 0.004, 0.02))
    ends = pi * 0.004**2 - 2 * pi * 0.002**2  # half a disc of the strip's width at each end, less the holes
    assert outline_of(turned).area_m2 == pytest.approx(strip_m(turned) * 0.008 + ends, rel=1e-12)


def test_metal_spread_stands_beside_the_bracket() -> None:
    figures = plate_figures(FILLETED, IRON, "cast")
    rho = IRON.resistivity
    assert figures.metal_low_ohm == pytest.approx(figures.low_ohm * rho.low / rho.value)
    assert figures.metal_high_ohm == pytest.approx(figures.high_ohm * rho.high / rho.value)
    measured = IRON.with_figure("resistivity", Figure.exact(8.2e-7, Status.MEASURED))
    exact = plate_figures(FILLETED, measured, "cast")
    assert (exact.metal_low_ohm, exact.metal_high_ohm) == (exact.low_ohm, exact.high_ohm)
    assert exact.cold_ohm / figures.cold_ohm == pytest.approx(8.2e-7 / rho.value)


def test_uneven_sections_widen_the_bracket() -> None:
    """Bends and eyes lie between those of a sheet as thick as the middle and of one as thin as the edges."""
    tapered = replace(PLATE, thickness_m=0.006, edge_thickness_m=0.004)
    flat, uneven = plate_squares(PLATE), plate_squares(tapered)
    assert uneven.value == flat.value
    turning = flat.value - (13 * 0.234 + 0.016) / 0.008
    assert uneven.high - flat.high == pytest.approx(turning / 4, rel=0.01)
    assert flat.low - uneven.low == pytest.approx(turning / 6, rel=0.01)
    rounded = replace(PLATE, edge_radius_m=0.0015)
    kept = 1 - (4 - pi) * 0.0015**2 / (0.008 * 0.005)
    assert plate_squares(rounded).high - flat.high == pytest.approx(turning * (1 / kept - 1), rel=0.01)
    assert flat.low - plate_squares(rounded).low == pytest.approx(turning * (1 - kept), rel=0.01)
    figures = plate_figures(tapered, IRON, "cast")
    assert figures.effective_thickness_m == pytest.approx(0.005)
    slant = outline_of(tapered).area_m2 * 2 / cos(tapered.edge_slope_rad)
    assert figures.surface_m2 == pytest.approx(slant + outline_of(tapered).outer.perimeter_m * 0.004)


def test_rounded_edges_of_a_bar_like_strip() -> None:
    """Edges fully round: per metre two flats of w - 2e and a circle of radius e round about."""
    shape = replace(PLATE, edge_radius_m=0.0025)
    outline = outline_of(shape)
    expected = 2 * outline.area_m2 + outline.outer.perimeter_m * (pi * 0.0025 - 2 * 0.0025)
    assert plate_figures(shape, IRON, "cast").surface_m2 == pytest.approx(expected)
    assert shape.section_area_m2 == pytest.approx(0.003 * 0.005 + pi * 0.0025**2)


def test_a_strip_that_tapers_and_has_its_edges_rounded() -> None:
    """Its section drawn with shapely: half of it, run on to the left so that nothing is rounded there, opened by the
    radius; what the rim loses by that, and the area."""
    shape = replace(PLATE, thickness_m=0.006, edge_thickness_m=0.004, edge_radius_m=0.0015)
    half_m, slope = shape.strip_width_m / 2, tan(shape.edge_slope_rad)
    assert slope == pytest.approx((0.003 - 0.002) / half_m)
    left_m = 0.003 + slope * half_m
    sharp = Polygon([(-half_m, -left_m), (half_m, -0.002), (half_m, 0.002), (-half_m, left_m)])
    rounded, right = sharp.buffer(-0.0015).buffer(0.0015, quad_segs=512), box(0, -1, 1, 1)
    assert shape.section_area_m2 == pytest.approx(2 * rounded.intersection(right).area, rel=1e-6)
    lost_m = sharp.exterior.intersection(right).length - rounded.exterior.intersection(right).length
    outline = outline_of(shape)
    expected = 2 * outline.area_m2 / cos(shape.edge_slope_rad) + outline.outer.perimeter_m * (0.004 - lost_m)
    assert plate_figures(shape, IRON, "cast").surface_m2 == pytest.approx(expected, rel=1e-6)


def test_short_passes_are_not_claimed_exact() -> None:
    """Passes of half a strip width between bends: the bracket says so."""
    stubby = Zigzag(0.02, 5, 0.008, 0.0072, 0.005, Eye(0.016, 0.008, 0.014), "opposite edges")
    squares = plate_squares(stubby)
    assert (squares.high - squares.low) / squares.value > 0.02


@pytest.mark.parametrize(
    ("name", "made_by"), [("ss304", "cast"), ("grey_iron_class30", "laser"), ("brass_c36000", "cast")]
)
def test_metals_that_cannot_be_made_so(name: str, made_by: str) -> None:
    with pytest.raises(InputError, match=f"{name}.*{made_by}"):
        plate_figures(PLATE, metal(name), made_by)  # type: ignore[arg-type]


def test_metals_that_can() -> None:
    refuse_unsuited(IRON, "cast")
    for made_by in ("laser", "waterjet", "plasma", "stamped"):
        refuse_unsuited(STEEL, made_by)  # type: ignore[arg-type]


@pytest.mark.parametrize("shape", [PLATE, FILLETED, replace(PLATE, bend="round"), replace(PLATE, support_eyes=1)])
@pytest.mark.parametrize("ohm", [0.05, 0.0695, 0.1])
def test_width_for_the_ohms(shape: Zigzag, ohm: float) -> None:
    plate = ordered(shape, IRON, ohm, (0.005, 0.0111))
    assert cold_ohm(plate, IRON) == pytest.approx(ohm, rel=1e-5)
    assert plate.pitch_m == pytest.approx(shape.pitch_m, rel=1e-14)
    assert 0.005 < plate.strip_width_m < 0.0111


def test_ends_of_the_range() -> None:
    least, most = ohm_range(PLATE, IRON, (0.006, 0.010))
    assert least < cold_ohm(PLATE, IRON) < most
    assert ordered(PLATE, IRON, most, (0.006, 0.010)).strip_width_m == pytest.approx(0.006, rel=1e-12)
    assert ordered(PLATE, IRON, least, (0.006, 0.010)).strip_width_m == pytest.approx(0.010, rel=1e-12)
    assert ordered(PLATE, IRON, cold_ohm(PLATE, IRON), (0.008, 0.008)) == with_strip_width(PLATE, 0.008)


@pytest.mark.parametrize(
    ("ohm", "end"), [(0.2, "6 mm"), (0.01, "10 mm"), (nan, "10 mm"), (inf, "6 mm"), (-1.0, "10 mm")]
)
def test_ohms_not_to_be_had(ohm: float, end: str) -> None:
    with pytest.raises(GeometryError, match="not to be had") as caught:
        ordered(PLATE, IRON, ohm, (0.006, 0.010))
    assert end in caught.value.hint or isnan(ohm)
    least, most = ohm_range(PLATE, IRON, (0.006, 0.010))
    assert f"{least:.6g} to {most:.6g}" in caught.value.message


@pytest.mark.parametrize("widths", [(0.010, 0.006), (0.0, 0.006), (0.006, 0.02), (nan, 0.006)])
def test_ranges_that_cannot_be(widths: tuple[float, float]) -> None:
    with pytest.raises(GeometryError):
        ohm_range(PLATE, IRON, widths)


@pytest.mark.parametrize("bend", ["square", "round"])
@pytest.mark.parametrize("length", [1.0, 2.591, 3.3, 5.0])
def test_folds_have_the_length(bend: str, length: float) -> None:
    folds = folded(0.2, 0.24, length, 0.02, bend)  # type: ignore[arg-type]
    for fold in folds:
        eye = Eye(fold.strip_width_m, fold.strip_width_m / 2, 0.02)
        shape = Zigzag(0.2, fold.passes, fold.strip_width_m, fold.pass_gap_m, 0.005, eye, fold.eyes, bend)  # type: ignore[arg-type]
        assert strip_m(shape) == pytest.approx(length, rel=1e-12)
        assert shape.width_m == pytest.approx(0.24, rel=1e-12)
    assert folds


def test_lengths_that_do_not_fold() -> None:
    assert folded(0.2, 0.24, 0.1) == ()
    for wrong in ((0.0, 0.2, 1.0), (0.2, -1.0, 1.0), (0.2, 0.2, nan), (inf, 0.2, 1.0)):
        with pytest.raises(GeometryError):
            folded(*wrong)


def test_laser_rules() -> None:
    """Web and slot one thickness, hole to edge one and a half: the shop's table of holes and webs."""
    checks = process_checks(replace(PLATE, thickness_m=0.0075), "laser")
    by_item = {(check.item, round(check.limit_m, 9)): check.ok for check in checks if check.must}
    assert by_item["strip", 0.0075]
    assert not by_item["pass gap", 0.0075]
    assert not by_item["ring of the eyes", 0.01125]
    assert by_item["hole of the eyes", 0.0075]
    assert all(check.source and check.status in Status for check in checks)


@pytest.mark.parametrize("made_by", ["cast", "laser", "waterjet", "plasma", "stamped"])
def test_sharp_corners_are_advised_against_not_refused(made_by: str) -> None:
    sharp, smooth = process_checks(PLATE, made_by), process_checks(FILLETED, made_by)  # type: ignore[arg-type]
    corners = [check for check in sharp if "corners" in check.item]
    assert all(not check.ok and not check.must for check in corners)
    assert all(check.ok for check in smooth if "corners" in check.item)
    assert len({check.item for check in sharp}) >= 4


def test_castings_are_judged_from_memory() -> None:
    checks = process_checks(replace(PLATE, strip_width_m=0.0125, pass_gap_m=0.0027), "cast")
    assert {check.status for check in checks} == {Status.MEMORY}
    (gap,) = [check for check in checks if check.item == "pass gap"]
    assert (gap.ok, gap.limit_m) == (False, 0.005)


def test_the_usual_eye_passes_every_must() -> None:
    """3 mm sheet, 8 mm strip, usual eye."""
    shape = replace(PLATE, thickness_m=0.003, eye=usual_eye(0.008, 0.003))
    for made_by in ("laser", "waterjet", "plasma", "stamped"):
        assert all(check.ok for check in process_checks(shape, made_by) if check.must)  # type: ignore[arg-type]


def test_unknown_process() -> None:
    with pytest.raises(InputError, match="forged"):
        process_checks(PLATE, "forged")  # type: ignore[arg-type]
