"""The working: the numbers put in give the result printed, the result is the record's, what is not sure is marked."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

import griddesign
from griddesign.heat.cooling import LOSS_BAND
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.records import Result, Unknown
from griddesign.judge.work import result_of
from griddesign.papers import blocks as b
from griddesign.papers.bounds import bounds, clashes
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM
from griddesign.papers.marks import Words, flat
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.shown import ABOUT, NO_BREAK, kind_of
from griddesign.papers.sheets.trace import Line, Part, part_blocks
from griddesign.papers.sheets.trace_choice import _each_string
from griddesign.papers.sheets.working import formula_sources, working_parts, working_sheet
from griddesign.traction.records import Ladder

DEMO = Path(griddesign.__file__).parents[1] / "examples" / "demo.toml"
OHMS = {"µΩ": 1e-6, "mΩ": 1e-3, "Ω": 1.0}


@pytest.fixture(scope="module")
def starters(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Result]:
    folder = tmp_path_factory.mktemp("jobs")
    found = {}
    for purpose in ("plate", "retap", "claim"):
        path = folder / f"{purpose}.toml"
        path.write_text(starter_text(purpose), encoding="utf-8")
        found[purpose] = result_of(read_job(path))
    return found


def part_of(result: Result, title: str) -> Part:
    return next(part for part in working_parts(result) if part.title.startswith(title))


def line_of(result: Result, title: str, symbol: str) -> Line:
    return next(line for line in part_of(result, title).lines if line.symbol == symbol)


def ohms(text: str) -> float:
    """An ohm value as printed."""
    number, unit = text.removeprefix(ABOUT).split(NO_BREAK)
    return float(number) * OHMS[unit]


def worked_out(text: str) -> float:
    """What the numbers put in come to: every ``12.3 mΩ`` (V, A) as its number in SI units."""
    numbers = re.sub(
        rf"([\d.]+){NO_BREAK}(µΩ|mΩ|Ω|V|A|mm|m)\b", lambda m: repr(float(m[1]) * OHMS.get(m[2], 1.0)), text
    )
    plain = numbers.replace("·", "*").replace("−", "-")
    assert re.fullmatch(r"[\d.e+*/() -]+", plain), plain  # so that nothing but arithmetic is evaluated
    return float(eval(plain))


def texts(result: Result, paper: str = "A4") -> str:
    sheet = working_sheet(result)
    assert sheet is not None
    pages = lay_out((sheet,), b.Stamp("t", "A", "f", paper))
    return " ".join(mark.text for page in pages for _, _, mark in flat(page.marks) if isinstance(mark, Words))


# --- every number is the record's, and what is put in gives it ----------------------------------------------------


def test_every_figure_of_the_jobs_is_read_with_its_unit(demo: Result, starters: dict[str, Result]) -> None:
    for result in (demo, *starters.values()):
        read = {line.symbol: line for line in part_of(result, "Inputs as read").lines}
        for key, figure in result.job.figures.items():
            assert kind_of(key), f"{key} has no kind of quantity"
            assert read[key].formula == figure.text
            assert str(figure.status) in read[key].source
            assert f"line {result.job.lines[key]}" in read[key].source
            if figure.low == figure.high:
                assert float(read[key].result.split(NO_BREAK)[0]) == pytest.approx(figure.value, rel=1e-5)


def test_overridden_metals_have_a_kind_too() -> None:
    keys = ("resistivity", "alpha20", "density", "specific_heat_20", "specific_heat_400", "emissivity", "limit")
    assert all(kind_of(f"metal.ni_resist.{key}") for key in keys)
    assert kind_of("limits.plate") == "temperature"
    assert kind_of("car.nonsense") == ""


def test_totals_of_the_ladder(demo: Result) -> None:
    wanted = demo.worked.wanted
    assert isinstance(wanted, Ladder)
    for row in wanted.notches:
        line = line_of(demo, "Ladder: notch by notch", f"R'({row.name})")
        assert worked_out(line.numbers) == pytest.approx(row.total_ohm, rel=5e-4)
        assert ohms(line.result) == pytest.approx(row.total_ohm, rel=5e-4)
        peak = line_of(demo, "Ladder: notch by notch", f"peak({row.name})")
        assert peak.result == f"{row.peak_a:.1f}{NO_BREAK}A{NO_BREAK}per{NO_BREAK}motor"
        assert f"{row.line_peak_a:.1f}{NO_BREAK}A{NO_BREAK}from{NO_BREAK}line" in peak.formula
        assert f"at most {row.frozen_flux_a:.1f}" in peak.formula
        assert row.corner in peak.formula


def test_the_first_notch_is_an_equality(demo: Result) -> None:
    line = line_of(demo, "Ladder: what holds", "R'(1)")
    assert worked_out(line.numbers) == pytest.approx(ohms(line.result), rel=1e-4)


def test_speeds_follow_from_the_numbers_put_in(demo: Result) -> None:
    flux = float(line_of(demo, "Ladder: what holds", "k(Iv)").result.split(NO_BREAK)[0])
    for row in demo.worked.wanted.notches:
        line = line_of(demo, "Ladder: notch by notch", f"n({row.name})")
        if not row.passed:
            speed = worked_out(line.formula.replace("k(Iv)", repr(flux)))
            assert speed == pytest.approx(row.leave_rad_s, rel=2e-3)


def test_errors_of_the_notches(demo: Result, starters: dict[str, Result]) -> None:
    for result in (demo, starters["retap"]):
        for notch in result.notches:
            line = line_of(result, "Notch errors", f"e({notch.name})")
            printed = float(line.result.removeprefix(ABOUT).split(NO_BREAK)[0].replace("−", "-")) / 100
            assert printed == pytest.approx(notch.error, abs=6e-5)
            if not line.formula.startswith("(0"):
                assert worked_out(line.formula) == pytest.approx(notch.error, abs=1e-3)


def test_strings_with_a_grid_each_are_told_apart() -> None:
    assert _each_string(["1", "5", "5", "6"]) == ["1", "5, string 1", "5, string 2", "6"]


def test_sections_as_built(demo: Result) -> None:
    for section in demo.worked.design.sections:
        line = line_of(demo, "Sections as built", f"R({section.name})")
        assert worked_out(line.formula) == pytest.approx(section.cold_ohm, rel=3e-4)
        assert ohms(line.result) == pytest.approx(section.cold_ohm, rel=3e-4)


def test_squares_and_ohms_of_a_plate(demo: Result, starters: dict[str, Result]) -> None:
    for result in (demo, *starters.values()):
        plate = result.plates[0]
        squares = line_of(result, "Plate P", "squares")
        assert worked_out(squares.numbers) == pytest.approx(plate.figures.squares, abs=0.01)
        assert squares.result == f"{plate.figures.squares:.2f}"
        assert ohms(line_of(result, "Plate P", "R at 20\u00a0°C").result) == pytest.approx(
            plate.figures.cold_ohm, rel=1e-3
        )
        assert ohms(line_of(result, "Plate P", "R ordered").result) == pytest.approx(plate.order_ohm, rel=1e-3)


def test_start_and_its_heat(demo: Result) -> None:
    part = part_of(demo, "Start at 550")
    for notch in demo.start.notches:
        line = next(line for line in part.lines if line.symbol == notch.name)
        assert float(line.result.split(NO_BREAK)[0]) == pytest.approx(notch.seconds, rel=5e-3)
    assert "mean current" in part.said[0]
    for name, joules in demo.start_highest.section_j:
        line = line_of(demo, "Heat of the start at 660", f"Q({name})")
        assert float(line.result.split(NO_BREAK)[0]) == pytest.approx(joules / 1e3, rel=5e-3)
        parts = [float(one) for one in re.findall(rf"([\d.]+){NO_BREAK}kJ", line.formula)]
        assert sum(parts) == pytest.approx(joules / 1e3, rel=1e-2)


def test_loss_of_the_hottest_plate_has_both_ends(demo: Result) -> None:
    part = next(part for part in working_parts(demo) if part.title.startswith("Heat of a plate of section"))
    loss = next(line for line in part.lines if line.symbol == "loss of a plate")
    value = float(loss.result.removeprefix(ABOUT).split(NO_BREAK)[0])
    low, high = (float(end) for end in re.findall(r"\d+", loss.ends))
    assert (low, high) == pytest.approx(((1 - LOSS_BAND) * value, (1 + LOSS_BAND) * value), abs=1.0)
    every = part_of(demo, "Temperatures").lines
    duty = {line.symbol: line for line in every if line.formula.startswith("settled") and "660" in line.formula}
    for section in demo.worked.design.sections:
        worst = min(
            (row for row in demo.heat if row.case.startswith("settled") and row.section == section.name),
            key=lambda row: row.margin_k,
        )
        assert duty[f"T({section.name})"].result.startswith(f"{ABOUT}{worst.hot_c:.0f}{NO_BREAK}°C, bound ")


def test_masses_and_ohms_of_the_order_are_of_the_record(demo: Result) -> None:
    """By hand: grey iron of 7150 kg/m3; the plate of examples/demo.toml is 250 mm high with eyes 22 mm beyond and 30
    mm across, 5 mm thick, its strip as wide as chosen."""
    (plate,) = demo.plates
    wide_m, high_m = plate.blank_m
    assert high_m == pytest.approx(0.250 + 2 * 0.022 + 0.030)
    assert plate.blank_kg == pytest.approx(7150.0 * wide_m * high_m * 0.005)
    assert plate.test_strip_kg == pytest.approx(7150.0 * plate.shape.strip_width_m * 0.005 * 0.250)
    assert plate.cuts == 3
    hot = plate.ohms_at(40.0)
    assert hot == pytest.approx([ohm * (1 + 0.0019 * 20.0) for ohm in (plate.order_ohm, plate.low_ohm, plate.high_ohm)])
    assert replace(plate, low_ohm=None).ohms_at(40.0)[1] is None


def test_aims_with_their_bounds_and_proofs(demo: Result) -> None:
    lines = part_of(demo, "Choice").lines
    assert len(lines) == len(demo.worked.design.proofs)
    for line, proof in zip(lines, demo.worked.design.proofs, strict=True):
        assert line.formula.startswith(proof.objective.removesuffix(", kg"))
        assert "bound: " in line.formula
        assert line.source.startswith("proved best" if proof.proved else "not proved")


# --- what is not sure ----------------------------------------------------------------------------------------------


def test_figures_of_the_metal_are_marked_and_shown_at_both_ends(demo: Result) -> None:
    part = part_of(demo, "Metal grey_iron_class30")
    rho = next(line for line in part.lines if line.symbol == "ρ20")
    metal = demo.plates[0].wish.metal
    assert rho.result == f"{ABOUT}85.0{NO_BREAK}µΩ·cm"
    assert rho.ends == f"70.0 to 100{NO_BREAK}µΩ·cm"
    assert "memory" in rho.source
    assert metal.specific_heat_20.status == "seen"
    assert not next(line for line in part.lines if line.symbol == "cp, 20 °C").result.startswith(ABOUT)


def test_the_larger_range_is_bold_and_nothing_is_guaranteed(demo: Result) -> None:
    lines = part_of(demo, "Plate P").lines
    assert next(line for line in lines if line.symbol == "R, range of the metal").bold
    assert not next(line for line in lines if line.symbol == "R, bracket of the calculation").bold
    bands = {line.symbol: line for line in part_of(demo, "Bands").lines}
    assert bands["A, metal"].bold
    assert not bands["A, accepted"].bold
    assert "guaranteed" not in texts(demo).lower()


def test_a_bold_line_is_bold_on_paper() -> None:
    part = Part("t", (Line("R", "f", "1 / 2", "0.5", "s", bold=True), Line("S", "f", "", "1", "s")))
    table = part_blocks(part)[1]
    assert isinstance(table, b.Table)
    assert [isinstance(cell, b.Cell) for cell in table.rows[0]] == [True, False, True, False]
    assert table.rows[0][1] == "f = 1 / 2"
    assert table.rows[1] == ("S", "f", "1", "s")


def test_unsure_figures_mark_everything_that_rests_on_them(demo: Result) -> None:
    sure = line_of(demo, "Ladder: notch by notch", "R'(2)")
    assert not sure.result.startswith(ABOUT)
    unknown = Unknown("motor.resistance", "0.40 ohm to 0.44 ohm", 0.021, "4")
    unsure = replace(demo, unknowns=(unknown,), measure_next=(unknown,))
    for title, symbol in (("Ladder: notch", "R'(2)"), ("Notch errors", "e(1)"), ("Start at 550", "1")):
        assert line_of(unsure, title, symbol).result.startswith(ABOUT)
        assert "motor.resistance" in part_of(unsure, title).said[-1]
    (line,) = part_of(unsure, "Measure next").lines
    assert line.formula == "motor.resistance: 0.40 ohm to 0.44 ohm"
    assert line.result == f"{ABOUT}2.1{NO_BREAK}%"
    of_metal = part_of(demo, "Measure next").lines
    assert [line.formula.partition(":")[0] for line in of_metal][:2] == [
        "metal.grey_iron_class30.alpha20",
        "loss model",
    ]
    assert all("K" in line.result and "section D" in line.source for line in of_metal)


def test_a_plate_known_only_by_its_metal_marks_its_sections(starters: dict[str, Result]) -> None:
    claim = starters["claim"]
    band = claim.bands[0]
    line = line_of(claim, "Sections as built", f"R({band.name})")
    assert line.result.startswith(ABOUT)
    assert line.ends == f"{band.metal_low_ohm:.2f} to {band.metal_high_ohm:.2f}{NO_BREAK}Ω"
    assert not line_of(starters["retap"], "Sections as built", "R(A)").result.startswith(ABOUT)


# --- jobs with less in them ----------------------------------------------------------------------------------------


def test_nothing_to_work_out_no_sheet(demo: Result) -> None:
    assert working_sheet(replace(demo, plates=(), worked=None)) is None


def test_only_what_the_job_holds_is_traced(starters: dict[str, Result]) -> None:
    titles = {name: " | ".join(part.title for part in working_parts(result)) for name, result in starters.items()}
    assert "Plate P" in titles["plate"]
    assert not any(word in titles["plate"] for word in ("Ladder", "Choice", "Start", "Heat", "Measure next"))
    assert "Wanted ohms of the notches, given" in titles["retap"]
    assert not any(word in titles["retap"] for word in ("Ladder", "Start", "Heat"))
    assert not any("Churchill" in words or "Theraja" in words for words in formula_sources(starters["retap"]))


def test_the_formulas_of_a_whole_job_name_their_sources(demo: Result) -> None:
    words = " ".join(formula_sources(demo))
    for name in ("Bar-Cohen", "Elenbaas", "Churchill", "Incropera", "Theraja", "Fritsch", "Lemmon", "IEC 60034-1"):
        assert name in words


@pytest.mark.parametrize(("paper", "units"), [("A4", "mm"), ("Letter", "inch")])
def test_nothing_leaves_the_frame_or_meets_another_text(
    demo: Result, starters: dict[str, Result], paper: str, units: str
) -> None:
    for result in (demo, *starters.values()):
        job = replace(result.job, paper=replace(result.job.paper, units=units, sheet=paper))
        sheet = working_sheet(replace(result, job=job))
        assert sheet is not None
        for page in lay_out((sheet,), b.Stamp("t", "A", "f", paper)):
            left, top, right, bottom = bounds(page.marks)
            assert min(left, top) >= -0.4
            assert right <= LIVE_WIDE_MM + 0.4
            assert bottom <= LIVE_HIGH_MM + 0.4
            assert clashes(page.marks) == []
