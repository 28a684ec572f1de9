"""Where the current crowds: peak over mean current density, and the fillet that would bring it down.

At an inner corner the current density grows like a power of the distance, ``j ~ s^(-e)``, with ``e = f/(pi + f)`` for
a rim that turns by the angle ``f`` into the metal: 1/3 at a square corner. A sharp one has no finite peak. With a
fillet of radius r the peak is ``C (w/r)^e`` times the mean as long as r is small against what surrounds it.
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.bracket import Solution, solved
from griddesign.plate.field.domain import Domain, Floats, Ints
from griddesign.plate.field.elements import minimised, nodes_of, potential_start, slopes, stiffness
from griddesign.plate.field.fillets import Corners, corners_of, filleted
from griddesign.plate.field.mesh import Edges, Mesh
from griddesign.plate.field.refine import refined

Cause = Literal["sharp corner", "fillet", "rim"]

_CHORD = np.pi / 64  # 32 chords on a quarter circle: with 8 the peak comes out 12 % high
_NEAR_PEAK = 0.7
_ROUNDS = 8
_TRIAL = 0.05  # of the strip width: radius of the fillets tried on sharp corners


@dataclass(frozen=True, slots=True)
class Crowding:
    """Peak over mean current density, infinite at a sharp corner, and its place.

    ``width`` is the strip width of the mean, ``turn_rad`` how far the rim turns into the metal there (0 where it does
    not), ``constant`` the C of ``peak/mean = C (w/r)^e`` (0 where there is no such law).
    """

    ratio: float
    place: tuple[float, float]
    cause: Cause
    width: float
    turn_rad: float
    constant: float

    @property
    def exponent(self) -> float:
        """How fast the peak falls with the radius of the fillet."""
        return self.turn_rad / (np.pi + self.turn_rad)

    def fillet(self, ratio: float) -> float:
        """The fillet radius at this place that brings the peak to ``ratio`` times the mean, by the law for small radii.

        Raises:
            GeometryError: no fillet acts on this peak, or ``ratio`` is not above 1.
        """
        if not self.constant or not ratio > 1:
            raise GeometryError(f"no fillet at {self.place} brings the current density to {ratio:g} times the mean",
                                hint="The peak does not come from an inner corner." if not self.constant else "")
        return float(self.width * (self.constant / ratio) ** (1 / self.exponent))


def crowding(domain: Domain, width: float | None = None) -> Crowding:
    """Peak over mean current density on the free rim, and where.

    The mean is the current over ``width`` and the nominal thickness; without ``width`` it is that of the strip with
    the same area and squares, ``sqrt(area/squares)``. Sharp inner corners are tried with small fillets to find out
    which is the worst and what a fillet would do. Checked within 2 % (1 % where the fillet is under 0.2 w).

    Raises:
        GeometryError: as ``squares``.
    """
    corners = corners_of(domain)
    if not len(corners.points):
        return _smooth(solved(domain, degree=2), width)
    width = width or mean_width(solved(domain, 1e-2))
    trial = filleted(domain, corners, _TRIAL * width)
    found = _worst_fillet(solved(trial, degree=2), width)
    nearest = np.hypot(*(corners.points - found.place).T).argmin()
    return replace(found, ratio=float("inf"), place=_point(corners.points[nearest]), cause="sharp corner")
