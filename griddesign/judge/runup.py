"""The start of a job, run: the grid as chosen, the driver of the job, hot ohms fed back into the currents."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np

from griddesign.choose.from_job import Worked, heated_sections, left_open, unreached, work_out
from griddesign.choose.kinds import Kind
from griddesign.errors import CurveError, InputError, NoStartError
from griddesign.grid.circuit import ohms
from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import AS_GIVEN, End
from griddesign.heat.records import HeatedSection
from griddesign.job.records import Job
from griddesign.judge.plate_tables import PlateTables, constant_ohms
from griddesign.traction.curve import MotorCurve
from griddesign.traction.held import HeldNotch
from griddesign.traction.mechanics import effort_n, resistance_n
from griddesign.traction.problem import Stage
from griddesign.traction.records import Ladder, Notch
from griddesign.traction.runup.changing import regrouped
from griddesign.traction.runup.records import Cases, NotchLog, Plates, RunUp
from griddesign.traction.runup.run import run_up
from griddesign.traction.runup.steps import USUAL, Care

CLOSED = 1e-6
FINEST = 16


@dataclass(frozen=True, slots=True)
class StartCase:
    """One start: volts ahead of the feeder, ambient, ends of the weak figures."""

    line_v: float
    ambient_c: float
    end: End = AS_GIVEN


@dataclass(frozen=True)
class Starter:
    """A job ready to be run: the grid as chosen (or as wanted, where the job has no plates) and the driver."""

    job: Job
    worked: Worked

    @property
    def valley_a(self) -> float:
        """The current per motor at which the driver notches up, A."""
        assert isinstance(self.worked.wanted, Ladder)
        return self.worked.wanted.valley_a

    @property
    def within_a(self) -> float | None:
        """The peak current the driver keeps within by notching up as early as it allows, A; None for other drivers."""
        start = self.job.start
        return start.peak_a if start is not None and start.notch_up == "within peak current" else None

    @cached_property
    def heated(self) -> tuple[HeatedSection, ...]:
        """The sections as the heat room takes them; none without plates."""
        if self.worked.design is None:
            return ()
        return heated_sections(self.job, self.worked.design, {plate.name: Kind(plate) for plate in self.job.plates})

    @cached_property
    def cases(self) -> tuple[StartCase, ...]:
        """Nominal and highest voltage, cold and hot ambient; the first one is what is told first."""
        assert self.job.line is not None
        voltages = dict.fromkeys((self.job.line.nominal_v, self.job.line.highest_v))
        ambients = dict.fromkeys((self.job.duty.ambient_low_c, self.job.duty.ambient_high_c))
        return tuple(StartCase(line_v, ambient_c) for line_v, ambient_c in product(voltages, ambients))

    @cached_property
    def cold_ohm(self) -> Mapping[str, tuple[float, float]]:
        """Section name to ohms of its plates and of its joints, cold."""
        if self.worked.design is None:
            return {name: (ohm, 0.0) for name, ohm in self.worked.wanted.sections}
        plates = {one.name: one.series * one.plate_ohm / one.in_parallel for one in self.worked.design.sections}
        return {one.name: (plates[one.name], one.cold_ohm - plates[one.name]) for one in self.worked.design.sections}

    @cached_property
    def told(self) -> RunUp:
        """Every case run from its ambient, as ``run`` has it: once for all who ask. Raises as ``run``."""
        return self.run(self.cases)

    @property
    def whole_ohm(self) -> dict[str, float]:
        """Section name to its ohms with joints, cold."""
        return {name: sum(pair) for name, pair in self.cold_ohm.items()}

    def plates(self, cases: Sequence[StartCase]) -> "PlateTables | Plates":
        """What the plates do with their heat in these cases."""
        if not self.heated:
            return constant_ohms
        return PlateTables.of(self.heated, [(case.end, case.ambient_c) for case in cases])

    def run(
        self,
        cases: Sequence[StartCase],
        begin_c: FloatArray | None = None,
        *,
        plates: Plates | None = None,
        care: Care = USUAL,
        trace: bool = False,
    ) -> RunUp:
        """The cases run side by side, from their ambients or from ``begin_c`` (sections, cases).

        Raises NoStartError where the car does not start, or the current does not fall to the valley or is below it on
        every notch; CurveError where a current passes the end of the motor curve.
        """
        assert self.job.motor
        found = self.run_arrays(self.arrays(cases, begin_c), plates or self.plates(cases), care=care, trace=trace)
        self._refuse_stuck(found, cases)
        _refuse_beyond(found.rows, cases, self.job.motor.magnetisation.current_a[-1])
        return found

    def run_arrays(self, arrays: Cases, plates: Plates, *, care: Care = USUAL, trace: bool = False) -> RunUp:
        """Whole arrays of cases run, nothing refused: what is stuck or off the curve is for the caller to count."""
        job = self.job
        assert job.line and job.car and job.motor
        return run_up(
            job.line,
            job.car,
            job.motor,
            job.notches,
            tuple(self.cold_ohm),
            arrays,
            plates,
            transition=job.start.transition if job.start else None,
            care=care,
            trace=trace,
        )

    def arrays(self, cases: Sequence[StartCase], begin_c: FloatArray | None = None) -> Cases:
        """The cases as arrays, from their ambients or from ``begin_c`` (sections, cases)."""
        assert self.job.car and self.job.motor
        ohms = np.array(list(self.cold_ohm.values()))
        size, each = (len(ohms), len(cases)), np.ones(len(cases))
        ambient_c = np.array([case.ambient_c for case in cases])
        dwell = dwell_s(self.job)
        return Cases(
            line_v=np.array([case.line_v for case in cases]),
            section_ohm=np.broadcast_to(ohms[:, :1], size),
            joint_ohm=np.broadcast_to(ohms[:, 1:], size),
            start_c=np.broadcast_to(ambient_c, size) if begin_c is None else begin_c,
            valley_a=self.valley_a * each,
            motor_ohm=self.job.motor.resistance_ohm * each,
            mass_kg=self.job.car.mass_kg * each,
            dwell_s=None if dwell is None else np.multiply.outer(np.array(dwell), each),
            peak_a=self.within_a * each if self.within_a is not None else None,
        )

    def _refuse_stuck(self, found: RunUp, cases: Sequence[StartCase]) -> None:
        passed = np.all([log.passed for log in found.notches], axis=0)
        for at, (case, place) in enumerate(zip(cases, found.stuck, strict=True)):
            if place >= 0:
                raise self._stuck(self.job.notches[place], case)
            if passed[at]:
                most_a = max(float(log.peak_a[at]) for log in found.notches)
                raise NoStartError(
                    f"at {case.line_v:.4g} V every notch is passed with the car at standstill: the highest current, "
                    f"{most_a:.4g} A per motor, lies below the {self.valley_a:.4g} A at which the driver notches up",
                    hint="Look at the ohms of motors and grid again, or notch up at a lower valley current.",
                )

    def _stuck(self, notch: Notch, case: StartCase) -> NoStartError:
        """Why the current does not fall on a notch, with the number that decides it."""
        line, car, motor = self.job.line, self.job.car, self.job.motor
        assert line and car and motor
        if notch.network is not None:
            return NoStartError(
                f"on notch {notch.name} at {case.line_v:.4g} V the car does not start, or the mean current of the "
                f"motors never falls to the {self.valley_a:.4g} A at which the driver notches up",
                hint="Notch up at a higher valley current or by time, or start on a gentler gradient.",
            )
        grid_ohm = sum(_ohms(Stage.of(notch), self.cold_ohm)) / len(Stage.of(notch).circuits)
        held = HeldNotch(line, car, motor, notch, case.line_v)
        settled_a = held.settled_a(grid_ohm)
        motors = notch.grouping.series * notch.grouping.parallel
        curve = MotorCurve(motor.magnetisation, hold_above=True).at_field(notch.field)
        pull_n = effort_n(car, curve, motors, settled_a)
        if pull_n <= resistance_n(car, 0.0):
            return NoStartError(
                f"on notch {notch.name} at {case.line_v:.4g} V the car does not start: {settled_a:.4g} A pulls "
                f"{pull_n:.4g} N, gradient and resistance hold with {resistance_n(car, 0.0):.4g} N",
                hint="Allow a higher first notch current, or start on a gentler gradient.",
            )
        waits = f"falls to the {self.valley_a:.4g} A at which the driver notches up"
        if self.within_a is not None and notch is not self.job.notches[-1]:
            waits = f"falls so far that the next peak stays within {self.within_a:.4g} A"
        return NoStartError(
            f"on notch {notch.name} at {case.line_v:.4g} V the current settles at about {settled_a:.4g} A and never "
            f"{waits}",
            hint="Notch up at a higher valley current or by time, or start on a gentler gradient.",
        )


def _ohms(stage: Stage, cold_ohm: Mapping[str, tuple[float, float]]) -> Iterable[float]:
    total = {name: sum(pair) for name, pair in cold_ohm.items()}
    return (ohms(run, total) for run in stage.circuits)


def starter(job: Job) -> Starter:
    """The job ready to be run. Raises InputError where it has no car to run."""
    missing = [name for name in ("line", "car", "motor", "start") if getattr(job, name) is None]
    if missing or not job.notches:
        lacking = missing or ["notch"]
        raise InputError(
            f"the job has no [{lacking[0]}], and a start needs it",
            hint="Add the tables [line] [car] [motor] [start] and the notches: griddesign new FILE --for car.",
        )
    if unreached(job) or left_open(job):
        from griddesign.judge.known import as_known

        return Starter(job, as_known(job))
    return Starter(job, work_out(job))


def dwell_s(job: Job) -> tuple[float, ...] | None:
    """Seconds on each notch where the driver goes by time, else None. Raises InputError where the times do not fit."""
    start = job.start
    if start is None or start.notch_up != "by time":
        return None
    if start.notch_s is not None:
        return (start.notch_s,) * len(job.notches)
    if len(start.times_s) != len(job.notches):
        raise InputError(
            f"[start] times holds {len(start.times_s)} moments, the job has {len(job.notches)} notches",
            hint="Give the moment of leaving each notch, counted from power on.",
        )
    off_s = [_off_s(job, place) for place in range(len(job.notches))]
    on_s = [now - before - off for before, now, off in zip((0.0, *start.times_s), start.times_s, off_s, strict=False)]
    for notch, seconds in zip(job.notches, on_s, strict=True):
        if seconds <= 0.0:
            raise InputError(f"[start] times leaves no time for notch {notch.name} after the change of grouping")
    return tuple(on_s)


def _off_s(job: Job, place: int) -> float:
    """Seconds of the change of grouping before the notch."""
    assert job.start is not None
    notch = job.notches[place]
    how = notch.transition or job.start.transition
    return how.seconds if how and place > 0 and regrouped(job.notches[place - 1], notch) else 0.0


def _refuse_beyond(notches: Sequence[NotchLog], cases: Sequence[StartCase], highest_a: float) -> None:
    """Raise CurveError where a current passed the end of the motor curve, with the worst one."""
    for log in notches:
        if log.beyond_curve.any():
            worst = int(np.argmax(log.peak_a))
            raise CurveError(
                f"on {log.where} at {cases[worst].line_v:.4g} V the current reaches {log.peak_a[worst]:.4g} A, "
                f"and the motor curve ends at {highest_a:.4g} A",
                hint="Measure the curve further, or keep the currents lower.",
            )


def closed_run(ready: Starter) -> RunUp:
    """The first case alone, stepped as finely as its energy needs to close to 1e-6, with its moments for a plot."""
    care = USUAL
    while True:
        found = ready.run(ready.cases[:1], care=care, trace=True)
        if abs(float(found.energy.balance_error[0])) <= CLOSED or care.parts >= FINEST:
            return found
        care = Care(2 * care.parts, care.rounds + 1)
