"""A plate mounted but not in circuit, told from ohms.

Museum workshop blog, "Reverse engineering", 3 July 2019: a group counted as 18 plates of 0.038 ohm, 0.684 ohm, was
later found to have one plate mounted but not in circuit: really 17, 0.646 ohm. The page was seen by whoever gathered
the figures; the groups themselves are in ``test_grid_bank``. How well the plates must be known to tell, 1/(2 n - 1), is
arithmetic: ``(n - 1)(1 + u) < n (1 - u)``; for 18 plates 2.86 per cent.
"""

from pathlib import Path

import pytest

from griddesign.found.as_found import as_found
from griddesign.found.records import AsFound
from griddesign.job.plates_reading import read_plates_at_hand
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.finding import Finding, Verdict
from griddesign.judge.retapping.findings import judge_found

HEAD = "box,position,kind,ohm,method,accuracy,temperature (degC),from,to\n"


def bank(tmp_path: Path, measured: str, rows: str) -> AsFound:
    job, plates = tmp_path / "bank.toml", tmp_path / "bank.csv"
    job.write_text(starter_text("retap").replace('"0.066 ohm"', f'"{measured}"'), encoding="utf-8")
    plates.write_text(HEAD + rows, encoding="utf-8")
    return as_found(read_job(job), read_plates_at_hand(plates, {}))


def mounted(count: int, ohm: str = "") -> str:
    method = "four-wire,0.5 %,20" if ohm else ",,"
    return "".join(f"1,{number},P,{ohm},{method},,\n" for number in range(1, count + 1))


def group(count: int, ohm: float) -> str:
    return f"1,,,{ohm},four-wire,0.5 %,20,0,{count}\n"


def only(found: AsFound) -> Finding:
    (finding,) = judge_found(found)
    return finding


def within(percent: float, ohm: float = 0.038) -> str:
    return f"{ohm * (1 - percent / 100):.6f} ohm to {ohm * (1 + percent / 100):.6f} ohm"


@pytest.mark.parametrize("percent", [0.5, 2.0, 2.8])
def test_18_plates_that_measure_as_17_where_they_are_known(tmp_path: Path, percent: float) -> None:
    found = bank(tmp_path, within(percent), mounted(18) + group(18, 0.646))
    (one,) = found.one_out
    assert (one.plates, one.out, one.shown) == (18, 1, True)
    assert one.needed_share == pytest.approx(1 / 35)
    finding = only(found)
    assert finding.verdict is Verdict.FAILS
    assert "reads as 17 plates: one plate mounted but not in circuit" in finding.why
    assert "scatter" not in finding.why


@pytest.mark.parametrize("percent", [2.9, 4.0, 10.0])
def test_the_same_where_they_are_not_names_the_scatter_of_the_batch(tmp_path: Path, percent: float) -> None:
    found = bank(tmp_path, within(percent), mounted(18) + group(18, 0.646))
    finding = only(found)
    assert finding.verdict is Verdict.NOT_SHOWN
    assert "not in circuit, or as well the scatter of the batch" in finding.why


def test_a_bare_figure_for_the_kind_does_not_tell_either(tmp_path: Path) -> None:
    assert only(bank(tmp_path, "0.038 ohm", mounted(18) + group(18, 0.646))).verdict is Verdict.NOT_SHOWN


def test_plates_read_one_by_one_tell_it(tmp_path: Path) -> None:
    found = bank(tmp_path, "0.038 ohm", mounted(18, "0.038") + group(18, 0.646))
    finding = next(one for one in judge_found(found) if "reads as 17" in one.why)
    assert finding.verdict is Verdict.FAILS
    assert [plate.ohm for plate in found.plates.plates] == pytest.approx([0.038] * 18), "the reading does not bend them"


def test_once_the_plate_is_marked_nothing_is_said(tmp_path: Path) -> None:
    rows = mounted(18)
    head = HEAD.replace("to\n", "to,not in circuit\n")
    marked = rows.replace("1,9,P,,,,,,\n", "1,9,P,,,,,,,x\n") + group(18, 0.646)
    job, plates = tmp_path / "bank.toml", tmp_path / "bank.csv"
    job.write_text(starter_text("retap").replace('"0.066 ohm"', f'"{within(2.8)}"'), encoding="utf-8")
    plates.write_text(head + marked, encoding="utf-8")
    found = as_found(read_job(job), read_plates_at_hand(plates, {}))
    assert list(judge_found(found)) == []
    live = [plate.ohm for plate in found.plates.plates if plate.state == "in circuit"]
    assert len(live) == 17 and sum(live) == pytest.approx(0.646, rel=1e-4)


@pytest.mark.parametrize(
    ("count", "ohm", "printed"),
    [
        (10, 0.059, 0.590),
        (8, 0.038, 0.304),
        (4, 0.038, 0.152),
        (14, 0.023, 0.322),
        (7, 0.059, 0.413),
        (5, 0.038, 0.190),
    ],
)
def test_the_other_groups_of_the_bank_are_whole(tmp_path: Path, count: int, ohm: float, printed: float) -> None:
    found = bank(tmp_path, within(2.8, ohm), mounted(count) + group(count, printed))
    assert list(judge_found(found)) == []
    assert sum(step.ohm for step in found.plates.steps) == pytest.approx(printed, rel=1e-6)
