"""Open chains: what of them may be dropped, and what to say of the rest. Metres."""

from collections.abc import Sequence
from math import dist

from griddesign.errors import GeometryError
from griddesign.plate.foreign.frame import Frame
from griddesign.plate.foreign.nearness import distance_to
from griddesign.plate.outline import Circle, Point, Segment

Chain = tuple[Segment, ...]

_SHOWN = 5


def loose_ends(
    chains: Sequence[Chain], loops: Sequence[Chain | Circle], tolerance_m: float, frame: Frame
) -> GeometryError:
    """The error that tells of open chains: the first ends with what lies nearest to each."""
    ends = [(k, point) for k, chain in enumerate(chains) for point in (chain[0].start, chain[-1].end)]
    everything = [*chains, *(loop for loop in loops if not isinstance(loop, Circle))]
    told = [_told(n, ends, everything, tolerance_m, frame) for n in range(min(_SHOWN, len(ends)))]
    more = f"; and {len(ends) - _SHOWN} more" if len(ends) > _SHOWN else ""
    stray = bool(loops) and len(chains) == 1 and _is_stray(chains[0])
    what = "a stray line is left over" if stray else f"the lines are open at {len(ends)} ends"
    return GeometryError(f"{what}: {'; '.join(told)}{more}", hint=_hint(ends, frame, stray))


def _is_stray(chain: Chain) -> bool:
    """Whether a chain is a line of its own rather than a loop that does not quite close."""
    return dist(chain[0].start, chain[-1].end) > sum(segment.length_m for segment in chain) / 2


def _told(n: int, ends: list[tuple[int, Point]], chains: Sequence[Chain], tolerance_m: float, frame: Frame) -> str:
    """An end: where, and how far the next end or line is."""
    point = ends[n][1]
    at = frame.said(point)
    others = (s for chain in chains for s in chain if point not in (s.start, s.end))
    on = min((distance_to(point, s) for s in others), default=float("inf"))
    near, other = min(((dist(point, p), p) for m, (_, p) in enumerate(ends) if m != n), default=(float("inf"), point))
    if on <= tolerance_m and near > tolerance_m:
        return f"{at}, which lies on another line (a T-junction)"
    return f"{at}, {frame.length(near)} from the end at {frame.said(other)}"


def _hint(ends: list[tuple[int, Point]], frame: Frame, stray: bool) -> str:
    if stray:
        return "A cut in the metal would change its ohms: delete the line, or put it on a layer of its own."
    gap = min((dist(p, q) for n, (_, p) in enumerate(ends[:200]) for _, q in ends[n + 1 : 200]), default=0.0)
    return f"Close the gaps in the drawing; if they are meant closed, allow a tolerance above {frame.length(gap)}."
