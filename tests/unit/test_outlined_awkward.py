"""Awkward drawings through ``griddesign plate`` itself: the plate's own ohms, or a message of their own, never another
number.

The plate is 200 x 60 mm with two holes of 12 mm, drawn in many ways; written by hand as text, some by ezdxf. Its
squares are checked against the same plate given to the solver without any file.
"""

import io
import json
import math
import random
from collections.abc import Callable, Iterable
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from griddesign.cli import main
from griddesign.plate.field import Domain, RimTerminal, squares

Pair = tuple[float, float]
CORNERS = ((0.0, 0.0), (200.0, 0.0), (200.0, 60.0), (0.0, 60.0))
MM = "0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC"
INCH = "0 SECTION 2 HEADER 9 $INSUNITS 70 1 0 ENDSEC"
MADE = ("--metal", "ss304", "--thickness", "8 mm", "--bracket", "0.1 %", "--json")


def line(a: Pair, b: Pair) -> str:
    return f"0 LINE 8 0 10 {a[0]!r} 20 {a[1]!r} 11 {b[0]!r} 21 {b[1]!r}"


def ring(points: Iterable[Pair]) -> list[str]:
    corners = list(points)
    return [line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


def circle(x: float, y: float, radius: float) -> str:
    return f"0 CIRCLE 8 0 10 {x!r} 20 {y!r} 40 {radius!r}"


EYES = (circle(20.0, 30.0, 6.0), circle(180.0, 30.0, 6.0))
SIDES = tuple(ring(CORNERS))
PLATE = (*SIDES, *EYES)


def dxf(*entities: str, header: str = MM, blocks: str = "", end: str = "0 ENDSEC 0 EOF") -> bytes:
    words = " ".join((header, blocks, "0 SECTION 2 ENTITIES", *entities, end)).split()
    return ("\n".join(words) + "\n").encode("ascii")


def scaled(factor: float) -> list[str]:
    eyes = (circle(x * factor, 30 * factor, 6 * factor) for x in (20.0, 180.0))
    return [*ring([(x * factor, y * factor) for x, y in CORNERS]), *eyes]


def mirrored_halves() -> bytes:
    half = (line((100, 60), (0, 60)), line((0, 60), (0, 0)), line((0, 0), (100, 0)), EYES[0])
    block = " ".join(("0 SECTION 2 BLOCKS 0 BLOCK 8 0 2 HALF 70 0 10 0 20 0", *half, "0 ENDBLK 8 0 0 ENDSEC"))
    there = "0 INSERT 8 0 2 HALF 10 0 20 0"
    back = "0 INSERT 8 0 2 HALF 10 200 20 0 41 -1 42 1 43 1"
    return dxf(there, back, blocks=block)


def chopped(per_side: int) -> bytes:
    """The rim as 2 x per_side + 2 edges in any order."""
    rim = [(200 * k / per_side, 0.0) for k in range(per_side)] + [
        (200 - 200 * k / per_side, 60.0) for k in range(per_side + 1)
    ]
    edges = ring([*rim[:per_side], (200.0, 0.0), *rim[per_side:]])
    random.Random(1).shuffle(edges)
    return dxf(*edges, *EYES)


def round_polylines() -> bytes:
    def eye(x: float) -> str:
        return f"0 LWPOLYLINE 8 0 90 2 70 1 10 {x - 6!r} 20 30 42 1 10 {x + 6!r} 20 30 42 1"

    rim = " ".join(f"10 {x!r} 20 {y!r}" for x, y in CORNERS)
    return dxf(f"0 LWPOLYLINE 8 0 90 4 70 1 {rim}", eye(20.0), eye(180.0))


def by_library(release: str, binary: bool, spline: bool = False) -> bytes:
    document = ezdxf.new(release)
    document.units = ezdxf.units.MM
    space = document.modelspace()
    for a, b in zip(CORNERS, CORNERS[1:] + CORNERS[:1], strict=True):
        if spline:
            space.add_open_spline([np.array(a) * (1 - k / 3) + np.array(b) * k / 3 for k in range(4)], degree=3)
        else:
            space.add_line(a, b)
    for x in (20, 180):
        if spline:
            space.add_ellipse((x, 30), (6, 0), 1.0)
        else:
            space.add_circle((x, 30), 6)
    if binary:
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        return stream.getvalue()
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode("ascii")


RIGHT: dict[str, tuple[bytes, tuple[str, ...]]] = {
    "as it is": (dxf(*PLATE), ()),
    "in inches": (dxf(*scaled(1 / 25.4), header=INCH), ()),
    "no unit, but given": (dxf(*PLATE, header=""), ("--units", "mm")),
    "a healed gap": (dxf(line((0, 0), (199.995, 0)), *SIDES[1:], *EYES), ()),
    "a doubled edge": (dxf(*PLATE, SIDES[1], line((0, 60), (200, 60))), ()),
    "a stray edge beside": (dxf(*PLATE, line((300, 0), (310, 5))), ()),
    "a spike of no width": (dxf(*PLATE, line((100, 0), (100, 0))), ()),
    "twenty thousand edges": (chopped(9_999), ()),
    "round polylines": (round_polylines(), ()),
    "mirrored blocks": (mirrored_halves(), ()),
    "far from the origin": (dxf(*ring([(x + 1e6, y) for x, y in CORNERS]), circle(1e6 + 20, 30, 6),
                                circle(1e6 + 180, 30, 6)), ()),
    "R12 without a unit": (by_library("R12", binary=False), ("--units", "mm")),
    "R12 binary": (by_library("R12", binary=True), ("--units", "mm")),
    "R2018": (by_library("R2018", binary=False), ()),
    "R2018 binary": (by_library("R2018", binary=True), ()),
    "splines and ellipses": (by_library("R2010", binary=False, spline=True), ()),
    "ends of line of another system": (dxf(*PLATE).replace(b"\n", b"\r\n"), ()),
}  # fmt: skip

WRONG: dict[str, tuple[bytes, str]] = {
    "no unit": (dxf(*PLATE, header=""), "does not say its unit"),
    "open gap": (dxf(*SIDES[:3], line((0, 60), (0, 0.5)), *EYES), "0.5 mm"),
    "stray edge in the metal": (dxf(*PLATE, line((90, 20), (110, 25))), "in the metal"),
    "half an edge doubled": (dxf(*PLATE, line((50, 0), (150, 0))), "(50, 0)"),
    "T-junction": (dxf(*PLATE, line((200, 0), (200, -40))), "(200, 0)"),
    "self-crossing": (dxf(*ring([(0, 0), (200, 60), (200, 0), (0, 60)]), *EYES), "cross"),
    "island in a hole": (dxf(*PLATE, circle(100, 30, 20), circle(100, 30, 10)), "island"),
    "hole over the rim": (dxf(*PLATE, circle(100, 58, 6)), "(94.343, 60)"),
    "two plates": (dxf(*PLATE, *ring([(x + 300, y) for x, y in CORNERS])), "2 separate closed lines"),
    "one hole": (dxf(*SIDES, EYES[0]), "hole"),
    "three holes": (dxf(*PLATE, circle(100, 30, 6)), "H3"),
    "no metal": (dxf(*EYES), "12 mm by 12 mm about (20, 30)"),
    "a sliver": (dxf(*ring([(0, 0), (200, 0), (200, 0.004), (0, 0.004)])), "0.004"),
    "truncated": (dxf(*PLATE)[:300], "cut short"),
    "decimal commas": (dxf(*PLATE).replace(b"200.0", b"200,0"), "decimal point only"),
    "DWG": (b"AC1027\0\0\0\0\0" + bytes(300), "DWG"),
    "empty": (b"", "empty"),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(300), "not a DXF"),
    "not a number": (dxf(*PLATE).replace(b"180.0", b"nan"), "nan"),
    "in kilometres": (dxf(*scaled(1e4)), "1000 m"),
    "tilted": (dxf(*SIDES, EYES[0], "0 CIRCLE 8 0 10 180 20 30 40 6 210 1 220 0 230 0"), "plane"),
    "a mesh": (dxf(*PLATE, "0 3DFACE 8 0 10 0 20 0 11 1 21 0 12 1 22 1 13 0 23 1"), "3DFACE"),
    "terminals that touch": (dxf(*SIDES, circle(94, 30, 6), circle(106, 30, 6)), "touch"),
}


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """The answer, or the error text with its exit code before it."""
    monkeypatch.chdir(tmp_path)

    def call(content: bytes, *words: str) -> str:
        (tmp_path / "plate.dxf").write_bytes(content)
        with pytest.raises(SystemExit) as ended:
            main(["plate", "plate.dxf", *MADE, *words])
        out, err = capfd.readouterr()
        return out if ended.value.code == 0 else f"{ended.value.code} {err}"

    return call


