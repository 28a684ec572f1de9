"""The brake sheet: whether the brake builds up, one stop notch by notch, a long hill, what the grid takes of both."""

from collections.abc import Iterator

import numpy as np

from griddesign.heat.records import HeatRow
from griddesign.judge.braking import BrakingResult
from griddesign.judge.heat_cases import hottest
from griddesign.judge.records import Finding, Verdict
from griddesign.judge.start_result import StartResult
from griddesign.papers.blocks import (
    SMALL_PT,
    Block,
    Box,
    Cell,
    Column,
    Drawing,
    Heading,
    KeyFigure,
    KeyFigures,
    Paragraph,
    Points,
    Sheet,
    Table,
    TableCell,
)
from griddesign.papers.chart import Chart, Curve, chart_picture
from griddesign.papers.chart_notes import Note
from griddesign.papers.marks import THICK_MM, Picture
from griddesign.papers.sheets.common import cautions
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, Shown
from griddesign.traction.braking.records import BrakeLog, BrakeRun
from griddesign.units import show_tiny

IMPERATIVE = "See that the brake builds up, and that the grid bears stops and hill."
_TABLE_PT = 9.0
_HIGH_MM = 62.0
_TOLD = (
    "Builds up: the ohms of the whole circuit, plates as hot as they are met, against the critical ohms by the lowest "
    "measured point of the motor curve, the safe side. Holds down to: the speed at which the current has come down to "
    "that point. Across the grid: volts on live metal while the car brakes, with the line off."
)


def brake_sheet(result: StartResult) -> Sheet | None:
    """The sheet of the brake; None where the job has none."""
    brake = result.braking
    if brake is None:
        return None
    shown = Shown(result.job.paper.units)
    blocks = (
        *_key_figures(brake, shown),
        *_judged(_own(result)),
        *([Box("NOT CHECKED", (f"{', '.join(brake.not_checked)}: not given.",), heavy=True)] * bool(brake.not_checked)),
        cautions(0, 1, 4),
        *_stop(brake, shown),
        *_build_up(brake, shown),
        *_hill(brake, shown),
        *_heat(brake, shown),
        *([Points(brake.remarks, size_pt=SMALL_PT)] * bool(brake.remarks)),
    )
    return Sheet("Brake sheet", IMPERATIVE, "engineer", blocks)


def _own(result: StartResult) -> tuple[Finding, ...]:
    """The brake's findings as they stand after both ends of the weak figures were tried."""
    brake = result.braking
    items = {one.item for one in brake.findings} if brake else set()
    return tuple(one for one in result.findings if one.item in items)


def _key_figures(brake: BrakingResult, shown: Shown) -> Iterator[Block]:
    if brake.run is None or brake.told is None:
        return
    told, energy = brake.told, brake.told.energy
    worst = max(brake.run.notches, key=lambda log: float(log.peak_a.max()))
    asked = f"notch {worst.name}; asked {shown.of(brake.plan.peak_a, 'current')}"
    down = f"down to {shown.of(float(told.end_m_s[0]), 'speed')}, {shown.way(float(told.distance_m[0]))}"
    share = 100.0 * float(energy.grid_j[0]) / float(energy.kinetic_begin_j[0])
    figures = [
        KeyFigure("Highest peak per motor", shown.of(float(worst.peak_a.max()), "current"), asked),
        KeyFigure("One stop", shown.of(float(told.seconds[0]), "time"), down),
        KeyFigure(
            "Heat of the grid", shown.of(float(energy.grid_j[0]), "energy"), f"{share:.0f} % of the car's motion"
        ),
    ]
    if brake.heat:
        row = min(brake.heat, key=lambda one: one.margin_k)
        figures.append(KeyFigure("Least margin", _margin(row, shown), f"section {row.section}, {row.case}"))
    yield KeyFigures(tuple(figures))


