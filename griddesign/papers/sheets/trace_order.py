"""The working of what a cutter is told beyond the plate's own figures, and of how a lot lies on its stock."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from griddesign.judge.records import PlateReport, Result
from griddesign.papers.sheets.shown import ABOUT, Shown, source_and_status
from griddesign.papers.sheets.trace import Line, Part
from griddesign.papers.tolerances import FLATNESS_CLASS, flatness_m

if TYPE_CHECKING:
    from griddesign.nest.records import Nested


def order_parts(result: Result) -> Iterator[Part]:
    """One part for each kind of plate that is cut, one for each nest."""
    shown = Shown(result.job.paper.units)
    for plate in result.plates:
        if plate.wish.made_by != "cast":
            yield Part(f"Plate {plate.wish.name}, as it is cut", tuple(_cutting_lines(plate, shown)))
        if plate.nest is not None:
            yield Part(f"Plate {plate.wish.name}, nested", tuple(_nest_lines(plate, plate.nest, shown)))


def _cutting_lines(plate: PlateReport, shown: Shown) -> Iterator[Line]:
    (wide_m, high_m), lot, blank_kg = plate.blank_m, plate.lot, plate.blank_kg
    density, thick_m = plate.wish.metal.density, plate.shape.thickness_m
    sizes = " · ".join(shown.of(size_m, "length", 4) for size_m in (wide_m, high_m, thick_m))
    put_in = f"{shown.figure(density, 'density', 4)} · {sizes}"
    about = ABOUT if density.weak else ""
    masses = f"{about}{shown.of(blank_kg, 'mass')}\nlot {about}{shown.of(lot * blank_kg, 'mass')}"
    yield Line("mass of the blank", "density · blank · thickness", put_in, masses, source_and_status(density))
    edge_m, holes = plate.outline.perimeter_m, len(plate.outline.holes)
    cut = f"{shown.of(edge_m, 'length', 4)}\nlot {shown.of(lot * edge_m, 'length', 4)}"
    if plate.wish.made_by == "stamped":
        yield Line("punched edge", "edge of the plate and of its holes", "", cut, "outline")
        yield Line("holes", "", "", f"{holes}\nlot {lot * holes}", "outline")
    else:
        yield Line("cut length", "edge of the plate and of its holes", "", cut, "outline")
        yield Line(
            "pierces", "holes + 1 for the rim", f"{holes} + 1", f"{holes + 1}\nlot {lot * (holes + 1)}", "outline"
        )
    yield from _allowed_lines(plate, max(wide_m, high_m), shown)


def _allowed_lines(plate: PlateReport, longest_m: float, shown: Shown) -> Iterator[Line]:
    flat_m = flatness_m(longest_m)
    if flat_m is not None:
        formula = f"by the longer side, {shown.of(longest_m, 'length', 4)}"
        yield Line("flatness", formula, "", shown.of(flat_m, "length", 4), FLATNESS_CLASS)
    usual = plate.made.usual_kerf if plate.made else None
    if usual is not None:
        kerf = shown.figure(usual, "length", 2)
        yield Line("usual kerf", "", "", kerf, source_and_status(usual), shown.ends(usual, "length", 2))


def _nest_lines(plate: PlateReport, nest: "Nested", shown: Shown) -> Iterator[Line]:
    stock, what = nest.stock, "box" if plate.wish.made_by == "cast" else "sheet"
    size = f"{shown.of(stock.length_m, 'length', 4)} × {shown.of(stock.width_m, 'length', 4)}"
    yield Line(f"the {what}", "", "", size, "as asked")
    for name, figure in (("kept between plates", nest.web), ("kept along the edges", nest.margin)):
        yield Line(name, "", "", shown.figure(figure, "length", 4), source_and_status(figure))
    how = "every straight-cut layout looked at" if nest.pattern.exact else "best found"
    proof = "bound reached: proved" if nest.pattern.proved else how
    yield Line(f"plates to a {what}", "bound by area", f"{nest.pattern.bound}", str(nest.per_sheet), proof)
    many = "boxes" if what == "box" else "sheets"
    yield Line(many, f"lot / plates to a {what}", f"{nest.lot} / {nest.per_sheet}, rounded up", str(nest.sheets))
    for name, count, waste in (
        (f"a full {what}", nest.per_sheet, nest.waste),
        (f"all {many}", nest.lot, nest.waste_lot),
    ):
        formula = f"1 − {count} · area of a plate / area of {name}"
        yield Line(f"waste of {name}", formula, "", f"{100 * waste:.1f}\u00a0%", "slots and holes counted in")
