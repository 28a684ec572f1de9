"""What the answers in JSON have in common: the head of an answer, its findings, numbers that JSON can hold."""

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from griddesign.job.records import Job
    from griddesign.judge.finding import Finding

SCHEMA = 1
Json = dict[str, Any]


def finite(value: float | None) -> float | None:
    """The number, or None where it is infinite or undefined."""
    return None if value is None or not math.isfinite(value) else value


def head_json(job: "Job", version: str, fingerprint: str) -> Json:
    """What every answer on a job begins with."""
    return {
        "schema": SCHEMA,
        "griddesign": version,
        "title": job.title,
        "revision": job.revision,
        "fingerprint": fingerprint,
        "example": job.example,
    }


def findings_json(findings: "Iterable[Finding]") -> list[Json]:
    """Findings in their order, each with the measurement that would settle it (empty where none is wanted)."""
    return [
        {"item": one.item, "verdict": str(one.verdict), "why": one.why, "measure_next": one.measure_next}
        for one in findings
    ]
