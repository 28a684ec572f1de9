"""The motors of a string read as self-excited series generators: the current at ohms per speed."""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CurveError
from griddesign.traction.curve import FloatArray
from griddesign.traction.runup.table import EmfTable
from griddesign.traction.runup.wiring import Branch

MOST_ROUNDS = 60
SAME = 1e-12
CLOSE = 1e-11
LEAST_SHARE = 1e-9
LOOKS = 9
RISES = 1e-9


@dataclass(frozen=True)
class Excited:
    """From ``R'/n``, ohms of a string per rad/s, to its current: the root of ``K(I)/I = R'/n``.

    ``K`` is the emf of the string's motors together for one rad/s. Iron saturates, so ``K(I)/I`` falls from its
    greatest value at no current: one root, or none where the ohms per speed are above that value (then the string does
    not excite itself and the current is nought; what little the residual magnetism drives is left out). Above the
    highest point of the curve ``K`` stays at its last value, which makes the current too high, never too low.

    Below the lowest measured point, where the curve is only drawn, it is a parabola from zero that joins the measured
    part without a kink, so that ``K(I)/I`` falls evenly there. Raises CurveError where it rises between measured
    points: no current there is steady.
    """

    table: EmfTable

    def __post_init__(self) -> None:
        knots = self.knots_a[1:]
        amps = np.concatenate([np.linspace(low, high, LOOKS)[1:] for low, high in pairwise(knots)])
        ratio = self.table.read(amps)[0] / amps
        rises = np.diff(ratio) > RISES * ratio[1:]
        if rises.any():
            place = int(np.argmax(rises))
            raise CurveError(
                f"between {amps[place]:.4g} and {amps[place + 1]:.4g} A the motor curve as drawn has emf per ampere "
                "rise with the current, and a brake has no steady current there",
                hint="Look for a slip in the points about there, or measure more of them.",
            )

    @property
    def lowest_a(self) -> float:
        """The current from which on every motor is measured, A."""
        return self.table.lowest_a

    @cached_property
    def knots_a(self) -> FloatArray:
        """Nought, the lowest current measured, and the points above it, A."""
        knots = self.table.knots_a
        found: FloatArray = np.concatenate([[0.0, self.lowest_a], knots[knots > self.lowest_a * (1.0 + SAME)]])
        return found

    @cached_property
    def origin_ohm_s(self) -> float:
        """``dK/dI`` at no current as drawn, ohm per rad/s: times the speed the critical resistance."""
        k, slope = self.table.read(np.array([self.lowest_a]))
        lowest = float(k[0]) / self.lowest_a
        return max(2.0 * lowest - float(slope[0]), lowest)

    @cached_property
    def ratios(self) -> FloatArray:
        """``K/I`` at nought and at the measured points, ohm per rad/s, falling."""
        amps = self.knots_a[1:]
        falling: FloatArray = np.minimum.accumulate(np.append(self.origin_ohm_s, self.table.read(amps)[0] / amps))
        return falling

    def read(self, current_a: FloatArray) -> tuple[FloatArray, FloatArray]:
        """``K`` in V per rad/s and ``dK/dI`` at currents of nought and more."""
        k, slope = self.table.read(current_a)
        origin, lost = self.origin_ohm_s, (self.origin_ohm_s - float(self.ratios[1])) / self.lowest_a * current_a
        low = current_a < self.lowest_a
        return np.where(low, current_a * (origin - lost), k), np.where(low, origin - 2.0 * lost, slope)

    def current_a(self, ohm_s: FloatArray) -> FloatArray:
        """Current at ohms per speed above zero, A; nought where the string does not excite itself."""
        cell = np.searchsorted(-self.ratios, -ohm_s, side="right") - 1
        last = self.ratios.size - 1
        beyond = self.table.read(self.knots_a[-1:])[0] / ohm_s
        inside = self._inside(ohm_s, np.clip(cell, 0, last - 1))
        found: FloatArray = np.where(cell < 0, 0.0, np.where(cell == last, beyond, inside))
        return found

    def _inside(self, ohm_s: FloatArray, cell: NDArray[np.intp]) -> FloatArray:
        """Newton's rule inside the bracket of two neighbouring points."""
        knots, ratios = self.knots_a, self.ratios
        low, high = np.maximum(knots[cell], LEAST_SHARE * knots[-1]), knots[cell + 1]
        fall = np.maximum(ratios[cell] - ratios[cell + 1], SAME * ratios[0])
        current = np.clip(low + (high - low) * (ratios[cell] - ohm_s) / fall, low, high)
        for _ in range(MOST_ROUNDS):
            k, slope = self.read(current)
            surplus = k / current - ohm_s
            low, high = np.where(surplus >= 0.0, current, low), np.where(surplus <= 0.0, current, high)
            with np.errstate(divide="ignore", invalid="ignore"):
                wanted = current - surplus * current / (slope - k / current)
            following = np.where((wanted >= low) & (wanted <= high), wanted, 0.5 * (low + high))
            moved, current = np.abs(following - current).max(initial=0.0), following
            if moved <= CLOSE * knots[-1]:
                break
        found: FloatArray = current
        return found


@lru_cache(maxsize=64)
def excited(branch: Branch) -> Excited:
    """The strings of a branch as generators, made once. Raises CurveError as ``Excited``."""
    return Excited(branch.table)
