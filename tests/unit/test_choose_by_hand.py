"""Single terms of the choice by hand figures and small enumerations: each would pass unseen in a whole design."""

from dataclasses import replace
from math import inf
from types import SimpleNamespace

import numpy as np
import pytest

from griddesign.choose import undetermined
from griddesign.choose.aims import Standing, fewest_kinds, find, least_mass
from griddesign.choose.cuts import section_ohm
from griddesign.choose.design import choose
from griddesign.choose.from_job import heated_sections, notch_aims, wanted_of
from griddesign.choose.frontier import Frontier, _one_key, joined
from griddesign.choose.leaf import Leaf, closest, exact_leaves
from griddesign.choose.margins import Margins
from griddesign.choose.network import aims, section_windows
from griddesign.choose.outlook import _plates_per_ohm
from griddesign.choose.problem import CandidateKind, Choice, NotchAim
from griddesign.choose.records import ChosenKind
from griddesign.choose.search import _sums
from griddesign.choose.space import Rules, Space
from griddesign.grid.build import build_section
from griddesign.grid.circuit import ohms
from griddesign.grid.records import BoxPlan, Branches, Run
from griddesign.job.reading import read_job
from griddesign.shipped import examples_folder

P, Q = CandidateKind("P", 0.06, 0.09), CandidateKind("Q", 0.04, 0.05)


def asked(*notches: NotchAim, kinds: tuple[CandidateKind, ...] = (P, Q), joint_ohm: float = 0.0) -> Choice:
    return Choice(
        section_order=("A", "B"),
        notches=notches,
        tolerance=0.3,
        kinds=kinds,
        plan=BoxPlan(3, 20, 0.0127, 2, joint_ohm),
        margin=lambda *_: None,
        mass=lambda kind, ohm: 0.17 / ohm,
        shape_for=lambda kind, ohm: (kind, ohm),  # type: ignore[arg-type,return-value]
    )


def rows(space: Space, option: tuple[int, int], steps: tuple[int, int]) -> Frontier:
    """One row: what each section is built of, plate ohms as open as the kinds leave them."""
    plates = np.zeros((1, len(space.low_ohm)), dtype=np.int32)
    for way, count in zip(option, steps, strict=True):
        plates[0, space.options[way].kind] += count * space.options[way].in_parallel
    return Frontier(
        space.low_ohm[None, :].copy(),
        space.high_ohm[None, :].copy(),
        np.array([option], dtype=np.int32),
        np.array([steps], dtype=np.int32),
        plates,
        plates.sum(axis=1).astype(np.int64),
        np.zeros(1, dtype=np.int64),
    )


def test_every_step_of_a_section_has_its_joint() -> None:
    """5 steps of one plate of 70 mohm, 3 steps of two side by side of 45 mohm, 2 mohm a joint."""
    space = Space(asked(NotchAim("1", Run(("A", "B")), 1.0), joint_ohm=0.002), inf)
    pairs = next(n for n, way in enumerate(space.options) if (way.kind, way.in_parallel) == (1, 2))
    got = section_ohm(space, rows(space, (0, pairs), (5, 3)), np.array([[0.07, 0.045]]))
    assert got[0] == pytest.approx([5 * 0.072, 3 * (0.0225 + 0.002)], rel=1e-14)


def test_two_free_kinds_with_joints_and_strings_side_by_side_against_every_pair_of_ohms() -> None:
    """Fixed counts, three notches that pull apart: the worst error over a grid of 300 by 300 plate ohms."""
    notches = (
        NotchAim("1", Run(("A", "B")), 0.76, 0.3, 2.0),
        NotchAim("2", Run(("A",)), 0.40, 0.3),
        NotchAim("3", Run(("B",)), 0.42, 0.1, 2.0),
    )
    space = Space(asked(*notches, joint_ohm=0.01), inf)
    single = [n for n, way in enumerate(space.options) if way.in_parallel == 1]
    found = closest(
        space,
        Rules(0.3, np.full((2, len(space.options)), inf), 3, (0, 1)),
        rows(space, (single[0], single[1]), (5, 7)),
    )
    assert found is not None
    first, second = np.meshgrid(np.linspace(0.06, 0.09, 300), np.linspace(0.04, 0.05, 300))
    section = {"A": 5 * (first + 0.01), "B": 7 * (second + 0.01)}
    worst = np.zeros_like(first)
    for notch in notches:
        got = notch.other_ohm + notch.factor * sum(section[name] for name in notch.circuit.parts)  # type: ignore[index]
        worst = np.maximum(worst, np.abs(notch.total_ohm / got - 1.0))
    assert 0.01 < found.error <= worst.min() + 1e-9
    assert found.error == pytest.approx(worst.min(), abs=5e-4)


