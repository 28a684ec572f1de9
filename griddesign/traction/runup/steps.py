"""How the run is stepped: along the current down to the valley, or along the clock.

Along the current, everything else (time, way, heat, joules) is a sum over it, and the valley is met exactly without a
search. Gauss's collocation between the points of the motor curve, where one cubic gives way to the next (order 6; see
E. Hairer, S. P. Norsett, G. Wanner, Solving Ordinary Differential Equations I, section II.7). Currents at its nodes are
known beforehand and only temperatures feed back, so all nodes of a notch are worked out at once, and again with the
temperatures that came out: each round takes two digits off their error.

Along the clock the current is stepped too: as far as whole stretches between points of the curve go into the time, as
above, the rest by the classic fourth-order rule of Runge and Kutta.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import ceil, log
from typing import Protocol

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.runup.flow import LEAD, STUCK, TIME, Rate, temperatures_of


class Led(Protocol):
    """Rates led by a current: K/s with A/s, and of the whole state, from that current and the temperatures."""

    def warming(self, mean_a: FloatArray, t_c: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rates of the temperatures, K/s, and of the current, A/s."""

    def rate(self, mean_a: FloatArray, t_c: FloatArray) -> FloatArray:
        """Rates of the whole state (..., rows, M); the last row is the current's."""


Seen = Callable[[FloatArray], None]
NODES = 3
STEEP_LEFT = 0.1
LONGEST_FALL = 0.42
LEAST_SHARE = 0.05
LONGEST_STEP_S = 0.4
SHARE_A_STEP = 0.06


@dataclass(frozen=True, slots=True)
class Care:
    """How finely to step: ``parts`` of every stretch and step, ``rounds`` of the temperatures."""

    parts: int = 1
    rounds: int = 2


USUAL = Care()


def by_current(
    notch: Led, state: FloatArray, to_a: FloatArray, marks: FloatArray, care: Care, seen: Seen | None = None
) -> FloatArray:
    """The state when the current of every case has fallen to ``to_a`` (M,); cases already there stay as they are.

    ``marks`` (points, M or 1), falling, are those of ``Powered.marks``. A case whose current does not fall on the way
    (the pull comes down to the resistance first) is marked ``STUCK``.
    """
    end_a = np.minimum(state[LEAD], to_a)
    edges = np.array(_edges(state[LEAD], end_a, marks, care.parts))
    width = np.diff(edges, axis=0)
    if not width.any():
        return state
    nodes, weights, inner = _gauss(width.shape[0])
    mean_a = (edges[:-1, None] + nodes[:, None] * width[:, None]).reshape(-1, state.shape[-1])
    change = _over_current(notch, state, mean_a, np.repeat(width, NODES, axis=0), inner, care.rounds)
    if seen is not None:
        for node in state + np.tensordot(inner, change, axes=1):
            seen(node)
    after = state + np.tensordot(weights, change, axes=1)
    after[LEAD] = end_a
    return after


def _over_current(
    notch: Led, state: FloatArray, mean_a: FloatArray, width: FloatArray, inner: FloatArray, rounds: int
) -> FloatArray:
    """Changes (moments, rows, M) of the state over the stretch of each node, the temperatures fed back."""
    begin_c, begin_a = temperatures_of(state), state[LEAD]
    warming, falling = notch.warming(begin_a, begin_c)
    t_c = begin_c + (warming * _per_ampere(falling)) * (mean_a - begin_a)[:, None, :]
    for _ in range(rounds - 1):
        warming, falling = notch.warming(mean_a, t_c)
        warming *= (width * _per_ampere(falling))[:, None, :]
        t_c = begin_c + np.tensordot(inner, warming, axes=1)
    change = notch.rate(mean_a, t_c)
    falls = change[:, LEAD] < 0.0
    change *= (width * _per_ampere(change[:, LEAD]))[:, None, :]
    change[:, STUCK] = np.where(falls | (width == 0.0), 0.0, 1.0)
    return change


def _per_ampere(falling: FloatArray) -> FloatArray:
    """Seconds for an ampere, negative, from the rate of the current in A/s; 0 where it does not fall."""
    falls = falling < 0.0
    return np.where(falls, 1.0 / np.where(falls, falling, -1.0), 0.0)


