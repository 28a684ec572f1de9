"""Blocks cut into strips: every block measures itself before anything is drawn, so nothing overlaps or is clipped."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from griddesign.papers import blocks as b
from griddesign.papers import text
from griddesign.papers.marks import MEDIUM_MM, THICK_MM, THIN_MM, Group, Mark, Role, Words, line, polyline
from griddesign.papers.strips import Laid, Strip, in_role, stacked, words_strips
from griddesign.papers.table import lay_table

HEADING_PT = 12.5
_BOX_PAD_MM = 2.5
_INDENT_MM = 6.5
_WHOLE_MM = 60.0  # a box or steps no higher than that are not parted


def lay(block: b.Block, room_mm: float) -> Laid:
    """Cut one block into strips for a width of ``room_mm``. Who tries whether a block fits and then sets it has it laid
    once: a block never changes, so what it was cut into is kept with it."""
    known: dict[float, Laid] = vars(block).setdefault("_laid", {})
    width = round(room_mm, 6)
    if width not in known:
        known[width] = _LAYERS[type(block)](block, room_mm)
    return known[width]


def _heading(block: b.Heading, room_mm: float) -> Laid:
    lines = text.wrap(block.text, room_mm, HEADING_PT, True)
    strips = words_strips(lines, size_pt=HEADING_PT, bold=True)
    return Laid(tuple(replace(strip, glued=True) for strip in strips), gap_mm=5.0, kind="H2")


def _paragraph(block: b.Paragraph, room_mm: float) -> Laid:
    lines = text.wrap(block.text, room_mm, block.size_pt, block.bold)
    strips = words_strips(lines, size_pt=block.size_pt, bold=block.bold)
    strips = tuple(replace(strip, glued=True) for strip in strips) if block.keep else strips
    return Laid(strips, gap_mm=2.0, kind="P")


def _points(block: b.Points, room_mm: float) -> Laid:
    strips: list[Strip] = []
    for number, item in enumerate(block.items, start=1):
        label = f"{number}." if block.numbered else "•"
        strips += _item(label, item, room_mm, block.size_pt, number)
    if block.numbered:  # steps that are done one after the other
        strips = _whole(strips)
    return Laid(tuple(strips), gap_mm=2.0, kind="L")


def _whole(strips: list[Strip]) -> list[Strip]:
    """Low enough to stand on one page, they are not parted."""
    if sum(strip.height_mm for strip in strips) > _WHOLE_MM:
        return strips
    return [*(replace(strip, glued=True) for strip in strips[:-1]), strips[-1]]


def _item(label: str, words: str, room_mm: float, size_pt: float, number: int) -> list[Strip]:
    indent = max(_INDENT_MM * size_pt / b.BODY_PT, text.width_mm(label, size_pt) + 2.0)
    lines = text.wrap(words, room_mm - indent, size_pt)
    first, *others = in_role(words_strips(lines, size_pt=size_pt, x_mm=indent), Role("LBody"))
    mark = Words(indent - 2.0, text.baseline_mm(size_pt), label, size_pt, align="right")
    labelled = (Group(0.0, 0.0, (mark,), role=Role("Lbl")), *first.marks)
    *strips, last = in_role((replace(first, marks=labelled), *others), Role("LI", number))
    return [*strips, replace(last, glued=True), Strip(0.7)]


def _key_figures(block: b.KeyFigures, room_mm: float) -> Laid:
    per_line = _figures_per_line(block.figures, room_mm)
    wide = room_mm / per_line
    starts = range(0, len(block.figures), per_line)
    return Laid(tuple(_figure_row(block.figures[at : at + per_line], wide, at) for at in starts), gap_mm=4.0)


def _figures_per_line(figures: tuple[b.KeyFigure, ...], room_mm: float) -> int:
    widest = max(max(text.natural_mm(f.value, b.KEY_PT, True), text.natural_mm(f.label, b.SMALL_PT)) for f in figures)
    return max(1, min(len(figures), 4, int(room_mm / (widest + 6.0))))


def _figure_row(figures: tuple[b.KeyFigure, ...], wide: float, first: int) -> Strip:
    cells = [_figure_cell(figure, wide - 6.0) for figure in figures]
    height = max(high for _, high in cells)
    marks: list[Mark] = []
    for index, (cell, _) in enumerate(cells):
        left = index * wide
        own = Group(left + 3.0, 0.0, cell, role=Role("P", first + index))
        marks += [line(left, 0.0, left, height, MEDIUM_MM), own]
    return Strip(height + 2.0, tuple(marks))


def _figure_cell(figure: b.KeyFigure, room_mm: float) -> tuple[tuple[Mark, ...], float]:
    parts = words_strips(text.wrap(figure.label, room_mm, b.SMALL_PT), size_pt=b.SMALL_PT)
    parts += words_strips(text.wrap(figure.value, room_mm, b.KEY_PT, True), size_pt=b.KEY_PT, bold=True)
    if figure.remark:
        parts += words_strips(text.wrap(figure.remark, room_mm, b.SMALL_PT), size_pt=b.SMALL_PT)
    return stacked(parts)


def _box(block: b.Box, room_mm: float) -> Laid:
    inner = room_mm - 2 * _BOX_PAD_MM
    strips: list[Strip] = []
    if block.title:
        title = words_strips(text.wrap(block.title, inner, b.BODY_PT, True), size_pt=b.BODY_PT, bold=True)
        strips += [replace(strip, glued=True) for strip in in_role(title, Role("P"))]
    for number, paragraph in enumerate(block.lines, start=1):
        lines = words_strips(text.wrap(paragraph, inner, block.size_pt), size_pt=block.size_pt)
        strips += [*in_role(lines, Role("P", number)), Strip(0.8)]
    return Laid(_bordered(strips, room_mm, THICK_MM if block.heavy else THIN_MM), gap_mm=4.0)


def _bordered(strips: list[Strip], room_mm: float, width_mm: float) -> tuple[Strip, ...]:
    """A border round strips that still may part at a page's foot: each strip carries its own piece of the border."""
    padded = [Strip(1.5, glued=True), *strips[:-1], replace(strips[-1], glued=True), Strip(1.2)]
    padded, last = _whole(padded), len(padded) - 1
    return tuple(_edged(strip, room_mm, width_mm, number == 0, number == last) for number, strip in enumerate(padded))


