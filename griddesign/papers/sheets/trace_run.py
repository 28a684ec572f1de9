"""The working of the start as run: currents, times, speeds and effort notch by notch, energy, every case, what notches
waste that are held."""

from collections.abc import Iterator

from griddesign.judge.runup import StartCase
from griddesign.judge.start_result import StartResult, efficiency
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, Shown
from griddesign.papers.sheets.trace import Line, Part
from griddesign.papers.sheets.trace_ladder import per_motor
from griddesign.traction.runup.records import NotchLog, RunUp
from griddesign.units import show_tiny

_RUN = (
    "The run integrates m* dv/dt = F(I) − F_res with V = R'(T)·I + s·k(I)·n at every moment, ohms and plates' heat "
    "along with it; a notch is left where its current has fallen to the valley. Step: change of acceleration on "
    "arriving. Frozen flux: the current if the flux of the notch before still stood."
)
_ENERGY = (
    "Integrals over the start: line V·I_line, feeder I_line²·Rf, grid and motors I²·R, drive (1 − efficiency) of the "
    "shafts; the wheel's part is reckoned apart, from ½ m* v², running resistance and gradient: it has to close."
)
_WASTE = (
    "Each resistance notch at its balance on the job's gradient: the speed where pull and resistance agree. Line: "
    "V·p·I; grid: (p·I)²·Rg of a common grid; wasted: one over the other."
)


def run_parts(run: StartResult | None) -> tuple[Part, ...]:
    """The parts of a start that was run; nothing without one."""
    if run is None:
        return ()
    shown = Shown(run.job.paper.units)
    return (
        _notches(run, shown),
        _energy(run.told, shown),
        Part("Start as run, every case", tuple(_cases(run.cases, run.run, shown)), titles=_CASES),
        *_cut_out(run, shown),
        *_wasted(run, shown),
    )


def _notches(run: StartResult, shown: Shown) -> Part:
    case = run.cases[0]
    where = f"{shown.of(case.line_v, 'voltage')}, {shown.temperature(case.ambient_c)}, grid cold"
    titles = ("Notch", "Currents per motor, A from line", "Time, speed on leaving", "Effort, step on arriving")
    return Part(f"Start as run, {where}", tuple(_notch(log, shown) for log in run.told.rows), (_RUN,), titles)


def _notch(log: NotchLog, shown: Shown) -> Line:
    peak, frozen, line_a = (
        shown.of(float(amperes[0]), "current") for amperes in (log.peak_a, log.frozen_flux_a, log.line_peak_a)
    )
    about = ABOUT if log.below_curve[0] else ""
    left = "passed" if log.passed[0] else f"left at {about}{shown.of(float(log.leave_a[0]), 'current')}"
    took = f"{float(log.leave_s[0] - log.arrive_s[0]):.2f}{NO_BREAK}s"
    step = shown.of(float(log.step_m_s2[0]), "acceleration", 2)
    return Line(
        log.name,
        f"peak {peak}, frozen flux {frozen}, {left}; from line {line_a}",
        "",
        f"{took}, {shown.of(float(log.leave_m_s[0]), 'speed')}",
        f"{shown.of(float(log.effort_n[0]), 'force')}, {step}",
    )


def _energy(told: RunUp, shown: Shown) -> Part:
    energy = told.energy
    line_j = float(energy.line_j[0])
    parts = (
        ("E, from line", "∫ V·I_line dt", energy.line_j),
        ("feeder", "∫ I_line²·Rf dt", energy.feeder_j),
        ("grid", "∫ I²·R(T) dt, joints in it", energy.grid_j),
        ("motors", "∫ I²·Rm dt", energy.motors_j),
        ("core and friction", "emf · I less the shaft", energy.core_j),
        ("drive", "shaft · (1 − efficiency)", energy.drive_j),
        ("wheel", "motion + running resistance + gradient", energy.wheel_j),
        ("of it motion", "½ m* v²", energy.kinetic_j),
        ("of it running resistance", "∫ F_res ds", energy.resistance_j),
    )
    lines = [
        Line(name, formula, "", shown.of(float(joules[0]), "energy", 4), _part(float(joules[0]), line_j))
        for name, formula, joules in parts
    ]
    left = show_tiny(float(energy.balance_error[0]))
    lines.append(Line("left over", "line less all of these", "", "", left))
    shaft, copper = efficiency(told)
    lines.append(Line("efficiency", "work of the shafts / E", "", _part(shaft, 1.0)))
    lines.append(Line("the other definition", "(shafts + motors' copper) / E", "", _part(copper, 1.0)))
    return Part("Energy of the start as run", tuple(lines), (_ENERGY,), ("Part", "Integral", "Energy", "Of the line's"))


def _part(part: float, whole: float) -> str:
    return f"{100.0 * part / whole:.1f}{NO_BREAK}%"


_CASES = ("Line, ambient", "Currents", "Time, speed, way", "From line, in the grid")


def _cases(cases: tuple[StartCase, ...], run: RunUp, shown: Shown) -> Iterator[Line]:
    for place, case in enumerate(cases):
        name = f"{shown.of(case.line_v, 'voltage')}, {shown.temperature(case.ambient_c)}"
        stuck = int(run.stuck[place])
        if stuck >= 0:
            yield Line(name, "", "", f"stuck on {run.notches[stuck].name}")
        else:
            yield _case(name, run, place, shown)


def _case(name: str, run: RunUp, place: int, shown: Shown) -> Line:
    worst = max(run.rows, key=lambda log: float(log.peak_a[place]))
    peak = per_motor(float(worst.peak_a[place]))
    line_a = max((float(log.line_peak_a[place]), log.where) for log in run.rows)
    took = shown.of(float(run.seconds[place]), "time"), shown.of(float(run.end_m_s[place]), "speed")
    joules = (shown.of(float(j[place]), "energy") for j in (run.energy.line_j, run.energy.grid_j))
    return Line(
        name,
        f"peak {peak}, {worst.where}; {shown.of(line_a[0], 'current')} from line, {line_a[1]}",
        "",
        f"{took[0]}, {took[1]}, {shown.way(float(run.distance_m[place]))}",
        ", ".join(joules),
    )


def _cut_out(run: StartResult, shown: Shown) -> Iterator[Part]:
    cut = run.cut_out
    if cut is not None:
        yield Part(f"Start with {cut.words}, grid cold", tuple(_cases(cut.cases, cut.run, shown)), titles=_CASES)
        lines = tuple(
            Line(
                f"T({one.name})",
                f"hottest after one start, {shown.of(one.line_v, 'voltage')}, from {shown.temperature(one.ambient_c)}",
                "",
                f"{ABOUT}{shown.temperature(one.hot_c)}",
                f"limit {shown.temperature(one.limit_c)}; worst end of the weak figures",
            )
            for one in cut.heat
        )
        yield from (Part(f"Heat with {cut.words}", lines) for _ in lines[:1])


def _wasted(run: StartResult, shown: Shown) -> Iterator[Part]:
    lines = tuple(
        Line(
            one.notch,
            f"settles at {shown.of(one.speed_m_s, 'speed')}, {shown.of(one.motor_a, 'current')} per motor",
            f"{shown.of(one.grid_w, 'power')} / {shown.of(one.line_w, 'power')}",
            _part(one.share, 1.0),
            f"in the grid on leaving, at the valley: {shown.of(one.leaving_w, 'power')}",
        )
        for one in run.wasted
    )
    if lines:
        titles = ("Notch", "Balance; grid over line", "Wasted", "On leaving")
        yield Part("Resistance notches held until the car has settled", lines, (_WASTE,), titles)
