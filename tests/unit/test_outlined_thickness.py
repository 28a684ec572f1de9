"""An outline whose thickness is not the same all over, through ``griddesign plate`` itself: bosses, worn places, rings,
tapers; one message for each that cannot be; papers and the DXF of what was solved.

The plate is 200 x 30 mm with holes of 12 mm, written by hand as text. Exact figures: strips between clamped ends.
"""

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from griddesign.cli import main
from griddesign.cli.plate import command
from griddesign.cli.plate_outline import report_of
from griddesign.papers.outlined_json import outline_json
from griddesign.plate.foreign import read_dxf
from griddesign.plate.outline import Circle
from griddesign.plate.uneven import Reading, plane_through

Pair = tuple[float, float]
METAL = ("--metal", "ss304")
RHO, DENSITY = 0.72e-6, 7900.0
MADE = (*METAL, "--resistivity", "72 uohm cm", "--thickness", "8 mm")
ENDS = ("--clamp", "-1 mm, -1 mm, 10 mm, 31 mm", "--clamp", "190 mm, -1 mm, 201 mm, 31 mm")


def line(a: Pair, b: Pair, layer: str) -> str:
    return f"0 LINE 8 {layer} 10 {a[0]!r} 20 {a[1]!r} 11 {b[0]!r} 21 {b[1]!r}"


def box(left: float, low: float, right: float, high: float, layer: str = "0") -> str:
    corners = [(left, low), (right, low), (right, high), (left, high)]
    return " ".join(line(a, b, layer) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))


def circle(x: float, radius: float, layer: str = "0") -> str:
    return f"0 CIRCLE 8 {layer} 10 {x!r} 20 15.0 40 {radius!r}"


STRIP, EYES = box(0.0, 0.0, 200.0, 30.0), circle(15.0, 6.0) + " " + circle(185.0, 6.0)


@pytest.fixture
def drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], Path]:
    """A drawing of these entities, in the current folder."""
    monkeypatch.chdir(tmp_path)

    def written(entities: str) -> Path:
        head, end = "0 SECTION 2 HEADER 9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 ENTITIES", "0 ENDSEC 0 EOF"
        Path("plate.dxf").write_text("\n".join(f"{head} {entities} {end}".split()) + "\n", encoding="ascii")
        return Path("plate.dxf")

    return written


@pytest.fixture
def figures(drawing: Callable[[str], Path]) -> Callable[..., Any]:
    """The answer to ``--json`` for these entities and words, without the terminal between."""

    def answer(entities: str, *words: str) -> Any:
        asked = command.make_context("plate", [str(drawing(entities)), *words]).params
        return outline_json(report_of(asked.pop("source"), asked))

    return answer


