"""Ordering a plate: the strip width that gives the ohms, and how a strip of given length folds into a plate."""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, isfinite, log, pi

from griddesign.errors import GeometryError
from griddesign.metals import Metal
from griddesign.plate.bends import known_squares, solved_squares, straight_m
from griddesign.plate.ohms import cold_ohm
from griddesign.plate.shapes import BendKind, EyePlaces, Zigzag, mm, with_strip_width

_CLOSE = 1e-12
_STEPS = 200

WidthRange = tuple[float, float]
ShapeAt = Callable[[float], Zigzag]
"""The plate that belongs to a strip width (m): how everything else follows it."""


def ohm_range(shape: Zigzag, metal: Metal, width_range_m: WidthRange) -> tuple[float, float]:
    """(least, most) cold ohms the plate can have with a strip width (m) in the range, pitch and height kept.

    Raises GeometryError where either end of the range makes a plate that cannot exist.
    """
    return _ohms_between(_pitch_kept(shape), metal, width_range_m)


def _pitch_kept(shape: Zigzag) -> ShapeAt:
    return lambda strip_width_m: with_strip_width(shape, strip_width_m)


def _ohms_between(shape_at: ShapeAt, metal: Metal, width_range_m: WidthRange) -> tuple[float, float]:
    narrow_m, wide_m = width_range_m
    if not 0 < narrow_m <= wide_m:
        raise GeometryError(f"a strip width from {mm(narrow_m)} to {mm(wide_m)} is no range")
    return cold_ohm(shape_at(wide_m), metal), cold_ohm(shape_at(narrow_m), metal)


def ordered(shape: Zigzag, metal: Metal, ohm: float, width_range_m: WidthRange) -> Zigzag:
    """The plate with the strip width that gives ``ohm`` at 20 degC; pitch and height are kept, the pass gap gives way.

    ``R(w)`` falls as w grows. What is exact or tabled is solved for w to 1e-12 of the ohms; what has to be solved
    in two dimensions at every trial (eyes, fillets, a bend with a support eye) has the grain of its mesh, at worst
    1e-5 of the ohms and always far inside the bracket. Raises GeometryError, naming the nearest possible ohms,
    outside what the range of widths can give.
    """
    return ordered_along(_pitch_kept(shape), metal, ohm, width_range_m)


def ordered_along(shape_at: ShapeAt, metal: Metal, ohm: float, width_range_m: WidthRange) -> Zigzag:
    """The same (cold ``ohm``, widths in metres) for any way in which the plate follows its strip width; passes and
    thickness must stay."""
    least, most = _ohms_between(shape_at, metal, width_range_m)
    if not least * (1 - _CLOSE) <= ohm <= most * (1 + _CLOSE):
        nearest, end_m = (least, width_range_m[1]) if ohm < least else (most, width_range_m[0])
        raise GeometryError(
            f"{ohm:.6g} ohm is not to be had with a strip of {mm(width_range_m[0])} to {mm(width_range_m[1])}: "
            f"{least:.6g} to {most:.6g} ohm",
            hint=f"Nearest is {nearest:.6g} ohm, with a strip of {mm(end_m)}.",
        )
    return shape_at(_width_for(shape_at, metal, ohm, width_range_m))


def _width_for(shape_at: ShapeAt, metal: Metal, ohm: float, width_range_m: WidthRange) -> float:
    """The strip width, solved again and again until it stays, or moves only by the grain of the two-dimensional
    solution."""
    narrow_m, wide_m = width_range_m
    slope = 0.0 if narrow_m == wide_m else _rise(shape_at, width_range_m) / (wide_m - narrow_m)
    width_m, moved_m = narrow_m, float("inf")
    while True:
        then_m = _next_width(shape_at, ohm / metal.resistivity.value, width_range_m, width_m, slope)
        last_m, moved_m, width_m = moved_m, abs(then_m - width_m), then_m
        if moved_m <= _CLOSE / 20 * width_m or 2 * moved_m > last_m:
            return width_m


