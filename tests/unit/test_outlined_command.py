"""``griddesign plate OUTLINE.dxf`` as somebody types it: the keys others rely on, the papers, one message for each bad
file, and nothing loaded that is not needed."""

import json
import runpy
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

import pytest

from griddesign.cli import main
from griddesign.cli.plate_outline import report_of
from griddesign.papers.cut_dxf import cut_dxf, read_cut
from griddesign.papers.outlined_json import outline_json
from griddesign.plate.outline import Circle, Line, Loop, Outline
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of
from griddesign.shipped import examples_folder

LIBRARY = tuple(map(int, version("ezdxf").split(".")[:2]))

SHAPE = Zigzag(0.100, 4, 0.008, 0.007, 0.005, Eye(0.030, 0.014, 0.021, fillet_m=0.004), "one edge", fillet_m=0.002)
OUTLINE = outline_of(SHAPE)
OTHERS_RELY_ON = {
    "cold_ohm", "low_ohm", "high_ohm", "metal_low_ohm", "metal_high_ohm", "squares", "strip_mm", "mass_kg", "area_mm2",
    "crowding", "crowding_unbounded", "crowding_at_mm", "terminal_model", "units", "units_from", "healed", "ignored",
    "holes", "terminals", "fingerprint",
}  # fmt: skip
MADE = ("--metal", "ss304", "--thickness", "5 mm")


@dataclass(frozen=True)
class Ended:
    code: int
    out: str
    err: str


