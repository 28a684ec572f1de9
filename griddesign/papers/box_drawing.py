"""A box drawn once: from above, terminal side towards the reader, and from the terminal side; page and DXF alike.

Metal between two eyes is black, mica is left open: on the rods the black pieces and the plates between them are the
way of the current. Taps and links carry short marks; the table beside the drawing says what they are.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from griddesign.grid.stack.records import BoxStack, Rod, RodName
from griddesign.papers import text
from griddesign.papers.dxf_library import UNITS_PER_M, LengthUnit
from griddesign.papers.marks import (
    MEDIUM_MM,
    THICK_MM,
    THIN_MM,
    Mark,
    Path,
    Step,
    Words,
    circle,
    line,
    polyline,
)
from griddesign.papers.picture_dxf import Layered
from griddesign.papers.scales import Scale, scales_of
from griddesign.plate.outline import Outline
from griddesign.plate.shapes import Zigzag

ROOM_MM = (170.0, 162.0)
_PT = 7.5
_ROW_MM = 4.2  # between rows of marks of leads
_END_MM = 6.0  # drawn for the end insulation where its length is not known
_FRAME_MM = 2.2
_BETWEEN_MM = 5.0  # clear between the two views
_FOOT_MM = _BETWEEN_MM + 8.0
_NUMBERS_MM = 4.6
_LINE_MM = 5.0  # of a title
_ARROW_MM = 24.0  # the arrow and what it says
_TITLE_MM = 82.0  # a title may be so wide, however narrow the box
COUNT = "count"
ROD_LETTERS: dict[RodName, str] = {"terminal side": "T", "far side": "F", "support": "S"}
_SIDE_MM = 3.0  # frames stand out beyond the plates
_CHAIN_MM = (5.0, 1.0, 0.6, 1.0)
_DASH_MM = (1.2, 0.9)
Corners = tuple[float, float, float, float]
"""Left, top, right, foot, mm."""
_EVERY = (1, 2, 5, 10, 20, 50, 100, 200, 500)


@dataclass(frozen=True, slots=True)
class BoxSeen:
    """What is drawn: the stack, a plate of it, the marks of leads by their names, plates out of circuit."""

    stack: BoxStack
    shape: Zigzag
    outline: Outline
    mark_of: Mapping[str, str]
    idle: frozenset[int] = frozenset()
    end_m: float | None = None


def draw_box(seen: BoxSeen, unit: LengthUnit, room_mm: tuple[float, float] = ROOM_MM) -> Layered:
    """Both views at the largest standard scale that fits ``room_mm`` (wide, high); at the smallest where none does."""
    for scale in scales_of(unit):
        pen = _Pen(seen, scale, unit)
        if pen.wide_mm <= room_mm[0] and pen.high_mm <= room_mm[1]:
            break
    return pen.draw()


@dataclass(slots=True)
class _View:
    """One view: rods that show with their heights (mm down from the top of the plates), and which way leads go out."""

    title: str
    plate_mm: float
    rods: dict[RodName, float]
    up: frozenset[RodName]


@dataclass(slots=True)
class _Pen:
    """One box at one scale; x runs from the outer face of the dot-end frame, mm of paper."""

    seen: BoxSeen
    scale: Scale
    unit: LengthUnit
    layers: dict[str, list[Mark]] = field(default_factory=dict)

    @property
    def _k(self) -> float:
        return 1000.0 * self.scale.factor

    @property
    def _end_mm(self) -> float:
        return _END_MM if self.seen.end_m is None else max(1.0, self.seen.end_m * self._k)

    @property
    def _start_mm(self) -> float:
        return _FRAME_MM + self._end_mm

    @property
    def wide_mm(self) -> float:
        """Over both frames."""
        return 2.0 * self._start_mm + self.seen.stack.over_eyes_m * self._k

    @property
    def high_mm(self) -> float:
        """Both views with their titles, numbers and rows of marks."""
        views = self._views()
        rows = sum(_rows(self._leads(view, up=up)) for view in views for up in (True, False))
        heads = sum(self._title_mm(view) for view in views)
        return (
            sum(view.plate_mm for view in views) + heads + rows * _ROW_MM + 2 * (_NUMBERS_MM + 2 * _SIDE_MM) + _FOOT_MM
        )

    def _views(self) -> tuple[_View, _View]:
        left, low, right, high = self.seen.outline.bounding_box_m
        at = {mark.name: mark.at for mark in self.seen.outline.marks}
        apart = self.seen.shape.eyes == "opposite edges"
        first, last = at["first eye"], at["last eye"]
        above: dict[RodName, float] = {"terminal side": (high - first[1]) * self._k}
        front: dict[RodName, float] = {"terminal side": (first[0] - left) * self._k}
        (above if apart else front)["far side"] = ((high - last[1]) if apart else (last[0] - left)) * self._k
        if "support eye" in at and any(rod.name == "support" for rod in self.seen.stack.rods):
            above["support"] = (high - at["support eye"][1]) * self._k
        return (
            _View("from above", (high - low) * self._k, above, frozenset({"far side"})),
            _View("from the terminal side", (right - left) * self._k, front, frozenset({"terminal side"})),
        )

    def draw(self) -> Layered:
        """The views one under the other."""
        y = 0.0
        for view in self._views():
            y = self._view(view, y) + _BETWEEN_MM
        self._over_eyes(y - _BETWEEN_MM + 4.0)
        shows = f"Box {self.seen.stack.box} from above and from the terminal side: plates, parts on the rods, taps"
        return Layered({name: tuple(marks) for name, marks in self.layers.items()}, self.scale, shows)

    def _add(self, layer: str, *marks: Mark) -> None:
        self.layers.setdefault(layer, []).extend(marks)

    # --- one view ---

    def _view(self, view: _View, y: float) -> float:
        """Draw a view below ``y``; returns the height of its foot."""
        ups, downs = self._leads(view, up=True), self._leads(view, up=False)
        self._title(view, y)
        top = y + self._title_mm(view) + _NUMBERS_MM + _rows(ups) * _ROW_MM + _SIDE_MM
        foot = top + view.plate_mm
        self._frames(top, foot)
        self._plates(top, foot)
        self._numbers(top - _SIDE_MM - _rows(ups) * _ROW_MM - 1.2)
        for name, at_mm in view.rods.items():
            self._rod(self.seen.stack.rod(name), top + at_mm)
        self._lead_marks(ups, view, top, top - _SIDE_MM, -1.0)
        self._lead_marks(downs, view, top, foot + _SIDE_MM, 1.0)
        return foot + _SIDE_MM + _rows(downs) * _ROW_MM

    def _words(self, view: _View) -> str:
        return f"Box {self.seen.stack.box}, {view.title}"

    def _title_mm(self, view: _View) -> float:
        """Height of a title: on a narrow view the arrow stands below the words."""
        fits = self._arrow_mm(view) + _ARROW_MM <= max(self.wide_mm, _TITLE_MM)
        return _LINE_MM if fits else 2.0 * _LINE_MM

    def _arrow_mm(self, view: _View) -> float:
        """Where the arrow begins that follows the words."""
        return text.width_mm(self._words(view), _PT + 1.0, True) + 5.0

    def _title(self, view: _View, y: float) -> None:
        """What is seen, and the arrow that plates are counted along."""
        self._add("TEXT", Words(0.0, y + 3.4, self._words(view), _PT + 1.0, True))
        below = self._title_mm(view) > _LINE_MM
        start, y = (1.3, y + _LINE_MM) if below else (self._arrow_mm(view), y)
        self._add(
            "MARK", circle(start, y + 2.3, 1.3, 0.0, fill=0.0), line(start, y + 2.3, start + 11.0, y + 2.3, MEDIUM_MM)
        )
        tip = start + 14.0
        head = ((tip, y + 2.3), (tip - 3.0, y + 1.5), (tip - 3.0, y + 3.1))
        self._add("MARK", polyline(head, width_mm=0.0, closed=True, fill=0.0))
        self._add("TEXT", Words(tip + 2.0, y + 3.4, COUNT, _PT))

    def _frames(self, top: float, foot: float) -> None:
        for x in (0.0, self.wide_mm - _FRAME_MM):
            corners = [(x, top - _SIDE_MM), (x + _FRAME_MM, top - _SIDE_MM), (x + _FRAME_MM, foot + _SIDE_MM),
                       (x, foot + _SIDE_MM)]  # fmt: skip
            self._add("SECTION", polyline(corners, width_mm=MEDIUM_MM, closed=True))
        self._add("MARK", circle(_FRAME_MM / 2.0, foot + _SIDE_MM - 2.0, 1.6, 0.0, fill=0.0))

    def _plates(self, top: float, foot: float) -> None:
        """Every plate edge on: in circuit in full lines, out of circuit dashed."""
        stack, half = self.seen.stack, self.seen.shape.thickness_m * self._k / 2.0
        for out in (False, True):
            loops = [
                (x - half, top, x + half, foot)
                for plate, x in zip(stack.plates, self._middles(), strict=True)
                if (plate in self.seen.idle) == out
            ]
            if loops:
                self._add("OUTLINE", _boxes(loops, THIN_MM, dash_mm=_DASH_MM if out else ()))

    def _middles(self) -> list[float]:
        return [self._start_mm + middle_m * self._k for middle_m in self.seen.stack.middles_m]

    def _numbers(self, y: float) -> None:
        """Positions in the box, as close as they can stand."""
        middles = self._middles()
        pitch = middles[1] - middles[0] if len(middles) > 1 else 99.0
        widest = text.width_mm(str(len(middles)), _PT) + 1.2
        every = next((step for step in _EVERY if step * pitch >= widest), _EVERY[-1])
        for number, x in enumerate(middles, start=1):
            last = number == len(middles)
            near_last = not last and (len(middles) - number) * pitch < widest
            if last or ((number == 1 or number % every == 0) and not near_last):
                self._add("TEXT", Words(x, y, str(number), _PT, align="centre"))

    # --- rods ---

    def _rod(self, rod: Rod, y: float) -> None:
        """Centre line, eyes, metal black, mica open."""
        half = max(0.35 * self.seen.shape.eye.diameter_m * self._k, 0.9)
        self._add("CENTRE", line(-3.0, y, self.wide_mm + 3.0, y, THIN_MM, dash_mm=_CHAIN_MM))
        self._add("TEXT", Words(self.wide_mm + 3.8, y + 1.0, ROD_LETTERS[rod.name], _PT, True))
        metal: list[Corners] = []
        mica: list[Corners] = []
        for gap, (x1, x2) in zip(rod.gaps, self._gap_ends(rod), strict=True):
            at_end = gap is rod.gaps[0] or gap is rod.gaps[-1]
            box = (x1, y - (half if gap.joined else 0.8 * half), x2, y + (half if gap.joined else 0.8 * half))
            (metal if gap.joined else mica).append(box)
            if at_end:
                self._end(x1, x2, y, 0.8 * half)
        if mica:
            self._add("HATCH", _boxes(mica, THIN_MM, fill=1.0))
        if metal:
            self._add("OUTLINE", _boxes(metal, THIN_MM, fill=0.0))
        eyes = list(self._eye_boxes(rod, y, 1.25 * half))
        if eyes:
            self._add("OUTLINE", _boxes(eyes, THIN_MM, fill=1.0))

    def _end(self, x1: float, x2: float, y: float, half: float) -> None:
        """A stroke across: the end insulation."""
        self._add("HATCH", line(x1, y + half, x2, y - half, THIN_MM))

    def _eye_boxes(self, rod: Rod, y: float, half: float) -> Iterator[Corners]:
        """Eyes that are not as thick as the strip; the others are the plate's own edges."""
        for x, thick in self._eyes(rod):
            if abs(thick - self.seen.shape.thickness_m * self._k) > 1e-6:
                yield x - thick / 2.0, y - half, x + thick / 2.0, y + half

    def _eyes(self, rod: Rod) -> list[tuple[float, float]]:
        """Middle and thickness of every eye of the rod."""
        at = dict(zip(self.seen.stack.plates, self._middles(), strict=True))
        return [(at[eye.plate], (eye.length_m or 0.0) * self._k) for eye in rod.eyes]

    def _gap_ends(self, rod: Rod) -> list[tuple[float, float]]:
        """Where each gap begins and ends."""
        eyes = self._eyes(rod)
        begins = [_FRAME_MM, *(x + thick / 2.0 for x, thick in eyes)]
        ends = [*(x - thick / 2.0 for x, thick in eyes), self.wide_mm - _FRAME_MM]
        return list(zip(begins, ends, strict=True))

    # --- leads ---

    def _leads(self, view: _View, *, up: bool) -> list[tuple[RodName, float, str, int]]:
        """Leads that leave the view upwards or downwards: rod, place, mark, row counted from the plates."""
        found = []
        for name in view.rods:
            if (name in view.up) != up:
                continue
            rod = self.seen.stack.rod(name)
            for gap, (x1, x2) in zip(rod.gaps, self._gap_ends(rod), strict=True):
                marks = [self.seen.mark_of.get(label, label) for label in gap.labels]
                found += [(name, x1 + (x2 - x1) * part, mark) for part, mark in _shared_out(marks)]
        return _in_rows(found)

    def _lead_marks(
        self, leads: Sequence[tuple[RodName, float, str, int]], view: _View, top: float, edge: float, way: float
    ) -> None:
        for name, x, mark, row in leads:
            y = top + view.rods[name]
            end = edge + way * ((row + 1) * _ROW_MM - 0.6)
            base = end - 0.3 if way > 0 else end + 2.2
            self._add("OUTLINE", line(x, y, x, end, THICK_MM), circle(x, y, 0.8, 0.0, fill=0.0))
            self._add("TEXT", Words(x + 0.9, base, mark, _PT, True))

    def _over_eyes(self, y: float) -> None:
        """The length over the eyes, with its two ends."""
        x1, x2 = self._start_mm, self.wide_mm - self._start_mm
        number = f"{self.seen.stack.over_eyes_m * UNITS_PER_M[self.unit]:.{1 if self.unit == 'mm' else 3}f}"
        words = f"{number} {'mm' if self.unit == 'mm' else 'in'} over the eyes, cold"
        for x, back in ((x1, 2.5), (x2, -2.5)):
            self._add("DIMENSION", line(x, y - 2.0, x, y + 1.5, THIN_MM))
            self._add(
                "DIMENSION",
                polyline(((x, y), (x + back, y - 0.4), (x + back, y + 0.4)), width_mm=0.0, closed=True, fill=0.0),
            )
        self._add("DIMENSION", line(x1, y, x2, y, THIN_MM))
        self._add(
            "DIMENSION",
            Words(max((x1 + x2) / 2.0, text.width_mm(words, _PT) / 2.0), y + 3.6, words, _PT, align="centre"),
        )


