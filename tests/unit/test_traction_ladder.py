"""The ladder on an invented car, and every way it can be refused."""

from collections.abc import Sequence
from dataclasses import replace
from math import pi

import pytest

from griddesign.errors import CircuitError, CurveError, NoStartError
from griddesign.grid.records import Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import copper_ohm
from griddesign.traction.ladder import ladder
from griddesign.traction.problem import DROPPED_HOT, GRID_COLD
from griddesign.traction.records import (
    Car,
    Grouping,
    Ladder,
    Line,
    MagnetisationPoints,
    Motor,
    Notch,
    RunningResistance,
    Start,
)

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324))
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR = Motor(2, 0.42, 75.0, POINTS)
START = Start(130.0, 110.0)
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
KEEP = ("ABCDE", "BCDE", "CDE", "", "CDE", "DE", "E", "")


def notches_of(keep: tuple[str, ...], series: int) -> list[Notch]:
    groupings = [SERIES] * series + [PARALLEL] * (len(keep) - series)
    return [
        Notch(str(k), grouping, Run(tuple(names)))
        for k, (grouping, names) in enumerate(zip(groupings, keep, strict=True), start=1)
    ]


DEMO = notches_of(KEEP, 4)


def demo(
    *,
    line: Line = LINE,
    car: Car = CAR,
    motor: Motor = MOTOR,
    start: Start = START,
    notches: Sequence[Notch] = DEMO,
    hot_ratio: dict[str, float] | None = None,
) -> Ladder:
    return ladder(line, car, motor, start, notches, section_order="ABCDE", hot_ratio=hot_ratio)


def test_a_demo_that_makes_sense() -> None:
    """Independently computed: valley about 91 A, A 1.63 and B 1.36 ohm; C, D and E together 1.14 ohm."""
    found = demo()
    ohms = dict(found.sections)
    assert found.valley_a == pytest.approx(91.0, abs=0.5)
    assert ohms["A"] == pytest.approx(1.63, abs=0.005)
    assert ohms["B"] == pytest.approx(1.36, abs=0.005)
    assert ohms["C"] + ohms["D"] + ohms["E"] == pytest.approx(1.14, abs=0.015)
    assert found.exact
    assert found.remarks == ()
    assert found.notches[-1].speed_kmh == pytest.approx(31.0, abs=0.5)


def test_first_notch_is_an_equality_with_warm_motors_and_its_peak_that_of_cold_ones() -> None:
    first = demo().notches[0]
    assert first.total_ohm == pytest.approx(550.0 / 110.0, rel=1e-9)
    assert first.wanted_ohm == pytest.approx(5.0 - 2 * 0.42 - 0.04, rel=1e-9)
    cold = copper_ohm(0.42, 75.0, 20.0)
    assert first.peak_a == pytest.approx(550.0 / (first.wanted_ohm + 2 * cold + 0.04), rel=1e-9)
    assert first.frozen_flux_a == first.peak_a


def test_the_decisive_peaks_stand_at_the_limit_and_the_rest_is_even() -> None:
    peaks = [notch.peak_a for notch in demo().notches]
    assert peaks[1:4] == pytest.approx([130.0] * 3, rel=1e-7)
    assert max(peaks[5:]) - min(peaks[5:]) < 0.1


def test_peak_rule_is_held_hot_and_the_corner_is_named() -> None:
    cold, hot = demo(), demo(hot_ratio=dict.fromkeys("ABCDE", 1.3))
    assert hot.valley_a < cold.valley_a - 5.0
    assert {notch.corner for notch in cold.notches} == {GRID_COLD}
    assert [notch.corner for notch in hot.notches[1:4]] == [DROPPED_HOT] * 3
    assert max(notch.peak_a for notch in hot.notches) <= 130.0 * (1.0 + 1e-9)


