"""Properties of the conduction solve on random outlines.

Conjugate quadrilaterals: the rim of any simply connected outline split into four arcs gives R(1 to 3) R(2 to 4) = 1
square^2 (L. V. Ahlfors, Conformal Invariants, 1973, section 4-2: extremal distance of conjugate sides, from memory).
"""

from dataclasses import replace
from itertools import combinations
from math import tan

import numpy as np
import pytest

from griddesign.plate.field import Bracket, Domain, Region, RimTerminal, Slope, Thickness, squares


def star(rng: np.random.Generator) -> np.ndarray:
    """A random, often ugly polygon: random radii at random angles."""
    count = int(rng.integers(5, 14))
    while True:
        angles = np.sort(rng.uniform(0, 2 * np.pi, count))
        if np.diff(angles, append=angles[0] + 2 * np.pi).max() < 3:
            radii = rng.uniform(0.25, 1.0, count)
            return np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])


def conjugates(
    points: np.ndarray, cuts: np.ndarray, tolerance: float, thick: tuple[Thickness | None, ...] = (None, None)
) -> tuple[Bracket, Bracket]:
    count = len(points)
    arcs = [tuple(int(k) % count for k in range(a, b)) for a, b in zip(cuts, [*cuts[1:], cuts[0] + count], strict=True)]
    return tuple(
        squares(Domain((points,), (RimTerminal(0, arcs[a]), RimTerminal(0, arcs[a + 2])), thick[a]), tolerance)
        for a in (0, 1)
    )


