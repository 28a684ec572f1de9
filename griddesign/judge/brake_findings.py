"""What holds of a brake: each point in three words, with the number that decides it."""

from collections.abc import Iterator, Sequence

import numpy as np

from griddesign.errors import InputError
from griddesign.heat.lumps import AS_GIVEN
from griddesign.heat.records import HeatRow
from griddesign.job.records import PaperUnits
from griddesign.judge.brake_hill import HillTold
from griddesign.judge.heat_cases import hottest
from griddesign.judge.records import Finding, Verdict
from griddesign.judge.runup import Starter
from griddesign.traction.braking.build_up import STRAIGHT, BuildUp
from griddesign.traction.braking.records import BrakeRun, Braking
from griddesign.traction.mechanics import adhesion_n
from griddesign.units import show

BUILDS_UP = "brake, building up"
SIDE_BY_SIDE = "brake, motors side by side"
_EPS = 1e-9
_M_PER_FT = 0.3048  # exact


def unbrakable(error: InputError) -> Finding:
    """A brake that cannot be reckoned at all."""
    return Finding("brake", Verdict.FAILS, error.message, error.hint)


def brake_findings(
    ready: Starter,
    plan: Braking,
    built: Sequence[BuildUp],
    run: BrakeRun,
    rows: Sequence[HeatRow],
    hill: HillTold | None,
) -> Iterator[Finding]:
    """Every finding of the brake, the electric ones first."""
    units = ready.job.paper.units
    yield build_up_finding(built, plan, units)
    if (found := _side_by_side(plan)) is not None:
        yield found
    yield _peak(ready, plan, run)
    yield from _slows(plan, run)
    if (found := _adhesion(ready, run)) is not None:
        yield found
    if hill is not None:
        yield _hill(plan, hill, units)
    yield from _heat(rows, units)


def build_up_finding(built: Sequence[BuildUp], plan: Braking, units: PaperUnits = "mm") -> Finding:
    """The first notch that builds up decides; where none does, the last, which has the fewest ohms."""
    shown = [one for one in built if one.answer == "builds up"]
    open_ = [one for one in built if one.answer == "not shown"]
    one = (shown or open_ or list(built[-1:]))[0]
    verdict = {"builds up": Verdict.HOLDS, "not shown": Verdict.NOT_SHOWN}.get(one.answer, Verdict.FAILS)
    late = f"; not on {built[0].name}" if one is not built[0] else ""
    where = f"notch {one.name} at {_speed(plan.begin_m_s, units)}"
    return Finding(BUILDS_UP, verdict, f"{where}: {_why(one, plan, units)}{late}", _next(one))


def _why(one: BuildUp, plan: Braking, units: PaperUnits) -> str:
    against = f"R′ {one.total_ohm:.3g} Ω, critical {one.critical_ohm:.3g} Ω by the lowest point, {one.lowest_a:.4g} A"
    words = {
        "below": f"{against}: builds up down to {_speed(one.critical_m_s, units)}",
        "above": f"R′ {one.total_ohm:.3g} Ω is above the critical ≈ {one.drawn_ohm:.3g} Ω: it cannot build up under "
        f"≈ {_speed(one.drawn_m_s, units)}",
        "between": f"{against}, ≈ {one.drawn_ohm:.3g} Ω as the curve is drawn below it",
        "curve too short": f"{against}, but emf per ampere falls by {100 * one.straight_fall:.1f} % to the next point "
        f"(straight: up to {100 * STRAIGHT:.0f} %), so the slope at no current is not known",
        "no magnetism": "the iron keeps no magnetism (0 V without current): nothing to build up from",
        "field not reversed": "the fields are not turned round, so the first current takes the magnetism away",
        "field not said": f"{against}; whether fields or armatures are turned round is not said",
    }
    assumed = (
        ""
        if plan.residual_v is not None or one.reason != "below"
        else "; that the iron keeps some magnetism is assumed"
    )
    return words[one.reason] + assumed


def _next(one: BuildUp) -> str:
    return {
        "between": f"Measure the motor curve below {one.lowest_a:.4g} A.",
        "curve too short": f"Measure the emf without current (residual_emf), or the curve below {one.lowest_a:.4g} A.",
        "above": "Fewer ohms on the first notch, or brake from a higher speed.",
        "field not reversed": "Turn fields or armatures round for braking.",
        "no magnetism": "Excite the fields once from the line.",
        "field not said": "Look at the controller's connections and give field_reversed.",
    }.get(one.reason, "")


