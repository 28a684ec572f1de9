"""The inspector's sheet: read from any spreadsheet, corrected to 20 degC, judged against the bands; never rewritten."""

import csv
from pathlib import Path

import pytest

from griddesign.errors import InputError, JobError
from griddesign.job.inspected import read_inspection
from griddesign.job.inspection_csv import inspection_blank
from griddesign.judge.finding import Verdict
from griddesign.judge.records import Result
from griddesign.papers.blocks import Points
from griddesign.papers.bounds import clashes
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.as_left import MOST_SAID, as_left_sheet
from griddesign.papers.sheets.common import stamp
from griddesign.verify import inspection as room
from griddesign.verify.inspection import Inspected, inspect

HEAD = "box;position;kind;section;ohm;temperature (°C);method;test voltage (V);stood;remarks"


@pytest.fixture
def judge(demo: Result, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> "Judge":
    monkeypatch.setattr(room, "result_of", lambda _: demo)
    return Judge(demo, tmp_path)


class Judge:
    """Judges lines of a sheet."""

    def __init__(self, demo: Result, folder: Path) -> None:
        self.demo, self.path = demo, folder / "readings.csv"

    def __call__(self, *lines: str, head: str = HEAD, code: str = "utf-8-sig") -> Inspected:
        self.path.write_bytes("\r\n".join((head, *lines, "")).encode(code))
        return inspect(self.demo.job, read_inspection(self.path))


def verdicts(result: Inspected) -> list[Verdict]:
    return [one.finding.verdict for one in result.left]


def whole_sheet(demo: Result, t_c: float = 20.0) -> list[str]:
    """Every plate, box and section exactly as chosen, read with the metal at ``t_c``."""
    assert demo.layout is not None
    assert demo.worked is not None
    assert demo.worked.design is not None
    ratio = demo.plates[0].wish.metal.ratio(t_c)
    plate = demo.plates[0].order_ohm * ratio
    lines = [f"{one.box};{one.position};{one.kind};;{plate:.6f};{t_c};four-wire;;;" for one in demo.layout.places]
    lines += [f"{one.box};;;;{one.cold_ohm * ratio:.6f};{t_c};;;;" for one in demo.box_bands]
    return lines + [f";;;{one.name};{one.cold_ohm * ratio:.6f};{t_c};;;;" for one in demo.worked.design.sections]


def test_a_grid_exactly_as_chosen_is_accepted_all_through(judge: Judge, demo: Result) -> None:
    result = judge(*whole_sheet(demo))
    assert set(verdicts(result)) == {Verdict.HOLDS}
    assert [one.item for one in result.findings if one.verdict is not Verdict.HOLDS] == ["insulation"]


def test_readings_are_corrected_to_20_degrees_by_the_metals_temperature(judge: Judge, demo: Result) -> None:
    """By hand: cold ohms = ohms read / (1 + alpha (T - 20)); iron read at 60 degC as 20 would be off by 7 per cent."""
    metal = demo.plates[0].wish.metal
    ohm = demo.plates[0].order_ohm
    (left,) = judge(f"1;1;P;;{ohm * (1 + metal.alpha20.value * 40):.8f};60;;;;").left
    assert left.cold_ohm is not None
    assert left.cold_ohm.value == pytest.approx(ohm, rel=1e-6)
    spread = (1 + metal.alpha20.high * 40) / (1 + metal.alpha20.low * 40)
    assert left.cold_ohm.high / left.cold_ohm.low == pytest.approx(spread, rel=1e-9)
    assert left.finding.verdict is Verdict.NOT_SHOWN, "the ends of the coefficient lie on both sides of the band's"


def test_a_plate_outside_its_band_fails_and_one_at_its_edge_holds(judge: Judge, demo: Result) -> None:
    low, high = demo.plates[0].low_ohm, demo.plates[0].high_ohm
    assert low is not None
    assert high is not None
    lines = [
        f"1;{n};P;;{ohm:.8f};20;;;;" for n, ohm in enumerate((low * 0.999, low * 1.001, high * 0.999, high * 1.001), 1)
    ]
    holds, fails = Verdict.HOLDS, Verdict.FAILS
    assert verdicts(judge(*lines)) == [fails, holds, holds, fails]


def test_one_bad_plate_weighs_as_its_share_of_its_section(judge: Judge, demo: Result) -> None:
    assert demo.worked is not None
    assert demo.worked.design is not None
    series = demo.worked.design.sections[0].series
    plate = judge(f"1;1;P;;{demo.plates[0].order_ohm * 1.2:.6f};20;;;;").left[0].finding
    section = demo.worked.design.sections[0]
    whole = judge(f";;;{section.name};{section.cold_ohm * 1.2:.6f};20;;;;").left[0].finding
    assert plate.effect.current is not None
    assert whole.effect.current is not None
    assert plate.effect.current == pytest.approx(whole.effect.current / series, rel=0.2)


def test_an_open_plate_and_a_two_wire_reading(judge: Judge, demo: Result) -> None:
    ohm = demo.plates[0].order_ohm
    result = judge("1;1;P;;open;20;;;;", f"1;2;P;;{ohm:.6f};20;two-wire;;;")
    assert verdicts(result) == [Verdict.FAILS, Verdict.NOT_SHOWN]


def test_the_insulation_is_held_against_the_jobs_own_voltage(
    judge: Judge, demo: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    from dataclasses import replace

    asked = replace(demo, job=replace(demo.job, limits=replace(demo.job.limits, test_voltage_v=3000.0)))
    monkeypatch.setattr(room, "result_of", lambda _: asked)
    rows = [f";;;;;;;{volts};{stood};" for volts, stood in ((3000, "yes"), (2500, "yes"), (3000, "no"), (3500, ""))]
    found = [judge(row).left[0].finding.verdict for row in rows]
    assert found == [Verdict.HOLDS, Verdict.NOT_SHOWN, Verdict.FAILS, Verdict.NOT_SHOWN]


@pytest.mark.parametrize("code", ["utf-8-sig", "cp1252"])
def test_a_spreadsheet_with_decimal_commas_is_read_as_it_is_saved(judge: Judge, demo: Result, code: str) -> None:
    text = f"{1000 * demo.plates[0].order_ohm:.3f}".replace(".", ",")
    result = judge("", f"1;1;;;{text};20,5;;;;größer", head=HEAD.replace("ohm", "ohm (mohm)", 1), code=code)
    assert verdicts(result) == [Verdict.HOLDS]
    assert result.left[0].row.remarks == "größer"


def test_an_empty_temperature_is_the_one_above_and_rows_not_filled_in_are_passed_over(
    judge: Judge, demo: Result
) -> None:
    ohm = demo.plates[0].order_ohm
    result = judge(f"1;1;P;;{ohm:.6f};20;;;;", f"1;2;P;;{ohm:.6f};;;;;", "1;3;P;;;;;;;")
    assert verdicts(result) == [Verdict.HOLDS, Verdict.HOLDS]
    assert result.inspection.empty == 1


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("1;1;P;;-0.07;20;;;;", "below 0"),
        ("1;1;P;;0.07;;;;;", "temperature is missing"),
        ("1;1;P;;38;20;;;;", "milliohm?"),
        ("1;x;P;;0.07;20;;;;", "no number of a position"),
        (";;;;0.07;20;;;;", "says of nothing"),
        ("1;1;P;;0.07;20;by eye;;;", "no method"),
        ("1;1;P;;0.07;20;;;;\r\n1;1;P;;0.07;20;;;;", "line 2 too"),
    ],
)
def test_a_bad_row_is_refused_with_its_line(judge: Judge, line: str, said: str) -> None:
    with pytest.raises(JobError) as refused:
        judge(line)
    (complaint,) = refused.value.complaints()
    assert said in complaint.text()
    assert complaint.line is not None


