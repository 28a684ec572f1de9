"""The plots of the start sheet: current against speed and against time, effort against adhesion and resistance."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from griddesign.judge.start_findings import grip_of
from griddesign.judge.start_result import StartResult
from griddesign.papers.chart import Chart, Curve, chart_picture
from griddesign.papers.chart_notes import Note
from griddesign.papers.marks import MEDIUM_MM, THICK_MM, Picture
from griddesign.papers.sheets.shown import Shown
from griddesign.traction.mechanics import resistance_n
from griddesign.traction.records import Notch
from griddesign.traction.runup import changing
from griddesign.traction.runup.records import TracePoint

HIGH_MM = 51.0
SPEED_HIGH_MM = 70.0
_RESISTANCE_POINTS = 16
_SHORT_NAME = 4

Points = tuple[tuple[float, float], ...]


def current_against_speed(result: StartResult, shown: Shown) -> Picture:
    """The saw-tooth over speed, with the bound if the flux stood still as open dots over the peaks."""
    unit, per = shown.axis("speed")
    told = result.told
    curve = Curve("A per motor", _points(result, "speed_m_s", per), THICK_MM)
    notes = [
        Note(name, per * float(log.arrive_m_s[0]), float(log.arrive_a[0]), bold=True)
        for name, log in zip(notch_marks(result), told.notches, strict=True)
    ]
    bounds = [
        Note("", per * float(log.arrive_m_s[0]), float(log.frozen_flux_a[0]), "open")
        for log in told.notches
        if not log.passed[0]
    ]
    chart = Chart(
        f"speed, {unit}",
        "current per motor, A",
        (curve,),
        _levels(result, shown),
        height_mm=SPEED_HIGH_MM,
        spans=tuple((name, per * speed) for name, _, speed in _changes(result)),
        notes=(*bounds, *notes),
        levels_beside=True,
    )
    return chart_picture(chart)


def current_against_time(result: StartResult, shown: Shown) -> Picture:
    """The saw-tooth over time, and the current from the line beside it."""
    told = result.told
    curves = (
        Curve("A per motor", _points(result, "time_s", 1.0), THICK_MM, 0),
        Curve("A from line", _line_points(result), MEDIUM_MM, 2),
    )
    chart = Chart(
        "time from power on, s",
        "current, A",
        curves,
        (*_levels(result, shown), *_breaker(result, shown)),
        height_mm=HIGH_MM,
        spans=tuple((name, seconds) for name, seconds, _ in _changes(result)),
        notes=tuple(
            Note(name, float(log.arrive_s[0]), float(log.arrive_a[0]), bold=True)
            for name, log in zip(notch_marks(result), told.notches, strict=True)
        ),
        levels_beside=True,
    )
    return chart_picture(chart)


def effort_against_speed(result: StartResult, shown: Shown) -> Picture:
    """Pull at the rim over speed; what the rails take, and what running resistance and gradient hold with."""
    assert result.job.car is not None
    unit, per = shown.axis("speed")
    force, newtons = shown.axis("force")
    effort = tuple((per * float(p.speed_m_s[0]), newtons * float(p.pull_n[0])) for p in _upright(result))
    top_m_s = max(float(point.speed_m_s[0]) for point in result.told.trace)
    speeds = [top_m_s * step / _RESISTANCE_POINTS for step in range(_RESISTANCE_POINTS + 1)]
    holds = tuple((per * speed, newtons * resistance_n(result.job.car, speed)) for speed in speeds)
    grip_n = grip_of(result.job)
    levels = () if grip_n is None else ((f"adhesion {shown.of(grip_n, 'force')}", newtons * grip_n),)
    notes = tuple(
        Note(name, per * float(log.arrive_m_s[0]), newtons * float(log.effort_n[0]), bold=True)
        for name, log in zip(notch_marks(result), result.told.notches, strict=True)
    )
    curves = (Curve("effort", effort, THICK_MM), Curve("resistance", holds, MEDIUM_MM, 1))
    title = f"force at the rim, {force}"
    chart = Chart(f"speed, {unit}", title, curves, levels, height_mm=HIGH_MM, notes=notes, levels_beside=True)
    return chart_picture(chart)


def notch_marks(result: StartResult) -> tuple[str, ...]:
    """What stands at the peaks: the notches' names where they are short, else their numbers in the order of the run."""
    names = tuple(log.name for log in result.told.notches)
    if all(len(name) <= _SHORT_NAME for name in names):
        return names
    return tuple(str(number) for number in range(1, len(names) + 1))


def _points(result: StartResult, across: str, per: float) -> Points:
    return tuple((per * float(getattr(point, across)[0]), float(point.mean_a[0])) for point in _upright(result))


def _upright(result: StartResult) -> Iterator[TracePoint]:
    """The moments of the run; where the power goes off, one more without current at the moment it does."""
    yield result.told.trace[0]
    for before, after in pairwise(result.told.trace):
        if before.notch and not after.notch:
            nothing = np.zeros_like(before.mean_a)
            yield replace(before, notch="", mean_a=nothing, pull_n=nothing, line_a=nothing)
        yield after


def _line_points(result: StartResult) -> Points:
    """A from line, none while the power is off."""
    return tuple(
        (float(point.time_s[0]), 0.0 if point.line_a is None else float(point.line_a[0])) for point in _upright(result)
    )


def _levels(result: StartResult, shown: Shown) -> tuple[tuple[str, float], ...]:
    """The peak that was asked for, and the valley where the driver goes by it."""
    start = result.job.start
    assert start is not None
    peak = (f"peak asked {shown.of(start.peak_a, 'current')}", start.peak_a)
    valley = (f"valley {shown.of(result.valley_a, 'current')}", result.valley_a)
    return (peak, valley) if start.notch_up == "at valley current" else (peak,)


def _breaker(result: StartResult, shown: Shown) -> tuple[tuple[str, float], ...]:
    breaker_a = result.job.line.breaker_a if result.job.line else None
    return () if breaker_a is None else ((f"breaker {shown.of(breaker_a, 'current')}", breaker_a),)


def _changes(result: StartResult) -> list[tuple[str, float, float]]:
    """Changes of grouping: words, seconds and speed at which the new one is reached."""
    notches, logs = result.job.notches, {log.name: log for log in result.told.notches}
    regrouped = [after for before, after in pairwise(notches) if changing.regrouped(before, after)]
    return [
        (grouping_words(one), float(logs[one.name].arrive_s[0]), float(logs[one.name].arrive_m_s[0]))
        for one in regrouped
    ]


def grouping_words(notch: Notch) -> str:
    """How the motors stand, in the trade's words."""
    if notch.network is not None:
        return "network"
    series, parallel = notch.grouping.series, notch.grouping.parallel
    if parallel == 1:
        return "series"
    return "parallel" if series == 1 else f"{series} in series × {parallel}"
