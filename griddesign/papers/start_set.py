"""The papers of a start: start, heat, brake, scatter sheet and crew card, alone or as part of the set of a design."""

from griddesign.judge.start_result import StartResult
from griddesign.papers.as_json import text_of
from griddesign.papers.sheets.brake import brake_sheet
from griddesign.papers.sheets.crew import crew_sheet
from griddesign.papers.sheets.heat import heat_sheet
from griddesign.papers.sheets.scatter import scatter_sheet
from griddesign.papers.sheets.start import start_sheet
from griddesign.papers.start_json import start_json
from griddesign.papers.whole_set import pdfs_of

PART = ("start",)
"""What of a job the papers of a start are, where they are issued alone."""


def start_files(result: StartResult) -> dict[str, bytes]:
    """Name below the folder of the start's papers -> content. Same result, same bytes."""
    every = (
        start_sheet(result),
        heat_sheet(result, result.day_trace),
        brake_sheet(result),
        scatter_sheet(result),
        crew_sheet(result),
    )
    sheets = tuple(sheet for sheet in every if sheet is not None)
    return {**pdfs_of(result, sheets), "result.json": text_of(start_json(result)).encode()}
