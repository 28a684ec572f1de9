"""Figures of a plate known only by its drawing, against closed forms and against the plate's own formula."""

from dataclasses import replace
from itertools import pairwise
from math import cos, inf, log, pi, sin
from pathlib import Path
from random import Random

import pytest

from griddesign.errors import GeometryError
from griddesign.figures import Figure, Status
from griddesign.metals import metal
from griddesign.papers.cut_dxf import cut_dxf
from griddesign.plate.foreign import ForeignPlate, read_dxf
from griddesign.plate.ohms import plate_figures
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline, Point, Segment
from griddesign.plate.outlined import OutlineFigures, doubts, solve_outline
from griddesign.plate.shapes import BendKind, Eye, EyePlaces, Zigzag
from griddesign.plate.spread import spread_of
from griddesign.plate.zigzag import outline_of

STEEL = metal("ss304")
THICK = Figure.exact(0.005, Status.GIVEN, "given with the command", "5 mm")
EYE = Eye(0.030, 0.014, 0.021)
SMOOTH = replace(EYE, fillet_m=0.004)
PLAIN = Zigzag(0.120, 4, 0.008, 0.007, 0.005, SMOOTH, "one edge")
PLATES = {
    "square": PLAIN,
    "sharp necks": replace(PLAIN, eye=EYE),
    "filleted": replace(PLAIN, fillet_m=0.002, passes=5, eyes="opposite edges", bend_depth_m=0.010),
    "round": replace(PLAIN, bend="round", passes=6, strip_width_m=0.0113),
    "eyes off centre": replace(PLAIN, eye=replace(SMOOTH, offset_m=0.002), thickness_m=0.003),
    "support eye": replace(PLAIN, passes=6, support_eyes=1, fillet_m=0.001),
}


def drawn_at_random(seed: int) -> Zigzag:
    """A plate nobody chose, of the kinds a shop makes."""
    some = Random(seed)
    passes, wide_m, hole_m = some.randint(3, 7), some.uniform(0.006, 0.014), some.uniform(0.008, 0.016)
    gap_m, thick_m = some.uniform(0.5, 1.2) * wide_m, some.uniform(0.003, 0.008)
    eye = Eye(hole_m + 2 * wide_m, hole_m, 0.5 * hole_m + 1.7 * wide_m, fillet_m=some.uniform(0.1, 0.5) * wide_m)
    bend: BendKind = some.choice(("square", "round"))
    fillet_m = some.uniform(0.1, 0.4) * gap_m if bend == "square" else 0.0
    edges: EyePlaces = "opposite edges" if passes % 2 else "one edge"
    return Zigzag(some.uniform(0.08, 0.2), passes, wide_m, gap_m, thick_m, eye, edges, bend, fillet_m=fillet_m)


PLATES |= {f"at random {seed}": drawn_at_random(seed) for seed in range(4)}


def read_back(folder: Path, outline: Outline, **how: object) -> ForeignPlate:
    path = folder / "plate.dxf"
    path.write_bytes(cut_dxf(outline))
    return read_dxf(path, **how)  # type: ignore[arg-type]


def figures_of(outline: Outline, thickness: Figure = THICK, **how: float) -> OutlineFigures:
    return solve_outline(outline, STEEL, thickness, **how).figures


@pytest.mark.parametrize("name", PLATES)
def test_our_own_plate_read_back_has_its_own_ohms(name: str, tmp_path: Path) -> None:
    """Two ways to the same ohms that share no formula: constants of bends and eyes, and the whole outline solved."""
    shape = PLATES[name]
    outline = outline_of(shape)
    from_left = sorted(mark.at for mark in outline.marks)
    ends = [f"H{1 + from_left.index(mark.at)}" for mark in outline.marks[:2]]
    read = read_back(tmp_path, outline, terminals=ends)
    own = plate_figures(shape, STEEL, "laser")
    found = figures_of(read.outline, Figure.exact(shape.thickness_m))
    assert max(found.low_ohm, own.low_ohm) <= min(found.high_ohm, own.high_ohm)
    assert found.low_ohm <= found.cold_ohm <= found.high_ohm
    assert found.high_ohm - found.low_ohm <= 1.0001e-3 * found.cold_ohm
    assert found.mass_kg == pytest.approx(own.mass_kg, rel=1e-8)
    assert found.surface_m2 == pytest.approx(own.surface_m2, rel=1e-8)
    assert found.metal_low_ohm == pytest.approx(own.metal_low_ohm, rel=1e-3)
    assert found.metal_high_ohm == pytest.approx(own.metal_high_ohm, rel=1e-3)
    assert found.strip_m == pytest.approx(own.strip_m, rel=0.12), "the eyes count as strip"


