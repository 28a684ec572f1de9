"""Random charts against independent ways to the same: exact fractions, every simple path, runs and branches."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from griddesign.grid import circuit
from griddesign.grid.contacts.general import network_of
from griddesign.grid.contacts.grouping import recognise
from griddesign.grid.contacts.network import live_edges, nets_of
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, Element, MotorOhms, Net, Network, Recognised
from griddesign.grid.contacts.reduce import series_parallel
from griddesign.grid.contacts.transfer import Layout
from griddesign.grid.records import Branches, Run

SECTIONS = tuple("ABCDEFG")
TAPS = ("start of A", *(f"{a}/{b}" for a, b in pairwise(SECTIONS)), "end of G")
MOTOR_ENDS = ("motor 1 in", "motor 1 out", "motor 2 in", "motor 2 out")
THINGS = ("line", "ground", *TAPS, *MOTOR_ENDS)
LEADS = {f"t{number}": (thing,) for number, thing in enumerate(THINGS)}

groups = st.lists(st.lists(st.sampled_from(sorted(LEADS)), min_size=2, max_size=3).map(tuple), max_size=7).map(tuple)
ohms = st.lists(st.integers(1, 400), min_size=9, max_size=9)


@st.composite
def charts(draw: st.DrawFn) -> Chart:
    """A controller that joins anything to anything on up to four notches, and most times a motor to line or ground."""
    inner = st.sampled_from(sorted(LEADS)[2:])
    notches = []
    for number in range(draw(st.integers(1, 4))):
        ends = (("t0", draw(inner)), ("t1", draw(inner)), (draw(inner), draw(inner))) if draw(st.booleans()) else ()
        notches.append((str(number), (*ends, *draw(groups))))
    return Chart(SECTIONS, 2, LEADS, tuple(notches))


@st.composite
def motor_charts(draw: st.DrawFn) -> Chart:
    """One notch on which motor 1 lies between a tap and the ground, whatever else is joined."""
    taps = st.sampled_from([name for name, (thing,) in LEADS.items() if thing in TAPS])
    inner = st.sampled_from([name for name, (thing,) in LEADS.items() if thing in TAPS or "motor 2" in thing])
    more = draw(st.lists(st.lists(inner, min_size=2, max_size=3).map(tuple), max_size=4))
    joined = (("t0", draw(taps)), (draw(taps), "t10"), ("t11", "t1"), *more)
    return Chart(SECTIONS, 2, LEADS, (("1", joined),))


def exact(elements: tuple[Element, ...], net: Net, ohm: list[Fraction]) -> tuple[Fraction, list[Fraction]]:
    """Terminal ohms and currents of live elements for 1 A, by Gauss's elimination in whole fractions."""
    nodes = [node for node in {end for place in net.live for end in net.ends[place]} if node != net.ground]
    row = {node: place for place, node in enumerate(nodes)}
    matrix = [[Fraction(0)] * (len(nodes) + 1) for _ in nodes]
    for place in net.live:
        conductance = 1 / ohm[place]
        for one, other in (net.ends[place], net.ends[place][::-1]):
            if one in row:
                matrix[row[one]][row[one]] += conductance
                if other in row:
                    matrix[row[one]][row[other]] -= conductance
    matrix[row[net.line]][-1] += 1
    eliminate(matrix)
    volts = {node: matrix[row[node]][-1] for node in nodes} | {net.ground: Fraction(0)}
    return volts[net.line], [(volts[net.ends[p][0]] - volts[net.ends[p][1]]) / ohm[p] for p in net.live]


def eliminate(matrix: list[list[Fraction]]) -> None:
    """Gauss and Jordan's elimination of a square system with its right-hand side."""
    for pivot in range(len(matrix)):
        swap = next(at for at in range(pivot, len(matrix)) if matrix[at][pivot])
        matrix[pivot], matrix[swap] = matrix[swap], matrix[pivot]
        matrix[pivot] = [value / matrix[pivot][pivot] for value in matrix[pivot]]
        for at in range(len(matrix)):
            if at != pivot and matrix[at][pivot]:
                factor = matrix[at][pivot]
                matrix[at] = [a - factor * b for a, b in zip(matrix[at], matrix[pivot], strict=True)]


@given(charts(), ohms)
def test_ohms_and_currents_are_those_of_exact_fractions(chart: Chart, milliohm: list[int]) -> None:
    read = ChartRead(chart)
    ohm = [Fraction(value, 100) for value in milliohm]
    solved = read.networks.solve({one.name: float(r) for one, r in zip(read.elements, ohm, strict=True)})
    for place, net in enumerate(read.nets):
        if not net.live:
            assert solved.terminal_ohm[place] == (0.0 if net.joined else float("inf"))
            assert not solved.share[place].any()
            continue
        whole, currents = exact(read.elements, net, ohm)
        assert solved.terminal_ohm[place] == pytest.approx(float(whole), rel=1e-12)
        expected = [0.0] * len(read.elements)
        for element, current in zip(net.live, currents, strict=True):
            expected[element] = float(current)
        assert list(solved.share[place]) == pytest.approx(expected, abs=1e-12)


