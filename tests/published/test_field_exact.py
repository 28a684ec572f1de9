"""The two-dimensional conduction solve against exact conformal results. Every bracket must enclose the exact value.

- Square corner: P. M. Hall, Resistance calculations for thin film patterns, Thin Solid Films 1 (1968), 277-295: the
  corner square counts 1 - 2 ln 2/pi = 0.5587 (re-derived by Schwarz-Christoffel; the paper itself from memory).
- Annulus sector and ring: the logarithmic potential.
- Square hairpin: Schwarz-Christoffel integral, worked out here by mpmath.
- L. J. van der Pauw, A method of measuring specific resistivity and Hall effect of discs of arbitrary shape, Philips
  Research Reports 13 (1958), 1-9, equation 1: exp(-pi R1) + exp(-pi R2) = 1 in squares (from memory).
- Four-terminal reciprocity: L. J. van der Pauw, as above, section 2, after the reciprocity theorem.
"""

from math import log, pi, tan

import mpmath
import numpy as np
import pytest

from griddesign.plate.field import Bracket, Domain, RimTerminal, solved, squares, transfer_squares

HALL = "P. M. Hall, Thin Solid Films 1 (1968) 277 (from memory), exact: 1 - 2 ln 2/pi"
VAN_DER_PAUW = "L. J. van der Pauw, Philips Research Reports 13 (1958) 1, eq. 1 (from memory)"

QUARTER = tan(pi / 8)


def ends(points: list[tuple[float, float]], first: int, second: int, bulges: list[float] | None = None) -> Domain:
    """A single ring with two of its edges as terminals."""
    arcs = None if bulges is None else (np.array(bulges),)
    return Domain((np.array(points, dtype=float),), (RimTerminal(0, (first,)), RimTerminal(0, (second,))), None, arcs)


def corner(arm: float) -> Domain:
    """Two arms of unit width at right angles, each ``arm`` long from the inner corner."""
    far = 1 + arm
    return ends([(0, 0), (far, 0), (far, 1), (1, 1), (1, far), (0, far)], 1, 4)


def hairpin(gap: float, leg: float = 6.0) -> Domain:
    """A square return bend of unit width and bar depth, its legs ``leg`` long from the inner corners."""
    top, outer = leg + 1, 2 + gap
    return ends([(0, 0), (1, 0), (1, leg), (1 + gap, leg), (1 + gap, 0), (outer, 0), (outer, top), (0, top)], 0, 4)


def assert_encloses(bracket: Bracket, exact: float, tolerance: float) -> None:
    assert bracket.low <= exact * (1 + 1e-12) and exact <= bracket.high * (1 + 1e-12)
    assert bracket.high - bracket.low <= tolerance * bracket.value * (1 + 1e-9)
    assert bracket.value == pytest.approx(exact, rel=min(1e-4, tolerance))


def test_a_straight_strip_is_its_length_over_its_width() -> None:
    bracket = squares(ends([(0, 0), (7, 0), (7, 2), (0, 2)], 1, 3))
    assert bracket.value == pytest.approx(3.5, rel=1e-12)
    assert bracket.width < 1e-12


@pytest.mark.parametrize("tolerance", [1e-3, 1e-4, 1e-5])
def test_a_square_corner_counts_1_less_2_ln2_over_pi(tolerance: float, checked) -> None:
    assert_encloses(squares(corner(6.0), tolerance), 12 + 1 - 2 * log(2) / pi, tolerance)
    found = squares(corner(6.0), tolerance).value - 12
    checked(HALL, "squares of a corner, solved in two dimensions", 1 - 2 * log(2) / pi, found)


@pytest.mark.parametrize("radius", [1.3, 3.0, 20.0])
def test_a_quarter_annulus_is_its_angle_over_the_log_of_the_radii(radius: float, checked) -> None:
    quarter = ends([(1, 0), (radius, 0), (0, radius), (0, 1)], 0, 2, [0, QUARTER, 0, -QUARTER])
    assert_encloses(squares(quarter, 3e-4), pi / 2 / log(radius), 3e-4)
    exact = pi / 2 / log(radius)
    checked("Logarithmic potential, exact", "squares of a quarter annulus", exact, squares(quarter, 3e-4).value)


def test_a_ring_between_its_rims_has_round_terminals_bracketed_too() -> None:
    full = np.ones(2)
    rings = (np.array([(4.0, 0.0), (-4.0, 0.0)]), np.array([(1.0, 0.0), (-1.0, 0.0)]))
    for first, second in ((0, 1), (1, 0)):
        domain = Domain(rings, (RimTerminal(first), RimTerminal(second)), None, (full, full))
        assert_encloses(squares(domain, 1e-3), log(4) / (2 * pi), 1e-3)


