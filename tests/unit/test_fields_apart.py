"""Fields with a current of their own: read, run, told, and refused where nobody can be sure of the currents."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from griddesign.cli import root
from griddesign.errors import NoStartError
from griddesign.grid.contacts.changed import changed
from griddesign.grid.contacts.general import NoNetworkError, network_of
from griddesign.grid.contacts.network import net_of
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, Element, MotorIn, MotorOhms, Network, Wire
from griddesign.judge.chart_motors import CarOfChart
from griddesign.judge.contacts import chart_now
from griddesign.judge.held_network import balance_of
from griddesign.papers.blocks import Table
from griddesign.papers.sheets.shown import Shown
from griddesign.papers.sheets.unlike import unlike_motors
from griddesign.shipped import examples_folder
from griddesign.traction.mechanics import motor_rad_s, rim_n_per_nm
from griddesign.traction.network.apart import NO_FLUX, Apart, Fluxes, steepness
from griddesign.traction.network.currents import Driven, mean_of
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    Notch,
    RunningResistance,
    Transition,
)
from griddesign.traction.runup.changing import regrouped
from griddesign.traction.runup.networked import Mesh, Meshed, mesh_of
from griddesign.traction.runup.records import Cases, NotchLog, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.table import curve_table

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324, 1e-4), 0.0)
POINTS = MagnetisationPoints(62.8, (15.0, 35.0, 70.0, 105.0, 140.0, 280.0), (100.0, 215.0, 381.0, 485.0, 550.0, 660.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
OHMS = {"A": 1.6, "B": 1.1}
SECTIONS = tuple(OHMS)
PARTS = MotorOhms(0.42, 0.27, 0.15, {"resistor S": 0.5, "resistor W": 0.9})


def network(*elements: tuple[str, str, str], ohms: MotorOhms = PARTS) -> Network:
    """Elements by name and ends; nodes are named as one likes, ``line`` and ``ground`` as they are."""
    kinds = {"motor": "motor", "resistor": "resistor"}
    each = []
    for name, a, b in elements:
        words = name.split()
        kind = words[2] if len(words) == 3 else kinds.get(words[0], "section")
        each.append(Element(name, kind, a, b, int(words[1]) if words[0] == "motor" else 0))
    return network_of(each, net_of("1", (), each), ohms, "so drawn")


ENDS = tuple(f"motor {number} {part} {end}" for number in (1, 2) for part in ("armature", "field") for end in (1, 2))
ONE = (("A", "line", "p"), ("motor 1 armature", "p", "q"), ("motor 1 field", "q", "ground"))
SHUNT = ("resistor S", "p", "q")
PLAIN, SHUNTED = network(*ONE), network(*ONE, SHUNT)
SEPARATE = network(("motor 1 armature", "line", "ground"), ("A", "line", "f"), ("motor 1 field", "f", "ground"))
BESIDE = network(
    ("A", "line", "p"), ("motor 1 armature", "p", "ground"), ("B", "p", "f"), ("motor 1 field", "f", "ground")
)


def notch(net: Network, name: str = "1") -> Notch:
    return Notch(name, Grouping(1, len(net.motors)), None, network=net)


def mesh(net: Network) -> Mesh:
    return mesh_of(notch(net), net, net.sections, CarOfChart(LINE, CAR, MOTOR).drive)


def driven(net: Network, cases: int = 1) -> Driven:
    ohms = np.array([[OHMS[name] for name in net.sections]] * cases)
    return mesh(net).driven(ohms, np.full(cases, MOTOR.resistance_ohm), np.full(cases, LINE.nominal_v))


def run(*nets: Network, valley_a: float = 45.0, dwell: float | None = None, cold: bool = False) -> RunUp:
    notches = [notch(net, str(number)) for number, net in enumerate(nets, start=1)]
    shape = (len(SECTIONS), 1)
    cases = Cases(
        np.full(1, 550.0), np.array(list(OHMS.values()))[:, None], np.zeros(shape), np.full(shape, 20.0),
        np.full(1, valley_a), np.full(1, 0.42), np.full(1, CAR.mass_kg),
        None if dwell is None else np.full((len(nets), 1), dwell),
    )  # fmt: skip
    return run_up(LINE, CAR, MOTOR, notches, SECTIONS, cases, constant if cold else plates,
                  transition=Transition("power off", 0.6), care=Care(2, 3))  # fmt: skip


def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    """Invented and smooth."""
    heat = np.full_like(t_c, 3000.0)
    return 1.0 + 0.0019 * (t_c - 20.0), np.full_like(t_c, 0.0019), heat, 6.0 * np.maximum(t_c - 20.0, 0.0)


def constant(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    """Ohms that no heat changes."""
    return np.ones_like(t_c), np.zeros_like(t_c), np.full_like(t_c, 3000.0), np.zeros_like(t_c)


# --- the chart -------------------------------------------------------------------------------------------------------


def test_a_fixed_ratio_stays_what_it_was_and_everything_else_is_apart() -> None:
    assert PLAIN.motors == (MotorIn(1, 1),)
    assert SHUNTED.motors == (MotorIn(1, 1, apart=1),)
    diverted = network(*ONE, ("resistor S", "q", "ground"))
    assert diverted.motors[0].apart == 0
    assert diverted.motors[0].field == pytest.approx(0.5 / 0.65)
    assert network(*ONE, ("B", "q", "ground")).motors[0].apart == 1  # a section, whose ohms change
    turned = network(("A", "line", "p"), ("motor 1 armature", "q", "p"), ("motor 1 field", "q", "ground"), SHUNT)
    assert turned.motors[0].apart == -1


def test_what_still_cannot_be_run_says_why() -> None:
    with pytest.raises(NoNetworkError, match=r"motor 1 carry unlike currents, and their ohms .*field_resistance"):
        network(*ONE, SHUNT, ohms=MotorOhms(0.42, resistor=PARTS.resistor))
    bridge = (("A", "line", "p"), ("B", "p", "ground"), ("C", "line", "q"), ("D", "q", "ground"))
    with pytest.raises(NoNetworkError, match="which way motor 1 pulls hangs on the ohms of the sections"):
        network(*bridge, ("motor 1 armature", "line", "ground"), ("motor 1 field", "p", "q"))
    second = (("motor 2 armature", "r", "s"), ("motor 2 field", "ground", "s"))
    ahead = (*ONE[:2], ("motor 1 field", "q", "r"), SHUNT)
    back = (ONE[0], ("motor 1 armature", "q", "p"), *ahead[2:], second[0], ("motor 2 field", "s", "ground"))
    for each in ((*ahead, *second), back):
        with pytest.raises(NoNetworkError, match="motor 2 pulls against motor 1"):
            network(*each)


def test_a_winding_without_the_rest_of_its_motor_is_ohms_and_pulls_nothing() -> None:
    """A field that a controller leaves in circuit with its armature out; an armature without its field likewise."""
    for lone, ohm in (("field", 0.15), ("armature", 0.27)):
        net = network(*ONE[:2], ("motor 1 field", "q", "r"), (f"motor 2 {lone}", "r", "ground"))
        assert [motor.number for motor in net.motors] == [1]
        found = run(net, valley_a=80.0)
        (row,) = found.notches
        assert row.motor_a is not None
        assert row.motor_a[:, 0] == pytest.approx([550.0 / (0.04 + 1.6 + 0.42 + ohm), 0.0])
        assert np.abs(found.energy.balance_error).max() < 1e-5
    with pytest.raises(NoNetworkError, match="the field of motor 2 has current and its armature has none, and their"):
        network(*ONE[:2], ("motor 1 field", "q", "r"), ("motor 2 field", "r", "ground"), ohms=MotorOhms(0.42))
    leads = {name: (name,) for name in ("line", "ground", "start of A", "end of A", *ENDS)}
    joined = (("line", "start of A"), ("end of A", ENDS[0]), ENDS[1:3], (ENDS[3], ENDS[6]), (ENDS[7], "ground"))
    (told,) = chart_now(ChartRead(Chart(("A",), 3, leads, (("1", joined),)), PARTS))
    assert told.remarks == (
        "motor 3 out of circuit", "of motor 2 the field alone has current: its ohms count, it pulls nothing",
    )  # fmt: skip


def test_opening_a_shunt_regroups_no_motor_and_shorting_one_does() -> None:
    assert not regrouped(notch(SHUNTED), notch(PLAIN))
    second = (("motor 2 armature", "r", "s"), ("motor 2 field", "s", "ground"))
    series = network(*ONE[:2], ("motor 1 field", "q", "r"), *second)
    both = network(*ONE[:2], ("motor 1 field", "q", "r"), SHUNT, *second, ("resistor W", "r", "s"))
    assert not regrouped(notch(both), notch(series))
    assert regrouped(notch(both), notch(SHUNTED))


# --- the run ---------------------------------------------------------------------------------------------------------


def whole(net: Network) -> Network:
    """The same with every motor's field written as one with a current of its own."""
    return replace(net, motors=tuple(replace(one, field=1.0, apart=1) for one in net.motors))


