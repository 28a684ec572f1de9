"""What somebody offers, as the claim file tells it. SI floats inside figures; None and () where nothing is claimed."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from griddesign.figures import Figure
from griddesign.metals import Metal
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import Zigzag


@dataclass(frozen=True, slots=True)
class Claimed:
    """One claimed quantity. ``at_c``: the temperature its ohms hold at, degC, None where the claim does not say;
    ``tolerance`` as a fraction, None where the claim gives none."""

    figure: Figure
    key: str
    at_c: float | None = None
    tolerance: float | None = None


@dataclass(frozen=True, slots=True)
class ClaimedOutline:
    """A drawing of the plate. ``washer_m``: diameter of the washers' faces, None for the rims of the holes."""

    path: Path
    units: str | None = None
    terminals: tuple[str, ...] = ()
    washer_m: float | None = None


@dataclass(frozen=True, slots=True)
class ClaimedPlate:
    """One kind of plate as offered: ohms and mass of one plate. ``thickness`` belongs to the outline alone."""

    name: str
    metal: Metal | None = None
    made_by: MadeBy | None = None
    shape: Zigzag | None = None
    outline: ClaimedOutline | None = None
    thickness: Claimed | None = None
    ohm: Claimed | None = None
    mass: Claimed | None = None


@dataclass(frozen=True, slots=True)
class ClaimedSection:
    """One section as offered; counts are None where the claim gives none. ``temperature``: what it is said to reach in
    the job's duty."""

    name: str
    plates: int | None = None
    in_parallel: int = 1
    kind: str = ""
    ohm: Claimed | None = None
    temperature: Claimed | None = None


@dataclass(frozen=True, slots=True)
class ClaimedNotch:
    """The ohms of one notch, the grid's own."""

    name: str
    ohm: Claimed


@dataclass(frozen=True, slots=True)
class ClaimedTap:
    """A tap by its name (``A/B``), box and joint in it, counted from the dot end."""

    name: str
    box: int
    joint: tuple[int, int]


@dataclass(frozen=True, slots=True)
class ClaimedBoxes:
    """The boxes as offered. ``stack_length``: over the plates of a full box, gaps between them included."""

    boxes: int | None = None
    plates_per_box: int | None = None
    plate_gap: Claimed | None = None
    tap_sides: int = 1
    joint_ohm: float = 0.0
    stack_length: Claimed | None = None
    plates_mass: Claimed | None = None


@dataclass(frozen=True, slots=True)
class Rating:
    """A current that a plate kind or a section (``of``) is said to bear: for ``time``, or for ever without one, and
    reach no more than ``temperature`` in air of ``ambient``."""

    name: str
    of: str
    current: Claimed
    time: Claimed | None = None
    temperature: Claimed | None = None
    ambient: Claimed | None = None


@dataclass(frozen=True, slots=True)
class Tested:
    """What a test is said to have shown of a plate kind, a section or the whole grid (``of``)."""

    name: str
    of: str
    ohm: Claimed | None = None
    mass: Claimed | None = None
    method: str = ""


@dataclass(frozen=True, slots=True)
class Safety:
    """What safety needs; sources (the clause) stand in the figures."""

    temperature_limit: Claimed | None = None
    test_voltage: Claimed | None = None
    clearance: Claimed | None = None


@dataclass(frozen=True)
class Claim:
    """One claim. ``ohms_at_c``: the temperature all its ohms hold at where they do not say; ``tolerance``: of all that
    has none of its own. ``figures`` as in a job; ``rebuild`` makes the same claim from other figures."""

    path: Path
    title: str
    offered_by: str = ""
    ohms_at_c: float | None = None
    tolerance: float | None = None
    plates: tuple[ClaimedPlate, ...] = ()
    sections: tuple[ClaimedSection, ...] = ()
    notches: tuple[ClaimedNotch, ...] = ()
    taps: tuple[ClaimedTap, ...] = ()
    boxes: ClaimedBoxes | None = None
    ratings: tuple[Rating, ...] = ()
    tests: tuple[Tested, ...] = ()
    safety: Safety = field(default_factory=Safety)
    metals: Mapping[str, Metal] = field(default_factory=dict)
    figures: Mapping[str, Figure] = field(default_factory=dict)
    lines: Mapping[str, int] = field(default_factory=dict)
    rebuild: "Callable[[Mapping[str, Figure]], Claim] | None" = None

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file the claim rests on: its own, and the drawings it names."""
        return (self.path, *(plate.outline.path for plate in self.plates if plate.outline is not None))

    def plate(self, name: str) -> ClaimedPlate | None:
        """The plate kind of that name."""
        return next((plate for plate in self.plates if plate.name == name), None)

    def section(self, name: str) -> ClaimedSection | None:
        """The section of that name."""
        return next((section for section in self.sections if section.name == name), None)
