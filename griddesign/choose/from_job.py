"""From a job to its design: wanted ohms, the designer's question, the choice, until hot ohms and choice agree."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from griddesign.choose.design import choose
from griddesign.choose.duty import MarginTable, hot_ratios, margin_table
from griddesign.choose.given import given_design
from griddesign.choose.kinds import Kind, body_of
from griddesign.choose.problem import Choice, NotchAim
from griddesign.choose.records import Design
from griddesign.errors import InputError
from griddesign.grid.build import ohms_by_section
from griddesign.grid.records import BoxPlan
from griddesign.grid.taps import string_breaks
from griddesign.heat.records import HeatedSection, Stack
from griddesign.job.records import Job
from griddesign.traction.given import wanted_given
from griddesign.traction.ladder import ladder
from griddesign.traction.mean_start import mean_start
from griddesign.traction.records import GivenOhms, Ladder, MeanStart, Notch

IN_PARALLEL = (1, 2)
GIVEN_AWAY = 0.01
FOR_THE_CHOICE = 0.5
"""Share of the notch tolerance the choice may use up; the rest is left for the makers (our rule, no source)."""
SAME_RATIO = 0.01
MOST_ROUNDS = 6


@dataclass(frozen=True)
class Worked:
    """What a job came to. ``wanted`` is a ladder where there is a car, else the ohms given; ``design`` is None without
    plates or boxes, ``start`` without a car.

    ``settled`` says whether wanted ohms (which depend on the hot grid) and the choice agreed in the end.
    """

    wanted: Ladder | GivenOhms
    design: Design | None
    start: MeanStart | None
    hot_ratio: Mapping[str, float]
    settled: bool = True


def wanted_of(job: Job, hot_ratio: Mapping[str, float] | None = None) -> Ladder | GivenOhms:
    """The wanted ohms of a job: the ladder where there is a car, else those given. Raises NoStartError, InputError.

    With sections of unlike heat the very strongest start may starve a section to nothing for the last fraction of an
    ampere: there, where the valley current is left to us, 1 % of it is given away and the peaks made even instead.
    """
    if not (job.line and job.car and job.motor and job.start and job.notches):
        return wanted_given(job.notches, job.section_order)
    return ladder(
        job.line,
        job.car,
        job.motor,
        job.start,
        job.notches,
        section_order=job.section_order,
        hot_ratio=hot_ratio,
        cold_c=job.duty.ambient_low_c,
        given_away=GIVEN_AWAY if hot_ratio else 0.0,
    )


def work_out(job: Job) -> Worked:
    """Wanted ohms and design of a job.

    The ladder depends on how hot a dropped section is, that on the plates, those on the ladder: the round is run until
    no section comes out hotter (by 1 % of its ohms) than the ladder already allowed for, at most six times. Ratios
    only ever rise from round to round, which is the safe side and keeps counts from swinging to and fro.
    """
    kinds = {plate.name: Kind(plate) for plate in job.plates}
    allowed: dict[str, float] = {}
    for _ in range(MOST_ROUNDS):
        worked = _one_round(job, kinds, allowed)
        hotter = {
            name: ratio for name, ratio in worked.hot_ratio.items() if ratio > allowed.get(name, 1.0) + SAME_RATIO
        }
        if not hotter:
            return _finished(worked, kinds)
        allowed = {name: max(ratio, allowed.get(name, 1.0)) for name, ratio in worked.hot_ratio.items()}
    return replace(_finished(worked, kinds), settled=False)


def _finished(worked: Worked, kinds: Mapping[str, Kind]) -> Worked:
    """The shapes to order, solved for the ohms that were chosen."""
    if worked.design is None:
        return worked
    ordered = tuple(replace(kind, shape=kinds[kind.name].shape(kind.cold_ohm)) for kind in worked.design.kinds)
    return replace(worked, design=replace(worked.design, kinds=ordered))


def _one_round(job: Job, kinds: Mapping[str, Kind], ratios: Mapping[str, float]) -> Worked:
    wanted = wanted_of(job, ratios)
    if not kinds or job.boxes is None:
        return Worked(wanted, None, None, {})
    design = _designed(job, wanted, kinds, job.boxes)
    if not isinstance(wanted, Ladder):
        return Worked(wanted, design, None, {})
    start = start_on(job, wanted, ohms_by_section(design.sections))
    if job.duty.start_every_s is None:
        return Worked(wanted, design, start, {})
    return Worked(wanted, design, start, hot_ratios(heated_sections(job, design, kinds), start, job.duty))


def start_on(job: Job, wanted: Ladder, section_ohm: Mapping[str, float], line_v: float | None = None) -> MeanStart:
    """One start at mean currents on sections of these cold ohms."""
    assert job.line and job.car and job.motor
    return mean_start(job.line, job.car, job.motor, job.notches, section_ohm, valley_a=wanted.valley_a, line_v=line_v)


def _designed(job: Job, wanted: Ladder | GivenOhms, kinds: Mapping[str, Kind], plan: BoxPlan) -> Design:
    breaks = tuple(
        dict.fromkeys(name for notch in job.notches for name in string_breaks(job.section_order, notch.strings))
    )
    choice = Choice(
        section_order=job.section_order,
        notches=notch_aims(job, wanted),
        tolerance=FOR_THE_CHOICE * job.limits.notch_tolerance,
        kinds=tuple(kind.candidate for kind in kinds.values()),
        plan=plan,
        margin=_margins(job, wanted, tuple(kinds.values()), plan),
        mass=lambda kind, ohm: kinds[kind].mass_kg(ohm),
        shape_for=lambda kind, ohm: kinds[kind].near_shape(ohm),
        in_parallel=IN_PARALLEL,
        prefer=job.prefer,
        breaks=breaks,
    )
    return given_design(job, choice) if job.sections else choose(choice)


def notch_aims(job: Job, wanted: Ladder | GivenOhms) -> tuple[NotchAim, ...]:
    """What the designer aims at: one aim for each notch, or for each string of a notch with a grid per string."""
    rows = zip(job.notches, wanted.notches, strict=True)
    return tuple(aim for notch, row in rows for aim in _aims(job, notch, row.wanted_ohm))


def _aims(job: Job, notch: Notch, wanted_ohm: float) -> tuple[NotchAim, ...]:
    """One aim per circuit of the notch, with what else the motor string's current meets."""
    other_ohm = 0.0
    if job.motor is not None and job.line is not None:
        other_ohm = notch.grouping.series * job.motor.resistance_ohm + notch.grouping.parallel * job.line.feeder_ohm
    if notch.common is not None:
        return (NotchAim(notch.name, notch.common, wanted_ohm, other_ohm, float(notch.grouping.parallel)),)
    return tuple(NotchAim(notch.name, run, wanted_ohm, other_ohm) for run in notch.strings)


