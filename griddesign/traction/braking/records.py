"""A brake: what is asked, what came of a stop. Arrays end in the axis of the cases (M). Currents in A per motor."""

from dataclasses import dataclass
from typing import Literal

from griddesign.traction.curve import FloatArray
from griddesign.traction.records import Notch
from griddesign.traction.runup.records import Bools, TracePoint

NotchBy = Literal["at peak current", "at valley current", "by time"]
Sharing = Literal["cross-connected fields", "equaliser", "none", "not said"]


@dataclass(frozen=True, slots=True)
class Hill:
    """A long way down: fall over run (above zero), its length, and the brake notch it is driven on."""

    fall: float
    length_m: float
    notch: str


@dataclass(frozen=True, slots=True)
class Braking:
    """The brake asked for.

    ``begin_m_s`` is the speed at which it is put on, ``peak_a`` the most a motor may carry. The driver goes on to the
    next notch as soon as that brings no more than the peak, at ``valley_a``, or every ``notch_s`` seconds; the last
    notch is held until the brake has faded. ``sharing`` says what keeps motors side by side on one grid alike.
    ``field_reversed`` None: not said. ``residual_v`` is the emf without current at the speed of the motor curve (None:
    not known). ``gradient`` of the stop is rise over run, downhill negative.
    """

    notches: tuple[Notch, ...]
    begin_m_s: float
    peak_a: float
    notch_by: NotchBy = "at peak current"
    valley_a: float | None = None
    notch_s: float | None = None
    sharing: Sharing = "not said"
    field_reversed: bool | None = None
    residual_v: float | None = None
    gradient: float = 0.0
    hill: Hill | None = None


@dataclass(frozen=True, slots=True, eq=False)
class BrakeLog:
    """One brake notch as run, each field (M,) but ``section_j`` and ``leave_c`` (sections, M).

    ``total_ohm`` is R' of the first string, hot as on arriving. ``peak_a`` is that of the string with most,
    ``arrive_a`` and ``leave_a`` are the first string's, at which the driver looks. ``effort_n`` holds the car back;
    ``retard_m_s2`` has running resistance and gradient in it. ``grid_v`` stands across the grid on arriving.
    ``holds_m_s`` is the speed at which the current has come down to the lowest point of the motor curve,
    ``critical_m_s`` the lower one at which it is nought on the curve as drawn from there. ``passed``: left in the
    moment of arrival; ``built`` False: the speed was below the critical one, no current flowed; ``settles``: downhill,
    the car comes to a steady speed on the notch, and the driver goes on when it hardly slows down any more.
    """

    name: str
    total_ohm: FloatArray
    peak_a: FloatArray
    arrive_a: FloatArray
    leave_a: FloatArray
    arrive_s: FloatArray
    leave_s: FloatArray
    arrive_m_s: FloatArray
    leave_m_s: FloatArray
    leave_m: FloatArray
    effort_n: FloatArray
    leave_effort_n: FloatArray
    retard_m_s2: FloatArray
    leave_retard_m_s2: FloatArray
    grid_v: FloatArray
    holds_m_s: FloatArray
    critical_m_s: FloatArray
    section_j: FloatArray
    leave_c: FloatArray
    passed: Bools
    built: Bools
    settles: Bools
    below_curve: Bools
    beyond_curve: Bools


@dataclass(frozen=True, slots=True, eq=False)
class BrakeEnergy:
    """Joules of a stop, each (M,). ``drive_j`` is what gears and bearings take between rim and shaft; ``gradient_j`` is
    lifting, downhill negative; kinetic energies are reckoned from the speeds, on their own."""

    kinetic_begin_j: FloatArray
    kinetic_end_j: FloatArray
    gradient_j: FloatArray
    resistance_j: FloatArray
    drive_j: FloatArray
    motors_j: FloatArray
    grid_j: FloatArray

    @property
    def balance_error(self) -> FloatArray:
        """What is left over, as a share of the kinetic energy at the beginning."""
        spent = self.kinetic_end_j + self.gradient_j + self.resistance_j + self.drive_j + self.motors_j + self.grid_j
        return (self.kinetic_begin_j - spent) / self.kinetic_begin_j


@dataclass(frozen=True, slots=True, eq=False)
class BrakeRun:
    """A stop through all brake notches, down to where the last one has faded; temperatures are (sections, M).

    ``stuck`` (M,): the car is not slowed down on the last notch either. What speed is left is for another brake.
    """

    sections: tuple[str, ...]
    notches: tuple[BrakeLog, ...]
    seconds: FloatArray
    distance_m: FloatArray
    end_m_s: FloatArray
    end_c: FloatArray
    hottest_c: FloatArray
    section_j: FloatArray
    energy: BrakeEnergy
    stuck: Bools
    trace: tuple[TracePoint, ...] = ()
