"""The row of a notch or transition: peaks, bounds, and the split among unlike motors."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import rim_n_per_nm
from griddesign.traction.runup import flow
from griddesign.traction.runup.flow import Moment, temperatures_of
from griddesign.traction.runup.legs import Leg
from griddesign.traction.runup.records import NotchLog
from griddesign.traction.runup.strings import Strings
from griddesign.traction.runup.transient import inductive_peak_a

if TYPE_CHECKING:
    from griddesign.traction.runup.networked import Mesh, Meshed

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
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
            networked = left.wires.notch.mesh is not None  # there a field may have a current of its own
            fluxes = [np.abs(left.k[place])] if networked else [table.read(amps)[0] for table in branch.tables]
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
    split: tuple[FloatArray | None, ...] = (None, None, None, None)
    if notch.mesh is not None:
        split = _split_network(leg, notch.mesh)
    elif leg.bench.motor.each:
        split = (*_split(leg), None)
    return NotchLog(
        name=notch.name,
        peak_a=peak_a,
        arrive_a=arrived.mean_a,
        leave_a=left.mean_a,
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
        field_a=split[3],
        inductive_a=_inductive_a(leg, before),
    )


def _frozen_flux_a(arrived: Moment, before: Before) -> FloatArray:
    """Currents against the emfs of the flux as it was, worst string; the peak itself where the flux has to fall.

    Where a branch stands for several strings what they share feels the mean of their emfs, and each its own beyond."""
    strings, branches = arrived.wires.strings, arrived.wires.notch.branches
    if not isinstance(strings, Strings):
        return _frozen_in_network(strings, arrived, before)
    each = [[before.flux[list(string)].sum(axis=0) for string in branch.strings] for branch in branches]
    mean, least = (np.array([find(one, axis=0) for one in each]) for find in (np.mean, np.min))
    emf_v = np.copysign(mean, arrived.current_a) * arrived.turning_rad_s
    frozen_a = strings.standing(emf_v) + (mean - least) * arrived.turning_rad_s / strings.own_ohm
    bound: FloatArray = np.maximum(frozen_a, arrived.current_a).max(axis=0)
    return bound


def _frozen_in_network(network: "Meshed", arrived: Moment, before: Before) -> FloatArray:
    """The same where a current may flow either way, and a field have its own."""
    flux = np.zeros_like(arrived.current_a)
    for place, branch in enumerate(arrived.wires.notch.branches):
        for string in branch.strings:
            flux[place] = before.flux[list(string)].sum(axis=0)
    frozen_a = network.standing(np.copysign(flux, arrived.k) * arrived.turning_rad_s)
    bound: FloatArray = np.maximum(np.abs(frozen_a), np.abs(arrived.current_a)).max(axis=0)
    return bound


def _split(leg: Leg) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Current, volts and pull at the rim of every motor on arriving."""
    bench, now = leg.bench, leg.arrived
    size = (bench.motor.count, now.speed_m_s.size)
    amps, volts, pulls = np.zeros(size), np.zeros(size), np.zeros(size)
    for place, branch in enumerate(leg.notch.branches):
        current = now.current_a[place]
        for string in branch.strings:
            for number, table, ohms in zip(string, branch.tables, branch.each_ohms, strict=True):
                k = np.copysign(table.read(np.abs(current))[0], current)
                amps[number], pulls[number] = current, k * current * rim_n_per_nm(bench.car)
                volts[number] = current * ohms * bench.cases.motor_ohm + k * now.turning_rad_s
    return amps, volts, pulls


def _split_network(leg: Leg, mesh: "Mesh") -> tuple[FloatArray, FloatArray, FloatArray, FloatArray | None]:
    """The same in a network, and the current of every field with a current of its own (nan where it has none)."""
    bench, now, network = leg.bench, leg.arrived, mesh.network
    size = (bench.motor.count, now.speed_m_s.size)
    amps, volts, pulls, fields = np.zeros(size), np.zeros(size), np.zeros(size), np.full(size, np.nan)
    for place, motor in enumerate(network.motors):
        number, current, k = motor.number - 1, now.current_a[place], now.k[place]
        field, (ohms,) = mesh.field_of(place), leg.notch.branches[place].each_ohms
        # a field with something beside it: its volts are not its heat over the current
        dropped = 1.0 if motor.apart else network.motor_drop[place] / network.motor_ohm[place]
        drop_v = current * dropped * ohms
        if field is not None:
            fields[number] = now.current_a[field]
            drop_v = drop_v + now.current_a[field] * leg.notch.branches[field].each_ohms[0]
        amps[number], pulls[number] = current, k * current * rim_n_per_nm(bench.car)
        volts[number] = drop_v * bench.cases.motor_ohm + k * now.turning_rad_s
    return amps, volts, pulls, None if mesh.fluxes is None else fields


def _inductive_a(leg: Leg, before: Before) -> FloatArray | None:
    """The peak with inductance, every branch by itself, falling as their mean does.

    The car gathers way by the current there is while that rises, so the rate of falling is taken midway between the
    accelerations before and after.
    """
    henry, now = leg.bench.motor.inductance_h, leg.arrived
    if henry is None or leg.notch.kind == "bridge":
        return None
    if not isinstance(now.wires.strings, Strings):
        from griddesign.traction.runup.inductive import network_peak_a

        return network_peak_a(leg, now.wires.strings, before)
    _, falling = leg.powered.warming(leg.begin[flow.LEAD], temperatures_of(leg.begin))
    stiff = now.wires.strings.total_ohm() + now.k_slope * now.turning_rad_s
    motors = np.array([[len(branch.tables)] for branch in leg.notch.branches])
    left_a = np.array([before.current_a[list(branch.strings[0])].mean(axis=0) for branch in leg.notch.branches])
    after = now.acceleration_m_s2
    gathered = np.clip(before.acceleration_m_s2 / np.where(after > 0.0, after, np.inf), 0.0, 1.0)
    falls = -falling * 0.5 * (1.0 + gathered)
    peaks: FloatArray = inductive_peak_a(now.current_a, left_a, falls, henry * motors / stiff).max(axis=0)
    return peaks
