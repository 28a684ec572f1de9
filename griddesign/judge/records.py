"""Findings, and the whole result that the papers print."""

from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """The three words of a finding."""

    HOLDS = "holds"
    FAILS = "fails"
    NOT_SHOWN = "not shown"


@dataclass(frozen=True, slots=True)
class Finding:
    """One judged point. ``measure_next`` names the measurement that would settle a point not shown."""

    item: str
    verdict: Verdict
    why: str
    measure_next: str = ""
