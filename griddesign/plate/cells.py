"""Small pieces of a plate, solved in two dimensions: what one return bend or one eye adds to the straight strip.

A cell is the bend or the eye with legs so long that the current at their ends is even again: it falls off as
``exp(-pi L/w)``, and cutting the leg off square errs only by the square of that, 2e-7 of a square at 2.5 strip
widths. The squares of the legs are subtracted. Squares have no unit, so cells are solved with the strip width for
unit and kept by their proportions, rounded to 1e-5.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from math import pi

from griddesign.errors import GeometryError
from griddesign.plate.outline import Circle, Loop, Outline
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import Pen, bend_up, eye_centres, inner_side, outer_side, round_eye

_LEG = 2.5  # strip widths
_BEND_BRACKET = 2e-3  # of the squares of a cell, legs included; a plate has many bends
_EYE_BRACKET = 5e-3
_TRUNCATION = 2e-7
_DIGITS = 5
_OFF_TIES = 1e-6 / pi  # keeps plain fractions away from where rounding turns, so that no unit of length tips them over


@dataclass(frozen=True, slots=True)
class Squares:
    """Squares between a lower and an upper bound, and the best value between them."""

    low: float
    value: float
    high: float

    def __add__(self, other: "Squares") -> "Squares":
        return Squares(self.low + other.low, self.value + other.value, self.high + other.high)

    def times(self, count: int) -> "Squares":
        """So many of them in series."""
        return Squares(count * self.low, count * self.value, count * self.high)

    @classmethod
    def about(cls, value: float, doubt: float) -> "Squares":
        """``value`` squares that may be off by ``doubt`` squares either way."""
        return cls(value - doubt, value, value + doubt)

    @classmethod
    def exact(cls, value: float) -> "Squares":
        """``value`` squares, known without doubt."""
        return cls(value, value, value)


def bend_squares(shape: Zigzag, bend: int) -> Squares:
    """What a return bend of the plate adds, counted from where its straight passes begin (``bend_height_m`` from
    the edge)."""
    if bend == shape.support_bend:
        return _solved_bend(_unit_plate(shape), bend)
    return _solved_bend(_unit_bend(shape), 0)


def eye_squares(shape: Zigzag) -> Squares:
    """What an eye adds beyond the edge of the plate, up to the rim of its hole, which is taken as one terminal."""
    return _solved_eye(_unit_eye(shape))


@lru_cache(maxsize=512)
def _solved_bend(shape: Zigzag, bend: int) -> Squares:
    """The bend of a plate with unit strip width."""
    return solve_bend(shape, bend, _BEND_BRACKET)


def solve_bend(shape: Zigzag, bend: int, bracket: float) -> Squares:
    """The bend of a plate with unit strip width, solved to a bracket, a part of its squares with legs."""
    loop, ends, leg = _bend_loop(shape, bend)
    centre = eye_centres(shape).get("support eye")
    holes = (Circle(centre, shape.eye.hole_m / 2),) if centre and bend == shape.support_bend else ()
    return _solved(Outline(loop, holes), ends, 2 * leg, bracket)


@lru_cache(maxsize=512)
def _solved_eye(eye: Eye) -> Squares:
    """The eye on a strip of unit width."""
    return solve_eye(eye, _EYE_BRACKET)


def solve_eye(eye: Eye, bracket: float) -> Squares:
    """The eye on a strip of unit width, the first of a plate with plenty of room beside it, solved to a bracket."""
    room = 4 * eye.diameter_m
    shape = Zigzag(4 * room + 40, 3, 1.0, room, 1.0, eye, "opposite edges")
    leg = _LEG + max(0.0, eye.meets(0.5 - abs(eye.offset_m)) - eye.reach_m)
    loop, end = _eye_loop(shape, leg)
    hole = Circle(eye_centres(shape)["first eye"], eye.hole_m / 2)
    return _solved(Outline(loop, (hole,)), (end,), leg, bracket)


def _bend_loop(shape: Zigzag, bend: int) -> tuple[Loop, tuple[int, int], float]:
    """A return bend with its legs, the numbers of the segments that end the legs, and the length of a leg."""
    leg = _LEG + shape.fillet_m
    up = bend_up(bend)
    end_y = (shape.height_m if up > 0 else 0.0) - up * (shape.bend_height_m + leg)
    left, right = bend * shape.pitch_m, (bend + 1) * shape.pitch_m
    sides = [left, left + 1.0, right, right + 1.0]
    outer_near, inner_near, inner_far, outer_far = sides if up > 0 else sides[::-1]  # the metal left of the pen
    pen = Pen((inner_near, end_y), scale_m=1.0)
    inner_side(pen, shape, bend, up)
    pen.line(inner_far, end_y)
    first = len(pen.segments)
    pen.line(outer_far, end_y)
    outer_side(pen, shape, bend, -up)
    pen.line(outer_near, end_y)
    last = len(pen.segments)
    pen.line(inner_near, end_y)
    return pen.closed(), (first, last), leg


def _eye_loop(shape: Zigzag, leg: float) -> tuple[Loop, int]:
    """An eye with a leg that reaches up to ``leg`` above the edge, and the number of the segment that ends the leg."""
    pen = Pen((0.0, leg), scale_m=1.0)
    round_eye(pen, shape, 0)
    pen.line(1.0, leg)
    end = len(pen.segments)
    pen.line(0.0, leg)
    return pen.closed(), end


def _solved(outline: Outline, ends: tuple[int, ...], legs: float, bracket: float) -> Squares:
    """Squares between two leg ends, or from one leg end to the hole, less those of the legs."""
    from griddesign.plate.field import RimTerminal, squares_of_outline

    terminals = [RimTerminal(0, (end,)) for end in ends]
    if len(ends) == 1:
        terminals.append(RimTerminal(1))
    found = squares_of_outline(outline, None, bracket, tuple(terminals))
    return Squares(found.low - legs - _TRUNCATION, found.value - legs, found.high - legs + _TRUNCATION)


def _unit_bend(shape: Zigzag) -> Zigzag:
    """A plate of two passes with the same return bend, proportions rounded, its eyes so small that they never
    matter."""
    one = 1 / shape.strip_width_m
    gap, depth = _rounded(one * shape.pass_gap_m), _rounded(one * shape.bar_m)
    fillet = gap / 2 if shape.fully_round else _rounded(one * shape.fillet_m)
    return Zigzag(
        height_m=40.0 + 2 * depth + 2 * gap,
        passes=2,
        strip_width_m=1.0,
        pass_gap_m=gap,
        thickness_m=1.0,
        eye=Eye(1.0, 0.5, 1.0),
        eyes="one edge",
        bend=shape.bend,
        bend_depth_m=None if shape.bend_depth_m is None else depth,
        fillet_m=0.0 if shape.bend == "round" else min(fillet, gap / 2),
    )


def _unit_plate(shape: Zigzag) -> Zigzag:
    """The same plate with the strip width for unit, proportions rounded where the plate stays possible."""
    try:
        return _in_strip_widths(shape, _rounded)
    except GeometryError:
        return _in_strip_widths(shape, float)


def _in_strip_widths(shape: Zigzag, written: Callable[[float], float]) -> Zigzag:
    """The plate in strip widths; only its height is another, for legs long enough."""

    def unit(length_m: float) -> float:
        return written(length_m / shape.strip_width_m)

    eye, gap = shape.eye, unit(shape.pass_gap_m)
    return replace(
        shape,
        strip_width_m=1.0,
        pass_gap_m=gap,
        fillet_m=gap / 2 if shape.fully_round and shape.fillet_m else unit(shape.fillet_m),
        bend_depth_m=None if shape.bend_depth_m is None else unit(shape.bend_depth_m),
        height_m=40.0 + 2 * unit(shape.bend_height_m + eye.diameter_m),
        thickness_m=1.0,
        edge_thickness_m=None,
        edge_radius_m=0.0,
        eye=Eye(*map(unit, (eye.diameter_m, eye.hole_m, eye.reach_m, eye.offset_m, eye.fillet_m))),
    )


def _unit_eye(shape: Zigzag) -> Eye:
    """The eye with the strip width for unit, proportions rounded."""
    eye, one = shape.eye, 1 / shape.strip_width_m
    lengths = (eye.diameter_m, eye.hole_m, eye.reach_m, eye.offset_m, eye.fillet_m)
    diameter, hole, reach, offset, fillet = (_rounded(one * length) for length in lengths)
    return Eye(max(diameter, 1 + 2 * abs(offset)), hole, max(reach, hole / 2), offset, fillet)


def _rounded(proportion: float) -> float:
    return round(proportion + _OFF_TIES, _DIGITS)
