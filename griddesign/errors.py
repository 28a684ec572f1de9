"""The tree of errors a user can meet. Each carries what would do instead and the exit code of the command.

A class also inherits the builtin it specialises, so library users may catch either. ``OutOfTime`` alone stands beside
the tree: no user meets it.
"""

from dataclasses import dataclass

EXIT_HOLDS = 0
EXIT_FAILS = 1
EXIT_WRONG_INPUT = 2
LONGEST_LINE = 1000
_BLANKS = "\u00a0\u2009\u202f"


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing wrong with an input: where it stands, what was found, what would do."""

    message: str
    hint: str = ""
    file: str = ""
    line: int | None = None
    key: str = ""

    def text(self) -> str:
        """The complaint as one line for a terminal: ``file:line: key: message. hint``."""
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        sentence = ": ".join(part for part in (place, self.key, self.message) if part)
        stop = "" if sentence.endswith((".", "!", "?", ":")) else "."
        return one_line(f"{sentence}{stop} {self.hint}".rstrip())


def one_line(text: str) -> str:
    """A text as one line of signs that show, however it came in: others as their escapes, the middle of a very long one
    left out."""
    if len(text) > LONGEST_LINE:
        text = f"{text[: LONGEST_LINE // 2]} … {text[-LONGEST_LINE // 2 :]}"
    if text.isprintable():
        return text
    return "".join(sign if sign.isprintable() or sign in _BLANKS else _escaped(sign) for sign in text)


def _escaped(sign: str) -> str:
    return sign.encode("unicode_escape").decode()


class GriddesignError(Exception):
    """Base of every error meant for a user. ``hint`` says what would do; ``exit_code`` ends the command."""

    exit_code = EXIT_WRONG_INPUT

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def complaints(self) -> tuple[Complaint, ...]:
        """Every complaint this error stands for, at least one."""
        return (Complaint(self.message, self.hint),)


class InputError(GriddesignError, ValueError):
    """Something the user gave cannot be used."""


class QuantityError(InputError):
    """A text that is not one quantity of the kind asked for."""


class TableError(InputError):
    """A material table that cannot be read, or a metal that is not in it."""


class GeometryError(InputError):
    """A plate that cannot exist: the message holds the numbers that clash."""


class CurveError(InputError):
    """A motor curve that cannot be one, or a current outside it."""


class CircuitError(InputError):
    """A circuit of sections that cannot be read."""


class NoStartError(InputError):
    """No grid gives the start asked for; the message holds the number that decides it."""


class JobError(InputError):
    """A job file with one or more faults, all of them reported together."""

    def __init__(self, complaints: tuple[Complaint, ...]) -> None:
        super().__init__(f"{len(complaints)} fault(s) in the job file")
        self._complaints = complaints

    def complaints(self) -> tuple[Complaint, ...]:
        """Every fault found, in the order of the file."""
        return self._complaints


class OutputError(GriddesignError, OSError):
    """A paper that could not be written. Nothing is left half-written."""


class FrozenRevisionError(OutputError):
    """Changed input under the letter of a revision that was issued before."""


class OutOfTime(Exception):  # noqa: N818 - a signal, not an error of the user's
    """The time limit of a search has passed; never leaves the room of the search."""
