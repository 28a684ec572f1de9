"""The two solves on one mesh whose energies enclose the resistance.

*From below*: the best continuous, piecewise polynomial potential between the terminals at 0 and 1. Its energy is too
large a conductance. *From above*: the best flow without sources that leaves no free rim and carries one ampere. Its
energy is too large a resistance. The flow is a unit flow along a chain of triangles from terminal to terminal plus the
curl of a continuous stream function of the same degree, constant on every free stretch of the rim, so holes and
bolt-hole terminals need no cut. Both problems then have the same form and size.

At degree 1 this is the pair P1 and Crouzeix-Raviart: the gradient of the latter is the lowest Raviart-Thomas flow
(L. D. Marini, SIAM J. Numer. Anal. 22 (1985), from memory), found here with a third of the unknowns. Degree 2, the
default, needs about a tenth of the triangles for the same bracket.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.domain import Floats, Ints, Thickness, cross
from griddesign.plate.field.mesh import Edges, Mesh
from griddesign.plate.field.solver import equilibrium
from griddesign.plate.field.thickness import corner_thickness

MIDDLES = np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]])  # quadrature exact for degree 2
_NEAR, _FAR = (0.445948490915965, 0.223381589678011), (0.091576213509771, 0.109951743655322)
# Six places and their weights, exact to degree 4: D. A. Dunavant, Int. J. Numer. Methods Eng. 21 (1985), table II.
SIX = np.array([np.roll([1 - 2 * a, a, a], k) for a, _ in (_NEAR, _FAR) for k in range(3)])
_SHARES = np.repeat([_NEAR[1], _FAR[1]], 3)


@dataclass(frozen=True, slots=True, eq=False)
class TwoSided:
    """Both solutions: resistance bounds and node values (m, 3 or 6) of potential and stream function by triangle.

    ``gap`` is each triangle's part of ``high - low``; ``bend`` the part of that which is due to the moved rim.
    """

    low: float
    high: float
    potential: Floats
    stream: Floats
    gap: Floats
    bend: Floats


class Nodes(NamedTuple):
    """Numbered nodes: corners first, then (degree 2) side midpoints; by triangle (m, 3 or 6), by rim edge, in all.

    ``rank`` is the place of each node in an order in which neighbours are near each other.
    """

    of_triangle: Ints
    of_rim: Ints
    total: int
    rank: Ints


def nodes_of(mesh: Mesh, edges: Edges, degree: int) -> Nodes:
    """The nodes of piecewise polynomials of degree 1 or 2."""
    points = len(mesh.xy)
    rank = _rank_of_points(mesh, edges)
    if degree == 1:
        return Nodes(mesh.triangles, mesh.rim.ends, points, rank)
    middles = points + edges.numbers(mesh.rim.ends, points)
    of_triangle = np.concatenate([mesh.triangles, points + edges.of_triangle], axis=1)
    order = np.argsort(np.concatenate([2 * rank, rank[edges.ends].sum(axis=1)]), kind="stable")
    rank = np.empty(len(order), dtype=np.intp)
    rank[order] = np.arange(len(order))
    return Nodes(of_triangle, np.column_stack([mesh.rim.ends, middles]), len(order), rank)


def _rank_of_points(mesh: Mesh, edges: Edges) -> Ints:
    """Places of the points in the order in which they are reached from the first terminal: along a strip."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order

    points = len(mesh.xy)
    ends = np.concatenate([edges.ends, edges.ends[:, ::-1]]).astype(np.int32).T
    graph = coo_array((np.ones(ends.shape[1], dtype=np.int8), tuple(ends)), shape=(points, points)).tocsr()
    first = int(mesh.rim.ends[mesh.rim.terminal == 0].min(initial=points - 1))
    reached = breadth_first_order(graph, first, return_predecessors=False)
    rank = np.full(points, -1, dtype=np.intp)
    rank[reached] = np.arange(len(reached))
    rank[rank < 0] = np.arange(len(reached), points)
    return rank


