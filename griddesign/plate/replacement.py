"""A plate to replace another: one dimension freed so that it has the ohms wanted, in a metal that can be bought.

Eyes, height and (but for the strip's own change, see ``freeing``) overall width stay, so that the new plate goes on the
old rods. Every way ends in a try: the nearest plate of its kind, and whether it meets the ohms.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import log
from typing import Literal, get_args

from griddesign.errors import GeometryError
from griddesign.metals import Metal
from griddesign.plate.bends import plate_squares, strip_m
from griddesign.plate.freeing import (
    flat,
    never_kept,
    open_range,
    pitch_kept,
    stopped_by,
    width_kept,
    with_thickness,
)
from griddesign.plate.gauges import Sheet, nearest_sheets, sheets_for, size_words
from griddesign.plate.ohms import PlateFigures, cold_ohm, plate_figures
from griddesign.plate.order import ShapeAt, WidthRange, falling_root, ordered_along
from griddesign.plate.process import MadeBy, ProcessCheck, process_checks, refuse_unsuited
from griddesign.plate.shapes import Zigzag, mm

Free = Literal["strip_width", "thickness", "passes", "gap"]
FREE: tuple[Free, ...] = get_args(Free)
WORDS: dict[Free, str] = {
    "strip_width": "strip width",
    "thickness": "thickness",
    "passes": "number of passes",
    "gap": "pass gap",
}

MEETS = 1e-4
"""How near the ohms must come to count as met: the grain of the two-dimensional solution is a tenth of it."""
SHEET_MEETS = 0.01
"""The same where only the thickness is free and sheet comes in steps (our own figure, no source)."""
_BEYOND = 1e-3
_LEAST_SHARE, _MOST_SHARE = 0.08, 0.99
_THICKNESS_RANGE = 5.0
_SHEETS_TRIED = 6
_COUNTS_TRIED = 4
_MOST_PASSES = 400


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for: the plate as it is, the metal and the way the new one is made, the cold ohms wanted.

    ``on_hand_m``: thicknesses of sheet the shop has; empty for the standard gauges. ``units``: the family of units that
    the answer's remarks are told in.
    """

    shape: Zigzag
    metal: Metal
    made_by: MadeBy
    ohm: float
    on_hand_m: tuple[float, ...] = ()
    units: str = "mm"


@dataclass(frozen=True, slots=True)
class Try:
    """The nearest plate one way comes to: ``error`` = ohms / wanted - 1; ``stop``: what keeps it from going further."""

    freed: tuple[Free, ...]
    shape: Zigzag
    ohm: float
    error: float
    meets: bool
    stop: str = ""


@dataclass(frozen=True, slots=True)
class NearSheet:
    """The sheet nearest to a thickness, and the cold ohms the plate would have in it."""

    sheet: Sheet
    ohm: float


@dataclass(frozen=True, slots=True)
class Replacement:
    """The plate to order. ``near_sheet`` is None where the metal has no scale of sheets; ``notes`` say what was done on
    the way; ``broken`` are the binding rules of the process this plate does not keep."""

    asked: Asked
    freed: tuple[Free, ...]
    shape: Zigzag
    figures: PlateFigures
    error: float
    checks: tuple[ProcessCheck, ...]
    near_sheet: NearSheet | None
    notes: tuple[str, ...]

    @property
    def broken(self) -> tuple[ProcessCheck, ...]:
        """Binding rules this plate breaks."""
        return tuple(check for check in self.checks if check.must and not check.ok)


def replacement(asked: Asked, free: Free | None = None) -> Replacement:
    """The plate that has the wanted ohms at 20 degC, with one dimension freed.

    Without ``free`` the strip width is tried first, then the sheet (or, of a casting, the thickness); a plate that
    keeps every binding rule of the process goes before one that does not. Raises GeometryError, naming the nearest
    possible plate, where none meets the ohms, and InputError where the metal cannot be made so.
    """
    refuse_unsuited(asked.metal, asked.made_by)
    if not 0 < asked.ohm < float("inf"):
        raise GeometryError(f"{asked.ohm:g} ohm cannot be ordered", hint="Give a resistance above zero.")
    tries: list[Try] = []
    for found in _tries(asked, free):
        tries.append(found)
        if found.meets and not _broken(found, asked):
            break
    return _finished(asked, _chosen(asked, free, tries), tries)


