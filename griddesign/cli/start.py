"""``griddesign start``: the run-up through the notches: currents, speed, heat, hold times."""

from dataclasses import replace
from pathlib import Path

import click

from griddesign.cli.saying import answer, say
from griddesign.cli.scatter_lines import drawn, samples_option, scatter_lines, seed_option
from griddesign.cli.start_lines import start_lines
from griddesign.cli.waiting import slow_work
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS
from griddesign.job.reading import read_job
from griddesign.judge.start_result import start_of
from griddesign.papers.issue import issue
from griddesign.papers.start_json import start_json
from griddesign.papers.start_set import PART, start_files


@click.command("start")
@click.argument("job", type=click.Path(path_type=Path))
@samples_option
@seed_option
@click.option("--out", type=click.Path(path_type=Path), help="Write start sheet, heat sheet and crew card below DIR.")
@click.option("--force", is_flag=True, help="Overwrite papers that were edited since they were written.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout.")
def command(job: Path, samples: int | None, seed: int, out: Path | None, force: bool, as_json: bool) -> int:
    """Run the car of JOB up through its notches, hot ohms fed back, and judge currents and heat."""
    with slow_work(as_json):
        result = start_of(read_job(job))
        if samples and result.ready:
            result = replace(result, scatter=drawn(result.ready, samples, seed))
    if out is not None:
        say([f"Papers in {issue(result, start_files(result), out, force=force, part=PART)}"], to_stderr=True)
    if as_json:
        answer(start_json(result))
    else:
        say([*start_lines(result), *(["", *scatter_lines(result.scatter)] if result.scatter else [])])
    return EXIT_HOLDS if result.holds else EXIT_FAILS
