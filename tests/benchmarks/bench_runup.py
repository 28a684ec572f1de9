"""One start and ten thousand, beside a general adaptive Runge-Kutta 5(4) called in a loop. Asserts nothing.

Run it by itself: ``python tests/benchmarks/bench_runup.py``. The peer is scipy's RK45 at 1e-6 on speed, way and five
temperatures, the current found by Newton's rule, notch ends located by its event finder. Both run the same invented car
on the same plates by the valley current; seconds are those of the processor. Memory is the peak of the whole process.
"""

import resource
from dataclasses import replace
from functools import partial
from math import pi
from statistics import median
from time import process_time

import numpy as np
from scipy.integrate import solve_ivp

from griddesign.grid.records import Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.mechanics import accelerated_kg, motor_rad_s, resistance_n, rim_n_per_nm
from griddesign.traction.records import (
    Car,
    Grouping,
    Line,
    MagnetisationPoints,
    Motor,
    MotorOwn,
    Notch,
    RunningResistance,
)
from griddesign.traction.runup.records import Cases, RunUp
from griddesign.traction.runup.run import run_up

LINE = Line(550.0, 660.0, 0.04)
CAR = Car(13500.0, 0.1, 0.84, 3.5, 0.95, RunningResistance(0.045, 0.00324))
POINTS = MagnetisationPoints(20.0 * pi, (15.0, 35.0, 70.0, 105.0, 140.0), (100.0, 215.0, 381.0, 485.0, 550.0))
MOTOR, PLAIN = Motor(2, 0.42, 75.0, POINTS), MotorCurve(POINTS, hold_above=True)
TURNS, RIM, HEAVY = motor_rad_s(CAR, 1.0), rim_n_per_nm(CAR), accelerated_kg(CAR)
SERIES, PARALLEL = Grouping(2, 1), Grouping(1, 2)
KEEP = ("ABCDE", "BCDE", "CDE", "", "CDE", "DE", "E", "")
NOTCHES = [Notch(str(k), SERIES if k <= 4 else PARALLEL, Run(tuple(names))) for k, names in enumerate(KEEP, start=1)]
OHMS = np.array([[1.63], [1.36], [0.29], [0.58], [0.27]])
COUNT = np.array([[24.0], [20.0], [4.0], [8.0], [4.0]])
PLATES = COUNT[:, 0].tolist()
VALLEY, CHUNK = 88.0, 1000


def plates(t_c: np.ndarray) -> tuple[np.ndarray, ...]:
    rise = t_c - 20.0
    return 1 + 0.0019 * rise, np.full_like(t_c, 0.0019), COUNT * (412 + 0.15 * rise), COUNT * 1.2 * np.maximum(rise, 0)


def cases(size: int, seed: int = 0) -> Cases:
    scatter = np.random.default_rng(seed).normal(1.0, 0.02, (5, size))
    one, sections = np.ones(size), OHMS * scatter
    zero, cool = np.zeros_like(sections), np.full_like(sections, 20.0)
    return Cases(550.0 * one, sections, zero, cool, VALLEY * one, 0.42 * one, 13500.0 * one)


def ours(given: Cases, motor: Motor = MOTOR) -> RunUp:
    return run_up(LINE, CAR, motor, NOTCHES, tuple("ABCDE"), given, plates)


def many(size: int) -> None:
    for chunk in range(size // CHUNK):
        ours(cases(CHUNK, chunk))


def peer(ohms: np.ndarray, method: str = "RK45", tolerance: float = 1e-6) -> list[float]:
    """Peaks of one start by the general integrator, its right-hand side in plain floats: quickest for one start."""
    state, peaks, cold = [0.0, 0.0, *(20.0,) * 5], [], ohms[:, 0].tolist()
    for notch in NOTCHES:
        assert notch.common is not None
        live = [name in notch.common.parts for name in "ABCDE"]
        stage = (cold, live, notch.grouping.series, notch.grouping.parallel)
        peaks.append(_amps(state, *stage)[0])
        if peaks[-1] <= VALLEY:
            continue

        def valley(_: float, now: np.ndarray, stage: tuple = stage) -> float:
            return _amps(now.tolist(), *stage)[0] - VALLEY

        valley.terminal = True  # type: ignore[attr-defined]
        rate = partial(_rate, stage=stage)
        found = solve_ivp(rate, (0, 60), np.array(state), method=method, rtol=tolerance, atol=tolerance, events=valley)
        state = found.y[:, -1].tolist()
    return peaks


def _amps(state: list[float], cold: list[float], live: list[bool], s: int, p: int) -> tuple[float, float]:
    """Current and emf per speed, by Newton's rule; the slope from two readings of the curve."""
    hot = sum(ohm * (1 + 0.0019 * (t_c - 20.0)) for ohm, t_c, on in zip(cold, state[2:], live, strict=True) if on)
    total, turning = s * 0.42 + p * (0.04 + hot), s * TURNS * state[0]
    current = 110.0
    while True:
        k = PLAIN.k(current)
        slope = (PLAIN.k(current + 1e-3) - k) / 1e-3
        change = (current * total + turning * k - 550.0) / (total + turning * slope)
        current -= change
        if abs(change) < 1e-9:
            return current, k


def _rate(_: float, now: np.ndarray, stage: tuple) -> list[float]:
    state, (cold, live, s, p) = now.tolist(), stage
    current, k = _amps(state, *stage)
    gathered = (s * p * k * current * RIM - resistance_n(CAR, state[0])) / HEAVY
    warming = []
    for ohm, count, t_c, on in zip(cold, PLATES, state[2:], live, strict=True):
        rise = t_c - 20.0
        power = (p * current) ** 2 * ohm * (1 + 0.0019 * rise) if on else 0.0
        warming.append((power - count * 1.2 * max(rise, 0.0)) / (count * (412 + 0.15 * rise)))
    return [gathered, state[0], *warming]


def seconds(call: object, *arguments: object) -> float:
    assert callable(call)
    begin = process_time()
    call(*arguments)
    return process_time() - begin


def main() -> None:
    single = cases(1)
    ours(single)
    alone = median(seconds(ours, single) for _ in range(9))
    theirs = median(seconds(peer, cases(1, seed).section_ohm) for seed in range(5))
    tight = peer(single.section_ohm, "DOP853", 1e-11)
    off = max(abs(float(log.peak_a[0]) - peak) for log, peak in zip(ours(single).notches, tight, strict=True))
    loose = max(abs(a - b) for a, b in zip(peer(single.section_ohm), tight, strict=True))
    print(f"one start: ours {alone * 1e3:.1f} ms, RK45 at 1e-6 {theirs * 1e3:.1f} ms, ratio {theirs / alone:.1f}")
    print(f"worst peak against DOP853 at 1e-11: ours {off:.1e} A, RK45 {loose:.1e} A")
    within = replace(single, peak_a=np.array([125.0]))
    unlike = replace(MOTOR, each=(MotorOwn(), MotorOwn(0.82)))
    print(f"one start within a peak current: {median(seconds(ours, within) for _ in range(5)) * 1e3:.1f} ms")
    print(f"one start on unlike wheels: {median(seconds(ours, single, unlike) for _ in range(5)) * 1e3:.1f} ms")
    for size in (1000, 10_000, 100_000):
        took = seconds(many, size)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        each = took / size
        print(
            f"{size:7d} starts: {took:.2f} s, {each * 1e6:.0f} us each, {memory:.0f} MB, RK45 {theirs / each:.0f} times"
        )


if __name__ == "__main__":
    main()
