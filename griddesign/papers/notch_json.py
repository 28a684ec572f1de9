"""One notch or transition of a start as JSON, and the start with motors cut out; currents are per motor unless the key
says ``line``."""

from griddesign.judge.cut_out import CutOut
from griddesign.papers.json_parts import Json, finite
from griddesign.traction.runup.records import NotchLog, TracePoint


def notch_json(log: NotchLog, case: int) -> Json:
    """The row of a notch or transition in one case. ``motors`` is the split among unlike motors on arriving, null where
    they are alike; in it ``field_current_a`` is that of a field with a current of its own, else null, and ``current_a``
    that of the armature. ``inductive_a`` is null where no inductance is known."""
    return {
        "notch": log.name,
        "current_a": float(log.peak_a[case]),
        "line_current_a": float(log.line_peak_a[case]),
        "frozen_flux_a": float(log.frozen_flux_a[case]),
        "leave_a": float(log.leave_a[case]),
        "passed": bool(log.passed[case]),
        "from_s": float(log.arrive_s[case]),
        "to_s": float(log.leave_s[case]),
        "leave_speed_kmh": 3.6 * float(log.leave_m_s[case]),
        "effort_n": float(log.effort_n[case]),
        "acceleration_step_m_s2": float(log.step_m_s2[case]),
        "below_curve": bool(log.below_curve[case]),
        "inductive_a": None if log.inductive_a is None else float(log.inductive_a[case]),
        "motors": _motors(log, case),
    }


def _motors(log: NotchLog, case: int) -> list[Json] | None:
    if log.motor_a is None or log.motor_v is None or log.motor_n is None:
        return None
    columns = zip(log.motor_a[:, case], log.motor_v[:, case], log.motor_n[:, case], strict=True)
    return [
        {
            "motor": number,
            "current_a": float(amps),
            "field_current_a": None if log.field_a is None else finite(float(log.field_a[number - 1, case])),
            "volts_v": float(volts),
            "effort_n": float(pull),
        }
        for number, (amps, volts, pull) in enumerate(columns, start=1)
    ]


def moment_json(point: TracePoint) -> Json:
    """One moment of a run or a stop, of its first case."""
    return {
        "notch": point.notch,
        "time_s": float(point.time_s[0]),
        "distance_m": float(point.distance_m[0]),
        "speed_kmh": 3.6 * float(point.speed_m_s[0]),
        "current_a": float(point.mean_a[0]),
    }


def cut_out_json(found: CutOut | None) -> Json | None:
    """The key ``cut_out`` of ``griddesign start``: null where no motor can be spared."""
    if found is None:
        return None
    return {
        "motors": [number + 1 for number in found.out],
        "cases": [_case(found, place) for place in range(len(found.cases))],
        "sections": [
            {
                "name": one.name,
                "peak_c": finite(one.hot_c),
                "limit_c": one.limit_c,
                "margin_k": finite(one.limit_c - one.hot_c),
                "at_line_v": one.line_v,
                "at_ambient_c": one.ambient_c,
            }
            for one in found.heat
        ],
        "findings": [{"item": one.item, "verdict": str(one.verdict), "why": one.why} for one in found.findings],
        "remarks": list(found.remarks),
    }


def _case(found: CutOut, place: int) -> Json:
    case, run = found.cases[place], found.run
    stuck = int(run.stuck[place])
    return {
        "line_v": case.line_v,
        "ambient_c": case.ambient_c,
        "stuck_on": run.notches[stuck].name if stuck >= 0 else None,
        "peaks": [{"notch": log.name, "current_a": float(log.peak_a[place])} for log in run.rows],
        "end_speed_kmh": 3.6 * float(run.end_m_s[place]) if stuck < 0 else None,
        "time_s": float(run.seconds[place]) if stuck < 0 else None,
    }
