"""The whole chain from the shop's figures to plates, currents and heat, worked out slowly and on its own.

Nothing of the product is used here: plates by finite volumes on plain rectangular meshes, areas by shapely, the motor
curve by scipy's monotone cubic, the valley current by linear programmes over every pattern of passed notches, starts
and cooling by scipy's DOP853, view factors by quadrature, air by Sutherland's laws. SI throughout, ``_c`` in Celsius.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import atan, pi, sin, sqrt

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, linprog
from scipy.sparse import coo_array
from scipy.sparse.linalg import spsolve
from shapely import Point, box, union_all

LEG = 2.5
G_M_S2 = 9.80665
SIGMA = 5.670374419e-8


# ---- the plate ----


@dataclass(frozen=True)
class Plate:
    """A zig-zag with square sharp bends; eyes on the centre lines of the end passes."""

    height_m: float
    passes: int
    strip_m: float
    gap_m: float
    thickness_m: float
    eye_m: float
    hole_m: float
    reach_m: float

    @property
    def depth_m(self) -> float:
        return self.passes * self.strip_m + (self.passes - 1) * self.gap_m

    @cached_property
    def squares(self) -> float:
        """Straights, bends and eyes; each end pass runs on to the edge of the plate."""
        straight_m = self.passes * (self.height_m - 2 * self.strip_m) + 2 * self.strip_m
        bend = bend_squares(self.gap_m / self.strip_m)
        return straight_m / self.strip_m + (self.passes - 1) * bend + 2 * eye_squares(self)

    @cached_property
    def metal(self) -> tuple[float, float]:
        """Area of one face, m2, and length of the rim without the holes, m; from boxes and discs."""
        w, pitch = self.strip_m, self.strip_m + self.gap_m
        passes = [box(n * pitch, 0, n * pitch + w, self.height_m) for n in range(self.passes)]
        bars = [self._bar(n, pitch) for n in range(self.passes - 1)]
        first = (w / 2, -self.reach_m)
        last = ((self.passes - 1) * pitch + w / 2, self.height_m + self.reach_m if self.passes % 2 else -self.reach_m)
        eyes = [Point(at).buffer(self.eye_m / 2, 256) for at in (first, last)]
        necks = [box(x - w / 2, min(y, self.height_m), x + w / 2, max(y, 0)) for x, y in (first, last)]
        whole = union_all([*passes, *bars, *eyes, *necks])
        return whole.area - 2 * pi * self.hole_m**2 / 4, whole.exterior.length

    def _bar(self, n: int, pitch: float) -> object:
        low = self.height_m - self.strip_m if n % 2 == 0 else 0.0
        return box(n * pitch, low, (n + 1) * pitch + self.strip_m, low + self.strip_m)

    @property
    def surface_m2(self) -> float:
        return 2 * self.metal[0] + self.metal[1] * self.thickness_m


def bend_squares(gap: float) -> float:
    """What a bend adds between its inner corners, strip width 1; by Richardson's rule at the corner's h^(4/3)."""
    coarse, fine = (_half_bend(gap, n) for n in (12, 24))
    return 2 * (fine + (fine - coarse) / (2 ** (4 / 3) - 1))


def _half_bend(gap: float, n: int) -> float:
    """Half of it, from the middle of the bar, held at 0, down a leg of 2.5 to its end, held at 1."""
    across, legs = max(round(n * gap / 2), 3), round(LEG * n)
    x = np.concatenate([np.full(across, gap / 2 / across), np.full(n, 1 / n)])
    y = np.concatenate([np.full(legs, LEG / legs), np.full(n, 1 / n)])
    inside = np.ones((y.size, x.size), dtype=bool)
    inside[:legs, :across] = False
    middle, end = np.zeros_like(inside), np.zeros_like(inside)
    middle[legs:, 0], end[0, across:] = True, True
    return _resistance(x, y, inside, 2 / x[0] * y[:, None] * middle, 2 / y[0] * x * end) - LEG


def eye_squares(plate: Plate) -> float:
    """What an eye adds beyond the edge of the plate, from the rim of its hole; in steps of 1/40 of the strip."""
    return _eye(plate, 40)


def _eye(plate: Plate, n: int) -> float:
    w, radius, reach = 1.0, plate.eye_m / plate.strip_m / 2, plate.reach_m / plate.strip_m
    h, hole = 1 / n, plate.hole_m / plate.strip_m / 2
    half, tall = int(np.ceil(max(radius, w / 2) * n)), int(np.ceil((LEG + reach + radius) * n))
    x, y = (np.arange(half) + 0.5) * h, (np.arange(tall) + 0.5) * h - LEG  # one half, by symmetry
    far = np.hypot(x, (y - reach)[:, None])
    inside = ((x < w / 2) & (y < reach)[:, None] | (far < radius)) & (far > hole)
    rim = np.zeros_like(far)
    for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):  # a face to the hole, at its true distance
        beside = np.roll(far, step, axis)
        share = np.clip((far - hole) / np.where(far == beside, 1, far - beside), 0.05, 1)
        rim += np.where(inside & (beside <= hole), 1 / share, 0)
    end = np.zeros_like(far)
    end[0] = 2.0 * inside[0]
    return _resistance(np.full(half, h), np.full(tall, h), inside, rim, end) / 2 - LEG


def _resistance(x: np.ndarray, y: np.ndarray, inside: np.ndarray, zero: np.ndarray, one: np.ndarray) -> float:
    """Resistance of a sheet of 1 ohm a square between two rims whose cells lead to them by ``zero`` and ``one``."""
    number = np.cumsum(inside).reshape(inside.shape) - 1
    pairs = [
        (number[:, :-1], number[:, 1:], np.broadcast_to(y[:, None] / ((x[:-1] + x[1:]) / 2), (y.size, x.size - 1)),
         inside[:, :-1] & inside[:, 1:]),
        (number[:-1], number[1:], np.broadcast_to(x / ((y[:-1] + y[1:]) / 2)[:, None], (y.size - 1, x.size)),
         inside[:-1] & inside[1:]),
    ]  # fmt: skip
    a, b, g = (np.concatenate([pair[place][pair[3]] for pair in pairs]) for place in range(3))
    size, own = int(inside.sum()), (zero + one)[inside]
    row, column = np.concatenate([a, b, a, b, np.arange(size)]), np.concatenate([b, a, a, b, np.arange(size)])
    matrix = coo_array((np.concatenate([-g, -g, g, g, own]), (row, column)), shape=(size, size)).tocsc()
    potential = spsolve(matrix, one[inside])
    return 1 / float((zero[inside] * potential).sum())


# ---- car, motors, grid ----


@dataclass(frozen=True)
class Car:
    """Line, car and motors; ``law`` is N/kg and N/kg per m/s."""

    line_v: float
    highest_v: float
    feeder_ohm: float
    mass_kg: float
    rotating: float
    wheel_m: float
    gear: float
    efficiency: float
    law: tuple[float, float]
    gradient: float
    motor_ohm: float
    motor_at_c: float
    curve_rad_s: float
    amps: tuple[float, ...]
    volts: tuple[float, ...]

    @cached_property
    def cubics(self) -> tuple[list[float], list[list[float]]]:
        curve = PchipInterpolator((0, *self.amps), (0, *(np.array(self.volts) / self.curve_rad_s)))
        return list(curve.x), curve.c.T.tolist()

    def k(self, amps: float) -> float:
        """Emf per rad/s, kept at its last value above the curve."""
        x, c = self.cubics
        amps = min(amps, x[-1])
        piece = min(bisect_right(x, amps), len(x) - 1) - 1
        u, (a, b, d, e) = amps - x[piece], c[piece]
        return ((a * u + b) * u + d) * u + e

    def amps_at(self, volts: float, ohm: float, series: int, rad_s: float) -> float:
        """The current of a string at a motor speed."""
        if rad_s <= 0:
            return volts / ohm
        return brentq(lambda i: i * ohm + series * rad_s * self.k(i) - volts, 0, volts / ohm, xtol=1e-12)

    def rad_s(self, m_s: float) -> float:
        return m_s * 2 * self.gear / self.wheel_m

    def pull_n(self, motors: int, amps: float) -> float:
        return motors * self.k(amps) * amps * self.gear * self.efficiency * 2 / self.wheel_m

    def against_n(self, m_s: float) -> float:
        return self.mass_kg * (self.law[0] + self.law[1] * m_s + G_M_S2 * sin(atan(self.gradient)))

    def cold_motor_ohm(self, at_c: float) -> float:
        return self.motor_ohm * (234.5 + at_c) / (234.5 + self.motor_at_c)


@dataclass(frozen=True)
class Notch:
    """Motors in series, strings side by side; sections in series, and pairs of them side by side behind these."""

    series: int
    parallel: int
    plain: tuple[str, ...]
    abreast: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        return self.plain + self.abreast

    def grid_ohm(self, ohm: dict[str, float]) -> float:
        side = 1 / sum(1 / ohm[name] for name in self.abreast) if self.abreast else 0.0
        return sum(ohm[name] for name in self.plain) + side

    def shares(self, ohm: dict[str, float]) -> dict[str, float]:
        whole = sum(1 / ohm[name] for name in self.abreast)
        return dict.fromkeys(self.plain, 1.0) | {name: 1 / ohm[name] / whole for name in self.abreast}

    def total_ohm(self, car: Car, ohm: dict[str, float], motor_ohm: float) -> float:
        return self.series * motor_ohm + self.parallel * (car.feeder_ohm + self.grid_ohm(ohm))


def peaks_a(
    car: Car,
    notches: Sequence[Notch],
    ohm: dict[str, float],
    valley_a: float,
    air_c: float,
    hot: dict[str, float] | None = None,
) -> list[float]:
    """Peak on every notch, motors cold, each notch left at the valley current; sections dropped are hot by ``hot``, all
    else is cold."""
    motor, found = car.cold_motor_ohm(air_c), []
    for place, notch in enumerate(notches):
        fastest = 0.0
        for left in notches[:place]:
            dropped = set(left.names) - set(notch.names)
            warm = {name: x * (hot or {}).get(name, 1.0) if name in dropped else x for name, x in ohm.items()}
            emf_v = car.line_v - valley_a * left.total_ohm(car, warm, motor)
            fastest = max(fastest, emf_v / (left.series * car.k(valley_a)))
        found.append(car.amps_at(car.line_v, notch.total_ohm(car, ohm, motor), notch.series, fastest))
    return found


def feasible(
    car: Car,
    notches: Sequence[Notch],
    names: Sequence[str],
    first_a: float,
    peak_a: float,
    valley_a: float,
    air_c: float,
) -> bool:
    """Whether any ohms keep every peak, any notches being passed; all notches plain. ``R'`` is linear in the ohms."""
    motor = car.cold_motor_ohm(air_c)
    rows = [
        (
            n.parallel * np.array([float(name in n.plain) for name in names]),
            n.series * motor + n.parallel * car.feeder_ohm,
        )
        for n in notches
    ]
    begin = (notches[0].series * car.motor_ohm + notches[0].parallel * car.feeder_ohm, car.line_v / first_a)
    ratio = car.k(peak_a) / car.k(valley_a)
    for passed in product((False, True), repeat=len(notches) - 2):
        left, a_ub, b_ub = 0, [], []
        for to in range(1, len(notches)):
            part = notches[to].series / notches[left].series * ratio  # peak·R' + part·(V − valley·R'left) ≥ V
            a_ub.append(part * valley_a * rows[left][0] - peak_a * rows[to][0])
            b_ub.append(peak_a * rows[to][1] + part * (car.line_v - valley_a * rows[left][1]) - car.line_v)
            if to < len(notches) - 1 and not passed[to - 1]:
                left = to
        found = linprog(np.zeros(len(names)), a_ub, b_ub, [rows[0][0]], [begin[1] - begin[0]], bounds=(0, None))
        if found.status == 0:
            return True
    return False


