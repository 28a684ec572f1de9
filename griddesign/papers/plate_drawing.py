"""The dimensioned drawing of one plate, made once as a DXF document; the page shows that document.

FIT dimensions carry a tolerance and are checked with a rule; OHM dimensions (strip width, depth of the bends) carry the
sign Ω and are accepted by the plate's ohms; dimensions in brackets follow from others. Nothing is dimensioned twice:
the holes stand in their table alone, counted from the first of them.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING, Literal

from griddesign.errors import OutputError
from griddesign.papers import hole_table, plate_section, tolerances
from griddesign.papers.bounds import clashes
from griddesign.papers.cold import cold
from griddesign.papers.dxf_board import LETTER_MM, Board, Look, Point, length_words
from griddesign.papers.dxf_library import UNIT_WORDS, LengthUnit, dxf_bytes
from griddesign.papers.dxf_picture import Rendered, rendered
from griddesign.papers.marks import Picture
from griddesign.papers.scales import Scale, scales_of
from griddesign.papers.title_block import HEAD_LAYER as TITLE_HEAD
from griddesign.papers.title_block import LAYER as TITLE
from griddesign.papers.title_block import block_high_mm, draw_block, head_fields, title_fields
from griddesign.plate.outline import Arc, Circle, Loop, Outline
from griddesign.plate.process import MadeBy
from griddesign.plate.shapes import Zigzag

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_ROW_MM = 6.5  # between dimension lines, and from the outline to the first
_RIGHT_MM = 16.0  # kept free right of the plate for vertical dimensions
_NARROWEST_NOTES_MM = 46.0
_LEADER_MM = 30.0  # what a diameter on its leader takes left of an eye
_ROOM_MM = (180.0, 188.0)
_HEAD_GAP_MM, _HEAD_ROW_MM = 2.0, 12.0  # above the head of the title block; what it takes as one row


@dataclass(frozen=True, slots=True)
class PlateOrder:
    """What the drawing has to say besides the shape. ``tolerance_m`` replaces the class of the making process;
    ``outline_is`` says what the outline is to cutter or foundry; ``thickness_tolerance_m`` is plus and minus on the
    strip's thickness. Empty fields of the title block are blanks to be filled in by hand."""

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
    thickness_tolerance_m: float | None = None
    designation: str = ""
    number: str = ""
    owner: str = ""
    drawn_by: str = ""
    approved_by: str = ""


@dataclass(frozen=True, slots=True)
class PlateDrawing:
    """The drawing as made: document, scale, and the document as pictures for the page: the view with its section and
    what identifies it, and the rest of the title block."""

    document: "Drawing"
    scale: Scale
    picture: Picture
    title: Picture

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
    best: tuple[int, Board, Rendered] | None = None
    for scale, notes_beside, headed in _worth_trying(outline, room_mm, order.unit):
        board = Board(scale, order.unit)
        _Plate(board, outline, shape, order, room_mm[0], notes_beside, headed).draw()
        seen = rendered(board.document, board.mm_per_unit)
        picture = seen.picture(without=TITLE)
        if picture.width_mm > room_mm[0] or picture.height_mm > room_mm[1]:
            continue
        met = len(clashes(picture.marks))
        if best is None or met < best[0]:
            best = met, board, seen
        if met == 0:
            break
    if best is None:
        raise OutputError(
            f"the drawing of plate {order.name} fits {room_mm[0]:.0f} x {room_mm[1]:.0f} mm at no standard scale",
            hint="Check height, passes and pitch: a plate this long and narrow is hardly meant.",
        )
    _, board, seen = best
    shows = f"Plate {order.name}, dimensioned view with section and table of holes, scale {board.scale}"
    view = replace(seen.picture(without=TITLE), shows=shows)
    return PlateDrawing(board.document, board.scale, view, seen.picture(only=TITLE))


def _worth_trying(
    outline: Outline, room_mm: tuple[float, float], unit: LengthUnit
) -> Iterator[tuple[Scale, bool, bool]]:
    """Scales, largest first, with the notes beside the plate and below it, whose view leaves room for the rest; with
    the head of the title block, then with a line of the notes in its place."""
    left, low, right, high = outline.bounding_box_m
    for scale in scales_of(unit):
        wide, tall = (1000.0 * scale.factor * length for length in (right - left, high - low))
        for headed, notes_beside in product((True, False), repeat=2):
            beside = _NARROWEST_NOTES_MM if notes_beside else 0.0
            below = 0.0 if notes_beside else 3 * _ROW_MM
            if wide + _ROW_MM + _RIGHT_MM + beside <= room_mm[0] and tall + 2 * _ROW_MM + below <= room_mm[1]:
                yield scale, notes_beside, headed