@pytest.fixture(scope="module")
def true_squares() -> float:
    eyes = [np.array([(x - 6, 30.0), (x + 6, 30.0)]) for x in (20, 180)]
    bulges = (np.zeros(4), np.ones(2), np.ones(2))
    return squares(Domain((np.array(CORNERS), *eyes), (RimTerminal(1), RimTerminal(2)), None, bulges), 1e-5).value


@pytest.mark.parametrize("name", RIGHT)
def test_the_plate_has_its_ohms_however_it_is_drawn(name: str, run: Callable[..., str], true_squares: float) -> None:
    content, words = RIGHT[name]
    found = json.loads(run(content, *words))
    slack = 1e-4 if "healed" in name or "spline" in name else 0.0
    assert found["squares"] == pytest.approx(true_squares, rel=1e-3)
    assert found["low_ohm"] / found["cold_ohm"] * found["squares"] <= true_squares * (1 + slack)
    assert found["high_ohm"] / found["cold_ohm"] * found["squares"] >= true_squares * (1 - slack)
    assert found["area_mm2"] == pytest.approx(200 * 60 - 72 * math.pi, rel=1e-4)


def test_every_other_file_has_a_message_of_its_own(run: Callable[..., str]) -> None:
    said = {name: run(content) for name, (content, _) in WRONG.items()}
    for name, text in said.items():
        assert text.startswith("2 {") or text.startswith("2 "), (name, text)
        assert WRONG[name][1] in text, (name, text)
    assert len(set(said.values())) == len(WRONG) >= 20
