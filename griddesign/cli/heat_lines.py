"""The heat of a start on the screen: sections with the band of the loss model, every hold, and the crew's."""

from collections.abc import Iterator, Mapping

from griddesign.cli.saying import table
from griddesign.heat.records import HeatRow
from griddesign.judge.crew import no_crew_card
from griddesign.judge.start_result import StartResult
from griddesign.papers.sheets.crew import crew_holds, crew_words
from griddesign.papers.sheets.held import STARTS, WAYS, Held, flags, held, hold_words
from griddesign.papers.sheets.shown import Shown, at_most
from griddesign.units import show


def heat_lines(result: StartResult) -> Iterator[str]:
    """Sections, holds and crew; nothing where no heat was worked out."""
    if not result.day:
        return
    yield from _sections(result)
    holds = held(result.heat)
    if holds:
        yield ""
        yield from _holds(result, holds)


def _sections(result: StartResult) -> Iterator[str]:
    shown = Shown(result.job.paper.units)
    rows = []
    for place, name in enumerate(result.told.sections):
        row, hold_s = result.day[name], result.hold_s.get(name)
        rows.append(
            (
                name,
                _degrees(float(result.told.hottest_c[place, 0])),
                _degrees(row.hot_c, runs_away=row.runs_away),
                _band(row),
                _degrees(row.bound_c),
                _by_hand(result, row),
                _degrees(row.limit_c),
                "no end" if hold_s is None else at_most(hold_s, shown),
            )
        )
    cases = list(dict.fromkeys(row.case for row in result.day.values()))
    case = cases[0] if len(cases) == 1 else "duty, worst case"
    titles = ("section", "one start", case, "as given (band of loss)", "bound", "by hand", "limit", "shortest hold")
    yield from table(titles, rows)
    yield "  Third column: worst end of every weak figure."
    yield "  By hand: the settled day in closed form, figures as given, the section alone."
    if len(cases) > 1:
        yield f"  Worst case: {'; '.join(f'{name} {row.case}' for name, row in result.day.items())}."
    yield from _beside(result.day)


def _by_hand(result: StartResult, row: HeatRow) -> str:
    """The closed form of the settled day, beside a restart as well: that of the same section, voltage and ambient."""
    where = (row.section, row.line_v, row.ambient_c)
    each = (one for one in result.heat if (one.section, one.line_v, one.ambient_c) == where and not one.notch)
    found = next((one.by_hand_c for one in each if one.by_hand_c is not None), None)
    return "" if found is None else _degrees(found)


def _band(row: HeatRow) -> str:
    """Best estimate and what the loss model's own band makes of it."""
    if row.low_c is None or row.best_c is None or row.high_c is None:
        return ""
    return f"{_degrees(row.best_c)} ({_degrees(row.low_c)} to {_degrees(row.high_c)})"


def _beside(day: Mapping[str, HeatRow]) -> Iterator[str]:
    warmed = [f"{name} {row.neighbour_k:.0f} K" for name, row in day.items() if row.neighbour_k >= 1.0]
    if warmed:
        yield f"  Of this a hotter section beside it brings: {', '.join(warmed)}."


def _degrees(t_c: float, *, runs_away: bool = False) -> str:
    return "runs away" if runs_away else "no end" if t_c == float("inf") else show(t_c, "temperature")


def _holds(result: StartResult, holds: tuple[Held, ...]) -> Iterator[str]:
    """All four holds of each notch at the highest voltage and in the hottest air."""
    shown = Shown(result.job.paper.units)
    line_v, ambient_c = max(one.line_v for one in holds), max(one.ambient_c for one in holds)
    known = {(one.notch, one.case): one for one in holds if (one.line_v, one.ambient_c) == (line_v, ambient_c)}
    run = {one.case for one in holds}
    cases = [case for case in (f"{way}, {start}" for way in WAYS for start in STARTS) if case in run]
    refused, crew = no_crew_card(result.job, result.heat), crew_holds(result.heat)
    rows = [
        (notch, *(_hold(known.get((notch, case)), shown) for case in cases), "" if refused else crew_words(seconds))
        for notch, seconds in crew.items()
    ]
    yield f"How long a notch may be held at {show(line_v, 'voltage')}, {show(ambient_c, 'temperature')}:"
    yield from table(("notch", *cases, "crew"), rows)
    if refused:
        yield f"  No hold for the crew: {'; '.join(refused)}."


def _hold(hold: Held | None, shown: Shown) -> str:
    """A hold in words, with what else is to be said of it."""
    if hold is None:
        return "not run"
    return ", ".join((hold_words(hold.hold_s, shown), *flags(hold)))
