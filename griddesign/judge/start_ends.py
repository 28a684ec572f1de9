"""A start run at both ends of every figure that is not sure; see ``ends`` for how they are put together."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from griddesign.errors import GriddesignError
from griddesign.heat.lumps import ENDS
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job
from griddesign.judge.abreast import Abreast, abreast, alike, ran_of, run_of
from griddesign.judge.ends import (
    AtEnds,
    Pins,
    Trial,
    hottest_c,
    keys_of,
    metal_unknowns,
    moved,
    refusal,
    tried,
    worst_change,
)
from griddesign.judge.finding import Finding, Unknown
from griddesign.judge.heat_cases import deciding, holds
from griddesign.judge.measuring import metal_cases, metal_ends
from griddesign.judge.ran import Beside, Ran
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.runup import StartCase, Starter
from griddesign.judge.service_day import day_case, one_start, restart, service_day, settled_begin_c, stretches_of
from griddesign.traction.runup.records import RunUp

Judge = Callable[[Starter, RunUp, RunHeat | None], Iterable[Finding]]
"""From a start, its run in every case and its heat to the findings."""


def start_at_ends(ready: Starter, judge: Judge, ran: RunHeat | None = None) -> AtEnds:
    """The start of a job tried at both ends of all that is not sure; quick where nothing is and its heat, ``ran``, is
    known."""
    keys = keys_of(ready.job, ready.worked)
    if ran is not None and not keys:
        return all_sure(ran)
    ends = tried(ready.job, ready.heated, keys, lambda many: start_trials(ready, many, judge))
    return with_metal_and_holds(ready, ends, ran)


def all_sure(ran: RunHeat) -> AtEnds:
    """The ends where every figure of the job is sure: the heat as given is known, only the metal's own is open."""
    ready, hot_c = ran.ready, hottest_c(deciding(ran.given_rows))
    limits_c = {section.name: section.limit_c for section in ready.heated}
    return AtEnds(ready.job, limits_c, Trial({}, hot_c=hot_c), (), of_metal=metal_of_start(ready, ran))


def with_metal_and_holds(ready: Starter, ends: AtEnds, ran: RunHeat | None = None) -> AtEnds:
    """The same with what the metals leave open, and with the holds at the ends where there are any."""
    hold_s = holds_at_ends(ready, ends) if ends.singles else {}
    return replace(ends, of_metal=metal_of_start(ready, ran), hold_s=hold_s)


def start_trials(ready: Starter, many: Sequence[Pins], judge: Judge) -> tuple[Trial, ...]:
    """The start with each set of figures at their ends; those that may go side by side do.

    Currents are run in every case, heat in the hottest ambient alone, since a hotter one never makes anything cooler.
    Holds are not run again.
    """
    found: dict[int, Trial] = {}
    members: dict[int, Starter] = {}
    for number, pins in enumerate(many):
        try:
            members[number] = Starter(*moved(ready.job, ready.worked, pins))
        except GriddesignError as error:
            found[number] = refusal(pins, error)
    for group in _groups(members):
        found.update(_group_trials(ready.job, {number: (many[number], members[number]) for number in group}, judge))
    return tuple(found[number] for number in range(len(many)))


def _groups(members: Mapping[int, Starter]) -> list[list[int]]:
    groups: list[list[int]] = []
    for number, member in members.items():
        group = next((group for group in groups if alike(members[group[0]], member)), None)
        if group is None:
            groups.append([number])
        else:
            group.append(number)
    return groups


def _group_trials(as_given: Job, group: Mapping[int, tuple[Pins, Starter]], judge: Judge) -> dict[int, Trial]:
    """The trials of one group; where one of them cannot be run each goes by itself."""
    try:
        return dict(zip(group, _run(as_given, tuple(group.values()), judge), strict=True))
    except GriddesignError as error:
        if len(group) == 1:
            return {number: refusal(pins, error) for number, (pins, _) in group.items()}
    alone = [_group_trials(as_given, {number: one}, judge) for number, one in group.items()]
    return {number: trial for found in alone for number, trial in found.items()}


