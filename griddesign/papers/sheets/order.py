"""The order sheets: what the cutter cuts and where he may hold it; what the foundry casts, of what iron, in how many
boxes. Numbers of shop practice that rest on no source say so."""

from collections.abc import Iterator

from griddesign.judge.records import PlateReport, Result
from griddesign.papers.blocks import (
    Beside,
    Block,
    Box,
    Column,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    SignOff,
    Table,
)
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import by_tape, cautions, firm, length, mass, ohm
from griddesign.papers.sheets.shown import source_and_status
from griddesign.papers.tolerances import FLATNESS_CLASS, flatness_m
from griddesign.plate.process import MadeBy

Row = tuple[str, str, str]
PRACTICE = "common practice, no source"
TABS = (
    "Holding tabs may sit on the rings of the eyes alone, clear of the faces the washers press on, and on the support "
    "eye where there is one.",
    "Never on a pass or in a return bend: what is left of a tab, or ground away with it, changes the strip and its "
    "ohms; thinned it burns.",
)
FIRST_OFF = (
    "Make ONE first, of the sheet or ladle the lot will come from. Send it with its papers to be measured.",
    "Go on only with a signature below: width or thickness may be issued anew from what it measures.",
)
_VERBS: dict[MadeBy, str] = {
    "cast": "Cast", "laser": "Cut", "waterjet": "Cut", "plasma": "Cut", "stamped": "Stamp",
}  # fmt: skip


def lot_words(plate: PlateReport) -> str:
    """``76: 72 in circuit, 4 spare``."""
    spares = plate.wish.spares
    if not plate.count:
        return f"{plate.lot}" + (f": 1 and {spares} spare" if spares else "")
    return f"{plate.lot}: {plate.count} in circuit, {spares or 'no'} spare"


def order_sheet(result: Result, plate: PlateReport) -> Sheet:
    """The order for the foundry or the cutter."""
    cast = plate.wish.made_by == "cast"
    verb = _VERBS[plate.wish.made_by]
    name = plate.wish.name
    order = f"{verb} ONE of plate {name} first. {verb} the lot of {plate.lot} when it has been passed."
    order = order if plate.lot > 1 else f"{verb} 1 of plate {name}; send it with its figures to be measured."
    blocks = _foundry(result, plate) if cast else _cutter(result, plate)
    return Sheet(f"Order {plate.wish.name}", order, "foundry" if cast else "cutter", tuple(blocks))


def _key_figures(result: Result, plate: PlateReport) -> KeyFigures:
    each_kg, strip = plate.figures.mass_kg, f"strip {length(result, plate.figures.strip_m)} long"
    return KeyFigures((
        KeyFigure("Plates", str(plate.lot), lot_words(plate).partition(": ")[2]),
        KeyFigure("Mass of one", mass(result, each_kg), plate.wish.metal.name),
        KeyFigure("Mass of the lot", mass(result, plate.lot * each_kg), _alone(plate)),
        KeyFigure(f"Ohms at {cold(result.job.paper.units)}", ohm(plate.order_ohm), strip),
    ))  # fmt: skip


def _alone(plate: PlateReport) -> str:
    return "without gates, risers" if plate.wish.made_by == "cast" else "plates alone"


# --- the cutter ------------------------------------------------------------------------------------------------------


def _cutter(result: Result, plate: PlateReport) -> Iterator[Block]:
    yield _key_figures(result, plate)
    work = _table(("Work", "each", "lot"), tuple(_cutting_rows(result, plate)))
    thick = length(result, plate.shape.thickness_m)
    yield Paragraph(f"Sheet: {plate.wish.metal.designation}, {thick} thick.", bold=True)
    yield Beside((work,), (Heading("Holding tabs"), Points(TABS, size_pt=9.0), cautions(4)), 0.58)
    yield Heading("Flat and clean")
    yield Points(tuple(_cutting_notes(result, plate)), size_pt=9.5)
    yield Box("", FIRST_OFF, heavy=True, size_pt=10.0)
    yield SignOff(("First-off passed by", "Lot received by"))


def _cutting_rows(result: Result, plate: PlateReport) -> Iterator[Row]:
    outline, figures, lot = plate.outline, plate.figures, plate.lot
    (wide_m, high_m), blank_kg, holes = plate.blank_m, plate.blank_kg, plate.cuts
    stamped = plate.wish.made_by == "stamped"
    yield "blank", f"{by_tape(result, wide_m)} × {by_tape(result, high_m)}", ""
    yield "mass of the blank", mass(result, blank_kg), mass(result, lot * blank_kg)
    yield "mass of the plate", mass(result, figures.mass_kg), mass(result, lot * figures.mass_kg)
    yield (
        "punched edge" if stamped else "cut length",
        length(result, outline.perimeter_m),
        length(result, lot * outline.perimeter_m),
    )
    yield "holes" if stamped else "pierces", str(holes), str(lot * holes)
    yield "narrowest slot", length(result, figures.pass_gap_m), ""
    yield "narrowest web", length(result, figures.smallest_web_m), ""
    if plate.nest is not None:
        yield "sheets, as nested", f"{plate.nest.per_sheet} plates", str(plate.nest.sheets)


