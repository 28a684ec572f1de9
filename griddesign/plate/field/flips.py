"""Edges turned where a round seam runs across them.

A first mesh follows an arc by chords. An edge that leaves a point of the arc between chord and tangent lies on the
wrong side of the true arc, however fine the chords get: the triangle between edge and arc is turned over, and cutting
it up only makes more of its like. Such an edge is exchanged for the other diagonal of the two triangles it parts.
"""

from dataclasses import replace

import numpy as np

from griddesign.plate.field.domain import Bools, Floats, Ints, cross
from griddesign.plate.field.mesh import Edges, Mesh


def flipped(mesh: Mesh, edges: Edges, folded: Bools, shapes: tuple[Floats, ...]) -> Mesh | None:
    """The mesh with the longest side of folded triangles exchanged where both new triangles lie right in all of
    ``shapes``, the places of its points; None where that helps none of them."""
    kept = np.zeros(len(edges.ends), dtype=np.bool_)
    kept[edges.numbers(mesh.lines.ends, len(mesh.xy))] = True
    beside = _beside(edges)
    triangles, taken = mesh.triangles.copy(), np.zeros(len(mesh.triangles), dtype=np.bool_)
    for one in np.flatnonzero(folded).tolist():
        side = _longest(mesh, one)
        edge = edges.of_triangle[one, side]
        other = int(beside[edge].sum() - one)
        if kept[edge] or taken[one] or taken[other]:
            continue
        pair = _other_diagonal(mesh.triangles, one, side, other)
        if all(_areas(xy[pair]).min() > 0 for xy in shapes):
            triangles[one], triangles[other] = pair
            taken[one] = taken[other] = True
    return replace(mesh, triangles=triangles) if taken.any() else None


def _beside(edges: Edges) -> Ints:
    """The two triangles at each edge; one and -1 at a rim."""
    order = np.argsort(edges.of_triangle.ravel(), kind="stable")
    owner = order // 3
    first = np.searchsorted(edges.of_triangle.ravel()[order], np.arange(len(edges.ends)))
    count = np.bincount(edges.of_triangle.ravel(), minlength=len(edges.ends))
    second = np.where(count == 2, owner[np.minimum(first + 1, len(owner) - 1)], -1)
    return np.column_stack([owner[first], second])


def _longest(mesh: Mesh, triangle: int) -> int:
    corner = mesh.xy[mesh.triangles[triangle]]
    return int(np.argmax(np.hypot(*(np.roll(corner, -1, axis=0) - corner).T)))


def _other_diagonal(triangles: Ints, one: int, side: int, other: int) -> Ints:
    """The triangles on both sides of the line from the corner of ``one`` facing its ``side`` to that of ``other``."""
    start, end, apex = np.roll(triangles[one], -side)
    far = next(point for point in triangles[other] if point not in (start, end))
    return np.array([(start, far, apex), (far, end, apex)])


def _areas(corner: Floats) -> Floats:
    return cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
