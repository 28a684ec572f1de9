"""How far the ohms of a plate may be out because it is not made true to size: by cutting, rolling or casting.

Every tolerance is turned into a share of the ohms by the power law ``R ~ size^power`` at the plate as drawn, the powers
of width, gap and height being differences of its squares, that of the thickness exactly -1. One figure stands for the
whole plate: all its passes are taken as equally wide and thick, which is the worst they can do together.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import exp, inf, log, log1p, sqrt
from typing import Any, Literal

from griddesign.errors import GeometryError
from griddesign.figures import Figure, Status
from griddesign.metals import Metal, shop_table, source
from griddesign.plate.bends import plate_squares
from griddesign.plate.making import Making
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import Zigzag, with_strip_width

Item = Literal["strip width", "thickness", "edges out of square", "height", "pass gap"]

CAST_GRADE = 12
"""DCTG grade the drawing of a casting asks for: hand-moulded grey iron is held to 11 to 14 (from memory)."""
CUT_CLASS: Mapping[MadeBy, str] = {"laser": "m", "waterjet": "m", "stamped": "m", "plasma": "c"}
"""Class of ISO 2768-1 the drawing of a cut plate asks for."""
CUT_RANGE: Mapping[MadeBy, int] = {"laser": 2, "plasma": 3}
"""Range of ISO 9013 a cut is taken to keep to: what a shop does without being asked, from memory."""
ROLLED_UP_TO_MM = 1500
_SOFT, _HARD = "Steel", "Stainless steel"  # families of metal the table of sheet was made for

_STEP = 1 / 200


@dataclass(frozen=True, slots=True)
class Tolerance:
    """Plus and minus ``half_m`` on one size of the plate, with where it came from."""

    item: Item
    half_m: float
    status: Status
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Cause:
    """What one tolerance does: ``low`` and ``high`` are the ohms at its ends over those as drawn, less one.

    ``R ~ size^power``. ``share`` is its part of the sum of squares, 0 to 1. ``high`` is infinite where the tolerance
    is as large as the size.
    """

    tolerance: Tolerance
    size_m: float
    power: float
    low: float
    high: float
    share: float


@dataclass(frozen=True, slots=True)
class Spread:
    """All causes together, as shares of the ohms as drawn.

    ``low`` to ``high``: root of the sum of squares (of logarithms), for causes that know nothing of each other;
    ``worst_low`` to ``worst_high``: every one at its worst end. ``not_counted`` names what has no figure.
    """

    causes: tuple[Cause, ...]
    low: float
    high: float
    worst_low: float
    worst_high: float
    not_counted: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sizes:
    """The sizes tolerances are looked up for; height and pass gap are None where a plate's outline is all there is."""

    strip_width_m: float
    thickness_m: float
    effective_thickness_m: float
    height_m: float | None = None
    pass_gap_m: float | None = None

    @classmethod
    def of(cls, shape: Zigzag) -> "Sizes":
        """The sizes of a zig-zag."""
        return cls(
            shape.strip_width_m, shape.thickness_m, shape.effective_thickness_m, shape.height_m, shape.pass_gap_m
        )

    def across(self) -> Iterator[tuple[Item, float]]:
        """The known sizes in the plane of the plate."""
        named: tuple[tuple[Item, float | None], ...] = (
            ("strip width", self.strip_width_m),
            ("height", self.height_m),
            ("pass gap", self.pass_gap_m),
        )
        yield from ((item, size_m) for item, size_m in named if size_m is not None)


def spread_of(shape: Zigzag, metal: Metal, made_by: MadeBy, making: Making | None = None) -> Spread:
    """Spread of the plate's ohms by the tolerances it is made to; the metal's own range is not in it.

    The user's tolerances go before those of the tables. Sizes of the eyes are left out: they carry the current a small
    part of its way.
    """
    allowed = tolerances(Sizes.of(shape), metal, made_by, making or Making())
    return _together(allowed, _powers(shape, {one.item for one in allowed}), made_by)


def spread_of_edges(sizes: Sizes, width_power: float, metal: Metal, made_by: MadeBy) -> Spread:
    """Spread of a plate of which only the outline is known: its edges set in or out together, and its thickness.

    ``width_power`` is d ln R / d ln w of all edges moved alike, w the mean width in ``sizes``.
    """
    width = (sizes.strip_width_m, width_power)
    powers: dict[Item, tuple[float, float]] = {
        "strip width": width,
        "edges out of square": width,
        "thickness": (sizes.effective_thickness_m, -1.0),
    }
    return _together(tolerances(sizes, metal, made_by, Making()), powers, made_by)


