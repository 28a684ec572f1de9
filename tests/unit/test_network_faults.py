"""Single faults and a motor cut out where notches are networks: told with figures, in words, and read backwards."""

import json
from dataclasses import replace
from math import inf
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from griddesign.cli import root
from griddesign.grid.contacts.records import Wire
from griddesign.grid.records import Run
from griddesign.job.reading import read_job
from griddesign.judge.cut_out import cut_out_of, motors_cut_out, usually_cut_out
from griddesign.judge.faults.bank import faults
from griddesign.judge.faults.effects import Drive, Effect
from griddesign.judge.faults.found import faults_on_plates
from griddesign.judge.faults.networked import NetworkEffect
from griddesign.judge.faults.records import Bank, Fault, FaultTable
from griddesign.judge.faults.sources import drive_of, plates_of
from griddesign.judge.faults.symptoms import fitting, read_symptom
from griddesign.judge.faults.table import fault_table, in_words
from griddesign.judge.records import Result as Designed
from griddesign.judge.runup import starter
from griddesign.judge.start_findings import inductive_words, judge_run_peaks
from griddesign.papers.faults_json import faults_json
from griddesign.papers.sheets.faults import faults_sheet
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.shipped import examples_folder
from griddesign.traction.network.written_out import written_out
from griddesign.traction.records import Grouping, Notch, Transition

ODD, PLATES = examples_folder() / "odd-controller.toml", examples_folder() / "retap-plates.csv"


def call(*words: object) -> Result:
    return CliRunner().invoke(root, [str(word) for word in words], standalone_mode=False)