def _edges(from_a: FloatArray, to_a: FloatArray, marks: FloatArray, parts: int) -> list[FloatArray]:
    """Currents between which there is no point of the curve, from the highest down; stretches may have no length.

    A stretch over which the current falls to less than two thirds is parted, since its pull falls to less than a half.
    """
    inside = [mark for mark in marks if np.any((to_a < mark) & (mark < from_a))]
    bounds = [from_a, *(np.clip(mark, to_a, from_a) for mark in inside), to_a]
    edges = []
    for high, low in pairwise(bounds):
        fall = float(np.max(high / np.maximum(low, LEAST_SHARE * high)))
        count = parts * max(1, ceil(log(fall) / LONGEST_FALL))
        edges += [high + (low - high) * (step / count) for step in range(count)]
    return [*edges, to_a]


@cache
def _gauss(stretches: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Nodes on (0, 1); over so many stretches the weights of all nodes, and those of each node up to another."""
    roots, double = np.polynomial.legendre.leggauss(NODES)
    nodes, weights = 0.5 * (roots + 1.0), 0.5 * double
    powers = np.vander(nodes, increasing=True)
    whole = nodes[:, None] ** np.arange(1, NODES + 1) / np.arange(1, NODES + 1)
    within: FloatArray = np.linalg.solve(powers.T, whole.T).T.astype(np.float64)
    earlier = np.kron(np.tril(np.ones((stretches, stretches)), -1), np.tile(weights, (NODES, 1)))
    inner: FloatArray = (earlier + np.kron(np.eye(stretches), within)).astype(np.float64)
    return nodes, np.tile(weights, stretches), inner


def by_clock(
    notch: Led, state: FloatArray, seconds: FloatArray, marks: FloatArray, care: Care, seen: Seen | None = None
) -> FloatArray:
    """The state ``seconds`` (M,) later."""
    until_s = state[TIME] + seconds
    for place in range(len(marks)):
        state = _down_to(notch, state, marks[place:], until_s, care, seen)
    left_s = until_s - state[TIME]
    _, falling = notch.warming(state[LEAD], temperatures_of(state))
    count = care.parts * _clock_steps(falling / state[LEAD], left_s)
    return in_time(lambda now: notch.rate(now[LEAD], temperatures_of(now)), state, left_s, count, seen)


def _down_to(
    notch: Led,
    state: FloatArray,
    marks: FloatArray,
    until_s: FloatArray,
    care: Care,
    seen: Seen | None,
) -> FloatArray:
    """The state at the first of the marks, in the cases that get there in time without slowing down much; else as it
    was.

    Where the current hardly falls any more its time is no smooth function of it: that is left to the clock.
    """
    to_a = np.minimum(state[LEAD], marks[0])
    begins, ends = (notch.warming(amps, temperatures_of(state))[1] for amps in (state[LEAD], to_a))
    steep = (to_a < state[LEAD]) & (ends < STEEP_LEFT * begins) & (begins < 0.0)
    near = steep & (to_a - state[LEAD] > begins * (until_s - state[TIME]))
    if not near.any():
        return state
    passed: list[FloatArray] = []
    after = by_current(notch, state, np.where(near, to_a, state[LEAD]), marks, care, passed.append)
    arrived = near & (after[TIME] <= until_s) & (after[STUCK] == 0.0)
    if seen is not None:
        for node in passed:
            seen(np.where(arrived, node, state))
    return np.where(arrived, after, state)


def _clock_steps(falling: FloatArray, seconds: FloatArray) -> int:
    """Steps of at most 0.4 s, in which the current (``falling``: its part lost per second) loses at most 6 per cent."""
    wanted = seconds * np.maximum(1.0 / LONGEST_STEP_S, np.abs(falling) / SHARE_A_STEP)
    return max(1, int(np.ceil(wanted.max())))


def in_time(rate: Rate, state: FloatArray, seconds: FloatArray, steps: int, seen: Seen | None = None) -> FloatArray:
    """The state ``seconds`` (M,) later, each case in so many steps of its own length."""
    width = seconds / steps
    for _ in range(steps):
        first = rate(state) * width
        second = rate(state + 0.5 * first) * width
        third = rate(state + 0.5 * second) * width
        fourth = rate(state + third) * width
        state = state + (first + 2.0 * (second + third) + fourth) / 6.0
        if seen is not None:
            seen(state)
    return state
