"""The ground a search moves on: the choice in columns, the rules of one search, and the slices of plate ohms."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from math import ceil, inf, lcm, log
from time import monotonic

import numpy as np

from griddesign.choose.crossing import last_good
from griddesign.choose.frontier import Frontier
from griddesign.choose.network import Aim, Floats, aims
from griddesign.choose.problem import Choice
from griddesign.errors import OutOfTime

_SLICES = 1024
_SLICE_WIDTH = 0.01


@dataclass(frozen=True, slots=True)
class Option:
    """How a section may be built: column of the kind, plates side by side."""

    kind: int
    in_parallel: int


@dataclass(frozen=True, slots=True, eq=False)
class Rules:
    """What a design must meet in one search.

    ``caps`` holds the highest plate ohms for each section (row) and option (column), ``-inf`` where it is ruled out;
    ``kinds`` the columns of the kinds that may be used; ``mass_kg`` the most all plates may weigh together.
    """

    error: float
    caps: Floats
    boxes: int
    kinds: tuple[int, ...]
    mass_kg: float = inf


class Space:
    """The parts of a choice that stay the same from search to search."""

    def __init__(self, choice: Choice, deadline: float) -> None:
        self.choice = choice
        self.deadline = deadline
        self.order = choice.section_order
        self.aims = aims(choice)
        self.narrowed = False
        self._masses: dict[tuple[int, float], float] = {}
        self.options = tuple(Option(k, q) for k in range(len(choice.kinds)) for q in sorted(set(choice.in_parallel)))
        self.low_ohm = np.array([kind.low_ohm for kind in choice.kinds])
        self.high_ohm = np.array([kind.high_ohm for kind in choice.kinds])
        self.joint_ohm = choice.plan.joint_ohm
        self.option_kind = np.array([option.kind for option in self.options])
        self.option_parallel = np.array([option.in_parallel for option in self.options])
        self.fraction = lcm(*choice.in_parallel)
        self.columns = _better_end(self.aims, len(self.order))
        self.plain_counts = np.zeros((len(self.order), len(self.aims)))
        for number, aim in enumerate(self.aims):
            self.plain_counts[list(aim.columns), number] = aim.counts or 0

    def all_fixed(self, kinds: Sequence[int]) -> bool:
        """Whether none of the kinds leaves its ohms open."""
        return bool(np.all(self.low_ohm[list(kinds)] == self.high_ohm[list(kinds)]))

    def check_time(self) -> None:
        """Raises OutOfTime once the time limit has passed."""
        if monotonic() > self.deadline:
            raise OutOfTime

    def plate_mass(self, kind: int, plate_ohm: float) -> float:
        """Kilograms of one plate; each plate is asked for once."""
        if (kind, plate_ohm) not in self._masses:
            self._masses[kind, plate_ohm] = self.choice.mass(self.choice.kinds[kind].name, plate_ohm)
        return self._masses[kind, plate_ohm]

    def light_from(self, kind: int, plate_kg: float) -> float:
        """Least plate ohms at which a plate weighs no more than ``plate_kg``; ``inf`` where none does."""
        low, high = float(self.low_ohm[kind]), float(self.high_ohm[kind])
        if self.plate_mass(kind, low) <= plate_kg:
            return low
        if self.plate_mass(kind, high) > plate_kg:
            return inf
        return last_good(lambda ohm: plate_kg - self.plate_mass(kind, ohm), high, low)


def _better_end(moved: Sequence[Aim], sections: int) -> tuple[int, ...]:
    """Columns from the end at which the notches become complete soonest."""
    ways = (tuple(range(sections)), tuple(reversed(range(sections))))

    def lateness(way: tuple[int, ...]) -> int:
        return sum(max(way.index(column) for column in aim.columns) for aim in moved)

    return min(ways, key=lateness)


def slices(space: Space, kinds: Sequence[int]) -> Frontier:
    """One row for every slice of the range of plate ohms; kinds not in use stand at their low end."""
    free = sum(1 for kind in kinds if space.low_ohm[kind] < space.high_ohm[kind])
    most = int(_SLICES ** (1.0 / max(free, 1)))
    edges = [_edges(space, kind, most if kind in kinds else 0) for kind in range(len(space.low_ohm))]
    rows = list(product(*(list(pairwise(edge)) for edge in edges)))
    ends = np.array(rows, dtype=np.float64)
    count, sections = len(rows), len(space.order)
    return Frontier(
        ends[:, :, 0],
        ends[:, :, 1],
        np.full((count, sections), -1, dtype=np.int32),
        np.zeros((count, sections), dtype=np.int32),
        np.zeros((count, len(edges)), dtype=np.int32),
        np.zeros(count, dtype=np.int64),
        np.arange(count, dtype=np.int64),
    )


def _edges(space: Space, kind: int, most: int) -> list[float]:
    low, high = float(space.low_ohm[kind]), float(space.high_ohm[kind])
    if most == 0 or low == high:
        return [low, low]
    pieces = max(1, min(most, 64, ceil(log(high / low) / _SLICE_WIDTH)))
    return [low, *(low * (high / low) ** (piece / pieces) for piece in range(1, pieces)), high]
