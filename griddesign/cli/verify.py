"""``griddesign verify``: a supplier's claim, or the inspector's filled-in sheet, point by point."""

from pathlib import Path
from typing import Any

import click

from griddesign.cli.saying import answer, say
from griddesign.cli.verify_lines import verify_lines
from griddesign.cli.waiting import slow_work
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS
from griddesign.job.claim import read_claim
from griddesign.job.inspected import read_inspection
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.papers.issue import issue
from griddesign.papers.verify_json import inspected_json, verify_json
from griddesign.papers.verify_set import as_left_files, verify_files
from griddesign.papers.writing import file_name
from griddesign.verify.claim import verify_claim
from griddesign.verify.inspection import Inspected, inspect
from griddesign.verify.records import Verified

TABLES = frozenset({".csv", ".txt", ".tsv"})


@click.command("verify")
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("file", metavar="CLAIM.toml|READINGS.csv", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the papers (default: output beside the job).")
@click.option("--force", is_flag=True, help="Overwrite papers that were edited since they were written.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, everything else on stderr.")
def command(job: Path, file: Path, out: Path | None, force: bool, as_json: bool) -> int:
    """Hold a claim on the grid of JOB, or the readings of the finished one, against all that is known.

    CLAIM.toml: every claimed figure computed from the rest; a starter: griddesign new FILE --for claim.
    READINGS.csv: plates, boxes, sections and insulation against their acceptance bands. Neither file is ever changed.
    """
    with slow_work(as_json):
        result, data, files, said = _verified(read_job(job), file)
    part = ("verify", file_name(file.stem, suffix=""))
    folder = issue(result, files, out or job.parent / "output", force=force, part=part, held_against=file)
    if as_json:
        answer(data)
    else:
        say(said)
    say([f"Papers in {folder}"], to_stderr=as_json)
    return EXIT_HOLDS if result.holds else EXIT_FAILS


def _verified(job: Job, file: Path) -> tuple[Verified | Inspected, dict[str, Any], dict[str, bytes], list[str]]:
    """The result, its answer, its papers, and what is said of it."""
    if _is_table(file):
        readings = inspect(job, read_inspection(file))
        title = f"{len(readings.left)} readings of {file.name}"
        return readings, inspected_json(readings), as_left_files(readings), list(verify_lines(readings, title))
    claim = verify_claim(job, read_claim(file, job))
    return claim, verify_json(claim), verify_files(claim), list(verify_lines(claim, claim.claim.title))


def _is_table(file: Path) -> bool:
    return file.suffix.lower() in TABLES and not file.name.lower().endswith(".toml.txt")
