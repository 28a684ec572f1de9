"""What one plate of a stack loses: still air rising through the gaps, and radiation out of their mouths.

A plate is one lump (its Biot number through the thickness is about 1e-3). The air is free to enter below and to leave
above: a close floor or pan over the plates is covered by no correlation known to us. No wind of the moving car is
credited; only a local air speed the user has entered counts. Heat handed to a cooler neighbouring section is left out,
which is the safe side for the hottest one. Convection is not claimed to be better than 20 per cent: ``LOSS_BAND``.
"""

import math

import numpy as np

from griddesign.errors import GeometryError, InputError
from griddesign.heat.air import ZERO_C_K, AirState, FloatArray, Numbers, film
from griddesign.heat.records import PlateBody, Stack

STEFAN_BOLTZMANN_W_M2K4 = 5.670374419e-8
GRAVITY_M_S2 = 9.80665
LOSS_BAND = 0.20
"""How far the computed loss may be off, either way, as a fraction; printed on paper and run at its low end."""

_LAMINAR_TOP_RAYLEIGH = 1e9


def rayleigh(rise_k: Numbers, length_m: float, air: AirState, gravity_m_s2: float = GRAVITY_M_S2) -> Numbers:
    """Rayleigh number (no unit), ``Ra = g beta dT L^3 / (nu alpha)``, of a vertical surface ``length_m`` high at
    ``rise_k`` over the air."""
    buoyancy = gravity_m_s2 * air.expansion_per_k * rise_k
    return buoyancy * length_m**3 / (air.viscosity_m2_s * air.diffusivity_m2_s)


def elenbaas(
    rise_k: Numbers, gap_m: float, height_m: float, air: AirState, gravity_m_s2: float = GRAVITY_M_S2
) -> Numbers:
    """Elenbaas number (no unit), ``El = g beta dT b^4 / (nu alpha H)``, of a channel of clear gap b between plates of
    height H, both in metres, at ``rise_k`` over the air."""
    return rayleigh(rise_k, gap_m, air, gravity_m_s2) * gap_m / height_m


def channel_nusselt(elenbaas_number: Numbers) -> Numbers:
    """Mean Nusselt number on the gap, both walls at one temperature: ``[576/El^2 + 2.873/sqrt(El)]^(-1/2)``.

    Source: A. Bar-Cohen and W. M. Rohsenow, J. Heat Transfer 106 (1984) 116, joining the two limits of W. Elenbaas,
    Physica 9 (1942) 1; it tends to El/24 in narrow gaps. Range 0 < El < 1e5.
    """
    el = np.maximum(elenbaas_number, 1e-12)
    return el / np.sqrt(576.0 + 2.873 * el**1.5)


