"""Drawing the outline of a zig-zag plate: along one side of the strip, round an eye, back along the other, round
the other.

Travelling so, the metal lies to the left. ``up`` is +1 where an edge of the plate is the upper one, -1 for the lower.
"""

from dataclasses import dataclass, field
from functools import lru_cache
from math import dist

from griddesign.plate.outline import Arc, Circle, Line, Loop, Mark, Outline, Point, Segment
from griddesign.plate.shapes import Zigzag, lug_foot_m


@lru_cache(maxsize=64)
def outline_of(shape: Zigzag) -> Outline:
    """The plate's outline, its lower left corner at the origin: x across the passes, y up, metres.

    Holes: the two terminal eyes in the order of the strip, then the support eye. Marks: the centres of the eyes.
    """
    pen = Pen(_neck_side(shape, 0, right=1).on_strip, scale_m=shape.height_m)
    for bend in range(shape.passes - 1):
        _turn(pen, shape, bend, bend + 1)
    round_eye(pen, shape, shape.passes - 1)
    for bend in reversed(range(shape.passes - 1)):
        _turn(pen, shape, bend + 1, bend)
    round_eye(pen, shape, 0)
    marks = tuple(Mark(name, at) for name, at in eye_centres(shape).items())
    holes = tuple(Circle(mark.at, shape.eye.hole_m / 2) for mark in marks)
    return Outline(pen.closed(), holes, (0, 1), marks)


def eye_centres(shape: Zigzag) -> dict[str, Point]:
    """Centres of the eyes by name: first, last and, where there is one, support."""
    eye, half_m = shape.eye, shape.strip_width_m / 2
    last_up = _end_up(shape, shape.passes - 1)
    first = (half_m + eye.offset_m, _beyond(shape, -1, eye.reach_m))
    last = (shape.width_m - half_m - eye.offset_m, _beyond(shape, last_up, eye.reach_m))
    centres = {"first eye": first, "last eye": last}
    if shape.support_bend is not None:
        up = bend_up(shape.support_bend)
        centres["support eye"] = (_bend_middle(shape, shape.support_bend), _beyond(shape, up, eye.reach_m))
    return centres


@dataclass(slots=True)
class Pen:
    """Strings segments end to end; steps too short to see are left out."""

    at: Point
    scale_m: float
    segments: list[Segment] = field(default_factory=list)

    def line(self, x: float, y: float) -> None:
        """A straight stroke to (x, y)."""
        if dist(self.at, (x, y)) > 1e-12 * self.scale_m:
            self.segments.append(Line(self.at, (x, y)))
            self.at = (x, y)

    def arc(self, end: Point, centre: Point, *, ccw: bool) -> None:
        """A round stroke about a centre."""
        if dist(self.at, end) > 1e-12 * self.scale_m:
            self.segments.append(Arc(self.at, end, centre, ccw))
            self.at = end

    def closed(self) -> Loop:
        """The loop drawn."""
        return Loop(tuple(self.segments))


def _edge(shape: Zigzag, up: int) -> float:
    return shape.height_m if up > 0 else 0.0


def _beyond(shape: Zigzag, up: int, by_m: float) -> float:
    return _edge(shape, up) + up * by_m


def bend_up(bend: int) -> int:
    """Whether a return bend lies above (+1) or below (-1)."""
    return 1 if bend % 2 == 0 else -1


def _end_up(shape: Zigzag, end_pass: int) -> int:
    """Which edge the strip's end of the first or last pass lies on."""
    return -1 if end_pass == 0 else bend_up(shape.passes - 1)


def _bend_middle(shape: Zigzag, bend: int) -> float:
    return bend * shape.pitch_m + shape.strip_width_m + shape.pass_gap_m / 2


def _turn(pen: Pen, shape: Zigzag, from_pass: int, to_pass: int) -> None:
    """One side of a return bend. Going on, upper bends are passed on their inner side and lower ones on their
    outer; coming back it is the other way round."""
    bend = min(from_pass, to_pass)
    going_on = to_pass > from_pass
    if going_on == (bend_up(bend) > 0):
        inner_side(pen, shape, bend, 1 if going_on else -1)
    else:
        outer_side(pen, shape, bend, 1 if going_on else -1)


def inner_side(pen: Pen, shape: Zigzag, bend: int, ahead: int) -> None:
    """The inner side of a bend, from pass to pass: two corners with their fillets, or half a circle. ``ahead`` is +1
    where the pen crosses to the right."""
    up, middle, half_m = bend_up(bend), _bend_middle(shape, bend), shape.pass_gap_m / 2
    fillet_m = half_m if shape.fully_round else shape.fillet_m
    floor = _edge(shape, up) - up * (shape.strip_width_m if shape.bend == "round" else shape.bar_m)
    left, right = middle - ahead * half_m, middle + ahead * half_m
    springing = floor - up * fillet_m
    pen.line(left, springing)
    if shape.fully_round:
        pen.arc((right, springing), (middle, springing), ccw=False)
        return
    pen.arc((left + ahead * fillet_m, floor), (left + ahead * fillet_m, springing), ccw=False)
    pen.line(right - ahead * fillet_m, floor)
    pen.arc((right, springing), (right - ahead * fillet_m, springing), ccw=False)


