"""Marks as the operators of one page: pens are set only where they change, words in a row share one text object."""

from collections.abc import Callable, Sequence
from math import cos, radians, sin
from typing import Final

from griddesign.papers import text
from griddesign.papers.letters import Letters
from griddesign.papers.marks import MM_PER_PT, Group, Mark, Path, Words
from griddesign.papers.reading import Element, Runs

PT_PER_MM = 1.0 / MM_PER_PT
_NOTHING_YET: Final = object()
_HOLLOW_MM = 0.3
_UPRIGHT: Final = "1 0 0 1 %.2f %.2f Tm"
_SHOW: Final = ") Tj"
_LINE_END: Final = "T*"
_OUTLINES: Final = "1 Tr"
_FILLED: Final = "0 Tr"
"""How letters are drawn."""
_BACK = {"left": 0.0, "centre": 0.5, "right": 1.0}
_AT = "%.2f %.2f "
_STEPS = {"m": f"{_AT}m ", "l": f"{_AT}l ", "c": f"{3 * _AT}c ", "z": "h "}
"""How a path's steps are written, to a hundredth of a point (3.5 µm)."""
_PAINT = {(False, False): "n", (True, False): "S", (False, True): "f*", (True, True): "B*"}
"""How a path is painted, by whether it has a line and a filling; where it crosses itself, by the even-odd rule."""


