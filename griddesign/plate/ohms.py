"""The figures of one plate: ohms with their two brackets, strip, mass, surface."""

from dataclasses import dataclass
from math import cos, pi, tan

from griddesign.metals import Metal
from griddesign.plate.bends import plate_squares, strip_m
from griddesign.plate.outline import Outline
from griddesign.plate.process import MadeBy, refuse_unsuited
from griddesign.plate.shapes import Zigzag
from griddesign.plate.zigzag import outline_of

TERMINAL_MODEL = (
    "Each eye is taken as held at one potential all round the rim of its hole; washers that press on its faces "
    "carry the current over a larger ring and lower the ohms of the plate a little."
)


@dataclass(frozen=True, slots=True)
class PlateFigures:
    """One plate at 20 degC.

    ``low_ohm`` to ``high_ohm`` is the bracket of the calculation alone, for the metal's resistivity as tabled;
    ``metal_low_ohm`` to ``metal_high_ohm`` takes the range of the resistivity as well, and is as a rule many times
    wider. Neither knows how true to size the plate comes out. ``strip_m`` runs along the centre line from eye to
    eye. ``area_m2`` is one face of metal, ``surface_m2`` both faces and the rim without the bores. ``width_m`` and
    ``height_m`` leave out the eyes.
    """

    squares: float
    squares_low: float
    squares_high: float
    cold_ohm: float
    low_ohm: float
    high_ohm: float
    metal_low_ohm: float
    metal_high_ohm: float
    strip_m: float
    mass_kg: float
    area_m2: float
    surface_m2: float
    effective_thickness_m: float
    width_m: float
    height_m: float
    smallest_web_m: float
    pass_gap_m: float
    terminal_model: str = TERMINAL_MODEL


def plate_figures(shape: Zigzag, metal: Metal, made_by: MadeBy) -> PlateFigures:
    """Everything the other rooms need to know of a plate of this metal, made this way.

    ``R = squares * resistivity / effective thickness``, cold (20 degC). A tapered or rounded section counts with
    its true area: exact along the straight strip, an approximation where the current turns; bends and eyes are
    taken as thick on average as the strip. Raises InputError where the metal cannot be made so.
    """
    refuse_unsuited(metal, made_by)
    squares, outline, rho = plate_squares(shape), outline_of(shape), metal.resistivity
    thickness_m = shape.effective_thickness_m
    return PlateFigures(
        squares=squares.value,
        squares_low=squares.low,
        squares_high=squares.high,
        cold_ohm=squares.value * rho.value / thickness_m,
        low_ohm=squares.low * rho.value / thickness_m,
        high_ohm=squares.high * rho.value / thickness_m,
        metal_low_ohm=squares.low * rho.low / thickness_m,
        metal_high_ohm=squares.high * rho.high / thickness_m,
        strip_m=strip_m(shape),
        mass_kg=metal.density.value * outline.area_m2 * thickness_m,
        area_m2=outline.area_m2,
        surface_m2=surface_m2(shape, outline),
        effective_thickness_m=thickness_m,
        width_m=shape.width_m,
        height_m=shape.height_m,
        smallest_web_m=smallest_web_m(shape),
        pass_gap_m=shape.pass_gap_m,
    )


def cold_ohm(shape: Zigzag, metal: Metal) -> float:
    """Ohms of the plate at 20 degC, eye to eye: the best value of ``plate_figures`` and nothing else."""
    return plate_squares(shape).value * metal.resistivity.value / shape.effective_thickness_m


def smallest_web_m(shape: Zigzag) -> float:
    """The narrowest metal of the plate: strip, bar of a bend, ring of an eye."""
    return min(shape.strip_width_m, shape.bar_m, shape.eye.web_m)


def surface_m2(shape: Zigzag, outline: Outline) -> float:
    """Both faces, longer by 1/cos of their slope where the strip tapers, and the rim; bores are left out.

    A rounded edge of radius e and angle phi swaps ``2 e cot(phi/2)`` of flat for ``e (pi - phi)`` of arc, twice per
    metre of rim. What washers and spacers cover is not taken off.
    """
    slope_rad = shape.edge_slope_rad
    edge_m = shape.thickness_m if shape.edge_thickness_m is None else shape.edge_thickness_m
    arc_for_flat_m = shape.edge_radius_m * (pi / 2 - slope_rad - 2 / tan(pi / 4 + slope_rad / 2))
    return 2 * outline.area_m2 / cos(slope_rad) + outline.outer.perimeter_m * (edge_m + 2 * arc_for_flat_m)
