"""A table of the job file while it is being read: takes typed values, collects every fault, notes every figure."""

import difflib
import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any, TypeVar

from griddesign.errors import Complaint, GriddesignError, QuantityError
from griddesign.figures import Figure, Status
from griddesign.job.document import Document, Key
from griddesign.units import read, read_at

T = TypeVar("T")
Word = TypeVar("Word", bound=str)
LONGEST_NAME = 24


class Notebook:
    """What one reading gathers: figures by dotted key, the lines they stand on, and complaints."""

    def __init__(self, document: Document, pinned: Mapping[str, Figure] | None = None) -> None:
        self.document = document
        self.pinned = pinned or {}
        self.figures: dict[str, Figure] = {}
        self.lines: dict[str, int] = {}
        self.complaints: list[Complaint] = []

    def complain(self, key: Key, label: str, message: str, hint: str = "") -> None:
        """Note one fault at a key."""
        line = self.document.line_of(key)
        self.complaints.append(Complaint(message, hint, str(self.document.path), line, label))

    def whole(self) -> "Part":
        """The whole file as a part."""
        return Part(self, (), "", self.document.data)


class Part:
    """One table. Every ``take`` method returns None after noting a complaint, so reading goes on to the next fault."""

    def __init__(self, notebook: Notebook, key: Key, label: str, data: Mapping[str, Any]) -> None:
        self.notebook = notebook
        self.key = key
        self.label = label
        self.data = data
        self._taken: set[str] = set()

    def has(self, name: str) -> bool:
        """Whether the key is there; does not count as taking it."""
        return name in self.data

    def complain(self, name: str, message: str, hint: str = "") -> None:
        """Note a fault at a key of this table (or at the table itself where ``name`` is empty)."""
        key = (*self.key, name) if name else self.key
        self.notebook.complain(key, self._label(name), message, hint)

    def attempt(self, name: str, build: Callable[[], T]) -> T | None:
        """Run ``build``; an error of the house becomes a complaint at the key."""
        try:
            return build()
        except GriddesignError as error:
            for complaint in error.complaints():
                self.complain(name, complaint.message, complaint.hint)
            return None

    def _label(self, name: str) -> str:
        return ".".join(part for part in (self.label, name) if part)

    def _get(self, name: str, required: bool, example: str) -> Any:
        self._taken.add(name)
        if name not in self.data and required:
            self.complain(name, "is missing", f'Add for instance {name} = "{example}".')
        return self.data.get(name)

    def table(self, name: str, *, required: bool = False) -> "Part | None":
        """A table inside this one."""
        value = self._get(name, False, "")
        if value is None:
            if required:
                self.complain(name, "is missing", f"Add a table [{self._label(name)}].")
            return None
        if not isinstance(value, Mapping):
            self.complain(name, f"{value!r} is not a table", f"Write [{self._label(name)}] and its keys below.")
            return None
        return Part(self.notebook, (*self.key, name), self._label(name), value)

    def tables(self, name: str) -> "tuple[Part, ...]":
        """An array of tables, labelled by their names where they have one."""
        value = self._get(name, False, "")
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(item, Mapping) for item in value):
            self.complain(name, "is not a list of tables", f"Write [[{name}]] before each.")
            return ()
        return tuple(
            Part(self.notebook, (*self.key, name, index), f"{name}.{item.get('name', index + 1)}", item)
            for index, item in enumerate(value)
        )

    def text(self, name: str, default: str = "", *, required: bool = False, example: str = "") -> str:
        """A plain text."""
        value = self._get(name, required, example)
        if value is None:
            return default
        if not isinstance(value, str):
            self.complain(name, f"{value!r} is not a text", f'Write {name} = "{value}".')
            return default
        return value

    def name(self, example: str) -> str:
        """The ``name`` of a table: short enough for a sheet's column, and to be seen; "" after a complaint."""
        value = self.text("name", required=True, example=example)
        fault = fault_of_name(value) if self.has("name") and isinstance(self.data["name"], str) else ""
        if fault:
            self.complain("name", fault, f'Write a short name, for instance name = "{example}".')
        return "" if fault else value

    def choice(self, name: str, allowed: Sequence[Word], default: Word | None = None) -> Word | None:
        """One of a few words; required where there is no default."""
        value = self._get(name, default is None, allowed[0])
        if value is None:
            return default
        if value in allowed:
            return allowed[allowed.index(value)]
        self.complain(
            name, f"{value!r} is not known here", f"Write one of: {', '.join(allowed)}.{_near(value, allowed)}"
        )
        return default

    def flag(self, name: str) -> bool:
        """true or false; false where it is not there."""
        value = self._get(name, False, "")
        if value is None or isinstance(value, bool):
            return bool(value)
        self.complain(name, f"{value!r} is neither true nor false", f"Write {name} = true or {name} = false.")
        return False

    def whole_number(self, name: str, default: int | None = None, *, least: int = 1, most: int = 10_000) -> int | None:
        """A count; required where there is no default."""
        value = self._get(name, default is None, "2")
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int):
            self.complain(name, f"{value!r} is not a whole number", f"Write {name} = {default or 2}, without quotes.")
            return default
        if not least <= value <= most:
            self.complain(name, f"{value} is out of range", f"It must lie between {least} and {most}.")
            return default
        return value

    def quantity(
        self,
        name: str,
        kind: str,
        *,
        required: bool = True,
        example: str = "",
        above: float | None = 0.0,
        least: float | None = None,
        most: float | None = None,
    ) -> float | None:
        """A quantity with its unit, in SI; the figure behind it is noted. Bounds hold for both ends of a range."""
        figure = self.figure(name, kind, required=required, example=example, above=above, least=least, most=most)
        return None if figure is None else figure.value

    def figure(
        self,
        name: str,
        kind: str,
        *,
        required: bool = True,
        example: str = "",
        above: float | None = None,
        least: float | None = None,
        most: float | None = None,
    ) -> Figure | None:
        """The figure itself, with range, status and source."""
        value = self._get(name, required, example)
        if value is None:
            return None
        label = self._label(name)
        figure = self.notebook.pinned.get(label) or self._read_figure(name, kind, value)
        if figure is None or not self._in_bounds(name, figure, kind, above, least, most):
            return None
        self._note(label, name, figure)
        return figure

    def mark(self, name: str) -> None:
        """Count a key as asked for."""
        self._taken.add(name)

    def noted(self, name: str, figure: Figure) -> Figure:
        """Note a figure that was read by other means; a pinned one takes its place."""
        self._taken.add(name)
        label = self._label(name)
        figure = self.notebook.pinned.get(label, figure)
        self._note(label, name, figure)
        return figure

    def quantities(self, name: str, kind: str, *, example: str = "15 A") -> tuple[float, ...] | None:
        """A list of quantities above zero, in SI. A list carries no ranges."""
        value = self._get(name, True, example)
        if value is None:
            return None
        if not isinstance(value, list) or not value or not all(isinstance(item, str) for item in value):
            self.complain(name, "is not a list of quantities", f'Write {name} = ["{example}", …], each in quotes.')
            return None
        figures = [self.attempt(name, partial(read_figure, item, kind)) for item in value]
        return None if None in figures else tuple(figure.value for figure in figures if figure is not None)

    def _note(self, label: str, name: str, figure: Figure) -> None:
        self.notebook.figures[label] = figure
        line = self.notebook.document.line_of((*self.key, name))
        if line is not None:
            self.notebook.lines[label] = line

    def _read_figure(self, name: str, kind: str, value: Any) -> Figure | None:
        source = ""
        if isinstance(value, Mapping):
            value, source = self._value_and_source(name, value)
        if not isinstance(value, str):
            if value is not None:
                self.complain(name, *_without_quotes(value, kind))
            return None
        return self.attempt(name, lambda: read_figure(value, kind, source))

    def _value_and_source(self, name: str, value: Mapping[str, Any]) -> tuple[Any, str]:
        strange = sorted(set(value) - {"value", "source", "distance"})
        if strange or "value" not in value:
            self.complain(name, f"{{ {', '.join(value)} }} is not a figure", 'Write { value = "…", source = "…" }.')
            return None, ""
        return value["value"], str(value.get("source", ""))

    def _in_bounds(
        self, name: str, figure: Figure, kind: str, above: float | None, least: float | None, most: float | None
    ) -> bool:
        if above is not None and figure.low <= above:
            wanted = "above zero" if above == 0 else f"above {_shown(above, kind)}"
        elif least is not None and figure.low < least:
            wanted = f"at least {_shown(least, kind)}"
        elif most is not None and figure.high > most:
            wanted = f"at most {_shown(most, kind)}"
        else:
            return True
        self.complain(name, f"{figure.text} cannot be", f"It must be {wanted}.")
        return False

    def close(self) -> None:
        """Complain about every key nobody asked for."""
        for name in self.data:
            if name not in self._taken:
                known = sorted(self._taken)
                near = _near(name, known).strip()
                self.complain(name, "is not a key of this table", near or f"Known here: {', '.join(known)}.")


