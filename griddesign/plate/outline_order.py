"""An outline ordered to given ohms: all its edges set out or in alike, in the thickness given or in a sheet on sale.

What a drawing does not tell stays as it is: eyes, pitch and the way the strip runs. Setting the edges changes the width
of the strip by twice as much, and the overall size too; how many passes somebody's outline has is not known, nor freed.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Literal, Protocol

from griddesign.errors import GeometryError
from griddesign.figures import Figure, Status
from griddesign.metals import Metal
from griddesign.plate.gauges import Sheet, nearest_sheets, sheets_for
from griddesign.plate.kerf import edges_moved
from griddesign.plate.outline import Outline
from griddesign.plate.outlined import SolvedOutline
from griddesign.plate.process import MadeBy
from griddesign.plate.replacement import MEETS, SHEET_MEETS
from griddesign.plate.shapes import mm

OutlineFree = Literal["strip_width", "thickness"]


class Solve(Protocol):
    """The plate an outline makes in a thickness: metal, terminals and bracket are settled."""

    def __call__(self, outline: Outline, *, thickness: Figure) -> SolvedOutline:
        """That plate. Raises as ``solve_outline``."""


SquaresOf = Callable[[Outline, float], float]
"""Its squares alone, by outline and nominal thickness, good to a tenth of ``MEETS``."""

_POWER = -1.05  # of the width in the ohms, to begin with
_MOST = 0.4  # of the mean strip width: how far edges are moved at most
_TRIES = 14
_HALVINGS = 6
_SHEETS_TRIED = 4


@dataclass(frozen=True, slots=True)
class OutlineWish:
    """Cold ohms wanted of an outline. ``thickness``: None, where a sheet is to be chosen from those on sale or
    ``on_hand_m``; ``free``: None for the edges, and the sheet too where no thickness is given."""

    ohm: float
    metal: Metal
    thickness: Figure | None
    made_by: MadeBy | None = None
    free: OutlineFree | None = None
    on_hand_m: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class OutlineOrder:
    """The plate to order beside the one drawn, both in the thickness ordered. ``edges_m``: how far every edge but round
    holes was set out (in: negative); ``sheet``: what it is bought as; ``error``: its ohms over those wanted, less one.
    """

    wish: OutlineWish
    drawn: SolvedOutline
    ordered: SolvedOutline
    edges_m: float
    sheet: Sheet | None
    error: float


def ordered_outline(outline: Outline, wish: OutlineWish, solve: Solve, squares_of: SquaresOf) -> OutlineOrder:
    """The plate that has the wanted ohms at 20 degC, within 1e-4, or 1 % where only the sheet may give way.

    ``R = N resistivity / t``; the squares N by the two-dimensional solve at every trial. Raises GeometryError, naming
    the nearest possible plate, where none has them.
    """
    sheets = _sheets(wish, squares_of(outline, 1e-3 if wish.thickness is None else wish.thickness.value))
    if wish.free == "thickness":
        return _by_thickness(outline, wish, solve, sheets)
    refused: list[GeometryError] = []
    for sheet, thickness in sheets[:_SHEETS_TRIED]:
        try:
            edges_m = _edges(outline, wish, thickness.value, squares_of)
        except GeometryError as error:
            refused.append(error)
            continue
        return _order(outline, wish, solve, (sheet, thickness), edges_m)
    raise refused[0]


def _sheets(wish: OutlineWish, squares: float) -> list[tuple[Sheet | None, Figure]]:
    """The thicknesses to try, the likeliest first: the one given, sheets on sale, or whatever meets the ohms."""
    if wish.thickness is not None and wish.free != "thickness":
        return [(None, wish.thickness)]
    wanted_m = squares * wish.metal.resistivity.value / wish.ohm
    sheets = () if wish.made_by == "cast" else sheets_for(wish.metal, wish.on_hand_m)
    if not sheets:
        return [(None, Figure.exact(wanted_m, Status.DERIVED, "squares times resistivity over the ohms wanted"))]
    near = nearest_sheets(sheets, wanted_m)
    return [(one, Figure.exact(one.thickness_m, Status.GIVEN, one.name, one.words("mm"))) for one in near]


def _by_thickness(
    outline: Outline, wish: OutlineWish, solve: Solve, sheets: list[tuple[Sheet | None, Figure]]
) -> OutlineOrder:
    """The outline as it is in the nearest sheet."""
    found = _order(outline, wish, solve, sheets[0], 0.0)
    if abs(found.error) > SHEET_MEETS:
        words = sheets[0][0].words if sheets[0][0] is not None else mm(sheets[0][1].value)
        raise GeometryError(
            f"{wish.ohm:.5g} ohm is not to be had in {wish.metal.name} by the thickness of this outline alone",
            hint=f"Nearest is {found.ordered.figures.cold_ohm:.5g} ohm ({100 * found.error:+.1f} %), in {words}; leave "
            "--free out, and the edges give way too.",
        )
    return found


def _order(
    outline: Outline, wish: OutlineWish, solve: Solve, bought: tuple[Sheet | None, Figure], edges_m: float
) -> OutlineOrder:
    sheet, thickness = bought
    drawn = solve(outline, thickness=thickness)
    ordered = solve(edges_moved(outline, edges_m), thickness=thickness) if edges_m else drawn
    return OutlineOrder(wish, drawn, ordered, edges_m, sheet, ordered.figures.cold_ohm / wish.ohm - 1)


def _edges(outline: Outline, wish: OutlineWish, thickness_m: float, squares_of: SquaresOf) -> float:
    """How far to set the edges out so that the ohms are met, by the secant in ln R over ln w."""
    scale = wish.metal.resistivity.value / thickness_m / wish.ohm
    squares = squares_of(outline, thickness_m)
    width_m = sqrt(outline.area_m2 / squares)
    here, miss = 0.0, log(squares * scale)
    power, held = _POWER, ""
    for _ in range(_TRIES):
        if abs(miss) <= MEETS / 2:
            return here
        wanted = (width_m + 2 * here) * exp(-miss / power)
        aim = max(-_MOST * width_m, min(_MOST * width_m, (wanted - width_m) / 2))
        there, found, held = _reached(outline, thickness_m, here, aim, squares_of)
        if there == here:
            break
        then = log(found * scale)
        step = log((width_m + 2 * there) / (width_m + 2 * here))
        power = min((then - miss) / step, -0.2)
        here, miss = there, then
    raise GeometryError(
        f"{wish.ohm:.5g} ohm is not to be had from this outline in {wish.metal.name}, {mm(thickness_m)} thick, by "
        "setting its edges out or in",
        hint=f"Nearest is {wish.ohm * exp(miss):.5g} ohm, with the edges set {_way(here)}; beyond it: "
        f"{held or 'it is no longer the strip that was drawn'}.",
    )


def _reached(
    outline: Outline, thickness_m: float, here: float, aim: float, squares_of: SquaresOf
) -> tuple[float, float, str]:
    """How far the edges go from ``here`` towards ``aim``, the squares there, and what stops them short of it."""
    held = ""
    for _ in range(_HALVINGS):
        try:
            return aim, squares_of(edges_moved(outline, aim), thickness_m), held
        except GeometryError as error:
            held, aim = held or error.message, (aim + here) / 2
    return here, 0.0, held


def _way(edges_m: float) -> str:
    return f"{'out' if edges_m >= 0 else 'in'} by {mm(round(abs(edges_m), 7))}"


def changes(order: OutlineOrder) -> Iterator[tuple[str, str, float, float]]:
    """What else changes: name, kind of quantity (``J/K``: heat capacity at 20 degC), as drawn and as ordered, both in
    the metal and the thickness ordered."""
    old, new = order.drawn.figures, order.ordered.figures
    (left, low, right, high), box = order.drawn.outline.bounding_box_m, order.ordered.outline.bounding_box_m
    heat = float(order.wish.metal.specific_heat(20.0))
    yield "mean strip width", "length", old.mean_width_m, new.mean_width_m
    yield "overall, x", "length", right - left, box[2] - box[0]
    yield "overall, y", "length", high - low, box[3] - box[1]
    yield "mass", "mass", old.mass_kg, new.mass_kg
    yield "heat capacity", "J/K", heat * old.mass_kg, heat * new.mass_kg
    yield "surface", "area", old.surface_m2, new.surface_m2
