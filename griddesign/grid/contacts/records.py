"""What a controller joins on each notch, and what hangs on its terminals."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

from griddesign.errors import CircuitError
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
    through from line to ground; ``shorted``: places of those whose ends are one node; ``without``: names of those that
    are open.
    """

    name: str
    line: int
    ground: int
    ends: tuple[tuple[int, int], ...]
    live: tuple[int, ...]
    shorted: tuple[int, ...]
    without: frozenset[str] = frozenset()

    @property
    def joined(self) -> bool:
        """Whether line and ground are one point."""
        return self.line == self.ground


@dataclass(frozen=True, slots=True)
class Recognised:
    """A notch as motors and grid: ``series`` motors in a string, ``parallel`` strings, either a ``common`` run of
    sections or a run for each string. ``strings_of``: motors of each string, from 1. ``field``: share of the
    armature's current in the fields; ``motor_ohm``: of one motor with a shunted field, None as ever. ``ahead_ohm`` and
    ``string_ohm``: fixed resistors in series with all strings, and in each of them. ``remarks``: what the grouping
    alone does not say.
    """

    series: int
    parallel: int
    common: Run | None
    strings: tuple[Run, ...] = ()
    strings_of: tuple[tuple[int, ...], ...] = ()
    field: float = 1.0
    motor_ohm: float | None = None
    remarks: tuple[str, ...] = ()
    ahead_ohm: float = 0.0
    string_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class Unrecognised:
    """A notch that is no series-parallel grouping of like strings, and why. ``run``: its circuit where it has one;
    ``network``: what is run in its place, else ``bar`` says why it cannot be."""

    why: str
    run: Run | None = None
    network: "Network | None" = None
    bar: str = ""


@dataclass(frozen=True, slots=True)
class MotorOhms:
    """One motor's ohms, whole, armature and field (None where nobody knows or has told them apart), and those of fixed
    resistors by element name."""

    whole: float | None = None
    armature: float | None = None
    field: float | None = None
    resistor: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True)
class Wire:
    """One element of a ``Network`` between two of its nodes. ``ohm``: a fixed resistor's own; of a motor or a part of
    one its share of the motor's stated ohms; 0 for a section, whose ohms are found by its name."""

    name: str
    kind: Kind
    a: int
    b: int
    motor: int = 0
    ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class MotorIn:
    """A motor in a ``Network``: its number from 1, the place of the wire its emf acts in (armature or whole motor), and
    the share of that wire's current in its field, reckoned with the ohms stated for all motors alike (where they are
    not, it is reckoned anew for the run).

    ``apart``: 0 where there is such a share. Else the field carries a current of its own, and with it in the field wire
    the emf against the armature's direction is that of the curve times ``apart``, 1 or -1.
    """

    number: int
    wire: int
    field: float = 1.0
    apart: int = 0


@dataclass(frozen=True, slots=True)
class Network:
    """A notch of any topology: everything current can pass through, node 0 the ground, node 1 the line.

    ``nodes``: how many; ``why``: what keeps it from being a grouping of motors and a grid; ``stated_ohm``: of one
    motor, which the shares of the fields were reckoned with, 0 where its parts are not told apart. Of a motor that is
    not among ``motors`` a field without its armature may be left, or an armature without its field: ohms that pull
    nothing.
    """

    wires: tuple[Wire, ...]
    nodes: int
    motors: tuple[MotorIn, ...]
    why: str
    stated_ohm: float = 0.0

    @property
    def sections(self) -> tuple[str, ...]:
        """Names of the sections in circuit, in box order."""
        return tuple(wire.name for wire in self.wires if wire.kind == "section")

    @property
    def motor_ohm(self) -> tuple[float, ...]:
        """Ohms of each motor by the heat of its current, in terms of its stated ones: those of a field with something
        beside it count by the square of its share."""
        return tuple(self._motor_ohm(motor, motor.field**2) for motor in self.motors)

    @property
    def motor_drop(self) -> tuple[float, ...]:
        """Volts that an ampere of each motor takes up in it, in the same terms: those of such a field count by its
        share."""
        return tuple(self._motor_ohm(motor, motor.field) for motor in self.motors)

    @property
    def lone(self) -> tuple[Wire, ...]:
        """Armatures without their fields and fields without their armatures."""
        whole = {motor.number for motor in self.motors}
        return tuple(wire for wire in self.wires if wire.motor and wire.motor not in whole)

    def field_wire(self, motor: MotorIn) -> int | None:
        """Place of the wire of a motor's field; None where it has none of its own in circuit."""
        fields = (at for at, one in enumerate(self.wires) if one.kind == "field" and one.motor == motor.number)
        return next(fields, None)

    def _motor_ohm(self, motor: MotorIn, in_field: float) -> float:
        own = (one for one in self.wires if one.motor == motor.number)
        return sum(one.ohm * (in_field if one.kind == "field" else 1.0) for one in own)

    def with_parts(self, parts: Mapping[str, Sequence[str]]) -> "Network":
        """The same with every section in so many parts, one after another from its ``a`` to its ``b``. Raises
        CircuitError where nothing is left of one: what it joins would be another network."""
        bridged = [name for name in self.sections if not parts[name]]
        if bridged:
            raise CircuitError(
                f"section {bridged[0]} is bridged whole in a network ({self.why})",
                hint="Leave a plate of it in circuit, or join its ends in the chart.",
            )
        wires: list[Wire] = []
        place: dict[int, int] = {}
        nodes = self.nodes
        for old, wire in enumerate(self.wires):
            names = parts[wire.name] if wire.kind == "section" else (wire.name,)
            inner = range(nodes, nodes + len(names) - 1)
            joints = (wire.a, *inner, wire.b)
            place[old], nodes = len(wires), nodes + len(inner)
            wires += [replace(wire, name=name, a=a, b=b) for name, (a, b) in zip(names, pairwise(joints), strict=True)]
        motors = tuple(replace(motor, wire=place[motor.wire]) for motor in self.motors)
        return Network(tuple(wires), nodes, motors, self.why, self.stated_ohm)


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
