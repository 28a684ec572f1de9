"""The template sheet: the plate at 1:1, tile by tile, to lay the old plate on before anything is ordered."""

from collections.abc import Iterator

from griddesign.judge.records import PlateReport, Result
from griddesign.papers import frame
from griddesign.papers.blocks import Block, Drawing, NewPage, Sheet
from griddesign.papers.sheets.common import stamp
from griddesign.papers.template import Template, template_of

ORDER = "Print at 100 %, check the bars, join the tiles by their crosses, lay an old plate on it: the holes must match."
MATCH = (
    "Holes, eyes and the room round the plate must match the old one's. Passes and the strip may differ: a new metal "
    "or new ohms change them."
)
_CAPTION_MM = 17.0


def template_sheet(result: Result, plate: PlateReport) -> Sheet | None:
    """The template of one kind of plate, upright or across, whichever takes fewer pages; None where both take too
    many."""
    name, found = f"Template {plate.wish.name}", []
    for across in (False, True):
        empty = Sheet(name, ORDER, "bench", (), landscape=across)
        room_mm = (frame.live_mm(empty)[0] - 1.0, frame.room_high_mm(empty, stamp(result)) - _CAPTION_MM)
        found.append(template_of(plate.outline, room_mm))
    across = found[1].count < found[0].count
    best = found[across]
    return Sheet(name, ORDER, "bench", tuple(_blocks(plate, best)), landscape=across) if best.tiles else None


def _blocks(plate: PlateReport, template: Template) -> Iterator[Block]:
    for number, tile in enumerate(template.tiles):
        if number:
            yield NewPage()
        yield Drawing(tile.picture, " ".join(_caption(plate, template, number)))


def _caption(plate: PlateReport, template: Template, number: int) -> Iterator[str]:
    tile = template.tiles[number]
    yield f"Plate {plate.wish.name}, 1:1, as it is to come out, pass 1 at H1."
    if not number:
        yield MATCH
    if template.count > 1:
        yield (
            f"Tile {number + 1} of {template.count}: column {tile.column} of {template.columns}, row {tile.row} of "
            f"{template.rows} from the top left."
        )
