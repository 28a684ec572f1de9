"""The circuit of one notch drawn: line, grid sections, motors in their grouping, ground.

Sections in circuit are thick and solid; those out of circuit thin and dashed and named ``out`` besides, so that the
drawing is read in a grey copy. Where the circuit is a plain run in the order of the sections, every section keeps its
column in every notch.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from griddesign.grid.circuit import names
from griddesign.grid.records import Branches, Run
from griddesign.papers import text
from griddesign.papers.marks import (
    MEDIUM_MM,
    THICK_MM,
    THIN_MM,
    Group,
    Mark,
    Picture,
    Words,
    circle,
    flat,
    line,
    rectangle,
    scaled,
)
from griddesign.papers.picture_dxf import Layered
from griddesign.papers.scales import Scale
from griddesign.traction.records import Grouping, Notch
from griddesign.units import show

NAME_PT, OUT_PT = 8.5, 7.0
_BOX_HIGH_MM, _BOX_WIDE_MM = 5.6, 8.0
_MOTOR_MM = 3.2  # radius
_LEAD_MM = 2.0  # of conductor between neighbours
_BETWEEN_MM = 1.6  # clear, between branches
_DASH_MM = (1.2, 0.9)
_BREAK_MM = 6.0  # taken by a letter where a circuit goes on in the next row


@dataclass(frozen=True, slots=True)
class _Part:
    """Something with a conductor in at the left and out at the right, both at height 0; ``up``, ``down``: room, mm."""

    wide: float
    up: float
    down: float
    marks: tuple[Mark, ...]


def circuit_picture(notch: Notch, section_order: Sequence[str], room_mm: float = 110.0) -> Picture:
    """The circuit of ``notch`` no wider than ``room_mm``: broken into lines of text-like rows where it is longer."""
    parts, left_out = _parts_of(notch, section_order)
    rows = _broken(parts, room_mm)
    if left_out:
        rows.append(_series(_out(name, on_line=False) for name in left_out))
    return replace(_stacked(rows, room_mm), shows=_told(notch, section_order))


def _told(notch: Notch, section_order: Sequence[str]) -> str:
    """The circuit in words, for who cannot see it."""
    runs = notch.strings if notch.common is None else (notch.common,)
    used = [name for run in runs for name in names(run)]
    grid = "; each string: ".join(_run_told(run) for run in runs)
    out = ", ".join(name for name in section_order if name not in used) or "none"
    motors = _motors_told(notch.grouping)
    return f"Circuit of notch {notch.name}: line, grid {grid}, {motors}, ground. Out of circuit: {out}."


def _motors_told(grouping: Grouping) -> str:
    one = "1 motor" if grouping.series == 1 else f"{grouping.series} motors in series"
    return one if grouping.parallel == 1 else f"{grouping.parallel} strings of {one} side by side"


def _run_told(run: Run) -> str:
    told = (part if isinstance(part, str) else _branches_told(part) for part in run.parts)
    return " then ".join(told) or "passed by"


def _branches_told(group: Branches) -> str:
    return f"({' beside '.join(map(_run_told, group.runs))})"


def circuit_layers(name: str, picture: Picture) -> Layered:
    """A circuit by layers, with the name of its notch above: conductors, what is out of circuit, words. A diagram is
    true to no size: one millimetre of paper is one of the drawing."""
    layers: dict[str, list[Mark]] = {"OUTLINE": [], "HATCH": [], "TEXT": []}
    layers["TEXT"].append(Words(0.0, -3.0, f"Notch {name}", NAME_PT + 1.0, True))
    for x_mm, y_mm, mark in flat(picture.marks):
        layer = "TEXT" if isinstance(mark, Words) else "HATCH" if mark.dash_mm else "OUTLINE"
        layers[layer].append(Group(x_mm, y_mm, (mark,)))
    return Layered({layer: tuple(marks) for layer, marks in layers.items()}, Scale(1, 1))


# --- what stands in the circuit --------------------------------------------------------------------------------------


def _parts_of(notch: Notch, section_order: Sequence[str]) -> tuple[list[_Part], list[str]]:
    """The parts from line to ground in order, and the sections out of circuit that have no place among them."""
    if notch.common is None:
        return _parts_per_string(notch, section_order)
    grid, left_out = _grid_parts(notch.common, section_order)
    own = _fixed(notch.string_ohm)
    groups = [_series([*own, *_motors(string)]) for string in notch.string_motors]
    return [_line_end(), *_fixed(notch.ahead_ohm), *grid, _lead(), _parallel(groups), _lead(), _ground()], left_out


def _parts_per_string(notch: Notch, section_order: Sequence[str]) -> tuple[list[_Part], list[str]]:
    used = [name for run in notch.strings for name in names(run)]
    own = _fixed(notch.string_ohm)
    branches = [
        _series([*own, *_run_parts(run), _lead(), *_motors(string)])
        for run, string in zip(notch.strings, notch.string_motors, strict=True)
    ]
    left_out = [name for name in section_order if name not in used]
    return [_line_end(), *_fixed(notch.ahead_ohm), _parallel(branches), _lead(), _ground()], left_out


def _fixed(ohm: float) -> list[_Part]:
    """A fixed resistor, by its ohms."""
    return [_section(f"fixed {show(ohm, 'resistance', digits=4)}")] if ohm else []


def _grid_parts(run: Run, section_order: Sequence[str]) -> tuple[list[_Part], list[str]]:
    """A common grid: in the order of the sections with those out in their places, or as nested with those out apart."""
    plain = [part for part in run.parts if isinstance(part, str)]
    if len(plain) == len(run.parts) and plain == [name for name in section_order if name in plain]:
        return [_section(name) if name in plain else _out(name) for name in section_order], []
    used = names(run)
    return _run_parts(run), [name for name in section_order if name not in used]


def _run_parts(run: Run) -> list[_Part]:
    return [_section(part) if isinstance(part, str) else _branches(part) for part in run.parts] or [_lead(_BOX_WIDE_MM)]


def _branches(group: Branches) -> _Part:
    return _parallel([_series(_run_parts(run)) for run in group.runs])


# --- parts -----------------------------------------------------------------------------------------------------------


def _lead(wide: float = _LEAD_MM) -> _Part:
    return _Part(wide, THICK_MM, THICK_MM, (line(0.0, 0.0, wide, 0.0, THICK_MM),))


def _box_wide(name: str) -> float:
    out = text.width_mm(f"{text.clean(name)} out", OUT_PT)
    return max(_BOX_WIDE_MM, text.width_mm(text.clean(name), NAME_PT, True) + 2.5, out + 2.0)


def _section(name: str) -> _Part:
    """A section in circuit: a thick box on the conductor."""
    wide, half = _box_wide(name), _BOX_HIGH_MM / 2.0
    marks = (
        line(0.0, 0.0, _LEAD_MM, 0.0, THICK_MM),
        rectangle(_LEAD_MM, -half, wide, _BOX_HIGH_MM, THICK_MM),
        _middle_words(_LEAD_MM + wide / 2.0, 0.0, name, NAME_PT, True),
    )
    return _Part(wide + _LEAD_MM, half + THICK_MM / 2, half + THICK_MM / 2, marks)


def _out(name: str, *, on_line: bool = True) -> _Part:
    """A section out of circuit: the conductor passes it by, the box under it is thin and dashed and says so."""
    wide, top = _box_wide(name), 1.2 if on_line else -_BOX_HIGH_MM / 2.0
    marks: list[Mark] = [
        rectangle(_LEAD_MM, top, wide, _BOX_HIGH_MM, THIN_MM, dash_mm=_DASH_MM),
        _middle_words(_LEAD_MM + wide / 2.0, top + _BOX_HIGH_MM / 2.0, f"{name} out", OUT_PT, False),
    ]
    if on_line:
        marks.append(line(0.0, 0.0, wide + _LEAD_MM, 0.0, THICK_MM))
    return _Part(wide + _LEAD_MM, max(THICK_MM, -top), top + _BOX_HIGH_MM + THIN_MM, tuple(marks))


def _motors(string: tuple[int, ...]) -> list[_Part]:
    return [_motor(number + 1) for number in string]


def _motor(number: int) -> _Part:
    centre = _LEAD_MM + _MOTOR_MM
    marks = (
        line(0.0, 0.0, _LEAD_MM, 0.0, THICK_MM),
        circle(centre, 0.0, _MOTOR_MM, THICK_MM),
        _middle_words(centre, 0.0, f"M{number}", OUT_PT, True),
    )
    room = _MOTOR_MM + THICK_MM / 2
    return _Part(centre + _MOTOR_MM, room, room, marks)


def _line_end() -> _Part:
    wide = text.width_mm("line", NAME_PT) + 1.0
    marks = (
        _middle_words(wide / 2.0 - 0.5, 0.0, "line", NAME_PT, False),
        circle(wide + 0.9, 0.0, 0.9, MEDIUM_MM),
        line(wide + 1.8, 0.0, wide + 4.0, 0.0, THICK_MM),
    )
    return _Part(wide + 4.0, 2.0, 2.0, marks)


def _ground() -> _Part:
    bars = tuple(line(2.5 + 1.2 * n, -2.4 + 0.8 * n, 2.5 + 1.2 * n, 2.4 - 0.8 * n, MEDIUM_MM) for n in range(3))
    words = _middle_words(6.0 + text.width_mm("ground", OUT_PT) / 2.0, 0.0, "ground", OUT_PT, False)
    wide = 6.5 + text.width_mm("ground", OUT_PT)
    return _Part(wide, 2.6, 2.6, (line(0.0, 0.0, 2.5, 0.0, THICK_MM), *bars, words))


def _middle_words(x: float, y: float, words: str, size_pt: float, bold: bool) -> Words:
    """Words with the middle of their capitals at ``x``, ``y``."""
    return Words(x, y + 0.365 * size_pt * 25.4 / 72.0, text.clean(words), size_pt, bold, "centre")


# --- parts joined ----------------------------------------------------------------------------------------------------


def _series(parts: Iterable[_Part]) -> _Part:
    """Parts one after another."""
    marks: list[Mark] = []
    wide = up = down = 0.0
    for part in parts:
        marks.append(Group(wide, 0.0, part.marks))
        wide, up, down = wide + part.wide, max(up, part.up), max(down, part.down)
    return _Part(wide, up, down, tuple(marks))


def _parallel(parts: Sequence[_Part]) -> _Part:
    """Parts one under another between two upright conductors; one part alone stays as it is."""
    if len(parts) == 1:
        return parts[0]
    inner = max(part.wide for part in parts)
    heights = _levels(parts)
    marks: list[Mark] = []
    for part, y in zip(parts, heights, strict=True):
        marks.append(Group(_LEAD_MM, y, part.marks))
        marks.append(line(_LEAD_MM + part.wide, y, 2 * _LEAD_MM + inner, y, THICK_MM))
    right, half = 2 * _LEAD_MM + inner, THICK_MM / 2
    for x in (_LEAD_MM, right):
        marks.append(line(x, heights[0] - half, x, heights[-1] + half, THICK_MM))
    marks.append(line(0.0, 0.0, _LEAD_MM, 0.0, THICK_MM))
    return _Part(right, parts[0].up - heights[0], heights[-1] + parts[-1].down, tuple(marks))


def _levels(parts: Sequence[_Part]) -> list[float]:
    """Heights of the branches' conductors, the middle of the first and last at 0."""
    heights = [0.0]
    for above, below in pairwise(parts):
        heights.append(heights[-1] + above.down + _BETWEEN_MM + below.up)
    middle = heights[-1] / 2.0
    return [height - middle for height in heights]


