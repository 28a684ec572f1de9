"""Everything ``griddesign retap`` tells."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite

from griddesign.choose.from_job import Worked
from griddesign.found.records import AsFound
from griddesign.found.tapped import TappedSection
from griddesign.heat.records import HeatRow
from griddesign.job.records import Job
from griddesign.judge.faults.records import FaultTable
from griddesign.judge.finding import Finding, Unknown, Verdict
from griddesign.retaps.records import Answer, PlatesAtHand, Question


@dataclass(frozen=True, slots=True)
class NotchAt:
    """One notch on some set of taps: the grid's cold ohms (``inf``: no current), the error of the current, and its ends
    over what the plates' ohms may be off by. Of a grid per string, the string with the greatest error."""

    name: str
    cold_ohm: float
    error: float
    error_low: float
    error_high: float

    @property
    def open(self) -> bool:
        """Whether no current flows at all."""
        return not isfinite(self.cold_ohm)


@dataclass(frozen=True, slots=True)
class RunAt:
    """What a start on some set of taps comes to: worst peak of every notch, A per motor, at nominal voltage;
    rows of heat, worst end of the weak figures; shortest hold of each part of the grid, s (None for ever).

    ``without``: why something of it is missing, "" where nothing is. ``given_c``: hottest of each part with the figures
    as given. ``beside``: what else the job gives limits for, judged: breaker, adhesion, timber, mica, lead, clearance.
    """

    peak_a: Mapping[str, float]
    heat: tuple[HeatRow, ...]
    hold_s: Mapping[str, float | None]
    without: str = ""
    given_c: Mapping[str, float] = field(default_factory=dict)
    beside: tuple[Finding, ...] = ()

    @property
    def heated(self) -> bool:
        """Whether anything is known of the heat."""
        return bool(self.heat)


NOT_RUN = RunAt({}, (), {}, "not run")


@dataclass(frozen=True, slots=True)
class Tapping:
    """One set of taps: joint of every tap, the sections between them, every notch, the start run on it; ``plates``: the
    plates as they stand then."""

    taps: tuple[tuple[str, int], ...]
    sections: tuple[TappedSection, ...]
    notches: tuple[NotchAt, ...]
    run: RunAt
    plates: PlatesAtHand | None = None

    def notch(self, name: str) -> NotchAt:
        """The notch of that name."""
        return next(notch for notch in self.notches if notch.name == name)

    @property
    def worst(self) -> float:
        """Greatest error of any notch, as a share; ``inf`` where one is open."""
        return max((abs(notch.error) for notch in self.notches), default=0.0)


@dataclass(frozen=True, slots=True)
class Option:
    """One way to be on the rails tonight. ``tapping`` None where nothing is done; ``steps``: what to do, in words;
    ``notes``: what is assumed or not covered. ``moved``: (tap, from joint, to joint); ``fitted``: plates put in."""

    name: str
    steps: tuple[str, ...]
    tapping: Tapping | None
    verdict: Verdict
    why: str
    notes: tuple[str, ...] = ()
    moved: tuple[tuple[str, int, int], ...] = ()
    fitted: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Cure:
    """Plates to add to a section (``ohm`` above 0), or ohms it has too many of; ``plates`` of ``each_ohm`` make it."""

    section: str
    ohm: float
    plates: int
    each_ohm: float


@dataclass(frozen=True)
class RetapResult:
    """Plates as found; the controller today (None where the job gives no taps); the best taps; a night's mends where a
    plate is dead; cures where no arrangement meets the tolerance."""

    job: Job
    version: str
    fingerprint: str
    found: AsFound
    worked: Worked
    question: Question
    wanted_ohm: Mapping[str, float]
    before: Tapping | None
    answer: Answer | None
    after: Tapping | None
    no_answer: str
    options: tuple[Option, ...]
    cures: tuple[Cure, ...]
    cured: bool
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]
    not_checked: tuple[str, ...]
    measure_next: tuple[Unknown, ...] = ()
    faults: FaultTable | None = None

    @property
    def holds(self) -> bool:
        """Whether every finding holds."""
        return all(finding.verdict is Verdict.HOLDS for finding in self.findings)