def fault_of_name(name: str) -> str:
    """What keeps a text from being a name on paper; "" where nothing does."""
    if not name.strip():
        return "is blank"
    return f"{len(name)} characters are more than fit a sheet, {LONGEST_NAME}" if len(name) > LONGEST_NAME else ""


def read_figure(text: str, kind: str, source: str = "") -> Figure:
    """A text with its unit as a figure. Raises QuantityError."""
    reading = read(text, kind)
    if not all(math.isfinite(end) for end in (reading.low, reading.value, reading.high)):
        raise QuantityError(f"{text!r} is not finite", hint="Write a number.")
    status = Status.ABOUT if reading.approximate else Status.GIVEN
    return Figure(reading.value, reading.low, reading.high, status, source, text)


def read_figure_at(text: str, kind: str, source: str = "") -> tuple[Figure, float | None]:
    """A text such as ``0.42 ohm at 75 degC`` as a figure and the temperature, degC, where there is one."""
    reading, at = read_at(text, kind)
    status = Status.ABOUT if reading.approximate else Status.GIVEN
    figure = Figure(reading.value, reading.low, reading.high, status, source, text)
    return figure, None if at is None else at.value


def _shown(value: float, kind: str) -> str:
    """A bound with its unit, where the kind has one."""
    from griddesign.units import show

    return show(value, kind).replace("\u00a0", " ") if kind != "number" else f"{value:g}"


def _near(value: object, allowed: Sequence[str]) -> str:
    close = difflib.get_close_matches(str(value), allowed, n=2)
    return f" Did you mean {' or '.join(close)}?" if close else ""


def _without_quotes(value: object, kind: str) -> tuple[str, str]:
    """Complaint and hint for a value that is no text: ``4`` in place of ``"4 mm"``, or of ``"4"`` for a bare number."""
    from griddesign.units import KINDS

    units = KINDS[kind].spellings[:1]
    if isinstance(value, list | dict):
        return f"{value!r} is not one value", "One value with its unit, in quotes, is wanted here."
    example = " ".join(map(str, (value, *units)))
    if not units:
        return f"{value!r} has no quotes around it", f'Write "{example}".'
    return f"{value!r} has no unit", f'Put value and unit in quotes, for instance "{example}".'
