"""How the engineer's sheets write a number: in the units of the job, held to its unit, marked where it is not sure."""

import math
from dataclasses import dataclass

from griddesign.errors import TableError
from griddesign.figures import Figure
from griddesign.job.records import PaperUnits
from griddesign.metals import source
from griddesign.units import KINDS, show, show_change, show_range

ABOUT = "≈\u00a0"
"""Set before every number that rests on memory, an estimate or a range."""

NO_BREAK = "\u00a0"

# What a figure of the job is, by the end of its dotted key; the longest ending that fits counts.
_KIND_OF_KEY = {
    "line.nominal": "voltage", "line.highest": "voltage", "line.feeder_resistance": "resistance",
    "line.breaker": "current", "motor.resistance": "resistance", "magnetisation.speed": "rotational_speed",
    "car.mass": "mass", "car.rotating_mass": "fraction", "car.wheel_diameter": "length", "car.gear_ratio": "number",
    "car.drive_efficiency": "fraction", "running_resistance.constant": "mass_resistance",
    "running_resistance.per_speed": "mass_resistance_per_speed",
    "running_resistance.per_speed_squared": "mass_resistance_per_speed2", "car.gradient": "gradient",
    "car.adhesion": "fraction", "car.adhesive_mass": "mass", "start.peak_current": "current",
    "start.first_notch_current": "current", "start.valley_current": "current", "wanted": "resistance",
    "measured": "resistance", "shape.height": "length", "strip_width": "length", "pass_gap": "length",
    "thickness": "length", "bend_depth": "length", "fillet": "length", "edge_thickness": "length",
    "edge_radius": "length", "eye.diameter": "length", "eye.hole": "length", "eye.reach": "length",
    "eye.offset": "offset", "boxes.plate_gap": "length", "boxes.joint_resistance": "resistance",
    "duty.start_every": "time", "duty.ambient": "temperature", "limits.notch_tolerance": "fraction",
    "limits.plate": "temperature", "limits.timber": "temperature", "timber.distance": "length",
    "limits.mica": "temperature", "limits.lead": "temperature", "limits.clearance": "length",
    "limits.test_voltage": "voltage", "resistivity": "resistivity", "alpha20": "temperature_coefficient",
    "density": "density", "specific_heat_20": "specific_heat", "specific_heat_400": "specific_heat",
    "emissivity": "fraction", "limit": "temperature", "making.kerf": "length", "width_tolerance": "length",
    "thickness_tolerance": "length", "making.shrinkage": "fraction", "making.draft": "angle",
    "making.machining": "length", "fit_tolerance": "length", "hardware.metal_washer": "length",
    "hardware.mica_washer": "length", "hardware.terminal_clamp": "length", "hardware.end_insulation": "length",
    "hardware.end_frame": "length", "hardware.rod_diameter": "length", "hardware.frames_apart": "length",
    "hardware.mass_without_plates": "mass", "hardware.rod_torque": "torque", "hardware.eye_tolerance": "length",
    "start.seconds_per_notch": "time", "braking.begin_speed": "speed", "braking.peak_current": "current",
    "braking.valley_current": "current", "braking.seconds_per_notch": "time", "braking.residual_emf": "voltage",
    "gradient": "gradient", "hill.length": "length", "motor.inductance": "inductance", "nameplate.power": "power",
    "nameplate.voltage": "voltage", "nameplate.current": "current", "nameplate.speed": "rotational_speed",
    "calibration.ambient": "temperature", "limits.adhesion": "fraction", "duty.shortest_layover": "time",
    "start_every": "time", "layover": "time", "motor_resistance": "resistance",
}  # fmt: skip

# What an axis of a plot counts in, and how many of it make one of SI.
_AXES = {
    "mm": {"speed": ("km/h", 3.6), "force": ("kN", 1e-3)},
    "inch": {"speed": ("mph", 1.0 / 0.44704), "force": ("lbf", 1.0 / 4.4482216152605)},
}

# Ranges by nature and not by ignorance: nothing about them is unsure.
_RANGES_BY_NATURE = ("duty.ambient", ".may_vary.")


