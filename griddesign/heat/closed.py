"""Closed forms: what can be worked out by hand. They check the marched answers and stand in the working papers."""

import math

import numpy as np

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray


def later_c(start_c: float, asymptote_c: float, seconds: float, tau_s: float) -> float:
    """Temperature of one lump ``seconds`` on, degC: ``T = T_end + (T0 - T_end) exp(-t/tau)``."""
    return asymptote_c + (start_c - asymptote_c) * math.exp(-seconds / tau_s)


def time_between_s(start_c: float, end_c: float, asymptote_c: float, tau_s: float) -> float:
    """Time of one lump from ``start_c`` to ``end_c``, s: ``t = tau ln[(T0 - T_end)/(T - T_end)]``.

    Raises InputError where ``end_c`` does not lie between start and asymptote.
    """
    left, gone = end_c - asymptote_c, start_c - asymptote_c
    if left == 0.0 or not gone / left >= 1.0:
        raise InputError(f"{end_c:g} degC is not on the way from {start_c:g} to {asymptote_c:g} degC")
    return tau_s * math.log(gone / left)


def asymptote_c(start_c: float, end_c: float, seconds: float, tau_s: float) -> float:
    """Where one lump is heading that came from ``start_c`` to ``end_c`` in ``seconds``, degC."""
    kept = math.exp(-seconds / tau_s)
    return (end_c - start_c * kept) / (1.0 - kept)


def settled_peak_k(steady_rise_k: float, on_s: float, off_s: float, tau_on_s: float, tau_off_s: float) -> float:
    """Highest rise over ambient of a lump after many equal cycles, K:
    ``theta_max = theta_ss (1 - e^(-t_on/tau_on)) / (1 - e^(-(t_on/tau_on + t_off/tau_off)))``.

    ``steady_rise_k`` is where it would end if it were on for ever. One time constant each for on and off, constant.
    """
    on, off = on_s / tau_on_s, off_s / tau_off_s
    return steady_rise_k * math.expm1(-on) / math.expm1(-(on + off))


def heat_run(first_k: float, second_k: float, interval_s: float) -> tuple[float, float]:
    """Time constant, s, and final rise, K, from two rises, one and two intervals after a cold start at constant power.

    ``theta_end = a^2/(2a - b)``, ``tau = dt / ln[a/(b - a)]``; a user's own run on a real bank replaces the model by
    this. Raises InputError where the second rise is not between once and twice the first.
    """
    if not first_k < second_k < 2.0 * first_k:
        raise InputError(f"rises of {first_k:g} K and then {second_k:g} K are not those of one lump warming up")
    return interval_s / math.log(first_k / (second_k - first_k)), first_k**2 / (2.0 * first_k - second_k)


def rise_by_resistance_k(
    cold_ohm: float, hot_ohm: float, cold_c: float, ambient_c: float, zero_ohm_below_c: float
) -> float:
    """Rise over ambient from two resistances, K: ``(R2/R1)(k + T1) - k - Ta``, k = 1/alpha20 - 20 (235 for copper)."""
    return hot_ohm / cold_ohm * (zero_ohm_below_c + cold_c) - zero_ohm_below_c - ambient_c


def adiabatic_constant_a_s_mm2(resistivity_ohm_m: float, alpha20: float, heat_j_m3_k: float) -> float:
    """Constant K of a conductor heated without loss, A s^(1/2)/mm2: ``K = sqrt[c_v (beta + 20)/rho20]``.

    beta = 1/alpha20 - 20; the form of IEC 60949 (from memory). No use as alpha goes to 0.
    """
    return math.sqrt(heat_j_m3_k / (resistivity_ohm_m * alpha20)) * 1e-6


def adiabatic_current_density_a_mm2(
    constant_a_s_mm2: float, alpha20: float, start_c: float, end_c: float, seconds: float = 1.0
) -> float:
    """Steady current density that takes a conductor from start to end in ``seconds`` without loss, A/mm2:
    ``K sqrt(ln[(T_end + beta)/(T_start + beta)] / t)``, beta = 1/alpha20 - 20.
    """
    beta = 1.0 / alpha20 - 20.0
    return constant_a_s_mm2 * math.sqrt(math.log((end_c + beta) / (start_c + beta)) / seconds)


def stalled_adiabatic_s(
    heat_j_k: float,
    *,
    cold_ohm: float,
    other_ohm: float,
    alpha20: float,
    line_v: float,
    start_c: float,
    end_c: float,
) -> float:
    """Time of a grid alike throughout, car standing, no loss, constant specific heat, s:
    ``t = C/(alpha R20 V^2) [R^2/2 + 2 R0 R + R0^2 ln R]`` between the grid's ohms R at start and end.

    C ``heat_j_k`` of the whole grid, R0 ``other_ohm``, all else in circuit. From ``C dT/dt = V^2 R/(R + R0)^2`` with
    R = R20 [1 + alpha (T - 20)].
    """

    def primitive(t_c: float) -> float:
        ohm = cold_ohm * (1.0 + alpha20 * (t_c - 20.0))
        return 0.5 * ohm**2 + 2.0 * other_ohm * ohm + other_ohm**2 * math.log(ohm)

    return heat_j_k / (alpha20 * cold_ohm * line_v**2) * (primitive(end_c) - primitive(start_c))


def pulses_rise_k(
    at_s: FloatArray, begin_s: FloatArray, on_s: FloatArray, steady_k: FloatArray, period_s: float, tau_s: float
) -> FloatArray:
    """Rise over ambient at each of ``at_s`` of one lump under pulses that come again every ``period_s``, settled, K.

    Pulse i begins at ``begin_s``, lasts ``on_s`` (shorter than the period) and would end at ``steady_k`` if it never
    stopped. The equation is linear, so pulses add: one that ended a time u ago is worth
    ``theta (1 - e^(-on/tau)) e^(-u/tau) / (1 - e^(-period/tau))``; one under way is worth its rise so far,
    ``theta (1 - e^(-t/tau))``, and what is left of its earlier rounds. Derived.
    """
    since_s = np.mod(at_s[:, None] - begin_s, period_s)
    under_way = since_s <= on_s
    whole_k = steady_k * -np.expm1(-on_s / tau_s) / -math.expm1(-period_s / tau_s)
    ended_s = np.where(under_way, since_s + period_s, since_s) - on_s
    so_far_k = np.where(under_way, steady_k * -np.expm1(-since_s / tau_s), 0.0)
    return np.asarray((so_far_k + whole_k * np.exp(-ended_s / tau_s)).sum(axis=1))
