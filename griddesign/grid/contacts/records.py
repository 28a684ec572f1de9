"""What a controller joins on each notch, and what hangs on its terminals."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from griddesign.grid.records import Run

LINE, GROUND = "line", "ground"
Kind = Literal["section", "resistor", "motor", "armature", "field"]
Groups = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Element:
    """A thing with two ends, ``a`` and ``b`` (names of nodes): a section between its taps, a fixed resistor, a whole
    motor, its armature or its field. ``motor`` counts from 1, 0 for what is no motor's.

    Armature and field pull forward where the current goes through both from end 1 to end 2.
    """

    name: str
    kind: Kind
    a: str
    b: str
    motor: int = 0


@dataclass(frozen=True, slots=True)
class Chart:
    """Lead list and contact chart. ``leads``: terminal to the nodes its leads go to (none: a bare stud).

    ``always``: terminals joined whatever the notch (fixed wires, the reverser as it stands); ``notches``: name, and
    the groups of terminals joined there. ``parted``: sections after which the chain has a mica washer and two taps.
    """

    sections: tuple[str, ...]
    motors: int
    leads: Mapping[str, tuple[str, ...]]
    notches: tuple[tuple[str, Groups], ...]
    always: Groups = ()
    resistors: tuple[str, ...] = ()
    parted: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Net:
    """One notch with every closed contact contracted: nodes are numbers, ``line`` and ``ground`` two of them (the same
    where the contacts join them).

    ``ends``: nodes of every element, in the order of the elements; ``live``: places of those that current can pass
    through from line to ground; ``shorted``: places of those whose ends are one node.
    """

    name: str
    line: int
    ground: int
    ends: tuple[tuple[int, int], ...]
    live: tuple[int, ...]
    shorted: tuple[int, ...]

    @property
    def joined(self) -> bool:
        """Whether line and ground are one point."""
        return self.line == self.ground


@dataclass(frozen=True, slots=True)
class Recognised:
    """A notch as motors and grid: ``series`` motors in a string, ``parallel`` strings, either a ``common`` run of
    sections or a run for each string. ``strings_of``: motors of each string, from 1. ``field``: share of the
    armature's current in the fields; ``motor_ohm``: of one motor with a shunted field, None as ever. ``remarks``: what
    the grouping alone does not say.
    """

    series: int
    parallel: int
    common: Run | None
    strings: tuple[Run, ...] = ()
    strings_of: tuple[tuple[int, ...], ...] = ()
    field: float = 1.0
    motor_ohm: float | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Unrecognised:
    """A notch that is no series-parallel grouping of like strings, and why. ``run``: its circuit where it has one."""

    why: str
    run: Run | None = None


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Something in chart or leads that cannot be meant. ``notch`` "" where it is true of all of them.

    ``severe``: no circuit follows from it; else the controller can be so, and whoever reads it must know.
    """

    words: str
    notch: str = ""
    terminals: tuple[str, ...] = ()
    severe: bool = False
    key: str = field(default="")
