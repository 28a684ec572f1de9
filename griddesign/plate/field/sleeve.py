"""Outlines of very many short edges, simplified without losing the bracket.

A ring traced or chorded a thousand times finer than the bracket needs is replaced by fewer corners, all of them points
of the ring. Each long edge lies in a *sleeve*: a quadrilateral between an edge moved out and one moved in, shared at
its ends with those of the next ones, in which the true ring is found to run. So the corners moved out enclose the metal
and those moved in are enclosed by it, as it is with the two positions of a round rim; what the sleeve is wide, the
bracket is wider. An edge whose stretch of the ring leaves its sleeve is halved, down to the ring's own edges.
"""

from dataclasses import dataclass

import numpy as np

from griddesign.plate.field.domain import Bools, Floats, Ints, cross
from griddesign.plate.field.ring import Ring

_MANY = 400  # points of a ring that is worth it
_FEWER = 0.8  # of the points may be left, or it is not worth it
_WIDEST = 0.05  # sleeve tried first, of the mean strip width
_END = 0.1  # of the mean strip width: a long edge is cut so far from its ends
_LEAST_COSINE = 0.5  # of half the turn at a moved corner
_INWARD = np.pi / 39  # turn of one corner into the metal: peaks of current density want 20 chords a quarter
_SLACK, _LEAST = 1 + 1e-9, 1e-12  # for round-off: of the moves, and of the extent
_ROUNDS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Sleeved:
    """A ring and how far each of its points is moved ``outward`` and ``inward`` (n, 2) to enclose and be enclosed."""

    ring: Ring
    outward: Floats
    inward: Floats

    @classmethod
    def exact(cls, ring: Ring) -> "Sleeved":
        """The ring as it is."""
        nought = np.zeros(ring.points.shape)
        return cls(ring, nought, nought)

    def band(self) -> float:
        """The area between the enclosing and the enclosed ring, in the square of the unit of the points."""
        wide = np.hypot(*(self.outward - self.inward).T)
        return float((np.hypot(*self.ring.steps().T) * (wide + np.roll(wide, -1)) / 2).sum())


def sleeved(rings: list[Ring], width: float, band: float) -> list[Sleeved]:
    """The rings with as few points as an area of ``band`` between the enclosing and the enclosed ones allows.

    ``width`` is the mean width of the strip. Rings come back as they are where little would be gained.
    """
    exact = [Sleeved.exact(ring) for ring in rings]
    many = [number for number, ring in enumerate(rings) if len(ring.points) >= _MANY]
    if not band > 0 or not many or sum(_least_loss(rings[number]) for number in many) > band:
        return exact
    finer = {number: _with_ends(rings[number], _END * width) for number in many}
    kept = {number: _cornerstones(ring) | added for number, (ring, added) in finer.items()}
    most, height = _FEWER * sum(len(rings[number].points) for number in many), _WIDEST * width
    while True:
        found = {number: _fitted(finer[number][0], keep, height, most) for number, keep in kept.items()}
        if sum(int(keep.sum()) for keep in kept.values()) > most:
            return exact
        if sum(each.band() for each in found.values()) <= band:
            return [found.get(number, each) for number, each in enumerate(exact)]
        height /= 2


