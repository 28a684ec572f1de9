"""A first triangle mesh of the metal: Delaunay refinement in batches on scipy's Delaunay triangulation.

After J. Ruppert, A Delaunay refinement algorithm for quality 2-dimensional mesh generation, J. Algorithms 18 (1995):
rim edges that are missing or seen under an obtuse angle are halved, circumcentres of thin triangles become points. Here
each round does so for all edges and for an independent set of triangles at once.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.domain import Bools, Floats, Ints, Rim, cross

_THINNEST = 1 / (2 * np.sin(np.radians(20.0)))  # circumradius over shortest edge at the smallest angle wanted
_ROUNDS = 80
_SHAKE = 1e-9  # of the extent: breaks the ties of points on one circle, which cost Qhull half its time
_FLOOR = 1e-5  # of the extent: shorter edges are not split for the sake of a triangle's shape


class Edges(NamedTuple):
    """The edges of a mesh: ``ends`` (e, 2) ascending; ``of_triangle`` (m, 3), side i from corner i to i + 1."""

    ends: Ints
    of_triangle: Ints

    def numbers(self, pairs: Ints, points: int) -> Ints:
        """Which edges join the given pairs of points."""
        keys = self.ends[:, 0] * points + self.ends[:, 1]
        return np.searchsorted(keys, pairs.min(axis=1) * points + pairs.max(axis=1))


@dataclass(frozen=True, slots=True)
class Mesh:
    """Points (n, 2), triangles (m, 3) anticlockwise, and the rim."""

    xy: Floats
    triangles: Ints
    rim: Rim

    def edges(self) -> Edges:
        """All edges, each once."""
        following = self.triangles[:, [1, 2, 0]]
        keys = np.minimum(self.triangles, following) * len(self.xy) + np.maximum(self.triangles, following)
        unique, inverse = np.unique(keys.ravel(), return_inverse=True)
        return Edges(np.column_stack(np.divmod(unique, len(self.xy))), inverse.reshape(-1, 3))


def triangulated(xy: Floats, rim: Rim) -> Mesh:
    """A mesh of the metal inside ``rim`` whose triangles have angles over about 20 degrees where the rim allows it.

    Raises:
        GeometryError: the rim cannot be kept, because parts of it cross or all but touch.
    """
    floor = _FLOOR * float(np.ptp(xy, axis=0).max())
    for _ in range(_ROUNDS):
        triangles, missing = _inside(xy, rim)
        split, extra = (missing, xy[:0]) if len(missing) else _improvements(xy, rim, triangles, floor)
        if not len(split) and not len(extra):
            return Mesh(xy, triangles, rim)
        middle = len(xy) + np.arange(len(split))
        xy, rim = np.concatenate([xy, rim.midpoints(xy, split), extra]), rim.halved(split, middle)
    raise GeometryError(f"no mesh after {_ROUNDS} rounds and {len(xy)} points: parts of the rim all but touch")


def _inside(xy: Floats, rim: Rim) -> tuple[Ints, Ints]:
    """Delaunay triangles within the rim, and the rim edges that are no edges of the triangulation."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import Delaunay

    low, high = xy.min(axis=0), xy.max(axis=0)
    far = low + (high - low).max() * np.array([[-2.0, -2.1], [3.1, -2.0], [3.0, 3.1], [-2.1, 3.0]])
    shaken = np.sin(np.arange(2.0 * len(xy)) ** 2).reshape(-1, 2) * _SHAKE * (high - low).max()
    whole = Delaunay(np.concatenate([xy + shaken, far]))
    triangles, size = whole.simplices.astype(np.intp), len(xy) + 4
    sides = triangles[:, [1, 2, 0]] * size + triangles[:, [2, 0, 1]]
    wanted = rim.ends[:, 0] * size + rim.ends[:, 1]
    missing = np.flatnonzero(~np.isin(wanted, sides))
    if len(missing):
        return triangles, missing
    on_rim = np.isin(sides, wanted)
    walls = on_rim | np.isin(sides, rim.ends[:, 1] * size + rim.ends[:, 0])
    near, side = np.nonzero(~walls & (whole.neighbors >= 0))
    links = coo_array((np.ones(len(near), dtype=np.int8), (near, whole.neighbors[near, side])), shape=(len(triangles),) * 2)
    _, region = connected_components(links, directed=False)
    return triangles[np.isin(region, region[on_rim.any(axis=1)])], missing


