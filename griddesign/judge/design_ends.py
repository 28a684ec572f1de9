"""A design held at both ends of every figure that is not sure; see ``ends`` for how they are put together."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from griddesign.choose.from_job import Worked, notch_aims, wanted_of
from griddesign.choose.problem import NotchAim
from griddesign.errors import GriddesignError
from griddesign.grid.build import ohms_by_section
from griddesign.grid.circuit import ohms
from griddesign.job.records import Job
from griddesign.judge.beside import beside
from griddesign.judge.ends import MOVES, AtEnds, Pins, Trial, keys_of, moved, ohms_of_metal, refusal, tried
from griddesign.judge.findings import judge_heat, judge_notches, judge_peaks, tabled_limit
from griddesign.judge.limits import judge_limits
from griddesign.judge.records import Finding, NotchDone, Unknown
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.runup import Starter
from griddesign.judge.start_ends import all_sure, start_trials, with_metal_and_holds
from griddesign.judge.start_findings import judge_run, judge_run_peaks
from griddesign.telling import stage
from griddesign.traction.peaks import BuiltGrid, Peak
from griddesign.traction.problem import Problem, grouped
from griddesign.traction.records import Ladder
from griddesign.traction.runup.records import RunUp


@dataclass(frozen=True)
class DesignAtEnds:
    """What the ends do to a design: findings and ranking, and beside them the swing of every notch's ohms."""

    at_ends: AtEnds
    unknowns: tuple[Unknown, ...]

    def settled(self, findings: Iterable[Finding]) -> tuple[Finding, ...]:
        """As ``AtEnds.settled``."""
        return self.at_ends.settled(findings)

    @property
    def hold_s(self) -> Mapping[str, tuple[float | None, float | None]]:
        """As ``AtEnds.hold_s``."""
        return self.at_ends.hold_s

    @property
    def measure_next(self) -> tuple[Unknown, ...]:
        """As ``AtEnds.measure_next``, but the current of a notch told by its ohms where that swings more."""
        by_ohms = {one.key: one for one in self.unknowns}
        return tuple(_stronger(one, by_ohms.get(one.key)) for one in self.at_ends.measure_next)


def _stronger(run: Unknown, by_ohms: Unknown | None) -> Unknown:
    if by_ohms is None or by_ohms.swing <= run.swing:
        return run
    return replace(run, swing=by_ohms.swing, notch=by_ohms.notch)


@stage("unknown figures at either end")
def design_at_ends(job: Job, worked: Worked, ran: RunHeat | None = None) -> DesignAtEnds:
    """The design tried at both ends of all that is not sure: wanted ohms found again, the grid as chosen held against
    them, its start run with its heat; quick where nothing is and the heat of its start, ``ran``, is known. The job must
    have plates and boxes.

    Where it cannot be run with the figures as given, ohms and peaks of the notches alone are tried.
    """
    keys, design = keys_of(job, worked), _Design(job, worked)
    if isinstance(worked.wanted, Ladder):
        ready = ran.ready if ran else Starter(job, worked)
        try:
            if ran is not None and not keys:
                return DesignAtEnds(all_sure(ran), ())
            ends = tried(job, ready.heated, keys, design.run)
            return DesignAtEnds(with_metal_and_holds(ready, ends, ran), design.unknowns(ends))
        except GriddesignError:
            pass
    ends = tried(job, (), keys, design.by_ohms)
    return DesignAtEnds(ends, design.unknowns(ends))


