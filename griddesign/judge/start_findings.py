"""What is judged of a start as it is run: peaks, breaker, adhesion."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from griddesign.job.records import Job
from griddesign.judge.records import Finding, Verdict
from griddesign.judge.runup import Starter
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import adhesion_n
from griddesign.traction.runup.records import NotchLog, RunUp

_EPS = 1e-9


def judge_run(ready: Starter, run: RunUp) -> Iterator[Finding]:
    """Breaker and adhesion in all cases of the run; nothing where neither has a limit."""
    if (found := _breaker(ready, run)) is not None:
        yield found
    if (found := _adhesion(ready, run)) is not None:
        yield found


def judge_run_peaks(ready: Starter, run: RunUp) -> Finding:
    """The worst peak as run at nominal voltage, or with the inductance of the windings where that is known and makes
    it higher; ohms within the notch tolerance may lift it by as much."""
    start = ready.job.start
    assert start is not None
    nominal = [place for place, case in enumerate(ready.cases) if case.line_v == ready.cases[0].line_v]
    worst_a, name = max((float(highest_a(log)[nominal].max()), log.where) for log in run.rows)
    allowed_a = start.peak_a * (1.0 + ready.job.limits.notch_tolerance)
    verdict = Verdict.HOLDS if worst_a <= allowed_a * (1.0 + _EPS) else Verdict.FAILS
    why = f"{worst_a:.1f} A per motor on {name}; asked {start.peak_a:.4g} A, with the tolerance {allowed_a:.1f} A"
    return Finding("peak current of the start as run", verdict, why + _at_other_volts(ready, run, nominal))


def highest_a(log: NotchLog) -> FloatArray:
    """The peak of every case, A: in a network a quick motor may pass its quasi-static one."""
    return log.peak_a if log.inductive_a is None else np.maximum(log.peak_a, log.inductive_a)


def inductive_words(log: NotchLog) -> str:
    """What the inductance does to the first case where it makes a peak higher; "" else."""
    if log.inductive_a is None or log.inductive_a[0] <= log.peak_a[0]:
        return ""
    return (
        f"On {log.where} the inductance of the windings lifts the peak from {log.peak_a[0]:.1f} A to "
        f"{log.inductive_a[0]:.1f} A: a motor of a network that is quicker than others passes its quasi-static peak."
    )


def inductive_open(job: Job, run: RunUp) -> str:
    """On which notches nothing is known of what the given inductance does to the peak; "" where on none."""
    names = [log.name for log in run.notches if log.field_a is not None]
    if not names or job.motor is None or job.motor.inductance_h is None:
        return ""
    return (
        f"On notch{'es' * (len(names) > 1)} {', '.join(names)} what the inductance of the windings does to the peak is "
        "not worked out: how it lies in armature and field is not known, and a field there has a current of its own."
    )


def _at_other_volts(ready: Starter, run: RunUp, nominal: list[int]) -> str:
    """The worst peak at any other voltage, in words: told beside the judged one, since the ladder goes by nominal."""
    others = [place for place in range(len(ready.cases)) if place not in nominal]
    if not others:
        return ""
    peak_a, place, name = max((float(highest_a(log)[place]), place, log.where) for log in run.rows for place in others)
    return f"; told beside it: {peak_a:.1f} A on {name} at {ready.cases[place].line_v:.0f} V"


def _breaker(ready: Starter, run: RunUp) -> Finding | None:
    line = ready.job.line
    if line is None or line.breaker_a is None:
        return None
    worst_a, name = max((float(log.line_peak_a.max()), log.where) for log in run.rows)
    verdict = Verdict.HOLDS if worst_a <= line.breaker_a else Verdict.FAILS
    why = f"{worst_a:.0f} A from line on {name}, the breaker opens at {line.breaker_a:.0f} A"
    return Finding("breaker during the start", verdict, why)


def _adhesion(ready: Starter, run: RunUp) -> Finding | None:
    grip_n = grip_of(ready.job)
    if grip_n is None:
        return None
    worst_n, name = max((float(log.effort_n.max()), log.where) for log in run.rows)
    verdict = Verdict.HOLDS if worst_n <= grip_n else Verdict.FAILS
    return Finding("adhesion", verdict, f"pull of {worst_n:.0f} N on {name}, the rails take {grip_n:.0f} N")


def grip_of(job: Job) -> float | None:
    """The pull the rails take, N: by the limit where the job gives one, else by the car's adhesion; None where neither
    is given."""
    car, limit = job.car, job.limits.effort_adhesion
    if car is None:
        return None
    return adhesion_n(car if limit is None else replace(car, adhesion=limit))


def run_not_checked(job: Job) -> Iterator[str]:
    """What of a start has no limit."""
    if grip_of(job) is None:
        yield "adhesion"
    if job.line is not None and job.line.breaker_a is None:
        yield "breaker"