@dataclass(frozen=True)
class MeanNotch:
    amps: float
    seconds: float
    leave_m_s: float
    joules: dict[str, float]


def mean_start(car: Car, notches: Sequence[Notch], ohm: dict[str, float], valley_a: float) -> list[MeanNotch]:
    """Each notch at the mean of its currents and speeds; cold ohms, motors as stated."""
    speed, found = 0.0, []
    for notch in notches:
        total = notch.total_ohm(car, ohm, car.motor_ohm)
        amps = car.amps_at(car.line_v, total, notch.series, car.rad_s(speed))
        if amps <= valley_a * (1 + 1e-12):
            found.append(MeanNotch(amps, 0.0, speed, {}))
            continue
        leave = (car.line_v - valley_a * total) / (notch.series * car.k(valley_a)) * car.wheel_m / (2 * car.gear)
        force = car.pull_n(notch.series * notch.parallel, (amps + valley_a) / 2) - car.against_n((speed + leave) / 2)
        seconds = car.mass_kg * (1 + car.rotating) * (leave - speed) / force
        square = (amps**2 + amps * valley_a + valley_a**2) / 3 * notch.parallel**2 * seconds
        found.append(
            MeanNotch(amps, seconds, leave, {n: square * x * x * ohm[n] for n, x in notch.shares(ohm).items()})
        )
        speed = leave
    return found


