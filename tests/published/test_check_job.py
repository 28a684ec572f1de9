"""A check job of a shape the trade knows (common practice, no source), to be accepted, to hold, and to be made.

A strip about 8 1/2 ft long folds into a plate of 9 1/2 x 7 1/2 in; 22 such plates in a box are "about 180 ft" of
conductor and three boxes in series "about 540 ft" (round figures, some 4 % under 22 x 8 1/2 ft = 187 ft). Four motors
in two pairs; nine notches, 1 to 5 in series from the whole grid to none, 6 to 9 in parallel starting with the whole
grid again and dropping to none; on the last notch but one of series only a little of the grid is left. Car, line,
motor curve and duty are invented.
"""

import re
from collections.abc import Callable

import pytest

from griddesign.choose.from_job import wanted_of
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.records import Result, Verdict
from griddesign.judge.work import plate_report, result_of
from griddesign.traction.records import Ladder, NotchWanted

TRADE = "Common practice, no source (round figures)"

FOOT_M, INCH_M = 0.3048, 0.0254
CHECK = """
schema = 1
title = "Check job: four motors, nine notches"
example = true
[line]
nominal = "600 V"
highest = "650 V"
feeder_resistance = "0.03 ohm"
[car]
mass = "22 t"
rotating_mass = "10 %"
wheel_diameter = "33 in"
gear_ratio = "69/14"
drive_efficiency = "95 %"
running_resistance = { constant = "50 N/t", per_speed = "1 N/t per km/h" }
[motor]
count = 4
resistance = "0.6 ohm at 75 degC"
[motor.magnetisation]
speed = "600 rpm"
current = ["10 A", "20 A", "40 A", "60 A", "80 A"]
emf = ["110 V", "215 V", "381 V", "485 V", "550 V"]
[start]
peak_current = "75 A"
first_notch_current = "60 A"
[grid]
sections = ["A", "B", "C", "D", "E"]
[[notch]]
name = "1"
motors = "series"
circuit = ["A", "B", "C", "D", "E"]
[[notch]]
name = "2"
motors = "series"
circuit = ["B", "C", "D", "E"]
[[notch]]
name = "3"
motors = "series"
circuit = ["C", "D", "E"]
[[notch]]
name = "4"
motors = "series"
circuit = ["E"]
[[notch]]
name = "5"
motors = "series"
circuit = []
[[notch]]
name = "6"
motors = "parallel"
circuit = ["A", "B", "C", "D", "E"]
[[notch]]
name = "7"
motors = "parallel"
circuit = ["D", "E"]
[[notch]]
name = "8"
motors = "parallel"
circuit = ["E"]
[[notch]]
name = "9"
motors = "parallel"
circuit = []
[[plate]]
name = "P"
metal = "grey_iron_class30"
made_by = "cast"
may_vary = { strip_width = "6 mm to 9 mm" }
[plate.shape]
family = "zigzag"
height = "9 1/2 in"
passes = 10
strip_width = "8 mm"
pass_gap = "12.28 mm"
thickness = "4.2 mm"
eyes = "one edge"
[boxes]
boxes = 3
plates_per_box = 22
plate_gap = "1/2 in"
[duty]
start_every = "240 s"
[limits]
plate = { value = "400 degC", source = "check job" }
notch_tolerance = "5 %"
"""


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Job]:
    def job(text: str) -> Job:
        path = tmp_path_factory.mktemp("check") / "check.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)

    return job


@pytest.fixture(scope="module")
def result(read: Callable[[str], Job]) -> Result:
    return result_of(read(CHECK))


@pytest.fixture(scope="module")
def ladder(result: Result) -> Ladder:
    assert result.worked is not None and isinstance(result.worked.wanted, Ladder)
    return result.worked.wanted


def test_the_job_is_accepted_and_holds(result: Result) -> None:
    assert [finding for finding in result.findings if finding.verdict is not Verdict.HOLDS] == []
    assert [len(notch.common.parts) for notch in result.job.notches if notch.common] == [5, 4, 3, 1, 0, 5, 2, 1, 0]
    assert [(notch.grouping.series, notch.grouping.parallel) for notch in result.job.notches] == [(2, 2)] * 5 + [
        (1, 4)
    ] * 4


def test_three_boxes_of_22_plates_carry_it(result: Result) -> None:
    assert result.layout is not None and result.worked is not None and result.worked.design is not None
    plates = sum(section.plates for section in result.worked.design.sections)
    assert result.worked.design.boxes == 3
    assert 60 <= plates <= 66
    assert all(section.in_parallel == 1 for section in result.worked.design.sections), "all of it in series"


