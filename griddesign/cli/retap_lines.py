"""New taps as told on the screen, line by line."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from griddesign.cli.finding_lines import finding_lines
from griddesign.cli.saying import table
from griddesign.judge.retapping.networks import doubts_of, from_line_a, lacking, left_out_words, most_a, networks_of
from griddesign.judge.retapping.proof import exchange_words, proof_words
from griddesign.judge.retapping.records import NotchAt, RetapResult, Tapping
from griddesign.papers.retap_json import placed, placed_today
from griddesign.papers.sheets.retap import cure_words, where
from griddesign.units import show

if TYPE_CHECKING:
    from griddesign.judge.chart_motors import NotchAtSpeed


def retap_lines(result: RetapResult) -> Iterator[str]:
    """All that ``griddesign retap`` says."""
    job = result.job
    yield f"{job.title}, revision {job.revision}, fingerprint {result.fingerprint}"
    if job.example:
        yield "Example figures, not for manufacture."
    yield ""
    yield from _notches(result)
    yield ""
    yield from _taps(result)
    yield from _tonight(result)
    yield from _cures(result)
    yield ""
    yield from finding_lines(result)


def _ohm(value: float | None) -> str:
    return "" if value is None else "open" if value == float("inf") else show(value, "resistance", digits=4)


def _percent(value: float | None) -> str:
    return "" if value is None else f"{100 * value:+z.1f} %"


def _notches(result: RetapResult) -> Iterator[str]:
    rows = [
        (
            notch.name,
            _ohm(notch.wanted_ohm),
            *_at(result.before, notch.name),
            *_at(result.after, notch.name),
            _peak(result.after, notch.name),
        )
        for notch in result.worked.wanted.notches
        if notch.sections
    ]
    yield from table(("notch", "wanted", "today", "current off", "new taps", "current off", "peak per motor"), rows)
    for one in networks_of(result):
        amps = (_standing(at) for at in (one.before, one.after))
        yield f"  notch {one.name}, a network, at standstill: {' today, '.join(amps)} on the new taps"
    yield from (f"  not known: {doubt}" for doubt in doubts_of(networks_of(result)))


def _standing(at: "NotchAtSpeed | None") -> str:
    line_a, motor_a = from_line_a(at), most_a(at)
    if line_a is None or motor_a is None:
        return lacking(at)
    return f"{show(line_a, 'current')} from line, {show(motor_a, 'current')} in the motor with most"


def _at(tapping: Tapping | None, name: str) -> tuple[str, str]:
    found: NotchAt | None = next((one for one in tapping.notches if one.name == name), None) if tapping else None
    if found is None:
        return "", ""
    return _ohm(found.cold_ohm), "no current" if found.open else _percent(found.error)


def _peak(tapping: Tapping | None, name: str) -> str:
    peak_a = tapping.run.peak_a.get(name) if tapping else None
    return "" if peak_a is None else show(peak_a, "current")


def _taps(result: RetapResult) -> Iterator[str]:
    today, rows = placed_today(result), []
    for tap in placed(result):
        was = today.get(tap.name)
        moves = was is not None and was.after_plate != tap.after_plate
        sat = "" if was is None else where(result, was)
        rows.append((tap.name, sat, "MOVE TO" if moves else "", where(result, tap), tap.side, str(tap.after_plate)))
    yield from table(("tap", "today", "", "goes to", "side", "after plate"), rows, left=5)
    answer = result.answer
    if answer is not None:
        exchanged = exchange_words(answer)
        worst = f"worst notch {100 * answer.worst_error:.2f} %{' ' + exchanged if exchanged else ''}"
        yield f"  {worst}, {proof_words(answer)}; {_moves(len(answer.moved))}"
        yield from (f"  {words}" for words in (left_out_words(result.job),) if words)
        yield from _rearranged(result)


def _rearranged(result: RetapResult) -> Iterator[str]:
    """Which plates change places and which spares go in."""
    found, answer = result.found, result.answer
    assert answer is not None
    yield from (f"  exchange {found.place(one)} and {found.place(other)}" for one, other in answer.swaps)
    yield from (f"  fit spare {name} in the place of {found.place(number)}" for name, number in answer.spares)


def _moves(count: int) -> str:
    return "1 tap moves" if count == 1 else f"{count} taps move"


def _tonight(result: RetapResult) -> Iterator[str]:
    if not result.options:
        return
    rows = []
    for number, option in enumerate(result.options, start=1):
        standing = option is result.options[0]
        worst = max((one.error for one in option.tapping.notches), key=abs, default=0.0) if option.tapping else 0.0
        verdict = "" if standing else str(option.verdict)
        rows.append((str(number), option.name, verdict, "" if standing else _percent(worst), option.why))
    yield ""
    yield "Tonight, TEMPORARY:"
    yield from table(("", "what", "verdict", "worst notch", "why"), rows, left=5)


def _cures(result: RetapResult) -> Iterator[str]:
    words = list(cure_words(result))
    if words:
        yield ""
        yield from words
