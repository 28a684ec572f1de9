"""The two plots of the heat sheet: bars of temperature against the limit, hold times on a logarithmic scale.

Everything is named where it stands and told apart without colour: filled and open bars, dots with whiskers.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from griddesign.papers import text
from griddesign.papers.chart_notes import fitted
from griddesign.papers.marks import (
    MEDIUM_MM,
    THICK_MM,
    THIN_MM,
    Mark,
    Picture,
    Words,
    circle,
    line,
    polyline,
    rectangle,
)

WIDE_MM = 180.0
LABEL_PT = 8.0
_ROW_MM = 4.8
_TOP_MM, _FOOT_MM = 6.0, 10.0
_PLOT_END_MM = 128.0
_LEAST_LEFT_MM, _MOST_LEFT_MM = 26.0, 66.0
_GREY, _GUIDE_GREY = 0.62, 0.8
_DASH_MM = (2.4, 1.2)
_TIMES = ((1.0, "1 s"), (5.0, "5 s"), (20.0, "20 s"), (60.0, "1 min"), (300.0, "5 min"), (1200.0, "20 min"),
          (3600.0, "1 h"), (18000.0, "5 h"), (72000.0, "20 h"))  # fmt: skip

Scale = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Bar:
    """One temperature in the unit of the axis: ``bound`` is the end of its whisker, ``limit`` where its line stands.

    ``value`` and ``bound`` may be infinite; ``said`` is written beside it. ``filled`` bars are settled duties.
    """

    name: str
    value: float
    bound: float
    limit: float
    said: str
    filled: bool
    first: bool = False


@dataclass(frozen=True, slots=True)
class Dot:
    """One hold time, seconds: ``value`` the best estimate, ``bound`` without loss; infinite is for ever."""

    name: str
    value: float
    bound: float
    said: str
    first: bool = False


def bar_picture(bars: Sequence[Bar], title: str, limit_words: str) -> Picture:
    """Bars one under another, with the limit as a thick dashed line and a whisker up to the adiabatic bound."""
    left = _left_mm([bar.name for bar in bars])
    finite = [number for bar in bars for number in (bar.value, bar.bound, bar.limit) if math.isfinite(number)]
    low, high, step = _round_axis(min(0.0, *finite), 1.05 * max(finite))
    high_mm = _TOP_MM + len(bars) * _ROW_MM + _FOOT_MM

    def at(value: float) -> float:
        return left + (min(value, high) - low) / (high - low) * (_PLOT_END_MM - left)

    ticks = [
        (at(low + n * step), f"{low + n * step:.0f}".replace("-", "−")) for n in range(round((high - low) / step) + 1)
    ]
    marks = _frame(left, len(bars), ticks, title)
    for row, bar in enumerate(bars):
        marks += _bar_marks(bar, row, left, at)
    marks.append(Words(at(max(bar.limit for bar in bars)), _TOP_MM - 1.8, limit_words, LABEL_PT, True, "right"))
    return Picture(WIDE_MM, high_mm, tuple(marks), f"Bars of {title}: {', '.join(bar.name for bar in bars)}")


def hold_picture(dots: Sequence[Dot], title: str) -> Picture:
    """Hold times one under another on a logarithmic scale; for ever runs out of the frame as an arrow."""
    left = _left_mm([dot.name for dot in dots])
    finite = [number for dot in dots for number in (dot.value, dot.bound) if math.isfinite(number)]
    ends = [tick for tick in _TIMES if tick[0] <= max([3600.0, *finite])]
    top_s = max(5.0 * ends[-1][0] / 3.0, 6000.0)
    high_mm = _TOP_MM + len(dots) * _ROW_MM + _FOOT_MM

    def at(seconds: float) -> float:
        share = math.log(min(max(seconds, 1.0), top_s)) / math.log(top_s)
        return left + share * (_PLOT_END_MM - left)

    marks = _frame(left, len(dots), [(at(seconds), words) for seconds, words in ends], title)
    bottom = _TOP_MM + len(dots) * _ROW_MM
    marks.append(line(at(5.0), _TOP_MM, at(5.0), bottom, THICK_MM, dash_mm=_DASH_MM))
    marks.append(Words(at(5.0), _TOP_MM - 1.8, "pass through under 5 s", LABEL_PT, True))
    for row, dot in enumerate(dots):
        marks += _dot_marks(dot, row, left, at)
    return Picture(WIDE_MM, high_mm, tuple(marks), f"Dots of {title}: {', '.join(dot.name for dot in dots)}")


# --- what both have --------------------------------------------------------------------------------------------------


def _left_mm(names: Sequence[str]) -> float:
    widest = max(text.width_mm(text.clean(name), LABEL_PT) for name in names)
    return min(max(widest + 3.0, _LEAST_LEFT_MM), _MOST_LEFT_MM)


def _round_axis(low: float, high: float) -> tuple[float, float, float]:
    """Round ends and step, four to ten steps."""
    power = 10.0 ** math.floor(math.log10((high - low) / 4.0))
    step = power * max(factor for factor in (1.0, 2.0, 5.0) if factor * power <= (high - low) / 4.0 * (1 + 1e-9))
    return math.floor(low / step) * step, math.ceil(high / step * (1 - 1e-12)) * step, step


def _frame(left: float, rows: int, ticks: Sequence[tuple[float, str]], title: str) -> list[Mark]:
    bottom = _TOP_MM + rows * _ROW_MM
    marks: list[Mark] = []
    last_end = -math.inf
    for x, words in ticks:
        half = text.width_mm(words, LABEL_PT) / 2.0
        marks.append(line(x, _TOP_MM, x, bottom, THIN_MM, grey=_GUIDE_GREY))
        if x - half > last_end + 1.0:
            marks.append(Words(x, bottom + 3.8, words, LABEL_PT, align="centre"))
            last_end = x + half
    marks.append(rectangle(left, _TOP_MM, _PLOT_END_MM - left, bottom - _TOP_MM, MEDIUM_MM))
    marks.append(Words(_PLOT_END_MM, bottom + 8.0, text.clean(title), LABEL_PT, True, "right"))
    return marks


def _middle_mm(row: int) -> float:
    return _TOP_MM + (row + 0.5) * _ROW_MM


def _row_words(name: str, said: str, row: int, first: bool, left_mm: float) -> list[Mark]:
    """Name at the left, result at the right, and a rule above the first row of a group."""
    y = _middle_mm(row)
    marks: list[Mark] = [Words(0.0, y + 1.0, fitted(name, left_mm - 1.0, size_pt=LABEL_PT), LABEL_PT)]
    marks.append(Words(_PLOT_END_MM + 2.0, y + 1.0, text.clean(said), LABEL_PT))
    if first and row:
        marks.append(line(0.0, y - _ROW_MM / 2.0, WIDE_MM, y - _ROW_MM / 2.0, THIN_MM, grey=_GREY))
    return marks


def _bar_marks(bar: Bar, row: int, left: float, at: Scale) -> list[Mark]:
    y, end, whisker = _middle_mm(row), at(bar.value), at(bar.bound)
    marks = _row_words(bar.name, bar.said, row, bar.first, left)
    if end > left:
        marks.append(rectangle(left, y - 1.4, end - left, 2.8, MEDIUM_MM, fill=_GREY if bar.filled else 1.0))
    marks.append(line(end, y, whisker, y, MEDIUM_MM))
    marks.append(_arrow(whisker, y) if math.isinf(bar.bound) else line(whisker, y - 1.0, whisker, y + 1.0, MEDIUM_MM))
    limit = at(bar.limit)
    marks.append(line(limit, y - _ROW_MM / 2.0, limit, y + _ROW_MM / 2.0, THICK_MM, dash_mm=_DASH_MM))
    return marks


def _dot_marks(dot: Dot, row: int, left: float, at: Scale) -> list[Mark]:
    y, x, whisker = _middle_mm(row), at(dot.value), at(dot.bound)
    marks = _row_words(dot.name, dot.said, row, dot.first, left)
    marks.append(line(whisker, y, x, y, MEDIUM_MM))
    if math.isfinite(dot.bound):
        marks.append(line(whisker, y - 1.1, whisker, y + 1.1, MEDIUM_MM))
    marks.append(_arrow(x, y) if math.isinf(dot.value) else circle(x, y, 1.0, THIN_MM, fill=0.0))
    return marks


def _arrow(x: float, y: float) -> Mark:
    """A head pointing out of the frame."""
    return polyline(((x, y), (x - 2.4, y - 1.1), (x - 2.4, y + 1.1)), width_mm=THIN_MM, closed=True, fill=0.0)
