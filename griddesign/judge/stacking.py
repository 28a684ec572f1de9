"""The boxes of a result as they are stacked: order on the rods, walked circuit, lengths, growth, mass, leads."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from griddesign.grid.layout import BoxLink, Layout
from griddesign.grid.records import Tap
from griddesign.grid.stack.build import stacks
from griddesign.grid.stack.clamps import links_made
from griddesign.grid.stack.lengths import (
    Counted,
    Growth,
    between_frames_m,
    counted,
    do_not_go_in,
    growth,
    make_up_m,
    tolerance_m,
)
from griddesign.grid.stack.records import BoxStack, KindInStack
from griddesign.grid.stack.walk import faults
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job
from griddesign.job.stack import HardwareGiven
from griddesign.judge.heat_cases import deciding
from griddesign.judge.records import PlateReport, Result

_SAME_M = 1e-5  # eyes that stand so near each other take the same rod


@dataclass(frozen=True, slots=True)
class BoxReport:
    """One box: ``between_frames_m`` None where hardware is not known; ``make_up_m`` to the longest box or to the frames
    that are there; ``spread_m`` the worst and the likely plus and minus over its eyes; ``plates_kg`` without hardware.
    """

    stack: BoxStack
    between_frames_m: float | None
    make_up_m: float
    spread_m: tuple[float, float] | None
    growth: Growth | None
    hot_c: float | None
    plates_kg: float
    whole_kg: float | None


@dataclass(frozen=True, slots=True)
class StackReport:
    """Every box, what it takes, and the leads. ``walked_faults`` empty is the proof of the order; ``misfits`` says what
    does not go together as the job has it; ``jumpers``: leads from one joint of the stack to another, by name."""

    boxes: tuple[BoxReport, ...]
    counts: tuple[Counted, ...]
    taps: tuple[Tap, ...]
    links: tuple[BoxLink, ...]
    terminals: Mapping[str, tuple[str, ...]]
    given: HardwareGiven
    walked_faults: tuple[str, ...] = ()
    misfits: tuple[str, ...] = ()
    jumpers: tuple[str, ...] = ()


def stack_report(result: Result) -> StackReport | None:
    """The stack of a result; None where there is no grid yet."""
    design = result.worked.design if result.worked else None
    layout = result.layout
    if layout is None or design is None or not layout.places:
        return None
    given = result.job.hardware or HardwareGiven()
    kinds = {plate.wish.name: _kind(plate, given) for plate in result.plates}
    built = stacks(layout, design.taps, kinds, given.hardware)
    return StackReport(
        boxes=_boxes(result, layout, built, given),
        counts=counted(built),
        taps=design.taps,
        links=links_made(layout, design.taps),
        terminals=terminals_of(result.job),
        given=given,
        walked_faults=faults(built, layout, design.taps),
        misfits=(*_spacers(built), *_eyes(result.plates, layout), *_rods(result.plates, given)),
    )


def terminals_of(job: Job) -> dict[str, tuple[str, ...]]:
    """Tap -> the terminals of the controller its leads go to, by the user's own labels; empty without a lead list."""
    found: dict[str, list[str]] = {}
    for terminal, nodes in job.chart.read.chart.leads.items() if job.chart else ():
        for node in nodes:
            found.setdefault(node, []).append(terminal)
    return {node: tuple(names) for node, names in found.items()}


def _kind(plate: PlateReport, given: HardwareGiven) -> KindInStack:
    strip_m = plate.shape.thickness_m
    return KindInStack(strip_m, given.eye_m.get(plate.wish.name, strip_m), bool(plate.shape.support_eyes))


