"""A solved field made ready to draw: potential and current density at points close enough for smooth lines.

Each triangle of the mesh is cut in four at the middles of its sides, where the quadratic potential has its own values.
"""

from dataclasses import dataclass

import numpy as np

from griddesign.plate.field import Solution
from griddesign.plate.field.domain import Floats, Ints, cross
from griddesign.plate.field.elements import nodes_of
from griddesign.plate.field.peak import mean_width

_FOUR = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])  # corners 0 to 2, middles of sides 01, 12, 20


@dataclass(frozen=True, slots=True, eq=False)
class DrawnField:
    """Points (n, 2) in metres, triangles (m, 3), and at each point the potential, from 0 at the first terminal to 1 at
    the second, and the current density over its mean, ``|grad u| N w``. ``stepped``: the density jumps where the
    thickness does."""

    xy: Floats
    triangles: Ints
    potential: Floats
    density: Floats
    stepped: bool = False


def drawn_field(solution: Solution) -> DrawnField:
    """The field of a solution of degree 2. The density of a point is the mean of the triangles round it; where the
    thickness steps, of those on one side, and the point is there once for either side."""
    mesh = solution.mesh
    edges = mesh.edges()
    nodes = nodes_of(mesh, edges, 2)
    xy, of_triangle = np.concatenate([mesh.xy, mesh.xy[edges.ends].mean(axis=1)]), nodes.of_triangle
    if mesh.seams is not None and mesh.part is not None:
        own, of_triangle = np.unique(mesh.part[:, None] * nodes.total + of_triangle, return_inverse=True)
        xy, of_triangle = xy[own % nodes.total], of_triangle.reshape(-1, 6)
    potential = np.empty(len(xy))
    potential[of_triangle] = solution.both.potential
    triangles = of_triangle[:, _FOUR].reshape(-1, 3)
    scale = solution.bracket.value * mean_width(solution)
    density = scale * _at_points(xy, triangles, potential)
    return DrawnField(xy, triangles, potential, density, mesh.seams is not None)


def _at_points(xy: Floats, triangles: Ints, potential: Floats) -> Floats:
    """The size of the gradient at each point, that of each triangle weighted by its area."""
    corner = xy[triangles]
    opposite = corner[:, [2, 0, 1]] - corner[:, [1, 2, 0]]
    twice = cross(opposite[:, 0], opposite[:, 1])
    rise = (opposite * potential[triangles][:, :, None]).sum(axis=1)
    total = np.bincount(triangles.ravel(), np.repeat(np.hypot(*rise.T), 3), minlength=len(xy))
    mean: Floats = total / np.bincount(triangles.ravel(), np.repeat(twice, 3), minlength=len(xy))
    return mean
