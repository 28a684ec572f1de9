"""Findings, and the whole result that the papers print."""

from dataclasses import dataclass
from enum import StrEnum

from griddesign.choose.from_job import Worked
from griddesign.grid.layout import Layout
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job, PlateWish
from griddesign.plate.made import Made
from griddesign.plate.ohms import PlateFigures
from griddesign.plate.outline import Outline
from griddesign.plate.process import ProcessCheck
from griddesign.plate.shapes import Zigzag
from griddesign.traction.records import MeanStart


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
class PlateReport:
    """One kind of plate as it is to be made. ``count`` is 0 where nothing is built of it here.

    ``order_ohm`` is what the plate is ordered and accepted by at 20 degC: the ohms chosen, wanted or measured, else
    those of its shape and metal. ``low_ohm`` and ``high_ohm`` are its pass band, from the notch tolerance shared out.
    ``made``: what its making brings: spread of the ohms, path of the cut, pattern.
    """

    wish: PlateWish
    shape: Zigzag
    outline: Outline
    figures: PlateFigures
    checks: tuple[ProcessCheck, ...]
    order_ohm: float
    count: int
    low_ohm: float | None = None
    high_ohm: float | None = None
    made: Made | None = None


@dataclass(frozen=True, slots=True)
class SectionBand:
    """The ohms at 20 degC between which a section is accepted, and what the metal's own range could make of it."""

    name: str
    accept_low_ohm: float
    accept_high_ohm: float
    metal_low_ohm: float
    metal_high_ohm: float


@dataclass(frozen=True, slots=True)
class NotchDone:
    """One notch on the grid as chosen: ohms, what the current feels, peaks (A per motor; None without a car)."""

    name: str
    wanted_ohm: float
    cold_ohm: float
    error: float
    peak_a: float | None
    frozen_flux_a: float | None


@dataclass(frozen=True, slots=True)
class Unknown:
    """A figure that is not sure, with what its ends do to the current of the worst notch (a fraction)."""

    key: str
    text: str
    swing: float
    notch: str


@dataclass(frozen=True)
class Result:
    """Everything a job came to, once. Papers, JSON and tables read it and compute nothing."""

    job: Job
    version: str
    fingerprint: str
    plates: tuple[PlateReport, ...]
    worked: Worked | None
    notches: tuple[NotchDone, ...]
    layout: Layout | None
    bands: tuple[SectionBand, ...]
    start: MeanStart | None
    start_highest: MeanStart | None
    heat: tuple[HeatRow, ...]
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]
    unknowns: tuple[Unknown, ...]
    not_checked: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether every finding holds."""
        return all(finding.verdict is Verdict.HOLDS for finding in self.findings)

    @property
    def provisional(self) -> bool:
        """Whether taps are still to be set after measuring: cast plates nobody has measured."""
        return any(plate.wish.made_by == "cast" and plate.wish.measured_ohm is None for plate in self.plates)
