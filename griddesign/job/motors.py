"""Motors of a job file that are not all alike: ``[[motor.each]]``, and a curve as measured."""

from griddesign.job.part import Part
from griddesign.traction.curve import MotorCurve
from griddesign.traction.records import MagnetisationPoints, MotorOwn


def read_each(part: Part, count: int | None) -> tuple[MotorOwn, ...] | None:
    """The ``[[motor.each]]`` tables, one for every motor, or none at all where all are alike; None after a complaint.

    What a table leaves out is as ``[car]`` and ``[motor]`` have it. ``emf_factor``: the motor's emf over that of the
    common curve, at equal current and speed.
    """
    each = tuple(_read_own(inner) for inner in part.tables("each"))
    if None in each:
        return None
    if each and count is not None and len(each) != count:
        part.complain("each", f"{len(each)} motors are described, count is {count}", "Give one table for each motor.")
        return None
    return tuple(own for own in each if own is not None)


def _read_own(inner: Part) -> MotorOwn | None:
    wheel = inner.quantity("wheel_diameter", "length", required=False)
    gear = inner.quantity("gear_ratio", "number", required=False)
    ohms = inner.quantity("resistance", "resistance", required=False)
    emf = inner.quantity("emf_factor", "number", required=False, above=None, least=0.5, most=2.0)
    points = read_points(inner) if inner.has("magnetisation") else None
    inner.mark("magnetisation")
    inner.close()
    if inner.has("magnetisation") and points is None:
        return None
    return MotorOwn(wheel, gear, ohms, 1.0 if emf is None else emf, points)


def read_points(part: Part) -> MagnetisationPoints | None:
    """The ``magnetisation`` table of a part; the curve is tried here so that its faults come with a line."""
    inner = part.table("magnetisation", required=True)
    if inner is None:
        return None
    speed = inner.quantity("speed", "rotational_speed", example="600 rpm")
    currents = inner.quantities("current", "current")
    emfs = inner.quantities("emf", "voltage")
    inner.close()
    if speed is None or currents is None or emfs is None:
        return None
    if len(currents) != len(emfs):
        inner.complain(
            "emf", f"{len(emfs)} voltages stand against {len(currents)} currents", "Give one emf for each current."
        )
        return None
    points = MagnetisationPoints(speed, currents, emfs)
    return None if inner.attempt("emf", lambda: MotorCurve(points)) is None else points
