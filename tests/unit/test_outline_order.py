"""A stranger's outline ordered to given ohms, and its cutting file offset for a kerf, through ``griddesign plate``.

Exact figures: a strip of 200 x 30 mm between clamped ends, R = resistivity x 180 mm/(width x thickness).
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from griddesign.cli import main
from griddesign.cli.plate import command
from griddesign.cli.plate_outline import report_of
from griddesign.errors import GeometryError
from griddesign.papers.cut_dxf import cut_dxf, read_cut
from griddesign.papers.outlined_json import outline_json
from griddesign.plate.kerf import edges_moved
from griddesign.plate.outline import Arc, Circle, Line, Loop, Outline, Point
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

RHO, LENGTH_M = 0.72e-6, 0.180
MADE = ("--metal", "ss304", "--resistivity", "72 uohm cm")
ENDS = ("--clamp", "-9 mm, -9 mm, 10 mm, 39 mm", "--clamp", "190 mm, -9 mm, 209 mm, 39 mm")


def ring(*corners: Point) -> Loop:
    return Loop(tuple(Line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)))


STRIP = Outline(ring((0.0, 0.0), (0.2, 0.0), (0.2, 0.03), (0.0, 0.03)))
FOLDED = outline_of(
    Zigzag(0.100, 4, 0.008, 0.007, 0.005, Eye(0.030, 0.014, 0.021, fillet_m=0.004), "one edge", fillet_m=0.002)
)


@pytest.fixture
def drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[Outline], Path]:
    monkeypatch.chdir(tmp_path)

    def written(outline: Outline) -> Path:
        Path("plate.dxf").write_bytes(cut_dxf(outline))
        return Path("plate.dxf")

    return written


@pytest.fixture
def figures(drawing: Callable[[Outline], Path]) -> Callable[..., Any]:
    """The answer to ``--json`` without the terminal between."""

    def answer(outline: Outline, *words: str) -> Any:
        asked = command.make_context("plate", [str(drawing(outline)), *MADE, *words]).params
        return outline_json(report_of(asked.pop("source"), asked))

    return answer


@pytest.fixture
def run(drawing: Callable[[Outline], Path], capfd: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    def call(outline: Outline, *words: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(["plate", str(drawing(outline)), *MADE, *words])
        out, err = capfd.readouterr()
        return int(ended.value.code or 0), out, err

    return call


def test_the_edges_of_a_strip_give_way(figures: Any) -> None:
    for ohm in (0.00050, 0.00060):
        data = figures(STRIP, *ENDS, "--thickness", "8 mm", "--ohms", f"{ohm} ohm")
        wide_mm = 1000 * RHO * LENGTH_M / (ohm * 0.008)
        assert data["cold_ohm"] == pytest.approx(ohm, rel=1e-4)
        assert data["order"]["edges_out_mm"] == pytest.approx((wide_mm - 30) / 2, abs=2e-3)
        assert data["mean_width_mm"] == pytest.approx(wide_mm, rel=1e-4)
        assert data["order"]["as_drawn"]["cold_ohm"] == pytest.approx(RHO * LENGTH_M / (0.03 * 0.008), rel=1e-9)


def test_the_nearest_sheet_and_then_the_edges(figures: Any) -> None:
    """0.85 mOhm wants 5.08 mm; gauge 6 of the US standard scale is 0.203125 in (the shop's table)."""
    data = figures(STRIP, *ENDS, "--ohms", "0.00085 ohm")
    assert data["thickness_mm"] == pytest.approx(25.4 * 0.203125) and data["order"]["sheet"] == "gauge 6, US standard"
    assert data["cold_ohm"] == pytest.approx(0.00085, rel=1e-4) and 0 < -data["order"]["edges_out_mm"] < 0.3
    on_hand = figures(
        STRIP, *ENDS, "--ohms", "0.00085 ohm", "--sheet", "3 mm", "--sheet", "5.1 mm", "--free", "thickness"
    )
    assert on_hand["thickness_mm"] == pytest.approx(5.1) and on_hand["order"]["edges_out_mm"] == 0
    assert on_hand["order"]["error_percent"] == pytest.approx(
        100 * (RHO * 0.18 / 0.03 / 0.0051 / 0.00085 - 1), rel=1e-6
    )


def test_a_casting_takes_any_thickness(figures: Any) -> None:
    words = ("--metal", "grey_iron_class30", "--made-by", "cast", "--free", "thickness", "--ohms", "0.00085 ohm")
    data = figures(STRIP, *ENDS, *words)
    assert data["thickness_mm"] == pytest.approx(1000 * RHO * LENGTH_M / 0.03 / 0.00085, rel=1e-9)
    assert data["order"]["sheet"] is None and data["metal"] == "grey_iron_class30"


def test_a_folded_plate_keeps_its_eyes_and_meets_its_ohms(run: Any, tmp_path: Path) -> None:
    code, out, _ = run(FOLDED, "--thickness", "5 mm", "--ohms", "12 mohm", "--kerf", "0.2 mm", "--out", "papers")
    assert code == 0 and "12.000 mΩ wanted, met within" in out and "Order: one first-off" in out
    names = ["plate_ordered_field.pdf", "plate_ordered_kerf-0.2mm_cut.dxf", "plate_ordered_solved.dxf"]
    assert sorted(path.name for path in (tmp_path / "papers").iterdir()) == names
    solved, cut = (read_cut((tmp_path / "papers" / name).read_bytes(), "mm") for name in (names[2], names[1]))
    assert {hole.centre for hole in FOLDED.holes} == {hole.centre for hole in solved[1]}
    assert [hole.radius_m for hole in solved[1]] == pytest.approx([hole.radius_m for hole in FOLDED.holes])
    assert [hole.radius_m for hole in cut[1]] == pytest.approx([hole.radius_m - 0.0001 for hole in FOLDED.holes])
    assert cut[0].area_m2 - solved[0].area_m2 == pytest.approx(0.0001 * solved[0].perimeter_m, rel=1e-3)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--thickness", "5 mm", "--ohms", "1 mohm"), "mm; beyond it: edges set off by"),
        (("--thickness", "5 mm", "--ohms", "1 ohm"), "Nearest is"),
        (("--free", "thickness", "--sheet", "5 mm", "--ohms", "9 mohm"), "by the thickness of this outline alone"),
        (("--free", "passes", "--ohms", "9 mohm"), "only strip_width or thickness can give way"),
        (("--free", "strip_width", "--ohms", "9 mohm"), "wants a thickness"),
        (("--thickness", "5 mm", "--sheet", "5 mm", "--ohms", "9 mohm"), "Leave one out"),
        (("--thickness", "5 mm", "--sheet", "5 mm"), "are for an order"),
        (("--thickness", "5 mm", "--ohms", "9 mohm to 10 mohm"), "is a range"),
        (("--thickness", "5 mm", "--ohms", "0 ohm"), "cannot be"),
        (("--thickness", "5 mm", "--kerf", "0.2 mm"), "--out DIR"),
        (("--thickness", "5 mm", "--kerf", "0.2 mm", "--made-by", "stamped", "--out", "x"), "has no kerf"),
        (("--thickness", "5 mm", "--kerf", "9 mm", "--out", "x"), "narrower than the kerf"),
    ],
)
def test_orders_that_cannot_be_are_refused(run: Any, words: tuple[str, ...], said: str) -> None:
    code, out, err = run(FOLDED, *words)
    assert code == 2 and out == "" and said in err and err.endswith("Nothing was written.\n")
    assert sorted(path.name for path in Path.cwd().iterdir()) == ["plate.dxf"]


