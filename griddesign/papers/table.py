"""Tables: widths of columns from what stands in them, rows cut into strips, the header for the next page."""

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate, pairwise, product
from math import ceil
from typing import NamedTuple

from griddesign.errors import OutputError
from griddesign.papers import text
from griddesign.papers.blocks import BLANK_MM, Column, Table, TableCell
from griddesign.papers.marks import MEDIUM_MM, MM_PER_PT, THIN_MM, Align, Group, Mark, Picture, Role, Words, line
from griddesign.papers.strips import Laid, Strip, in_role

PAD_MM = 1.5
ROW_PAD_MM = 0.9
_DENSE_PAD_MM = 0.45
_RAGGED = 1.06  # of a line's width, what words that go over leave empty
_LEAST_PT = 8.0
_MOST_LINES = 12  # of one row kept together; a longer cell is cut between its lines
_RULE_GREY = 0.55
_LOW_MM = 20.0  # a row higher than that may stand alone

Lines = tuple[str, ...]


@dataclass(frozen=True)
class _Setting:
    """A table with its type size and column edges (mm) settled."""

    columns: tuple[Column, ...]
    size_pt: float
    edges: tuple[float, ...]
    ruled: bool
    row_pad_mm: float = ROW_PAD_MM

    def width(self, index: int) -> float:
        return self.edges[index + 1] - self.edges[index]

    @cached_property
    def anchors(self) -> list[tuple[float, Align]]:
        """Where the words of each column are anchored, mm, and by which end."""
        inside = [(left + PAD_MM, right - PAD_MM) for left, right in pairwise(self.edges)]
        at = [{"left": left, "centre": (left + right) / 2.0, "right": right} for left, right in inside]
        return [(places[column.align], column.align) for places, column in zip(at, self.columns, strict=True)]

    @cached_property
    def roles(self) -> list[Role]:
        """What the cells of a row are, column by column."""
        return [Role("TD", index) for index in range(len(self.columns))]

    @cached_property
    def blank_edges(self) -> list[float]:
        """Edges of the columns that are filled in by hand, mm."""
        inside = [index for index, column in enumerate(self.columns) if column.blank]
        return sorted({self.edges[index + side] for index in inside for side in (0, 1)})


def columns(*titles: str, numbers: tuple[str, ...] = ()) -> tuple[Column, ...]:
    """Plain columns by title; those named in ``numbers`` are aligned right."""
    return tuple(Column(title, "right" if title in numbers else "left") for title in titles)


def lay_table(table: Table, room_mm: float) -> Laid:
    """Cut a table into its header and rows for a width of ``room_mm``. Raises OutputError where a row has not the
    columns' number of cells."""
    for row in table.rows:
        if len(row) != len(table.columns):
            raise OutputError(f"a table row has {len(row)} cells under {len(table.columns)} columns")
    cells = [[_said(cell) for cell in row] for row in table.rows]
    setting = _settle(table, cells, room_mm)
    (header,) = in_role((_header(setting),), Role("TR"))
    parts = (in_role(_row(setting, row), Role("TR", number)) for number, row in enumerate(cells, start=1))
    rows = _in_company([strip for own in parts for strip in own], table.whole)
    return Laid((replace(header, glued=bool(rows)), *rows), header=header, kind="Table")


def _in_company(rows: list[Strip], whole: bool) -> tuple[Strip, ...]:
    """No row is left alone at the foot or the top of a page; of a ``whole`` table none is parted from the next."""
    last = len(rows) - 1
    glued = (number < last and (whole or (number in (0, last - 1) and row.height_mm < _LOW_MM))
             for number, row in enumerate(rows))  # fmt: skip
    return tuple(
        [row if row.glued is held else replace(row, glued=held) for row, held in zip(rows, glued, strict=True)]
    )


# --- widths ----------------------------------------------------------------------------------------------------------


class _Said(NamedTuple):
    """The words of a cell as they can be printed, and how wide they are in one line each, in ems."""

    words: str
    bold: bool
    ems: float


def _said(cell: TableCell) -> _Said | Picture:
    if isinstance(cell, Picture):
        return cell
    words, bold = (cell, False) if isinstance(cell, str) else (cell.text, cell.bold)
    printed = text.clean(words)
    return _Said(printed, bold, text.natural_ems(printed, bold))


