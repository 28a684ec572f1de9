"""Verdicts: holds, fails, not shown, each with the number that decides it."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, cast

import pytest

from griddesign import __version__
from griddesign.choose.from_job import work_out
from griddesign.choose.problem import NotchAim
from griddesign.grid.records import Run, SectionBuild
from griddesign.heat.records import HeatRow
from griddesign.job.reading import read_job
from griddesign.job.records import Job, PlateWish
from griddesign.job.starters import starter_text
from griddesign.judge import bands, findings
from griddesign.judge.design_ends import design_at_ends
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.heat_cases import hottest
from griddesign.judge.records import Finding, NotchDone, PlateReport, Unknown, Verdict
from griddesign.judge.work import plate_report, result_of

HOLDS, FAILS, NOT_SHOWN = Verdict.HOLDS, Verdict.FAILS, Verdict.NOT_SHOWN


def notch(error: float, peak_a: float | None = None) -> NotchDone:
    return NotchDone("3", 1.0, 1.0 / (1.0 + error), error, peak_a, None)


@pytest.mark.parametrize(
    ("error", "verdict"), [(0.0, HOLDS), (0.05, HOLDS), (-0.05, HOLDS), (0.0501, FAILS), (-0.0501, FAILS)]
)
def test_a_notch_holds_up_to_its_tolerance(error: float, verdict: Verdict) -> None:
    (found,) = findings.judge_notches([notch(error)], 0.05)
    assert found.verdict is verdict
    assert f"{abs(100 * error):.1f} %" in found.why and "±5 %" in found.why


@pytest.mark.parametrize(("peak_a", "verdict"), [(130.0, HOLDS), (136.5, HOLDS), (136.6, FAILS)])
def test_the_worst_peak_is_held_against_what_was_asked(peak_a: float, verdict: Verdict) -> None:
    rows = [notch(0.0, 90.0), notch(0.0, peak_a), notch(0.0, None)]
    (found,) = findings.judge_peaks(rows, 130.0, 0.05)
    assert found.verdict is verdict
    assert "136.5 A" in found.why


def test_without_a_car_there_is_no_peak_to_judge() -> None:
    assert list(findings.judge_peaks([notch(0.0)], 130.0, 0.05)) == []


@dataclass
class Row:
    """What judging reads of a heat row."""

    section: str
    margin_k: float
    hot_c: float
    case: str = "settled, a start every 120 s"
    limit_c: float = 400.0
    line_v: float = 660.0
    ambient_c: float = 40.0
    runs_away: bool = False


def heat(worst: list[Row], given: list[Row], source: str | None = None) -> list[Finding]:
    return list(findings.judge_heat(cast("list[HeatRow]", worst), cast("list[HeatRow]", given), source))


def test_heat_holds_fails_or_is_not_shown() -> None:
    cool, hot = Row("A", 50.0, 350.0), Row("A", -30.0, 430.0)
    assert heat([cool], [cool])[0].verdict is HOLDS
    assert heat([hot], [hot])[0].verdict is FAILS
    (unsure,) = heat([hot], [cool])
    assert unsure.verdict is NOT_SHOWN
    assert "430" in unsure.why and "350" in unsure.why and "two temperatures" in unsure.measure_next


def test_the_section_of_least_margin_decides_and_a_runaway_is_named() -> None:
    rows = [Row("A", 50.0, 350.0), Row("A", -5.0, 405.0), Row("B", 10.0, 390.0)]
    assert {name: row.margin_k for name, row in hottest(cast(Any, tuple(rows))).items()} == {"A": -5.0, "B": 10.0}
    away = Row("A", -9e9, 9e9, runs_away=True)
    assert "runs away" in heat([away], [away])[0].why


def test_a_limit_nobody_gave_is_not_shown() -> None:
    row = Row("A", 50.0, 350.0)
    found = heat([row], [row], "grey_iron_class30: 400 degC, memory")[-1]
    assert found.verdict is NOT_SHOWN and "tabled figure" in found.why and "[limits] plate" in found.measure_next


@pytest.mark.parametrize(("swing", "verdict"), [(0.01, HOLDS), (0.03, HOLDS), (0.031, NOT_SHOWN)])
def test_what_is_not_sure_may_use_up_what_the_notches_have_left(swing: float, verdict: Verdict) -> None:
    (found,) = findings.judge_unknowns([Unknown("car.mass", "12 t to 16 t", swing, "2")], 0.05, 0.02)
    assert found.verdict is verdict
    assert bool(found.measure_next) == (verdict is NOT_SHOWN)


def job(tmp_path: Path, purpose: str, *changes: tuple[str, str]) -> Job:
    text = starter_text(purpose)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    path = tmp_path / f"{purpose}.toml"
    path.write_text(text, encoding="utf-8")
    return read_job(path)


def test_values_of_the_starter_are_listed(tmp_path: Path) -> None:
    mine = job(tmp_path, "plate", ("example = true", "example = false"), ('"250 mm"', '"260 mm"'))
    (found,) = findings.judge_starter(mine)
    assert found.verdict is NOT_SHOWN
    assert "plate.P.shape.thickness" in found.why and "plate.P.shape.height" not in found.why
    assert list(findings.judge_starter(job(tmp_path, "plate"))) == []


# Plates.


def report(plate: PlateWish, count: int = 0) -> PlateReport:
    return replace(plate_report(plate, None, {}), count=count)


def test_a_plate_against_its_process(tmp_path: Path) -> None:
    good = report(job(tmp_path, "plate").plates[0])
    (held,) = findings.judge_plates([good], 0.05)
    assert held.verdict is HOLDS and "rules for cast" in held.why
    thin = job(tmp_path, "plate", ('strip_width = "8 mm"', 'strip_width = "2 mm"'))
    found = list(findings.judge_plates([report(thin.plates[0])], 0.05))
    assert found and all(one.verdict is FAILS for one in found), found
    assert any("2.00 mm, the process asks" in one.why for one in found), found


def test_a_metal_known_too_loosely_is_not_shown_unless_the_plate_is_ordered_by_ohms(tmp_path: Path) -> None:
    plate = job(tmp_path, "claim").plates[0]
    verdicts = [found.verdict for found in findings.judge_plates([report(plate, count=36)], 0.05)]
    assert verdicts == [HOLDS, NOT_SHOWN]
    assert [found.verdict for found in findings.judge_plates([report(plate, count=36)], 0.2)] == [HOLDS]
    measured = report(replace(plate, measured_ohm=0.066), count=36)
    assert [found.verdict for found in findings.judge_plates([measured], 0.05)] == [HOLDS]
    assert measured.order_ohm == 0.066


# Bands.


def test_a_band_uses_the_notch_tolerance_up_and_no_more(tmp_path: Path) -> None:
    """All sections of a notch at one end of their bands put the notch just at its tolerance."""
    result = result_of(job(tmp_path, "retap"))
    assert result.worked is not None and result.worked.design is not None
    sections = result.worked.design.sections
    room = bands.shared_out(result.job, result.worked.wanted, sections)
    tolerance, touched = 0.05, 0
    for aim in bands.notch_aims(result.job, result.worked.wanted):
        names = [str(name) for name in aim.circuit.parts]
        if not names:
            continue
        for end in (0, 1):
            ohm = sum(
                section.cold_ohm * (1.0 + room[section.name][end]) for section in sections if section.name in names
            )
            assert abs(aim.error(ohm)) <= tolerance + 1e-12
            touched += abs(aim.error(ohm)) > tolerance - 1e-9
    assert touched >= 2, "some notch is at each end of its tolerance"
    assert all(low <= 0.0 <= high for low, high in room.values())


def test_a_notch_outside_its_tolerance_leaves_no_room() -> None:
    aim = NotchAim("1", Run(("A",)), 1.0)
    assert bands._room(aim, 1.2, 0.05) == (pytest.approx(1 / 1.05 / 1.2 - 1), 0.0)


def test_the_tightest_section_makes_the_band_of_a_plate() -> None:
    sections = [SectionBuild("A", "P", 10, 1, 0.1, 1.0), SectionBuild("B", "P", 5, 1, 0.1, 0.5)]
    room = {"A": (-0.02, 0.04), "B": (-0.03, 0.01)}
    assert bands.plate_band("P", 0.1, sections, room) == pytest.approx((0.098, 0.101))
    assert bands.plate_band("Q", 0.1, sections, room) is None


# What is not sure.


def test_unknowns_are_ranked_by_what_they_do(tmp_path: Path) -> None:
    mine = job(
        tmp_path, "car",
        ('feeder_resistance = "0.05 ohm"', 'feeder_resistance = "0.04 ohm to 0.06 ohm"'),
        ('nominal = "600 V"', 'nominal = "580 V to 620 V"'),
    )  # fmt: skip
    found = design_at_ends(mine, work_out(mine)).unknowns
    assert [unknown.key for unknown in found] == ["line.nominal", "line.feeder_resistance"]
    swings = [unknown.swing for unknown in found]
    assert swings == sorted(swings, reverse=True)
    assert 0.0 < swings[1] < 0.02 < swings[0] < 0.2
    assert found[0].text == "580 V to 620 V"


# The fingerprint.


def test_the_fingerprint_knows_content_and_not_names_or_line_ends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def write(name: str, raw: bytes) -> Path:
        path = tmp_path / name
        path.write_bytes(raw)
        return path

    mark = fingerprint([write("a.toml", b"x = 1\ny = 2\n")])
    assert len(mark) == 8 and int(mark, 16) >= 0
    assert fingerprint([write("b.toml", b"x = 1\r\ny = 2\r\n")]) == mark
    assert fingerprint([write("c.toml", b"x = 1\ny = 3\n")]) != mark
    assert fingerprint([tmp_path / "a.toml", tmp_path / "c.toml"]) != fingerprint(
        [tmp_path / "c.toml", tmp_path / "a.toml"]
    )
    monkeypatch.setattr("griddesign.judge.fingerprint.__version__", __version__ + ".post1")
    assert fingerprint([tmp_path / "a.toml"]) != mark


def test_a_restart_hides_no_settled_duty() -> None:
    """Every deciding case is a finding of its own: at another end of a weak figure the other one may be the hotter."""
    row = HeatRow(
        case="settled, a start every 150 s", notch="", section="A", line_v=600.0, ambient_c=40.0, hot_c=250.0,
        bound_c=300.0, limit_c=400.0, margin_k=150.0, hold_s=None, hold_bound_s=None, runs_away=False, worst_end="",
    )  # fmt: skip
    again = replace(row, case="restart after 60 s", hot_c=420.0, margin_k=-20.0)
    found = list(findings.judge_heat((row, again), (row, replace(again, hot_c=390.0, margin_k=10.0)), None))
    assert [(one.item.partition(", ")[2], one.verdict) for one in found] == [
        (row.case, Verdict.HOLDS),
        (again.case, Verdict.NOT_SHOWN),
    ]