def _together(allowed: tuple[Tolerance, ...], powers: dict[Item, tuple[float, float]], made_by: MadeBy) -> Spread:
    causes = _with_shares([_cause(one, *powers[one.item]) for one in allowed])
    counted = {one.item for one in allowed}
    return Spread(
        causes,
        low=-_gone(sqrt(sum(log1p(cause.low) ** 2 for cause in causes))),
        high=_grown(sqrt(sum(_log(cause.high) ** 2 for cause in causes))),
        worst_low=-_gone(-sum(log1p(cause.low) for cause in causes)),
        worst_high=_grown(sum(_log(cause.high) for cause in causes)),
        not_counted=tuple(_not_counted(made_by, counted)),
    )


def tolerances(sizes: Sizes, metal: Metal, made_by: MadeBy, making: Making) -> tuple[Tolerance, ...]:
    """Every tolerance known for the plate made this way. A size beyond a table is left out.

    Castings: ISO 8062-3:2007, table 2, half of DCTG 12 to each side, the wall one grade coarser as far as the table
    goes. Cut plates: ISO 2768-1, class m (plasma: c); thermal cuts out of square by ISO 9013, of each edge half the
    tolerance on the mean; sheet by EN 10051 for soft steel, widened as for the hardest steels for other metals.
    """
    found = _cast(sizes) if made_by == "cast" else _cut(sizes, metal, made_by)
    given: dict[Item, Figure | None] = {"strip width": making.width_tolerance, "thickness": making.thickness_tolerance}
    table = [one for one in found if given.get(one.item) is None]
    own = (
        Tolerance(item, figure.value, figure.status, figure.source or "the job")
        for item, figure in given.items()
        if figure is not None
    )
    return tuple(sorted([*own, *table], key=lambda one: ORDER.index(one.item)))


ORDER: tuple[Item, ...] = ("strip width", "thickness", "edges out of square", "height", "pass gap")


def _cast(sizes: Sizes) -> Iterator[Tolerance]:
    for item, size_m in sizes.across():
        yield from _dctg(item, size_m, CAST_GRADE)
    yield from _dctg("thickness", sizes.effective_thickness_m, CAST_GRADE + 1)


def _dctg(item: Item, size_m: float, grade: int) -> Iterator[Tolerance]:
    table = shop_table("dctg")
    row = _row(table, size_m)
    if row is None:
        return
    taken = min(grade, row["first_grade"] + len(row["total_mm"]) - 1)
    half_m = row["total_mm"][taken - row["first_grade"]] / 2000
    note = "" if taken == grade else f"grade {grade} is not tabled for so small a size"
    yield Tolerance(item, half_m, Status(table["status"]), f"{_title(table)}, grade {taken}", note)


def _cut(sizes: Sizes, metal: Metal, made_by: MadeBy) -> Iterator[Tolerance]:
    table, letter = shop_table("iso2768_linear"), CUT_CLASS[made_by]
    for item, size_m in sizes.across():
        row = _row(table, size_m)
        if row is not None and f"{letter}_mm" in row:
            yield Tolerance(
                item, row[f"{letter}_mm"] / 1000, Status(table["status"]), f"{_title(table)}, class {letter}"
            )
    yield from _sheet(sizes.thickness_m, metal)
    if made_by in CUT_RANGE:
        yield from _out_of_square(sizes.thickness_m, made_by)


def _sheet(thickness_m: float, metal: Metal) -> Iterator[Tolerance]:
    table = shop_table("sheet_thickness")
    row = _row(table, thickness_m)
    if row is None:
        return
    half_m = row["plus_minus_mm"][table["rolled_up_to_mm"].index(ROLLED_UP_TO_MM)] / 1000
    if metal.family == _SOFT:
        yield Tolerance(
            "thickness", half_m, Status(table["status"]), _title(table), "hot-rolled; ask for the certificate"
        )
        return
    more = table["harder_percent"]["D"]
    status = Status.DERIVED if metal.family == _HARD else Status.ESTIMATE
    note = f"table for soft steel and {more} % more, as for the hardest steels; ask for the certificate"
    yield Tolerance("thickness", half_m * (1 + more / 100), status, _title(table), note)


