"""A first triangle mesh of the metal: Delaunay refinement in batches on scipy's Delaunay triangulation.

After J. Ruppert, A Delaunay refinement algorithm for quality 2-dimensional mesh generation, J. Algorithms 18 (1995),
from memory: rim edges that are missing or seen under an obtuse angle are halved, circumcentres of thin triangles become
points. Here each round does so for all edges and for an independent set of triangles at once, and after the first only
for angles so small that they would cost more in the solves than in the mesh.
"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.domain import Bools, Floats, Ints, Rim, cross

if TYPE_CHECKING:
    from scipy.spatial import Delaunay

_THINNEST = 1 / (2 * np.sin(np.radians(20.0)))  # circumradius over shortest edge at the smallest angle wanted
_TOO_THIN = 1 / (2 * np.sin(np.radians(8.0)))  # likewise, of what is still worth a round after the first few
_AFRESH = 300  # points: adding more takes longer than starting again (thousands on one circle: a hundred times longer)
_NEIGHBOURS = 16
_STEEPEST = 3.0  # ratio of neighbours on the rim
_FIRST_ROUNDS = 1
_POINTS = 60_000  # twice as many triangles
_ROUNDS = 8  # of improvement: sharp wedges would be halved for ever
_FAR = np.array([[-2.5, -2.6], [2.6, -2.5], [2.5, 2.6], [-2.6, 2.5]])  # extents: the rim is no hull
_SHAKE = 1e-9  # of the extent: breaks the ties of points on one circle, which cost Qhull half its time
_FLOOR = 1e-7  # of the extent: shorter edges are not split for the sake of a triangle's shape


class Edges(NamedTuple):
    """The edges of a mesh: ``ends`` (e, 2) ascending; ``of_triangle`` (m, 3), side i from corner i to i + 1."""

    ends: Ints
    of_triangle: Ints

    def numbers(self, pairs: Ints, points: int) -> Ints:
        """Which edges join the given pairs of points."""
        keys = self.ends[:, 0] * points + self.ends[:, 1]
        found: Ints = np.searchsorted(keys, pairs.min(axis=1) * points + pairs.max(axis=1))
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Points (n, 2), triangles (m, 3) anticlockwise, and the rim; where the thickness steps the seams, and the part of
    the thickness each triangle is in."""

    xy: Floats
    triangles: Ints
    rim: Rim
    seams: Rim | None = None
    part: Ints | None = None

    @property
    def lines(self) -> Rim:
        """Rim and seams: all edges that keep their place."""
        return self.rim.joined(self.seams)

    def edges(self) -> Edges:
        """All edges, each once."""
        following = self.triangles[:, [1, 2, 0]]
        keys = np.minimum(self.triangles, following) * len(self.xy) + np.maximum(self.triangles, following)
        unique, inverse = np.unique(keys.ravel(), return_inverse=True)
        return Edges(np.column_stack(np.divmod(unique, len(self.xy))), inverse.reshape(-1, 3))


def behind_rim(mesh: Mesh, edges: Edges, *, other: bool = False) -> tuple[Ints, Ints]:
    """The triangle behind each edge of rim and seams (of a seam one of the two, or the ``other``), and which of its
    sides that is."""
    place, turn = np.empty(len(edges.ends), dtype=np.intp), -1 if other else 1
    place[edges.of_triangle.ravel()[::turn]] = np.arange(edges.of_triangle.size)[::turn]
    triangle, side = np.divmod(place[edges.numbers(mesh.lines.ends, len(mesh.xy))], 3)
    return triangle, side


