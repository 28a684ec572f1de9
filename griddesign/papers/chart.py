"""Curves on paper: axes with round numbers, every curve named at the curve itself, told apart without colour."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, isfinite, log10

from griddesign.errors import OutputError
from griddesign.papers import text
from griddesign.papers.chart_notes import LABEL_PT, Note, fitted, note_marks, spread, with_ground
from griddesign.papers.marks import MEDIUM_MM, THICK_MM, THIN_MM, Mark, Picture, Words, line, polyline, rectangle

_FOOT_MM, _TOP_MM = 11.0, 7.0
_NAME_MM = 4.2  # what a name on its line takes above it
_DASHES: tuple[tuple[float, ...], ...] = ((), (4.0, 1.2), (1.2, 1.0), (4.0, 1.0, 1.0, 1.0), (7.0, 1.5), (2.2, 1.0))
_GRID_GREY = 0.75


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve: its name as printed beside it (empty: none), its points; ``dash`` numbers its way of being broken,
    None counts them up from the unbroken line."""

    name: str
    points: tuple[tuple[float, float], ...]
    width_mm: float = MEDIUM_MM
    dash: int | None = None


@dataclass(frozen=True, slots=True)
class Chart:
    """What is plotted: axis titles with their units, curves, level lines (limits) with their names.

    ``spans`` are upright lines with theirs, ``notes`` words at a point; ``levels_beside`` names the levels at the
    right, with the curves. Names beside take up to a third of the width; longer ones are cut.
    """

    x_title: str
    y_title: str
    curves: tuple[Curve, ...]
    levels: tuple[tuple[str, float], ...] = ()
    width_mm: float = 180.0
    height_mm: float = 90.0
    spans: tuple[tuple[str, float], ...] = ()
    notes: tuple[Note, ...] = ()
    levels_beside: bool = False


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
    names_mm = max((text.width_mm(text.clean(name), LABEL_PT, True) for name in _names_beside(chart)), default=0.0)
    right = chart.width_mm - min(names_mm + 3.0, chart.width_mm / 3.0)
    heights = [*(y for _, y in values), *(1.05 * y for _, y in chart.levels)]  # a limit never on the frame itself
    heights += [1.12 * note.y for note in chart.notes if note.text]  # room for the words over it
    up = _axis(heights, chart.height_mm - _FOOT_MM, _TOP_MM)
    left = max(text.width_mm(up.words(value), LABEL_PT) for value in up.ticks()) + 2.5
    across = _axis([x for x, _ in values], left, right)
    marks = [*_frame(chart, across, up), *_levels(chart, across, up), *_spans(chart, across, up)]
    marks += [*_curves(chart, across, up), *_beside(chart, across, up)]
    placed = [(note, across.at(note.x), up.at(note.y)) for note in chart.notes]
    marks += note_marks(placed, (left, up.end_mm, right, up.start_mm), marks, [up.at(y) for _, y in chart.levels])
    return Picture(chart.width_mm, chart.height_mm, tuple(marks), _told(chart))


def _told(chart: Chart) -> str:
    """What is plotted, for who cannot see it."""
    curves = ", ".join(name for name in (*(curve.name for curve in chart.curves), *(name for name, _ in chart.levels)))
    return f"Chart of {chart.y_title} against {chart.x_title}: {curves}"


def _names_beside(chart: Chart) -> list[str]:
    return [*(curve.name for curve in chart.curves), *(name for name, _ in chart.levels if chart.levels_beside)]


def _values(chart: Chart) -> list[tuple[float, float]]:
    values = [point for curve in chart.curves for point in curve.points]
    values += [(note.x, note.y) for note in chart.notes]
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
    """Limits: thick dashed lines from side to side, their names on them at the left or beside them at the right."""
    marks: list[Mark] = []
    for name, value in chart.levels:
        y = up.at(value)
        marks.append(line(across.start_mm, y, across.end_mm, y, THICK_MM, dash_mm=(3.0, 1.5)))
        if not chart.levels_beside:
            base = y - 1.2 if y - up.end_mm > _NAME_MM else y + 3.4  # under the line where the frame is near
            marks.append(Words(across.start_mm + 2.0, base, text.clean(name), LABEL_PT, True))
    return marks


def _spans(chart: Chart, across: _Axis, up: _Axis) -> list[Mark]:
    """Upright lines with their names inside the frame at its foot, each as far up as its neighbours make it go."""
    marks: list[Mark] = []
    room = across.end_mm - across.start_mm
    for name, value in chart.spans:
        x, y = across.at(value), up.start_mm - 1.5
        marks.append(line(x, up.end_mm, x, up.start_mm, THIN_MM, dash_mm=(1.0, 1.0)))
        wide = text.width_mm(text.clean(name), LABEL_PT)
        align = "left" if x + 1.0 + min(wide, room) < across.end_mm else "right"
        start = x + 1.0 if align == "left" else x - 1.0 - wide
        marks += with_ground(Words(start, y, text.clean(name), LABEL_PT), marks)
    return marks


def _curves(chart: Chart, across: _Axis, up: _Axis) -> list[Mark]:
    marks: list[Mark] = []
    for number, curve in enumerate(chart.curves):
        points = [(across.at(x), up.at(y)) for x, y in curve.points]
        dash = _DASHES[(number if curve.dash is None else curve.dash) % len(_DASHES)]
        marks.append(polyline(points, width_mm=curve.width_mm, dash_mm=dash))
    return marks


def _beside(chart: Chart, across: _Axis, up: _Axis) -> list[Mark]:
    """Names to the right of the frame, each with a thin line to where its curve or level ends."""
    ends = [(curve.name, across.at(curve.points[-1][0]), up.at(curve.points[-1][1])) for curve in chart.curves]
    ends += [(name, across.end_mm, up.at(value)) for name, value in chart.levels if chart.levels_beside]
    named = [end for end in ends if end[0]]
    heights = spread([y for _, _, y in named], (_TOP_MM, chart.height_mm - _FOOT_MM - 0.5))
    levels = {name for name, _ in chart.levels}
    marks: list[Mark] = []
    for (name, x, y), height in zip(named, heights, strict=True):
        marks.append(line(x, y, across.end_mm + 2.0, height, THIN_MM, dash_mm=(0.5, 0.8)))
        bold = name in levels
        said = fitted(name, chart.width_mm - across.end_mm - 2.5, bold=bold)
        marks.append(Words(across.end_mm + 2.5, height + 1.1, said, LABEL_PT, bold))
    return marks
