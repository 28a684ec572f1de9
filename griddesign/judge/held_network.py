"""A network held, stalled or running, as the heat room takes it: all of its currents at once."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import NoStartError
from griddesign.heat.air import FloatArray
from griddesign.heat.network import NotchCircuit
from griddesign.job.records import Job
from griddesign.traction.mechanics import gradient_n, motor_rad_s, rim_n_per_nm
from griddesign.traction.network.currents import Driven, Measure, Turning, mean_of
from griddesign.traction.records import Car, Line, Motor, Notch
from griddesign.traction.runup.networked import LOOK_AGAIN, Mesh, mesh_of
from griddesign.traction.runup.wiring import Drive

FASTEST_M_S = 300.0  # ours: a balance up there is none, no car comes near it
FIRST_GUESS_RAD_S = 50.0  # where Newton begins; no result hangs on it


def network_circuit(job: Job, notch: Notch) -> NotchCircuit:
    """The notch with its currents at standstill, and on the speed at which the pull and what resists it balance.

    Motors at their stated ohms, each with its own curve, wheels and gear; past the end of a curve its flux is kept at
    the last value, which only raises the current. Where nothing resists a fast car it is held at 300 m/s, where hardly
    any current is left.
    """
    line, car, motor, mesh = _parts(job, notch)

    def solve(section_ohm: FloatArray, line_v: FloatArray, running: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
        return _currents(mesh, car, (section_ohm, np.full(line_v.shape, motor.resistance_ohm), line_v), running)

    return NotchCircuit(notch.name, mesh.network.sections, line.feeder_ohm, solve=solve, solve_running=True)


def _parts(job: Job, notch: Notch) -> tuple[Line, Car, Motor, Mesh]:
    line, car, motor, network = job.line, job.car, job.motor, notch.network
    assert line is not None and car is not None and motor is not None and network is not None
    return line, car, motor, mesh_of(notch, network, network.sections, Drive(car, motor, line.feeder_ohm))


@dataclass(frozen=True, slots=True)
class Balance:
    """A network held until the speed has settled: A of the winding that has most, A from line, m/s, W in the sections,
    and W in them at the mean current at which the driver leaves the notch."""

    motor_a: float
    line_a: float
    speed_m_s: float
    grid_w: float
    leaving_w: float


def balance(job: Job, notch: Notch, cold_ohm: Mapping[str, float], valley_a: float) -> Balance | None:
    """The notch at its balance on the job's gradient, nominal volts, grid cold; None where it has no grid, or where a
    current passes the end of a motor curve, is not to be relied on, or the car finds no end. Raises NoStartError as
    ``Driven.where``."""
    line, car, motor, mesh = _parts(job, notch)
    ohm = np.array([[cold_ohm[name] for name in mesh.network.sections]])
    if not ohm.size:
        return None
    driven = mesh.driven(ohm, np.full(1, motor.resistance_ohm), np.full(1, line.nominal_v))
    guess = np.full(1, FIRST_GUESS_RAD_S)
    (current, turning), (leaving, then) = (
        driven.where(measure, guess) for measure in (balance_of(car), mean_of(np.full(1, valley_a)))
    )
    at, left = (driven.wires(driven.read(amps)[0] * n[:, None])[0] for amps, n in ((current, turning), (leaving, then)))
    speed = float(turning[0]) / motor_rad_s(car, 1.0)
    doubtful = mesh.beyond_curve(current[0]) or driven.doubt(current, turning) or driven.doubt(leaving, then)
    if doubtful or not 0.0 < speed < FASTEST_M_S:
        return None
    heat = [float(each[mesh.sections[0]] ** 2 @ ohm[0]) for each in (at, left)]
    return Balance(float(np.abs(current).max()), float(at @ mesh.layout.source), speed, heat[0], heat[1])


def _currents(
    mesh: Mesh, car: Car, ohms_and_volts: tuple[FloatArray, FloatArray, FloatArray], running: NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Amperes from line (cases,) and in the sections (cases, sections)."""
    driven = mesh.driven(*ohms_and_volts)
    standing = driven.now(driven.standing_a, np.zeros(running.shape))
    moves = running & (balance_of(car)(standing)[0] > 0.0)
    current, turning = standing.current_a.copy(), np.zeros(running.shape)
    if moves.any():
        own = mesh.driven(*(each[moves] for each in ohms_and_volts))
        guess = np.full(int(moves.sum()), FIRST_GUESS_RAD_S)
        current[moves], turning[moves] = own.where(balance_of(car), guess)
    _refuse_doubtful(mesh, driven, current, turning)
    through = driven.wires(driven.read(current)[0] * turning[:, None])
    return through @ mesh.layout.source, through[:, mesh.sections[0]]


def _refuse_doubtful(mesh: Mesh, driven: Driven, current: FloatArray, turning: FloatArray) -> None:
    doubt = driven.doubt(current, turning)
    if doubt:
        raise NoStartError(f"notch {mesh.name}, held: {doubt}", hint=LOOK_AGAIN)


def balance_of(car: Car) -> Measure:
    """By how much the pull of all motors at the rim is above running resistance and gradient, N."""
    law, per_rad_s = car.resistance, 1.0 / motor_rad_s(car, 1.0)
    grade_n = gradient_n(car.mass_kg, car.gradient)

    def measure(now: Turning) -> tuple[FloatArray, FloatArray, FloatArray]:
        speed = now.turning_rad_s * per_rad_s
        specific = law.constant_n_per_kg + speed * (law.linear_n_s_per_kg_m + speed * law.square_n_s2_per_kg_m2)
        torque, by_current = now.torque_nm()
        pull = rim_n_per_nm(car) * torque
        spare = pull - car.mass_kg * specific - grade_n
        growing = car.mass_kg * (law.linear_n_s_per_kg_m + 2.0 * speed * law.square_n_s2_per_kg_m2) * per_rad_s
        no_end = (speed >= FASTEST_M_S) & (spare > 0.0)
        return np.where(no_end, 0.0, spare), rim_n_per_nm(car) * by_current, -growing

    return measure
