"""Plates, boxes and the user's own figures for a metal in a job file."""

from collections.abc import Mapping
from functools import partial
from typing import get_args

from griddesign import metals
from griddesign.figures import Figure, Status
from griddesign.grid.records import BoxPlan
from griddesign.job.making import check_making, read_making
from griddesign.job.part import Part, read_figure_at
from griddesign.job.records import PlateWish, SectionGiven
from griddesign.metals import Metal
from griddesign.plate.process import MadeBy, refuse_unsuited
from griddesign.plate.shapes import BendKind, Eye, EyePlaces, Zigzag, usual_eye

MADE_BY: tuple[MadeBy, ...] = get_args(MadeBy)
EYES: tuple[EyePlaces, ...] = get_args(EyePlaces)
BENDS: tuple[BendKind, ...] = get_args(BendKind)
OVERRIDES = {
    "resistivity": "resistivity",
    "alpha20": "temperature_coefficient",
    "density": "density",
    "specific_heat_20": "specific_heat",
    "specific_heat_400": "specific_heat",
    "emissivity": "fraction",
    "limit": "temperature",
}


def read_metals(whole: Part) -> dict[str, Metal]:
    """The metals the file changes: ``[metal.NAME]`` with any figure of the table, or two temperatures for its alpha."""
    part = whole.table("metal")
    if part is None:
        return {}
    changed = {}
    for name in part.data:
        inner = part.table(name)
        if inner is not None:
            metal = _changed_metal(inner, name)
            if metal is not None:
                changed[name] = metal
    return changed


OF_SOLIDS: Mapping[str, tuple[float, float]] = {
    "resistivity": (1e-9, 1e-4), "density": (500.0, 25_000.0),
    "specific_heat_20": (50.0, 5_000.0), "specific_heat_400": (50.0, 5_000.0), "conductivity": (0.1, 1_000.0),
}  # fmt: skip
"""What no solid metal leaves, SI (ours, from memory of the elements' extremes, wide): beyond it a unit is mistaken."""


def _changed_metal(part: Part, name: str) -> Metal | None:
    metal = part.attempt("", lambda: metals.metal(name))
    for key, kind in OVERRIDES.items():
        above = None if key in ("alpha20", "limit") else 0.0
        least, most = OF_SOLIDS.get(key, (None, None))
        figure = part.figure(key, kind, required=False, above=above, least=least, most=most)
        if figure is not None and metal is not None:
            metal = metal.with_figure(key, figure)
    alpha = _alpha_of_two(part)
    part.close()
    return metal.with_figure("alpha20", alpha) if metal is not None and alpha is not None else metal


def _alpha_of_two(part: Part) -> Figure | None:
    part.mark("two_temperatures")
    value = part.data.get("two_temperatures")
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 2 or not all(isinstance(item, str) for item in value):
        part.complain("two_temperatures", "is not a pair", 'Write ["0.0690 ohm at 20 degC", "0.0921 ohm at 200 degC"].')
        return None
    pair = [part.attempt("two_temperatures", partial(read_figure_at, item, "resistance")) for item in value]
    (first, second) = pair
    if first is None or second is None:
        return None
    if first[1] is None or second[1] is None:
        part.complain("two_temperatures", "lacks a temperature", 'Write "0.0690 ohm at 20 degC".')
        return None
    (r1, t1), (r2, t2) = (first[0].value, first[1]), (second[0].value, second[1])
    alpha = part.attempt("two_temperatures", lambda: metals.alpha_from_two(r1, t1, r2, t2))
    return None if alpha is None else Figure.exact(alpha, Status.MEASURED, "two temperatures, given in the job")


def read_plates(whole: Part, changed: dict[str, Metal]) -> tuple[PlateWish, ...]:
    """Every ``[[plate]]`` of the file; measured samples give their metals the heat's own figures."""
    parts = whole.tables("plate")
    plates = tuple(plate for part in parts if (plate := _read_plate(part, changed)) is not None)
    names = [plate.name for plate in plates]
    for name in sorted({name for name in names if names.count(name) > 1}):
        whole.complain("plate", f"two plates are named {name}", "Give each kind a name of its own.")
    if not whole.has("sample"):
        return plates
    from griddesign.job.samples import with_samples

    return with_samples(whole, plates)


def _read_plate(part: Part, changed: dict[str, Metal]) -> PlateWish | None:
    name = part.name("P")
    key = part.text("metal", required=True, example="grey_iron_class30")
    metal = changed.get(key) or (part.attempt("metal", lambda: metals.metal(key)) if key else None)
    made_by = part.choice("made_by", MADE_BY)
    shape = read_shape(part)
    width = _width_range(part, shape)
    measured = part.quantity("measured", "resistance", required=False)
    wanted = part.quantity("wanted", "resistance", required=False)
    making = read_making(part, made_by)
    spares = part.whole_number("spares", 0, least=0) or 0
    part.close()
    if not name or metal is None or made_by is None or shape is None:
        return None
    part.attempt("made_by", lambda: refuse_unsuited(metal, made_by))
    check_making(part, shape, metal, made_by, making)
    return PlateWish(name, metal, made_by, shape, width, measured, wanted, making=making, spares=spares)


THINNEST_M, SMALLEST_M, LARGEST_M = 1e-5, 1e-4, 10.0
"""Foil, and what no plate of a starting grid comes near in any other dimension (ours, no source): beyond lies a unit
mistaken, and a field that no mesh can follow."""


