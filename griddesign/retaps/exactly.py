"""Every way to make exactly so many exchanges of an order, over all taps: the best, or the proof that none is better.

Taps come from ``within_reach``. With the taps held, of several exchanges the last but one is gone into only where some
last one can bring every plain notch into its band: that is an interval of what it may add, met by bisection among the
moves between the same two sections.
"""

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from math import inf
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import OutOfTime
from griddesign.grid.circuit import is_plain_series
from griddesign.retaps.board import KEEPS
from griddesign.retaps.ground import Ground, falls_short, lay_ground
from griddesign.retaps.least_error import LeastError
from griddesign.retaps.moves import Floats, Moves, moves_on, notch_errors, notch_ohms
from griddesign.retaps.orders import Best, Exchange, Order, movable
from griddesign.retaps.records import PlatesAtHand, Question
from griddesign.retaps.within_reach import WideBoard, arrangements, times_counted

_LOOSE = 1e-9
Take = Callable[[Order], object]


def least_error(order: Order, exchanges: int, deadline: float) -> float:
    """Worst error that taps and so many further exchanges cannot beat, as a share; 0 where there is no time to tell."""
    ground = lay_ground(_loosened(order))
    if ground is None:
        return inf
    search = LeastError(WideBoard(ground, deadline, reach_ohm(order, exchanges)), capped=False)
    with suppress(OutOfTime):
        search.run()
    return search.proved if search.choice is None else min(search.proved, search.error)


def reach_ohm(order: Order, exchanges: int) -> list[float]:
    """By how much so many exchanges may move the ohms of each notch at most."""
    ohms = [order.plates.plates[number - 1].ohm for number in order.movable]
    most = max(ohms) - min(ohms) if ohms and order.swaps_left else 0.0
    for spare in order.shelf if order.spares_left and ohms else ():
        most = max(most, abs(spare.ohm - min(ohms)), abs(spare.ohm - max(ohms)))
    question = order.asked
    counted = [max(times_counted(target.run, name) for name in question.section_order) for target in question.targets]
    return [exchanges * most * times for times in counted]


def _loosened(order: Order) -> Question:
    """The question of taps with plates that may still go taken as strong enough."""
    question, touched = order.fixed, order.touched
    row = tuple(
        replace(plate, current_a=None) if movable(plate) and number not in touched else plate
        for number, plate in enumerate(question.plates.plates, start=1)
    )
    return replace(question, plates=PlatesAtHand(row, question.plates.joint_ohm))


def exactly(order: Order, exchanges: int, best: Best, take: Take, deadline: float) -> None:
    """Go through every way to make so many further exchanges; whatever is better than ``best`` goes to ``take``.

    Raises OutOfTime where that is not done in time.
    """
    ground, whole = lay_ground(_loosened(order)), len(order.made) + exchanges
    if ground is None:
        return
    board = WideBoard(ground, deadline, reach_ohm(order, exchanges))
    for choice in arrangements(board, lambda: best.bands(whole)):
        _Held(order, best, take, deadline, whole).go(ground, choice, exchanges)


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """Section ohms as moved so far, which plates and spares are still free, weak plates that must yet go."""

    ohm: Floats
    free: NDArray[np.bool_]
    unused: NDArray[np.bool_]
    weak: frozenset[int]
    made: tuple[int, ...] = ()


