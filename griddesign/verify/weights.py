"""What an error in a claimed figure does to the car: how far it moves the current of a notch, and how hot it gets.

Currents are exact: the string's R' with the ohms moved. Heat is of first order: a section's rise over the air goes with
its ohms, that of a single start with one over its mass.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from griddesign.choose.from_job import Worked, heated_sections, notch_aims, start_on, work_out
from griddesign.choose.kinds import Kind
from griddesign.choose.problem import NotchAim
from griddesign.errors import GriddesignError
from griddesign.grid.build import ohms_by_section
from griddesign.grid.circuit import names, ohms
from griddesign.grid.records import BoxPlan, SectionBuild
from griddesign.heat.duty import ONE_START
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job, PlateWish, SectionGiven
from griddesign.judge.heat_cases import deciding, duty_rows, hottest
from griddesign.traction.records import Ladder, MeanStart
from griddesign.verify.grid import MOST_BOXES
from griddesign.verify.offer import Offer
from griddesign.verify.plates import PlateFound
from griddesign.verify.records import Effect


@dataclass(frozen=True)
class Car:
    """The offered grid in the job's car: aims of the notches, cold ohms of its sections, its heat where a duty or start
    can be worked out. ``why_not`` says why there is less than that."""

    tolerance: float
    aims: tuple[NotchAim, ...] = ()
    section_ohm: Mapping[str, float] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)
    worst: tuple[HeatRow, ...] = ()
    given: tuple[HeatRow, ...] = ()
    why_not: str = ""

    def by_ohms(self, moved: Mapping[str, float]) -> Effect:
        """Ohms of sections multiplied by factors."""
        if not self.aims or not set(moved) & set(self.section_ohm):
            return Effect()
        after = {name: ohm * moved.get(name, 1.0) for name, ohm in self.section_ohm.items()}
        live = [aim for aim in self.aims if set(names(aim.circuit)) <= set(after)]
        moves = [
            (abs(_felt(aim, self.section_ohm) / _felt(aim, after) - 1.0), aim.name) for aim in live if aim.circuit.parts
        ]
        current, notch = max(moves, default=(0.0, ""))
        heats = [self._rise(name, abs(factor - 1.0), deciding(self.worst)) for name, factor in moved.items()]
        return self._effect(current, notch, heats)

    def of_kind(self, kind: str, factor: float) -> Effect:
        """Ohms of every section of a plate kind multiplied by a factor."""
        return self.by_ohms({name: factor for name, of in self.kinds.items() if of == kind})

    def by_mass(self, kind: str, factor: float) -> Effect:
        """Masses of a plate kind multiplied by a factor: the rise of a single start goes the other way."""
        once = tuple(row for row in self.worst if row.case == ONE_START)
        share = abs(1.0 / factor - 1.0)
        return self._effect(None, "", [self._rise(name, share, once) for name, of in self.kinds.items() if of == kind])

    def of_notch(self, name: str, claimed_ohm: float, computed_ohm: float) -> Effect:
        """A notch that has other ohms than claimed."""
        aims = [aim for aim in self.aims if aim.name == name]
        moves = [
            abs((aim.other_ohm + aim.factor * claimed_ohm) / (aim.other_ohm + aim.factor * computed_ohm) - 1.0)
            for aim in aims
        ]
        return self._effect(max(moves), name, []) if moves else Effect()

    def by_heat(self, section: str, over_k: float, room_k: float) -> Effect:
        """A plate that comes out hotter than claimed by ``over_k`` where ``room_k`` of rise are allowed."""
        over_k = max(over_k, 0.0)
        return Effect(heat_k=over_k, section=section, weight=over_k / room_k if room_k > 0.0 else over_k)

    def by_tap(self, before: str, after: str, plates: int, plates_in: Mapping[str, int]) -> Effect:
        """A tap that sits so many plates too far on: its section before gains them, the one after loses them."""
        moved = {
            name: max((plates_in[name] + sign * plates) / plates_in[name], 0.0)
            for name, sign in ((before, 1), (after, -1))
            if name in plates_in
        }
        return self.by_ohms(moved)

    def _rise(self, section: str, share: float, rows: Sequence[HeatRow]) -> tuple[float, str, float]:
        """Kelvin moved, the section, and the share of the rise its limit allows."""
        own = [row for row in rows if row.section == section and not row.runs_away]
        if not own:
            return 0.0, "", 0.0
        row = max(own, key=lambda one: one.hot_c)
        moved_k = share * (row.hot_c - row.ambient_c)
        return moved_k, section, moved_k / max(row.limit_c - row.ambient_c, 1.0)

    def _effect(self, current: float | None, notch: str, heats: Sequence[tuple[float, str, float]]) -> Effect:
        heat_k, section, share = max(heats, key=lambda one: one[2], default=(0.0, "", 0.0))
        weight = max((current or 0.0) / self.tolerance, share)
        return Effect(current, notch, heat_k if section else None, section, weight)


def _felt(aim: NotchAim, section_ohm: Mapping[str, float]) -> float:
    """R' of the string; for a grid without a car its own ohms."""
    return (aim.other_ohm + aim.factor * ohms(aim.circuit, section_ohm)) or 1e-12


