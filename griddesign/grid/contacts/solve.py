"""Ohms from line to ground and the current in every element, all notches at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CircuitError
from griddesign.grid.contacts.records import Element, Net

Floats: TypeAlias = NDArray[np.float64]
Places: TypeAlias = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """``terminal_ohm`` (…, notches): ohms from line to ground, ``inf`` where nothing joins them, 0 where contacts do.
    ``share`` (…, notches, elements): current of each element from its end a to its end b for 1 A from the line."""

    terminal_ohm: Floats
    share: Floats


@dataclass(frozen=True, eq=False)
class Networks:
    """The nets of all notches, laid out once for solving at many sets of ohms.

    One dense Laplacian for each notch with the ground taken out, all of one size (spare rows hold a one), one stacked
    solve: ``G v = i`` with 1 A into the line. Elements that can carry nothing are left out beforehand, so G is never
    singular. Rows of the ground are ``size``; ``sides`` lists notch, element and the rows of its two ends.
    """

    elements: tuple[Element, ...]
    nets: tuple[Net, ...]
    size: int
    line_row: Places
    sides: tuple[Places, Places, Places, Places]
    spots: tuple[Places, Places, Floats]
    spare: Places

    @classmethod
    def of(cls, elements: Sequence[Element], nets: Sequence[Net]) -> "Networks":
        """Lay out the nets."""
        rows = [_rows(net) for net in nets]
        size = max((len(row) for row in rows), default=0)
        line_row = np.array([row.get(net.line, size) for net, row in zip(nets, rows, strict=True)], dtype=np.intp)
        spare = [(n * size + k) * size + k for n, row in enumerate(rows) for k in range(len(row), size)]
        sides = _sides(nets, rows, size)
        return cls(
            tuple(elements), tuple(nets), size, line_row, sides, _spots(sides, size), np.array(spare, dtype=np.intp)
        )

    def solve(self, ohm: Mapping[str, float]) -> Solved:
        """All notches at the ohms of each element, by name. Raises CircuitError where one in circuit has none above
        zero (leave an open element out when the nets are made; a shorted one is a contact)."""
        for element in sorted({int(place) for place in self.sides[1]}):
            name = self.elements[element].name
            if not 0.0 < ohm.get(name, 0.0) < np.inf:
                raise CircuitError(f"{name} has no ohms", hint="Every element in circuit needs ohms above zero.")
        return self.solve_each(np.array([ohm.get(one.name) or 1.0 for one in self.elements]))

    def solve_each(self, ohm: Floats) -> Solved:
        """The same for an array (…, elements) of ohms, all above zero."""
        conductance = 1.0 / ohm.reshape(-1, len(self.elements))
        volts = self._volts(conductance)
        lead = ohm.shape[:-1]
        share = self._shares(volts, conductance).reshape(*lead, len(self.nets), len(self.elements))
        return Solved(self._terminal(volts).reshape(*lead, len(self.nets)), share)

    def _volts(self, conductance: Floats) -> Floats:
        """(cases, notches, size + 1): volts for 1 A into the line; the last is the ground's, 0."""
        cases, notches = len(conductance), len(self.nets)
        volts = np.zeros((cases, notches, self.size + 1))
        if self.size:
            into = np.zeros((notches, self.size + 1, 1))
            into[np.arange(notches), self.line_row, 0] = 1.0
            volts[..., :-1] = np.linalg.solve(self._laplacians(conductance), into[None, :, :-1])[..., 0]
        return volts

    def _laplacians(self, conductance: Floats) -> Floats:
        """(cases, notches, size, size)."""
        cases, whole = len(conductance), len(self.nets) * self.size * self.size
        spot, element, sign = self.spots
        where = (np.arange(cases)[:, None] * whole + spot).ravel()
        weights = (conductance[:, element] * sign).ravel()
        flat = np.bincount(where, weights, minlength=cases * whole).reshape(cases, whole).astype(np.float64)
        flat[:, self.spare] = 1.0
        laplacian: Floats = flat.reshape(cases, len(self.nets), self.size, self.size)
        return laplacian

    def _terminal(self, volts: Floats) -> Floats:
        """Ohms from line to ground, (cases, notches)."""
        ohm = volts[:, np.arange(len(self.nets)), self.line_row]
        for place, net in enumerate(self.nets):
            if not net.live:
                ohm[:, place] = 0.0 if net.joined else np.inf
        return ohm

    def _shares(self, volts: Floats, conductance: Floats) -> Floats:
        """(cases, notches, elements)."""
        notch, element, a, b = self.sides
        share = np.zeros((*volts.shape[:2], len(self.elements)))
        share[:, notch, element] = (volts[:, notch, a] - volts[:, notch, b]) * conductance[:, element]
        return share


def _rows(net: Net) -> dict[int, int]:
    """Rows of the nodes in circuit; the ground has none."""
    found: dict[int, int] = {}
    for element in net.live:
        for node in net.ends[element]:
            if node != net.ground:
                found.setdefault(node, len(found))
    return found


def _sides(nets: Sequence[Net], rows: Sequence[Mapping[int, int]], size: int) -> tuple[Places, Places, Places, Places]:
    found = [
        (place, element, row.get(net.ends[element][0], size), row.get(net.ends[element][1], size))
        for place, (net, row) in enumerate(zip(nets, rows, strict=True))
        for element in net.live
    ]
    notch, element, a, b = np.array(found, dtype=np.intp).reshape(-1, 4).T
    return notch, element, a, b


def _spots(sides: tuple[Places, Places, Places, Places], size: int) -> tuple[Places, Places, Floats]:
    """Where each conductance goes in the stacked Laplacians, flat, and with which sign."""
    notch, element, a, b = sides
    pairs = ((a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0))
    spot, which, sign = [], [], []
    for row, column, one in pairs:
        inside = (row < size) & (column < size)
        spot.append(((notch * size + row) * size + column)[inside])
        which.append(element[inside])
        sign.append(np.full(int(inside.sum()), one))
    return np.concatenate(spot), np.concatenate(which), np.concatenate(sign)
