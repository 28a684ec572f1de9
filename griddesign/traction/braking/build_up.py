"""Whether the brake builds up: the ohms of a notch against the critical resistance at the speed it is put on.

A series generator excites itself where the line ``I·R'`` lies below its emf near no current: ``R' < n·dK/dI(0)``, the
critical resistance at the speed n; for given ohms the critical speed is ``R'/(dK/dI(0))``. The slope at no current is
known no better than the curve reaches down, so the line through the lowest measured point is taken (never steeper than
the true slope of iron that saturates), and a yes is given only where that point lies on the straight part, or where
the emf without current is known.
"""

from dataclasses import dataclass
from typing import Literal

from griddesign.traction.braking.excited import Excited
from griddesign.traction.braking.records import Braking

Answer = Literal["builds up", "does not build up", "not shown"]
Reason = Literal["below", "above", "between", "curve too short", "no magnetism", "field not reversed", "field not said"]
STRAIGHT = 0.10


@dataclass(frozen=True, slots=True)
class BuildUp:
    """One notch at the speed the brake is put on.

    ``critical_ohm`` and ``critical_m_s`` go by the lowest measured point, the safe side; ``drawn_ohm`` and
    ``drawn_m_s`` by the slope drawn at no current. ``straight_fall`` is by how much emf per ampere falls from the
    lowest point to the next: up to a tenth the lowest point counts as lying on the straight part.
    """

    name: str
    answer: Answer
    reason: Reason
    total_ohm: float
    critical_ohm: float
    drawn_ohm: float
    critical_m_s: float
    drawn_m_s: float
    lowest_a: float
    straight_fall: float


def build_up(name: str, excited: Excited, total_ohm: float, plan: Braking, per_m_s: float) -> BuildUp:
    """The answer for a notch of ``total_ohm`` per string; ``per_m_s`` is motor rad/s for one m/s of the car."""
    origin, lowest, following = excited.origin_ohm_s, float(excited.ratios[1]), float(excited.ratios[2])
    turning = plan.begin_m_s * per_m_s
    straight_fall = 1.0 - following / lowest
    answer, reason = _answer(total_ohm / turning, origin, lowest, straight_fall, plan)
    return BuildUp(
        name=name,
        answer=answer,
        reason=reason,
        total_ohm=total_ohm,
        critical_ohm=turning * lowest,
        drawn_ohm=turning * origin,
        critical_m_s=total_ohm / lowest / per_m_s,
        drawn_m_s=total_ohm / origin / per_m_s,
        lowest_a=excited.lowest_a,
        straight_fall=straight_fall,
    )


def _answer(ohm_s: float, origin: float, lowest: float, straight_fall: float, plan: Braking) -> tuple[Answer, Reason]:
    """What says no comes first; a yes is what is left at the end."""
    if plan.field_reversed is False:
        return "does not build up", "field not reversed"
    if plan.residual_v == 0.0:
        return "does not build up", "no magnetism"
    if ohm_s >= origin:
        return "does not build up", "above"
    if ohm_s > lowest:
        return "not shown", "between"
    if straight_fall > STRAIGHT and plan.residual_v is None:
        return "not shown", "curve too short"
    return ("not shown", "field not said") if plan.field_reversed is None else ("builds up", "below")
