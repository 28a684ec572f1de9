"""Charts small enough to be worked out by hand: ohms that nobody gave, nets of unlike size, motors that lie otherwise
than like strings, leads that say too much."""

from dataclasses import replace

import numpy as np
import pytest

from griddesign.errors import CircuitError
from griddesign.grid.contacts.general import arrangement, motor_ends, network_of, series_classes
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, Groups, MotorOhms, Network, Recognised, Unrecognised
from griddesign.grid.records import Run

LEADS = {"T": ("line",), "G": ("ground",), "1": ("start of A",), "2": ("A/B",), "3": ("B/C",), "4": ("end of C",)}
FIELDS = {
    "F1": ("motor 1 field 1",),
    "F2": ("motor 1 field 2",),
    "F3": ("motor 2 field 1",),
    "F4": ("motor 2 field 2",),
}
ARMATURES = {
    f"A{2 * number + end - 2}": (f"motor {number} armature {end}",) for number in (1, 2) for end in (1, 2)
}  # fmt: skip
WHOLE = {f"{way[0]}{number}": (f"motor {number} {way}",) for number in range(1, 7) for way in ("in", "out")}


def chart(*notches: Groups, motors: int = 0, leads: dict[str, tuple[str, ...]] | None = None) -> Chart:
    named = tuple((str(number), groups) for number, groups in enumerate(notches, start=1))
    return Chart(("A", "B", "C"), motors, LEADS | (leads or {}), named)


def told(read: ChartRead) -> list[str]:
    return [one.words for one in read.contradictions]


BRIDGE = (("T", "1"), ("2", "4"), ("3", "G"))  # A, then B and C side by side
ONE = (("T", "3"), ("4", "G"))  # C alone


def test_ohms_that_nobody_gave_are_asked_for_by_name() -> None:
    """Never taken for an ohm; those of what is not in circuit are not asked for."""
    networks = ChartRead(chart(ONE)).networks
    assert networks.solve({"C": 0.25}).terminal_ohm == pytest.approx([0.25])
    with pytest.raises(CircuitError, match="C has no ohms"):
        networks.solve({"A": 0.5, "B": 0.5})


def test_nets_of_unlike_size_at_several_sets_of_ohms() -> None:
    """A + B C/(B + C), then C alone, at (1, 2, 3) and (4, 6, 3) ohm."""
    solved = ChartRead(chart(BRIDGE, ONE)).networks.solve_each(np.array([[1.0, 2.0, 3.0], [4.0, 6.0, 3.0]]))
    assert solved.terminal_ohm == pytest.approx(np.array([[1.0 + 6 / 5, 3.0], [4.0 + 18 / 9, 3.0]]))
    assert solved.share[1] == pytest.approx(np.array([[1.0, 1 / 3, -2 / 3], [0.0, 0.0, 1.0]]))


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ((("A3", "F2"), ("A4", "F3"), ("F4", "G")), []),
        ((("A4", "F2"), ("A3", "F3"), ("F4", "G")), ["motors against each other: 1 forward, 2 backward"]),
        ((("A3", "F2"), ("A4", "F4"), ("F3", "G")), ["motors against each other: 1 forward, 2 backward"]),
        ((("A4", "F2"), ("A3", "F4"), ("F3", "G")), []),
    ],
    ids=["as they come", "armature turned", "field turned", "both turned"],
)
def test_a_motor_runs_backward_with_its_armature_or_its_field_turned_and_not_with_both(
    second: Groups, words: list[str]
) -> None:
    """Torque goes by the product of the two currents."""
    read = ChartRead(chart((("T", "1"), ("4", "A1"), ("A2", "F1"), *second), motors=2, leads=ARMATURES | FIELDS))
    assert [one for one in told(read) if one.startswith("motor")] == words


ROWS = {
    "two before three": (("T", "i1", "i2"), ("o1", "o2", "i3", "i4", "i5"), ("o3", "o4", "o5", "G")),
    "two pairs before two": (
        ("T", "i1", "i2"),
        ("o1", "i3"),
        ("o2", "i4"),
        ("o3", "o4", "i5", "i6"),
        ("o5", "o6", "G"),
    ),
    "a section in one row": (("T", "i1", "i2"), ("o1", "1"), ("2", "o2", "i3", "i4"), ("o3", "o4", "G")),
}


@pytest.mark.parametrize("groups", ROWS.values(), ids=ROWS)
def test_rows_of_motors_that_are_unlike_are_no_strings(groups: Groups) -> None:
    """Each row side by side, one row after another; taken for strings, motors or a section would be lost."""
    (found,) = ChartRead(chart(groups, motors=6, leads=WHOLE)).circuits
    assert isinstance(found, Unrecognised)
    assert "no even grouping" in found.why


