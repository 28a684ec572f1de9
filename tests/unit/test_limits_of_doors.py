"""What comes in is limited before it costs memory or time: size, number, depth, degree, at every door."""

from collections.abc import Callable
from pathlib import Path

import pytest

from griddesign.errors import GriddesignError
from griddesign.given_file import beside
from griddesign.job.inspected import read_inspection
from griddesign.job.plates_reading import read_plates_at_hand
from griddesign.job.reading import read_job
from griddesign.job.readings import read_plates_csv
from griddesign.plate.foreign import content, read_dxf, reading
from griddesign.shipped import examples_folder

DEMO = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
TABLE = "plate;ohm (mohm);temperature (degC)\n"
HEAD = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\n"
LAST = "0\nBLOCK\n2\nB30\n0\nENDBLK\n"
DOUBLED = "".join(f"0\nBLOCK\n2\nB{n}\n" + f"0\nINSERT\n2\nB{n + 1}\n" * 2 + "0\nENDBLK\n" for n in range(30))
PLACED = "0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nINSERT\n2\nB0\n10\n0\n20\n0\n{}0\nENDSEC\n0\nEOF\n"
POLE = "10\n{}\n20\n{}\n"
SPLINE = "0\nSPLINE\n71\n{0}\n" + "40\n0\n" * 41 + "40\n1\n" * 41 + "".join(POLE.format(n, n * n) for n in range(41))


def said(path: Path, text: str, read: Callable[[Path], object]) -> str:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(GriddesignError) as caught:
        read(path)
    return " ".join(complaint.text() for complaint in caught.value.complaints())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (DEMO + "#" * 2_000_000, "more than a job file holds"),
        (DEMO + "".join(f"k{n} = 1\n" for n in range(10_001)), "At most 10000 values are read"),
        (DEMO + "x = [" + "'a', " * 10_001 + "]", "At most 10000 values are read"),
        (DEMO + "a." * 300_000 + "a = 1", "a key of more parts than any job has"),
        (DEMO + "x = { " + "a." * 300_000 + "a = 1 }", "a key of more parts than any job has"),
        (DEMO + "[" + "a." * 300_000 + "a]", "a key of more parts than any job has"),
        (DEMO + "x = " + "[" * 100_000 + "]" * 100_000, "far too deep"),
        (DEMO + "x = " + "{a = " * 100_000 + "1" + "}" * 100_000, "far too deep"),
        (DEMO + "x = " + "9" * 1_000_000, "far too many digits"),
    ],
)
def test_a_job(tmp_path: Path, text: str, words: str) -> None:
    told = said(tmp_path / "job.toml", text, read_job)
    assert words in told and len(told) < 5_000


@pytest.mark.parametrize("read", [read_plates_csv, read_inspection, lambda path: read_plates_at_hand(path, {})])
@pytest.mark.parametrize(
    ("text", "words"),
    [
        (TABLE + "#" * 1_000_000, "At most 1000000 bytes"),
        (TABLE + "P;70;20\n" * 2_001, "At most 2000 are read"),
        (TABLE.strip() + ";c" * 100 + "\n", "At most 100 are looked at"),
        (TABLE + '"' + "P\n" * 300_000 + '";1;20\n', "field larger than field limit"),
    ],
)
def test_a_table(tmp_path: Path, read: Callable[[Path], object], text: str, words: str) -> None:
    assert words in said(tmp_path / "table.csv", text, read)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            HEAD + "BLOCKS\n" + DOUBLED + LAST + PLACED.format(""),
            "entities; more than 200000",
        ),
        (HEAD + "BLOCKS\n0\nBLOCK\n2\nB0\n0\nENDBLK\n" + PLACED.format("70\n30000\n71\n30000\n"), "more than 200000"),
        (HEAD + "ENTITIES\n" + SPLINE.format(40) + "0\nENDSEC\n0\nEOF\n", "a spline of degree 40"),
    ],
)
def test_a_drawing(tmp_path: Path, text: str, words: str) -> None:
    assert words in said(tmp_path / "plate.dxf", text, read_dxf)


def test_lines_and_curves_of_a_drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The limits themselves are high; here they are lowered."""
    monkeypatch.setattr(content, "MOST_SHAPES", 100)
    monkeypatch.setattr(reading, "MOST_ARCS", 100)
    line = "0\nLWPOLYLINE\n70\n1\n" + "".join(POLE.format(n, n * n) for n in range(102)) + "0\nENDSEC\n0\nEOF\n"
    assert "more than 100 lines and arcs" in said(tmp_path / "plate.dxf", HEAD + "ENTITIES\n" + line, read_dxf)
    curves = "".join(f"0\nELLIPSE\n10\n{n}\n20\n0\n11\n20\n21\n0\n40\n0.3\n" for n in range(9))
    told = said(tmp_path / "plate.dxf", HEAD + "ENTITIES\n" + curves + "0\nENDSEC\n0\nEOF\n", read_dxf)
    assert "9 ellipses and splines come to more than 100 arcs" in told


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('strip_width = "8 mm"', 'strip_width = "8 um"', "at least 0.100 mm"),
        ('height = "250 mm"', 'height = "250 m"', "at most 10"),
        ('thickness = "5 mm"', 'thickness = "5 nm"', "thickness"),
    ],
)
def test_dimensions_no_plate_has(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert words in said(tmp_path / "job.toml", DEMO.replace(old, new), read_job)


@pytest.mark.parametrize(
    "name",
    ["", "..", "../x.dxf", "a/../../x.dxf", "/etc/x", "//host/share/x.dxf", "\\\\host\\x", "C:x", "a\0", "n" * 121],
)
def test_a_file_named_in_a_file_lies_beside_it(tmp_path: Path, name: str) -> None:
    assert beside(tmp_path / "claim.toml", name) is None
    assert beside(tmp_path / "claim.toml", "drawings/x.dxf") == tmp_path / "drawings" / "x.dxf"


def test_a_link_that_leads_out_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "x.dxf").symlink_to(tmp_path / "secret.dxf")
    assert beside(tmp_path / "own" / "claim.toml", "x.dxf") is None
