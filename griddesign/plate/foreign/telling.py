"""What was read from a drawing and what was done to it, in sentences to print beside any figure that rests on it."""

from collections.abc import Iterator, Sequence

from griddesign.plate.foreign.frame import Frame
from griddesign.plate.foreign.records import ForeignPlate, Healed, Piece

_SHOWN = 5


def sentences(plate: ForeignPlate) -> tuple[str, ...]:
    """One sentence for each thing the user should know: unit, tolerance, terminals, and every change made.

    Coordinates are the drawing's, in its own unit.
    """
    return tuple(_sentences(plate, Frame(plate.units)))


def _sentences(plate: ForeignPlate, frame: Frame) -> Iterator[str]:
    source = "said by the header" if plate.units_from == "header" else "as given"
    yield f"Release {plate.release}; unit {plate.units}, {source}; tolerance {frame.length(plate.tolerance_m)}."
    named = " and ".join([*plate.terminals, *["a clamped area"] * (2 - len(plate.terminals))])
    yield f"Terminals {named}: {plate.terminals_why}."
    if plate.healed:
        yield f"{_gaps(plate.healed, frame)}."
    if plate.doubled:
        yield f"{len(plate.doubled)} line(s) drawn twice, kept once: {_pieces(plate.doubled, frame)}."
    if plate.strays:
        yield f"{len(plate.strays)} open line(s) clear of the metal left out: {_pieces(plate.strays, frame)}."
    if plate.short_pieces:
        yield f"{plate.short_pieces} line(s) of no length left out."
    if plate.curves:
        deviation = frame.length(plate.curve_deviation_m)
        yield f"{plate.curves} ellipse(s) and spline(s) turned into arcs, within {deviation}."
    for region in plate.regions:
        closed = f"; {_gaps(region.healed, frame)}" if region.healed else ""
        yield f"Layer {region.layer}: {len(region.loops)} closed line(s), a thickness region, not cut{closed}."
    if plate.ignored:
        yield f"Not cut: {'; '.join(f'{i.count} {i.kind} on layer {i.layer} ({i.why})' for i in plate.ignored)}."
    for remark in plate.remarks:
        yield f"{remark[:1].upper()}{remark[1:]}."


def _gaps(healed: Sequence[Healed], frame: Frame) -> str:
    gaps = [f"{frame.length(h.gap_m)} at {frame.said(h.at_m)}" for h in healed]
    return f"{len(gaps)} gap(s) closed: {_listed(gaps)}"


def _pieces(pieces: Sequence[Piece], frame: Frame) -> str:
    return _listed([f"{frame.said(p.start_m)} to {frame.said(p.end_m)}" for p in pieces])


def _listed(items: Sequence[str]) -> str:
    more = f", and {len(items) - _SHOWN} more" if len(items) > _SHOWN else ""
    return ", ".join(items[:_SHOWN]) + more
