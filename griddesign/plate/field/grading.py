"""A first mesh made finer where the field is known to be singular, so that no solve is spent on finding that out.

At an inner corner that turns by ``f`` into the metal the gradient grows like ``s^(-f/(pi + f))``, and the gap of a
triangle of size h that touches it goes with ``h^(2 pi/(pi + f))``, ``h^(4/3)`` at a square corner, whatever the degree
of the functions. So the size wanted there follows from the bracket asked.
"""

import numpy as np

from griddesign.plate.field.domain import Floats, Ints, cross
from griddesign.plate.field.mesh import Mesh
from griddesign.plate.field.refine import refined

_SHARP = np.radians(30.0)  # turn into the metal; a smaller one is hardly singular
_PLAIN = 1e-2  # the bracket of a plate of square corners whose triangles are as long as the strip is wide
_LONG = 1.3  # of the size wanted
_HALVINGS = 8


def graded(mesh: Mesh, tolerance: float) -> Mesh:
    """The mesh halved towards sharp inner corners until the triangles there suit a bracket of ``tolerance``.

    What is as small already, a jagged rim of many short edges, stays as it is.
    """
    halvings = min(_HALVINGS, int(np.ceil(0.75 * np.log2(max(_PLAIN / tolerance, 1.0)))))
    wanted = _LONG * mesh_width(mesh) / 2**halvings
    corners = _sharp_points(mesh, wanted)
    if not len(corners):
        return mesh
    for _ in range(halvings):
        near = np.flatnonzero(np.isin(mesh.triangles, corners).any(axis=1))
        side = mesh.xy[mesh.triangles[near]] - mesh.xy[mesh.triangles[near][:, [1, 2, 0]]]
        marked = np.zeros(len(mesh.triangles), dtype=np.bool_)
        marked[near] = np.hypot(side[:, :, 0], side[:, :, 1]).max(axis=1) > wanted
        if not marked.any():
            break
        mesh = refined(mesh, mesh.edges(), marked, np.array([], dtype=np.intp))
    return mesh


def mesh_width(mesh: Mesh) -> float:
    """Twice the area over the rim's length: the width of a long strip."""
    corner = mesh.xy[mesh.triangles]
    chord = mesh.xy[mesh.rim.ends[:, 1]] - mesh.xy[mesh.rim.ends[:, 0]]
    return float(cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]).sum() / np.hypot(*chord.T).sum())


def _sharp_points(mesh: Mesh, wanted: float) -> Ints:
    """Points of the free rim that turn sharply into the metal between edges longer than ``wanted``."""
    rim = mesh.rim
    chord: Floats = mesh.xy[rim.ends[:, 1]] - mesh.xy[rim.ends[:, 0]]
    back, ahead = np.zeros((2, len(mesh.xy), 2))
    free = rim.terminal < 0
    back[rim.ends[free, 1]], ahead[rim.ends[free, 0]] = chord[free], chord[free]
    turn = np.arctan2(cross(back, ahead), (back * ahead).sum(axis=1))
    shortest = np.minimum(np.hypot(*back.T), np.hypot(*ahead.T))
    return np.flatnonzero((turn < -_SHARP) & (shortest > wanted))
