"""What is drawn, and by which law: the job's ``[scatter]`` where it speaks, else assumptions of ours, marked so.

Standard deviations: normal, cut at three of them. Ranges: anything between the ends is as likely, which is the widest
a range allows without heaping up at its ends. The temperature coefficient: either end of its range, by the toss of a
coin, one for the whole grid.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from griddesign.choose.records import Design
from griddesign.errors import InputError
from griddesign.job.records import Job, PlateWish
from griddesign.job.scatter import ScatterGiven
from griddesign.judge.scatter.records import CauseTold
from griddesign.plate.shapes import Zigzag
from griddesign.plate.spread import spread_of

BATCH, PLATE, SIZES, ALPHA, LINE, LOAD, DRIVER = CAUSES = (
    "batch",
    "plate to plate",
    "sizes by tolerance",
    "temperature coefficient",
    "line voltage",
    "load",
    "driver",
)
CUT_AT = 3.0
"""Normal laws are cut at so many standard deviations: what lies beyond is scrapped before it is built in."""
CAST_BATCH, CAST_PLATE = 0.03, 0.03
CUT_BATCH, CUT_PLATE = 0.02, 0.01
DRIVER_SPREAD = 0.05
"""Assumptions where the job says nothing: ours, no source."""
DRIVER_MISSES = {
    "at valley current": "valley current",
    "by time": "seconds on each notch",
    "within peak current": "peak current aimed at",
}
_WIDEST = 0.9  # of a size: draws reach to its tolerance, and a size drawn as nothing has no ohms (ours, no source)


@dataclass(frozen=True, slots=True)
class SizeLaw:
    """One size of the plate: ohms go as (1 + u ``reach``)^``power``, u evenly from -1 to 1; ``shared`` by a batch."""

    reach: float
    power: float
    shared: bool


@dataclass(frozen=True, slots=True)
class KindLaw:
    """How the plates of one kind scatter: standard deviations as fractions, sizes, plates of one batch (0: all)."""

    batch: float
    plate: float
    sizes: tuple[SizeLaw, ...]
    plates_per_batch: int


@dataclass(frozen=True, slots=True)
class Laws:
    """Every law of a job. ``driver`` is a standard deviation; ``line_v`` and ``mass_kg`` go from low to high."""

    kinds: dict[str, KindLaw]
    two_alphas: bool
    line_v: tuple[float, float]
    mass_kg: tuple[float, float]
    driver: float
    told: tuple[CauseTold, ...]


def laws_of(job: Job, design: Design) -> Laws:
    """The laws of a job whose grid has been chosen. Raises InputError on a tolerance as large as its size."""
    given = job.scatter or ScatterGiven()
    assert job.line is not None and job.car is not None
    used = {section.kind for section in design.sections}
    shapes = {kind.name: kind.shape for kind in design.kinds}
    wishes = [plate for plate in job.plates if plate.name in used]
    kinds = {wish.name: _kind(wish, shapes[wish.name], given) for wish in wishes}
    alphas = [wish.metal.alpha20 for wish in wishes]
    line_v = given.line_v or (job.line.nominal_v, job.line.highest_v)
    mass_kg = _mass(job, given)
    driver = DRIVER_SPREAD if given.driver is None else given.driver
    two_alphas = any(alpha.low != alpha.high for alpha in alphas)
    told = (*_plates_told(wishes, kinds, given), *_alpha_told(wishes, two_alphas))
    return Laws(kinds, two_alphas, line_v, mass_kg, driver, (*told, *_start_told(job, given, line_v, mass_kg, driver)))


def _kind(wish: PlateWish, shape: Zigzag, given: ScatterGiven) -> KindLaw:
    cast = wish.made_by == "cast"
    batch, plate = (CAST_BATCH, CAST_PLATE) if cast else (CUT_BATCH, CUT_PLATE)
    return KindLaw(
        batch=batch if given.batch is None else given.batch,
        plate=plate if given.plate is None else given.plate,
        sizes=tuple(_sizes(wish, shape, cast)) if _with_sizes(wish, given) else (),
        plates_per_batch=given.plates_per_batch or 0,
    )


def _with_sizes(wish: PlateWish, given: ScatterGiven) -> bool:
    """Whether sizes are drawn as well. What a user gives from plate to plate is measured in ohms, sizes and all; the
    assumption for castings is meant so too."""
    if given.sizes is not None:
        return given.sizes == "tolerances"
    return given.plate is None and wish.made_by != "cast"


def _sizes(wish: PlateWish, shape: Zigzag, cast: bool) -> Iterator[SizeLaw]:
    """Every tolerance that moves the ohms; the thickness of a sheet is shared by the plates cut from it."""
    for cause in spread_of(shape, wish.metal, wish.made_by, wish.making).causes:
        reach = cause.tolerance.half_m / cause.size_m
        if reach > _WIDEST:
            raise InputError(
                f"plate {wish.name}: {cause.tolerance.item} of {1e3 * cause.size_m:.3g} mm has a tolerance of "
                f"{1e3 * cause.tolerance.half_m:.3g} mm",
                hint='Give the shop\'s own tolerance in making, or write [scatter] sizes = "none".',
            )
        yield SizeLaw(reach, cause.power, cause.tolerance.item == "thickness" and not cast)


def _mass(job: Job, given: ScatterGiven) -> tuple[float, float]:
    assert job.car is not None
    mass = job.car.mass_kg
    if given.load_kg is not None:
        return mass + given.load_kg[0], mass + given.load_kg[1]
    figure = job.figures.get("car.mass")
    return (mass, mass) if figure is None else (figure.low, figure.high)


def _plates_told(wishes: list[PlateWish], kinds: dict[str, KindLaw], given: ScatterGiven) -> Iterator[CauseTold]:
    for name, known in ((BATCH, given.batch), (PLATE, given.plate)):
        parts = [(wish.name, kinds[wish.name].batch if name == BATCH else kinds[wish.name].plate) for wish in wishes]
        words = ", ".join(f"{kind} {100 * deviation:.3g} %" for kind, deviation in parts)
        lot = _lot_words(given) if name == BATCH else ""
        if any(deviation for _, deviation in parts):
            yield CauseTold(name, f"normal, standard deviation {words}, cut at three{lot}", known is None)
    drawn = [wish.name for wish in wishes if kinds[wish.name].sizes]
    if drawn:
        yield CauseTold(
            SIZES,
            f"strip width, thickness and other sizes of {', '.join(drawn)} evenly within their tolerances; sheet "
            "thickness alike in a batch",
            given.sizes is None,
        )


def _lot_words(given: ScatterGiven) -> str:
    if given.plates_per_batch is None:
        return "; all plates of a kind from one batch (assumed)"
    return f"; {given.plates_per_batch} plates of a kind to a batch"


def _alpha_told(wishes: list[PlateWish], two_alphas: bool) -> Iterator[CauseTold]:
    if two_alphas:
        ends = ", ".join(
            f"{wish.metal.key} {1e3 * wish.metal.alpha20.low:.3g} or {1e3 * wish.metal.alpha20.high:.3g} per 1000 K"
            for wish in {wish.metal.key: wish for wish in wishes}.values()
        )
        yield CauseTold(ALPHA, f"either end of its range, even chance, one for the grid: {ends}", False)


def _start_told(
    job: Job, given: ScatterGiven, line_v: tuple[float, float], mass_kg: tuple[float, float], driver: float
) -> Iterator[CauseTold]:
    assert job.start is not None
    if line_v[0] != line_v[1]:
        where = "" if given.line_v else ", nominal to highest"
        yield CauseTold(LINE, f"evenly {line_v[0]:.4g} to {line_v[1]:.4g} V{where}", given.line_v is None)
    if mass_kg[0] != mass_kg[1]:
        yield CauseTold(LOAD, f"car and load evenly {mass_kg[0] / 1e3:.4g} to {mass_kg[1] / 1e3:.4g} t", False)
    if driver:
        what = DRIVER_MISSES[job.start.notch_up]
        yield CauseTold(
            DRIVER, f"{what}: normal, standard deviation {100 * driver:.3g} %, cut at three", given.driver is None
        )
