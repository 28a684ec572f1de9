"""A lot of plates on its stock sheets: how many sheets, what lies on the last one, what is wasted."""

from griddesign.errors import InputError
from griddesign.figures import Figure, Status
from griddesign.nest.guillotine import fill
from griddesign.nest.records import NestAsked, Nested, Place, Stock
from griddesign.nest.units import units_of
from griddesign.plate.outline import Outline
from griddesign.plate.process import MadeBy

PRACTICE = "common practice, no source"
SHEET_MARGIN_M, LEAST_WEB_M = 0.010, 0.005
BOX_WALL_M, BOX_WEB_M = 0.040, 0.025
"""Sand kept between patterns and to the sides of a moulding box."""


def nested(
    outline: Outline, asked: NestAsked, lot: int, made_by: MadeBy, thickness_m: float, eye_m: float = 0.0
) -> Nested:
    """The lot laid out on sheets as asked; a casting's outline is that of its pattern, its sheet a moulding box.

    Plates that are cut may have their eyes between each other's; stamped ones keep to sheared rectangles. Raises
    InputError where no plate fits.
    """
    if lot < 1:
        raise InputError(f"a lot of {lot} plates is none to lay out", hint="Give 1 or more.")
    web, margin = spaces(asked, made_by, thickness_m)
    stock = Stock(asked.length_m, asked.width_m, web.value, margin.value, asked.rule)
    interlock = made_by != "stamped"
    pattern = fill(stock, units_of(outline, stock.web_m, stock.rule, interlock=interlock, eye_m=eye_m))
    full, left = divmod(lot, len(pattern.places))
    sheet_m2 = stock.length_m * stock.width_m
    return Nested(
        stock=stock,
        pattern=pattern,
        last=first_of(pattern.places, left, outline),
        lot=lot,
        full=full,
        interlocked=interlock,
        web=web,
        margin=margin,
        waste=1 - len(pattern.places) * outline.area_m2 / sheet_m2,
        waste_lot=1 - lot * outline.area_m2 / (sheet_m2 * (full + bool(left))),
    )


def spaces(asked: NestAsked, made_by: MadeBy, thickness_m: float) -> tuple[Figure, Figure]:
    """What is kept between plates and along the edges, m: the user's, else one thickness, at least 5 mm, and 10 mm;
    for moulds 25 and 40 mm of sand. Ours rest on common practice alone."""
    ours = (BOX_WEB_M, BOX_WALL_M) if made_by == "cast" else (max(thickness_m, LEAST_WEB_M), SHEET_MARGIN_M)
    given = (asked.web_m, asked.margin_m)
    web, margin = (
        Figure.exact(own, Status.MEMORY, PRACTICE) if told is None else Figure.exact(told, Status.GIVEN, "asked for")
        for told, own in zip(given, ours, strict=True)
    )
    return web, margin


def first_of(places: tuple[Place, ...], count: int, outline: Outline) -> tuple[Place, ...]:
    """The ``count`` plates nearest the sheet's left end, so that what is left over of a sheet is one piece."""
    return tuple(sorted(places, key=lambda place: (box_of(place, outline)[2], place.y_m))[:count])


def box_of(place: Place, outline: Outline) -> tuple[float, float, float, float]:
    """Box round a plate where it lies: left, low, right, high."""
    left, low, right, high = outline.bounding_box_m
    corners = {0: (left, low, right, high), 1: (-high, left, -low, right)}
    corners |= {2: (-right, -high, -left, -low), 3: (low, -right, high, -left)}
    box = corners[place.quarters % 4]
    return box[0] + place.x_m, box[1] + place.y_m, box[2] + place.x_m, box[3] + place.y_m
