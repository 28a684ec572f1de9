"""What changes from moment to moment on a notch, and with the power off: the right-hand side of the run.

The state is one array (rows, M); many moments at once are (moments, rows, M). Its last row leads: on a notch the mean
current of the strings, with the power off the speed. The speed on a notch is not integrated but follows from the
current, ``n = (V - I·R')/(s·k(I))``, so that no current has to be searched for inside a step, and emf and current
cannot drift apart:

    dI/dt = -[s·k(I)·dn/dt + I·dR'/dt] / (R' + s·k'(I)·n)

(for unlike strings the sum of that over the strings; see ``strings``; for a network see ``networked``). With a bridge
the speed leads. Watts of fixed resistors are counted with the feeder's.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from griddesign.traction.curve import FloatArray
from griddesign.traction.mechanics import gradient_n, motor_rad_s, rim_n_per_nm
from griddesign.traction.records import Car, Line, Motor
from griddesign.traction.runup.records import Bools, Cases, Plates
from griddesign.traction.runup.strings import Strings
from griddesign.traction.runup.wiring import Drive, Wired, grid_rise, through

if TYPE_CHECKING:
    from griddesign.traction.runup.networked import Meshed

TIME, WAY, LINE_J, FEEDER_J, MOTORS_J, SHAFT_J, RESIST_J, STUCK = range(8)
FIRST_TEMPERATURE = 8
LEAD = -1
Rate: TypeAlias = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything the cases share, and the cases themselves."""

    line: Line
    car: Car
    motor: Motor
    cases: Cases
    plates: Plates

    @property
    def drive(self) -> Drive:
        """Car and motors, for wiring notches up."""
        return Drive(self.car, self.motor, self.line.feeder_ohm)

    @property
    def per_m_s(self) -> float:
        """Motor rad/s for one m/s of the car."""
        return motor_rad_s(self.car, 1.0)

    @property
    def heavy_kg(self) -> FloatArray:
        """The mass that is accelerated, kg."""
        return self.cases.mass_kg * (1.0 + self.car.rotating_fraction)

    @property
    def grade_n(self) -> FloatArray:
        """Pull of the gradient, N."""
        return self.cases.mass_kg * gradient_n(1.0, self.car.gradient)

    def resist_n(self, speed_m_s: FloatArray) -> FloatArray:
        """Running resistance without the gradient, N."""
        law = self.car.resistance
        specific = law.constant_n_per_kg + speed_m_s * (law.linear_n_s_per_kg_m + speed_m_s * law.square_n_s2_per_kg_m2)
        return self.cases.mass_kg * specific

    def hot_ohm(self, ratio: FloatArray) -> FloatArray:
        """Ohms of the sections, joints included."""
        return self.cases.section_ohm * ratio + self.cases.joint_ohm

    def wires(self, notch: Wired, ratio: FloatArray) -> "Wires":
        """The notch on sections of these ratios of hot to cold ohms (..., sections, M)."""
        hot_ohm = self.hot_ohm(ratio)
        if notch.mesh is not None:
            return Wires(notch, hot_ohm, hot_ohm, notch.plain_shares, notch.mesh.meshed(self, hot_ohm))
        grid_ohm, shares = notch.divided(hot_ohm)
        return Wires(notch, hot_ohm, grid_ohm, shares, self._strings(notch, grid_ohm))

    def _strings(self, notch: Wired, grid_ohm: FloatArray) -> Strings:
        """The motor strings of a notch on grids of these ohms (circuits, M)."""
        volts, motors = self.cases.line_v[None, :], notch.motor_ohms * self.cases.motor_ohm + notch.string_ohm
        feeder = np.full(1, notch.each * (self.line.feeder_ohm + notch.ahead_ohm))
        if notch.kind == "common":
            return Strings(notch, volts, motors, feeder + notch.each * grid_ohm[..., 0, :])
        if notch.kind == "strings":
            return Strings(notch, volts, motors + grid_ohm, feeder)
        return self._bridge(notch, motors, grid_ohm)

    def _bridge(self, notch: Wired, motors: FloatArray, grid_ohm: FloatArray) -> Strings:
        """Two halves in series between line and rail, a resistor beside each: ``Ra`` beside the first, ``Rb`` beside
        the second, the feeder ahead.

        With j1 and j2 the currents of the halves, D = Ra + Rb + Rf: ``U1 = Ra·[V - (Rf + Rb)·j1 + Rb·j2]/D`` and
        ``U2 = Rb·[V - (Rf + Ra)·j2 + Ra·j1]/D``, by Kirchhoff's rules at the bridge wire.
        """
        beside = grid_ohm[..., ::-1, :]
        total = beside.sum(axis=-2, keepdims=True) + self.line.feeder_ohm
        product = beside[..., 0, :] * beside[..., 1, :] / total[..., 0, :]
        source = beside / total * self.cases.line_v
        own = motors + notch.each * (beside * (total - beside) / total + product[..., None, :])
        return Strings(notch, source, own, -notch.each * product)


