"""The unit and the origin of a drawing: from its coordinates to metres near the origin, and back for messages."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import floor, ulp

from griddesign.errors import GeometryError, InputError
from griddesign.plate.foreign.records import UnitName
from griddesign.plate.outline import Arc, Circle, Line, Point, Segment

METRES: dict[UnitName, float] = {"mm": 0.001, "cm": 0.01, "m": 1.0, "inch": 0.0254}
_DECIMALS: dict[UnitName, int] = {"mm": 4, "cm": 5, "m": 7, "inch": 5}
# $INSUNITS, open DXF reference, "HEADER section"; 0 and missing say nothing
_BY_CODE: dict[int, UnitName] = {1: "inch", 4: "mm", 5: "cm", 6: "m"}
_OTHER_CODES = {2: "feet", 3: "miles", 7: "kilometres", 8: "microinches", 9: "mils", 10: "yards", 13: "microns",
                14: "decimetres"}  # fmt: skip
_FAR = 100.0  # sizes of the plate: beyond, it is moved to the origin
_WIDEST_M = 1000.0  # no plate is larger: its unit is wrong
_FINENESS = 100.0  # steps of a float the tolerance must hold


def unit_of(code: int | None, given: str | None) -> tuple[UnitName, bool]:
    """The unit of the drawing and whether the header gave it. A given one goes before the header's.

    Raises InputError for an unknown one, and where neither says anything: a unit is never guessed.
    """
    ask = f"Give the drawing's unit: {', '.join(METRES)}."
    if given is not None:
        known: dict[str, UnitName] = {name: name for name in METRES}
        if given not in known:
            raise InputError(f"{given!r} is no unit of a drawing", hint=ask)
        return known[given], False
    if code in _BY_CODE:
        return _BY_CODE[code], True
    if not code:
        raise InputError("the drawing does not say its unit ($INSUNITS is missing or 0)", hint=ask)
    raise InputError(f"the drawing's unit is {_OTHER_CODES.get(code, f'code {code}')}, no unit of a plate", hint=ask)


def header_unit(code: int | None) -> str:
    """What the header says of the unit, in words."""
    return _BY_CODE.get(code or 0) or _OTHER_CODES.get(code or 0, "nothing")


@dataclass(frozen=True, slots=True)
class Frame:
    """Metres from the drawing's unit, about a point of the drawing."""

    unit: UnitName
    origin: Point = (0.0, 0.0)

    @property
    def metres(self) -> float:
        """Length of the drawing's unit."""
        return METRES[self.unit]

    @property
    def origin_m(self) -> Point:
        """The origin in metres."""
        return (self.origin[0] * self.metres, self.origin[1] * self.metres)

    def to_m(self, point: Point) -> Point:
        """A point of the drawing in metres about the origin."""
        return ((point[0] - self.origin[0]) * self.metres, (point[1] - self.origin[1]) * self.metres)

    def in_file_m(self, point_m: Point) -> Point:
        """A point about the origin back in the drawing's axes, metres."""
        return (point_m[0] + self.origin_m[0], point_m[1] + self.origin_m[1])

    def segment_m(self, segment: Segment) -> Segment:
        """A line or arc in metres."""
        start, end = self.to_m(segment.start), self.to_m(segment.end)
        return (
            Line(start, end) if isinstance(segment, Line) else Arc(start, end, self.to_m(segment.centre), segment.ccw)
        )

    def circle_m(self, circle: Circle) -> Circle:
        """A circle in metres."""
        return Circle(self.to_m(circle.centre), circle.radius_m * self.metres)

    def said(self, point_m: Point) -> str:
        """A point as the drawing program shows it: ``(12.5, 30) mm``."""
        x, y = (value / self.metres + shift for value, shift in zip(point_m, self.origin, strict=True))
        return f"({self._figure(x)}, {self._figure(y)}) {self.unit}"

    def length(self, length_m: float) -> str:
        """A length in the drawing's unit."""
        return f"{length_m / self.metres:.4g} {self.unit}"

    def _figure(self, value: float) -> str:
        text = f"{value:.{_DECIMALS[self.unit]}f}".rstrip("0").rstrip(".")
        return "0" if text in {"", "-0"} else text


def frame_for(unit: UnitName, points: Iterable[Point], tolerance_m: float) -> Frame:
    """The frame of a drawing with these points: about its own origin, or near the plate if that lies far away.

    Raises GeometryError where coordinates are so large that they cannot tell the tolerance, or span more than 1 km.
    """
    xs, ys = zip(*points, strict=True)
    low, high = (min(xs), min(ys)), (max(xs), max(ys))
    furthest = max(abs(value) for value in (*low, *high))
    if not ulp(furthest) * METRES[unit] * _FINENESS <= tolerance_m:
        raise GeometryError(
            f"coordinates as large as {furthest:.3g} {unit} cannot tell {1000 * tolerance_m:.3g} mm",
            hint="Move the drawing near its origin, or check its unit.",
        )
    size = max(high[0] - low[0], high[1] - low[1])
    if size * METRES[unit] > _WIDEST_M:
        raise GeometryError(
            f"the lines to cut span {size:.4g} {unit}, more than {_WIDEST_M:.0f} m",
            hint="Check the drawing's unit, or delete what lies far away from the plate.",
        )
    far = furthest > _FAR * size
    return Frame(unit, (float(floor(low[0])), float(floor(low[1]))) if far else (0.0, 0.0))
