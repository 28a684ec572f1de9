"""What an old controller does now: its contact chart, today's taps, and the plates as they were measured."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import isfinite
from pathlib import Path

from griddesign.errors import InputError
from griddesign.found.as_found import as_found
from griddesign.found.tapped import present_taps, section, spans_between
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import Contradiction
from griddesign.job.plates_reading import read_places, read_plates_at_hand
from griddesign.job.records import Job
from griddesign.judge.contacts import NotchNow, chart_now, without_current


@dataclass(frozen=True, slots=True)
class ChartOnPlates:
    """Every notch at the measured ohms; contradictions of the chart; plates without current, each place with why.
    ``read``: the chart with its open sections left out; ``section_ohm``: the others, cold."""

    rows: tuple[NotchNow, ...]
    contradictions: tuple[Contradiction, ...]
    idle: tuple[tuple[str, str], ...]
    opened: tuple[str, ...]
    read: ChartRead
    section_ohm: Mapping[str, float]


def chart_on_plates(job: Job, plates_csv: Path) -> ChartOnPlates:
    """The chart of a job on the plates of a CSV; a section with a dead plate is open.

    Raises InputError where the job has no chart or no taps, JobError where the CSV cannot be read.
    """
    if job.chart is None:
        raise InputError("the job has no [controller]", hint="Give leads and, on every notch, joined terminals.")
    if job.retap is None or not job.retap.taps:
        raise InputError("nothing says where the taps are", hint='Add [retap] taps = { "start of A" = 0, … }.')
    taps = present_taps(job.retap, read_places(plates_csv))
    found = as_found(job, read_plates_at_hand(plates_csv, taps))
    spans = spans_between(job.section_order, taps)
    ohms = {name: section(found.plates, name, begin, end).cold_ohm for name, begin, end in spans}
    opened = tuple(name for name, ohm in ohms.items() if not isfinite(ohm))
    read = replace(job.chart.read, without=frozenset(opened))
    idle = without_current(job.chart.read, len(found.plates.plates), spans)
    sound = {name: ohm for name, ohm in ohms.items() if isfinite(ohm)}
    rows = chart_now(read, sound)
    named = tuple((found.place(number), why) for number, why in idle)
    return ChartOnPlates(rows, job.chart.read.contradictions, named, opened, read, sound)
