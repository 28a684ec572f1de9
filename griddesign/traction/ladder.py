"""The ladder: which ohms each notch and each section of the grid should have, and what the car does on them."""

from collections.abc import Collection, Mapping, Sequence

from griddesign.errors import NoStartError
from griddesign.traction.mean_start import mean_start
from griddesign.traction.mechanics import effort_n, motor_rad_s
from griddesign.traction.peaks import BuiltGrid, Peak
from griddesign.traction.problem import Problem
from griddesign.traction.realise import realised
from griddesign.traction.records import Car, Ladder, Line, Motor, Notch, NotchRun, NotchWanted, Start
from griddesign.traction.remarks import running_remarks, wiring_remarks

KMH_PER_M_S = 3.6


def ladder(
    line: Line,
    car: Car,
    motor: Motor,
    start: Start,
    notches: Sequence[Notch],
    *,
    section_order: Sequence[str],
    hot_ratio: Mapping[str, float] | None = None,
    cold_c: float = 20.0,
    given_away: float = 0.0,
    parted: Collection[str] = (),
) -> Ladder:
    """The ladder of a car: cold ohms of every section for the strongest start that keeps every peak within the limit.

    One valley current for all notches, as large as the sections shared between notches allow (or ``start.valley_a``),
    and at it the most even peaks. ``hot_ratio`` is hot over cold ohms of each section at settled duty, 1 where absent;
    ``cold_c`` the temperature of motors that have stood, degrees Celsius; ``given_away`` the share of the largest
    valley current given away for evener peaks: at the very strongest start a section may starve for an ampere's sake.
    Linear and exact while circuits are plain series; circuits with branches are realised by a local search and say
    so. The first notch takes its current with warm motors and cold grid; its peak is reported with cold motors. A
    change of grouping takes no time, whatever its transition. A notch's field share and motor resistance count; motors
    or wheels that are unlike do not: they are taken as all alike here, and the run-up finds the worst of them.

    ``parted``: sections whose taps are used on notches that are not among these.

    Raises NoStartError where no grid gives the start, CurveError where a current leaves the motor curve, CircuitError
    where circuits and groupings disagree.
    """
    problem = Problem(line, motor, start, tuple(notches), tuple(section_order), hot_ratio or {}, cold_c, given_away)
    _check(problem)
    found = realised(problem)
    run = mean_start(line, car, motor, notches, found.section_ohm, valley_a=found.valley_a)
    grid = BuiltGrid(problem, found.section_ohm)
    rows = tuple(
        _row(grid, car, step, index, peak)
        for index, (step, peak) in enumerate(zip(run.notches, grid.peaks(found.valley_a), strict=True))
    )
    said = (
        *wiring_remarks(notches, rows, found.section_ohm, parted),
        *running_remarks(problem, car, rows, found.valley_a),
    )
    return Ladder(rows, tuple(found.section_ohm.items()), found.valley_a, found.exact, found.note, said)


def _check(problem: Problem) -> None:
    start = problem.start
    if start.first_notch_a > start.peak_a:
        raise NoStartError(
            f"the first notch takes {start.first_notch_a:.4g} A, more than the peak current of {start.peak_a:.4g} A",
            hint="Lower the first notch current, or allow a higher peak.",
        )
    bare = problem.bare(0, cold=False)
    if problem.stages[0].wanted_ohm is None and start.first_notch_a * bare > problem.line.nominal_v:
        raise NoStartError(
            f"motors and feeder alone are {bare:.4g} ohm on the first notch and let only "
            f"{problem.line.nominal_v / bare:.4g} A pass, less than the {start.first_notch_a:.4g} A asked for",
            hint="Lower the first notch current.",
        )


def _row(grid: BuiltGrid, car: Car, step: NotchRun, index: int, peak: Peak) -> NotchWanted:
    problem, stage = grid.problem, grid.problem.stages[index]
    motors = stage.grouping.series * stage.grouping.parallel
    return NotchWanted(
        name=stage.name,
        grouping=stage.grouping,
        sections=stage.sections,
        wanted_ohm=grid.grid_ohm(index),
        total_ohm=grid.total_ohm(index, cold=False),
        peak_a=peak.current_a,
        valley_a=step.leave_a,
        line_peak_a=stage.grouping.parallel * peak.current_a,
        corner=peak.corner,
        frozen_flux_a=peak.frozen_flux_a,
        leave_rad_s=motor_rad_s(car, step.leave_m_s),
        speed_kmh=KMH_PER_M_S * step.leave_m_s,
        effort_n=effort_n(car, problem.curves[index].held_above(), motors, peak.current_a),
        seconds=step.seconds,
        passed=step.seconds == 0.0,
    )
