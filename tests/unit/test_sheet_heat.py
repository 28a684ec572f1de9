"""The heat sheet: every number is the record's, nothing promises more, words stand where they must, nothing is cut."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import griddesign
from griddesign.heat.holds import FROM_SETTLED, STALLED, crew_hold_s
from griddesign.heat.records import HeatRow
from griddesign.judge.records import Result
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.heat import heat_sheet
from griddesign.papers.sheets.held import held, hold_words
from griddesign.papers.sheets.plots import Bar, Dot, bar_picture, hold_picture
from griddesign.papers.sheets.shown import NO_BREAK, Shown, at_most

DEMO = Path(griddesign.__file__).parents[1] / "examples" / "demo.toml"
MM = Shown("mm")


def sheet_of(result: Result) -> b.Sheet:
    sheet = heat_sheet(result)
    assert sheet is not None
    return sheet


def words_on(result: Result, paper: str = "A4") -> str:
    pages = lay_out((sheet_of(result),), b.Stamp("t", "A", "f", paper))
    printed = (mark.text for page in pages for _, _, mark in flat(page.marks) if isinstance(mark, Words))
    return " ".join(printed).replace(NO_BREAK, " ")


def tables(result: Result) -> list[b.Table]:
    return [block for block in sheet_of(result).blocks if isinstance(block, b.Table)]


def hold_table(result: Result) -> b.Table:
    return next(table for table in tables(result) if table.columns[0].title == "Notch")


def plain(cell: object) -> str:
    return (cell.text if isinstance(cell, b.Cell) else str(cell)).replace(NO_BREAK, " ")


def with_rows(result: Result, change: dict[str, object]) -> Result:
    return replace(result, heat=tuple(replace(row, **change) for row in result.heat))


def test_no_heat_no_sheet(demo: Result) -> None:
    assert heat_sheet(replace(demo, heat=())) is None


def test_key_figures_are_the_row_of_least_margin(demo: Result) -> None:
    worst = min((row for row in demo.heat if row.case.startswith("settled")), key=lambda row: row.margin_k)
    figures = next(block for block in sheet_of(demo).blocks if isinstance(block, b.KeyFigures)).figures
    assert figures[0].label == f"Hottest section: {worst.section}"
    assert plain(figures[0].value) == f"≈ {worst.hot_c:.0f} °C"
    assert plain(figures[1].value) == f"≈ {worst.margin_k:.0f} K"
    assert plain(figures[2].value) == f"{worst.limit_c:.0f} °C"
    assert f"{worst.line_v:.0f} V, ambient {worst.ambient_c:.0f} °C" in plain(figures[0].remark)
    assert worst.worst_end in figures[1].remark
    assert figures[2].remark == "the job; workshop rule of the invented tramway"


def test_every_row_of_the_sections_is_the_records(demo: Result) -> None:
    hottest_c = max(row.ambient_c for row in demo.heat)
    rows = [row for row in demo.heat if not row.notch and row.ambient_c == hottest_c]
    printed = {(cells[0], cells[1]): [plain(cell) for cell in cells[2:8]] for cells in tables(demo)[0].rows}
    assert len(printed) * 2 == len(rows)
    for row in rows:
        shown = printed[row.section, row.case.partition(",")[0]]
        mine = shown[:3] if row.line_v == min(one.line_v for one in rows) else shown[3:]
        assert mine == [f"≈ {row.hot_c:.0f} °C", f"{row.bound_c:.0f} °C", f"≈ {row.margin_k:.0f} K"]


def test_holds_agree_with_the_crew_card(demo: Result) -> None:
    """The least hold printed for a notch at the highest voltage is that of the crew, before it is rounded to 5 s."""
    highest_v = max(row.line_v for row in demo.heat)
    for notch in {row.notch for row in demo.heat if row.notch}:
        crew_s = crew_hold_s(demo.heat, notch)
        cells = [plain(cells[at]) for cells in hold_table(demo).rows if cells[0] == notch for at in (3, 5)]
        printed = min(seconds_of(cell) for cell in cells)
        assert f"{highest_v:.0f} V" in plain(hold_table(demo).columns[3].title)
        assert crew_s is not None
        assert crew_s <= printed < crew_s + 5.0 or (crew_s == 0.0 and printed < 5.0)


def seconds_of(cell: str) -> float:
    """The best estimate of a cell as seconds."""
    if cell.startswith("for ever"):
        return math.inf
    if cell.startswith("pass through"):
        return 0.0
    number, unit = re.match(r"≈ ([\d.]+) (s|min|h)", cell).groups()
    return float(number) * {"s": 1, "min": 60, "h": 3600}[unit]


@given(st.floats(0.0, 1e6))
def test_a_time_is_never_promised_longer_than_it_is(seconds: float) -> None:
    number, unit = at_most(seconds, MM).split(NO_BREAK)
    promised = float(number) * {"s": 1, "min": 60, "h": 3600}[unit]
    assert promised <= seconds * (1 + 1e-8) + 1e-8
    assert promised >= 0.9 * seconds - 0.1


def test_holds_in_words() -> None:
    assert hold_words(None, MM) == "for ever"
    assert hold_words(4.99, MM) == "pass through"
    assert hold_words(61.9, MM) == f"61{NO_BREAK}s"
    assert hold_words(1733.7, MM) == f"28{NO_BREAK}min"


def test_runaway_and_breaker_are_said_in_words(demo: Result) -> None:
    stalled = [row for row in demo.heat if row.case == f"{STALLED}, {FROM_SETTLED}"]
    both = tuple(replace(row, runs_away=True, breaker_opens=True) for row in stalled)
    cells = [
        plain(cell) for cells in hold_table(replace(demo, heat=(*demo.heat[:20], *both))).rows for cell in cells[2:]
    ]
    assert cells
    assert all("runs away\nbreaker opens first" in cell for cell in cells)
    neither = tuple(replace(row, runs_away=False, breaker_opens=False) for row in stalled)
    quiet = [
        plain(cell) for cells in hold_table(replace(demo, heat=(*demo.heat[:20], *neither))).rows for cell in cells
    ]
    assert not any("runs away" in cell or "breaker" in cell for cell in quiet)


def test_of_a_grid_for_each_string_the_first_to_give_out_counts(demo: Result) -> None:
    row = next(row for row in demo.heat if row.notch)
    slow, fast = replace(row, hold_s=None, hold_bound_s=90.0), replace(row, section="Z", hold_s=30.0, hold_bound_s=25.0)
    for rows in ((slow, fast), (fast, slow)):
        (one,) = held(rows)
        assert (one.hold_s, one.bound_s) == (30.0, 25.0)


def test_what_is_not_checked_and_what_burns_is_said(demo: Result) -> None:
    words = words_on(demo)
    assert "NOT CHECKED" in words
    assert all(part in words for part in demo.not_checked if part != "adhesion")
    for said in (
        "CAUTION", "red heat", "Line voltage kills", "Local codes and licensed practice", "±20 %", "is credited",
        "no measured temperature record of a bank under a car floor is known", "no correlation", "unproven on the real",
    ):  # fmt: skip
        assert said in words, said


def test_open_findings_of_heat_are_boxed(demo: Result) -> None:
    from griddesign.judge.records import Finding, Verdict

    open_one = Finding(
        "section D, settled, a start every 150 s", Verdict.NOT_SHOWN, "too hot at one end", "Measure it."
    )
    words = words_on(replace(demo, findings=(open_one,)))
    assert "section D, settled, a start every 150 s: not shown. too hot at one end. Measure it." in words
    assert "Every section holds" not in words
    assert "Every section holds its limit" in words_on(replace(demo, findings=()))


def test_a_duty_that_runs_away_is_printed_without_numbers(demo: Result) -> None:
    gone = with_rows(demo, {"hot_c": math.inf, "bound_c": math.inf, "margin_k": -math.inf, "runs_away": True})
    words = words_on(gone)
    assert "runs away" in words
    assert "inf" not in words.replace("info", "")


def test_without_a_limit_the_metal_s_own_is_named(demo: Result) -> None:
    figures = {key: figure for key, figure in demo.job.figures.items() if key != "limits.plate"}
    sheet = sheet_of(replace(demo, job=replace(demo.job, figures=figures)))
    remark = next(block for block in sheet.blocks if isinstance(block, b.KeyFigures)).figures[2].remark
    assert remark.startswith("none given: the metal's tabled figure, recollection")


def test_single_starts_only(demo: Result) -> None:
    rows = tuple(row for row in demo.heat if "settled" not in row.case)
    words = words_on(replace(demo, heat=rows, job=replace(demo.job, duty=replace(demo.job.duty, start_every_s=None))))
    assert "single starts only" in words
    assert "from settled duty, 5" not in words
    assert "hold from ambient" in words


def many_notches(result: Result) -> tuple[HeatRow, ...]:
    held_rows = [row for row in result.heat if row.notch]
    more = tuple(replace(row, notch=f"{row.notch} of set {n}") for n in range(3) for row in held_rows)
    return (*(row for row in result.heat if not row.notch), *more)


@pytest.mark.parametrize(("paper", "units"), [("A4", "mm"), ("Letter", "inch")])
@pytest.mark.parametrize("crowded", [False, True])
def test_nothing_leaves_the_frame_or_meets_another_text(demo: Result, paper: str, units: str, *, crowded: bool) -> None:
    job = replace(demo.job, paper=replace(demo.job.paper, units=units, sheet=paper))
    result = replace(demo, job=job, heat=many_notches(demo) if crowded else demo.heat)
    for page in lay_out((sheet_of(result),), b.Stamp("t", "A", "f", paper)):
        left, top, right, bottom = bounds(page.marks)
        assert left >= -0.4
        assert top >= -0.4
        assert right <= LIVE_WIDE_MM + 0.4
        assert bottom <= LIVE_HIGH_MM + 0.4
        assert clashes(page.marks) == []


def test_inch_papers_speak_fahrenheit(demo: Result) -> None:
    words = words_on(replace(demo, job=replace(demo.job, paper=replace(demo.job.paper, units="inch"))), "Letter")
    assert "752 °F" in words
    assert "°C" not in words


def test_plots_keep_to_their_size_whatever_they_hold() -> None:
    bars = [
        Bar("A, settled", math.inf, math.inf, 400.0, "runs away", True, True),
        Bar("B", 20.0, 21.0, 90.0, "", False),
    ]
    dots = [Dot("1, stalled", 0.02, 0.01, "a", True), Dot("2", 1e6, 3.0, "b"), Dot("3", math.inf, math.inf, "c")]
    for picture in (bar_picture(bars, "plate, °C", "limits"), hold_picture(dots, "hold")):
        left, top, right, bottom = bounds(picture.marks)
        assert min(left, top) >= -0.3
        assert right <= picture.width_mm + 0.3
        assert bottom <= picture.height_mm + 0.3
        assert clashes(picture.marks) == []
