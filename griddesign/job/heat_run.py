"""A user's own heat run as the job holds it."""

from dataclasses import dataclass
from pathlib import Path

from griddesign.heat.records import Stack
from griddesign.metals import Metal
from griddesign.plate.shapes import Zigzag


@dataclass(frozen=True, slots=True)
class HeatReading:
    """One line of a heat run: seconds, degC or ohms of the section (one of them is there), amperes through it."""

    time_s: float
    t_c: float | None
    ohm: float | None
    current_a: float


@dataclass(frozen=True, slots=True)
class HeatRunGiven:
    """A heat run and the bank it was taken on: section and kind of plate as the job draws it, and how it stood.

    ``in_parallel`` plates shared the current; ``measured_ohm`` of a plate where the job gives it; ``ambient_c`` is the
    mean of the air.
    """

    path: Path
    section: str
    kind: str
    shape: Zigzag
    metal: Metal
    measured_ohm: float | None
    in_parallel: int
    stack: Stack
    ambient_c: float
    readings: tuple[HeatReading, ...]
