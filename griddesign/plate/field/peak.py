"""Where the current crowds: peak over mean current density, and the fillet that would bring it down.

At an inner corner the current density grows like a power of the distance, ``j ~ s^(-e)``, with ``e = f/(pi + f)`` for
a rim that turns by the angle ``f`` into the metal: 1/3 at a square corner. A sharp one has no finite peak. With a
fillet of radius r the peak is ``C (w/r)^e`` times the mean as long as r is small against what surrounds it.
"""

from dataclasses import dataclass, fields, replace
from typing import Literal

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.bracket import Solution, solved, within_arcs
from griddesign.plate.field.domain import Domain, Floats, Ints, cross
from griddesign.plate.field.elements import (
    MIDDLES,
    conducting,
    energy,
    minimised,
    nodes_of,
    potential_start,
    slopes,
    stiffness,
)
from griddesign.plate.field.fillets import Corners, corners_of, filleted
from griddesign.plate.field.mesh import Edges, Mesh, behind_rim
from griddesign.plate.field.refine import refined
from griddesign.plate.field.solver import BracketError
from griddesign.plate.field.thickness import corner_thickness

Cause = Literal["sharp corner", "fillet", "rim", "step"]

_LONGEST = 1.01 * np.pi / 64  # chord: 32 on a quarter circle; with 8 the peak comes out 12 % high
_NEAR_PEAK = 0.7
_OF_A_KIND, _SAME_SIZE, _SAME_PEAK = 2, 1e-3, 5e-3  # arcs alike that are looked at closely, and what alike means
_BRACKET = 3e-3  # of the first mesh
_WHOLE_HOLE = 1.5 * np.pi
_ROUNDS = 8
_CANDIDATES = 200  # sharp corners tried with fillets
_STRAIGHT = 2 * np.sin(np.radians(7.5))  # two unit vectors along a line that turns by 15 degrees sum up to so much
_TRIAL = 0.05  # of the strip width: radius of the fillets tried on sharp corners


@dataclass(frozen=True, slots=True)
class Crowding:
    """Peak over mean current density, infinite at a sharp corner, and its place.

    ``width`` is the strip width of the mean, ``turn_rad`` how far the rim turns into the metal there (0 where it does
    not), ``constant`` the C of ``peak/mean = C (w/r)^e`` (0 where there is no such law).
    """

    ratio: float
    place: tuple[float, float]
    cause: Cause
    width: float
    turn_rad: float
    constant: float

    @property
    def exponent(self) -> float:
        """How fast the peak falls with the radius of the fillet: e of ``peak/mean = C (w/r)^e``, no unit."""
        return self.turn_rad / (np.pi + self.turn_rad)

    def fillet(self, ratio: float) -> float:
        """The fillet radius at this place that brings the peak to ``ratio`` times the mean, by the law for small radii.

        Raises:
            GeometryError: no fillet acts on this peak, or ``ratio`` is not above 1.
        """
        if not self.constant or not ratio > 1:
            raise GeometryError(
                f"no fillet at {self.place} brings the current density to {ratio:g} times the mean",
                hint="The peak does not come from an inner corner." if not self.constant else "",
            )
        return float(self.width * (self.constant / ratio) ** (1 / self.exponent))


def crowding(domain: Domain, width: float | None = None, solution: Solution | None = None) -> Crowding:
    """Peak over mean current density on the free rim and on both sides of every seam, and where.

    The mean is the current over ``width`` and the nominal thickness; without ``width`` it is that of the strip of that
    thickness with the same volume and squares, ``sqrt(volume/(t0 squares))``. ``solution`` of the same domain saves
    solving it again. Sharp inner corners, at most 200 of those with the most current beside them, are tried with small
    fillets to find out which is the worst and what a fillet would do. The rim within a quarter width of the end of a
    rim terminal is left out, and what is nearer than ``domain.thickness.depth`` to a corner or an end of a seam: there
    a sheet has no peak, a plate with a step in its thickness has. Peaks are good to about 1 %, those by the law to
    about 3 % for radii up to 0.2 w, those beside a round seam to about 3 %.

    Raises:
        GeometryError: as ``squares``.
    """
    fits = solution is not None and solution.bracket.width <= _BRACKET
    coarse = solution if solution is not None and fits else solved(domain, _BRACKET)
    width = width or mean_width(coarse)
    corners = corners_of(domain)
    if not len(corners.points):
        return _peak(_resolved(coarse.mesh, domain, width), width)
    if len(corners.points) > _CANDIDATES:
        corners = _foremost(corners, coarse.mesh, domain, width)
    trial = filleted(domain, corners, _TRIAL * width)
    try:
        rim = _resolved(solved(trial, _BRACKET).mesh, trial, width)
    except BracketError:
        return _untried(corners, coarse.mesh, domain, width)
    nearest, distance = _nearest(rim.places, corners.points)
    turn = corners.turn[nearest]
    at_corner = (abs(rim.turn - turn) < 1e-3) & (distance <= 1.01 * rim.radius * np.tan(turn / 2))
    worst = int(np.argmax(np.where(at_corner, rim.density, 0.0)))
    corner = corners.points[nearest[worst]]
    return replace(_at(rim, worst, width), ratio=float("inf"), place=_point(corner), cause="sharp corner")