def test_warm_motors_never_peak_higher_than_cold_ones() -> None:
    found = demo()
    grid = [notch.wanted_ohm for notch in found.notches]
    wanted = [replace(notch, wanted_ohm=ohm) for notch, ohm in zip(DEMO, grid, strict=True)]
    start = replace(START, valley_a=found.valley_a * (1.0 - 1e-9))
    warm = demo(notches=wanted, start=start, motor=replace(MOTOR, resistance_at_c=20.0))
    for at_warm, at_cold in zip(warm.notches, found.notches, strict=True):
        assert at_warm.peak_a <= at_cold.peak_a * (1.0 + 1e-7)


def test_a_valley_given_is_kept_and_a_greater_one_refused_with_the_number() -> None:
    largest = demo().valley_a
    easy = demo(start=replace(START, valley_a=85.0))
    assert easy.valley_a == 85.0
    assert max(notch.peak_a for notch in easy.notches[1:]) < 130.0
    with pytest.raises(NoStartError, match=f"largest valley current with these notches is {largest:.4g} A"):
        demo(start=replace(START, valley_a=largest + 0.5))


def test_wanted_ohms_of_one_notch_are_kept() -> None:
    notches = [replace(notch, wanted_ohm=0.8) if notch.name == "6" else notch for notch in DEMO]
    found = demo(notches=notches)
    assert found.notches[5].wanted_ohm == pytest.approx(0.8, rel=1e-9)


def test_contradicting_wanted_ohms_are_refused() -> None:
    notches = [replace(notch, wanted_ohm=6.0) if notch.name == "2" else notch for notch in DEMO]
    with pytest.raises(NoStartError, match="no section ohms meet the conditions"):
        demo(notches=notches)


def test_starts_that_cannot_be() -> None:
    with pytest.raises(NoStartError, match="more than the peak current"):
        demo(start=Start(100.0, 110.0))
    with pytest.raises(NoStartError, match="motors and feeder alone are"):
        demo(line=Line(80.0, 90.0))
    with pytest.raises(NoStartError, match="pulls"):
        demo(car=replace(CAR, gradient=0.2))
    with pytest.raises(CurveError, match="ends at 140 A"):
        demo(start=Start(150.0, 110.0))
    with pytest.raises(CircuitError, match="2 motor strings and 1 circuits"):
        demo(notches=[*DEMO[:-1], Notch("8", PARALLEL, None, (Run(("E",)),))])


def test_passed_notch() -> None:
    found = demo(notches=notches_of(("ABCDE", "BCDE", "CDE", "", "ABCDE", "DE", "E", ""), 4))
    fifth = found.notches[4]
    assert fifth.passed
    assert fifth.peak_a < found.valley_a
    assert fifth.seconds == 0.0
    assert fifth.leave_rad_s == found.notches[3].leave_rad_s
    assert any("notch 5 is passed" in remark for remark in found.remarks)


def test_gentle_first_notch_is_passed_standing() -> None:
    found = demo(start=Start(130.0, 60.0))
    assert found.notches[0].passed
    assert found.notches[0].speed_kmh == 0.0
    assert max(notch.peak_a for notch in found.notches) <= 130.0 * (1.0 + 1e-9)


def test_remarks_on_the_wiring() -> None:
    found = demo(notches=notches_of(("ABCDE", "BCDE", "BCDE", "", "CDE", "CDE", "E", ""), 4))
    assert any(remark.startswith("notches 2 and 3 are alike") for remark in found.remarks)
    assert any("sections C and D are in circuit together" in remark for remark in found.remarks)


def test_remarks_on_wheels_and_gradient() -> None:
    slipping = demo(car=replace(CAR, adhesion=0.12))
    limit = 0.12 * 13500.0 * 9.80665 / 1000.0
    assert any(f"the rails take {limit:.2f} kN" in remark for remark in slipping.remarks)
    steep = demo(car=replace(CAR, gradient=0.08))
    assert any("never falls to the valley current" in remark for remark in steep.remarks)


def test_effort_is_that_of_all_motors_at_the_peak() -> None:
    second = demo().notches[1]
    torque_nm = second.effort_n * 0.84 / 2.0 / (2 * 3.5 * 0.95)
    assert torque_nm / second.peak_a == pytest.approx(MotorCurve(POINTS).k(130.0), rel=1e-7)


