"""Filling a sheet by straight cuts: against an enumeration of all cuts, bounds, and bars whose best count is known."""

from functools import cache
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import InputError
from griddesign.nest.guillotine import fill
from griddesign.nest.records import Pattern, Place, Stock, Unit

MM = 1e-3


def rectangle(wide_mm: float, high_mm: float, web_mm: float = 0.0, quarters: int = 0) -> Unit:
    """A unit of one plate that is its own box."""
    wide_m, high_m, web_m = wide_mm * MM, high_mm * MM, web_mm * MM
    return Unit((Place(quarters, 0.0, 0.0),), wide_m, high_m, wide_m + web_m, high_m + web_m)


def filled(length: int, width: int, a: int, b: int, *, web: int = 0, margin: int = 0, turn: bool = True) -> Pattern:
    units = [rectangle(a, b, web), *([rectangle(b, a, web, 1)] if turn else [])]
    return fill(Stock(length * MM, width * MM, web * MM, margin * MM), units)


def by_enumeration(length: int, width: int, a: int, b: int) -> int:
    """Most a x b rectangles, either way round, by trying every whole-number cut of every rectangle."""

    @cache
    def best(x: int, y: int) -> int:
        if min(x, y) < min(a, b):
            return 0
        found = int((x >= a and y >= b) or (x >= b and y >= a))
        found = max([found, *(best(c, y) + best(x - c, y) for c in range(1, x // 2 + 1))])
        return max([found, *(best(x, c) + best(x, y - c) for c in range(1, y // 2 + 1))])

    return best(length, width)


SIDES = st.integers(1, 9)


@settings(max_examples=120)
@given(st.integers(1, 32), st.integers(1, 26), SIDES, SIDES)
def test_as_many_as_every_cut_tried(length: int, width: int, a: int, b: int) -> None:
    wanted = by_enumeration(length, width, a, b)
    if wanted == 0:
        with pytest.raises(InputError, match="does not go on a sheet"):
            filled(length, width, a, b)
        return
    pattern = filled(length, width, a, b)
    assert pattern.exact
    assert len(pattern.places) == wanted
    assert wanted <= pattern.bound <= length * width // (a * b)


@settings(max_examples=60)
@given(st.integers(20, 90), st.integers(20, 70), st.integers(3, 14), st.integers(3, 14), st.integers(0, 3),
       st.integers(0, 4))  # fmt: skip
def test_plates_keep_their_distance_and_stay_on_the_sheet(
    length: int, width: int, a: int, b: int, web: int, margin: int
) -> None:
    try:
        pattern = filled(length, width, a, b, web=web, margin=margin)
    except InputError:
        assert max(min(a, b) - min(length, width), max(a, b) - max(length, width)) + 2 * margin > 0
        return
    boxes = [box_of(place, a, b) for place in pattern.places]
    for left, low, right, high in boxes:
        assert left >= margin - 1e-6 and low >= margin - 1e-6
        assert right <= length - margin + 1e-6 and high <= width - margin + 1e-6
    for one, other in combinations(boxes, 2):
        apart = max(other[0] - one[2], one[0] - other[2], other[1] - one[3], one[1] - other[3])
        assert apart >= web - 1e-6


def box_of(place: Place, a: int, b: int) -> tuple[float, float, float, float]:
    """Of a unit at its own origin: a quarter turned one is b wide."""
    x, y = place.x_m / MM, place.y_m / MM
    return (x, y, x + b, y + a) if place.quarters else (x, y, x + a, y + b)


@pytest.mark.parametrize("k", [2, 3, 4, 5, 7])
@pytest.mark.parametrize(("length", "width"), [(11, 8), (13, 13), (20, 17), (23, 9), (30, 29)])
def test_bars_one_wide(k: int, length: int, width: int) -> None:
    """Bars 1 x k in a rectangle with both sides k or more leave min(r s, (k - r)(k - s)) uncovered, r and s being what
    the sides leave over k. F. W. Barnes, Packing the maximum number of m x n tiles in a large p x q rectangle, Discrete
    Mathematics 26, 1979, pp. 93-100 (the theorem on rods; from memory). Straight cuts reach it where r s is the least:
    a strip of full length, then what is left the other way round.
    """
    r, s = length % k, width % k
    most = (length * width - min(r * s, (k - r) * (k - s))) // k
    found = len(filled(length, width, 1, k).places)
    assert found <= most
    if r * s <= (k - r) * (k - s):
        assert found == most


def test_better_than_rows_all_one_way() -> None:
    """Sheet 100 x 70, plates 30 x 20: 3 x 3 = 9 one way, 5 x 2 = 10 the other, 11 in mixed rows, area 11.67."""
    pattern = filled(100, 70, 30, 20)
    assert len(pattern.places) == by_enumeration(100, 70, 30, 20) == 11
    assert pattern.proved


def test_a_rule_of_grain_keeps_all_one_way() -> None:
    pattern = filled(100, 70, 30, 20, turn=False)
    assert len(pattern.places) == 9
    assert {place.quarters for place in pattern.places} == {0}


def test_too_many_cuts_are_not_called_exact_and_the_bound_still_holds() -> None:
    pattern = filled(2500, 1250, 23, 37, web=2)
    assert not pattern.exact
    assert (2500 // 25) * (1250 // 39) <= len(pattern.places) <= pattern.bound <= 2502 * 1252 // (25 * 39)


def test_hundreds_side_by_side_are_refused() -> None:
    with pytest.raises(InputError, match="side by side"):
        filled(2500, 1250, 2, 3)


def test_same_sheet_same_layout() -> None:
    assert filled(250, 125, 31, 22) == filled(250, 125, 31, 22)