def bent_strip(leg_m: float, turn_rad: float, inner_m: float = 0.02, wide_m: float = 0.01) -> Outline:
    """A strip with a hole at each end: leg, bend about the origin, leg."""
    outer_m, off_m, hole_m = inner_m + wide_m, 0.006, 0.002
    out, on = (cos(turn_rad), sin(turn_rad)), (-sin(turn_rad), cos(turn_rad))

    def end(radius_m: float, along_m: float) -> Point:
        return radius_m * out[0] + along_m * on[0], radius_m * out[1] + along_m * on[1]

    origin, corner = (0.0, 0.0), [(inner_m, -leg_m), (outer_m, -leg_m), (outer_m, 0.0)]
    back = [end(outer_m, 0.0), end(outer_m, leg_m), end(inner_m, leg_m), end(inner_m, 0.0)]
    bend = [Arc(corner[2], back[0], origin, True)] if turn_rad else []
    inner = [Arc(back[3], (inner_m, 0.0), origin, False)] if turn_rad else []
    segments: tuple[Segment, ...] = (
        Line(corner[0], corner[1]),
        Line(corner[1], corner[2]),
        *bend,
        *(Line(a, b) for a, b in pairwise(back)),
        *inner,
        Line((inner_m, 0.0), corner[0]),
    )
    middle_m = inner_m + wide_m / 2
    eyes = (Circle((middle_m, off_m - leg_m), hole_m), Circle(end(middle_m, leg_m - off_m), hole_m))
    return Outline(Loop(segments), eyes, (0, 1))


def test_a_longer_strip_has_its_length_over_its_width_more_squares(tmp_path: Path) -> None:
    """Exact up to exp(-pi L/w): what the ends do is the same in both. R = rho L/(w t), elementary."""
    short, long = (
        figures_of(read_back(tmp_path, bent_strip(leg, 0.0)).outline, bracket=1e-5) for leg in (0.030, 0.060)
    )
    assert long.squares_low - short.squares_high <= 2 * 0.030 / 0.010 <= long.squares_high - short.squares_low
    assert long.cold_ohm - short.cold_ohm == pytest.approx(6 * STEEL.resistivity.value / 0.005, rel=1e-4)


def test_a_wider_turn_has_its_angle_over_the_logarithm_more_squares(tmp_path: Path) -> None:
    """Annulus sector theta/ln(ro/ri): Laplace's equation where the potential depends on the angle alone."""
    small, large = (
        figures_of(read_back(tmp_path, bent_strip(0.030, turn)).outline, bracket=1e-5) for turn in (pi / 2, pi)
    )
    wanted = (pi / 2) / log(0.030 / 0.020)
    assert large.squares_low - small.squares_high <= wanted <= large.squares_high - small.squares_low


def test_mass_area_and_surface_of_a_strip_by_hand(tmp_path: Path) -> None:
    found = figures_of(read_back(tmp_path, bent_strip(0.050, 0.0)).outline)
    area_m2 = 0.1 * 0.01 - 2 * pi * 0.002**2
    assert found.area_m2 == pytest.approx(area_m2, rel=1e-9)
    assert found.volume_m3 == pytest.approx(area_m2 * 0.005, rel=1e-9)
    assert found.mass_kg == pytest.approx(area_m2 * 0.005 * STEEL.density.value, rel=1e-9)
    assert found.surface_m2 == pytest.approx(2 * area_m2 + 0.005 * 2 * (0.1 + 0.01), rel=1e-9)
    assert found.strip_m * found.mean_width_m == pytest.approx(area_m2, rel=2e-3)
    assert found.strip_m / found.mean_width_m == pytest.approx(found.squares, rel=1e-12)


def test_air_gets_into_a_slot_and_not_into_bores() -> None:
    """20 x 2 mm in the strip's middle: its walls are 44 mm more of rim."""
    strip = bent_strip(0.050, 0.0)
    corners = [(0.024, -0.010), (0.024, 0.010), (0.026, 0.010), (0.026, -0.010)]
    slot = Loop(tuple(Line(a, b) for a, b in pairwise([*corners, corners[0]])))
    plain, slotted = (figures_of(Outline(strip.outer, holes, (0, 1))) for holes in (strip.holes, (*strip.holes, slot)))
    assert slotted.surface_m2 - plain.surface_m2 == pytest.approx(0.005 * 0.044 - 2 * 0.02 * 0.002, rel=1e-9)
    assert slotted.low_ohm > plain.high_ohm


