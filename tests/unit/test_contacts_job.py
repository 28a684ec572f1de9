"""A controller's chart and leads in a job file: what comes of them, and every way they can be wrong."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from griddesign.cli import root
from griddesign.errors import Complaint, JobError
from griddesign.grid.records import Branches, Run
from griddesign.job.contacts import chart_of_file
from griddesign.job.reading import read_job
from griddesign.judge.contacts import chart_now, chart_remarks, judge_chart, without_current
from griddesign.judge.finding import Verdict
from griddesign.shipped import examples_folder
from griddesign.traction.records import Grouping

LEADS = {
    "T": "line", "G": "ground", "R1": "start of A", "R2": "A/B", "R3": "B/C", "R4": "C/D", "R5": "D/E",
    "R6": "end of E", "M1": "motor 1 in", "M2": "motor 1 out", "M3": "motor 2 in", "M4": "motor 2 out",
}  # fmt: skip
SERIES, PARALLEL = ["M2", "M3"], [["R6", "M3"], ["M2", "G"]]
CHART = {
    "1": [["T", "R1"], SERIES], "2": [["T", "R2"], SERIES], "3": [["T", "R3"], SERIES], "4": [["T", "R6"], SERIES],
    "5": [["T", "R3"], *PARALLEL], "6": [["T", "R4"], *PARALLEL], "7": [["T", "R5"], *PARALLEL],
    "8": [["T", "R6"], *PARALLEL],
}  # fmt: skip
BRIDGE = [["T", "R3"], ["R1", "R5"], ["R4", "M3"], ["M2", "G"]]
ALWAYS = [["R6", "M1"], ["M4", "G"]]
OHMS = {"A": 1.7, "B": 1.4, "C": 0.4, "D": 0.3, "E": 0.3}


def job_text(
    leads: dict[str, object] | None = None,
    chart: dict[str, list[list[str]]] | None = None,
    always: list[list[str]] | None = None,
    more: str = "",
) -> str:
    """The demo with its circuits given as chart and leads."""
    text = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
    for name, joined in (CHART | (chart or {})).items():
        pattern = rf'name = "{name}"\nmotors = "\w+"\ncircuit = .*\n'
        text, count = re.subn(pattern, f'name = "{name}"\njoined = {json.dumps(joined)}\n', text)
        assert count == 1
    pairs = ", ".join(f"{name} = {json.dumps(to)}" for name, to in (leads or LEADS).items())
    controller = (
        f'[grid]\nsections = ["A", "B", "C", "D", "E"]\n\n[controller]\nleads = {{ {pairs} }}\n'
        f"joined = {json.dumps(ALWAYS if always is None else always)}\n{more}\n"
    )
    return text.replace("[[notch]]", f"{controller}\n[[notch]]", 1)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "chart.toml"


def complaints(path: Path, text: str) -> tuple[Complaint, ...]:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    return caught.value.complaints()


def test_a_chart_gives_the_notches_that_circuits_would(path: Path) -> None:
    path.write_text(job_text(), encoding="utf-8")
    charted, drawn = read_job(path), read_job(examples_folder() / "demo.toml")
    assert charted.notches == drawn.notches
    assert charted.section_order == drawn.section_order
    assert [finding.verdict for finding in judge_chart(charted)] == [Verdict.HOLDS]
    assert chart_remarks(charted) == ()


FOUR = {name: to for name, to in LEADS.items() if name[0] != "M"} | {
    f"{side}{number}": f"motor {number} {way}" for number in range(1, 5) for side, way in (("I", "in"), ("O", "out"))
}
STRING = [["R6", "I1"], ["O1", "I2"], ["O2", "I3"], ["O3", "I4"], ["O4", "G"]]
JOINED_ACROSS = [["R6", "I1", "I2"], ["O1", "O2", "I3", "I4"], ["O3", "O4", "G"]]
ONE_BEFORE_THREE = [["R6", "I1"], ["O1", "I2", "I3", "I4"], ["O2", "O3", "O4", "G"]]
TWO_BEFORE_ONE = [["R6", "I1", "I2"], ["O1", "O2", "I3"], ["O3", "G"]]


def test_motors_side_by_side_one_after_another(path: Path) -> None:
    """Two after two, joined across, are two strings of two; one before three, or two before one, no strings at all:
    taken as strings the odd motor would be lost, or share a current it does not have."""
    taps = {"1": "R1", "2": "R2", "3": "R3", "4": "R6", "5": "R3", "6": "R4", "7": "R5", "8": "R6"}
    motors = dict.fromkeys("1234", STRING) | {"5": JOINED_ACROSS, "6": ONE_BEFORE_THREE, "7": TWO_BEFORE_ONE}
    chart = {name: [["T", tap], *motors.get(name, JOINED_ACROSS)] for name, tap in taps.items()}
    text = job_text(FOUR, chart, always=[]).replace("count = 2", "count = 4")
    path.write_text(text, encoding="utf-8")
    notches = {notch.name: notch for notch in read_job(path).notches}
    assert notches["1"].grouping == Grouping(4, 1)
    assert notches["5"].grouping == notches["8"].grouping == Grouping(2, 2)
    assert notches["5"].common == Run(("C", "D", "E")) and notches["5"].network is None
    for name, count in (("6", 4), ("7", 3)):
        network = notches[name].network
        assert network is not None and "no even grouping" in network.why
        assert len(network.motors) == count


@pytest.mark.parametrize(
    ("changed", "words", "hint"),
    [
        ({"chart": {"2": [["T", "R2"], ["M2", "G"], ["G", "M3"], ["R6", "T"], ["M1", "M2"]]}},
         "line is joined to ground by terminals T, R6, M1, M2, G", "Look at the chart"),
        ({"chart": {"2": [["T", "R7"], SERIES]}}, "terminal R7 is in the chart and has no lead", "bare stud"),
        ({"leads": LEADS | {"R2": "A/C"}}, "'A/C' is nothing a lead can go to", "Did you mean"),
        ({"leads": LEADS | {"R2": "motor 3 in"}}, "'motor 3 in' is nothing", "motor"),
        ({"leads": LEADS | {"R2": ""}}, "'' is nothing", "Write line"),
        ({"leads": LEADS | {"R2": 7}}, "7 is no lead", "nothing"),
        ({"leads": {name: to for name, to in LEADS.items() if name != "G"}, "always": [["R6", "M1"]]},
         "no lead goes to ground", "lead list"),
        ({"leads": LEADS | {"R2": "end of A"}}, "the chain is parted there, or is it not", "A/B"),
        ({"leads": LEADS | {"X": "motor 1 field 1"}}, "motor 1 has leads to the whole motor and to its", "lead list"),
        ({"chart": {"3": [["T", "R3"]]}}, "nothing joins line and ground: no current", "--chart"),
        ({"chart": {"3": [["T", "R2", "R4"], ["R3", "M1"], ["R6", "G"]]}, "always": [["M4", "G"]]},
         "a bridge" if False else "no motor is in circuit", "chart"),
        ({"chart": {"3": [["T"]]}}, "is no list of joined terminals", "Write joined"),
        ({"more": 'terminals = ["T", "R1"]'}, "terminal R6 is no terminal of the controller", "T, R1"),
        ({"more": 'section_ohms = { Z = "1 ohm" }'}, "is no section", "Sections: A"),
        ({"more": 'field_resistance = "0.5 ohm"'}, "is not less than the motor's 0.42 ohm", "armature"),
        ({"more": "surprise = 1"}, "is not a key of this table", "Known here"),
    ],
)  # fmt: skip
def test_one_message_for_each_fault_with_its_line(
    path: Path, changed: dict[str, object], words: str, hint: str
) -> None:
    found = complaints(path, job_text(**changed))  # type: ignore[arg-type]
    hit = [one for one in found if words in one.message]
    assert hit, [one.text() for one in found]
    assert hint in hit[0].hint
    line = path.read_text(encoding="utf-8").splitlines()[(hit[0].line or 0) - 1]
    assert hit[0].key.split(".")[-1] in line or "controller" in line


def test_a_chart_beside_a_circuit_or_without_leads_is_refused(path: Path) -> None:
    both = job_text().replace('name = "3"\n', 'name = "3"\ncircuit = ["C"]\n')
    assert any("stands beside joined" in one.message for one in complaints(path, both))
    demo = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
    bare = demo.replace('circuit = ["E"]', 'joined = [["T", "R1"]]')
    found = complaints(path, bare)
    assert any("[controller] leads is missing" in one.message and one.line for one in found)


def test_a_section_named_like_a_motor_is_refused(path: Path) -> None:
    found = complaints(path, job_text().replace('sections = ["A",', 'sections = ["motor 1",'))
    assert any("a section named 'motor 1' cannot be told" in one.message for one in found)


def test_contradictions_that_leave_a_circuit_are_findings_with_terminals(path: Path) -> None:
    """Section D shorted by a fixed wire: the controller can be so, and whoever reads it must know."""
    text = job_text(always=[*ALWAYS, ["R4", "R5"]])
    path.write_text(text, encoding="utf-8")
    job = read_job(path)
    failing = [one.why for one in judge_chart(job) if one.verdict is Verdict.FAILS]
    assert failing == ["section D is shorted on every notch (terminals R4, R5)"]
    assert job.notches[0].common == Run(("A", "B", "C", "E"))


def test_motor_never_in_circuit_and_section_never_in_circuit_are_named(path: Path) -> None:
    leads = LEADS | {"R1": "nothing"}
    chart = {name: [["T", "R3" if name < "7" else "R6"], ["M2", "G"]] for name in CHART}
    path.write_text(job_text(leads=leads, chart=chart), encoding="utf-8")
    chart_read = chart_of_file(path)
    assert chart_read is not None
    words = [one.words for one in chart_read.read.contradictions]
    assert any(one.startswith("motor 2 is never in circuit (terminals M3, M4)") for one in words)
    assert any(one.startswith("section A is never in circuit") for one in words)
    job = read_job(path)
    assert job.notches[0].grouping == Grouping(1, 1)
    assert "notch 1: motor 2 out of circuit" in chart_remarks(job)


MOTOR_ENDS = {
    "A1": "motor 1 armature 1", "A2": "motor 1 armature 2", "F1": "motor 1 field 1", "F2": "motor 1 field 2",
    "A3": "motor 2 armature 1", "A4": "motor 2 armature 2", "F3": "motor 2 field 1", "F4": "motor 2 field 2",
}  # fmt: skip


def apart(reversed_second: bool = False, shunt: bool = False) -> str:
    """Armatures and fields apart, a reverser, and on the last notch a resistor beside each field."""
    leads: dict[str, object] = {name: to for name, to in LEADS.items() if not name.startswith("M")} | MOTOR_ENDS
    second = [["A4", "M3"], ["A3", "F3"]] if reversed_second else [["A3", "M3"], ["A4", "F3"]]
    leads |= {"M1": "nothing", "M2": "nothing", "M3": "nothing", "M4": "nothing"}
    always = [["R6", "M1"], ["M4", "G"], ["A1", "M1"], ["A2", "F1"], ["F2", "M2"], *second, ["F4", "M4"]]
    chart, more = {}, ""
    if shunt:
        leads |= {"S1": "resistor S 1", "S2": "resistor S 2", "U1": "resistor U 1", "U2": "resistor U 2"}
        chart = {"8": [["T", "R6"], *PARALLEL, ["F1", "S1"], ["F2", "S2"], ["F3", "U1"], ["F4", "U2"]]}
        more = 'field_resistance = "0.15 ohm"\nresistors = { S = "0.30 ohm", U = "0.30 ohm" }'
    return job_text(leads=leads, chart=chart, always=always, more=more)


def test_armatures_and_fields_apart_make_the_same_notches(path: Path) -> None:
    path.write_text(apart(), encoding="utf-8")
    assert read_job(path).notches == read_job(examples_folder() / "demo.toml").notches


def test_motors_against_each_other_are_found(path: Path) -> None:
    path.write_text(apart(reversed_second=True), encoding="utf-8")
    failing = [one for one in judge_chart(read_job(path)) if one.verdict is Verdict.FAILS]
    assert len(failing) == len(CHART)
    assert failing[0].why == "motors against each other: 1 forward, 2 backward"
    assert failing[0].item == "contact chart, notch 1"


def test_a_resistor_beside_the_field_weakens_it(path: Path) -> None:
    """0.15 ohm of field beside 0.30 ohm: two thirds of the current in the field, 0.42 - 0.15 + 0.10 ohm of motor."""
    path.write_text(apart(shunt=True), encoding="utf-8")
    last = read_job(path).notches[-1]
    assert last.field == pytest.approx(2 / 3)
    assert last.motor_ohm == pytest.approx(0.37)
    assert last.grouping == Grouping(1, 2)


def test_an_armature_whose_field_is_shorted_is_a_contradiction(path: Path) -> None:
    text = apart().replace('joined = [["T", "R6"], ["M2", "M3"]]', 'joined = [["T", "R6"], ["M2", "M3"], ["F1", "F2"]]')
    found = complaints(path, text)
    assert any("motor 1: armature without its field" in one.message for one in found)
    chart = chart_of_file(path)
    assert chart is not None
    assert any("field has none" in one.words and one.notch == "4" for one in chart.read.contradictions)


def test_strings_with_a_grid_each_and_branches_are_recognised(path: Path) -> None:
    leads = {name: to for name, to in LEADS.items() if name != "R3"} | {"R3": "end of B", "Q3": "start of C"}
    strings = [["T", "R1", "Q3"], ["R3", "M1"], ["R6", "M3"], ["M2", "M4", "G"]]
    branches = [["T", "R1"], ["R3", "Q3"], ["R1", "R4"], ["R6", "M1"], SERIES, ["M4", "G"]]
    rest = {name: branches for name in CHART if name > "1"}
    path.write_text(job_text(leads=leads, chart={"1": strings, **rest}, always=[]), encoding="utf-8")
    first, second = read_job(path).notches[:2]
    assert first.grouping == Grouping(1, 2)
    assert first.strings == (Run(("A", "B")), Run(("C", "D", "E")))
    assert second.common == Run(("D", "E"))
    beside = [["T", "R1", "R4"], ["R2", "R5"], ["R6", "M1"], SERIES, ["M4", "G"]]
    path.write_text(
        job_text(chart={"1": beside}, always=[]).replace('["R6", "M1"], ["M4", "G"]]', "]"), encoding="utf-8"
    )
    charted = chart_of_file(path)
    assert charted is not None
    found = charted.circuit(0)
    expected = Run((Branches((Run(("A",)), Run(("C", "B")), Run(("D",)))), "E"))
    assert getattr(found, "common", None) in (expected, Run((expected.parts[0], "E")))


def test_the_current_in_every_section_and_what_it_does_now(path: Path) -> None:
    path.write_text(job_text(), encoding="utf-8")
    charted = chart_of_file(path)
    assert charted is not None
    rows = chart_now(charted.read, OHMS)
    assert [row.grid_ohm for row in rows] == pytest.approx([4.1, 2.4, 1.0, 0.0, 1.0, 0.6, 0.3, 0.0])
    assert [row.terminal_ohm for row in rows] == pytest.approx([4.94, 3.24, 1.84, 0.84, 1.21, 0.81, 0.51, 0.21])
    assert dict(rows[5].share) == pytest.approx({"D": 1.0, "E": 1.0})
    assert rows[0].motors == "2 in series"
    assert rows[7].motors == "2 in parallel"


def test_plates_without_current_are_told(path: Path) -> None:
    path.write_text(job_text(chart={"1": [["T", "R2"], SERIES]}), encoding="utf-8")
    charted = chart_of_file(path)
    assert charted is not None
    spans = (("A", 2, 4), ("B", 4, 6), ("C", 6, 7), ("D", 8, 9), ("E", 9, 10))
    found = dict(without_current(charted.read, 12, spans))
    assert found == {
        1: "beyond the taps", 2: "beyond the taps", 3: "in section A, which no notch uses",
        4: "in section A, which no notch uses", 8: "between taps", 11: "beyond the taps", 12: "beyond the taps",
    }  # fmt: skip


def test_the_command_shows_a_bridge_all_the_same(path: Path) -> None:
    ohms = ", ".join(f'{name} = "{ohm} ohm"' for name, ohm in OHMS.items())
    path.write_text(job_text(chart={"3": BRIDGE}, more=f"section_ohms = {{ {ohms} }}"), encoding="utf-8")
    result = CliRunner().invoke(root, ["wanted", str(path), "--chart", "--json"], standalone_mode=False)
    data = json.loads(result.output)
    row = data["notches"][2]
    assert "bridge" in row["why"]
    assert row["terminal_ohm"] > 0.0
    assert set(row["current_share"]) == {"A", "B", "C", "D", "E"}
    assert row["current_share"]["A"] < 0.0  # from its far end to the dot end
    shown = CliRunner().invoke(root, ["wanted", str(path), "--chart"], standalone_mode=False)
    assert "network of 2 motors" in shown.output


@pytest.mark.parametrize(
    "controller",
    [
        "controller = 3",
        "[controller]",
        "[controller]\nleads = 4",
        "[controller]\nleads = { }",
        '[controller]\nleads = { T = "line", G = "ground" }\njoined = 5',
        '[controller]\nleads = { T = "line", G = "ground" }\nresistors = 5',
        '[controller]\nleads = { T = "line", G = ["ground", 3] }',
        '[controller]\nleads = { T = "line", G = "ground" }\nterminals = 7',
        '[controller]\nleads = { T = "line", G = "line" }\nmotors = 99999',
    ],
)
def test_nonsense_is_refused_in_plain_words(path: Path, controller: str) -> None:
    demo = (examples_folder() / "demo.toml").read_text(encoding="utf-8")
    head, tail = demo.split("[line]", 1)
    text = f"{head}{controller}\n[line]{tail}" if controller.startswith("controller") else f"{demo}\n{controller}\n"
    assert all(one.message for one in complaints(path, text))
