"""From the rings of a domain to the rim the mesher starts from: cleaned, turned, chorded and checked.

Arcs start as few chords as the width of the metal allows; the solver refines them along the true arc where it matters.
"""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.areas import without_areas
from griddesign.plate.field.domain import Domain, Floats, Ints, Rim, RimTerminal, cross
from griddesign.plate.field.ring import Ring, centres_of, turned_about
from griddesign.plate.field.sleeve import Sleeved, sleeved

if TYPE_CHECKING:
    from griddesign.plate.field.seams import Seams

_SNAP = 1e-7  # of the largest extent: points nearer than this are one point (0.02 um on a plate)
_WIDEST_CHORD = np.pi / 9
_SAGITTA = 0.15  # of the mean strip width
_HALVINGS = 5  # of all chords, before rings that cross are blamed on the outline itself


def rim_of(domain: Domain, band: float = 0.0) -> tuple[Floats, Rim]:
    """Points and rim of ``domain`` with coarse chords on its arcs and straight edges cut at about the strip width.

    Rings of very many edges are simplified as far as ``band`` allows, the area between a rim that encloses the true one
    and one that is enclosed, as a part of the metal.

    Raises:
        GeometryError: a ring that is no ring, rings that cross or touch, a terminal that is not on the metal, terminals
            that touch.
    """
    rings = cleaned_rings(domain)
    width = _mean_width(rings)
    if domain.thickness is not None and domain.thickness.regions:
        return _with_seams(domain, rings, width)
    xy, rim = _checked([Sleeved.exact(ring) for ring in rings], width)
    _check_terminals(domain, rim)
    simple = sleeved(rings, width, band * sum(ring.area() for ring in rings))
    if not any(each.band() for each in simple):
        return xy, rim
    try:
        return _checked(simple, width)
    except GeometryError:
        return xy, rim  # parts of the rim are nearer to each other than they were moved


def _with_seams(domain: Domain, rings: list[Ring], width: float) -> tuple[Floats, Rim]:
    """As ``rim_of``, with the lines at which the thickness steps. No ring is simplified: seams end on them."""
    from griddesign.plate.field.seams import seams_of

    assert domain.thickness is not None
    rings, seams = seams_of(rings, domain.thickness)
    xy, rim = _checked([Sleeved.exact(ring) for ring in rings], width, seams)
    _check_terminals(domain, rim)
    return xy, rim


def _checked(rings: list[Sleeved], width: float, seams: "Seams | None" = None) -> tuple[Floats, Rim]:
    """The rings with their chords. Raises GeometryError where they cross or touch, however fine the chords."""
    for halving in range(_HALVINGS):
        xy, rim = _chorded(rings, width, 0.5**halving)
        fault = _fault(xy, rim)
        if not fault and seams is not None:
            xy, rim = _chorded_seams(xy, rim, seams, width, 0.5**halving)
            fault = _fault_of_seams(xy, rim)
        if not fault:
            return xy, rim
    raise GeometryError(
        f"the outline is not one piece of metal with holes: {fault}",
        hint="Mend the outline there: no edge may cross or touch another.",
    )


def cleaned_rings(domain: Domain) -> list[Ring]:
    """The rings with terminal areas cut out, without spikes and double points, the metal on the left of every edge.

    Raises:
        GeometryError: a ring that encloses nothing, a terminal that is not on the metal.
    """
    rings = [_ring(domain, number) for number in range(len(domain.rings))]
    extent = float(np.ptp(rings[0].points, axis=0).max()) if len(rings[0].points) else 0.0
    cleaned = [_clean(ring, _SNAP * extent, number) for number, ring in enumerate(rings)]
    cut = without_areas(cleaned, domain)
    if cut is not cleaned:
        cleaned = [_clean(ring, _SNAP * extent, number) for number, ring in enumerate(cut)]
    return [ring if (ring.area() > 0) == (number == 0) else ring.turned() for number, ring in enumerate(cleaned)]


def _ring(domain: Domain, number: int) -> Ring:
    """Ring ``number`` as given, with the terminal of each edge."""
    points = np.asarray(domain.rings[number], dtype=float)
    if points.ndim != 2 or points.shape[1:] != (2,) or not np.isfinite(points).all():
        raise GeometryError(f"ring {number} is not a list of finite points (x, y)")
    bulges = np.zeros(len(points)) if domain.bulges is None else np.asarray(domain.bulges[number], dtype=float)
    if bulges.shape != (len(points),) or not np.isfinite(bulges).all():
        raise GeometryError(f"ring {number} has {len(points)} points but not as many finite bulges")
    owner = np.full(len(points), -1, dtype=np.intp)
    for index, terminal in enumerate(domain.terminals):
        if not isinstance(terminal, RimTerminal) or terminal.ring != number:
            continue
        edges = np.arange(len(points)) if terminal.edges is None else np.asarray(terminal.edges, dtype=np.intp)
        if len(edges) == 0 or edges.min() < 0 or edges.max() >= len(points):
            raise GeometryError(
                f"terminal {index} names edges {edges.tolist()} of ring {number}, "
                f"which has edges 0 to {len(points) - 1}"
            )
        if (owner[edges] >= 0).any():
            raise GeometryError(f"terminals {owner[edges].max()} and {index} share an edge of ring {number}")
        owner[edges] = index
    return Ring(points, bulges, owner)


