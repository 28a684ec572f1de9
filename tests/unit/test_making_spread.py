"""Spread of the ohms: every cause against the plate worked out anew, sums, and what has no end."""

from dataclasses import replace
from math import exp, inf, isinf, log1p, sqrt

import pytest

from griddesign.figures import Figure, Status
from griddesign.metals import metal
from griddesign.plate.making import Making
from griddesign.plate.ohms import cold_ohm
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import Eye, Zigzag, with_strip_width
from griddesign.plate.spread import ORDER, Spread, spread_of

IRON, STAINLESS, STEEL = metal("grey_iron_class30"), metal("ss304"), metal("steel_low_carbon")
SHAPE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")
WAYS: tuple[MadeBy, ...] = ("laser", "waterjet", "plasma", "stamped")


def given(value_m: float) -> Figure:
    return Figure.exact(value_m, Status.GIVEN, "the foundry")


def by_item(spread: Spread) -> dict[str, float]:
    return {cause.tolerance.item: cause.tolerance.half_m for cause in spread.causes}


def test_every_cause_against_the_plate_worked_out_anew() -> None:
    spread = spread_of(SHAPE, STAINLESS, "laser")
    anew = {
        "strip width": lambda d: with_strip_width(SHAPE, SHAPE.strip_width_m + d),
        "thickness": lambda d: replace(SHAPE, thickness_m=SHAPE.thickness_m + d),
        "edges out of square": lambda d: with_strip_width(SHAPE, SHAPE.strip_width_m + d),
        "height": lambda d: replace(SHAPE, height_m=SHAPE.height_m + d),
        "pass gap": lambda d: replace(SHAPE, pass_gap_m=SHAPE.pass_gap_m + d),
    }
    ohm = cold_ohm(SHAPE, STAINLESS)
    assert {cause.tolerance.item for cause in spread.causes} == set(anew)
    for cause in spread.causes:
        half_m = cause.tolerance.half_m
        ends = sorted(cold_ohm(anew[cause.tolerance.item](d), STAINLESS) / ohm - 1 for d in (-half_m, half_m))
        assert (cause.low, cause.high) == pytest.approx(tuple(ends), abs=2e-4), cause.tolerance.item


def test_the_thickness_counts_with_its_true_section() -> None:
    tapered = replace(SHAPE, edge_thickness_m=0.004, edge_radius_m=0.001)
    spread = spread_of(tapered, IRON, "cast", Making(thickness_tolerance=given(0.0002)))
    cause = next(cause for cause in spread.causes if cause.tolerance.item == "thickness")
    thicker = replace(tapered, thickness_m=0.0052, edge_thickness_m=0.0042)
    assert cause.low == pytest.approx(cold_ohm(thicker, IRON) / cold_ohm(tapered, IRON) - 1, rel=2e-3)
    assert cause.low == pytest.approx(1 / (1 + 0.0002 / tapered.effective_thickness_m) - 1, rel=1e-12)


def test_a_gap_that_can_only_get_wider_is_varied_that_way() -> None:
    """Full rounds do not fit a narrower gap. The power is that of a plate whose fillets just leave room for both."""
    full, nearly = (
        spread_of(replace(SHAPE, fillet_m=share * SHAPE.pass_gap_m), STAINLESS, "laser") for share in (0.5, 0.49)
    )
    powers = [next(one.power for one in spread.causes if one.tolerance.item == "pass gap") for spread in (full, nearly)]
    assert powers[0] == pytest.approx(powers[1], rel=0.1)
    assert powers[1] > 0.005


@pytest.mark.parametrize("made_by", [*WAYS, "cast"])
def test_sums_and_shares(made_by: MadeBy) -> None:
    spread = spread_of(SHAPE, IRON if made_by == "cast" else STAINLESS, made_by)
    assert sum(cause.share for cause in spread.causes) == pytest.approx(1.0)
    assert -1 < spread.worst_low < spread.low < 0 < spread.high < spread.worst_high < inf
    worst = 1.0
    for cause in spread.causes:
        worst *= 1 + cause.high
    assert spread.worst_high == pytest.approx(worst - 1, rel=1e-12)
    root = sqrt(sum(log1p(cause.low) ** 2 for cause in spread.causes))
    assert spread.low == pytest.approx(exp(-root) - 1, rel=1e-12)
    items = [cause.tolerance.item for cause in spread.causes]
    assert items == sorted(items, key=ORDER.index)
    assert all(cause.tolerance.source for cause in spread.causes)


def test_only_thermal_cuts_are_out_of_square() -> None:
    slope = {way: by_item(spread_of(SHAPE, STAINLESS, way)).get("edges out of square") for way in WAYS}
    assert slope["waterjet"] is None and slope["stamped"] is None
    assert slope["laser"] == pytest.approx(0.00015 + 0.007 * 5e-3, rel=1e-12)
    assert slope["plasma"] == pytest.approx(0.0004 + 0.01 * 5e-3, rel=1e-12)
    widest = {way: spread_of(SHAPE, STAINLESS, way).high for way in WAYS}
    assert widest["plasma"] > widest["laser"] > widest["waterjet"]


def test_sheet_of_harder_metals_is_given_more_room_and_says_so() -> None:
    found = {}
    for name in ("steel_low_carbon", "ss304", "fecral_13_4"):
        causes = spread_of(SHAPE, metal(name), "laser").causes
        found[name] = next(cause.tolerance for cause in causes if cause.tolerance.item == "thickness")
    assert found["steel_low_carbon"].half_m == pytest.approx(0.26e-3)
    assert found["ss304"].half_m == pytest.approx(1.4 * 0.26e-3)
    assert [found[name].status for name in found] == [Status.SEEN, Status.DERIVED, Status.ESTIMATE]
    assert all("certificate" in one.note for one in found.values())


def test_the_shops_own_tolerances_go_first() -> None:
    own = Making(width_tolerance=given(0.0003), thickness_tolerance=given(0.0002))
    wide, narrow = spread_of(SHAPE, IRON, "cast"), spread_of(SHAPE, IRON, "cast", own)
    assert by_item(narrow)["strip width"] == 0.0003 and by_item(narrow)["thickness"] == 0.0002
    assert narrow.high < wide.high / 4
    assert [c.tolerance.source for c in narrow.causes[:2]] == ["the foundry", "the foundry"]
    assert by_item(wide)["height"] == by_item(narrow)["height"]


def test_a_tolerance_as_large_as_the_strip_has_no_end() -> None:
    spread = spread_of(SHAPE, IRON, "cast", Making(width_tolerance=given(0.008)))
    assert isinf(spread.high) and isinf(spread.worst_high)
    assert -1 < spread.worst_low < spread.low < 0
    assert [cause.share for cause in spread.causes] == [1.0, 0.0, 0.0, 0.0]


def test_what_has_no_figure_is_named() -> None:
    slab = replace(SHAPE, thickness_m=0.03)
    assert any("thickness" in words for words in spread_of(slab, STEEL, "waterjet").not_counted)
    assert any("pores" in words for words in spread_of(SHAPE, IRON, "cast").not_counted)
    tall = replace(SHAPE, height_m=0.7)
    assert "height" not in by_item(spread_of(tall, IRON, "cast"))
