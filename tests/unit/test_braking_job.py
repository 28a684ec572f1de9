"""The ``[braking]`` table of a job file: what it comes to, and every fault with its line."""

from collections.abc import Callable
from pathlib import Path

import pytest

from griddesign.errors import Complaint, JobError
from griddesign.grid.records import Run
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.shipped import examples_folder
from griddesign.traction.braking.records import Hill
from griddesign.traction.records import Grouping

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
BRAKING = """
[braking]
begin_speed = "18 km/h"
peak_current = "130 A"
motors = "parallel"
sharing = "cross-connected fields"
field_reversed = true
residual_emf = "6 V"
gradient = "-2 %"
hill = { gradient = "5 %", length = "900 m", notch = "B2" }

[[braking.notch]]
name = "B1"
circuit = ["C", "D", "E"]

[[braking.notch]]
name = "B2"
motors = "series"
circuit = ["D", "E"]
"""

Reading = Callable[..., Job]


@pytest.fixture
def job(tmp_path: Path) -> Reading:
    def read(*changes: tuple[str, str]) -> Job:
        text = BRAKING
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "job.toml"
        path.write_text(DEMO + text, encoding="utf-8")
        return read_job(path)

    return read


def faults(job: Reading, *changes: tuple[str, str]) -> tuple[Complaint, ...]:
    with pytest.raises(JobError) as caught:
        job(*changes)
    return caught.value.complaints()


def test_the_table_as_read(job: Reading) -> None:
    plan = job().braking
    assert plan is not None
    assert plan.begin_m_s == pytest.approx(5.0)
    assert (plan.peak_a, plan.notch_by, plan.sharing) == (130.0, "at peak current", "cross-connected fields")
    assert plan.field_reversed is True
    assert plan.residual_v == 6.0
    assert plan.gradient == pytest.approx(-0.02)
    assert plan.hill is not None
    assert plan.hill == Hill(plan.hill.fall, 900.0, "B2")
    assert plan.hill.fall == pytest.approx(0.05)
    assert [notch.name for notch in plan.notches] == ["B1", "B2"]
    assert plan.notches[0].common == Run(("C", "D", "E"))
    assert [notch.grouping for notch in plan.notches] == [Grouping(1, 2), Grouping(2, 1)]


def test_without_the_table_there_is_no_brake() -> None:
    assert read_job(examples_folder() / "demo.toml").braking is None


def test_what_is_not_said_is_not_known(job: Reading) -> None:
    plan = job(
        ('sharing = "cross-connected fields"\n', ""), ("field_reversed = true\n", ""), ('residual_emf = "6 V"\n', "")
    ).braking
    assert plan is not None
    assert (plan.sharing, plan.field_reversed, plan.residual_v) == ("not said", None, None)


@pytest.mark.parametrize(
    ("old", "new", "key", "message"),
    [
        ('begin_speed = "18 km/h"', 'begin_speed = "0 km/h"', "braking.begin_speed", "cannot be"),
        ('begin_speed = "18 km/h"\n', "", "braking.begin_speed", "is missing"),
        ('peak_current = "130 A"', 'peak_current = "150 A"', "braking.peak_current", "beyond the motor curve"),
        ('circuit = ["C", "D", "E"]', "circuit = []", "braking.notch.B1.circuit", "0 ohm shorts the motors"),
        ('circuit = ["C", "D", "E"]', 'circuit = ["C", "X"]', "braking.notch.B1.circuit", "section X is not known"),
        ('name = "B2"', 'name = "B1"', "braking.notch", "two notches are named B1"),
        ('notch = "B2" }', 'notch = "B9" }', "braking.hill.notch", "is no brake notch"),
        ('{ gradient = "5 %"', '{ gradient = "-5 %"', "braking.hill.gradient", "above zero"),
        ('gradient = "-2 %"', 'gradient = "-60 %"', "braking.gradient", "cannot be"),
        ('residual_emf = "6 V"', 'residual_emf = "120 V"', "braking.residual_emf", "without current"),
        ('sharing = "cross-connected fields"', 'sharing = "hope"', "braking.sharing", "not known here"),
        ("field_reversed = true", 'field_reversed = "yes"', "braking.field_reversed", "neither true nor false"),
        ("field_reversed = true", 'notch_by = "by time"', "braking.seconds_per_notch", "is missing"),
        ("field_reversed = true", 'valley_current = "60 A"', "braking.valley_current", "notches up at peak current"),
        ("field_reversed = true", "strange = 1", "braking.strange", "is not a key of this table"),
        ('motors = "series"', 'wanted = "1 ohm"', "braking.notch.B2.wanted", "is not taken here"),
    ],
)
def test_every_fault_comes_with_its_key_and_line(job: Reading, old: str, new: str, key: str, message: str) -> None:
    (fault,) = (one for one in faults(job, (old, new)) if message in one.text())
    assert fault.key == key or fault.key.removeprefix("braking.") == key.removeprefix("braking.")
    assert fault.line is None or fault.line > len(DEMO.splitlines())


def test_a_valley_above_the_peak_is_a_fault(job: Reading) -> None:
    change = ("field_reversed = true", 'notch_by = "at valley current"\nvalley_current = "140 A"')
    assert any("not below the peak" in fault.text() for fault in faults(job, change))


def test_no_notch_is_a_fault(job: Reading) -> None:
    first, second = BRAKING.index("[[braking.notch]]"), len(BRAKING)
    found = faults(
        job, (BRAKING[first:second], ""), ('hill = { gradient = "5 %", length = "900 m", notch = "B2" }', "")
    )
    assert any("Add [[braking.notch]]" in fault.text() for fault in found)