def _chosen(asked: Asked, free: Free | None, tries: list[Try]) -> Try:
    meeting = [found for found in tries if found.meets]
    if meeting:
        return next((found for found in meeting if not _broken(found, asked)), meeting[0])
    tried = WORDS[free] if free else "strip width and thickness"
    if not tries:
        raise GeometryError(
            f"no {tried} makes a plate of this outline by {asked.made_by!r}: eyes, strip and gap leave no room",
            hint="Give the plate fewer passes, a smaller eye or a thinner section, or make it another way.",
        )
    nearest = min(tries, key=lambda found: abs(log(found.ohm / asked.ohm)))
    with_it = f"Nearest is {nearest.ohm:.5g} ohm ({100 * nearest.error:+.1f} %), with {_dimensions(nearest.shape)}"
    raise GeometryError(
        f"{asked.ohm:.5g} ohm is not to be had in {asked.metal.name} by freeing the {tried}",
        hint=f"{with_it}; beyond it: {nearest.stop}." if nearest.stop else f"{with_it}.",
    )


def _dimensions(shape: Zigzag) -> str:
    return (
        f"{shape.passes} passes of {mm(round(shape.strip_width_m, 6))}, gap {mm(round(shape.pass_gap_m, 6))}, "
        f"{mm(round(shape.thickness_m, 6))} thick"
    )


def _tries(asked: Asked, free: Free | None) -> Iterator[Try]:
    start = asked.shape if asked.made_by == "cast" else flat(asked.shape)
    if free is None:
        yield from _usual(asked, start)
    elif free == "thickness":
        yield from _thickness(asked, start)
    elif free == "passes":
        yield from _passes(asked, start)
    else:
        kept = pitch_kept if free == "strip_width" else width_kept
        yield from _width(asked, start, lambda width_m: kept(start, width_m), (free,))


def _usual(asked: Asked, start: Zigzag) -> Iterator[Try]:
    """Strip width; then every sheet with its own strip width, nearest first, or a casting's thickness."""
    sheets = sheets_for(asked.metal, asked.on_hand_m) if asked.made_by != "cast" else ()
    if not asked.on_hand_m or any(abs(one.thickness_m / start.thickness_m - 1) < 1e-6 for one in sheets):
        yield from _width(asked, start, lambda width_m: pitch_kept(start, width_m), ("strip_width",))
    if not sheets:
        yield from _thickness(asked, start)
        return
    for sheet in nearest_sheets(sheets, _thickness_m(asked, start))[:_SHEETS_TRIED]:
        of_sheet = with_thickness(start, sheet.thickness_m)
        yield from _width(asked, of_sheet, _pitch_kept(of_sheet), ("thickness", "strip_width"))


def _pitch_kept(shape: Zigzag) -> ShapeAt:
    return lambda width_m: pitch_kept(shape, width_m)


def _width(asked: Asked, start: Zigzag, shape_at: ShapeAt, freed: tuple[Free, ...]) -> Iterator[Try]:
    """The strip width that meets the ohms, or the end of its range that comes nearest; nothing where it has none."""
    domain = (_LEAST_SHARE * start.pitch_m, _MOST_SHARE * start.pitch_m)
    found = _nearest_width(asked, shape_at, domain, start.strip_width_m)
    if found is not None:
        yield _try(asked, found[0], freed, stop=found[1])


def _nearest_width(
    asked: Asked, shape_at: ShapeAt, domain: WidthRange, near_m: float, unkept: frozenset[str] | None = None
) -> tuple[Zigzag, str] | None:
    """The plate, and what stopped it where it is the end of the range."""
    widths_m = open_range(shape_at, domain, near_m, asked.made_by, unkept)
    if widths_m is None:
        return None
    narrow_m, wide_m = widths_m
    if asked.ohm >= cold_ohm(shape_at(narrow_m), asked.metal):
        return shape_at(narrow_m), stopped_by(shape_at, narrow_m, narrow_m * (1.0 - _BEYOND), asked.made_by)
    if asked.ohm <= cold_ohm(shape_at(wide_m), asked.metal):
        return shape_at(wide_m), stopped_by(shape_at, wide_m, wide_m * (1.0 + _BEYOND), asked.made_by)
    return ordered_along(shape_at, asked.metal, asked.ohm, widths_m), ""


