"""Boxes stacked again after re-tapping: the order walked plate by plate, jumpers where they bridge, no length made up.

Evidence: the circuit walked through the parts as listed (``grid.stack.walk``, with tests of its own); the zig-zag and
the joints of a jumper counted by hand.
"""

import random
import re
from dataclasses import replace
from itertools import pairwise

import pytest

from griddesign.errors import InputError
from griddesign.found.tapped import TappedSection, section
from griddesign.grid.records import Side
from griddesign.grid.stack.walk import walk
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.job.starters import starter_text
from griddesign.judge.retap import retap_of
from griddesign.judge.retapping.records import RetapResult
from griddesign.judge.retapping.stack import Change, Stacked, stacked
from griddesign.papers.blocks import Paragraph, Points, Table
from griddesign.papers.sheets.restacking import around, restacking_sheet
from griddesign.retaps.records import PlateAtHand, PlatesAtHand
from griddesign.shipped import examples_folder

HEAD = "box,position,kind,ohm,method,accuracy,temperature (degC),dead,broken at\n"
BOTH: frozenset[Side] = frozenset(("terminal side", "far side"))


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(examples_folder() / "retap.toml")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> RetapResult:
    """The starter's grid without a car, plate 9 of box 1 dead, its last tap four plates off, a spare on the shelf."""
    folder = tmp_path_factory.mktemp("told")
    text = starter_text("retap").replace('"end of C" = 48', '"end of C" = 52')
    spare = '\n[[retap.spare]]\nname = "S1"\nkind = "P"\nohm = "0.0668 ohm"\n'
    (folder / "old.toml").write_text(text + spare, encoding="utf-8")
    dead = {9: "open,,,,yes,return bend"}
    rows = (
        f"{(n - 1) // 18 + 1},{(n - 1) % 18 + 1},P,{dead.get(n, '0.066,four-wire,0.5 %,20,,')}\n" for n in range(1, 55)
    )
    (folder / "plates.csv").write_text(HEAD + "".join(rows), encoding="utf-8")
    return retap_of(read_job(folder / "old.toml"), folder / "plates.csv")


def on_rods(job: Job, plates: PlatesAtHand, spans: dict[str, tuple[int, int]], **more: object) -> Stacked:
    """All boxes of plates tapped so; dead plates bridged."""
    dead = frozenset(n for n, plate in enumerate(plates.plates, start=1) if plate.state == "dead")
    sections = [section(plates, name, *span, dead) for name, span in spans.items()]
    found = stacked(job, plates, sections, taps_of(sections), BOTH, [Change(p.box, "") for p in plates.plates], **more)  # type: ignore[arg-type]
    assert isinstance(found, Stacked)
    return found


def taps_of(sections: list[TappedSection]) -> list[tuple[str, int]]:
    found = [(f"start of {sections[0].name}", sections[0].from_joint)]
    for one, other in pairwise(sections):
        if one.to_joint == other.from_joint:
            found.append((f"{one.name}/{other.name}", one.to_joint))
        else:
            found += [(f"end of {one.name}", one.to_joint), (f"start of {other.name}", other.from_joint)]
    return [*found, (f"end of {sections[-1].name}", sections[-1].to_joint)]


