"""Many circuits at once against one at a time."""

import numpy as np
import pytest

from griddesign.grid import circuit
from griddesign.grid.divide import divider
from griddesign.grid.records import Branches, Run

NESTED = Run(("A", Branches((Run(("B",)), Run(("C", Branches((Run(("D",)), Run(("E", "F"))))))))))


@pytest.mark.parametrize("run", [NESTED, Run(("A", "B")), Run((Branches((Run(("A",)), Run(("B",)))),))])
def test_rows_agree_with_the_circuit_room(run: Run) -> None:
    order = circuit.names(run)
    ohms = np.random.default_rng(1).uniform(0.1, 2.0, (50, len(order)))
    total, shares = divider(run)(ohms)
    for row, got, part in zip(ohms, total, shares, strict=True):
        one = dict(zip(order, map(float, row), strict=True))
        assert got == pytest.approx(circuit.ohms(run, one), rel=1e-13)
        assert dict(zip(order, part, strict=True)) == pytest.approx(circuit.shares(run, one), rel=1e-13)
