"""The template sheet: the plate at 1:1, tile by tile, to lay the old plate on before anything is ordered."""

from collections.abc import Iterator

from griddesign.judge.records import PlateReport, Result
from griddesign.papers import frame
from griddesign.papers.blocks import Block, Drawing, NewPage, Sheet
from griddesign.papers.sheets.common import stamp
from griddesign.papers.template import Template, template_of

ORDER = "Print at 100 %. Check the bars, join the tiles by their crosses, lay the old plate on it: holes and edges."
_CAPTION_MM = 12.0


def template_sheet(result: Result, plate: PlateReport) -> Sheet | None:
    """The template of one kind of plate; None where it would take too many pages."""
    empty = Sheet(f"Template {plate.wish.name}", ORDER, "bench", ())
    room_mm = (frame.LIVE_WIDE_MM - 1.0, frame.room_high_mm(empty, stamp(result)) - _CAPTION_MM)
    found = template_of(plate.outline, room_mm)
    return Sheet(empty.name, ORDER, "bench", tuple(_blocks(plate, found))) if found.tiles else None


def _blocks(plate: PlateReport, template: Template) -> Iterator[Block]:
    for number, tile in enumerate(template.tiles):
        if number:
            yield NewPage()
        yield Drawing(tile.picture, " ".join(_caption(plate, template, number)))


def _caption(plate: PlateReport, template: Template, number: int) -> Iterator[str]:
    tile = template.tiles[number]
    yield f"Plate {plate.wish.name}, 1:1, as it is to come out, pass 1 at H1."
    if template.count > 1:
        yield (
            f"Tile {number + 1} of {template.count}: column {tile.column} of {template.columns}, row {tile.row} of "
            f"{template.rows} from the top left."
        )
