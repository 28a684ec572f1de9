"""Kinds of plate as the designer sees them: from plate ohms to the shape to order, its mass and its body."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import log
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.choose.calibration import bare_body, loss_known
from griddesign.choose.problem import CandidateKind
from griddesign.errors import InputError
from griddesign.heat.records import PlateBody
from griddesign.job.records import PlateWish
from griddesign.plate.ohms import cold_ohm
from griddesign.plate.order import ordered
from griddesign.plate.shapes import Zigzag, with_strip_width

Floats: TypeAlias = NDArray[np.float64]

_NODES = 4


@dataclass(frozen=True)
class Kind:
    """One kind of plate the user names, with the ohms it can be ordered in.

    Between the ends of its strip width the ohms are taken from a polynomial through four solved plates (a deviation
    under 1e-4, tested); the shape that goes to paper is solved for itself.
    """

    wish: PlateWish

    @property
    def name(self) -> str:
        """The user's name for it."""
        return self.wish.name

    @property
    def _fixed(self) -> bool:
        return self.wish.strip_width_range_m is None or self.wish.measured_ohm is not None

    @cached_property
    def candidate(self) -> CandidateKind:
        """The range of cold ohms open to the designer, ohm. Raises InputError where ``wanted`` lies outside it."""
        low, high = self._open_range()
        wanted = self.wish.wanted_ohm
        if wanted is None:
            return CandidateKind(self.name, low, high)
        if not low * (1 - 1e-9) <= wanted <= high * (1 + 1e-9):
            raise InputError(
                f"plate {self.name} is wanted with {wanted:.4g} ohm and can be had with {low:.4g} to {high:.4g} ohm",
                hint="Widen may_vary = { strip_width = … }, or change thickness or passes.",
            )
        return CandidateKind(self.name, wanted, wanted)

    def _open_range(self) -> tuple[float, float]:
        if self.wish.measured_ohm is not None:
            return self.wish.measured_ohm, self.wish.measured_ohm
        if self._fixed:
            ohm = cold_ohm(self.wish.shape, self.wish.metal)
            return ohm, ohm
        return float(self._node_ohm[0]), float(self._node_ohm[-1])

    def shape(self, ohm: float) -> Zigzag:
        """The shape that has these cold ohms, ``ohm``; of a plate at hand, its own shape."""
        if self._fixed:
            return self.wish.shape
        return ordered(self.wish.shape, self.wish.metal, ohm, self._width_range)

    def near_shape(self, ohm: float) -> Zigzag:
        """The same from the polynomial: to 1e-4 of the ohms, for as long as a choice is not final."""
        if self._fixed:
            return self.wish.shape
        return with_strip_width(self.wish.shape, self._width_m(ohm))

    def mass_kg(self, ohm: float) -> float:
        """Mass of one plate of these ohms, kg."""
        if self._fixed:
            return float(self._node_kg[0])
        return self._through_nodes(self._node_kg, ohm)

    def body(self, ohm: float) -> PlateBody:
        """One plate of these ohms as the heat sees it.

        Of a plate at hand that measures more than its shape and metal say, mass and strip are the shape's: the heat
        capacity is then on the high side, and the papers say where the ohms came from.
        """
        known = self._bodies.get(ohm)
        if known is None:
            known = self._bodies[ohm] = body_of(self.near_shape(ohm), self.wish, ohm)
        return known

    @cached_property
    def _bodies(self) -> dict[float, PlateBody]:
        return {}

    @property
    def _width_range(self) -> tuple[float, float]:
        assert self.wish.strip_width_range_m is not None
        return self.wish.strip_width_range_m

    @cached_property
    def _node_width_m(self) -> Floats:
        """Widths from wide to narrow, so that ohms rise: Chebyshev points with both ends."""
        low, high = self._width_range
        angle = np.pi * np.arange(_NODES) / (_NODES - 1)
        return np.asarray((low + high) / 2 + (high - low) / 2 * np.cos(angle))

    @cached_property
    def _node_ohm(self) -> Floats:
        shapes = [with_strip_width(self.wish.shape, float(width)) for width in self._node_width_m]
        return np.array([cold_ohm(shape, self.wish.metal) for shape in shapes])

    @cached_property
    def _node_kg(self) -> Floats:
        shape = self.wish.shape
        widths: Sequence[float] = () if self._fixed else self._node_width_m.tolist()
        shapes = [with_strip_width(shape, width) for width in widths] or [shape]
        return np.array([body_of(each, self.wish, 0.0).mass_kg for each in shapes])

    def _width_m(self, ohm: float) -> float:
        """Strip width of a plate of these ohms, within the range."""
        low, high = self._width_range
        return min(max(self._through_nodes(self._node_width_m, ohm), low), high)

    def _through_nodes(self, values: Floats, ohm: float) -> float:
        """The polynomial in ln ohms that takes ``values`` at the nodes (Lagrange's form)."""
        nodes, at = self._node_log_ohm, log(ohm)
        total = 0.0
        for place, value in enumerate(values):
            weight = 1.0
            for other, node in enumerate(nodes):
                if other != place:
                    weight *= (at - node) / (nodes[place] - node)
            total += float(value) * weight
        return total

    @cached_property
    def _node_log_ohm(self) -> tuple[float, ...]:
        return tuple(log(ohm) for ohm in self._node_ohm)


def body_of(shape: Zigzag, wish: PlateWish, ohm: float) -> PlateBody:
    """A plate of this shape and the wish's metal with these cold ohms, as the heat sees it."""
    return replace(bare_body(shape, wish.metal, ohm), loss=loss_known(wish.heat_run))
