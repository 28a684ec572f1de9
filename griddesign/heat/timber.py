"""Timber over or beside a hot bank: what shines on it, the plume it stands in, and how hot its face gets.

The worst point of the timber faces strips of the bank, one for each section, each as hot as that section. The mouths of
the gaps are taken as black: the high side. The timber keeps all heat it takes in (no loss through its back), has stood
long enough to be steady, and no shield is credited.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from griddesign.errors import InputError
from griddesign.heat.air import ZERO_C_K, film
from griddesign.heat.cooling import GRAVITY_M_S2, STEFAN_BOLTZMANN_W_M2K4, convection_w_m2k

TIMBER_EMISSIVITY = 0.90
"""Planed oak and weathered boards read 0.90 (usual tables of emissivity, from memory); painted ones a little more."""
PLUME_FILMS_W_M2K = (2.0, 25.0)
"""Film coefficient of a plume that spreads under a floor: not known here, so both ends are run (estimate)."""
IGNITION_W_M2 = 4300.0
"""Least irradiance at which wood was seen to be set alight in the end, W/m2: V. Babrauskas (2001), Fire and Materials
31 (2007) 125, both second hand. Printed beside, never a limit."""


@dataclass(frozen=True, slots=True)
class Strip:
    """One section's part of a face of the bank, m: from ``x0`` to ``x1`` along the stack, as wide as the face."""

    x0_m: float
    x1_m: float
    t_c: float


def corner_factor(x_m: float, y_m: float, away_m: float) -> float:
    """View factor from a small area to a parallel rectangle x by y, ``away_m`` off, over one of its corners:
    ``1/(2 pi) {A/sqrt(1+A^2) atan[B/sqrt(1+A^2)] + B/sqrt(1+B^2) atan[A/sqrt(1+B^2)]}``, A = x/away, B = y/away.

    Signed as x and y are, so that rectangles may be put together from corners. Source: R. Siegel and J. R. Howell,
    Thermal Radiation Heat Transfer, appendix of configuration factors (element to parallel rectangle).
    """
    a, b = x_m / away_m, y_m / away_m
    root_a, root_b = math.sqrt(1.0 + a * a), math.sqrt(1.0 + b * b)
    return (a / root_a * math.atan(b / root_a) + b / root_b * math.atan(a / root_b)) / (2.0 * math.pi)


def strip_factor(strip: Strip, width_m: float, at_m: float, away_m: float) -> float:
    """View factor from the point of the timber at ``at_m`` along the stack, over the middle of the width, to a strip.

    Two corners on each side of the middle: the difference of two rectangles, twice.
    """
    half_m = 0.5 * width_m
    far, near = strip.x1_m - at_m, strip.x0_m - at_m
    return 2.0 * (corner_factor(far, half_m, away_m) - corner_factor(near, half_m, away_m))


def irradiance_w_m2(strips: Sequence[Strip], width_m: float, at_m: float, away_m: float) -> tuple[float, float]:
    """Black radiation of the strips on a point of the timber, W/m2, and the view factor to all of them together."""
    _real(strips, width_m, away_m)
    factors = [strip_factor(strip, width_m, at_m, away_m) for strip in strips]
    shone = sum(factor * _emitted(strip.t_c) for factor, strip in zip(factors, strips, strict=True))
    return shone, sum(factors)


def worst_point(strips: Sequence[Strip], width_m: float, away_m: float) -> tuple[float, float]:
    """The same, W/m2 and view factor, at the point where it is greatest: middles and ends of the strips are tried."""
    _real(strips, width_m, away_m)
    places = {at for strip in strips for at in (strip.x0_m, 0.5 * (strip.x0_m + strip.x1_m), strip.x1_m)}
    return max(irradiance_w_m2(strips, width_m, at, away_m) for at in sorted(places))


def plume_rise_k(convected_w: float, given_off_w: float, across_m: float, above_m: float, ambient_c: float) -> float:
    """Rise of the air on the axis of the plume ``above_m`` over a source of diameter ``across_m``, K:
    ``9.1 [T/(g cp^2 rho^2)]^(1/3) Qc^(2/3) (z - z0)^(-5/3)``, ``z0 = 0.083 Q^(2/5) - 1.02 D``; Qc the heat convected, Q
    all that is given off, kW.

    Source: G. Heskestad, as in B. Karlsson and J. G. Quintiere, Enclosure Fire Dynamics (2000), equations 4.23 and 4.25
    (air 1.0 kJ/kg K, 1.2 kg/m3 at 293 K). Found on fires; on the bank of plates it is an estimate.
    """
    if convected_w <= 0.0:
        return 0.0
    kelvin = ambient_c + ZERO_C_K
    density = 1.2 * 293.0 / kelvin
    origin_m = 0.083 * (given_off_w / 1e3) ** 0.4 - 1.02 * across_m
    scale = 9.1 * (kelvin / (GRAVITY_M_S2 * density**2)) ** (1.0 / 3.0)
    return float(scale * (convected_w / 1e3) ** (2.0 / 3.0) * max(above_m - origin_m, 1e-3) ** (-5.0 / 3.0))


def face_c(shone_w_m2: float, seen: float, ambient_c: float, air_c: float, film_w_m2k: float | None) -> float:
    """Steady temperature of the timber's face, degC: ``e [E + (1 - F) E_a - sigma T^4] = h (T - T_air)``.

    E ``shone_w_m2``, F ``seen`` the view factor to the bank, the rest of the view as warm as the ambient; h is
    ``film_w_m2k``, or where None that of a vertical face in still air, which then only cools.
    """
    low, high = min(ambient_c, air_c), max(air_c, ambient_c, _black_c(shone_w_m2 + (1.0 - seen) * _emitted(ambient_c)))
    for _ in range(60):
        middle = 0.5 * (low + high)
        taken = TIMBER_EMISSIVITY * (shone_w_m2 + (1.0 - seen) * _emitted(ambient_c) - _emitted(middle))
        given = _film(middle, air_c, film_w_m2k) * (middle - air_c)
        low, high = (middle, high) if taken > given else (low, middle)
    return high


def _film(face_t_c: float, air_c: float, film_w_m2k: float | None) -> float:
    """Still air along a vertical face a foot high where no coefficient is given."""
    if film_w_m2k is not None:
        return film_w_m2k
    return float(convection_w_m2k(0.3, None, face_t_c, air_c, air=film(face_t_c, air_c)))


def _emitted(t_c: float) -> float:
    return STEFAN_BOLTZMANN_W_M2K4 * (t_c + ZERO_C_K) ** 4


def _black_c(emitted_w_m2: float) -> float:
    return float((emitted_w_m2 / STEFAN_BOLTZMANN_W_M2K4) ** 0.25 - ZERO_C_K)


def _real(strips: Sequence[Strip], width_m: float, away_m: float) -> None:
    if not strips or not (width_m > 0.0 and away_m > 0.0):
        raise InputError(f"timber {away_m:g} m from a face {width_m:g} m wide of {len(strips)} strips cannot be")