def _out_of_square(thickness_m: float, made_by: MadeBy) -> Iterator[Tolerance]:
    """An edge that slopes by u through the sheet moves its mean by u/2; both edges alike change the mean width by u."""
    table, wanted = shop_table("iso9013"), CUT_RANGE[made_by]
    low_mm, high_mm = table["covers_mm"][made_by]
    thickness_mm = 1000 * thickness_m
    if not low_mm <= thickness_mm <= high_mm:
        return
    row = next(row for row in table["rows"] if row["range"] == wanted)
    half_m = (row["base_mm"] + row["per_mm"] * thickness_mm) / 1000
    yield Tolerance(
        "edges out of square", half_m, Status(table["status"]), f"ISO 9013, range {wanted}, from memory", "range taken"
    )


def _row(table: Mapping[str, Any], size_m: float) -> Mapping[str, Any] | None:
    """The row of a table by nominal size: over ... up to and including."""
    size_mm = round(1000 * size_m, 6)
    rows: tuple[Mapping[str, Any], ...] = table["rows"]
    return next((row for row in rows if row.get("over_mm", 0.0) < size_mm <= row["up_to_mm"]), None)


def _title(table: Mapping[str, Any]) -> str:
    return source(table["source"]).title


def _powers(shape: Zigzag, items: set[Item]) -> dict[Item, tuple[float, float]]:
    """(size, d ln R / d ln size) of each item. Width is varied with the pitch kept, as it is ordered."""
    width_m, gap_m = shape.strip_width_m, shape.pass_gap_m
    known: dict[Item, tuple[float, float]] = {"thickness": (shape.effective_thickness_m, -1.0)}
    if items & {"strip width", "edges out of square"}:
        power = _power(shape, lambda factor: with_strip_width(shape, factor * width_m))
        known |= {"strip width": (width_m, power), "edges out of square": (width_m, power)}
    if "height" in items:
        power = _power(shape, lambda factor: replace(shape, height_m=factor * shape.height_m))
        known["height"] = (shape.height_m, power)
    if "pass gap" in items:
        known["pass gap"] = (gap_m, _power(shape, lambda factor: replace(shape, pass_gap_m=factor * gap_m)))
    return known


def _power(shape: Zigzag, varied: Callable[[float], Zigzag]) -> float:
    """By a difference of half a per cent in the size, to the side on which the plate can still exist."""
    here = plate_squares(shape).value / shape.effective_thickness_m
    for factor in (1 - _STEP, 1 + _STEP):
        try:
            other = varied(factor)
        except GeometryError:
            continue
        return log(plate_squares(other).value / other.effective_thickness_m / here) / log(factor)
    raise GeometryError("the plate bears no change of half a per cent in its sizes, so its spread cannot be told")


def _cause(tolerance: Tolerance, size_m: float, power: float) -> Cause:
    ratio = tolerance.half_m / size_m
    ends = sorted(power * log(factor) if factor > 0 else inf for factor in (1 - ratio, 1 + ratio))
    return Cause(tolerance, size_m, power, -_gone(-ends[0]), _grown(ends[1]), 0.0)


def _with_shares(causes: list[Cause]) -> tuple[Cause, ...]:
    squares = [((_log(cause.high) - log1p(cause.low)) / 2) ** 2 for cause in causes]
    if inf in squares:
        squares = [float(square == inf) for square in squares]
    whole = sum(squares) or 1.0
    return tuple(replace(cause, share=square / whole) for cause, square in zip(causes, squares, strict=True))


def _not_counted(made_by: MadeBy, counted: set[Item]) -> Iterator[str]:
    yield from (f"{item}: no tolerance known for its size" for item in ORDER[:2] if item not in counted)
    if made_by == "cast":
        yield "pores, cold shuts, shifted mould halves, chill"


def _log(share: float) -> float:
    return inf if share == inf else log1p(share)


def _grown(logarithm: float) -> float:
    return inf if logarithm == inf else exp(logarithm) - 1


def _gone(logarithm: float) -> float:
    """The share lost where the logarithm of a ratio falls by so much."""
    return 1 - exp(-logarithm)
