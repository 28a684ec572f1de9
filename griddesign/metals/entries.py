"""The lines of a metal's file as they stand there: readable units, with everything said about where they came from."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from griddesign.errors import TableError
from griddesign.figures import Figure, Status

# The unit of the file, and by what its number is divided to come to SI. Powers of ten: the division rounds once.
TO_SI: Mapping[str, tuple[float, str]] = {
    "uohm cm": (1e8, "ohm m"),
    "1/K": (1.0, "1/K"),
    "R(T)/R(20)": (1.0, "R(T)/R(20)"),
    "kg/m3": (1.0, "kg/m3"),
    "J/(kg K)": (1.0, "J/(kg K)"),
    "W/(m K)": (1.0, "W/(m K)"),
    "of a black body": (1.0, "of a black body"),
    "1e-6 /K": (1e6, "1/K"),
    "degC": (1.0, "degC"),
    "%": (100.0, "of the length"),
    "times the thickness": (1.0, "times the thickness"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a metal's file, in the file's own unit.

    ``value`` is None where the file says that there is no such figure, or where ``points`` over ``points_c`` (degC)
    stand instead of one value. ``rise_range``: how many times what the table says its rise may be. ``stand_in``: the
    curve of another metal, for want of its own. ``others``: what other sources print for the same thing.
    """

    name: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    status: Status
    source: str
    condition: str = ""
    note: str = ""
    points_c: tuple[float, ...] = ()
    points: tuple[float, ...] = ()
    valid_c: tuple[float, ...] = ()
    rise_range: tuple[float, float] = (1.0, 1.0)
    stand_in: bool = False
    others: tuple["Entry", ...] = ()

    @property
    def remark(self) -> str:
        """Condition and note in one."""
        return "; ".join(part for part in (self.condition, self.note) if part)

    def figure(self) -> Figure | None:
        """The value in SI (temperatures: degC), None where the file has none."""
        if self.value is None or self.low is None or self.high is None:
            return None
        divisor = TO_SI[self.unit][0]
        value, low, high = (number / divisor for number in (self.value, self.low, self.high))
        return Figure(value, low, high, self.status, self.source, note=self.remark)


def entry_from(name: str, data: Mapping[str, Any], unit: str = "") -> Entry:
    """Read one table of a metal's file; raises TableError naming the table and what is wrong with it."""
    try:
        return _checked(_read(name, data, str(data.get("unit", unit))))
    except (KeyError, TypeError, ValueError) as error:
        raise TableError(f"[{name}] cannot be read: {error}.", hint="Put back the file as it was shipped.") from error


def _read(name: str, data: Mapping[str, Any], unit: str) -> Entry:
    if "ratio" in data:
        unit = "R(T)/R(20)"
    value, points = _value_or_points(data)
    low, high = data.get("range", (value, value))
    rise_low, rise_high = data.get("rise_range", (1.0, 1.0))
    return Entry(
        name=name,
        unit=unit,
        value=value,
        low=None if value is None else float(low),
        high=None if value is None else float(high),
        status=Status(data["status"]),
        source=str(data["source"]),
        condition=str(data.get("condition", "")),
        note=" ".join(str(data.get("note", "")).split()),
        points_c=tuple(map(float, data.get("temperature", ()))),
        points=points,
        valid_c=tuple(map(float, data.get("valid", ()))),
        rise_range=(float(rise_low), float(rise_high)),
        stand_in=bool(data.get("stand_in", False)),
        others=tuple(entry_from(name, other, _unit_of_other(other, unit)) for other in data.get("others", ())),
    )


def _unit_of_other(other: Mapping[str, Any], unit: str) -> str:
    return "1/K" if "alpha20" in other else unit


def _value_or_points(data: Mapping[str, Any]) -> tuple[float | None, tuple[float, ...]]:
    value = data.get("ratio", data.get("alpha20", data.get("value")))
    if isinstance(value, list):
        return None, tuple(map(float, value))
    return (None if value is None else float(value)), ()


def _checked(entry: Entry) -> Entry:
    """Refuse what no arithmetic may be built on."""
    if entry.value is not None or entry.points:
        if entry.unit not in TO_SI:
            raise ValueError(f"unit {entry.unit!r} is not one of {', '.join(TO_SI)}")
        if entry.value is not None and not (entry.low or 0.0) <= entry.value <= (entry.high or 0.0):
            raise ValueError(f"{entry.value} is outside its range {entry.low} to {entry.high}")
    if len(entry.points) != len(entry.points_c) or len(entry.points) == 1:
        raise ValueError(f"{len(entry.points_c)} temperatures stand beside {len(entry.points)} values")
    if any(b <= a for a, b in zip(entry.points_c, entry.points_c[1:], strict=False)):
        raise ValueError("its temperatures do not rise")
    return entry
