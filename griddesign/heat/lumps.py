"""Plates as lumps: ratio of ohms, heat capacity and loss against temperature, tabulated once and read in bulk.

A lump's three properties are laid down on a grid of ``STEP_K`` and read by straight lines between; the error of that is
under 1e-5 of the value, far below every figure it rests on, and a thousand cases are read as fast as one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError
from griddesign.figures import Figure
from griddesign.heat.air import FloatArray
from griddesign.heat.cooling import LOSS_BAND, loss_w
from griddesign.heat.records import HeatedSection, LossKnown, PlateBody, Stack

Where: TypeAlias = Literal["low", "value", "high"]

STEP_K = 1.0
OVERSHOOT_K = 40.0
LOWEST_C = -50.0


@dataclass(frozen=True, slots=True)
class End:
    """One set of ends of the weak figures: of the metal "low", "value" or "high", of the loss a factor.

    ``loss`` 0 is the adiabatic network.
    """

    name: str
    alpha20: Where = "value"
    emissivity: Where = "value"
    loss: float = 1.0
    specific_heat: Where = "value"

    def adiabatic(self) -> "End":
        """The same ohms without any loss."""
        return replace(self, loss=0.0)

    def on(self, known: LossKnown | None) -> "End":
        """The same end where a heat run told the loss: factor and range of the run stand in for 1 and the band.

        The emissivity then stays as given, since what is wrong with it is in the factor.
        """
        if known is None or self.loss == 0.0:
            return self
        found = known.factor if self.loss == 1.0 else known.low if self.loss < 1.0 else known.high
        return replace(self, emissivity="value", loss=found)


AS_GIVEN = End("figures as given")
LOW_LOSS = End("loss and specific heat low", "value", "low", 1.0 - LOSS_BAND, "low")
LOW_ALPHA = End("temperature coefficient, loss and specific heat low", "low", "low", 1.0 - LOSS_BAND, "low")
HIGH_ALPHA = End("temperature coefficient high, loss and specific heat low", "high", "low", 1.0 - LOSS_BAND, "low")
MORE_LOSS = End("loss high", loss=1.0 + LOSS_BAND)
LESS_LOSS = End("loss low", loss=1.0 - LOSS_BAND)
BAND = (MORE_LOSS, AS_GIVEN, LESS_LOSS)
"""The loss model's own band, every figure of the metal as given: coolest first."""
ENDS = (AS_GIVEN, LOW_LOSS, LOW_ALPHA, HIGH_ALPHA)
"""Ends tried by default. More loss and more specific heat are never hotter, so their high ends are left out. Either end
of the temperature coefficient can be the worse: the high one at a given current, mostly the low one when stalled."""


def top_c(section: HeatedSection) -> float:
    """Hottest a section is followed to, degC: the top of its metal's table, or its limit where that lies higher.

    In the second case the table's last slope was carried on to the limit: ``limit_beyond_table`` tells, paper must say.
    """
    return max(section.body.metal.top_c, section.limit_c)


def limit_beyond_table(section: HeatedSection) -> bool:
    """Whether the limit lies above the top of the metal's table, so that all near it rests on a carried-on slope."""
    return section.limit_c > section.body.metal.top_c


def at_end(body: PlateBody, end: End) -> PlateBody:
    """The body with the metal's weak figures pinned at ``end``; a figure without a range leaves its curve alone."""
    wanted: dict[str, Where] = {
        "alpha20": end.alpha20,
        "emissivity": end.emissivity,
        "specific_heat_20": end.specific_heat,
        "specific_heat_400": end.specific_heat,
    }
    moved = {name: where for name, where in wanted.items() if _moves(getattr(body.metal, name), where)}
    return replace(body, metal=body.metal.at_ends(**moved)) if moved else body


def _moves(figure: Figure, where: Where) -> bool:
    return figure.at(where) != figure.value


@dataclass(frozen=True, slots=True, eq=False)
class LumpTables:
    """Tables of many lumps one under another; a lump is named by its number.

    ``rows[number * length + cell]`` holds ratio, J/K and W of one plate at the cell's lower edge, then their rise
    over the cell. ``top_c[number]`` is the hottest that counts, see ``top_c``; above it the metal's last slope goes on,
    only so that an integrator may step past the top and find out.
    """

    rows: FloatArray
    length: int
    top_c: FloatArray

    def read(self, numbers: NDArray[np.intp], t_c: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Ratio of ohms to those at 20 degC, heat capacity J/K and loss W of one plate, each the shape of ``t_c``."""
        steps = (t_c - LOWEST_C) / STEP_K
        cells = np.minimum(np.maximum(steps, 0.0), self.length - 1).astype(np.intp)
        row = self.rows.take(numbers * self.length + cells, axis=0)
        read = row[..., :3] + (steps - cells)[..., None] * row[..., 3:]
        return read[..., 0], read[..., 1], read[..., 2]

    def ratio_range(self, number: int) -> tuple[float, float]:
        """Least and greatest ratio of a lump anywhere in its table."""
        ratios = self.rows[number * self.length : (number + 1) * self.length, 0]
        return float(ratios.min()), float(ratios.max())


@dataclass(slots=True)
class LumpShelf:
    """Collects lumps, each distinct one once, and lays their tables down."""

    _numbers: dict[tuple[object, ...], int] = field(default_factory=dict)
    _lumps: list[tuple[PlateBody, Stack, End, float]] = field(default_factory=list)
    _tops_c: list[float] = field(default_factory=list)

    def number(self, section: HeatedSection, end: End, ambient_c: float) -> int:
        """Number of the lump of one plate of ``section`` at ``end`` and ``ambient_c``; like lumps share one number."""
        inner, top, end = min(section.stack.plates, 3), top_c(section), end.on(section.body.loss)
        figures = end.alpha20, end.emissivity, end.loss, end.specific_heat
        key = (id(section.body), section.stack.clear_gap_m, inner, figures, ambient_c, top)
        if key not in self._numbers:
            self._numbers[key] = len(self._lumps)
            self._lumps.append((section.body, replace(section.stack, plates=inner), end, ambient_c))
            self._tops_c.append(top)
        return self._numbers[key]

    def tables(self) -> LumpTables:
        """Every lump asked for so far, tabulated."""
        tops_c = np.array(self._tops_c)
        last_c = float(tops_c.max()) + OVERSHOOT_K
        blocks = [_lump_rows(body, stack, end, ambient_c, last_c) for body, stack, end, ambient_c in self._lumps]
        return LumpTables(np.concatenate(blocks), len(blocks[0]), tops_c)


@lru_cache(maxsize=512)
def _lump_rows(body: PlateBody, stack: Stack, end: End, ambient_c: float, last_c: float) -> FloatArray:
    """Rows of one lump, for reading only; kept, since start, duty and holds ask for the same plates again and again."""
    pinned, edges_c = at_end(body, end), np.arange(LOWEST_C, last_c + STEP_K, STEP_K)
    loss = loss_w(pinned, stack, edges_c, ambient_c, end.loss) if end.loss else np.zeros_like(edges_c)
    heat_j_k = pinned.mass_kg * pinned.metal.specific_heat(edges_c)
    columns = np.stack([pinned.metal.ratio(edges_c), heat_j_k, loss], axis=1)
    return np.hstack([columns[:-1], np.diff(columns, axis=0)])


def sections_by_name(sections: Sequence[HeatedSection]) -> dict[str, int]:
    """Place of each section by its name. Raises InputError where two share a name."""
    places = {section.name: place for place, section in enumerate(sections)}
    if len(places) != len(sections):
        raise InputError(f"two sections share a name: {', '.join(section.name for section in sections)}")
    return places