def _thickness(asked: Asked, start: Zigzag) -> Iterator[Try]:
    """The thickness that meets the ohms; of sheet, the one on sale that comes nearest."""
    wanted_m = _thickness_m(asked, start)
    sheets = sheets_for(asked.metal, asked.on_hand_m) if asked.made_by != "cast" else ()
    if sheets:
        nearest = nearest_sheets(sheets, wanted_m)[0]
        shape = with_thickness(start, nearest.thickness_m)
        yield _try(asked, shape, ("thickness",), SHEET_MEETS, _next_sheet(asked, start, nearest, wanted_m, sheets))
        return
    domain = (start.thickness_m / _THICKNESS_RANGE, start.thickness_m * _THICKNESS_RANGE)
    open_m = open_range(lambda t_m: with_thickness(start, t_m), domain, start.thickness_m, asked.made_by)
    if open_m is not None:
        taken_m = min(max(wanted_m, open_m[0]), open_m[1])
        yield _try(
            asked, with_thickness(start, taken_m), ("thickness",), MEETS, _thinned(asked, start, taken_m, wanted_m)
        )


def _next_sheet(asked: Asked, start: Zigzag, taken: Sheet, wanted_m: float, sheets: tuple[Sheet, ...]) -> str:
    """What lies beyond the sheet taken, on the side of the thickness wanted."""
    thinner = wanted_m < taken.thickness_m
    beyond = [sheet for sheet in sheets if sheet != taken and (sheet.thickness_m < taken.thickness_m) is thinner]
    if not beyond:
        return f"the list of sheets ends there, at its {'thinnest' if thinner else 'thickest'}"
    sheet = nearest_sheets(beyond, taken.thickness_m)[0]
    ohm = cold_ohm(with_thickness(start, sheet.thickness_m), asked.metal)
    return f"the next sheet, {sheet.words(asked.units)}, gives {ohm:.5g} ohm"


def _thinned(asked: Asked, start: Zigzag, taken_m: float, wanted_m: float) -> str:
    """What stopped the thickness short of the one wanted; "" where nothing did."""
    if taken_m == wanted_m:
        return ""
    beyond_m = taken_m * (1.0 + (_BEYOND if wanted_m > taken_m else -_BEYOND))
    stop = stopped_by(lambda t_m: with_thickness(start, t_m), taken_m, beyond_m, asked.made_by)
    return stop or f"no thickness is tried that is over {_THICKNESS_RANGE:g} times larger or smaller than the old"


def _thickness_m(asked: Asked, start: Zigzag) -> float:
    """``t_effective = squares * resistivity / R``, and the thickness at mid width that has it; squares stay."""
    effective_m = plate_squares(start).value * asked.metal.resistivity.value / asked.ohm
    scale = effective_m / start.effective_thickness_m
    if not start.edge_radius_m:
        return start.thickness_m * scale
    low_m = 2.0 * start.edge_radius_m * start.thickness_m / (start.edge_thickness_m or start.thickness_m)

    def missing(thickness_m: float) -> float:
        return log(effective_m / with_thickness(start, thickness_m).effective_thickness_m)

    return falling_root(missing, low_m, max(2.0 * scale, 2.0) * max(start.thickness_m, low_m))


def _passes(asked: Asked, start: Zigzag) -> Iterator[Try]:
    """Every count of the same parity, so that the eyes stay on their edges, the likeliest first; strip and gap share
    the overall width so that the ohms are met."""
    likely = sorted(_counts(start), key=lambda count: abs(log(_rough_ohm(asked, start, count) / asked.ohm)))
    unkept, tried, too_many = _never_kept(asked, start, likely), 0, _MOST_PASSES + 1
    for count in likely:
        if count >= too_many:  # where so many find no room, more find none
            continue
        near_m = _even_m(start, count)
        found = _nearest_width(asked, _in_width(start, count), _share_m(start, count), near_m, unkept)
        if found is not None:
            yield _try(asked, found[0], ("passes",), stop=found[1])
            tried += 1
        elif count > start.passes:
            too_many = count
        if tried == _COUNTS_TRIED:
            return


def _never_kept(asked: Asked, start: Zigzag, likely: list[int]) -> frozenset[str]:
    """Rules that neither a likely count, nor the old one, nor the fewest passes would keep with any strip."""
    counts = {start.passes, min(likely), *likely[:_COUNTS_TRIED]}
    broken = (never_kept(_in_width(start, count), _share_m(start, count), asked.made_by) for count in counts)
    real = [rules for rules in broken if rules is not None]
    return frozenset.intersection(*real) if real else frozenset()


