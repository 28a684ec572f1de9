"""A grid whose counts stand already: the same record as a choice, with nothing chosen and nothing to prove."""

from griddesign.choose.problem import Choice
from griddesign.choose.records import ChosenKind, Design, NotchGot
from griddesign.errors import InputError
from griddesign.grid.build import build_section, ohms_by_section
from griddesign.grid.circuit import ohms
from griddesign.grid.layout import lay_out
from griddesign.grid.taps import taps
from griddesign.job.records import Job


def given_design(job: Job, choice: Choice) -> Design:
    """The sections of the job as they stand, their taps and the ohms of every notch.

    Every kind in use must have one value of ohms. Raises InputError where it has a range, or the plates do not fit.
    """
    used = dict.fromkeys(given.kind for given in job.sections)
    plate_ohm = {kind.name: kind.low_ohm for kind in choice.kinds if kind.name in used}
    free = [kind.name for kind in choice.kinds if kind.name in used and kind.low_ohm != kind.high_ohm]
    if free:
        raise InputError(
            f"the counts are given, but plate {free[0]} has a range of strip widths",
            hint="Leave may_vary out, or leave the [[section]] tables out.",
        )
    by_name = {given.name: given for given in job.sections}
    sections = tuple(
        build_section(name, given.kind, given.series, given.in_parallel, plate_ohm[given.kind], choice.plan.joint_ohm)
        for name in choice.section_order
        for given in (by_name[name],)
    )
    layout = lay_out(sections, choice.plan)
    section_ohm = ohms_by_section(sections)
    got = [(notch, ohms(notch.circuit, section_ohm)) for notch in choice.notches]
    notches = tuple(NotchGot(notch.name, notch.wanted_ohm, cold, notch.error(cold)) for notch, cold in got)
    kinds = tuple(ChosenKind(name, choice.shape_for(name, plate_ohm[name]), plate_ohm[name]) for name in used)
    return Design(sections, kinds, taps(layout, choice.breaks), notches, layout.boxes, ())