@dataclass(frozen=True)
class _Want:
    """What a column wants: at least ``fixed_mm``, and room for title and cells in whatever size."""

    fixed_mm: float
    title_ems: float
    cells: list[_Said]
    number: bool

    @cached_property
    def _natural_ems(self) -> float:
        return max([self.title_ems, *(cell.ems for cell in self.cells)])

    @cached_property
    def _least_ems(self) -> float:
        words = (text.longest_word_ems(cell.words, cell.bold) for cell in self.cells)
        return self._natural_ems if self.number else max([self.title_ems, *words])

    @cached_property
    def whole_ems(self) -> float:
        """Every cell in one line, one after another."""
        return max(1.0, sum(cell.ems for cell in self.cells))

    @cached_property
    def _parted(self) -> list[tuple[int, float]]:
        """Of every cell how many parts stand one under another, and the width of the widest."""
        return [(1 + cell.words.count("\n"), cell.ems) for cell in self.cells]

    def lines(self, room_ems: float) -> list[int]:
        """About how many lines each cell takes in a width of so many ems."""
        return [parts if ems <= room_ems else parts * ceil(_RAGGED * ems / room_ems) for parts, ems in self._parted]

    def least_mm(self, size_pt: float) -> float:
        """The least width at which no word is broken; a number is never wrapped."""
        return max(self.fixed_mm, self._least_ems * size_pt * MM_PER_PT + 2 * PAD_MM)

    def natural_mm(self, size_pt: float) -> float:
        """The width at which nothing is wrapped but the title, which always may be."""
        return max(self.fixed_mm, self._natural_ems * size_pt * MM_PER_PT + 2 * PAD_MM)


def _want(column: Column, cells: list[_Said | Picture]) -> _Want:
    pictures = [cell.width_mm + 2 * PAD_MM for cell in cells if isinstance(cell, Picture)]
    words = [cell for cell in cells if isinstance(cell, _Said)]
    title_ems = text.longest_word_ems(column.title, True)
    return _Want(max([column.least_mm, *pictures]), title_ems, words, column.align == "right")


def _settle(table: Table, cells: list[list[_Said | Picture]], room_mm: float) -> _Setting:
    """The largest type at which no word is broken; where even 8 pt is too large, 8 pt with words broken."""
    size_pt, wants = table.size_pt, [_want(column, [row[n] for row in cells]) for n, column in enumerate(table.columns)]
    widths = [want.natural_mm(size_pt) for want in wants]
    if sum(widths) <= room_mm:
        widths = _share(table.columns, widths, room_mm)
    else:
        size_pt, widths = _squeezed(table, wants, room_mm)
    row_pad_mm = _DENSE_PAD_MM if table.dense else ROW_PAD_MM
    return _Setting(table.columns, size_pt, (0.0, *accumulate(widths)), table.ruled, row_pad_mm)


def _squeezed(table: Table, wants: list[_Want], room_mm: float) -> tuple[float, list[float]]:
    """Type size and widths where not every cell can have one line."""
    size_pt = table.size_pt
    while sum(least := [want.least_mm(size_pt) for want in wants]) > room_mm and size_pt > _LEAST_PT:
        size_pt -= 0.5
    if sum(least) > room_mm:
        return size_pt, [width * room_mm / sum(least) for width in least]
    natural = [want.natural_mm(size_pt) for want in wants]
    level = _levelled(least, natural, room_mm)
    return size_pt, _fewest_lines(wants, (least, natural, level), size_pt, room_mm) if table.dense else level


def _share(columns: tuple[Column, ...], natural: list[float], room_mm: float) -> list[float]:
    """Every column its natural width and a share of what is over."""
    takers = [column.stretch for column in columns]
    takers = takers if any(takers) else [True] * len(columns)
    share = (room_mm - sum(natural)) / sum(takers)
    return [width + share * takes for width, takes in zip(natural, takers, strict=True)]


def _levelled(least: list[float], natural: list[float], room_mm: float) -> list[float]:
    """Widths ``min(natural, max(least, level))`` with the level, found by halving, that fills the room: the widest give
    way first."""

    def at(level: float) -> list[float]:
        return [min(high, max(low, level)) for low, high in zip(least, natural, strict=True)]

    below, above = 0.0, room_mm
    for _ in range(40):
        middle = (below + above) / 2.0
        below, above = (middle, above) if sum(at(middle)) <= room_mm else (below, middle)
    return at(below)


def _fewest_lines(
    wants: list[_Want], widths: tuple[list[float], list[float], list[float]], size_pt: float, room_mm: float
) -> list[float]:
    """Of levelled widths, and of those where some columns have one line in every cell and the others share what is left
    by the square roots of what they hold, the ones with the fewest lines."""
    least, natural, level = widths
    roots, tried = [want.whole_ems**0.5 for want in wants], [level]
    for wide in product((True, False), repeat=len(wants)):
        fixed = [natural[place] if one else least[place] for place, one in enumerate(wide)]
        parts = [0.0 if one else root for one, root in zip(wide, roots, strict=True)]
        left_mm = room_mm - sum(fixed)
        if left_mm >= 0.0 and any(parts):
            share = left_mm / sum(parts)
            tried.append([width + share * part for width, part in zip(fixed, parts, strict=True)])
    return min(tried, key=lambda one: _lines_of(wants, one, size_pt))


