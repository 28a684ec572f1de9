"""A plate known only by its outline: ohms with their brackets, mass, surface, and where the current crowds.

The outline is solved as it is, from terminal to terminal, by the two-dimensional conduction of ``plate.field``: no
family, no formula. Its thickness may differ from region to region or taper (``plate.uneven``). Where it is said how the
plate is made, the tolerances of that way are tried on it: all edges set in or out together, and the thickness.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import isinf, log, log1p
from typing import TYPE_CHECKING

from griddesign.figures import Figure, Status
from griddesign.metals import Metal
from griddesign.plate.kerf import kerf_outline
from griddesign.plate.outline import Circle, Outline, Point
from griddesign.plate.process import MadeBy
from griddesign.plate.spread import Sizes, Spread, spread_of_edges
from griddesign.plate.terminals import Clamp, TerminalModel
from griddesign.plate.uneven import Uneven, field_thickness, rim_m2, volume_m3
from griddesign.telling import stage

if TYPE_CHECKING:
    from griddesign.plate.field import Crowding, Domain, Solution
    from griddesign.plate.outline_rules import RuleCheck

BRACKET, WANTED_CROWDING = 1e-3, 2.5
LAW_REACHES = 0.2  # of the mean strip width: the law of the fillet holds for radii up to here, within 3 %
STEPS = "estimate: at a square step on one face the current must also spread through the thickness"
NOT_MADE = "not computed: say how the plate is made (--made-by)"
WIDER = 0.02  # by this share of the mean width the strip is set wider to see what that does to the ohms


@dataclass(frozen=True, slots=True)
class HotSpot:
    """Peak over mean current density (infinite at a sharp inner corner), its place in the outline's axes, its cause.

    ``fillet_m`` is the radius of the inner corner that brings the peak at this place to ``wanted`` times the mean, by
    the law of ``field.peak``; None where it is below that already or where no fillet acts. ``by_law``: the radius lies
    where the law holds; a larger one is an estimate.
    """

    ratio: float
    at_m: Point
    cause: str
    wanted: float
    fillet_m: float | None
    by_law: bool

    @property
    def unbounded(self) -> bool:
        """Whether a sharp corner has no peak at all."""
        return isinf(self.ratio)


@dataclass(frozen=True, slots=True)
class OutlineFigures:
    """One outline in one metal at 20 degC, of the nominal ``thickness`` but for what ``uneven`` says.

    ``low_ohm`` to ``high_ohm`` is the bracket of the calculation alone, arcs included; ``metal_low_ohm`` to
    ``metal_high_ohm`` takes the range of the resistivity as well. ``mean_width_m`` and ``strip_m`` are width and length
    of the straight strip of the nominal thickness, the same squares and the same metal between the terminals:
    ``w = sqrt(V/(t N))``, ``L = N w``. ``area_m2`` is one face, ``surface_m2`` both faces, every rim but those of round
    holes, which rods fill, and steps of the thickness. ``steps_share`` is what the sheet leaves out at those steps, as
    a share of the ohms (``field.steps``, an estimate).
    """

    squares: float
    squares_low: float
    squares_high: float
    cold_ohm: float
    low_ohm: float
    high_ohm: float
    metal_low_ohm: float
    metal_high_ohm: float
    mean_width_m: float
    strip_m: float
    mass_kg: float
    area_m2: float
    surface_m2: float
    thickness: Figure
    washer_m: float | None
    terminal_model: str
    hot_spot: HotSpot
    clamps: tuple[Clamp, ...] = ()
    uneven: Uneven | None = None
    volume_m3: float = 0.0
    steps_share: float = 0.0


@dataclass(frozen=True, slots=True)
class SolvedOutline:
    """An outline in a metal with its figures, and the mesh and fields they were read from.

    ``thickness_ends``: shares of the ohms at the greatest and the least thickness, None where none is a range;
    ``rules``: its narrow places against the rules of the way it is made, where that is known.
    """

    outline: Outline
    metal: Metal
    figures: OutlineFigures
    solution: "Solution"
    making: Spread | None = None
    thickness_ends: tuple[float, float] | None = None
    rules: "tuple[RuleCheck, ...]" = ()


@dataclass(frozen=True, slots=True)
class Doubt:
    """One reason why the plate's true ohms may differ, as shares of ``cold_ohm``; None: not computed."""

    name: str
    low: float | None
    high: float | None
    why: str

    @property
    def span(self) -> float:
        """How wide it is, in the unit of its ends; 0 where an end is not known."""
        return 0.0 if self.low is None or self.high is None else self.high - self.low