def triangulated(xy: Floats, rim: Rim) -> Mesh:
    """A mesh of the metal inside ``rim`` whose triangles have angles over about 20 degrees where the rim allows it.

    Seams among its edges are kept as edges with metal on both sides.

    Raises:
        GeometryError: the rim cannot be kept, because parts of it cross or all but touch.
    """
    xy, rim = _graded(xy, rim)
    middle, extent = xy.mean(axis=0), float(np.ptp(xy, axis=0).max())
    whole = _delaunay((xy - middle) / extent)
    acute = _acute_corners(xy, rim)
    rounds = 0
    while len(xy) < _POINTS:
        triangles, neighbours = whole.simplices.astype(np.intp) - len(_FAR), whole.neighbors.astype(np.intp)
        edge, missing = _rim_edges(rim, triangles, len(xy))
        inside = _flooded(edge, neighbours)
        split, extra = missing, xy[:0]
        if not len(missing):
            rounds += 1
            thinnest = _THINNEST if rounds <= _FIRST_ROUNDS else _TOO_THIN
            split, extra = _improvements(xy, rim, triangles[inside], edge[inside], _FLOOR * extent, thinnest)
            if rounds == _ROUNDS or not (len(split) or len(extra)):
                return _without_idle_points(xy, triangles[inside], rim)
        fresh = np.concatenate([_split_points(xy, rim, split, acute), extra])
        rim = rim.halved(split, len(xy) + np.arange(len(split)))
        xy = np.concatenate([xy, fresh])
        if len(fresh) > _AFRESH:
            whole = _delaunay((xy - middle) / extent)
        else:
            whole.add_points(_shaken((fresh - middle) / extent))
    raise GeometryError(
        f"the outline wants more than {_POINTS} points to mesh: parts of its rim all but touch, or are far too many",
        hint="Draw it with fewer edges, or mend where edges come nearer to each other than they are long.",
    )


def _without_idle_points(xy: Floats, triangles: Ints, rim: Rim) -> Mesh:
    """The mesh without points that came to lie off the metal: they have no equation."""
    used = np.bincount(triangles.ravel(), minlength=len(xy)) > 0
    if not used.all():
        number = np.cumsum(used) - 1
        xy, triangles, rim = xy[used], number[triangles], replace(rim, ends=number[rim.ends])
    return Mesh(xy, triangles, *rim.parted())


def _delaunay(unit: Floats) -> "Delaunay":
    """The Delaunay triangulation of points within a unit square, after the far points."""
    from scipy.spatial import Delaunay

    return Delaunay(np.concatenate([_FAR, _shaken(unit)]), qhull_options="Qc Q12", incremental=True)


def _graded(xy: Floats, rim: Rim) -> tuple[Floats, Rim]:
    """The rim with edges halved that are much longer than the next ones, which would be found out triangle by triangle
    otherwise."""
    while len(xy) < _POINTS:
        length = np.hypot(*(xy[rim.ends[:, 1]] - xy[rim.ends[:, 0]]).T)
        at_start, at_end = np.empty((2, len(xy)))
        at_start[rim.ends[:, 0]], at_end[rim.ends[:, 1]] = length, length
        least = np.minimum(at_end[rim.ends[:, 0]], at_start[rim.ends[:, 1]])
        long = np.flatnonzero(length > _STEEPEST * np.maximum(least, _FLOOR * length.max()))
        if not len(long):
            break
        xy, rim = np.concatenate([xy, rim.midpoints(xy, long)]), rim.halved(long, len(xy) + np.arange(len(long)))
    return xy, rim


def _acute_corners(xy: Floats, rim: Rim) -> Ints:
    """Points of the rim where two edges meet under less than 60 degrees, on whichever side, or more than two meet."""
    ahead, back = np.zeros((2, len(xy), 2))
    chord = xy[rim.ends[:, 1]] - xy[rim.ends[:, 0]]
    chord /= np.hypot(*chord.T)[:, None]
    ahead[rim.ends[:, 0]], back[rim.ends[:, 1]] = chord, -chord
    sharp = (ahead * back).sum(axis=1) > 0.5
    if rim.sides is not None:
        sharp |= np.bincount(rim.ends.ravel(), minlength=len(xy)) > 2
    return np.flatnonzero(sharp)


