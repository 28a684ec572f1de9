"""Plates of unlike sections side by side: what a plate takes from a hotter neighbour across the gap.

A section's own heat is reckoned as if all its neighbours were as hot as itself. Next to a hotter section that is too
cool. Here every plate of a box is a lump of its own: it radiates and conducts to both neighbours, which gives the
steady temperatures under the mean heat of a duty. A plate never comes out hotter than the hottest section alone would
(the exchange only evens out), so a hottest section judged alone is on the safe side, and stays so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Self

import numpy as np
from numpy.typing import NDArray

from griddesign.heat.air import ZERO_C_K, FloatArray, air_at
from griddesign.heat.cooling import STEFAN_BOLTZMANN_W_M2K4, gap_radiating_m2, rectangle_view_factor
from griddesign.heat.lumps import End, LumpShelf, LumpTables, top_c
from griddesign.heat.records import HeatedSection

_MOST_ROUNDS = 40
_SAME_K = 1e-6
_LONGEST_STEP_K = 60.0
_HOTTEST_AIR_K = 1190.0  # just inside the table of air; hotter gaps conduct as this


def exchange_m2(height_m: float, depth_m: float, gap_m: float, emissivity: float) -> float:
    """Black area by which two facing plates of unlike temperature exchange heat beside what each sends outside, m2:
    ``Y = (X - G/2)/2``, ``X = 1 / [(1 - e)/(e A) + 1/(A (1 + F))]``, G of ``gap_radiating_m2``.

    The grey enclosure of two equal walls and a black opening is linear in ``sigma T^4``: it splits into walls alike
    (each sends G/2 outside) and walls opposite (each gives X). So a wall gives ``G/2 (E1 - E0) + Y (E1 - E2)``,
    E = sigma T^4, E0 that of the surroundings. Derived.
    """
    area_m2 = height_m * depth_m
    facing = rectangle_view_factor(height_m, depth_m, gap_m)
    opposite_m2 = 1.0 / ((1.0 - emissivity) / (emissivity * area_m2) + 1.0 / (area_m2 * (1.0 + facing)))
    return 0.5 * (opposite_m2 - 0.5 * gap_radiating_m2(height_m, depth_m, gap_m, emissivity))


@dataclass(frozen=True, slots=True, eq=False)
class Gaps:
    """The gaps between the plates of a box: of each the black area of exchange and envelope over width, m2 and m."""

    black_m2: FloatArray
    across_m: FloatArray

    @classmethod
    def between(cls, plates: Sequence[HeatedSection]) -> Self:
        """The gaps between plates in stacking order, each plate named by its section."""
        pairs = list(pairwise(plates))
        return cls(np.array([_black_m2(*pair) for pair in pairs]), np.array([_across_m(*pair) for pair in pairs]))

    def flow_w(self, t_c: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Heat from each plate to the next, W (gaps, cases), and its slopes by either temperature, W/K.

        Radiation by ``exchange_m2`` at the higher emissivity of the two, and conduction through the air of the gap over
        the whole envelope, ``k A (T1 - T2)/b``. Both are on the high side for the cooler plate: slots, and the air that
        rises through the gap, take some of it away.
        """
        kelvin = t_c + ZERO_C_K
        radiated = STEFAN_BOLTZMANN_W_M2K4 * self.black_m2[:, None]
        air = air_at(np.minimum(0.5 * (kelvin[:-1] + kelvin[1:]), _HOTTEST_AIR_K))
        conducted = np.asarray(air.conductivity_w_mk) * self.across_m[:, None]
        flow = radiated * (kelvin[:-1] ** 4 - kelvin[1:] ** 4) + conducted * (kelvin[:-1] - kelvin[1:])
        slopes = 4.0 * kelvin**3
        return flow, radiated * slopes[:-1] + conducted, radiated * slopes[1:] + conducted


def _black_m2(left: HeatedSection, right: HeatedSection) -> float:
    emissivity = max(left.body.metal.emissivity.value, right.body.metal.emissivity.value)
    return exchange_m2(*min(_sides(left), _sides(right)), left.stack.clear_gap_m, emissivity)