def test_a_plain_motor_written_as_one_with_its_field_apart_runs_the_same() -> None:
    """And a field with a fixed resistor beside it too: there the armature's current is the greater."""
    weak = network(*ONE, ("resistor S", "q", "ground"))
    for net in (PLAIN, weak):
        one, other = run(net, net), run(whole(net), whole(net))
        for field in ("peak_a", "arrive_a", "leave_a", "line_peak_a", "leave_m_s", "leave_s", "effort_n", "motor_v"):
            pairs = zip(one.rows, other.rows, strict=True)
            assert all(getattr(b, field) == pytest.approx(getattr(a, field), rel=1e-7) for a, b in pairs), field
        assert other.section_j == pytest.approx(one.section_j, rel=1e-7)
        assert other.energy.motors_j == pytest.approx(one.energy.motors_j, rel=1e-7)


def test_a_shunted_first_notch_closes_its_energy_and_the_next_comes_without_a_break() -> None:
    """Heat of armature and field each by its own current; the field's is the peak of the notch, as the sheet has it."""
    assert np.abs(run(SHUNTED).energy.balance_error).max() < 1e-7
    found = run(SHUNTED, PLAIN)
    assert [row.where for row in found.rows] == ["notch 1", "notch 2"]
    assert found.rows[1].arrive_s == pytest.approx(found.rows[0].leave_s)
    assert np.abs(found.energy.balance_error).max() < 2e-5
    first, second = found.rows
    assert first.motor_a is not None
    assert first.motor_v is not None
    assert first.field_a is not None
    field_a, armature_a = 550.0 / (0.04 + 1.6 + 0.27 * 0.5 / 0.77 + 0.15), float(first.motor_a[0, 0])
    assert float(first.field_a[0, 0]) == pytest.approx(field_a)
    assert armature_a == pytest.approx(field_a * 0.5 / 0.77)
    assert float(first.peak_a[0]) == pytest.approx(field_a)
    assert float(first.arrive_a[0]) == pytest.approx(armature_a)
    assert float(first.leave_a[0]) == pytest.approx(45.0)
    assert float(first.motor_v[0, 0]) == pytest.approx(armature_a * 0.27 + field_a * 0.15)
    assert np.isnan(first.field_a[1, 0])
    assert second.field_a is None
    k = float(curve_table(POINTS, 1.0, 1.0).read(np.array(field_a))[0])
    assert float(first.effort_n[0]) == pytest.approx(k * armature_a * rim_n_per_nm(CAR))
    assert float(first.frozen_flux_a[0]) == pytest.approx(field_a)


