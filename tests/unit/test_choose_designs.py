"""The designer on the tramway of the demo and on questions that cannot be met. All figures here are invented."""

from dataclasses import replace
from math import inf

import pytest

from griddesign.choose.design import choose
from griddesign.choose.problem import CandidateKind, Choice, NotchAim
from griddesign.choose.records import Design
from griddesign.errors import CircuitError, InputError
from griddesign.grid.records import BoxPlan, Branches, Run

WANTED = {"A": 1.63, "B": 1.36, "C": 0.29, "D": 0.58, "E": 0.27}
DUTY_K = {"A": 12.0, "B": 54.0, "C": 120.0, "D": 246.0, "E": 240.0}


def margin_k(section: str, kind: str, in_parallel: int, plate_ohm: float) -> float:
    return 370.0 - DUTY_K[section] * (plate_ohm / 0.069) ** 1.5 / in_parallel**2


def mass_kg(kind: str, plate_ohm: float) -> float:
    return 2.5 * 0.069 / plate_ohm


def notch(name: str, sections: str, series: bool) -> NotchAim:
    wanted = sum(WANTED[section] for section in sections)
    return NotchAim(name, Run(tuple(sections)), wanted, *((0.88, 1.0) if series else (0.5, 2.0)))


DEMO = Choice(
    section_order=tuple("ABCDE"),
    notches=(
        *(notch(str(n), sections, True) for n, sections in enumerate(("ABCDE", "BCDE", "CDE", ""), 1)),
        *(notch(str(n), sections, False) for n, sections in enumerate(("CDE", "DE", "E", ""), 5)),
    ),
    tolerance=0.05,
    kinds=(CandidateKind("P", 0.06, 0.085),),
    plan=BoxPlan(3, 20, 0.0127),
    margin=margin_k,
    mass=mass_kg,
    shape_for=lambda kind, ohm: (kind, ohm),  # type: ignore[arg-type,return-value]
)


def proof(design: Design, words: str) -> tuple[float, float, bool]:
    found = next(proof for proof in design.proofs if words in proof.objective)
    return found.reached, found.bound, found.proved


def worst(design: Design) -> float:
    return max(abs(row.error) for row in design.notches)


def test_demo_design_is_proved_and_fits() -> None:
    design = choose(DEMO)
    assert not design.fails
    assert all(proof.proved for proof in design.proofs)
    assert [proof.objective.split()[0] for proof in design.proofs] == [
        "greatest",
        "fewest",
        "fewest",
        "smallest",
        "smallest",
    ]
    assert design.boxes == 3
    assert sum(section.plates for section in design.sections) <= 60
    assert all(section.series % 2 == 0 for section in design.sections)
    assert {tap.side for tap in design.taps} == {"terminal side"}
    assert [tap.name for tap in design.taps] == ["start of A", "A/B", "B/C", "C/D", "D/E", "end of E"]


def test_demo_as_the_plan_of_the_demo_has_it() -> None:
    """About 60 plates of about 0.069 ohm in three boxes, worst notch error near 2 per cent, where ohms come first."""
    design = choose(replace(DEMO, prefer="closest"))
    assert design.kinds[0].cold_ohm == pytest.approx(0.069, rel=0.02)
    assert 54 <= sum(section.plates for section in design.sections) <= 60
    assert worst(design) < 0.02


def test_each_preference_is_best_at_what_it_prefers() -> None:
    by = {prefer: choose(replace(DEMO, prefer=prefer)) for prefer in ("margin", "closest", "light")}  # type: ignore[arg-type]
    assert max(by, key=lambda p: proof(by[p], "margin")[0]) == "margin"
    assert min(by, key=lambda p: worst(by[p])) == "closest"
    assert min(by, key=lambda p: proof(by[p], "mass")[0]) == "light"


def test_enough_margin_leaves_room_for_the_other_aims() -> None:
    """With 50 K declared enough the same boxes give a smaller error than the hunt for more margin does."""
    eager, content = choose(DEMO), choose(replace(DEMO, enough_margin_k=50.0))
    assert proof(content, "margin")[0] == 50.0
    assert worst(content) < worst(eager)


