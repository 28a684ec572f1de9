"""Both ends of what is not sure: trials side by side as alone, verdicts that become not shown, and the ranking."""

import json
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from griddesign.choose.from_job import Worked
from griddesign.errors import InputError
from griddesign.heat.lumps import ENDS
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.abreast import abreast, alike, ran_of, run_of
from griddesign.judge.design_ends import design_at_ends
from griddesign.judge.ends import AtEnds, Trial, moved, ohms_of_metal, tried
from griddesign.judge.finding import Finding, Unknown, Verdict
from griddesign.judge.findings import judge_heat
from griddesign.judge.heat_cases import holds
from griddesign.judge.measuring import advice, metal_ends, ranked, settled, weak_keys
from griddesign.judge.records import Result
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.runup import Starter
from griddesign.judge.service_day import service_day
from griddesign.judge.start_ends import holds_at_ends, metal_of_start, shortest, start_at_ends, start_trials
from griddesign.judge.start_result import StartResult, start_from
from griddesign.papers.start_json import start_json
from griddesign.shipped import examples_folder
from griddesign.traction.runup.records import RunUp

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
HOLDS, FAILS, NOT_SHOWN = Verdict.HOLDS, Verdict.FAILS, Verdict.NOT_SHOWN


@pytest.fixture
def job(tmp_path: Path) -> Callable[..., Job]:
    """The demo's job with some texts replaced."""

    def read(*changes: tuple[str, str]) -> Job:
        text = DEMO
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        path = tmp_path / "ends.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)

    return read


@pytest.fixture
def worked(demo: Result) -> Worked:
    assert demo.worked is not None
    return demo.worked


MASS = ('mass = "13.5 t"', 'mass = "12 t to 17 t"')
RESISTANCE = ('resistance = "0.42 ohm at 75 degC"', 'resistance = "0.4 ohm to 0.48 ohm"')


def nothing(*_: object) -> tuple[Finding, ...]:
    return ()


# Side by side as alone.


def test_ends_of_the_metal_run_along_with_the_heat_as_they_run_alone(demo: Result) -> None:
    """The same to what a settled day is settled to (0.01 K), and to the currents that go with it."""
    assert demo.ran is not None and demo.ran.beside is not None
    along, alone = metal_of_start(demo.ran.ready, demo.ran), metal_of_start(demo.ran.ready)
    assert [(one.key, one.section, one.notch) for one in along] == [(one.key, one.section, one.notch) for one in alone]
    assert [one.heat_swing_k for one in along] == pytest.approx([one.heat_swing_k for one in alone], abs=0.02)
    assert [one.swing for one in along] == pytest.approx([one.swing for one in alone], abs=1e-5)


def test_starts_run_abreast_as_they_run_alone(job: Callable[..., Job], worked: Worked) -> None:
    """The same numbers to rounding: peaks, heat of the settled day, neighbours, joules."""
    weak = job(MASS, ('nominal = "550 V"', 'nominal = "530 V to 570 V"'))
    pins = ({}, {"car.mass": "high"}, {"line.nominal": "low"})
    members = [Starter(*moved(weak, worked, one)) for one in pins]
    assert alike(members[0], members[1]) and alike(members[0], members[2])
    together = abreast(members)
    run, day = together.run(together.cases), service_day(together, ENDS)
    assert day is not None
    for member, at, hot_at in zip(members, together.places(), together.places(len(ENDS)), strict=True):
        alone, alone_day, own_day = member.run(member.cases), service_day(member, ENDS), ran_of(day, member, hot_at)
        assert alone_day is not None
        for log, other in zip(run_of(run, at).notches, alone.notches, strict=True):
            np.testing.assert_allclose(log.peak_a, other.peak_a, rtol=1e-9)
        np.testing.assert_allclose(run_of(run, at).energy.line_j, alone.energy.line_j, rtol=1e-9)
        np.testing.assert_allclose(own_day.beside_c, alone_day.beside_c, atol=0.02)  # as near as a day is settled
        assert [row.section for row in own_day.worst()] == [row.section for row in alone_day.worst()]
        assert own_day.cases == alone_day.cases


def test_starts_of_another_car_or_curve_go_by_themselves(job: Callable[..., Job], worked: Worked) -> None:
    plain, geared = job(), job(('gear_ratio = "3.5"', 'gear_ratio = "3.6"'))
    assert not alike(Starter(plain, worked), Starter(geared, worked))
    limit = job(('value = "400 degC"', 'value = "390 degC"'))
    assert not alike(Starter(plain, worked), Starter(limit, worked))


