"""From a job to its result: every room asked once, in the order in which the work flows."""

from collections.abc import Iterator

from griddesign import __version__
from griddesign.choose.from_job import Worked, start_on, work_out
from griddesign.choose.records import Design
from griddesign.grid.build import ohms_by_section
from griddesign.grid.layout import Layout, lay_out
from griddesign.job.records import Job, PlateWish
from griddesign.judge import findings as judged
from griddesign.judge.bands import box_bands, plate_band, section_bands, shared_out
from griddesign.judge.calibration import judge_calibration
from griddesign.judge.contacts import chart_remarks, judge_chart
from griddesign.judge.crew import crew_card_remark
from griddesign.judge.design_ends import design_at_ends, peaks_of
from griddesign.judge.design_run import AsRun, as_run
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.limits import judge_limits, not_checked
from griddesign.judge.measuring import nameplate_remarks
from griddesign.judge.nesting import with_nests
from griddesign.judge.records import Finding, NotchDone, PlateReport, Result, SectionBand, Unknown
from griddesign.judge.start_findings import run_not_checked
from griddesign.plate.made import made
from griddesign.plate.ohms import plate_figures
from griddesign.plate.process import process_checks
from griddesign.plate.zigzag import outline_of
from griddesign.traction.problem import grouped
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
    run = as_run(job, worked, starts)
    plates = with_nests(job, (plate_report(plate, design, room) for plate in job.plates))
    done, layout = _notches(job, worked), _layout(job, design)
    ends = design_at_ends(job, worked, run.ran) if worked and design else None
    unsure = ends.unknowns if ends else ()
    found = tuple(_findings(job, plates, done, run, unsure))
    return Result(
        job=job,
        version=__version__,
        fingerprint=fingerprint(job.files, job.asked),
        plates=plates,
        worked=worked,
        notches=done,
        layout=layout,
        bands=_bands(job, design, room),
        start=starts[0] if starts else None,
        start_highest=starts[-1] if starts else None,
        heat=run.rows,
        findings=ends.settled(found) if ends else found,
        remarks=(*_remarks(job, worked), *run.remarks, *crew_card_remark(job, run.rows)),
        unknowns=unsure,
        measure_next=ends.measure_next if ends else (),
        ends=ends,
        not_checked=tuple(_not_checked(job, run, started=bool(starts))),
        ran=run.ran,
        beside=run.beside,
        box_bands=box_bands(layout, room) if layout else (),
    )


def _not_checked(job: Job, run: AsRun, *, started: bool) -> Iterator[str]:
    yield from run_not_checked(job) if started else ()
    yield from not_checked(job, bool(run.rows))
    yield from run.beside.not_worked_out if run.beside else ()


def _starts(job: Job, worked: Worked | None) -> tuple[MeanStart, ...]:
    """The start at nominal and at the highest line voltage, on the grid as chosen."""
    if worked is None or worked.design is None or not isinstance(worked.wanted, Ladder) or job.line is None:
        return ()
    section_ohm = ohms_by_section(worked.design.sections)
    voltages = dict.fromkeys((job.line.nominal_v, job.line.highest_v))
    return tuple(start_on(job, worked.wanted, section_ohm, line_v) for line_v in voltages)


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
    """One row for each notch that is a grouping; of a grid per string, the string with the greatest error."""
    if worked is None or worked.design is None:
        return ()
    peaks = [(peak.current_a, peak.frozen_flux_a) for peak in peaks_of(job, worked)]
    rows = []
    for place, notch in enumerate(grouped(job.notches)):
        got = max((row for row in worked.design.notches if row.name == notch.name), key=lambda row: abs(row.error))
        peak, frozen = peaks[place] if peaks else (None, None)
        rows.append(NotchDone(notch.name, got.wanted_ohm, got.cold_ohm, got.error, peak, frozen))
    return tuple(rows)


def _findings(
    job: Job,
    plates: tuple[PlateReport, ...],
    notches: tuple[NotchDone, ...],
    run: AsRun,
    unsure: tuple[Unknown, ...],
) -> Iterator[Finding]:
    tolerance = job.limits.notch_tolerance
    yield from judged.judge_notches(notches, tolerance)
    if job.start is not None:
        yield from judged.judge_peaks(notches, job.start.peak_a, tolerance)
    yield from run.findings
    if run.heated:
        yield from judged.judge_heat(run.rows, run.given, judged.tabled_limit(job), job.paper.units)
        yield from judged.judge_limit(run.heated, job.paper.units)
    yield from judge_calibration(job)
    yield from judged.judge_plates(plates, tolerance, job.paper.units)
    if any(plate.wish.samples for plate in plates):
        from griddesign.judge.sampled import judge_samples

        yield from judge_samples(plates)
    yield from judged.judge_unknowns(unsure, tolerance, max((abs(notch.error) for notch in notches), default=0.0))
    yield from judge_limits(job, run.ran)
    yield from judge_chart(job)
    yield from judged.judge_starter(job)


def _remarks(job: Job, worked: Worked | None) -> tuple[str, ...]:
    said = [*nameplate_remarks(job), *chart_remarks(job)]
    if worked is None:
        return tuple(said)
    said += [*worked.wanted.remarks, *([worked.wanted.note] if worked.wanted.note else [])]
    if not worked.settled:
        said.append("Wanted ohms and plate counts did not settle: the hot ohms of the last round stand.")
    if worked.start is not None and worked.start.beyond_curve:
        said.append("A current passes the end of the motor curve; there the flux was kept at its last value.")
    return tuple(said)
