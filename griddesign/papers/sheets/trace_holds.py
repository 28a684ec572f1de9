"""The working of the heat sheet's rows and of the crew card: every temperature, every hold, rests."""

from collections.abc import Iterator, Sequence
from math import ceil
from string import ascii_lowercase

from griddesign.heat.holds import CREW_STEP_S
from griddesign.heat.records import HeatRow
from griddesign.judge.crew import no_crew_card
from griddesign.judge.records import Result
from griddesign.judge.start_result import StartResult
from griddesign.papers.sheets.crew import after_hold_words, crew_holds, crew_words, rest_words
from griddesign.papers.sheets.held import Held, bound_words, flags, held, hold_words
from griddesign.papers.sheets.shown import ABOUT, Shown
from griddesign.papers.sheets.trace import Line, Part

_ROWS = (
    "The lump of each section marched over start and pause, at both voltages, at the worst end of the weak figures; "
    "margin = limit − temperature. Bound: the same without any loss. Below: the loss of the model at its high end, as "
    "given, at its low end, all other figures as given; closed form where the starts are equal."
)
_HOLDS = (
    "Stalled: I = V/(R others + R grid(T)), the line at its voltage, the car standing. Held running: the current "
    "follows the speed at which pull and resistance balance, on the gradient of the job. Sections are marched as one "
    "circuit, ohms rising, until the first plate of any in circuit reaches its limit; in brackets without any loss: "
    "∫ C dT / P(T). A hold runs away where no steady state lies inside the metal's table. Rounded down as the heat "
    "sheet does."
)
_CREW = (
    "Crew card: the least of stalled and held running, from the settled duty, highest voltage, hottest ambient, worse "
    f"end of the weak figures, rounded down to {CREW_STEP_S:.0f} s; under that it says pass through."
)


def hold_parts(result: Result, run: StartResult | None) -> tuple[Part, ...]:
    """Temperatures of every start and duty, every hold, and the crew card's times; nothing where no heat was run."""
    if not result.heat:
        return ()
    shown = Shown(result.job.paper.units)
    hottest_c = max(row.ambient_c for row in result.heat)
    rows = [row for row in result.heat if not row.notch and row.ambient_c == hottest_c]
    holds = [hold for hold in held(result.heat) if hold.ambient_c == hottest_c]
    return (*_row_part(rows, hottest_c, shown), *_hold_part(holds, hottest_c, shown), *_crew_part(run))


def _row_part(rows: Sequence[HeatRow], ambient_c: float, shown: Shown) -> Iterator[Part]:
    if rows:
        titles = ("Section", "Case; band of the loss", "Worst end, bound", "Limit, margin; which end")
        letters = dict(zip(dict.fromkeys(row.worst_end for row in rows), ascii_lowercase, strict=False))
        lines = tuple(_row(row, letters.get(row.worst_end, row.worst_end), shown) for row in rows)
        said = (_ROWS, f"Ends: {'; '.join(f'{letter}: {end}' for end, letter in letters.items())}.")
        yield Part(f"Temperatures, ambient {shown.temperature(ambient_c)}", lines, said, titles)


def _row(row: HeatRow, end: str, shown: Shown) -> Line:
    band = [row.low_c, row.best_c, row.high_c]
    found = ", ".join(shown.temperature(value) for value in band if value is not None)
    by_hand = "" if row.by_hand_c is None else f"; closed form {shown.temperature(row.by_hand_c)}"
    return Line(
        f"T({row.section})",
        f"{row.case}, {shown.of(row.line_v, 'voltage')}",
        f"{ABOUT}{found}{by_hand}" if found else "",
        f"{ABOUT}{shown.temperature(row.hot_c)}, bound {shown.temperature(row.bound_c)}",
        f"{shown.temperature(row.limit_c)}, {shown.margin(row.margin_k)}; {end}",
    )


def _hold_part(holds: Sequence[Held], ambient_c: float, shown: Shown) -> Iterator[Part]:
    if not holds:
        return
    ways = dict.fromkeys((hold.notch, hold.case.partition(",")[0]) for hold in holds)
    lines = tuple(
        _hold_line(notch, way, [one for one in holds if (one.notch, one.case.partition(",")[0]) == (notch, way)], shown)
        for notch, way in ways
    )
    titles = ("Symbol", "Case", "Hold (without any loss)", "Worst end")
    yield Part(f"Holds, ambient {shown.temperature(ambient_c)}", lines, (_HOLDS,), titles)


def _hold_line(notch: str, way: str, holds: Sequence[Held], shown: Shown) -> Line:
    """One notch held one way: a row for each start and voltage."""
    cases = [f"{way}{hold.case.removeprefix(way)}, {shown.of(hold.line_v, 'voltage')}" for hold in holds]
    found = [f"{_best(hold, shown)} ({bound_words(hold.bound_s, shown).removeprefix('bound ')})" for hold in holds]
    said = dict.fromkeys(word for hold in holds for word in (hold.worst_end, *flags(hold)))
    return Line(f"hold({notch})", "\n".join(cases), "", "\n".join(found), "; ".join(said))


def _best(hold: Held, shown: Shown) -> str:
    words = hold_words(hold.hold_s, shown)
    return words if hold.hold_s is None or words == "pass through" else f"{ABOUT}{words}"


def _crew_part(run: StartResult | None) -> Iterator[Part]:
    if run is None or no_crew_card(run.job, run.heat):
        return
    lines = [
        Line(f"crew({notch})", "least of its holds, rounded down", "", crew_words(seconds))
        for notch, seconds in crew_holds(run.heat).items()
    ]
    every_s = run.job.duty.start_every_s
    shown = Shown(run.job.paper.units)
    if every_s is not None:
        took = shown.of(float(run.run.seconds.min()), "time")
        numbers = f"{shown.of(every_s, 'time')} − {took}"
        lines.append(Line("rest", "start every − quickest start, up to the next 5 s", numbers, rest_words(run)))
    trace = run.day_trace
    if trace is not None and trace.rest_after_hold_s is not None:
        minutes = f"{ceil(trace.rest_after_hold_s / 60.0)} whole minutes"
        formula = "until every section is back where a settled start begins, up to the next minute"
        lines.append(Line("rest after a full hold", formula, minutes, after_hold_words(run)))
    yield Part("Crew card", tuple(lines), (_CREW,))