def _split_points(xy: Floats, rim: Rim, edges: Ints, acute: Ints) -> Floats:
    """Where to split rim edges: halfway, but at a power of two from an acute corner.

    So the edges of a wedge, or of a slit that narrows to its tip, are split at like distances and let each other be.
    """
    points = rim.midpoints(xy, edges)
    ends = rim.ends[edges]
    sharp = np.isin(ends, acute)
    one = np.flatnonzero((sharp.sum(axis=1) == 1) & (rim.arc[edges] < 0))
    apex = xy[np.where(sharp[one, 0], ends[one, 0], ends[one, 1])]
    other = xy[np.where(sharp[one, 0], ends[one, 1], ends[one, 0])]
    length = np.hypot(*(other - apex).T)
    points[one] = apex + (other - apex) * (2 ** np.round(np.log2(length / 2)) / length)[:, None]
    return points


def _shaken(unit: Floats) -> Floats:
    """Points moved by next to nothing, each its own way, to break the ties of points on one circle."""
    shaken: Floats = unit + _SHAKE * np.sin(1e3 * unit + 3e3 * unit[:, ::-1])
    return shaken


def _rim_edges(rim: Rim, triangles: Ints, points: int) -> tuple[Ints, Ints]:
    """The rim edge opposite each corner of each triangle, -1 where there is none, -2 behind one; edges not found."""
    size = points + len(_FAR)
    seam = np.flatnonzero(rim.ring < 0)
    number = np.append(np.arange(len(rim.ends)), seam)  # a seam is found from both sides
    keys = np.concatenate([rim.ends, rim.ends[seam, ::-1]]) @ [size, 1]
    order = np.argsort(keys)
    keys = keys[order]

    def found(sides: Ints) -> tuple[Ints, Bools]:
        place: Ints = np.minimum(np.searchsorted(keys, sides), len(keys) - 1)
        hits: Bools = np.asarray(keys[place] == sides)
        return order[place], hits

    start, end = triangles[:, [1, 2, 0]], triangles[:, [2, 0, 1]]
    (edge, hit), (_, behind) = found(start * size + end), found(end * size + start)
    missing: Bools = np.ones(len(rim.ends), dtype=np.bool_)
    missing[number[edge[hit]]] = False
    return np.where(hit, number[edge], np.where(behind, -2, -1)), np.flatnonzero(missing)


def _flooded(edge: Ints, neighbours: Ints) -> Ints:
    """The triangles on the metal's side of the rim: those at the rim, and what can be reached from them."""
    inside: Bools = np.asarray((edge >= 0).any(axis=1))
    unknown = np.flatnonzero((edge == -1).all(axis=1) & (neighbours >= 0).all(axis=1))
    while len(unknown):
        reached = inside[neighbours[unknown]].any(axis=1)
        if not reached.any():
            break
        inside[unknown[reached]] = True
        unknown = unknown[~reached]
    return np.flatnonzero(inside)


def _improvements(
    xy: Floats, rim: Rim, triangles: Ints, edge: Ints, floor: float, thinnest: float
) -> tuple[Ints, Floats]:
    """Rim edges to halve and points to add for the sake of triangles thinner than ``thinnest``."""
    corner = xy[triangles]
    side = corner[:, [2, 0, 1]] - corner[:, [1, 2, 0]]
    square = (side**2).sum(axis=2)
    shortest = np.sqrt(square.min(axis=1))
    radius = np.sqrt(square.prod(axis=1)) / (2 * cross(side[:, 0], side[:, 1]))
    obtuse = (2 * square > square.sum(axis=1)[:, None] * (1 + 1e-9)) & (square > floor**2)
    ill = radius > thinnest * shortest
    if thinnest > _THINNEST:
        obtuse &= ill[:, None]
    seen = edge[(edge >= 0) & obtuse & ((edge >= 0).sum(axis=1) == 1)[:, None]]  # else a wedge is halved for ever
    thin = ill & (shortest > floor) & ~_hopeless(rim, triangles, edge, square)
    centres = _circumcentres(corner[thin])
    near, useful = _encroached(xy, rim, centres)
    chosen = _spread(centres[useful], radius[thin][useful])
    return np.union1d(seen, near), centres[useful][chosen]


