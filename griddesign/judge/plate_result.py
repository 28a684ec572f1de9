"""The result of one plate alone, for its papers: as drawn in the job, as ordered in another's place, or as re-issued
after its first-offs. Car, line and grid are left out; what the plate is ordered by stands in the plate itself."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from griddesign.errors import InputError
from griddesign.job.records import Job, PlateWish
from griddesign.judge.fingerprint import fingerprint
from griddesign.judge.records import PlateReport, Result
from griddesign.judge.replacing import Batch, Ordered
from griddesign.judge.work import result_of

TOLERANCE_KEY = "limits.notch_tolerance"


def plate_result(job: Job, plate: PlateWish, asked: Iterable[str] = ()) -> Result:
    """The plate as the job draws it. Raises InputError where the design, and not the drawing, settles its strip."""
    if job.notches and plate.strip_width_range_m is not None:
        raise InputError(
            f"the strip width of plate {plate.name} is chosen for its notches, so the job's drawing is not its papers",
            hint="griddesign design JOB writes them; or order by --ohms.",
        )
    return _alone(job, plate, asked)


def ordered_result(job: Job, order: Ordered, asked: Iterable[str] = ()) -> Result:
    """The plate to order. What an old plate in the mould would give is told of the old one, not of the new."""
    result = _alone(job, replace(order.new, samples=()), asked)  # they were of the old shape
    (report,) = result.plates
    if report.made is None or order.as_pattern is None:
        return result
    return replace(result, plates=(replace(report, made=replace(report.made, old_plate=order.as_pattern)),))


def batch_result(job: Job, batch: Batch, readings: Path, asked: Iterable[str] = ()) -> Result:
    """The batch after its first-offs, as the next revision; the readings count into its fingerprint."""
    found = batch.result
    wish = replace(
        batch.plate,
        shape=found.shape,
        metal=found.metal,
        strip_width_range_m=None,
        measured_ohm=None,
        wanted_ohm=found.wanted_ohm,
        samples=(),
    )
    return _alone(replace(job, revision=batch.next_revision), wish, asked, (readings,))


def _alone(job: Job, plate: PlateWish, asked: Iterable[str], files: tuple[Path, ...] = ()) -> Result:
    alone = replace(
        job,
        line=None,
        car=None,
        motor=None,
        start=None,
        notches=(),
        section_order=(),
        plates=(plate,),
        sections=(),
        boxes=None,
        asked=(*job.asked, *asked),
    )
    result = result_of(alone)
    return replace(
        result,
        fingerprint=fingerprint([job.path, *files], alone.asked),
        plates=tuple(_with_band(job, report) for report in result.plates),
    )


def _with_band(job: Job, plate: PlateReport) -> PlateReport:
    """The plate with its pass band, where the job gives a notch tolerance ``e`` of its own: ``R/(1 + e)`` to
    ``R/(1 - e)``. A circuit of plates that all keep it keeps it too, whatever else the current passes."""
    if TOLERANCE_KEY not in job.figures:
        return plate
    tolerance = job.limits.notch_tolerance
    return replace(plate, low_ohm=plate.order_ohm / (1.0 + tolerance), high_ohm=plate.order_ohm / (1.0 - tolerance))