def _margin(row: HeatRow, shown: Shown) -> str:
    """A margin with its mark; none where a section leaves the table of its metal."""
    return shown.margin(row.margin_k) if np.isinf(row.margin_k) else f"{ABOUT}{shown.margin(row.margin_k)}"


def _judged(findings: tuple[Finding, ...]) -> Iterator[Block]:
    """What does not hold in a box, what holds of build-up and currents in a list."""
    words = {one: f"{one.item}: {one.verdict}. {one.why}. {one.measure_next}".strip() for one in findings}
    open_ones = tuple(words[one] for one in findings if one.verdict is not Verdict.HOLDS)
    if open_ones:
        yield Box("Open", open_ones, heavy=True, size_pt=SMALL_PT)
    held = tuple(words[one] for one in findings if one.verdict is Verdict.HOLDS and one.item.startswith("brake"))
    if held:
        yield Points(held, size_pt=SMALL_PT)


# --- one stop --------------------------------------------------------------------------------------------------------

_STOP_TITLES = ("Arrives at", "Leaves at", "From", "Down to", "On it for", "Holds back", "Holds down to", "Across grid")


def _stop(brake: BrakingResult, shown: Shown) -> Iterator[Block]:
    told = brake.told
    if told is None:
        return
    begin = shown.of(brake.plan.begin_m_s, "speed")
    yield Heading(f"One stop from {begin}, notches taken {brake.plan.notch_by}, grid cold")
    yield Drawing(_against_speed(brake, told, shown), "At each peak: its notch. The car slows down from right to left.")
    columns = (Column("Notch"), *(Column(title, "right") for title in _STOP_TITLES))
    yield Table(columns, tuple(_row(log, shown) for log in told.notches), _TABLE_PT)
    yield Paragraph(f"{_spent(told, shown)} {_TOLD}", size_pt=SMALL_PT)


def _against_speed(brake: BrakingResult, told: BrakeRun, shown: Shown) -> Picture:
    unit, per = shown.axis("speed")
    points = tuple((per * speed_m_s, current_a) for speed_m_s, current_a in _upright(told))
    notes = tuple(
        Note(log.name, per * float(log.arrive_m_s[0]), float(log.arrive_a[0]), bold=True)
        for log in told.notches
        if log.built[0] and not log.passed[0]
    )
    levels = ((f"peak asked {shown.of(brake.plan.peak_a, 'current')}", brake.plan.peak_a),)
    curves = (Curve("A per motor", points, THICK_MM),)
    title = "current per motor, A"
    chart = Chart(f"speed, {unit}", title, curves, levels, height_mm=_HIGH_MM, notes=notes, levels_beside=True)
    return chart_picture(chart)


def _upright(told: BrakeRun) -> Iterator[tuple[float, float]]:
    """Speed, m/s, and A per motor from the slowest moment up, so that the curve ends where the brake begins; at every
    notching both currents at the one speed."""
    logs = {log.name: log for log in told.notches}
    after = None
    for one in reversed(told.trace):
        if after is not None and one.notch in logs and after in logs and one.notch != after:
            yield float(logs[after].arrive_m_s[0]), float(logs[after].arrive_a[0])
            yield float(logs[one.notch].leave_m_s[0]), float(logs[one.notch].leave_a[0])
        yield float(one.speed_m_s[0]), float(one.mean_a[0])
        after = one.notch


def _row(log: BrakeLog, shown: Shown) -> tuple[TableCell, ...]:
    arrives = shown.of(float(log.arrive_m_s[0]), "speed")
    if not log.built[0]:
        return (Cell(log.name), Cell("no current"), "", arrives, *[""] * 5)
    drawn = ABOUT if log.below_curve[0] else ""
    return (
        Cell(log.name),
        shown.of(float(log.peak_a[0]), "current"),
        "passed" if log.passed[0] else f"{drawn}{shown.of(float(log.leave_a[0]), 'current')}",
        arrives,
        shown.of(float(log.leave_m_s[0]), "speed"),
        f"{float(log.leave_s[0] - log.arrive_s[0]):.2f}{NO_BREAK}s",
        shown.of(float(log.effort_n[0]), "force"),
        shown.of(float(log.holds_m_s[0]), "speed"),
        shown.of(float(log.grid_v[0]), "voltage"),
    )


