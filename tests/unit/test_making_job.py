"""``making`` in a job file, from reading to the papers: what it holds, what is wrong with it, what comes of it."""

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from math import radians
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner
from pypdf import PdfReader

import griddesign.papers
from griddesign.cli.design import command
from griddesign.errors import Complaint, InputError, JobError, QuantityError
from griddesign.figures import Status
from griddesign.job.making import with_kerf
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.work import result_of
from griddesign.papers.as_json import result_json
from griddesign.papers.blocks import Cell
from griddesign.papers.cut_dxf import read_cut
from griddesign.papers.sheets.making import sureness
from griddesign.papers.whole_set import files_of
from griddesign.plate.kerf import kerf_outline
from griddesign.plate.making import Making

LASER, CAST = ("ss304", "laser"), ("grey_iron_class30", "cast")
Read = Callable[..., Job]


def text_of(metal: str, made_by: str, making: str = "", more: str = "") -> str:
    return f"""schema = 1
title = "Plate Q"
example = true
[[plate]]
name = "Q"
metal = "{metal}"
made_by = "{made_by}"
{f"making = {{ {making} }}" if making else ""}
{more}
[plate.shape]
family = "zigzag"
height = "250 mm"
passes = 13
strip_width = "8 mm"
pass_gap = "7.2 mm"
thickness = "5 mm"
eyes = "opposite edges"
fillet = "2 mm"
"""


@pytest.fixture
def read(tmp_path: Path) -> Read:
    def put(kind: tuple[str, str], making: str = "", more: str = "") -> Job:
        path = tmp_path / "job.toml"
        path.write_text(text_of(*kind, making, more), encoding="utf-8")
        return read_job(path)

    return put


def complaints(call: Callable[[], object]) -> Sequence[Complaint]:
    with pytest.raises(JobError) as caught:
        call()
    return caught.value.complaints()


def test_without_a_word_nothing_of_the_shops_own_is_known(read: Read) -> None:
    assert read(LASER).plates[0].making == Making()


def test_a_casting_in_the_foundrys_words(read: Read) -> None:
    making = (
        read(
            CAST,
            'shrinkage = { value = "0.9 % to 1.1 %", source = "foundry" }, draft = "2 deg", machining = "1/16 in", '
            'hole = "drilled", width_tolerance = "about 0.4 mm", thickness_tolerance = "0.3 mm"',
        )
        .plates[0]
        .making
    )
    assert making.shrinkage is not None and making.draft is not None and making.machining is not None
    assert (making.shrinkage.low, making.shrinkage.high) == pytest.approx((0.009, 0.011))
    assert making.shrinkage.source == "foundry"
    assert making.draft.value == pytest.approx(radians(2))
    assert making.machining.value == pytest.approx(0.0254 / 16)
    assert making.hole == "drilled" and making.kerf is None
    assert making.width_tolerance is not None and making.width_tolerance.status is Status.ABOUT


@pytest.mark.parametrize(
    ("kind", "making", "key", "words", "hint"),
    [
        (LASER, 'kerf = "0.2"', "plate.Q.making.kerf", "0.2", "mm"),
        (LASER, 'kerf = "0 mm"', "plate.Q.making.kerf", "0 mm", "above zero"),
        (LASER, 'kerf = "30 mm"', "plate.Q.making.kerf", "30 mm", "at most"),
        (LASER, 'kerf = "7.5 mm"', "plate.Q.making", "7.5 mm", "narrower kerf"),
        (LASER, 'shrinkage = "1 %"', "plate.Q.making.shrinkage", "cut by laser", "castings"),
        (LASER, 'kerv = "0.2 mm"', "plate.Q.making.kerv", "not a key", "kerf"),
        (CAST, 'kerf = "0.2 mm"', "plate.Q.making.kerf", "cast has no kerf", "Leave it out"),
        (("ss304", "stamped"), 'kerf = "0.2 mm"', "plate.Q.making.kerf", "stamped has no kerf", ""),
        (CAST, 'shrinkage = "12 %"', "plate.Q.making.shrinkage", "12 %", "at most"),
        (CAST, 'draft = "2 mm"', "plate.Q.making.draft", "mm", "deg"),
        (CAST, 'hole = "punched"', "plate.Q.making.hole", "punched", "cored, drilled"),
        (CAST, 'width_tolerance = "-1 mm"', "plate.Q.making.width_tolerance", "1 mm", ""),
    ],
)
def test_every_fault_names_key_number_and_cure(
    read: Read, kind: tuple[str, str], making: str, key: str, words: str, hint: str
) -> None:
    (found,) = complaints(lambda: read(kind, making))
    assert found.key == key and found.line is not None
    assert words in found.message and hint in found.hint


def test_making_must_be_a_table(read: Read) -> None:
    (found,) = complaints(lambda: read(LASER, more='making = "0.2 mm"'))
    assert "not a table" in found.message


def test_a_kerf_asked_for_with_the_command(read: Read) -> None:
    job = with_kerf(read(LASER), "0.008 in")
    assert job.plates[0].making.kerf is not None
    assert job.plates[0].making.kerf.value == pytest.approx(0.008 * 0.0254)
    with pytest.raises(InputError, match="no plate of this job is cut"):
        with_kerf(read(CAST), "0.2 mm")
    with pytest.raises(QuantityError):
        with_kerf(read(LASER), "0.2")
    with pytest.raises(InputError, match="30 mm"):
        with_kerf(read(LASER), "30 mm")