def _run(as_given: Job, group: Sequence[tuple[Pins, Starter]], judge: Judge) -> Iterator[Trial]:
    members = [member for _, member in group]
    all_cases, hot = _together(members), _together([_in_hottest_ambient(member) for member in members])
    run, heat = all_cases.run(all_cases.cases), _heat(hot, as_given)
    columns = zip(_places(all_cases, 1), _places(hot, len(ENDS)), strict=True)
    for (pins, member), (at, hot_at) in zip(group, columns, strict=True):
        own = run if len(group) == 1 else run_of(run, at)
        ran = RunHeat(member, heat if len(group) == 1 else tuple(ran_of(one, member, hot_at) for one in heat), ())
        hot_c = hottest_c(deciding(ran.given_rows))
        current = np.array([log.peak_a for log in own.notches])
        findings = tuple(judge(member, own, ran if heat else None))
        yield Trial(pins, findings, current, hot_c, worst=ran.duty_rows)


def holds_at_ends(ready: Starter, ends: AtEnds) -> dict[str, tuple[float | None, float | None]]:
    """Shortest hold of each section, s, None for ever: the least and the most of it over the figures as given and all
    ends together (with one figure alone, its two ends). Empty where nothing is known of the heat."""
    trials = [trial for trial in (ends.base, *(ends.corners or ends.singles)) if trial.worst]
    each = [_held(ready, trial) for trial in trials]
    names = each[0] if each else {}
    return {name: (_least([one[name] for one in each]), _most([one[name] for one in each])) for name in names}


def _held(ready: Starter, trial: Trial) -> dict[str, float | None]:
    there = _in_hottest_ambient(Starter(*moved(ready.job, ready.worked, trial.pins)))
    return shortest(holds(there.job, there.heated, trial.worst))


def shortest(held: Iterable[HeatRow]) -> dict[str, float | None]:
    """Shortest hold of any notch a section is live in, s; None for ever."""
    each: dict[str, list[float | None]] = {}
    for row in held:
        each.setdefault(row.section, []).append(row.hold_s)
    return {section: _least(all_s) for section, all_s in each.items()}


def _least(each_s: Iterable[float | None]) -> float | None:
    return min((hold_s for hold_s in each_s if hold_s is not None), default=None)


def _most(each_s: Sequence[float | None]) -> float | None:
    return None if None in each_s else max(hold_s for hold_s in each_s if hold_s is not None)


def _together(members: Sequence[Starter]) -> Starter:
    return members[0] if len(members) == 1 else abreast(members)


def _places(ready: Starter, ends: int) -> tuple[slice, ...]:
    return ready.places(ends) if isinstance(ready, Abreast) else (slice(None),)


def _heat(ready: Starter, as_given: Job) -> tuple[Ran, ...]:
    """The duty that decides, under the name it has in the job as given: findings are held together by it."""
    day = service_day(ready, ENDS)
    duty = one_start(ready, ENDS) if day is None else replace(day, name=day_case(as_given.duty))
    again = None if duty is None else restart(ready, duty)
    return tuple(ran for ran in (duty, again) if ran is not None)


def _in_hottest_ambient(ready: Starter) -> Starter:
    duty = ready.job.duty
    return Starter(replace(ready.job, duty=replace(duty, ambient_low_c=duty.ambient_high_c)), ready.worked)


def metal_of_start(ready: Starter, ran: RunHeat | None = None) -> tuple[Unknown, ...]:
    """The metal's own weak figures and the loss model: what their ends do at the highest voltage, hottest ambient;
    quick where they were run along with the heat as given, ``ran``."""
    if not ready.heated:
        return ()
    ends = metal_ends(ready.job)
    found = (ran and ran.beside) or _settled(ready, metal_cases(ready))
    hot_c, current = found.hot_c, found.peak_a
    names = [notch.name for notch in ready.job.notches]
    pairs = (slice(1 + 2 * number, 3 + 2 * number) for number in range(len(ends)))
    swings = [worst_change(current[:, two], current[:, :1], names) for two in pairs]
    return tuple(metal_unknowns(ends, ready.heated, hot_c, swings))


def _settled(ready: Starter, cases: tuple[StartCase, ...]) -> Beside:
    """The cases in the settled duty, or in one start where there is none."""
    stretches = stretches_of(ready)
    ambient_c = np.array([[case.ambient_c for case in cases]] * len(ready.heated))
    begin_c = settled_begin_c(ready, cases, stretches) if stretches else ambient_c
    lost = ~np.isfinite(begin_c)
    run = ready.run(cases, np.where(lost, ambient_c, begin_c))
    return Beside(np.where(lost, np.inf, run.hottest_c), np.array([log.peak_a for log in run.notches]))
