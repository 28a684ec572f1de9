"""The lines across the metal where the thickness steps: outlines of regions, cut off at the rims, their arcs kept.

What of a region's line lies on metal is found by shapely on fine chords, after that come the true edges again. Where it
comes nearer than ``snap`` to a rim, or to the line of an earlier region, it is taken to lie on it there: its end is
carried on to the rim, and the rim gets a corner there. So a region may be drawn along a rim, over it, or share its edge
with another one.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.chords import Chords
from griddesign.plate.field.domain import Floats, Ints, Region, Thickness, cross
from griddesign.plate.field.ring import Ring, centre_of

if TYPE_CHECKING:
    from shapely import Polygon

_SNAP = 1e-7  # of the extent, at least
_REACH = 8.0  # snaps a line may be carried on to meet a rim; it is bent to the nearest point otherwise
_TIP = 2.0  # snaps from a corner of the rim that are taken for the corner
_ON_ARC = 1e-6  # of an arc from its ends
_BESIDE = 3.0  # snaps from a line: certainly on one side of it


@dataclass(frozen=True, slots=True, eq=False)
class Seams:
    """Edges (n) of all seams: ends, bulge, and the parts of the thickness on the left and right of each."""

    start: Floats
    end: Floats
    bulge: Floats
    sides: Ints


@dataclass(slots=True)
class _Drawn:
    """All edges so far, rims first, with the points at which seams end on them; and their chords."""

    start: list[Floats]
    end: list[Floats]
    bulge: list[float]
    lines: Floats
    edge_of_line: Ints
    cuts: dict[int, list[Floats]] = field(default_factory=dict)

    def add(self, points: Floats, bulges: Floats, path: Floats, edge_of_path: Ints) -> None:
        """A chain of edges, and the chords along it with the edge of the chain each of them is of."""
        first = len(self.start)
        self.start += list(points[:-1])
        self.end += list(points[1:])
        self.bulge += [float(bulge) for bulge in bulges]
        self.lines = np.concatenate([self.lines, np.stack([path[:-1], path[1:]], axis=1)])
        self.edge_of_line = np.concatenate([self.edge_of_line, first + edge_of_path])

    def split(self, edge: int) -> tuple[Floats, Floats]:
        """Starts and bulges of the pieces an edge is cut into."""
        start, bulge = self.start[edge], self.bulge[edge]
        shares = [(self.share(edge, cut), cut) for cut in self.cuts.get(edge, ())]
        shares.sort(key=lambda one: one[0])
        at = np.array([0.0, *(share for share, _ in shares), 1.0])
        return np.array([start, *(cut for _, cut in shares)]), np.tan(np.arctan(bulge) * np.diff(at))

    def share(self, edge: int, point: Floats) -> float:
        """How far along an edge a point on it lies, 0 to 1; beyond its ends outside of that."""
        start, end, bulge = self.start[edge], self.end[edge], self.bulge[edge]
        if bulge == 0:
            return float((point - start) @ (end - start) / ((end - start) @ (end - start)))
        centre, turn = centre_of(start, end, bulge), 4 * np.arctan(bulge)
        spokes = [start - centre, point - centre]
        angle = np.sign(turn) * np.arctan2(cross(*spokes), spokes[0] @ spokes[1]) % (2 * np.pi)
        angle -= 2 * np.pi * (angle > np.pi + abs(turn) / 2)
        return float(angle / abs(turn))


def seams_of(rings: list[Ring], thickness: Thickness) -> tuple[list[Ring], Seams]:
    """The rings with a corner wherever a seam ends on them, and the seams.

    Raises:
        GeometryError: a region's line that crosses itself, regions that cross.
    """
    import shapely

    snap = max(thickness.snap, _SNAP * float(np.ptp(rings[0].points, axis=0).max()))
    own = [Ring(region.points, region.bulges, np.full(len(region.points), -1)) for region in thickness.regions]
    chords = Chords.of([*rings, *own])
    outer, *holes = (chords.lines[chords.ring_of_chord == number, 0] for number in range(len(rings)))
    metal = shapely.Polygon(outer, holes)
    areas = [_area_of(region, _path(chords, len(rings) + k)) for k, region in enumerate(thickness.regions)]
    check_apart(thickness.regions, [metal.intersection(area) for area in areas], snap)
    drawn = _rims(chords, len(rings))
    count = len(drawn.start)
    for number in range(len(rings), len(rings) + len(own)):
        for piece in _pieces(_path(chords, number), drawn, metal, snap):
            _draw(piece, chords, drawn, snap)
    return _with_corners(rings, drawn), _even(_seams(drawn, count, areas, snap), thickness.slopes())


def _path(chords: Chords, number: int) -> Floats:
    """The points along a ring's chords."""
    path: Floats = chords.lines[chords.ring_of_chord == number, 0]
    return path


