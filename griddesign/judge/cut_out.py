"""The start with one motor cut out, or one pair: the rest of the car, the same grid, the same handle."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from griddesign.heat.lumps import ENDS
from griddesign.judge.finding import Finding, Verdict
from griddesign.judge.ran import at_ends
from griddesign.judge.runup import StartCase, Starter
from griddesign.traction.records import Notch
from griddesign.traction.runup.records import RunUp
from griddesign.units import show

_EPS = 1e-9


@dataclass(frozen=True)
class SectionOut:
    """A section at its hottest in a start with motors cut out: degC, the plate's limit, where it came to pass."""

    name: str
    hot_c: float
    limit_c: float
    line_v: float
    ambient_c: float


@dataclass(frozen=True)
class CutOut:
    """``out``: numbers of the motors cut out, from 0. ``run``: one start in each of ``cases``, nothing refused; what
    comes after a notch it is stuck on means nothing. ``heat``: worst of the ends of the weak figures."""

    out: tuple[int, ...]
    cases: tuple[StartCase, ...]
    run: RunUp
    heat: tuple[SectionOut, ...]
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]

    @property
    def words(self) -> str:
        """As in: motor 2 cut out."""
        numbers = " and ".join(str(number + 1) for number in self.out)
        return f"motor{'s' * (len(self.out) > 1)} {numbers} cut out"


def motors_cut_out(notches: tuple[Notch, ...], out: tuple[int, ...]) -> tuple[Notch, ...]:
    """The notches with those motors cut out (numbered from 0, string after string).

    Assumed of the controller: it has the same positions and circuits, a motor cut out is bridged in its string, a
    string without any motor is open, and a common grid carries the strings that are left. Some controllers bar the
    parallel positions then; the peaks of those notches stand for those that do not.
    """
    return tuple(replace(notch, out=out) for notch in notches)


def usually_cut_out(notches: tuple[Notch, ...]) -> tuple[int, ...]:
    """The motor, or pair, cut out by itself: the second half of every string of the first notch, else the last string;
    none where there is but one motor."""
    series, parallel = notches[0].grouping.series, notches[0].grouping.parallel
    if series % 2 == 0:
        half = series // 2
        return tuple(string * series + half + k for string in range(parallel) for k in range(half))
    return tuple(range((parallel - 1) * series, parallel * series)) if parallel > 1 else ()


def not_worked_out(notches: tuple[Notch, ...]) -> tuple[str, ...]:
    """Why nothing is told of a motor cut out: a network without one of its motors is no grouping of strings."""
    said = networks_in_words(notches)
    return (f"one motor cut out ({said})",) if said else ()


def networks_in_words(notches: tuple[Notch, ...]) -> str:
    """As in ``notch 3 is a network``, ``notches 3, 5 are networks``; "" where none is."""
    names = [notch.name for notch in notches if notch.network is not None]
    if len(names) < 2:
        return f"notch {names[0]} is a network" if names else ""
    return f"notches {', '.join(names)} are networks"


def cut_out_of(ready: Starter, out: tuple[int, ...] | None = None) -> CutOut | None:
    """One start from ambient with those motors cut out (None: the usual ones), in every case of the job; None where no
    motor can be spared or a notch is a network. Raises CircuitError where the circuits do not allow it."""
    out = usually_cut_out(ready.job.notches) if out is None else out
    if not out or not_worked_out(ready.job.notches):
        return None
    less = replace(ready, job=replace(ready.job, notches=motors_cut_out(ready.job.notches, out)))
    run = less.run_arrays(less.arrays(ready.cases), less.plates(ready.cases))
    found = CutOut(out, ready.cases, run, _heat(less), (), ())
    return replace(found, findings=tuple(_findings(ready, found)), remarks=tuple(_remarks(ready, found)))


def _heat(less: Starter) -> tuple[SectionOut, ...]:
    """The hottest of every section over cases and ends; none without plates."""
    if not less.heated:
        return ()
    cases = at_ends(less.cases, ENDS)
    hot_c = less.run_arrays(less.arrays(cases), less.plates(cases)).hottest_c
    worst = [(section, hot_c[place], int(np.argmax(hot_c[place]))) for place, section in enumerate(less.heated)]
    return tuple(
        SectionOut(section.name, float(row[at]), section.limit_c, cases[at].line_v, cases[at].ambient_c)
        for section, row, at in worst
    )


def _findings(ready: Starter, found: CutOut) -> Iterator[Finding]:
    """Plates and breaker; the peak per motor is told, not judged: it is the driver's to keep by notching late."""
    if found.heat:
        worst = max(found.heat, key=lambda section: section.hot_c - section.limit_c)
        verdict = Verdict.HOLDS if worst.hot_c <= worst.limit_c + _EPS else Verdict.FAILS
        units, degrees = ready.job.paper.units, (worst.hot_c, worst.ambient_c, worst.limit_c)
        hot, ambient, limit = (show(t_c, "temperature", units=units) for t_c in degrees)
        why = f"section {worst.name} {hot} after one start from {ambient} at {worst.line_v:.0f} V, limit {limit}"
        yield Finding(f"plates, {found.words}", verdict, why)
    line = ready.job.line
    if line is not None and line.breaker_a is not None:
        worst_a, name = _worst_from_line(found)
        if worst_a > line.breaker_a and _by_the_clock(ready):
            return
        verdict = Verdict.HOLDS if worst_a <= line.breaker_a else Verdict.FAILS
        why = f"{worst_a:.0f} A from line on {name}, the breaker opens at {line.breaker_a:.0f} A"
        yield Finding(f"breaker, {found.words}", verdict, why)


def _by_the_clock(ready: Starter) -> bool:
    """Whether the driver notches up by time: with motors cut out nobody can, the car gathers way too slowly."""
    return ready.job.start is not None and ready.job.start.notch_up == "by time"


def _worst_from_line(found: CutOut) -> tuple[float, str]:
    return max((float(log.line_peak_a.max()), log.where) for log in found.run.rows)


def _remarks(ready: Starter, found: CutOut) -> Iterator[str]:
    start, breaker_a = ready.job.start, ready.job.line.breaker_a if ready.job.line else None
    if breaker_a is not None and _by_the_clock(ready) and _worst_from_line(found)[0] > breaker_a:
        line_a, name = _worst_from_line(found)
        yield (
            f"{found.words}: by the times of the whole car {line_a:.0f} A from line on {name}, the breaker opens at "
            f"{breaker_a:.0f} A: stay longer on every notch"
        )
    for case, place in zip(found.cases, found.run.stuck, strict=True):
        if place >= 0:
            yield (
                f"{found.words}: on notch {ready.job.notches[place].name} at {case.line_v:.0f} V the current never "
                "falls to where the driver notches up; what follows means nothing"
            )
    worst_a, name = max((float(log.peak_a.max()), log.where) for log in found.run.rows)
    if start is not None and worst_a > start.peak_a:
        yield f"{found.words}: peak of {worst_a:.0f} A on {name}, over the {start.peak_a:.0f} A asked for"
    if any(log.beyond_curve.any() for log in found.run.rows):
        yield f"{found.words}: ≈ currents pass the end of the motor curve, where its last value is kept"
