"""Every grid that meets a set of rules: sections decided one after another from one end, with nothing left out.

All partial designs of a level are carried at once. Each row keeps the interval of plate ohms within which the notches
decided so far stay inside their windows. For one kind of plate that interval is exact: the ohms of any circuit of like
plates rise with the plate's, so each notch cuts out an interval. Rows that can be shown to be needless are dropped
(see ``frontier.undominated``), and rows whose open sections cannot fit any more (see ``outlook``). The range of plate
ohms is cut into slices that together cover it, which only makes the bounds sharper: no trial values are involved. For
several kinds with free ohms the intervals bound from outside and ``leaf`` decides.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf

import numpy as np

from griddesign.choose.cuts import (
    cut_mass,
    cut_nested,
    cut_plain,
    least_mass_kg,
    lightest_kg,
    section_ohm,
    within_reach,
)
from griddesign.choose.frontier import Frontier, joined, pack, undominated
from griddesign.choose.network import Floats, Ints, section_windows
from griddesign.choose.outlook import Outlook
from griddesign.choose.space import Option, Rules, Space, slices
from griddesign.grid.layout import plates_together

_CHUNK = 50_000
_SLACK = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """One search: the space, the rules, and the windows that hold for every design within the rules."""

    space: Space
    rules: Rules
    low_ohm: Floats
    high_ohm: Floats
    outlook: Outlook
    per_slice: int | None

    @property
    def places(self) -> int:
        """Plate places in the boxes allowed."""
        return self.rules.boxes * self.space.choice.plan.plates_per_box


def designs(space: Space, rules: Rules, per_slice: int | None = None) -> Iterator[Frontier]:
    """All undominated designs within the rules, in lots of rows. Raises OutOfTime.

    ``per_slice`` keeps that many rows of each slice and level only: quick, but finding nothing then proves nothing
    where ``space.narrowed`` tells that rows were left out.

    With one kind, or kinds of fixed ohms only, every row is a design that meets the rules for all plate ohms in its
    interval. With several kinds of free ohms a row may turn out empty: ask ``leaf``.
    """
    windows = _windows(space, rules)
    if windows is None:
        return
    start = slices(space, rules.kinds)
    search = _Search(space, rules, *windows, Outlook(space, rules, start), per_slice)
    yield from _deepen(search, _hopeful(search, start, 0), 0)


def _windows(space: Space, rules: Rules) -> tuple[Floats, Floats] | None:
    """Ohms each section may have in any design within the rules."""
    usable = np.isin(space.option_kind, rules.kinds) & (rules.caps >= space.low_ohm[space.option_kind])
    if not np.all(usable.any(axis=1)):
        return None
    top = np.minimum(rules.caps, space.high_ohm[space.option_kind]) / space.option_parallel + space.joint_ohm
    bottom = space.low_ohm[space.option_kind] / space.option_parallel + space.joint_ohm
    places = rules.boxes * space.choice.plan.plates_per_box
    high = np.where(usable, top, 0.0).max(axis=1) * places
    low = np.where(usable, bottom, inf).min(axis=1) * space.choice.step_unit
    return section_windows(space.aims, space.order, rules.error, low, high)


def _deepen(search: _Search, frontier: Frontier, level: int) -> Iterator[Frontier]:
    search.space.check_time()
    if len(frontier) == 0:
        return
    if level == len(search.space.columns):
        yield frontier
        return
    for first in range(0, len(frontier), _CHUNK):
        part = frontier.take(slice(first, first + _CHUNK))
        yield from _deepen(search, _decide(search, part, level), level + 1)


def _decide(search: _Search, frontier: Frontier, level: int) -> Frontier:
    """Every way to build the level's section, cut by the notches it completes and thinned out."""
    column = search.space.columns[level]
    rests = _rests(search, frontier, column)
    grown = joined([_built(search, frontier, rests, column, number) for number in range(len(search.space.options))])
    decided = frozenset(search.space.columns[: level + 1])
    grown = _hopeful(search, _cut(search, grown, column, decided), level + 1)
    grown = undominated(grown, _keys(search, grown, decided))
    return grown if search.per_slice is None else _freest(search, grown, search.per_slice)


