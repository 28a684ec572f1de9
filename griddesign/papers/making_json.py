"""The making of a plate as JSON: lengths in millimetres, ends of the spread as fractions of the ohms."""

from math import degrees

from griddesign.papers.json_parts import Json, finite
from griddesign.plate.made import Made
from griddesign.plate.pattern import OldPlate, Pattern
from griddesign.plate.spread import Cause, Spread


def making_json(made: Made | None) -> Json | None:
    """Spread, kerf, pattern and old plate of one kind; None where nothing was worked out."""
    if made is None:
        return None
    return {
        "spread": _spread(made.spread),
        "kerf_mm": 1e3 * made.kerf.value if made.kerf else None,
        "usual_kerf_mm": 1e3 * made.usual_kerf.value if made.usual_kerf else None,
        "pattern": _pattern(made.pattern) if made.pattern else None,
        "old_plate": _old_plate(made.old_plate) if made.old_plate else None,
    }


def _spread(spread: Spread) -> Json:
    ends = {name: getattr(spread, name) for name in ("low", "high", "worst_low", "worst_high")}
    return {
        **{name: finite(value) for name, value in ends.items()},
        "causes": [_cause(cause) for cause in spread.causes],
        "not_counted": list(spread.not_counted),
    }


def _cause(cause: Cause) -> Json:
    return {
        "item": cause.tolerance.item,
        "size_mm": 1e3 * cause.size_m,
        "plus_minus_mm": 1e3 * cause.tolerance.half_m,
        "low": cause.low,
        "high": finite(cause.high),
        "share": cause.share,
        "source": cause.tolerance.source,
        "status": str(cause.tolerance.status),
    }


def _pattern(pattern: Pattern) -> Json:
    return {
        "shrinkage": pattern.shrinkage.value,
        "shrinkage_status": str(pattern.shrinkage.status),
        "draft_deg": degrees(pattern.draft.value),
        "machining_mm": 1e3 * pattern.machining.value,
        "hole": pattern.hole,
        "thickness_mm": 1e3 * pattern.thickness_m,
        "eye_thickness_mm": 1e3 * pattern.eye_thickness_m,
        "eye_centres_mm": 1e3 * pattern.pattern_eye_span_m,
    }


def _old_plate(old: OldPlate) -> Json:
    return {
        "eye_centres_mm": 1e3 * old.eye_span_m,
        "short_mm": 1e3 * old.short_m,
        "hole_mm": 1e3 * old.hole_m,
        "ohm": old.ohm,
        "mass_share": old.mass_share,
    }
