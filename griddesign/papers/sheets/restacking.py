"""How boxes are stacked after their taps were sought anew: which part follows which on the rods where something moves.

Lengths stand only where the job draws the plates; else parts are named in their order and counted, nothing is made up.
"""

from collections.abc import Iterator, Sequence

from griddesign.found.tapped import taps_placed
from griddesign.grid.records import Tap
from griddesign.grid.stack.records import BoxStack, Gap, RodName
from griddesign.judge.retapping.records import Option, RetapResult
from griddesign.judge.retapping.stack import Change, NotStacked, Stacked, jumper_name, stacked
from griddesign.papers import frame
from griddesign.papers.blocks import (
    Beside,
    Block,
    Box,
    Cell,
    Column,
    Heading,
    Paragraph,
    Points,
    Sheet,
    Table,
    TableCell,
)
from griddesign.papers.box_drawing import BoxSeen, draw_box
from griddesign.papers.picture_dxf import Layered
from griddesign.papers.retap_json import placed, placed_today
from griddesign.papers.sheets.box_page import box_blocks, box_lists
from griddesign.papers.sheets.common import cautions, joint_words, stamp
from griddesign.papers.sheets.gap_legend import MEASURE, GapLegend, or_measure
from griddesign.papers.sheets.leads import COUNT_FROM, mark_of
from griddesign.papers.sheets.stacking import PRACTICE, STOPS, rod_words
from griddesign.papers.stack_drawing import SHORT
from griddesign.plate.zigzag import outline_of

NAME = "Stacking sheet"
ORDER = (
    "Mark every plate before a rod is drawn. Open only these boxes, and put each back as listed, from its paint dot."
)
_HEADING_MM, _CAPTION_MM, _WIDE_MM = 12.0, 6.0, 172.0
OLD_PARTS = (
    "Chalk box and place on every plate before the first rod is drawn; lay the plates out in their order.",
    "Old mica that flakes or is black with carbon does not go back. It may be bound with asbestos: treat it as such "
    "until analysed.",
    "Faces of both eyes flat, bright and bare where they touch metal. No zinc, paint or scale.",
)


def restacking_sheet(result: RetapResult) -> Sheet | None:
    """The bench's sheet for the boxes in which a lead, a plate or a jumper moves; None where nothing does."""
    found = _stacked(result)
    if found is None:
        return None
    blocks = _without_order(found) if isinstance(found, NotStacked) else _blocks(result, found)
    return Sheet(NAME, ORDER, "bench", tuple(blocks))


def _stacked(result: RetapResult) -> Stacked | NotStacked | None:
    after, answer = result.after, result.answer
    if after is None or answer is None or after.plates is None:
        return None
    rules = result.question.rules
    changes = tuple(_changes(result))
    return stacked(result.job, after.plates, after.sections, after.taps, rules.sides, changes, rules.breaks)


def _changes(result: RetapResult) -> Iterator[Change]:
    """What happens where, on the new taps."""
    answer, after, found = result.answer, result.after, result.found
    assert answer is not None and after is not None
    plates = found.plates.plates
    today = placed_today(result)
    pairs = [(today[tap.name], tap) for tap in placed(result) if tap.name in today]
    yield from _moved(result, pairs)
    for one, other in answer.swaps:
        for here, there in ((one, other), (other, one)):
            words = f"At place {plates[here - 1].position} goes the plate that was {found.place(there)}."
            yield Change(plates[here - 1].box, words)
    for name, number in answer.spares:
        yield Change(plates[number - 1].box, f"At place {plates[number - 1].position} goes spare {name}.")
    yield from _jumped(result, [number for one in after.sections for number in one.jumped])


def _moved(result: RetapResult, pairs: Sequence[tuple[Tap, Tap]]) -> Iterator[Change]:
    for was, new in pairs:
        if was.after_plate != new.after_plate:
            yield Change(
                was.box, f"The clamp of {new.name} comes out at {_joint(result, was)}: a longer spacer goes in."
            )
            yield Change(new.box, f"The clamp of {new.name} goes in at {_joint(result, new)}: a shorter spacer.")


