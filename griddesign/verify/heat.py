"""Currents that plates are said to bear: what temperature each leads to, at the coolest and hottest end of all figures.

One plate inside its stack carries the current for the claimed time, or for ever:
``C(T) dT/dt = (I/q)^2 R20 r(T) - loss(T)``, marched with the loss of the heat room. Motors, neighbours, rods and leads
are left out. A drawing's plate counts with its envelope, as a zig-zag does.
"""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from griddesign.figures import WEAK
from griddesign.heat.air import FloatArray
from griddesign.heat.cooling import LOSS_BAND
from griddesign.heat.lumps import AS_GIVEN, End, LumpShelf, LumpTables
from griddesign.heat.march import march
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.job.claim_records import Rating
from griddesign.judge.finding import Verdict
from griddesign.metals import Metal
from griddesign.units import ABOUT_SHARE, show
from griddesign.verify.offer import Offer
from griddesign.verify.plates import PlateFound
from griddesign.verify.spans import Span

COOLEST = End("coolest", "low", "high", 1.0 + LOSS_BAND, "high")
HOTTEST = End("hottest", "high", "low", 1.0 - LOSS_BAND, "low")
ASK = "Ask for the heat run this rests on. Do not try the current: the plates would burn."
SAME_K = 10.0
"""Heat is compared in steps of 10 K, as the designer does: the loss model is not known better."""
_INNER_PLATES = 3
_OF_HEAT = {
    "alpha20": "coefficient",
    "emissivity": "emissivity",
    "specific_heat_20": "specific heat",
    "specific_heat_400": "specific heat",
}


@dataclass(frozen=True, slots=True)
class Reached:
    """What one plate reaches, degC: best, coolest and hottest end; ``topped``: past the top of its metal's table."""

    hot: Span
    topped: bool


@dataclass(frozen=True, slots=True)
class RatingFound:
    """A rating judged: temperature claimed (the limit it is held against) and reached, degC."""

    rating: Rating
    limit_c: float | None
    ambient_c: float
    reached: Reached | None
    verdict: Verdict
    why: str
    measure: str


@dataclass(slots=True)
class _OnePlate:
    """Cases of one plate each, at a given current: the system the march asks for."""

    tables: LumpTables
    numbers: NDArray[np.intp]
    watt_cold: FloatArray

    def rate(self, t_c: FloatArray) -> FloatArray:
        """K/s."""
        ratio, heat_j_k, loss_w = self.tables.read(self.numbers, t_c)
        return np.asarray((self.watt_cold * ratio - loss_w) / heat_j_k)

    def take(self, keep: NDArray[np.intp]) -> Self:
        """The same with the cases ``keep``."""
        return replace(self, numbers=self.numbers[keep], watt_cold=self.watt_cold[keep])


def reached(
    body: PlateBody, stack: Stack, current_a: Span, ohm: Span, ambient_c: float, time_s: float | None
) -> Reached:
    """Temperature of a plate after ``time_s`` (None: settled) at a current through it, at the ends of all figures."""
    body = replace(body, metal=_with_ranges(body.metal))
    section = HeatedSection("plate", body, 1, 1, stack, body.metal.top_c)
    shelf, ends = LumpShelf(), (COOLEST, AS_GIVEN, HOTTEST)
    numbers = np.array([[shelf.number(section, end, ambient_c)] for end in ends], dtype=np.intp)
    watts = [[current**2 * each] for current, each in zip(_ends(current_a), _ends(ohm), strict=True)]
    system = _OnePlate(shelf.tables(), numbers, np.array(watts))
    shape = (len(ends), 1)
    start, never = np.full(shape, ambient_c), np.full(shape, np.inf)
    end_s = None if time_s is None else np.full(len(ends), time_s)
    course = march(system, start, never, np.full(shape, body.metal.top_c), end_s)
    low, value, high = np.minimum(course.end_c[:, 0], body.metal.top_c).tolist()
    return Reached(Span(value, low, high, estimates_of(body.metal)), bool(course.topped[2]))


def _ends(span: Span) -> tuple[float, float, float]:
    return span.low, span.value, span.high


def _with_ranges(metal: Metal) -> Metal:
    """The metal with a range for each of its estimates that has none: as wide as "about"."""
    for name in _OF_HEAT:
        figure = getattr(metal, name)
        if figure.status in WEAK and figure.low == figure.high:
            wide = ABOUT_SHARE * abs(figure.value)
            top = 1.0 if name == "emissivity" else figure.value + wide
            ends = {"low": figure.value - wide, "high": min(figure.value + wide, top)}
            metal = metal.with_figure(name, replace(figure, **ends))
    return metal


