"""A supplier's claim, made by hand, with six faults planted: all six are found, nothing else is accused."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from griddesign.errors import JobError
from griddesign.job.claim import read_claim
from griddesign.job.reading import read_job
from griddesign.job.records import Job
from griddesign.judge.finding import Verdict
from griddesign.papers.blocks import Heading
from griddesign.papers.bounds import clashes
from griddesign.papers.pdf import lay_out
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.verify import verify_sheet
from griddesign.shipped import examples_folder
from griddesign.verify import claim as verify_module
from griddesign.verify.claim import verify_claim
from griddesign.verify.grid import built, find_section
from griddesign.verify.offer import Offer
from griddesign.verify.plates import find_plate
from griddesign.verify.records import RANK, Verified, VerifyFinding
from griddesign.verify.weights import Car, put_in_car

CLAIM = (examples_folder() / "claim.toml").read_text(encoding="utf-8")
FAULTS = {  # what is changed in the claim -> the point that must be found
    "plate P, mass": ('mass = "1.046 kg"', 'mass = "1.25 kg"'),
    "section B, ohms": ('ohm = "1.408 ohm at 20 degC"', 'ohm = "1.408 ohm"'),
    "notch 5, ohms": ('ohm = "1.08 ohm at 20 degC"', 'ohm = "1.25 ohm at 20 degC"'),
    "plate Q, metal": ('metal = "ni35cr20"', 'metal = "ss304"'),
    "rating P, 300 A for 60 s": ('current = "120 A"\ntime = "20 s"', 'current = "300 A"\ntime = "60 s"'),
    "boxes": ("boxes = 3\n", "boxes = 4\n"),
}
NO_REFERENCE = "section B, ohms"
ON_ESTIMATES = {"rating P, 40 A for ever", "rating P, 120 A for 20 s", "for the car: heat of the duty"}
Verify = Callable[[str], Verified]


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job(examples_folder() / "demo.toml")


@pytest.fixture(scope="module")
def whole(job: Job, tmp_path_factory: pytest.TempPathFactory) -> Verify:
    """Verify with the offered grid put in the car anew each time."""
    return _verifier(job, tmp_path_factory)


@pytest.fixture
def verify(job: Job, tmp_path_factory: pytest.TempPathFactory, car: Car, monkeypatch: pytest.MonkeyPatch) -> Verify:
    """Verify with the car as it is with the claim without faults: a second of ladder and duty less for each claim."""
    monkeypatch.setattr(verify_module, "put_in_car", lambda *_: car)
    return _verifier(job, tmp_path_factory)


@pytest.fixture(scope="module")
def car(job: Job) -> Car:
    offer = Offer(job, read_claim(examples_folder() / "claim.toml", job))
    plates = {plate.name: find_plate(offer, plate) for plate in offer.claim.plates}
    sections = {section.name: find_section(offer, plates, section) for section in offer.claim.sections}
    return put_in_car(offer, plates, built(offer, sections, plates))


def _verifier(job: Job, tmp_path_factory: pytest.TempPathFactory) -> Verify:
    known: dict[str, Verified] = {}

    def call(text: str) -> Verified:
        if text not in known:
            path = tmp_path_factory.mktemp("claim") / "claim.toml"
            path.write_text(text, encoding="utf-8")
            known[text] = verify_claim(job, read_claim(path, job))
        return known[text]

    return call


def changed(*pairs: tuple[str, str], text: str = CLAIM) -> str:
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def named(result: Verified, item: str) -> VerifyFinding:
    return next(finding for finding in result.findings if finding.item == item)


def not_held(result: Verified) -> dict[str, Verdict]:
    return {one.item: one.verdict for one in result.findings if one.verdict is not Verdict.HOLDS}


def test_the_claim_without_faults_is_accused_of_nothing_and_only_estimates_stay_open(whole: Verify) -> None:
    assert not_held(whole(CLAIM)) == dict.fromkeys(ON_ESTIMATES, Verdict.NOT_SHOWN)


def test_six_planted_faults_are_all_found_and_nothing_else_is_accused(whole: Verify) -> None:
    found = not_held(whole(changed(*FAULTS.values())))
    assert {item for item, verdict in found.items() if verdict is Verdict.FAILS} == set(FAULTS) - {NO_REFERENCE}
    open_points = {item for item, verdict in found.items() if verdict is Verdict.NOT_SHOWN}
    assert open_points == {NO_REFERENCE, "rating P, 40 A for ever", "for the car: heat of the duty"}


@pytest.mark.parametrize("item", FAULTS)
def test_each_fault_alone_is_found_alone(verify: Verify, item: str) -> None:
    found = not_held(verify(changed(FAULTS[item])))
    assert set(found) - ON_ESTIMATES == {item}
    assert found[item] is (Verdict.NOT_SHOWN if item == NO_REFERENCE else Verdict.FAILS)


def test_findings_are_ranked_fails_by_weight_then_not_shown_then_what_holds(whole: Verify) -> None:
    findings = whole(changed(*FAULTS.values())).findings
    keys = [(RANK[one.verdict], -one.weight) for one in findings]
    assert keys == sorted(keys)
    assert not any(one.measure_next for one in findings if one.verdict is Verdict.HOLDS)
    assert all(one.measure_next for one in findings if one.verdict is not Verdict.HOLDS)


def test_the_wrong_alloy_is_named_and_its_ohms_stand_by_the_test_report(verify: Verify) -> None:
    result = verify(changed(FAULTS["plate Q, metal"]))
    assert "ni35cr20" in named(result, "plate Q, metal").why
    ohms = named(result, "plate Q, ohms")
    assert ohms.verdict is Verdict.HOLDS
    assert "test report type test 3" in ohms.why


def test_a_wrong_thickness_is_told_from_wrong_ohms_and_a_wrong_mass(verify: Verify) -> None:
    thicker = CLAIM.replace('thickness = "5 mm"', 'thickness = "6 mm"', 1)
    found = named(verify(thicker), "plate P, thickness")
    assert found.verdict is Verdict.FAILS
    assert found.computed == pytest.approx(0.005, rel=0.01)
    fails = {item for item, verdict in not_held(verify(thicker)).items() if verdict is Verdict.FAILS}
    assert fails == {"plate P, thickness", "boxes, length of the stack"}, "20 plates of 6 mm make a longer stack too"


def test_wrong_ohms_of_a_plate_are_told_from_a_wrong_metal_by_its_sections(verify: Verify) -> None:
    result = verify(changed(('ohm = "0.1005 ohm at 20 degC"', 'ohm = "0.120 ohm at 20 degC"')))
    fails = {item for item, verdict in not_held(result).items() if verdict is Verdict.FAILS}
    assert fails == {"plate P, ohms"}
    assert named(result, "plate P, ohms").effect.current is not None


def test_weight_is_the_current_moved_over_the_notch_tolerance(verify: Verify, job: Job) -> None:
    """By hand: notch 5 in parallel, R' = 2 (Rg + 0.04) + Rm; claimed 1.25 ohm, by counts 10 plates' worth 1.0804."""
    found = named(verify(changed(FAULTS["notch 5, ohms"])), "notch 5, ohms")
    assert job.motor is not None
    other = 2 * 0.04 + job.motor.resistance_ohm
    moved = (other + 2 * 1.25) / (other + 2 * 1.0804) - 1
    assert found.effect.current == pytest.approx(moved, rel=1e-6)
    assert found.weight == pytest.approx(moved / job.limits.notch_tolerance, rel=1e-6)


@pytest.mark.parametrize("key", ["temperature_limit", "test_voltage", "clearance"])
def test_what_safety_needs_and_is_left_out_is_a_finding_of_its_own(verify: Verify, key: str) -> None:
    kept = [line for line in CLAIM.splitlines() if not line.startswith(f"{key} =")]
    found = named(verify("\n".join(kept)), f"safety: {key.replace('_', ' ')}")
    assert (found.verdict, found.claimed, found.weight) == (Verdict.NOT_SHOWN, None, 1.0)
    assert "leaves it out" in found.why


def test_a_clearance_without_its_clause_is_not_shown(verify: Verify) -> None:
    result = verify(
        changed(
            (
                'clearance = { value = "25 mm", source = "clause 9 of the invented tramway\'s order" }',
                'clearance = "25 mm"',
            )
        )
    )
    assert named(result, "safety: clearance").verdict is Verdict.NOT_SHOWN


def test_a_claim_that_rests_on_an_estimate_never_ranks_above_not_shown(verify: Verify) -> None:
    about = changed(('ohm = "0.402 ohm at 20 degC"', 'ohm = "about 0.402 ohm at 20 degC"'))
    found = named(verify(about), "section C, ohms")
    assert found.verdict is Verdict.NOT_SHOWN
    assert "estimate" in found.why
    without = CLAIM.replace("[metal.fecral_13_4]", "[metal.fecral_22_5]").replace('"125 uohm cm"', '"145 uohm cm"')
    assert named(verify(without), "plate P, ohms").verdict is Verdict.NOT_SHOWN, "the table's range is wider than 5 %"


def test_ohms_no_temperature_could_explain_fail_even_without_a_reference(verify: Verify) -> None:
    result = verify(changed(('ohm = "1.408 ohm at 20 degC"', 'ohm = "1.90 ohm"')))
    found = named(result, "section B, ohms")
    assert found.verdict is Verdict.FAILS
    assert "no reference temperature" in found.why


def test_the_offered_drawing_is_solved_and_held_against_ohms_and_dimensions(
    verify: Verify, tmp_path: Path, job: Job
) -> None:
    """The drawing among the examples is of another plate than the claim's dimensions: they clash, once."""
    drawing = (examples_folder() / "offered-plate.dxf").read_bytes()
    (tmp_path / "offered-plate.dxf").write_bytes(drawing)
    path = tmp_path / "claim.toml"
    path.write_text(
        CLAIM.replace('made_by = "laser"', 'made_by = "laser"\noutline = "offered-plate.dxf"', 1), encoding="utf-8"
    )
    result = verify_claim(job, read_claim(path, job))
    fails = {item for item, verdict in not_held(result).items() if verdict is Verdict.FAILS}
    assert fails == {"plate P, dimensions"}
    assert path in read_claim(path, job).files


