"""A start run at mean currents: on each notch the car gathers way as if the mean current acted throughout."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from griddesign.errors import NoStartError
from griddesign.grid import circuit
from griddesign.traction.curve import MotorCurve, curve_of
from griddesign.traction.equation import current_a, speed_rad_s
from griddesign.traction.mechanics import accelerated_kg, effort_n, motor_rad_s, resistance_n, wheel_m_s
from griddesign.traction.problem import Stage
from griddesign.traction.records import Car, Line, MeanStart, Motor, Notch, NotchRun


def mean_start(
    line: Line,
    car: Car,
    motor: Motor,
    notches: Sequence[Notch],
    section_ohm: Mapping[str, float],
    *,
    valley_a: float,
    line_v: float | None = None,
) -> MeanStart:
    """The start of a car on a grid of known ohms, notched up when the current has fallen to ``valley_a`` (per motor).

    ``line_v`` volts ahead of the feeder, nominal where None; peaks are found anew at that voltage. Motors are taken at
    their stated resistance, ``section_ohm`` as they are. Per notch ``t = m*·dv/(F(I) - F_res)`` at the mean current and
    mean speed, and ``p²·(Ip² + Ip·Iv + Iv²)/3·r·t`` joules in each section (the mean square of a current falling
    evenly; times the square of its share where branches divide it; no ``p²`` with a grid per string). The start ends
    where the current of the last notch has fallen to the valley; what is run after that is not in it. Changes of
    grouping take no time. Seconds come out a few per cent short, since the mean of 1/F is more than 1/F of the mean;
    joules of the grid within 1 %. Strings of unlike ohms are run at their mean. Raises NoStartError where the pull does
    not pass the resistance.
    """
    run = _Run(line, car, motor, dict(section_ohm), valley_a, line.nominal_v if line_v is None else line_v)
    done: list[NotchRun] = []
    speed = 0.0
    stages = tuple(map(Stage.of, notches))
    for stage in stages:
        done.append(run.notch(stage, speed))
        speed = done[-1].leave_m_s
    beyond = any(one.arrive_a > run.curve(stage).highest_a for one, stage in zip(done, stages, strict=True))
    return _summed(run, tuple(done), beyond)


@dataclass(frozen=True)
class _Run:
    line: Line
    car: Car
    motor: Motor
    section_ohm: dict[str, float]
    valley_a: float
    line_v: float

    def curve(self, stage: Stage) -> MotorCurve:
        return curve_of(self.motor.magnetisation, stage.field, hold_above=True)

    def notch(self, stage: Stage, speed_m_s: float) -> NotchRun:
        """One notch, reached at a speed of the car."""
        series, total, curve = stage.grouping.series, self.total_ohm(stage), self.curve(stage)
        arrive = current_a(self.line_v, total, series, curve, motor_rad_s(self.car, speed_m_s))
        if arrive <= self.valley_a:
            cold = tuple((name, 0.0) for name in self.section_ohm)
            return NotchRun(stage.name, arrive, arrive, 0.0, speed_m_s, 0.0, 0.0, 0.0, cold, 0.0)
        leave = wheel_m_s(self.car, speed_rad_s(self.line_v, total, series, curve, self.valley_a))
        return self._accelerated(stage, arrive, speed_m_s, leave)

    def total_ohm(self, stage: Stage) -> float:
        """R' of the stage, ohm."""
        grid = sum(circuit.ohms(run, self.section_ohm) for run in stage.circuits) / len(stage.circuits)
        motor_ohm = stage.motor_factor(self.motor) * self.motor.resistance_ohm
        return stage.bare_ohm(motor_ohm, self.line.feeder_ohm) + stage.weight * grid

    def _accelerated(self, stage: Stage, arrive: float, from_m_s: float, to_m_s: float) -> NotchRun:
        mean_a, mean_m_s = 0.5 * (arrive + self.valley_a), 0.5 * (from_m_s + to_m_s)
        grouping = stage.grouping
        pull = effort_n(self.car, self.curve(stage), grouping.series * grouping.parallel, mean_a)
        spare = pull - resistance_n(self.car, mean_m_s)
        if spare <= 0.0:
            raise NoStartError(
                f"on notch {stage.name} the mean current of {mean_a:.4g} A pulls {pull / 1e3:.1f} kN and the car "
                f"resists with {(pull - spare) / 1e3:.1f} kN",
                hint="Allow a higher peak current, or start on a gentler gradient.",
            )
        acceleration = spare / accelerated_kg(self.car)
        seconds = (to_m_s - from_m_s) / acceleration
        square = (arrive**2 + arrive * self.valley_a + self.valley_a**2) / 3.0
        return NotchRun(
            name=stage.name,
            arrive_a=arrive,
            leave_a=self.valley_a,
            seconds=seconds,
            leave_m_s=to_m_s,
            distance_m=mean_m_s * seconds,
            effort_n=pull,
            acceleration_m_s2=acceleration,
            section_j=tuple((name, square * seconds * ohm) for name, ohm in self._felt_ohm(stage).items()),
            line_j=self.line_v * grouping.parallel * mean_a * seconds,
        )

    def _felt_ohm(self, stage: Stage) -> dict[str, float]:
        """Ohms of each section times the square of its current per motor ampere."""
        felt = dict.fromkeys(self.section_ohm, 0.0)
        for run in stage.circuits:
            for name, share in circuit.shares(run, self.section_ohm).items():
                felt[name] += (stage.weight * share) ** 2 * self.section_ohm[name]
        return felt


def _summed(run: _Run, notches: tuple[NotchRun, ...], beyond_curve: bool) -> MeanStart:
    by_section = [dict(notch.section_j) for notch in notches]
    section_j = tuple((name, sum(part[name] for part in by_section)) for name in run.section_ohm)
    return MeanStart(
        line_v=run.line_v,
        notches=notches,
        section_j=section_j,
        seconds=sum(notch.seconds for notch in notches),
        distance_m=sum(notch.distance_m for notch in notches),
        end_m_s=notches[-1].leave_m_s,
        grid_j=sum(joules for _, joules in section_j),
        line_j=sum(notch.line_j for notch in notches),
        beyond_curve=beyond_curve,
    )
