"""Samples among the findings of a design: ohms times mass for the wrong metal, number of samples and spread.

The product is exact by formula: ohms times mass of a plate of that metal is ``rho density squares area``.
"""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from griddesign.cli import main
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.records import Finding, Result, Verdict
from griddesign.judge.work import result_of
from griddesign.metals import metal
from griddesign.plate.bends import plate_squares
from griddesign.plate.zigzag import outline_of

Work = Callable[..., Result]
WEIGHED = '[[sample]]\nname = "S{n}"\nohm = "{ohm} ohm at 20 degC"\nmass = "{mass} kg"\n'


@pytest.fixture
def work(tmp_path: Path) -> Work:
    """The result of the plate starter (or another) with samples."""

    def run(*samples: str, purpose: str = "plate") -> Result:
        text = "\n".join(line for line in starter_text(purpose).splitlines() if not line.startswith("fillet"))
        path = tmp_path / "job.toml"
        path.write_text("\n".join([text, *samples]), encoding="utf-8")
        return result_of(read_job(path))

    return run


def about(result: Result, word: str) -> list[Finding]:
    return [finding for finding in result.findings if word in finding.item]


def weighed(n: int, ohm: float, mass: float) -> str:
    return WEIGHED.format(n=n, ohm=ohm, mass=mass)


def test_without_samples_there_is_nothing_to_find(work: Work) -> None:
    assert about(work(), "ohms times mass") == [] and about(work(), "heat of") == []


def test_samples_of_the_metal_hold_and_their_number_and_spread_are_said(work: Work) -> None:
    iron, plate = metal("grey_iron_class30"), work().plates[0]
    product = iron.resistivity.value * iron.density.value * plate_squares(plate.shape).value
    product *= outline_of(plate.shape).area_m2
    result = work(weighed(1, 0.0700, product / 0.0700), weighed(2, 0.0714, product / 0.0714))
    checks = about(result, "ohms times mass")
    assert [one.verdict for one in checks] == [Verdict.HOLDS] * 2
    assert f"can be the metal: {product:.4g} ohm kg" in checks[0].why
    (heat,) = about(result, "heat of grey_iron_class30")
    assert heat.verdict is Verdict.HOLDS
    assert "2 samples, spread 2 %" in heat.why and "2 of 2 weighed" in heat.why


def test_a_wrong_metal_fails_and_so_does_the_command(work: Work, tmp_path: Path) -> None:
    result = work(weighed(1, 0.0700, 0.4), weighed(2, 0.0702, 1.0))
    first, second = about(result, "ohms times mass")
    assert (first.verdict, second.verdict) == (Verdict.FAILS, Verdict.HOLDS)
    assert "wrong metal?" in first.why and first.measure_next and not result.holds
    with pytest.raises(SystemExit) as ended:
        main(["design", str(tmp_path / "job.toml"), "--out", str(tmp_path)])
    assert ended.value.code == 1
    (record,) = tmp_path.glob("job/*/result.json")
    found = json.loads(record.read_text(encoding="utf-8"))["findings"]
    assert any("sample S1, ohms times mass" in one["item"] and one["verdict"] == "fails" for one in found)


def test_one_sample_shows_no_spread_of_a_grid_but_is_enough_for_one_plate(work: Work) -> None:
    sample = '[[sample]]\nohm = "0.0700 ohm at 20 degC"\n'
    (alone,) = about(work(sample), "heat of")
    assert alone.verdict is Verdict.HOLDS and "none weighed" in alone.why
    (grid,) = about(work(sample, purpose="car"), "heat of")
    assert grid.verdict is Verdict.NOT_SHOWN and "1 sample, spread not known" in grid.why and grid.measure_next