def _joint(result: RetapResult, tap: Tap) -> str:
    in_box = sum(plate.box == tap.box for plate in result.found.plates.plates)
    return f"{joint_words(tap.joint, in_box)}, {tap.side}"


def _jumped(result: RetapResult, numbers: Sequence[int]) -> Iterator[Change]:
    plates = result.found.plates
    for step in plates.steps:
        if step.first in numbers:
            name = jumper_name(plates, step.first)
            words = f"The {name} is clamped at the joints on both sides of it; the dead plate stays in the stack."
            yield Change(plates.plates[step.first - 1].box, words)


# --- the sheet -------------------------------------------------------------------------------------------------------


_FEW_BOXES = 3  # the table of parts of so many stands beside the stops


def _blocks(result: RetapResult, found: Stacked) -> Iterator[Block]:
    report = found.report
    yield cautions(0, 1, 2, 4)
    if report.walked_faults:
        yield Box("Do not build: the circuit as stacked is not the one meant", report.walked_faults, heavy=True)
    yield Paragraph(COUNT_FROM, bold=True)
    yield Paragraph(rod_words([wish.shape for wish in result.job.plates]))
    yield Heading("What moves")
    yield _moves(found)
    if not found.lengths:
        said = f"Order and counts only, no lengths: {found.without}. Measure what comes out and put the like back."
        yield Paragraph(said, bold=True)
    legend = GapLegend(report)
    yield from legend.blocks(result)
    parts = (Heading("Parts of these boxes"), _counts(result, found, legend))
    if len(report.boxes) <= _FEW_BOXES:
        yield Beside(parts, tuple(_stops()))
    else:
        yield from (*parts, *_stops())
    for box in report.boxes:
        drawing = _drawing(result, found, box.stack)
        if drawing is None:
            yield Heading(f"Box {box.stack.box}: {len(box.stack.plates)} plates")
            yield from box_lists(report, box.stack, legend)
        else:
            yield from box_blocks(report, box, drawing, legend, _room_mm(result))


def _without_order(found: NotStacked) -> Iterator[Block]:
    yield cautions(0, 1, 2, 4)
    yield Paragraph(COUNT_FROM, bold=True)
    yield Heading("What moves")
    yield _moves(found)
    yield _as_it_was(found)
    yield from _stops()


def _stops() -> Iterator[Block]:
    yield Heading("Stops")
    yield Points((*OLD_PARTS, *STOPS[1:]), numbered=True, size_pt=10.0)
    yield Paragraph(PRACTICE, size_pt=9.0)


def _moves(found: Stacked | NotStacked) -> Points:
    return Points(tuple(f"Box {box}: {words}" for box, said in found.changed for words in said))


def _as_it_was(found: NotStacked) -> Paragraph:
    said = (
        f"Which part follows which is not known: {found.why}. Write down every part as it comes out; put the like back."
    )
    return Paragraph(said, bold=True)


def _room_mm(result: RetapResult) -> float:
    return frame.room_high_mm(Sheet(NAME, ORDER, "bench", ()), stamp(result)) - _HEADING_MM


def _drawing(result: RetapResult, found: Stacked, stack: BoxStack) -> Layered | None:
    """The box drawn, where its plates are; None where nobody knows how long anything is."""
    if not found.lengths:
        return None
    places = found.layout.in_box(stack.box)
    kinds = {place.kind for place in places}
    wish = next(one for one in result.job.plates if one.name in kinds)
    idle = frozenset(place.plate for place in places if not place.in_circuit)
    end_m = stack.rods[0].gaps[0].length_m
    seen = BoxSeen(stack, wish.shape, outline_of(wish.shape), mark_of(found.report), idle, end_m)
    return draw_box(
        seen, "inch" if result.job.paper.units == "inch" else "mm", (_WIDE_MM, _room_mm(result) - _CAPTION_MM)
    )


