"""A plate whose thickness is not the same all over: regions of their own thickness, and a taper.

Everything here is exact but for arcs, which areas and lengths take as chords within a micrometre.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot
from typing import TYPE_CHECKING, Any

from griddesign.errors import GeometryError
from griddesign.figures import Figure
from griddesign.plate.outline import Circle, Hole, Outline, Point

if TYPE_CHECKING:
    from griddesign.plate.field.domain import Slope, Thickness

_SAGITTA_M = 1e-6
_SAME = 1e-6  # of the plate's extent: places nearer to one line than that do not tell a plane


@dataclass(frozen=True, slots=True)
class Reading:
    """A thickness and where it was taken."""

    at_m: Point
    thickness_m: float


@dataclass(frozen=True, slots=True)
class ThickRegion:
    """Closed lines inside which the plate has ``thickness`` (metres). A line inside another of the same region ends it:
    between two circles it is a ring."""

    name: str
    loops: tuple[Hole, ...]
    thickness: Figure


@dataclass(frozen=True, slots=True)
class Plane:
    """A thickness in metres, linear in the plane: ``level_m + along_x x + along_y y``."""

    level_m: float
    along_x: float = 0.0
    along_y: float = 0.0

    def at(self, point: Point) -> float:
        """The thickness at a point."""
        return self.level_m + self.along_x * point[0] + self.along_y * point[1]

    def over(self, shape: Any, size: float) -> float:
        """Its integral over a shape (area or line) of shapely of that size."""
        return size * self.at((shape.centroid.x, shape.centroid.y)) if size else 0.0

    def share(self, nominal_m: float) -> "Slope":
        """As a part of the nominal thickness."""
        from griddesign.plate.field.domain import Slope

        return Slope(self.level_m / nominal_m, self.along_x / nominal_m, self.along_y / nominal_m)


@dataclass(frozen=True, slots=True)
class Uneven:
    """Regions of their own thickness in a plate that else has its nominal one, or tapers through two or three readings.

    ``snap_m``: a region's line nearer than that to a rim lies on it.
    """

    regions: tuple[ThickRegion, ...] = ()
    readings: tuple[Reading, ...] = ()
    snap_m: float = 0.0

    def pinned(self, end: str) -> "Uneven":
        """With the thickness of every region at one end of its range, ``"low"`` or ``"high"``."""
        regions = tuple(replace(region, thickness=region.thickness.pinned(end)) for region in self.regions)
        return replace(self, regions=regions)

    @property
    def ranges(self) -> bool:
        """Whether the thickness of any region is a range."""
        return any(region.thickness.low < region.thickness.high for region in self.regions)

    def base(self, nominal_m: float) -> Plane:
        """The thickness outside all regions."""
        return plane_through(self.readings) if self.readings else Plane(nominal_m)


@dataclass(frozen=True, slots=True)
class Laid:
    """One closed line of a region: its metal (a shape of shapely), the thickness inside, and what it lies in."""

    name: str
    loop: Hole
    metal: Any
    inside: Plane
    around: Plane


def plane_through(readings: Sequence[Reading]) -> Plane:
    """Through two places, along the line between them and the same across it; through three, the plane.

    Raises:
        GeometryError: one place or more than three, two at one place, three on one line.
    """
    if not 2 <= len(readings) <= 3:
        raise GeometryError(
            f"a taper is told by the thickness at two or three places, not at {len(readings)}",
            hint="Two: it changes along the line between them. Three: also across.",
        )
    (x, y), first = readings[0].at_m, readings[0].thickness_m
    steps = [(one.at_m[0] - x, one.at_m[1] - y, one.thickness_m - first) for one in readings[1:]]
    (a, b, c), (d, e, f) = steps if len(steps) == 2 else (steps[0], (-steps[0][1], steps[0][0], 0.0))
    size = a * e - b * d
    if not abs(size) > _SAME * hypot(a, b) * hypot(d, e):
        raise GeometryError("the places of the thicknesses lie on one line, or on each other: they tell no taper")
    along_x, along_y = (c * e - b * f) / size, (a * f - c * d) / size
    return Plane(first - along_x * x - along_y * y, along_x, along_y)


def nominal_of(readings: Sequence[Reading], outline: Outline) -> float:
    """The mean thickness of a plate that tapers. Raises GeometryError where it runs out to nothing on the plate."""
    plane = plane_through(readings)
    left, low, right, high = outline.bounding_box_m
    least = min(plane.at((x, y)) for x in (left, right) for y in (low, high))
    if not least > 0:
        raise GeometryError(
            f"the thicknesses given taper to {1000 * least:.4g} mm at a corner of the plate's rectangle",
            hint="Measure places far apart on the plate.",
        )
    metal = _metal(outline)
    return plane.over(metal, metal.area) / float(metal.area)


def field_thickness(uneven: Uneven, nominal_m: float, outline: Outline) -> "Thickness":
    """The thickness as the two-dimensional solve takes it."""
    from griddesign.plate.field.domain import Region, Thickness
    from griddesign.plate.field.plate_outline import ring_of_hole

    regions = tuple(
        Region(*ring_of_hole(laid.loop), laid.inside.share(nominal_m), laid.name)
        for laid in laid_out(uneven, nominal_m, outline)
    )
    deepest = max(nominal_m, *(region.thickness.value for region in uneven.regions), 0.0)
    return Thickness(uneven.base(nominal_m).share(nominal_m), regions, uneven.snap_m, deepest)


def laid_out(uneven: Uneven, nominal_m: float, outline: Outline) -> tuple[Laid, ...]:
    """Every closed line that bounds metal, the larger ones first."""
    metal, base = _metal(outline), uneven.base(nominal_m)
    lines = [
        (region, loop, metal.intersection(_polygon(loop)), Plane(region.thickness.value))
        for region in uneven.regions
        for loop in region.loops
    ]
    lines = sorted((line for line in lines if line[2].area > 0), key=lambda line: -float(line[2].area))
    laid: list[Laid] = []
    for region, loop, area, plane in lines:
        holders = [one for one in laid if one.metal.intersection(area).area > area.area / 2]
        own = [one for one in holders if one.name == region.name]
        around = holders[-1].inside if holders else base
        laid.append(Laid(region.name, loop, area, own[-1].around if len(own) % 2 else plane, around))
    return tuple(laid)


def volume_m3(uneven: Uneven, nominal_m: float, outline: Outline) -> float:
    """The volume of the metal."""
    metal = _metal(outline)
    whole = uneven.base(nominal_m).over(metal, metal.area)
    return whole + sum(
        one.inside.over(one.metal, one.metal.area) - one.around.over(one.metal, one.metal.area)
        for one in laid_out(uneven, nominal_m, outline)
    )


def area_of_m2(name: str, laid: Sequence[Laid]) -> float:
    """The metal of a region, one face: what lies in an odd number of its lines."""
    own = [one for one in laid if one.name == name]
    covers = [sum(other.metal.intersection(one.metal).area > one.metal.area / 2 for other in own) for one in own]
    return float(sum(one.metal.area * (1 if cover % 2 else -1) for one, cover in zip(own, covers, strict=True)))


def rim_m2(uneven: Uneven, nominal_m: float, outline: Outline) -> float:
    """The surface of the outer rim and of holes that are not round, which rods do not fill."""
    import shapely

    rings = [outline.outer, *(hole for hole in outline.holes if not isinstance(hole, Circle))]
    closed = [(*points, points[0]) for points in (ring.ring(_SAGITTA_M, "mid") for ring in rings)]
    lines = shapely.MultiLineString([shapely.LineString(points) for points in closed])
    found = uneven.base(nominal_m).over(lines, lines.length)
    for one in laid_out(uneven, nominal_m, outline):
        part = lines.intersection(one.metal.buffer(max(uneven.snap_m, _SAGITTA_M)))
        found += one.inside.over(part, part.length) - one.around.over(part, part.length)
    return found


def _metal(outline: Outline) -> Any:
    from shapely import Polygon

    outer, *holes = outline.polygon(_SAGITTA_M, "mid")
    return Polygon(outer, holes)


def _polygon(loop: Hole) -> Any:
    from shapely import Polygon

    return Polygon(loop.ring(_SAGITTA_M, "mid"))
