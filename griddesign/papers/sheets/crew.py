"""The crew card: how long each notch may be held, what rest the grid needs, what to do when it smells hot."""

from collections.abc import Iterator, Sequence
from itertools import product
from math import ceil

from griddesign.errors import InputError
from griddesign.heat.holds import CREW_STEP_S, crew_hold_s
from griddesign.heat.records import HeatRow
from griddesign.judge.crew import no_crew_card
from griddesign.judge.start_result import StartResult
from griddesign.papers.blocks import (
    BODY_PT,
    CARD_PT,
    Beside,
    Block,
    Box,
    Cell,
    Column,
    Paragraph,
    Sheet,
    SignOff,
    Table,
)
from griddesign.papers.frame import LIVE_WIDE_MM, room_high_mm
from griddesign.papers.layout import column
from griddesign.papers.sheets.common import PROVISIONAL, stamp
from griddesign.papers.sheets.shown import NO_BREAK

IMPERATIVE = "Never hold a notch longer than this."
PASS_THROUGH = "pass through"
NO_LIMIT = "no limit"
_ONE_COLUMN = 4
_HOLD_PT = (CARD_PT, 16.0, 14.0, 12.0)
_SIZES_PT = (CARD_PT, 16.0, 14.0, 12.0, BODY_PT)

_SMELLS = (
    "1. Power off. Stop. Do not start again.",
    "2. Smoke or glow under the car: passengers out.",
    "3. Fire: line off first, then an extinguisher for live parts. No water.",
    "4. LETHAL VOLTAGE, HOT METAL: open nothing, touch nothing. Report it.",
)
_RULES = "Rule book and local codes come before this card."


def crew_sheet(result: StartResult) -> Sheet | None:
    """The card; None where a figure it rests on is not sure, or nothing is known of the holds (``no_crew_card``)."""
    if no_crew_card(result.job, result.heat):
        return None
    card = None
    for hold_pt, count, size_pt in product(_HOLD_PT, _columns(result), _SIZES_PT):
        card = _card(result, hold_pt, count, size_pt)
        if _fits(card, result):
            break
    return card


def _columns(result: StartResult) -> tuple[int, ...]:
    """How many tables of notches side by side: few notches one below the other, many in two or three."""
    return (1, 2) if len(result.job.notches) <= _ONE_COLUMN else (2, 3, 1)


def _card(result: StartResult, hold_pt: float, count: int, size_pt: float) -> Sheet:
    """The card with the holds in ``hold_pt`` in so many columns, and what is to be done beside them in ``size_pt``."""
    blocks = (_hold_tables(result, count, hold_pt), *_rest(result), *_smells(size_pt), *_void(result, size_pt))
    return Sheet("Crew card", IMPERATIVE, "crew", blocks, _across(result))


def _fits(card: Sheet, result: StartResult) -> bool:
    """Whether it is one card: all of it on one page."""
    gaps_mm = 4.0  # what the page gives above blocks beyond those within a column
    return column(card.blocks, LIVE_WIDE_MM)[1] + gaps_mm <= room_high_mm(card, stamp(result))


def _across(result: StartResult) -> tuple[str, ...]:
    """Castings nobody has measured: the holds are those of plates as ordered."""
    cast = any(plate.made_by == "cast" and plate.measured_ohm is None for plate in result.job.plates)
    return (PROVISIONAL,) if cast and not result.job.sections else ()


# --- holds -----------------------------------------------------------------------------------------------------------


def crew_holds(rows: Sequence[HeatRow]) -> dict[str, float | None]:
    """Seconds the crew may hold each notch that has a grid in circuit, None for no limit."""
    return {notch: _hold_s(rows, notch) for notch in dict.fromkeys(row.notch for row in rows if row.notch)}


def _hold_s(rows: Sequence[HeatRow], notch: str) -> float | None:
    try:
        return crew_hold_s(rows, notch)
    except InputError:
        return None


def crew_words(seconds: float | None) -> str:
    """A hold as the crew reads it: whole seconds up to two minutes, then minutes, rounded down."""
    if seconds is None:
        return NO_LIMIT
    if seconds < CREW_STEP_S:
        return PASS_THROUGH
    return _time_words(seconds)


def _time_words(seconds: float) -> str:
    if seconds <= 120.0:
        return f"{seconds:.0f}{NO_BREAK}s"
    minutes, rest = divmod(int(seconds), 60)
    if minutes >= 10 or not rest:
        return f"{minutes}{NO_BREAK}min"
    return f"{minutes}{NO_BREAK}min {rest}{NO_BREAK}s"


def _hold_tables(result: StartResult, count: int, size_pt: float) -> Block:
    """All notches in their order, side by side in ``count`` tables, so that the card stays one card."""
    holds = crew_holds(result.heat)
    rows = [(Cell(notch.name), Cell(crew_words(holds.get(notch.name)))) for notch in result.job.notches]
    each = ceil(len(rows) / count)
    parts = [tuple(rows[begin : begin + each]) for begin in range(0, len(rows), each)]
    columns = (Column("Notch"), Column("Hold at most", stretch=True))
    return _side_by_side([Table(columns, part, size_pt) for part in parts])


def _side_by_side(tables: list[Table]) -> Block:
    if len(tables) == 1:
        return tables[0]
    first, *others = tables
    return Beside((first,), (_side_by_side(others),), 1.0 / len(tables))


# --- rest, smell, void -----------------------------------------------------------------------------------------------


def rest_words(result: StartResult) -> str:
    """The rest before the next start: what the duty leaves of it after the quickest start, rounded up to 5 s."""
    every_s = result.job.duty.start_every_s
    assert every_s is not None
    run_s = float(result.run.seconds.min())
    return _time_words(ceil((every_s - run_s) / CREW_STEP_S) * CREW_STEP_S)


def after_hold_words(result: StartResult) -> str:
    """The rest after a full hold, rounded up to a minute; empty where none is known."""
    rest_s = result.day_trace.rest_after_hold_s if result.day_trace is not None else None
    return "" if rest_s is None else _time_words(ceil(rest_s / 60.0) * 60.0)


def _rest(result: StartResult) -> Iterator[Block]:
    rest, after = rest_words(result), after_hold_words(result)
    yield Paragraph(f"Rest before the next start: {rest}, power off or on a notch with no limit.", True, CARD_PT)
    said = f"After a full hold: rest {after}." if after else "After a full hold: no start until the grid is cold."
    yield Paragraph(said, True, CARD_PT)


def _smells(size_pt: float) -> Iterator[Block]:
    yield Paragraph("If it smells hot, smokes or glows:", True, CARD_PT)
    yield Box("", (*_SMELLS, _RULES), heavy=True, size_pt=size_pt)


def _void(result: StartResult, size_pt: float) -> Iterator[Block]:
    job = result.job
    car = f"{job.title}, revision {job.revision}, fingerprint {result.fingerprint}"
    if result.braking is not None:
        said = "Brake notches are not on this card: ask before holding one, on a hill above all."
        yield Paragraph(said, True, size_pt)
    yield Paragraph(f"VOID if a lead, a tap or a box is changed, and with a motor cut out. Car: {car}.", True, size_pt)
    yield SignOff(("Approved by",))
