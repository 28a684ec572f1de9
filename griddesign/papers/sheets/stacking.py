"""The stacking sheet: rod by rod what follows what, the lengths that must fit, the mass, and the stops on the way."""

from collections.abc import Iterator, Sequence

from griddesign.grid.stack.records import BoxStack, Gap, RodName, StackPart
from griddesign.judge.records import Result
from griddesign.judge.stacking import BoxReport, StackReport
from griddesign.papers.blocks import (
    Block,
    Box,
    Cell,
    Column,
    Drawing,
    Heading,
    Paragraph,
    Points,
    Sheet,
    Table,
    TableCell,
)
from griddesign.papers.box_drawing import BoxSeen, draw_box
from griddesign.papers.picture_dxf import Layered
from griddesign.papers.sheets.common import PROVISIONAL, cautions, firm, joint_words, length, mass
from griddesign.papers.sheets.leads import COUNT_FROM, lead_words, mark_of
from griddesign.papers.stack_drawing import SHORT, gap_picture
from griddesign.units import show

IMPERATIVE = "Build each box from its paint dot, rod by rod, tick every joint, and stop where the sheet says stop."
MEASURE = "measure"
_FOLDED = {"terminal side": "T", "far side": "F", "support": "S"}
_LIFT = (
    "HEAVY. Weigh or reckon the box before you lift it. Sling it by the end frames, never by the rods, plates or "
    "leads; more than your own rules let one person lift is a lift for two or for a hoist."
)
_STOPS = (
    "Before a plate goes on: faces of both eyes flat, bright and bare where they touch metal. No zinc, paint or scale.",
    "After every box: count the plates and the joints against the table, and look along both rods: black, open, "
    "black, open.",
    "Before any lead goes on: ohms of every plate joint, section and box, from the inspection sheet. Rods against "
    "plates: no connection.",
    "After the first hot run: let it go cold, isolate, verify dead, and tighten the rods again to the same torque. "
    "Then read the ohms again.",
)


def box_drawings(result: Result) -> tuple[Layered, ...]:
    """Every box drawn once, in the order of the boxes."""
    report = result.stack
    return tuple(_drawn(result, report, box) for box in report.boxes) if report else ()


def _drawn(result: Result, report: StackReport, box: BoxReport) -> Layered:
    assert result.layout is not None
    places = result.layout.in_box(box.stack.box)
    kind = next((place.kind for place in places if place.kind), "")
    plate = next((one for one in result.plates if one.wish.name == kind), result.plates[0])
    idle = frozenset(place.plate for place in places if not place.in_circuit)
    end_m = box.stack.rods[0].gaps[0].length_m
    seen = BoxSeen(box.stack, plate.shape, plate.outline, mark_of(report), idle, end_m)
    return draw_box(seen, "inch" if result.job.paper.units == "inch" else "mm")


def stacking_sheet(result: Result, drawings: Sequence[Layered]) -> Sheet | None:
    """The sheet for the bench; None where there is no grid yet."""
    if result.stack is None:
        return None
    across = (PROVISIONAL,) if result.provisional else ()
    return Sheet("Stacking sheet", IMPERATIVE, "bench", tuple(_blocks(result, result.stack, drawings)), across)


def _blocks(result: Result, report: StackReport, drawings: Sequence[Layered]) -> Iterator[Block]:
    yield cautions(0, 2, 4)
    yield from _wrong(report)
    yield Paragraph(COUNT_FROM, bold=True)
    yield from _rods(result, report)
    legend = _Legend(report)
    yield Heading("What stands between two eyes")
    yield legend.table(result)
    yield Paragraph(_LEGEND, size_pt=9.0)
    yield Heading("Parts to lay ready")
    yield _counts(result, report, legend)
    yield Heading("Lengths and mass")
    yield _lengths(result, report)
    yield from _length_words(result, report)
    yield Box("Lifting", (_LIFT,), heavy=True)
    yield Heading("Stops")
    yield Points(_STOPS, numbered=True)
    yield Paragraph("Common practice, no source. The user's own instructions come first.", size_pt=9.0)
    yield from _torque(report)
    for box, drawing in zip(report.boxes, drawings, strict=True):
        yield from _box(report, box, drawing, legend)


def _wrong(report: StackReport) -> Iterator[Block]:
    if report.walked_faults:
        yield Box("Do not build: the circuit as stacked is not the one meant", report.walked_faults, heavy=True)
    if report.misfits:
        yield Box("Does not fit", tuple(f"{one[0].upper()}{one[1:]}." for one in report.misfits), heavy=True)


