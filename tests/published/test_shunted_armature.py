"""Motors whose field carries a current of its own: a textbook's shunted armature, a general circuit simulator, a
general root finder and integrator, and exact fractions at standstill."""

import shutil
import subprocess
from fractions import Fraction
from itertools import pairwise
from math import pi
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, root

from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, MotorOhms, Network, Unrecognised
from griddesign.judge.chart_motors import CarOfChart, NotchAtSpeed, at_speed
from griddesign.traction.curve import MotorCurve
from griddesign.traction.mechanics import accelerated_kg, motor_rad_s, resistance_n, rim_n_per_nm
from griddesign.traction.records import Car, Grouping, Line, MagnetisationPoints, Motor, Notch, RunningResistance
from griddesign.traction.runup.records import Cases
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.table import CurveTable, curve_table

COMPANION = "Textbook companion of FOSSEE, IIT Bombay, series motor with shunted armature, p. 201 of a book not named"
SPICE = "ngspice, a general circuit simulator"
RPM = 2.0 * pi / 60.0
needs_ngspice = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")

# --- a textbook ------------------------------------------------------------------------------------------------------


def test_a_series_motor_with_a_resistor_beside_its_armature(checked) -> None:
    """220 V, armature 0.15 ohm, field 0.2 ohm, 20 A at 1000 rpm unsaturated. With 20 ohm beside the armature: speed at
    the same torque, speed without load, and with 5 ohm ahead the starting torque over that at 20 A. Seen in a published
    companion that re-works the example by the roots of its polynomial; the printed book was not seen."""
    points = MagnetisationPoints(1000.0 * RPM, (20.0, 40.0, 1000.0), (213.0, 426.0, 10650.0))
    car = Car(1000.0, 0.1, 2.0, 1.0, 1.0, RunningResistance(0.04, 0.0, 0.0), 0.0)  # one m/s is one rad/s, 1 N is 1 Nm
    leads = {one: (one,) for one in ("line", "ground", "start of A", "end of A", *ends("motor 1"), *ends("resistor S"))}
    shunted = (("motor 1 armature 2", "motor 1 field 1", "resistor S 2"), ("motor 1 field 2", "ground"))
    running = ("1", (("line", "motor 1 armature 1", "resistor S 1"), *shunted))
    starting = ("2", (("line", "start of A"), ("end of A", "motor 1 armature 1", "resistor S 1"), *shunted))
    read = ChartRead(
        Chart(("A",), 1, leads, (running, starting), resistors=("S",)), MotorOhms(0.35, 0.15, 0.2, {"resistor S": 20.0})
    )

    def at(rad_s: float) -> tuple[NotchAtSpeed, ...]:
        return at_speed(read, CarOfChart(Line(220.0, 220.0, 0.0), car, Motor(1, 0.35, 20.0, points)), {"A": 5.0}, rad_s)

    torque = 213.0 / (1000.0 * RPM) * 20.0
    loaded = brentq(lambda rad_s: at(rad_s)[0].effort_n - torque, 50.0, 190.0, xtol=1e-12)
    idle = brentq(lambda rad_s: at(rad_s)[0].motor_a[0][1], 50.0, 250.0, xtol=1e-12)
    ours = (loaded / RPM, idle / RPM, at(0.0)[1].effort_n / torque)
    assert ours == pytest.approx((765.074, 1877.934, 4.19773), rel=2e-6)
    for what, theirs, own, unit in zip(
        ("speed at the torque of 20 A", "speed without load", "starting torque over that at 20 A"),
        (765.074, 1877.934, 4.19773), ours, ("rpm", "rpm", ""), strict=True,
    ):  # fmt: skip
        checked(COMPANION, what, theirs, own, unit)


def ends(name: str) -> tuple[str, ...]:
    if name.startswith("resistor"):
        return (f"{name} 1", f"{name} 2")
    return tuple(f"{name} {part} {end}" for part in ("armature", "field") for end in (1, 2))


# --- notches of many kinds -------------------------------------------------------------------------------------------

