"""Duty, limits and the look of the papers in a job file."""

from typing import get_args

from griddesign.job.day import busiest_s, read_day
from griddesign.job.part import Part
from griddesign.job.records import Duty, Limits, PaperChoice, PaperUnits, Projection, SheetSize

SHEETS: tuple[SheetSize, ...] = get_args(SheetSize)
UNITS: tuple[PaperUnits, ...] = get_args(PaperUnits)
PROJECTIONS: tuple[Projection, ...] = get_args(Projection)
STANDARD_AMBIENT_C = (20.0, 40.0)


def read_duty(part: Part | None) -> Duty:
    """The ``[duty]`` table; without one, single starts in 20 to 40 degC."""
    if part is None:
        return Duty(None, *STANDARD_AMBIENT_C)
    every = part.quantity("start_every", "time", required=False)
    parts, layover = read_day(part), part.quantity("shortest_layover", "time", required=False)
    ambient = part.figure("ambient", "temperature", required=False, least=-60.0, most=90.0)
    part.close()
    low, high = STANDARD_AMBIENT_C if ambient is None else (ambient.low, ambient.high)
    return Duty(every or busiest_s(parts), low, high, parts, layover)


def read_limits(part: Part | None) -> Limits:
    """The ``[limits]`` table; what is not limited is not checked, and paper says so."""
    if part is None:
        return Limits(DEFAULT_NOTCH_TOLERANCE)
    tolerance = part.quantity("notch_tolerance", "fraction", required=False, most=0.5)
    limits = Limits(
        notch_tolerance=DEFAULT_NOTCH_TOLERANCE if tolerance is None else tolerance,
        plate_c=part.quantity("plate", "temperature", required=False, above=None, least=50.0),
        timber_c=part.quantity("timber", "temperature", required=False, above=None, least=30.0),
        timber_distance_m=_distance(part, "timber"),
        mica_c=part.quantity("mica", "temperature", required=False, above=None, least=50.0),
        lead_c=part.quantity("lead", "temperature", required=False, above=None, least=30.0),
        clearance_m=part.quantity("clearance", "length", required=False),
        test_voltage_v=part.quantity("test_voltage", "voltage", required=False),
        effort_adhesion=part.quantity("adhesion", "fraction", required=False, most=1.0),
    )
    part.close()
    return limits


# Common practice for hand-started cars has no published figure; the papers print it as ours.
DEFAULT_NOTCH_TOLERANCE = 0.05


def _distance(part: Part, name: str) -> float | None:
    inner = part.data.get(name)
    if not isinstance(inner, dict) or "distance" not in inner:
        return None
    table = part.table(name)
    return None if table is None else table.quantity("distance", "length")


def read_paper(part: Part | None) -> PaperChoice:
    """The ``[papers]`` table."""
    if part is None:
        return PaperChoice()
    sheet = part.choice("sheet", SHEETS, "A4") or "A4"
    units = part.choice("units", UNITS, "mm" if sheet == "A4" else "inch") or "mm"
    projection = (
        part.choice("projection", PROJECTIONS, "first angle" if sheet == "A4" else "third angle") or "first angle"
    )
    choice = PaperChoice(sheet, units, projection, part.text("owner"), part.text("drawn_by"), part.text("approved_by"))
    part.close()
    return choice
