"""Red-green-blue refinement: marked triangles in four, their neighbours in two or three, so that no corner hangs.

The longest side of a triangle is halved whenever any of its sides is, which keeps angles from degenerating (M. C.
Rivara, Int. J. Numer. Methods Eng. 20 (1984); S. Funken, D. Praetorius, P. Wissgott, Comput. Methods Appl. Math. 11
(2011) for the array form; both from memory). New points of a round rim go onto the true arc.
"""

import numpy as np

from griddesign.plate.field.domain import Bools, Ints
from griddesign.plate.field.mesh import Edges, Mesh


def refined(mesh: Mesh, edges: Edges, marked: Bools, bent: Ints) -> Mesh:
    """The mesh with every triangle of the mask ``marked`` cut in four and the edges ``bent`` of ``mesh.lines`` in two.

    A rim edge in ``bent`` counts as the longest side of its triangle, so that a chord can come nearer to its arc at the
    price of one triangle. ``edges`` are ``mesh.edges()``.
    """
    lines = mesh.lines
    on_rim = edges.numbers(lines.ends, len(mesh.xy))
    triangles, sides = _longest_side_first(mesh, edges, on_rim[bent])
    halved = np.zeros(len(edges.ends), dtype=bool)
    halved[sides[marked]] = True
    halved[on_rim[bent]] = True
    while len(more := np.flatnonzero(halved[sides[:, 1:]].any(axis=1) & ~halved[sides[:, 0]])):
        halved[sides[more, 0]] = True
    middle = np.where(halved, len(mesh.xy) + np.cumsum(halved) - 1, -1)
    xy = np.concatenate([mesh.xy, mesh.xy[edges.ends[halved]].mean(axis=1)])
    cut = np.flatnonzero(halved[on_rim])
    xy[middle[on_rim[cut]]] = lines.midpoints(mesh.xy, cut)
    children, parents = _children(triangles, middle[sides])
    part = None if mesh.part is None else mesh.part[parents]
    return Mesh(xy, children, *lines.halved(cut, middle[on_rim[cut]]).parted(), part)


def _longest_side_first(mesh: Mesh, edges: Edges, first: Ints) -> tuple[Ints, Ints]:
    """Corners and sides of each triangle turned so that its longest side, or one of ``first``, is side 0."""
    length = ((mesh.xy[edges.ends[:, 0]] - mesh.xy[edges.ends[:, 1]]) ** 2).sum(axis=1)
    length[first] = np.inf
    turn = (length[edges.of_triangle].argmax(axis=1)[:, None] + [0, 1, 2]) % 3
    return np.take_along_axis(mesh.triangles, turn, axis=1), np.take_along_axis(edges.of_triangle, turn, axis=1)


def _children(triangles: Ints, middle: Ints) -> tuple[Ints, Ints]:
    """All triangles after the cut and which one each was a part of; ``middle`` is the new point of each side, -1 where
    there is none."""
    a, b, c = triangles.T
    ab, bc, ca = middle.T
    patterns = {
        (False, False, False): ((a, b, c),),
        (True, False, False): ((c, a, ab), (b, c, ab)),
        (True, True, False): ((c, a, ab), (ab, b, bc), (ab, bc, c)),
        (True, False, True): ((b, c, ab), (a, ab, ca), (ca, ab, c)),
        (True, True, True): ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)),
    }
    kinds = (middle >= 0) @ [1, 2, 4]
    parts: list[Ints] = []
    parents: list[Ints] = []
    for pattern, children in patterns.items():
        of_kind = np.flatnonzero(kinds == np.dot(pattern, [1, 2, 4]))
        parts += [np.column_stack([corner[of_kind] for corner in child]) for child in children]
        parents += [of_kind] * len(children)
    return np.concatenate(parts), np.concatenate(parents)
