"""Charts: round axes, names beside curves, nothing outside the picture; and what importing the papers costs."""

import subprocess
import sys
from pathlib import Path

import pytest

from griddesign.errors import OutputError
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.chart import Chart, Curve, chart_picture
from griddesign.papers.marks import Words, flat

HEAT = Chart(
    "seconds on the notch",
    "metal, °C",
    (
        Curve("A", ((0.0, 20.0), (30.0, 180.0), (60.0, 260.0))),
        Curve("B", ((0.0, 20.0), (60.0, 262.0))),
        Curve("Ω<b>", ((0.0, 20.0), (60.0, 263.0))),
    ),
    (("limit 400 °C", 400.0),),
)


def words_of(chart: Chart) -> list[str]:
    return [mark.text for _, _, mark in flat(chart_picture(chart).marks) if isinstance(mark, Words)]


def test_axes_run_over_round_numbers_that_hold_every_value() -> None:
    words = words_of(HEAT)
    assert [word for word in words if word.isdigit()] == ["0", "10", "20", "30", "40", "50", "60", *HUNDREDS]
    assert {"A", "B", "Ω<b>", "limit 400 °C", "seconds on the notch", "metal, °C"} <= set(words)


HUNDREDS = [str(n) for n in range(0, 501, 100)]


@pytest.mark.parametrize("scale", [1e-6, 0.37, 1.0, 12345.6])
@pytest.mark.parametrize("shift", [0.0, -3.0, 1000.0])
def test_nothing_leaves_the_picture_or_meets_another_text(scale: float, shift: float) -> None:
    curves = tuple(
        Curve(f"curve {n}", tuple((scale * (x + shift), scale * (n * x + shift)) for x in range(11))) for n in range(5)
    )
    picture = chart_picture(Chart("x, A", "y, °C", curves))
    left, top, right, bottom = bounds(picture.marks)
    assert left >= -0.5
    assert top >= -0.5
    assert right <= picture.width_mm + 0.5
    assert bottom <= picture.height_mm + 0.5
    assert clashes(picture.marks) == []


def test_one_level_point_still_has_axes() -> None:
    assert words_of(Chart("x", "y", (Curve("here", ((5.0, 5.0),)),)))


def test_a_curve_without_points_or_with_nonsense_is_refused() -> None:
    with pytest.raises(OutputError, match="every curve a point"):
        chart_picture(Chart("x", "y", (Curve("none", ()),)))
    with pytest.raises(OutputError, match="not finite"):
        chart_picture(Chart("x", "y", (Curve("nan", ((0.0, float("nan")),)),)))


def test_importing_the_papers_loads_no_heavy_library() -> None:
    rooms = ("blocks", "chart", "circuit_drawing", "cut_dxf", "pdf", "plate_drawing", "writing")
    imports = "; ".join(f"import griddesign.papers.{room}" for room in rooms)
    program = (
        f"{imports}; import sys; print(sorted({{'ezdxf', 'reportlab', 'numpy', 'scipy', 'pint'}} & set(sys.modules)))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program], cwd=Path(__file__).parents[2], capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == "[]"
