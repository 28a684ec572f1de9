"""The narrow places of any outline, and what the shop's rules say of them: webs, rings, gaps, holes, inside corners.

A web is looked for straight across: from places on every edge at right angles into the metal, and from its corners
half-way between both edges, to the first edge that faces it. It is the distance of those two edges where that is less
than beside: so the end of a slot, or a corner, which only runs out to nothing, is none. A ring is a web that has a
round hole on one side. A gap is the same outside the metal. Arcs are chords within 1/1000 of the mean width.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import atan2, inf, pi
from typing import TYPE_CHECKING

from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline, Point, Segment
from griddesign.plate.process import Kind, MadeBy, ProcessCheck, checks_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

_FINE = 1000.0  # parts of the mean width
_STEP = 4.0  # places along a straight edge, by mean width
_REACH = 6.0  # mean widths: what is wider is not narrow
_FACING = -0.5  # product of the normals of edges that face each other
_END, _ACROSS = 1e-6, 0.02  # of an edge from its ends; sine of how far off a right angle a line across may be
_SHARP_RAD = pi / 36  # turn into the metal that counts as a corner


@dataclass(frozen=True, slots=True)
class Narrow:
    """A narrow place: which rule it goes by, how wide, and where, in the outline's axes."""

    item: str
    kind: Kind
    wide_m: float
    at_m: Point | None = None


@dataclass(frozen=True, slots=True)
class RuleCheck:
    """A narrow place and one rule."""

    narrow: Narrow
    check: ProcessCheck


def rule_checks(
    outline: Outline, made_by: MadeBy, thickness_m: float, thinnest_m: float | None = None
) -> tuple[RuleCheck, ...]:
    """Every narrow place of the outline against every rule of the process that speaks of it. Rules go by the greatest
    thickness of the plate, its walls are judged by the least (``thinnest_m``, else the same)."""
    found = {one.item: one for one in narrow_places(outline)}
    thick = Narrow("thickness", "wall", thickness_m if thinnest_m is None else thinnest_m)
    every = [thick, *found.values()]
    holes = [hole.radius_m for hole in outline.holes if isinstance(hole, Circle)]
    sizes = [(one.item, one.kind, one.wide_m) for one in every]
    checks = checks_of(sizes, made_by, thickness_m, 2 * min(holes, default=0.0))
    return tuple(RuleCheck(found.get(check.item, thick), check) for check in checks)


def narrow_places(outline: Outline) -> Iterator[Narrow]:
    """The smallest web, ring, gap, round hole and inside corner, as far as the outline has them."""
    edges = _Edges.of(outline)
    inside, outside = edges.facing(1.0), edges.facing(-1.0)
    yield from edges.narrowest("smallest web", "web", inside.only(~edges.at_hole(inside)))
    yield from edges.narrowest("smallest ring of a round hole", "ring", inside.only(edges.at_hole(inside)))
    yield from edges.narrowest("smallest gap", "gap", outside.only(~edges.at_hole(outside)))
    holes = [hole for hole in outline.holes if isinstance(hole, Circle)]
    if holes:
        least = min(holes, key=lambda hole: hole.radius_m)
        yield Narrow("smallest round hole", "hole", 2 * least.radius_m, least.centre)
    corners = [
        corner for loop in (outline.outer, *outline.holes) if isinstance(loop, Loop) for corner in _corners(loop)
    ]
    if corners:
        yield Narrow("sharpest inside corner", "inside corner", *min(corners, key=lambda corner: corner[0]))


def _corners(loop: Loop) -> Iterator[tuple[float, Point]]:
    """Radius and place of every corner that goes into the metal, 0 for a sharp one. The metal lies to the left."""
    for here, then in zip(loop.segments, (*loop.segments[1:], *loop.segments[:1]), strict=True):
        if isinstance(here, Arc) and not here.ccw:
            yield here.radius_m, here.at(0.5)
        turn = (_heading(then, 0.0) - _heading(here, 1.0) + pi) % (2 * pi) - pi
        if turn < -_SHARP_RAD:
            yield 0.0, here.end


