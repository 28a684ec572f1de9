"""Among arrangements of the least worst error: the least sum of squares, then fewest moved taps and so on.

Both searches split windows depth-first and drop a part once its bound shows nothing better in it. The second compares
moved taps, plates left out, sections that do not meet, and joints from the dot end, in this order.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import sqrt

from griddesign.retaps.board import SAME_ERROR, SAME_SQUARES, Board, Windows, split
from griddesign.retaps.narrowing import can_stay

_NOTHING = 1e-15

Key = tuple[int, int, int, tuple[int, ...]]


class Closest:
    """Arrangements whose errors stay within ``error`` and their caps, by their sum of squares.

    ``choice`` with ``squares`` is the best so far; ``settled`` once nothing can beat it.
    """

    def __init__(self, board: Board, choice: tuple[int, ...], error: float, caps: Sequence[float]) -> None:
        self.board = board
        self.bands = [min(error, cap) + SAME_ERROR for cap in caps]
        self.choice = choice
        self.squares = sum(value**2 for value in board.errors(choice))
        self.spare = 0.0

    def run(self) -> None:
        """Least sum of squares: first downhill from the arrangement at hand, then the proof."""
        self.board.aim(self.bands)
        low, high = self.board.whole()
        self.board.settle(low, high, self.board.every_rule)
        self._downhill(low, high)
        self._search(low, high, self._better, self._keep)

    def ties(self) -> None:
        """Of the arrangements with that sum of squares, the one with the least key."""
        self.spare = SAME_SQUARES
        self._key = self.key(self.choice, self.choice)
        low, high = self.board.whole()
        self._search(low, high, self._maybe_less, self._take_less)

    def _search(
        self, low: list[int], high: list[int], wanted: Callable[[list[int], list[int]], bool],
        take: Callable[[list[int]], object],
    ) -> None:  # fmt: skip
        stack: list[tuple[list[int], list[int], int]] = [(low, high, self.board.every_rule)]
        while stack:
            low, high, pending = stack.pop()
            self.board.tick()
            bounds = self._narrow(low, high, pending)
            if bounds is None or not wanted(low, high):
                continue
            v = self._open(low, high, bounds)
            if v < 0:
                take(low)
                continue
            stack += [(*half, self.board.watching[v]) for half in self._far_first(split(low, high, v))]

    def _far_first(self, halves: tuple[Windows, Windows]) -> tuple[Windows, Windows]:
        """The more promising half last, so that it is searched first."""
        left, right = halves
        if self.spare or sum(self.board.squares(*left)[0]) <= sum(self.board.squares(*right)[0]):
            return right, left
        return left, right

    def _narrow(self, low: list[int], high: list[int], pending: int) -> tuple[list[float], list[float]] | None:
        """Windows settled in the bands the rest of the squares leaves each notch; None where nothing is left."""
        self.board.aim(self.bands)
        while self.board.settle(low, high, pending):
            least, most = self.board.squares(low, high)
            left = self.squares + self.spare - _NOTHING - sum(least)
            if left < 0.0:
                return None
            bands = [min(band, sqrt(left + own)) for band, own in zip(self.bands, least, strict=True)]
            tight = sum(1 << n for n, band in enumerate(bands) if band**2 < most[n])
            before = sum(high) - sum(low)
            self.board.aim(bands)
            if not tight or not self.board.settle(low, high, tight):
                return (least, most) if not tight else None
            if sum(high) - sum(low) == before:
                return least, most
            pending = 0
        return None

    def _open(self, low: Sequence[int], high: Sequence[int], bounds: tuple[list[float], list[float]]) -> int:
        """Unknown to split: the widest of the notch whose square is least known; in a search for ties the first."""
        free = [v for v in range(len(low)) if high[v] > low[v]]
        if not free or self.spare:
            return free[0] if free else -1
        mask = max(
            ((most - least, notch.mask) for least, most, notch in zip(*bounds, self.board.notches, strict=True)),
            default=(0.0, 0),
        )[1]
        in_it = [v for v in free if mask >> v & 1] or free
        return max(in_it, key=lambda v: high[v] - low[v])

    def _better(self, low: list[int], high: list[int]) -> bool:
        for choice in (low, high):
            self._keep(choice)
        return True

    def _keep(self, choice: Sequence[int]) -> bool:
        errors = self.board.errors(choice)
        squares = sum(error**2 for error in errors)
        within = squares < self.squares - _NOTHING and all(map(_within, errors, self.bands))
        if not within or not self.board.allowed(choice):
            return False
        self.choice, self.squares = tuple(choice), squares
        return True

    def _downhill(self, low: Sequence[int], high: Sequence[int]) -> None:
        """Move one tap at a time while that helps."""
        going = True
        while going:
            going = False
            for v in range(len(low)):
                for own in (self.choice[v] - 1, self.choice[v] + 1):
                    if low[v] <= own <= high[v]:
                        going |= self._keep([*self.choice[:v], own, *self.choice[v + 1 :]])

    def key(self, low: Sequence[int], high: Sequence[int]) -> Key:
        """The least each part of the key can be within the windows; exact for one arrangement."""
        ground = self.board.ground
        moved = sum(not can_stay(tap, low, high) for tap in ground.taps)
        before, spans = ground.plates_before, ground.spans
        place = [unknown.places for unknown in ground.unknowns]
        carrying = self._carrying(low, high)
        apart = sum(place[start][low[start]] > place[end][high[end]] for (_, end), (start, _) in pairwise(spans))
        first = tuple(place[v][low[v]] for span in spans for v in span)
        return moved, before[-1] - carrying, apart, first

    def _carrying(self, low: Sequence[int], high: Sequence[int]) -> int:
        """Most plates that can carry current within the windows: from the first tap to the last, less sure gaps."""
        ground = self.board.ground
        before, spans = ground.plates_before, ground.spans
        places = [unknown.places for unknown in ground.unknowns]
        count = before[places[spans[-1][1]][high[spans[-1][1]]]] - before[places[spans[0][0]][low[spans[0][0]]]]
        for (_, end), (start, _) in pairwise(spans):
            gap = before[places[start][low[start]]] - before[places[end][high[end]]]
            count -= max(gap, 0) if end != start else 0
        return count

    def _maybe_less(self, low: list[int], high: list[int]) -> bool:
        return self.key(low, high) < self._key

    def _take_less(self, choice: Sequence[int]) -> None:
        errors = self.board.errors(choice)
        if sum(error**2 for error in errors) <= self.squares + SAME_SQUARES and all(map(_within, errors, self.bands)):
            self.choice, self._key = tuple(choice), self.key(choice, choice)


def _within(error: float, band: float) -> bool:
    return abs(error) <= band
