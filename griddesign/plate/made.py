"""Everything the making of one plate brings, in one record."""

from dataclasses import dataclass

from griddesign.figures import Figure
from griddesign.metals import Metal
from griddesign.plate.kerf import kerf_of, kerf_outline
from griddesign.plate.making import Making
from griddesign.plate.outline import Outline
from griddesign.plate.pattern import OldPlate, Pattern, old_plate, pattern_of
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import Zigzag
from griddesign.plate.spread import Spread, spread_of


@dataclass(frozen=True, slots=True)
class Made:
    """Spread of the ohms; for cut plates the usual kerf and, where an offset was asked for, the path of the cut; for
    castings the pattern and what an old plate in its place would give, None where no shrinkage is known."""

    spread: Spread
    usual_kerf: Figure | None = None
    kerf: Figure | None = None
    cut_path: Outline | None = None
    pattern: Pattern | None = None
    old_plate: OldPlate | None = None


def made(shape: Zigzag, outline: Outline, metal: Metal, made_by: MadeBy, making: Making, ohm: float) -> Made:
    """How a plate of ``ohm`` (20 degC) is made. Raises GeometryError where kerf or draft do not suit the shape."""
    spread = spread_of(shape, metal, made_by, making)
    if made_by != "cast":
        kerf = making.kerf
        path = kerf_outline(outline, kerf.value) if kerf else None
        return Made(spread, usual_kerf=kerf_of(made_by), kerf=kerf, cut_path=path)
    if making.shrinkage is None and metal.pattern_shrinkage is None:
        return Made(spread)
    return Made(spread, pattern=pattern_of(shape, metal, making), old_plate=old_plate(shape, metal, ohm, making))
