"""Tonight's sheets: what can be done with a dead plate, ranked, and one TEMPORARY page for each way of doing it."""

from collections.abc import Iterator

from griddesign.found.tapped import taps_placed
from griddesign.judge.finding import Verdict
from griddesign.judge.heat_cases import deciding, hottest
from griddesign.judge.retapping.bank import OHMS_ONLY
from griddesign.judge.retapping.records import Option, RetapResult, Tapping
from griddesign.papers.blocks import (
    Beside,
    Block,
    Box,
    Cell,
    Column,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    SignOff,
    Table,
    TableCell,
)
from griddesign.papers.sheets.common import ampere, cautions, ohm, percent
from griddesign.papers.sheets.restacking import around
from griddesign.papers.sheets.retap import where
from griddesign.papers.sheets.shown import Shown, at_most
from griddesign.papers.table import columns

CHOOSE = "Choose with whoever answers for the car. The first row is always open to you."
WATCH = (
    "Watch the box during the first starts from where nothing live can be touched; stop at smoke, at glow, or at a "
    "smell of hot paint."
)
BLANK = "………………"
_FEW_ROWS = 16  # tables no longer than that stand side by side


def tonight_sheets(result: RetapResult) -> tuple[Sheet, ...]:
    """The ranking, then a sheet for each way that does not fail: nobody gets a sheet to do what fails. None where no
    plate is dead."""
    if not result.options:
        return ()
    ranking = Sheet("Tonight", CHOOSE, "engineer", tuple(_ranking(result)), (temporary(result),))
    numbered = enumerate(result.options[1:], start=2)
    return (ranking, *(_way(result, number, one) for number, one in numbered if one.verdict is not Verdict.FAILS))


def temporary(result: RetapResult) -> str:
    """The words across every such page."""
    return f"TEMPORARY, VALID UNTIL {_until(result)}"


def _until(result: RetapResult) -> str:
    return (result.job.retap.valid_until if result.job.retap else "") or BLANK


def _ranking(result: RetapResult) -> Iterator[Block]:
    yield cautions(0, 1, 3, 4)
    titles = ("", "What", "Worst notch", "Highest peak", "Hottest", "Shortest hold", "Verdict", "Why")
    rows = tuple(_row(result, number, option) for number, option in enumerate(result.options, start=1))
    yield Heading("What can be done, best first")
    numbers = ("Worst notch", "Highest peak", "Hottest", "Shortest hold")
    made = tuple(Column(title, "right" if title in numbers else "left", title == "Why") for title in titles)
    yield Table(made, rows, 9.5)
    yield Paragraph(
        "Worst notch: what its current feels, plus is too much. Peaks at nominal voltage, A per motor, as run. "
        "Hottest: settled duty at the worst end of every weak figure. Hold: the shortest of any notch. "
        "A way that fails has no sheet of its own.",
        size_pt=9.0,
    )
    left_out = tuple(remark for remark in result.remarks if " is offered" in remark)
    if left_out:
        yield Points(left_out, size_pt=10.0)


def _row(result: RetapResult, number: int, option: Option) -> tuple[TableCell, ...]:
    standing = option is result.options[0]
    tapping = None if standing else option.tapping
    verdict: TableCell = "" if standing else str(option.verdict)
    if option.verdict is not Verdict.HOLDS:
        verdict = Cell(str(option.verdict).upper())
    worst = max((notch.error for notch in tapping.notches), key=abs, default=0.0) if tapping else None
    peak = max(tapping.run.peak_a.values(), default=None) if tapping else None
    shown = Shown(result.job.paper.units)
    return (
        str(number),
        Cell(option.name) if standing else option.name,
        percent(worst),
        ampere(peak),
        _hottest_words(tapping, shown),
        _hold_words(tapping, shown),
        verdict,
        option.why,
    )


def _hottest_words(tapping: Tapping | None, shown: Shown) -> str:
    rows = deciding(tapping.run.heat) if tapping else ()
    if not rows:
        return "" if tapping is None else "not known"
    worst = min(rows, key=lambda row: row.margin_k)
    return "runs away" if worst.runs_away else shown.temperature(worst.hot_c)


