"""Squares of plain return bends without a solver: square and sharp exactly, round from a fitted series.

Square, sharp corners: conformal mapping (Schwarz-Christoffel).

Half of the bend and of its two long legs is mapped on the upper half plane: the ends of the legs go to -1 and +1,
the inner corners to -c and +c, the outer ones to -d and +d, with ``0 < c < 1 < d`` and

    dz/ds = A sqrt(s^2 - c^2) / (sqrt(s^2 - d^2) (1 - s^2)),      k = sqrt((1 - c^2)/(d^2 - 1))/2.

Leg, gap and bar then are ``w = pi A k``, ``g = 2 A G(c, d)``, ``b = A B(c, d)``; G and B are complete elliptic
integrals of the third kind. Derived for this package; it agrees with the classical corner square, 1 - 2 ln 2/pi =
0.558729..., in the limit of a wide gap.
"""

from dataclasses import dataclass
from functools import cache, lru_cache
from math import acos, cos, exp, hypot, isfinite, log, pi, sqrt
from typing import TYPE_CHECKING

from griddesign.errors import GeometryError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

CORNER_SQUARES = 1 - 2 * log(2) / pi
"""Squares of the corner square of a right-angled corner of even width, the arms counted from its inner corner:
0.558729."""

ROUND_GAPS = (0.02, 6.0)
"""Range of gap over strip width in which round bends are tabled."""

ROUND_DOUBT = 7e-5
"""Squares by which a tabled round bend may be off: the widest bracket it was fitted to. Likely it is a few 1e-6."""

_ROUND = (
    0.1379196, -0.1826098, 0.0442361, 0.0070159, -0.0040662, -0.0007722,
    0.0003753, 0.0001123, -0.0000311, -0.0000159, 0.0000025, 0.0000026,
)  # fmt: skip
_NODES = 80
_LONG_BAR = 8.0
_STEPS = 60
_MAPPED = 1e-10
_START = (0.0, log(0.2))


@lru_cache(maxsize=1024)
def hairpin_squares(gap_per_width: float, depth_per_width: float = 1.0) -> float:
    """Squares of a square return bend with sharp corners, both legs counted up to the level of the inner corners.

    ``X = (2/pi) ln 2 - (2/pi) ln(1 - c) - (2 A/w) int_c^1 [sqrt(x^2-c^2)/(sqrt(d^2-x^2)(1-x^2)) - k/(1-x)] dx``

    ``gap_per_width``, ``depth_per_width``: gap and depth of the bar over the strip width, 0.01 to 50 and 0.1 to 10.
    Good to 1e-10. Raises GeometryError outside that range.
    """
    if not (0.01 <= gap_per_width <= 50 and 0.1 <= depth_per_width <= 10):
        raise GeometryError(
            f"a return bend with a gap of {gap_per_width:.4g} and a bar of {depth_per_width:.4g} strip widths",
            hint="A gap of 0.01 to 50 and a bar of 0.1 to 10 strip widths can be worked out.",
        )
    mapped_gap = min(gap_per_width, _LONG_BAR * depth_per_width)  # the rest of a longer bar is plain strip, to 1e-11
    here = _mapped(mapped_gap, depth_per_width)
    plain = (gap_per_width - mapped_gap) / depth_per_width
    return plain + (2 / pi) * (log(2) - log(here.inner_gap)) - 2 * here.scale * _leg_integral(here)


def round_hairpin_squares(gap_per_width: float) -> float:
    """Squares of a round return bend, half a ring of the strip's width, counted from where the straight legs end.

    ``pi / ln(1 + 2 w/g)``, the ring between radial ends, and what the legs add because the current has yet to crowd
    inward: a Chebyshev series in ln(g/w), fitted to 18 two-dimensional solutions whose brackets were 6.4e-5 or closer
    (the tests solve it anew). ``gap_per_width`` within ``ROUND_GAPS``, else raises GeometryError.
    """
    low, high = ROUND_GAPS
    if not low <= gap_per_width <= high:
        raise GeometryError(
            f"a round bend with a gap of {gap_per_width:.4g} strip widths is not in the table",
            hint=f"Tabled are {low:g} to {high:g} strip widths.",
        )
    angle = acos(max(-1.0, min(1.0, log(gap_per_width**2 / (low * high)) / log(high / low))))
    legs = sum(coefficient * cos(k * angle) for k, coefficient in enumerate(_ROUND))
    return pi / log(1 + 2 / gap_per_width) + legs


