"""Best taps: refusals that name the rule, the time limit with its bound, an idle plate, a hand-made case."""

import random
from dataclasses import replace
from itertools import pairwise

import pytest

from griddesign.errors import InputError
from griddesign.grid.records import Run
from griddesign.retaps.best import best_taps
from griddesign.retaps.records import NotchTarget, PlateAtHand, PlatesAtHand, Question, TapRules

ORDER = ("A", "B", "C")


def row(ohms: list[float], box: int = 6, **states: str) -> PlatesAtHand:
    """Plates in boxes of ``box``; ``p3="dead"`` gives plate 3 its state."""
    return PlatesAtHand(
        tuple(
            PlateAtHand((n - 1) // box + 1, (n - 1) % box + 1, "P", ohm, state=states.get(f"p{n}", "in circuit"))  # type: ignore[arg-type]
            for n, ohm in enumerate(ohms, 1)
        )
    )


def ladder(plates: PlatesAtHand, wanted: tuple[float, float, float], **rules: object) -> Question:
    """Tails ABC, BC, C of so many ohms."""
    targets = tuple(NotchTarget(str(n + 1), Run(ORDER[n:]), 0.5 + ohm, 0.5) for n, ohm in enumerate(wanted))
    return Question(plates, ORDER, targets, TapRules(**rules))  # type: ignore[arg-type]


def test_even_plates_are_met_exactly_with_every_tap_on_the_terminal_side() -> None:
    answer = best_taps(ladder(row([0.1] * 12), (1.2, 0.8, 0.2)))
    assert [(span.from_joint, span.to_joint) for span in answer.spans] == [(0, 4), (4, 10), (10, 12)]
    assert answer.worst_error < 1e-12
    assert answer.proved


def test_ties_go_to_fewest_moved_taps() -> None:
    """Eight of twelve even plates do: three ways to lie, and the one in which the taps stay is taken."""
    present = {"start of A": 2, "A/B": 4, "B/C": 8, "end of C": 10}
    answer = best_taps(ladder(row([0.1] * 12), (0.8, 0.6, 0.2), present=present))
    assert answer.moved == ()
    assert dict(answer.taps) == present


def test_dead_plate_is_jumped_and_idle_plate_keeps_the_side() -> None:
    answer = best_taps(ladder(row([0.1] * 8, p2="dead", p5="not in circuit"), (0.6, 0.4, 0.2)))
    assert answer.worst_error == pytest.approx(answer.bound)
    jumped = [plate for span in answer.spans for plate in span.jumped]
    assert set(jumped) <= {2}
    assert 2 in answer.bypassed
    assert 5 not in answer.bypassed


@pytest.mark.parametrize(
    ("rules", "words"),
    [
        ({"box_ends_only": True}, "box ends only"),
        ({"forbidden": frozenset(range(1, 12))}, "forbidden joints"),
        ({"sides": frozenset()}, "sides"),
        ({"present": {"A/B": 0}, "fixed": frozenset(("A/B",))}, "must stay"),
        ({"present": {"start of A": 12, "A/B": 0, "B/C": 0, "end of C": 0}, "most_moves": 1}, "at most 1 moved"),
    ],
)
def test_refusal_names_the_rule_that_bites(rules: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        best_taps(ladder(row([0.1] * 12), (1.2, 0.8, 0.2), **rules))


@pytest.mark.parametrize(
    ("rules", "words"),
    [
        ({"present": {"A/C": 3}}, "no tap 'A/C'"),
        ({"fixed": frozenset(("A/B",))}, "nobody says where"),
        ({"present": {"A/B": 99}}, "joint 99"),
        ({"breaks": ("D",)}, "section D"),
        ({"present": {"A/B": 4}, "fixed": frozenset(("A/B",)), "forbidden": frozenset((4,))}, "forbidden joint"),
    ],
)
def test_rules_about_what_does_not_exist_are_refused(rules: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        best_taps(ladder(row([0.1] * 12), (1.2, 0.8, 0.2), **rules))


def test_more_sections_than_plates_are_refused() -> None:
    with pytest.raises(InputError, match="cannot be made of 2 plates"):
        best_taps(ladder(row([0.1] * 2), (0.2, 0.1, 0.1)))


def test_out_of_time_the_best_found_stands_above_its_bound() -> None:
    rng = random.Random(5)
    order = tuple("ABCDEFGHIJ")
    ohms = [0.07 * rng.uniform(0.9, 1.1) for _ in range(300)]
    spots = sorted(rng.sample(range(300), 9))
    wanted = [sum(ohms[spot:]) * rng.uniform(0.95, 1.05) for spot in (0, *spots)]
    targets = tuple(NotchTarget(str(n), Run(order[n:]), 0.3 + ohm, 0.3) for n, ohm in enumerate(wanted))
    gapped = tuple(
        NotchTarget(f"x{n}", Run((a, c)), 0.9 + n / 10, 0.3) for n, (a, c) in enumerate(pairwise(order[::2]))
    )
    rules = TapRules(sides=frozenset(("terminal side", "far side")), leave_out="anywhere")
    question = Question(row(ohms, 20), order, (*targets, *gapped), rules)
    answer = best_taps(question, time_limit_s=0.2)
    assert answer.bound <= answer.worst_error
    assert not answer.proved
    assert answer.note


def test_a_notch_with_a_narrow_tolerance_comes_first() -> None:
    """A coarse row: the least worst error breaks the narrow notch; keeping it costs the wide one."""
    question = ladder(row([0.1, 0.1, 0.1, 0.1], 4), (0.34, 0.2, 0.1), sides=frozenset(("terminal side", "far side")))
    free = best_taps(question)
    narrow = replace(question.targets[0], tolerance=0.09)
    held = best_taps(replace(question, targets=(narrow, *(replace(t, tolerance=0.2) for t in question.targets[1:]))))
    assert abs(held.errors[0]) <= 0.09
    assert held.worst_error >= free.worst_error


def test_an_error_at_its_tolerance_but_for_rounding_keeps_it() -> None:
    """0.10 and 0.15 ohm for 0.12 wanted are both 20 % off: the one that leaves fewer plates unused is best."""
    plates = row([0.05] * 4, box=3)
    target = NotchTarget("1", Run(("A",)), 0.12, 0.0, 1.0, 0.2)
    answer = best_taps(Question(plates, ("A",), (target,), TapRules()))
    assert (answer.spans[0].from_joint, answer.spans[0].to_joint) == (0, 3)
    assert answer.proved and answer.worst_error == pytest.approx(0.2, abs=1e-12)


def test_a_plate_rated_for_just_what_is_needed_is_strong_enough() -> None:
    """60 A needed, 60 A rated, alone or two of 30 A side by side, whatever the ohms do to the last digit."""
    for ohm in (0.052, 0.049, 0.0711):
        alone = tuple(PlateAtHand(1, n, "P", ohm, current_a=60.0) for n in (1, 2))
        pairs = tuple(PlateAtHand(1, n, "P", ohm, current_a=30.0, joined=(n + 1) // 2) for n in range(1, 5))
        for row, whole in ((alone, 2.0 * ohm), (pairs, ohm)):
            target = NotchTarget("1", Run(("A",)), whole, 0.0)
            answer = best_taps(Question(PlatesAtHand(row), ("A",), (target,), TapRules(), {"A": 60.0}))
            assert answer.worst_error == pytest.approx(0.0, abs=1e-9)
