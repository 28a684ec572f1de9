"""What a command says on a terminal: plain lines, plain tables, signs the terminal knows, one JSON object alone."""

import os
import sys
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, redirect_stdout
from typing import Any, TextIO

import click

from griddesign.errors import one_line

PLAIN: dict[str, str | int | None] = {
    "\u00a0": " ", "≈": "~", "≤": "<=", "≥": ">=", "µ": "u", "μ": "u", "Ω": "ohm", "\u2126": "ohm", "·": " ",
    "°": "deg", "×": "x", "¹": "1", "²": "2", "³": "3", "½": "1/2", "¼": "1/4", "¾": "3/4", "±": "+-", "−": "-",
    "–": "-", "—": "-", "ρ": "rho", "ε": "eps", "α": "alpha", "Δ": "delta ", "π": "pi", "Ø": "dia ", "∞": "infinite",
    "…": "...", "′": "'", "″": '"', "‘": "'", "’": "'", "“": '"', "”": '"',
}  # fmt: skip


def say(lines: Iterable[str], *, to_stderr: bool = False) -> None:
    """Write the lines; a terminal that does not know ≈, Ω or ° gets plain letters for them. ``--quiet`` writes none of
    what a command says; errors are said after it has ended, so they are."""
    text, stream = "\n".join(lines), sys.stderr if to_stderr else sys.stdout  # lines may fail while they are made
    if not quiet():
        click.echo(fitting(text, getattr(stream, "encoding", None) or "ascii"), err=to_stderr)


def quiet() -> bool:
    """Whether the command was told to say nothing but errors."""
    context = click.get_current_context(silent=True)
    return context is not None and bool(context.find_root().params.get("quiet"))


@contextmanager
def telling(command: str) -> Iterator[None]:
    """Write on stderr, meanwhile, what the program is at: seconds since the command began, then the line."""
    from griddesign import __version__
    from griddesign.telling import heard_by

    begun, loaded_s = time.perf_counter(), time.process_time()

    def hear(words: str) -> None:
        say([f"[{time.perf_counter() - begun:6.2f} s] {one_line(words)}"], to_stderr=True)

    system = f"Python {sys.version.split()[0]} on {sys.platform}"
    hear(f"griddesign {__version__}, {system}, command {command}: loaded in {loaded_s:.2f} s of processor time")
    with heard_by(hear):
        yield
    hear(f"done, {time.process_time():.2f} s of processor time in all")


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
        lacking = {sign for sign in text if not _known(sign, encoding)}
        signs: dict[str, str | int | None] = {sign: PLAIN.get(sign) or _bare(sign, encoding) for sign in lacking}
        return text.translate(str.maketrans(signs))
    return text


def _bare(sign: str, encoding: str) -> str:
    """A letter without its accents; a question mark where that is not in the code page either."""
    import unicodedata

    letter = "".join(part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part))
    return letter if letter and all(_known(part, encoding) for part in letter) else "?"


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
