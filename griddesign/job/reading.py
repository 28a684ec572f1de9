"""From a job file to a Job: every table read, every fault of the file reported together."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar, get_args

from griddesign.errors import JobError
from griddesign.figures import Figure
from griddesign.job import circuits, electrical, hardware, rules, starters
from griddesign.job.document import Document, load
from griddesign.job.part import Notebook, Part
from griddesign.job.records import Aim, Job
from griddesign.job.schema import check_schema
from griddesign.job.seldom import (
    read_braking,
    read_chart,
    read_hardware,
    read_retap,
    read_scatter,
    with_heat_run,
)
from griddesign.job.swapped import refuse_claim
from griddesign.job.transitions import check_transitions
from griddesign.metals import Metal
from griddesign.telling import stage, tell

if TYPE_CHECKING:
    from griddesign.job.contacts import ChartOfJob
    from griddesign.traction.records import Motor, Notch, Start

AIMS: tuple[Aim, ...] = get_args(Aim)
Record = TypeVar("Record")
_REVISION = re.compile(r"draft|[A-Z]{1,2}")


def read_job(path: Path) -> Job:
    """Read a job file. Raises JobError that holds every complaint, in the order of the file."""
    with stage(f"{path} read"):
        document = load(path)
        refuse_claim(document)
        job = build(document)
    tell(lambda: _told(job))
    return job


def _told(job: Job) -> str:
    """What the file holds, in words."""
    plates = ", ".join(
        f"plate {plate.name} of {plate.metal.key} ({plate.metal.resistivity.value * 1e8:.4g} uohm cm, "
        f"{plate.metal.resistivity.status})"
        for plate in job.plates
    )
    words = (
        f"{len(job.figures)} figures",
        f"{len(job.notches)} notches",
        f"sections {' '.join(job.section_order)}" if job.section_order else "no sections",
        plates or "no plates",
    )
    return f"taken from it: {', '.join(words)}"


def build(document: Document, pinned: Mapping[str, Figure] | None = None) -> Job:
    """The job of a parsed document; figures named in ``pinned`` take the place of those in the file."""
    notebook = Notebook(document, pinned)
    whole = notebook.whole()
    job = _with_seldom(whole, *_read_whole(whole))
    whole.close()
    _check_whole(whole, job)
    if notebook.complaints:
        raise JobError(tuple(sorted(notebook.complaints, key=lambda complaint: complaint.line or 0)))
    return job


def _read_whole(whole: Part) -> tuple[Job, dict[str, Metal]]:
    """The job without the tables few jobs have, and the metals with the job's own figures."""
    check_schema(whole)
    line = _optional(whole, "line", electrical.read_line)
    motor = _optional(whole, "motor", electrical.read_motor)
    car = _optional(whole, "car", electrical.read_car)
    start = _optional(whole, "start", lambda part: electrical.read_start(part, motor))
    chart, notches, order = _read_circuits(whole, motor, start)
    changed = hardware.read_metals(whole)
    plates = hardware.read_plates(whole, changed)
    sections, boxes = hardware.read_sections(whole, order, plates), _optional(whole, "boxes", hardware.read_boxes)
    plates, heat_run = with_heat_run(whole, plates, boxes, sections, order)
    notebook = whole.notebook
    job = Job(
        path=notebook.document.path,
        title=_title(whole),
        revision=_revision(whole),
        example=whole.flag("example"),
        limits=rules.read_limits(whole.table("limits")),
        duty=rules.read_duty(whole.table("duty")),
        paper=rules.read_paper(whole.table("papers")),
        line=line,
        car=car,
        motor=motor,
        start=start,
        notches=notches,
        section_order=order,
        plates=plates,
        sections=sections,
        boxes=boxes,
        prefer=whole.choice("prefer", AIMS, "margin") or "margin",
        figures=notebook.figures,
        lines=notebook.lines,
        starter_values=starters.values_left(whole),
        rebuild=lambda figures: build(notebook.document, figures),
        calibration=heat_run,
        chart=chart,
    )
    return job, changed


def _read_circuits(
    whole: Part, motor: "Motor | None", start: "Start | None"
) -> "tuple[ChartOfJob | None, tuple[Notch, ...], tuple[str, ...]]":
    """The contact chart where there is one, the notches, and the sections in their order."""
    chart = read_chart(whole, motor)
    notches = circuits.read_notches(whole, motor.count if motor else None, chart)
    order = circuits.read_section_order(whole, notches)
    check_transitions(whole, start, notches, order)
    return chart, notches, order


def _with_seldom(whole: Part, job: Job, changed: Mapping[str, Metal]) -> Job:
    """The job with its tables that few jobs have; they are read last."""
    motor, order, kinds = job.motor, job.section_order, tuple(plate.name for plate in job.plates)
    return replace(
        job,
        scatter=_optional(whole, "scatter", read_scatter),
        braking=_optional(whole, "braking", lambda part: read_braking(part, motor, order)),
        retap=_optional(whole, "retap", lambda part: read_retap(part, order)),
        hardware=_optional(whole, "hardware", lambda part: read_hardware(part, kinds, changed)),
    )


def _optional(whole: Part, name: str, read: Callable[[Part], Record | None]) -> Record | None:
    part = whole.table(name)
    return None if part is None else read(part)


def _title(whole: Part) -> str:
    title = whole.text("title", required=True, example="Starting grid, works car 3").strip()
    if isinstance(whole.data.get("title"), str) and not title:
        whole.complain("title", "is blank", 'Say what the job is, for instance "Starting grid, works car 3".')
    if len(title) > 200:
        whole.complain("title", f"{len(title)} characters", "At most 200.")
    return title


def _revision(whole: Part) -> str:
    revision = whole.text("revision", "draft")
    if not _REVISION.fullmatch(revision):
        whole.complain("revision", f"{revision!r} is no revision", 'Write "draft", or a letter: "A".')
    return revision


def _check_whole(whole: Part, job: Job) -> None:
    """What only shows when the parts are held against each other."""
    if not (job.plates or job.notches or whole.notebook.complaints):
        whole.complain("", "the file holds neither a plate nor a notch", "Write a starter with: griddesign new FILE")
    if job.start is not None and not (job.motor and job.line and job.car):
        missing = [name for name, part in (("line", job.line), ("car", job.car), ("motor", job.motor)) if part is None]
        known = [name for name in missing if not whole.has(name)]
        for name in known:
            whole.complain(name, "is missing, and [start] needs it", f"Add a table [{name}].")
    if job.notches and job.start is None and not whole.has("start"):
        _check_given(whole, job)


def _check_given(whole: Part, job: Job) -> None:
    for index, notch in enumerate(job.notches):
        empty = notch.network is not None or (notch.common is not None and not notch.common.parts)
        if notch.wanted_ohm is None and not empty and not job.sections:
            whole.notebook.complain(
                ("notch", index),
                f"notch.{notch.name}",
                "nothing says what ohms it should have",
                'Give wanted = "…", or the tables [line] [car] [motor] [start].',
            )
