"""The heat of starts as they are run: one start, and a day of them until the peaks have settled."""

from collections.abc import Sequence

import numpy as np

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.duty import ONE_START, settled_case
from griddesign.heat.lumps import ENDS, OVERSHOOT_K, End
from griddesign.heat.records import HeatedSection, HeatRow
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.runup import StartCase, Starter

SETTLED_K = 0.01
MOST_STARTS = 200
STEEPEST = 0.985


def start_rows(ready: Starter, ends: Sequence[End] = ENDS) -> tuple[HeatRow, ...]:
    """Heat of one start in every case, worst end of the weak figures, the adiabatic bound beside it."""
    if not ready.heated:
        return ()
    cases = _at_ends(ready.cases, ends)
    begin_c = np.array([[case.ambient_c for case in cases]] * len(ready.heated))
    return _rows(ready, cases, begin_c, ONE_START)


def service_day_rows(ready: Starter, ends: Sequence[End] = ENDS) -> tuple[HeatRow, ...]:
    """The same for a start every so many seconds, when the peaks have settled; none where the job names no duty.

    Between the end of one start and the next the grid cools in still air; every start is the run in earnest, from the
    temperatures the one before has left.
    """
    every_s = ready.job.duty.start_every_s
    if not ready.heated or every_s is None:
        return ()
    cases = _at_ends(ready.cases, ends)
    return _rows(ready, cases, settled_begin_c(ready, cases, every_s), settled_case(every_s))


def settled_begin_c(ready: Starter, cases: Sequence[StartCase], every_s: float) -> FloatArray:
    """Temperatures (sections, cases) at which a start begins and ends up again a cycle later, degC.

    Each section's cycle is a falling-off map of its own, but for the little the currents change; a secant for each,
    held short of the steepest, gets to within 0.01 K in a handful of starts. Stops 40 K above the top of a metal's
    table, or after 200 starts: then the answer is inf in that section.
    """
    tables = PlateTables.of(ready.heated, [(case.end, case.ambient_c) for case in cases])
    t_c = np.array([[case.ambient_c for case in cases]] * len(ready.heated))
    slope = np.zeros_like(t_c)
    before_c, before_gain = t_c, np.zeros_like(t_c)
    for number in range(MOST_STARTS):
        found = ready.run(cases, t_c, plates=tables)
        gain = tables.cooled_c(found.end_c, _rest_s(every_s, found.seconds)) - t_c
        topped = t_c >= tables.top_c + OVERSHOOT_K
        if np.all((np.abs(gain) < SETTLED_K * (1.0 - slope)) | topped):
            return np.where(topped, np.inf, t_c)
        moved = t_c - before_c
        if number:
            change = (gain - before_gain) / np.where(moved == 0.0, 1.0, moved)
            slope = np.where(np.abs(moved) < 1e-6, slope, np.clip(1.0 + change, 0.0, STEEPEST))
        before_c, before_gain = t_c, gain
        t_c = np.minimum(t_c + gain / (1.0 - slope), tables.top_c + OVERSHOOT_K)
    return np.where(np.abs(gain) < 1.0, t_c, np.inf)


def _rest_s(every_s: float, run_s: FloatArray) -> FloatArray:
    rest_s: FloatArray = every_s - run_s
    if np.any(rest_s < 0.0):
        raise InputError(
            f"a start takes {float(run_s.max()):.3g} s, and [duty] asks for one every {every_s:g} s",
            hint="Give a longer start_every.",
        )
    return rest_s


def _at_ends(cases: Sequence[StartCase], ends: Sequence[End]) -> tuple[StartCase, ...]:
    return tuple(StartCase(case.line_v, case.ambient_c, end) for case in cases for end in ends)


def _rows(ready: Starter, cases: Sequence[StartCase], begin_c: FloatArray, name: str) -> tuple[HeatRow, ...]:
    """A row for every voltage, ambient and section, at the end with the hottest peak."""
    lost = ~np.isfinite(begin_c)
    ends = len(cases) // len(ready.cases)
    tops = PlateTables.of(ready.heated, [(case.end, case.ambient_c) for case in cases]).top_c + OVERSHOOT_K
    real_c = np.where(lost, tops, begin_c)
    without = [StartCase(case.line_v, case.ambient_c, case.end.adiabatic()) for case in cases]
    hot_c = np.where(lost, np.inf, ready.run(cases, real_c).hottest_c)
    bound_c = np.maximum(hot_c, np.where(lost, np.inf, ready.run(without, real_c).hottest_c))
    rows = []
    for first in range(0, len(cases), ends):
        for place, section in enumerate(ready.heated):
            worst = first + int(np.argmax(hot_c[place, first : first + ends]))
            rows.append(_row(section, cases[worst], name, float(hot_c[place, worst]), float(bound_c[place, worst])))
    return tuple(rows)


def _row(section: HeatedSection, case: StartCase, name: str, hot_c: float, bound_c: float) -> HeatRow:
    return HeatRow(
        case=name,
        notch="",
        section=section.name,
        line_v=case.line_v,
        ambient_c=case.ambient_c,
        hot_c=hot_c,
        bound_c=bound_c,
        limit_c=section.limit_c,
        margin_k=section.limit_c - hot_c,
        hold_s=None,
        hold_bound_s=None,
        runs_away=not np.isfinite(hot_c),
        worst_end=case.end.name,
    )
