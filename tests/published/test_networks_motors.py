"""Notches of any topology with their motors turning, against a general circuit simulator, a general root finder, a
general integrator, and a published unbalanced bridge."""

import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import root

from griddesign.grid.contacts.network import Joined, links
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, MotorOhms, Network, Unrecognised, Wire
from griddesign.grid.contacts.transfer import Layout
from griddesign.judge.chart_motors import CarOfChart, NotchAtSpeed, at_speed
from griddesign.traction.curve import MotorCurve
from griddesign.traction.mechanics import accelerated_kg, motor_rad_s, resistance_n, rim_n_per_nm
from griddesign.traction.network.currents import Driven
from griddesign.traction.records import Car, Grouping, Line, MagnetisationPoints, Motor, Notch, RunningResistance
from griddesign.traction.runup.records import Cases
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.table import CurveTable, curve_table

SPICE = "ngspice, a general circuit simulator"
HELFRICK = (
    "A. D. Helfrick and W. D. Cooper, Modern Electronic Instrumentation and Measurement Techniques (Dorling "
    "Kindersley, 2009), Ex 5-1, p. 101"
)
needs_ngspice = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")

POINTS = MagnetisationPoints(62.8, (15.0, 35.0, 70.0, 105.0, 140.0, 280.0), (100.0, 215.0, 381.0, 485.0, 550.0, 660.0))
LINE, MOTOR = Line(550.0, 660.0, 0.04), Motor(3, 0.42, 75.0, POINTS)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324, 1e-4), 0.0)
OHMS = {"A": 1.31, "B": 0.97, "C": 0.66, "D": 0.83, "E": 0.52}
SECTIONS = tuple(OHMS)
RESISTORS = {"resistor S": 0.35, "resistor W": 1.2}
TAPS = ("start of A", *(f"{a}/{b}" for a, b in pairwise(SECTIONS)), "end of E")
MOTORS = tuple(f"motor {number} {end}" for number in (1, 2, 3) for end in ("in", "out"))
RODS = tuple(f"resistor {name} {end}" for name in "SW" for end in (1, 2))
LEADS = {thing: (thing,) for thing in ("line", "ground", *TAPS, *MOTORS, *RODS)}
NOTCHES: dict[str, tuple[tuple[str, ...], ...]] = {
    "a motor across a bridge": (
        ("line", "start of A", "D/E"), ("ground", "B/C", "motor 2 out"), ("A/B", "motor 1 in"), ("C/D", "motor 1 out"),
        ("end of E", "motor 2 in"),
    ),
    "a bridge of sections ahead of two strings": (
        ("A/B", "line"), ("start of A", "C/D"), ("B/C", "end of E"), ("D/E", "motor 1 in", "motor 3 in"),
        ("motor 1 out", "motor 2 in"), ("motor 2 out", "motor 3 out", "ground"),
    ),
    "a common grid and a grid in one string": (
        ("line", "start of A"), ("C/D", "motor 1 in"), ("end of E", "motor 2 in"),
        ("motor 1 out", "motor 2 out", "ground"),
    ),
    "strings of unlike length, a fixed resistor ahead": (
        ("line", "resistor S 1"), ("resistor S 2", "B/C"), ("end of E", "motor 1 in", "motor 3 in"),
        ("motor 1 out", "motor 2 in"), ("motor 2 out", "motor 3 out", "ground"),
    ),
    "a resistor beside a motor": (
        ("line", "start of A"), ("end of E", "motor 1 in"), ("motor 1 out", "motor 2 in", "resistor W 1"),
        ("motor 2 out", "resistor W 2", "ground"),
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def read() -> ChartRead:
    chart = Chart(SECTIONS, 3, LEADS, tuple(NOTCHES.items()), resistors=("S", "W"))
    return ChartRead(chart, MotorOhms(MOTOR.resistance_ohm, resistor=RESISTORS))


def told(read: ChartRead, speed_m_s: float) -> dict[str, NotchAtSpeed]:
    return {one.name: one for one in at_speed(read, CarOfChart(LINE, CAR, MOTOR), OHMS, speed_m_s)}


def networks(read: ChartRead) -> dict[str, Network]:
    """Every notch as a network; none of them is a grouping of like strings."""
    found = {}
    for name, one in zip(NOTCHES, read.circuits, strict=True):
        assert isinstance(one, Unrecognised)
        assert one.network is not None
        found[name] = one.network
    return found


# --- the simulator ---------------------------------------------------------------------------------------------------


def emf_words(table: CurveTable, turning: float, sense: str) -> str:
    """``n k(I)`` for the simulator: cubics from point to point, nested by the amount of the current."""
    amount, words = f"abs(i({sense}))", f"{table.cubics[0, -1]:.17g}"
    for knot, end, cubic in list(zip(table.knots_a, table.knots_a[1:], table.cubics[:, :-1].T, strict=False))[::-1]:
        past = f"({amount}-{knot:.17g})"
        c0, c1, c2, c3 = (f"{one:.17g}" for one in cubic)
        words = f"({amount}<{end:.17g} ? {c0}+{past}*({c1}+{past}*({c2}+{past}*{c3})) : {words})"
    return f"{turning:.17g}*sgn(i({sense}))*{words}"


def deck(read: ChartRead, place: int, turning: float) -> str:
    """The notch as its chart joins it; motors are ohms and a source that follows their own current."""
    node: dict[str, str] = {"ground": "0"}

    def named(point: str) -> str:
        return node.setdefault(point, f"n{len(node)}")

    lines, joined = (
        [f"vsource n_far 0 dc {LINE.nominal_v}", f"rfeeder n_far {named('line')} {LINE.feeder_ohm}"],
        Joined(),
    )
    for points in links(read.chart, read.chart.notches[place][1]):
        for other in points[1:]:
            if joined.top(points[0]) != joined.top(other):
                joined.join((points[0], other))
                lines.append(f"vc{len(lines)} {named(points[0])} {named(other)} dc 0")
    asked, table = ["print i(vsource)"], curve_table(POINTS, 1.0, 1.0)
    for number, element in enumerate(read.elements):
        ohm = {**OHMS, **RESISTORS}.get(element.name, MOTOR.resistance_ohm)
        lines.append(f"ve{number} {named(element.a)} e{number} dc 0")
        lines.append(f"r{number} e{number} {'f' + str(number) if element.motor else named(element.b)} {ohm}")
        if element.motor:
            lines.append(f"b{number} f{number} {named(element.b)} v = {emf_words(table, turning, f've{number}')}")
        asked.append(f"print i(ve{number})")
    lines += [f"rleak{number} {name} 0 1e12" for number, name in enumerate(sorted(set(node.values()) - {"0"}))]
    options = "set numdgt=15\noption reltol=1e-10 abstol=1e-12 vntol=1e-10 gmin=1e-15 itl1=2000"
    return "\n".join([*lines, ".control", options, "op", *asked, ".endc"])


@needs_ngspice
def test_motors_in_networks_agree_with_a_circuit_simulator(read: ChartRead, tmp_path: Path, checked) -> None:
    """Five notches that are no groupings, at standstill and at two speeds: the current from line and in every element.
    The simulator is given terminals, leads and contacts, and a motor's emf as a source that follows its current."""
    theirs, ours = [], []
    for speed in (0.0, 3.0, 7.0):
        for place, one in enumerate(told(read, speed).values()):
            path = tmp_path / "notch.cir"
            path.write_text(f"* notch\n{deck(read, place, motor_rad_s(CAR, speed))}\n.end\n", encoding="ascii")
            run = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False, timeout=60)
            found = [float(line.split("=")[1]) for line in run.stdout.splitlines() if line.count("=") == 1]
            by_name = dict(zip((element.name for element in read.elements), found[1:], strict=True))
            own = {f"motor {number}": amps for number, amps in one.motor_a} | dict(one.section_a)
            assert -found[0] == pytest.approx(one.line_a, rel=1e-6)
            assert {name: by_name[name] for name in own} == pytest.approx(own, abs=2e-5)
            theirs.append(-found[0])
            ours.append(one.line_a)
    checked(SPICE, "current from line of networks with series motors, 0 to 7 m/s", theirs, ours, "A")


# --- the root finder -------------------------------------------------------------------------------------------------


def by_root(network: Network, ohm: dict[str, float], turning: float) -> dict[str, float]:
    """Currents of all wires: Kirchhoff's laws on node volts and motor currents as they stand, by scipy's root."""
    curve = MotorCurve(POINTS, hold_above=True)
    motors = [place for place, wire in enumerate(network.wires) if wire.kind == "motor"]

    def currents(x: np.ndarray) -> list[float]:
        volts = [0.0, *x[: network.nodes - 1]]
        own = dict(zip(motors, x[network.nodes - 1 :], strict=True))
        return [
            own[place] if place in own else (volts[wire.a] - volts[wire.b]) / ohm[wire.name]
            for place, wire in enumerate(network.wires)
        ]

    def misses(x: np.ndarray) -> list[float]:
        volts, amps = [0.0, *x[: network.nodes - 1]], currents(x)
        kirchhoff = [0.0] * network.nodes
        for wire, flow in zip(network.wires, amps, strict=True):
            kirchhoff[wire.a] += flow
            kirchhoff[wire.b] -= flow
        feeder = volts[1] + LINE.feeder_ohm * kirchhoff[1] - LINE.nominal_v
        fall = [
            volts[wire.a] - volts[wire.b] - amps[place] * MOTOR.resistance_ohm
            - float(np.sign(amps[place])) * curve.k(abs(amps[place])) * turning
            for place, wire in enumerate(network.wires) if place in motors
        ]  # fmt: skip
        return [feeder, *kirchhoff[2:], *fall]

    begin = np.concatenate((np.linspace(400.0, 100.0, network.nodes - 1), np.full(len(motors), 60.0)))
    found = root(misses, begin, method="hybr", options={"xtol": 1e-13, "maxfev": 20000})
    assert max(map(abs, misses(found.x))) < 1e-7
    return dict(zip((wire.name for wire in network.wires), currents(found.x), strict=True))


def test_currents_at_a_speed_are_those_of_a_general_root_finder(read: ChartRead) -> None:
    for speed in (1.0, 4.0, 9.0):
        for name, one in told(read, speed).items():
            theirs = by_root(networks(read)[name], {**OHMS, **RESISTORS}, motor_rad_s(CAR, speed))
            own = {f"motor {number}": amps for number, amps in one.motor_a} | dict(one.section_a)
            assert {part: theirs[part] for part in own} == pytest.approx(own, abs=1e-6), (name, speed)
            pull = rim_n_per_nm(CAR) * sum(
                abs(theirs[f"motor {number}"]) * MotorCurve(POINTS, hold_above=True).k(abs(theirs[f"motor {number}"]))
                for number, _ in one.motor_a
            )
            assert one.effort_n == pytest.approx(pull, rel=1e-8)


# --- the integrator --------------------------------------------------------------------------------------------------

ALPHA, HEAT, LOSS = 0.0019, 4000.0, 6.0


def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    """Invented and smooth, light enough for hot ohms to matter."""
    heat = np.full_like(t_c, HEAT)
    return 1.0 + ALPHA * (t_c - 20.0), np.full_like(t_c, ALPHA), heat, LOSS * np.maximum(t_c - 20.0, 0.0)


@pytest.mark.parametrize("name", ["a motor across a bridge", "strings of unlike length, a fixed resistor ahead"])
def test_a_network_run_with_hot_ohms_is_that_of_a_general_integrator(read: ChartRead, name: str, checked) -> None:
    """From standstill until the mean current of the motors has fallen to the valley: DOP853 on speed, way and
    temperatures, the currents at every moment by scipy's root on Kirchhoff's laws."""
    network, valley = networks(read)[name], {"a motor across a bridge": 90.0}.get(name, 55.0)
    curve = MotorCurve(POINTS, hold_above=True)

    def at(state: np.ndarray) -> dict[str, float]:
        hot = {one: OHMS[one] * (1.0 + ALPHA * (t_c - 20.0)) for one, t_c in zip(SECTIONS, state[2:], strict=True)}
        return by_root(network, {**hot, **RESISTORS}, motor_rad_s(CAR, state[0]))

    def mean(flow: dict[str, float]) -> float:
        return float(np.mean([abs(flow[f"motor {motor.number}"]) for motor in network.motors]))

    def rate(_: float, state: np.ndarray) -> np.ndarray:
        flow = at(state)
        amps = [abs(flow[f"motor {motor.number}"]) for motor in network.motors]
        pull = rim_n_per_nm(CAR) * sum(curve.k(one) * one for one in amps)
        warm = 1.0 + ALPHA * (state[2:] - 20.0)
        watts = [flow.get(one, 0.0) ** 2 * OHMS[one] for one in SECTIONS] * warm - LOSS * (state[2:] - 20.0)
        return np.array([(pull - resistance_n(CAR, state[0])) / accelerated_kg(CAR), state[0], *(watts / HEAT)])

    def event(_: float, state: np.ndarray) -> float:
        return mean(at(state)) - valley

    event.terminal = True  # type: ignore[attr-defined]
    begin = np.array([0.0, 0.0, *(20.0,) * len(SECTIONS)])
    theirs = solve_ivp(rate, (0.0, 60.0), begin, "DOP853", events=event, rtol=1e-7, atol=1e-7, max_step=1.0)
    one = Notch("1", Grouping(1, len(network.motors)), None, network=network)
    shape = (len(SECTIONS), 1)
    cases = Cases(
        np.full(1, LINE.nominal_v), np.array(list(OHMS.values()))[:, None], np.zeros(shape), np.full(shape, 20.0),
        np.full(1, valley), np.full(1, MOTOR.resistance_ohm), np.full(1, CAR.mass_kg),
    )  # fmt: skip
    ours = run_up(LINE, CAR, MOTOR, [one], SECTIONS, cases, plates, care=Care(4, 4))
    end = theirs.y_events[0][0]
    assert float(ours.seconds[0]) == pytest.approx(float(theirs.t_events[0][0]), abs=1e-5)
    assert float(ours.end_m_s[0]) == pytest.approx(float(end[0]), abs=1e-5)
    assert ours.end_c[:, 0] == pytest.approx(end[2:], abs=1e-4)
    assert float(ours.end_c.max()) > 40.0  # hot enough to tell
    assert abs(float(ours.energy.balance_error[0])) < 1e-6
    checked("scipy DOP853 and root", f"{name}: run to the valley, seconds", float(theirs.t_events[0][0]),
            float(ours.seconds[0]), "s")  # fmt: skip


# --- a published bridge ----------------------------------------------------------------------------------------------


def test_an_unbalanced_bridge_of_a_textbook(checked) -> None:
    """Helfrick and Cooper, Ex 5-1, seen in a published companion that re-works it: arms of 200 and 100 ohm beside 2005
    and 1000 ohm at 5 V, a galvanometer of 100 ohm between, 10 mm per microampere: 33.26 mm."""
    arms = (("R3", 1, 2, 200.0), ("R2", 2, 0, 100.0), ("R4", 1, 3, 2005.0), ("R1", 3, 0, 1000.0), ("Rg", 2, 3, 100.0))
    wires = tuple(Wire(name, "section", a, b) for name, a, b, _ in arms)
    layout = Layout.of(wires, 4, feeder=False)
    driven = Driven.of(layout, (), (), np.array([ohm for *_, ohm in arms]), np.array(5.0))
    assert 1e6 * float(driven.drive[4]) * 10.0 == pytest.approx(33.26, abs=0.005)
    checked(HELFRICK, "deflection of the galvanometer", 33.26, 1e7 * float(driven.drive[4]), "mm")
