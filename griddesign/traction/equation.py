"""One motor string's equation, ``V = I·R' + s·k(I)·n``, and what follows from it.

``s`` motors in series, ``p`` strings side by side, ``I`` per motor, ``n`` the speed of the motors in rad/s, ``V`` ahead
of the feeder. ``R'`` gathers every ohm the string's current feels: a common grid and the feeder carry ``p`` strings.
"""

from griddesign.errors import CurveError
from griddesign.traction.curve import MotorCurve
from griddesign.traction.records import Grouping
from griddesign.traction.root import steep_root

COPPER_ZERO_C = 234.5


def copper_ohm(resistance_ohm: float, stated_c: float, at_c: float) -> float:
    """Ohms of a copper winding at another temperature: ``R·(234.5 + T)/(234.5 + T0)``.

    234.5 is the figure of IEC 60034-1 for copper (from memory). Both temperatures in degrees Celsius.
    """
    return resistance_ohm * (COPPER_ZERO_C + at_c) / (COPPER_ZERO_C + stated_c)


def total_ohm(
    grouping: Grouping, motor_ohm: float, feeder_ohm: float = 0.0, *, common_ohm: float = 0.0, string_ohm: float = 0.0
) -> float:
    """``R' = s·Rm + p·(Rg + Rf)`` with a common grid, ``s·Rm + Rg + p·Rf`` with a grid per string, ohm."""
    shared = grouping.parallel * (common_ohm + feeder_ohm)
    return grouping.series * motor_ohm + string_ohm + shared


def common_grid_ohm(grouping: Grouping, total: float, motor_ohm: float, feeder_ohm: float = 0.0) -> float:
    """The common grid that makes ``R'`` up to ``total``, ohm; negative where motors and feeder alone are more."""
    return (total - grouping.series * motor_ohm) / grouping.parallel - feeder_ohm


def speed_rad_s(volts_v: float, total: float, series: int, curve: MotorCurve, current_a: float) -> float:
    """Motor speed at which the string takes ``current_a``: ``(V - I·R')/(s·k(I))``, rad/s.

    Negative where the current is more than that of standstill: the car would have to roll back.
    """
    return (volts_v - current_a * total) / (series * curve.k(current_a))


def current_a(volts_v: float, total: float, series: int, curve: MotorCurve, speed: float) -> float:
    """The current of one string at a motor speed, A; the equation rises with current, so there is one root.

    Raises CurveError where the answer lies above the highest point of the curve (not at standstill, where no emf acts).
    """
    stalled = volts_v / total
    if speed <= 0.0:
        return stalled
    top = stalled if curve.hold_above else min(stalled, curve.highest_a)

    def surplus(amperes: float) -> tuple[float, float]:
        k, slope = curve.k_and_slope(amperes)
        return amperes * total + series * speed * k - volts_v, total + series * speed * slope

    at_top = surplus(top)[0]
    if top < stalled and at_top < 0.0:
        raise CurveError(
            f"the current at {speed:.4g} rad/s passes {curve.highest_a:.4g} A, the end of the motor curve",
            hint="Measure the curve further, or ask for a lower peak current.",
        )
    return steep_root(surplus, 0.0, top, top * volts_v / (volts_v + at_top))


def arriving_ohm(volts_v: float, peak_a: float, flux_ratio: float, leaving_emf_v: float, series_ratio: float) -> float:
    """``R'`` that lets the current just reach the peak on arriving at a notch, ohm.

    ``R'(k+1) = (V - (s'/s)·f·E)/Ip`` with ``E = V - Iv·R'(k)`` the emf of the string on leaving, ``f = k(Ip)/k(Iv)``
    and ``s'/s`` motors in series after and before. With ``s' = s`` the recursion of the saturating series motor
    (Theraja and Theraja, A Textbook of Electrical Technology, vol. II, Ex 30.56), with ``f = 1`` too that of the shunt
    motor.
    """
    return (volts_v - series_ratio * flux_ratio * leaving_emf_v) / peak_a


def frozen_flux_a(volts_v: float, total: float, leaving_emf_v: float, series_ratio: float) -> float:
    """Current just after notching if the flux had not moved yet: ``(V - (s'/s)·E)/R'``, A.

    An upper bound of the true peak: a solid frame delays the flux, so the emf lags behind the current.
    """
    return (volts_v - series_ratio * leaving_emf_v) / total