def _clean(ring: Ring, snap: float, number: int) -> Ring:
    """The ring without edges shorter than ``snap`` and without spikes that run out and back on themselves."""
    while len(ring.points) >= 2:
        step = ring.steps()
        length = np.hypot(*step.T)
        back = np.roll(step, 1, axis=0)
        straight = (ring.bulges == 0) & (np.roll(ring.bulges, 1) == 0)
        height = np.abs(cross(back, step)) / np.maximum(np.maximum(length, np.roll(length, 1)), 1e-300)
        spike = straight & ((back * step).sum(axis=1) < 0) & (height <= snap)
        drop = np.flatnonzero(length <= snap)
        drop = drop if len(drop) else np.flatnonzero(spike)[:1]
        if not len(drop):
            break
        ring = ring.without(drop)
    if len(ring.points) < 2 or abs(ring.area()) <= snap**2 or (len(ring.points) == 2 and not ring.bulges.any()):
        raise GeometryError(f"ring {number} encloses no area: {len(ring.points)} distinct point(s) are left of it")
    return ring


def _mean_width(rings: list[Ring]) -> float:
    """Twice the area over the rim's length: the width of a long strip."""
    area = sum(ring.area() for ring in rings)
    length = sum(float((np.hypot(*ring.steps().T) * (1 + ring.bulges**2)).sum()) for ring in rings)
    if area <= 0:
        raise GeometryError("the holes are larger than the outer ring: no metal is left")
    return 2 * area / length


def _chorded(sleeves: list[Sleeved], width: float, fineness: float) -> tuple[Floats, Rim]:
    """All rings as straight edges, those of an arc knowing its centre and those of a sleeve the sleeve."""
    rings = [each.ring for each in sleeves]
    start = np.concatenate([ring.points for ring in rings])
    end = np.concatenate([np.roll(ring.points, -1, axis=0) for ring in rings])
    bulge, owner = (np.concatenate([getattr(ring, name) for ring in rings]) for name in ("bulges", "terminal"))
    number = np.repeat(np.arange(len(rings)), [len(ring.points) for ring in rings])
    edge, xy, arc, centre = _cut(start, end, bulge, width, fineness)
    following = np.arange(1, len(edge) + 1)
    sizes = np.bincount(number[edge])
    following[np.cumsum(sizes) - 1] = np.cumsum(sizes) - sizes
    ends = np.column_stack([np.arange(len(edge)), following])
    corners = _corners_of_sleeves(sleeves)
    wide = corners[:, :, 1:].any(axis=(1, 2, 3))
    sleeve = np.where(wide, np.cumsum(wide) - 1, -1)
    return xy, Rim(ends, arc[edge], owner[edge], number[edge], centre, sleeve[edge], corners[wide])


def _cut(start: Floats, end: Floats, bulge: Floats, width: float, fineness: float) -> tuple[Ints, Floats, Ints, Floats]:
    """Edges cut into chords: of each chord its edge and its start; of each edge its arc (-1: straight); the centres."""
    bent = bulge != 0
    chords = _chord_counts(np.hypot(*(end - start).T), bulge, width, fineness)
    cuts = chords + bent
    edge = np.repeat(np.arange(len(cuts)), cuts)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(cuts) - cuts, cuts)
    share = np.where(bent[edge] & (place > 0), place - 0.5, place) / chords[edge]
    centre = centres_of(start[bent], end[bent], bulge[bent])
    arc = np.where(bent, np.cumsum(bent) - 1, -1)
    xy = start[edge] + share[:, None] * (end - start)[edge]
    on_arc = np.flatnonzero(bent[edge] & (place > 0))
    xy[on_arc] = turned_about(
        centre[arc[edge[on_arc]]], start[edge[on_arc]], (4 * np.arctan(bulge[edge]) * share)[on_arc]
    )
    return edge, xy, arc, centre


