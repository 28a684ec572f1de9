"""A replacement plate and a first-off loop as JSON; keys carry units."""

from griddesign.figures import Figure
from griddesign.judge.replacing import Batch, Ordered
from griddesign.judge.same_duty import NotComputed, SameDuty
from griddesign.papers.as_json import plate_json
from griddesign.papers.json_parts import SCHEMA, Json, finite
from griddesign.plate.comparison import STIFFNESS_NOTE, Side
from griddesign.plate.measured import HeatFigures, MeasuredPlate, MetalCheck
from griddesign.plate.pattern import OldPlate
from griddesign.plate.shapes import Zigzag


def ordered_json(order: Ordered) -> Json:
    """The answer of ``griddesign plate JOB --ohms``: the new plate, then the old one and what changes."""
    found = order.found
    return {
        "schema": SCHEMA,
        **plate_json(order.report),
        **dimensions_json(found.shape),
        "wanted_ohm": found.asked.ohm,
        "error_percent": 100.0 * found.error,
        "freed": list(found.freed),
        "holds": order.holds,
        "near_sheet": None
        if found.near_sheet is None
        else {
            "name": found.near_sheet.sheet.name,
            "thickness_mm": 1e3 * found.near_sheet.sheet.thickness_m,
            "cold_ohm": found.near_sheet.ohm,
        },
        "notes": list(found.notes),
        "replaces": {"made_by": order.old.made_by, **dimensions_json(order.old.shape)},
        "old": _side(order.comparison.old),
        "new": _side(order.comparison.new),
        "stiffness_ratio": order.comparison.stiffness,
        "deflection_ratio": order.comparison.deflection,
        "sag_by_own_weight_ratio": order.comparison.sag,
        "stiffness_note": " ".join(STIFFNESS_NOTE),
        "same_duty": _duty(order.duty),
        "old_plate_as_pattern": _as_pattern(order.as_pattern),
    }


def batch_json(batch: Batch) -> Json:
    """The answer of ``griddesign plate JOB --measured``."""
    result = batch.result
    return {
        "schema": SCHEMA,
        "name": batch.plate.name,
        "metal": batch.plate.metal.key,
        "made_by": batch.plate.made_by,
        "revision": batch.revision,
        "first_offs_made_to": batch.revision,
        "next_revision": batch.next_revision,
        "batch_waits_for": batch.next_revision,
        "wanted_ohm": result.wanted_ohm,
        "found_ohm": result.found_ohm,
        "found_error_percent": 100.0 * result.found_error,
        "old_strip_width_mm": 1e3 * result.issued.strip_width_m,
        **dimensions_json(result.shape),
        "measured_thickness_mm": None if result.thickness_m is None else 1e3 * result.thickness_m,
        "heat": heat_json(result.heat),
        "first_offs": [_measured(plate) for plate in batch.plates],
        "metal_checks": [metal_check_json(check) for check in result.metal_checks],
        "broken_rules": [check.item for check in result.broken],
        "old_plate_as_pattern": _as_pattern(batch.as_pattern),
        "holds": batch.holds,
    }


def dimensions_json(shape: Zigzag) -> Json:
    """What the shop cuts by."""
    return {
        "passes": shape.passes,
        "strip_width_mm": 1e3 * shape.strip_width_m,
        "pass_gap_mm": 1e3 * shape.pass_gap_m,
        "thickness_mm": 1e3 * shape.thickness_m,
        "over_passes_mm": 1e3 * shape.width_m,
        "height_mm": 1e3 * shape.height_m,
    }


def heat_json(heat: HeatFigures) -> Json:
    """The heat's own figures with the number of samples and their spread."""
    return {
        "samples": heat.samples,
        "spread_percent": 100.0 * heat.spread,
        "resistivity_ohm_m": _figure(heat.resistivity),
        "alpha20_per_k": None if heat.alpha20 is None else _figure(heat.alpha20),
    }


def metal_check_json(check: MetalCheck) -> Json:
    """Ohms times mass of one sample against the table."""
    return {
        "plate": check.name,
        "measured_ohm_kg": check.measured_ohm_kg,
        "tabled_ohm_kg": check.tabled_ohm_kg,
        "low_ohm_kg": check.low_ohm_kg,
        "high_ohm_kg": check.high_ohm_kg,
        "holds": check.holds,
    }


def _measured(plate: MeasuredPlate) -> Json:
    return {
        "plate": plate.name,
        "readings": [{"ohm": reading.ohm, "temperature_c": reading.t_c} for reading in plate.readings],
        "thermo_emf_v": plate.emf_v,
        "read_one_way": plate.one_way,
        "thickness_mm": None if plate.thickness_m is None else 1e3 * plate.thickness_m,
        "strip_width_mm": None if plate.strip_width_m is None else 1e3 * plate.strip_width_m,
        "mass_kg": plate.mass_kg,
        "remarks": plate.remarks,
    }


def _side(side: Side) -> Json:
    return {
        "metal": side.metal.key,
        "cold_ohm": side.cold_ohm,
        "ohm_at_300_c": side.warm_ohm,
        "mass_kg": side.mass_kg,
        "heat_capacity_at_20_c_j_per_k": side.heat_capacity_cold_j_k,
        "heat_capacity_at_300_c_j_per_k": side.heat_capacity_warm_j_k,
        "surface_mm2": 1e6 * side.surface_m2,
        "growth_of_height_20_to_300_c_mm": 1e3 * side.growth_m,
        "limit_c": _figure(side.limit_c),
        "resistivity_ohm_m": _figure(side.resistivity),
    }


def _duty(duty: SameDuty | NotComputed) -> Json:
    if isinstance(duty, NotComputed):
        return {"computed": False, "why": duty.why}
    return {
        "computed": True,
        "case": duty.case,
        "ambient_c": duty.ambient_c,
        "mean_w_per_plate": duty.mean_w,
        "old_c": finite(duty.old_c),
        "new_c": finite(duty.new_c),
        "old_limit_c": duty.old_limit_c,
        "new_limit_c": duty.new_limit_c,
        "holds": duty.holds,
    }


def _as_pattern(old: OldPlate | None) -> Json | None:
    if old is None:
        return None
    return {
        "shrinkage_percent": 100.0 * old.shrinkage.value,
        "eye_span_mm": 1e3 * old.eye_span_m,
        "eye_span_short_by_mm": 1e3 * old.short_m,
        "hole_mm": 1e3 * old.hole_m,
        "cold_ohm": old.ohm,
    }


def _figure(figure: Figure) -> Json:
    return {
        "value": figure.value,
        "low": figure.low,
        "high": figure.high,
        "status": str(figure.status),
        "source": figure.source,
    }
