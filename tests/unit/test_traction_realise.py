"""Circuits with branches: the bound, the search, and what is said when the bound is not reached."""

from functools import cache
from math import pi

import numpy as np
import pytest

from griddesign.errors import NoStartError
from griddesign.grid.records import Branches, Run
from griddesign.traction.ladder import ladder
from griddesign.traction.peaks import BuiltGrid
from griddesign.traction.problem import Problem
from griddesign.traction.records import (
    Car,
    Grouping,
    Ladder,
    Line,
    MagnetisationPoints,
    Motor,
    Notch,
    RunningResistance,
    Start,
)

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324))
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)


def beside(*names: str) -> Branches:
    return Branches(tuple(Run((name,)) for name in names))


EASY = [
    Notch("1", SERIES, Run(tuple("ABCDE"))),
    Notch("2", SERIES, Run(tuple("BCDE"))),
    Notch("3", SERIES, Run(tuple("CDE"))),
    Notch("4", SERIES, Run()),
    Notch("5", PARALLEL, Run(("C", beside("D", "E")))),
    Notch("6", PARALLEL, Run(("E",))),
    Notch("7", PARALLEL, Run((beside("D", "E"),))),
    Notch("8", PARALLEL, Run()),
]
HARD = [
    Notch("1", SERIES, Run(tuple("ABC"))),
    Notch("2", SERIES, Run(("A", beside("B", "C")))),
    Notch("3", SERIES, Run((beside("A", "B", "C"),))),
    Notch("4", SERIES, Run()),
    Notch("5", PARALLEL, Run(("A", beside("B", "C")))),
    Notch("6", PARALLEL, Run((beside("A", "B", "C"),))),
    Notch("7", PARALLEL, Run()),
]


@cache
def found_for(branches: str, valley_a: float | None = None, hot: float = 1.0) -> Ladder:
    notches, sections = (HARD, "ABC") if branches == "hard" else (EASY, "ABCDE")
    start = Start(130.0, 110.0, valley_a)
    ratios = dict.fromkeys(sections, hot)
    return ladder(LINE, CAR, MOTOR, start, notches, section_order=sections, hot_ratio=ratios)


def test_where_the_bound_is_reached_it_is_proved() -> None:
    found = found_for("easy")
    assert found.exact
    assert found.note == ""
    assert found.valley_a == pytest.approx(90.693, abs=1e-3)
    assert max(notch.peak_a for notch in found.notches) <= 130.0 * (1.0 + 1e-9)


def test_where_it_is_not_the_note_says_how_far_it_may_be() -> None:
    found = found_for("hard")
    assert not found.exact
    assert "not proved" in found.note
    assert f"{found.valley_a:.4g} A" in found.note
    assert "no grid can do better than 90.69 A" in found.note


def test_the_search_is_not_beaten_by_trying_everything() -> None:
    found = found_for("hard")
    problem = Problem(LINE, MOTOR, Start(130.0, 110.0), tuple(HARD), tuple("ABC"), {})
    whole = found.notches[0].wanted_ohm
    tried = [
        BuiltGrid(problem, {"A": a, "B": b, "C": whole - a - b}).largest_valley_a()
        for a in np.linspace(0.05, 0.95, 19) * whole
        for b in np.linspace(0.05, 0.95, 19) * whole
        if a + b < 0.99 * whole
    ]
    assert max(tried) <= found.valley_a * (1.0 + 1e-4)
    assert max(tried) > 0.95 * found.valley_a


def test_first_notch_and_peaks_are_kept_all_the_same() -> None:
    for hot in (1.0, 1.25):
        found = found_for("hard", hot=hot)
        assert found.notches[0].total_ohm == pytest.approx(5.0, rel=1e-7)
        assert max(notch.peak_a for notch in found.notches) <= 130.0 * (1.0 + 1e-9)


def test_a_valley_under_the_bound_that_was_not_reached_is_refused_honestly() -> None:
    with pytest.raises(NoStartError, match="not proved"):
        found_for("hard", valley_a=85.0)
    with pytest.raises(NoStartError, match="largest valley current with these notches"):
        found_for("hard", valley_a=100.0)
