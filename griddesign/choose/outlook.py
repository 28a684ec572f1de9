"""How many plates the sections still open will need at the very least: what stops a search early."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from griddesign.choose.cuts import section_ohm
from griddesign.choose.frontier import Frontier
from griddesign.choose.network import Floats
from griddesign.choose.space import Rules, Space


@dataclass(frozen=True, slots=True)
class _Link:
    """One member of a chain of notches: those alike in the sections still open, and the sections it adds."""

    numbers: tuple[int, ...]
    added: tuple[int, ...]


class Outlook:
    """Least plates to come, by slice and level.

    A chain of notches, each holding all open sections of the one before: the open sections must make up at least what
    notch k lacks, ``need_k``, and a section costs at least ``w`` plates for an ohm. Of ``min sum(w x)`` under
    ``sum of the first k sections >= need_k`` the dual gives ``sum (Y_k - Y_(k+1)) need_k`` with Y the smallest ``w`` up
    to k: a lower bound for any counts, and the exact least of the relaxed problem where ``w`` falls along the chain.
    """

    def __init__(self, space: Space, rules: Rules, start: Frontier) -> None:
        self._space = space
        self._windows = np.array([aim.window(rules.error)[0] for aim in space.aims])
        self._plates_per_ohm = _plates_per_ohm(space, rules, start)
        self._chains = [_chain(space, level) for level in range(len(space.columns) + 1)]

    def plates(self, front: Frontier, level: int) -> Floats:
        """Least number of plates for the sections from ``level`` on, for each row."""
        chain = self._chains[level]
        least = np.zeros(len(front))
        if not chain or not len(front):
            return least
        made = section_ohm(self._space, front, front.high_ohm)
        cost = self._costs(front, chain)
        for number, link in enumerate(chain):
            lacking = self._windows[list(link.numbers)] - made @ self._space.plain_counts[:, list(link.numbers)]
            least += cost[number] * np.maximum(lacking.max(axis=1), 0.0)
        return least

    def _costs(self, front: Frontier, chain: Sequence[_Link]) -> list[Floats]:
        falling: list[Floats] = []
        for link in chain:
            own = self._plates_per_ohm[front.cell][:, list(link.added)].min(axis=1)
            falling.append(np.minimum(falling[-1], own) if falling else own)
        return [this - following for this, following in zip(falling, [*falling[1:], np.zeros(len(front))], strict=True)]


def _plates_per_ohm(space: Space, rules: Rules, start: Frontier) -> Floats:
    """Least plates for an ohm by slice (row) and section (column), each section built the cheapest way allowed."""
    best = np.zeros((len(start), len(space.order)))
    for number, option in enumerate(space.options):
        if option.kind not in rules.kinds:
            continue
        low, high = start.low_ohm[:, option.kind], start.high_ohm[:, option.kind]
        cap = rules.caps[:, number]
        plate = np.minimum(high[:, None], cap[None, :])
        ohm = (plate / option.in_parallel + space.joint_ohm) / option.in_parallel
        best = np.maximum(best, np.where(cap[None, :] >= low[:, None], ohm, 0.0))
    return 1.0 / np.where(best > 0.0, best, 1e-300)


def _chain(space: Space, level: int) -> tuple[_Link, ...]:
    """The plain notches still open at a level as a chain by open sections, from the smallest; others are left out."""
    open_columns = frozenset(space.columns[level:])
    groups: dict[frozenset[int], list[int]] = {}
    for number, aim in enumerate(space.aims):
        still = open_columns.intersection(aim.columns)
        if still and aim.counts is not None and max(aim.counts) == 1:
            groups.setdefault(still, []).append(number)
    chain: list[_Link] = []
    covered: frozenset[int] = frozenset()
    for still in sorted(groups, key=len):
        if still > covered:
            chain.append(_Link(tuple(groups[still]), tuple(sorted(still - covered))))
            covered = still
    return tuple(chain)
