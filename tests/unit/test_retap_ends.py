"""New taps at both ends of what is not sure of the car: verdicts, what to measure next, faults of the new taps."""

import json
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from griddesign.choose.from_job import wanted_of
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.finding import Verdict
from griddesign.judge.retap import retap_of
from griddesign.judge.retapping.records import RetapResult
from griddesign.judge.retapping.targets import notches_at, targets_of
from griddesign.papers.retap_json import retap_json
from griddesign.shipped import examples_folder

PLATES = examples_folder() / "retap-plates.csv"
MOTOR = 'resistance = "0.42 ohm at 75 degC"'


def retapped(folder: Path, motor: str) -> RetapResult:
    """The example with another line for the motor's ohms."""
    job = folder / "retap.toml"
    text = (examples_folder() / "retap.toml").read_text(encoding="utf-8")
    assert MOTOR in text
    job.write_text(text.replace(MOTOR, motor), encoding="utf-8")
    return retap_of(read_job(job), PLATES)


@pytest.fixture(scope="module")
def unsure(tmp_path_factory: pytest.TempPathFactory) -> RetapResult:
    return retapped(tmp_path_factory.mktemp("unsure"), 'resistance = "0.30 ohm to 0.54 ohm"')


def test_a_notch_that_holds_at_one_end_alone_is_not_shown(unsure: RetapResult) -> None:
    """Motor ohms lie inside R': the ends of 0.30 to 0.54 ohm move the notches' errors by more than 5 %."""
    open_ones = [one for one in unsure.findings if one.verdict is Verdict.NOT_SHOWN]
    assert not unsure.holds
    assert any("motor.resistance" in one.why for one in open_ones)
    assert any(one.measure_next.startswith("Measure one motor") for one in open_ones)


def test_no_way_of_tonight_holds_where_an_end_fails(unsure: RetapResult) -> None:
    assert unsure.options
    assert all(one.verdict is not Verdict.HOLDS for one in unsure.options[1:])


def test_the_motor_is_ranked_to_be_measured(unsure: RetapResult) -> None:
    told = retap_json(unsure)["measure_next"]
    assert "motor.resistance" in [one["key"] for one in told]
    assert all(one["how"] for one in told)


def test_the_swing_is_that_of_the_jobs_read_at_each_end(unsure: RetapResult, tmp_path: Path) -> None:
    """The same taps judged on a job written with each end of the motor's ohms: an independent way to the swing."""
    known = next(one for one in unsure.measure_next if one.key == "motor.resistance")
    base, swings = unsure_base(unsure), []
    for end in ("0.30 ohm", "0.54 ohm"):
        job_file = tmp_path / "end.toml"
        text = (examples_folder() / "retap.toml").read_text(encoding="utf-8")
        job_file.write_text(text.replace(MOTOR, f'resistance = "{end}"'), encoding="utf-8")
        there = errors_of(read_job(job_file), unsure)
        swings.append(max(abs(there[name] / base[name] - 1.0) for name in base))
    assert known.swing >= max(swings) - 1e-6


def errors_of(job: Job, result: RetapResult) -> dict[str, float]:
    """1 + the error of each notch of the new sections, wanted ohms found again for this job."""
    assert result.after is not None
    wanted = wanted_of(job, result.worked.hot_ratio)
    return {one.name: 1.0 + one.error for one in notches_at(targets_of(job, wanted), result.after.sections)}


def unsure_base(result: RetapResult) -> dict[str, float]:
    """The same with the figures as given."""
    assert result.after is not None
    return {one.name: 1.0 + one.error for one in result.after.notches}


def test_single_faults_of_the_new_taps_are_told(unsure: RetapResult) -> None:
    """The dead plate is bridged, so it is none of the faults; every other plate may open."""
    assert unsure.faults is not None
    kinds = {row.kind for row in unsure.faults.rows}
    assert {"plate open", "lead one joint off", "box end for end"} <= kinds
    sound = {one.name: one.cold_ohm for one in (unsure.after.notches if unsure.after else ())}
    touching = next(row for row in unsure.faults.rows if row.kind == "neighbours touching")
    changed = touching.notches[0]
    assert changed.grid_ohm - changed.ohm_change == pytest.approx(sound[changed.name], rel=1e-9)


def test_the_answer_keeps_its_schema(unsure: RetapResult) -> None:
    schema = json.loads((files("griddesign") / "papers" / "retap.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    data = json.loads(json.dumps(retap_json(unsure), allow_nan=False))
    jsonschema.validate(data, schema)
    for key in ("notches", "sections", "taps", "proof", "heat", "findings"):
        broken = {name: value for name, value in data.items() if name != key}
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(broken, schema)


def test_limits_of_the_job_are_judged_on_the_new_taps_too(tmp_path: Path) -> None:
    """Timber an inch above the bank: neither the new taps nor any way of tonight may hold."""
    job = tmp_path / "retap.toml"
    text = (examples_folder() / "retap.toml").read_text(encoding="utf-8")
    limit = 'notch_tolerance = "5 %"'
    assert limit in text
    timber = 'timber = { value = "75 degC", source = "workshop rule", distance = "1 in" }'
    job.write_text(text.replace(limit, f"{limit}\n{timber}"), encoding="utf-8")
    result = retap_of(read_job(job), PLATES)
    assert any(one.item.startswith("timber") and one.verdict is Verdict.FAILS for one in result.findings)
    assert any(one.item == "breaker during the start" for one in result.findings)
    assert "timber" not in result.not_checked and "adhesion" in result.not_checked
    assert all(one.verdict is Verdict.FAILS and "timber" in one.why for one in result.options[1:])
