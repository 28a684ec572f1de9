"""Sharp inner corners of a domain, and the same domain with small fillets in them."""

from dataclasses import dataclass

import numpy as np

from griddesign.plate.field.domain import Domain, Floats, Ints, RimTerminal
from griddesign.plate.field.rim import cleaned_rings
from griddesign.plate.field.ring import Ring, points_along

_SHARP = np.radians(15.0)  # a smaller turn is taken for a chord of a curve
_ROOM = 0.3  # of the shorter neighbour edge that a fillet may take


@dataclass(frozen=True, slots=True, eq=False)
class Corners:
    """Sharp inner corners away from terminals: the points, their ring and place in it, the turn into the metal."""

    points: Floats
    ring: Ints
    index: Ints
    turn: Floats


def corners_of(domain: Domain) -> Corners:
    """Every corner of the free rim that turns into the metal by more than 15 degrees."""
    found = [(number, ring, *_sharp(ring)) for number, ring in enumerate(cleaned_rings(domain))]
    return Corners(
        np.concatenate([ring.points[index] for _, ring, index, _ in found]),
        np.concatenate([np.full(len(index), number) for number, _, index, _ in found]),
        np.concatenate([index for _, _, index, _ in found]),
        np.concatenate([turn for *_, turn in found]),
    )


def _sharp(ring: Ring) -> tuple[Ints, Floats]:
    """Sharp inner corners of one ring and their turns."""
    direction = np.arctan2(*ring.steps().T[::-1])
    half = 2 * np.arctan(ring.bulges)
    turn = direction - half - np.roll(direction + half, 1)
    inward = -((turn + np.pi) % (2 * np.pi) - np.pi)
    free = (ring.terminal < 0) & (np.roll(ring.terminal, 1) < 0)
    index = np.flatnonzero((inward > _SHARP) & free)
    return index, inward[index]


def filleted(domain: Domain, corners: Corners, radius: float) -> Domain:
    """The domain with a fillet of ``radius``, or as large as has room, in each of ``corners``."""
    rings = cleaned_rings(domain)
    rounded = []
    for number, ring in enumerate(rings):
        here = corners.ring == number
        turn = np.zeros(len(ring.points))
        turn[corners.index[here]] = corners.turn[here]
        rounded.append(_rounded(ring, turn, radius))
    terminals = [_terminal(rounded, index) for index in range(len(domain.terminals))]
    return Domain(
        tuple(ring.points for ring in rounded),
        tuple(terminals),
        domain.thickness,
        tuple(ring.bulges for ring in rounded),
    )


def _terminal(rings: list[Ring], index: int) -> RimTerminal:
    number = next(number for number, ring in enumerate(rings) if (ring.terminal == index).any())
    return RimTerminal(number, tuple(np.flatnonzero(rings[number].terminal == index).tolist()))


def _rounded(ring: Ring, turn: Floats, radius: float) -> Ring:
    """One ring with its corners of ``turn`` > 0 rounded."""
    length = np.hypot(*ring.steps().T)
    back = np.minimum(radius * np.tan(turn / 2), _ROOM * np.minimum(length, np.roll(length, 1)))
    begin, end = back / length, 1 - np.roll(back, -1) / length
    points: list[Floats] = []
    bulges: list[float] = []
    owners: list[int] = []
    for k in range(len(length)):
        before = k - 1
        if turn[k] > 0:
            points.append(_along(ring, before, end[before]))
            bulges.append(-float(np.tan(turn[k] / 4)))
            owners.append(-1)
        points.append(_along(ring, k, begin[k]))
        bulges.append(float(np.tan(np.arctan(ring.bulges[k]) * (end[k] - begin[k]))))
        owners.append(int(ring.terminal[k]))
    return Ring(np.array(points), np.array(bulges), np.array(owners))


def _along(ring: Ring, edge: int, fraction: float) -> Floats:
    """The point at a fraction of an edge."""
    following = ring.points[(edge + 1) % len(ring.points)]
    point: Floats = points_along(ring.points[edge], following, ring.bulges[edge], np.array([fraction]))[0]
    return point