def test_the_flux_that_stood_still_is_that_of_the_field_before() -> None:
    """By hand: on the plain notch the current against the emf of the flux the shunted notch left."""
    first, second = run(SHUNTED, PLAIN, cold=True).notches
    rad_s = float(first.leave_m_s[0]) * motor_rad_s(CAR, 1.0)
    left = driven(SHUNTED).read(driven(SHUNTED).at(np.full(1, rad_s)))[0][0, 0]
    frozen_a = (550.0 - float(left) * rad_s) / (0.04 + 1.6 + 0.42)
    assert float(second.frozen_flux_a[0]) == pytest.approx(max(frozen_a, float(second.peak_a[0])))
    back = run(PLAIN, SHUNTED, cold=True).notches[1]  # above the creeping speed: the armature's current is turned round
    emf_v = rad_s_of(back) * float(curve_table(POINTS, 1.0, 1.0).read(np.array(45.0))[0])
    ahead_ohm = 0.04 + 1.6 + 0.15
    line_a = (550.0 - emf_v * 0.5 / 0.77) / (ahead_ohm + 0.27 * 0.5 / 0.77)
    armature_a = (line_a * 0.5 - emf_v) / 0.77
    assert armature_a < 0.0
    assert float(back.frozen_flux_a[0]) == pytest.approx(max(-armature_a, line_a, float(back.peak_a[0])))