def _rods(result: Result, report: StackReport) -> Iterator[Block]:
    kinds = {plate.wish.name: plate for plate in result.plates if plate.count}
    opposite = {report.eyes_apart[name] for name in kinds}
    if opposite == {True}:
        yield Paragraph("T is the rod on the terminal side, F the rod on the far side. Every plate the same way round.")
    else:
        yield Paragraph(
            "Both eyes stand on one edge of the plate: T, “terminal side”, is the rod through the first eye (the dot "
            "on the plate sheet), F, “far side”, the rod through the last. Every plate the same way round."
        )
    if any(plate.shape.support_eyes for plate in kinds.values()):
        yield Paragraph(
            "S is the rod through the support eyes. It carries no current: mica at both faces of every eye."
        )
    yield Paragraph("Each rod wears its mica tube from end frame to end frame; no metal of the stack touches a rod.")


_LEGEND = (
    "From the dot end on. W metal washer, S spacer, M mica, C terminal clamp, E end insulation. Grey is metal and "
    "conducts; crossed does not. A spacer takes what the other parts leave of the gap; “measure”: a thickness that "
    "nobody has given yet. The order within a gap is common practice, no source."
)


# --- gaps by letter --------------------------------------------------------------------------------------------------


class _Legend:
    """Every make-up of a gap once, under a short name, and every spacer length under a number."""

    def __init__(self, report: StackReport) -> None:
        self._boxes = [box.stack for box in report.boxes]
        self._spacers: dict[tuple[float | None, str], str] = {}
        self._names: dict[tuple[tuple[str, str], ...], str] = {}
        self._shown: dict[str, Gap] = {}
        for gap in (gap for stack in self._boxes for rod in stack.rods for gap in rod.gaps):
            key = self._key(gap)
            if key not in self._names:
                self._names[key] = name = self._name(gap)
                self._shown[name] = gap

    def _key(self, gap: Gap) -> tuple[tuple[str, str], ...]:
        return tuple((part.what, self.letter(part, gap)) for part in gap.parts)

    def letter(self, part: StackPart, gap: Gap) -> str:
        """``S1``, ``S2`` … for spacers by their lengths, or by gap and company where those are not known."""
        if part.what != "spacer":
            return SHORT[part.what]
        if part.length_m is not None:
            return self._spacers.setdefault((round(part.length_m, 6), ""), f"S{len(self._spacers) + 1}")
        company = "-".join(SHORT[one.what] for one in _beside_spacer(gap))
        key = (None if gap.length_m is None else round(gap.length_m, 6), company)
        return self._spacers.setdefault(key, f"S{len(self._spacers) + 1}")

    def _name(self, gap: Gap) -> str:
        stem = _stem(gap)
        taken = sum(name.split(".")[0] == stem for name in self._shown)
        return f"{stem}.{taken + 1}" if taken else stem

    def name_of(self, gap: Gap) -> str:
        """The short name of a gap's make-up."""
        return self._names[self._key(gap)]

    def table(self, result: Result) -> Table:
        """Name, drawing, what it is, length."""
        columns = (Column("Name"), Column("Parts, dot end left"), Column("What it does", stretch=True),
                   Column("Between eyes", "right"))  # fmt: skip
        rows = tuple(
            (Cell(name), self._picture(gap), _does(gap), _or_measure(result, gap.length_m))
            for name, gap in self._shown.items()
        )
        return Table(columns, rows, 9.5)

    def _picture(self, gap: Gap) -> TableCell:
        eye = StackPart("eye", None)
        at_dot, at_far = gap.parts[0].what == "end insulation", gap.parts[-1].what == "end insulation"
        parts = (*(() if at_dot else (eye,)), *gap.parts, *(() if at_far else (eye,)))
        return gap_picture(parts, lambda part: self.letter(part, gap))

    def counts(self) -> list[tuple[str, str, float | None, list[int]]]:
        """Letter, part, length, and how many in each box."""
        found: dict[tuple[str, str], tuple[float | None, list[int]]] = {}
        for number, stack in enumerate(self._boxes):
            for gap in (gap for rod in stack.rods for gap in rod.gaps):
                for part in gap.parts:
                    key = (self.letter(part, gap), part.what)
                    found.setdefault(key, (part.length_m, [0] * len(self._boxes)))[1][number] += 1
        return [(letter, what, length_m, each) for (letter, what), (length_m, each) in sorted(found.items())]


def _beside_spacer(gap: Gap) -> list[StackPart]:
    """The parts beside the spacer, in an order that does not hang on theirs: the same company, the same length."""
    return sorted((part for part in gap.parts if part.what != "spacer"), key=lambda part: part.what)


def _stem(gap: Gap) -> str:
    clamps = sum(part.what == "terminal clamp" for part in gap.parts)
    if any(part.what == "end insulation" for part in gap.parts):
        return f"{'DOT' if gap.before == 0 else 'FAR'} END{'+C' * clamps}"
    return f"{'JOIN' if gap.joined else 'MICA'}{'+C' * clamps}"


def _does(gap: Gap) -> str:
    clamp = ", a lead is clamped here" if gap.labels else ""
    if any(part.what == "end insulation" for part in gap.parts):
        return f"insulates the stack from the end frame{clamp}"
    return f"{'joins the two eyes' if gap.joined else 'keeps the two eyes apart'}{clamp}"