POINTS = MagnetisationPoints(62.8, (15.0, 35.0, 70.0, 105.0, 140.0, 280.0), (100.0, 215.0, 381.0, 485.0, 550.0, 660.0))
LINE, MOTOR, FIELD = Line(550.0, 660.0, 0.04), Motor(2, 0.42, 75.0, POINTS), 0.15
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324, 1e-4), 0.0)
OHMS = {"A": 1.31, "B": 0.97, "C": 0.66, "D": 0.83}
SECTIONS = tuple(OHMS)
RESISTORS = {"resistor S": 0.5, "resistor W": 1.2}
TAPS = ("start of A", *(f"{a}/{b}" for a, b in pairwise(SECTIONS)), "end of D")
LEADS = {
    one: (one,)
    for one in ("line", "ground", *TAPS, *ends("motor 1"), *ends("motor 2"), *ends("resistor S"), *ends("resistor W"))
}
A1, A2, F1, F2 = ends("motor 1")
B1, B2, G1, G2 = ends("motor 2")
PLAIN = ((B2, G1), (G2, "ground"))
NOTCHES: dict[str, tuple[tuple[str, ...], ...]] = {
    "an armature with a resistor beside it": (
        ("line", "start of A"), ("C/D", A1, "resistor S 1"), (A2, F1, "resistor S 2"), (F2, B1), *PLAIN,
    ),
    "a section and an armature with a resistor beside both": (
        ("line", "start of A", "resistor S 1"), ("A/B", A1), (A2, F1, "resistor S 2"), (F2, B1), *PLAIN,
    ),
    "both armatures under one resistor, then both fields": (
        ("line", "start of A"), ("B/C", A1, "resistor S 1"), (A2, B1), (B2, F1, "resistor S 2"), (F2, G1),
        (G2, "ground"),
    ),
    "a field with a section beside it": (
        ("line", "start of A"), ("A/B", A1), (A2, F1, "B/C"), (F2, "C/D", B1), *PLAIN,
    ),
    "the reverser thrown, each armature with a resistor beside it, side by side": (
        ("line", "start of A"), ("A/B", A2, B2, "resistor S 1", "resistor W 1"), (A1, F1, "resistor S 2"),
        (B1, G1, "resistor W 2"), (F2, G2, "ground"),
    ),
    "a motor with a field apart beside a whole one": (
        ("line", "start of A"), ("B/C", A1, "resistor S 1", B1), (A2, F1, "resistor S 2"), (F2, "ground", G2), (B2, G1),
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def read() -> ChartRead:
    chart = Chart(SECTIONS, 2, LEADS, tuple(NOTCHES.items()), resistors=("S", "W"))
    return ChartRead(chart, MotorOhms(MOTOR.resistance_ohm, MOTOR.resistance_ohm - FIELD, FIELD, RESISTORS))


def told(read: ChartRead, speed_m_s: float) -> dict[str, NotchAtSpeed]:
    return {one.name: one for one in at_speed(read, CarOfChart(LINE, CAR, MOTOR), OHMS, speed_m_s)}


def network(read: ChartRead, name: str) -> Network:
    found = read.circuits[list(NOTCHES).index(name)]
    assert isinstance(found, Unrecognised)
    assert found.network is not None
    return found.network


def own_a(one: NotchAtSpeed) -> dict[str, float]:
    """What is told of a notch by the names of its elements; a motor's armature where its field is not told apart."""
    armatures = {f"motor {number} armature": amps for number, amps in one.motor_a}
    return armatures | {f"motor {number} field": amps for number, amps in one.field_a} | dict(one.section_a)


def test_every_notch_has_a_field_with_a_current_of_its_own(read: ChartRead) -> None:
    apart = {name: [motor.apart for motor in network(read, name).motors] for name in NOTCHES}
    assert [sorted(map(abs, one)) for one in apart.values()] == [[0, 1], [0, 1], [1, 1], [0, 1], [1, 1], [0, 1]]
    assert apart["the reverser thrown, each armature with a resistor beside it, side by side"] == [-1, -1]


# --- exact fractions -------------------------------------------------------------------------------------------------


def test_currents_at_standstill_are_exact_fractions(read: ChartRead) -> None:
    """By hand: A, B and C ahead of the armature of 0.27 ohm beside 0.5 ohm, then a field and a whole motor."""
    armature, shunt = Fraction(27, 100), Fraction(1, 2)
    beside = armature * shunt / (armature + shunt)
    whole = Fraction(4, 100) + sum(map(Fraction, ("1.31", "0.97", "0.66"))) + beside + Fraction(15, 100)
    line_a = Fraction(550) / (whole + Fraction(42, 100))
    one = told(read, 0.0)["an armature with a resistor beside it"]
    assert one.line_a == pytest.approx(float(line_a), rel=1e-13)
    assert dict(one.motor_a) == pytest.approx({1: float(line_a * shunt / (armature + shunt)), 2: float(line_a)})
    assert dict(one.field_a) == pytest.approx({1: float(line_a)}, rel=1e-13)


# --- the simulator ---------------------------------------------------------------------------------------------------


def emf_words(table: CurveTable, turning: float, sense: str) -> str:
    """``n k(J)`` for the simulator: cubics from point to point, nested by the amount of the current."""
    amount, words = f"abs(i({sense}))", f"{table.cubics[0, -1]:.17g}"
    for knot, end, cubic in list(zip(table.knots_a, table.knots_a[1:], table.cubics[:, :-1].T, strict=False))[::-1]:
        past = f"({amount}-{knot:.17g})"
        c0, c1, c2, c3 = (f"{one:.17g}" for one in cubic)
        words = f"({amount}<{end:.17g} ? {c0}+{past}*({c1}+{past}*({c2}+{past}*{c3})) : {words})"
    return f"{turning:.17g}*sgn(i({sense}))*{words}"


def deck(net: Network, turning: float, ahead: float) -> str:
    """The network wire by wire; an armature's emf is a source that follows the current of its motor's field."""
    table = curve_table(POINTS, 1.0, 1.0)
    lines, asked = [f"vsource far 0 dc {LINE.nominal_v}", f"rfeeder far n1 {LINE.feeder_ohm}"], []
    for place, wire in enumerate(net.wires):
        a, b = (str(node) if node == 0 else f"n{node}" for node in (wire.a, wire.b))
        lines.append(f"ve{place} {a} e{place} dc 0")
        field = next((at for at, one in enumerate(net.wires) if one.kind == "field" and one.motor == wire.motor), 0)
        driving = wire.kind == "armature"
        lines.append(f"r{place} e{place} {f'f{place}' if driving else b} {wire_ohm(net, place)}")
        if driving:
            lines.append(f"b{place} f{place} {b} v = {emf_words(table, ahead * turning, f've{field}')}")
        asked.append(f"print i(ve{place})")
    options = "set numdgt=15\noption reltol=1e-10 abstol=1e-12 vntol=1e-10 gmin=1e-15 itl1=2000"
    return "\n".join([*lines, ".control", options, "op", *asked, ".endc"])


def wire_ohm(net: Network, place: int) -> float:
    wire = net.wires[place]
    return wire.ohm * MOTOR.resistance_ohm if wire.motor else {**OHMS, **RESISTORS}[wire.name]


@needs_ngspice
def test_fields_apart_agree_with_a_circuit_simulator(read: ChartRead, tmp_path: Path, checked) -> None:
    """Six notches at standstill, at 3 and at 7 m/s: every current of armature, field and section."""
    theirs, ours = [], []
    for speed in (0.0, 3.0, 7.0):
        for name, one in told(read, speed).items():
            net, path = network(read, name), tmp_path / "notch.cir"
            ahead = -1.0 if "reverser" in name else 1.0
            path.write_text(f"* notch\n{deck(net, motor_rad_s(CAR, speed), ahead)}\n.end\n", encoding="ascii")
            run = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False, timeout=60)
            found = [float(line.split("=")[1]) for line in run.stdout.splitlines() if line.count("=") == 1]
            by_name = dict(zip((wire.name for wire in net.wires), found, strict=True))
            own = own_a(one)
            assert {part: by_name[part] for part in own} == pytest.approx(own, abs=2e-5), (name, speed)
            theirs += [by_name[part] for part in own]
            ours += list(own.values())
    checked(SPICE, "currents of armatures, fields and sections with fields apart, 0 to 7 m/s", theirs, ours, "A")


# --- the root finder -------------------------------------------------------------------------------------------------

CURVE = MotorCurve(POINTS, hold_above=True)


def by_root(net: Network, hot: dict[str, float], turning: float, ahead: float = 1.0) -> dict[str, float]:
    """Kirchhoff's laws on node volts and the currents of all wires as they stand, by scipy's root."""
    field = {wire.motor: at for at, wire in enumerate(net.wires) if wire.kind == "field"}
    ohm = [hot.get(wire.name, wire_ohm(net, at)) for at, wire in enumerate(net.wires)]

    def misses(x: np.ndarray) -> list[float]:
        volts, amps = [0.0, *x[: net.nodes - 1]], x[net.nodes - 1 :]
        kirchhoff, falls = [0.0] * net.nodes, []
        for at, wire in enumerate(net.wires):
            kirchhoff[wire.a] += amps[at]
            kirchhoff[wire.b] -= amps[at]
            flux = amps[field[wire.motor]] if wire.kind == "armature" else 0.0
            emf = ahead * float(np.sign(flux)) * CURVE.k(abs(flux)) * turning
            falls.append(volts[wire.a] - volts[wire.b] - amps[at] * ohm[at] - emf)
        return [volts[1] + LINE.feeder_ohm * kirchhoff[1] - LINE.nominal_v, *kirchhoff[2:], *falls]

    sense = [-1.0 if ahead < 0.0 and wire.kind == "armature" else 1.0 for wire in net.wires]
    begin = np.concatenate((np.linspace(400.0, 100.0, net.nodes - 1), 60.0 * np.array(sense)))
    found = root(misses, begin, method="hybr", options={"xtol": 1e-13, "maxfev": 20000})
    assert max(map(abs, misses(found.x))) < 1e-7
    return dict(zip((wire.name for wire in net.wires), found.x[net.nodes - 1 :].tolist(), strict=True))


def test_fields_apart_are_those_of_a_general_root_finder(read: ChartRead) -> None:
    for speed in (1.0, 4.0, 9.0):
        for name, one in told(read, speed).items():
            ahead = -1.0 if "reverser" in name else 1.0
            theirs, own = by_root(network(read, name), {}, motor_rad_s(CAR, speed), ahead), own_a(one)
            assert {part: theirs[part] for part in own} == pytest.approx(own, abs=1e-6), (name, speed)
            torque = sum(
                ahead * float(CURVE.k(abs(flux))) * float(np.sign(flux)) * theirs[f"motor {number} armature"]
                for number in (1, 2) if (flux := theirs[f"motor {number} field"])
            )  # fmt: skip
            assert one.effort_n == pytest.approx(rim_n_per_nm(CAR) * torque, rel=1e-8, abs=1e-6)


# --- the integrator --------------------------------------------------------------------------------------------------

ALPHA, HEAT, LOSS, VALLEY = 0.0019, 800.0, 6.0, 45.0


def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    """Invented and smooth, light enough for hot ohms to matter."""
    heat = np.full_like(t_c, HEAT)
    return 1.0 + ALPHA * (t_c - 20.0), np.full_like(t_c, ALPHA), heat, LOSS * np.maximum(t_c - 20.0, 0.0)


def test_a_shunted_start_with_hot_ohms_is_that_of_a_general_integrator(read: ChartRead, checked) -> None:
    """From standstill until the mean current of the two armatures has fallen to the valley: DOP853 on speed, way and
    temperatures, the currents at every moment by scipy's root on Kirchhoff's laws."""
    name = "an armature with a resistor beside it"
    net = network(read, name)

    def at(state: np.ndarray) -> dict[str, float]:
        hot = {one: OHMS[one] * (1.0 + ALPHA * (t_c - 20.0)) for one, t_c in zip(SECTIONS, state[2:], strict=True)}
        return by_root(net, hot, motor_rad_s(CAR, state[0]))

    def rate(_: float, state: np.ndarray) -> np.ndarray:
        flow = at(state)
        torque = sum(CURVE.k(flow[f"motor {one} field"]) * flow[f"motor {one} armature"] for one in (1, 2))
        warm = 1.0 + ALPHA * (state[2:] - 20.0)
        watts = [flow.get(one, 0.0) ** 2 * OHMS[one] for one in SECTIONS] * warm - LOSS * (state[2:] - 20.0)
        pull = rim_n_per_nm(CAR) * torque
        return np.array([(pull - resistance_n(CAR, state[0])) / accelerated_kg(CAR), state[0], *(watts / HEAT)])

    def event(_: float, state: np.ndarray) -> float:
        flow = at(state)
        return 0.5 * (flow["motor 1 armature"] + flow["motor 2 armature"]) - VALLEY

    event.terminal = True  # type: ignore[attr-defined]
    begin = np.array([0.0, 0.0, *(20.0,) * len(SECTIONS)])
    theirs = solve_ivp(rate, (0.0, 60.0), begin, "DOP853", events=event, rtol=1e-7, atol=1e-7, max_step=1.0)
    shape = (len(SECTIONS), 1)
    cases = Cases(
        np.full(1, LINE.nominal_v), np.array(list(OHMS.values()))[:, None], np.zeros(shape), np.full(shape, 20.0),
        np.full(1, VALLEY), np.full(1, MOTOR.resistance_ohm), np.full(1, CAR.mass_kg),
    )  # fmt: skip
    one = Notch("1", Grouping(1, 2), None, network=net)
    ours = run_up(LINE, CAR, MOTOR, [one], SECTIONS, cases, plates, care=Care(4, 4))
    end, (log,) = theirs.y_events[0][0], ours.notches
    assert float(ours.seconds[0]) == pytest.approx(float(theirs.t_events[0][0]), abs=1e-5)
    assert float(ours.end_m_s[0]) == pytest.approx(float(end[0]), abs=1e-5)
    assert ours.end_c[:, 0] == pytest.approx(end[2:], abs=1e-4)
    assert float(ours.end_c.max()) > 40.0  # hot enough to tell
    assert abs(float(ours.energy.balance_error[0])) < 1e-6
    first = at(begin)
    assert log.motor_a is not None
    assert log.field_a is not None
    assert log.motor_a[:, 0] == pytest.approx([first["motor 1 armature"], first["motor 2 armature"]])
    assert float(log.field_a[0, 0]) == pytest.approx(first["motor 1 field"])
    assert float(log.peak_a[0]) == pytest.approx(max(first["motor 1 field"], first["motor 2 armature"]))
    checked("scipy DOP853 and root", f"{name}: run to the valley, seconds", float(theirs.t_events[0][0]),
            float(ours.seconds[0]), "s")  # fmt: skip