@dataclass(frozen=True)
class _Design:
    """The design under trial; ``errors`` keeps ``R'_wanted / R'_got - 1`` of every aim at each set of ends."""

    job: Job
    worked: Worked
    errors: dict[tuple[tuple[str, str], ...], tuple[tuple[str, float], ...]] = field(default_factory=dict)

    def run(self, many: Sequence[Pins]) -> tuple[Trial, ...]:
        """Trials with the start run; what the ladder itself refuses is refused."""
        by_ohms = self.by_ohms(many)
        fit = [pins for pins, trial in zip(many, by_ohms, strict=True) if not trial.refused]
        ran = iter(start_trials(Starter(self.job, self.worked), fit, _judge_run))
        return tuple(one if one.refused else self._both(one, next(ran)) for one in by_ohms)

    def _both(self, by_ohms: Trial, ran: Trial) -> Trial:
        sure = set(ran.pins).isdisjoint(ohms_of_metal(self.job, self.worked))  # those have a finding of their own
        return replace(ran, findings=(*by_ohms.findings, *ran.findings)) if sure else replace(ran, findings=())

    def by_ohms(self, many: Sequence[Pins]) -> tuple[Trial, ...]:
        """Trials of ohms and peaks at the peak rule alone."""
        return tuple(self._by_ohms(pins) for pins in many)

    def _by_ohms(self, pins: Pins) -> Trial:
        try:
            job, worked = moved(self.job, self.worked, pins)
            aims = notch_aims(job, wanted_of(job, worked.hot_ratio))
            errors = tuple(_errors(aims, worked))
            done = tuple(_done(job, aims, errors, peaks_of(job, worked)))
        except GriddesignError as error:
            return refusal(pins, error)
        self.errors[tuple(pins.items())] = errors
        return Trial(pins, tuple(_judge_ohms(job, done)), np.array([[1.0 + error] for _, error in errors]))

    def unknowns(self, ends: AtEnds) -> tuple[Unknown, ...]:
        """The job's figures whose ends move the ohms a notch should have, the strongest first; the swing is the worst
        change of ``R'_wanted / R'_got`` of any notch, without limit where no start is possible."""
        keys = dict.fromkeys(key for trial in ends.singles for key in trial.pins if key in self.job.figures)
        each = (self._unknown(key, [trial for trial in ends.singles if key in trial.pins]) for key in keys)
        return tuple(sorted((one for one in each if one.swing > MOVES), key=lambda one: -one.swing))

    def _unknown(self, key: str, both: Sequence[Trial]) -> Unknown:
        text, base = self.job.figures[key].text, self.errors[()]
        found = [self.errors.get(tuple(trial.pins.items())) for trial in both]
        changes = [
            (abs(here - before), name)
            for errors in found
            if errors is not None
            for (name, here), (_, before) in zip(errors, base, strict=True)
        ]
        swing, notch = max(changes, default=(0.0, ""))
        return Unknown(key, text, np.inf, "every notch") if None in found else Unknown(key, text, swing, notch)


def _errors(aims: Sequence[NotchAim], worked: Worked) -> Iterator[tuple[str, float]]:
    assert worked.design is not None
    section_ohm = ohms_by_section(worked.design.sections)
    return ((aim.name, aim.error(ohms(aim.circuit, section_ohm))) for aim in aims)


def _done(
    job: Job, aims: Sequence[NotchAim], errors: Sequence[tuple[str, float]], peaks: Sequence[Peak]
) -> Iterator[NotchDone]:
    """A row for each notch; of a grid per string, the string with the greatest error. No peaks without a car."""
    each = iter(zip(aims, errors, strict=True))
    for place, notch in enumerate(grouped(job.notches)):
        strings = [next(each) for _ in notch.strings or (notch,)]
        aim, (_, error) = max(strings, key=lambda one: abs(one[1][1]))
        got_ohm = (aim.total_ohm / (1.0 + error) - aim.other_ohm) / aim.factor
        peak_a, frozen_a = (peaks[place].current_a, peaks[place].frozen_flux_a) if peaks else (None, None)
        yield NotchDone(aim.name, aim.wanted_ohm, got_ohm, error, peak_a, frozen_a)


def peaks_of(job: Job, worked: Worked) -> tuple[Peak, ...]:
    """Worst peak and its frozen-flux bound on every notch of the grid as chosen; empty without a car."""
    if not (job.line and job.motor and job.start and worked.design and isinstance(worked.wanted, Ladder)):
        return ()
    notches = grouped(job.notches)
    problem = Problem(
        job.line, job.motor, job.start, notches, job.section_order, worked.hot_ratio, job.duty.ambient_low_c
    )
    return tuple(BuiltGrid(problem, ohms_by_section(worked.design.sections)).peaks(worked.wanted.valley_a))


def _judge_ohms(job: Job, done: Sequence[NotchDone]) -> Iterator[Finding]:
    yield from judge_notches(done, job.limits.notch_tolerance)
    if job.start is not None:
        yield from judge_peaks(done, job.start.peak_a, job.limits.notch_tolerance)


def _judge_run(ready: Starter, run: RunUp, ran: RunHeat | None) -> Iterator[Finding]:
    """What design and start say of the start as run."""
    yield judge_run_peaks(ready, run)
    yield from judge_run(ready, run)
    if ran is not None:
        yield from judge_heat(ran.duty_rows, ran.given_rows, tabled_limit(ready.job), ready.job.paper.units)
    yield from judge_limits(ready.job, ran)
    yield from beside(ready, run, ran).findings
