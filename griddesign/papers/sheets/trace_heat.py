"""The working of the heat: the loss of a plate of the hottest section, and its settled duty by hand."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from griddesign.choose.duty import section_heat
from griddesign.choose.from_job import limit_c
from griddesign.choose.kinds import body_of
from griddesign.grid.records import SectionBuild
from griddesign.heat.air import film
from griddesign.heat.cooling import (
    LOSS_BAND,
    convection_w_m2k,
    elenbaas,
    inner_radiating_m2,
    loss_w,
    rayleigh,
    rectangle_view_factor,
)
from griddesign.heat.records import HeatedSection, HeatRow, LossKnown, PlateBody, Stack
from griddesign.judge.records import Result
from griddesign.papers.sheets.heat import duty_rows
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, Shown
from griddesign.papers.sheets.trace import Line, Part

_EQUATION = (
    "One plate is one lump: C(T) dT/dt = (I·share/q)² R20 r(T) − loss(T), q plates side by side, marched over "
    "start and pause until the cycle comes back to itself. Every row is run with the figures as given and at the "
    "ends of temperature coefficient, emissivity, specific heat and loss; the hottest is printed."
)


@dataclass(frozen=True, slots=True)
class _Hottest:
    """The section with the least margin, as the heat room had it."""

    row: HeatRow
    build: SectionBuild
    heated: HeatedSection
    joules: float
    on_s: float

    @property
    def body(self) -> PlateBody:
        return self.heated.body

    @property
    def stack(self) -> Stack:
        return self.heated.stack


def heat_parts(result: Result) -> tuple[Part, ...]:
    """Loss of the hottest plate; nothing where no heat was run."""
    found = _hottest(result)
    if found is None:
        return ()
    shown = Shown(result.job.paper.units)
    loss = Part(
        f"Heat of a plate of section {found.row.section}, the hottest",
        tuple(_lines(found, shown)),
        (_EQUATION, _state_words(found, shown)),
    )
    return (loss,)


def _hottest(result: Result) -> _Hottest | None:
    rows = duty_rows(result)
    design = result.worked.design if result.worked else None
    if not rows or design is None or result.job.boxes is None or result.start_highest is None:
        return None
    row = min(rows, key=lambda one: one.margin_k)
    build = next(section for section in design.sections if section.name == row.section)
    plate = next(plate for plate in result.plates if plate.wish.name == build.kind)
    boxes = result.job.boxes
    heated = HeatedSection(
        build.name,
        body_of(plate.shape, plate.wish, build.plate_ohm),
        build.series,
        build.in_parallel,
        Stack(boxes.plates_per_box, boxes.plate_gap_m),
        limit_c(result.job, build.kind),
    )
    return _Hottest(row, build, heated, *_start_heat(result, row))


def _start_heat(result: Result, row: HeatRow) -> tuple[float, float]:
    """Joules of the hottest start of the row's section and how long it carried current: as run, or at mean currents
    where the start could not be run."""
    if result.ran is not None:
        return result.ran.start_heat(row)
    start = next(one for one in (result.start_highest, result.start) if one is not None and one.line_v == row.line_v)
    return next((joules, on_s) for name, joules, on_s in section_heat(start) if name == row.section)


def _state_words(found: _Hottest, shown: Shown) -> str:
    row = found.row
    return (
        f"Below, loss and heat capacity at {shown.temperature(_at_c(found))}, ambient "
        f"{shown.temperature(row.ambient_c)}, with the figures as given. The row itself: {row.case}, "
        f"{shown.of(row.line_v, 'voltage')}, worst end: {row.worst_end}."
    )


def _at_c(found: _Hottest) -> float:
    """The temperature the lines are worked out at: that of the row, or the top of the table where it lies above."""
    top_c = max(found.body.metal.top_c, found.heated.limit_c)
    return top_c if math.isinf(found.row.hot_c) else min(found.row.hot_c, top_c)


def _lines(found: _Hottest, shown: Shown) -> Iterator[Line]:
    yield from _capacity_lines(found, shown)
    yield from _convection_lines(found, shown)
    yield from _radiation_lines(found, shown)
    at_c, ambient_c = _at_c(found), found.row.ambient_c
    known = found.body.loss or LossKnown(1.0, 1.0 - LOSS_BAND, 1.0 + LOSS_BAND)
    loss, low, high = (
        float(loss_w(found.body, found.stack, at_c, ambient_c, factor))
        for factor in (known.factor, known.low, known.high)
    )
    range_of = f"not known better than {100 * LOSS_BAND:.0f}{NO_BREAK}%"
    yield Line(
        "loss of a plate",
        "h·A (T − Ta) + σ·A_rad (T⁴ − Ta⁴)",
        "",
        f"{ABOUT}{shown.of(loss, 'power')}",
        f"best estimate; {range_of}" if found.body.loss is None else f"times {known.factor:.3f} by the heat run",
        shown.range(low, high, "power"),
    )
    yield from _by_hand(found, shown)


def _capacity_lines(found: _Hottest, shown: Shown) -> Iterator[Line]:
    body, at_c = found.body, _at_c(found)
    plates = found.build.plates
    yield Line(
        "Q of a plate in a start",
        "Q of the section / plates, hot ohms, joints in it",
        f"{shown.of(found.joules, 'energy')} / {plates}",
        shown.of(found.joules / plates, "energy"),
        f"within {shown.of(found.on_s, 'time')}, from the start as run",
    )
    yield Line("r(T)", "R(T)/R(20)", "", f"{ABOUT}{body.metal.ratio(at_c):.3f}", "metal")
    heat = body.metal.specific_heat(at_c)
    put_in = f"{shown.of(body.mass_kg, 'mass')} · {shown.of(heat, 'specific_heat')}"
    yield Line("C, heat capacity", "mass · cp(T)", put_in, f"{ABOUT}{body.mass_kg * heat:.0f}{NO_BREAK}J/K", "metal")


def _convection_lines(found: _Hottest, shown: Shown) -> Iterator[Line]:
    body, stack, at_c, ambient_c = found.body, found.stack, _at_c(found), found.row.ambient_c
    air, rise_k = film(at_c, ambient_c), at_c - ambient_c
    gap_m = stack.clear_gap_m if stack.plates > 1 else None
    yield Line("A, surface", "both faces and the rim of the metal", "", shown.of(body.surface_m2, "area"), "outline")
    yield Line(
        "Ra",
        "g·β·ΔT·H³/(ν·α), air at the mean of plate and room",
        "",
        f"{float(rayleigh(rise_k, body.height_m, air)):.3g}",
        "air: Lemmon et al. 2000, Lemmon and Jacobsen 2004",
    )
    if gap_m is not None:
        el = float(elenbaas(rise_k, gap_m, body.height_m, air))
        yield Line(
            "El",
            f"Ra of the gap · b/H, b {shown.of(gap_m, 'length')}, H {shown.of(body.height_m, 'length')}",
            "",
            f"{el:.3g}",
            "Elenbaas 1942",
        )
    film_w = float(convection_w_m2k(body.height_m, gap_m, at_c, ambient_c))
    yield Line(
        "h",
        "k · min(Nu channel / b, Nu single plate / H)",
        "",
        f"{ABOUT}{shown.of(film_w, 'heat_transfer')}",
        "Bar-Cohen and Rohsenow 1984; Churchill and Chu 1975",
    )


def _radiation_lines(found: _Hottest, shown: Shown) -> Iterator[Line]:
    body, stack = found.body, found.stack
    emissivity = shown.figure(body.metal.emissivity, "number")
    if stack.plates > 1:
        factor = rectangle_view_factor(body.height_m, body.depth_m, stack.clear_gap_m)
        sides = (
            f"{shown.of(body.height_m, 'length')} × {shown.of(body.depth_m, 'length')}, "
            f"{shown.of(stack.clear_gap_m, 'length')} apart"
        )
        yield Line(
            "F, plate to plate",
            f"view factor of two equal rectangles, {sides}",
            "",
            f"{factor:.4f}",
            "Incropera and DeWitt, table 13.2",
        )
    black_m2 = inner_radiating_m2(body, stack)
    yield Line(
        "A_rad",
        f"G + 2·ε·t (H + D), G = 1/[(1−ε)/(2·ε·H·D) + 1/(2·H·D (1−F))], ε {emissivity}",
        "",
        f"{ABOUT}{shown.of(black_m2, 'area')}",
        "grey enclosure, derived; a plate inside the stack",
    )


def _by_hand(found: _Hottest, shown: Shown) -> Iterator[Line]:
    """The same duty in closed form, to see that the march is no wizardry."""
    hand_c = found.row.by_hand_c
    if hand_c is None or math.isinf(hand_c):
        return
    yield Line(
        "T settled, by hand",
        "Ta + Σ θ (1 − e^(−on/τ)) e^(−since/τ) / (1 − e^(−round/τ)) over the starts of a round; mean: loss(T) = heat "
        "of a round / its length, there τ = C (T − Ta)/loss, and θ what a start's power would end at",
        "",
        f"{ABOUT}{shown.temperature(hand_c)}",
        f"closed form, figures as given, the section alone; as run it is "
        f"{shown.temperature(_alone_c(found.row))}, at the worst end {shown.temperature(found.row.hot_c)}",
    )


def _alone_c(row: HeatRow) -> float:
    """The row with the figures as given, without what its neighbours bring (as they do at the worst end)."""
    return (row.hot_c if row.best_c is None else row.best_c) - row.neighbour_k
