"""What notches leave of the plate ohms once their sections are decided."""

from collections.abc import Sequence
from math import inf

import numpy as np

from griddesign.choose.frontier import Frontier
from griddesign.choose.network import Aim, Floats, ohms_and_slope
from griddesign.choose.space import Space

_SLACK = 1e-12
_NEWTON_STEPS = 40


def section_ohm(space: Space, front: Frontier, plate_ohm: Floats, open_ohm: Floats | None = None) -> Floats:
    """Ohms of every section at given plate ohms; ``open_ohm`` where the section is not decided yet."""
    plate = plate_ohm[:, :1]
    if plate_ohm.shape[1] > 1:
        plate = np.take_along_axis(plate_ohm, space.option_kind[front.option], axis=1)
    decided: Floats = front.steps * (plate / space.option_parallel[front.option] + space.joint_ohm)
    if open_ohm is None:
        return decided
    return np.where(front.option >= 0, decided, open_ohm)


def affine(space: Space, front: Frontier, numbers: Sequence[int]) -> tuple[Floats, Floats]:
    """Grid ohms of plain notches as ``sum over kinds (share * plate ohm) + rest``: shares by row, notch and kind (third
    axis), rest by row and notch. Sections not decided count nothing."""
    counts = space.plain_counts[:, list(numbers)]
    parts = front.steps / space.option_parallel[front.option]
    shares = np.empty((len(front), counts.shape[1], len(space.low_ohm)))
    for kind in range(shares.shape[2]):
        own = parts if shares.shape[2] == 1 else np.where(space.option_kind[front.option] == kind, parts, 0.0)
        shares[:, :, kind] = own @ counts
    return shares, (front.steps @ counts) * space.joint_ohm


def cut_plain(space: Space, kinds: Sequence[int], front: Frontier, numbers: Sequence[int], error: float) -> Frontier:
    """Cuts the interval of each kind by notches of sections in series: ``sum(share r) + rest`` inside each window.

    Exact for one kind. For several kinds each notch cuts each kind with the others at their far end.
    """
    if not numbers or not len(front):
        return front
    shares, rest = affine(space, front, numbers)
    windows = np.array([space.aims[number].window(error) for number in numbers])
    low, high = front.low_ohm.copy(), front.high_ohm.copy()
    for kind in kinds:
        share = shares[:, :, kind]
        others_high = (shares * high[:, None, :]).sum(axis=2) - share * high[:, None, kind] + rest
        others_low = (shares * low[:, None, :]).sum(axis=2) - share * low[:, None, kind] + rest
        by = np.where(share > 0.0, share, 1.0)
        least = np.where(share > 0.0, (windows[:, 0] - others_high) / by, -inf)
        most = np.where(share > 0.0, (windows[:, 1] - others_low) / by, inf)
        low[:, kind] = np.maximum(low[:, kind], least.max(axis=1))
        high[:, kind] = np.minimum(high[:, kind], most.min(axis=1))
    return narrowed(front, low, high)


def narrowed(front: Frontier, low: Floats, high: Floats) -> Frontier:
    """The front with narrower intervals, without the rows where nothing is left. A hair of slack for rounding, which
    never takes the plate ohms out of the interval they had."""
    alive = np.all(low <= high * (1.0 + _SLACK), axis=1)
    high = np.maximum(high, front.low_ohm)
    narrow = Frontier(np.minimum(low, high), high, front.option, front.steps, front.plates, front.room, front.cell)
    return narrow if bool(alive.all()) else narrow.take(alive)


def cut_nested(space: Space, kind: int, front: Frontier, aim: Aim, error: float) -> Frontier:
    """Cuts the interval of the one kind in use by a notch with branches, exactly."""
    if not len(front):
        return front
    window = aim.window(error)
    low, high = front.low_ohm.copy(), front.high_ohm.copy()
    start = front.low_ohm[:, kind]
    low[:, kind] = np.maximum(start, plate_ohm_for(space, front, aim, window[0], start))
    high[:, kind] = np.minimum(front.high_ohm[:, kind], plate_ohm_for(space, front, aim, window[1], start))
    return narrowed(front, low, high)


