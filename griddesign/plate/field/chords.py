"""Rings with round edges as fine chords for shapely, and back from what shapely left of them to true edges."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from griddesign.plate.field.domain import Floats, Ints, cross
from griddesign.plate.field.ring import Ring, centre_of

if TYPE_CHECKING:
    from shapely import STRtree

_STEP = np.pi / 360  # angle of a chord; all arcs of one circle are cut at the same angles
_SAME = 1e-9  # of the extent: points nearer than this are one


@dataclass(frozen=True, slots=True, eq=False)
class Chords:
    """All edges of some rings, and their chords.

    Of each edge: its ends ``start`` and ``end``, ``bulge``, ``centre`` (nan: straight), ``terminal`` and ``ring``. Of
    each chord: ``lines`` (n, 2, 2) and ``edge_of_chord``. Points nearer than ``same`` are one.
    """

    start: Floats
    end: Floats
    bulge: Floats
    centre: Floats
    terminal: Ints
    ring: Ints
    lines: Floats
    edge_of_chord: Ints
    same: float
    tree: "STRtree"

    @property
    def ring_of_chord(self) -> Ints:
        """The ring each chord belongs to."""
        return self.ring[self.edge_of_chord]

    @classmethod
    def of(cls, rings: list[Ring]) -> "Chords":
        """The edges of ``rings`` and their chords."""
        import shapely

        start, end = (np.concatenate([np.roll(ring.points, -k, axis=0) for ring in rings]) for k in (0, 1))
        bulge = np.concatenate([ring.bulges for ring in rings])
        number = np.repeat(np.arange(len(rings)), [len(ring.points) for ring in rings])
        centre = np.full(start.shape, np.nan)
        for edge in np.flatnonzero(bulge):
            centre[edge] = centre_of(start[edge], end[edge], bulge[edge])
        same = _SAME * float(np.ptp(start, axis=0).max())
        paths = [
            _path(*edge, start, same) if edge[2] else np.stack(edge[:2])
            for edge in zip(start, end, bulge, centre, strict=True)
        ]
        lines = np.concatenate([np.stack([path[:-1], path[1:]], axis=1) for path in paths])
        edge_of_chord = np.repeat(np.arange(len(paths)), [len(path) - 1 for path in paths])
        terminal = np.concatenate([ring.terminal for ring in rings])
        tree = shapely.STRtree(shapely.linestrings(lines))
        return cls(start, end, bulge, centre, terminal, number, lines, edge_of_chord, same, tree)

    def restored(self, points: Floats) -> Ring:
        """The true edges along a closed ring of ``points`` whose sides lie on chords."""
        edge = self.edges_under(points)
        first = np.flatnonzero(edge != np.roll(edge, 1))
        corners = np.array([self.meeting(edge[k - 1], edge[k], points[k]) for k in first])
        bulges = np.zeros(len(first))
        for place in np.flatnonzero(self.bulge[edge[first]]):
            stop = first[(place + 1) % len(first)]
            along = np.arange(first[place], stop + 1 if stop > first[place] else stop + len(points) + 1) % len(points)
            path = np.concatenate([corners[place][None], points[along[1:-1]], corners[(place + 1) % len(first)][None]])
            bulges[place] = self.bulge_along(edge[first[place]], path)
        return Ring(corners, bulges, self.terminal[edge[first]])

    def bulge_along(self, edge: int, path: Floats) -> float:
        """The bulge of the part of an edge from the first to the last point of ``path``, 0 if it is straight."""
        return _bulge(path - self.centre[edge]) if self.bulge[edge] else 0.0

    def edges_under(self, points: Floats) -> Ints:
        """The edge each side of a ring lies on; the first where it lies on two."""
        import shapely

        middle = shapely.points((points + np.roll(points, -1, axis=0)) / 2)
        side, chord = self.tree.query(middle, predicate="dwithin", distance=self.same)
        lost = np.setdiff1d(np.arange(len(points)), side)
        nearest = self.tree.nearest(middle[lost])
        edge = np.full(len(points), len(self.start))
        np.minimum.at(edge, np.append(side, lost), self.edge_of_chord[np.append(chord, nearest)])
        return edge

    def meeting(self, one: int, other: int, near: Floats) -> Floats:
        """Where two edges truly meet, near the place where their chords do."""
        for edge in (one, other):
            for tip in (self.start[edge], self.end[edge]):
                if np.hypot(*(tip - near)) <= self.same:
                    return np.asarray(tip)
        if self.bulge[one] and self.bulge[other]:
            return _circle_and_circle(
                self.centre[one], self._radius(one), self.centre[other], self._radius(other), near
            )
        if self.bulge[one] or self.bulge[other]:
            line, arc = (other, one) if self.bulge[one] else (one, other)
            return _line_and_circle(self.start[line], self.end[line], self.centre[arc], self._radius(arc), near)
        return near

    def meeting_with(self, edge: int, start: Floats, end: Floats, bulge: float, near: Floats) -> Floats:
        """Where an edge meets another one, given by its ends and bulge, near a place; both carried on as far as wanted.

        Far off where they are parallel, between them where two circles miss."""
        own = self.start[edge], self.end[edge]
        if not bulge and not self.bulge[edge]:
            return _line_and_line(*own, start, end)
        if not bulge:
            return _line_and_circle(start, end, self.centre[edge], self._radius(edge), near)
        centre = centre_of(start, end, bulge)
        radius = float(np.hypot(*(start - centre)))
        if not self.bulge[edge]:
            return _line_and_circle(*own, centre, radius, near)
        return _circle_and_circle(self.centre[edge], self._radius(edge), centre, radius, near)

    def _radius(self, edge: int) -> float:
        return float(np.hypot(*(self.start[edge] - self.centre[edge])))


def _path(start: Floats, end: Floats, bulge: float, centre: Floats, corners: Floats, same: float) -> Floats:
    """Points along an arc: its ends, those at whole multiples of the step, and corners of other rings that lie on it.

    So arcs of the same circle, a washer on a round eye of its own size, have the same chords where they overlap.
    """
    spoke = start - centre
    radius, turn = float(np.hypot(*spoke)), 4 * float(np.arctan(bulge))
    from_centre = corners - centre
    on_circle = from_centre[np.abs(np.hypot(*from_centre.T) - radius) <= same]
    angles = np.concatenate([np.arange(0, 2 * np.pi, _STEP), np.arctan2(on_circle[:, 1], on_circle[:, 0])])
    ahead = np.sign(turn) * (angles - np.arctan2(spoke[1], spoke[0])) % (2 * np.pi)
    shares = np.sort(ahead[(ahead > same / radius) & (ahead < abs(turn) - same / radius)])
    shares = shares[np.diff(shares, prepend=-1.0) > same / radius]
    at = np.arctan2(spoke[1], spoke[0]) + np.sign(turn) * shares
    return np.concatenate([start[None], centre + radius * np.column_stack([np.cos(at), np.sin(at)]), end[None]])


def _bulge(spokes: Floats) -> float:
    """The bulge of the arc from the first to the last of ``spokes`` by way of the others."""
    steps = np.arctan2(cross(spokes[:-1], spokes[1:]), (spokes[:-1] * spokes[1:]).sum(axis=1))
    return float(np.tan(steps.sum() / 4))


def _line_and_line(start: Floats, end: Floats, other_start: Floats, other_end: Floats) -> Floats:
    """The meeting of two lines, infinitely far off where they are parallel."""
    step, other = end - start, other_end - other_start
    with np.errstate(divide="ignore", invalid="ignore"):
        meeting: Floats = start + step * (cross(other_start - start, other) / cross(step, other))
    return meeting


def _line_and_circle(start: Floats, end: Floats, centre: Floats, radius: float, near: Floats) -> Floats:
    """The meeting of a line and a circle nearest to ``near``; where they miss, the point of the line that is nearest
    to the circle."""
    along = (end - start) / np.hypot(*(end - start))
    foot = start + along * ((centre - start) @ along)
    half = np.sqrt(max(radius**2 - ((foot - centre) ** 2).sum(), 0.0))
    return min((foot + half * along, foot - half * along), key=lambda point: float(np.hypot(*(point - near))))


def _circle_and_circle(one: Floats, one_radius: float, other: Floats, other_radius: float, near: Floats) -> Floats:
    """The meeting of two circles nearest to ``near``, by their common chord."""
    apart = other - one
    square = float(apart @ apart)
    if square == 0:
        return near
    foot = one + apart * ((square + one_radius**2 - other_radius**2) / (2 * square))
    return _line_and_circle(foot, foot + np.array([-apart[1], apart[0]]), one, one_radius, near)