def _area_of(region: Region, path: Floats) -> "Polygon":
    import shapely

    area = shapely.Polygon(path)
    if not area.is_valid or not area.area > 0:
        raise GeometryError(
            f"the line of region {region.name} is not one closed line: {shapely.is_valid_reason(area)}",
            hint="Mend it there: it may not cross itself.",
        )
    return area


def check_apart(regions: tuple[Region, ...], areas: "list[Any]", snap: float) -> None:
    """Of any two regions one lies in the other, or they lie beside each other."""
    for one, other in combinations(range(len(areas)), 2):
        common = areas[one].intersection(areas[other]).buffer(-snap)
        rest = [areas[a].difference(areas[b]).buffer(-snap) for a, b in ((one, other), (other, one))]
        if common.is_empty or any(part.is_empty for part in rest):
            continue
        place = common.representative_point()
        raise GeometryError(
            f"regions {regions[one].name} and {regions[other].name} cross: both cover ({place.x:g}, {place.y:g})",
            hint="Draw them beside each other, or one wholly inside the other.",
        )


def _rims(chords: Chords, rings: int) -> _Drawn:
    """The edges of the rims as lines drawn."""
    edges, lines = chords.ring < rings, chords.ring_of_chord < rings
    return _Drawn(
        list(chords.start[edges]),
        list(chords.end[edges]),
        chords.bulge[edges].tolist(),
        chords.lines[lines],
        chords.edge_of_chord[lines],
    )


def _pieces(path: Floats, drawn: _Drawn, metal: "Polygon", snap: float) -> Iterator[Floats]:
    """The parts of a closed path that lie on metal away from all lines drawn, as points."""
    import shapely

    line = shapely.LineString(np.concatenate([path, path[:1]]))
    tree = shapely.STRtree(shapely.linestrings(drawn.lines))
    near = tree.geometries[tree.query(line, predicate="dwithin", distance=2 * snap)]
    rest = line if not len(near) else line.difference(shapely.buffer(shapely.union_all(near), snap))
    for part in shapely.get_parts(shapely.line_merge(rest)) if len(near) else [line]:
        if part.length > 2 * snap and metal.contains(part.interpolate(0.5, normalized=True)):
            yield np.array(part.coords)


def _draw(piece: Floats, chords: Chords, drawn: _Drawn, snap: float) -> None:
    """The true edges along a piece, carried on to the lines it ends at."""
    closed = bool((piece[0] == piece[-1]).all())
    edge = chords.edges_under(piece)[:-1]
    if closed:
        turn = int(np.flatnonzero(edge != np.roll(edge, 1))[0])
        edge, piece = np.roll(edge, -turn), np.roll(piece[:-1], -turn, axis=0)
        piece = np.concatenate([piece, piece[:1]])
    first = np.flatnonzero(edge != np.concatenate([[-1], edge[:-1]]))
    corners = [chords.meeting(edge[k - 1], edge[k], piece[k]) for k in first[1:]]
    ends = [chords.meeting(edge[-1], edge[0], piece[0])] * 2 if closed else _landings(piece, edge, chords, drawn, snap)
    points = np.array([ends[0], *corners, ends[1]])
    if len(points) == 2 and (points[0] == points[1]).all():
        return
    path = piece.copy()
    path[[*first, -1]] = points
    stops = [*first[1:], len(edge)]
    bulges = [chords.bulge_along(edge[a], path[a : b + 1]) for a, b in zip(first, stops, strict=True)]
    drawn.add(points, np.array(bulges), path, np.repeat(np.arange(len(first)), np.diff([*first, len(edge)])))


def _landings(piece: Floats, edge: Ints, chords: Chords, drawn: _Drawn, snap: float) -> list[Floats]:
    """Where an open piece goes on to the line it stops short of, at both ends."""
    import shapely

    tree = shapely.STRtree(shapely.linestrings(drawn.lines))
    return [
        _landing(piece[end], int(edge[end]), int(drawn.edge_of_line[tree.nearest(shapely.Point(piece[end]))]),
                 chords, drawn, snap)
        for end in (0, -1)
    ]  # fmt: skip


def _landing(near: Floats, edge: int, target: int, chords: Chords, drawn: _Drawn, snap: float) -> Floats:
    """The point of the edge ``target`` drawn at which the line of ``edge`` is to end, near ``near``."""
    start, end, bulge = drawn.start[target], drawn.end[target], drawn.bulge[target]
    point = chords.meeting_with(edge, start, end, bulge, near)
    if not np.hypot(*(point - near)) <= _REACH * snap:
        point = _foot(start, end, bulge, near)
    share = drawn.share(target, point)
    if not 0 < share < 1:
        return start if share <= 0 else end
    tip = min((start, end, *drawn.cuts.get(target, ())), key=lambda tip: float(np.hypot(*(tip - point))))
    if np.hypot(*(tip - point)) <= _TIP * snap:
        return np.asarray(tip)
    drawn.cuts.setdefault(target, []).append(point)
    return point