def test_a_search_is_exact_where_every_row_is_settled_for_certain() -> None:
    """One kind, or fixed ohms, always; several free kinds only in series and with no limit on the mass."""
    plain = NotchAim("1", Run(("A", "B")), 0.9)
    beside = NotchAim("2", Run((Branches((Run(("A",)), Run(("B",)))),)), 0.2)
    free, fixed = (P, Q), (replace(P, high_ohm=0.06), replace(Q, high_ohm=0.04))
    for kinds, notches, mass_kg, exact in (
        (free, (plain,), inf, True),
        (free, (plain,), 20.0, False),
        (free, (plain, beside), inf, False),
        (fixed, (plain, beside), 20.0, True),
    ):
        space = Space(asked(*notches, kinds=kinds), inf)
        caps = np.full((2, len(space.options)), inf)
        assert exact_leaves(space, Rules(0.1, caps, 3, (0, 1), mass_kg)) is exact
        assert exact_leaves(space, Rules(0.1, caps, 3, (0,), mass_kg))


def test_every_kind_that_will_do_alone_stays_open_to_the_aims_after() -> None:
    """Two kinds, either good enough: the first design used one of them, and the other may still turn out closer."""
    space = Space(asked(NotchAim("1", Run(("A", "B")), 0.9), kinds=(P, replace(P, name="Q"))), inf)
    standing = Standing(space, Margins(space.choice, space.options), 0.3, None, 3, ((0, 1),))
    standing.best = Leaf((0, 0), (6, 6), (0.075, 0.06), 0.0, 27.2, 1)
    fewest_kinds(standing)
    assert sorted(standing.subsets) == [(0,), (1,)]
    assert (standing.proofs[-1].reached, standing.proofs[-1].bound, standing.proofs[-1].proved) == (1.0, 1.0, True)


@pytest.mark.parametrize("edge", [1.05, 0.95])
def test_windows_leave_the_grid_that_just_holds(edge: float) -> None:
    """Every section known, every notch off by exactly what is allowed: nothing may be cut away."""
    section = {"A": 0.7, "B": 1.1}
    runs = (Run((Branches((Run(("A",)), Run(("B",)))),)), Run(("A", "B")), Run(("A", "B", "A")))
    notches = [NotchAim(str(n), run, (0.2 + ohms(run, section)) * edge - 0.2, 0.2) for n, run in enumerate(runs)]
    exactly = np.array([0.7, 1.1])
    found = section_windows(aims(asked(*notches)), "AB", 0.05, exactly, exactly)
    assert found is not None
    assert found[0] == pytest.approx(exactly, rel=1e-8) and found[1] == pytest.approx(exactly, rel=1e-8)


@pytest.mark.parametrize("run", [Run((Branches((Run(("A",)), Run(("B",)))),)), Run(("A", "B", "A"))])
def test_a_window_ends_where_the_notch_has_just_enough(run: Run) -> None:
    """B known, A open: the least A is the one that brings the notch to its lower end, never a hair above."""
    total = (0.2 + ohms(run, {"A": 0.7, "B": 1.1})) * 1.05
    moved = aims(asked(NotchAim("1", run, total - 0.2, 0.2), NotchAim("2", Run(("A", "B")), 9.0, 0.2)))[:1]
    found = section_windows(moved, "AB", 0.05, np.array([0.3, 1.1]), np.array([1.3, 1.1]))
    assert found is not None
    assert 0.7 * (1.0 - 1e-4) < found[0][0] <= 0.7


def test_rows_are_alike_only_where_their_steps_are_worth_the_same() -> None:
    """3 single plates are worth 6 steps of pairs; 6 single plates are not, and neither are 6 of another kind."""
    space = Space(asked(NotchAim("1", Run(("A", "B")), 0.9)), inf)
    way = {(one.kind, one.in_parallel): n for n, one in enumerate(space.options)}
    search = SimpleNamespace(space=space, rules=Rules(0.3, np.zeros((2, 4)), 3, (0, 1)))
    built = [((0, 1), 3), ((0, 2), 6), ((0, 1), 6), ((1, 1), 6), ((0, 2), 1), ((1, 2), 1)]
    parts = joined([rows(space, (way[one], way[0, 1]), (steps, 1)) for one, steps in built])
    like = np.array(_sums(search, parts, ((0, 1),))).T.tolist()  # type: ignore[arg-type]
    assert like[0] == like[1]
    assert like[1] != like[2] != like[3]
    assert like[4] != like[5]


def test_the_least_plates_for_an_ohm_are_those_of_the_highest_ohms_allowed() -> None:
    """Single plates of 80 mohm (the heat allows no more) with 10 mohm of joint; pairs of 90 mohm: two plates for
    45 + 10 mohm. A count that is too high would throw good grids away."""
    choice = asked(NotchAim("1", Run(("A", "B")), 0.9), kinds=(P,), joint_ohm=0.01)
    for in_parallel, caps, per_ohm in (((1,), [0.08], 1.0 / 0.09), ((2,), [inf], 2.0 / 0.055)):
        space = Space(replace(choice, in_parallel=in_parallel), inf)
        rules = Rules(0.3, np.array([caps, caps]), 3, (0,))
        start = rows(space, (0, 0), (1, 1))
        assert _plates_per_ohm(space, rules, start)[0] == pytest.approx([per_ohm, per_ohm], rel=1e-12)