def _least_loss(ring: Ring) -> float:
    """The area lost where the half of the points that matters least goes: of a jagged rim that is too much already."""
    ahead, back = ring.steps(), np.roll(ring.steps(), 1, axis=0)
    return float(np.sort(np.abs(cross(back, ahead)) / 2)[: len(ahead) // 2].sum())


def _with_ends(ring: Ring, reach: float) -> tuple[Ring, Bools]:
    """The ring with a point more at ``reach`` from both ends of every long straight edge, and which those are.

    Without them the sleeve of the edge before would taper off over the whole length of the long one.
    """
    step = ring.steps()
    length = np.hypot(*step.T)
    long = np.flatnonzero((length > 3 * reach) & (ring.bulges == 0))
    share = (reach / length[long])[:, None]
    added = np.stack([ring.points[long] + share * step[long], ring.points[long] + (1 - share) * step[long]], axis=1)
    place = np.repeat(long + 1, 2)
    points = np.insert(ring.points, place, added.reshape(-1, 2), axis=0)
    bulges, terminal = np.insert(ring.bulges, place, 0.0), np.insert(ring.terminal, place, ring.terminal[place - 1])
    return Ring(points, bulges, terminal), np.insert(np.zeros(len(step), dtype=np.bool_), place, values=True)


def _cornerstones(ring: Ring) -> Bools:
    """Points that stay: where arcs or terminals begin and end, their neighbours, and two more to begin with."""
    bent = (ring.bulges != 0) | (ring.terminal != np.roll(ring.terminal, 1)) | (np.roll(ring.bulges, 1) != 0)
    keep: Bools = bent | np.roll(bent, 1) | np.roll(bent, -1)
    keep[[0, len(keep) // 3, 2 * len(keep) // 3]] = True
    return keep


def _fitted(ring: Ring, keep: Bools, height: float, most: float) -> Sleeved:
    """The ring between sleeves of at most ``height``; ``keep`` is set for the points left, for all if over ``most``."""
    for _ in range(_ROUNDS):
        if keep.sum() > most:
            break
        run = _Run.of(ring.points, np.flatnonzero(keep))
        wanting = run.wanting(height)
        if not wanting.any():
            corners = run.corners
            return Sleeved(Ring(ring.points[corners], ring.bulges[corners], ring.terminal[corners]), *run.moves)
        keep[run.halfway(wanting)] = True
    keep[:] = True
    return Sleeved.exact(ring)


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """A ring's points and those kept: by point its edge and its height over it, by corner the moves."""

    points: Floats
    corners: Ints
    edge: Ints
    height: Floats
    turn: Floats
    across: Floats
    moves: tuple[Floats, Floats]

    @classmethod
    def of(cls, points: Floats, corners: Ints) -> "_Run":
        """``corners`` ascending, the first of them point 0."""
        chord = np.roll(points[corners], -1, axis=0) - points[corners]
        right = np.column_stack([chord[:, 1], -chord[:, 0]]) / np.hypot(*chord.T)[:, None]
        edge = np.repeat(np.arange(len(corners)), np.diff(corners, append=len(points)))
        height = ((points - points[corners[edge]]) * right[edge]).sum(axis=1)
        height[corners] = 0.0
        back = np.roll(chord, 1, axis=0)
        turn = np.arctan2(cross(back, chord), (back * chord).sum(axis=1))
        across = np.roll(right, 1, axis=0) + right
        across /= np.maximum(np.hypot(*across.T), 1e-300)[:, None]
        stretch = _SLACK / np.maximum(np.cos(turn / 2), _LEAST_COSINE)
        several = np.diff(corners, append=len(points)) > 1
        least = np.where(several, _LEAST * np.ptp(points), 0.0)
        moves = []
        for sign in (1, -1):
            most = np.maximum(np.maximum.reduceat(sign * height, corners), least)
            moves.append(across * (sign * stretch * np.maximum(most, np.roll(most, 1)))[:, None])
        return cls(points, corners, edge, height, turn, across, (moves[0], moves[1]))

    def wanting(self, height: float) -> Bools:
        """Edges to halve: too high, out of their sleeve, or turning too far into the metal."""
        least = np.minimum.reduceat(self.height, self.corners)
        most = np.maximum.reduceat(self.height, self.corners)
        steep = (np.cos(self.turn / 2) < _LEAST_COSINE) | (self.turn < -_INWARD)
        several = np.diff(self.corners, append=len(self.points)) > 1
        found: Bools = several & ((most - least > height) | steep | np.roll(steep, -1) | self._outside())
        return found

    def _outside(self) -> Bools:
        """Edges with a point that is not in their sleeve."""
        start, end = self.points[self.corners], np.roll(self.points[self.corners], -1, axis=0)
        inner = np.setdiff1d(np.arange(len(self.points)), self.corners, assume_unique=True)
        edge, place = self.edge[inner], self.points[inner]
        ahead = cross(self.across[edge], place - start[edge]) > 0
        behind = cross(np.roll(self.across, -1, axis=0)[edge], place - end[edge]) < 0
        inside = ahead & behind
        for sign, move in zip((1, -1), self.moves, strict=True):
            first, last = start + move, end + np.roll(move, -1, axis=0)
            inside &= sign * cross((last - first)[edge], place - first[edge]) >= 0
            inside &= (((last - first) * (end - start)).sum(axis=1) > 0)[edge]
        outside = np.zeros(len(self.corners), dtype=bool)
        outside[edge[~inside]] = True
        return outside

    def halfway(self, edges: Bools) -> Ints:
        """The point of each of ``edges`` that is farthest from it; the middle one where all lie on it."""
        away = np.abs(self.height)
        most = np.maximum.reduceat(away, self.corners)
        farthest = np.flatnonzero((away == most[self.edge]) & (away > 0) & edges[self.edge])
        flat = np.flatnonzero(edges & (most == 0))
        stop = np.append(self.corners[1:], len(self.points))
        return np.concatenate([farthest, (self.corners[flat] + stop[flat]) // 2])
