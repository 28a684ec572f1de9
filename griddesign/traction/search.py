"""The search on the valley current: the strongest start that section ohms in plain series allow."""

from dataclasses import dataclass, replace

import numpy as np

from griddesign.errors import NoStartError
from griddesign.traction.curve import FloatArray
from griddesign.traction.patterns import better_ways
from griddesign.traction.peaks import LOWEST_VALLEY, BuiltGrid
from griddesign.traction.problem import Problem
from griddesign.traction.programme import MostMargin, Programme

FIRST_GUESS = 0.75
MAX_PASSES = 40
SETTLED = 1e-11
SETTLED_V = 1e-9
EVEN_ROUNDS = 12  # four are usual
HELD = 1e-8
FAINT = 1e-6
EVEN_ENOUGH_OHM = 2e-5
"""How far, about, sections may still be from where the rounds lead: a fifth of what papers print (at most 6e-5 in 50
random ladders, against rounds without end)."""


@dataclass(frozen=True, slots=True)
class Found:
    """Section ohms, the valley current they are for, whether that is proved the best, and what to say if not."""

    section_ohm: dict[str, float]
    valley_a: float
    exact: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True)
class _Pattern:
    """A pattern of passed notches, its largest valley current, section ohms for it, and the arrivals that decide it."""

    programme: Programme
    valley_a: float
    section_ohm: dict[str, float]
    binding: frozenset[int]


def strongest(programme: Programme, *, even: bool = True, near_a: float | None = None) -> Found:
    """The grid with the largest valley current, or for the valley given; the most even such grid unless told not to.

    ``near_a`` is a guess of the valley current, which only saves steps.

    Raises NoStartError where no section ohms keep the peaks within the limit.
    """
    best = _best_pattern(programme, near_a or FIRST_GUESS * programme.problem.start.peak_a)
    valley, asked = best.valley_a, programme.problem.start.valley_a
    if asked is not None:
        if asked > valley * (1.0 + 1e-9):
            raise _valley_too_high(programme.problem, asked, valley)
        valley = min(asked, valley)
    else:
        valley *= 1.0 - programme.problem.given_away
    if not even:
        return Found(best.section_ohm, valley)
    return _shared_out(best.programme, _most_even(best.programme, valley, best.section_ohm))


def _best_pattern(programme: Programme, near_a: float) -> _Pattern:
    """The best pattern of passed notches: none passed at first, then any other that still has margin at the valley."""
    best = _improved(programme, near_a)
    for _ in range(MAX_PASSES):
        ways = better_ways(programme, best.programme.ways, best.valley_a, best.binding)
        found = best if ways is None else _improved(programme.with_ways(ways), best.valley_a)
        if found.valley_a <= best.valley_a * (1.0 + SETTLED):
            break
        best = found
    return best


def _improved(programme: Programme, near_a: float) -> _Pattern:
    """The largest valley of a pattern; then of the pattern its own grid would run in, as long as that gives more."""
    best = _valley_of_pattern(programme, near_a)
    while True:
        ways = BuiltGrid(programme.problem, best.section_ohm).best_ways(best.valley_a)
        if ways == best.programme.ways:
            break
        found = _valley_of_pattern(programme.with_ways(ways), best.valley_a)
        if found.valley_a <= best.valley_a * (1.0 + SETTLED):
            break
        best = found
    return best


def _valley_of_pattern(programme: Programme, near_a: float) -> _Pattern:
    """The largest valley of one pattern, and the ohms that allow it, by Newton steps on the margin of the best ohms.

    The steps only say where to look: the valley those ohms allow answers for the result.
    """
    problem = programme.problem
    peak, valley = problem.start.peak_a, near_a
    found = _most_margin(programme, valley)
    for _ in range(MAX_PASSES):
        settled = abs(found.margin_v) <= SETTLED_V or (valley == peak and found.margin_v > 0.0)
        if settled or found.per_valley_v_a >= 0.0:
            break
        valley = min(max(valley - found.margin_v / found.per_valley_v_a, LOWEST_VALLEY * peak), peak)
        found = _most_margin(programme, valley)
    ohms = _named(problem, found.section_ohm)
    return _Pattern(programme, BuiltGrid(problem, ohms).largest_valley_a(valley), ohms, found.binding)


