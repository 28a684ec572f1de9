"""From a job to the designer's question and back: kinds of plate, margins by ohms, counts that stand already."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from griddesign.choose.duty import hot_ratios, margin_table, section_heat
from griddesign.choose.from_job import GIVEN_AWAY, Worked, heated_sections, limit_c, start_on, wanted_of, work_out
from griddesign.choose.kinds import Kind
from griddesign.errors import InputError
from griddesign.grid.build import ohms_by_section
from griddesign.heat.cycle import StartHeat
from griddesign.heat.duty import settled_peaks_c
from griddesign.heat.lumps import HIGH_ALPHA
from griddesign.heat.records import HeatedSection, Stack
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.job.starters import starter_text
from griddesign.plate.ohms import cold_ohm
from griddesign.shipped import examples_folder
from griddesign.traction.records import GivenOhms, Ladder

Read = Callable[..., Job]


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory) -> Read:
    """A starter with some texts replaced."""

    def job(purpose: str, *changes: tuple[str, str]) -> Job:
        text = starter_text(purpose)
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path_factory.mktemp("job") / f"{purpose}.toml"
        path.write_text(text, encoding="utf-8")
        return read_job(path)

    return job


@pytest.fixture(scope="module")
def car(read: Read) -> Job:
    return read("car")


@pytest.fixture(scope="module")
def worked(car: Job) -> Worked:
    return work_out(car)


@pytest.fixture(scope="module")
def kind(car: Job) -> Kind:
    return Kind(car.plates[0])


# Kinds.


def test_the_range_of_ohms_is_that_of_the_widths(kind: Kind, car: Job) -> None:
    wish = car.plates[0]
    low, high = kind.candidate.low_ohm, kind.candidate.high_ohm
    assert wish.strip_width_range_m == pytest.approx((7e-3, 9.5e-3))
    assert kind.shape(low).strip_width_m == pytest.approx(9.5e-3, rel=1e-9)
    assert kind.shape(high).strip_width_m == pytest.approx(7e-3, rel=1e-9)
    assert low < cold_ohm(wish.shape, wish.metal) < high


@pytest.mark.parametrize("changes", [(), (('"7 mm to 9.5 mm"', '"6 mm to 12 mm"'),)], ids=["starter's", "wide"])
def test_the_polynomial_keeps_ohms_within_1e_4(read: Read, changes: tuple[tuple[str, str], ...]) -> None:
    kind = Kind(read("car", *changes).plates[0])
    ends = kind.candidate
    for ohm in np.linspace(ends.low_ohm, ends.high_ohm, 15):
        near = kind.near_shape(float(ohm))
        deviation = cold_ohm(near, kind.wish.metal) / float(ohm) - 1.0
        assert abs(deviation) < 1e-4, (ohm, deviation)


def test_the_shape_for_the_paper_is_solved_for_itself(kind: Kind) -> None:
    ohm = 0.5 * (kind.candidate.low_ohm + kind.candidate.high_ohm)
    assert cold_ohm(kind.shape(ohm), kind.wish.metal) == pytest.approx(ohm, rel=1e-9)
    assert kind.mass_kg(ohm) == pytest.approx(kind.body(ohm).mass_kg, rel=1e-5)


def test_more_ohms_of_the_same_plate_weigh_less(kind: Kind) -> None:
    masses = [kind.mass_kg(ohm) for ohm in np.linspace(kind.candidate.low_ohm, kind.candidate.high_ohm, 9)]
    assert masses == sorted(masses, reverse=True)


def test_a_plate_that_was_measured_keeps_its_ohms_and_shape(read: Read) -> None:
    kind = Kind(read("retap").plates[0])
    assert (kind.candidate.low_ohm, kind.candidate.high_ohm) == (0.066, 0.066)
    assert kind.shape(0.066) is kind.wish.shape is kind.near_shape(0.066)


def test_ohms_wanted_of_a_plate_must_be_in_its_range(read: Read) -> None:
    inside = Kind(read("car", ("made_by", 'wanted = "0.07 ohm"\nmade_by')).plates[0])
    assert inside.candidate.low_ohm == inside.candidate.high_ohm == 0.07
    outside = Kind(read("car", ("made_by", 'wanted = "0.2 ohm"\nmade_by')).plates[0])
    with pytest.raises(InputError, match=r"wanted with 0\.2 ohm and can be had with") as caught:
        _ = outside.candidate
    assert "may_vary" in caught.value.hint


# Duty.


def test_joules_of_a_start_add_up_section_by_section(car: Job, worked: Worked) -> None:
    assert worked.start is not None
    rows = section_heat(worked.start)
    assert sum(joules for _, joules, _ in rows) == pytest.approx(worked.start.grid_j, rel=1e-9)
    seconds = {name: on_s for name, _, on_s in rows}
    assert seconds["A"] == pytest.approx(worked.start.notches[0].seconds)
    assert max(seconds.values()) <= worked.start.seconds


def test_the_margin_table_is_within_a_tenth_of_a_kelvin(car: Job, worked: Worked, kind: Kind) -> None:
    """Between its nodes, against the same margins marched for the very plate."""
    assert isinstance(worked.wanted, Ladder) and car.boxes is not None and car.line is not None
    section_ohm = dict(worked.wanted.sections)
    start = start_on(car, worked.wanted, section_ohm, car.line.highest_v)

    def table(low_ohm: float, high_ohm: float) -> Callable[[str, str, int, float], float | None]:
        class Between(Kind):
            @property
            def candidate(self):  # type: ignore[no-untyped-def,override]
                return type(kind.candidate)(self.name, low_ohm, high_ohm)

        given = Between(kind.wish)
        assert car.boxes is not None
        return margin_table([given], section_ohm, start, car.boxes, car.duty, lambda _: limit_c(car, "P"), (1, 2))

    ends = kind.candidate
    whole = table(ends.low_ohm, ends.high_ohm)
    nodes = np.geomspace(ends.low_ohm, ends.high_ohm, 9)
    worst = 0.0
    for ohm in map(float, np.sqrt(nodes[:-1:3] * nodes[1::3])):
        exact = table(ohm, ohm)
        for section in section_ohm:
            for side_by_side in (1, 2):
                read_k, true_k = whole(section, "P", side_by_side, ohm), exact(section, "P", side_by_side, ohm)
                assert read_k is not None and true_k is not None
                worst = max(worst, abs(read_k - true_k))
    assert worst < 0.1


@pytest.mark.parametrize("side_by_side", [1, 2])
def test_a_plate_of_a_pair_takes_a_quarter_of_the_heat(car: Job, worked: Worked, kind: Kind, side_by_side: int) -> None:
    """Ohm and Joule: the section's joules over its ohms are the squares of the current; side by side each has half."""
    assert isinstance(worked.wanted, Ladder) and car.boxes is not None and car.line is not None
    section_ohm = dict(worked.wanted.sections)
    start = start_on(car, worked.wanted, section_ohm, car.line.highest_v)
    table = margin_table([kind], section_ohm, start, car.boxes, car.duty, lambda _: limit_c(car, "P"), (1, 2))
    (joules, on_s) = next((joules, on_s) for name, joules, on_s in section_heat(start) if name == "A")
    ohm = kind.candidate.low_ohm
    own_j = joules / section_ohm["A"] * ohm / side_by_side**2
    stack = Stack(car.boxes.plates_per_box, car.boxes.plate_gap_m)
    heated = [HeatedSection("one", kind.body(ohm), 1, 1, stack, limit_c(car, "P"))]
    assert car.duty.start_every_s is not None
    (hot_c,) = settled_peaks_c(
        heated, [StartHeat("one", own_j, on_s)], car.duty.ambient_high_c, every_s=car.duty.start_every_s, end=HIGH_ALPHA
    )
    assert table("A", "P", side_by_side, ohm) == pytest.approx(limit_c(car, "P") - float(hot_c), abs=0.1)


