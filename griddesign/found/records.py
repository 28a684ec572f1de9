"""Readings put to 20 degC, and what they say of the plates when they are held against each other."""

from collections.abc import Mapping
from dataclasses import dataclass

from griddesign.job.plates_csv import PlateRow
from griddesign.retaps.records import PlatesAtHand


@dataclass(frozen=True, slots=True)
class Reading20:
    """One reading at 20 degC over plates ``first`` to ``last``, ``half_width_ohm`` either way (95 per cent).

    ``steps``: places of the steps it was read over. ``assumed``: the accuracy is ours and not the user's. ``used``: it
    went into the ohms of the plates.
    """

    line: int
    words: str
    first: int
    last: int
    read_ohm: float
    t_c: float
    ohm: float
    half_width_ohm: float
    method: str
    assumed: bool
    steps: tuple[int, ...]
    used: bool = True


@dataclass(frozen=True, slots=True)
class KindKnown:
    """Ohms of one kind of plate: ``ohm`` at 20 degC within ``share`` either way, and where that comes from."""

    ohm: float
    share: float
    source: str
    assumed: bool


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A reading that the others contradict: ``reading`` in words, its ohms and those the others make of it, both at
    20 degC, by how much it may differ (95 per cent), how many times its own deviation (1 sigma) it does.

    ``rivals``: readings that may as well be the wrong ones, since too few readings overlap to tell them apart.
    """

    reading: str
    ohm: float
    others_ohm: float
    may_differ_ohm: float
    times: float
    rivals: tuple[str, ...] = ()
    why: str = ""

    @property
    def off_ohm(self) -> float:
        """Reading less what the others say, ohm."""
        return self.ohm - self.others_ohm


@dataclass(frozen=True, slots=True)
class OneOut:
    """A reading over plates that reads as ``out`` plates fewer (below 0: more) than are mounted.

    ``share``: how far the plates' ohms may be off either way; ``needed_share``: below what they would have to be known
    to tell; ``shown`` whether they are, else the scatter of the batch explains the reading as well. ``candidates``:
    numbers of the plates that may be the one.
    """

    reading: str
    plates: int
    ohm: float
    all_ohm: float
    plate_ohm: float
    out: int
    share: float
    needed_share: float
    shown: bool
    candidates: tuple[int, ...]


@dataclass(frozen=True)
class AsFound:
    """The plates as they stand. ``estimated``: numbers of plates no reading tells apart, known by their kind."""

    plates: PlatesAtHand
    rows: tuple[PlateRow, ...]
    readings: tuple[Reading20, ...]
    kinds: Mapping[str, KindKnown]
    estimated: tuple[int, ...]
    disagreements: tuple[Disagreement, ...]
    one_out: tuple[OneOut, ...]
    contradictions: tuple[str, ...]
    two_wire: tuple[str, ...]
    remarks: tuple[str, ...]

    def place(self, number: int) -> str:
        """A plate in words: ``box 2, plate 7``."""
        plate = self.plates.plates[number - 1]
        return f"box {plate.box}, plate {plate.position}"
