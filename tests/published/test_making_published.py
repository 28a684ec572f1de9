"""Kerf, spread and pattern against standards, shrink rules and the law of propagation."""

from dataclasses import replace
from math import pi, sqrt

import pytest

from griddesign.figures import Figure, Status
from griddesign.metals import metal
from griddesign.plate.kerf import kerf_outline
from griddesign.plate.making import Making
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline
from griddesign.plate.pattern import eye_span_m, pattern_of
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.spread import Sizes, spread_of, tolerances

IRON, STEEL, STAINLESS = metal("grey_iron_class30"), metal("steel_low_carbon"), metal("ss304")
SHAPE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")


def exact(value: float) -> Figure:
    return Figure.exact(value, Status.GIVEN, "test")


def half_mm(shape: Zigzag, name: str, made_by: str) -> dict[str, float]:
    found = tolerances(Sizes.of(shape), metal(name), made_by, Making())  # type: ignore[arg-type]
    return {one.item: 1000 * one.half_m for one in found}


@pytest.mark.parametrize(("per_foot_in", "rule_in"), [(1 / 8, 24.25), (3 / 16, 24.375), (1 / 4, 24.5)])
def test_two_foot_shrink_rules(per_foot_in: float, rule_in: float, checked) -> None:
    """Cyclopedia of shop practice, vol. 2, "Shrinkage Rules": two-foot rules for cast iron (1/8 in per foot), brass
    (3/16) and softer metals (1/4) are 24 1/4, 24 3/8 and 24 1/2 inches long. A pattern measured with them is so
    much larger all over."""
    pattern = pattern_of(SHAPE, IRON, Making(shrinkage=exact(per_foot_in / 12)))
    assert 24 * pattern.pattern_eye_span_m / eye_span_m(SHAPE) == pytest.approx(rule_in, rel=1e-14)
    found = 24 * pattern.pattern_eye_span_m / eye_span_m(SHAPE)
    checked("Cyclopedia of shop practice, vol. 2, Shrinkage Rules", "two-foot rules", rule_in, found, "in")


def test_castings_iso_8062_3(checked) -> None:
    """ISO 8062-3:2007, table 2, total widths: DCTG 12 up to 10 mm 4.2, over 160 to 250 mm 8; DCTG 12 over 16 to 25
    mm 4.6, DCTG 13 there 6."""
    small = half_mm(SHAPE, "grey_iron_class30", "cast")
    assert small["strip width"] == pytest.approx(4.2 / 2)
    assert small["height"] == pytest.approx(8 / 2)
    thick = half_mm(replace(SHAPE, thickness_m=0.02, strip_width_m=0.02, eye=Eye(0.05, 0.02, 0.04)), IRON.key, "cast")
    assert thick["strip width"] == pytest.approx(4.6 / 2)
    assert thick["thickness"] == pytest.approx(6 / 2)
    found = [small["strip width"], small["height"], thick["strip width"], thick["thickness"]]
    checked("ISO 8062-3:2007, table 2", "half widths, DCTG 12 and 13", [2.1, 4.0, 2.3, 3.0], found, "mm")


def test_cut_plates_iso_2768_1(checked) -> None:
    """ISO 2768-1:1989, table 1: over 6 to 30 mm m 0.2 and c 0.5; over 120 to 400 mm m 0.5 and c 1.2; 3 to 6 mm m
    0.1."""
    medium, coarse = half_mm(SHAPE, "ss304", "laser"), half_mm(SHAPE, "ss304", "plasma")
    assert (medium["strip width"], medium["height"]) == pytest.approx((0.2, 0.5))
    assert (coarse["strip width"], coarse["height"]) == pytest.approx((0.5, 1.2))
    narrow = replace(SHAPE, strip_width_m=0.006, pass_gap_m=0.006)
    assert half_mm(narrow, "ss304", "stamped")["strip width"] == pytest.approx(0.1)
    found = [medium["strip width"], medium["height"], coarse["strip width"], coarse["height"]]
    checked("ISO 2768-1:1989, table 1", "tolerances m and c", [0.2, 0.5, 0.5, 1.2], found, "mm")


