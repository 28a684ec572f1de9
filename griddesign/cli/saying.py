"""What a command says on a terminal: plain lines, plain tables, signs the terminal knows."""

import sys
from collections.abc import Iterable, Iterator, Sequence

import click

PLAIN: dict[str, str | int | None] = {
    "≈": "~",
    "µ": "u",
    "Ω": "ohm",
    "·": " ",
    "°": "deg",
    "×": "x",
    "³": "3",
    "±": "+-",
}


def say(lines: Iterable[str], *, to_stderr: bool = False) -> None:
    """Write the lines; a terminal that does not know ≈, Ω or ° gets plain letters for them."""
    stream = sys.stderr if to_stderr else sys.stdout
    click.echo(fitting("\n".join(lines), getattr(stream, "encoding", None) or "ascii"), err=to_stderr)


def fitting(text: str, encoding: str) -> str:
    """The text with every sign that ``encoding`` lacks put in plain letters: ≈ becomes ~, µΩ becomes uohm."""
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        signs = {sign: PLAIN.get(sign, "?") for sign in set(text) if not _known(sign, encoding)}
        return text.translate(str.maketrans(signs))
    return text


def _known(sign: str, encoding: str) -> bool:
    try:
        sign.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def table(titles: Sequence[str], rows: Iterable[Sequence[str]], left: int = 1) -> Iterator[str]:
    """Lines of a plain table: the first ``left`` columns to the left, the others to the right, two blanks between."""
    whole = [tuple(titles), *map(tuple, rows)]
    widths = [max(len(row[column]) for row in whole) for column in range(len(titles))]
    for row in whole:
        cells = (
            cell.ljust(width) if column < left else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        yield "  ".join(cells).rstrip()