def row(count: int, box: int = 10, **states: str) -> PlatesAtHand:
    """Plates in boxes of so many; ``p7="dead"`` says what is wrong with the seventh."""
    return PlatesAtHand(
        tuple(
            PlateAtHand(n // box + 1, n % box + 1, "P", 0.07, 0.0, states.get(f"p{n + 1}", "in circuit"))  # type: ignore[arg-type]
            for n in range(count)
        )
    )


def test_every_box_is_proved_and_the_jumper_bridges_the_dead_plate_alone(told: RetapResult) -> None:
    assert told.after is not None and told.after.plates is not None
    plates, taps = told.after.plates, told.after.taps
    changes = [Change(plate.box, "") for plate in plates.plates]
    found = stacked(told.job, plates, told.after.sections, taps, told.question.rules.sides, changes)
    assert isinstance(found, Stacked) and found.lengths and found.report.walked_faults == ()
    walked = walk(box.stack for box in found.report.boxes)
    shorted = [n for n in range(1, 55) if walked.node(n, "terminal side") == walked.node(n, "far side")]
    assert shorted == [9]


def test_the_jumper_stands_at_both_joints_of_its_plate_each_on_its_rod(job: Job) -> None:
    """Plate 9 is the ninth step: the joint before it comes out on the terminal side, the one after it on the far side;
    plate 1 of a box is bridged from the dot end."""
    for dead, before, after in (
        (9, (8, "terminal side"), (9, "far side")),
        (11, (0, "terminal side"), (1, "far side")),
    ):
        found = on_rods(job, row(20, **{f"p{dead}": "dead"}), {"A": (0, 20)})
        where = [
            (gap.before, rod.name)
            for box in found.report.boxes
            for rod in box.stack.rods
            for gap in rod.gaps
            if any("jumper" in label for label in gap.labels)
        ]
        assert where == [before, after]


def test_plates_that_carry_nothing_stay_in_the_zig_zag(job: Job) -> None:
    """Six plates before the first tap and four after the last: every gap is joined on one rod, in turn."""
    found = on_rods(job, row(20, box=20), {"A": (6, 12), "B": (12, 16)})
    (box,) = found.report.boxes
    joined = [[gap.joined for gap in box.stack.rod(name).gaps[1:-1]] for name in ("far side", "terminal side")]
    assert joined[0] == [n % 2 == 0 for n in range(19)]
    assert joined[1] == [n % 2 == 1 for n in range(19)]
    assert found.report.walked_faults == ()


def test_the_chain_is_parted_only_where_the_circuits_ask_for_it(job: Job) -> None:
    spans = {"A": (0, 8), "B": (8, 20)}
    whole = on_rods(job, row(20, box=20), spans)
    parted = on_rods(job, row(20, box=20), spans, breaks=("A",))
    count = [
        sum(gap.joined for rod in found.report.boxes[0].stack.rods for gap in rod.gaps) for found in (whole, parted)
    ]
    assert count == [19, 18]
    assert parted.report.walked_faults == ()
    apart = on_rods(job, row(20, box=20), {"A": (0, 8), "B": (12, 20)})
    assert sum(gap.joined for rod in apart.report.boxes[0].stack.rods for gap in rod.gaps) == 19


@pytest.mark.parametrize("seed", range(12))
def test_any_row_of_plates_is_stacked_as_it_was_tapped(job: Job, seed: int) -> None:
    """Random pairs, idle and dead plates, taps at any joint: the walk finds nothing wrong."""
    rng = random.Random(seed)
    states = [rng.choice(("in circuit",) * 8 + ("dead", "not in circuit")) for _ in range(24)]
    pairs = [n + 1 if rng.random() < 0.2 else 0 for n in range(12)]
    joined = [pairs[n // 2] if states[n] == states[n ^ 1] == "in circuit" else 0 for n in range(24)]
    plates = PlatesAtHand(
        tuple(
            PlateAtHand(n // 8 + 1, n % 8 + 1, "P", 0.07, 0.0, states[n], None, joined[n])
            for n in range(24)  # type: ignore[arg-type]
        )
    )
    joints = sorted(rng.sample(plates.joints, 4))
    spans = {"A": (joints[0], joints[1]), "B": (joints[1], joints[2]), "C": (joints[2], joints[3])}
    try:
        dead = frozenset(n for n in range(1, 25) if states[n - 1] == "dead")
        live = [section(plates, name, *span, dead).plates for name, span in spans.items()]
    except InputError:
        return
    if not all(live) or any(all(states[n] == "not in circuit" for n in range(b, b + 8)) for b in (0, 8, 16)):
        return
    sections = [section(plates, name, *span, dead) for name, span in spans.items()]
    found = stacked(job, plates, sections, taps_of(sections), BOTH, [Change(p.box, "") for p in plates.plates])
    assert isinstance(found, Stacked) and found.report.walked_faults == ()


# --- paper -----------------------------------------------------------------------------------------------------------


def words(result: RetapResult) -> str:
    sheet = restacking_sheet(result)
    assert sheet is not None
    said = [block.text for block in sheet.blocks if isinstance(block, Paragraph)]
    for block in sheet.blocks:
        if isinstance(block, Points):
            said += block.items
        if isinstance(block, Table):
            said += [str(getattr(cell, "text", cell)) for line in block.rows for cell in line]
    return " | ".join(said)


def test_the_sheet_names_what_moves_in_which_box(told: RetapResult) -> None:
    said = words(told)
    assert "Box 1: The jumper over plate 9 of box 1" in said
    assert "Box 3: The clamp of end of C comes out at joint 16|17" in said
    assert "Order and counts only" not in said and "12.70" in said


def test_without_drawn_plates_no_length_is_made_up(told: RetapResult) -> None:
    for change in ({"boxes": None}, {"plates": ()}):
        said = words(replace(told, job=replace(told.job, **change)))  # type: ignore[arg-type]
        assert "Order and counts only" in said and "measure" in said
        assert not re.search(r"\d\s*mm", said)


def test_where_nothing_moves_there_is_no_sheet(told: RetapResult) -> None:
    assert told.after is not None and told.answer is not None
    here = dict(told.after.taps)
    still = replace(told.question, rules=replace(told.question.rules, present=here))
    sections = tuple(replace(one, jumped=()) for one in told.after.sections)
    same = replace(told, question=still, after=replace(told.after, sections=sections))
    assert restacking_sheet(same) is None


def without_box_2(plates: PlatesAtHand | None) -> PlatesAtHand:
    assert plates is not None
    each = (replace(one, state="not in circuit") if one.box == 2 else one for one in plates.plates)
    return PlatesAtHand(tuple(each))


def test_where_no_order_of_parts_is_known_the_sheet_says_so_and_what_moves(told: RetapResult) -> None:
    assert told.after is not None
    bare = replace(told, after=replace(told.after, plates=without_box_2(told.after.plates)))
    said = words(bare)
    assert "Box 3: The clamp of end of C comes out at joint 16|17" in said
    assert "Which part follows which is not known: no plate of box 2 is in circuit." in said
    option = next(one for one in told.options if one.name.startswith("Fit"))
    assert option.tapping is not None
    night = replace(option, tapping=replace(option.tapping, plates=without_box_2(option.tapping.plates)))
    last = list(around(told, night))[-1]
    assert isinstance(last, Paragraph) and "put the like back" in last.text


def test_a_temporary_sheet_shows_the_gaps_beside_the_plate(told: RetapResult) -> None:
    by_name = {option.name.split(" ")[0]: option for option in told.options}
    table = next(block for block in around(told, by_name["Fit"]) if isinstance(block, Table))
    assert [line[1] for line in table.rows] == ["8|9", "9|10"]
    assert "joined" in str(table.rows[0][2]) and "apart" in str(table.rows[0][3])
    assert list(around(told, by_name["Patch"])) == []
