"""What comes of the scatter: causes, spreads, chances, plates outside their band."""

from dataclasses import dataclass
from typing import Literal

from griddesign.judge.records import BoxBand

PERCENT = (5.0, 50.0, 95.0, 99.0)
"""Percentiles that are told."""

Unit = Literal["A", "degC", "ohm", "N"]


@dataclass(frozen=True, slots=True)
class CauseTold:
    """One cause: its name, how it is drawn in words, and whether that is an assumption of ours."""

    name: str
    law: str
    assumed: bool


@dataclass(frozen=True, slots=True)
class Spread:
    """One quantity over all starts drawn. ``at`` holds its values at PERCENT.

    ``shares`` are the parts of its variance that each cause has by itself; with ``together``, what the causes do only
    jointly and what no parabola follows, they add up to one. Empty and None where there are too few starts to tell.
    """

    name: str
    unit: Unit
    at: tuple[float, ...]
    shares: tuple[tuple[str, float], ...]
    together: float | None


@dataclass(frozen=True, slots=True)
class Chance:
    """How often a limit was broken: ``broken`` of ``starts``; ``low`` to ``high`` is the 95 per cent range of the
    chance. ``limit`` is None where the limit is no single number."""

    item: str
    limit: float | None
    unit: Unit | None
    broken: int
    starts: int
    low: float
    high: float

    @property
    def chance(self) -> float:
        """The chance as drawn."""
        return self.broken / self.starts


@dataclass(frozen=True, slots=True)
class Lot:
    """The plates of one kind against their pass band, ohm at 20 degC.

    ``outside`` is the share of all plates drawn that lies outside, ``outside_95`` the share in the worst set but five
    of a hundred (batches come alike); ``spares`` the plates to order beside the ``needed`` ones so that 95 sets of a
    hundred are filled. ``advice``: spares, sorting or another process, in a sentence.
    """

    kind: str
    low_ohm: float
    high_ohm: float
    outside: float
    outside_95: float
    needed: int
    spares: int
    advice: str


@dataclass(frozen=True, slots=True)
class Scatter:
    """Everything the scatter came to. ``starts`` were drawn with ``seed``, ``stuck`` of them never got to the end."""

    starts: int
    seed: int
    stuck: int
    causes: tuple[CauseTold, ...]
    spreads: tuple[Spread, ...]
    chances: tuple[Chance, ...]
    lots: tuple[Lot, ...]
    boxes: tuple[BoxBand, ...]
    remarks: tuple[str, ...]
