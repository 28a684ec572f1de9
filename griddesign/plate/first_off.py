"""The first-off loop: one plate cut and measured before the batch, the strip width issued anew from it."""

from collections.abc import Sequence
from dataclasses import dataclass

from griddesign.errors import InputError
from griddesign.metals import Metal
from griddesign.metals import metal as tabled
from griddesign.plate.freeing import with_thickness
from griddesign.plate.measured import (
    HeatFigures,
    MeasuredPlate,
    MetalCheck,
    cold_from,
    heat_figures,
    metal_check,
    with_heat,
)
from griddesign.plate.process import MadeBy, ProcessCheck, process_checks
from griddesign.plate.replacement import Asked, replacement
from griddesign.plate.shapes import Zigzag


@dataclass(frozen=True, slots=True)
class Reissue:
    """What came of the first-offs. ``issued`` is the shape they were made to; ``shape`` the one for the batch.

    ``found_ohm``: mean cold ohms of the first-offs; ``found_error`` = found / wanted - 1; ``metal`` has the heat's own
    figures. ``thickness_m`` is the mean measured thickness, None where none was measured: then the width rests on the
    nominal thickness, which comes to the same ohms as long as the batch is cut from the same sheet or heat.
    """

    issued: Zigzag
    shape: Zigzag
    metal: Metal
    wanted_ohm: float
    found_ohm: float
    found_error: float
    heat: HeatFigures
    thickness_m: float | None
    metal_checks: tuple[MetalCheck, ...]
    process: tuple[ProcessCheck, ...]

    @property
    def broken(self) -> tuple[ProcessCheck, ...]:
        """Binding rules of the process that the new width breaks."""
        return tuple(check for check in self.process if check.must and not check.ok)


def reissue(
    issued: Zigzag, metal: Metal, made_by: MadeBy, wanted_ohm: float, plates: Sequence[MeasuredPlate]
) -> Reissue:
    """The strip width that gives the batch the wanted cold ohms, from what the first-offs of ``issued`` measured.

    The heat's resistivity comes from each first-off with its own thickness and width; the batch is reckoned with the
    mean thickness. Pitch, envelope and eyes are kept. Raises GeometryError where no width does, and QuantityError for
    readings that cannot be.
    """
    heat = heat_figures([(issued, plate) for plate in plates], metal)
    own = with_heat(metal, heat)
    thickness_m = _mean_thickness_m(plates)
    start = issued if thickness_m is None else with_thickness(issued, thickness_m)
    ordered = replacement(Asked(start, own, made_by, wanted_ohm), "strip_width")
    found_ohm = sum(cold_from(plate.cold, own) for plate in plates) / len(plates)
    checks = [metal_check(issued, plate, tabled(metal.key)) for plate in plates]
    return Reissue(
        issued=issued,
        shape=ordered.shape,
        metal=own,
        wanted_ohm=wanted_ohm,
        found_ohm=found_ohm,
        found_error=found_ohm / wanted_ohm - 1.0,
        heat=heat,
        thickness_m=thickness_m,
        metal_checks=tuple(check for check in checks if check is not None),
        process=process_checks(ordered.shape, made_by),
    )


def _mean_thickness_m(plates: Sequence[MeasuredPlate]) -> float | None:
    measured = [plate.thickness_m for plate in plates if plate.thickness_m is not None]
    return sum(measured) / len(measured) if measured else None


def next_revision(revision: str) -> str:
    """The revision after this one: draft, A, B … Z, AA, AB … ZZ. Raises InputError after the last."""
    if revision == "draft":
        return "A"
    if revision == "ZZ":
        raise InputError("there is no revision after ZZ", hint="Begin a new job file.")
    number = 0
    for letter in revision:
        number = number * 26 + ord(letter) - ord("A") + 1
    letters = ""
    while number >= 0 and len(letters) < 2:
        letters, number = chr(ord("A") + number % 26) + letters, number // 26 - 1
    return letters
