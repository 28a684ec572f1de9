"""Points and lines that lie close together, found over a grid of cells: near enough in proportion to their number."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from math import ceil, dist, floor, log2

from griddesign.errors import GeometryError
from griddesign.plate.outline import Arc, Point, Segment

_AROUND = tuple((i, j) for i in (-1, 0, 1) for j in (-1, 0, 1))
_MOST_IN_A_CELL = 100
_ALIKE = 0.1  # of its length: how far apart two courses of a short line may lie and still be the same line


class Cells:
    """Numbered points in square cells."""

    def __init__(self, size: float) -> None:
        self._size = size
        self._held: defaultdict[tuple[int, int], list[tuple[int, Point]]] = defaultdict(list)

    def add(self, number: int, point: Point) -> None:
        """Put a point in its cell."""
        self._held[floor(point[0] / self._size), floor(point[1] / self._size)].append((number, point))

    def near(self, point: Point, distance: float) -> Iterator[tuple[int, float]]:
        """Number and distance of every point within a distance, at most the size of a cell."""
        x, y = floor(point[0] / self._size), floor(point[1] / self._size)
        for i, j in _AROUND:
            for number, other in self._held.get((x + i, y + j), ()):
                apart = dist(point, other)
                if apart <= distance:
                    yield number, apart


def nodes(points: Sequence[Point], distance: float) -> list[int]:
    """A node for every point, the same for points within the distance of each other."""
    cells = Cells(distance)
    node: dict[int, int] = {}
    found: dict[Point, int] = {}
    for number, point in enumerate(points):
        if point not in found:
            near = min(cells.near(point, distance), key=lambda pair: pair[1], default=None)
            found[point] = node[near[0]] if near else number
            cells.add(number, point)
        node[number] = found[point]
    return [node[number] for number in range(len(points))]


def close_pairs(points: Sequence[Point], distance: float) -> list[tuple[float, int, int]]:
    """(distance, index, index) of every two points within the distance (in the unit of the points), the closest first.

    Raises GeometryError where more than 100 crowd in one place.
    """
    cells, pairs = Cells(distance), []
    for number, point in enumerate(points):
        near = [(apart, other, number) for other, apart in cells.near(point, distance)]
        if len(near) > _MOST_IN_A_CELL:
            raise GeometryError(
                f"more than {_MOST_IN_A_CELL} loose ends lie within the tolerance of one point",
                hint="Clean the drawing up, or allow a smaller tolerance.",
            )
        pairs += near
        cells.add(number, point)
    return sorted(pairs)


def middle(segment: Segment) -> Point:
    """The point half way along."""
    if isinstance(segment, Arc):
        return segment.at(0.5)
    return ((segment.start[0] + segment.end[0]) / 2, (segment.start[1] + segment.end[1]) / 2)


def without_doubles(segments: Sequence[Segment], tolerance: float) -> tuple[list[Segment], list[Segment]]:
    """Segments kept and segments dropped because another runs the same course, either way, within the tolerance.

    Same course: ends and middles within the tolerance, and within a tenth of the length, lest neighbours of a fine
    polyline count as one.
    """
    kept: list[Segment] = []
    dropped: list[Segment] = []
    levels: dict[int, Cells] = {}
    for segment in segments:
        reach = min(tolerance, _ALIKE * segment.length_m)
        level, centre = ceil(log2(reach)), middle(segment)
        near = (
            kept[number]
            for nearby in (level - 1, level, level + 1)
            if nearby in levels
            for number, _ in levels[nearby].near(centre, min(reach, 2.0**nearby))
        )
        if any(_same_ends(segment, other, reach) for other in near):
            dropped.append(segment)
            continue
        levels.setdefault(level, Cells(2.0**level)).add(len(kept), centre)
        kept.append(segment)
    return kept, dropped


def _same_ends(one: Segment, other: Segment, reach: float) -> bool:
    straight = max(dist(one.start, other.start), dist(one.end, other.end))
    crossed = max(dist(one.start, other.end), dist(one.end, other.start))
    return min(straight, crossed) <= reach


def distance_to(point: Point, segment: Segment) -> float:
    """Distance of a point from a line or arc."""
    ends = min(dist(point, segment.start), dist(point, segment.end))
    if isinstance(segment, Arc):
        radius = dist(point, segment.centre)
        if not radius:
            return segment.radius_m
        x, y = ((p - c) / radius for p, c in zip(point, segment.centre, strict=True))
        foot = Arc(segment.start, (segment.centre[0] + x, segment.centre[1] + y), segment.centre, segment.ccw)
        return abs(radius - segment.radius_m) if abs(foot.turn_rad) <= abs(segment.turn_rad) else ends
    (x, y), (dx, dy) = segment.start, (segment.end[0] - segment.start[0], segment.end[1] - segment.start[1])
    length = dist(segment.start, segment.end)
    share = ((point[0] - x) * dx + (point[1] - y) * dy) / length**2
    return abs((point[0] - x) * dy - (point[1] - y) * dx) / length if 0 <= share <= 1 else ends