def test_a_zero_section_is_a_finding() -> None:
    found = demo(notches=[*DEMO[:6], replace(DEMO[6], wanted_ohm=1e-7), DEMO[7]])
    assert any(remark.startswith("section E comes out at 0.0000 ohm") for remark in found.remarks)


PAIRS, ALL_PARALLEL = Grouping(2, 2), Grouping(1, 4)


def nine(strings: bool) -> tuple[list[Notch], list[str]]:
    """Four motors in two pairs: 1 to 5 in series from the whole grid to none, 6 to 9 in parallel, from it to none."""
    keep = ("ABCD", "BCD", "CD", "D", "", "ABCD", "BCD", "D", "")
    if not strings:
        groupings = [PAIRS] * 5 + [ALL_PARALLEL] * 4
        return [
            Notch(str(k), grouping, Run(tuple(names)))
            for k, (grouping, names) in enumerate(zip(groupings, keep, strict=True), start=1)
        ], list("ABCD")

    def run(names: str, *motors: int) -> Run:
        return Run(tuple(f"{name}{motor}" for motor in motors for name in names))

    made = [Notch(str(k), PAIRS, None, (run(n, 0, 1), run(n, 2, 3))) for k, n in enumerate(keep[:5], start=1)]
    made += [
        Notch(str(k), ALL_PARALLEL, None, tuple(run(n, motor) for motor in range(4)))
        for k, n in enumerate(keep[5:], start=6)
    ]
    return made, [f"{name}{motor}" for name in "ABCD" for motor in range(4)]


def four_motors(strings: bool) -> Ladder:
    notches, sections = nine(strings)
    car, motor = replace(CAR, mass_kg=27000.0), replace(MOTOR, count=4)
    return ladder(Line(600.0, 700.0, 0.02), car, motor, Start(130.0, 100.0), notches, section_order=sections)


def test_four_motors_in_two_pairs_with_a_common_grid() -> None:
    """Common practice, no source: nine notches. The line current stays near, the motor current about halves."""
    found = four_motors(strings=False)
    fifth, sixth = found.notches[4], found.notches[5]
    assert sixth.passed
    assert 0.3 < sixth.peak_a / found.valley_a < 0.6
    assert 0.6 < sixth.line_peak_a / (found.valley_a * PAIRS.parallel) < 1.2
    assert sixth.leave_rad_s == fifth.leave_rad_s
    assert found.notches[3].wanted_ohm < 0.25 * found.notches[0].wanted_ohm
    assert found.notches[5].wanted_ohm == found.notches[0].wanted_ohm


def test_four_motors_in_two_pairs_with_a_grid_per_string() -> None:
    """The motor current stays near, and grids of like strings come out alike."""
    found = four_motors(strings=True)
    ohms = dict(found.sections)
    assert not found.notches[5].passed
    assert found.notches[5].peak_a > found.valley_a
    for name in "ABCD":
        assert [ohms[f"{name}{motor}"] for motor in range(1, 4)] == pytest.approx([ohms[f"{name}0"]] * 3, rel=1e-6)
    assert max(notch.peak_a for notch in found.notches) <= 130.0 * (1.0 + 1e-9)


@pytest.mark.parametrize("keep", [("ABCDE",), ("ABCDE", ""), ("ABCDE", "BCDE", "ABCDE", "")])
def test_the_shortest_ladders_and_one_that_goes_back(keep: tuple[str, ...]) -> None:
    found = demo(notches=notches_of(keep, len(keep)))
    assert len(found.notches) == len(keep)
    assert sum(ohm for _, ohm in found.sections) == pytest.approx(4.12, rel=1e-9)
    assert max(notch.peak_a for notch in found.notches) <= 130.0 * (1.0 + 1e-9)


def test_first_notch_ohms_given_are_kept_and_remarked() -> None:
    found = demo(notches=[replace(DEMO[0], wanted_ohm=4.4), *DEMO[1:]])
    assert found.notches[0].wanted_ohm == pytest.approx(4.4, rel=1e-9)
    assert any("104.2 A with warm motors, not the 110.0 A asked for" in remark for remark in found.remarks)