@stage("the field of the plate")
def solve_outline(
    outline: Outline,
    metal: Metal,
    thickness: Figure,
    *,
    washer_m: float | None = None,
    clamps: tuple[Clamp, ...] = (),
    bracket: float = BRACKET,
    wanted_crowding: float = WANTED_CROWDING,
    made_by: MadeBy | None = None,
    uneven: Uneven | None = None,
) -> SolvedOutline:
    """Squares between the first two terminals to a relative ``bracket``, and all that follows from them.

    ``R = N resistivity / thickness`` at 20 degC. ``thickness`` in metres, ``washer_m`` the diameter of the washers'
    faces (None: the rims of the holes are the terminals), ``clamps`` areas that are terminals beside the outline's
    terminal holes, ``made_by`` how it is made, for the spread by tolerance, ``uneven`` where the thickness is another
    (``thickness`` is then the nominal one, of a taper its mean).

    Raises:
        GeometryError: no two terminals, a washer that does not cover its hole, washers that meet, metal that does not
            hang together.
        BracketError: the bracket would not close; no number is given then.
    """
    from griddesign.plate.field import crowding, solved
    from griddesign.plate.field.peak import mean_width

    model = TerminalModel(washer_m, clamps)
    domain = _domain(outline, model, thickness.value, uneven)
    solution = solved(domain, bracket)
    width_m = mean_width(solution)
    hot_spot = _hot_spot(crowding(domain, width_m, solution), wanted_crowding)
    figures = _figures(outline, metal, thickness, model, solution, hot_spot)
    if uneven is not None:
        figures = _of_uneven(figures, uneven, outline, metal, solution)
    alone = SolvedOutline(outline, metal, figures, solution, None, _thickness_ends(outline, model, figures))
    return alone if made_by is None else _made_so(alone, made_by)


def _made_so(solved: SolvedOutline, made_by: MadeBy) -> SolvedOutline:
    """The outline with what its way of making does to its ohms, and asks of its narrow places."""
    from griddesign.plate.outline_rules import rule_checks

    making = _making(solved.outline, solved.metal, solved.figures, made_by)
    figures = solved.figures
    regions = () if figures.uneven is None else figures.uneven.regions
    every_m = [figures.thickness.value, *(region.thickness.value for region in regions)]
    rules = rule_checks(solved.outline, made_by, max(every_m), min(every_m))
    return replace(solved, making=making, rules=rules)


def _domain(outline: Outline, model: TerminalModel, nominal_m: float, uneven: Uneven | None) -> "Domain":
    if uneven is None:
        return model.domain(outline)
    return model.domain(outline, field_thickness(uneven, nominal_m, outline))


def _thickness_ends(outline: Outline, model: TerminalModel, figures: OutlineFigures) -> tuple[float, float] | None:
    """What the ohms come to where every thickness is the greatest, and the least, of its range: more metal never has
    more ohms, so these are the ends."""
    from griddesign.plate.field import squares

    nominal, uneven = figures.thickness, figures.uneven
    if uneven is None or not uneven.ranges:
        ends = nominal.value / nominal.high - 1, nominal.value / nominal.low - 1
        return ends if nominal.low < nominal.high else None
    high, low = (
        squares(_domain(outline, model, nominal.at(end), uneven.pinned(end))).value * nominal.value / nominal.at(end)
        for end in ("high", "low")
    )
    return high / figures.squares - 1, low / figures.squares - 1


def _making(outline: Outline, metal: Metal, figures: OutlineFigures, made_by: MadeBy) -> Spread:
    """The tolerances of the way of making, on mean width and nominal thickness; the width's power by solving the plate
    with all its edges set out by 1 % of the mean width, of one thickness throughout. Raises GeometryError where the
    outline bears no wider strip."""
    from griddesign.plate.field import squares

    width_m, thickness_m = figures.mean_width_m, figures.thickness.value
    model = TerminalModel(figures.washer_m, figures.clamps)
    wider_squares = squares(model.domain(kerf_outline(outline, WIDER * width_m))).value
    own_squares = figures.squares if figures.uneven is None else squares(model.domain(outline)).value
    power = log(wider_squares / own_squares) / log1p(WIDER)
    return spread_of_edges(Sizes(width_m, thickness_m, thickness_m), power, metal, made_by)


def doubts(solved: SolvedOutline) -> tuple[Doubt, ...]:
    """Calculation, metal, thickness where it was given as a range, its steps where it has any, and making."""
    made = Doubt("cutting or casting", None, None, NOT_MADE) if solved.making is None else _made(solved.making)
    return (*_doubts(solved, solved.figures, solved.metal.resistivity), made)


