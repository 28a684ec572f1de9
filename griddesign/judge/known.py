"""A grid whose ohms are known, in a controller whose notches do not say them: run as it is, nothing sought."""

from griddesign.choose.from_job import Worked, left_open, unreached
from griddesign.choose.kinds import Kind
from griddesign.choose.records import ChosenKind, Design
from griddesign.errors import InputError
from griddesign.grid.build import build_section, ohms_by_section
from griddesign.grid.layout import lay_out
from griddesign.grid.taps import taps
from griddesign.job.records import Job
from griddesign.traction.records import Ladder


def as_known(job: Job) -> Worked:
    """The grid of the job's counts, else of its chart's section ohms. Raises InputError where a section has none, or
    where the job does not say at which current the driver notches up."""
    assert job.start is not None
    why = unreached(job) or left_open(job)
    design = _by_counts(job) if job.sections and job.boxes else None
    known = ohms_by_section(design.sections) if design else dict(job.chart.section_ohm if job.chart else {})
    lacking = [name for name in job.section_order if name not in known]
    if lacking:
        raise InputError(
            f"nothing says the ohms of section {', '.join(lacking)}: {why}",
            hint='Add [controller] section_ohms = { A = "1.2 ohm", … }, or [[section]] counts of measured plates.',
        )
    if job.start.valley_a is None:
        raise InputError(
            f"nothing says at which current the driver notches up: no ohms are sought, since {why}",
            hint='Add [start] valley_current = "80 A".',
        )
    said = f"Ohms as the job gives them, none are sought: {why}."
    wanted = Ladder((), tuple((name, known[name]) for name in job.section_order), job.start.valley_a, True, "", (said,))
    return Worked(wanted, design, None, {})


def _by_counts(job: Job) -> Design:
    """The sections of the job as they stand. Raises InputError where a plate may still vary, or they do not fit."""
    assert job.boxes is not None
    kinds = {plate.name: Kind(plate) for plate in job.plates}
    used = {one.kind: kinds[one.kind].candidate for one in job.sections}
    free = [name for name, one in used.items() if one.low_ohm != one.high_ohm]
    if free:
        message = f"the counts are given, but plate {free[0]} has a range of strip widths"
        raise InputError(message, hint="Leave may_vary out.")
    by_name, joint_ohm = {one.name: one for one in job.sections}, job.boxes.joint_ohm
    sections = tuple(
        build_section(name, one.kind, one.series, one.in_parallel, used[one.kind].low_ohm, joint_ohm)
        for name in job.section_order
        for one in (by_name[name],)
    )
    layout = lay_out(sections, job.boxes)
    shapes = tuple(ChosenKind(name, kinds[name].near_shape(one.low_ohm), one.low_ohm) for name, one in used.items())
    return Design(sections, shapes, taps(layout, ()), (), layout.boxes, ())
