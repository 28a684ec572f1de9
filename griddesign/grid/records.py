"""What a grid is made of: circuits of sections, sections of plates, boxes, taps."""

from dataclasses import dataclass
from typing import Literal

Side = Literal["terminal side", "far side"]


@dataclass(frozen=True, slots=True)
class Run:
    """Parts one after another: section names and groups of branches. An empty run is a plain lead, 0 ohm."""

    parts: "tuple[str | Branches, ...]" = ()


@dataclass(frozen=True, slots=True)
class Branches:
    """Runs side by side between the same two points; at least two, none of them empty."""

    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class BoxPlan:
    """The boxes there is room for.

    ``plate_gap_m`` is the clear air between neighbouring plates; ``tap_sides`` is 1 where leads can only reach the
    terminal side, 2 where both sides can be reached; ``joint_ohm`` is one clamped joint between two eyes, cold.
    """

    boxes: int
    plates_per_box: int
    plate_gap_m: float
    tap_sides: int = 1
    joint_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class SectionBuild:
    """One section as it is made: ``series`` steps, each of ``in_parallel`` plates of one kind side by side."""

    name: str
    kind: str
    series: int
    in_parallel: int
    plate_ohm: float
    cold_ohm: float

    @property
    def plates(self) -> int:
        """Plates of the section, all together."""
        return self.series * self.in_parallel


@dataclass(frozen=True, slots=True)
class Tap:
    """A lead at a joint. ``after_plate`` counts every plate of the grid from the dot end of box 1; ``joint`` counts
    inside ``box`` from its dot end, (0, 1) being the dot end itself and (n, n + 1) the other end of a box of n plates.
    """

    name: str
    box: int
    joint: tuple[int, int]
    after_plate: int
    side: Side
