"""A plate read from an outline in plain lines: the doubts in the order of their origin, the largest marked."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from griddesign.figures import Figure
from griddesign.papers.outlined_json import HOT_C, OutlineReport
from griddesign.plate.foreign import sentences
from griddesign.plate.outlined import Doubt, HotSpot, SolvedOutline, doubts
from griddesign.plate.uneven import area_of_m2, laid_out
from griddesign.units import show, show_change

if TYPE_CHECKING:
    from griddesign.plate.outline_order import OutlineOrder


def outline_lines(report: OutlineReport) -> Iterator[str]:
    """What ``griddesign plate OUTLINE.dxf`` says."""
    figures, metal, units = report.solved.figures, report.solved.metal, report.units
    thickness, kilograms, face, surface = (
        show(value, kind, digits=4, units=units)
        for value, kind in (
            (figures.thickness.value, "length"),
            (figures.mass_kg, "mass"),
            (figures.area_m2, "area"),
            (figures.surface_m2, "area"),
        )
    )
    yield f"{report.name}: {metal.name} ({metal.key}), {thickness} thick, fingerprint {report.fingerprint}"
    yield from (f"  {sentence}" for sentence in sentences(report.read))
    if report.order is not None:
        yield from (f"  {line}" for line in order_lines(report.order, units))
    if figures.uneven is not None:
        yield f"  thickness            {uneven_words(report)}"
    yield f"  cold ohms (20 °C)    {show(figures.cold_ohm, 'resistance', digits=5)}"
    yield from (f"    {line}" for line in doubt_lines(report.solved))
    yield f"  {figures.terminal_model}"
    for t in map(float, HOT_C):
        hot_ohm = figures.cold_ohm * float(metal.ratio(t))
        yield f"  at {show(t, 'temperature'):<17} {show(hot_ohm, 'resistance', digits=4)}"
    yield f"  squares              {figures.squares:.4f}"
    yield f"  as a straight strip  {strip_words(report.solved, units)}"
    yield f"  mass                 {kilograms}"
    yield f"  one face, surface    {face}, {surface}"
    yield from (f"  {line}" for line in rule_lines(report))
    yield f"  hot spot             {spot_words(figures.hot_spot, report.said(figures.hot_spot.at_m), units)}"


def rule_lines(report: OutlineReport) -> Iterator[str]:
    """The narrow places, and the rules of the process that they do not keep."""
    for item, found, at in dict.fromkeys((row[0], row[1], row[2]) for row in rule_rows(report)):
        yield f"{item:<30} {found}{at and f' at {at}'}"
    for item, found, at, limit, verdict in rule_rows(report):
        if verdict != "keeps it":
            yield f"{verdict}: {item} {found}{at and f' at {at}'}, at least {limit}"


def rule_rows(report: OutlineReport) -> list[tuple[str, str, str, str, str]]:
    """Item, found, where, at least, and whether it keeps the rule."""
    rows = []
    for rule in report.solved.rules:
        check, at_m = rule.check, rule.narrow.at_m
        found, limit = (show(m, "length", digits=3, units=report.units) for m in (check.found_m, check.limit_m))
        broken = "against the rule" if check.must else "against the advice"
        at = "" if at_m is None else report.said((round(at_m[0], 6), round(at_m[1], 6)))
        rows.append((check.item, found, at, limit, "keeps it" if check.ok else broken))
    return rows


def order_lines(order: "OutlineOrder", units: str) -> Iterator[str]:
    """What was wanted, what gave way, and what else changes."""
    yield f"ordered: {order_words(order, units)}"
    yield f"  {'':<18}{'as drawn':>14} {'ordered':>14}"
    for name, old, new in change_rows(order, units):
        yield f"  {name:<18}{old:>14} {new:>14}"
    yield FIRST_OFF[order.wish.made_by == "cast"]


def order_words(order: "OutlineOrder", units: str) -> str:
    """``120.00 mΩ wanted, met within −0.001 %; every edge 0.1042 mm in, round holes as drawn; sheet of 1.984 mm …``."""
    edges = "as drawn"
    if order.edges_m:
        far = show(abs(order.edges_m), "length", digits=4, units=units)
        edges = f"{far} {'out' if order.edges_m > 0 else 'in'}, round holes as drawn"
    sheet = "" if order.sheet is None else f"; sheet of {order.sheet.words}"
    wanted = show(order.wish.ohm, "resistance", digits=5)
    return f"{wanted} wanted, met within {show_change(order.error, 3)}; every edge {edges}{sheet}"


def change_rows(order: "OutlineOrder", units: str) -> Iterator[tuple[str, str, str]]:
    """What changes from the plate as drawn to the one ordered, in words."""
    from griddesign.plate.outline_order import changes

    for name, kind, old, new in changes(order):
        if kind == "J/K":
            yield name, f"{old:.4g} J/K", f"{new:.4g} J/K"
        else:
            yield name, show(old, kind, digits=4, units=units), show(new, kind, digits=4, units=units)


def uneven_words(report: OutlineReport) -> str:
    """Regions with their thickness and area, readings of a taper with their places, and the mean."""
    figures, units, uneven = report.solved.figures, report.units, report.solved.figures.uneven
    assert uneven is not None
    laid = laid_out(uneven, figures.thickness.value, report.solved.outline)
    parts = [
        f"{region.name} {thick_words(region.thickness, units)}, "
        f"{show(area_of_m2(region.name, laid), 'area', digits=4, units=units)}"
        for region in uneven.regions
    ]
    parts += [
        f"{show(one.thickness_m, 'length', digits=4, units=units)} at {report.said(one.at_m)}"
        for one in uneven.readings
    ]
    mean = show(figures.volume_m3 / figures.area_m2, "length", digits=4, units=units)
    return f"{'; '.join(parts)}; {'tapers, ' if uneven.readings else ''}mean {mean}"


def thick_words(thickness: Figure, units: str) -> str:
    """A thickness, with its ends where it is a range."""
    value, low, high = (
        show(m, "length", digits=4, units=units) for m in (thickness.value, thickness.low, thickness.high)
    )
    return value if thickness.low == thickness.high else f"{value} ({low} to {high})"


def doubt_lines(solved: SolvedOutline) -> Iterator[str]:
    """One line for each doubt with its ohms."""
    every = doubts(solved)
    widest = max(every, key=lambda doubt: doubt.span)
    for doubt in every:
        mark = "  <- the largest" if doubt is widest else ""
        yield f"{doubt.name:<19}{range_words(doubt, solved.figures.cold_ohm)}{doubt.why}{mark}"


def range_words(doubt: Doubt, cold_ohm: float) -> str:
    """Shares and ohms at both ends; empty where they are not computed."""
    if doubt.low is None or doubt.high is None:
        return ""
    low, high = ((1 + share) * cold_ohm for share in (doubt.low, doubt.high))
    digits = 6 if doubt.span < 0.01 else 4
    ohms = f"{show(low, 'resistance', digits=digits)} to {show(high, 'resistance', digits=digits)}"
    return f"{share_words(doubt, doubt.low)} to {share_words(doubt, doubt.high)}: {ohms}, "


def share_words(doubt: Doubt, share: float) -> str:
    """A signed share in per cent, with as many figures as the doubt is wide."""
    return show_change(share, 3 if doubt.span < 0.01 else 1)


def strip_words(solved: SolvedOutline, units: str) -> str:
    """Length and width of the straight strip of the same squares and metal."""
    length, width = (
        show(m, "length", digits=4, units=units) for m in (solved.figures.strip_m, solved.figures.mean_width_m)
    )
    return f"{length} long, {width} wide (same squares, same metal between the terminals)"


def spot_words(spot: HotSpot, at: str, units: str) -> str:
    """Peak over mean, where and why, and the fillet that would help."""
    peak = "unbounded" if spot.unbounded else f"{spot.ratio:.2f} times the mean current density"
    return f"{peak} at {at}, {CAUSES[spot.cause]}; {_fillet_words(spot, units)}"


FIRST_OFF = {
    True: "Order: one first-off, and a straight test strip of the same section from the same ladle.",
    False: "Order: one first-off, its sheet thickness by caliper and the certificate of the sheet.",
}
CAUSES = {
    "sharp corner": "a sharp inner corner",
    "fillet": "an inner corner with its fillet",
    "rim": "on the rim",
    "step": "at the edge of a thickness region, in the thinner metal",
}


def _fillet_words(spot: HotSpot, units: str) -> str:
    if spot.ratio <= spot.wanted:
        return f"not above {spot.wanted:g}"
    if spot.fillet_m is None and spot.unbounded:
        return "no fillet could be tried: the metal is too narrow there"
    if spot.fillet_m is None:
        return f"no fillet brings it to {spot.wanted:g}"
    fillet = show(spot.fillet_m, "length", units=units)
    fillet = fillet if spot.by_law else f"≈ {fillet} (an estimate, larger than the law of small fillets reaches)"
    return f"a fillet of {fillet} there would bring it to {spot.wanted:g}"
