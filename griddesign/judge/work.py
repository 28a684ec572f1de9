"""From a job to its result: every room asked once, in the order in which the work flows."""

from collections.abc import Iterator

from griddesign import __version__
from griddesign.choose.from_job import Worked, heated_sections, start_on, work_out
from griddesign.choose.kinds import Kind
from griddesign.choose.records import Design
from griddesign.grid.build import ohms_by_section
from griddesign.grid.layout import Layout, lay_out
from griddesign.heat.records import HeatedSection, HeatRow
from griddesign.job.records import Job, PlateWish
from griddesign.judge import findings as judged
from griddesign.judge.bands import plate_band, section_bands, shared_out
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.heat_cases import duty_rows, holds
from griddesign.judge.records import Finding, NotchDone, PlateReport, Result, SectionBand, Unknown
from griddesign.judge.unknowns import unknowns
from griddesign.plate.made import made
from griddesign.plate.ohms import plate_figures
from griddesign.plate.process import process_checks
from griddesign.plate.zigzag import outline_of
from griddesign.traction.peaks import BuiltGrid
from griddesign.traction.problem import Problem
from griddesign.traction.records import Ladder, MeanStart

Room = dict[str, tuple[float, float]]


def result_of(job: Job) -> Result:
    """The whole result of a job: as much of it as the job holds parts for.

    Raises the errors of the rooms where the job cannot be worked out at all.
    """
    worked = work_out(job) if job.notches else None
    design = worked.design if worked else None
    room = shared_out(job, worked.wanted, design.sections) if worked and design else {}
    starts = _starts(job, worked)
    heated = _heated(job, worked) if starts else ()
    heat, as_given = _heat(job, heated, starts)
    plates = tuple(plate_report(plate, design, room) for plate in job.plates)
    done = _notches(job, worked)
    unsure = _unknowns(job, worked)
    return Result(
        job=job,
        version=__version__,
        fingerprint=fingerprint([job.path], job.asked),
        plates=plates,
        worked=worked,
        notches=done,
        layout=_layout(job, design),
        bands=_bands(job, design, room),
        start=starts[0] if starts else None,
        start_highest=starts[-1] if starts else None,
        heat=heat,
        findings=tuple(_findings(job, plates, done, (heat, as_given, heated), unsure)),
        remarks=_remarks(worked),
        unknowns=unsure,
        not_checked=judged.not_checked(job, bool(heat)),
    )


def _starts(job: Job, worked: Worked | None) -> tuple[MeanStart, ...]:
    """The start at nominal and at the highest line voltage, on the grid as chosen."""
    if worked is None or worked.design is None or not isinstance(worked.wanted, Ladder) or job.line is None:
        return ()
    section_ohm = ohms_by_section(worked.design.sections)
    voltages = dict.fromkeys((job.line.nominal_v, job.line.highest_v))
    return tuple(start_on(job, worked.wanted, section_ohm, line_v) for line_v in voltages)


def _heated(job: Job, worked: Worked | None) -> tuple[HeatedSection, ...]:
    if worked is None or worked.design is None:
        return ()
    return heated_sections(job, worked.design, {plate.name: Kind(plate) for plate in job.plates})


def _heat(
    job: Job, sections: tuple[HeatedSection, ...], starts: tuple[MeanStart, ...]
) -> tuple[tuple[HeatRow, ...], tuple[HeatRow, ...]]:
    """Every row of the heat sheet, and the rows of start and duty with the figures as given."""
    if not sections:
        return (), ()
    duty, as_given = duty_rows(job, sections, starts)
    return (*duty, *holds(job, sections, duty)), as_given