def _doubts(solved: SolvedOutline, figures: OutlineFigures, rho: Figure) -> Iterator[Doubt]:
    squares = figures.squares
    low, high = figures.squares_low / squares - 1, figures.squares_high / squares - 1
    yield Doubt("calculation", low, high, "bracket of the method: the outline's true value lies inside")
    yield Doubt("metal", rho.low / rho.value - 1, rho.high / rho.value - 1, _metal_words(rho))
    if solved.thickness_ends is not None:
        yield Doubt("thickness", *solved.thickness_ends, "range of the thickness as given")
    if figures.steps_share > 0:
        yield Doubt("steps of thickness", 0.0, figures.steps_share, STEPS)


def _made(making: Spread) -> Doubt:
    """What cutting or casting lets through: tolerance on the mean width, all edges moved alike, and on thickness."""
    causes = "; ".join(f"{cause.tolerance.item} ±{1000 * cause.tolerance.half_m:.3g} mm" for cause in making.causes)
    sources = ", ".join(dict.fromkeys(cause.tolerance.source.split(",")[0] for cause in making.causes))
    known = f"tolerances: {causes} ({sources})" if causes else "no tolerance known for its sizes"
    left_out = f"; not counted: {', '.join(making.not_counted)}" if making.not_counted else ""
    return Doubt("cutting or casting", making.low, making.high, known + left_out)


def _metal_words(rho: Figure) -> str:
    """Whether the metal was measured, and how its resistivity is known."""
    if rho.status is Status.MEASURED:
        return f"resistivity measured: {rho.source}"
    known = f"{rho.text} {rho.source}" if rho.text else f"from the table ({rho.status})"
    return f"resistivity {known}; not measured on this plate"


def _hot_spot(found: "Crowding", wanted: float) -> HotSpot:
    if not (found.constant and found.ratio > wanted):
        return HotSpot(found.ratio, found.place, found.cause, wanted, None, by_law=True)
    fillet_m = found.fillet(wanted)
    return HotSpot(found.ratio, found.place, found.cause, wanted, fillet_m, fillet_m <= LAW_REACHES * found.width)


def _figures(
    outline: Outline,
    metal: Metal,
    thickness: Figure,
    model: TerminalModel,
    solution: "Solution",
    hot_spot: HotSpot,
) -> OutlineFigures:
    from griddesign.plate.field.peak import mean_width

    squares, rho, width_m = solution.bracket, metal.resistivity, mean_width(solution)
    return OutlineFigures(
        squares=squares.value,
        squares_low=squares.low,
        squares_high=squares.high,
        cold_ohm=squares.value * rho.value / thickness.value,
        low_ohm=squares.low * rho.value / thickness.value,
        high_ohm=squares.high * rho.value / thickness.value,
        metal_low_ohm=squares.low * rho.low / thickness.value,
        metal_high_ohm=squares.high * rho.high / thickness.value,
        mean_width_m=width_m,
        strip_m=squares.value * width_m,
        mass_kg=metal.density.value * outline.area_m2 * thickness.value,
        area_m2=outline.area_m2,
        surface_m2=2 * outline.area_m2 + thickness.value * _cooled_rim_m(outline),
        thickness=thickness,
        washer_m=model.washer_m,
        terminal_model=model.words(len(outline.terminals)),
        hot_spot=hot_spot,
        clamps=model.clamps,
        volume_m3=outline.area_m2 * thickness.value,
    )


def _of_uneven(
    figures: OutlineFigures, uneven: Uneven, outline: Outline, metal: Metal, solution: "Solution"
) -> OutlineFigures:
    """The figures that know of the thickness, put right."""
    from griddesign.plate.field.steps import squares_of_steps, step_area

    nominal_m = figures.thickness.value
    volume = volume_m3(uneven, nominal_m, outline)
    return replace(
        figures,
        uneven=uneven,
        volume_m3=volume,
        mass_kg=metal.density.value * volume,
        surface_m2=2 * outline.area_m2 + rim_m2(uneven, nominal_m, outline) + nominal_m * step_area(solution),
        steps_share=squares_of_steps(solution, nominal_m) / figures.squares,
    )


def _cooled_rim_m(outline: Outline) -> float:
    slots = sum(hole.perimeter_m for hole in outline.holes if not isinstance(hole, Circle))
    return outline.outer.perimeter_m + slots
