"""The replacement sheet: the plate to order beside the one it replaces, and all that changes with it."""

from collections.abc import Iterator

from griddesign.judge.records import PlateReport, Result
from griddesign.judge.replacing import Ordered
from griddesign.judge.same_duty import SameDuty
from griddesign.papers.blocks import (
    Block,
    Box,
    Cell,
    Column,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    Table,
)
from griddesign.papers.cold import cold
from griddesign.papers.replacement_rows import Row, change_rows, dimension_rows, duty_rows, duty_words
from griddesign.papers.sheets.common import cautions, length, ohm, percent
from griddesign.papers.sheets.making import old_plate_box, sureness
from griddesign.papers.sheets.shown import Shown
from griddesign.plate.comparison import STIFFNESS_NOTE
from griddesign.plate.pattern import eye_span_m
from griddesign.plate.replacement import WORDS

READ = "Judge what changes with the new plate. Where it holds, order ONE first-off with the plate sheet."
STOP = "This plate does not hold: settle what stands in the heavy box before it is ordered."


def replacement_sheet(result: Result, order: Ordered) -> Sheet:
    """The sheet of the one who answers for the exchange."""
    imperative = READ if order.holds else STOP
    return Sheet(f"Replacement sheet {order.new.name}", imperative, "engineer", tuple(_blocks(result, order)))


def takes_the_place(result: Result, order: Ordered) -> Box:
    """For shop and foundry: that it goes on the old rods, and which dimension was freed for the ohms."""
    old, span = order.old, length(result, eye_span_m(order.found.shape))
    words = (
        f"Takes the place of plate {old.name} in {old.metal.name}, {old.made_by}, on the same rods: centres of the "
        f"eyes {span} apart as before, holes {length(result, old.shape.eye.hole_m)}.",
        f"Its ohms are met by freeing the {_freed(order)}; make nothing to the old plate's own dimensions.",
    )
    return Box("A replacement", words, size_pt=10.0)


def _freed(order: Ordered) -> str:
    return " and ".join(WORDS[name] for name in order.found.freed)


def _blocks(result: Result, order: Ordered) -> Iterator[Block]:
    (plate,) = result.plates
    shown = Shown(result.job.paper.units)
    yield KeyFigures(tuple(_key_figures(order, plate, shown)))
    yield from _failing(order, shown)
    yield Heading("How sure the ohms are")
    yield sureness(result, plate)
    yield Heading("What changes")
    yield _changes(order, shown)
    yield Paragraph(f"Same duty: {duty_words(order.duty, shown)}.", size_pt=10.0)
    notes = tuple(_notes(order))
    if notes:
        yield Heading("Sheet and outline")
        yield Points(notes, size_pt=10.0)
    if order.as_pattern is not None:
        yield old_plate_box(result, order.as_pattern, plate.order_ohm)
    yield cautions(0, 1, 4)


def _key_figures(order: Ordered, plate: PlateReport, shown: Shown) -> Iterator[KeyFigure]:
    found = order.found
    error = f"wanted {ohm(found.asked.ohm)}, {percent(round(found.error, 4) + 0.0, 2)}"
    yield KeyFigure(f"Ohms at {cold(shown.units)}", ohm(found.figures.cold_ohm, 5), error)
    yield KeyFigure("Strip width", shown.of(found.shape.strip_width_m, "length", 4), f"freed: {_freed(order)}")
    yield KeyFigure("Thickness", shown.of(found.shape.thickness_m, "length", 4), plate.wish.metal.name)
    yield KeyFigure(
        "Mass", shown.of(found.figures.mass_kg, "mass"), f"was {shown.of(order.comparison.old.mass_kg, 'mass')}"
    )


def _failing(order: Ordered, shown: Shown) -> Iterator[Block]:
    """What keeps the plate from holding."""
    lines = [
        f"Against the rule for {order.new.made_by}: {check.item} {shown.of(check.found_m, 'length')}, at least "
        f"{shown.of(check.limit_m, 'length')} ({check.source}, {check.status})."
        for check in order.found.broken
    ]
    duty = order.duty
    if isinstance(duty, SameDuty) and not duty.holds:
        hot, limit = shown.temperature(duty.new_c), shown.of(duty.new_limit_c, "temperature")
        lines.append(f"In the same duty the new plate reaches {hot}, over its limit of {limit}.")
    if lines:
        yield Box("Does not hold", tuple(lines), heavy=True)


def _changes(order: Ordered, shown: Shown) -> Table:
    """Old beside new; what was freed in bold."""
    titles = ("", f"old: {order.old.metal.name}", f"new: {order.new.metal.name}")
    rows = (
        *(_marked(row, order) for row in dimension_rows(order.old.shape, order.found.shape, shown)),
        *change_rows(order.comparison, shown),
        *duty_rows(order.duty, shown),
    )
    return Table(tuple(Column(title, "right" if title else "left") for title in titles), rows, 10.0)


def _marked(row: Row, order: Ordered) -> tuple[str | Cell, ...]:
    freed = {WORDS[name] for name in order.found.freed} | ({"passes"} if "passes" in order.found.freed else set())
    return tuple(map(Cell, row)) if row[0] in freed else row


def _notes(order: Ordered) -> Iterator[str]:
    near = order.found.near_sheet
    if near is not None:
        yield f"Nearest sheet: {near.sheet.words(order.found.asked.units)}; with this strip it gives {ohm(near.ohm)}."
    yield from order.found.notes
    yield " ".join(STIFFNESS_NOTE)
