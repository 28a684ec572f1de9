"""``--nest`` from the words to the files: what is read, what is refused, what the cutter gets."""

import json
from pathlib import Path

import jsonschema
import pytest

import griddesign.papers
from griddesign.errors import GriddesignError
from griddesign.job.nest import nest_asked, with_nest
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.plate_result import plate_result
from griddesign.judge.records import Result
from griddesign.papers.as_json import result_json
from griddesign.papers.cut_dxf import read_sheet
from griddesign.papers.dxf_library import read_dxf
from griddesign.papers.replacement_files import plate_files
from griddesign.plate.outline import Outline

MM = 1e-3


def result_of_starter(tmp_path: Path, nest: str | None, *, made_by: str = "laser", more: str = "") -> Result:
    metal = "grey_iron_class30" if made_by == "cast" else "ss304"
    text = starter_text("plate")
    lines = [line for line in text.splitlines() if not line.startswith(("metal =", "made_by ="))]
    at = lines.index("[[plate]]") + 1
    lines[at:at] = [f'metal = "{metal}"', f'made_by = "{made_by}"', *more.splitlines()]
    path = tmp_path / "job.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    job = with_nest(read_job(path), nest)
    return plate_result(job, job.plates[0])


@pytest.mark.parametrize(
    ("text", "sides_mm"),
    [
        ("2500 mm x 1250 mm", (2500, 1250)),
        ("2.5 m×1.25 m", (2500, 1250)),
        ("8 ft x 4 ft", (2438.4, 1219.2)),
        ("96 in X 48 in", (2438.4, 1219.2)),
    ],
)
def test_sizes(text: str, sides_mm: tuple[float, float]) -> None:
    asked = nest_asked(text)
    assert (asked.length_m, asked.width_m) == pytest.approx([side * MM for side in sides_mm])
    assert (asked.web_m, asked.margin_m, asked.rule) == (None, None, "any")


def test_additions() -> None:
    asked = nest_asked("8 ft x 4 ft, web 1/4 in, margin 0 mm, passes across")
    assert (asked.web_m, asked.margin_m, asked.rule) == (pytest.approx(6.35 * MM), 0.0, "across")


@pytest.mark.parametrize(
    "text",
    ["", "2500 mm", "2500 x 1250", "1 mm x 2 mm x 3 mm", "2 m x 1 m, web", "2 m x 1 m, kerf 2 mm", "2 m x 1 m, web 5",
     "2 m x 1 m, web 2 mm, web 3 mm", "2 m x 1 m, passes up", "0 mm x 1 m", "900 m x 1 m", "1 m x 1 m, margin 0.5 m",
     "2 m to 3 m x 1 m", "\x00x", "nan m x inf m", "2 m x 1 m,"],
)  # fmt: skip
def test_words_that_say_nothing_are_refused(text: str) -> None:
    with pytest.raises(GriddesignError):
        nest_asked(text)


@pytest.mark.parametrize("made_by", ["laser", "stamped", "cast"])
def test_the_nested_files_hold_the_plates_of_the_record(tmp_path: Path, made_by: str) -> None:
    """Closed loops read back clean; count equal; area and perimeter within 1e-6 of the record's."""
    result = result_of_starter(tmp_path, "1 m x 0.8 m", made_by=made_by, more="spares = 30")
    (plate,) = result.plates
    assert plate.nest is not None and plate.made is not None and plate.lot == 31
    outline = plate.made.pattern.outline if plate.made.pattern else plate.outline
    ending = "_pattern.dxf" if made_by == "cast" else "_cut.dxf"
    files = {name: content for name, content in plate_files(result).items() if "_nest-" in name}
    found = 0
    for name, content in files.items():
        if name.endswith(ending):
            each, times = (int(name.split(word)[0].rsplit("-", 1)[1]) for word in ("each", f"off{ending}"))
            check_sheet(content, outline, each)
            found += each * times
        else:
            document = read_dxf(content)
            assert not document.audit().errors
            assert len(document.modelspace().query("DIMENSION")) == 2
    assert found == plate.lot
    assert len(files) == 2 * (bool(plate.nest.full) + bool(plate.nest.last))


def check_sheet(content: bytes, outline: Outline, each: int) -> None:
    outers, holes = read_sheet(content, "mm")
    assert len(outers) == each and len(holes) == each * len(outline.holes)
    area_m2 = sum(outer.area_m2 for outer in outers) - sum(hole.area_m2 for hole in holes)
    perimeter_m = sum(loop.perimeter_m for loop in (*outers, *holes))
    assert area_m2 == pytest.approx(each * outline.area_m2, rel=1e-6)
    assert perimeter_m == pytest.approx(each * outline.perimeter_m, rel=1e-6)


def test_a_kerf_has_its_own_nested_file_and_wants_a_wider_web(tmp_path: Path) -> None:
    kerf = 'making = { kerf = "0.2 mm" }'
    result = result_of_starter(tmp_path, "1 m x 0.8 m", more=kerf)
    names = [name for name in plate_files(result) if "_nest-" in name]
    assert sorted(name.partition("_nest-")[2] for name in names) == [
        "1each-1off_cut.dxf", "1each-1off_drawing.dxf", "1each-1off_kerf-0.2mm_cut.dxf",
    ]  # fmt: skip
    with pytest.raises(GriddesignError, match="cut away by a kerf"):
        result_of_starter(tmp_path, "1 m x 0.8 m, web 0.2 mm", more=kerf)


def test_the_nest_counts_into_the_fingerprint_and_the_answer(tmp_path: Path) -> None:
    one, two = (result_of_starter(tmp_path, text) for text in ("1 m x 0.8 m", "1 m x 0.9 m"))
    assert one.fingerprint != two.fingerprint
    said = json.loads(plate_files(one)["result.json"])["nest"]
    assert said["sheet_mm"] == [1000, 800] and said["per_sheet"] <= said["bound"] and said["sheets"] == 1


@pytest.mark.parametrize("nest", ["1 m x 0.8 m", None])
def test_the_answer_keeps_its_schema(tmp_path: Path, nest: str | None) -> None:
    schema = json.loads((Path(griddesign.papers.__file__).parent / "result.schema.json").read_text(encoding="utf-8"))
    data = json.loads(json.dumps(result_json(result_of_starter(tmp_path, nest))))
    jsonschema.validate(data, schema)
    assert (data["plates"][0]["nest"] is None) == (nest is None)


def test_the_plate_too_large_is_named(tmp_path: Path) -> None:
    with pytest.raises(GriddesignError, match=r"plate P: a plate of .* does not go on a sheet"):
        result_of_starter(tmp_path, "200 mm x 100 mm")
