"""Sheet as it is sold: the standard gauges, in millimetres, by the scale the metal's trade uses."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import log
from typing import Any

from griddesign.errors import GeometryError
from griddesign.metals import Metal, shop_table
from griddesign.plate.shapes import mm
from griddesign.units import show

_INCH_M = 0.0254
_CARBON, _STAINLESS = "Steel", "Stainless steel"


@dataclass(frozen=True, slots=True)
class Sheet:
    """One thickness of sheet: ``name`` says what it is called, the order is written in millimetres all the same."""

    name: str
    thickness_m: float

    def words(self, units: str) -> str:
        """``3.038 mm (gauge 11, manufacturers' standard)``, to the micrometre; in the inch family ``0.1196 in (…)``."""
        return f"{size_words(self.thickness_m, units)} ({self.name})"


def size_words(length_m: float, units: str) -> str:
    """A length to the micrometre, or to four digits of an inch, as a shop of that family of units reads it."""
    return mm(round(length_m, 6)) if units == "mm" else show(length_m, "length", digits=4, units=units)


def sheets_for(metal: Metal, on_hand_m: Sequence[float] = ()) -> tuple[Sheet, ...]:
    """What the metal is sold in, thickest first: the shop's own stock where it is given, else the standard gauges.

    Carbon steel goes by the manufacturers' standard gauge (heavier than no. 3: the US standard's fractions of an
    inch), stainless by the US standard gauge; which trade uses which is common practice, from memory. For other
    metals we have no scale: the tuple is empty and any thickness is taken. Raises GeometryError for stock that is
    no thickness.
    """
    if on_hand_m:
        if not all(0 < thickness_m < float("inf") for thickness_m in on_hand_m):
            raise GeometryError(f"sheet of {', '.join(map(mm, on_hand_m))}", hint="Every thickness is above zero.")
        return tuple(Sheet("sheet on hand", thickness_m) for thickness_m in sorted(set(on_hand_m), reverse=True))
    return _gauges(metal.family) if metal.family in (_CARBON, _STAINLESS) else ()


def nearest_sheets(sheets: Sequence[Sheet], thickness_m: float) -> tuple[Sheet, ...]:
    """The sheets, the one nearest by ratio first."""
    return tuple(sorted(sheets, key=lambda sheet: abs(log(sheet.thickness_m / thickness_m))))


@cache
def _gauges(family: str) -> tuple[Sheet, ...]:
    return tuple(sorted(_read(shop_table("gauges")["rows"], family), key=lambda sheet: -sheet.thickness_m))


def _read(rows: Sequence[Mapping[str, Any]], family: str) -> Iterator[Sheet]:
    for row in rows:
        if family == _CARBON and "manufacturers_in" in row:
            yield Sheet(f"gauge {row['gauge']}, manufacturers' standard", row["manufacturers_in"] * _INCH_M)
        elif family == _STAINLESS or row["us_standard_in"] >= 0.25:
            yield Sheet(f"gauge {row['gauge']}, US standard", row["us_standard_in"] * _INCH_M)