def rad_s_of(log: NotchLog) -> float:
    return float(log.arrive_m_s[0]) * motor_rad_s(CAR, 1.0)


def test_it_creeps_where_the_plain_notch_would_run_and_brakes_above() -> None:
    """The speed without load is that at which the armature's emf is what the shunt drops."""
    guess, speeds = np.full(1, 20.0), []
    for net in (SHUNTED, PLAIN):
        current, turning = driven(net).where(balance_of(CAR), guess)
        assert driven(net).doubt(current, turning) == ""
        speeds.append(float(turning[0]))
    line_a = 550.0 / (0.04 + 1.6 + 0.5 + 0.15)
    idle = line_a * 0.5 / float(curve_table(POINTS, 1.0, 1.0).read(np.array(line_a))[0])
    assert 0.7 * idle < speeds[0] < idle < 0.5 * speeds[1]
    at_idle, faster = driven(SHUNTED).at(np.full(1, idle)), driven(SHUNTED).now(*above(SHUNTED, 1.5 * idle))
    assert at_idle[0] == pytest.approx([0.0, line_a], abs=1e-6)
    assert float(faster.torque_nm()[0][0]) < 0.0
    assert float(faster.mean_a()[0][0]) == pytest.approx(float(faster.current_a[0, 0]))  # below zero: it brakes


def above(net: Network, rad_s: float) -> tuple[np.ndarray, np.ndarray]:
    turning = np.full(1, rad_s)
    return driven(net).at(turning), turning


def test_arriving_above_the_creeping_speed_brakes_and_is_passed_at_once() -> None:
    found = run(PLAIN, SHUNTED, PLAIN)
    braked = found.notches[1]
    assert bool(braked.passed[0])
    assert float(braked.effort_n[0]) < 0.0
    assert float(braked.arrive_a[0]) < 0.0 < float(braked.peak_a[0])
    assert int(found.stuck[0]) == -1
    by_clock = run(SHUNTED, SHUNTED, dwell=1.0)
    assert np.abs(by_clock.energy.balance_error).max() < 1e-4
    assert float(by_clock.end_m_s[0]) > 0.0


def test_derivatives_of_mean_and_torque_are_those_of_differences() -> None:
    net = network(*ONE[:2], ("motor 1 field", "q", "r"), SHUNT, ("motor 2 armature", "r", "s"),
                  ("motor 2 field", "s", "ground"))  # fmt: skip
    now, turning = driven(net).at(np.full(1, 9.0)), np.full(1, 9.0)
    for figure in ("mean_a", "torque_nm"):
        slopes = getattr(driven(net).now(now, turning), figure)()[1][0]
        for place in range(now.shape[1]):
            pair = [now + sign * 1e-4 * np.eye(now.shape[1])[place] for sign in (1.0, -1.0)]
            up, down = (float(getattr(driven(net).now(one, turning), figure)()[0][0]) for one in pair)
            assert slopes[place] == pytest.approx((up - down) / 2e-4, rel=1e-5, abs=1e-9), (figure, place)
    faster = (driven(net).at(turning + 1e-4) - driven(net).at(turning - 1e-4)) / 2e-4
    assert driven(net).faster(now, turning) == pytest.approx(faster, rel=1e-5)


# --- what cannot be relied on ----------------------------------------------------------------------------------------


def test_a_field_beside_its_armature_excites_itself_and_the_set_from_standstill_is_taken() -> None:
    """The emf drives the field: at a speed there is a set with all turned round as well, which nobody starts into."""
    for rad_s in (0.0, 10.0, 40.0, 120.0):
        current, turning = above(BESIDE, rad_s)
        assert driven(BESIDE).doubt(current, turning) == ""
        assert float(current[0, 1]) > 0.0
        emf = float(driven(BESIDE).read(current)[0][0, 0]) * rad_s
        node_v = float(current[0, 0]) * 0.27 + emf
        assert float(current[0, 1]) == pytest.approx(node_v / (1.1 + 0.15), rel=1e-9)
        assert (550.0 - node_v) / (0.04 + 1.6) == pytest.approx(float(current[0].sum()), rel=1e-7)


