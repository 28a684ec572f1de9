"""Temperatures to be drawn: one start from ambient, one in the settled day, and start by start until it has settled.

The case is the worst there is: highest line voltage, hottest ambient, and the end of the weak figures that made the
section with the least margin hottest.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import AS_GIVEN, ENDS, OVERSHOOT_K
from griddesign.heat.records import HeatRow
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.runup import StartCase, Starter
from griddesign.traction.runup.records import RunUp

SAMPLES = 8
MOST_STARTS = 240
SETTLED_K, STEADY_K = 0.5, 0.002
LONGEST_REST_S = 6.0 * 3600.0
REST_STEP_S = 60.0


@dataclass(frozen=True, slots=True, eq=False)
class StartCourse:
    """Temperatures over one start: seconds from power on, and degC, a row for each moment, a column for each section;
    ``peak_c`` the hottest of each section."""

    time_s: FloatArray
    section_c: FloatArray
    peak_c: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class DayTrace:
    """What the heat sheet draws. ``begin_c`` and ``peak_c`` hold a row for each start of the day, a column for each
    section; both are empty, and ``settled`` None, where the job names no duty, one of several parts, or one that runs
    away.

    ``rest_after_hold_s``: how long the grid has to cool after a section was held up to its limit until every section is
    back where a settled start begins; None where it does not get there in six hours, or there is no duty.
    """

    case: StartCase
    sections: tuple[str, ...]
    limit_c: tuple[float, ...]
    every_s: float | None
    first: StartCourse
    settled: StartCourse | None
    begin_c: FloatArray
    peak_c: FloatArray
    rest_after_hold_s: float | None

    @property
    def starts(self) -> int:
        """Starts until every section's peak is within 0.5 K of the settled one (or as many as were followed)."""
        return len(self.peak_c)


@dataclass(frozen=True, slots=True, eq=False)
class _CycleMap:
    """From the temperature at which a section begins a start to its peak and to where the next start begins, degC.

    Sampled side by side in one run, each section read by straight lines between. Simplification: a section's heat hangs
    on the others' temperatures through the current, and there they are taken as they were where it was sampled. The
    second time that is along the day that came out the first time: within 2 K of start after start run in earnest.
    """

    begin_c: FloatArray
    peak_c: FloatArray
    next_c: FloatArray

    def read(self, t_c: FloatArray, wanted_c: FloatArray) -> FloatArray:
        """``wanted_c``, one of the other two, at temperatures (sections, or sections and starts); beyond the last
        sample the last slope goes on."""
        rows = zip(t_c, self.begin_c, wanted_c, strict=True)
        return np.array([np.interp(at, x, y) + _slope(x, y) * np.maximum(at - x[-1], 0.0) for at, x, y in rows])


def _slope(x: FloatArray, y: FloatArray) -> float:
    return float(min(max((y[-1] - y[-2]) / max(x[-1] - x[-2], 1e-6), 0.0), 1.0))


def day_trace(ready: Starter, rows: Sequence[HeatRow]) -> DayTrace | None:
    """The temperatures of a job's worst case; None without plates.

    ``rows`` are the heat of its one start or of its settled day, already judged: they name the end of the weak figures
    and the settled peaks, so that nothing is sought again here.
    """
    if not ready.heated or not rows:
        return None
    case, every_s = _worst_case(rows), ready.job.duty.start_every_s
    if every_s is None or ready.job.duty.parts or any(row.runs_away for row in rows):
        return _record(ready, case, ready.run([case], trace=True), None)
    in_step_c = np.linspace(case.ambient_c, _settled_c(ready, case, rows), SAMPLES, axis=1)
    (begin_c, _), _ = _followed(ready, case, in_step_c)
    day, found = _followed(ready, case, begin_c[_spread(len(begin_c))].T, trace=True)
    return _record(ready, case, found, day)


def _followed(
    ready: Starter, case: StartCase, begin_c: FloatArray, *, trace: bool = False
) -> tuple[tuple[FloatArray, FloatArray], RunUp]:
    """The day that comes of starts from these temperatures (sections, samples), and those starts as run."""
    cases = [case] * begin_c.shape[1]
    tables = PlateTables.of(ready.heated, [(case.end, case.ambient_c)] * len(cases))
    begin_c = np.minimum(begin_c, tables.top_c + OVERSHOOT_K)
    found = ready.run(cases, begin_c, plates=tables, trace=trace)
    every_s = ready.job.duty.start_every_s
    assert every_s is not None
    next_c = tables.cooled_c(found.end_c, np.maximum(every_s - found.seconds, 0.0))
    return _day(_CycleMap(begin_c, found.hottest_c, next_c)), found