@dataclass(frozen=True, slots=True)
class Shown:
    """Numbers as text in one family of units (``"mm"`` or ``"inch"``)."""

    units: PaperUnits = "mm"

    def of(self, value: float, kind: str, digits: int = 3) -> str:
        """A value in the unit of its kind, never parted from it at the end of a line."""
        return show(value, kind, digits=digits, units=self.units).replace(" ", NO_BREAK)

    def range(self, low: float, high: float, kind: str, digits: int = 3) -> str:
        """Both ends: ``70.0 to 100 µΩ·cm``."""
        words = show_range(low, high, kind, digits=digits, units=self.units)
        before, to, after = words.partition(" to ")
        return f"{before.replace(' ', NO_BREAK)}{to}{after.replace(' ', NO_BREAK)}"

    def figure(self, figure: Figure, kind: str, digits: int = 3) -> str:
        """A figure with its mark where it is weak."""
        return f"{ABOUT if figure.weak else ''}{self.of(figure.value, kind, digits)}"

    def ends(self, figure: Figure, kind: str, digits: int = 3) -> str:
        """The range of a figure; a weak one without says so, a sure one has nothing to say."""
        if figure.low != figure.high:
            return self.range(figure.low, figure.high, kind, digits)
        return "no range known" if figure.weak else ""

    def way(self, value_m: float) -> str:
        """A distance a car runs, in metres or feet however short."""
        return f"{value_m:.1f}{NO_BREAK}m" if self.units == "mm" else f"{value_m / 0.3048:.0f}{NO_BREAK}ft"

    def temperature(self, value_c: float) -> str:
        """A temperature; infinite where it lies above the metal's table."""
        return "above the table" if math.isinf(value_c) else self.of(value_c, "temperature")

    def degrees(self, value_c: float) -> float:
        """A temperature as a plain number on the scale of the paper, for a plot."""
        return value_c if self.units == "mm" else 1.8 * value_c + 32.0

    def axis(self, kind: str) -> tuple[str, float]:
        """Unit of a plot's axis for speeds or forces, and the factor from SI to it."""
        return _AXES[self.units][kind]

    def degree_sign(self) -> str:
        """The unit of ``degrees``."""
        return "°C" if self.units == "mm" else "°F"

    def margin(self, value_k: float) -> str:
        """A margin of temperature; none where nothing settles."""
        return "none" if math.isinf(value_k) else self.of(value_k, "temperature_difference")


def percent(fraction: float, decimals: int = 1) -> str:
    """A signed fraction as per cent, with a true minus sign."""
    return show_change(fraction, decimals).replace(" ", NO_BREAK)


# Below how many seconds a time is rounded down to which step, and how many digits show the step and no more.
_STEPS = (
    (1.0, 0.1, 1),
    (10.0, 0.1, 2),
    (100.0, 1.0, 2),
    (600.0, 1.0, 3),
    (7200.0, 60.0, 2),
    (36000.0, 360.0, 2),
    (math.inf, 3600.0, 2),
)


def at_most(seconds: float, shown: Shown) -> str:
    """A time rounded down, so that no paper promises more than was worked out: 61 s, 0.9 s, 28 min."""
    step, digits = next((step, digits) for below, step, digits in _STEPS if seconds < below)
    return shown.of(math.floor(seconds / step + 1e-9) * step, "time", digits)


def kind_of(key: str) -> str:
    """The kind of quantity of a figure of the job by its dotted key; ``""`` for a key that is not known here."""
    if ".eye_thickness." in key:  # by the name of a kind of plate
        return "length"
    fitting = [ending for ending in _KIND_OF_KEY if key == ending or key.endswith(f".{ending}")]
    return _KIND_OF_KEY[max(fitting, key=len)] if fitting else ""


def by_nature(key: str) -> bool:
    """Whether the range of this figure of the job is meant, as that of the ambient, and not a doubt."""
    return any(word in f"{key}." for word in _RANGES_BY_NATURE)


def si_words(figure: Figure, key: str) -> tuple[str, str]:
    """Value and range of a figure of the job in SI units (temperatures degrees Celsius), with its mark."""
    kind = kind_of(key)
    unit = KINDS[kind].si if kind else ""
    unit = "" if unit == "1" else f"{NO_BREAK}{unit.replace(' ', NO_BREAK)}"
    ends = "" if figure.low == figure.high else f"{figure.low:.6g} to {figure.high:.6g}{unit}"
    if ends and by_nature(key):
        return ends, ""
    return f"{ABOUT if figure.weak else ''}{figure.value:.6g}{unit}", ends


def source_words(figure: Figure) -> str:
    """Where a figure came from, in words: the job, or the title of the source the tables name."""
    if figure.text:
        return f"the job; {figure.source}" if figure.source else "the job"
    if not figure.source:
        return "no source given"
    try:
        return source(figure.source).title
    except TableError:
        return figure.source


def source_and_status(figure: Figure) -> str:
    """Source and status of a figure, once where they would say the same."""
    words = source_words(figure)
    return words if figure.text and str(figure.status) == "given" else f"{words}; {figure.status}"