@dataclass(frozen=True, slots=True, eq=False)
class Wires:
    """A notch on sections as hot as they are: ohms of sections and circuits, shares of currents, the motor strings."""

    notch: Wired
    hot_ohm: FloatArray
    grid_ohm: FloatArray
    shares: FloatArray
    strings: "Strings | Meshed"


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A notch at one moment: currents of the branches (..., branches, M) and circuits (..., circuits, M), and what
    follows, each (..., M); ``line_a`` is the whole car's."""

    wires: Wires
    current_a: FloatArray
    circuit_a: FloatArray
    line_a: FloatArray
    k: FloatArray
    k_slope: FloatArray
    turning_rad_s: FloatArray
    speed_m_s: FloatArray
    torque_nm: FloatArray
    pull_n: FloatArray
    resist_n: FloatArray
    acceleration_m_s2: FloatArray

    @property
    def mean_a(self) -> FloatArray:
        """Mean current of the branches (..., M), A; where fields have currents of their own, of the armatures as they
        drive the car."""
        mesh = self.wires.notch.mesh
        if mesh is None or mesh.fluxes is None:
            mean: FloatArray = np.abs(self.current_a).mean(axis=-2)
            return mean
        driving: FloatArray = (np.sign(self.k) * self.current_a).sum(axis=-2) / len(mesh.tables)
        return driving


def moment(bench: Bench, wires: Wires, currents: tuple[FloatArray, FloatArray], free: Bools) -> Moment:
    """The notch at these currents of the branches and speed of the motors. ``free`` False: the car stands, braked."""
    current, turning = currents
    k, k_slope = wires.notch.read(current)
    turning = np.where(free, turning, 0.0)
    speed = turning / bench.per_m_s
    torque = wires.notch.each * (k * current).sum(axis=-2)
    pull, resist = torque * rim_n_per_nm(bench.car), bench.resist_n(speed)
    gathered = np.where(free, (pull - resist - bench.grade_n) / bench.heavy_kg, 0.0)
    circuit_a, line_a = _grid_a(bench, wires, current, k * turning[..., None, :])
    return Moment(wires, current, circuit_a, line_a, k, k_slope, turning, speed, torque, pull, resist, gathered)


