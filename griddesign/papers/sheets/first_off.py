"""The first-off: what the order asks for before the batch, the form that comes back, and what the measuring changed."""

from collections.abc import Iterator

from griddesign.job.records import PaperUnits
from griddesign.judge.records import PlateReport, Result
from griddesign.judge.replacing import Batch
from griddesign.papers.blocks import Block, Box, Cell, Column, Heading, KeyFigure, KeyFigures, Points, Sheet, Table
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import cautions, ohm, percent
from griddesign.papers.sheets.making import old_plate_box
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.plate.first_off import next_revision
from griddesign.plate.measured import CHECK_BAND, MeasuredPlate, MetalCheck
from griddesign.plate.process import MadeBy

ONE_ONLY = "Make ONE of plate {name} and send it with its figures. The batch waits for revision {next}."
# One line on paper, so that the drawing below keeps its room and with it the larger scale.
WHOLE_BATCH = "Make the batch of plate {name} to revision {next}, none to {old}."
WRONG_METAL = "WRONG METAL? Make nothing of plate {name} before that is cleared up."
MEASURED_NOTE = "The first-offs of this batch are measured; no plate is made to the revision they were made to."
_ONE_WAY = "read one way only: thermo-emf may be in it"


def one_only(result: Result, plate: PlateReport) -> str:
    """What an order's plate sheet says first: one plate, then wait."""
    return ONE_ONLY.format(name=plate.wish.name, next=next_revision(result.job.revision))


def whole_batch(batch: Batch) -> str:
    """What a batch's plate sheet says first; a plate sheet travels alone, so it stops the batch where the metal is
    in doubt."""
    if _not_this_metal(batch):
        return WRONG_METAL.format(name=batch.plate.name)
    return WHOLE_BATCH.format(name=batch.plate.name, next=batch.next_revision, old=_old(batch))


def _not_this_metal(batch: Batch) -> list[str]:
    return [check.name for check in batch.result.metal_checks if not check.holds]


def _old(batch: Batch) -> str:
    return "the draft" if batch.revision == "draft" else f"revision {batch.revision}"


def first_off_blocks(result: Result, plate: PlateReport) -> Iterator[Block]:
    """The one plate before the batch, what goes with it, and a form to fill in."""
    shown = Shown(result.job.paper.units)
    lines = _cast_lines(plate, shown) if plate.wish.made_by == "cast" else _cut_lines()
    waits = (
        "It is measured four-wire, cold, and weighed; the strip width is then issued anew as revision "
        f"{next_revision(result.job.revision)}. THE BATCH WAITS FOR THAT REVISION."
    )
    yield Box("One first-off before the batch", (*lines, waits), heavy=True, size_pt=10.0)
    yield _form(plate.wish.made_by, result.job.paper.units)


def _cut_lines() -> Iterator[str]:
    yield "Make ONE plate, from the sheet the batch will be made of."
    yield "Send with it: the thickness of that sheet by caliper, at three places beside the cut; its certificate."


def _cast_lines(plate: PlateReport, shown: Shown) -> Iterator[str]:
    shape = plate.shape
    wide, thick, long = (shown.of(m, "length") for m in (shape.strip_width_m, shape.thickness_m, shape.height_m))
    yield "Cast ONE plate, with the charge and in the sand the batch will be cast with."
    yield (
        f"From the same ladle pour a straight test strip of the same section, {wide} by {thick}, about {long} long. "
        "Its ohms between two contacts well in from its ends, times section, over their distance, are the iron's own "
        "resistivity. Send it along with the foundry's certificate; pour another with every ladle of the batch."
    )


_METRIC = {"ohm": "mΩ", "temperature": "°C", "thickness": "mm", "strip width": "mm", "mass": "kg"}
_INCH = {"ohm": "mΩ", "temperature": "°F", "thickness": "in", "strip width": "in", "mass": "lb"}


def _form(made_by: MadeBy, units: PaperUnits) -> Table:
    """To be filled in by hand, under the names and units a CSV of first-offs goes by."""
    asked = _METRIC if units == "mm" else _INCH
    titles = ("plate", *(f"{name} ({unit})" for name, unit in asked.items()), "remarks")
    columns = tuple(Column(title, blank=True, least_mm=18.0, stretch=title == "remarks") for title in titles)
    second = ("test strip", *[""] * 5, "contacts apart:") if made_by == "cast" else ("",) * 7
    return Table(columns, (("first-off", *[""] * 6), second), 10.0)


def batch_sheet(result: Result, batch: Batch) -> Sheet:
    """What the first-offs said, and the strip width they give the batch."""
    order = f"Revision {batch.next_revision} takes the place of {_old(batch)}: make the batch to it and nothing else."
    if _not_this_metal(batch):
        order = WRONG_METAL.format(name=batch.plate.name)
    return Sheet(f"First-off sheet {batch.plate.name}", order, "engineer", tuple(_batch_blocks(result, batch)))