def estimates_of(metal: Metal) -> tuple[str, ...]:
    """What of a metal the heat of its plates rests on that is an estimate."""
    weak = [named for name, named in _OF_HEAT.items() if getattr(metal, name).status in WEAK]
    return tuple(f"{named} of {metal.key}" for named in dict.fromkeys(weak))


def find_rating(offer: Offer, plates: dict[str, PlateFound], rating: Rating) -> RatingFound:
    """One current against the temperature the claim sets beside it, else its limit, else the job's."""
    limit_c, ambient_c = _limit(offer, rating), _ambient(offer, rating)
    kind, abreast = _kind(offer, rating)
    plate = plates.get(kind)
    body = None if plate is None else _body(plate)
    measure = _measure(rating)
    missing = _missing(offer, body, limit_c)
    if missing or plate is None or plate.ohm is None or body is None or limit_c is None:
        why = f"nothing to compute it from: the claim does not give {missing}"
        return RatingFound(rating, limit_c, ambient_c, None, Verdict.NOT_SHOWN, why, measure)
    current = Span.of(rating.current.figure, rating.current.key).times(1.0 / abreast)
    stack = Stack(_INNER_PLATES, _gap_m(offer))
    time_s = None if rating.time is None else rating.time.figure.value
    found = reached(body, stack, current, plate.ohm, ambient_c, time_s)
    found = replace(found, hot=found.hot.resting_on(*current.rests_on, *plate.ohm.rests_on))
    verdict, why = _judged(found, limit_c, ambient_c, offer.units)
    measure = ASK if verdict is Verdict.FAILS else measure
    return RatingFound(rating, limit_c, ambient_c, found, verdict, why, measure)


def _limit(offer: Offer, rating: Rating) -> float | None:
    for claimed in (rating.temperature, offer.claim.safety.temperature_limit):
        if claimed is not None:
            return claimed.figure.value
    return offer.job.limits.plate_c


def _ambient(offer: Offer, rating: Rating) -> float:
    return offer.job.duty.ambient_high_c if rating.ambient is None else rating.ambient.figure.value


def _kind(offer: Offer, rating: Rating) -> tuple[str, int]:
    section = offer.claim.section(rating.of)
    return (rating.of, 1) if section is None else (section.kind, section.in_parallel)


def _body(plate: PlateFound) -> PlateBody | None:
    one, metal = plate.geometry, plate.metal
    if one is None or metal is None or plate.ohm is None or plate.mass is None:
        return None
    return PlateBody(
        one.height_m, one.depth_m, one.thickness_m, one.surface_m2, plate.mass.value, plate.ohm.value, metal
    )


def _gap_m(offer: Offer) -> float:
    boxes = offer.claim.boxes
    assert boxes is not None and boxes.plate_gap is not None
    return boxes.plate_gap.figure.value


def _missing(offer: Offer, body: PlateBody | None, limit_c: float | None) -> str:
    lacks = [] if body is not None else ["metal, sizes and ohms of its plate"]
    lacks += [] if offer.claim.boxes and offer.claim.boxes.plate_gap else ["the gap between plates"]
    lacks += [] if limit_c is not None else ["the temperature it may reach"]
    return ", ".join(lacks)


def _measure(rating: Rating) -> str:
    length = "until it settles" if rating.time is None else f"for {rating.time.figure.text}"
    return (
        f"Carry {rating.current.figure.text} through it {length} and read the hottest plate; record air and volts too."
    )


def _judged(found: Reached, limit_c: float, ambient_c: float, units: str) -> tuple[Verdict, str]:
    hot = found.hot
    low, value, high, air, limit = (
        show(t_c, "temperature", units=units) for t_c in (hot.low, hot.value, hot.high, ambient_c, limit_c)
    )
    beyond = ", past the end of its metal's table" if found.topped else ""
    why = f"the plate reaches {value} ({low} to {high}{beyond}) in air of {air}, at most {limit} claimed"
    if hot.low > limit_c + SAME_K:
        return Verdict.FAILS, why
    if found.topped:
        return Verdict.NOT_SHOWN, f"{why}; beyond its table nothing is known"
    if hot.high > limit_c:
        return Verdict.NOT_SHOWN, f"{why}; the two ends disagree"
    if hot.rests_on:
        return Verdict.NOT_SHOWN, f"{why}; rests on an estimate: {', '.join(hot.rests_on)}"
    return Verdict.HOLDS, why
