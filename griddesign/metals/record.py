"""A metal as the computations see it: SI figures, resistance and specific heat over temperature, the user's changes."""

import difflib
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal, overload

from griddesign.errors import QuantityError, TableError
from griddesign.figures import Figure, Status
from griddesign.metals.curves import along

if TYPE_CHECKING:
    from griddesign.metals.curves import Array

COLD_C = 20.0
"""Cold: the temperature of every cold figure, 20 degC (68 degF)."""

FLAT_PER_K = 5e-5
"""Under this slope (1/K) a table is flat: its slope is of the size of its own rounding, no use to scale by."""

Law = Literal["linear", "table"]

FIELDS = {
    "resistivity": "resistivity",
    "alpha20": "alpha20",
    "density": "density",
    "specific_heat_20": "specific_heat_20",
    "specific_heat_400": "specific_heat_400",
    "conductivity": "conductivity",
    "emissivity": "emissivity",
    "expansion": "expansion",
    "limit": "limit_c",
    "air_limit": "air_limit_c",
    "melting": "melting_c",
    "pattern_shrinkage": "pattern_shrinkage",
    "min_bend_radius": "min_bend_radius_t",
}
"""The figures a user may override: name in the job and in the tables, field of ``Metal``."""

_POSITIVE = frozenset({"resistivity", "density", "specific_heat_20", "specific_heat_400", "conductivity", "emissivity"})


@dataclass(frozen=True, slots=True)
class Metal:
    """One metal. Every figure carries its range, status and source.

    Units: resistivity ohm m at 20 degC; alpha20 1/K; density kg/m3; specific heats J/(kg K) at 20 and 400 degC;
    conductivity (of heat, 20 degC) W/(m K); emissivity 0 to 1, total, as in service; expansion 1/K; ``limit_c`` hottest
    in a starting grid, ``air_limit_c`` hottest in air, ``melting_c`` where it begins to melt, all degC;
    pattern_shrinkage as a fraction of length; ``min_bend_radius_t`` inside radius in sheet thicknesses.
    ``magnetic`` is None for weakly magnetic metals.

    ``law`` says how resistance goes with temperature: ``"linear"``, R(T)/R(20) = 1 + alpha20 (T - 20), ratio points
    being the two ends of the range it was given for; or ``"table"``, straight lines between the ratio points, alpha20
    then being the slope of the first of them, from 20 degC on. Specific heat runs straight between its points.
    """

    key: str
    name: str
    family: str
    designation: str
    castable: bool
    sheet_formable: bool
    magnetic: bool | None
    magnetic_note: str
    resistivity: Figure
    law: Law
    ratio_points_c: tuple[float, ...]
    ratio_points: tuple[float, ...]
    alpha20: Figure
    density: Figure
    specific_heat_20: Figure
    specific_heat_400: Figure
    heat_points_c: tuple[float, ...]
    heat_points: tuple[float, ...]
    conductivity: Figure
    emissivity: Figure
    expansion: Figure
    limit_c: Figure
    air_limit_c: Figure
    melting_c: Figure
    pattern_shrinkage: Figure | None = None
    min_bend_radius_t: Figure | None = None
    conductivity_400: Figure | None = None
    conductivity_500: Figure | None = None

    @property
    def top_c(self) -> float:
        """Highest temperature (degC) for which the resistance is given; above it the last slope is carried on."""
        return self.ratio_points_c[-1]

    @overload
    def ratio(self, t_c: float) -> float: ...
    @overload
    def ratio(self, t_c: "Array") -> "Array": ...
    def ratio(self, t_c: "float | Array") -> "float | Array":
        """R(T)/R(20) at ``t_c`` degC, one temperature or an array; exactly 1 at 20 degC.

        Linear law or table (see the class). Outside the points the first or last slope goes on: good for a cold morning
        below 20 degC and a few degrees over the top, a guess beyond. Ageing and phase changes are not in it.
        """
        if self.law == "linear":
            return 1.0 + self.alpha20.value * (t_c - COLD_C)
        return along(self.ratio_points_c, self.ratio_points, t_c, "slope")

    @overload
    def resistivity_at(self, t_c: float) -> float: ...
    @overload
    def resistivity_at(self, t_c: "Array") -> "Array": ...
    def resistivity_at(self, t_c: "float | Array") -> "float | Array":
        """Resistivity in ohm m at ``t_c`` degC: ``resistivity`` times ``ratio``; the plate's growth is neglected."""
        return self.resistivity.value * self.ratio(t_c)

    @overload
    def specific_heat(self, t_c: float) -> float: ...
    @overload
    def specific_heat(self, t_c: "Array") -> "Array": ...
    def specific_heat(self, t_c: "float | Array") -> "float | Array":
        """Specific heat in J/(kg K) at ``t_c`` degC: straight between its points (20 and 400 degC, or a table).

        Flat outside the points, which for metals is the safe side above them: real metals take up more. The peak of
        carbon steel near 735 degC (EN 1993-1-2) is therefore not in it.
        """
        return along(self.heat_points_c, self.heat_points, t_c, "flat")

    def with_figure(self, name: str, figure: Figure) -> "Metal":
        """The metal with one figure put in place of the table's; ``name`` is a key or a value of ``FIELDS``.

        A new alpha20 becomes the slope of a linear law. A table keeps its shape: its rise (ratio - 1) is scaled so
        that its first slope is the new alpha20, as Matthiessen's rule has it (impurities add to the resistance and
        leave its rise alone). Where the table's own slope is under ``FLAT_PER_K`` a straight line is added instead. A
        new specific heat makes a straight line between the figures at 20 and 400 degC.

        Raises TableError for an unknown name; QuantityError for a figure no metal can have: not finite, not above zero
        where it must be, an emissivity over 1, a limit over the melting point, an alpha20 that brings the resistance
        down to nothing inside the table.
        """
        field = _field(name)
        _refuse_impossible(self, field, figure)
        if field == "alpha20":
            return _with_alpha(self, figure)
        if field in ("specific_heat_20", "specific_heat_400"):
            return _with_heat(self, field, figure)
        return _put(self, field, figure)

    def at_ends(self, **ends: str) -> "Metal":
        """The metal with the named figures pinned at one end: ``metal.at_ends(alpha20="low", emissivity="high")``.

        An end is ``"low"``, ``"value"`` or ``"high"``; a figure the metal does not have is passed over. A pinned
        alpha20 or specific heat carries its curve along. Raises TableError for an unknown name.
        """
        metal = self
        for name, end in ends.items():
            figure: Figure | None = getattr(metal, _field(name))
            if figure is not None:
                metal = metal.with_figure(name, figure.pinned(end))
        return metal


