"""The terminal model a plate is solved with: rims of holes, washers' faces, clamped areas; and its words for paper."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from griddesign.errors import GeometryError
from griddesign.plate.outline import Circle, Outline, Point

if TYPE_CHECKING:
    from griddesign.plate.field import Domain, Terminal
    from griddesign.plate.field.domain import Thickness

RIM_MODEL = (
    "Each terminal is the rim of its hole, held at one potential all round; washers that press on the faces carry the "
    "current over a larger ring and lower the ohms a little: give their diameter to allow for it."
)


@dataclass(frozen=True, slots=True)
class Clamp:
    """A clamped area: the rectangle between two opposite corners, metres; all metal in it is at one potential."""

    corner_m: Point
    opposite_m: Point

    def __post_init__(self) -> None:
        if self.corner_m[0] == self.opposite_m[0] or self.corner_m[1] == self.opposite_m[1]:
            raise GeometryError("a clamped area needs two corners that differ in x and in y")

    @property
    def corners_m(self) -> tuple[Point, ...]:
        """All four, one after the other."""
        (x, y), (far_x, far_y) = self.corner_m, self.opposite_m
        return (x, y), (far_x, y), (far_x, far_y), (x, far_y)


@dataclass(frozen=True, slots=True)
class TerminalModel:
    """``washer_m``: diameter of the washers' faces about the terminal holes (None: their rims). ``clamps``: terminals
    beside the outline's terminal holes; the current goes from the first of all to the second."""

    washer_m: float | None = None
    clamps: tuple[Clamp, ...] = ()

    def domain(self, outline: Outline, thickness: "Thickness | None" = None) -> "Domain":
        """The outline with these terminals and, where it is not the same all over, its ``thickness``.

        Raises GeometryError where the terminals are not two, or a washer does not fit.
        """
        from griddesign.plate.field import domain_of_outline

        self._check_washer(outline)
        self._check_clamps(outline)
        radius_m = None if self.washer_m is None else self.washer_m / 2
        return domain_of_outline(outline, radius_m, thickness, tuple(self._terminals(outline)) if self.clamps else None)

    def _check_clamps(self, outline: Outline) -> None:
        left, low, right, high = outline.bounding_box_m
        for clamp in self.clamps:
            xs, ys = zip(*clamp.corners_m, strict=True)
            if max(xs) <= left or min(xs) >= right or max(ys) <= low or min(ys) >= high:
                raise GeometryError(
                    f"{_sides(clamp)}, clamped, lies beside the plate: x {_reach(xs)}, y {_reach(ys)} where the plate "
                    f"reaches x {_reach((left, right))}, y {_reach((low, high))}",
                    hint="Give its corners in the axes of the drawing.",
                )

    def _terminals(self, outline: Outline) -> "Iterator[Terminal]":
        from griddesign.plate.field import ClampTerminal, DiscTerminal, RimTerminal

        for index in outline.terminals:
            hole = outline.holes[index]
            if self.washer_m is None:
                yield RimTerminal(index + 1)
            elif isinstance(hole, Circle):
                yield DiscTerminal(hole.centre, self.washer_m / 2)
            else:
                raise GeometryError(f"hole {index} is not round: a washer face cannot be centred on it")
        yield from (ClampTerminal(clamp.corners_m) for clamp in self.clamps)

    def _check_washer(self, outline: Outline) -> None:
        for hole in (outline.holes[index] for index in outline.terminals):
            if self.washer_m is not None and isinstance(hole, Circle) and self.washer_m <= 2 * hole.radius_m:
                raise GeometryError(
                    f"a washer of {1000 * self.washer_m:.4g} mm does not cover its hole of "
                    f"{2000 * hole.radius_m:.4g} mm",
                    hint="Give the outer diameter of the washer's face.",
                )

    def words(self, holes: int) -> str:
        """The model for paper; ``holes`` is how many terminals are holes."""
        if not self.clamps:
            return RIM_MODEL if self.washer_m is None else self._washer_words("Each terminal is")
        areas = " and ".join(_sides(clamp) for clamp in self.clamps)
        clamped = f"Clamped: {areas}; all metal in it is held at one potential and carries no drop."
        if not holes:
            return clamped
        rim = "The other terminal is the rim of its hole, held at one potential all round."
        return f"{clamped} {rim if self.washer_m is None else self._washer_words('The other terminal is')}"

    def _washer_words(self, begin: str) -> str:
        diameter = 1000 * (self.washer_m or 0.0)
        return (
            f"{begin} the face under a washer of {diameter:.4g} mm about its hole, held at one potential; "
            "all metal it touches carries no drop."
        )


def _reach(values_m: tuple[float, ...]) -> str:
    return f"{1000 * min(values_m):.4g} to {1000 * max(values_m):.4g} mm"


def _sides(clamp: Clamp) -> str:
    wide, high = (1000 * abs(a - b) for a, b in zip(clamp.corner_m, clamp.opposite_m, strict=True))
    return f"an area of {wide:.4g} mm by {high:.4g} mm"