def _counts(result: RetapResult, found: Stacked, legend: GapLegend) -> Table:
    """Parts by box, as it is put together again."""
    stacks = [box.stack for box in found.report.boxes]
    rows: list[tuple[str, str, str, list[int]]] = [("", "plates", "", [len(stack.plates) for stack in stacks])]
    rows += [(letter, what, or_measure(result, long_m), each) for letter, what, long_m, each in legend.counts()]
    columns = (
        Column(""),
        Column("Part", stretch=True),
        Column("Length on the rod", "right"),
        *(Column(f"Box {stack.box}", "right") for stack in stacks),
    )
    return Table(columns, tuple((letter, what, long, *map(str, each)) for letter, what, long, each in rows), 9.0)


# --- around one plate, for a night -----------------------------------------------------------------------------------


def around(result: RetapResult, option: Option) -> Iterator[Block]:
    """The gaps on both rods beside every plate that is bridged or put in, and where a lead moves."""
    tapping, rules = option.tapping, result.question.rules
    if tapping is None or tapping.plates is None:
        return
    at = dict(_near(result, option))
    changes = [Change(box, "") for box in at]
    found = stacked(result.job, tapping.plates, tapping.sections, tapping.taps, rules.sides, changes, rules.breaks)
    if found is None:
        return
    yield Heading("On the rods, beside what changes")
    if isinstance(found, NotStacked):
        yield _as_it_was(found)
        return
    if found.report.walked_faults:
        yield Box("Do not build: the circuit as stacked is not the one meant", found.report.walked_faults, heavy=True)
    rows = tuple(row for box in found.report.boxes for row in _rows(box.stack, at[box.stack.box]))
    yield Table((Column("Box"), Column("Between"), Column("Rod T"), Column("Rod F", stretch=True)), rows, 9.5)
    yield Paragraph(_LETTERS if found.lengths else f"{_LETTERS} Lengths: {MEASURE}; {found.without}.", size_pt=9.0)


_LETTERS = (
    "From the dot end on: W metal washer, M mica, S spacer, C terminal clamp with its lead, E end insulation. T is the "
    "rod on the terminal side, F the one on the far side. The rods stay in their mica tubes."
)


def _near(result: RetapResult, option: Option) -> Iterator[tuple[int, set[int]]]:
    """Box -> gaps (places before them) beside what changes."""
    plates = result.found.plates
    touched = {number for one in (option.tapping.sections if option.tapping else ()) for number in one.jumped}
    near: dict[int, set[int]] = {}
    for number in (*touched, *option.fitted):
        plate = plates.plates[number - 1]
        near.setdefault(plate.box, set()).update((plate.position - 1, plate.position))
    for _, was, new in _leads(result, option):
        for tap in (was, new):
            near.setdefault(tap.box, set()).add(tap.joint[0])
    yield from sorted(near.items())


def _leads(result: RetapResult, option: Option) -> Iterator[tuple[str, Tap, Tap]]:
    plates, sides = result.found.plates, result.question.rules.sides
    for name, was, joint in option.moved:
        (old,), (new,) = (taps_placed(plates, [(name, at)], sides) for at in (was, joint))
        yield name, old, new


def _rows(stack: BoxStack, near: set[int]) -> Iterator[tuple[TableCell, ...]]:
    last = len(stack.plates)
    for before in sorted(near):
        where = "dot end" if before == 0 else "far end" if before == last else f"{before}|{before + 1}"
        gaps = [next((gap for gap in stack.rod(name).gaps if gap.before == before), None) for name in _RODS]
        yield str(stack.box), where, *(_parts(gap) for gap in gaps)


_RODS: tuple[RodName, ...] = ("terminal side", "far side")


def _short(label: str) -> str:
    """A lead in a narrow cell: the row says which plate a jumper goes over."""
    return label.partition(" over ")[0]


def _parts(gap: Gap | None) -> TableCell:
    if gap is None:
        return "–"
    words = [f"C ({', '.join(map(_short, part.labels))})" if part.labels else SHORT[part.what] for part in gap.parts]
    ends = gap.parts[0].what == "end insulation" or gap.parts[-1].what == "end insulation"
    does = "end" if ends else "joined" if gap.joined else "apart"
    text = f"{does}: {' · '.join(words)}"
    return Cell(text) if gap.labels else text
