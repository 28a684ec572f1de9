"""Single faults of the plates of a CSV on the taps the job says they have."""

from dataclasses import replace
from pathlib import Path

from griddesign.choose.from_job import Worked, unreached, wanted_of
from griddesign.errors import InputError
from griddesign.found.as_found import as_found
from griddesign.found.records import AsFound
from griddesign.found.tapped import present_taps
from griddesign.job.plates_reading import read_places, read_plates_at_hand
from griddesign.job.records import Job
from griddesign.judge.faults.records import FaultTable
from griddesign.judge.faults.sources import faults_of_found
from griddesign.judge.retapping.records import Tapping
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.traction.records import GivenOhms, Ladder


def faults_on_plates(job: Job, plates_csv: Path) -> FaultTable:
    """Every single fault of the measured plates on today's taps.

    A plate found dead is taken as sound, with the ohms of its kind: it is one of the single faults then, and the driver
    tells it as he tells any other. Raises InputError where the job gives no notches or no taps, JobError on the file.
    """
    if not job.notches:
        raise InputError("the job has no [[notch]]", hint="Write a starter: griddesign new FILE --for retap.")
    if job.retap is None or not job.retap.taps:
        raise InputError("nothing says where the taps are", hint='Add [retap] taps = { "start of A" = 0, … }.')
    taps = present_taps(job.retap, read_places(plates_csv))
    found = as_found(job, read_plates_at_hand(plates_csv, taps))
    worked = Worked(_wanted(job), None, None, {})
    table = faults_of_found(job, worked, mended(found), tuple(taps.items()))
    dead = [found.place(number) for number, plate in enumerate(found.plates.plates, start=1) if plate.state == "dead"]
    note = f"Taken as sound here: {'; '.join(dead)}, found dead." if dead else ""
    return replace(table, note=f"{note} {table.note}".strip())


def _wanted(job: Job) -> Ladder | GivenOhms:
    """The driver's valley current: as the ladder has it, or, where no ohms are sought, as the job gives it; without it
    or without a car nobody drives."""
    if not (job.line and job.car and job.motor and job.start):
        return GivenOhms((), (), exact=True)
    if not unreached(job):
        return wanted_of(job)
    valley_a = job.start.valley_a
    return GivenOhms((), (), exact=True) if valley_a is None else Ladder((), (), valley_a, exact=True)


def faults_on_taps(job: Job, worked: Worked, tapping: Tapping | None) -> FaultTable | None:
    """Every single fault of the plates on new taps, those a jumper bridges left out; None where there are no taps."""
    if tapping is None or tapping.plates is None:
        return None
    bridged = {number for one in tapping.sections for number in one.jumped}
    every = tapping.plates.plates
    plates = tuple(
        replace(plate, state="not in circuit") if number in bridged or plate.state == "dead" else plate
        for number, plate in enumerate(every, start=1)
    )
    return faults_of_found(job, worked, replace(tapping.plates, plates=plates), tapping.taps)


def mended(found: AsFound) -> PlatesAtHand:
    """The plates with every dead one as its kind."""
    return replace(found.plates, plates=tuple(_mended(found, plate) for plate in found.plates.plates))


def _mended(found: AsFound, plate: PlateAtHand) -> PlateAtHand:
    kind = found.kinds.get(plate.kind)
    return plate if plate.state != "dead" or kind is None else replace(plate, state="in circuit", ohm=kind.ohm)
