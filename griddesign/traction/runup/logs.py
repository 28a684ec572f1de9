"""The row of a notch or transition: peaks, bounds, and the split among unlike motors."""

from dataclasses import dataclass

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import rim_n_per_nm
from griddesign.traction.runup import flow
from griddesign.traction.runup.flow import Moment, temperatures_of
from griddesign.traction.runup.legs import Leg
from griddesign.traction.runup.records import NotchLog
from griddesign.traction.runup.strings import Strings
from griddesign.traction.runup.transient import inductive_peak_a

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Before:
    """What there was on leaving the notch before: flux in V for one rad/s and current of every motor (motors, M), and
    acceleration (M,).

    Nothing of all that at standstill and after the power was off.
    """

    flux: FloatArray
    current_a: FloatArray
    acceleration_m_s2: FloatArray

    @classmethod
    def nothing(cls, motors: int, cases: int) -> "Before":
        """Motors without flux or current."""
        empty = np.zeros((motors, cases))
        return cls(empty, empty, np.zeros(cases))

    @classmethod
    def of(cls, left: Moment, motors: int) -> "Before":
        """What is there on leaving a notch."""
        flux, current = np.zeros((motors, left.speed_m_s.size)), np.zeros((motors, left.speed_m_s.size))
        for place, branch in enumerate(left.wires.notch.branches):
            amps = np.abs(left.current_a[place])
            fluxes = [table.read(amps)[0] for table in branch.tables]
            for string in branch.strings:
                flux[list(string)], current[list(string)] = fluxes, amps
        return cls(flux, current, left.acceleration_m_s2)


def notch_log(leg: Leg, state: FloatArray, left: Moment, before: Before, *, first: bool) -> NotchLog:
    """The row of a leg that ends in ``state``."""
    arrived, begin, notch = leg.arrived, leg.begin, leg.notch
    arrive_a, leave_a = np.abs(arrived.current_a), np.abs(left.current_a)
    peak_a = arrive_a.max(axis=0)
    tables = [branch.table for branch in notch.branches]
    highest, lowest = (np.array([[getattr(table, end)] for table in tables]) for end in ("highest_a", "lowest_a"))
    step = arrived.acceleration_m_s2 - before.acceleration_m_s2
    split = _split(leg) if leg.bench.motor.each or notch.mesh is not None else (None, None, None)
    return NotchLog(
        name=notch.name,
        peak_a=peak_a,
        arrive_a=arrive_a.mean(axis=0),
        leave_a=leave_a.mean(axis=0),
        line_peak_a=arrived.line_a,
        frozen_flux_a=_frozen_flux_a(arrived, before),
        arrive_s=begin[flow.TIME].copy(),
        leave_s=state[flow.TIME].copy(),
        arrive_m_s=arrived.speed_m_s,
        leave_m_s=np.maximum(left.speed_m_s, 0.0),
        leave_m=state[flow.WAY].copy(),
        effort_n=arrived.pull_n,
        step_m_s2=np.maximum(step, 0.0) if first else step,
        leave_c=temperatures_of(state).copy(),
        passed=state[flow.TIME] == begin[flow.TIME],
        below_curve=np.any(leave_a < lowest, axis=0),
        beyond_curve=np.any(arrive_a > highest * (1.0 + _ROUNDING), axis=0),
        motor_a=split[0],
        motor_v=split[1],
        motor_n=split[2],
        inductive_a=_inductive_a(leg, before),
    )


def _frozen_flux_a(arrived: Moment, before: Before) -> FloatArray:
    """Currents against the emfs of the flux as it was, worst string; the peak itself where the flux has to fall.

    Where a branch stands for several strings what they share feels the mean of their emfs, and each its own beyond."""
    strings, branches = arrived.wires.strings, arrived.wires.notch.branches
    each = [[before.flux[list(string)].sum(axis=0) for string in branch.strings] for branch in branches]
    mean, least = (np.array([find(one, axis=0) for one in each]) for find in (np.mean, np.min))
    emf_v = np.copysign(mean, arrived.current_a) * arrived.turning_rad_s
    frozen_a, current_a = strings.standing(emf_v), arrived.current_a
    if isinstance(strings, Strings):
        frozen_a = frozen_a + (mean - least) * arrived.turning_rad_s / strings.own_ohm
    else:  # there a current may flow either way
        frozen_a, current_a = np.abs(frozen_a), np.abs(current_a)
    bound: FloatArray = np.maximum(frozen_a, current_a).max(axis=0)
    return bound


def _split(leg: Leg) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Current, volts and pull at the rim of every motor on arriving."""
    bench, now = leg.bench, leg.arrived
    size = (bench.motor.count, now.speed_m_s.size)
    amps, volts, pulls = np.zeros(size), np.zeros(size), np.zeros(size)
    for place, branch in enumerate(leg.notch.branches):
        current, dropped = now.current_a[place], 1.0
        if leg.notch.mesh is not None:  # a field with something beside it: its volts are not its heat over the current
            network = leg.notch.mesh.network
            dropped = network.motor_drop[place] / network.motor_ohm[place]
        for string in branch.strings:
            for number, table, ohms in zip(string, branch.tables, branch.each_ohms, strict=True):
                k = np.copysign(table.read(np.abs(current))[0], current)
                amps[number], pulls[number] = current, k * current * rim_n_per_nm(bench.car)
                volts[number] = current * dropped * ohms * bench.cases.motor_ohm + k * now.turning_rad_s
    return amps, volts, pulls


def _inductive_a(leg: Leg, before: Before) -> FloatArray | None:
    """The peak with inductance, every branch by itself, falling as their mean does.

    The car gathers way by the current there is while that rises, so the rate of falling is taken midway between the
    accelerations before and after.
    """
    henry, now = leg.bench.motor.inductance_h, leg.arrived
    if henry is None or leg.notch.kind == "bridge" or not isinstance(now.wires.strings, Strings):
        return None
    _, falling = leg.powered.warming(leg.begin[flow.LEAD], temperatures_of(leg.begin))
    stiff = now.wires.strings.total_ohm() + now.k_slope * now.turning_rad_s
    motors = np.array([[len(branch.tables)] for branch in leg.notch.branches])
    left_a = np.array([before.current_a[list(branch.strings[0])].mean(axis=0) for branch in leg.notch.branches])
    after = now.acceleration_m_s2
    gathered = np.clip(before.acceleration_m_s2 / np.where(after > 0.0, after, np.inf), 0.0, 1.0)
    falls = -falling * 0.5 * (1.0 + gathered)
    peaks: FloatArray = inductive_peak_a(now.current_a, left_a, falls, henry * motors / stiff).max(axis=0)
    return peaks