def test_a_tap_one_pair_of_plates_off_is_found_and_weighed(verify: Verify) -> None:
    found = named(verify(changed(("joint = [16, 17] ", "joint = [14, 15] "))), "tap A/B")
    assert (found.verdict, found.claimed, found.computed) == (Verdict.FAILS, 14, 16)
    assert found.weight > 0.0


def test_a_claim_of_one_plate_alone_needs_no_counts(verify: Verify) -> None:
    alone = CLAIM[: CLAIM.index("[[section]]")]
    found = not_held(verify(alone))
    assert Verdict.FAILS not in found.values()


# Bad input: one message each.


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('ohm = "1.609 ohm at 20 degC"', "ohm = 1.609", "no claimed figure"),
        ('mass = "1.046 kg"', 'mass = "-1 kg"', "-1 kg"),
        ('metal = "ni35cr20"', 'metal = "unobtainium"', "unobtainium"),
        ('report = "type test 3"\nof = "Q"', 'report = "type test 3"\nof = "Z"', "'Z' is not known here"),
        ("plates = 14", "plates = 14.5", "14.5"),
        ("joint = [16, 17] ", "joint = [16, 18] ", "no joint"),
        ('offered_by = "supplier of the invented tramway"', 'offerd_by = "x"', "is not a key"),
    ],
)  # fmt: skip
def test_bad_claims_are_refused_with_their_line(job: Job, tmp_path: Path, old: str, new: str, said: str) -> None:
    path = tmp_path / "claim.toml"
    path.write_text(changed((old, new)), encoding="utf-8")
    with pytest.raises(JobError) as refused:
        read_claim(path, job)
    complaints = refused.value.complaints()
    assert any(said in complaint.message for complaint in complaints), [one.message for one in complaints]
    assert all(complaint.line for complaint in complaints)


