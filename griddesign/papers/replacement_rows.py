"""What changes from an old plate to the one that replaces it, row by row, for screen and sheet alike."""

from collections.abc import Iterator

from griddesign.judge.same_duty import NotComputed, SameDuty
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.plate.comparison import WARM_C, Comparison, Side
from griddesign.plate.shapes import Zigzag

Row = tuple[str, str, str]


def dimension_rows(old: Zigzag, new: Zigzag, shown: Shown) -> Iterator[Row]:
    """The dimensions, freed and kept."""

    def both(what: str, old_m: float, new_m: float) -> Row:
        return what, shown.of(old_m, "length", 4), shown.of(new_m, "length", 4)

    yield "passes", str(old.passes), str(new.passes)
    yield both("strip width", old.strip_width_m, new.strip_width_m)
    yield both("pass gap", old.pass_gap_m, new.pass_gap_m)
    yield both("thickness", old.thickness_m, new.thickness_m)
    yield both("over the passes", old.width_m, new.width_m)
    yield both("height", old.height_m, new.height_m)


def change_rows(two: Comparison, shown: Shown) -> Iterator[Row]:
    """What else changes with the metal and the dimensions."""
    warm = shown.of(WARM_C, "temperature")
    cold = shown.of(20.0, "temperature")
    unit = shown.of(1e-6, "resistivity").rpartition(NO_BREAK)[2]

    def ends(side: Side) -> str:
        words = shown.range(side.resistivity.low, side.resistivity.high, "resistivity")
        return words.removesuffix(f"{NO_BREAK}{unit}")

    for what, of in (
        ("cold ohms", lambda side: shown.of(side.cold_ohm, "resistance", 5)),
        (f"ohms at {warm}", lambda side: shown.of(side.warm_ohm, "resistance", 5)),
        ("mass", lambda side: shown.of(side.mass_kg, "mass")),
        (f"heat capacity, {cold}", lambda side: _jk(side.heat_capacity_cold_j_k)),
        (f"heat capacity, {warm}", lambda side: _jk(side.heat_capacity_warm_j_k)),
        ("surface", lambda side: shown.of(side.surface_m2, "area")),
        (f"grows, {cold} to {warm}", lambda side: shown.of(side.growth_m, "length")),
        ("service limit", lambda side: shown.figure(side.limit_c, "temperature")),
        ("resistivity", lambda side: shown.figure(side.resistivity, "resistivity")),
        (f"  its range, {unit}", ends),
    ):
        yield what, of(two.old), of(two.new)
    yield "stiffness, w t³", "1", f"{two.stiffness:.3g}"
    yield "bends by a force", "1", f"{two.deflection:.3g}"
    yield "sags by own weight", "1", f"{two.sag:.3g}"


def duty_rows(duty: SameDuty | NotComputed, shown: Shown) -> Iterator[Row]:
    """Temperature in the same duty, beside its limit; nothing where it was not computed."""
    if isinstance(duty, SameDuty):
        yield "in the same duty", shown.temperature(duty.old_c), shown.temperature(duty.new_c)
        yield "  limit", shown.of(duty.old_limit_c, "temperature"), shown.of(duty.new_limit_c, "temperature")


def duty_words(duty: SameDuty | NotComputed, shown: Shown) -> str:
    """Which duty it was, or why there is none."""
    if isinstance(duty, NotComputed):
        return f"not computed: {duty.why}"
    return (
        f"{duty.case}, air {shown.of(duty.ambient_c, 'temperature')}, mean {shown.of(duty.mean_w, 'power', 4)} "
        "per plate at cold ohms"
    )


def _jk(capacity_j_k: float) -> str:
    return f"{capacity_j_k:.4g}{NO_BREAK}J/K"
