"""From notch ohms to section ohms where circuits have branches: a bound by linear programme, then a local search."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from griddesign.errors import NoStartError
from griddesign.grid import circuit
from griddesign.grid.records import Run
from griddesign.traction.curve import FloatArray
from griddesign.traction.peaks import BuiltGrid
from griddesign.traction.problem import Problem
from griddesign.traction.programme import Linear, Programme
from griddesign.traction.records import Notch
from griddesign.traction.search import Found, strongest

AS_GOOD = 1e-9
WORTHWHILE = 1e-6
LEAST_REACH = 1e-3
PENALTY = 10.0


def realised(problem: Problem) -> Found:
    """Section ohms for the strongest start, proved best where circuits are plain series or the bound is reached.

    A circuit with branches is not linear in its sections. The bound takes its ohms as an unknown of its own, held only
    below every single path through it (branches side by side are never more than one of them), cold. Section ohms are
    then fitted to those of the bound, and improved step by step with circuits made straight (dR/dr of a section is the
    square of its share of the current). Raises NoStartError where even the bound does not give the start asked for.
    """
    if all(stage.plain for stage in problem.stages):
        return strongest(Programme(problem))
    problem = replace(problem, given_away=0.0)
    bound = strongest(_relaxed(problem))
    free = replace(problem, start=replace(problem.start, valley_a=None))
    found = _refined(free, fitted(problem.sections, *_targets(problem, bound)), bound.valley_a)
    asked = problem.start.valley_a
    if asked is not None and found.valley_a < asked * (1.0 - AS_GOOD):
        raise NoStartError(
            f"no section ohms were found for notching up at {asked:.4g} A; the best found allow {found.valley_a:.4g} A "
            f"(circuits with branches: not proved, {bound.valley_a:.4g} A is not ruled out)",
            hint="Notch up at a lower current, or allow a higher peak.",
        )
    return _judged(problem, replace(found, valley_a=min(asked or found.valley_a, found.valley_a)), bound.valley_a)


def fitted(sections: tuple[str, ...], circuits: list[Run], targets: FloatArray) -> dict[str, float]:
    """Section ohms whose circuits come nearest to the target ohms, relative to the greatest, by least squares."""
    from scipy.optimize import least_squares

    whole = float(np.max(targets))

    def ohms(values: FloatArray) -> dict[str, float]:
        return dict(zip(sections, (float(value) * whole for value in values), strict=True))

    def misses(values: FloatArray) -> FloatArray:
        return np.array([circuit.ohms(run, ohms(values)) for run in circuits]) / whole - targets / whole

    def slopes(values: FloatArray) -> FloatArray:
        parts = [circuit.shares(run, ohms(values)) for run in circuits]
        return np.array([[part.get(name, 0.0) ** 2 for name in sections] for part in parts])

    starts = [np.full(len(sections), share) for share in (0.1, 0.3, 1.0)]
    tried = [
        least_squares(misses, start, jac=slopes, bounds=(1e-9, np.inf), xtol=1e-15, ftol=1e-15, gtol=1e-15)
        for start in starts
    ]
    return ohms(min(tried, key=lambda result: float(result.cost)).x)


def _relaxed(problem: Problem) -> Programme:
    """The linear programme that knows of a circuit with branches only that no path through it is less."""
    names, caps, notches = list(problem.sections), [], []
    for notch, stage in zip(problem.notches, problem.stages, strict=True):
        runs = [
            run if circuit.is_plain_series(run) else Run((f"{stage.name}/{k}",)) for k, run in enumerate(stage.circuits)
        ]
        for run, stand_in in zip(stage.circuits, runs, strict=True):
            if run is not stand_in:
                names.append(str(stand_in.parts[0]))
                caps += [(names[-1], path) for path in _paths(run)]
        notches.append(_with_circuits(notch, tuple(runs)))
    rows = [[float(path.count(name)) - float(name == unknown) for name in names] for unknown, path in caps]
    relaxed = replace(problem, notches=tuple(notches), sections=tuple(names), hot_ratio={})
    return Programme(relaxed, caps=Linear(np.array(rows), np.zeros(len(rows))))


def _with_circuits(notch: Notch, runs: tuple[Run, ...]) -> Notch:
    return replace(notch, common=runs[0]) if notch.common is not None else replace(notch, strings=runs)


def _paths(run: Run) -> Iterator[tuple[str, ...]]:
    """Every way through the run that takes one branch of each group: the sections met."""
    if not run.parts:
        yield ()
        return
    first, rest = run.parts[0], Run(run.parts[1:])
    heads = [(first,)] if isinstance(first, str) else [path for branch in first.runs for path in _paths(branch)]
    yield from ((*head, *tail) for head in heads for tail in _paths(rest))


def _targets(problem: Problem, bound: Found) -> tuple[list[Run], FloatArray]:
    """Every circuit of the problem and the ohms the bound gives it."""
    relaxed = _relaxed(problem).problem
    pairs = [
        (run, circuit.ohms(stand_in, bound.section_ohm))
        for stage, other in zip(problem.stages, relaxed.stages, strict=True)
        for run, stand_in in zip(stage.circuits, other.circuits, strict=True)
        if run.parts
    ]
    return [run for run, _ in pairs], np.array([ohms for _, ohms in pairs])


def _refined(problem: Problem, section_ohm: dict[str, float], bound_a: float) -> Found:
    """Better and better section ohms, each from a linear programme around the last, within reach of it."""
    best = Found(section_ohm, BuiltGrid(problem, section_ohm).largest_valley_a())
    reach = 1.0
    while reach > LEAST_REACH and not _as_good(problem, best, bound_a):
        trial = _step(problem, best, reach)
        gained = _merit(problem, trial) - _merit(problem, best)
        best = trial if gained > 0.0 else best
        reach = reach if gained > WORTHWHILE else 0.25 * reach
    even = _step(problem, best, 1.0, even=True)
    return even if _merit(problem, even) >= _merit(problem, best) - AS_GOOD else best


def _step(problem: Problem, found: Found, reach: float, *, even: bool = False) -> Found:
    """The strongest start with circuits made straight around the ohms found, or those again where there is none."""
    branched = dict.fromkeys(name for stage in problem.stages if not stage.plain for name in stage.sections)
    ohms = {name: found.section_ohm[name] for name in branched}
    limits = {name: (ohm / (1.0 + reach), ohm * (1.0 + reach)) for name, ohm in ohms.items()}
    try:
        return strongest(Programme(problem, around=found.section_ohm, reach=limits), even=even, near_a=found.valley_a)
    except NoStartError:
        return found


def _as_good(problem: Problem, found: Found, bound_a: float) -> bool:
    return found.valley_a >= bound_a * (1.0 - AS_GOOD) and _broken(problem, found.section_ohm) <= AS_GOOD


def _merit(problem: Problem, found: Found) -> float:
    """The valley current less a heavy fine for conditions not met, in parts of the peak current."""
    return found.valley_a / problem.start.peak_a - PENALTY * _broken(problem, found.section_ohm)


def _broken(problem: Problem, section_ohm: dict[str, float]) -> float:
    """The worst miss of a condition (first notch, wanted ohms, like strings) against the first notch's ohms."""
    conditions = Programme(problem, around=section_ohm).conditions
    values = np.array([section_ohm[name] for name in problem.sections])
    whole = BuiltGrid(problem, section_ohm).grid_ohm(0)
    misses = conditions.matrix @ values + conditions.offset
    return float(np.max(np.abs(misses), initial=0.0)) / whole


def _judged(problem: Problem, found: Found, bound_a: float) -> Found:
    """The result with what may be said of it."""
    if _as_good(problem, found, bound_a):
        return found
    broken = _broken(problem, found.section_ohm)
    note = (
        f"Circuits with branches: found by a local search, not proved. It notches up at {found.valley_a:.4g} A; "
        f"no grid can do better than {bound_a:.4g} A."
    )
    if broken > 1e-6:
        note += f" The conditions on the first notch and on wanted ohms are missed by {broken:.2%} of the whole grid."
    return replace(found, exact=False, note=note)
