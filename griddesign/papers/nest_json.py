"""A nest as JSON: lengths in millimetres, counts, shares."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from griddesign.nest.records import Nested


def nest_json(nest: "Nested | None") -> dict[str, Any] | None:
    """Sheets, plates to a sheet with its bound, waste; None where nothing was nested."""
    if nest is None:
        return None
    stock = nest.stock
    return {
        "sheet_mm": [1e3 * stock.length_m, 1e3 * stock.width_m],
        "web_mm": 1e3 * stock.web_m,
        "margin_mm": 1e3 * stock.margin_m,
        "passes": stock.rule,
        "interlocked": nest.interlocked,
        "per_sheet": nest.per_sheet,
        "bound": nest.pattern.bound,
        "exact": nest.pattern.exact,
        "proved": nest.pattern.proved,
        "lot": nest.lot,
        "sheets": nest.sheets,
        "on_the_last": len(nest.last),
        "waste": nest.waste,
        "waste_lot": nest.waste_lot,
    }