def outer_side(pen: Pen, shape: Zigzag, bend: int, ahead: int) -> None:
    """The outer side of a bend: two corners or half a circle, with the support eye's lug where there is one."""
    up, middle = bend_up(bend), _bend_middle(shape, bend)
    outer_m = shape.bend_half_m
    springing = _edge(shape, up) - up * (outer_m if shape.bend == "round" else 0.0)
    pen.line(middle - ahead * outer_m, springing)
    if bend == shape.support_bend:
        _lug(pen, shape, bend, ahead)
    if shape.bend == "round":
        pen.arc((middle + ahead * outer_m, springing), (middle, springing), ccw=True)
    else:
        pen.line(middle + ahead * outer_m, springing)


def _lug(pen: Pen, shape: Zigzag, bend: int, ahead: int) -> None:
    """From the bend's outer line over a fillet up the neck, into the ring and round it, and down again."""
    eye, up, middle = shape.eye, bend_up(bend), _bend_middle(shape, bend)
    foot, head = _beyond(shape, up, lug_foot_m(shape)), _beyond(shape, up, eye.reach_m)
    shoulder = head - up * eye.meets(shape.lug_half_m)
    lead_m, level = _lug_fillet(shape, up)
    share = eye.radius_m / (eye.radius_m + eye.fillet_m)
    fillet_m = shape.lug_half_m + eye.fillet_m
    on_ring_y = head + share * (shoulder - head)

    _along_bend(pen, shape, bend, (middle - ahead * lead_m, level))
    pen.arc((middle - ahead * shape.lug_half_m, foot), (middle - ahead * fillet_m, foot), ccw=False)
    pen.line(middle - ahead * shape.lug_half_m, shoulder)
    pen.arc((middle - ahead * share * fillet_m, on_ring_y), (middle - ahead * fillet_m, shoulder), ccw=False)
    pen.arc((middle + ahead * share * fillet_m, on_ring_y), (middle, head), ccw=True)
    pen.arc((middle + ahead * shape.lug_half_m, shoulder), (middle + ahead * fillet_m, shoulder), ccw=False)
    pen.line(middle + ahead * shape.lug_half_m, foot)
    pen.arc((middle + ahead * lead_m, level), (middle + ahead * fillet_m, foot), ccw=False)


def _lug_fillet(shape: Zigzag, up: int) -> tuple[float, float]:
    """Where the fillet at the foot of the neck leaves the bend's outer line: distance from the bend's middle, and y."""
    eye, outer_m = shape.eye, shape.bend_half_m
    lead_m = shape.lug_half_m + eye.fillet_m
    if shape.bend == "square":
        return lead_m, _edge(shape, up)
    share = outer_m / (outer_m + eye.fillet_m)
    return share * lead_m, _beyond(shape, up, share * (lug_foot_m(shape) + outer_m) - outer_m)


def _along_bend(pen: Pen, shape: Zigzag, bend: int, end: Point) -> None:
    if shape.bend == "square":
        pen.line(*end)
        return
    up = bend_up(bend)
    pen.arc(end, (_bend_middle(shape, bend), _beyond(shape, up, -shape.bend_height_m)), ccw=True)


def round_eye(pen: Pen, shape: Zigzag, end_pass: int) -> None:
    """Round the eye at an end of the strip: in over a fillet on one side of the strip, out over one on the other."""
    up = _end_up(shape, end_pass)
    centre = eye_centres(shape)["first eye" if end_pass == 0 else "last eye"]
    side_in, side_out = _neck_side(shape, end_pass, up), _neck_side(shape, end_pass, -up)
    pen.line(*side_in.on_strip)
    pen.arc(side_in.on_ring, side_in.fillet_centre, ccw=False)
    pen.arc(side_out.on_ring, centre, ccw=True)
    pen.arc(side_out.on_strip, side_out.fillet_centre, ccw=False)


@dataclass(frozen=True, slots=True)
class _NeckSide:
    """Where one side of the strip leaves for the ring: on the strip, centre of the fillet, on the ring."""

    on_strip: Point
    fillet_centre: Point
    on_ring: Point


def _neck_side(shape: Zigzag, end_pass: int, right: int) -> _NeckSide:
    """The right (+1) or left (-1) side of an end pass where it meets its eye."""
    eye, up = shape.eye, _end_up(shape, end_pass)
    x, y = eye_centres(shape)["first eye" if end_pass == 0 else "last eye"]
    side = shape.pitch_m * end_pass + (shape.strip_width_m if right > 0 else 0.0)
    across_m = right * (side - x) + eye.fillet_m
    along_m = eye.meets(right * (side - x))
    share = eye.radius_m / (eye.radius_m + eye.fillet_m)
    return _NeckSide(
        on_strip=(side, y - up * along_m),
        fillet_centre=(side + right * eye.fillet_m, y - up * along_m),
        on_ring=(x + right * share * across_m, y - up * share * along_m),
    )
