"""How hot the plate that replaces another gets in the same duty, and the plate as the job means it to be made."""

from dataclasses import dataclass, replace

import numpy as np

from griddesign.choose.duty import start_heats
from griddesign.choose.from_job import Worked, left_open, limit_c, start_on, unreached, work_out
from griddesign.choose.kinds import body_of
from griddesign.errors import GriddesignError
from griddesign.grid.build import ohms_by_section
from griddesign.heat.cooling import loss_w
from griddesign.heat.cycle import StartHeat
from griddesign.heat.duty import settled_case, settled_rows
from griddesign.heat.lumps import AS_GIVEN
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.job.records import Job, PlateWish
from griddesign.judge.cut_out import networks_in_words
from griddesign.metals import Metal
from griddesign.plate.ohms import cold_ohm
from griddesign.plate.shapes import Zigzag
from griddesign.traction.records import Ladder


@dataclass(frozen=True, slots=True)
class SameDuty:
    """Hottest moment of the old and the new plate, degC (inf: never settles inside the metal's table), each beside its
    limit. ``case`` names the duty; ``mean_w`` is the mean heat of one plate at its cold ohms; ``ambient_c`` the air."""

    case: str
    ambient_c: float
    mean_w: float
    old_c: float
    new_c: float
    old_limit_c: float
    new_limit_c: float

    @property
    def holds(self) -> bool:
        """Whether the new plate stays within its limit."""
        return self.new_c <= self.new_limit_c


@dataclass(frozen=True, slots=True)
class NotComputed:
    """No temperatures, and why."""

    why: str


def as_meant(job: Job, plate: PlateWish) -> tuple[Zigzag, float]:
    """Shape and cold ohms of a kind of plate as its papers give them: chosen by the design, or as the job draws it, as
    where no ohms are sought."""
    if job.notches and job.boxes is not None and not (unreached(job) or left_open(job)):
        design = work_out(job).design
        for kind in design.kinds if design else ():
            if kind.name == plate.name:
                return kind.shape or plate.shape, kind.cold_ohm
    ohm = plate.measured_ohm or plate.wanted_ohm or cold_ohm(plate.shape, plate.metal)
    return plate.shape, ohm


def same_duty(
    job: Job, plate: PlateWish, shape: Zigzag, metal: Metal, current_a: float | None = None
) -> SameDuty | NotComputed:
    """Temperatures of the job's own duty, or of a steady ``current_a``, for the old plate and for one of this shape and
    metal in its place, best figures, hottest ambient.

    In the duty both take the same joules per start and plate at cold ohms, which is the same mean heat. What is not
    there to reckon with is said, not guessed.
    """
    if job.boxes is None:
        return NotComputed("the job has no [boxes]: how many plates stand side by side is not known")
    stack = Stack(job.boxes.plates_per_box, job.boxes.plate_gap_m)
    new = replace(plate, shape=shape, metal=metal)
    bodies = _body(plate), _body(new)
    limits = limit_c(job, plate.name), metal.limit_c.value if job.limits.plate_c is None else job.limits.plate_c
    if current_a is not None:
        return _steady(job, current_a, stack, bodies, limits)
    if not job.notches or job.duty.start_every_s is None:
        return NotComputed("the job has no notches with [duty] start_every; state a current instead")
    try:
        return _in_duty(job, plate.name, stack, bodies, limits)
    except GriddesignError as error:
        return NotComputed(f"the job as it stands cannot be worked out: {error.message}")


def _body(plate: PlateWish) -> PlateBody:
    return body_of(plate.shape, plate, cold_ohm(plate.shape, plate.metal))


