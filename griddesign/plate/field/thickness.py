"""The thickness on a mesh: which part each triangle is in, and its values at the corners of triangles."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.domain import Floats, Ints, Rim, Thickness, cross

if TYPE_CHECKING:
    from griddesign.plate.field.mesh import Edges, Mesh

LEAST = 1e-6
"""Of the thickness: a step that is none."""


def with_parts(mesh: "Mesh", thickness: Thickness | None) -> "Mesh":
    """The mesh with the part of the thickness each triangle is in, its seams turned to have the thicker metal on their
    left: so an arc there has an enclosing and an enclosed position as that of a rim has.

    Raises:
        GeometryError: seams that do not part the metal, thicknesses that are not above zero.
    """
    if thickness is None:
        return mesh
    if mesh.seams is None or not len(mesh.seams.ends):
        return replace(mesh, seams=None, part=_only_part(mesh, thickness))
    edges = mesh.edges()
    left, right = _beside(mesh, mesh.seams)
    part = _flooded(mesh, edges, mesh.seams, left, right)
    mesh = replace(mesh, part=part, seams=_turned(mesh.xy, mesh.seams, thickness))
    corner_thickness(mesh, mesh.xy, thickness)
    return mesh


def _only_part(mesh: "Mesh", thickness: Thickness) -> Ints:
    """The part all the metal is in where no seam runs across it."""
    import shapely

    from griddesign.plate.field.chords import Chords
    from griddesign.plate.field.ring import Ring
    from griddesign.plate.field.seams import parts_at

    corner = mesh.xy[mesh.triangles]
    largest = int(np.argmax(cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])))
    areas = []
    for region in thickness.regions:
        chords = Chords.of([Ring(region.points, region.bulges, np.full(len(region.points), -1))])
        areas.append(shapely.Polygon(chords.lines[:, 0]))
    return np.full(len(mesh.triangles), parts_at(corner[largest].mean(axis=0)[None], areas)[0])


def _beside(mesh: "Mesh", seams: Rim) -> tuple[Ints, Ints]:
    """The triangles on the left and on the right of each seam edge."""
    points = len(mesh.xy)
    sides = (mesh.triangles * points + mesh.triangles[:, [1, 2, 0]]).ravel()
    order = np.argsort(sides)
    left, right = (
        order[np.searchsorted(sides, pair @ np.array([points, 1]), sorter=order)] // 3
        for pair in (seams.ends, seams.ends[:, ::-1])
    )
    return left, right


def _flooded(mesh: "Mesh", edges: "Edges", seams: Rim, left: Ints, right: Ints) -> Ints:
    """The part of each triangle, from those beside the seams to all that no seam parts from them."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    assert seams.sides is not None
    count = len(mesh.triangles)
    passable = np.ones(len(edges.ends), dtype=bool)
    passable[edges.numbers(seams.ends, len(mesh.xy))] = False
    open_sides = passable[edges.of_triangle]
    row, column = np.nonzero(open_sides)[0], count + edges.of_triangle[open_sides]
    size = count + len(edges.ends)
    graph = coo_array((np.ones(len(row), dtype=np.int8), (row, column)), shape=(size, size))
    _, piece = np.unique(connected_components(graph, directed=False)[1][:count], return_inverse=True)
    of_piece = np.full(int(piece.max()) + 1, -1, dtype=np.intp)
    sides = seams.sides[-1 - seams.ring]
    of_piece[piece[left]], of_piece[piece[right]] = sides.T
    if (of_piece < 0).any() or (of_piece[piece[left]] != sides[:, 0]).any() or (
        of_piece[piece[right]] != sides[:, 1]
    ).any():  # fmt: skip
        raise GeometryError(
            "the thickness regions do not part the metal: an edge of one all but touches a rim or another one",
            hint="Let the regions reach over the rim, and keep them apart by more than the tolerance.",
        )
    part: Ints = of_piece[piece]
    return part


def _turned(xy: Floats, seams: Rim, thickness: Thickness) -> Rim:
    """The seams with the thicker metal on the left of every edge. Their arcs end where that changes."""
    assert seams.sides is not None
    left, right = thickness.slopes()[seams.sides[-1 - seams.ring]].transpose(1, 0, 2)
    step = left - right
    start, end = xy[seams.ends[:, 0]], xy[seams.ends[:, 1]]
    places = np.stack([start, end, _between_tangents(seams, start, end)], axis=1)
    higher = step[:, None, 0] + (step[:, None, 1:] * places).sum(axis=2)
    bent = (seams.arc >= 0) & (higher.min(axis=1) < -LEAST) & (higher.max(axis=1) > LEAST)
    assert not bent.any()
    ends = np.where((higher.sum(axis=1) < 0)[:, None], seams.ends[:, ::-1], seams.ends)
    return replace(seams, ends=ends)


def _between_tangents(seams: Rim, start: Floats, end: Floats) -> Floats:
    """Where the tangents at both ends of each round edge meet: the arc lies between that point and its chord."""
    middle: Floats = (start + end) / 2
    bent = seams.arc >= 0
    centre = seams.centres[seams.arc[bent]]
    spoke = middle[bent] - centre
    radius = np.hypot(*(start[bent] - centre).T)
    middle[bent] = centre + spoke * (radius**2 / (spoke**2).sum(axis=1))[:, None]
    return middle


def corner_thickness(mesh: "Mesh", xy: Floats, thickness: Thickness | None) -> Floats | None:
    """Relative thickness at the corners of each triangle (m, 3), the mesh's points being at ``xy``; None for 1.

    Raises:
        GeometryError: it is not above zero everywhere.
    """
    if thickness is None or mesh.part is None:
        return None
    level, *along = thickness.slopes()[mesh.part].T
    corner = xy[mesh.triangles]
    thick: Floats = level[:, None] + along[0][:, None] * corner[:, :, 0] + along[1][:, None] * corner[:, :, 1]
    if not (np.isfinite(thick).all() and (thick > 0).all()):
        raise GeometryError("the thickness must be a finite number above zero at every point of the metal")
    return thick