def _side_by_side(plan: Braking) -> Finding | None:
    """Series generators in parallel: the one with more current gains more emf, unless their fields are tied."""
    shared = [notch.name for notch in plan.notches if notch.common is not None and notch.grouping.parallel > 1]
    if not shared:
        return None
    where = f"notch {', '.join(shared)}"
    if plan.sharing in ("cross-connected fields", "equaliser"):
        why = f"{where}: {plan.sharing} keeps them alike, as the job says; equal currents are assumed"
        return Finding(SIDE_BY_SIDE, Verdict.HOLDS, why)
    verdict = Verdict.FAILS if plan.sharing == "none" else Verdict.NOT_SHOWN
    why = f"{where}: series generators on one grid are unstable with nothing to tie them ({plan.sharing})"
    return Finding(
        SIDE_BY_SIDE, verdict, why, "Cross-connect the fields, fit an equaliser, or give each string a grid."
    )


def _peak(ready: Starter, plan: Braking, run: BrakeRun) -> Finding:
    worst_a, log = max(((float(log.peak_a.max()), log) for log in run.notches), key=lambda pair: pair[0])
    allowed_a = plan.peak_a * (1.0 + ready.job.limits.notch_tolerance)
    verdict = Verdict.HOLDS if worst_a <= allowed_a * (1.0 + _EPS) else Verdict.FAILS
    speed = _speed(float(log.arrive_m_s[int(np.argmax(log.peak_a))]), ready.job.paper.units)
    why = f"{worst_a:.1f} A per motor on notch {log.name} at {speed}; asked {plan.peak_a:.4g} A, with the tolerance "
    beyond = "; ≈ beyond the motor curve, where the flux was kept" if log.beyond_curve.any() else ""
    return Finding("brake, peak current", verdict, f"{why}{allowed_a:.1f} A{beyond}", _gentler(verdict))


def _gentler(verdict: Verdict) -> str:
    return "" if verdict is Verdict.HOLDS else "Take that notch at a lower speed, or put more ohms in it."


def _slows(plan: Braking, run: BrakeRun) -> Iterator[Finding]:
    if not run.stuck.any():
        return
    log, worst = run.notches[-1], int(np.argmax(run.stuck))
    why = (
        f"on a gradient of {100 * plan.gradient:.3g} % the car gathers way on the last notch, {log.name}, too: "
        f"{float(log.effort_n[worst]):.0f} N hold it back"
    )
    yield Finding("brake slows the car", Verdict.FAILS, why, "Fewer ohms on the last notch, or a gentler gradient.")


def _adhesion(ready: Starter, run: BrakeRun) -> Finding | None:
    assert ready.job.car is not None
    grip_n = adhesion_n(ready.job.car)
    if grip_n is None:
        return None
    worst_n, name = max((float(log.effort_n.max()), log.name) for log in run.notches)
    verdict = Verdict.HOLDS if worst_n <= grip_n else Verdict.FAILS
    return Finding("brake, adhesion", verdict, f"{worst_n:.0f} N on notch {name}, the rails take {grip_n:.0f} N")


def _hill(plan: Braking, hill: HillTold, units: PaperUnits) -> Finding:
    """Whether the notch holds the car on the hill, with no more current than is asked and no plate over its limit."""
    item = f"brake, hill on notch {hill.hill.notch}"
    slope = f"{100 * hill.hill.fall:.3g} % for {_way(hill.hill.length_m, units)}"
    if not hill.holds.all():
        bad = int(np.argmin(hill.holds))
        why = f"{slope}: R′ {hill.total_ohm[bad]:.3g} Ω; the notch holds the car between {hill.lowest_ohm:.3g} and "
        return Finding(item, Verdict.FAILS, f"{why}{hill.highest_ohm:.3g} Ω", "Take a notch between.")
    worst = int(np.argmax(hill.foot_speed_m_s))
    hot = min(hill.heat, key=lambda row: row.margin_k, default=None)
    most_a = float(max(hill.current_a.max(), hill.foot_current_a.max()))
    why = (
        f"{slope}: {hill.current_a[0]:.0f} A per motor at {_speed(float(hill.speed_m_s[0]), units)}, "
        f"{_speed(float(hill.foot_speed_m_s[worst]), units)} at the foot after {hill.seconds[worst]:.0f} s with hot "
        f"plates; at most {most_a:.0f} A, allowed {plan.peak_a:.4g} A; {_hottest_words(hot, units)}{_for_ever(hill)}"
    )
    electric = Verdict.HOLDS if most_a <= plan.peak_a else Verdict.FAILS
    heat = Verdict.HOLDS if hot is None else max(map(_verdict, hill.heat), key=_GRAVITY.index)
    return Finding(item, max(electric, heat, key=_GRAVITY.index), why, _hill_next(electric, heat))