@dataclass(frozen=True, slots=True)
class _Plate:
    """One plate going onto one board."""

    board: Board
    outline: Outline
    shape: Zigzag
    order: PlateOrder
    room_wide_mm: float
    notes_beside: bool
    headed: bool

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
        half = self._half_width_m(length_m)
        after = "" if half is None else f" ±{length_words(half, self.order.unit)}"
        return Look(before, after)

    def _half_width_m(self, length_m: float) -> float | None:
        """Plus and minus of a dimension that must fit."""
        if self.order.tolerance_m is not None:
            return self.order.tolerance_m
        return tolerances.half_width_m(length_m, self.order.made_by)

    @property
    def _cored(self) -> bool:
        """Whether holes are held by a casting grade: then they may come out over size and never under, for the rods."""
        return self.order.made_by == "cast" and self.order.tolerance_m is None

    # --- the view ---

    def _outline(self) -> None:
        draw_loop(self.board, self.outline.outer)
        for hole in self.outline.holes:
            if isinstance(hole, Circle):
                self.board.circle(hole.centre, hole.radius_m, "OUTLINE")
            else:
                draw_loop(self.board, hole)

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
        """Where the end passes stand on the holes: passes times pitch below and the overall width above, both following
        from others. Else passes times pitch above, and below how far the eyes stand off the end passes."""
        shape, (_, low, _, high) = self.shape, self._box
        first, last = self._end_passes()
        span = f"{shape.passes - 1} × {length_words(shape.pitch_m, self.order.unit)} = "
        base, top = low - self._lower_row_mm * self._mm, high + _ROW_MM * self._mm
        if shape.eye.offset_m:
            x, y = self.outline.marks[0].at
            self.board.across((first, shape.height_m), (last, shape.height_m), top, self._fit(last - first, span))
            self.board.across((min(first, x), y), (max(first, x), y), base, self._fit(abs(x - first)))
            return
        self.board.across((0.0, shape.height_m), (shape.width_m, shape.height_m), top, Look("(", ")"))
        self.board.across((first, 0.0), (last, 0.0), base, Look(f"({span}", ")"))

    @property
    def _lower_row_mm(self) -> float:
        """From the lowest ink of the plate to the dimension below it; further off where the names of holes that stand
        close would meet its text."""
        return _ROW_MM + (4.0 if self._narrow else 0.0)

    def _upright(self) -> None:
        """From the datum to the plate's lower edge, and the height over the return bends: on the side of the datum the
        one, on the other the other, or the height left where both eyes are below."""
        shape, (left, _, right, _) = self.shape, self._box
        left_at, right_at = left - _ROW_MM * self._mm, right + _ROW_MM * self._mm
        first, last = self._terminal_eyes()
        reach, height = self._fit(shape.eye.reach_m), self._fit(shape.height_m)
        if self._one_edge:
            self.board.upright((0.0, 0.0), (0.0, shape.height_m), left_at, height)
            self.board.upright(last, (last[0], 0.0), right_at, reach)
        else:
            self.board.upright(first, (0.0, 0.0), left_at, reach)
            self.board.upright((shape.width_m, 0.0), (shape.width_m, shape.height_m), right_at, height)

    def _terminal_eyes(self) -> tuple[Point, Point]:
        at = {mark.name: mark.at for mark in self.outline.marks}
        return at["first eye"], at["last eye"]

    @property
    def _narrow(self) -> bool:
        """Whether the strip of paper left of the last eye is too short for a leader."""
        first, last = self._terminal_eyes()
        leaders = 2 if self.shape.support_eyes else 1.2
        return (last[0] - first[0]) < self.shape.eye.diameter_m + leaders * _LEADER_MM * self._mm

    def _eyes(self) -> None:
        """The name of each hole, and the ring of one eye; the count says how many are alike. The leader runs left, into
        the free strip beside the last eye where the plate is wide enough, else out past the first."""
        shape, radius, mm = self.shape, self.shape.eye.radius_m, self._mm
        first, last = self._terminal_eyes()
        x, y = first if self._narrow else last
        out = -1.0 if y < 0.0 else 1.0
        alike = f"{len(self.outline.marks)} × Ø"
        elbow = (x - radius - 4.0 * mm, y + (out * 5.5 - 1.0) * mm)
        self.board.leader((x, y), radius, elbow, alike, shape.eye.diameter_m)
        for number, mark in enumerate(self.outline.marks):
            self._name_hole(mark.at, hole_table.hole_name(number))

    def _name_hole(self, centre: Point, name: str) -> None:
        """The name beyond the ring, beside the centre line: away from the leaders, or from the texts of dimensions."""
        beyond_m = self.shape.eye.radius_m + 0.5 * self._mm
        base = centre[1] - beyond_m - LETTER_MM * self._mm if centre[1] < 0.0 else centre[1] + beyond_m
        side, align = (0.8, "LEFT") if self._narrow else (-0.8, "RIGHT")
        self.board.words((centre[0] + side * self._mm, base), name, layer="DIMENSION", align=align)

    def _start_mark(self) -> None:
        """The dot at the eye the strip is counted from, and the arrow along the first pass."""
        x, y = self.shape.strip_width_m / 2.0, self.shape.height_m / 3.0
        self.board.dot_and_arrow((x, y), 9.0)

    # --- beside and below the view ---

    def _section_and_notes(self) -> None:
        """Beside the view: section above, notes under it. Below the view: notes left, section right. The head of the
        title block stands under notes beside the view where there is room, else under everything."""
        left, low, right, high = self._box
        left -= (_LEADER_MM if self._narrow else _ROW_MM + LETTER_MM + 2.0) * self._mm
        if self.notes_beside:
            start, view_foot = right + _RIGHT_MM * self._mm, low - 2.0 * _ROW_MM * self._mm
            foot = self._section((start, high))
            room_mm = self.room_wide_mm - (start - left) / self._mm - 1.0
            foot = self._notes((start, foot - 3.0 * self._mm), room_mm)
            foot = self._head_beside((start, foot), room_mm, (left, view_foot))
        else:
            top = low - (self._lower_row_mm + 7.0) * self._mm
            notes_wide = self.room_wide_mm - plate_section.WIDE_MM - 8.0
            section = self._section((left + (notes_wide + 5.0) * self._mm, top))
            foot = self._head_below((left, min(self._notes((left, top), notes_wide), section)))
        self._title((left, foot - 10.0 * self._mm))

    def _head_beside(self, under: Point, wide_mm: float, view: Point) -> float:
        """The head under the notes, at the foot of the view (its left end and foot) where there is room; else below
        it. Returns the foot of both."""
        if not self.headed:
            return min(view[1], under[1])
        fields = head_fields(self.order, self.board.scale)
        high = block_high_mm(fields, wide_mm, 1) * self._mm
        top = min(under[1] - _HEAD_GAP_MM * self._mm, view[1] + high)
        if top - high < view[1] - _HEAD_ROW_MM * self._mm:
            return self._head_below((view[0], min(view[1], under[1])))
        return min(view[1], draw_block(self.board, fields, (under[0], top), wide_mm, 1, TITLE_HEAD))

    def _head_below(self, corner: Point) -> float:
        """The head as one row below everything; returns its foot."""
        if not self.headed:
            return corner[1]
        at = (corner[0], corner[1] - _HEAD_GAP_MM * self._mm)
        fields = head_fields(self.order, self.board.scale)
        return draw_block(self.board, fields, at, self.room_wide_mm - 2.0, len(fields), TITLE_HEAD)

    def _section(self, corner: Point) -> float:
        """The section with the table of holes under it; returns the height of the foot."""
        foot = plate_section.draw_section(self.board, self.shape, corner, self.order.thickness_tolerance_m)
        at = (corner[0], foot - 3.0 * self._mm)
        return hole_table.draw_holes(self.board, self.outline, self._half_width_m, at, under=not self._cored)

    def _notes(self, at: Point, room_mm: float) -> float:
        x, y = at
        for words in self._note_lines():
            y -= self.board.paragraph((x, y), words, room_mm) + 1.0 * self._mm
        return y

    def _note_lines(self) -> Iterator[str]:
        order = self.order
        if not self.headed:
            named = f"Drawing {order.number}, s" if order.number else "S"
            yield f"{named}cale {self.board.scale}, {UNIT_WORDS[order.unit]}, {order.projection}."
        yield from _note_lines(self.shape, order)

    def _title(self, at: Point) -> None:
        """The rest of the title block below everything; the page shows it by itself."""
        head = () if self.headed else head_fields(self.order, self.board.scale)
        draw_block(self.board, (*title_fields(self.order), *head), at, _ROOM_MM[0] - 1.0, 4)