def _next_width(shape_at: ShapeAt, target_per_m: float, width_range_m: WidthRange, at_m: float, slope: float) -> float:
    """The width that gives ohms/resistivity = ``target_per_m``, if the squares known from two dimensions are taken as a
    straight line through their value at the width ``at_m``."""
    held = _solved_at(shape_at, at_m)

    def miss(trial_m: float) -> float:
        trial = shape_at(trial_m)
        squares = straight_m(trial) / trial_m + known_squares(trial).value + held + slope * (trial_m - at_m)
        return log(squares / trial.effective_thickness_m / target_per_m)

    return falling_root(miss, *width_range_m)


def _rise(shape_at: ShapeAt, width_range_m: WidthRange) -> float:
    """By how much the squares known from two dimensions grow from one end of the range to the other."""
    narrow_m, wide_m = width_range_m
    return _solved_at(shape_at, wide_m) - _solved_at(shape_at, narrow_m)


def _solved_at(shape_at: ShapeAt, strip_width_m: float) -> float:
    return solved_squares(shape_at(strip_width_m)).value


def falling_root(f: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function crosses zero, or the end nearest to it. Illinois regula falsi, to the last digits."""
    at_low, at_high = f(low), f(high)
    if at_low <= 0:
        return low
    if at_high >= 0:
        return high
    middle, moved = low, ""
    for _ in range(_STEPS):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = f(middle)
        if abs(value) < _CLOSE / 20 or not low < middle < high:
            break
        if value > 0:
            low, at_low, at_high = middle, value, at_high / (2 if moved == "low" else 1)
            moved = "low"
        else:
            high, at_high, at_low = middle, value, at_low / (2 if moved == "high" else 1)
            moved = "high"
    return middle


@dataclass(frozen=True, slots=True)
class Fold:
    """One way to fold a strip into a plate."""

    passes: int
    strip_width_m: float
    pass_gap_m: float
    eyes: EyePlaces


def folded(
    height_m: float, width_m: float, length_m: float, reach_m: float = 0.0, bend: BendKind = "square"
) -> tuple[Fold, ...]:
    """Every way to fold ``length_m`` of conductor into a plate ``height_m`` high and ``width_m`` wide, fewest
    passes first.

    Length is counted along the centre line between the centres of the eyes, which reach ``reach_m`` beyond the
    plate. With n passes of width w: ``n H + W - n w + 2 reach`` for square bends as deep as the strip is wide, ``n
    H + (pi/2 - 1)(W - w) - (n - 1) w + 2 reach`` for round ones. There is none where the length does not fit.
    Raises GeometryError unless all lengths are finite and above zero (the reach may be zero).
    """
    if not all(isfinite(x) and x > 0 for x in (height_m, width_m, length_m)) or not 0 <= reach_m < float("inf"):
        raise GeometryError(f"no strip of {mm(length_m)} folds into {mm(height_m)} x {mm(width_m)}")
    folds = (_fold(passes, height_m, width_m, length_m - 2 * reach_m, bend) for passes in _counts(length_m, height_m))
    return tuple(fold for fold in folds if fold is not None)


def _counts(length_m: float, height_m: float) -> range:
    return range(2, ceil(length_m / height_m) + 3)


def _fold(passes: int, height_m: float, width_m: float, length_m: float, bend: BendKind) -> Fold | None:
    """The one strip width with which so many passes make up the length; None where strip, gap or height run out."""
    if bend == "square":
        strip_m = (passes * height_m + width_m - length_m) / passes
    else:
        strip_m = (passes * height_m + (pi / 2 - 1) * width_m - length_m) / (passes - 1 + pi / 2 - 1)
    gap_m = (width_m - passes * strip_m) / (passes - 1)
    bend_m = strip_m if bend == "square" else strip_m + gap_m / 2
    if strip_m <= 0 or gap_m <= 0 or height_m <= 2 * bend_m:
        return None
    return Fold(passes, strip_m, gap_m, "one edge" if passes % 2 == 0 else "opposite edges")
