"""Everything ``griddesign start`` tells: the run, the heat of it, the holds, and what holds of all that."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from griddesign import __version__
from griddesign.heat.duty import ONE_START
from griddesign.heat.lumps import AS_GIVEN
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job
from griddesign.judge.findings import judge_heat, judge_starter
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.heat_cases import holds, hottest
from griddesign.judge.records import Finding, Verdict
from griddesign.judge.runup import CLOSED, StartCase, Starter, closed_run, starter
from griddesign.judge.service_day import service_day_rows, start_rows
from griddesign.traction.mechanics import adhesion_n
from griddesign.traction.runup.records import RunUp

_EPS = 1e-9


@dataclass(frozen=True)
class StartResult:
    """One start told in full (``told``, the first of ``cases``), and all cases side by side (``run``).

    ``heat``: one start and the settled day as run, worst end of the weak figures, then the holds. ``day``: the settled
    row of least margin of each section, or that of one start where the job names no duty.
    """

    job: Job
    version: str
    fingerprint: str
    valley_a: float
    cases: tuple[StartCase, ...]
    told: RunUp
    run: RunUp
    heat: tuple[HeatRow, ...]
    day: Mapping[str, HeatRow]
    hold_s: Mapping[str, float | None]
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]
    not_checked: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether every finding holds."""
        return all(finding.verdict is Verdict.HOLDS for finding in self.findings)


def start_of(job: Job) -> StartResult:
    """The start of a job. Raises InputError, NoStartError and CurveError where it cannot be run."""
    ready = starter(job)
    told, run = closed_run(ready), ready.run(ready.cases)
    one, day = start_rows(ready), service_day_rows(ready)
    given = service_day_rows(ready, (AS_GIVEN,)) or start_rows(ready, (AS_GIVEN,))
    held = holds(job, ready.heated, day) if ready.heated else ()
    return StartResult(
        job=job,
        version=__version__,
        fingerprint=fingerprint([job.path]),
        valley_a=ready.valley_a,
        cases=ready.cases,
        told=told,
        run=run,
        heat=(*one, *day, *held),
        day=hottest(day or one),
        hold_s=_shortest_holds(held),
        findings=tuple(_findings(ready, run, day or one, given)),
        remarks=tuple(_remarks(ready, told)),
        not_checked=tuple(_not_checked(ready)),
    )


def _shortest_holds(held: tuple[HeatRow, ...]) -> dict[str, float | None]:
    """Shortest hold of any notch a section is live in; None for ever."""
    shortest: dict[str, float | None] = {}
    for row in held:
        known = [hold_s for hold_s in (shortest.get(row.section), row.hold_s) if hold_s is not None]
        shortest[row.section] = min(known, default=None)
    return shortest


def _findings(ready: Starter, run: RunUp, worst: tuple[HeatRow, ...], given: tuple[HeatRow, ...]) -> Iterator[Finding]:
    yield _peaks(ready, run)
    if (found := _breaker(ready, run)) is not None:
        yield found
    if (found := _adhesion(ready, run)) is not None:
        yield found
    if worst and worst[0].case != ONE_START:
        yield from judge_heat(worst, given, None)
    elif worst:
        yield from _one_start(worst, given)
    yield from judge_starter(ready.job)


def _peaks(ready: Starter, run: RunUp) -> Finding:
    """The worst peak as run at nominal voltage; ohms within the notch tolerance may lift it by as much."""
    start = ready.job.start
    assert start is not None
    nominal = _nominal(ready)
    peaks = [(float(log.peak_a[nominal].max()), log.name) for log in run.notches]
    worst_a, name = max(peaks)
    allowed_a = start.peak_a * (1.0 + ready.job.limits.notch_tolerance)
    verdict = Verdict.HOLDS if worst_a <= allowed_a * (1.0 + _EPS) else Verdict.FAILS
    why = f"{worst_a:.1f} A per motor on notch {name}; asked {start.peak_a:.4g} A, with the tolerance {allowed_a:.1f} A"
    return Finding("peak current of the start as run", verdict, why)


def _nominal(ready: Starter) -> list[int]:
    return [place for place, case in enumerate(ready.cases) if case.line_v == ready.cases[0].line_v]


def _breaker(ready: Starter, run: RunUp) -> Finding | None:
    line = ready.job.line
    if line is None or line.breaker_a is None:
        return None
    worst_a, name = max((float(log.line_peak_a.max()), log.name) for log in run.notches)
    verdict = Verdict.HOLDS if worst_a <= line.breaker_a else Verdict.FAILS
    why = f"{worst_a:.0f} A from line on notch {name}, the breaker opens at {line.breaker_a:.0f} A"
    return Finding("breaker during the start", verdict, why)


def _adhesion(ready: Starter, run: RunUp) -> Finding | None:
    assert ready.job.car is not None
    grip_n = adhesion_n(ready.job.car)
    if grip_n is None:
        return None
    worst_n, name = max((float(log.effort_n.max()), log.name) for log in run.notches)
    verdict = Verdict.HOLDS if worst_n <= grip_n else Verdict.FAILS
    return Finding("adhesion", verdict, f"pull of {worst_n:.0f} N on notch {name}, the rails take {grip_n:.0f} N")


def _one_start(worst: tuple[HeatRow, ...], given: tuple[HeatRow, ...]) -> Iterator[Finding]:
    """One start against the limit, section by section, where the job names no duty."""
    as_given = hottest(given)
    for name, row in hottest(worst).items():
        fails = Verdict.FAILS if as_given[name].margin_k < 0.0 else Verdict.NOT_SHOWN
        verdict = Verdict.HOLDS if row.margin_k >= 0.0 else fails
        why = f"{row.hot_c:.0f} °C from {row.ambient_c:.0f} °C, limit {row.limit_c:.0f} °C ({row.line_v:.0f} V)"
        settle = "" if verdict is Verdict.HOLDS else "Measure a plate at two temperatures."
        yield Finding(f"section {name}, {row.case}", verdict, why, settle)


def _remarks(ready: Starter, told: RunUp) -> Iterator[str]:
    error = abs(float(told.energy.balance_error[0]))
    if error > CLOSED:
        yield f"The energy of the start closes to {error:.1e} only."
    drawn = [log.name for log in told.notches if log.below_curve[0]]
    if drawn:
        yield f"≈ Notch {', '.join(drawn)} runs below the lowest point of the motor curve, which is only drawn there."
    if ready.worked.design is None:
        yield "The job has no plates: ohms as wanted, cold; nothing is known of the heat."
    yield "Quasi-static, motors at their stated ohms; a solid frame delays the flux: see the frozen-flux bound."
    yield from ready.worked.wanted.remarks


def _not_checked(ready: Starter) -> Iterator[str]:
    assert ready.job.car is not None
    if ready.job.car.adhesion is None:
        yield "adhesion"
    if ready.job.line is not None and ready.job.line.breaker_a is None:
        yield "breaker"
    if not ready.heated:
        yield "temperature of the plates"


def efficiency(run: RunUp) -> tuple[float, float]:
    """Starting efficiency by its two definitions in print: shaft over line; shaft and motors' copper over line."""
    energy = run.energy
    output = np.array([energy.shaft_j[0], energy.shaft_j[0] + energy.motors_j[0]]) / energy.line_j[0]
    return float(output[0]), float(output[1])
