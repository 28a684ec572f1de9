"""Notches that are no groupings of like strings, and fixed resistors: what runs, what is told, what is refused."""

import json
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from griddesign.choose.from_job import wanted_of, work_out
from griddesign.choose.undetermined import network_taps, open_ohms
from griddesign.cli import root
from griddesign.errors import CircuitError, GriddesignError, JobError
from griddesign.grid.circuit import names
from griddesign.grid.contacts.general import series_classes
from griddesign.grid.contacts.records import MotorIn, Network, Wire
from griddesign.grid.divide import divider
from griddesign.grid.records import Branches, Run
from griddesign.heat.holds import hold_rows
from griddesign.job.reading import read_job
from griddesign.job.retap import JointGiven, RetapGiven
from griddesign.judge.contacts import chart_remarks
from griddesign.judge.cut_out import cut_out_of
from griddesign.judge.heat_cases import notch_circuits
from griddesign.judge.retapping.networks import left_out_words, networks_of
from griddesign.judge.retapping.targets import network_taps_of
from griddesign.judge.runup import starter
from griddesign.judge.wasted import wasted
from griddesign.judge.work import result_of
from griddesign.papers.blocks import Table
from griddesign.papers.sheets.notch import notch_sheet
from griddesign.shipped import examples_folder
from griddesign.traction.curve import curve_of
from griddesign.traction.held import HeldNotch
from griddesign.traction.mechanics import motor_rad_s
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
from griddesign.traction.runup.changing import regrouped
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import Care

