"""Why a resistance notch is not for running: what its grid turns into heat once the car has settled on it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from griddesign.errors import CurveError
from griddesign.grid.circuit import ohms
from griddesign.job.records import Job
from griddesign.traction.held import NO_END_M_S, HeldNotch
from griddesign.traction.problem import Stage
from griddesign.traction.records import Notch


@dataclass(frozen=True, slots=True)
class NotchWaste:
    """One resistance notch held until the speed has settled: A per motor, A from line, m/s, W out of the line and W of
    it in the grid. ``leaving_w``: W the grid takes up at the current at which the driver leaves the notch."""

    notch: str
    motor_a: float
    line_a: float
    speed_m_s: float
    line_w: float
    grid_w: float
    leaving_w: float

    @property
    def share(self) -> float:
        """The part of the line's power that the grid turns into heat, 0 to 1."""
        return self.grid_w / self.line_w if self.line_w else 0.0


def wasted(job: Job, cold_ohm: Mapping[str, float], valley_a: float) -> tuple[NotchWaste, ...]:
    """Every notch with a grid in circuit at its balance on the job's gradient, at nominal voltage, grid cold.

    ``cold_ohm`` maps section names to ohms, ``valley_a`` is the current per motor on leaving a notch. With I per motor,
    p strings, Rg the grid's ohms: line ``V*p*I``, grid ``(p*I)^2*Rg`` of a common grid, the sum of ``I^2*Rg`` of a grid
    for each string (taken at the mean of their ohms). A warm grid has more ohms and turns a little more into heat.
    A notch whose balance lies past the end of the motor curve, or that never balances, is left out. Of a network
    ``motor_a`` is that of the winding that has most, and it is left at the mean over its motors.
    """
    return tuple(_each(job, cold_ohm, valley_a))


def _each(job: Job, cold_ohm: Mapping[str, float], valley_a: float) -> Iterator[NotchWaste]:
    assert job.line is not None and job.car is not None and job.motor is not None
    for notch in job.notches:
        if notch.network is not None:
            yield from _network(job, notch, cold_ohm, valley_a)
            continue
        grid_ohm = grid_ohm_of(notch, cold_ohm)
        held = HeldNotch(job.line, job.car, job.motor, notch, job.line.nominal_v)
        if grid_ohm <= 0.0:
            continue
        try:
            motor_a, speed_m_s = float(held.motor_a(np.array(grid_ohm))), 0.0
            speed_m_s = held.speed_m_s(motor_a)
        except CurveError:
            continue
        if speed_m_s < NO_END_M_S:
            yield _waste(notch, motor_a, speed_m_s, (job.line.nominal_v, grid_ohm, valley_a))


def _network(job: Job, notch: Notch, cold_ohm: Mapping[str, float], valley_a: float) -> Iterator[NotchWaste]:
    from griddesign.judge.held_network import balance

    assert job.line is not None
    found = balance(job, notch, cold_ohm, valley_a)
    if found is not None:
        line_w = job.line.nominal_v * found.line_a
        speed, heat = found.speed_m_s, (found.grid_w, found.leaving_w)
        yield NotchWaste(notch.name, found.motor_a, found.line_a, speed, line_w, *heat)


def _waste(notch: Notch, motor_a: float, speed_m_s: float, given: tuple[float, float, float]) -> NotchWaste:
    line_v, grid_ohm, valley_a = given
    line_a = notch.grouping.parallel * motor_a
    return NotchWaste(
        notch.name,
        motor_a,
        line_a,
        speed_m_s,
        line_v * line_a,
        _grid_w(notch, motor_a, grid_ohm),
        _grid_w(notch, valley_a, grid_ohm),
    )


def grid_ohm_of(notch: Notch, cold_ohm: Mapping[str, float]) -> float:
    """The grid's own ohms on a notch: of a common grid, or the mean of a grid for each string."""
    circuits = Stage.of(notch).circuits
    return sum(ohms(run, cold_ohm) for run in circuits) / len(circuits)


def _grid_w(notch: Notch, motor_a: float, grid_ohm: float) -> float:
    stage = Stage.of(notch)
    return len(stage.circuits) * (stage.weight * motor_a) ** 2 * grid_ohm