def put_in_car(offer: Offer, plates: Mapping[str, PlateFound], sections: tuple[SectionBuild, ...]) -> Car:
    """The offered grid in the job's car, as far as the claim tells enough of it."""
    offered = _offered_job(offer, plates, sections)
    job = offer.job if offered is None else offered
    empty = Car(
        job.limits.notch_tolerance, section_ohm=ohms_by_section(sections), kinds={s.name: s.kind for s in sections}
    )
    try:
        worked = work_out(job)
    except GriddesignError as error:
        return replace(empty, why_not=error.message)
    found = replace(empty, aims=notch_aims(job, worked.wanted))
    return found if offered is None else _with_heat(found, offered, worked)


def _with_heat(car: Car, job: Job, worked: Worked) -> Car:
    """Start and duty by mean currents, at the worst end and as given."""
    if worked.design is None or worked.start is None or not isinstance(worked.wanted, Ladder):
        return car
    try:
        heated = heated_sections(job, worked.design, {plate.name: Kind(plate) for plate in job.plates})
        worst, given = duty_rows(job, heated, _starts(job, worked))
    except GriddesignError as error:
        return replace(car, why_not=error.message)
    return replace(car, worst=worst, given=given)


def _starts(job: Job, worked: Worked) -> tuple[MeanStart, ...]:
    """At nominal and at the highest line voltage."""
    assert worked.start is not None and worked.design is not None and isinstance(worked.wanted, Ladder)
    if job.line is None or job.line.highest_v == job.line.nominal_v:
        return (worked.start,)
    section_ohm = ohms_by_section(worked.design.sections)
    return worked.start, start_on(job, worked.wanted, section_ohm, job.line.highest_v)


def hottest_rows(rows: tuple[HeatRow, ...]) -> Mapping[str, HeatRow]:
    """Of each section the row a limit is held against."""
    return hottest(deciding(rows))


def _offered_job(offer: Offer, plates: Mapping[str, PlateFound], sections: tuple[SectionBuild, ...]) -> Job | None:
    """The job with the offered plates, counts and boxes in place of its own; None where the claim leaves one open."""
    boxes, job = offer.claim.boxes, offer.job
    used = [plates[kind] for kind in dict.fromkeys(section.kind for section in sections) if kind in plates]
    wishes = [wish for plate in used if (wish := _wish(plate)) is not None]
    whole = sections and wishes and len(wishes) == len({section.kind for section in sections})
    if not whole or boxes is None or boxes.plates_per_box is None or boxes.plate_gap is None:
        return None
    plan = BoxPlan(MOST_BOXES, boxes.plates_per_box, boxes.plate_gap.figure.value, boxes.tap_sides, boxes.joint_ohm)
    counts = tuple(SectionGiven(one.name, one.kind, one.series, one.in_parallel) for one in sections)
    return replace(job, plates=tuple(wishes), sections=counts, boxes=plan, scatter=None, calibration=None)


def _wish(found: PlateFound) -> PlateWish | None:
    """The offered plate as one at hand, with the ohms that were found for it."""
    plate = found.plate
    if found.metal is None or plate.shape is None or found.ohm is None:
        return None
    return PlateWish(plate.name, found.metal, plate.made_by or "cast", plate.shape, measured_ohm=found.ohm.value)
