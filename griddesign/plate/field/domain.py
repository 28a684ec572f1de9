"""The metal to be solved: closed rings of straight and round edges, with terminals on them.

A ring is a list of corner points; edge ``k`` runs from point ``k`` to the next one. The first ring is the outer rim,
the others are holes; either sense is accepted. Lengths are in any one unit (metres elsewhere in this package): squares
have none.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class RimTerminal:
    """A terminal on the rim: whole ring ``ring`` (a bolt hole), or its edges ``edges`` (a clamped end)."""

    ring: int
    edges: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True)
class DiscTerminal:
    """A washer face: the metal within ``radius`` of ``centre`` is at one potential.

    It may cover holes and reach over any rim.
    """

    centre: tuple[float, float]
    radius: float

    def named(self) -> str:
        """The terminal in words, lengths as they are given."""
        return f"the washer face of radius {self.radius:g} at ({self.centre[0]:g}, {self.centre[1]:g})"


@dataclass(frozen=True, slots=True)
class ClampTerminal:
    """A clamped area: the metal inside the polygon ``points`` is at one potential; it may reach over any rim."""

    points: tuple[tuple[float, float], ...]

    def named(self) -> str:
        """The terminal in words."""
        return f"the clamped area from ({self.points[0][0]:g}, {self.points[0][1]:g})"


Area = DiscTerminal | ClampTerminal
Terminal = RimTerminal | Area


@dataclass(frozen=True, slots=True)
class Slope:
    """A thickness linear in the plane, as a part of the nominal one: ``level + along_x x + along_y y``."""

    level: float = 1.0
    along_x: float = 0.0
    along_y: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """A closed line, ``points`` and ``bulges`` as of a ring, inside which the plate has a thickness of its own."""

    points: Floats
    bulges: Floats
    slope: Slope
    name: str = ""


@dataclass(frozen=True, slots=True)
class Thickness:
    """t(x, y)/t0: linear outside all regions and inside each of them; where they are nested the innermost counts.

    Regions may reach over rims and may touch, but not cross, one another. ``snap``: a region's line that runs nearer
    than that to a rim or to another region's is taken to lie on it (at least 1e-7 of the extent). ``depth``: the
    plate's own thickness in the unit of the rings; nearer than that to the corners of regions a sheet says nothing of
    the current density.
    """

    base: Slope = Slope()
    regions: tuple[Region, ...] = ()
    snap: float = 0.0
    depth: float = 0.0

    def slopes(self) -> Floats:
        """Level and slopes (parts, 3): part 0 is outside all regions, part ``1 + k`` in region ``k``."""
        every = (self.base, *(region.slope for region in self.regions))
        return np.array([(one.level, one.along_x, one.along_y) for one in every])


@dataclass(frozen=True, slots=True, eq=False)
class Domain:
    """The metal between two (or more) terminals.

    ``rings``: points (n, 2) of each ring, outer first. ``terminals``: the first two carry the current, any further
    one floats at one potential. ``thickness``: None is the nominal one everywhere. ``bulges``: for each ring
    tan(a quarter of the angle) of every edge's arc, positive when it turns left along the given sense of the ring, 0
    for a straight edge; None: no arcs.
    """

    rings: tuple[Floats, ...]
    terminals: tuple[Terminal, ...]
    thickness: Thickness | None = None
    bulges: tuple[Floats, ...] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Rim:
    """Directed rim edges with the metal on their left.

    ``ends`` (k, 2): point numbers. ``arc``: row of ``centres`` of the edge's true arc, -1 if straight. ``terminal``:
    which terminal it belongs to, -1 if it is free. ``ring``: which ring of the domain it came from. ``sleeve``: row of
    ``sleeves`` of the simplified edge it is a part of, -1 if it is exact; ``sleeves`` (s, 2, 3, 2): of both ends their
    place and how far they are moved outward and inward to enclose, and be enclosed by, the true rim.

    Lines across the metal where the thickness steps, its *seams*, are kept as rims are: an edge of ``ring`` ``-1 - k``
    is of seam ``k``, and ``sides`` (seams, 2) are the parts of the thickness on the left and on the right of each.
    """

    ends: Ints
    arc: Ints
    terminal: Ints
    ring: Ints
    centres: Floats
    sleeve: Ints
    sleeves: Floats
    sides: Ints | None = None

    def only(self, edges: Bools) -> "Rim":
        """Some of the edges, with all that belongs to them."""
        of_edge = (self.ends, self.arc, self.terminal, self.ring)
        ends, arc, terminal, ring = (each[edges] for each in of_edge)
        return replace(self, ends=ends, arc=arc, terminal=terminal, ring=ring, sleeve=self.sleeve[edges])

    def parted(self) -> "tuple[Rim, Rim | None]":
        """The rim alone, and the seams if there are any."""
        if self.sides is None:
            return self, None
        return replace(self.only(self.ring >= 0), sides=None), self.only(self.ring < 0)

    def joined(self, seams: "Rim | None") -> "Rim":
        """The rim and ``seams`` that were parted from it as one again."""
        if seams is None:
            return self
        of_both = zip(*((one.ends, one.arc, one.terminal, one.ring, one.sleeve) for one in (self, seams)), strict=True)
        ends, arc, terminal, ring, sleeve = (np.concatenate(pair) for pair in of_both)
        return Rim(ends, arc, terminal, ring, self.centres, sleeve, self.sleeves, seams.sides)

    def midpoints(self, xy: Floats, edges: Ints) -> Floats:
        """The point halfway along each of ``edges``, on the true arc where the edge has one."""
        middle: Floats = xy[self.ends[edges]].mean(axis=1)
        bent = self.arc[edges] >= 0
        centre = self.centres[self.arc[edges][bent]]
        radius = np.linalg.norm(xy[self.ends[edges[bent], 0]] - centre, axis=1)
        spoke = middle[bent] - centre
        middle[bent] = centre + spoke * (radius / np.linalg.norm(spoke, axis=1))[:, None]
        return middle

    def halved(self, edges: Ints, middle: Ints) -> "Rim":
        """The rim with each of ``edges`` replaced by its two halves, which meet at point number ``middle``."""
        ends = np.concatenate([self.ends, np.column_stack([middle, self.ends[edges, 1]])])
        ends[edges, 1] = middle
        of_edge = (self.arc, self.terminal, self.ring, self.sleeve)
        arc, terminal, ring, sleeve = (np.concatenate([old, old[edges]]) for old in of_edge)
        return Rim(ends, arc, terminal, ring, self.centres, sleeve, self.sleeves, self.sides)

    def in_sleeves(self, xy: Floats) -> tuple[Ints, Floats, Floats]:
        """Points of the rim in a sleeve, and how far each is moved outward and inward."""
        edge = np.repeat(np.flatnonzero(self.sleeve >= 0), 2)
        points = self.ends[self.sleeve >= 0].ravel()
        start, end = self.sleeves[self.sleeve[edge]].transpose(1, 2, 0, 3)
        chord = end[0] - start[0]
        share = ((xy[points] - start[0]) * chord).sum(axis=1) / (chord**2).sum(axis=1)
        outward, inward = start[1:] + share[:, None] * (end[1:] - start[1:])
        return points, outward, inward


def cross(a: Floats, b: Floats) -> Floats:
    """The plane cross product of two lists of vectors."""
    product: Floats = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product