edge_lists = st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)).filter(lambda e: e[0] != e[1]), max_size=9)


@given(edge_lists)
def test_live_edges_are_those_on_a_path_that_meets_no_node_twice(edges: list[tuple[int, int]]) -> None:
    found: set[int] = set()

    def walk(node: int, met: tuple[int, ...], used: tuple[int, ...]) -> None:
        if node == 1:
            found.update(used)
            return
        for place, (a, b) in enumerate(edges):
            if node in (a, b):
                other = b if node == a else a
                if other not in met:
                    walk(other, (*met, other), (*used, place))

    walk(0, (0,), ())
    assert live_edges(dict(enumerate(edges)), 0, 1) == tuple(sorted(found))


@given(charts(), ohms)
def test_a_circuit_that_reduces_has_the_ohms_and_currents_of_the_network(chart: Chart, milliohm: list[int]) -> None:
    read = ChartRead(chart)
    by_name = {one.name: value / 100 for one, value in zip(read.elements, milliohm, strict=True)}
    solved = read.networks.solve(by_name)
    for place, net in enumerate(read.nets):
        run = series_parallel(read.elements, net)
        if run is not None:
            assert circuit.ohms(run, by_name) == pytest.approx(solved.terminal_ohm[place], rel=1e-12)
            shares = circuit.shares(run, by_name)
            for element, share in zip(read.elements, solved.share[place], strict=True):
                assert shares.get(element.name, 0.0) == pytest.approx(abs(share), abs=1e-12)


@given(charts(), ohms)
def test_the_grouping_recognised_takes_the_current_of_the_network(chart: Chart, milliohm: list[int]) -> None:
    """R' = s Rm + p Rg (common) or s Rm + Rg (per string) gives the current per motor that the network has."""
    read = ChartRead(chart, MotorOhms(0.37))
    sections = dict(zip(SECTIONS, (value / 100 for value in milliohm), strict=False))
    solved = read.solve(sections)
    for place, found in enumerate(read.circuits):
        if not isinstance(found, Recognised) or not found.strings_of:
            continue
        share = {one.name: abs(float(solved.share[place, at])) for at, one in enumerate(read.elements)}
        runs = found.strings or (found.common or Run(),) * found.parallel
        weight = 1.0 if found.strings else float(found.parallel)
        totals = [found.series * 0.37 + weight * circuit.ohms(run, sections) for run in runs]
        volts = float(solved.terminal_ohm[place])
        for motors, total in zip(found.strings_of, totals, strict=True):
            for number in motors:
                assert share[f"motor {number}"] == pytest.approx(volts / total, rel=1e-9)


@given(charts(), st.data())
def test_leads_in_another_order_and_charts_turned_round_change_nothing(chart: Chart, data: st.DataObject) -> None:
    turned = Chart(
        chart.sections,
        chart.motors,
        dict(data.draw(st.permutations(list(chart.leads.items())))),
        tuple((name, tuple(group[::-1] for group in reversed(joined))) for name, joined in chart.notches),
    )
    one, other = ChartRead(chart), ChartRead(turned)
    assert [net.live for net in one.nets] == [net.live for net in other.nets]
    first, second = one.networks.solve(one.known({})), other.networks.solve(other.known({}))
    assert first.share == pytest.approx(second.share, abs=1e-12)


def nested(depth: int) -> st.SearchStrategy[object]:
    """Runs and branches as nested shapes without names."""
    if depth == 0:
        return st.just("s")
    inner = nested(depth - 1)
    return st.one_of(st.just("s"), st.lists(inner, min_size=1, max_size=3).map(tuple))


@given(nested(4), st.randoms(use_true_random=False))
def test_any_nesting_wired_up_is_read_back(shape: object, random: object) -> None:
    elements: list[Element] = []
    joins: list[tuple[int, int]] = []

    def wire(part: object, a: int, b: int, series: bool) -> Run:
        if part == "s":
            name = f"e{len(elements)}"
            elements.append(Element(name, "section", "", ""))
            joins.append((a, b))
            return Run((name,))
        assert isinstance(part, tuple)
        if series:
            nodes = [a, *(fresh() for _ in part[1:]), b]
            runs = [wire(one, *ends, not series) for one, ends in zip(part, pairwise(nodes), strict=True)]
            return Run(tuple(piece for run in runs for piece in run.parts))
        runs = [wire(one, a, b, not series) for one in part]
        return runs[0] if len(runs) == 1 else Run((Branches(tuple(runs)),))

    counter = iter(range(2, 10**6))

    def fresh() -> int:
        return next(counter)

    run = wire(shape, 0, 1, True)
    assume(len(elements) < 60)
    order = list(range(len(elements)))
    random.shuffle(order)  # type: ignore[attr-defined]
    ends = tuple(joins[at] if at % 2 else joins[at][::-1] for at in order)
    shuffled = tuple(elements[at] for at in order)
    found = series_parallel(shuffled, Net("1", 0, 1, ends, tuple(range(len(order))), ()))
    assert found is not None
    by_name = {f"e{number}": 1.0 + 0.37 * number for number in range(len(elements))}
    assert circuit.ohms(found, by_name) == pytest.approx(circuit.ohms(run, by_name), rel=1e-12)
    assert circuit.shares(found, by_name) == pytest.approx(circuit.shares(run, by_name), rel=1e-9)


