"""A drawing document turned into marks on paper, so that the page shows the very document the DXF file holds.

A backend and a pipeline for ezdxf's drawing add-on: paths stay curves, text stays text, line weights are millimetres.
"""

import random
from collections.abc import Iterable, Sequence
from math import atan2, degrees
from typing import TYPE_CHECKING, Any

from griddesign.papers import typefaces
from griddesign.papers.bounds import bounds
from griddesign.papers.dxf_library import library
from griddesign.papers.marks import MM_PER_PT, Group, Mark, Path, Picture, Step, Words

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_DOT_MM = 0.35


def picture_of(document: "Drawing", mm_per_unit: float) -> Picture:
    """The model space as a picture, ``mm_per_unit`` millimetres of paper to a drawing unit, just as large as its ink.

    Colours become black: papers are copied in grey. Hidden layers stay hidden.
    """
    marks = tuple(_same_every_time(document, mm_per_unit))
    left, top, right, bottom = bounds(marks)
    return Picture(right - left, bottom - top, (Group(-left, -top, marks),))


def _same_every_time(document: "Drawing", mm_per_unit: float) -> Sequence[Mark]:
    """Rendered with the random shift that the library gives to pattern lines held still."""
    state = random.getstate()
    random.seed(0)
    try:
        return _render(document, mm_per_unit)
    finally:
        random.setstate(state)


def _render(document: "Drawing", mm_per_unit: float) -> Sequence[Mark]:
    library()
    from ezdxf.addons.drawing.config import BackgroundPolicy, ColorPolicy, Configuration
    from ezdxf.addons.drawing.frontend import UniversalFrontend
    from ezdxf.addons.drawing.properties import RenderContext

    config = Configuration(
        color_policy=ColorPolicy.BLACK,
        background_policy=BackgroundPolicy.OFF,
        max_flattening_distance=0.02 / mm_per_unit,
        min_dash_length=0.2 / mm_per_unit,
        pdmode=0,
        pdsize=1,
    )
    sink, pipeline = _sink_and_pipeline(mm_per_unit)
    context = RenderContext(document, export_mode=True)
    UniversalFrontend(context, pipeline, config).draw_layout(document.modelspace(), finalize=False)
    marks: Sequence[Mark] = sink.marks
    return marks


def _sink_and_pipeline(mm_per_unit: float) -> tuple[Any, Any]:
    """The backend that collects marks and the pipeline that feeds it; built here so that nothing loads too early."""
    from ezdxf.addons.drawing.backend import Backend
    from ezdxf.addons.drawing.pipeline import RenderPipeline2d
    from ezdxf.addons.drawing.pipeline import prepare_string_for_rendering as plain
    from ezdxf.math import Vec2

    class Sink(Backend):
        """Takes geometry in drawing units, y up; keeps marks in millimetres, y down."""

        def __init__(self) -> None:
            super().__init__()
            self.marks: list[Mark] = []

        def paper(self, point: Any) -> tuple[float, float]:
            return point.x * mm_per_unit, -point.y * mm_per_unit

        def steps(self, path: Any) -> Iterable[Step]:
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

        def draw_point(self, pos: Any, properties: Any) -> None:
            at = self.paper(pos)
            self.marks.append(Path((("m", at), ("l", (at[0] + 0.01, at[1]))), max(properties.lineweight, _DOT_MM)))

        def draw_line(self, start: Any, end: Any, properties: Any) -> None:
            self.draw_solid_lines([(start, end)], properties)

        def draw_solid_lines(self, lines: Any, properties: Any) -> None:
            steps = [step for start, end in lines for step in (("m", self.paper(start)), ("l", self.paper(end)))]
            if steps:
                self.marks.append(Path(tuple(steps), properties.lineweight))

        def draw_path(self, path: Any, properties: Any) -> None:
            closing: tuple[Step, ...] = (("z", ()),) if path.is_closed else ()
            self.marks.append(Path((*self.steps(path), *closing), properties.lineweight))

        def draw_filled_paths(self, paths: Any, properties: Any) -> None:  # noqa: ARG002
            steps = tuple(step for path in paths for step in (*self.steps(path), ("z", ())))
            self.marks.append(Path(steps, 0.0, fill=0.0))

        def draw_filled_polygon(self, points: Any, properties: Any) -> None:  # noqa: ARG002
            first, *others = (self.paper(point) for point in points.vertices())
            self.marks.append(Path((("m", first), *(("l", point) for point in others), ("z", ())), 0.0, fill=0.0))

        def set_background(self, color: Any) -> None:
            """Paper is white."""

        def draw_image(self, image_data: Any, properties: Any) -> None:
            """Our drawings hold no images."""

        def clear(self) -> None:
            self.marks.clear()

    class Pipeline(RenderPipeline2d):
        """The add-on's pipeline, but text reaches the paper as text."""

        def draw_text(
            self, text: str, transform: Any, properties: Any, cap_height: float, dxftype: str = "TEXT"
        ) -> None:
            if not text.strip():
                return
            along = transform.transform_direction((1, 0, 0))
            turned = degrees(atan2(along.y, along.x))
            size_pt = cap_height * mm_per_unit / typefaces.CAP_HEIGHT / MM_PER_PT
            bold = bool(properties.font and properties.font.is_bold)
            x_mm, y_mm = self.backend.paper(Vec2(transform.transform((0, 0, 0))))  # type: ignore[attr-defined]
            words = Words(x_mm, y_mm, plain(text, dxftype), size_pt, bold, angle_deg=turned)
            self.backend.marks.append(words)  # type: ignore[attr-defined]

    sink = Sink()
    return sink, Pipeline(sink)
