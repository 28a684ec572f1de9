"""The papers of new taps: tap sheet, stacking sheet of the boxes that are opened, notches before and after, as-found
record, tonight's where a plate is dead, and the single faults of the new taps."""

from griddesign.judge.retapping.records import RetapResult
from griddesign.papers.as_json import csv_text, text_of
from griddesign.papers.retap_json import notches_json, plates_json, retap_json
from griddesign.papers.sheets.as_found import as_found_sheet, before_after_sheet
from griddesign.papers.sheets.faults import faults_sheet
from griddesign.papers.sheets.restacking import restacking_sheet
from griddesign.papers.sheets.retap import retap_sheet
from griddesign.papers.sheets.tonight import tonight_sheets
from griddesign.papers.whole_set import pdfs_of

PART = ("retap",)
"""What of a job these papers are."""


def retap_files(result: RetapResult) -> dict[str, bytes]:
    """Name below the folder of the set -> content. Same result, same bytes."""
    first = (retap_sheet(result), restacking_sheet(result), before_after_sheet(result), as_found_sheet(result))
    every = (*first, *tonight_sheets(result), faults_sheet(result.faults))
    sheets = tuple(sheet for sheet in every if sheet is not None)
    return {
        **pdfs_of(result, sheets),
        "result.json": text_of(retap_json(result)).encode(),
        "engineer/notches.csv": csv_text(notches_json(result)).encode(),
        "engineer/plates.csv": csv_text(plates_json(result)).encode(),
    }
