"""The units a sheet is filled with: one plate, or two with their eyes between each other's, and how near they repeat.

Eyes stand out of a plate, so its neighbours may come nearer than their boxes: the eye of one lies beside the eye of the
next. How near is found on the outlines themselves, as closed polygons that enclose them, and rounded up to 1 um.
"""

from collections.abc import Callable, Iterator, Sequence
from math import ceil
from typing import TYPE_CHECKING, TypeVar

from griddesign.nest.records import Place, Rule, Unit
from griddesign.plate.outline import Outline

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

    Member = tuple[Place, Polygon, tuple[float, float]]
    """A plate of a unit: its place at the origin, its polygon, how far both are shifted."""
    Shape = TypeVar("Shape", Polygon, MultiPolygon)

GRAIN_M = 1e-6
"""Every length of a layout is rounded to it, always to the safe side."""
_HALVINGS = 22
_FINE = 50.0  # outlines are taken as polygons within this part of the web


def units_of(outline: Outline, web_m: float, rule: Rule, *, interlock: bool, eye_m: float = 0.0) -> tuple[Unit, ...]:
    """Every unit allowed, both ways round where the rule lets it. ``interlock`` False: boxes keep clear of each other,
    as sheared blanks do. ``eye_m`` is the diameter of an eye: pairs are tried with that shift sideways."""
    upright = tuple(_ways(outline, web_m, eye_m if interlock else None))
    turned = tuple(_turned(unit) for unit in upright)
    return {"any": (*upright, *turned), "along": turned, "across": upright}[rule]


def _turned(unit: Unit) -> Unit:
    """The unit a quarter turned: passes run upright in the outline, so along the sheet's length then."""
    places = tuple(Place((at.quarters + 1) % 4, unit.high_m - at.y_m, at.x_m) for at in unit.places)
    return Unit(places, unit.high_m, unit.wide_m, unit.step_y_m, unit.step_x_m)


def _ways(outline: Outline, web_m: float, eye_m: float | None) -> Iterator[Unit]:
    left, low, right, high = outline.bounding_box_m
    at = Place(0, -left, -low)
    wide_m, high_m = _up(right - left), _up(high - low)
    if eye_m is None:
        yield Unit((at,), wide_m, high_m, wide_m + web_m, high_m + web_m)
        return
    body = _Body(outline.translated(-left, -low), web_m)
    single = body.repeated([(at, body.polygon, (0.0, 0.0))])
    yield single
    shift_m = eye_m + web_m
    pairs = [body.pair(at, side * shift_m, across=across) for side in (-1, 0, 1) for across in (False, True)]
    best = min(pairs, key=lambda pair: pair.cell_m2)
    if best.cell_m2 < single.cell_m2 * (1 - 1e-9):
        yield best


class _Body:
    """The polygon round one plate, its lower left corner at the origin, and how near others of it come."""

    def __init__(self, outline: Outline, web_m: float) -> None:
        from shapely import Polygon
        from shapely.affinity import rotate

        self.web_m = web_m
        self.polygon = Polygon(outline.outer.ring(web_m / _FINE, "outer"))
        _, _, self.wide_m, self.high_m = outline.bounding_box_m
        self.half_turned = rotate(self.polygon, 180, origin=(self.wide_m / 2, self.high_m / 2))

    def pair(self, at: Place, shift_m: float, *, across: bool) -> Unit:
        """The plate and another turned half round, above it (or right of it, ``across``), shifted sideways."""
        turned = Place(at.quarters + 2, self.wide_m - at.x_m, self.high_m - at.y_m)
        size_m = self.wide_m if across else self.high_m

        def move(step_m: float) -> tuple[float, float]:
            return (step_m, shift_m) if across else (shift_m, step_m)

        x_m, y_m = move(self._nearest([self.polygon], [self.half_turned], size_m, move))
        back = (max(-x_m, 0.0), max(-y_m, 0.0))
        there = (x_m + back[0], y_m + back[1])
        return self.repeated([(at, self.polygon, back), (turned, self.half_turned, there)])

    def repeated(self, members: "Sequence[Member]") -> Unit:
        """The unit with the steps at which it may be repeated: along first, then rows of it up."""
        wide_m = max(at[0] for _, _, at in members) + self.wide_m
        high_m = max(at[1] for _, _, at in members) + self.high_m
        polygons = [_moved(polygon, *at) for _, polygon, at in members]
        step_x_m = self._nearest(polygons, polygons, wide_m, lambda step_m: (step_m, 0.0))
        row = [_moved(polygon, k * step_x_m, 0.0) for polygon in polygons for k in (-1, 0, 1)]
        step_y_m = self._nearest(polygons, row, high_m, lambda step_m: (0.0, step_m))
        places = tuple(place.shifted(*at) for place, _, at in members)
        return Unit(places, _up(wide_m), _up(high_m), step_x_m, step_y_m)

    def _nearest(
        self,
        fixed: "Sequence[Polygon]",
        moving: "Sequence[Polygon]",
        size_m: float,
        move: Callable[[float], tuple[float, float]],
    ) -> float:
        """The least step, more than half of ``size_m``, at which no moved polygon comes nearer than the web.

        Between a step that is clear and one that is not the border is found by halving; what is returned was clear.
        """
        from shapely import MultiPolygon, dwithin, prepare

        here, there = MultiPolygon(fixed), MultiPolygon(moving)
        prepare(here)
        clear_m, near_m, least_m = size_m + self.web_m, size_m / 2, self.web_m * (1 - 1e-9)
        for _ in range(_HALVINGS):
            middle_m = (clear_m + near_m) / 2
            if dwithin(here, _moved(there, *move(middle_m)), least_m):
                near_m = middle_m
            else:
                clear_m = middle_m
        return _up(clear_m)


def _moved(polygon: "Shape", x_m: float, y_m: float) -> "Shape":
    from shapely.affinity import translate

    return translate(polygon, x_m, y_m)


def _up(length_m: float) -> float:
    return ceil(length_m / GRAIN_M - 1e-6) * GRAIN_M
