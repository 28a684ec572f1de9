"""Overlapping readings reconciled: weighted least squares, and the reading that does not fit the others.

Each reading is the sum of the ohms of some steps, off by a normal deviation (1 sigma). The test is Baarda's: residual
over its own sigma ``w = v / (s sqrt(1 - h))``, h the leverage, which is what the reading is off from the fit of all the
others, over the sigma of that. The critical value leaves one sound file in a hundred a false alarm (Bonferroni over the
r readings more than are needed): 2.6 for r = 1, 3.5 for r = 20. (W. Baarda, A Testing Procedure for Use in Geodetic
Networks, Netherlands Geodetic Commission, Publications on Geodesy 2(5), Delft 1968: the test, from memory; the level is
ours; w is held against leave-one-out in the tests.)
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]

LEVEL = 0.01
"""Chance of any false alarm in a file of sound readings."""
CANNOT_TELL = 1e-6
"""Least share of a residual's variance that the other readings must leave, for the reading to be tested by them."""
ALIKE = 1e-6


@dataclass(frozen=True, slots=True)
class Observation:
    """Ohms read over steps (places), ``sigma_ohm`` 1 sigma. ``tested``: a reading; else only what is known of a kind,
    there to hold up steps that no reading tells apart."""

    steps: tuple[int, ...]
    ohm: float
    sigma_ohm: float
    tested: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Ohms and sigma of every step, and each observation's ``w`` (nan where the others say nothing of it) and what the
    others alone make of it, with the sigma of the difference. ``spare``: how many readings more than are needed."""

    ohm: Floats
    sigma_ohm: Floats
    w: Floats
    others_ohm: Floats
    off_sigma_ohm: Floats
    spare: float


@dataclass(frozen=True, slots=True)
class Outlier:
    """An observation (its place) thrown out, with those that fit as badly for want of overlap, itself among them."""

    place: int
    alike: tuple[int, ...]
    others_ohm: float
    off_sigma_ohm: float
    w: float


def fitted(steps: int, seen: Sequence[Observation]) -> Fit:
    """The least squares of ``seen`` for so many steps; every step must stand in one of them."""
    design = np.zeros((len(seen), steps))
    for row, one in enumerate(seen):
        design[row, list(one.steps)] = 1.0
    ohm, sigma = np.array([one.ohm for one in seen]), np.array([one.sigma_ohm for one in seen])
    weighted = design / sigma[:, None]
    covariance = np.linalg.inv(weighted.T @ weighted)
    found = covariance @ (weighted.T @ (ohm / sigma))
    leverage = np.einsum("ij,jk,ik->i", weighted, covariance, weighted)
    left = np.array([one.tested for one in seen]) * (1.0 - leverage)
    left = np.where(left > CANNOT_TELL, left, np.nan)
    residual = ohm - design @ found
    return Fit(
        ohm=found,
        sigma_ohm=np.sqrt(np.diag(covariance)),
        w=residual / (sigma * np.sqrt(left)),
        others_ohm=ohm - residual / left,
        off_sigma_ohm=sigma / np.sqrt(left),
        spare=float(np.nansum(left)),
    )


def critical(spare: float) -> float:
    """The ``w`` above which a reading does not fit, with so many readings more than are needed."""
    return NormalDist().inv_cdf(1.0 - LEVEL / (2.0 * max(1.0, spare)))


def reconciled(steps: int, seen: Sequence[Observation], prefer: Sequence[int] = ()) -> tuple[Fit, tuple[Outlier, ...]]:
    """The fit without the readings that do not fit the rest, and those, worst first.

    One is thrown out at a time and the rest fitted again. Of readings that fit equally badly the first of ``prefer``
    among them goes, else the least exact.
    """
    inside, out = list(range(len(seen))), list[Outlier]()
    while True:
        fit = fitted(steps, [seen[place] for place in inside])
        size = np.abs(np.nan_to_num(fit.w))
        if size.max(initial=0.0) <= critical(fit.spare):
            return fit, tuple(out)
        alike = [inside[row] for row in np.flatnonzero(size >= size.max() * (1.0 - ALIKE)).tolist()]
        worst = next((place for place in prefer if place in alike), max(alike, key=lambda place: seen[place].sigma_ohm))
        row = inside.index(worst)
        off = Outlier(worst, tuple(alike), float(fit.others_ohm[row]), float(fit.off_sigma_ohm[row]), float(fit.w[row]))
        out.append(off)
        inside.remove(worst)
