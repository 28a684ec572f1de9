"""The zig-zag plate as the shop orders it: strip, passes, return bends, eyes. Impossible geometry is refused here.

Passes stand upright. Pass 1 begins at the lower edge and runs up; x counts across the passes from its outer side, y
from the lower edge (the outer line of the lower return bends). All lengths in metres.
"""

from dataclasses import dataclass, fields, replace
from math import atan, atan2, cos, hypot, isfinite, pi, sin, sqrt, tan
from typing import Literal

from griddesign.errors import GeometryError

EyePlaces = Literal["one edge", "opposite edges"]
BendKind = Literal["square", "round"]

_NECK_SAMPLES = 64
_SAME = 1e-9  # lengths that agree so far are the same: no unit of length makes a plate impossible


def mm(length_m: float) -> str:
    """A length as messages show it: ``0.0072`` -> ``7.2 mm``."""
    return f"{1000 * length_m:.6g} mm"


@dataclass(frozen=True, slots=True)
class Eye:
    """The ring at an end of the strip that sits on the tie rod.

    Its centre stands ``reach_m`` beyond the edge of the plate and ``offset_m`` inward from the centre line of the
    end pass (negative: outward). ``fillet_m`` is the radius where the strip runs into the ring. Raises
    GeometryError where the hole is no smaller than the eye or reaches into the pass.
    """

    diameter_m: float
    hole_m: float
    reach_m: float
    offset_m: float = 0.0
    fillet_m: float = 0.0

    def __post_init__(self) -> None:
        _refuse_unreal("eye", self, may_be_zero=("offset_m", "fillet_m"), may_be_negative=("offset_m",))
        if self.hole_m >= self.diameter_m:
            raise GeometryError(
                f"the hole of {mm(self.hole_m)} leaves no ring in an eye of {mm(self.diameter_m)}",
                hint="Make the eye larger or the hole smaller.",
            )
        if self.reach_m < self.hole_m / 2 * (1 - _SAME):
            raise GeometryError(
                f"an eye reaching {mm(self.reach_m)} beyond the edge lets its {mm(self.hole_m)} hole cut into the pass",
                hint=f"Let it reach at least {mm(self.hole_m / 2)}, half the hole.",
            )

    @property
    def radius_m(self) -> float:
        """Outer radius of the ring."""
        return self.diameter_m / 2

    @property
    def web_m(self) -> float:
        """Metal between hole and rim."""
        return (self.diameter_m - self.hole_m) / 2

    def meets(self, side_m: float) -> float:
        """How far from the centre, towards the plate, a strip side ``side_m`` off the centre begins to bend into
        the ring, m.

        ``sqrt((R + f)^2 - (a + f)^2)``; with no fillet the height at which the straight side meets the circle.
        """
        return sqrt(max((self.radius_m - side_m) * (self.radius_m + side_m + 2 * self.fillet_m), 0.0))


def usual_eye(strip_width_m: float, thickness_m: float, hole_m: float = 0.014) -> Eye:
    """An eye that suits the strip, where the user gives none. Our own estimate, no source.

    The hole takes a 10 mm tie rod in a 2 mm mica tube. The ring is 3/4 strip wide on each side of the hole (so the
    two halves together carry half as much again as the strip), at least 1.5 thicknesses; a neck of half a strip
    stands clear.
    """
    web_m = max(0.75 * strip_width_m, 1.5 * thickness_m)
    radius_m = hole_m / 2 + web_m
    return Eye(2 * radius_m, hole_m, radius_m + strip_width_m / 2)


