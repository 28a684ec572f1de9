"""With the taps held: every single exchange in one table, with what it adds to the ohms of each section."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from griddesign.grid.circuit import names
from griddesign.grid.divide import divider
from griddesign.retaps.ground import falls_short
from griddesign.retaps.orders import Exchange, Order
from griddesign.retaps.records import Question, Spare

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]
_TINY_OHM = 1e-12


def notch_ohms(question: Question, section_ohm: Floats) -> Floats:
    """What the current feels in every notch, for rows of section ohms: (rows, notches)."""
    columns = {name: column for column, name in enumerate(question.section_order)}
    felt = np.empty((len(section_ohm), len(question.targets)))
    real = np.maximum(section_ohm, _TINY_OHM)
    for place, target in enumerate(question.targets):
        order = [columns[name] for name in names(target.run)]
        felt[:, place] = target.other_ohm + target.weight * divider(target.run)(real[:, order])[0]
    return felt


def notch_errors(question: Question, section_ohm: Floats) -> Floats:
    """Errors of every notch; inf where a section is empty."""
    wanted = np.array([target.wanted_total_ohm for target in question.targets])
    errors = np.abs(wanted / notch_ohms(question, section_ohm) - 1.0)
    return np.where((section_ohm.min(axis=1) > 0.0)[:, None], errors, np.inf)


@dataclass(frozen=True, eq=False)
class Moves:
    """Exchanges one by one. ``first``, ``second``: numbers of the plates, ``second`` 0 for a spare; ``spare``: its
    place on the shelf, -1 for none. ``change`` (moves, sections), ohm. ``lower``, ``upper``: sections between which
    ohms move, counted from 1, 0 for plates that carry nothing and for the shelf; ``gain_ohm``: what the upper one gets.
    """

    first: Numbers
    second: Numbers
    spare: Numbers
    change: Floats
    lower: Numbers
    upper: Numbers
    gain_ohm: Floats
    shelf: tuple[Spare, ...]

    def __len__(self) -> int:
        return len(self.first)

    @cached_property
    def groups(self) -> tuple[tuple[int, int, Floats], ...]:
        """Every pair of sections with a move between them, and the ohms its moves bring the upper, in rising order."""
        pairs = self.lower * (int(self.upper.max(initial=0)) + 1) + self.upper
        found = []
        for pair in np.unique(pairs):
            own = np.flatnonzero(pairs == pair)
            found.append((int(self.lower[own[0]]), int(self.upper[own[0]]), np.sort(self.gain_ohm[own])))
        return tuple(found)

    def exchange(self, number: int) -> Exchange:
        """The move of that number in words of the sheet."""
        place = int(self.spare[number])
        return Exchange(int(self.first[number]), int(self.second[number]), None if place < 0 else self.shelf[place])


def moves_on(order: Order, section_of: Mapping[int, int]) -> Moves:
    """Every exchange of an order that changes something and puts no plate where it is too weak.

    ``section_of``: number of the section each plate is in; plates that carry nothing are not in it.
    """
    sections, plates = len(order.asked.section_order), order.plates.plates
    carries = _carries(order)
    rows = []
    for place, one in enumerate(order.movable):
        here, own = section_of.get(one, -1) + 1, plates[one - 1]
        for other in order.movable[place + 1 :] if order.swaps_left else ():
            there = section_of.get(other, -1) + 1
            if here != there and carries[one][there] and carries[other][here]:
                rise = plates[other - 1].ohm - own.ohm
                low, high, gain = (here, there, -rise) if here < there else (there, here, rise)
                rows.append((one, other, -1, low, high, gain))
        if here:
            rows += _fitted(order, one, here)
    return _moves(rows, sections, order.shelf)


Row = tuple[int, int, int, int, int, float]


def _fitted(order: Order, number: int, here: int) -> list[Row]:
    """Spares in the place of one plate."""
    need = order.asked.needs_a.get(order.asked.section_order[here - 1], 0.0)
    own = order.plates.plates[number - 1]
    return [
        (number, 0, place, 0, here, spare.ohm - own.ohm)
        for place, spare in enumerate(order.shelf if order.spares_left else ())
        if not falls_short(spare.current_a, need)
    ]


def _carries(order: Order) -> dict[int, list[bool]]:
    """Whether each movable plate may stand in each section; nothing is asked of it where it carries nothing."""
    needs = [0.0, *(order.asked.needs_a.get(name, 0.0) for name in order.asked.section_order)]
    ratings = {number: order.plates.plates[number - 1].current_a for number in order.movable}
    return {number: [not falls_short(own, need) for need in needs] for number, own in ratings.items()}


def _moves(rows: Sequence[Row], sections: int, shelf: tuple[Spare, ...]) -> Moves:
    whole = np.array([row[:5] for row in rows], dtype=np.intp).reshape(-1, 5)
    gain = np.array([row[5] for row in rows])
    change = np.zeros((len(rows), sections + 1))
    every = np.arange(len(rows))
    change[every, whole[:, 4]] = gain
    change[every, whole[:, 3]] -= gain
    first, second, spare, lower, upper = whole.T
    return Moves(first, second, spare, change[:, 1:], lower, upper, gain, shelf)
