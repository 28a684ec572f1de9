"""A plate's outline as a domain of the solver, and its squares from eye to eye."""

from math import tan

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.bracket import Bracket, squares
from griddesign.plate.field.domain import DiscTerminal, Domain, Floats, RimTerminal, Terminal, Thickness
from griddesign.plate.outline import Arc, Circle, Hole, Outline, Segment


def squares_of_outline(
    outline: Outline,
    washer_radius_m: float | None = None,
    tolerance: float = 1e-3,
    terminals: tuple[Terminal, ...] | None = None,
) -> Bracket:
    """Squares of ``outline`` between its first two terminals; the bracket encloses the value of the true arcs.

    A terminal is the rim of each terminal hole, or with ``washer_radius_m`` the face of a washer about its centre, or
    what ``terminals`` says, in metres: rims (ring 0 is the outer loop, ring ``1 + k`` hole ``k``), washer faces and
    clamped areas anywhere on the plate.

    Raises:
        GeometryError: fewer than two terminals, an area that misses the metal; else as ``squares``.
    """
    return squares(domain_of_outline(outline, washer_radius_m, None, terminals), tolerance)


def domain_of_outline(
    outline: Outline,
    washer_radius_m: float | None = None,
    thickness: Thickness | None = None,
    terminals: tuple[Terminal, ...] | None = None,
) -> Domain:
    """``outline`` with its arcs, and ``terminals`` or else its terminal holes as terminals in their order.

    Raises:
        GeometryError: fewer than two terminals, or a washer on a hole that is not round.
    """
    rings = [_of_segments(outline.outer.segments), *(ring_of_hole(hole) for hole in outline.holes)]
    if terminals is None:
        terminals = tuple(_terminal(outline.holes[hole], hole + 1, washer_radius_m) for hole in outline.terminals)
    if len(terminals) < 2:
        raise GeometryError(f"the outline names {len(terminals)} terminal(s), two are needed")
    return Domain(tuple(points for points, _ in rings), terminals, thickness, tuple(bulges for _, bulges in rings))


def _terminal(hole: Hole, ring: int, washer_radius_m: float | None) -> Terminal:
    if washer_radius_m is None:
        return RimTerminal(ring)
    if not isinstance(hole, Circle):
        raise GeometryError(f"hole {ring - 1} is not round: a washer face cannot be centred on it")
    return DiscTerminal(hole.centre, washer_radius_m)


def _of_segments(segments: tuple[Segment, ...]) -> tuple[Floats, Floats]:
    points = np.array([segment.start for segment in segments])
    return points, np.array([tan(segment.turn_rad / 4) if isinstance(segment, Arc) else 0.0 for segment in segments])


def ring_of_hole(hole: Hole) -> tuple[Floats, Floats]:
    """A hole, or any closed line, as points and bulges of a ring."""
    if not isinstance(hole, Circle):
        return _of_segments(hole.segments)
    x, y = hole.centre
    return np.array([(x - hole.radius_m, y), (x + hole.radius_m, y)]), np.ones(2)
