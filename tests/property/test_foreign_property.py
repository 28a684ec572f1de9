"""Random plates through random files: whatever the order, direction, place and form of its lines, the same plate.

And random damage: a damaged file is refused or read right, and never ends in anything but the project's own errors.
"""

import io
import math
import random
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import InputError
from griddesign.papers.cut_dxf import cut_dxf
from griddesign.papers.dxf_library import library
from griddesign.plate.foreign import ForeignPlate, read_dxf
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline, Segment

FEW = settings(max_examples=40, deadline=None)


def read(content: bytes, **options: Any) -> ForeignPlate:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plate.dxf"
        path.write_bytes(content)
        return read_dxf(path, **options)


@st.composite
def plates(draw: st.DrawFn) -> Outline:
    """A star-shaped plate of lines and arcs, bulging either way by less than its corners allow, with two eyes."""
    count = draw(st.integers(3, 12))
    radii = [draw(st.floats(0.08, 0.12)) for _ in range(count)]
    corners = [(r * math.cos(math.tau * k / count), r * math.sin(math.tau * k / count)) for k, r in enumerate(radii)]
    sides: list[Segment] = []
    for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
        bulge = draw(st.sampled_from([0.0, 0.15, -0.15, 0.05, -0.02]))
        sides.append(_side(start, end, bulge))
    eyes = (Circle((-0.015, 0.0), 0.006), Circle((0.015, 0.0), 0.006))
    return Outline(Loop(tuple(sides)), eyes, (0, 1))


def _side(start: tuple[float, float], end: tuple[float, float], bulge: float) -> Segment:
    if not bulge:
        return Line(start, end)
    aside = (1 - bulge**2) / (4 * bulge)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    centre = (middle[0] - aside * (end[1] - start[1]), middle[1] + aside * (end[0] - start[0]))
    return Arc(start, end, centre, bulge > 0)


def drawn(outline: Outline, seed: int, gap_mm: float, away_mm: float, form: str = "asc") -> bytes:
    """The plate by the drawing library in mm: sides shuffled, turned end for end, moved apart, far from the origin."""
    chance = random.Random(seed)
    drawing = library().new("R2010")
    drawing.header["$INSUNITS"] = 4
    space = drawing.modelspace()

    def at(point: tuple[float, float], gap: float = 0.0) -> tuple[float, float]:
        turn = chance.uniform(0, math.tau)
        x, y = (1000 * value + away_mm for value in point)
        return (x + gap * math.cos(turn), y + gap * math.sin(turn))

    for side in chance.sample(list(outline.outer.segments), len(outline.outer.segments)):
        if isinstance(side, Line):
            ends = [at(side.start, gap_mm), at(side.end, gap_mm)]
            chance.shuffle(ends)
            space.add_line(*ends)
        else:
            bulge = math.tan(side.turn_rad / 4)
            points = [(*at(side.start), bulge), (*at(side.end), 0.0)]
            if chance.random() < 0.5:
                points = [(*at(side.end), -bulge), (*at(side.start), 0.0)]
            space.add_lwpolyline(points, format="xyb")
    for hole in outline.holes:
        assert isinstance(hole, Circle)
        space.add_circle(at(hole.centre), 1000 * hole.radius_m)
    if form == "bin":
        stream = io.BytesIO()
        drawing.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue().encode()


@FEW
@given(plates(), st.integers(0, 2**32), st.sampled_from(["asc", "bin"]), st.sampled_from([0.0, 1000.0, -1e7]))
def test_any_order_direction_place_and_form(outline: Outline, seed: int, form: str, away_mm: float) -> None:
    plate = read(drawn(outline, seed, 0.0, away_mm, form))
    assert math.isclose(plate.outline.area_m2, outline.area_m2, rel_tol=1e-8)
    assert math.isclose(plate.outline.perimeter_m, outline.perimeter_m, rel_tol=1e-8)
    assert plate.terminals == ("H1", "H2")
    assert plate.doubled == plate.strays == ()


@FEW
@given(plates(), st.integers(0, 2**32))
def test_gaps_within_the_tolerance_move_the_area_no_more_than_they_are_wide(outline: Outline, seed: int) -> None:
    plate = read(drawn(outline, seed, 0.0045, 0.0))
    assert abs(plate.outline.area_m2 - outline.area_m2) <= 4.5e-6 * outline.perimeter_m
    assert all(healed.gap_m <= 1e-5 for healed in plate.healed)


@FEW
@given(plates(), st.integers(0, 2**32))
def test_one_side_left_out_is_never_a_plate(outline: Outline, seed: int) -> None:
    whole = list(outline.outer.segments)
    left = random.Random(seed).randrange(len(whole))
    lines = [s for k, s in enumerate(whole) if k != left]
    try:
        read(drawn(_Bare(lines, outline.holes), seed, 0.0, 0.0))  # type: ignore[arg-type]
    except InputError as error:
        assert "open at" in error.message or "stray" in error.message
    else:
        raise AssertionError("an open outline was read as a plate")


class _Bare:
    """An outline that may be open: just what ``drawn`` looks at."""

    def __init__(self, segments: list[Segment], holes: tuple[Any, ...]) -> None:
        self.outer = self
        self.segments = segments
        self.holes = holes


@FEW
@given(plates(), st.sampled_from(["mm", "inch"]), st.sampled_from(["R12", "R2000", "R2010"]))
def test_our_own_cutting_file_reads_back_as_the_same_plate(outline: Outline, unit: Any, version: Any) -> None:
    plate = read(cut_dxf(outline, unit, version), units=unit)
    assert math.isclose(plate.outline.area_m2, outline.area_m2, rel_tol=1e-9)
    assert math.isclose(plate.outline.perimeter_m, outline.perimeter_m, rel_tol=1e-9)
    assert len(plate.outline.outer.segments) == len(outline.outer.segments)


_EYES = (Circle((-0.015, 0.03), 0.006), Circle((0.015, 0.03), 0.006))
_CORNERS = ((0.0, -0.1), (0.1, 0.1), (-0.1, 0.1))
_ROUNDED = tuple(_side(_CORNERS[k - 1], _CORNERS[k], 0.1) for k in range(3))
SOUND = drawn(Outline(Loop(_ROUNDED), _EYES), 1, 0.0, 0.0)
BINARY = drawn(Outline(Loop(_ROUNDED), _EYES), 2, 0.0, 0.0, "bin")


@FEW
@given(st.integers(0, len(SOUND) - 1))
def test_cut_short_anywhere_is_refused(length: int) -> None:
    kept = SOUND[:length]
    if kept.rstrip().endswith(b"EOF"):
        return
    try:
        read(kept)
    except InputError:
        return
    raise AssertionError(f"cut to {length} bytes it was read as a plate")


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32), st.integers(1, 6), st.booleans())
def test_damage_ends_in_a_message_or_a_plate(seed: int, hits: int, binary: bool) -> None:
    """Bytes changed, lost or doubled inside the entities: only the project's own errors may come out."""
    chance = random.Random(seed)
    content = bytearray(BINARY if binary else SOUND)
    begin = content.index(b"ENTITIES")
    for _ in range(hits):
        at = chance.randrange(begin, len(content))
        kind = chance.randrange(3)
        if kind == 0:
            content[at] = chance.choice(b"0123456789.-,e\n \0") if not binary else chance.randrange(256)
        elif kind == 1:
            del content[at : at + chance.randrange(1, 9)]
        else:
            content[at:at] = content[at : at + chance.randrange(1, 9)]
    try:
        plate = read(bytes(content))
    except InputError as error:
        assert error.message
    else:
        assert plate.outline.area_m2 > 0