def test_one_end_that_cannot_run_does_not_take_the_others_with_it(job: Callable[..., Job], worked: Worked) -> None:
    """At 900 V a current passes the end of the motor curve: that trial is refused, the other is run."""
    weak = job(('highest = "660 V"', 'highest = "600 V to 900 V"'))
    low, high = start_trials(Starter(weak, worked), [{"line.highest": "low"}, {"line.highest": "high"}], nothing)
    assert not low.refused and low.current is not None
    assert "motor curve ends at 140 A" in high.refused and high.current is None


# The ends of a start.


@pytest.fixture
def weak(job: Callable[..., Job], worked: Worked) -> Starter:
    return Starter(job(MASS, RESISTANCE), worked)


def test_both_ends_enclose_what_lies_between(weak: Starter) -> None:
    """Every notch's peak and every section's heat at the given value lies between those at the two ends."""
    keys = ("car.mass", "motor.resistance")
    pins = [{}, *({key: end} for key in keys for end in ("low", "high"))]
    base, *ends = start_trials(weak, pins, nothing)
    assert base.current is not None and base.hot_c is not None
    for low, high in (ends[:2], ends[2:]):
        assert low.current is not None and high.current is not None and low.hot_c and high.hot_c
        peaks = np.stack([low.current, high.current])
        assert np.all(peaks.min(axis=0) <= base.current * (1 + 1e-6))
        assert np.all(base.current <= peaks.max(axis=0) * (1 + 1e-6))
        for section, hot_c in base.hot_c.items():
            both = low.hot_c[section], high.hot_c[section]
            assert min(both) - 0.02 <= hot_c <= max(both) + 0.02
    light, heavy = ends[:2]
    assert light.hot_c and heavy.hot_c and all(light.hot_c[name] < heavy.hot_c[name] for name in heavy.hot_c)


def test_what_holds_at_one_end_and_fails_at_another_is_not_shown(job: Callable[..., Job], worked: Worked) -> None:
    """Section D holds a limit at the given mass and fails it at 17 t: not shown, and the car is to be weighed."""
    base, heavy = start_trials(Starter(job(MASS), worked), [{}, {"car.mass": "high"}], nothing)
    assert base.hot_c and heavy.hot_c and heavy.hot_c["D"] > base.hot_c["D"] + 30.0
    between = f'value = "{0.5 * (base.hot_c["D"] + heavy.hot_c["D"]) + 45.0:.0f} degC"'  # 45 K: the metal's worst end
    ready = Starter(job(('value = "400 degC"', between), MASS), worked)
    ends = start_at_ends(ready, heat_only)
    given, found = (section_d(findings) for findings in (ends.base.findings, ends.settled(ends.base.findings)))
    assert given.verdict is HOLDS and found.verdict is NOT_SHOWN
    assert "with car.mass at its high end" in found.why and found.measure_next == advice("car.mass")
    assert found.measure_next.startswith("Weigh the car")


def heat_only(ready: Starter, run: RunUp, ran: RunHeat | None) -> tuple[Finding, ...]:
    assert ran is not None
    return tuple(judge_heat(ran.duty_rows, ran.given_rows, None))


def section_d(findings: Iterable[Finding]) -> Finding:
    (found,) = (one for one in findings if one.item.startswith("section D"))
    return found


def test_three_corners_are_run_and_the_worst_are_worse_than_any_single_end(weak: Starter) -> None:
    ends = start_at_ends(weak, nothing)
    assert len(ends.singles) == 4 and 2 <= len(ends.corners) <= 3
    assert all(set(corner.pins) == {"car.mass", "motor.resistance"} for corner in ends.corners)
    hot = ends.hottest
    singles_k, corners_k = ([ends.heat_k(one) for one in trials] for trials in (ends.singles, ends.corners))
    assert max(corners_k) > max(singles_k) > 0.0 > min(singles_k) > min(corners_k)
    assert hot == "D" and ends.base.hot_c is not None
    highest = [float(one.current.max()) for one in (*ends.singles, *ends.corners) if one.current is not None]
    assert max(highest) == pytest.approx(max(highest[4:]), rel=1e-6)


