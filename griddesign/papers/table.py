"""Tables: widths of columns from what stands in them, rows cut into strips, the header for the next page."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import accumulate

from griddesign.errors import OutputError
from griddesign.papers import text
from griddesign.papers.blocks import BLANK_MM, Cell, Column, Table, TableCell
from griddesign.papers.marks import MEDIUM_MM, THIN_MM, Align, Group, Mark, Picture, Words, line
from griddesign.papers.strips import Laid, Strip

PAD_MM = 1.5
ROW_PAD_MM = 0.9
_LEAST_PT = 8.0
_MOST_LINES = 12  # of one row kept together; a longer cell is cut between its lines
_RULE_GREY = 0.55

Measure = Callable[[str, float, bool], float]
Lines = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Setting:
    """A table with its type size and column edges (mm) settled."""

    columns: tuple[Column, ...]
    size_pt: float
    edges: tuple[float, ...]
    ruled: bool

    def width(self, index: int) -> float:
        return self.edges[index + 1] - self.edges[index]


def columns(*titles: str, numbers: tuple[str, ...] = ()) -> tuple[Column, ...]:
    """Plain columns by title; those named in ``numbers`` are aligned right."""
    return tuple(Column(title, "right" if title in numbers else "left") for title in titles)


def lay_table(table: Table, room_mm: float) -> Laid:
    """Cut a table into its header and rows for a width of ``room_mm``. Raises OutputError where a row has not the
    columns' number of cells."""
    for row in table.rows:
        if len(row) != len(table.columns):
            raise OutputError(f"a table row has {len(row)} cells under {len(table.columns)} columns")
    setting = _settle(table, room_mm)
    header = _header(setting)
    rows = tuple(strip for row in table.rows for strip in _row(setting, row))
    return Laid((replace(header, glued=bool(rows)), *rows), header=header)


# --- widths ----------------------------------------------------------------------------------------------------------


def _settle(table: Table, room_mm: float) -> _Setting:
    """The largest type at which no word is broken; where even 8 pt is too large, 8 pt with words broken."""
    size_pt = table.size_pt
    while sum(least := _widths(table, size_pt, text.longest_word_mm)) > room_mm and size_pt > _LEAST_PT:
        size_pt -= 0.5
    if sum(least) > room_mm:
        widths = [width * room_mm / sum(least) for width in least]
    else:
        widths = _share(table.columns, least, _widths(table, size_pt, text.natural_mm), room_mm)
    return _Setting(table.columns, size_pt, (0.0, *accumulate(widths)), table.ruled)


def _share(columns: tuple[Column, ...], least: list[float], natural: list[float], room_mm: float) -> list[float]:
    """Every column its natural width and a share of what is over; where it is tight, the widest give way first."""
    if sum(natural) > room_mm:
        return _levelled(least, natural, room_mm)
    takers = [column.stretch for column in columns]
    takers = takers if any(takers) else [True] * len(columns)
    share = (room_mm - sum(natural)) / sum(takers)
    return [width + share * takes for width, takes in zip(natural, takers, strict=True)]


def _levelled(least: list[float], natural: list[float], room_mm: float) -> list[float]:
    """Widths ``min(natural, max(least, level))`` with the level, found by halving, that fills the room."""

    def at(level: float) -> list[float]:
        return [min(high, max(low, level)) for low, high in zip(least, natural, strict=True)]

    below, above = 0.0, room_mm
    for _ in range(40):
        middle = (below + above) / 2.0
        below, above = (middle, above) if sum(at(middle)) <= room_mm else (below, middle)
    return at(below)


def _widths(table: Table, size_pt: float, measure: Measure) -> list[float]:
    return [
        max(column.least_mm, *_inner_widths(table, index, size_pt, measure))
        for index, column in enumerate(table.columns)
    ]


def _inner_widths(table: Table, index: int, size_pt: float, measure: Measure) -> list[float]:
    column = table.columns[index]
    title = text.longest_word_mm(column.title, size_pt, True)  # titles may always wrap, numbers never
    measure = text.natural_mm if column.align == "right" else measure
    cells = [_cell_width(row[index], size_pt, measure) for row in table.rows]
    return [width + 2 * PAD_MM for width in (title, *cells)]


