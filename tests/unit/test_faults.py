"""Single faults: each against the ohms worked out by hand, the driver's words, and the table read backwards."""

from dataclasses import replace
from itertools import pairwise
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import InputError
from griddesign.grid import circuit
from griddesign.grid.contacts.network import net_of
from griddesign.grid.contacts.records import Element
from griddesign.grid.contacts.solve import Networks
from griddesign.grid.records import Branches, Run
from griddesign.judge.faults.bank import faults, section_ohms, spans
from griddesign.judge.faults.effects import Effect, notch_under, pruned
from griddesign.judge.faults.records import Bank, Fault, FaultTable, NotchUnder
from griddesign.judge.faults.sources import drive_of, faults_of, faults_of_found, plates_of
from griddesign.judge.faults.symptoms import fitting, read_symptom
from griddesign.judge.faults.table import fault_table, in_words
from griddesign.judge.records import Result
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.traction.curve import MotorCurve
from griddesign.traction.mechanics import effort_n
from griddesign.traction.records import Grouping, Notch

R = 0.1


def bank(tap_sides: int = 1) -> Bank:
    """Two boxes of eight: A is six plates, B six with the last two pairs of box 2 side by side: C."""
    plates = [PlateAtHand(1, number, "P", R) for number in range(1, 9)]
    plates += [PlateAtHand(2, number, "P", R, joined=0 if number < 5 else 1 + (number > 6)) for number in range(1, 9)]
    taps = (("start of A", 0), ("A/B", 6), ("B/C", 12), ("end of C", 16))
    return Bank(PlatesAtHand(tuple(plates)), taps, ("A", "B", "C"), tap_sides, {"P": 100.0})


NOTCHES = (
    Notch("1", Grouping(2, 1), Run(("A", "B", "C"))),
    Notch("2", Grouping(2, 1), Run(("B", "C"))),
    Notch("3", Grouping(2, 1), Run(("C",))),
    Notch("4", Grouping(2, 1), Run()),
)


def table() -> FaultTable:
    return fault_table(bank(), NOTCHES, None)


def change(faults: FaultTable, what: str) -> list[float]:
    row = next(row for row in faults.rows if what in row.what)
    return [one.ohm_change for one in row.notches]


def test_the_sound_bank_is_what_it_is() -> None:
    assert section_ohms(Fault("plate open", "", bank())) == pytest.approx({"A": 6 * R, "B": 6 * R, "C": R})


def test_an_open_plate_opens_every_notch_of_its_section_and_no_other() -> None:
    row = next(row for row in table().rows if row.what == "a plate of B open")
    assert [one.felt for one in row.notches] == ["dead", "dead", "", ""]
    assert [one.open for one in row.notches] == [True, True, False, False]
    assert row.driver == "no start on notches 1 and 2"


def test_one_of_a_pair_open_leaves_the_other() -> None:
    assert change(table(), "one of 2 plates side by side of C open") == pytest.approx([R / 2, R / 2, R / 2, 0.0])


def test_neighbours_that_touch_bridge_a_plates_worth() -> None:
    assert change(table(), "two neighbours of A touching") == pytest.approx([-R, 0.0, 0.0, 0.0])
    assert change(table(), "two neighbours of C touching") == pytest.approx([-R / 3, -R / 3, -R / 3, 0.0])


def test_a_lead_one_joint_off_gives_to_one_section_what_it_takes_from_the_other() -> None:
    """On one side the next joint is two plates on; on both sides one; at the end of C a pair stands in between."""
    assert change(table(), "lead A/B one joint off: after plate 4,") == pytest.approx([0.0, 2 * R, 0.0, 0.0])
    assert change(table(), "lead A/B one joint off: after plate 8,") == pytest.approx([0.0, -2 * R, 0.0, 0.0])
    both = fault_table(bank(tap_sides=2), NOTCHES, None)
    assert change(both, "lead A/B one joint off: after plate 5,") == pytest.approx([0.0, R, 0.0, 0.0])
    assert change(both, "lead end of C one joint off") == pytest.approx([-R / 2, -R / 2, -R / 2, 0.0])
    assert change(table(), "lead end of C one joint off") == pytest.approx([-R, -R, -R, 0.0])


