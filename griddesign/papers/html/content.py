"""Blocks as HTML: what the sheets say, in the order they say it; the browser finds the lines.

Every text goes through ``said``, which makes it printable as the papers do and leaves nothing a browser takes for
markup. Nothing else of a block reaches the file but numbers.
"""

from collections.abc import Callable
from html import escape
from typing import Any

from griddesign.papers import blocks as b
from griddesign.papers import text
from griddesign.papers.html.svg import svg_of
from griddesign.papers.layout import sign_off_table, warning_sign
from griddesign.papers.marks import Picture

_STACKED_FROM = 40  # characters of all columns of words together: above it a phone shows a table row by row
SIZES_PT = range(7, 61)
"""Type sizes that have a rule of style of their own."""
SHARES = range(5, 100, 5)
"""Shares of the width, in per cent, that have one."""


def said(words: str) -> str:
    """The words as they are printed, safe between tags and in quoted attributes."""
    return escape(text.clean(words))


def html_of(block: b.Block) -> str:
    """One block as HTML."""
    return _WRITERS[type(block)](block)


def all_html(content: tuple[b.Block, ...]) -> str:
    """Blocks one after another, one to a line."""
    return "\n".join(map(html_of, content))


def _size(size_pt: float, *others: str) -> str:
    """The class of a type size, and others."""
    size = min(max(round(size_pt), SIZES_PT[0]), SIZES_PT[-1])
    names = " ".join((*(() if size == b.BODY_PT else (f"t{size}",)), *(name for name in others if name)))
    return f' class="{names}"' if names else ""


def _heading(block: b.Heading) -> str:
    return f"<h3>{said(block.text)}</h3>"


def _paragraph(block: b.Paragraph) -> str:
    return f"<p{_size(block.size_pt, 'b' if block.bold else '')}>{said(block.text)}</p>"


def _points(block: b.Points) -> str:
    kind = "ol" if block.numbered else "ul"
    items = "".join(f"<li>{said(item)}</li>" for item in block.items)
    return f"<{kind}{_size(block.size_pt)}>{items}</{kind}>"


def _key_figures(block: b.KeyFigures) -> str:
    return f'<dl class="key">{"".join(map(_key_figure, block.figures))}</dl>'


def _key_figure(figure: b.KeyFigure) -> str:
    remark = f"<dd>{said(figure.remark)}</dd>" if figure.remark else ""
    return f'<div><dt>{said(figure.label)}</dt><dd class="b t14">{said(figure.value)}</dd>{remark}</div>'


# --- tables ----------------------------------------------------------------------------------------------------------


def _table(block: b.Table) -> str:
    stacked = _is_broad(block)
    blank = any(column.blank for column in block.columns)
    names = ("ruled" if block.ruled else "", "stack" if stacked else "", "fill" if blank else "")
    head = "".join(f'<th scope="col"{_kind(column)}>{said(column.title)}</th>' for column in block.columns)
    labels = [f' data-h="{said(column.title)}"' if stacked and column.title else "" for column in block.columns]
    rows = "".join(f"<tr>{_row(block, row, labels)}</tr>\n" for row in block.rows)
    table = f"<table{_size(block.size_pt, *names)}><thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody></table>"
    return f'<div class="scroll" tabindex="0">{table}</div>'


def _is_broad(table: b.Table) -> bool:
    """Whether a phone has no room for the words of a table side by side; columns of numbers may be pushed sideways."""
    if any(isinstance(cell, Picture) for row in table.rows for cell in row):
        return True
    worded = (index for index, column in enumerate(table.columns) if column.align == "left")
    longest = (max((len(_cell_words(row[index])) for row in table.rows), default=0) for index in worded)
    return sum(longest) > _STACKED_FROM


def _row(block: b.Table, row: tuple[b.TableCell, ...], labels: list[str]) -> str:
    return "".join(
        f"<td{_kind(column, cell)}{label}>{_cell(cell)}</td>"
        for column, cell, label in zip(block.columns, row, labels, strict=True)
    )


def _kind(column: b.Column, cell: b.TableCell = "") -> str:
    names = ({"left": "", "centre": "c", "right": "r"}[column.align], "n" if column.blank else "")
    bold = "b" if isinstance(cell, b.Cell) and cell.bold else ""
    kinds = " ".join(name for name in (*names, bold) if name)
    return f' class="{kinds}"' if kinds else ""


def _cell(cell: b.TableCell) -> str:
    return svg_of(cell) if isinstance(cell, Picture) else said(_cell_words(cell))


def _cell_words(cell: b.TableCell) -> str:
    if isinstance(cell, Picture):
        return ""
    return cell.text if isinstance(cell, b.Cell) else cell


# --- boxes, drawings -------------------------------------------------------------------------------------------------


def _box(block: b.Box) -> str:
    title = f'<p class="b t11">{said(block.title)}</p>' if block.title else ""
    lines = "".join(f"<p>{said(line)}</p>" for line in block.lines)
    return f"<div{_size(block.size_pt, 'box', 'heavy' if block.heavy else '')}>{title}{lines}</div>"


def _cautions(block: b.Cautions) -> str:
    sign = svg_of(Picture(8.2, 7.2, warning_sign()))
    items = "".join(f"<li>{said(line)}</li>" for line in block.lines)
    return f'<div class="box heavy" role="note"><p class="b t14">{sign} CAUTION</p><ul>{items}</ul></div>'


def _sign_off(block: b.SignOff) -> str:
    return _table(sign_off_table(block))


def _drawing(block: b.Drawing) -> str:
    caption = f"<figcaption>{said(block.caption)}</figcaption>" if block.caption else ""
    return f'<figure><div class="scroll" tabindex="0">{svg_of(block.picture, block.caption)}</div>{caption}</figure>'


def _beside(block: b.Beside) -> str:
    left = min(max(5 * round(20.0 * block.left_share), SHARES[0]), SHARES[-1])
    sides = ((left, block.left), (100 - left, block.right))
    columns = "".join(f'<div class="s{share}">\n{all_html(content)}\n</div>' for share, content in sides)
    return f'<div class="beside">{columns}</div>'


def _gap(_block: b.Gap) -> str:
    return '<div class="gap"></div>'


def _new_page(_block: b.NewPage) -> str:
    return '<div class="turn"></div>'


_WRITERS: dict[type, Callable[[Any], str]] = {
    b.Heading: _heading,
    b.Paragraph: _paragraph,
    b.Points: _points,
    b.KeyFigures: _key_figures,
    b.Table: _table,
    b.Box: _box,
    b.Cautions: _cautions,
    b.SignOff: _sign_off,
    b.Drawing: _drawing,
    b.Beside: _beside,
    b.Gap: _gap,
    b.NewPage: _new_page,
}
