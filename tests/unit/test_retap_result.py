"""New taps judged: today and afterwards, a night's mends, cures. The search is a stand-in that knows one answer."""

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from griddesign.errors import InputError, JobError
from griddesign.found.tapped import section, spans_between, taps_placed, unused
from griddesign.grid.circuit import ohms
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.finding import Verdict
from griddesign.judge.retap import retap_of
from griddesign.judge.retapping.bank import OHMS_ONLY, run_on
from griddesign.judge.retapping.records import RetapResult, RunAt
from griddesign.judge.retapping.targets import notches_at
from griddesign.judge.run_heat import run_heat
from griddesign.judge.runup import Starter, starter
from griddesign.judge.start_ends import shortest
from griddesign.metals import metal
from griddesign.papers.retap_json import retap_json
from griddesign.papers.sheets.tonight import tonight_sheets
from griddesign.retaps.records import Answer, PlateAtHand, PlatesAtHand, Question, Span
from griddesign.shipped import examples_folder

HEAD = "box,position,kind,ohm,method,accuracy,temperature (degC),dead,broken at,joined,not in circuit,cracked,from,to\n"
TAPS = {"start of A": 0, "A/B": 22, "B/C": 38, "end of C": 48}


def rows(ohm: float, count: int = 54, changed: Mapping[int, str] | None = None) -> str:
    """Boxes of 18 plates, all alike but for the rows that are given whole behind the kind."""
    plain = f"{ohm},four-wire,0.5 %,20,,,,,,,"
    lines = []
    for number in range(1, count + 1):
        said = (changed or {}).get(number, plain)
        lines.append(f"{(number - 1) // 18 + 1},{(number - 1) % 18 + 1},P,{said}\n")
    return "".join(lines)


DEAD = "open,,,,yes,return bend,,,,,"


def knows(taps: Mapping[str, int] = TAPS) -> Callable[[Question], Answer]:
    """A search that always answers with these taps."""

    def search(question: Question) -> Answer:
        spans = []
        for name, begin, end in spans_between(question.section_order, taps):
            dead = frozenset(n for n in range(begin + 1, end + 1) if question.plates.plates[n - 1].state == "dead")
            one = section(question.plates, name, begin, end, dead)
            spans.append(Span(name, begin, end, one.cold_ohm, one.jumped))
        built = [section(question.plates, s.section, s.from_joint, s.to_joint, frozenset(s.jumped)) for s in spans]
        errors = tuple(row.error for row in notches_at(question.targets, built))
        worst = max(map(abs, errors))
        moved = tuple(name for name, joint in taps.items() if question.rules.present.get(name) != joint)
        return Answer(tuple(spans), errors, worst, worst, True, moved)

    return search


def retap(
    tmp_path: Path, csv_rows: str, *, taps: Mapping[str, int] = TAPS, change: Callable[[str], str] = str
) -> RetapResult:
    job, plates = tmp_path / "job.toml", tmp_path / "plates.csv"
    job.write_text(change(starter_text("retap")), encoding="utf-8")
    plates.write_text(HEAD + csv_rows, encoding="utf-8")
    return retap_of(read_job(job), plates, knows(taps))


def spares(text: str) -> str:
    return text + '\n[[retap.spare]]\nname = "S1"\nkind = "P"\nohm = "0.0668 ohm"\n'


# --- what is in the boxes --------------------------------------------------------------------------------------------


def test_ohms_are_put_to_20_degrees_by_the_metals_own_coefficient(tmp_path: Path) -> None:
    """``R20 = R / (1 + alpha (T - 20))`` with the table's alpha at 20 degC, a linear law near 20."""
    warm = f"{0.066 * 1.05},four-wire,0.5 %,50,,,,,,,"
    result = retap(tmp_path, rows(0.066, changed={5: warm}))
    alpha = metal("grey_iron_class30").alpha20.value
    assert result.found.plates.plates[4].ohm == pytest.approx(0.066 * 1.05 / (1 + 30 * alpha), rel=2e-3)


