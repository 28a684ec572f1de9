"""The heat of starts as they are run: one start, a day of them until the peaks have settled, a restart too soon."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError, NoStartError
from griddesign.heat.air import FloatArray
from griddesign.heat.duty import ONE_START, settled_case
from griddesign.heat.lumps import AS_GIVEN, BAND, ENDS, OVERSHOOT_K, End
from griddesign.heat.neighbours import alone_c
from griddesign.heat.records import HeatRow
from griddesign.job.records import Duty
from griddesign.judge.day_by_hand import by_hand_c
from griddesign.judge.heat_cases import RESTART
from griddesign.judge.plate_tables import PlateTables
from griddesign.judge.ran import Beside, Pulse, Ran, at_ends, live_seconds, mean_plate_w
from griddesign.judge.runup import StartCase, Starter
from griddesign.judge.stacked import neighbour_k
from griddesign.traction.runup.records import RunUp

SETTLED_K = 0.01
MOST_ROUNDS = 200
STEEPEST = 0.985  # our own: a step is at most 1/(1 - 0.985), 67 times the gain of one round
LEAST_MOVED_K = 0.1
"""A section that moved less tells no better slope: its gain then changes with the other sections' ohms as much."""
TRIED = tuple(dict.fromkeys((*ENDS, *BAND)))
"""Ends every duty is run at: those the limit is held against, and the loss model's own band."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the day as run: so many starts, one every ``every_s``, then ``layover_s`` more without any."""

    ready: Starter
    name: str
    starts: int
    every_s: float
    layover_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Round:
    """One time through the day. All (sections, cases) but ``pulses``, one for each start, and ``strayed`` (cases,):
    which were stuck on a notch or off the motor curve in some start. ``first`` is its first start as run."""

    end_c: FloatArray
    hottest_c: FloatArray
    begins_c: tuple[FloatArray, ...]
    left_c: FloatArray
    pulses: tuple[Pulse, ...]
    strayed: NDArray[np.bool_]
    first: RunUp

    def only(self, count: int) -> "Round":
        """The same of the first cases; ``first`` keeps all."""
        return Round(
            self.end_c[:, :count],
            self.hottest_c[:, :count],
            tuple(begin_c[:, :count] for begin_c in self.begins_c),
            self.left_c[:, :count],
            tuple(Pulse(one.begin_s[:count], one.on_s[:, :count], one.joules[:, :count]) for one in self.pulses),
            self.strayed[:count],
            self.first,
        )


def start_rows(ready: Starter, ends: Sequence[End] = TRIED) -> tuple[HeatRow, ...]:
    """Heat of one start in every case, worst end of the weak figures, the adiabatic bound beside it."""
    ran = one_start(ready, ends)
    return ran.worst() if ran else ()


def service_day_rows(ready: Starter, ends: Sequence[End] = TRIED) -> tuple[HeatRow, ...]:
    """The same for the duty of the job, when the peaks have settled; none where the job names no duty."""
    ran = service_day(ready, ends)
    return ran.worst() if ran else ()


def one_start(ready: Starter, ends: Sequence[End] = TRIED) -> Ran | None:
    """One start from ambient; None without plates."""
    if not ready.heated:
        return None
    cases = at_ends(ready.cases, ends)
    once = (Stretch(ready, "", 1, 0.0, 0.0),)
    return _ran(ready, cases, ONE_START, once, _ambient_c(ready, cases))


def service_day(ready: Starter, ends: Sequence[End] = TRIED, beside: Sequence[StartCase] = ()) -> Ran | None:
    """The duty repeated until its peaks settle: a start every so often, or the parts of the day in their order.

    Between the end of one start and the next the grid cools in still air; every start is the run in earnest, from the
    temperatures the one before has left. Cases ``beside`` are run along, and refused for nothing. None without plates
    or duty.
    """
    stretches = stretches_of(ready)
    if not ready.heated or not stretches:
        return None
    cases = at_ends(ready.cases, ends)
    count, beside = len(cases), beside if _simple(stretches) else ()
    begin_c, last = _settled(ready, (*cases, *beside), stretches, count)
    own = last and last.only(count)
    ran = _ran(ready, cases, day_case(ready.job.duty), stretches, begin_c[:, :count], own)
    return replace(ran, beside=_beside(last, count, stretches[0].every_s)) if beside else ran


