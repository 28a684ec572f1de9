"""The start sheet: the run up through the notches, what it costs, and why resistance notches are not for running."""

from collections.abc import Iterator, Sequence

from griddesign.judge.records import Finding, Verdict
from griddesign.judge.runup import StartCase
from griddesign.judge.start_findings import grip_of, run_not_checked
from griddesign.judge.start_result import StartResult, efficiency
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
from griddesign.papers.sheets.common import cautions
from griddesign.papers.sheets.crew import PASS_THROUGH, crew_holds, crew_words
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, Shown
from griddesign.papers.sheets.start_plots import (
    current_against_speed,
    current_against_time,
    effort_against_speed,
    grouping_words,
    notch_marks,
)
from griddesign.papers.sheets.unlike import field_words, fixed_words, transition_words, unlike_motors
from griddesign.traction.runup.records import NotchLog, RunUp
from griddesign.units import show_tiny

IMPERATIVE = "See that every peak keeps its limit; compare with the first runs."
_TABLE_PT = 9.0
_ABOUT_START = ("peak current of the start", "breaker during", "adhesion")
_EFFICIENCY = (
    "Efficiency of the start is taken as work of the shafts over energy from the line: {shaft}. Where motors' copper "
    "heat is counted as output, as for a motor whose own losses are not the grid's business, it is {copper}. Both "
    "definitions stand in print: say which one when you compare."
)
_TOLD = (
    "Frozen-flux bound: what the current would be if the flux of the notch before still stood; a solid frame delays "
    "it, so the true peak lies between the two. Effort: pull of all motors at the rim on arriving. Step: the change of "
    "acceleration on arriving, what passengers feel."
)


def start_sheet(result: StartResult) -> Sheet:
    """The sheet of one start told in full and of all its cases."""
    shown = Shown(result.job.paper.units)
    blocks = (
        KeyFigures(tuple(_key_figures(result, shown))),
        *_against_speed(result, shown),
        *_open(result),
        Box("NOT CHECKED", _not_checked(result), heavy=True),
        cautions(0, 1, 4),
        Heading("Current against time"),
        Drawing(current_against_time(result, shown), "Thick: per motor. Dotted: from line."),
        *_effort(result, shown),
        *_cases(result, shown),
        Heading(f"Notch by notch, {_told_words(result, shown)}"),
        Table(_NOTCH_COLUMNS, tuple(_notch_rows(result, shown)), _TABLE_PT),
        Paragraph(_TOLD, size_pt=SMALL_PT),
        *transition_words(result.job),
        *unlike_motors(result, shown),
        *_energy(result, shown),
        *_cut_out(result, shown),
        *_not_for_running(result, shown),
        *_remarks(result),
    )
    return Sheet("Start sheet", IMPERATIVE, "engineer", blocks)


def _told_words(result: StartResult, shown: Shown) -> str:
    case = result.cases[0]
    return f"{shown.of(case.line_v, 'voltage')}, {shown.temperature(case.ambient_c)}, grid cold"


# --- what matters most -----------------------------------------------------------------------------------------------


def _key_figures(result: StartResult, shown: Shown) -> Iterator[KeyFigure]:
    start, told = result.job.start, result.told
    assert start is not None
    peak_a, where = _highest_peak(result, shown)
    asked = f"{where}; asked {shown.of(start.peak_a, 'current')} per motor"
    yield KeyFigure("Highest peak per motor", shown.of(peak_a, "current"), asked)
    speed = shown.of(float(told.end_m_s[0]), "speed")
    way = f"{shown.way(float(told.distance_m[0]))}; {_told_words(result, shown)}"
    yield KeyFigure("One start", shown.of(float(told.seconds[0]), "time"), f"to {speed}, {way}")
    line_j, grid_j = float(told.energy.line_j[0]), float(told.energy.grid_j[0])
    share = f"{shown.of(line_j, 'energy')} from line, {_part(grid_j, line_j)} of it in the grid"
    yield KeyFigure("Heat of the grid", shown.of(grid_j, "energy"), share)
    yield KeyFigure("Efficiency of the start", _part(efficiency(told)[0], 1.0), "work of the shafts over line")


