"""Line, car, motor and start of a job file."""

from itertools import pairwise
from typing import Literal, get_args

from griddesign.job.motors import read_each, read_points
from griddesign.job.nameplate import is_unknown, read_nameplate
from griddesign.job.part import Part, read_figure_at
from griddesign.job.transitions import read_transition
from griddesign.traction.records import Car, Line, MagnetisationPoints, Motor, RunningResistance, Start

COPPER_REFERENCE_C = 20.0
NotchUp = Literal["at valley current", "by time", "within peak current"]
NOTCH_UP: tuple[NotchUp, ...] = get_args(NotchUp)


def read_line(part: Part) -> Line | None:
    """The ``[line]`` table."""
    nominal = part.quantity("nominal", "voltage", example="600 V")
    highest = part.quantity("highest", "voltage", example="720 V")
    feeder = part.quantity("feeder_resistance", "resistance", required=False, above=None, least=0.0)
    breaker = part.quantity("breaker", "current", required=False)
    part.close()
    if nominal is None or highest is None:
        return None
    if highest < nominal:
        part.complain("highest", f"{highest:g} V lies below the nominal {nominal:g} V", "Give the highest voltage met.")
    return Line(nominal, highest, feeder or 0.0, breaker)


def read_car(part: Part) -> Car | None:
    """The ``[car]`` table."""
    mass = part.quantity("mass", "mass", example="13.5 t")
    rotating = part.quantity("rotating_mass", "fraction", example="10 %", above=None, least=0.0, most=1.0)
    wheel = part.quantity("wheel_diameter", "length", example="0.84 m")
    gear = part.quantity("gear_ratio", "number", example="3.5")
    efficiency = part.quantity("drive_efficiency", "fraction", example="95 %", most=1.0)
    resistance = _read_resistance(part)
    gradient = part.quantity("gradient", "gradient", required=False, above=None)
    adhesion = part.quantity("adhesion", "fraction", required=False, most=1.0)
    adhesive = part.quantity("adhesive_mass", "mass", required=False)
    part.close()
    if mass is None or rotating is None or wheel is None or gear is None or efficiency is None or resistance is None:
        return None
    if adhesive is not None and adhesive > mass:
        part.complain(
            "adhesive_mass", f"{adhesive:g} kg is more than the car's {mass:g} kg", "It is the mass on driven wheels."
        )
    return Car(mass, rotating, wheel, gear, efficiency, resistance, gradient or 0.0, adhesion, adhesive)


def _read_resistance(part: Part) -> RunningResistance | None:
    inner = part.table("running_resistance", required=True)
    if inner is None:
        return None
    constant = inner.quantity("constant", "mass_resistance", example="45 N/t", above=None, least=0.0)
    linear = inner.quantity("per_speed", "mass_resistance_per_speed", required=False, above=None, least=0.0)
    square = inner.quantity("per_speed_squared", "mass_resistance_per_speed2", required=False, above=None, least=0.0)
    inner.close()
    return None if constant is None else RunningResistance(constant, linear or 0.0, square or 0.0)


def read_motor(part: Part) -> Motor | None:
    """The ``[motor]`` table; the curve is tried here so that its faults come with a line."""
    count = part.whole_number("count", 1, most=16)
    found = _read_by_plate(part) if part.has("nameplate") else _read_measured(part)
    inductance, each = part.quantity("inductance", "inductance", required=False), read_each(part, count)
    part.close()
    if count is None or found is None or each is None:
        return None
    (resistance_ohm, at_c), points = found
    return Motor(count, resistance_ohm, at_c, points, each, inductance)


def _read_measured(part: Part) -> tuple[tuple[float, float], MagnetisationPoints] | None:
    resistance, points = _resistance_at(part), read_points(part)
    return None if resistance is None or points is None else (resistance, points)


