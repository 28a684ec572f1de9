"""A computed number with its way to it: symbol, formula, numbers put in, result, source. Records first, paper after."""

from dataclasses import dataclass, replace
from typing import Final

from griddesign.papers.blocks import SMALL_PT, Block, Cell, Column, Heading, Paragraph, Table, TableCell
from griddesign.papers.sheets.shown import ABOUT

TRACE_PT: Final = 8.5

TITLES: Final = ("Symbol", "Formula, numbers put in", "Result", "Source, status")


@dataclass(frozen=True, slots=True)
class Line:
    """One number of the papers. ``ends`` is the result at both ends of what is not sure; ``bold`` for the one of two
    lines that must not be overlooked."""

    symbol: str
    formula: str
    numbers: str
    result: str
    source: str = ""
    ends: str = ""
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """Lines that belong together, with what must be said before them. ``titles`` head the four columns. ``across``
    heads columns that the lines of each result stand in side by side; sources are then said before."""

    title: str
    lines: tuple[Line, ...]
    said: tuple[str, ...] = ()
    titles: tuple[str, str, str, str] = TITLES
    across: tuple[str, ...] = ()


def unsure(part: Part, why: str) -> Part:
    """The part with every result marked ≈, and the reason said: for what rests on figures that are not sure."""
    lines = tuple(replace(line, result=_about(line.result)) for line in part.lines)
    return replace(part, lines=lines, said=(*part.said, why))


def _about(result: str) -> str:
    """A result with the mark, once; words alone are never about."""
    is_number = any(char.isdigit() for char in result)
    return f"{ABOUT}{result}" if is_number and not result.startswith(ABOUT) else result


def part_blocks(part: Part) -> tuple[Block, ...]:
    """The part as blocks of a sheet: heading, what is said, its lines as a table."""
    said = tuple(Paragraph(words, size_pt=SMALL_PT, keep=bool(part.lines)) for words in part.said)
    table = (_table(part),) if part.lines else ()
    return (Heading(part.title), *said, *table)


def _table(part: Part) -> Table:
    if part.across:
        return _table_across(part)
    symbol, formula, result, origin = part.titles
    columns = (Column(symbol), Column(formula, stretch=True), Column(result), Column(origin))
    return Table(columns, tuple(_row(line) for line in part.lines), TRACE_PT, dense=True)


def _table_across(part: Part) -> Table:
    columns = (*map(Column, part.titles[:2]), *map(Column, part.across))
    rows = tuple((line.symbol, _way(line), *line.result.split("\n")) for line in part.lines)
    return Table(columns, rows, TRACE_PT, dense=True)


def _way(line: Line) -> str:
    return " = ".join(words for words in (line.formula, line.numbers) if words)


def _row(line: Line) -> tuple[TableCell, ...]:
    way = _way(line)
    result = "\n".join(words for words in (line.result, line.ends) if words)
    if line.bold:
        return Cell(line.symbol), way, Cell(result), line.source
    return line.symbol, way, result, line.source
