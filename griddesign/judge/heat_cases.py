"""The heat of a design: one start, the settled duty, every notch stalled and held, at both voltages and ambients."""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

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
from griddesign.traction.equation import copper_ohm
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


RESTART = "restart after"
MOTORS_COLD = "; motors cold"


def deciding(rows: tuple[HeatRow, ...]) -> tuple[HeatRow, ...]:
    """The rows a limit is held against: the settled duty, or one start where the job names no duty, and the restart
    after too short a layover where it names one."""
    settled = tuple(row for row in rows if row.case.startswith("settled"))
    duty = settled or tuple(row for row in rows if row.case == ONE_START)
    return (*duty, *(row for row in rows if row.case.startswith(RESTART)))


def holds(job: Job, sections: tuple[HeatedSection, ...], duty: tuple[HeatRow, ...]) -> tuple[HeatRow, ...]:
    """Every notch with a grid, stalled and held running, from ambient and from the settled duty.

    Stalled, the motors may be as cold as the coldest air or as warm as their ohms are stated for: both are run and the
    shorter hold is taken. Held running, the current follows the speed and hardly hangs on the motors' ohms.
    """
    assert job.line is not None
    rows = [row for row in duty if row.case.startswith("settled")]
    settled = settled_temperatures(replace(row, hot_c=row.hot_c - row.neighbour_k) for row in rows)
    beside_k = {name: max(row.neighbour_k for row in rows if row.section == name) for name in settled}
    tops = {section.name: section.body.metal.top_c for section in sections}
    reached = {name: min(hot_c, tops[name]) for name, hot_c in settled.items()}
    voltages = tuple(dict.fromkeys((job.line.nominal_v, job.line.highest_v)))
    circuits = [*_circuits(job), *_standing_cold(job)]
    held = hold_rows(
        sections, circuits, voltages, _ambients(job), reached, breaker_a=job.line.breaker_a, hotter_k=beside_k
    )
    return _shorter(held)


def _circuits(job: Job) -> list[NotchCircuit]:
    return [circuit for notch in job.notches for circuit in notch_circuits(job, notch)]


def _standing_cold(job: Job) -> list[NotchCircuit]:
    """The same with the motors as cold as the coldest air, or as stated if that is colder still; stalled only."""
    assert job.motor is not None
    at_c = min(job.duty.ambient_low_c, job.motor.resistance_at_c)
    ohm = copper_ohm(job.motor.resistance_ohm, job.motor.resistance_at_c, at_c)
    cold = replace(job, motor=replace(job.motor, resistance_ohm=ohm, resistance_at_c=at_c))
    return [replace(one, notch=one.notch + MOTORS_COLD, running=None, solve_running=False) for one in _circuits(cold)]


def _shorter(rows: Iterable[HeatRow]) -> tuple[HeatRow, ...]:
    """Of each hold with motors as stated and with motors cold the shorter, or where both last for ever the hotter."""
    by_key = {_hold_key(row): row for row in rows}
    return tuple(
        _worse_of(row, by_key.get((key[0] + MOTORS_COLD, *key[1:])))
        for key, row in by_key.items()
        if not row.notch.endswith(MOTORS_COLD)
    )


def _hold_key(row: HeatRow) -> tuple[str, str, str, float, float]:
    return row.notch, row.section, row.case, row.line_v, row.ambient_c


def _worse_of(row: HeatRow, cold: HeatRow | None) -> HeatRow:
    """The row with motors cold where its hold is shorter, or as long for ever and hotter; either opens the breaker."""
    if cold is None:
        return row
    opens = row.breaker_opens or cold.breaker_opens
    hold_s, cold_s = (math.inf if one.hold_s is None else one.hold_s for one in (row, cold))
    if (cold_s, -cold.hot_c) < (hold_s, -row.hot_c):
        return replace(cold, notch=row.notch, worst_end=cold.worst_end + MOTORS_COLD, breaker_opens=opens)
    return replace(row, breaker_opens=opens)


def notch_circuits(job: Job, notch: Notch) -> tuple[NotchCircuit, ...]:
    """The notch as the heat room takes it: one circuit, or one for each motor string; none where no grid is in."""
    assert job.line is not None and job.motor is not None
    if notch.network is not None:
        from griddesign.judge.held_network import network_circuit

        return (network_circuit(job, notch),)
    series, parallel = notch.grouping.series, notch.grouping.parallel
    motors_ohm = series * job.motor.resistance_ohm + notch.string_ohm
    if notch.common is not None:
        other_ohm = job.line.feeder_ohm + notch.ahead_ohm + motors_ohm / parallel
        return (_circuit(job, notch, notch.common, other_ohm, 1.0),) if notch.common.parts else ()
    other_ohm = motors_ohm + parallel * (job.line.feeder_ohm + notch.ahead_ohm)
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
