"""The heat sheet: how hot each section gets, how long each notch may be held, and what that rests on."""

from collections.abc import Iterator, Sequence

from griddesign.heat.duty import ONE_START
from griddesign.heat.records import HeatRow
from griddesign.judge.calibration import loss_words
from griddesign.judge.day_trace import DayTrace
from griddesign.judge.heat_cases import deciding, hottest
from griddesign.judge.records import Result, Verdict
from griddesign.judge.start_result import StartResult
from griddesign.papers.blocks import (
    SMALL_PT,
    Block,
    Box,
    Cautions,
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
from griddesign.papers.marks import Picture
from griddesign.papers.sheets.heat_course import band_blocks, course_blocks
from griddesign.papers.sheets.held import (
    RUNS_AWAY,
    STARTS,
    WAYS,
    Held,
    bound_words,
    endless,
    flags,
    held,
    hold_words,
)
from griddesign.papers.sheets.plots import Bar, Dot, bar_picture, hold_picture
from griddesign.papers.sheets.shown import ABOUT, Shown, source_and_status

IMPERATIVE = "See that every margin is above zero and every hold can be kept."
_TABLE_PT = 9.0
_HOLD_MM = 35.0  # so that no flag is broken
_NOTCHES_A_PLOT = 8
Told = Result | StartResult
_NOT_OF_HEAT = ("adhesion", "breaker")
_BESIDE_PLATES = ("timber", "limit of")
_ABOUT_HEAT = ("section ", "temperature limit", "timber", "limit of", "heat run")

_CAUTIONS = (
    "Plates come to red heat before anything is seen or smelt from the car. What lies above or beside the grid can "
    "catch fire: timber, dirt, leaves and oil burn long before the metal suffers. Keep clear, shield, inspect.",
    "Line voltage kills. Isolate, earth and prove dead before anyone touches grid or leads, and let the metal cool: "
    "plates burn the skin for a long time after the last start.",
    "These figures come from a model. Local codes and licensed practice come before this sheet.",
)
_MODEL = (
    "A plate inside the stack, both faces hot neighbours; one temperature through the plate. End plates run cooler.",
    "Radiation leaves by the mouths of the gaps between the plates, not from every face; convection is that of "
    "still air rising through the gaps, free to enter below and to leave above.",
    "The low end of the loss is run with the low ends of emissivity and specific heat, and with both ends of the "
    "temperature coefficient. The worst end is printed.",
    "No cooling by the wind of the car or by a blower is credited. A close floor or pan above the plates is covered by "
    "no correlation: there the grid will be hotter than printed.",
    "Motors' ohms are constant. What a section takes up from hotter ones beside it counts in the duty; what it hands "
    "to cooler ones is left out, which is the safe side.",
)


def heat_sheet(result: Told, trace: DayTrace | None = None) -> Sheet | None:
    """The heat sheet of a design or of a start, with the temperatures of ``trace`` drawn; None where no heat was
    computed."""
    if not result.heat:
        return None
    shown = Shown(result.job.paper.units)
    blocks = (
        _key_figures(result, shown),
        *_judged(result),
        Box("NOT CHECKED", _not_checked(result), heavy=True),
        Cautions(_CAUTIONS),
        *_section_blocks(result, shown),
        *course_blocks(trace, shown),
        *band_blocks(_section_rows_of(result), shown),
        *_hold_blocks(result, shown),
        Heading("What the temperatures rest on"),
        Points((*loss_words(result.job), *_MODEL), size_pt=SMALL_PT),
        *_hold_plots(result, shown),
    )
    return Sheet("Heat sheet", IMPERATIVE, "engineer", blocks)


# --- what matters most -----------------------------------------------------------------------------------------------


def duty_rows(result: Told) -> tuple[HeatRow, ...]:
    """The rows of the duty: settled starts where the job names a duty, else one start from ambient."""
    return deciding(result.heat)


def _key_figures(result: Told, shown: Shown) -> KeyFigures:
    row = min(hottest(duty_rows(result)).values(), key=lambda one: one.margin_k)
    where = f"{shown.of(row.line_v, 'voltage')}, ambient {shown.temperature(row.ambient_c)}"
    reached = RUNS_AWAY if row.runs_away else f"{ABOUT}{shown.temperature(row.hot_c)}"
    return KeyFigures(
        (
            KeyFigure(f"Hottest section: {row.section}", reached, f"{row.case}; {where}"),
            KeyFigure("Margin to the limit", f"{ABOUT}{shown.margin(row.margin_k)}", f"worst end: {row.worst_end}"),
            KeyFigure("Limit of its plates", shown.temperature(row.limit_c), _limit_source(result, row.section)),
        )
    )


def _limit_source(result: Told, section: str) -> str:
    """Where the limit came from: the job, or the table of the metal."""
    figure = result.job.figures.get("limits.plate")
    if figure is not None:
        return source_and_status(figure)
    limit_c = next(row.limit_c for row in result.heat if row.section == section)
    tabled = next(plate.metal.limit_c for plate in result.job.plates if plate.metal.limit_c.value == limit_c)
    return f"none given: the metal's tabled figure, {source_and_status(tabled)}"


def _judged(result: Told) -> Iterator[Block]:
    """The findings about heat that do not hold, or one sentence."""
    open_ones = [
        one for one in result.findings if one.item.startswith(_ABOUT_HEAT) and one.verdict is not Verdict.HOLDS
    ]
    if open_ones:
        said = (f"{one.item}: {one.verdict}. {one.why}. {one.measure_next}".strip() for one in open_ones)
        yield Box("Open", tuple(said), heavy=True)
    elif result.job.duty.start_every_s is not None:
        yield Paragraph("Every section holds its limit in the settled duty, at the worst end of every weak figure.")
    else:
        yield Paragraph("No duty was given: single starts only, nothing is judged of repeated ones.")
    held = [one for one in result.findings if one.item.startswith(_BESIDE_PLATES) and one.verdict is Verdict.HOLDS]
    if held:
        yield Points(tuple(f"{one.item}: {one.verdict}. {one.why}." for one in held), size_pt=SMALL_PT)


def _not_checked(result: Told) -> tuple[str, ...]:
    missing = [part for part in result.not_checked if part not in _NOT_OF_HEAT]
    if not missing:
        return ("Nothing that this version knows of was left without a limit.",)
    return (f"No limit was given for: {', '.join(missing)}. Nothing on this sheet says that these hold.",)


# --- sections --------------------------------------------------------------------------------------------------------


def _section_blocks(result: Told, shown: Shown) -> Iterator[Block]:
    rows = _section_rows_of(result)
    ambient = shown.temperature(_hottest_ambient_c(result))
    yield Heading(f"Temperature of the sections, ambient {ambient}")
    yield Drawing(_bars(rows, shown), "Filled: settled duty. Open: one start from ambient. Whisker: adiabatic bound.")
    yield Table(_section_columns(rows, shown), tuple(_section_rows(rows, shown)), _TABLE_PT)
    letters = "; ".join(f"{letter}: {end}" for end, letter in _letters(rows).items())
    settled = next((f"Settled: {row.case.removeprefix('settled, ')}. " for row in rows if row.case != ONE_START), "")
    words = f"{settled}Bound: without any loss. Worst end of the weak figures, at the highest voltage: {letters}."
    yield Paragraph(words, size_pt=SMALL_PT)


def _section_rows_of(result: Told) -> list[HeatRow]:
    """The rows of starts and duty, no holds, at the hottest ambient."""
    return [row for row in result.heat if not row.notch and row.ambient_c == _hottest_ambient_c(result)]


def _hottest_ambient_c(result: Told) -> float:
    return max(row.ambient_c for row in result.heat)


def _bars(rows: Sequence[HeatRow], shown: Shown) -> Picture:
    highest_v = max(row.line_v for row in rows)
    named = sorted((row for row in rows if row.line_v == highest_v), key=lambda row: _order(rows, row))
    bars = [
        Bar(
            f"{row.section}, {'settled' if row.case.startswith('settled') else row.case}",
            shown.degrees(row.hot_c),
            shown.degrees(row.bound_c),
            shown.degrees(row.limit_c),
            _bar_words(row, shown),
            row.case.startswith("settled"),
            number == 0 or named[number - 1].section != row.section,
        )
        for number, row in enumerate(named)
    ]
    limits = sorted({row.limit_c for row in named})
    limit = f"limit {shown.temperature(limits[0])}" if len(limits) == 1 else "limits"
    title = f"plate at {shown.of(highest_v, 'voltage')}, {'°C' if shown.units == 'mm' else '°F'}"
    return bar_picture(bars, title, limit)


def _order(rows: Sequence[HeatRow], row: HeatRow) -> tuple[int, bool]:
    sections = list(dict.fromkeys(one.section for one in rows))
    return sections.index(row.section), row.case.startswith("settled")


def _bar_words(row: HeatRow, shown: Shown) -> str:
    if row.runs_away:
        return RUNS_AWAY
    return f"{ABOUT}{shown.temperature(row.hot_c)}, bound {shown.temperature(row.bound_c)}"


def _section_columns(rows: Sequence[HeatRow], shown: Shown) -> tuple[Column, ...]:
    """Three columns for each line voltage, between the section with its case and what both have."""
    volts = [shown.of(line_v, "voltage") for line_v in _volts(rows)]
    each = [Column(f"{volt}: {what}", "right") for volt in volts for what in ("worst end", "bound", "margin")]
    return (Column("Section"), Column("Case"), *each, Column("Limit", "right"), Column("Which end", "centre"))


def _section_rows(rows: Sequence[HeatRow], shown: Shown) -> Iterator[tuple[TableCell, ...]]:
    known = {(row.section, row.case, row.line_v): row for row in rows}
    volts = _volts(rows)
    for section in dict.fromkeys(row.section for row in rows):
        for case in dict.fromkeys(row.case for row in rows):
            found = [known[section, case, line_v] for line_v in volts]
            cells = [cell for row in found for cell in _section_cells(row, shown)]
            limit = shown.temperature(found[-1].limit_c)
            yield (section, case.partition(",")[0], *cells, limit, _letters(rows)[found[-1].worst_end])


def _volts(rows: Sequence[HeatRow]) -> list[float]:
    return sorted({row.line_v for row in rows})


def _section_cells(row: HeatRow, shown: Shown) -> tuple[TableCell, ...]:
    margin = f"{ABOUT}{shown.margin(row.margin_k)}"
    return (
        Cell(RUNS_AWAY) if row.runs_away else f"{ABOUT}{shown.temperature(row.hot_c)}",
        shown.temperature(row.bound_c),
        Cell(margin) if row.margin_k < 0.0 else margin,
    )


def _letters(rows: Sequence[HeatRow]) -> dict[str, str]:
    """A letter for each worst end, in the order they come."""
    highest_v = max(row.line_v for row in rows)
    ends = dict.fromkeys(row.worst_end for row in rows if row.line_v == highest_v)
    return {end: chr(ord("a") + number) for number, end in enumerate(ends)}


# --- holds -----------------------------------------------------------------------------------------------------------


def _hold_blocks(result: Told, shown: Shown) -> Iterator[Block]:
    holds = _hottest_holds(result)
    if not holds:
        return
    yield Heading(f"How long each notch may be held, {_hot_words(result, shown)}")
    yield Table(_hold_columns(holds, shown), tuple(_hold_rows(holds, shown)), _TABLE_PT)
    yield Points(_hold_legend(result, shown), size_pt=SMALL_PT)


def _hottest_holds(result: Told) -> list[Held]:
    hot_c = _hottest_ambient_c(result)
    return [hold for hold in held(result.heat) if hold.ambient_c == hot_c]


def _hot_words(result: Told, shown: Shown) -> str:
    return f"ambient {shown.temperature(_hottest_ambient_c(result))}"


def _hold_plots(result: Told, shown: Shown) -> Iterator[Block]:
    """The holds from the settled duty where there is one, else from ambient; so many notches to a picture."""
    holds = _hottest_holds(result)
    if not holds:
        return
    yield Heading(f"The holds drawn, {_hot_words(result, shown)}")
    start = next(start for start in reversed(STARTS) if any(hold.case.endswith(start) for hold in holds))
    plotted = [hold for hold in holds if hold.case.endswith(start)]
    plotted.sort(key=lambda hold: (_notches(holds).index(hold.notch), WAYS.index(_way(hold)), hold.line_v))
    notches = _notches(holds)
    for begin in range(0, len(notches), _NOTCHES_A_PLOT):
        group = [hold for hold in plotted if hold.notch in notches[begin : begin + _NOTCHES_A_PLOT]]
        picture = hold_picture(_dots(group, shown), f"hold {start}, seconds to hours on a logarithmic scale")
        yield Drawing(picture, "Dot: best estimate. Whisker: without any loss. Arrow: for ever.")


def _dots(holds: Sequence[Held], shown: Shown) -> list[Dot]:
    return [
        Dot(
            f"{hold.notch}, {_way(hold)}, {shown.of(hold.line_v, 'voltage')}",
            endless(hold.hold_s),
            endless(hold.bound_s),
            _dot_words(hold, shown),
            number == 0 or holds[number - 1].notch != hold.notch,
        )
        for number, hold in enumerate(holds)
    ]


def _dot_words(hold: Held, shown: Shown) -> str:
    return f"{_best(hold, shown)}, {bound_words(hold.bound_s, shown)}"


def _best(hold: Held, shown: Shown) -> str:
    words = hold_words(hold.hold_s, shown)
    return words if hold.hold_s is None or words == "pass through" else f"{ABOUT}{words}"


def _notches(holds: Sequence[Held]) -> list[str]:
    return list(dict.fromkeys(hold.notch for hold in holds))


def _way(hold: Held) -> str:
    return next(way for way in WAYS if hold.case.startswith(way))


def _cases(holds: Sequence[Held]) -> list[tuple[str, float]]:
    """Start and voltage of every column that has holds."""
    volts = sorted({hold.line_v for hold in holds})
    starts = [start for start in STARTS if any(hold.case.endswith(start) for hold in holds)]
    return [(start, line_v) for start in starts for line_v in volts]


def _hold_columns(holds: Sequence[Held], shown: Shown) -> tuple[Column, ...]:
    titles = (f"{start}, {shown.of(line_v, 'voltage')}" for start, line_v in _cases(holds))
    return (Column("Notch"), Column("How"), *(Column(title, least_mm=_HOLD_MM) for title in titles))


def _hold_rows(holds: Sequence[Held], shown: Shown) -> Iterator[tuple[TableCell, ...]]:
    known = {(hold.notch, hold.case, hold.line_v): hold for hold in holds}
    for notch in _notches(holds):
        for way in WAYS:
            found = [known.get((notch, f"{way}, {start}", line_v)) for start, line_v in _cases(holds)]
            if any(found):
                yield (notch, way, *(_hold_cell(hold, shown) for hold in found))


def _hold_cell(hold: Held | None, shown: Shown) -> str:
    if hold is None:
        return "not run"
    bound = bound_words(hold.bound_s, shown).removeprefix("bound ")
    return "\n".join((f"{_best(hold, shown)} ({bound})", *flags(hold)))


def _hold_legend(result: Told, shown: Shown) -> tuple[str, ...]:
    breaker = result.job.line.breaker_a if result.job.line else None
    opens = "no breaker was given" if breaker is None else f"the breaker of {shown.of(breaker, 'current')} from line"
    return (
        "Best estimate at the worst end, rounded down, until the first plate of any section in circuit reaches its "
        "limit; in brackets the same without any loss, the bound. Pass through: under 5 s.",
        "Stalled: the car stands, the line keeps its voltage. Held running: the speed at which the car balances on the "
        "gradient of the job. From settled duty: after hours of the duty, each section at its hottest settled "
        "temperature.",
        "Runs away: at no temperature up to the top of the metal's table does the grid lose as much as it takes "
        "up; held on, it is destroyed.",
        f"Breaker opens first: the current at the start of the hold is above that of the breaker ({opens}). It is no "
        "leave to hold the notch.",
    )