def _boxes(result: Result, layout: Layout, built: tuple[BoxStack, ...], given: HardwareGiven) -> tuple[BoxReport, ...]:
    by_kind = {plate.wish.name: plate for plate in result.plates}
    of_plate = {place.plate: by_kind.get(place.kind, result.plates[0]) for place in layout.places}
    hot_c = _hot(result, layout)
    reports = []
    for stack, short_m in zip(built, make_up_m(built), strict=True):
        frames_m = between_frames_m(stack)
        there_m = given.frames_apart_m
        plates_kg = sum(of_plate[plate].figures.mass_kg for plate in stack.plates)
        metal_of = {plate: of_plate[plate].wish.metal for plate in stack.plates}
        hot = [hot_c[plate] for plate in stack.plates if plate in hot_c]
        known = len(hot) == len(stack.plates)
        report = BoxReport(
            stack=stack,
            between_frames_m=frames_m,
            make_up_m=there_m - frames_m if there_m is not None and frames_m is not None else short_m,
            spread_m=tolerance_m(stack, {plate: _eye_tolerance_m(of_plate[plate], given) for plate in stack.plates}),
            growth=growth(stack, metal_of, hot_c, given.rod_metal) if known else None,
            hot_c=max(hot) if known else None,
            plates_kg=plates_kg,
            whole_kg=None if given.mass_kg is None else plates_kg + given.mass_kg,
        )
        reports.append(report)
    return tuple(reports)


def _eye_tolerance_m(plate: PlateReport, given: HardwareGiven) -> float | None:
    """The job's own, else what the strip's thickness was reckoned with."""
    if given.eye_tolerance_m is not None:
        return given.eye_tolerance_m
    causes = plate.made.spread.causes if plate.made else ()
    return next((cause.tolerance.half_m for cause in causes if cause.tolerance.item == "thickness"), None)


def _hot(result: Result, layout: Layout) -> dict[int, float]:
    """The hottest each plate gets in the duty that decides, no hotter than its limit; at its limit where nothing was
    run. No entry where there is neither."""
    rows: dict[str, list[HeatRow]] = {}
    for row in deciding(result.heat):
        rows.setdefault(row.section, []).append(row)
    found = {}
    for place in layout.places:
        own = rows.get(place.section, [])
        reached = [row.hot_c if isfinite(row.hot_c) else row.limit_c for row in own]
        limit_c = result.job.limits.plate_c
        if reached or limit_c is not None:
            found[place.plate] = max(reached) if reached else limit_c or 0.0
    return found


def _spacers(built: tuple[BoxStack, ...]) -> tuple[str, ...]:
    """Gaps too short for what is to stand in them."""
    return tuple(
        f"{one.count} gaps are {-1000 * (one.length_m or 0.0):.3g} mm too short for their washers, mica and clamps"
        for one in do_not_go_in(built)
    )


def _eyes(plates: tuple[PlateReport, ...], layout: Layout) -> tuple[str, ...]:
    """Kinds in one box whose holes do not stand alike."""
    by_kind = {plate.wish.name: plate for plate in plates}
    found = []
    for box in range(1, layout.boxes + 1):
        kinds = dict.fromkeys(place.kind for place in layout.in_box(box) if place.kind)
        spans = {kind: _span(by_kind[kind]) for kind in kinds if kind in by_kind}
        first = next(iter(spans), "")
        for kind, span in spans.items():
            if any(abs(one - other) > _SAME_M for one, other in zip(span, spans[first], strict=True)):
                found.append(f"box {box}: the holes of plates {first} and {kind} do not stand alike, one pair of rods "
                             "does not pass through both")  # fmt: skip
    return tuple(found)


def _span(plate: PlateReport) -> tuple[float, float]:
    at = {mark.name: mark.at for mark in plate.outline.marks}
    (x, y), (other_x, other_y) = at["first eye"], at["last eye"]
    return other_x - x, other_y - y


def _rods(plates: tuple[PlateReport, ...], given: HardwareGiven) -> tuple[str, ...]:
    rod_m = given.hardware.rod_diameter_m
    return tuple(
        f"a rod of {1000 * rod_m:.4g} mm does not pass the {1000 * plate.shape.eye.hole_m:.4g} mm hole of plate "
        f"{plate.wish.name} with a tube round it"
        for plate in plates
        if rod_m is not None and rod_m >= plate.shape.eye.hole_m
    )