@pytest.mark.parametrize(
    ("thickness_mm", "wanted_mm"), [(1.5, 0.19), (3, 0.22), (4, 0.24), (5, 0.26), (8, 0.3), (12, 0.36)]
)
def test_sheet_en_10051(thickness_mm: float, wanted_mm: float, checked) -> None:
    """EN 10051, thickness tolerances, category A, sheet rolled over 1200 to 1500 mm wide."""
    shape = replace(SHAPE, thickness_m=thickness_mm / 1000)
    assert half_mm(shape, STEEL.key, "waterjet")["thickness"] == pytest.approx(wanted_mm)
    checked(
        "EN 10051, category A",
        "thickness tolerance",
        wanted_mm,
        half_mm(shape, STEEL.key, "waterjet")["thickness"],
        "mm",
    )


def test_small_tolerances_add_up_as_the_gum_has_it() -> None:
    """JCGM 100:2008, 5.1.6, equation (12): for y = c x1^p1 x2^p2 ... the relative variances add up, each times its
    power squared."""
    own = Making(width_tolerance=exact(0.008e-3), thickness_tolerance=exact(0.005e-3))
    spread = spread_of(replace(SHAPE, height_m=0.7), IRON, "cast", own)  # the height is beyond the table of castings
    parts = [cause.power * cause.tolerance.half_m / cause.size_m for cause in spread.causes]
    pair = [part for part, cause in zip(parts, spread.causes, strict=True) if cause.tolerance.item != "pass gap"]
    assert sqrt(sum(part**2 for part in pair)) == pytest.approx(1e-3 * sqrt(1 + 1.03**2), rel=0.02)
    low, high = (sum(v**2 for v in ends) for ends in zip(*((c.low, c.high) for c in spread.causes), strict=True))
    assert sqrt((low + high) / 2) == pytest.approx((spread.high - spread.low) / 2, rel=1e-2)


def test_a_straight_strip_obeys_r_is_rho_l_over_w_t() -> None:
    """R = rho L / (w t): powers 1, -1, -1. A plate of many long passes is nearly that strip, the more the longer;
    pitch kept, its strip loses a little length with width."""
    long = Zigzag(4.0, 3, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")
    powers = {cause.tolerance.item: cause.power for cause in spread_of(long, STAINLESS, "waterjet").causes}
    assert powers["height"] == pytest.approx(1, abs=2e-2)
    assert powers["strip width"] == pytest.approx(-1, abs=2e-2)
    assert powers["thickness"] == -1
    assert abs(powers["pass gap"]) < 1e-2


def test_a_stadium_grows_to_a_larger_stadium(checked) -> None:
    """Steiner's formula, 1840 (L. A. Santalo, Integral Geometry and Geometric Probability, 1976, ch. I.1, from
    memory): A + P d + pi d^2, P + 2 pi d; here also plain by itself, radius r + d."""
    length, radius, half = 3.0, 1.0, 0.25
    stadium = Outline(
        Loop((
            Line((0, -radius), (length, -radius)), Arc((length, -radius), (length, radius), (length, 0), True),
            Line((length, radius), (0, radius)), Arc((0, radius), (0, -radius), (0, 0), True),
        )),
        (Circle((0, 0), 0.5),),
    )  # fmt: skip
    path = kerf_outline(stadium, 2 * half)
    area, perimeter = stadium.outer.area_m2, stadium.outer.perimeter_m
    assert path.outer.area_m2 == pytest.approx(2 * (radius + half) * length + pi * (radius + half) ** 2, rel=1e-15)
    assert path.outer.area_m2 == pytest.approx(area + perimeter * half + pi * half**2, rel=1e-15)
    assert path.outer.perimeter_m == pytest.approx(perimeter + 2 * pi * half, rel=1e-15)
    assert path.holes[0].area_m2 == pytest.approx(pi * 0.25**2, rel=1e-15)
    checked(
        "Steiner's formula, 1840",
        "area of a kerf path",
        area + perimeter * half + pi * half**2,
        path.outer.area_m2,
        "m2",
    )
