"""What would cure notches that no arrangement brings within their tolerance: plates to add, and where.

A linear programme on the section ohms: the least sum of ohms added and taken away that brings every circuit within its
window. ``dR/dr = (i/I)^2`` makes it linear for sections side by side too; a few rounds settle those. It is a proposal
on the taps found, checked by the ohms it comes to, not a proof that fewer plates would not do.
"""

from collections.abc import Mapping, Sequence
from statistics import median

import numpy as np

from griddesign.grid.circuit import ohms, shares
from griddesign.judge.retapping.records import Cure
from griddesign.retaps.records import NotchTarget, PlatesAtHand

ROUNDS = 8
INSIDE = 0.9
"""Share of the tolerance the cure may use: what is left is for the plates that are cast."""
NOTHING_OHM = 1e-9


def cures(
    targets: Sequence[NotchTarget], section_ohm: Mapping[str, float], plates: PlatesAtHand
) -> tuple[tuple[Cure, ...], bool]:
    """Ohms to add to sections (or to take from them), as plates; and whether they bring every notch in."""
    change = dict.fromkeys(section_ohm, 0.0)
    for _ in range(ROUNDS):
        now = {name: ohm + change[name] for name, ohm in section_ohm.items()}
        found = _step(targets, section_ohm, now)
        if found is None:
            return (), False
        settled = all(abs(found[name] - change[name]) < NOTHING_OHM for name in found)
        change = found
        if settled:
            break
    made = {name: ohm + change[name] for name, ohm in section_ohm.items()}
    cured = all(abs(target.error(ohms(target.run, made))) <= target.tolerance for target in targets)
    plate_ohm = median(_sound(plates) or [1.0])
    return tuple(_cure(name, ohm, plate_ohm) for name, ohm in change.items() if abs(ohm) > NOTHING_OHM), cured


def _sound(plates: PlatesAtHand) -> list[float]:
    return [plate.ohm for plate in plates.plates if plate.state == "in circuit"]


def _cure(section: str, ohm: float, plate_ohm: float) -> Cure:
    """As whole plates of nearly the usual ohms."""
    number = max(1, round(abs(ohm) / plate_ohm))
    return Cure(section, ohm, number, abs(ohm) / number)


def _step(
    targets: Sequence[NotchTarget], first: Mapping[str, float], now: Mapping[str, float]
) -> dict[str, float] | None:
    """Changes against ``first`` from the circuits laid straight at ``now``; None where there are none."""
    from scipy.optimize import linprog

    order, rows, limits = list(first), [], []
    for target in targets:
        slope = {name: share * share for name, share in shares(target.run, now).items()}
        at = ohms(target.run, now) - sum(slope.get(name, 0.0) * (now[name] - first[name]) for name in order)
        low, high = (_grid_ohm(target, sign * INSIDE * target.tolerance) for sign in (1.0, -1.0))
        row = np.array([slope.get(name, 0.0) for name in order])
        rows += [np.concatenate([row, -row]), np.concatenate([-row, row])]
        limits += [high - at, at - low]
    count = len(order)
    bounds = [(0.0, None)] * count + [(0.0, 0.999 * first[name]) for name in order]
    found = linprog(np.ones(2 * count), np.array(rows), np.array(limits), bounds=bounds, method="highs")
    if found.status != 0 or found.x is None:
        return None
    return {name: float(found.x[place] - found.x[count + place]) for place, name in enumerate(order)}


def _grid_ohm(target: NotchTarget, error: float) -> float:
    """The grid's ohms at which the notch has this error."""
    return (target.wanted_total_ohm / (1.0 + error) - target.other_ohm) / target.weight
