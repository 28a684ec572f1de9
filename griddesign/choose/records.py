"""The designer's question and its answer."""

from dataclasses import dataclass

from griddesign.grid.records import SectionBuild, Tap
from griddesign.plate.shapes import Zigzag


@dataclass(frozen=True, slots=True)
class Proof:
    """How good the choice is: what was aimed at, the value reached, the best value nothing can beat, proved or not."""

    objective: str
    reached: float
    bound: float
    proved: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class NotchGot:
    """``error`` = R'_wanted / R'_got - 1, what the current feels; motors and feeder inside R'."""

    name: str
    wanted_ohm: float
    cold_ohm: float
    error: float


@dataclass(frozen=True, slots=True)
class ChosenKind:
    """A kind of plate as it is to be ordered: its shape with the strip width that was chosen, and its cold ohms."""

    name: str
    shape: Zigzag
    cold_ohm: float


@dataclass(frozen=True, slots=True)
class Design:
    """Counts, kinds, taps, notch by notch ohms and the proof. ``fails`` says what could not be met, empty if all is."""

    sections: tuple[SectionBuild, ...]
    kinds: tuple[ChosenKind, ...]
    taps: tuple[Tap, ...]
    notches: tuple[NotchGot, ...]
    boxes: int
    proofs: tuple[Proof, ...]
    fails: tuple[str, ...] = ()