@pytest.fixture
def plate(drawing: Callable[[str], Path], capfd: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run the command once on a drawing of these entities: exit code, stdout and stderr."""

    def call(entities: str, *words: str) -> tuple[int, str, str]:
        drawing(entities)
        with pytest.raises(SystemExit) as ended:
            main(["plate", "plate.dxf", *words])
        out, err = capfd.readouterr()
        assert "Traceback" not in out + err
        return int(ended.value.code or 0), out, err

    return call


def test_a_band_across_the_strip_is_in_series(figures: Any) -> None:
    """180 mm between clamps, 40 mm of it 6 mm thick: ohms, mass, both faces, rim and the two steps."""
    band = box(80.0, -5.0, 120.0, 35.0, "WORN")
    data = figures(f"{STRIP} {band}", *MADE, *ENDS, "--thickness-of", "worn", "6 mm")
    exact = RHO / 0.030 * (0.140 / 0.008 + 0.040 / 0.006)
    assert data["cold_ohm"] == pytest.approx(exact, rel=1e-9)
    assert data["low_ohm"] <= exact * (1 + 1e-12) and exact <= data["high_ohm"] * (1 + 1e-12)
    assert data["mass_kg"] == pytest.approx(DENSITY * 0.030 * (0.160 * 0.008 + 0.040 * 0.006), rel=1e-6)
    assert data["mean_thickness_mm"] == pytest.approx(7.6, rel=1e-6)
    rim = 2 * (0.160 * 0.008 + 0.040 * 0.006) + 2 * 0.030 * 0.008
    assert data["surface_mm2"] == pytest.approx(1e6 * (2 * 0.2 * 0.03 + rim + 2 * 0.030 * 0.002), rel=1e-4)
    assert data["thickness_regions"] == [
        {"layer": "worn", "thickness_mm": 6.0, "lines": 1, "area_mm2": pytest.approx(1200)}
    ]
    steps = next(doubt for doubt in data["doubts"] if doubt["from"] == "steps of thickness")
    excess = 2 * (25 / 12 * np.log(7) - 2 * np.log(48 / 7)) / np.pi * RHO / 0.030  # two steps of 4 to 3 in depth
    assert steps["low_percent"] == 0 and steps["high_percent"] == pytest.approx(100 * excess / exact, rel=1e-3)
    volume, squares = 0.030 * (0.140 + 0.040 * 6 / 8), exact * 0.008 / RHO  # of the metal between, over 8 mm
    assert data["mean_width_mm"] == pytest.approx(1e3 * np.sqrt(volume / squares), rel=1e-6)
    assert data["crowding"] == pytest.approx(data["mean_width_mm"] * 8 / (30 * 6), rel=1e-6)


def test_bosses_drawn_over_the_rim_and_round_the_eyes(figures: Any) -> None:
    """Twice the metal round the eyes takes ohms away; a circle at the hole too makes a ring of the same metal."""
    bosses = f"{circle(15.0, 16.0, 'BOSS')} {circle(185.0, 16.0, 'BOSS')}"
    rings = f"{bosses} {circle(15.0, 6.0, 'BOSS')} {circle(185.0, 6.0, 'BOSS')}"
    words = (*MADE, "--thickness-of", "BOSS", "16 mm")
    found = [figures(f"{STRIP} {EYES} {drawn}", *words) for drawn in (bosses, rings)]
    even = figures(f"{STRIP} {EYES}", *MADE)
    assert found[0]["high_ohm"] < even["low_ohm"]
    assert found[0]["cold_ohm"] == found[1]["cold_ohm"] and found[0]["mass_kg"] == pytest.approx(found[1]["mass_kg"])
    more = DENSITY * 0.008 * 1e-6 * sum(one["area_mm2"] for one in found[0]["thickness_regions"])
    assert found[0]["mass_kg"] - even["mass_kg"] == pytest.approx(more, rel=1e-6)


def test_a_region_drawn_as_an_ellipse(figures: Any) -> None:
    """As long as wide it is the circle; where the file is silent of its ends it goes all round."""
    wish = ("--thickness-of", "BOSS", "16 mm")
    drawn = ("0 ELLIPSE 8 BOSS 10 100 20 15 11 10 21 0 40 1.0", circle(100.0, 10.0, "BOSS"))
    ellipse, round_one = (figures(f"{STRIP} {EYES} {one}", *MADE, *wish) for one in drawn)
    for key in ("cold_ohm", "mass_kg", "surface_mm2"):
        assert ellipse[key] == pytest.approx(round_one[key], rel=1e-4)
    metal_m3 = (0.2 * 0.03 - 2 * np.pi * 0.006**2) * 0.008 + np.pi * 0.010**2 * 0.008
    assert ellipse["mass_kg"] == pytest.approx(DENSITY * metal_m3, rel=1e-4)


def test_one_region_in_another_and_a_ring(figures: Any) -> None:
    """The innermost line counts; two lines of one layer leave what is inside both as it was around them."""
    band, spot = box(60.0, -5.0, 140.0, 35.0, "BAND"), box(90.0, -5.0, 110.0, 35.0, "SPOT")
    of_band, of_spot = ("--thickness-of", "BAND", "4 mm"), ("--thickness-of", "SPOT", "16 mm")
    nested = figures(f"{STRIP} {band} {spot}", *MADE, *ENDS, *of_band, *of_spot)
    assert nested["cold_ohm"] == pytest.approx(RHO / 0.03 * (0.1 / 0.008 + 0.06 / 0.004 + 0.02 / 0.016), rel=1e-9)
    hollow = figures(f"{STRIP} {band} {spot.replace('SPOT', 'BAND')}", *MADE, *ENDS, *of_band)
    assert hollow["cold_ohm"] == pytest.approx(RHO / 0.03 * (0.12 / 0.008 + 0.06 / 0.004), rel=1e-9)
    assert hollow["thickness_regions"][0]["area_mm2"] == pytest.approx(60 * 30)


def test_more_lines_than_can_be_solved_in_a_moment_are_refused_at_once(plate: Any) -> None:
    """Four hundred dimples would be at work for minutes."""
    dimples = " ".join(circle(30.0 + 0.3 * number, 0.1, "DIMPLES") for number in range(400))
    code, _, error = plate(f"{STRIP} {EYES} {dimples}", *MADE, "--thickness-of", "DIMPLES", "6 mm")
    assert code == 2 and "the thickness regions have 400 closed lines; more than 50 are not solved" in error


def test_a_taper_through_two_readings(figures: Any, plate: Any) -> None:
    """6 to 10 mm along 200 mm: between the clamps the integral of dx/t; its bracket is rigorous too."""
    words = ("--thickness-at", "0 mm, 7 mm, 6 mm", "--thickness-at", "200 mm, 7 mm, 10 mm")
    data = figures(STRIP, *METAL, "--resistivity", "72 uohm cm", *words, *ENDS)
    exact = RHO / 0.030 * 0.200 / 0.004 * np.log(9.8 / 6.2)
    assert data["low_ohm"] <= exact <= data["high_ohm"]
    assert data["cold_ohm"] == pytest.approx(exact, rel=5e-4)
    assert data["thickness_mm"] == data["mean_thickness_mm"] == pytest.approx(8.0, rel=1e-9)
    assert data["mass_kg"] == pytest.approx(DENSITY * 0.2 * 0.03 * 0.008, rel=1e-9)
    out = plate(STRIP, *METAL, *words, *ENDS)[1]
    assert "6.000 mm at (0, 7) mm; 10.00 mm at (200, 7) mm; tapers, mean 8.000 mm" in out


def test_tapers_aslant() -> None:
    """Two places 50 mm apart, 3 to 4 aslant: 2 mm more along the line between them and nothing across it. Three: the
    plane through them all."""
    two = plane_through([Reading((0.01, 0.02), 0.008), Reading((0.04, 0.06), 0.010)])
    assert two.at((0.01 + 0.03 / 2, 0.02 + 0.04 / 2)) == pytest.approx(0.009)
    assert two.at((0.01 - 0.04, 0.02 + 0.03)) == pytest.approx(0.008)
    assert two.at((0.04 + 0.08, 0.06 - 0.06)) == pytest.approx(0.010)
    places = {(0.01, 0.02): 0.008, (0.04, 0.06): 0.010, (0.03, -0.01): 0.005}
    three = plane_through([Reading(at, thick) for at, thick in places.items()])
    assert [three.at(at) for at in places] == pytest.approx(list(places.values()))
    part = three.share(0.004)
    for (x, y), thick in places.items():
        assert part.level + part.along_x * x + part.along_y * y == pytest.approx(thick / 0.004)


def test_a_range_of_a_regions_thickness_is_a_doubt(figures: Any) -> None:
    band = box(80.0, 0.0, 120.0, 30.0, "WORN")
    data = figures(f"{STRIP} {band}", *MADE, *ENDS, "--thickness-of", "WORN", "5 mm to 7 mm")
    doubt = next(doubt for doubt in data["doubts"] if doubt["from"] == "thickness")
    ends = [(0.14 / 0.008 + 0.04 / t) / (0.14 / 0.008 + 0.04 / 0.006) - 1 for t in (0.007, 0.005)]
    assert [doubt["low_percent"], doubt["high_percent"]] == pytest.approx([100 * end for end in ends], rel=1e-6)


def test_papers_and_the_dxf_of_what_was_solved(plate: Any, tmp_path: Path) -> None:
    drawn = f"{STRIP} {EYES} {circle(15.0, 12.0, 'BOSS')} {box(80.0, -5.0, 120.0, 35.0, 'WORN')}"
    words = (*MADE, "--thickness-of", "BOSS", "12 mm", "--thickness-of", "WORN", "6 mm")
    code, out, _ = plate(drawn, *words, "--out", "papers")
    assert code == 0 and "BOSS 12.00 mm, 339.3 mm²; WORN 6.000 mm, 1200 mm²; mean" in out
    assert "Layer BOSS: 1 closed line(s), a thickness region, not cut." in out
    document = ezdxf.readfile(tmp_path / "papers" / "plate_solved.dxf")  # type: ignore[attr-defined]
    by_layer = Counter(entity.dxf.layer for entity in document.modelspace())
    assert by_layer == {"BOSS": 1, "WORN": 4, "CUT_HOLES": 2, "CUT_OUTER": 4} and not document.audit().errors
    again = read_dxf(tmp_path / "papers" / "plate_solved.dxf", regions=("BOSS", "WORN"))
    assert again.regions[0].loops == (Circle((0.015, 0.015), pytest.approx(0.012)),)
    assert again.outline.area_m2 == pytest.approx(0.2 * 0.03 - 2 * np.pi * 0.006**2, rel=1e-9)


BOSS = circle(15.0, 12.0, "BOSS")
FAR, OPEN = circle(300.0, 9.0, "SPOT"), line((50.0, 0.0), (50.0, 30.0), "SPOT")
TEXT = "0 TEXT 8 SPOT 10 9 20 9 40 2 1 worn"
BOW = [(60.0, 5.0), (140.0, 25.0), (140.0, 5.0), (60.0, 25.0)]
CROSSING = " ".join(line(a, b, "SPOT") for a, b in zip(BOW, BOW[1:] + BOW[:1], strict=True))
BESIDE = box(20.0, 5.0, 60.0, 25.0, "SPOT")


@pytest.mark.parametrize(
    ("drawn", "words", "said"),
    [
        (f"{BOSS} {BESIDE}", ("BOSS=12 mm", "SPOT=6 mm"), "BOSS and SPOT cross: both cover"),
        (f"{BOSS} {circle(22.0, 12.0, 'BOSS')}", ("BOSS=12 mm",), "BOSS and BOSS cross"),
        (FAR, ("SPOT=6 mm",), "SPOT lies outside the metal"),
        (circle(15.0, 5.0, "SPOT"), ("SPOT=6 mm",), "SPOT lies outside the metal"),
        (OPEN, ("SPOT=6 mm",), "SPOT: the lines are open at 2 ends: (50, 0) mm"),
        (TEXT, ("SPOT=6 mm",), "layer SPOT holds no closed line"),
        (CROSSING, ("SPOT=6 mm",), "SPOT: a closed line crosses or touches itself"),
        (BOSS, ("NOSE=6 mm",), "nothing on a layer 'NOSE'"),
        (BOSS, ("BOSS=0 mm",), "--thickness-of BOSS: '0 mm' cannot be"),
        (BOSS, ("BOSS=6",), "unit"),
        (BOSS, ("BOSS=6 mm", "boss=7 mm"), "given two thicknesses"),
        (BOSS, (), "name its layer with --thickness-of"),
        (box(80.0, -5.0, 120.0, 35.0, "WORN"), (), "named with --thickness-of"),
        (circle(15.0, 12.0, "CUT_HOLES"), ("CUT_HOLES=9 mm",), "CUT_HOLES would be cut"),
    ],
)  # fmt: skip
def test_regions_that_cannot_be_are_refused(plate: Any, drawn: str, words: tuple[str, ...], said: str) -> None:
    asked = [word for one in words for word in ("--thickness-of", *one.split("="))]
    code, out, err = plate(f"{STRIP} {EYES} {drawn}", *MADE, *asked, "--out", "papers")
    assert code == 2 and out == "" and said in err and err.endswith("Nothing was written.\n")
    assert not Path("papers").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("0 mm, 0 mm, 6 mm",), "at two or three places, not at 1"),
        (("0 mm, 0 mm, 6 mm",) * 2, "lie on one line, or on each other"),
        (("0 mm, 0 mm, 6 mm", "9 mm, 0 mm, 6 mm", "20 mm, 0 mm, 6 mm"), "lie on one line"),
        (("0 mm, 0 mm, 6 mm", "50 mm, 0 mm, 4 mm"), "taper to -2 mm"),
        (("0 mm, 0 mm, 6 mm", "50 mm, 4 mm"), "is not x, y and a thickness"),
        (("0 mm, 0 mm, 6 mm", "50 mm, 0 mm, 0 mm"), "cannot be"),
        (("0 mm, 0 mm, 6 mm", "50 mm, 0 mm, 5 mm to 6 mm"), "holds a range"),
    ],
)
def test_tapers_that_cannot_be_are_refused(plate: Any, words: tuple[str, ...], said: str) -> None:
    code, out, err = plate(STRIP, *METAL, *ENDS, *(word for one in words for word in ("--thickness-at", one)))
    assert code == 2 and out == "" and said in err


def test_a_taper_and_one_thickness_are_two_answers(plate: Any) -> None:
    assert "two answers to one question" in plate(STRIP, *MADE, *ENDS, "--thickness-at", "0 mm, 0 mm, 6 mm")[2]


def test_the_density_used_here_is_the_metals(figures: Any) -> None:
    data = figures(STRIP, *MADE, *ENDS)
    assert data["mass_kg"] == pytest.approx(DENSITY * 0.2 * 0.03 * 0.008)
