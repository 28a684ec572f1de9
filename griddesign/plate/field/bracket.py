"""Squares between two terminals with a rigorous bracket: solve from both sides, refine where they differ, repeat."""

from dataclasses import dataclass

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.domain import Bools, Domain, Floats, Ints, Rim, Thickness, cross
from griddesign.plate.field.elements import TwoSided, solve_both
from griddesign.plate.field.grading import graded
from griddesign.plate.field.mesh import Edges, Mesh, behind_rim, triangulated
from griddesign.plate.field.refine import refined
from griddesign.plate.field.rim import rim_of
from griddesign.plate.field.solver import BracketError
from griddesign.plate.field.thickness import corner_thickness, with_parts

_LEAST, _MOST = 0.5, 0.8  # of the gap is refined in one round
_ROUNDS = 40
_SLIM = 0.2  # a rim edge shorter than this part of its triangle's longest side is not halved by itself
_TRIANGLES = 120_000  # some 600 MB
_ROUND_OFF = 1e-9
_BANDS = (0.3, 0.03, 0.0)  # of the bracket: how far a rim of very many edges is simplified, tried in turn
_MOST_SIMPLE = 0.6  # of the bracket may be due to that
_FOLDS = 4  # rounds in which triangles may be too coarse for a simplified rim


class _TooSimpleError(Exception):
    """The rim was simplified too far for the bracket."""


@dataclass(frozen=True, slots=True)
class Bracket:
    """Squares (resistance over sheet resistance), true value between ``low`` and ``high``; ``value`` is their mean."""

    low: float
    high: float
    value: float
    triangles: int
    rounds: int

    @property
    def width(self) -> float:
        """The bracket relative to its value: ``(high - low)/value``, no unit."""
        return (self.high - self.low) / self.value


@dataclass(frozen=True, slots=True)
class Solution:
    """The last mesh with both fields on it."""

    mesh: Mesh
    both: TwoSided
    bracket: Bracket
    thickness: Thickness | None = None

    def cells(self) -> Floats:
        """The volume over the nominal thickness of each triangle: its area times its mean relative thickness."""
        corner = self.mesh.xy[self.mesh.triangles]
        area: Floats = 0.5 * cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
        thick = corner_thickness(self.mesh, self.mesh.xy, self.thickness)
        return area if thick is None else area * thick.mean(axis=1)


def squares(domain: Domain, tolerance: float = 1e-3) -> Bracket:
    """Squares of ``domain`` from its first to its second terminal, bracketed to ``high - low <= tolerance * value``.

    Raises:
        GeometryError: rings that cross or touch, terminals that touch, lie off the metal or are not connected.
        BracketError: the bounds crossed or would not close; no number is given then.
    """
    return solved(domain, tolerance).bracket


def solved(domain: Domain, tolerance: float = 1e-3, degree: int = 2) -> Solution:
    """As ``squares``, with the mesh and the fields of the last round; ``degree`` 1 or 2 of the functions on it."""
    if not tolerance > 0:
        raise GeometryError(f"a bracket of {tolerance:g} cannot be reached")
    for band in _BANDS:
        try:
            return _solved(domain, tolerance, degree, band * tolerance)
        except _TooSimpleError:
            continue
    raise BracketError(f"the bracket did not close to {100 * tolerance:g} %")


def _solved(domain: Domain, tolerance: float, degree: int, band: float) -> Solution:
    """As ``solved``, of the rim simplified as far as ``band`` allows.

    Raises:
        _TooSimpleError: the simplified rim is in the way of the bracket.
    """
    mesh = graded(with_parts(triangulated(*rim_of(domain, band)), domain.thickness), tolerance)
    for rounds in range(1, _ROUNDS):
        if len(mesh.triangles) > _TRIANGLES:
            break
        edges = mesh.edges()
        below, above = enclosing_and_enclosed(mesh)
        folded = _folded(mesh, below, above)
        if folded.any():
            _check_folds(mesh, folded, rounds)
            mesh = _unfolded(mesh, edges, folded, (below, above), rounds)
            continue
        both = solve_both(mesh, edges, (below, above), domain.thickness, degree)
        bracket = _bracket(both, len(mesh.triangles), rounds)
        if bracket.width <= tolerance:
            return Solution(mesh, both, bracket, domain.thickness)
        if _gap_of_sleeves(mesh, both) > _MOST_SIMPLE * tolerance * bracket.value:
            raise _TooSimpleError
        mesh = _next(mesh, edges, both, _share(bracket.width, tolerance))
    raise BracketError(
        f"the bracket did not close to {100 * tolerance:g} %: that wants more than {_TRIANGLES} triangles",
        hint=f"Allow a wider bracket, or give the outline fewer edges: its rim came to {len(mesh.rim.ends)}.",
    )