def _in_duty(
    job: Job, kind: str, stack: Stack, bodies: tuple[PlateBody, PlateBody], limits: tuple[float, float]
) -> SameDuty | NotComputed:
    """The section of this kind that gets hottest, with the old plates and with the new ones in their place."""
    worked, every_s = _worked(job), job.duty.start_every_s
    assert every_s is not None
    if worked.design is None or not isinstance(worked.wanted, Ladder) or job.line is None:
        return NotComputed("the job has no car that starts, or no plates counted or chosen; state a current instead")
    builds = tuple(section for section in worked.design.sections if section.kind == kind)
    if not builds:
        return NotComputed(f"no section is made of plates {kind}")
    heats, line_v = _heats(job, worked), job.line.highest_v
    peaks = []
    for body, limit in zip(bodies, limits, strict=True):
        sections = [HeatedSection(one.name, body, one.series, one.in_parallel, stack, limit) for one in builds]
        given = [heats[section.name] for section in sections]
        rows = settled_rows(sections, given, line_v, [job.duty.ambient_high_c], every_s=every_s, ends=(AS_GIVEN,))
        peaks.append(max(row.hot_c for row in rows))
    mean_w = max(heats[one.name].joules / (one.series * one.in_parallel * every_s) for one in builds)
    case = f"{settled_case(every_s)}, {line_v:g} V"
    return SameDuty(case, job.duty.ambient_high_c, mean_w, peaks[0], peaks[1], *limits)


def _worked(job: Job) -> Worked:
    """The grid of the job; where its notches do not say the ohms, that of its counts."""
    if job.start is not None and (unreached(job) or left_open(job)):
        from griddesign.judge.known import as_known

        return as_known(job)
    return work_out(job)


def _heats(job: Job, worked: Worked) -> dict[str, StartHeat]:
    assert worked.design is not None and isinstance(worked.wanted, Ladder) and job.line is not None
    if networks_in_words(job.notches):
        return heats_as_run(job, worked, job.line.highest_v)
    start = start_on(job, worked.wanted, ohms_by_section(worked.design.sections), job.line.highest_v)
    return {heat.section: heat for heat in start_heats(start)}


def heats_as_run(job: Job, worked: Worked, line_v: float) -> dict[str, StartHeat]:
    """Joules and seconds of each section in one start run with cold ohms at so many volts, by section: a start at mean
    currents knows no network. Raises as ``Starter.run``."""
    from griddesign.judge.plate_tables import constant_ohms
    from griddesign.judge.ran import live_seconds
    from griddesign.judge.runup import StartCase, Starter

    ready = Starter(job, worked)
    run = ready.run([StartCase(line_v, job.duty.ambient_high_c)], plates=constant_ohms)
    seconds = live_seconds(job, run)
    rows = zip(run.sections, run.section_j[:, 0].tolist(), seconds[:, 0].tolist(), strict=True)
    return {name: StartHeat(name, joules, on_s) for name, joules, on_s in rows}


def _steady(
    job: Job, current_a: float, stack: Stack, bodies: tuple[PlateBody, PlateBody], limits: tuple[float, float]
) -> SameDuty:
    ambient_c = job.duty.ambient_high_c
    old_c, new_c = (steady_c(body, stack, current_a, ambient_c) for body in bodies)
    mean_w = current_a**2 * bodies[0].cold_ohm
    return SameDuty(f"{current_a:g} A for ever", ambient_c, mean_w, old_c, new_c, *limits)


def steady_c(body: PlateBody, stack: Stack, current_a: float, ambient_c: float) -> float:
    """Where a plate inside the stack settles at a steady current, degC: the lowest T with ``I^2 R20 r(T) = loss(T)``;
    inf where there is none up to the top of the metal's table. Read from a grid of 1 K."""
    t_c = np.arange(ambient_c, body.metal.top_c + 1.0, 1.0)
    left_w = current_a**2 * body.cold_ohm * body.metal.ratio(t_c)
    left_w -= loss_w(body, stack, t_c, ambient_c, body.loss_factor)
    over = np.flatnonzero(left_w <= 0.0)
    if not over.size:
        return float("inf")
    at = int(over[0])
    if at == 0:
        return ambient_c
    return float(t_c[at - 1] + left_w[at - 1] / (left_w[at - 1] - left_w[at]))
