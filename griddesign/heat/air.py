"""Dry air at one atmosphere, and the film between a hot plate and the room.

Formula symbols: k conductivity W/(m K), nu kinematic viscosity m2/s, alpha thermal diffusivity m2/s, Pr Prandtl number,
beta thermal expansion 1/K.

Source of the table: density from the air equation of state of E. W. Lemmon, R. T. Jacobsen, S. G. Penoncello and
D. G. Friend, J. Phys. Chem. Ref. Data 29 (2000) 331; viscosity and conductivity from E. W. Lemmon and R. T. Jacobsen,
Int. J. Thermophysics 25 (2004) 21; evaluated at 101.325 kPa with a general fluid-property library and rounded to five
figures. Between the nodes each property follows a power of the absolute temperature: within 0.1 % of the source.
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError

FloatArray: TypeAlias = NDArray[np.float64]
Numbers: TypeAlias = float | FloatArray

ZERO_C_K = 273.15
LOWEST_K = 220.0
HIGHEST_K = 1200.0

# T K, density kg/m3, viscosity Pa s, conductivity W/(m K), specific heat J/(kg K)
_TABLE = (
    (220.0, 1.6072, 1.4443e-5, 0.020159, 1006.0),
    (250.0, 1.4133, 1.6038e-5, 0.022564, 1005.5),
    (275.0, 1.2843, 1.7311e-5, 0.024502, 1005.7),
    (300.0, 1.1770, 1.8537e-5, 0.026384, 1006.4),
    (350.0, 1.0085, 2.0867e-5, 0.030003, 1009.2),
    (400.0, 0.88231, 2.3055e-5, 0.033453, 1014.1),
    (450.0, 0.78420, 2.5124e-5, 0.036760, 1021.1),
    (500.0, 0.70574, 2.7090e-5, 0.039945, 1029.9),
    (550.0, 0.64157, 2.8968e-5, 0.043024, 1040.0),
    (600.0, 0.58810, 3.0769e-5, 0.046011, 1051.2),
    (700.0, 0.50408, 3.4176e-5, 0.051755, 1075.0),
    (800.0, 0.44108, 3.7370e-5, 0.057249, 1098.7),
    (900.0, 0.39208, 4.0394e-5, 0.062543, 1120.9),
    (1000.0, 0.35288, 4.3280e-5, 0.067677, 1141.0),
    (1200.0, 0.29408, 4.8728e-5, 0.077576, 1174.5),
)
_LOG_T, _LOG_DENSITY, _LOG_VISCOSITY, _LOG_CONDUCTIVITY, _LOG_SPECIFIC_HEAT = np.log(np.array(_TABLE)).T


@dataclass(frozen=True, slots=True)
class AirState:
    """Air at one temperature or at an array of them: k W/(m K), nu m2/s, alpha m2/s, Pr, beta 1/K.

    A book's own properties may be put in here, which is how the published examples are checked.
    """

    conductivity_w_mk: Numbers
    viscosity_m2_s: Numbers
    diffusivity_m2_s: Numbers
    prandtl: Numbers
    expansion_per_k: Numbers


def air_at(kelvin: Numbers) -> AirState:
    """Air at 1 atm and ``kelvin``, beta = 1/T as for an ideal gas.

    Raises InputError outside 220 to 1200 K (-53 to 927 degrees Celsius), the ends of the table.
    """
    t_k = np.asarray(kelvin, dtype=np.float64)
    _within_table(t_k)
    log_t = np.log(t_k)
    density = np.exp(np.interp(log_t, _LOG_T, _LOG_DENSITY))
    viscosity = np.exp(np.interp(log_t, _LOG_T, _LOG_VISCOSITY))
    conductivity = np.exp(np.interp(log_t, _LOG_T, _LOG_CONDUCTIVITY))
    specific_heat = np.exp(np.interp(log_t, _LOG_T, _LOG_SPECIFIC_HEAT))
    return AirState(
        conductivity_w_mk=conductivity,
        viscosity_m2_s=viscosity / density,
        diffusivity_m2_s=conductivity / (density * specific_heat),
        prandtl=viscosity * specific_heat / conductivity,
        expansion_per_k=1.0 / t_k,
    )


def film(hot_c: Numbers, ambient_c: Numbers) -> AirState:
    """Air at the mean of surface and ambient, ``beta = 1/T_film``: the safe side of the choices in use."""
    return air_at(0.5 * (np.asarray(hot_c) + np.asarray(ambient_c)) + ZERO_C_K)


def _within_table(t_k: FloatArray) -> None:
    if t_k.size and (t_k.min() < LOWEST_K or t_k.max() > HIGHEST_K or not np.all(np.isfinite(t_k))):
        raise InputError(
            f"air between {t_k.min() - ZERO_C_K:.0f} and {t_k.max() - ZERO_C_K:.0f} degC is outside the table of air",
            hint=f"The table reaches from {LOWEST_K - ZERO_C_K:.0f} to {HIGHEST_K - ZERO_C_K:.0f} degC.",
        )
