"""Single faults as JSON: one object for each fault, every notch in it."""

from math import isfinite
from typing import Any

from griddesign.judge.faults.records import FaultRow, FaultTable, NotchUnder
from griddesign.judge.faults.symptoms import Fit

Json = dict[str, Any]


def faults_json(table: FaultTable | None) -> list[Json]:
    """``faults[]`` of a result; empty where there is no grid. Currents are A per motor."""
    return [] if table is None else [fault_json(row) for row in table.rows]


def fault_json(row: FaultRow) -> Json:
    """One fault. ``rise_k``: of the plate one start heats most, were nothing to cool it; ``times`` the sound grid's."""
    return {
        "kind": row.kind,
        "what": row.what,
        "driver": row.driver,
        "hottest_section": row.hottest,
        "rise_k": row.rise_k,
        "times": row.times,
        "highest_peak_a": row.highest_peak_a,
        "breaker_notches": list(row.breaker),
        "notches": [_notch(one) for one in row.notches],
    }


def _notch(one: NotchUnder) -> Json:
    """``cold_ohm`` and ``ohm_change`` null where no current flows."""
    return {
        "name": one.name,
        "cold_ohm": one.grid_ohm if isfinite(one.grid_ohm) else None,
        "ohm_change": one.ohm_change if isfinite(one.ohm_change) else None,
        "peak_a": one.peak_a,
        "effort_step_n": one.step_n,
        "felt": one.felt,
    }


def fits_json(fits: tuple[Fit, ...]) -> list[Json]:
    """Faults that fit a symptom, best first."""
    return [
        {**fault_json(fit.row), "fit": fit.share, "not_so": list(fit.not_so), "not_said": list(fit.not_said)}
        for fit in fits
    ]
