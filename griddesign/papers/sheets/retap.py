"""The bench's sheet for new taps: from where to where every lead goes, the sections to be read, what remains unused."""

from collections.abc import Iterator, Sequence

from griddesign.found.tapped import TappedSection, unused
from griddesign.grid.records import Tap
from griddesign.judge.retapping.records import RetapResult
from griddesign.papers.blocks import Block, Box, Cell, Column, Heading, Paragraph, Points, Sheet, Table, TableCell
from griddesign.papers.cold import cold
from griddesign.papers.retap_json import bands, placed, placed_today
from griddesign.papers.sheets.common import cautions, joint_words, ohm
from griddesign.papers.sheets.leads import COUNT_FROM
from griddesign.units import show_change

ORDER = "Find the paint dot. Move the leads in bold, measure each section cold, then connect."
SAME = "stays"
BLANK_MM = 22.0


def retap_sheet(result: RetapResult) -> Sheet | None:
    """The tap sheet; None where there is no arrangement."""
    if result.after is None:
        return None
    return Sheet("Tap sheet", ORDER, "bench", tuple(_blocks(result, result.after.sections)))


def _blocks(result: RetapResult, sections: Sequence[TappedSection]) -> Iterator[Block]:
    yield cautions(0, 1, 2, 4)
    yield from _misses(result)
    yield Paragraph(COUNT_FROM, bold=True)
    yield Heading("Every lead, from where to where")
    yield _taps(result)
    yield from _rearranged(result)
    yield Heading("Sections as tapped")
    yield _sections(result, sections)
    yield Paragraph(
        f"Limits at {cold(result.job.paper.units)} of the metal, from the notch tolerance shared out; correct a "
        "reading taken at another temperature. ± is what the plates' own readings may be off by.",
        size_pt=9.0,
    )
    yield from _jumpers(result, sections)
    yield Heading("What remains unused")
    yield _unused(result, sections)


def _misses(result: RetapResult) -> Iterator[Block]:
    """A heavy box where a notch stays outside its tolerance, with what would cure it."""
    assert result.after is not None
    tolerance = result.job.limits.notch_tolerance
    off = [notch for notch in result.after.notches if abs(notch.error) > tolerance * (1.0 + 1e-9)]
    if off:
        lines = [
            f"Notch {notch.name}: {ohm(notch.cold_ohm)} for {ohm(result.wanted_ohm[notch.name])}, current "
            f"{show_change(notch.error)}, allowed ±{100 * tolerance:.3g} %."
            for notch in off
        ]
        yield Box("No arrangement of these plates meets the tolerance", (*lines, *cure_words(result)), heavy=True)


def cure_words(result: RetapResult) -> Iterator[str]:
    """What would bring the notches in, in words."""
    for one in result.cures:
        plates = "one plate" if one.plates == 1 else f"{one.plates} plates"
        each = f" of {ohm(one.each_ohm, 3)}{'' if one.plates == 1 else ' each'}"
        if one.ohm > 0.0:
            yield f"Cure: add {plates}{each} to section {one.section}."
        else:
            yield f"Cure: take {ohm(-one.ohm, 3)} out of section {one.section}: exchange plates for ones of less ohms."
    if result.cures and not result.cured:
        yield "Even so a notch stays out: the sections of the controller do not fit the ohms wanted."


def _taps(result: RetapResult) -> Table:
    today = placed_today(result)
    columns = (
        Column("Lead to tap", least_mm=24.0),
        Column("Sits today"),
        Column("Goes to", stretch=True),
        Column("Side"),
        Column("Plates before", "right"),
        Column("Fitted", blank=True, least_mm=BLANK_MM),
    )
    return Table(columns, tuple(_tap(result, tap, today.get(tap.name)) for tap in placed(result)), 10.0)


def _tap(result: RetapResult, tap: Tap, was: Tap | None) -> tuple[TableCell, ...]:
    moved = was is not None and was.after_plate != tap.after_plate
    goes: TableCell = where(result, tap)
    if moved:
        goes = Cell(f"MOVE TO {where(result, tap)}")
    elif was is not None:
        goes = f"{SAME}: {where(result, tap)}"
    sat = "not given" if was is None else where(result, was)
    return Cell(tap.name), sat, goes, tap.side, str(tap.after_plate), ""


def where(result: RetapResult, tap: Tap) -> str:
    """Box and joint as the bench counts them."""
    in_box = sum(plate.box == tap.box for plate in result.found.plates.plates)
    return f"box {tap.box}, {joint_words(tap.joint, in_box)}"


def _rearranged(result: RetapResult) -> Iterator[Block]:
    """Plates that change places, spares that go in."""
    answer = result.answer
    if answer is None or not (answer.swaps or answer.spares):
        return
    found = result.found
    swaps = (f"Let {found.place(one)} and {found.place(other)} change places." for one, other in answer.swaps)
    spares = (f"Put spare {name} in the place of {found.place(number)}." for name, number in answer.spares)
    yield Heading("Plates that change places")
    yield Points((*swaps, *spares), numbered=True)


def _sections(result: RetapResult, sections: Sequence[TappedSection]) -> Table:
    accept = bands(result)
    columns = (
        Column("Section"),
        Column("Plates", "right"),
        Column("From"),
        Column("To"),
        Column("Ohms, cold", "right"),
        Column("±", "right"),
        Column("Accept from", "right"),
        Column("to", "right"),
        Column("Measured", blank=True, least_mm=20.0),
    )
    return Table(columns, tuple(_section(result, one, accept[one.name]) for one in sections), 9.5)


def _section(result: RetapResult, one: TappedSection, accept: tuple[float, float]) -> tuple[TableCell, ...]:
    place = result.found.place
    first, last = (place(one.plates[0]), place(one.plates[-1])) if one.plates else ("", "")
    beside = "" if one.in_parallel in (1, None) else f", {one.in_parallel} side by side"
    low, high = accept
    plates = f"{len(one.plates)}{beside}"
    return Cell(one.name), plates, first, last, ohm(one.cold_ohm), ohm(one.half_width_ohm, 2), ohm(low), ohm(high), ""


def _jumpers(result: RetapResult, sections: Sequence[TappedSection]) -> Iterator[Block]:
    jumped = [number for one in sections for number in one.jumped]
    if jumped:
        named = ", ".join(result.found.place(number) for number in jumped)
        yield Box("Jumpers", (f"Bridged from joint to joint, so that they carry nothing: {named}.",), heavy=True)


def _unused(result: RetapResult, sections: Sequence[TappedSection]) -> Block:
    plates = result.found.plates
    idle = unused(plates, sections)
    if not idle:
        return Paragraph("Nothing: every plate carries current.")
    rows = tuple(
        (result.found.place(number), plates.plates[number - 1].kind, _ohms(plates.plates[number - 1].ohm), why)
        for number, why in idle
    )
    columns = (Column("Plate"), Column("Kind"), Column("Ohms, cold", "right"), Column("Why", stretch=True))
    return Table(columns, rows, 10.0)


def _ohms(value: float) -> str:
    return "open" if value == float("inf") else ohm(value) if value > 0.0 else "not known"