def _highest_peak(result: StartResult, shown: Shown) -> tuple[float, str]:
    """The highest peak of any case, with its notch and case."""
    run = result.run
    found = [(float(log.peak_a[place]), place, log.where) for log in run.rows for place in range(len(result.cases))]
    peak_a, place, where = max(found)
    case = result.cases[place]
    return peak_a, f"{where}, {shown.of(case.line_v, 'voltage')}, {shown.temperature(case.ambient_c)}"


def _part(part: float, whole: float) -> str:
    return f"{100.0 * part / whole:.1f}{NO_BREAK}%"


def _open(result: StartResult) -> Iterator[Block]:
    """Whatever is open, of the start or beside it; of what holds, that of the start itself."""
    not_held = [one for one in result.findings if one.verdict is not Verdict.HOLDS]
    if not_held:
        yield Box("Open", tuple(_finding_words(one) for one in not_held), heavy=True, size_pt=SMALL_PT)
    held = [one for one in result.findings if one.verdict is Verdict.HOLDS and one.item.startswith(_ABOUT_START)]
    if held:
        yield Points(tuple(_finding_words(one) for one in held), size_pt=SMALL_PT)


def _finding_words(finding: Finding) -> str:
    return f"{finding.item}: {finding.verdict}. {finding.why}. {finding.measure_next}".strip()


def _not_checked(result: StartResult) -> tuple[str, ...]:
    missing = tuple(run_not_checked(result.job))
    others = tuple(f"{one}: not worked out." for one in result.not_worked_out)
    if not missing:
        return others or ("Everything this sheet can judge was judged.",)
    return (f"{', '.join(missing)}: not given. Nothing on this sheet says that it holds.", *others)


# --- the plots -------------------------------------------------------------------------------------------------------


def _against_speed(result: StartResult, shown: Shown) -> Iterator[Block]:
    yield Heading(f"Current against speed, {_told_words(result, shown)}")
    by_name = notch_marks(result) == tuple(log.name for log in result.told.notches)
    numbers = "At each peak: its notch" if by_name else "At each peak: the number of its notch, counted in the run"
    caption = f"{numbers}. Open dots: its frozen-flux bound. Dashed: peak asked and valley."
    yield Drawing(current_against_speed(result, shown), caption)


def _effort(result: StartResult, shown: Shown) -> Iterator[Block]:
    assert result.job.car is not None
    yield Heading("Effort against adhesion and resistance")
    slope = f"gradient {shown.of(result.job.car.gradient, 'gradient')}" if result.job.car.gradient else "level track"
    known = "" if grip_of(result.job) is not None else " Adhesion was not given: NOT CHECKED."
    caption = f"Effort of all motors at the rim. Resistance: running resistance and gradient, {slope}.{known}"
    yield Drawing(effort_against_speed(result, shown), caption)


# --- tables ----------------------------------------------------------------------------------------------------------

_NOTCH_COLUMNS = (
    Column("Notch"),
    Column("Motors"),
    Column("Peak per motor", "right"),
    Column("Frozen-flux bound", "right"),
    Column("Leaves at, per motor", "right"),
    Column("Peak from line", "right"),
    Column("On it for", "right"),
    Column("Speed on leaving", "right"),
    Column("Effort", "right"),
    Column("Step of acceleration", "right"),
)


def _notch_rows(result: StartResult, shown: Shown) -> Iterator[tuple[TableCell, ...]]:
    notches = {notch.name: notch for notch in result.job.notches}
    for log in result.told.rows:
        notch = notches.get(log.name)
        motors = "" if notch is None else f"{grouping_words(notch)}{field_words(notch)}"
        yield (Cell(log.name), motors, *_notch_cells(log, shown))


