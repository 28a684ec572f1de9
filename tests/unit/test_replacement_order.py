"""A plate ordered by its ohms in another metal: the four ways to free a dimension, what stays, what is refused."""

from dataclasses import replace

import pytest

from griddesign.errors import GeometryError, InputError
from griddesign.metals import Metal, metal
from griddesign.plate.comparison import comparison
from griddesign.plate.freeing import flat, open_range, pitch_kept, width_kept, with_thickness
from griddesign.plate.gauges import nearest_sheets, sheets_for
from griddesign.plate.ohms import cold_ohm, plate_figures
from griddesign.plate.process import MadeBy
from griddesign.plate.replacement import Asked, Free, replacement
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import eye_centres

IRON, HARD, STAINLESS, STEEL = (
    metal(key) for key in ("grey_iron_class30", "grey_iron_hard", "ss304", "steel_low_carbon")
)
PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")
OHM = cold_ohm(PLATE, IRON)


def eyes_between(shape: Zigzag) -> tuple[float, float]:
    """Across and along, from the first eye to the last."""
    (x1, y1), (x2, y2) = eye_centres(shape)["first eye"], eye_centres(shape)["last eye"]
    return x2 - x1, y2 - y1


@pytest.mark.parametrize("free", ["strip_width", "gap", "passes"])
def test_each_way_meets_the_ohms_and_leaves_the_eyes_where_they_were(free: Free) -> None:
    found = replacement(Asked(PLATE, HARD, "cast", OHM), free)
    assert found.freed == (free,)
    assert found.figures.cold_ohm == pytest.approx(OHM, rel=1e-4)
    assert found.figures.low_ohm <= OHM <= found.figures.high_ohm
    assert eyes_between(found.shape) == pytest.approx(eyes_between(PLATE), abs=1e-12)
    assert found.shape.height_m == PLATE.height_m
    assert found.shape.eye.hole_m == PLATE.eye.hole_m
    assert found.shape.eyes == PLATE.eyes
    assert not found.broken


def test_pitch_is_kept_with_the_strip_width_and_the_overall_width_with_the_gap() -> None:
    by_width = replacement(Asked(PLATE, HARD, "cast", OHM), "strip_width")
    by_gap = replacement(Asked(PLATE, HARD, "cast", OHM), "gap")
    assert by_width.shape.pitch_m == pytest.approx(PLATE.pitch_m, rel=1e-12)
    assert by_width.shape.width_m - PLATE.width_m == pytest.approx(by_width.shape.strip_width_m - 0.008)
    assert any("narrower" in note for note in by_width.notes)
    assert by_gap.shape.width_m == pytest.approx(PLATE.width_m, rel=1e-12)


def test_passes_keep_their_parity() -> None:
    found = replacement(Asked(PLATE, IRON, "cast", 1.6 * OHM), "passes")
    assert found.shape.passes > 13 and found.shape.passes % 2 == 1
    assert found.shape.width_m == pytest.approx(PLATE.width_m, rel=1e-12)
    assert found.figures.cold_ohm == pytest.approx(1.6 * OHM, rel=1e-4)


def test_thickness_of_a_casting_is_the_ratio_of_resistivities() -> None:
    """At the same squares ``t = t0 rho/rho0``, exactly."""
    found = replacement(Asked(PLATE, HARD, "cast", OHM), "thickness")
    wanted_m = 0.005 * HARD.resistivity.value / IRON.resistivity.value
    assert found.shape.thickness_m == pytest.approx(wanted_m, rel=1e-9)
    assert found.near_sheet is None


def test_thickness_of_a_strip_with_rounded_edges() -> None:
    rounded = replace(PLATE, edge_thickness_m=0.004, edge_radius_m=0.001)
    ohm = cold_ohm(rounded, IRON)
    found = replacement(Asked(rounded, IRON, "cast", 1.2 * ohm), "thickness")
    assert found.figures.cold_ohm == pytest.approx(1.2 * ohm, rel=1e-9)
    assert found.shape.edge_thickness_m == pytest.approx(0.8 * found.shape.thickness_m)
    assert found.shape.edge_radius_m == 0.001


def test_sheet_comes_in_gauges_and_the_thickness_alone_may_miss() -> None:
    """7.28 % apart in resistivity alone; no gauge of stainless lies within 1 % of 4.294 mm."""
    with pytest.raises(GeometryError) as refused:
        replacement(Asked(PLATE, STAINLESS, "laser", OHM), "thickness")
    assert "Nearest is" in refused.value.hint and "%" in refused.value.hint and "mm thick" in refused.value.hint