def _edged(strip: Strip, room_mm: float, width_mm: float, top: bool, bottom: bool) -> Strip:
    high, inset = strip.height_mm, width_mm / 2.0
    edges: list[Mark] = [line(x, 0.0, x, high, width_mm) for x in (inset, room_mm - inset)]
    if top:
        edges.append(line(0.0, inset, room_mm, inset, width_mm))
    if bottom:
        edges.append(line(0.0, high - inset, room_mm, high - inset, width_mm))
    return replace(strip, marks=(*edges, Group(_BOX_PAD_MM, 0.0, strip.marks)))


def _cautions(block: b.Cautions, room_mm: float) -> Laid:
    inner = room_mm - 2 * _BOX_PAD_MM
    sign = warning_sign()
    title = Words(9.5, 5.3, "CAUTION", b.KEY_PT, True)
    strips = [Strip(8.2, (*sign, Group(0.0, 0.0, (title,), role=Role("P"))), glued=True)]
    for number, caution in enumerate(block.lines, start=1):
        strips += in_role(_item("•", caution, inner, b.BODY_PT, number), Role("L"))
    return Laid(_bordered(strips, room_mm, THICK_MM), gap_mm=4.0)


def warning_sign() -> tuple[Mark, ...]:
    """The general warning triangle of ISO 7010 W001 in outline, readable in a grey copy."""
    triangle = polyline(((0.5, 6.6), (4.1, 0.4), (7.7, 6.6)), width_mm=THICK_MM, closed=True)
    return triangle, Words(4.1, 5.9, "!", 12.0, True, "centre")


def _sign_off(block: b.SignOff, room_mm: float) -> Laid:
    strips = lay_table(sign_off_table(block), room_mm).strips
    return Laid(tuple(replace(strip, glued=strip is not strips[-1]) for strip in strips), gap_mm=5.0, kind="Table")


def sign_off_table(block: b.SignOff) -> b.Table:
    """The empty lines as a table to fill in."""
    blanks = (
        b.Column("Name", blank=True, least_mm=45.0, stretch=True),
        b.Column("Signature", blank=True, least_mm=45.0),
    )
    rows = tuple((role, "", "", "") for role in block.roles)
    return b.Table((b.Column(""), *blanks, b.Column("Date", blank=True, least_mm=28.0)), rows)


def _drawing(block: b.Drawing, room_mm: float) -> Laid:
    picture = block.picture
    left = (room_mm - picture.width_mm) / 2.0
    shows = picture.shows or block.caption
    size_mm = picture.width_mm, picture.height_mm
    role = Role("Figure", 0, shows, size_mm) if shows else Role("P", 1)  # one that says nothing is read as its words
    strips = [Strip(picture.height_mm, (Group(left, 0.0, picture.marks, role=role),), glued=bool(block.caption))]
    if block.caption:
        lines = text.wrap(block.caption, room_mm, b.SMALL_PT)
        caption = words_strips(lines, size_pt=b.SMALL_PT, x_mm=room_mm / 2.0, align="centre")
        strips += in_role(caption, Role("P"))
    return Laid(tuple(strips), gap_mm=3.0)


def _beside(block: b.Beside, room_mm: float) -> Laid:
    between = 5.0
    left_mm = (room_mm - between) * block.left_share
    left, left_high = column(block.left, left_mm)
    right, right_high = column(block.right, room_mm - between - left_mm)
    marks = (
        Group(0.0, 0.0, left, role=Role("Div")),
        Group(left_mm + between, 0.0, right, role=Role("Div", 1)),
    )
    return Laid((Strip(max(left_high, right_high), marks),), gap_mm=3.0)


def column(content: tuple[b.Block, ...], room_mm: float) -> tuple[tuple[Mark, ...], float]:
    """Blocks one under another without a page's end, as marks, and the height (mm) they take."""
    marks: list[Mark] = []
    used_mm = 0.0
    for number, block in enumerate(content):
        laid = lay(block, room_mm)
        used_mm += laid.gap_mm if number else 0.0
        placed, high = stacked(laid.strips, y_mm=used_mm)
        marks.append(Group(0.0, 0.0, placed, role=Role(laid.kind, number)))
        used_mm += high
    return tuple(marks), used_mm


def _gap(block: b.Gap, _room_mm: float) -> Laid:
    return Laid((), gap_mm=block.height_mm)


def _new_page(_block: b.NewPage, _room_mm: float) -> Laid:
    return Laid((), new_page=True)


_LAYERS: dict[type, Callable[[Any, float], Laid]] = {
    b.Heading: _heading,
    b.Paragraph: _paragraph,
    b.Points: _points,
    b.KeyFigures: _key_figures,
    b.Table: lay_table,
    b.Box: _box,
    b.Cautions: _cautions,
    b.SignOff: _sign_off,
    b.Drawing: _drawing,
    b.Beside: _beside,
    b.Gap: _gap,
    b.NewPage: _new_page,
}