def _batch_blocks(result: Result, batch: Batch) -> Iterator[Block]:
    shown, found = Shown(result.job.paper.units), batch.result
    yield KeyFigures(tuple(_key_figures(batch, shown)))
    yield Heading("First-offs as measured")
    yield _measured(batch, shown)
    yield Heading("What they say of the metal")
    yield Points(tuple(_metal_words(batch, shown)), size_pt=10.0)
    if found.broken:
        lines = tuple(
            f"{check.item} {shown.of(check.found_m, 'length')}, at least {shown.of(check.limit_m, 'length')}"
            for check in found.broken
        )
        yield Box(f"Against the rules for {batch.plate.made_by}", lines, heavy=True)
    wrong = _not_this_metal(batch)
    if wrong:
        words = f"Ohms times mass of {', '.join(wrong)} are not this metal's. Make nothing before that is cleared up."
        yield Box("Wrong metal?", (words,), heavy=True)
    if batch.as_pattern is not None:
        yield old_plate_box(result, batch.as_pattern, found.wanted_ohm)
    yield cautions(0, 1, 4)


def _key_figures(batch: Batch, shown: Shown) -> Iterator[KeyFigure]:
    found = batch.result
    old, new = found.issued, found.shape
    yield KeyFigure("Strip width, new", shown.of(new.strip_width_m, "length", 4), _was(old.strip_width_m, shown))
    yield KeyFigure(f"Ohms at {cold(shown.units)}, wanted", ohm(found.wanted_ohm), "every plate of the batch")
    yield KeyFigure(
        "First-offs, found", ohm(found.found_ohm), f"{percent(round(found.found_error, 4) + 0.0, 2)} of the wanted"
    )
    if found.thickness_m is None:
        yield KeyFigure("Thickness", "not measured", "holds for the same sheet or ladle only")
    else:
        yield KeyFigure("Thickness, measured", shown.of(found.thickness_m, "length", 4), _was(old.thickness_m, shown))


def _was(old_m: float, shown: Shown) -> str:
    return f"issued as {shown.of(old_m, 'length', 4)}"


def _measured(batch: Batch, shown: Shown) -> Table:
    checks = {check.name: check for check in batch.result.metal_checks}
    titles = ("Plate", "ohms", "metal at", "thickness", "strip", "mass", "ohm × mass", "remarks")
    rows = tuple(_row(plate, checks.get(plate.name), shown) for plate in batch.plates)
    columns = tuple(Column(title, "left" if title in ("Plate", "remarks") else "right") for title in titles)
    return Table(columns, rows, 10.0)


def _row(plate: MeasuredPlate, check: MetalCheck | None, shown: Shown) -> tuple[str | Cell, ...]:
    product = "" if check is None else f"{check.measured_ohm_kg:.4g}{NO_BREAK}Ω·kg"
    return (
        plate.name,
        ohm(plate.cold.ohm, 5),
        shown.of(plate.cold.t_c, "temperature", 4),
        "" if plate.thickness_m is None else shown.of(plate.thickness_m, "length", 4),
        "" if plate.strip_width_m is None else shown.of(plate.strip_width_m, "length", 4),
        "" if plate.mass_kg is None else shown.of(plate.mass_kg, "mass"),
        product if check is None or check.holds else Cell(product),
        "; ".join(words for words in (plate.remarks, _ONE_WAY if plate.one_way else "") if words),
    )


def _metal_words(batch: Batch, shown: Shown) -> Iterator[str]:
    """The heat's own figures with their number of samples and spread; the check for the wrong metal."""
    heat = batch.result.heat
    rho = heat.resistivity
    yield (
        f"{batch.plate.metal.name}: this heat's own resistivity {shown.of(rho.value, 'resistivity', 4)}, "
        f"{shown.range(rho.low, rho.high, 'resistivity', 4)} ({rho.source}).".replace(" %", f"{NO_BREAK}%")
    )
    if heat.alpha20 is not None:
        alpha = heat.alpha20
        slope = shown.of(alpha.value, "temperature_coefficient", 4)
        yield f"Its own coefficient at {cold(shown.units)}: {slope} ({alpha.source})."
    checks = batch.result.metal_checks
    if not checks:
        yield "None was weighed, so a wrong metal would not show."
    for check in checks:
        yield (
            f"Ohms × mass of {check.name}, which hardly depend on the strip's section: {check.measured_ohm_kg:.4g}; "
            f"the metal's table gives {check.tabled_ohm_kg:.4g}, {check.low_ohm_kg:.4g} to {check.high_ohm_kg:.4g} "
            f"with {100 * CHECK_BAND:.0f}{NO_BREAK}% for the weighing: {'can be it' if check.holds else 'WRONG METAL?'}"
        )
