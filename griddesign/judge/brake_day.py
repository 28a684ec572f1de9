"""A day in which every start is followed by a stop: the grid takes the heat of both."""

from collections.abc import Sequence

import numpy as np

from griddesign.heat.air import FloatArray
from griddesign.heat.records import HeatRow
from griddesign.judge.brake_rows import BrakeCases, row_of
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.runup import Starter
from griddesign.traction.braking.records import BrakeRun
from griddesign.traction.runup.records import RunUp

SAME_K = 0.05
MOST_ROUNDS = 40
STEEPEST = 0.985  # our own, as in service_day: a step is at most 67 times the gain of one round
COOLING_STEPS = 6


def stops_case(every_s: float, day: Sequence[HeatRow]) -> str:
    """Name of the duty in the rows: that of the ``day`` of starts with a stop after each, so that a day tried at the
    ends of its figures keeps the name it has in the job as given."""
    name = day[0].case if day else ""
    if name.startswith("settled, a start every "):
        return name.replace("a start every", "a start and a stop every")
    return f"settled, a start and a stop every {every_s:g} s"


def settled_stops(
    ready: Starter, start: RunUp, day: Sequence[HeatRow], cases: BrakeCases, run: BrakeRun
) -> tuple[HeatRow, ...]:
    """The hottest moment of a settled day of starts and stops; none where the job names no duty or no plates.

    The heat of a start (the most at any line voltage, from a cold grid) and of a stop (from the hottest grid run) is
    taken to come at once, and the grid then cools until the next start: the safe side of where in the cycle it comes,
    and of the loss meanwhile. What hotter sections add is that of the ``day`` of starts.
    That ohms and so the heats shift a little as the day warms the grid is left out.
    """
    every_s = ready.job.duty.start_every_s
    if every_s is None:
        return ()
    ends, ambients = len(cases.ends), cases.ambients
    columns = ends * len(ambients)
    joules = _start_j(ready, start, ambients, ends) + _stop_j(cases, run, columns)
    tables = cases.tables(columns)
    if tables is None:
        return ()
    peak_c = _settled(tables, joules, every_s, cases.begin_c[:, :columns]) + _beside_k(ready, cases, day)
    return tuple(
        row_of(
            ready, place, (stops_case(every_s, day), ambient_c), cases.ends, peak_c[place, block], peak_c[place, block]
        )
        for number, ambient_c in enumerate(ambients)
        for block in (slice(number * ends, (number + 1) * ends),)
        for place in range(len(ready.heated))
    )


def _beside_k(ready: Starter, cases: BrakeCases, day: Sequence[HeatRow]) -> FloatArray:
    """What hotter sections add to each (sections, columns), K: the most on the day of starts, by ambient."""
    most = {(section, ambient_c): 0.0 for section in ready.cold_ohm for ambient_c in cases.ambients}
    for row in day:
        key = row.section, row.ambient_c
        most[key] = max(most.get(key, 0.0), row.neighbour_k)
    by_ambient = [[most[section, ambient_c] for ambient_c in cases.ambients] for section in ready.cold_ohm]
    return np.repeat(np.array(by_ambient), len(cases.ends), axis=1)


def _start_j(ready: Starter, start: RunUp, ambients: tuple[float, ...], ends: int) -> FloatArray:
    """Joules of a start (sections, columns): the most at any voltage, by ambient."""
    of = [[place for place, case in enumerate(ready.cases) if case.ambient_c == ambient_c] for ambient_c in ambients]
    return np.repeat(np.array([start.section_j[:, places].max(axis=1) for places in of]).T, ends, axis=1)


def _stop_j(cases: BrakeCases, run: BrakeRun, columns: int) -> FloatArray:
    """Joules of a stop (sections, columns): the most from any beginning."""
    with_loss = run.section_j[:, : cases.with_loss]
    joules: FloatArray = with_loss.reshape(len(with_loss), -1, columns).max(axis=1)
    return joules


def _settled(tables: PlateTables, joules: FloatArray, every_s: float, begin_c: FloatArray) -> FloatArray:
    """Hottest moment of the settled cycle, degC, by a secant for every section; inf where none lies in the table."""
    t_c, slope, seconds = begin_c, np.zeros_like(begin_c), np.full(begin_c.shape[1], every_s)
    before_c = before_gain = t_c
    for number in range(MOST_ROUNDS):
        peak_c = _heated_c(tables, t_c, joules)
        gain = tables.cooled_c(peak_c, seconds, COOLING_STEPS) - t_c
        topped = t_c >= tables.top_c
        if np.all((np.abs(gain) < SAME_K * (1.0 - slope)) | topped):
            break
        if number:
            moved = np.where(np.abs(t_c - before_c) < 1e-6, np.inf, t_c - before_c)
            slope = np.clip(1.0 + (gain - before_gain) / moved, 0.0, STEEPEST)
        before_c, before_gain = t_c, gain
        t_c = np.minimum(t_c + gain / (1.0 - slope), tables.top_c)
    return np.where(topped & (gain > 0.0), np.inf, peak_c)


def _heated_c(tables: PlateTables, t_c: FloatArray, joules: FloatArray) -> FloatArray:
    """Temperatures after heat that comes at once, degC: heat capacity at half the rise."""
    half_k = 0.5 * joules / tables(t_c)[2]
    rise_k: FloatArray = joules / tables(t_c + half_k)[2]
    return t_c + rise_k
