"""The brake of a job on the grid as chosen: building up, one stop, its heat after a day of starts, a long hill."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.records import HeatRow
from griddesign.judge.brake_day import settled_stops
from griddesign.judge.brake_findings import brake_findings, brake_remarks, unbrakable
from griddesign.judge.brake_hill import HillTold, hill_told
from griddesign.judge.brake_rows import Begin, BrakeCases, brake_rows
from griddesign.judge.plate_tables import constant_ohms
from griddesign.judge.records import Finding
from griddesign.judge.runup import CLOSED, FINEST, StartCase, Starter
from griddesign.traction.braking.build_up import BuildUp, build_up
from griddesign.traction.braking.records import BrakeRun, Braking
from griddesign.traction.braking.rig import brake_notch
from griddesign.traction.braking.run import USUAL, brake
from griddesign.traction.runup.records import Plates, RunUp
from griddesign.traction.runup.steps import Care
from griddesign.traction.runup.wiring import Drive

ONE_STOP = "one stop"
SIDE_BY_SIDE = Care(1, 2)


@dataclass(frozen=True)
class BrakingResult:
    """The brake told: building up notch by notch (plates hot and cold), one stop in full (``told``: coldest ambient,
    grid cold), all cases side by side (``run``), their rows and the hill's in ``heat``. ``told`` and ``run`` are None
    where the brake cannot be reckoned; the findings then say why."""

    plan: Braking
    build_up: tuple[BuildUp, ...] = ()
    told: BrakeRun | None = None
    run: BrakeRun | None = None
    cases: BrakeCases | None = None
    hill: HillTold | None = None
    heat: tuple[HeatRow, ...] = ()
    findings: tuple[Finding, ...] = ()
    remarks: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()


def braking_of(ready: Starter, start: RunUp, day: Sequence[HeatRow]) -> BrakingResult | None:
    """The brake of the job; None where it has none.

    ``start`` is the start run in ``ready.cases``; ``day`` holds the rows of the settled day at the worst end of the
    weak figures, or those of one start: from there the grid is braked on, too. What cannot be braked at all comes back
    as a finding, since the start still stands.
    """
    plan = ready.job.braking
    if plan is None:
        return None
    try:
        return _braked(ready, plan, start, day)
    except InputError as error:
        return BrakingResult(plan, findings=(unbrakable(error),))


def _braked(ready: Starter, plan: Braking, start: RunUp, day: Sequence[HeatRow]) -> BrakingResult:
    cases = BrakeCases.of(ready, (Begin(ONE_STOP, {}), *_begins(ready, day)))
    told = _told(ready, plan, cases)
    run = _brake(ready, plan, cases.columns, cases.begin_c, cases.plates, care=SIDE_BY_SIDE)
    rows = brake_rows(ready, cases, run)
    every = settled_stops(ready, start, day, cases, run)
    hill = hill_told(ready, plan, cases) if plan.hill else None
    rows = (*rows, *every, *(hill.heat if hill else ()))
    built = _build_up(ready, plan, run)
    result = BrakingResult(plan, built, told, run, cases, hill, rows)
    return replace(
        result,
        findings=tuple(brake_findings(ready, plan, built, run, rows, hill)),
        remarks=tuple(brake_remarks(told, ready.job.paper.units)),
        not_checked=("adhesion under the brake",) if ready.job.car and ready.job.car.adhesion is None else (),
    )


def _begins(ready: Starter, day: Sequence[HeatRow]) -> tuple[Begin, ...]:
    """The grid as the hottest moment of the day leaves it, ambient by ambient; nothing without plates."""
    if not ready.heated or not day:
        return ()
    left: dict[float, dict[str, float]] = {}
    for row in day:
        sections = left.setdefault(row.ambient_c, {})
        sections[row.section] = max(sections.get(row.section, -np.inf), row.hot_c)
    return (Begin(f"{ONE_STOP} after {day[0].case}", left),)


def _told(ready: Starter, plan: Braking, cases: BrakeCases) -> BrakeRun:
    """One stop alone, stepped as finely as its energy needs to close to 1e-6, with its moments for a plot."""
    coldest, plates = cases.columns[:1], cases.tables(1)
    parts = 1
    while True:
        care = Care(parts, USUAL.rounds + parts // 2)
        found = _brake(ready, plan, coldest, None, plates, care=care, trace=True)
        if abs(float(found.energy.balance_error[0])) <= CLOSED or parts >= FINEST:
            return found
        parts *= 2


def _brake(
    ready: Starter,
    plan: Braking,
    columns: Sequence[StartCase],
    begin_c: FloatArray | None,
    plates: Plates | None,
    *,
    care: Care,
    trace: bool = False,
) -> BrakeRun:
    job = ready.job
    assert job.car and job.motor
    arrays, sections = ready.arrays(columns, begin_c), tuple(ready.cold_ohm)
    return brake(job.car, job.motor, plan, sections, arrays, plates or constant_ohms, care=care, trace=trace)


def _build_up(ready: Starter, plan: Braking, run: BrakeRun) -> tuple[BuildUp, ...]:
    """Every notch with its plates as hot as they are met in any case: the most ohms, the hardest to build up."""
    job = ready.job
    assert job.car and job.motor
    drive, sections = Drive(job.car, job.motor), tuple(ready.cold_ohm)
    per_m_s = job.car.gear_ratio * 2.0 / job.car.wheel_diameter_m
    notches = (brake_notch(notch, sections, drive) for notch in plan.notches)
    return tuple(
        build_up(notch.name, notch.excited[0], float(log.total_ohm.max()), plan, per_m_s)
        for notch, log in zip(notches, run.notches, strict=True)
    )
