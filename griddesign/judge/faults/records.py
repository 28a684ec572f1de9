"""A grid as the single faults take it, and what each of them does."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from typing import Literal

from griddesign.retaps.records import PlatesAtHand

Felt = Literal["", "dead", "no start", "jerk", "weak"]
FaultKind = Literal[
    "plate open", "one of a pair open", "neighbours touching", "lead one joint off", "box end for end", "boxes swapped"
]
Taps = tuple[tuple[str, int], ...]


@dataclass(frozen=True)
class Bank:
    """Plates in order, joint of every tap, sections from the dot end. ``tap_sides`` 1: leads reach the terminal side.

    ``capacity_j_k``: heat capacity of one plate of a kind, J/K; a kind without one has no rise.
    """

    plates: PlatesAtHand
    taps: Taps
    sections: tuple[str, ...]
    tap_sides: int = 1
    capacity_j_k: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault as a changed bank. ``what`` in words; ``touching``: last plate of the first of two steps that touch."""

    kind: FaultKind
    what: str
    bank: Bank
    touching: int = 0


@dataclass(frozen=True, slots=True)
class NotchUnder:
    """One notch under a fault. ``grid_ohm`` cold, of its highest string that carries current (``inf``: none does), of a
    network from line to ground, motors among them; ``ohm_change`` against the sound grid. ``peak_a`` per motor on
    arriving, ``step_n`` the step of effort at the rim there (None without a car, or where no current flows). ``lost``:
    motors (from 1) without current while another pulls; ``shorted``: line and ground are joined; ``why``: why currents
    are not known, "" where they are."""

    name: str
    grid_ohm: float
    ohm_change: float
    peak_a: float | None = None
    step_n: float | None = None
    felt: Felt = ""
    lost: tuple[int, ...] = ()
    shorted: bool = False
    why: str = ""

    @property
    def open(self) -> bool:
        """Whether no current flows."""
        return self.grid_ohm == inf


@dataclass(frozen=True, slots=True)
class FaultRow:
    """One fault and what comes of it. ``hottest``: the section of the plate that one start heats most; ``rise_k`` its
    rise if nothing cooled it; ``times`` that over the hottest of the sound grid. ``driver``: what the driver feels."""

    kind: str
    what: str
    notches: tuple[NotchUnder, ...]
    driver: str
    hottest: str | None = None
    rise_k: float | None = None
    times: float | None = None
    breaker: tuple[str, ...] = ()

    @property
    def highest_peak_a(self) -> float | None:
        """The highest peak of all notches, A per motor."""
        return max((one.peak_a for one in self.notches if one.peak_a is not None), default=None)


@dataclass(frozen=True)
class FaultTable:
    """The sound grid, and every single fault in the order of the kinds. ``note``: what is taken for granted in it;
    ``networks``: names of the notches whose ohms are those from line to ground."""

    sound: FaultRow
    rows: tuple[FaultRow, ...]
    driven: bool
    note: str = ""
    networks: tuple[str, ...] = ()
