"""The two solves on one mesh whose energies enclose the resistance.

*From below*: the best continuous, piecewise polynomial potential between the terminals at 0 and 1. Its energy is too
large a conductance. *From above*: the best flow without sources that leaves no free rim and carries one ampere. Its
energy is too large a resistance. The flow is a unit flow along a chain of triangles from terminal to terminal plus the
curl of a continuous stream function of the same degree, constant on every ring of the rim, so holes and bolt-hole
terminals need no cut. Both problems then have the same form and size.

At degree 1 this is the pair P1 and Crouzeix-Raviart: the gradient of the latter is the lowest Raviart-Thomas flow
(L. D. Marini, SIAM J. Numer. Anal. 22 (1985)), found here with a third of the unknowns. Degree 2, the default, needs
about a tenth of the triangles for the same bracket.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.domain import Floats, Ints, Thickness, cross
from griddesign.plate.field.mesh import Edges, Mesh

MIDDLES = np.array([[0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]])  # quadrature exact for degree 2


@dataclass(frozen=True, slots=True)
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
    """Numbered nodes: corners first, then (degree 2) side midpoints; by triangle (m, 3 or 6), by rim edge, in all."""

    of_triangle: Ints
    of_rim: Ints
    total: int


def nodes_of(mesh: Mesh, edges: Edges, degree: int) -> Nodes:
    """The nodes of piecewise polynomials of degree 1 or 2."""
    points = len(mesh.xy)
    if degree == 1:
        return Nodes(mesh.triangles, mesh.rim.ends, points)
    middles = points + edges.numbers(mesh.rim.ends, points)
    of_triangle = np.concatenate([mesh.triangles, points + edges.of_triangle], axis=1)
    return Nodes(of_triangle, np.column_stack([mesh.rim.ends, middles]), points + len(edges.ends))


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

    With a ``thickness`` that varies within triangles the energies are integrals by a rule of second order; the bracket
    is as rigorous as that rule, whose error falls faster than the gap.

    Raises:
        GeometryError: no metal between the terminals, or a thickness that is not above zero.
    """
    below, above = shapes
    thick = side_thickness(mesh, thickness)
    nodes = nodes_of(mesh, edges, degree)
    conduct = stiffness(below, mesh.triangles, degree, thick)
    conduct_above = conduct if above is below else stiffness(above, mesh.triangles, degree, thick)
    resist = conduct_above if thick is None else stiffness(above, mesh.triangles, degree, 1 / thick)
    potential = minimised(conduct, nodes, *potential_start(mesh, nodes))
    stream = minimised(resist, nodes, *_stream_start(mesh, edges, nodes))
    by_potential, by_stream = energy(conduct, potential), energy(resist, stream)
    low, high = 1 / by_potential.sum(), by_stream.sum()
    gap = by_stream + low**2 * by_potential - 2 * low * _work(stream, potential)
    bend = low**2 * (by_potential - energy(conduct_above, potential))
    return TwoSided(float(low), float(high), potential, stream, gap, bend)


def side_thickness(mesh: Mesh, thickness: Thickness | None) -> Floats | None:
    """Relative thickness at the middle of each side of each triangle (m, 3), None for 1 everywhere."""
    if thickness is None:
        return None
    middle = (mesh.xy[mesh.triangles] + mesh.xy[mesh.triangles[:, [1, 2, 0]]]) / 2
    thick: Floats = np.asarray(thickness(middle[:, :, 0], middle[:, :, 1]), dtype=float)
    if thick.shape != middle.shape[:2] or not (np.isfinite(thick).all() and (thick > 0).all()):
        raise GeometryError("the thickness must be a finite number above zero at every point of the metal")
    return thick


def stiffness(xy: Floats, triangles: Ints, degree: int, weight: Floats | None = None) -> Floats:
    """The element matrices (m, nodes, nodes): integral of ``weight`` grad a . grad b for its node functions.

    ``weight`` (m, 3) is taken at the side middles, a rule that is exact to degree 2.
    """
    corner = xy[triangles]
    side = corner[:, [2, 0, 1]] - corner[:, [1, 2, 0]]
    linear: Floats = side @ side.transpose(0, 2, 1) / (2 * cross(side[:, 0], side[:, 1]))[:, None, None]
    if degree == 1:
        return linear if weight is None else linear * weight.mean(axis=1)[:, None, None]
    slope = slopes(degree, MIDDLES)
    pairs = np.einsum("qia,qjb->qabij", slope, slope).reshape(3, 9, -1) / 3
    flat = linear.reshape(-1, 9)
    if weight is None:
        quadratic: Floats = flat @ pairs.sum(axis=0)
    else:
        quadratic = np.concatenate([flat * weight[:, q, None] for q in range(3)], axis=1) @ pairs.reshape(27, -1)
    return quadratic.reshape(-1, slope.shape[1], slope.shape[1])


