"""What a plate's making brings with it, and what the user may say about it."""

from dataclasses import dataclass
from typing import Literal

from griddesign.figures import Figure

HoleMade = Literal["cored", "drilled"]


@dataclass(frozen=True, slots=True)
class Making:
    """The shop's own figures; None where the tables' or our own are to do. All but ``hole`` carry their status.

    ``fit_tolerance``: plus and minus, m, on every dimension that must fit, in place of the class of the process.
    ``kerf``: width of the cut, m, where the cutting file is to be offset for it. ``width_tolerance`` and
    ``thickness_tolerance``: plus and minus on the strip, m. For castings: ``shrinkage``, by which the pattern is
    larger, as a fraction; ``draft``, rad; ``machining``, allowed on each face of the eyes, m; ``hole``: how the holes
    of the eyes are made.
    """

    kerf: Figure | None = None
    width_tolerance: Figure | None = None
    thickness_tolerance: Figure | None = None
    shrinkage: Figure | None = None
    draft: Figure | None = None
    machining: Figure | None = None
    hole: HoleMade | None = None
    fit_tolerance: Figure | None = None
