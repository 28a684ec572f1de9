"""What else changes when one plate replaces another: mass, heat, stiffness, growth, limits."""

from dataclasses import dataclass

from griddesign.figures import Figure
from griddesign.metals import COLD_C, Metal
from griddesign.plate.ohms import PlateFigures
from griddesign.plate.shapes import Zigzag

WARM_C = 300.0
"""Temperature of the second column of heat capacity and ohms, degC."""

STIFFNESS_NOTE = (
    "Stiffness by geometry alone (strip width times thickness cubed): the tables hold no elastic modulus.",
    "Multiply it by the new metal's modulus over the old one's, and divide both deflections by that.",
)


@dataclass(frozen=True, slots=True)
class Side:
    """One plate of the two. ``growth_m``: by how much its height grows from 20 to 300 degC."""

    metal: Metal
    cold_ohm: float
    warm_ohm: float
    mass_kg: float
    heat_capacity_cold_j_k: float
    heat_capacity_warm_j_k: float
    surface_m2: float
    growth_m: float
    limit_c: Figure
    resistivity: Figure


@dataclass(frozen=True, slots=True)
class Comparison:
    """Old and new side by side, and the new plate's stiffness over the old one's.

    ``stiffness``: bending of the strip out of the plate's plane under the same force, ``w t^3`` new over old;
    ``deflection`` its inverse; ``sag`` the deflection under the plate's own weight, ``density / t^2`` new over old. All
    for alike elastic moduli, see ``STIFFNESS_NOTE``, and for straights of the same height.
    """

    old: Side
    new: Side
    stiffness: float
    deflection: float
    sag: float


def comparison(
    old: tuple[Zigzag, Metal, PlateFigures], new: tuple[Zigzag, Metal, PlateFigures], warm_c: float = WARM_C
) -> Comparison:
    """Hold two plates against each other; each is given as shape, metal and figures. The thickness is the effective
    one, so that rounded and tapered strips count by their area, an approximation for bending."""
    (old_shape, old_metal, _), (new_shape, new_metal, _) = old, new
    thicker = new_shape.effective_thickness_m / old_shape.effective_thickness_m
    stiffness = new_shape.strip_width_m / old_shape.strip_width_m * thicker**3
    return Comparison(
        old=_side(*old, warm_c),
        new=_side(*new, warm_c),
        stiffness=stiffness,
        deflection=1.0 / stiffness,
        sag=new_metal.density.value / old_metal.density.value / thicker**2,
    )


def _side(shape: Zigzag, metal: Metal, figures: PlateFigures, warm_c: float) -> Side:
    return Side(
        metal=metal,
        cold_ohm=figures.cold_ohm,
        warm_ohm=figures.cold_ohm * metal.ratio(warm_c),
        mass_kg=figures.mass_kg,
        heat_capacity_cold_j_k=figures.mass_kg * metal.specific_heat(COLD_C),
        heat_capacity_warm_j_k=figures.mass_kg * metal.specific_heat(warm_c),
        surface_m2=figures.surface_m2,
        growth_m=metal.expansion.value * (warm_c - COLD_C) * shape.height_m,
        limit_c=metal.limit_c,
        resistivity=metal.resistivity,
    )