def minimised(matrices: Floats, nodes: Nodes, start: Floats, unknown: Ints) -> Floats:
    """Node values by triangle of least energy among ``start`` plus a continuous function.

    ``start`` may jump between triangles. ``unknown`` gives each node the number of its unknown: nodes that share one
    move together, -1 stays at ``start``.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import splu

    of_node = unknown[nodes.of_triangle]
    size = int(unknown.max()) + 1
    if size == 0:
        return start
    load = -(matrices @ start[:, :, None])[:, :, 0]
    free = of_node >= 0
    both = free[:, :, None] & free[:, None, :]
    row, column = np.broadcast_to(of_node[:, :, None], both.shape), np.broadcast_to(of_node[:, None, :], both.shape)
    matrix = coo_array(
        (matrices[both], (row[both].astype(np.int32), column[both].astype(np.int32))), shape=(size, size)
    )
    factors = splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    values = np.append(factors.solve(np.bincount(of_node[free], load[free], minlength=size)), 0.0)
    moved: Floats = start + values[of_node]
    return moved


def energy(matrices: Floats, values: Floats) -> Floats:
    """The energy of node values in each triangle."""
    energies: Floats = ((matrices @ values[:, :, None])[:, :, 0] * values).sum(axis=1)
    return energies


def _work(stream: Floats, potential: Floats) -> Floats:
    """The integral of flow times gradient of potential over each triangle: no matter where its corners are."""
    slope = slopes(1 if stream.shape[1] == 3 else 2, MIDDLES)
    flow, rise = np.einsum("qia,ki->kqa", slope, stream), np.einsum("qia,ki->kqa", slope, potential)
    work: Floats = (flow * (np.roll(rise, 1, axis=2) - np.roll(rise, -1, axis=2))).sum(axis=(1, 2)) / 6
    return work


def _numbered(tied: Ints) -> Ints:
    """Unknown numbers 0.. for nodes that carry any label; equal labels share one, -1 stays fixed."""
    _, unknown = np.unique(tied, return_inverse=True)
    return unknown.astype(np.intp) - int((tied == -1).any())


def potential_start(mesh: Mesh, nodes: Nodes) -> tuple[Floats, Ints]:
    """Terminal 0 at 0, terminal 1 at 1, any further terminal at one unknown potential."""
    label = np.arange(nodes.total)
    fixed = np.zeros(nodes.total)
    owner = mesh.rim.terminal
    for terminal in range(int(owner.max()) + 1):
        there = nodes.of_rim[owner == terminal]
        label[there] = -1 if terminal < 2 else nodes.total + terminal
        fixed[there] = float(terminal == 1)
    return fixed[nodes.of_triangle], _numbered(label)


def _stream_start(mesh: Mesh, edges: Edges, nodes: Nodes) -> tuple[Floats, Ints]:
    """A unit flow along a chain of triangles; one ring of the rim fixed, every other ring moving as one."""
    label = np.arange(nodes.total)
    free = mesh.rim.terminal < 0
    rings = mesh.rim.ring[free]
    label[nodes.of_rim[free]] = np.where(rings == rings.min(initial=len(label)), -1, nodes.total + rings)[:, None]
    if not free.any():
        label[0] = -1
    corner = _chain_flow(mesh, edges)
    middle = (corner + np.roll(corner, -1, axis=1)) / 2
    return np.concatenate([corner, middle], axis=1)[:, : nodes.of_triangle.shape[1]], _numbered(label)


def _chain_flow(mesh: Mesh, edges: Edges) -> Floats:
    """Corner values of a stream function, jumping between triangles, whose flow runs from terminal 0 to terminal 1."""
    chain = _chain(mesh, edges)
    sides = edges.of_triangle[[triangle for triangle, _, _ in chain]]
    enter = (sides == np.array([edge for _, edge, _ in chain])[:, None]).argmax(axis=1)
    leave = (sides == np.array([edge for _, _, edge in chain])[:, None]).argmax(axis=1)
    values = np.zeros((len(edges.of_triangle), 3))
    onward = (leave - enter) % 3 == 1  # the two sides share the corner where the entered one ends
    pivot = np.where(onward, leave, enter)
    values[[triangle for triangle, _, _ in chain], pivot] = np.where(onward, -1.0, 1.0)
    return values


def _chain(mesh: Mesh, edges: Edges) -> list[tuple[int, int, int]]:
    """Triangles from terminal 0 to terminal 1, each with the edges by which it is entered and left."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order

    count, edge_count = len(mesh.triangles), len(edges.ends)
    on_rim = edges.numbers(mesh.rim.ends, len(mesh.xy))
    nodes = np.arange(edge_count) + count  # a graph of triangles and edges; two more nodes are the terminals
    source, sink = count + edge_count, count + edge_count + 1
    blocked = np.zeros(edge_count, dtype=bool)
    blocked[on_rim[(mesh.rim.terminal < 0) | (mesh.rim.terminal > 1)]] = True
    open_sides = ~blocked[edges.of_triangle]
    row, column = np.nonzero(open_sides)[0], nodes[edges.of_triangle[open_sides]]
    first, last = nodes[on_rim[mesh.rim.terminal == 0]], nodes[on_rim[mesh.rim.terminal == 1]]
    row = np.concatenate([row, np.full(len(first), source), np.full(len(last), sink)])
    graph = coo_array(
        (np.ones(len(row), dtype=np.int8), (row, np.concatenate([column, first, last]))), shape=(sink + 1,) * 2
    )
    _, before = breadth_first_order(graph.tocsr(), source, directed=False)
    if before[sink] < 0:
        raise GeometryError("the terminals are not connected: no metal lies between them")
    walk = [sink]
    while walk[-1] != source:
        walk.append(int(before[walk[-1]]))
    walk = walk[-2:0:-1]  # edge, triangle, edge, ..., edge
    return [(walk[i], walk[i - 1] - count, walk[i + 1] - count) for i in range(1, len(walk), 2)]
