"""A plate read from an outline in plain lines: the doubts in the order of their origin, the largest marked."""

from collections.abc import Iterator

from griddesign.papers.outlined_json import HOT_C, OutlineReport
from griddesign.plate.foreign import sentences
from griddesign.plate.outlined import Doubt, HotSpot, SolvedOutline, doubts
from griddesign.units import show, show_change


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
    yield f"  hot spot             {spot_words(figures.hot_spot, report.said(figures.hot_spot.at_m), units)}"


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


CAUSES = {"sharp corner": "a sharp inner corner", "fillet": "an inner corner with its fillet", "rim": "on the rim"}


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
