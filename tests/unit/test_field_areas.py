"""Terminals that are areas: clamps over a strip end and washers that reach over the rim or over holes."""

from itertools import pairwise
from math import asin, log, pi, sqrt, tan

import numpy as np
import pytest

from griddesign.errors import GeometryError
from griddesign.plate.field import (
    ClampTerminal,
    DiscTerminal,
    Domain,
    RimTerminal,
    Terminal,
    crowding,
    squares,
    squares_of_outline,
)
from griddesign.plate.field.rim import cleaned_rings
from griddesign.plate.outline import Circle, Line, Loop, Outline

STRIP = np.array([(0, 0), (7, 0), (7, 2), (0, 2.0)])
LEFT = RimTerminal(0, (3,))
EYE, HOLE, NECK = 8.0, 6.5, 10.0
COMB = np.array([(0, 0), (10, 0), (10, 5), (9, 5), (9, 1), (6, 1), (6, 5), (4, 5), (4, 1), (1, 1), (1, 5), (0, 5.0)])


def box(left: float, low: float, right: float, high: float) -> ClampTerminal:
    return ClampTerminal(((left, low), (right, low), (right, high), (left, high)))


def eye_on_a_strip(terminal: Terminal, length: float = 60.0) -> Domain:
    """A strip 10 wide with a round eye of radius 8 and hole of 6.5 at its lower end; its upper end is a terminal."""
    drop = sqrt(EYE**2 - (NECK / 2) ** 2)
    half = tan((2 * pi - 2 * asin(NECK / 2 / EYE)) / 8)
    rim = np.array([(0, drop), (NECK / 2, -EYE), (NECK, drop), (NECK, drop + length), (0, drop + length)])
    rim[:3, 0] = 0, NECK / 2, NECK
    hole = np.array([(NECK / 2 - HOLE, 0.0), (NECK / 2 + HOLE, 0.0)])
    bulges = (np.array([half, half, 0, 0, 0.0]), np.ones(2))
    return Domain((rim, hole), (terminal, RimTerminal(0, (3,))), None, bulges)


def washer(radius: float) -> DiscTerminal:
    return DiscTerminal((NECK / 2, 0.0), radius)


@pytest.mark.parametrize("clamp", [box(5, -1, 9, 3), box(5, 0, 7, 2), box(5, -1, 7, 2), box(5, 0, 9, 2)])
def test_a_clamp_over_a_strip_end_leaves_the_shorter_strip_exactly(clamp: ClampTerminal) -> None:
    found = squares(Domain((STRIP,), (LEFT, clamp)))
    assert found.value == pytest.approx(2.5, rel=1e-12) and found.width < 1e-12


def test_metal_beyond_a_clamp_carries_no_current() -> None:
    assert squares(Domain((STRIP,), (LEFT, box(4, -1, 5, 3)))).value == pytest.approx(2.0, rel=1e-12)
    assert squares(Domain((STRIP,), (box(1, -1, 2, 3), box(5, -1, 6, 3)))).value == pytest.approx(1.5, rel=1e-12)


def test_a_washer_larger_than_the_eye_leaves_the_neck_alone() -> None:
    """The ring under the washer is gone: the same as a strip whose end is hollowed out by the washer's arc."""
    radius = 9.0
    level = sqrt(radius**2 - (NECK / 2) ** 2)
    bulge = -tan(asin(NECK / 2 / radius) / 2)
    top = sqrt(EYE**2 - (NECK / 2) ** 2) + 60.0
    neck = np.array([(0, level), (NECK, level), (NECK, top), (0, top)])
    alone = Domain((neck,), (RimTerminal(0, (0,)), RimTerminal(0, (2,))), None, (np.array([bulge, 0, 0, 0]),))
    found, expected = squares(eye_on_a_strip(washer(radius)), 1e-5), squares(alone, 1e-5)
    assert found.value == pytest.approx(expected.value, rel=1e-6)
    (ring,) = cleaned_rings(eye_on_a_strip(washer(radius)))
    assert np.arctan(ring.bulges).sum() == pytest.approx(np.arctan(bulge), rel=1e-12)  # a true arc still
    assert np.hypot(*(ring.points[ring.terminal == 0] - [NECK / 2, 0]).T) == pytest.approx(radius, rel=1e-12)


def test_enlarging_the_area_never_raises_the_ohms() -> None:
    radii = (6.6, 7.0, 7.9, 8 - 1e-6, 8.0, 8 + 1e-6, 8.1, 9.0, 12.0, 30.0)
    found = [squares(eye_on_a_strip(washer(radius)), 3e-4) for radius in radii]
    assert all(after.low <= before.high for before, after in pairwise(found))
    assert found[3].value == found[4].value == found[5].value  # as large as the eye but for round-off
    assert found[0].value < squares(eye_on_a_strip(RimTerminal(1))).high


def test_the_bracket_of_a_washer_over_rim_and_hole_encloses_the_exact_ring() -> None:
    """A half ring from 1 to 4 under a washer of radius 2 about its centre: pi half rings, ln(4/2)/pi squares."""
    half = np.array([(1, 0), (4, 0), (-4, 0), (-1, 0.0)])
    bulges = (np.array([0, 1.0, 0, -1.0]),)
    domain = Domain((half,), (DiscTerminal((0.0, 0.0), 2.0), RimTerminal(0, (1,))), None, bulges)
    found = squares(domain, 3e-4)
    assert found.low <= log(2) / pi <= found.high and found.width <= 3e-4


