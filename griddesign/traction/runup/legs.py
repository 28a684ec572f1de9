"""One notch or one transition of a run: arriving, what it was like to arrive and to leave."""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any, TypeAlias

import numpy as np

from griddesign.errors import NoStartError
from griddesign.traction.curve import FloatArray
from griddesign.traction.runup import flow
from griddesign.traction.runup.flow import LEAD, TIME, Bench, Moment, Powered, Wires, temperatures_of
from griddesign.traction.runup.records import Bools
from griddesign.traction.runup.steps import USUAL, Care, Seen, by_clock, by_current, in_time
from griddesign.traction.runup.wiring import Wired

BRIDGE_STEPS = 4
FAR_DOWN = 0.4  # of the current on arriving: ours, no source; a floor for where a network is looked at
SAME_SPEED = 1e-6  # as a share: Newton's rule leaves far less, another speed is far more
Watch: TypeAlias = Callable[[str, FloatArray, Moment | None], None]
"""Told of every moment of a run: the notch (empty with the power off), the state and its moment (None: power off)."""


@dataclass(frozen=True, slots=True, eq=False)
class Leg:
    """A notch or transition arrived at: the state on arriving (a notch's mean current leads it, a bridge's speed) and
    its moment. ``free`` False: the car stands, braked."""

    bench: Bench
    notch: Wired
    begin: FloatArray
    arrived: Moment
    free: Bools

    @property
    def powered(self) -> Powered:
        """The rates of a notch."""
        return Powered(self.bench, self.notch, self.free)

    def moment(self, state: FloatArray) -> Moment:
        """The moment of a state on this leg."""
        wires = _wires(self.bench, self.notch, state)
        if self.notch.kind != "bridge":
            return flow.moment(self.bench, wires, wires.strings.from_mean(state[LEAD]), self.free)
        turning = np.maximum(state[LEAD], 0.0) * self.bench.per_m_s
        return flow.moment(self.bench, wires, (wires.strings.arriving(turning), turning), self.free)

    def left(self, state: FloatArray) -> Moment:
        """The moment at the end of this leg. A case that passes the notch at once is left as it arrived: in a network
        whose motors brake one mean current may belong to two speeds.

        Raises NoStartError where that is so of a case that stays on the notch.
        """
        still = state[TIME] == self.begin[TIME]
        if self.notch.mesh is None or not (still.any() or self.notch.mesh.fluxes):
            return self.moment(state)
        if still.all():
            return self.arrived
        self._refuse_two_speeds(~still)
        now = self.moment(state)
        arrays = [one.name for one in fields(now) if isinstance(getattr(now, one.name), np.ndarray)]
        parts: dict[str, Any] = {
            name: np.where(still, getattr(self.arrived, name), getattr(now, name)) for name in arrays
        }
        return replace(now, **parts)

    def _refuse_two_speeds(self, stays: Bools) -> None:
        rad_s, again = self.arrived.turning_rad_s, self.moment(self.begin).turning_rad_s
        if np.any(stays & self.free & (np.abs(again - rad_s) > SAME_SPEED * (1.0 + rad_s))):
            raise NoStartError(
                f"notch {self.notch.name}: the motors have one mean current at two speeds, since one of them brakes",
                hint="Look at the chart and its ohms again; arriving at a lower speed it may run.",
            )

    def marks(self) -> FloatArray:
        """Mean currents (points, M or 1), falling, at which a branch passes a point of its motor curve.

        Where branches differ that hangs on the ohms when it comes to pass: found with the temperatures at the begin,
        and again with those met on a first run over them.
        """
        first = self.powered.marks(temperatures_of(self.begin))
        if len(self.notch.branches) == 1:
            return first[::-1]
        met, lowest = [self.begin], first.min(axis=0)
        if self.notch.mesh is not None:  # far past a balance nothing is sure of its currents, and no start goes there
            lowest = np.maximum(lowest, FAR_DOWN * self.begin[LEAD])
        by_current(self.powered, self.begin, lowest, _falling(first), USUAL, met.append)
        return _falling(self.powered.marks(_temperatures_at(np.array(met), first)))

    def for_seconds(self, seconds: FloatArray, care: Care, seen: Seen | None) -> FloatArray:
        """The state so many seconds after arriving."""
        if self.notch.kind == "bridge":
            count = care.parts * max(1, int(np.ceil(BRIDGE_STEPS * seconds.max(initial=0.0) / 0.5)))
            return in_time(flow.bridged(self.bench, self.notch), self.begin, seconds, count, seen)
        return by_clock(self.powered, self.begin, seconds, self.marks(), care, seen)

    def seer(self, watch: Watch | None) -> Seen | None:
        """Shows the states of this leg to a watch."""
        if watch is None:
            return None
        return lambda state: watch(self.notch.name, state, self.moment(state))


def arrive(bench: Bench, notch: Wired, state: FloatArray, speed_m_s: FloatArray, *, braked: bool) -> Leg:
    """Arriving at a speed of the car. With ``braked`` a car that stands and whose pull does not pass the resistance is
    held; its current only falls."""
    wires, turning = _wires(bench, notch, state), speed_m_s * bench.per_m_s
    current = wires.strings.arriving(turning)
    free = np.full(turning.shape, True)
    now = flow.moment(bench, wires, (current, turning), free)
    if braked:
        free = (speed_m_s > 0.0) | (now.acceleration_m_s2 > 0.0)
    begin = state.copy()
    begin[LEAD] = speed_m_s if notch.kind == "bridge" else now.mean_a
    return Leg(bench, notch, begin, now, free)


def _falling(marks: FloatArray) -> FloatArray:
    return -np.sort(-marks, axis=0)


def _temperatures_at(met: FloatArray, mean_a: FloatArray) -> FloatArray:
    """Temperatures (points, sections, M) at mean currents (points, M), by straight lines between the states met."""
    amps, t_c = met[:, LEAD], temperatures_of(met)
    place = np.clip((amps[:, None] > mean_a).sum(axis=0) - 1, 0, len(amps) - 2)
    cases = np.arange(amps.shape[1])
    above, below = amps[place, cases], amps[place + 1, cases]
    width = above - below
    part = np.clip((above - mean_a) / np.where(width > 0.0, width, 1.0), 0.0, 1.0)[..., None]
    found = (1.0 - part) * t_c[place, :, cases] + part * t_c[place + 1, :, cases]
    return np.moveaxis(found, -1, -2)


def _wires(bench: Bench, notch: Wired, state: FloatArray) -> Wires:
    return bench.wires(notch, bench.plates(temperatures_of(state))[0])
