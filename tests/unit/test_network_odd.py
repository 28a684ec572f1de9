"""Odd charts: armatures closed on themselves under a live field, whole motors beside weakened ones, fields side by side
of which one is cut out, motors of unlike ohms, strings that are not numbered one after another."""

from dataclasses import replace
from math import inf
from pathlib import Path

import numpy as np
import pytest

from griddesign.errors import CircuitError, NoStartError
from griddesign.grid.contacts.changed import changed, without_motors
from griddesign.grid.contacts.general import NoNetworkError, network_of
from griddesign.grid.contacts.network import net_of
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Chart, Element, MotorIn, MotorOhms, Network, Unrecognised
from griddesign.job.reading import read_job
from griddesign.judge.chart_motors import CarOfChart, NotchAtSpeed
from griddesign.judge.cut_out import motors_cut_out, usually_cut_out
from griddesign.judge.design_run import judge_network_peak
from griddesign.judge.faults.effects import Drive
from griddesign.judge.faults.networked import NetworkEffect
from griddesign.judge.faults.records import Bank, Fault
from griddesign.judge.faults.sources import drive_of
from griddesign.judge.faults.table import fault_table
from griddesign.judge.finding import Verdict
from griddesign.judge.plate_tables import constant_ohms
from griddesign.judge.retapping.networks import NetworkRow, doubts_of, lacking
from griddesign.judge.runup import starter
from griddesign.judge.start_findings import inductive_open
from griddesign.judge.start_result import start_of
from griddesign.judge.wasted import wasted
from griddesign.papers.circuit_drawing import circuit_picture
from griddesign.papers.marks import Words, flat
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.shipped import examples_folder
from griddesign.traction.mechanics import motor_rad_s
from griddesign.traction.network.currents import mean_of
from griddesign.traction.network.cut import bridged, left_of
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    MotorOwn,
    Notch,
    RunningResistance,
)
from griddesign.traction.runup.networked import arrangement_of, mesh_of
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care

