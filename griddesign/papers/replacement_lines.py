"""A replacement plate and a first-off loop as plain lines for a terminal."""

from collections.abc import Iterable, Iterator
from math import inf

from griddesign.figures import Figure, Status
from griddesign.job.records import PlateWish
from griddesign.judge.records import PlateReport
from griddesign.judge.replacing import Batch, Ordered
from griddesign.judge.same_duty import SameDuty
from griddesign.papers.replacement_rows import Row, change_rows, dimension_rows, duty_rows, duty_words
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.plate.comparison import STIFFNESS_NOTE
from griddesign.plate.measured import CHECK_BAND, HeatFigures, MetalCheck
from griddesign.plate.pattern import OldPlate
from griddesign.plate.process import ProcessCheck
from griddesign.plate.replacement import WORDS
from griddesign.units import show, show_range

_FIRST_OFF = {
    True: "Order: one first-off, and a straight test strip of the same section from the same ladle.",
    False: "Order: one first-off, its sheet thickness by caliper and the certificate of the sheet.",
}


def ordered_lines(order: Ordered) -> Iterator[str]:
    """The plate to order, the old one beside it, and what has to be watched."""
    found, asked = order.found, order.found.asked
    figures = found.figures
    freed = " and ".join(WORDS[name] for name in found.freed)
    yield f"plate {order.new.name}: {asked.metal.name} ({asked.metal.key}), {asked.made_by}, {_ohm(asked.ohm)} wanted"
    yield f"  freed               {freed}"
    yield f"  cold ohms (20 °C)   {_ohm(figures.cold_ohm)} ({_percent(found.error)})"
    yield from sureness_lines(order.report)
    yield f"                        {'old':>14} {'new':>14}"
    yield from _rows(order)
    if found.near_sheet is not None:
        words = found.near_sheet.sheet.words(found.asked.units)
        yield f"  nearest sheet       {words}: {_ohm(found.near_sheet.ohm)} with this strip"
    for note in found.notes:
        yield f"  note: {note}"
    yield from _broken(found.broken, asked.made_by)
    for sentence in STIFFNESS_NOTE:
        yield f"  {sentence}"
    yield f"  {_FIRST_OFF[asked.made_by == 'cast']}"
    yield from _as_pattern(order.as_pattern)


def sureness_lines(plate: PlateReport) -> Iterator[str]:
    """Three lines: calculation, metal, making; the one that spreads the ohms most is marked."""
    figures, rho = plate.figures, plate.wish.metal.resistivity
    middle = figures.cold_ohm
    lines = [
        ("calculation", figures.low_ohm, figures.high_ohm, 6),
        ("metal's own range", middle * rho.low / rho.value, middle * rho.high / rho.value, 3),
    ]
    if plate.made is not None:
        spread = plate.made.spread
        lines.append(("by its making", middle * (1 + spread.low), middle * (1 + spread.high), 3))
    widest = max(lines, key=lambda line: line[2] - line[1])
    for line in lines:
        what, low, high, digits = line
        ends = f"from {show(low, 'resistance')}, without end"
        if high < inf:
            ends = show_range(low, high, "resistance", digits=digits)
        yield f"    {what:<18}{ends}{'  <- the largest' if line is widest else ''}"


def batch_lines(batch: Batch) -> Iterator[str]:
    """What the first-offs said and the strip width for the batch."""
    result, plate = batch.result, batch.plate
    yield f"plate {plate.name}: {plate.metal.name} ({plate.metal.key}), first-offs measured: {len(batch.plates)}"
    yield f"  wanted, cold        {_ohm(result.wanted_ohm)}"
    yield f"  found, cold (20 °C) {_ohm(result.found_ohm)} ({_percent(result.found_error)})"
    yield from heat_lines(result.heat)
    if result.thickness_m is not None:
        nominal = _mm(result.issued.thickness_m)
        yield f"  thickness measured  {_mm(result.thickness_m)} (nominal {nominal})"
    else:
        yield "  thickness           not measured: the width holds for the same sheet or ladle only"
    yield f"  strip width         old {_mm(result.issued.strip_width_m)}, new {_mm(result.shape.strip_width_m)}"
    yield f"  pass gap            old {_mm(result.issued.pass_gap_m)}, new {_mm(result.shape.pass_gap_m)}"
    yield from check_lines(result.metal_checks)
    for one in batch.plates:
        if one.one_way:
            yield f"  note: {one.name} was read one way only; thermo-emf may be in it."
    yield from _broken(result.broken, plate.made_by)
    yield (
        f"  The batch waits for revision {batch.next_revision}: strip width {_mm(result.shape.strip_width_m)}. "
        f"Make no plate of the batch to revision {batch.revision}."
    )
    yield from _as_pattern(batch.as_pattern)


