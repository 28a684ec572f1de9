"""The table of single faults: every fault held against the sound grid, in figures and in the driver's words."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from math import isfinite
from typing import TypeAlias

from griddesign.judge.faults.bank import faults
from griddesign.judge.faults.effects import Drive, Effect
from griddesign.judge.faults.records import Bank, Fault, FaultRow, FaultTable, Felt, NotchUnder
from griddesign.traction.records import Notch

FELT_SHARE = 0.10
"""A step of effort is felt where it differs from the sound one's by this share of the greatest pull of a sound start;
our own figure, no source."""
SOUND = "sound"
EffectOf: TypeAlias = Callable[[Fault, tuple[Notch, ...], Drive | None], Effect]


def fault_table(
    bank: Bank, notches: tuple[Notch, ...], drive: Drive | None, effect: EffectOf | None = None
) -> FaultTable:
    """Every single fault of a bank. Without a ``drive`` the ohms, and which notches are dead. ``effect``: how one is
    worked out; None where every notch is a grouping.

    The driver does what he always does: he notches up when the current has fallen to the valley current, and passes at
    once through notches that do nothing. Nominal voltage, currents at the worst corner of the peak rule.
    """
    effect = effect or Effect
    sound = effect(Fault("plate open", SOUND, bank), notches, drive)
    before = sound.rows()
    name, rise_k = sound.hottest or (None, None)
    whole = FaultRow(SOUND, "every plate as it should be", before, "", name, rise_k, 1.0 if name else None)
    whole = replace(whole, breaker=_breaker(before, sound))
    rows = tuple(_row(effect(fault, notches, drive), sound, whole) for fault in faults(bank))
    return FaultTable(whole, rows, drive is not None)


def _row(effect: Effect, sound: Effect, whole: FaultRow) -> FaultRow:
    felt = tuple(
        _felt(effect, sound, place, now, before)
        for place, (now, before) in enumerate(zip(effect.rows(), whole.notches, strict=True))
    )
    name, rise_k = effect.hottest or (None, None)
    times = rise_k / whole.rise_k if rise_k and whole.rise_k else None
    breaker = tuple(notch for notch in _breaker(felt, effect) if notch not in whole.breaker)
    driver = in_words(felt, breaker, driven=effect.drive is not None)
    return FaultRow(effect.fault.kind, effect.fault.what, felt, driver, name, rise_k, times, breaker)


def _felt(effect: Effect, sound: Effect, place: int, now: NotchUnder, before: NotchUnder) -> NotchUnder:
    change = now.grid_ohm - before.grid_ohm if isfinite(before.grid_ohm) else 0.0
    return replace(now, ohm_change=change, felt=_word(effect, sound, place, now, before))


def _word(effect: Effect, sound: Effect, place: int, now: NotchUnder, before: NotchUnder) -> Felt:
    if now.open or now.shorted or place in effect.idle:
        return "" if before.open or before.shorted or place in sound.idle else "dead"
    if place in effect.standing:
        return "" if place in sound.standing else "no start"
    if now.step_n is None or effect.drive is None:
        return ""
    least = FELT_SHARE * sound.greatest_pull_n
    more = now.step_n - (before.step_n or 0.0)
    return "jerk" if more > least else "weak" if more < -least else ""


def _breaker(rows: Sequence[NotchUnder], effect: Effect) -> tuple[str, ...]:
    """Notches on which more comes from the line than the breaker bears."""
    if effect.drive is None or effect.drive.line.breaker_a is None:
        return ()
    limit_a = effect.drive.line.breaker_a
    return tuple(row.name for place, row in enumerate(rows) if (effect.line_peak_a(place) or 0.0) > limit_a)


# --- words -----------------------------------------------------------------------------------------------------------


def in_words(rows: Sequence[NotchUnder], breaker: Sequence[str] = (), *, driven: bool = True) -> str:
    """What the driver feels, as in ``no start on notches 1 to 3; starts with a jerk on notch 4``."""
    said = list(_said(rows))
    if breaker:
        opens = [place for place, row in enumerate(rows) if row.name in breaker]
        said.append(f"the breaker may open on {_named(rows, opens)}")
    if said:
        return "; ".join(said)
    return "nothing noticeable" if driven else "no notch is dead; what is felt is not worked out without a car"


def _said(rows: Sequence[NotchUnder]) -> Iterator[str]:
    still = [row.open or row.felt in ("dead", "no start") for row in rows]
    if all(still):
        yield "no start on any notch"
        return
    first = still.index(False)
    if first:
        yield f"no start on {_named(rows, range(first))}"
    later = [place for place in range(first, len(rows)) if rows[place].felt == "dead"]
    if later:
        yield f"the pull drops out on {_named(rows, later)}"
    if rows[first].felt:
        how = "starts with a jerk on" if rows[first].felt == "jerk" else "starts weakly on"
        yield f"{how} {_named(rows, [first])}"
    for word, how in (("jerk", "a jerk on"), ("weak", "little or no push on")):
        places = [place for place in range(first + 1, len(rows)) if rows[place].felt == word]
        if places:
            yield f"{how} {_named(rows, places)}"
    for row in rows:
        if row.why:
            yield f"notch {row.name} is not worked out ({row.why})"
    for motors in dict.fromkeys(row.lost for row in rows if row.lost):
        places = [place for place, row in enumerate(rows) if row.lost == motors]
        yield f"motor {' and '.join(map(str, motors))} without current on {_named(rows, places)}"


def _named(rows: Sequence[NotchUnder], places: Sequence[int]) -> str:
    """As in ``notch 4``, ``notches 1 to 3, 6 and 8``."""
    runs: list[list[int]] = []
    for place in places:
        if runs and runs[-1][-1] == place - 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    words = [word for run in runs for word in _run_named([rows[place].name for place in run])]
    start = "notch" if len(places) == 1 else "notches"
    return f"{start} {' and '.join(filter(None, (', '.join(words[:-1]), words[-1])))}"


def _run_named(names: Sequence[str]) -> Sequence[str]:
    return (f"{names[0]} to {names[-1]}",) if len(names) > 2 else names
