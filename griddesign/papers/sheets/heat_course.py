"""The heat sheet's temperatures over time: one start from ambient, one in the settled day, and the day as it settles;
and its best estimate with the band of the loss model."""

from collections.abc import Iterator, Sequence

import numpy as np

from griddesign.heat.air import FloatArray
from griddesign.heat.duty import ONE_START
from griddesign.heat.records import HeatRow
from griddesign.judge.day_trace import DayTrace, StartCourse
from griddesign.papers.blocks import SMALL_PT, Beside, Block, Column, Drawing, Heading, Paragraph, Table
from griddesign.papers.chart import Chart, Curve, chart_picture
from griddesign.papers.marks import MEDIUM_MM, THICK_MM, THIN_MM, Picture
from griddesign.papers.sheets.shown import ABOUT, Shown

HIGH_MM, HALF_MM = 60.0, 87.0
MOST_TEETH = 80
_TABLE_PT = 9.0
_NEAR = 0.5  # of the limit: a start that stays further below it is drawn to a scale of its own


def course_blocks(trace: DayTrace | None, shown: Shown) -> Iterator[Block]:
    """The plots of temperature over one start and over the day; nothing where none was followed."""
    if trace is None:
        return
    yield Heading(f"Over one start, {case_words(trace, shown)}")
    first = Drawing(_start_picture(trace, trace.first, shown, HALF_MM), "One start from ambient.")
    if trace.settled is None:
        yield Drawing(_start_picture(trace, trace.first, shown, 2 * HALF_MM), "One start from ambient.")
        return
    settled = Drawing(_start_picture(trace, trace.settled, shown, HALF_MM), "One start of the settled day.")
    yield Beside((first,), (settled,))
    yield Heading(f"Over the service day, {case_words(trace, shown)}")
    yield Drawing(_day_picture(trace, shown), _day_caption(trace, shown))


def case_words(trace: DayTrace, shown: Shown) -> str:
    """Voltage and ambient of what is drawn."""
    return f"{shown.of(trace.case.line_v, 'voltage')}, ambient {shown.temperature(trace.case.ambient_c)}"


def _start_picture(trace: DayTrace, course: StartCourse, shown: Shown, width_mm: float) -> Picture:
    curves = tuple(
        Curve(name, _points(course.time_s, column, shown), _width_mm(trace, place))
        for place, (name, column) in enumerate(zip(trace.sections, course.section_c.T, strict=True))
    )
    title = f"plate, {shown.degree_sign()}"
    near = bool(np.any(course.peak_c > _NEAR * np.array(trace.limit_c)))
    levels = _levels(trace, shown) if near else ()
    return chart_picture(Chart("time from power on, s", title, curves, levels, width_mm, HIGH_MM))


def _points(time: FloatArray, t_c: FloatArray, shown: Shown) -> tuple[tuple[float, float], ...]:
    return tuple((float(when), shown.degrees(float(value))) for when, value in zip(time, t_c, strict=True))


def _width_mm(trace: DayTrace, place: int) -> float:
    """The section that comes nearest to its limit is drawn thick."""
    hottest = trace.settled or trace.first
    return THICK_MM if place == int(np.argmin(np.array(trace.limit_c) - hottest.peak_c)) else MEDIUM_MM


def _levels(trace: DayTrace, shown: Shown) -> tuple[tuple[str, float], ...]:
    limits = sorted(set(trace.limit_c))
    return tuple((f"limit {shown.temperature(limit_c)}", shown.degrees(limit_c)) for limit_c in limits)


def _day_picture(trace: DayTrace, shown: Shown) -> Picture:
    assert trace.every_s is not None
    per, unit = (1.0 / 3600.0, "h") if trace.every_s * trace.starts > 7200.0 else (1.0 / 60.0, "min")
    time_s, saw_c = saw_tooth(trace)
    curves = tuple(
        Curve(name, _points(per * time_s, column, shown), THICK_MM if thick else THIN_MM, 0)
        for name, column, thick in zip(
            trace.sections,
            saw_c.T,
            [_width_mm(trace, place) == THICK_MM for place in range(saw_c.shape[1])],
            strict=True,
        )
    )
    title = f"plate, {shown.degree_sign()}"
    chart = Chart(f"time of the day's work, {unit}", title, curves, _levels(trace, shown), height_mm=HIGH_MM + 8.0)
    return chart_picture(chart)


def saw_tooth(trace: DayTrace) -> tuple[FloatArray, FloatArray]:
    """Seconds, and degC of each section, of the day's corners: begin and end of every start.

    Cooling between two starts is drawn straight. Of a day of more starts than can be told apart on paper only each
    so-manieth tooth is drawn.
    """
    assert trace.every_s is not None
    picked = np.arange(0, trace.starts, -(-trace.starts // MOST_TEETH))
    begin_s = picked * trace.every_s
    time_s = np.stack([begin_s, begin_s + float(trace.first.time_s[-1])], axis=1).ravel()
    corners_c = np.stack([trace.begin_c[picked], trace.peak_c[picked]], axis=1)
    return time_s, corners_c.reshape(-1, len(trace.sections))


def _day_caption(trace: DayTrace, shown: Shown) -> str:
    assert trace.every_s is not None
    every, near = shown.of(trace.every_s, "time"), "half a kelvin" if shown.units == "mm" else "one degree"
    few = "" if trace.starts <= MOST_TEETH else f" Only each {-(-trace.starts // MOST_TEETH)}th start is drawn."
    return (
        f"A start every {every}: up over the start, down until the next. Settled to {near} after "
        f"{trace.starts} starts. Worst end: {trace.case.end.name}. Each section for itself.{few}"
    )


# --- the band --------------------------------------------------------------------------------------------------------


def band_blocks(rows: Sequence[HeatRow], shown: Shown) -> Iterator[Block]:
    """Best estimate with the band of the loss model beside the worst end and the bound, at the highest voltage."""
    highest_v = max(row.line_v for row in rows)
    banded = [row for row in rows if row.line_v == highest_v and row.best_c is not None]
    banded = [row for row in banded if row.case != ONE_START] or banded
    if not banded:
        return
    yield Heading(f"Band of the loss model, {shown.of(highest_v, 'voltage')}")
    by_hand = any(row.by_hand_c is not None for row in banded)
    titles = ["loss at its high end", "best estimate", "loss at its low end", "worst end", "bound, no loss"]
    titles += ["closed form"] if by_hand else []
    columns = (Column("Section"), Column("Case"), *(Column(title, "right") for title in titles))
    yield Table(columns, tuple(_band_row(row, shown, by_hand=by_hand) for row in banded), _TABLE_PT)
    more = (
        " Closed form: even pulses and one time constant, the section alone, a check beside the run." if by_hand else ""
    )
    yield Paragraph(
        f"Best estimate: every figure as given; beside it only the loss moved. Worst end: all weak figures together, "
        f"what limits are judged by.{more}",
        size_pt=SMALL_PT,
    )


def _band_row(row: HeatRow, shown: Shown, *, by_hand: bool) -> tuple[str, ...]:
    found = [row.low_c, row.best_c, row.high_c, row.hot_c, row.bound_c, *((row.by_hand_c,) if by_hand else ())]
    cells = ["" if value is None else f"{ABOUT}{shown.temperature(value)}" for value in found]
    return (row.section, row.case.partition(",")[0], *cells)
