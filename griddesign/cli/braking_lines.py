"""The brake as told on the screen, line by line."""

from collections.abc import Iterator

import numpy as np

from griddesign.cli.saying import table
from griddesign.judge.brake_hill import HillTold
from griddesign.judge.braking import BrakingResult
from griddesign.judge.heat_cases import hottest
from griddesign.traction.braking.records import BrakeLog, BrakeRun
from griddesign.units import show, show_tiny


def braking_lines(result: BrakingResult | None) -> Iterator[str]:
    """All that ``griddesign start`` says of the brake but its findings; nothing without one."""
    if result is None:
        return
    yield ""
    yield f"Braking from {_kmh(result.plan.begin_m_s)}, notches taken {result.plan.notch_by}"
    if result.told is not None:
        yield from _stop(result.told)
    if result.hill is not None:
        yield from _hill(result.hill)
    yield from _heat(result)
    for remark in result.remarks:
        yield f"  remark: {remark}"
    if result.not_checked:
        yield f"NOT CHECKED: {', '.join(result.not_checked)}"


def _stop(told: BrakeRun) -> Iterator[str]:
    titles = ("brake notch", "arrives", "leaves", "at", "down to", "held", "holds back", "holds down to", "across grid")
    yield from table(titles, [_notch(log) for log in told.notches])
    energy = told.energy
    parts = (("running resistance", energy.resistance_j), ("drive", energy.drive_j), ("motors", energy.motors_j))
    spent = ", ".join(f"{name} {joules[0] / 1e3:.0f} kJ" for name, joules in parts)
    yield (
        f"{told.seconds[0]:.1f} s, {told.distance_m[0]:.0f} m down to {_kmh(float(told.end_m_s[0]))}; of "
        f"{energy.kinetic_begin_j[0] / 1e3:.0f} kJ grid {energy.grid_j[0] / 1e3:.0f} kJ, {spent}, left "
        f"{energy.kinetic_end_j[0] / 1e3:.0f} kJ; left over {show_tiny(float(energy.balance_error[0]))}"
    )


def _notch(log: BrakeLog) -> tuple[str, ...]:
    if not log.built[0]:
        return (log.name, "does not build up", "", _kmh(float(log.arrive_m_s[0])), "", "", "", "", "")
    drawn = "≈ " if log.below_curve[0] else ""
    return (
        log.name,
        show(float(log.peak_a[0]), "current"),
        "passed" if log.passed[0] else drawn + show(float(log.leave_a[0]), "current"),
        _kmh(float(log.arrive_m_s[0])),
        _kmh(float(log.leave_m_s[0])),
        f"{log.leave_s[0] - log.arrive_s[0]:.2f} s",
        show(float(log.effort_n[0]), "force"),
        _kmh(float(log.holds_m_s[0])),
        show(float(log.grid_v[0]), "voltage"),
    )


def _hill(told: HillTold) -> Iterator[str]:
    if not told.holds[0]:
        yield f"Hill of {100 * told.hill.fall:.3g} %: notch {told.hill.notch} does not hold the car"
        return
    yield (
        f"Hill of {100 * told.hill.fall:.3g} %, {told.hill.length_m:.0f} m on notch {told.hill.notch}: "
        f"{show(float(told.current_a[0]), 'current')} per motor at {_kmh(float(told.speed_m_s[0]))}, "
        f"{told.seconds[0]:.0f} s, {_kmh(float(told.foot_speed_m_s[0]))} at the foot"
    )


def _heat(result: BrakingResult) -> Iterator[str]:
    """The hottest of every case, section by section."""
    cases = dict.fromkeys(row.case for row in result.heat)
    if not cases:
        return
    worst = {case: hottest(tuple(row for row in result.heat if row.case == case)) for case in cases}
    sections = dict.fromkeys(row.section for row in result.heat)
    rows = [(case, *(_hot(worst[case][name].hot_c) for name in sections)) for case in cases]
    yield from table(("hottest", *sections), rows)


def _hot(hot_c: float) -> str:
    return show(hot_c, "temperature") if np.isfinite(hot_c) else "beyond"


def _kmh(m_s: float) -> str:
    return f"{3.6 * m_s:.1f} km/h"
