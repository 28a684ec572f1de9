"""A plate ordered in place of another, judged: the plate, what else changes, and whether it holds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from griddesign import metals
from griddesign.errors import InputError
from griddesign.figures import Figure
from griddesign.job.making import plate_with_kerf
from griddesign.job.records import Job, PlateWish
from griddesign.judge.records import PlateReport
from griddesign.judge.same_duty import NotComputed, SameDuty, as_meant, same_duty
from griddesign.judge.work import plate_report
from griddesign.metals import Metal
from griddesign.plate.comparison import Comparison, comparison
from griddesign.plate.first_off import Reissue, next_revision, reissue
from griddesign.plate.making import Making
from griddesign.plate.measured import MeasuredPlate
from griddesign.plate.ohms import cold_ohm, plate_figures
from griddesign.plate.pattern import OldPlate, old_plate
from griddesign.plate.process import MadeBy
from griddesign.plate.replacement import Asked, Free, Replacement, replacement
from griddesign.telling import stage
from griddesign.units import show


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the user says about the plate to order; None where the job's own is to stay. ``kerf``: width of the cut, m,
    to offset its cutting file for."""

    ohm: float | None = None
    metal: str | None = None
    made_by: MadeBy | None = None
    free: Free | None = None
    on_hand_m: tuple[float, ...] = ()
    current_a: float | None = None
    kerf: Figure | None = None


@dataclass(frozen=True, slots=True)
class Ordered:
    """The order of a replacement. ``as_pattern``: the old plate pressed into the sand instead of a pattern; None for
    plates that are not cast, or where no shrinkage is known."""

    old: PlateWish
    new: PlateWish
    found: Replacement
    report: PlateReport
    comparison: Comparison
    duty: SameDuty | NotComputed
    as_pattern: OldPlate | None

    @property
    def holds(self) -> bool:
        """Whether the plate keeps the rules of its making, and its limit in the duty where that was computed."""
        cool = not isinstance(self.duty, SameDuty) or self.duty.holds
        return cool and not self.found.broken


@dataclass(frozen=True, slots=True)
class Batch:
    """The first-off loop of one kind of plate, as the next ``revision``."""

    plate: PlateWish
    revision: str
    next_revision: str
    plates: tuple[MeasuredPlate, ...]
    result: Reissue
    as_pattern: OldPlate | None

    @property
    def holds(self) -> bool:
        """Whether the new width keeps the rules of its making and every weighed plate can be the metal."""
        return not self.result.broken and all(check.holds for check in self.result.metal_checks)


@stage("the plate to order")
def order_plate(job: Job, plate: PlateWish, wanted: Wanted) -> Ordered:
    """The plate that takes this one's place. Raises GeometryError, with the nearest plate, where none has the ohms."""
    metal, made_by = _metal(job, plate, wanted.metal), wanted.made_by or plate.made_by
    units = job.paper.units
    found = replacement(Asked(plate.shape, metal, made_by, _ohm(plate, wanted), wanted.on_hand_m, units), wanted.free)
    found = replace(found, notes=(*found.notes, *_which_old(job, plate)))
    new = _new_wish(plate, found, wanted.kerf)
    old_figures = plate_figures(plate.shape, plate.metal, plate.made_by)
    return Ordered(
        old=plate,
        new=new,
        found=found,
        report=plate_report(new, None, {}),
        comparison=comparison((plate.shape, plate.metal, old_figures), (new.shape, metal, found.figures)),
        duty=same_duty(job, plate, new.shape, metal, wanted.current_a),
        as_pattern=_as_pattern(plate, metal, made_by),
    )


def _which_old(job: Job, plate: PlateWish) -> tuple[str, ...]:
    """The old plate is the one drawn in the job; a design may order the kind with another strip width."""
    if plate.strip_width_range_m is None or not job.notches or job.boxes is None:
        return ()
    width = show(plate.shape.strip_width_m, "length", units=job.paper.units)
    return (
        f"Old: plate {plate.name} as drawn in the job, strip {width}; its design is free to choose another width. To "
        "replace that one, give its ohms with --ohms and draw its width in the job.",
    )


@stage("the batch after its first-off")
def reissue_batch(job: Job, plate: PlateWish, wanted: Wanted, plates: Sequence[MeasuredPlate]) -> Batch:
    """The strip width for the batch from its first-offs: of the replacement where one is asked for, else of the plate
    as the job means it to be made. Raises as ``order_plate`` and ``reissue`` do."""
    if wanted.ohm is not None or wanted.metal is not None:
        found = replacement(
            Asked(
                plate.shape,
                _metal(job, plate, wanted.metal),
                wanted.made_by or plate.made_by,
                _ohm(plate, wanted),
                wanted.on_hand_m,
                job.paper.units,
            ),
            wanted.free,
        )
        plate = _new_wish(plate, found, wanted.kerf)
        ohm = found.asked.ohm
    else:
        shape, ohm = as_meant(job, plate)
        plate = plate_with_kerf(replace(plate, shape=shape), wanted.kerf)
    return Batch(
        plate=plate,
        revision=job.revision,
        next_revision=next_revision(job.revision),
        plates=tuple(plates),
        result=reissue(plate.shape, plate.metal, plate.made_by, ohm, plates),
        as_pattern=_as_pattern(plate, plate.metal, plate.made_by),
    )


def _new_wish(plate: PlateWish, found: Replacement, kerf: Figure | None) -> PlateWish:
    making = plate.making if found.asked.made_by == plate.made_by else Making()
    new = replace(
        plate,
        metal=found.asked.metal,
        made_by=found.asked.made_by,
        shape=found.shape,
        strip_width_range_m=None,
        measured_ohm=None,
        wanted_ohm=found.asked.ohm,
        samples=plate.samples if found.asked.metal.key == plate.metal.key else (),
        making=making,
    )
    return plate_with_kerf(new, kerf)


def _ohm(plate: PlateWish, wanted: Wanted) -> float:
    ohm = wanted.ohm or plate.wanted_ohm or plate.measured_ohm
    if ohm is None:
        raise InputError(f"plate {plate.name}: nothing says what ohms it should have", hint='Add --ohms "0.07 ohm".')
    return ohm


def _metal(job: Job, plate: PlateWish, key: str | None) -> Metal:
    """The metal of that key with the figures the job gives it."""
    if key is None:
        return plate.metal
    same = next((other.metal for other in job.plates if other.metal.key == key), None)
    if same is not None:
        return same
    metal = metals.metal(key)
    for name in metals.FIELDS:
        figure = job.figures.get(f"metal.{key}.{name}")
        metal = metal if figure is None else metal.with_figure(name, figure)
    return metal


def _as_pattern(plate: PlateWish, metal: Metal, made_by: MadeBy) -> OldPlate | None:
    if made_by != "cast" or (plate.making.shrinkage is None and metal.pattern_shrinkage is None):
        return None
    measured_ohm = plate.measured_ohm if metal.key == plate.metal.key else None
    return old_plate(plate.shape, metal, measured_ohm or cold_ohm(plate.shape, metal), plate.making)
