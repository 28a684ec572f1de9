"""A claim verified line by line: every point judged, weighed by what it does to the car, and ranked."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from griddesign.grid.circuit import names
from griddesign.heat.records import HeatRow
from griddesign.job.claim_records import Claim, Claimed
from griddesign.job.records import Job
from griddesign.judge.finding import Verdict
from griddesign.judge.fingerprint import fingerprint
from griddesign.progress import at
from griddesign.telling import stage
from griddesign.units import show, show_change, show_cold
from griddesign.verify.grid import (
    SectionFound,
    Whole,
    built,
    find_boxes,
    find_notches,
    find_section,
    find_sizes_of_boxes,
    find_taps,
    laid_out,
    run_ohm,
)
from griddesign.verify.heat import SAME_K, RatingFound, estimates_of, find_rating
from griddesign.verify.metals import find_certificates
from griddesign.verify.offer import Offer
from griddesign.verify.plates import PlateFound, find_plate
from griddesign.verify.points import Judged
from griddesign.verify.records import Effect, Verified, VerifyFinding, ranked
from griddesign.verify.safety import find_safety
from griddesign.verify.spans import Span
from griddesign.verify.weights import Car, hottest_rows, put_in_car

SEEN_SHARE, SEEN_K = 5e-4, 1.0
"""What moves a current or a temperature by less is not worth a word."""


@stage("the claim held against all that is known")
def verify_claim(job: Job, claim: Claim) -> Verified:
    """Every claimed figure computed from the rest, the job and the tables, each finding with its weight.

    Raises InputError and GeometryError where a drawing of the claim cannot be read.
    """
    work = _work(Offer(job, claim))
    findings = ranked((*_findings(work), *find_safety(job, claim)))
    files = (*job.files, *claim.files)
    counted = Counter(finding.verdict for finding in findings)
    remarks = (f"What the car feels is not known: {work.car.why_not}.",) if work.car.why_not else ()
    return Verified(job, claim, fingerprint(files, job.asked), findings, remarks, counted)


@dataclass(frozen=True)
class _Work:
    """Everything found before it is weighed."""

    offer: Offer
    plates: Mapping[str, PlateFound]
    sections: Mapping[str, SectionFound]
    notches: tuple[tuple[str, Judged], ...]
    wholes: tuple[Whole, ...]
    boxes: tuple[Judged, ...]
    ratings: tuple[RatingFound, ...]
    car: Car

    def plates_in(self) -> dict[str, int]:
        """Plates of each section, as claimed."""
        return {name: one.section.plates for name, one in self.sections.items() if one.section.plates}


def _work(offer: Offer) -> _Work:
    claim = offer.claim
    plates = {plate.name: find_plate(offer, plate) for plate in claim.plates}
    sections = {section.name: find_section(offer, plates, section) for section in claim.sections}
    chain = built(offer, sections, plates)
    layout = laid_out(offer, chain)
    at("the claimed grid in its boxes, and in the car")
    return _Work(
        offer,
        plates,
        sections,
        tuple(find_notches(offer, sections)),
        (*find_boxes(offer, chain, layout), *find_taps(offer, layout)),
        tuple(find_sizes_of_boxes(offer, plates, sections)),
        tuple(find_rating(offer, plates, rating) for rating in claim.ratings),
        put_in_car(offer, plates, chain),
    )


def _findings(work: _Work) -> Iterator[VerifyFinding]:
    yield from find_certificates(work.offer.claim, work.offer.units)
    for name, plate in work.plates.items():
        yield from (_of_plate(work.car, name, judged) for judged in plate.judged)
    for name, section in work.sections.items():
        if section.judged is not None:
            yield _finding(section.judged, _of_section(work.car, name, section.judged))
    for name, judged in work.notches:
        yield _finding(judged, _of_notch(work.car, name, judged))
    for whole in work.wholes:
        yield _of_whole(work, whole)
    yield from (_finding(judged, Effect()) for judged in work.boxes)
    yield from (_of_rating(work.car, rating) for rating in work.ratings)
    yield from _tests_of_no_use(work)
    yield from _for_the_car(work)


def _of_plate(car: Car, name: str, judged: Judged) -> VerifyFinding:
    if judged.excused:
        return _finding(judged, Effect())
    factor = max(1.0 + judged.off, 1e-3)
    effect = car.by_mass(name, factor) if judged.point.kind == "mass" else car.of_kind(name, factor)
    return _finding(judged, effect)


def _of_section(car: Car, name: str, judged: Judged) -> Effect:
    return Effect() if judged.excused or judged.route is None else car.by_ohms({name: max(1.0 + judged.off, 1e-3)})


def _of_notch(car: Car, name: str, judged: Judged) -> Effect:
    if judged.route is None or judged.excused:
        return Effect()
    return car.of_notch(name, judged.point.claimed.value, judged.route.span.value)


def _finding(judged: Judged, effect: Effect) -> VerifyFinding:
    point = judged.point
    return VerifyFinding(
        point.item,
        point.claimed.value,
        None if judged.route is None else judged.route.span.value,
        point.unit,
        point.kind,
        judged.verdict,
        _with_effect(judged.why, effect, judged.verdict),
        "" if judged.verdict is Verdict.HOLDS else point.measure,
        effect,
    )


def _with_effect(why: str, effect: Effect, verdict: Verdict) -> str:
    """Why, and what it does to the car where it does not hold."""
    if verdict is Verdict.HOLDS:
        return why
    current, heat_k = effect.current or 0.0, effect.heat_k or 0.0
    moves = [] if current < SEEN_SHARE else [f"the current of notch {effect.notch} by {100 * current:.1f} %"]
    moves += [] if heat_k < SEEN_K else [f"section {effect.section} by about {heat_k:.0f} K"]
    how = "so wrong, it moves" if verdict is Verdict.FAILS else "at its worst that moves"
    return f"{why}; {how} {' and '.join(moves)}" if moves else why


def _of_whole(work: _Work, whole: Whole) -> VerifyFinding:
    verdict = Verdict.HOLDS if whole.holds else Verdict.NOT_SHOWN if whole.computed is None else Verdict.FAILS
    effect = Effect()
    if whole.plates_off:
        effect = work.car.by_tap(whole.before, whole.after, whole.plates_off, work.plates_in())
    measure = "" if whole.holds else "Count the plates of one box, from its dot end, and mark where its taps sit."
    why = _with_effect(whole.why, effect, verdict)
    return VerifyFinding(whole.item, whole.claimed, whole.computed, "1", "count", verdict, why, measure, effect)


def _of_rating(car: Car, found: RatingFound) -> VerifyFinding:
    hot_c = None if found.reached is None else found.reached.hot.value
    effect = Effect()
    if found.reached is not None and found.limit_c is not None:
        over_k, room_k = found.reached.hot.high - found.limit_c, found.limit_c - found.ambient_c
        effect = car.by_heat(found.rating.of, over_k, room_k)
    measure = "" if found.verdict is Verdict.HOLDS else found.measure
    item = f"rating {found.rating.name}"
    return VerifyFinding(item, found.limit_c, hot_c, "degC", "temperature", found.verdict, found.why, measure, effect)


def _tests_of_no_use(work: _Work) -> Iterator[VerifyFinding]:
    """Test reports whose ohms cannot be brought to 20 degC: they bear nothing out."""
    claim = work.offer.claim
    for test in claim.tests:
        kind = claim.plate(test.of) or claim.plate(section.kind if (section := claim.section(test.of)) else "")
        if test.ohm is None:
            continue
        found = work.offer.cold(test.ohm, kind.metal if kind else None)
        if found.no_reference or found.missing:
            why = "no reference temperature" if found.no_reference else f"the claim does not give {found.missing}"
            why += f": it cannot be brought to {show_cold(work.offer.units)}, so it bears nothing out"
            ask = (
                "Ask for the report with the temperature of the metal." if found.no_reference else "Ask for the metal."
            )
            item, ohm = f"test report {test.name}", test.ohm.figure.value
            yield VerifyFinding(item, ohm, None, "ohm", "resistance", Verdict.NOT_SHOWN, why, ask)


# --- whether the grid offered is the grid wanted ---------------------------------------------------------------------


def _for_the_car(work: _Work) -> Iterator[VerifyFinding]:
    """Notch by notch the offered counts against the ohms the job wants, and the heat of its duty."""
    section_ohm = {name: one.ohm for name, one in work.sections.items()}
    share = work.offer.job.limits.notch_tolerance
    for aim in work.car.aims:
        got = run_ohm(aim.circuit, section_ohm)
        if got is None or not aim.circuit.parts:
            continue
        errors = [aim.error(value) for value in (got.low, got.value, got.high)]
        got = got.resting_on(*_not_shown_ohms(work, names(aim.circuit)))
        verdict = _within([abs(error) for error in errors], share, bool(got.rests_on))
        offered, wanted = (show(ohm, "resistance", digits=4) for ohm in (got.value, aim.wanted_ohm))
        felt = f"current {show_change(errors[1])}, allowed ±{100 * share:.3g} %"
        why = f"offered {offered}, the job wants {wanted}: {felt}"
        effect = Effect(abs(errors[1]), aim.name, weight=abs(errors[1]) / share)
        measure = "" if verdict is Verdict.HOLDS else f"Measure notch {aim.name} four-wire, cold."
        why += _rests(got.rests_on, verdict)
        item = f"for the car: notch {aim.name}"
        yield VerifyFinding(item, got.value, aim.wanted_ohm, "ohm", "resistance", verdict, why, measure, effect)
    yield from _heat(work)
    yield from _temperatures(work)


def _heat_estimates(work: _Work, section: str) -> tuple[str, ...]:
    plate = work.plates.get(work.car.kinds.get(section, ""))
    return () if plate is None or plate.metal is None else estimates_of(plate.metal)


def _not_shown_ohms(work: _Work, sections: tuple[str, ...]) -> Iterator[str]:
    """Plates of these sections whose claimed ohms are not shown: the car cannot rest on them."""
    for kind in dict.fromkeys(work.sections[name].section.kind for name in sections if name in work.sections):
        judged = work.plates[kind].judged if kind in work.plates else ()
        if any(one.verdict is Verdict.NOT_SHOWN and one.point.item == f"plate {kind}, ohms" for one in judged):
            yield f"ohms of plate {kind}, not shown"


def _rests(estimates: tuple[str, ...], verdict: Verdict) -> str:
    return f"; rests on an estimate: {', '.join(estimates)}" if estimates and verdict is Verdict.NOT_SHOWN else ""


def _within(errors: list[float], share: float, weak: bool) -> Verdict:
    low, value, high = errors
    room = share * (1.0 + 1e-9)
    if min(low, value, high) > room:
        return Verdict.FAILS
    return Verdict.HOLDS if max(low, high, value) <= room and not weak else Verdict.NOT_SHOWN


def _heat(work: _Work) -> Iterator[VerifyFinding]:
    """The section with the least margin in the job's duty, at the worst end and as given."""
    car = work.car
    worst, given = hottest_rows(car.worst), hottest_rows(car.given)
    if not worst:
        return
    row = min(worst.values(), key=lambda one: one.margin_k)
    base = given[row.section]
    fails, holds = base.margin_k < 0.0, row.margin_k >= 0.0
    estimates = _heat_estimates(work, row.section)
    verdict = Verdict.FAILS if fails else Verdict.HOLDS if holds and not estimates else Verdict.NOT_SHOWN
    reached, limit = (show(t_c, "temperature", units=work.offer.units) for t_c in (min(row.hot_c, 3000.0), row.limit_c))
    why = f"section {row.section}, {row.case}: {reached} at the worst end, limit {limit}, by mean currents"
    why += _rests(estimates, verdict)
    effect = car.by_heat(row.section, -row.margin_k, row.limit_c - row.ambient_c)
    measure = "" if verdict is Verdict.HOLDS else "Read the hottest plates on a worked day."
    hot_c = min(row.hot_c, 3000.0)
    yield VerifyFinding(
        "for the car: heat of the duty", row.limit_c, hot_c, "degC", "temperature", verdict, why, measure, effect
    )


