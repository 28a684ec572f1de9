"""The dimensioned drawing of one plate, made once as a DXF document; the page shows that document.

FIT dimensions carry a tolerance and are checked with a rule; the OHM dimension (strip width) carries the sign Ω and is
accepted by the plate's ohms; dimensions in brackets follow from others. Nothing is dimensioned twice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from griddesign.errors import OutputError
from griddesign.papers import plate_section, tolerances
from griddesign.papers.bounds import clashes
from griddesign.papers.dxf_board import LARGE_LETTER_MM, LETTER_MM, Board, Look, Point, length_words
from griddesign.papers.dxf_library import UNIT_WORDS, LengthUnit, dxf_bytes
from griddesign.papers.dxf_picture import picture_of
from griddesign.papers.marks import Picture
from griddesign.papers.scales import STANDARD, Scale
from griddesign.papers.tolerances import MadeBy
from griddesign.plate.outline import Arc, Circle, Loop, Outline
from griddesign.plate.shapes import Zigzag

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_ROW_MM = 7.5  # between dimension lines, and from the outline to the first
_RIGHT_MM = 16.0  # kept free right of the plate for vertical dimensions
_NARROWEST_NOTES_MM = 44.0
_LEADER_MM = 30.0  # what a diameter on its leader takes left of an eye
_ROOM_MM = (180.0, 188.0)
_MADE_WORDS: dict[MadeBy, str] = {
    "cast": "cast",
    "laser": "cut by laser",
    "waterjet": "cut by water jet",
    "plasma": "cut by plasma",
    "stamped": "stamped",
}


@dataclass(frozen=True, slots=True)
class PlateOrder:
    """What the drawing has to say besides the shape. ``tolerance_m`` replaces the class of the making process;
    ``outline_is`` says what the outline is to cutter or foundry."""

    name: str
    metal: str
    made_by: MadeBy
    job_title: str
    revision: str
    fingerprint: str
    unit: LengthUnit = "mm"
    projection: Literal["first angle", "third angle"] = "first angle"
    tolerance_m: float | None = None
    warnings: tuple[str, ...] = ()
    outline_is: str = ""


@dataclass(frozen=True, slots=True)
class PlateDrawing:
    """The drawing as made: document, scale, and the document as a picture for the page."""

    document: "Drawing"
    scale: Scale
    picture: Picture

    def dxf(self) -> bytes:
        """The document as the bytes of its ``_drawing.dxf``."""
        return dxf_bytes(self.document)


def draw_plate(
    outline: Outline, shape: Zigzag, order: PlateOrder, room_mm: tuple[float, float] = _ROOM_MM
) -> PlateDrawing:
    """The drawing at the largest standard scale that fits ``room_mm`` (wide, high) of paper with no text over another.

    A plate so narrow that its texts meet at every scale is drawn where the fewest do. Raises OutputError where no
    standard scale fits.
    """
    best: tuple[int, PlateDrawing] | None = None
    for scale, notes_beside in _worth_trying(outline, room_mm):
        board = Board(scale, order.unit)
        _Plate(board, outline, shape, order, room_mm[0], notes_beside).draw()
        picture = picture_of(board.document, board.mm_per_unit)
        if picture.width_mm > room_mm[0] or picture.height_mm > room_mm[1]:
            continue
        met = len(clashes(picture.marks))
        if best is None or met < best[0]:
            best = met, PlateDrawing(board.document, scale, picture)
        if met == 0:
            break
    if best is None:
        raise OutputError(
            f"the drawing of plate {order.name} fits {room_mm[0]:.0f} x {room_mm[1]:.0f} mm at no standard scale",
            hint="Check height, passes and pitch: a plate this long and narrow is hardly meant.",
        )
    return best[1]


def _worth_trying(outline: Outline, room_mm: tuple[float, float]) -> Iterator[tuple[Scale, bool]]:
    """Scales, largest first, with the notes beside the plate and below it, whose view leaves room for the rest."""
    left, low, right, high = outline.bounding_box_m
    for scale in STANDARD:
        wide, tall = (1000.0 * scale.factor * length for length in (right - left, high - low))
        for notes_beside in (True, False):
            beside = _NARROWEST_NOTES_MM if notes_beside else 0.0
            below = 0.0 if notes_beside else 3 * _ROW_MM
            if wide + _ROW_MM + _RIGHT_MM + beside <= room_mm[0] and tall + 2 * _ROW_MM + below <= room_mm[1]:
                yield scale, notes_beside


@dataclass
class _Plate:
    """One plate going onto one board."""

    board: Board
    outline: Outline
    shape: Zigzag
    order: PlateOrder
    room_wide_mm: float
    notes_beside: bool

    def draw(self) -> None:
        self._outline()
        self._centre_lines()
        self._across()
        self._upright()
        self._eyes()
        self._start_mark()
        self._section_and_notes()
        self.board.open_on(self._box)

    # --- lengths ---

    @property
    def _mm(self) -> float:
        return self.board.paper_m

    @property
    def _box(self) -> tuple[float, float, float, float]:
        return self.outline.bounding_box_m

    @property
    def _one_edge(self) -> bool:
        return self.shape.eyes == "one edge"

    def _fit(self, length_m: float, before: str = "") -> Look:
        half = self.order.tolerance_m
        half = tolerances.half_width_m(length_m, self.order.made_by) if half is None else half
        after = "" if half is None else f" ±{length_words(half, self.order.unit)}"
        return Look(before, after)

    # --- the view ---

    def _outline(self) -> None:
        _draw_loop(self.board, self.outline.outer)
        for hole in self.outline.holes:
            if isinstance(hole, Circle):
                self.board.circle(hole.centre, hole.radius_m, "OUTLINE")
            else:
                _draw_loop(self.board, hole)

    def _centre_lines(self) -> None:
        """Crosses over the eyes, and the centre lines of the first and last pass, between which pitches are counted."""
        reach = self.shape.eye.radius_m + 3.0 * self._mm
        for mark in self.outline.marks:
            x, y = mark.at
            self.board.line((x - reach, y), (x + reach, y), "CENTRE")
            self.board.line((x, y - reach), (x, y + reach), "CENTRE")
        over = 3.0 * self._mm
        for x in self._end_passes():
            self.board.line((x, -over), (x, self.shape.height_m + over), "CENTRE")

    def _end_passes(self) -> tuple[float, float]:
        first = self.shape.strip_width_m / 2.0
        return first, first + (self.shape.passes - 1) * self.shape.pitch_m

    def _across(self) -> None:
        """Below: passes times pitch between the centre lines; above: the overall width in brackets."""
        shape, (_, low, _, high) = self.shape, self._box
        first, last = self._end_passes()
        gaps = shape.passes - 1
        span = f"{gaps} × {length_words(shape.pitch_m, self.order.unit)} = "
        base = low - _ROW_MM * self._mm
        self.board.across((first, 0.0), (last, 0.0), base, self._fit(last - first, span))
        top = high + _ROW_MM * self._mm
        self.board.across((0.0, shape.height_m), (shape.width_m, shape.height_m), top, Look("(", ")"))
        if shape.eye.offset_m:
            self._eye_offset(base)

    def _eye_offset(self, base: float) -> None:
        """How far the eyes stand off the centre lines of the end passes."""
        (first, _), (x, y) = self._end_passes(), self.outline.marks[0].at
        base -= _ROW_MM * self._mm
        self.board.across((min(first, x), y), (max(first, x), y), base, self._fit(abs(x - first)))

    def _upright(self) -> None:
        """Left: height over the return bends; right: eye centre to eye centre, or from the edge to the eyes."""
        shape, (left, _, right, _) = self.shape, self._box
        at = left - _ROW_MM * self._mm
        self.board.upright((0.0, 0.0), (0.0, shape.height_m), at, self._fit(shape.height_m))
        first, last = self._terminal_eyes()
        at = right + _ROW_MM * self._mm
        if self._one_edge:
            self.board.upright(last, (last[0], 0.0), at, self._fit(shape.eye.reach_m))
        else:
            self.board.upright(first, last, at, self._fit(last[1] - first[1]))

    def _terminal_eyes(self) -> tuple[Point, Point]:
        at = {mark.name: mark.at for mark in self.outline.marks}
        return at["first eye"], at["last eye"]

    @property
    def _narrow(self) -> bool:
        """Whether the strip of paper left of the last eye is too short for a leader."""
        first, last = self._terminal_eyes()
        leaders = 2 if self.shape.support_eyes else 1
        return (last[0] - first[0]) < self.shape.eye.diameter_m + leaders * _LEADER_MM * self._mm

    def _eyes(self) -> None:
        """Ring and hole of one eye; the count says how many are alike. The leaders run left, into the free strip beside
        the last eye where the plate is wide enough, else out past the first."""
        shape, radius, mm = self.shape, self.shape.eye.radius_m, self._mm
        first, last = self._terminal_eyes()
        x, y = first if self._narrow else last
        out = -1.0 if y < 0.0 else 1.0
        alike = f"{len(self.outline.marks)} × Ø"
        elbow_x = x - radius - 4.0 * mm
        for on_m, length_m, up_mm in (
            (shape.eye.hole_m / 2.0, shape.eye.hole_m, 0.0),
            (radius, shape.eye.diameter_m, 5.5),
        ):
            elbow = (elbow_x, y + (out * up_mm - 1.0) * mm)
            self.board.leader((x, y), on_m, elbow, alike, length_m)

    def _start_mark(self) -> None:
        """The dot at the eye the strip is counted from, and the arrow along the first pass."""
        x, y = self.shape.strip_width_m / 2.0, self.shape.height_m / 3.0
        self.board.dot_and_arrow((x, y), 9.0)

    # --- beside and below the view ---

    def _section_and_notes(self) -> None:
        """Beside the view: section above, notes under it. Below the view: notes left, section right."""
        left, low, right, high = self._box
        left -= (_LEADER_MM if self._narrow else _ROW_MM + LETTER_MM + 2.0) * self._mm
        if self.notes_beside:
            start = right + _RIGHT_MM * self._mm
            foot = plate_section.draw_section(self.board, self.shape, (start, high))
            self._notes((start, foot - 6.0 * self._mm), self.room_wide_mm - (start - left) / self._mm - 1.0)
            return
        rows = 2.0 if self.shape.eye.offset_m else 1.0
        top = low - (rows * _ROW_MM + 7.0) * self._mm
        notes_wide = self.room_wide_mm - plate_section.WIDE_MM - 6.0
        self._notes((left, top), notes_wide)
        plate_section.draw_section(self.board, self.shape, (left + (notes_wide + 5.0) * self._mm, top))

    def _notes(self, at: Point, room_mm: float) -> None:
        x, y = at
        for words, height in _note_lines(self.shape, self.order, self.board.scale):
            y -= self.board.paragraph((x, y), words, room_mm, height_mm=height) + 1.2 * self._mm
        self.board.projection_symbol((x, y - 5.0 * self._mm), third=self.order.projection == "third angle")


def _note_lines(shape: Zigzag, order: PlateOrder, scale: Scale) -> Iterator[tuple[str, float]]:
    unit = order.unit
    yield f"Plate {order.name}: {order.metal}, {_MADE_WORDS[order.made_by]}", LARGE_LETTER_MM
    yield f"Scale {scale}. Dimensions in {UNIT_WORDS[unit]}, {order.projection} projection.", LETTER_MM
    yield f"{order.job_title}, revision {order.revision}, fingerprint {order.fingerprint}", LETTER_MM
    yield f"Tolerances where not given: {tolerances.class_name(order.made_by)}.", LETTER_MM
    if order.outline_is:
        yield order.outline_is, LETTER_MM
    yield "Ω: not held by a tolerance; the plate is accepted by its ohms at 20 °C.", LETTER_MM
    bends = "full round" if shape.bend == "round" else _square_bend_words(shape, unit)
    fillet = f", neck of eye R {length_words(shape.eye.fillet_m, unit)}" if shape.eye.fillet_m else ""
    yield f"Return bends {bends}{fillet}.", LETTER_MM
    yield "( ): follows from others, not checked. Dot: first pass, counted from here.", LETTER_MM
    for warning in order.warnings:
        yield warning, LETTER_MM


def _square_bend_words(shape: Zigzag, unit: LengthUnit) -> str:
    corners = f"inner corners R {length_words(shape.fillet_m, unit)}" if shape.fillet_m else "inner corners sharp"
    return f"{length_words(shape.bar_m, unit)} deep, {corners}"


def _draw_loop(board: Board, loop: Loop) -> None:
    """A loop as one closed polyline; arcs keep their curvature as bulges."""
    from math import tan

    points = [
        (*segment.start, tan(segment.turn_rad / 4.0) if isinstance(segment, Arc) else 0.0) for segment in loop.segments
    ]
    board.loop(points, "OUTLINE")