def test_pairs_in_parallel_where_the_current_asks_for_them() -> None:
    """Sections D and E 370 K above ambient as single plates at 0.069 ohm: only pairs hold."""
    hot = {**DUTY_K, "D": 500.0, "E": 500.0}
    design = choose(
        replace(
            DEMO,
            plan=BoxPlan(4, 20, 0.0127),
            margin=lambda s, k, q, r: 370.0 - hot[s] * (r / 0.069) ** 1.5 / q**2,
        )
    )
    assert not design.fails
    assert {s.name: s.in_parallel for s in design.sections} == {"A": 1, "B": 1, "C": 1, "D": 2, "E": 2}


def test_heat_that_cannot_be_met_gives_the_greatest_margin_and_says_so() -> None:
    design = choose(replace(DEMO, margin=lambda s, k, q, r: margin_k(s, k, q, r) - 400.0))
    assert len(design.fails) == 1
    assert "heat" in design.fails[0]
    assert worst(design) <= DEMO.tolerance
    reached, bound, proved = proof(design, "margin")
    assert reached == bound == proof(choose(DEMO), "margin")[0] - 400.0
    assert proved


def test_ohms_that_cannot_be_met_give_the_smallest_error_and_say_so() -> None:
    design = choose(replace(DEMO, plan=BoxPlan(2, 20, 0.0127)))
    assert len(design.fails) == 1
    assert "notches" in design.fails[0]
    assert design.proofs[0].objective == "smallest worst notch error"
    assert design.proofs[0].proved
    assert worst(design) == pytest.approx(design.proofs[0].reached, abs=1e-8)
    assert all(margin_k(s.name, s.kind, s.in_parallel, s.plate_ohm) >= 0.0 for s in design.sections)


def test_neither_heat_nor_ohms() -> None:
    design = choose(replace(DEMO, plan=BoxPlan(1, 12, 0.0127), margin=lambda s, k, q, r: margin_k(s, k, q, r) - 900.0))
    assert len(design.fails) == 2


def test_nothing_fits() -> None:
    with pytest.raises(InputError, match="5 sections of at least 2 plates do not fit into 1 boxes of 8") as caught:
        choose(replace(DEMO, plan=BoxPlan(1, 8, 0.0127)))
    assert "more boxes" in caught.value.hint


def test_out_of_time_still_gives_a_design_with_an_honest_gap() -> None:
    design = choose(replace(DEMO, time_limit_s=0.0))
    assert design.sections
    assert not any(proof.proved for proof in design.proofs if proof.reached != proof.bound)
    full = {proof.objective: proof.reached for proof in choose(DEMO).proofs}
    heat = next(proof for proof in design.proofs if "margin" in proof.objective)
    assert heat.bound >= full[heat.objective] >= heat.reached
    assert not heat.proved
    assert heat.note


def test_no_heat_known_sets_no_limit() -> None:
    design = choose(replace(DEMO, margin=lambda *_: None))
    assert not design.fails
    assert proof(design, "margin") == (inf, inf, True)
    assert worst(design) == pytest.approx(worst(choose(replace(DEMO, prefer="closest"))), abs=2e-9)


def test_joints_are_counted_in_the_ohms() -> None:
    design = choose(replace(DEMO, plan=BoxPlan(3, 20, 0.0127, 1, 0.002)))
    for section in design.sections:
        expected = section.series * (section.plate_ohm / section.in_parallel + 0.002)
        assert section.cold_ohm == pytest.approx(expected, rel=1e-12)


def test_branches_with_joints_are_met() -> None:
    beside = Run(("C", Branches((Run(("D",)), Run(("E",))))))
    aims = (*DEMO.notches[:3], NotchAim("p", beside, 0.29 + 0.58 * 0.27 / 0.85, 0.5, 2.0))
    design = choose(replace(DEMO, notches=aims, plan=BoxPlan(3, 20, 0.0127, 2, 0.001)))
    assert not design.fails
    assert all(proof.proved for proof in design.proofs)
    ohm = {section.name: section.cold_ohm for section in design.sections}
    assert design.notches[3].cold_ohm == pytest.approx(ohm["C"] + 1 / (1 / ohm["D"] + 1 / ohm["E"]), rel=1e-12)


