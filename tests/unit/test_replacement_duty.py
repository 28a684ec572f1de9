"""The replacement in the old plate's duty, and the job's own samples on the screen."""

from dataclasses import replace
from pathlib import Path

import pytest

import griddesign
from griddesign.choose.kinds import body_of
from griddesign.cli import main
from griddesign.figures import Status
from griddesign.heat.cooling import loss_w
from griddesign.heat.records import Stack
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.replacing import Wanted, order_plate
from griddesign.judge.same_duty import NotComputed, SameDuty, same_duty, steady_c
from griddesign.metals import metal
from griddesign.plate.freeing import with_thickness
from griddesign.plate.ohms import cold_ohm

DEMO = Path(griddesign.__file__).parents[1] / "examples" / "demo.toml"
STAINLESS = metal("ss304")


@pytest.fixture(scope="module")
def demo() -> Job:
    return read_job(DEMO)


def test_a_steady_current_settles_where_loss_and_heat_balance(demo: Job) -> None:
    plate = demo.plates[0]
    body = body_of(plate.shape, plate, cold_ohm(plate.shape, plate.metal))
    stack = Stack(20, 0.0127)
    hot_c = steady_c(body, stack, 25.0, 40.0)
    heat_w = 25.0**2 * body.cold_ohm * plate.metal.ratio(hot_c)
    assert 60 < hot_c < 300
    assert heat_w == pytest.approx(float(loss_w(body, stack, hot_c, 40.0)), rel=1e-4)
    assert steady_c(body, stack, 500.0, 40.0) == float("inf")


def test_a_plate_of_the_same_metal_and_shape_gets_just_as_hot(demo: Job) -> None:
    plate = demo.plates[0]
    same = same_duty(demo, plate, plate.shape, plate.metal, 25.0)
    assert isinstance(same, SameDuty) and same.holds
    assert same.old_c == same.new_c
    thin = same_duty(demo, plate, with_thickness(plate.shape, 0.003), plate.metal, 25.0)
    assert isinstance(thin, SameDuty) and thin.new_c > thin.old_c
    assert thin.mean_w == pytest.approx(25.0**2 * cold_ohm(plate.shape, plate.metal))


def test_the_jobs_own_duty_is_taken_where_there_is_one(demo: Job) -> None:
    """The same joules in a plate that takes up less heat per kelvin and loses less: hotter at the end of a start."""
    plate = demo.plates[0]
    duty = same_duty(demo, plate, with_thickness(plate.shape, 0.004), plate.metal)
    assert isinstance(duty, SameDuty)
    assert duty.case.startswith("settled, a start every 150 s") and duty.ambient_c == 40.0
    assert duty.new_c > duty.old_c > 40.0


def test_what_is_not_there_to_reckon_with_is_said(demo: Job) -> None:
    plate = demo.plates[0]
    bare = same_duty(replace(demo, boxes=None), plate, plate.shape, STAINLESS, 25.0)
    assert isinstance(bare, NotComputed) and "[boxes]" in bare.why
    single = replace(demo, duty=replace(demo.duty, start_every_s=None))
    no_duty = same_duty(single, plate, plate.shape, STAINLESS)
    assert isinstance(no_duty, NotComputed) and "start_every" in no_duty.why


def test_too_hot_a_plate_does_not_hold(demo: Job) -> None:
    order = order_plate(demo, demo.plates[0], Wanted(ohm=0.0693, current_a=200.0))
    assert isinstance(order.duty, SameDuty) and not order.duty.holds
    assert not order.holds and not order.found.broken


def test_own_figures_of_the_new_metal_are_used(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    own = '\n[metal.ss304]\nresistivity = { value = "75 uohm cm", source = "certificate" }\n'
    path.write_text(DEMO.read_text(encoding="utf-8") + own, encoding="utf-8")
    job = read_job(path)
    order = order_plate(job, job.plates[0], Wanted(0.0693, "ss304", "laser", "strip_width", current_a=20.0))
    assert order.new.metal.resistivity.value == pytest.approx(75e-8)
    assert order.new.metal.resistivity.status is Status.GIVEN
    assert order.found.figures.cold_ohm == pytest.approx(0.0693, rel=1e-4)


def test_the_jobs_samples_are_shown_and_the_wrong_metal_fails(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.toml"
    sample = '\n[[sample]]\nname = "S1"\nohm = "0.0700 ohm at 20 degC"\nmass = "{}"\n'
    for mass, code in (("1.0 kg", 0), ("0.4 kg", 1)):
        path.write_text(DEMO.read_text(encoding="utf-8") + sample.format(mass), encoding="utf-8")
        with pytest.raises(SystemExit) as ended:
            main(["plate", str(path)])
        out, _ = capfd.readouterr()
        assert (ended.value.code or 0) == code
        assert "1 sample, spread not known" in out and "ohms x mass S1" in out
        assert ("WRONG METAL?" in out) is bool(code)
