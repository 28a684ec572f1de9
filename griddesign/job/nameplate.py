"""``[motor] nameplate``: a motor nobody has measured, from what its plate says, with the ends of what it does not."""

from griddesign.figures import Figure, Status
from griddesign.job.part import Part
from griddesign.metals import source
from griddesign.traction.curve import MotorCurve
from griddesign.traction.nameplate import (
    COPPER_SHARE,
    RATED_RPM,
    Nameplate,
    efficiency,
    magnetisation,
    resistance_ends,
)
from griddesign.traction.records import MagnetisationPoints
from griddesign.traction.shapes import published_shapes

HOT_C = 75.0
LEAST_EFFICIENCY = 0.5
"""Shaft over electric power at the rating, below which a nameplate is misread: published car motors stand at 0.8 and
more (general engineering, from memory)."""
UNKNOWN = "unknown"
SHAPE = "curve_shape"
RAD_S_PER_RPM = 0.10471975511965977


def is_unknown(part: Part, name: str) -> bool:
    """Whether a key is left out, or says "unknown"."""
    return bool(part.data.get(name, UNKNOWN) == UNKNOWN)


def read_nameplate(
    part: Part, resistance: tuple[float, float] | None
) -> tuple[tuple[float, float], MagnetisationPoints] | None:
    """Ohms with the temperature they hold at, and the curve, from the plate in ``part``, the ``[motor]`` table.

    ``resistance`` is what the table gives, None where it does not know. What is not known is noted as a figure with its
    two ends: ``motor.resistance``, ``motor.nameplate.speed`` and ``motor.nameplate.curve_shape``.
    """
    plate = part.table("nameplate")
    if plate is None:
        return None
    figures = [plate.figure(name, kind, example=example, above=0.0) for name, kind, example in _GIVEN]
    speed = _speed(plate)
    plate.close()
    shape = plate.noted(SHAPE, _shape())
    if None in figures or speed is None:
        return None
    power, volts, current = (figure for figure in figures if figure is not None)
    pinned = bool(part.notebook.pinned)  # an end: what the file says was judged when it was read
    if not pinned and not _agrees(plate, power, volts, current, resistance):
        return None
    ohms = resistance or (_estimated(part, power.value, volts.value, current.value), HOT_C)
    found = Nameplate(power.value, volts.value, current.value, ohms[0], speed.value)
    points = magnetisation(found, shape.value)
    return None if plate.attempt("current", lambda: MotorCurve(points)) is None else (ohms, points)


_GIVEN = (("power", "power", "25 kW"), ("voltage", "voltage", "550 V"), ("current", "current", "53 A"))


def _speed(plate: Part) -> Figure | None:
    if not is_unknown(plate, "speed"):
        return plate.figure("speed", "rotational_speed", example="600 rpm", above=0.0)
    low, likely, high = (rpm * RAD_S_PER_RPM for rpm in RATED_RPM)
    text = f"not known: {RATED_RPM[0]:.0f} to {RATED_RPM[2]:.0f} rpm, as axle-hung car motors have it"
    return plate.noted("speed", Figure(likely, low, high, Status.ESTIMATE, "from memory, no source", text))


def _shape() -> Figure:
    shapes = published_shapes()
    sources = "; ".join(source(key).title for key in dict.fromkeys(shape.source for shape in shapes))
    text = f"not known: from the least to the most saturated of {len(shapes)} published motors"
    return Figure(0.5, 0.0, 1.0, Status.ESTIMATE, sources, text)


def _estimated(part: Part, power_w: float, volts_v: float, current_a: float) -> float:
    """Ohms of the motor from the losses of the plate, noted with both ends."""
    low, likely, high = resistance_ends(power_w, volts_v, current_a)
    text = f"not known: {low:.3g} to {high:.3g} ohm hot, copper {COPPER_SHARE[0]:.0%} to all of the plate's losses"
    figure = Figure(likely, low, high, Status.ESTIMATE, "losses of the nameplate; shares from memory", text)
    return part.noted("resistance", figure).value


def _agrees(plate: Part, power: Figure, volts: Figure, current: Figure, resistance: tuple[float, float] | None) -> bool:
    """Whether power, volts and amperes can stand on one plate; complains where they cannot."""
    share = efficiency(power.value, volts.value, current.value)
    given = f"{power.text} from {volts.text} and {current.text}"
    if share >= 1.0:
        plate.complain(
            "power",
            f"{given} is an efficiency of {share:.1%}: nothing is left for its losses",
            "Give power and current of one motor, and the power at the shaft.",
        )
    elif share < LEAST_EFFICIENCY:
        plate.complain(
            "power",
            f"{given} is an efficiency of {share:.0%}, and no car motor is that poor at its rating",
            "Give power and current of one motor, both for the same rating.",
        )
    elif resistance is not None:
        return _copper_fits(plate, power, volts, current, resistance[0])
    return LEAST_EFFICIENCY <= share < 1.0


def _copper_fits(plate: Part, power: Figure, volts: Figure, current: Figure, ohm: float) -> bool:
    copper_w, lost_w = current.low**2 * ohm, volts.high * current.high - power.low
    if copper_w <= lost_w:
        return True
    plate.complain(
        "power",
        f"{ohm:.4g} ohm at {current.text} turns {copper_w:.0f} W into heat, and the plate leaves {lost_w:.0f} W for "
        "all losses",
        "Look for a slip in the resistance, the current or the power.",
    )
    return False