def test_without_a_word_the_strip_width_is_tried_first_then_the_sheet() -> None:
    near = replacement(Asked(PLATE, STAINLESS, "laser", OHM))
    assert near.freed == ("strip_width",)
    far = replacement(Asked(PLATE, STEEL, "laser", OHM))
    assert far.freed == ("thickness", "strip_width")
    assert far.near_sheet is not None
    assert far.near_sheet.sheet.thickness_m == pytest.approx(far.shape.thickness_m)
    assert far.near_sheet.ohm == pytest.approx(OHM, rel=1e-4)


def test_sheet_on_hand_goes_before_the_gauges() -> None:
    found = replacement(Asked(PLATE, STAINLESS, "laser", OHM, on_hand_m=(0.002, 0.004, 0.006)))
    assert found.freed == ("thickness", "strip_width")
    assert found.shape.thickness_m == 0.004
    assert found.figures.cold_ohm == pytest.approx(OHM, rel=1e-4)
    near = 1.1 * cold_ohm(PLATE, STAINLESS)  # what a narrower strip of the same sheet gives
    assert replacement(Asked(PLATE, STAINLESS, "laser", near, on_hand_m=(0.002, 0.005))).freed == ("strip_width",)


def test_a_plate_cut_from_sheet_loses_taper_and_rounding() -> None:
    tapered = replace(PLATE, edge_thickness_m=0.004, edge_radius_m=0.001)
    found = replacement(Asked(tapered, STAINLESS, "laser", OHM), "strip_width")
    assert found.shape.edge_thickness_m is None and found.shape.edge_radius_m == 0.0
    assert any("taper" in note for note in found.notes)


@pytest.mark.parametrize("free", ["strip_width", "gap"])
def test_what_no_plate_has_is_refused_with_the_nearest(free: Free) -> None:
    with pytest.raises(GeometryError) as refused:
        replacement(Asked(PLATE, metal("copper"), "laser", OHM), free)
    assert "Nearest is" in refused.value.hint and "13 passes of" in refused.value.hint
    assert "beyond it: the rule for laser: strip at least 5 mm" in refused.value.hint
    assert f"{OHM:.5g}" in refused.value.message


def test_a_metal_that_is_not_made_so_is_refused() -> None:
    with pytest.raises(InputError, match="cannot be made"):
        replacement(Asked(PLATE, STAINLESS, "cast", OHM))
    with pytest.raises(GeometryError, match="cannot be ordered"):
        replacement(Asked(PLATE, STAINLESS, "laser", float("nan")))


def test_the_range_stays_inside_the_rules_of_the_process() -> None:
    """Cast, 5 mm thick: gap at least 5 mm, strip at least 3 mm (from memory, as the rules themselves)."""
    widths = open_range(lambda width_m: pitch_kept(PLATE, width_m), (0.001, 0.015), 0.008, "cast")
    assert widths is not None
    assert widths == pytest.approx((0.003, 0.0102), rel=1e-6)
    inner = open_range(lambda width_m: pitch_kept(PLATE, width_m), (0.004, 0.009), 0.008, "cast")
    assert inner == pytest.approx((0.004, 0.009), rel=1e-12)  # nothing but the domain stops it


def test_a_rule_nothing_would_keep_does_not_close_the_range_and_is_reported() -> None:
    """Plasma wants webs of two thicknesses: the ring of 8 mm is too thin for 5 mm at any strip width."""
    alloy = metal("fecral_22_5")
    found = replacement(Asked(PLATE, alloy, "plasma", 0.75 * cold_ohm(PLATE, alloy)), "gap")
    assert "ring of the eyes" in [check.item for check in found.broken]


def test_full_rounds_stay_full_and_fillets_shrink_with_the_gap() -> None:
    full = replace(PLATE, fillet_m=0.0036)
    assert pitch_kept(full, 0.009).fillet_m == pytest.approx(0.0031)
    assert pitch_kept(full, 0.007).fillet_m == pytest.approx(0.0041)
    small = replace(PLATE, fillet_m=0.003)
    assert pitch_kept(small, 0.007).fillet_m == 0.003
    assert width_kept(small, 0.0105).fillet_m == pytest.approx(width_kept(small, 0.0105).pass_gap_m / 2)


