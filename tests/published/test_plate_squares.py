"""Squares of bends, corners and plates against exact results and a certified two-dimensional solution.

* Square corner: a corner square of even arms counts 1 - 2 ln 2/pi = 0.558729 squares, the exact conformal result that
  thin-film design rounds to 0.56 (P. M. Hall, "Resistance calculations for thin film patterns", Thin Solid Films 1
  (1967), p. 277; from memory).
* Square hairpin: derived, Schwarz-Christoffel; the table below was made once from the integrals and checked by finite
  elements.
* Round hairpin: finite elements, to about 1e-5 of a square; annulus sector between radial faces: angle / ln(ro/ri),
  exact.
* Strip of about 8 1/2 ft, 22 plates, three boxes: common practice, no source.
"""

from math import log, pi

import mpmath
import pytest
from scipy.special import elliprf, elliprj

from griddesign.errors import GeometryError
from griddesign.metals import metal
from griddesign.plate import cells
from griddesign.plate.bends import plate_squares, strip_m
from griddesign.plate.cells import bend_squares
from griddesign.plate.field import squares_of_outline
from griddesign.plate.hairpin import CORNER_SQUARES, complete_elliptic, hairpin_squares, round_hairpin_squares
from griddesign.plate.ohms import plate_figures
from griddesign.plate.order import folded
from griddesign.plate.shapes import Eye, Zigzag, usual_eye
from griddesign.plate.zigzag import outline_of

HALL = "P. M. Hall, Thin Solid Films 1 (1967) 277 (from memory), exact: 1 - 2 ln 2/pi"
TABLED = "Schwarz-Christoffel table made once from the integrals"
ELEMENTS = "Finite elements, separate computation, to about 1e-5"

INCH = 0.0254
SQUARE_HAIRPIN = {0.2: 1.248677, 0.4: 1.483694, 0.5: 1.593331, 0.8: 1.908366, 1.0: 2.112652}
ROUND_HAIRPIN = {0.2: 1.4439, 0.4: 1.8324, 0.6: 2.1966, 0.8: 2.5477, 1.0: 2.8906, 2.0: 4.5449}
ANNULUS_IS_LOW_BY = {0.2: 0.134, 0.4: 0.079, 0.6: 0.054, 0.8: 0.040, 1.0: 0.031, 2.0: 0.0125}


def bend_plate(gap: float, **change: object) -> Zigzag:
    """Two long passes of unit strip with the bend between them."""
    return Zigzag(40.0, 2, 1.0, gap, 1.0, Eye(1.0, 0.5, 1.0), "one edge", **change)  # type: ignore[arg-type]


@pytest.mark.parametrize(("gap", "expected"), SQUARE_HAIRPIN.items())
def test_square_hairpin(gap: float, expected: float, checked) -> None:
    assert hairpin_squares(gap) == pytest.approx(expected, abs=5e-7)
    checked(TABLED, "squares of a square return bend", expected, hairpin_squares(gap))


def test_wide_gap_leaves_two_corner_squares(checked) -> None:
    """Counted between the inner corners a wide bend is plain bar; each corner square counts 0.558729."""
    assert pytest.approx(0.558729, abs=5e-7) == CORNER_SQUARES
    assert hairpin_squares(6.0) - 6.0 == pytest.approx(2 * CORNER_SQUARES, abs=1e-7)
    assert hairpin_squares(30.0) - 30.0 == pytest.approx(2 * CORNER_SQUARES, abs=1e-10)
    assert hairpin_squares(30.0, 2.0) - hairpin_squares(20.0, 2.0) == pytest.approx(5.0, abs=1e-10)
    checked(HALL, "squares of a corner", 0.558729, CORNER_SQUARES)


@pytest.mark.parametrize("depth", [0.1, 0.3, 1.0, 3.0, 10.0])
def test_every_bend_in_the_stated_range_is_mapped(depth: float) -> None:
    """From very narrow to very wide gaps; the squares only grow with the gap."""
    found = [hairpin_squares(gap, depth) for gap in (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 50.0)]
    assert found == sorted(found)
    for gap in (0.0099, 51.0, float("nan")):
        with pytest.raises(GeometryError):
            hairpin_squares(gap, depth)


