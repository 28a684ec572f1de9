"""The parts of the conduction solve against independent computations that share neither code nor mesh method."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse import coo_array, lil_array
from scipy.sparse.linalg import spsolve

from griddesign.plate.field import Domain, Region, RimTerminal, Slope, Thickness, solver, squares
from griddesign.plate.field.bracket import enclosing_and_enclosed
from griddesign.plate.field.elements import solve_both
from griddesign.plate.field.mesh import Mesh, triangulated
from griddesign.plate.field.refine import refined
from griddesign.plate.field.rim import rim_of
from griddesign.plate.field.thickness import with_parts


def meander(passes: int = 5, width: float = 10, gap: float = 6, height: float = 60) -> Domain:
    """A square meander whose ends are the terminals."""
    pitch = width + gap
    up, down = [], []
    for bend in range(passes - 1):
        x, top = bend * pitch, bend % 2 == 0
        inner = height - width if top else width
        outer = height if top else 0.0
        inside, outside = [(x + width, inner), (x + pitch, inner)], [(x, outer), (x + pitch + width, outer)]
        (down if top else up).extend(inside)
        (up if top else down).extend(outside)
    far = (passes - 1) * pitch
    last = height if passes % 2 else 0.0
    ring = [(0, 0), (width, 0), *down, (far + width, last), (far, last), *up[::-1]]
    return Domain((np.array(ring, dtype=float),), (RimTerminal(0, (0,)), RimTerminal(0, (2 + len(down),))))


def ringed() -> Domain:
    """A plate with two bolt holes as terminals and a free hole between."""
    plate = np.array([(0, 0), (8, 0), (8, 3), (0, 3.0)])
    holes = [np.array([(x - r, 1.5), (x + r, 1.5)]) for x, r in ((1.5, 0.6), (6.5, 0.6), (4.0, 0.7))]
    bulges = (np.zeros(4), np.ones(2), np.ones(2), np.ones(2))
    return Domain((plate, *holes), (RimTerminal(1), RimTerminal(2)), None, bulges)


def areas(mesh: Mesh) -> np.ndarray:
    corner = mesh.xy[mesh.triangles]
    return 0.5 * np.linalg.det(corner[:, 1:] - corner[:, :1])


def crouzeix_raviart(mesh: Mesh) -> float:
    """Squares by the non-conforming element, assembled from its own definition."""
    edges = mesh.edges()
    corner, area = mesh.xy[mesh.triangles], areas(mesh)
    matrix = lil_array((len(edges.ends),) * 2)
    for triangle, sides in enumerate(edges.of_triangle):
        a, b, c = corner[triangle]
        hats = np.linalg.inv(np.array([[1, *a], [1, *b], [1, *c]]))[1:]
        slopes = -2 * hats[:, [2, 0, 1]]  # the function of side i is 1 - 2 (hat of the corner opposite)
        for i in range(3):
            for j in range(3):
                matrix[sides[i], sides[j]] += area[triangle] * slopes[:, i] @ slopes[:, j]
    on_rim = edges.numbers(mesh.rim.ends, len(mesh.xy))
    fixed = np.full(len(edges.ends), np.nan)
    for terminal in (0, 1):
        fixed[on_rim[mesh.rim.terminal == terminal]] = terminal
    free = np.isnan(fixed)
    values = np.where(free, 0, fixed)
    matrix = matrix.tocsr()
    values[free] = spsolve(matrix[free][:, free].tocsc(), -(matrix @ values)[free])
    return float(1 / (values @ (matrix @ values)))


@pytest.mark.parametrize("domain", [meander(3), ringed()], ids=["meander", "holes"])
def test_the_stream_function_gives_the_crouzeix_raviart_resistance(domain: Domain) -> None:
    mesh = triangulated(*rim_of(domain))
    both = solve_both(mesh, mesh.edges(), (mesh.xy, mesh.xy), None, 1)
    assert both.high == pytest.approx(crouzeix_raviart(mesh), rel=1e-10)
    assert both.low < both.high


@pytest.mark.parametrize("degree", [1, 2])
def test_the_gap_is_shared_out_to_the_triangles_without_rest(degree: int) -> None:
    boss = Region(np.array([(0.5, 1.5), (2.5, 1.5)]), np.ones(2), Slope(1.5))
    domain = replace(ringed(), thickness=Thickness(Slope(1.0, 0.1), (boss,)))
    mesh = with_parts(triangulated(*rim_of(domain)), domain.thickness)
    both = solve_both(mesh, mesh.edges(), enclosing_and_enclosed(mesh), domain.thickness, degree)
    assert both.gap.sum() == pytest.approx(both.high - both.low, rel=1e-9)
    unmoved = solve_both(mesh, mesh.edges(), (mesh.xy, mesh.xy), domain.thickness, degree)
    assert (unmoved.gap > -1e-12 * unmoved.high).all(), "Prager and Synge: never less than nothing"


def test_quadratic_bounds_lie_within_linear_ones() -> None:
    mesh = triangulated(*rim_of(meander(3)))
    linear, quadratic = (solve_both(mesh, mesh.edges(), (mesh.xy, mesh.xy), None, degree) for degree in (1, 2))
    assert linear.low < quadratic.low < quadratic.high < linear.high


@pytest.mark.parametrize("domain", [meander(3), ringed()], ids=["meander", "holes"])
def test_band_and_elimination_agree(domain: Domain, monkeypatch: pytest.MonkeyPatch) -> None:
    by_band = squares(domain, 1e-4)
    monkeypatch.setattr(solver, "_WIDEST_BAND", -1)
    by_elimination = squares(domain, 1e-4)
    assert by_elimination.low == pytest.approx(by_band.low, rel=1e-8)
    assert by_elimination.high == pytest.approx(by_band.high, rel=1e-8)


def finite_volumes(h: float, domain: Domain, thin: tuple[tuple[float, float, float, float, float], ...] = ()) -> float:
    """Squares on a grid of square cells of side ``h``, by the five-point scheme: an independent method.

    ``thin``: rectangles (left, low, right, high) on the grid's lines and the thickness in them; between two cells the
    halves of both are in series.
    """
    ring = domain.rings[0]
    columns, rows = (round(float(extent) / h) for extent in ring.max(axis=0))
    x, y = np.meshgrid((np.arange(columns) + 0.5) * h, (np.arange(rows) + 0.5) * h)
    upright = [(a, b) for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True) if a[0] == b[0]]
    crossings = [((a[1] > y) != (b[1] > y)) & (x < a[0]) for a, b in upright]
    metal = np.logical_xor.reduce(crossings)
    thick = np.ones(metal.shape)
    for left, low, right, high, level in thin:
        thick[(x > left) & (x < right) & (y > low) & (y < high)] = level
    thick = thick[metal]
    number = np.where(metal, np.cumsum(metal.ravel()).reshape(metal.shape) - 1, -1)
    pairs = [
        np.column_stack([number[:, :-1].ravel(), number[:, 1:].ravel()]),
        np.column_stack([number[:-1].ravel(), number[1:].ravel()]),
    ]
    links = np.concatenate([pair[(pair >= 0).all(axis=1)] for pair in pairs])
    count = int(metal.sum())
    ends = [terminal.edges[0] for terminal in domain.terminals if isinstance(terminal, RimTerminal) and terminal.edges]
    touching = []
    for end in ends:
        a, b = ring[end], ring[(end + 1) % len(ring)]
        row = 0 if a[1] == 0 else rows - 1
        touching.append(number[row, (x[0] > min(a[0], b[0])) & (x[0] < max(a[0], b[0]))])
    link = 2 / (1 / thick[links]).sum(axis=1)
    diagonal = np.bincount(links.ravel(), np.repeat(link, 2), minlength=count)
    for cells in touching:
        diagonal[cells] += 2 * thick[cells]  # half a cell from its centre to the terminal
    row, column = np.concatenate([links, links[:, ::-1]]).T
    matrix = coo_array((-np.tile(link, 2), (row, column)), shape=(count, count)).tocsc()
    matrix = matrix + coo_array((diagonal, (np.arange(count),) * 2)).tocsc()
    load = np.zeros(count)
    load[touching[1]] = 2 * thick[touching[1]]
    potential = spsolve(matrix, load)
    return float(1 / (2 * thick[touching[0]] * potential[touching[0]]).sum())


# A band across three legs, half a leg lengthwise, and one that ends within a bend and reaches over the rim.
THIN = ((-2.0, 20.0, 42.0, 30.0, 1.7), (48.0, 10.0, 54.0, 40.0, 0.6), (64.0, 50.0, 80.0, 66.0, 2.0))


@pytest.mark.parametrize("thin", [(), THIN], ids=["even", "uneven"])
def test_finite_volumes_and_richardson_agree(thin: tuple[tuple[float, float, float, float, float], ...]) -> None:
    """Their error at re-entrant corners goes with h^(4/3): two grids give some 1e-5, a third grid h^2 as well."""
    regions = tuple(
        Region(np.array([(a, b), (c, b), (c, d), (a, d)]), np.zeros(4), Slope(level)) for a, b, c, d, level in thin
    )
    domain = replace(meander(), thickness=Thickness(regions=regions))
    coarse, middle, fine = (finite_volumes(h, domain, thin) for h in (2.0, 1.0, 0.5))
    ratio = 2 ** (4 / 3)
    first, second = (middle * ratio - coarse) / (ratio - 1), (fine * ratio - middle) / (ratio - 1)
    extrapolated = (4 * second - first) / 3
    found = squares(domain, 1e-4)
    assert found.low < extrapolated < found.high
    assert found.value == pytest.approx(extrapolated, rel=2e-5 if thin else 1e-5)


@pytest.mark.parametrize("domain", [meander(), ringed()], ids=["meander", "holes"])
def test_refinement_keeps_area_rim_and_angles(domain: Domain) -> None:
    """Nothing hangs, nothing folds, new points of a round rim lie on the circle; angles fall by half at most, from the
    8 degrees the mesher mends."""
    mesh = triangulated(*rim_of(domain))
    rng = np.random.default_rng(1)
    total, smallest = areas(mesh).sum(), angles(mesh).min()
    assert smallest > 8
    for _ in range(4):
        mesh = refined(mesh, mesh.edges(), rng.random(len(mesh.triangles)) < 0.2, np.array([], dtype=np.intp))
        edges = mesh.edges()
        uses = np.bincount(edges.of_triangle.ravel())
        assert (uses <= 2).all() and (uses == 1).sum() == len(mesh.rim.ends)
        assert (uses[edges.numbers(mesh.rim.ends, len(mesh.xy))] == 1).all()
        assert (areas(mesh) > 0).all() and angles(mesh).min() > smallest / 2.5
    assert areas(mesh).sum() == pytest.approx(total, rel=1e-12 if domain.bulges is None else 2e-2)


def angles(mesh: Mesh) -> np.ndarray:
    corner = mesh.xy[mesh.triangles]
    side = np.roll(corner, -1, axis=1) - corner
    length = np.linalg.norm(side, axis=2)
    return np.degrees(np.arccos(-(side * np.roll(side, 1, axis=1)).sum(axis=2) / length / np.roll(length, 1, axis=1)))


def test_enclosing_and_enclosed_polygons_lie_on_their_sides_of_every_arc() -> None:
    mesh = triangulated(*rim_of(ringed()))
    below, above = enclosing_and_enclosed(mesh)
    for xy, lower in ((below, True), (above, False)):
        for edge in np.flatnonzero(mesh.rim.arc >= 0):
            a, b = xy[mesh.rim.ends[edge]]
            centre = mesh.rim.centres[mesh.rim.arc[edge]]
            radius = np.linalg.norm(mesh.xy[mesh.rim.ends[edge, 0]] - centre)
            nearest = abs(np.linalg.det([b - a, centre - a])) / np.linalg.norm(b - a)
            larger_hole = lower == (
                mesh.rim.terminal[edge] >= 0
            )  # a terminal grows, a free hole shrinks, for the lower
            outside, inside = (
                nearest >= radius * (1 - 1e-12),
                max(np.hypot(*(a - centre)), np.hypot(*(b - centre))) <= radius * (1 + 1e-12),
            )
            assert outside if larger_hole else inside
