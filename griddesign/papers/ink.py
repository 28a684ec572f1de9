"""Marks as the operators of one page: pens are set only where they change, words in a row share one text object."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import TYPE_CHECKING, Final

from griddesign.papers import text, typefaces
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.marks import MM_PER_PT, Group, Mark, Path, Words

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.pdfgen.textobject import PDFTextObject

PT_PER_MM = 1.0 / MM_PER_PT
_HOLLOW_MM = 0.3
_OUTLINES: Final = 1
_FILLED: Final = 0
"""How letters are drawn."""
_BACK = {"left": 0.0, "centre": 0.5, "right": 1.0}
_OPERATOR = {"m": "m", "l": "l", "c": "c", "z": "h"}
_PAINT = {(False, False): "n", (True, False): "S", (False, True): "f*", (True, True): "B*"}
"""How a path is painted, by whether it has a line and a filling; where it crosses itself, by the even-odd rule."""


@dataclass(slots=True)
class Ink:
    """One page or form of ``canvas`` being drawn, with what is set on it; None: not set by us yet.

    The origin is the top left corner of the marks; the canvas counts up, marks count down.
    """

    canvas: "Canvas"
    pen: tuple[float, float, tuple[float, ...]] | None = None
    fill: float | None = None
    font: tuple[bool, float] | None = None
    words: "PDFTextObject | None" = None

    def draw(self, marks: Sequence[Mark], x_mm: float = 0.0, y_mm: float = 0.0) -> None:
        """Draw the marks from a corner at ``x_mm``, ``y_mm``. ``finish`` ends the page."""
        for mark in marks:
            if isinstance(mark, Words):
                self._write(mark, x_mm, y_mm)
            elif isinstance(mark, Path):
                self._trace(mark, x_mm, y_mm)
            elif mark.shared:
                self._place(mark, x_mm, y_mm)
            else:
                self.draw(mark.marks, x_mm + mark.x_mm, y_mm + mark.y_mm)

    def finish(self) -> None:
        """End the words that are still open."""
        if self.words is not None:
            self.canvas.drawText(self.words)
            self.words = self.font = None

    def _place(self, group: Group, x_mm: float, y_mm: float) -> None:
        """Marks the file holds once, as a form drawn where they are wanted."""
        self.finish()
        canvas = self.canvas
        if not canvas.hasForm(group.shared):
            wide_pt, high_pt = (round(side_mm * PT_PER_MM) for side_mm in (LIVE_WIDE_MM, LIVE_HIGH_MM))
            canvas.beginForm(
                group.shared, -wide_pt, -high_pt, 2 * wide_pt, high_pt
            )  # its origin is the top left corner
            form = Ink(canvas)
            form.draw(group.marks)
            form.finish()
            canvas.endForm()
        canvas.saveState()
        canvas.translate((x_mm + group.x_mm) * PT_PER_MM, -(y_mm + group.y_mm) * PT_PER_MM)
        canvas.doForm(group.shared)
        canvas.restoreState()

    def _trace(self, path: Path, x_mm: float, y_mm: float) -> None:
        self.finish()
        if path.width_mm:
            self._set_pen(path.width_mm, path.grey, path.dash_mm)
        if path.fill is not None:
            self._set_fill(path.fill)
        steps = [f"{_points(numbers, x_mm, y_mm)} {_OPERATOR[kind]}" for kind, numbers in path.steps]
        self.canvas.addLiteral(" ".join((*steps, _PAINT[path.width_mm > 0.0, path.fill is not None])))

    def _write(self, mark: Words, x_mm: float, y_mm: float) -> None:
        printed = text.clean(mark.text).replace("\n", " ")
        if mark.hollow:
            self.finish()
            self._set_pen(_HOLLOW_MM, mark.grey, ())
        words = self._open_words(mark)
        shift = _BACK[mark.align]
        back_pt = shift and shift * text.width_mm(printed, mark.size_pt, mark.bold) * PT_PER_MM
        x_pt, y_pt = (x_mm + mark.x_mm) * PT_PER_MM, -(y_mm + mark.y_mm) * PT_PER_MM
        if mark.angle_deg:
            along, up = cos(radians(mark.angle_deg)), sin(radians(mark.angle_deg))
            words.setTextTransform(along, up, -up, along, x_pt - back_pt * along, y_pt - back_pt * up)
        else:
            words.setTextOrigin(x_pt - back_pt, y_pt)
        words.setTextRenderMode(_OUTLINES if mark.hollow else _FILLED)
        words.textLine(printed)
        words.setTextRenderMode(_FILLED)  # it outlasts the text object

    def _open_words(self, mark: Words) -> "PDFTextObject":
        """The text object that is open, or a new one, with the font and the grey of ``mark``."""
        if self.words is None:
            self._set_fill(mark.grey)
            self.words = self.canvas.beginText()
        elif self.fill != mark.grey:
            self.words.setFillGray(mark.grey)
            self.fill = mark.grey
        if self.font != (mark.bold, mark.size_pt):
            self.words.setFont(typefaces.font_name(mark.bold), mark.size_pt)
            self.font = (mark.bold, mark.size_pt)
        return self.words

    def _set_pen(self, width_mm: float, grey: float, dash_mm: tuple[float, ...]) -> None:
        if self.pen == (width_mm, grey, dash_mm):
            return
        self.canvas.setLineWidth(width_mm * PT_PER_MM)
        self.canvas.setStrokeGray(grey)
        self.canvas.setDash([length * PT_PER_MM for length in dash_mm])
        self.pen = (width_mm, grey, dash_mm)

    def _set_fill(self, grey: float) -> None:
        if self.fill != grey:
            self.canvas.setFillGray(grey)
            self.fill = grey


def _points(numbers: tuple[float, ...], x_mm: float, y_mm: float) -> str:
    """Coordinates of the paper as a PDF has them, to a thousandth of a point."""
    return " ".join(
        f"{(x_mm + x) * PT_PER_MM:.3f} {-(y_mm + y) * PT_PER_MM:.3f}"
        for x, y in zip(numbers[::2], numbers[1::2], strict=True)
    )
