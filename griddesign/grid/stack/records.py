"""What stands on the tie rods of a box, part by part. Lengths are along the rod, metres; None where nobody gave one."""

from dataclasses import dataclass
from typing import Literal

from griddesign.grid.records import Side

What = Literal["eye", "metal washer", "mica washer", "spacer", "terminal clamp", "end insulation"]
RodName = Literal["terminal side", "far side", "support"]
CONDUCTING: frozenset[What] = frozenset({"eye", "metal washer", "spacer", "terminal clamp"})


@dataclass(frozen=True, slots=True)
class Hardware:
    """Thicknesses of what stands between the eyes and at the ends, and the rod; None: to be measured."""

    metal_washer_m: float | None = None
    mica_washer_m: float | None = None
    terminal_clamp_m: float | None = None
    end_insulation_m: float | None = None
    end_frame_m: float | None = None
    rod_diameter_m: float | None = None


@dataclass(frozen=True, slots=True)
class KindInStack:
    """What the stack needs to know of a kind of plate: strip and eye along the rod, whether it has a support eye."""

    strip_m: float
    eye_m: float
    support: bool = False


@dataclass(frozen=True, slots=True)
class StackPart:
    """One part on a rod. ``plate`` counts through the grid (eyes only, else 0); ``labels``: the leads of a clamp."""

    what: What
    length_m: float | None
    plate: int = 0
    labels: tuple[str, ...] = ()

    @property
    def conducting(self) -> bool:
        """Whether current passes through it to what it touches."""
        return self.what in CONDUCTING


@dataclass(frozen=True, slots=True)
class Gap:
    """What lies between two neighbouring eyes of a rod, or between an end frame and the eye nearest to it.

    ``before`` is the position in the box of the plate on its dot side, 0 at the dot end; ``after`` that of the other,
    one more than the plates of the box at the far end. ``length_m`` is None where an unknown part fixes it.
    """

    before: int
    after: int
    joined: bool
    length_m: float | None
    parts: tuple[StackPart, ...]

    @property
    def labels(self) -> tuple[str, ...]:
        """The leads clamped here, in the order met."""
        return tuple(label for part in self.parts for label in part.labels)


@dataclass(frozen=True, slots=True)
class Rod:
    """One tie rod from its dot end: the gaps and the eyes between them."""

    name: RodName
    gaps: tuple[Gap, ...]
    eyes: tuple[StackPart, ...]

    @property
    def parts(self) -> tuple[StackPart, ...]:
        """Every part in the order in which it is put on."""
        found = list(self.gaps[0].parts)
        for eye, gap in zip(self.eyes, self.gaps[1:], strict=True):
            found += [eye, *gap.parts]
        return tuple(found)


@dataclass(frozen=True, slots=True)
class BoxStack:
    """One box. ``middles_m``: where the middle of each plate stands, from the dot-side face of the first eye."""

    box: int
    rods: tuple[Rod, ...]
    plates: tuple[int, ...]
    middles_m: tuple[float, ...]
    over_eyes_m: float

    def rod(self, name: RodName) -> Rod:
        """The rod of that name."""
        return next(rod for rod in self.rods if rod.name == name)


@dataclass(frozen=True, slots=True)
class Clamped:
    """A lead at a gap of a box: ``hand`` says whose eye it belongs to where the gap does not conduct."""

    box: int
    gap: int
    side: Side
    hand: Literal["before", "after"]
    label: str
