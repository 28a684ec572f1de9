"""A drawing board over a DXF document: layers, one dimension style, and every length in metres of the real thing.

What belongs to the paper (letters, arrows, distances of dimension lines) is given in millimetres of paper; the board
knows the scale and converts both into drawing units.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from griddesign.papers import text, typefaces
from griddesign.papers.dxf_library import UNITS_PER_M, LengthUnit, library, new_document, set_extents
from griddesign.papers.marks import MM_PER_PT
from griddesign.papers.scales import Scale

if TYPE_CHECKING:
    from ezdxf.document import Drawing

Point = tuple[float, float]
STYLE = "GRID"
LETTER_MM, LARGE_LETTER_MM = 2.5, 3.5
"""Heights of capitals, from the series of ISO 3098-1."""
LETTER_PT = LETTER_MM / typefaces.CAP_HEIGHT / MM_PER_PT
ARROW_MM = 2.5
_GAP_MM = 0.8
_TEXT_UP_MM = _GAP_MM + LETTER_MM / 2.0  # from a dimension line to the middle of its text
_LAYERS = (  # name, colour index, line weight in 1/100 mm, line type
    ("OUTLINE", 7, 50, "CONTINUOUS"),
    ("SECTION", 7, 50, "CONTINUOUS"),
    ("HATCH", 8, 25, "CONTINUOUS"),
    ("CENTRE", 1, 25, "CHAIN"),
    ("DIMENSION", 5, 25, "CONTINUOUS"),
    ("TEXT", 7, 25, "CONTINUOUS"),
    ("TITLE", 7, 25, "CONTINUOUS"),
    ("TITLE_HEAD", 7, 25, "CONTINUOUS"),
    ("MARK", 6, 50, "CONTINUOUS"),
)


class Board:
    """A document being drawn on."""

    def __init__(self, scale: Scale, unit: LengthUnit) -> None:
        self.scale, self.unit = scale, unit
        self.document: Drawing = new_document("R2010", unit)
        self._add_layers()
        self._add_dimension_style()
        self.space = self.document.modelspace()

    @property
    def paper_m(self) -> float:
        """Metres of the thing that one millimetre of paper stands for."""
        return 0.001 / self.scale.factor

    @property
    def paper_unit(self) -> float:
        """Drawing units that one millimetre of paper stands for."""
        return self.paper_m * UNITS_PER_M[self.unit]

    @property
    def mm_per_unit(self) -> float:
        """Millimetres of paper to one drawing unit."""
        return 1.0 / self.paper_unit

    def units(self, point: Point) -> Point:
        """A point in drawing units."""
        per_m = UNITS_PER_M[self.unit]
        return point[0] * per_m, point[1] * per_m

    def open_on(self, box_m: tuple[float, float, float, float]) -> None:
        """Show the box (left, low, right, high), with room round it, when the file is opened."""
        left, low, right, high = box_m
        middle = self.units(((left + right) / 2.0, (low + high) / 2.0))
        set_extents(self.document, (*self.units((left, low)), *self.units((right, high))))
        self.document.set_modelspace_vport(height=1.6 * (high - low) * UNITS_PER_M[self.unit], center=middle)

    def line(self, start: Point, end: Point, layer: str) -> None:
        """A straight line."""
        self.space.add_line(self.units(start), self.units(end), dxfattribs={"layer": layer})

    def circle(self, centre: Point, radius_m: float, layer: str) -> None:
        """A circle."""
        self.space.add_circle(self.units(centre), radius_m * UNITS_PER_M[self.unit], dxfattribs={"layer": layer})

    def loop(self, points: list[tuple[float, float, float]], layer: str) -> Any:
        """A closed polyline of x, y and bulge (the tangent of a quarter of the turn to the next point)."""
        per_m = UNITS_PER_M[self.unit]
        vertices = [(x * per_m, y * per_m, bulge) for x, y, bulge in points]
        return self.space.add_lwpolyline(vertices, format="xyb", close=True, dxfattribs={"layer": layer})

    def words(
        self, at: Point, words: str, *, height_mm: float = LETTER_MM, layer: str = "TEXT", align: str = "LEFT"
    ) -> None:
        """One line of text, printed as it is: the DXF's own codes are taken apart."""
        from ezdxf.enums import TextEntityAlignment

        attributes = {"layer": layer, "style": STYLE, "height": height_mm * self.paper_unit}
        entity = self.space.add_text(plain(words), dxfattribs=attributes)
        entity.set_placement(self.units(at), align=TextEntityAlignment[align])

    def paragraph(self, at: Point, words: str, room_mm: float, *, height_mm: float = LETTER_MM) -> float:
        """Text wrapped to ``room_mm`` of paper, downwards from ``at``; returns the height used, metres."""
        size_pt = height_mm / typefaces.CAP_HEIGHT / MM_PER_PT
        step = 1.6 * height_mm * self.paper_m
        lines = text.wrap(words, room_mm, size_pt)
        for number, line in enumerate(lines):
            self.words((at[0], at[1] - number * step - height_mm * self.paper_m), line, height_mm=height_mm)
        return len(lines) * step

    def across(self, start: Point, end: Point, at_y_m: float, look: "Look") -> None:
        """A horizontal dimension from ``start`` (left) to ``end`` with its line at height ``at_y_m``; text longer than
        the line stands right of it."""
        middle = self._text_middle(start[0], end[0], look)
        self._linear((start, end), (start[0], at_y_m), 0.0, (middle, at_y_m + _TEXT_UP_MM * self.paper_m), look)

    def upright(self, start: Point, end: Point, at_x_m: float, look: "Look") -> None:
        """A vertical dimension from ``start`` (lower) to ``end`` with its line at ``at_x_m``; text longer than the line
        stands above it."""
        middle = self._text_middle(start[1], end[1], look)
        self._linear((start, end), (at_x_m, start[1]), 90.0, (at_x_m - _TEXT_UP_MM * self.paper_m, middle), look)

    def _text_middle(self, start_m: float, end_m: float, look: "Look") -> float:
        """Where along its line a dimension's text has its middle."""
        words = f"{look.before}{length_words((end_m - start_m) / look.enlarged, self.unit)}{look.after}"
        wide_m = text.width_mm(words, LETTER_PT) * self.paper_m
        if look.always_middle or end_m - start_m > wide_m + _GAP_MM * self.paper_m:
            return (start_m + end_m) / 2.0
        return end_m + (2.0 * ARROW_MM + 0.5) * self.paper_m + wide_m / 2.0

    def _linear(self, ends: tuple[Point, Point], base: Point, angle: float, text_at: Point, look: "Look") -> None:
        dimension = self.space.add_linear_dim(
            base=self.units(base),
            p1=self.units(ends[0]),
            p2=self.units(ends[1]),
            angle=angle,
            location=self.units(text_at),
            dimstyle=STYLE,
            override=look.override(),
            dxfattribs={"layer": "DIMENSION"},
        )
        dimension.render()

    def leader(self, centre: Point, radius_m: float, elbow: Point, before: str, length_m: float) -> None:
        """A line from the rim of a circle to an elbow and on to the left, a diameter written on it."""
        dx, dy = elbow[0] - centre[0], elbow[1] - centre[1]
        away = (dx * dx + dy * dy) ** 0.5
        rim = (centre[0] + dx / away * radius_m, centre[1] + dy / away * radius_m)
        words = f"{before}{length_words(length_m, self.unit)}"
        long = (text.width_mm(words, LETTER_PT) + 1.0) * self.paper_m
        end = (elbow[0] - long, elbow[1])
        points = [self.units(point) for point in (rim, elbow, end)]
        self.space.add_lwpolyline(points, dxfattribs={"layer": "DIMENSION"})
        self._arrow_head(rim, (dx / away, dy / away), "DIMENSION")
        self.words((end[0] + 0.5 * self.paper_m, end[1] + 0.8 * self.paper_m), words, layer="DIMENSION")

    def _arrow_head(self, tip: Point, back: Point, layer: str, long_mm: float = ARROW_MM) -> None:
        """A filled head at ``tip``; ``back`` is the unit direction towards its tail."""
        long, half = long_mm * self.paper_m, long_mm * self.paper_m / 6.0
        foot = (tip[0] + back[0] * long, tip[1] + back[1] * long)
        sides = [
            (foot[0] - back[1] * half, foot[1] + back[0] * half),
            (foot[0] + back[1] * half, foot[1] - back[0] * half),
        ]
        corners = [self.units(point) for point in (tip, *sides)]
        self.space.add_solid([*corners, corners[-1]], dxfattribs={"layer": layer})

    def dot_and_arrow(self, at: Point, long_mm: float) -> None:
        """The paint dot to count from, and an arrow up from it."""
        radius, long = 1.2 * self.paper_m, long_mm * self.paper_m
        hatch = self.space.add_hatch(color=256, dxfattribs={"layer": "MARK"})
        (x, y), r = self.units(at), radius * UNITS_PER_M[self.unit]
        hatch.paths.add_polyline_path([(x - r, y, 1.0), (x + r, y, 1.0)], is_closed=True)
        top = (at[0], at[1] + long)
        self.line(at, top, "MARK")
        self._arrow_head(top, (0.0, -1.0), "MARK", 3.0)

    def projection_symbol(self, at: Point, *, third: bool, layer: str = "TEXT") -> None:
        """The sign of ISO 5456-2: a cut cone, thin end left, and its view from the left, which the first angle puts on
        the right and the third angle on the left. ``at`` is the left end of the axis."""
        mm, (x, y) = self.paper_m, at
        cone, rings = (x + 11.0 * mm, x + 4.5 * mm) if third else (x + 2.0 * mm, x + 13.5 * mm)
        for radius_mm in (1.5, 3.0):
            self.circle((rings, y), radius_mm * mm, layer)
        corners = ((cone, 1.5), (cone, -1.5), (cone + 6.0 * mm, -3.0), (cone + 6.0 * mm, 3.0))
        self.loop([(corner_x, y + up * mm, 0.0) for corner_x, up in corners], layer)
        for start, end in (((x, y), (x + 18.0 * mm, y)), ((rings, y - 4.0 * mm), (rings, y + 4.0 * mm))):
            self.space.add_line(self.units(start), self.units(end), dxfattribs={"layer": layer, "linetype": "CHAIN"})

    def hatch(self, ring: Any) -> None:
        """Thin slanting lines inside a closed polyline, about 2 mm apart on paper."""
        hatch = self.space.add_hatch(color=256, dxfattribs={"layer": "HATCH"})
        hatch.set_pattern_fill("ANSI31", scale=_HATCH_MM * self.paper_unit / _ANSI31_APART[self.unit])
        hatch.paths.add_polyline_path([(x, y, b) for x, y, _, _, b in ring.get_points()], is_closed=True)

    def _add_layers(self) -> None:
        self.document.styles.new(STYLE, dxfattribs={"font": f"{typefaces.REGULAR}.ttf"})
        long, gap, dot = (length * self.paper_unit for length in (6.0, 1.2, 0.6))
        self.document.linetypes.add("CHAIN", [long + 2 * gap + dot, long, -gap, dot, -gap], description="centre line")
        for name, colour, weight, line_type in _LAYERS:
            self.document.layers.add(name, color=colour, lineweight=weight, linetype=line_type)

    def _add_dimension_style(self) -> None:
        ezdxf = library()
        style = ezdxf.setup_dimstyle(
            self.document, fmt="EZ_MM_1_H25_MM", style=STYLE, blk=ezdxf.ARROWS.closed_filled, name=STYLE
        )
        mm = self.paper_unit
        style.dxf.dimtxt, style.dxf.dimasz, style.dxf.dimgap = LETTER_MM * mm, ARROW_MM * mm, _GAP_MM * mm
        style.dxf.dimexe, style.dxf.dimexo, style.dxf.dimdle = 1.5 * mm, 1.0 * mm, 0.0
        style.dxf.dimlfac, style.dxf.dimscale, style.dxf.dimtfac = 1.0, 1.0, 1.0
        style.dxf.dimdec, style.dxf.dimzin = _DECIMALS[self.unit], _ZEROS[self.unit]
        style.dxf.dimclrd = style.dxf.dimclre = style.dxf.dimclrt = 256  # by layer
        style.dxf.dimlwd = style.dxf.dimlwe = 25
        self.document.header["$DIMSTYLE"] = STYLE


