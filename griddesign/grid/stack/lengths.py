"""Lengths, counts and growth of the stacked boxes. Metres, temperatures in degrees Celsius."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

from griddesign.grid.stack.records import BoxStack, StackPart, What
from griddesign.metals import Metal

COLD_C = 20.0
_SAME_M = 5e-7  # spacers that agree so far are one length


@dataclass(frozen=True, slots=True)
class Growth:
    """How much longer than its rod a stack gets: against a rod still at 20 degC, and against one as hot as the stack.

    ``eyes_m``: what the eyes alone grow. ``parts_m``: what washers, spacers and clamps grow, of the rod's metal, and
    ``rod_m`` the rod when as hot; None where the rod's metal is not known.
    """

    eyes_m: float
    parts_m: float | None
    rod_m: float | None

    @property
    def over_cold_rod_m(self) -> float | None:
        """The whole stack against a rod at 20 degC."""
        return None if self.parts_m is None else self.eyes_m + self.parts_m

    @property
    def over_hot_rod_m(self) -> float | None:
        """The whole stack against a rod as hot as itself: less than nothing where the stack comes loose."""
        over = self.over_cold_rod_m
        return None if over is None or self.rod_m is None else over - self.rod_m


def between_frames_m(stack: BoxStack) -> float | None:
    """Clear length between the end frames, cold; None where clamp, metal washer or end insulation is not known."""
    first, *_, last = stack.rods[0].gaps
    if first.length_m is None or last.length_m is None:
        return None
    return first.length_m + stack.over_eyes_m + last.length_m


def make_up_m(boxes: Sequence[BoxStack]) -> tuple[float, ...]:
    """What each box is shorter over its eyes than the longest one: filled up at its far end where frames are alike."""
    longest_m = max(stack.over_eyes_m for stack in boxes)
    return tuple(longest_m - stack.over_eyes_m for stack in boxes)


def growth(
    stack: BoxStack, metal_of: Mapping[int, Metal], hot_c: Mapping[int, float], rod_metal: Metal | None
) -> Growth:
    """Growth from 20 degC with every eye as hot as its plate (it is cooler: a bound) and all else at their mean.

    ``sum(alpha e (T - 20))`` over the eyes; mica and end insulation are taken not to grow. ``metal_of`` and ``hot_c``:
    by plate of the whole grid.
    """
    rod = stack.rods[0]
    rises = {plate: hot_c[plate] - COLD_C for plate in stack.plates}
    eyes_m = sum(metal_of[eye.plate].expansion.value * (eye.length_m or 0.0) * rises[eye.plate] for eye in rod.eyes)
    alpha = rod_metal.expansion.value if rod_metal else None
    mean_k = sum(rises.values()) / len(rises)
    metal_m = _metal_m(rod.parts)
    whole_m = between_frames_m(stack)
    parts_m = None if alpha is None or metal_m is None else alpha * metal_m * mean_k
    return Growth(eyes_m, parts_m, None if alpha is None or whole_m is None else alpha * whole_m * mean_k)


def _metal_m(parts: Iterable[StackPart]) -> float | None:
    """Length of what conducts besides the eyes; None where some of it is not known."""
    lengths_m = [part.length_m for part in parts if part.conducting and part.what != "eye"]
    known = [length_m for length_m in lengths_m if length_m is not None]
    return sum(known) if len(known) == len(lengths_m) else None


def tolerance_m(stack: BoxStack, of_eye_m: Mapping[int, float | None]) -> tuple[float, float] | None:
    """Plus and minus over the eyes if every eye errs the same way, and the root of the sum of squares, m.

    ``of_eye_m``: plus and minus on the eye of each plate of the grid; None where one of them is not known.
    """
    each = [of_eye_m[plate] for plate in stack.plates]
    known = [one for one in each if one is not None]
    return (sum(known), sqrt(sum(one * one for one in known))) if len(known) == len(each) else None


@dataclass(frozen=True, slots=True)
class Counted:
    """So many of one part of one length."""

    what: What
    length_m: float | None
    count: int


def counted(boxes: Iterable[BoxStack]) -> tuple[Counted, ...]:
    """Every part on the rods but the eyes, by length, longest last; a length under zero is one that does not go in."""
    found: Counter[tuple[What, int | None]] = Counter()
    for stack in boxes:
        for rod in stack.rods:
            found.update(
                (part.what, None if part.length_m is None else round(part.length_m / _SAME_M))
                for part in rod.parts
                if part.what != "eye"
            )
    ordered = sorted(found.items(), key=lambda item: (item[0][0], item[0][1] or 0))
    return tuple(Counted(what, None if steps is None else steps * _SAME_M, count) for (what, steps), count in ordered)


def do_not_go_in(boxes: Iterable[BoxStack]) -> tuple[Counted, ...]:
    """Spacers left less than nothing by the parts beside them."""
    return tuple(one for one in counted(boxes) if one.length_m is not None and one.length_m < -_SAME_M)
