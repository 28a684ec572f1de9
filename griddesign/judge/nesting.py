"""The plates of a result laid out on the stock sheet that was asked for."""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from griddesign.errors import InputError
from griddesign.job.records import Job
from griddesign.judge.records import PlateReport
from griddesign.plate.outline import Outline

if TYPE_CHECKING:
    from griddesign.nest.records import NestAsked, Nested


def with_nests(job: Job, plates: Iterable[PlateReport]) -> tuple[PlateReport, ...]:
    """Every kind of plate with its lot nested, where the command asked for it; a casting's pattern in its box.

    Raises InputError, naming the plate, where it does not go on the sheet or the web is narrower than the cut.
    """
    asked = job.nest
    if asked is None:
        return tuple(plates)
    return tuple(replace(plate, nest=_nest(plate, asked)) for plate in plates)


def _nest(plate: PlateReport, asked: "NestAsked") -> "Nested":
    from griddesign.nest.lot import nested

    wish, shape = plate.wish, plate.shape
    try:
        found = nested(to_nest(plate), asked, plate.lot, wish.made_by, shape.thickness_m, shape.eye.diameter_m)
    except InputError as error:
        raise InputError(f"plate {wish.name}: {error.message}", hint=error.hint) from error
    kerf = plate.made.kerf if plate.made else None
    if kerf is not None and found.web.value <= kerf.value:
        raise InputError(
            f"plate {wish.name}: a web of {1000 * found.web.value:.4g} mm is cut away by a kerf of "
            f"{1000 * kerf.value:.4g} mm",
            hint="Ask for a wider web, as --nest '2500 mm x 1250 mm, web 6 mm'.",
        )
    return found


def to_nest(plate: PlateReport) -> Outline:
    """The outline that is laid out: the pattern's of a casting where there is one, else the plate's own."""
    made = plate.made
    return plate.outline if made is None or made.pattern is None else made.pattern.outline
