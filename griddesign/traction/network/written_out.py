"""A grouping of like motor strings written out wire by wire, to be solved beside notches that are networks."""

from dataclasses import dataclass, field

from griddesign.grid.contacts.records import Kind, MotorIn, Network, Wire
from griddesign.grid.contacts.transfer import GROUND_NODE, LINE_NODE
from griddesign.grid.records import Run
from griddesign.traction.problem import live_strings
from griddesign.traction.records import Notch

WHY = "a grouping, written out"


def written_out(notch: Notch) -> Network:
    """The notch as a network: fixed resistors ahead, the common grid, then the strings side by side, each its grid, its
    fixed resistors and its motors, without those cut out. A network stays as it is.

    Raises CircuitError where circuits and strings do not fit, or every motor is cut out.
    """
    if notch.network is not None:
        return notch.network
    found = _Writer()
    at = found.resistor("resistors ahead", notch.ahead_ohm, LINE_NODE)
    live = live_strings(notch)
    at = found.run(notch.common or Run(), at)
    for place, motors in live:
        own = found.resistor(f"resistors of string {place + 1}", notch.string_ohm, at)
        found.string(motors, found.run(notch.strings[place], own) if notch.strings else own, notch.field)
    return found.network()


@dataclass
class _Writer:
    """Wires as they come; a wire's end is a new node until the last motor of a string meets the ground."""

    wires: list[Wire] = field(default_factory=list)
    motors: list[MotorIn] = field(default_factory=list)
    nodes: int = 2

    def _node(self) -> int:
        self.nodes += 1
        return self.nodes - 1

    def _wire(self, name: str, kind: Kind, a: int, b: int | None = None, ohm: float = 0.0, motor: int = 0) -> int:
        end = self._node() if b is None else b
        self.wires.append(Wire(name, kind, a, end, motor, ohm))
        return end

    def resistor(self, name: str, ohm: float, a: int) -> int:
        """Fixed ohms from a node on; the node itself where there are none."""
        return self._wire(name, "resistor", a, ohm=ohm) if ohm else a

    def run(self, run: Run, a: int, to: int | None = None) -> int:
        """The parts of a run one after another from a node, to another where that is given."""
        for place, part in enumerate(run.parts, start=1):
            end = to if place == len(run.parts) else None
            if isinstance(part, str):
                a = self._wire(part, "section", a, end)
                continue
            end = self._node() if end is None else end
            for branch in part.runs:
                self.run(branch, a, end)
            a = end
        return a

    def string(self, motors: tuple[int, ...], a: int, share: float) -> None:
        """Motors one after another to the ground."""
        for place, number in enumerate(motors, start=1):
            self.motors.append(MotorIn(number + 1, len(self.wires), share))
            end = GROUND_NODE if place == len(motors) else None
            a = self._wire(f"motor {number + 1}", "motor", a, end, 1.0, number + 1)

    def network(self) -> Network:
        """What has been written."""
        return Network(tuple(self.wires), self.nodes, tuple(self.motors), WHY)
