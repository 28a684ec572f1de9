"""Single faults as JSON: one object for each fault, every notch in it."""

from typing import TYPE_CHECKING

from griddesign.judge.faults.records import FaultRow, FaultTable, NotchUnder
from griddesign.papers.json_parts import Json, finite

if TYPE_CHECKING:
    from griddesign.judge.faults.symptoms import Fit


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
    """``cold_ohm`` and ``ohm_change`` null where no current flows; of a network from line to ground, motors among them.
    ``motors_without_current``: numbers of those the fault cuts off while another still pulls."""
    return {
        "name": one.name,
        "cold_ohm": finite(one.grid_ohm),
        "ohm_change": finite(one.ohm_change),
        "peak_a": one.peak_a,
        "effort_step_n": one.step_n,
        "felt": one.felt,
        "motors_without_current": list(one.lost),
    }


def fits_json(fits: "tuple[Fit, ...]") -> list[Json]:
    """Faults that fit a symptom, best first."""
    return [
        {**fault_json(fit.row), "fit": fit.share, "not_so": list(fit.not_so), "not_said": list(fit.not_said)}
        for fit in fits
    ]