def plate_ohm_for(space: Space, front: Frontier, aim: Aim, target: float, start: Floats) -> Floats:
    """Plate ohms at which the notch has ``target`` ohms, all plates being of one kind, ohm.

    Newton's rule. The ohms of a network are concave in the plate ohms, so the steps close in from below and need no
    guard; with no joint ohms the first step is exact. Where ``start`` is already past the target the first step goes
    below it, on the safe side of the root.
    """
    if target == inf:
        return np.full(len(front), inf)
    names = [space.order[column] for column in aim.columns]
    steps = front.steps[:, list(aim.columns)]
    slope = steps / space.option_parallel[front.option[:, list(aim.columns)]]
    by_name = {name: slope[:, number] for number, name in enumerate(names)}
    plate = start.copy()
    for _ in range(_NEWTON_STEPS):
        ohm = slope * plate[:, None] + steps * space.joint_ohm
        value, rise = ohms_and_slope(aim.notch.circuit, {n: ohm[:, k] for k, n in enumerate(names)}, by_name)
        following = np.maximum(plate + (target - value) / rise, 0.01 * plate)
        if np.all(np.abs(following - plate) <= 2e-15 * plate):
            return following
        plate = following
    return plate


def within_reach(space: Space, front: Frontier, aim: Aim, error: float, open_ohm: tuple[Floats, Floats]) -> Frontier:
    """The rows whose notch with branches can still fall into its window, by its ohms at both ends (Rayleigh)."""
    if not len(front):
        return front
    ends = []
    for plate_ohm, open_end in zip((front.low_ohm, front.high_ohm), open_ohm, strict=True):
        ohm = section_ohm(space, front, plate_ohm, open_end)
        by_name = {space.order[column]: ohm[:, column] for column in aim.columns}
        ends.append(ohms_and_slope(aim.notch.circuit, by_name, by_name)[0])
    window = aim.window(error)
    return front.take((ends[1] >= window[0] * (1.0 - _SLACK)) & (ends[0] <= window[1] * (1.0 + _SLACK)))


def cut_mass(space: Space, kind: int, front: Frontier, mass_kg: float) -> Frontier:
    """The rows of one kind whose plates can weigh ``mass_kg`` or less together, with their plate ohms cut to that."""
    counts, back = np.unique(front.plates[:, kind], return_inverse=True)
    light = np.array([space.light_from(kind, mass_kg * (1.0 + _SLACK) / count) for count in counts])[back]
    low = front.low_ohm.copy()
    low[:, kind] = np.maximum(low[:, kind], light)
    return narrowed(front, low, front.high_ohm)


def least_mass_kg(space: Space, front: Frontier, to_come: Floats | float = 0.0) -> Floats:
    """Kilograms no row can come below, with ``to_come`` more plates: every plate at its kind's highest ohms."""
    top = np.array([space.plate_mass(kind, float(ohm)) for kind, ohm in enumerate(space.high_ohm)])
    mass: Floats = front.plates @ top + to_come * top.min()
    return mass


def lightest_kg(space: Space, front: Frontier) -> Floats:
    """Kilograms of each row with every kind at the highest plate ohms the row leaves it."""
    mass = np.zeros(len(front))
    for kind in range(len(space.low_ohm)):
        ohm, back = np.unique(front.high_ohm[:, kind], return_inverse=True)
        if front.plates[:, kind].any():
            mass += front.plates[:, kind] * np.array([space.plate_mass(kind, float(value)) for value in ohm])[back]
    return mass


def lightest_rows(front: Frontier, kind: int) -> Frontier:
    """Of the rows of one kind with the same number of plates, the one with the highest plate ohms."""
    order = np.lexsort((-front.high_ohm[:, kind], front.plates[:, kind]))
    count = front.plates[order, kind]
    return front.take(order[np.concatenate(([True], count[1:] != count[:-1]))])