def test_joints_of_a_section_of_pairs_are_what_its_plates_leave() -> None:
    job = read_job(examples_folder() / "demo.toml")
    kinds = {plate.name: SimpleNamespace(wish=plate) for plate in job.plates}
    name, shape = job.plates[0].name, job.plates[0].shape
    design = SimpleNamespace(
        kinds=[ChosenKind(name, shape, 0.07)],
        sections=[build_section("A", name, 6, q, plate_ohm=0.07, joint_ohm=0.002) for q in (1, 2)],
    )
    for section in heated_sections(job, design, kinds):  # type: ignore[arg-type]
        assert section.joint_ohm == pytest.approx(6 * 0.002, rel=1e-9)


def test_the_least_mass_of_several_free_kinds_is_told_with_its_bound() -> None:
    """Plates at their highest ohms would weigh less than any that meet the notches: that is a bound and no proof."""
    notches = (NotchAim("1", Run(("A",)), 0.40, 0.3), NotchAim("2", Run(("B",)), 0.31, 0.3))
    space = Space(asked(*notches), inf)
    standing = Standing(space, Margins(space.choice, space.options), 0.02, None, 3, ((0, 1),))
    standing.best = find(standing)
    least_mass(standing)
    told = standing.proofs[-1]
    assert standing.found().error <= 0.02 * (1.0 + 1e-9)
    assert told.bound < told.reached == standing.found().mass_kg
    assert not told.proved


def test_keys_tell_apart_what_any_column_tells_apart() -> None:
    columns = [np.array([1, 1, 2, 2, 1]), np.array([5, 6, 5, 6, 5]), np.array([0, 0, 0, 0, 0])]
    key = _one_key(columns)
    assert len(set(key.tolist())) == 4 and key[0] == key[4]


def test_a_section_may_be_larger_than_a_box() -> None:
    """2.4 ohm of plates of 90 mohm at most are 27 plates and more; a box holds 20."""
    design = choose(asked(NotchAim("1", Run(("A", "B")), 2.58), NotchAim("2", Run(("A",)), 2.4), kinds=(P,)))
    assert not design.fails
    assert design.sections[0].plates > 26 and design.boxes == 2


def test_plates_side_by_side_all_weigh() -> None:
    choice = asked(NotchAim("1", Run(("A", "B")), 0.24), NotchAim("2", Run(("A",)), 0.16), kinds=(P,))
    design = choose(replace(choice, in_parallel=(2,), prefer="light"))
    told = next(proof for proof in design.proofs if "mass" in proof.objective)
    plates = sum(section.plates for section in design.sections)
    assert plates == 2 * sum(section.series for section in design.sections) > 0
    assert told.reached == pytest.approx(plates * 0.17 / design.kinds[0].cold_ohm, rel=1e-8)


@pytest.mark.parametrize(
    ("matrix", "sums", "left_open"),
    [
        ([[1, 1, 0, 0, 0], [0, 0, 1, 0, 0], [0, 0, 0, 1, 1]], [[1, 0, 0, 0, 0]], ("A", "B")),
        ([[1, 1, 0, 0, 0], [0, 0, 1, 0, 0], [0, 0, 0, 1, 1]], [[0, 0, 0, 1, 0]], ("D", "E")),
        ([[1, 1, 0, 0, 0], [0, 0, 1, 0, 0], [0, 0, 0, 1, 1]], [[1, 1, 0, 0, 0], [0, 0, 1, 0, 0]], ()),
        ([[1, 1, 1, 1, 1], [1, 1, 1, 0, 0], [0, 0, 1, 0, 0]], [[1, 0, 1, 0, 0], [0, 0, 0, 1, 1]], ("A", "B")),
    ],
)
def test_sections_left_open_are_those_a_network_parts(
    monkeypatch: pytest.MonkeyPatch, matrix: list[list[int]], sums: list[list[int]], left_open: tuple[str, ...]
) -> None:
    """A and B, and D and E, stand together in every grouping; only where a network carries one without the other does
    it matter how their ohms are shared out."""
    monkeypatch.setattr(undetermined, "felt", lambda _: np.array(matrix, dtype=float))
    monkeypatch.setattr(undetermined, "_sums", lambda _: iter(np.array(sums, dtype=float)))
    assert undetermined.open_ohms(SimpleNamespace(section_order=tuple("ABCDE"))) == left_open  # type: ignore[arg-type]


def test_what_else_a_string_meets_is_added_up() -> None:
    """``s·Rm + R string + p·(Rf + R ahead)``, and a common grid counts once for every string."""
    job = read_job(examples_folder() / "demo.toml")
    assert job.motor is not None and job.line is not None
    notches = tuple(replace(notch, string_ohm=0.3, ahead_ohm=0.11) for notch in job.notches)
    for aim, notch in zip(notch_aims(replace(job, notches=notches), wanted_of(job, {})), notches, strict=True):
        s, p = notch.grouping.series, notch.grouping.parallel
        want = s * job.motor.resistance_ohm + 0.3 + p * (job.line.feeder_ohm + 0.11)
        assert (aim.other_ohm, aim.factor) == pytest.approx((want, float(p)), rel=1e-14)
