"""The working of the start: time, distance, speed and heat of every notch, at nominal and at highest voltage."""

from collections.abc import Iterator

from griddesign.choose.duty import section_heat
from griddesign.judge.records import Result
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.papers.sheets.trace import Line, Part, unsure
from griddesign.papers.sheets.trace_choice import why_unsure
from griddesign.traction.mechanics import accelerated_kg
from griddesign.traction.records import MeanStart, NotchRun

_SIMPLE = (
    "What the choice of plates goes by; temperatures and peaks on the papers come from the start as run. "
    "Simplification, by name: mean current. On every notch the car gathers way as if the mean of the current on "
    "arriving and on leaving acted throughout; motors at their stated resistance, grid cold, changes of grouping "
    "without time. The start ends where the current of the last notch has fallen to the valley."
)


def start_parts(result: Result) -> tuple[Part, ...]:
    """The start at each line voltage; nothing where no start was run."""
    shown = Shown(result.job.paper.units)
    starts = [start for start in (result.start, result.start_highest) if start is not None]
    once = {start.line_v: start for start in starts}
    parts = tuple(
        part for place, start in enumerate(once.values()) for part in _parts(result, start, shown, place == 0)
    )
    why = why_unsure(result)
    return tuple(unsure(part, why) for part in parts) if why else parts


def _parts(result: Result, start: MeanStart, shown: Shown, first: bool) -> Iterator[Part]:
    """One start; what holds for all is said with the ``first``."""
    volts = shown.of(start.line_v, "voltage")
    car = result.job.car
    assert car is not None
    mass = shown.of(accelerated_kg(car), "mass")
    law = f"a = (F(Im) − F_res)/m*, m* = {mass} with its rotating parts; t = Δv/a; distance = mean speed · t."
    beyond = ("A current passes the end of the motor curve; k was kept at its last value there.",) * start.beyond_curve
    lines = (*(_notch_line(notch, shown) for notch in start.notches), _whole(start, shown))
    titles = ("Notch", "Currents per motor, pull, acceleration, speed on leaving", "Time, distance", "From line")
    yield Part(f"Start at {volts}", lines, (*((_SIMPLE, law) if first else ()), *beyond), titles)
    said = (_HEAT,) if first else ()
    yield Part(f"Heat of the start at {volts}", (*_section_lines(start, shown), _grid(start, shown)), said)


_HEAT = (
    "Q of a section on a notch = p² (Ip² + Ip·Iv + Iv²)/3 · r · t, the mean square of a current falling evenly, r "
    "cold; p² is 1 with a grid for each string; where branches divide the current, the square of the share stands "
    "in it."
)


def _notch_line(notch: NotchRun, shown: Shown) -> Line:
    if notch.seconds == 0.0:
        return Line(notch.name, f"{notch.arrive_a:.1f}{NO_BREAK}A on arriving, under the valley current", "", "passed")
    way = (
        f"{notch.arrive_a:.1f}{NO_BREAK}A to {notch.leave_a:.1f}{NO_BREAK}A; {shown.of(notch.effort_n, 'force')}; "
        f"{shown.of(notch.acceleration_m_s2, 'acceleration')}; {shown.of(notch.leave_m_s, 'speed')}"
    )
    took = f"{shown.of(notch.seconds, 'time')}, {shown.way(notch.distance_m)}"
    return Line(notch.name, way, "", took, shown.of(notch.line_j, "energy"))


def _whole(start: MeanStart, shown: Shown) -> Line:
    took = f"{shown.of(start.seconds, 'time')}, {shown.way(start.distance_m)}"
    way = f"sum; end speed {shown.of(start.end_m_s, 'speed')}"
    return Line("start", way, "", took, shown.of(start.line_j, "energy"))


def _section_lines(start: MeanStart, shown: Shown) -> Iterator[Line]:
    for name, joules, on_s in section_heat(start):
        parts = [
            f"{shown.of(dict(notch.section_j)[name], 'energy')} (notch {notch.name})"
            for notch in start.notches
            if dict(notch.section_j)[name] > 0.0
        ]
        live = f"in circuit {shown.of(on_s, 'time')}" if joules else "never in circuit"
        yield Line(f"Q({name})", " + ".join(parts), "", shown.of(joules, "energy"), live)


def _grid(start: MeanStart, shown: Shown) -> Line:
    return Line("Q(grid)", "sum of the sections", "", shown.of(start.grid_j, "energy"), "mean currents")
