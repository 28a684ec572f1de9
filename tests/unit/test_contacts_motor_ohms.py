"""A motor whose armature and field stand in the chart apart: together they are the motor as stated."""

import pytest

from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, MotorOhms

LEADS = {
    "T": ("line",),
    "G": ("ground",),
    "R0": ("start of s",),
    "R1": ("end of s",),
    "A1": ("motor 1 armature 1",),
    "A2": ("motor 1 armature 2",),
    "F1": ("motor 1 field 1",),
    "F2": ("motor 1 field 2",),
}


@pytest.mark.parametrize("ohms", [MotorOhms(0.42), MotorOhms(0.42, 0.27, 0.15)], ids=["whole", "told apart"])
def test_armature_and_field_in_series_are_the_motor(ohms: MotorOhms) -> None:
    read = ChartRead(Chart(("s",), 1, LEADS, (("1", (("T", "R0"), ("R1", "A1"), ("A2", "F1"), ("F2", "G"))),)), ohms)
    assert read.solve({"s": 0.5}).terminal_ohm[0] == pytest.approx(0.5 + 0.42, rel=1e-12)


def test_where_the_split_decides_and_nobody_knows_it_is_told() -> None:
    """A section beside the field: armature and field carry unlike currents, and it matters where the ohms lie."""
    beside = ("1", (("T", "A1"), ("A2", "F1", "R0"), ("F2", "R1", "G")))
    plain = ("2", (("T", "R0"), ("R1", "A1"), ("A2", "F1"), ("F2", "G")))
    chart = Chart(("s",), 1, LEADS, (beside, plain))
    for ohms, matters in ((MotorOhms(0.42), True), (MotorOhms(0.42, 0.27, 0.15), False)):
        read = ChartRead(chart, ohms)
        solved = read.solve({"s": 0.5})
        assert [read.split_matters(solved, place) for place in (0, 1)] == [matters, False]
    assert solved.terminal_ohm[0] == pytest.approx(0.27 + 0.15 * 0.5 / 0.65, rel=1e-12)