def hairpin_exact(gap: float) -> float:
    """Squares of the bend counted from the inner corners: z' = A sqrt(s^2 - c^2)/[sqrt(s^2 - d^2)(1 - s^2)]."""

    def sizes(c: mpmath.mpf, d: mpmath.mpf) -> tuple[mpmath.mpf, ...]:
        k = mpmath.sqrt((1 - c**2) / (d**2 - 1)) / 2
        across = mpmath.quad(lambda x: mpmath.sqrt(c**2 - x**2) / mpmath.sqrt(d**2 - x**2) / (1 - x**2), [0, c])
        bar = mpmath.quad(
            lambda y: mpmath.sqrt(y**2 + c**2) / mpmath.sqrt(y**2 + d**2) / (1 + y**2), [0, 1, 10, mpmath.inf]
        )
        return k, 2 * across / (mpmath.pi * k), bar / (mpmath.pi * k)

    def cd(p: mpmath.mpf, q: mpmath.mpf) -> tuple[mpmath.mpf, mpmath.mpf]:
        return 1 / (1 + mpmath.exp(-p)), 1 + mpmath.exp(q)

    p, q = mpmath.findroot(lambda p, q: (sizes(*cd(p, q))[1] - gap, sizes(*cd(p, q))[2] - 1), (0.0, -1.0), tol=1e-12)
    c, d = cd(p, q)
    k = sizes(c, d)[0]
    rest = mpmath.quad(
        lambda x: mpmath.sqrt(x**2 - c**2) / mpmath.sqrt(d**2 - x**2) / (1 - x**2) - k / (1 - x), [c, (1 + c) / 2, 1]
    )
    return float(2 / mpmath.pi * (mpmath.log(2) - mpmath.log(1 - c)) - 2 / (mpmath.pi * k) * rest)


@pytest.mark.parametrize(("gap", "known"), [(0.2, 1.248677), (0.5, 1.593331), (1.0, 2.112652)])
def test_a_square_hairpin_agrees_with_schwarz_and_christoffel(gap: float, known: float, checked) -> None:
    exact = hairpin_exact(gap)
    assert exact == pytest.approx(known, abs=2e-6)
    assert_encloses(squares(hairpin(gap), 1e-4), 12 + exact, 1e-4)
    found = squares(hairpin(gap), 1e-4).value - 12
    checked("Schwarz-Christoffel integral by mpmath", "squares of a square return bend, solved", exact, found)


def test_the_bracket_closes_with_the_square_of_the_triangles() -> None:
    """Quadratic functions on a graded mesh: energy gap ~ 1/N^2 even at the inner corner (linear: ~ 1/N)."""
    runs = {degree: [solved(corner(2.0), t, degree).bracket for t in (3e-3, 1e-4)] for degree in (1, 2)}
    rates = {
        degree: log(wide.width / narrow.width) / log(narrow.triangles / wide.triangles)
        for degree, (wide, narrow) in runs.items()
    }
    assert 0.8 < rates[1] < 1.3
    assert rates[2] > 1.7


def with_contacts(polygon: np.ndarray, width: float) -> tuple[np.ndarray, list[int]]:
    """Short contacts in the middle of the first four edges of a polygon."""
    points, contacts = [], []
    for index, (start, end) in enumerate(zip(polygon, np.roll(polygon, -1, axis=0), strict=True)):
        points.append(start)
        if index < 4:
            half = (end - start) / np.hypot(*(end - start)) * width / 2
            points += [(start + end) / 2 - half, (start + end) / 2 + half]
            contacts.append(len(points) - 2)
    return np.array(points), contacts


@pytest.mark.parametrize(
    "polygon",
    [
        [(0, 0), (3, 0), (4, 2), (2, 3.5), (0.5, 2)],
        [(0, 0), (2, 0.5), (5, 0), (4, 3), (1, 2)],
    ],
)
def test_van_der_pauw_and_reciprocity(polygon: list[tuple[float, float]], checked) -> None:
    points, contacts = with_contacts(np.array(polygon, dtype=float), 0.01)

    def transfer(order: tuple[int, ...]) -> float:
        terminals = tuple(RimTerminal(0, (contacts[index],)) for index in order)
        forward, backward = transfer_squares(Domain((points,), terminals))
        assert forward == pytest.approx(backward, rel=1e-9)
        return abs(forward)

    total = np.exp(-pi * transfer((0, 1, 3, 2))) + np.exp(-pi * transfer((1, 2, 0, 3)))
    assert total == pytest.approx(1.0, abs=1e-4)
    checked(VAN_DER_PAUW, "exp(-pi R1) + exp(-pi R2) of a plate of any outline", 1.0, total)