def _boxes(
    boxes: Iterable[Corners],
    width_mm: float,
    *,
    fill: float | None = None,
    dash_mm: tuple[float, ...] = (),
) -> Path:
    """Many upright rectangles as one path."""
    steps: list[Step] = []
    for x1, y1, x2, y2 in boxes:
        steps += [("m", (x1, y1)), ("l", (x2, y1)), ("l", (x2, y2)), ("l", (x1, y2)), ("z", ())]
    return Path(tuple(steps), width_mm, dash_mm, fill)


def _shared_out(marks: Sequence[str]) -> Iterator[tuple[float, str]]:
    """Leads of one gap side by side within it."""
    for number, mark in enumerate(marks):
        yield (number + 0.5) / len(marks), mark


def _in_rows(leads: Iterable[tuple[RodName, float, str]]) -> list[tuple[RodName, float, str, int]]:
    """Each mark right of its lead, in the nearest row where it meets no other: from the right, so that no lead to a
    farther row runs through a mark."""
    placed: list[tuple[RodName, float, str, int]] = []
    starts: list[float] = []
    for name, x, mark in sorted(leads, key=lambda lead: -lead[1]):
        end = x + text.width_mm(mark, _PT, True) + 1.5
        row = next((number for number, start in enumerate(starts) if end < start), len(starts))
        starts[row : row + 1] = [x]
        placed.append((name, x, mark, row))
    return placed


def _rows(leads: Sequence[tuple[RodName, float, str, int]]) -> int:
    return max((row for *_, row in leads), default=-1) + 1
