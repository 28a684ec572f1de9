"""Loose lines and arcs joined end to end: closed loops, open chains, gaps healed on the way. Metres.

First ends that are the same but for rounding are joined; only ends still loose after that are joined across a gap, the
closest first. So a fine polyline, whose pieces are shorter than the tolerance, is not drawn together.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import dist, pi

from griddesign.errors import GeometryError
from griddesign.plate.foreign.frame import Frame
from griddesign.plate.foreign.nearness import close_pairs, middle, nodes, without_doubles
from griddesign.plate.outline import Arc, Circle, Line, Point, Segment

_ROUNDING = 1e-3  # of the tolerance: ends closer than this are the same end, written with few figures
_SHOWN = 5  # faults of one kind told with their coordinates
_COLLINEAR = 1e-12
_STIFF_RAD = 1.5 * pi  # an arc that turns further has its ends so near each other that moving them moves it much more
_MOST_BENT = 4.0  # how many times further than its ends an arc may be moved


@dataclass(frozen=True, slots=True)
class Chained:
    """Closed loops (a lone arc that closes is a circle), open chains, joints healed (where, gap), doubles, how many too
    short to be lines."""

    loops: tuple[tuple[Segment, ...] | Circle, ...]
    open_chains: tuple[tuple[Segment, ...], ...]
    healed: tuple[tuple[Point, float], ...]
    doubled: tuple[Segment, ...]
    short_pieces: int


def chained(segments: Sequence[Segment], tolerance_m: float, frame: Frame) -> Chained:
    """Segments in any order and direction, chained. ``frame`` says coordinates in messages.

    Raises GeometryError where more than two lines meet in a point.
    """
    rounding = _ROUNDING * tolerance_m
    long_enough = [segment for segment in segments if _extent(segment) > rounding]
    kept, doubled = without_doubles(long_enough, tolerance_m)
    node = _joined(kept, tolerance_m, rounding)
    _check_junctions(kept, node, frame)
    closed, still_open = _walked(kept, node)
    healed: list[tuple[Point, float]] = []
    loops = tuple(_closed(loop, rounding, healed) for loop in closed)
    chains = tuple(tuple(chain) for chain in still_open)
    return Chained(loops, chains, tuple(healed), tuple(doubled), len(segments) - len(long_enough))


def _extent(segment: Segment) -> float:
    """How far a segment reaches: an arc may end where it began."""
    return max(dist(segment.start, segment.end), dist(segment.start, middle(segment)))


def _joined(segments: Sequence[Segment], tolerance_m: float, rounding: float) -> list[int]:
    """A node for each end: 2 k for the start of segment k, 2 k + 1 for its end."""
    ends = [point for segment in segments for point in (segment.start, segment.end)]
    node = nodes(ends, rounding)
    count: defaultdict[int, int] = defaultdict(int)
    for number in node:
        count[number] += 1
    loose = [k for k in range(len(ends)) if count[node[k]] == 1]
    taken: set[int] = set()
    for _, i, j in close_pairs([ends[k] for k in loose], tolerance_m):
        one, other = loose[i], loose[j]
        same = one // 2 == other // 2 and segments[one // 2].length_m <= pi * tolerance_m
        if not same and one not in taken and other not in taken:
            node[other] = node[one]
            taken |= {one, other}
    return node


def _check_junctions(segments: Sequence[Segment], node: Sequence[int], frame: Frame) -> None:
    meeting: defaultdict[int, list[int]] = defaultdict(list)
    for k, number in enumerate(node):
        meeting[number].append(k)
    crowded = [ends for ends in meeting.values() if len(ends) > 2]
    if not crowded:
        return
    places = [f"{len(ends)} at {frame.said(_end(segments, ends[0]))}" for ends in crowded[:_SHOWN]]
    more = f" and {len(crowded) - _SHOWN} more places" if len(crowded) > _SHOWN else ""
    raise GeometryError(
        f"more than two lines meet in one point, a T-junction or two loops that touch: {', '.join(places)}{more}",
        hint="Delete the line that does not belong, or part the loops.",
    )


def _end(segments: Sequence[Segment], k: int) -> Point:
    return segments[k // 2].end if k % 2 else segments[k // 2].start


def _walked(segments: Sequence[Segment], node: Sequence[int]) -> tuple[list[list[Segment]], list[list[Segment]]]:
    """Closed and open chains. Every node has one or two ends."""
    meeting: defaultdict[int, list[int]] = defaultdict(list)
    for k, number in enumerate(node):
        meeting[number].append(k)
    used: set[int] = set()

    def walk(entry: int) -> list[Segment]:
        chain = []
        while entry // 2 not in used:
            used.add(entry // 2)
            segment = segments[entry // 2]
            chain.append(turned_back(segment) if entry % 2 else segment)
            leave = entry ^ 1
            following = [k for k in meeting[node[leave]] if k != leave]
            if not following:
                break
            entry = following[0]
        return chain

    loose = [ends[0] for ends in meeting.values() if len(ends) == 1]
    still_open = [walk(k) for k in loose if k // 2 not in used]
    closed = [walk(2 * k) for k in range(len(segments)) if k not in used]
    return closed, still_open


def turned_back(segment: Segment) -> Segment:
    """The segment run the other way."""
    if isinstance(segment, Line):
        return Line(segment.end, segment.start)
    return Arc(segment.end, segment.start, segment.centre, not segment.ccw)


def _closed(chain: list[Segment], rounding: float, healed: list[tuple[Point, float]]) -> tuple[Segment, ...] | Circle:
    """The chain with its joints made one point each; gaps above rounding are noted in ``healed``."""
    joints = [_joint(here, then) for here, then in zip(chain, [*chain[1:], *chain[:1]], strict=True)]
    for here, then, joint in zip(chain, [*chain[1:], *chain[:1]], joints, strict=True):
        if dist(here.end, then.start) > rounding:
            healed.append((joint, dist(here.end, then.start)))
    only = chain[0]
    if len(chain) == 1 and isinstance(only, Arc):
        return Circle(only.centre, only.radius_m)
    starts = [joints[-1], *joints[:-1]]
    ends = zip(chain, starts, joints, strict=True)
    return tuple(_between(segment, start, end, rounding) for segment, start, end in ends)


def _joint(here: Segment, then: Segment) -> Point:
    """Where two ends are joined: at that of the piece that bears moving less, so that arcs stay, else half way."""
    if here.end == then.start or _stiffness(here) > _stiffness(then):
        return here.end
    if _stiffness(here) < _stiffness(then):
        return then.start
    return ((here.end[0] + then.start[0]) / 2, (here.end[1] + then.start[1]) / 2)


def _stiffness(segment: Segment) -> int:
    if isinstance(segment, Line):
        return 0
    return 1 if abs(segment.turn_rad) <= _STIFF_RAD else 2


def _between(segment: Segment, start: Point, end: Point, rounding: float) -> Segment:
    """The segment with its ends moved; an arc keeps its middle. Raises GeometryError where it would lose its shape."""
    if start == segment.start and end == segment.end:
        return segment
    if isinstance(segment, Line):
        return Line(start, end)
    bent = arc_through(start, middle(segment), end, segment.ccw)
    moved = max(dist(start, segment.start), dist(end, segment.end))
    if isinstance(bent, Arc):
        off = max(abs(dist(bent.at(share), segment.centre) - segment.radius_m) for share in (0.2, 0.4, 0.6, 0.8))
        if off > _MOST_BENT * moved + rounding:
            raise GeometryError(
                f"closing a gap of {1000 * moved:.3g} mm would bend an arc of radius {1000 * segment.radius_m:.4g} mm"
                f" by {1000 * off:.3g} mm",
                hint="Close the gaps at the ends of this arc in the drawing.",
            )
    return bent


def arc_through(start: Point, on_the_way: Point, end: Point, ccw: bool) -> Segment:
    """The arc through three points; a line where they lie on one."""
    bx, by = on_the_way[0] - start[0], on_the_way[1] - start[1]
    cx, cy = end[0] - start[0], end[1] - start[1]
    b2, c2, twice = bx * bx + by * by, cx * cx + cy * cy, 2 * (bx * cy - by * cx)
    if abs(twice) <= _COLLINEAR * (b2 * c2) ** 0.5:
        return Line(start, end)
    centre = (start[0] + (cy * b2 - by * c2) / twice, start[1] + (bx * c2 - cx * b2) / twice)
    return Arc(start, end, centre, ccw)
