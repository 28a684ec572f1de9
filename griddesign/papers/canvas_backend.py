"""Backend and pipeline for ezdxf's drawing add-on that turn a document into marks: curves stay curves, text stays text.

This module loads ezdxf; it is imported only once a document is to be shown, after ``dxf_library.library()``.
"""

from collections.abc import Iterable
from math import atan2, degrees
from typing import Any

from ezdxf.addons.drawing.backend import Backend
from ezdxf.addons.drawing.pipeline import RenderPipeline2d
from ezdxf.addons.drawing.pipeline import prepare_string_for_rendering as plain
from ezdxf.addons.drawing.unified_text_renderer import UnifiedTextRenderer
from ezdxf.fonts.font_measurements import FontMeasurements

from griddesign.papers import typefaces
from griddesign.papers.marks import MM_PER_PT, Mark, Path, Step, Words

_DOT_MM = 0.35


class MarkBackend(Backend):
    """Takes geometry in drawing units, y up; keeps marks in millimetres, y down, each with its layer."""

    def __init__(self, mm_per_unit: float) -> None:
        super().__init__()
        self.mm_per_unit = mm_per_unit
        self.marks: list[tuple[str, Mark]] = []

    def paper(self, point: Any) -> tuple[float, float]:
        """A point of the drawing on paper, mm."""
        return point.x * self.mm_per_unit, -point.y * self.mm_per_unit

    def steps(self, path: Any) -> Iterable[Step]:
        """A path of the drawing as steps on paper."""
        for part in path.to_path().sub_paths():
            yield "m", self.paper(part.start)
            yield from self._drawn(part)

    def _drawn(self, part: Any) -> Iterable[Step]:
        at = part.start
        for command in part.commands():
            end = command.end
            if command.type.name == "LINE_TO":
                yield "l", self.paper(end)
            elif command.type.name == "CURVE4_TO":
                yield "c", (*self.paper(command.ctrl1), *self.paper(command.ctrl2), *self.paper(end))
            else:  # one control point: the same curve with two, by raising its degree
                one, two = at + (command.ctrl - at) * (2 / 3), end + (command.ctrl - end) * (2 / 3)
                yield "c", (*self.paper(one), *self.paper(two), *self.paper(end))
            at = end

    def _keep(self, properties: Any, mark: Mark) -> None:
        self.marks.append((properties.layer, mark))

    def draw_point(self, pos: Any, properties: Any) -> None:
        """A dot."""
        at = self.paper(pos)
        self._keep(properties, Path((("m", at), ("l", (at[0] + 0.01, at[1]))), max(properties.lineweight, _DOT_MM)))

    def draw_line(self, start: Any, end: Any, properties: Any) -> None:
        """A straight line."""
        self.draw_solid_lines([(start, end)], properties)

    def draw_solid_lines(self, lines: Any, properties: Any) -> None:
        """Straight lines, among them the dashes of broken ones."""
        steps = [step for start, end in lines for step in (("m", self.paper(start)), ("l", self.paper(end)))]
        if steps:
            self._keep(properties, Path(tuple(steps), properties.lineweight))

    def draw_path(self, path: Any, properties: Any) -> None:
        """A line of straight pieces and curves."""
        closing: tuple[Step, ...] = (("z", ()),) if path.is_closed else ()
        self._keep(properties, Path((*self.steps(path), *closing), properties.lineweight))

    def draw_filled_paths(self, paths: Any, properties: Any) -> None:
        """Filled shapes, the holes in them left open."""
        steps = tuple(step for path in paths for step in (*self.steps(path), ("z", ())))
        self._keep(properties, Path(steps, 0.0, fill=0.0))

    def draw_filled_polygon(self, points: Any, properties: Any) -> None:
        """A filled polygon."""
        first, *others = (self.paper(point) for point in points.vertices())
        self._keep(properties, Path((("m", first), *(("l", point) for point in others), ("z", ())), 0.0, fill=0.0))

    def set_background(self, color: Any) -> None:
        """Paper is white."""

    def draw_image(self, image_data: Any, properties: Any) -> None:
        """Our drawings hold no images."""

    def clear(self) -> None:
        """Forget everything drawn."""
        self.marks.clear()


class HouseType(UnifiedTextRenderer):
    """Measures text by the tables the papers are set with: the library would read every glyph's outline for it."""

    def get_font_measurements(self, font_face: Any, cap_height: float = 1.0) -> FontMeasurements:  # noqa: ARG002
        """Heights for capitals ``cap_height`` high; both fonts have the same."""
        size = cap_height / typefaces.CAP_HEIGHT
        return FontMeasurements(0.0, cap_height, size * typefaces.X_HEIGHT, size * typefaces.TAIL)

    def get_text_line_width(self, text: str, font_face: Any, cap_height: float = 1.0) -> float:
        """Width of a line, by the advances of the font."""
        if not text.strip():
            return 0.0
        named = font_face.filename.lower()
        bold = named == typefaces.font_file(typefaces.BOLD).name.lower() if named else font_face.is_bold
        return sum(map(typefaces.advances(bold).__getitem__, text)) * cap_height / typefaces.CAP_HEIGHT


class TextPipeline(RenderPipeline2d):
    """The add-on's pipeline, but text reaches the paper as text."""

    text_engine = HouseType()

    def __init__(self, sink: MarkBackend) -> None:
        super().__init__(sink)
        self.sink = sink

    def draw_text(self, text: str, transform: Any, properties: Any, cap_height: float, dxftype: str = "TEXT") -> None:
        """One line of text, its base point and turn from ``transform``."""
        if not text.strip():
            return
        along = transform.transform_direction((1, 0, 0))
        turned = degrees(atan2(along.y, along.x))
        size_pt = cap_height * self.sink.mm_per_unit / typefaces.CAP_HEIGHT / MM_PER_PT
        bold = bool(properties.font and properties.font.is_bold)
        x_mm, y_mm = self.sink.paper(transform.transform((0, 0, 0)))
        words = Words(x_mm, y_mm, plain(text, dxftype), size_pt, bold, angle_deg=turned)
        self.sink.marks.append((properties.layer, words))