def test_hot_ohms_are_above_cold_ones(car: Job, worked: Worked) -> None:
    assert worked.design is not None and worked.start is not None
    kinds = {plate.name: Kind(plate) for plate in car.plates}
    ratios = hot_ratios(heated_sections(car, worked.design, kinds), worked.start, car.duty)
    assert set(ratios) == {"A", "B", "C", "D"}
    assert all(1.0 < ratio < float(car.plates[0].metal.ratio(400.0)) for ratio in ratios.values())


# From job to design.


def test_wanted_ohms_that_are_given_are_taken_as_they_are(read: Read) -> None:
    wanted = wanted_of(read("retap"))
    assert isinstance(wanted, GivenOhms)
    assert [notch.wanted_ohm for notch in wanted.notches] == [3.2, 1.7, 0.67, 0.0]
    assert dict(wanted.sections) == pytest.approx({"A": 1.5, "B": 1.03, "C": 0.67})


def test_a_hot_grid_gives_one_per_cent_of_the_valley_current_away(car: Job) -> None:
    ratios = {"A": 1.1, "B": 1.2, "C": 1.3, "D": 1.2}
    strongest = wanted_of(car)
    given = wanted_of(car, ratios)
    assert isinstance(strongest, Ladder) and isinstance(given, Ladder)
    assert given.valley_a < strongest.valley_a * (1.0 - 0.5 * GIVEN_AWAY)


