"""The papers of verifying: the report on a claim, or the as-left record, with ``findings.json`` and a table."""

from griddesign.papers.as_json import csv_text, text_of
from griddesign.papers.sheets.as_left import as_left_sheet
from griddesign.papers.sheets.verify import verify_sheet
from griddesign.papers.verify_json import inspected_json, verify_json
from griddesign.papers.whole_set import pdfs_of
from griddesign.verify.inspection import Inspected
from griddesign.verify.records import Verified


def verify_files(result: Verified) -> dict[str, bytes]:
    """Name below the folder of the set -> content. Same result, same bytes."""
    data = verify_json(result)
    return {**pdfs_of(result, (verify_sheet(result),)), "findings.json": text_of(data).encode()}


def as_left_files(result: Inspected) -> dict[str, bytes]:
    """The same for the inspector's sheet. The filled-in file itself is never among them."""
    data = inspected_json(result)
    return {
        **pdfs_of(result, (as_left_sheet(result),)),
        "findings.json": text_of(data).encode(),
        "bench/readings.csv": csv_text(data["readings"]).encode(),
    }