@pytest.mark.parametrize("seed", range(10))
def test_conjugate_quadrilaterals_on_two_hundred_random_outlines(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for _ in range(20):
        points = star(rng)
        cuts = np.sort(rng.choice(len(points), 4, replace=False))
        one, other = conjugates(points, cuts, 0.1)
        assert one.low * other.low <= 1 <= one.high * other.high
        assert one.value * other.value == pytest.approx(1, abs=3e-2)


def test_conjugate_quadrilaterals_to_the_default_bracket() -> None:
    rng = np.random.default_rng(77)
    errors = []
    for _ in range(3):
        points = star(rng)
        one, other = conjugates(points, np.sort(rng.choice(len(points), 4, replace=False)), 1e-3)
        assert one.low * other.low <= 1 <= one.high * other.high
        errors.append(abs(one.value * other.value - 1))
    assert max(errors) < 1e-4


@pytest.mark.parametrize("seed", range(4))
def test_the_answer_knows_no_unit_place_sense_or_start(seed: int) -> None:
    """Scaled, turned, mirrored, run the other way, terminals exchanged: brackets of one and the same number."""
    rng = np.random.default_rng(100 + seed)
    points = star(rng)
    first, second = (int(k) for k in rng.choice(len(points) // 2, 2) * 2)
    second = second if second != first else (first + 2) % (len(points) - 1)
    base = squares(Domain((points,), (RimTerminal(0, (first,)), RimTerminal(0, (second,)))), 1e-2)
    turn = rng.uniform(0, 6)
    turned = points @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) * 0.0254 + [3.0, -7.0]
    last = len(points) - 2
    variants = [
        Domain((turned,), (RimTerminal(0, (second,)), RimTerminal(0, (first,)))),
        Domain(
            (points[::-1],),
            (RimTerminal(0, ((last - first) % len(points),)), RimTerminal(0, ((last - second) % len(points),))),
        ),
    ]
    for variant in variants:
        found = squares(variant, 1e-2)
        assert max(found.low, base.low) <= min(found.high, base.high) * (1 + 1e-9)
        assert found.value == pytest.approx(base.value, rel=2e-3)


@pytest.mark.parametrize("seed", range(4))
def test_more_metal_never_has_more_squares(seed: int) -> None:
    """Rayleigh's monotonicity: a hole, or a thinner place, cannot lower the resistance."""
    rng = np.random.default_rng(seed)
    ring, ends = np.array([(0, 0), (4, 0), (4, 2), (0, 2.0)]), (RimTerminal(0, (3,)), RimTerminal(0, (1,)))
    x, y, r = rng.uniform(1, 3), rng.uniform(0.7, 1.3), rng.uniform(0.1, 0.5)
    hole = np.array([(x - r, y), (x + r, y)])
    whole = squares(Domain((ring,), ends))
    holed = squares(Domain((ring, hole), ends, None, (np.zeros(4), np.ones(2))))
    thinned, nothing = (
        squares(Domain((ring,), ends, Thickness(regions=(Region(hole, np.ones(2), Slope(level)),))))
        for level in (0.5, 1e-6)
    )
    assert whole.high < thinned.low and thinned.high < holed.low
    assert nothing.value == pytest.approx(holed.value, rel=1e-3), "next to no metal is a hole"
    assert holed.value == pytest.approx(squares(Domain((ring, polygon(x, y, r)), ends)).value, rel=1e-3)


def rounded(rng: np.random.Generator, name: str) -> Region:
    """A disc, or a polygon some of whose edges are arcs, of a thickness of a third to three times the plate's; it may
    reach over the rim."""
    level = float(np.exp(rng.uniform(-1.1, 1.1)))
    centre, radius = rng.uniform(-0.4, 0.4, 2), rng.uniform(0.1, 0.4)
    if rng.random() < 0.5:
        return Region(centre + np.array([(-radius, 0), (radius, 0)]), np.ones(2), Slope(level), name)
    count = int(rng.integers(3, 7))
    angles = (np.arange(count) + rng.uniform(-0.3, 0.3, count)) * 2 * np.pi / count
    corners = centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    return Region(corners, np.where(rng.random(count) < 0.4, rng.uniform(0.05, 0.3, count), 0.0), Slope(level), name)


def turned_over(regions: tuple[Region, ...]) -> Thickness:
    """Thin where it was thick."""
    return Thickness(regions=tuple(replace(one, slope=Slope(1 / one.slope.level)) for one in regions))


def clear(regions: tuple[Region, ...]) -> bool:
    """Whether the circles about them, wide enough for their arcs, do not meet."""
    around = [(one.points.mean(axis=0), 1.2 * np.ptp(one.points, axis=0).max()) for one in regions]
    return all(np.hypot(*(a[0] - b[0])) > (a[1] + b[1]) / 2 for a, b in combinations(around, 2))


@pytest.mark.parametrize("seed", range(2))
def test_conjugate_quadrilaterals_with_regions_of_another_thickness(seed: int) -> None:
    """The stream function of thickness t is the potential of thickness 1/t between the other two arcs, so
    R(t; 1 to 3) R(1/t; 2 to 4) = 1: exact, whatever the outline, the regions and where they meet the rim."""
    rng = np.random.default_rng(200 + seed)
    tried = 0
    while tried < 3:
        points, regions = star(rng), tuple(rounded(rng, str(k)) for k in range(int(rng.integers(1, 4))))
        cuts = np.sort(rng.choice(len(points), 4, replace=False))
        if not clear(regions):
            continue
        one, other = conjugates(points, cuts, 0.03, (Thickness(regions=regions), turned_over(regions)))
        assert one.low * other.low <= 1 <= one.high * other.high
        assert one.value * other.value == pytest.approx(1, abs=6e-3)
        tried += 1


def polygon(x: float, y: float, r: float) -> np.ndarray:
    """A hole of 64 corners with the area of the circle."""
    angles = np.arange(64) * np.pi / 32
    r *= np.sqrt(np.pi / 64 / tan(np.pi / 64)) if r < 0 else np.sqrt(2 * np.pi / 64 / np.sin(2 * np.pi / 64))
    return np.column_stack([x + r * np.cos(angles), y + r * np.sin(angles)])
