"""What a fault does where notches are networks: each notch solved by Kirchhoff's laws, each motor with its own current.
Groupings are written out wire by wire, so that all go by one rule.

The peak rule is that of ``traction.peaks`` for strings: the driver leaves a notch when the mean current of the motors
in circuit has fallen to the valley current; motors cold; the grid cold, or the sections dropped hot, or all of the
notch left. Left out, as there: inductance, the run's own warming on the way.
"""

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf
from typing import TypeAlias

import numpy as np

from griddesign.errors import NoStartError
from griddesign.grid.contacts.changed import Left, changed
from griddesign.grid.contacts.general import brakes
from griddesign.grid.contacts.records import Network
from griddesign.grid.contacts.transfer import Layout
from griddesign.judge.faults.effects import Effect, notch_under, rise_k
from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import accelerated_kg, motor_rad_s, resistance_n, rim_n_per_nm
from griddesign.traction.network.currents import Driven, mean_of
from griddesign.traction.network.written_out import written_out
from griddesign.traction.records import Motor, Notch
from griddesign.traction.runup.networked import Mesh, mesh_of
from griddesign.traction.runup.wiring import Drive as Wiring

NODES = 6
FIRST_GUESS_RAD_S = 50.0  # where Newton begins; no result hangs on it
Hot: TypeAlias = frozenset[str]
COLD: Hot = frozenset()


@dataclass(frozen=True, slots=True)
class Arrived:
    """The worst arrival at a notch: highest A of a winding, A from line, pull N at the rim, speed of the motors rad/s,
    the place of the notch left last (-1: standstill), the sections that are hot; ``leave_n``: the pull on leaving."""

    peak_a: float
    line_a: float
    pull_n: float
    turning_rad_s: float
    left: int
    hot: frozenset[str]
    leave_n: float


@dataclass(frozen=True, slots=True, eq=False)
class _Solved:
    """Motors at a speed: currents of the wires and the windings (cases, each), mean of the motors and pull at the rim
    (cases,)."""

    wire_a: FloatArray
    winding_a: FloatArray
    mean_a: FloatArray
    pull_n: FloatArray