@dataclass(frozen=True, slots=True)
class Zigzag:
    """One zig-zag plate.

    ``height_m`` is measured over the return bends, without eyes; ``pass_gap_m`` is the clear gap between passes;
    ``bend_depth_m`` the depth of the bar of a square bend (None: the strip width); ``fillet_m`` the radius of the
    inner corners of square bends. A cast strip may taper from ``thickness_m`` at mid width to ``edge_thickness_m``
    at its edges and have its four edges rounded with ``edge_radius_m``. ``support_eyes=1`` adds a lug with a hole,
    carrying no current, on a return bend near the middle. Raises GeometryError, naming the numbers that clash, for
    a plate that cannot exist.
    """

    height_m: float
    passes: int
    strip_width_m: float
    pass_gap_m: float
    thickness_m: float
    eye: Eye
    eyes: EyePlaces
    bend: BendKind = "square"
    bend_depth_m: float | None = None
    fillet_m: float = 0.0
    edge_thickness_m: float | None = None
    edge_radius_m: float = 0.0
    support_eyes: int = 0

    def __post_init__(self) -> None:
        _refuse_unreal("plate", self, may_be_zero=("fillet_m", "edge_radius_m", "support_eyes"))
        _refuse_words(self)
        _refuse_counts(self)
        _refuse_bends(self)
        _refuse_section(self)
        _refuse_eyes(self)
        if self.support_eyes:
            _refuse_support(self)

    @property
    def pitch_m(self) -> float:
        """Strip and gap together."""
        return self.strip_width_m + self.pass_gap_m

    @property
    def width_m(self) -> float:
        """Overall width across the passes, without eyes that stand out."""
        return self.passes * self.strip_width_m + (self.passes - 1) * self.pass_gap_m

    @property
    def bar_m(self) -> float:
        """Depth of metal in a return bend."""
        return self.strip_width_m if self.bend_depth_m is None else self.bend_depth_m

    @property
    def bend_height_m(self) -> float:
        """How much of the height one return bend takes: from its outer line to where the straight passes begin."""
        return self.bar_m if self.bend == "square" else self.bend_half_m

    @property
    def fully_round(self) -> bool:
        """Whether the gap ends in a half circle: a round bend, or fillets of half the gap."""
        return self.bend == "round" or abs(2 * self.fillet_m / self.pass_gap_m - 1) < _SAME

    @property
    def bend_half_m(self) -> float:
        """Half the breadth of a return bend over both its passes; the outer radius of a round one."""
        return self.strip_width_m + self.pass_gap_m / 2

    @property
    def lug_half_m(self) -> float:
        """Half the breadth of the neck the support eye stands on: the eye's, at most 3/4 of the bend's and clear of its
        fillets."""
        return min(self.eye.radius_m, 0.75 * self.bend_half_m, self.bend_half_m - self.eye.fillet_m)

    @property
    def straight_m(self) -> float:
        """Length of one straight pass between two return bends."""
        return self.height_m - 2 * self.bend_height_m

    @property
    def support_bend(self) -> int | None:
        """The bend (0: between the first and second pass, even ones above) that bears the support eye: nearest the
        middle."""
        if not self.support_eyes:
            return None
        middle = (self.passes - 2) // 2
        return middle - middle % 2 if self.passes % 2 == 0 else middle

    @property
    def section_area_m2(self) -> float:
        """True area of the strip's cross-section: ``w (t + te)/2`` less what four rounded edges take away.

        One rounded corner of interior angle phi takes ``e^2 (cot(phi/2) - (pi - phi)/2)``; at a right angle
        ``(1 - pi/4) e^2``.
        """
        edge_m = self.thickness_m if self.edge_thickness_m is None else self.edge_thickness_m
        return self.strip_width_m * (self.thickness_m + edge_m) / 2 - 4 * _corner_loss(self)

    @property
    def effective_thickness_m(self) -> float:
        """Thickness of a flat strip of the same width and section area."""
        return self.section_area_m2 / self.strip_width_m

    @property
    def edge_slope_rad(self) -> float:
        """Angle by which each face falls from mid width to the edge; 0 for a flat strip."""
        edge_m = self.thickness_m if self.edge_thickness_m is None else self.edge_thickness_m
        return atan((self.thickness_m - edge_m) / self.strip_width_m)

    @property
    def eye_clearance_m(self) -> float:
        """Clear distance between an eye and the nearest return bend or other eye beside it."""
        side_m = self.strip_width_m / 2 - self.eye.offset_m
        beside = [_to_bend(self, side_m, side_m)] if self.passes > 2 else []
        if self.support_eyes and self.passes > 3:
            beside.append(_to_bend(self, self.bend_half_m, self.lug_half_m))
        return min([*beside, *_eye_to_eyes(self)], default=self.pass_gap_m)


def with_strip_width(shape: Zigzag, strip_width_m: float) -> Zigzag:
    """The same plate with another strip width: pitch and envelope are kept, the pass gap gives way.

    The overall width changes only by the strip's own change, ``(w_new - w)``, half of it on each outer side: the
    centre lines of the passes, hence the tie rods, stay where they are. Raises GeometryError where no gap would be
    left.
    """
    return replace(shape, strip_width_m=strip_width_m, pass_gap_m=shape.pitch_m - strip_width_m)