def _broken(parts: list[_Part], room_mm: float) -> list[_Part]:
    """The parts in rows no wider than the room; a break ends in a letter and goes on at the same letter."""
    rows: list[list[_Part]] = [[]]
    used = 0.0
    for number, part in enumerate(parts):
        rest = sum(later.wide for later in parts[number:])
        if rows[-1] and used + min(rest, part.wide + _BREAK_MM) > room_mm:
            letter = chr(ord("a") + len(rows) - 1)
            rows[-1].append(_break(letter, ends=True))
            rows.append([_break(letter, ends=False)])
            used = _BREAK_MM
        rows[-1].append(part)
        used += part.wide
    return [_series(row) for row in rows]


def _break(letter: str, *, ends: bool) -> _Part:
    start, stop, at = (0.0, 2.5, 4.5) if ends else (3.5, _BREAK_MM, 1.7)
    marks = (line(start, 0.0, stop, 0.0, THICK_MM), _middle_words(at, 0.0, letter, NAME_PT, False))
    return _Part(_BREAK_MM, 2.0, 2.0, marks)


def _stacked(rows: list[_Part], room_mm: float) -> Picture:
    marks: list[Mark] = []
    y = 0.0
    for row in rows:
        marks.append(Group(0.0, y + row.up, row.marks))
        y += row.up + row.down + _BETWEEN_MM
    wide, high = max(row.wide for row in rows), y - _BETWEEN_MM
    factor = min(1.0, room_mm / wide)
    return Picture(wide * factor, high * factor, scaled(marks, factor) if factor < 1.0 else tuple(marks))
