"""Terminal models of ``griddesign plate OUTLINE.dxf``: clamped areas against the exact strip, on paper, refused."""

import json
from pathlib import Path

import pytest

from griddesign.cli import main
from griddesign.errors import GeometryError
from griddesign.job.reading import read_job
from griddesign.papers.cut_dxf import cut_dxf
from griddesign.plate.field import Domain, RimTerminal, crowding, solved
from griddesign.plate.outline import Circle, Line, Loop, Outline
from griddesign.plate.terminals import Clamp, TerminalModel
from griddesign.plate.zigzag import outline_of
from griddesign.shipped import examples_folder

CORNERS = ((0.0, 0.0), (0.2, 0.0), (0.2, 0.03), (0.0, 0.03))
STRIP = Loop(tuple(Line(one, other) for one, other in zip(CORNERS, CORNERS[1:] + CORNERS[:1], strict=True)))
LEFT, RIGHT = "0 mm, 0 mm, 25 mm, 30 mm", "175 mm, -5 mm, 210 mm, 40 mm"


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    path = tmp_path / "strip.dxf"
    holes = (Circle((0.015, 0.015), 0.007), Circle((0.185, 0.015), 0.007))
    path.write_bytes(cut_dxf(Outline(STRIP, holes), "mm"))
    return path


def said(capfd: pytest.CaptureFixture[str], path: Path, *words: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as ended:
        main(["plate", str(path), "--metal", "ss304", "--thickness", "3 mm", *words])
    streams = capfd.readouterr()
    return int(ended.value.code or 0), streams.out + streams.err


def test_two_clamped_ends_leave_a_straight_strip(drawing: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Exact: squares are length over width; the holes lie under the clamps."""
    code, text = said(capfd, drawing, "--clamp", LEFT, "--clamp", RIGHT, "--json")
    data = json.loads(text)
    assert code == 0
    assert data["squares"] == pytest.approx(150 / 30, rel=1e-9)
    assert data["clamps_mm"][1] == [175.0, -5.0, 210.0, 40.0]
    assert "area of 25 mm by 30 mm" in data["terminal_model"]


def test_one_clamp_beside_one_hole(drawing: Path, capfd: pytest.CaptureFixture[str]) -> None:
    _, text = said(capfd, drawing, "--clamp", LEFT, "--terminal", "H2", "--json")
    clamped = json.loads(text)
    both_rims = json.loads(said(capfd, drawing, "--json")[1])
    assert 150 / 30 - 0.3 < clamped["squares"] < both_rims["squares"]
    assert "The other terminal is the rim" in clamped["terminal_model"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--clamp", LEFT), "1 clamped area(s) and 0 named hole(s) are not two terminals"),
        (("--clamp", LEFT, "--clamp", "300 mm, 0 mm, 330 mm, 30 mm"), "lies beside the plate"),
        (("--clamp", LEFT, "--clamp", "10 mm, 0 mm, 90 mm, 30 mm"), "touch"),
        (("--clamp", LEFT, "--clamp", "90 mm, 0 mm, 90 mm, 30 mm"), "differ in x and in y"),
        (("--clamp", LEFT, "--clamp", "90 mm, 0 mm"), "is not x and y of two corners"),
        (("--clamp", LEFT, "--clamp", "90, 0, 100, 30"), "has no unit"),
    ],
)
def test_clamps_that_cannot_be(
    drawing: Path, capfd: pytest.CaptureFixture[str], words: tuple[str, ...], message: str
) -> None:
    code, text = said(capfd, drawing, *words)
    assert code == 2
    assert message in text and "Nothing was written." in text


def test_the_sheet_names_the_clamps(drawing: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    from pypdf import PdfReader

    code, _ = said(capfd, drawing, "--clamp", LEFT, "--clamp", RIGHT, "--out", str(tmp_path / "out"))
    (paper,) = (tmp_path / "out").glob("*_field.pdf")
    text = " ".join(PdfReader(paper).pages[0].extract_text().split())
    assert code == 0 and "Clamped: an area of 25 mm by 30 mm and an area of 35 mm by 45 mm" in text


def test_a_washer_smaller_than_its_hole_is_refused() -> None:
    with pytest.raises(GeometryError, match="does not cover its hole"):
        TerminalModel(0.010).domain(
            Outline(STRIP, (Circle((0.015, 0.015), 0.007), Circle((0.1, 0.015), 0.007)), (0, 1))
        )


def test_a_clamp_needs_two_corners() -> None:
    with pytest.raises(GeometryError, match="differ in x and in y"):
        Clamp((0.0, 0.0), (0.0, 0.1))


def test_a_web_of_a_hundredth_of_a_millimetre_is_solved_and_its_corner_named() -> None:
    """A slit of 0.1 mm leaves a web of 0.01 mm: no fillet can be tried there, which once ended in a traceback."""
    import numpy as np

    ring = np.array(
        [(0, 0), (0.2, 0), (0.2, 0.03), (0.1, 0.03), (0.1, 1e-5), (0.0999, 1e-5), (0.0999, 0.03), (0, 0.03)]
    )
    domain = Domain((ring,), (RimTerminal(0, (7,)), RimTerminal(0, (1,))))
    solution = solved(domain, 1e-3)
    found = crowding(domain, None, solution)
    assert solution.bracket.low <= solution.bracket.high
    assert found.ratio == float("inf")
    assert found.place in {(0.1, 1e-5), (0.0999, 1e-5)}


def test_a_plate_of_a_job_names_its_hot_spot_as_its_own_drawing_does(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    """The same plate by its job and by the cutting file of its job: one peak, two ways in."""
    job = examples_folder() / "demo.toml"
    with pytest.raises(SystemExit):
        main(["plate", str(job), "--json"])
    by_job = json.loads(capfd.readouterr().out)
    cut = tmp_path / "plate.dxf"
    cut.write_bytes(cut_dxf(outline_of(read_job(job).plates[0].shape)))
    by_drawing = json.loads(said(capfd, cut, "--json")[1])
    assert by_job["crowding_cause"] == by_drawing["crowding_cause"]
    assert by_job["crowding"] == pytest.approx(by_drawing["crowding"], rel=0.02)
