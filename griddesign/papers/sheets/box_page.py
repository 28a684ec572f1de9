"""One box on the stacking sheet: its drawing, which gap is made up how on every rod, which lead goes where.

A box that is drawn narrow enough has drawing and lists side by side on one page, so that nobody turns pages with the
stack in hand; else the lists follow the drawing.
"""

from collections.abc import Iterator

from griddesign.grid.stack.records import BoxStack, Gap, RodName
from griddesign.judge.stacking import BoxReport, StackReport
from griddesign.papers.blocks import Beside, Block, Cell, Column, Drawing, Heading, Table, TableCell
from griddesign.papers.box_drawing import ROD_LETTERS
from griddesign.papers.frame import LIVE_WIDE_MM
from griddesign.papers.layout import column
from griddesign.papers.picture_dxf import Layered
from griddesign.papers.sheets.common import joint_words
from griddesign.papers.sheets.gap_legend import GapLegend
from griddesign.papers.sheets.leads import lead_words, mark_of

BETWEEN_MM = 5.0
_NARROW_MM = 100.0  # widest drawing with room beside it for the lists
_LIST_MM = 7.0  # what a line of the list of joints takes at least, its heading too
_Rows = tuple[tuple[TableCell, ...], ...]


def box_blocks(
    report: StackReport, box: BoxReport, drawing: Layered, legend: GapLegend, room_mm: float
) -> Iterator[Block]:
    """The blocks of one box; ``room_mm`` is the height of a page below its heading."""
    stack = box.stack
    yield Heading(f"Box {stack.box}: {len(stack.plates)} plates")
    unknown = " End insulation not to scale: its length is not known." if stack.rods[0].gaps[0].length_m is None else ""
    picture = Drawing(drawing.picture, f"Scale {drawing.scale}. Black: joined. Open: mica.{unknown}")
    beside = _side_by_side(picture, report, stack, legend, room_mm)
    if beside is not None:
        yield beside
        return
    yield picture
    yield from box_lists(report, stack, legend)


def box_lists(report: StackReport, stack: BoxStack, legend: GapLegend) -> Iterator[Block]:
    """Leads and joints of one box, without a drawing."""
    yield from _lead_table(report, stack, wide=True)
    yield _joints(stack, legend, report, halves=2)


def _side_by_side(
    picture: Drawing, report: StackReport, stack: BoxStack, legend: GapLegend, room_mm: float
) -> Beside | None:
    """Drawing left, lists right; None where they are too wide or too long for that."""
    wide = picture.picture.width_mm
    if wide > _NARROW_MM or _LIST_MM * len(stack.plates) > room_mm + _LIST_MM * 4:
        return None
    share = max(wide, 0.9 * _NARROW_MM) / (LIVE_WIDE_MM - BETWEEN_MM)
    lists: tuple[Block, ...] = (_joints(stack, legend, report, halves=1), *_lead_table(report, stack, wide=False))
    widths = (share * (LIVE_WIDE_MM - BETWEEN_MM), (1.0 - share) * (LIVE_WIDE_MM - BETWEEN_MM))
    highest_mm = max(column((picture,), widths[0])[1], column(lists, widths[1])[1])
    return Beside((picture,), lists, share) if highest_mm <= room_mm else None


# --- leads -----------------------------------------------------------------------------------------------------------


def _lead_table(report: StackReport, stack: BoxStack, *, wide: bool) -> Iterator[Table]:
    """Every lead clamped in the box. The ``wide`` table says where; beside the list of joints that says it already."""
    leads = tuple(_leads(report, stack))
    if not leads:
        return
    titles = ("Mark", "Tap or link", "Where", "Rod", "Goes to", "✓")
    kept = [place for place, title in enumerate(titles) if wide or title not in ("Where", "Rod")]
    columns = tuple(
        Column(titles[place], stretch=titles[place] == "Goes to", least_mm=7.0 if titles[place] == "✓" else 0.0)
        for place in kept
    )
    yield Table(columns, tuple(tuple(row[place] for place in kept) for row in leads), 10.0 if wide else 9.0)


def _leads(report: StackReport, stack: BoxStack) -> Iterator[tuple[TableCell, ...]]:
    marks = mark_of(report)
    for rod in stack.rods:
        for gap in rod.gaps:
            for label in gap.labels:
                where = joint_words((gap.before, gap.after), len(stack.plates))
                yield Cell(marks[label]), label, where, ROD_LETTERS[rod.name], lead_words(report, label, stack.box), ""


# --- joints ----------------------------------------------------------------------------------------------------------


def _joints(stack: BoxStack, legend: GapLegend, report: StackReport, *, halves: int) -> Table:
    """Every gap of every rod, in one column or in two halves side by side."""
    names: tuple[RodName, ...] = tuple(rod.name for rod in stack.rods)
    lines = tuple(_joint_rows(stack, legend, report, names))
    block = (Column("Between"), *(Column(f"Rod {ROD_LETTERS[name]}") for name in names), Column("✓", least_mm=7.0))
    if halves == 1:
        return Table(block, lines, 9.0)
    return Table((*block, Column("", least_mm=3.0), *block), _halved(lines), 9.5)


def _halved(lines: _Rows) -> _Rows:
    half = (len(lines) + 1) // 2
    empty: tuple[TableCell, ...] = ("",) * len(lines[0])
    return tuple((*lines[at], "", *(lines[at + half] if at + half < len(lines) else empty)) for at in range(half))


def _joint_rows(
    stack: BoxStack, legend: GapLegend, report: StackReport, names: tuple[RodName, ...]
) -> Iterator[tuple[TableCell, ...]]:
    marks, last = mark_of(report), len(stack.plates)
    at = {name: {gap.before: gap for gap in stack.rod(name).gaps} for name in names}
    for before in range(last + 1):
        where = "dot end" if before == 0 else "far end" if before == last else f"{before}|{before + 1}"
        cells = [_gap_cell(at[name].get(before), legend, marks) for name in names]
        yield (where, *cells, "")


def _gap_cell(gap: Gap | None, legend: GapLegend, marks: dict[str, str]) -> TableCell:
    if gap is None:
        return "–"
    leads = ", ".join(marks[label] for label in gap.labels)
    name = legend.name_of(gap)
    return Cell(f"{name} {leads}".strip()) if leads else name
