"""Starts of jobs that differ only in what a case may differ in, run side by side as one."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np

from griddesign.heat.air import FloatArray
from griddesign.job.records import Job
from griddesign.judge.ran import Pulse, Ran
from griddesign.judge.runup import StartCase, Starter
from griddesign.traction.runup.records import Cases, RunUp

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

Record = TypeVar("Record", bound="DataclassInstance")


@dataclass(frozen=True)
class Abreast(Starter):
    """Several starters as one whose cases are all of theirs in order; car mass, motor ohms, valley and line voltage are
    each member's own. ``abreast`` makes them."""

    members: tuple[Starter, ...] = ()

    @cached_property
    def cases(self) -> tuple[StartCase, ...]:
        """The cases of all members, in their order."""
        return tuple(case for member in self.members for case in member.cases)

    def arrays(self, cases: Sequence[StartCase], begin_c: FloatArray | None = None) -> Cases:
        """The cases, or each of them at several ends, ends inmost, with every member's own mass, ohms and valley."""
        ends = len(cases) // len(self.cases)
        times = [ends * len(member.cases) for member in self.members]
        own = np.array([_own(member) for member in self.members])
        mass_kg, motor_ohm, valley_a = np.repeat(own, times, axis=0).T
        same = super().arrays(cases, begin_c)
        return replace(same, mass_kg=mass_kg, motor_ohm=motor_ohm, valley_a=valley_a)

    def places(self, ends: int = 1) -> tuple[slice, ...]:
        """Where each member's columns stand, with every case at so many ends."""
        stops = np.cumsum([0, *(ends * len(member.cases) for member in self.members)]).tolist()
        return tuple(slice(first, last) for first, last in pairwise(stops))


def _own(member: Starter) -> tuple[float, float, float]:
    assert member.job.car and member.job.motor
    return member.job.car.mass_kg, member.job.motor.resistance_ohm, member.valley_a


def abreast(members: Sequence[Starter]) -> Abreast:
    """Members that are ``alike`` as one starter."""
    return Abreast(members[0].job, members[0].worked, tuple(members))


def alike(one: Starter, other: Starter) -> bool:
    """Whether two starts may go side by side. A day in parts, and motors unlike each other, go by themselves."""
    if one.job.duty.parts or other.job.duty.parts or one.job.motor is None or one.job.motor.each:
        return False
    return one.worked.design is other.worked.design and _same(one.job) == _same(other.job)


def _same(job: Job) -> tuple[Any, ...]:
    """What members must have in common."""
    assert job.line and job.car and job.motor
    line = replace(job.line, nominal_v=0.0, highest_v=0.0, breaker_a=None)
    car = replace(job.car, mass_kg=0.0, adhesion=None, adhesive_mass_kg=None)
    motor = replace(job.motor, resistance_ohm=0.0)
    start = None if job.start is None else replace(job.start, first_notch_a=0.0, valley_a=None)
    return line, car, motor, start, job.notches, job.plates, job.boxes, job.duty, job.limits.plate_c


def run_of(run: RunUp, at: slice) -> RunUp:
    """The columns of one member; a row that is a notch stays the very same log."""
    logs = {id(log): _columns(log, at) for log in (*run.notches, *run.rows)}
    notches, rows = (tuple(logs[id(log)] for log in every) for every in (run.notches, run.rows))
    points = tuple(_columns(point, at) for point in run.trace)
    return replace(_columns(run, at), notches=notches, rows=rows, energy=_columns(run.energy, at), trace=points)


def ran_of(ran: Ran, member: Starter, at: slice) -> Ran:
    """The columns of one member; arrays that hold one value for all stay."""
    pulses: tuple[Pulse, ...] = tuple(_columns(pulse, at) for pulse in ran.pulses)
    one = {name: value for name in ("neighbour_k", "by_hand_c") if (value := getattr(ran, name)).shape[-1] == 1}
    return replace(_columns(ran, at), ready=member, cases=ran.cases[at], pulses=pulses, **one)


def _columns(record: Record, at: slice) -> Record:
    """A record with each of its arrays cut to these columns."""
    found = {field.name: getattr(record, field.name) for field in fields(record)}
    cut = {name: value[..., at] for name, value in found.items() if isinstance(value, np.ndarray)}
    return replace(record, **cut)