def _refuse_unreal(
    what: str, record: Eye | Zigzag, may_be_zero: tuple[str, ...], may_be_negative: tuple[str, ...] = ()
) -> None:
    """Every number must be finite and above zero, with the exceptions named."""
    for name in (field.name for field in fields(record)):
        value = getattr(record, name)
        if value is None or isinstance(value, str | Eye):
            continue
        good = isfinite(value) and (value > 0 or name in may_be_negative or (value == 0 and name in may_be_zero))
        if not good:
            raise GeometryError(
                f"{what}: {name.removesuffix('_m').replace('_', ' ')} is {value:.6g}",
                hint="It must be a finite number, " + ("not negative." if name in may_be_zero else "above zero."),
            )


def _refuse_words(shape: Zigzag) -> None:
    for name, value, known in (
        ("eyes", shape.eyes, ("one edge", "opposite edges")),
        ("bend", shape.bend, ("square", "round")),
    ):
        if value not in known:
            raise GeometryError(f"{name} is {value!r}", hint=f"It may be {' or '.join(map(repr, known))}.")


def _refuse_counts(shape: Zigzag) -> None:
    if not isinstance(shape.passes, int) or shape.passes < 2:
        raise GeometryError(f"{shape.passes} passes make no zig-zag", hint="Give a whole number, 2 or more.")
    if shape.support_eyes not in (0, 1):
        raise GeometryError(f"{shape.support_eyes} support eyes", hint="There may be none or one.")
    lies = "one edge" if shape.passes % 2 == 0 else "opposite edges"
    if shape.eyes != lies:
        parity = "even" if shape.passes % 2 == 0 else "odd"
        raise GeometryError(
            f"{shape.passes} passes, an {parity} number, put the eyes on {lies}, not on {shape.eyes}",
            hint=f"Take {shape.passes - 1 or 3} or {shape.passes + 1} passes, or eyes = {lies!r}.",
        )


def _refuse_bends(shape: Zigzag) -> None:
    gap_m, depth_m = shape.pass_gap_m, shape.bend_depth_m
    if shape.bend == "round" and (depth_m is not None or shape.fillet_m):
        raise GeometryError(
            "a round bend has neither a bend depth nor inner corners to fillet",
            hint="Leave out bend_depth and fillet, or take bend = 'square'.",
        )
    if shape.fillet_m > gap_m / 2 and not shape.fully_round:
        raise GeometryError(
            f"a fillet of {mm(shape.fillet_m)} does not fit a pass gap of {mm(gap_m)}",
            hint=f"At most {mm(gap_m / 2)}, half the gap: a full round.",
        )
    room_m = shape.straight_m - 2 * shape.fillet_m
    if room_m <= 0:
        taken_m = 2 * (shape.bend_height_m + shape.fillet_m)
        raise GeometryError(
            f"a height of {mm(shape.height_m)} has no room for two {shape.bend} return bends of {mm(taken_m / 2)} each",
            hint=f"Make the plate higher than {mm(taken_m)}, or strip and gap smaller.",
        )


def _refuse_section(shape: Zigzag) -> None:
    edge_m = shape.thickness_m if shape.edge_thickness_m is None else shape.edge_thickness_m
    if edge_m > shape.thickness_m:
        raise GeometryError(
            f"the edges, {mm(edge_m)}, are thicker than the middle of the strip, {mm(shape.thickness_m)}",
            hint="thickness is the greatest thickness, at mid width; edge_thickness the smaller one.",
        )
    flat_m = shape.edge_radius_m / tan(pi / 4 + shape.edge_slope_rad / 2)
    if flat_m > min(edge_m, shape.strip_width_m) / 2 * (1 + _SAME):
        raise GeometryError(
            f"edges rounded with {mm(shape.edge_radius_m)} do not fit a strip {mm(shape.strip_width_m)} wide "
            f"and {mm(edge_m)} thick at the edge",
            hint="The radius is at most half of the smaller one.",
        )


def _refuse_eyes(shape: Zigzag) -> None:
    eye = shape.eye
    needed_m = shape.strip_width_m + 2 * abs(eye.offset_m)
    if eye.diameter_m < needed_m * (1 - _SAME):
        raise GeometryError(
            f"an eye of {mm(eye.diameter_m)} set {mm(eye.offset_m)} off does not take in a strip of "
            f"{mm(shape.strip_width_m)}",
            hint=f"Make its diameter at least {mm(needed_m)}.",
        )
    if eye.meets(shape.strip_width_m / 2 - abs(eye.offset_m)) - eye.reach_m >= shape.straight_m:
        raise GeometryError(
            f"the ring of {mm(eye.diameter_m)} with fillets of {mm(eye.fillet_m)} runs along the whole pass "
            f"of {mm(shape.straight_m)}",
            hint="Make eye or fillet smaller.",
        )
    if shape.eye_clearance_m <= 0:
        raise GeometryError(
            f"an eye of {mm(eye.diameter_m)} reaching {mm(eye.reach_m)} beyond the edge runs "
            f"{mm(-shape.eye_clearance_m)} into the return bend or eye beside it "
            f"(strip {mm(shape.strip_width_m)}, gap {mm(shape.pass_gap_m)})",
            hint="Let it reach further, make it smaller, or set it outward (negative offset).",
        )


