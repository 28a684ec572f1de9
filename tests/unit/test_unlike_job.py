"""Transitions, fields, unlike motors and drivers as a job file gives them; one motor cut out of a job ready to run."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from griddesign.errors import CircuitError, Complaint, JobError, NoStartError
from griddesign.grid.records import Run
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.cut_out import cut_out_of, motors_cut_out, usually_cut_out
from griddesign.judge.finding import Verdict
from griddesign.judge.records import Result
from griddesign.judge.runup import Starter, closed_run, dwell_s
from griddesign.papers.blocks import Paragraph
from griddesign.papers.notch_json import cut_out_json, notch_json
from griddesign.papers.sheets.unlike import field_words, transition_words
from griddesign.shipped import examples_folder
from griddesign.traction.curve import MotorCurve
from griddesign.traction.held import HeldNotch
from griddesign.traction.ladder import ladder
from griddesign.traction.problem import Stage
from griddesign.traction.records import Grouping, MotorOwn, Notch, Transition

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
VALLEY = 'notch_up = "at valley current"'
FIFTH = 'name = "5"\nmotors = "parallel"\n'
LAST = 'name = "8"\nmotors = "parallel"\ncircuit = []'
MOTOR = "[start]\n"
SHORTED = '{ kind = "one motor shorted", seconds = "0.5 s", circuit = ["C", ["D", "E"]] }'
ONE_ARM = '{ kind = "bridge", seconds = "0.5 s", strings = [["A"]] }'
BRIDGE = '{ kind = "bridge", seconds = "0.5 s", strings = [["A"], ["B"]] }'


@pytest.fixture
def job(tmp_path: Path) -> Callable[..., Job]:
    """The demo's job file with some texts replaced."""

    def read(*changes: tuple[str, str]) -> Job:
        text = DEMO
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "job.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)

    return read


@pytest.fixture(scope="module")
def ready(demo: Result) -> Starter:
    assert demo.worked is not None
    return Starter(demo.job, demo.worked)


def complaints(call: Callable[[], object]) -> tuple[Complaint, ...]:
    with pytest.raises(JobError) as caught:
        call()
    return caught.value.complaints()


def test_transitions_of_the_start_and_of_a_notch(job: Callable[..., Job]) -> None:
    start = job((VALLEY, f"{VALLEY}\ntransition = {BRIDGE}")).start
    assert start is not None
    assert start.transition == Transition("bridge", 0.5, (Run(("A",)), Run(("B",))))
    given = job((VALLEY, f"{VALLEY}\ntransition = {BRIDGE}"), (FIFTH, f"{FIFTH}transition = {SHORTED}\n"))
    own = given.notches[4].transition
    assert own is not None and own.kind == "one motor shorted"
    assert own.circuits[0].parts[0] == "C"


def test_a_field_and_a_motor_resistance(job: Callable[..., Job]) -> None:
    notch = job((LAST, LAST + '\nfield = "65 %"\nmotor_resistance = "0.36 ohm"')).notches[7]
    assert (notch.field, notch.motor_ohm) == (0.65, 0.36)


def test_motors_one_by_one(job: Callable[..., Job]) -> None:
    each = '[[motor.each]]\n[[motor.each]]\nwheel_diameter = "820 mm"\nemf_factor = "0.97"\nresistance = "0.44 ohm"\n'
    motor = job((MOTOR, each + MOTOR), ("count = 2", 'count = 2\ninductance = "15 mH"')).motor
    assert motor is not None
    assert motor.each == (MotorOwn(), MotorOwn(0.82, None, 0.44, 0.97))
    assert motor.inductance_h == 0.015


