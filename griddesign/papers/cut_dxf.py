"""The file a cutting machine reads: closed loops of true lines, arcs and circles, and nothing else."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import atan2, cos, degrees, dist, isclose, radians, sin
from typing import TYPE_CHECKING, Any

from griddesign.errors import OutputError
from griddesign.papers.dxf_library import (
    UNITS_PER_M,
    DxfVersion,
    LengthUnit,
    dxf_bytes,
    new_document,
    read_dxf,
    set_extents,
)
from griddesign.plate.outline import Arc, Circle, Hole, Line, Loop, Outline, Point, Segment

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

OUTER_LAYER, HOLE_LAYER = "CUT_OUTER", "CUT_HOLES"
_CLOSE = 1e-9  # of the plate's size: how far two ends may lie apart and still be the same point
_FAR_M = 1e-6  # no plate is a kilometre long: ends that far apart need no closer look
_TRUE = 1e-9  # relative: how far area and perimeter of the file may be from the outline's


def solved_dxf(outline: Outline, regions: Mapping[str, Sequence[Hole]], unit: LengthUnit = "mm") -> bytes:
    """The outline exactly as solved: as ``cut_dxf``, and on layers of their own the closed lines of regions of another
    thickness, by layer. Raises OutputError as ``cut_dxf``, or where a layer of a region has the name of one cut."""
    taken = {name.upper() for name in regions} & {OUTER_LAYER, HOLE_LAYER}
    if taken:
        raise OutputError(
            f"a thickness region on layer {taken.pop()} would be cut",
            hint="Give its layer another name in the drawing.",
        )
    return _written([outline], unit, "R2000", regions)


def cut_dxf(outline: Outline, unit: LengthUnit = "mm", version: DxfVersion = "R2000") -> bytes:
    """The outline as DXF, holes first so that a machine keeping the order cuts them while the plate is still held.

    The file is read back and audited before it is handed out: raises OutputError where a loop is open or area or
    perimeter differ from the outline's by more than 1e-9.
    """
    return sheet_dxf([outline], unit, version)


def sheet_dxf(outlines: Sequence[Outline], unit: LengthUnit = "mm", version: DxfVersion = "R2000") -> bytes:
    """Several outlines where they lie on a sheet, plate by plate, of each the holes first. Proved as ``cut_dxf``, and
    by the count of plates and holes."""
    return _written(outlines, unit, version, {})


def _written(
    outlines: Sequence[Outline], unit: LengthUnit, version: DxfVersion, regions: Mapping[str, Sequence[Hole]]
) -> bytes:
    document = new_document(version, unit)
    for name in (HOLE_LAYER, OUTER_LAYER, *regions):
        document.layers.add(name, color=7)
    scale = UNITS_PER_M[unit]
    space = document.modelspace()
    for outline in outlines:
        for hole in outline.holes:
            _draw_hole(space, hole, scale, HOLE_LAYER)
        _draw_loop(space, outline.outer, scale, OUTER_LAYER)
    for name, loops in regions.items():
        for loop in loops:
            _draw_hole(space, loop, scale, name)
    left, low, right, high = _box(outlines, scale)
    set_extents(document, (left, low, right, high))
    document.set_modelspace_vport(height=1.1 * (high - low), center=((left + right) / 2, (low + high) / 2))
    content = dxf_bytes(document)
    _prove(content, outlines, unit, regions)
    return content


def _box(outlines: Sequence[Outline], scale: float) -> tuple[float, ...]:
    boxes = [outline.bounding_box_m for outline in outlines]
    return tuple(scale * end(box[side] for box in boxes) for side, end in enumerate((min, min, max, max)))


def _draw_hole(space: "Modelspace", hole: Hole, scale: float, layer: str) -> None:
    if isinstance(hole, Circle):
        space.add_circle(_times(hole.centre, scale), hole.radius_m * scale, dxfattribs={"layer": layer})
    else:
        _draw_loop(space, hole, scale, layer)


def _draw_loop(space: "Modelspace", loop: Loop, scale: float, layer: str) -> None:
    look = {"layer": layer}
    for segment in loop.segments:
        start, end = _times(segment.start, scale), _times(segment.end, scale)
        if isinstance(segment, Line):
            space.add_line(start, end, dxfattribs=look)
            continue
        centre = _times(segment.centre, scale)
        angles = [degrees(atan2(y - centre[1], x - centre[0])) for x, y in (start, end)]
        first, last = angles if segment.ccw else reversed(angles)
        space.add_arc(centre, segment.radius_m * scale, first, last, dxfattribs=look)


def _times(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _prove(
    content: bytes, outlines: Sequence[Outline], unit: LengthUnit, regions: Mapping[str, Sequence[Hole]]
) -> None:
    found = _read_layers(content, unit, (OUTER_LAYER, HOLE_LAYER, *regions))
    outers, holes = [shape for shape in found[OUTER_LAYER] if isinstance(shape, Loop)], found[HOLE_LAYER]
    for name, loops in regions.items():
        got, wanted = (sum(loop.area_m2 for loop in every) for every in (found[name], loops))
        if len(found[name]) != len(loops) or not isclose(got, wanted, rel_tol=_TRUE):
            raise OutputError(f"the thickness region {name} read back covers {got:.9g}, not {wanted:.9g}")
    counts = len(outlines), sum(len(outline.holes) for outline in outlines)
    if (len(outers), len(holes)) != counts:
        raise OutputError(
            f"the cutting file read back holds {len(outers)} plates with {len(holes)} holes, not {counts[0]} with "
            f"{counts[1]}"
        )
    area_m2 = sum(outer.area_m2 for outer in outers) - sum(hole.area_m2 for hole in holes)
    perimeter_m = sum(loop.perimeter_m for loop in (*outers, *holes))
    wanted_m2, wanted_m = (sum(getattr(one, name) for one in outlines) for name in ("area_m2", "perimeter_m"))
    for what, got, wanted in (("area", area_m2, wanted_m2), ("perimeter", perimeter_m, wanted_m)):
        if not isclose(got, wanted, rel_tol=_TRUE):
            raise OutputError(f"the cutting file's {what} read back is {got:.9g}, the plate's is {wanted:.9g}")


def read_cut(content: bytes, unit: LengthUnit) -> tuple[Loop, tuple[Circle | Loop, ...]]:
    """A cutting file read back: outer loop and holes, metres. Raises OutputError where it is not clean or is open."""
    outers, holes = read_sheet(content, unit)
    if len(outers) != 1:
        raise OutputError(f"the cutting file holds {len(outers)} outer loops where one is wanted")
    return outers[0], holes


def read_sheet(content: bytes, unit: LengthUnit) -> tuple[tuple[Loop, ...], tuple[Circle | Loop, ...]]:
    """A sheet read back: all outer loops and all holes, metres. Raises OutputError as ``read_cut`` does."""
    found = _read_layers(content, unit, (OUTER_LAYER, HOLE_LAYER))
    return tuple(shape for shape in found[OUTER_LAYER] if isinstance(shape, Loop)), found[HOLE_LAYER]


def _read_layers(content: bytes, unit: LengthUnit, layers: Sequence[str]) -> dict[str, tuple[Circle | Loop, ...]]:
    """All closed lines by layer, metres; a line on any other layer is refused."""
    document = read_dxf(content)
    auditor = document.audit()
    if auditor.errors or auditor.fixes:
        raise OutputError(f"the cutting file does not read back clean: {len(auditor.errors)} error(s)")
    scale = UNITS_PER_M[unit]
    on_layer: dict[str, list[Any]] = {name: [] for name in layers}
    for entity in document.modelspace():
        if entity.dxf.layer not in on_layer or entity.dxftype() not in {"LINE", "ARC", "CIRCLE"}:
            raise OutputError(f"the cutting file holds a {entity.dxftype()} on layer {entity.dxf.layer}")
        on_layer[entity.dxf.layer].append(entity)
    return {name: tuple(_shapes(entities, scale)) for name, entities in on_layer.items()}


def _shapes(entities: Iterable[Any], scale: float) -> Iterator[Circle | Loop]:
    """Circles as they are, lines and arcs chained end to end in the file's order; whatever stays open is refused."""
    chain: list[Segment] = []
    for entity in entities:
        if entity.dxftype() == "CIRCLE":
            yield Circle(_flat(entity.dxf.center, scale), entity.dxf.radius / scale)
            continue
        chain.append(_turned_to_follow(_segment(entity, scale), chain))
        if len(chain) > 1 and _meet(chain[-1].end, chain[0].start, chain):
            yield Loop(tuple(chain))
            chain = []
    if chain:
        raise OutputError(f"the cutting file's last loop of {len(chain)} pieces is open")