@pytest.mark.parametrize("out_m", [0.001, -0.001])
def test_edges_moved_out_and_in(out_m: float) -> None:
    """An L with a slot and a round hole: corners stay sharp, the slot shrinks as the rim grows, the hole stays."""
    outer = ring((0.0, 0.0), (0.06, 0.0), (0.06, 0.02), (0.02, 0.02), (0.02, 0.05), (0.0, 0.05))
    half = [(0.03, 0.008), (0.05, 0.008), (0.05, 0.012), (0.03, 0.012)]
    slot = Loop((
        Line(half[3], half[2]), Arc(half[2], half[1], (0.05, 0.010), ccw=False),
        Line(half[1], half[0]), Arc(half[0], half[3], (0.03, 0.010), ccw=False),
    ))  # fmt: skip
    hole = Circle((0.01, 0.035), 0.004)
    moved = edges_moved(Outline(outer, (slot, hole)), out_m)
    wide = 0.02 + 2 * out_m
    assert moved.outer.area_m2 == pytest.approx((0.06 + 2 * out_m) * wide + 0.03 * wide, rel=1e-12)
    assert len(moved.outer.segments) == 6 and moved.holes[1] == hole
    radius = 0.002 - out_m
    assert moved.holes[0].area_m2 == pytest.approx(0.02 * 2 * radius + 3.14159265359 * radius**2, rel=1e-9)


def test_edges_that_run_together_are_refused() -> None:
    with pytest.raises(GeometryError, match="run together across a slot"):
        edges_moved(FOLDED, 0.0036)
    with pytest.raises(GeometryError, match=r"run together across a web|make no plate"):
        edges_moved(FOLDED, -0.0042)
