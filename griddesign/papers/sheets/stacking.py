"""The stacking sheet: rod by rod what follows what, the lengths that must fit, the mass, and the stops on the way."""

from collections.abc import Iterator, Sequence

from griddesign.judge.records import Result
from griddesign.judge.stacking import BoxReport, StackReport
from griddesign.papers import frame
from griddesign.papers.blocks import (
    Block,
    Box,
    Cell,
    Column,
    Heading,
    NewPage,
    Paragraph,
    Points,
    Sheet,
    Table,
    TableCell,
)
from griddesign.papers.box_drawing import BoxSeen, draw_box
from griddesign.papers.picture_dxf import Layered
from griddesign.papers.sheets.box_page import box_blocks
from griddesign.papers.sheets.common import PROVISIONAL, by_tape, cautions, firm, length, mass, stamp
from griddesign.papers.sheets.gap_legend import MEASURE, GapLegend, or_measure
from griddesign.papers.sheets.leads import COUNT_FROM, mark_of
from griddesign.plate.shapes import Zigzag
from griddesign.units import show

IMPERATIVE = "Build each box from its paint dot, rod by rod, tick every joint, and stop where the sheet says stop."
NAME = "Stacking sheet"
_HEADING_MM = 12.0  # heading of a box and the room below its blocks
_CAPTION_MM = 6.0
_DRAWN_WIDE_MM = 172.0
_LIFT = (
    "HEAVY. Weigh or reckon the box before you lift it. Sling it by the end frames, never by the rods, plates or "
    "leads; more than your own rules let one person lift is a lift for two or for a hoist."
)
PRACTICE = "Common practice, no source. The user's own instructions come first."
STOPS = (
    "Before a plate goes on: faces of both eyes flat, bright and bare where they touch metal. No zinc, paint or scale.",
    "After every box: count the plates and the joints against the table, and look along both rods: black and "
    "open as drawn.",
    "Before any lead goes on: ohms of every plate joint, section and box, from the inspection sheet. Rods against "
    "plates: no connection.",
    "After the first hot run: let it go cold, isolate, verify dead, and tighten the rods again to the same torque. "
    "Then read the ohms again.",
)


def box_drawings(result: Result) -> tuple[Layered, ...]:
    """Every box drawn once, in the order of the boxes."""
    report = result.stack
    if report is None:
        return ()
    room_mm = (_DRAWN_WIDE_MM, _room_mm(result) - _CAPTION_MM)
    return tuple(_drawn(result, report, box, room_mm) for box in report.boxes)


def _drawn(result: Result, report: StackReport, box: BoxReport, room_mm: tuple[float, float]) -> Layered:
    assert result.layout is not None
    places = result.layout.in_box(box.stack.box)
    kind = next((place.kind for place in places if place.kind), "")
    plate = next((one for one in result.plates if one.wish.name == kind), result.plates[0])
    idle = frozenset(place.plate for place in places if not place.in_circuit)
    end_m = box.stack.rods[0].gaps[0].length_m
    seen = BoxSeen(box.stack, plate.shape, plate.outline, mark_of(report), idle, end_m)
    return draw_box(seen, "inch" if result.job.paper.units == "inch" else "mm", room_mm)


def stacking_sheet(result: Result, drawings: Sequence[Layered]) -> Sheet | None:
    """The sheet for the bench; None where there is no grid yet."""
    if result.stack is None:
        return None
    return Sheet(NAME, IMPERATIVE, "bench", tuple(_blocks(result, result.stack, drawings)), _across(result))


def _across(result: Result) -> tuple[str, ...]:
    return (PROVISIONAL,) if result.provisional else ()


def _blocks(result: Result, report: StackReport, drawings: Sequence[Layered]) -> Iterator[Block]:
    yield cautions(0, 2, 4)
    yield from _wrong(report)
    yield Paragraph(COUNT_FROM, bold=True)
    yield from _rods(result)
    legend = GapLegend(report)
    yield from legend.blocks(result)
    yield Heading("Parts to lay ready")
    yield _counts(result, report, legend)
    yield Heading("Lengths and mass")
    yield _lengths(result, report)
    yield from _length_words(result, report)
    yield Box("Lifting", (_LIFT,), heavy=True)
    yield Heading("Stops")
    yield Points(STOPS, numbered=True)
    yield Paragraph(PRACTICE, size_pt=9.0)
    yield from _torque(report)
    yield NewPage()
    for box, drawing in zip(report.boxes, drawings, strict=True):
        yield from box_blocks(report, box, drawing, legend, _room_mm(result))


def _room_mm(result: Result) -> float:
    """Height of a page below the band and the heading of a box."""
    empty = Sheet(NAME, IMPERATIVE, "bench", (), _across(result))
    return frame.room_high_mm(empty, stamp(result)) - _HEADING_MM


def _wrong(report: StackReport) -> Iterator[Block]:
    if report.walked_faults:
        yield Box("Do not build: the circuit as stacked is not the one meant", report.walked_faults, heavy=True)
    if report.misfits:
        yield Box("Does not fit", tuple(f"{one[0].upper()}{one[1:]}." for one in report.misfits), heavy=True)


def _rods(result: Result) -> Iterator[Block]:
    yield Paragraph(rod_words([plate.shape for plate in result.plates if plate.count]))


