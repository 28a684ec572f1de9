"""The whole line on the built-in demo: every paper is there, agrees with the record and is the same every time."""

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from pypdf import PdfReader

import griddesign.papers
from griddesign.job.reading import read_job
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.papers.as_json import result_json
from griddesign.papers.blocks import Table
from griddesign.papers.cut_dxf import read_cut
from griddesign.papers.sheets.notch import notch_sheet
from griddesign.papers.sheets.working import working_parts
from griddesign.papers.whole_set import files_of
from griddesign.traction.records import Ladder


@pytest.fixture(scope="module")
def result(demo: Result) -> Result:
    return demo


@pytest.fixture(scope="module")
def files(result: Result) -> dict[str, bytes]:
    return files_of(result)


@pytest.fixture(scope="module")
def pages(files: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    path = tmp_path_factory.mktemp("demo") / "all.pdf"
    path.write_bytes(files["all.pdf"])
    return [page.extract_text() for page in PdfReader(path).pages]


def test_the_demo_holds_and_is_marked_as_an_example(result: Result) -> None:
    assert [finding for finding in result.findings if finding.verdict != "holds"] == []
    assert result.job.example and result.provisional and result.holds


def test_every_page_says_what_it_is(result: Result, pages: list[str]) -> None:
    for text in pages:
        assert "EXAMPLE FIGURES, NOT FOR MANUFACTURE" in text
        assert result.fingerprint in text
        assert "revision draft" in text


def test_each_pair_of_hands_has_a_folder(files: dict[str, bytes]) -> None:
    assert {name.split("/")[0] for name in files if "/" in name} == {"bench", "crew", "engineer", "foundry"}
    assert {"all.pdf", "result.json"} <= set(files)
    assert all(name.isascii() and " " not in name for name in files)


def test_the_same_job_gives_the_same_bytes(result: Result, files: dict[str, bytes]) -> None:
    again = files_of(result_of(read_job(result.job.path)))
    assert again == files


def test_result_json_keeps_its_schema(result: Result, files: dict[str, bytes]) -> None:
    schema = json.loads((Path(griddesign.papers.__file__).parent / "result.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(files["result.json"]), schema)


def test_counts_agree_on_all_papers(result: Result, pages: list[str]) -> None:
    assert result.layout is not None and result.worked is not None and result.worked.design is not None
    plates = len(result.layout.places)
    assert plates == sum(plate.count for plate in result.plates)
    assert plates == sum(section.plates for section in result.worked.design.sections)
    assert any("Make ONE of plate P first" in text and f"the lot of {plates}" in text for text in pages)
    assert result.worked.design.taps[-1].after_plate == plates


def test_the_outline_reads_back_to_the_record(result: Result, files: dict[str, bytes]) -> None:
    (name,) = [name for name in files if name.endswith("_cut.dxf")]
    outer, holes = read_cut(files[name], "mm")
    area = outer.area_m2 - sum(hole.area_m2 for hole in holes)
    assert area == pytest.approx(result.plates[0].outline.area_m2, rel=1e-9)


def test_sections_as_chosen_make_the_notches(result: Result) -> None:
    data = result_json(result)
    ohm = {section["name"]: section["cold_ohm"] for section in data["sections"]}
    for notch in data["notches"]:
        assert sum(ohm[name] for name in notch["sections"]) == pytest.approx(notch["cold_ohm"], abs=1e-12)


def test_taps_lie_on_the_terminal_side(result: Result) -> None:
    assert result.worked is not None and result.worked.design is not None
    assert {tap.side for tap in result.worked.design.taps} == {"terminal side"}


def test_on_inch_papers_speeds_and_masses_are_not_headed_metric(result: Result) -> None:
    """Notch sheet and working against the record: 1 mph is 0.44704 m/s exactly (NIST SP 811, 2008, B.8)."""
    inch = replace(result, job=replace(result.job, paper=replace(result.job.paper, sheet="Letter", units="inch")))
    sheet = notch_sheet(inch)
    assert sheet is not None
    currents = next(b for b in sheet.blocks if isinstance(b, Table) and b.columns[-1].title.startswith("Leaves"))
    assert currents.columns[-1].title == "Leaves at, mph"
    assert result.worked is not None
    assert isinstance(result.worked.wanted, Ladder)
    for row, notch in zip(currents.rows, result.worked.wanted.notches, strict=True):
        assert float(str(row[-1])) == pytest.approx(notch.speed_kmh / 3.6 / 0.44704, abs=0.05)
    lines = [line for part in working_parts(inch) for line in part.lines if "mass of plates" in line.formula]
    assert lines
    assert all("kg" not in f"{line.symbol} {line.formula} {line.result}" for line in lines)