def test_measure_next_of_the_demo_names_the_metal_and_the_loss_model(demo_start: StartResult) -> None:
    """Nothing of the demo's own is unsure; its iron's coefficient and the loss model are."""
    keys = [one.key for one in demo_start.measure_next]
    assert keys == ["metal.grey_iron_class30.alpha20", "loss model", "metal.grey_iron_class30.emissivity"]
    loss = demo_start.measure_next[1]
    assert loss.heat_swing_k == pytest.approx(38.0, abs=3.0) and loss.section == "D"
    data = start_json(demo_start)["measure_next"]
    assert [set(one) for one in data] == [
        {"key", "text", "current_swing_percent", "heat_swing_k", "notch", "section", "how"}
    ] * 3
    json.dumps(data, allow_nan=False)


@pytest.fixture(scope="module")
def demo_start(demo: Result) -> StartResult:
    assert demo.worked is not None
    ready = Starter(demo.job, demo.worked)
    return start_from(ready, demo.ran)


def test_where_every_figure_is_sure_the_heat_that_is_known_is_as_good_as_run_again(demo: Result) -> None:
    assert demo.ran is not None and not list(weak_keys(demo.job))
    known, again = start_at_ends(demo.ran.ready, nothing, demo.ran), start_at_ends(demo.ran.ready, nothing)
    assert known.measure_next == again.measure_next
    assert known.hottest == again.hottest
    assert known.base.hot_c == pytest.approx(again.base.hot_c, abs=0.02)  # each day is searched to 0.01 K
    assert known.settled(demo.findings) == again.settled(demo.findings)
    assert known.hold_s == again.hold_s == {}


def test_a_job_without_plates_has_ends_of_its_currents_only(job: Callable[..., Job], worked: Worked) -> None:
    bare = replace(worked, design=None)
    ends = start_at_ends(Starter(replace(job(RESISTANCE), plates=(), boxes=None), bare), nothing)
    assert ends.hottest == "" and ends.of_metal == ()
    (only,) = ends.measure_next
    assert only.key == "motor.resistance" and only.swing > 0.01 and only.heat_swing_k is None


# The ends of a design.


def test_a_design_is_held_at_both_ends(job: Callable[..., Job], worked: Worked) -> None:
    """0.42 to 0.72 ohm in each motor: the ohms wanted of notch 1 are out of tolerance at one end: not shown."""
    read = job((RESISTANCE[0], 'resistance = "0.42 ohm to 0.72 ohm"'))
    ends = design_at_ends(read, worked)
    (unknown,) = ends.unknowns
    assert unknown.key == "motor.resistance" and unknown.notch == "1" and unknown.swing > 0.05
    (first,) = (one for one in ends.measure_next if one.key == "motor.resistance")
    assert first.swing >= unknown.swing and first.section == "D" and first.heat_swing_k
    (found,) = ends.settled([Finding("notch 1, ohms", HOLDS, "as given")])[:1]
    assert found.verdict is NOT_SHOWN and "with motor.resistance at its" in found.why
    assert found.measure_next == advice("motor.resistance")


def test_the_ohms_of_a_casting_nobody_measured_are_an_unknown_of_the_grid(
    job: Callable[..., Job], worked: Worked
) -> None:
    """The tabled 85 uohm cm of the demo's iron may be 70 to 100. Ordered by its ohms, as in the demo, the plate is
    sure; without that the ohms of the sections go to both ends, joints apart; the low one leaves the curve."""
    assert ohms_of_metal(job(), worked) == {}
    read = job(('may_vary = { strip_width = "7 mm to 9.5 mm" }\n', ""))
    key = "metal.grey_iron_class30.resistivity"
    assert ohms_of_metal(read, worked)[key]["P"] == pytest.approx((70 / 85, 100 / 85))
    _, high = moved(read, worked, {key: "high"})
    assert high.design is not None and worked.design is not None
    for here, base in zip(high.design.sections, worked.design.sections, strict=True):
        plates_ohm = base.series * base.plate_ohm / base.in_parallel
        assert here.cold_ohm - base.cold_ohm == pytest.approx(plates_ohm * 15 / 85)
    low, high_ohm = start_trials(Starter(read, worked), [{key: "low"}, {key: "high"}], nothing)
    assert "the motor curve ends at 140 A" in low.refused and high_ohm.current is not None


