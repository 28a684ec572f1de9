"""Sections, notches, boxes and taps of a claim, each computed from the plates and counts it claims."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from griddesign.errors import GriddesignError
from griddesign.grid.build import build_section
from griddesign.grid.circuit import names, ohms
from griddesign.grid.layout import Layout, lay_out
from griddesign.grid.records import BoxPlan, Run, SectionBuild, Tap
from griddesign.grid.taps import string_breaks, taps
from griddesign.job.claim_records import ClaimedBoxes, ClaimedNotch, ClaimedSection, ClaimedTap
from griddesign.judge.finding import Verdict
from griddesign.metals import Metal
from griddesign.verify.offer import Offer
from griddesign.verify.plates import PlateFound, cold_or_none
from griddesign.verify.points import Judged, Point, Route, against, judge
from griddesign.verify.spans import Span

MOST_BOXES = 1000
NO_COUNTS = (
    "nothing to compute it from: the claim does not give the counts of every section, and boxes with their plates that "
    "hold them"
)
ENDS = ("low", "value", "high")
Plates = Mapping[str, PlateFound]


@dataclass(frozen=True)
class SectionFound:
    """A section judged: its point where ohms are claimed, its ohms by counts and as claimed, and those all that follows
    is computed with."""

    section: ClaimedSection
    judged: Judged | None
    by_counts: Span | None
    as_claimed: Span | None

    @property
    def ohm(self) -> Span | None:
        """By counts, else as claimed."""
        return self.by_counts or self.as_claimed


def find_section(offer: Offer, plates: Plates, section: ClaimedSection) -> SectionFound:
    """One section: its ohms from plates and counts, and from tests of it."""
    plate = plates.get(section.kind)
    metal = plate.plate.metal if plate else None
    by_counts = _by_counts(offer, section, plate.ohm if plate else None)
    as_claimed = cold_or_none(offer, section.ohm, metal)
    if section.ohm is None:
        return SectionFound(section, None, by_counts, None)
    found = offer.cold(section.ohm, metal)
    routes = [] if by_counts is None else [Route(_count_words(section), by_counts)]
    routes += _tests(offer, section.name, metal)
    missing = found.missing or "its counts and the ohms of a plate"
    point = Point(
        f"section {section.name}, ohms",
        found.span,
        "resistance",
        "ohm",
        offer.allowed(section.ohm),
        () if found.missing else tuple(routes),
        missing=missing,
        measure=f"Measure section {section.name} four-wire, cold, tap to tap, with the metal's temperature.",
        excuse=_follows_a_wrong_plate(offer, section, plate, found.span),
        no_reference=found.no_reference,
    )
    return SectionFound(section, judge(point, offer.units), by_counts, as_claimed)


def _by_counts(offer: Offer, section: ClaimedSection, plate_ohm: Span | None) -> Span | None:
    if plate_ohm is None or section.plates is None:
        return None
    steps, joint = section.plates // section.in_parallel, offer.claim.boxes.joint_ohm if offer.claim.boxes else 0.0
    return plate_ohm.times(steps / section.in_parallel).plus(steps * joint)


def _count_words(section: ClaimedSection) -> str:
    side = f", {section.in_parallel} side by side" if section.in_parallel > 1 else ""
    return f"{section.plates} plates {section.kind}{side}"


def _tests(offer: Offer, name: str, metal: Metal | None) -> Iterator[Route]:
    for test in offer.claim.tests:
        span = cold_or_none(offer, test.ohm, metal) if test.of == name else None
        if span is not None:
            yield Route(f"test report {test.name}", span)


def _follows_a_wrong_plate(offer: Offer, section: ClaimedSection, plate: PlateFound | None, claimed: Span) -> str:
    """The excuse of a section that fits the plate's ohms as claimed, where these stand accused."""
    if plate is None or plate.claimed_ohm is None or plate.ohm == plate.claimed_ohm or section.ohm is None:
        return ""
    wrong = _by_counts(offer, section, plate.claimed_ohm)
    share = offer.allowed(section.ohm).share
    if wrong is None or against(claimed, wrong, share) is Verdict.FAILS:
        return ""
    return f"it follows from the ohms of plate {section.kind} as claimed, which fail"


def find_notches(offer: Offer, sections: Mapping[str, SectionFound]) -> Iterator[tuple[str, Judged]]:
    """Every claimed notch by its name, from the sections in its circuit; of a grid per string each string."""
    circuits = {notch.name: notch.strings or ((notch.common,) if notch.common else ()) for notch in offer.job.notches}
    networks = {notch.name: notch.network.why for notch in offer.job.notches if notch.network is not None}
    for notch in offer.claim.notches:
        runs = circuits.get(notch.name, ())
        if notch.name in networks:
            yield notch.name, judge(_no_ohms(offer, notch, networks[notch.name]), offer.units)
        for number, run in enumerate(runs, start=1):
            point = _notch(offer, notch, run, sections)
            item = f"{point.item}, string {number}" if len(runs) > 1 else point.item
            yield notch.name, judge(replace(point, item=item), offer.units)