def _hold_words(tapping: Tapping | None, shown: Shown) -> str:
    if tapping is None or not tapping.run.heated:
        return "" if tapping is None else "not known"
    holds = [hold_s for hold_s in tapping.run.hold_s.values() if hold_s is not None]
    return at_most(min(holds), shown) if holds else "for ever"


def _way(result: RetapResult, number: int, option: Option) -> Sheet:
    order = f"TEMPORARY. {option.name}. Valid until {_until(result)}; not without a signature below."
    return Sheet(f"Temporary {number}", order, "bench", tuple(_mend(result, option)), (temporary(result),))


def _mend(result: RetapResult, option: Option) -> Iterator[Block]:
    tapping = option.tapping
    assert tapping is not None
    yield cautions(0, 1, 2, 4)
    yield from _safe(option)
    yield KeyFigures(
        (
            KeyFigure("Valid until", _until(result), "then put it right"),
            KeyFigure("Verdict", str(option.verdict), option.why if option.verdict is Verdict.HOLDS else ""),
        )
    )
    yield Heading("What to do")
    yield Points(option.steps, numbered=True)
    yield from _moves(result, option)
    yield from around(result, option)
    yield from _what_it_makes(result, tapping)
    notes = (*option.notes, WATCH)
    yield Heading("Notes")
    yield Points(notes, size_pt=9.5)
    approved = result.job.paper.approved_by
    yield SignOff((f"Approved by {approved}".strip(), "Done by", "Taken out again by"))


def _what_it_makes(result: RetapResult, tapping: Tapping) -> Iterator[Block]:
    """Notches and heat, side by side where both are short."""
    notches = (Heading("What it makes of the notches"), _notches(result, tapping))
    heat = tuple(_heat(result, tapping))
    rows = max(len(block.rows) for block in (*notches, *heat) if isinstance(block, Table))
    if heat and rows <= _FEW_ROWS:
        yield Beside(notches, heat, left_share=0.45)  # so that a plate is named in one line
    else:
        yield from notches
        yield from heat


def _safe(option: Option) -> Iterator[Block]:
    if option.verdict is not Verdict.HOLDS:
        title = "Ohms only, not shown safe" if OHMS_ONLY in option.why else "Not shown safe"
        yield Box(title, (f"{option.why}.",), heavy=True)


def _moves(result: RetapResult, option: Option) -> Iterator[Block]:
    if not option.moved:
        return
    sides = result.question.rules.sides
    rows = []
    for name, was, joint in option.moved:
        (old,), (new,) = (taps_placed(result.found.plates, [(name, at)], sides) for at in (was, joint))
        rows.append((Cell(name), where(result, old), where(result, new), new.side))
    yield Heading("Leads that move")
    yield Table(columns("Lead to tap", "From", "To", "Side"), tuple(rows), 10.0)


def _notches(result: RetapResult, tapping: Tapping) -> Table:
    rows = tuple(
        (
            notch.name,
            ohm(result.wanted_ohm[notch.name]),
            ohm(notch.cold_ohm),
            percent(notch.error),
            ampere(tapping.run.peak_a.get(notch.name)) or "not run",
        )
        for notch in tapping.notches
    )
    numbers = ("Wanted", "Ohms, cold", "Current off", "Peak, A per motor")
    return Table(columns("Notch", *numbers, numbers=numbers), rows, 9.0)


def _heat(result: RetapResult, tapping: Tapping) -> Iterator[Block]:
    shown = Shown(result.job.paper.units)
    rows = []
    for name, row in hottest(deciding(tapping.run.heat)).items():
        hold_s = tapping.run.hold_s.get(name)
        held = (
            "not live" if name not in tapping.run.hold_s else "for ever" if hold_s is None else at_most(hold_s, shown)
        )
        hot = "runs away" if row.runs_away else shown.temperature(row.hot_c)
        held = held if name in tapping.run.hold_s else "not live"
        rows.append((name, hot, shown.of(row.limit_c, "temperature"), shown.margin(row.margin_k), held))
    if rows:
        yield Heading("Heat and holds")
        numbers = ("Hottest", "Limit", "Margin", "Shortest hold")
        yield Table(columns("Part of the grid", *numbers, numbers=numbers), tuple(rows), 9.0)
        yield Paragraph(
            "Plates rusted thin count with their lost metal. A plate named by itself is the hottest of its section.",
            size_pt=9.0,
        )