def rod_words(shapes: Sequence[Zigzag]) -> str:
    """Which rod is which, for plates of these shapes."""
    words = [
        "T is the rod on the terminal side, F the rod on the far side; every plate the same way round."
        if {shape.eyes for shape in shapes} <= {"opposite edges"}
        else "Both eyes stand on one edge of the plate: T, “terminal side”, is the rod through the first eye (the dot "
        "on the plate sheet), F, “far side”, the rod through the last. Every plate the same way round."
    ]
    if any(shape.support_eyes for shape in shapes):
        words.append("S is the rod through the support eyes. It carries no current: mica at both faces of every eye.")
    words.append("Each rod wears its mica tube from end frame to end frame; no metal of the stack touches a rod.")
    return " ".join(words)


# --- tables ----------------------------------------------------------------------------------------------------------


_MOST_BOXES = 6


def _counts(result: Result, report: StackReport, legend: GapLegend) -> Table:
    """Parts by box and all together; where the boxes are many, all together alone."""
    boxes = [box.stack for box in report.boxes]
    rows: list[tuple[str, str, str, list[int]]] = [("", "plates", "", [len(stack.plates) for stack in boxes])]
    rows += [(letter, what, or_measure(result, long_m), each) for letter, what, long_m, each in legend.counts()]
    rods = [len(stack.rods) for stack in boxes]
    diameter_m = report.given.hardware.rod_diameter_m
    rows.append(("", "tie rods, diameter", or_measure(result, diameter_m), rods))
    rows += [("", "mica tubes", "", rods), ("", "end frames", "", [2] * len(boxes))]
    by_box = len(boxes) <= _MOST_BOXES
    columns = (
        Column(""),
        Column("Part", stretch=True),
        Column("Length on the rod", "right"),
        *(Column(f"Box {stack.box}", "right") for stack in boxes if by_box),
        Column("All", "right"),
    )
    cells: tuple[tuple[TableCell, ...], ...] = tuple(
        (letter, what, long, *(str(count) for count in each if by_box), Cell(str(sum(each))))
        for letter, what, long, each in rows
    )
    return Table(columns, cells, 10.0)


def _lengths(result: Result, report: StackReport) -> Table:
    titles = ("Box", "Plates", "Over the eyes, cold", "Between end frames", "Make-up", "Plates alone", "Whole box")
    rows = tuple(
        (
            str(box.stack.box),
            str(len(box.stack.plates)),
            _over_eyes(result, box),
            MEASURE if box.between_frames_m is None else by_tape(result, box.between_frames_m),
            by_tape(result, box.make_up_m) if abs(box.make_up_m) > 1e-6 else "none",
            mass(result, box.plates_kg),
            mass(result, box.whole_kg) if box.whole_kg is not None else "weigh",
        )
        for box in report.boxes
    )
    return Table(tuple(Column(title, "right") for title in titles), rows, 10.0)


def _over_eyes(result: Result, box: BoxReport) -> str:
    if box.spread_m is None:
        return length(result, box.stack.over_eyes_m)
    return f"{length(result, box.stack.over_eyes_m)} {firm(f'± {_small(result, box.spread_m[0])}')}"


def _small(result: Result, value_m: float) -> str:
    """A spread or a growth: two digits are all that is known of it."""
    return firm(show(value_m, "length", digits=2, units=result.job.paper.units))


def _length_words(result: Result, report: StackReport) -> Iterator[Block]:
    words = [
        "Make-up: what goes in at the far end so that every box fits the same end frames "
        + ("as given." if report.given.frames_apart_m is not None else "as the longest."),
        "Where eyes are thicker or thinner than their strips, or kinds stand side by side, the spacers differ and the "
        "clear gap between plates stays.",
    ]
    spreads = [box.spread_m for box in report.boxes if box.spread_m is not None]
    if spreads:
        likely = max(spread[1] for spread in spreads)
        words.append(
            "±: every eye off the same way, washers and spacers taken as true; as chance has it "
            f"±{_small(result, likely)} at most."
            " Measure the first box over its eyes before rods are cut."
        )
    yield Points((*words, *_growth_words(result, report)), size_pt=10.0)


def _growth_words(result: Result, report: StackReport) -> Iterator[str]:
    grown = [(box, box.growth) for box in report.boxes if box.growth is not None]
    if not grown:
        yield "Growth when hot: not reckoned, no temperature is known."
        return
    box, worst = max(grown, key=lambda pair: pair[1].eyes_m)
    hot = firm(show(box.hot_c or 0.0, "temperature", digits=3, units=result.job.paper.units))
    over, loose = worst.over_cold_rod_m, worst.over_hot_rod_m
    start = f"Growth when hot (box {box.stack.box}, hottest plate {hot}): the eyes {_small(result, worst.eyes_m)}"
    if over is None or loose is None:
        yield f"{start}; washers, spacers and rod not reckoned, their metal or thickness is not known."
    else:
        tight = "tighter" if loose >= 0 else "looser"
        yield (
            f"{start}, the stack {_small(result, over)} more than a rod still cold, and {_small(result, abs(loose))} "
            f"{tight} than a rod as hot as the stack; the truth lies between. Leave the rods that much thread or "
            "spring."
        )
    yield "The eyes are taken as hot as their plates, mica and end insulation as not growing."


def _torque(report: StackReport) -> Iterator[Block]:
    torque = report.given.torque
    if torque is None:
        yield Paragraph("Torque of the rods: ____________  (yours to say; none is given in the job)")
    else:
        words = torque.text or show(torque.value, "torque")
        yield Paragraph(f"Torque of the rods: {words} ({torque.source}).", bold=True)
