"""The parts of the search, each against a plainer way to the same answer."""

from dataclasses import replace
from math import inf, nextafter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.choose.crossing import last_good
from griddesign.choose.cuts import plate_ohm_for
from griddesign.choose.frontier import Frontier, boxes_used, pack, undominated
from griddesign.choose.margins import Margins
from griddesign.choose.network import aim_ohms, aims, ohms_and_slope, section_windows
from griddesign.choose.problem import CandidateKind, Choice, NotchAim
from griddesign.choose.space import Space
from griddesign.grid.build import build_section
from griddesign.grid.circuit import ohms, shares
from griddesign.grid.layout import lay_out, plates_together
from griddesign.grid.records import BoxPlan, Branches, Run

NESTED = Run(("A", Branches((Run(("B",)), Run(("C", "D"))))))
CHOICE = Choice(
    section_order=tuple("ABCD"),
    notches=(NotchAim("1", NESTED, 1.2, 0.5), NotchAim("2", Run(("C", "D")), 0.7, 0.5, 2.0)),
    tolerance=0.05,
    kinds=(CandidateKind("P", 0.06, 0.09),),
    plan=BoxPlan(4, 20, 0.0127, 2, 0.003),
    margin=lambda s, k, q, r: 300.0 - 2.0e4 * r**1.7 / q**2,
    mass=lambda kind, r: 0.17 / r,
    shape_for=lambda kind, ohm: (kind, ohm),  # type: ignore[arg-type,return-value]
)


@pytest.mark.parametrize("root", [0.07, 0.0601, 0.0899999])
@pytest.mark.parametrize("power", [0.2, 1.0, 9.0])
def test_last_good_is_good_and_next_to_bad(root: float, power: float) -> None:
    def spare(x: float) -> float:
        return float(np.copysign(abs(root - x) ** power, root - x))

    found = last_good(spare, 0.05, 0.1)
    assert spare(found) >= 0.0
    assert found == pytest.approx(root, rel=3e-12)
    assert last_good(lambda x: -spare(x), 0.1, 0.05) == pytest.approx(root, rel=3e-12)


def test_last_good_at_a_jump() -> None:
    found = last_good(lambda x: 5.0 if x <= 0.0712345 else -0.001, 0.05, 0.1)
    assert 0.0712345 * (1 - 2e-12) <= found <= 0.0712345


def test_caps_keep_the_class_and_no_more() -> None:
    margins = Margins(CHOICE, Space(CHOICE, inf).options)
    caps = margins.caps(12.0)
    for section in range(4):
        cap = caps[section, 0]
        assert CHOICE.margin("A", "P", 1, cap) >= 120.0  # type: ignore[operator]
        assert CHOICE.margin("A", "P", 1, cap * (1 + 1e-11)) < 120.0  # type: ignore[operator]
    assert np.all(caps[:, 1] == inf)
    assert np.all(margins.caps(None) == inf)
    assert np.all(margins.caps(29.0)[:, 0] == -inf)


counts = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 3)), min_size=1, max_size=6)


@settings(max_examples=200, deadline=None)
@given(counts, st.integers(6, 13), st.sampled_from((1, 2)))
def test_packing_needs_the_boxes_of_the_layout_from_either_end(
    drawn: list[tuple[int, int]], plates: int, sides: int
) -> None:
    drawn = [(steps * (3 - sides), q) for steps, q in drawn]
    sections = [build_section(f"S{n}", "P", steps, q, 0.07) for n, (steps, q) in enumerate(drawn)]
    laid = lay_out(sections, BoxPlan(99, plates, 0.0127, sides)).boxes
    for row in (drawn, drawn[::-1]):
        room = np.zeros(1, dtype=np.int64)
        for steps, q in row:
            room = pack(room, np.array([steps]), q, plates_together(q, sides), plates)
        assert boxes_used(room, plates)[0] == laid


def test_a_group_larger_than_a_box_never_fits() -> None:
    assert pack(np.zeros(1, dtype=np.int64), np.array([2]), 3, 6, 5)[0] > 10**15


