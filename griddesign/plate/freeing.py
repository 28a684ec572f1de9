"""How a plate follows one free dimension while eyes, height and overall width stay, and how far it may go.

Two ways to widen a strip. *Pitch kept*: the centre lines of the passes stay and the gap gives way; the overall width
grows by what the strip grows, half on each side. *Width kept*: strip and gap share the overall width anew. In both the
eyes stay where they are.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import sqrt

from griddesign.errors import GeometryError
from griddesign.plate.order import WidthRange
from griddesign.plate.process import MadeBy, process_checks
from griddesign.plate.shapes import Zigzag, mm

_SAMPLES = 64
_HALVINGS = 40


def pitch_kept(shape: Zigzag, strip_width_m: float) -> Zigzag:
    """The plate with another strip width in the same pitch. Inner fillets shrink where the gap would not hold them,
    and stay full rounds where they were. Raises GeometryError for a plate that cannot exist."""
    gap_m = shape.pitch_m - strip_width_m
    return replace(shape, strip_width_m=strip_width_m, pass_gap_m=gap_m, fillet_m=_fillet_m(shape, gap_m))


def width_kept(shape: Zigzag, strip_width_m: float, passes: int | None = None) -> Zigzag:
    """The plate with another strip width, and ``passes`` if given, inside the same overall width.

    The gap becomes ``(W - n w)/(n - 1)``; eyes keep their place, so their offset from the end pass takes up half the
    change of the strip. Raises GeometryError for a plate that cannot exist.
    """
    count = shape.passes if passes is None else passes
    gap_m = (shape.width_m - count * strip_width_m) / (count - 1)
    eye = replace(shape.eye, offset_m=shape.eye.offset_m + (shape.strip_width_m - strip_width_m) / 2)
    return replace(
        shape,
        passes=count,
        strip_width_m=strip_width_m,
        pass_gap_m=gap_m,
        fillet_m=_fillet_m(shape, gap_m),
        eye=eye,
    )


def with_thickness(shape: Zigzag, thickness_m: float) -> Zigzag:
    """The plate thicker or thinner all over; a taper keeps its proportion, rounded edges their radius."""
    edge_m = shape.edge_thickness_m
    scaled_m = None if edge_m is None else edge_m * thickness_m / shape.thickness_m
    return replace(shape, thickness_m=thickness_m, edge_thickness_m=scaled_m)


def flat(shape: Zigzag) -> Zigzag:
    """The plate cut from sheet: no taper, no rounded edges."""
    return replace(shape, edge_thickness_m=None, edge_radius_m=0.0)


def open_range(
    plate_at: Callable[[float], Zigzag],
    domain: WidthRange,
    near: float,
    made_by: MadeBy,
    unkept: frozenset[str] | None = None,
) -> WidthRange | None:
    """How far the free dimension may go around ``near``: plates that can exist and keep the rules of the process.

    A rule that no value in the domain would keep (or those in ``unkept`` where it is given) does not narrow the range:
    the caller reports it. None where there is no such plate. The ends are bisected to the last digits and lie inside.
    """
    trials = sorted({*_spaced(domain), near})
    broken = [broken_rules(plate_at, trial, made_by) for trial in trials]
    always = _in_all(broken) if unkept is None else unkept
    if always is None:
        return None
    good = [number for number, rules in enumerate(broken) if rules is not None and rules == always]
    if not good:
        return None
    first, last = _run(good, min(good, key=lambda number: abs(trials[number] - near)))

    def fits(value: float) -> bool:
        return broken_rules(plate_at, value, made_by) == always

    low = _edge(fits, trials[first], trials[first - 1]) if first else trials[0]
    high = _edge(fits, trials[last], trials[last + 1]) if last + 1 < len(trials) else trials[-1]
    return low, high


def never_kept(plate_at: Callable[[float], Zigzag], domain: WidthRange, made_by: MadeBy) -> frozenset[str] | None:
    """Names of the dimensions that break a binding rule all over the domain; None where no plate exists in it."""
    return _in_all([broken_rules(plate_at, trial, made_by) for trial in _spaced(domain)])


def _in_all(broken: Sequence[frozenset[str] | None]) -> frozenset[str] | None:
    real = [rules for rules in broken if rules is not None]
    return frozenset.intersection(*real) if real else None


def broken_rules(plate_at: Callable[[float], Zigzag], value: float, made_by: MadeBy) -> frozenset[str] | None:
    """Names of the dimensions that break a binding rule of the process; None where there is no such plate at all."""
    try:
        shape = plate_at(value)
    except GeometryError:
        return None
    return frozenset(check.item for check in process_checks(shape, made_by) if check.must and not check.ok)


def stopped_by(plate_at: Callable[[float], Zigzag], end: float, beyond: float, made_by: MadeBy) -> str:
    """What keeps the free dimension from going past the ``end`` of its range towards ``beyond``; "" where nothing."""
    try:
        shape = plate_at(beyond)
    except GeometryError as error:
        return error.message
    kept = broken_rules(plate_at, end, made_by) or frozenset()
    checks = (check for check in process_checks(shape, made_by) if check.must and not check.ok)
    new = [check for check in checks if check.item not in kept]
    return f"the rule for {made_by}: {new[0].item} at least {mm(new[0].limit_m)}" if new else ""


def _fillet_m(shape: Zigzag, gap_m: float) -> float:
    if shape.fillet_m and shape.fully_round:
        return gap_m / 2
    return min(shape.fillet_m, max(gap_m, 0.0) / 2)


def _spaced(domain: WidthRange) -> tuple[float, ...]:
    low, high = domain
    return tuple(low + (high - low) * number / _SAMPLES for number in range(_SAMPLES + 1))


def _run(good: Sequence[int], number: int) -> tuple[int, int]:
    """First and last of the unbroken run of numbers around one of them."""
    known, first, last = set(good), number, number
    while first - 1 in known:
        first -= 1
    while last + 1 in known:
        last += 1
    return first, last


def _edge(fits: Callable[[float], bool], good: float, bad: float) -> float:
    """The last value that fits between one that does and one that does not."""
    for _ in range(_HALVINGS):
        middle = sqrt(good * bad)
        good, bad = (middle, bad) if fits(middle) else (good, middle)
    return good