@dataclass(frozen=True)
class _Live:
    """A notch with a motor in circuit, and who drives."""

    effect: "NetworkEffect"
    mesh: Mesh

    @property
    def sections(self) -> tuple[str, ...]:
        """Those in circuit."""
        return self.mesh.network.sections

    def driven(self, hot: tuple[Hot, ...], motor_ohm: FloatArray) -> Driven:
        """At nominal volts, a case for each set of sections that are hot and each ohms of a motor (cases,)."""
        ratio, ohms, cases = self.effect.driver.hot_ratio, self.effect.finite, len(hot)
        each = [[ohms[name] * (ratio.get(name, 1.0) if name in one else 1.0) for name in self.sections] for one in hot]
        live_ohm = np.array(each).reshape(cases, len(self.sections))
        return self.mesh.driven(live_ohm, motor_ohm, np.full(cases, self.effect.driver.line.nominal_v))

    def leaving(self, hot: tuple[Hot, ...], motor_ohm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Speed of the motors (cases,), rad/s, at which their mean current is the valley current, 0 where it never is
        more, and the pull there; worked out once for all faults that leave the notch as it is.

        A current that never falls so far, or is not to be relied on, counts as left at once, which is the safe side for
        the next peak.
        """
        driven, cases = self.driven(hot, motor_ohm), len(hot)
        key = self._key(driven)
        if key not in self.effect.known:
            valley, guess = np.full(cases, self.effect.driver.valley_a), np.full(cases, FIRST_GUESS_RAD_S)
            try:
                current, turning = driven.where(mean_of(valley), guess)
                _rely_on(driven, current, turning)
            except NoStartError:
                current, turning = driven.standing_a, np.zeros(cases)
            current = np.where(turning[:, None] > 0.0, current, driven.standing_a)
            turning = np.maximum(turning, 0.0)
            self.effect.known[key] = turning, self._at(driven, current, turning).pull_n
        return self.effect.known[key]

    def _key(self, driven: Driven) -> tuple[Hashable, ...]:
        return self.mesh.network, driven.drive.tobytes(), driven.answer.tobytes()

    def solved(self, driven: Driven, turning: FloatArray) -> _Solved:
        """The network at speeds (cases,) of the motors; likewise once for all faults. Raises NoStartError where its
        currents are not to be relied on."""
        key = (*self._key(driven), turning.tobytes())
        if key not in self.effect.solved:
            current = driven.at(turning)
            _rely_on(driven, current, turning)
            self.effect.solved[key] = self._at(driven, current, turning)
        return self.effect.solved[key]

    def _at(self, driven: Driven, current: FloatArray, turning: FloatArray) -> _Solved:
        now = driven.now(current, turning)
        pull = rim_n_per_nm(self.effect.driver.car) * now.torque_nm()[0]
        return _Solved(driven.wires(now.k * turning[:, None]), current, now.mean_a()[0], pull)

    def line_a(self, wire_a: FloatArray) -> FloatArray:
        """Current from the line (cases,), A."""
        total: FloatArray = wire_a @ self.mesh.layout.source
        return total


def _rely_on(driven: Driven, current: FloatArray, turning: FloatArray) -> None:
    doubt = driven.doubt(current, turning)
    if doubt:
        raise NoStartError(doubt)


@dataclass(frozen=True)
class NetworkEffect(Effect):
    """One fault on notches of which some are networks. ``motor``: for the ohms from line to ground; ``known`` and
    ``solved``: what the faults of a table share."""

    motor: Motor | None = None
    known: dict[Hashable, tuple[FloatArray, FloatArray]] = field(default_factory=dict)
    solved: dict[Hashable, _Solved] = field(default_factory=dict)

    @cached_property
    def under(self) -> tuple[Notch | None, ...]:
        """Every notch as it is now; None where no current flows, or line and ground are joined."""
        return tuple(self._under)

    @property
    def _under(self) -> Iterator[Notch | None]:
        for notch, left in zip(self.notches, self._left, strict=True):
            if notch.network is None:
                yield notch_under(notch, self._open)
            else:
                yield None if left is None or left.network is None else replace(notch, network=left.network)

    @cached_property
    def _left(self) -> tuple[Left | None, ...]:
        """What the fault leaves of the networks; None for a grouping."""
        each = (notch.network for notch in self.notches)
        return tuple(None if one is None else changed(one, self._open, self._empty) for one in each)

    @cached_property
    def _braking(self) -> dict[int, str]:
        """Places of networks in which the fault closes an armature on itself while its field has current, and how."""
        return {place: brakes(left.brakes) for place, left in enumerate(self._left) if left and left.brakes}

    @cached_property
    def _empty(self) -> frozenset[str]:
        """Sections that are none: both their leads sit at one joint."""
        return frozenset(name for name, ohm in self.finite.items() if ohm <= 0.0)

    @cached_property
    def shorted(self) -> frozenset[int]:
        """Places of notches that join line and ground."""
        return frozenset(place for place, left in enumerate(self._left) if left is not None and left.joined)

    @cached_property
    def idle(self) -> frozenset[int]:
        """Places of notches with current and no motor in it."""
        nets = ((place, None if notch is None else notch.network) for place, notch in enumerate(self.under))
        still = frozenset(place for place, network in nets if network is not None and not network.motors)
        return still - self._braking.keys()

    def grid_ohm(self, place: int) -> float:
        """The grid's own ohms of a grouping; of a network those from line to ground, motors as stated among them."""
        notch = self.under[place]
        if self.notches[place].network is None:
            return super().grid_ohm(place)
        if notch is None or notch.network is None:
            return 0.0 if place in self.shorted else inf
        assert self.motor is not None
        return line_ohm(notch.network, self.finite, self.motor)

    def lost(self, place: int) -> tuple[int, ...]:
        """Motors (from 1) that the sound notch has in circuit and this one has not, where another still pulls."""
        notch, sound = self.under[place], self.notches[place].network
        if sound is None or notch is None or notch.network is None:
            return super().lost(place)
        kept = {motor.number for motor in notch.network.motors}
        kept.update(() if (left := self._left[place]) is None else left.brakes)
        return tuple(motor.number for motor in sound.motors if motor.number not in kept) if kept else ()

    # --- the driver's part -------------------------------------------------------------------------------------------

    @cached_property
    def _meshes(self) -> dict[int, _Live]:
        """Every notch with a motor in circuit, by its place."""
        names, found = tuple(self.finite), {}
        wiring = Wiring(self.driver.car, self.driver.motor, self.driver.line.feeder_ohm)
        for place, notch in enumerate(self.under):
            network = None if notch is None else changed(written_out(notch), bridged=self._empty).network
            if notch is not None and network is not None and network.motors and place not in self._braking:
                found[place] = _Live(self, mesh_of(notch, network, names, wiring))
        return found

    @cached_property
    def standing(self) -> frozenset[int]:
        """Places of the first notches on which current flows and the car does not move."""
        if self.drive is None:
            return frozenset()
        held, rim, still = resistance_n(self.drive.car, 0.0), rim_n_per_nm(self.drive.car), set()
        for place, live in self._meshes.items():
            driven = live.driven((COLD,), np.full(1, self.driver.motor.resistance_ohm))
            if float(driven.now(driven.standing_a, np.zeros(1)).torque_nm()[0][0]) * rim > held:
                break
            still.add(place)
        return frozenset(still)

    @cached_property
    def moving(self) -> tuple[int, ...]:
        """Places of the notches that move the car."""
        return () if self.drive is None else tuple(place for place in self._meshes if place not in self.standing)

    @cached_property
    def arrivals(self) -> dict[int, Arrived]:
        """The worst arrival at each notch that moves the car."""
        return {place: one for place, one in self._each_arrival.items() if isinstance(one, Arrived)}

    @cached_property
    def unsolved(self) -> dict[int, str]:
        """Places of notches whose currents are not to be relied on, or of which a motor brakes, each with why."""
        return self._braking | {place: one for place, one in self._each_arrival.items() if isinstance(one, str)}

    @cached_property
    def _each_arrival(self) -> dict[int, Arrived | str]:
        found: dict[int, Arrived | str] = {}
        for number, place in enumerate(self.moving):
            try:
                found[place] = self._arrived(place, self.moving[:number])
            except NoStartError as error:
                found[place] = error.message
        return found

    def _corners(self, left: int, to: int) -> tuple[Hot, ...]:
        """The sections that are hot in each corner of the peak rule, on leaving one notch for another."""
        if not any(ratio != 1.0 for ratio in self.driver.hot_ratio.values()):
            return (COLD,)
        hot = frozenset(self._meshes[left].sections)
        return tuple(dict.fromkeys((COLD, hot - frozenset(self._meshes[to].sections), hot)))

    @cached_property
    def _left_at(self) -> dict[int, dict[Hot | None, tuple[float, float]]]:
        """Speed of the motors, rad/s, and pull, N, on leaving each notch with these sections hot, motors cold; under
        None with the grid cold and the motors as stated."""
        found: dict[int, dict[Hot | None, tuple[float, float]]] = {}
        for number, place in enumerate(self.moving):
            later = self.moving[number + 1 :]
            hot = tuple(dict.fromkeys((COLD, *(one for to in later for one in self._corners(place, to)))))
            motor_ohm = np.full(len(hot) + 1, self.driver.cold_ohm)
            motor_ohm[-1] = self.driver.motor.resistance_ohm
            speed, pull = self._meshes[place].leaving((*hot, COLD), motor_ohm)
            found[place] = dict(zip((*hot, None), zip(speed.tolist(), pull.tolist(), strict=True), strict=True))
        return found

    def _arrived(self, to: int, before: tuple[int, ...]) -> Arrived:
        """Arriving from the notch, or from standstill, that lets the car be fastest: of each the worst corner, of those
        the least."""
        ways = [(-1, COLD, 0.0)]
        ways += [(place, hot, self._left_at[place][hot][0]) for place in before for hot in self._corners(place, to)]
        live, turning = self._meshes[to], np.array([speed for *_, speed in ways])
        driven = live.driven(tuple(hot for _, hot, _ in ways), np.full(len(ways), self.driver.cold_ohm))
        solved = live.solved(driven, turning)
        peaks = np.abs(solved.winding_a).max(axis=-1)
        worst: dict[int, int] = {}
        for at, (place, *_) in enumerate(ways):
            worst[place] = max(worst.get(place, at), at, key=lambda one: float(peaks[one]))
        at = min(worst.values(), key=lambda one: float(peaks[one]))
        pull_n, (place, hot, speed) = float(solved.pull_n[at]), ways[at]
        passed = float(solved.mean_a[at]) <= self.driver.valley_a
        leave_n = pull_n if passed else self._left_at[to][COLD][1]
        return Arrived(float(peaks[at]), float(live.line_a(solved.wire_a)[at]), pull_n, speed, place, hot, leave_n)

    @cached_property
    def peaks(self) -> dict[int, float]:
        """Worst peak on arriving at each notch that moves the car, A of the motor that has most."""
        return {place: one.peak_a for place, one in self.arrivals.items()}

    @cached_property
    def steps(self) -> dict[int, float]:
        """Step of effort at the rim on arriving at each notch, N."""
        found, pulling = {}, 0.0
        for place, one in self.arrivals.items():
            found[place] = one.pull_n - pulling
            pulling = one.leave_n
        return found

    @cached_property
    def greatest_pull_n(self) -> float:
        """The greatest pull on arriving at any notch, N; ``inf`` where the car never moves."""
        return max((one.pull_n for one in self.arrivals.values()), default=inf)

    def line_peak_a(self, place: int) -> float | None:
        """Current from the line on arriving, A; ``inf`` where line and ground are joined; without a motor in circuit
        that of the ohms there are."""
        if place in self.shorted:
            return inf
        if place in self.idle:
            return self.driver.line.nominal_v / (self.driver.line.feeder_ohm + self.grid_ohm(place))
        one = self.arrivals.get(place)
        return None if one is None else one.line_a

    # --- heat --------------------------------------------------------------------------------------------------------

    @cached_property
    def hottest(self) -> tuple[str, float] | None:
        """The section with the plate that one start heats most, and its rise if nothing cooled it, K; ``i²t`` from the
        currents at every speed on the way. None without a car, heat capacity, or where the car does not come away."""
        if self.drive is None or not self.fault.bank.capacity_j_k or not self.moving:
            return None
        a2s, speed = dict.fromkeys(self.finite, 0.0), 0.0
        for place in self.moving:
            live = self._meshes[place]
            to = max(speed, self._left_at[place][None][0])
            try:
                each = self._on_notch(live, speed, to)
            except NoStartError:
                return None
            for name, square in zip(live.sections, each.tolist(), strict=True):
                a2s[name] += square
            speed = to
        rises = [(name, rise) for name, square in a2s.items() if (rise := rise_k(self.fault.bank, name, square))]
        return max(rises, key=lambda one: one[1], default=None)

    def _on_notch(self, live: _Live, begin: float, end: float) -> FloatArray:
        """``i²t`` of each section in circuit, A²s, from one speed of the motors to another (rad/s), by Gauss's rule
        over the speed: ``dt = m·dv/(F - F_res)``. Raises NoStartError where the pull does not pass the resistance."""
        roots, weights = np.polynomial.legendre.leggauss(NODES)
        turning = begin + (end - begin) * 0.5 * (1.0 + roots)
        stated = np.full(NODES, self.driver.motor.resistance_ohm)
        solved = live.solved(live.driven((COLD,) * NODES, stated), turning)
        car, per_m_s = self.driver.car, motor_rad_s(self.driver.car, 1.0)
        spare = solved.pull_n - np.array([resistance_n(car, n / per_m_s) for n in turning.tolist()])
        if end > begin and np.any(spare <= 0.0):
            raise NoStartError("the pull does not pass the resistance")
        seconds = accelerated_kg(car) * 0.5 * (end - begin) / per_m_s * weights / np.where(spare > 0.0, spare, 1.0)
        square: FloatArray = seconds @ solved.wire_a[:, live.mesh.sections[0]] ** 2
        return square


def line_ohm(network: Network, section_ohm: dict[str, float], motor: Motor) -> float:
    """Ohms from line to ground, motors as stated and at standstill."""
    wires = network.wires
    ohm = np.array([section_ohm[wire.name] if wire.kind == "section" else _own_ohm(wire.motor, motor) * wire.ohm
                    for wire in wires])  # fmt: skip
    layout = Layout.of(wires, network.nodes, feeder=False)
    current = layout.driven(ohm, layout.source[:, None])[:, 0]
    return 1.0 / float(current @ layout.source)


def _own_ohm(number: int, motor: Motor) -> float:
    """Stated ohms of a motor (from 1); 1 for a resistor, which has ohms of its own."""
    if not number:
        return 1.0
    own = motor.each[number - 1].resistance_ohm if number <= len(motor.each) else None
    return own or motor.resistance_ohm
