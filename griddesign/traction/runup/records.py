"""A run up through the notches: what is handed in, what comes out. Arrays end in the axis of the cases (M)."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.traction.curve import FloatArray

TRANSITION = "transition "
Bools: TypeAlias = NDArray[np.bool_]
Plates: TypeAlias = Callable[[FloatArray], tuple[FloatArray, FloatArray, FloatArray, FloatArray]]
"""From temperatures (..., sections, M), degC, to the ratio of ohms to those at 20 degC, its slope per K, the heat
capacity of the whole section, J/K, and its loss, W; each the same shape."""


@dataclass(frozen=True, slots=True, eq=False)
class Cases:
    """What may differ from start to start.

    ``section_ohm`` (sections, M) at 20 degC, which rise with heat; ``joint_ohm`` (sections, M) of the joints, which do
    not, but whose heat goes into the plates; ``start_c`` (sections, M). ``line_v``, ``valley_a``, ``motor_ohm`` and
    ``mass_kg`` are (M,). ``dwell_s`` (notches, M) are the seconds on each notch. ``peak_a`` (M,): notched up as soon as
    the next peak per motor stays within it. With neither the driver notches up at the valley current.
    """

    line_v: FloatArray
    section_ohm: FloatArray
    joint_ohm: FloatArray
    start_c: FloatArray
    valley_a: FloatArray
    motor_ohm: FloatArray
    mass_kg: FloatArray
    dwell_s: FloatArray | None = None
    peak_a: FloatArray | None = None

    def __len__(self) -> int:
        """How many."""
        return int(self.line_v.size)


@dataclass(frozen=True, slots=True, eq=False)
class NotchLog:
    """One notch or transition as run, each field (M,) but ``leave_c`` (sections, M). Currents in amperes per motor.

    ``peak_a`` is that of the string with most, ``arrive_a`` and ``leave_a`` are means over the strings, which differ
    only with unlike grids, motors or wheels. ``frozen_flux_a`` is the current if the flux of every motor had not moved
    yet, in the string with most, and the peak itself where the flux falls on arriving (a field weakened). A motor that
    carried no current has no flux, so after a transition with power off the bound is that of standstill. ``step_m_s2``
    is the step of acceleration on arriving. ``passed``: left in the moment of arrival. ``below_curve``: a current fell
    below the lowest point of a motor curve, where it is only drawn. ``beyond_curve``: it passed the highest, where the
    flux was kept at its last value.

    ``motor_a``, ``motor_v`` and ``motor_n`` (motors, M) are current, volts and pull at the rim of every motor on
    arriving, where motors are unlike, else None; a motor out of circuit has none. ``field_a`` (motors, M): of a field
    with a current of its own that current, nan for all others; None where no field has one; ``motor_a`` is then the
    armature's, and ``peak_a`` that of the winding with most. ``inductive_a`` is ``peak_a`` with the windings'
    inductance, where that is known (see ``transient``; of networks ``inductive``).
    """

    name: str
    peak_a: FloatArray
    arrive_a: FloatArray
    leave_a: FloatArray
    line_peak_a: FloatArray
    frozen_flux_a: FloatArray
    arrive_s: FloatArray
    leave_s: FloatArray
    arrive_m_s: FloatArray
    leave_m_s: FloatArray
    leave_m: FloatArray
    effort_n: FloatArray
    step_m_s2: FloatArray
    leave_c: FloatArray
    passed: Bools
    below_curve: Bools
    beyond_curve: Bools
    motor_a: FloatArray | None = None
    motor_v: FloatArray | None = None
    motor_n: FloatArray | None = None
    inductive_a: FloatArray | None = None
    field_a: FloatArray | None = None

    @property
    def where(self) -> str:
        """As in: notch 4, transition 4-5."""
        return self.name if self.name.startswith(TRANSITION) else f"notch {self.name}"


@dataclass(frozen=True, slots=True, eq=False)
class Energy:
    """Joules of a run, each (M,): out of the line ahead of the feeder, and where they went.

    ``wheel_j`` is reckoned on its own: kinetic energy at the end, running resistance and gradient over the way.
    ``core_j`` is what a characteristic loses between emf and shaft: none, where emf times current is taken as the power
    of the shaft, as it is here. ``drive_j`` is ``(1 - efficiency)`` of the shaft's work.
    """

    line_j: FloatArray
    feeder_j: FloatArray
    grid_j: FloatArray
    motors_j: FloatArray
    core_j: FloatArray
    drive_j: FloatArray
    wheel_j: FloatArray
    shaft_j: FloatArray
    kinetic_j: FloatArray
    resistance_j: FloatArray
    gradient_j: FloatArray

    @property
    def balance_error(self) -> FloatArray:
        """What is left over, as a share of the line's joules; of nothing taken and nothing spent, nothing."""
        spent = self.feeder_j + self.grid_j + self.motors_j + self.core_j + self.drive_j + self.wheel_j
        left_j = self.line_j - spent
        return left_j / np.where((self.line_j == 0.0) & (left_j == 0.0), 1.0, self.line_j)


@dataclass(frozen=True, slots=True, eq=False)
class TracePoint:
    """One moment of the run for a plot: notch (empty while the power is off), seconds, metres, m/s, A per motor, pull
    at the rim in N, degC of the sections (sections, M), and A from line (None: a brake, which takes none)."""

    notch: str
    time_s: FloatArray
    distance_m: FloatArray
    speed_m_s: FloatArray
    mean_a: FloatArray
    pull_n: FloatArray
    section_c: FloatArray
    line_a: FloatArray | None = None


@dataclass(frozen=True, slots=True, eq=False)
class RunUp:
    """A run up through all notches. ``section_j`` and temperatures are (sections, M).

    ``hottest_c`` is the highest temperature at the end of any notch or transition. ``stuck`` (M,) is the number of the
    notch on which the current does not fall far enough to notch up, -1 where it does on all; figures after it mean
    nothing. ``rows`` are the notches and, between them, the transitions in which motors kept their current, named
    "transition 4-5" after their notches.
    """

    sections: tuple[str, ...]
    notches: tuple[NotchLog, ...]
    seconds: FloatArray
    distance_m: FloatArray
    end_m_s: FloatArray
    end_c: FloatArray
    hottest_c: FloatArray
    section_j: FloatArray
    energy: Energy
    stuck: NDArray[np.intp]
    trace: tuple[TracePoint, ...] = ()
    rows: tuple[NotchLog, ...] = ()

    @property
    def transitions(self) -> tuple[NotchLog, ...]:
        """The rows that are no notches."""
        return tuple(row for row in self.rows if not any(row is log for log in self.notches))
