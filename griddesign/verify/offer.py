"""The claim as it is worked on: its figures as spans at 20 degC, its tolerances, the geometry of its plates."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from griddesign.figures import WEAK
from griddesign.job.claim_records import Claim, Claimed, ClaimedPlate
from griddesign.job.records import Job
from griddesign.metals import Metal
from griddesign.plate.bends import plate_squares
from griddesign.plate.ohms import surface_m2
from griddesign.plate.shapes import Zigzag
from griddesign.plate.zigzag import outline_of
from griddesign.verify.points import Allowed
from griddesign.verify.spans import SAME_SHARE, Cold, Span, cold

_READ_HOT_C = 400.0


@dataclass(frozen=True, slots=True)
class Geometry:
    """One plate by its sizes: ``squares_per_m`` (squares over thickness, 1/m), ``volume_m3`` of its metal, squares
    times area, on which ohms times mass hang whatever the thickness, and its envelope for the heat, m and m2."""

    words: str
    squares_per_m: Span
    volume_m3: Span
    squares_area_m2: Span
    height_m: float
    depth_m: float
    thickness_m: float
    surface_m2: float


@dataclass(frozen=True)
class Offer:
    """A claim on a job."""

    job: Job
    claim: Claim

    @property
    def units(self) -> str:
        """The family of units that findings are told in, as the papers are."""
        return self.job.paper.units

    def allowed(self, claimed: Claimed) -> Allowed:
        """The tolerance of a claimed figure: its own, that of the whole claim, else the job's notch tolerance."""
        if claimed.tolerance is not None:
            return Allowed(claimed.tolerance, "claimed for it")
        if self.claim.tolerance is not None:
            return Allowed(self.claim.tolerance, "claimed for all")
        return Allowed(self.job.limits.notch_tolerance, "the job's notch tolerance")

    def cold(self, claimed: Claimed, metal: Metal | None) -> Cold:
        """Claimed ohms at 20 degC."""
        limit = self.job.limits.plate_c
        hottest_c = limit if limit is not None else metal.limit_c.value if metal else _READ_HOT_C
        return cold(claimed, metal, self.claim.ohms_at_c, hottest_c)

    @cached_property
    def geometries(self) -> dict[str, tuple[Geometry, ...]]:
        """Of every plate kind: by its dimensions, by its outline, as far as the claim gives them."""
        return {plate.name: tuple(self._geometries(plate)) for plate in self.claim.plates}

    def _geometries(self, plate: ClaimedPlate) -> Iterator[Geometry]:
        if plate.shape is not None:
            yield self._by_dimensions(plate, plate.shape)
        if plate.outline is not None and (plate.thickness is not None or plate.shape is not None):
            yield _by_outline(plate)

    def _by_dimensions(self, plate: ClaimedPlate, shape: Zigzag) -> Geometry:
        """Each dimension that is not sure is set to its ends alone; what they move adds up."""
        found = _of_shape(shape)
        keys = [key for key in self.claim.figures if key.startswith(f"plate.{plate.name}.shape.")]
        for key in keys:
            figure = self.claim.figures[key]
            if figure.weak:
                ends = [_of_shape(self._shape_at(plate.name, key, end)) for end in ("low", "high")]
                names = (key,) if figure.status in WEAK else ()
                found = replace(
                    found,
                    squares_per_m=_wider(found.squares_per_m, [one.squares_per_m for one in ends], names),
                    volume_m3=_wider(found.volume_m3, [one.volume_m3 for one in ends], names),
                    squares_area_m2=_wider(found.squares_area_m2, [one.squares_area_m2 for one in ends], names),
                )
        return found

    def _shape_at(self, name: str, key: str, end: str) -> Zigzag:
        assert self.claim.rebuild is not None
        plate = self.claim.rebuild({key: self.claim.figures[key].pinned(end)}).plate(name)
        assert plate is not None and plate.shape is not None
        return plate.shape


def _wider(span: Span, ends: list[Span], names: tuple[str, ...]) -> Span:
    """The span with what the ends of one figure move added to its own; one they do not move does not rest on it."""
    low = min(end.value for end in ends) - span.value
    high = max(end.value for end in ends) - span.value
    moved = replace(span, low=span.low + min(low, 0.0), high=span.high + max(high, 0.0))
    return moved.resting_on(*names) if high - low > SAME_SHARE * span.value else moved


def _of_shape(shape: Zigzag) -> Geometry:
    squares, outline, thickness_m = plate_squares(shape), outline_of(shape), shape.effective_thickness_m
    return Geometry(
        "its dimensions",
        Span(squares.value, squares.low, squares.high).times(1.0 / thickness_m),
        Span.exact(outline.area_m2 * thickness_m),
        Span(squares.value, squares.low, squares.high).times(outline.area_m2),
        shape.height_m,
        shape.width_m,
        thickness_m,
        surface_m2(shape, outline),
    )


def _by_outline(plate: ClaimedPlate) -> Geometry:
    """The drawing, solved by the field; its thickness from the claim. Raises InputError, GeometryError."""
    from griddesign.plate.field import domain_of_outline, solved
    from griddesign.plate.foreign import read_dxf

    assert plate.outline is not None
    given = plate.outline
    outline = read_dxf(given.path, units=given.units, terminals=given.terminals).outline
    bracket = solved(domain_of_outline(outline, given.washer_m and given.washer_m / 2), 1e-3).bracket
    thickness = _thickness(plate)
    x_low, y_low, x_high, y_high = outline.bounding_box_m
    rim_m = outline.outer.perimeter_m
    return Geometry(
        f"the drawing {given.path.name}",
        Span(bracket.value, bracket.low, bracket.high) / thickness,
        thickness.times(outline.area_m2),
        Span(bracket.value, bracket.low, bracket.high).times(outline.area_m2),
        y_high - y_low,
        x_high - x_low,
        thickness.value,
        2 * outline.area_m2 + thickness.value * rim_m,
    )


def _thickness(plate: ClaimedPlate) -> Span:
    if plate.thickness is not None:
        return Span.of(plate.thickness.figure, plate.thickness.key)
    assert plate.shape is not None
    return Span.exact(plate.shape.effective_thickness_m)