@pytest.mark.parametrize(
    "line", ["9;1;P;;0.07;20;;;;", "1;99;P;;0.07;20;;;;", ";;;Z;1;20;;;;", "9;;;;1;20;;;;", ";;Z;;0.07;20;;;;"]
)
def test_what_the_design_does_not_have_is_refused(judge: Judge, line: str) -> None:
    with pytest.raises(InputError, match="line 2"):
        judge(line)


def test_the_record_of_a_whole_grid_is_one_page_that_nothing_runs_over(judge: Judge, demo: Result) -> None:
    lines = whole_sheet(demo)
    lines[9] = f"1;10;P;;{demo.plates[0].order_ohm * 1.2:.6f};20;;;;thin"
    result = judge(*lines, ";;;;;;;2500;yes;")
    pages = lay_out((as_left_sheet(result),), stamp(result))
    assert len(pages) == 1
    assert clashes(pages[0].marks) == []


def test_a_box_on_the_bands_of_all_its_plates_is_on_its_own(demo: Result) -> None:
    """The bands agree with each other: a box of plates at their low ends lies at the low end of its band or above."""
    low = demo.plates[0].low_ohm
    assert low is not None
    assert demo.layout is not None
    for band in demo.box_bands:
        factor = low / demo.plates[0].order_ohm
        assert band.cold_ohm * factor >= band.accept_low_ohm * (1 - 1e-9)


