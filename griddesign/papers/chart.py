"""Curves on paper: axes with round numbers, every curve named at the curve itself, told apart without colour."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor, isfinite, log10

from griddesign.errors import OutputError
from griddesign.papers import text
from griddesign.papers.marks import MEDIUM_MM, THICK_MM, THIN_MM, Mark, Picture, Words, line, polyline, rectangle

LABEL_PT = 8.5
_FOOT_MM, _TOP_MM = 11.0, 7.0
_DASHES: tuple[tuple[float, ...], ...] = ((), (4.0, 1.2), (1.2, 1.0), (4.0, 1.0, 1.0, 1.0), (7.0, 1.5), (2.2, 1.0))
_GRID_GREY = 0.75


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve: its name as printed beside it, its points."""

    name: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """What is plotted: axis titles with their units, curves, level lines (limits) with their names."""

    x_title: str
    y_title: str
    curves: tuple[Curve, ...]
    levels: tuple[tuple[str, float], ...] = ()
    width_mm: float = 180.0
    height_mm: float = 90.0


@dataclass(frozen=True, slots=True)
class _Axis:
    """Round values from ``low`` to ``high`` in ``step``, laid on paper from ``start_mm`` to ``end_mm``."""

    low: float
    high: float
    step: float
    start_mm: float
    end_mm: float

    def at(self, value: float) -> float:
        return self.start_mm + (value - self.low) / (self.high - self.low) * (self.end_mm - self.start_mm)

    def ticks(self) -> list[float]:
        count = round((self.high - self.low) / self.step)
        return [self.low + number * self.step for number in range(count + 1)]

    def words(self, value: float) -> str:
        decimals = max(0, -floor(log10(self.step) + 1e-9))
        return f"{value + 0.0:.{decimals}f}".replace("-", "−")


def chart_picture(chart: Chart) -> Picture:
    """The chart as a picture. Raises OutputError where a curve has no points or a number is not finite."""
    values = _values(chart)
    names_mm = max(text.width_mm(text.clean(curve.name), LABEL_PT) for curve in chart.curves)
    right = chart.width_mm - min(names_mm + 2.0, chart.width_mm / 3.0)
    heights = [*(y for _, y in values), *(1.05 * y for _, y in chart.levels)]  # a limit never on the frame itself
    up = _axis(heights, chart.height_mm - _FOOT_MM, _TOP_MM)
    left = max(text.width_mm(up.words(value), LABEL_PT) for value in up.ticks()) + 2.5
    across = _axis([x for x, _ in values], left, right)
    marks = [*_frame(chart, across, up), *_levels(chart, across, up), *_curves(chart, across, up)]
    return Picture(chart.width_mm, chart.height_mm, tuple(marks))


def _values(chart: Chart) -> list[tuple[float, float]]:
    values = [point for curve in chart.curves for point in curve.points]
    if not chart.curves or not all(curve.points for curve in chart.curves):
        raise OutputError("a chart needs at least one curve, and every curve a point")
    if not all(isfinite(number) for point in values for number in point):
        raise OutputError("a curve holds a number that is not finite")
    return values


def _axis(values: Sequence[float], start_mm: float, end_mm: float) -> _Axis:
    """Four to ten steps of 1, 2 or 5 times a power of ten that hold all values; zero is in where it is near."""
    low, high = min(values), max(values)
    low = 0.0 if 0.0 < low < 0.5 * high else low
    spread = (high - low) or abs(high) or 1.0
    power = 10.0 ** floor(log10(spread / 4.0))
    step = power * max(factor for factor in (1, 2, 5) if factor * power <= spread / 4.0 * (1 + 1e-9))
    first, last = floor(low / step + 1e-9), -floor(-high / step + 1e-9)
    return _Axis(first * step, max(last, first + 1) * step, step, start_mm, end_mm)


def _frame(chart: Chart, across: _Axis, up: _Axis) -> list[Mark]:
    wide, high = across.end_mm - across.start_mm, up.start_mm - up.end_mm
    marks: list[Mark] = []
    for value in across.ticks():
        x = across.at(value)
        marks.append(line(x, up.end_mm, x, up.start_mm, THIN_MM, grey=_GRID_GREY))
        marks.append(Words(x, up.start_mm + 4.0, across.words(value), LABEL_PT, align="centre"))
    for value in up.ticks():
        y = up.at(value)
        marks.append(line(across.start_mm, y, across.end_mm, y, THIN_MM, grey=_GRID_GREY))
        marks.append(Words(across.start_mm - 1.5, y + 1.1, up.words(value), LABEL_PT, align="right"))
    marks.append(rectangle(across.start_mm, up.end_mm, wide, high, MEDIUM_MM))
    marks.append(Words(across.end_mm, chart.height_mm - 1.5, text.clean(chart.x_title), LABEL_PT, True, "right"))
    marks.append(Words(0.0, 3.5, text.clean(chart.y_title), LABEL_PT, True))
    return marks


def _levels(chart: Chart, across: _Axis, up: _Axis) -> list[Mark]:
    """Limits: thick dashed lines from side to side, their names on them at the left."""
    marks: list[Mark] = []
    for name, value in chart.levels:
        y = up.at(value)
        marks.append(line(across.start_mm, y, across.end_mm, y, THICK_MM, dash_mm=(3.0, 1.5)))
        marks.append(Words(across.start_mm + 2.0, y - 1.2, text.clean(name), LABEL_PT, True))
    return marks


def _curves(chart: Chart, across: _Axis, up: _Axis) -> list[Mark]:
    marks: list[Mark] = []
    for number, curve in enumerate(chart.curves):
        points = [(across.at(x), up.at(y)) for x, y in curve.points]
        marks.append(polyline(points, width_mm=MEDIUM_MM, dash_mm=_DASHES[number % len(_DASHES)]))
    heights = _spread([up.at(curve.points[-1][1]) for curve in chart.curves])
    for curve, height in zip(chart.curves, heights, strict=True):
        end = across.at(curve.points[-1][0]), up.at(curve.points[-1][1])
        label = across.end_mm + 2.0, height
        marks.append(line(*end, label[0] - 0.5, height, THIN_MM))
        marks.append(Words(label[0], height + 1.1, text.clean(curve.name), LABEL_PT))
    return marks


def _spread(heights: list[float]) -> list[float]:
    """Heights moved down just as far as keeps neighbouring names apart."""
    apart = text.line_height_mm(LABEL_PT)
    order = sorted(range(len(heights)), key=heights.__getitem__)
    placed = list(heights)
    for before, after in pairwise(order):
        placed[after] = max(placed[after], placed[before] + apart)
    return placed
