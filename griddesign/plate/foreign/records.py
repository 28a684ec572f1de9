"""What was read from a foreign drawing and what had to be done to it. Metres, in the drawing's own axes."""

from dataclasses import dataclass
from typing import Literal

from griddesign.plate.outline import Hole, Outline, Point

UnitName = Literal["mm", "cm", "m", "inch"]


@dataclass(frozen=True, slots=True)
class Healed:
    """Two ends that did not meet and were joined: where, and how far apart they were."""

    at_m: Point
    gap_m: float


@dataclass(frozen=True, slots=True)
class Piece:
    """A line of the drawing that is not part of the plate: its ends, its length, of how many pieces."""

    start_m: Point
    end_m: Point
    length_m: float
    count: int = 1


@dataclass(frozen=True, slots=True)
class Ignored:
    """Entities left out: kind and layer as in the file, how many, why."""

    kind: str
    layer: str
    count: int
    why: str


@dataclass(frozen=True, slots=True)
class FoundHole:
    """A hole: its name, centre (of its area, if not round), diameter (of the same area, if not round)."""

    name: str
    centre_m: Point
    diameter_m: float
    is_round: bool
    is_terminal: bool = False


@dataclass(frozen=True, slots=True)
class ForeignRegion:
    """Closed lines of one layer, in the outline's axes, inside which the plate has a thickness of its own; gaps in them
    that were closed."""

    layer: str
    loops: tuple[Hole, ...]
    healed: tuple[Healed, ...] = ()


@dataclass(frozen=True, slots=True)
class ForeignPlate:
    """A plate read from a drawing.

    ``outline`` is in metres with its terminals set. Where the drawing lies far from its origin the outline is moved:
    ``origin_m`` is the drawing's point at the outline's (0, 0). All other points are the drawing's. Holes are in the
    order of the outline's. ``doubled`` are lines found twice and kept once, ``strays`` open lines clear of the metal
    and dropped. ``short_pieces`` counts lines of no length. ``curves`` ellipses and splines were turned into arcs and
    deviate from them by at most ``curve_deviation_m``.
    """

    outline: Outline
    units: UnitName
    units_from: Literal["header", "given"]
    release: str
    tolerance_m: float
    origin_m: Point
    holes: tuple[FoundHole, ...]
    terminals: tuple[str, ...]
    terminals_why: str
    healed: tuple[Healed, ...]
    doubled: tuple[Piece, ...]
    strays: tuple[Piece, ...]
    short_pieces: int
    ignored: tuple[Ignored, ...]
    curves: int
    curve_deviation_m: float
    remarks: tuple[str, ...]
    regions: tuple[ForeignRegion, ...] = ()