def test_a_bridge_is_said_to_be_one_and_solved_all_the_same() -> None:
    ends = ((0, 2), (0, 3), (2, 1), (3, 1), (2, 3))
    elements = tuple(Element(name, "section", "", "") for name in "ABCDE")
    net = Net("1", 0, 1, ends, (0, 1, 2, 3, 4), ())
    assert series_parallel(elements, net) is None
    found = recognise(elements, net)
    assert not isinstance(found, Recognised)
    assert "bridge of A, B, C, D, E" in found.why


def test_the_chart_of_nothing_joined_has_no_current() -> None:
    read = ChartRead(Chart(SECTIONS, 2, LEADS, (("1", ()),)))
    assert read.nets == nets_of(read.chart, read.elements)
    assert not read.nets[0].live


def exact_wires(network: Network, ohm: list[Fraction], line: Fraction, emf: list[Fraction]) -> list[Fraction]:
    """Currents of a network's wires at a voltage, with volts against each, by whole fractions on its node volts."""
    free = [node for node in range(network.nodes) if node > 1]
    row = {node: place for place, node in enumerate(free)}
    matrix = [[Fraction(0)] * (len(free) + 1) for _ in free]
    for wire, r, against in zip(network.wires, ohm, emf, strict=True):
        for one, other, sign in ((wire.a, wire.b, 1), (wire.b, wire.a, -1)):
            if one in row:
                matrix[row[one]][row[one]] += 1 / r
                matrix[row[one]][-1] += (sign * against + (line if other == 1 else 0)) / r
                if other in row:
                    matrix[row[one]][row[other]] -= 1 / r
    eliminate(matrix)
    volts = {0: Fraction(0), 1: line} | {node: matrix[row[node]][-1] for node in free}
    return [(volts[w.a] - volts[w.b] - e) / r for w, r, e in zip(network.wires, ohm, emf, strict=True)]


@settings(max_examples=50)
@given(charts(), ohms, st.lists(st.integers(0, 300), min_size=2, max_size=2))
def test_networks_with_emfs_have_the_currents_of_exact_fractions(
    chart: Chart, milliohm: list[int], volts: list[int]
) -> None:
    """Every notch with a motor, grouping or not: bridges, common and string grids, unlike strings as they come."""
    read = ChartRead(chart, MotorOhms(0.37))
    for net in (net for net in read.nets if net.live):
        if not any(read.elements[place].motor for place in net.live):
            continue
        network = network_of(read.elements, net, read.ohms, "")
        own = dict(zip((one.name for one in read.elements), milliohm, strict=True))
        ohm = [Fraction(own[wire.name], 100) for wire in network.wires]
        emf = [Fraction(volts[wire.motor - 1]) if wire.motor else Fraction(0) for wire in network.wires]
        columns = np.column_stack((Layout.of(network.wires, network.nodes, feeder=False).source * 550.0, emf))
        driven = Layout.of(network.wires, network.nodes, feeder=False).driven(
            np.array([float(one) for one in ohm]), columns.astype(float)
        )
        expected = exact_wires(network, ohm, Fraction(550), emf)
        scale = max(map(abs, expected))
        assert list(driven[:, 0] - driven[:, 1]) == pytest.approx([float(one) for one in expected], abs=1e-11 * scale)


@settings(max_examples=25)
@given(motor_charts(), ohms)
def test_a_network_in_parts_has_the_currents_of_the_whole(chart: Chart, milliohm: list[int]) -> None:
    """Sections parted into plates of like heat, as a retap has them: the same network to its ends."""
    read = ChartRead(chart, MotorOhms(0.37))
    own = dict(zip((one.name for one in read.elements), milliohm, strict=True))
    for net in read.nets:
        assert any(read.elements[place].motor == 1 for place in net.live)
        whole = network_of(read.elements, net, read.ohms, "")
        parted = whole.with_parts({name: [f"{name}, {number}" for number in range(3)] for name in SECTIONS})
        assert [parted.wires[one.wire].motor for one in parted.motors] == [one.number for one in whole.motors]
        found = []
        for network, share in ((whole, 1.0), (parted, 3.0)):
            wires = network.wires
            ohm = [own[wire.name.split(",")[0]] / (share if wire.kind == "section" else 1.0) for wire in wires]
            layout = Layout.of(wires, network.nodes, feeder=False)
            through = layout.driven(np.array(ohm), layout.source[:, None])[:, 0]
            found.append({wire.name: flow for wire, flow in zip(wires, through, strict=True)})
        for name, flow in found[0].items():
            assert [found[1].get(f"{name}, 0", found[1].get(name))] == pytest.approx([flow], rel=1e-9, abs=1e-12)
