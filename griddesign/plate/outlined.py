"""A plate known only by its outline: ohms with their brackets, mass, surface, and where the current crowds.

The outline is solved as it is, from terminal to terminal, by the two-dimensional conduction of ``plate.field``: no
family, no formula. Where it is said how the plate is made, the tolerances of that way are tried on it: all edges set in
or out together, and the thickness.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isinf, log, log1p
from typing import TYPE_CHECKING

from griddesign.figures import Figure, Status
from griddesign.metals import Metal
from griddesign.plate.kerf import kerf_outline
from griddesign.plate.outline import Circle, Outline, Point
from griddesign.plate.process import MadeBy
from griddesign.plate.spread import Sizes, Spread, spread_of_edges
from griddesign.plate.terminals import Clamp, TerminalModel

if TYPE_CHECKING:
    from griddesign.plate.field import Crowding, Solution

BRACKET, WANTED_CROWDING = 1e-3, 2.5
LAW_REACHES = 0.2  # of the mean strip width: the law of the fillet holds for radii up to here, within 3 %
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
    """One outline in one metal at 20 degC, of one thickness.

    ``low_ohm`` to ``high_ohm`` is the bracket of the calculation alone, arcs included; ``metal_low_ohm`` to
    ``metal_high_ohm`` takes the range of the resistivity as well. ``mean_width_m`` and ``strip_m`` are width and length
    of the straight strip of the same squares and the same metal between the terminals: ``w = sqrt(A/N)``, ``L = N w``.
    ``area_m2`` is one face, ``surface_m2`` both faces and every rim but those of round holes, which rods fill.
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


@dataclass(frozen=True, slots=True)
class SolvedOutline:
    """An outline in a metal with its figures, and the mesh and fields they were read from."""

    outline: Outline
    metal: Metal
    figures: OutlineFigures
    solution: "Solution"
    making: Spread | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """One reason why the plate's true ohms may differ, as shares of ``cold_ohm``; None: not computed."""

    name: str
    low: float | None
    high: float | None
    why: str

    @property
    def span(self) -> float:
        """How wide it is."""
        return 0.0 if self.low is None or self.high is None else self.high - self.low


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
) -> SolvedOutline:
    """Squares between the first two terminals to a relative ``bracket``, and all that follows from them.

    ``R = N resistivity / thickness`` at 20 degC. ``thickness`` in metres, ``washer_m`` the diameter of the washers'
    faces (None: the rims of the holes are the terminals), ``clamps`` areas that are terminals beside the outline's
    terminal holes, ``made_by`` how it is made, for the spread by tolerance.

    Raises:
        GeometryError: no two terminals, a washer that does not cover its hole, washers that meet, metal that does not
            hang together.
        BracketError: the bracket would not close; no number is given then.
    """
    from griddesign.plate.field import crowding, solved
    from griddesign.plate.field.peak import mean_width

    model = TerminalModel(washer_m, clamps)
    domain = model.domain(outline)
    solution = solved(domain, bracket)
    width_m = mean_width(solution)
    hot_spot = _hot_spot(crowding(domain, width_m, solution), wanted_crowding)
    figures = _figures(outline, metal, thickness, model, solution, hot_spot)
    making = None if made_by is None else _making(outline, metal, figures, made_by)
    return SolvedOutline(outline, metal, figures, solution, making)


def _making(outline: Outline, metal: Metal, figures: OutlineFigures, made_by: MadeBy) -> Spread:
    """The tolerances of the way of making, on mean width and thickness; the width's power by solving the plate with all
    its edges set out by 1 % of the mean width. Raises GeometryError where the outline bears no wider strip."""
    from griddesign.plate.field import squares

    width_m, thickness_m = figures.mean_width_m, figures.thickness.value
    wider = kerf_outline(outline, WIDER * width_m)
    wider_squares = squares(TerminalModel(figures.washer_m, figures.clamps).domain(wider)).value
    power = log(wider_squares / figures.squares) / log1p(WIDER)
    return spread_of_edges(Sizes(width_m, thickness_m, thickness_m), power, metal, made_by)


def doubts(solved: SolvedOutline) -> tuple[Doubt, ...]:
    """Calculation, metal, thickness where it was given as a range, and making."""
    made = Doubt("cutting or casting", None, None, NOT_MADE) if solved.making is None else _made(solved.making)
    return (*_doubts(solved.figures, solved.metal.resistivity), made)


def _doubts(figures: OutlineFigures, rho: Figure) -> Iterator[Doubt]:
    squares, thickness = figures.squares, figures.thickness
    low, high = figures.squares_low / squares - 1, figures.squares_high / squares - 1
    yield Doubt("calculation", low, high, "bracket of the method: the outline's true value lies inside")
    yield Doubt("metal", rho.low / rho.value - 1, rho.high / rho.value - 1, _metal_words(rho))
    if thickness.low < thickness.high:
        low, high = thickness.value / thickness.high - 1, thickness.value / thickness.low - 1
        yield Doubt("thickness", low, high, "range of the thickness as given")


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
    )


def _cooled_rim_m(outline: Outline) -> float:
    slots = sum(hole.perimeter_m for hole in outline.holes if not isinstance(hole, Circle))
    return outline.outer.perimeter_m + slots