def slopes(degree: int, places: Floats) -> Floats:
    """Derivatives (places, nodes, 3) of the node functions by the three area coordinates, at area coordinates."""
    if degree == 1:
        return np.broadcast_to(np.eye(3), (len(places), 3, 3))
    corner = np.eye(3) * (4 * places[:, None, :] - 1)
    ahead = np.roll(np.eye(3), 1, axis=1)
    side = 4 * (np.eye(3) * np.roll(places, -1, axis=1)[:, :, None] + ahead * places[:, :, None])
    return np.concatenate([corner, side], axis=1)


def solve_both(
    mesh: Mesh, edges: Edges, shapes: tuple[Floats, Floats], thickness: Thickness | None, degree: int
) -> TwoSided:
    """Lower and upper bound of the squares between terminals 0 and 1.

    ``shapes`` are the mesh's points moved so that its polygon encloses the true metal, and lies within it (both are
    ``mesh.xy`` where no rim is round). The gap between the bounds is shared out to the triangles exactly.

    With a ``thickness`` both stay bounds: the energy of the potential takes it as it is, linear in each triangle, by
    an exact integral; that of the flow takes instead of the reciprocal a parabola nowhere below it (``resisting``).
    Where a seam is round both positions of its points enclose the true step between them.

    Raises:
        GeometryError: no metal between the terminals, or a thickness that is not above zero.
    """
    below, above = shapes
    thick, thick_above = (corner_thickness(mesh, xy, thickness) for xy in shapes)
    nodes = nodes_of(mesh, edges, degree)
    conduct = stiffness(below, mesh.triangles, degree, conducting(thick))
    conduct_above, moved = conduct, np.flatnonzero((below != above).any(axis=1)[mesh.triangles].any(axis=1))
    if len(moved):
        conduct_above = conduct.copy()
        part = None if thick_above is None else thick_above[moved]
        conduct_above[moved] = stiffness(above, mesh.triangles[moved], degree, conducting(part))
    resist = conduct_above
    if thick_above is not None:
        resist = stiffness(above, mesh.triangles, degree, resisting(thick_above))
    potential = minimised(conduct, nodes, *potential_start(mesh, nodes))
    stream = minimised(resist, nodes, *_stream_start(mesh, edges, nodes))
    by_potential, by_stream = energy(conduct, potential), energy(resist, stream)
    low, high = 1 / by_potential.sum(), by_stream.sum()
    gap = by_stream + low**2 * by_potential - 2 * low * _work(stream, potential)
    bend = np.zeros(len(mesh.triangles))
    bend[moved] = low**2 * (by_potential[moved] - energy(conduct_above[moved], potential[moved]))
    return TwoSided(float(low), float(high), potential, stream, gap, bend)


def conducting(thick: Floats | None) -> Floats | None:
    """The weight (m, 6) of the potential's energy from the relative thickness at the corners (m, 3), linear between."""
    return None if thick is None else thick @ SIX.T


def resisting(thick: Floats) -> Floats:
    """The weight (m, 6) of the flow's energy: a parabola in ``s = t/t_mean - 1`` nowhere below ``1/t``.

    ``1/(1 + s) = 1 - s + s^2/(1 + s) <= 1 - s + s^2/(1 + s_least)``, equal to it where the thickness is one.
    """
    mean = thick.mean(axis=1)[:, None]
    share = thick / mean - 1
    there = share @ SIX.T
    weight: Floats = (1 - there + there**2 / (1 + share.min(axis=1)[:, None])) / mean
    return weight


def stiffness(xy: Floats, triangles: Ints, degree: int, weight: Floats | None = None) -> Floats:
    """The element matrices (m, nodes, nodes): integral of ``weight`` grad a . grad b for its node functions.

    ``weight`` (m, 6) is taken at the places ``SIX``; the integral is exact where it is a polynomial of degree 2.
    """
    corner = xy[triangles]
    side = corner[:, [2, 0, 1]] - corner[:, [1, 2, 0]]
    linear: Floats = side @ side.transpose(0, 2, 1) / (2 * cross(side[:, 0], side[:, 1]))[:, None, None]
    if degree == 1:
        return linear if weight is None else linear * (weight @ _SHARES)[:, None, None]
    flat = linear.reshape(-1, 9)
    if weight is None:
        slope = slopes(degree, MIDDLES)
        quadratic: Floats = flat @ (np.einsum("qia,qjb->abij", slope, slope).reshape(9, -1) / 3)
    else:
        slope = slopes(degree, SIX)
        pairs = np.einsum("q,qia,qjb->qabij", _SHARES, slope, slope).reshape(54, -1)
        quadratic = np.concatenate([flat * weight[:, q, None] for q in range(6)], axis=1) @ pairs
    return quadratic.reshape(-1, slope.shape[1], slope.shape[1])