def test_a_pair_read_as_it_stands_counts_once_and_each_plate_twice_its_ohms(tmp_path: Path) -> None:
    pair = {47: "0.033,four-wire,0.5 %,20,,,1,,,,", 48: ",,,,,,1,,,,"}
    result = retap(tmp_path, rows(0.066, changed=pair))
    plates = result.found.plates
    assert [plates.plates[n].ohm for n in (46, 47)] == pytest.approx([0.066, 0.066])
    assert [step.ohm for step in plates.steps][46] == pytest.approx(0.033)
    assert 47 not in plates.joints and 48 in plates.joints


def test_one_plate_dead_in_a_pair_leaves_the_other(tmp_path: Path) -> None:
    pair = {47: "open,,,,,,1,,,,", 48: "0.066,four-wire,0.5 %,20,,,1,,,,"}
    plates = retap(tmp_path, rows(0.066, changed=pair)).found.plates
    assert [step.ohm for step in plates.steps][46] == pytest.approx(0.066)


def test_two_wires_below_an_ohm_are_flagged(tmp_path: Path) -> None:
    result = retap(tmp_path, rows(0.066, changed={1: "0.066,two-wire,,20,,,,,,,"}))
    (finding,) = [one for one in result.findings if one.item == "readings by two wires"]
    assert finding.verdict is Verdict.NOT_SHOWN and "box 1, plate 1" in finding.why


def test_a_reading_over_a_dead_plate_contradicts_it(tmp_path: Path) -> None:
    over = "1,,,0.66,four-wire,0.5 %,20,,,,,,0,10\n"
    result = retap(tmp_path, rows(0.066, changed={5: DEAD}) + over)
    assert any("is marked dead: it is bridged, or not dead" in one.why for one in result.findings)


def test_a_wrong_reading_is_named_with_how_much(tmp_path: Path) -> None:
    over = "1,,,0.66,four-wire,0.5 %,20,,,,,,0,10\n1,,,0.528,four-wire,0.5 %,20,,,,,,4,12\n"
    wrong = {6: "0.0726,four-wire,0.5 %,20,,,,,,,"}
    result = retap(tmp_path, rows(0.066, changed=wrong) + over)
    (one,) = result.found.disagreements
    assert one.reading == "box 1, plate 6"
    assert one.others_ohm == pytest.approx(0.066, rel=1e-3) and one.off_ohm == pytest.approx(0.0066, rel=0.02)
    assert result.found.plates.plates[5].ohm == pytest.approx(0.066, rel=2e-3), "it is left out of the ohms"
    assert any("box 1, plate 6" in finding.item and finding.verdict is Verdict.FAILS for finding in result.findings)


def test_sound_readings_that_overlap_accuse_nobody(tmp_path: Path) -> None:
    over = "1,,,0.661,four-wire,0.5 %,20,,,,,,0,10\n,,,1.45,four-wire,0.5 %,20,,,,,,start of A,A/B\n"
    result = retap(tmp_path, rows(0.066) + over)
    assert result.found.disagreements == () and all(one.used for one in result.found.readings)


# --- today and afterwards --------------------------------------------------------------------------------------------


def test_today_notch_by_notch_and_plates_outside_the_taps(tmp_path: Path) -> None:
    result = retap(tmp_path, rows(0.066))
    assert result.before is not None
    today = {notch.name: notch.cold_ohm for notch in result.before.notches}
    assert today == pytest.approx({"1": 48 * 0.066, "2": 26 * 0.066, "3": 10 * 0.066})
    assert any("6 sound plates stand outside the taps" in words for words in result.remarks)
    assert len(unused(result.found.plates, result.before.sections)) == 6


def test_a_dead_plate_opens_the_notches_that_need_it(tmp_path: Path) -> None:
    result = retap(tmp_path, rows(0.066, changed={30: DEAD}))
    assert result.before is not None
    assert [notch.name for notch in result.before.notches if notch.open] == ["1", "2"]