def _margins(job: Job, wanted: Ladder | GivenOhms, kinds: tuple[Kind, ...], plan: BoxPlan) -> "MarginTable | _Unknown":
    if not isinstance(wanted, Ladder) or job.duty.start_every_s is None or job.line is None:
        return _Unknown()
    section_ohm = dict(wanted.sections)
    start = start_on(job, wanted, section_ohm, job.line.highest_v)
    return margin_table(kinds, section_ohm, start, plan, job.duty, lambda kind: limit_c(job, kind.name), IN_PARALLEL)


@dataclass(frozen=True)
class _Unknown:
    """No duty, no margin."""

    def __call__(self, section: str, kind: str, in_parallel: int, ohm: float) -> float | None:  # noqa: ARG002
        return None


def limit_c(job: Job, kind: str) -> float:
    """The limit of a plate, degC: the user's, else the metal's own tabled service limit."""
    if job.limits.plate_c is not None:
        return job.limits.plate_c
    return next(plate for plate in job.plates if plate.name == kind).metal.limit_c.value


def heated_sections(job: Job, design: Design, kinds: Mapping[str, Kind]) -> tuple[HeatedSection, ...]:
    """The sections of a design as the heat room takes them. Raises InputError where the job has no boxes."""
    if job.boxes is None:
        raise InputError("the job has no [boxes]", hint="Add how many boxes, plates per box and the plate gap.")
    stack = Stack(job.boxes.plates_per_box, job.boxes.plate_gap_m)
    bodies = {kind.name: body_of(kind.shape, kinds[kind.name].wish, kind.cold_ohm) for kind in design.kinds}
    return tuple(
        HeatedSection(
            section.name,
            bodies[section.kind],
            section.series,
            section.in_parallel,
            stack,
            limit_c(job, section.kind),
            section.cold_ohm - section.series * section.plate_ohm / section.in_parallel,
        )
        for section in design.sections
    )
