"""Marks as the operators of one page: pens are set only where they change, words in a row share one text object."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import cos, radians, sin
from typing import Final

from griddesign.papers import text
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.letters import Letters
from griddesign.papers.marks import MM_PER_PT, Group, Mark, Path, Words

PT_PER_MM = 1.0 / MM_PER_PT
_HOLLOW_MM = 0.3
_OUTLINES: Final = "1 Tr"
_FILLED: Final = "0 Tr"
"""How letters are drawn."""
_BACK = {"left": 0.0, "centre": 0.5, "right": 1.0}
_OPERATOR = {"m": "m", "l": "l", "c": "c", "z": "h"}
_PAINT = {(False, False): "n", (True, False): "S", (False, True): "f*", (True, True): "B*"}
"""How a path is painted, by whether it has a line and a filling; where it crosses itself, by the even-odd rule."""


@dataclass(slots=True)
class Ink:
    """One page or form being drawn in a file's ``letters``, with what is set on it; None: not set by us yet.

    The origin is the top left corner of the marks; the canvas counts up, marks count down. Operators are gathered and
    handed over by ``finish``. Every text ends its line (``T*``): so whoever reads the text out of the file keeps what
    stands apart, apart.
    """

    letters: Letters
    pen: tuple[float, float, tuple[float, ...]] | None = None
    fill: float | None = None
    font: tuple[str, float] | None = None
    in_words: bool = False
    operators: list[str] = field(default_factory=list)

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
        """End the words that are still open, and hand everything to the canvas."""
        self._end_words()
        self.letters.canvas.addLiteral("\n".join(self.operators))
        self.operators = []

    def _end_words(self) -> None:
        if self.in_words:
            self.operators.append("ET")
            self.in_words = False

    def _place(self, group: Group, x_mm: float, y_mm: float) -> None:
        """Marks the file holds once, as a form drawn where they are wanted."""
        self.finish()
        canvas = self.letters.canvas
        if not canvas.hasForm(group.shared):
            side_pt = round(max(LIVE_WIDE_MM, LIVE_HIGH_MM) * PT_PER_MM)
            canvas.beginForm(group.shared, -side_pt, -side_pt, 2 * side_pt, side_pt)  # origin: the top left corner
            form = Ink(self.letters)
            form.draw(group.marks)
            form.finish()
            canvas.endForm()
        canvas.saveState()
        canvas.translate((x_mm + group.x_mm) * PT_PER_MM, -(y_mm + group.y_mm) * PT_PER_MM)
        canvas.doForm(group.shared)
        canvas.restoreState()

    def _trace(self, path: Path, x_mm: float, y_mm: float) -> None:
        self._end_words()
        if path.width_mm:
            self._set_pen(path.width_mm, path.grey, path.dash_mm)
        if path.fill is not None:
            self._set_fill(path.fill)
        steps = [f"{_points(numbers, x_mm, y_mm)} {_OPERATOR[kind]}" for kind, numbers in path.steps]
        self.operators.append(" ".join((*steps, _PAINT[path.width_mm > 0.0, path.fill is not None])))

    def _write(self, mark: Words, x_mm: float, y_mm: float) -> None:
        printed = text.clean(mark.text).replace("\n", " ")
        if mark.hollow:
            self._end_words()
            self._set_pen(_HOLLOW_MM, mark.grey, ())
        self._begin_words(mark.grey)
        shift = _BACK[mark.align]
        back_pt = shift and shift * text.width_mm(printed, mark.size_pt, mark.bold) * PT_PER_MM
        x_pt, y_pt = (x_mm + mark.x_mm) * PT_PER_MM, -(y_mm + mark.y_mm) * PT_PER_MM
        self.operators.append(f"{_turned(mark.angle_deg, x_pt, y_pt, back_pt)} Tm")
        if mark.hollow:
            self.operators.append(_OUTLINES)
        for name, codes in self.letters.shown(printed, mark.bold):
            if self.font != (name, mark.size_pt):
                self.operators.append(f"{name} {mark.size_pt:.5g} Tf {text.LEADING * mark.size_pt:.5g} TL")
                self.font = (name, mark.size_pt)
            self.operators.append(f"{codes} Tj")
        self.operators.append("T*" if not mark.hollow else f"T* {_FILLED}")  # filling outlasts the text object

    def _begin_words(self, grey: float) -> None:
        """A text object, the open one or a new one, filled with a grey."""
        self._set_fill(grey)
        if not self.in_words:
            self.operators.append("BT")
            self.in_words = True

    def _set_pen(self, width_mm: float, grey: float, dash_mm: tuple[float, ...]) -> None:
        if self.pen != (width_mm, grey, dash_mm):
            dashes = " ".join(f"{length * PT_PER_MM:.4f}" for length in dash_mm)
            self.operators.append(f"{width_mm * PT_PER_MM:.4f} w {grey:.4g} G [{dashes}] 0 d")
            self.pen = (width_mm, grey, dash_mm)

    def _set_fill(self, grey: float) -> None:
        if self.fill != grey:
            self.operators.append(f"{grey:.4g} g")
            self.fill = grey


def _points(numbers: tuple[float, ...], x_mm: float, y_mm: float) -> str:
    """Coordinates of the paper as a PDF has them, to a thousandth of a point."""
    return " ".join(
        f"{(x_mm + x) * PT_PER_MM:.3f} {-(y_mm + y) * PT_PER_MM:.3f}"
        for x, y in zip(numbers[::2], numbers[1::2], strict=True)
    )


def _turned(angle_deg: float, x_pt: float, y_pt: float, back_pt: float) -> str:
    """Where words begin that are anchored at a point and go back from it, as the six numbers of a text matrix."""
    if not angle_deg:
        return f"1 0 0 1 {x_pt - back_pt:.3f} {y_pt:.3f}"
    along, up = cos(radians(angle_deg)), sin(radians(angle_deg))
    return f"{along:.6f} {up:.6f} {-up:.6f} {along:.6f} {x_pt - back_pt * along:.3f} {y_pt - back_pt * up:.3f}"