def _notch_cells(log: NotchLog, shown: Shown) -> tuple[str, ...]:
    drawn = ABOUT if log.below_curve[0] else ""
    return (
        shown.of(float(log.peak_a[0]), "current"),
        shown.of(float(log.frozen_flux_a[0]), "current"),
        "passed" if log.passed[0] else f"{drawn}{shown.of(float(log.leave_a[0]), 'current')}",
        shown.of(float(log.line_peak_a[0]), "current"),
        f"{float(log.leave_s[0] - log.arrive_s[0]):.2f}{NO_BREAK}s",
        shown.of(float(log.leave_m_s[0]), "speed"),
        shown.of(float(log.effort_n[0]), "force"),
        shown.of(float(log.step_m_s2[0]), "acceleration", 2),
    )


def _energy(result: StartResult, shown: Shown) -> Iterator[Block]:
    energy = result.told.energy
    line_j = float(energy.line_j[0])
    parts = (
        ("feeder", energy.feeder_j, fixed_words(result.job)),
        ("grid", energy.grid_j, "heat of the sections and their joints"),
        ("motors", energy.motors_j, "heat of armatures and fields"),
        ("core and friction of the motors", energy.core_j, "none: the whole emf is taken to work on the shaft"),
        ("drive", energy.drive_j, "gears and bearings"),
        ("wheel", energy.wheel_j, _wheel_words(result.told, shown)),
    )
    rows: list[tuple[TableCell, ...]] = [(Cell("from line"), Cell(shown.of(line_j, "energy", 4)), Cell("100 %"), "")]
    rows += [
        (name, shown.of(float(joules[0]), "energy", 4), _part(float(joules[0]), line_j), what)
        for name, joules, what in parts
    ]
    left = f"{show_tiny(float(energy.balance_error[0]))}: the wheel's part is reckoned on its own, the sum has to close"
    rows.append(("left over", "", "", left))
    yield Heading("Where the energy goes")
    titles = (Column(""), Column("Energy", "right"), Column("Of it", "right"), Column("What", stretch=True))
    yield Table(titles, tuple(rows), _TABLE_PT)
    shaft, copper = efficiency(result.told)
    yield Paragraph(_EFFICIENCY.format(shaft=_part(shaft, 1.0), copper=_part(copper, 1.0)), size_pt=SMALL_PT)


def _wheel_words(told: RunUp, shown: Shown) -> str:
    energy = told.energy
    parts = (("motion", energy.kinetic_j), ("running resistance", energy.resistance_j), ("gradient", energy.gradient_j))
    return ", ".join(f"{name} {shown.of(float(joules[0]), 'energy')}" for name, joules in parts if joules[0])


_CASE_TITLES = ("Peak per motor", "on notch", "Peak from line", "Takes", "To", "Way", "From line", "In the grid")
_CASE_COLUMNS = (Column("Line"), Column("Ambient"), *(Column(title, "right") for title in _CASE_TITLES))


def _cases(result: StartResult, shown: Shown) -> Iterator[Block]:
    yield Heading("Every case, grid cold")
    yield Table(_CASE_COLUMNS, tuple(_case_rows(result.cases, result.run, shown)), _TABLE_PT)
    breaker_a = result.job.line.breaker_a if result.job.line else None
    said = "No breaker was given: NOT CHECKED." if breaker_a is None else _breaker_words(result, breaker_a, shown)
    yield Paragraph(said, size_pt=SMALL_PT)


def _case_rows(cases: Sequence[StartCase], run: RunUp, shown: Shown) -> Iterator[tuple[TableCell, ...]]:
    for place, case in enumerate(cases):
        stuck = int(run.stuck[place])
        name = shown.of(case.line_v, "voltage"), shown.temperature(case.ambient_c)
        if stuck >= 0:
            yield (*name, "", Cell(f"stuck on {run.notches[stuck].name}"), *[""] * 6)
        else:
            yield (*name, *_case_cells(run, place, shown))


def _case_cells(run: RunUp, place: int, shown: Shown) -> tuple[str, ...]:
    worst = max(run.rows, key=lambda log: float(log.peak_a[place]))
    return (
        shown.of(float(worst.peak_a[place]), "current"),
        worst.name,
        shown.of(max(float(log.line_peak_a[place]) for log in run.rows), "current"),
        shown.of(float(run.seconds[place]), "time"),
        shown.of(float(run.end_m_s[place]), "speed"),
        shown.way(float(run.distance_m[place])),
        shown.of(float(run.energy.line_j[place]), "energy"),
        shown.of(float(run.energy.grid_j[place]), "energy"),
    )


