"""The pattern a plate is cast from: larger by the shrinkage, drafted, thicker where the eyes are faced.

Shrinkage is counted as pattern shops count it: by how much the pattern is larger than the casting. So pattern =
casting * (1 + s), and what is cast from an old plate is the old plate / (1 + s).
"""

from dataclasses import dataclass
from math import degrees, dist, inf, radians, tan

from griddesign.errors import GeometryError, InputError
from griddesign.figures import Figure, Status
from griddesign.metals import Metal
from griddesign.plate.making import HoleMade, Making
from griddesign.plate.outline import Outline
from griddesign.plate.shapes import Zigzag, mm
from griddesign.plate.zigzag import eye_centres, outline_of

FOUNDRY = "common foundry practice"
DRAFT = Figure(radians(2), radians(1), radians(3), Status.MEMORY, FOUNDRY)
"""Draft of a pattern moulded in sand where the user gives none: 2 deg, of 1 to 3 in use."""
MACHINING = Figure(0.002, 0.0015, 0.003, Status.MEMORY, FOUNDRY)
"""Metal left on each face of an eye to be machined where the user gives none."""
SMALLEST_CORE_M = 0.006
"""Holes under this, or under the thickness, are drilled: cores so thin do not stand (from memory)."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern and what the casting keeps of it; all lengths in m.

    ``outline`` is that of half the thickness, enlarged by ``factor``; it has no holes where they are drilled.
    ``draft_step_m``: by how much each side stands out at the parting face, and back at the far one (casting's size).
    ``thickness_m`` and ``eye_thickness_m`` are the pattern's, the eyes with both their allowances. ``ring_m`` is the
    metal round the hole in the casting. The section of the strip has ``section_m2`` of the ``sharp_section_m2`` it
    would have with sharp edges; ``effective_thickness_m`` is that of the casting.
    """

    outline: Outline
    factor: float
    shrinkage: Figure
    draft: Figure
    draft_step_m: float
    machining: Figure
    hole: HoleMade
    hole_m: float
    thickness_m: float
    eye_thickness_m: float
    eye_span_m: float
    pattern_eye_span_m: float
    ring_m: float
    section_m2: float
    sharp_section_m2: float
    effective_thickness_m: float


@dataclass(frozen=True, slots=True)
class OldPlate:
    """What comes of a plate of the right size used as its own pattern: everything shorter by 1/(1 + s).

    ``short_m``: by how much the centres of the eyes come too near each other. The squares stay, so the ohms rise as
    the thickness falls, by ``1 + s``; the mass falls by the third power.
    """

    shrinkage: Figure
    eye_span_m: float
    short_m: float
    hole_m: float
    strip_width_m: float
    thickness_m: float
    ohm: float
    mass_share: float


def pattern_of(shape: Zigzag, metal: Metal, making: Making | None = None) -> Pattern:
    """The pattern of a cast plate. Every line of its outline, arcs too, is ``1 + s`` times the casting's.

    The plate lies flat with the parting at one face, so its sides slope all one way: each stands ``t/2 tan(draft)``
    out at the parting and as much back at the other face. The outline is that of half the thickness, so the section
    keeps its area; the ohms of a strip so drafted are the same within 4e-4 at 3 deg. The draft counts on the height
    of the edge. Raises InputError where no shrinkage is known for the metal, GeometryError where the draft closes a
    gap or takes the strip away.
    """
    own = making or Making()
    shrinkage, draft, machining = shrinkage_of(metal, own), own.draft or DRAFT, own.machining or MACHINING
    step_m = _draft_step_m(shape, draft)
    factor = 1 + shrinkage.value
    hole = own.hole or _usual_hole(shape)
    nominal = outline_of(shape)
    span_m = eye_span_m(shape)
    return Pattern(
        outline=(nominal if hole == "cored" else _without_holes(nominal)).scaled(factor),
        factor=factor,
        shrinkage=shrinkage,
        draft=draft,
        draft_step_m=step_m,
        machining=machining,
        hole=hole,
        hole_m=factor * shape.eye.hole_m if hole == "cored" else 0.0,
        thickness_m=factor * shape.thickness_m,
        eye_thickness_m=factor * (shape.thickness_m + 2 * machining.value),
        eye_span_m=span_m,
        pattern_eye_span_m=factor * span_m,
        ring_m=shape.eye.web_m,
        section_m2=shape.section_area_m2,
        sharp_section_m2=shape.strip_width_m * (shape.thickness_m + _edge_m(shape)) / 2,
        effective_thickness_m=shape.effective_thickness_m,
    )


def old_plate(shape: Zigzag, metal: Metal, ohm: float, making: Making | None = None) -> OldPlate:
    """What is cast when a plate of ``shape`` and ``ohm`` (20 degC) lies in the mould as the pattern.

    Raises InputError where no shrinkage is known for the metal.
    """
    shrinkage = shrinkage_of(metal, making or Making())
    factor, span_m = 1 + shrinkage.value, eye_span_m(shape)
    return OldPlate(
        shrinkage=shrinkage,
        eye_span_m=span_m / factor,
        short_m=span_m - span_m / factor,
        hole_m=shape.eye.hole_m / factor,
        strip_width_m=shape.strip_width_m / factor,
        thickness_m=shape.thickness_m / factor,
        ohm=ohm * factor,
        mass_share=factor**-3,
    )


def shrinkage_of(metal: Metal, making: Making) -> Figure:
    """By how much the pattern is larger, as a fraction: the user's, else the table's for the metal.

    Raises InputError where neither gives one, or one that is not from 0 to under 10 %.
    """
    found = making.shrinkage or metal.pattern_shrinkage
    if found is None:
        raise InputError(
            f"no shrinkage is tabled for {metal.name} ({metal.key})",
            hint='Ask the foundry and write making = { shrinkage = "1.6 %" }.',
        )
    if not 0 <= found.value < 0.1:
        raise InputError(f"a shrinkage of {100 * found.value:.3g} % is no metal's", hint="About 1 to 2.5 % are in use.")
    return found


def eye_span_m(shape: Zigzag) -> float:
    """Distance between the centres of the terminal eyes."""
    centres = eye_centres(shape)
    return dist(centres["first eye"], centres["last eye"])


def mark_of(pattern: Pattern) -> str:
    """The shrinkage for the name of a file: ``shrinkage-1.0pct``."""
    return f"shrinkage-{100 * pattern.shrinkage.value:.3g}pct"


def _usual_hole(shape: Zigzag) -> HoleMade:
    return "drilled" if shape.eye.hole_m < max(SMALLEST_CORE_M, shape.thickness_m) else "cored"


def _edge_m(shape: Zigzag) -> float:
    return shape.thickness_m if shape.edge_thickness_m is None else shape.edge_thickness_m


def _draft_step_m(shape: Zigzag, draft: Figure) -> float:
    """Half the height of the edge times the slope; refused where strip or gap do not bear it on both sides."""
    step_m = _edge_m(shape) / 2 * tan(draft.value) if 0 <= draft.value < 0.8 else inf
    for what, size_m in (("pass gap", shape.pass_gap_m), ("strip", shape.strip_width_m)):
        if not 2 * step_m < size_m:
            raise GeometryError(
                f"a draft of {degrees(draft.value):.3g} deg over {mm(_edge_m(shape))} takes {mm(2 * step_m)}, "
                f"all of the {what} of {mm(size_m)}",
                hint="1 to 3 degrees are in use.",
            )
    return step_m


def _without_holes(outline: Outline) -> Outline:
    return Outline(outline.outer, marks=outline.marks)