def _field(name: str) -> str:
    if name in FIELDS:
        return FIELDS[name]
    if name in FIELDS.values():
        return name
    near = difflib.get_close_matches(name, FIELDS, n=3)
    hint = f"Did you mean {' or '.join(near)}?" if near else f"Figures of a metal: {', '.join(FIELDS)}."
    raise TableError(f"A metal has no figure named {name!r}.", hint=hint)


def _refuse_impossible(metal: Metal, field: str, figure: Figure) -> None:
    numbers = (figure.value, figure.low, figure.high)
    if not all(map(math.isfinite, numbers)):
        raise QuantityError(f"{field} of {metal.key} is {figure.value}, not a number to reckon with.")
    if not figure.low <= figure.value <= figure.high:
        raise QuantityError(f"{field} of {metal.key}: {figure.value:g} is outside {figure.low:g} to {figure.high:g}.")
    if field in _POSITIVE and figure.low <= 0.0:
        raise QuantityError(f"{field} of {metal.key} is {figure.low:g}; it must be above zero.")
    if field == "emissivity" and figure.high > 1.0:
        raise QuantityError(f"Emissivity of {metal.key} is {figure.high:g}; a black body, 1, is the most there is.")
    if field == "limit_c" and figure.high >= metal.melting_c.high:
        raise QuantityError(
            f"The limit of {metal.key}, {figure.high:g} degC, is not under its melting, {metal.melting_c.high:g} degC."
        )


def _put(metal: Metal, field: str, figure: Figure) -> Metal:
    change: dict[str, Any] = {field: figure}
    return replace(metal, **change)


def _with_alpha(metal: Metal, figure: Figure) -> Metal:
    points = _bent(metal, figure.value)
    if min(points) <= 0.0:
        raise QuantityError(
            f"alpha20 = {figure.value:g} 1/K leaves {metal.key} no resistance inside its table "
            f"({metal.ratio_points_c[0]:g} to {metal.top_c:g} degC)."
        )
    return replace(metal, alpha20=figure, ratio_points=points)


def _bent(metal: Metal, alpha: float) -> tuple[float, ...]:
    """The ratio points with another alpha20; see ``Metal.with_figure``."""
    old = metal.alpha20.value
    if alpha == old:
        return metal.ratio_points
    if metal.law == "linear":
        return linear_points(alpha, metal.ratio_points_c)
    if abs(old) < FLAT_PER_K:
        pairs = zip(metal.ratio_points_c, metal.ratio_points, strict=True)
        return tuple(ratio + (alpha - old) * (t_c - COLD_C) for t_c, ratio in pairs)
    return tuple(1.0 + (ratio - 1.0) * (alpha / old) for ratio in metal.ratio_points)


def linear_points(alpha: float, points_c: tuple[float, ...]) -> tuple[float, ...]:
    """R(T)/R(20) = 1 + alpha (T - 20) at each of ``points_c`` (degC)."""
    return tuple(1.0 + alpha * (t_c - COLD_C) for t_c in points_c)


def first_slope(points_c: tuple[float, ...], points: tuple[float, ...]) -> float:
    """Slope (1/K) of a table of R(T)/R(20) from its first point, 20 degC, to its next: the table's own alpha20.

    Tables give three decimals: rounding at the twelfth only sweeps away what binary fractions add.
    """
    return round((points[1] - points[0]) / (points_c[1] - points_c[0]), 12)


def _with_heat(metal: Metal, field: str, figure: Figure) -> Metal:
    if figure.value == getattr(metal, field).value:
        return _put(metal, field, figure)
    changed = _put(metal, field, figure)
    pair = (changed.specific_heat_20.value, changed.specific_heat_400.value)
    return replace(changed, heat_points_c=(COLD_C, 400.0), heat_points=pair)


def carried_on(cold: Figure) -> Figure:
    """The specific heat at 400 degC of a metal that is never that hot: the figure at 20 degC, as an estimate."""
    return replace(cold, status=Status.ESTIMATE, note="not used so hot: the figure at 20 degC carried on")
