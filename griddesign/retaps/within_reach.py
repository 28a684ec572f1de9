"""Arrangements of taps from which so many exchanges of plates might still reach what is asked.

An exchange moves the ohms of at most two sections, one up and one down, by no more than the plates differ. By
Rayleigh's law the ohms of any circuit then move by no more than that times how often the circuit counts a section.
Every band is widened by this, and all arrangements within are listed: those outside need no further look.
"""

from collections.abc import Callable, Iterator, Sequence
from math import inf

from griddesign.grid.records import Run
from griddesign.retaps.board import Board, split
from griddesign.retaps.ground import Ground


class WideBoard(Board):
    """A board whose notches may still be moved by ``reach_ohm`` each, either way."""

    def __init__(self, ground: Ground, deadline: float, reach_ohm: Sequence[float]) -> None:
        super().__init__(ground, deadline)
        self.reach_ohm = tuple(reach_ohm)

    def aim(self, errors: Sequence[float]) -> None:
        """As the board's, the bands widened by the reach."""
        super().aim(errors)
        for notch, reach in zip(self.notches, self.reach_ohm, strict=True):
            notch.least -= reach
            notch.most += reach

    def errors(self, choice: Sequence[int]) -> list[float]:
        """The least error each notch can have within its reach."""
        found = []
        for notch, target, reach in zip(self.notches, self.targets, self.reach_ohm, strict=True):
            ohm = notch.ends(choice, choice)[0]
            low, high = (target.other_ohm + target.weight * (ohm + sign * reach) for sign in (-1.0, 1.0))
            nearest = min(max(target.wanted_total_ohm, low), high)
            found.append(target.wanted_total_ohm / nearest - 1.0 if nearest > 0.0 else inf)
        return found


def arrangements(board: Board, bands: Callable[[], Sequence[float]]) -> Iterator[tuple[int, ...]]:
    """Every arrangement that keeps the rules and the bands, which may close while it goes on.

    Raises OutOfTime as the board does.
    """
    stack = [board.whole()]
    while stack:
        low, high = stack.pop()
        board.tick()
        board.aim(bands())
        if not board.settle(low, high, board.every_rule):
            continue
        free = [v for v in range(len(low)) if high[v] > low[v]]
        if not free:
            if board.allowed(low):
                yield tuple(low)
            continue
        left, right = split(low, high, min(free, key=lambda v: high[v] - low[v]))
        stack += [right, left]


def times_counted(run: Run, name: str) -> int:
    """How often a circuit counts a section; side by side each branch counts at most whole."""
    return sum(
        part == name if isinstance(part, str) else sum(times_counted(branch, name) for branch in part.runs)
        for part in run.parts
    )