# ---- counts ----


def worst_error(aims: Sequence[tuple[float, float, float]], low_ohm: float, high_ohm: float) -> float:
    """Least possible worst ``|wanted/got - 1|`` over plate ohms from low to high; aims are (wanted R', other, R' per
    plate ohm). Every error falls with the plate ohms, so the best is where the ends of the band are even."""

    def ends(u: float) -> tuple[float, float]:
        errors = [wanted / (other + slope * u) - 1 for wanted, other, slope in aims]
        return max(errors), min(errors)

    def lean(u: float) -> float:
        return sum(ends(u))

    if lean(low_ohm) <= 0 or high_ohm - low_ohm < 1e-12:
        best = low_ohm
    else:
        best = high_ohm if lean(high_ohm) >= 0 else brentq(lean, low_ohm, high_ohm, xtol=1e-13)
    return max(abs(end) for end in ends(best))


def every_count(limits: Sequence[tuple[float, float]], low_ohm: float, high_ohm: float, even: bool) -> Iterator[tuple]:
    """Every (steps, side by side) of each section whose ohms can lie between its limits."""
    choices = []
    for least, most in limits:
        steps = range(2 if even else 1, int(2 * most / low_ohm + 1e-6) + 1, 2 if even else 1)
        pairs = [(n, q) for q in (1, 2) for n in steps]
        choices.append(
            [(n, q) for n, q in pairs if n * high_ohm / q >= least - 1e-9 and n * low_ohm / q <= most + 1e-9]
        )
    yield from product(*choices)