def _most_margin(programme: Programme, valley_a: float) -> MostMargin:
    found = programme.most_margin(valley_a)
    if found is None:
        raise _no_ohms(programme.problem)
    return found


def _most_even(programme: Programme, valley_a: float, ohms: dict[str, float]) -> Found:
    """The most even grid at a valley. What an ampere of margin is worth in volts depends on the grid: a few rounds,
    each from where the two before it lead."""
    problem, reached = programme.problem, valley_a
    priced, before = ohms, None
    for _ in range(EVEN_ROUNDS):
        even = programme.most_even(valley_a, priced, BuiltGrid(problem, priced).volts_per_a(valley_a))
        if even is None:
            break
        trial = _named(problem, even)
        allowed = BuiltGrid(problem, trial).largest_valley_a(valley_a)
        if allowed < valley_a * (1.0 - HELD):
            break
        ohms, reached = trial, min(valley_a, allowed)
        step = np.array([list(priced.values()), list(trial.values())])
        ahead = _ahead(before, step)
        if before is not None and np.abs(ahead - step[1]).max() <= EVEN_ENOUGH_OHM:
            break
        priced, before = _named(problem, ahead), step
    return Found(ohms, reached)


def _ahead(before: FloatArray | None, step: FloatArray) -> FloatArray:
    """Where rounds lead that shrink alike: the end of the last step, moved on by what it and the one before it (each
    its beginning and end) tell of their share (D. G. Anderson, J. ACM 12 (1965) 547, with one step remembered).

    No farther than that step: two steps nearly alike tell no share, and ohms far off have peaks beyond the curve.
    """
    if before is None:
        return np.asarray(step[1])
    left, turned = step[1] - step[0], (step[1] - step[0]) - (before[1] - before[0])
    further = left @ turned / max(float(turned @ turned), 1e-300) * (before[1] - step[1])
    reach = np.abs(left).max() / max(float(np.abs(further).max()), 1e-300)
    return np.asarray(step[1] + min(1.0, reach) * further)


def _shared_out(programme: Programme, found: Found) -> Found:
    """The same circuits with the least sum of squares of section ohms, where the circuits leave sections undecided.

    So sections always in circuit together come out equal, and grids of like strings alike.
    """
    problem = programme.problem
    rows = np.array([programme.row(run) for stage in problem.stages for run in stage.circuits])
    if programme.around is not None or np.linalg.matrix_rank(rows) == len(problem.sections):
        return found
    from scipy.optimize import nnls

    ohms = np.array([found.section_ohm[name] for name in problem.sections])
    least = FAINT * np.eye(len(ohms))
    values, _ = nnls(np.vstack([rows, least]), np.append(rows @ ohms, np.zeros(len(ohms))))
    return replace(found, section_ohm=_named(problem, values))


def _named(problem: Problem, ohms: FloatArray) -> dict[str, float]:
    return {name: max(0.0, float(ohm)) for name, ohm in zip(problem.sections, ohms, strict=True)}


def _no_ohms(problem: Problem) -> NoStartError:
    first = problem.stages[0]
    asked = problem.line.nominal_v / problem.start.first_notch_a
    return NoStartError(
        f"no section ohms meet the conditions: {asked:.4g} ohm in all on notch {first.name} for "
        f"{problem.start.first_notch_a:.4g} A, of which motors and feeder are {problem.bare(0, cold=False):.4g} ohm, "
        "beside the wanted ohms given and like strings",
        hint="Lower the first notch current, or look for wanted ohms that cannot all be true.",
    )


def _valley_too_high(problem: Problem, asked_a: float, largest_a: float) -> NoStartError:
    return NoStartError(
        f"notching up at {asked_a:.4g} A passes the peak current of {problem.start.peak_a:.4g} A whatever the section "
        f"ohms; the largest valley current with these notches is {largest_a:.4g} A",
        hint=f"Notch up at {largest_a:.4g} A or less, allow a higher peak, or add notches.",
    )
