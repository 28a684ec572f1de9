"""The least worst error of any arrangement, proved: bands that grow from too narrow until something fits.

A band in which nothing fits proves that no arrangement is that good. In the first band in which something does, the
search goes on below every arrangement found until nothing is left. Where every notch is a plain stretch of sections,
narrowing decides by itself: all bounds are of one tap by another, so the lowest choices left are an arrangement.
"""

from collections.abc import Sequence
from math import inf

from griddesign.retaps.board import KEEPS, Board, Windows, split

_NOTHING = 1e-11  # more than the slack of the bands, or an arrangement would be found again and again
_FIRST = 1e-3
_GROWTH = 1.35
_HALVINGS = 12
_NEAR = 0.03


class LeastError:
    """The search. ``choice`` with ``error`` is the best arrangement so far, ``proved`` what none can beat.

    ``capped``: every notch is also held within its own tolerance.
    """

    def __init__(self, board: Board, *, capped: bool, proved: float = 0.0) -> None:
        self.board, self.proved = board, proved
        self.caps = [target.tolerance if capped else inf for target in board.targets]
        self.choice: tuple[int, ...] | None = None
        self.error = inf
        self._band = inf

    def run(self, most: float = inf) -> None:
        """Search up to a worst error of ``most``; without any arrangement within it ``proved`` ends there."""
        whole = self._settled(self.board.whole(), most)
        if whole is None:
            self.proved = max(self.proved, most)
            return
        whole = self._halve(whole, most)
        while self.error - self.proved > 2.0 * _NOTHING and self.proved < most:
            self._pass(whole, min(max(self.proved * _GROWTH, _FIRST), self.error - _NOTHING, most))

    def _aim(self, band: float) -> None:
        self._band = band
        self.board.aim([min(band, cap) for cap in self.caps])

    def _settled(self, windows: Windows, band: float) -> Windows | None:
        self._aim(band)
        low, high = [*windows[0]], [*windows[1]]
        return (low, high) if self.board.settle(low, high, self.board.every_rule) else None

    def _halve(self, whole: Windows, most: float) -> Windows:
        """Halve on the band that empties the whole at once; every arrangement met on the way counts."""
        self._try(whole[0])
        self._try(whole[1])
        below, above = self.proved, min(self.error, most)
        windows = whole
        for _ in range(_HALVINGS):
            if above - below <= _NEAR * above:
                break
            band = 0.5 * (below + above) if above < 2.0 * _FIRST + 4.0 * below else max(4.0 * below, _FIRST)
            found = self._settled(windows, band)
            if found is None:
                below = band
                continue
            windows = found
            self._try(found[0])
            self._try(found[1])
            above = min(band, self.error)
        self.proved = below
        return whole

    def _try(self, choice: Sequence[int]) -> bool:
        """Keep the arrangement where it is allowed and better than any before."""
        errors = self.board.errors(choice)
        worst = max(map(abs, errors), default=0.0)
        if worst >= self.error or any(abs(error) > cap + KEEPS for error, cap in zip(errors, self.caps, strict=True)):
            return False
        if not self.board.allowed(choice):
            return False
        self.choice, self.error = tuple(choice), worst
        return True

    def _pass(self, whole: Windows, band: float) -> None:
        """Everything within one band. What it finds narrows the band; what is left open at the end is proved."""
        self._aim(band)
        stack = [([*whole[0]], [*whole[1]], self.board.every_rule, inf)]
        while stack:
            low, high, pending, seen_band = stack.pop()
            self.board.tick()
            pending = pending if seen_band == self._band else self.board.every_rule
            if not self._settle_below(low, high, pending):
                continue
            v = self._open(low, high)
            if v >= 0:
                left, right = split(low, high, v)
                stack += [(*right, self.board.watching[v], self._band), (*left, self.board.watching[v], self._band)]
        self.proved = min(band, self.error)

    def _settle_below(self, low: list[int], high: list[int], pending: int) -> bool:
        """Settle, and again as long as the lowest or highest choices left are a better arrangement."""
        while self.board.settle(low, high, pending):
            if not (self._try(low) or self._try(high)):
                return True
            if self.error <= self._band:
                self._aim(max(self.error - _NOTHING, 0.0))
            pending = self.board.every_rule
            if low == high:
                return False
        return False

    def _open(self, low: Sequence[int], high: Sequence[int]) -> int:
        """The unknown with the fewest choices left, of those that narrowing does not decide; -1 where all are set."""
        best, fewest = -1, 1 << 60
        for v, (first, last) in enumerate(zip(low, high, strict=True)):
            if last > first:
                choices = last - first if self.board.hard >> v & 1 else last - first + (1 << 30)
                if choices < fewest:
                    best, fewest = v, choices
        return best