def _simple(stretches: Sequence[Stretch]) -> bool:
    """Whether a round of the day is one start."""
    return len(stretches) == 1 and stretches[0].starts == 1


def _beside(last: Round | None, count: int, every_s: float) -> Beside | None:
    """What came of the cases after the first ``count``; None where one of them strayed or took too long."""
    if last is None or last.strayed[count:].any() or np.any(last.first.seconds[count:] > every_s):
        return None
    run = last.first
    return Beside(run.hottest_c[:, count:], np.array([log.peak_a[count:] for log in run.notches]))


def restart(ready: Starter, before: Ran) -> Ran | None:
    """A start again after the shortest layover, from where the hottest start of ``before`` has left every section."""
    layover_s = ready.job.duty.shortest_layover_s
    if layover_s is None:
        return None
    tables = PlateTables.of(ready.heated, [(case.end, case.ambient_c) for case in before.cases])
    begin_c = tables.cooled_c(before.left_c, np.full(len(before.cases), layover_s))
    steepest = max(stretches_of(ready) or (Stretch(ready, "", 1, 0.0, 0.0),), key=lambda one: _gradient(one.ready))
    once = (replace(steepest, starts=1, every_s=0.0, layover_s=0.0),)
    ran = _ran(ready, before.cases, f"{RESTART} {layover_s:g} s", once, begin_c)
    return replace(ran, neighbour_k=before.neighbour_k)


def _gradient(ready: Starter) -> float:
    assert ready.job.car is not None
    return ready.job.car.gradient


def day_case(duty: Duty) -> str:
    """Name of the duty in the rows."""
    if not duty.parts:
        assert duty.start_every_s is not None
        return settled_case(duty.start_every_s)
    starts = sum(part.starts for part in duty.parts)
    return f"settled, {starts} starts in a round of {period_s(duty) / 60.0:.3g} min"


def period_s(duty: Duty) -> float:
    """One time through the parts of the day, s."""
    return sum(part.starts * part.start_every_s + part.layover_s for part in duty.parts)


def stretches_of(ready: Starter) -> tuple[Stretch, ...]:
    """The day of the job; empty where it names no duty."""
    duty, car = ready.job.duty, ready.job.car
    if not duty.parts:
        return () if duty.start_every_s is None else (Stretch(ready, "", 1, duty.start_every_s, 0.0),)
    assert car is not None
    sloped: Mapping[float, Starter] = {
        slope: Starter(replace(ready.job, car=replace(car, gradient=slope)), ready.worked)
        for slope in {car.gradient if part.gradient is None else part.gradient for part in duty.parts}
    }
    return tuple(
        Stretch(
            sloped[car.gradient if part.gradient is None else part.gradient],
            part.name,
            part.starts,
            part.start_every_s,
            part.layover_s,
        )
        for part in duty.parts
    )


def settled_begin_c(ready: Starter, cases: Sequence[StartCase], day: float | Sequence[Stretch]) -> FloatArray:
    """Temperatures (sections, cases) at which a round of the day begins and ends up again when it is over, degC.

    ``day`` is its stretches, or the seconds from one start to the next. Each section's round is a falling-off map of
    its own, but for the little the currents change; a secant for each, held short of the steepest, gets to within
    0.01 K in a handful of rounds. Stops 40 K above the top of a metal's table, or after 200 rounds: then the answer is
    inf in that section.
    """
    stretches = (Stretch(ready, "", 1, day, 0.0),) if isinstance(day, int | float) else tuple(day)
    return _settled(ready, cases, stretches)[0]