def test_json_has_the_keys_others_rely_on(tmp_path: Path) -> None:
    data = retap_json(retap(tmp_path, rows(0.066), taps={**TAPS, "A/B": 24}))
    json.dumps(data, allow_nan=False)
    assert {"notches", "sections", "taps", "proof", "heat", "findings"} <= set(data)
    assert {"name", "wanted_ohm", "cold_ohm", "error_percent", "current_error_percent"} <= set(data["notches"][0])
    assert {"plates", "in_parallel", "accept_low_ohm", "metal_high_ohm"} <= set(data["sections"][0])
    moved = next(tap for tap in data["taps"] if tap["name"] == "A/B")
    assert (moved["was_after_plate"], moved["after_plate"], moved["joint"], moved["box"]) == (22, 24, [6, 7], 2)
    assert moved["moved"] and sum(tap["moved"] for tap in data["taps"]) == 1


def test_where_the_bench_finds_a_joint() -> None:
    """Three boxes of 3: an odd number of steps leaves the far end on the far side, so a one-sided tap takes the next
    box's dot end."""
    plates = PlatesAtHand(tuple(PlateAtHand(box, place, "P", 0.05) for box in (1, 2) for place in (1, 2, 3)))
    one_side = frozenset(("terminal side",))
    found = taps_placed(plates, [("start of A", 0), ("A/B", 2), ("B/C", 3), ("end of C", 6)], one_side)
    assert [(tap.box, tap.joint, tap.side) for tap in found] == [
        (1, (0, 1), "terminal side"),
        (1, (2, 3), "terminal side"),
        (2, (0, 1), "terminal side"),
        (2, (3, 4), "far side"),
    ]


def test_what_the_readings_may_be_off_by_can_leave_a_notch_not_shown(tmp_path: Path) -> None:
    """Readings within 5 per cent cannot show a tolerance of 3."""
    loose = rows(0.0667).replace("0.5 %", "5 %")
    result = retap(tmp_path, loose, change=lambda text: text.replace('"5 %"', '"3 %"'))
    verdicts = {one.item: one.verdict for one in result.findings}
    assert verdicts["notch 1, ohms"] is Verdict.NOT_SHOWN


def test_a_cure_names_plates_and_ohms_and_works(tmp_path: Path) -> None:
    result = retap(tmp_path, rows(0.066), taps={**TAPS, "B/C": 42})
    assert result.cures and result.cured
    assert result.after is not None
    ohm = {one.name: one.cold_ohm for one in result.after.sections}
    for cure in result.cures:
        ohm[cure.section] += cure.ohm
    assert all(abs(one.error(ohms(one.run, ohm))) <= one.tolerance for one in result.question.targets)


@pytest.mark.parametrize(
    ("taps", "says"),
    [
        ('"A/B" = 60', "after plate 60 of 54"),
        ('"A/B" = "box 9, joint 1|2"', "no such box"),
        ('"A/B" = 44', "runs from joint 44 to joint 38"),
        ('"A/B" = 0', "runs from joint 0 to joint 0"),
    ],
)
def test_taps_that_cannot_be_are_refused(tmp_path: Path, taps: str, says: str) -> None:
    with pytest.raises((InputError, JobError), match=says):
        retap(tmp_path, rows(0.066), change=lambda text: text.replace('"A/B" = 22', taps))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('"A/X" = 22', "is no tap"),
        ('"A/B" = "somewhere"', "is no joint"),
        ('"A/B" = "box 2, joint 7|9"', "is no joint"),
        ('"A/B" = -1', "is no joint"),
        ("", "no joint for end of A"),
    ],
)
def test_wrong_taps_in_the_job_are_told_with_their_line(tmp_path: Path, line: str, says: str) -> None:
    job = tmp_path / "job.toml"
    job.write_text(starter_text("retap").replace('"A/B" = 22', line), encoding="utf-8")
    with pytest.raises(JobError) as refused:
        read_job(job)
    assert any(says in one.text() for one in refused.value.complaints())


# --- tonight ---------------------------------------------------------------------------------------------------------


def test_tonight_the_car_left_standing_is_always_the_first_row(tmp_path: Path) -> None:
    result = retap(tmp_path, rows(0.066, changed={30: DEAD}), change=spares)
    names = [option.name for option in result.options]
    assert names[0] == "Leave the car standing"
    assert any(name.startswith("Jump box 2, plate 12") for name in names)
    assert any(name.startswith("Fit spare S1") for name in names)
    assert any(name.startswith("Patch across the broken return bend") for name in names)
    assert all(OHMS_ONLY in option.why for option in result.options[1:])
    assert all(option.verdict is not Verdict.HOLDS for option in result.options[1:])


