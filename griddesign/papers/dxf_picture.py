"""A drawing document turned into a picture, so that the page shows the very document the DXF file holds."""

import random
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from griddesign.papers.bounds import bounds
from griddesign.papers.dxf_library import library
from griddesign.papers.marks import Group, Mark, Picture

if TYPE_CHECKING:
    from ezdxf.document import Drawing


def picture_of(document: "Drawing", mm_per_unit: float, *, only: str = "", without: str = "") -> Picture:
    """The model space as a picture, ``mm_per_unit`` millimetres of paper to a drawing unit, just as large as its ink.

    Colours become black: papers are copied in grey. Hidden layers stay hidden; ``only`` one layer may be shown, or all
    ``without`` one.
    """
    with _shown(document, only, without):
        marks = tuple(_same_every_time(document, mm_per_unit))
    left, top, right, bottom = bounds(marks)
    return Picture(right - left, bottom - top, (Group(-left, -top, marks),))


@contextmanager
def _shown(document: "Drawing", only: str, without: str) -> Iterator[None]:
    """Layers that are not wanted switched off for the while."""
    switched = [
        layer
        for layer in document.layers
        if layer.is_on() and (layer.dxf.name == without or only not in ("", layer.dxf.name))
    ]
    for layer in switched:
        layer.off()
    try:
        yield
    finally:
        for layer in switched:
            layer.on()


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