def _temperatures(work: _Work) -> Iterator[VerifyFinding]:
    """What sections are said to reach in the job's duty."""
    worst, given = hottest_rows(work.car.worst), hottest_rows(work.car.given)
    for name, one in work.sections.items():
        claimed = one.section.temperature
        if claimed is not None:
            yield _temperature(work, name, claimed, worst.get(name), given.get(name))


def _temperature(
    work: _Work, name: str, claimed: Claimed, worst: HeatRow | None, given: HeatRow | None
) -> VerifyFinding:
    limit_c, item = claimed.figure.value, f"section {name}, temperature in the duty"
    measure = f"Read the hottest plate of section {name} on a worked day."
    if worst is None or given is None:
        why = "nothing to compute it from: it takes a car with its duty, and a claim that gives all plates and counts"
        return VerifyFinding(item, limit_c, None, "degC", "temperature", Verdict.NOT_SHOWN, why, measure)
    estimates = (*_heat_estimates(work, name), *Span.of(claimed.figure, claimed.key).rests_on)
    holds = worst.hot_c <= limit_c
    fails = given.hot_c > limit_c + SAME_K
    verdict = Verdict.FAILS if fails else Verdict.HOLDS if holds and not estimates else Verdict.NOT_SHOWN
    at, ends = (show(min(row.hot_c, 3000.0), "temperature", units=work.offer.units) for row in (given, worst))
    why = f"{worst.case}: {at}, at the worst end {ends}, by mean currents{_rests(estimates, verdict)}"
    effect = work.car.by_heat(name, worst.hot_c - limit_c, limit_c - worst.ambient_c)
    measure = "" if verdict is Verdict.HOLDS else measure
    return VerifyFinding(item, limit_c, min(given.hot_c, 3000.0), "degC", "temperature", verdict, why, measure, effect)
