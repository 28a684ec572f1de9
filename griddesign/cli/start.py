"""``griddesign start``: the run-up through the notches: currents, speed, heat, hold times."""

from collections.abc import Iterator
from pathlib import Path

import click

from griddesign.cli.saying import answer, say, table
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS
from griddesign.job.reading import read_job
from griddesign.judge.records import Verdict
from griddesign.judge.start_result import StartResult, start_of
from griddesign.papers.start_json import start_json
from griddesign.units import show


@click.command("start")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout.")
def command(job: Path, as_json: bool) -> int:
    """Run the car of JOB up through its notches, hot ohms fed back, and judge currents and heat."""
    result = start_of(read_job(job))
    if as_json:
        answer(start_json(result))
    else:
        say(_lines(result))
    return EXIT_HOLDS if result.holds else EXIT_FAILS


def _lines(result: StartResult) -> Iterator[str]:
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
        yield from _sections(result)
    yield ""
    yield from _findings(result)


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
        for log in result.told.notches
    ]
    titles = ("notch", "peak per motor", "frozen flux", "leaves at", "held", "speed", "effort", "step")
    yield from table(titles, rows)


def _summary(result: StartResult) -> Iterator[str]:
    told, energy = result.told, result.told.energy
    yield (
        f"{told.seconds[0]:.1f} s to {3.6 * told.end_m_s[0]:.1f} km/h, {told.distance_m[0]:.0f} m; "
        f"line {energy.line_j[0] / 1e3:.0f} kJ, grid {energy.grid_j[0] / 1e3:.0f} kJ, wheel "
        f"{energy.wheel_j[0] / 1e3:.0f} kJ; closes to {abs(energy.balance_error[0]):.0e}"
    )
    for place, case in enumerate(result.cases[1:], start=1):
        worst = max(float(log.peak_a[place]) for log in result.run.notches)
        yield (
            f"{show(case.line_v, 'voltage')}, {show(case.ambient_c, 'temperature')}: peak "
            f"{show(worst, 'current')}, {result.run.seconds[place]:.1f} s to {3.6 * result.run.end_m_s[place]:.1f} km/h"
        )


def _sections(result: StartResult) -> Iterator[str]:
    rows = []
    for place, name in enumerate(result.told.sections):
        row, hold_s = result.day[name], result.hold_s.get(name)
        hottest = "runs away" if row.runs_away else show(row.hot_c, "temperature")
        rows.append(
            (
                name,
                show(float(result.told.hottest_c[place, 0]), "temperature"),
                hottest,
                show(row.limit_c, "temperature"),
                "no end" if hold_s is None else f"{hold_s:.0f} s",
            )
        )
    yield from table(("section", "one start", next(iter(result.day.values())).case, "limit", "shortest hold"), rows)


def _findings(result: StartResult) -> Iterator[str]:
    held = sum(finding.verdict is Verdict.HOLDS for finding in result.findings)
    yield f"{held} of {len(result.findings)} findings hold."
    for finding in result.findings:
        if finding.verdict is not Verdict.HOLDS:
            yield f"  {str(finding.verdict).upper()}: {finding.item}: {finding.why}"
    for remark in result.remarks:
        yield f"  remark: {remark}"
    if result.not_checked:
        yield f"NOT CHECKED: {', '.join(result.not_checked)}"
