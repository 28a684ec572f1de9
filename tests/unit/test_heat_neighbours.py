"""Plates of unlike sections side by side: exchange, balance, and that a hottest section alone is on the safe side."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.heat.cooling import STEFAN_BOLTZMANN_W_M2K4, gap_radiating_m2, rectangle_view_factor
from griddesign.heat.lumps import AS_GIVEN, LOW_ALPHA
from griddesign.heat.neighbours import Gaps, alone_c, beside_c, exchange_m2
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.metals import metal

IRON = metal("grey_iron_class30")
BODY = PlateBody(0.25, 0.19, 0.005, 0.0888, 0.973, 0.0713, IRON)
COOL, HOT, PAIR = (
    HeatedSection(name, BODY, 6, q, Stack(20, 0.0127), 400.0) for name, q in zip("CHP", (1, 1, 2), strict=True)
)
CASES = [(AS_GIVEN, 40.0), (LOW_ALPHA, 20.0)]


def mean_w(*watts: float) -> np.ndarray:
    return np.array([[one, one] for one in watts])


@pytest.mark.parametrize("emissivity", [0.3, 0.75, 1.0])
@pytest.mark.parametrize("gap_m", [0.006, 0.0127, 0.05])
def test_exchange_against_the_whole_enclosure(emissivity, gap_m):
    """The split into walls alike and walls opposite, against radiosities of the enclosure solved as a linear system
    (two grey walls, one black opening; F. P. Incropera and D. P. DeWitt, section 13.3.3)."""
    height, depth, hot_k, cold_k, room_k = 0.3, 0.25, 600.0, 420.0, 300.0
    area, facing = height * depth, rectangle_view_factor(height, depth, gap_m)
    e1, e2, e0 = (STEFAN_BOLTZMANN_W_M2K4 * kelvin**4 for kelvin in (hot_k, cold_k, room_k))
    r = (1.0 - emissivity) / emissivity
    matrix = np.array([[1.0 + r, -r * facing], [-r * facing, 1.0 + r]])
    j1, j2 = np.linalg.solve(matrix, [e1 + r * (1.0 - facing) * e0, e2 + r * (1.0 - facing) * e0])
    given_w = area * (j1 - facing * j2 - (1.0 - facing) * e0)
    half_m2, across_m2 = (
        0.5 * gap_radiating_m2(height, depth, gap_m, emissivity),
        exchange_m2(height, depth, gap_m, emissivity),
    )
    assert half_m2 * (e1 - e0) + across_m2 * (e1 - e2) == pytest.approx(given_w, rel=1e-12)


def test_close_black_plates_exchange_like_endless_ones():
    """As the gap closes, black walls exchange sigma A (T1^4 - T2^4): half of X, F going to 1."""
    assert exchange_m2(0.3, 0.25, 1e-5, 1.0) == pytest.approx(0.3 * 0.25, rel=1e-3)


def test_alone_balances_heat_and_loss():
    t_c, tables, lump = alone_c([COOL, HOT], mean_w(40.0, 160.0), CASES)
    assert tables.read(lump, t_c)[2] == pytest.approx(mean_w(40.0, 160.0), rel=1e-9)
    assert np.all(t_c[1] > t_c[0])


def test_a_box_of_one_section_is_that_section_alone():
    own = alone_c([HOT], mean_w(120.0), CASES)[0]
    assert beside_c([0] * 8, [HOT], mean_w(120.0), CASES) == pytest.approx(np.tile(own, (8, 1)), abs=1e-6)


def test_the_whole_box_keeps_its_energy():
    """Sum of heat equals sum of loss: what one plate gives its neighbours take."""
    order = [0] * 5 + [1] * 4 + [0] * 3
    t_c = beside_c(order, [COOL, HOT], mean_w(30.0, 150.0), CASES)
    own, tables, lump = alone_c([COOL, HOT], mean_w(30.0, 150.0), CASES)
    ratio, _, loss = tables.read(lump[order], t_c)
    given = mean_w(30.0, 150.0)[order] * ratio / tables.read(lump, own)[0][order]
    assert given.sum(axis=0) == pytest.approx(loss.sum(axis=0), rel=1e-6)
    assert np.all(Gaps.between([COOL, HOT]).flow_w(t_c[4:6])[0] < 0.0)


def test_slopes_of_the_exchange_are_its_derivatives():
    gaps, t_c = Gaps.between([COOL, HOT, COOL]), np.array([[150.0, 60.0], [300.0, 90.0], [220.0, 40.0]])
    flow, given, taken = gaps.flow_w(t_c)
    for place, slope, sign in ((0, given, 1.0), (1, taken, -1.0)):
        moved = t_c.copy()
        moved[place] += 1e-3
        got = (gaps.flow_w(moved)[0][0] - flow[0]) / 1e-3
        assert got == pytest.approx(sign * slope[0], rel=0.05)


def test_the_plate_beside_the_hot_section_is_the_warmest_of_the_cool_one():
    order = [0] * 6 + [1] * 4
    t_c = beside_c(order, [COOL, HOT], mean_w(30.0, 150.0), CASES)[:, 0]
    own = alone_c([COOL, HOT], mean_w(30.0, 150.0), CASES)[0][:, 0]
    assert np.all(np.diff(t_c[:6]) > 0.0)
    assert t_c[0] == pytest.approx(own[0], abs=6.0)
    assert own[0] + 20.0 < t_c[5] < t_c[6] < own[1]


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.sampled_from((0, 1, 2)), min_size=2, max_size=14),
    st.tuples(st.floats(5.0, 150.0), st.floats(5.0, 150.0), st.floats(5.0, 150.0)),
)
def test_no_plate_is_hotter_than_the_hottest_alone_nor_cooler_than_the_coolest(order, watts):
    """The bound the module rests on: neighbours only even out, so the hottest section alone is the safe side."""
    sections = (COOL, HOT, PAIR)
    own = alone_c(sections, mean_w(*watts), CASES)[0]
    t_c = beside_c(order, sections, mean_w(*watts), CASES)
    used = sorted(set(order))
    assert np.all(t_c <= own[used].max(axis=0) + 1e-4)
    assert np.all(t_c >= own[used].min(axis=0) - 1e-4)


def test_joints_count_in_the_ohms_and_in_the_heat():
    """A grid of two joints' worth more ohms and no other change draws less current; the plates get the joints' heat."""
    from griddesign.heat.holds import hold_curves_c, section_cold_ohm
    from griddesign.heat.network import NotchCircuit

    joined = replace(HOT, joint_ohm=0.02 * section_cold_ohm(HOT))
    circuit = NotchCircuit("1", ("H",), 0.0)
    bare, with_joints = (
        hold_curves_c([one], circuit, 30.0, 20.0, [0.0, 0.1], end=AS_GIVEN.adiabatic())[1, 0] for one in (HOT, joined)
    )
    current_a = 30.0 / (1.02 * section_cold_ohm(HOT))
    heat_j = current_a**2 * 1.02 * section_cold_ohm(HOT) * 0.1 / 6
    assert with_joints - 20.0 == pytest.approx(heat_j / (BODY.mass_kg * IRON.specific_heat(20.0)), rel=1e-3)
    assert bare > with_joints