@pytest.mark.parametrize(("c", "d"), [(0.8, 1.2), (0.5, 1.05), (0.3, 3.0)])
def test_hairpin_against_plain_quadrature(c: float, d: float, checked) -> None:
    """From the corners' places on the axis (c, d) leg, gap, bar and squares by plain quadrature of the mapping."""
    with mpmath.workdps(30):
        c, d = mpmath.mpf(c), mpmath.mpf(d)
        k = mpmath.sqrt((1 - c**2) / (d**2 - 1)) / 2
        scale = 1 / (mpmath.pi * k)
        gap = 2 * scale * mpmath.quad(lambda x: mpmath.sqrt((c**2 - x**2) / (d**2 - x**2)) / (1 - x**2), [0, c])
        depth = scale * mpmath.quad(
            lambda y: mpmath.sqrt((y**2 + c**2) / (y**2 + d**2)) / (1 + y**2), [0, 1, 10, mpmath.inf]
        )
        leg = mpmath.quad(
            lambda x: mpmath.sqrt((x**2 - c**2) / (d**2 - x**2)) / (1 - x**2) - k / (1 - x),
            [c, (1 + c) / 2, 1 - mpmath.mpf(10) ** -14],
        )
        squares_ = 2 / mpmath.pi * (mpmath.log(2) - mpmath.log(1 - c)) - 2 * scale * leg
        assert hairpin_squares(float(gap), float(depth)) == pytest.approx(float(squares_), abs=1e-10)
    checked(
        "mpmath, quadrature of the mapping, 30 digits",
        "squares of a return bend",
        float(squares_),
        hairpin_squares(float(gap), float(depth)),
    )


@pytest.mark.parametrize(("kc", "p"), [(0.3, 0.5), (0.9, 2.0), (1e-3, 1e-4), (1e-6, 0.7)])
def test_elliptic_integral_against_carlson(kc: float, p: float, checked) -> None:
    """B. C. Carlson's symmetric forms (NIST Digital Library of Mathematical Functions, 19.25), as scipy has them."""
    carlson = elliprf(0, kc**2, 1) + (1 - p) / 3 * elliprj(0, kc**2, 1, p)
    assert complete_elliptic(kc, p, 1.0, 1.0) == pytest.approx(carlson, rel=1e-13)
    carlson_dlmf = "B. C. Carlson's forms, NIST DLMF 19.25, as scipy has them"
    checked(carlson_dlmf, "complete elliptic integral", carlson, complete_elliptic(kc, p, 1.0, 1.0))


@pytest.mark.parametrize("gap", ROUND_HAIRPIN)
def test_round_hairpin(gap: float, checked) -> None:
    """The bare annulus is too low: where it meets the legs the current is not yet even."""
    found = bend_squares(bend_plate(gap, bend="round"), 0)
    assert found.low - 5e-5 <= ROUND_HAIRPIN[gap] <= found.high + 5e-5
    assert found.value == pytest.approx(ROUND_HAIRPIN[gap], abs=1.5e-3)
    annulus = pi / log((1 + gap / 2) / (gap / 2))
    assert found.value - annulus == pytest.approx(ANNULUS_IS_LOW_BY[gap], abs=1.5e-3)
    assert found.low > annulus
    checked(ELEMENTS, "squares of a round return bend, solved", ROUND_HAIRPIN[gap], found.value)


@pytest.mark.parametrize("gap", ROUND_HAIRPIN)
def test_round_hairpin_as_tabled(gap: float, checked) -> None:
    assert round_hairpin_squares(gap) == pytest.approx(ROUND_HAIRPIN[gap], abs=6e-5)
    checked(ELEMENTS, "squares of a round return bend, fitted", ROUND_HAIRPIN[gap], round_hairpin_squares(gap))


