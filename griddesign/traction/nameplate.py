"""A series motor known by its nameplate only: the spread of published curve shapes, scaled to it."""

from collections.abc import Sequence
from dataclasses import dataclass

from griddesign.traction.records import MagnetisationPoints
from griddesign.traction.shapes import Shape, published_shapes

SHARES = (0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0, 1.125, 1.25, 1.375, 1.5)
"""Shares of the rated current up to which every published curve reaches."""
BEYOND = (2.0, 2.5, 3.0)
"""Shares where none does: see ``spread``."""
CREEP = 1e-3
"""Rise of flux, per rated current, of iron that takes no more: a curve must rise to be one."""
COPPER_SHARE = (0.4, 0.65, 1.0)
"""Share of a motor's losses at its rating that is copper: least, likely, most. The most is exact, the others are from
memory; one textbook assumes a half (Deshpande, Electrical Machines, Ex 9.2, p. 198)."""
RATED_RPM = (450.0, 600.0, 750.0)
"""Speed of an axle-hung car motor at its rating: least, likely, most (from memory, no source)."""


@dataclass(frozen=True, slots=True)
class Nameplate:
    """What a plate says of one motor: shaft power W, volts, amperes; and its hot ohms and speed in rad/s."""

    power_w: float
    volts_v: float
    current_a: float
    resistance_ohm: float
    speed_rad_s: float


def efficiency(power_w: float, volts_v: float, current_a: float) -> float:
    """Shaft power over what goes in, ``P / (V·I)``."""
    return power_w / (volts_v * current_a)


def resistance_ends(power_w: float, volts_v: float, current_a: float) -> tuple[float, float, float]:
    """Least, likely and most ohms of the motor, hot: ``share·(V·I - P) / I²``, shares as ``COPPER_SHARE``.

    The most leaves nothing for iron, friction and brushes: more is not possible.
    """
    lost_ohm = (volts_v * current_a - power_w) / current_a**2
    low, likely, high = (share * lost_ohm for share in COPPER_SHARE)
    return low, likely, high


def spread(shapes: Sequence[Shape]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Flux over rated flux (no unit) at ``SHARES`` and ``BEYOND``: the least and the most saturated of the shapes.

    Least saturated is the lowest of all curves below the rated current and the highest above it, most saturated the
    other way round: between the two lies every published curve, with its rated current at either end. Beyond the
    curves the one goes on with its last slope and the other stays flat but for ``CREEP``: iron does neither better nor
    worse. The spread is what was published, no more: of five motors, each held against the other four by its speeds,
    the least saturated stands 10 % outside at half its rated current and the most saturated 15 % at a quarter.
    """
    each = [[shape.flux(share, rated) for shape in shapes for rated in shape.rated_a] for share in SHARES]
    low, high = [min(values) for values in each], [max(values) for values in each]
    straight = [a if share < 1.0 else b for share, a, b in zip(SHARES, low, high, strict=True)]
    bent = [b if share < 1.0 else a for share, a, b in zip(SHARES, low, high, strict=True)]
    slope = (straight[-1] - straight[-2]) / (SHARES[-1] - SHARES[-2])
    return _carried_on(straight, slope), _carried_on(bent, CREEP)


def _carried_on(values: Sequence[float], slope: float) -> tuple[float, ...]:
    return *values, *(values[-1] + slope * (share - SHARES[-1]) for share in BEYOND)


def magnetisation(plate: Nameplate, saturation: float, shapes: Sequence[Shape] | None = None) -> MagnetisationPoints:
    """The curve of a motor by its plate, ``E = (V - I·R)·flux(I / I rated)`` at the rated speed.

    ``saturation`` 0 is the least saturated of the published shapes, 1 the most, between them in proportion. What the
    motor loses in iron and friction is not taken off the torque, as with a measured emf. Curve and ohms pass through
    the rating exactly; all else is an estimate.
    """
    straight, bent = spread(published_shapes() if shapes is None else shapes)
    rated_v = plate.volts_v - plate.current_a * plate.resistance_ohm
    flux = [(1.0 - saturation) * a + saturation * b for a, b in zip(straight, bent, strict=True)]
    currents = tuple(share * plate.current_a for share in (*SHARES, *BEYOND))
    return MagnetisationPoints(plate.speed_rad_s, currents, tuple(rated_v * value for value in flux))