def fill(sections: Sequence[tuple[str, int, int]], per_box: int, even: bool) -> list[tuple[str, int, int, int]]:
    """(section, box, place in the box, whole count) of every plate: as many as go in before a new box is begun."""
    found: list[tuple[str, int, int, int]] = []
    box_number, used = 1, 0
    for name, steps, abreast in sections:
        group = 2 * abreast if even else abreast
        for _ in range(steps * abreast // group):
            if used + group > per_box:
                box_number, used = box_number + 1, 0
            for _ in range(group):
                used += 1
                found.append((name, box_number, used, len(found) + 1))
    return found


# ---- heat ----


@dataclass(frozen=True)
class Metal:
    rho: float
    alpha: float
    density: float
    heat_20: float
    heat_400: float
    emissivity: float

    def ratio(self, t_c: float) -> float:
        return 1 + self.alpha * (t_c - 20)

    def heat(self, t_c: float) -> float:
        return self.heat_20 + (self.heat_400 - self.heat_20) * (min(max(t_c, 20.0), 400.0) - 20) / 380


def view_factor(height_m: float, depth_m: float, gap_m: float) -> float:
    """Two facing rectangles by Gauss's rule over the distances between their points (a double integral, not four)."""
    node, weight = np.polynomial.legendre.leggauss(120)
    u, w = (node + 1) / 2, weight / 2
    x, y = height_m * u**2, depth_m * u**2  # closer nodes where the kernel is steep
    wx, wy = 2 * height_m * u * w, 2 * depth_m * u * w
    kernel = gap_m**2 / (x[:, None] ** 2 + y**2 + gap_m**2) ** 2 * (height_m - x)[:, None] * (depth_m - y)
    return 4 * float(wx @ kernel @ wy) / (pi * height_m * depth_m)


def loss_law(plate: Plate, metal: Metal, gap_m: float, air_c: float, factor: float = 1.0) -> Callable[[float], float]:
    """Loss of a plate inside its stack, W, at a temperature in Celsius.

    Bar-Cohen and Rohsenow in the gap or Churchill and Chu on the plate alone, whichever is less; walls and mouth of a
    gap as a grey enclosure.
    """
    area, e = plate.height_m * plate.depth_m, metal.emissivity
    mouth = 1 / ((1 - e) / (2 * e * area) + 1 / (2 * area * (1 - view_factor(plate.height_m, plate.depth_m, gap_m))))
    black = mouth + 2 * e * plate.thickness_m * (plate.height_m + plate.depth_m)

    def loss(t_c: float) -> float:
        rise = t_c - air_c
        if rise <= 0:
            return 0.0
        film_k = (t_c + air_c) / 2 + 273.15
        density = 101325 / (287.05 * film_k)
        viscosity = 1.458e-6 * film_k**1.5 / (film_k + 110.4)
        conducted = 2.64638e-3 * film_k**1.5 / (film_k + 245.4 * 10 ** (-12 / film_k))
        heat = 1002.5 + 275e-6 * (film_k - 200) ** 2
        rayleigh = G_M_S2 * rise / film_k * plate.height_m**3 * density**2 * heat / (viscosity * conducted)
        elenbaas = rayleigh * (gap_m / plate.height_m) ** 4
        channel = (576 / elenbaas**2 + 2.873 / sqrt(elenbaas)) ** -0.5 / gap_m
        prandtl = viscosity * heat / conducted
        alone = (0.68 + 0.67 * rayleigh**0.25 / (1 + (0.492 / prandtl) ** (9 / 16)) ** (4 / 9)) / plate.height_m
        radiated = SIGMA * black * ((t_c + 273.15) ** 4 - (air_c + 273.15) ** 4)
        return factor * (conducted * min(channel, alone) * plate.surface_m2 * rise + radiated)

    return loss


@dataclass(frozen=True)
class Bank:
    """Sections as built: cold ohms of their plates, of their joints, plates, loss of one plate, J/K of one plate."""

    names: tuple[str, ...]
    ohm: dict[str, float]
    joint_ohm: dict[str, float]
    plates: dict[str, int]
    metal: Metal
    plate_kg: float
    loss: Callable[[float], float]

    def hot(self, t_c: Sequence[float]) -> dict[str, float]:
        return {n: self.ohm[n] * self.metal.ratio(t) + self.joint_ohm[n] for n, t in zip(self.names, t_c, strict=True)}

    def warming(self, watts: dict[str, float], t_c: Sequence[float]) -> list[float]:
        each = zip(self.names, t_c, strict=True)
        return [
            (watts.get(n, 0.0) / self.plates[n] - self.loss(t)) / (self.plate_kg * self.metal.heat(t)) for n, t in each
        ]


@dataclass(frozen=True)
class Ran:
    """``notches``: (peak A, leave A, leave s, leave m/s, leave m, temperatures then); joules by what took them."""

    notches: list[tuple[float, float, float, float, float, list[float]]]
    joules: dict[str, float]
    section_j: dict[str, float]
    end_c: list[float]
    hottest_c: list[float]


def run_up(
    car: Car, notches: Sequence[Notch], bank: Bank, volts: float, valley_a: float, begin_c: Sequence[float]
) -> Ran:
    """The start integrated along the clock: speed, way, temperatures, joules; each notch until the valley current."""
    size, log, clock = len(bank.names), [], 0.0
    state = np.array([0.0, 0.0, *begin_c, *(0.0,) * (size + 5)])
    hottest = list(begin_c)
    for notch in notches:

        def amps(y: np.ndarray, notch: Notch = notch) -> float:
            total = notch.total_ohm(car, bank.hot(y[2 : 2 + size]), car.motor_ohm)
            return car.amps_at(volts, total, notch.series, car.rad_s(y[0]))

        def rate(_: float, y: np.ndarray, notch: Notch = notch) -> list[float]:
            i, hot, motors = amps(y), bank.hot(y[2 : 2 + size]), notch.series * notch.parallel
            line_a, pull = i * notch.parallel, car.pull_n(motors, i)
            watts = {n: (line_a * x) ** 2 * hot[n] for n, x in notch.shares(hot).items()}
            taken = [volts * line_a, line_a**2 * car.feeder_ohm, motors * i * i * car.motor_ohm]
            taken += [pull / car.efficiency * y[0], car.against_n(y[0]) * y[0]]
            speeding = (pull - car.against_n(y[0])) / (car.mass_kg * (1 + car.rotating))
            return [
                speeding,
                y[0],
                *bank.warming(watts, y[2 : 2 + size]),
                *(watts.get(n, 0.0) for n in bank.names),
                *taken,
            ]

        def fallen(_: float, y: np.ndarray, amps: Callable[[np.ndarray], float] = amps) -> float:
            return amps(y) - valley_a

        fallen.terminal, fallen.direction = True, -1  # type: ignore[attr-defined]
        peak = amps(state)
        if peak > valley_a:
            found = solve_ivp(rate, (0, 200), state, "DOP853", events=fallen, rtol=1e-8, atol=1e-8, max_step=20)
            assert found.status == 1, "the current never fell"
            state, clock = found.y[:, -1], clock + found.t[-1]
            hottest = [max(a, b) for a, b in zip(hottest, found.y[2 : 2 + size].max(axis=1), strict=True)]
        log.append((peak, min(peak, valley_a), clock, state[0], state[1], state[2 : 2 + size].tolist()))
    joules = dict(zip(("line", "feeder", "motors", "shaft", "against"), state[2 + 2 * size :].tolist(), strict=True))
    section_j = dict(zip(bank.names, state[2 + size : 2 + 2 * size].tolist(), strict=True))
    joules["kinetic"] = 0.5 * car.mass_kg * (1 + car.rotating) * state[0] ** 2
    return Ran(log, joules, section_j, state[2 : 2 + size].tolist(), hottest)


def cooled(bank: Bank, t_c: Sequence[float], seconds: float) -> list[float]:
    """Temperatures after so long without current."""
    fall = solve_ivp(lambda _, y: bank.warming({}, y), (0, seconds), t_c, "DOP853", rtol=1e-8, atol=1e-6)
    return fall.y[:, -1].tolist()


def settled_c(
    car: Car, notches: Sequence[Notch], bank: Bank, volts: float, valley_a: float, air_c: float, every_s: float
) -> list[float]:
    """Hottest moment of each section when a start every so often has settled: round after round, Aitken's rule for each
    section every third time."""
    begin, history = np.full(len(bank.names), air_c), []
    for _ in range(60):
        ran = run_up(car, notches, bank, volts, valley_a, begin)
        after = np.array(cooled(bank, ran.end_c, every_s - ran.notches[-1][2]))
        if np.abs(after - begin).max() < 0.02:
            return ran.hottest_c
        history.append(begin)
        begin = after
        if len(history) == 2:
            first, second = history[1] - history[0], after - history[1]
            steady = np.clip(second / np.where(np.abs(first) < 1e-9, 1, first), 0, 0.98)
            begin, history = after + second * steady / (1 - steady), []
    raise AssertionError("it did not settle")


def stalled_s(
    car: Car, notch: Notch, bank: Bank, volts: float, motor_ohm: float, air_c: float, limit_c: float
) -> float:
    """Seconds until the first live section reaches the limit with the car standing; inf where none does in a day."""

    def rate(_: float, y: np.ndarray) -> list[float]:
        hot = bank.hot(y)
        grid_a = volts / notch.total_ohm(car, hot, motor_ohm) * notch.parallel
        return bank.warming({n: (grid_a * x) ** 2 * hot[n] for n, x in notch.shares(hot).items()}, y)

    live = [place for place, name in enumerate(bank.names) if name in notch.names]

    def there(_: float, y: np.ndarray) -> float:
        return float(max(np.asarray(y)[live])) - limit_c

    there.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(rate, (0, 86400), [air_c] * len(bank.names), "DOP853", events=there, rtol=1e-8, atol=1e-6)
    return float(found.t[-1]) if found.status == 1 else float("inf")
