"""What nesting is asked for and what comes of it. Lengths in metres."""

from dataclasses import dataclass
from typing import Literal

from griddesign.figures import Figure

Rule = Literal["any", "along", "across"]
"""How the passes may lie to the sheet's first side, along which it was rolled: either way, along it, across it."""


@dataclass(frozen=True, slots=True)
class NestAsked:
    """A stock sheet (or a moulding box) as asked for. ``length_m`` is the side the sheet was rolled along; ``web_m`` is
    kept between plates, ``margin_m`` along the edges of the sheet; None where our own are to do."""

    text: str
    length_m: float
    width_m: float
    web_m: float | None = None
    margin_m: float | None = None
    rule: Rule = "any"


@dataclass(frozen=True, slots=True)
class Stock:
    """The sheet with everything settled."""

    length_m: float
    width_m: float
    web_m: float
    margin_m: float
    rule: Rule = "any"


@dataclass(frozen=True, slots=True)
class Place:
    """One plate: its outline turned by ``quarters`` of a turn about the origin, then shifted by (x, y)."""

    quarters: int
    x_m: float
    y_m: float

    def shifted(self, x_m: float, y_m: float) -> "Place":
        """The same, moved."""
        return Place(self.quarters, self.x_m + x_m, self.y_m + y_m)


@dataclass(frozen=True, slots=True)
class Unit:
    """One plate or an interlocked pair, repeated ``step_x_m`` and ``step_y_m`` apart as far as room goes.

    ``places`` lie in the box from (0, 0) to (``wide_m``, ``high_m``) and touch its sides. Steps hold the web.
    """

    places: tuple[Place, ...]
    wide_m: float
    high_m: float
    step_x_m: float
    step_y_m: float

    @property
    def cell_m2(self) -> float:
        """Sheet one plate takes in an endless pattern of this unit, its web included."""
        return self.step_x_m * self.step_y_m / len(self.places)


@dataclass(frozen=True, slots=True)
class Pattern:
    """The plates of one sheet, lower left corner of the sheet at the origin.

    ``bound``: no layout of these units, cut straight through or not, holds more. ``exact``: whether every straight-cut
    layout of the units was looked at, so that none of them holds more than this one.
    """

    places: tuple[Place, ...]
    bound: int
    exact: bool

    @property
    def proved(self) -> bool:
        """Whether the bound is reached: no layout of these units is better."""
        return len(self.places) == self.bound


@dataclass(frozen=True, slots=True)
class Nested:
    """A lot on its sheets: ``full`` sheets cut alike to ``pattern``, then one with ``last`` (empty: none).

    ``waste`` and ``waste_lot`` are shares of the sheet area that is no plate: of a full sheet, and of all sheets of the
    lot. ``web`` and ``margin`` as used, with where they come from.
    """

    stock: Stock
    pattern: Pattern
    last: tuple[Place, ...]
    lot: int
    full: int
    interlocked: bool
    web: Figure
    margin: Figure
    waste: float
    waste_lot: float

    @property
    def sheets(self) -> int:
        """Stock sheets needed for the lot."""
        return self.full + bool(self.last)

    @property
    def per_sheet(self) -> int:
        """Plates on a full sheet."""
        return len(self.pattern.places)