def laminar_plate_nusselt(rayleigh_number: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number on the height of a single vertical plate, laminar:
    ``0.68 + 0.670 Ra^(1/4) / [1 + (0.492/Pr)^(9/16)]^(4/9)``, Ra up to 1e9.

    Source: S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.
    """
    ra = np.maximum(rayleigh_number, 0.0)
    return 0.68 + 0.670 * ra**0.25 / (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (4 / 9)


def any_plate_nusselt(rayleigh_number: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number on the height of a single vertical plate at any Ra:
    ``{0.825 + 0.387 Ra^(1/6) / [1 + (0.492/Pr)^(9/16)]^(8/27)}^2``.

    Same source as the laminar form; at the size of a grid plate it reads 12 to 30 % higher.
    """
    ra = np.maximum(rayleigh_number, 0.0)
    return (0.825 + 0.387 * ra ** (1 / 6) / (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2


def plate_nusselt(rayleigh_number: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number on the height, no unit: the laminar form below Ra 1e9, the form for any Ra above."""
    laminar = laminar_plate_nusselt(rayleigh_number, prandtl)
    return np.where(
        np.asarray(rayleigh_number) < _LAMINAR_TOP_RAYLEIGH, laminar, any_plate_nusselt(rayleigh_number, prandtl)
    )


def forced_plate_nusselt(reynolds: Numbers, prandtl: Numbers) -> Numbers:
    """Mean Nusselt number of a flat plate in a parallel laminar stream, ``0.664 Re^(1/2) Pr^(1/3)``.

    Source: E. Pohlhausen's solution, e.g. F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass Transfer,
    section 7.2. Range Re below 5e5, Pr above 0.6; above that it stays on the safe side.
    """
    return 0.664 * np.sqrt(reynolds) * np.cbrt(prandtl)


def convection_w_m2k(
    height_m: float,
    gap_m: float | None,
    t_c: Numbers,
    ambient_c: Numbers,
    *,
    air: AirState | None = None,
    gravity_m_s2: float = GRAVITY_M_S2,
    local_air_m_s: float = 0.0,
) -> Numbers:
    """Film coefficient of a plate's faces, W/(m2 K): ``h = k min(Nu_channel / b, Nu_plate / H)``.

    ``gap_m`` None is a plate standing alone. ``air`` None takes air at the film temperature. A ``local_air_m_s`` that
    was measured between the plates is added as ``Nu^3 = Nu_forced^3 + Nu_natural^3``; the car's speed is no such thing.
    Zero where the plate is no warmer than the air and the air stands still in the gap.
    """
    state = film(t_c, ambient_c) if air is None else air
    rise_k = np.maximum(np.asarray(t_c) - np.asarray(ambient_c), 0.0)
    single = plate_nusselt(rayleigh(rise_k, height_m, state, gravity_m_s2), state.prandtl) / height_m
    natural = single
    if gap_m is not None:
        channel = channel_nusselt(elenbaas(rise_k, gap_m, height_m, state, gravity_m_s2)) / gap_m
        natural = np.minimum(channel, single)
    forced = forced_plate_nusselt(local_air_m_s * height_m / state.viscosity_m2_s, state.prandtl) / height_m
    return state.conductivity_w_mk * np.cbrt(natural**3 + forced**3)


def rectangle_view_factor(height_m: float, depth_m: float, gap_m: float) -> float:
    """View factor between two equal, aligned, parallel rectangles ``height_m`` x ``depth_m``, ``gap_m`` apart.

    ``F = 2/(pi XY) {ln[(1+X^2)(1+Y^2)/(1+X^2+Y^2)]^(1/2) + X sqrt(1+Y^2) atan(X/sqrt(1+Y^2)) + Y sqrt(1+X^2)
    atan(Y/sqrt(1+X^2)) - X atan X - Y atan Y}``, X and Y the sides over the gap. Source: F. P. Incropera and
    D. P. DeWitt, Fundamentals of Heat and Mass Transfer, table 13.2.
    """
    x, y = height_m / gap_m, depth_m / gap_m
    x_side, y_side = math.sqrt(1.0 + x * x), math.sqrt(1.0 + y * y)
    logarithm = 0.5 * math.log((1.0 + x * x) * (1.0 + y * y) / (1.0 + x * x + y * y))
    across = x * y_side * math.atan(x / y_side) + y * x_side * math.atan(y / x_side)
    return 2.0 / (math.pi * x * y) * (logarithm + across - x * math.atan(x) - y * math.atan(y))


def parallel_plates_w_m2(hot_k: float, cold_k: float, hot_emissivity: float, cold_emissivity: float) -> float:
    """Radiation between two large parallel grey plates, W/m2: ``sigma (T1^4 - T2^4) / (1/e1 + 1/e2 - 1)``.

    Source: Y. A. Cengel, Heat and Mass Transfer, section 13.4.
    """
    return STEFAN_BOLTZMANN_W_M2K4 * (hot_k**4 - cold_k**4) / (1.0 / hot_emissivity + 1.0 / cold_emissivity - 1.0)


def gap_radiating_m2(height_m: float, depth_m: float, gap_m: float, emissivity: float) -> float:
    """Black area a gap between two plates of one temperature is worth to the outside, m2:
    ``G = 1 / [(1 - e)/(2 e A) + 1/(2 A (1 - F))]``, A = H D.

    Both walls share the mouth of the gap, so no face radiates as if it stood alone. The slots of the zig-zag open no
    new way out, hence the projected area. Derived from the grey enclosure of two equal walls and a black opening.
    """
    area_m2 = height_m * depth_m
    outside = 1.0 - rectangle_view_factor(height_m, depth_m, gap_m)
    return 1.0 / ((1.0 - emissivity) / (2.0 * emissivity * area_m2) + 1.0 / (2.0 * area_m2 * outside))


def inner_radiating_m2(body: PlateBody, stack: Stack) -> float:
    """Black area one plate inside the stack is worth, m2: ``G + 2 e t (H + D)``. Limits are judged by it.

    A stack of two has only end plates and a stack of one only a free plate; those take what they have.
    """
    emissivity = body.metal.emissivity.value
    rim_m2 = 2.0 * emissivity * body.thickness_m * (body.height_m + body.depth_m)
    face_m2 = emissivity * body.height_m * body.depth_m
    if stack.plates == 1:
        return 2.0 * face_m2 + rim_m2
    gap_m2 = gap_radiating_m2(body.height_m, body.depth_m, stack.clear_gap_m, emissivity)
    return (gap_m2 if stack.plates > 2 else 0.5 * gap_m2 + face_m2) + rim_m2


def mean_radiating_m2(body: PlateBody, stack: Stack) -> float:
    """Black area per plate, mean over the stack, m2: ``[(N-1) G + 2 A e + 2 e N t (H + D)] / N``. Not for limits."""
    emissivity = body.metal.emissivity.value
    area_m2 = body.height_m * body.depth_m
    rim_m2 = 2.0 * emissivity * body.thickness_m * (body.height_m + body.depth_m)
    gaps = stack.plates - 1
    gap_m2 = gap_radiating_m2(body.height_m, body.depth_m, stack.clear_gap_m, emissivity) if gaps else 0.0
    return (gaps * gap_m2 + 2.0 * area_m2 * emissivity) / stack.plates + rim_m2


def loss_w(
    body: PlateBody,
    stack: Stack,
    t_c: Numbers,
    ambient_c: Numbers,
    factor: float = 1.0,
    *,
    local_air_m_s: float = 0.0,
) -> FloatArray:
    """What one plate inside the stack loses, W, at plate temperature ``t_c`` in air and surroundings at ``ambient_c``.

    ``factor [h A_c (T - Ta) + sigma A_rad (T^4 - Ta^4)]`` with A_c the true surface of the metal and A_rad from
    ``inner_radiating_m2``. ``factor`` is 1 for the best estimate, 1 - LOSS_BAND at the low end. Never negative: a plate
    colder than the air is credited with no heat from it. Raises GeometryError on a body or gap that cannot be.
    """
    _real_body(body, stack)
    hot_k = np.maximum(np.asarray(t_c, dtype=np.float64), ambient_c) + ZERO_C_K
    cold_k = np.asarray(ambient_c, dtype=np.float64) + ZERO_C_K
    gap_m = stack.clear_gap_m if stack.plates > 1 else None
    film_w_m2k = convection_w_m2k(body.height_m, gap_m, hot_k - ZERO_C_K, ambient_c, local_air_m_s=local_air_m_s)
    radiated = STEFAN_BOLTZMANN_W_M2K4 * inner_radiating_m2(body, stack) * (hot_k**4 - cold_k**4)
    return np.asarray(factor * (film_w_m2k * body.surface_m2 * (hot_k - cold_k) + radiated))


def _real_body(body: PlateBody, stack: Stack) -> None:
    sizes = (body.height_m, body.depth_m, body.thickness_m, body.surface_m2, body.mass_kg, body.cold_ohm)
    if not all(math.isfinite(size) and size > 0.0 for size in sizes):
        raise GeometryError(f"a plate needs sizes, mass and ohms above zero, these are {sizes}")
    if stack.plates < 1 or (stack.plates > 1 and not stack.clear_gap_m > 0.0):
        raise GeometryError(f"a stack of {stack.plates} plates {stack.clear_gap_m * 1e3:.1f} mm apart cannot be")
    if not 0.0 < body.metal.emissivity.value <= 1.0:
        raise InputError(f"emissivity {body.metal.emissivity.value} is not above 0 and up to 1")


def best_gap_m(
    height_m: float, rise_k: float, air: AirState, *, thickness_m: float = 0.0, gravity_m_s2: float = GRAVITY_M_S2
) -> float:
    """Clear gap that takes most heat from a given width of stack, m.

    Thin plates: ``b = 2.715 P^(-1/4)`` with ``P = El / b^4``; plates of thickness d: the root of
    ``2 b + 3 d = (2.873/576) P^1.5 b^7``. Source: A. Bar-Cohen and W. M. Rohsenow, J. Heat Transfer 106 (1984) 116.
    """
    per_gap4 = elenbaas(rise_k, 1.0, height_m, air, gravity_m_s2)
    gap_m = 2.715 * per_gap4**-0.25
    steep = 2.873 / 576.0 * per_gap4**1.5
    for _ in range(60 if thickness_m > 0.0 else 0):
        excess = steep * gap_m**7 - 2.0 * gap_m - 3.0 * thickness_m
        gap_m -= excess / (7.0 * steep * gap_m**6 - 2.0)
    return float(gap_m)


def time_constant_s(heat_capacity_j_k: float, film_w_m2k: float, surface_m2: float) -> float:
    """``tau = C / (h A)`` of a lump losing heat through one constant film coefficient, s."""
    return heat_capacity_j_k / (film_w_m2k * surface_m2)
