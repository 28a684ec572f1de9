"""Plate ohms for fixed counts: those that make the worst notch error least, exactly.

One kind: every error falls as the plate ohms rise, so the worst one is least where the largest error too high meets the
largest too low, or at an end of the interval. Several kinds, sections in series: a linear-fractional minimax, solved by
Dinkelbach's rule, one small linear programme a turn (J.-P. Crouzeix, J. A. Ferland and S. Schaible, J. Optim. Theory
Appl. 47, 1985, p. 35, from memory), to the 1e-7 of the linear programmes. Branches with several kinds of free ohms: the
same with tangents, a local answer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from griddesign.choose.cuts import affine, cut_plain, section_ohm
from griddesign.choose.frontier import Frontier, boxes_used
from griddesign.choose.network import Aim, Floats, aim_ohms, ohms_and_slope
from griddesign.choose.space import Rules, Space

_ROWS = 24
_TURNS = 60
_PROGRAMMES = 12
_HAIR = 1e-13
_SLACK = 1e-11


@dataclass(frozen=True, slots=True)
class Leaf:
    """One whole design: option and steps of each section, plate ohms of each kind, what came of it."""

    option: tuple[int, ...]
    steps: tuple[int, ...]
    plate_ohm: tuple[float, ...]
    error: float
    mass_kg: float
    boxes: int


class _Errors:
    """Errors of all notches for rows of fixed counts as functions of the plate ohms."""

    def __init__(self, space: Space, front: Frontier) -> None:
        self._space = space
        self._front = front
        self._shares, self._rest = affine(space, front, range(len(space.aims)))
        self._nested = tuple((n, aim) for n, aim in enumerate(space.aims) if not aim.plain)
        self._other = np.array([aim.notch.other_ohm for aim in space.aims])
        self._factor = np.array([aim.notch.factor for aim in space.aims])
        self._wanted = np.array([aim.notch.total_ohm for aim in space.aims])

    def signed(self, plate_ohm: Floats) -> Floats:
        """``R'_wanted / R'_got - 1`` for every notch (columns) and each row of plate ohms."""
        grid = (self._shares * plate_ohm[:, None, :]).sum(axis=2) + self._rest
        if self._nested:
            ohm = section_ohm(self._space, self._front, plate_ohm)
            for number, aim in self._nested:
                grid[:, number] = aim_ohms(aim, self._space.order, ohm)
        signed: Floats = self._wanted / (self._other + self._factor * grid) - 1.0
        return signed

    def tangent(self, number: int, aim: Aim, plate_ohm: Floats) -> tuple[Floats, float]:
        """Grid ohms of the first row as ``shares . plate ohms + rest``; exact in series, a tangent with branches."""
        if aim.plain:
            return self._shares[0, number], float(self._rest[0, number])
        value = aim_ohms(aim, self._space.order, section_ohm(self._space, self._front, plate_ohm))
        rise = _gradient(self._space, self._front, aim, plate_ohm)
        return rise, float(value[0] - rise @ plate_ohm[0])


def _gradient(space: Space, front: Frontier, aim: Aim, plate_ohm: Floats) -> Floats:
    section = section_ohm(space, front, plate_ohm)
    ohm = {space.order[c]: section[:, c] for c in aim.columns}
    rise = np.zeros(len(space.low_ohm))
    for kind in range(len(rise)):
        own = space.option_kind[front.option] == kind
        along = np.where(own, front.steps / space.option_parallel[front.option], 0.0)
        rise[kind] = ohms_and_slope(aim.notch.circuit, ohm, {space.order[c]: along[:, c] for c in aim.columns})[1][0]
    return rise


def exact_rows(space: Space, rules: Rules) -> bool:
    """Whether every row a search returns is a design: one kind, or none with free ohms."""
    return len(rules.kinds) == 1 or space.all_fixed(rules.kinds)


def exact_leaves(space: Space, rules: Rules) -> bool:
    """Whether ``closest`` finds a design in every row that holds one: not with branches, nor with a limit on the mass,
    where several kinds have free ohms."""
    return exact_rows(space, rules) or (rules.mass_kg == inf and all(aim.plain for aim in space.aims))


def closest(space: Space, rules: Rules, front: Frontier) -> Leaf | None:
    """A design of small worst error among the rows, each taken at its best plate ohms; None where no row holds.

    Looks closely at the most promising rows only, so another row may be better still; whoever wants the least error
    searches again below what was found. With several kinds of free ohms every row is tried until one holds.
    """
    if len(front) == 0:
        return None
    middle = 0.5 * (front.low_ohm + front.high_ohm)
    rough = np.abs(_Errors(space, front).signed(middle)).max(axis=1)
    order = np.argsort(rough, kind="stable")
    if exact_rows(space, rules):
        return _closest_of(space, rules, front.take(order[:_ROWS]))
    for row in order:
        space.check_time()
        leaf = _settle(space, rules, front.take(np.array([row])))
        if leaf is not None:
            return leaf
    return None


def _closest_of(space: Space, rules: Rules, front: Frontier) -> Leaf:
    plate_ohm = front.low_ohm
    if not space.all_fixed(rules.kinds):
        plate_ohm = _balanced(_Errors(space, front), front, rules.kinds[0])
    worst = np.abs(_Errors(space, front).signed(plate_ohm)).max(axis=1)
    best = int(np.argmin(worst))
    return leaf_at(space, front.take(np.array([best])), plate_ohm[best])


def leaf_at(space: Space, front: Frontier, plate_ohm: Floats) -> Leaf:
    """The design of the first row with the given plate ohms."""
    worst = float(np.abs(_Errors(space, front).signed(plate_ohm[None, :])).max())
    mass = float(sum(int(n) * space.plate_mass(k, float(plate_ohm[k])) for k, n in enumerate(front.plates[0]) if n))
    boxes = int(boxes_used(front.room, space.choice.plan.plates_per_box)[0])
    option, steps = (tuple(int(value) for value in row[0]) for row in (front.option, front.steps))
    return Leaf(option, steps, tuple(float(ohm) for ohm in plate_ohm), worst, mass, boxes)


def _balanced(errors: _Errors, front: Frontier, kind: int) -> Floats:
    """Plate ohms of one kind where the largest error too high meets the largest too low, row by row.

    False position on their difference, which falls with the plate ohms, the retained end's weight halved.
    """
    low, high = front.low_ohm.copy(), front.high_ohm.copy()
    at_low, at_high = _tilt(errors, low), _tilt(errors, high)
    ended = (at_low <= 0.0) | (at_high >= 0.0)
    answer = np.where((at_low <= 0.0)[:, None], low, high)
    for turn in range(_TURNS):
        share = np.full(len(front), 0.5) if turn % 4 == 3 else at_low / np.where(ended, 1.0, at_low - at_high)
        trial = low.copy()
        trial[:, kind] += (high - low)[:, kind] * share
        tilt = _tilt(errors, trial)
        answer = np.where(ended[:, None], answer, trial)
        ended |= np.abs(tilt) <= 1e-16
        if np.all(ended | ((high - low)[:, kind] <= 4e-16 * high[:, kind])):
            break
        up = tilt > 0.0
        at_low, at_high = np.where(up, tilt, 0.5 * at_low), np.where(up, 0.5 * at_high, tilt)
        low, high = np.where(up[:, None], trial, low), np.where(up[:, None], high, trial)
    return answer


def _tilt(errors: _Errors, plate_ohm: Floats) -> Floats:
    signed = errors.signed(plate_ohm)
    tilt: Floats = signed.max(axis=1) + signed.min(axis=1)
    return tilt


def _settle(space: Space, rules: Rules, front: Frontier) -> Leaf | None:
    """The row at its best plate ohms for several kinds, if that keeps the rules."""
    plain = [number for number, aim in enumerate(space.aims) if aim.plain]
    for _ in range(2):
        front = cut_plain(space, rules.kinds, front, plain, rules.error)
    if len(front) == 0:
        return None
    errors = _Errors(space, front)
    plate_ohm = 0.5 * (front.low_ohm + front.high_ohm)
    worst = float(np.abs(errors.signed(plate_ohm)).max())
    for _ in range(_PROGRAMMES):
        trial = _programme(space, errors, front, worst, plate_ohm)
        reached = float(np.abs(errors.signed(trial)).max())
        if reached >= worst - _HAIR:
            break
        plate_ohm, worst = trial, reached
    if worst > rules.error * (1.0 + _SLACK):
        return None
    leaf = leaf_at(space, front, plate_ohm[0])
    return leaf if leaf.mass_kg <= rules.mass_kg else None


def _programme(space: Space, errors: _Errors, front: Frontier, worst: float, around: Floats) -> Floats:
    """Plate ohms that leave the most room below the error ``worst``, by a linear programme."""
    from scipy.optimize import linprog

    kinds = len(space.low_ohm)
    rows, limits = [], []
    for number, aim in enumerate(space.aims):
        rise, rest = errors.tangent(number, aim, around)
        wanted = aim.notch.total_ohm
        rise, rest = rise * aim.notch.factor / wanted, (rest * aim.notch.factor + aim.notch.other_ohm) / wanted
        rows += [np.append(-(1.0 + worst) * rise, 1.0), np.append((1.0 - worst) * rise, 1.0)]
        limits += [(1.0 + worst) * rest - 1.0, 1.0 - (1.0 - worst) * rest]
    bounds: Sequence[tuple[float | None, float | None]] = [
        *((float(front.low_ohm[0, k]), float(front.high_ohm[0, k])) for k in range(kinds)),
        (0.0, None),
    ]
    cost = np.append(np.zeros(kinds), -1.0)
    answer = linprog(cost, A_ub=np.array(rows), b_ub=np.array(limits), bounds=bounds, method="highs")
    if answer.x is None:
        return around
    return np.clip(answer.x[:kinds], front.low_ohm[0], front.high_ohm[0])[None, :]
