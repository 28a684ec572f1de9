"""What ``griddesign new`` writes: measuring sheet and starter joined by letters, a blank table, plain questions."""

import io
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from griddesign.cli import main
from griddesign.errors import GriddesignError, JobError
from griddesign.job.answers import (
    DONT_KNOW,
    MOST_QUESTIONS,
    NOT_KNOWN,
    QUESTIONS,
    answer_of,
    asked_again,
    job_text,
    quoted,
)
from griddesign.job.document import key_lines
from griddesign.job.letters import LETTERS, dotted, lettered
from griddesign.job.plates_csv import BLANK_COLUMNS
from griddesign.job.reading import read_job
from griddesign.job.starters import PURPOSES, starter_text
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.marks import Words, flat
from griddesign.papers.measure_drawing import box_sketch, plate_sketch
from griddesign.papers.new_set import blanks_of
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.measuring import measuring_sheets

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]) -> Run:
    """Run one command line in an empty folder, with what is typed at its questions."""
    monkeypatch.chdir(tmp_path)

    def call(*words: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        with pytest.raises(SystemExit) as ended:
            main(list(words))
        out, err = capfd.readouterr()
        return int(ended.value.code or 0), out, err

    return call


# --- letters ---------------------------------------------------------------------------------------------------------


def test_letters_are_told_apart_and_none_is_taken_for_a_number() -> None:
    letters = [one.letter for one in LETTERS]
    assert len(set(letters)) == len(letters)
    assert not {"I", "O", "l", "o"} & set(letters)
    keys = [one.key for one in LETTERS if one.key]
    assert len(set(keys)) == len(keys)


@pytest.mark.parametrize("purpose", PURPOSES)
def test_every_key_that_has_a_letter_bears_it_in_the_starter(purpose: str) -> None:
    text = starter_text(purpose)
    lines, by_key = text.splitlines(), {one.key: one.letter for one in LETTERS if one.key}
    marked = 0
    for key, line in key_lines(text):
        letter = by_key.get(dotted(key))
        if letter:
            assert re.search(rf"# \({letter}\)", lines[line - 1]), lines[line - 1]
            marked += 1
    assert marked >= 4


def test_letters_change_no_value() -> None:
    plain = 'schema = 1\n[plate.shape]\nheight = "1 # 2"\npasses = 3 # three\n[boxes]\nboxes = 4'
    marked = lettered(plain)
    assert tomllib.loads(marked) == tomllib.loads(plain)
    assert '"1 # 2"' in marked and "# (A)" in marked and "# (C) three" in marked and "# (T)" in marked


def test_every_key_of_the_sheet_is_a_key_that_the_job_reads(tmp_path: Path) -> None:
    """Each lettered key put into a job is one of its figures or counts, none is refused."""
    text = starter_text("car")
    text = "\n".join(
        line for line in text.splitlines() if not line.startswith(("resistance", "current", "emf", "speed"))
    )
    text = text.replace("[motor.magnetisation]", "[motor.nameplate]").replace(
        "[motor.nameplate]",
        '[motor.nameplate]\npower = "25 kW"\nvoltage = "550 V"\ncurrent = "53 A"\nspeed = "600 rpm"',
    )
    text = text.replace("[motor]", '[motor]\nresistance = "0.45 ohm at 75 degC"')
    text = text.replace(
        "[plate.shape]",
        'measured = "66 mohm"\n[plate.shape]\nedge_thickness = "5 mm"\nfillet = "1 mm"\nbend_depth = "8 mm"',
    )
    text = text.replace(
        "[boxes]", '[plate.shape.eye]\ndiameter = "28 mm"\nhole = "14 mm"\nreach = "22 mm"\noffset = "9 mm"\n\n[boxes]'
    )
    text = text.replace('may_vary = { strip_width = "7 mm to 9.5 mm" }', "")
    text += '\n[hardware]\neye_thickness = { P = "6 mm" }\nframes_apart = "420 mm"\nrod_diameter = "10 mm"\n'
    path = tmp_path / "all.toml"
    path.write_text(text, encoding="utf-8")
    read_job(path)
    there = {dotted(key) for key, _ in key_lines(text)}
    assert {one.key for one in LETTERS if one.key} <= there


def test_the_sketches_show_the_letters_of_plate_and_box() -> None:
    for sketch, where, unseen in ((plate_sketch(), "plate", {"R", "S"}), (box_sketch(), "box", {"T", "U", "Y"})):
        drawn = {mark.text for _, _, mark in flat(sketch.marks) if isinstance(mark, Words)}
        wanted = {one.letter for one in LETTERS if one.where == where} - unseen
        assert wanted <= drawn, wanted - drawn
        left, top, right, bottom = bounds(sketch.marks)
        assert min(left, top) >= 0.0 and right <= sketch.width_mm and bottom <= sketch.height_mm
        assert clashes(sketch.marks) == []


# --- the sheets ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("purpose", PURPOSES)
def test_nothing_leaves_the_frame_or_meets_another_text(purpose: str, paper: str) -> None:
    for page in lay_out(measuring_sheets(purpose), b.Stamp("Ωmega <b> & שלום", "draft", "none yet", paper)):
        left, top, right, bottom = bounds(page.marks)
        assert min(left, top) >= -0.4 and right <= LIVE_WIDE_MM + 0.4 and bottom <= LIVE_HIGH_MM + 0.4
        assert clashes(page.marks) == []


def test_the_sheet_names_every_letter_with_its_key_and_has_its_cautions() -> None:
    pdf = blanks_of("car3", "car", starter_text("car"))["car3-measure.pdf"]
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    for one in LETTERS:
        assert (one.key or one.words.split(",")[0].split(" ")[0]) in text
    for words in ("LETHAL VOLTAGE", "ASBESTOS", "paint dot", "Leads as found", "In circuit", "Photo", "Motor 2"):
        assert words in text


def test_same_words_same_bytes() -> None:
    assert blanks_of("x", "car", starter_text("car")) == blanks_of("x", "car", starter_text("car"))


@pytest.mark.parametrize(("purpose", "rows"), [("car", 80), ("retap", 54), ("claim", 36), ("plate", 18)])
def test_the_blank_table_has_a_row_for_every_plate_of_the_jobs_boxes(purpose: str, rows: int) -> None:
    table = blanks_of("x", purpose, starter_text(purpose))["x-plates-blank.csv"].decode("utf-8-sig").splitlines()
    assert table[0].split(",") == list(BLANK_COLUMNS)
    assert len(table) == 1 + rows


# --- the command -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("purpose", PURPOSES)
def test_new_writes_the_blanks_and_never_over_a_file(run: Run, tmp_path: Path, purpose: str) -> None:
    assert run("new", "grid", "--for", purpose)[0] == 0
    names = {path.name for path in tmp_path.iterdir()}
    assert {"grid.toml", "grid-measure.pdf", "grid-plates-blank.csv"} <= names
    for name in names:
        before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
        (tmp_path / name).write_bytes(b"mine")
        for other in names - {name}:
            (tmp_path / other).unlink()
        code, _, err = run("new", "grid", "--for", purpose)
        assert code == 2 and f"{name} is there already" in err
        assert {path.name for path in tmp_path.iterdir()} == {name}
        assert (tmp_path / name).read_bytes() == b"mine"
        for other, content in before.items():
            (tmp_path / other).write_bytes(content)
    assert run("new", "grid", "--for", purpose, "--force")[0] == 0


def test_letter_paper_goes_into_the_job_too(run: Run, tmp_path: Path) -> None:
    assert run("new", "grid", "--paper", "Letter")[0] == 0
    assert read_job(tmp_path / "grid.toml").paper.sheet == "Letter"
    page = PdfReader(tmp_path / "grid-measure.pdf").pages[0]
    assert float(page.mediabox.width) == pytest.approx(612.0, abs=0.1)


# --- questions -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("purpose", PURPOSES)
def test_at_most_twelve_questions_each_with_an_example_that_answers_it(purpose: str) -> None:
    questions = QUESTIONS[purpose]
    assert 5 <= len(questions) <= MOST_QUESTIONS == 12
    for question in questions:
        assert answer_of(question, question.example) == question.example
        assert all(answer_of(question, words) is None for words in DONT_KNOW)


@pytest.mark.parametrize("purpose", PURPOSES)
def test_who_knows_nothing_gets_a_job_that_reads_and_says_so(run: Run, tmp_path: Path, purpose: str) -> None:
    code, _, err = run("new", "grid", "--for", purpose, "--ask", typed="\n" * 12)
    assert code == 0, err
    job, text = read_job(tmp_path / "grid.toml"), (tmp_path / "grid.toml").read_text(encoding="utf-8")
    asked = [one for one in QUESTIONS[purpose] if not one.key.startswith("motor.nameplate")]
    assert text.count(NOT_KNOWN) == len(asked)
    assert job.example
    for question in asked:
        if question.unknown:
            assert f'"{question.unknown}"' in text


@pytest.mark.parametrize("purpose", PURPOSES)
def test_the_examples_make_a_job_that_reads(purpose: str, tmp_path: Path) -> None:
    path = tmp_path / "grid.toml"
    text = job_text(purpose, {one.key: one.example for one in QUESTIONS[purpose]})
    path.write_text(text, encoding="utf-8")
    read_job(path)
    assert NOT_KNOWN not in text


def test_a_car_by_its_nameplate(run: Run, tmp_path: Path) -> None:
    typed = 'Wagen "7" \\ <b>\n600 V\n?\n15 t\n33 in\n\n2\n25 kW\n550 V\n53 A\n100 A\n\n'
    code, _, err = run("new", "grid", "--ask", typed=typed)
    assert code == 0, err
    data = tomllib.loads((tmp_path / "grid.toml").read_text(encoding="utf-8"))
    assert data["title"] == 'Wagen "7" \\ <b>'
    assert data["motor"] == {"count": 2, "nameplate": {"power": "25 kW", "voltage": "550 V", "current": "53 A"}}
    assert data["start"] == {"peak_current": "100 A", "first_notch_current": "about 85 A"}
    assert data["line"]["highest"] == "660 V to 720 V"
    read_job(tmp_path / "grid.toml")


def test_an_answer_that_is_none_is_asked_for_again(run: Run, tmp_path: Path) -> None:
    typed = "P\nunobtainium\nss304\n250 degC\n250 mm\n12.5\n12\n8 mm\n-7 mm\n7 mm\n5 mm\n28 mm\n14 mm\n22 mm\n"
    code, _, err = run("new", "grid", "--for", "plate", "--ask", typed=typed)
    assert code == 0, err
    assert "unobtainium" in err and "12.5 is no count" in err
    plate = read_job(tmp_path / "grid.toml").plates[0]
    assert (plate.metal.key, plate.made_by, plate.shape.passes, plate.shape.eyes) == ("ss304", "laser", 12, "one edge")


def test_answers_that_do_not_go_together_are_asked_for_once_more(run: Run, tmp_path: Path) -> None:
    first = "P\n\n250 mm\n13\n8 mm\n7 mm\n5 mm\n28 mm\n40 mm\n22 mm\n"  # a hole larger than its eye
    again = "\n\n\n\n\n\n28 mm\n14 mm\n22 mm\n"
    code, _, err = run("new", "grid", "--for", "plate", "--ask", typed=first + again)
    assert code == 0, err
    assert "do not go together" in err and "leaves no ring" in err
    assert read_job(tmp_path / "grid.toml").plates[0].shape.eye.hole_m == pytest.approx(0.014)


def test_who_walks_away_leaves_nothing_behind(run: Run, tmp_path: Path) -> None:
    code, out, err = run("new", "grid", "--ask", typed="A car\n600 V\n")
    assert code == 130 and "Nothing was written." in err and not out.strip()
    assert list(tmp_path.iterdir()) == []


def test_what_cannot_stand_in_a_job_is_refused() -> None:
    title = QUESTIONS["car"][0]
    for words in ("a\x00b", "a\x1bb", "x" * 201):
        with pytest.raises(GriddesignError):
            answer_of(title, words)
    for words in ('"', "\\", "'", "# no comment", "[table]", "Ω שלום \U0001f600"):
        assert tomllib.loads(f"a = {quoted(words)}")["a"] == words
    with pytest.raises(JobError):
        job_text("plate", {"plate.0.shape.eye.hole": "40 mm"})


def test_complaints_find_their_questions() -> None:
    assert {one.key.split(".")[0] for one in asked_again("car", ["line.highest"])} == {"line"}
    assert asked_again("car", ["somewhere.else"]) == QUESTIONS["car"]


def test_an_inch_shops_blanks_ask_for_degrees_fahrenheit() -> None:
    files = blanks_of("old", "retap", starter_text("retap"), "Letter")
    table = files["old-plates-blank.csv"].decode("utf-8-sig")
    assert "temperature (degF)" in table and "degC" not in table
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(files["old-measure.pdf"])).pages)
    assert "Metal, °F" in text and "°C" not in text.replace("20 °C, 68 °F", "")