def _or_measure(result: Result, length_m: float | None) -> str:
    return MEASURE if length_m is None else length(result, length_m)


# --- tables ----------------------------------------------------------------------------------------------------------


_MOST_BOXES = 6


def _counts(result: Result, report: StackReport, legend: _Legend) -> Table:
    """Parts by box and all together; where the boxes are many, all together alone."""
    boxes = [box.stack for box in report.boxes]
    rows: list[tuple[str, str, str, list[int]]] = [("", "plates", "", [len(stack.plates) for stack in boxes])]
    rows += [(letter, what, _or_measure(result, long_m), each) for letter, what, long_m, each in legend.counts()]
    rods = [len(stack.rods) for stack in boxes]
    diameter_m = report.given.hardware.rod_diameter_m
    rows.append(("", "tie rods, diameter", _or_measure(result, diameter_m), rods))
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
            _or_measure(result, box.between_frames_m),
            length(result, box.make_up_m) if abs(box.make_up_m) > 1e-6 else "none",
            mass(result, box.plates_kg),
            mass(result, box.whole_kg) if box.whole_kg is not None else "weigh",
        )
        for box in report.boxes
    )
    return Table(tuple(Column(title, "right") for title in titles), rows, 10.0)


def _over_eyes(result: Result, box: BoxReport) -> str:
    if box.spread_m is None:
        return length(result, box.stack.over_eyes_m)
    return f"{length(result, box.stack.over_eyes_m)} {firm(f'± {length(result, box.spread_m[0])}')}"


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
            f"±{length(result, likely)} at most."
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
    start = f"Growth when hot (box {box.stack.box}, hottest plate {hot}): the eyes {length(result, worst.eyes_m)}"
    if over is None or loose is None:
        yield f"{start}; washers, spacers and rod not reckoned, their metal or thickness is not known."
    else:
        tight = "tighter" if loose >= 0 else "looser"
        yield (
            f"{start}, the stack {length(result, over)} more than a rod still cold, and {length(result, abs(loose))} "
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


# --- one box ---------------------------------------------------------------------------------------------------------


_DRAWN = "Black: joined. Open: mica. End insulation not to scale where it is not known."


def _box(report: StackReport, box: BoxReport, drawing: Layered, legend: _Legend) -> Iterator[Block]:
    stack = box.stack
    yield Heading(f"Box {stack.box}: {len(stack.plates)} plates")
    yield Drawing(drawing.picture, f"Scale {drawing.scale}. {_DRAWN}")
    leads = tuple(_leads(report, stack))
    if leads:
        titles = ("Mark", "Tap or link", "Where", "Rod", "Goes to", "Fitted")
        columns = tuple(Column(title, stretch=title == "Goes to", blank=title == "Fitted") for title in titles)
        yield Table(columns, leads, 10.0)
    yield _joints(stack, legend, report)


def _leads(report: StackReport, stack: BoxStack) -> Iterator[tuple[TableCell, ...]]:
    marks = mark_of(report)
    for rod in stack.rods:
        for gap in rod.gaps:
            for label in gap.labels:
                where = joint_words((gap.before, gap.after), len(stack.plates))
                yield Cell(marks[label]), label, where, _FOLDED[rod.name], lead_words(report, label), ""


def _joints(stack: BoxStack, legend: _Legend, report: StackReport) -> Table:
    """Every gap of every rod, in two halves side by side to save paper."""
    names: tuple[RodName, ...] = tuple(rod.name for rod in stack.rods)
    lines = list(_joint_rows(stack, legend, report, names))
    half = (len(lines) + 1) // 2
    empty: tuple[TableCell, ...] = ("",) * len(lines[0])
    rows = tuple((*lines[at], "", *(lines[at + half] if at + half < len(lines) else empty)) for at in range(half))
    block = (Column("Between"), *(Column(f"Rod {_FOLDED[name]}") for name in names), Column("✓", least_mm=7.0))
    return Table((*block, Column("", least_mm=3.0), *block), rows, 9.5)


def _joint_rows(
    stack: BoxStack, legend: _Legend, report: StackReport, names: tuple[RodName, ...]
) -> Iterator[tuple[TableCell, ...]]:
    marks, last = mark_of(report), len(stack.plates)
    at = {name: {gap.before: gap for gap in stack.rod(name).gaps} for name in names}
    for before in range(last + 1):
        where = "dot end" if before == 0 else "far end" if before == last else f"{before}|{before + 1}"
        cells = [_gap_cell(at[name].get(before), legend, marks) for name in names]
        yield (where, *cells, "")


def _gap_cell(gap: Gap | None, legend: _Legend, marks: dict[str, str]) -> TableCell:
    if gap is None:
        return "–"
    leads = ", ".join(marks[label] for label in gap.labels)
    name = legend.name_of(gap)
    return Cell(f"{name} {leads}".strip()) if leads else name
