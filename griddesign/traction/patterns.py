"""Which notch was left last before each arrival: the pattern of passed notches, chosen by a mixed-integer programme."""

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.problem import Problem, Stage
from griddesign.traction.programme import Programme, Ways

SURELY_MORE_V = 20.0
"""Margins are never further below zero than this many times the line voltage, for any grid of interest."""
STANDING = 0.9


def best_ways(programme: Programme, valley_a: float, binding: frozenset[int]) -> Ways | None:
    """The pattern with the largest smallest margin at a valley current; None where no other can have more.

    That is so where every arrival that decides the margin, ``binding``, can have but one notch left before it.
    Else each arrival chooses one by an unknown of 0 or 1: its margins must hold, those of the others need not. Solved
    exactly by branch and bound.
    """
    ways = candidates(programme.problem, valley_a)
    choices = [to for to, _ in ways]
    if all(choices.count(to) == 1 for to in binding):
        return None
    chosen = _choose(programme.with_ways(ways), valley_a)
    return tuple(way for way, on in zip(ways, chosen, strict=True) if on) if any(chosen) else None


def candidates(problem: Problem, valley_a: float) -> Ways:
    """Every notch that may have been left last before each arrival.

    Not one whose circuits a later notch of the same grouping has only a part of: that later one is never left slower.
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
    return like and len(one.circuits) == len(other.circuits) and _within(other, one)


def _within(inner: Stage, outer: Stage) -> bool:
    pairs = zip(inner.circuits, outer.circuits, strict=True)
    return all(set(a.parts) <= set(b.parts) for a, b in pairs)


def _choose(programme: Programme, valley_a: float) -> list[bool]:
    """Which of the programme's ways are taken, for the largest smallest margin."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    ways, rows = programme.ways, programme.margins(valley_a)
    big = SURELY_MORE_V * programme.problem.line.nominal_v
    of_way = _which_way(programme)
    margins = np.hstack([rows.matrix, -big * of_way, -np.ones((len(of_way), 1))])
    one_each = np.array([[float(way[0] == to) for way in ways] for to in range(1, len(programme.problem.stages))])
    sections = len(programme.problem.sections)
    lows, highs = programme.limits
    result = milp(
        np.append(np.zeros(sections + len(ways)), -1.0),
        constraints=[
            LinearConstraint(margins, lb=-rows.offset - big),
            LinearConstraint(
                _among(programme.conditions.matrix, 0, len(ways) + 1),
                -programme.conditions.offset,
                -programme.conditions.offset,
            ),
            LinearConstraint(_among(programme.capped.matrix, 0, len(ways) + 1), lb=-programme.capped.offset),
            LinearConstraint(_among(one_each, sections, 1), 1.0, 1.0),
        ],
        integrality=np.concatenate([np.zeros(sections), np.ones(len(ways)), [0.0]]),
        bounds=Bounds(
            np.concatenate([lows, np.zeros(len(ways)), [-np.inf]]), np.concatenate([highs, np.ones(len(ways)), [big]])
        ),
    )
    if result.x is None:
        return [False] * len(ways)
    return [bool(value > 0.5) for value in result.x[sections:-1]]


def _which_way(programme: Programme) -> FloatArray:
    """One row for each margin, with a one at the way it belongs to."""
    at = {way: index for index, way in enumerate(programme.ways)}
    belongs = [at[(arrival.to, arrival.left)] for arrival in programme.arrivals]
    return np.eye(len(at))[belongs]


def _among(matrix: FloatArray, before: int, after: int) -> FloatArray:
    """The same rows with columns of nothing before and after."""
    return np.pad(matrix, ((0, 0), (before, after)))
