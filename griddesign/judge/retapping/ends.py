"""A set of taps held at both ends of every figure of the job that is not sure; see ``judge.ends``.

Plates, taps and driver stay as they are: what moves is the car, the line and the motors. The ohms each notch should
have are found again at every end, and the start on these taps is run there with its heat.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from griddesign.choose.from_job import Worked, wanted_of
from griddesign.errors import GriddesignError
from griddesign.job.records import Job
from griddesign.judge.ends import AtEnds, Pins, Trial, moved, refusal, tried
from griddesign.judge.finding import Finding, Verdict
from griddesign.judge.measuring import weak_keys
from griddesign.judge.retapping.bank import starter_on, told_of
from griddesign.judge.retapping.findings import judge_run, judge_taps
from griddesign.judge.retapping.records import Option, Tapping
from griddesign.judge.retapping.targets import notches_at, targets_of
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.runup import Starter
from griddesign.judge.start_ends import metal_of_start, start_trials
from griddesign.traction.runup.records import RunUp


def taps_at_ends(job: Job, worked: Worked, tapping: Tapping | None) -> AtEnds | None:
    """The taps tried at both ends of all that is not sure. None where there are none, or no current flows."""
    if tapping is None or tapping.plates is None or any(notch.open for notch in tapping.notches):
        return None
    ready = starter_on(job, worked, tapping.plates, tapping.sections) if tapping.run.peak_a else None
    heated, keys = ready.heated if ready else (), _keys(job)
    if not keys:
        limits_c = {section.name: section.limit_c for section in heated}
        ends = AtEnds(job, limits_c, Trial({}, hot_c=tapping.run.given_c), ())
    else:
        ends = tried(job, heated, keys, _Taps(job, worked, tapping, ready).attempt)
    return replace(ends, of_metal=metal_of_start(ready)) if ready else ends


def _keys(job: Job) -> tuple[str, ...]:
    """What is not sure of the car, line and motors; spares and patches have their own doubt in their ohms."""
    return tuple(key for key in weak_keys(job) if not key.startswith("retap."))


def option_at_ends(job: Job, worked: Worked, option: Option) -> Option:
    """The way with its verdict; one that holds with the figures as given, but not at every end, is *not shown*."""
    if option.verdict is not Verdict.HOLDS or not _keys(job):
        return option
    ends = taps_at_ends(job, worked, option.tapping)
    settled = ends.settled(ends.base.findings) if ends else ()
    open_one = next((one for one in settled if one.verdict is not Verdict.HOLDS), None)
    if open_one is None:
        return option
    return replace(option, verdict=Verdict.NOT_SHOWN, why=f"{open_one.item}: {open_one.why}")


@dataclass(frozen=True)
class _Taps:
    """The taps under trial; ``ready`` is the start on them, None where none can be run."""

    job: Job
    worked: Worked
    tapping: Tapping
    ready: Starter | None

    def attempt(self, many: Sequence[Pins]) -> tuple[Trial, ...]:
        """A trial for each set of figures at their ends; what the ladder itself refuses is refused."""
        by_ohms = [self._by_ohms(pins) for pins in many]
        if self.ready is None:
            return tuple(by_ohms)
        fit = [trial.pins for trial in by_ohms if not trial.refused]
        ran = iter(start_trials(self.ready, fit, self._judge))
        return tuple(one if one.refused else _both(one, next(ran)) for one in by_ohms)

    def _by_ohms(self, pins: Pins) -> Trial:
        try:
            job, _ = moved(self.job, self.worked, pins)
            wanted = wanted_of(job, self.worked.hot_ratio)
            targets = targets_of(job, wanted)
        except GriddesignError as error:
            return refusal(pins, error)
        notches = notches_at(targets, self.tapping.sections)
        wanted_ohm = {notch.name: notch.wanted_ohm for notch in wanted.notches}
        found = tuple(judge_taps(targets, replace(self.tapping, notches=notches), "", wanted_ohm))
        by_name = {notch.name: 1.0 + notch.error for notch in notches}
        return Trial(pins, found, np.array([[by_name.get(notch.name, 1.0)] for notch in job.notches]))

    def _judge(self, ready: Starter, run: RunUp, heat: RunHeat | None) -> Iterator[Finding]:
        """Peaks and heat, in the words of the findings on the taps."""
        start, tolerance = ready.job.start, ready.job.limits.notch_tolerance
        there = replace(self.tapping, run=told_of(ready, run, heat))
        return judge_run(there, start.peak_a if start else None, tolerance)


def _both(by_ohms: Trial, ran: Trial) -> Trial:
    """Ohms and start together."""
    if ran.refused or by_ohms.current is None or ran.current is None:
        return ran
    current = np.hstack([by_ohms.current, ran.current])
    return replace(ran, findings=(*by_ohms.findings, *ran.findings), current=current)
