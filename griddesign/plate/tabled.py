"""Squares of filleted return bends and of eyes without a solver: series fitted to two-dimensional solutions.

Lengths are in strip widths. The series are products of Chebyshev polynomials, in whole 1e-7. The script
``tests/make_cell_tables.py`` makes them; the tests solve other bends and eyes anew. The current in an eye's neck is
even, so what an eye adds grows with its reach by just that, and its table needs only hole, web and fillet.
"""

from collections.abc import Sequence
from functools import lru_cache
from math import log

from griddesign.plate.hairpin import hairpin_squares

HOLES, WEBS, FILLETS = (0.3, 5.0), (0.45, 2.5), (0.0, 1.0)
"""Range of an eye's hole, its web and its fillets, strip widths, in which it is tabled."""
GAPS = (0.1, 4.0)
"""Range of the gap, strip widths, in which square bends with fillets are tabled, whatever the fillet."""
CELL_DOUBT = 1.5e-4
"""Squares by which a tabled bend or eye may be off: the widest bracket it was fitted to, and the worst miss of the
series, 1.4e-5. Likely it is a few 1e-6."""

Place = tuple[float, ...]
Terms = tuple[tuple[int, ...], ...]

_UNIT = 1e-7
_BEND: Terms = (
    (12052486, 208699, 34997, 5055, 627, 744), (-2849392, -228616, -40279, -5201, 172, -612),
    (1183530, 42185, -60, 957, -645, 259), (-163043, 11934, 1671, -1486, 490, -121), (-37996, 3823, -369, 488, -182),
    (796, -3025, 169, -12, 37), (4679, -1290, -74, 76), (2262, -305, -167), (-1294, 461, 14),
)  # fmt: skip
_EYE_WEBS = 8  # rows for each term of the hole
_EYE: Terms = (
    (-15136190, -715708, -154003, 13507, 115, -380, 129, -40), (-7081138, -383647, -82739, 6610, 73, -128, 31, -8),
    (-1981331, -18616, -6556, -986, 113, 51, -24, 6), (-298493, 5863, 950, -234, 4, 1, 1),
    (-29362, -172, 43, 42, -6, -2), (-2766, 45, 13, -2, -1), (-216, -3, -1, 1), (-5, -5),
    (-12424079, -321768, -73243, 3671, 176, -38, -1, 1), (-169467, 127724, 25291, -3481, 68, 96, -38, 13),
    (36675, 24494, 4792, -477, -11, -9, 12, -4), (-11298, -8325, -1036, 437, -45, -8, 3), (89, 87, -77, -41, 15, 1),
    (403, 159, 2, -13, 1), (-65, -4, 11, 2), (-1, -3, -2), (-3493476, -60672, -15363, -141, 84, 27, -16, 6),
    (7218, 20370, 4753, -87, -31, -14, 10, -4), (828, 750, 281, 5, -13, 3, 1), (3173, 923, 180, -22, 4, -1),
    (-1079, -426, -90, 14, 1), (0, 35, 10, -2), (35, 9, -2), (-7,), (-795471, 2158, -264, -390, 20, 10, -4, 1),
    (-9596, -5380, -696, 311, -22, -7, 4), (-1366, 610, 94, -32, 3, 2), (999, 136, 13, -6, 1), (393, 40, 14, 1),
    (-133, -27, -9), (-2, 5), (4,), (-134909, 2755, 545, -66, -5, 0, 1), (-153, -1926, -371, 43, 3),
    (-1445, 23, -4, 1), (-418, 28, 9, -1), (155, 5, 1), (61, 1), (-16,), (), (-19122, 226, 90, 15, -5),
    (1213, 136, -13, -20, 3), (273, -118, -16, 5), (-228, 13, 2), (-88, 1), (23,), (), (), (-2340, -85, -9, 6, -1),
    (-66, 121, 17, -4), (210, -13), (88, -7), (-35,), (), (), (), (-235, -15, -4), (-82, 3, 1), (-51, 8), (38,), (),
    (), (), (), (-20, 1, 1), (8, -5), (-20,), (), (), (), (), (),
)  # fmt: skip


def eye_is_tabled(hole: float, web: float, fillet: float) -> bool:
    """Whether an eye of this hole, web and fillet, strip widths, is in the table."""
    pairs = zip((hole, web, fillet), (HOLES, WEBS, FILLETS), strict=True)
    return all(low <= value <= high for value, (low, high) in pairs)


@lru_cache(maxsize=512)
def tabled_eye(hole: float, web: float, fillet: float) -> float:
    """Squares of an eye that sits straight on its strip, less its reach, from the edge of the plate to the rim of the
    hole. Lengths in strip widths, within the table; see ``eye_is_tabled``."""
    at = (_place(hole, HOLES), _place(web, WEBS), 2 * (fillet / FILLETS[1]) ** (2 / 3) - 1)
    rows = [_sum(row, at[2]) for row in _EYE]
    of_hole = [_sum(rows[n : n + _EYE_WEBS], at[1]) for n in range(0, len(rows), _EYE_WEBS)]
    return _UNIT * _sum(of_hole, at[0])


def bend_is_tabled(gap: float) -> bool:
    """Whether square bends of this gap, strip widths, and as deep as the strip is wide are in the table."""
    return GAPS[0] <= gap <= GAPS[1]


@lru_cache(maxsize=512)
def tabled_bend(gap: float, fillet: float) -> float:
    """Squares of a square return bend with filleted inner corners, as deep as the strip is wide: those of the sharp
    bend, less ``fillet^(4/3)``, as a corner's field has it, times the series. Lengths in strip widths."""
    along = 4 * fillet / gap - 1
    series = _sum([_sum(row, along) for row in _BEND], _place(gap, GAPS))
    return hairpin_squares(gap) - float(fillet ** (4 / 3)) * _UNIT * series


def eye_at(place: Place) -> Place:
    """Hole, web and fillet at a place of the table, each from -1 to 1."""
    hole, web, fillet = place
    return _value(hole, HOLES), _value(web, WEBS), FILLETS[1] * ((fillet + 1) / 2) ** 1.5


def bend_at(place: Place) -> Place:
    """Gap, and fillet over half the gap, at a place of the table."""
    gap, share = place
    return _value(gap, GAPS), (share + 1) / 2


def _value(place: float, limits: tuple[float, float]) -> float:
    """Evenly by logarithm."""
    low, high = limits
    return float(low * (high / low) ** ((place + 1) / 2))


def _place(value: float, limits: tuple[float, float]) -> float:
    low, high = limits
    return 2 * log(value / low) / log(high / low) - 1


def _sum(terms: Sequence[float], at: float) -> float:
    """A Chebyshev series, by Clenshaw's recurrence."""
    last, before = 0.0, 0.0
    for term in reversed(terms[1:]):
        last, before = term + 2 * at * last - before, last
    return terms[0] + at * last - before if terms else 0.0
