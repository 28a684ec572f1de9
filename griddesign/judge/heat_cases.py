"""The heat of a design: one start, the settled duty, every notch stalled and held, at both voltages and ambients."""

from collections.abc import Iterator, Mapping

import numpy as np

from griddesign.choose.duty import start_heats
from griddesign.grid.circuit import is_plain_series, names
from griddesign.grid.divide import Floats, divider
from griddesign.grid.records import Run
from griddesign.heat.duty import ONE_START, DutyCases, settled_cases, settled_temperatures, start_cases
from griddesign.heat.holds import hold_rows
from griddesign.heat.lumps import AS_GIVEN
from griddesign.heat.network import NotchCircuit, Running
from griddesign.heat.records import HeatedSection, HeatRow
from griddesign.job.records import Job
from griddesign.traction.held import HeldNotch
from griddesign.traction.records import MeanStart, Notch


def duty_rows(
    job: Job, sections: tuple[HeatedSection, ...], starts: tuple[MeanStart, ...]
) -> tuple[tuple[HeatRow, ...], tuple[HeatRow, ...]]:
    """One start, and the settled duty where the job names one, for the start at each line voltage: the rows at the
    worst end of the weak figures, and the same rows with the figures as given."""
    cases = tuple(_duty_cases(job, sections, starts))
    worst = tuple(row for case in cases for row in case.worst())
    return worst, tuple(row for case in cases for row in case.at(AS_GIVEN))


def _duty_cases(job: Job, sections: tuple[HeatedSection, ...], starts: tuple[MeanStart, ...]) -> Iterator[DutyCases]:
    ambients, every_s = _ambients(job), job.duty.start_every_s
    for start in starts:
        heats = start_heats(start)
        yield start_cases(sections, heats, start.line_v, ambients)
        if every_s is not None:
            yield settled_cases(sections, heats, start.line_v, ambients, every_s=every_s)


def deciding(rows: tuple[HeatRow, ...]) -> tuple[HeatRow, ...]:
    """The rows a limit is held against: the settled duty, or one start where the job names no duty."""
    settled = tuple(row for row in rows if row.case.startswith("settled"))
    return settled or tuple(row for row in rows if row.case == ONE_START)


def holds(job: Job, sections: tuple[HeatedSection, ...], duty: tuple[HeatRow, ...]) -> tuple[HeatRow, ...]:
    """Every notch with a grid, stalled and held running, from ambient and from the settled duty."""
    assert job.line is not None
    settled = settled_temperatures(row for row in duty if row.case.startswith("settled"))
    tops = {section.name: section.body.metal.top_c for section in sections}
    reached = {name: min(hot_c, tops[name]) for name, hot_c in settled.items()}
    voltages = tuple(dict.fromkeys((job.line.nominal_v, job.line.highest_v)))
    circuits = [circuit for notch in job.notches for circuit in notch_circuits(job, notch)]
    return hold_rows(sections, circuits, voltages, _ambients(job), reached, breaker_a=job.line.breaker_a)


def notch_circuits(job: Job, notch: Notch) -> tuple[NotchCircuit, ...]:
    """The notch as the heat room takes it: one circuit, or one for each motor string; none where no grid is in."""
    assert job.line is not None and job.motor is not None
    series, parallel = notch.grouping.series, notch.grouping.parallel
    motors_ohm = series * job.motor.resistance_ohm
    if notch.common is not None:
        other_ohm = job.line.feeder_ohm + motors_ohm / parallel
        return (_circuit(job, notch, notch.common, other_ohm, 1.0),) if notch.common.parts else ()
    other_ohm = motors_ohm + parallel * job.line.feeder_ohm
    return tuple(_circuit(job, notch, run, other_ohm, float(parallel)) for run in notch.strings if run.parts)


def _circuit(job: Job, notch: Notch, run: Run, other_ohm: float, line_per_grid: float) -> NotchCircuit:
    return NotchCircuit(
        notch.name,
        names(run),
        other_ohm,
        None if is_plain_series(run) else divider(run),
        _running(job, notch),
        line_per_grid,
    )


def _running(job: Job, notch: Notch) -> Running | None:
    line, car, motor = job.line, job.car, job.motor
    if line is None or car is None or motor is None:
        return None
    held: dict[float, HeldNotch] = {}

    def current(grid_ohm: Floats, line_v: float) -> Floats:
        if line_v not in held:
            held[line_v] = HeldNotch(line, car, motor, notch, line_v)
        return np.asarray(held[line_v].grid_a(grid_ohm), dtype=np.float64)

    return current


def _ambients(job: Job) -> tuple[float, ...]:
    return tuple(dict.fromkeys((job.duty.ambient_low_c, job.duty.ambient_high_c)))


def hottest(rows: tuple[HeatRow, ...]) -> Mapping[str, HeatRow]:
    """The row of least margin for each section."""
    worst: dict[str, HeatRow] = {}
    for row in rows:
        if row.section not in worst or row.margin_k < worst[row.section].margin_k:
            worst[row.section] = row
    return worst