def _hopeless(rim: Rim, triangles: Ints, edge: Ints, square: Floats) -> Bools:
    """Triangles no point can help: their shortest side runs from rim to rim, across a wedge or a neck.

    Splitting them would chase the tip of the wedge for ever (the "seditious" edges of J. R. Shewchuk's mesher,
    from memory).
    """
    on_rim = np.zeros(int(triangles.max()) + 1, dtype=bool)
    on_rim[rim.ends[:, 0]] = True
    shortest = square.argmin(axis=1)[:, None]
    ends = np.take_along_axis(triangles, (shortest + np.array([1, 2])) % 3, axis=1)
    across: Bools = on_rim[ends].all(axis=1) & (np.take_along_axis(edge, shortest, axis=1)[:, 0] < 0)
    return across


def _circumcentres(corner: Floats) -> Floats:
    """The centres of the circles through the corners (k, 3, 2)."""
    a, b = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    aa, bb = (a**2).sum(axis=1), (b**2).sum(axis=1)
    offset = np.column_stack([b[:, 1] * aa - a[:, 1] * bb, a[:, 0] * bb - b[:, 0] * aa]) / (2 * cross(a, b))[:, None]
    centres: Floats = corner[:, 0] + offset
    return centres


def _encroached(xy: Floats, rim: Rim, centres: Floats) -> tuple[Ints, Bools]:
    """Rim edges with one of ``centres`` in their diametral circle, and which centres are in none, on the metal's side
    of the rim."""
    from scipy.spatial import cKDTree

    if not len(centres):
        return np.array([], dtype=np.intp), np.array([], dtype=bool)
    a, b = xy[rim.ends[:, 0]], xy[rim.ends[:, 1]]
    half = np.hypot(*(b - a).T) / 2
    tree = cKDTree((a + b) / 2, balanced_tree=False, compact_nodes=False)
    distance, edge = (np.asarray(part) for part in tree.query(centres, k=min(4, len(half))))
    inside = distance < half[edge]
    nearest = edge[:, 0] if rim.sides is None else _nearest_rim(a, b, rim.ring >= 0, centres)
    on_metal = cross((b - a)[nearest], centres - a[nearest]) > 0
    return np.unique(edge[inside]), ~inside.any(axis=1) & on_metal


def _nearest_rim(a: Floats, b: Floats, of_rim: Bools, centres: Floats) -> Ints:
    """The edge of the rim, not of a seam, nearest to each of ``centres``."""
    import shapely

    number = np.flatnonzero(of_rim)
    tree = shapely.STRtree(shapely.linestrings(np.stack([a, b], axis=1)[number]))
    nearest: Ints = number[tree.nearest(shapely.points(centres))]
    return nearest


def _spread(centres: Floats, radius: Floats) -> Ints:
    """A subset of the circumcentres, largest circle first, none within 0.8 radius of one taken before.

    Only the next few neighbours of each are looked at, so that the time goes with their number.
    """
    from scipy.spatial import cKDTree

    order = np.argsort(-radius, kind="stable")
    if len(order) < 2:
        return order
    centres, radius = centres[order], radius[order]
    distance, near = cKDTree(centres).query(centres, k=min(_NEIGHBOURS, len(order)))
    before = (near < np.arange(len(order))[:, None]) & (distance <= 0.8 * radius[:, None])
    taken, open_yet = np.zeros((2, len(order)), dtype=bool)
    open_yet[:] = True
    while open_yet.any():
        taken |= open_yet & ~(before & open_yet[near]).any(axis=1)
        open_yet &= ~taken & ~(before & taken[near]).any(axis=1)
    return order[taken]