def test_vectorised_circuit_equals_the_plain_one() -> None:
    rng = np.random.default_rng(7)
    rows = rng.uniform(0.1, 3.0, (50, 4))
    moved = aims(CHOICE)
    got = aim_ohms(moved[0], "ABCD", rows)
    expected = [ohms(NESTED, dict(zip("ABCD", row, strict=True))) for row in rows]
    assert got == pytest.approx(expected, rel=1e-14)


def test_slope_along_one_section_is_the_square_of_its_share() -> None:
    section = {"A": 1.1, "B": 0.7, "C": 0.4, "D": 0.9}
    ohm = {name: np.array([value]) for name, value in section.items()}
    for name, share in shares(NESTED, section).items():
        along = {other: np.array([float(other == name)]) for other in section}
        assert ohms_and_slope(NESTED, ohm, along)[1][0] == pytest.approx(share**2, rel=1e-13)


@settings(max_examples=100, deadline=None)
@given(st.tuples(*(st.integers(1, 9) for _ in range(4))), st.tuples(*(st.integers(0, 1) for _ in range(4))))
def test_plate_ohms_for_a_notch_with_branches(steps: tuple[int, ...], option: tuple[int, ...]) -> None:
    space = Space(CHOICE, inf)
    front = Frontier(
        np.array([[0.06]]),
        np.array([[0.09]]),
        np.array([option], dtype=np.int32),
        np.array([steps], dtype=np.int32),
        np.zeros((1, 1), dtype=np.int32),
        np.zeros(1, dtype=np.int64),
        np.zeros(1, dtype=np.int64),
    )
    true_ohm = 0.0731
    section = {n: m * (true_ohm / (1 + o) + 0.003) for n, m, o in zip("ABCD", steps, option, strict=True)}
    target = ohms(NESTED, section)
    for start in (0.06, 0.09):
        found = plate_ohm_for(space, front, space.aims[0], target, np.array([start]))
        assert found[0] == pytest.approx(true_ohm, rel=1e-12)


@settings(max_examples=100, deadline=None)
@given(st.tuples(*(st.floats(0.06, 1.5) for _ in range(4))))
def test_section_windows_hold_every_grid_that_meets_the_notches(section: tuple[float, ...]) -> None:
    """Targets made from a random grid, 5 % off: that grid lies inside the windows."""
    ohm = dict(zip("ABCD", section, strict=True))
    wanted = [
        NotchAim(aim.name, aim.circuit, ohms(aim.circuit, ohm) * 1.03, aim.other_ohm, aim.factor)
        for aim in CHOICE.notches
    ]
    moved = aims(replace(CHOICE, notches=tuple(wanted)))
    windows = section_windows(moved, "ABCD", 0.05, np.full(4, 0.05), np.full(4, 2.0))
    assert windows is not None
    assert np.all(windows[0] <= section)
    assert np.all(windows[1] >= section)


def test_a_window_no_section_can_meet_is_empty() -> None:
    assert section_windows(aims(CHOICE), "ABCD", 0.05, np.full(4, 0.5), np.full(4, 2.0)) is None


def test_only_needless_rows_go() -> None:
    """Row 1 is worse than row 0 in everything, row 2 has more freedom, row 3 another key."""
    front = Frontier(
        np.array([[0.06], [0.065], [0.05], [0.065]]),
        np.array([[0.08], [0.075], [0.08], [0.075]]),
        np.zeros((4, 1), dtype=np.int32),
        np.zeros((4, 1), dtype=np.int32),
        np.array([[10], [12], [12], [12]], dtype=np.int32),
        np.array([10, 12, 12, 12]),
        np.zeros(4, dtype=np.int64),
    )
    kept = undominated(front, [np.array([1, 1, 1, 2])])
    assert sorted(kept.low_ohm[:, 0]) == [0.05, 0.06, 0.065]


def test_window_of_a_notch_is_the_window_of_its_error() -> None:
    aim = aims(CHOICE)[1]
    low, high = aim.window(0.05)
    assert aim.notch.error(low) == pytest.approx(0.05, rel=1e-12)
    assert aim.notch.error(high) == pytest.approx(-0.05, rel=1e-12)
    assert aim.window(1.0)[1] == inf
    assert NotchAim("0", Run(), 0.0).error(0.0) == 0.0
    assert NotchAim("0", Run(), 1.0).error(0.0) == inf
    assert nextafter(low, 0.0) < low