def _refuse_support(shape: Zigzag) -> None:
    eye, half_m = shape.eye, shape.bend_half_m
    neck_m = shape.lug_half_m
    if eye.fillet_m > half_m / 2 * (1 + _SAME):
        raise GeometryError(
            f"two fillets of {mm(eye.fillet_m)} leave too little of a {mm(2 * half_m)} return bend for the neck of a "
            "support eye",
            hint=f"A fillet of at most {mm(half_m / 2)}, or no support eye.",
        )
    needed_m = lug_foot_m(shape) + eye.meets(neck_m)
    if needed_m > eye.reach_m * (1 + _SAME):
        raise GeometryError(
            f"a support eye of {mm(eye.diameter_m)} reaching {mm(eye.reach_m)} runs into the return bend it stands on",
            hint=f"Let it reach at least {mm(needed_m)}.",
        )


def lug_foot_m(shape: Zigzag) -> float:
    """Height above the plate's edge where the straight sides of the support eye's neck begin, negative on a round
    bend that falls away under it: ``sqrt((ro + f)^2 - (s + f)^2) - ro``; on a square bend the fillet itself."""
    fillet_m, outer_m = shape.eye.fillet_m, shape.bend_half_m
    if shape.bend == "square":
        return fillet_m
    return sqrt((outer_m + fillet_m) ** 2 - (shape.lug_half_m + fillet_m) ** 2) - outer_m


def _corner_loss(shape: Zigzag) -> float:
    """Section area one rounded edge takes away."""
    half_rad = pi / 4 + shape.edge_slope_rad / 2
    return shape.edge_radius_m**2 * (1 / tan(half_rad) - (pi / 2 - half_rad))


def _eye_to_eyes(shape: Zigzag) -> list[float]:
    """Clear distances between a terminal eye and the other eyes on its edge."""
    eye, span_m = shape.eye, (shape.passes - 1) * shape.pitch_m
    first_m, last_m = eye.offset_m, span_m - eye.offset_m
    between = [abs(last_m - first_m)] if shape.passes % 2 == 0 else []
    bend = shape.support_bend
    if bend is not None and shape.passes % 2:
        at_m = (bend + 0.5) * shape.pitch_m
        between.append(abs(at_m - (last_m if bend % 2 == 0 else first_m)))
    return [centres_m - eye.diameter_m for centres_m in between]


def _to_bend(shape: Zigzag, side_m: float, neck_m: float) -> float:
    """Clear distance from an eye (ring and fillet) to the return bend beside it, never over the pass gap.

    ``side_m``: from the centre of the eye to the side of what it stands on, beyond which the gap begins;
    ``neck_m``: to the side of its neck. Seen from the centre of the eye, across the passes and along them, the bend
    fills the quadrant beyond (side + gap, reach), its corner rounded off where the bend is round.
    """
    eye = shape.eye
    across_m, along_m = side_m + shape.pass_gap_m, eye.reach_m
    corner_m = 0.0 if shape.bend == "square" else shape.bend_half_m

    def away(x: float, y: float) -> float:
        return hypot(max(across_m + corner_m - x, 0.0), max(along_m + corner_m - y, 0.0)) - corner_m

    fillet = [away(x, y) for x, y in _fillet_points(eye, neck_m)]
    return min(shape.pass_gap_m, away(0.0, 0.0) - eye.radius_m, *fillet)


def _fillet_points(eye: Eye, side_m: float) -> list[tuple[float, float]]:
    """Points along the fillet between a strip side and the ring; the meeting point alone where there is no fillet."""
    centre_x, centre_y = side_m + eye.fillet_m, eye.meets(side_m)
    end_rad = atan2(centre_y, centre_x)
    steps = _NECK_SAMPLES if eye.fillet_m else 1
    turns = [end_rad * k / steps for k in range(steps + 1)]
    return [(centre_x - eye.fillet_m * cos(a), centre_y - eye.fillet_m * sin(a)) for a in turns]