class _Held:
    """One arrangement of taps, held, and ``total`` exchanges with those of the order."""

    def __init__(self, order: Order, best: Best, take: Take, deadline: float, total: int) -> None:
        self.order, self.best, self.take, self.deadline, self.total = order, best, take, deadline, total
        self.question = order.asked
        self.plain = [place for place, target in enumerate(self.question.targets) if is_plain_series(target.run)]
        self.moves: Moves
        self.slopes: list[tuple[Floats, Floats]]

    def go(self, ground: Ground, choice: tuple[int, ...], exchanges: int) -> None:
        """Every way to make so many exchanges with these taps."""
        steps, section_of = self.order.plates.steps, dict[int, int]()
        ohm = np.zeros(len(self.question.section_order))
        for number, (first, last) in enumerate(ground.places(choice)):
            inside = [step for step in steps[first:last] if not step.dead]
            ohm[number] = sum(step.ohm for step in inside)
            section_of |= {step.first: number for step in inside if step.first == step.last}
        self.moves = moves_on(self.order, section_of)
        self.slopes = [(self._slope(upper) - self._slope(lower), gains) for lower, upper, gains in self.moves.groups]
        free, unused = np.ones(len(self.order.plates.plates) + 1, bool), np.ones(len(self.order.shelf) + 1, bool)
        self._deepen(_State(ohm, free, unused, self._too_weak(section_of)), 0, exchanges)

    def _too_weak(self, section_of: Mapping[int, int]) -> frozenset[int]:
        needs = [self.question.needs_a.get(name, 0.0) for name in self.question.section_order]
        ratings = {number: self.order.plates.plates[number - 1].current_a for number in self.order.movable}
        return frozenset(
            number
            for number, own in ratings.items()
            if number in section_of and falls_short(own, needs[section_of[number]])
        )

    def _deepen(self, state: _State, begin: int, left: int) -> None:
        if monotonic() > self.deadline:
            raise OutOfTime
        rows = self._usable(state, begin)
        if not len(rows) or len(state.weak) > 2 * left:
            return
        after = state.ohm + self.moves.change[rows]
        if left == 1:
            self._last(state, rows, after)
            return
        hopeful = self._one_may_do(after) if left == 2 else self._within(after, left - 1)
        for at in np.flatnonzero(hopeful).tolist():
            self._deepen(self._made(state, int(rows[at]), after[at]), int(rows[at]) + 1, left - 1)

    def _usable(self, state: _State, begin: int) -> NDArray[np.intp]:
        moves = self.moves
        swaps = sum(int(moves.second[one] > 0) for one in state.made)
        may_swap = swaps < self.order.swaps_left
        may_fit = len(state.made) - swaps < self.order.spares_left
        second, spare = moves.second[begin:], moves.spare[begin:]
        fit = state.free[moves.first[begin:]] & state.free[second] & state.unused[spare]
        return np.asarray(np.flatnonzero(fit & np.where(second > 0, may_swap, may_fit)) + begin, dtype=np.intp)

    def _made(self, state: _State, move: int, ohm: Floats) -> _State:
        free, unused = state.free.copy(), state.unused.copy()
        first, second, spare = (int(column[move]) for column in (self.moves.first, self.moves.second, self.moves.spare))
        free[first] = False
        if second:
            free[second] = False
        else:
            unused[spare] = False
        return _State(ohm, free, unused, state.weak - {first, second}, (*state.made, move))

    def _limits(self) -> tuple[Floats, Floats]:
        """Least and most of what the current may feel in every notch."""
        wanted = np.array([target.wanted_total_ohm for target in self.question.targets])
        bands = np.array(self.best.bands(self.total))
        high = np.where(bands < 1.0, wanted / np.maximum(1.0 - bands, 1e-300), np.inf)
        return wanted / (1.0 + bands) - _LOOSE * wanted, high + _LOOSE * wanted

    def _last(self, state: _State, rows: NDArray[np.intp], after: Floats) -> None:
        """The best of all last exchanges, where it is better than the best known."""
        errors = notch_errors(self.question, after)
        misses = np.asarray((errors > np.array(self.best.tolerances) + KEEPS).any(axis=1))
        worst = errors.max(axis=1)
        keeps, below = np.logical_not(misses), worst < self.best.room(self.total)
        better = keeps | below if self.best.misses else keeps & below
        for one in state.weak:
            better &= (self.moves.first[rows] == one) | (self.moves.second[rows] == one)
        fit = np.flatnonzero(better)
        if len(fit):
            at = fit[np.lexsort((worst[fit], misses[fit]))[0]]
            made: list[Exchange] = [self.moves.exchange(move) for move in (*state.made, int(rows[at]))]
            self.take(self.order.after(*made))

    def _within(self, after: Floats, left: int) -> NDArray[np.bool_]:
        """Rows from which so many further exchanges may reach the band of every notch."""
        low, high = self._limits()
        weights = np.array([target.weight for target in self.question.targets])
        reach = weights * np.array(reach_ohm(self.order, left))
        felt = notch_ohms(self.question, after)
        return np.asarray(((felt + reach >= low) & (felt - reach <= high)).all(axis=1), dtype=np.bool_)

    def _one_may_do(self, after: Floats) -> NDArray[np.bool_]:
        """Rows from which one further exchange may bring every plain notch into its band."""
        low, high = self._limits()
        felt = notch_ohms(self.question, after)
        low_ohm, high_ohm = (low - felt)[:, self.plain].T, (high - felt)[:, self.plain].T
        found = np.zeros(len(after), dtype=np.bool_)
        for slope, gains in self.slopes:
            least, most = _interval(low_ohm, high_ohm, slope)
            found |= np.searchsorted(gains, least, "left") < np.searchsorted(gains, most, "right")
        return found

    def _slope(self, section: int) -> Floats:
        """How much of an ohm of a section, counted from 1, the current of each plain notch feels; nothing of 0."""
        targets = [self.question.targets[place] for place in self.plain]
        if not section:
            return np.zeros(len(targets))
        name = self.question.section_order[section - 1]
        return np.array([target.weight * times_counted(target.run, name) for target in targets])


def _interval(low: Floats, high: Floats, slope: Floats) -> tuple[Floats, Floats]:
    """What may be added so that every notch (a row), moved by its slope, comes between its ends; for each column."""
    least, most = np.full(low.shape[1], -np.inf), np.full(low.shape[1], np.inf)
    for bottom, top, rise in zip(low, high, slope, strict=True):
        if rise == 0.0:
            most[(bottom > 0.0) | (top < 0.0)] = -np.inf
            continue
        one, other = (bottom / rise, top / rise) if rise > 0.0 else (top / rise, bottom / rise)
        np.maximum(least, one, out=least)
        np.minimum(most, other, out=most)
    return least, most
