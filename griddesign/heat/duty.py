"""Starts: the heat of one, and what a start every so many seconds settles to.

The caller gives, for each section, the joules of one start and how long the section carries current; the heat is
spread evenly over that time. Joules at cold ohms (the current squared over time, times the ohms at 20 degC) grow with
the ohms, and a high temperature coefficient is then the worse end. That is the safe side: a driver who notches up by
current gets little more heat in all from hot ohms, only at other moments. Joules of a start that was run with hot ohms
stand as given.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from griddesign.heat.air import FloatArray
from griddesign.heat.cycle import SETTLED_K, Bench, StartHeat, bench_of, runs_away, settled_c
from griddesign.heat.lumps import ENDS, OVERSHOOT_K, End, at_end
from griddesign.heat.records import HeatedSection, HeatRow, PlateBody

ONE_START = "one start"


def settled_case(every_s: float) -> str:
    """Name of the duty in the rows, e.g. "settled, a start every 120 s"."""
    return f"settled, a start every {every_s:g} s"


def after_one_start_c(
    body: PlateBody, start_c: float, joules: float, *, grows: bool = True, highest_c: float | None = None
) -> float:
    """Temperature of one plate after ``joules`` without any loss, degC; inf 40 K beyond ``highest_c``, which is the top
    of the metal's table unless given.

    Root of ``integral of C(T)/r(T) dT from start = joules``, joules at the plate's cold ohms; with ``grows`` False
    r = 1, joules as they stand.
    """
    highest_c = body.metal.top_c if highest_c is None else highest_c
    edges_c = np.arange(start_c, highest_c + OVERSHOOT_K, 1.0)
    if edges_c.size < 2:
        return math.inf
    growth = body.metal.ratio(edges_c) if grows else np.ones_like(edges_c)
    per_k = body.mass_kg * body.metal.specific_heat(edges_c) / growth
    swallowed_j = np.concatenate([[0.0], np.cumsum(0.5 * (per_k[1:] + per_k[:-1]))])
    return math.inf if joules > swallowed_j[-1] else float(np.interp(joules, swallowed_j, edges_c))


def start_rows(
    sections: Sequence[HeatedSection],
    starts: Sequence[StartHeat],
    line_v: float,
    ambients: Sequence[float],
    *,
    ends: Sequence[End] = ENDS,
) -> tuple[HeatRow, ...]:
    """One start from ambient: best estimate and adiabatic bound of every section, at its worst end of the weak figures.

    ``line_v`` is the line voltage the joules belong to, ``ambients`` degC. Raises InputError on a section without
    joules, or with joules in no time.
    """
    return start_cases(sections, starts, line_v, ambients, ends=ends).worst()


def start_cases(
    sections: Sequence[HeatedSection],
    starts: Sequence[StartHeat],
    line_v: float,
    ambients: Sequence[float],
    *,
    ends: Sequence[End] = ENDS,
) -> "DutyCases":
    """``start_rows`` with every end still to be had."""
    bench = bench_of(sections, starts, ambients, ends)
    peak_c = bench.after(bench.ambient_c, bench.on_s, bench.power_w)
    cycle = _Cycle(peak_c, bench.ambient_c, np.zeros(peak_c.size, dtype=np.bool_))
    return DutyCases(bench, ONE_START, line_v, cycle)


def settled_rows(
    sections: Sequence[HeatedSection],
    starts: Sequence[StartHeat],
    line_v: float,
    ambients: Sequence[float],
    *,
    every_s: float,
    ends: Sequence[End] = ENDS,
) -> tuple[HeatRow, ...]:
    """A start every ``every_s`` seconds for ever: the hottest moment of the settled cycle, from the marched equation.

    ``hot_c`` is inf where no cycle settles with its coldest moment inside the metal's table. A settled duty without
    loss does not exist; ``bound_c`` is one start without loss from the coldest moment of the settled cycle.
    ``runs_away``: the mean heat is above the full loss at every temperature up to the top of the table. Raises
    InputError where a start takes longer than ``every_s``, and as ``start_rows``.
    """
    return settled_cases(sections, starts, line_v, ambients, every_s=every_s, ends=ends).worst()


def settled_cases(
    sections: Sequence[HeatedSection],
    starts: Sequence[StartHeat],
    line_v: float,
    ambients: Sequence[float],
    *,
    every_s: float,
    ends: Sequence[End] = ENDS,
) -> "DutyCases":
    """``settled_rows`` with every end still to be had."""
    bench = bench_of(sections, starts, ambients, ends)
    peak_c, valley_c = settled_c(bench, every_s)
    cycle = _Cycle(peak_c, valley_c, runs_away(bench, every_s))
    return DutyCases(bench, settled_case(every_s), line_v, cycle)


def settled_peaks_c(
    sections: Sequence[HeatedSection],
    starts: Sequence[StartHeat],
    ambient_c: float,
    *,
    every_s: float,
    end: End,
    settled_k: float = SETTLED_K,
) -> FloatArray:
    """Hottest moment of the settled cycle of each section, degC: ``hot_c`` of ``settled_rows``, and nothing else.

    ``settled_k``: a search for the cycle ends with the step that moves no section by more. Raises as ``settled_rows``.
    """
    return settled_c(bench_of(sections, starts, [ambient_c], [end]), every_s, settled_k)[0]


def settled_temperatures(rows: Iterable[HeatRow]) -> Mapping[str, float]:
    """Hottest settled temperature of each section in ``rows``, degC: what holds from a settled duty start from."""
    hottest: dict[str, float] = {}
    for row in rows:
        hottest[row.section] = max(hottest.get(row.section, -math.inf), row.hot_c)
    return hottest


@dataclass(frozen=True, slots=True, eq=False)
class _Cycle:
    """What came of every case: hottest moment, the moment before the start, whether it runs away."""

    peak_c: FloatArray
    start_c: FloatArray
    runs_away: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class DutyCases:
    """One duty marched for every ambient, section and end of the weak figures, to take rows from."""

    bench: Bench
    case: str
    line_v: float
    cycle: _Cycle

    def worst(self) -> tuple[HeatRow, ...]:
        """One row per ambient and section, at the end with the hottest peak."""
        return self._rows(self.cycle.peak_c.reshape(-1, len(self.bench.ends)).argmax(axis=1))

    def at(self, end: End) -> tuple[HeatRow, ...]:
        """One row per ambient and section, at this one of the ends that were marched."""
        return self._rows(np.full(self.cycle.peak_c.size // len(self.bench.ends), self.bench.ends.index(end)))

    def _rows(self, end: NDArray[np.intp]) -> tuple[HeatRow, ...]:
        numbers = np.arange(end.size) * len(self.bench.ends) + end
        return tuple(_row(self.bench, number, self.case, self.line_v, self.cycle) for number in numbers.tolist())


def _row(bench: Bench, number: int, case: str, line_v: float, cycle: _Cycle) -> HeatRow:
    section, end = bench.sections[bench.place[number]], bench.ends[number % len(bench.ends)]
    peak_c = float(cycle.peak_c[number])
    without_loss_c = _without_loss_c(bench, number, at_end(section.body, end), float(cycle.start_c[number]))
    return HeatRow(
        case=case,
        notch="",
        section=section.name,
        line_v=line_v,
        ambient_c=float(bench.ambient_c[number]),
        hot_c=peak_c,
        bound_c=max(peak_c, without_loss_c),
        limit_c=section.limit_c,
        margin_k=section.limit_c - peak_c,
        hold_s=None,
        hold_bound_s=None,
        runs_away=bool(cycle.runs_away[number]),
        worst_end=end.name,
    )


def _without_loss_c(bench: Bench, number: int, body: PlateBody, start_c: float) -> float:
    joules = float(bench.power_w[number] * bench.on_s[number])
    if math.isinf(start_c):
        return math.inf
    return after_one_start_c(
        body, start_c, joules, grows=bool(bench.growing[number]), highest_c=float(bench.top_c[number])
    )