def test_two_kinds_only_where_one_will_not_do() -> None:
    two = (CandidateKind("P", 0.06, 0.07), CandidateKind("Q", 0.04, 0.05))
    assert len(choose(replace(DEMO, kinds=two)).kinds) == 1
    closest = choose(replace(DEMO, kinds=two, prefer="closest"))
    assert len(closest.kinds) == 2
    assert worst(closest) < worst(choose(replace(DEMO, kinds=two[:1], prefer="closest")))


def test_fixed_plates_keep_their_ohms_to_the_last_digit() -> None:
    fixed = tuple(CandidateKind(name, ohm, ohm) for name, ohm in (("P", 0.059), ("Q", 0.038), ("S", 0.023)))
    design = choose(replace(DEMO, kinds=fixed, plan=BoxPlan(5, 20, 0.0127, 2)))
    assert {kind.cold_ohm for kind in design.kinds} <= {0.059, 0.038, 0.023}


def test_branches_with_two_free_kinds_claim_no_proof_they_do_not_have() -> None:
    """Reached and bound stand apart, or are equal and proved; never better than the bound."""
    beside = Run((Branches((Run(("A",)), Run(("B",)))),))
    two = (CandidateKind("P", 0.06, 0.07), CandidateKind("Q", 0.04, 0.05))
    aims = (NotchAim("1", Run(("A", "B")), 0.55, 0.3), NotchAim("2", beside, 0.121, 0.3))
    design = choose(
        Choice(("A", "B"), aims, 0.05, two, BoxPlan(2, 12, 0.0127, 2), lambda *_: None, mass_kg, DEMO.shape_for)
    )
    assert not design.fails
    for found in design.proofs:
        assert found.proved == (found.reached == found.bound)
        assert found.reached >= found.bound or "margin" in found.objective


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"section_order": ("A", "B", "C", "D")}, "do not agree about E"),
        ({"section_order": ("A", "B", "C", "D", "E", "F")}, "do not agree about F"),
        ({"section_order": ("A", "A", "B", "C", "D", "E")}, "A, A"),
        ({"kinds": ()}, "no kinds"),
        ({"kinds": (CandidateKind("P", 0.08, 0.07),)}, "ohms from 0.08 to 0.07"),
        ({"kinds": (CandidateKind("P", 0.0, 0.07),)}, "ohms from 0 to"),
        ({"tolerance": 0.0}, "tolerance 0"),
        ({"in_parallel": ()}, "in parallel"),
        ({"plan": BoxPlan(0, 20, 0.01)}, "0 boxes"),
        ({"plan": BoxPlan(3, 20, 0.01, 3)}, "3 sides"),
        ({"notches": (NotchAim("1", Run(tuple("ABCDE")), -1.0),)}, "wanted -1 ohm"),
        ({"notches": (NotchAim("1", Run(tuple("ABCDE")), float("nan")),)}, "wanted nan"),
        ({"notches": (NotchAim("1", Run(tuple("ABCDE")), 0.0),)}, "wants 0 ohm in all"),
    ],
)
def test_questions_that_make_no_sense_are_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises((InputError, CircuitError), match=words):
        replace(DEMO, **change)  # type: ignore[arg-type]


def test_an_error_of_exactly_the_tolerance_holds() -> None:
    """Two notches that pull apart: 6 plates at +-10 % leave one value of plate ohms and not a hair more."""
    beside = Run(("A", Branches((Run(("B",)), Run(("C",))))))
    aims = (NotchAim("1", Run(("A", "B", "C")), 0.40359375), NotchAim("2", beside, 0.246640625))
    choice = Choice(
        ("A", "B", "C"), aims, 0.1, (CandidateKind("P", 0.055, 0.0825),), BoxPlan(2, 4, 0.0127), lambda *_: None,
        lambda kind, ohm: 0.15 / ohm, DEMO.shape_for, in_parallel=(1,),
    )  # fmt: skip
    for prefer in ("margin", "closest", "light"):
        design = choose(replace(choice, prefer=prefer))
        assert not design.fails
        assert design.kinds[0].cold_ohm == pytest.approx(0.40359375 / 6 / 0.9, rel=1e-9)