Run = Callable[..., Ended]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Run:
    """Run one command in a folder that holds ``plate.dxf``."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plate.dxf").write_bytes(cut_dxf(OUTLINE))

    def call(*words: str) -> Ended:
        with pytest.raises(SystemExit) as ended:
            main(["plate", *words])
        out, err = capfd.readouterr()
        assert "Traceback" not in out + err
        return Ended(int(ended.value.code or 0), out, err)

    return call


def json_of(path: Path, **words: str) -> Any:
    """The answer to ``--json``, without the terminal between."""
    nothing = dict.fromkeys(("made_by", "resistivity", "washer", "heal", "crowding", "bracket", "units"))
    return outline_json(
        report_of(path, {**nothing, "terminal": (), "layer": (), "metal": "ss304", "thickness": "5 mm", **words})
    )


def refused(run: Run, *words: str) -> str:
    before = sorted(Path.cwd().rglob("*"))
    ended = run(*words)
    assert ended.code == 2 and ended.out == "" and ended.err.endswith("Nothing was written.\n")
    assert sorted(Path.cwd().rglob("*")) == before
    return ended.err


def test_the_keys_others_rely_on(run: Run, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "griddesign", "plate", "plate.dxf", *MADE, "--json"]
    data = json.loads(subprocess.run(command, cwd=tmp_path, capture_output=True, check=True, text=True).stdout)
    assert set(data) >= OTHERS_RELY_ON
    assert data["low_ohm"] <= data["cold_ohm"] <= data["high_ohm"]
    assert data["metal_low_ohm"] < data["low_ohm"] and data["high_ohm"] <= data["metal_high_ohm"]
    assert (data["units"], data["units_from"]) == ("mm", "header")
    assert data["terminals"] == ["H1", "H2"] and [hole["terminal"] for hole in data["holes"]] == [True, True]
    assert data["healed"] == data["ignored"] == []
    assert data["crowding"] > 1 and data["crowding_unbounded"] is False and len(data["crowding_at_mm"]) == 2
    assert data["area_mm2"] == pytest.approx(1e6 * OUTLINE.area_m2, rel=1e-9)


def test_a_sharp_corner_has_no_number_but_a_place(tmp_path: Path) -> None:
    (tmp_path / "plate.dxf").write_bytes(cut_dxf(outline_of(replace(SHAPE, fillet_m=0.0)).translated(3.0, 2.0)))
    data = json_of(tmp_path / "plate.dxf", crowding="3")
    assert data["crowding"] is None and data["crowding_unbounded"] is True
    assert 0.3 < data["fillet_mm_for_wanted_crowding"] < 1.5 and data["wanted_crowding"] == 3
    x, y = data["crowding_at_mm"]
    corners_x = [3000 + 8 + pitch * 15 + side * 7 for pitch in range(3) for side in (0, 1)]
    assert min(abs(x - corner) for corner in corners_x) < 1e-3, "in the drawing's own axes"
    assert min(abs(y - 2008), abs(y - 2092)) < 1e-3


def test_the_same_plate_in_inches(tmp_path: Path) -> None:
    (tmp_path / "mm.dxf").write_bytes(cut_dxf(OUTLINE))
    (tmp_path / "inch.DXF").write_bytes(cut_dxf(OUTLINE, "inch"))
    metric, inch = json_of(tmp_path / "mm.dxf"), json_of(tmp_path / "inch.DXF")
    assert inch["units"] == "inch"
    assert inch["cold_ohm"] == pytest.approx(metric["cold_ohm"], rel=1e-6)
    assert inch["mass_kg"] == pytest.approx(metric["mass_kg"], rel=1e-9)


def test_it_says_three_lines_the_terminals_and_what_was_read(run: Run) -> None:
    out = run("plate.dxf", *MADE).out
    for words in ("calculation", "metal", "cutting or casting", "<- the largest", "Each terminal is the rim", "Release",
                  "not measured on this plate", "hot spot"):  # fmt: skip
        assert words in out
    assert next(line for line in out.splitlines() if "<- the largest" in line).strip().startswith("metal")


def test_a_resistivity_of_ones_own_takes_the_place_of_the_tables(run: Run) -> None:
    out = run("plate.dxf", *MADE, "--resistivity", "about 73 uohm cm").out
    assert "about 73 uohm cm given with the command" in out and "−10.0 % to +10.0 %" in out


def test_papers_are_written_whole_and_alike(run: Run, tmp_path: Path) -> None:
    run("plate.dxf", *MADE, "--out", "one")
    run("plate.dxf", *MADE, "--out", "two")
    names = ["plate_field.pdf", "plate_solved.dxf"]
    assert sorted(path.name for path in (tmp_path / "one").iterdir()) == names
    assert all((tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes() for name in names)
    outer, holes = read_cut((tmp_path / "one" / "plate_solved.dxf").read_bytes(), "mm")
    assert outer.area_m2 - sum(hole.area_m2 for hole in holes) == pytest.approx(OUTLINE.area_m2, rel=1e-9)


def test_the_fingerprint_knows_file_and_options(run: Run, tmp_path: Path) -> None:
    def mark(*words: str) -> str:
        return run("plate.dxf", *MADE, *words).out.splitlines()[0].rpartition(" ")[2]

    plain = mark()
    assert plain == mark() and plain != mark("--bracket", "0.2 %")
    (tmp_path / "plate.dxf").write_bytes(cut_dxf(outline_of(replace(SHAPE, height_m=0.1001))))
    assert mark() != plain


# Files and options that must be refused, each in its own words.


def without_unit(content: bytes) -> bytes:
    lines = content.decode().splitlines()
    at = next(k for k, line in enumerate(lines) if line.strip() == "$INSUNITS")
    return "\n".join([*lines[: at - 1], *lines[at + 3 :]]).encode()


def test_a_unit_is_asked_for_and_never_guessed(run: Run, tmp_path: Path) -> None:
    (tmp_path / "bare.dxf").write_bytes(without_unit(cut_dxf(OUTLINE)))
    said = refused(run, "bare.dxf", *MADE)
    assert "does not say its unit" in said and all(unit in said for unit in ("mm", "cm", "m", "inch"))
    assert run("bare.dxf", *MADE, "--units", "mm").code == 0


def test_an_open_gap_is_told_with_its_place(run: Run, tmp_path: Path) -> None:
    lines = cut_dxf(OUTLINE).decode().splitlines()
    last = len(lines) - 1 - lines[::-1].index("AcDbLine")
    end_x = next(k for k in range(last, len(lines)) if lines[k].strip() == "11") + 1
    lines[end_x] = f"{float(lines[end_x]) + 0.5:.6f}"
    (tmp_path / "gap.dxf").write_text("\n".join(lines) + "\n", encoding="ascii")
    said = refused(run, "gap.dxf", *MADE)
    assert "mm" in said and "(" in said


def close_eyes(gap_m: float) -> Outline:
    corners = [(0.0, 0.0), (0.06, 0.0), (0.06, 0.03), (0.0, 0.03)]
    loop = Loop(tuple(Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)))
    apart = 0.005 + gap_m / 2
    return Outline(loop, (Circle((0.03 - apart, 0.015), 0.005), Circle((0.03 + apart, 0.015), 0.005)), (0, 1))


def test_terminals_that_touch_are_refused(run: Run, tmp_path: Path) -> None:
    (tmp_path / "close.dxf").write_bytes(cut_dxf(close_eyes(0.002)))
    assert run("close.dxf", *MADE).code == 0, "as long as metal lies between"
    assert refused(run, "close.dxf", *MADE, "--washer", "12 mm")
    (tmp_path / "touch.dxf").write_bytes(cut_dxf(close_eyes(0.0)))
    assert refused(run, "touch.dxf", *MADE)


def test_unknown_terminals_bring_the_table_of_holes(run: Run) -> None:
    said = refused(run, "plate.dxf", *MADE, "--terminal", "H1", "--terminal", "H9")
    assert "'H9'" in said and "H1: round, 14 mm" in said and "H2: round, 14 mm" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--thickness", "5 mm"), "does not say its metal"),
        (("--metal", "ss304"), "--thickness is missing"),
        (("--metal", "unobtainium", "--thickness", "5 mm"), "unobtainium"),
        (("--metal", "ss304", "--thickness", "5"), "unit"),
        ((*MADE, "--current", "60 A"), "--current means nothing for an outline"),
        ((*MADE, "--bracket", "0 %"), "--bracket"),
        ((*MADE, "--bracket", "50 %"), "--bracket"),
        ((*MADE, "--crowding", "1"), "--crowding"),
        ((*MADE, "--heal", "5 mm"), "tolerance"),
        (("--metal", "grey_iron_class30", "--thickness", "5 mm", "--made-by", "laser"), "laser"),
    ],
)
def test_words_that_cannot_be_are_refused(run: Run, words: tuple[str, ...], said: str) -> None:
    assert said in refused(run, "plate.dxf", *words)


def test_words_of_an_outline_are_refused_for_a_job(run: Run, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("schema = 1\n", encoding="utf-8")
    assert "--washer means nothing for a job" in refused(run, "job.toml", "--washer", "30 mm")


def test_a_file_that_is_not_there_is_named(run: Run) -> None:
    assert "gone.dxf" in refused(run, "gone.dxf", *MADE)


# What is shipped, and what a cold start loads.


@pytest.mark.skipif(LIBRARY < (1, 4), reason="older versions write other headers")
def test_the_example_is_what_its_script_makes(run: Run) -> None:
    made = runpy.run_path(str(examples_folder() / "make_offered_plate.py"))["offered"]()
    assert made == (examples_folder() / "offered-plate.dxf").read_bytes()
    assert run(str(examples_folder() / "offered-plate.dxf"), *MADE).code == 0


def test_a_drawing_loads_no_job_and_no_paper(run: Run, tmp_path: Path) -> None:
    script = (
        "import sys\nfrom griddesign.cli import main\n"
        f"try:\n    main(['plate', 'plate.dxf', *{MADE!r}])\nexcept SystemExit:\n    pass\n"
        "print(' '.join(sys.modules), file=sys.stderr)"
    )
    ended = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True, check=True, text=True)
    loaded = set(ended.stderr.split())
    assert "griddesign.plate.outlined" in loaded
    assert not loaded & {"griddesign.job.reading", "griddesign.choose", "ezdxf", "reportlab", "scipy.optimize"}
