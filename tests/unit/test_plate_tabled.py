"""Tabled bends and eyes: solved anew away from where the series were fitted, and where the tables end."""

from dataclasses import replace

import pytest

from griddesign.plate.bends import known_squares, plate_squares, solved_squares, turnings
from griddesign.plate.cells import solve_bend, solve_eye
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.tabled import CELL_DOUBT, GAPS, HOLES, WEBS, eye_is_tabled, tabled_bend, tabled_eye

PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022, 0.0, 0.002), "opposite edges", fillet_m=0.002)


@pytest.mark.parametrize(
    ("hole", "web", "fillet", "reach"),
    [
        (1.8, 1.03, 0.257, 2.83),
        (0.32, 0.46, 0.0, 1.1),
        (4.9, 2.4, 0.95, 6.0),
        (0.9, 0.75, 0.0, 1.7),
        (2.6, 0.5, 0.05, 2.2),
    ],
)
def test_an_eye_is_what_the_solver_gives(hole: float, web: float, fillet: float, reach: float) -> None:
    found = solve_eye(Eye(hole + 2 * web, hole, reach, 0.0, fillet), 5e-5)
    tabled = reach + tabled_eye(hole, web, fillet)
    assert found.low - 1e-5 <= tabled <= found.high + 1e-5
    assert tabled == pytest.approx(found.value, abs=3e-5)


@pytest.mark.parametrize(
    ("gap", "fillet"), [(0.95, 0.257), (0.105, 0.0525), (3.9, 0.3), (0.4, 0.02), (0.15, 0.06), (2.2, 1.1)]
)
def test_a_bend_is_what_the_solver_gives(gap: float, fillet: float) -> None:
    shape = Zigzag(50.0, 2, 1.0, gap, 1.0, Eye(1.0, 0.5, 1.0), "one edge", fillet_m=fillet)
    found = solve_bend(shape, 0, 3e-5)
    assert found.low - 1e-5 <= tabled_bend(gap, fillet) <= found.high + 1e-5
    assert tabled_bend(gap, fillet) == pytest.approx(found.value, abs=3e-5)


@pytest.mark.parametrize(("fillet", "expected"), [(0.1, 1.650), (0.2, 1.572)])
def test_fillets_shorten_the_way(fillet: float, expected: float) -> None:
    """Finite elements by others, three decimals, gap 0.6 w; sharp 1.700."""
    assert tabled_bend(0.6, fillet) == pytest.approx(expected, abs=6e-4)


def test_what_the_tables_hold_needs_no_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise AssertionError("solved")

    monkeypatch.setattr("griddesign.plate.bends.bend_squares", never)
    monkeypatch.setattr("griddesign.plate.bends.eye_squares", never)
    assert [(one.what, one.how) for one in turnings(PLATE)] == [("bends", "tabled"), ("eyes", "tabled")]
    assert solved_squares(PLATE).value == 0.0
    known = known_squares(PLATE)
    assert known.high - known.low == pytest.approx(2 * (12 + 2) * CELL_DOUBT)


def test_beyond_the_tables_each_plate_is_solved() -> None:
    small = Eye(0.03, 0.0016, 0.022, 0.0, 0.002)
    aside = replace(PLATE.eye, offset_m=0.001)
    deep = replace(PLATE, bend_depth_m=0.011)
    lugged = replace(PLATE, support_eyes=1)
    assert [one.how for one in turnings(replace(PLATE, eye=small))] == ["tabled", "solved"]
    assert [one.how for one in turnings(replace(PLATE, eye=aside))] == ["tabled", "solved"]
    assert [one.how for one in turnings(deep)] == ["solved", "tabled"]
    assert [one.how for one in turnings(lugged)] == ["solved", "tabled", "tabled"]
    assert [one.how for one in turnings(replace(PLATE, fillet_m=0.0))] == ["mapped", "tabled"]


def test_no_step_at_the_rim_of_the_tables() -> None:
    """A plate just inside is within the brackets of one just outside."""
    strip_m = 0.014 / HOLES[1]
    near = [
        Zigzag(0.25, 7, w, 0.007, 0.005, Eye(0.014 + 2 * w, 0.014, 0.022), "opposite edges", fillet_m=0.001)
        for w in (strip_m * 0.9999, strip_m * 1.0001)
    ]
    outside, inside = (plate_squares(shape) for shape in near)
    assert [*turnings(near[0])][-1].how == "solved"
    assert outside.low <= inside.value * (1 + 2e-4) <= outside.high * (1 + 4e-4)
    assert not eye_is_tabled(1.0, WEBS[0] * 0.999, 0.0)
    assert GAPS[0] < 0.9 < GAPS[1]