def read_shape(part: Part) -> Zigzag | None:
    """The table ``shape`` of a plate: every dimension of it, its eye too; None after a complaint."""
    inner = part.table("shape", required=True)
    if inner is None:
        return None
    inner.choice("family", ("zigzag",))
    height = inner.quantity("height", "length", example="250 mm", least=SMALLEST_M, most=LARGEST_M)
    passes = inner.whole_number("passes", least=2, most=400)
    strip = inner.quantity("strip_width", "length", example="8 mm", least=SMALLEST_M, most=LARGEST_M)
    gap = inner.quantity("pass_gap", "length", example="7 mm", least=SMALLEST_M, most=LARGEST_M)
    thickness = inner.quantity("thickness", "length", example="5 mm", least=THINNEST_M, most=LARGEST_M)
    eyes = inner.choice("eyes", EYES)
    bend = inner.choice("bend", BENDS, "square")
    depth = inner.quantity("bend_depth", "length", required=False)
    fillet = inner.quantity("fillet", "length", required=False, above=None, least=0.0)
    edge = inner.quantity("edge_thickness", "length", required=False)
    radius = inner.quantity("edge_radius", "length", required=False, above=None, least=0.0)
    support = inner.whole_number("support_eyes", 0, least=0, most=1)
    eye = _read_eye(inner, strip, thickness)
    inner.close()
    if None in (height, passes, strip, gap, thickness, eyes, eye):
        return None
    assert height and passes and strip and gap and thickness and eyes and eye and bend
    curbs = (bend, depth, fillet or 0.0, edge, radius or 0.0, support or 0)
    return inner.attempt("", lambda: Zigzag(height, passes, strip, gap, thickness, eye, eyes, *curbs))


def _read_eye(part: Part, strip_width_m: float | None, thickness_m: float | None) -> Eye | None:
    if not part.has("eye"):
        return None if strip_width_m is None or thickness_m is None else usual_eye(strip_width_m, thickness_m)
    inner = part.table("eye")
    if inner is None:
        return None
    diameter = inner.quantity("diameter", "length", example="30 mm", least=SMALLEST_M, most=LARGEST_M)
    hole = inner.quantity("hole", "length", example="14 mm", least=SMALLEST_M, most=LARGEST_M)
    reach = inner.quantity("reach", "length", example="25 mm", least=SMALLEST_M, most=LARGEST_M)
    offset = inner.quantity("offset", "offset", required=False, above=None)
    fillet = inner.quantity("fillet", "length", required=False, above=None, least=0.0)
    inner.close()
    if diameter is None or hole is None or reach is None:
        return None
    return inner.attempt("", lambda: Eye(diameter, hole, reach, offset or 0.0, fillet or 0.0))


def _width_range(part: Part, shape: Zigzag | None) -> tuple[float, float] | None:
    """``may_vary = { strip_width = "7 mm to 9 mm" }``: the width that may be ordered."""
    inner = part.table("may_vary")
    if inner is None:
        return None
    figure = inner.figure("strip_width", "length", example="7 mm to 9 mm", above=0.0)
    inner.close()
    if figure is None or shape is None:
        return None
    pitch = shape.strip_width_m + shape.pass_gap_m
    if figure.high >= pitch:
        inner.complain(
            "strip_width", f"{figure.text} leaves no gap in a pitch of {pitch * 1e3:g} mm", "Lower the upper end."
        )
        return None
    return figure.low, figure.high


def read_boxes(part: Part) -> BoxPlan | None:
    """The ``[boxes]`` table."""
    boxes = part.whole_number("boxes", most=100)
    plates = part.whole_number("plates_per_box", most=500)
    gap = part.quantity("plate_gap", "length", example="1/2 in")
    sides = part.whole_number("tap_sides", 1, most=2)
    joint = part.quantity("joint_resistance", "resistance", required=False, above=None, least=0.0)
    part.close()
    if boxes is None or plates is None or gap is None or sides is None:
        return None
    return BoxPlan(boxes, plates, gap, sides, joint or 0.0)


def read_sections(whole: Part, order: tuple[str, ...], plates: tuple[PlateWish, ...]) -> tuple[SectionGiven, ...]:
    """Every ``[[section]]``: counts that stand already, so nothing is chosen for them."""
    kinds = [plate.name for plate in plates]
    found = tuple(given for part in whole.tables("section") if (given := _read_section(part, order, kinds)) is not None)
    missing = [name for name in order if name not in {given.name for given in found}]
    if found and missing:
        whole.complain(
            "section", f"no counts for section {', '.join(missing)}", "Give all sections their counts, or none."
        )
    return found


def _read_section(part: Part, order: tuple[str, ...], kinds: list[str]) -> SectionGiven | None:
    name = part.choice("name", order) if order else None
    plates = part.whole_number("plates", most=2000)
    in_parallel = part.whole_number("in_parallel", 1, most=4)
    kind = part.choice("kind", kinds, kinds[0] if len(kinds) == 1 else None) if kinds else None
    part.close()
    if name is None or plates is None or in_parallel is None or kind is None:
        return None
    if plates % in_parallel:
        part.complain("plates", f"{plates} plates do not divide into steps of {in_parallel}", "Change one of the two.")
        return None
    return SectionGiven(name, kind, plates // in_parallel, in_parallel)
