"""Closed lines on layers of their own inside which the plate has another thickness: bosses, thinned and worn places."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Any

from griddesign.errors import GeometryError
from griddesign.plate.foreign.chaining import chained
from griddesign.plate.foreign.content import content_of
from griddesign.plate.foreign.curves import Curve, fitted
from griddesign.plate.foreign.document import Drawing
from griddesign.plate.foreign.entities import Shape
from griddesign.plate.foreign.frame import Frame
from griddesign.plate.foreign.loose import loose_ends
from griddesign.plate.foreign.records import ForeignRegion, Healed
from griddesign.plate.foreign.sorting import RING_SAGITTA, Sorted, recognised
from griddesign.plate.outline import Circle, Hole, Segment

if TYPE_CHECKING:
    from shapely import Polygon

MOST_LINES = 50  # of all regions: far above any plate; each steps the field along its whole rim, and so many take 10 s
_CURVE_SHARE = 0.02  # of the tolerance, as for the outline itself
_BESIDE = "A region is the metal inside a closed line; let it reach over the rim where it is to go up to it."


def regions_of(
    drawing: Drawing, layers: Sequence[str], plate: Sorted, tolerance_m: float, frame: Frame
) -> tuple[ForeignRegion, ...]:
    """The regions of each of ``layers``: closed lines that may reach over rims and lie in one another, not cross.

    Raises:
        InputError: a layer the drawing does not have.
        GeometryError: a layer without closed lines or with open ones, more than ``MOST_LINES`` of them, a region beside
            the metal, regions that cross.
    """
    found = [_region(drawing, name, tolerance_m, frame) for name in layers]
    lines = sum(len(one.loops) for one in found)
    if lines > MOST_LINES:
        raise GeometryError(
            f"the thickness regions have {lines} closed lines; more than {MOST_LINES} are not solved",
            hint="Leave out the small ones, or draw one region around those that lie close together.",
        )
    areas = [(one.layer, [_area(loop, tolerance_m) for loop in one.loops]) for one in found]
    metal = plate.body.difference(_all(plate.hole_polygons))
    for name, of_layer in areas:
        _check_on_metal(name, of_layer, metal, tolerance_m, frame)
    _check_apart([(name, area) for name, of_layer in areas for area in of_layer], metal, tolerance_m, frame)
    return tuple(found)


def _region(drawing: Drawing, name: str, tolerance_m: float, frame: Frame) -> ForeignRegion:
    """The closed lines of a layer."""
    shapes = content_of(drawing, (name,)).shapes
    segments = list(_segments(shapes, tolerance_m, frame))
    circles = [frame.circle_m(shape) for shape in shapes if isinstance(shape, Circle)]
    chain = chained(segments, tolerance_m, frame)
    loops = (*chain.loops, *circles)
    if chain.open_chains:
        told = loose_ends(chain.open_chains, loops, tolerance_m, frame)
        raise GeometryError(f"thickness region {name}: {told}", hint=_BESIDE)
    if not loops:
        raise GeometryError(f"layer {name} holds no closed line for a thickness region", hint=_BESIDE)
    healed = tuple(Healed(frame.in_file_m(at), gap) for at, gap in chain.healed)
    return ForeignRegion(name, tuple(recognised(loop, tolerance_m) for loop in loops), healed)


def _segments(shapes: Sequence[Shape], tolerance_m: float, frame: Frame) -> Iterator[Segment]:
    for shape in shapes:
        if isinstance(shape, Curve):
            curve = fitted(shape, _CURVE_SHARE * tolerance_m / frame.metres)
            yield from (frame.segment_m(segment) for segment in curve.segments)
        elif not isinstance(shape, Circle):
            yield frame.segment_m(shape)


def _area(loop: Hole, tolerance_m: float) -> "Polygon":
    from shapely import Polygon

    return Polygon(loop.ring(RING_SAGITTA * tolerance_m, "mid"))


def _all(polygons: "Sequence[Polygon]") -> Any:
    import shapely

    return shapely.union_all(list(polygons))


def _check_on_metal(name: str, areas: "list[Polygon]", metal: Any, tolerance_m: float, frame: Frame) -> None:
    """Every line of a layer that lies in no other of it bounds metal."""
    for area in areas:
        if not area.is_valid:
            raise GeometryError(
                f"thickness region {name}: a closed line crosses or touches itself near {frame.said(_place(area))}",
                hint="Part it there, or delete the piece that is too many.",
            )
        inner = any(other is not area and other.contains(area) for other in areas)
        if not inner and metal.intersection(area).buffer(-tolerance_m).is_empty:
            raise GeometryError(
                f"thickness region {name} lies outside the metal: its line about {frame.said(_place(area))} holds none",
                hint=_BESIDE,
            )


def _check_apart(areas: "list[tuple[str, Polygon]]", metal: Any, tolerance_m: float, frame: Frame) -> None:
    """Of any two closed lines one lies in the other, or on metal they lie beside each other."""
    for (name, one), (other_name, other) in combinations(areas, 2):
        common = metal.intersection(one.intersection(other)).buffer(-tolerance_m)
        rest = [metal.intersection(a.difference(b)).buffer(-tolerance_m) for a, b in ((one, other), (other, one))]
        if common.is_empty or any(part.is_empty for part in rest):
            continue
        place = common.representative_point()
        raise GeometryError(
            f"thickness regions {name} and {other_name} cross: both cover {frame.said((place.x, place.y))}",
            hint="Draw them beside each other, or one wholly inside the other.",
        )


def _place(area: "Polygon") -> tuple[float, float]:
    centre = area.envelope.centroid
    return centre.x, centre.y