def minimised(matrices: Floats, nodes: Nodes, start: Floats, unknown: Ints, net: Floats | None = None) -> Floats:
    """Node values by triangle of least energy among ``start`` plus a continuous function.

    ``start`` may jump between triangles. ``unknown`` gives each node the number of its unknown: nodes that share one
    move together, -1 stays at ``start``. The unknowns times each row of ``net`` are kept at 0.
    """
    of_node = unknown[nodes.of_triangle]
    size = int(unknown.max()) + 1
    if size == 0:
        return start
    load = -(matrices @ start[:, :, None])[:, :, 0]
    free = of_node >= 0
    sides = [np.bincount(of_node[free], load[free], minlength=size)[:, None]]
    values = equilibrium(matrices, of_node, np.concatenate([*sides, *([] if net is None else [net.T])], axis=1))
    moves = values[:, 0]
    if net is not None and len(net):
        moves = moves - values[:, 1:] @ np.linalg.solve(net @ values[:, 1:], net @ moves)
    moved: Floats = start + np.append(moves, 0.0)[of_node]
    return moved


def energy(matrices: Floats, values: Floats) -> Floats:
    """The energy of node values in each triangle."""
    energies: Floats = ((matrices @ values[:, :, None])[:, :, 0] * values).sum(axis=1)
    return energies


def _work(stream: Floats, potential: Floats) -> Floats:
    """The integral of flow times gradient of potential over each triangle: no matter where its corners are."""
    slope = slopes(1 if stream.shape[1] == 3 else 2, MIDDLES)
    pairs = np.einsum("qia,qja->ij", slope, np.roll(slope, 1, axis=2) - np.roll(slope, -1, axis=2)) / 6
    work: Floats = (stream @ pairs * potential).sum(axis=1)
    return work


def _numbered(tied: Ints) -> Ints:
    """Unknown numbers 0.. for nodes that carry any label; equal labels share one, -1 stays fixed."""
    _, unknown = np.unique(tied, return_inverse=True)
    return unknown.astype(np.intp) - int((tied == -1).any())


def potential_start(mesh: Mesh, nodes: Nodes) -> tuple[Floats, Ints]:
    """Terminal 0 at 0, terminal 1 at 1, any further terminal at one unknown potential."""
    label = nodes.rank.copy()
    fixed = np.zeros(nodes.total)
    owner = mesh.rim.terminal
    for terminal in range(int(owner.max()) + 1):
        there = nodes.of_rim[owner == terminal]
        label[there] = -1 if terminal < 2 else label[there].min()
        fixed[there] = float(terminal == 1)
    return fixed[nodes.of_triangle], _numbered(label)


def _stream_start(mesh: Mesh, edges: Edges, nodes: Nodes) -> tuple[Floats, Ints, Floats]:
    """A unit flow along a chain of triangles; one run of free rim fixed, every other run moving as one.

    A run lies between terminals or is a whole ring. The last part returned has a row for every terminal whose current
    those moves could change and a column for every unknown: the moves are to keep each row's sum at 0.
    """
    label = nodes.rank.copy()
    of_free = nodes.of_rim[mesh.rim.terminal < 0]
    runs, net = _free_runs(mesh)
    first = np.full(net.shape[1], nodes.total)
    np.minimum.at(first, runs, label[of_free].min(axis=1, initial=nodes.total))
    label[of_free] = np.where(runs == 0, -1, first[runs])[:, None]
    if not len(runs):
        label[0] = -1
    corner = _chain_flow(mesh, edges)
    middle = (corner + np.roll(corner, -1, axis=1)) / 2
    start = np.concatenate([corner, middle], axis=1)[:, : nodes.of_triangle.shape[1]]
    unknown = _numbered(label)
    rows = np.zeros((len(net), int(unknown.max()) + 1))
    if len(net):
        rows[:, unknown[of_free[runs > 0, 0]]] = net[:, runs[runs > 0]]
    return start, unknown, rows


