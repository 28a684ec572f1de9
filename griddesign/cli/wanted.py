"""``griddesign wanted``: the ohms each notch should have, and why."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import click

from griddesign.choose.from_job import work_out
from griddesign.cli.asked_speed import AT_OPTION, refuse_lone_at
from griddesign.cli.saying import answer, say, table
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS, InputError
from griddesign.job.contacts import chart_of_file
from griddesign.job.reading import read_job
from griddesign.judge.contacts import chart_remarks
from griddesign.papers.as_json import wanted_json
from griddesign.traction.records import GivenOhms, Ladder, NotchOhms, NotchWanted
from griddesign.units import show


@click.command("wanted")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout.")
@click.option("--chart", is_flag=True, help="Only what the contact chart of JOB makes of every notch.")
@AT_OPTION
def command(job: Path, as_json: bool, chart: bool, at: str | None) -> int:
    """The cold ohms of every notch and section of JOB; with plates and a duty, the hot grid is allowed for."""
    refuse_lone_at(at, chart)
    if chart:
        return _chart(job, as_json, at)
    read = read_job(job)
    if not read.notches:
        raise InputError(f"{job} has no [[notch]]", hint="Add the notches, or ask for a plate: griddesign plate.")
    wanted = work_out(read).wanted
    wanted = replace(wanted, remarks=(*wanted.remarks, *chart_remarks(read)))
    if as_json:
        answer(wanted_json(wanted))
    else:
        say(_lines(wanted))
    return EXIT_HOLDS


def _chart(job: Path, as_json: bool, at: str | None) -> int:
    """The chart by itself: read even where a notch is no grouping of motors and a grid, nor a network."""
    from griddesign.cli.chart_lines import chart_json, chart_lines, chart_turning
    from griddesign.judge.contacts import chart_now

    chart = chart_of_file(job)
    if chart is None:
        raise InputError(f"{job} has no [controller]", hint="Give leads and, on every notch, joined terminals.")
    rows, found = chart_now(chart.read, chart.section_ohm), chart.read.contradictions
    turning = chart_turning(chart.read, (chart.line, chart.car, chart.motor), chart.section_ohm, at)
    if as_json:
        answer(chart_json(rows, found, turning))
    else:
        say(chart_lines(rows, found, turning))
    return EXIT_FAILS if found or any(row.bar for row in rows) else EXIT_HOLDS


def _lines(wanted: Ladder | GivenOhms) -> Iterator[str]:
    running = isinstance(wanted, Ladder)
    titles = (
        "notch",
        "sections",
        "wanted",
        *(("peak", "frozen flux", "valley", "leaves at", "effort") if running else ()),
    )
    yield from table(titles, [_row(notch) for notch in wanted.notches], left=2)
    yield ""
    yield from table(
        ("section", "wanted"), [(name, show(ohm, "resistance", digits=4)) for name, ohm in wanted.sections]
    )
    if isinstance(wanted, Ladder):
        yield f"Notch up at {show(wanted.valley_a, 'current')} per motor. Ohms are the grid's own, cold (20 °C)."
    if not wanted.exact:
        yield f"Not exact: {wanted.note}"
    for remark in wanted.remarks:
        yield f"remark: {remark}"


def _row(notch: NotchOhms) -> tuple[str, ...]:
    head = (notch.name, " ".join(notch.sections) or "none", show(notch.wanted_ohm, "resistance", digits=4))
    if not isinstance(notch, NotchWanted):
        return head
    return (
        *head,
        show(notch.peak_a, "current"),
        show(notch.frozen_flux_a, "current"),
        "passed" if notch.passed else show(notch.valley_a, "current"),
        f"{notch.speed_kmh:.1f} km/h" if notch.speed_kmh < 1e4 else "no end",
        show(notch.effort_n, "force"),
    )