def _bracket(both: TwoSided, triangles: int, rounds: int) -> Bracket:
    """The bounds as a bracket; bounds that crossed are never handed on."""
    if not 0 < both.low <= both.high * (1 + _ROUND_OFF):
        raise BracketError(f"the lower bound {both.low:.9g} lies above the upper bound {both.high:.9g}")
    return Bracket(both.low, both.high, 0.5 * (both.low + both.high), triangles, rounds)


def _share(width: float, tolerance: float) -> float:
    """The part of the gap to refine: most of it while it is wide, no more than is needed in the last round.

    A refined triangle keeps about a third of its gap (a fifth to a half, by what causes it).
    """
    return min(_MOST, max(_LEAST, (1 - 0.8 * tolerance / width) / (1 - 1 / 3)))


def _next(mesh: Mesh, edges: Edges, both: TwoSided, share: float) -> Mesh:
    """The mesh refined where ``share`` of the gap is: triangles for the field, rim edges for the shape of the arcs."""
    chosen = _largest(np.concatenate([np.abs(both.gap - both.bend), _gap_of_arcs(mesh, both)]), share)
    marked, bent = chosen[: len(both.gap)], np.flatnonzero(chosen[len(both.gap) :])
    behind, _ = behind_rim(mesh, edges)
    corner = mesh.xy[mesh.triangles[behind[bent]]]
    longest = np.sqrt(((corner - corner[:, [1, 2, 0]]) ** 2).sum(axis=2).max(axis=1))
    ends = mesh.lines.ends[bent]
    chord = mesh.xy[ends[:, 1]] - mesh.xy[ends[:, 0]]
    slim = np.hypot(*chord.T) < _SLIM * longest
    marked[behind[bent[slim]]] = True
    return refined(mesh, edges, marked, bent[~slim])


def _gap_of_arcs(mesh: Mesh, both: TwoSided) -> Floats:
    """The gap due to the moved points of rim and seams, shared out to the edges they end."""
    inner = _inner_points(mesh)
    moved = inner[mesh.triangles]
    each = np.where(moved, (both.bend / np.maximum(moved.sum(axis=1), 1))[:, None], 0.0)
    by_point = np.abs(np.bincount(mesh.triangles.ravel(), each.ravel(), minlength=len(mesh.xy)))
    lines = mesh.lines
    by_edge: Floats = np.where(lines.arc >= 0, by_point[lines.ends].sum(axis=1) / 2, 0.0)
    return by_edge


def _gap_of_sleeves(mesh: Mesh, both: TwoSided) -> float:
    """The gap due to a simplified rim."""
    sleeved, round_too = np.zeros(len(mesh.xy), dtype=bool), _inner_points(mesh)
    sleeved[mesh.rim.ends[mesh.rim.sleeve >= 0]] = True
    touched = sleeved[mesh.triangles].any(axis=1) & ~round_too[mesh.triangles].any(axis=1)
    return float(both.bend[touched].sum())


def _check_folds(mesh: Mesh, folded: Bools, rounds: int) -> None:
    """Raises _TooSimpleError where refining does not help against triangles turned over by a simplified rim."""
    sleeved = mesh.rim.ends[mesh.rim.sleeve >= 0]
    if rounds >= _FOLDS and np.isin(mesh.triangles[folded], sleeved).any():
        raise _TooSimpleError


def _largest(size: Floats, share: float) -> Bools:
    """The fewest parts that hold ``share`` of the whole."""
    order = np.argsort(-size)
    count = int(np.searchsorted(np.cumsum(size[order]), share * size.sum())) + 1
    marked = np.zeros(len(size), dtype=bool)
    marked[order[:count]] = True
    return marked


def _folded(mesh: Mesh, below: Floats, above: Floats) -> Bools:
    """Triangles that a moved rim would turn over; they are refined until the chords are short enough."""
    folded = np.zeros(len(mesh.triangles), dtype=bool)
    touched = np.flatnonzero((below != above).any(axis=1)[mesh.triangles].any(axis=1))
    for xy in (below, above):
        corner = xy[mesh.triangles[touched]]
        folded[touched] |= cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) <= 0
    return folded