def test_a_clamp_that_joins_two_legs() -> None:
    """A comb whose clamp covers two of three legs has a free rim between two parts of one terminal."""
    comb = Domain((COMB,), (box(-1, 3, 7, 6), RimTerminal(0, (2,))))
    rims = [(0, 0), (10, 0), (10, 5), (9, 5), (9, 1), (6, 1), (6, 3), (4, 3), (4, 1), (1, 1), (1, 3), (0, 3)]
    alike = Domain((np.array(rims, dtype=float),), (RimTerminal(0, (6, 10)), RimTerminal(0, (2,))))
    one = Domain((COMB,), (box(-1, 3, 2, 6), RimTerminal(0, (2,))))
    found = squares(comb, 1e-4)
    assert found.value == pytest.approx(squares(alike, 1e-4).value, rel=1e-4)
    assert found.high < squares(one).low


def test_terminals_that_take_turns_round_the_rim() -> None:
    """A cross between opposite pairs of arms: two arms to a diagonal, each pair in parallel, by symmetry."""
    cross = [(1, 0), (2, 0), (2, 1), (3, 1), (3, 2), (2, 2), (2, 3), (1, 3), (1, 2), (0, 2), (0, 1), (1, 1)]
    arm = np.array([(1, 0), (2, 0), (2, 1), (1.5, 1.5), (1, 1)])
    whole = squares(Domain((np.array(cross, dtype=float),), (RimTerminal(0, (0, 6)), RimTerminal(0, (3, 9)))), 1e-4)
    quarter = squares(Domain((arm,), (RimTerminal(0, (0,)), RimTerminal(0, (2, 3)))), 1e-4)
    assert whole.low <= quarter.high and quarter.low <= whole.high


def test_the_current_crowds_at_a_clamp_no_more_than_it_should() -> None:
    assert crowding(Domain((STRIP,), (LEFT, box(5, -1, 9, 3)))).ratio == pytest.approx(1.0, rel=1e-6)


def test_an_outline_takes_clamps_in_its_own_lengths() -> None:
    corners = [(0.0, 0.0), (0.5, 0.0), (0.5, 0.1), (0.0, 0.1)]
    loop = Loop(tuple(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)))
    clamps = (box(-0.1, -0.1, 0.1, 0.2), box(0.4, -0.1, 0.6, 0.2))
    assert squares_of_outline(Outline(loop), terminals=clamps).value == pytest.approx(3.0, rel=1e-9)
    holes = Outline(loop, (Circle((0.05, 0.05), 0.02), Circle((0.45, 0.05), 0.02)), (0, 1))
    assert squares_of_outline(holes, terminals=clamps).value == pytest.approx(3.0, rel=1e-9)
    with pytest.raises(GeometryError, match="two are needed"):
        squares_of_outline(Outline(loop))


@pytest.mark.parametrize(
    ("terminals", "words"),
    [
        ((LEFT, box(8, 0, 9, 2)), "terminal 1, the clamped area from (8, 0), lies outside the metal"),
        ((LEFT, box(7, 0, 9, 2)), "lies outside the metal"),
        ((LEFT, box(-1, -1, 3, 3)), "terminals 0 and 1 touch"),
        ((box(-1, -1, 3, 3), box(3, -1, 5, 3)), "terminals 0 and 1 touch"),
        ((box(-1, -1, 3, 3), DiscTerminal((3.5, 1.0), 1.0)), "terminals 0 and 1 touch"),
        ((box(-1, -1, 8, 3), box(9, -1, 10, 3)), "lies outside the metal"),
        ((box(-1, -1, 8, 3), LEFT), "terminals 0 and 1 touch"),
        ((LEFT, ClampTerminal(((5, 0), (6, 2), (6, 0), (5, 2)))), "the clamped area of terminal 1 is not one piece"),
        ((LEFT, ClampTerminal(((5, 0), (6, 2)))), "three or more points"),
        ((LEFT, ClampTerminal(((5, 0), (6, 2), (6, float("nan"))))), "three or more points"),
        ((box(3, 0.5, 4, 1.5),), "no piece of metal joins two terminals"),
    ],
)
def test_areas_that_cannot_be_terminals_are_refused(terminals: tuple[Terminal, ...], words: str) -> None:
    with pytest.raises(GeometryError) as caught:
        squares(Domain((STRIP,), terminals))
    assert words in caught.value.message


def test_metal_in_two_parts_side_by_side_is_refused_with_what_to_do() -> None:
    frame = (np.array([(0, 0), (6, 0), (6, 4), (0, 4.0)]), np.array([(1, 1), (5, 1), (5, 3), (1, 3.0)]))
    with pytest.raises(GeometryError, match="2 parts side by side") as caught:
        squares(Domain(frame, (box(-1, -1, 1, 5), box(5, -1, 7, 5))))
    assert "conductances" in caught.value.hint
