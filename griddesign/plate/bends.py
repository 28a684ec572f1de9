"""What return bends and eyes add to the squares of the straight strip: exact where it can be, else bracketed.

Along a strip the current evens out as ``exp(-pi L/w)``. With passes several strip widths long, the squares of a
plate are those of its straights and one constant per bend and per eye; what passes too short for that may add or
take is put into the bracket.
"""

from math import exp, pi

from griddesign.plate.cells import Squares, bend_squares, eye_squares
from griddesign.plate.hairpin import hairpin_squares
from griddesign.plate.shapes import Zigzag


def plate_squares(shape: Zigzag) -> Squares:
    """Squares of the plate from the rim of one hole to the rim of the other, for a sheet of its effective thickness.

    ``(straights)/w + bends + 2 eyes``. Square bends with sharp corners are exact; round bends, fillets, bends with
    a support eye, and eyes are solved in two dimensions and bring their bracket. To it are added what bends too
    near each other may change, at most ``exp(-pi L/w)`` for each pass of straight length L, and what an uneven
    section may change in bends and eyes (``_uneven``).
    """
    straights, sharp, solved = straight_m(shape) / shape.strip_width_m, sharp_squares(shape), solved_squares(shape)
    crowded = shape.passes * exp(-pi * shape.straight_m / shape.strip_width_m)
    less, more = _uneven(shape)
    return Squares(
        straights + (sharp + solved.low) * less - crowded,
        straights + sharp + solved.value,
        straights + (sharp + solved.high) * more + crowded,
    )


def sharp_squares(shape: Zigzag) -> float:
    """Squares of the square bends with sharp corners, exact."""
    sharp = sum(count for bend, count in _bends(shape) if _is_sharp(shape, bend))
    width_m = shape.strip_width_m
    return sharp * hairpin_squares(shape.pass_gap_m / width_m, shape.bar_m / width_m) if sharp else 0.0


def solved_squares(shape: Zigzag) -> Squares:
    """Squares of the eyes and all other bends, solved in two dimensions."""
    total = eye_squares(shape).times(2)
    for bend, count in _bends(shape):
        if not _is_sharp(shape, bend):
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


def _is_sharp(shape: Zigzag, bend: int) -> bool:
    return shape.bend == "square" and not shape.fillet_m and bend != shape.support_bend
