"""The working of a plate: squares, ohms with their two brackets, mass, and the rules of how it is made."""

from collections.abc import Iterator

from griddesign.judge.records import PlateReport, Result
from griddesign.papers.cold import cold
from griddesign.papers.sheets.shown import ABOUT, Shown, source_and_status
from griddesign.papers.sheets.trace import Line, Part
from griddesign.papers.sheets.trace_choice import by_the_metal
from griddesign.papers.sheets.trace_making import spread_part
from griddesign.plate.bends import How, straight_m, turnings
from griddesign.plate.cells import Squares

_HOW: dict[How, str] = {
    "mapped": "exact, conformal mapping",
    "tabled": "table of two-dimensional solutions, with its doubt",
    "solved": "two-dimensional conduction, bracketed",
}


def plate_parts(result: Result) -> tuple[Part, ...]:
    """One part for each kind of plate, and one for its making."""
    shown = Shown(result.job.paper.units)
    return tuple(
        part
        for plate in result.plates
        for part in (_plate_part(plate, shown), _making_part(plate, shown), *spread_part(plate, shown))
    )


def _plate_part(plate: PlateReport, shown: Shown) -> Part:
    said = (
        "A plate is as many squares as its strip is widths long, and a constant for each bend and each eye: "
        "R = squares · ρ20 / t. The bracket of the calculation knows nothing of the metal; the metal's own range is "
        "the larger of the two and stands in bold.",
        plate.figures.terminal_model,
    )
    lines = (*_strip_lines(plate, shown), *_square_lines(plate, shown), *_ohm_lines(plate, shown), _mass(plate, shown))
    return Part(f"Plate {plate.wish.name}", lines, said)


def _strip_lines(plate: PlateReport, shown: Shown) -> Iterator[Line]:
    shape, wide = plate.shape, plate.wish.strip_width_range_m
    chosen = f"chosen within {shown.range(*wide, 'length')}" if wide and plate.count else "the job"
    yield Line("w, strip", "", "", shown.of(shape.strip_width_m, "length"), chosen)
    gap = "pitch (w + g of the job) − w" if wide and plate.count else ""
    yield Line("g, pass gap", gap, "", shown.of(shape.pass_gap_m, "length"), "chosen with w" if gap else "the job")
    yield Line(
        "t, thickness",
        "area of the strip's section / w",
        f"{shape.section_area_m2 * 1e6:.4g}\u00a0mm² / {shape.strip_width_m * 1e3:.4g}\u00a0mm",
        shown.of(shape.effective_thickness_m, "length"),
        "true section, tapers and rounded edges in it",
    )
    yield Line(
        "L, straight strip",
        "passes · straight of a pass + 2 · height of a bend",
        f"{shape.passes} · {shown.of(shape.straight_m, 'length', 4)} + 2 · {shown.of(shape.bend_height_m, 'length')}",
        shown.of(straight_m(shape), "length", 4),
        "geometry",
    )


def _square_lines(plate: PlateReport, shown: Shown) -> Iterator[Line]:
    shape, figures = plate.shape, plate.figures
    parts = tuple(turnings(shape))
    straights = f"{straight_m(shape) / shape.strip_width_m:.2f}"
    length, width = shown.of(straight_m(shape), "length", 5), shown.of(shape.strip_width_m, "length", 4)
    yield Line("straights", "L / w", f"{length} / {width}", f"{straights} squares", "exact")
    for part in parts:
        if part.what == "eyes":
            yield _squares("eyes", "2 · from the plate's edge to the rim of the hole", part.squares, _HOW[part.how])
        else:
            lug = ", support eye" if part is parts[0] and shape.support_eyes else ""
            formula = "constant of a bend · number of bends"
            yield _squares(f"{shape.bend} bends{lug}", formula, part.squares, _HOW[part.how])
    total = " + ".join([straights, *(f"{part.squares.value:.3f}" for part in parts)])
    bracket = f"{figures.squares_low:.2f} to {figures.squares_high:.2f}"
    yield Line("squares", "straights + bends + eyes", total, f"{figures.squares:.2f}", "sum", bracket)