def _chorded_seams(xy: Floats, rim: Rim, seams: "Seams", width: float, fineness: float) -> tuple[Floats, Rim]:
    """The rim and its seams, whose ends have the places of rim points to the last digit and so become those."""
    edge, cuts, arc, centre = _cut(seams.start, seams.end, seams.bulge, width, fineness)
    first = len(xy)
    last = np.append(edge[1:] != edge[:-1], [True] * (len(edge) > 0)).astype(bool)
    following = first + np.where(last, len(cuts) + edge, np.arange(1, len(edge) + 1))
    everything = np.concatenate([xy, cuts, seams.end])
    _, where, same = np.unique(everything, axis=0, return_index=True, return_inverse=True)
    same = where[same.ravel()]
    kept = np.unique(np.append(np.arange(first), same))
    ends = np.searchsorted(kept, same[np.column_stack([first + np.arange(len(cuts)), following])])
    none = np.full(len(ends), -1, dtype=np.intp)
    arcs = np.where(arc[edge] >= 0, arc[edge] + len(rim.centres), -1)
    both = replace(rim, centres=np.concatenate([rim.centres, centre]))
    alone = Rim(ends, arcs, none, -1 - edge, both.centres, none, rim.sleeves, seams.sides)
    return everything[kept], both.joined(alone)


def _fault_of_seams(xy: Floats, rim: Rim) -> str:
    """Where the chords of a seam meet other chords beside their common ends; empty if nowhere."""
    import shapely

    lines = shapely.linestrings(xy[rim.ends])
    seam = np.flatnonzero(rim.ring < 0)
    one, other = shapely.STRtree(lines).query(lines[seam], predicate="intersects")
    one = seam[one]
    shared = (rim.ends[one][:, :, None] == rim.ends[other][:, None, :]).any(axis=(1, 2))
    crossing = np.flatnonzero(~shared)
    if not len(crossing):
        return ""
    x, y = xy[rim.ends[one[crossing[0]]]].mean(axis=0)
    return f"the edge of a thickness region all but touches a rim or another region at ({x:g}, {y:g})"


def _corners_of_sleeves(sleeves: list[Sleeved]) -> Floats:
    """Of both ends of each edge (n, 2, 3, 2) its place and its moves outward and inward."""
    start = [np.stack([each.ring.points, each.outward, each.inward], axis=1) for each in sleeves]
    ends: Floats = np.stack([np.concatenate([np.roll(ring, -k, axis=0) for ring in start]) for k in (0, 1)], axis=1)
    return ends


def _chord_counts(length: Floats, bulge: Floats, width: float, fineness: float) -> Ints:
    """Pieces of each edge: a straight one is cut at about ``width``, an arc into few chords (with short ones at its
    ends: one more piece)."""
    angle = 4 * np.abs(np.arctan(bulge))
    bent = bulge != 0
    radius = length * (1 + bulge**2) / np.where(bent, 4 * np.abs(bulge), 1.0)
    by_sagitta = 2 * np.arccos(np.maximum(1 - _SAGITTA * width / radius, 0.0))
    of_arc = np.ceil(angle / (fineness * np.minimum(by_sagitta, _WIDEST_CHORD)) - 1e-9)
    counts: Ints = np.maximum(1, np.where(bent, of_arc, np.round(length / width))).astype(np.intp)
    return counts


def _polygons(xy: Floats, rim: Rim) -> list[Floats]:
    return [xy[rim.ends[rim.ring == number, 0]] for number in range(int(rim.ring.max()) + 1)]


def _fault(xy: Floats, rim: Rim) -> str:
    """What is wrong with the chorded rings, in words with coordinates; empty if nothing is."""
    import shapely

    outer, *holes = _polygons(xy, rim)
    if any(len(ring) < 3 for ring in (outer, *holes)):
        return "a ring of fewer than three points"
    reason = str(shapely.is_valid_reason(shapely.Polygon(outer, holes)))
    if reason != "Valid Geometry":
        return reason
    lines = [shapely.LinearRing(ring) for ring in (outer, *holes)]
    if len(lines) == 1 or shapely.is_simple(shapely.MultiLineString(lines)):
        return ""
    touching = shapely.STRtree(lines).query(lines, predicate="intersects")
    one, other = next((int(a), int(b)) for a, b in touching.T if a < b)
    place = shapely.intersection(lines[one], lines[other]).representative_point()
    return f"rings {one} and {other} touch at ({place.x:g}, {place.y:g})"


def _check_terminals(domain: Domain, rim: Rim) -> None:
    """Each terminal has its edges and shares no point with another."""
    if len(domain.terminals) < 2:
        raise GeometryError(f"a resistance needs two terminals, got {len(domain.terminals)}")
    count = len(domain.terminals)
    owners = {index: set(rim.ends[rim.terminal == index].ravel().tolist()) for index in range(count)}
    for index, terminal in enumerate(domain.terminals):
        if not owners[index]:
            raise GeometryError(f"terminal {index} ({terminal}) is not on the metal")
        for other in range(index):
            if owners[index] & owners[other]:
                raise GeometryError(f"terminals {other} and {index} touch: the resistance between them is nothing")
