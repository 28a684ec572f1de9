"""Plates that may change places, and spares that may stand in: downhill by single exchanges, with a proven bound.

Each exchange costs somebody an evening, so one is made only where it takes more than ``WORTH`` off the errors; of all
there are, the one that takes most (off their eighth-power mean, which the worst rules but the next worst still moves).
Taps are searched anew whenever no exchange helps. How far the answer may be from the best of all is told by the bound
of ``relaxed``; proved is what is within ``WORTH`` of it.
Plates side by side, idle and cracked ones stay where they are; a spare may take the place of a dead plate. No place is
touched twice, so the exchanges may be made in any order.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import inf
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from griddesign.grid.circuit import names
from griddesign.grid.divide import divider
from griddesign.retaps.records import Answer, PlateAtHand, PlatesAtHand, Question, Spare
from griddesign.retaps.relaxed import least_error_of_any_exchange

WORTH = 1e-4
"""Share of the current below which no exchange is made: less than any reading of ohms is sure of."""
_CASES = 40_000
_POWER = 8
_TINY_OHM = 1e-12

Floats = NDArray[np.float64]
Search = Callable[[Question, float], Answer]


@dataclass(frozen=True, slots=True)
class Exchange:
    """Plate ``first`` changes places with ``second``, or goes to the shelf for ``spare`` (``second`` is 0)."""

    first: int
    second: int = 0
    spare: Spare | None = None


def exchanged(question: Question, search: Search, time_limit_s: float) -> Answer:
    """The best found with exchanges, from the best taps without any. ``search`` finds taps for a fixed order."""
    import scipy.optimize  # noqa: F401 - loaded before the clock starts: a slow disk is no part of the search

    started = monotonic()
    deadline = started + time_limit_s
    bare = replace(question, rules=replace(question.rules, may_swap=False, spares=()))
    bound = least_error_of_any_exchange(question, started + 0.3 * time_limit_s)
    made: tuple[Exchange, ...] = ()
    answer = search(bare, _left(deadline))
    while monotonic() < deadline and answer.worst_error > bound + WORTH:
        further, plates = _downhill(question, bare.plates, answer, made, deadline)
        if len(further) == len(made):
            break
        trial = replace(bare, plates=plates)
        found = search(trial, _left(deadline))
        if found.worst_error > answer.worst_error - WORTH:
            break
        made, bare, answer = further, trial, found
    return _told(answer, made, min(bound, answer.worst_error), monotonic() - started)


def _left(deadline: float) -> float:
    return max(deadline - monotonic(), 0.05)


def _told(answer: Answer, made: Sequence[Exchange], bound: float, seconds: float) -> Answer:
    swaps = tuple((each.first, each.second) for each in made if each.second)
    spares = tuple((each.spare.name, each.first) for each in made if each.spare)
    gap = answer.worst_error - bound
    proved = gap <= WORTH
    note = "" if proved else f"found downhill; the best of all exchanges is at most {gap:.3%} better"
    return replace(answer, bound=bound, proved=proved, swaps=swaps, spares=spares, seconds=seconds, note=note)


def _downhill(
    question: Question, plates: PlatesAtHand, answer: Answer, made: tuple[Exchange, ...], deadline: float
) -> tuple[tuple[Exchange, ...], PlatesAtHand]:
    """Exchanges with the taps held, the best one each time, as long as one is worth it."""
    error = float(_mean_errors(question, _section_ohms(plates, answer)[None, :])[0])
    while monotonic() < deadline:
        found = _best_exchange(question, plates, answer, made)
        if found is None or found[1] > error - WORTH:
            break
        exchange, error = found
        plates, made = _after(plates, exchange), (*made, exchange)
    return made, plates


def _after(plates: PlatesAtHand, exchange: Exchange) -> PlatesAtHand:
    row = list(plates.plates)
    own = row[exchange.first - 1]
    if exchange.spare is not None:
        new = exchange.spare
        row[exchange.first - 1] = replace(
            own, kind=new.kind, ohm=new.ohm, half_width_ohm=new.half_width_ohm, current_a=new.current_a,
            state="in circuit",
        )  # fmt: skip
    else:
        other = row[exchange.second - 1]
        row[exchange.first - 1] = replace(other, box=own.box, position=own.position)
        row[exchange.second - 1] = replace(own, box=other.box, position=other.position)
    return PlatesAtHand(tuple(row), plates.joint_ohm)


def _best_exchange(
    question: Question, plates: PlatesAtHand, answer: Answer, made: Sequence[Exchange]
) -> tuple[Exchange, float] | None:
    cases = [*_swaps(question, plates, answer, made), *_stand_ins(question, plates, answer, made)]
    if not cases:
        return None
    change = np.zeros((len(cases), len(answer.spans)))
    for row, (_, changes) in zip(change, cases, strict=True):
        for section, ohm in changes:
            row[section] += ohm
    errors = _mean_errors(question, _section_ohms(plates, answer) + change)
    best = int(np.argmin(errors))
    return cases[best][0], float(errors[best])


Case = tuple[Exchange, tuple[tuple[int, float], ...]]


def _swaps(question: Question, plates: PlatesAtHand, answer: Answer, made: Sequence[Exchange]) -> list[Case]:
    rules, done = question.rules, sum(1 for each in made if each.second)
    if not rules.may_swap or (rules.most_swaps is not None and done >= rules.most_swaps):
        return []
    at = _section_of(answer)
    touched = {number for each in made for number in (each.first, each.second)}
    movable = [n for n, plate in enumerate(plates.plates, 1) if _movable(plate) and n not in touched]
    pairs = [(a, b) for a, b in combinations(movable, 2) if at.get(a) != at.get(b)]
    step = max(1, len(pairs) // _CASES)
    cases = []
    for a, b in pairs[::step]:
        one, two = plates.plates[a - 1], plates.plates[b - 1]
        if _carries(question, at.get(a), two.current_a) and _carries(question, at.get(b), one.current_a):
            rise = two.ohm - one.ohm
            changes = ((at.get(a), rise), (at.get(b), -rise))
            cases.append((Exchange(a, b), tuple((s, ohm) for s, ohm in changes if s is not None)))
    return cases


def _stand_ins(question: Question, plates: PlatesAtHand, answer: Answer, made: Sequence[Exchange]) -> list[Case]:
    rules = question.rules
    used = [each.spare.name for each in made if each.spare]
    if len(used) >= (len(rules.spares) if rules.most_spares is None else rules.most_spares):
        return []
    taken = {number for each in made for number in (each.first, each.second)}
    cases: list[Case] = []
    for number, section in _section_of(answer).items():
        plate = plates.plates[number - 1]
        if number in taken or not (_movable(plate) or (plate.state == "dead" and plate.joined == 0)):
            continue
        here = -plates.joint_ohm if plate.state == "dead" else plate.ohm
        for spare in rules.spares:
            if spare.name not in used and _carries(question, section, spare.current_a):
                cases.append((Exchange(number, spare=spare), ((section, spare.ohm - here),)))
    return cases


def _movable(plate: PlateAtHand) -> bool:
    return plate.state == "in circuit" and plate.joined == 0


def _carries(question: Question, section: int | None, current_a: float | None) -> bool:
    if section is None or current_a is None:
        return True
    return current_a >= question.needs_a.get(question.section_order[section], 0.0)


def _section_of(answer: Answer) -> dict[int, int]:
    """Number of the section each plate is in."""
    return {
        plate: number
        for number, span in enumerate(answer.spans)
        for plate in range(span.from_joint + 1, span.to_joint + 1)
    }


def _section_ohms(plates: PlatesAtHand, answer: Answer) -> Floats:
    """Cold ohms of every section with the plates as they now stand."""
    live = [step for step in plates.steps if not step.dead]
    return np.array([sum(s.ohm for s in live if span.from_joint < s.last <= span.to_joint) for span in answer.spans])


def _mean_errors(question: Question, section_ohm: Floats) -> Floats:
    """Eighth-power mean over the notches of the errors of every row of section ohms; inf where a section is empty."""
    columns = {name: column for column, name in enumerate(question.section_order)}
    possible, section_ohm = section_ohm.min(axis=1) > 0.0, np.maximum(section_ohm, _TINY_OHM)
    powers = np.zeros(len(section_ohm))
    for target in question.targets:
        order = [columns[name] for name in names(target.run)]
        grid_ohm = divider(target.run)(section_ohm[:, order])[0]
        felt = target.other_ohm + target.weight * grid_ohm
        powers += np.abs(target.wanted_total_ohm / felt - 1.0) ** _POWER
    return np.where(possible, powers ** (1.0 / _POWER), inf)