def _improvements(xy: Floats, rim: Rim, triangles: Ints, floor: float) -> tuple[Ints, Floats]:
    """Rim edges to halve and points to add for the sake of thin triangles."""
    corner = xy[triangles]
    side = corner[:, [2, 0, 1]] - corner[:, [1, 2, 0]]
    square = (side**2).sum(axis=2)
    shortest = np.sqrt(square.min(axis=1))
    radius = np.sqrt(square.prod(axis=1)) / (2 * cross(side[:, 0], side[:, 1]))
    edge = _rim_edges(rim, triangles, len(xy))
    seen = edge[(edge >= 0) & (2 * square > square.sum(axis=1)[:, None] * (1 + 1e-9)) & (square > floor**2)]
    thin = (radius > _THINNEST * shortest) & (shortest > floor) & ~_in_wedge(edge, square)
    centres = _circumcentres(corner[thin])
    near, blocked = _encroached(xy, rim, centres)
    chosen = _spread(centres[~blocked], radius[thin][~blocked])
    return np.union1d(seen, near), centres[~blocked][chosen]


def _rim_edges(rim: Rim, triangles: Ints, points: int) -> Ints:
    """The rim edge opposite each corner of each triangle, -1 where there is none."""
    keys = rim.ends[:, 0] * points + rim.ends[:, 1]
    order = np.argsort(keys)
    sides = triangles[:, [1, 2, 0]] * points + triangles[:, [2, 0, 1]]
    place = np.minimum(np.searchsorted(keys[order], sides), len(keys) - 1)
    return np.where(keys[order][place] == sides, order[place], -1)


def _in_wedge(edge: Ints, square: Floats) -> Bools:
    """Triangles whose smallest angle lies between two rim edges: no point can help them."""
    smallest = square.argmin(axis=1)[:, None]
    wedge: Bools = (np.take_along_axis(edge, (smallest + [1, 2]) % 3, axis=1) >= 0).all(axis=1)
    return wedge


def _circumcentres(corner: Floats) -> Floats:
    """The centres of the circles through the corners (k, 3, 2)."""
    a, b = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    aa, bb = (a**2).sum(axis=1), (b**2).sum(axis=1)
    offset = np.column_stack([b[:, 1] * aa - a[:, 1] * bb, a[:, 0] * bb - b[:, 0] * aa]) / (2 * cross(a, b))[:, None]
    centres: Floats = corner[:, 0] + offset
    return centres


def _encroached(xy: Floats, rim: Rim, centres: Floats) -> tuple[Ints, Bools]:
    """Rim edges with one of ``centres`` in their diametral circle, and which of the centres those are."""
    from scipy.spatial import cKDTree

    a, b = xy[rim.ends[:, 0]], xy[rim.ends[:, 1]]
    half = np.hypot(*(b - a).T) / 2
    distance, edge = cKDTree((a + b) / 2).query(centres, k=min(4, len(half)))
    inside = distance < half[edge]
    return np.unique(edge[inside]), inside.any(axis=1)


def _spread(centres: Floats, radius: Floats) -> list[int]:
    """A subset of the circumcentres, largest circle first, none within 0.8 radius of one taken before."""
    taken: list[int] = []
    free = np.ones(len(radius), dtype=bool)
    for index in np.argsort(-radius):
        if free[index]:
            taken.append(int(index))
            free &= ((centres - centres[index]) ** 2).sum(axis=1) > (0.8 * radius) ** 2
    return taken
