"""The aims one after another, each the best that the aims before it leave, each with its proof.

Every aim tightens the rules of the search. The best of an aim is proved by a search that finds nothing better; where
the time runs out first, the proof carries how far the answer may be from the best.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from itertools import combinations
from math import inf

import numpy as np

from griddesign.choose.cuts import cut_mass, lightest_kg, lightest_rows
from griddesign.choose.frontier import Frontier
from griddesign.choose.leaf import Leaf, closest, exact_leaves, exact_rows
from griddesign.choose.margins import Margins
from griddesign.choose.network import Floats
from griddesign.choose.problem import MARGIN_STEP_K
from griddesign.choose.records import Proof
from griddesign.choose.search import designs
from griddesign.choose.space import Rules, Space
from griddesign.errors import OutOfTime

ERROR_TIE = 1e-9
"""Worst errors this close (a fraction, not per cent) are ties for the aims after; so are masses, as a share."""

_QUICK_ROWS = 30
_OUT_OF_TIME = "the time limit came first"
_LOCAL = "several kinds of free ohms were settled by a local search"

ORDERS = {
    "margin": ("margin", "kinds", "boxes", "error", "mass"),
    "closest": ("error", "margin", "kinds", "boxes", "mass"),
    "light": ("mass", "margin", "kinds", "boxes", "error"),
}
"""Order of aims for each preference, the first counting most."""


@dataclass
class Standing:
    """What must hold by now, and the best design so far.

    ``heat_class`` is the least class of margin (None: heat sets no limit), ``subsets`` the sets of kinds still open.
    ``doubt`` is raised where a search that found nothing had rows it could only settle by a local search.
    """

    space: Space
    margins: Margins
    error: float
    heat_class: float | None
    boxes: int
    subsets: tuple[tuple[int, ...], ...]
    mass_kg: float = inf
    best: Leaf | None = None
    ended: str = ""
    doubt: bool = False
    proofs: list[Proof] = field(default_factory=list)

    def rules(self, kinds: tuple[int, ...]) -> Rules:
        """The rules of the next search with these kinds."""
        return Rules(self.error, self.margins.caps(self.heat_class), self.boxes, kinds, self.mass_kg)

    def found(self) -> Leaf:
        """The best design so far; there must be one."""
        if self.best is None:
            raise AssertionError("no design yet")
        return self.best

    def leaf_class(self, leaf: Leaf) -> float:
        """The class (whole steps of ``MARGIN_STEP_K``) of the smallest heat margin in a design."""
        return self.margins.margin_class(smallest_margin_k(self.space, self.margins, leaf))


def smallest_margin_k(space: Space, margins: Margins, leaf: Leaf) -> float:
    """Smallest heat margin of the sections of a design, kelvin; ``inf`` where no heat is known."""
    return min(
        margins.margin_k(section, option, leaf.plate_ohm[space.options[option].kind])
        for section, option in enumerate(leaf.option)
    )


def kinds_used(space: Space, leaf: Leaf) -> tuple[int, ...]:
    """Columns of the kinds a design uses."""
    return tuple(sorted({space.options[option].kind for option in leaf.option}))


def find(standing: Standing) -> Leaf | None:
    """A design within the rules, the best of the first lot found; None proves that there is none, but for ``doubt``."""
    standing.doubt = standing.space.narrowed = False
    quick = quick_find(standing)
    return quick if quick is not None or not standing.space.narrowed else _search(standing, None)


def quick_find(standing: Standing) -> Leaf | None:
    """A design within the rules by a narrow search; None proves nothing."""
    return _search(standing, _QUICK_ROWS)


def _search(standing: Standing, per_slice: int | None) -> Leaf | None:
    for kinds in standing.subsets:
        rules = standing.rules(kinds)
        for lot in designs(standing.space, rules, per_slice):
            leaf = closest(standing.space, rules, lot)
            if leaf is not None:
                return leaf
            standing.doubt |= not exact_leaves(standing.space, rules)
    return None


def pursue(standing: Standing, order: tuple[str, ...]) -> None:
    """Each aim in turn; proofs are added and the rules tightened as it goes."""
    steps: dict[str, Callable[[Standing], None]] = {
        "margin": widest_margin,
        "kinds": fewest_kinds,
        "boxes": fewest_boxes,
        "error": least_error,
        "mass": least_mass,
    }
    for aim in order:
        steps[aim](standing)


def _prove(standing: Standing, objective: str, reached: float, bound: float) -> None:
    proved = reached == bound
    standing.proofs.append(Proof(objective, reached, bound, proved, "" if proved else standing.ended or _LOCAL))


def widest_margin(standing: Standing) -> None:
    """Greatest smallest heat margin in whole steps of 10 K, by halving between a class found and one ruled out."""
    objective = "greatest smallest heat margin, K, in whole steps of 10 K"
    if not standing.margins.known():
        standing.proofs.append(Proof(objective, inf, inf, True, "no heat known"))
        return
    most = bound = standing.margins.best_class()
    best = min(standing.leaf_class(standing.found()), most)
    try:
        while best < most:
            trial = most if most - best <= 1 else float((best + most + 1) // 2)
            standing.heat_class = trial
            leaf = find(standing)
            if leaf is None:
                most = trial - 1
                bound = bound if standing.doubt else most
            else:
                standing.best, best = leaf, min(max(trial, standing.leaf_class(leaf)), most)
    except OutOfTime:
        standing.ended = _OUT_OF_TIME
    standing.heat_class = best
    _prove(standing, objective, best * MARGIN_STEP_K, max(best, bound) * MARGIN_STEP_K)


def fewest_kinds(standing: Standing) -> None:
    """Fewest kinds of plate: all sets of one kind, then of two, until some set holds."""
    found = kinds_used(standing.space, standing.found())
    least, sure = 1, True
    keep: tuple[tuple[int, ...], ...] = (found,)
    all_kinds = sorted({kind for kinds in standing.subsets for kind in kinds})
    try:
        for size in range(1, len(found) + 1):
            least = size if sure else least
            holding, doubt = _sets_that_hold(standing, all_kinds, size)
            keep, sure = holding or keep, sure and not doubt
            if len(keep[0]) == size:
                break
    except OutOfTime:
        standing.ended, keep = _OUT_OF_TIME, (kinds_used(standing.space, standing.found()),)
    standing.subsets = keep
    _prove(standing, "fewest kinds of plate", float(len(keep[0])), float(least))


def _sets_that_hold(standing: Standing, kinds: list[int], size: int) -> tuple[tuple[tuple[int, ...], ...], bool]:
    """The sets of so many kinds that meet the rules, and whether any other set is in doubt."""
    if size == len(kinds):
        return (tuple(kinds),), False
    holding, doubt = [], False
    for kinds_of_set in combinations(kinds, size):
        standing.subsets = (kinds_of_set,)
        leaf = find(standing)
        if leaf is not None:
            holding.append(kinds_of_set)
            standing.best = leaf
        doubt |= leaf is None and standing.doubt
    return tuple(holding), doubt


def fewest_boxes(standing: Standing) -> None:
    """Fewest boxes: one box less than the best so far, until nothing fits."""
    reached, least, bound = standing.found().boxes, 1, 1
    try:
        while reached > least:
            standing.boxes = reached - 1
            leaf = find(standing)
            if leaf is None:
                least = reached
                bound = bound if standing.doubt else reached
            else:
                standing.best, reached = leaf, leaf.boxes
    except OutOfTime:
        standing.ended = _OUT_OF_TIME
    standing.boxes = reached
    _prove(standing, "fewest boxes", float(reached), float(bound))


def least_error(standing: Standing) -> None:
    """Smallest worst notch error: one halving, then strikes just below the best found until nothing is there."""
    first = best = standing.found().error
    limit, ruled_out, bound = standing.error, 0.0, 0.0
    try:
        while best - ruled_out > _no_gain(best):
            strike = best <= 0.5 * first or ruled_out > 0.0
            standing.error = best - _no_gain(best) if strike else 0.5 * best
            leaf = find(standing)
            if leaf is not None and leaf.error < best:
                standing.best, best = leaf, leaf.error
            else:
                ruled_out = best if strike else standing.error
                bound = bound if standing.doubt else ruled_out
    except OutOfTime:
        standing.ended = _OUT_OF_TIME
    proved = best - bound <= _no_gain(best)
    standing.error = max(best, min(limit, best + ERROR_TIE))
    _prove(standing, "smallest worst notch error", best, best if proved else bound)


def _no_gain(error: float) -> float:
    """Errors nearer than this are one: more than the slack a search allows for rounding, less than ``ERROR_TIE``."""
    return 1e-11 * (1.0 + error)


def least_mass(standing: Standing) -> None:
    """Smallest mass of all plates. Exact for one kind; for several kinds of free ohms a bound stands beside it."""
    best, bound = standing.found(), inf
    try:
        for kinds in standing.subsets:
            rules = replace(standing.rules(kinds), mass_kg=min(standing.mass_kg, best.mass_kg))
            for lot, mass in _weighed(standing.space, rules):
                bound = min(bound, float(mass.min()))
                best = _lighter(standing, rules, lot, mass, best)
    except OutOfTime:
        standing.ended, bound = _OUT_OF_TIME, _mass_bound(standing)
    standing.best, standing.mass_kg = best, best.mass_kg * (1.0 + ERROR_TIE)
    close = best.mass_kg <= bound * (1.0 + 2.0 * ERROR_TIE)
    _prove(standing, "smallest mass of plates, kg", best.mass_kg, best.mass_kg if close else bound)


def _weighed(space: Space, rules: Rules) -> Iterator[tuple[Frontier, Floats]]:
    for lot in designs(space, rules):
        rows = lightest_rows(lot, rules.kinds[0]) if len(rules.kinds) == 1 else lot
        yield rows, lightest_kg(space, rows)


def _lighter(standing: Standing, rules: Rules, lot: Frontier, mass: Floats, best: Leaf) -> Leaf:
    """The lightest design of the lot if it beats the best so far: rows tried from the lightest up."""
    exact = exact_rows(standing.space, rules)
    for number in np.argsort(mass, kind="stable"):
        if mass[number] >= best.mass_kg * (1.0 - ERROR_TIE):
            break
        standing.space.check_time()
        row = lot.take(np.array([number]))
        if len(rules.kinds) == 1:
            row = cut_mass(standing.space, rules.kinds[0], row, float(mass[number]) * (1.0 + ERROR_TIE))
        leaf = closest(standing.space, rules, row)
        if leaf is not None and leaf.mass_kg < best.mass_kg:
            best = leaf
        if exact:
            break
    return best


def _mass_bound(standing: Standing) -> float:
    """A mass no design goes below: one step of the lightest plate in every section."""
    space = standing.space
    lightest = min(space.plate_mass(k, float(space.high_ohm[k])) for kinds in standing.subsets for k in kinds)
    return lightest * len(space.order) * space.choice.step_unit * min(space.choice.in_parallel)
