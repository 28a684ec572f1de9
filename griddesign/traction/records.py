"""Line, car, motor, start and notches as plain SI numbers. Ranges and sources stay with the job that made them."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from griddesign.grid.records import Run

if TYPE_CHECKING:  # few controllers have such a notch
    from griddesign.grid.contacts.records import Network


@dataclass(frozen=True, slots=True)
class Line:
    """Supply ahead of the feeder, volts; ``feeder_ohm`` carries the current of the whole car."""

    nominal_v: float
    highest_v: float
    feeder_ohm: float = 0.0
    breaker_a: float | None = None


@dataclass(frozen=True, slots=True)
class RunningResistance:
    """Force against motion per kilogram of car: ``constant + linear v + square v^2`` with v in m/s, result in N/kg."""

    constant_n_per_kg: float = 0.0
    linear_n_s_per_kg_m: float = 0.0
    square_n_s2_per_kg_m2: float = 0.0


@dataclass(frozen=True, slots=True)
class Car:
    """The car. ``rotating_fraction`` adds to the mass that is accelerated, ``gradient`` is rise over run (uphill > 0).

    ``gear_ratio`` is motor turns per wheel turn. ``adhesion`` and ``adhesive_mass_kg`` may be unknown (None).
    """

    mass_kg: float
    rotating_fraction: float
    wheel_diameter_m: float
    gear_ratio: float
    drive_efficiency: float
    resistance: RunningResistance
    gradient: float = 0.0
    adhesion: float | None = None
    adhesive_mass_kg: float | None = None


@dataclass(frozen=True, slots=True)
class MagnetisationPoints:
    """Measured emf of one motor at one speed: ``current_a`` rising, ``emf_v`` rising, ``speed_rad_s`` the speed."""

    speed_rad_s: float
    current_a: tuple[float, ...]
    emf_v: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class MotorOwn:
    """One motor where it differs from the others; None: as ``Car`` and ``Motor`` have it.

    ``emf_factor`` times the emf of the curve at equal current and speed; ``resistance_ohm`` at the temperature of
    ``Motor.resistance_at_c``.
    """

    wheel_diameter_m: float | None = None
    gear_ratio: float | None = None
    resistance_ohm: float | None = None
    emf_factor: float = 1.0
    magnetisation: MagnetisationPoints | None = None


@dataclass(frozen=True, slots=True)
class Motor:
    """``count`` motors; ``resistance_ohm`` of one (armature, field, brushes) at ``resistance_at_c`` of copper.

    Alike, unless ``each`` holds one entry for every motor. Motors are numbered string after string, with 2 in
    series the first string is motors 1 and 2, unless a notch has ``numbers``. ``inductance_h`` of one motor, where
    known.
    """

    count: int
    resistance_ohm: float
    resistance_at_c: float
    magnetisation: MagnetisationPoints
    each: tuple[MotorOwn, ...] = ()
    inductance_h: float | None = None


TransitionKind = Literal["power off", "one motor shorted", "bridge"]


@dataclass(frozen=True, slots=True)
class Transition:
    """What happens in the ``seconds`` between two groupings of the motors.

    ``power off``: no current anywhere; the car coasts. ``one motor shorted``: from s motors in a string to s/2, the
    second half of every string is short-circuited (its current is gone at once and it pulls nothing), then opened,
    while the first half runs on through ``circuits[0]``, which carries all strings. ``bridge``: no half is left without
    current: the halves stay in series by the bridge wire, with ``circuits[1]`` beside the first half and
    ``circuits[0]`` beside the second; when the bridge opens each stands in series with the half of its own number.
    """

    kind: TransitionKind
    seconds: float
    circuits: tuple[Run, ...] = ()


@dataclass(frozen=True, slots=True)
class Start:
    """The start asked for: limits in amperes per motor. ``valley_a`` None asks for the strongest start.

    The driver notches up at the valley current; or by time: ``notch_s`` seconds on every notch, or at the moments
    ``times_s`` after the power comes on, one for leaving each notch; or within the peak current: as soon as the next
    peak stays within it. ``transition`` is that of every change of grouping whose notch names none of its own; None
    changes groupings in no time.
    """

    peak_a: float
    first_notch_a: float
    valley_a: float | None = None
    notch_up: Literal["at valley current", "by time", "within peak current"] = "at valley current"
    notch_s: float | None = None
    times_s: tuple[float, ...] = ()
    transition: Transition | None = None


@dataclass(frozen=True, slots=True)
class Grouping:
    """``series`` motors in a string, ``parallel`` strings side by side."""

    series: int
    parallel: int


@dataclass(frozen=True, slots=True)
class Notch:
    """One controller position with power on.

    Either ``common``, one circuit carrying the current of all strings, or ``strings``, one circuit per motor string.
    ``wanted_ohm`` is the grid's own cold ohms where the user already knows them (per string for ``strings``).
    ``field`` is the share of the field's ampere-turns left at a given current, 1 for the full field: part of the turns
    tapped off, or part of the current led past them. ``motor_ohm`` is one motor's resistance on this notch where that
    changes it (None: as ever). ``transition`` is the one on the way to this notch. ``out`` are numbers of motors cut
    out, from 0. ``ahead_ohm`` and ``string_ohm`` are fixed resistors in series with all strings, and in each of them.
    ``network``: a notch that is no such grouping; it has neither ``common`` nor ``strings``, and ``grouping`` counts
    its motors only. ``numbers``: motors of each string, from 0, where they are not numbered string after string.
    """

    name: str
    grouping: Grouping
    common: Run | None
    strings: tuple[Run, ...] = ()
    wanted_ohm: float | None = None
    kind: Literal["resistance notch", "running notch"] = "resistance notch"
    field: float = 1.0
    motor_ohm: float | None = None
    transition: Transition | None = None
    out: tuple[int, ...] = ()
    ahead_ohm: float = 0.0
    string_ohm: float = 0.0
    network: "Network | None" = None
    numbers: tuple[tuple[int, ...], ...] = ()

    @property
    def string_motors(self) -> tuple[tuple[int, ...], ...]:
        """Numbers of the motors in each string, from 0, cut out or not."""
        if self.numbers:
            return self.numbers
        series, parallel = self.grouping.series, self.grouping.parallel
        return tuple(tuple(range(string * series, (string + 1) * series)) for string in range(parallel))


@dataclass(frozen=True, slots=True)
class NotchOhms:
    """What one notch should be, no more: the job of somebody who knows the ohms and has no car to run."""

    name: str
    grouping: Grouping
    sections: tuple[str, ...]
    wanted_ohm: float


@dataclass(frozen=True, slots=True)
class NotchWanted(NotchOhms):
    """What one notch should be and does. Currents in amperes per motor unless the name says ``line``.

    ``total_ohm`` is R' of one motor string's equation; ``wanted_ohm`` the grid's own cold ohms in it.
    ``peak_a`` is the worst peak over the corners at the end of the notching before, ``corner`` names it;
    ``frozen_flux_a`` the bound if the flux had not moved yet; ``passed`` a notch whose peak lies below the valley
    current; ``seconds`` the time on the notch at the mean current; speeds are those on leaving the notch;
    ``effort_n`` is the pull at the rim at ``peak_a``. Speeds and seconds are those of the cold grid and warm motors.
    """

    total_ohm: float
    peak_a: float
    valley_a: float
    line_peak_a: float
    corner: str
    frozen_flux_a: float
    leave_rad_s: float
    speed_kmh: float
    effort_n: float
    seconds: float
    passed: bool


@dataclass(frozen=True, slots=True)
class GivenOhms:
    """The ohms of every notch as given, and of the sections that make them. Fields as in ``Ladder``."""

    notches: tuple[NotchOhms, ...]
    sections: tuple[tuple[str, float], ...]
    exact: bool
    note: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ladder:
    """The whole ladder. ``sections`` maps name to cold ohms. ``exact`` is False where parallel groups were realised by
    a local search, and ``note`` then says so in words for the papers. ``remarks`` are warnings for the findings."""

    notches: tuple[NotchWanted, ...]
    sections: tuple[tuple[str, float], ...]
    valley_a: float
    exact: bool
    note: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NotchRun:
    """One notch of a start run at mean currents: A per motor on arriving and leaving, seconds, speed on leaving,
    metres, pull at the mean current, joules in each section and out of the line. Nothing is spent on a passed notch."""

    name: str
    arrive_a: float
    leave_a: float
    seconds: float
    leave_m_s: float
    distance_m: float
    effort_n: float
    acceleration_m_s2: float
    section_j: tuple[tuple[str, float], ...]
    line_j: float


@dataclass(frozen=True, slots=True)
class MeanStart:
    """One start run at mean currents, up to the last notch and there down to the valley current.

    ``beyond_curve`` says that a current passed the end of the motor curve, where k was kept at its last value."""

    line_v: float
    notches: tuple[NotchRun, ...]
    section_j: tuple[tuple[str, float], ...]
    seconds: float
    distance_m: float
    end_m_s: float
    grid_j: float
    line_j: float
    beyond_curve: bool = False
