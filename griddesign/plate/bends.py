"""What return bends and eyes add to the squares of the straight strip: exact, tabled, or solved and bracketed.

Along a strip the current evens out as ``exp(-pi L/w)``. With passes several strip widths long, the squares of a
plate are those of its straights and one constant per bend and per eye; what passes too short for that may add or
take is put into the bracket.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, pi
from typing import Literal

from griddesign.plate.cells import Squares, bend_squares, eye_squares
from griddesign.plate.hairpin import ROUND_DOUBT, ROUND_GAPS, hairpin_squares, round_hairpin_squares
from griddesign.plate.shapes import Zigzag
from griddesign.plate.tabled import CELL_DOUBT, bend_is_tabled, eye_is_tabled, tabled_bend, tabled_eye

How = Literal["mapped", "tabled", "solved"]
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Turning:
    """Squares of like bends or of the eyes, and where they are from: exact by conformal mapping, from a table of
    solutions, or solved in two dimensions for this plate."""

    what: Literal["bends", "eyes"]
    how: How
    squares: Squares


def plate_squares(shape: Zigzag) -> Squares:
    """Squares of the plate from the rim of one hole to the rim of the other, for a sheet of its effective thickness.

    ``(straights)/w + bends + 2 eyes``. Square bends with sharp corners are exact; round ones, fillets and eyes are
    tabled with their doubt; those outside the tables, bends with a support eye, and eyes set off the strip are solved
    in two dimensions and bring their bracket. To it are added what bends too near each other may change, at most
    ``exp(-pi L/w)`` for each pass of straight length L, and what an uneven section may change in bends and eyes
    (``_uneven``).
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
    """Squares of the bends and eyes that need no solver."""
    return sum((one.squares for one in turnings(shape) if one.how != "solved"), Squares.exact(0.0))


def solved_squares(shape: Zigzag) -> Squares:
    """Squares of all other bends and eyes, solved in two dimensions."""
    return sum((one.squares for one in turnings(shape) if one.how == "solved"), Squares.exact(0.0))


def turnings(shape: Zigzag) -> Iterator[Turning]:
    """All bends, those with a support eye by themselves, and the two eyes."""
    for bend, count in _bends(shape):
        how = _how(shape, bend)
        each = bend_squares(shape, bend) if how == "solved" else _known_bend(shape)
        yield Turning("bends", how, each.times(count))
    eye = _known_eye(shape)
    yield Turning("eyes", "solved" if eye is None else "tabled", (eye or eye_squares(shape)).times(2))


def _how(shape: Zigzag, bend: int) -> How:
    gap = shape.pass_gap_m / shape.strip_width_m
    if bend == shape.support_bend:
        return "solved"
    if shape.bend == "round":
        return "tabled" if ROUND_GAPS[0] <= gap <= ROUND_GAPS[1] else "solved"
    if not shape.fillet_m:
        return "mapped"
    as_deep = abs(shape.bar_m / shape.strip_width_m - 1) < _SAME
    return "tabled" if as_deep and bend_is_tabled(gap) else "solved"


def _known_bend(shape: Zigzag) -> Squares:
    one = 1 / shape.strip_width_m
    gap = one * shape.pass_gap_m
    if shape.bend == "round":
        return Squares.about(round_hairpin_squares(gap), ROUND_DOUBT)
    if shape.fillet_m:
        return Squares.about(tabled_bend(gap, one * min(shape.fillet_m, shape.pass_gap_m / 2)), CELL_DOUBT)
    return Squares.exact(hairpin_squares(gap, one * shape.bar_m))


def _known_eye(shape: Zigzag) -> Squares | None:
    """One eye from the table; None where it is not in it."""
    eye, one = shape.eye, 1 / shape.strip_width_m
    proportions = (one * eye.hole_m, one * eye.web_m, one * eye.fillet_m)
    if abs(one * eye.offset_m) >= _SAME or not eye_is_tabled(*proportions):
        return None
    return Squares.about(one * eye.reach_m + tabled_eye(*proportions), CELL_DOUBT)


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
