"""Exchanges of plates: what is told is what stands in the boxes, and the bound lies below every possible exchange.

Evidence: every permutation of the plates, each with every choice of taps (own enumeration).
"""

import random
from dataclasses import replace
from itertools import combinations, permutations
from math import fsum

import pytest

from griddesign.grid.circuit import ohms
from griddesign.grid.records import Branches, Run
from griddesign.retaps.best import best_taps
from griddesign.retaps.records import Answer, NotchTarget, PlateAtHand, PlatesAtHand, Question, Spare, TapRules

BOTH = frozenset(("terminal side", "far side"))
PAIR = Run((Branches((Run(("A",)), Run(("B",)))),))


def small(seed: int, *, branched: bool = False, spares: tuple[Spare, ...] = ()) -> Question:
    """Six plates far apart in ohms, two sections."""
    rng = random.Random(seed)
    row = tuple(PlateAtHand(1, n, "P", rng.randint(40, 110) / 1000.0) for n in range(1, 7))
    half = sum(plate.ohm for plate in row) / 2.0 * rng.uniform(0.8, 1.1)
    targets = [NotchTarget("1", Run(("A", "B")), 0.3 + 2.0 * half, 0.3), NotchTarget("2", Run(("B",)), 0.2 + half, 0.2)]
    if branched:
        targets.append(NotchTarget("3", PAIR, 0.2 + half, 0.2, 2.0))
    rules = TapRules(sides=BOTH, may_swap=True, spares=spares)
    return Question(PlatesAtHand(row), ("A", "B"), tuple(targets), rules)


def least_of_all(question: Question) -> float:
    """Worst error of the best of all orders and taps, plates drawn from the boxes and the shelf."""
    pool = [plate.ohm for plate in question.plates.plates] + [spare.ohm for spare in question.rules.spares]
    found = 1e9
    for row in set(permutations(pool, len(question.plates.plates))):
        for a, b, c in combinations(range(len(row) + 1), 3):
            section_ohm = {"A": fsum(row[a:b]), "B": fsum(row[b:c])}
            found = min(found, max(abs(t.error(ohms(t.run, section_ohm))) for t in question.targets))
    return found


def rebuilt(question: Question, answer: Answer) -> list[float]:
    """Ohms in place order once everything the answer says has been done."""
    row = [plate.ohm for plate in question.plates.plates]
    for first, second in answer.swaps:
        row[first - 1], row[second - 1] = row[second - 1], row[first - 1]
    for name, number in answer.spares:
        row[number - 1] = next(spare.ohm for spare in question.rules.spares if spare.name == name)
    return row


@pytest.mark.parametrize("seed", range(6))
def test_bound_holds_for_every_exchange_and_the_sheet_can_be_followed(seed: int) -> None:
    spares = (Spare("S", "P", 0.071),) if seed % 4 == 1 else ()
    question = small(seed, branched=seed % 4 > 1, spares=spares)
    plain = best_taps(replace(question, rules=TapRules(sides=BOTH)))
    answer, least = best_taps(question), least_of_all(question)
    assert answer.bound <= least + 1e-9
    assert least - 1e-12 <= answer.worst_error <= plain.worst_error
    assert answer.proved == (answer.worst_error - answer.bound <= 1e-4)
    row = rebuilt(question, answer)
    for span in answer.spans:
        assert span.cold_ohm == pytest.approx(fsum(row[span.from_joint : span.to_joint]), rel=1e-12)
    touched = [number for pair in answer.swaps for number in pair] + [number for _, number in answer.spares]
    assert len(set(touched)) == len(touched)


def test_no_more_exchanges_than_allowed() -> None:
    question = small(3, spares=(Spare("S", "P", 0.05), Spare("T", "P", 0.09)))
    none = best_taps(replace(question, rules=replace(question.rules, most_swaps=0, most_spares=0)))
    assert (none.swaps, none.spares) == ((), ())
    for most in (1, 2):
        answer = best_taps(replace(question, rules=replace(question.rules, most_swaps=most, most_spares=1)))
        assert len(answer.swaps) <= most
        assert len(answer.spares) <= 1


def test_a_spare_stands_in_for_a_dead_plate() -> None:
    row = tuple(PlateAtHand(1, n, "P", 0.07, state="dead" if n == 3 else "in circuit") for n in range(1, 7))
    target = NotchTarget("1", Run(("A",)), 0.42 + 0.2, 0.2)
    rules = TapRules(sides=BOTH, spares=(Spare("S", "P", 0.07),))
    answer = best_taps(Question(PlatesAtHand(row), ("A",), (target,), rules))
    assert answer.spares == (("S", 3),)
    assert answer.proved
    assert answer.worst_error < 1e-9
    assert answer.bypassed == ()


def test_a_weak_spare_is_left_on_the_shelf() -> None:
    row = tuple(PlateAtHand(1, n, "P", 0.07, current_a=80.0) for n in range(1, 5))
    rules = TapRules(sides=BOTH, spares=(Spare("S", "P", 0.14, current_a=40.0),))
    target = NotchTarget("1", Run(("A",)), 0.35 + 0.2, 0.2)
    question = Question(PlatesAtHand(row), ("A",), (target,), rules, {"A": 60.0})
    assert best_taps(question).spares == ()
    assert best_taps(replace(question, needs_a={"A": 30.0})).spares != ()