def test_the_report_is_whole_and_nothing_runs_over(whole: Verify) -> None:
    result = whole(changed(*FAULTS.values()))
    sheet = verify_sheet(result)
    pages = lay_out((sheet,), stamp(result))
    assert all(clashes(page.marks) == [] for page in pages)
    assert sheet.imperative.startswith("5 points fail")
    titles = [block.text for block in sheet.blocks if isinstance(block, Heading)]
    assert titles[:2] == ["Fails: 5", "Not shown: 3"]
    assert titles[-1] == "Signed"


def test_an_inch_shop_reads_every_finding_in_its_own_units(
    job: Job, car: Car, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verify_module, "put_in_car", lambda *_: car)
    inch = replace(job, paper=replace(job.paper, sheet="Letter", units="inch"))
    path = tmp_path / "claim.toml"
    path.write_text(changed(*FAULTS.values()), encoding="utf-8")
    result = verify_claim(inch, read_claim(path, inch))
    whys = [f"{one.why} {one.measure_next}".replace("68 °F (20 °C)", "").replace("Ω·kg", "") for one in result.findings]
    assert [why for why in whys if re.search(r"\d °C|\d mm\b|\d kg\b|kg/m", why)] == []
    units = ("lb/in³", "°F", "in", "lb")
    assert {unit for why in whys for unit in re.findall(rf"\d ({'|'.join(units)})(?!\w)", why)} == set(units)


