"""The plates' heat as the run up through the notches takes it: where the heat room and the traction room meet."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import LOWEST_C, STEP_K, End, LumpShelf
from griddesign.heat.records import HeatedSection


@dataclass(frozen=True, slots=True, eq=False)
class PlateTables:
    """Sections whose plates heat, one column per case: ratio of ohms, its slope, heat capacity and loss by temperature.

    Every plate of a section is taken as one inside the stack (the hottest there is), so the section as a whole keeps
    its heat and loses what all its plates would lose inside. ``first`` (sections, cases) is the first row of each
    lump, ``columns`` ratio, J/K, W and their slopes per K, ``plates`` the plates of each section.
    """

    columns: tuple[FloatArray, ...]
    first: NDArray[np.intp]
    last_cell: int
    plates: FloatArray
    top_c: FloatArray

    @classmethod
    def of(cls, sections: Sequence[HeatedSection], cases: Sequence[tuple[End, float]]) -> Self:
        """The tables of the sections for cases of (end of the weak figures, ambient in degC)."""
        shelf = LumpShelf()
        numbers = np.array(
            [[shelf.number(section, end, ambient_c) for end, ambient_c in cases] for section in sections]
        )
        tables = shelf.tables()
        columns = tuple(np.ascontiguousarray(column) for column in tables.rows.T)
        plates = np.array([[float(section.series * section.in_parallel)] for section in sections])
        return cls(columns, numbers * tables.length, tables.length - 1, plates, tables.top_c[numbers])

    def __call__(self, t_c: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Ratio, slope per K, J/K and W of the whole sections at temperatures (..., sections, cases), degC."""
        steps = (t_c - LOWEST_C) / STEP_K
        cells = np.clip(steps, 0.0, self.last_cell).astype(np.intp)
        beyond, rows = t_c - LOWEST_C - cells * STEP_K, self.first + cells
        ratio, heat, loss, slope, heat_slope, loss_slope = self.columns
        rise = slope.take(rows)
        return (
            ratio.take(rows) + beyond * rise,
            rise,
            self.plates * (heat.take(rows) + beyond * heat_slope.take(rows)),
            self.plates * (loss.take(rows) + beyond * loss_slope.take(rows)),
        )

    def cooled_c(self, t_c: FloatArray, seconds: FloatArray, steps: int = 12) -> FloatArray:
        """Temperatures after ``seconds`` (cases,) without current, degC; fourth-order rule of Runge and Kutta."""
        width = seconds / steps

        def fall(now_c: FloatArray) -> FloatArray:
            _, _, heat, loss = self(now_c)
            return -width * loss / heat

        for _ in range(steps):
            first = fall(t_c)
            second = fall(t_c + 0.5 * first)
            third = fall(t_c + 0.5 * second)
            t_c = t_c + (first + 2.0 * (second + third) + fall(t_c + third)) / 6.0
        return t_c


def constant_ohms(t_c: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Sections nobody described as plates: their ohms stay cold and they never warm."""
    nothing = np.zeros_like(t_c)
    return np.ones_like(t_c), nothing, np.full_like(t_c, np.inf), nothing