def test_one_resistor_beside_the_fields_of_two_motors() -> None:
    """2 x 0.15 ohm of fields beside 0.30 ohm: half the current in the fields, and each motor 0.27 + 0.15/2 ohm."""
    groups = (("T", "3"), ("4", "A1"), ("A2", "A3"), ("A4", "F1", "S1"), ("F2", "F3"), ("F4", "S2", "G"))
    leads = ARMATURES | FIELDS | {"S1": ("resistor S 1",), "S2": ("resistor S 2",)}
    read = ChartRead(
        replace(chart(groups, motors=2, leads=leads), resistors=("S",)),
        MotorOhms(0.42, 0.27, 0.15, {"resistor S": 0.30}),
    )
    (found,) = read.circuits
    assert isinstance(found, Recognised)
    assert (found.series, found.parallel, found.common) == (2, 1, Run(("C",)))
    assert (found.field, found.motor_ohm) == pytest.approx((0.5, 0.345))


RESISTORS = {"S": 0.15, "U": 0.15, "V": 0.30}
STUDS = {f"{name}{end}": (f"resistor {name} {end}",) for name in RESISTORS for end in (1, 2)}
APART = (("T", "3"), ("4", "A1"), ("A3", "F2"), ("A4", "F3"))
UNLIKE = {
    "one field weakened": (
        (*APART, ("A2", "F1", "S1"), ("F2", "S2"), ("F4", "G")),
        "fields with unlike shares of their armatures' current",
    ),
    "both by half, one with a resistor in series with it": (
        (*APART[:3], ("A2", "F1", "S1"), ("F2", "S2"), ("A4", "U1", "V1"), ("U2", "F3"), ("F4", "V2", "G")),
        "fields of unlike ohms with what stands beside them",
    ),
    "a resistor in one string": (
        (("T", "A1", "A3"), ("A2", "F1"), ("A4", "F3"), ("F2", "S1"), ("S2", "F4", "G")),
        "fixed resistors of unlike ohms in the strings",
    ),
}


@pytest.mark.parametrize(("groups", "why"), UNLIKE.values(), ids=UNLIKE)
def test_motors_of_unlike_fields_or_strings_are_no_grouping(groups: Groups, why: str) -> None:
    """0.15 ohm beside 0.15 ohm, and 0.30 ohm beside 0.30 ohm, take half the current each, but not the same ohms."""
    read = ChartRead(
        replace(chart(groups, motors=2, leads=ARMATURES | FIELDS | STUDS), resistors=tuple(RESISTORS)),
        MotorOhms(0.42, 0.27, 0.15, {f"resistor {name}": ohm for name, ohm in RESISTORS.items()}),
    )
    (found,) = read.circuits
    assert isinstance(found, Unrecognised)
    assert found.why == why


def test_one_motor_beside_two_is_no_pair_of_strings() -> None:
    groups = (("T", "1"), ("4", "i1", "i2"), ("o1", "i3"), ("o3", "o2", "G"))
    (found,) = ChartRead(chart(groups, motors=3, leads=WHOLE)).circuits
    assert isinstance(found, Unrecognised)
    assert found.why == "strings of unlike length: motor 1 and motor 3, motor 2"


@pytest.mark.parametrize("number", [1, 2])
def test_leads_to_a_motor_and_to_a_part_of_it(number: int) -> None:
    leads = {name: to for name, to in WHOLE.items() if name[1] in "12"} | {"X": (f"motor {number} field 1",)}
    words = told(ChartRead(chart((("T", "1"), ("4", "G")), motors=2, leads=leads)))
    assert f"motor {number} has leads to the whole motor and to its armature or field" in words


def test_a_terminal_that_nothing_joins_and_one_that_joins_by_itself() -> None:
    """A stud with two leads makes a joint without any contact."""
    read = ChartRead(chart((("T", "1"), ("4", "G")), leads={"X": ("A/B",), "Y": ("A/B", "B/C")}))
    idle = [words for words in told(read) if words.startswith("no notch joins")]
    assert idle == ["no notch joins terminal 2, 3, X to anything"]


def test_what_is_open_carries_nothing() -> None:
    """With B open A and C stand one after the other; with A open nothing leads to the ground."""
    ohm = {"A": 1.0, "B": 2.0, "C": 3.0}
    for name, expected in (("B", 4.0), ("C", 3.0), ("A", np.inf)):
        read = ChartRead(chart(BRIDGE), without=frozenset({name}))
        assert read.networks.solve(ohm).terminal_ohm == pytest.approx([expected])
        assert name not in read.in_circuit(0)


