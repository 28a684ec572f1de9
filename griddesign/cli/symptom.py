"""``griddesign retap JOB PLATES.csv --symptom``: which single fault of the old grid feels like what the driver says."""

from pathlib import Path

from griddesign.cli.fault_lines import symptom_fits, symptom_lines
from griddesign.cli.saying import answer, say
from griddesign.errors import EXIT_FAILS, EXIT_HOLDS
from griddesign.job.records import Job
from griddesign.judge.faults.found import faults_on_plates
from griddesign.papers.faults_json import fits_json


def answer_symptom(job: Job, plates: Path, text: str, as_json: bool) -> int:
    """Say the faults that fit, best first; nothing is written. 1 where none does."""
    table = faults_on_plates(job, plates)
    fits = symptom_fits(table, text)
    if as_json:
        answer({"schema": 1, "symptom": text, "faults": fits_json(fits), "note": table.note})
    else:
        say([*([table.note] if table.note else []), *symptom_lines(text, fits)])
    return EXIT_HOLDS if fits else EXIT_FAILS