def test_a_motor_with_a_curve_of_its_own(job: Callable[..., Job]) -> None:
    curve = (
        '[[motor.each]]\nmagnetisation = { speed = "600 rpm", current = ["40 A", "150 A"], emf = ["240 V", "560 V"] }\n'
    )
    motor = job((MOTOR, f"{curve}[[motor.each]]\n{MOTOR}")).motor
    assert motor is not None and motor.each[0].magnetisation is not None
    assert motor.each[0].magnetisation.emf_v == (240.0, 560.0)


@pytest.mark.parametrize(
    ("changes", "key", "message"),
    [
        ([(VALLEY, f"{VALLEY}\ntransition = {BRIDGE.replace('bridge', 'power off')}")], "strings", "nothing carries"),
        ([(VALLEY, f"{VALLEY}\ntransition = {SHORTED.replace('one motor shorted', 'bridge')}")], "circuit", "not what"),
        ([(VALLEY, f"{VALLEY}\ntransition = {ONE_ARM}")], "strings", "1 circuits"),
        ([(VALLEY, f"{VALLEY}\ntransition = {BRIDGE.replace('B', 'Z')}")], "start.transition", "section Z"),
        ([(FIFTH, f"{FIFTH}transition = {BRIDGE.replace('B', 'Z')}\n")], "notch.5.transition", "section Z"),
        ([('name = "3"', f'name = "3"\ntransition = {BRIDGE}')], "notch.3.transition", "grouped as"),
        ([('name = "1"', f'name = "1"\ntransition = {BRIDGE}')], "notch.1.transition", "before the first"),
        ([('name = "7"\nmotors = "parallel"', 'name = "7"\nmotors = "series"'),
          (VALLEY, f"{VALLEY}\ntransition = {BRIDGE}")], "notch.7", "two halves"),
        ([(LAST, LAST + '\nfield = "10 %"')], "notch.8.field", "10 % cannot be"),
        ([(LAST, LAST + '\nfield = "110 %"')], "notch.8.field", "more than 1"),
        ([(MOTOR, f"[[motor.each]]\n{MOTOR}")], "motor.each", "1 motors are described"),
        ([(MOTOR, f'[[motor.each]]\nemf_factor = "3"\n[[motor.each]]\n{MOTOR}')], "each.1.emf_factor", "3 cannot be"),
        ([(VALLEY, 'notch_up = "within peak current"\ntimes = ["1 s"]')], "start.times", "within peak current"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_at_its_key(
    job: Callable[..., Job], changes: list[tuple[str, str]], key: str, message: str
) -> None:
    found = complaints(lambda: job(*changes))
    assert any(key in str(one.key) and message in one.message and one.hint for one in found), [
        str(one) for one in found
    ]


def test_the_clock_counts_the_change_of_grouping(job: Callable[..., Job]) -> None:
    times = [1.4, 3.0, 4.3, 5.4, 7.9, 9.7, 11.0, 12.6]
    listed = f'notch_up = "by time"\ntimes = {json.dumps([f"{time} s" for time in times])}\ntransition = {SHORTED}'
    given = job((VALLEY, listed))
    assert dwell_s(given) == pytest.approx((1.4, 1.6, 1.3, 1.1, 2.0, 1.8, 1.3, 1.6))


def _with(ready: Starter, **start: object) -> Starter:
    assert ready.job.start is not None
    return replace(ready, job=replace(ready.job, start=replace(ready.job.start, **start)))  # type: ignore[arg-type]


def test_a_job_goes_through_its_transition(ready: Starter) -> None:
    bridged = _with(ready, transition=Transition("bridge", 0.5, (Run(("A",)), Run(("B",)))))
    told = closed_run(bridged)
    assert abs(float(told.energy.balance_error[0])) <= 1e-6
    (row,) = told.transitions
    assert notch_json(row, 0)["notch"] == "transition 4-5"
    assert {point.notch for point in told.trace} >= {"4", "transition 4-5", "5"}
    assert row.line_peak_a[0] > 2.0 * row.peak_a[0]  # a motor and the resistor beside it


def test_a_job_is_driven_within_its_peak(ready: Starter) -> None:
    quick, usual = closed_run(_with(ready, notch_up="within peak current")), closed_run(ready)
    assert max(float(log.peak_a[0]) for log in quick.notches) <= 130.0 + 1e-9
    assert quick.seconds[0] < usual.seconds[0]
    low = _with(ready, notch_up="within peak current", peak_a=60.0)
    with pytest.raises(NoStartError, match="next peak stays within 60 A"):
        closed_run(replace(low, job=replace(low.job, car=replace(low.job.car, gradient=0.05))))  # type: ignore[type-var]


def test_unlike_wheels_of_a_job(ready: Starter) -> None:
    assert ready.job.motor is not None
    unlike = replace(ready, job=replace(ready.job, motor=replace(ready.job.motor, each=(MotorOwn(), MotorOwn(0.80)))))
    told, usual = closed_run(unlike), closed_run(ready)
    assert abs(float(told.energy.balance_error[0])) <= 1e-6
    last = notch_json(told.notches[-1], 0)["motors"]
    assert last[0]["current_a"] > last[1]["current_a"] + 2.0  # the smaller wheel turns faster and takes less
    assert last[0]["volts_v"] == pytest.approx(last[1]["volts_v"])
    assert told.notches[6].peak_a[0] > usual.notches[6].peak_a[0]


def test_inductance_takes_a_little_off_every_peak(ready: Starter) -> None:
    assert ready.job.motor is not None
    known = replace(ready, job=replace(ready.job, motor=replace(ready.job.motor, inductance_h=0.015)))
    for log in closed_run(known).notches:
        assert log.inductive_a is not None
        assert 0.95 * log.peak_a[0] < log.inductive_a[0] <= log.peak_a[0]
    assert closed_run(ready).notches[0].inductive_a is None


def test_which_motors_are_cut_out() -> None:
    def first(series: int, parallel: int) -> tuple[int, ...]:
        return usually_cut_out((Notch("1", Grouping(series, parallel), Run()),))

    assert (first(2, 1), first(2, 2), first(4, 1), first(1, 4), first(1, 1)) == ((1,), (1, 3), (2, 3), (3,), ())
    cut = motors_cut_out((Notch("1", Grouping(2, 2), Run()), Notch("2", Grouping(1, 4), Run())), (1, 3))
    assert [Stage.of(notch).grouping for notch in cut] == [Grouping(1, 2), Grouping(1, 2)]
    strings = Notch("1", Grouping(1, 2), None, (Run(("A",)), Run(("B",))), out=(0,))
    assert Stage.of(strings).circuits == (Run(("B",)),)
    with pytest.raises(CircuitError, match="unlike length"):
        Stage.of(Notch("1", Grouping(2, 2), Run(), out=(1,)))


def test_the_demo_with_one_motor_cut_out(ready: Starter) -> None:
    """The motor left has the whole line on it: it peaks higher, the parallel notches do nothing, the plates hold."""
    found = cut_out_of(ready)
    assert found is not None and found.out == (1,)
    usual = ready.run(ready.cases)
    assert found.run.notches[0].peak_a[0] > usual.notches[0].peak_a[0]
    assert found.run.notches[4].passed.all()
    assert found.run.notches[0].line_peak_a == pytest.approx(found.run.notches[0].peak_a)
    assert all(one.verdict is Verdict.HOLDS for one in found.findings)
    hottest = {one.name: one.hot_c for one in found.heat}
    assert set(hottest) == set("ABCDE")
    assert max(hottest.values()) > float(usual.hottest_c.max())  # as run in the cases as given, by the worst end
    data = json.loads(json.dumps(cut_out_json(found), allow_nan=False))
    assert data["motors"] == [2] and len(data["cases"]) == 4
    assert data["cases"][0]["peaks"][0]["current_a"] == pytest.approx(float(found.run.notches[0].peak_a[0]))


def test_a_job_with_one_motor_has_none_to_spare(ready: Starter) -> None:
    assert ready.job.motor is not None
    alone = tuple(replace(notch, grouping=Grouping(1, 1)) for notch in ready.job.notches)
    assert cut_out_of(replace(ready, job=replace(ready.job, notches=alone))) is None
    assert cut_out_json(None) is None


def test_one_motor_that_cannot_climb_says_where_it_hangs(ready: Starter) -> None:
    assert ready.job.car is not None
    steep = replace(ready, job=replace(ready.job, car=replace(ready.job.car, gradient=0.055)))
    found = cut_out_of(steep)
    assert found is not None
    assert any("never falls" in remark for remark in found.remarks)
    assert cut_out_json(found)["cases"][0]["stuck_on"] is not None  # type: ignore[index]


def test_ladder_and_held_notch_respect_a_weakened_field(ready: Starter) -> None:
    """A notch of 60 % field after the last: its peak as in the run, the rest of the ladder as it was."""
    job = ready.job
    assert job.line and job.car and job.motor and job.start
    weak = (*job.notches, Notch("9", Grouping(1, 2), Run(), field=0.6, motor_ohm=0.36))
    start = replace(job.start, valley_a=75.0)
    plain = ladder(job.line, job.car, job.motor, start, job.notches, section_order=job.section_order)
    found = ladder(job.line, job.car, job.motor, start, weak, section_order=job.section_order)
    last = found.notches[-1]
    assert last.peak_a > found.notches[-2].valley_a
    assert found.notches[-2].wanted_ohm == plain.notches[-1].wanted_ohm == 0.0
    cold = 0.36 * (234.5 + 20.0) / (234.5 + 75.0)
    curve = MotorCurve(job.motor.magnetisation)
    total = 0.42 * (234.5 + 20.0) / (234.5 + 75.0) + 2 * 0.04
    speed = (550.0 - 75.0 * total) / curve.k(75.0)
    current = 75.0
    for _ in range(200):  # V = I·R' + k(0.6 I)·n, by halving the step
        current += 0.2 * (550.0 - curve.k(0.6 * current) * speed - current * (cold + 0.08))
    assert last.peak_a == pytest.approx(current, abs=1e-3)
    held = HeldNotch(job.line, job.car, job.motor, weak[-1], 550.0)
    full = HeldNotch(job.line, job.car, job.motor, weak[-2], 550.0)
    assert held.settled_a(0.0) > full.settled_a(0.0)
    assert held.speed_m_s(held.settled_a(0.0)) > full.speed_m_s(full.settled_a(0.0))
    balance = held.settled_a(0.0)
    turns = held.speed_m_s(balance) * 2.0 * job.car.gear_ratio / job.car.wheel_diameter_m
    assert balance * (0.36 + 0.08) + curve.k(0.6 * balance) * turns == pytest.approx(550.0, rel=1e-6)


def test_papers_say_the_sequence_and_the_split(ready: Starter, job: Callable[..., Job]) -> None:
    given = job(
        (VALLEY, f"{VALLEY}\ntransition = {BRIDGE}"),
        (FIFTH, f"{FIFTH}transition = {SHORTED}\n"),
        (LAST, LAST + '\nfield = "65 %"'),
    )
    (shorted,) = transition_words(given)
    assert isinstance(shorted, Paragraph)
    assert shorted.text.startswith("From notch 4 to 5: the second half of every string is short-circuited")
    assert shorted.text.endswith("0.500 s in all. Sections in it: C D E.")
    (bridged,) = transition_words(job((VALLEY, f"{VALLEY}\ntransition = {BRIDGE}")))
    assert isinstance(bridged, Paragraph) and bridged.text.endswith("Grids: of half 1 A, of half 2 B.")
    assert list(transition_words(ready.job)) == []
    assert [field_words(notch) for notch in given.notches[6:]] == ["", ", 65 % field"]