def test_nominal_and_offset_cutting_files_lie_side_by_side_and_say_so(read: Read, tmp_path: Path) -> None:
    result = result_of(read(LASER, 'kerf = "0.2 mm"'))
    files = files_of(result)
    cuts = sorted(name for name in files if name.endswith("_cut.dxf"))
    assert [name.rsplit("_mm_", 1)[1] for name in cuts] == ["cut.dxf", "kerf-0.2mm_cut.dxf"]
    nominal, offset = (read_cut(files[name], "mm")[0] for name in cuts)
    outline = result.plates[0].outline
    assert nominal.area_m2 == pytest.approx(outline.outer.area_m2, rel=1e-9)
    assert offset.area_m2 == pytest.approx(kerf_outline(outline, 0.0002).outer.area_m2, rel=1e-9)
    (drawing,) = [content for name, content in files.items() if name.endswith("_drawing.dxf")]
    assert b"nominal, cutter" in drawing and b"0.20 mm" in drawing
    text = pdf_text(files, "cutter", tmp_path)
    assert "Two cutting files: use one of them" in text and "compensation OFF" in text
    assert "usual for a fibre laser" in text.lower()


def test_without_a_kerf_there_is_one_cutting_file(read: Read, tmp_path: Path) -> None:
    files = files_of(result_of(read(LASER)))
    assert len([name for name in files if name.endswith("_cut.dxf")]) == 1
    text = pdf_text(files, "cutter", tmp_path)
    assert "compensation ON" in text and "Two cutting files" not in text


@pytest.mark.parametrize("shrinkage", ['shrinkage = "1.0 %"', ""])
def test_no_foundry_gets_an_outline_it_could_take_for_the_pattern(read: Read, shrinkage: str) -> None:
    """Cut from the casting's own outline a pattern comes out too small: that one lies at the bench, as a gauge."""
    result = result_of(read(CAST, shrinkage))
    if not shrinkage:
        (plate,) = result.plates
        assert plate.made is not None
        bare = replace(plate.made, pattern=None, old_plate=None)
        result = replace(result, plates=(replace(plate, made=bare),))
    files = files_of(result)
    (plate,) = result.plates
    at_foundry = sorted(name.rsplit("_", 1)[1] for name in files if name.startswith("foundry/") and ".dxf" in name)
    assert at_foundry == ["drawing.dxf", "pattern.dxf"]
    (pattern,) = [name for name in files if name.endswith("_pattern.dxf")]
    assert ("shrinkage-1pct" if shrinkage else "shrinkage-NOT-in-it") in pattern
    (gauge,) = [name for name in files if name.endswith("_cut.dxf")]
    assert gauge.startswith("bench/") and gauge.endswith("_gauge_cut.dxf")
    assert read_cut(files[gauge], "mm")[0].area_m2 == pytest.approx(plate.outline.outer.area_m2)


def test_a_casting_gets_its_pattern_and_the_warning(read: Read, tmp_path: Path) -> None:
    result = result_of(read(CAST, 'shrinkage = "1.0 %"'))
    files = files_of(result)
    (name,) = [name for name in files if name.endswith("_pattern.dxf")]
    assert name.startswith("foundry/") and "shrinkage-1pct" in name
    assert read_cut(files[name], "mm")[0].area_m2 == pytest.approx(1.01**2 * result.plates[0].outline.outer.area_m2)
    text = pdf_text(files, "foundry", tmp_path)
    for words in ("An old plate is no pattern", "Draft", "for machining", "cored", "no shrink rule on top"):
        assert words in text
    assert "guarantee" not in text.lower()


def pdf_text(files: dict[str, bytes], hand: str, folder: Path) -> str:
    (name,) = [name for name in files if name.startswith(f"{hand}/") and name.endswith(".pdf")]
    path = folder / "sheet.pdf"
    path.write_bytes(files[name])
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


@pytest.mark.parametrize(
    ("kind", "making", "boldest"),
    [
        (CAST, "", "casting"),
        (CAST, 'width_tolerance = "0.2 mm", thickness_tolerance = "0.2 mm"', "metal"),
        (LASER, "", "cutting"),
    ],
)
def test_three_lines_and_the_largest_bold(read: Read, kind: tuple[str, str], making: str, boldest: str) -> None:
    result = result_of(read(kind, making))
    rows = sureness(result, result.plates[0]).rows
    names = [cell.text if isinstance(cell, Cell) else cell for cell in (row[0] for row in rows)]
    assert names == ["calculation", "metal", "casting" if kind == CAST else "cutting"]
    assert [row[0].text for row in rows if isinstance(row[0], Cell)] == [boldest]


def test_json_holds_the_making_and_keeps_its_schema(read: Read) -> None:
    schema = json.loads((Path(griddesign.papers.__file__).parent / "result.schema.json").read_text())
    for kind, making in ((LASER, 'kerf = "0.2 mm"'), (CAST, 'width_tolerance = "9 mm"')):
        data = result_json(result_of(read(kind, making)))
        jsonschema.validate(data, schema)
        json.dumps(data, allow_nan=False)
        found = data["plates"][0]["making"]
        assert (found["pattern"] is None) == (kind == LASER)
        assert found["spread"]["causes"]
    assert found["spread"]["high"] is None


def test_the_command_takes_a_kerf(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(text_of(*LASER), encoding="utf-8")
    CliRunner().invoke(command, [str(path), "--kerf", "0.3 mm"], catch_exceptions=False, standalone_mode=False)
    assert [found.name for found in tmp_path.rglob("*kerf-0.3mm_cut.dxf")]
    assert len(list(tmp_path.rglob("*_cut.dxf"))) == 2
