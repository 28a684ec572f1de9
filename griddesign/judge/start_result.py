"""Everything ``griddesign start`` tells: the run, the heat of it, the holds, and what holds of all that."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from griddesign import __version__
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job
from griddesign.judge.beside import Beside, beside, measure_beside
from griddesign.judge.calibration import judge_calibration, loss_words
from griddesign.judge.contacts import chart_remarks, judge_chart
from griddesign.judge.crew import crew_card_remark
from griddesign.judge.cut_out import CutOut
from griddesign.judge.day_trace import DayTrace, day_trace
from griddesign.judge.finding import Settling
from griddesign.judge.findings import judge_heat, judge_starter, tabled_limit
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.heat_cases import RESTART, deciding, hottest
from griddesign.judge.limits import judge_limits, not_checked
from griddesign.judge.measuring import nameplate_remarks
from griddesign.judge.records import Finding, Result, Unknown, Verdict
from griddesign.judge.run_heat import RunHeat, run_heat
from griddesign.judge.runup import CLOSED, StartCase, Starter, closed_run, starter
from griddesign.judge.start_ends import start_at_ends
from griddesign.judge.start_findings import inductive_open, inductive_words, judge_run, judge_run_peaks, run_not_checked
from griddesign.judge.timber import TimberHeat, timber_of
from griddesign.judge.wasted import NotchWaste, wasted
from griddesign.telling import stage
from griddesign.traction.runup.records import RunUp

if TYPE_CHECKING:
    from griddesign.judge.braking import BrakingResult
    from griddesign.judge.scatter.records import Scatter


@dataclass(frozen=True)
class StartResult:
    """One start told in full (``told``, the first of ``cases``), and all cases side by side (``run``).

    ``heat``: one start and the settled day as run, worst end of the weak figures, then the holds. ``day``: the row of
    least margin of each section in the duty, or that of one start where the job names none. ``ran``: the duties whole.
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
    day_trace: DayTrace | None = None
    wasted: tuple[NotchWaste, ...] = ()
    ran: RunHeat | None = None
    timber: tuple[TimberHeat, ...] = ()
    measure_next: tuple[Unknown, ...] = ()
    hold_ends_s: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    ready: Starter | None = None
    scatter: "Scatter | None" = None
    braking: "BrakingResult | None" = None
    cut_out: CutOut | None = None
    not_worked_out: tuple[str, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether every finding holds."""
        return all(finding.verdict is Verdict.HOLDS for finding in self.findings)


@stage("the start as it is run, its heat and holds")
def start_of(job: Job) -> StartResult:
    """The start of a job. Raises InputError, NoStartError and CurveError where it cannot be run."""
    ready = starter(job)
    return start_from(ready, run_heat(ready))


def start_from(
    ready: Starter, ran: RunHeat | None, ends: Settling | None = None, aside: Beside | None = None
) -> StartResult:
    """The same from a job made ready, and from its heat, its ends and what is beside it where they were run already.
    Raises as ``start_of``."""
    job, told, run = ready.job, closed_run(ready), ready.told
    held = ran.held if ran else ()
    deciders = deciding(ran.duty_rows) if ran else ()
    ends = ends or start_at_ends(ready, _judged, ran)
    aside = aside or beside(ready, run, ran)
    return StartResult(
        job=job,
        version=__version__,
        fingerprint=fingerprint(job.files),
        valley_a=ready.valley_a,
        cases=ready.cases,
        told=told,
        run=run,
        heat=ran.rows if ran else (),
        day=hottest(deciders),
        hold_s=_shortest_holds(held),
        findings=ends.settled((*_findings(ready, run, ran), *aside.findings)),
        remarks=tuple(_remarks(ready, told, ran)),
        not_checked=(
            *run_not_checked(job),
            *not_checked(job, bool(ready.heated)),
            *aside.not_worked_out,
        ),
        day_trace=day_trace(ready, [row for row in deciders if not row.case.startswith(RESTART)]),
        wasted=wasted(job, ready.whole_ohm, ready.valley_a),
        ran=ran,
        timber=timber_of(ran),
        measure_next=measure_beside(ready, run, ran, aside.braking, ends.measure_next),
        hold_ends_s=ends.hold_s,
        ready=ready,
        braking=aside.braking,
        cut_out=aside.cut_out,
        not_worked_out=aside.not_worked_out,
    )


def started(result: Result) -> StartResult | None:
    """The start of a design told in full, from the heat it was judged by; None where none was run."""
    if result.ran is None:
        return None
    return replace(start_from(result.ran.ready, result.ran, result.ends, result.beside), fingerprint=result.fingerprint)


def _shortest_holds(held: tuple[HeatRow, ...]) -> dict[str, float | None]:
    """Shortest hold of any notch a section is live in; None for ever."""
    shortest: dict[str, float | None] = {}
    for row in held:
        known = [hold_s for hold_s in (shortest.get(row.section), row.hold_s) if hold_s is not None]
        shortest[row.section] = min(known, default=None)
    return shortest


def _findings(ready: Starter, run: RunUp, ran: RunHeat | None) -> Iterator[Finding]:
    yield judge_run_peaks(ready, run)
    yield from judge_run(ready, run)
    if ran is not None:
        yield from judge_heat(ran.duty_rows, ran.given_rows, tabled_limit(ready.job), ready.job.paper.units)
    yield from judge_limits(ready.job, ran)
    yield from judge_calibration(ready.job)
    yield from judge_chart(ready.job)
    yield from judge_starter(ready.job)


def _judged(ready: Starter, run: RunUp, ran: RunHeat | None) -> Iterator[Finding]:
    """All that is tried at both ends: the start itself and what stands beside it."""
    yield from _findings(ready, run, ran)
    yield from beside(ready, run, ran).findings


def _remarks(ready: Starter, told: RunUp, ran: RunHeat | None) -> Iterator[str]:
    error = abs(float(told.energy.balance_error[0]))
    if error > CLOSED:
        yield f"The energy of the start closes to {error:.1e} only."
    drawn = [log.name for log in told.notches if log.below_curve[0]]
    if drawn:
        yield f"≈ Notch {', '.join(drawn)} runs below the lowest point of the motor curve, which is only drawn there."
    braked = [log.name for log in told.notches if log.effort_n[0] < 0.0]
    if braked:
        named = f"Notch {braked[0]} brakes" if len(braked) == 1 else f"Notches {', '.join(braked)} brake"
        yield f"{named} the car on arriving: an armature's current is turned round by its emf."
    if ready.worked.design is None:
        sought = bool(ready.worked.wanted.notches)
        whose = "The job has no plates: ohms as wanted" if sought else "The job counts no plates: ohms as given"
        yield f"{whose}, cold; nothing is known of the heat."
    yield from filter(None, (*map(inductive_words, told.rows), inductive_open(ready.job, told)))
    yield "Quasi-static, motors at their stated ohms; a solid frame delays the flux: see the frozen-flux bound."
    yield from loss_words(ready.job) if ready.heated else ()
    yield from crew_card_remark(ready.job, ran.rows if ran else ())
    yield from ran.remarks if ran else ()
    yield from nameplate_remarks(ready.job)
    yield from chart_remarks(ready.job)
    yield from ready.worked.wanted.remarks


def efficiency(run: RunUp) -> tuple[float, float]:
    """Starting efficiency by its two definitions in print: shaft over line; shaft and motors' copper over line."""
    energy = run.energy
    output = np.array([energy.shaft_j[0], energy.shaft_j[0] + energy.motors_j[0]]) / energy.line_j[0]
    return float(output[0]), float(output[1])
