"""A long hill held on one brake notch: current, speed, the heat at the foot, and what would come if it never ended."""

from dataclasses import dataclass, replace

import numpy as np

from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import OVERSHOOT_K
from griddesign.heat.records import HeatRow
from griddesign.judge.brake_rows import BrakeCases, row_of
from griddesign.judge.plate_tables import constant_ohms
from griddesign.judge.runup import Starter
from griddesign.traction.braking.hill import Descent, hill_law
from griddesign.traction.braking.records import Braking, Hill
from griddesign.traction.braking.rig import brake_notch, rig
from griddesign.traction.runup.records import Bools

LONG_HILL = "long hill"


@dataclass(frozen=True, eq=False)
class HillTold:
    """The hill as driven. Arrays over the columns of ``BrakeCases``: begin and foot of the hill.

    ``holds`` whether the notch holds the car all the way; ``steady_c`` (sections, columns) where the temperatures
    would end on a hill without end (inf: they run away), ``limit_s`` (columns,) when the first section would be at its
    limit (inf: never).
    """

    hill: Hill
    total_ohm: FloatArray
    lowest_ohm: float
    highest_ohm: float
    current_a: FloatArray
    speed_m_s: FloatArray
    foot_current_a: FloatArray
    foot_speed_m_s: FloatArray
    seconds: FloatArray
    foot_c: FloatArray
    steady_c: FloatArray
    limit_s: FloatArray
    holds: Bools
    heat: tuple[HeatRow, ...] = ()


def hill_told(ready: Starter, plan: Braking, cases: BrakeCases) -> HillTold:
    """The hill of the job from every beginning. Raises InputError and CurveError where nothing can be held."""
    job, hill = ready.job, plan.hill
    assert hill and job.car and job.motor
    bench = rig(
        job.car, job.motor, ready.arrays(cases.columns, cases.begin_c), cases.plates or constant_ohms, -hill.fall
    )
    asked = next(notch for notch in plan.notches if notch.name == hill.notch)
    notch = brake_notch(asked, tuple(ready.cold_ohm), bench.drive)
    descent = Descent(bench, notch, hill_law(bench, notch))
    told = _driven(ready, cases, hill, descent)
    return replace(told, heat=tuple(_rows(ready, cases, told)) if ready.heated else ())


def _driven(ready: Starter, cases: BrakeCases, hill: Hill, descent: Descent) -> HillTold:
    begin_c = cases.begin_c
    total_ohm, current, speed = descent.at(begin_c)
    foot_c, seconds = descent.at_foot(begin_c, hill.length_m)
    foot_ohm, foot_current, foot_speed = descent.at(foot_c)
    limit_c = np.array([[section.limit_c] for section in ready.heated]) if ready.heated else np.full((1, 1), np.inf)
    tops_c = np.full_like(begin_c, np.inf) if cases.plates is None else cases.plates.top_c
    steady_c = descent.steady_c(begin_c, tops_c) if cases.plates else begin_c
    over: Bools = np.asarray((steady_c > limit_c).any(axis=0))
    limit_s = descent.seconds_until(begin_c, limit_c, over)
    holds = descent.law.holds(total_ohm) & descent.law.holds(foot_ohm)
    law = descent.law
    return HillTold(
        hill=hill,
        total_ohm=foot_ohm,
        lowest_ohm=float(law.total_ohm[0]),
        highest_ohm=float(law.total_ohm[-1]),
        current_a=current,
        speed_m_s=speed,
        foot_current_a=foot_current,
        foot_speed_m_s=foot_speed,
        seconds=seconds,
        foot_c=np.where(cases.lost | (foot_c > tops_c + OVERSHOOT_K), np.inf, foot_c),
        steady_c=steady_c,
        limit_s=limit_s,
        holds=holds,
    )


def _rows(ready: Starter, cases: BrakeCases, told: HillTold) -> list[HeatRow]:
    rows = []
    for begin, ambient_c, block in cases.blocks():
        name = LONG_HILL + begin.case.removeprefix("one stop")
        for place in range(len(ready.heated)):
            foot_c, bound_c = told.foot_c[place, block], told.foot_c[place, cases.with_loss :][block]
            row = row_of(ready, place, (name, ambient_c), cases.ends, foot_c, bound_c, told.limit_s[block])
            runs_away = bool(np.isinf(told.steady_c[place, block]).any())
            rows.append(replace(row, notch=told.hill.notch, runs_away=row.runs_away or runs_away))
    return rows