ODD = examples_folder() / "odd-controller.toml"
LINE, CAR = Line(550.0, 660.0, 0.04), Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045))
POINTS = MagnetisationPoints(62.8, (15.0, 35.0, 70.0, 105.0, 140.0, 280.0), (100.0, 215.0, 381.0, 485.0, 550.0, 660.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
PARTS = MotorOhms(0.42, 0.27, 0.15, {"resistor S": 0.25, "resistor W": 0.9, "resistor V": 0.2})
BRAKES = "the field of motor 1 has current and its armature is closed on itself"


def network(*elements: tuple[str, str, str], without: frozenset[str] = frozenset()) -> Network:
    """Elements by name and ends; nodes are named as one likes, ``line`` and ``ground`` as they are."""
    kinds = {"motor": "motor", "resistor": "resistor"}
    each = []
    for name, a, b in elements:
        words = name.split()
        kind = words[2] if len(words) == 3 else kinds.get(words[0], "section")
        each.append(Element(name, kind, a, b, int(words[1]) if words[0] == "motor" else 0))
    return network_of(each, net_of("1", (), each, without), PARTS, "so drawn")


def notch(net: Network, name: str = "1") -> Notch:
    return Notch(name, Grouping(1, len(net.motors)), None, network=net)


A = ("A", "line", "p")
FIRST = (("motor 1 armature", "p", "q"), ("motor 1 field", "q", "r"))
SECOND = (("motor 2 armature", "r", "s"), ("motor 2 field", "s", "ground"))

# --- an armature closed on itself ------------------------------------------------------------------------------------


def test_an_armature_closed_on_itself_under_a_live_field_is_refused() -> None:
    """It generates into its own short, whatever the line does; open, it is nothing and its field is ohms."""
    field = ("motor 1 field", "p", "r")
    loops = (
        (("motor 1 armature", "q", "q"),),
        (("motor 1 armature", "p", "p"),),
        (("motor 1 armature", "q", "t"), ("resistor S", "t", "q")),
        (("motor 1 armature", "p", "t"), ("B", "t", "p")),
    )
    for loop in loops:
        with pytest.raises(NoNetworkError, match=BRAKES):
            network(A, field, *SECOND, *loop)
    sound = network(A, field, *SECOND, ("motor 1 armature", "p", "t"), ("B", "t", "u"))
    assert [motor.number for motor in sound.motors] == [2]
    assert [wire.name for wire in sound.lone] == ["motor 1 field"]
    opened = network(A, field, *SECOND, *loops[3], without=frozenset("B"))
    assert [motor.number for motor in opened.motors] == [2]


BESIDE = network(A, *FIRST, *SECOND, ("B", "p", "q"))  # section B beside the armature of motor 1


def test_a_section_beside_an_armature_that_comes_to_nothing_makes_the_motor_brake() -> None:
    left = changed(BESIDE, bridged=frozenset("B"))
    assert left.brakes == (1,)
    assert changed(BESIDE, opened=frozenset("B")).brakes == ()
    assert changed(BESIDE, opened=frozenset("A")).brakes == ()  # no current at all
    with pytest.raises(CircuitError, match=f"bridging section B whole closes an armature: {BRAKES}"):
        bridged(notch(BESIDE), "B")


def bank(*joints: int) -> Bank:
    """Ten plates of 0.3 ohm; A from the first joint to the second, B to the third."""
    plates = tuple(PlateAtHand(1, number, "P", 0.3) for number in range(1, 11))
    taps = tuple(zip(("start of A", "A/B", "end of B"), joints, strict=True))
    return Bank(PlatesAtHand(plates), taps, ("A", "B"), 2)


@pytest.fixture(scope="module")
def drive() -> Drive:
    """The driver of the example."""
    ready = starter(read_job(ODD))
    found = drive_of(ready.job, ready.worked)
    assert found is not None
    return found


def test_a_fault_that_makes_a_motor_brake_is_told_and_given_no_peak(drive: Drive) -> None:
    """Both leads of B at one joint; with them where they were every figure is there."""
    notches = (notch(BESIDE), notch(network(A, *FIRST, *SECOND, ("B", "line", "p")), "2"))

    def effect(fault: Fault, each: tuple[Notch, ...], _: object) -> NetworkEffect:
        return NetworkEffect(fault, each, drive, MOTOR)

    sound, empty = (effect(Fault("plate open", "one", bank(*at)), notches, drive) for at in ((0, 8, 10), (0, 10, 10)))
    assert sound.unsolved == {}
    assert set(sound.peaks) == {0, 1}
    assert list(empty.unsolved) == [0] and BRAKES in empty.unsolved[0]
    assert empty.idle == frozenset() and empty.lost(0) == ()
    assert 0 not in empty.peaks
    rows = fault_table(bank(0, 9, 10), notches, drive, effect).rows
    told = [row.what for row in rows if f"notch 1 is not worked out ({BRAKES}" in row.driver]
    assert told == [
        "lead A/B one joint off: after plate 10, not 9",
        "lead end of B one joint off: after plate 9, not 10",
    ]


def test_ohms_without_a_motor_open_the_breaker_all_the_same(drive: Drive) -> None:
    """The field of a motor open, its armature right across the line: no pull, and some 1770 A."""
    separate = network(("motor 1 armature", "line", "ground"), ("A", "line", "f"), ("motor 1 field", "f", "ground"))
    plates = replace(bank(0, 10, 10), sections=("A",), taps=(("start of A", 0), ("end of A", 10)))
    opened = tuple(replace(one, state="dead", ohm=inf) if one.position == 3 else one for one in plates.plates.plates)
    fault = Fault("plate open", "open", replace(plates, plates=PlatesAtHand(opened)))
    found = NetworkEffect(fault, (notch(separate),), drive, MOTOR)
    assert found.ohms == {"A": inf}
    assert found.idle == {0}
    assert found.line_peak_a(0) == pytest.approx(550.0 / (0.04 + 0.27))


# --- shares of fields ------------------------------------------------------------------------------------------------

ENDS = tuple(f"motor 1 {part} {end}" for part in ("armature", "field") for end in (1, 2))


def test_a_whole_motor_in_a_string_with_a_weakened_one_keeps_its_field() -> None:
    """Motor 1 has 0.25 ohm beside its field of 0.15; of motor 2 only in and out are known. Not 62.5 % in both."""
    leads = {one: (one,) for one in ("line", "ground", *ENDS, "motor 2 in", "motor 2 out", "resistor S 1",
                                     "resistor S 2")}  # fmt: skip
    joined = (("line", ENDS[0]), (ENDS[1], ENDS[2], "resistor S 1"), (ENDS[3], "resistor S 2", "motor 2 in"),
              ("motor 2 out", "ground"))  # fmt: skip
    (found,) = ChartRead(Chart((), 2, leads, (("1", joined),), resistors=("S",)), PARTS).circuits
    assert isinstance(found, Unrecognised)
    assert found.why == "fields with unlike shares of their armatures' current"
    assert found.network is not None
    assert [motor.field for motor in found.network.motors] == pytest.approx([0.25 / 0.40, 1.0])


SIDE_BY_SIDE = network(
    A, ("motor 1 field", "p", "q"), ("motor 2 field", "p", "q"), ("motor 1 armature", "q", "ground"),
    ("motor 2 armature", "p", "ground"),
)  # fmt: skip


def test_a_field_beside_one_that_is_cut_out_takes_all_the_current() -> None:
    """Both fields side by side ahead of armature 1, armature 2 apart from them: half each, all with motor 2 open."""
    first, second = SIDE_BY_SIDE.motors
    assert (first.field, second.apart) == (pytest.approx(0.5), 1)
    left, words = without_motors(SIDE_BY_SIDE, frozenset({2}))
    assert words == ("motor 2 open",)
    assert left.network is not None
    assert left.network.motors == (MotorIn(1, 2),)
    assert left_of(replace(notch(SIDE_BY_SIDE), out=(1,))).network == left.network


def test_a_field_shorted_with_the_motor_cut_out_leaves_no_flux() -> None:
    """Armatures one after another, fields side by side: bridging motor 2 bridges the field of motor 1 as well."""
    net = network(A, ("motor 1 armature", "p", "q"), ("motor 2 armature", "q", "r"), ("motor 1 field", "r", "ground"),
                  ("motor 2 field", "r", "ground"))  # fmt: skip
    assert [motor.field for motor in net.motors] == pytest.approx([0.5, 0.5])
    left, words = without_motors(net, frozenset({2}))
    assert words == ("motor 2 bridged",)
    assert left.network is not None and left.network.motors == ()
    assert left_of(replace(notch(net), out=(1,))).network is None


def test_cutting_out_a_motor_that_would_turn_another_round_is_refused() -> None:
    """Motor 1's field lies across a bridge of resistors of which one arm is motor 2: without it the arm is gone."""
    net = network(A, ("motor 1 armature", "p", "q"), ("motor 1 field", "t", "u"), ("motor 2", "q", "t"),
                  ("resistor W", "t", "ground"), ("resistor S", "q", "u"), ("resistor V", "u", "ground"))  # fmt: skip
    assert net.motors
    with pytest.raises(NoStartError, match="notch 1: motor 1 pulls backwards then"):
        left_of(replace(notch(net), out=(1,)))


WEAK = network(A, ("motor 1 armature", "p", "q"), ("motor 1 field", "q", "r"), ("resistor S", "q", "r"), *SECOND)


def test_shares_of_fields_go_by_the_ohms_of_each_motor() -> None:
    """0.25 ohm beside a field of 0.15 of 0.42 ohm, and of 0.60 ohm where the motor is so; the energy closes with it."""
    unlike = replace(MOTOR, each=(MotorOwn(resistance_ohm=0.60), MotorOwn()))
    drives = [CarOfChart(LINE, CAR, motor).drive for motor in (MOTOR, unlike)]
    shares = [mesh_of(notch(WEAK), WEAK, ("A",), drive).network.motors[0].field for drive in drives]
    assert shares == pytest.approx([0.25 / 0.40, 0.25 / (0.25 + 0.15 * 0.60 / 0.42)])
    shape = (1, 1)
    cases = Cases(np.full(1, 550.0), np.full(shape, 2.5), np.zeros(shape), np.full(shape, 20.0), np.full(1, 70.0),
                  np.full(1, 0.42), np.full(1, CAR.mass_kg))  # fmt: skip
    found = run_up(LINE, CAR, unlike, [notch(WEAK)], ("A",), cases, constant_ohms, care=Care(4, 4))
    assert abs(float(found.energy.balance_error[0])) < 1e-6


# --- motors not numbered string after string -------------------------------------------------------------------------


LEADS = {
    "T": "line", "R1": "start of A", "R2": "A/B", "R3": "end of B", "G": "ground",
    **{f"I{number}": f"motor {number} in" for number in range(1, 5)},
    **{f"O{number}": f"motor {number} out" for number in range(1, 5)},
}  # fmt: skip
ROW = [["T", "R1"], ["R3", "I1"], ["O1", "I3"], ["O3", "I2"], ["O2", "I4"], ["O4", "G"]]
PAIRS = [["T", "R2"], ["R3", "I1", "I2"], ["O1", "I3"], ["O2", "I4"], ["O3", "O4", "G"]]
NET = [["T", "R1"], ["R2", "I2"], ["R3", "I1"], ["O1", "I3"], ["O2", "I4"], ["O3", "O4", "G"]]


@pytest.fixture(scope="module")
def crossed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Motors 1 and 3 in one string, 2 and 4 in the other; on notch 3 A ahead of both, B of the first."""
    text = ODD.read_text(encoding="utf-8")
    leads = ", ".join(f'{name} = "{to}"' for name, to in LEADS.items())
    notches = "".join(
        f'[[notch]]\nname = "{n}"\njoined = {j!r}\n' for n, j in zip("123", (ROW, PAIRS, NET), strict=True)
    )
    path = tmp_path_factory.mktemp("crossed") / "crossed.toml"
    path.write_text(
        text[: text.index("[grid]")].replace("count = 2", "count = 4") + f'[grid]\nsections = ["A", "B"]\n'
        f'[controller]\nleads = {{ {leads} }}\nsection_ohms = {{ A = "2 ohm", B = "1 ohm" }}\n' + notches,
        encoding="utf-8",
    )
    return path


def test_strings_keep_the_numbers_of_their_motors(crossed: Path) -> None:
    """Drawn so, cut out so, and no change of grouping from them to a network of the same strings."""
    job = read_job(crossed)
    row, pairs, net = job.notches
    assert (row.numbers, pairs.numbers) == (((0, 2, 1, 3),), ((0, 2), (1, 3)))
    assert net.network is not None
    assert arrangement_of(pairs) == arrangement_of(net) != arrangement_of(row)
    assert usually_cut_out(job.notches) == (1, 3)  # a whole string of the pairs
    assert usually_cut_out((pairs,)) == (2, 3)
    second = replace(row, name="0", grouping=Grouping(1, 1), numbers=((1,),))
    assert [one.name for one in motors_cut_out((second, *job.notches), (1, 3))] == ["1", "2", "3"]
    drawn = flat(circuit_picture(pairs, job.section_order).marks)
    words = [mark.text for *_, mark in drawn if isinstance(mark, Words) and mark.text[:1] == "M"]
    assert words == ["M1", "M3", "M2", "M4"]


# --- what is said ----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def shunted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example with the armature of motor 1 beside the fixed resistor on notch 1, and an inductance."""
    text = ODD.read_text(encoding="utf-8").replace(
        "[motor.magnetisation]", 'inductance = "12 mH"\n[motor.magnetisation]'
    )
    text = text.replace('"M1", "M2", "M3", "M4", "G"]', '"M1", "M2", "M3", "M4", "G", "A2", "F1"]', 1)
    text = text.replace('"motor 1 out"\n', '"motor 1 field 2"\nA2 = "motor 1 armature 2"\nF1 = "motor 1 field 1"\n')
    text = text.replace('M1 = "motor 1 in"', 'M1 = "motor 1 armature 1"').replace(
        'joined = [["M4", "G"]]', 'joined = [["M4", "G"], ["A2", "F1"]]\nfield_resistance = "0.15 ohm"'
    )
    text = text.replace('["T", "R1"], ["R5", "M1"],', '["T", "R1"], ["R5", "M1", "S1"], ["A2", "S2"],', 1)
    path = tmp_path_factory.mktemp("shunted") / "shunted.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_where_the_inductance_is_not_worked_out_is_said(shunted: Path) -> None:
    result = start_of(read_job(shunted))
    said = inductive_open(result.job, result.told)
    assert said.startswith("On notch 1 what the inductance of the windings does to the peak is not worked out")
    assert said in result.remarks
    assert inductive_open(replace(result.job, motor=replace(MOTOR, inductance_h=None)), result.told) == ""


def test_a_design_judges_the_peak_of_a_network_by_the_start_as_run() -> None:
    """The peak rule for the grid as chosen goes by the groupings alone."""
    ready = starter(read_job(ODD))
    assert ready.job.start is not None
    third = float(ready.told.notches[2].peak_a[0])
    asked = replace(ready, job=replace(ready.job, start=replace(ready.job.start, peak_a=0.5 * third)))
    (peak,) = judge_network_peak(asked)
    assert peak.verdict is Verdict.FAILS
    assert f"asked {0.5 * third:.4g} A" in peak.why
    plain = tuple(one for one in ready.job.notches if one.network is None)
    assert tuple(judge_network_peak(replace(ready, job=replace(ready.job, notches=plain)))) == ()


def test_a_network_held_is_told_with_the_winding_that_has_most(shunted: Path) -> None:
    """Motor 1 brakes at the balance of notch 1: the mean of both armatures is next to nothing, motor 2 carries all."""
    job = read_job(shunted)
    assert job.chart is not None
    first = wasted(job, job.chart.section_ohm, 80.0)[0]
    assert first.notch == "1"
    assert first.motor_a == pytest.approx(first.line_a)


def test_a_notch_without_currents_says_why() -> None:
    dead, doubtful = NotchAtSpeed("1", why="no current"), NotchAtSpeed("1", why="the motors excite themselves")
    assert (lacking(dead), lacking(doubtful), lacking(None)) == ("no current", "not known", "not known")
    rows = (NetworkRow("1", "so drawn", dead, doubtful),)
    assert doubts_of(rows) == ("notch 1, new taps: the motors excite themselves",)


# --- one mean current at two speeds ----------------------------------------------------------------------------------

BRAKING = network(
    ("A", "p", "ground"), ("B", "p", "q"), ("resistor S", "r", "p"), ("resistor W", "s", "r"),
    ("motor 1 armature", "q", "p"), ("motor 1 field", "q", "line"), ("motor 2 armature", "s", "p"),
    ("motor 2 field", "r", "q"), ("motor 3 armature", "p", "ground"), ("motor 3 field", "p", "r"),
)  # fmt: skip
ALONE = network(("A", "line", "p"), ("motor 1 armature", "p", "q"), ("motor 1 field", "q", "ground"))


def braked_run(*nets: Network, dwell_s: tuple[float, ...] = ()) -> RunUp:
    shape = (2, 1)
    cases = Cases(np.full(1, 550.0), np.array([[1.3], [0.8]]), np.zeros(shape), np.full(shape, 20.0), np.full(1, 60.0),
                  np.full(1, 0.42), np.full(1, CAR.mass_kg),
                  np.array(dwell_s)[:, None] if dwell_s else None)  # fmt: skip
    return run_up(LINE, CAR, replace(MOTOR, count=3), [notch(net, str(n)) for n, net in enumerate(nets, 1)], ("A", "B"),
                  cases, constant_ohms, care=Care(2, 2))  # fmt: skip


def test_a_notch_that_brakes_and_is_passed_at_once_leaves_the_car_its_speed() -> None:
    """The same mean current fits a much lower speed too."""
    found = braked_run(ALONE, BRAKING)
    braked = found.notches[1]
    assert bool(braked.passed[0]) and float(braked.arrive_a[0]) < 0.0
    assert braked.leave_m_s == pytest.approx(braked.arrive_m_s)
    drive = CarOfChart(LINE, CAR, replace(MOTOR, count=3)).drive
    driven = mesh_of(notch(BRAKING), BRAKING, ("A", "B"), drive).driven(
        np.array([[1.3, 0.8]]), np.full(1, 0.42), np.full(1, 550.0)
    )
    _, rad_s = driven.where(mean_of(braked.arrive_a), driven.speed_near(braked.arrive_a))
    assert float(rad_s[0]) < 0.5 * motor_rad_s(CAR, float(braked.arrive_m_s[0]))
    with pytest.raises(NoStartError, match="notch 2: the motors have one mean current at two speeds"):
        braked_run(ALONE, BRAKING, dwell_s=(10.0, 0.2))