def _freest(search: _Search, front: Frontier, per_slice: int) -> Frontier:
    """The rows of each slice with the widest range of plate ohms left, among those alike the ones using least room."""
    if not len(front):
        return front
    width = (front.high_ohm - front.low_ohm).sum(axis=1)
    order = np.lexsort((front.room, -width, front.cell))
    cell = front.cell[order]
    starts = np.flatnonzero(np.concatenate(([True], cell[1:] != cell[:-1])))
    rank = np.arange(len(cell)) - np.repeat(starts, np.diff(np.append(starts, len(cell))))
    keep = rank < per_slice
    search.space.narrowed |= not bool(keep.all())
    return front.take(order[keep])


def _hopeful(search: _Search, front: Frontier, level: int) -> Frontier:
    """The rows whose open sections may still fit into the boxes and into the mass allowed."""
    if not len(front):
        return front
    to_come = search.outlook.plates(front, level)
    hope = front.room + to_come <= search.places * (1.0 + 1e-9)
    if search.rules.mass_kg < inf:
        hope &= least_mass_kg(search.space, front, to_come) <= search.rules.mass_kg * (1.0 + _SLACK)
    front = front.take(hope)
    if search.rules.mass_kg < inf and level == len(search.space.columns):
        return _light(search, front)
    return front


def _light(search: _Search, front: Frontier) -> Frontier:
    if len(search.rules.kinds) == 1:
        return cut_mass(search.space, search.rules.kinds[0], front, search.rules.mass_kg)
    return front.take(lightest_kg(search.space, front) <= search.rules.mass_kg * (1.0 + _SLACK))


@dataclass(frozen=True, slots=True, eq=False)
class _Rest:
    """What a plain notch holds beside the section in question, least and most, for each row."""

    count: float
    window: tuple[float, float]
    low_ohm: Floats
    high_ohm: Floats


def _rests(search: _Search, frontier: Frontier, column: int) -> list[_Rest]:
    space = search.space
    low = section_ohm(space, frontier, frontier.low_ohm, search.low_ohm)
    high = section_ohm(space, frontier, frontier.high_ohm, search.high_ohm)
    low[:, column] = high[:, column] = 0.0
    numbers = np.flatnonzero(space.plain_counts[column])
    counts = space.plain_counts[:, numbers]
    low_rest, high_rest = low @ counts, high @ counts
    return [
        _Rest(counts[column, n], space.aims[number].window(search.rules.error), low_rest[:, n], high_rest[:, n])
        for n, number in enumerate(numbers)
    ]


def _built(search: _Search, frontier: Frontier, rests: list[_Rest], column: int, number: int) -> Frontier:
    """Every row with the section built by one option, once for each number of steps that may do."""
    space, option = search.space, search.space.options[number]
    if option.kind not in search.rules.kinds:
        return frontier.take(slice(0, 0))
    high = np.minimum(frontier.high_ohm[:, option.kind], search.rules.caps[column, number])
    rows, steps = _step_counts(search, frontier, rests, high, column=column, option=option)
    together = plates_together(option.in_parallel, space.choice.plan.tap_sides)
    room = pack(frontier.room[rows], steps, option.in_parallel, together, space.choice.plan.plates_per_box)
    fits = room <= search.places
    rows, steps = rows[fits], steps[fits]
    grown = frontier.take(rows)
    grown.high_ohm[:, option.kind] = high[rows]
    grown.option[:, column] = number
    grown.steps[:, column] = steps
    grown.plates[:, option.kind] += (steps * option.in_parallel).astype(np.int32)
    grown.room[:] = room[fits]
    return grown


