"""Acceptance: the notch tolerance shared out to sections and plates, beside what the metal's range makes of them."""

from collections.abc import Mapping, Sequence

from griddesign.choose.from_job import notch_aims
from griddesign.choose.problem import NotchAim
from griddesign.grid.build import ohms_by_section
from griddesign.grid.circuit import names, ohms
from griddesign.grid.layout import Layout
from griddesign.grid.records import SectionBuild
from griddesign.job.records import Job, PlateWish
from griddesign.judge.records import BoxBand, SectionBand
from griddesign.traction.records import GivenOhms, Ladder


def shared_out(
    job: Job, wanted: Ladder | GivenOhms, sections: Sequence[SectionBuild]
) -> dict[str, tuple[float, float]]:
    """How far each section may lie below and above its own ohms, as fractions (low <= 0 <= high).

    Every section of a notch gets the same fraction of the room the notch has left to either side: the ohms of any
    circuit are homogeneous of degree one in those of its sections, so together they just use it up. A section keeps
    the tightest fraction of all notches it stands in. A notch outside its tolerance leaves no room.
    """
    cold = ohms_by_section(sections)
    room = {section.name: (-1.0, 1.0) for section in sections}
    for aim in notch_aims(job, wanted):
        live = names(aim.circuit)
        if not live:
            continue
        low, high = _room(aim, ohms(aim.circuit, cold), job.limits.notch_tolerance)
        for name in live:
            room[name] = (max(room[name][0], low), min(room[name][1], high))
    return room


def _room(aim: NotchAim, got_ohm: float, tolerance: float) -> tuple[float, float]:
    least = (aim.total_ohm / (1.0 + tolerance) - aim.other_ohm) / aim.factor
    most = (aim.total_ohm / (1.0 - tolerance) - aim.other_ohm) / aim.factor
    return min(0.0, least / got_ohm - 1.0), max(0.0, most / got_ohm - 1.0)


def section_bands(
    sections: Sequence[SectionBuild], room: Mapping[str, tuple[float, float]], plates: Sequence[PlateWish]
) -> tuple[SectionBand, ...]:
    """The band of each section, ohm at 20 degC."""
    spread = {plate.name: metal_spread(plate) for plate in plates}
    return tuple(
        SectionBand(
            section.name,
            section.cold_ohm * (1.0 + room[section.name][0]),
            section.cold_ohm * (1.0 + room[section.name][1]),
            section.cold_ohm * spread[section.kind][0],
            section.cold_ohm * spread[section.kind][1],
        )
        for section in sections
    )


def box_bands(layout: Layout, room: Mapping[str, tuple[float, float]]) -> tuple[BoxBand, ...]:
    """The band of each box, end to end, ohm at 20 degC: every step in it may be off by as much as its section, so that
    boxes on their bands bring sections to theirs."""
    built = {section.name: section for section in layout.sections}
    bands = []
    for box in range(1, layout.boxes + 1):
        steps = sorted({(place.section, place.step) for place in layout.in_box(box) if place.in_circuit})
        parts = [(built[name].cold_ohm / built[name].series, room[name]) for name, _ in steps]
        low_ohm, high_ohm = (sum(ohm * (1.0 + ends[end]) for ohm, ends in parts) for end in (0, 1))
        bands.append(BoxBand(box, sum(ohm for ohm, _ in parts), low_ohm, high_ohm))
    return tuple(bands)


def metal_spread(plate: PlateWish) -> tuple[float, float]:
    """The metal's range of resistivity over its value; (1, 1) for a plate that was measured."""
    if plate.measured_ohm is not None:
        return 1.0, 1.0
    rho = plate.metal.resistivity
    return rho.low / rho.value, rho.high / rho.value


def plate_band(
    kind: str, plate_ohm: float, sections: Sequence[SectionBuild], room: Mapping[str, tuple[float, float]]
) -> tuple[float, float] | None:
    """The pass band of a plate of one kind: the tightest of the sections it stands in; None where it stands in none."""
    used = [room[section.name] for section in sections if section.kind == kind]
    if not used:
        return None
    return plate_ohm * (1.0 + max(low for low, _ in used)), plate_ohm * (1.0 + min(high for _, high in used))