def _read_by_plate(part: Part) -> tuple[tuple[float, float], MagnetisationPoints] | None:
    """Ohms and curve of a motor that gives its nameplate in place of a measured curve."""
    part.mark("magnetisation")
    if part.has("magnetisation"):
        part.complain("nameplate", "stands beside a magnetisation", "Keep one: a measured curve is worth more.")
        return None
    part.mark("resistance")
    unknown = is_unknown(part, "resistance")
    resistance = None if unknown else _resistance_at(part)
    return read_nameplate(part, resistance) if unknown or resistance is not None else None


def _resistance_at(part: Part) -> tuple[float, float] | None:
    """Ohms of one motor and the temperature they hold at; without a temperature, 20 degC."""
    text = part.data.get("resistance")
    if not isinstance(text, str) or " at " not in text:
        ohms = part.quantity("resistance", "resistance", example="0.42 ohm at 75 degC")
        return None if ohms is None else (ohms, COPPER_REFERENCE_C)
    found = part.attempt("resistance", lambda: read_figure_at(text, "resistance"))
    if found is None:
        part.mark("resistance")
        return None
    figure, at_c = part.noted("resistance", found[0]), found[1]
    if figure.low <= 0.0:
        part.complain("resistance", f"{text} cannot be", "It must be above zero.")
        return None
    return figure.value, COPPER_REFERENCE_C if at_c is None else at_c


def read_start(part: Part, motor: Motor | None) -> Start | None:
    """The ``[start]`` table."""
    peak = part.quantity("peak_current", "current", example="130 A")
    first = part.quantity("first_notch_current", "current", required=False)
    notch_up = part.choice("notch_up", NOTCH_UP, "at valley current") or "at valley current"
    valley = part.quantity("valley_current", "current", required=False)
    every, times = part.quantity("seconds_per_notch", "time", required=False), _read_times(part)
    transition = read_transition(part)
    part.close()
    if peak is None:
        return None
    start = Start(peak, peak if first is None else first, valley, notch_up, every, times, transition)
    _check_start(part, start, motor)
    _check_clock(part, start)
    return start


def _read_times(part: Part) -> tuple[float, ...]:
    """The moments at which the driver leaves each notch, s after the power came on."""
    part.mark("times")
    times = part.quantities("times", "time", example="1.2 s") if part.has("times") else None
    if times and any(later <= earlier for earlier, later in pairwise(times)):
        part.complain("times", "do not rise", "Give the moment of leaving each notch, counted from power on.")
    return times or ()


def _check_clock(part: Part, start: Start) -> None:
    """By time needs one of two keys, any other way neither."""
    given = [name for name, value in (("seconds_per_notch", start.notch_s), ("times", start.times_s)) if value]
    if start.notch_up == "by time" and len(given) != 1:
        part.complain(
            "notch_up",
            f"by time, with {' and '.join(given) or 'no times'}",
            'Give one: seconds_per_notch = "1.2 s", or times = ["1.2 s", ...].',
        )
    if start.notch_up != "by time" and given:
        part.complain(given[0], f"the driver notches up {start.notch_up}", 'Write notch_up = "by time", or drop it.')


def _check_start(part: Part, start: Start, motor: Motor | None) -> None:
    if start.first_notch_a > start.peak_a:
        part.complain(
            "first_notch_current",
            f"{start.first_notch_a:g} A is above the peak of {start.peak_a:g} A",
            "The standing start may not pass the peak.",
        )
    if start.valley_a is not None and start.valley_a >= start.peak_a:
        part.complain(
            "valley_current", f"{start.valley_a:g} A is not below the peak of {start.peak_a:g} A", "Lower it."
        )
    if motor is not None and start.peak_a > motor.magnetisation.current_a[-1]:
        part.complain(
            "peak_current",
            f"{start.peak_a:g} A lies beyond the motor curve, which ends at {motor.magnetisation.current_a[-1]:g} A",
            "Measure the curve further up, or lower the peak.",
        )
