"""Results as JSON: keys carry units, what is not known is null, nothing infinite or undefined gets out."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from griddesign.choose.from_job import Worked
from griddesign.choose.records import Design
from griddesign.figures import Figure
from griddesign.heat.holds import HELD_RUNNING, STALLED
from griddesign.heat.records import HeatRow
from griddesign.job.inspection_csv import plain_cell
from griddesign.judge.records import PlateReport, Result
from griddesign.papers.faults_json import faults_json
from griddesign.papers.json_parts import SCHEMA, Json, findings_json, finite, head_json
from griddesign.papers.loss_json import loss_json
from griddesign.papers.making_json import making_json
from griddesign.papers.measure_json import measure_json
from griddesign.papers.nest_json import nest_json
from griddesign.papers.stack_json import stack_json
from griddesign.plate.process import ProcessCheck
from griddesign.traction.records import GivenOhms, Ladder, MeanStart, NotchOhms, NotchWanted


def text_of(data: Mapping[str, Any]) -> str:
    """One JSON object as text, ending in a new line; raises ValueError on a number that JSON does not have.

    Each key has a line, and each item of a list of objects: the library's own indenting takes five times as long.
    """
    lines = ",\n".join(f"  {_dumped(key)}: {_on_lines(value)}" for key, value in data.items())
    return f"{{\n{lines}\n}}\n"


def _on_lines(value: object) -> str:
    if isinstance(value, list) and any(isinstance(item, dict) for item in value):
        return "[\n    " + ",\n    ".join(map(_dumped, value)) + "\n  ]"
    return _dumped(value)


def _dumped(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def wanted_json(wanted: Ladder | GivenOhms) -> Json:
    """The answer of ``griddesign wanted``."""
    return {
        "schema": SCHEMA,
        "notches": [notch_wanted_json(notch) for notch in wanted.notches],
        "sections": [{"name": name, "wanted_ohm": ohm} for name, ohm in wanted.sections],
        "valley_a": wanted.valley_a if isinstance(wanted, Ladder) else None,
        "exact": wanted.exact,
        "note": wanted.note,
        "remarks": list(wanted.remarks),
    }


def notch_wanted_json(notch: NotchOhms) -> Json:
    """The row of a notch: what it should be and does; what is not known of it is null."""
    running = notch if isinstance(notch, NotchWanted) else None
    return {
        "name": notch.name,
        "grouping": {"series": notch.grouping.series, "parallel": notch.grouping.parallel},
        "sections": list(notch.sections),
        "wanted_ohm": notch.wanted_ohm,
        "peak_a": running.peak_a if running else None,
        "valley_a": running.valley_a if running else None,
        "line_peak_a": running.line_peak_a if running else None,
        "frozen_flux_a": finite(running.frozen_flux_a) if running else None,
        "corner": running.corner if running else None,
        "speed_kmh": finite(running.speed_kmh) if running else None,
        "effort_n": running.effort_n if running else None,
        "passed": running.passed if running else None,
    }


def result_json(result: Result) -> Json:
    """The whole result: what ``griddesign design`` prints and ``result.json`` holds; its schema is shipped beside."""
    job, worked = result.job, result.worked
    design = worked.design if worked else None
    return {
        **head_json(job, result.version, result.fingerprint),
        "provisional": result.provisional,
        "holds": result.holds,
        "notches": _notches(result, worked),
        "sections": _sections(result, design),
        "taps": _taps(design),
        "boxes": design.boxes if design else None,
        "box_bands": [asdict(band) for band in result.box_bands],
        "proof": _proof(design),
        "proofs": _proofs(design),
        "plates": [plate_json(plate) for plate in result.plates],
        "start": _start(result.start),
        "start_at_highest_voltage": _start(result.start_highest),
        "heat": [heat_json(row) for row in result.heat],
        "findings": findings_json(result.findings),
        "faults": faults_json(result.faults),
        "stack": stack_json(result.stack),
        "remarks": list(result.remarks),
        "loss_model": loss_json(job),
        "measure_next": measure_json(result.measure_next),
        "not_checked": list(result.not_checked),
        "inputs": {key: _figure(figure) for key, figure in job.figures.items()},
    }


def _notches(result: Result, worked: Worked | None) -> list[Json]:
    if worked is None:
        return []
    done = {notch.name: notch for notch in result.notches}
    rows = []
    for notch in worked.wanted.notches:
        row = notch_wanted_json(notch)
        got = done.get(notch.name)
        row["cold_ohm"] = got.cold_ohm if got else None
        row["error_percent"] = 100 * (got.cold_ohm / got.wanted_ohm - 1) if got and got.wanted_ohm > 0 else None
        row["current_error_percent"] = 100 * got.error if got else None
        row["peak_as_built_a"] = finite(got.peak_a) if got else None
        rows.append(row)
    return rows


def _sections(result: Result, design: Design | None) -> list[Json]:
    if design is None:
        return []
    bands = {band.name: band for band in result.bands}
    return [
        {
            "name": section.name,
            "kind": section.kind,
            "plates": section.plates,
            "in_parallel": section.in_parallel,
            "cold_ohm": section.cold_ohm,
            "accept_low_ohm": bands[section.name].accept_low_ohm,
            "accept_high_ohm": bands[section.name].accept_high_ohm,
            "metal_low_ohm": bands[section.name].metal_low_ohm,
            "metal_high_ohm": bands[section.name].metal_high_ohm,
        }
        for section in design.sections
    ]


def _taps(design: Design | None) -> list[Json]:
    return [
        {"name": tap.name, "joint": list(tap.joint), "after_plate": tap.after_plate, "box": tap.box, "side": tap.side}
        for tap in (design.taps if design else ())
    ]


def _proofs(design: Design | None) -> list[Json]:
    return [
        {
            "objective": proof.objective,
            "reached": finite(proof.reached),
            "bound": finite(proof.bound),
            "proved": proof.proved,
            "note": proof.note,
        }
        for proof in (design.proofs if design else ())
    ]


def _proof(design: Design | None) -> Json | None:
    """All aims in one: proved only where each is; bound and value are those of the first aim."""
    proofs = design.proofs if design else ()
    if not proofs:
        return None
    return {
        "objective": "; then ".join(proof.objective for proof in proofs),
        "reached": finite(proofs[0].reached),
        "bound": finite(proofs[0].bound),
        "proved": all(proof.proved for proof in proofs),
    }


def plate_json(plate: PlateReport) -> Json:
    """The answer of ``griddesign plate`` for one kind."""
    figures = plate.figures
    return {
        "name": plate.wish.name,
        "metal": plate.wish.metal.key,
        "made_by": plate.wish.made_by,
        "count": plate.count,
        "order_ohm": plate.order_ohm,
        "accept_low_ohm": plate.low_ohm,
        "accept_high_ohm": plate.high_ohm,
        "cold_ohm": figures.cold_ohm,
        "low_ohm": figures.low_ohm,
        "high_ohm": figures.high_ohm,
        "metal_low_ohm": figures.metal_low_ohm,
        "metal_high_ohm": figures.metal_high_ohm,
        "squares": figures.squares,
        "strip_mm": 1e3 * figures.strip_m,
        "strip_width_mm": 1e3 * plate.shape.strip_width_m,
        "pass_gap_mm": 1e3 * plate.shape.pass_gap_m,
        "mass_kg": figures.mass_kg,
        "area_mm2": 1e6 * figures.area_m2,
        "surface_mm2": 1e6 * figures.surface_m2,
        "terminal_model": figures.terminal_model,
        "hot_ohm": {f"{t:d}_c": plate.ohms_at(float(t))[0] for t in (100, 200, 300, 400)},
        "process": [_check(check) for check in plate.checks],
        "making": making_json(plate.made),
        "spares": plate.wish.spares,
        "lot": plate.lot,
        "nest": nest_json(plate.nest),
    }


def _check(check: ProcessCheck) -> Json:
    return {
        "item": check.item,
        "ok": check.ok,
        "must": check.must,
        "found_mm": 1e3 * check.found_m,
        "limit_mm": 1e3 * check.limit_m,
        "source": check.source,
        "status": str(check.status),
    }


def _start(start: MeanStart | None) -> Json | None:
    if start is None:
        return None
    return {
        "line_v": start.line_v,
        "seconds": start.seconds,
        "distance_m": start.distance_m,
        "end_speed_kmh": 3.6 * start.end_m_s,
        "line_j": start.line_j,
        "grid_j": start.grid_j,
        "method": "mean currents, cold grid, no time for changes of grouping",
        "sections": [{"name": name, "joules": joules} for name, joules in start.section_j],
    }


def heat_json(row: HeatRow) -> Json:
    """One row of the heat sheet."""
    is_hold = row.case.startswith((STALLED, HELD_RUNNING))
    return {
        "case": row.case,
        "notch": row.notch,
        "section": row.section,
        "line_v": row.line_v,
        "ambient_c": row.ambient_c,
        "hot_c": finite(row.hot_c),
        "bound_c": finite(row.bound_c),
        "limit_c": row.limit_c,
        "margin_k": finite(row.margin_k),
        "is_hold": is_hold,
        "hold_s": finite(row.hold_s),
        "hold_bound_s": finite(row.hold_bound_s),
        "runs_away": row.runs_away,
        "worst_end": row.worst_end,
        "breaker_opens": row.breaker_opens,
        "low_c": finite(row.low_c),
        "best_c": finite(row.best_c),
        "high_c": finite(row.high_c),
        "by_hand_c": finite(row.by_hand_c),
        "neighbour_k": row.neighbour_k,
    }


def _figure(figure: Figure) -> Json:
    return {
        "text": figure.text,
        "value": figure.value,
        "low": figure.low,
        "high": figure.high,
        "status": str(figure.status),
        "source": figure.source,
    }


def csv_text(rows: Sequence[Mapping[str, Any]]) -> str:
    """Rows as CSV with CR LF line ends and a header of their keys; lists are joined by a blank."""
    import csv
    import io

    sink = io.StringIO()
    if rows:
        writer = csv.writer(sink)
        writer.writerow(rows[0].keys())
        writer.writerows([_cell(value) for value in row.values()] for row in rows)
    return sink.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, Mapping):
        value = " x ".join(map(str, value.values()))
    if isinstance(value, list):
        value = " ".join(map(str, value))
    return "" if value is None else plain_cell(value) if isinstance(value, str) else value