@pytest.mark.parametrize("gap", [0.021, 0.06, 0.25, 0.9, 3.3, 5.9])
def test_round_table_is_what_the_solver_gives(gap: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """The fitted series solved anew, away from the places it was fitted to."""
    monkeypatch.setattr(cells, "_BEND_BRACKET", 2e-5)
    monkeypatch.setattr(cells, "_solved_bend", cells._solved_bend.__wrapped__)
    found = bend_squares(bend_plate(gap, bend="round"), 0)
    assert found.low <= round_hairpin_squares(gap) <= found.high
    assert round_hairpin_squares(gap) == pytest.approx(found.value, abs=3e-5)


def test_round_gaps_outside_the_table() -> None:
    """Not tabled, so solved: the ring and about 0.002 of a square for the legs."""
    with pytest.raises(GeometryError, match=r"6\.1 "):
        round_hairpin_squares(6.1)
    ring = pi / log(1 + 2 / 6.1)
    wide = bend_plate(6.1, bend="round")
    assert bend_squares(wide, 0).value == pytest.approx(ring + 0.0021, abs=3e-3)
    assert plate_squares(wide).high > 2 * (40 - 8.1) + 6.1 > ring


@pytest.mark.parametrize(("fillet", "expected"), [(0.1, 1.650), (0.2, 1.572)])
def test_fillets_shorten_the_way(fillet: float, expected: float, checked) -> None:
    """Gap 0.6 w: 1.700 squares sharp (finite elements, three decimals)."""
    assert hairpin_squares(0.6) == pytest.approx(1.700, abs=5e-4)
    found = bend_squares(bend_plate(0.6, fillet_m=fillet), 0)
    assert found.value == pytest.approx(expected, abs=1e-3)
    assert found.high < hairpin_squares(0.6)
    checked(ELEMENTS, "squares of a return bend with fillets", expected, found.value)


def test_sharp_bend_solved_in_two_dimensions_agrees_with_the_map() -> None:
    found = bend_squares(bend_plate(0.8), 0)
    assert found.low <= hairpin_squares(0.8) <= found.high
    assert found.value == pytest.approx(hairpin_squares(0.8), abs=5e-4)


@pytest.mark.parametrize(
    "shape",
    [
        Zigzag(0.07, 5, 0.008, 0.0072, 0.005, usual_eye(0.008, 0.005), "opposite edges"),
        Zigzag(0.07, 4, 0.008, 0.006, 0.005, Eye(0.02, 0.012, 0.016, 0.002, 0.002), "one edge", "square", 0.011, 0.002),
        Zigzag(
            0.09, 5, 0.008, 0.006, 0.005, Eye(0.02, 0.012, 0.018, -0.001), "opposite edges", "round", support_eyes=1
        ),
        Zigzag(0.08, 4, 0.008, 0.0072, 0.005, Eye(0.022, 0.012, 0.018, 0, 0.002), "one edge", support_eyes=1),
    ],
    ids=["sharp", "deep bar, fillets, offset eyes", "round, support eye", "square, support eye"],
)
def test_sum_of_parts_against_the_whole_plate(shape: Zigzag) -> None:
    """Straights + bends + eyes lie in the bracket of one solution of the whole outline, within 2e-4 of its middle."""
    whole = squares_of_outline(outline_of(shape), None, 1e-3)
    parts = plate_squares(shape)
    assert parts.low <= whole.high
    assert whole.low <= parts.high
    assert parts.value == pytest.approx(whole.value, rel=2e-4)


def test_tramway_plate() -> None:
    """Grey iron, 250 mm high, 13 passes of 8 x 5 mm strip, gaps of 7.2 mm: about 0.069 ohm; the metal's spread is far
    the wider of the two."""
    shape = Zigzag(0.25, 13, 0.008, 0.0072, 0.005, usual_eye(0.008, 0.005), "opposite edges")
    figures = plate_figures(shape, metal("grey_iron_class30"), "cast")
    assert figures.cold_ohm == pytest.approx(0.0695, abs=0.0005)
    assert figures.low_ohm < figures.cold_ohm < figures.high_ohm
    assert (figures.high_ohm - figures.low_ohm) * 1000 < figures.metal_high_ohm - figures.metal_low_ohm


def test_hand_formula_is_too_high() -> None:
    """Counting the centre line, length / width, gives 1.9 to 5.3 % too many squares for usual square plates."""
    shape = Zigzag(0.241, 12, 0.010, 0.006, 0.005, Eye(0.02, 0.012, 0.016), "one edge")
    assert 1.01 < strip_m(shape) / shape.strip_width_m / plate_squares(shape).value < 1.06


def test_a_strip_of_8_and_a_half_feet() -> None:
    """It folds into a plate 9 1/2 x 7 1/2 in: 7 1/2 in high, 13 passes of 3/8 in strip, 3/8 in apart."""
    (fold,) = folded(7.5 * INCH, 9.5 * INCH, 8.5 * 12 * INCH)
    assert (fold.passes, fold.eyes) == (13, "opposite edges")
    assert fold.strip_width_m == pytest.approx(3 / 8 * INCH, rel=0.03)
    assert fold.pass_gap_m == pytest.approx(3 / 8 * INCH, rel=0.03)
    shape = Zigzag(
        7.5 * INCH,
        13,
        fold.strip_width_m,
        fold.pass_gap_m,
        INCH / 4,
        usual_eye(fold.strip_width_m, INCH / 4),
        fold.eyes,
    )
    assert shape.width_m == pytest.approx(9.5 * INCH, rel=1e-12)
    assert strip_m(shape) - 2 * shape.eye.reach_m == pytest.approx(8.5 * 12 * INCH, rel=1e-12)
    assert plate_squares(shape).value > 200


def test_a_box_of_22_such_plates() -> None:
    """ "About 180 ft" a box and "about 540 ft" for three are round figures, some 4 % under 22 x 8 1/2 ft."""
    box_ft = 22 * 8.5
    assert box_ft == 187
    assert 180 / box_ft == pytest.approx(0.96, abs=0.005)
    assert 540 / (3 * box_ft) == pytest.approx(0.96, abs=0.005)
