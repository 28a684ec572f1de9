"""Wanted ohms given: sections from notches, no car."""

import pytest

from griddesign.errors import InputError
from griddesign.grid.records import Branches, Run
from griddesign.traction.given import wanted_given
from griddesign.traction.records import Grouping, Notch

ONE = Grouping(1, 1)


def notch(name: str, ohms: float | None, *parts: str | Branches) -> Notch:
    return Notch(name, ONE, Run(parts), wanted_ohm=ohms)


def test_sections_are_the_differences_of_the_notches() -> None:
    found = wanted_given(
        [notch("1", 1.76, "A", "B", "C"), notch("2", 1.17, "B", "C"), notch("3", 0.5, "C"), notch("4", None)], "ABC"
    )
    assert dict(found.sections) == pytest.approx({"A": 0.59, "B": 0.67, "C": 0.5}, rel=1e-9)
    assert found.exact
    assert found.note == ""
    assert [row.wanted_ohm for row in found.notches] == [1.76, 1.17, 0.5, 0.0]


def test_branches_are_realised() -> None:
    group = Branches((Run(("B",)), Run(("C",))))
    found = wanted_given([notch("1", 3.0, "A", "B", "C"), notch("2", 1.5, "A", group), notch("3", 1.0, "A")], "ABC")
    assert dict(found.sections) == pytest.approx({"A": 1.0, "B": 1.0, "C": 1.0}, rel=1e-5)
    assert found.exact


def test_what_cannot_be_made_is_said() -> None:
    found = wanted_given([notch("1", 2.0, "A", "B"), notch("2", 1.5, "B"), notch("3", 1.7, "B")], "AB")
    assert not found.exact
    assert (
        "notch 3 is 1.6 ohm instead of 1.7 ohm" in found.note or "notch 2 is 1.6 ohm instead of 1.5 ohm" in found.note
    )


def test_a_string_grid_gives_the_ohms_of_each_string() -> None:
    halves = Notch("1", Grouping(1, 2), None, (Run(("A",)), Run(("B",))), wanted_ohm=2.0)
    assert dict(wanted_given([halves], "AB").sections) == pytest.approx({"A": 2.0, "B": 2.0})


def test_missing_ohms_are_asked_for() -> None:
    with pytest.raises(InputError, match="notch 2 has no wanted ohms"):
        wanted_given([notch("1", 2.0, "A", "B"), notch("2", None, "B")], "AB")
    with pytest.raises(InputError, match="no notch has any section"):
        wanted_given([notch("1", None)], "AB")