def heat_lines(heat: HeatFigures) -> Iterator[str]:
    """The heat's own resistivity and, where it was measured, temperature coefficient."""
    yield f"  heat's resistivity  {_span(heat.resistivity, 'resistivity')}, {heat.resistivity.source}"
    if heat.alpha20 is not None:
        alpha = heat.alpha20
        yield f"  heat's alpha20      {_span(alpha, 'temperature_coefficient')}, {alpha.source}"


def check_lines(checks: tuple[MetalCheck, ...]) -> Iterator[str]:
    """Ohms times mass of every weighed plate, with its band and what to think."""
    for check in checks:
        word = "can be the metal" if check.holds else "WRONG METAL? compare certificate, weight and outline"
        yield (
            f"  ohms x mass {check.name}: {check.measured_ohm_kg:.4g} ohm kg, table {check.tabled_ohm_kg:.4g} "
            f"({check.low_ohm_kg:.4g} to {check.high_ohm_kg:.4g}, {100 * CHECK_BAND:.0f} % for the weighing): {word}"
        )


def sample_lines(plate: PlateWish, checks: tuple[MetalCheck, ...]) -> Iterator[str]:
    """What the job's own samples made of the metal's figures; nothing where there are none."""
    if plate.samples:
        rho, alpha = plate.metal.resistivity, plate.metal.alpha20
        yield f"  heat's resistivity  {_span(rho, 'resistivity')}, {rho.source}"
        if alpha.status is Status.MEASURED:
            yield f"  heat's alpha20      {_span(alpha, 'temperature_coefficient')}, {alpha.source}"
    yield from check_lines(checks)


def _rows(order: Ordered) -> Iterator[str]:
    """Old beside new, in the units of a terminal."""
    shown = Shown()
    yield from _table(dimension_rows(order.old.shape, order.found.shape, shown))
    yield from _table(change_rows(order.comparison, shown))
    yield from _table(duty_rows(order.duty, shown))
    label = "    " if isinstance(order.duty, SameDuty) else "  in the same duty    "
    yield f"{label}{_plain(duty_words(order.duty, shown))}"
    if isinstance(order.duty, SameDuty) and not order.duty.holds:
        yield "  the new plate FAILS its limit in this duty"


def _table(rows: Iterable[Row]) -> Iterator[str]:
    return (f"  {_plain(what):<22}{_plain(old):>14} {_plain(new):>14}" for what, old, new in rows)


def _plain(words: str) -> str:
    return words.replace(NO_BREAK, " ")


def _broken(broken: tuple[ProcessCheck, ...], made_by: str) -> Iterator[str]:
    for check in broken:
        yield f"  against the rule for {made_by}: {check.item} {_mm(check.found_m)}, at least {_mm(check.limit_m)}"


def _as_pattern(old: OldPlate | None) -> Iterator[str]:
    if old is None:
        return
    due = old.ohm / (1 + old.shrinkage.value)
    yield f"  WARNING: an old plate is no pattern. Castings from it come out {100 * old.shrinkage.value:.3g} % smaller:"
    yield f"    eye centres {_mm(old.eye_span_m)} apart, {_mm(old.short_m)} short; holes {_mm(old.hole_m)};"
    yield f"    {_ohm(old.ohm)} instead of {_ohm(due)}."


def _percent(share: float) -> str:
    return f"{100 * share:+z.2f} %"


def _ohm(ohm: float) -> str:
    return show(ohm, "resistance", digits=5)


def _mm(length_m: float) -> str:
    return f"{1e3 * length_m:.3f} mm" if abs(length_m) < 0.1 else f"{1e3 * length_m:.2f} mm"


def _span(figure: Figure, kind: str) -> str:
    shown = show(figure.value, kind, digits=4)
    return shown if figure.low == figure.high else f"{shown} ({show_range(figure.low, figure.high, kind, digits=4)})"
