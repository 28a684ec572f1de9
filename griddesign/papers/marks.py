"""Marks on paper, the one vocabulary every drawing and every sheet is made of before it becomes a PDF.

All lengths are millimetres on the paper, counted right and **down** from the top left corner of whatever holds the
mark; type sizes are points, grey runs from 0.0 (black) to 1.0 (white). Marks are named tuples: a set has tens of
thousands, and a frozen dataclass takes several times as long to make.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

MM_PER_PT = 25.4 / 72.0
THIN_MM, MEDIUM_MM, THICK_MM = 0.25, 0.5, 0.7
_QUARTER = 4.0 / 3.0 * (math.sqrt(2.0) - 1.0)  # handle of the cubic that stands in for a quarter circle, error 0.03 %

Align = Literal["left", "centre", "right"]
Step = tuple[str, tuple[float, ...]]
"""One step of a path: ``("m", (x, y))``, ``("l", (x, y))``, ``("c", (x1, y1, x2, y2, x, y))`` or ``("z", ())``."""


class Words(NamedTuple):
    """One line of text; ``y_mm`` is its base line. ``angle_deg`` turns it anticlockwise about its own base point."""

    x_mm: float
    y_mm: float
    text: str
    size_pt: float = 11.0
    bold: bool = False
    align: Align = "left"
    angle_deg: float = 0.0
    grey: float = 0.0
    hollow: bool = False


class Path(NamedTuple):
    """Lines and cubic curves. ``width_mm`` 0 draws no line; ``fill`` is a grey or None."""

    steps: tuple[Step, ...]
    width_mm: float = THIN_MM
    dash_mm: tuple[float, ...] = ()
    fill: float | None = None
    grey: float = 0.0


class Role(NamedTuple):
    """What marks are to who has a paper read aloud: a kind of ISO 32000-1, 14.8.4 (``P``, ``H2``, ``TR``, ``Figure``),
    which of its parent's parts in order, and for a figure what it shows and how wide and high it is, mm, from the
    corner of its group. Groups of one role in one parent are one part, on whatever pages they stand."""

    kind: str
    number: int = 0
    alt: str = ""
    size_mm: tuple[float, float] | None = None


ARTIFACT = Role("Artifact")
"""Marks that were read before, or say nothing: a band or a header that comes again."""


class Group(NamedTuple):
    """Marks moved together, so that a big drawing is placed without touching its marks.

    ``shared`` names marks that are the same wherever that name stands, so that a file need hold them only once.
    """

    x_mm: float
    y_mm: float
    marks: "tuple[Mark, ...]"
    shared: str = ""
    role: Role | None = None


Mark = Words | Path | Group


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing that knows its size; every mark lies inside ``width_mm`` x ``height_mm``. ``shows`` tells who cannot
    see it what it shows, where no caption does."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]
    shows: str = ""


def polyline(
    points: Iterable[tuple[float, float]],
    *,
    width_mm: float = THIN_MM,
    dash_mm: tuple[float, ...] = (),
    closed: bool = False,
    fill: float | None = None,
    grey: float = 0.0,
) -> Path:
    """Straight lines through ``points``."""
    first, *others = points
    end: tuple[Step, ...] = (("z", ()),) if closed else ()
    return Path((("m", first), *(("l", point) for point in others), *end), width_mm, dash_mm, fill, grey)


def line(
    x1_mm: float,
    y1_mm: float,
    x2_mm: float,
    y2_mm: float,
    width_mm: float = THIN_MM,
    *,
    dash_mm: tuple[float, ...] = (),
    grey: float = 0.0,
) -> Path:
    """One straight line."""
    return Path((("m", (x1_mm, y1_mm)), ("l", (x2_mm, y2_mm))), width_mm, dash_mm, None, grey)


def rectangle(
    x_mm: float,
    y_mm: float,
    wide_mm: float,
    high_mm: float,
    width_mm: float = THIN_MM,
    *,
    fill: float | None = None,
    dash_mm: tuple[float, ...] = (),
) -> Path:
    """A box with its top left corner at ``x_mm``, ``y_mm``."""
    right, below = x_mm + wide_mm, y_mm + high_mm
    corners = ((x_mm, y_mm), (right, y_mm), (right, below), (x_mm, below))
    return polyline(corners, width_mm=width_mm, dash_mm=dash_mm, closed=True, fill=fill)


def circle(
    x_mm: float,
    y_mm: float,
    radius_mm: float,
    width_mm: float = THIN_MM,
    *,
    fill: float | None = None,
    dash_mm: tuple[float, ...] = (),
) -> Path:
    """A circle of four cubic curves about ``x_mm``, ``y_mm``."""
    r, k = radius_mm, radius_mm * _QUARTER
    turns = (((r, k), (k, r), (0.0, r)), ((-k, r), (-r, k), (-r, 0.0)), ((-r, -k), (-k, -r), (0.0, -r)))
    last = ((k, -r), (r, -k), (r, 0.0))
    steps: list[Step] = [("m", (x_mm + r, y_mm))]
    for handles in (*turns, last):
        steps.append(("c", tuple(value for dx, dy in handles for value in (x_mm + dx, y_mm + dy))))
    return Path((*steps, ("z", ())), width_mm, dash_mm, fill)


def flat(marks: Iterable[Mark], x_mm: float = 0.0, y_mm: float = 0.0) -> Iterator[tuple[float, float, Words | Path]]:
    """Every mark that is no group, with the offset (mm) it is drawn at."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from flat(mark.marks, x_mm + mark.x_mm, y_mm + mark.y_mm)
        else:
            yield x_mm, y_mm, mark


def scaled(marks: Iterable[Mark], factor: float) -> tuple[Mark, ...]:
    """The marks drawn smaller or larger, text with them; line widths stay, so that they still print."""
    return tuple(_scaled(mark, factor) for mark in marks)


def _scaled(mark: Mark, factor: float) -> Mark:
    if isinstance(mark, Group):
        return Group(mark.x_mm * factor, mark.y_mm * factor, scaled(mark.marks, factor))
    if isinstance(mark, Words):
        return mark._replace(x_mm=mark.x_mm * factor, y_mm=mark.y_mm * factor, size_pt=mark.size_pt * factor)
    steps = tuple((kind, tuple(number * factor for number in numbers)) for kind, numbers in mark.steps)
    return mark._replace(steps=steps, dash_mm=tuple(length * factor for length in mark.dash_mm))
