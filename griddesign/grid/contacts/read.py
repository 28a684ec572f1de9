"""A chart read: the circuit of every notch, its grouping, its contradictions, its currents at given ohms."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from griddesign.grid.contacts.contradictions import contradictions
from griddesign.grid.contacts.grouping import recognise
from griddesign.grid.contacts.network import nets_of
from griddesign.grid.contacts.records import Chart, Contradiction, Element, MotorOhms, Net, Recognised, Unrecognised
from griddesign.grid.contacts.solve import Networks, Solved
from griddesign.grid.contacts.wiring import elements_of

SAME = 1e-9


@dataclass(frozen=True)
class ChartRead:
    """A chart and all that follows from it. ``ohms``: armature, field and fixed resistors, as far as they are known;
    ``without``: names of elements that are open."""

    chart: Chart
    ohms: MotorOhms = field(default_factory=MotorOhms)
    without: frozenset[str] = frozenset()

    @cached_property
    def elements(self) -> tuple[Element, ...]:
        """Sections in box order, fixed resistors, motors."""
        return elements_of(self.chart)

    @cached_property
    def nets(self) -> tuple[Net, ...]:
        """Every notch with its contacts contracted."""
        return nets_of(self.chart, self.elements, self.without)

    @cached_property
    def networks(self) -> Networks:
        """The nets laid out for solving."""
        return Networks.of(self.elements, self.nets)

    @cached_property
    def circuits(self) -> tuple[Recognised | Unrecognised, ...]:
        """Motors and grid of every notch."""
        return tuple(recognise(self.elements, net, self.ohms) for net in self.nets)

    @cached_property
    def contradictions(self) -> tuple[Contradiction, ...]:
        """What cannot be meant."""
        solved = self.networks.solve(self.known({}))
        return contradictions(self.chart, self.elements, self.nets, solved)

    def solve(self, section_ohm: Mapping[str, float]) -> Solved:
        """Terminal ohms and currents of every notch at standstill; motors and resistors at their ohms. Raises
        CircuitError where something in circuit has none."""
        return self.networks.solve({**self._own_ohms(), **section_ohm})

    def known(self, section_ohm: Mapping[str, float]) -> dict[str, float]:
        """Ohms of every element, 1 where nobody knows them."""
        return {one.name: 1.0 for one in self.elements} | self._own_ohms() | dict(section_ohm)

    def _own_ohms(self) -> dict[str, float]:
        """Of a motor nobody has told apart half lies in the armature, half in the field: see ``split_matters``."""
        ohms, found = self.ohms, dict(self.ohms.resistor or {})
        half = None if ohms.whole is None else 0.5 * ohms.whole
        each = {"armature": ohms.armature or half, "field": ohms.field or half, "motor": ohms.whole}
        found |= {one.name: ohm for one in self.elements if (ohm := each.get(one.kind))}
        return found

    def split_matters(self, solved: Solved, place: int) -> bool:
        """Whether the answer for a notch hangs on how a motor's ohms lie in armature and field, and nobody knows: only
        where some motor's two currents differ."""
        if self.ohms.field is not None:
            return False
        amount: dict[int, list[float]] = {}
        for element, share in zip(self.elements, solved.share[place], strict=True):
            if element.kind in ("armature", "field"):
                amount.setdefault(element.motor, []).append(abs(float(share)))
        return any(max(pair) - min(pair) > SAME for pair in amount.values())

    def in_circuit(self, place: int) -> tuple[str, ...]:
        """Names of the elements that carry current on a notch."""
        return tuple(self.elements[spot].name for spot in self.nets[place].live)
