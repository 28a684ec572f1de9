"""Current crowding at the fillets of a square return bend.

Against peaks of an earlier, separate computation (quadratic elements on another mesher's polygons, 24 chords to a
quarter circle) and its law peak/mean = C (w/r)^(1/3), C = 1.32, 1.35, 1.40 for gap/width 1.0, 0.6, 0.4; round hairpins
likewise.
The exponent 1/3 is the corner singularity of a 270 degree corner (R. S. Lehman, J. Math. Mech. 8 (1959), from memory).
"""

from math import inf, pi, tan

import numpy as np
import pytest

from griddesign.errors import GeometryError
from griddesign.plate.field import Domain, RimTerminal, crowding

EARLIER = "An earlier, separate finite-element computation (not published)"

QUARTER = -tan(pi / 8)


def hairpin(gap: float, radius: float = 0.0, leg: float = 3.0) -> Domain:
    """A square hairpin of unit width with fillets of ``radius`` at its inner corners."""
    right, top = 1 + gap, leg + 1
    inner = [((1, leg), 0.0), ((right, leg), 0.0)]
    if radius:
        inner = [
            ((1, leg - radius), QUARTER),
            ((1 + radius, leg), 0),
            ((right - radius, leg), QUARTER),
            ((right, leg - radius), 0),
        ]
    rim = [((0, 0), 0), ((1, 0), 0), *inner, ((right, 0), 0), ((right + 1, 0), 0), ((right + 1, top), 0), ((0, top), 0)]
    points, bulges = np.array([p for p, _ in rim], dtype=float), np.array([b for _, b in rim], dtype=float)
    return Domain((points,), (RimTerminal(0, (0,)), RimTerminal(0, (len(rim) - 4,))), None, (bulges,))


@pytest.mark.parametrize(
    ("gap", "radius", "peak"),
    [(0.4, 0.02, 5.13), (0.4, 0.1, 3.03), (0.6, 0.05, 3.67), (0.6, 0.2, 2.33), (1.0, 0.02, 4.87), (1.0, 0.3, 1.97)],
)
def test_the_peak_at_a_fillet(gap: float, radius: float, peak: float, checked) -> None:
    found = crowding(hairpin(gap, radius), 1.0)
    assert found.ratio == pytest.approx(peak, rel=0.005)
    assert found.cause == "fillet" and found.exponent == pytest.approx(1 / 3)
    assert min(np.hypot(found.place[0] - x, found.place[1] - 3.0) for x in (1, 1 + gap)) < radius
    checked(EARLIER, "peak over mean current density at a fillet", peak, found.ratio)


@pytest.mark.parametrize(("gap", "constant"), [(0.4, 1.40), (0.6, 1.35), (1.0, 1.32)])
def test_a_sharp_corner_is_unbounded_and_its_law_tells_the_fillet(gap: float, constant: float, checked) -> None:
    found = crowding(hairpin(gap), 1.0)
    assert found.ratio == inf and found.cause == "sharp corner"
    assert found.place[1] == pytest.approx(3.0) and min(abs(found.place[0] - x) for x in (1, 1 + gap)) < 1e-9
    assert found.constant == pytest.approx(constant, rel=0.01)
    radius = found.fillet(3.0)
    assert crowding(hairpin(gap, radius), 1.0).ratio == pytest.approx(3.0, rel=0.03)
    checked(
        "R. S. Lehman, J. Math. Mech. 8 (1959) (from memory)",
        "exponent at a corner of 270 degrees",
        1 / 3,
        found.exponent,
    )


@pytest.mark.parametrize(("gap", "peak"), [(0.2, 3.69), (0.6, 2.23), (2.0, 1.44)])
def test_round_hairpins(gap: float, peak: float, checked) -> None:
    points = np.array([(0, 0), (1, 0), (1, 3), (1 + gap, 3), (1 + gap, 0), (2 + gap, 0), (2 + gap, 3), (0, 3)])
    bulges = np.array([0, 0, -1.0, 0, 0, 0, 1.0, 0])
    found = crowding(Domain((points,), (RimTerminal(0, (0,)), RimTerminal(0, (4,))), None, (bulges,)), 1.0)
    assert found.ratio == pytest.approx(peak, rel=0.006)
    checked(EARLIER, "peak over mean current density in a round hairpin", peak, found.ratio)


def test_a_straight_strip_has_no_crowding_and_no_fillet_for_it() -> None:
    strip = Domain((np.array([(0, 0), (5, 0), (5, 2), (0, 2.0)]),), (RimTerminal(0, (3,)), RimTerminal(0, (1,))))
    found = crowding(strip)
    assert found.ratio == pytest.approx(1.0, rel=1e-9) and found.width == pytest.approx(2.0)
    with pytest.raises(GeometryError, match="no fillet"):
        found.fillet(2.0)