def _squares(symbol: str, formula: str, squares: Squares, source: str) -> Line:
    ends = "" if squares.low == squares.high else f"{squares.low:.4f} to {squares.high:.4f}"
    return Line(symbol, formula, "", f"{squares.value:.3f} squares", source, ends)


def _ohm_lines(plate: PlateReport, shown: Shown) -> Iterator[Line]:
    figures, rho = plate.figures, plate.wish.metal.resistivity
    about, measured = ABOUT if rho.weak else "", plate.wish.measured_ohm is not None
    put_in = (
        f"{figures.squares:.2f} · {shown.figure(rho, 'resistivity')} / "
        f"{shown.of(figures.effective_thickness_m, 'length')}"
    )
    yield Line(
        f"R at {cold(shown.units)}",
        "squares · ρ20 / t",
        put_in,
        f"{about}{shown.of(figures.cold_ohm, 'resistance', 4)}",
        source_and_status(rho),
    )
    yield Line(
        "R, bracket of the calculation",
        "least and most squares, ρ20 as tabled",
        "",
        shown.range(figures.low_ohm, figures.high_ohm, "resistance", 4),
        "no doubt of the metal in it",
    )
    if rho.low != rho.high:
        yield Line(
            "R, range of the metal",
            f"least and most squares, ρ20 {shown.range(rho.low, rho.high, 'resistivity')}",
            "",
            shown.range(figures.metal_low_ohm, figures.metal_high_ohm, "resistance"),
            "does not count: this plate was measured" if measured else "to be reckoned with until a plate is measured",
            bold=not measured,
        )
    yield from _order_lines(plate, shown)


def _order_lines(plate: PlateReport, shown: Shown) -> Iterator[Line]:
    yield Line(
        "R ordered",
        _why_ordered(plate),
        "",
        f"{ABOUT if by_the_metal(plate.wish) else ''}{shown.of(plate.order_ohm, 'resistance', 4)}",
        "the job" if plate.wish.measured_ohm else "choice" if plate.count else "geometry and metal",
    )
    if plate.low_ohm is not None and plate.high_ohm is not None:
        yield Line(
            "pass band of a plate",
            "R ordered · (1 + room of its tightest section)",
            "",
            shown.range(plate.low_ohm, plate.high_ohm, "resistance", 4),
            "notch tolerance shared out, see Bands",
        )


def _why_ordered(plate: PlateReport) -> str:
    if plate.wish.measured_ohm is not None:
        return "as measured, in the job"
    if plate.count and plate.wish.strip_width_range_m is not None:
        return "as chosen; w is solved for it, and the plate is accepted by its ohms"
    return "as wanted, in the job" if plate.wish.wanted_ohm is not None else "as its shape and metal give"


def _mass(plate: PlateReport, shown: Shown) -> Line:
    figures, density = plate.figures, plate.wish.metal.density
    put_in = (
        f"{shown.figure(density, 'density', 4)} · {shown.of(figures.area_m2, 'area', 4)} · "
        f"{shown.of(figures.effective_thickness_m, 'length')}"
    )
    about = ABOUT if density.weak else ""
    return Line(
        "mass",
        "density · area of metal · t",
        put_in,
        f"{about}{shown.of(figures.mass_kg, 'mass')}",
        source_and_status(density),
    )


def _making_part(plate: PlateReport, shown: Shown) -> Part:
    """The rules of the process, dimension by dimension."""
    lines = tuple(
        Line(
            check.item,
            f"{'at least' if check.must else 'better at least'} {shown.of(check.limit_m, 'length', 4)}",
            "",
            f"{shown.of(check.found_m, 'length', 4)}: {_kept(check.ok, check.must)}",
            f"{check.source}; {check.status}",
            bold=check.must and not check.ok,
        )
        for check in plate.checks
    )
    said = () if lines else ("No rule of this way of making is known: NOT CHECKED.",)
    title = f"Plate {plate.wish.name}, made by: {plate.wish.made_by}"
    return Part(title, lines, said, ("Dimension", "Rule", "Found", "Source, status"))


def _kept(kept: bool, must: bool) -> str:
    return "kept" if kept else "BROKEN" if must else "against advice"