def _note_lines(shape: Zigzag, order: PlateOrder) -> Iterator[str]:
    unit = order.unit
    yield f"Ω: not held by a tolerance; the plate is accepted by its ohms at {cold(unit)}."
    bends = "full round" if shape.bend == "round" else _square_bend_words(shape, unit)
    fillet = f", neck of eye R {length_words(shape.eye.fillet_m, unit)}" if shape.eye.fillet_m else ""
    yield f"Return bends {bends}{fillet}."
    if order.made_by == "cast" and order.tolerance_m is None:
        yield "Holes: nothing under size, or the rods do not pass."
    yield "( ): follows from others. Datum: centre of H1. Dot: first pass, counted from here."


def _square_bend_words(shape: Zigzag, unit: LengthUnit) -> str:
    corners = f"inner corners R {length_words(shape.fillet_m, unit)}" if shape.fillet_m else "inner corners sharp"
    return f"Ω {length_words(shape.bar_m, unit)} deep, {corners}"


def draw_loop(board: Board, loop: Loop) -> None:
    """A loop on the layer of outlines as one closed polyline; arcs keep their curvature as bulges."""
    from math import tan

    points = [
        (*segment.start, tan(segment.turn_rad / 4.0) if isinstance(segment, Arc) else 0.0) for segment in loop.segments
    ]
    board.loop(points, "OUTLINE")
