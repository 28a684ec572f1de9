"""A set of taps held at both ends of every figure of the job that is not sure; see ``judge.ends``.

Plates, taps and driver stay as they are: what moves is the car, the line and the motors. The ohms each notch should
have are found again at every end, and the start on these taps is run there with its heat.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeGuard

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
from griddesign.progress import at
from griddesign.retaps.records import NotchTarget
from griddesign.traction.runup.records import RunUp


def _keys(job: Job) -> tuple[str, ...]:
    """What is not sure of the car, line and motors; spares and patches have their own doubt in their ohms."""
    return tuple(key for key in weak_keys(job) if not key.startswith(("retap.", "spare.")))


@dataclass(frozen=True, slots=True)
class _Aims:
    """What every notch should have with figures at their ends: ``targets``, and the ohms wanted by notch."""

    targets: tuple[NotchTarget, ...]
    wanted_ohm: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class TapsAtEnds:
    """Sets of taps of one job tried at both ends. The ladder does not hang on the taps: each end's is found once."""

    job: Job
    worked: Worked
    _found: dict[tuple[tuple[str, str], ...], _Aims] = field(default_factory=dict)

    def of(self, tapping: Tapping | None) -> AtEnds | None:
        """The taps tried at both ends of all that is not sure, with what the metals leave open. None where there are
        none, or no current flows."""
        if not _fit(tapping):
            return None
        ready = self._ready(tapping)
        ends = self._tried(tapping, ready)
        return replace(ends, of_metal=metal_of_start(ready)) if ready else ends

    def option(self, option: Option) -> Option:
        """The way with its verdict; one that holds with the figures as given, but not at every end, is *not shown*."""
        tapping = option.tapping
        if option.verdict is not Verdict.HOLDS or not _keys(self.job) or not _fit(tapping):
            return option
        ends = self._tried(tapping, self._ready(tapping))
        settled = ends.settled(ends.base.findings)
        open_one = next((one for one in settled if one.verdict is not Verdict.HOLDS), None)
        if open_one is None:
            return option
        return replace(option, verdict=Verdict.NOT_SHOWN, why=f"{open_one.item}: {open_one.why}")

    def _ready(self, tapping: Tapping) -> Starter | None:
        assert tapping.plates is not None
        return starter_on(self.job, self.worked, tapping.plates, tapping.sections) if tapping.run.peak_a else None

    def _tried(self, tapping: Tapping, ready: Starter | None) -> AtEnds:
        heated, keys = ready.heated if ready else (), _keys(self.job)
        at("the taps at both ends of what is not sure")
        if not keys:
            limits_c = {section.name: section.limit_c for section in heated}
            return AtEnds(self.job, limits_c, Trial({}, hot_c=tapping.run.given_c), ())
        return tried(self.job, heated, keys, _Taps(self, tapping, ready).attempt)

    def aims(self, pins: Pins) -> _Aims:
        """What the notches should have there. Raises as the ladder does where it is refused."""
        key = tuple(pins.items())
        if key not in self._found:
            job, _ = moved(self.job, self.worked, pins)
            wanted = wanted_of(job, self.worked.hot_ratio)
            by_name = {notch.name: notch.wanted_ohm for notch in wanted.notches}
            self._found[key] = _Aims(targets_of(job, wanted), by_name)
        return self._found[key]


def _fit(tapping: Tapping | None) -> TypeGuard[Tapping]:
    return tapping is not None and tapping.plates is not None and not any(notch.open for notch in tapping.notches)


@dataclass(frozen=True)
class _Taps:
    """The taps under trial; ``ready`` is the start on them, None where none can be run."""

    at: TapsAtEnds
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
            aims = self.at.aims(pins)
        except GriddesignError as error:
            return refusal(pins, error)
        notches = notches_at(aims.targets, self.tapping.sections)
        found = tuple(judge_taps(aims.targets, replace(self.tapping, notches=notches), "", aims.wanted_ohm))
        by_name = {notch.name: 1.0 + notch.error for notch in notches}
        return Trial(pins, found, np.array([[by_name.get(notch.name, 1.0)] for notch in self.at.job.notches]))

    def _judge(self, ready: Starter, run: RunUp, heat: RunHeat | None) -> Iterator[Finding]:
        """Peaks and heat, in the words of the findings on the taps."""
        start, tolerance = ready.job.start, ready.job.limits.notch_tolerance
        there = replace(self.tapping, run=told_of(ready, run, heat))
        return judge_run(there, start.peak_a if start else None, tolerance, ready.job.paper.units)


def _both(by_ohms: Trial, ran: Trial) -> Trial:
    """Ohms and start together."""
    if ran.refused or by_ohms.current is None or ran.current is None:
        return ran
    current = np.hstack([by_ohms.current, ran.current])
    return replace(ran, findings=(*by_ohms.findings, *ran.findings), current=current)
