"""The conduction solve where the thickness is not the same all over, against exact values; every bracket encloses them.

- Strips: conductances side by side, resistances one after the other; a taper is the integral of dx/t.
- Annulus sector and ring with a step at an arc: logarithmic potentials, side by side and one after the other.
- A disc in a wide strip: the field inside is uniform, 2/(1 + k) of that far off (J. C. Maxwell, A Treatise on
  Electricity and Magnetism, 1873, art. 312-314, in its plane form; from memory).
- The excess of a step in depth: the conformal result quoted in ``field.steps``, against the solver on that channel.
"""

from math import cos, log, pi, sin, tan

import numpy as np
import pytest

from griddesign.errors import GeometryError
from griddesign.plate.drawn_field import drawn_field
from griddesign.plate.field import (
    Bracket,
    DiscTerminal,
    Domain,
    Region,
    RimTerminal,
    Slope,
    Thickness,
    crowding,
    solved,
    squares,
)
from griddesign.plate.field.steps import squares_of_steps, step_excess

LOGARITHM = "Logarithmic potential, exact"
QUARTER = tan(pi / 8)
STRIP = np.array([(0, 0), (10, 0), (10, 2), (0, 2.0)])
ENDS = (RimTerminal(0, (3,)), RimTerminal(0, (1,)))


def region(corners: list[tuple[float, float]], level: float, bulges: list[float] | None = None) -> Region:
    arcs = np.zeros(len(corners)) if bulges is None else np.array(bulges)
    return Region(np.array(corners, dtype=float), arcs, Slope(level))


def box(left: float, low: float, right: float, high: float, level: float) -> Region:
    return region([(left, low), (right, low), (right, high), (left, high)], level)


def disc(radius: float, level: float) -> Region:
    return region([(-radius, 0), (radius, 0)], level, [1, 1])


def strip(*regions: Region, base: Slope = Slope(), snap: float = 0.0) -> Domain:  # noqa: B008
    return Domain((STRIP,), ENDS, Thickness(base, regions, snap))


def assert_encloses(found: Bracket, exact: float, tolerance: float) -> None:
    assert found.low <= exact * (1 + 1e-12) and exact <= found.high * (1 + 1e-12)
    assert found.width <= tolerance
    assert found.value == pytest.approx(exact, rel=min(1e-4, tolerance))


@pytest.mark.parametrize(
    ("domain", "exact"),
    [
        (strip(box(4, -1, 11, 3, 2.0)), 2 + 3 / 2),  # over the rim
        (strip(box(4, 0, 10, 2, 2.0)), 2 + 3 / 2),  # along it
        (strip(box(0, 0, 4, 2, 2.0), box(4, 0, 6, 2, 0.5)), 1 + 2 + 2),  # one edge for both
        (strip(box(2, -1, 8, 3, 2.0), box(4, -1, 6, 3, 0.5)), 2 + 1 + 1 + 1 / 2 + 1 / 2),  # one in the other
        (strip(box(-1, 1, 11, 3, 3.0)), 10 / (1 + 3)),  # side by side
        (strip(box(-1, -1, 11, 3, 4.0)), 5 / 4),  # all of it
        (strip(), 5.0),
    ],
)
def test_stepped_strips_are_exact(domain: Domain, exact: float) -> None:
    found = squares(domain)
    assert found.value == pytest.approx(exact, rel=1e-12) and found.width < 1e-12


def test_the_drawn_density_jumps_where_the_thickness_does() -> None:
    """4 long and thin, then 6 long and twice as thick: 2 and 3/2 squares of 7/2, and a mean width of sqrt(32/(7/2))."""
    field = drawn_field(solved(strip(box(4, -1, 11, 3, 2.0))))
    scale = 3.5 * np.sqrt(32 / 3.5)
    thin, thick = scale * (2 / 3.5) / 4, scale * (1.5 / 3.5) / 6
    x = field.xy[:, 0]
    assert field.stepped
    assert field.density[x < 4 - 1e-9] == pytest.approx(thin)
    assert field.density[x > 4 + 1e-9] == pytest.approx(thick)
    here = np.abs(x - 4) < 1e-9
    for density in (thin, thick):
        assert (np.abs(field.density[here] - density) < 1e-9).sum() * 2 == here.sum()
    assert field.potential == pytest.approx(np.where(x < 4, x / 7, (x + 4) / 14))


def test_a_region_drawn_a_little_off_the_rim_lies_on_it() -> None:
    """Corners off by up to 4 um on a strip of 10 m that allows 10 um: the same to what the corners are off."""
    rng = np.random.default_rng(3)
    regions = [box(0, 0, 4, 2, 2.0), box(4, 0, 7, 2, 0.5)]
    rough = [Region(one.points + rng.uniform(-4e-6, 4e-6, (4, 2)), one.bulges, one.slope) for one in regions]
    assert squares(strip(*rough, snap=1e-5)).value == pytest.approx(1 + 3 + 1.5, rel=1e-5)