def _untried(corners: Corners, mesh: Mesh, domain: Domain, width: float) -> Crowding:
    """The sharp corner with the most current beside it, where the metal is too narrow to try fillets: unbounded, and
    nothing is known of a fillet."""
    rim = _rim_values(mesh, mesh.edges(), domain, width)
    nearest = _nearest(rim.places, corners.points)[0]
    worst = int(nearest[np.argmax(rim.density)])
    turn = float(corners.turn[worst])
    return Crowding(float("inf"), _point(corners.points[worst]), "sharp corner", width, turn, 0.0)


def _foremost(corners: Corners, mesh: Mesh, domain: Domain, width: float) -> Corners:
    """Of very many corners, a jagged rim, those with the most current beside them."""
    rim = _rim_values(mesh, mesh.edges(), domain, width)
    beside = rim.density[_nearest(corners.points, rim.places)[0]]
    most = np.sort(np.argsort(-beside, kind="stable")[:_CANDIDATES])
    return Corners(*(getattr(corners, each.name)[most] for each in fields(corners)))


def mean_width(solution: Solution) -> float:
    """The width of the strip of nominal thickness with the same volume and squares: its mean is the plate's root mean
    square."""
    return float(np.sqrt(solution.cells().sum() / solution.bracket.value))


@dataclass(frozen=True, slots=True, eq=False)
class _RimValues:
    """Of each edge of the rim (the first ``rims``) and of the seams: its middle, current density over current (one over
    length; 0 where it is left out), radius, how far its whole arc turns into the metal (0: straight, outwards, a whole
    hole, a seam) and the angle of its chord."""

    places: Floats
    density: Floats
    radius: Floats
    turn: Floats
    chord: Floats
    rims: int


def _peak(rim: _RimValues, width: float) -> Crowding:
    return _at(rim, int(np.argmax(rim.density)), width)


def _at(rim: _RimValues, edge: int, width: float) -> Crowding:
    """The crowding at one rim edge."""
    ratio, turn = float(rim.density[edge] * width), float(rim.turn[edge])
    constant = ratio * (rim.radius[edge] / width) ** (turn / (np.pi + turn)) if turn > 0 else 0.0
    cause: Cause = "fillet" if turn > 0 else "rim" if edge < rim.rims else "step"
    return Crowding(ratio, _point(rim.places[edge]), cause, width, turn, float(constant))


def _point(place: Floats) -> tuple[float, float]:
    return float(place[0]), float(place[1])


def _nearest(places: Floats, points: Floats) -> tuple[Ints, Floats]:
    """For each place the nearest of ``points`` and its distance."""
    from scipy.spatial import cKDTree

    distance, index = cKDTree(points).query(places)
    return np.asarray(index), np.asarray(distance)


def _resolved(mesh: Mesh, domain: Domain, width: float) -> _RimValues:
    """The current density along the rim, on a mesh whose inner arcs near the peak have fine chords.

    Of many arcs alike, those of return bends, two get them; the others, whose peaks are the same, count as 0.
    """
    stood_for = np.array([], dtype=np.intp)
    for _ in range(_ROUNDS):
        rim = _rim_values(mesh, mesh.edges(), domain, width)
        rim = replace(rim, density=np.where(np.isin(mesh.lines.arc, stood_for), 0.0, rim.density))
        bent = (rim.turn > 0) | (mesh.lines.ring < 0)
        coarse = bent & (rim.chord > _LONGEST) & (rim.density > _NEAR_PEAK * rim.density.max())
        if not coarse.any():
            break
        fine, alike = _two_of_each_kind(mesh.lines.arc, rim, np.flatnonzero(coarse))
        stood_for = np.append(stood_for, alike)
        mesh = _with_fine_chords(mesh, fine)
    return rim


def _two_of_each_kind(arc: Ints, rim: _RimValues, edges: Ints) -> tuple[Ints, Ints]:
    """Of the arcs of ``edges`` the two densest of each kind, and the rest: alike are those of one radius and turn whose
    densities on the same coarse chords agree, since chords overstate the peaks of such arcs by the same."""
    order = edges[np.argsort(-rim.density[edges], kind="stable")]
    lead = order[np.sort(np.unique(arc[order], return_index=True)[1])]
    sizes = np.log(np.column_stack([rim.radius[lead], rim.density[lead]])) / [_SAME_SIZE, _SAME_PEAK]
    kinds = np.round(np.column_stack([sizes, rim.turn[lead] / _SAME_SIZE]))
    kind = np.unique(kinds, axis=0, return_inverse=True)[1].ravel()
    by_kind = np.argsort(kind, kind="stable")
    first = np.searchsorted(kind[by_kind], kind[by_kind])
    place = np.empty(len(kind), dtype=np.intp)
    place[by_kind] = np.arange(len(kind)) - first
    return arc[lead[place < _OF_A_KIND]], arc[lead[place >= _OF_A_KIND]]


