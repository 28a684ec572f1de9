"""What the inductance of the windings makes of the peaks of a network: its motors' currents lag behind together.

With L the inductance of one motor, Y and D as in ``networked``, an inductance is a volt of ``L di/dt`` against the
current. About the moment of arriving that is ``T di/dt = i_q(t) - i`` with ``T = (1 + Y D)^-1 Y L``, symmetric and
never negative definite, and ``i_q`` the quasi-static currents, which fall evenly as the car gathers way. Along each
eigenvector of T it is the equation of one string; where T makes nothing of a vector (motors in series have one current)
the currents are the quasi-static ones at once. On notching up no current of a winding leaps but as the contacts force
it to: what is left of the currents before is their part along the vectors that lag, since all motors have one L.

Left out: the sections' warming in that moment, saturation of L, a field's own share of it, and which way round a
motor's current was before, taken as after. Unlike a single string's, a motor's peak may here lie above its quasi-static
one: currents even out among the motors at another pace than they rise together.
"""

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.runup.legs import Leg
from griddesign.traction.runup.logs import Before
from griddesign.traction.runup.networked import Meshed

POINTS = 600  # moments looked at between notching up and the end of what is left of it
AFTER = 3.0  # time constants by which they go past the peak of the slowest
LEAST = 1e-9  # of the longest time constant: below it there is none


def network_peak_a(leg: Leg, network: Meshed, before: Before) -> FloatArray | None:
    """The peak of the motor that has most (M,), A; None where a field carries a current of its own: how a motor's
    inductance lies in armature and field is not known."""
    henry, now = leg.bench.motor.inductance_h, leg.arrived
    if henry is None or network.mesh.fluxes is not None:
        return None
    driven, turning, current = network.driven, now.turning_rad_s, np.swapaxes(now.current_a, -1, -2)
    lag_s = henry * driven.yielding(current, turning, driven.answer[..., driven.places, :])
    after = now.acceleration_m_s2
    gathered = np.clip(before.acceleration_m_s2 / np.where(after > 0.0, after, np.inf), 0.0, 1.0)
    rate = 0.5 * (1.0 + gathered) * np.maximum(after, 0.0) * leg.bench.per_m_s
    numbers = [motor.number - 1 for motor in network.mesh.network.motors]
    left_a = np.copysign(before.current_a[numbers].T, current)
    each = peaks_together_a(current, left_a, -driven.faster(current, turning) * rate[:, None], lag_s)
    peak: FloatArray = each.max(axis=-1)
    return peak


def peaks_together_a(arrive_a: FloatArray, left_a: FloatArray, falls_a_s: FloatArray, lag_s: FloatArray) -> FloatArray:
    """The highest amount of each current (cases, motors), A, of ``T di/dt = i0 - g t - i`` from what ``left_a`` leaves.

    ``arrive_a`` i0, ``falls_a_s`` g (cases, motors); ``lag_s`` T (cases, motors, motors), symmetric. i0 itself where a
    current is no higher on arriving than it was, or does not fall after. Of moments between zero and the end of what
    is left, the highest and a parabola through its neighbours.
    """
    tau_s, along = np.linalg.eigh(0.5 * (lag_s + np.swapaxes(lag_s, -1, -2)))
    longest = tau_s[:, -1:]
    lags = tau_s > LEAST * longest
    modes = [(along * one[..., None]).sum(axis=-2) for one in (arrive_a, left_a, falls_a_s)]
    seconds = _moments(modes, longest)
    course = _course(modes, np.where(lags, tau_s, 0.0), seconds) @ np.swapaxes(along, -1, -2)
    amount = np.sign(arrive_a)[:, None, :] * course
    rising = (np.abs(arrive_a) > amount[:, 0]) & (np.sign(arrive_a) * falls_a_s > 0.0)
    return np.where(rising, _highest(amount), np.abs(arrive_a))


def _moments(modes: list[FloatArray], longest: FloatArray) -> FloatArray:
    """Seconds (cases, points) after notching up."""
    arrive, left, falls = modes
    jump, slope = (np.linalg.norm(one, axis=-1, keepdims=True) for one in (arrive - left, falls))
    lagged = slope * longest
    many = np.log1p(jump / np.where(lagged > 0.0, lagged, 1.0)) + AFTER
    seconds: FloatArray = longest * many * np.linspace(0.0, 1.0, POINTS)
    return seconds


def _course(modes: list[FloatArray], tau_s: FloatArray, seconds: FloatArray) -> FloatArray:
    """Currents along the vectors (cases, points, modes): ``i0 - g (t - tau) + (il - i0 - g tau) exp(-t/tau)``."""
    arrive, left, falls = (one[:, None, :] for one in modes)
    tau, t = tau_s[:, None, :], seconds[..., None]
    fading = np.where(tau > 0.0, np.exp(-t / np.where(tau > 0.0, tau, 1.0)), 0.0)
    return np.asarray(arrive - falls * (t - tau) + (left - arrive - falls * tau) * fading)


def _highest(amount: FloatArray) -> FloatArray:
    """The highest of the points (cases, points, motors), by the parabola through it and its neighbours."""
    at = np.clip(amount.argmax(axis=1), 1, amount.shape[1] - 2)
    low, top, high = (np.take_along_axis(amount, (at + by)[:, None, :], axis=1)[:, 0] for by in (-1, 0, 1))
    bend = low - 2.0 * top + high
    return np.asarray(top - np.where(bend < 0.0, (high - low) ** 2 / np.where(bend < 0.0, 8.0 * bend, 1.0), 0.0))