def test_a_box_hung_end_for_end_turns_its_plates_under_the_leads() -> None:
    """Box 2 turned: the two pairs come first, then four single plates, all of them behind the lead B/C in space."""
    assert change(table(), "box 1 hung end for end") == pytest.approx([0.0] * 4)
    turned = next(fault for fault in faults(bank()) if fault.what == "box 2 hung end for end")
    assert [plate.joined > 0 for plate in turned.bank.plates.plates[8:]] == [True] * 4 + [False] * 4
    assert section_ohms(turned) == pytest.approx({"A": 6 * R, "B": 2 * R + R, "C": 4 * R})


def test_boxes_swapped_put_each_lead_where_it_hung() -> None:
    """Box 2 first: single plates 1-4, pairs 5-6 and 7-8; the lead after place 6 of box 1 then lies between the pairs,
    one step past an even number, and goes to the next joint on the terminal side."""
    swapped = next(fault for fault in faults(bank()) if fault.what == "boxes 1 and 2 swapped")
    taps = dict(swapped.bank.taps)
    assert taps == {"start of A": 0, "A/B": 4, "B/C": 12, "end of C": 16}
    assert section_ohms(swapped) == pytest.approx({"A": 4 * R, "B": R + 4 * R, "C": 4 * R})


@given(st.lists(st.floats(0.01, 0.3), min_size=16, max_size=16))
def test_turning_or_swapping_twice_is_nothing_and_keeps_the_whole(ohms: list[float]) -> None:
    start = bank()
    plates = tuple(replace(plate, ohm=ohm, joined=0) for plate, ohm in zip(start.plates.plates, ohms, strict=True))
    start = replace(start, plates=PlatesAtHand(plates))
    for fault in faults(start):
        if fault.kind in ("box end for end", "boxes swapped"):
            assert sum(section_ohms(fault).values()) == pytest.approx(sum(ohms))
            again = next(other for other in faults(fault.bank) if other.what == fault.what)
            assert [plate.ohm for plate in again.bank.plates.plates] == ohms
            assert again.bank.taps == start.taps


runs = st.recursive(
    st.sampled_from("ABCDE").map(lambda name: Run((name,))),
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=3).map(lambda all_: Run(tuple(p for run in all_ for p in run.parts))),
        st.lists(inner, min_size=2, max_size=3).map(lambda all_: Run((Branches(tuple(all_)),))),
    ),
    max_leaves=8,
)


@given(runs, st.frozensets(st.sampled_from("ABCDE"), max_size=3))
def test_a_run_without_its_open_branches_has_the_ohms_of_one_with_vast_ones(run: Run, opened: frozenset[str]) -> None:
    ohm = {name: 1e15 if name in opened else 1.0 + place for place, name in enumerate("ABCDE")}
    left = pruned(run, opened)
    whole = circuit.ohms(run, ohm)
    assert whole > 1e13 if left is None else circuit.ohms(left, ohm) == pytest.approx(whole, rel=1e-9)


def test_an_open_string_takes_its_motors_out() -> None:
    notch = Notch("5", Grouping(2, 2), None, (Run(("A",)), Run(("B",))))
    changed = notch_under(notch, frozenset("B"))
    assert changed is not None
    assert changed.out == (2, 3)
    assert notch_under(notch, frozenset("AB")) is None


def test_the_sound_row_of_a_design_is_its_own_notch_table(demo: Result) -> None:
    found = demo.faults
    assert found is not None
    for row, notch in zip(found.sound.notches, demo.notches, strict=True):
        assert row.grid_ohm == pytest.approx(notch.cold_ohm, abs=1e-12)
        assert row.peak_a == pytest.approx(notch.peak_a)