def _spent(told: BrakeRun, shown: Shown) -> str:
    energy = told.energy
    parts = (
        ("grid", energy.grid_j),
        ("motors", energy.motors_j),
        ("drive", energy.drive_j),
        ("running resistance", energy.resistance_j),
        ("gradient", energy.gradient_j),
        ("motion left", energy.kinetic_end_j),
    )
    words = ", ".join(f"{name} {shown.of(float(joules[0]), 'energy')}" for name, joules in parts if joules[0])
    begin, left = shown.of(float(energy.kinetic_begin_j[0]), "energy"), show_tiny(float(energy.balance_error[0]))
    return f"Of {begin} of motion: {words}; left over {left}."


# --- building up, hill, heat -----------------------------------------------------------------------------------------


def _build_up(brake: BrakingResult, shown: Shown) -> Iterator[Block]:
    if not brake.build_up:
        return
    yield Heading(f"Building up at {shown.of(brake.plan.begin_m_s, 'speed')}")
    titles = ("Ohms of the circuit", "Critical ohms", "As the curve is drawn", "Builds up down to")
    columns = (Column("Notch"), Column("Answer"), *(Column(title, "right") for title in titles))
    rows = tuple(
        (
            Cell(one.name),
            one.answer,
            shown.of(one.total_ohm, "resistance"),
            shown.of(one.critical_ohm, "resistance"),
            f"{ABOUT}{shown.of(one.drawn_ohm, 'resistance')}",
            shown.of(one.critical_m_s, "speed") if np.isfinite(one.critical_m_s) else "",
        )
        for one in brake.build_up
    )
    yield Table(columns, rows, _TABLE_PT)


def _hill(brake: BrakingResult, shown: Shown) -> Iterator[Block]:
    told = brake.hill
    if told is None:
        return
    slope = f"{100 * told.hill.fall:.3g}{NO_BREAK}%"
    yield Heading(f"A hill of {slope}, {shown.way(told.hill.length_m)}, on notch {told.hill.notch}")
    if not told.holds[0]:
        yield Paragraph("The notch does not hold the car.", bold=True)
        return
    first, foot = (shown.of(float(amps[0]), "current") for amps in (told.current_a, told.foot_current_a))
    speeds = [shown.of(float(speed[0]), "speed") for speed in (told.speed_m_s, told.foot_speed_m_s)]
    yield Paragraph(
        f"Begun with cold plates it settles at {speeds[0]} with {first} per motor; after "
        f"{shown.of(float(told.seconds[0]), 'time')}, plates heated, {speeds[1]} with {foot} at the foot. Begun with "
        f"the hottest, at worst {shown.of(float(told.foot_speed_m_s.max()), 'speed')} at the foot."
    )


def _heat(brake: BrakingResult, shown: Shown) -> Iterator[Block]:
    """The hottest of every section in every case, worst end of the weak figures and hottest ambient."""
    cases = dict.fromkeys(row.case for row in brake.heat)
    if not cases:
        return
    worst = {case: hottest(tuple(row for row in brake.heat if row.case == case)) for case in cases}
    sections = dict.fromkeys(row.section for row in brake.heat)
    limits = {row.section: shown.temperature(row.limit_c) for row in brake.heat}
    yield Heading("Plates under the brake, worst end of every weak figure")
    columns = (Column("Case", stretch=True), *(Column(f"Section {name}", "right") for name in sections))
    rows: list[tuple[TableCell, ...]] = [
        (case, *(f"{ABOUT}{shown.temperature(worst[case][name].hot_c)}" for name in sections)) for case in cases
    ]
    rows.append((Cell("limit"), *(Cell(limits[name]) for name in sections)))
    yield Table(columns, tuple(rows), _TABLE_PT)