def test_a_valley_current_of_the_users_is_kept(read: Read) -> None:
    job = read("car", ("first_notch_current", 'valley_current = "70 A"\nfirst_notch_current'))
    wanted = wanted_of(job, {"A": 1.2})
    assert isinstance(wanted, Ladder) and wanted.valley_a == pytest.approx(70.0)


def test_the_design_stands_on_the_shapes_it_orders(car: Job, worked: Worked) -> None:
    assert worked.design is not None and worked.settled
    for chosen in worked.design.kinds:
        assert cold_ohm(chosen.shape, car.plates[0].metal) == pytest.approx(chosen.cold_ohm, rel=1e-9)
    by_name = ohms_by_section(worked.design.sections)
    for got, notch in zip(worked.design.notches, car.notches, strict=True):
        assert notch.common is not None
        assert got.cold_ohm == pytest.approx(sum(by_name[str(name)] for name in notch.common.parts), abs=1e-12)


def test_without_plates_or_boxes_there_are_wanted_ohms_and_no_design(read: Read) -> None:
    text = starter_text("car")
    worked = work_out(read("car", (text[text.index("[boxes]") : text.index("[duty]")], "")))
    assert worked.design is None and worked.start is None and isinstance(worked.wanted, Ladder)


def test_without_a_duty_no_margin_is_asked(read: Read) -> None:
    text = starter_text("car")
    worked = work_out(read("car", (text[text.index("[duty]") : text.index("[limits]")], "")))
    assert worked.design is not None and worked.hot_ratio == {}


def test_the_limit_is_the_users_else_the_metals(read: Read, car: Job) -> None:
    assert limit_c(car, "P") == 400.0
    bare = read("car", ('plate = { value = "400 degC", source = "workshop rule" }\n', ""))
    assert limit_c(bare, "P") == bare.plates[0].metal.limit_c.value


# Counts that stand already.


def test_counts_that_stand_are_kept_and_nothing_is_proved(read: Read) -> None:
    job = read("claim")
    design = work_out(job).design
    assert design is not None
    assert [(section.name, section.plates) for section in design.sections] == [("A", 24), ("B", 12)]
    assert design.proofs == ()
    plate_ohm = cold_ohm(job.plates[0].shape, job.plates[0].metal)
    assert design.notches[0].cold_ohm == pytest.approx(36 * plate_ohm, rel=1e-12)
    assert design.notches[0].error == pytest.approx(2.4 / (36 * plate_ohm) - 1.0, rel=1e-12)
    assert [tap.after_plate for tap in design.taps] == [0, 24, 36]


def test_counts_that_stand_leave_no_width_open(read: Read) -> None:
    job = read("claim", ('made_by = "cast"\n', 'made_by = "cast"\nmay_vary = { strip_width = "7 mm to 9 mm" }\n'))
    with pytest.raises(InputError, match="has a range of strip widths"):
        work_out(job)


def test_counts_that_do_not_fit_the_boxes_are_refused(read: Read) -> None:
    with pytest.raises(InputError):
        work_out(read("claim", ("plates = 24", "plates = 240")))


def test_the_ladder_allows_for_ohms_that_rise_by_a_few_per_cent_only(tmp_path: Path) -> None:
    """Of a metal whose ohms hardly rise: the ladder of the last round is the one for the ratios that came out."""
    text = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
    path = tmp_path / "steady.toml"
    path.write_text(text + '[metal.grey_iron_class30]\nalpha20 = "0.0004 /K"\n', encoding="utf-8")
    job = read_job(path)
    worked = work_out(job)
    assert worked.settled and isinstance(worked.wanted, Ladder)
    assert 1.02 < max(worked.hot_ratio.values()) < 1.1
    again, cold = wanted_of(job, worked.hot_ratio), wanted_of(job)
    assert isinstance(again, Ladder) and isinstance(cold, Ladder)
    assert worked.wanted.valley_a == pytest.approx(again.valley_a, rel=2e-3)
    assert worked.wanted.valley_a < 0.99 * cold.valley_a
