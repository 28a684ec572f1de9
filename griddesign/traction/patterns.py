"""Which notch was left last before each arrival: the pattern of passed notches, found by branch and bound."""

from collections.abc import Iterator

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.problem import Problem, Stage
from griddesign.traction.programme import Programme, Ways

STANDING = 0.9
WORTHWHILE_V = 1e-6


def better_ways(programme: Programme, used: Ways, valley_a: float, binding: frozenset[int]) -> Ways | None:
    """A pattern with margin to spare at a valley current; None where there is proved to be none.

    So it is where every arrival that decides the valley so far, ``binding``, can have but one notch left before it, and
    has that one in the pattern ``used`` so far (notches alike on the grid found may have been taken for each other).
    Else arrivals are tied to the notch left before them one at a time, the worst kept first, and a branch is dropped
    as soon as the arrivals tied so far leave no margin.
    """
    ways = candidates(programme.problem, valley_a)
    choices = [to for to, _ in ways]
    if all(choices.count(to) == 1 and (to, dict(used).get(to, to - 1)) in ways for to in binding):
        return None
    tied = tuple(way for way in ways if choices.count(way[0]) == 1)
    return next(_branch(programme.with_ways(ways), valley_a, tied), None)


def candidates(problem: Problem, valley_a: float) -> Ways:
    """Every notch that may have been left last before each arrival.

    Not one whose circuits a later notch of the same grouping has only a part of, with no fuller field: that later one
    is never left slower.
    Standstill only where the first notch takes less than the valley current or little more.
    """
    standing: list[int | None] = [None] if valley_a > STANDING * problem.start.first_notch_a else []
    found: list[tuple[int, int | None]] = []
    for to in range(1, len(problem.stages)):
        earlier = range(to)
        faster = [k for k in earlier if not any(_never_slower(problem, k, later) for later in earlier[k + 1 :])]
        found += [(to, left) for left in [*faster, *standing]]
    return tuple(found)


def _never_slower(problem: Problem, left: int, later: int) -> bool:
    one, other = problem.stages[left], problem.stages[later]
    like = one.grouping == other.grouping and one.weight == other.weight and one.plain and other.plain
    like = like and (other.motor_ohm == one.motor_ohm) and other.field <= one.field
    return like and len(one.circuits) == len(other.circuits) and _within(other, one)


def _within(inner: Stage, outer: Stage) -> bool:
    pairs = zip(inner.circuits, outer.circuits, strict=True)
    return all(set(a.parts) <= set(b.parts) for a, b in pairs)


def _branch(whole: Programme, valley_a: float, tied: Ways) -> Iterator[Ways]:
    """Patterns that hold with margin to spare, among those with the arrivals tied so far; ``whole`` has every way."""
    found = whole.with_ways(tied).most_margin(valley_a) if tied else None
    if found is not None and found.margin_v <= WORTHWHILE_V:
        return
    ohms = np.zeros(len(whole.problem.sections)) if found is None else found.section_ohm
    best = _best_of_each(whole, valley_a, ohms)
    least = {to: margin for to, (margin, _) in best.items() if to not in dict(tied)}
    if found is not None and all(margin > WORTHWHILE_V for margin in least.values()):
        chosen = {to: left for to, (_, left) in best.items()} | dict(tied)
        yield tuple(sorted(chosen.items()))
        return
    worst = min(least, key=lambda to: least[to])
    for way in whole.ways:
        if way[0] == worst:
            yield from _branch(whole, valley_a, (*tied, way))


def _best_of_each(whole: Programme, valley_a: float, ohms: FloatArray) -> dict[int, tuple[float, int | None]]:
    """For each arrival the way with most margin on given ohms: that margin in volts and the notch left."""
    rows = whole.margins(valley_a)
    of_way: dict[tuple[int, int | None], float] = {}
    for arrival, margin in zip(whole.arrivals, rows.matrix @ ohms + rows.offset, strict=True):
        way = (arrival.to, arrival.left)
        of_way[way] = min(of_way.get(way, np.inf), float(margin))
    best: dict[int, tuple[float, int | None]] = {}
    for (to, left), margin in of_way.items():
        if to not in best or margin > best[to][0]:
            best[to] = (margin, left)
    return best
