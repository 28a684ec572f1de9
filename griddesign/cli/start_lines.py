"""A start as told on the screen, line by line."""

from collections.abc import Iterator

from griddesign.cli.braking_lines import braking_lines
from griddesign.cli.cut_out_lines import cut_out_lines
from griddesign.cli.finding_lines import finding_lines
from griddesign.cli.heat_lines import heat_lines
from griddesign.cli.saying import table
from griddesign.judge.start_result import StartResult
from griddesign.units import show, show_tiny


def start_lines(result: StartResult) -> Iterator[str]:
    """All that ``griddesign start`` says of a start."""
    job = result.job
    yield f"{job.title}, revision {job.revision}, fingerprint {result.fingerprint}"
    if job.example:
        yield "Example figures, not for manufacture."
    first = result.cases[0]
    yield f"One start at {show(first.line_v, 'voltage')}, {show(first.ambient_c, 'temperature')}, grid cold"
    yield ""
    yield from _notches(result)
    yield ""
    yield from _summary(result)
    if result.day:
        yield ""
        yield from heat_lines(result)
    yield from braking_lines(result.braking)
    yield from cut_out_lines(result.cut_out)
    yield ""
    yield from finding_lines(result)


def _notches(result: StartResult) -> Iterator[str]:
    rows = [
        (
            log.name,
            show(float(log.peak_a[0]), "current"),
            show(float(log.frozen_flux_a[0]), "current"),
            "passed" if log.passed[0] else show(float(log.leave_a[0]), "current"),
            f"{log.leave_s[0] - log.arrive_s[0]:.2f} s",
            f"{3.6 * log.leave_m_s[0]:.1f} km/h",
            show(float(log.effort_n[0]), "force"),
            f"{log.step_m_s2[0]:+.2f} m/s²",
        )
        for log in result.told.rows
    ]
    titles = ("notch", "peak per motor", "frozen flux", "leaves at", "held", "speed", "effort", "step")
    yield from table(titles, rows)


def _summary(result: StartResult) -> Iterator[str]:
    told, energy = result.told, result.told.energy
    yield (
        f"{told.seconds[0]:.1f} s to {3.6 * told.end_m_s[0]:.1f} km/h, {told.distance_m[0]:.0f} m; "
        f"line {energy.line_j[0] / 1e3:.0f} kJ, grid {energy.grid_j[0] / 1e3:.0f} kJ, wheel "
        f"{energy.wheel_j[0] / 1e3:.0f} kJ; left over {show_tiny(float(energy.balance_error[0]))}"
    )
    for place, case in enumerate(result.cases[1:], start=1):
        worst = max(float(log.peak_a[place]) for log in result.run.notches)
        yield (
            f"{show(case.line_v, 'voltage')}, {show(case.ambient_c, 'temperature')}: peak "
            f"{show(worst, 'current')}, {result.run.seconds[place]:.1f} s to {3.6 * result.run.end_m_s[place]:.1f} km/h"
        )