@pytest.mark.parametrize(("claimed", "verdict"), [("400 degC", Verdict.NOT_SHOWN), ("60 degC", Verdict.FAILS)])
def test_a_temperature_in_the_duty_is_held_against_the_duty(verify: Verify, claimed: str, verdict: Verdict) -> None:
    found = named(
        verify(changed(("plates = 14", f'temperature = "{claimed}"\nplates = 14'))),
        "section B, temperature in the duty",
    )
    assert found.verdict is verdict
    assert found.computed is not None
    assert found.computed > 60.0


def test_nobody_is_told_to_try_a_current_that_burns_the_plates(verify: Verify) -> None:
    found = named(verify(changed(('current = "40 A"', 'current = "4000 A"'))), "rating P, 4000 A for ever")
    assert found.verdict is Verdict.FAILS
    assert "Do not try" in found.measure_next


def test_every_claimed_figure_gets_a_verdict_though_nothing_is_there_to_compute_it_from(verify: Verify) -> None:
    bare = """
schema = 1
title = "bare"
[boxes]
boxes = 3
plates_per_box = 20
stack_length = "340 mm"
plates_mass = "50 kg"
[[tap]]
name = "A/B"
box = 1
joint = [3, 4]
[[notch]]
name = "1"
ohm = "4 ohm at 90 degC"
[[section]]
name = "A"
ohm = "1.6 ohm"
temperature = "300 degC"
"""
    found = not_held(verify(bare))
    asked = {"boxes", "boxes, length of the stack", "mass of all plates", "tap A/B", "notch 1, ohms", "section A, ohms"}
    assert asked <= set(found)
    assert set(found.values()) == {Verdict.NOT_SHOWN}


def test_a_range_of_thickness_leaves_ohms_times_mass_alone(verify: Verify) -> None:
    """Ohms times mass do not know the thickness: they hold while ohms and mass hang on its ends."""
    loose = CLAIM.replace('thickness = "5 mm"', 'thickness = "4.5 mm to 5.5 mm"', 1)
    found = not_held(verify(loose))
    assert found["plate P, ohms"] is Verdict.NOT_SHOWN
    assert found["plate P, mass"] is Verdict.NOT_SHOWN
    assert "plate P, metal" not in found


def test_a_test_report_without_its_temperature_bears_nothing_out(verify: Verify) -> None:
    result = verify(changed(("0.0862 ohm at 60 degC", "0.0862 ohm")))
    found = named(result, "test report type test 3")
    assert found.verdict is Verdict.NOT_SHOWN
    assert "type test 3" not in named(result, "plate Q, ohms").why