def _lines_of(wants: list[_Want], widths: list[float], size_pt: float) -> int:
    """About how many lines the rows come to, words taken as running into each other."""
    rooms = [(width - 2 * PAD_MM) / (size_pt * MM_PER_PT) + 1e-6 for width in widths]
    columns = [want.lines(room) for want, room in zip(wants, rooms, strict=True)]
    return sum(map(max, zip(*columns, strict=False)))  # a column of pictures has fewer cells of words


# --- rows ------------------------------------------------------------------------------------------------------------


def _header(setting: _Setting) -> Strip:
    wrapped = [
        text.wrap(column.title, setting.width(index) - 2 * PAD_MM, setting.size_pt, True)
        for index, column in enumerate(setting.columns)
    ]
    height = _text_height(setting, wrapped)
    marks: list[Mark] = [line(0.0, height, setting.edges[-1], height, MEDIUM_MM)]
    for index, lines in enumerate(wrapped):
        top = height - setting.row_pad_mm - len(lines) * text.line_height_mm(setting.size_pt)
        marks.append(Group(0.0, 0.0, _cell_words(setting, index, lines, top, True), role=Role("TH", index)))
    return Strip(height, tuple(marks))


def _row(setting: _Setting, row: list[_Said | Picture]) -> list[Strip]:
    """One row as strips: one, or several where a cell runs to more lines than may stand together."""
    wrapped = [_wrapped(setting, index, cell) for index, cell in enumerate(row)]
    count = max(1, *(len(lines) for lines in wrapped))
    cuts = range(_MOST_LINES, count, _MOST_LINES)
    strips = [_row_strip(setting, row, [lines[:_MOST_LINES] for lines in wrapped], True)]
    strips += [_row_strip(setting, row, [lines[cut : cut + _MOST_LINES] for lines in wrapped], False) for cut in cuts]
    if setting.ruled:
        last = strips[-1]
        rule = line(0.0, last.height_mm, setting.edges[-1], last.height_mm, THIN_MM, grey=_RULE_GREY)
        strips[-1] = replace(last, marks=(*last.marks, rule))
    return strips


def _wrapped(setting: _Setting, index: int, cell: _Said | Picture) -> Lines:
    if isinstance(cell, Picture):
        return ()
    return text.wrap(cell.words, setting.width(index) - 2 * PAD_MM, setting.size_pt, cell.bold)


def _row_strip(setting: _Setting, row: list[_Said | Picture], wrapped: list[Lines], first: bool) -> Strip:
    pictures = [cell for cell in row if isinstance(cell, Picture)] if first else []
    blank = bool(setting.blank_edges)
    height = max(
        _text_height(setting, wrapped),
        BLANK_MM if blank else 0.0,
        *(picture.height_mm + 2 * ROW_PAD_MM for picture in pictures),
    )
    marks: list[Mark] = [line(x, 0.0, x, height, THIN_MM) for x in setting.blank_edges]
    for index, cell in enumerate(row):
        if isinstance(cell, Picture):
            marks += [_cell_picture(cell, setting.edges[index] + PAD_MM, height, index)] if first else []
            continue
        used = len(wrapped[index]) * text.line_height_mm(setting.size_pt)
        top = (height - used) / 2.0 if pictures or blank else setting.row_pad_mm
        own = _cell_words(setting, index, wrapped[index], top, cell.bold)
        marks.append(Group(0.0, 0.0, own, role=setting.roles[index]))
    return Strip(height, tuple(marks))


def _cell_picture(picture: Picture, left: float, height: float, index: int) -> Group:
    size_mm = picture.width_mm, picture.height_mm
    role = Role("Figure", 0, picture.shows, size_mm) if picture.shows else None
    figure = Group(left, (height - picture.height_mm) / 2.0, picture.marks, role=role)
    return Group(0.0, 0.0, (figure,), role=Role("TD", index))


def _text_height(setting: _Setting, wrapped: list[Lines]) -> float:
    return max(len(lines) for lines in wrapped) * text.line_height_mm(setting.size_pt) + 2 * setting.row_pad_mm


def _cell_words(setting: _Setting, index: int, lines: Lines, top: float, bold: bool) -> tuple[Mark, ...]:
    x_mm, align = setting.anchors[index]
    step, base = text.line_height_mm(setting.size_pt), top + text.baseline_mm(setting.size_pt)
    return tuple(
        [
            Words(x_mm, base + number * step, words, setting.size_pt, bold, align)
            for number, words in enumerate(lines)
            if words
        ]
    )