def test_the_form_that_design_writes_comes_back_filled_in(judge: Judge, demo: Result) -> None:
    """Every blank of the form filled with what was chosen: all of it is read and accepted, none of it is left over."""
    assert demo.layout is not None
    lines = inspection_blank(demo.layout).split("\r\n")
    titles = lines[0].split(",")
    filled = []
    for line in filter(None, lines[1:]):
        row = dict(zip(titles, next(csv.reader([line])), strict=True))
        if row["item"] == "insulation":
            row |= {"test voltage (V)": "3000", "insulation (Mohm)": "20", "stood": "yes"}
        else:
            row |= {"ohm": f"{chosen(demo, row):.6f}", "temperature (degC)": "20", "method": "four-wire"}
        filled.append(";".join(row[title] for title in titles))
    result = judge(*filled, head=";".join(titles))
    assert result.inspection.not_read == ()
    assert len(result.left) == len(filled)
    others = [one for one in result.findings if not one.item.startswith("insulation")]
    assert {one.verdict for one in others} == {Verdict.HOLDS}
    first = next(one for one in result.left if one.name == "insulation, box 1")
    assert first.row.insulation_ohm == 20e6


def chosen(demo: Result, row: dict[str, str]) -> float:
    if row["item"] == "plate":
        return demo.plates[0].order_ohm
    if row["item"] == "box":
        return next(band.cold_ohm for band in demo.box_bands if str(band.box) == row["box"])
    assert demo.worked is not None
    assert demo.worked.design is not None
    return next(one.cold_ohm for one in demo.worked.design.sections if one.name == row["section"])


def test_a_box_whose_insulation_was_not_tested_is_named(judge: Judge) -> None:
    head = "item;box;position;kind;section;ohm;temperature (°C);test voltage (V);stood"
    result = judge("insulation;1;;;;;;3000;yes", "insulation;2;;;;;;;", head=head)
    assert "insulation, box 2, 3, 4" in {one.item for one in result.findings}
    with pytest.raises(JobError, match="fault"):
        judge("insulation;1;;;;;;;yes", head=head)


def test_the_record_points_to_the_findings_only_for_what_it_leaves_out(judge: Judge, demo: Result) -> None:
    """More open points than the record spells out: insulation is told all the same, and what is told is not "more"."""
    assert demo.layout is not None
    boxes = [f"{box};;;;;;;1000;yes;" for box in range(1, demo.layout.boxes + 1)]
    plates = [f"1;{place};P;;0.09;20;four-wire;;;" for place in range(1, MOST_SAID + 1)]
    for some, left_out in ((boxes, 0), (boxes + plates, None)):
        result = judge(*whole_sheet(demo)[20:], *some)
        (points,) = (block for block in as_left_sheet(result).blocks if isinstance(block, Points))
        findings = [one for one in result.findings if one.verdict is not Verdict.HOLDS]
        told = sum(any(f"{one.item}: {one.why}" in line for line in points.items) for one in findings)
        more = [line for line in points.items if line.endswith("more in findings.json")]
        assert more == ([f"{len(findings) - told} more in findings.json"] if told < len(findings) else [])
        assert left_out is None or told == len(findings) - left_out