def _settled(
    ready: Starter, cases: Sequence[StartCase], stretches: tuple[Stretch, ...], counted: int | None = None
) -> tuple[FloatArray, Round | None]:
    """The same, and the last round of the search where it began at just these temperatures. Only the first cases
    ``counted`` may be refused."""
    tables = PlateTables.of(ready.heated, [(case.end, case.ambient_c) for case in cases])
    t_c = _ambient_c(ready, cases)
    slope = np.zeros_like(t_c)
    before_c, before_gain = t_c, np.zeros_like(t_c)
    own = np.arange(len(cases)) < (len(cases) if counted is None else counted)
    nobody = np.zeros(len(cases), dtype=np.bool_)  # on its way the search may stray where no car would run
    for number in range(MOST_ROUNDS):
        found = once_round(stretches, cases, t_c, tables, own if number == 0 else nobody)
        gain = found.end_c - t_c
        topped = t_c >= tables.top_c + OVERSHOOT_K
        if np.all((np.abs(gain) < SETTLED_K * (1.0 - slope)) | topped):
            return np.where(topped, np.inf, t_c), None if topped.any() else found
        moved = t_c - before_c
        if number:
            change = (gain - before_gain) / np.where(moved == 0.0, 1.0, moved)
            told = np.abs(moved) >= np.where(slope > 0.0, LEAST_MOVED_K, 1e-6)
            slope = np.where(told, np.clip(1.0 + change, 0.0, STEEPEST), slope)
        before_c, before_gain = t_c, gain
        wanted_c = t_c + gain / (1.0 - slope) if number else _mean_c(ready, cases, stretches, found)
        t_c = np.minimum(wanted_c, tables.top_c + OVERSHOOT_K)
    return np.where(np.abs(gain) < 1.0, t_c, np.inf), None


def _mean_c(ready: Starter, cases: Sequence[StartCase], stretches: Sequence[Stretch], first: Round) -> FloatArray:
    """Where the search goes first: the mean at which the heat of the first round would balance."""
    mean_w = mean_plate_w(ready.heated, first.pulses, _round_s(stretches))
    return alone_c(ready.heated, mean_w, [(case.end, case.ambient_c) for case in cases])[0]


def _round_s(stretches: Sequence[Stretch]) -> float:
    return sum(one.starts * one.every_s + one.layover_s for one in stretches)


def once_round(
    stretches: Sequence[Stretch],
    cases: Sequence[StartCase],
    begin_c: FloatArray,
    tables: PlateTables,
    counted: NDArray[np.bool_] | None = None,
) -> Round:
    """One time through the day from ``begin_c``. Raises as ``Starter.run`` for the cases ``counted`` (None: all), and
    InputError where one of their starts takes longer than it may."""
    counted = np.ones(len(cases), dtype=np.bool_) if counted is None else counted
    t_c, clock_s = begin_c, np.zeros(len(cases))
    hottest_c = left_c = begin_c
    begins, pulses, strayed, runs = [], [], np.zeros(len(cases), dtype=np.bool_), []
    for stretch, rest in _each_start(stretches):
        found, astray = _run(stretch, cases, t_c, tables, counted)
        strayed = strayed | astray
        runs.append(found)
        begins.append(t_c)
        pulses.append(Pulse(clock_s, live_seconds(stretch.ready.job, found), found.section_j))
        hottest_c, left_c = np.maximum(hottest_c, found.hottest_c), np.maximum(left_c, found.end_c)
        rest_s = _rest_s(stretch, rest, np.where(counted, found.seconds, np.minimum(found.seconds, stretch.every_s)))
        t_c = tables.cooled_c(found.end_c, rest_s) if stretch.every_s else found.end_c
        clock_s = clock_s + stretch.every_s + rest
    return Round(t_c, hottest_c, tuple(begins), left_c, tuple(pulses), strayed, runs[0])


def _each_start(stretches: Sequence[Stretch]) -> Iterator[tuple[Stretch, float]]:
    """Every start of a round, with the layover that comes after it."""
    for stretch in stretches:
        for number in range(stretch.starts):
            yield stretch, stretch.layover_s if number == stretch.starts - 1 else 0.0


