"""A drawing document turned into a picture, so that the page shows the very document the DXF file holds."""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from griddesign.papers.bounds import bounds
from griddesign.papers.dxf_library import library, set_extents
from griddesign.papers.marks import Group, Mark, Picture

if TYPE_CHECKING:
    from ezdxf.document import Drawing


@dataclass(frozen=True, slots=True)
class Rendered:
    """The model space of a document as marks with the layers they are on."""

    marks: tuple[tuple[str, Mark], ...]

    def picture(self, *, only: str = "", without: str = "") -> Picture:
        """The marks as a picture just as large as their ink; ``only`` those of one layer, or all ``without`` one."""
        marks = tuple(mark for layer, mark in self.marks if layer != without and only in ("", layer))
        left, top, right, bottom = bounds(marks)
        return Picture(right - left, bottom - top, (Group(-left, -top, marks),))


def rendered(document: "Drawing", mm_per_unit: float) -> Rendered:
    """The model space, ``mm_per_unit`` millimetres of paper to a drawing unit; its extents are written to the document.

    Colours become black: papers are copied in grey. Hidden layers stay hidden.
    """
    marks = tuple(_same_every_time(document, mm_per_unit))
    left, top, right, bottom = bounds(mark for _, mark in marks)
    box = (left / mm_per_unit, -bottom / mm_per_unit, right / mm_per_unit, -top / mm_per_unit)
    set_extents(document, box, grow=True)
    return Rendered(marks)


def picture_of(document: "Drawing", mm_per_unit: float) -> Picture:
    """The whole model space as a picture."""
    return rendered(document, mm_per_unit).picture()


def _same_every_time(document: "Drawing", mm_per_unit: float) -> Sequence[tuple[str, Mark]]:
    """Rendered with the random shift that the library gives to pattern lines held still."""
    state = random.getstate()
    random.seed(0)
    try:
        return _render(document, mm_per_unit)
    finally:
        random.setstate(state)


def _render(document: "Drawing", mm_per_unit: float) -> Sequence[tuple[str, Mark]]:
    library()
    from ezdxf.addons.drawing.config import BackgroundPolicy, ColorPolicy, Configuration
    from ezdxf.addons.drawing.frontend import UniversalFrontend
    from ezdxf.addons.drawing.properties import RenderContext

    from griddesign.papers.canvas_backend import MarkBackend, TextPipeline

    config = Configuration(
        color_policy=ColorPolicy.BLACK,
        background_policy=BackgroundPolicy.OFF,
        max_flattening_distance=0.02 / mm_per_unit,
        min_dash_length=0.2 / mm_per_unit,
        pdmode=0,
        pdsize=1,
    )
    sink = MarkBackend(mm_per_unit)
    context = RenderContext(document, export_mode=True)
    UniversalFrontend(context, TextPipeline(sink), config).draw_layout(document.modelspace(), finalize=False)
    return sink.marks