def test_the_strip_folds_into_the_plate(result: Result, checked) -> None:
    """Ten passes of a strip of about 7 mm, some 13 mm of air between them, 8 1/2 ft from eye to eye."""
    (plate,) = result.plates
    figures = plate.figures
    assert (figures.height_m, figures.width_m) == pytest.approx((9.5 * INCH_M, 7.5 * INCH_M), rel=0.01)
    assert plate.shape.passes == 10
    assert 6e-3 <= plate.shape.strip_width_m <= 9e-3
    assert plate.shape.strip_width_m + plate.shape.pass_gap_m == pytest.approx(20.28e-3, rel=1e-9)
    assert figures.strip_m == pytest.approx(8.5 * FOOT_M, rel=0.02)
    assert all(check.ok for check in plate.checks if check.must), "it can be cast"
    checked(TRADE, "strip of a plate of 9 1/2 x 7 1/2 in", 8.5, figures.strip_m / FOOT_M, "ft")


def test_round_figures_of_conductor(result: Result, checked) -> None:
    (plate,) = result.plates
    box_m = 22 * plate.figures.strip_m
    assert box_m / FOOT_M == pytest.approx(180.0, rel=0.06)
    assert 3 * box_m / FOOT_M == pytest.approx(540.0, rel=0.06)
    checked(TRADE, "conductor of a box of 22 plates", 180.0, box_m / FOOT_M, "ft")
    checked(TRADE, "conductor of three boxes", 540.0, 3 * box_m / FOOT_M, "ft")


def test_the_plate_as_drawn_is_feasible_by_itself(read: Callable[[str], Job]) -> None:
    plate = plate_report(read(CHECK).plates[0], None, {})
    assert plate.figures.smallest_web_m > 4e-3
    assert plate.figures.low_ohm < plate.figures.cold_ohm < plate.figures.high_ohm


def test_only_a_little_is_left_on_the_last_notch_but_one_of_series(ladder: Ladder) -> None:
    notches = by_name(ladder)
    assert notches["5"].wanted_ohm == notches["9"].wanted_ohm == 0.0
    assert notches["4"].wanted_ohm < 0.12 * notches["1"].wanted_ohm
    assert notches["6"].wanted_ohm == pytest.approx(notches["1"].wanted_ohm, rel=1e-9), "the whole grid again"


def test_with_a_common_grid_the_line_current_stays_near_and_the_motors_halves(ladder: Ladder) -> None:
    before, after = by_name(ladder)["5"], by_name(ladder)["6"]
    assert after.peak_a / before.valley_a == pytest.approx(0.5, abs=0.05)
    assert line_a(after, after.peak_a) / line_a(before, before.valley_a) == pytest.approx(1.0, abs=0.1)


def test_with_a_grid_for_each_string_the_motor_current_stays_near(read: Callable[[str], Job]) -> None:
    """Two motors, each with half of the plates: in series both halves, in parallel each string its own."""
    wanted = wanted_of(read(two_motors()))
    assert isinstance(wanted, Ladder)
    before, after = by_name(wanted)["5"], by_name(wanted)["6"]
    assert not after.passed
    assert after.peak_a / before.valley_a == pytest.approx(1.0, abs=0.2)
    assert line_a(after, after.peak_a) / line_a(before, before.valley_a) == pytest.approx(2.0, abs=0.4)


def by_name(ladder: Ladder) -> dict[str, NotchWanted]:
    return {notch.name: notch for notch in ladder.notches}


def line_a(notch: NotchWanted, motor_a: float) -> float:
    """Current from the line: one motor current for each string."""
    return motor_a * notch.grouping.parallel


def two_motors() -> str:
    """The check job for two motors and half the car, with a grid per string; plates and boxes left out."""
    text = CHECK[: CHECK.index("[[plate]]")].replace('mass = "22 t"', 'mass = "11 t"').replace("count = 4", "count = 2")

    def halves(found: re.Match[str]) -> str:
        names = re.findall(r"[A-E]", found["names"])
        first, second = ([f"{name}{half}" for name in names] for half in (1, 2))
        if found["motors"] == "series":
            return f'motors = "series"\ncircuit = {first + second}'
        return f'motors = "parallel"\nstrings = {[first, second]}'

    text = re.sub(r'motors = "(?P<motors>\w+)"\ncircuit = \[(?P<names>.*)\]', halves, text)
    sections = [f"{name}{half}" for half in (1, 2) for name in "ABCDE"]
    return re.sub(r"sections = .*", f"sections = {sections}", text)