PLATES = examples_folder() / "retap-plates.csv"
LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324, 1e-4), 0.01)
POINTS = MagnetisationPoints(62.8, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
OHMS = {"A": 1.63, "B": 1.36, "C": 0.29, "D": 0.58, "E": 0.27}
SECTIONS = tuple(OHMS)
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
BESIDE = Branches((Run(("C",)), Run(("D", "E"))))
NOTCHES = (
    Notch("1", SERIES, Run(("A", "B", "C", "D", "E"))),
    Notch("2", SERIES, Run(("B", BESIDE))),
    Notch("3", SERIES, Run(("C",))),
    Notch("4", PARALLEL, Run(("C", "D"))),
    Notch("5", PARALLEL, None, (Run(("C",)), Run(("D",)))),
    Notch("6", PARALLEL, Run()),
)


def as_network(notch: Notch) -> Notch:
    """The same grouping written out wire by wire."""
    wires: list[Wire] = []
    motors: list[MotorIn] = []
    last = [1]

    def node() -> int:
        last[0] += 1
        return last[0]

    def lay(run: Run, a: int) -> int:
        for part in run.parts:
            if isinstance(part, str):
                b = node()
                wires.append(Wire(part, "section", a, b))
            else:
                ends = [lay(branch, a) for branch in part.runs]
                b = ends[0]
                wires[:] = [replace(one, b=b) if one.b in ends else one for one in wires]
            a = b
        return a

    common = lay(notch.common or Run(), 1)
    for string in range(notch.grouping.parallel):
        at = lay(notch.strings[string], common) if notch.strings else common
        for place in range(notch.grouping.series):
            number, end = len(motors) + 1, 0 if place == notch.grouping.series - 1 else node()
            motors.append(MotorIn(number, len(wires)))
            wires.append(Wire(f"motor {number}", "motor", at, end, number, 1.0))
            at = end
    number = {point: place for place, point in enumerate(sorted({0, 1} | {end for w in wires for end in (w.a, w.b)}))}
    numbered = tuple(replace(one, a=number[one.a], b=number[one.b]) for one in wires)
    network = Network(numbered, len(number), tuple(motors), "written out")
    return replace(notch, common=None, strings=(), network=network)


def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    """Invented and smooth."""
    heat = np.full_like(t_c, 3000.0)
    return 1.0 + 0.0019 * (t_c - 20.0), np.full_like(t_c, 0.0019), heat, 6.0 * np.maximum(t_c - 20.0, 0.0)


def run(notches: Sequence[Notch], motor: Motor = MOTOR, line: Line = LINE, dwell: float | None = None) -> RunUp:
    shape, each = (len(SECTIONS), 2), np.ones(2)
    cases = Cases(
        np.array([550.0, 660.0]), np.repeat(np.array(list(OHMS.values()))[:, None], 2, axis=1), np.full(shape, 0.002),
        np.full(shape, 20.0), 80.0 * each, motor.resistance_ohm * each, 13500.0 * each,
        None if dwell is None else np.full((len(notches), 2), dwell),
    )  # fmt: skip
    return run_up(line, CAR, motor, notches, SECTIONS, cases, plates, power_off_s=0.6, care=Care(2, 3))


UNLIKE = replace(MOTOR, each=(MotorOwn(), MotorOwn(emf_factor=1.05, resistance_ohm=0.46)))


@pytest.mark.parametrize(("motor", "dwell"), [(MOTOR, None), (MOTOR, 1.4), (UNLIKE, None)])
def test_groupings_written_out_as_networks_run_as_before(motor: Motor, dwell: float | None) -> None:
    """Every row of the run: peaks, bounds, line, speed, pull, heat; and the energy of it."""
    grouped, networks = (run(notches, motor, dwell=dwell) for notches in (NOTCHES, tuple(map(as_network, NOTCHES))))
    for one, other in zip(grouped.rows, networks.rows, strict=True):
        for field in ("peak_a", "frozen_flux_a", "leave_a", "line_peak_a", "leave_m_s", "effort_n", "leave_s"):
            assert getattr(other, field) == pytest.approx(getattr(one, field), rel=1e-6), (one.name, field)
        assert other.leave_c == pytest.approx(one.leave_c, abs=1e-4)
        if one.motor_a is not None:
            assert other.motor_a == pytest.approx(one.motor_a, rel=1e-6)
    assert networks.energy.grid_j == pytest.approx(grouped.energy.grid_j, rel=1e-6)
    assert np.abs(networks.energy.balance_error).max() < 1e-5


def test_a_network_of_the_same_grouping_changes_nothing_on_the_way() -> None:
    """No power off where the motors hang together as before, whatever became of the grid."""
    networks = tuple(map(as_network, NOTCHES))
    for before, after, changes in ((0, 1, False), (1, 2, False), (2, 3, True), (3, 4, False), (4, 5, False)):
        assert regrouped(NOTCHES[before], NOTCHES[after]) == changes
        assert regrouped(networks[before], networks[after]) == changes
        assert regrouped(NOTCHES[before], networks[after]) == changes
        assert regrouped(networks[before], NOTCHES[after]) == changes


def test_a_fixed_resistor_ahead_is_as_good_as_so_much_feeder_and_one_in_each_string_as_motor_ohms() -> None:
    ahead = run([replace(notch, ahead_ohm=0.2) for notch in NOTCHES])
    feeder = run(NOTCHES, line=replace(LINE, feeder_ohm=LINE.feeder_ohm + 0.2))
    singles = [notch for notch in NOTCHES if notch.grouping == PARALLEL]
    strings = run([replace(notch, string_ohm=0.1) for notch in singles])
    motors = run(singles, replace(MOTOR, resistance_ohm=0.52))
    for one, other in ((ahead, feeder), (strings, motors)):
        peaks = [np.array([log.peak_a for log in each.notches]) for each in (one, other)]
        assert peaks[0] == pytest.approx(peaks[1])
        assert one.energy.line_j == pytest.approx(other.energy.line_j)
        assert np.abs(one.energy.balance_error).max() < 1e-5
    assert ahead.energy.feeder_j == pytest.approx(feeder.energy.feeder_j)


# --- jobs ------------------------------------------------------------------------------------------------------------

CURVE = ('current = ["15 A", "35 A", "70 A", "105 A", "140 A"]', 'emf = ["100 V", "215 V", "381 V", "485 V", "550 V"]')
LONGER = (
    'current = ["15 A", "35 A", "70 A", "105 A", "140 A", "280 A"]',
    'emf = ["100 V", "215 V", "381 V", "485 V", "550 V", "660 V"]',
)
THIRD = 'joined = [["T", "R3"], ["F2", "A3"]]'
BRIDGE = 'joined = [["T", "R2"], ["R1", "R4"], ["R3", "R6"], ["R5", "A1"], ["F2", "A3"]]'


def job_text(third: str = BRIDGE, always: bool = False, more: str = "", leads: str = "") -> str:
    """The old controller with notch 3 as given; ``always``: the grid's end stays joined to motor 1 by a fixed wire."""
    text = (examples_folder() / "old-controller.toml").read_text(encoding="utf-8")
    for was, now in zip(CURVE, LONGER, strict=True):
        text = text.replace(was, now)
    text = re.sub(r"terminals = .*\n", "", text)
    if not always:
        text = text.replace('joined = [["R6", "A1"], ["A2", "F1"]', 'joined = [["A2", "F1"]')
        text = text.replace('joined = [["T"', 'joined = [["R6", "A1"], ["T"')
        assert THIRD.replace('[["T"', '[["R6", "A1"], ["T"') in text
        text = text.replace(THIRD.replace('[["T"', '[["R6", "A1"], ["T"'), third)
    text = text.replace(THIRD, third)
    return text.replace("[controller.leads]\n", f"{more}\n[controller.leads]\n{leads}")


@pytest.fixture(scope="module")
def bridged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("network") / "bridge.toml"
    path.write_text(job_text(), encoding="utf-8")
    return path


def call(*words: object) -> Result:
    return CliRunner().invoke(root, [str(word) for word in words], standalone_mode=False)


def test_a_bridge_of_sections_is_read_as_a_network_and_told_so(bridged: Path) -> None:
    job = read_job(bridged)
    third = job.notches[2]
    assert third.network is not None
    assert third.network.sections == tuple("ABCDE")
    assert job.section_order == tuple("ABCDE")
    assert [notch.name for notch in wanted_of(job).notches] == ["1", "2", "4", "5", "6", "7", "8"]
    assert any("notch 3: no grouping of like strings (a bridge of" in one for one in chart_remarks(job))
    ready = starter(job)
    without = cut_out_of(ready)
    assert without is not None and without.remarks[0] == "motor 2 cut out: in the networks motor 2 bridged on notch 3"
    found = ready.told
    assert [log.name for log in found.notches] == list("12345678")
    assert found.notches[2].motor_a is not None
    assert found.notches[2].motor_a[0] == pytest.approx(found.notches[2].motor_a[1])  # two in series behind the bridge


def test_the_start_command_runs_it_and_says_what_it_leaves_out(bridged: Path, tmp_path: Path) -> None:
    text, path = bridged.read_text(encoding="utf-8"), tmp_path / "bare.toml"
    path.write_text(text[: text.index("[[plate]]")] + text[text.index("[duty]") :], encoding="utf-8")
    shown = call("start", path)
    assert "notch 3: no grouping of like strings" in shown.output
    assert "With motor 2 cut out, at 550 V" in shown.output
    row = next(line for line in shown.output.splitlines() if line.startswith("3  "))
    assert "km/h" in row
    result = result_of(read_job(path))
    assert [done.name for done in result.notches] == []  # nothing is built: no plates
    sheet = notch_sheet(result)
    assert sheet is not None
    table = next(block for block in sheet.blocks if isinstance(block, Table))
    assert [row[1] for row in table.rows][2] == "network"
    assert "A from a to line; B from line to b" in str(table.rows[2][2])


def test_held_networks_are_as_long_held_as_the_same_grouping(bridged: Path) -> None:
    """Stalled: the hold itself. Running: the current at the balance, at many ohms and both voltages, motors alike."""
    ready = starter(read_job(bridged))
    job = ready.job
    assert job.line is not None and job.car is not None and job.motor is not None
    for notch in (NOTCHES[1], NOTCHES[3]):
        (plain,), (network,) = notch_circuits(job, notch), notch_circuits(job, as_network(notch))
        stalled = (replace(plain, running=None), replace(network, solve_running=False))
        one, other = (hold_rows(ready.heated, [circuit], [660.0], [40.0]) for circuit in stalled)
        assert [row.hold_s for row in other] == pytest.approx([row.hold_s for row in one], rel=2e-3)
        assert [(row.section, row.breaker_opens) for row in other] == [(row.section, row.breaker_opens) for row in one]
        ohm = np.outer([0.7, 1.0, 1.8], [OHMS[name] for name in network.sections]).repeat(2, axis=0)
        volts = np.array([550.0, 660.0] * 3)
        assert network.solve is not None
        for running in (False, True):
            line_a, each = network.solve(ohm, volts, np.full(6, running))
            hot = dict(zip(network.sections, ohm.T, strict=True))
            assert notch.common is not None
            grid_ohm, shares = divider(notch.common)(np.array([hot[name] for name in names(notch.common)]).T)
            held = [HeldNotch(job.line, job.car, job.motor, notch, one) for one in volts.tolist()]
            expected = [
                float(one.grid_a(np.array(r))) if running else v / (plain.other_ohm + r)
                for one, r, v in zip(held, grid_ohm.tolist(), volts.tolist(), strict=True)
            ]
            assert line_a == pytest.approx(expected, rel=1e-5)
            order = [network.sections.index(name) for name in names(notch.common)]
            assert each[:, order] / line_a[:, None] == pytest.approx(shares, rel=1e-9)


def test_the_chart_tells_currents_at_standstill_and_at_a_speed(bridged: Path) -> None:
    still = json.loads(call("wanted", bridged, "--chart", "--json").output)["notches"]
    moving = json.loads(call("wanted", bridged, "--chart", "--at", "10 km/h", "--json").output)["notches"]
    for row, faster in zip(still, moving, strict=True):
        standing, going = row["at_speed"], faster["at_speed"]
        assert standing["line_a"] == pytest.approx(550.0 / (row["terminal_ohm"] + 0.04))
        assert going["speed_kmh"] == pytest.approx(10.0)
        assert going["line_a"] < standing["line_a"]
        assert going["effort_n"] < standing["effort_n"]
        for name, share in row["current_share"].items():
            assert standing["section_a"][name] == pytest.approx(share * standing["line_a"])
    assert still[2]["cannot_be_run"] == ""
    assert still[7]["at_speed"]["beyond_curve"]
    assert not moving[2]["at_speed"]["beyond_curve"]
    lone = call("wanted", bridged, "--at", "10 km/h")
    assert isinstance(lone.exception, GriddesignError)
    backwards = call("wanted", bridged, "--chart", "--at", "-3 km/h")
    assert isinstance(backwards.exception, GriddesignError)


def test_the_chart_names_the_motor_that_a_network_leaves_out_and_the_field_that_is_weak(tmp_path: Path) -> None:
    """Half of the current: the resistor has the ohms of the field."""
    path = tmp_path / "weak.toml"
    weak = BRIDGE.replace('["F2", "A3"]', '["F2", "G", "S2"], ["F1", "S1"]')
    leads = 'S1 = "resistor S 1"\nS2 = "resistor S 2"\n'
    more = 'resistors = { S = "0.15 ohm" }\nfield_resistance = "0.15 ohm"'
    path.write_text(job_text(weak, more=more, leads=leads), encoding="utf-8")
    shown = call("wanted", path, "--chart").output
    assert "network of 1 motor" in shown
    assert "notch 3: motor 2 out of circuit" in shown
    assert "notch 3: 50 % of the current of motor 1 in its field" in shown
    told = json.loads(call("wanted", path, "--chart", "--at", "10 km/h", "--json").output)["notches"][2]
    going, job = told["at_speed"], read_job(path)
    assert job.car is not None and job.motor is not None
    emf_v = float(curve_of(job.motor.magnetisation, 1.0).k(going["line_a"] / 2.0)) * motor_rad_s(job.car, 10.0 / 3.6)
    assert going["line_a"] * (told["terminal_ohm"] + 0.04) + emf_v == pytest.approx(550.0, rel=1e-6)


WEAKENED = (
    ('terminals = ["T"', '# terminals = ["T"'),
    ('M1 = "motor 1 in"', 'M1 = "motor 1 armature 1"\nF0 = "motor 1 armature 2"\nF1 = "motor 1 field 1"'),
    ('M2 = "motor 1 out"', 'M2 = "motor 1 field 2"'),
    ('joined = [["M4", "G"]]', 'joined = [["M4", "G"], ["F0", "F1"]]\nfield_resistance = "0.17 ohm"'),
    ('["T", "R3"], ["R4", "R6"]', '["G", "S2"], ["F1", "S1"], ["T", "R3"], ["R4", "R6"]'),
    ('S = "1.8 ohm"', 'S = "0.5 ohm"'),
)


def test_a_weakened_field_in_a_network_runs_by_kirchhoffs_law_and_closes(tmp_path: Path) -> None:
    """Notch 5: from the line through feeder, C and D what is left is what motor 1 has; heat of its field and of the
    resistor beside it are told apart."""
    text = (examples_folder() / "odd-controller.toml").read_text(encoding="utf-8")
    for was, now in WEAKENED:
        assert text.count(was) == 1
        text = text.replace(was, now)
    (tmp_path / "weak.toml").write_text(text, encoding="utf-8")
    data = json.loads(call("start", tmp_path / "weak.toml", "--json").output)
    (fifth,) = (row for row in data["peaks"] if row["notch"] == "5")
    one, other = fifth["motors"]
    line_a = one["current_a"] + other["current_a"]
    assert fifth["line_current_a"] == pytest.approx(line_a)
    assert one["volts_v"] == pytest.approx(550.0 - (0.04 + 0.55) * line_a - 0.80 * one["current_a"])
    assert other["volts_v"] == pytest.approx(550.0 - (0.04 + 0.55) * line_a - 0.80 * other["current_a"])
    assert abs(data["energy"]["balance_error"]) < 1e-5


def test_what_it_does_now_on_measured_plates_with_a_section_open(bridged: Path) -> None:
    shown = call("retap", bridged, PLATES, "--chart", "--at", "5 km/h")
    assert shown.return_value == 1  # a dead plate opens section A, and notch 1 with it
    data = json.loads(call("retap", bridged, PLATES, "--chart", "--json").output)
    third = data["notches"][2]["at_speed"]
    assert set(third["section_a"]) == set("BCDE")
    assert data["notches"][0]["at_speed"]["why"] == "no current"
    assert "Currents at 5.00 km/h" in shown.output


def test_an_armature_with_a_resistor_beside_it_needs_its_ohms_told_apart(tmp_path: Path) -> None:
    path = tmp_path / "armature.toml"
    beside = THIRD.replace("]]", '], ["A1", "S1"], ["A2", "S2"]]')
    leads = 'S1 = "resistor S 1"\nS2 = "resistor S 2"\n'
    more = 'resistors = { S = "0.4 ohm" }'
    path.write_text(job_text(beside, always=True, more=more, leads=leads), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    (complaint,) = caught.value.complaints()
    assert "armature and field of motor 1 carry unlike currents" in complaint.message
    assert "[controller] field_resistance" in complaint.message
    assert complaint.key == "notch.3.joined"
    shown = call("wanted", path, "--chart")
    assert shown.return_value == 1
    assert "cannot be run: armature and field of motor 1" in shown.output
    told = job_text(beside, always=True, more=f'{more}\nfield_resistance = "0.15 ohm"', leads=leads)
    path.write_text(told, encoding="utf-8")
    assert read_job(path).notches[2].network is not None


def test_a_fixed_resistor_in_series_is_a_fixed_ohm_of_its_notch(tmp_path: Path) -> None:
    """On notch 3 alone: its wanted ohms fall by the resistor's, as its R' is what the peaks ask for."""
    path = tmp_path / "fixed.toml"
    third = 'joined = [["T", "S1"], ["S2", "R3"], ["F2", "A3"]]'
    leads = 'S1 = "resistor S 1"\nS2 = "resistor S 2"\n'
    path.write_text(job_text(third, always=True, more='resistors = { S = "0.2 ohm" }', leads=leads), encoding="utf-8")
    job = read_job(path)
    assert job.notches[2].common == Run(("C", "D", "E"))
    assert job.notches[2].ahead_ohm == pytest.approx(0.2)
    assert any("a fixed resistor of 200.0 mΩ in series with all motors" in one for one in chart_remarks(job))
    found = wanted_of(job).notches[2]
    assert getattr(found, "total_ohm") == pytest.approx(found.wanted_ohm + 0.2 + 0.04 + 2 * 0.42)  # noqa: B009
    data = json.loads(call("wanted", path, "--chart", "--json").output)["notches"][2]
    assert data["terminal_ohm"] - data["grid_ohm"] == pytest.approx(0.2 + 2 * 0.42)


def test_a_section_that_only_a_network_uses_is_named(tmp_path: Path) -> None:
    path = tmp_path / "alone.toml"
    text = job_text()
    for tap in ("R1", "R2", "R3", "R4"):
        text = text.replace(f'joined = [["R6", "A1"], ["T", "{tap}"]', 'joined = [["R6", "A1"], ["T", "R5"]')
    path.write_text(text, encoding="utf-8")
    shown = call("wanted", path)
    assert isinstance(shown.exception, CircuitError)
    assert "section A, B, C, D lies in no notch but 3" in shown.exception.message


def test_a_transition_that_halves_strings_goes_by_those_of_a_network(tmp_path: Path) -> None:
    """From 2 to the bridge of notch 3, whose motors lie side by side, and not from there to notch 4 in series."""
    path = tmp_path / "halved.toml"
    shunted = 'joined = [["T", "R3"], ["R1", "R5"], ["R4", "A3"], ["F2", "G"]]'
    text = job_text(shunted, always=True)
    how = 'transition = { kind = "one motor shorted", seconds = "1 s", circuit = ["C"] }'
    path.write_text(text.replace("[start]", f"[start]\n{how}"), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    (complaint,) = caught.value.complaints()
    assert complaint.key == "notch.4"
    assert complaint.message.endswith("from 1 in series by 2 that does not give 2 in series by 1")


def test_nothing_is_told_of_networks_where_there_are_none() -> None:
    job = read_job(examples_folder() / "old-controller.toml")

    class Bare:
        """As much of a result as is asked for."""

    bare = Bare()
    bare.job = job  # type: ignore[attr-defined]
    assert networks_of(bare) == ()  # type: ignore[arg-type]


def test_what_a_network_wastes_is_what_the_same_grouping_does(bridged: Path) -> None:
    """Held until the speed has settled, and on leaving: with the 5 motor points of the job, to a table's 1e-6."""
    job = starter(read_job(bridged)).job
    grouped = NOTCHES[:4]
    one, other = (wasted(replace(job, notches=each), OHMS, 80.0) for each in (grouped, tuple(map(as_network, grouped))))
    assert [row.notch for row in one] == [row.notch for row in other] == ["1", "2", "3", "4"]
    for field in ("motor_a", "line_a", "speed_m_s", "line_w", "grid_w", "leaving_w"):
        ours, theirs = ([getattr(row, field) for row in rows] for rows in (other, one))
        assert ours == pytest.approx(theirs, rel=1e-5), field


ONLY_THERE = (
    ('["R6", "A1"], ["T", "R6"], ["F2", "A3"]', '["R4", "A1"], ["T", "R4"], ["F2", "A3"]'),
    ('["R6", "A1"], ["T", "R1"], ["F2", "A3"]', '["R4", "A1"], ["T", "R1"], ["F2", "A3"]'),
    ('["R6", "A1"], ["T", "R2"], ["F2", "A3"]', '["R4", "A1"], ["T", "R2"], ["F2", "A3"]'),
    ('["R6", "A1"], ["T", "R3"], ["R6", "A3"], ["F2", "G"]', '["R6", "A1"], ["T", "R3"], ["R4", "A3"], ["F2", "G"]'),
)


def known_text(start: str) -> str:
    """Series notches on A, B and C, and one with C common and D and E in motor 1's string alone."""
    text = job_text('joined = [["R4", "A1"], ["T", "R3"], ["F2", "A3"]]')
    for was, now in ONLY_THERE:
        assert was in text
        text = text.replace(was, now)
    head, tail = text[: text.index('[[notch]]\nname = "6"')], text[text.index("[duty]") :]
    return head.replace("[start]", f"[start]\n{start}") + tail


def test_a_grid_of_known_ohms_runs_though_no_ohms_are_sought(tmp_path: Path) -> None:
    path = tmp_path / "known.toml"
    path.write_text(known_text('valley_current = "85 A"'), encoding="utf-8")
    ready = starter(read_job(path))
    assert ready.whole_ohm == {"A": 1.85, "B": 1.27, "C": 0.42, "D": 0.63, "E": 0.34}
    last = ready.told.notches[-1]
    assert last.motor_a is not None
    assert float(last.motor_a[1, 0]) > 1.5 * float(last.motor_a[0, 0])  # motor 2 has neither D nor E before it
    assert any(one.startswith("Ohms as the job gives them, none are sought: section D, E lies in no notch but 5")
               for one in ready.worked.wanted.remarks)  # fmt: skip
    path.write_text(known_text("").replace("[start]\n\n", "[start]\n"), encoding="utf-8")
    with pytest.raises(GriddesignError, match="nothing says at which current the driver notches up"):
        starter(read_job(path))
    path.write_text(re.sub(r"section_ohms = .*\n", "", known_text('valley_current = "85 A"')), encoding="utf-8")
    with pytest.raises(GriddesignError, match="nothing says the ohms of section A, B, C, D, E"):
        starter(read_job(path))


def test_ohms_that_only_networks_part_are_not_shared_out_silently(tmp_path: Path) -> None:
    """In the example B and C lie in circuit together on every grouping, and apart on notches 3 and 5."""
    job = read_job(examples_folder() / "odd-controller.toml")
    assert open_ohms(job) == ("B", "C")
    assert network_taps(job) == ("B/C",)
    with pytest.raises(CircuitError, match="nothing says how the ohms of section B, C are shared out"):
        work_out(job)
    assert starter(job).whole_ohm["B"] == pytest.approx(1.2)  # the chart's own ohms are run
    shown = call("start", examples_folder() / "odd-controller.toml")
    assert shown.return_value == 0
    assert "Ohms as the job gives them, none are sought" in shown.output
    with pytest.raises(GriddesignError, match="nothing says where tap B/C should sit"):
        network_taps_of(job, RetapGiven())
    assert network_taps_of(job, RetapGiven(taps={"B/C": JointGiven(4)})) == {"B/C"}
    assert "Tap B/C, which nothing else uses, stays where it is." in left_out_words(job)
    third, fifth = job.notches[2].network, job.notches[4].network
    assert third is not None and fifth is not None
    assert {frozenset("B"), frozenset("C")} == set(series_classes(third))
    path = tmp_path / "parted.toml"  # with a series notch on C and D alone B and C are known apart
    text = (examples_folder() / "odd-controller.toml").read_text(encoding="utf-8")
    was, now = 'name = "4"\njoined = [["T", "R4", "M1"]', 'name = "4"\njoined = [["T", "R3"], ["R5", "M1"]'
    assert was in text
    path.write_text(text.replace(was, now), encoding="utf-8")
    assert open_ohms(read_job(path)) == ()


def test_a_bridge_whose_sections_stay_together_leaves_nothing_open(bridged: Path) -> None:
    """Every section of the old controller is told from the others by its groupings."""
    assert open_ohms(read_job(bridged)) == ()
    assert network_taps(read_job(bridged)) == ()
