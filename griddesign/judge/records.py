"""Findings, and the whole result that the papers print."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from griddesign.choose.from_job import Worked
from griddesign.grid.layout import Layout
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job, PlateWish
from griddesign.judge.faults.records import FaultTable
from griddesign.judge.finding import Finding, Settling, Unknown, Verdict
from griddesign.judge.run_heat import RunHeat
from griddesign.plate.made import Made
from griddesign.plate.ohms import PlateFigures
from griddesign.plate.outline import Outline
from griddesign.plate.process import ProcessCheck
from griddesign.plate.shapes import Zigzag
from griddesign.traction.records import MeanStart

if TYPE_CHECKING:
    from griddesign.judge.beside import Beside
    from griddesign.judge.stacking import StackReport
    from griddesign.nest.records import Nested

__all__ = ["BoxBand", "Finding", "NotchDone", "PlateReport", "Result", "SectionBand", "Unknown", "Verdict"]


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
    nest: "Nested | None" = None

    @property
    def lot(self) -> int:
        """How many are made: those in circuit, or one where nothing is built of it here, and the spares."""
        return (self.count or 1) + self.wish.spares

    @property
    def blank_m(self) -> tuple[float, float]:
        """Width and height of the rectangle round the plate with its eyes."""
        left, low, right, high = self.outline.bounding_box_m
        return right - left, high - low

    @property
    def blank_kg(self) -> float:
        """Mass of that rectangle in the plate's sheet."""
        wide_m, high_m = self.blank_m
        return self.wish.metal.density.value * wide_m * high_m * self.shape.thickness_m

    @property
    def test_strip_kg(self) -> float:
        """Mass of the test strip of a ladle: the plate's section, as long as the plate is high."""
        return self.wish.metal.density.value * self.shape.section_area_m2 * self.shape.height_m

    @property
    def cuts(self) -> int:
        """How often the edge is begun: at every hole, and a beam pierces once more for the rim."""
        return len(self.outline.holes) + (self.wish.made_by != "stamped")

    def ohms_at(self, t_c: float) -> tuple[float, float | None, float | None]:
        """What the plate is ordered by, and its pass band, to be read at a temperature of the metal, degC."""
        ratio = float(self.wish.metal.ratio(t_c))
        low, high = (None if ohm is None else ohm * ratio for ohm in (self.low_ohm, self.high_ohm))
        return self.order_ohm * ratio, low, high


@dataclass(frozen=True, slots=True)
class SectionBand:
    """The ohms at 20 degC between which a section is accepted, and what the metal's own range could make of it."""

    name: str
    accept_low_ohm: float
    accept_high_ohm: float
    metal_low_ohm: float
    metal_high_ohm: float


@dataclass(frozen=True, slots=True)
class BoxBand:
    """The ohms at 20 degC between which a box is accepted, end to end, and its ohms as chosen."""

    box: int
    cold_ohm: float
    accept_low_ohm: float
    accept_high_ohm: float


@dataclass(frozen=True, slots=True)
class NotchDone:
    """One notch on the grid as chosen: ohms, what the current feels, peaks (A per motor; None without a car)."""

    name: str
    wanted_ohm: float
    cold_ohm: float
    error: float
    peak_a: float | None
    frozen_flux_a: float | None


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
    ran: RunHeat | None = None
    measure_next: tuple[Unknown, ...] = ()
    ends: Settling | None = None
    beside: "Beside | None" = None
    box_bands: tuple[BoxBand, ...] = ()

    @cached_property
    def faults(self) -> FaultTable | None:
        """Every single fault of the grid and what it does; worked out when first asked for. None without a grid."""
        from griddesign.judge.faults.sources import faults_of  # stands above this record: it reads one

        return faults_of(self)

    @cached_property
    def stack(self) -> "StackReport | None":
        """The boxes as they are stacked; worked out when first asked for. None without a grid."""
        from griddesign.judge.stacking import stack_report  # stands above this record: it reads one

        return stack_report(self)

    @property
    def holds(self) -> bool:
        """Whether every finding holds."""
        return all(finding.verdict is Verdict.HOLDS for finding in self.findings)

    @property
    def provisional(self) -> bool:
        """Whether taps are still to be set after measuring: cast plates nobody has measured."""
        return any(plate.wish.made_by == "cast" and plate.wish.measured_ohm is None for plate in self.plates)
