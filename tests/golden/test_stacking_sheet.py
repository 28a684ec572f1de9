"""Stacking, tap and notch sheets over a dozen jobs: nothing over anything else, counts that agree, drawings that read
back. Names and figures are invented to be awkward."""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import jsonschema
import pytest

import griddesign.papers
from griddesign.job.reading import read_job
from griddesign.judge.records import Result
from griddesign.judge.work import result_of
from griddesign.papers.blocks import Beside, Block, Cell, Sheet, Table
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.dxf_library import read_dxf
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out
from griddesign.papers.picking import put_together
from griddesign.papers.picture_dxf import dxf_of
from griddesign.papers.sheets.common import by_tape, stamp
from griddesign.papers.sheets.faults import faults_sheet
from griddesign.papers.sheets.inspection import inspection_sheet
from griddesign.papers.sheets.job import job_sheet
from griddesign.papers.sheets.notch import circuits_of, notch_sheet
from griddesign.papers.sheets.stacking import box_drawings, stacking_sheet
from griddesign.papers.sheets.tap import tap_sheet
from griddesign.papers.sheets.working import working_sheet
from griddesign.papers.stack_json import stack_json

HARDWARE = """
[hardware]
metal_washer = "2 mm"
mica_washer = "1 mm"
terminal_clamp = "4 mm"
end_insulation = "12 mm"
end_frame = "8 mm"
rod_diameter = "10 mm"
rod_metal = "steel_low_carbon"
mass_without_plates = "14 kg"
rod_torque = { value = "20 N m", source = "drawing 12 of the invented tramway" }
eye_thickness = { P = "6 mm" }
eye_tolerance = "0.3 mm"
"""