def _cell_width(cell: TableCell, size_pt: float, measure: Measure) -> float:
    if isinstance(cell, Picture):
        return cell.width_mm
    return measure(_words(cell), size_pt, _bold(cell))


def _words(cell: str | Cell) -> str:
    return cell if isinstance(cell, str) else cell.text


def _bold(cell: TableCell) -> bool:
    return isinstance(cell, Cell) and cell.bold


# --- rows ------------------------------------------------------------------------------------------------------------


def _header(setting: _Setting) -> Strip:
    wrapped = [
        text.wrap(column.title, setting.width(index) - 2 * PAD_MM, setting.size_pt, True)
        for index, column in enumerate(setting.columns)
    ]
    height = _text_height(setting, wrapped)
    marks: list[Mark] = [line(0.0, height, setting.edges[-1], height, MEDIUM_MM)]
    for index, lines in enumerate(wrapped):
        top = height - ROW_PAD_MM - len(lines) * text.line_height_mm(setting.size_pt)
        marks += _cell_words(setting, index, lines, top, True)
    return Strip(height, tuple(marks))


def _row(setting: _Setting, row: tuple[TableCell, ...]) -> list[Strip]:
    """One row as strips: one, or several where a cell runs to more lines than may stand together."""
    wrapped = [_wrapped(setting, index, cell) for index, cell in enumerate(row)]
    count = max(1, *(len(lines) for lines in wrapped))
    cuts = range(0, count, _MOST_LINES)
    strips = [_row_strip(setting, row, [lines[cut : cut + _MOST_LINES] for lines in wrapped], cut == 0) for cut in cuts]
    if setting.ruled:
        last = strips[-1]
        rule = line(0.0, last.height_mm, setting.edges[-1], last.height_mm, THIN_MM, grey=_RULE_GREY)
        strips[-1] = replace(last, marks=(*last.marks, rule))
    return strips


def _wrapped(setting: _Setting, index: int, cell: TableCell) -> Lines:
    if isinstance(cell, Picture):
        return ()
    return text.wrap(_words(cell), setting.width(index) - 2 * PAD_MM, setting.size_pt, _bold(cell))


def _row_strip(setting: _Setting, row: tuple[TableCell, ...], wrapped: list[Lines], first: bool) -> Strip:
    pictures = [cell for cell in row if isinstance(cell, Picture)] if first else []
    blank = any(column.blank for column in setting.columns)
    height = max(
        _text_height(setting, wrapped),
        BLANK_MM if blank else 0.0,
        *(picture.height_mm + 2 * ROW_PAD_MM for picture in pictures),
    )
    marks: list[Mark] = _blank_rules(setting, height)
    for index, cell in enumerate(row):
        if isinstance(cell, Picture):
            marks += (
                [Group(setting.edges[index] + PAD_MM, (height - cell.height_mm) / 2.0, cell.marks)] if first else []
            )
            continue
        used = len(wrapped[index]) * text.line_height_mm(setting.size_pt)
        top = (height - used) / 2.0 if pictures or blank else ROW_PAD_MM
        marks += _cell_words(setting, index, wrapped[index], top, _bold(cell))
    return Strip(height, tuple(marks))


def _text_height(setting: _Setting, wrapped: list[Lines]) -> float:
    return max(len(lines) for lines in wrapped) * text.line_height_mm(setting.size_pt) + 2 * ROW_PAD_MM


def _cell_words(setting: _Setting, index: int, lines: Lines, top: float, bold: bool) -> list[Mark]:
    align: Align = setting.columns[index].align
    left, right = setting.edges[index] + PAD_MM, setting.edges[index + 1] - PAD_MM
    x_mm = {"left": left, "centre": (left + right) / 2.0, "right": right}[align]
    step, base = text.line_height_mm(setting.size_pt), top + text.baseline_mm(setting.size_pt)
    return [
        Words(x_mm, base + number * step, words, setting.size_pt, bold, align)
        for number, words in enumerate(lines)
        if words
    ]


def _blank_rules(setting: _Setting, height: float) -> list[Mark]:
    inside = [index for index, column in enumerate(setting.columns) if column.blank]
    edges = sorted({setting.edges[index + side] for index in inside for side in (0, 1)})
    return [line(x, 0.0, x, height, THIN_MM) for x in edges]
