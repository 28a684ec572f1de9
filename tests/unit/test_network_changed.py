"""Networks with wires open, bridged, or motors cut out: what is left carries what exact fractions say."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.grid.contacts.changed import changed, without_motors
from griddesign.grid.contacts.records import MotorIn, Network, Wire
from griddesign.grid.contacts.transfer import Layout
from griddesign.grid.records import Branches, Run
from griddesign.traction.network.written_out import written_out
from griddesign.traction.records import Grouping, Notch

LEAK = Fraction(1, 10**40)
"""Siemens from every node to the ground: points that nothing holds have volts all the same."""


def solved(rows: list[list[Fraction]]) -> list[Fraction]:
    """Gauss's elimination on rows that end in the right-hand side."""
    for at in range(len(rows)):
        pivot = next(row for row in range(at, len(rows)) if rows[row][at] != 0)
        rows[at], rows[pivot] = rows[pivot], rows[at]
        rows[at] = [one / rows[at][at] for one in rows[at]]
        for row in range(len(rows)):
            if row != at and rows[row][at] != 0:
                rows[row] = [one - rows[row][at] * top for one, top in zip(rows[row], rows[at], strict=True)]
    return [row[-1] for row in rows]


def by_fractions(wires: tuple[Wire, ...], ohm: dict[str, int], opened: set[str], bridged: set[str]) -> dict[str, float]:
    """Currents at one volt: node volts and the currents of bridged wires as unknowns, their ends of one voltage."""
    nodes = 1 + max(max(wire.a, wire.b) for wire in wires)
    short = [wire for wire in wires if wire.name in bridged]
    size = nodes + len(short)
    rows = [[Fraction(0)] * (size + 1) for _ in range(size)]
    for node in range(nodes):
        rows[node][node] += LEAK
    for wire in wires:
        if wire.name not in opened and wire.name not in bridged:
            g = Fraction(1, ohm[wire.name])
            for here, there in ((wire.a, wire.b), (wire.b, wire.a)):
                rows[here][here] += g
                rows[here][there] -= g
    for place, wire in enumerate(short, start=nodes):
        for node, sign in ((wire.a, 1), (wire.b, -1)):
            rows[node][place] += sign
            rows[place][node] += sign
        rows[place][place] -= LEAK  # several wires bridged side by side share their current
    for node, volts in ((0, 0), (1, 1)):
        rows[node] = [Fraction(0)] * size + [Fraction(volts)]
        rows[node][node] = Fraction(1)
    volts = solved(rows)
    return {
        wire.name: float((volts[wire.a] - volts[wire.b]) / ohm[wire.name])
        for wire in wires if wire.name not in opened and wire.name not in bridged
    }  # fmt: skip


ends = st.tuples(st.integers(0, 4), st.integers(0, 4)).filter(lambda pair: pair[0] != pair[1])
NAMES = "ABCDEFGH"


@settings(max_examples=60)
@given(st.lists(ends, min_size=4, max_size=8), st.data())
def test_what_is_left_carries_what_exact_fractions_say(pairs: list[tuple[int, int]], data: st.DataObject) -> None:
    """Random networks, wires open and bridged at random: the wires left have their current, the others none."""
    wires = tuple(Wire(name, "section", a, b) for name, (a, b) in zip(NAMES, pairs, strict=False))
    network = Network(wires, 5, (), "random")
    words = data.draw(st.lists(st.sampled_from(("", "", "open", "bridged")), min_size=8, max_size=8))
    opened, bridged = (
        frozenset(wire.name for wire, word in zip(wires, words, strict=False) if word == one)
        for one in ("open", "bridged")
    )
    left = changed(network, opened, bridged) if opened or bridged else changed(network, frozenset("none"))
    if left.joined:
        assert left.network is None
        return
    ohm = {name: place for place, name in enumerate(NAMES, start=2)}
    exact = by_fractions(wires, ohm, set(opened), set(bridged))
    ours = dict.fromkeys(exact, 0.0)
    if left.network is not None:
        kept = left.network.wires
        layout = Layout.of(kept, left.network.nodes, feeder=False)
        current = layout.driven(np.array([float(ohm[wire.name]) for wire in kept]), layout.source[:, None])[:, 0]
        ours |= dict(zip((wire.name for wire in kept), current.tolist(), strict=True))
    assert ours == pytest.approx(exact, abs=1e-12)


# --- motors ----------------------------------------------------------------------------------------------------------

TWO_BY_TWO = Notch("1", Grouping(2, 2), Run(("A", Branches((Run(("B",)), Run(("C",)))))))


def cut(notch: Notch, *out: int) -> tuple[list[str], tuple[str, ...]]:
    """Names of the wires left with those motors (from 1) cut out, and what became of each."""
    left, words = without_motors(written_out(notch), frozenset(out))
    return [] if left.network is None else sorted(wire.name for wire in left.network.wires), words


def test_a_motor_in_a_string_is_bridged_and_a_string_without_motors_is_open() -> None:
    grid = ["A", "B", "C"]
    assert cut(TWO_BY_TWO, 2) == ([*grid, "motor 1", "motor 3", "motor 4"], ("motor 2 bridged",))
    assert cut(TWO_BY_TWO, 2, 4) == ([*grid, "motor 1", "motor 3"], ("motor 2 bridged", "motor 4 bridged"))
    assert cut(TWO_BY_TWO, 3, 4)[0] == [*grid, "motor 1", "motor 2"]
    assert cut(TWO_BY_TWO, 1, 2, 3, 4)[0] == []


def test_a_motor_across_a_bridge_is_open_and_the_sections_carry_on() -> None:
    arms = (("A", 1, 2), ("B", 2, 3), ("C", 1, 4), ("D", 4, 3))
    wires = (
        *(Wire(name, "section", a, b) for name, a, b in arms),
        Wire("motor 1", "motor", 2, 4, 1, 1.0),
        Wire("motor 2", "motor", 3, 0, 2, 1.0),
    )
    bridge = Network(wires, 5, (MotorIn(1, 4), MotorIn(2, 5)), "a bridge")
    left, words = without_motors(bridge, frozenset({1}))
    assert words == ("motor 1 open",)
    assert left.network is not None
    assert [wire.name for wire in left.network.wires] == [*"ABCD", "motor 2"]
    assert left.network.motors == (MotorIn(2, 4),)
    other, words = without_motors(bridge, frozenset({2}))  # opening it would stop motor 1 too
    assert words == ("motor 2 bridged",)
    assert other.network is not None and [motor.number for motor in other.network.motors] == [1]


def test_a_section_bridged_between_line_and_ground_joins_them() -> None:
    beside = written_out(Notch("1", Grouping(1, 1), Run(("A",))))
    network = replace(beside, wires=(*beside.wires, Wire("W", "section", 1, 0)))
    left = changed(network, bridged=frozenset("W"))
    assert left.joined and left.network is None
    alone = changed(network, opened=frozenset("A"))  # current through W, no motor in it
    assert alone.network is not None and alone.network.motors == ()