def _foot(start: Floats, end: Floats, bulge: float, near: Floats) -> Floats:
    """The point of an edge, carried on, nearest to ``near``."""
    if bulge == 0:
        step = end - start
        return np.asarray(start + step * ((near - start) @ step / (step @ step)))
    centre = centre_of(start, end, bulge)
    return np.asarray(centre + (near - centre) * (np.hypot(*(start - centre)) / np.hypot(*(near - centre))))


def _with_corners(rings: list[Ring], drawn: _Drawn) -> list[Ring]:
    """The rings cut where seams end on them."""
    found, first = [], 0
    for ring in rings:
        count = len(ring.points)
        pieces = [drawn.split(edge) for edge in range(first, first + count)]
        points, bulges = (np.concatenate(part) for part in zip(*pieces, strict=True))
        found.append(Ring(points, bulges, np.repeat(ring.terminal, [len(bulge) for _, bulge in pieces])))
        first += count
    return found


def _seams(drawn: _Drawn, first: int, areas: "list[Polygon]", snap: float) -> Seams:
    """All edges after the rims', cut where others end on them, with what is on their sides."""
    pieces = [(*drawn.split(edge), drawn.end[edge]) for edge in range(first, len(drawn.start))]
    if not pieces:
        return Seams(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), np.zeros((0, 2), dtype=np.intp))
    start = np.concatenate([starts for starts, _, _ in pieces])
    end = np.concatenate([np.vstack([starts[1:], stop]) for starts, _, stop in pieces])
    bulge = np.concatenate([bulges for _, bulges, _ in pieces])
    return Seams(start, end, bulge, _sides(start, end, bulge, areas, snap))


def _even(seams: Seams, slopes: Floats) -> Seams:
    """The seams with their arcs cut where the metal is as thick on one side as on the other: beyond, the other side is
    the thicker one."""
    step = slopes[seams.sides[:, 0]] - slopes[seams.sides[:, 1]]
    cuts = [_even_places(seams, edge, step[edge]) if seams.bulge[edge] else [] for edge in range(len(step))]
    if not any(cuts):
        return seams
    edge = np.repeat(np.arange(len(step)), [len(own) + 1 for own in cuts])
    share = np.concatenate([[0.0, *(share for share, _ in own)] for own in cuts])
    until = np.where(np.append(share[1:], 0.0) > 0, np.append(share[1:], 0.0), 1.0)
    start = np.concatenate([[seams.start[k], *(place for _, place in own)] for k, own in enumerate(cuts)])
    end = np.concatenate([[*(place for _, place in own), seams.end[k]] for k, own in enumerate(cuts)])
    return Seams(start, end, np.tan(np.arctan(seams.bulge[edge]) * (until - share)), seams.sides[edge])


def _even_places(seams: Seams, edge: int, step: Floats) -> list[tuple[float, Floats]]:
    """How far along an arc, and where, a step linear in the plane is nought."""
    start, bulge = seams.start[edge], seams.bulge[edge]
    centre, turn = centre_of(start, seams.end[edge], bulge), 4 * np.arctan(bulge)
    radius, steepest = np.hypot(*(start - centre)), np.hypot(*step[1:])
    cosine = -(step[0] + step[1:] @ centre) / max(steepest * radius, 1e-300)
    if not abs(cosine) < 1:
        return []
    angles = np.arctan2(step[2], step[1]) + np.array([-1, 1]) * np.arccos(cosine)
    ahead = np.sign(turn) * (angles - np.arctan2(*(start - centre)[::-1])) % (2 * np.pi) / abs(turn)
    return [
        (float(share), centre + radius * np.array([np.cos(angle), np.sin(angle)]))
        for share, angle in sorted(zip(ahead.tolist(), angles.tolist(), strict=True))
        if _ON_ARC < share < 1 - _ON_ARC
    ]


def _sides(start: Floats, end: Floats, bulge: Floats, areas: "list[Polygon]", snap: float) -> Ints:
    """The parts on the left and on the right of each edge, next to the middle of it."""
    import shapely

    chord = end - start
    left = np.column_stack([-chord[:, 1], chord[:, 0]]) / np.hypot(*chord.T)[:, None]
    middle = (start + end) / 2 - left * (bulge * np.hypot(*chord.T) / 2)[:, None]
    rims = shapely.union_all([area.exterior for area in areas])
    on_chords = shapely.get_coordinates(shapely.line_interpolate_point(
        shapely.shortest_line(rims, shapely.points(middle)), 0.0
    ))  # fmt: skip
    return np.column_stack([parts_at(on_chords + side * _BESIDE * snap * left, areas) for side in (1, -1)])


def parts_at(points: Floats, areas: "list[Polygon]") -> Ints:
    """The part of the thickness at points: the smallest of the regions' ``areas`` they lie in, 0 for none."""
    import shapely

    part = np.zeros(len(points), dtype=np.intp)
    for number in sorted(range(len(areas)), key=lambda k: -float(areas[k].area)):
        part[shapely.contains_xy(areas[number], *points.T)] = number + 1
    return part