def _unfolded(mesh: Mesh, edges: Edges, folded: Bools, shapes: tuple[Floats, Floats], rounds: int) -> Mesh:
    """A mesh in which fewer triangles are turned over: finer there; at a seam, or where that was in vain, with edges
    exchanged."""
    if mesh.seams is not None or rounds >= _FOLDS:
        from griddesign.plate.field.flips import flipped

        if (turned := flipped(mesh, edges, folded, (mesh.xy, *shapes))) is not None:
            return turned
    return refined(mesh, edges, folded, _arcs_at(mesh, folded))


def _arcs_at(mesh: Mesh, triangles: Bools) -> Ints:
    """The round edges that end at corners of ``triangles``: a point is pushed as far as the longer of its two chords
    asks for, so both have to get shorter."""
    corner, lines = np.zeros(len(mesh.xy), dtype=np.bool_), mesh.lines
    corner[mesh.triangles[triangles]] = True
    return np.flatnonzero((lines.arc >= 0) & corner[lines.ends].any(axis=1))


def enclosing_and_enclosed(mesh: Mesh) -> tuple[Floats, Floats]:
    """Points for the lower bound and for the upper bound of the resistance.

    The chords of an arc lie on one side of it, edges between points pushed out along their radius on the other. For the
    lower bound the metal must be too large, and a terminal too large as well; for the upper bound both too small.
    Points where an arc ends stay; their neighbour is pushed so far that the edge between them is a tangent. Points of a
    simplified rim are moved both ways.
    """
    below, above = _round_rims(mesh, mesh.rim)
    if mesh.seams is not None:
        moves = zip((below, above), _round_rims(mesh, mesh.seams), strict=True)
        below, above = (of_rim + (of_seams - mesh.xy) for of_rim, of_seams in moves)
    rim = mesh.rim
    if not len(rim.sleeves):
        return below, above
    below, above = below.copy(), above.copy()
    points, outward, inward = rim.in_sleeves(mesh.xy)
    terminal = np.repeat(rim.terminal[rim.sleeve >= 0] >= 0, 2)[:, None]
    below[points] = mesh.xy[points] + np.where(terminal, inward, outward)
    above[points] = mesh.xy[points] + np.where(terminal, outward, inward)
    return below, above


def _round_rims(mesh: Mesh, rim: Rim) -> tuple[Floats, Floats]:
    """The two positions due to the arcs of the rim, or of the seams."""
    bent = np.flatnonzero(rim.arc >= 0)
    if not len(bent):
        return mesh.xy, mesh.xy
    start, end = rim.ends[bent].T
    centre = rim.centres[rim.arc[bent]]
    spoke = mesh.xy[start] - centre
    chord = mesh.xy[end] - mesh.xy[start]
    gap = 2 * np.arcsin(np.hypot(*chord.T) / (2 * np.hypot(*spoke.T)))
    inner = within_arcs(mesh, rim)
    push = np.zeros(len(mesh.xy))
    for point, other in ((start, end), (end, start)):
        np.maximum.at(push, point, np.where(inner[other], gap / 2, gap))
    moved = mesh.xy.copy()
    here = inner[start]
    moved[start[here]] = centre[here] + spoke[here] / np.cos(push[start[here]])[:, None]
    convex = cross(chord, -spoke) > 0
    enlarges = np.zeros(len(mesh.xy), dtype=bool)
    enlarges[start[here]] = (convex ^ (rim.terminal[bent] >= 0))[here]
    return np.where(enlarges[:, None], moved, mesh.xy), np.where(enlarges[:, None], mesh.xy, moved)


def _inner_points(mesh: Mesh) -> Bools:
    """Points within an arc of the rim or of a seam."""
    inner = within_arcs(mesh, mesh.rim)
    return inner if mesh.seams is None else inner | within_arcs(mesh, mesh.seams)


def within_arcs(mesh: Mesh, rim: Rim) -> Bools:
    """Points within an arc: the same arc comes in and goes out."""
    came, went = np.full(len(mesh.xy), -1), np.full(len(mesh.xy), -2)
    came[rim.ends[:, 1]], went[rim.ends[:, 0]] = rim.arc, rim.arc
    inner: Bools = (came == went) & (came >= 0)
    return inner