def synthetic(field_by_armature: list[list[float]], field_by_field: list[list[float]], drive: list[float]) -> Apart:
    """Two motors with any B and Y at all, no network behind them."""
    table = curve_table(POINTS, 1.0, 1.0)
    answer = np.zeros((1, 4, 4))
    answer[0, 2:, :2], answer[0, 2:, 2:] = field_by_armature, field_by_field
    answer[0, 0, 0] = answer[0, 1, 1] = 1.0
    fluxes = Fluxes((1, 2), (table, table), np.array([2, 3]), np.ones(2), 4)
    return Apart((table, table), np.arange(4), np.array([drive]), answer, fluxes)


def test_more_than_one_set_of_currents_is_refused() -> None:
    """Each field is driven against by the other motor's emf: one may starve the other, and nobody knows which."""
    rivals = synthetic([[0.0, 2.0], [2.0, 0.0]], [[1.0, 0.0], [0.0, 1.0]], [90.0, 90.0, 60.0, 60.0])
    slow, fast = np.full(1, 0.5), np.full(1, 12.0)
    assert rivals.doubt(rivals.at(slow), slow) == ""
    even = rivals.at(fast)
    assert even[0, 2] == pytest.approx(even[0, 3])
    assert "more than one set of currents fits" in rivals.doubt(even, fast)
    slopes = np.diag(rivals.read(even)[1][0, :2])
    assert np.linalg.det(np.eye(2) + 12.0 * rivals.answer[0, 2:, :2] @ slopes) < 0.0  # and the even set would not stand


def test_a_current_that_leaps_is_never_taken_for_one_that_falls() -> None:
    """A field that its own emf feeds, on a curve that grows steep: at some speed the flux leaps, and means between are
    had at no speed, or on a branch where nothing stands."""
    table = curve_table(MagnetisationPoints(62.8, (10.0, 20.0, 40.0, 80.0), (10.0, 25.0, 200.0, 230.0)), 1.0, 1.0)
    answer = np.zeros((1, 4, 4))
    answer[0, 0, 0] = answer[0, 1, 1] = 3.0
    answer[0, 2:, :2], answer[0, 2:, 2:] = -2.0 * np.eye(2), np.eye(2)
    fluxes = Fluxes((1, 2), (table, table), np.array([2, 3]), np.ones(2), 4)
    leaping = Apart((table, table), np.arange(4), np.array([[200.0, 200.0, 12.0, 12.0]]), answer, fluxes)
    for mean in (190.0, 120.0):
        wanted = np.full(1, mean)
        current, turning = leaping.where(mean_of(wanted), leaping.speed_near(wanted))
        assert leaping.now(current, turning).mean_a()[0] == pytest.approx(wanted)
        assert "more than one set of currents fits" in leaping.doubt(current, turning)
    with pytest.raises(NoStartError, match="no speed at which its current falls so far"):
        leaping.where(mean_of(np.full(1, 170.0)), leaping.speed_near(np.full(1, 170.0)))


def test_motors_that_would_hunt_are_refused() -> None:
    """Motor 2 drives the field of motor 1, motor 1 weakens that of motor 2, and each field induces in the other: one
    set of currents only, and what disturbs it grows to and fro."""
    hunting = synthetic([[0.0, -3.77], [0.47, 0.0]], [[1.0, -0.95], [-0.95, 1.0]], [90.0, 90.0, 5.0, 30.0])
    alone = synthetic([[0.0, -3.77], [0.47, 0.0]], [[1.0, 0.0], [0.0, 1.0]], [90.0, 90.0, 5.0, 30.0])
    turning = np.full(1, 10.0)
    assert "hunt between the motors" in hunting.doubt(hunting.at(turning), turning)
    assert alone.doubt(alone.at(turning), turning) == ""


def test_a_field_turned_round_and_a_motor_that_pulls_backwards_are_refused() -> None:
    apart = driven(SHUNTED)
    assert isinstance(apart, Apart)
    still = np.zeros(1)
    turned = apart.standing_a * np.array([1.0, -1.0])
    assert "the field of motor 1 turns round" in apart.doubt(turned, still)
    backwards = replace(apart, fluxes=replace(apart.fluxes, senses=-apart.fluxes.senses))
    assert "motor 1 does not pull forward at standstill" in backwards.doubt(apart.standing_a, still)
    meshed = Meshed(mesh(SHUNTED), backwards, 2)
    with pytest.raises(NoStartError, match="notch 1: motor 1 does not pull forward"):
        meshed.arriving(still)