@pytest.fixture(scope="module")
def on_plates(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The controller whose notches 3 and 5 are networks, on the plates of the other old controller."""
    old = (examples_folder() / "old-controller.toml").read_text(encoding="utf-8")
    tail = old[old.index("[[plate]]") :]
    was = '"D/E" = "box 4, dot end"'
    assert was in tail
    text = f"{ODD.read_text(encoding='utf-8')}\n{tail.replace(was, was.replace('D/E', 'end of D'))}"
    path = tmp_path_factory.mktemp("odd") / "odd.toml"
    path.write_text(text.replace('"end of E" =', '"start of E" = "box 4, dot end"\n"end of E" ='), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def table(on_plates: Path) -> FaultTable:
    return faults_on_plates(read_job(on_plates), PLATES)


def test_groupings_solved_as_networks_are_what_the_peak_rule_for_strings_makes_of_them(demo: Designed) -> None:
    """Every third fault: peaks, pulls, words and breaker, hot sections among them; heat within what a mean current for
    a whole notch is off by."""
    worked, job = demo.worked, demo.job
    assert worked is not None and worked.design is not None and demo.layout is not None
    drive = drive_of(job, worked)
    assert drive is not None and max(drive.hot_ratio.values()) > 1.3
    taps = tuple((tap.name, tap.after_plate) for tap in worked.design.taps)
    sections = tuple(one.name for one in worked.design.sections)
    bank = Bank(plates_of(demo.layout), taps, sections, 1, {plate.wish.name: 900.0 for plate in demo.plates})
    for fault in (Fault("plate open", "sound", bank), *list(faults(bank))[1::4]):
        one, other = Effect(fault, job.notches, drive), NetworkEffect(fault, job.notches, drive, job.motor)
        for ours, theirs in zip(other.rows(), one.rows(), strict=True):
            assert (ours.peak_a is None, ours.lost, ours.grid_ohm) == (theirs.peak_a is None, (), theirs.grid_ohm)
            assert (ours.peak_a or 0.0) == pytest.approx(theirs.peak_a or 0.0, rel=1e-8)
            assert (ours.step_n or 0.0) == pytest.approx(theirs.step_n or 0.0, abs=0.01)
        lines = [[each.line_peak_a(place) or 0.0 for place in range(len(job.notches))] for each in (other, one)]
        assert lines[0] == pytest.approx(lines[1])
        assert one.hottest is not None and other.hottest is not None
        assert other.hottest[0] == one.hottest[0]
        assert other.hottest[1] == pytest.approx(one.hottest[1], rel=0.05)


def test_an_open_branch_of_a_network_lets_the_others_go_on_and_names_the_motor_cut_off(table: FaultTable) -> None:
    """D lies in motor 1's own string on notch 5, and before both motors on notches 1 and 2."""
    row = next(row for row in table.rows if row.what == "a plate of D open")
    assert [one.felt for one in row.notches] == ["dead", "dead", "jerk", "", "weak", "weak", "jerk"]
    assert [one.lost for one in row.notches] == [(), (), (), (), (1,), (1,), ()]
    assert row.driver.endswith("motor 1 without current on notches 5 and 6")
    fifth, sound = row.notches[4], table.sound.notches[4]
    third = next(row for row in table.rows if row.what == "a plate of B open").notches[2]
    e_ohm, c_ohm = row.notches[5].grid_ohm, third.grid_ohm - 1.8 - 2 * 0.42  # the resistor beside B carries all of it
    assert fifth.grid_ohm == pytest.approx(c_ohm + e_ohm + 0.42)
    assert fifth.ohm_change == pytest.approx(fifth.grid_ohm - sound.grid_ohm)
    b_ohm = 1.0 / (1.0 / (table.sound.notches[2].grid_ohm - c_ohm - 2 * 0.42) - 1.0 / 1.8)
    d_ohm = table.sound.notches[1].grid_ohm - b_ohm - c_ohm
    assert sound.grid_ohm == pytest.approx(c_ohm + 1.0 / (1.0 / (d_ohm + 0.42) + 1.0 / (e_ohm + 0.42)))


def test_the_table_reads_backwards_on_networks(on_plates: Path, table: FaultTable) -> None:
    shown = call("retap", on_plates, PLATES, "--symptom", "dead 1-2, jerk 3, weak 5-6, jerk 7")
    assert shown.return_value == 0
    assert "Notches 3, 5 are networks; ohms of such a notch are those from line to ground" in shown.output
    first = next(line for line in shown.output.splitlines() if line.startswith("1. "))
    assert first.startswith("1. a plate of D open: fits 100 %.")
    assert fitting(table, read_symptom("weak 5", list("1234567")))[0].row.notches[4].felt == "weak"


def test_the_sheet_says_how_networks_are_counted(table: FaultTable) -> None:
    sheet = faults_sheet(table)
    assert sheet is not None
    assert "Every notch is solved with a current of its own in each motor" in str(sheet.blocks)
    assert "On notches 3, 5 from line to ground, motors at their stated ohms among them." in str(sheet.blocks)
    assert all(len(row["notches"]) == 7 for row in faults_json(table))  # type: ignore[call-overload, index, arg-type]


def test_without_a_car_the_ohms_and_the_dead_notches_are_told(on_plates: Path, table: FaultTable) -> None:
    job = read_job(on_plates)
    assert job.start is not None
    bare = faults_on_plates(replace(job, start=None), PLATES)
    assert not bare.driven
    opened = next(row for row in bare.rows if row.what == "a plate of C open")
    assert [one.felt for one in opened.notches] == ["dead", "dead", "dead", "", "dead", "", ""]
    assert [row.notches[2].grid_ohm for row in bare.rows] == [row.notches[2].grid_ohm for row in table.rows]


# --- what a fault can do besides -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def small() -> tuple[Bank, Drive]:
    """Ten plates of 3 ohm, A before the tap and W after it, and the driver of the example."""
    plates = tuple(PlateAtHand(1, number, "P", 3.0) for number in range(1, 11))
    ready = starter(read_job(ODD))
    drive = drive_of(ready.job, ready.worked)
    assert drive is not None
    return Bank(PlatesAtHand(plates), (("start of A", 0), ("A/W", 5), ("end of W", 10)), ("A", "W"), 2), drive


def beside_the_motor() -> Notch:
    """A ahead of one motor, W from line to ground beside both: no grouping."""
    network = written_out(Notch("1", Grouping(1, 1), Run(("A",))))
    network = replace(network, wires=(*network.wires, Wire("W", "section", 1, 0)))
    return Notch("1", Grouping(1, 1), None, network=network)


def test_a_section_gone_to_nothing_can_join_line_and_ground(small: tuple[Bank, Drive]) -> None:
    bank, drive = small
    end = replace(bank, taps=(("start of A", 0), ("A/W", 10), ("end of W", 10)))
    notch = beside_the_motor()
    effect = NetworkEffect(Fault("lead one joint off", "", end), (notch,), drive, drive.motor)
    (row,) = effect.rows()
    assert row.shorted and row.peak_a is None and row.grid_ohm == 0.0
    assert effect.line_peak_a(0) == inf
    start = replace(bank, taps=(("start of A", 0), ("A/W", 3), ("end of W", 4)))  # 58 and 183 A: the breaker stays in
    found = fault_table(start, (notch,), drive, lambda *given: NetworkEffect(*given, drive.motor))
    short = next(one for one in found.rows if one.what == "lead A/W one joint off: after plate 4, not 3")
    assert short.driver == "no start on any notch; the breaker may open on notch 1"
    sheet = faults_sheet(found)
    assert sheet is not None and "short" in str(sheet.blocks)


def test_a_resistor_that_is_left_without_a_motor_pulls_nothing(small: tuple[Bank, Drive]) -> None:
    bank, drive = small
    found = fault_table(bank, (beside_the_motor(),), drive, lambda *given: NetworkEffect(*given, drive.motor))
    opened = next(one for one in found.rows if one.what == "a plate of A open")
    assert opened.driver == "no start on any notch"
    assert opened.notches[0].grid_ohm == pytest.approx(15.0) and not opened.notches[0].open
    other = next(one for one in found.rows if one.what == "a plate of W open")
    assert other.driver == "nothing noticeable"
    assert other.notches[0].peak_a == pytest.approx(found.sound.notches[0].peak_a, rel=0.05)  # the feeder alone


def test_a_car_too_heavy_for_the_first_notches_stands_on_them(small: tuple[Bank, Drive]) -> None:
    _, drive = small
    heavy = replace(drive, car=replace(drive.car, mass_kg=drive.car.mass_kg * 9.0, gradient=0.06))
    effect = NetworkEffect(Fault("plate open", "", five_sections()), read_job(ODD).notches, heavy, heavy.motor)
    assert effect.standing == {0, 1, 2}
    assert set(effect.peaks) == {3, 4, 5, 6}
    assert effect.arrivals[3].left == -1 and effect.arrivals[3].turning_rad_s == 0.0


def five_sections() -> Bank:
    """Sections of the example on plates of one size, that of each as near to the chart's as whole plates go."""
    plates = tuple(PlateAtHand(1, number, "P", 0.2) for number in range(1, 28))
    taps = (("start of A", 0), ("A/B", 9), ("B/C", 15), ("C/D", 18), ("end of D", 22), ("start of E", 22))
    return Bank(PlatesAtHand(plates), (*taps, ("end of E", 26)), tuple("ABCDE"), 2, {"P": 900.0})


def test_the_heat_of_a_start_is_that_of_the_run(small: tuple[Bank, Drive]) -> None:
    """i²t by Gauss's rule over the speed against the run, which steps along the current."""
    bank, (_, drive), ready = five_sections(), small, starter(read_job(ODD))
    effect = NetworkEffect(Fault("plate open", "", bank), ready.job.notches, drive, drive.motor)
    ohms = {name: 0.2 * count for name, count in zip("ABCDE", (9, 6, 3, 4, 4), strict=True)}
    assert effect.finite == pytest.approx(ohms)
    wanted = replace(ready.worked.wanted, sections=tuple(ohms.items()))
    run = replace(ready, worked=replace(ready.worked, wanted=wanted)).run(ready.cases[:1])
    rises = {name: joules / (ohms[name] / 0.2) / 900.0 for name, joules in zip(run.sections, run.section_j[:, 0],
             strict=True)}  # fmt: skip
    assert effect.hottest is not None
    name, rise_k = effect.hottest
    assert name == max(rises, key=lambda one: rises[one])
    assert rise_k == pytest.approx(rises[name], rel=1e-3)


def test_a_notch_whose_currents_are_not_to_be_relied_on_is_named(
    small: tuple[Bank, Drive], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Notch 1, told by its seven wires; the car starts on notch 2 then."""
    bank, (_, drive) = five_sections(), small
    notches = read_job(ODD).notches
    monkeypatch.setattr(
        "griddesign.traction.network.currents.Driven.doubt",
        lambda self, *_: "nobody knows" if self.drive.shape[-1] == 7 else "",
    )
    effect = NetworkEffect(Fault("plate open", "", bank), notches, drive, drive.motor)
    first, second, *_ = effect.rows()
    assert (first.why, first.peak_a) == ("nobody knows", None)
    assert second.peak_a == pytest.approx(550.0 / (0.04 + 13 * 0.2 + 2 * drive.cold_ohm))
    assert in_words(effect.rows()).startswith("notch 1 is not worked out (nobody knows)")
    assert effect.hottest is None


def test_faults_of_a_job_whose_groupings_say_no_ohms_take_its_valley_current(on_plates: Path, tmp_path: Path) -> None:
    """Notches 5 and 6 alone are left: nothing says how C, D and E are shared out, and A and B lie nowhere else."""
    text = on_plates.read_text(encoding="utf-8")
    first, fifth = (text.index(f'[[notch]]\nname = "{name}"') for name in "15")
    path = tmp_path / "few.toml"
    for valley, driven in (('valley_current = "80 A"', True), ("", False)):
        few = (text[:first] + text[fifth:]).replace('valley_current = "80 A"', valley)
        path.write_text(few, encoding="utf-8")
        table = faults_on_plates(read_job(path), PLATES)
        assert table.driven == driven
        assert [len(row.notches) for row in table.rows[:1]] == [3]


# --- one motor cut out -----------------------------------------------------------------------------------------------


def test_one_motor_cut_out_of_the_odd_controller() -> None:
    """Bridged behind the grid of notch 3, open beside the other on notch 5; the groupings as ever."""
    ready = starter(read_job(ODD))
    found = cut_out_of(ready)
    assert found is not None and found.out == (1,)
    assert found.remarks == ("motor 2 cut out: in the networks motor 2 bridged on notch 3; motor 2 open on notch 5",)
    rows = {log.name: log for log in found.run.notches}
    for name in "35":
        assert rows[name].line_peak_a == pytest.approx(rows[name].peak_a)  # one motor has all of it
    shown = call("start", ODD)
    assert "With motor 2 cut out, at 550 V" in shown.output
    assert "one motor cut out" not in shown.output
    data = json.loads(call("start", ODD, "--json").output)
    assert data["cut_out"]["cases"][0]["peaks"][2]["current_a"] == pytest.approx(float(rows["3"].peak_a[0]))


def test_a_network_with_no_motor_left_is_passed_over() -> None:
    ready = starter(read_job(ODD))
    third = ready.job.notches[2].network
    assert third is not None
    alone = replace(third, motors=third.motors[1:], wires=tuple(one for one in third.wires if one.motor != 1))
    wires = tuple(replace(one, a=min(one.a, 3), b=min(one.b, 3)) for one in alone.wires)
    place = next(at for at, one in enumerate(wires) if one.motor == 2)
    wires = (*wires[:place], replace(wires[place], b=0), *wires[place + 1 :])
    own = replace(alone, wires=wires, nodes=4, motors=(replace(alone.motors[0], wire=place),))
    notches = tuple(replace(one, network=own) if one.name == "3" else one for one in ready.job.notches)
    assert [one.name for one in motors_cut_out(notches, (1,))] == ["1", "2", "4", "5", "6", "7"]
    found = cut_out_of(replace(ready, job=replace(ready.job, notches=notches)))
    assert found is not None
    assert "in the networks no motor is left in circuit, passed over on notch 3; motor 2 open" in found.remarks[0]


def test_of_networks_alone_the_last_motor_is_cut_out() -> None:
    job = read_job(ODD)
    networks = tuple(notch for notch in job.notches if notch.network is not None)
    assert usually_cut_out(networks) == (1,)
    assert usually_cut_out((beside_the_motor(),)) == ()


def test_a_cut_out_of_groupings_written_out_is_that_of_the_groupings() -> None:
    """The same peaks and times, and the power off between series and parallel though one motor alone is left."""
    ready = starter(read_job(ODD))
    assert ready.job.start is not None
    start = replace(ready.job.start, transition=Transition("power off", 0.7))
    groupings = tuple(notch for notch in ready.job.notches if notch.network is None)
    networks = tuple(replace(one, common=None, strings=(), network=written_out(one)) for one in groupings)
    one, other = (
        cut_out_of(replace(ready, job=replace(ready.job, start=start, notches=notches)), (1,))
        for notches in (groupings, networks)
    )
    assert one is not None and other is not None
    assert [log.name for log in one.run.notches] == [log.name for log in other.run.notches] == list("12467")
    for ours, theirs in zip(other.run.notches, one.run.notches, strict=True):
        assert ours.peak_a == pytest.approx(theirs.peak_a, rel=1e-6)
        assert ours.arrive_s == pytest.approx(theirs.arrive_s, rel=1e-6)
    off_s = one.run.notches[3].arrive_s - one.run.notches[2].leave_s
    assert off_s == pytest.approx(0.7)


# --- inductance ------------------------------------------------------------------------------------------------------


def test_a_peak_that_inductance_lifts_is_told_and_judged() -> None:
    """Motor 2 alone beside motor 1 with E before it: it is quicker, and what it takes from the feeder comes later."""
    ready = starter(read_job(ODD))
    assert ready.job.motor is not None
    known = replace(ready, job=replace(ready.job, motor=replace(ready.job.motor, inductance_h=0.02)))
    run = known.run(known.cases)
    fifth = run.notches[4]
    assert fifth.inductive_a is not None and inductive_words(fifth) == ""
    lifted = replace(fifth, inductive_a=fifth.peak_a + 40.0)
    assert "lifts the peak from 109.9 A to 149.9 A" in inductive_words(lifted)
    rows = tuple(lifted if log is fifth else log for log in run.rows)
    finding = judge_run_peaks(known, replace(run, rows=rows))
    assert finding.verdict == "fails" and "149.9 A per motor on notch 5" in finding.why
    groupings, networks = [], []
    for one in known.job.notches:
        if one.network is None:
            groupings.append(one)
            networks.append(replace(one, common=None, strings=(), network=written_out(one)))
    first, second = (
        replace(known, job=replace(known.job, notches=tuple(each))).run(known.cases) for each in (groupings, networks)
    )
    for ours, theirs in zip(second.notches, first.notches, strict=True):
        assert ours.inductive_a == pytest.approx(theirs.inductive_a, rel=1e-7)
        assert np.all(theirs.inductive_a < theirs.peak_a)