def test_an_open_section_starts_on_the_next_notch_with_the_current_of_standstill(demo: Result) -> None:
    """V / R' of a cold motor on notch 3, with A and B out of the question; the step is all of its pull."""
    found, job = demo.faults, demo.job
    assert found is not None and job.motor and job.car and job.line
    row = next(row for row in found.rows if row.what == "a plate of B open")
    cold_ohm = job.motor.resistance_ohm * (234.5 + job.duty.ambient_low_c) / (234.5 + job.motor.resistance_at_c)
    third = row.notches[2]
    peak_a = job.line.nominal_v / (2 * cold_ohm + third.grid_ohm + job.line.feeder_ohm)
    assert third.peak_a == pytest.approx(peak_a, rel=1e-9)
    curve = MotorCurve(job.motor.magnetisation).held_above()
    assert third.step_n == pytest.approx(effort_n(job.car, curve, 2, peak_a))
    assert third.felt == "jerk"
    assert row.driver.startswith("no start on notches 1 and 2; starts with a jerk on notch 3")
    assert row.breaker == ("3",)


def test_the_plate_left_of_a_pair_takes_four_times_the_heat(demo: Result) -> None:
    """At equal i²t a plate alone takes (2/1)² of what it took beside its mate; i²t itself hardly moves."""
    worked, job = demo.worked, demo.job
    assert worked is not None and worked.design is not None and demo.layout is not None
    drive = drive_of(job, worked)
    section = next(one for one in worked.design.sections if one.in_parallel == 2)
    capacity = {one.wish.name: 1e3 if one.wish.name == section.kind else inf for one in demo.plates}
    taps = tuple((tap.name, tap.after_plate) for tap in worked.design.taps)
    sections = tuple(one.name for one in worked.design.sections)
    own = Bank(plates_of(demo.layout), taps, sections, 1, capacity)
    apart = [replace(p, kind="pair" if p.joined else "single") for p in own.plates.plates]
    own = replace(own, plates=PlatesAtHand(tuple(apart)), capacity_j_k={"pair": 1e3, "single": inf})
    sound = Effect(Fault("plate open", "", own), job.notches, drive).hottest
    opened = next(fault for fault in faults(own) if fault.kind == "one of a pair open")
    left = Effect(opened, job.notches, drive).hottest
    assert sound is not None and left is not None
    assert left[0] == sound[0] == section.name
    assert left[1] / sound[1] == pytest.approx(4.0, rel=0.05)


def test_a_car_that_cannot_move_on_the_first_notches_is_said_not_to_start(demo: Result) -> None:
    worked, job = demo.worked, demo.job
    assert worked is not None
    drive = drive_of(job, worked)
    assert drive is not None
    heavy = replace(drive, car=replace(drive.car, mass_kg=drive.car.mass_kg * 9.0, gradient=0.06))
    effect = Effect(Fault("plate open", "", bank()), NOTCHES, heavy)
    assert effect.standing
    assert set(effect.peaks) == set(range(len(NOTCHES))) - effect.standing


def test_plates_found_in_old_boxes_make_the_same_table(demo: Result) -> None:
    worked = demo.worked
    assert worked is not None and worked.design is not None and demo.layout is not None
    taps = [(tap.name, tap.after_plate) for tap in worked.design.taps]
    found = faults_of_found(demo.job, worked, plates_of(demo.layout), taps)
    assert [row.what for row in found.rows] == [row.what for row in (demo.faults or found).rows]
    assert [row.driver for row in found.rows] == [row.driver for row in (demo.faults or found).rows]


def test_without_a_grid_there_are_no_faults(demo: Result) -> None:
    assert faults_of(replace(demo, layout=None)) is None


def under(*felt: str) -> list[NotchUnder]:
    rows = (inf if one == "dead" else 1.0 for one in felt)
    return [
        NotchUnder(str(place), ohm, 0.0, 100.0, 0.0, one)  # type: ignore[arg-type]
        for place, (one, ohm) in enumerate(zip(felt, rows, strict=True), start=1)
    ]


@pytest.mark.parametrize(
    ("felt", "words"),
    [
        (("", "", ""), "nothing noticeable"),
        (("dead", "dead", "dead", "jerk", ""), "no start on notches 1 to 3; starts with a jerk on notch 4"),
        (
            ("", "jerk", "dead", "weak"),
            "the pull drops out on notch 3; a jerk on notch 2; little or no push on notch 4",
        ),
        (("dead", "dead"), "no start on any notch"),
        (("weak", "jerk", "", "jerk", "jerk"), "starts weakly on notch 1; a jerk on notches 2, 4 and 5"),
        (("no start", "", "weak"), "no start on notch 1; little or no push on notch 3"),
    ],
)
def test_what_the_driver_feels(felt: tuple[str, ...], words: str) -> None:
    assert in_words(under(*felt)) == words


