"""What return bends and eyes add to the squares of the straight strip: exact where it can be, else bracketed.

Along a strip the current evens out as ``exp(-pi L/w)``. With passes several strip widths long, the squares of a
plate are those of its straights and one constant per bend and per eye; what passes too short for that may add or
take is put into the bracket.
"""

from math import exp, pi

from griddesign.plate.cells import Squares, bend_squares, eye_squares
from griddesign.plate.hairpin import ROUND_DOUBT, ROUND_GAPS, hairpin_squares, round_hairpin_squares
from griddesign.plate.shapes import Zigzag


def plate_squares(shape: Zigzag) -> Squares:
    """Squares of the plate from the rim of one hole to the rim of the other, for a sheet of its effective thickness.

    ``(straights)/w + bends + 2 eyes``. Square bends with sharp corners are exact, round ones tabled; fillets, bends
    with a support eye, and eyes are solved in two dimensions and bring their bracket. To it are added what bends
    too near each other may change, at most ``exp(-pi L/w)`` for each pass of straight length L, and what an uneven
    section may change in bends and eyes (``_uneven``).
    """
    straights, turning = straight_m(shape) / shape.strip_width_m, known_squares(shape) + solved_squares(shape)
    crowded = shape.passes * exp(-pi * shape.straight_m / shape.strip_width_m)
    less, more = _uneven(shape)
    return Squares(
        straights + turning.low * less - crowded,
        straights + turning.value,
        straights + turning.high * more + crowded,
    )


def known_squares(shape: Zigzag) -> Squares:
    """Squares of the bends that need no solver: square and sharp, or round, without a support eye."""
    gap, depth = shape.pass_gap_m / shape.strip_width_m, shape.bar_m / shape.strip_width_m
    count = sum(count for bend, count in _bends(shape) if _is_known(shape, bend))
    if not count:
        return Squares.exact(0.0)
    if shape.bend == "square":
        return Squares.exact(hairpin_squares(gap, depth)).times(count)
    value = round_hairpin_squares(gap)
    return Squares(value - ROUND_DOUBT, value, value + ROUND_DOUBT).times(count)


def solved_squares(shape: Zigzag) -> Squares:
    """Squares of the eyes and all other bends, solved in two dimensions."""
    total = eye_squares(shape).times(2)
    for bend, count in _bends(shape):
        if not _is_known(shape, bend):
            total += bend_squares(shape, bend).times(count)
    return total


def _uneven(shape: Zigzag) -> tuple[float, float]:
    """Factors between which the squares of bends and eyes lie where the strip is not of one thickness.

    Metal added anywhere never raises the ohms (Rayleigh), so they lie between those of a sheet as thick as mid
    width and of one as thin as the edges. What rounded edges take is set down both ways alike, an estimate.
    """
    mean_m, edge_m = shape.effective_thickness_m, shape.edge_thickness_m or shape.thickness_m
    less = mean_m / shape.thickness_m
    return less, max(mean_m / edge_m, 1 / less)


def straight_m(shape: Zigzag) -> float:
    """Length of strip counted as straight: every pass between the bends, end passes up to the edge of the plate."""
    return shape.passes * shape.straight_m + 2 * shape.bend_height_m


def strip_m(shape: Zigzag) -> float:
    """Length of the conductor along its centre line, from the centre of one eye to that of the other."""
    if shape.bend == "round":
        turns = (shape.passes - 1) * pi * shape.pitch_m / 2
        return straight_m(shape) + turns + 2 * shape.eye.reach_m
    uprights = straight_m(shape) + (shape.passes - 1) * shape.bar_m
    return uprights + (shape.passes - 1) * shape.pitch_m + 2 * shape.eye.reach_m


def _bends(shape: Zigzag) -> list[tuple[int, int]]:
    """(a bend, how many like it): those without and the one with a support eye."""
    lugged = shape.support_bend
    if lugged is None:
        return [(0, shape.passes - 1)]
    plain = [bend for bend in range(shape.passes - 1) if bend != lugged]
    return [(lugged, 1), *([(plain[0], len(plain))] if plain else [])]


def _is_known(shape: Zigzag, bend: int) -> bool:
    if bend == shape.support_bend or shape.fillet_m:
        return False
    return shape.bend == "square" or ROUND_GAPS[0] <= shape.pass_gap_m / shape.strip_width_m <= ROUND_GAPS[1]