def _share_m(start: Zigzag, count: int) -> WidthRange:
    """From the narrowest to the widest strip that so many passes leave in the overall width."""
    share_m = start.width_m / count
    return _LEAST_SHARE * share_m, _MOST_SHARE * share_m


def _in_width(start: Zigzag, count: int) -> ShapeAt:
    return lambda width_m: width_kept(start, width_m, count)


def _counts(start: Zigzag) -> range:
    return range(2 if start.passes % 2 == 0 else 3, _MOST_PASSES + 1, 2)


def _even_m(start: Zigzag, count: int) -> float:
    """Strip width of so many passes in the same overall width, strip to gap as it was."""
    return start.width_m / (count + (count - 1) * start.pass_gap_m / start.strip_width_m)


def _rough_ohm(asked: Asked, start: Zigzag, count: int) -> float:
    """Ohms by centre line over width, a few per cent off: good enough to tell one count from the next."""
    scale = _even_m(start, count) / start.strip_width_m
    length_m = strip_m(start) * count / start.passes
    return asked.metal.resistivity.value * length_m / (start.strip_width_m * scale * start.effective_thickness_m)


def _try(asked: Asked, shape: Zigzag, freed: tuple[Free, ...], within: float = MEETS, stop: str = "") -> Try:
    ohm = cold_ohm(shape, asked.metal)
    error = ohm / asked.ohm - 1.0
    return Try(freed, shape, ohm, error, abs(error) <= within, stop)


def _broken(found: Try, asked: Asked) -> list[str]:
    return [check.item for check in process_checks(found.shape, asked.made_by) if check.must and not check.ok]


def _finished(asked: Asked, found: Try, tries: list[Try]) -> Replacement:
    near = _near_sheet(asked, found.shape)
    return Replacement(
        asked=asked,
        freed=found.freed,
        shape=found.shape,
        figures=plate_figures(found.shape, asked.metal, asked.made_by),
        error=found.error,
        checks=process_checks(found.shape, asked.made_by),
        near_sheet=near,
        notes=(*_passed_over(asked, found, tries), *_notes(asked, found, near)),
    )


def _passed_over(asked: Asked, found: Try, tries: list[Try]) -> Iterator[str]:
    """Why an earlier way that meets the ohms was not taken."""
    for other in tries[: tries.index(found)]:
        if other.meets and other.freed != found.freed:
            ways, rules = " and ".join(map(WORDS.__getitem__, other.freed)), ", ".join(_broken(other, asked))
            yield f"Freeing the {ways} alone would do, but breaks rules for {asked.made_by}: {rules}."


def _near_sheet(asked: Asked, shape: Zigzag) -> NearSheet | None:
    sheets = sheets_for(asked.metal, asked.on_hand_m) if asked.made_by != "cast" else ()
    if not sheets:
        return None
    sheet = nearest_sheets(sheets, shape.thickness_m)[0]
    return NearSheet(sheet, cold_ohm(with_thickness(shape, sheet.thickness_m), asked.metal))


def _notes(asked: Asked, found: Try, near: NearSheet | None) -> Iterator[str]:
    old, new = asked.shape, found.shape
    units, thick = asked.units, size_words(new.thickness_m, asked.units)
    if asked.made_by != "cast":
        if old.edge_thickness_m is not None or old.edge_radius_m:
            yield "Cut from sheet: the taper and the rounded edges of the old strip are gone."
        if near is None:
            yield f"No scale of sheets is known for {asked.metal.name}: ask whether {thick} is sold."
        elif abs(near.sheet.thickness_m / new.thickness_m - 1) > 1e-3:
            yield f"{thick} is not on the list of sheets; ask whether it is sold."
    if new.fillet_m < old.fillet_m:
        largest, was = (size_words(length_m, units) for length_m in (new.fillet_m, old.fillet_m))
        yield f"The gap holds no larger inner fillet than {largest} (was {was})."
    grown_m = new.width_m - old.width_m
    if abs(grown_m) > 1e-6:
        by, how = size_words(abs(grown_m), units), "wider" if grown_m > 0 else "narrower"
        yield f"Over the passes the plate is {by} {how}."
