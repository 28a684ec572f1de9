"""Where coordinates of a drawing come to lie: blocks turned, scaled and mirrored, entities seen from below."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from griddesign.errors import GeometryError
from griddesign.plate.foreign.document import Block, Entity
from griddesign.plate.foreign.opening import place
from griddesign.plate.outline import Point

_STRAIGHT = 1e-9  # how far a direction may stray from the z axis
_ALIKE = 1e-12  # relative difference of two scales that are the same


@dataclass(frozen=True, slots=True)
class Placement:
    """Affine map of the drawing plane, ``(xx x + xy y + x0, yx x + yy y + y0)``, and of the height, ``zz z + z0``."""

    xx: float = 1.0
    xy: float = 0.0
    yx: float = 0.0
    yy: float = 1.0
    x0: float = 0.0
    y0: float = 0.0
    zz: float = 1.0
    z0: float = 0.0

    def at(self, point: Point) -> Point:
        """A point, placed."""
        x, y = point
        return (self.xx * x + self.xy * y + self.x0, self.yx * x + self.yy * y + self.y0)

    def along(self, vector: Point) -> Point:
        """A direction with its length, placed."""
        x, y = vector
        return (self.xx * x + self.xy * y, self.yx * x + self.yy * y)

    def height(self, z: float) -> float:
        """A height, placed."""
        return self.zz * z + self.z0

    @property
    def mirrors(self) -> bool:
        """Whether left becomes right, so that arcs run the other way."""
        return self.xx * self.yy < self.xy * self.yx

    @property
    def scale(self) -> float:
        """Length of what was 1 along x, no unit."""
        return hypot(self.xx, self.yx)

    @property
    def keeps_circles(self) -> bool:
        """Whether both directions are scaled alike and stay square, so that an arc stays an arc."""
        square = abs(self.xx * self.xy + self.yx * self.yy) <= _ALIKE * self.scale**2
        return square and abs(hypot(self.xy, self.yy) - self.scale) <= _ALIKE * self.scale

    def of(self, inner: "Placement") -> "Placement":
        """The placement of what ``inner`` has already placed: inner first, then this one."""
        x0, y0 = self.at((inner.x0, inner.y0))
        (xx, yx), (xy, yy) = self.along((inner.xx, inner.yx)), self.along((inner.xy, inner.yy))
        return Placement(xx, xy, yx, yy, x0, y0, self.zz * inner.zz, self.height(inner.z0))


AS_DRAWN = Placement()
_FROM_BELOW = Placement(xx=-1.0, zz=-1.0)


def seen_along(entity: Entity) -> Placement:
    """The plane an entity is drawn in: as it is, or mirrored where its extrusion is -z (groups 210 to 230).

    Arbitrary axis rule of the DXF reference, "Object Coordinate Systems": for (0, 0, -1) the x axis is (-1, 0, 0) and
    the y axis stays. Raises GeometryError for any other plane.
    """
    x, y, z = entity.number(210, 0.0), entity.number(220, 0.0), entity.number(230, 1.0)
    length = hypot(x, y, z)
    if not length or hypot(x, y) > _STRAIGHT * length:
        raise GeometryError(
            f"{place(entity.line)}{entity.kind} is drawn in a tilted plane (normal {x:.4g}, {y:.4g}, {z:.4g})",
            hint="Draw the plate flat in the x-y plane.",
        )
    return AS_DRAWN if z > 0 else _FROM_BELOW


def placed_copies(insert: Entity, block: Block) -> Iterator[Placement]:
    """Placements of a block's entities by one insert, one for each row and column.

    Base point to the origin, scaled, turned, moved, then seen along the insert's extrusion.
    Raises GeometryError where a scale is 0.
    """
    sx, sy, sz = insert.number(41, 1.0), insert.number(42, 1.0), insert.number(43, 1.0)
    if not sx * sy:
        raise GeometryError(f"{place(insert.line)}block {block.name} is inserted at scale {sx:.4g} by {sy:.4g}")
    turn = radians(insert.number(50, 0.0))
    c, s = cos(turn), sin(turn)
    to_origin = Placement(x0=-block.base[0], y0=-block.base[1], z0=-block.base[2])
    x, y, z = insert.point(10)
    for across, up in _steps(insert):
        moved = Placement(
            c * sx, -s * sy, s * sx, c * sy, x + c * across - s * up, y + s * across + c * up, sz or 1.0, z
        )
        yield seen_along(insert).of(moved.of(to_origin))


def copies_of(insert: Entity) -> int:
    """How many copies one insert makes."""
    return max(insert.whole(70, 1), 1) * max(insert.whole(71, 1), 1)


def _steps(insert: Entity) -> Iterator[Point]:
    columns, rows = max(insert.whole(70, 1), 1), max(insert.whole(71, 1), 1)
    across, up = insert.number(44, 0.0), insert.number(45, 0.0)
    for row in range(rows):
        for column in range(columns):
            yield (column * across, row * up)