def _free_runs(mesh: Mesh) -> tuple[Ints, Floats]:
    """The run each free rim edge is in, and what the runs' values (columns) do to the terminals' currents (rows).

    Runs on both sides of a terminal that lies in one piece must have the same value, so they count as one.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    rim, size = mesh.rim, len(mesh.xy)
    free = rim.terminal < 0
    if not free.any():
        return np.array([], dtype=np.intp), np.zeros((0, 0))
    first, last = rim.ends[free].T
    graph = coo_array((np.ones(len(first), dtype=np.int8), (first, last)), shape=(size, size))
    run_of_point = np.asarray(connected_components(graph, directed=False)[1])
    _, runs = np.unique(run_of_point[first], return_inverse=True)
    of_point = np.full(size, -1)
    of_point[first], of_point[last] = runs, runs
    count = int(runs.max()) + 1
    net = np.zeros((int(rim.terminal.max()) + 1, count))
    for end, sign in ((1, 1.0), (0, -1.0)):
        at, owner = of_point[rim.ends[~free, end]], rim.terminal[~free]
        np.add.at(net, (owner[at >= 0], at[at >= 0]), sign)
    single = net[(np.abs(net).sum(axis=1) == 2) & (net.max(axis=1) == 1)]
    pairs = coo_array((np.ones(len(single)), (single.argmax(axis=1), single.argmin(axis=1))), shape=(count, count))
    merged = np.asarray(connected_components(pairs, directed=False)[1])
    together = np.zeros((count, int(merged.max()) + 1))
    together[np.arange(count), merged] = 1
    net = net @ together
    return merged[runs].astype(np.intp), net[np.any(net != 0, axis=1)][:-1]


def _chain_flow(mesh: Mesh, edges: Edges) -> Floats:
    """Corner values of a stream function, jumping between triangles, whose flow runs from terminal 0 to terminal 1."""
    walk = _chain(mesh, edges)
    chain, sides = walk[1::2], edges.of_triangle[walk[1::2]]
    enter = (sides == walk[:-1:2, None]).argmax(axis=1)
    leave = (sides == walk[2::2, None]).argmax(axis=1)
    values = np.zeros((len(edges.of_triangle), 3))
    onward = (leave - enter) % 3 == 1  # the two sides share the corner where the entered one ends
    values[chain, np.where(onward, leave, enter)] = np.where(onward, -1.0, 1.0)
    return values


def _chain(mesh: Mesh, edges: Edges) -> Ints:
    """The shortest way from terminal 0 to terminal 1: edge, triangle, edge, ..., edge."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order

    count, edge_count = len(mesh.triangles), len(edges.ends)
    on_rim = edges.numbers(mesh.rim.ends, len(mesh.xy))
    source, sink = count + edge_count, count + edge_count + 1  # after a node for each triangle and each edge
    blocked = np.zeros(edge_count, dtype=bool)
    blocked[on_rim[(mesh.rim.terminal < 0) | (mesh.rim.terminal > 1)]] = True
    open_sides = ~blocked[edges.of_triangle]
    row, column = np.nonzero(open_sides)[0], count + edges.of_triangle[open_sides]
    first, last = (count + on_rim[mesh.rim.terminal == terminal] for terminal in (0, 1))
    row = np.concatenate([row, np.full(len(first), source), np.full(len(last), sink)]).astype(np.int32)
    column = np.concatenate([column, first, last]).astype(np.int32)
    graph = coo_array((np.ones(len(row), dtype=np.int8), (row, column)), shape=(sink + 1,) * 2).tocsr()
    before = breadth_first_order(graph, source, directed=False)[1].tolist()
    if before[sink] < 0:
        raise GeometryError("the terminals are not connected: no metal lies between them")
    walk = [before[sink]]
    while before[walk[-1]] != source:
        walk.append(before[walk[-1]])
    steps = np.array(walk[::-1])
    steps[::2] -= count
    return steps
