"""Outlines of thousands of edges: fewer corners, and still bounds that enclose the outline's own value.

Checked by an independent library for what encloses what, by the conjugate sides of a quadrilateral (their product is 1:
L. V. Ahlfors, Conformal Invariants, 1973, section 4-2, from memory), and by solves of the outline with all its edges.
"""

import numpy as np
import pytest
import shapely

from griddesign.plate.field import Domain, RimTerminal, crowding, squares
from griddesign.plate.field import bracket as bracket_module
from griddesign.plate.field.bracket import enclosing_and_enclosed
from griddesign.plate.field.mesh import triangulated
from griddesign.plate.field.rim import rim_of
from griddesign.plate.field.ring import Ring
from griddesign.plate.field.sleeve import sleeved

COUNT = 1600


def blob(rng: np.random.Generator, noise: float = 0.0, evenly: bool = True) -> np.ndarray:
    """A smooth outline of random waves, of extent about 2."""
    angles = np.arange(COUNT) * 2 * np.pi / COUNT if evenly else np.sort(rng.uniform(0, 2 * np.pi, COUNT))
    radii = 1 + sum(rng.uniform(-0.25, 0.25) / k * np.cos(k * angles + rng.uniform(0, 7)) for k in (2, 3, 5, 8))
    points = np.column_stack([radii * np.cos(angles), 0.5 * radii * np.sin(angles)])
    return points + rng.normal(0, noise, points.shape)


def circle(x: float, y: float, radius: float, count: int = 1000) -> np.ndarray:
    angles = np.arange(count) * 2 * np.pi / count
    return np.column_stack([x + radius * np.cos(angles), y + radius * np.sin(angles)])


def between(points: np.ndarray, cuts: list[int], first: int) -> Domain:
    """Two of the four stretches of the rim as terminals."""
    ends = zip(cuts, [*cuts[1:], cuts[0] + len(points)], strict=True)
    stretch = [tuple(k % len(points) for k in range(a, b)) for a, b in ends]
    return Domain((points,), (RimTerminal(0, stretch[first]), RimTerminal(0, stretch[first + 2])))


@pytest.mark.parametrize("seed", range(4))
def test_conjugate_sides_of_outlines_with_thousands_of_edges(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = blob(rng, rng.choice([0.0, 1e-7]), evenly=bool(seed % 2))
    cuts = sorted(int(k) for k in rng.choice(COUNT, 4, replace=False))
    one, other = (squares(between(points, cuts, first)) for first in (0, 1))
    assert one.low * other.low <= 1 <= one.high * other.high
    assert one.value * other.value == pytest.approx(1, abs=5e-4)
    assert one.triangles < 2 * COUNT, "else nothing was simplified"


@pytest.mark.parametrize("seed", range(2))
def test_the_bracket_encloses_that_of_all_the_edges(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(10 + seed)
    domain = Domain((blob(rng), circle(-0.4, 0, 0.1, 600), circle(0.4, 0, 0.12, 600)), (RimTerminal(1), RimTerminal(2)))
    simple = squares(domain)
    monkeypatch.setattr(bracket_module, "_BANDS", (0.0,))
    exact = squares(domain, 1e-3)
    assert simple.low <= exact.high and exact.low <= simple.high
    assert simple.low <= exact.value <= simple.high
    assert simple.value == pytest.approx(exact.value, rel=1e-4)
    assert simple.triangles < exact.triangles / 2


@pytest.mark.parametrize("seed", range(4))
def test_one_polygon_encloses_the_metal_and_one_lies_within_it(seed: int) -> None:
    rng = np.random.default_rng(20 + seed)
    rings = [Ring(blob(rng), np.zeros(COUNT), np.full(COUNT, -1))]
    (found,) = sleeved(rings, 0.5, 1e-3)
    true = shapely.Polygon(rings[0].points)
    enclosing, enclosed = (shapely.Polygon(found.ring.points + move) for move in (found.outward, found.inward))
    assert enclosing.is_valid and enclosed.is_valid
    assert enclosing.covers(true) and true.covers(enclosed)
    assert enclosing.area - enclosed.area <= found.band() * (1 + 1e-3) <= 1.001e-3
    assert len(found.ring.points) < COUNT / 4


def test_a_terminal_is_enlarged_for_the_lower_bound_and_a_hole_is_not() -> None:
    rings = (blob(np.random.default_rng(3)), circle(-0.4, 0, 0.1), circle(0.4, 0, 0.1), circle(0.0, 0.0, 0.1))
    mesh = triangulated(*rim_of(Domain(rings, (RimTerminal(1), RimTerminal(2))), 1e-3))
    below, above = enclosing_and_enclosed(mesh)
    for number, true in enumerate(rings):
        assert (mesh.rim.sleeve[mesh.rim.ring == number] >= 0).any()
        larger, smaller = (loop_of(mesh.rim.ends[mesh.rim.ring == number], xy) for xy in (below, above))
        if number == 3:  # a hole, and no terminal
            larger, smaller = smaller, larger
        assert larger.covers(shapely.Polygon(true)) and shapely.Polygon(true).covers(smaller)


def loop_of(ends: np.ndarray, xy: np.ndarray) -> shapely.Polygon:
    following = dict(ends.tolist())
    order = [int(ends[0, 0])]
    while (here := following[order[-1]]) != order[0]:
        order.append(here)
    return shapely.Polygon(xy[order])


def test_ends_of_terminals_and_a_noisy_rim_keep_their_edges() -> None:
    points, free = blob(np.random.default_rng(5)), np.full(COUNT, -1)
    free[100:200] = 0
    (found,) = sleeved([Ring(points, np.zeros(COUNT), free)], 0.5, 1e-3)
    kept = {tuple(point) for point in found.ring.points.tolist()}
    assert all(tuple(points[k].tolist()) in kept for k in (99, 100, 101, 199, 200, 201))
    moved = np.hypot(*(found.outward - found.inward).T)
    ends = [k for k, point in enumerate(found.ring.points.tolist()) if point in (points[[100, 200]].tolist())]
    assert len(ends) == 2 and (moved[ends] == 0).all()
    noisy = [Ring(blob(np.random.default_rng(6), 1e-3), np.zeros(COUNT), np.full(COUNT, -1))]
    (left,) = sleeved(noisy, 0.5, 1e-4)
    assert left.ring is noisy[0] and not left.band()


def test_the_peak_at_a_chorded_fillet_is_that_of_the_arc() -> None:
    """An elbow with a fillet of a fifth of its width, as an arc and as 800 chords."""
    turns = np.linspace(np.pi / 2, 0, 801)
    fillet = np.column_stack([1.2 - 0.2 * np.sin(turns), 2.8 + 0.2 * np.cos(turns)])
    start, end = [(0.0, 0.0), (1.0, 0.0)], [(4.0, 3.0), (4.0, 4.0), (0.0, 4.0)]
    chorded = np.concatenate([start, fillet, end])
    round_one = np.array([*start, fillet[0], fillet[-1], *end])
    bulges = np.zeros(7)
    bulges[2] = -np.tan(np.pi / 8)
    by_arc = crowding(Domain((round_one,), (RimTerminal(0, (0,)), RimTerminal(0, (4,))), None, (bulges,)), 1.0)
    by_chords = crowding(Domain((chorded,), (RimTerminal(0, (0,)), RimTerminal(0, (803,)))), 1.0)
    assert by_arc.cause == "fillet" and by_chords.ratio == pytest.approx(by_arc.ratio, rel=1e-2)
