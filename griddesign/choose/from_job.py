"""From a job to its design: wanted ohms, the designer's question, the choice, until hot ohms and choice agree."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial

from griddesign.choose.design import choose
from griddesign.choose.duty import MarginTable, hot_ratios, margin_table
from griddesign.choose.given import given_design
from griddesign.choose.kinds import Kind, body_of
from griddesign.choose.problem import Choice, NotchAim
from griddesign.choose.records import Design
from griddesign.errors import CircuitError, InputError
from griddesign.grid.build import ohms_by_section
from griddesign.grid.circuit import names
from griddesign.grid.records import BoxPlan
from griddesign.grid.taps import string_breaks
from griddesign.heat.records import HeatedSection, Stack
from griddesign.job.records import Job
from griddesign.telling import stage, tell
from griddesign.traction.given import wanted_given
from griddesign.traction.ladder import ladder
from griddesign.traction.mean_start import mean_start
from griddesign.traction.problem import circuits_of, grouped
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
    """The wanted ohms of a job: the ladder where there is a car, else those given. Raises NoStartError, InputError,
    CircuitError.

    With sections of unlike heat the very strongest start may starve a section to nothing for the last fraction of an
    ampere: there, where the valley current is left to us, 1 % of it is given away and the peaks made even instead.
    """
    notches = notches_to_make(job)
    if not (job.line and job.car and job.motor and job.start and notches):
        return wanted_given(notches, job.section_order, _in_networks(job))
    return ladder(
        job.line,
        job.car,
        job.motor,
        job.start,
        notches,
        section_order=job.section_order,
        hot_ratio=hot_ratio,
        cold_c=job.duty.ambient_low_c,
        given_away=GIVEN_AWAY if hot_ratio else 0.0,
        parted=_in_networks(job),
    )


def _in_networks(job: Job) -> frozenset[str]:
    """Sections that notches which are networks use."""
    return frozenset(name for notch in job.notches if notch.network is not None for name in notch.network.sections)


def notches_to_make(job: Job) -> tuple[Notch, ...]:
    """The notches that ohms are sought for: those that are groupings of like strings. Networks follow from them.

    Raises CircuitError where there is none, or where a section lies in networks only, so that nothing says its ohms.
    """
    why = unreached(job)
    if why:
        raise CircuitError(
            f"{why}, and ohms are sought for groupings of like motor strings only",
            hint="wanted JOB --chart, retap JOB PLATES.csv --chart and, with a valley_current, start work it out on "
            "ohms that are known: [controller] section_ohms, or [[section]] counts.",
        )
    return grouped(job.notches)


def unreached(job: Job) -> str:
    """Why the notches that are groupings do not say all ohms, "" where they do: as for every job without networks."""
    networks = _networks(job)
    if not networks:
        return ""
    found = {name for notch in grouped(job.notches) for run in circuits_of(notch) for name in names(run)}
    alone = [name for name in job.section_order if name not in found]
    if not alone:
        return ""
    named, whys = ", ".join(networks), _each_why(networks)
    return f"section {', '.join(alone)} lies in no notch but {named}, no grouping of like strings ({whys})"


def left_open(job: Job) -> str:
    """Why ohms that suit the groupings are not yet the ohms of a network, "" where they are. Counts say them all."""
    networks = _networks(job)
    if job.sections or not networks:
        return ""
    from griddesign.choose.undetermined import open_ohms

    found = open_ohms(job)
    if not found:
        return ""
    return (
        f"nothing says how the ohms of section {', '.join(found)} are shared out: of the notches that part them none "
        f"is a grouping of like strings ({_each_why(networks)})"
    )


def _networks(job: Job) -> dict[str, str]:
    """The notches that are no groupings of like strings, and why each is none."""
    return {notch.name: notch.network.why for notch in job.notches if notch.network is not None}


def _each_why(networks: Mapping[str, str]) -> str:
    return "; ".join(f"{name}: {why}" for name, why in networks.items())


@stage("wanted ohms, counts and taps")
def work_out(job: Job) -> Worked:
    """Wanted ohms and design of a job.

    The ladder depends on how hot a dropped section is, that on the plates, those on the ladder: the round is run until
    no section comes out hotter (by 1 % of its ohms) than the ladder already allowed for, at most six times. Ratios
    only ever rise from round to round, which is the safe side and keeps counts from swinging to and fro.

    Raises CircuitError where a network hangs on ohms that no grouping says.
    """
    notches_to_make(job)
    if why := left_open(job):
        raise CircuitError(
            why,
            hint="Give counts ([[section]]); or [controller] section_ohms and [start] valley_current, and run "
            "griddesign start.",
        )
    kinds = {plate.name: Kind(plate) for plate in job.plates}
    allowed: dict[str, float] = {}
    for number in range(MOST_ROUNDS):
        worked = _one_round(job, kinds, allowed)
        tell(partial(_told, number + 1, worked, allowed))
        hotter = {
            name: ratio for name, ratio in worked.hot_ratio.items() if ratio > allowed.get(name, 1.0) + SAME_RATIO
        }
        if not hotter:
            return _finished(worked, kinds)
        allowed = {name: max(ratio, allowed.get(name, 1.0)) for name, ratio in worked.hot_ratio.items()}
    return replace(_finished(worked, kinds), settled=False)


def _told(number: int, worked: Worked, allowed: Mapping[str, float]) -> str:
    """One round in words: what was allowed for, wanted and chosen."""
    wanted, design = worked.wanted, worked.design
    words = [f"round {number}: {_by_section(allowed)} times cold allowed for" if allowed else f"round {number}: cold"]
    if isinstance(wanted, Ladder):
        words.append(f"notch up at {wanted.valley_a:.4g} A per motor")
    words.append(f"wanted {_by_section(dict(wanted.sections))} ohm")
    if design is not None:
        counts = ", ".join(f"{one.name} {one.plates} {one.kind}" for one in design.sections)
        proved = sum(proof.proved for proof in design.proofs)
        words.append(f"chosen {counts} in {design.boxes} boxes, {proved} of {len(design.proofs)} aims proved")
    if worked.hot_ratio:
        words.append(f"comes to {_by_section(worked.hot_ratio)} times cold")
    return "; ".join(words)


def _by_section(values: Mapping[str, float]) -> str:
    return ", ".join(f"{name} {value:.4g}" for name, value in values.items())


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
    notches = grouped(job.notches)
    return mean_start(job.line, job.car, job.motor, notches, section_ohm, valley_a=wanted.valley_a, line_v=line_v)


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
    rows = zip(grouped(job.notches), wanted.notches, strict=True)
    return tuple(aim for notch, row in rows for aim in _aims(job, notch, row.wanted_ohm))


def _aims(job: Job, notch: Notch, wanted_ohm: float) -> tuple[NotchAim, ...]:
    """One aim per circuit of the notch, with what else the motor string's current meets."""
    other_ohm = 0.0
    if job.motor is not None and job.line is not None:
        ahead_ohm = job.line.feeder_ohm + notch.ahead_ohm
        other_ohm = notch.grouping.series * job.motor.resistance_ohm + notch.string_ohm
        other_ohm += notch.grouping.parallel * ahead_ohm
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