def test_a_patch_is_offered_only_at_a_return_bend(tmp_path: Path) -> None:
    for place in ("strip", "eye", ""):
        result = retap(tmp_path, rows(0.066, changed={30: DEAD.replace("return bend", place)}))
        assert not any("Patch" in option.name for option in result.options)
        assert any("No patch is offered" in remark for remark in result.remarks)


def test_ohms_of_what_is_done_tonight(tmp_path: Path) -> None:
    """Notch 2 is sections B and C, 26 plates; the dead one is in B."""
    result = retap(
        tmp_path,
        rows(0.066, changed={30: DEAD}),
        change=lambda text: spares(text).replace("[retap]\n", '[retap]\npatch_resistance = "2 mohm"\n'),
    )
    notch = {
        option.name.split(" ")[0]: option.tapping.notch("2").cold_ohm for option in result.options if option.tapping
    }
    assert notch["Jump"] == pytest.approx(25 * 0.066)
    assert notch["Fit"] == pytest.approx(25 * 0.066 + 0.0668)
    assert notch["Patch"] == pytest.approx(26 * 0.066 + 0.002)


def test_an_inch_shop_is_told_in_degrees_fahrenheit(tmp_path: Path) -> None:
    letter = '\n[papers]\nsheet = "Letter"\n\n[retap]\n'
    over = "1,,,0.528,four-wire,0.5 %,20,,,,,,4,12\n"
    rated = rows(0.066, changed={6: "0.0726,four-wire,0.5 %,20,,,,,,,", 30: DEAD}) + over
    result = retap(tmp_path, rated, change=lambda text: spares(text).replace("[retap]\n", letter))
    steps = [step for option in result.options for step in option.steps]
    assert any(step.endswith("fit spare S1, 66.8 mΩ at 68 °F (20 °C).") for step in steps)
    told = [*steps, *(finding.why for finding in result.findings)]
    assert any("at 68 °F (20 °C) where the other readings" in why for why in told)
    assert not any("°C" in why.replace("(20 °C)", "") for why in told)


def test_nobody_gets_a_sheet_to_do_what_fails(tmp_path: Path) -> None:
    result = retap(
        tmp_path, rows(0.066, changed={30: DEAD}), change=lambda text: spares(text).replace('"B/C" = 38', '"B/C" = 40')
    )
    doing = [option for option in result.options[1:] if option.verdict is not Verdict.FAILS]
    assert len(doing) < len(result.options) - 1
    sheets = tonight_sheets(result)
    assert len(sheets) == 1 + len(doing)
    assert all(sheet.across[0].startswith("TEMPORARY, VALID UNTIL") for sheet in sheets)


def test_without_a_dead_plate_there_is_no_tonight(tmp_path: Path) -> None:
    assert retap(tmp_path, rows(0.066)).options == ()


def test_a_spare_box_goes_in_where_it_has_as_many_plates(tmp_path: Path) -> None:
    box = '\n[[retap.spare]]\nname = "box 7"\nkind = "P"\nohm = "0.067 ohm"\nplates = 18\n'
    result = retap(tmp_path, rows(0.066, changed={30: DEAD}), change=lambda text: text + box)
    (option,) = [option for option in result.options if "spare box" in option.name]
    assert option.tapping is not None
    assert option.tapping.notch("2").cold_ohm == pytest.approx(14 * 0.067 + 12 * 0.066)


# --- heat ------------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def car(tmp_path_factory: pytest.TempPathFactory) -> Starter:
    """The demo's car on counts that stand: 24, 18, 6, 4 and 20 plates two and two; single starts only."""
    text = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
    begin, end = text.index("may_vary"), text.index("[plate.shape]")
    counts = "".join(
        f'[[section]]\nname = "{name}"\nplates = {plates}\nkind = "P"\nin_parallel = {abreast}\n\n'
        for name, plates, abreast in (("A", 24, 1), ("B", 18, 1), ("C", 6, 1), ("D", 4, 1), ("E", 20, 2))
    )
    path = tmp_path_factory.mktemp("car") / "car.toml"
    whole = text[:begin] + 'measured = "0.0712 ohm"\n\n' + text[end:] + "\n" + counts
    path.write_text(whole.replace('start_every = "150 s"\n', ""), encoding="utf-8")
    return starter(read_job(path))


