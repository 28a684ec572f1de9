"""``griddesign plate OUTLINE.dxf --ohms``: the outline whose edges, or whose sheet, give way for the ohms wanted."""

from collections.abc import Mapping
from typing import Any, get_args

from griddesign.cli.plate_thickness import AskedThickness, figure_of
from griddesign.errors import InputError
from griddesign.metals import Metal
from griddesign.plate.outline import Outline
from griddesign.plate.outline_order import OutlineFree, OutlineOrder, OutlineWish, Solve, ordered_outline
from griddesign.plate.terminals import TerminalModel
from griddesign.plate.uneven import Uneven, field_thickness

_BRACKET = 3e-4  # its middle is nearer to the truth by far than the ohms have to be met


def outline_wish(words: Mapping[str, Any], metal: Metal, asked: AskedThickness) -> OutlineWish:
    """The words of an order, read and checked. Raises InputError."""
    free, sheets = words.get("free"), words.get("sheet", ())
    if free not in (None, *get_args(OutlineFree)):
        raise InputError(
            f"--free {free}: of somebody's outline only {' or '.join(get_args(OutlineFree))} can give way",
            hint="Number of passes and gap are known of a job's plate.",
        )
    if asked.readings or (asked.regions and asked.whole is None):
        raise InputError(
            "an order for ohms wants one --thickness beside the regions, and none that tapers",
            hint='Give it: --thickness "8 mm"; the edges give way.',
        )
    if asked.whole is not None and (sheets or free == "thickness"):
        raise InputError("--thickness settles what --sheet and --free thickness would find", hint="Leave one out.")
    if asked.whole is None and free == "strip_width" and not sheets:
        raise InputError("--free strip_width wants a thickness", hint='Give --thickness "8 mm", or --sheet.')
    on_hand = tuple(_one("--sheet", text, "length") for text in sheets)
    ohm = _one("--ohms", words["ohms"], "resistance")
    return OutlineWish(ohm, metal, asked.whole, words["made_by"], free, on_hand)


def _one(option: str, text: str, kind: str) -> float:
    """One quantity above zero: an order names one figure, not a range."""
    found = figure_of(option, text, kind)
    if found.low != found.high:
        raise InputError(f"{option}: {text!r} is a range", hint="Name the one figure that is wanted.")
    return found.value


def ordered(
    outline: Outline, wish: OutlineWish, solve: Solve, model: TerminalModel, uneven: Uneven | None
) -> OutlineOrder:
    """The order. Raises GeometryError, with the nearest possible plate, where the ohms are not to be had."""
    from griddesign.plate.field import squares

    def squares_of(shape: Outline, nominal_m: float) -> float:
        thickness = None if uneven is None else field_thickness(uneven, nominal_m, shape)
        return squares(model.domain(shape, thickness), _BRACKET).value

    return ordered_outline(outline, wish, solve, squares_of)