def _across_m(left: HeatedSection, right: HeatedSection) -> float:
    height_m, depth_m = min(_sides(left), _sides(right))
    return height_m * depth_m / left.stack.clear_gap_m


def _sides(section: HeatedSection) -> tuple[float, float]:
    return section.body.height_m, section.body.depth_m


def alone_c(
    sections: Sequence[HeatedSection], mean_w: FloatArray, cases: Sequence[tuple[End, float]]
) -> tuple[FloatArray, LumpTables, NDArray[np.intp]]:
    """Steady temperature of a plate of each section under ``mean_w`` (sections, cases) of heat, degC: ``loss(T) = P``;
    the top of the table where there is none up to it. With it the tables and the numbers (sections, cases) of the
    lumps in them. ``cases`` are (end of the weak figures, ambient)."""
    shelf = LumpShelf()
    numbers = np.array([[shelf.number(section, *case) for case in cases] for section in sections], dtype=np.intp)
    tables = shelf.tables()
    low = np.broadcast_to([ambient_c for _, ambient_c in cases], mean_w.shape).astype(np.float64)
    high = np.array([[top_c(section)] * len(cases) for section in sections])
    for _ in range(50):
        middle = 0.5 * (low + high)
        hotter = mean_w > tables.read(numbers, middle)[2]
        low, high = np.where(hotter, middle, low), np.where(hotter, high, middle)
    return high, tables, numbers


def beside_c(
    plates: Sequence[int], sections: Sequence[HeatedSection], mean_w: FloatArray, cases: Sequence[tuple[End, float]]
) -> FloatArray:
    """Steady temperatures of the plates of one box with their neighbours, degC, (plates, cases).

    ``plates`` are numbers of ``sections`` in stacking order, ``mean_w`` (sections, cases) the mean heat of one plate
    of each, which grows with its ohms as it gets hotter. The end plates are taken to face plates like themselves, the
    high side. Newton's rule on all plates at once.
    """
    own_c, tables, numbers = alone_c(sections, mean_w, cases)
    order = list(plates)
    lump, t_c = numbers[order], own_c[order].copy()
    heats = _Heats(tables, lump, mean_w[order] / tables.read(lump, t_c)[0])
    gaps = Gaps.between([sections[number] for number in order])
    for _ in range(_MOST_ROUNDS):
        step = _newton(heats, gaps, t_c)
        t_c = t_c + np.clip(step, -_LONGEST_STEP_K, _LONGEST_STEP_K)
        if np.abs(step).max(initial=0.0) < _SAME_K:
            break
    return t_c


@dataclass(frozen=True, slots=True, eq=False)
class _Heats:
    """What every plate takes up at cold ohms, W, and where its ohms and its loss are read, all (plates, cases)."""

    tables: LumpTables
    lump: NDArray[np.intp]
    cold_w: FloatArray

    def left_over_w(self, t_c: FloatArray) -> FloatArray:
        """Heat taken up less heat lost to the outside, W."""
        ratio, _, loss_w = self.tables.read(self.lump, t_c)
        return self.cold_w * ratio - loss_w


def _newton(heats: _Heats, gaps: Gaps, t_c: FloatArray) -> FloatArray:
    """The step to the balance, (plates, cases), from a tridiagonal system for each case."""
    left_over = heats.left_over_w(t_c)
    own_slope = 2.0 * (heats.left_over_w(t_c + 0.5) - left_over)
    flow, given, taken = gaps.flow_w(t_c)
    left_over[:-1] -= flow
    left_over[1:] += flow
    count = t_c.shape[0]
    left, right = np.arange(count - 1), np.arange(1, count)
    matrix = np.zeros((t_c.shape[1], count, count))
    matrix[:, np.arange(count), np.arange(count)] = own_slope.T
    matrix[:, left, left] -= given.T
    matrix[:, right, left] += given.T
    matrix[:, right, right] -= taken.T
    matrix[:, left, right] += taken.T
    return np.asarray(np.linalg.solve(matrix, -left_over.T[..., None])[..., 0].T)
