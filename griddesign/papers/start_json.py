"""A start as JSON; keys carry units. Currents are per motor unless the key says ``line``."""

from griddesign.judge.start_result import StartResult, efficiency
from griddesign.papers.as_json import heat_json
from griddesign.papers.braking_json import braking_json
from griddesign.papers.hold_json import crew_json, holds_json, timber_json
from griddesign.papers.json_parts import Json, findings_json, finite, head_json
from griddesign.papers.loss_json import loss_json
from griddesign.papers.measure_json import measure_json
from griddesign.papers.notch_json import cut_out_json, moment_json, notch_json
from griddesign.papers.scatter_json import scatter_json
from griddesign.traction.runup.records import RunUp


def start_json(result: StartResult) -> Json:
    """The answer of ``griddesign start``. ``peaks``, ``energy`` and what follows are of the first of ``cases``."""
    told = result.told
    output, with_copper = efficiency(told)
    return {
        **head_json(result.job, result.version, result.fingerprint),
        "holds": result.holds,
        "line_v": result.cases[0].line_v,
        "ambient_c": result.cases[0].ambient_c,
        "valley_a": result.valley_a,
        "peaks": [notch_json(log, 0) for log in told.notches],
        "transitions": [notch_json(log, 0) for log in told.transitions],
        "energy": _energy(told, 0),
        "efficiency_shaft": output,
        "efficiency_shaft_and_copper": with_copper,
        "sections": _sections(result),
        "end_speed_kmh": 3.6 * float(told.end_m_s[0]),
        "time_s": float(told.seconds[0]),
        "distance_m": float(told.distance_m[0]),
        "cases": [_case(result, place) for place in range(len(result.cases))],
        "heat": [heat_json(row) for row in result.heat],
        "hold_times": holds_json(result.heat),
        "crew": crew_json(result.job, result.heat),
        "timber": timber_json(result.timber),
        "trace": [moment_json(point) for point in told.trace],
        "findings": findings_json(result.findings),
        "measure_next": measure_json(result.measure_next),
        "remarks": list(result.remarks),
        "loss_model": loss_json(result.job),
        "scatter": scatter_json(result.scatter) if result.scatter else None,
        "not_checked": list(result.not_checked),
        "braking": braking_json(result.braking),
        "cut_out": cut_out_json(result.cut_out),
    }


def _energy(run: RunUp, case: int) -> Json:
    energy = run.energy
    return {
        "line_j": float(energy.line_j[case]),
        "feeder_j": float(energy.feeder_j[case]),
        "grid_j": float(energy.grid_j[case]),
        "motors_j": float(energy.motors_j[case]),
        "core_j": float(energy.core_j[case]),
        "drive_j": float(energy.drive_j[case]),
        "wheel_j": float(energy.wheel_j[case]),
        "balance_error": float(energy.balance_error[case]),
        "kinetic_j": float(energy.kinetic_j[case]),
        "resistance_j": float(energy.resistance_j[case]),
        "gradient_j": float(energy.gradient_j[case]),
    }


def _sections(result: StartResult) -> list[Json]:
    rows = []
    for place, name in enumerate(result.told.sections):
        worst = result.day.get(name)
        rows.append(
            {
                "name": name,
                "case": worst.case if worst else None,
                "peak_c": finite(worst.hot_c) if worst else None,
                "bound_c": finite(worst.bound_c) if worst else None,
                "low_c": finite(worst.low_c) if worst else None,
                "best_c": finite(worst.best_c) if worst else None,
                "high_c": finite(worst.high_c) if worst else None,
                "by_hand_c": finite(worst.by_hand_c) if worst else None,
                "neighbour_k": worst.neighbour_k if worst else None,
                "limit_c": worst.limit_c if worst else None,
                "margin_k": finite(worst.margin_k) if worst else None,
                "at_line_v": worst.line_v if worst else None,
                "at_ambient_c": worst.ambient_c if worst else None,
                "hold_s": finite(result.hold_s.get(name)),
                "hold_at_ends_s": result.hold_ends_s.get(name),
                "one_start_c": float(result.told.hottest_c[place, 0]) if worst else None,
                "one_start_j": float(result.told.section_j[place, 0]),
            }
        )
    return rows


def _case(result: StartResult, place: int) -> Json:
    case, run = result.cases[place], result.run
    return {
        "line_v": case.line_v,
        "ambient_c": case.ambient_c,
        "peaks": [{"notch": log.name, "current_a": float(log.peak_a[place])} for log in run.notches],
        "energy": _energy(run, place),
        "end_speed_kmh": 3.6 * float(run.end_m_s[place]),
        "time_s": float(run.seconds[place]),
        "distance_m": float(run.distance_m[place]),
        "sections": [{"name": name, "hot_c": float(run.hottest_c[row, place])} for row, name in enumerate(run.sections)]
        if result.day
        else [],
    }
