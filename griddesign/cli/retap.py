"""``griddesign retap``: the best taps on plates at hand, and what can be done tonight where one is dead."""

from pathlib import Path

import click

from griddesign.cli.asked_speed import AT_OPTION, refuse_lone_at
from griddesign.cli.retap_lines import retap_lines
from griddesign.cli.saying import answer, say
from griddesign.cli.waiting import slow_work
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS
from griddesign.job.reading import read_job
from griddesign.judge.retap import TIME_LIMIT_S, retap_of, searching
from griddesign.papers.issue import issue
from griddesign.papers.retap_json import retap_json
from griddesign.papers.retap_set import PART, retap_files
from griddesign.units import read


@click.command("retap")
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("plates", metavar="PLATES.csv", type=click.Path(path_type=Path))
@click.option("--time-limit", metavar="TIME", default=f"{TIME_LIMIT_S:g} s", show_default=True, help="For the proof.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the papers (default: output beside the job).")
@click.option("--force", is_flag=True, help="Overwrite papers that were edited since they were written.")
@click.option("--symptom", metavar="TEXT", help='Only rank the single faults that feel so: "dead 1-3, jerk 4".')
@click.option("--chart", is_flag=True, help="Only what the contact chart of JOB makes of every notch on today's taps.")
@AT_OPTION
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, everything else on stderr.")
def command(
    job: Path,
    plates: Path,
    time_limit: str,
    out: Path | None,
    force: bool,
    symptom: str | None,
    chart: bool,
    at: str | None,
    as_json: bool,
) -> int:
    """Find the best taps for the grid of JOB on the plates measured in PLATES.csv, proved best.

    Readings that overlap are held against each other; with the taps of today in the job it tells what the controller
    does now, and where a plate is dead what can be done tonight. A blank PLATES.csv: griddesign new FILE --for retap.
    """
    refuse_lone_at(at, chart)
    if chart:
        from griddesign.cli.chart_on_plates import answer_chart

        return answer_chart(read_job(job), plates, at, as_json)
    if symptom is not None:
        from griddesign.cli.symptom import answer_symptom

        return answer_symptom(read_job(job), plates, symptom, as_json)
    with slow_work(as_json):
        result = retap_of(read_job(job), plates, searching(read(time_limit, "time").value))
    said, data = list(retap_lines(result)), retap_json(result)
    folder = issue(result, retap_files(result), out or job.parent / "output", force=force, part=PART)
    if as_json:
        answer(data)
    else:
        say(said)
    say([f"Papers in {folder}"], to_stderr=as_json)
    return EXIT_HOLDS if result.holds else EXIT_FAILS
