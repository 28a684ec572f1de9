"""Drawing scales of ISO 5455:1979, clause 4: 1, 2 and 5 with their decimal multiples, nothing between."""

from dataclasses import dataclass


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
"""Largest first."""


def largest(factor: float) -> Scale:
    """The largest standard scale not above ``factor``; the smallest one where even that is too large."""
    return next((scale for scale in STANDARD if scale.factor <= factor), STANDARD[-1])
