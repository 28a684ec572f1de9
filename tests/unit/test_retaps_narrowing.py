"""The limit on moved taps, where windows are narrowed: exact for one arrangement; the last move allowed holds the rest.

Evidence: every arrangement of three taps on six joints counted by hand; the rule's own words.
"""

from itertools import combinations

import pytest

from griddesign.retaps.ground import PresentTap
from griddesign.retaps.narrowing import EMPTY, FewMoves

TAPS = (PresentTap("start of A", (0,), (0,)), PresentTap("A/B", (1,), (2,)), PresentTap("end of B", (2,), (5,)))
APART = (*TAPS[:1], PresentTap("A/B", (1, 2), (2, 3)), PresentTap("end of B", (3,), (5,)))


@pytest.mark.parametrize("most", range(4))
def test_one_arrangement_is_refused_where_it_moves_more_than_allowed(most: int) -> None:
    rule = FewMoves(TAPS, most)
    for choice in combinations(range(6), 3):
        moved = sum(own != tap.choices[0] for own, tap in zip(choice, TAPS, strict=True))
        low, high = [*choice], [*choice]
        assert (rule.narrow(low, high) == EMPTY) == (moved > most)
        assert (low, high) == ([*choice], [*choice])


def test_the_last_move_allowed_holds_the_other_taps() -> None:
    """The first tap can no longer stay: with one move allowed the others are held, with two they are free."""
    low, high = [1, 0, 3], [4, 5, 5]
    assert FewMoves(TAPS, 1).narrow(low, high) == 0b110
    assert (low, high) == ([1, 2, 5], [4, 2, 5])
    low, high = [1, 0, 3], [4, 5, 5]
    assert FewMoves(TAPS, 2).narrow(low, high) == 0
    assert (low, high) == ([1, 0, 3], [4, 5, 5])
    assert FewMoves(TAPS, 0).narrow(low, high) == EMPTY


def test_a_tap_of_two_ends_moves_once() -> None:
    """Where sections do not meet, the tap between them has two ends: either leaving its joint is one move, not two."""
    rule = FewMoves(APART, 1)
    assert rule.narrow([0, 1, 4, 5], [0, 1, 4, 5]) == 0
    assert rule.narrow([0, 2, 4, 4], [0, 2, 4, 4]) == EMPTY
