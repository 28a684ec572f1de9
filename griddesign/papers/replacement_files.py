"""The papers of one plate alone: as drawn in a job, ordered in another's place, or re-issued after its first-offs."""

from collections.abc import Iterable

from griddesign.judge.records import Result
from griddesign.judge.replacing import Batch, Ordered
from griddesign.papers.as_json import plate_json, text_of
from griddesign.papers.blocks import Sheet
from griddesign.papers.json_parts import Json
from griddesign.papers.nest_json import nest_json
from griddesign.papers.plate_set import drawings_of, files_of_plate
from griddesign.papers.replacement_json import batch_json, ordered_json
from griddesign.papers.sheets.first_off import MEASURED_NOTE, batch_sheet, first_off_blocks, one_only, whole_batch
from griddesign.papers.sheets.nest import nest_sheet
from griddesign.papers.sheets.order import order_sheet
from griddesign.papers.sheets.plate import Says, plate_sheet
from griddesign.papers.sheets.replacement import replacement_sheet, takes_the_place
from griddesign.papers.sheets.template import template_sheet
from griddesign.papers.whole_set import name_of, pdfs_of


def plate_files(result: Result) -> dict[str, bytes]:
    """The plate sheet, its drawing and cutting outline. Same result, same bytes."""
    return _files(result, plate_json(result.plates[0]))


def ordered_files(result: Result, order: Ordered) -> dict[str, bytes]:
    """Plate sheet with the order for one first-off, replacement sheet, drawing, cutting outline."""
    (plate,) = result.plates
    first = (takes_the_place(result, order), *first_off_blocks(result, plate))
    sheets = (replacement_sheet(result, order),)
    says = Says(one_only(result, plate), how_many="1, then wait", first=first)
    return _files(result, ordered_json(order), sheets, says)


def batch_files(result: Result, batch: Batch) -> dict[str, bytes]:
    """Plate sheet with the strip width of the batch, first-off sheet, drawing, cutting outline."""
    sheets = (batch_sheet(result, batch),)
    says = Says(whole_batch(batch), how_many="as ordered", note=MEASURED_NOTE)
    return _files(result, batch_json(batch), sheets, says)


def _files(result: Result, data: Json, more: Iterable[Sheet] = (), says: Says | None = None) -> dict[str, bytes]:
    (plate,) = result.plates
    says = says or Says()
    drawings = drawings_of(result, plate, says)
    order = order_sheet(result, plate) if says == Says() else None
    every = (plate_sheet(result, plate, drawings.plate, says), order, *more, nest_sheet(result, plate, drawings.nests),
             template_sheet(result, plate))  # fmt: skip
    job = result.job
    about = {
        "griddesign": result.version,
        "title": job.title,
        "revision": job.revision,
        "fingerprint": result.fingerprint,
        "example": job.example,
        **({} if plate.nest is None else {"nest": nest_json(plate.nest)}),
    }
    return {
        **pdfs_of(result, tuple(sheet for sheet in every if sheet is not None)),
        "result.json": text_of({**data, **about}).encode(),
        **files_of_plate(result, plate, drawings, name_of(result, plate.wish.name)),
    }
