"""Drawing scales: of ISO 5455:1979, clause 4; on inch papers half, quarter, eighth … size beside them."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Scale:
    """``paper`` millimetres on paper for ``true`` millimetres of the thing."""

    paper: int
    true: int

    @property
    def factor(self) -> float:
        """Paper length over true length."""
        return self.paper / self.true

    def __str__(self) -> str:
        return f"{self.paper}:{self.true}"


STANDARD = (
    *(Scale(n, 1) for n in (50, 20, 10, 5, 2)),
    Scale(1, 1),
    *(Scale(1, n) for n in (2, 5, 10, 20, 50, 100, 200, 500, 1000)),
)
"""Largest first: 1, 2 and 5 with their decimal multiples, nothing between."""
_HALVED = (Scale(2**n, 1) if n > 0 else Scale(1, 2**-n) for n in range(5, -11, -1))
INCH = tuple(sorted({*STANDARD, *_HALVED}, key=lambda scale: -scale.factor))
"""Largest first: full size, halved and halved again, as an inch rule is, and between them what a decimal rule reads
(American drawing practice, from memory)."""


def scales_of(unit: Literal["mm", "inch"]) -> tuple[Scale, ...]:
    """The scales that a drawing in this unit may have, largest first."""
    return INCH if unit == "inch" else STANDARD


def largest(factor: float, unit: Literal["mm", "inch"] = "mm") -> Scale:
    """The largest standard scale not above ``factor``; the smallest one where even that is too large."""
    return next((scale for scale in scales_of(unit) if scale.factor <= factor), scales_of(unit)[-1])