def _no_ohms(offer: Offer, notch: ClaimedNotch, why: str) -> Point:
    """The claim of a notch that has no ohms of a grid by itself."""
    return Point(
        f"notch {notch.name}, ohms",
        offer.cold(notch.ohm, None).span,
        "resistance",
        "ohm",
        offer.allowed(notch.ohm),
        (),
        missing=f"a grouping of motors to count them by: the notch is {why}",
        measure=f"Hold the currents of notch {notch.name} against griddesign start.",
    )


def _notch(offer: Offer, notch: ClaimedNotch, run: Run, sections: Mapping[str, SectionFound]) -> Point:
    by_counts = run_ohm(run, {name: one.ohm for name, one in sections.items()})
    as_claimed = run_ohm(run, {name: one.as_claimed for name, one in sections.items()})
    found = offer.cold(notch.ohm, _metal(offer, run, sections))
    words = f"circuit {' '.join(names(run)) or 'without grid'}"
    routes = () if by_counts is None or found.missing else (Route(f"{words} of the sections by counts", by_counts),)
    allowed = offer.allowed(notch.ohm)
    follows = as_claimed is not None and against(found.span, as_claimed, allowed.share) is not Verdict.FAILS
    return Point(
        f"notch {notch.name}, ohms",
        found.span,
        "resistance",
        "ohm",
        allowed,
        routes,
        missing=found.missing or "counts and plate ohms of every section in its circuit",
        measure=f"Measure notch {notch.name} four-wire, cold, at the controller's terminals.",
        excuse="it follows from the ohms of its sections as claimed, which do not fit" if follows else "",
        no_reference=found.no_reference,
    )


def _metal(offer: Offer, run: Run, sections: Mapping[str, SectionFound]) -> Metal | None:
    kinds = [sections[name].section.kind for name in names(run) if name in sections]
    plates = [offer.claim.plate(kind) for kind in kinds]
    return next((plate.metal for plate in plates if plate is not None and plate.metal is not None), None)


def run_ohm(run: Run, section_ohm: Mapping[str, Span | None]) -> Span | None:
    """Ohms of a circuit at both ends; they never fall where a section's ohms rise. None where a section has none."""
    used = {name: section_ohm.get(name) for name in names(run)}
    known = {name: span for name, span in used.items() if span is not None}
    if len(known) < len(used):
        return None
    low, value, high = (ohms(run, {name: getattr(span, end) for name, span in known.items()}) for end in ENDS)
    rests = tuple(dict.fromkeys(name for span in known.values() for name in span.rests_on))
    return Span(value, low, high, rests)


# --- boxes and taps --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Whole:
    """A count held against a count: nothing but the very number holds. ``computed``: None where there is nothing to
    count. ``plates_off``: by how many plates a tap is off, for its weight."""

    item: str
    claimed: int
    computed: int | None
    holds: bool
    why: str
    plates_off: int = 0
    before: str = ""
    after: str = ""


def built(offer: Offer, sections: Mapping[str, SectionFound], plates: Plates) -> tuple[SectionBuild, ...]:
    """The sections in the order of the chain as far as counts and plate ohms are known of all; () where not."""
    order = offer.job.section_order or tuple(sections)
    found = []
    for name in order:
        one = sections.get(name)
        plate = plates.get(one.section.kind) if one else None
        if one is None or one.section.plates is None:
            return ()
        ohm = plate.ohm.value if plate is not None and plate.ohm is not None else 1.0
        counts = one.section.plates // one.section.in_parallel, one.section.in_parallel
        joint = offer.claim.boxes.joint_ohm if offer.claim.boxes else 0.0
        found.append(build_section(name, one.section.kind, *counts, ohm, joint))
    return tuple(found)


def laid_out(offer: Offer, sections: tuple[SectionBuild, ...]) -> Layout | None:
    """Every plate in boxes of the claimed size, as many as it takes; None where the claim does not say enough, or where
    a step does not fit a box."""
    boxes = offer.claim.boxes
    if boxes is None or boxes.plates_per_box is None or not sections:
        return None
    gap_m = boxes.plate_gap.figure.value if boxes.plate_gap else 0.0
    try:
        plan = BoxPlan(MOST_BOXES, boxes.plates_per_box, gap_m, boxes.tap_sides, boxes.joint_ohm)
        return lay_out(sections, plan)
    except GriddesignError:
        return None


def find_boxes(offer: Offer, sections: tuple[SectionBuild, ...], layout: Layout | None) -> Iterator[Whole]:
    """Whether the plates fit the boxes as claimed: neither too few nor one to spare."""
    boxes = offer.claim.boxes
    if boxes is None or boxes.boxes is None:
        return
    if layout is None or boxes.plates_per_box is None:
        yield Whole("boxes", boxes.boxes, None, False, NO_COUNTS)
        return
    plates = sum(section.plates for section in sections)
    needed = layout.boxes
    why = f"{plates} plates in circuit, {boxes.plates_per_box} to a box, fill {needed} boxes"
    yield Whole("boxes", boxes.boxes, needed, boxes.boxes == needed, why)


