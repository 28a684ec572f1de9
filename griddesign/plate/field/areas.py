"""Terminals that are areas of the plate, washer faces and clamps: cut out of the metal, arcs kept.

What lies under such an area is at one potential, so it is cut away and the cut edges become the rim of the terminal.
An area may reach over the outer rim or over holes; only the part of it on metal counts. Which edges are left is found
by shapely on fine chords; the corners are then the true meetings of the straight and round edges, so no rim is left
polygonised. Where an edge of an area passes a rim nearer than the height of those chords, 1e-5 of a radius, it may be
taken to meet it, or not to.
"""

from typing import TYPE_CHECKING

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.chords import Chords
from griddesign.plate.field.domain import Area, ClampTerminal, DiscTerminal, Domain
from griddesign.plate.field.ring import Ring, centre_of

if TYPE_CHECKING:
    from shapely import Polygon

_SNAP = 1e-7  # of the extent


def without_areas(rings: list[Ring], domain: Domain) -> list[Ring]:
    """The rings of the metal, outer first, less the areas of ``domain``'s terminals.

    Metal that is cut off from all terminals but one carries no current and is left out.

    Raises:
        GeometryError: an area that is none or lies outside the metal, areas that touch one another or another terminal,
            no metal left between terminals, metal cut into several parts between them.
    """
    areas = {index: each for index, each in enumerate(domain.terminals) if isinstance(each, Area)}
    if not areas:
        return rings
    chords = Chords.of([*rings, *(_ring_of(_fitted(area, rings), index) for index, area in areas.items())])
    metal = _polygon(chords, range(len(rings)))
    covered = {index: _polygon(chords, [len(rings) + place]) for place, index in enumerate(areas)}
    _check_areas(metal, covered, areas)
    _check_rim_terminals(chords, covered, len(rings))
    return _kept(metal, covered, chords)


def _fitted(area: Area, rings: list[Ring]) -> Area:
    """A washer face all but as large as a round rim about the same centre is taken for just as large."""
    snap = _SNAP * float(np.ptp(rings[0].points, axis=0).max())
    if not isinstance(area, DiscTerminal):
        return area
    for ring in rings:
        for edge in np.flatnonzero(ring.bulges):
            start, end = ring.points[edge], ring.points[(edge + 1) % len(ring.points)]
            centre = centre_of(start, end, ring.bulges[edge])
            radius = float(np.hypot(*(start - centre)))
            if max(np.hypot(*(centre - area.centre)), abs(radius - area.radius)) <= snap:
                return DiscTerminal((float(centre[0]), float(centre[1])), radius)
    return area


def _ring_of(area: DiscTerminal | ClampTerminal, index: int) -> Ring:
    """The rim of an area."""
    if isinstance(area, ClampTerminal):
        points = np.asarray(area.points, dtype=float)
        if points.ndim != 2 or points.shape[1:] != (2,) or len(points) < 3 or not np.isfinite(points).all():
            raise GeometryError(f"the clamped area of terminal {index} is not a list of three or more points (x, y)")
        return Ring(points, np.zeros(len(points)), np.full(len(points), index))
    if not area.radius > 0 or not np.isfinite([area.radius, *area.centre]).all():
        raise GeometryError(f"the washer face of terminal {index} has radius {area.radius:g}")
    angles = np.arange(4) * np.pi / 2
    points = np.asarray(area.centre) + area.radius * np.column_stack([np.cos(angles), np.sin(angles)])
    return Ring(points, np.full(4, np.tan(np.pi / 8)), np.full(4, index))


def _polygon(chords: Chords, rings: "range | list[int]") -> "Polygon":
    """The chorded rings as a polygon, the first outside."""
    import shapely

    outer, *holes = (chords.lines[chords.ring_of_chord == ring, 0] for ring in rings)
    polygon = shapely.Polygon(outer, holes)
    if not polygon.is_valid or not polygon.area > 0:
        terminal = int(chords.terminal[chords.ring == rings[0]][0])
        what = f"the clamped area of terminal {terminal}" if len(rings) == 1 and terminal >= 0 else "the outline"
        raise GeometryError(
            f"{what} is not one piece: {shapely.is_valid_reason(polygon)}",
            hint="Mend it there: no edge may cross or touch another.",
        )
    return polygon


def _check_areas(metal: "Polygon", covered: "dict[int, Polygon]", areas: dict[int, Area]) -> None:
    """Every area lies on metal, and no two touch there."""
    on_metal = {index: metal.intersection(area) for index, area in covered.items()}
    for index, part in on_metal.items():
        if not part.area > 1e-12 * covered[index].area:
            raise GeometryError(
                f"terminal {index}, {areas[index].named()}, lies outside the metal",
                hint="Place it where it covers metal.",
            )
        other = next((other for other in on_metal if other < index and on_metal[other].intersects(part)), None)
        if other is not None:
            raise GeometryError(f"terminals {other} and {index} touch: the resistance between them is nothing")


def _check_rim_terminals(chords: Chords, covered: "dict[int, Polygon]", rings: int) -> None:
    """No area reaches a terminal on the rim."""
    import shapely

    of_rim = (chords.terminal[chords.edge_of_chord] >= 0) & (chords.ring_of_chord < rings)
    lines = shapely.linestrings(chords.lines[of_rim])
    owner = chords.terminal[chords.edge_of_chord[of_rim]]
    for index, area in covered.items():
        reached = owner[shapely.intersects(area, lines)]
        if len(reached):
            raise GeometryError(
                f"terminals {min(index, int(reached[0]))} and {max(index, int(reached[0]))} touch: "
                "the resistance between them is nothing"
            )


def _kept(metal: "Polygon", covered: "dict[int, Polygon]", chords: Chords) -> list[Ring]:
    """The rings of the one piece of ``metal`` that joins terminals."""
    import shapely

    left = shapely.get_parts(metal.difference(shapely.union_all(list(covered.values()))))
    pieces = [
        [chords.restored(np.array(ring.coords)[:-1]) for ring in (piece.exterior, *piece.interiors)] for piece in left
    ]
    joining = [rings for rings in pieces if _joins(rings)]
    if not joining:
        raise GeometryError(
            "no metal is left between the terminals" if len(left) == 0 else "no piece of metal joins two terminals",
            hint="Give smaller areas.",
        )
    if len(joining) > 1:
        raise GeometryError(
            f"the areas of the terminals cut the metal into {len(joining)} parts side by side",
            hint="Solve each part by itself and add their conductances.",
        )
    return joining[0]


def _joins(rings: list[Ring]) -> bool:
    """Whether a piece of metal has two terminals."""
    owners = np.unique(np.concatenate([ring.terminal for ring in rings]))
    return int((owners >= 0).sum()) > 1