@pytest.mark.parametrize(("slope", "exact"), [(Slope(1, 0.1), 10 / 2 * log(2)), (Slope(1, 0, 0.5), 10 / 3)])
def test_a_taper_is_its_integral(slope: Slope, exact: float, checked) -> None:
    """Twice as thick at one end (sheets one after the other), and at one side (sheets side by side)."""
    coarse, fine = (squares(strip(base=slope), tolerance) for tolerance in (1e-3, 1e-5))
    assert coarse.low <= exact <= coarse.high
    assert_encloses(fine, exact, 1e-5)
    checked("Integral of dx/t, exact", "squares of a strip that tapers", exact, fine.value)


def sector(step: float, level: float) -> tuple[Domain, float]:
    """A quarter annulus of radii 1 and 4, of another thickness beyond ``step``; exact: conductances side by side."""
    arcs = [0, QUARTER, 0, -QUARTER]
    ring = np.array([(1, 0), (4, 0), (0, 4), (0, 1.0)])
    thick = Thickness(regions=(region([(step, 0), (4, 0), (0, 4), (0, step)], level, arcs),))
    exact = pi / 2 / (log(step) + level * log(4 / step))
    return Domain((ring,), (RimTerminal(0, (0,)), RimTerminal(0, (2,))), thick, (np.array(arcs),)), exact


@pytest.mark.parametrize("level", [0.2, 3.0])
def test_a_quarter_annulus_stepped_at_an_arc_adds_its_conductances(level: float, checked) -> None:
    """The arc bulges into thinner, or into thicker, metal; the bracket closes faster than the triangles grow."""
    domain, exact = sector(2.0, level)
    runs = [squares(domain, tolerance) for tolerance in (1e-2, 1e-3, 3e-5)]
    for found, tolerance in zip(runs, (1e-2, 1e-3, 3e-5), strict=True):
        assert found.low <= exact <= found.high and found.width <= tolerance
    rate = log(runs[1].width / runs[2].width) / log(runs[2].triangles / runs[1].triangles)
    assert rate > 1.0
    checked(LOGARITHM, "squares of a quarter annulus of two thicknesses", exact, runs[2].value)


def test_a_quarter_annulus_with_a_thicker_and_a_thinner_ring_adds_its_conductances() -> None:
    """Three times as thick from 2 to 3, a fifth as thick from 3 to 4: one arc bulges into thicker metal, one into
    thinner, and the bracket encloses the exact value on coarse triangles too."""
    arcs = np.array([0, QUARTER, 0, -QUARTER])
    ring = np.array([(1, 0), (4, 0), (0, 4), (0, 1.0)])
    rings = [((2, 3), 3.0), ((3, 4), 0.2)]
    regions = tuple(region([(a, 0), (b, 0), (0, b), (0, a)], level, arcs.tolist()) for (a, b), level in rings)
    domain = Domain((ring,), (RimTerminal(0, (0,)), RimTerminal(0, (2,))), Thickness(regions=regions), (arcs,))
    exact = pi / 2 / (log(2) + 3 * log(3 / 2) + 0.2 * log(4 / 3))
    for tolerance in (3e-2, 1e-2, 1e-3):
        found = squares(domain, tolerance)
        assert found.low <= exact <= found.high and found.width <= tolerance


@pytest.mark.parametrize("angle", [pi / 6, 1.3])
def test_a_quarter_annulus_stepped_at_a_radius_adds_its_resistances(angle: float) -> None:
    """The step cuts both arcs of the rim, which run opposite ways; beyond it the sheet is three times as thick. The
    middle of the annulus lies off the origin."""
    middle = np.array([3.0, -2.0])
    arcs = np.array([0, QUARTER, 0, -QUARTER])
    ring = np.array([(1, 0), (4, 0), (0, 4), (0, 1.0)]) + middle
    corners = np.array([(0, 0), (6 * cos(angle), 6 * sin(angle)), (6, 6), (-1, 6), (-1, 0)]) + middle
    far = Region(corners, np.zeros(5), Slope(3.0))
    ends = (RimTerminal(0, (0,)), RimTerminal(0, (2,)))
    found = squares(Domain((ring,), ends, Thickness(regions=(far,)), (arcs,)), 1e-3)
    assert_encloses(found, (angle + (pi / 2 - angle) / 3) / log(4), 1e-3)


def test_a_boss_whose_circle_cuts_both_arcs_of_the_rim() -> None:
    """Against the same boss drawn as a polygon of equal area, whose edges are straight."""
    arcs = np.array([0, QUARTER, 0, -QUARTER])
    ring = np.array([(1, 0), (4, 0), (0, 4), (0, 1.0)])
    turn = np.arange(200) * pi / 100
    radius, at = 2 * np.sqrt(pi / 100 / sin(pi / 100)), np.array([1.9, 1.7])
    many = Region(at + radius * np.column_stack([np.cos(turn), np.sin(turn)]), np.zeros(200), Slope(3.0))
    round_one = Region(at + np.array([(-2.0, 0.0), (2.0, 0.0)]), np.ones(2), Slope(3.0))
    ends = (RimTerminal(0, (0,)), RimTerminal(0, (2,)))
    found, other = (
        squares(Domain((ring,), ends, Thickness(regions=(boss,)), (arcs,)), 1e-3) for boss in (round_one, many)
    )
    assert found.value == pytest.approx(other.value, rel=2e-4)


