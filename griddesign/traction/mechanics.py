"""The car as a mass on rails: effort at the wheel rim, resistance, acceleration, and the speed where they balance."""

from math import hypot

import numpy as np

from griddesign.traction.curve import FloatArray, MotorCurve
from griddesign.traction.records import Car

GRAVITY_M_S2 = 9.80665


def wheel_m_s(car: Car, motor_rad_s: float) -> float:
    """Speed of the car, m/s, at a motor speed in rad/s: ``n·D/(2·gear)``."""
    return motor_rad_s * car.wheel_diameter_m / (2.0 * car.gear_ratio)


def motor_rad_s(car: Car, speed_m_s: float) -> float:
    """Speed of the motors, rad/s, at a car speed in m/s."""
    return speed_m_s * 2.0 * car.gear_ratio / car.wheel_diameter_m


def effort_n(car: Car, curve: MotorCurve, motors: int, current_a: float) -> float:
    """Pull of all motors at the rim, N: ``motors·k(I)·I·gear·efficiency·2/D``."""
    return motors * curve.torque_nm(current_a) * rim_n_per_nm(car)


def rim_n_per_nm(car: Car) -> float:
    """Newtons at the rim for one N·m of motor torque."""
    return car.gear_ratio * car.drive_efficiency * 2.0 / car.wheel_diameter_m


def gradient_n(mass_kg: float, gradient: float) -> float:
    """Pull of a gradient of ``gradient`` rise over run, N, downhill negative: ``m·g·sin``."""
    return mass_kg * GRAVITY_M_S2 * gradient / hypot(1.0, gradient)


def resistance_n(car: Car, speed_m_s: float) -> float:
    """Running resistance and gradient together, N, at a speed in m/s."""
    law = car.resistance
    specific = law.constant_n_per_kg + speed_m_s * (law.linear_n_s_per_kg_m + speed_m_s * law.square_n_s2_per_kg_m2)
    return car.mass_kg * specific + gradient_n(car.mass_kg, car.gradient)


def accelerated_kg(car: Car) -> float:
    """The mass that feels like mass when the car gathers way, kg: rotating parts included."""
    return car.mass_kg * (1.0 + car.rotating_fraction)


def balancing_m_s(car: Car, pull_n: float) -> float:
    """Speed at which resistance and gradient take up ``pull_n``, m/s: 0 where the car would not start,
    infinity where the resistance never grows to it."""
    return float(balancing_each(car, np.array(pull_n)))


def balancing_each(car: Car, pull_n: FloatArray) -> FloatArray:
    """The same for an array of pulls: the positive root of ``square·v² + linear·v = spare``, in the form that keeps
    its digits where ``square`` is small."""
    law = car.resistance
    spare = np.maximum(0.0, pull_n / car.mass_kg - gradient_n(1.0, car.gradient) - law.constant_n_per_kg)
    linear, square = law.linear_n_s_per_kg_m, law.square_n_s2_per_kg_m2
    divisor = linear + np.sqrt(linear * linear + 4.0 * square * spare)
    with np.errstate(divide="ignore", invalid="ignore"):
        result: FloatArray = np.where(spare == 0.0, 0.0, 2.0 * spare / divisor)
    return result


def adhesion_n(car: Car) -> float | None:
    """Greatest pull the rails can take, N: adhesion times the weight on the driven wheels; None where not known.

    Without an adhesive mass every wheel is taken as driven.
    """
    if car.adhesion is None:
        return None
    mass = car.mass_kg if car.adhesive_mass_kg is None else car.adhesive_mass_kg
    return car.adhesion * mass * GRAVITY_M_S2