def quoted(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def job_text(
    sections: Mapping[str, tuple[int, int]],
    *,
    title: str = "Grid",
    eyes: str = "opposite edges",
    passes: int = 13,
    size: str = "250 mm",
    boxes: tuple[int, int, int] = (4, 20, 1),
    notches: int = 2,
    more: str = "",
    shape: str = "",
) -> str:
    """A job whose counts stand already: nothing is chosen, so a dozen are quick. ``sections``: plates, in parallel."""
    names = list(sections)
    rows = [f"schema = 1\ntitle = {quoted(title)}\n[grid]\nsections = {quoted(names)}\n"]
    for number in range(notches):
        circuit = names[number % len(names) :]
        rows.append(f'[[notch]]\nname = "{number + 1}"\nmotors = "series"\nwanted = "1 ohm"\n'
                    f"circuit = {quoted(circuit)}\n")  # fmt: skip
    for name, (plates, in_parallel) in sections.items():
        rows.append(f'[[section]]\nname = {quoted(name)}\nplates = {plates}\nin_parallel = {in_parallel}\n'
                    'kind = "P"\n')  # fmt: skip
    rows.append(f'[[plate]]\nname = "P"\nmetal = "ss304"\nmade_by = "laser"\n[plate.shape]\nfamily = "zigzag"\n'
                f'height = "{size}"\npasses = {passes}\nstrip_width = "8 mm"\npass_gap = "7 mm"\nthickness = "5 mm"\n'
                f'eyes = "{eyes}"\n{shape}\n')  # fmt: skip
    rows.append(f'[boxes]\nboxes = {boxes[0]}\nplates_per_box = {boxes[1]}\nplate_gap = "12.7 mm"\n'
                f"tap_sides = {boxes[2]}\n{more}")  # fmt: skip
    return "\n".join(rows)


LEADS = """
[controller]
leads = { T = "line", "κ1 <b>&" = "start of A", R2 = "A/B", "Ré3" = "end of B", G = "ground" }
"""
JOBS = {
    "one plate": job_text({"A": (1, 1)}, boxes=(1, 1, 2)),
    "400 plates in 10 boxes": job_text(dict.fromkeys("ABCDE", (80, 1)), boxes=(10, 40, 1), more=HARDWARE),
    "12 notches": job_text(dict.fromkeys("ABCDEFGHIJKL", (4, 1)), notches=12, more=HARDWARE),
    "long names": job_text({"section with a long name": (4, 1), "another section with one": (8, 2)}, title="W" * 200),
    "accents": job_text({"Réseau é": (4, 1), "Ängström": (4, 2)}, title="Résistances de démarrage, œuvre nº 7"),
    "Greek": job_text({"αβγ": (4, 1), "Ωμέγα": (6, 1)}, title="Αντιστάσεις εκκίνησης"),
    "right to left": job_text({"מקטע": (4, 1), "قسم": (4, 1)}, title="התנגדויות התנעה"),
    "markup": job_text({"<b>A</b>": (4, 1), "B & C": (4, 1)}, title="<b>Grid</b> & co"),
    "emoji": job_text({"🚋": (4, 1), "B🔥": (4, 1)}, title="Grid 🚋🔥"),
    "one edge, third eye": job_text({"A": (10, 1), "B": (12, 2)}, eyes="one edge", passes=12, more=HARDWARE,
                                    shape="support_eyes = 1"),
    "both sides, odd": job_text({"A": (3, 1), "B": (15, 3), "C": (5, 1)}, boxes=(5, 9, 2), more=HARDWARE),
    "tiny": job_text({"A": (4, 1), "B": (2, 1)}, size="60 mm", passes=3),
    "huge": job_text({"A": (60, 1), "B": (60, 2)}, size="900 mm", passes=61, boxes=(1, 120, 1)),
    "inch on Letter": job_text({"A": (10, 1), "B": (8, 2)}, more=HARDWARE + '[papers]\nsheet = "Letter"\n'),
    "lead list": job_text({"A": (4, 1), "B": (4, 1)}, more=LEADS),
}  # fmt: skip


READ_BACK = ("one plate", "12 notches", "markup", "one edge, third eye", "both sides, odd", "400 plates in 10 boxes")
"""Jobs whose DXF files are read back: the library's reader and its audit take their time."""


@cache
def worked(name: str) -> Result:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(JOBS[name], encoding="utf-8")
        return result_of(read_job(path))


@pytest.fixture(params=JOBS)
def result(request: pytest.FixtureRequest) -> Result:
    return worked(request.param)


@pytest.fixture(params=READ_BACK)
def to_read(request: pytest.FixtureRequest) -> Result:
    return worked(request.param)


def sheets_of(result: Result) -> tuple[Sheet, ...]:
    every = (notch_sheet(result), tap_sheet(result), stacking_sheet(result, box_drawings(result)))
    return tuple(sheet for sheet in every if sheet is not None)


def words(cell: object) -> str:
    return cell.text if isinstance(cell, Cell) else str(cell)


def flat_blocks(content: Iterable[Block]) -> Iterator[Block]:
    """The blocks, those side by side too."""
    for block in content:
        if isinstance(block, Beside):
            yield from flat_blocks((*block.left, *block.right))
        else:
            yield block


def tables(sheet: Sheet, first: str) -> list[Table]:
    return [
        block for block in flat_blocks(sheet.blocks) if isinstance(block, Table) and block.columns[0].title == first
    ]


def test_a_box_that_is_narrow_has_drawing_and_lists_on_one_page(demo: Result) -> None:
    """Nobody turns pages with the stack in hand; a long box is drawn over the width, its lists follow."""
    for name, beside in (("demo", True), ("400 plates in 10 boxes", False)):
        result = demo if name == "demo" else worked(name)
        sheet = stacking_sheet(result, box_drawings(result))
        assert sheet is not None and result.stack is not None
        boxes = [block for block in sheet.blocks if isinstance(block, Beside)]
        assert len(boxes) == (len(result.stack.boxes) if beside else 0)
        pages = lay_out((sheet,), stamp(result))
        listed = [[mark.text for _, _, mark in flat(page.marks) if isinstance(mark, Words)] for page in pages]
        for box in result.stack.boxes:
            (own,) = [page for page in listed if f"Box {box.stack.box}: {len(box.stack.plates)} plates" in page]
            assert f"Box {box.stack.box}, from above" in own
            assert ("dot end" in own and "far end" in own) or not beside


def test_no_text_meets_another_or_leaves_its_page(result: Result) -> None:
    more = (job_sheet(result), inspection_sheet(result), faults_sheet(result.faults), working_sheet(result))
    sheets = (*sheets_of(result), *(sheet for sheet in more if sheet is not None))
    assert len(sheets) == 7
    for page in put_together(sheets, stamp(result)):
        assert clashes(page.marks) == [], page.name
        left, top, right, foot = bounds(page.marks)
        wide, high = page.live_mm
        assert min(left, top) >= -0.4 and right <= wide + 0.4 and foot <= high + 0.4, page.name


def test_counts_agree_on_all_sheets(result: Result) -> None:
    """Parts laid ready, joints listed, plates of the tap sheet, plates ordered, JSON: all from one another's mouths."""
    assert result.layout is not None and result.stack is not None
    stacking, taps = sheets_of(result)[2], sheets_of(result)[1]
    plates = len(result.layout.places)
    ready = tables(stacking, "")[0]
    by_part = {(words(row[0]), words(row[1])): int(words(row[-1])) for row in ready.rows}
    assert by_part["", "plates"] == plates == sum(plate.count for plate in result.plates)
    assert sum(int(words(row[1])) for row in tables(taps, "Section")[0].rows) == plates
    assert sum(int(words(row[1])) for row in tables(stacking, "Box")[0].rows) == plates
    joints = [words(cell) for table in tables(stacking, "Between") for row in table.rows for cell in row]
    joined = sum(cell.startswith("JOIN") for cell in joints)
    clamps = sum("+C" in cell for cell in joints)
    ends = sum("END" in cell for cell in joints)
    mica = sum(cell.startswith("MICA") for cell in joints)
    assert by_part["E", "end insulation"] == ends == 2 * by_part["", "tie rods, diameter"]
    assert by_part["C", "terminal clamp"] == clamps
    assert by_part["W", "metal washer"] == 2 * joined + sum("END+C" in cell for cell in joints)
    assert by_part.get(("M", "mica washer"), 0) == 2 * mica
    data = stack_json(result.stack)
    assert data is not None and data["walked"]
    assert sum(box["plates"] for box in data["boxes"]) == plates
    counted = dict.fromkeys({one["part"] for one in data["parts"]}, 0)
    for one in data["parts"]:
        counted[one["part"]] += one["count"]
    assert counted["metal washer"] == by_part["W", "metal washer"] and counted["terminal clamp"] == clamps
    schema = json.loads((Path(griddesign.papers.__file__).parent / "result.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(data, schema["properties"]["stack"])


def test_every_tap_stands_on_drawing_joint_list_and_tap_sheet(result: Result) -> None:
    assert result.stack is not None
    drawings, (_, taps, stacking) = box_drawings(result), sheets_of(result)
    marks = [words(row[0]) for row in tables(taps, "Mark")[0].rows]
    assert marks == [f"T{number}" for number in range(1, len(result.stack.taps) + 1)]
    drawn = {mark.text for one in drawings for _, _, mark in flat(one.picture.marks) if isinstance(mark, Words)}
    listed = " ".join(words(cell) for table in tables(stacking, "Between") for row in table.rows for cell in row)
    for mark in (*marks, *(f"L{number}" for number in range(1, len(result.stack.links) + 1))):
        assert mark in drawn
        assert re.search(rf"\b{mark}\b", listed)


def polylines(document: Any) -> list[Any]:
    """The closed lines where they stand, those of blocks too."""
    found = []
    for one in document.modelspace():
        each = one.virtual_entities() if one.dxftype() == "INSERT" else [one]
        found += [entity for entity in each if entity.dxftype() == "LWPOLYLINE"]
    return found


def test_drawings_read_back_true_to_size(to_read: Result) -> None:
    """One loop per plate and view, their ends as far apart as the record says, to a millionth; audit clean."""
    assert to_read.stack is not None
    document = read_dxf(dxf_of(box_drawings(to_read), "mm"))
    assert not document.audit().errors
    thick = 1000 * to_read.plates[0].shape.thickness_m
    loops = [[(x, y) for x, y, *_ in one.get_points()] for one in polylines(document)]
    sizes = [(min(xs), max(xs) - min(xs), max(ys) - min(ys)) for xs, ys in (zip(*loop, strict=True) for loop in loops)]
    _, low, _, high = to_read.plates[0].outline.bounding_box_m
    plates = [at for at, wide, tall in sizes if abs(wide - thick) < 1e-6 and abs(tall - 1000 * (high - low)) < 1e-6]
    assert len(plates) == len(to_read.layout.places if to_read.layout else ())
    for box in to_read.stack.boxes:
        middles = [1000 * middle_m for middle_m in box.stack.middles_m]
        here, plates = plates[: len(middles)], plates[len(middles) :]
        assert [at - here[0] for at in here] == pytest.approx([middle - middles[0] for middle in middles], abs=1e-6)


def test_the_same_boxes_give_the_same_bytes(demo: Result) -> None:
    assert dxf_of(box_drawings(demo), "inch") == dxf_of(box_drawings(demo), "inch")


def test_circuits_read_back(to_read: Result) -> None:
    document = read_dxf(dxf_of(circuits_of(to_read), "mm"))
    assert not document.audit().errors
    texts = [one.dxf.text for one in document.modelspace().query("TEXT")]
    assert all(f"Notch {notch.name}" in texts for notch in to_read.job.notches)


def test_the_lead_list_is_the_users_own() -> None:
    result = worked("lead list")
    rows = tables(sheets_of(result)[1], "Mark")[0].rows
    assert [(words(row[1]), words(row[6])) for row in rows] == [
        ("start of A", "κ1 <b>&"), ("A/B", "R2"), ("end of B", "Ré3"),
    ]  # fmt: skip


def test_what_is_not_known_is_a_blank_and_not_a_number() -> None:
    result = worked("tiny")
    assert result.stack is not None and result.stack.counts[0].length_m is None
    stacking = sheets_of(result)[2]
    lengths = {words(row[1]): words(row[2]) for row in tables(stacking, "")[0].rows}
    assert {lengths[part] for part in ("metal washer", "mica washer", "spacer", "tie rods, diameter")} == {"measure"}
    assert {words(row[3]) for row in tables(stacking, "Box")[0].rows} == {"measure"}
    assert {words(row[6]) for row in tables(stacking, "Box")[0].rows} == {"weigh"}


def test_what_a_shop_takes_off_with_a_tape_has_fractions_on_inch_papers(demo: Result) -> None:
    """Box 4 of the demo: 235.7 mm are 9 9/32 in; whole inches stand alone; nothing of it on papers in millimetres."""
    inch = replace(demo, job=replace(demo.job, paper=replace(demo.job.paper, units="inch")))
    assert by_tape(inch, 0.2357).replace("\u00a0", " ") == "9.280 in (9 9/32)"
    assert by_tape(inch, 48 * 0.0254).replace("\u00a0", " ") == "48.00 in"
    assert by_tape(demo, 0.2357).replace("\u00a0", " ") == "235.7 mm"
    sheet = stacking_sheet(inch, box_drawings(inch))
    assert sheet is not None
    rows = [row for block in sheet.blocks if isinstance(block, Table) for row in block.rows]
    assert any("9.280\u00a0in (9\u00a09/32)" in str(row).replace("\\xa0", "\u00a0") for row in rows)