def _heading(segment: Segment, share: float) -> float:
    """Direction at its start (0) or end (1)."""
    if isinstance(segment, Line):
        return atan2(segment.end[1] - segment.start[1], segment.end[0] - segment.start[0])
    return segment.start_rad + share * segment.turn_rad + (pi / 2 if segment.ccw else -pi / 2)


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """Edges that face each other, and how far it is straight across."""

    one: "Ints"
    other: "Ints"
    straight: "Floats"

    def only(self, which: "NDArray[np.bool_]") -> "_Pairs":
        return _Pairs(self.one[which], self.other[which], self.straight[which])


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    """The rims as straight edges with the metal on their left: ends, the edges after and before, and whether they are
    of a round hole."""

    start: "Floats"
    end: "Floats"
    after: "Ints"
    before: "Ints"
    of_hole: "NDArray[np.bool_]"
    width: float

    @classmethod
    def of(cls, outline: Outline) -> "_Edges":
        import numpy as np

        width = 2 * outline.area_m2 / outline.perimeter_m
        rings = outline.polygon(width / _FINE)
        start = np.concatenate(rings)
        end = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
        number = np.split(np.arange(len(start)), np.cumsum([len(ring) for ring in rings])[:-1])
        after, before = (np.concatenate([np.roll(ring, shift) for ring in number]) for shift in (-1, 1))
        is_round = [False, *(isinstance(hole, Circle) for hole in outline.holes)]
        return cls(start, end, after, before, np.repeat(is_round, [len(ring) for ring in rings]), width)

    def at_hole(self, pairs: _Pairs) -> "NDArray[np.bool_]":
        """Which pairs have a round hole on a side."""
        of_hole: NDArray[np.bool_] = self.of_hole[pairs.one] | self.of_hole[pairs.other]
        return of_hole

    def narrowest(self, item: str, kind: Kind, pairs: _Pairs) -> Iterator[Narrow]:
        """The narrowest place between edges that face each other, if there is one."""
        import shapely

        one, other, straight = pairs.one, pairs.other, pairs.straight
        lines = shapely.shortest_line(self._lines(one), self._lines(other))
        ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
        even = straight <= shapely.length(lines) * (1 + _END)  # parallel edges
        narrow = lines[even | (self._stands(one, ends) & self._stands(other, ends[:, ::-1]))]
        if len(narrow):
            least = min(narrow, key=lambda line: float(line.length))
            middle = least.interpolate(0.5, normalized=True)
            yield Narrow(item, kind, float(least.length), (middle.x, middle.y))

    def _stands(self, edge: "Ints", ends: "Floats") -> "NDArray[np.bool_]":
        """Whether lines that begin on edges would get longer if they began beside: at the end of an edge, neither the
        edge that comes in there nor the one that goes out leads nearer."""
        import numpy as np

        step = self.end - self.start
        length = np.hypot(*step.T)
        ahead, share = step / length[:, None], ((ends[:, 0] - self.start[edge]) * step[edge]).sum(axis=1)
        share /= length[edge] ** 2
        line = ends[:, 1] - ends[:, 0]
        line /= np.maximum(np.hypot(*line.T), 1e-300)[:, None]
        at_start, at_end = share < _END, share > 1 - _END
        comes = np.where(at_start, self.before[edge], edge)
        goes = np.where(at_end, self.after[edge], edge)
        nearer_back = (line * ahead[comes]).sum(axis=1) < -_ACROSS
        nearer_on = (line * ahead[goes]).sum(axis=1) > _ACROSS
        stands: NDArray[np.bool_] = ~((at_start | at_end) & (nearer_back | nearer_on))
        return stands

    def _lines(self, edges: "Ints") -> "NDArray[np.object_]":
        import numpy as np
        import shapely

        return np.asarray(shapely.linestrings(np.stack([self.start[edges], self.end[edges]], axis=1)))

    def facing(self, side: float) -> _Pairs:
        """From places along every edge straight into the metal (out of it: -1): the edge, the first edge met, and how
        far at least; only where the two face each other and share no end, each pair once."""
        import numpy as np
        import shapely

        step = self.end - self.start
        left = side * np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(*step.T)[:, None]
        edge, place = self._places()
        corner = self._corners(left, side)
        aim = np.concatenate([left[edge], left[corner] + left[self.before[corner]]])
        aim /= np.hypot(*aim.T)[:, None]
        edge, place = np.append(edge, corner), np.concatenate([place, self.start[corner]])
        reach = _REACH * self.width * aim
        rays = shapely.linestrings(np.stack([place + reach * 1e-9, place + reach], axis=1))
        ray, met = shapely.STRtree(self._lines(np.arange(len(self.start)))).query(rays, predicate="intersects")
        ahead = aim[ray]
        across = step[met][:, 1] * ahead[:, 0] - step[met][:, 0] * ahead[:, 1]
        gap = self.start[met] - place[ray]
        with np.errstate(divide="ignore", invalid="ignore"):
            far = (gap[:, 0] * step[met][:, 1] - gap[:, 1] * step[met][:, 0]) / across
        far[~np.isfinite(far) | (edge[ray] == met)] = inf
        order = np.lexsort([far, ray])
        first = order[np.append(True, ray[order][1:] != ray[order][:-1])[: len(order)]]
        one, other, length = edge[ray[first]], met[first], far[first]
        facing = np.isfinite(length) & ((aim[ray[first]] * left[other]).sum(axis=1) < _FACING)
        facing &= (self.after[one] != other) & (self.before[one] != other)
        pairs, same = np.unique(np.sort(np.column_stack([one, other])[facing], axis=1), axis=0, return_inverse=True)
        least = np.full(len(pairs), inf)
        np.minimum.at(least, same.ravel(), length[facing])
        return _Pairs(pairs[:, 0], pairs[:, 1], least)

    def _corners(self, left: "Floats", side: float) -> "Ints":
        """Edges at whose start the rim turns into the metal (out of it: -1)."""
        import numpy as np

        then, here = left, left[self.before]
        turn = here[:, 0] * then[:, 1] - here[:, 1] * then[:, 0]
        return np.flatnonzero((side * turn < -np.sin(_SHARP_RAD)) & ((here + then) ** 2).sum(axis=1).astype(bool))

    def _places(self) -> "tuple[Ints, Floats]":
        """Places along the edges, each with its edge: the middle, and more of them the longer it is."""
        import numpy as np

        length = np.hypot(*(self.end - self.start).T)
        count = np.maximum(1, np.ceil(_STEP * length / self.width)).astype(np.intp)
        edge = np.repeat(np.arange(len(count)), count)
        number = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
        share = (number + 0.5) / count[edge]
        return edge, self.start[edge] + share[:, None] * (self.end - self.start)[edge]
