"""``griddesign design``: counts, taps, all papers."""

import math
from collections.abc import Iterator
from pathlib import Path

import click

from griddesign.cli.finding_lines import finding_lines
from griddesign.cli.nest_lines import NEST_HELP, nest_lines
from griddesign.cli.saying import answer, say, table
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS
from griddesign.job.making import with_kerf
from griddesign.job.nest import with_nest
from griddesign.job.reading import read_job
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.papers.as_json import result_json
from griddesign.papers.issue import issue
from griddesign.papers.whole_set import files_of
from griddesign.shipped import examples_folder
from griddesign.units import show


@click.command("design")
@click.argument("job", required=False, type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the papers (default: output beside the job).")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, everything else on stderr.")
@click.option(
    "--kerf", metavar="LENGTH", help='Beside the nominal cutting files write some offset for a kerf: "0.2 mm".'
)
@click.option("--nest", metavar="SHEET", help=NEST_HELP)
@click.option("--field", is_flag=True, help="Add the current in each plate, drawn and solved from its outline.")
@click.option("--sheets", metavar="NAMES", help='Only these sheets, in a folder of their own: "plate,tap".')
@click.option("--force", is_flag=True, help="Overwrite papers that were edited since they were written.")
def command(
    job: Path | None,
    out: Path | None,
    as_json: bool,
    kerf: str | None,
    nest: str | None,
    field: bool,
    sheets: str | None,
    force: bool,
) -> int:
    """Choose counts and taps for JOB and write all papers. Without JOB: the built-in, invented demo."""
    path = job or examples_folder() / "demo.toml"
    read = read_job(path)
    result = result_of(with_nest(with_kerf(read, kerf) if kerf is not None else read, nest))
    said = list(_summary(result))
    files, part = files_of(result, field=field, only=sheets), () if sheets is None else ("sheets", sheets)
    folder = issue(result, files, out or _beside(job), force=force, part=part)
    if as_json:
        answer(result_json(result))
    else:
        say(said)
    say([f"Papers in {folder}"], to_stderr=as_json)
    return EXIT_HOLDS if result.holds else EXIT_FAILS


def _beside(job: Path | None) -> Path:
    return Path("output") if job is None else job.parent / "output"


def _summary(result: Result) -> Iterator[str]:
    job = result.job
    yield f"{job.title}, revision {job.revision}, fingerprint {result.fingerprint}"
    if job.example:
        yield "Example figures, not for manufacture."
    yield from _notches(result)
    yield from _sections(result)
    yield from nest_lines(result.plates)
    yield ""
    yield from finding_lines(result)


def _notches(result: Result) -> Iterator[str]:
    if not result.notches:
        return
    rows = [
        (
            notch.name,
            show(notch.wanted_ohm, "resistance", digits=4),
            show(notch.cold_ohm, "resistance", digits=4),
            f"{100 * notch.error:+z.1f} %",
            "" if notch.peak_a is None else show(notch.peak_a, "current"),
        )
        for notch in result.notches
    ]
    yield ""
    yield from table(("notch", "wanted", "got, cold", "current off", "peak per motor"), rows)


def _sections(result: Result) -> Iterator[str]:
    design = result.worked.design if result.worked else None
    if design is None:
        return
    rows = [
        (one.name, str(one.plates), str(one.in_parallel), one.kind, show(one.cold_ohm, "resistance", digits=4))
        for one in design.sections
    ]
    yield ""
    yield from table(("section", "plates", "side by side", "kind", "ohms, cold"), rows)
    for proof in (proof for proof in design.proofs if math.isfinite(proof.reached)):
        proved = "proved best" if proof.proved else f"not proved, bound {proof.bound:.4g}"
        yield f"  {proof.objective}: {proof.reached:.4g}, {proved}"