def test_holds_are_given_at_the_ends_too(weak: Starter) -> None:
    """A heavier car makes hotter plates and shorter holds from the settled duty: the given hold lies between."""
    ends = start_at_ends(weak, nothing)
    found = holds_at_ends(weak, ends)
    given = shortest(holds(weak.job, weak.heated, ends.base.worst))
    assert set(found) == set(given) == {"A", "B", "C", "D", "E"}
    for section, (least_s, most_s) in found.items():
        hold_s = given[section]
        assert least_s is not None and most_s is not None and hold_s is not None
        assert least_s <= hold_s <= most_s and least_s < most_s


# Putting together.


def finding(verdict: Verdict, why: str = "x") -> Finding:
    return Finding("peak", verdict, why)


@pytest.mark.parametrize(
    ("given", "at_end", "comes_out"),
    [(HOLDS, HOLDS, HOLDS), (FAILS, FAILS, FAILS), (HOLDS, FAILS, NOT_SHOWN), (FAILS, HOLDS, NOT_SHOWN),
     (HOLDS, NOT_SHOWN, NOT_SHOWN), (NOT_SHOWN, HOLDS, NOT_SHOWN)],
)  # fmt: skip
def test_verdicts_stand_where_the_ends_agree(given: Verdict, at_end: Verdict, comes_out: Verdict) -> None:
    others = [("with car.mass at its low end", ("car.mass",), (finding(at_end, "y"),))]
    (found,) = settled([finding(given)], others, {"car.mass": 0})
    assert found.verdict is comes_out
    if given is not comes_out:
        assert found.why == "x; with car.mass at its low end: y" and found.measure_next == advice("car.mass")


def test_the_end_told_is_a_single_figure_and_the_one_that_ranks_highest() -> None:
    others = [
        ("corner", ("car.mass", "line.nominal"), (finding(FAILS, "all"),)),
        ("mass", ("car.mass",), (finding(FAILS, "m"),)),
        ("line", ("line.nominal",), (finding(FAILS, "v"),)),
    ]
    (found,) = settled([finding(HOLDS)], others, {"line.nominal": 0, "car.mass": 1})
    assert found.why == "x; line: v" and found.measure_next == advice("line.nominal")
    (corner,) = settled([finding(HOLDS)], others[:1], {"car.mass": 0, "line.nominal": 1})
    assert corner.why == "x; corner: all" and corner.measure_next == advice("car.mass")


def test_the_ranking_goes_by_the_share_of_the_room_used_up() -> None:
    """10 % of a 5 % tolerance is twice the room; 60 K of a margin of 20 K three times, of 100 K six tenths."""
    current, heat = Unknown("c", "", 0.10, "1", 0.0), Unknown("h", "", 0.0, "1", 60.0)
    assert [one.key for one in ranked([current, heat], 0.05, 20.0)] == ["h", "c"]
    assert [one.key for one in ranked([heat, current], 0.05, 100.0)] == ["c", "h"]


def test_nothing_with_the_figures_as_given_is_an_error_of_the_job(demo: Result) -> None:
    def refuse(many: object) -> list[Trial]:
        return [Trial({}, refused="no start at all")]

    with pytest.raises(InputError, match="no start at all"):
        tried(demo.job, (), (), refuse)


def test_a_figure_that_does_nothing_is_left_out(demo: Result) -> None:
    def still(many: list[dict[str, str]]) -> list[Trial]:
        return [Trial(pins, current=np.ones((8, 1))) for pins in many]

    found: AtEnds = tried(demo.job, (), ("car.mass",), still)  # type: ignore[arg-type]
    assert found.singles == found.corners == () and found.measure_next == ()


def test_ranges_by_nature_are_no_unknowns(job: Callable[..., Job]) -> None:
    """The duty's ambient, the width that may be ordered and the maker's tolerances are ranges nobody could settle."""
    assert list(weak_keys(job())) == []
    assert list(weak_keys(job(MASS))) == ["car.mass"]


def test_a_metal_figure_of_the_jobs_own_is_not_ranked_twice(job: Callable[..., Job]) -> None:
    own = job(("[boxes]", '[metal.grey_iron_class30]\nalpha20 = "0.0015 /K to 0.002 /K"\n\n[boxes]'))
    assert "metal.grey_iron_class30.alpha20" in list(weak_keys(own))
    assert "metal.grey_iron_class30.alpha20" not in metal_ends(own)
    assert "metal.grey_iron_class30.alpha20" in metal_ends(job())
