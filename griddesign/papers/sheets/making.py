"""How sure a plate's ohms are, and what cutter or foundry must know to make it to size."""

from collections.abc import Iterator
from math import degrees, inf

from griddesign.figures import Figure, Status
from griddesign.judge.records import PlateReport, Result
from griddesign.papers.blocks import Block, Box, Cell, Column, Heading, Paragraph, Points, Table
from griddesign.papers.cold import cold
from griddesign.papers.sheets.common import firm, length, ohm, percent
from griddesign.papers.sheets.shown import source_and_status
from griddesign.plate.kerf import kerf_words
from griddesign.plate.made import Made
from griddesign.plate.pattern import OldPlate, Pattern
from griddesign.plate.process import MadeBy
from griddesign.plate.spread import Spread
from griddesign.units import show

Ends = tuple[float, float]

_WAYS: dict[MadeBy, str] = {
    "cast": "casting", "laser": "cutting", "waterjet": "cutting", "plasma": "cutting", "stamped": "stamping",
}  # fmt: skip


def sureness(result: Result, plate: PlateReport) -> Table:
    """Three lines: calculation, metal, making; the one that spreads the ohms most in bold."""
    lines = list(_lines(result, plate))
    widest = max(lines, key=lambda line: line[1][1] - line[1][0])
    rows = [_row(*line, plate.figures.cold_ohm, bold=line is widest) for line in lines]
    if plate.wish.measured_ohm is not None:
        rows.append(("this plate, measured", "", "", ohm(plate.wish.measured_ohm), "as read; takes the place of all"))
    titles = ("From", "low", "high", f"Ohms at {cold(result.job.paper.units)}", "What it is")
    columns = tuple(Column(title, "right" if title in ("low", "high") else "left") for title in titles)
    return Table(columns, tuple(rows), 10.0)


def _row(name: str, ends: Ends, what: str, middle_ohm: float, *, bold: bool) -> tuple[str | Cell, ...]:
    low, high = ends
    digits = 3 if high - low < 2e-3 else 1
    range_words = f"{ohm(middle_ohm * (1 + low))} to {'no end' if high == inf else ohm(middle_ohm * (1 + high))}"
    words = (name, _share(low, digits), _share(high, digits), range_words, what)
    return tuple(map(Cell, words)) if bold else words


def _share(value: float, digits: int = 1) -> str:
    return "no end" if value == inf else percent(value, digits)


def _lines(result: Result, plate: PlateReport) -> Iterator[tuple[str, Ends, str]]:
    figures, rho = plate.figures, plate.wish.metal.resistivity
    middle = figures.cold_ohm
    yield "calculation", (figures.low_ohm / middle - 1, figures.high_ohm / middle - 1), "bracket of the method"
    yield "metal", (rho.low / rho.value - 1, rho.high / rho.value - 1), _metal_words(rho)
    if plate.made is not None:
        spread = plate.made.spread
        yield _WAYS[plate.wish.made_by], (spread.low, spread.high), _spread_words(result, spread)


def _metal_words(rho: Figure) -> str:
    if rho.status is Status.MEASURED and rho.source:
        return f"this heat's own resistivity, measured: {rho.source}".replace(" %", "\u00a0%")
    return f"≈ range of its resistivity, {rho.status}" if rho.weak else f"{rho.status}"


def _spread_words(result: Result, spread: Spread) -> str:
    """What lies behind the figure: root of squares; the worst case; the largest cause."""
    if not spread.causes:
        return "no tolerance known: NOT CHECKED"
    largest = max(spread.causes, key=lambda cause: cause.share)
    half = firm(show(largest.tolerance.half_m, "length", digits=2, units=result.job.paper.units))
    return (
        f"≈ what the tolerances let through, most of it the {largest.tolerance.item}, ±{half}; all at their worst "
        f"{_share(spread.worst_low)} to {_share(spread.worst_high)}"
    )


def outline_words(result: Result, plate: PlateReport) -> str:
    """What the drawing says of its outline: nominal, beside it the file that is offset; the casting's, not the
    pattern's. Empty for what is stamped."""
    made = plate.made
    if made is not None and made.pattern is not None:
        return f"Outline: the casting's; pattern {100 * made.pattern.shrinkage.value:.3g} % larger."
    if made is None or (made.usual_kerf is None and made.kerf is None):
        return ""
    beside = f" Beside it a file {kerf_words(made.kerf.value, result.job.paper.units)}." if made.kerf else ""
    return f"Outline: {kerf_words(None)}.{beside}"


def making_blocks(result: Result, plate: PlateReport) -> Iterator[Block]:
    """What the cutter does about his kerf; the pattern, and why an old plate is none."""
    made = plate.made
    if made is None:
        return
    if made.usual_kerf is not None or made.kerf is not None:
        yield Heading("Outline and kerf")
        yield from _kerf_blocks(result, made)
    if made.pattern is not None and made.old_plate is not None:
        yield Heading("Pattern")
        yield Points(tuple(_pattern_points(result, plate, made.pattern)), size_pt=10.0)
        yield old_plate_box(result, made.old_plate, plate.order_ohm)


