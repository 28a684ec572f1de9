"""What no exchange of plates and no taps can beat: plates shared out among sections at will.

Each section gets a whole number of plates from all there are, spares among them, wherever they stand; a plate itself
may be divided. Only notches whose sections are in series are asked for, and of the joints only whether every count must
be even.
Every real arrangement is one of these, so the least worst error here is a bound for all. A linear programme with whole
counts, solved by HiGHS; the error is a ratio, which Dinkelbach's iteration makes linear (W. Dinkelbach, On Nonlinear
Fractional Programming, Management Science 13 (1967) 492-498).
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import gcd, inf
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from griddesign.grid.circuit import is_plain_series
from griddesign.retaps.ground import falls_short, lay_ground
from griddesign.retaps.records import NotchTarget, Question

_ROUNDS = 6
_SOLVER = 1e-6
"""What HiGHS may pass a limit by (its feasibility tolerances): taken off what it proves."""
_ENOUGH = 2e-6

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class _Pool:
    """What may be shared out: ohms of each unit, spares last, and how often each notch counts each section."""

    ohm: Floats
    spares: int
    counts: Floats
    allowed: NDArray[np.bool_]


def least_error_of_any_exchange(question: Question, deadline: float) -> float:
    """Worst error that no exchange can beat, as a share; 0 where the relaxed question has no bound or no time."""
    targets = [target for target in question.targets if is_plain_series(target.run) and target.run.parts]
    pool, bound, ratio = _pool(question, targets), 0.0, 0.0
    if not targets or not len(pool.ohm):
        return 0.0
    for _ in range(_ROUNDS):
        left = deadline - monotonic()
        solved = _solve(question, pool, targets, ratio, left) if left > 0.02 else None
        if solved is None:
            break
        ohms, least = solved
        bound = max(bound, _proved(ratio, least))
        reached = max(abs(t.wanted_total_ohm / felt - 1.0) for t, felt in zip(targets, ohms, strict=True))
        if (least >= -_ENOUGH and ratio > 0.0) or reached <= _ENOUGH:
            break
        ratio = reached
    return bound


def _proved(ratio: float, least: float) -> float:
    """``|T - R'| - ratio R' >= least T`` in some notch: ``|e| >= ratio + least T / R'``, T/R' in ``1 -+ |e|``."""
    return max(0.0, (ratio + least) / (1.0 + abs(least)))


def _pool(question: Question, targets: list[NotchTarget]) -> _Pool:
    steps = [step for step in question.plates.steps if step.ohm > 0.0 and not step.dead]
    spares = question.rules.spares
    ohm = [step.ohm for step in steps] + [spare.ohm + question.plates.joint_ohm for spare in spares]
    ratings = [step.current_a for step in steps] + [spare.current_a for spare in spares]
    needs = [question.needs_a.get(name, 0.0) for name in question.section_order]
    allowed = np.array([[not falls_short(rating, need) for need in needs] for rating in ratings], dtype=np.bool_)
    counts = [[float(target.run.parts.count(name)) for name in question.section_order] for target in targets]
    return _Pool(np.array(ohm), len(spares), np.array(counts), allowed)


def _solve(
    question: Question, pool: _Pool, targets: list[NotchTarget], ratio: float, left_s: float
) -> tuple[Floats, float] | None:
    """Least ``u`` with ``|T - R'| - ratio R' <= u T`` in every notch: R' of each notch, and what ``u`` is proved."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    units, sections = len(pool.ohm), len(question.section_order)
    width = units * sections + sections + 1
    rows, low, high = _shares(question, pool)
    weight = np.array([target.weight for target in targets])
    other = np.array([target.other_ohm for target in targets])
    wanted = np.array([target.wanted_total_ohm for target in targets])
    felt = weight[:, None] * np.einsum("u,ns->nus", pool.ohm, pool.counts).reshape(len(targets), -1)
    notch = np.zeros((2 * len(targets), width))
    notch[: len(targets), : units * sections] = (1.0 - ratio) * felt
    notch[len(targets) :, : units * sections] = -(1.0 + ratio) * felt
    notch[:, -1] = -np.tile(wanted, 2)
    limit = np.concatenate((wanted - (1.0 - ratio) * other, (1.0 + ratio) * other - wanted))
    matrix = np.vstack((rows, notch))
    constraint = LinearConstraint(matrix, np.append(low, np.full(len(limit), -inf)), np.append(high, limit))
    whole = np.concatenate((np.zeros(units * sections), np.ones(sections), [0.0]))
    top = np.concatenate((pool.allowed.ravel().astype(float), np.full(sections, float(units)), [inf]))
    bottom = np.concatenate((np.zeros(units * sections), np.ones(sections), [-inf]))
    goal = np.append(np.zeros(width - 1), 1.0)
    found = milp(goal, constraints=constraint, bounds=Bounds(bottom, top), integrality=whole,
                 options={"time_limit": left_s, "mip_rel_gap": 0.0})  # fmt: skip
    if found.x is None or found.mip_dual_bound is None:
        return None
    return other + felt @ found.x[: units * sections], min(float(found.mip_dual_bound), float(found.fun)) - _SOLVER


def _shares(question: Question, pool: _Pool) -> tuple[Floats, Floats, Floats]:
    """Rows: each unit at most once, whole counts, spares and places no more than there are."""
    units, sections = len(pool.ohm), len(question.section_order)
    rules, inner = question.rules, units * sections
    once = np.zeros((units, inner + sections + 1))
    for unit in range(units):
        once[unit, unit * sections : (unit + 1) * sections] = 1.0
    counted = np.zeros((sections, inner + sections + 1))
    for section in range(sections):
        counted[section, section:inner:sections] = 1.0
        counted[section, inner + section] = -float(_at_a_time(question))
    total = np.zeros((2, inner + sections + 1))
    total[0, :inner] = 1.0
    total[1, (units - pool.spares) * sections : inner] = 1.0
    live = units - pool.spares
    places = sum(step.in_circuit for step in question.plates.steps)
    most_spares = pool.spares if rules.most_spares is None else min(rules.most_spares, pool.spares)
    low = np.concatenate((np.zeros(units), np.zeros(sections), [live if rules.leave_out == "nowhere" else 0.0, 0.0]))
    high = np.concatenate((np.ones(units), np.zeros(sections), [float(places), float(most_spares)]))
    return np.vstack((once, counted, total)), low, high


def _at_a_time(question: Question) -> int:
    """Plates by which every count rises: 2 where only every second joint comes out on a side within reach."""
    ground = lay_ground(replace(question, rules=replace(question.rules, may_swap=False, spares=())))
    if ground is None or any(step.dead or not step.in_circuit for step in question.plates.steps):
        return 1
    places = sorted({place for unknown in ground.unknowns for place in unknown.places})
    return max(gcd(*(after - before for before, after in pairwise(places))), 1)
