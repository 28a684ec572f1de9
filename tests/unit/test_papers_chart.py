"""Charts: round axes, names beside curves, nothing outside the picture; and what importing the papers costs."""

import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from griddesign.errors import OutputError
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.chart import Chart, Curve, chart_picture
from griddesign.papers.chart_notes import Note, fitted, spread
from griddesign.papers.marks import Path as DrawnPath
from griddesign.papers.marks import Words, flat
from griddesign.papers.text import line_height_mm, width_mm

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


def test_the_name_of_a_limit_near_the_frame_stands_under_its_line() -> None:
    for limit, under in ((752.0, True), (400.0, False)):
        day = Curve("D", ((0.0, 100.0), (80.0, 745.0)))
        marks = chart_picture(Chart("min", "°F", (day,), (("limit", limit),), height_mm=68.0)).marks
        name = next(mark for _, _, mark in flat(marks) if isinstance(mark, Words) and mark.text == "limit")
        dashed = next(mark for _, _, mark in flat(marks) if isinstance(mark, DrawnPath) and mark.dash_mm == (3.0, 1.5))
        assert (name.y_mm > dashed.steps[0][1][1]) is under


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


def crowded(names: int, long: str) -> Chart:
    """Many notes at nearly the same place, levels close together, names too wide for the margin."""
    curve = Curve(f"{long} curve", tuple((float(x), float(x % 7)) for x in range(40)))
    notes = tuple(Note(f"{n}", 20.0 + 0.02 * n, 5.0 + 0.01 * n, "open" if n % 2 else "", True) for n in range(names))
    levels = tuple((f"{long} level {n}", 5.0 + 0.01 * n) for n in range(4))
    return Chart(
        "x, s", "y, A", (curve,), levels, spans=(("a", 10.0), (f"{long[:20]} b", 10.1)), notes=notes, levels_beside=True
    )


@pytest.mark.parametrize("names", [0, 3, 12])
@pytest.mark.parametrize("long", ["", "Kölner <b>Straßenbahn</b> & Söhne, sehr lang " * 3])
def test_notes_levels_and_spans_find_a_free_place(names: int, long: str) -> None:
    picture = chart_picture(crowded(names, long))
    left, top, right, bottom = bounds(picture.marks)
    assert left >= -0.5
    assert top >= -0.5
    assert right <= picture.width_mm + 0.5
    assert bottom <= picture.height_mm + 0.5
    assert clashes(picture.marks) == []
    words = [mark.text for _, _, mark in flat(picture.marks) if isinstance(mark, Words)]
    assert all(str(n) in words for n in range(names))


def test_a_name_too_wide_is_cut_and_says_so() -> None:
    assert fitted("short", 40.0) == "short"
    cut = fitted("a name that is far too wide for its margin", 30.0)
    assert cut.endswith("…")
    assert width_mm(cut, 8.5) <= 30.0


def test_names_are_spread_within_the_picture() -> None:
    """Neighbours a line apart; where they would leave the foot they move up."""
    placed = spread([80.0, 80.1, 10.0, 80.2], (5.0, 80.0))
    assert placed[2] == 10.0
    assert max(placed) == 80.0
    ordered = sorted(placed)
    assert all(b - a >= line_height_mm(8.5) - 1e-9 for a, b in pairwise(ordered))
