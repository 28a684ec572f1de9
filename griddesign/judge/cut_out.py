"""The start with one motor cut out, or one pair: the rest of the car, the same grid, the same handle."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from griddesign.errors import NoStartError
from griddesign.heat.lumps import ENDS
from griddesign.judge.abreast import run_of
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
    """The notches with those motors cut out (numbered from 0); networks, and notches of other motors than the
    first ones, with none left, left out.

    Assumed of the controller: it has the same positions and circuits, a motor cut out is bridged in its string, a
    string without any motor is open, and a common grid carries the strings that are left. In a network a motor is
    bridged where opening it would take its current from one that stays, else it is open. Some controllers bar the
    parallel positions then; the peaks of those notches stand for those that do not.
    """
    kept = tuple(replace(notch, out=out) for notch in notches if not _of_these_alone(notch, out))
    if networks_in_words(notches):
        from griddesign.traction.network.cut import left_of

        return tuple(one for one in kept if one.network is None or left_of(one).network is not None)
    return kept


def _of_these_alone(notch: Notch, out: tuple[int, ...]) -> bool:
    return bool(notch.numbers) and {number for string in notch.numbers for number in string} <= set(out)


def usually_cut_out(notches: tuple[Notch, ...]) -> tuple[int, ...]:
    """The motor, or pair, cut out by itself: the second half of every string of the first notch that is a grouping,
    else the last string; of networks alone the motor with the highest number; none where there is but one motor."""
    first = next((notch for notch in notches if notch.network is None), None)
    if first is None:
        numbers = {motor.number for notch in notches if notch.network is not None for motor in notch.network.motors}
        return (max(numbers) - 1,) if len(numbers) > 1 else ()
    series, strings = first.grouping.series, first.string_motors
    if series % 2 == 0:
        return tuple(sorted(number for string in strings for number in string[series // 2 :]))
    return tuple(sorted(strings[-1])) if len(strings) > 1 else ()


def networks_in_words(notches: tuple[Notch, ...]) -> str:
    """As in ``notch 3 is a network``, ``notches 3, 5 are networks``; "" where none is."""
    names = [notch.name for notch in notches if notch.network is not None]
    if len(names) < 2:
        return f"notch {names[0]} is a network" if names else ""
    return f"notches {', '.join(names)} are networks"


def cut_out_of(ready: Starter, out: tuple[int, ...] | None = None) -> CutOut | None:
    """One start from ambient with those motors cut out (None: the usual ones), in every case of the job; None where no
    motor can be spared, or what is left of a network cannot be run (``cut_out_or_why``). Raises CircuitError where the
    circuits do not allow it."""
    return cut_out_or_why(ready, out)[0]


def cut_out_or_why(ready: Starter, out: tuple[int, ...] | None = None) -> tuple[CutOut | None, tuple[str, ...]]:
    """The same, and why nothing is told of it where a network is left that cannot be run."""
    out = usually_cut_out(ready.job.notches) if out is None else out
    try:
        return _cut_out(ready, out), ()
    except NoStartError as error:
        if not networks_in_words(ready.job.notches):
            raise
        return None, (f"motor {' and '.join(str(number + 1) for number in out)} cut out ({error.message})",)


def _cut_out(ready: Starter, out: tuple[int, ...]) -> CutOut | None:
    notches = motors_cut_out(ready.job.notches, out) if out else ()
    if not notches:
        return None
    less = replace(ready, job=replace(ready.job, notches=notches))
    run, heat = _run(less)
    found = CutOut(out, ready.cases, run, heat, (), ())
    return replace(found, findings=tuple(_findings(ready, found)), remarks=tuple(_remarks(ready, found)))


def _run(less: Starter) -> tuple[RunUp, tuple[SectionOut, ...]]:
    """The cases as run with the figures as given, and the hottest of every section over all ends; none without
    plates."""
    ends = ENDS if less.heated else ENDS[:1]
    cases = at_ends(less.cases, ends)
    run = less.run_arrays(less.arrays(cases), less.plates(cases))
    worst = [(section, row, int(np.argmax(row))) for section, row in zip(less.heated, run.hottest_c, strict=False)]
    return run_of(run, slice(None, None, len(ends))), tuple(
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
    if networks_in_words(ready.job.notches):
        from griddesign.traction.network.cut import cut_words

        yield f"{found.words}: {cut_words(ready.job.notches, found.out)}"
    idle = [notch.name for notch in ready.job.notches if _of_these_alone(notch, found.out)]
    if idle:
        yield f"{found.words}: no motor is left in circuit on notch {', '.join(idle)}, passed over"
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
                f"{found.words}: on notch {found.run.notches[place].name} at {case.line_v:.0f} V the current never "
                "falls to where the driver notches up; what follows means nothing"
            )
    worst_a, name = max((float(log.peak_a.max()), log.where) for log in found.run.rows)
    if start is not None and worst_a > start.peak_a:
        yield f"{found.words}: peak of {worst_a:.0f} A on {name}, over the {start.peak_a:.0f} A asked for"
    if any(log.beyond_curve.any() for log in found.run.rows):
        yield f"{found.words}: ≈ currents pass the end of the motor curve, where its last value is kept"