def test_a_ring_stepped_at_a_circle_adds_its_resistances(checked) -> None:
    rings = (np.array([(4.0, 0), (-4, 0)]), np.array([(1.0, 0), (-1, 0)]))
    thick, round_rims = Thickness(regions=(disc(2, 0.5),)), (np.ones(2), np.ones(2))
    found = squares(Domain(rings, (RimTerminal(0), RimTerminal(1)), thick, round_rims), 3e-4)
    exact = (log(2) / 0.5 + log(2)) / (2 * pi)
    assert_encloses(found, exact, 3e-4)
    checked(LOGARITHM, "squares of a ring of two thicknesses, rim to rim", exact, found.value)


def test_a_boss_under_its_washer_is_as_if_it_were_not_there() -> None:
    plate, face = np.array([(-6, -3), (6, -3), (6, 3), (-6, 3.0)]), DiscTerminal((0.0, 0.0), 2.0)
    plain, boss = (
        squares(Domain((plate,), (face, RimTerminal(0, (1,))), Thickness(regions=regions)))
        for regions in ((), (disc(1.9, 5.0), disc(1.0, 0.1)))
    )
    assert boss.value == pytest.approx(plain.value, rel=1e-9)


@pytest.mark.parametrize("level", [2.0, 0.5])
def test_the_peak_beside_a_disc_of_another_thickness(level: float, checked) -> None:
    """2 k/(1 + k) of the mean just outside a thicker disc, 2/(1 + k) within a thinner one; the rims far off."""
    wide = np.array([(-20, -10), (20, -10), (20, 10), (-20, 10.0)])
    found = crowding(Domain((wide,), ENDS, Thickness(regions=(disc(1, level),), depth=0.1)), 20.0)
    exact = 2 * max(level, 1.0) / (1 + level)
    assert found.ratio == pytest.approx(exact, rel=0.02) and found.cause == "step"
    assert np.hypot(*found.place) == pytest.approx(1.0, rel=2e-3)
    checked("J. C. Maxwell, Treatise, 1873, art. 312 (from memory)", "peak beside a disc of another thickness", exact,
            found.ratio)  # fmt: skip


@pytest.mark.parametrize("ratio", [1.5, 4.0])
def test_the_excess_of_a_step_in_depth(ratio: float, checked) -> None:
    channel = np.array([(0, 0), (16, 0), (16, ratio), (8, ratio), (8, 1), (0, 1.0)])
    found = squares(Domain((channel,), (RimTerminal(0, (5,)), RimTerminal(0, (1,)))), 1e-5).value - 8 - 8 / ratio
    exact = float(step_excess(np.array([1 / ratio]))[0])
    assert found == pytest.approx(exact, abs=1e-4)
    checked("N. Marcuvitz, Waveguide Handbook, 1951, sec. 5.26 (from memory)", "excess of a step, solved", exact, found)


def test_what_the_steps_of_a_strip_add() -> None:
    """Two steps straight across a strip of width 2 and nominal thickness 0.3."""
    across = solved(strip(box(4, -1, 6, 3, 2.0)))
    assert squares_of_steps(across, 0.3) == pytest.approx(2 * 0.24983 * 0.3 / 2, rel=1e-4)
    assert squares_of_steps(solved(strip(box(-1, 1, 11, 3, 3.0))), 0.3) == pytest.approx(0, abs=1e-12), "along the flow"
    assert squares_of_steps(solved(strip()), 0.3) == 0.0


@pytest.mark.parametrize(
    ("regions", "said"),
    [
        ((box(2, -1, 6, 3, 2.0), box(5, -1, 8, 3, 0.5)), "cross"),
        ((region([(2, 0.5), (6, 1.5), (6, 0.5), (2, 1.5)], 2.0),), "not one closed line"),
    ],
)
def test_regions_that_cannot_be_are_refused(regions: tuple[Region, ...], said: str) -> None:
    with pytest.raises(GeometryError, match=said):
        squares(strip(*regions, base=Slope(1, 0.1)))


def test_a_round_region_that_is_thicker_on_one_side_and_thinner_on_the_other() -> None:
    """In a plate that tapers; beside it the same region as a polygon of 200 corners."""
    angles = np.arange(200) * np.pi / 100
    circle = np.column_stack([5.1 + 0.8 * np.cos(angles), 1 + 0.8 * np.sin(angles)])
    round_one = Region(np.array([(4.3, 1), (5.9, 1.0)]), np.ones(2), Slope(1.5))
    found = squares(strip(round_one, base=Slope(1, 0.1)), 1e-4)
    chorded = squares(strip(Region(circle, np.zeros(200), Slope(1.5)), base=Slope(1, 0.1)), 1e-4)
    assert found.value == pytest.approx(chorded.value, rel=5e-5)
    assert max(found.low, chorded.low) <= min(found.high, chorded.high)