def find_taps(offer: Offer, layout: Layout | None) -> Iterator[Whole]:
    """Every claimed tap against the one that the counts give, counted in plates from the dot end of box 1."""
    if layout is None:
        yield from (Whole(f"tap {tap.name}", tap.joint[0], None, False, NO_COUNTS) for tap in offer.claim.taps)
        return
    notches = offer.job.notches
    breaks = [name for notch in notches for name in string_breaks(offer.job.section_order, notch.strings)]
    known = {tap.name: tap for tap in taps(layout, dict.fromkeys(breaks))}
    for claimed in offer.claim.taps:
        if claimed.name in known:
            yield _tap(layout, claimed, known[claimed.name])
        else:
            why = f"the counts give no tap of that name; they give {', '.join(known)}"
            yield Whole(f"tap {claimed.name}", claimed.joint[0], None, False, why)


def _tap(layout: Layout, claimed: ClaimedTap, counted: Tap) -> Whole:
    before = sum(len(layout.in_box(box)) for box in range(1, claimed.box))
    after_plate = before + claimed.joint[0]
    said = f"joint {claimed.joint[0]}|{claimed.joint[1]} of box {claimed.box}"
    right = f"joint {counted.joint[0]}|{counted.joint[1]} of box {counted.box}, {counted.side}"
    first, _, second = claimed.name.partition("/")
    return Whole(
        f"tap {claimed.name}",
        after_plate,
        counted.after_plate,
        after_plate == counted.after_plate,
        f"the counts put it at {right}; claimed {said}",
        after_plate - counted.after_plate,
        first,
        second,
    )


def find_sizes_of_boxes(offer: Offer, plates: Plates, sections: Mapping[str, SectionFound]) -> Iterator[Judged]:
    """Length of a full stack, and the mass of all plates."""
    boxes = offer.claim.boxes
    if boxes is None:
        return
    if boxes.stack_length is not None:
        yield judge(_stack(offer, boxes, plates), offer.units)
    if boxes.plates_mass is not None:
        yield judge(_mass(offer, boxes, plates, sections), offer.units)


def _stack(offer: Offer, boxes: ClaimedBoxes, plates: Plates) -> Point:
    assert boxes.stack_length is not None
    thick = [plate.geometry.thickness_m for plate in plates.values() if plate.geometry is not None]
    routes: tuple[Route, ...] = ()
    if boxes.plates_per_box and boxes.plate_gap is not None and thick:
        gap, count = Span.of(boxes.plate_gap.figure, boxes.plate_gap.key), boxes.plates_per_box
        length = gap.times(count - 1).plus(count * max(thick)) if count > 1 else Span.exact(max(thick))
        routes = (Route(f"{count} plates and the gaps between them", length),)
    span = Span.of(boxes.stack_length.figure, boxes.stack_length.key)
    missing, measure = "plates per box, plate gap and thickness", "Measure a full stack from face to face."
    allowed = offer.allowed(boxes.stack_length)
    return Point("boxes, length of the stack", span, "length", "m", allowed, routes, missing, measure)


def _mass(offer: Offer, boxes: ClaimedBoxes, plates: Plates, sections: Mapping[str, SectionFound]) -> Point:
    assert boxes.plates_mass is not None
    parts = [_section_mass(one.section, plates) for one in sections.values()]
    known = [part for part in parts if part is not None]
    routes: tuple[Route, ...] = ()
    if known and len(known) == len(parts):
        total = known[0]
        for part in known[1:]:
            total = total + part
        routes = (Route("the plates of all sections", total),)
    span, allowed = Span.of(boxes.plates_mass.figure, boxes.plates_mass.key), offer.allowed(boxes.plates_mass)
    point = Point(
        "mass of all plates", span, "mass", "kg", allowed, routes, "counts and the mass of a plate", "Weigh one box."
    )
    return replace(point, excuse=_follows_wrong_masses(span, allowed.share, sections, plates))


def _section_mass(section: ClaimedSection, plates: Plates) -> Span | None:
    plate = plates.get(section.kind)
    if plate is None or plate.mass is None or section.plates is None:
        return None
    return plate.mass.times(section.plates)


def _follows_wrong_masses(span: Span, share: float, sections: Mapping[str, SectionFound], plates: Plates) -> str:
    """The excuse of a total that fits the masses as claimed, where one of these stands accused."""
    total = 0.0
    for one in sections.values():
        plate = plates.get(one.section.kind)
        if plate is None or plate.plate.mass is None or one.section.plates is None:
            return ""
        total += plate.plate.mass.figure.value * one.section.plates
    fits = total and against(span, Span.exact(total), share) is not Verdict.FAILS
    return "it follows from the masses of the plates as claimed, of which one fails" if fits else ""
