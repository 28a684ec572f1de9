"""The brake as JSON; keys carry units. Currents are per motor, ``grid_v`` stands across the grid."""

from griddesign.judge.brake_hill import HillTold
from griddesign.judge.braking import BrakingResult
from griddesign.papers.as_json import heat_json
from griddesign.papers.json_parts import Json, findings_json, finite
from griddesign.papers.notch_json import moment_json
from griddesign.traction.braking.build_up import BuildUp
from griddesign.traction.braking.records import BrakeLog, BrakeRun


def braking_json(result: BrakingResult | None) -> Json | None:
    """The key ``braking`` of ``griddesign start``: null where the job has no brake. ``notches`` and ``stop`` are of one
    stop in the coldest ambient with a cold grid; ``build_up`` is with the grid as hot as it is met in any case."""
    if result is None:
        return None
    plan, told = result.plan, result.told
    return {
        "begin_speed_kmh": 3.6 * plan.begin_m_s,
        "peak_allowed_a": plan.peak_a,
        "notch_by": plan.notch_by,
        "sharing": plan.sharing,
        "field_reversed": plan.field_reversed,
        "residual_emf_v": plan.residual_v,
        "gradient": plan.gradient,
        "build_up": [_build_up(one) for one in result.build_up],
        "notches": [_notch(log, told) for log in told.notches] if told else [],
        "stop": _stop(told) if told else None,
        "trace": [{**moment_json(one), "effort_n": float(one.pull_n[0])} for one in told.trace] if told else [],
        "hill": _hill(result.hill) if result.hill else None,
        "heat": [heat_json(row) for row in result.heat],
        "findings": findings_json(result.findings),
        "remarks": list(result.remarks),
        "not_checked": list(result.not_checked),
    }


def _build_up(one: BuildUp) -> Json:
    return {
        "notch": one.name,
        "answer": one.answer,
        "reason": one.reason,
        "total_ohm": one.total_ohm,
        "critical_ohm": one.critical_ohm,
        "critical_ohm_drawn": one.drawn_ohm,
        "critical_speed_kmh": 3.6 * one.critical_m_s,
        "critical_speed_drawn_kmh": 3.6 * one.drawn_m_s,
        "lowest_point_a": one.lowest_a,
        "emf_per_ampere_falls": one.straight_fall,
    }


def _notch(log: BrakeLog, run: BrakeRun) -> Json:
    joules = dict(zip(run.sections, (float(value) for value in log.section_j[:, 0]), strict=True))
    return {
        "notch": log.name,
        "total_ohm": float(log.total_ohm[0]),
        "current_a": float(log.peak_a[0]),
        "leave_a": float(log.leave_a[0]),
        "built_up": bool(log.built[0]),
        "passed": bool(log.passed[0]),
        "settles": bool(log.settles[0]),
        "from_s": float(log.arrive_s[0]),
        "to_s": float(log.leave_s[0]),
        "arrive_speed_kmh": 3.6 * float(log.arrive_m_s[0]),
        "leave_speed_kmh": 3.6 * float(log.leave_m_s[0]),
        "holds_down_to_kmh": 3.6 * float(log.holds_m_s[0]),
        "critical_speed_kmh": 3.6 * float(log.critical_m_s[0]),
        "effort_n": float(log.effort_n[0]),
        "leave_effort_n": float(log.leave_effort_n[0]),
        "retardation_m_s2": float(log.retard_m_s2[0]),
        "leave_retardation_m_s2": float(log.leave_retard_m_s2[0]),
        "grid_v": float(log.grid_v[0]),
        "section_j": joules,
        "below_curve": bool(log.below_curve[0]),
        "beyond_curve": bool(log.beyond_curve[0]),
    }


def _stop(run: BrakeRun) -> Json:
    energy = run.energy
    return {
        "time_s": float(run.seconds[0]),
        "distance_m": float(run.distance_m[0]),
        "end_speed_kmh": 3.6 * float(run.end_m_s[0]),
        "kinetic_begin_j": float(energy.kinetic_begin_j[0]),
        "kinetic_end_j": float(energy.kinetic_end_j[0]),
        "gradient_j": float(energy.gradient_j[0]),
        "resistance_j": float(energy.resistance_j[0]),
        "drive_j": float(energy.drive_j[0]),
        "motors_j": float(energy.motors_j[0]),
        "grid_j": float(energy.grid_j[0]),
        "balance_error": float(energy.balance_error[0]),
    }


def _hill(told: HillTold) -> Json:
    """The first of the cases: coldest ambient, grid cold, figures as given; and the worst of all."""
    limit_s = float(told.limit_s.min())
    return {
        "notch": told.hill.notch,
        "gradient": -told.hill.fall,
        "length_m": told.hill.length_m,
        "held": bool(told.holds.all()),
        "current_a": float(told.current_a[0]),
        "speed_kmh": 3.6 * float(told.speed_m_s[0]),
        "foot_current_a": float(told.foot_current_a[0]),
        "foot_speed_kmh": 3.6 * float(told.foot_speed_m_s[0]),
        "highest_speed_kmh": 3.6 * float(told.foot_speed_m_s.max()),
        "time_s": float(told.seconds[0]),
        "limit_s": finite(limit_s),
        "steady_c": [finite(float(value)) for value in told.steady_c[:, 0]],
        "runs_away": bool((told.steady_c == float("inf")).any()),
    }