def _grid_a(bench: Bench, wires: Wires, current: FloatArray, emf_v: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Currents of the circuits and of the line, A."""
    notch = wires.notch
    if not isinstance(wires.strings, Strings):
        return wires.strings.flows(emf_v)
    if notch.kind == "bridge":
        halves_v = emf_v + current * notch.motor_ohms * bench.cases.motor_ohm
        beside_a = halves_v / wires.grid_ohm[..., ::-1, :]
        return beside_a[..., ::-1, :], notch.each * current[..., 0, :] + beside_a[..., 0, :]
    line_a = notch.each * current.sum(axis=-2)
    return (line_a[..., None, :] if notch.kind == "common" else current), line_a


@dataclass(frozen=True, slots=True, eq=False)
class Powered:
    """A notch with the power on: rates per second from mean currents (..., M) and temperatures (..., sections, M).

    The mean is that of the branches. Not for a bridge.
    """

    bench: Bench
    notch: Wired
    free: Bools

    def warming(self, mean_a: FloatArray, t_c: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rates of the temperatures, K/s, and of the mean current, A/s."""
        _, _, warming, falling = self._flow(mean_a, t_c)
        return warming, falling

    def rate(self, mean_a: FloatArray, t_c: FloatArray) -> FloatArray:
        """Rates of the whole state (..., rows, M); the last row is the mean current of the branches, A/s."""
        now, power, warming, falling = self._flow(mean_a, t_c)
        return _change(self.bench, now, power, warming, falling)

    def marks(self, t_c: FloatArray) -> FloatArray:
        """Mean currents (points, M or 1) between which the motor curves are single cubics, in no order.

        ``t_c`` (sections, M), or (points, sections, M): those at each point.
        """
        notch = self.notch
        if len(notch.branches) == 1:
            return notch.branches[0].table.knots_a[1:, None]
        return self.bench.wires(notch, self.bench.plates(t_c)[0]).strings.crossings()

    def _flow(self, mean_a: FloatArray, t_c: FloatArray) -> tuple[Moment, FloatArray, FloatArray, FloatArray]:
        """The moment, W and K/s of the sections, A/s of the mean current."""
        bench = self.bench
        ratio, slope, capacity, loss = bench.plates(t_c)
        wires = bench.wires(self.notch, ratio)
        now = moment(bench, wires, wires.strings.from_mean(mean_a), self.free)
        power = through(wires.shares, now.circuit_a) ** 2 * wires.hot_ohm
        warming = (power - loss) / capacity
        rise = grid_rise(wires.shares, slope * bench.cases.section_ohm * warming)
        return now, power, warming, _falling(bench, now, rise)


def _change(bench: Bench, now: Moment, power: FloatArray, warming: FloatArray, lead: FloatArray) -> FloatArray:
    """Rates of the whole state: time, way, watts, the sections, and what leads."""
    temperatures, heats = rows_of_sections(warming.shape[-2])
    change = np.empty((*now.line_a.shape[:-1], heats.stop + 1, now.line_a.shape[-1]))
    notch = now.wires.notch
    copper = (notch.motor_ohms * now.current_a**2).sum(axis=-2)
    change[..., TIME, :] = 1.0
    change[..., WAY, :] = now.speed_m_s
    change[..., LINE_J, :] = bench.cases.line_v * now.line_a
    change[..., FEEDER_J, :] = bench.line.feeder_ohm * now.line_a**2 + _fixed_w(now)
    change[..., MOTORS_J, :] = notch.each * bench.cases.motor_ohm * copper
    change[..., SHAFT_J, :] = now.torque_nm * now.turning_rad_s
    change[..., RESIST_J, :] = now.resist_n * now.speed_m_s
    change[..., STUCK, :] = 0.0
    change[..., temperatures, :] = warming
    change[..., heats, :] = power
    change[..., LEAD, :] = lead
    return change


def _fixed_w(now: Moment) -> FloatArray | float:
    """Watts of the fixed resistors."""
    notch, strings = now.wires.notch, now.wires.strings
    if not isinstance(strings, Strings):
        return strings.fixed_w(now.k * now.turning_rad_s[..., None, :])
    if not (notch.ahead_ohm or notch.string_ohm):
        return 0.0
    in_strings: FloatArray = notch.each * notch.string_ohm * (now.current_a**2).sum(axis=-2)
    return notch.ahead_ohm * now.line_a**2 + in_strings


def _falling(bench: Bench, now: Moment, rise: FloatArray) -> FloatArray:
    """Rate of the mean current, A/s; ``rise`` is that of the circuits' ohms, ohm/s."""
    strings = now.wires.strings
    gathered = (now.acceleration_m_s2 * bench.per_m_s)[..., None, :]
    if not isinstance(strings, Strings):
        return strings.falling(now, now.circuit_a * rise, now.k * gathered)
    stiff = strings.own_ohm + now.k_slope * now.turning_rad_s[..., None, :]
    pushed = now.circuit_a * rise + now.k * gathered  # a common circuit's volts are the same for every branch
    return strings.falling(pushed, stiff)


def bridged(bench: Bench, notch: Wired) -> Rate:
    """Rates of the state per second with a bridge in circuit; the last row is the speed, m/s."""
    free = np.full(len(bench.cases), True)

    def rate(state: FloatArray) -> FloatArray:
        ratio, _, capacity, loss = bench.plates(temperatures_of(state))
        wires = bench.wires(notch, ratio)
        turning = np.maximum(state[LEAD], 0.0) * bench.per_m_s
        now = moment(bench, wires, (wires.strings.arriving(turning), turning), free)
        power = through(wires.shares, now.circuit_a) ** 2 * wires.hot_ohm
        lead = np.where((state[LEAD] <= 0.0) & (now.acceleration_m_s2 < 0.0), 0.0, now.acceleration_m_s2)
        return _change(bench, now, power, (power - loss) / capacity, lead)

    return rate


def coasting(bench: Bench) -> Rate:
    """Rates of the state per second with the power off; the last row is the speed, m/s. A car never runs back."""
    temperatures, _ = rows_of_sections(bench.cases.section_ohm.shape[0])

    def rate(state: FloatArray) -> FloatArray:
        _, _, capacity, loss = bench.plates(state[temperatures])
        speed = np.maximum(state[LEAD], 0.0)
        resist = bench.resist_n(speed)
        gathered = -(resist + bench.grade_n) / bench.heavy_kg
        change = np.zeros_like(state)
        change[TIME] = 1.0
        change[WAY] = speed
        change[RESIST_J] = resist * speed
        change[temperatures] = -loss / capacity
        change[LEAD] = np.where((state[LEAD] <= 0.0) & (gathered < 0.0), 0.0, gathered)
        return change

    return rate


def rows_of_sections(sections: int) -> tuple[slice, slice]:
    """Rows of the temperatures and of the joules of the sections."""
    middle = FIRST_TEMPERATURE + sections
    return slice(FIRST_TEMPERATURE, middle), slice(middle, middle + sections)


def fresh_state(cases: Cases) -> FloatArray:
    """The state before the start: nothing run, nothing spent, sections at their starting temperatures."""
    sections = cases.section_ohm.shape[0]
    state = np.zeros((FIRST_TEMPERATURE + 2 * sections + 1, len(cases)))
    state[rows_of_sections(sections)[0]] = cases.start_c
    return state


def temperatures_of(state: FloatArray) -> FloatArray:
    """The rows of the sections' temperatures, degC."""
    return state[..., rows_of_sections(_sections(state))[0], :]


def joules_of(state: FloatArray) -> FloatArray:
    """The rows of the sections' joules."""
    return state[..., rows_of_sections(_sections(state))[1], :]


def _sections(state: FloatArray) -> int:
    return int(state.shape[-2] - FIRST_TEMPERATURE - 1) // 2
