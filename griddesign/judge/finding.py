"""One judged point, in three words, and what is not sure behind it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol


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


@dataclass(frozen=True, slots=True)
class Unknown:
    """A figure that is not sure, with what its ends do to the current of the worst notch (a fraction), and to the
    hottest section, K (None where nothing is known of the heat)."""

    key: str
    text: str
    swing: float
    notch: str
    heat_swing_k: float | None = None
    section: str = ""


class Settling(Protocol):
    """What knows how findings come out at the ends, and what to measure next."""

    @property
    def measure_next(self) -> tuple[Unknown, ...]:
        """All that is not sure, first what uses up most of its room."""

    @property
    def hold_s(self) -> Mapping[str, tuple[float | None, float | None]]:
        """Least and most of each section's shortest hold, s (None for ever); empty where nothing moves it."""

    def settled(self, findings: Iterable[Finding]) -> tuple[Finding, ...]:
        """The findings; what comes out another way at some end is *not shown*."""