def _run(
    stretch: Stretch,
    cases: Sequence[StartCase],
    t_c: FloatArray,
    tables: PlateTables,
    counted: NDArray[np.bool_],
) -> tuple[RunUp, NDArray[np.bool_]]:
    """One start in all cases, and which are stuck or off the motor curve. Those of them that count are refused: stuck
    at any end of the weak figures, off the curve with the figures as given (at an end the flux stays at its last value,
    which only raises current and heat)."""
    found = stretch.ready.run_arrays(stretch.ready.arrays(cases, t_c), tables)
    beyond = np.any([log.beyond_curve for log in found.rows], axis=0)
    strayed = np.asarray(beyond | (found.stuck >= 0), dtype=np.bool_)
    given = np.array([case.end == AS_GIVEN for case in cases])
    refused = np.flatnonzero(((beyond & given) | (found.stuck >= 0)) & counted).tolist()
    if refused:
        _refuse(stretch, [cases[place] for place in refused], t_c[:, refused])
    return found, strayed


def _refuse(stretch: Stretch, cases: Sequence[StartCase], t_c: FloatArray) -> None:
    """Run them once more, to be told why not."""
    try:
        stretch.ready.run(cases, t_c)
    except NoStartError as error:
        if not stretch.name:
            raise
        raise NoStartError(f"[duty] part {stretch.name}: {error.message}", hint=error.hint) from error


def _rest_s(stretch: Stretch, layover_s: float, run_s: FloatArray) -> FloatArray:
    rest_s: FloatArray = stretch.every_s + layover_s - run_s
    if stretch.every_s and np.any(run_s > stretch.every_s):
        where = f" part {stretch.name}" if stretch.name else ""
        raise InputError(
            f"a start takes {float(run_s.max()):.3g} s, and [duty]{where} asks for one every {stretch.every_s:g} s",
            hint="Give a longer start_every.",
        )
    return rest_s


def _ambient_c(ready: Starter, cases: Sequence[StartCase]) -> FloatArray:
    return np.array([[case.ambient_c for case in cases]] * len(ready.heated))


def _ran(
    ready: Starter,
    cases: tuple[StartCase, ...],
    name: str,
    stretches: tuple[Stretch, ...],
    begin_c: FloatArray,
    last: Round | None = None,
) -> Ran:
    """The round from ``begin_c`` for what is printed of it; ``last`` is that round where it was run already."""
    lost = ~np.isfinite(begin_c)
    tables = PlateTables.of(ready.heated, [(case.end, case.ambient_c) for case in cases])
    real_c = np.where(lost, tables.top_c + OVERSHOOT_K, begin_c)
    if last is None or last.strayed.any():
        found = once_round(stretches, cases, real_c, tables, np.asarray(~lost.any(axis=0), dtype=np.bool_))
    else:
        found = last
    ran = Ran(
        ready=ready,
        name=name,
        cases=cases,
        round_s=_round_s(stretches),
        hot_c=np.where(lost, np.inf, found.hottest_c),
        bound_c=np.where(lost, np.inf, _without_loss_c(stretches, cases, found)),
        left_c=found.left_c,
        pulses=found.pulses,
        strayed=tuple(np.flatnonzero(found.strayed & ~lost.any(axis=0)).tolist()),
    )
    return replace(ran, neighbour_k=neighbour_k(ran), by_hand_c=by_hand_c(ran))


def _without_loss_c(stretches: tuple[Stretch, ...], cases: Sequence[StartCase], found: Round) -> FloatArray:
    """Hottest moment of any start of the round if it lost nothing while it lasted."""
    without = [StartCase(case.line_v, case.ambient_c, case.end.adiabatic()) for case in cases]
    tables = PlateTables.of(stretches[0].ready.heated, [(case.end, case.ambient_c) for case in without])
    hottest_c = found.hottest_c
    for (stretch, _), begin_c in zip(_each_start(stretches), found.begins_c, strict=True):
        begun = stretch.ready.arrays(without, begin_c)
        hottest_c = np.maximum(hottest_c, stretch.ready.run_arrays(begun, tables).hottest_c)
    return hottest_c
