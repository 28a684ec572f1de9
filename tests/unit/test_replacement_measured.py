"""Measured samples: the heat's own figures, by hand and from ``[[sample]]`` tables; ohms times mass as a check."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from griddesign.errors import Complaint, JobError, QuantityError
from griddesign.figures import Figure, Status
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.metals import metal
from griddesign.plate.bends import plate_squares
from griddesign.plate.measured import (
    MeasuredPlate,
    Reading,
    as_measured,
    cold_from,
    four_wire,
    heat_figures,
    metal_check,
    with_heat,
)
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

IRON = metal("grey_iron_class30")
PLATE = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, Eye(0.03, 0.014, 0.022), "opposite edges")
SQUARES = plate_squares(PLATE).value

JOB = """
title = "Samples"
example = true
[[plate]]
name = "P"
metal = "grey_iron_class30"
made_by = "cast"
[plate.shape]
family = "zigzag"
height = "250 mm"
passes = 13
strip_width = "8 mm"
pass_gap = "7.2 mm"
thickness = "5 mm"
eyes = "opposite edges"
eye = { diameter = "30 mm", hole = "14 mm", reach = "22 mm" }
"""


def at(ohm: float, t_c: float = 20.0, **more: float) -> MeasuredPlate:
    return MeasuredPlate("1", (Reading(ohm, t_c),), **more)  # type: ignore[arg-type]


def test_both_polarities_take_the_thermo_emf_out() -> None:
    ohm, emf_v = four_wire(20.0, 1.384 + 0.002, 1.384 - 0.002)
    assert ohm == pytest.approx(0.0692, rel=1e-12)
    assert emf_v == pytest.approx(0.002, rel=1e-9)
    assert four_wire(20.0, 1.386, -1.382) == (ohm, emf_v)
    one_way_ohm, nothing = four_wire(20.0, 1.384)
    assert one_way_ohm == pytest.approx(0.0692) and nothing is None


@pytest.mark.parametrize("bad", [(0.0, 1.0, None), (-1.0, 1.0, None), (1.0, float("nan"), None), (1.0, 1.0, 0.0)])
def test_no_resistance_from_such_readings(bad: tuple[float, float, float | None]) -> None:
    with pytest.raises(QuantityError):
        four_wire(*bad)


def test_resistivity_of_one_sample_with_its_own_thickness() -> None:
    heat = heat_figures([(PLATE, at(0.07, thickness_m=0.0052))], IRON)
    assert heat.resistivity.value == pytest.approx(0.07 * 0.0052 / SQUARES, rel=1e-12)
    assert (heat.samples, heat.spread, heat.alpha20) == (1, 0.0, None)
    assert heat.resistivity.source == "1 sample, spread not known"
    assert heat.resistivity.status is Status.MEASURED


def test_own_strip_width_of_a_sample() -> None:
    assert as_measured(PLATE, at(0.07, strip_width_m=0.0082)).strip_width_m == 0.0082
    assert as_measured(PLATE, at(0.07)) is PLATE


def test_range_takes_in_every_sample_and_what_alpha_leaves_open() -> None:
    cold = heat_figures([(PLATE, at(ohm)) for ohm in (0.068, 0.070, 0.072)], IRON)
    assert cold.spread == pytest.approx(0.004 / 0.070)
    assert (cold.resistivity.low, cold.resistivity.high) == pytest.approx(
        (0.068 * 0.005 / SQUARES, 0.072 * 0.005 / SQUARES)
    )
    assert cold.resistivity.source == "3 samples, spread 5.7 %"
    warm = heat_figures([(PLATE, at(0.07, 40.0))], IRON)
    least = 0.07 * 0.005 / SQUARES / (1 + IRON.alpha20.high * 20)
    assert warm.resistivity.low == pytest.approx(least)
    assert warm.resistivity.low < warm.resistivity.value < warm.resistivity.high


def test_two_temperatures_give_alpha_and_are_used_at_once() -> None:
    alpha = 0.0023
    plate = MeasuredPlate("1", (Reading(0.07 * (1 + alpha * 5), 25.0), Reading(0.07 * (1 + alpha * 180), 200.0)))
    heat = heat_figures([(PLATE, plate)], IRON)
    assert heat.alpha20 is not None
    assert heat.alpha20.value == pytest.approx(alpha, rel=1e-9)
    own = with_heat(IRON, heat)
    assert own.alpha20.status is Status.MEASURED
    assert own.resistivity.value == pytest.approx(0.07 * 0.005 / SQUARES, rel=1e-9)
    assert own.resistivity.low == own.resistivity.high == own.resistivity.value


def test_the_cold_reading_is_the_one_nearest_to_20_degc() -> None:
    assert MeasuredPlate("P", (Reading(0.066, 5.0), Reading(0.071, 22.0), Reading(0.09, 200.0))).cold.t_c == 22.0


def test_no_samples() -> None:
    with pytest.raises(QuantityError, match="no samples"):
        heat_figures([], IRON)


def test_ohms_times_mass_knows_the_metal_whatever_the_thickness() -> None:
    for thickness_m in (0.003, 0.005, 0.008):
        ohm = IRON.resistivity.value * SQUARES / thickness_m
        mass_kg = IRON.density.value * outline_of(PLATE).area_m2 * thickness_m
        check = metal_check(PLATE, at(ohm, mass_kg=mass_kg), IRON)
        assert check is not None and check.holds
        assert check.measured_ohm_kg == pytest.approx(check.tabled_ohm_kg, rel=1e-12)
    steel = metal("steel_low_carbon")
    stranger = at(
        steel.resistivity.value * SQUARES / 0.005, mass_kg=steel.density.value * outline_of(PLATE).area_m2 * 0.005
    )
    wrong = metal_check(PLATE, stranger, IRON)
    assert wrong is not None and not wrong.holds
    assert metal_check(PLATE, at(0.07), IRON) is None


@pytest.mark.parametrize(("share", "holds"), [(-0.06, False), (-0.04, True), (0.04, True), (0.06, False)])
def test_the_metals_own_range_and_five_per_cent_beside_it(share: float, holds: bool) -> None:
    rho, density = IRON.resistivity, IRON.density
    end = (rho.low * density.low if share < 0 else rho.high * density.high) * (1 + share)
    check = metal_check(PLATE, at(SQUARES / 0.005, mass_kg=end * outline_of(PLATE).area_m2 * 0.005), IRON)
    assert check is not None and check.holds is holds


Read = Callable[[str], Job]


@pytest.fixture
def job(tmp_path: Path) -> Read:
    def read(extra: str) -> Job:
        path = tmp_path / "job.toml"
        path.write_text(JOB + extra, encoding="utf-8")
        return read_job(path)

    return read


def test_samples_in_the_job_file_become_the_metals_own_figures(job: Read) -> None:
    read = job(
        '[[sample]]\nohm = "0.0700 ohm at 20 degC"\n'
        '[[sample]]\ncurrent = "20 A"\nforward = "1402 mV"\nreversed = "1398 mV"\n'
        'temperature = "68 degF"\nmass = "1 kg"\n'
        '[[sample]]\nplate = "P"\ntwo_temperatures = ["0.0720 ohm at 20 degC", "0.0972 ohm at 200 degC"]\n'
    )
    plate = read.plates[0]
    assert plate.metal.resistivity.source == "3 samples, spread 2.8 %"
    assert plate.metal.resistivity.value == pytest.approx(0.0706667 * 0.005 / SQUARES, rel=1e-5)
    assert plate.metal.alpha20.value == pytest.approx((0.0972 / 0.0720 - 1) / 180, rel=1e-9)
    assert plate.samples[1].emf_v == pytest.approx(0.002)
    assert [sample.one_way for sample in plate.samples] == [False, False, False]
    figure = read.figures["metal.grey_iron_class30.resistivity"]
    assert figure == plate.metal.resistivity and figure.text.endswith("uohm cm")


def test_measured_figures_are_tried_at_both_ends(job: Read) -> None:
    read = job('[[sample]]\nohm = "0.0700 ohm at 20 degC"\n[[sample]]\nohm = "0.0720 ohm at 20 degC"\n')
    low = read.at(**{"metal.grey_iron_class30.resistivity": "low"})
    assert low.plates[0].metal.resistivity.value == pytest.approx(read.plates[0].metal.resistivity.low)


FAULTS = [
    ("no temperature", 'ohm = "0.07 ohm"', "sample.1.ohm", "temperature"),
    ("no reading", 'mass = "1 kg"', "sample.1", "no reading"),
    ("two ways", 'ohm = "0.07 ohm at 20 degC"\ncurrent = "20 A"', "sample.1", "ohm and current"),
    ("zero", 'ohm = "0 ohm at 20 degC"', "sample.1.ohm", "cannot be"),
    ("not a pair", 'two_temperatures = ["0.07 ohm at 20 degC"]', "sample.1.two_temperatures", "not a reading"),
    ("alike", 'two_temperatures = ["0.07 ohm at 20 degC", "0.08 ohm at 20 degC"]', "sample.1", "20 degC"),
    ("unknown plate", 'plate = "Q"\nohm = "0.07 ohm at 20 degC"', "sample.1.plate", "'Q'"),
    ("unknown key", 'ohm = "0.07 ohm at 20 degC"\nmas = "1 kg"', "sample.1.mas", "not a key"),
    ("wrong unit", 'current = "20 A"\nforward = "14 A"\ntemperature = "20 degC"', "sample.1.forward", "A"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key", "found"), [fault[1:] for fault in FAULTS], ids=[fault[0] for fault in FAULTS])
def test_faults_of_a_sample(job: Read, text: str, key: str, found: str) -> None:
    with pytest.raises(JobError) as caught:
        job(f"[[sample]]\n{text}\n")
    met = [item for item in caught.value.complaints() if item.key == key]
    assert met and any(found in item.message for item in met), [item.text() for item in caught.value.complaints()]
    assert all(item.line is not None and isinstance(item, Complaint) for item in met)


def test_a_figure_given_twice_is_refused(job: Read) -> None:
    with pytest.raises(JobError) as caught:
        job('[[sample]]\nohm = "0.07 ohm at 20 degC"\n[metal.grey_iron_class30]\nresistivity = "90 uohm cm"\n')
    assert "gives resistivity as well" in caught.value.complaints()[0].message


def test_cold_from_a_warm_reading() -> None:
    linear = IRON.with_figure("alpha20", Figure.exact(0.002))
    assert cold_from(Reading(0.0721, 35.0), linear) == pytest.approx(0.07, rel=1e-12)
    assert replace(at(0.07), readings=(Reading(0.08, 90.0), Reading(0.07, 22.0))).cold.t_c == 22.0


def test_a_sample_of_no_plate_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('title = "x"\n[[sample]]\nohm = "0.07 ohm at 20 degC"\n', encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert any("no plate it could be a sample of" in one.message for one in caught.value.complaints())