def _segment(entity: Any, scale: float) -> Segment:
    if entity.dxftype() == "LINE":
        return Line(_flat(entity.dxf.start, scale), _flat(entity.dxf.end, scale))
    (x, y), radius = _flat(entity.dxf.center, scale), entity.dxf.radius / scale
    start, end = (radians(angle) for angle in (entity.dxf.start_angle, entity.dxf.end_angle))
    ends = [(x + radius * cos(angle), y + radius * sin(angle)) for angle in (start, end)]
    return Arc(ends[0], ends[1], (x, y), True)


def _turned_to_follow(segment: Segment, chain: list[Segment]) -> Segment:
    """A segment turned end for end where that lets it begin at the chain's end (a file's arcs all run one way)."""
    if not chain:
        return segment
    at = chain[-1].end
    if len(chain) == 1 and min(dist(at, segment.start), dist(at, segment.end)) > min(
        dist(chain[0].start, segment.start), dist(chain[0].start, segment.end)
    ):
        chain[0] = _turned(chain[0])
        at = chain[0].end
    return segment if dist(at, segment.start) <= dist(at, segment.end) else _turned(segment)


def _turned(segment: Segment) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.end, segment.start)
    return Arc(segment.end, segment.start, segment.centre, not segment.ccw)


def _meet(one: Point, other: Point, chain: list[Segment]) -> bool:
    gap_m = dist(one, other)
    if gap_m > _FAR_M:
        return False
    size = max(abs(value) for segment in chain for point in (segment.start, segment.end) for value in point)
    return gap_m <= _CLOSE * size


def _flat(point: Any, scale: float) -> Point:
    return point.x / scale, point.y / scale