def _step_counts(
    search: _Search, frontier: Frontier, rests: list[_Rest], high: Floats, *, column: int, option: Option
) -> tuple[Ints, Ints]:
    """Row numbers and step counts to try: those for which no plain notch is already beyond its window."""
    joint = search.space.joint_ohm
    low = frontier.low_ohm[:, option.kind]
    step_low, step_high = low / option.in_parallel + joint, high / option.in_parallel + joint
    step_high = np.where(high >= low, step_high, 1e-300)
    least = search.low_ohm[column] / step_high
    most = search.high_ohm[column] / step_low
    for rest in rests:
        least = np.maximum(least, (rest.window[0] - rest.high_ohm) / (rest.count * step_high))
        most = np.minimum(most, (rest.window[1] - rest.low_ohm) / (rest.count * step_low))
    most = np.minimum(most, (search.places - frontier.room) / option.in_parallel)
    return _whole_steps(np.minimum(least, 1e9), most, search.space.choice.step_unit)


def _whole_steps(least: Floats, most: Floats, unit: int) -> tuple[Ints, Ints]:
    first = np.maximum(np.ceil(least / unit - 1e-9), 1.0).astype(np.int64)
    last = np.floor(most / unit + 1e-9).astype(np.int64)
    number = np.maximum(last - first + 1, 0)
    rows = np.repeat(np.arange(len(number)), number)
    nth = np.arange(len(rows)) - np.repeat(np.cumsum(number) - number, number)
    return rows, (first[rows] + nth) * unit


def _cut(search: _Search, front: Frontier, column: int, decided: frozenset[int]) -> Frontier:
    """The rows that can still meet the notches of the section just decided, with their plate ohms cut to fit."""
    space, rules = search.space, search.rules
    touched = [(number, aim) for number, aim in enumerate(space.aims) if column in aim.columns]
    whole = [number for number, aim in touched if aim.plain and decided.issuperset(aim.columns)]
    front = cut_plain(space, rules.kinds, front, whole, rules.error)
    for _, aim in touched:
        if aim.plain:
            continue
        if decided.issuperset(aim.columns) and len(rules.kinds) == 1:
            front = cut_nested(space, rules.kinds[0], front, aim, rules.error)
        else:
            front = within_reach(space, front, aim, rules.error, (search.low_ohm, search.high_ohm))
    return front


def _keys(search: _Search, front: Frontier, decided: frozenset[int]) -> list[Ints]:
    """What rows must have in common to be compared: all that notches still open, or not yet exactly cut, can feel."""
    space = search.space
    exact = len(search.rules.kinds) == 1 or space.all_fixed(search.rules.kinds)
    felt: dict[tuple[tuple[int, int], ...], None] = {}
    columns: list[Ints] = []
    for aim in space.aims:
        if exact and decided.issuperset(aim.columns):
            continue
        if aim.counts is None:
            parts = [array[:, c] for c in aim.columns if c in decided for array in (front.option, front.steps)]
            columns += [part.astype(np.int64) for part in parts]
        else:
            felt[tuple((c, n) for c, n in zip(aim.columns, aim.counts, strict=True) if c in decided)] = None
    for sections in felt:
        columns += _sums(search, front, sections)
    return columns


def _sums(search: _Search, front: Frontier, sections: tuple[tuple[int, int], ...]) -> list[Ints]:
    """Sums over sections in series as whole numbers: steps over plates side by side for each kind, and joints."""
    space = search.space
    sums = {kind: np.zeros(len(front), dtype=np.int64) for kind in search.rules.kinds}
    joints = np.zeros(len(front), dtype=np.int64)
    for column, count in sections:
        option, steps = front.option[:, column], count * front.steps[:, column]
        joints += steps
        share = steps * (space.fraction // space.option_parallel[option])
        for kind in sums:
            sums[kind] += np.where(space.option_kind[option] == kind, share, 0)
    return [*sums.values(), joints] if space.joint_ohm > 0.0 else list(sums.values())