_GRAVITY = (Verdict.HOLDS, Verdict.NOT_SHOWN, Verdict.FAILS)


def _hottest_words(row: HeatRow | None, units: PaperUnits) -> str:
    if row is None:
        return "no heat was worked out; "
    return f"section {row.section} {_reached(row, units)}, limit {_degrees(row.limit_c, units)}; "


def _hill_next(electric: Verdict, heat: Verdict) -> str:
    """What would help: less current needs fewer ohms or another brake, less heat a shorter hill."""
    if electric is Verdict.FAILS:
        return "Let another brake take part of the hill."
    if heat is Verdict.FAILS:
        return "A shorter hill, another brake for part of it, or a rest before it."
    return _SETTLE if heat is Verdict.NOT_SHOWN else ""


def _for_ever(hill: HillTold) -> str:
    """What a hill without end would do."""
    soonest_s = float(hill.limit_s.min())
    if np.isinf(soonest_s):
        return "no section would come to its limit on a hill without end"
    runs_away = "; it runs away there" if np.isinf(hill.steady_c).any() else ""
    return f"a section is at its limit after {soonest_s:.0f} s, from the hottest beginning{runs_away}"


def _heat(rows: Sequence[HeatRow], units: PaperUnits) -> Iterator[Finding]:
    """The hottest row of every case and section. Where only a weak end passes the limit, it is not shown."""
    for case in dict.fromkeys(row.case for row in rows):
        for name, row in hottest(tuple(row for row in rows if row.case == case)).items():
            yield _section(name, row, units)


_SETTLE = "Measure a plate at two temperatures, and the bank on a worked day."


def _section(name: str, row: HeatRow, units: PaperUnits) -> Finding:
    verdict = _verdict(row)
    end = "" if row.worst_end == AS_GIVEN.name else ", worst end"
    limit, ambient = _degrees(row.limit_c, units), _degrees(row.ambient_c, units)
    why = f"{_reached(row, units)}, limit {limit} (ambient {ambient}{end})"
    return Finding(f"section {name}, {row.case}", verdict, why, _SETTLE if verdict is Verdict.NOT_SHOWN else "")


def _verdict(row: HeatRow) -> Verdict:
    given_c = row.hot_c if row.best_c is None else row.best_c
    if row.margin_k >= 0.0:
        return Verdict.HOLDS
    return Verdict.FAILS if given_c > row.limit_c else Verdict.NOT_SHOWN


def _reached(row: HeatRow, units: PaperUnits) -> str:
    return _degrees(row.hot_c, units) if np.isfinite(row.hot_c) else "passes the top of the metal's table"


def brake_remarks(told: BrakeRun, units: PaperUnits = "mm") -> Iterator[str]:
    """What a reader must know of the figures."""
    drawn = [log.name for log in told.notches if log.below_curve[0]]
    if drawn:
        yield f"≈ Brake notch {', '.join(drawn)} runs below the lowest point of the motor curve, only drawn there."
    dead = [log.name for log in told.notches if not log.built[0]]
    if dead:
        yield f"On brake notch {', '.join(dead)} no current builds up at the speed it is reached at: no brake there."
    settles = [log.name for log in told.notches if log.settles[0]]
    if settles:
        yield f"On brake notch {', '.join(settles)} the gradient keeps the car running; the driver goes on from there."
    yield f"The brake is done at {_speed(float(told.end_m_s[0]), units)}; what is left is for another brake."
    yield "The brake is taken as built up at once; iron losses of the motors, which brake too, are left out."


def _speed(m_s: float, units: PaperUnits) -> str:
    return show(m_s, "speed", units=units)


def _way(length_m: float, units: PaperUnits) -> str:
    return f"{length_m:.0f} m" if units == "mm" else f"{length_m / _M_PER_FT:.0f} ft"


def _degrees(t_c: float, units: PaperUnits) -> str:
    return show(t_c, "temperature", units=units)
