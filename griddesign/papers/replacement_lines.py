"""A replacement plate and a first-off loop as plain lines for a terminal."""

import math
from collections.abc import Iterator

from griddesign.figures import Figure, Status
from griddesign.job.records import PlateWish
from griddesign.judge.replacing import Batch, Ordered
from griddesign.judge.same_duty import NotComputed, SameDuty
from griddesign.plate.comparison import STIFFNESS_NOTE, Comparison
from griddesign.plate.measured import CHECK_BAND, HeatFigures, MetalCheck
from griddesign.plate.pattern import OldPlate
from griddesign.plate.process import ProcessCheck
from griddesign.plate.replacement import WORDS
from griddesign.plate.shapes import Zigzag
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
    yield f"    calculation       {show_range(figures.low_ohm, figures.high_ohm, 'resistance', digits=6)}"
    yield f"    metal's own range {show_range(figures.metal_low_ohm, figures.metal_high_ohm, 'resistance', digits=3)}"
    yield f"                        {'old':>14} {'new':>14}"
    yield from _dimensions(order.old.shape, found.shape)
    yield from _changes(order.comparison)
    yield from _duty(order.duty)
    if found.near_sheet is not None:
        yield f"  nearest sheet       {found.near_sheet.sheet.words}: {_ohm(found.near_sheet.ohm)} with this strip"
    for note in found.notes:
        yield f"  note: {note}"
    yield from _broken(found.broken, asked.made_by)
    for sentence in STIFFNESS_NOTE:
        yield f"  {sentence}"
    yield f"  {_FIRST_OFF[asked.made_by == 'cast']}"
    yield from _as_pattern(order.as_pattern)


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


def _dimensions(old: Zigzag, new: Zigzag) -> Iterator[str]:
    yield _row("passes", str(old.passes), str(new.passes))
    yield _row("strip width", _mm(old.strip_width_m), _mm(new.strip_width_m))
    yield _row("pass gap", _mm(old.pass_gap_m), _mm(new.pass_gap_m))
    yield _row("thickness", _mm(old.thickness_m), _mm(new.thickness_m))
    yield _row("over the passes", _mm(old.width_m), _mm(new.width_m))
    yield _row("height", _mm(old.height_m), _mm(new.height_m))


def _changes(both: Comparison) -> Iterator[str]:
    old, new = both.old, both.new
    yield _row("cold ohms", _ohm(old.cold_ohm), _ohm(new.cold_ohm))
    yield _row("ohms at 300 °C", _ohm(old.warm_ohm), _ohm(new.warm_ohm))
    yield _row("mass", show(old.mass_kg, "mass"), show(new.mass_kg, "mass"))
    yield _row("heat capacity, 20 °C", _jk(old.heat_capacity_cold_j_k), _jk(new.heat_capacity_cold_j_k))
    yield _row("heat capacity, 300 °C", _jk(old.heat_capacity_warm_j_k), _jk(new.heat_capacity_warm_j_k))
    yield _row("surface", show(old.surface_m2, "area"), show(new.surface_m2, "area"))
    yield _row("grows, 20 to 300 °C", _mm(old.growth_m), _mm(new.growth_m))
    yield _row("service limit", _limit(old.limit_c), _limit(new.limit_c))
    yield _row("resistivity", _rho(old.resistivity), _rho(new.resistivity))
    yield _row("  its range", _ends(old.resistivity), _ends(new.resistivity))
    yield _row("stiffness, w t³", "1", f"{both.stiffness:.3g}")
    yield _row("bends by a force", "1", f"{both.deflection:.3g}")
    yield _row("sags by own weight", "1", f"{both.sag:.3g}")


def _duty(duty: SameDuty | NotComputed) -> Iterator[str]:
    if isinstance(duty, NotComputed):
        yield f"  in the same duty    not computed: {duty.why}"
        return
    yield _row("in the same duty", _hot(duty.old_c), _hot(duty.new_c))
    yield _row("  limit", f"{duty.old_limit_c:.0f} °C", f"{duty.new_limit_c:.0f} °C")
    yield f"    {duty.case}, air {duty.ambient_c:.0f} °C, mean {duty.mean_w:.4g} W per plate at cold ohms"
    if not duty.holds:
        yield "  the new plate FAILS its limit in this duty"


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
    return f"{round(100 * share, 2) + 0.0:+.2f} %"


def _row(what: str, old: str, new: str) -> str:
    return f"  {what:<22}{old:>14} {new:>14}"


def _ohm(ohm: float) -> str:
    return show(ohm, "resistance", digits=5)


def _mm(length_m: float) -> str:
    return f"{1e3 * length_m:.3f} mm" if abs(length_m) < 0.1 else f"{1e3 * length_m:.2f} mm"


def _jk(capacity: float) -> str:
    return f"{capacity:.4g} J/K"


def _hot(t_c: float) -> str:
    return f"{t_c:.0f} °C" if math.isfinite(t_c) else "never settles"


def _limit(figure: Figure) -> str:
    return f"{'≈ ' if figure.weak else ''}{figure.value:.0f} °C"


def _rho(figure: Figure) -> str:
    return show(figure.value, "resistivity")


def _ends(figure: Figure) -> str:
    return f"{1e8 * figure.low:.4g} to {1e8 * figure.high:.4g}"


def _span(figure: Figure, kind: str) -> str:
    shown = show(figure.value, kind, digits=4)
    return shown if figure.low == figure.high else f"{shown} ({show_range(figure.low, figure.high, kind, digits=4)})"
