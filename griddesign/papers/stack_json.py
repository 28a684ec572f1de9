"""The stacked boxes as JSON: lengths of every box, parts counted, the walked circuit, leads by the user's labels."""

from griddesign.judge.stacking import BoxReport, StackReport
from griddesign.papers.json_parts import Json


def stack_json(report: StackReport | None) -> Json | None:
    """``stack`` of a result; null where there is no grid. What nobody has measured is null."""
    if report is None:
        return None
    return {
        "walked": not report.walked_faults,
        "walked_faults": list(report.walked_faults),
        "misfits": list(report.misfits),
        "boxes": [_box(box) for box in report.boxes],
        "parts": [{"part": one.what, "length_m": one.length_m, "count": one.count} for one in report.counts],
        "leads": [{"tap": tap.name, "terminals": list(report.terminals.get(tap.name, ()))} for tap in report.taps],
    }


def _box(box: BoxReport) -> Json:
    """One box. ``growth_*_m``: the stack against a rod at 20 degC and one as hot as itself."""
    return {
        "box": box.stack.box,
        "plates": len(box.stack.plates),
        "rods": len(box.stack.rods),
        "over_eyes_m": box.stack.over_eyes_m,
        "between_frames_m": box.between_frames_m,
        "make_up_m": box.make_up_m,
        "worst_spread_m": box.spread_m[0] if box.spread_m else None,
        "likely_spread_m": box.spread_m[1] if box.spread_m else None,
        "hot_c": box.hot_c,
        "growth_over_cold_rod_m": box.growth.over_cold_rod_m if box.growth else None,
        "growth_over_hot_rod_m": box.growth.over_hot_rod_m if box.growth else None,
        "plates_kg": box.plates_kg,
        "whole_kg": box.whole_kg,
        "joints": [
            {"after": gap.before, "rod": rod.name, "joined": gap.joined, "leads": list(gap.labels)}
            for rod in box.stack.rods
            for gap in rod.gaps
        ],
    }