@dataclass(frozen=True, slots=True)
class _Map:
    """The mapping with w = 1, by ``inner_gap = 1 - c`` and ``outer_gap = d - 1``, which keep their digits near 1."""

    inner_gap: float
    outer_gap: float

    @property
    def c(self) -> float:
        return 1 - self.inner_gap

    @property
    def d(self) -> float:
        return 1 + self.outer_gap

    @property
    def inside(self) -> float:
        """1 - c^2."""
        return self.inner_gap * (1 + self.c)

    @property
    def outside(self) -> float:
        """d^2 - 1."""
        return self.outer_gap * (1 + self.d)

    @property
    def k(self) -> float:
        return sqrt(self.inside / self.outside) / 2

    @property
    def scale(self) -> float:
        """A, for w = 1."""
        return 1 / (pi * self.k)

    def gap(self) -> float:
        """``2 A c^2/d int_0^(pi/2) cos^2 / ((1 - c^2 sin^2) sqrt(1 - (c/d)^2 sin^2))``."""
        modulus = sqrt(self.inside + self.outside) / self.d
        return 2 * self.scale * self.c**2 / self.d * complete_elliptic(modulus, self.inside, 1.0, 0.0)

    def depth(self) -> float:
        """``A c^2/d int_0^(pi/2) 1 / ((cos^2 + c^2 sin^2) sqrt(cos^2 + (c/d)^2 sin^2))``."""
        return self.scale * self.c**2 / self.d * complete_elliptic(self.c / self.d, self.c**2, 1.0, 1.0)


def complete_elliptic(kc: float, p: float, a: float, b: float) -> float:
    """``int_0^(pi/2) (a cos^2 + b sin^2) / ((cos^2 + p sin^2) sqrt(cos^2 + kc^2 sin^2))``, kc > 0 and p > 0.

    Bartky's transformation as R. Bulirsch, "Numerical calculation of elliptic integrals and elliptic functions III",
    Numerische Mathematik 13 (1969), p. 305, arranges it (from memory; the tests check it against Carlson's forms).
    """
    e, m, root = kc, 1.0, sqrt(p)
    b /= root
    while True:
        a, b, root = a + b / root, 2 * (b + a * e / root), root + e / root
        last, m = m, m + kc
        if abs(last - kc) <= 1e-9 * last:
            return pi / 2 * (b + a * m) / (m * (m + root))
        kc = 2 * sqrt(e)
        e = kc * m


def _mapped(gap: float, depth: float) -> _Map:
    """The map with the wanted gap and depth: damped Newton steps on (ln c/(1 - c), ln(d - 1))."""
    at = _START
    miss = _miss(at, gap, depth)
    for _ in range(_STEPS):
        if hypot(*miss) < 1e-13:
            break
        step = _newton_step(at, miss, gap, depth)
        damp = 1.0
        while damp > 1e-9:
            then = (at[0] + damp * step[0], at[1] + damp * step[1])
            missed = _miss(then, gap, depth)
            if hypot(*missed) < hypot(*miss):
                break
            damp /= 2
        else:
            break
        at, miss = then, missed
    if hypot(*miss) > _MAPPED:
        raise GeometryError(f"a return bend with a gap of {gap:.4g} and a bar of {depth:.4g} strip widths has no map")
    return _map(at)


def _map(at: tuple[float, float]) -> _Map:
    return _Map(1 / (1 + exp(at[0])), exp(at[1]))


def _miss(at: tuple[float, float], gap: float, depth: float) -> tuple[float, float]:
    if not (abs(at[0]) < 300 and abs(at[1]) < 300):
        return (float("inf"), float("inf"))
    here = _map(at)
    miss = (log(here.gap() / gap), log(here.depth() / depth))
    return miss if isfinite(sum(miss)) else (float("inf"), float("inf"))


def _newton_step(at: tuple[float, float], miss: tuple[float, float], gap: float, depth: float) -> tuple[float, float]:
    h = 1e-6
    across = _miss((at[0] + h, at[1]), gap, depth)
    along = _miss((at[0], at[1] + h), gap, depth)
    a, b = (across[0] - miss[0]) / h, (along[0] - miss[0]) / h
    c, d = (across[1] - miss[1]) / h, (along[1] - miss[1]) / h
    det = a * d - b * c
    return ((b * miss[1] - d * miss[0]) / det, (c * miss[0] - a * miss[1]) / det)


@cache
def _gauss() -> "tuple[Floats, Floats]":
    """Nodes and weights on 0 to 1."""
    from numpy.polynomial.legendre import leggauss

    nodes, weights = leggauss(_NODES)
    return (nodes + 1) / 2, weights / 2


def _leg_integral(here: _Map) -> float:
    """The integral of ``hairpin_squares``; ``x = c + (1 - c) u^2`` takes the root at c away. Gauss-Legendre."""
    from numpy import sqrt as root

    u, weight = _gauss()
    ahead = here.inner_gap * (1 - u * u)  # 1 - x
    x = 1 - ahead
    flow = root((x - here.c) * (x + here.c)) / (root((here.outer_gap + ahead) * (here.d + x)) * (1 + x))
    return float((weight * 2 * here.inner_gap * u * (flow - here.k) / ahead).sum())
