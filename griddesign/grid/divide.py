"""How the current of a run divides, for many sets of section ohms at once."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.grid.circuit import names
from griddesign.grid.records import Branches, Run

Floats: TypeAlias = NDArray[np.float64]
Divide: TypeAlias = Callable[[Floats], tuple[Floats, Floats]]


def divider(run: Run) -> Divide:
    """A function of section ohms (cases, sections in the order of ``circuit.names``), all above zero.

    It returns the run's ohms (cases,) and each section's share of the run's current (cases, sections).
    """
    order = names(run)
    places = {name: place for place, name in enumerate(order)}

    def divide(section_ohm: Floats) -> tuple[Floats, Floats]:
        shares = np.zeros_like(section_ohm)
        ohms = _run(run, places, section_ohm, shares, np.ones(section_ohm.shape[0]))
        return ohms, shares

    return divide


def _run(run: Run, places: dict[str, int], section_ohm: Floats, shares: Floats, current: Floats) -> Floats:
    """Ohms of the run; the current's shares are added up on the way."""
    total: Floats = np.zeros(section_ohm.shape[0])
    for part in run.parts:
        if isinstance(part, str):
            shares[:, places[part]] += current
            total = total + section_ohm[:, places[part]]
        else:
            total = total + _branches(part, places, section_ohm, shares, current)
    return total


def _branches(group: Branches, places: dict[str, int], section_ohm: Floats, shares: Floats, current: Floats) -> Floats:
    nothing = np.zeros_like(shares)
    conductance = np.array([1.0 / _run(run, places, section_ohm, nothing, current) for run in group.runs])
    whole: Floats = conductance.sum(axis=0)
    for run, part in zip(group.runs, conductance, strict=True):
        _run(run, places, section_ohm, shares, current * part / whole)
    return 1.0 / whole