def test_the_breaker_is_told() -> None:
    assert in_words(under("", ""), ["2"]) == "the breaker may open on notch 2"


NAMES = ["1", "2", "3", "4", "S-5"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("dead 1-3", {"1": "dead", "2": "dead", "3": "dead"}),
        ("dead on notches 3-1, jerk 4", {"1": "dead", "2": "dead", "3": "dead", "4": "jerk"}),
        ("jerk on 2, 4; weak S-5", {"2": "jerk", "4": "jerk", "S-5": "weak"}),
        ("jerk 4-S-5", {"4": "jerk", "S-5": "jerk"}),
        (" dead 1 ", {"1": "dead"}),
    ],
)
def test_a_symptom_in_the_drivers_words(text: str, said: dict[str, str]) -> None:
    assert read_symptom(text, NAMES) == said


@pytest.mark.parametrize(
    "text", ["", "1-3", "smoke on 2", "dead", "dead 9", "dead 1, jerk 1", "dead 1,,", "jerk -", "dead 1-"]
)
def test_a_symptom_that_says_nothing_is_refused(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_symptom(text, NAMES)
    assert caught.value.hint


def test_every_fault_is_found_again_by_what_it_does(demo: Result) -> None:
    """A fault's own pattern fits it wholly; whatever ranks beside it feels the same."""
    found = demo.faults
    assert found is not None
    for row in found.rows:
        said = {one.name: "dead" if one.felt == "no start" else one.felt for one in row.notches if one.felt}
        if said:
            fits = fitting(found, said)
            best = [fit.row for fit in fits if fit.share == 1.0]
            assert row in best
            assert fits[0].share == 1.0


def test_what_fits_in_part_says_what_does_not() -> None:
    fits = fitting(table(), {"1": "dead", "3": "jerk"})
    first = next(fit for fit in fits if fit.row.what == "a plate of B open")
    assert (first.share, first.not_so, first.not_said) == (pytest.approx(1 / 3), ("3",), ("2",))


def test_a_driver_is_needed_for_currents() -> None:
    row = table().rows[-1]
    assert row.highest_peak_a is None
    assert "without a car" in row.driver


def by_plates(fault: Fault) -> dict[str, float]:
    """Section ohms from a network of single plates, each of two halves, joints and touching middles as its nodes."""
    plates, elements = fault.bank.plates, []
    for step in plates.steps:
        for number in range(step.first, step.last + 1):
            plate = plates.plates[number - 1]
            touched = fault.touching and number in (fault.touching, fault.touching + 1)
            middle = f"touch {fault.touching}" if touched else f"middle {number}"
            if plate.ohm < inf:
                joints = (f"joint {step.first - 1}", middle, f"joint {step.last}")
                for part, pair in enumerate(pairwise(joints)):
                    elements.append((Element(f"{number}.{part}", "section", *pair), plate.ohm / 2))
    found = {}
    ends = {name: (begin, end) for name, begin, end in spans(fault.bank)}
    for name, (begin, end) in ends.items():
        points = (("line", f"joint {begin}"), ("ground", f"joint {end}"))
        net = net_of(name, points, [one for one, _ in elements])
        solved = Networks.of([one for one, _ in elements], (net,)).solve({one.name: ohm for one, ohm in elements})
        found[name] = float(solved.terminal_ohm[0])
    return found


@given(st.lists(st.floats(0.01, 0.3), min_size=16, max_size=16), st.sampled_from((1, 2)))
@settings(max_examples=20)
def test_every_fault_has_the_ohms_of_a_network_of_single_plates(ohms: list[float], tap_sides: int) -> None:
    start = bank(tap_sides)
    plates = tuple(replace(plate, ohm=ohm) for plate, ohm in zip(start.plates.plates, ohms, strict=True))
    for fault in faults(replace(start, plates=PlatesAtHand(plates))):
        assert section_ohms(fault) == pytest.approx(by_plates(fault), rel=1e-9), fault.what
