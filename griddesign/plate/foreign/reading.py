"""A stranger's DXF file read into an outline: every step in order, and a record of all that was done to it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from griddesign.errors import GeometryError, InputError
from griddesign.plate.foreign.chaining import Chained, chained
from griddesign.plate.foreign.content import Content, content_of
from griddesign.plate.foreign.curves import Curve, Fitted, fitted
from griddesign.plate.foreign.document import Drawing, drawing_of
from griddesign.plate.foreign.entities import Shape
from griddesign.plate.foreign.frame import METRES, Frame, frame_for, header_unit, unit_of
from griddesign.plate.foreign.loose import loose_ends
from griddesign.plate.foreign.nearness import Cells
from griddesign.plate.foreign.opening import bytes_of, tags_of
from griddesign.plate.foreign.records import ForeignPlate, FoundHole, Healed, Piece
from griddesign.plate.foreign.sorting import Sorted, equal_diameter_m, in_or_at_metal, sorted_loops
from griddesign.plate.foreign.terminals import terminals_of
from griddesign.plate.outline import Circle, Mark, Outline, Point, Segment
from griddesign.telling import tell

DEFAULT_TOLERANCE_M = 1e-5
SMALLEST_TOLERANCE_M, LARGEST_TOLERANCE_M = 1e-7, 1e-3
MOST_ARCS = 20_000  # in place of all curves of a drawing together
_CURVE_SHARE = 0.02  # of the tolerance: how far arcs may be from the ellipse or spline they stand for


@dataclass(frozen=True, slots=True)
class _Joined:
    """The plate found and what was done to find it, metres in the frame."""

    plate: Sorted
    chain: Chained
    strays: tuple[tuple[Segment, ...], ...]
    twins: tuple[Circle, ...]
    curve_deviation_m: float


def read_dxf(
    path: Path,
    *,
    units: str | None = None,
    tolerance_m: float | None = None,
    terminals: Sequence[str] = (),
    layers: Sequence[str] = (),
    areas: int = 0,
    regions: Sequence[str] = (),
) -> ForeignPlate:
    """The plate in a DXF file, R12 to R2018, ASCII or binary, as true lines and arcs in metres.

    ``units`` (``mm``, ``cm``, ``m``, ``inch``) is needed where the header does not say, and goes before the header.
    ``tolerance_m`` (default 0.01 mm, 0.0001 to 1 mm) is the widest gap healed and the width below which two lines are
    one; ellipses and splines become arcs within a fiftieth of it. ``terminals`` names two holes, H1 and on from left to
    right; ``areas`` of the two terminals are no holes at all. ``layers`` limits what is cut; without it everything in
    model space that shows, except text, dimensions, hatches, points and centre lines, is cut. ``regions`` names layers
    that are not cut: their closed lines bound other thicknesses.

    Raises InputError where the file is no DXF, cut short, empty, too large or its unit unknown, GeometryError (with
    coordinates in the drawing's unit) where its lines do not make one plate beyond doubt.
    """
    tolerance = _tolerance(tolerance_m)
    drawing = drawing_of(tags_of(bytes_of(path)))
    unit, from_header = unit_of(drawing.unit_code, units)
    _check_regions(layers, regions)
    content = content_of(drawing, layers, regions)
    _check_content(content, tolerance / METRES[unit], unit)
    frame = frame_for(unit, [point for shape in content.shapes for point in _span(shape)], tolerance)
    joined = _join(content.shapes, tolerance, frame)
    record = _record(drawing, content, joined, tolerance, frame, from_header)
    if regions:
        from griddesign.plate.foreign.regions import regions_of

        record = replace(record, regions=regions_of(drawing, regions, joined.plate, tolerance, frame))
    tell(lambda: _told(path, record, len(content.shapes)))
    return _with_terminals(record, terminals, areas, frame)


def _told(path: Path, found: ForeignPlate, shapes: int) -> str:
    """What was read, in words."""
    out = sum(each.count for each in found.ignored)
    return (
        f"{path} read: {found.release}, {found.units} ({found.units_from}), {shapes} shapes cut, {out} left out, "
        f"{len(found.holes)} holes, {len(found.healed)} gaps closed, {len(found.strays)} stray lines"
    )


def _check_regions(layers: Sequence[str], regions: Sequence[str]) -> None:
    twice = {name.upper() for number, name in enumerate(regions) if name.upper() in map(str.upper, regions[:number])}
    if twice:
        raise InputError(f"layer {min(twice)!r} is given two thicknesses", hint="Draw the two on layers of their own.")
    both = {name.upper() for name in layers} & {name.upper() for name in regions}
    if both:
        raise InputError(
            f"layer {min(both)!r} is named as the outline and as a thickness region",
            hint="Draw the region on a layer of its own.",
        )


def _tolerance(asked: float | None) -> float:
    tolerance = DEFAULT_TOLERANCE_M if asked is None else asked
    if not SMALLEST_TOLERANCE_M <= tolerance <= LARGEST_TOLERANCE_M:
        raise InputError(
            f"a tolerance of {1000 * tolerance:.4g} mm cannot be used to close gaps",
            hint=f"Give 0.0001 to {1000 * LARGEST_TOLERANCE_M:.0f} mm; wider gaps are faults.",
        )
    return tolerance


def _check_content(content: Content, tolerance: float, unit: str) -> None:
    """Something to cut, all at one height. ``tolerance`` in the drawing's unit."""
    if not content.shapes:
        left_out = ", ".join(f"{n.count} {n.kind} on layer {n.layer} ({n.why})" for n in content.ignored())
        raise GeometryError(
            "the drawing holds no lines to cut" + (f"; left out: {left_out}" if left_out else ""),
            hint="Draw the outline in model space, on layers that show.",
        )
    low, high = min(content.heights), max(content.heights)
    if high - low > tolerance:
        raise GeometryError(
            f"the drawing is not flat: its heights z run from {low:.6g} to {high:.6g} {unit}",
            hint="Flatten it: a plate is drawn at one height.",
        )


def _span(shape: Shape) -> list[Point]:
    """Points that tell how far a shape reaches, roughly."""
    if isinstance(shape, Circle):
        (x, y), r = shape.centre, shape.radius_m
        return [(x - r, y - r), (x + r, y + r)]
    if isinstance(shape, Curve):
        import numpy as np

        places = np.array([knot for stretch in shape.stretches for knot in stretch.breaks])
        return [(float(x), float(y)) for x, y in shape.stretches[0].at(places)[0]]
    return list(shape.extremes())


def _join(shapes: Sequence[Shape], tolerance_m: float, frame: Frame) -> _Joined:
    segments = [frame.segment_m(shape) for shape in shapes if not isinstance(shape, Circle | Curve)]
    curves = _all_fitted([shape for shape in shapes if isinstance(shape, Curve)], tolerance_m / frame.metres)
    segments += [frame.segment_m(segment) for curve in curves for segment in curve.segments]
    circles, twins = _without_twins([frame.circle_m(s) for s in shapes if isinstance(s, Circle)], tolerance_m)
    chain = chained(segments, tolerance_m, frame)
    loops = (*chain.loops, *circles)
    if not loops:
        raise loose_ends(chain.open_chains, loops, tolerance_m, frame)
    try:
        plate = sorted_loops(loops, tolerance_m, frame)
    except GeometryError as error:
        raise (loose_ends(chain.open_chains, loops, tolerance_m, frame) if chain.open_chains else error) from error
    if in_the_way := in_or_at_metal(chain.open_chains, plate):
        raise loose_ends(in_the_way, loops, tolerance_m, frame)
    deviation_m = max((curve.deviation for curve in curves), default=0.0) * frame.metres
    return _Joined(plate, chain, chain.open_chains, tuple(twins), deviation_m)


def _all_fitted(curves: Sequence[Curve], tolerance: float) -> list[Fitted]:
    """Arcs for every curve. ``tolerance`` in the drawing's unit. Raises GeometryError where they come to too many."""
    done: list[Fitted] = []
    arcs = 0
    for curve in curves:
        done.append(fitted(curve, _CURVE_SHARE * tolerance))
        arcs += len(done[-1].segments)
        if arcs > MOST_ARCS:
            raise GeometryError(
                f"the drawing's {len(curves)} ellipses and splines come to more than {MOST_ARCS} arcs",
                hint="Export the plate alone, turn them into arcs in the drawing program, or allow a wider --heal.",
            )
    return done


def _without_twins(circles: Sequence[Circle], tolerance_m: float) -> tuple[list[Circle], list[Circle]]:
    """Circles kept, and circles dropped because another runs the same course within the tolerance."""
    cells = Cells(tolerance_m)
    kept: list[Circle] = []
    dropped: list[Circle] = []
    for circle in circles:
        reach = min(tolerance_m, circle.radius_m / 10)
        near = cells.near(circle.centre, reach)
        if any(apart + abs(circle.radius_m - kept[number].radius_m) <= reach for number, apart in near):
            dropped.append(circle)
        else:
            cells.add(len(kept), circle.centre)
            kept.append(circle)
    return kept, dropped


def _record(
    drawing: Drawing, content: Content, joined: _Joined, tolerance_m: float, frame: Frame, from_header: bool
) -> ForeignPlate:
    """The record with everything but its terminals."""
    plate, chain = joined.plate, joined.chain
    holes = tuple(_holes(plate, frame))
    marks = tuple(Mark(hole.name, _moved(hole.centre_m, frame)) for hole in holes)
    return ForeignPlate(
        outline=Outline(plate.outer, plate.holes, marks=marks),
        units=frame.unit,
        units_from="header" if from_header else "given",
        release=drawing.release,
        tolerance_m=tolerance_m,
        origin_m=frame.origin_m,
        holes=holes,
        terminals=(),
        terminals_why="",
        healed=tuple(Healed(frame.in_file_m(at), gap) for at, gap in chain.healed),
        doubled=(
            *(_piece((segment,), frame) for segment in chain.doubled),
            *(_rim(twin, frame) for twin in joined.twins),
        ),
        strays=tuple(_piece(stray, frame) for stray in joined.strays),
        short_pieces=chain.short_pieces,
        ignored=content.ignored(),
        curves=sum(isinstance(shape, Curve) for shape in content.shapes),
        curve_deviation_m=joined.curve_deviation_m,
        remarks=tuple(_remarks(drawing, content, frame, from_header)),
    )


def _holes(plate: Sorted, frame: Frame) -> Iterator[FoundHole]:
    for k, (hole, polygon) in enumerate(zip(plate.holes, plate.hole_polygons, strict=True)):
        round_hole = isinstance(hole, Circle)
        centre = hole.centre if isinstance(hole, Circle) else (polygon.centroid.x, polygon.centroid.y)
        yield FoundHole(f"H{k + 1}", frame.in_file_m(centre), equal_diameter_m(hole), round_hole)


def _moved(point_m: Point, frame: Frame) -> Point:
    """A point in the drawing's axes to the outline's."""
    return (point_m[0] - frame.origin_m[0], point_m[1] - frame.origin_m[1])


def _piece(chain: Sequence[Segment], frame: Frame) -> Piece:
    start, end = frame.in_file_m(chain[0].start), frame.in_file_m(chain[-1].end)
    return Piece(start, end, sum(segment.length_m for segment in chain), len(chain))


def _rim(circle: Circle, frame: Frame) -> Piece:
    start = frame.in_file_m((circle.centre[0] + circle.radius_m, circle.centre[1]))
    return Piece(start, start, circle.perimeter_m)


def _remarks(drawing: Drawing, content: Content, frame: Frame, from_header: bool) -> Iterator[str]:
    said = header_unit(drawing.unit_code)
    if not from_header and said not in {"nothing", frame.unit}:
        yield f"the header says {said}, read as {frame.unit} as asked"
    if content.wide:
        yield f"{content.wide} polyline(s) are drawn with a width: their centre line is taken as the cut"
    if any(frame.origin_m):
        yield f"the drawing lies far from its origin: the outline is moved there from {frame.said((0.0, 0.0))}"
    if content.heights[0]:
        yield f"drawn at height z = {content.heights[0]:.6g} {frame.unit}, taken as flat"


def _with_terminals(record: ForeignPlate, asked: Sequence[str], areas: int, frame: Frame) -> ForeignPlate:
    names, why = terminals_of(record.holes, asked, frame, areas)
    index = {hole.name: k for k, hole in enumerate(record.holes)}
    return replace(
        record,
        outline=replace(record.outline, terminals=tuple(index[name] for name in names)),
        holes=tuple(replace(hole, is_terminal=hole.name in names) for hole in record.holes),
        terminals=names,
        terminals_why=why,
    )
