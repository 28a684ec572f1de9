"""What was verified as JSON: the answer of the command, and ``findings.json`` of the set. Figures are SI, degC."""

from griddesign import __version__
from griddesign.papers.json_parts import Json, finite, head_json
from griddesign.verify.inspection import Inspected, Left
from griddesign.verify.records import Verified, VerifyFinding


def verify_json(result: Verified) -> Json:
    """A claim, line by line."""
    claim = result.claim
    return {
        **_head(result),
        "claim": claim.path.name,
        "claim_title": claim.title,
        "offered_by": claim.offered_by,
        "findings": [finding_json(finding) for finding in result.findings],
        "remarks": list(result.remarks),
    }


def inspected_json(result: Inspected) -> Json:
    """The inspector's sheet, reading by reading and finding by finding."""
    return {
        **_head(result),
        "readings_file": result.inspection.path.name,
        "readings": [_left_json(left) for left in result.left],
        "findings": [finding_json(finding) for finding in result.findings],
        "not_read": list(result.inspection.not_read),
    }


def finding_json(finding: VerifyFinding) -> Json:
    """One finding; ``weight`` 1 uses up the whole room there is, see the report."""
    effect = finding.effect
    return {
        "item": finding.item,
        "claimed": finite(finding.claimed),
        "computed": finite(finding.computed),
        "unit": finding.unit,
        "verdict": str(finding.verdict),
        "weight": finite(finding.weight),
        "why": finding.why,
        "measure_next": finding.measure_next,
        "current_moved_percent": None if effect.current is None else finite(100.0 * effect.current),
        "notch": effect.notch,
        "heat_moved_k": finite(effect.heat_k),
        "section": effect.section,
    }


def _head(result: Verified | Inspected) -> Json:
    return {
        **head_json(result.job, __version__, result.fingerprint),
        "holds": result.holds,
        "counted": {str(verdict): number for verdict, number in sorted(result.counted.items())},
    }


def _left_json(left: Left) -> Json:
    row, cold, band = left.row, left.cold_ohm, left.band
    return {
        "line": row.line,
        "item": left.name,
        "measured_ohm": row.ohm,
        "temperature_c": row.t_c,
        "cold_ohm": None if cold is None else cold.value,
        "cold_low_ohm": None if cold is None else cold.low,
        "cold_high_ohm": None if cold is None else cold.high,
        "accept_low_ohm": None if band is None else band.low_ohm,
        "accept_high_ohm": None if band is None else band.high_ohm,
        "test_voltage_v": row.test_voltage_v,
        "verdict": str(left.finding.verdict),
        "remarks": row.remarks,
    }
