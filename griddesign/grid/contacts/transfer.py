"""What volts from the line and volts inside the wires of a network make of the current in every wire.

With the incidence A of the wires over the nodes whose volts are not known, their conductances G and the source V at the
line, Kirchhoff's laws are ``A'i = 0`` and ``i = G(A v + s V - e)``, e being volts inside the wires against their
direction (a motor's emf). So ``i = K(s V - e)`` with ``K = G - G A (A'G A)^-1 A'G``, symmetric and never negative
definite (Tellegen). Nothing is inverted that a notch with a current could make singular.
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.grid.contacts.records import Wire

Floats: TypeAlias = NDArray[np.float64]
GROUND_NODE, LINE_NODE = 0, 1


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Incidence (wires, free nodes) and how the source's volts enter the wires (wires,).

    Where the feeder has ohms it is the first wire, from the source to the line.
    """

    incidence: Floats
    source: Floats

    @classmethod
    def of(cls, wires: tuple[Wire, ...], nodes: int, *, feeder: bool) -> "Layout":
        """The layout of wires between so many nodes, ``feeder`` ahead of them or not."""
        ends = [(nodes, LINE_NODE)] if feeder else []
        ends += [(wire.a, wire.b) for wire in wires]
        fixed = (GROUND_NODE, nodes if feeder else LINE_NODE)
        free = {node: row for row, node in enumerate(one for one in range(nodes) if one not in fixed)}
        incidence, source = np.zeros((len(ends), len(free))), np.zeros(len(ends))
        for place, pair in enumerate(ends):
            for node, sign in zip(pair, (1.0, -1.0), strict=True):
                if node in free:
                    incidence[place, free[node]] = sign
                elif node == fixed[1]:
                    source[place] = sign
        return cls(incidence, source)

    def driven(self, ohm: Floats, volts: Floats) -> Floats:
        """``K volts``: currents (..., wires, columns), A, at ohms (..., wires), all above zero, for volts (wires,
        columns) in wires."""
        conductance = (1.0 / ohm)[..., :, None]
        weighted, pushed = self.incidence * conductance, volts * conductance
        if not self.incidence.shape[-1]:
            return pushed
        laplacian = np.swapaxes(weighted, -1, -2) @ self.incidence
        node_v = np.linalg.solve(laplacian, np.swapaxes(self.incidence, -1, -2) @ pushed)
        current: Floats = pushed - weighted @ node_v
        return current