_HATCH_MM = 1.8
_ANSI31_APART: dict[LengthUnit, float] = {"mm": 3.175, "inch": 0.125}  # the pattern's own distance of lines
_DECIMALS: dict[LengthUnit, int] = {"mm": 2, "inch": 3}
_ZEROS: dict[LengthUnit, int] = {
    "mm": 8,
    "inch": 4,
}  # mm: no trailing zeros; inch: no leading one, as ISO and ASME write


@dataclass(frozen=True, slots=True)
class Look:
    """How a dimension reads: words before and after the measured number, for a detail drawn larger than the view how
    many times larger, and whether the text keeps to the middle even where it is longer than the line.

    A tolerance goes into ``after``: the library places its own tolerance text without having measured it.
    """

    before: str = ""
    after: str = ""
    enlarged: float = 1.0
    always_middle: bool = False

    def override(self) -> dict[str, Any]:
        """The dimension's own departures from the style."""
        wording = {"dimpost": f"{self.before}<>{self.after}"} if self.before or self.after else {}
        return {"dimlfac": 1.0 / self.enlarged, **wording}


def plain(words: str) -> str:
    """Words as a text of a DXF prints them: one line, the DXF's own codes taken apart."""
    return text.clean(words).replace("\n", " ").replace("%%", "% %").replace("\\", "/")


def length_words(length_m: float, unit: LengthUnit) -> str:
    """A length as the drawing writes it, without its unit: ``7.2``, ``.283``."""
    number = f"{length_m * UNITS_PER_M[unit]:.{_DECIMALS[unit]}f}"
    return number.rstrip("0").rstrip(".") if unit == "mm" else number.removeprefix("0")
