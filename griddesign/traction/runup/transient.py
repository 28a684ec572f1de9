"""What the inductance of the windings takes off a peak. The run itself is quasi-static, which is the safe side for
strings; in a network (``inductive``) a quick motor may pass its quasi-static peak."""

import numpy as np

from griddesign.traction.curve import FloatArray


def inductive_peak_a(arrive_a: FloatArray, left_a: FloatArray, falls_a_s: FloatArray, tau_s: FloatArray) -> FloatArray:
    """Peak after notching up with inductance in circuit, A: ``I0 - g·tau·ln(1 + (I0 - Il)/(g·tau))``.

    ``arrive_a`` I0 is the quasi-static current on arriving, ``left_a`` Il the current before, ``falls_a_s`` g the rate
    at which the quasi-static current falls just after (as the car gathers way), ``tau_s`` the time constant
    ``s·L/(R' + s·k'·n)`` of a string of s motors. Exact where ``tau·di/dt = I0 - g·t - i`` from ``i(0) = Il``: di/dt is
    nil at ``t = tau·ln(1 + (I0 - Il)/(g·tau))``, and there i is the quasi-static current. Never above I0: so without
    eddy currents in the frame, which the frozen-flux bound is for, the quasi-static peak is an upper bound. Where the
    current falls on notching up, or the quasi-static current does not fall after it, I0 is returned.
    """
    lag_a, jump_a = np.maximum(falls_a_s * tau_s, 0.0), np.maximum(arrive_a - left_a, 0.0)
    some = lag_a > 0.0
    lowered = lag_a * np.log1p(jump_a / np.where(some, lag_a, 1.0))
    peak: FloatArray = arrive_a - np.where(some, lowered, 0.0)
    return peak