def test_a_field_that_a_fault_opens_leaves_an_armature_without_flux() -> None:
    """Its ohms stay, it pulls nothing and is no motor any more; a shunt that opens leaves the field what it was."""
    lost, sound = (
        changed(net, opened=frozenset({name})).network for net, name in ((SEPARATE, "A"), (SHUNTED, "resistor S"))
    )
    assert lost is not None
    assert sound is not None
    assert lost.motors == ()
    assert above(sound, 20.0)[0][0] == pytest.approx([above(PLAIN, 20.0)[0][0, 0]] * 2)
    assert NO_FLUX.read(np.ones(3))[0].tolist() == [0.0] * 3


def test_no_chord_is_steeper_than_said() -> None:
    table = curve_table(POINTS, 1.0, 1.3)
    piecewise, amps = steepness(table), np.linspace(0.0, 320.0, 641)
    k, slope = table.read(amps)
    assert piecewise.most == pytest.approx(float(slope.max()), rel=1e-3)
    for at in (3.0, 20.0, 75.0, 139.9, 200.0, 310.0):
        others = amps[np.abs(amps - at) > 0.1]
        chords = (table.read(others)[0] - float(table.read(np.array(at))[0])) / (others - at)
        bound = float(piecewise.chord(np.array(at)))
        assert chords.max() <= bound * (1.0 + 1e-12)
        assert bound <= 1.06 * max(float(chords.max()), float(table.read(np.array(at))[1]))
    assert k[-1] == k[-2]


def test_random_networks_agree_with_a_rewritten_equation_or_are_refused() -> None:
    """Kirchhoff's laws anew at what comes out: node volts from the wires' own ohms and emfs."""
    rng, tried = np.random.default_rng(7), 0
    for _ in range(120):
        nodes = ["line", "ground", "p", "q", "r"]
        pick = [tuple(rng.choice(nodes, 2, replace=False).tolist()) for _ in range(7)]
        names = ("A", "B", "resistor S", "motor 1 armature", "motor 1 field", "motor 2 armature", "motor 2 field")
        try:
            net = network(*((name, *pair) for name, pair in zip(names, pick, strict=True)))
        except (NoNetworkError, ValueError):
            continue
        if not any(motor.apart for motor in net.motors):
            continue
        for rad_s in (0.0, 12.0, 60.0):
            try:
                state, turning = above(net, rad_s)
            except NoStartError:
                continue
            if driven(net).doubt(state, turning):
                continue
            tried += 1
            assert kirchhoff(net, state[0], rad_s) == pytest.approx(0.0, abs=1e-6)
    assert tried > 20


def kirchhoff(net: Network, current: np.ndarray, rad_s: float) -> float:
    """The greatest current missing at a node when volts of armatures' sources are those of the fields told."""
    own = mesh(net)
    k = driven(net).read(current)[0]
    emf = {motor.wire: float(k[place]) * rad_s for place, motor in enumerate(net.motors)}
    ohm = [wire_ohm(wire) for wire in net.wires]
    matrix, right = np.eye(net.nodes), np.zeros(net.nodes)
    matrix[1, 1], right[1] = 1.0 / LINE.feeder_ohm, LINE.nominal_v / LINE.feeder_ohm
    for node in range(2, net.nodes):
        matrix[node, node] = 0.0
    for place, wire in enumerate(net.wires):
        for node, other, sign in ((wire.a, wire.b, 1.0), (wire.b, wire.a, -1.0)):
            if node:
                matrix[node, node] += 1.0 / ohm[place]
                matrix[node, other] -= 1.0 / ohm[place]
                right[node] += sign * emf.get(place, 0.0) / ohm[place]
    volts = np.linalg.solve(matrix, right)
    through = [(volts[w.a] - volts[w.b] - emf.get(at, 0.0)) / ohm[at] for at, w in enumerate(net.wires)]
    told = dict(zip((own.motors - own.feeder).tolist(), current.tolist(), strict=True))
    return max(abs(through[at] - amps) / (1.0 + abs(amps)) for at, amps in told.items())


def wire_ohm(wire: Wire) -> float:
    return OHMS.get(wire.name) or (PARTS.resistor or {}).get(wire.name) or wire.ohm * 0.42


# --- a job -----------------------------------------------------------------------------------------------------------

