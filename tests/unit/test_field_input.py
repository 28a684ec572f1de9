"""What the conduction solve does with outlines that are wrong, ugly or on the edge: a right answer or a refusal."""

import numpy as np
import pytest

from griddesign.errors import GeometryError, GriddesignError
from griddesign.plate.field import BracketError, DiscTerminal, Domain, RimTerminal, Slope, Thickness, field, squares
from griddesign.plate.field import bracket as bracket_module

SQUARE = np.array([(0, 0), (5, 0), (5, 1), (0, 1.0)])
ENDS = (RimTerminal(0, (3,)), RimTerminal(0, (1,)))


def refusal(domain: Domain) -> str:
    with pytest.raises(GeometryError) as caught:
        squares(domain)
    return caught.value.message


@pytest.mark.parametrize(
    ("domain", "words"),
    [
        (Domain((SQUARE,), ENDS[:1]), "two terminals, got 1"),
        (Domain((SQUARE,), (RimTerminal(0, (0,)), RimTerminal(0, (1,)))), "terminals 0 and 1 touch"),
        (Domain((SQUARE,), (RimTerminal(0, (0,)), RimTerminal(0, (0,)))), "share an edge"),
        (Domain((SQUARE,), (RimTerminal(0, (3,)), RimTerminal(0, (4,)))), "edges 0 to 3"),
        (Domain((SQUARE,), (RimTerminal(0, (3,)), RimTerminal(1))), "terminal 1"),
        (Domain((SQUARE,), (RimTerminal(0, (3,)), DiscTerminal((9.0, 0.5), 0.2))), "outside the metal"),
        (Domain((SQUARE,), (RimTerminal(0, (3,)), DiscTerminal((4.0, 0.5), 4.1))), "terminals 0 and 1 touch"),
        (Domain((SQUARE,), (RimTerminal(0, (3,)), DiscTerminal((4.0, 0.5), 0.0))), "radius 0"),
        (Domain((np.array([(0, 0), (5, 1), (5, 0), (0, 2.0)]),), ENDS), "Self-intersection"),
        (Domain((SQUARE * [1, 0],), ENDS), "encloses no area"),
        (Domain((SQUARE[:2],), (RimTerminal(0, (0,)), RimTerminal(0, (1,)))), "encloses no area"),
        (Domain((np.full((4, 2), np.nan),), ENDS), "not a list of finite points"),
        (Domain((SQUARE, SQUARE / 5 + [0.5, 0.9]), ENDS), "not one piece of metal"),
        (Domain((SQUARE, SQUARE * 2), ENDS), "no metal is left"),
        (Domain((SQUARE,), ENDS, None, (np.zeros(3),)), "not as many finite bulges"),
        (Domain((SQUARE,), ENDS, Thickness(Slope(-1, 1))), "above zero"),
    ],
)
def test_a_plate_that_cannot_be_is_refused_in_words(domain: Domain, words: str) -> None:
    assert words in refusal(domain)


def test_a_hole_that_touches_the_rim_is_refused_with_its_place() -> None:
    hole = np.array([(2, 0), (2.5, 0.4), (1.5, 0.4)])
    assert "rings 0 and 1 touch at (2, 0)" in refusal(Domain((SQUARE, hole), ENDS))


def test_double_points_and_spikes_are_dropped() -> None:
    ugly = np.array([(0, 0), (2, 0), (2, 0), (2, -3), (2, 0), (5, 0), (5, 1), (3, 1), (3, 1 + 1e-9), (0, 1.0)])
    found = squares(Domain((ugly,), (RimTerminal(0, (9,)), RimTerminal(0, (5,)))))
    assert found.value == pytest.approx(5, rel=1e-8)


def test_a_clearance_of_a_hundredth_millimetre_is_solved() -> None:
    """Two legs 25 mm wide, 0.01 mm apart: the gap changes next to nothing against a gap of 0.1 mm."""

    def slotted(clearance: float) -> Domain:
        left, right = 25 - clearance / 2, 25 + clearance / 2
        ring = [(0, 0), (50, 0), (50, 50), (right, 50), (right, 10), (left, 10), (left, 50), (0, 50)]
        return Domain((np.array(ring, dtype=float),), (RimTerminal(0, (6,)), RimTerminal(0, (2,))))

    narrow, wide = squares(slotted(0.01)), squares(slotted(0.1))
    assert narrow.width <= 1e-3
    assert narrow.low < wide.high and wide.value == pytest.approx(narrow.value, rel=5e-3)


def test_a_thin_ring_is_chorded_finely_enough_not_to_cross_itself() -> None:
    """Radii 100 and 99: chords of the outer rim may not cut the inner one; exact half ring pi/ln(100/99)."""
    ring = np.array([(99, 0), (100, 0), (-100, 0), (-99, 0.0)])
    bulges = np.array([0, 1, 0, -1.0])
    found = squares(Domain((ring,), (RimTerminal(0, (0,)), RimTerminal(0, (2,))), None, (bulges,)))
    exact = np.pi / np.log(100 / 99)
    assert found.low <= exact <= found.high


def test_a_washer_face_takes_squares_away_from_a_bolt_hole() -> None:
    plate = np.array([(0, 0), (10, 0), (10, 3), (0, 3.0)])
    holes = [np.array([(x - 0.5, 1.5), (x + 0.5, 1.5)]) for x in (2, 8)]
    arcs = (np.zeros(4), np.ones(2), np.ones(2))
    rims = squares(Domain((plate, *holes), (RimTerminal(1), RimTerminal(2)), None, arcs))
    faces = tuple(DiscTerminal((x, 1.5), 1.0) for x in (2, 8))
    washers = squares(Domain((plate, *holes), faces, None, arcs))
    without_holes = squares(Domain((plate,), faces))
    assert washers.high < rims.low
    assert washers.value == pytest.approx(without_holes.value, rel=1e-9)


def test_bounds_that_cross_are_never_handed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    real = bracket_module.solve_both

    def crossed(*args: object) -> object:
        both = real(*args)  # type: ignore[arg-type]
        return type(both)(both.high * 1.1, both.low, both.potential, both.stream, both.gap, both.bend)

    monkeypatch.setattr(bracket_module, "solve_both", crossed)
    with pytest.raises(BracketError, match="lies above the upper bound") as caught:
        squares(Domain((SQUARE,), ENDS))
    assert isinstance(caught.value, GriddesignError)


@pytest.mark.parametrize("tolerance", [0.0, -1.0, float("nan")])
def test_a_bracket_of_nothing_is_refused(tolerance: float) -> None:
    with pytest.raises(GeometryError, match="cannot be reached"):
        squares(Domain((SQUARE,), ENDS), tolerance)


def test_the_field_runs_from_terminal_to_terminal() -> None:
    solved = field(Domain((SQUARE,), ENDS))
    assert np.allclose(solved.potential, solved.xy[:, 0] / 5)
    corner = solved.xy[solved.triangles]
    assert 0.5 * np.linalg.det(corner[:, 1:] - corner[:, :1]).sum() == pytest.approx(5)
