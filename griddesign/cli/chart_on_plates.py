"""``griddesign retap JOB PLATES.csv --chart``: what an old controller does now, notch by notch."""

from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

from griddesign.cli.chart_lines import ChartTurning, chart_json, chart_lines, chart_turning
from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS
from griddesign.job.records import Job
from griddesign.judge.chart_now import ChartOnPlates, chart_on_plates


def answer_chart(job: Job, plates: Path, at: str | None, as_json: bool) -> int:
    """Say it; nothing is written. 1 where a notch carries no current or the chart contradicts itself."""
    found = chart_on_plates(job, plates)
    turning = chart_turning(found.read, (job.line, job.car, job.motor), found.section_ohm, at)
    if as_json:
        idle = [{"plate": place, "why": why} for place, why in found.idle]
        data = chart_json(found.rows, found.contradictions, turning)
        answer({**data, "without_current": idle, "open": list(found.opened)})
    else:
        say(_lines(found, turning))
    return EXIT_FAILS if found.contradictions or any(row.bar for row in found.rows) else EXIT_HOLDS


def _lines(found: ChartOnPlates, turning: ChartTurning | None) -> Iterator[str]:
    yield from chart_lines(found.rows, found.contradictions, turning)
    for name in found.opened:
        yield f"Section {name} is open: a dead plate."
    for why, group in groupby(found.idle, key=lambda one: one[1]):
        places = [place for place, _ in group]
        where = places[0] if len(places) == 1 else f"{places[0]} to {places[-1]}, {len(places)} plates"
        yield f"Without current on every notch: {where}, {why}."