def _spread(starts: int) -> NDArray[np.intp]:
    """Numbers of starts to sample a day at: the first, the last, and more of the early ones, where it warms fastest."""
    wanted = np.geomspace(1, max(starts - 1, 1), SAMPLES - 1).round().tolist()
    return np.array(sorted({0.0, *wanted})).astype(np.intp) % starts


def _record(ready: Starter, case: StartCase, found: RunUp, day: tuple[FloatArray, FloatArray] | None) -> DayTrace:
    """The first case of ``found`` is the start from ambient; the last, where there is a day, the settled one."""
    nothing = np.empty((0, len(ready.heated)))
    begin_c, peak_c = day or (nothing, nothing)
    return DayTrace(
        case=case,
        sections=tuple(section.name for section in ready.heated),
        limit_c=tuple(section.limit_c for section in ready.heated),
        every_s=ready.job.duty.start_every_s,
        first=_course(found, 0),
        settled=_course(found, -1) if day else None,
        begin_c=begin_c,
        peak_c=peak_c,
        rest_after_hold_s=_rest_s(ready, case, begin_c[-1]) if day else None,
    )


def _worst_case(rows: Sequence[HeatRow]) -> StartCase:
    """Highest voltage, hottest ambient, and the end of the weak figures of the row with the least margin there."""
    line_v, ambient_c = max(row.line_v for row in rows), max(row.ambient_c for row in rows)
    there = [row for row in rows if (row.line_v, row.ambient_c) == (line_v, ambient_c)]
    worst = min(there, key=lambda row: row.margin_k)
    return StartCase(line_v, ambient_c, next((end for end in ENDS if end.name == worst.worst_end), AS_GIVEN))


def _settled_c(ready: Starter, case: StartCase, rows: Sequence[HeatRow]) -> FloatArray:
    """The settled peak of each section for itself in this case, at least a kelvin above ambient."""
    here = [row for row in rows if (row.line_v, row.ambient_c) == (case.line_v, case.ambient_c)]
    peaks = {row.section: row.hot_c - row.neighbour_k for row in here}
    return np.array([max(peaks[section.name], case.ambient_c + 1.0) for section in ready.heated])


def _day(cycle: _CycleMap) -> tuple[FloatArray, FloatArray]:
    """Start after start from ambient until no peak is further than half a kelvin from where it ends up."""
    begins = [cycle.begin_c[:, 0]]
    for _ in range(MOST_STARTS - 1):
        begins.append(cycle.read(begins[-1], cycle.next_c))
        if np.all(np.abs(begins[-1] - begins[-2]) < STEADY_K):
            break
    begin_c = np.array(begins)
    peak_c = cycle.read(begin_c.T, cycle.peak_c).T
    count = int(np.argmax(np.all(np.abs(peak_c - peak_c[-1]) <= SETTLED_K, axis=1))) + 1
    return begin_c[:count], peak_c[:count]


def _course(found: RunUp, place: int) -> StartCourse:
    """One case of a run as temperatures over time."""
    time_s = np.array([point.time_s[place] for point in found.trace])
    section_c = np.array([point.section_c[:, place] for point in found.trace])
    return StartCourse(time_s, section_c, found.hottest_c[:, place])


def _rest_s(ready: Starter, case: StartCase, begin_c: FloatArray) -> float | None:
    """Seconds, up to whole minutes, from the limit down to where a settled start begins, the slowest section."""
    tables = PlateTables.of(ready.heated, [(case.end, case.ambient_c)])
    t_c = np.minimum(np.array([[section.limit_c] for section in ready.heated]), tables.top_c)
    for minute in range(round(LONGEST_REST_S / REST_STEP_S)):
        if np.all(t_c <= begin_c[:, None] + SETTLED_K):
            return minute * REST_STEP_S
        t_c = tables.cooled_c(t_c, np.array([REST_STEP_S]), steps=2)
    return None