def _cutting_notes(result: Result, plate: PlateReport) -> Iterator[str]:
    flat_m = flatness_m(max(plate.blank_m))
    limit = "" if flat_m is None else f", {firm(length(result, flat_m))} over the plate"
    yield f"Flat when it lies free after cutting: {FLATNESS_CLASS}{limit}. Straighten cold, by pressing, not by hammer."
    yield "Holes first, then the slots, the outer line last, so that the plate is held while its strip is cut free."
    kerf = "" if plate.wish.made_by == "stamped" else " What to do about the kerf stands on the plate sheet."
    yield f"No burr, no dross. Break the edges of the holes only; do not round those of the strip.{kerf}"
    yield "Faces of the eyes bare: no zinc, no paint, no marking ink where the washers press."
    yield (
        "With the plates come the certificate of the sheet (analysis, thickness) and the thickness by caliper at three "
        f"places of the first-off ({PRACTICE})."
    )


# --- the foundry -----------------------------------------------------------------------------------------------------


def _foundry(result: Result, plate: PlateReport) -> Iterator[Block]:
    yield _key_figures(result, plate)
    yield _table(("Casting", "", "From"), tuple(_casting_rows(result, plate)))
    yield Heading("How it is cast")
    yield Points(tuple(_casting_notes(result, plate)), size_pt=9.5)
    yield Box("", FIRST_OFF, heavy=True, size_pt=10.0)
    yield SignOff(("First-off passed by", "Lot received by"))
    yield cautions(4)


def _casting_rows(result: Result, plate: PlateReport) -> Iterator[Row]:
    metal, made, nest = plate.wish.metal, plate.made, plate.nest
    yield "grade", metal.designation, "table of metals"
    if made is not None and made.pattern is not None:
        shrinkage = made.pattern.shrinkage
        yield "pattern larger by", firm(f"{100 * shrinkage.value:.3g} %"), source_and_status(shrinkage)
    else:
        yield "pattern larger by", "NOT KNOWN", "no figure tabled: the foundry's own"
    yield "a test strip", mass(result, plate.test_strip_kg), "one from each ladle"
    if nest is None:
        yield "boxes", f"{plate.lot}", "at one plate to a box; more as the boxes allow"
    else:
        stock = nest.stock
        size = f"{by_tape(result, stock.length_m)} × {by_tape(result, stock.width_m)}"
        yield "boxes", f"{nest.sheets}", f"{nest.per_sheet} to a box of {size}"


def _casting_notes(result: Result, plate: PlateReport) -> Iterator[str]:
    metal, section = plate.wish.metal, _section(result, plate)
    grey = metal.family == "Grey cast iron"
    what = "Grey throughout" if grey else "Sound and free of chill throughout"
    yield (
        f"{what} at this section, {section}: no white or mottled edge. A chilled strip has other ohms and breaks "
        f"({PRACTICE})."
    )
    yield "Pattern, draft, cores and allowances: as the plate sheet has them."
    yield "Gate at the eyes only; never on a pass or a return bend. What a gate leaves there changes the section."
    yield "Knock out cold; grind flash only, never the strip's faces or edges. No weld, no filler, no paint."
    yield (
        f"Test strip: straight, of the same section ({section}), {by_tape(result, plate.shape.height_m)} long or more, "
        f"from the same ladle, marked with the ladle, sent with the castings: its ohms give the metal's ({PRACTICE})."
    )
    yield "Mark every casting with its ladle on the ring of an eye, beside the washer's face."


def _section(result: Result, plate: PlateReport) -> str:
    shape = plate.shape
    words = f"{length(result, shape.strip_width_m)} × {length(result, shape.thickness_m)}"
    if shape.edge_thickness_m is None or shape.edge_thickness_m == shape.thickness_m:
        return words
    return f"{words}, {length(result, shape.edge_thickness_m)} at the edges"


def _table(titles: tuple[str, str, str], rows: tuple[Row, ...]) -> Table:
    return Table(tuple(Column(title, stretch=number == len(titles) - 1) for number, title in enumerate(titles)),
                 rows, 10.0)  # fmt: skip