def _with_fine_chords(mesh: Mesh, arcs: Ints) -> Mesh:
    """The mesh refined along ``arcs`` until their chords are fine; no solve is needed to know that."""
    while (long := np.isin(mesh.lines.arc, arcs) & (_arcs(mesh)[2] > _LONGEST)).any():
        near = np.asarray(np.isin(mesh.triangles, mesh.lines.ends[long]).any(axis=1))
        mesh = refined(mesh, mesh.edges(), near, np.array([], dtype=np.intp))
    return mesh


def _rim_values(mesh: Mesh, edges: Edges, domain: Domain, width: float) -> _RimValues:
    radius, turn, chord = _arcs(mesh)
    owner = mesh.lines.terminal
    places = mesh.lines.midpoints(mesh.xy, np.arange(len(owner)))
    density = np.where(owner < 0, _density(mesh, edges, domain), 0.0)
    ends = np.intersect1d(mesh.rim.ends[mesh.rim.terminal < 0], mesh.rim.ends[mesh.rim.terminal >= 0])
    if len(ends):
        density[_nearest(places, mesh.xy[ends])[1] < width / 4] = 0.0
    if mesh.seams is not None and domain.thickness is not None and len(corners := _corners_of_seams(mesh)):
        density[_nearest(places, mesh.xy[corners])[1] < domain.thickness.depth] = 0.0
    return _RimValues(places, density, radius, turn, chord, len(mesh.rim.ends))


def _corners_of_seams(mesh: Mesh) -> Ints:
    """Points where seams end, meet or turn by more than 15 degrees."""
    assert mesh.seams is not None
    start, end = mesh.seams.ends.T
    ahead = mesh.xy[end] - mesh.xy[start]
    ahead /= np.hypot(*ahead.T)[:, None]
    out = np.zeros(mesh.xy.shape)
    np.add.at(out, start, ahead)
    np.add.at(out, end, -ahead)
    meeting = np.bincount(mesh.seams.ends.ravel(), minlength=len(mesh.xy))
    turns = (meeting > 0) & ((meeting != 2) | (np.hypot(*out.T) > _STRAIGHT))
    return np.flatnonzero(turns & ~within_arcs(mesh, mesh.seams))


def _density(mesh: Mesh, edges: Edges, domain: Domain) -> Floats:
    """Current density over total current at the middle of each edge of rim and seams, by the quadratic potential; the
    larger of the two on both sides of a seam."""
    nodes = nodes_of(mesh, edges, 2)
    weight = conducting(corner_thickness(mesh, mesh.xy, domain.thickness))
    matrices = stiffness(mesh.xy, mesh.triangles, 2, weight)
    potential = minimised(matrices, nodes, *potential_start(mesh, nodes))
    density = _slope_at(mesh, potential, *behind_rim(mesh, edges))
    if mesh.seams is not None:
        density = np.maximum(density, _slope_at(mesh, potential, *behind_rim(mesh, edges, other=True)))
    over_all: Floats = density / energy(matrices, potential).sum()
    return over_all


def _slope_at(mesh: Mesh, potential: Floats, behind: Ints, side: Ints) -> Floats:
    """The gradient of the potential in triangles ``behind``, in the middle of their ``side``."""
    corner = mesh.xy[mesh.triangles[behind]]
    opposite = corner[:, [2, 0, 1]] - corner[:, [1, 2, 0]]
    hats = (
        np.stack([-opposite[:, :, 1], opposite[:, :, 0]], axis=2) / cross(opposite[:, 0], opposite[:, 1])[:, None, None]
    )
    by_area = np.einsum("kna,kn->ka", slopes(2, MIDDLES)[side], potential[behind])
    slope: Floats = np.hypot(*np.einsum("ka,kad->dk", by_area, hats))
    return slope


def _arcs(mesh: Mesh) -> tuple[Floats, Floats, Floats]:
    """Radius, inward turn (of seams 0) and chord angle of each edge of rim and seams; arcs that share a circle count as
    one."""
    rim = mesh.lines
    radius, turn, chord = np.zeros((3, len(rim.arc)))
    bent = np.flatnonzero(rim.arc >= 0)
    if not len(bent):
        return radius, turn, chord
    start, end = mesh.xy[rim.ends[bent, 0]], mesh.xy[rim.ends[bent, 1]]
    centre = rim.centres[rim.arc[bent]]
    radius[bent] = np.hypot(*(start - centre).T)
    chord[bent] = 2 * np.arcsin(np.hypot(*(end - start).T) / (2 * radius[bent]))
    circle = np.round(np.column_stack([centre, radius[bent]]) / (1e-6 * np.ptp(mesh.xy)))
    _, same = np.unique(circle, axis=0, return_inverse=True)
    whole = np.bincount(same, chord[bent])[same]
    inward = cross(end - start, centre - start) < 0
    turn[bent] = np.where(inward & (whole < _WHOLE_HOLE) & (rim.ring[bent] >= 0), whole, 0.0)
    return radius, turn, chord