def network(read: ChartRead) -> Network:
    return network_of(read.elements, read.nets[0], read.ohms, "")


def test_ohms_and_volts_of_a_motor_whose_field_has_a_resistor_beside_it() -> None:
    """0.15 ohm beside 0.30 ohm: 2/3 of the current in the field; its heat goes by the square of that, its volts not."""
    groups = (("T", "1"), ("4", "A1"), ("A2", "F1", "S1"), ("F2", "S2", "G"))
    read = ChartRead(
        replace(chart(groups, motors=1, leads=ARMATURES | FIELDS | STUDS), resistors=("S",)),
        MotorOhms(0.42, 0.27, 0.15, {"resistor S": 0.30}),
    )
    whole = network(ChartRead(chart((("T", "1"), ("4", "i1"), ("o1", "G")), motors=1, leads=WHOLE), MotorOhms(0.42)))
    assert whole.motor_ohm == whole.motor_drop == (1.0,)
    found = network(read)
    assert [motor.field for motor in found.motors] == pytest.approx([2 / 3])
    assert found.motor_ohm == pytest.approx([(0.27 + 0.15 * 4 / 9) / 0.42])
    assert found.motor_drop == pytest.approx([(0.27 + 0.15 * 2 / 3) / 0.42])


GROUPED = {
    "series": ((("4", "i1"), ("o1", "i2"), ("o2", "G")), {1: (1, 3), 2: (3, 0)}, {(frozenset({1, 2}), 1)}),
    "parallel": ((("4", "i1", "i2"), ("o1", "o2", "G")), {1: (1, 0), 2: (1, 0)}, {(frozenset({n}), 0) for n in (1, 2)}),
    "two and one": (
        (("4", "i1", "i2"), ("o1", "i3"), ("o2", "o3", "G")),
        {1: (1, 3), 2: (1, 0), 3: (3, 0)},
        {(frozenset({1, 3}), 1), (frozenset({2}), 0)},
    ),
    "three in a row": (
        (("4", "i1"), ("o1", "i2"), ("o2", "i3"), ("o3", "G")),
        {1: (1, 3), 2: (3, 4), 3: (4, 0)},
        {(frozenset({1, 2, 3}), 2)},
    ),
    "one beside a section": ((("4", "G"), ("2", "i1"), ("3", "o1")), {1: (0, 0)}, {(frozenset({1}), -1)}),
}


@pytest.mark.parametrize(("groups", "ends", "grouped"), GROUPED.values(), ids=GROUPED)
def test_how_motors_hang_together(groups: Groups, ends: dict[int, tuple[int, int]], grouped: set[object]) -> None:
    """Sections taken as joined: 0 the ground, 1 the line, inner points as they come."""
    found = motor_ends(network(ChartRead(chart((("T", "1"), *groups), motors=3, leads=WHOLE), MotorOhms(0.4))))
    name: dict[int, int] = {}
    for pair, meant in zip(found.values(), ends.values(), strict=True):
        assert [name.setdefault(one, other) for one, other in zip(pair, meant, strict=True)] == [*meant]
    assert list(found) == list(ends) and len(set(name.values())) == len(name)
    assert {0, 1} & {*name} == {one for one in (0, 1) if name.get(one) == one}
    assert arrangement(found) == grouped


@pytest.mark.parametrize(
    ("groups", "without", "classes"),
    [
        ((("T", "1"), ("4", "i1")), "", [{"A", "B", "C"}]),
        ((("T", "1"), ("2", "4"), ("3", "i1")), "", [{"A"}, {"B"}, {"C"}]),
        ((("T", "1"), ("2", "4"), ("3", "i1")), "B", [{"A", "C"}]),
        ((("T", "1", "3"), ("4", "i1")), "", [{"C"}]),
        ((("T", "1", "4", "i3"), ("2", "i1"), ("3", "i2"), ("o2", "o3", "G")), "B", [{"A"}, {"C"}]),
    ],
    ids=["in a row", "two side by side", "in a row, one the other way round", "one alone", "apart"],
)
def test_sections_that_carry_one_current(groups: Groups, without: str, classes: list[set[str]]) -> None:
    read = ChartRead(chart((*groups, ("o1", "G")), motors=3, leads=WHOLE), MotorOhms(0.4), frozenset(without))
    assert [set(one) for one in series_classes(network(read))] == classes
