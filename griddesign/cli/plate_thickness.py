"""How thick an outline is, as the words of ``griddesign plate OUTLINE.dxf`` say it: one thickness, regions, a taper."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from griddesign.errors import InputError
from griddesign.figures import Figure, Status
from griddesign.plate.foreign import ForeignPlate
from griddesign.plate.uneven import Reading, ThickRegion, Uneven, nominal_of, plane_through
from griddesign.units import read

HERE = "given with the command"
_TAPER = 'As in --thickness-at "0 mm, 0 mm, 7.8 mm", two or three times.'


@dataclass(frozen=True, slots=True)
class AskedThickness:
    """What was said: the thickness, or readings of a taper (x, y, thickness, metres); regions by their layers."""

    whole: Figure | None
    readings: tuple[tuple[float, float, float], ...]
    regions: tuple[tuple[str, Figure], ...]

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers of the regions."""
        return tuple(layer for layer, _ in self.regions)

    def uneven(self, plate: ForeignPlate) -> Uneven | None:
        """What is not the same all over the plate, in the outline's axes."""
        if not (self.readings or self.regions):
            return None
        left, low = plate.origin_m
        readings = tuple(Reading((x - left, y - low), thick) for x, y, thick in self.readings)
        loops = {region.layer: region.loops for region in plate.regions}
        regions = tuple(ThickRegion(layer, loops[layer], thick) for layer, thick in self.regions)
        return Uneven(regions, readings, plate.tolerance_m)

    def nominal(self, uneven: Uneven | None, plate: ForeignPlate) -> Figure:
        """The thickness outside all regions, of a taper its mean over the plate."""
        if self.whole is not None:
            return self.whole
        assert uneven is not None
        return Figure.exact(nominal_of(uneven.readings, plate.outline), Status.GIVEN, HERE)


def asked_thickness(words: Mapping[str, Any]) -> AskedThickness:
    """The words for the thickness, each read and checked. Raises InputError."""
    readings = tuple(_reading(text) for text in words.get("thickness_at", ()))
    given = words["thickness"] is not None or words.get("ohms") is None  # an order may choose the sheet
    whole = figure_of("--thickness", words["thickness"], "length") if given and not readings else None
    if readings and words["thickness"] is not None:
        raise InputError("--thickness and --thickness-at are two answers to one question", hint="Give one of them.")
    if readings:
        plane_through([Reading((x, y), thick) for x, y, thick in readings])
    regions = tuple(
        (layer, figure_of(f"--thickness-of {layer}", text, "length")) for layer, text in words.get("thickness_of", ())
    )
    return AskedThickness(whole, readings, regions)


def _reading(text: str) -> tuple[float, float, float]:
    """A place and the thickness there."""
    parts = [part for part in text.split(",") if part.strip()]
    if len(parts) != 3:
        raise InputError(f"--thickness-at: {text!r} is not x, y and a thickness", hint=_TAPER)
    found = [read(part, kind) for part, kind in zip(parts, ("offset", "offset", "length"), strict=True)]
    if any(one.low != one.high for one in found):
        raise InputError(f"--thickness-at: {text!r} holds a range", hint="Name one place and what was read there.")
    figure_of("--thickness-at", parts[2], "length")
    return found[0].value, found[1].value, found[2].value


def figure_of(option: str, text: str | None, kind: str) -> Figure:
    """A quantity above zero with its ends, as given with the command."""
    if text is None:
        raise InputError(f"{option} is missing", hint='Give it with its unit: --thickness "8 mm".')
    found = read(text, kind)
    if not found.low > 0:
        raise InputError(f"{option}: {text!r} cannot be", hint="Give a quantity above zero.")
    status = Status.ABOUT if found.approximate else Status.GIVEN
    return replace(Figure.exact(found.value, status, HERE, text), low=found.low, high=found.high)