class Ink:
    """One page or form being drawn in a set's ``letters``, with what is set on it; None: not set by us yet.

    The origin is the top left corner of the marks; a page counts up, marks count down. ``form_of`` gives the name of a
    form that holds shared marks. On a page, marks are a run of the ``part`` they stand in where that holds marks
    itself, else an artifact; a form has no ``runs``: it is an artifact where it stands. Every text ends its line
    (``T*``): so whoever reads the text out of the file keeps what stands apart, apart.
    """

    def __init__(self, letters: Letters, form_of: Callable[[Group], str], runs: Runs | None = None) -> None:
        self.letters, self.form_of, self.runs = letters, form_of, runs
        self.part: Element | None = None
        self.holder: Element | None = None
        self.opened: object = _NOTHING_YET
        self.pen: tuple[float, float, tuple[float, ...]] | None = None
        self.fill: float | None = None
        self.font: tuple[str, float] | None = None
        self.in_words = False
        self.operators: list[str] = []

    def draw(self, marks: Sequence[Mark], x_mm: float = 0.0, y_mm: float = 0.0) -> None:
        """Draw the marks from a corner at ``x_mm``, ``y_mm``. ``content`` ends the page."""
        for mark in marks:
            if isinstance(mark, Group):
                self._draw_group(mark, x_mm + mark.x_mm, y_mm + mark.y_mm)
                continue
            if self.opened is not self.holder and self.runs is not None:
                self._turn_to(self.runs, self.holder)
            if isinstance(mark, Words):
                if mark.text:
                    self._write(mark, x_mm, y_mm)
            else:
                self._trace(mark, x_mm, y_mm)

    def content(self) -> bytes:
        """Everything drawn, as the content of a page or a form."""
        self._end_run()
        return "\n".join(self.operators).encode("ascii")

    def _draw_group(self, group: Group, x_mm: float, y_mm: float) -> None:
        if group.shared:
            self._place(group, x_mm, y_mm)
        elif group.role is None or self.part is None:
            self.draw(group.marks, x_mm, y_mm)
        else:
            outer, holder = self.part, self.holder
            self.part = outer.part(group.role)
            if group.role.size_mm and self.part and self.runs:
                self.part.box_pt = self.runs.box_pt((x_mm, y_mm), group.role.size_mm)
            self.holder = self.part if self.part and self.part.holds_marks else None
            self.draw(group.marks, x_mm, y_mm)
            self.part, self.holder = outer, holder

    # --- the order of reading ---

    def _turn_to(self, runs: Runs, holder: Element | None) -> None:
        """What is drawn from here on is a run of ``holder``, or an artifact."""
        self._end_run()
        self.operators.append(runs.begin(holder) if holder else "/Artifact BMC")
        self.opened = holder

    def _end_run(self) -> None:
        if self.in_words:
            self._end_words()
        if self.opened is not _NOTHING_YET:
            self.operators.append("EMC")

    # --- marks ---

    def _end_words(self) -> None:
        if self.in_words:
            self.operators.append("ET")
            self.in_words = False

    def _place(self, group: Group, x_mm: float, y_mm: float) -> None:
        """Marks the file holds once, as a form drawn where they are wanted."""
        if self.opened is not None and self.runs is not None:
            self._turn_to(self.runs, None)
        self._end_words()
        name = self.form_of(group)
        self.operators.append(f"q 1 0 0 1 {x_mm * PT_PER_MM:.3f} {-y_mm * PT_PER_MM:.3f} cm {name} Do Q")

    def _trace(self, path: Path, x_mm: float, y_mm: float) -> None:
        self._end_words()
        if path.width_mm:
            self._set_pen(path.width_mm, path.grey, path.dash_mm)
        if path.fill is not None:
            self._set_fill(path.fill)
        self.operators.append(_traced(path, x_mm, y_mm) + _PAINT[path.width_mm > 0.0, path.fill is not None])

    def _write(self, mark: Words, x_mm: float, y_mm: float) -> None:
        shown, ems = self.letters.shown(mark.text, mark.bold)
        if mark.hollow:
            self._end_words()
            self._set_pen(_HOLLOW_MM, mark.grey, ())
        self._begin_words(mark.grey)
        back_pt = _BACK[mark.align] * ems * mark.size_pt
        x_pt, y_pt = (x_mm + mark.x_mm) * PT_PER_MM, -(y_mm + mark.y_mm) * PT_PER_MM
        put = self.operators.append
        put(_turned(mark.angle_deg, x_pt, y_pt, back_pt) if mark.angle_deg else _UPRIGHT % (x_pt - back_pt, y_pt))
        if mark.hollow:
            put(_OUTLINES)
        for name, codes in shown:
            if self.font != (name, mark.size_pt):
                put(f"{name} {mark.size_pt:.5g} Tf {text.LEADING * mark.size_pt:.5g} TL")
                self.font = (name, mark.size_pt)
            put(f"{codes[:-1]}{_SHOW}")
        put(_LINE_END if not mark.hollow else f"{_LINE_END} {_FILLED}")  # filling outlasts the words

    def _begin_words(self, grey: float) -> None:
        """A text object, the open one or a new one, filled with a grey; a line that goes on is parted by a space."""
        if self.fill != grey:
            self._set_fill(grey)
        if not self.in_words:
            self.operators.append("BT")
            self.in_words = True
        elif self.holder and self.operators[-1] == _LINE_END:
            self.operators[-2] = f"{self.operators[-2][: -len(_SHOW)]} {_SHOW}"

    def _set_pen(self, width_mm: float, grey: float, dash_mm: tuple[float, ...]) -> None:
        if self.pen != (width_mm, grey, dash_mm):
            dashes = " ".join(f"{length * PT_PER_MM:.4f}" for length in dash_mm)
            self.operators.append(f"{width_mm * PT_PER_MM:.4f} w {grey:.4g} G [{dashes}] 0 d")
            self.pen = (width_mm, grey, dash_mm)

    def _set_fill(self, grey: float) -> None:
        if self.fill != grey:
            self.operators.append(f"{grey:.4g} g")
            self.fill = grey


def _traced(path: Path, x_mm: float, y_mm: float) -> str:
    """The steps of a path with its origin at ``x_mm``, ``y_mm``."""
    numbers = [number for _, own in path.steps for number in own]
    numbers[::2] = [(x_mm + x) * PT_PER_MM for x in numbers[::2]]
    numbers[1::2] = [-(y_mm + y) * PT_PER_MM for y in numbers[1::2]]
    return "".join([_STEPS[kind] for kind, _ in path.steps]) % tuple(numbers)


def _turned(angle_deg: float, x_pt: float, y_pt: float, back_pt: float) -> str:
    """Where turned words begin that are anchored at a point and go back from it, as a text matrix."""
    along, up = cos(radians(angle_deg)), sin(radians(angle_deg))
    start = f"{x_pt - back_pt * along:.2f} {y_pt - back_pt * up:.2f}"
    return f"{along:.6f} {up:.6f} {-up:.6f} {along:.6f} {start} Tm"