LEADS = ('M1 = "motor 1 in"', 'M1 = "motor 1 armature 1"\nN1 = "motor 1 armature 2"\nN2 = "motor 1 field 1"')
CHANGES = (
    LEADS,
    ('M2 = "motor 1 out"', 'M2 = "motor 1 field 2"'),
    ('joined = [["M4", "G"]]', 'joined = [["M4", "G"], ["N1", "N2"]]\nfield_resistance = "0.15 ohm"'),
    ('S = "1.8 ohm" }          # a fixed one', 'S = "1.8 ohm", W = "0.6 ohm" }  # a fixed one'),
    ('S2 = "resistor S 2"', 'S2 = "resistor S 2"\nW1 = "resistor W 1"\nW2 = "resistor W 2"'),
    ('["T", "R1"], ["R5", "M1"]', '["T", "R1"], ["R5", "M1", "W1"], ["N1", "W2"]'),
)


@pytest.fixture(scope="module")
def shunted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The odd controller of the examples with a resistor beside motor 1's armature on notch 1."""
    text = (examples_folder() / "odd-controller.toml").read_text(encoding="utf-8")
    for was, now in CHANGES:
        assert text.count(was) == 1, was
        text = text.replace(was, now)
    path = tmp_path_factory.mktemp("apart") / "shunted.toml"
    path.write_text(text.replace('"S1", "S2", ', '"S1", "S2", "W1", "W2", "N1", "N2", '), encoding="utf-8")
    return path


def call(*words: object) -> Result:
    return CliRunner().invoke(root, [str(word) for word in words], standalone_mode=False)


def test_the_chart_tells_armature_and_field(shunted: Path) -> None:
    shown = call("wanted", shunted, "--chart", "--at", "3 km/h").output
    assert "notch 1: the field of motor 1 carries a current of its own, no fixed share of its armature's" in shown
    assert "field 1" in next(line for line in shown.splitlines() if line.startswith("notch  from line"))
    assert "Where a field has a column of its own" in shown
    first, second = json.loads(call("wanted", shunted, "--chart", "--at", "3 km/h", "--json").output)["notches"][:2]
    now = first["at_speed"]
    assert now["field_a"]["1"] == pytest.approx(now["line_a"])
    assert now["motor_a"]["2"] == pytest.approx(now["line_a"])
    assert now["motor_a"]["1"] < now["line_a"]
    assert second["at_speed"]["field_a"] == {}


def test_the_start_runs_it_and_the_json_has_the_field(shunted: Path) -> None:
    data = json.loads(call("start", shunted, "--json").output)
    first, second = data["peaks"][:2]
    assert first["motors"][0]["field_current_a"] == pytest.approx(first["line_current_a"])
    assert first["motors"][1]["field_current_a"] is None
    assert first["current_a"] == pytest.approx(first["line_current_a"])
    assert second["motors"] is None or second["motors"][0]["field_current_a"] is None
    assert abs(data["energy"]["balance_error"]) < 1e-5


def test_the_sheet_has_a_column_for_the_field() -> None:
    class Bare:
        """As much of a result as is asked for."""

    bare = Bare()
    bare.told, bare.job = run(SHUNTED, PLAIN), Bare()  # type: ignore[attr-defined]
    bare.job.notches = [notch(SHUNTED)]  # type: ignore[attr-defined]
    blocks = list(unlike_motors(bare, Shown("mm")))  # type: ignore[arg-type]
    table = next(block for block in blocks if isinstance(block, Table))
    assert [column.title for column in table.columns] == ["Notch", "Motor", "Armature", "Field", "Volts", "Pull"]
    assert table.rows[0][3] == "280\N{NO-BREAK SPACE}A"
    assert [row[3] for row in table.rows[1:]] == [""] * 3
    assert any("The peak of the notch is that of the winding with most" in str(block) for block in blocks)


def test_at_the_mean_asked_for_and_never_past_a_leap() -> None:
    for part in (0.9, 0.5, 0.1):
        standing = driven(SHUNTED).now(driven(SHUNTED).standing_a, np.zeros(1)).mean_a()[0]
        current, turning = driven(SHUNTED).where(mean_of(part * standing), np.full(1, 10.0))
        assert driven(SHUNTED).now(current, turning).mean_a()[0] == pytest.approx(part * standing)
        assert float(turning[0]) / motor_rad_s(CAR, 1.0) > 0.0