def _kerf_blocks(result: Result, made: Made) -> Iterator[Block]:
    usual, kerf = made.usual_kerf, made.kerf
    about = f" Usual for a {usual.note}: {_ends(result, usual)} ({_origin(usual)})." if usual else ""
    nominal = (
        f"The file ending in _cut without a kerf in its name, and every dimension of the drawing, are "
        f"{kerf_words(None)}: cut it with the machine's compensation ON."
    )
    if kerf is None:
        yield Paragraph(f"{nominal}{about}", size_pt=10.0)
        return
    offset = (
        f"The file with kerf in its name is {kerf_words(kerf.value, result.job.paper.units)}: every line lies "
        f"{_of(result, kerf.value / 2)} in the scrap. Cut it with the compensation OFF, or the strip comes out too "
        f"wide and the ohms too low.{about}"
    )
    yield Box("Two cutting files: use one of them", (nominal, offset), heavy=True, size_pt=10.0)


def _of(result: Result, value_m: float, digits: int = 3) -> str:
    return firm(show(value_m, "length", digits=digits, units=result.job.paper.units))


def _ends(result: Result, figure: Figure) -> str:
    low, value, high = (_of(result, end, 2) for end in (figure.low, figure.value, figure.high))
    return f"{_weak(figure)}{value}" + ("" if low == high else f", {low} to {high}")


def _pattern_points(result: Result, plate: PlateReport, pattern: Pattern) -> Iterator[str]:
    def of(value_m: float) -> str:
        return _of(result, value_m)

    shrinkage, draft, machining = pattern.shrinkage, pattern.draft, pattern.machining
    casting, enlarged = (length(result, span_m) for span_m in (pattern.eye_span_m, pattern.pattern_eye_span_m))
    yield (
        f"Larger than the plate by {_weak(shrinkage)}{100 * shrinkage.value:.3g} % all over ({_origin(shrinkage)}; "
        f"the foundry's own figure goes before it): centres of the eyes {casting} in the casting, {enlarged} on the "
        "pattern. The file ending in _pattern is so enlarged already; no shrink rule on top of it. The file ending in "
        "_gauge_cut, at the bench, is the finished casting: to cut a gauge from, never a pattern."
    )
    yield (
        f"Draft {_weak(draft)}{degrees(draft.value):.2g}° ({_origin(draft)}), parting at one face: sides stand out "
        f"{_of(result, pattern.draft_step_m, 2)} there and as much back at the other face. The outline is that of "
        "half the thickness; the section, and so the ohms, stay."
    )
    yield (
        f"{_weak(machining)}{of(machining.value)} on each face of the eyes for machining ({_origin(machining)}): "
        f"pattern {of(pattern.eye_thickness_m)} thick over the eyes, {of(pattern.thickness_m)} elsewhere; "
        f"ring of the eye {of(pattern.ring_m)} round the hole."
    )
    yield _hole_words(result, plate, pattern)
    if pattern.section_m2 < 0.9999 * pattern.sharp_section_m2:
        lost = 1 - pattern.section_m2 / pattern.sharp_section_m2
        yield (
            f"Rounded edges take {100 * lost:.2g} % of the strip's section; the ohms are reckoned with what is left, "
            f"as thick as {of(pattern.effective_thickness_m)} throughout. Edges made sharper lower the ohms."
        )


def _hole_words(result: Result, plate: PlateReport, pattern: Pattern) -> str:
    bore = length(result, plate.shape.eye.hole_m)
    if pattern.hole == "drilled":
        return f"Holes of the eyes are drilled to {bore} after casting; the pattern has none."
    core = length(result, pattern.hole_m)
    return f"Holes of the eyes are cored: core {core} across for a bore of {bore}. Clean out, do not open up the ring."


def old_plate_box(result: Result, old: OldPlate, wanted_ohm: float) -> Box:
    """The warning that a plate in the mould comes out too small, with what it would measure."""
    words = (
        f"Moulded from a plate as it stands, the casting shrinks by {100 * old.shrinkage.value:.3g} % once more: "
        f"centres of the eyes {length(result, old.eye_span_m)}, {_of(result, old.short_m, 2)} short for the tie rods; "
        f"holes {length(result, old.hole_m)}; strip {length(result, old.strip_width_m)} by "
        f"{length(result, old.thickness_m)}; ohms {ohm(old.ohm)} in place of {ohm(wanted_ohm)}; "
        f"mass {percent(old.mass_share - 1)}."
    )
    return Box("An old plate is no pattern", (words,))


def _weak(figure: Figure) -> str:
    return "≈ " if figure.weak else ""


def _origin(figure: Figure) -> str:
    return source_and_status(figure)
