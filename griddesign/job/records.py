"""The job as read: plain SI numbers for the rooms, and beside them every figure with its range and source."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from griddesign.figures import Figure
from griddesign.grid.records import BoxPlan
from griddesign.metals import Metal
from griddesign.plate.making import Making
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import Zigzag
from griddesign.traction.records import Car, Line, Motor, Notch, Start

if TYPE_CHECKING:  # what few jobs have is loaded when one of them asks for it
    from griddesign.job.contacts import ChartOfJob
    from griddesign.job.heat_run import HeatRunGiven
    from griddesign.job.retap import RetapGiven
    from griddesign.job.scatter import ScatterGiven
    from griddesign.job.stack import HardwareGiven
    from griddesign.nest.records import NestAsked
    from griddesign.plate.measured import MeasuredPlate
    from griddesign.traction.braking.records import Braking

SheetSize = Literal["A4", "Letter"]
PaperUnits = Literal["mm", "inch"]
Projection = Literal["first angle", "third angle"]
Aim = Literal["margin", "closest", "light"]


@dataclass(frozen=True, slots=True)
class PlateWish:
    """A kind of plate the user names. ``strip_width_range_m`` is set where the width may be ordered (pitch and envelope
    stay, the pass gap gives way); ``measured_ohm`` where the ohms of the plate are already known. ``samples`` are the
    measured plates of this shape whose heat the metal's figures come from. ``making``: the shop's own figures;
    ``spares``: plates ordered beyond those in circuit."""

    name: str
    metal: Metal
    made_by: MadeBy
    shape: Zigzag
    strip_width_range_m: tuple[float, float] | None = None
    measured_ohm: float | None = None
    wanted_ohm: float | None = None
    samples: "tuple[MeasuredPlate, ...]" = ()
    making: Making = field(default_factory=Making)
    heat_run: "HeatRunGiven | None" = None
    spares: int = 0


@dataclass(frozen=True, slots=True)
class SectionGiven:
    """A section whose counts stand already: ``series`` steps of ``in_parallel`` plates of a kind."""

    name: str
    kind: str
    series: int
    in_parallel: int


@dataclass(frozen=True, slots=True)
class DutyPart:
    """A part of the day: ``starts`` starts, one every ``start_every_s``, on ``gradient`` (None: that of the car), then
    ``layover_s`` more without any."""

    name: str
    starts: int
    start_every_s: float
    gradient: float | None = None
    layover_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Duty:
    """How hard the grid is worked: a start every ``start_every_s`` (None: single starts only), ambient low to high.

    ``parts``, where there are any, make the day that is run round after round; the choice of plates then goes by
    ``start_every_s``, that of the busiest part unless the job says otherwise. ``shortest_layover_s`` is the shortest
    pause before a start that the grid must bear on top.
    """

    start_every_s: float | None
    ambient_low_c: float
    ambient_high_c: float
    parts: tuple[DutyPart, ...] = ()
    shortest_layover_s: float | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """What the user allows. None means no limit was given and paper prints NOT CHECKED."""

    notch_tolerance: float
    plate_c: float | None = None
    timber_c: float | None = None
    timber_distance_m: float | None = None
    mica_c: float | None = None
    lead_c: float | None = None
    clearance_m: float | None = None
    test_voltage_v: float | None = None
    effort_adhesion: float | None = None


@dataclass(frozen=True, slots=True)
class PaperChoice:
    """How the papers look: sheet size, units, projection, title block fields left empty where not given."""

    sheet: SheetSize = "A4"
    units: PaperUnits = "mm"
    projection: Projection = "first angle"
    owner: str = ""
    drawn_by: str = ""
    approved_by: str = ""


@dataclass(frozen=True)
class Job:
    """One job. Parts the job does not need are None or empty.

    ``figures`` maps a dotted key (``car.mass``, ``plate.P.shape.thickness``) to the figure behind the number;
    ``lines`` maps the same keys to lines of the file; ``asked`` is what the command asked for beside the file.
    ``rebuild`` makes the same job from other figures; use ``at``.
    """

    path: Path
    title: str
    revision: str
    example: bool
    limits: Limits
    duty: Duty
    paper: PaperChoice
    line: Line | None = None
    car: Car | None = None
    motor: Motor | None = None
    start: Start | None = None
    notches: tuple[Notch, ...] = ()
    section_order: tuple[str, ...] = ()
    plates: tuple[PlateWish, ...] = ()
    sections: tuple[SectionGiven, ...] = ()
    boxes: BoxPlan | None = None
    prefer: Aim = "margin"
    figures: Mapping[str, Figure] = field(default_factory=dict)
    lines: Mapping[str, int] = field(default_factory=dict)
    starter_values: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    rebuild: "Callable[[Mapping[str, Figure]], Job] | None" = None
    scatter: "ScatterGiven | None" = None
    calibration: "HeatRunGiven | None" = None
    braking: "Braking | None" = None
    retap: "RetapGiven | None" = None
    chart: "ChartOfJob | None" = None
    nest: "NestAsked | None" = None
    hardware: "HardwareGiven | None" = None

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file the job was read from: its own, and the heat run it names."""
        return (self.path,) if self.calibration is None else (self.path, self.calibration.path)

    def at(self, **ends: str) -> "Job":
        """The same job with figures pinned: ``job.at(**{"car.mass": "high"})``. Raises KeyError on an unknown key."""
        if self.rebuild is None:
            raise KeyError("this job was not read from figures")
        pinned = {key: self.figures[key].pinned(end) for key, end in ends.items()}
        return self.rebuild({**self.figures, **pinned})