def test_a_washer_lowers_the_ohms_and_is_named() -> None:
    """Rim, washer on the eye, washer wider than the eye: each touches more metal than the one before."""
    outline = outline_of(PLAIN)
    rim, washer, wide = (solve_outline(outline, STEEL, THICK, washer_m=w).figures for w in (None, 0.024, 0.036))
    assert wide.high_ohm < washer.low_ohm and washer.high_ohm < rim.low_ohm
    assert "24 mm" in washer.terminal_model and "rim" in rim.terminal_model


def test_a_washer_smaller_than_its_hole_is_refused() -> None:
    with pytest.raises(GeometryError, match="does not cover its hole"):
        figures_of(outline_of(PLAIN), washer_m=0.012)


def test_a_sharp_corner_is_unbounded_and_its_fillet_brings_what_it_says() -> None:
    """The law from one solve against another solve with the fillet in it."""
    sharp = figures_of(outline_of(PLAIN), wanted_crowding=2.5).hot_spot
    assert sharp.unbounded and sharp.ratio == inf and sharp.cause == "sharp corner"
    assert sharp.fillet_m is not None and sharp.by_law
    wide = figures_of(outline_of(PLAIN), wanted_crowding=1.5).hot_spot
    assert wide.fillet_m is not None and wide.fillet_m > 0.2 * PLAIN.strip_width_m and not wide.by_law
    filleted = figures_of(outline_of(replace(PLAIN, fillet_m=sharp.fillet_m))).hot_spot
    assert filleted.ratio == pytest.approx(2.5, rel=0.04)
    assert not filleted.unbounded


def test_no_fillet_is_named_where_none_is_needed() -> None:
    spot = figures_of(outline_of(replace(PLAIN, fillet_m=0.002)), wanted_crowding=4.0).hot_spot
    assert 1.0 < spot.ratio < 4.0 and spot.fillet_m is None


def test_the_doubts_are_in_order_and_the_metal_leads() -> None:
    solved = solve_outline(outline_of(PLAIN), metal("grey_iron_class30"), THICK)
    every = doubts(solved)
    assert [doubt.name for doubt in every] == ["calculation", "metal", "cutting or casting"]
    assert max(every, key=lambda doubt: doubt.span).name == "metal"
    assert "not measured on this plate" in every[1].why and every[2].low is None
    assert every[0].low is not None and every[0].high is not None and every[0].low < 0 < every[0].high


def test_a_range_of_thickness_is_a_doubt_of_its_own() -> None:
    thick = Figure(0.005, 0.0045, 0.0055, Status.GIVEN, "given with the command", "4.5 mm to 5.5 mm")
    one = next(doubt for doubt in doubts(solve_outline(outline_of(PLAIN), STEEL, thick)) if doubt.name == "thickness")
    assert (one.low, one.high) == pytest.approx((5 / 5.5 - 1, 5 / 4.5 - 1))


def test_a_measured_metal_says_so() -> None:
    known = Figure(7.2e-7, 7.1e-7, 7.3e-7, Status.MEASURED, "three plates of this heat")
    solved = solve_outline(outline_of(PLAIN), STEEL.with_figure("resistivity", known), THICK)
    assert doubts(solved)[1].why == "resistivity measured: three plates of this heat"


def test_the_spread_by_cutting_is_that_of_the_shape_where_the_shape_is_known() -> None:
    shape = outline_of(PLAIN)
    cut = solve_outline(shape, STEEL, THICK, made_by="laser").making
    assert cut is not None
    known = spread_of(PLAIN, STEEL, "laser")
    (width,) = [cause for cause in cut.causes if cause.tolerance.item == "strip width"]
    (same,) = [cause for cause in known.causes if cause.tolerance.item == "strip width"]
    # The outline's width is a mean over bends and eyes, and its eyes move too: a tenth, no more.
    assert width.power == pytest.approx(same.power, rel=0.1)
    assert cut.low == pytest.approx(known.low, rel=0.2)
    assert cut.high == pytest.approx(known.high, rel=0.2)


def test_how_it_is_made_is_asked_for_where_it_is_not_said() -> None:
    made = doubts(solve_outline(outline_of(PLAIN), STEEL, THICK))[-1]
    assert (made.name, made.low) == ("cutting or casting", None)
    assert "--made-by" in made.why
