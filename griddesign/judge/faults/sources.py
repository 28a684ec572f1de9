"""Banks and drivers out of what other rooms have: a design's result, plates found in old boxes."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

from griddesign.choose.from_job import Worked
from griddesign.grid.layout import Layout
from griddesign.job.records import Job
from griddesign.judge.cut_out import networks_in_words
from griddesign.judge.faults.effects import Drive
from griddesign.judge.faults.records import Bank, FaultTable, Taps
from griddesign.judge.faults.table import fault_table
from griddesign.judge.records import Result
from griddesign.plate.ohms import plate_figures
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.traction.records import Ladder

NETWORKS_SO = (
    "ohms of such a notch are those from line to ground at standstill, motors at their stated ohms among them. Every "
    "notch is solved with a current of its own in each motor: the peak is that of the motor that has most, and a notch "
    "is left when the mean of the motors in circuit has fallen to the valley current."
)
HEAT_AT_C = 100.0
"""Temperature at which the specific heat is taken for the rise of one start."""


def faults_of(result: Result) -> FaultTable | None:
    """Every single fault of a design; None where there is none."""
    worked, layout = result.worked, result.layout
    if worked is None or worked.design is None or layout is None or not result.job.notches:
        return None
    taps = tuple((tap.name, tap.after_plate) for tap in worked.design.taps)
    bank = Bank(
        plates_of(layout),
        taps,
        tuple(section.name for section in worked.design.sections),
        layout.plan.tap_sides,
        {plate.wish.name: plate.figures.mass_kg * plate.wish.metal.specific_heat(HEAT_AT_C) for plate in result.plates},
    )
    return _table(bank, result.job, worked)


def faults_of_found(job: Job, worked: Worked, plates: PlatesAtHand, taps: Sequence[tuple[str, int]]) -> FaultTable:
    """Every single fault of plates found in old boxes, on these taps. Raises InputError where the taps make none."""
    sides = job.boxes.tap_sides if job.boxes else 1
    both = job.retap is not None and job.retap.sides == "both"
    bank = Bank(plates, _in_order(taps), job.section_order, 2 if both else sides, capacities(job))
    return _table(bank, job, worked)


def _table(bank: Bank, job: Job, worked: Worked) -> FaultTable:
    """The table; where a notch is a network, of all notches solved as networks."""
    networks = networks_in_words(job.notches)
    if not networks:
        return fault_table(bank, job.notches, drive_of(job, worked))
    from griddesign.judge.faults.networked import NetworkEffect

    table = fault_table(
        bank, job.notches, drive_of(job, worked), partial(NetworkEffect, motor=job.motor, known={}, solved={})
    )
    names = tuple(notch.name for notch in job.notches if notch.network is not None)
    return replace(table, note=f"{networks.capitalize()}; {NETWORKS_SO}", networks=names)


def _in_order(taps: Sequence[tuple[str, int]]) -> Taps:
    """From the dot end; taps at one joint stay as they were given."""
    return tuple(sorted(taps, key=lambda tap: tap[1]))


def capacities(job: Job) -> Mapping[str, float]:
    """Heat capacity of one plate of every kind the job draws, J/K."""
    return {
        plate.name: plate_figures(plate.shape, plate.metal, plate.made_by).mass_kg
        * plate.metal.specific_heat(HEAT_AT_C)
        for plate in job.plates
    }


def drive_of(job: Job, worked: Worked) -> Drive | None:
    """The driver of a job; None where it has no car or its ohms are given without one."""
    if not (job.line and job.car and job.motor and job.start and isinstance(worked.wanted, Ladder)):
        return None
    return Drive(
        job.line, job.car, job.motor, job.start, worked.wanted.valley_a, worked.hot_ratio, job.duty.ambient_low_c
    )


def plates_of(layout: Layout) -> PlatesAtHand:
    """The plates of a layout as if they were found, each with the ohms it is ordered by."""
    built = {section.name: section for section in layout.sections}
    steps: dict[tuple[str, int], int] = {}
    found = []
    for place in layout.places:
        own = built.get(place.section)
        if own is None:
            found.append(PlateAtHand(place.box, place.position, place.kind, 0.0, state="not in circuit"))
            continue
        joined = steps.setdefault((place.section, place.step), len(steps) + 1) if own.in_parallel > 1 else 0
        found.append(PlateAtHand(place.box, place.position, place.kind, own.plate_ohm, joined=joined))
    return PlatesAtHand(tuple(found), layout.plan.joint_ohm)
