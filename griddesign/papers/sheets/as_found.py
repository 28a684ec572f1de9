"""The as-found record: what stands in the boxes plate by plate, what was read, what does not fit, the notches today."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from griddesign.found.records import AsFound, Reading20
from griddesign.found.squares import LEVEL
from griddesign.judge.finding import Finding, Verdict
from griddesign.judge.retapping.networks import doubts_of, from_line_a, lacking, left_out_words, most_a, networks_of
from griddesign.judge.retapping.proof import exchange_words, proof_words
from griddesign.judge.retapping.records import NotchAt, RetapResult, Tapping
from griddesign.papers.blocks import (
    Block,
    Box,
    Cell,
    Column,
    Heading,
    Paragraph,
    Points,
    Sheet,
    SignOff,
    Table,
    TableCell,
)
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import ampere, cautions, ohm, percent
from griddesign.papers.sheets.measure import not_sure
from griddesign.papers.sheets.shown import Shown
from griddesign.papers.table import columns

RECORD = "Keep this record with the car: it says what was found before anything was moved."
COMPARE = "Check every notch against the controller before and after; the new ohms hold only with the new taps."


def as_found_sheet(result: RetapResult) -> Sheet:
    """The record, for whoever answers for the car."""
    return Sheet("As-found record", RECORD, "engineer", tuple(_record(result)))


def _record(result: RetapResult) -> Iterator[Block]:
    found = result.found
    wrong = [one for one in result.findings if one.item.startswith(("reading", "a plate marked", "readings by"))]
    if wrong:
        yield Box("What does not fit", tuple(map(_words, wrong)), heavy=True, size_pt=10.0)
    for box, group in groupby(enumerate(found.plates.plates, start=1), key=lambda one: one[1].box):
        yield Heading(f"Box {box}, from the dot end")
        yield _plates(result, f"Box\u00a0{box}, plate", [number for number, _ in group])
    yield Paragraph(
        "≈: no reading tells this plate from its neighbours, or the pair was read as it stands and shared out evenly. "
        "Plates of one pair number carry the current together.",
        size_pt=9.0,
    )
    yield from _readings(found, Shown(result.job.paper.units))
    yield Paragraph(
        f"Readings that overlap are reconciled by weighted least squares; one that differs from what the others make "
        f"of it is left out, at a level of one false alarm in {1 / LEVEL:.0f} files of sound readings.",
        size_pt=9.0,
    )
    yield Heading("Remarks")
    yield Points(result.remarks or ("None.",), size_pt=10.0)
    yield SignOff(("Measured by", "Checked by"))


def _words(finding: Finding) -> str:
    advice = f" {finding.measure_next}" if finding.measure_next else ""
    return f"{str(finding.verdict).upper()}: {finding.item}: {finding.why}.{advice}"


def _plates(result: RetapResult, counted: str, numbers: list[int]) -> Table:
    was = {number: one.name for one in (result.before.sections if result.before else ()) for number in one.plates}
    first = {one.first: one for one in reversed(result.found.readings) if one.first == one.last}
    at = f"At {cold(result.job.paper.units)}"
    right = (counted, "Read", "Metal at", at, "±", "Pair")
    titles = (counted, "Kind", "Read", "Metal at", at, "±", "Pair", "State", "Section", "Remarks")
    made = tuple(Column(title, "right" if title in right else "left", title == "Remarks") for title in titles)
    return Table(made, tuple(_plate(result, number, first.get(number), was) for number in numbers), 9.5)


def _plate(
    result: RetapResult, number: int, reading: Reading20 | None, was: Mapping[int, str]
) -> tuple[TableCell, ...]:
    found = result.found
    plate, row = found.plates.plates[number - 1], found.rows[number - 1]
    about = "≈ " if number in found.estimated or (plate.joined and not row.apart) else ""
    opened = plate.ohm == float("inf")
    said = (row.remarks, f"broke at the {row.broken_at}" if row.broken_at else "")
    return (
        str(plate.position),
        plate.kind,
        "open" if opened else "" if reading is None else ohm(reading.read_ohm),
        "" if reading is None else Shown(result.job.paper.units).temperature(reading.t_c),
        "" if opened else f"{about}{ohm(plate.ohm)}",
        "" if opened else ohm(plate.half_width_ohm, 2),
        str(plate.joined or ""),
        "" if plate.state == "in circuit" else Cell("DEAD" if plate.state == "dead" else plate.state),
        was.get(number, "none" if result.before else ""),
        "; ".join(word for word in said if word),
    )


def _readings(found: AsFound, shown: Shown) -> Iterator[Block]:
    """Readings over several plates, second readings, and those left out; the others stand with their plates."""
    firsts = {one.first: one for one in reversed(found.readings) if one.first == one.last}
    rest = [one for one in found.readings if not one.used or one is not firsts.get(one.first) or one.first != one.last]
    if rest:
        yield Heading("Further readings, and those left out")
        yield _reading_table(rest, shown)


def _reading_table(readings: Sequence[Reading20], shown: Shown) -> Table:
    at = f"At {cold(shown.units)}"
    numbers = ("Line", "Read", "Metal at", at, "±")
    titles = columns("Line", "Over", "Read", "Metal at", at, "±", "Method", "Used", numbers=numbers)
    rows = tuple(
        (
            str(one.line),
            one.words,
            ohm(one.read_ohm),
            shown.temperature(one.t_c),
            ohm(one.ohm),
            f"{'≈ ' if one.assumed else ''}{ohm(one.half_width_ohm, 2)}",
            one.method,
            "yes" if one.used else Cell("NO"),
        )
        for one in readings
    )
    return Table(titles, rows, 9.5)


def before_after_sheet(result: RetapResult) -> Sheet:
    """Every notch today and on the new taps, side by side."""
    return Sheet("Notches before and after", COMPARE, "engineer", tuple(_before_after(result)))


def _before_after(result: RetapResult) -> Iterator[Block]:
    yield cautions(0, 4)
    yield Heading(f"Ohms of the grid at {cold(result.job.paper.units)}, and what the current feels")
    yield _notches(result)
    yield Paragraph(_note(result), size_pt=9.0)
    yield from _networks(result)
    if (result.after and result.after.run.peak_a) or (result.before and result.before.run.peak_a):
        yield Heading("Peak currents of the start as run, nominal voltage, A per motor")
        yield _peaks(result)
    yield Heading("How sure that these are the best taps")
    yield Paragraph(_proof(result))
    yield from _findings(result)
    yield from not_sure(result.measure_next, result.job.paper.units)


def _note(result: RetapResult) -> str:
    without = result.before.run.without if result.before else ""
    said = "Current off: wanted R′ over got, less one; motors and feeder inside; plus is too much current. "
    if result.before is None:
        return f"{said}The job gives no taps of today, so nothing is said of before."
    return f"{said}{f'Today no start was run: {without}.' if without else ''}"


def _notches(result: RetapResult) -> Table:
    titles = ("Notch", "Wanted", "Today", "off", "New taps", "off ", "from", "to", "Within")
    left = ("Notch", "Within")
    rows = tuple(
        _notch(result, notch.name, notch.wanted_ohm, bool(notch.sections)) for notch in result.worked.wanted.notches
    )
    return Table(tuple(Column(title, "left" if title in left else "right") for title in titles), rows, 10.0)


def _notch(result: RetapResult, name: str, wanted_ohm: float, grid: bool) -> tuple[TableCell, ...]:
    if not grid:
        return name, "no grid", "", "", "", "", "", "", ""
    before, after = (_at(tapping, name) for tapping in (result.before, result.after))
    today: tuple[TableCell, ...] = ("", "") if before is None else _today(before)
    if after is None:
        return (name, ohm(wanted_ohm), *today, "", "", "", "", "")
    tolerance = result.job.limits.notch_tolerance * (1.0 + 1e-9)
    inside = abs(after.error) <= tolerance
    ends = max(abs(after.error_low), abs(after.error_high)) <= tolerance
    within: TableCell = "yes" if inside and ends else Cell("NOT SHOWN") if inside else Cell("NO")
    low, high = percent(after.error_low), percent(after.error_high)
    return name, ohm(wanted_ohm), *today, ohm(after.cold_ohm), percent(after.error), low, high, within


def _today(before: NotchAt) -> tuple[TableCell, ...]:
    return (Cell("open"), "no current") if before.open else (ohm(before.cold_ohm), percent(before.error))


def _at(tapping: Tapping | None, name: str) -> NotchAt | None:
    return next((notch for notch in tapping.notches if notch.name == name), None) if tapping else None


def _networks(result: RetapResult) -> Iterator[Block]:
    """Notches that no taps were sought for, since they are no groupings."""
    rows = networks_of(result)
    if not rows:
        return
    yield Heading("Notches that are networks, at standstill, nominal voltage, cold grid")
    titles = ("Notch", "From line today", "new taps", "Most of a motor today", "new taps ")
    cells = tuple(
        (
            row.name,
            *(ampere(from_line_a(one)) or lacking(one) for one in (row.before, row.after)),
            *(ampere(most_a(one)) or lacking(one) for one in (row.before, row.after)),
        )
        for row in rows
    )
    yield Table(columns(*titles, numbers=titles[1:]), cells, 10.0)
    said = "; ".join(f"notch {row.name}: {row.why}" for row in rows)
    doubts = "; ".join(doubts_of(rows))
    yield Paragraph(
        (f"Not known: {doubts}. " if doubts else "")
        + f"No grouping of like motor strings ({said}). No taps are sought for them and no wanted ohms are found; they "
        "are run in the start as the networks they are, and their peaks and heat are judged with the others.",
        size_pt=9.0,
    )


def _peaks(result: RetapResult) -> Table:
    before = result.before.run.peak_a if result.before else {}
    after = result.after.run.peak_a if result.after else {}
    rows = tuple(
        (notch.name, ampere(before.get(notch.name)) or "not run", ampere(after.get(notch.name)) or "not run")
        for notch in result.job.notches
    )
    return Table(columns("Notch", "Today", "New taps", numbers=("Today", "New taps")), rows, 10.0)


def _proof(result: RetapResult) -> str:
    answer = result.answer
    if answer is None:
        return f"There are none: {result.no_answer}"
    worst, exchanged, sure = f"{100 * answer.worst_error:.2f} %", exchange_words(answer), proof_words(answer)
    moved = f"{len(answer.moved)} tap{' moves' if len(answer.moved) == 1 else 's move'}"
    bypassed = f"{len(answer.bypassed)} plate{'' if len(answer.bypassed) == 1 else 's'} bypassed"
    said = f"{sure[0].upper()}{sure[1:]}. Worst notch {worst}; {exchanged + '; ' if exchanged else ''}"
    note = f"{answer.note[0].upper()}{answer.note[1:]}. " if answer.note else ""
    return f"{said}{moved}; {bypassed}. {note}{left_out_words(result.job)}".strip()


def _findings(result: RetapResult) -> Iterator[Block]:
    open_ones = [one for one in result.findings if one.verdict is not Verdict.HOLDS]
    yield Heading("Findings")
    held = len(result.findings) - len(open_ones)
    yield Points((f"{held} of {len(result.findings)} hold.", *map(_words, open_ones)), size_pt=10.0)
    if result.not_checked:
        yield Paragraph(f"NOT CHECKED: {', '.join(result.not_checked)}.", bold=True, size_pt=10.0)
