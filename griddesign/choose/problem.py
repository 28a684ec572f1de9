"""The designer's question: what is wanted of each notch, which plates may be made, and what the heat allows."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Literal

from griddesign.errors import CircuitError, InputError
from griddesign.grid.circuit import names
from griddesign.grid.records import BoxPlan, Run

if TYPE_CHECKING:
    from griddesign.plate.shapes import Zigzag

Prefer = Literal["margin", "closest", "light"]
Margin = Callable[[str, str, int, float], float | None]
Mass = Callable[[str, float], float]
ShapeFor = Callable[[str, float], "Zigzag"]

MARGIN_STEP_K = 10.0
"""Heat margins are compared in whole steps of 10 K: the loss model is not known better than that (estimate)."""


@dataclass(frozen=True, slots=True)
class NotchAim:
    """What one notch should be. ``wanted_ohm`` are the grid's own cold ohms in ``circuit``.

    The motor string feels ``R' = other_ohm + factor * grid ohms``: ``other_ohm`` holds motors and feeder, ``factor`` is
    the number of strings for a grid they share and 1 for a grid per string.
    """

    name: str
    circuit: Run
    wanted_ohm: float
    other_ohm: float = 0.0
    factor: float = 1.0

    @property
    def total_ohm(self) -> float:
        """R' wanted, ohm."""
        return self.other_ohm + self.factor * self.wanted_ohm

    def error(self, grid_ohm: float) -> float:
        """``R'_wanted / R'_got - 1`` (a fraction): what the current feels, positive where it comes out too high."""
        got_ohm = self.other_ohm + self.factor * grid_ohm
        if got_ohm == 0.0:
            return 0.0 if self.total_ohm == 0.0 else inf
        return self.total_ohm / got_ohm - 1.0


@dataclass(frozen=True, slots=True)
class CandidateKind:
    """A kind of plate that may be made: its cold ohms are free from ``low_ohm`` to ``high_ohm`` (equal: fixed)."""

    name: str
    low_ohm: float
    high_ohm: float


@dataclass(frozen=True)
class Choice:
    """One question to the designer.

    ``margin(section, kind, in_parallel, plate_ohm)`` is the heat margin in kelvin of that section's plates at the
    settled duty, never rising with ``plate_ohm``; None where the heat is not known, which then sets no limit.
    ``mass(kind, plate_ohm)`` is the kilograms of one plate, never rising with ``plate_ohm``.
    ``shape_for(kind, plate_ohm)`` gives the shape to order. Both callables are asked some hundreds of times.
    ``tolerance`` is the largest ``|R'_wanted / R'_got - 1|`` of a notch. Margins above ``enough_margin_k`` count alike;
    without it more margin is always better, up to the room in the boxes.
    ``breaks`` names sections after which the chain of plates is parted (see ``grid.taps.string_breaks``).
    """

    section_order: tuple[str, ...]
    notches: tuple[NotchAim, ...]
    tolerance: float
    kinds: tuple[CandidateKind, ...]
    plan: BoxPlan
    margin: Margin
    mass: Mass
    shape_for: "ShapeFor"
    in_parallel: tuple[int, ...] = (1, 2)
    prefer: Prefer = "margin"
    time_limit_s: float = 20.0
    enough_margin_k: float = inf
    breaks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_sections(self)
        _check_plates(self)
        _check_notches(self)

    @property
    def step_unit(self) -> int:
        """Steps of a section come in multiples of this: 2 where leads reach one side only, else 1."""
        return 2 if self.plan.tap_sides == 1 else 1


def _check_sections(choice: Choice) -> None:
    order = choice.section_order
    if not order or len(set(order)) != len(order):
        raise InputError(f"sections in order: {', '.join(order) or 'none'}", hint="Name each section once.")
    used = {name for notch in choice.notches for name in names(notch.circuit)}
    if used != set(order):
        odd = ", ".join(sorted(used ^ set(order)))
        raise CircuitError(
            f"sections and circuits do not agree about {odd}",
            hint="Each section must stand in the order from the dot end and in at least one notch.",
        )


def _check_plates(choice: Choice) -> None:
    if not choice.kinds or len({kind.name for kind in choice.kinds}) != len(choice.kinds):
        raise InputError("no kinds of plate, or two of one name", hint="Name each kind of plate once.")
    for kind in choice.kinds:
        if not 0.0 < kind.low_ohm <= kind.high_ohm < inf:
            raise InputError(f"plate {kind.name}: ohms from {kind.low_ohm:g} to {kind.high_ohm:g}")
    if not choice.in_parallel or min(choice.in_parallel) < 1:
        raise InputError(f"plates in parallel: {choice.in_parallel}", hint="Allow at least 1.")
    plan = choice.plan
    if plan.boxes < 1 or plan.plates_per_box < 1 or plan.tap_sides not in (1, 2) or not 0.0 <= plan.joint_ohm < inf:
        raise InputError(f"{plan.boxes} boxes of {plan.plates_per_box} plates, tapped on {plan.tap_sides} sides")


def _check_notches(choice: Choice) -> None:
    if not choice.tolerance > 0.0:
        raise InputError(f"notch tolerance {choice.tolerance:g}", hint="The tolerance must be above zero.")
    for notch in choice.notches:
        numbers = (notch.wanted_ohm, notch.other_ohm)
        if notch.total_ohm == 0.0 and names(notch.circuit):
            raise InputError(
                f"notch {notch.name} wants 0 ohm in all, yet has sections in circuit",
                hint="Give the ohms of the motors, or take the sections out of the notch.",
            )
        if not all(0.0 <= number < inf for number in numbers) or not 0.0 < notch.factor < inf:
            raise InputError(
                f"notch {notch.name}: wanted {notch.wanted_ohm:g} ohm, other {notch.other_ohm:g} ohm, "
                f"factor {notch.factor:g}",
                hint="Ohms must be finite and not negative.",
            )
