"""Rheostatic braking in a job file: the ``[braking]`` table.

[braking]
begin_speed = "28 km/h"
peak_current = "130 A"                  # the most a motor may carry as a generator
notch_by = "at peak current"            # or "at valley current" with valley_current, "by time" with seconds_per_notch
motors = "parallel"                     # the generators of a notch that does not say otherwise
sharing = "cross-connected fields"      # or "equaliser", "none": what keeps generators side by side alike
field_reversed = true                   # fields (or armatures) are turned round for braking
residual_emf = "8 V"                    # emf without current at the speed of the motor curve, where it was measured
gradient = "-2 %"                       # of the stop, downhill negative; level without it
hill = { gradient = "6 %", length = "900 m", notch = "B2" }

[[braking.notch]]
name = "B1"
circuit = ["A", "B", "C"]               # as in [[notch]]
"""

from collections.abc import Mapping
from typing import Any, get_args

from griddesign.job.circuits import read_notches, sections_of
from griddesign.job.part import Part
from griddesign.traction.braking.records import Braking, Hill, NotchBy, Sharing
from griddesign.traction.records import Motor, Notch

NOTCH_BY: tuple[NotchBy, ...] = get_args(NotchBy)
SHARING: tuple[Sharing, ...] = tuple(word for word in get_args(Sharing) if word != "not said")
STEEPEST = 0.3
"""Rise over way: wheels on rails hold on no steeper gradient (0.3 is about the adhesion of dry rail, from memory)."""
GOES_BY: Mapping[NotchBy, str] = {"at valley current": "valley_current", "by time": "seconds_per_notch"}


def read_braking(part: Part, motor: Motor | None, sections: tuple[str, ...]) -> Braking | None:
    """The ``[braking]`` table; ``sections`` are those the grid has."""
    begin = part.quantity("begin_speed", "speed", example="28 km/h")
    peak = part.quantity("peak_current", "current", example="130 A")
    notch_by = part.choice("notch_by", NOTCH_BY, "at peak current") or "at peak current"
    valley = part.quantity("valley_current", "current", required=False)
    seconds = part.quantity("seconds_per_notch", "time", required=False)
    residual = part.quantity("residual_emf", "voltage", required=False, above=None, least=0.0)
    gradient = part.quantity("gradient", "gradient", required=False, above=None, least=-STEEPEST, most=STEEPEST)
    sharing, field_reversed = _read_sharing(part), _read_reversed(part)
    notches = _read_notches(part, motor, sections)
    hill = _read_hill(part, notches)
    part.close()
    _check_driver(part, notch_by, peak, valley)
    _check_curve(part, peak, residual, motor)
    if begin is None or peak is None or not notches:
        return None
    return Braking(
        notches, begin, peak, notch_by, valley, seconds, sharing, field_reversed, residual, gradient or 0.0, hill
    )


def _read_sharing(part: Part) -> Sharing:
    part.mark("sharing")
    return (part.choice("sharing", SHARING) or "not said") if part.has("sharing") else "not said"


def _read_reversed(part: Part) -> bool | None:
    part.mark("field_reversed")
    return part.flag("field_reversed") if part.has("field_reversed") else None


def _read_notches(part: Part, motor: Motor | None, sections: tuple[str, ...]) -> tuple[Notch, ...]:
    """Every ``[[braking.notch]]``, read as ``[[notch]]`` is; where one has no ``motors``, those of the table."""
    for name in ("notch", "motors"):
        part.mark(name)
    if not part.has("notch"):
        part.complain("notch", "is missing", 'Add [[braking.notch]] with name = "B1" and circuit = ["A", "B"].')
        return ()
    filled = Part(part.notebook, part.key, part.label, {"notch": _with_motors(part)})
    notches = read_notches(filled, motor.count if motor else None)
    for index, notch in enumerate(notches):
        _check_notch(part, index, notch, sections)
    return notches


def _with_motors(part: Part) -> Any:
    value, motors = part.data["notch"], part.data.get("motors")
    if motors is None or not isinstance(value, list):
        return value
    return [{"motors": motors, **item} if isinstance(item, Mapping) else item for item in value]


def _check_notch(part: Part, index: int, notch: Notch, sections: tuple[str, ...]) -> None:
    def complain(name: str, message: str, hint: str) -> None:
        label = ".".join(("braking.notch", notch.name, *filter(None, (name,))))
        part.notebook.complain((*part.key, "notch", index, *filter(None, (name,))), label, message, hint)

    runs = notch.strings if notch.common is None else (notch.common,)
    where = "strings" if notch.common is None else "circuit"
    if any(not run.parts for run in runs):
        complain(where, "is empty: 0 ohm shorts the motors", "Name the sections that take the heat of the brake.")
    for name in sections_of(notch):
        if name not in sections:
            complain(where, f"section {name} is not known", f"Known: {', '.join(sections) or 'none'}.")
    if notch.wanted_ohm is not None:
        complain("wanted", "is not taken here", "The grid is chosen for the start; the brake takes it as it is.")


def _read_hill(part: Part, notches: tuple[Notch, ...]) -> Hill | None:
    inner = part.table("hill")
    if inner is None:
        return None
    fall = inner.quantity("gradient", "gradient", example="6 %", most=STEEPEST)
    length = inner.quantity("length", "length", example="900 m")
    notch = inner.text("notch", required=True, example="B2")
    inner.close()
    names = [one.name for one in notches]
    if notches and inner.has("notch") and notch not in names:
        inner.complain("notch", f"{notch!r} is no brake notch", f"Known: {', '.join(names)}.")
        return None
    return None if fall is None or length is None or not notch else Hill(fall, length, notch)


def _check_driver(part: Part, notch_by: NotchBy, peak: float | None, valley: float | None) -> None:
    """The key the driver goes by must be there, the others not; the valley lies below the peak."""
    wanted = GOES_BY.get(notch_by)
    for name in GOES_BY.values():
        if name == wanted and not part.has(name):
            part.complain(name, f"is missing, and the driver notches up {notch_by}", f'Add {name} = "…".')
        if name != wanted and part.has(name):
            part.complain(name, f"the driver notches up {notch_by}", "Drop it, or write another notch_by.")
    if peak is not None and valley is not None and valley >= peak:
        part.complain("valley_current", f"{valley:g} A is not below the peak of {peak:g} A", "Lower it.")


def _check_curve(part: Part, peak: float | None, residual: float | None, motor: Motor | None) -> None:
    if motor is None:
        return
    points = motor.magnetisation
    if peak is not None and peak > points.current_a[-1]:
        part.complain(
            "peak_current",
            f"{peak:g} A lies beyond the motor curve, which ends at {points.current_a[-1]:g} A",
            "Measure the curve further up, or lower the peak.",
        )
    if residual is not None and residual >= points.emf_v[0]:
        part.complain(
            "residual_emf",
            f"{residual:g} V without current, and the curve has {points.emf_v[0]:g} V at {points.current_a[0]:g} A",
            "It is measured with no current at the speed of the motor curve, and is the least emf there is.",
        )
