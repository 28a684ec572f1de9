"""What a command says on a terminal: plain lines, plain tables, signs the terminal knows, one JSON object alone."""

import os
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, redirect_stdout
from typing import Any, TextIO

import click

PLAIN: dict[str, str | int | None] = {
    "≈": "~",
    "µ": "u",
    "Ω": "ohm",
    "·": " ",
    "°": "deg",
    "×": "x",
    "²": "2",
    "³": "3",
    "±": "+-",
    "−": "-",
    "ρ": "rho",
    "ε": "eps",
    "…": "...",
    "“": '"',
    "”": '"',
}


def say(lines: Iterable[str], *, to_stderr: bool = False) -> None:
    """Write the lines; a terminal that does not know ≈, Ω or ° gets plain letters for them. ``--quiet`` writes none of
    what a command says; errors are said after it has ended, so they are."""
    text, stream = "\n".join(lines), sys.stderr if to_stderr else sys.stdout  # lines may fail while they are made
    if not _quiet():
        click.echo(fitting(text, getattr(stream, "encoding", None) or "ascii"), err=to_stderr)


def _quiet() -> bool:
    context = click.get_current_context(silent=True)
    return context is not None and bool(context.find_root().params.get("quiet"))


def answer(data: Mapping[str, Any]) -> None:
    """Write the one JSON object of a command, in ASCII: it reads the same in every code page.

    It goes to the stream that ``stdout_for_answer`` kept, which the context holds; else to stdout. Raises ValueError
    on a number that JSON does not have.
    """
    context = click.get_current_context(silent=True)
    write_answer(data, context.obj if context is not None else None)


def write_answer(data: Mapping[str, Any], stream: TextIO | None) -> None:
    """Write one JSON object to the stream, or to stdout where there is none."""
    import json

    click.echo(json.dumps(data, indent=2, allow_nan=False), file=stream)


@contextmanager
def stdout_for_answer(wanted: bool) -> Iterator[TextIO | None]:
    """Keep stdout for one JSON object alone: what else is printed, by Python or by a C library, goes to stderr.

    The process's own stdout stays turned to stderr afterwards, since a C library may hold back its lines to the end.
    """
    if not wanted:
        yield None
        return
    sys.stdout.flush()
    with os.fdopen(os.dup(1), "w", encoding="ascii") as stream:
        os.dup2(2, 1)
        with redirect_stdout(sys.stderr):
            yield stream


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