SPANS = {"A": (0, 24), "B": (24, 42), "C": (42, 48), "D": (48, 52), "E": (52, 72)}


def at_hand(ohm: float = 0.0712, thin: int = 0, by: float = 1.0) -> PlatesAtHand:
    return PlatesAtHand(
        tuple(
            PlateAtHand(
                (n - 1) // 18 + 1, (n - 1) % 18 + 1, "P", ohm * (by if n == thin else 1.0), 0.0, "in circuit", None,
                (n - 51) // 2 if n > 52 else 0,
            )
            for n in range(1, 73)
        )
    )  # fmt: skip


def test_like_plates_at_hand_come_out_as_the_same_counts_do_in_a_start(car: Starter) -> None:
    """The parting into lots changes nothing: peaks, heat and holds as ``griddesign start`` has them on whole sections
    (but for what neighbours add, which lots of one section take otherwise)."""
    found = run_at_hand(car, at_hand())
    nominal = [n for n, case in enumerate(car.cases) if case.line_v == car.cases[0].line_v]
    whole = {log.name: float(log.peak_a[nominal].max()) for log in car.run(car.cases).notches}
    assert found.peak_a == pytest.approx(whole, rel=1e-6)
    heat = run_heat(car)
    assert heat is not None
    told = {(row.section, row.line_v, row.ambient_c): row for row in heat.duty_rows}
    for row in found.heat:
        if row.case == "one start":
            same = told[row.section.split(",")[0], row.line_v, row.ambient_c]
            assert row.hot_c - row.neighbour_k == pytest.approx(same.hot_c - same.neighbour_k, abs=0.01)
    assert {name.split(",")[0]: hold_s for name, hold_s in found.hold_s.items()} == pytest.approx(
        shortest(heat.held), rel=0.05
    )


def run_at_hand(car: Starter, plates: PlatesAtHand) -> RunAt:
    sections = [section(plates, name, *span) for name, span in SPANS.items()]
    return run_on(car.job, replace(car.worked, design=None), plates, sections)


def test_a_thin_plate_is_hotter_than_its_ohms_alone_would_make_it(car: Starter) -> None:
    """One plate of D with 15 per cent more ohms: its power is up by 15 per cent and its heat capacity down by 13, so
    one start heats it by 1.15 squared of what it heats the others (and a little more: its ohms rise with the heat)."""
    rises = {
        row.section: row.hot_c - row.neighbour_k - row.ambient_c
        for row in run_at_hand(car, at_hand(thin=50, by=1.15)).heat
        if row.case == "one start" and row.line_v == 550.0 and row.ambient_c == 20.0
    }
    thin = next(rise for name, rise in rises.items() if name.startswith("D, box"))
    assert 1.15**2 * 0.99 < thin / rises["D"] < 1.15**2 * 1.03


def test_without_a_drawn_plate_it_is_ohms_only(car: Starter) -> None:
    found = run_at_hand(car, PlatesAtHand(tuple(replace(plate, kind="Q") for plate in at_hand().plates)))
    assert found.peak_a and not found.heated and found.without.startswith(OHMS_ONLY)


def test_a_strange_kind_is_taken_to_be_of_the_jobs_one_metal(tmp_path: Path) -> None:
    result = retap(tmp_path, rows(0.066).replace(",P,", ",Q,"))
    assert set(result.found.kinds) == {"Q"}


def test_a_kind_nobody_read_is_asked_for(tmp_path: Path) -> None:
    with pytest.raises(JobError) as refused:
        retap(tmp_path, rows(0.066).replace(",5,P,0.066,four-wire,0.5 %,20", ",5,Q,,,,", 1))
    (complaint,) = refused.value.complaints()
    assert "nothing tells the ohms of kind Q" in complaint.message and complaint.line == 6