def _cut_out(result: StartResult, shown: Shown) -> Iterator[Block]:
    """The start with a motor or a pair cut out, by the same handle on the same grid; nothing where none can be."""
    cut = result.cut_out
    if cut is None:
        return
    yield Heading(f"With {cut.words}, grid cold")
    yield Table(_CASE_COLUMNS, tuple(_case_rows(cut.cases, cut.run, shown)), _TABLE_PT)
    said = (*(_finding_words(one) for one in cut.findings), *cut.remarks)
    if said:
        yield Points(said, size_pt=SMALL_PT)


def _breaker_words(result: StartResult, breaker_a: float, shown: Shown) -> str:
    line_a = max(float(log.line_peak_a.max()) for log in result.run.rows)
    words = "stays in" if line_a <= breaker_a else "OPENS"
    return (
        f"The breaker of {shown.of(breaker_a, 'current')} from line {words}: the start as run takes "
        f"{shown.of(line_a, 'current')} at most. How fast it opens is not known here."
    )


# --- not for running -------------------------------------------------------------------------------------------------


def _not_for_running(result: StartResult, shown: Shown) -> Iterator[Block]:
    """What each resistance notch turns into heat for nothing once the car has settled on it, and its hold."""
    if not result.wasted:
        return
    holds = crew_holds(result.heat)
    yield Heading("Why a resistance notch is not for running")
    yield Paragraph(f"{_waste_words(result, holds, shown)} (That it is not for running: common practice, no source.)")
    titles = ("Settles at", "A per motor", "From line", "In the grid", "Wasted", "In the grid on leaving")
    columns = (Column("Notch"), *(Column(title, "right") for title in titles), Column("Hold at most"))
    rows = tuple(
        (
            one.notch,
            shown.of(one.speed_m_s, "speed"),
            shown.of(one.motor_a, "current"),
            shown.of(one.line_w, "power"),
            shown.of(one.grid_w, "power"),
            _part(one.share, 1.0),
            shown.of(one.leaving_w, "power"),
            crew_words(holds[one.notch]) if one.notch in holds else "not known",
        )
        for one in result.wasted
    )
    yield Table(columns, rows, _TABLE_PT)
    volts = shown.of(result.cases[0].line_v, "voltage")
    networks = any(notch.network is not None for notch in result.job.notches)
    yield Paragraph(
        f"At balance on the job's gradient, {volts}, grid cold. On leaving: at the current at which the driver notches "
        "up. Hold at most: the crew's time, at the worst of stalled and running, as the crew card has it."
        + " A per motor of a network: of the winding that has most."
        * networks,
        size_pt=SMALL_PT,
    )


def _waste_words(result: StartResult, holds: dict[str, float | None], shown: Shown) -> str:
    """The worst share of the line's power once the car has settled, the worst heat on the way there, and its hold."""
    idle = max(result.wasted, key=lambda one: one.share)
    hot = max(result.wasted, key=lambda one: one.leaving_w)
    held = f", which it bears for {crew_words(holds[hot.notch])} at most" if holds.get(hot.notch) else ""
    held = f", which it is to {PASS_THROUGH}" if holds.get(hot.notch) == 0.0 else held
    return (
        f"Held on notch {idle.notch} until the car has settled, the grid turns {shown.of(idle.grid_w, 'power')} of the "
        f"{shown.of(idle.line_w, 'power')} from the line, {_part(idle.share, 1.0)}, into heat and not into motion, for "
        f"as long as it is held. On the way there it takes up to {shown.of(hot.leaving_w, 'power')} (notch "
        f"{hot.notch}){held}."
    )


def _remarks(result: StartResult) -> Iterator[Block]:
    if result.remarks:
        yield Heading("What the start rests on")
        yield Points(result.remarks, size_pt=SMALL_PT)