def test_shape_helpers() -> None:
    tapered = replace(PLATE, edge_thickness_m=0.004)
    assert with_thickness(tapered, 0.01).edge_thickness_m == pytest.approx(0.008)
    assert flat(tapered) == PLATE


def test_gauges_of_a_metal() -> None:
    steel, stainless = sheets_for(STEEL), sheets_for(STAINLESS)
    assert {sheet.name for sheet in steel} >= {"gauge 16, manufacturers' standard"}
    assert nearest_sheets(stainless, 0.0016)[0].name == "gauge 16, US standard"
    assert nearest_sheets(stainless, 0.0016)[0].thickness_m == pytest.approx(0.0254 / 16)
    assert sheets_for(metal("copper")) == ()
    assert [sheet.thickness_m for sheet in sheets_for(STEEL, (0.003, 0.004))] == [0.004, 0.003]
    with pytest.raises(GeometryError):
        sheets_for(STEEL, (0.003, -0.004))


def test_what_else_changes() -> None:
    thinner = with_thickness(PLATE, 0.004)
    both = comparison(
        (PLATE, IRON, plate_figures(PLATE, IRON, "cast")),
        (thinner, STAINLESS, plate_figures(thinner, STAINLESS, "laser")),
    )
    assert both.stiffness == pytest.approx(0.8**3)
    assert both.deflection == pytest.approx(0.8**-3)
    assert both.sag == pytest.approx(STAINLESS.density.value / IRON.density.value / 0.64)
    assert both.new.mass_kg / both.old.mass_kg == pytest.approx(0.8 * STAINLESS.density.value / IRON.density.value)
    assert both.old.heat_capacity_cold_j_k == pytest.approx(both.old.mass_kg * 480)
    assert both.old.heat_capacity_warm_j_k == pytest.approx(both.old.mass_kg * IRON.specific_heat(300.0))
    assert both.old.heat_capacity_warm_j_k > both.old.heat_capacity_cold_j_k
    assert both.new.growth_m == pytest.approx(STAINLESS.expansion.value * 280 * 0.25)
    assert both.new.warm_ohm == pytest.approx(both.new.cold_ohm * STAINLESS.ratio(300.0))
    wide = pitch_kept(PLATE, 0.010)
    wider = comparison(*((one, IRON, plate_figures(one, IRON, "cast")) for one in (PLATE, wide)))
    assert (wider.stiffness, wider.deflection, wider.sag) == pytest.approx((1.25, 0.8, 1.0))


@pytest.mark.parametrize("free", ["strip_width", "thickness", "passes", "gap"])
@pytest.mark.parametrize(("made_by", "metal_of"), [("cast", IRON), ("laser", STAINLESS)])
@pytest.mark.parametrize("factor", [1e-2, 1e2])
def test_none_fits_and_the_nearest_keeps_every_rule_that_can_be_kept(
    free: Free, made_by: MadeBy, metal_of: Metal, factor: float
) -> None:
    """The nearest plate named is the end of the freed dimension's range, with what stops it there."""
    with pytest.raises(GeometryError, match=r"is not to be had") as refused:
        replacement(Asked(PLATE, metal_of, made_by, factor * OHM), free)
    assert "Nearest is" in refused.value.hint and "beyond it: " in refused.value.hint
    gap_mm = float(refused.value.hint.split("gap ")[1].split(" mm")[0])
    strip_mm = float(refused.value.hint.split("passes of ")[1].split(" mm")[0])
    thick_mm = float(refused.value.hint.split(", ")[3 if "%), with" in refused.value.hint else 2].split(" mm")[0])
    if free != "thickness":
        least_mm = {"cast": (3.0, thick_mm), "laser": (thick_mm, thick_mm)}[made_by]
        assert strip_mm >= least_mm[0] - 1e-3 and gap_mm >= least_mm[1] - 1e-3


def test_a_casting_is_not_ordered_thinner_than_sand_runs() -> None:
    """No wall under 3 mm in sand (common foundry practice, no source)."""
    with pytest.raises(GeometryError) as refused:
        replacement(Asked(PLATE, IRON, "cast", 3 * OHM), "thickness")
    assert "3 mm thick" in refused.value.hint and "thickness at least 3 mm" in refused.value.hint


def test_the_sheets_on_either_side_are_named() -> None:
    with pytest.raises(GeometryError) as refused:
        replacement(Asked(PLATE, STAINLESS, "laser", 0.08), "thickness")
    assert "the next sheet, 3.969 mm (gauge 9, US standard), gives" in refused.value.hint