def plate_report(plate: PlateWish, design: Design | None, room: Room) -> PlateReport:
    """One kind of plate: with the shape and ohms the design chose, or as the job draws it where there is none."""
    chosen = next((kind for kind in design.kinds if kind.name == plate.name), None) if design else None
    shape = chosen.shape if chosen else plate.shape
    figures = plate_figures(shape, plate.metal, plate.made_by)
    order_ohm = chosen.cold_ohm if chosen else plate.measured_ohm or plate.wanted_ohm or figures.cold_ohm
    sections = design.sections if design else ()
    band = plate_band(plate.name, order_ohm, sections, room)
    outline = outline_of(shape)
    return PlateReport(
        wish=plate,
        shape=shape,
        outline=outline,
        figures=figures,
        checks=process_checks(shape, plate.made_by),
        order_ohm=order_ohm,
        count=sum(section.plates for section in sections if section.kind == plate.name),
        low_ohm=band[0] if band else None,
        high_ohm=band[1] if band else None,
        made=made(shape, outline, plate.metal, plate.made_by, plate.making, order_ohm),
    )


def _layout(job: Job, design: Design | None) -> Layout | None:
    return lay_out(design.sections, job.boxes) if design and job.boxes else None


def _bands(job: Job, design: Design | None, room: Room) -> tuple[SectionBand, ...]:
    return section_bands(design.sections, room, job.plates) if design else ()


def _notches(job: Job, worked: Worked | None) -> tuple[NotchDone, ...]:
    """One row for each notch; of a grid per string, the string with the greatest error."""
    if worked is None or worked.design is None:
        return ()
    peaks = _peaks(job, worked)
    rows = []
    for place, notch in enumerate(job.notches):
        got = max((row for row in worked.design.notches if row.name == notch.name), key=lambda row: abs(row.error))
        peak, frozen = peaks[place] if peaks else (None, None)
        rows.append(NotchDone(notch.name, got.wanted_ohm, got.cold_ohm, got.error, peak, frozen))
    return tuple(rows)


def _peaks(job: Job, worked: Worked) -> tuple[tuple[float, float], ...]:
    """Worst peak and its frozen-flux bound on every notch of the grid as chosen, A per motor."""
    if not (job.line and job.motor and job.start and worked.design and isinstance(worked.wanted, Ladder)):
        return ()
    problem = Problem(
        job.line, job.motor, job.start, job.notches, job.section_order, worked.hot_ratio, job.duty.ambient_low_c
    )
    grid = BuiltGrid(problem, ohms_by_section(worked.design.sections))
    return tuple((peak.current_a, peak.frozen_flux_a) for peak in grid.peaks(worked.wanted.valley_a))


def _unknowns(job: Job, worked: Worked | None) -> tuple[Unknown, ...]:
    if worked is None or worked.design is None:
        return ()
    return unknowns(job, ohms_by_section(worked.design.sections), worked.hot_ratio)


def _findings(
    job: Job,
    plates: tuple[PlateReport, ...],
    notches: tuple[NotchDone, ...],
    heat: tuple[tuple[HeatRow, ...], tuple[HeatRow, ...], tuple[HeatedSection, ...]],
    unsure: tuple[Unknown, ...],
) -> Iterator[Finding]:
    tolerance = job.limits.notch_tolerance
    yield from judged.judge_notches(notches, tolerance)
    if job.start is not None:
        yield from judged.judge_peaks(notches, job.start.peak_a, tolerance)
    rows, as_given, heated = heat
    if heated:
        yield from judged.judge_heat(rows, as_given, _tabled_limit(job), job.paper.units)
        yield from judged.judge_limit(heated)
    yield from judged.judge_plates(plates, tolerance)
    yield from judged.judge_unknowns(unsure, tolerance, max((abs(notch.error) for notch in notches), default=0.0))
    yield from judged.judge_limits(job)
    yield from judged.judge_starter(job)


def _tabled_limit(job: Job) -> str | None:
    if job.limits.plate_c is not None:
        return None
    limits = {plate.metal.key: plate.metal.limit_c for plate in job.plates}
    return ", ".join(f"{key}: {limit.value:.0f} degC, {limit.status}" for key, limit in limits.items())


def _remarks(worked: Worked | None) -> tuple[str, ...]:
    if worked is None:
        return ()
    said = [*worked.wanted.remarks, *([worked.wanted.note] if worked.wanted.note else [])]
    if not worked.settled:
        said.append("Wanted ohms and plate counts did not settle: the hot ohms of the last round stand.")
    if worked.start is not None and worked.start.beyond_curve:
        said.append("A current passes the end of the motor curve; there the flux was kept at its last value.")
    return tuple(said)
